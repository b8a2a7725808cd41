//! A stock's journal and its places become the history that `decay` computes with.

use chrono::NaiveDate;

use super::event::{Labelled, Made};
use super::ledger::{State, Test};
use super::place::Place;
use super::stock::Stock;
use crate::catalogue::{Catalogue, Form, Light, Reagent, Test as Method};
use crate::chem::solution;
use crate::chem::{ChemError, Substance};
use crate::decay::assay::{AssayError, Sample, Tested, tested};
use crate::decay::finding::Finding;
use crate::decay::light::Bottle;
use crate::decay::{Age, Assay, Content, History, Stretch};
use crate::units::Temperature;
use crate::units::strength::{Basis, StrengthUnit};

/// The temperature at which bottles are labelled, poured and tested.
fn bench() -> Temperature {
    Temperature::celsius(20.0)
}

/// The history of a stock up to a day.
///
/// # Errors
/// [`AssayError`] if label or test cannot be brought to grams in a litre (or, for a solid, in a gram).
pub fn history(
    catalogue: &Catalogue,
    stock: &Stock,
    state: &State,
    reagent: &Reagent,
    places: &[Place],
    day: NaiveDate,
) -> Result<History, AssayError> {
    let (label, conversion_sd) = content(stock.form, reagent, &state.label)?;
    let label_sd_ln = libm::hypot(state.label.relative_sd, conversion_sd);
    let sample = Sample { reagent, form: stock.form, label: label.0, label_sd_ln };
    let mut assays = Vec::with_capacity(state.tests.len());
    for test in state.tests.iter().filter(|test| test.day <= day) {
        let of_damp = test.raw.as_ref().is_some_and(|raw| raw.reading.test() == Method::Drying);
        assays.push(Assay { day: test.day, finding: found(catalogue, sample, test)?.finding, of_damp });
    }
    // Tests of one day follow each other in an order of their own, so that it does not matter which was typed first.
    assays.sort_by(|a, b| {
        let key = |assay: &Assay| (matches!(assay.finding, Finding::Between { .. }), assay.finding.content());
        let ((a_kind, a_content), (b_kind, b_content)) = (key(a), key(b));
        a.day.cmp(&b.day).then(a_kind.cmp(&b_kind)).then(a_content.total_cmp(&b_content))
    });
    let ml = if stock.form == Form::Solution { state.amount } else { 0.0 };
    let kept = state.kept_in;
    let usual = Bottle::of_volume(catalogue.optics(), kept.container, kept.wall_mm, ml);
    Ok(History {
        form: stock.form,
        label,
        label_percent_w_w: percent_in_weight(reagent, &state.label),
        came: state.came,
        label_sd_ln,
        decanted: state.poured_from.is_some(),
        age: match state.made {
            Made::New => Age::New,
            Made::On(made) => Age::Days((state.received - made).num_days().max(0) as f64),
            Made::Unknown => Age::Unknown,
        },
        bottle: Bottle { diameter_cm: kept.diameter_cm.unwrap_or(usual.diameter_cm), ..usual },
        stretches: stretches(state, places, day),
        assays,
    })
}

/// What a test of the journal found, computed from what was read.
///
/// # Errors
/// [`AssayError`] for readings that give no strength.
pub fn found(catalogue: &Catalogue, sample: Sample<'_>, test: &Test) -> Result<Tested, AssayError> {
    if let Some(raw) = &test.raw {
        return tested(catalogue, sample, raw);
    }
    let (content, sd_ln) = content(sample.form, sample.reagent, &test.strength)?;
    let relative_sd = libm::hypot(test.strength.relative_sd, sd_ln);
    Ok(Tested { finding: Finding::Figure { content: content.0, relative_sd }, steps: Vec::new() })
}

/// The lightest class that a stock has stood in since its last test, and the name of the place.
#[must_use]
pub fn brightest(history: &History) -> Option<(Light, String)> {
    let tested = history.assays.iter().map(|assay| assay.day).max();
    history
        .stretches
        .iter()
        .filter(|stretch| stretch.to > stretch.from && tested.is_none_or(|on| stretch.to > on))
        .map(|stretch| (stretch.daylight.light, stretch.place.clone()))
        .max_by_key(|(light, _)| *light)
}

/// A labelled strength as grams in a litre or in a gram, and what the conversion costs.
///
/// # Errors
/// [`ChemError`] if it cannot be converted.
pub fn content(form: Form, reagent: &Reagent, labelled: &Labelled) -> Result<(Content, f64), ChemError> {
    let basis = match form {
        Form::Solid => Basis::InWeight,
        Form::Solution => Basis::InVolume,
    };
    let strength = StrengthUnit::named(&labelled.unit).of(labelled.value);
    let converted = solution::convert(Substance::of(reagent), strength, basis, bench())?;
    Ok((Content(converted.strength.base()), converted.sd_ln))
}

fn percent_in_weight(reagent: &Reagent, labelled: &Labelled) -> Option<f64> {
    let strength = StrengthUnit::named(&labelled.unit).of(labelled.value);
    let converted = solution::converted(Substance::of(reagent), strength, Basis::InWeight, bench()).ok()?;
    Some(100.0 * converted.base())
}

/// Cuts a stock's stays at the days on which its places changed.
fn stretches(state: &State, places: &[Place], day: NaiveDate) -> Vec<Stretch> {
    let mut stretches = Vec::new();
    let ends = state.stays.iter().skip(1).map(|stay| stay.from).chain([day]);
    for (stay, end) in state.stays.iter().zip(ends) {
        let Some(place) = places.iter().find(|place| place.name == stay.place) else { continue };
        let end = end.min(day);
        let mut from = stay.from;
        for cut in place.changes(stay.from, end).chain([end]) {
            let (climate, daylight) = (place.climate(from), place.on(from).daylight);
            let name = place.name.clone();
            stretches.push(Stretch { from, to: cut, place: name, climate, daylight, condition: stay.condition });
            from = cut;
        }
    }
    stretches
}
