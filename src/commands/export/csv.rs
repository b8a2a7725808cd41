//! `export csv`: one file a table (RFC 4180), for spreadsheets.

use std::borrow::Cow;
use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter};
use std::path::{Path, PathBuf};

use clap::Args;
use csv::{Terminator, Writer, WriterBuilder};
use tempfile::TempDir;

use super::{Exported, cannot, folder_of, left_out, no_value, opened, private_folder, rows, steps, sync_folder};
use crate::commands::archive::unusable;
use crate::commands::{Problem, Session};
use crate::register::Writing;
use crate::register::columns::{Kind, TABLES, Table};
use crate::register::damage::Rows;
use crate::register::tables::{Cell, Field, fields};
use crate::register::work::Steps;

/// Write one CSV file a table into a folder, for spreadsheets
///
/// RFC 4180 in UTF-8: a row of names first, a comma between cells, CR and LF at the end of a line. An empty cell is
/// something that nobody said. Where a row points at another, its number stands there (`stock_id`) and its name beside it
/// (`stock`). A text that begins with = + - @, a tab or a line break has an apostrophe before it, so that no spreadsheet
/// takes it for a formula; numbers stay as they are. `export schema` tells what each column means.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock export csv shelf-tables")]
pub struct Csv {
    /// The folder: one that is not there, or is empty
    pub folder: PathBuf,
    /// Replace an earlier export in that folder; a folder with anything else in it is left alone
    #[arg(long)]
    pub force: bool,
    /// Of a damaged register, leave out what is damaged, and tell what that is
    #[arg(long)]
    pub sound_only: bool,
}

/// Writes every table.
///
/// # Errors
/// If the register cannot be read, the folder holds something, or nothing can be written there.
pub fn run(session: &Session, arguments: &Csv) -> Result<Exported, Problem> {
    // A link is followed first: the folder behind it is what is replaced.
    let folder = fs::canonicalize(&arguments.folder).unwrap_or_else(|_| arguments.folder.clone());
    let filled = is_filled(&folder, arguments.force)?;
    let (mut register, _aside, mut notes) = opened(session, arguments.sound_only)?;
    let draft = draft(&folder)?;
    let (mut tables, mut files) = (Vec::new(), Vec::new());
    register.read(|reading| {
        let rows = rows(reading, arguments.sound_only)?;
        let mut steps = steps(reading, &rows)?;
        notes.extend(left_out(&rows));
        for table in TABLES {
            let name = file_name(table);
            let (written, bytes) = write(reading, table, &rows, &draft.path().join(&name), &mut steps)?;
            tables.push((table.name.to_owned(), written));
            files.push((name, bytes));
        }
        Ok::<(), Problem>(())
    })?;
    publish(draft, &folder, filled).map_err(|error| cannot(&folder, &error))?;
    let bytes = files.iter().map(|(_, bytes)| bytes).sum();
    let path = arguments.folder.clone();
    Ok(Exported { form: "csv", path, on: session.day, tables, files, bytes, notes })
}

fn file_name(table: &Table) -> String {
    format!("{}.csv", table.name)
}

/// Looks whether the folder may be used, and tells whether an earlier export is in it.
fn is_filled(folder: &Path, force: bool) -> Result<bool, Problem> {
    let shown = folder.display();
    let refused = |why: String| unusable(format!("{shown} {why}")).because("nothing was written");
    match fs::metadata(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
        Err(error) => return Err(cannot(folder, &error)),
        Ok(there) if !there.is_dir() => return Err(refused("is no folder".to_owned()).hint("name a folder")),
        Ok(_) => {}
    }
    let mut filled = false;
    for entry in fs::read_dir(folder).map_err(|error| cannot(folder, &error))? {
        let entry = entry.map_err(|error| cannot(folder, &error))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if !force {
            let hint = "name a folder that is not there or is empty, or replace an earlier export with `--force`";
            return Err(refused("is not empty".to_owned()).hint(hint));
        }
        let ours = TABLES.iter().any(|table| file_name(table) == name);
        if !ours || !entry.file_type().is_ok_and(|kind| kind.is_file()) {
            return Err(refused(format!("holds `{name}`, which is none of an export"))
                .hint("choose another folder, or take that out of it"));
        }
        filled = true;
    }
    Ok(filled)
}

