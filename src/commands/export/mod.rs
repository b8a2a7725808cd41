//! `export`: everything on file in forms that other programs read, and in one that this program reads back.

pub mod archive;
pub mod csv;
pub mod json;
pub mod schema;

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::{Args, Subcommand};
use tempfile::{Builder, NamedTempFile, TempDir};

use super::archive::unusable;
use super::{Problem, Session, told};
use crate::register::columns::{Column, Kind, TABLES, Table};
use crate::register::damage::{LeftOut, Rows};
use crate::register::head::Aside;
use crate::register::system::not_made;
use crate::register::work::Steps;
use crate::register::{Register, StoreError, Writing};

/// Write everything on file into forms that other programs read
///
/// All of it is exported, with all of its history. What is written is for its owner's eyes only, and appears whole or not at
/// all.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock export archive shelf.zip\n  brimstock export csv shelf-tables\n  brimstock export json shelf.json"
)]
pub struct Export {
    /// Into what
    #[command(subcommand)]
    pub verb: ExportVerb,
}

/// The forms of an export.
#[derive(Debug, Subcommand)]
pub enum ExportVerb {
    Csv(csv::Csv),
    Json(json::Json),
    /// Print the JSON Schema (2020-12) of what `export json` writes
    #[command(after_help = "Example: brimstock export schema > shelf.schema.json")]
    Schema,
    Archive(archive::Archive),
}

/// What to do with a damaged register.
const LEFT: &str = "`brimstock verify` tells all that is wrong, and `brimstock restore COPY` puts a copy back; what is still sound comes out \
                    with `brimstock export csv FOLDER --sound-only`, or `export json`";

/// What an export came to.
#[derive(Debug)]
pub enum Outcome {
    /// Files were written.
    Exported(Exported),
    /// What goes to standard output lies in a file without a name.
    Streamed(File),
    /// The schema.
    Schema(String),
}

/// Files that were written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exported {
    /// `csv`, `json` or `archive`.
    pub form: &'static str,
    /// The file or the folder.
    pub path: PathBuf,
    /// The day that stands in it.
    pub on: NaiveDate,
    /// The tables with their rows.
    pub tables: Vec<(String, u64)>,
    /// The files, or what an archive holds, with their bytes.
    pub files: Vec<(String, u64)>,
    /// The bytes in all, as they lie there.
    pub bytes: u64,
    /// What is not in it, and why.
    pub notes: Vec<String>,
}

impl Exported {
    /// Rows of all tables.
    #[must_use]
    pub fn rows(&self) -> u64 {
        self.tables.iter().map(|(_, rows)| rows).sum()
    }
}

/// Exports.
///
/// # Errors
/// If the register is damaged or cannot be read, if there is something already where it should go, or if it cannot be
/// written.
pub fn run(session: &Session, arguments: &Export) -> Result<Outcome, Problem> {
    match &arguments.verb {
        ExportVerb::Csv(given) => csv::run(session, given).map(Outcome::Exported),
        ExportVerb::Json(given) => json::run(session, given),
        ExportVerb::Schema => Ok(Outcome::Schema(schema::schema())),
        ExportVerb::Archive(given) => archive::run(session, given).map(Outcome::Exported),
    }
}

/// What is said where the head of the register's file was set right for an export.
const HEAD: &str = "the head of the register's file, its first 100 bytes, is damaged: all of this was read from a copy in which it is \
                    set right, and the file itself stays as it is";

/// What is said of a damaged register of an earlier version.
const EARLIER: &str = "the register is of an earlier version, and is not brought up to date while it is damaged: all of this was read from a \
                       copy of it, and the file itself stays as it is";

/// Opens the register; for what is left of a damaged one also where the head of its file is damaged. With it what must stay
/// while it is read, and what is to be told.
///
/// # Errors
/// If it cannot be opened.
fn opened(session: &Session, sound_only: bool) -> Result<(Register, Option<Aside>, Vec<String>), Problem> {
    if !sound_only {
        return Ok((session.register()?, None, Vec::new()));
    }
    let nothing = "nothing of it can be read as a register; `brimstock restore COPY` puts your last copy back: the copies stand in \
                   the folder beside it, or where `backup --to` wrote them";
    let (register, aside) = Register::open_with_head_set_right(&session.path).map_err(|error| match error {
        StoreError::Damaged { .. } | StoreError::Foreign(_) | StoreError::Newer { .. } | StoreError::Sql { .. } => {
            Problem::from(error).hint(nothing)
        }
        other => other.into(),
    })?;
    let notes = aside.iter().map(|aside| if aside.head_is_damaged { HEAD } else { EARLIER }.to_owned()).collect();
    Ok((register.watched(session.work.clone())?, aside, notes))
}

/// Which rows are exported: all of a sound register; of a damaged one none, or those that are sound.
///
/// # Errors
/// If it is damaged and nobody has asked for what is left.
fn rows(reading: &Writing<'_>, sound_only: bool) -> Result<Rows, Problem> {
    if sound_only {
        return Ok(reading.sound_rows()?);
    }
    reading.sound().map_err(|error| match &error {
        StoreError::Damaged { .. } => Problem::from(error).because("nothing was exported").hint(LEFT),
        _ => error.into(),
    })?;
    Ok(Rows::default())
}

