//! Strengths with their basis, and the units they are written in.

use super::measure::{MassUnit, VolumeUnit};
use super::{Concentration, MassFraction, Molarity, VolumeFraction};

/// How much of a reagent is in a solution or a solid, and what that is counted by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strength {
    /// Grams in 100 g, mg/kg and the like.
    InWeight(MassFraction),
    /// Grams in a litre, % w/v, mg/L and the like.
    InVolume(Concentration),
    /// Millilitres of a product in 100 mL.
    VolumeInVolume(VolumeFraction),
    /// Moles in a litre.
    Molar(Molarity),
    /// Millilitres of oxygen (0 °C, 101.325 kPa) that a millilitre can give; peroxide only.
    OxygenVolumes(f64),
    /// Available chlorine in a litre; hypochlorite only.
    ChlorineInVolume(Concentration),
    /// Available chlorine in weight; hypochlorite only.
    ChlorineInWeight(MassFraction),
}

/// What a strength is counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// w/w; base unit parts of one.
    InWeight,
    /// w/v; base unit g/L.
    InVolume,
    /// v/v; base unit parts of one.
    VolumeInVolume,
    /// mol/L.
    Molar,
    /// Volumes of oxygen.
    OxygenVolumes,
    /// g/L as Cl₂.
    ChlorineInVolume,
    /// Parts of one as Cl₂.
    ChlorineInWeight,
}

impl Strength {
    /// The strength of this size in the base unit of a basis.
    #[must_use]
    pub fn from_base(basis: Basis, value: f64) -> Self {
        match basis {
            Basis::InWeight => Strength::InWeight(MassFraction::fraction(value)),
            Basis::InVolume => Strength::InVolume(Concentration::g_per_l(value)),
            Basis::VolumeInVolume => Strength::VolumeInVolume(VolumeFraction::fraction(value)),
            Basis::Molar => Strength::Molar(Molarity::mol_per_l(value)),
            Basis::OxygenVolumes => Strength::OxygenVolumes(value),
            Basis::ChlorineInVolume => Strength::ChlorineInVolume(Concentration::g_per_l(value)),
            Basis::ChlorineInWeight => Strength::ChlorineInWeight(MassFraction::fraction(value)),
        }
    }

    /// What it is counted by.
    #[must_use]
    pub fn basis(self) -> Basis {
        match self {
            Strength::InWeight(_) => Basis::InWeight,
            Strength::InVolume(_) => Basis::InVolume,
            Strength::VolumeInVolume(_) => Basis::VolumeInVolume,
            Strength::Molar(_) => Basis::Molar,
            Strength::OxygenVolumes(_) => Basis::OxygenVolumes,
            Strength::ChlorineInVolume(_) => Basis::ChlorineInVolume,
            Strength::ChlorineInWeight(_) => Basis::ChlorineInWeight,
        }
    }

    /// Its size in the base unit of its basis.
    #[must_use]
    pub fn base(self) -> f64 {
        match self {
            Strength::InWeight(w) | Strength::ChlorineInWeight(w) => w.to_fraction(),
            Strength::InVolume(c) | Strength::ChlorineInVolume(c) => c.to_g_per_l(),
            Strength::VolumeInVolume(v) => v.to_fraction(),
            Strength::Molar(c) => c.to_mol_per_l(),
            Strength::OxygenVolumes(n) => n,
        }
    }
}

/// A unit of strength.
#[derive(Debug, Clone, PartialEq)]
pub struct StrengthUnit {
    /// As it is printed.
    pub name: String,
    /// What it counts by.
    pub basis: Basis,
    /// Base units in one of it.
    pub factor: f64,
}

