//! What a bottle of peroxide gives off, what a tight cap would bear of it, and what all of it at once would do.

use chrono::{Days, NaiveDate};

use super::Problem;
use super::sight::Sight;
use crate::catalogue::{Cap, Form};
use crate::chem::Substance;
use crate::chem::solution;
use crate::decay::posterior::{Known, Standing, estimate};
use crate::hazard::pressure::{Closed, air, end_point, liquid_heat, oxygen, volume};
use crate::units::estimate::Estimate;
use crate::units::show::{millilitres, plain, significant};
use crate::units::step::Step;
use crate::units::strength::{Basis, Strength};
use crate::units::{Concentration, Mass, Pressure, Temperature, Volume};

/// The formula of what this is about.
const PEROXIDE: &str = "H2O2";

/// Days over which the gas of a day is averaged, and those of a year.
const MONTH: u64 = 30;
const YEAR: u64 = 365;

/// A container whose brim nobody told holds so much more than came in it. Source: `judgement`.
const BRIM: f64 = 1.1;

/// The gauge pressure that is asked for, bar: a plastic bottle is hard and bulged by then. Source: `judgement`.
const HARD: f64 = 0.5;

/// A bottle of peroxide and its gas.
#[derive(Debug, Clone, PartialEq)]
pub struct Gas {
    /// Oxygen a day over the next month, mL; nothing where no rate is known.
    pub ml_per_day: Option<Estimate>,
    /// The mean temperature of its place over that month, °C.
    pub celsius: f64,
    /// What a tight cap would bear after a year at the strong end of the rate, bar above the air.
    pub tight_cap_bar: Option<f64>,
    /// The room above the liquid, mL.
    pub headspace_ml: f64,
    /// True if nobody said what the container holds to the brim.
    pub headspace_assumed: bool,
    /// The share whose loss brings half a bar; nothing if all of it does not.
    pub loss_for_half_bar: Option<f64>,
    /// Where all of it at once would end.
    pub end: Option<End>,
    /// How its cap closes, where somebody said.
    pub cap: Option<Cap>,
}

/// Where a solution ends whose peroxide all falls apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct End {
    /// The strength it was reckoned for, the high end of what is believed, % w/w.
    pub percent_w_w: f64,
    /// How hot it becomes, °C.
    pub celsius: f64,
    /// The share of the water that boils off.
    pub boiled_off: f64,
}

/// Gas and heat of a stock on a day, with how they came about. Nothing for anything but a solution of peroxide that is there.
///
/// # Errors
/// If a formula cannot be read, which those of the program can.
pub(super) fn gas(sight: &Sight<'_>, day: NaiveDate) -> Result<(Option<Gas>, Vec<Step>), Problem> {
    let state = &sight.state;
    let is_peroxide = sight.stock.form == Form::Solution && sight.reagent.formula.value == PEROXIDE;
    if !is_peroxide || state.left <= 0.0 || state.retired.is_some() {
        return Ok((None, Vec::new()));
    }
    // Without a rate nothing can be told of what is to come.
    let known = match &sight.standing {
        Standing::Known(known) => Some(&**known),
        Standing::Unknown { .. } => None,
    };
    // The band of a bottle that fell to nothing long ago can reach beyond what there is.
    let most = sight.reagent.solution.as_ref().and_then(|solution| solution.strongest.as_ref());
    let most = most.map_or(f64::INFINITY, |strongest| strongest.value);
    let strong = known.map_or(sight.label, |known| known.estimate().high).min(most);
    let liquid = Volume::ml(state.left);
    let brim = state.kept_in.brim_ml.unwrap_or(BRIM * state.amount);
    let headspace = Volume::ml((brim - state.left).max(0.0));
    let temperature = temperature(sight, day);
    let closed = Closed { liquid, headspace, temperature };

    let mut steps = Vec::new();
    let mut ml_per_day = None;
    let mut tight_cap_bar = None;
    if let Some(known) = known.filter(|known| !known.keeps()) {
        let (month, days) = lost(known, day, MONTH);
        let per_gram = volume(oxygen(Mass::g(1.0))?, temperature, air()).to_ml();
        let gas = month.scaled(liquid.to_l() * per_gram / days);
        let (year, _) = lost(known, day, YEAR);
        let bar = closed.gauge(oxygen(Mass::g(year.high * liquid.to_l()))?).to_bar();
        let what = format!(
            "{} g/L of peroxide are lost in {} days: from {} {} mL of oxygen a day (2 H₂O₂ → 2 H₂O + O₂)",
            band(month),
            plain(days),
            millilitres(state.left),
            band(gas),
        );
        steps.push(Step::new(what, "computed-reactions").of(gas.mid, "mL/d"));
        let what = format!(
            "{} g/L lost in a year, the strong end, between {} mL of headspace and what the water dissolves: {} bar",
            two(year.high),
            two(headspace.to_ml()),
            two(bar),
        );
        steps.push(Step::new(what, "oxygen-solubility-memory").of(bar, "bar"));
        (ml_per_day, tight_cap_bar) = (Some(gas), Some(bar));
    }
    if state.kept_in.brim_ml.is_none() {
        let what = format!("it holds {} mL to the brim, a tenth more than came in it", two(brim));
        steps.push(Step::new(what, "judgement").of(brim, "mL"));
    }
    let end = end(sight, strong)?;
    if let Some(end) = end {
        let what = format!(
            "all of {} % w/w at once from 20 °C, {} kJ a mole: {} °C",
            two(end.percent_w_w),
            plain(liquid_heat().to_kj_per_mol()),
            two(end.celsius)
        );
        steps.push(Step::new(what, "heats-recalled").of(end.celsius, "°C"));
    }
    let gas = Gas {
        ml_per_day,
        celsius: temperature.to_celsius(),
        tight_cap_bar,
        headspace_ml: headspace.to_ml(),
        headspace_assumed: state.kept_in.brim_ml.is_none(),
        loss_for_half_bar: closed.loss_for(Concentration::g_per_l(strong), Pressure::bar(HARD))?,
        end,
        cap: state.cap(),
    };
    Ok((Some(gas), steps))
}

