//! A test that was entered, and a plan for one.

use serde::Serialize;

use super::strength::{DipData, StrengthData, dips};
use super::{FORMAT, StepData, UsualData, Writer, line, six};
use crate::catalogue::Form;
use crate::commands::assay::Assayed;
use crate::commands::assay_plan::AssayPlan;
use crate::decay::finding::Finding;
use crate::decay::reading::Raw;

/// A test, and the stock as it is seen after it.
pub(super) fn assayed<'a>(writer: &Writer<'a>, assayed: &'a Assayed) -> String {
    let dissolved = assayed.form == Form::Solution;
    let content = assayed.finding.content();
    let (low, high) = match assayed.finding {
        Finding::Figure { .. } => (None, None),
        Finding::Between { low, high, .. } => {
            (Some(low).filter(|low| *low > 0.0), Some(high).filter(|high| high.is_finite()))
        }
    };
    let factor = if dissolved { 1.0 } else { 1000.0 };
    let per_litre = |value: Option<f64>| value.filter(|_| dissolved).map(six);
    line(&AssayedData {
        format: FORMAT,
        stock: &assayed.stock,
        method: assayed.method.word(),
        day: assayed.day.to_string(),
        g_per_l: dissolved.then(|| six(content)),
        low_g_per_l: per_litre(low),
        high_g_per_l: per_litre(high),
        g_per_kg: (!dissolved).then(|| six(factor * content)),
        relative_sd: six(assayed.finding.relative_sd()),
        readings: assayed.raw.as_ref(),
        comment: &assayed.comment,
        strength: StrengthData::of(&assayed.after),
        dips: dips(&assayed.after),
        dirt: assayed.after.dirt.map(six),
        advice: &assayed.after.advice,
        steps: writer.steps(&assayed.steps).map(|mut steps| {
            steps.extend(writer.steps(&assayed.after.steps).into_iter().flatten());
            steps
        }),
    })
}

/// A plan for a test.
pub(super) fn plan(plan: &AssayPlan) -> String {
    let test = &plan.test;
    let (now, after) = test.narrows.unzip();
    line(&PlanData {
        format: FORMAT,
        stock: &plan.stock,
        on: plan.on.to_string(),
        usual: plan.now.as_ref().map(UsualData::of),
        test: test.test.word(),
        relative_sd: six(test.relative_sd),
        expected: test.expected.map(|(expected, unit)| ExpectedData {
            low: six(expected.low),
            value: six(expected.mid),
            high: six(expected.high),
            unit,
        }),
        sd_ln_now: now.map(six),
        sd_ln_after: after.map(six),
        cautions: &test.cautions,
        needs: &test.needs,
        steps: &test.steps,
        traps: &test.traps,
        settles: &plan.settles,
        other_tests: plan.others.iter().map(|(test, _)| test.word()).collect(),
    })
}

#[derive(Serialize)]
struct AssayedData<'a> {
    format: u32,
    stock: &'a str,
    method: &'a str,
    day: String,
    g_per_l: Option<f64>,
    /// The ends of an interval; absent for a figure, and where the scale ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    low_g_per_l: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high_g_per_l: Option<f64>,
    g_per_kg: Option<f64>,
    relative_sd: f64,
    /// What was read, with the unit in each name.
    readings: Option<&'a Raw>,
    comment: &'a str,
    strength: StrengthData<'a>,
    dips: Vec<DipData<'a>>,
    dirt: Option<f64>,
    advice: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct PlanData<'a> {
    format: u32,
    stock: &'a str,
    on: String,
    usual: Option<UsualData<'a>>,
    test: &'a str,
    relative_sd: f64,
    expected: Option<ExpectedData<'a>>,
    /// Standard deviation of the strength's logarithm, now and after such a test.
    sd_ln_now: Option<f64>,
    sd_ln_after: Option<f64>,
    cautions: &'a [String],
    needs: &'a [String],
    steps: &'a [String],
    traps: &'a str,
    settles: &'a [String],
    other_tests: Vec<&'a str>,
}

#[derive(Serialize)]
struct ExpectedData<'a> {
    low: f64,
    value: f64,
    high: f64,
    unit: &'a str,
}
