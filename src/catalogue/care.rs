//! What a reagent does to its neighbours and its keeper, as keys: reaction groups, and what to do when it is spilt, touches
//! somebody, is handled or has to go.

use std::fmt;

use serde::Deserialize;

/// The keys of one reagent.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Care {
    /// Reaction groups, keys of `hazards/keep-apart.toml`; of several the strictest verdict holds.
    pub groups: Vec<String>,
    /// Key of a spill text of `hazards/care.toml`.
    pub spill: String,
    /// Key of a first-aid text of `hazards/care.toml`.
    pub first_aid: String,
    /// Key of a protection text of `hazards/care.toml`.
    pub protection: String,
    /// Key of a disposal class of `hazards/disposal.toml`.
    pub disposal: String,
    /// Key in `hazards/sources.toml`: who put it into these groups and classes.
    pub source: String,
}

/// When a text of `hazards/care.toml` is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Occasion {
    /// It was spilt.
    Spill,
    /// It got onto or into somebody.
    FirstAid,
    /// It is going to be handled.
    Protection,
}

impl fmt::Display for Occasion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Occasion::Spill => "spill",
            Occasion::FirstAid => "first aid",
            Occasion::Protection => "protection",
        })
    }
}

/// What to do on one occasion with the reagents that share a key.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CareText {
    /// When.
    pub occasion: Occasion,
    /// The word that reagents name.
    pub key: String,
    /// What to do, in order.
    pub lines: Vec<Said>,
    /// From so many % w/w on no spill of it is the keeper's to clean; of available chlorine where the hazard table counts so.
    #[serde(default)]
    pub out_from_percent: Option<f64>,
    /// Drawings of `hazards/pictograms/icons/` that go with it: what to wear, or what never to use.
    #[serde(default)]
    pub signs: Vec<String>,
}

/// One line of advice with who says it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Said {
    /// What it is for where something was spilt; every line of a spill has it.
    #[serde(default)]
    pub part: Option<Part>,
    /// The line.
    pub say: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What a line is for where something was spilt, in the order of a spill card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// When to leave and call.
    Out,
    /// How little the keeper may see to.
    Stay,
    /// What not to do, and what not to use.
    Never,
    /// What comes then.
    Then,
    /// What to do about what it leaves behind.
    Stains,
}
