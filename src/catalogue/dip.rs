//! The dip book: recipes with their evidence, and how exactly a bench measures.

use serde::{Deserialize, Serialize};

use super::Figure;

/// How exactly a bench measures; every value is a relative standard deviation.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measuring {
    /// A marked bucket or tub filled to the mark.
    pub vessel: Figure,
    /// A kitchen jug.
    pub jug: Figure,
    /// A medical syringe.
    pub syringe: Figure,
    /// A kitchen or pocket scale read at ten times its step or more.
    pub scale: Figure,
    /// A levelled measuring spoon, volume only.
    pub spoon: Figure,
    /// A drop.
    pub drop: Figure,
    /// What an unstated spoon or cup adds.
    pub unknown_spoon: Figure,
    /// A keeper's own spoon that nobody weighed.
    pub household_spoon: Figure,
    /// A vessel or jug that was weighed with water, filled to the same mark once more.
    pub filling: Figure,
    /// A drop from a dropper that was weighed with water.
    pub weighed_drop: Figure,
}

/// A dip: one row of the book.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dip {
    /// The word to type.
    pub key: String,
    /// Which version of it this is; the shipped book holds first ones.
    #[serde(default = "first")]
    pub version: u32,
    /// What it is called.
    pub name: String,
    /// The reagent's key.
    pub reagent: String,
    /// What the bath should hold.
    pub target: Target,
    /// Minutes in the bath.
    pub minutes: Minutes,
    /// Lowest and highest water temperature, °C, where the source gives one.
    #[serde(default)]
    pub water_c: Option<[f64; 2]>,
    /// What it is used for.
    pub used_for: String,
    /// Which plants it is told for.
    pub plants: String,
    /// What goes into the bath.
    #[serde(default)]
    pub bathed: Bathed,
    /// What it is not shown to do; at least one line.
    pub not_shown: Vec<String>,
    /// What stands behind it; at least one line.
    pub evidence: Vec<Evidence>,
    /// How it is stopped with a neutraliser, if it must be.
    #[serde(default)]
    pub stop: Option<Stop>,
    /// What follows once the plants are out of the bath, in order; another dip may be among it.
    #[serde(default)]
    pub steps: Vec<After>,
    /// Cautions for the person at the bench.
    pub cautions: Vec<String>,
}

fn first() -> u32 {
    1
}

/// What follows a bath.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", deny_unknown_fields)]
pub enum After {
    /// Another dip, by its key.
    Dip(String),
    /// So many rinses in clean water.
    Rinse(u8),
    /// A bath with a little of the neutraliser, for what the plants carry along.
    Quench,
    /// So many days apart from everything else.
    Hold(u16),
    /// Looks on these days after the bath.
    Look(Vec<u16>),
}

/// What goes into a bath.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Bathed {
    /// Plants.
    #[default]
    Plants,
    /// Nets, tubs, tools.
    Gear,
    /// Nothing: what is poured goes into the tank with all that lives there.
    Tank,
}

/// The band that a bath should land in, written as recipes are: `1.5 g/L`, `1:19 of 5.25 % w/w`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// Below this it is not the dip.
    pub low: String,
    /// What to aim at.
    pub aim: String,
    /// Above this it is another dip.
    pub high: String,
    /// Key of the source of `aim`.
    pub source: String,
    /// Key of the source of `low` and `high`.
    pub band_source: String,
}

/// Minutes in the bath.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Minutes {
    /// Shortest told.
    pub low: f64,
    /// Longest told.
    pub high: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// One thing that speaks for or against a dip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// How good it is.
    pub grade: Grade,
    /// What was found or is told, with its figures.
    pub says: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// How good a piece of evidence is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// A published result.
    Published,
    /// A rule of the trade without source.
    CommonPractice,
    /// What the keeper has seen or was told.
    Keeper,
}

/// The source of what the keeper says of a dip: key in `hazards/sources.toml`.
pub const KEEPERS_OWN: &str = "keepers-own";

impl Bathed {
    /// The word typed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Bathed::Plants => "plants",
            Bathed::Gear => "gear",
            Bathed::Tank => "tank",
        }
    }
}

impl Grade {
    /// The words printed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Grade::Published => "published",
            Grade::CommonPractice => "common practice",
            Grade::Keeper => "keeper's own",
        }
    }
}

/// The neutraliser that ends a dip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stop {
    /// The neutraliser's key.
    pub reagent: String,
    /// What is counted in the bath: `available chlorine`, or the dip's own reagent.
    pub counted_as: CountedAs,
    /// Grams of neutraliser for a gram of what is counted, the planning figure, `g/g`.
    pub planned: Figure,
    /// The same by stoichiometry, `g/g`.
    pub theory: Figure,
}

/// What a neutraliser's figure counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CountedAs {
    /// The reagent of the dip.
    Reagent,
    /// Chlorine equivalent to the hypochlorite.
    AvailableChlorine,
}
