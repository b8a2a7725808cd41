//! Seals: what the rows of a table come to, so that a damaged file is noticed before it is believed.
//!
//! SQLite notices a damaged page only where its structure no longer makes sense; a flipped bit inside a number is read as
//! another number. A page checksum would need a file layer of our own, and with it `unsafe`. So each table, and of the journal
//! each stock's lines, carries the number of its rows and a CRC-32 chained over them: one flipped byte of a row always changes
//! it, a row that an index no longer finds changes the count. An entry costs one row more; a look hashes what it reads anyway.
//! Sealed tables are read without their indexes (`NOT INDEXED`), the way in which they were sealed: an index could be the one
//! that is damaged. The journal is read through its index, and its seal counts what came; it begins with the stock it is of, so
//! that one stock is found by its code without reading all.

use std::collections::BTreeMap;

use crc32fast::Hasher;
use rusqlite::types::ValueRef;
use rusqlite::{Params, Row};

use super::journal::COLUMNS;
use super::stock::Stock;
use super::{StoreError, Writing};

/// Every sealed table but the journal, which is sealed by stock.
pub(super) const TABLES: [&str; 16] = [
    "setting",
    "place",
    "place_state",
    "place_log",
    "place_day",
    "stock",
    "sheet",
    "measure",
    "measure_weighing",
    "measure_end",
    "identity",
    "dip_version",
    "signature",
    "plan",
    "bench",
    "bench_draw",
];

/// What some rows come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Seal {
    rows: i64,
    crc: u32,
}

impl Seal {
    /// That of so many rows.
    pub(super) fn of(rows: i64, crc: u32) -> Seal {
        Seal { rows, crc }
    }

    /// Where the journal of a stock begins.
    pub(super) fn begun(stock: &Stock) -> Seal {
        let Stock { id, code, reagent, form } = stock;
        Seal { rows: 0, crc: crc32fast::hash(format!("{id} {code} {reagent} {form}").as_bytes()) }
    }

    pub(super) fn rows(self) -> i64 {
        self.rows
    }

    pub(super) fn crc(self) -> u32 {
        self.crc
    }

    /// With one row more.
    pub(super) fn and(self, row: &Row<'_>) -> rusqlite::Result<Seal> {
        let mut hasher = Hasher::new_with_initial(self.crc);
        for index in 0..row.as_ref().column_count() {
            match row.get_ref(index)? {
                ValueRef::Null => hasher.update(&[0]),
                ValueRef::Integer(value) => {
                    hasher.update(&[1]);
                    hasher.update(&value.to_le_bytes());
                }
                ValueRef::Real(value) => {
                    hasher.update(&[2]);
                    hasher.update(&value.to_bits().to_le_bytes());
                }
                ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
                    hasher.update(&[3]);
                    hasher.update(&bytes.len().to_le_bytes());
                    hasher.update(bytes);
                }
            }
        }
        // A damaged seal may hold any number: what follows from it fits nothing either.
        Ok(Seal { rows: self.rows.wrapping_add(1), crc: hasher.finalize() })
    }
}

/// The name under which a stock's journal is sealed.
pub(super) fn journal_of(stock: i64) -> String {
    format!("event:{stock}")
}

