//! `bathe list` and `bathe show`: what is in a bath, what is to be looked over, and the page of a lot or a bath.

use chrono::NaiveDate;

use super::draw::Draw;
use super::{Bathed, book_on, dip_version, looks, refuse};
use crate::commands::{Problem, Session};
use crate::dip::log::book::{BathOf, Book, LoadOf, LookOf, Lot};
use crate::dip::log::countdown::Span;
use crate::dip::log::look::{LookDay, last_look, next_look};
use crate::register::Writing;
use crate::register::event::{Event, What};

/// What there is.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// The day.
    pub on: NaiveDate,
    /// Loads that are in a bath.
    pub running: Vec<Running>,
    /// Baths that are still there with no plants in them.
    pub baths: Vec<BathOf>,
    /// Lots that have not left.
    pub lots: Vec<LotLine>,
}

/// A load that is in a bath.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// The load.
    pub load: LoadOf,
    /// How long it is in, s; nothing on another day than the clock's.
    pub seconds: Option<i64>,
    /// How long it is to be in.
    pub span: Option<Span>,
}

/// A lot on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct LotLine {
    /// Its name.
    pub name: String,
    /// Key of the dip that it was in last.
    pub dip: String,
    /// When it came out.
    pub bathed: NaiveDate,
    /// The last look since then.
    pub looked: Option<LookOf>,
    /// When it is to be looked over next.
    pub next: Option<LookDay>,
}

/// A lot with its baths and looks.
#[derive(Debug, Clone, PartialEq)]
pub struct LotPage {
    /// The lot.
    pub lot: Lot,
    /// How long each of its loads was to be in; nothing where that version of the dip is not known here.
    pub spans: Vec<Option<Span>>,
    /// When it is to be looked over next.
    pub next: Option<LookDay>,
}

/// A bath with its loads.
#[derive(Debug, Clone, PartialEq)]
pub struct BathPage {
    /// The bath.
    pub bath: BathOf,
    /// How long plants are to be in.
    pub span: Option<Span>,
    /// What was taken from stocks for it and for its end.
    pub draws: Vec<Draw>,
}

/// Lists what is in a bath and every lot that has not left.
///
/// # Errors
/// If the register cannot be read, or the book contradicts itself.
pub fn list(session: &Session) -> Result<Listed, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let book = book_on(reading, session.day)?;
        let mut running = Vec::new();
        for (_, load) in book.running() {
            let dip = dip_version(session, reading, &load.dip, load.version)?;
            let is_today = session.day == session.clock.date();
            running.push(Running {
                seconds: is_today.then(|| (session.clock - load.load.at).num_seconds().max(0)),
                span: dip.map(|dip| Span::minutes(dip.minutes.low, dip.minutes.high)),
                load: load.clone(),
            });
        }
        let idle = |bath: &&BathOf| bath.drained.is_none() && bath.running().next().is_none();
        let baths = book.baths.iter().filter(idle).cloned().collect();
        let here = book.lots.iter().filter(|lot| lot.left.is_none() && lot.running().is_none());
        let lots = here.map(|lot| line(session, reading, lot)).collect::<Result<Vec<_>, Problem>>()?;
        Ok(Listed { on: session.day, running, baths, lots: lots.into_iter().flatten().collect() })
    })
}

fn line(session: &Session, reading: &Writing<'_>, lot: &Lot) -> Result<Option<LotLine>, Problem> {
    let (Some(load), Some(bathed)) = (lot.loads.last(), lot.last_bath()) else { return Ok(None) };
    Ok(Some(LotLine {
        name: lot.name.clone(),
        dip: load.dip.clone(),
        bathed,
        looked: last_look(lot).cloned(),
        next: next_look(lot, &looks::days(session, reading, lot)?),
    }))
}

/// Shows a lot, or a bath by its number.
///
/// # Errors
/// For one that is not there.
pub fn show(session: &Session, what: &str) -> Result<Bathed, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let book = book_on(reading, session.day)?;
        if what.trim().parse::<i64>().is_ok() {
            return Ok(Bathed::Bath(bath_page(session, reading, &book, what)?));
        }
        let lot = refuse::lot(&book, what)?;
        let mut spans = Vec::with_capacity(lot.loads.len());
        for load in &lot.loads {
            let dip = dip_version(session, reading, &load.dip, load.version)?;
            spans.push(dip.map(|dip| Span::minutes(dip.minutes.low, dip.minutes.high)));
        }
        Ok(Bathed::Lot(LotPage { spans, lot: lot.clone(), next: next_look(lot, &looks::days(session, reading, lot)?) }))
    })
}

fn bath_page(session: &Session, reading: &Writing<'_>, book: &Book, what: &str) -> Result<BathPage, Problem> {
    let bath = super::bath_named(book, what)?;
    let dip = dip_version(session, reading, &bath.dip, bath.version)?;
    let mut draws = Vec::new();
    for row in std::iter::once(bath.row).chain(bath.quenched.iter().map(|quenched| quenched.row)) {
        draws.extend(drawn(reading, row)?);
    }
    let span = dip.map(|dip| Span::minutes(dip.minutes.low, dip.minutes.high));
    Ok(BathPage { bath: bath.clone(), span, draws })
}

/// What a row took from stocks, as their journals have it now.
fn drawn(reading: &Writing<'_>, row: i64) -> Result<Vec<Draw>, Problem> {
    let (stocks, places) = (reading.stocks()?, reading.places()?);
    let mut found = Vec::new();
    for (stock, event) in reading.draws(row)? {
        let Some(stock) = stocks.iter().find(|other| other.id == stock) else { continue };
        let entries = reading.entries(stock, &places)?;
        let Some(line) = entries.iter().find(|entry| entry.id == event) else { continue };
        let last = entries.iter().rev().find_map(|entry| match &entry.what {
            What::Correction { of, instead, .. } if *of == line.number => {
                Some(instead.as_ref().map(|(_, event)| event))
            }
            _ => None,
        });
        let counted = match (last, &line.what) {
            (Some(corrected), _) => corrected,
            (None, What::Event(event)) => Some(event),
            (None, What::Correction { .. }) => None,
        };
        if let Some(Event::Taken { amount }) = counted {
            let unit = if stock.form == crate::catalogue::Form::Solid { "g" } else { "mL" };
            found.push(Draw { stock: stock.code.clone(), amount: *amount, unit: unit.to_owned(), left: 0.0 });
        }
    }
    Ok(found)
}
