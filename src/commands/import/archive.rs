//! `import archive`: a new register out of an archive, the same as the one that it was made of, or nothing.
//!
//! Everything is made in a folder beside the place where it will stand, filled under the rules of the schema of its own level,
//! held against the digests of the list row by row, brought up to date, looked through as `verify` does, and only then given
//! its name. Nothing that is there is ever written over.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufReader, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use tempfile::{TempDir, TempPath};

use super::unpack::{Opened, damaged};
use crate::commands::archive::{LOCAL, Listed, Member, line, unusable};
use crate::commands::export::archive::dump;
use crate::commands::export::{private_folder, sync_folder};
use crate::commands::{Kind, Problem, Session, own_reagents, sds, told, verify};
use crate::register::tables::Layout;
use crate::register::work::Work;
use crate::register::{Register, StoreError};

/// Make a new register out of an archive
///
/// It is made where `--register` says, where no file may be yet; the sheets, your own reagents and your local rules come to
/// stand beside it. Everything is looked through first, and it comes whole or not at all.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock --register new/shelf.brimstock import archive shelf.zip --dry-run")]
pub struct Archive {
    /// What `export archive` has written
    pub file: PathBuf,
    /// Look everything through and keep nothing
    #[arg(long)]
    pub dry_run: bool,
}

/// An archive that became a register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// The archive.
    pub file: PathBuf,
    /// The register.
    pub register: PathBuf,
    /// True if nothing was kept.
    pub dry_run: bool,
    /// The day for which the archive was made.
    pub made_on: String,
    /// The level that it was written at.
    pub level: usize,
    /// The tables with their rows.
    pub tables: Vec<(String, u64)>,
    /// What came to stand beside it, with its bytes.
    pub beside: Vec<(String, u64)>,
    /// How many stocks it has.
    pub stocks: usize,
    /// How many lines their journals have.
    pub lines: usize,
    /// What was left as it was.
    pub notes: Vec<String>,
}

/// Where everything is made.
struct Stage {
    /// Goes, with whatever is left in it, when it is done.
    _folder: TempDir,
    register: PathBuf,
}

/// Imports an archive.
///
/// # Errors
/// If there is something already, the archive is not sound, or nothing can be written there.
pub fn run(session: &Session, arguments: &Archive) -> Result<Restored, Problem> {
    is_free(&session.path)?;
    let mut opened = Opened::open(&arguments.file)?;
    let mut notes = Vec::new();
    let keeps_local = local_stays(&session.path, &mut opened, &mut notes)?;
    let stage = stage(&session.path)?;
    let beside = unpack(&stage, &mut opened)?;
    let tables = fill(&stage.register, &mut opened, &session.work)?;
    let (stocks, lines) = look_through(&stage.register, &arguments.file, &session.work)?;
    if !arguments.dry_run {
        publish(&stage, &session.path, keeps_local)
            .map_err(|error| unusable(format!("{} cannot be written: {}", session.path.display(), told(&error))))?;
    }
    Ok(Restored {
        file: arguments.file.clone(),
        register: session.path.clone(),
        dry_run: arguments.dry_run,
        made_on: opened.manifest.made_on.clone(),
        level: opened.manifest.register_level,
        tables,
        beside,
        stocks,
        lines,
        notes,
    })
}

/// Nothing may stand where the register and what belongs to it will stand.
fn is_free(register: &Path) -> Result<(), Problem> {
    let mut journal = register.as_os_str().to_owned();
    journal.push("-journal");
    let taken = [register.to_owned(), PathBuf::from(journal), sds::folder(register), own_reagents::folder(register)];
    for path in taken {
        if fs::symlink_metadata(&path).is_ok() {
            return Err(unusable(format!("{} is there already", path.display()))
                .because("an archive becomes a new register; nothing that is there is written over")
                .hint("choose a path in a folder of its own with --register PATH"));
        }
    }
    if !folder_of(register).is_dir() {
        return Err(StoreError::NoFolder(register.to_owned()).into());
    }
    Ok(())
}

