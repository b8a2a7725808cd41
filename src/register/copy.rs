//! Copies of a register: made while others may write, looked through before they count, put back without losing what was there.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};
use tempfile::{NamedTempFile, TempDir};

use super::system::{not_made, told};
use super::{PATIENCE, Register, StoreError, commit_error, io_error, store_error};

/// How the name of a copy begins that is not finished; one that stays under it was left by a command that was killed.
pub const UNFINISHED: &str = "unfinished-";

/// What a register holds, told in short before another takes its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// How many stocks.
    pub stocks: usize,
    /// How many lines of journals.
    pub lines: usize,
    /// How many entries of the book of baths.
    pub baths: usize,
    /// The last day for which something was entered in either.
    pub last: Option<String>,
}

/// How many pages are copied at a time, and how long others may write in between.
const PAGES: i32 = 1000;
const PAUSE: Duration = Duration::from_millis(5);

impl Register {
    /// Opens a copy of a file, in a folder that goes with it: whatever is brought up to date in it, the file stays as it is.
    ///
    /// # Errors
    /// As [`Register::open`], each naming the file itself.
    pub fn open_aside(path: &Path) -> Result<(Register, TempDir), StoreError> {
        let refused = |error: io::Error| match error.kind() {
            io::ErrorKind::NotFound => StoreError::Missing(path.to_owned()),
            _ => StoreError::Refused {
                path: path.to_owned(),
                cause: format!("no copy of it could be made to look at: {}", told(&error)),
            },
        };
        // A pipe may never end, and a folder has nothing to be copied.
        if std::fs::metadata(path).is_ok_and(|data| !data.is_file()) {
            return Err(StoreError::Refused { path: path.to_owned(), cause: "it is no plain file".to_owned() });
        }
        let folder = tempfile::tempdir().map_err(refused)?;
        let aside = folder.path().join("copy.brimstock");
        set_aside(path, &aside).map_err(refused)?;
        let register = Register::open(&aside).map_err(|error| error.at(path))?;
        Ok((Register { path: path.to_owned(), ..register }, folder))
    }

    /// Copies the register as it stands at one moment into a new file, whole or not at all, and looks the copy through.
    ///
    /// # Errors
    /// [`StoreError::Exists`] if there is a file already, [`StoreError::Damaged`] if the copy has a fault, or what the
    /// system says.
    pub fn back_up(&self, to: &Path) -> Result<(), StoreError> {
        let file = self.copied_beside(to)?;
        let faults = Register::open(file.path()).and_then(|mut copy| copy.faults()).map_err(|error| error.at(to))?;
        if let Some(first) = faults.into_iter().next() {
            return Err(StoreError::Damaged { path: self.path.clone(), cause: first });
        }
        file.persist_noclobber(to).map_err(|error| match error.error.kind() {
            io::ErrorKind::AlreadyExists => StoreError::Exists(to.to_owned()),
            _ => io_error(to, &error.error),
        })?;
        keep_name(to)
    }

    /// Copies the register into a file beside that whose place it is to take. It goes away again if it does not.
    fn copied_beside(&self, to: &Path) -> Result<NamedTempFile, StoreError> {
        let refused = |error: io::Error| io_error(to, &error);
        let file = unfinished(folder_of(to)).map_err(|error| match error.kind() {
            io::ErrorKind::NotFound => StoreError::Refused { path: to.to_owned(), cause: not_made(&error) },
            _ => refused(error),
        })?;
        let wrap = |error| store_error(to, error);
        let mut copy = Connection::open(file.path()).map_err(wrap)?;
        // What is not finished is thrown away whole: no journal, which would be left beside it, and one sync at the end.
        copy.execute_batch("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;").map_err(wrap)?;
        copy_pages(&self.connection, &mut copy, PAGES, to)?;
        drop(copy);
        file.as_file().sync_all().map_err(refused)?;
        Ok(file)
    }

    /// Puts a copy back in the place of a register. What was there must have been kept before: see [`set_aside`].
    ///
    /// A register that can still be opened is written over page by page in one transaction of SQLite's, so that another
    /// command sees the old one or the new one; one that cannot is replaced by the file.
    ///
    /// # Errors
    /// What is wrong with the copy, or what the system says.
    pub fn put_back(from: &Path, at: &Path) -> Result<(), StoreError> {
        let (source, _folder) = Register::open_aside(from)?;
        if let Ok(mut there) = Register::connect(at)
            && there.header().is_ok()
        {
            // All pages in one step: no moment at which it is half the one and half the other.
            return copy_pages(&source.connection, &mut there.connection, i32::MAX, at);
        }
        let file = source.copied_beside(at)?;
        match fs::remove_file(journal(at)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(io_error(at, &error)),
            _ => {}
        }
        file.persist(at).map_err(|error| io_error(at, &error.error))?;
        keep_name(at)
    }

