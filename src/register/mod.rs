//! The SQLite file: the only SQL of the program.
//!
//! One file, no companions: a rollback journal, so that it can be copied to a stick, with `synchronous=EXTRA`: what is told as
//! entered outlives a power cut too. Opened strict, with foreign keys, an application id and a numbered schema; a newer register
//! is refused, never guessed at.

pub mod bench;
pub mod checkpoint;
pub mod columns;
pub mod copy;
pub mod damage;
pub mod dip_book;
pub mod event;
pub mod head;
pub mod history;
pub mod journal;
pub mod ledger;
pub mod measure;
pub mod place;
mod seal;
pub mod sheet;
pub mod stock;
pub mod system;
pub mod tables;
pub mod work;

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fs::OpenOptions;
use std::io;
use std::path::{Path, PathBuf};
use std::process;
use std::thread;
use std::time::{Duration, Instant};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior, ffi};
use thiserror::Error;

use self::work::Work;

/// "BRIM" in ASCII, in SQLite's field for the kind of file.
const APPLICATION_ID: i32 = 0x4252_494D;

/// Every step of the schema; a register's `user_version` is the number of those it has taken.
const MIGRATIONS: &[&str] = &[
    include_str!("../../migrations/0001_register.sql"),
    include_str!("../../migrations/0002_strength.sql"),
    include_str!("../../migrations/0003_keeping_apart.sql"),
    include_str!("../../migrations/0004_measures.sql"),
    include_str!("../../migrations/0005_bench.sql"),
    include_str!("../../migrations/0006_checkpoint.sql"),
];

/// The first level whose tables and journals are sealed. A level that seals them in another way, or changes a sealed table,
/// wants that way where one of an earlier level is looked through: see [`Writing::carry_seals_of_level_5`].
const SEALED_FROM: usize = 5;

/// After how many operations of SQLite's it is asked whether it is to end.
const OPERATIONS: i32 = 10_000;

/// How long a command waits for another one to finish writing.
const PATIENCE: Duration = Duration::from_secs(5);

/// Why the register gives no answer.
#[derive(Debug, Error)]
pub enum StoreError {
    /// No file there.
    #[error("there is no register at {}", .0.display())]
    Missing(PathBuf),
    /// No folder there for a new one.
    #[error("{} cannot be written: its folder is not there", .0.display())]
    NoFolder(PathBuf),
    /// A file where a new one should go.
    #[error("there is already a file at {}", .0.display())]
    Exists(PathBuf),
    /// An empty file.
    #[error("{} is empty: no register was ever finished there", .0.display())]
    Empty(PathBuf),
    /// Some other file.
    #[error("{} is not a brimstock register", .0.display())]
    Foreign(PathBuf),
    /// Written by a later program.
    #[error("{} was written by a newer brimstock (register version {found}; this program knows {known})", .path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its version.
        found: usize,
        /// The newest version known here.
        known: usize,
    },
    /// Another command holds the file.
    #[error("another command has been writing to {} for more than 5 seconds", .0.display())]
    Busy(PathBuf),
    /// No room.
    #[error("the disk that holds {} is full; nothing was written", .0.display())]
    Full(PathBuf),
    /// The disk, or what holds it, does not do what it is told.
    #[error("the disk failed while {} was being {doing}", .path.display())]
    Disk {
        /// The file.
        path: PathBuf,
        /// What was being done to the file.
        doing: &'static str,
    },
    /// All is written, but a power cut could still take it back.
    #[error("it stands in {}, but the disk failed to confirm it", .0.display())]
    Unconfirmed(PathBuf),
    /// The keeper wants it to end.
    #[error("interrupted; nothing was written")]
    Interrupted,
    /// May not be read or written.
    #[error("{} cannot be used: {cause}", .path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// What the system says.
        cause: String,
    },
    /// Damaged.
    #[error("{} is damaged: {cause}", .path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        cause: String,
    },
    /// Anything else SQLite reports.
    #[error("the register at {} could not be used: {cause}", .path.display())]
    Sql {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        cause: String,
    },
}

