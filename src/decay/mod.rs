//! How strength falls: a stock's history as decay sees it.

pub mod belief;
pub mod climate;
pub mod law;
pub mod posterior;

use chrono::NaiveDate;

use crate::catalogue::{Condition, Form};
use climate::Climate;

/// What a stock's content is counted in: grams in a litre for a solution, grams in a gram for a solid.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Content(pub f64);

/// A stock's life up to a day, as decay sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Solid or solution.
    pub form: Form,
    /// What the label says.
    pub label: Content,
    /// The label as mass fraction in per cent, where it can be had: it chooses between priors.
    pub label_percent_w_w: Option<f64>,
    /// The condition in which it came.
    pub came: Condition,
    /// Uncertainty that reading the label brought: standard deviation of the logarithm.
    pub label_sd_ln: f64,
    /// Stretches without a change, in order and without gaps.
    pub stretches: Vec<Stretch>,
    /// Tests, in order.
    pub assays: Vec<Assay>,
}

/// Days in one place and one condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// First day.
    pub from: NaiveDate,
    /// The day on which it ends.
    pub to: NaiveDate,
    /// The name of the place.
    pub place: String,
    /// How warm it is there.
    pub climate: Climate,
    /// The condition of the stock.
    pub condition: Condition,
}

/// A test of strength.
#[derive(Debug, Clone, PartialEq)]
pub struct Assay {
    /// The day it was made.
    pub day: NaiveDate,
    /// What it found.
    pub content: Content,
    /// Relative standard deviation of the finding.
    pub relative_sd: f64,
}