/// A folder beside the one that is wanted, which only its owner may look into.
fn draft(folder: &Path) -> Result<TempDir, Problem> {
    let beside = folder_of(folder);
    if !beside.is_dir() {
        return Err(unusable(format!("{} cannot be written: its folder is not there", folder.display()))
            .because("nothing was written")
            .hint("make the folder first"));
    }
    private_folder(".brimstock-export-", beside).map_err(|error| cannot(folder, &error))
}

/// Gives the finished folder its name; an earlier export steps aside first, and comes back if that fails.
fn publish(draft: TempDir, folder: &Path, filled: bool) -> io::Result<()> {
    sync_folder(draft.path())?;
    if filled {
        let aside = private_folder(".brimstock-before-", folder_of(folder))?;
        fs::rename(folder, aside.path().join("was"))?;
        if let Err(error) = fs::rename(draft.path(), folder) {
            fs::rename(aside.path().join("was"), folder)?;
            return Err(error);
        }
    } else {
        #[cfg(not(unix))]
        if folder.exists() {
            fs::remove_dir(folder)?;
        }
        fs::rename(draft.path(), folder)?;
    }
    // It has gone to its place: nothing is left to be tidied up.
    let _ = draft.keep();
    sync_folder(folder_of(folder))
}

/// Writes one table; tells its rows and bytes.
fn write(
    reading: &Writing<'_>,
    table: &Table,
    rows: &Rows,
    path: &Path,
    steps: &mut Steps,
) -> Result<(u64, u64), Problem> {
    let file = private(path).map_err(|error| cannot(path, &error))?;
    let mut writer = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(BufWriter::new(file));
    // A row is never too short or too long: what fails is the writing.
    let failed = |error: csv::Error| match error.into_kind() {
        csv::ErrorKind::Io(error) => cannot(path, &error),
        _ => unusable(format!("{} cannot be written: a row is longer than the first", path.display())),
    };
    let fields = fields(table);
    writer.write_record(fields.iter().map(|field| field.name)).map_err(failed)?;
    let mut row = 0;
    let rows = reading.each_entry(table, rows, steps, |cells| {
        row += 1;
        entry(&mut writer, table, row, &fields, cells)?.map_err(failed)
    })?;
    let buffered = writer.into_inner().map_err(|error| cannot(path, error.error()))?;
    let file = buffered.into_inner().map_err(|error| cannot(path, error.error()))?;
    let bytes = file.sync_all().and_then(|()| file.metadata()).map_err(|error| cannot(path, &error))?.len();
    Ok((rows, bytes))
}

fn entry(
    writer: &mut Writer<BufWriter<File>>,
    table: &Table,
    row: u64,
    fields: &[Field],
    cells: &[Cell<'_>],
) -> Result<Result<(), csv::Error>, Problem> {
    for (field, cell) in fields.iter().zip(cells) {
        let text = match *cell {
            Cell::Empty => Cow::Borrowed(""),
            Cell::Whole(value) if field.kind == Kind::YesNo => Cow::Borrowed(if value == 0 { "false" } else { "true" }),
            Cell::Whole(value) => Cow::Owned(value.to_string()),
            Cell::Real(value) if !value.is_finite() => {
                return Err(no_value(table, row, field.name, &format!("{value} is no number")));
            }
            Cell::Real(value) => Cow::Owned(value.to_string()),
            Cell::Text(text) => no_formula(text),
        };
        if let Err(error) = writer.write_field(text.as_bytes()) {
            return Ok(Err(error));
        }
    }
    Ok(writer.write_record(None::<&[u8]>))
}

/// A text that no spreadsheet takes for a formula: one that would be gets an apostrophe before it.
#[must_use]
pub fn no_formula(text: &str) -> Cow<'_, str> {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        return Cow::Owned(format!("'{text}"));
    }
    Cow::Borrowed(text)
}

/// A new file that its owner alone may read, where the system knows such a thing.
fn private(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}