impl StoreError {
    /// The same, said of another file: of the one that was copied.
    fn at(self, other: &Path) -> StoreError {
        let there = other.to_owned();
        match self {
            StoreError::Missing(_) => StoreError::Missing(there),
            StoreError::NoFolder(_) => StoreError::NoFolder(there),
            StoreError::Exists(_) => StoreError::Exists(there),
            StoreError::Empty(_) => StoreError::Empty(there),
            StoreError::Foreign(_) => StoreError::Foreign(there),
            StoreError::Newer { found, known, .. } => StoreError::Newer { path: there, found, known },
            StoreError::Busy(_) => StoreError::Busy(there),
            StoreError::Full(_) => StoreError::Full(there),
            StoreError::Disk { doing, .. } => StoreError::Disk { path: there, doing },
            StoreError::Unconfirmed(_) => StoreError::Unconfirmed(there),
            StoreError::Interrupted => StoreError::Interrupted,
            StoreError::Refused { cause, .. } => StoreError::Refused { path: there, cause },
            StoreError::Damaged { cause, .. } => StoreError::Damaged { path: there, cause },
            StoreError::Sql { cause, .. } => StoreError::Sql { path: there, cause },
        }
    }
}

/// An open register.
#[derive(Debug)]
pub struct Register {
    connection: Connection,
    path: PathBuf,
    work: Work,
}

impl Register {
    /// Makes a new register, with what is first entered in it. The file must not exist, or be empty as an interrupted
    /// attempt leaves it. Of two that are made at once under one name, one is.
    ///
    /// # Errors
    /// [`StoreError::Exists`], or what the system says.
    pub fn create(
        path: &Path,
        first: impl FnOnce(&Writing<'_>) -> Result<(), StoreError>,
    ) -> Result<Register, StoreError> {
        let exists = || StoreError::Exists(path.to_owned());
        match new_private_file(path) {
            Ok(()) => {}
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                let data = std::fs::metadata(path).map_err(|_| exists())?;
                // An attempt that was killed while it wrote has left a journal, by which nothing is left of it.
                let begun = copy::journal(path).exists();
                let empty = data.len() == 0
                    || begun
                        && Self::connect(path)
                            .and_then(|register| register.header())
                            .is_ok_and(|found| found.pages == 0);
                if !data.is_file() || !empty {
                    return Err(exists());
                }
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                let path = path.to_owned();
                return Err(match path.parent().is_some_and(Path::is_dir) {
                    true => StoreError::Refused { path, cause: system::not_made(&error) },
                    false => StoreError::NoFolder(path),
                });
            }
            Err(error) => return Err(io_error(path, &error)),
        }
        let mut register = Self::connect(path)?;
        register.migrate(true, first)?;
        Ok(register)
    }

    /// Opens a register and brings it up to this program's version.
    ///
    /// # Errors
    /// One [`StoreError`] for each way in which a file can fail to be a register.
    pub fn open(path: &Path) -> Result<Register, StoreError> {
        match std::fs::metadata(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Err(StoreError::Missing(path.to_owned())),
            Err(error) => return Err(io_error(path, &error)),
            Ok(data) if data.is_dir() => {
                return Err(StoreError::Refused { path: path.to_owned(), cause: "it is a folder".to_owned() });
            }
            Ok(data) if data.len() == 0 => return Err(StoreError::Empty(path.to_owned())),
            Ok(_) => {}
        }
        Self::connect(path)?.up_to_date()
    }

    /// Brings a connection up to this program's version, if it is one to a register.
    ///
    /// # Errors
    /// As [`Register::open`].
    pub fn up_to_date(mut self) -> Result<Register, StoreError> {
        let found = self.header()?;
        let path = &self.path;
        if found.pages == 0 {
            // One that was killed while it was made: its journal has taken back what was there.
            return Err(StoreError::Empty(path.clone()));
        }
        if found.id != APPLICATION_ID {
            return Err(StoreError::Foreign(path.clone()));
        }
        let level = usize::try_from(found.level).unwrap_or(0);
        if level > MIGRATIONS.len() {
            return Err(StoreError::Newer { path: path.clone(), found: level, known: MIGRATIONS.len() });
        }
        if level < MIGRATIONS.len() {
            // Its tables are not those of the level that it says it has: SQLite's words for it would be whole migrations.
            self.migrate(false, |_| Ok(())).map_err(|error| match error {
                StoreError::Sql { path, .. } => {
                    let cause = format!("it says that it is of version {}, and its tables are not", found.level);
                    StoreError::Damaged { path, cause }
                }
                StoreError::Refused { path, cause } => {
                    let old =
                        format!("it is of version {}, must be brought up to date before it is asked", found.level);
                    let copy = "copy it to where you may write, and name the copy with --register PATH";
                    StoreError::Refused { path, cause: format!("{old}, and {cause}; {copy}") }
                }
                other => other,
            })?;
        }
        Ok(self)
    }

