//! What is said to somebody who is about to start a bath; none of it stops anybody.

use chrono::NaiveDate;

use crate::catalogue::{Bathed, Dip};
use crate::commands::dose::goal_of;
use crate::commands::signatures::unsigned;
use crate::commands::{Problem, Session, arguments, local};
use crate::dip::log::Load;
use crate::dip::log::book::{BathOf, Book};
use crate::dip::log::countdown::time;
use crate::dip::sequence::{Found, found, left_by};
use crate::register::Writing;
use crate::units::show;
use crate::units::strength::Strength;

/// So long plants are taken to carry something of a bath along, days: clean water has taken it then. Source: `judgement`.
const CARRIED_DAYS: i64 = 2;

/// A bath that was made up longer ago than this is told to be older, minutes. Source: `judgement`.
const FRESH_MINUTES: i64 = 60;

/// What is to be minded before a load goes in: who has not read the dip, what the lot was in before, the water, the law.
///
/// # Errors
/// If the register cannot be read.
pub fn at_start(
    session: &Session,
    writing: &Writing<'_>,
    book: &Book,
    dip: &Dip,
    load: &Load,
) -> Result<Vec<String>, Problem> {
    let mut warnings = Vec::new();
    let day = load.at.date();
    warnings.extend(above_the_law(session, dip)?);
    warnings.extend(water(dip, load));
    warnings.extend(bathed_before(book, load, day));
    warnings.extend(left_over(session, book, dip, load));
    match &load.who {
        Some(who) => warnings.extend(unsigned(writing, who, dip, day)?),
        None => warnings
            .push(format!("nobody is named (--who): whether `{}` was read by who does it is not known", dip.key)),
    }
    if dip.bathed == Bathed::Tank {
        warnings
            .push(format!("`{}` is poured into the tank with all that lives there; it is no bath for a lot", dip.key));
    }
    Ok(warnings)
}

/// That what the dip aims at is above what the keeper was told may be had.
fn above_the_law(session: &Session, dip: &Dip) -> Result<Option<String>, Problem> {
    let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
    let high = goal_of(session, dip)?.high;
    // What happened is entered, whatever is wrong with the keeper's file.
    let found = match local::of(session) {
        Ok(found) => found,
        Err(problem) => return Ok(Some(format!("local rules not looked at: {}; see `brimstock local`", problem.what))),
    };
    let above = local::above(&found, reagent, Strength::InVolume(high))?;
    Ok(above.map(|(limit, percent)| {
        let told = local::too_strong(&format!("the upper end of `{}`", dip.key), limit, percent);
        format!("local limit: {}", told.what)
    }))
}

/// That the water is colder or warmer than the dip's source has it.
#[must_use]
pub fn water(dip: &Dip, load: &Load) -> Option<String> {
    let ([low, high], water) = (dip.water_c?, load.water_c?);
    let side = match water {
        water if water < low => "colder",
        water if water > high => "warmer",
        _ => return None,
    };
    Some(format!(
        "water of {} °C is {side} than the {}–{} °C of `{}`",
        show::plain(water),
        show::plain(low),
        show::plain(high),
        dip.key
    ))
}

/// That the lot was in a bath before.
fn bathed_before(book: &Book, load: &Load, day: NaiveDate) -> Option<String> {
    let lot = book.lot(&load.lot)?;
    let last = lot.loads.iter().rev().find(|other| other.load.at <= load.at)?;
    let days = (day - last.ended.unwrap_or(last.load.at).date()).num_days();
    let when = match days {
        0 => "today".to_owned(),
        1 => "the day before".to_owned(),
        days => format!("{days} days before"),
    };
    Some(format!("the lot {} was in `{}` {when}; a second dip wears on plants", lot.name, last.dip))
}

/// What may be left on the lot from its last bath, and must not meet this one.
fn left_over(session: &Session, book: &Book, dip: &Dip, load: &Load) -> Vec<String> {
    let last = book.lot(&load.lot).and_then(|lot| lot.loads.iter().rev().find(|other| other.load.at <= load.at));
    let Some(last) = last else { return Vec::new() };
    let since = load.at - last.ended.unwrap_or(last.load.at);
    let Some(earlier) = session.catalogue.dip(&last.dip).filter(|_| since.num_days() <= CARRIED_DAYS) else {
        return Vec::new();
    };
    found(session.catalogue, &earlier.key, &left_by(earlier), dip, 0).iter().map(Found::words).collect()
}

/// What is to be minded of a bath that was used before.
#[must_use]
pub fn at_load(bath: &BathOf, load: &Load) -> Vec<String> {
    let earlier = bath.loads.iter().filter(|other| other.load.at <= load.at).count();
    let mut warnings = vec![format!(
        "load {} of this bath: each load and its dirt use some of it up, and nobody here knows how much; a strip or a fresh bath tells",
        earlier + 1
    )];
    let dirt: u8 = bath.loads.iter().filter_map(|other| other.load.dirt).sum();
    if dirt >= 2 {
        warnings.push(format!("dirt so far {dirt} (each load 0 to 3): count on a weaker bath"));
    }
    let age = (load.at - bath.began).num_seconds();
    if age > 60 * FRESH_MINUTES {
        warnings.push(format!("the bath was made up {} ago, and is weaker by that too", time(age)));
    }
    warnings
}
