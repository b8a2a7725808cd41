//! Substances, hydrates and solutions; knows no bottles.

pub mod density;
pub mod formula;
pub mod reading;
pub mod solubility;
pub mod solution;

use thiserror::Error;

use crate::catalogue::Reagent;
use crate::units::parse::Unreadable;

/// Why chemistry gives no answer.
#[derive(Debug, Clone, Error, PartialEq)]
pub enum ChemError {
    /// A formula that cannot be read.
    #[error("the formula `{formula}` stops at `{at}`")]
    Formula {
        /// The whole formula.
        formula: String,
        /// The rest that could not be read.
        at: String,
    },
    /// A conversion between weight and volume without a density.
    #[error("no density of {reagent} solutions is on file, and {from} cannot become {to} without one")]
    DensityUnknown {
        /// The reagent's name.
        reagent: String,
        /// The basis given.
        from: &'static str,
        /// The basis wanted.
        to: &'static str,
    },
    /// A density model whose figures cannot be right.
    #[error("the density model of {reagent} cannot be used: {why}; its figures want a look")]
    DensityModel {
        /// The reagent's name.
        reagent: String,
        /// What it gives.
        why: String,
    },
    /// A condition outside the data.
    #[error("{what} of {value} is outside the data ({low} to {high})")]
    OutsideData {
        /// What: `a temperature`.
        what: String,
        /// The value asked for, with its unit.
        value: String,
        /// Lowest value of the data, with its unit.
        low: String,
        /// Highest value of the data, with its unit.
        high: String,
    },
    /// A unit that belongs to another reagent.
    #[error("{unit} does not apply to {reagent}")]
    NotThisReagent {
        /// The unit.
        unit: &'static str,
        /// The reagent's name.
        reagent: String,
    },
    /// A share of something that was not named.
    #[error("`{text}` of what? The strength of the product that is thinned is missing")]
    ShareOfWhat {
        /// The share as written.
        text: String,
    },
    /// A volume fraction of a product whose strength was not given.
    #[error("% v/v counts a product, not {reagent} itself; say of what: `5 % v/v of 35 % w/w`")]
    ProductUnnamed {
        /// The reagent's name.
        reagent: String,
    },
    /// A spoon of a reagent without a bulk density.
    #[error("no bulk density of {reagent} is on file, so a measure of it cannot be weighed by arithmetic")]
    BulkUnknown {
        /// The reagent's name.
        reagent: String,
    },
    /// No solubility on file.
    #[error("no solubility of {reagent} is on file")]
    SolubilityUnknown {
        /// The reagent's name.
        reagent: String,
    },
    /// A text that cannot be read.
    #[error(transparent)]
    Unreadable(#[from] Unreadable),
}

/// What a reagent is taken for in computing: its catalogue entry and the molar mass of what is weighed.
#[derive(Debug, Clone, Copy)]
pub struct Substance<'a> {
    /// The catalogue's entry.
    pub reagent: &'a Reagent,
}

impl<'a> Substance<'a> {
    /// The substance of a reagent.
    #[must_use]
    pub fn of(reagent: &'a Reagent) -> Self {
        Substance { reagent }
    }
}
