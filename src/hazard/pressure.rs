//! Oxygen and heat from peroxide that falls apart, and what a closed bottle bears of it.
//!
//! 2 H₂O₂ → 2 H₂O + O₂. The pressures are upper bounds: walls that do not give, a cap that lets nothing out.

use crate::chem::ChemError;
use crate::chem::formula::molar_mass;
use crate::decay::reaction::GAS_CONSTANT;
use crate::units::{Concentration, Mass, MassFraction, MolarEnergy, Pressure, Temperature, Volume};

/// Oxygen that a litre of water holds under 1 atm of it at 20 °C, mol, and how fast that falls with warmth, K.
/// Source: `oxygen-solubility-memory`.
const DISSOLVED_AT_20: f64 = 1.39e-3;
const DISSOLVED_FALLS: f64 = 1500.0;

/// One standard atmosphere, Pa, and the temperature that solubility and heat start from, K. Source: `definition`.
const ATMOSPHERE: f64 = 101_325.0;
const BENCH: f64 = 293.15;

/// Heat of a mole of pure liquid peroxide, kJ: 285.83 of water less 187.78 of peroxide. It lies above that of any
/// solution. Source: `heats-recalled`.
const LIQUID_HEAT: f64 = 98.05;

/// Heat capacities of water and of oxygen, J/(g K), and the heat that boils a gram of water at 100 °C, J.
/// Source: `heat-capacities-memory`.
const WATER_CAPACITY: f64 = 4.19;
const OXYGEN_CAPACITY: f64 = 0.92;
const BOILING: f64 = 2257.0;

/// The air pressure that a bottle stands in.
#[must_use]
pub fn air() -> Pressure {
    Pressure::kpa(ATMOSPHERE / 1000.0)
}

/// The heat of a mole of peroxide that falls apart as a pure liquid.
///
/// `ΔH = 285.83 − 187.78 = 98.05 kJ/mol`; dissolved in much water 94.7.
///
/// Source: `heats-recalled`.
#[must_use]
pub fn liquid_heat() -> MolarEnergy {
    MolarEnergy::kj_per_mol(LIQUID_HEAT)
}

/// Oxygen that so much peroxide gives, mol.
///
/// `n = m / (2 M)`: 13.5 g give 0.1984 mol.
///
/// # Errors
/// [`ChemError::Formula`] never: the formula is our own.
///
/// Source: `computed-reactions`.
pub fn oxygen(peroxide: Mass) -> Result<f64, ChemError> {
    Ok(peroxide.to_g() / molar_mass("H2O2")?.to_g_per_mol() / 2.0)
}

/// The room that so many moles of gas take up.
///
/// `V = n R T / p`: the 0.4410 mol of a litre of 3 % w/v are 10.61 L at 20 °C and 1 atm, 9.88 L at 0 °C. Dry ideal gas.
///
/// Source: `definition`.
#[must_use]
pub fn volume(moles: f64, temperature: Temperature, pressure: Pressure) -> Volume {
    Volume::l(moles * GAS_CONSTANT * temperature.to_kelvin() / pressure.to_kpa())
}

/// A closed bottle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closed {
    /// The liquid in it.
    pub liquid: Volume,
    /// The room above the liquid.
    pub headspace: Volume,
    /// How warm it is.
    pub temperature: Temperature,
}

impl Closed {
    /// Moles of oxygen for each Pa: `Vh / (R T) + kH Vl`, in m³ and mol/(m³ Pa).
    ///
    /// `kH = 1.39e-3 exp(1500 (1/T − 1/293.15))` mol/(L atm): less dissolves in the warmth, 1.17e-3 at 30 °C. From 0 to 50 °C.
    ///
    /// Source: `oxygen-solubility-memory`.
    fn moles_per_pascal(self) -> f64 {
        let kelvin = self.temperature.to_kelvin();
        // Beyond the range the nearest end is taken.
        let held = kelvin.clamp(273.15, 323.15);
        let dissolved = DISSOLVED_AT_20 * libm::exp(DISSOLVED_FALLS * (1.0 / held - 1.0 / BENCH)) / ATMOSPHERE;
        1e-3 * self.headspace.to_l().max(0.0) / (GAS_CONSTANT * kelvin) + dissolved * self.liquid.to_l().max(0.0)
    }

