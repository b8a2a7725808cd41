//! A stock's journal and its places become the history that `decay` computes with.

use chrono::NaiveDate;

use super::journal::Labelled;
use super::ledger::State;
use super::place::{Light, Place};
use super::stock::Stock;
use crate::catalogue::{Form, Reagent};
use crate::chem::solution;
use crate::chem::{ChemError, Substance};
use crate::decay::{Assay, Content, History, Stretch};
use crate::units::Temperature;
use crate::units::strength::{Basis, StrengthUnit};

/// The temperature at which bottles are labelled, poured and tested.
fn bench() -> Temperature {
    Temperature::celsius(20.0)
}

/// The history of a stock up to a day.
///
/// # Errors
/// [`ChemError`] if label or test cannot be brought to grams in a litre (or, for a solid, in a gram).
pub fn history(
    stock: &Stock,
    state: &State,
    reagent: &Reagent,
    places: &[Place],
    day: NaiveDate,
) -> Result<History, ChemError> {
    let (label, conversion_sd) = content(stock.form, reagent, &state.label)?;
    let mut assays = Vec::with_capacity(state.tests.len());
    for (on, _, found) in state.tests.iter().filter(|(on, ..)| *on <= day) {
        let (content, sd_ln) = content(stock.form, reagent, found)?;
        assays.push(Assay { day: *on, content, relative_sd: libm::hypot(found.relative_sd, sd_ln) });
    }
    Ok(History {
        form: stock.form,
        label,
        label_percent_w_w: percent_in_weight(reagent, &state.label),
        came: state.came,
        label_sd_ln: libm::hypot(state.label.relative_sd, conversion_sd),
        stretches: stretches(state, places, day),
        assays,
    })
}

/// The lightest class that a stock has stood in since its last test, and the name of the place.
#[must_use]
pub fn brightest(state: &State, places: &[Place], day: NaiveDate) -> Option<(Light, String)> {
    let tested = state.tests.iter().map(|(on, ..)| *on).filter(|on| *on <= day).max();
    stretches(state, places, day)
        .into_iter()
        .filter(|stretch| stretch.to > stretch.from && tested.is_none_or(|on| stretch.to > on))
        .filter_map(|stretch| {
            let place = places.iter().find(|place| place.name == stretch.place)?;
            Some((place.on(stretch.from).light, stretch.place))
        })
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
    let converted = solution::convert(Substance::of(reagent), strength, Basis::InWeight, bench()).ok()?;
    Some(100.0 * converted.strength.base())
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
            let climate = place.on(from).climate;
            stretches.push(Stretch { from, to: cut, place: place.name.clone(), climate, condition: stay.condition });
            from = cut;
        }
    }
    stretches
}
