//! Plays the rows that count into a book, one after the other, and refuses the first that cannot be.

use chrono::NaiveDate;

use super::book::{BathOf, Book, DrainedOf, LeftOf, LoadOf, LookOf, Lot, QuenchedOf};
use super::disagreement::Disagreement;
use super::name::same;
use super::{Happened, Left, Load, Loaded, Row, Started, Stopped};
use crate::units::Volume;

/// The book that rows up to a day make, in the order in which they are given.
///
/// # Errors
/// The first that does not go together with those before it.
pub fn replayed(counted: &[&Row], day: NaiveDate) -> Result<Book, Disagreement> {
    let mut replay = Replay { book: Book::default(), counted };
    counted.iter().take_while(|row| row.day <= day).try_for_each(|row| replay.apply(row))?;
    Ok(replay.book)
}

struct Replay<'a> {
    book: Book,
    counted: &'a [&'a Row],
}

impl Replay<'_> {
    fn apply(&mut self, row: &Row) -> Result<(), Disagreement> {
        match &row.what {
            Happened::Started(started) => self.started(row, started),
            Happened::Loaded(loaded) => self.loaded(row, loaded),
            Happened::Stopped(stopped) => self.stopped(row, stopped),
            Happened::Quenched(quenched) => {
                let at = self.bath(row, quenched.bath, "ended")?;
                self.empty(row, at, "ended")?;
                if let Some(last) = self.book.baths[at].quenched.last().filter(|last| last.what.proven) {
                    return Err(gone(row, "ended again", quenched.bath, "ended", last.day, last.row));
                }
                let of = QuenchedOf { row: row.id, day: row.day, what: quenched.clone() };
                self.book.baths[at].quenched.push(of);
                Ok(())
            }
            Happened::Drained(drained) => {
                let at = self.bath(row, drained.bath, "drained")?;
                self.empty(row, at, "drained")?;
                self.book.baths[at].drained = Some(DrainedOf { row: row.id, day: row.day, what: drained.clone() });
                Ok(())
            }
            Happened::Looked(looked) => {
                let at = self.lot(row, &looked.lot, "looked at")?;
                let of = LookOf { row: row.id, day: row.day, what: looked.clone() };
                self.book.lots[at].looks.push(of);
                Ok(())
            }
            Happened::Released(left) => self.left(row, left, false),
            Happened::Destroyed(left) => self.left(row, left, true),
            Happened::Withdrawn(_) => Ok(()),
        }
    }

    fn started(&mut self, row: &Row, started: &Started) -> Result<(), Disagreement> {
        let Started { dip, version, bath_ml, vessel, load, overruled } = started;
        let bath = BathOf {
            row: row.id,
            dip: dip.clone(),
            version: *version,
            volume: Volume::ml(*bath_ml),
            vessel: vessel.clone(),
            day: row.day,
            began: load.at,
            loads: Vec::new(),
            quenched: Vec::new(),
            drained: None,
        };
        self.book.baths.push(bath);
        let at = self.book.baths.len() - 1;
        self.put_in(row, at, load, overruled.as_ref())
    }

    fn loaded(&mut self, row: &Row, loaded: &Loaded) -> Result<(), Disagreement> {
        let at = self.bath(row, loaded.bath, "a load went in")?;
        let bath = &self.book.baths[at];
        if let Some(last) = bath.quenched.last() {
            return Err(gone(row, "a load went in", bath.row, "ended", last.day, last.row));
        }
        if loaded.load.at < bath.began {
            let (day, began) = (row.day, bath.began);
            return Err(Disagreement::BeforeBath { row: row.id, what: "a load went in", day, bath: bath.row, began });
        }
        self.put_in(row, at, &loaded.load, loaded.overruled.as_ref())
    }

    fn put_in(&mut self, row: &Row, at: usize, load: &Load, overruled: Option<&String>) -> Result<(), Disagreement> {
        let bath = &mut self.book.baths[at];
        let of = LoadOf {
            row: row.id,
            bath: bath.row,
            dip: bath.dip.clone(),
            version: bath.version,
            number: 0,
            load: load.clone(),
            overruled: overruled.cloned(),
            ended: None,
            stop: None,
            note: None,
        };
        bath.loads.push(of.clone());
        match self.book.lots.iter_mut().find(|lot| same(&lot.name, &load.lot)) {
            Some(lot) => {
                still_here(row, lot, "it went into a bath")?;
                lot.loads.push(of);
            }
            None => {
                let name = load.lot.clone();
                self.book.lots.push(Lot { name, loads: vec![of], looks: Vec::new(), left: None });
            }
        }
        Ok(())
    }

    fn stopped(&mut self, row: &Row, stopped: &Stopped) -> Result<(), Disagreement> {
        let Stopped { lot, load, at, note } = stopped;
        let without = Disagreement::StopWithoutStart { row: row.id, lot: lot.clone(), at: *at };
        let before = |started| Disagreement::StopBeforeStart { row: row.id, lot: lot.clone(), at: *at, started };
        let of_bath = self.book.baths.iter_mut().flat_map(|bath| &mut bath.loads).find(|other| other.row == *load);
        let Some(of_bath) = of_bath else {
            let later = self.counted.iter().find(|other| other.id == *load).and_then(|other| match &other.what {
                Happened::Started(started) => Some(started.load.at),
                Happened::Loaded(loaded) => Some(loaded.load.at),
                _ => None,
            });
            return Err(later.map_or(without, before));
        };
        if !same(&of_bath.load.lot, lot) {
            return Err(without);
        }
        if let Some(ended) = of_bath.ended {
            return Err(Disagreement::StoppedTwice { row: row.id, lot: lot.clone(), ended });
        }
        if *at < of_bath.load.at {
            return Err(before(of_bath.load.at));
        }
        let of_lot = self.book.lots.iter_mut().flat_map(|lot| &mut lot.loads).find(|other| other.row == *load);
        for load in std::iter::once(of_bath).chain(of_lot) {
            (load.ended, load.stop) = (Some(*at), Some(row.id));
            load.note.clone_from(note);
        }
        Ok(())
    }

    fn left(&mut self, row: &Row, left: &Left, destroyed: bool) -> Result<(), Disagreement> {
        let what = if destroyed { "destroyed" } else { "released" };
        let at = self.lot(row, &left.lot, what)?;
        let lot = &mut self.book.lots[at];
        if let Some(load) = lot.running() {
            let (name, bath, since) = (lot.name.clone(), load.bath, load.load.at);
            return Err(Disagreement::StillIn { row: row.id, what, lot: name, bath, since });
        }
        lot.left = Some(LeftOf { row: row.id, day: row.day, destroyed, what: left.clone() });
        Ok(())
    }

    /// Where a bath stands in the book; it has not left yet.
    fn bath(&self, row: &Row, bath: i64, what: &'static str) -> Result<usize, Disagreement> {
        let Some(at) = self.book.baths.iter().position(|other| other.row == bath) else {
            let later = self.counted.iter().find(|other| other.id == bath).and_then(|other| match &other.what {
                Happened::Started(started) => Some(started.load.at),
                _ => None,
            });
            return Err(match later {
                Some(began) => Disagreement::BeforeBath { row: row.id, what, day: row.day, bath, began },
                None => Disagreement::NotThere { row: row.id, what: "bath", named: bath },
            });
        };
        match &self.book.baths[at].drained {
            Some(drained) => Err(gone(row, what, bath, "drained", drained.day, drained.row)),
            None => Ok(at),
        }
    }

    /// Refuses what is not done while plants are in a bath.
    fn empty(&self, row: &Row, at: usize, what: &'static str) -> Result<(), Disagreement> {
        let bath = &self.book.baths[at];
        match bath.running().next() {
            Some(load) => Err(Disagreement::StillIn {
                row: row.id,
                what,
                lot: load.load.lot.clone(),
                bath: bath.row,
                since: load.load.at,
            }),
            None => Ok(()),
        }
    }

    /// Where a lot stands in the book; it has not left yet.
    fn lot(&self, row: &Row, name: &str, what: &'static str) -> Result<usize, Disagreement> {
        let Some(at) = self.book.lots.iter().position(|lot| same(&lot.name, name)) else {
            let first = self.counted.iter().find_map(|other| match &other.what {
                Happened::Started(Started { load, .. }) | Happened::Loaded(Loaded { load, .. }) => {
                    same(&load.lot, name).then_some(load.at)
                }
                _ => None,
            });
            let (row, day, lot) = (row.id, row.day, name.to_owned());
            return Err(match first {
                Some(first) => Disagreement::BeforeFirstBath { row, what, lot, day, first },
                None => Disagreement::NeverBathed { row, what, lot },
            });
        };
        still_here(row, &self.book.lots[at], what)?;
        Ok(at)
    }
}

fn still_here(row: &Row, lot: &Lot, what: &'static str) -> Result<(), Disagreement> {
    match &lot.left {
        Some(left) => Err(Disagreement::LotLeft {
            row: row.id,
            what,
            lot: lot.name.clone(),
            how: left.how(),
            day: left.day,
            by: left.row,
        }),
        None => Ok(()),
    }
}

fn gone(row: &Row, what: &'static str, bath: i64, how: &'static str, day: NaiveDate, by: i64) -> Disagreement {
    Disagreement::BathGone { row: row.id, what, bath, how, day, by }
}