/// That it needs a cap that lets gas out, if it has none and is so strong, by its label or by what it may be.
pub(super) fn needs_vent(sight: &Sight<'_>, gas: &Gas) -> Option<String> {
    let bound = sight.reagent.keeping.as_ref()?.vent_above.as_ref()?.value;
    let label = sight.history.label_percent_w_w.unwrap_or(0.0);
    let strongest = gas.end.map_or(label, |end| end.percent_w_w.max(label));
    if strongest < bound - 1e-9 || gas.cap == Some(Cap::Vented) {
        return None;
    }
    let code = &sight.stock.code;
    let needs = format!("from {} % w/w up it needs a vented cap, never a tight one", plain(bound));
    Some(match gas.cap {
        Some(_) => format!(
            "{needs}, and {code} has a tight one: get it another; warm, swollen or hissing: do not open it, keep away, ask for help"
        ),
        None => format!("{needs}: look at {code}, then `brimstock note {code} vented-cap`"),
    })
}

/// Two figures, never more; hardly anything is said in words.
#[must_use]
pub fn two(value: f64) -> String {
    if value > 0.0 && value < 0.001 { "under 0.001".to_owned() } else { significant(value, 2) }
}

/// Two figures of a value and its ends.
#[must_use]
pub fn band(value: Estimate) -> String {
    let [low, mid, high] = [value.low, value.mid, value.high].map(two);
    if low == high { mid } else { format!("{mid} ({low}–{high})") }
}

/// What goes of the content over the next so many days, grams in a litre, and how many days there are left to count.
fn lost(known: &Known, day: NaiveDate, days: u64) -> (Estimate, f64) {
    let to = later(day, days);
    let days = (to - day).num_days().max(1) as f64;
    let Estimate { low, mid, high } = estimate(&known.lost_by(to));
    // No more can be lost than is there.
    let most = known.estimate().high;
    (Estimate { low: low.min(most), mid: mid.min(most), high: high.min(most) }, days)
}

fn later(day: NaiveDate, days: u64) -> NaiveDate {
    day.checked_add_days(Days::new(days)).unwrap_or(NaiveDate::MAX)
}

/// The mean temperature of its place over the next month; that of a bench where it has stood nowhere yet.
fn temperature(sight: &Sight<'_>, day: NaiveDate) -> Temperature {
    let to = later(day, MONTH);
    let days = (to - day).num_days();
    match sight.history.stretches.last() {
        Some(last) if days > 0 => Temperature::kelvin(last.climate.sum(day, to, Temperature::to_kelvin) / days as f64),
        _ => Temperature::celsius(20.0),
    }
}

/// Where all of it at once would end; nothing where no density tells its strength by weight.
fn end(sight: &Sight<'_>, strong: f64) -> Result<Option<End>, Problem> {
    let strength = Strength::from_base(Basis::InVolume, strong);
    let bench = Temperature::celsius(20.0);
    let converted = solution::converted(Substance::of(sight.reagent), strength, Basis::InWeight, bench);
    let Ok(Strength::InWeight(fraction)) = converted else { return Ok(None) };
    let end = end_point(fraction, liquid_heat())?;
    Ok(Some(End {
        percent_w_w: fraction.to_percent(),
        celsius: end.temperature.to_celsius(),
        boiled_off: end.boiled_off,
    }))
}