    /// The same register, of which long work can be watched and ended.
    ///
    /// # Errors
    /// [`StoreError`] if SQLite does not take it.
    pub fn watched(mut self, work: Work) -> Result<Register, StoreError> {
        let asked = work.clone();
        let handler = Some(move || asked.is_stopped());
        self.connection.progress_handler(OPERATIONS, handler).map_err(|error| store_error(&self.path, error))?;
        Ok(Register { work, ..self })
    }

    /// Runs a change as a whole: it is all in the register afterwards, or nothing of it is.
    ///
    /// # Errors
    /// What the change returns, or a [`StoreError`] when it could not be begun or kept.
    pub fn write<T, E: From<StoreError>>(&mut self, change: impl FnOnce(&Writing<'_>) -> Result<T, E>) -> Result<T, E> {
        let path = self.path.clone();
        let wrap = |error| store_error(&path, error);
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(wrap)?;
        let writing = Writing { transaction, path: &path, work: &self.work, sound: RefCell::default() };
        let value = change(&writing)?;
        writing.transaction.commit().map_err(|error| commit_error(&path, error))?;
        Ok(value)
    }

    /// Looks at one moment of the register, whatever others write meanwhile.
    ///
    /// # Errors
    /// What the look returns, or a [`StoreError`].
    pub fn read<T, E: From<StoreError>>(&mut self, look: impl FnOnce(&Writing<'_>) -> Result<T, E>) -> Result<T, E> {
        let path = self.path.clone();
        let transaction = self.connection.transaction().map_err(|error| store_error(&path, error))?;
        look(&Writing { transaction, path: &path, work: &self.work, sound: RefCell::default() })
    }

    /// Seals every table as it stands: for rows that were entered by other means than this program's.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read or written.
    pub fn seal_again(&mut self) -> Result<(), StoreError> {
        self.write(|writing| writing.seal_everything())
    }

    fn connect(path: &Path) -> Result<Register, StoreError> {
        let wrap = |error| store_error(path, error);
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(path, flags).map_err(wrap)?;
        connection.busy_handler(Some(patience())).map_err(wrap)?;
        // A plan never waits for a parameter's value: else a kept statement is planned anew for every stock.
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true).map_err(wrap)?;
        connection
            .execute_batch(
                "PRAGMA foreign_keys = ON; PRAGMA synchronous = EXTRA; PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;",
            )
            .map_err(wrap)?;
        let mode: String = connection.query_row("PRAGMA journal_mode = DELETE", [], |row| row.get(0)).map_err(wrap)?;
        debug_assert_eq!(mode, "delete");
        Ok(Register { connection, path: path.to_owned(), work: Work::default() })
    }

    /// What the file says it is, all at one moment: another command may be making it.
    fn header(&self) -> Result<Header, StoreError> {
        let wrap = |error| store_error(&self.path, error);
        let moment = self.connection.unchecked_transaction().map_err(wrap)?;
        let read = |name: &str| moment.query_row(&format!("PRAGMA {name}"), [], |row| row.get(0)).map_err(wrap);
        Ok(Header { pages: read("page_count")?, id: read("application_id")?, level: read("user_version")? })
    }

    /// Takes every step that is missing, in one transaction that reads the version again: of two programs that open an
    /// old register at once, the second finds nothing left to do; of two that make one, it finds one there.
    fn migrate(
        &mut self,
        fresh: bool,
        first: impl FnOnce(&Writing<'_>) -> Result<(), StoreError>,
    ) -> Result<(), StoreError> {
        self.write(|writing| {
            let version: i32 = writing.one("PRAGMA user_version", [], |row| row.get(0))?;
            if fresh && version != 0 {
                return Err(StoreError::Exists(writing.path.to_owned()));
            }
            let taken = usize::try_from(version).unwrap_or(0);
            if (SEALED_FROM..MIGRATIONS.len()).contains(&taken) {
                // It is sealed anew below: what is damaged would be believed from then on.
                if let Some(damaged) = writing.carry_seals_of_level_5()? {
                    return Err(damaged);
                }
                writing.sound()?;
            }
            for step in MIGRATIONS.iter().skip(taken) {
                writing.batch(step)?;
            }
            writing.seal_everything()?;
            let known = MIGRATIONS.len();
            writing.batch(&format!("PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {known};"))?;
            first(writing)
        })
    }
}

/// What a file says it is.
struct Header {
    /// How many pages it has: none where nothing was ever finished.
    pages: i32,
    /// The kind of file.
    id: i32,
    /// The number of steps of the schema that it has taken.
    level: i32,
}

/// A transaction in progress.
#[derive(Debug)]
pub struct Writing<'a> {
    transaction: Transaction<'a>,
    path: &'a Path,
    work: &'a Work,
    /// Tables that read as they were written before anything was added to them here.
    sound: RefCell<BTreeSet<String>>,
}

impl Writing<'_> {
    /// The work that this is part of.
    #[must_use]
    pub fn work(&self) -> &Work {
        self.work
    }

