//! How one form of a reagent weakens: law, rates by condition, and what a fresh stock holds.

use serde::{Deserialize, Serialize};

use super::{Figure, Form, Photolysis};

/// How one form of a reagent weakens.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decay {
    /// The form this holds for.
    pub form: Form,
    /// Holds for labels up to this many % w/w; the first entry that fits a stock holds.
    #[serde(default = "whole")]
    pub up_to_percent_w_w: f64,
    /// The law.
    pub law: Law,
    /// Why this law, in one sentence.
    pub why: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// Activation energy, `kJ/mol`; needed for every law that has a rate.
    #[serde(default)]
    pub activation: Option<Figure>,
    /// How many times faster it weakens where daylight gets at it, `1`, if no more than that is known of light.
    #[serde(default)]
    pub in_light: Option<Figure>,
    /// How light takes it apart, where that can be computed.
    #[serde(default)]
    pub photolysis: Option<Photolysis>,
    /// Rates by condition, each holding up to a strength; the first that fits a stock holds.
    #[serde(default)]
    pub prior: Vec<RatePrior>,
    /// Filling factor: what a fresh bottle holds in parts of its label, and the sd of its logarithm.
    pub start: Vec<Start>,
}

/// A rate law.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Law {
    /// Does not weaken when kept dry and closed.
    Keeps,
    /// `dC/dt = -k C`.
    FirstOrder,
    /// Hypochlorite: `dC/dt = -k2 C²`, `k2` of ionic strength and temperature.
    SecondOrderHypochlorite,
    /// Weakens at a rate nobody has told us: only a test helps.
    Unknown,
}

/// The log-normal prior of a rate in one condition.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RatePrior {
    /// The condition of the bottle.
    pub condition: Condition,
    /// Holds for labels up to this many % w/w.
    pub up_to_percent_w_w: f64,
    /// Median: of the rate at 20 °C in `1/y` (first order), of the factor on the law in `1` (second order).
    pub median: Figure,
    /// Standard deviation of the natural logarithm.
    pub sd_ln: f64,
    /// Activation energy in this condition, `kJ/mol`, where it is another than the entry's.
    #[serde(default)]
    pub activation: Option<Figure>,
    /// What a share of such bottles does instead.
    #[serde(default)]
    pub or: Option<Other>,
}

/// The rate of the share of bottles that do not keep as the others do.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Other {
    /// Which share, `1`.
    pub share: Figure,
    /// Median rate, in the unit of the others.
    pub median: Figure,
    /// Standard deviation of its natural logarithm.
    pub sd_ln: f64,
}

/// What a bottle has been through; later ones keep worse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// As it left the factory.
    Sealed,
    /// Opened, poured from, never dipped into.
    Opened,
    /// Made up by the keeper with purified water.
    MadeUp,
    /// Made up by the keeper with tap water.
    MadeUpTap,
    /// Dipped into, poured back, swollen or dirty.
    Dirty,
}

impl Condition {
    /// Every condition, best first.
    pub const ALL: [Condition; 5] =
        [Condition::Sealed, Condition::Opened, Condition::MadeUp, Condition::MadeUpTap, Condition::Dirty];

    /// The word used in the register, on the command line and in answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Condition::Sealed => "sealed",
            Condition::Opened => "opened",
            Condition::MadeUp => "made-up",
            Condition::MadeUpTap => "made-up-tap",
            Condition::Dirty => "dirty",
        }
    }
}

/// What a fresh stock holds against its label.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Start {
    /// The condition in which the stock came or was made.
    pub condition: Condition,
    /// Median of true strength over label, unit `1`.
    pub factor: Figure,
    /// Standard deviation of its natural logarithm.
    pub sd_ln: f64,
}

/// Without a bound an entry holds for every strength.
fn whole() -> f64 {
    100.0
}
