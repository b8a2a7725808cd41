//! What is planned: its bath days, what is to be bought for it, bottles that are to be tested for it.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::rank::{Kind, Matter};
use crate::commands::allocating::BathLine;
use crate::commands::looking::each_on_shelf;
use crate::commands::ready::{Readiness, ReadyFor, judge, planned};
use crate::commands::shopping::Purchase;
use crate::commands::strength::{Neutralisers, dip_lines};
use crate::commands::{Problem, Session};
use crate::dip::expected::Expected;
use crate::dip::log::book::Book;
use crate::dip::log::name::same;
use crate::dip::{Offer, Until, Verdict};
use crate::hazard::storage::Severity;
use crate::register::Writing;
use crate::units::{Volume, show};

/// The command that tells all about a plan.
const ASK: &str = "brimstock ready-for --plan";

/// Everything about the plan that was kept last; of a day of it, what the book of baths does not have yet.
///
/// # Errors
/// If the register cannot be read.
pub(super) fn matters(session: &Session, reading: &Writing<'_>, book: &Book) -> Result<Vec<Matter>, Problem> {
    let expected = match planned(reading, session.day) {
        Ok(expected) => expected,
        Err(problem) => return Ok(vec![cannot_judge(&problem)]),
    };
    let open: Vec<Expected> = expected.iter().filter_map(|row| left(book, row)).collect();
    let mut found = bath_days(&expected, &open);
    if open.is_empty() {
        return Ok(found);
    }
    let asked = ReadyFor { file: None, plan: true, keep: false, delivery: None };
    match judge(session, reading, &open, &asked) {
        Ok(readiness) => {
            found.extend(readiness.shopping.iter().map(to_order));
            let mut tests = to_test(&readiness);
            tests.extend(falling(session, reading, &readiness)?);
            // Of a bottle the first of its days is told.
            tests.sort_by(|one, other| (&one.about, one.day).cmp(&(&other.about, other.day)));
            tests.dedup_by(|later, first| later.about == first.about);
            found.extend(tests);
        }
        // A plan that cannot be judged is no reason to say nothing of the rest.
        Err(problem) => found.push(cannot_judge(&problem)),
    }
    Ok(found)
}

fn cannot_judge(problem: &Problem) -> Matter {
    Matter {
        kind: Kind::Planned,
        severity: Severity::Serious,
        about: Vec::new(),
        what: format!("the plan cannot be judged: {}", problem.what),
        day: None,
        next: ASK.to_owned(),
        key: "plan".to_owned(),
    }
}

/// What is left to be done of a row, by the book of baths.
fn left(book: &Book, row: &Expected) -> Option<Expected> {
    let lot = book.lots.iter().find(|lot| same(&lot.name, &row.lot));
    let is_of_row = |dip: &str, day| dip == row.dip && day == row.date;
    let done = lot.map_or(0, |lot| lot.loads.iter().filter(|load| is_of_row(&load.dip, load.load.at.date())).count());
    let count = row.count.saturating_sub(u32::try_from(done).unwrap_or(u32::MAX));
    (count > 0).then(|| Expected { count, ..row.clone() })
}

/// The days of the baths, each row by its place among those of its lot and dip: a row that is moved keeps its name.
fn bath_days(all: &[Expected], open: &[Expected]) -> Vec<Matter> {
    let mut sorted: Vec<&Expected> = all.iter().collect();
    sorted.sort_by_key(|row| row.date);
    let place = |row: &Expected| {
        sorted.iter().filter(|other| other.lot == row.lot && other.dip == row.dip && other.date < row.date).count() + 1
    };
    let day = |row: &Expected| {
        let litres = show::millilitres(row.volume().to_ml());
        let size = if row.count == 1 { litres.clone() } else { format!("{} × {litres}", row.count) };
        Matter {
            kind: Kind::Planned,
            severity: Severity::Minor,
            about: vec![row.lot.clone()],
            what: format!("{size} of {}", row.dip),
            day: Some(row.date),
            next: format!("brimstock dose {} --bath {}", row.dip, litres.replace(' ', "")),
            key: format!("{} {} {}", row.lot, row.dip, place(row)),
        }
    };
    open.iter().map(day).collect()
}

