//! A strength or an amount in another unit.

use serde::Serialize;

use super::{FORMAT, StepData, Writer, line, six};
use crate::commands::convert::Converted;
use crate::units::estimate::Estimate;

/// What was asked, and what it is in the other unit.
pub(super) fn converted<'a>(writer: &Writer<'a>, converted: &'a Converted) -> String {
    let Estimate { low, mid, high } = converted.value;
    let band = |value: f64| (!converted.value.is_exact()).then(|| six(value));
    line(&ConvertedData {
        format: FORMAT,
        from: &converted.from,
        of: converted.of.as_deref(),
        value: six(mid),
        unit: &converted.unit,
        low: band(low),
        high: band(high),
        g_per_l: converted.g_per_l.map(six),
        assumed: &converted.assumed,
        steps: writer.steps(&converted.steps),
    })
}

#[derive(Serialize)]
struct ConvertedData<'a> {
    format: u32,
    from: &'a str,
    of: Option<&'a str>,
    value: f64,
    unit: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    low: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    g_per_l: Option<f64>,
    assumed: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}