/// Looks at local rules that lie where the archive's would come to lie; true if those stay because they are the same.
fn local_stays(register: &Path, opened: &mut Opened, notes: &mut Vec<String>) -> Result<bool, Problem> {
    let path = register.with_file_name(LOCAL);
    let there = match fs::read(&path) {
        Ok(there) => there,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
        Err(error) => return Err(unusable(format!("{} cannot be read: {}", path.display(), told(&error)))),
    };
    if !opened.manifest.members.iter().any(|listed| listed.name == LOCAL) {
        notes.push(format!("{} was there already: its rules hold for this register too", path.display()));
        return Ok(true);
    }
    let mut archived = Vec::new();
    opened.each_part(&Member::Local, |part| {
        archived.extend_from_slice(part);
        Ok(())
    })?;
    if archived != there {
        return Err(unusable(format!("{} is there already, and is not that of the archive", path.display()))
            .because("nothing that is there is written over, and answers depend on it")
            .hint("choose a path in a folder of its own with --register PATH"));
    }
    Ok(true)
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

fn stage(register: &Path) -> Result<Stage, Problem> {
    let failed = |error: io::Error| unusable(format!("{} cannot be written: {}", register.display(), told(&error)));
    let name = register
        .file_name()
        .ok_or_else(|| Problem::question(format!("{} is no name of a file", register.display())))?;
    let folder = private_folder(".brimstock-import-", folder_of(register)).map_err(failed)?;
    let register = folder.path().join(name);
    Ok(Stage { _folder: folder, register })
}

/// Writes what will lie beside the register. A member's name never becomes a path; what it stands for does.
fn unpack(stage: &Stage, opened: &mut Opened) -> Result<Vec<(String, u64)>, Problem> {
    let mut beside = Vec::new();
    for Listed { name, bytes, .. } in opened.manifest.members.clone() {
        let Some(member) = Member::named(&name) else { continue };
        let path = match &member {
            Member::Manifest | Member::Table(_) => continue,
            Member::Local => stage.register.with_file_name(LOCAL),
            Member::Reagent(file) => own_reagents::folder(&stage.register).join(file),
            Member::Sheet(digest) => sds::folder(&stage.register).join(format!("{digest}.pdf")),
        };
        let failed = |error: io::Error| unusable(format!("`{name}` cannot be unpacked: {}", told(&error)));
        let mut file = private(&path).map_err(failed)?;
        opened.each_part(&member, |part| file.write_all(part).map_err(failed))?;
        file.sync_all().map_err(failed)?;
        beside.push((name, bytes));
    }
    Ok(beside)
}

/// A new file that its owner alone may read, in a folder of which the same holds.
fn private(path: &Path) -> io::Result<File> {
    let mut folder = fs::DirBuilder::new();
    folder.recursive(true);
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        std::os::unix::fs::DirBuilderExt::mode(&mut folder, 0o700);
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    }
    folder.create(folder_of(path))?;
    options.open(path)
}

