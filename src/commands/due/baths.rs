//! Plants that are still in a bath, baths that nobody ended or drained, lots to be looked over.

use chrono::{NaiveDateTime, NaiveTime, TimeDelta};

use super::containers::quoted;
use super::rank::{Kind, Matter};
use crate::catalogue::{Bathed, Dip};
use crate::commands::bathe::{dip_version, looks};
use crate::commands::{Problem, Session};
use crate::dip::log::book::{BathOf, Book, LoadOf, Lot};
use crate::dip::log::countdown::Span;
use crate::dip::log::look::{LookDay, last_look};
use crate::hazard::storage::Severity;
use crate::register::Writing;

/// Everything about baths and lots.
///
/// # Errors
/// If the register cannot be read.
pub(super) fn matters(session: &Session, reading: &Writing<'_>, book: &Book) -> Result<Vec<Matter>, Problem> {
    let mut found = Vec::new();
    for (bath, load) in book.running() {
        let dip = dip_version(session, reading, &bath.dip, bath.version)?;
        found.extend(running(session, dip.as_ref(), bath, load));
    }
    for bath in &book.baths {
        let dip = dip_version(session, reading, &bath.dip, bath.version)?;
        found.extend(used(dip.as_ref(), bath));
    }
    for lot in &book.lots {
        found.extend(looks(session, &looks::days(session, reading, lot)?, lot));
    }
    Ok(found)
}

/// The moment of the question: the clock on the wall; for another day than today its end.
fn now(session: &Session) -> NaiveDateTime {
    let last = NaiveTime::from_hms_opt(23, 59, 59).unwrap_or_default();
    if session.clock.date() == session.day { session.clock } else { session.day.and_time(last) }
}

/// Plants in a bath: over its time, or to be taken out on a day to come.
fn running(session: &Session, dip: Option<&Dip>, bath: &BathOf, load: &LoadOf) -> Option<Matter> {
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
        let what = format!("in bath {}, and for how long is not known ({})", bath.row, bath.dip);
        return Some(matter(Severity::Serious, what, load.load.at.date()));
    };
    let most = Span::minutes(dip.minutes.low, dip.minutes.high).high;
    let end = load.load.at.checked_add_signed(TimeDelta::seconds(most))?;
    let time = end.format("%H:%M");
    if now(session) > end {
        let what = format!("over its time in bath {}, out by {time}", bath.row);
        return Some(matter(Severity::Danger, what, end.date()));
    }
    let what = format!("out of bath {} by {time}", bath.row);
    Some(matter(Severity::Serious, what, end.date()))
}

/// A bath that nothing is in any more and that is still there.
fn used(dip: Option<&Dip>, bath: &BathOf) -> Option<Matter> {
    let ended = bath.loads.iter().map(|load| load.ended).collect::<Option<Vec<_>>>()?;
    let last = ended.into_iter().max()?;
    if bath.drained.is_some() || dip.is_some_and(|dip| dip.bathed == Bathed::Tank) {
        return None;
    }
    let must_end = dip.is_none_or(|dip| dip.stop.is_some()) && !bath.is_ended();
    let (severity, what, next) = if must_end {
        (Severity::Serious, "not ended", format!("brimstock bathe quench {} --reading …", bath.row))
    } else {
        (Severity::Minor, "not drained", format!("brimstock bathe drain {} --into …", bath.row))
    };
    Some(Matter {
        kind: Kind::UsedBath,
        severity,
        about: vec![format!("bath {}", bath.row)],
        what: format!("{what} ({})", bath.dip),
        day: Some(last.date()),
        next,
        key: format!("bath {}", bath.row),
    })
}

/// The looks at a lot that are still to come; of those that are late the first, for one look makes up for all. Gear is not
/// looked over.
fn looks(session: &Session, days: &[LookDay], lot: &Lot) -> Vec<Matter> {
    if lot.left.is_some() || lot.running().is_some() {
        return Vec::new();
    }
    let looked = last_look(lot).map(|look| look.day);
    let open: Vec<LookDay> =
        days.iter().copied().filter(|look| looked.is_none_or(|looked| looked < look.day)).collect();
    let late = open.iter().filter(|look| look.day < session.day).count();
    let look = |LookDay { after, day }: &LookDay| Matter {
        kind: Kind::Look,
        severity: Severity::Serious,
        about: vec![lot.name.clone()],
        what: format!("look it over (day {after})"),
        day: Some(*day),
        next: format!("brimstock bathe look {} --adults … --eggs …", quoted(&lot.name)),
        key: format!("{} {after}", lot.name),
    };
    open.iter().take(late.min(1)).chain(&open[late..]).map(look).collect()
}
