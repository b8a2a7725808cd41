//! Measures of mass and volume as they stand in a kitchen, a shed or a recipe.
//!
//! Exact legal definitions where there are any; a spoon, a cup or a drop is marked, because what is in it is not exact.

use super::{Mass, Volume};

/// Which country's kitchen a bare `cup`, `tbsp` or `gal` comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kitchen {
    /// United States customary.
    Us,
    /// Imperial gallons, metric spoons (United Kingdom, Ireland).
    Imperial,
    /// Metric spoons and cups, no gallon.
    Metric,
    /// Australian: a tablespoon of 20 mL, imperial gallons.
    Australian,
}

impl Kitchen {
    /// Every kitchen with the word it has in the register and on the command line.
    pub const ALL: [(Kitchen, &'static str); 4] = [
        (Kitchen::Us, "us"),
        (Kitchen::Imperial, "imperial"),
        (Kitchen::Metric, "metric"),
        (Kitchen::Australian, "australian"),
    ];

    /// The kitchen with this word.
    #[must_use]
    pub fn called(word: &str) -> Option<Kitchen> {
        Self::ALL.iter().find(|(_, name)| *name == word).map(|(kitchen, _)| *kitchen)
    }

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(kitchen, _)| *kitchen == self).map_or("", |(_, name)| name)
    }
}

/// What an amount was measured with, which decides how exact it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Weighed: a mass.
    Weighed,
    /// A marked jug, syringe or bottle.
    Marked,
    /// A measuring spoon or cup.
    Spoon,
    /// A spoon or cup of which the country is not known.
    UnknownSpoon,
    /// Counted drops.
    Drops,
}

/// A unit of mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassUnit {
    /// As it is printed.
    pub name: &'static str,
    /// Grams in one.
    pub grams: f64,
    /// Key of the source of the definition.
    pub source: &'static str,
}

const MASSES: &[(MassUnit, &[&str])] = &[
    (MassUnit { name: "g", grams: 1.0, source: "definition" }, &["g", "gram", "gramme", "gm"]),
    (MassUnit { name: "kg", grams: 1000.0, source: "definition" }, &["kg", "kilo", "kilogram", "kilogramme"]),
    (MassUnit { name: "mg", grams: 1e-3, source: "definition" }, &["mg", "milligram", "milligramme"]),
    (MassUnit { name: "µg", grams: 1e-6, source: "definition" }, &["µg", "ug", "μg", "microgram", "microgramme"]),
    (MassUnit { name: "oz", grams: 28.349_523_125, source: "nist-hb44" }, &["oz", "ounce"]),
    (MassUnit { name: "lb", grams: 453.592_37, source: "nist-hb44" }, &["lb", "pound"]),
    (MassUnit { name: "grain", grams: 0.064_798_91, source: "nist-hb44" }, &["grain"]),
];

impl MassUnit {
    /// The unit with this name, plural and capitals aside.
    #[must_use]
    pub fn called(word: &str) -> Option<Self> {
        let word = singular(word);
        MASSES.iter().find(|(_, names)| names.contains(&word.as_str())).map(|(unit, _)| *unit)
    }
}

/// A unit of volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VolumeUnit {
    /// As it is printed.
    pub name: &'static str,
    /// Millilitres in one.
    pub ml: f64,
    /// What it is measured with.
    pub measure: Measure,
    /// Key of the source of the definition.
    pub source: &'static str,
}

/// What a bare word like `gal` may mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum VolumeReading {
    /// One unit.
    One(VolumeUnit),
    /// A spoon or cup of unstated country, read as metric and marked.
    Guessed(VolumeUnit),
    /// Units too far apart to choose for the writer.
    Ask(VolumeUnit, VolumeUnit),
}

const fn unit(name: &'static str, ml: f64, measure: Measure, source: &'static str) -> VolumeUnit {
    VolumeUnit { name, ml, measure, source }
}

const ML: VolumeUnit = unit("mL", 1.0, Measure::Marked, "definition");
const LITRE: VolumeUnit = unit("L", 1000.0, Measure::Marked, "definition");
const MICROLITRE: VolumeUnit = unit("µL", 1e-3, Measure::Marked, "definition");
const CENTILITRE: VolumeUnit = unit("cL", 10.0, Measure::Marked, "definition");
const DECILITRE: VolumeUnit = unit("dL", 100.0, Measure::Marked, "definition");
const CUBIC_METRE: VolumeUnit = unit("m³", 1e6, Measure::Marked, "definition");
const DROP: VolumeUnit = unit("drop", 0.05, Measure::Drops, "ucum-drop");

