//! `export archive`: everything in one file, from which `import archive` makes the same register again.
//!
//! The same register and the same day give the same bytes: members are sorted, their times are fixed, and nothing of the
//! machine is in it.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, BufWriter, Read, Seek, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use tempfile::NamedTempFile;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, System, ZipWriter};

use super::{Exported, begin, cannot, finish};
use crate::commands::archive::{self, LARGEST_TOTAL, Listed, MOST_MEMBERS, Manifest, Measured, Member, line, unusable};
use crate::commands::{Problem, Session, local, own_reagents, sds, told};
use crate::register::Writing;
use crate::register::tables::{Cell, LEVEL, Layout};
use crate::register::work::Steps;

/// Write one file from which `import archive` makes the same register again
///
/// A zip file with every table, the suppliers' sheets, your own reagents and your local rules, and a list of them with the
/// SHA-256 of each. The same register and day give the same bytes.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock export archive shelf-2031-03-15.zip")]
pub struct Archive {
    /// The file
    pub file: PathBuf,
    /// Write over an earlier export
    #[arg(long)]
    pub force: bool,
}

/// A member before it is packed.
struct Packed {
    listed: Listed,
    from: From,
}

/// Where its bytes are.
enum From {
    Memory(Vec<u8>),
    Spool(File),
    Beside(PathBuf),
}

/// Writes the archive.
///
/// # Errors
/// If the register has a fault or something beside it cannot be read, if the file is there already, or if it cannot be
/// written.
pub fn run(session: &Session, arguments: &Archive) -> Result<Exported, Problem> {
    let path = arguments.file.as_path();
    if path == Path::new("-") {
        return Err(Problem::question("an archive goes into a file, not to standard output")
            .hint("name a file that ends in .zip; `brimstock export json -` prints"));
    }
    let mut register = session.register()?;
    if let Some(first) = register.faults()?.into_iter().next() {
        return Err(unusable(format!("{} is not archived: {first}", session.path.display()))
            .because("what an archive holds must be sound")
            .hint(super::LEFT));
    }
    let file = begin(path, arguments.force, |beginning| beginning.starts_with(b"PK\x03\x04"))?;
    let mut notes = Vec::new();
    let mut members = Vec::new();
    register.read(|reading| {
        reading.sound()?;
        let layouts = reading.layouts()?;
        let mut all = 0;
        for layout in &layouts {
            all += reading.count(&layout.table)?;
        }
        let mut steps = reading.work().steps("archiving rows", all);
        let mut digests = BTreeSet::new();
        for layout in &layouts {
            members.push(table(reading, layout, &mut steps, path, &mut digests)?);
        }
        sheets(session, &digests, &mut members, &mut notes)
    })?;
    beside(session, &mut members)?;
    members.sort_by(|one, other| one.listed.name.cmp(&other.listed.name));
    within_limits(&members)?;
    let manifest = Manifest {
        what: archive::WHAT.to_owned(),
        format: archive::FORMAT,
        register_level: LEVEL,
        made_on: session.day.to_string(),
        count: members.len(),
        members: members.iter().map(|member| member.listed.clone()).collect(),
    };
    let mut list = serde_json::to_vec_pretty(&manifest).map_err(|error| unusable(error.to_string()))?;
    list.push(b'\n');
    members.push(in_memory(&Member::Manifest, list));
    members.sort_by(|one, other| one.listed.name.cmp(&other.listed.name));
    let files = members.iter().map(|member| (member.listed.name.clone(), member.listed.bytes)).collect();
    let tables = members
        .iter()
        .filter_map(|member| match (Member::named(&member.listed.name), member.listed.rows) {
            (Some(Member::Table(table)), Some(rows)) => Some((table, rows)),
            _ => None,
        })
        .collect();
    let file = pack(file, members, path)?;
    let bytes = file.as_file().metadata().map_err(|error| cannot(path, &error))?.len();
    finish(file, path, arguments.force)?;
    Ok(Exported { form: "archive", path: path.to_owned(), on: session.day, tables, files, bytes, notes })
}

