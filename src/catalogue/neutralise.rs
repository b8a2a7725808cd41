//! What ends a used bath: reactions, dilute limits, and what nothing here can end.

use chrono::NaiveDate;
use serde::Deserialize;

use super::apart::day;
use super::{CountedAs, Figure, Minutes, Said};

/// `hazards/neutralise.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Neutralise {
    /// After this day the rules want a second look.
    #[serde(deserialize_with = "day")]
    pub review_by: NaiveDate,
    /// The reactions.
    #[serde(rename = "reaction")]
    pub reactions: Vec<Reaction>,
    /// Reagents of which a weak bath can be ended.
    #[serde(rename = "treatment")]
    pub treatments: Vec<Treatment>,
    /// Reagents of which it cannot, and why.
    #[serde(rename = "untreatable")]
    pub untreatables: Vec<Untreatable>,
    /// What some sewers allow, as published: examples, never a rule for the reader.
    #[serde(rename = "sewer_example")]
    pub sewer_examples: Vec<SewerExample>,
}

/// What a reaction is on file for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Use {
    /// To plan with.
    Planned,
    /// Another way that the same two can go: the theory's range.
    Bound,
    /// To know, not to do.
    Information,
}

/// One balanced reaction.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reaction {
    /// Its word.
    pub key: String,
    /// Key of the reagent that it destroys.
    pub destroys: String,
    /// Key of the reagent that does it; nothing where it falls apart by itself.
    #[serde(default)]
    pub with: Option<String>,
    /// `2 H2O2 -> 2 H2O + O2`.
    pub equation: String,
    /// The species that is destroyed, as written in the equation.
    pub oxidiser: String,
    /// The species that does it, as written in the equation.
    #[serde(default)]
    pub reducer: Option<String>,
    /// How many of the species one formula unit of the reagent brings; of available chlorine one molecule of Cl2.
    pub oxidiser_per_formula: f64,
    /// How many of the species one formula unit of the neutraliser brings.
    #[serde(default)]
    pub reducer_per_formula: Option<f64>,
    /// What the grams to destroy are grams of.
    pub counted_as: CountedAs,
    /// What it is on file for.
    #[serde(rename = "use")]
    pub purpose: Use,
    /// How many times the theory is planned with.
    #[serde(default)]
    pub planned: Option<Figure>,
    /// Grams of neutraliser to a gram destroyed that are planned with, where a published figure goes before a factor.
    #[serde(default)]
    pub planned_g_per_g: Option<Figure>,
    /// What others have printed, grams to a gram.
    #[serde(default)]
    pub published: Vec<Figure>,
    /// Heat, kJ to a gram destroyed.
    #[serde(default)]
    pub heat: Option<Figure>,
    /// What is left afterwards.
    pub formed: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// How a weak bath of one reagent is ended.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Treatment {
    /// Key of the reagent.
    pub reagent: String,
    /// What the limit counts.
    pub counted_as: CountedAs,
    /// The strongest bath that is ended at home, g/L.
    pub up_to: Figure,
    /// What to do above it.
    pub above: String,
    /// Key of the neutraliser for disposal; nothing where it is left to stand.
    #[serde(default)]
    pub default: Option<String>,
    /// How long to wait.
    pub minutes: Minutes,
    /// The reading that ends it.
    pub proof: String,
    /// What to do until then.
    pub wait_for: String,
    /// How it is read: `strip`, `colour`.
    pub reading: String,
    /// What to mind.
    pub cautions: Vec<Said>,
}

/// A reagent of which no bath is ended here.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Untreatable {
    /// Key of the reagent.
    pub reagent: String,
    /// Why, and what to do.
    pub why: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What one sewer allows.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SewerExample {
    /// Where.
    pub place: String,
    /// What is limited.
    pub what: String,
    /// Keys of the reagents that it concerns.
    pub reagents: Vec<String>,
    /// How much.
    pub limit: Figure,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

impl Neutralise {
    /// How a weak bath of a reagent is ended.
    #[must_use]
    pub fn treatment(&self, reagent: &str) -> Option<&Treatment> {
        self.treatments.iter().find(|treatment| treatment.reagent == reagent)
    }

    /// Why a bath of a reagent is not ended here.
    #[must_use]
    pub fn untreatable(&self, reagent: &str) -> Option<&Untreatable> {
        self.untreatables.iter().find(|row| row.reagent == reagent)
    }

    /// Every way in which one reagent destroys another; with nothing, in which it falls apart by itself.
    pub fn ways<'a>(&'a self, destroys: &'a str, with: Option<&'a str>) -> impl Iterator<Item = &'a Reaction> {
        self.reactions.iter().filter(move |row| row.destroys == destroys && row.with.as_deref() == with)
    }
}
