//! A recipe as somebody tells it: what its words hold, before anything is weighed.

pub mod beside;
pub mod doubt;
pub mod grammar;
mod kitchen;
mod lexicon;
pub mod token;
pub mod weigh;

use crate::units::measure::{Kitchen, MassUnit};
use crate::units::strength::StrengthUnit;

/// A number, or two with everything between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// The lower one.
    pub low: f64,
    /// The higher one.
    pub high: f64,
}

impl Span {
    /// One number.
    #[must_use]
    pub fn exact(value: f64) -> Self {
        Span { low: value, high: value }
    }

    /// Two numbers in either order.
    #[must_use]
    pub fn between(one: f64, other: f64) -> Self {
        Span { low: one.min(other), high: one.max(other) }
    }

    /// From the lower of both to the higher of both.
    #[must_use]
    pub fn with(self, other: Span) -> Self {
        Span { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    /// The same in another unit.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Span { low: self.low * factor, high: self.high * factor }
    }

    /// Its ends; one for a single number.
    #[must_use]
    pub fn ends(self) -> Vec<f64> {
        if self.low == self.high { vec![self.low] } else { vec![self.low, self.high] }
    }
}

/// The unit of an amount as it is told.
#[derive(Debug, Clone, PartialEq)]
pub enum UnitWord {
    /// A unit of mass.
    Mass(MassUnit),
    /// `oz`: a weight of solids, a fluid ounce of liquids.
    Ounce,
    /// A unit of volume, which a kitchen may have to settle.
    Volume(String),
    /// A word that hides a number: its place in the catalogue's list.
    Loose(usize),
}

/// How much of the reagent or of its product.
#[derive(Debug, Clone, PartialEq)]
pub struct Portion {
    /// How many.
    pub count: Span,
    /// Of what.
    pub unit: UnitWord,
}

/// What it goes into.
#[derive(Debug, Clone, PartialEq)]
pub struct Water {
    /// How many.
    pub count: Span,
    /// Of which volume.
    pub unit: String,
    /// True for `per` and `/`, false for `in` and `to`.
    pub made_up: bool,
}

/// An amount and what it goes into; one of the two may be missing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Dose {
    /// How much.
    pub portion: Option<Portion>,
    /// Into what.
    pub water: Option<Water>,
}

/// The unit of a strength as it is told.
#[derive(Debug, Clone, PartialEq)]
pub enum StrengthWord {
    /// A bare per cent.
    Percent,
    /// A unit with a basis.
    Unit(StrengthUnit),
}

/// A strength as it is told.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// The number.
    pub value: Span,
    /// Its unit.
    pub unit: StrengthWord,
}

/// How a ratio is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counting {
    /// Parts of product to parts of water.
    Parts,
    /// One part in so many of the whole.
    OneIn,
    /// `1:20`, which is written for both.
    Bare,
}

/// A ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    /// The first number.
    pub product: f64,
    /// The second number.
    pub other: f64,
    /// How it is counted.
    pub counting: Counting,
}

/// A recipe as it is told.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Told {
    /// The whole text, blanks tidied.
    pub text: String,
    /// Reagents that are named: the words, and the keys that each may mean.
    pub named: Vec<(String, Vec<String>)>,
    /// Amounts and what they go into; two if a stock solution is made first.
    pub doses: Vec<Dose>,
    /// A ratio.
    pub ratio: Option<Ratio>,
    /// Strengths: of the bottle where something is thinned, else of the bath.
    pub strengths: Vec<Said>,
    /// So many per cent of the product: `25 % of a 3 % bottle`.
    pub share: Option<Span>,
    /// True if the product is told to be used as it is.
    pub straight: bool,
    /// A word for a strength: its place in the catalogue's list.
    pub shade: Option<usize>,
    /// True for heaped, false for level, nothing where it is not said.
    pub heaped: Option<bool>,
    /// The kind of powder or crystal: `fine`.
    pub grain: Option<String>,
    /// The kitchen that the text names: `(US)`.
    pub kitchen: Option<Kitchen>,
    /// Minutes in the bath.
    pub minutes: Option<Span>,
    /// True if the time was told more than once.
    pub several_times: bool,
    /// What it is told to remove.
    pub removes: Option<Said>,
    /// Two measures that are told to be the same: `1 pint (8 oz)`.
    pub equated: Vec<(Portion, Portion)>,
    /// True if strengths are told as chlorine.
    pub as_chlorine: bool,
    /// A word that was not understood, and the name of a reagent right behind it: `epsom`, `salt`.
    pub qualified: Vec<(String, String)>,
    /// Words that were not understood and hold no number.
    pub unread: Vec<String>,
    /// What was understood and does not count: the water's temperature, its pH.
    pub unused: Vec<String>,
}
