//! How strength falls: a stock's history as decay sees it.

mod account;
pub mod assay;
pub mod belief;
pub mod case;
pub mod climate;
pub mod crystals;
pub mod finding;
mod grid;
pub mod law;
pub mod light;
pub mod log;
pub mod mixture;
mod normal;
pub mod posterior;
pub mod reaction;
pub mod reading;
pub mod walk;
pub mod warmth;
pub mod year;

use chrono::NaiveDate;

use crate::catalogue::{Condition, Form};
use climate::Climate;
use finding::Finding;
use light::{Bottle, Daylight};

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
    /// True if the label is our own estimate of what was poured into it, and no maker's figure.
    pub decanted: bool,
    /// How old it was when it came.
    pub age: Age,
    /// What it is kept in.
    pub bottle: Bottle,
    /// Stretches without a change, in order and without gaps.
    pub stretches: Vec<Stretch>,
    /// Tests, in order.
    pub assays: Vec<Assay>,
}

/// How old a stock was when it came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Age {
    /// New.
    New,
    /// So many days.
    Days(f64),
    /// Nobody knows.
    Unknown,
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
    /// How light it is there.
    pub daylight: Daylight,
    /// The condition of the stock.
    pub condition: Condition,
}

/// A test of strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assay {
    /// The day it was made.
    pub day: NaiveDate,
    /// What it found.
    pub finding: Finding,
    /// True if it measured what no label speaks of: how damp a solid has become.
    pub of_damp: bool,
}
