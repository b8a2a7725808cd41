//! Checkpoints: what a stock had come to at a line of its journal, so that a long one is not read from its beginning for
//! every answer.
//!
//! A checkpoint serves the days from its last one on. An entry that reaches back behind it throws it away, and the next entry
//! makes a new one. It is no second truth: `verify` computes it anew and compares.

use chrono::NaiveDate;
use rusqlite::Row;

use super::event::{Entry, What};
use super::ledger::{self, Contradiction, State};
use super::place::Place;
use super::seal::Seal;
use super::stock::Stock;
use super::{StoreError, Writing};

/// After how many lines a checkpoint is made: few enough that reading them costs little beside an entry's way to the disk.
const EVERY: usize = 32;

/// The rules by which a state follows from a journal. A program with other rules computes its states anew: count up when
/// `ledger` gives another state for the same journal, or when [`State`] changes.
const RULES: u32 = 1;

/// A stock's journal, as far as a question needs it.
#[derive(Debug, Clone, PartialEq)]
pub struct Journal {
    begun: Option<Checkpoint>,
    entries: Vec<Entry>,
}

/// What a journal came to at one of its lines.
#[derive(Debug, Clone, PartialEq)]
struct Checkpoint {
    /// The row of that line.
    row: i64,
    /// The last day on which something happened in them.
    last_day: NaiveDate,
    /// What they came to.
    state: State,
    /// Their seal.
    seal: Seal,
}

impl Journal {
    /// A journal of which every line is there.
    #[must_use]
    pub fn whole(entries: Vec<Entry>) -> Journal {
        Journal { begun: None, entries }
    }

    /// How many lines it has, those that were left unread among them.
    #[must_use]
    pub fn lines(&self) -> usize {
        self.begun.as_ref().map_or(0, Checkpoint::lines) + self.entries.len()
    }

    /// The last day up to a day on which something happened, as it is known now.
    #[must_use]
    pub fn last_day(&self, day: NaiveDate) -> Option<NaiveDate> {
        let begun = self.begun.as_ref().map(|begun| begun.last_day).filter(|last| *last <= day);
        ledger::last_day(&self.entries, day).max(begun)
    }

    /// The state of the stock at the end of a day, as [`ledger::state`] gives it.
    ///
    /// # Errors
    /// The first [`Contradiction`] up to that day.
    pub fn state(&self, day: NaiveDate) -> Result<Option<State>, Contradiction> {
        ledger::state_from(self.begun.as_ref().map(|begun| begun.state.clone()), &self.entries, day)
    }

    /// Makes sure that it contradicts itself on no day.
    ///
    /// # Errors
    /// The first [`Contradiction`].
    pub fn check(&self) -> Result<(), Contradiction> {
        match &self.begun {
            None => ledger::check(&self.entries),
            Some(_) => self.state(NaiveDate::MAX).map(|_| ()),
        }
    }

    /// The same with one line more.
    #[must_use]
    pub fn and(mut self, entry: Entry) -> Journal {
        self.entries.push(entry);
        self
    }

    /// Its last line, and those before it that were read.
    pub(super) fn split_last(&self) -> Option<(&Entry, &[Entry])> {
        self.entries.split_last()
    }

    /// Says in which row its last line stands.
    pub(super) fn is_row(&mut self, id: i64) {
        if let Some(last) = self.entries.last_mut() {
            last.id = id;
        }
    }
}

impl Checkpoint {
    /// How many lines it covers.
    fn lines(&self) -> usize {
        usize::try_from(self.seal.rows()).unwrap_or(0)
    }

    /// True if a line says something of the time that it covers.
    fn is_behind(&self, entry: &Entry) -> bool {
        match &entry.what {
            What::Event(_) => entry.day < self.last_day,
            What::Correction { of, instead, .. } => {
                *of <= self.lines() || instead.as_ref().is_some_and(|(day, _)| *day < self.last_day)
            }
        }
    }
}