/// Makes the register at the archive's level, fills it, holds it against the list, and brings it up to date.
fn fill(path: &Path, opened: &mut Opened, work: &Work) -> Result<Vec<(String, u64)>, Problem> {
    let from = opened.path.clone();
    let mut register = Register::create_at(path, opened.manifest.register_level)?.watched(work.clone())?;
    let listed = opened.manifest.members.clone();
    let all = listed.iter().filter_map(|listed| usize::try_from(listed.rows?).ok()).sum();
    let rows_of = |layout: &Layout| {
        let name = Member::Table(layout.table.clone()).name();
        listed.iter().find(|listed| listed.name == name)
    };
    let tables = register.write(|writing| {
        let layouts = writing.parents_first(writing.layouts()?)?;
        for layout in &layouts {
            if rows_of(layout).is_none() {
                return Err(damaged(&from, format!("the table `{}` is not in it", layout.table)));
            }
        }
        for Listed { name, .. } in &listed {
            if let Some(Member::Table(table)) = Member::named(name)
                && !layouts.iter().any(|layout| layout.table == table)
            {
                let level = opened.manifest.register_level;
                return Err(damaged(&from, format!("a register of level {level} has no table `{table}`")));
            }
        }
        let mut tables = Vec::new();
        let mut steps = writing.work().steps("entering rows", all);
        for layout in &layouts {
            writing.make_room(&layout.table)?;
            let member = Member::Table(layout.table.clone());
            let mut reader = BufReader::new(opened.reader(&member)?);
            let name = member.name();
            let bad = |row: u64, why: &str| damaged(&from, format!("`{name}`, line {}: {why}", row + 1));
            let mut text = Vec::new();
            let head = line::read(&mut reader, &mut text).map_err(|why| bad(0, &why))?.unwrap_or_default();
            if head != layout.columns.iter().map(String::as_str).collect::<Vec<_>>() {
                return Err(bad(0, "these are not the columns of that table"));
            }
            let mut rows = 0;
            while let Some(row) = line::read(&mut reader, &mut text).map_err(|why| bad(rows + 1, &why))? {
                rows += 1;
                steps.one()?;
                let cells = line::cells(&row).map_err(|why| bad(rows, &why))?;
                if cells.len() != layout.columns.len() {
                    return Err(bad(rows, &format!("{} values for {} columns", cells.len(), layout.columns.len())));
                }
                writing.enter_row(layout, &cells).map_err(|error| match error {
                    // A rule of the schema that the row breaks; anything else is the disk's or the system's.
                    StoreError::Sql { cause, .. } if cause.contains("FOREIGN KEY") => {
                        bad(rows, "it names something that is not in the archive")
                    }
                    StoreError::Sql { cause, .. } => bad(rows, &cause),
                    other => other.into(),
                })?;
            }
            tables.push((layout.table.clone(), rows));
        }
        tables.sort();
        Ok::<_, Problem>(tables)
    })?;
    register.read(|reading| {
        let mut steps = reading.work().steps("holding rows against the list", all);
        for layout in reading.layouts()? {
            let (measured, rows) = dump(reading, &layout, &mut steps, &mut |_| {}, |_| Ok(()))?;
            let same =
                rows_of(&layout).is_some_and(|listed| listed.rows == Some(rows) && measured.digest() == listed.sha256);
            if !same {
                return Err(damaged(&from, format!("`{}` does not read back as it was written", layout.table)));
            }
        }
        Ok::<(), Problem>(())
    })?;
    register.bring_up()?;
    Ok(tables)
}

/// Looks the new register through as `verify` does, with what came beside it; tells its stocks and lines.
fn look_through(path: &Path, from: &Path, work: &Work) -> Result<(usize, usize), Problem> {
    let local = path.with_file_name(LOCAL);
    if local.is_file() {
        // Rules with faults are the keeper's and are told by `local check`; what is no text was never exported.
        fs::read_to_string(&local).map_err(|error| damaged(from, format!("`{LOCAL}`: {}", told(&error))))?;
    }
    let catalogue = own_reagents::catalogue(path).map_err(|problem| damaged(from, problem.what))?;
    let mut register = Register::open(path)?.watched(work.clone())?;
    let verified = verify::look_through(catalogue, &mut register, path.to_owned())?;
    match verified.faults.into_iter().next() {
        Some(first) => Err(Problem { kind: Kind::Data, ..damaged(from, first) }),
        None => Ok((verified.stocks, verified.lines)),
    }
}

/// Gives everything its name, the register last; what was named already goes again if the rest cannot be.
fn publish(stage: &Stage, register: &Path, keeps_local: bool) -> io::Result<()> {
    let mut placed = Vec::new();
    let named = place(stage, register, keeps_local, &mut placed);
    if named.is_err() {
        for path in placed.iter().rev() {
            // Nobody else has seen them; if even this fails there is nothing more to be done.
            let _ = if path.is_dir() { fs::remove_dir_all(path) } else { fs::remove_file(path) };
        }
    }
    named
}

fn place(stage: &Stage, register: &Path, keeps_local: bool, placed: &mut Vec<PathBuf>) -> io::Result<()> {
    let folders = [
        (sds::folder(&stage.register), sds::folder(register)),
        (own_reagents::folder(&stage.register), own_reagents::folder(register)),
    ];
    for (from, to) in folders {
        if from.is_dir() {
            fs::rename(from, &to)?;
            placed.push(to);
        }
    }
    let local = stage.register.with_file_name(LOCAL);
    if local.is_file() && !keeps_local {
        let to = register.with_file_name(LOCAL);
        no_clobber(&local, &to)?;
        placed.push(to);
    }
    no_clobber(&stage.register, register)?;
    placed.push(register.to_owned());
    sync_folder(folder_of(register))
}

/// Gives a file another name, under which there may be none.
fn no_clobber(from: &Path, to: &Path) -> io::Result<()> {
    let path = TempPath::try_from_path(from)?;
    path.persist_noclobber(to).map_err(|error| error.error)
}
