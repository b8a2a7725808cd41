//! What an amount is measured with at a bench, and how exactly.

use super::stock_solution::{Dissolves, StockSolution, stock_solution};
use super::tool::{Own, Taken, Tool};
use crate::catalogue::{Form, Measuring};
use crate::units::show;

/// What there is to measure with, as far as one reagent is concerned.
#[derive(Debug, Clone, Copy)]
pub struct Bench<'a> {
    /// How exactly a bench measures of which nothing is known.
    pub measuring: &'a Measuring,
    /// The keeper's own measures.
    pub tools: &'a [Tool],
    /// Relative standard deviation of the bath's volume.
    pub vessel_sd: f64,
    /// What stays dissolved in the coldest place, where that is on file.
    pub dissolves: Option<&'a Dissolves>,
}

impl<'a> Bench<'a> {
    /// A bench of which nothing is known.
    #[must_use]
    pub fn usual(measuring: &'a Measuring) -> Self {
        Bench { measuring, tools: &[], vessel_sd: measuring.vessel.value, dissolves: None }
    }
}

/// An amount rounded to what its measure can show.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The amount, in mL or g.
    pub amount: f64,
    /// Relative standard deviation of measuring it.
    pub relative_sd: f64,
    /// What to measure with, and what to mind.
    pub words: String,
    /// What any bench would measure it with: one of [`TOOLS`].
    pub tool: &'static str,
    /// True if it is under ten of the tool's steps, too coarse to be measured straight from the bottle.
    pub coarse: bool,
    /// The same with a measure of the keeper's, if one was chosen.
    pub own: Vec<Own>,
    /// The stock solution that it is taken from, where it is too little to be weighed.
    pub stock_solution: Option<StockSolution>,
}

/// An amount as it is measured out: with the keeper's own measure that comes nearest, else with what any bench has.
///
/// A liquid that takes more than ten spoonfuls is measured as at any bench.
/// Of a solid that is under ten steps of every scale of the keeper's a stock solution is proposed, unless a spoon is more exact.
///
/// Source: `judgement`; the errors by [`Tool::take`], [`stock_solution`] and, without own measures, [`usual`].
#[must_use]
pub fn measured(amount: f64, left: f64, bath_ml: f64, form: Form, bench: &Bench<'_>) -> Measured {
    let usual = usual(amount, left, form, bench.measuring);
    let unit = if form == Form::Solid { "g" } else { "mL" };
    let of_unit: Vec<&Tool> = bench.tools.iter().filter(|tool| tool.unit == unit).collect();
    if amount <= 0.0 || of_unit.is_empty() {
        return usual;
    }
    // Whoever entered a spoon has a jug all the same.
    let fitting: Vec<&Tool> =
        of_unit.into_iter().filter(|tool| form == Form::Solid || !tool.is_counted_often(amount)).collect();
    let taken = fitting.iter().filter_map(|tool| tool.take(amount, left));
    let best = taken.min_by(|a, b| a.off(amount).total_cmp(&b.off(amount)));
    let mut scales = fitting.iter().filter(|tool| tool.is_scale()).peekable();
    if scales.peek().is_none() || !scales.all(|scale| scale.is_too_coarse_for(amount)) {
        return match best {
            Some(taken) => own(taken, amount, usual.tool),
            None => Measured { words: format!("{}; no measure of yours fits", usual.words), ..usual },
        };
    }
    let others = fitting.iter().filter(|tool| !tool.is_scale()).filter_map(|tool| tool.take(amount, left));
    let best_other = others.map(|taken| taken.off(amount)).fold(f64::INFINITY, f64::min);
    match (stock_solution(amount, left, bath_ml, bench), best) {
        (Ok(solution), _) if solution.relative_sd < best_other => Measured {
            amount: solution.dose_grams,
            relative_sd: solution.relative_sd,
            words: format!(
                "as a stock solution, ± {} % (1 sd): see below",
                show::significant(100.0 * solution.relative_sd, 2)
            ),
            tool: usual.tool,
            coarse: false,
            own: solution.taken.own.clone(),
            stock_solution: Some(solution),
        },
        (Err(why), Some(taken)) if best_other.is_infinite() => {
            let mut measured = own(taken, amount, usual.tool);
            measured.words.push_str(&format!("; no stock solution: {why}"));
            measured
        }
        (_, Some(taken)) => own(taken, amount, usual.tool),
        (why, None) => {
            let why = why.err().map_or(String::new(), |why| format!("; no stock solution: {why}"));
            Measured { words: format!("{}; too little for a scale of yours{why}", usual.words), ..usual }
        }
    }
}

