//! A stock solution for what is too little to be weighed.

use super::measure::Bench;
use super::tool::{STEPS_WANTED, Taken, Tool, Way};
use crate::chem::density::water;
use crate::chem::solubility::saturated;
use crate::chem::{ChemError, Substance};
use crate::units::{Concentration, Temperature, show};

/// The least that anybody weighs for a stock solution, grams. Source: `judgement`.
const LEAST_GRAMS: f64 = 1.0;

/// The share of what stays dissolved up to which one is made: nearer to it crystals take hours to go. Source: `judgement`.
const SHARE_OF_FULL: f64 = 0.8;

/// Volumes that a stock solution is made up to, mL. Source: `judgement`.
const VOLUMES_ML: [f64; 8] = [50.0, 100.0, 200.0, 250.0, 500.0, 1000.0, 2000.0, 5000.0];

/// How many times the least mass is tried at most, in steps of 1, 2 and 5.
const MASSES_TRIED: usize = 7;

/// What stays dissolved at the coldest place of a shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Dissolves {
    /// At most this much, the low end.
    pub most: Concentration,
    /// At this temperature.
    pub at: Temperature,
    /// Key of the source.
    pub source: String,
}

/// How much of a solid stays dissolved at a temperature, read low: `w rho_water (1 - spread)`, `w` being the content by
/// weight of the saturated solution. A salt's solution is heavier than water, so that this is a little less than there is.
///
/// Below the table's first temperature that one is taken, and said. Permanganate at 10 °C: `0.0412 × 999.7 × 0.98` =
/// 40.4 g/L.
///
/// # Errors
/// [`ChemError::SolubilityUnknown`] without a table, [`ChemError::OutsideData`] above its temperatures.
///
/// Source: the source of the reagent's table.
pub fn dissolves(substance: Substance<'_>, coldest: Temperature) -> Result<Dissolves, ChemError> {
    let table = substance.reagent.solution.as_ref().and_then(|solution| solution.solubility.as_ref());
    let first = table.and_then(|table| table.points.first()).map_or(f64::NEG_INFINITY, |row| row[0]);
    let at = Temperature::celsius(coldest.to_celsius().max(first));
    let saturated = saturated(substance, at)?;
    let g_per_l = saturated.fraction.to_fraction() * water(at)?.to_kg_per_m3() * (1.0 - saturated.spread);
    Ok(Dissolves { most: Concentration::g_per_l(g_per_l), at, source: saturated.source })
}

/// What to weigh, what to make it up to, and how much of that the bath takes.
#[derive(Debug, Clone, PartialEq)]
pub struct StockSolution {
    /// Grams of the stock as it is weighed.
    pub grams: f64,
    /// The volume that it is made up to with water, mL.
    pub made_up_ml: f64,
    /// Grams of what was weighed in a litre.
    pub g_per_l: f64,
    /// How much of it this bath takes, mL.
    pub take_ml: f64,
    /// The scale that the dose is too little for.
    pub scale: String,
    /// How the grams are weighed.
    pub weighed: Taken,
    /// How the whole is measured.
    pub whole: Taken,
    /// What stays dissolved, and where.
    pub dissolves: Dissolves,
    /// How the part is measured.
    pub taken: Taken,
    /// Grams that come into the bath with it.
    pub dose_grams: f64,
    /// Their relative standard deviation: weighing, making up and taking together.
    pub relative_sd: f64,
}

/// The smallest stock solution with which a dose can be measured that the keeper's scales are too coarse for.
///
/// At least ten steps of the finest scale and at least 1 g, made up to the smallest volume of which it is at most four fifths
/// of what stays dissolved at the coldest place and of which the dose is ten marks or drops or more, each with a measure that
/// is there. Its errors add as squares. 0.1 g of permanganate on a scale of 1 g, at 10 °C (40.4 g/L), with a 10 mL syringe of
/// 0.2 mL and a jug of 10 mL: 10 g made up to 500 mL, 20 g/L, 5 mL (25 marks).
///
/// # Errors
/// Why there is none, for the keeper.
///
/// Source: `judgement` (ten steps, 1 g, four fifths); else arithmetic.
pub fn stock_solution(amount: f64, left: f64, bath_ml: f64, bench: &Bench<'_>) -> Result<StockSolution, String> {
    let step = |tool: &Tool| match tool.way {
        Way::Marks { step, is_scale: true, .. } => Some(step),
        _ => None,
    };
    let finest = bench.tools.iter().filter_map(|tool| step(tool).map(|step| (tool, step)));
    let Some((scale, step)) = finest.min_by(|a, b| a.1.total_cmp(&b.1)) else {
        return Err("a scale is needed for it".to_owned());
    };
    let volumes: Vec<&Tool> = bench.tools.iter().filter(|tool| tool.unit == "mL").collect();
    if volumes.is_empty() {
        return Err("it needs a measure of volume: `brimstock measure add NAME syringe 10mL --step 0.2mL`".to_owned());
    }
    let Some(dissolves) = bench.dissolves else {
        return Err("how much of it water holds in your coldest place is not on file".to_owned());
    };
    let best = |ml: f64, most_ml: f64| {
        let fine = volumes.iter().filter_map(|tool| tool.take(ml, most_ml)).filter(|taken| !taken.coarse);
        fine.min_by(|a, b| a.off(ml).total_cmp(&b.off(ml)))
    };
    let most_g_per_l = SHARE_OF_FULL * dissolves.most.to_g_per_l();
    for grams in masses((STEPS_WANTED * step).max(LEAST_GRAMS).max(amount)) {
        let Some(weighed) = scale.take(grams, left).filter(|weighed| !weighed.coarse) else { continue };
        if weighed.amount < amount || weighed.off(grams) > 2.0 * weighed.relative_sd {
            continue;
        }
        for ml in VOLUMES_ML {
            if 1000.0 * weighed.amount / ml > most_g_per_l {
                continue;
            }
            let Some(whole) = best(ml, f64::INFINITY) else { continue };
            let g_per_l = 1000.0 * weighed.amount / whole.amount;
            if g_per_l > most_g_per_l {
                continue;
            }
            let wanted_ml = 1000.0 * amount / g_per_l;
            let Some(part) = best(wanted_ml, whole.amount.min(bath_ml)) else { continue };
            let relative_sd =
                libm::sqrt([&weighed, &whole, &part].iter().map(|one| one.relative_sd * one.relative_sd).sum());
            return Ok(StockSolution {
                grams: weighed.amount,
                made_up_ml: whole.amount,
                g_per_l,
                take_ml: part.amount,
                scale: scale.name.clone(),
                weighed,
                whole,
                dissolves: dissolves.clone(),
                dose_grams: part.amount * g_per_l / 1000.0,
                taken: part,
                relative_sd,
            });
        }
    }
    Err(format!(
        "no stock solution of at least {} fits what is left, what dissolves at {} °C and your measures of volume",
        show::grams((STEPS_WANTED * step).max(LEAST_GRAMS)),
        show::plain(libm::round(dissolves.at.to_celsius() * 10.0) / 10.0)
    ))
}

/// Masses of 1, 2 and 5 times a power of ten, from the first that is not below a least one.
fn masses(least: f64) -> impl Iterator<Item = f64> {
    let power = libm::pow(10.0, libm::floor(libm::log10(least)));
    let round = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0].map(|digit| digit * power);
    round.into_iter().filter(move |mass| *mass >= least * (1.0 - 1e-9)).take(MASSES_TRIED)
}
