//! Copies of a register: made while others may write, looked through before they count, put back without losing what was there.

use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::Connection;
use rusqlite::backup::Backup;
use tempfile::{NamedTempFile, TempDir};

use super::{Register, StoreError, store_error};

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
            _ => StoreError::Refused { path: path.to_owned(), cause: error.to_string() },
        };
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
        let refused = |error: io::Error| StoreError::Refused { path: to.to_owned(), cause: error.to_string() };
        let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let file = NamedTempFile::new_in(folder).map_err(refused)?;
        let wrap = |error| store_error(to, error);
        {
            let mut copy = Connection::open(file.path()).map_err(wrap)?;
            let backup = Backup::new(&self.connection, &mut copy).map_err(wrap)?;
            backup.run_to_completion(PAGES, PAUSE, None).map_err(wrap)?;
        }
        let faults = Register::open(file.path())?.faults()?;
        if let Some(first) = faults.into_iter().next() {
            return Err(StoreError::Damaged { path: self.path.clone(), cause: first });
        }
        file.as_file().sync_all().map_err(refused)?;
        file.persist_noclobber(to).map(|_| ()).map_err(|error| match error.error.kind() {
            io::ErrorKind::AlreadyExists => StoreError::Exists(to.to_owned()),
            _ => refused(error.error),
        })
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
        let wrap = |error| store_error(at, error);
        if let Ok(mut there) = Register::connect(at)
            && there.pragma("user_version").is_ok()
        {
            let backup = Backup::new(&source.connection, &mut there.connection).map_err(wrap)?;
            // All pages in one step: no moment at which it is half the one and half the other.
            return backup.run_to_completion(i32::MAX, PAUSE, None).map_err(wrap);
        }
        let refused = |error: io::Error| StoreError::Refused { path: at.to_owned(), cause: error.to_string() };
        let folder = at.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let file = NamedTempFile::new_in(folder).map_err(refused)?;
        {
            let mut copy = Connection::open(file.path()).map_err(wrap)?;
            let backup = Backup::new(&source.connection, &mut copy).map_err(wrap)?;
            backup.run_to_completion(PAGES, PAUSE, None).map_err(wrap)?;
        }
        file.as_file().sync_all().map_err(refused)?;
        match fs::remove_file(journal(at)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(refused(error)),
            _ => {}
        }
        file.persist(at).map(|_| ()).map_err(|error| refused(error.error))
    }

    /// Every fault of the file and of its seals, in words; none of a sound one.
    ///
    /// # Errors
    /// If it cannot even be read.
    pub fn faults(&mut self) -> Result<Vec<String>, StoreError> {
        self.read(|reading| {
            let mut faults: Vec<String> = reading
                .all("PRAGMA integrity_check", [], |row| row.get::<_, String>(0))?
                .into_iter()
                .filter(|line| line != "ok")
                .map(|line| format!("SQLite: {line}"))
                .collect();
            let orphans = reading.all("PRAGMA foreign_key_check", [], |row| {
                let (table, row, parent): (String, Option<i64>, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
                Ok(format!("row {} of `{table}` names something of `{parent}` that is not there", row.unwrap_or(0)))
            })?;
            faults.extend(orphans);
            faults.extend(reading.broken_seals()?);
            if faults.is_empty() {
                faults.extend(reading.wrong_checkpoints()?);
            }
            Ok(faults)
        })
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
    let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = NamedTempFile::new_in(folder)?;
    io::Write::write_all(&mut file, &bytes)?;
    file.as_file().sync_all()?;
    file.persist_noclobber(to).map(|_| ()).map_err(|error| error.error)
}

/// Where SQLite keeps what an interrupted command has begun.
fn journal(register: &Path) -> PathBuf {
    let mut name = OsString::from(register);
    name.push("-journal");
    PathBuf::from(name)
}