/// Every fixed unit: printed name, other spellings (compared without spaces and capitals), basis, factor.
const UNITS: &[(&str, &[&str], Basis, f64)] = &[
    ("% w/w", &["%w/w", "%m/m", "%wt", "wt%", "%wt/wt", "%byweight", "percentw/w", "g/100g"], Basis::InWeight, 0.01),
    ("g/kg", &["g/kg"], Basis::InWeight, 1e-3),
    ("mg/kg", &["mg/kg", "ppmw/w"], Basis::InWeight, 1e-6),
    ("% w/v", &["%w/v", "%m/v", "%wt/vol", "percentw/v", "g/100ml", "g/dl"], Basis::InVolume, 10.0),
    ("mg/L", &["ppm", "ppmw/v", "mg/l"], Basis::InVolume, 1e-3),
    ("% v/v", &["%v/v", "%vol", "vol%", "%vol/vol", "percentv/v"], Basis::VolumeInVolume, 0.01),
    ("mol/L", &["mol/l", "m", "molar"], Basis::Molar, 1.0),
    ("mmol/L", &["mmol/l", "mm"], Basis::Molar, 1e-3),
    ("vol O₂", &["vol", "vols", "volume", "volumes", "volo2", "volo₂", "volumesofoxygen"], Basis::OxygenVolumes, 1.0),
    (
        "g/L available chlorine",
        &["g/lavailablechlorine", "g/lavailablecl", "g/lcl", "g/lcl2", "g/laschlorine", "g/lchlorine"],
        Basis::ChlorineInVolume,
        1.0,
    ),
    (
        "mg/L available chlorine",
        &[
            "mg/lavailablechlorine",
            "ppmavailablechlorine",
            "mg/lcl",
            "mg/lcl2",
            "ppmcl",
            "ppmcl2",
            "ppmchlorine",
            "mg/lchlorine",
        ],
        Basis::ChlorineInVolume,
        1e-3,
    ),
    ("trade % chlorine", &["trade%", "trade%chlorine", "%trade", "tradepercent"], Basis::ChlorineInVolume, 10.0),
    (
        "% w/w available chlorine",
        &[
            "%w/wavailablechlorine",
            "%availablechlorinew/w",
            "%availablechlorine",
            "%activechlorine",
            "%w/wactivechlorine",
            "%activechlorinew/w",
            "%w/wcl",
        ],
        Basis::ChlorineInWeight,
        0.01,
    ),
];

impl StrengthUnit {
    /// The unit with this name, if there is one: a fixed one, or a mass unit over a volume unit (`oz/gal-us`).
    ///
    /// A plain `%` is no unit: it has no basis.
    #[must_use]
    pub fn called(text: &str) -> Option<Self> {
        let word: String = text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect();
        let fixed = UNITS
            .iter()
            .find(|(name, spellings, ..)| {
                spellings.contains(&word.as_str()) || name.to_lowercase().replace(' ', "") == word
            })
            .map(|(name, _, basis, factor)| StrengthUnit { name: (*name).to_owned(), basis: *basis, factor: *factor });
        // `M` is molar, `mM` millimolar; a lower-case `m` alone would be metres.
        if matches!(word.as_str(), "m" | "mm") && !text.contains('M') {
            return None;
        }
        fixed.or_else(|| Self::mass_per_volume(text))
    }

    fn mass_per_volume(text: &str) -> Option<Self> {
        let (mass, volume) = text.split_once('/')?;
        let (mass, volume) = (MassUnit::called(mass.trim())?, VolumeUnit::exactly_called(volume.trim())?);
        Some(StrengthUnit {
            name: format!("{}/{}", mass.name, volume.name),
            basis: Basis::InVolume,
            factor: mass.grams / (volume.ml / 1000.0),
        })
    }

    /// The fixed unit with this printed name.
    ///
    /// # Panics
    /// If there is none: only for names written in this program, each covered by a test.
    #[must_use]
    pub fn named(name: &str) -> Self {
        Self::called(name).expect("a unit of this program's own tables")
    }

    /// The strength of this size.
    #[must_use]
    pub fn of(&self, value: f64) -> Strength {
        Strength::from_base(self.basis, value * self.factor)
    }

    /// The size of a strength, if it is counted by the same thing.
    #[must_use]
    pub fn read(&self, strength: Strength) -> Option<f64> {
        (strength.basis() == self.basis).then(|| strength.base() / self.factor)
    }

    /// The printed names of every fixed unit, for error texts.
    pub fn names() -> impl Iterator<Item = &'static str> {
        UNITS.iter().map(|(name, ..)| *name)
    }
}