    /// The value of a setting, as last entered.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn setting(&self, name: &str) -> Result<Option<String>, StoreError> {
        self.whole("setting")?;
        let last = "SELECT value FROM setting WHERE name = ?1 ORDER BY id DESC LIMIT 1";
        Ok(self.all(last, [name], |row| row.get(0))?.pop())
    }

    /// Enters a setting.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn set(&self, name: &str, value: &str, entered_at: &str) -> Result<(), StoreError> {
        self.insert("setting", "name, value, entered_at", (name, value, entered_at))
    }

    fn one<T>(
        &self,
        sql: &str,
        values: impl rusqlite::Params,
        read: impl FnOnce(&rusqlite::Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        self.transaction.query_row(sql, values, read).map_err(|error| self.error(error))
    }

    fn all<T>(
        &self,
        sql: &str,
        values: impl rusqlite::Params,
        read: impl FnMut(&rusqlite::Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, StoreError> {
        let wrap = |error| self.error(error);
        let mut statement = self.transaction.prepare_cached(sql).map_err(wrap)?;
        statement.query_map(values, read).map_err(wrap)?.collect::<Result<_, _>>().map_err(wrap)
    }

    fn batch(&self, sql: &str) -> Result<(), StoreError> {
        self.transaction.execute_batch(sql).map_err(|error| self.error(error))
    }

    fn run(&self, sql: &str, values: impl rusqlite::Params) -> Result<(), StoreError> {
        let mut statement = self.transaction.prepare_cached(sql).map_err(|error| self.error(error))?;
        statement.execute(values).map(|_| ()).map_err(|error| self.error(error))
    }

    fn error(&self, error: rusqlite::Error) -> StoreError {
        store_error(self.path, error)
    }

    fn damaged(&self, cause: impl Into<String>) -> StoreError {
        StoreError::Damaged { path: self.path.to_owned(), cause: cause.into() }
    }
}

/// What stands in the way of a commit. The last that SQLite does of one is to see to it that the removal of its journal outlives a
/// power cut; where the disk refuses that, all of it is in the file already.
fn commit_error(path: &Path, error: rusqlite::Error) -> StoreError {
    match error.sqlite_error().map(|inner| inner.extended_code) {
        Some(ffi::SQLITE_IOERR_DIR_FSYNC) => StoreError::Unconfirmed(path.to_owned()),
        _ => store_error(path, error),
    }
}

fn store_error(path: &Path, error: rusqlite::Error) -> StoreError {
    use rusqlite::Error::{FromSqlConversionFailure, IntegralValueOutOfRange, InvalidColumnType, Utf8Error};
    let path = path.to_owned();
    if let FromSqlConversionFailure(..) | IntegralValueOutOfRange(..) | InvalidColumnType(..) | Utf8Error(..) = error {
        // What the program wrote it can read.
        return StoreError::Damaged { path, cause: format!("a value in it cannot be read (SQLite: {error})") };
    }
    match error.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => StoreError::Foreign(path),
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::Busy(path),
        Some(ErrorCode::OperationInterrupted) => StoreError::Interrupted,
        Some(ErrorCode::DiskFull) => StoreError::Full(path),
        Some(ErrorCode::SystemIoFailure) => StoreError::Disk { path, doing: doing(&error) },
        Some(ErrorCode::DatabaseCorrupt) => {
            StoreError::Damaged { path, cause: format!("its parts do not fit together (SQLite: {error})") }
        }
        Some(code @ (ErrorCode::CannotOpen | ErrorCode::PermissionDenied | ErrorCode::ReadOnly)) => {
            StoreError::Refused { cause: no_right(&path, code), path }
        }
        Some(ErrorCode::ConstraintViolation) => {
            StoreError::Sql { path, cause: format!("a rule of the register forbids what was to be entered ({error})") }
        }
        Some(ErrorCode::OutOfMemory) => StoreError::Sql { path, cause: "there is not enough memory for it".to_owned() },
        Some(ErrorCode::TooBig) => StoreError::Sql { path, cause: "something in it is too long".to_owned() },
        // What every file of SQLite's says of itself in its head it can read.
        _ if error.to_string().contains("unsupported file format") => {
            StoreError::Damaged { path, cause: format!("its head says what none of a register says (SQLite: {error})") }
        }
        _ => StoreError::Sql { path, cause: format!("something in it cannot be done as it is now (SQLite: {error})") },
    }
}

/// Why SQLite was not let do what it wanted with a file.
fn no_right(path: &Path, code: ErrorCode) -> String {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let may_not_write = |path: &Path| std::fs::metadata(path).is_ok_and(|data| data.permissions().readonly());
    if !folder.is_dir() {
        return "its folder is not there".to_owned();
    }
    if let Err(error) = std::fs::File::open(path) {
        return system::told(&error);
    }
    match code {
        ErrorCode::ReadOnly if may_not_write(path) => "it may be read, not written".to_owned(),
        _ if may_not_write(folder) => {
            "nothing may be written in its folder, where SQLite keeps what it has begun".to_owned()
        }
        ErrorCode::ReadOnly => "it may be read, not written".to_owned(),
        _ => "you have no right to do that there".to_owned(),
    }
}

/// What SQLite was doing to the file when the disk failed, by the code of its error (sqlite.org/rescode.html).
fn doing(error: &rusqlite::Error) -> &'static str {
    match error.sqlite_error().map(|inner| inner.extended_code) {
        Some(
            ffi::SQLITE_IOERR_READ | ffi::SQLITE_IOERR_SHORT_READ | ffi::SQLITE_IOERR_FSTAT | ffi::SQLITE_IOERR_ACCESS,
        ) => "read",
        Some(
            ffi::SQLITE_IOERR_LOCK
            | ffi::SQLITE_IOERR_UNLOCK
            | ffi::SQLITE_IOERR_RDLOCK
            | ffi::SQLITE_IOERR_CHECKRESERVEDLOCK,
        ) => "locked",
        _ => "written",
    }
}

