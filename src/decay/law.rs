//! Rate laws and what temperature does to them.

use chrono::NaiveDate;

use super::climate::Climate;
use crate::catalogue::{Condition, Decay, Law};
use crate::units::{MolarEnergy, Span, Temperature};

/// The gas constant, J/(mol K). Source: `definition` (exact since 2019).
const GAS_CONSTANT: f64 = 8.314_462_618;

/// The temperature at which rates are given: 20 °C.
const REFERENCE_KELVIN: f64 = 293.15;

/// A rate that is known up to a factor: its logarithm is normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatePrior {
    /// Mean of the logarithm.
    pub mean_ln: f64,
    /// Its standard deviation.
    pub sd_ln: f64,
}

/// The prior that the catalogue gives a stock of this label in this condition, if it gives one.
///
/// Source: the source of the reagent's `decay.prior`.
#[must_use]
pub fn prior(decay: &Decay, condition: Condition, label_percent_w_w: Option<f64>) -> Option<RatePrior> {
    let percent = label_percent_w_w.unwrap_or(0.0);
    decay
        .prior
        .iter()
        .find(|prior| prior.condition == condition && percent <= prior.up_to_percent_w_w)
        .map(|prior| RatePrior { mean_ln: libm::log(prior.median.value), sd_ln: prior.sd_ln })
}

/// How many times faster a reaction runs than at 20 °C.
///
/// `exp(Ea/R (1/293.15 K - 1/T))`; Ea 70 kJ/mol at 25 °C gives 1.6187.
///
/// Source: `arrhenius`.
#[must_use]
pub fn speed(activation: MolarEnergy, temperature: Temperature) -> f64 {
    let per_kelvin = activation.to_kj_per_mol() * 1000.0 / GAS_CONSTANT;
    libm::exp(per_kelvin * (1.0 / REFERENCE_KELVIN - 1.0 / temperature.to_kelvin()))
}

/// Second-order rate constant of hypochlorite, L/(mol s).
///
/// `log10 k2 = 0.149 mu + log10(2.083e10 T exp(-1.018e5 / (R T)) exp(-56.5 / R))`, for 15 to 55 °C, ionic strength
/// `mu` 1 to 6 mol/L, 0.7 to 3 mol/L hypochlorite, without metals. 25 °C and `mu` 3: 2.847e-8.
///
/// Source: `adam-gordon-1999`.
#[must_use]
pub fn hypochlorite_rate(temperature: Temperature, ionic_strength: f64) -> f64 {
    let kelvin = temperature.to_kelvin();
    let rate = 2.083e10 * kelvin * libm::exp(-1.018e5 / (GAS_CONSTANT * kelvin)) * libm::exp(-56.5 / GAS_CONSTANT);
    libm::pow(10.0, 0.149 * ionic_strength) * rate
}

/// Adds up a daily speed over the days from one date to another.
///
/// A constant climate is summed at once; a seasonal one day by day.
#[must_use]
pub fn integrate(climate: Climate, from: NaiveDate, to: NaiveDate, speed: impl Fn(Temperature) -> f64) -> Span {
    let days = (to - from).num_days().max(0);
    let total = match climate {
        Climate::Constant(temperature) => f64::from(i32::try_from(days).unwrap_or(i32::MAX)) * speed(temperature),
        Climate::Seasonal { .. } => {
            from.iter_days().take(usize::try_from(days).unwrap_or(0)).map(|day| speed(climate.on(day))).sum()
        }
    };
    Span::days(total)
}

/// How a content falls with the time that a belief counts in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kinetics {
    /// It does not.
    Keeps,
    /// `dC/dt = -k C`; `tau` in years at 20 °C.
    FirstOrder {
        /// The activation energy.
        activation: MolarEnergy,
    },
    /// `dC/dt = -f k2 C²`; the belief's rate is the factor `f`, its time `∫ k2 dt` in litres a gram.
    SecondOrder {
        /// Ionic strength of the fresh solution, mol/L.
        ionic_strength: f64,
        /// Grams in a mole.
        molar_mass: f64,
    },
}

impl Kinetics {
    /// The kinetics of a catalogue entry, if its law has a rate that can be used for this label.
    ///
    /// Hypochlorite below 0.45 mol/L (ionic strength below 1) is outside the law's data and gets none: diluted bleach is
    /// known not to follow it. Ionic strength of fresh bleach is `2 c + 0.1`, chloride being equal to hypochlorite.
    ///
    /// Source: `adam-gordon-1999` for hypochlorite.
    #[must_use]
    pub fn of(decay: &Decay, label_g_per_l: f64, molar_mass: f64) -> Option<Kinetics> {
        match decay.law {
            Law::Keeps => Some(Kinetics::Keeps),
            Law::Unknown => None,
            Law::FirstOrder => decay
                .activation
                .as_ref()
                .map(|activation| Kinetics::FirstOrder { activation: MolarEnergy::kj_per_mol(activation.value) }),
            Law::SecondOrderHypochlorite => {
                let ionic_strength = 2.0 * label_g_per_l / molar_mass + 0.1;
                (1.0..=6.0).contains(&ionic_strength).then_some(Kinetics::SecondOrder { ionic_strength, molar_mass })
            }
        }
    }

    /// The belief's time that passes in a climate between two dates.
    #[must_use]
    pub fn time(self, climate: Climate, from: NaiveDate, to: NaiveDate) -> f64 {
        match self {
            Kinetics::Keeps => 0.0,
            Kinetics::FirstOrder { activation } => integrate(climate, from, to, |t| speed(activation, t)).to_years(),
            Kinetics::SecondOrder { ionic_strength, molar_mass } => {
                let rate = integrate(climate, from, to, |t| hypochlorite_rate(t, ionic_strength));
                rate.to_days() * 86_400.0 / molar_mass
            }
        }
    }

    /// The logarithm of a content after the belief's time at a rate, and how much a small error of it shrinks.
    ///
    /// First order: `ln C - k tau`, 1. Second order: `ln C - ln(1 + C f t)`, `1 / (1 + C f t)`.
    #[must_use]
    pub fn fall(self, ln_content: f64, rate: f64, time: f64) -> (f64, f64) {
        match self {
            Kinetics::Keeps => (ln_content, 1.0),
            Kinetics::FirstOrder { .. } => (ln_content - rate * time, 1.0),
            Kinetics::SecondOrder { .. } => {
                let growth = libm::exp(ln_content) * rate * time;
                (ln_content - libm::log1p(growth), 1.0 / (1.0 + growth))
            }
        }
    }
}