const GAL_US: VolumeUnit = unit("gal-us", 3_785.411_784, Measure::Marked, "nist-hb44");
const QT_US: VolumeUnit = unit("qt-us", 946.352_946, Measure::Marked, "nist-hb44");
const PT_US: VolumeUnit = unit("pt-us", 473.176_473, Measure::Marked, "nist-hb44");
const CUP_US: VolumeUnit = unit("cup-us", 236.588_236_5, Measure::Spoon, "nist-hb44");
const FLOZ_US: VolumeUnit = unit("floz-us", 29.573_529_562_5, Measure::Marked, "nist-hb44");
const TBSP_US: VolumeUnit = unit("tbsp-us", 14.786_764_781_25, Measure::Spoon, "nist-hb44");
const TSP_US: VolumeUnit = unit("tsp-us", 4.928_921_593_75, Measure::Spoon, "nist-hb44");

const GAL_IMP: VolumeUnit = unit("gal-imp", 4_546.09, Measure::Marked, "uk-wma-1985");
const QT_IMP: VolumeUnit = unit("qt-imp", 1_136.522_5, Measure::Marked, "uk-wma-1985");
const PT_IMP: VolumeUnit = unit("pt-imp", 568.261_25, Measure::Marked, "uk-wma-1985");
const FLOZ_IMP: VolumeUnit = unit("floz-imp", 28.413_062_5, Measure::Marked, "uk-wma-1985");

const CUP_METRIC: VolumeUnit = unit("cup-metric", 250.0, Measure::Spoon, "metric-kitchen");
const TBSP_METRIC: VolumeUnit = unit("tbsp-metric", 15.0, Measure::Spoon, "metric-kitchen");
const TSP_METRIC: VolumeUnit = unit("tsp-metric", 5.0, Measure::Spoon, "metric-kitchen");
const TBSP_AU: VolumeUnit = unit("tbsp-au", 20.0, Measure::Spoon, "au-kitchen");

/// Base words of the measures that depend on the country.
#[derive(Clone, Copy, PartialEq)]
enum Kitchenware {
    Gallon,
    Quart,
    Pint,
    FluidOunce,
    Cup,
    Tablespoon,
    Teaspoon,
}

impl Kitchenware {
    fn called(word: &str) -> Option<Self> {
        Some(match word {
            "gal" | "gallon" => Kitchenware::Gallon,
            "qt" | "quart" => Kitchenware::Quart,
            "pt" | "pint" => Kitchenware::Pint,
            "floz" | "fluidounce" => Kitchenware::FluidOunce,
            "cup" => Kitchenware::Cup,
            "tbsp" | "tb" | "tbl" | "tablespoon" => Kitchenware::Tablespoon,
            "tsp" | "teaspoon" => Kitchenware::Teaspoon,
            _ => return None,
        })
    }

    fn of(self, kitchen: Kitchen) -> Option<VolumeUnit> {
        use Kitchen::{Australian, Imperial, Metric, Us};
        Some(match (self, kitchen) {
            (Kitchenware::Gallon, Us) => GAL_US,
            (Kitchenware::Gallon, Imperial | Australian) => GAL_IMP,
            (Kitchenware::Quart, Us) => QT_US,
            (Kitchenware::Quart, Imperial | Australian) => QT_IMP,
            (Kitchenware::Pint, Us) => PT_US,
            (Kitchenware::Pint, Imperial | Australian) => PT_IMP,
            (Kitchenware::FluidOunce, Us) => FLOZ_US,
            (Kitchenware::FluidOunce, Imperial | Australian) => FLOZ_IMP,
            (Kitchenware::Gallon | Kitchenware::Quart | Kitchenware::Pint | Kitchenware::FluidOunce, Metric) => {
                return None;
            }
            (Kitchenware::Cup, Us) => CUP_US,
            (Kitchenware::Cup, _) => CUP_METRIC,
            (Kitchenware::Tablespoon, Us) => TBSP_US,
            (Kitchenware::Tablespoon, Australian) => TBSP_AU,
            (Kitchenware::Tablespoon, _) => TBSP_METRIC,
            (Kitchenware::Teaspoon, Us) => TSP_US,
            (Kitchenware::Teaspoon, _) => TSP_METRIC,
        })
    }