impl Writing<'_> {
    /// A stock's journal as far as a question about a day, or an entry on it, needs it.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn journal(&self, stock: &Stock, places: &[Place], day: NaiveDate) -> Result<Journal, StoreError> {
        let begun = self.checkpoint(stock)?.filter(|begun| begun.last_day <= day);
        let entries = match &begun {
            Some(begun) => self.lines_after(stock, places, begun.row, begun.seal)?,
            None => self.entries(stock, places)?,
        };
        Ok(Journal { begun, entries })
    }

    /// Sees to the checkpoint of a stock whose journal has got its last line.
    pub(super) fn advance(&self, stock: &Stock, journal: &Journal) -> Result<(), StoreError> {
        let Some(entry) = journal.entries.last() else { return Ok(()) };
        let before = self.checkpoint(stock)?;
        match before {
            Some(before) if before.is_behind(entry) => self.forget(stock),
            before => {
                let begun = before.as_ref().map_or(0, Checkpoint::lines);
                if journal.lines() < begun + EVERY { Ok(()) } else { self.keep(stock, journal) }
            }
        }
    }

    /// Makes every checkpoint anew.
    pub(super) fn checkpoint_everything(&self) -> Result<(), StoreError> {
        let places = self.places()?;
        for stock in self.work().over("making checkpoints", self.stocks()?) {
            let stock = stock?;
            self.forget(&stock)?;
            let entries = self.entries(&stock, &places)?;
            if entries.len() >= EVERY {
                self.keep(&stock, &Journal::whole(entries))?;
            }
        }
        Ok(())
    }

    /// Every checkpoint that is not what its journal comes to, in words.
    pub(super) fn wrong_checkpoints(&self) -> Result<Vec<String>, StoreError> {
        let places = self.places()?;
        let mut wrong = Vec::new();
        for stock in self.work().over("looking at checkpoints", self.stocks()?) {
            let stock = stock?;
            let Some(begun) = self.checkpoint(&stock)? else { continue };
            let mut entries = self.entries(&stock, &places)?;
            entries.truncate(begun.lines());
            let state = ledger::state(&entries, NaiveDate::MAX);
            if state.as_ref().ok().and_then(Option::as_ref) != Some(&begun.state) {
                wrong.push(format!("the checkpoint of `{}` is not what its journal comes to", stock.code));
            }
        }
        Ok(wrong)
    }

    fn keep(&self, stock: &Stock, journal: &Journal) -> Result<(), StoreError> {
        let (Some(last), Ok(Some(state))) = (journal.entries.last(), journal.state(NaiveDate::MAX)) else {
            return self.forget(stock);
        };
        let state = serde_json::to_string(&state)
            .map_err(|error| self.damaged(format!("the state of `{}` cannot be kept: {error}", stock.code)))?;
        let seal = self.journal_seal(stock)?;
        let last_day = journal.last_day(NaiveDate::MAX).map(|day| day.to_string()).unwrap_or_default();
        let kept = Kept { row: last.id, lines: seal.rows(), last_day, sealed: seal.crc(), rules: RULES, state };
        let crc = kept.crc(stock);
        let values = (stock.id, kept.row, kept.lines, kept.last_day, kept.sealed, kept.rules, kept.state, crc);
        self.run(
            "INSERT OR REPLACE INTO checkpoint (stock, line, lines, last_day, sealed, rules, state, crc) \
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            values,
        )
    }

    fn forget(&self, stock: &Stock) -> Result<(), StoreError> {
        self.run("DELETE FROM checkpoint WHERE stock = ?1", [stock.id])
    }

    /// The checkpoint of a stock; nothing if it has none, or one by other rules.
    fn checkpoint(&self, stock: &Stock) -> Result<Option<Checkpoint>, StoreError> {
        let sql = "SELECT line, lines, last_day, sealed, rules, state, crc FROM checkpoint WHERE stock = ?1";
        let found = self.all(sql, [stock.id], |row| Ok((Kept::read(row)?, row.get::<_, u32>(6)?)))?;
        let Some((kept, crc)) = found.into_iter().next() else { return Ok(None) };
        let wrong = || self.damaged(format!("the checkpoint of `{}` does not read as it was written", stock.code));
        if kept.crc(stock) != crc {
            return Err(wrong());
        }
        if kept.rules != RULES {
            return Ok(None);
        }
        Ok(Some(Checkpoint {
            row: kept.row,
            last_day: self.day(&kept.last_day)?,
            state: serde_json::from_str(&kept.state).map_err(|_| wrong())?,
            seal: Seal::of(kept.lines, kept.sealed),
        }))
    }
}

/// A checkpoint as it is stored.
struct Kept {
    row: i64,
    lines: i64,
    last_day: String,
    sealed: u32,
    rules: u32,
    state: String,
}

impl Kept {
    fn read(row: &Row<'_>) -> rusqlite::Result<Kept> {
        Ok(Kept {
            row: row.get(0)?,
            lines: row.get(1)?,
            last_day: row.get(2)?,
            sealed: row.get(3)?,
            rules: row.get(4)?,
            state: row.get(5)?,
        })
    }

    fn crc(&self, stock: &Stock) -> u32 {
        let Kept { row, lines, last_day, sealed, rules, state } = self;
        crc32fast::hash(format!("{} {row} {lines} {last_day} {sealed} {rules} {state}", stock.id).as_bytes())
    }
}
