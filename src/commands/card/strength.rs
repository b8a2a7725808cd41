//! The `strength` card: what a stock holds, how that was reckoned, what it can make and until when, what to test next.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::catalogue::{Cap, Condition, Container, Form};
use crate::commands::chart::found_band;
use crate::commands::place::{daylight_text, season_text};
use crate::commands::sight::{Sight, Usual};
use crate::commands::strength::{Asked, Checked, checked};
use crate::commands::testing::{PlannedTest, tests_for, worth_doing};
use crate::commands::{Problem, Session};
use crate::decay::assay::Sample;
use crate::decay::posterior::Standing;
use crate::dip::{Until, Verdict};
use crate::register::Writing;
use crate::register::history::found;
use crate::register::place::Place;
use crate::units::Volume;

/// The bath by which dips are judged, L, as by `check`.
const BATH_L: f64 = 10.0;

/// What the card says.
#[derive(Debug)]
pub struct Strength {
    /// Its strength today and over time, and what it can do, as `check` answers.
    pub checked: Checked,
    /// Why its strength is not known, if it is not.
    pub unknown: Option<String>,
    /// How it stands.
    pub kept: Kept,
    /// Its tests, the latest first.
    pub found: Vec<Found>,
    /// The test to make next; nothing for what may not be poured from.
    pub next: Option<Next>,
    /// Why it may not be used, if it may not.
    pub held: Option<String>,
    /// What harms it, and what is known of that here.
    pub harms: Vec<Harm>,
    /// Keys of the sources of all that.
    pub sources: BTreeSet<String>,
}

/// How and where a stock stands.
#[derive(Debug)]
pub struct Kept {
    /// The day it came.
    pub received: NaiveDate,
    /// Sealed, opened or made up.
    pub condition: Condition,
    /// The day its seal was broken here.
    pub opened: Option<NaiveDate>,
    /// What its wall is made of.
    pub container: Container,
    /// The name of its place.
    pub place: String,
    /// Since when it stands there.
    pub since: NaiveDate,
    /// How warm it is there, in words.
    pub warmth: String,
    /// How light it is there, in words.
    pub light: String,
}

/// A test that was made.
#[derive(Debug)]
pub struct Found {
    /// The day.
    pub day: NaiveDate,
    /// How, in words.
    pub method: String,
    /// What it found.
    pub strength: Usual,
}

/// A test to be made.
#[derive(Debug)]
pub struct Next {
    /// Which, with what to expect.
    pub test: PlannedTest,
    /// By when.
    pub when: When,
}

/// By when a test is wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum When {
    /// Before anything is poured from it: its strength is not known.
    BeforeUse,
    /// Before these dips, which are `test first`.
    BeforeDips(Vec<String>),
    /// Before the day on which the estimate no longer suffices for a dip.
    By(NaiveDate, String),
    /// No day presses; it would narrow the band.
    AnyDay,
    /// No test would tell much more now.
    NotNow,
}

/// What harms a stock.
#[derive(Debug)]
pub struct Harm {
    /// What does.
    pub by: HarmBy,
    /// What is known of that where it stands.
    pub here: String,
}

/// What can harm a stock.
#[derive(Debug)]
pub enum HarmBy {
    /// Daylight; why.
    Light(String),
    /// Warmth above so many °C.
    Warmth(f64),
    /// A tight cap, from so many % w/w on.
    TightCap(f64),
    /// Materials.
    Contact(Vec<String>),
}

/// Gathers a card for each stock.
///
/// # Errors
/// Unknown stocks, and those that have left the shelf.
pub fn gather(session: &Session, what: &[String]) -> Result<Vec<Strength>, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        what.iter().map(|code| of_stock(session, reading, &places, code)).collect()
    })
}

fn of_stock(session: &Session, reading: &Writing<'_>, places: &[Place], code: &str) -> Result<Strength, Problem> {
    let sight = Sight::on_shelf(session, reading, places, code)?;
    if let Some((day, why)) = &sight.state.retired {
        return Err(Problem::question(format!("`{}` left the shelf on {day}: {why}", sight.stock.code))
            .hint(format!("`brimstock show {}` shows its journal", sight.stock.code)));
    }
    let asked = Asked { chart: true, ..Asked::of(Volume::l(BATH_L)) };
    let checked = checked(session, reading, places, &sight, &asked)?;
    let kept = kept(session, &sight, places)?;
    let held = sight.left_closed().map(str::to_owned).or_else(|| sight.state.hold.clone());
    let next = if held.is_some() { None } else { next(session, &sight, &checked)? };
    let (harms, mut sources) = harms(&sight, &kept);
    if let Standing::Known(known) = &sight.standing {
        sources.extend(known.steps.iter().map(|step| step.source.clone()));
    }
    if let Some(next) = &next {
        sources.insert(session.catalogue.method(next.test.test).source.clone());
    }
    for line in &checked.dips {
        sources.extend(session.catalogue.dip(&line.dip).map(|dip| dip.target.source.clone()));
    }
    let unknown = match &sight.standing {
        Standing::Unknown { why, .. } => Some(why.clone()),
        Standing::Known(_) => None,
    };
    Ok(Strength { unknown, kept, found: tests_found(session, &sight)?, next, held, harms, sources, checked })
}

