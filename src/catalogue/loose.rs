//! How recipes are told: words that hide a number, and what is told and wrong.

use serde::Deserialize;

use super::Figure;

/// `hazards/words-of-measure.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Loose {
    /// How a recipe is looked at.
    pub reading: Telling,
    /// Words that hide a number.
    #[serde(rename = "word")]
    pub words: Vec<LooseWord>,
    /// What is told and wrong.
    #[serde(rename = "wrong")]
    pub wrongs: Vec<Wrong>,
}

/// How a recipe is looked at.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Telling {
    /// Times the highest upper end of the dip book, above which a recipe is questioned, `1`.
    pub too_strong: Figure,
    /// Times below the lowest lower end of the dip book, below which a recipe is questioned, `1`.
    pub too_weak: Figure,
    /// What a heaped spoon holds, in level ones.
    pub heaped: Range,
    /// What teaspoons out of a drawer hold, mL.
    pub household_teaspoon: Range,
}

/// A range that something has meant.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// The least.
    pub low: f64,
    /// The most.
    pub high: f64,
    /// `mL`, `g` or `mg/L` of a word.
    pub unit: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// A word that hides a number.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LooseWord {
    /// How it is said, in small letters; the first is printed.
    pub says: Vec<String>,
    /// The reagent that it is said of, where it is said of one alone.
    #[serde(default)]
    pub reagent: Option<String>,
    /// What it has meant.
    pub range: Range,
    /// How to measure instead.
    pub instead: String,
}

/// What is told and wrong.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wrong {
    /// Its name in this file.
    pub key: String,
    /// Groups of parts of words, in small letters: one of each must stand in the text.
    pub has: Vec<Vec<String>>,
    /// Why it is wrong.
    pub says: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

impl Wrong {
    /// True if a text in small letters tells this.
    #[must_use]
    pub fn is_told(&self, text: &str) -> bool {
        self.has.iter().all(|group| group.iter().any(|part| text.contains(part.as_str())))
    }
}
