//! Plants that are still in a bath, baths that nobody ended or drained, lots to be looked over.

use chrono::{Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use super::containers::quoted;
use super::rank::{Kind, Matter};
use crate::catalogue::{Bathed, Dip};
use crate::commands::{Problem, Session};
use crate::dip::log::book::{BathOf, LoadOf, Lot, book};
use crate::hazard::storage::Severity;
use crate::register::Writing;

/// Days after its last bath on which a lot is looked over. Source: `judgement`, from published hatching times.
const LOOKS: [u16; 4] = [7, 14, 21, 28];

/// Everything about baths and lots.
///
/// # Errors
/// If the register cannot be read, and a book of baths that contradicts itself.
pub(super) fn matters(session: &Session, reading: &Writing<'_>) -> Result<Vec<Matter>, Problem> {
    let book = book(&reading.bench()?, session.day)
        .map_err(|disagreement| Problem::data(format!("the book of baths: {disagreement}")))?;
    let mut found: Vec<Matter> = book.running().filter_map(|(bath, load)| running(session, bath, load)).collect();
    found.extend(book.baths.iter().filter_map(|bath| used(session, bath)));
    found.extend(book.lots.iter().flat_map(|lot| looks(session, lot)));
    Ok(found)
}

fn dip_of<'a>(session: &'a Session, key: &str) -> Option<&'a Dip> {
    session.catalogue.dips().iter().find(|dip| dip.key == key)
}

/// The moment of the question: the clock on the wall; for another day than today its end.
fn now(session: &Session) -> NaiveDateTime {
    let last = NaiveTime::from_hms_opt(23, 59, 59).unwrap_or_default();
    if session.clock.date() == session.day { session.clock } else { session.day.and_time(last) }
}

/// Plants in a bath: over its time, or to be taken out on a day to come.
fn running(session: &Session, bath: &BathOf, load: &LoadOf) -> Option<Matter> {
    let dip = dip_of(session, &bath.dip);
    if dip.is_some_and(|dip| dip.bathed == Bathed::Tank) {
        return None;
    }
    let lot = &load.load.lot;
    let matter = |severity, what, day| Matter {
        kind: Kind::Overrun,
        severity,
        about: vec![lot.clone()],
        what,
        day: Some(day),
        next: format!("brimstock bathe stop {}", quoted(lot)),
        key: format!("load {}", load.row),
    };
    let Some(dip) = dip else {
        let what = format!("still in bath {}, and its time is not known ({})", bath.row, bath.dip);
        return Some(matter(Severity::Serious, what, load.load.at.date()));
    };
    let seconds = TimeDelta::seconds(libm::round(60.0 * dip.minutes.high) as i64);
    let end = load.load.at.checked_add_signed(seconds)?;
    let time = end.format("%H:%M");
    if now(session) > end {
        let what = format!("still in bath {}, out at {time} at the latest ({})", bath.row, dip.key);
        return Some(matter(Severity::Danger, what, end.date()));
    }
    let what = format!("out of bath {} at {time} at the latest ({})", bath.row, dip.key);
    Some(matter(Severity::Serious, what, end.date()))
}

/// A bath that nothing is in any more and that is still there.
fn used(session: &Session, bath: &BathOf) -> Option<Matter> {
    let ended = bath.loads.iter().map(|load| load.ended).collect::<Option<Vec<_>>>()?;
    let last = ended.into_iter().max()?;
    if bath.drained.is_some() {
        return None;
    }
    let must_end = dip_of(session, &bath.dip).is_none_or(|dip| dip.stop.is_some()) && !bath.is_ended();
    let (severity, what, next) = if must_end {
        (Severity::Serious, "used, and nobody proved that it is ended", format!("brimstock bathe quench {}", bath.row))
    } else {
        (Severity::Minor, "used, and still in its vessel", format!("brimstock bathe drain {}", bath.row))
    };
    Some(Matter {
        kind: Kind::UsedBath,
        severity,
        about: vec![format!("bath {} ({})", bath.row, bath.dip)],
        what: what.to_owned(),
        day: Some(last.date()),
        next,
        key: format!("bath {}", bath.row),
    })
}

/// The looks at a lot that are still to come; of those that are late the first, for one look makes up for all.
fn looks(session: &Session, lot: &Lot) -> Vec<Matter> {
    if lot.left.is_some() || lot.running().is_some() {
        return Vec::new();
    }
    let is_gear = |load: &&LoadOf| dip_of(session, &load.dip).is_some_and(|dip| dip.bathed == Bathed::Gear);
    let baths = lot.loads.iter().filter(|load| !is_gear(load));
    let Some(bath) = baths.filter_map(|load| load.ended).map(|ended| ended.date()).max() else { return Vec::new() };
    let looked = lot.looks.iter().map(|look| look.day).filter(|day| *day > bath).max();
    let day = |after: u16| bath.checked_add_days(Days::new(after.into()));
    let open = LOOKS.iter().filter_map(|after| Some((*after, day(*after)?)));
    let open: Vec<(u16, NaiveDate)> = open.filter(|(_, day)| looked.is_none_or(|looked| *day > looked)).collect();
    let late = open.iter().filter(|(_, day)| *day < session.day).count();
    let first_late = open.iter().take(late.min(1));
    let look = |(after, day): &(u16, NaiveDate)| Matter {
        kind: Kind::Look,
        severity: Severity::Serious,
        about: vec![lot.name.clone()],
        what: format!("look it over, day {after} after its bath"),
        day: Some(*day),
        next: format!("brimstock bathe look {}", quoted(&lot.name)),
        key: format!("{} {after}", lot.name),
    };
    first_late.chain(open.iter().skip(late)).map(look).collect()
}
