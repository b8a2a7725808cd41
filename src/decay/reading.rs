//! What was read in a test, in fixed units, as the register keeps it.

use serde::{Deserialize, Serialize};

use crate::catalogue::Test;

/// What was read in a test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "test", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Reading {
    /// Oxygen caught over water.
    OxygenVolume(GasCaught),
    /// Titration with permanganate in acid.
    Permanganate(Titration),
    /// Titration of the iodine it sets free with thiosulfate.
    Iodometric(Titration),
    /// A colour block of a strip.
    Strip {
        /// Lower end of what the block stands for, mg/L; 0 for the palest.
        low_mg_per_l: f64,
        /// Upper end, mg/L; nothing for the darkest.
        high_mg_per_l: Option<f64>,
        /// How many times the sample had been thinned; 1 for none.
        diluted: f64,
    },
    /// Density.
    Density {
        /// The density, g/mL.
        g_per_ml: f64,
        /// At what temperature, °C.
        celsius: f64,
    },
    /// Loss on drying.
    Drying {
        /// Mass before, g.
        wet_g: f64,
        /// Mass after, g.
        dry_g: f64,
    },
}

/// Gas caught over water.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GasCaught {
    /// The gas, mL.
    pub gas_ml: f64,
    /// The sample, mL.
    pub sample_ml: f64,
    /// Temperature of gas and water, °C.
    pub celsius: f64,
    /// Air pressure on the spot, kPa.
    pub pressure_kpa: f64,
    /// How much higher the water stands inside than outside, mm.
    pub column_mm: f64,
    /// How many times the sample had been thinned; 1 for none.
    pub diluted: f64,
}

/// A titration.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Titration {
    /// The titrant used, mL.
    pub titre_ml: f64,
    /// Its strength, mol/L.
    pub titrant_mol_per_l: f64,
    /// The sample, mL.
    pub sample_ml: f64,
    /// How many times the sample had been thinned; 1 for none.
    pub diluted: f64,
}

impl Reading {
    /// Which test it belongs to.
    #[must_use]
    pub fn test(&self) -> Test {
        match self {
            Reading::OxygenVolume(_) => Test::OxygenVolume,
            Reading::Permanganate(_) => Test::Permanganate,
            Reading::Iodometric(_) => Test::Iodometric,
            Reading::Strip { .. } => Test::Strip,
            Reading::Density { .. } => Test::Density,
            Reading::Drying { .. } => Test::Drying,
        }
    }
}

/// A test with the error its maker stated, if one was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Raw {
    /// What was read.
    pub reading: Reading,
    /// Relative standard deviation of the whole test, where it is known better than the usual one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub relative_sd: Option<f64>,
}
