//! What an amount is measured with at a bench, and how exactly.

use crate::catalogue::{Form, Measuring};
use crate::units::show;

/// An amount rounded to what its measure can show.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The amount, in mL or g.
    pub amount: f64,
    /// Relative standard deviation of measuring it.
    pub relative_sd: f64,
    /// What to measure with, and what to mind.
    pub words: String,
    /// What to measure with: one of [`TOOLS`].
    pub tool: &'static str,
    /// True if it is under ten of the tool's steps, too coarse to be measured straight from the bottle.
    pub coarse: bool,
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
pub fn measured(amount: f64, left: f64, form: Form, measuring: &Measuring) -> Measured {
    in_steps(amount, left, form, measuring, libm::round)
}

/// The same rounded up: of what ends a bath, a step more is nearer to the mark than a step less.
///
/// Source: as [`measured`].
#[must_use]
pub fn measured_up(amount: f64, left: f64, form: Form, measuring: &Measuring) -> Measured {
    // What only the arithmetic brought is no step more.
    in_steps(amount, left, form, measuring, |steps| libm::ceil(steps - 1e-9))
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
    Measured { amount: rounded, relative_sd, words, tool, coarse }
}