/// What the system says of a file that is not opened by SQLite.
fn io_error(path: &Path, error: &io::Error) -> StoreError {
    let path = path.to_owned();
    match error.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => StoreError::Full(path),
        _ if system::is_disk(error) => StoreError::Disk { path, doing: "written" },
        _ => StoreError::Refused { path, cause: system::told(error) },
    }
}

/// Waits for the command that holds the file. SQLite's own way of waiting sleeps a tenth of a second in the end, while those
/// who came later ask every few milliseconds and get it: with many at work somebody waits in vain. Here whoever has waited
/// longest asks most often: every 10 ms at first, every 2 ms after a fifth of a second, every half after a second.
fn patience() -> impl FnMut(i32) -> bool + Send + 'static {
    let mut began = Instant::now();
    // Two that began together do not ask together for ever.
    let own = u64::from(process::id()) % 100;
    move |asked| {
        if asked == 0 {
            began = Instant::now();
        }
        let waited = began.elapsed();
        let pause = (10_000 / (1 + waited.as_millis() / 50)).max(500);
        thread::sleep(Duration::from_micros(own + u64::try_from(pause).unwrap_or(0)));
        waited < PATIENCE
    }
}

/// Makes the file, for its owner's eyes only where the system knows such a thing.
fn new_private_file(path: &Path) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path).map(|_| ())
}
