//! Dips and baths: what a shelf can do for them, and how it is measured out.

pub mod allot;
pub mod course;
pub mod expected;
pub mod log;
pub mod lookalike;
pub mod measure;
pub mod pick;
pub mod plan;
pub mod recipe;
pub mod sequence;
pub mod stock_solution;
pub mod stop;
pub mod told;
pub mod tool;
pub mod weighing;

use chrono::NaiveDate;

use self::stock_solution::StockSolution;
use self::tool::Own;
use crate::catalogue::{Dip, Form};
use crate::decay::posterior::Standing;
use crate::units::estimate::Estimate;
use crate::units::step::Step;
use crate::units::{Concentration, Volume};

/// The chance from which a verdict is `ready`, unless the keeper has set another.
pub const USUAL_THRESHOLD: f64 = 0.9;

/// What a shelf or a stock can do for a bath, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// It lands in the dip's band with at least the keeper's chance, and can be stopped if it must be.
    Ready,
    /// It may; a test would tell.
    TestFirst,
    /// There is not enough of it, or not enough to stop it.
    Short,
    /// Even undiluted it is weaker than the dip's band.
    TooWeak,
    /// It may not be used.
    Held,
}

impl Verdict {
    /// The words printed.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Ready => "ready",
            Verdict::TestFirst => "test first",
            Verdict::Short => "short",
            Verdict::TooWeak => "too weak",
            Verdict::Held => "held",
        }
    }
}

/// The band of a dip in grams of its reagent in a litre of bath.
#[derive(Debug, Clone, PartialEq)]
pub struct Goal {
    /// Below this it is not the dip.
    pub low: Concentration,
    /// What to aim at.
    pub aim: Concentration,
    /// Above this it is another dip.
    pub high: Concentration,
    /// How it was had from the words of the book.
    pub steps: Vec<Step>,
}

/// A dip to be made up in a vessel, and how sure the keeper wants to be.
#[derive(Debug, Clone)]
pub struct Bath<'a> {
    /// The dip.
    pub dip: &'a Dip,
    /// Its band.
    pub goal: Goal,
    /// The volume of the bath.
    pub volume: Volume,
    /// The chance from which it is `ready`.
    pub threshold: f64,
}

/// What one stock brings.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Its code.
    pub code: String,
    /// Solid or solution.
    pub form: Form,
    /// How much is left, in millilitres or grams.
    pub left: f64,
    /// `mL` or `g`.
    pub unit: String,
    /// The day it came: older ones are used first.
    pub received: NaiveDate,
    /// Why it may not be used, if it may not.
    pub hold: Option<String>,
    /// What the label promises, grams in a litre or in a gram: an upper bound where nothing else is known.
    pub label: f64,
    /// What is known of its strength.
    pub standing: Standing,
    /// What the estimate leaves out and a test would show: sunlight on the bottle.
    pub doubt: Option<String>,
}

impl Offer {
    /// Grams of reagent that one of its units would bring at a content of 1: a litre has 1000 mL.
    #[must_use]
    pub fn per_unit(&self) -> f64 {
        match self.form {
            Form::Solution => 1e-3,
            Form::Solid => 1.0,
        }
    }

    /// Litres that one of its units fills; a solid is taken to fill none.
    #[must_use]
    pub fn litres_per_unit(&self) -> f64 {
        match self.form {
            Form::Solution => 1e-3,
            Form::Solid => 0.0,
        }
    }
}

/// An amount of one stock for a bath.
#[derive(Debug, Clone, PartialEq)]
pub struct Dose {
    /// The stock's code.
    pub code: String,
    /// How much, in the unit.
    pub amount: f64,
    /// `mL` or `g`.
    pub unit: String,
    /// What to measure it with, and what to mind.
    pub measure: String,
    /// What to measure it with: one of [`measure::TOOLS`].
    pub tool: &'static str,
    /// True if it is too little to be measured with that straight from the bottle.
    pub coarse: bool,
    /// The same with a measure of the keeper's, if one was chosen.
    pub own: Vec<Own>,
    /// The stock solution that it is taken from, where it is too little to be weighed.
    pub stock_solution: Option<StockSolution>,
}

/// The answer for one bath.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What can be done.
    pub verdict: Verdict,
    /// The chance that the bath lands in the band; nothing where no stock has an estimate.
    pub chance: Option<f64>,
    /// What to measure out; for a verdict other than `ready`, what would be.
    pub doses: Vec<Dose>,
    /// Water to make it up with.
    pub water: Volume,
    /// What the bath would hold, grams of reagent in a litre.
    pub bath: Option<Estimate>,
    /// The largest bath that can be made at the aim and stopped.
    pub largest: Volume,
    /// Why the verdict is what it is.
    pub reasons: Vec<String>,
    /// The last day on which it would still be `ready`; nothing for any other verdict.
    pub until: Option<Until>,
}

impl Plan {
    /// The answer where nothing can be measured out.
    fn without_doses(verdict: Verdict, bath: &Bath<'_>, largest: Volume, reasons: Vec<String>) -> Self {
        Plan { verdict, chance: None, doses: Vec::new(), water: bath.volume, bath: None, largest, reasons, until: None }
    }
}

/// How long something stays possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Until {
    /// The last good day.
    Day(NaiveDate),
    /// Beyond the ten years that are looked at.
    NoEnd,
}
