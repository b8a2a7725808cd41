//! From the rows of the book of baths to the baths and the lots of a day, or to what cannot be.
//!
//! The same replay serves every question and guards every entry: a row is written only if the whole book with it still
//! makes sense. A row that was withdrawn counts as if it had never been, on whatever day it was withdrawn.

use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveDateTime};

use super::disagreement::Disagreement;
use super::name::same;
use super::replay::replayed;
use super::{Drained, Happened, Left, Load, Looked, Quenched, Row};
use crate::units::Volume;

/// The baths and the lots as they stand at the end of a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Book {
    /// Baths in the order in which they were made up.
    pub baths: Vec<BathOf>,
    /// Lots in the order in which they first went in.
    pub lots: Vec<Lot>,
}

/// A bath that was made up.
#[derive(Debug, Clone, PartialEq)]
pub struct BathOf {
    /// The number by which the keeper calls it: the row of its start.
    pub row: i64,
    /// Key of its dip.
    pub dip: String,
    /// Which version of it.
    pub version: u32,
    /// How much there is of it.
    pub volume: Volume,
    /// The vessel, if one was named.
    pub vessel: Option<String>,
    /// The day on which it was made up.
    pub day: NaiveDate,
    /// When the first load went in, as it was entered.
    pub began: NaiveDateTime,
    /// Loads, in the order in which they went in.
    pub loads: Vec<LoadOf>,
    /// Attempts to end what was left of it; the last one counts.
    pub quenched: Vec<QuenchedOf>,
    /// Where it went.
    pub drained: Option<DrainedOf>,
}

/// A load, in its bath and in the life of its lot.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadOf {
    /// Its row.
    pub row: i64,
    /// The bath's row.
    pub bath: i64,
    /// Key of the bath's dip.
    pub dip: String,
    /// Which version of it.
    pub version: u32,
    /// 1 for the first load of the bath.
    pub number: usize,
    /// What went in, when, by whom, in what water.
    pub load: Load,
    /// Why it went in against a warning.
    pub overruled: Option<String>,
    /// When it came out; nothing while it is in.
    pub ended: Option<NaiveDateTime>,
    /// The row that says so.
    pub stop: Option<i64>,
    /// What was seen then.
    pub note: Option<String>,
}

impl LoadOf {
    /// How long it was in; nothing while it is.
    #[must_use]
    pub fn seconds(&self) -> Option<i64> {
        self.ended.map(|ended| (ended - self.load.at).num_seconds())
    }
}

/// An attempt to end what was left of a bath.
#[derive(Debug, Clone, PartialEq)]
pub struct QuenchedOf {
    /// Its row.
    pub row: i64,
    /// The day.
    pub day: NaiveDate,
    /// What was read.
    pub what: Quenched,
}

/// Where a bath went.
#[derive(Debug, Clone, PartialEq)]
pub struct DrainedOf {
    /// Its row.
    pub row: i64,
    /// The day.
    pub day: NaiveDate,
    /// Where, by which permission.
    pub what: Drained,
}

/// Plants that stay together.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// What is written on its tray.
    pub name: String,
    /// Its baths, in the order in which it went in.
    pub loads: Vec<LoadOf>,
    /// When it was looked over, in the order of the days.
    pub looks: Vec<LookOf>,
    /// How it left.
    pub left: Option<LeftOf>,
}

/// A look at a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct LookOf {
    /// Its row.
    pub row: i64,
    /// The day.
    pub day: NaiveDate,
    /// What was seen.
    pub what: Looked,
}

/// How a lot left.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOf {
    /// Its row.
    pub row: i64,
    /// The day.
    pub day: NaiveDate,
    /// True if it was destroyed, false if it was released.
    pub destroyed: bool,
    /// Why, and who saw it.
    pub what: Left,
}

impl LeftOf {
    /// The word for it.
    #[must_use]
    pub fn how(&self) -> &'static str {
        if self.destroyed { "destroyed" } else { "released" }
    }
}

impl BathOf {
    /// The loads that are in it.
    pub fn running(&self) -> impl Iterator<Item = &LoadOf> {
        self.loads.iter().filter(|load| load.ended.is_none())
    }

    /// True if a reading proved that nothing is left of the reagent.
    #[must_use]
    pub fn is_ended(&self) -> bool {
        self.quenched.last().is_some_and(|quenched| quenched.what.proven)
    }
}

impl Lot {
    /// The load that is in a bath.
    #[must_use]
    pub fn running(&self) -> Option<&LoadOf> {
        self.loads.iter().find(|load| load.ended.is_none())
    }

    /// The day of its last bath: on which it came out, or went in where it is still in.
    #[must_use]
    pub fn last_bath(&self) -> Option<NaiveDate> {
        self.loads.iter().map(|load| load.ended.unwrap_or(load.load.at).date()).max()
    }
}

impl Book {
    /// The bath with a number.
    #[must_use]
    pub fn bath(&self, row: i64) -> Option<&BathOf> {
        self.baths.iter().find(|bath| bath.row == row)
    }

    /// The lot with a name.
    #[must_use]
    pub fn lot(&self, name: &str) -> Option<&Lot> {
        self.lots.iter().find(|lot| same(&lot.name, name))
    }