/// One table, into a file without a name: its length and digest must be known before the list is written.
fn table(
    reading: &Writing<'_>,
    layout: &Layout,
    steps: &mut Steps,
    path: &Path,
    digests: &mut BTreeSet<String>,
) -> Result<Packed, Problem> {
    let failed = |error: io::Error| cannot(path, &error);
    let mut out = BufWriter::new(tempfile::tempfile().map_err(failed)?);
    let digest = (layout.table == "sheet").then(|| layout.columns.iter().position(|name| name == "digest")).flatten();
    let mut keep = |cells: &[Cell<'_>]| {
        if let Some(Cell::Text(text)) = digest.and_then(|place| cells.get(place)) {
            digests.insert((*text).to_owned());
        }
    };
    let (measured, rows) = dump(reading, layout, steps, &mut keep, |bytes| out.write_all(bytes).map_err(failed))?;
    let mut spool = out.into_inner().map_err(|error| cannot(path, error.error()))?;
    spool.rewind().map_err(failed)?;
    let name = Member::Table(layout.table.clone()).name();
    let listed = Listed { name, bytes: measured.bytes, sha256: measured.digest(), rows: Some(rows) };
    Ok(Packed { listed, from: From::Spool(spool) })
}

/// A table as it stands in an archive, bit by bit, with what it comes to and how many rows it has.
///
/// # Errors
/// If it cannot be read, for a value that no archive can hold, or what the sink says.
pub fn dump(
    reading: &Writing<'_>,
    layout: &Layout,
    steps: &mut Steps,
    seen: &mut dyn FnMut(&[Cell<'_>]),
    mut sink: impl FnMut(&[u8]) -> Result<(), Problem>,
) -> Result<(Measured, u64), Problem> {
    let no_row = |row: u64, why: String| unusable(format!("`{}`, row {row}: {why}", layout.table));
    let mut measured = Measured::default();
    let mut text = Vec::new();
    let head: Vec<Cell<'_>> = layout.columns.iter().map(|name| Cell::Text(name)).collect();
    line::write(&head, &mut text).map_err(|why| no_row(0, why))?;
    measured.take(&text);
    sink(&text)?;
    let mut row = 0;
    let rows = reading.each_row(layout, steps, |cells| {
        row += 1;
        seen(cells);
        text.clear();
        line::write(cells, &mut text).map_err(|why| no_row(row, why))?;
        measured.take(&text);
        sink(&text)
    })?;
    Ok((measured, rows))
}

/// The suppliers' sheets that the register names; one that is not there as it was attached is left out and told.
fn sheets(
    session: &Session,
    digests: &BTreeSet<String>,
    members: &mut Vec<Packed>,
    notes: &mut Vec<String>,
) -> Result<(), Problem> {
    let folder = sds::folder(&session.path);
    for digest in digests {
        if !archive::is_digest(digest) {
            return Err(unusable(format!("`{digest}` is no digest of a sheet")));
        }
        let path = folder.join(format!("{digest}.pdf"));
        let member = Member::Sheet(digest.clone());
        let read = measure(&path, member.largest());
        match read {
            Ok(measured) => {
                let bytes = measured.bytes;
                let sha256 = measured.digest();
                if sha256 == *digest {
                    let listed = Listed { name: member.name(), bytes, sha256, rows: None };
                    members.push(Packed { listed, from: From::Beside(path) });
                } else {
                    notes.push(format!("{} is not the sheet that was attached: left out", path.display()));
                }
            }
            Err(error) => notes.push(format!("{} cannot be read ({}): left out", path.display(), told(&error))),
        }
    }
    Ok(())
}

fn measure(path: &Path, largest: u64) -> io::Result<Measured> {
    let mut measured = Measured::default();
    let mut file = File::open(path)?.take(largest + 1);
    let mut part = vec![0; 65536];
    loop {
        match file.read(&mut part)? {
            0 => return Ok(measured),
            read => measured.take(&part[..read]),
        }
    }
}

/// What lies beside the register and answers depend on: the local rules, and reagents of the keeper's own.
fn beside(session: &Session, members: &mut Vec<Packed>) -> Result<(), Problem> {
    let unreadable =
        |path: &Path, error: &io::Error| unusable(format!("{} cannot be read: {}", path.display(), told(error)));
    if let Some(text) = local::text(session)? {
        members.push(in_memory(&Member::Local, text.into_bytes()));
    }
    let folder = own_reagents::folder(&session.path);
    if !folder.is_dir() {
        return Ok(());
    }
    for entry in fs::read_dir(&folder).map_err(|error| unreadable(&folder, &error))? {
        let path = entry.map_err(|error| unreadable(&folder, &error))?.path();
        if path.extension().is_none_or(|end| end != "toml") {
            continue;
        }
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let member = Member::Reagent(name.clone());
        if Member::named(&member.name()).as_ref() != Some(&member) {
            return Err(unusable(format!("{} cannot be archived under its name", path.display()))
                .because("the file of a reagent is named after its key: small letters, digits and hyphens")
                .hint("rename the file after its key"));
        }
        members.push(in_memory(&member, fs::read(&path).map_err(|error| unreadable(&path, &error))?));
    }
    Ok(())
}

fn in_memory(member: &Member, bytes: Vec<u8>) -> Packed {
    let mut measured = Measured::default();
    measured.take(&bytes);
    let listed = Listed { name: member.name(), bytes: measured.bytes, sha256: measured.digest(), rows: None };
    Packed { listed, from: From::Memory(bytes) }
}

/// Nothing is written that could not be read back.
fn within_limits(members: &[Packed]) -> Result<(), Problem> {
    let too_large = |what: String| unusable(what).because("an archive beyond it could not be read back");
    let mut total = 0;
    for Packed { listed, .. } in members {
        let largest = Member::named(&listed.name).map_or(0, |member| member.largest());
        if listed.bytes > largest {
            return Err(too_large(format!("{} has {} bytes; at most {largest} fit", listed.name, listed.bytes)));
        }
        total += listed.bytes;
    }
    if members.len() >= MOST_MEMBERS || total > LARGEST_TOTAL {
        let told = format!("{} files with {total} bytes", members.len());
        return Err(too_large(format!("{told}; at most {MOST_MEMBERS} with {LARGEST_TOTAL} fit")));
    }
    Ok(())
}

/// Packs the members; one that changed since it was measured is noticed.
fn pack(file: NamedTempFile, members: Vec<Packed>, path: &Path) -> Result<NamedTempFile, Problem> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(6))
        .system(System::Unix)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o600);
    let failed = |error: io::Error| cannot(path, &error);
    let mut zip = ZipWriter::new(BufWriter::new(file));
    for Packed { listed, from } in members {
        zip.start_file(listed.name.as_str(), options).map_err(|error| failed(error.into()))?;
        let mut source: Box<dyn Read> = match from {
            From::Memory(bytes) => Box::new(io::Cursor::new(bytes)),
            From::Spool(file) => Box::new(file),
            From::Beside(path) => Box::new(File::open(&path).map_err(|error| cannot(&path, &error))?),
        };
        let mut measured = Measured::default();
        let mut part = vec![0; 65536];
        loop {
            match source.read(&mut part).map_err(failed)? {
                0 => break,
                read => {
                    measured.take(&part[..read]);
                    zip.write_all(&part[..read]).map_err(failed)?;
                }
            }
        }
        if measured.digest() != listed.sha256 {
            return Err(unusable(format!("{} changed while it was packed", listed.name))
                .because("nothing was exported")
                .hint("try again"));
        }
    }
    let buffered = zip.finish().map_err(|error| failed(error.into()))?;
    buffered.into_inner().map_err(|error| cannot(path, error.error()))
}
