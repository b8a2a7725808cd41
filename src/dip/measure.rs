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
}

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
        Form::Solution if amount <= 1.0 => (0.01, measuring.syringe.value, "1 mL syringe"),
        Form::Solution if amount <= 10.0 => (0.1, measuring.syringe.value, "10 mL syringe"),
        Form::Solution if amount <= 60.0 => (1.0, measuring.syringe.value, "60 mL syringe"),
        Form::Solution if amount <= 1000.0 => (1.0, measuring.jug.value, "measuring jug or cylinder"),
        Form::Solution => (10.0, measuring.jug.value, "measuring jug"),
        Form::Solid if amount <= 100.0 => (0.01, measuring.scale.value, "pocket scale, 0.01 g steps"),
        Form::Solid => (1.0, measuring.scale.value, "kitchen scale, 1 g steps"),
    };
    // What is wanted at all is at least one step of the measure, and never more than is there.
    let rounded = if amount > 0.0 { (whole(amount / step) * step).max(step).min(left) } else { 0.0 };
    let mut words = tool.to_owned();
    let mut relative_sd = relative_sd;
    if amount < 10.0 * step {
        relative_sd = libm::hypot(relative_sd, step / 2.0 / crate::units::estimate::Z_95 / amount.max(step));
        let unit = if form == Form::Solid { "g" } else { "mL" };
        words.push_str(&format!(
            "; {} is under ten of its steps: make a weaker stock solution first and measure more of that",
            show::amount(amount, unit)
        ));
    }
    Measured { amount: rounded, relative_sd, words }
}