    /// Every load that is in a bath, with its bath.
    pub fn running(&self) -> impl Iterator<Item = (&BathOf, &LoadOf)> {
        self.baths.iter().flat_map(|bath| bath.running().map(move |load| (bath, load)))
    }
}

/// The book as it stands at the end of a day.
///
/// All rows are looked through, those of later days too; the first that cannot be is told.
///
/// # Errors
/// That [`Disagreement`].
pub fn book(rows: &[Row], day: NaiveDate) -> Result<Book, Disagreement> {
    let counted = counted(rows)?;
    let whole = replayed(&counted, NaiveDate::MAX)?;
    whole.lots.iter().try_for_each(one_bath_at_a_time)?;
    // What stands in order on every day stands in order up to any of them.
    let mut book = replayed(&counted, day)?;
    number(&mut book);
    Ok(book)
}

/// The rows that count, by day and then as they were entered.
///
/// # Errors
/// For a row that withdraws what it cannot.
pub fn counted(rows: &[Row]) -> Result<Vec<&Row>, Disagreement> {
    let mut gone: BTreeMap<i64, i64> = BTreeMap::new();
    for row in rows {
        let Happened::Withdrawn(withdrawn) = &row.what else { continue };
        let target = rows.iter().find(|other| other.id == withdrawn.row && other.id < row.id);
        let named = withdrawn.row;
        let target = target.ok_or(Disagreement::NotThere { row: row.id, what: "entry", named })?;
        if let Some(by) = gone.insert(named, row.id) {
            return Err(Disagreement::WithdrawnTwice { row: row.id, withdrawn: named, by });
        }
        if matches!(target.what, Happened::Withdrawn(_)) {
            return Err(Disagreement::Withdrawal { row: row.id, withdrawn: named });
        }
    }
    let counts = |row: &&Row| !matches!(row.what, Happened::Withdrawn(_)) && !gone.contains_key(&row.id);
    let mut counted: Vec<&Row> = rows.iter().filter(counts).collect();
    for (withdrawn, row) in &gone {
        if let Some(by) = counted.iter().rev().find(|other| rests_on(&other.what) == Some(*withdrawn)) {
            return Err(Disagreement::RestedOn { row: *row, withdrawn: *withdrawn, by: by.id });
        }
    }
    counted.sort_by_key(|row| (row.day, row.id));
    Ok(counted)
}

/// The row that a row names.
fn rests_on(what: &Happened) -> Option<i64> {
    match what {
        Happened::Loaded(loaded) => Some(loaded.bath),
        Happened::Stopped(stopped) => Some(stopped.load),
        Happened::Quenched(quenched) => Some(quenched.bath),
        Happened::Drained(drained) => Some(drained.bath),
        Happened::Started(_)
        | Happened::Looked(_)
        | Happened::Released(_)
        | Happened::Destroyed(_)
        | Happened::Withdrawn(_) => None,
    }
}

/// Each load's place among those of its bath, and the order of the loads of a lot.
fn number(book: &mut Book) {
    book.baths.sort_by_key(|bath| (bath.began, bath.row));
    let mut numbers = BTreeMap::new();
    for bath in &mut book.baths {
        bath.loads.sort_by_key(|load| (load.load.at, load.row));
        for (index, load) in bath.loads.iter_mut().enumerate() {
            load.number = index + 1;
            numbers.insert(load.row, index + 1);
        }
    }
    for lot in &mut book.lots {
        lot.loads.sort_by_key(|load| (load.load.at, load.row));
        for load in &mut lot.loads {
            load.number = numbers.get(&load.row).copied().unwrap_or(1);
        }
    }
}

/// A lot is in one bath at a time.
///
/// A load that was entered late, for a time before another, may still be open for as long as its end is not entered.
fn one_bath_at_a_time(lot: &Lot) -> Result<(), Disagreement> {
    let mut loads: Vec<&LoadOf> = lot.loads.iter().collect();
    loads.sort_by_key(|load| (load.load.at, load.row));
    let mut open: Vec<&LoadOf> = loads.iter().copied().filter(|load| load.ended.is_none()).collect();
    open.sort_by_key(|load| load.row);
    if let [running, again, ..] = open[..] {
        let (bath, since) = (running.bath, running.load.at);
        return Err(Disagreement::StartedTwice { row: again.row, lot: lot.name.clone(), bath, since });
    }
    for pair in loads.windows(2) {
        let [first, second] = [pair[0], pair[1]];
        let later = if first.row > second.row { first } else { second };
        let name = lot.name.clone();
        match (first.ended, second.ended) {
            (Some(ended), _) if ended > second.load.at => {
                // The row that brought it about is the last of those that say so.
                let row = later.row.max(first.stop.unwrap_or(later.row));
                let other = if later.row == first.row || row == first.stop.unwrap_or(0) { second } else { first };
                return Err(Disagreement::TwoBathsAtOnce {
                    row,
                    lot: name,
                    bath: other.bath,
                    started: other.load.at,
                    ended: other.ended.unwrap_or(other.load.at),
                });
            }
            (None, Some(_)) if first.row > second.row => {}
            (None, _) => {
                let (bath, since) = (first.bath, first.load.at);
                return Err(Disagreement::StartedTwice { row: second.row, lot: name, bath, since });
            }
            (Some(_), _) => {}
        }
    }
    Ok(())
}
