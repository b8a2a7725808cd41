//! How strong a stock is, what moves it, what it can still make and where it would last.

use serde::Serialize;

use super::{Amount, FORMAT, StepData, UsualData, Writer, line, six, until};
use crate::catalogue::{Cap, Form};
use crate::commands::chart::Chart;
use crate::commands::gas::Gas;
use crate::commands::strength::Checked;
use crate::dip::Until;
use crate::units::estimate::Estimate;

/// Strength, amount left, and the dips that it can make.
pub(super) fn checked<'a>(writer: &Writer<'a>, checked: &'a Checked) -> String {
    line(&CheckedData::of(writer, checked))
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
    moved_by: Vec<MoverData<'a>>,
    test: Option<TestData<'a>>,
    /// How many times better its tests fit a contaminated bottle than a clean one.
    dirt: Option<f64>,
    /// What has weakened it by an amount that is not counted.
    uncounted: Option<&'a str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    places: Vec<PlaceData<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    chart: Option<ChartData<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gas: Option<GasData>,
    advice: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct MoverData<'a> {
    what: &'a str,
    share: f64,
}

/// The test worth doing first, and half the width of the band before and after it, as shares.
#[derive(Serialize)]
struct TestData<'a> {
    test: &'a str,
    name: &'a str,
    half_width_now: f64,
    half_width_after: f64,
}

/// The stock in one of the keeper's places.
#[derive(Serialize)]
struct PlaceData<'a> {
    place: &'a str,
    here: bool,
    on: String,
    usual: UsualData<'a>,
    dip: Option<&'a str>,
    until: Option<String>,
}

/// A strength over time, in one unit.
#[derive(Serialize)]
struct ChartData<'a> {
    unit: &'a str,
    days: Vec<DayData>,
    tests: Vec<DayData>,
    limits: Vec<LimitData<'a>>,
}

/// Oxygen and heat of a bottle of peroxide; `null` where no rate is known, where half a bar is out of reach, or where nobody
/// said how its cap closes.
#[derive(Serialize)]
struct GasData {
    ml_per_day: Option<BandData>,
    tight_cap_bar_per_year_high: Option<f64>,
    headspace_ml: f64,
    headspace_assumed: bool,
    loss_for_half_bar_percent: Option<f64>,
    end_temperature_c: Option<f64>,
    water_boiled_off_percent: Option<f64>,
    cap: Option<&'static str>,
}

#[derive(Serialize)]
struct BandData {
    low: f64,
    mid: f64,
    high: f64,
}

impl GasData {
    fn of(gas: &Gas) -> Self {
        GasData {
            ml_per_day: gas.ml_per_day.map(|ml| BandData { low: six(ml.low), mid: six(ml.mid), high: six(ml.high) }),
            tight_cap_bar_per_year_high: gas.tight_cap_bar.map(six),
            headspace_ml: six(gas.headspace_ml),
            headspace_assumed: gas.headspace_assumed,
            loss_for_half_bar_percent: gas.loss_for_half_bar.map(|share| six(100.0 * share)),
            end_temperature_c: gas.end.map(|end| six(end.celsius)),
            water_boiled_off_percent: gas.end.map(|end| six(100.0 * end.boiled_off)),
            cap: gas.cap.map(Cap::word),
        }
    }
}

#[derive(Serialize)]
struct DayData {
    on: String,
    low: f64,
    median: f64,
    high: f64,
}

#[derive(Serialize)]
struct LimitData<'a> {
    dip: &'a str,
    needs: f64,
}

impl<'a> ChartData<'a> {
    fn of(chart: &'a Chart) -> Self {
        let day = |(on, band): &(chrono::NaiveDate, Estimate)| DayData {
            on: on.to_string(),
            low: six(band.low),
            median: six(band.mid),
            high: six(band.high),
        };
        ChartData {
            unit: &chart.unit,
            days: chart.band.iter().map(day).collect(),
            tests: chart.tests.iter().map(day).collect(),
            limits: chart.limits.iter().map(|(dip, needs)| LimitData { dip, needs: six(*needs) }).collect(),
        }
    }
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
            moved_by: checked
                .moved_by
                .iter()
                .map(|mover| MoverData { what: mover.what, share: six(mover.share) })
                .collect(),
            test: checked.test.as_ref().map(|test| TestData {
                test: test.test.word(),
                name: &test.name,
                half_width_now: six(test.now),
                half_width_after: six(test.after),
            }),
            dirt: checked.dirt.map(six),
            uncounted: checked.uncounted.as_deref(),
            places: checked
                .elsewhere
                .iter()
                .map(|there| PlaceData {
                    place: &there.place,
                    here: there.here,
                    on: there.on.to_string(),
                    usual: UsualData::of(&there.strength),
                    dip: there.ready_until.as_ref().map(|(_, dip)| dip.as_str()),
                    until: until(there.ready_until.as_ref().map(|(until, _)| *until)),
                })
                .collect(),
            chart: checked.chart.as_ref().map(ChartData::of),
            gas: checked.gas.as_ref().map(GasData::of),
            advice: &checked.advice,
            steps: writer.steps(&checked.steps),
        }
    }
}

/// Of a solution the fields in g/L are filled, of a solid those in g/kg; without an estimate only the label's.
#[derive(Serialize)]
pub(super) struct StrengthData<'a> {
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
    pub(super) fn of(checked: &'a Checked) -> Self {
        let (dissolved, factor) = match checked.form {
            Form::Solution => (true, 1.0),
            Form::Solid => (false, 1000.0),
        };
        let value = |wanted: bool, value: Option<f64>| value.filter(|_| wanted).map(|value| six(value * factor));
        // A solid never holds more than all of itself.
        let most = if dissolved { f64::INFINITY } else { 1.0 };
        let content = checked.content.map(|content| Estimate {
            low: content.low.min(most),
            mid: content.mid.min(most),
            high: content.high.min(most),
        });
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
pub(super) struct DipData<'a> {
    dip: &'a str,
    verdict: &'a str,
    chance: Option<f64>,
    until: Option<String>,
    /// True if `until` is absent because no end is in sight.
    keeps: bool,
    reasons: &'a [String],
}

/// What the stock can do for each of its dips.
pub(super) fn dips(checked: &Checked) -> Vec<DipData<'_>> {
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