/// As a measure of the keeper's has it.
fn own(taken: Taken, wanted: f64, tool: &'static str) -> Measured {
    let mut words = format!("{}, ± {} % (1 sd)", taken.words, show::significant(100.0 * taken.relative_sd, 2));
    if taken.coarse {
        words.push_str(&format!(
            "; {} is under ten of its steps: make a weaker stock solution first and measure more of that",
            show::amount(wanted, taken.unit)
        ));
    }
    let (amount, relative_sd, coarse) = (taken.amount, taken.relative_sd, taken.coarse);
    Measured { amount, relative_sd, words, tool, coarse, own: taken.own, stock_solution: None }
}

const SYRINGE_1: &str = "1 mL syringe";
const SYRINGE_10: &str = "10 mL syringe";
const SYRINGE_60: &str = "60 mL syringe";
const CYLINDER: &str = "measuring jug or cylinder";
const JUG: &str = "measuring jug";
const POCKET_SCALE: &str = "pocket scale, 0.01 g steps";
const KITCHEN_SCALE: &str = "kitchen scale, 1 g steps";

/// Everything that amounts are measured with here, as it is printed.
pub const TOOLS: [&str; 7] = [SYRINGE_1, SYRINGE_10, SYRINGE_60, CYLINDER, JUG, POCKET_SCALE, KITCHEN_SCALE];

/// Rounds an amount to the step of the measure that fits it, to the nearest, never past what is there.
///
/// Liquids: a syringe up to 60 mL, a jug above. Solids: a pocket scale (0.01 g) up to 100 g, a kitchen scale (1 g) above.
/// Below ten steps the step itself is the error: `step / (2 × 1.645) / amount` as a standard deviation.
///
/// Source: `judgement` (the relative errors stand in `hazards/dips.toml`).
#[must_use]
pub fn usual(amount: f64, left: f64, form: Form, measuring: &Measuring) -> Measured {
    in_steps(amount, left, form, measuring, libm::round)
}

/// The same rounded up: of what ends a bath, a step more is nearer to the mark than a step less.
///
/// Source: as [`usual`].
#[must_use]
pub fn measured_up(amount: f64, left: f64, form: Form, measuring: &Measuring) -> Measured {
    // What only the arithmetic brought is no step more.
    in_steps(amount, left, form, measuring, |steps| libm::ceil(steps - 1e-9))
}

/// The same rounded down: where not a drop more is there.
///
/// Source: as [`usual`].
#[must_use]
pub fn measured_down(amount: f64, form: Form, measuring: &Measuring) -> Measured {
    in_steps(amount, amount, form, measuring, |steps| libm::floor(steps + 1e-9))
}

fn in_steps(amount: f64, left: f64, form: Form, measuring: &Measuring, whole: fn(f64) -> f64) -> Measured {
    let (step, relative_sd, tool) = match form {
        Form::Solution if amount <= 1.0 => (0.01, measuring.syringe.value, SYRINGE_1),
        Form::Solution if amount <= 10.0 => (0.1, measuring.syringe.value, SYRINGE_10),
        Form::Solution if amount <= 60.0 => (1.0, measuring.syringe.value, SYRINGE_60),
        Form::Solution if amount <= 1000.0 => (1.0, measuring.jug.value, CYLINDER),
        Form::Solution => (10.0, measuring.jug.value, JUG),
        Form::Solid if amount <= 100.0 => (0.01, measuring.scale.value, POCKET_SCALE),
        Form::Solid => (1.0, measuring.scale.value, KITCHEN_SCALE),
    };
    // What is wanted at all is at least one step of the measure, and never more than is there.
    let rounded = if amount > 0.0 { (whole(amount / step) * step).max(step).min(left) } else { 0.0 };
    let mut words = tool.to_owned();
    let mut relative_sd = relative_sd;
    let coarse = amount < 10.0 * step;
    if coarse {
        relative_sd = libm::hypot(relative_sd, step / 2.0 / crate::units::estimate::Z_95 / amount.max(step));
        let unit = if form == Form::Solid { "g" } else { "mL" };
        words.push_str(&format!(
            "; {} is under ten of its steps: make a weaker stock solution first and measure more of that",
            show::amount(amount, unit)
        ));
    }
    Measured { amount: rounded, relative_sd, words, tool, coarse, own: Vec::new(), stock_solution: None }
}
