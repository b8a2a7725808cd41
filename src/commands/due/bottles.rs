//! Bottles one by one: held, to be looked at every month, past their time, to be tested.

use chrono::{Days, Months};

use super::rank::{Kind, Matter};
use crate::catalogue::Cap;
use crate::commands::layout::{Layout, Stands};
use crate::commands::looking::each_on_shelf;
use crate::commands::sight::Sight;
use crate::commands::strength::{Neutralisers, dip_lines};
use crate::commands::{Problem, Session};
use crate::dip::{Until, Verdict};
use crate::hazard::storage::Severity;
use crate::hazard::upkeep::SWELLS_BAR;
use crate::register::Writing;
use crate::register::place::Place;
use crate::units::Volume;

/// The bath that a bottle is judged by, as `check` does where nobody names one, L.
const BATH_L: f64 = 10.0;

/// After how many months a tight cap on what makes gas is looked at again. Source: `judgement`, as in `hazard::upkeep`.
const LOOK_MONTHS: u32 = 1;

/// Everything about single bottles.
///
/// # Errors
/// If the register cannot be read or contradicts itself.
pub(super) fn matters(session: &Session, reading: &Writing<'_>, layout: &Layout<'_>) -> Result<Vec<Matter>, Problem> {
    let mut found = Vec::new();
    let mut sights = Vec::new();
    each_on_shelf(
        session,
        reading,
        &layout.places,
        |_| true,
        |sight| {
            sights.push(sight);
            Ok(())
        },
    )?;
    let neutralisers = Neutralisers::default();
    for sight in &sights {
        let stands = layout.stocks.iter().find(|stock| stock.code == sight.stock.code);
        // Of what is swollen, brittle or too strong another line tells already.
        let is_fixed = stands.is_some_and(Stands::is_fixed);
        if !is_fixed {
            found.extend(held(sight));
            found.extend(stands.and_then(|stands| under_pressure(session, sight, stands)));
        }
        found.extend(past_its_time(session, sight));
        if !is_fixed && sight.state.hold.is_none() {
            found.extend(to_test(session, reading, &layout.places, sight, &neutralisers)?);
        }
    }
    Ok(found)
}

fn matter(kind: Kind, severity: Severity, sight: &Sight<'_>, what: String, next: String) -> Matter {
    let code = sight.stock.code.clone();
    Matter { kind, severity, about: vec![code.clone()], what, day: None, next, key: code }
}

fn held(sight: &Sight<'_>) -> Option<Matter> {
    let why = sight.state.hold.as_ref()?;
    let next = format!("brimstock discard {}", sight.stock.code);
    let day = Some(sight.state.received);
    let held = matter(Kind::Container, Severity::Serious, sight, format!("held: {why}"), next);
    Some(Matter { day, key: format!("held {}", sight.stock.code), ..held })
}

/// A tight cap on what makes gas: looked at every month, counted from whatever was last done with it.
fn under_pressure(session: &Session, sight: &Sight<'_>, stands: &Stands<'_>) -> Option<Matter> {
    let swells = stands.kept.cap == Some(Cap::Tight) && stands.kept.bar_a_year.is_some_and(|bar| bar > SWELLS_BAR);
    let seen = sight.journal.last_day(session.day).unwrap_or(sight.state.received);
    let code = &sight.stock.code;
    let next = format!("brimstock note {code} tight-cap");
    let look = "tight cap: look whether it swells";
    let look = matter(Kind::Container, Severity::Minor, sight, look.to_owned(), next);
    swells.then(|| Matter {
        day: seen.checked_add_months(Months::new(LOOK_MONTHS)),
        key: format!("cap {code}"),
        ..look
    })
}

/// A solution made up here, from the day that its label says on; a test of it gives it as long again. Source: `judgement`.
fn past_its_time(session: &Session, sight: &Sight<'_>) -> Option<Matter> {
    let (made, keeps) = sight.own_dilution()?;
    let tested = sight.history.assays.iter().map(|assay| assay.day).filter(|tested| *tested <= session.day).max();
    let from = tested.map_or(made, |tested| tested.max(made));
    let code = &sight.stock.code;
    let what = match tested {
        Some(tested) => format!("made up {made}, tested {tested}: use, test or discard it"),
        None => format!("made up {made}: use, test or discard it"),
    };
    let past = matter(Kind::PastItsTime, Severity::Serious, sight, what, format!("brimstock assay plan {code}"));
    (sight.state.left > 0.0).then(|| Matter { day: from.checked_add_days(Days::new(keeps.value as u64)), ..past })
}

/// A bottle that no dip of the book is sure of any more, from its last good day on; one that no dip can be made of at all is
/// not worth a test.
fn to_test(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    sight: &Sight<'_>,
    neutralisers: &Neutralisers,
) -> Result<Option<Matter>, Problem> {
    let dips = session.catalogue.dips().iter().filter(|dip| dip.reagent == sight.stock.reagent);
    let wanted: Vec<_> = dips.collect();
    if wanted.is_empty() || sight.state.left <= 0.0 {
        return Ok(None);
    }
    let lines = dip_lines(session, reading, places, &wanted, &[sight.offer()], Volume::l(BATH_L), neutralisers)?;
    let code = &sight.stock.code;
    let next = format!("brimstock assay plan {code}");
    let ready = lines.iter().filter(|line| line.verdict == Verdict::Ready);
    let last: Vec<Option<Until>> = ready.map(|line| line.until).collect();
    if last.is_empty() {
        let tests: Vec<&str> =
            lines.iter().filter(|line| line.verdict == Verdict::TestFirst).map(|line| line.dip.as_str()).collect();
        let what = match &tests[..] {
            [] => return Ok(None),
            [one] => format!("test first for {one}"),
            [one, more @ ..] => format!("test first for {one} and {} more", more.len()),
        };
        return Ok(Some(matter(Kind::Test, Severity::Serious, sight, what, next)));
    }
    let days = last.iter().map(|until| match until {
        Some(Until::Day(day)) => Some(*day),
        Some(Until::NoEnd) | None => None,
    });
    // One dip that it makes without an end is enough.
    let Some(day) = days.collect::<Option<Vec<_>>>().and_then(|days| days.into_iter().max()) else { return Ok(None) };
    let what = "test it, no dip is sure of it later".to_owned();
    Ok(Some(Matter { day: Some(day), ..matter(Kind::Test, Severity::Serious, sight, what, next) }))
}
