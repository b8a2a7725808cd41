//! How strong a stock is and what it can still make, by reckoning or after a test.

use serde::Serialize;

use super::{Amount, FORMAT, StepData, UsualData, Writer, line, six, until};
use crate::catalogue::Form;
use crate::commands::strength::{Assayed, Checked};
use crate::dip::Until;

/// Strength, amount left, and the dips that it can make.
pub(super) fn checked<'a>(writer: &Writer<'a>, checked: &'a Checked) -> String {
    line(&CheckedData::of(writer, checked))
}

/// A test, and the stock as it is seen after it.
pub(super) fn assayed<'a>(writer: &Writer<'a>, assayed: &'a Assayed) -> String {
    let dissolved = assayed.form == Form::Solution;
    line(&AssayedData {
        format: FORMAT,
        stock: &assayed.stock,
        method: assayed.method,
        day: assayed.day.to_string(),
        g_per_l: dissolved.then(|| six(assayed.content)),
        g_per_kg: (!dissolved).then(|| six(1000.0 * assayed.content)),
        relative_sd: six(assayed.relative_sd),
        comment: &assayed.comment,
        strength: StrengthData::of(&assayed.after),
        dips: dips(&assayed.after),
        advice: &assayed.after.advice,
        steps: writer.steps(&assayed.after.steps),
    })
}

/// A stock as it is checked.
#[derive(Serialize)]
pub(super) struct CheckedData<'a> {
    format: u32,
    stock: &'a str,
    reagent: &'a str,
    on: String,
    label: &'a str,
    strength: StrengthData<'a>,
    left: Amount<'a>,
    bath_l: f64,
    dips: Vec<DipData<'a>>,
    advice: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

impl<'a> CheckedData<'a> {
    pub(super) fn of(writer: &Writer<'a>, checked: &'a Checked) -> Self {
        CheckedData {
            format: FORMAT,
            stock: &checked.stock,
            reagent: &checked.reagent,
            on: checked.on.to_string(),
            label: &checked.label_text,
            strength: StrengthData::of(checked),
            left: Amount::of(checked.left, &checked.unit),
            bath_l: six(checked.bath.to_l()),
            dips: dips(checked),
            advice: &checked.advice,
            steps: writer.steps(&checked.steps),
        }
    }
}

#[derive(Serialize)]
struct AssayedData<'a> {
    format: u32,
    stock: &'a str,
    method: &'a str,
    day: String,
    g_per_l: Option<f64>,
    g_per_kg: Option<f64>,
    relative_sd: f64,
    comment: &'a str,
    strength: StrengthData<'a>,
    dips: Vec<DipData<'a>>,
    advice: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

/// Of a solution the fields in g/L are filled, of a solid those in g/kg; without an estimate only the label's.
#[derive(Serialize)]
struct StrengthData<'a> {
    median_g_per_l: Option<f64>,
    low_g_per_l: Option<f64>,
    high_g_per_l: Option<f64>,
    label_g_per_l: Option<f64>,
    median_g_per_kg: Option<f64>,
    low_g_per_kg: Option<f64>,
    high_g_per_kg: Option<f64>,
    label_g_per_kg: Option<f64>,
    usual: Option<UsualData<'a>>,
}

impl<'a> StrengthData<'a> {
    fn of(checked: &'a Checked) -> Self {
        let (dissolved, factor) = match checked.form {
            Form::Solution => (true, 1.0),
            Form::Solid => (false, 1000.0),
        };
        let value = |wanted: bool, value: Option<f64>| value.filter(|_| wanted).map(|value| six(value * factor));
        let content = checked.content;
        let [low, median, high] = [content.map(|c| c.low), content.map(|c| c.mid), content.map(|c| c.high)];
        StrengthData {
            median_g_per_l: value(dissolved, median),
            low_g_per_l: value(dissolved, low),
            high_g_per_l: value(dissolved, high),
            label_g_per_l: value(dissolved, Some(checked.label)),
            median_g_per_kg: value(!dissolved, median),
            low_g_per_kg: value(!dissolved, low),
            high_g_per_kg: value(!dissolved, high),
            label_g_per_kg: value(!dissolved, Some(checked.label)),
            usual: checked.usual.as_ref().map(UsualData::of),
        }
    }
}

#[derive(Serialize)]
struct DipData<'a> {
    dip: &'a str,
    verdict: &'a str,
    chance: Option<f64>,
    until: Option<String>,
    /// True if `until` is absent because no end is in sight.
    keeps: bool,
    reasons: &'a [String],
}

/// What the stock can do for each of its dips.
fn dips(checked: &Checked) -> Vec<DipData<'_>> {
    checked
        .dips
        .iter()
        .map(|dip| DipData {
            dip: &dip.dip,
            verdict: dip.verdict.words(),
            chance: dip.chance.map(six),
            until: until(dip.until),
            keeps: dip.until == Some(Until::NoEnd),
            reasons: &dip.reasons,
        })
        .collect()
}