fn kept(session: &Session, sight: &Sight<'_>, places: &[Place]) -> Result<Kept, Problem> {
    let state = &sight.state;
    let place = places.iter().find(|place| place.name == state.place);
    let there = place
        .ok_or_else(|| Problem::data(format!("`{}` stands at `{}`, which is no place", sight.stock.code, state.place)))?
        .on(session.day);
    // Opening a bottle begins a stay of its own; it stands there since the first of the last ones at one place.
    let here = state.stays.iter().rev().take_while(|stay| stay.place == state.place).last();
    Ok(Kept {
        received: state.received,
        condition: state.condition,
        opened: state.opened,
        container: state.kept_in.container,
        place: state.place.clone(),
        since: here.map_or(state.received, |stay| stay.from),
        warmth: season_text(there.season),
        light: daylight_text(there.daylight),
    })
}

/// The tests of a stock, the latest first, each by itself and not what is believed after it.
fn tests_found(session: &Session, sight: &Sight<'_>) -> Result<Vec<Found>, Problem> {
    let sample = Sample {
        reagent: sight.reagent,
        form: sight.stock.form,
        label: sight.label,
        label_sd_ln: sight.history.label_sd_ln,
    };
    let mut tests: Vec<&crate::register::ledger::Test> =
        sight.state.tests.iter().filter(|test| test.day <= session.day).collect();
    tests.sort_by_key(|test| std::cmp::Reverse(test.day));
    tests
        .into_iter()
        .map(|test| {
            let finding = found(session.catalogue, sample, test)?.finding;
            let known = crate::catalogue::Test::ALL.into_iter().find(|known| known.word() == test.method);
            Ok(Found {
                day: test.day,
                method: known.map_or_else(|| test.method.clone(), |known| session.catalogue.method(known).name.clone()),
                strength: sight.usual(found_band(finding))?,
            })
        })
        .collect()
}

/// The test that is worth doing first, and by when.
fn next(session: &Session, sight: &Sight<'_>, checked: &Checked) -> Result<Option<Next>, Problem> {
    let mut tests = tests_for(session, sight, None)?;
    let worth = worth_doing(&tests);
    let waiting: Vec<String> =
        checked.dips.iter().filter(|dip| dip.verdict == Verdict::TestFirst).map(|dip| dip.name.clone()).collect();
    let ends = checked.dips.iter().filter_map(|dip| match dip.until {
        Some(Until::Day(day)) => Some((day, dip.name.clone())),
        _ => None,
    });
    let when = match (worth, ends.min()) {
        _ if checked.content.is_none() => When::BeforeUse,
        _ if !waiting.is_empty() => When::BeforeDips(waiting),
        (None, _) => When::NotNow,
        (Some(_), Some((day, dip))) => When::By(day, dip),
        (Some(_), None) => When::AnyDay,
    };
    // The last is always a figure from elsewhere.
    let at = worth.unwrap_or(tests.len().saturating_sub(1));
    Ok((at < tests.len()).then(|| Next { test: tests.swap_remove(at), when }))
}

/// What the catalogue says that it must be kept from, and how it is about that.
fn harms(sight: &Sight<'_>, kept: &Kept) -> (Vec<Harm>, BTreeSet<String>) {
    let (mut harms, mut sources) = (Vec::new(), BTreeSet::new());
    let Some(keeping) = &sight.reagent.keeping else { return (harms, sources) };
    let form = sight.stock.form;
    let mut add = |by: HarmBy, here: String, source: &str| {
        harms.push(Harm { by, here });
        sources.insert(source.to_owned());
    };
    if let Some(why) = keeping.dark.as_ref().filter(|_| keeping.dark_form.is_none_or(|only| only == form)) {
        let here = format!("{}, {}", kept.light, container_text(kept.container));
        add(HarmBy::Light(why.value.clone()), here, &why.source);
    }
    if let Some(bound) = &keeping.below_c {
        add(HarmBy::Warmth(bound.value), kept.warmth.clone(), &bound.source);
    }
    if let Some(bound) = keeping.vent_above.as_ref().filter(|_| form == Form::Solution) {
        let here = sight.state.cap().map_or_else(String::new, |cap| match cap {
            Cap::Vented => "vented cap".to_owned(),
            Cap::Tight => "tight cap".to_owned(),
        });
        add(HarmBy::TightCap(bound.value), here, &bound.source);
    }
    if !keeping.never_in.is_empty() {
        add(HarmBy::Contact(keeping.never_in.clone()), String::new(), &keeping.source);
    }
    (harms, sources)
}

/// A kind of container in words.
#[must_use]
pub fn container_text(container: Container) -> String {
    match container {
        Container::Unknown => "container not known".to_owned(),
        known => known.word().replace('-', " "),
    }
}
