//! The head of a register's file: of its first hundred bytes nearly all are the same in every register, so that they can be
//! set right in a copy where they are damaged. Layout: sqlite.org/fileformat.html, 1.3; the values are those that SQLite gives
//! a file of which nothing else was asked (checked by a test against a new register).
//!
//! `verify` does not compare it: a command that is killed while SQLite cuts a file that has become shorter leaves it longer than
//! its head says, and sound. And whoever closes a file that a connection of the same process has locked lets go of the lock.

use std::fs::File;
use std::io::{Read, Seek, Write};
use std::path::Path;

use rusqlite::Connection;
use tempfile::TempDir;

use super::copy::set_aside;
use super::{APPLICATION_ID, MIGRATIONS, Register, SEALED_FROM, StoreError, io_error, store_error};

/// How long the head is.
const LENGTH: usize = 100;

/// The size of a page, as every register has it: SQLite's own.
const PAGE: u16 = 4096;

/// Where the level stands in it.
const LEVEL_AT: std::ops::Range<usize> = 60..64;

/// A copy that is read in the place of a register, in a folder that goes with it.
#[derive(Debug)]
pub struct Aside {
    _folder: TempDir,
    /// True if it was made because the head is damaged; else because the register is of an earlier level.
    pub head_is_damaged: bool,
}

/// A head as it should be, for a file of so many bytes: what counts changes and what was free stay or are forgotten, for the
/// copy is only read.
fn righted(head: &[u8; LENGTH], bytes: u64) -> [u8; LENGTH] {
    let mut right = *head;
    let mut put = |at: usize, what: &[u8]| right[at..at + what.len()].copy_from_slice(what);
    put(0, b"SQLite format 3\0");
    put(16, &PAGE.to_be_bytes());
    // Versions of a rollback journal; no bytes kept free in a page; three shares that the format fixes.
    put(18, &[1, 1, 0, 64, 32, 32]);
    put(28, &u32::try_from(bytes / u64::from(PAGE)).unwrap_or(u32::MAX).to_be_bytes());
    // The format of the schema, a size that is the program's to choose, no vacuum, UTF-8.
    put(44, &[0, 0, 0, 4, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1]);
    put(60, &u32::try_from(MIGRATIONS.len()).unwrap_or(0).to_be_bytes());
    put(64, &[0; 4]);
    put(68, &APPLICATION_ID.to_be_bytes());
    put(72, &[0; 20]);
    put(92, &head[24..28]);
    right
}

/// The head of a file and what it should be; nothing where a file has none.
fn heads(path: &Path) -> std::io::Result<([u8; LENGTH], [u8; LENGTH])> {
    let mut file = File::open(path)?;
    let mut head = [0; LENGTH];
    file.read_exact(&mut head)?;
    Ok((head, righted(&head, file.metadata()?.len())))
}

impl Register {
    /// Opens a register; where its head is not as it should be, a copy of it with the head set right, if its tables are then
    /// those of a register. So with a damaged one of an earlier level, which is not brought up to date. The file itself stays
    /// as it is.
    ///
    /// # Errors
    /// As [`Register::open`].
    pub fn open_with_head_set_right(path: &Path) -> Result<(Register, Option<Aside>), StoreError> {
        // First as always: what an interrupted command has begun is taken back by it.
        let usual = Register::open(path);
        if heads(path).is_ok_and(|(head, right)| head == right) {
            return usual.map(|register| (register, None));
        }
        match Self::righted_copy(path) {
            Ok((register, aside)) => Ok((register, Some(aside))),
            Err(_) => usual.map(|register| (register, None)),
        }
    }

    fn righted_copy(path: &Path) -> Result<(Register, Aside), StoreError> {
        let refused = |error: std::io::Error| io_error(path, &error);
        let folder = tempfile::tempdir().map_err(refused)?;
        let aside = folder.path().join("copy.brimstock");
        set_aside(path, &aside).map_err(refused)?;
        let (head, right) = heads(&aside).map_err(refused)?;
        let mut file = File::options().write(true).open(&aside).map_err(refused)?;
        file.rewind().and_then(|()| file.write_all(&right)).and_then(|()| file.sync_all()).map_err(refused)?;
        let mut register = Register { path: path.to_owned(), ..Self::connect(&aside)? };
        let level = head[LEVEL_AT].iter().fold(0, |level, byte| level << 8 | usize::from(*byte));
        let is_earlier = (SEALED_FROM..MIGRATIONS.len()).contains(&level)
            && register
                .write(|writing| {
                    // Where the level was what is damaged, these tables are there, and nothing is done.
                    writing.batch(&MIGRATIONS[level..].concat())?;
                    // What does not read keeps the seal that it had.
                    let _ = writing.carry_seals_of_level_5();
                    Ok::<(), StoreError>(())
                })
                .is_ok();
        let mut but_for_level = right;
        but_for_level[LEVEL_AT].copy_from_slice(&head[LEVEL_AT]);
        let head_is_damaged = head != but_for_level || !is_earlier;
        let fresh = Connection::open_in_memory().map_err(|error| store_error(path, error))?;
        fresh.execute_batch(&MIGRATIONS.concat()).map_err(|error| store_error(path, error))?;
        let tables = |of: &Connection| -> rusqlite::Result<Vec<String>> {
            of.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY 1")?
                .query_map([], |row| row.get(0))?
                .collect()
        };
        let [found, known] = [&register.connection, &fresh].map(tables);
        match found.map_err(|error| store_error(path, error))? {
            found if known.is_ok_and(|known| known == found) => {
                Ok((register, Aside { _folder: folder, head_is_damaged }))
            }
            _ => Err(StoreError::Foreign(path.to_owned())),
        }
    }
}
