//! What a strength gives in a test: gas over water, millilitres of titrant.

use crate::units::{MolarMass, Pressure, Temperature, Volume};

/// The gas constant, J/(mol K). Source: `definition` (exact since 2019).
pub const GAS_CONSTANT: f64 = 8.314_462_618;

/// Standard gravity, m/s², and the density of water at a bench, kg/m³. Source: `definition`, `kell-1975`.
const GRAVITY: f64 = 9.806_65;
const WATER: f64 = 998.0;

/// Vapour pressure of water.
///
/// `0.61121 exp((18.678 - t/234.5) t / (257.14 + t))` kPa, `t` in °C; 20 °C gives 2.338.
///
/// Source: `memory` (Buck's equation).
#[must_use]
pub fn vapour_pressure(temperature: Temperature) -> Pressure {
    let t = temperature.to_celsius();
    Pressure::kpa(0.61121 * libm::exp((18.678 - t / 234.5) * t / (257.14 + t)))
}

/// Air pressure at an altitude, of the pressure reduced to sea level: `p0 (1 - 2.25577e-5 h)^5.25588`, `h` in metres.
///
/// 1000 m and 101.325 kPa give 89.87 kPa.
///
/// Source: `memory` (standard atmosphere).
#[must_use]
pub fn pressure_at(metres: f64, at_sea_level: Pressure) -> Pressure {
    Pressure::kpa(at_sea_level.to_kpa() * libm::pow(1.0 - 2.255_77e-5 * metres, 5.255_88))
}

/// Oxygen that a sample gives, mol: `n = (p - p_water - rho g h) V / (R T)`.
///
/// 54.29 mL at 20 °C and 101.325 kPa are 2.206 mmol, what 5.00 mL of 3.00 g/100 mL peroxide give.
///
/// Source: `memory` (ideal gas over water).
#[must_use]
pub fn moles_of_gas(gas: Volume, temperature: Temperature, pressure: Pressure, column_mm: f64) -> f64 {
    let dry = pressure.to_kpa() - vapour_pressure(temperature).to_kpa() - WATER * GRAVITY * column_mm * 1e-6;
    dry * gas.to_l() / (GAS_CONSTANT * temperature.to_kelvin())
}

/// The gas that a strength would give: [`moles_of_gas`] turned round, two peroxide for one oxygen.
///
/// Source: as [`moles_of_gas`].
#[must_use]
pub fn gas_expected(
    g_per_l: f64,
    molar_mass: MolarMass,
    sample: Volume,
    temperature: Temperature,
    pressure: Pressure,
) -> Volume {
    let moles = g_per_l * sample.to_l() / molar_mass.to_g_per_mol() / 2.0;
    let dry = pressure.to_kpa() - vapour_pressure(temperature).to_kpa();
    Volume::l(moles * GAS_CONSTANT * temperature.to_kelvin() / dry)
}

/// The titrant that a sample would take, mL: `c V / M × per_mole / titrant`.
///
/// 2.00 mL of 30.0 g/L peroxide take 35.28 mL of 0.02 mol/L permanganate (2/5 of a mole for each).
///
/// Source: `computed-from-weights`.
#[must_use]
pub fn titre_expected(g_per_l: f64, molar_mass: MolarMass, sample: Volume, per_mole: f64, titrant: f64) -> Volume {
    Volume::ml(g_per_l * sample.to_ml() / molar_mass.to_g_per_mol() * per_mole / titrant)
}

/// Moles of permanganate for a mole of peroxide: 2 MnO₄⁻ + 5 H₂O₂ + 6 H⁺.
pub const PERMANGANATE_PER_PEROXIDE: f64 = 0.4;
