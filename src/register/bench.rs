//! The book of baths: rows in, rows out, and the journal lines that they brought about.

use chrono::NaiveDate;

use super::system::json;
use super::{StoreError, Writing};
use crate::dip::log::{Happened, Row};

impl Writing<'_> {
    /// Every row of the book, as entered.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read, or a row of it makes no sense.
    pub fn bench(&self) -> Result<Vec<Row>, StoreError> {
        self.whole("bench")?;
        let rows =
            self.all("SELECT id, day, entered_at, written, content, kind FROM bench ORDER BY id", [], |row| {
                let (id, day, entered_at): (i64, String, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
                let (written, content, kind): (String, String, String) = (row.get(3)?, row.get(4)?, row.get(5)?);
                Ok((id, day, entered_at, written, content, kind))
            })?;
        rows.into_iter()
            .map(|(id, day, entered_at, written, content, kind)| {
                let what: Happened = serde_json::from_str(&content)
                    .map_err(|error| self.damaged(format!("row {id} of the book of baths: {}", json(&error))))?;
                if what.kind() != kind {
                    return Err(self.damaged(format!("row {id} of the book of baths is not what it is called")));
                }
                Ok(Row { id, day: self.day(&day)?, entered_at, written, what })
            })
            .collect()
    }

    /// Enters a row of the book and gives its number.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that it makes sense.
    ///
    /// # Panics
    /// Never: numbers, words and days always make JSON.
    pub fn enter(&self, day: NaiveDate, what: &Happened, written: &str, entered_at: &str) -> Result<i64, StoreError> {
        let content = serde_json::to_string(what).expect("numbers, words and days always make JSON");
        self.insert(
            "bench",
            "kind, day, content, written, entered_at",
            (what.kind(), day.to_string(), content, written, entered_at),
        )?;
        Ok(self.transaction.last_insert_rowid())
    }

    /// Enters that a line of a stock's journal came about by a row of the book.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn link_draw(&self, bench: i64, event: i64) -> Result<(), StoreError> {
        self.insert("bench_draw", "bench, event", (bench, event))
    }

    /// The journal lines (rows of `event`) that a row of the book brought about, each with its stock's row.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn draws(&self, bench: i64) -> Result<Vec<(i64, i64)>, StoreError> {
        self.whole("bench_draw")?;
        self.all(
            "SELECT event.stock, event.id FROM bench_draw NOT INDEXED JOIN event ON event.id = bench_draw.event \
             WHERE bench_draw.bench = ?1 ORDER BY bench_draw.id",
            [bench],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
    }

    /// A name of this register that no other has.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn identity(&self) -> Result<String, StoreError> {
        self.whole("identity")?;
        self.one("SELECT name FROM identity", [], |row| row.get(0))
    }
}
