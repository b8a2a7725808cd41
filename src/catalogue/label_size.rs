//! How large a label is, its pictograms and its letters, and what a very small package may leave off.

use serde::Deserialize;

use super::{Category, Class, Jurisdiction};

/// Sizes by what a container holds.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LabelSizes {
    /// Labels and pictograms, the smallest container first.
    pub size: Vec<LabelSize>,
    /// Letters, the smallest container first.
    pub letter: Vec<Letter>,
    /// Lines.
    pub line: LineSpacing,
    /// Very small packages.
    pub small: SmallPackage,
}

/// The least label of a container.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LabelSize {
    /// It holds for containers of up to so many litres; for every larger one if there is none.
    #[serde(default)]
    pub up_to_l: Option<f64>,
    /// Width, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// The least side of a pictogram's diamond, mm.
    pub pictogram_mm: f64,
    /// The side that is wanted if there is room, mm.
    pub wanted_mm: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// The least height of letters on the label of a container.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Letter {
    /// It holds for containers of up to so many litres; for every larger one if there is none.
    #[serde(default)]
    pub up_to_l: Option<f64>,
    /// Height of a small x, mm.
    pub x_mm: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// How far apart lines are.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineSpacing {
    /// From baseline to baseline over the size of the type, at the least.
    pub spacing: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What a very small package may leave off.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SmallPackage {
    /// Packages that hold so many litres or less.
    pub up_to_l: f64,
    /// Where the rule holds.
    pub places: Vec<Jurisdiction>,
    /// What may be left off, by class.
    pub leave_off: Vec<LeaveOff>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// A class whose statements may be left off a very small package: the precautions, and the statement itself where it says so.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeaveOff {
    /// The class.
    pub class: Class,
    /// Its categories.
    pub categories: Vec<Category>,
    /// True if the hazard statement may go too.
    pub statement: bool,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

impl LabelSizes {
    /// The least label of a container that holds so many litres: 0.5 L wants 74 × 52 mm.
    ///
    /// # Panics
    /// Never with a checked catalogue: its last row has no bound.
    #[must_use]
    pub fn label(&self, litres: f64) -> &LabelSize {
        let fits = |row: &&LabelSize| row.up_to_l.is_none_or(|most| litres <= most);
        self.size.iter().find(fits).expect("the last row has no bound")
    }

    /// The least letters on the label of a container that holds so many litres: 0.5 L wants an x of 1.2 mm.
    ///
    /// # Panics
    /// Never with a checked catalogue: its last row has no bound.
    #[must_use]
    pub fn letter(&self, litres: f64) -> &Letter {
        let fits = |row: &&Letter| row.up_to_l.is_none_or(|most| litres <= most);
        self.letter.iter().find(fits).expect("the last row has no bound")
    }
}