    /// What it holds, in short.
    ///
    /// # Errors
    /// If it cannot be read.
    pub fn held(&mut self) -> Result<Held, StoreError> {
        self.read(|reading| {
            let last = "SELECT max(day) FROM (SELECT max(day) AS day FROM event UNION ALL SELECT max(day) FROM bench)";
            Ok(Held {
                stocks: reading.count("stock")?,
                lines: reading.count("event")?,
                baths: reading.count("bench")?,
                last: reading.one(last, [], |row| row.get(0))?,
            })
        })
    }

    /// Every fault of the file and of its seals, in words; none of a sound one.
    ///
    /// # Errors
    /// If it cannot even be opened.
    pub fn faults(&mut self) -> Result<Vec<String>, StoreError> {
        self.read(|reading| {
            let checked = reading.work().at("looking through the file", || {
                reading.all("PRAGMA integrity_check", [], |row| row.get::<_, String>(0))
            });
            let mut faults: Vec<String> = found(
                checked.map(|lines| lines.iter().filter(|line| *line != "ok").map(|line| in_words(line)).collect()),
            )?;
            faults.extend(found(reading.all("PRAGMA foreign_key_check", [], |row| {
                let (table, row, parent): (String, Option<i64>, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
                Ok(format!("row {} of `{table}` names something of `{parent}` that is not there", row.unwrap_or(0)))
            }))?);
            faults.extend(reading.damage()?.into_iter().map(|damage| damage.told()));
            if faults.is_empty() {
                faults.extend(reading.wrong_checkpoints()?);
            }
            // What stops two looks is one fault.
            let mut told = BTreeSet::new();
            faults.retain(|fault| told.insert(fault.clone()));
            Ok(faults)
        })
    }
}

/// What SQLite's check says of a file.
fn in_words(line: &str) -> String {
    match line.strip_prefix("CHECK constraint failed in ") {
        Some(table) => format!("a row of `{table}` holds what it must not hold (SQLite: {line})"),
        None => format!("the file does not hold together (SQLite: {line})"),
    }
}

/// What a look found; that it came upon damage is what it found.
fn found(looked: Result<Vec<String>, StoreError>) -> Result<Vec<String>, StoreError> {
    match looked {
        Err(StoreError::Damaged { cause, .. }) => Ok(vec![cause]),
        other => other,
    }
}

/// Keeps what stands at a register's path, byte by byte, whatever it is: beside the copies, under a name that is free.
///
/// # Errors
/// If it cannot be read or the copy not be written.
pub fn set_aside(register: &Path, to: &Path) -> io::Result<()> {
    copy_new(register, to)?;
    match copy_new(&journal(register), &journal(to)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

fn copy_new(from: &Path, to: &Path) -> io::Result<()> {
    let bytes = fs::read(from)?;
    let mut file = unfinished(folder_of(to))?;
    io::Write::write_all(&mut file, &bytes)?;
    file.as_file().sync_all()?;
    file.persist_noclobber(to).map(|_| ()).map_err(|error| error.error)
}

/// Copies every page, so many at a time; waits for others no longer than any command does.
fn copy_pages(from: &Connection, to: &mut Connection, pages: i32, path: &Path) -> Result<(), StoreError> {
    let wrap = |error| commit_error(path, error);
    let backup = Backup::new(from, to).map_err(wrap)?;
    let mut waits_since = None;
    loop {
        match backup.step(pages).map_err(wrap)? {
            StepResult::Done => return Ok(()),
            StepResult::More => waits_since = None,
            _ if waits_since.get_or_insert_with(Instant::now).elapsed() > PATIENCE => {
                return Err(StoreError::Busy(path.to_owned()));
            }
            _ => {}
        }
        thread::sleep(PAUSE);
    }
}

/// A file in the making, for its owner's eyes only.
fn unfinished(folder: &Path) -> io::Result<NamedTempFile> {
    NamedTempFile::with_prefix_in(UNFINISHED, folder)
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Sees to it that a new name outlives a power cut.
fn keep_name(path: &Path) -> Result<(), StoreError> {
    #[cfg(unix)]
    File::open(folder_of(path)).and_then(|folder| folder.sync_all()).map_err(|error| io_error(path, &error))?;
    Ok(())
}

/// Where SQLite keeps what an interrupted command has begun.
pub(super) fn journal(register: &Path) -> PathBuf {
    let mut name = OsString::from(register);
    name.push("-journal");
    PathBuf::from(name)
}
