//! Answers as JSON: the machine's own types, never those of the domain.
//!
//! Names never change within one format number; numbers carry six significant figures.

mod about;
mod answer;
mod assay;
mod audit;
mod bathe;
mod bathe_pages;
mod card;
mod classify;
mod convert;
mod dip_book;
mod dip_own;
mod dip_read;
mod discard;
mod dose;
mod due;
mod entry;
mod exchange;
mod finite;
mod import;
mod local;
mod measure;
mod quench;
mod ready;
mod reagents;
mod sds;
mod shelf;
mod signatures;
mod strength;
mod verify;

pub use answer::answer;

use serde::Serialize;

use crate::catalogue::Catalogue;
use crate::commands::sight;
use crate::dip::{Dose, Until};
use crate::units::estimate::Estimate;
use crate::units::step::Step;

/// The number that stands first in every object.
pub const FORMAT: u32 = 1;

/// One object on one line; nothing if a number in it is none, which [`answer`] makes a problem of.
pub(super) fn line(data: &impl Serialize) -> String {
    let text = if finite::is_finite(data) { serde_json::to_string(data).unwrap_or_default() } else { String::new() };
    if text.is_empty() { text } else { text + "\n" }
}

/// Six significant figures: enough for any reader, and the same on every machine.
fn six(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// The day on which it no longer suffices, if there is one.
fn until(until: Option<Until>) -> Option<String> {
    match until {
        Some(Until::Day(day)) => Some(day.to_string()),
        Some(Until::NoEnd) | None => None,
    }
}

/// How much is left, in the stock's own unit.
#[derive(Serialize)]
struct Amount<'a> {
    value: f64,
    unit: &'a str,
}

impl<'a> Amount<'a> {
    fn of(value: f64, unit: &'a str) -> Self {
        Amount { value: six(value), unit }
    }
}

/// A strength in the unit that is usual for its reagent.
#[derive(Serialize)]
struct UsualData<'a> {
    value: f64,
    low: f64,
    high: f64,
    unit: &'a str,
}

impl<'a> UsualData<'a> {
    fn of(usual: &'a sight::Usual) -> Self {
        let Estimate { low, mid, high } = usual.estimate;
        UsualData { value: six(mid), low: six(low), high: six(high), unit: &usual.unit }
    }
}

/// One step of a number, or one fact, with its source.
#[derive(Serialize)]
struct StepData<'a> {
    what: &'a str,
    /// The figure and its unit, where the step has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    value: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<&'a str>,
    source: &'a str,
    title: Option<&'a str>,
    /// `found`, `computed`, `recalled` or `judged`.
    seen: Option<&'a str>,
    mark: Option<&'a str>,
}

/// What steps are written with: whether they are wanted, and where their sources are looked up.
struct Writer<'a> {
    why: bool,
    catalogue: &'a Catalogue,
}

impl<'a> Writer<'a> {
    /// The steps of a number, if they are wanted.
    fn steps(&self, steps: &'a [Step]) -> Option<Vec<StepData<'a>>> {
        self.why.then(|| {
            let written = |step: &'a Step| {
                let (value, unit) = step.value.as_ref().map(|(value, unit)| (six(*value), unit.as_str())).unzip();
                StepData { value, unit, ..self.step(&step.what, &step.source) }
            };
            steps.iter().map(written).collect()
        })
    }

    fn step(&self, what: &'a str, source: &'a str) -> StepData<'a> {
        let found = self.catalogue.source(source);
        StepData {
            what,
            value: None,
            unit: None,
            source,
            seen: found.map(|source| source.seen.word()),
            title: found.map(|source| source.title.as_str()),
            mark: found.and_then(|source| source.mark()),
        }
    }
}

/// What to measure out of one stock.
#[derive(Serialize)]
struct DoseData<'a> {
    stock: &'a str,
    value: f64,
    unit: &'a str,
    measure: &'a str,
}

impl<'a> DoseData<'a> {
    fn of(dose: &'a Dose) -> Self {
        DoseData { stock: &dose.code, value: six(dose.amount), unit: &dose.unit, measure: &dose.measure }
    }
}