    /// Pressure above that of the air when so many moles of oxygen have come into it.
    ///
    /// `dP = n / (Vh / (R T) + kH Vl)`: 450 mL of 3 % w/v under 50 mL that lose 1 % give 0.744 bar at 20 °C; with no oxygen
    /// dissolved it would be 0.967. Rigid walls that let nothing through: an upper bound. 0 for a bottle that holds nothing.
    ///
    /// Source: `oxygen-solubility-memory`.
    #[must_use]
    pub fn gauge(self, oxygen: f64) -> Pressure {
        let takes_up = self.moles_per_pascal();
        if takes_up <= 0.0 || oxygen <= 0.0 {
            return Pressure::kpa(0.0);
        }
        Pressure::kpa(1e-3 * oxygen / takes_up)
    }

    /// The share of its peroxide whose loss brings this gauge pressure, 0 to 1; nothing if all of it does not.
    ///
    /// `f = dP (Vh / (R T) + kH Vl) 2 M / (C Vl)`: 450 mL of 3 % w/v under 50 mL, 0.5 bar: 0.0067.
    ///
    /// # Errors
    /// As [`oxygen`].
    ///
    /// Source: `oxygen-solubility-memory`.
    pub fn loss_for(self, strength: Concentration, gauge: Pressure) -> Result<Option<f64>, ChemError> {
        let all = oxygen(Mass::g(strength.to_g_per_l() * self.liquid.to_l()))?;
        let needed = 1e3 * gauge.to_kpa() * self.moles_per_pascal();
        Ok((all > 0.0 && needed <= all).then(|| needed / all))
    }
}

/// Where a solution ends whose peroxide all falls apart, with no heat lost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndPoint {
    /// The heat set free, kJ for a gram of solution.
    pub heat_kj_per_g: f64,
    /// How hot it becomes, 100 °C at most while there is water.
    pub temperature: Temperature,
    /// How many degrees it would rise if no water boiled.
    pub rise_without_boiling_k: f64,
    /// The share of the water, that which forms included, that boils off, 0 to 1.
    pub boiled_off: f64,
}

/// What becomes of a solution of this strength at 20 °C whose peroxide all falls apart.
///
/// With `n = w / M` a gram: `q = n ΔH`, water `1 − w + n M(H₂O)`, oxygen `n M(O₂) / 2`; the rise is
/// `q / (4.19 water + 0.92 oxygen)`, and what goes beyond 100 °C boils water at 2257 J/g. 3 % w/w ends at 40.9 °C, 11.2 %
/// reaches 100 °C, 35 % boils off 38 % of the water, 63.7 % all of it; stronger ones become hotter than the 100 °C said here.
/// No heat goes into the bottle, no oxygen carries vapour away. A calorimeter found 231.7 K at 35 % (`piyamongkala-dsc`),
/// this rise is 276 K.
///
/// # Errors
/// As [`oxygen`].
///
/// Source: `computed-reactions`, `heat-capacities-memory`.
pub fn end_point(strength: MassFraction, heat: MolarEnergy) -> Result<EndPoint, ChemError> {
    let w = strength.to_fraction().clamp(0.0, 1.0);
    let moles = w / molar_mass("H2O2")?.to_g_per_mol();
    let water = 1.0 - w + moles * molar_mass("H2O")?.to_g_per_mol();
    let gas = 0.5 * moles * molar_mass("O2")?.to_g_per_mol();
    let heat_kj = moles * heat.to_kj_per_mol();
    let capacity = WATER_CAPACITY * water + OXYGEN_CAPACITY * gas;
    let rise = 1000.0 * heat_kj / capacity;
    let to_boiling = 373.15 - BENCH;
    Ok(EndPoint {
        heat_kj_per_g: heat_kj,
        temperature: Temperature::kelvin(BENCH + rise.min(to_boiling)),
        rise_without_boiling_k: rise,
        boiled_off: ((1000.0 * heat_kj - capacity * to_boiling) / (BOILING * water)).clamp(0.0, 1.0),
    })
}