    fn bare(self, kitchen: Option<Kitchen>) -> Option<VolumeReading> {
        if let Some(unit) = kitchen.and_then(|kitchen| self.of(kitchen)) {
            return Some(VolumeReading::One(unit));
        }
        match self {
            Kitchenware::Cup | Kitchenware::Tablespoon | Kitchenware::Teaspoon => self
                .of(Kitchen::Metric)
                .map(|unit| VolumeReading::Guessed(VolumeUnit { measure: Measure::UnknownSpoon, ..unit })),
            _ => Some(VolumeReading::Ask(self.of(Kitchen::Us)?, self.of(Kitchen::Imperial)?)),
        }
    }
}

impl VolumeUnit {
    /// Reads a name: `mL`, `gal-us`, `US gallons`, `tbsp`. A bare kitchen word is decided by `kitchen`, where given.
    #[must_use]
    pub fn called(word: &str, kitchen: Option<Kitchen>) -> Option<VolumeReading> {
        let word = word.trim().trim_end_matches('.').to_lowercase();
        let metric = match singular(&word).as_str() {
            "ml" | "cc" | "cm3" | "cm³" | "millilitre" | "milliliter" => Some(ML),
            "l" | "litre" | "liter" | "dm3" | "dm³" => Some(LITRE),
            "ul" | "µl" | "μl" | "microlitre" | "microliter" => Some(MICROLITRE),
            "cl" | "centilitre" | "centiliter" => Some(CENTILITRE),
            "dl" | "decilitre" | "deciliter" => Some(DECILITRE),
            "m3" | "m³" => Some(CUBIC_METRE),
            "drop" | "drp" => Some(DROP),
            _ => None,
        };
        if let Some(unit) = metric {
            return Some(VolumeReading::One(unit));
        }
        let mut country = None;
        let mut base = String::new();
        for part in word.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty()) {
            let found = match part {
                "us" | "usa" => Some(Kitchen::Us),
                "imp" | "imperial" | "uk" => Some(Kitchen::Imperial),
                "metric" => Some(Kitchen::Metric),
                "au" | "aus" | "australian" => Some(Kitchen::Australian),
                _ => None,
            };
            match found {
                Some(_) if country.is_some() => return None,
                Some(kitchen) => country = Some(kitchen),
                None => base.push_str(&singular(part)),
            }
        }
        let ware = Kitchenware::called(&base)?;
        match country {
            // Imperial spoons are no longer defined; nobody may be told that we know what one holds.
            Some(Kitchen::Imperial)
                if matches!(ware, Kitchenware::Cup | Kitchenware::Tablespoon | Kitchenware::Teaspoon) =>
            {
                None
            }
            Some(kitchen) => ware.of(kitchen).map(VolumeReading::One),
            None => ware.bare(kitchen),
        }
    }

    /// The unit, if the name leaves no choice.
    #[must_use]
    pub fn exactly_called(word: &str) -> Option<VolumeUnit> {
        match Self::called(word, None) {
            Some(VolumeReading::One(unit)) => Some(unit),
            _ => None,
        }
    }

    /// The kitchen that a unit of its own country belongs to: a gallon that says `us` speaks for its spoons too.
    #[must_use]
    pub fn kitchen(self) -> Option<Kitchen> {
        match self.name.rsplit('-').next() {
            Some("us") => Some(Kitchen::Us),
            Some("imp") => Some(Kitchen::Imperial),
            Some("au") => Some(Kitchen::Australian),
            _ => None,
        }
    }
}

/// Lower case, without the plural's `s`.
fn singular(word: &str) -> String {
    let lower = word.to_lowercase();
    if lower.chars().count() > 2 { lower.trim_end_matches('s').to_owned() } else { lower }
}

/// A mass or a volume, with what it was measured with.
#[derive(Debug, Clone, PartialEq)]
pub struct Amount {
    /// The quantity.
    pub quantity: Quantity,
    /// What it was measured with.
    pub measure: Measure,
    /// The unit as it is printed.
    pub unit: &'static str,
    /// Key of the source of the unit's definition.
    pub source: &'static str,
}

/// A mass or a volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// A mass.
    Mass(Mass),
    /// A volume.
    Volume(Volume),
}

impl Quantity {
    /// The number in grams or millilitres.
    #[must_use]
    pub fn base(self) -> f64 {
        match self {
            Quantity::Mass(mass) => mass.to_g(),
            Quantity::Volume(volume) => volume.to_ml(),
        }
    }

    /// `g` or `mL`.
    #[must_use]
    pub fn base_unit(self) -> &'static str {
        match self {
            Quantity::Mass(_) => "g",
            Quantity::Volume(_) => "mL",
        }
    }
}
