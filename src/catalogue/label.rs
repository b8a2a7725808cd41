//! Words of the standard: statements, and what each class puts on a label.

use serde::Deserialize;

use super::{Category, Class};

/// A hazard, supplemental or precautionary statement in the standard's own words.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Statement {
    /// `H302`, `EUH031`, `P305+P351+P338`.
    pub code: String,
    /// English.
    pub en: String,
    /// Spanish.
    pub es: String,
    /// Key in `hazards/sources.toml`: of the English words.
    pub source: String,
    /// Key in `hazards/sources.toml`: of the Spanish words.
    pub source_es: String,
}

/// What one category of a class puts on a label.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Element {
    /// The class.
    pub class: Class,
    /// The categories that share this line.
    pub categories: Vec<Category>,
    /// `H302`; the substance's own entry may name a variant.
    pub statement: String,
    /// `GHS07`; some classes have none.
    #[serde(default)]
    pub pictogram: Option<String>,
    /// The signal word; some classes have none.
    #[serde(default)]
    pub signal: Option<Signal>,
    /// Codes of the precautionary statements that belong to it.
    #[serde(default)]
    pub precautions: Vec<String>,
    /// Key in `hazards/sources.toml`: of statement, pictogram and signal word.
    pub source: String,
    /// Key in `hazards/sources.toml`: of the precautionary codes.
    pub precautions_source: String,
}

/// The signal word, the worse first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
pub enum Signal {
    /// For the severe categories.
    Danger,
    /// For the others.
    Warning,
}

/// How the precautionary statements of a label are chosen from those of its classes.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Choice {
    /// How many a label bears at the most.
    pub most: usize,
    /// How many where the signal word is the worse.
    pub most_in_danger: usize,
    /// Codes that keep a place where a class brings them.
    #[serde(default)]
    pub always: Vec<String>,
    /// Codes in the order in which they matter on a small bottle.
    pub order: Vec<String>,
    /// A statement that makes others needless.
    pub covers: Vec<Covers>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// A statement that makes others needless.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Covers {
    /// The stronger one.
    pub code: String,
    /// What it makes needless.
    pub needless: Vec<String>,
}