/// What is not exported of a damaged register, row by row.
fn left_out(rows: &Rows) -> Vec<String> {
    let mut notes: Vec<String> = rows
        .left_out
        .iter()
        .map(|LeftOut { table, rows, more, why }| {
            let behind = if *more { ", and whatever cannot be read behind them," } else { "" };
            match rows.len() {
                0 => format!("whatever cannot be read of `{table}` is left out: {why}"),
                1 if !more => format!("row {} of `{table}` is left out: {why}", rows[0]),
                _ => format!("rows {} of `{table}`{behind} are left out: {why}", ranges(rows)),
            }
        })
        .collect();
    let shown = |table: &&str| {
        let mut columns = TABLES.iter().flat_map(|table| table.columns);
        columns.any(|column| matches!(column.kind, Kind::Of { table: of, shown: Some(_) } if of == *table))
    };
    notes.extend(rows.nameless().filter(shown).map(|table| {
        format!("where other tables name a row of `{table}`, its number stands there, and its name is left empty")
    }));
    notes
}

/// `1-3, 7`, of numbers that rise.
fn ranges(numbers: &[i64]) -> String {
    let mut ranges: Vec<(i64, i64)> = Vec::new();
    for number in numbers {
        match ranges.last_mut() {
            Some((_, last)) if *last + 1 == *number => *last = *number,
            _ => ranges.push((*number, *number)),
        }
    }
    let told = ranges.into_iter().map(|(first, last)| match first == last {
        true => first.to_string(),
        false => format!("{first}-{last}"),
    });
    told.collect::<Vec<_>>().join(", ")
}

/// The steps of an export of every table: one a row.
fn steps(reading: &Writing<'_>, rows: &Rows) -> Result<Steps, StoreError> {
    let mut all = 0;
    for table in TABLES {
        all += rows.of(table.name).map_or_else(|| reading.count(table.name), |sound| Ok(sound.len()))?;
    }
    Ok(reading.work().steps("exporting rows", all))
}

/// A value that cannot be exported, by its table, row and column.
fn no_value(table: &Table, row: u64, field: &str, why: &str) -> Problem {
    let column = table.columns.iter().find(|column: &&Column| column.field == field);
    let column = column.map_or(field, |column| column.name);
    unusable(format!("`{}`, row {row}, `{column}`: {why}", table.name))
        .because("nothing was written")
        .hint("`brimstock verify` looks the register through")
}

/// The folder that something lies in.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Begins a file that its owner alone may read, beside the name that it will have.
///
/// # Errors
/// If there is something already that may not be written over, or nothing can be written there.
fn begin(path: &Path, force: bool, is_ours: fn(&[u8]) -> bool) -> Result<NamedTempFile, Problem> {
    let shown = path.display();
    let refused = |why: &str| unusable(format!("{shown} {why}")).because("nothing was written");
    match fs::metadata(path) {
        Ok(there) if !there.is_file() => return Err(refused("is no plain file").hint("name a file")),
        Ok(_) if !force => {
            return Err(refused("is there already").hint("choose another name, or write over it with `--force`"));
        }
        Ok(_) => {
            let mut beginning = [0; 64];
            let read = File::open(path).and_then(|mut file| io::Read::read(&mut file, &mut beginning));
            let read = read.map_err(|error| unusable(format!("{shown} cannot be read: {}", told(&error))))?;
            if !is_ours(&beginning[..read]) {
                return Err(refused("is there already and is no such export").hint("choose another name"));
            }
        }
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(cannot(path, &error)),
        Err(_) => {}
    }
    let folder = folder_of(path);
    if !folder.is_dir() {
        return Err(refused("cannot be written: its folder is not there").hint("make the folder first"));
    }
    NamedTempFile::with_prefix_in(".brimstock-export-", folder).map_err(|error| cannot(path, &error))
}

/// Gives a finished file its name.
fn finish(file: NamedTempFile, path: &Path, force: bool) -> Result<(), Problem> {
    file.as_file().sync_all().map_err(|error| cannot(path, &error))?;
    let kept = if force { file.persist(path) } else { file.persist_noclobber(path) };
    kept.map_err(|error| cannot(path, &error.error))?;
    sync_folder(folder_of(path)).map_err(|error| cannot(path, &error))
}

/// A folder of that beginning, into which only its owner may look where the system knows such a thing.
pub(super) fn private_folder(beginning: &str, beside: &Path) -> io::Result<TempDir> {
    let mut builder = Builder::new();
    builder.prefix(beginning);
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o700));
    builder.tempdir_in(beside)
}

/// Makes sure that names outlive a power cut, where the system knows such a thing.
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    let _ = folder;
    Ok(())
}

fn cannot(path: &Path, error: &io::Error) -> Problem {
    unusable(format!("{} cannot be written: {}", path.display(), not_made(error)))
        .because("nothing was exported")
        .hint("accepted: a place on a disk or a stick in which you may write, with room left")
}
