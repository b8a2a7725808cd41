//! What temperature does to a rate, and the one temperature that stands for many.

use crate::units::{MolarEnergy, Temperature};

/// The gas constant, J/(mol K). Source: `definition` (exact since 2019).
pub(super) const GAS_CONSTANT: f64 = 8.314_462_618;

/// The temperature at which rates are given: 20 °C.
const REFERENCE_KELVIN: f64 = 293.15;

fn kelvin_of(activation: MolarEnergy) -> f64 {
    activation.to_kj_per_mol() * 1000.0 / GAS_CONSTANT
}

/// How many times faster a reaction runs than at 20 °C.
///
/// `exp(Ea/R (1/293.15 K - 1/T))`; Ea 70 kJ/mol at 25 °C gives 1.6187.
///
/// Source: `arrhenius`.
#[must_use]
pub fn speed(activation: MolarEnergy, temperature: Temperature) -> f64 {
    libm::exp(kelvin_of(activation) * (1.0 / REFERENCE_KELVIN - 1.0 / temperature.to_kelvin()))
}

/// The temperature at which a reaction runs so many times faster than at 20 °C: [`speed`] turned round.
///
/// # Panics
/// Never; a speed of 0 gives absolute zero.
///
/// Source: `arrhenius`.
#[must_use]
pub fn temperature_of_speed(activation: MolarEnergy, speed: f64) -> Temperature {
    Temperature::kelvin(1.0 / (1.0 / REFERENCE_KELVIN - libm::log(speed) / kelvin_of(activation)))
}

/// The mean kinetic temperature of readings with weights: the one that, held all the time, would have the same effect.
///
/// `T = (Ea/R) / -ln( sum(w exp(-Ea/(R T_i))) / sum(w) )`; 20 and 30 °C with 83.144 kJ/mol give 26.26 °C. Nothing for no
/// readings.
///
/// Source: `usp-1160`.
#[must_use]
pub fn mean_kinetic(
    activation: MolarEnergy,
    readings: impl Iterator<Item = (Temperature, f64)>,
) -> Option<Temperature> {
    let (sum, weights) = readings.fold((0.0, 0.0), |(sum, weights), (temperature, weight)| {
        (sum + weight * speed(activation, temperature), weights + weight)
    });
    (weights > 0.0).then(|| temperature_of_speed(activation, sum / weights))
}