/// What is missing, by the day on which it is to be ordered.
fn to_order(purchase: &Purchase) -> Matter {
    let Purchase { reagent, label, amount, unit, containers, order_by, .. } = purchase;
    let how_much = match containers {
        Some((size, count)) => format!("{count} × {}", show::amount(*size, unit)),
        None => show::amount(*amount, unit),
    };
    Matter {
        kind: Kind::Low,
        severity: Severity::Serious,
        about: vec![reagent.clone()],
        what: format!("order {how_much} of {label}"),
        day: Some(*order_by),
        next: ASK.to_owned(),
        key: reagent.clone(),
    }
}

fn test(code: &str, what: String, day: NaiveDate) -> Matter {
    Matter {
        kind: Kind::Test,
        severity: Severity::Serious,
        about: vec![code.to_owned()],
        what,
        day: Some(day),
        next: format!("brimstock assay plan {code}"),
        key: code.to_owned(),
    }
}

/// Bottles that planned baths are to be made of, and that a test would settle; they are tested by the day of the bath.
fn to_test(readiness: &Readiness) -> Vec<Matter> {
    let baths = readiness.allocation.baths.iter().filter(|bath| bath.plan.verdict == Verdict::TestFirst);
    let of_bath = |bath: &BathLine| {
        let what = format!("test first for {} on {}", bath.dip, bath.day);
        let day = bath.day;
        bath.plan.doses.iter().map(|dose| test(&dose.code, what.clone(), day)).collect::<Vec<_>>()
    };
    baths.flat_map(of_bath).collect()
}

/// Bottles that would make a planned dip today and not on its day, where the shelf is not ready for it.
fn falling(session: &Session, reading: &Writing<'_>, readiness: &Readiness) -> Result<Vec<Matter>, Problem> {
    let mut wanted: BTreeMap<(String, u64), (NaiveDate, Volume)> = BTreeMap::new();
    for bath in readiness.allocation.baths.iter().filter(|bath| bath.plan.verdict != Verdict::Ready) {
        let key = (bath.dip.clone(), libm::round(bath.volume.to_ml()) as u64);
        let first = wanted.entry(key).or_insert((bath.day, bath.volume));
        first.0 = first.0.min(bath.day);
    }
    let places = reading.places()?;
    let dips: BTreeSet<&str> = wanted.keys().map(|(dip, _)| dip.as_str()).collect();
    let dips = dips.into_iter().filter_map(|key| session.catalogue.dips().iter().find(|dip| dip.key == key));
    let reagents: BTreeSet<&str> = dips.map(|dip| dip.reagent.as_str()).collect();
    let mut offers: Vec<(String, Offer)> = Vec::new();
    each_on_shelf(
        session,
        reading,
        &places,
        |stock| reagents.contains(stock.reagent.as_str()),
        |sight| {
            offers.push((sight.stock.reagent.clone(), sight.offer()));
            Ok(())
        },
    )?;
    let neutralisers = Neutralisers::default();
    let mut found = Vec::new();
    for ((key, _), (day, volume)) in &wanted {
        let Some(dip) = session.catalogue.dips().iter().find(|dip| dip.key == *key) else { continue };
        for (_, offer) in offers.iter().filter(|(reagent, offer)| *reagent == dip.reagent && offer.hold.is_none()) {
            let lines =
                dip_lines(session, reading, &places, &[dip], std::slice::from_ref(offer), *volume, &neutralisers)?;
            let last = lines.first().filter(|line| line.verdict == Verdict::Ready).and_then(|line| line.until);
            if let Some(Until::Day(last)) = last.filter(|last| matches!(last, Until::Day(last) if last < day)) {
                found.push(test(&offer.code, format!("no longer sure of {key}, planned for {day}"), last));
            }
        }
    }
    Ok(found)
}