impl Writing<'_> {
    /// Makes sure that a table reads as it was written. True if it has rows: one without need not be asked for them.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] if it does not.
    pub(super) fn whole(&self, table: &str) -> Result<bool, StoreError> {
        let found =
            self.come_to(&format!("`{table}`"), Seal::default(), &format!("SELECT * FROM {table} ORDER BY id"), [])?;
        self.compare(&format!("`{table}`"), found, self.seal(table)?.unwrap_or_default())?;
        Ok(found.rows > 0)
    }

    /// Makes sure that what was read of a stock's journal is what was sealed.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] if it is not.
    pub(super) fn compare_journal(&self, stock: &Stock, found: Seal) -> Result<(), StoreError> {
        let told = format!("the journal of `{}` (`{}`)", stock.code, journal_of(stock.id));
        self.compare(&told, found, self.journal_seal(stock)?)
    }

    /// The seal of a stock's journal; that of its beginning where nothing was entered.
    pub(super) fn journal_seal(&self, stock: &Stock) -> Result<Seal, StoreError> {
        Ok(self.seal(&journal_of(stock.id))?.unwrap_or_else(|| Seal::begun(stock)))
    }

    fn compare(&self, told: &str, found: Seal, sealed: Seal) -> Result<(), StoreError> {
        if found == sealed {
            return Ok(());
        }
        let rows = match found.rows == sealed.rows {
            true => "no row is missing, and something in them has changed".to_owned(),
            false => format!("{} rows, {} were entered", found.rows, sealed.rows),
        };
        Err(self.damaged(format!("{told} does not read as it was written ({rows})")))
    }

    /// Every seal, by its scope.
    pub(super) fn seals(&self) -> Result<BTreeMap<String, Seal>, StoreError> {
        let rows = self.all("SELECT scope, rows, crc FROM seal", [], |row| {
            Ok((row.get(0)?, Seal { rows: row.get(1)?, crc: row.get(2)? }))
        })?;
        Ok(rows.into_iter().collect())
    }

    /// The seal of one scope; nothing where nothing was entered.
    fn seal(&self, scope: &str) -> Result<Option<Seal>, StoreError> {
        let found = self.all("SELECT rows, crc FROM seal WHERE scope = ?1", [scope], |row| {
            Ok(Seal { rows: row.get(0)?, crc: row.get(1)? })
        })?;
        Ok(found.into_iter().next())
    }

    /// Enters a row of a table, and seals it. Nothing is added to a table that does not read as it was written.
    pub(super) fn insert(&self, table: &str, columns: &str, values: impl Params) -> Result<(), StoreError> {
        if !self.sound.borrow().contains(table) {
            self.whole(table)?;
            self.sound.borrow_mut().insert(table.to_owned());
        }
        let before = self.seal(table)?.unwrap_or_default();
        let sealed = self.entered(table, columns, values, ("*", before))?;
        self.keep_seal(table, sealed)
    }

    /// Enters a line of a stock's journal, and seals it. That the journal reads as it was written was seen when its lines were
    /// read, without which none is added.
    pub(super) fn insert_line(&self, stock: &Stock, columns: &str, values: impl Params) -> Result<(), StoreError> {
        let sealed = self.entered("event", columns, values, (COLUMNS, self.journal_seal(stock)?))?;
        self.keep_seal(&journal_of(stock.id), sealed)
    }

    /// Enters a row, and gives the seal before it with these columns of the row as it stands now.
    fn entered(
        &self,
        table: &str,
        columns: &str,
        values: impl Params,
        (sealed, before): (&str, Seal),
    ) -> Result<Seal, StoreError> {
        let places: Vec<String> = (1..=columns.split(',').count()).map(|place| format!("?{place}")).collect();
        let sql = format!("INSERT INTO {table} ({columns}) VALUES ({}) RETURNING {sealed}", places.join(", "));
        let now = self.all(&sql, values, |row| before.and(row))?;
        now.into_iter().next().ok_or_else(|| self.damaged(format!("an entry of `{table}` is not there")))
    }

    /// Seals everything as it stands: for a register that was never sealed, or whose tables a migration has changed.
    pub(super) fn seal_everything(&self) -> Result<(), StoreError> {
        for table in TABLES {
            let found = self.come_to(
                &format!("`{table}`"),
                Seal::default(),
                &format!("SELECT * FROM {table} ORDER BY id"),
                [],
            )?;
            self.keep_seal(table, found)?;
        }
        for stock in self.work().over("sealing", self.stock_rows()?) {
            let stock = stock?;
            self.keep_seal(&journal_of(stock.id), self.journal_comes_to(&stock)?)?;
        }
        self.checkpoint_everything()
    }

    fn keep_seal(&self, scope: &str, seal: Seal) -> Result<(), StoreError> {
        let sql = "INSERT INTO seal (scope, rows, crc) VALUES (?1, ?2, ?3) \
                   ON CONFLICT (scope) DO UPDATE SET rows = excluded.rows, crc = excluded.crc";
        self.run(sql, (scope, seal.rows, seal.crc))
    }

    pub(super) fn journal_comes_to(&self, stock: &Stock) -> Result<Seal, StoreError> {
        self.lines_come_to(stock, Seal::begun(stock))
    }

    fn lines_come_to(&self, stock: &Stock, begun: Seal) -> Result<Seal, StoreError> {
        let sql = format!("SELECT {COLUMNS} FROM event WHERE stock = ?1 ORDER BY id");
        self.come_to(&format!("the journal of `{}`", stock.code), begun, &sql, [stock.id])
    }

    /// Gives every journal of a register of level 5, whose seals began with nothing, the seal that it has now, if it reads as it
    /// was written. What does not keeps its old seal, by which it is known as damaged; the first such is given back.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read, or its stocks do not read as they were written.
    pub(super) fn carry_seals_of_level_5(&self) -> Result<Option<StoreError>, StoreError> {
        self.whole("stock")?;
        let mut first = None;
        for stock in self.work().over("looking at seals", self.stock_rows()?) {
            let stock = stock?;
            let scope = journal_of(stock.id);
            let sealed = self.seal(&scope)?.unwrap_or_default();
            let told = format!("the journal of `{}` (`{scope}`)", stock.code);
            let looked =
                self.lines_come_to(&stock, Seal::default()).and_then(|found| self.compare(&told, found, sealed));
            match looked {
                Ok(()) => self.keep_seal(&scope, self.journal_comes_to(&stock)?)?,
                Err(damaged @ StoreError::Damaged { .. }) => drop(first.get_or_insert(damaged)),
                Err(other) => return Err(other),
            }
        }
        Ok(first)
    }

    fn come_to(&self, told: &str, begun: Seal, sql: &str, values: impl rusqlite::Params) -> Result<Seal, StoreError> {
        let wrap = |error| self.error(error);
        let mut statement = self.transaction.prepare_cached(sql).map_err(wrap)?;
        let mut rows = statement.query(values).map_err(wrap)?;
        let (mut seal, mut last) = (begun, None);
        // Where it no longer reads: the number of a row stands in its first column.
        let stops = |error, last: Option<i64>| match (wrap(error), last) {
            (StoreError::Damaged { path, cause }, Some(last)) => {
                StoreError::Damaged { path, cause: format!("behind row {last} of {told} {cause}") }
            }
            (StoreError::Damaged { path, cause }, None) => {
                StoreError::Damaged { path, cause: format!("from the first row of {told} on {cause}") }
            }
            (other, _) => other,
        };
        loop {
            match rows.next() {
                Ok(Some(row)) => {
                    seal = seal.and(row).map_err(|error| stops(error, last))?;
                    last = row.get(0).ok();
                }
                Ok(None) => return Ok(seal),
                Err(error) => return Err(stops(error, last)),
            }
        }
    }
}
