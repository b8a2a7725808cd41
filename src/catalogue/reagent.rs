//! A reagent as its file tells it: names, forms, solutions, and what it is taken for.

use std::fmt;

use serde::Deserialize;

use super::{Care, Carriage, Decay, Density, Figure, Hazard, Keeping, Regulated, Word};

/// A chemical as the catalogue knows it: one file of `hazards/reagents/`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reagent {
    /// The word to type, the file's name without its ending.
    pub key: String,
    /// The full name of what is weighed or poured.
    pub name: String,
    /// Other names of the chemical; one word may belong to several reagents.
    #[serde(default)]
    pub also: Vec<String>,
    /// Two or three letters that begin the codes of its stocks (`HP-1`).
    pub code: String,
    /// Registry number, check digit verified.
    pub cas: Word,
    /// Formula of what is weighed, water of crystallisation included: `KAl(SO4)2.12H2O`.
    pub formula: Word,
    /// The forms it is sold or kept in.
    pub forms: Vec<Form>,
    /// What is known of it as a solid.
    #[serde(default)]
    pub solid: Option<Solid>,
    /// What is known of its solutions.
    #[serde(default)]
    pub solution: Option<Solution>,
    /// How it weakens; a table a form, in the order given the first that fits a stock holds.
    pub decay: Vec<Decay>,
    /// What it can do to people and to water; without it nothing can be classified.
    #[serde(default)]
    pub hazard: Option<Hazard>,
    /// Names under which it is carried.
    #[serde(default)]
    pub carriage: Vec<Carriage>,
    /// Bounds of the law.
    #[serde(default)]
    pub regulated: Vec<Regulated>,
    /// What it needs where it stands.
    #[serde(default)]
    pub keeping: Option<Keeping>,
    /// What it does to its neighbours and its keeper; without it nothing is kept apart from it.
    #[serde(default)]
    pub care: Option<Care>,
    /// The part that other reagents share with it and recipes may mean, for equivalents.
    #[serde(default)]
    pub contains: Option<Contains>,
    /// What it is often taken for.
    #[serde(default)]
    pub taken_for: Vec<TakenFor>,
}

impl Reagent {
    /// Its name without what stands in brackets.
    #[must_use]
    pub fn short_name(&self) -> &str {
        self.name.split(" (").next().unwrap_or(&self.name)
    }
}

/// A form of a reagent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// Powder, crystals, granules.
    Solid,
    /// Dissolved in water.
    Solution,
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Form::Solid => "solid",
            Form::Solution => "solution",
        })
    }
}

/// A reagent as a solid.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solid {
    /// Content of the named formula where the label says nothing, `% w/w`.
    pub purity: Figure,
    /// Mass of a levelled measure by its volume, `g/mL`; the first is used where the kind is not said.
    pub spooned: Vec<Spooned>,
}

/// The bulk density of one kind of powder or crystal.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spooned {
    /// `fine`, `coarse`, `flaky`, `powder`, `granular`, `crystals`.
    pub kind: String,
    /// Grams in a millilitre of levelled measure.
    pub density: Figure,
}

/// A reagent in water.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solution {
    /// Strengths on sale, for help texts.
    #[serde(default)]
    pub sold: Vec<String>,
    /// The most that a litre can hold, `g/L`, where that is known.
    #[serde(default)]
    pub strongest: Option<Figure>,
    /// Density of the pure liquid at 20 °C, g/mL, by which % v/v counts, where it is better known than by the model below.
    #[serde(default)]
    pub pure_density: Option<Figure>,
    /// What a bare `%` means, by size; the first row whose bound is not passed holds.
    pub bare_percent: Vec<BarePercent>,
    /// Density over composition and temperature, if known.
    #[serde(default)]
    pub density: Option<Density>,
    /// Solubility over temperature, if known.
    #[serde(default)]
    pub solubility: Option<Solubility>,
    /// True for hypochlorite: strengths may be given as available chlorine.
    #[serde(default)]
    pub available_chlorine: bool,
    /// True for hydrogen peroxide: strengths may be given in volumes of oxygen.
    #[serde(default)]
    pub oxygen_volumes: bool,
}

/// What a bare `%` is taken for.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BarePercent {
    /// Holds up to and including this many per cent.
    pub up_to: f64,
    /// The basis.
    pub basis: PercentBasis,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// The basis of a percentage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum PercentBasis {
    /// Grams in 100 g.
    #[serde(rename = "w/w")]
    WeightInWeight,
    /// Grams in 100 mL.
    #[serde(rename = "w/v")]
    WeightInVolume,
}

/// Solubility at temperatures.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solubility {
    /// What the figures count.
    pub basis: SolubilityBasis,
    /// The formula that is counted (anhydrous, as a rule).
    pub of: String,
    /// `[°C, figure]`, rising.
    pub points: Vec<[f64; 2]>,
    /// Half-width of the band, relative.
    pub spread: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// What a solubility figure counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SolubilityBasis {
    /// Grams in 100 g of saturated solution.
    MassPercent,
    /// Grams to 100 g of water, crystal water counted as water.
    #[serde(rename = "grams-per-100-g-water")]
    GramsPer100GWater,
}

/// The part of a reagent that equivalents are counted in.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contains {
    /// Its name: `aluminium`.
    pub what: String,
    /// Its formula: `Al`.
    pub formula: String,
    /// How many of it one formula unit holds.
    pub per_formula: f64,
}

/// A thing that is often taken for this reagent.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakenFor {
    /// The other reagent's key, where the catalogue has it.
    #[serde(default)]
    pub reagent: Option<String>,
    /// What it is called on the pack.
    pub name: String,
    /// Parts of words, in small letters and figures alone, by which it is known: whoever types one is told.
    #[serde(default)]
    pub words: Vec<String>,
    /// Why it is not the same, in one sentence.
    pub difference: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}
