//! Rate laws: how a content falls with time, in the dark and in the light.

use chrono::NaiveDate;

use super::climate::Climate;
use super::light::Fading;
use super::warmth::GAS_CONSTANT;
use super::year::Pace;
use crate::catalogue::{Condition, Decay, Law};
use crate::units::{MolarEnergy, Span, Temperature};

/// What is believed of a rate before any test: one or more log-normals with their shares.
#[derive(Debug, Clone, PartialEq)]
pub struct RatePrior {
    /// The log-normals; the shares add to one.
    pub parts: Vec<RatePart>,
}

/// One log-normal of a rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatePart {
    /// Its share.
    pub share: f64,
    /// Mean of the logarithm.
    pub mean_ln: f64,
    /// Its standard deviation.
    pub sd_ln: f64,
}

impl RatePrior {
    /// A single log-normal.
    #[must_use]
    pub fn log_normal(mean_ln: f64, sd_ln: f64) -> Self {
        RatePrior { parts: vec![RatePart { share: 1.0, mean_ln, sd_ln }] }
    }
}

/// The prior that the catalogue gives a stock of this label in this condition, if it gives one.
///
/// Source: the source of the reagent's `decay.prior`.
#[must_use]
pub fn prior(decay: &Decay, condition: Condition, label_percent_w_w: Option<f64>) -> Option<RatePrior> {
    let found = row(decay, condition, label_percent_w_w)?;
    let usual = RatePart { share: 1.0, mean_ln: libm::log(found.median.value), sd_ln: found.sd_ln };
    let Some(other) = &found.or else { return Some(RatePrior { parts: vec![usual] }) };
    let share = other.share.value;
    let rest = RatePart { share, mean_ln: libm::log(other.median.value), sd_ln: other.sd_ln };
    Some(RatePrior { parts: vec![RatePart { share: 1.0 - share, ..usual }, rest] })
}

/// The catalogue's row for a stock of this label in this condition.
#[must_use]
pub fn row(
    decay: &Decay,
    condition: Condition,
    label_percent_w_w: Option<f64>,
) -> Option<&crate::catalogue::RatePrior> {
    let percent = label_percent_w_w.unwrap_or(0.0);
    decay.prior.iter().find(|prior| prior.condition == condition && percent <= prior.up_to_percent_w_w)
}

/// Second-order rate constant of hypochlorite, L/(mol s).
///
/// `log10 k2 = 0.149 mu + log10(2.083e10 T exp(-1.018e5 / (R T)) exp(-56.5 / R))`, for 15 to 55 °C, ionic strength
/// `mu` 1 to 6 mol/L, 0.7 to 3 mol/L hypochlorite, without metals. 25 °C and `mu` 3: 2.847e-8.
///
/// Source: `adam-gordon-1999`.
#[must_use]
pub fn hypochlorite_rate(temperature: Temperature, ionic_strength: f64) -> f64 {
    hypochlorite_salt(ionic_strength) * hypochlorite_warmth(temperature)
}

/// What the salt of the solution does to the rate.
fn hypochlorite_salt(ionic_strength: f64) -> f64 {
    libm::pow(10.0, 0.149 * ionic_strength) * libm::exp(-56.5 / GAS_CONSTANT)
}

/// What the temperature does to it.
pub(super) fn hypochlorite_warmth(temperature: Temperature) -> f64 {
    let kelvin = temperature.to_kelvin();
    2.083e10 * kelvin * libm::exp(-1.018e5 / (GAS_CONSTANT * kelvin))
}

/// How a content falls with the time that a belief counts in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kinetics {
    /// It does not.
    Keeps,
    /// `dC/dt = -k C`; the belief's time is `tau`, in years at 20 °C.
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

/// A content after some time, and what became of its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fallen {
    /// Logarithm of the content.
    pub ln_content: f64,
    /// What a small error of the logarithm is multiplied by.
    pub shrink: f64,
    /// What a small error of the rate's logarithm adds.
    pub by_rate: f64,
    /// What a standard deviation more of light adds.
    pub by_light: f64,
}

impl Kinetics {
    /// The kinetics of a catalogue entry in a condition, if its law has a rate that can be used for this label.
    ///
    /// Hypochlorite whose ionic strength lies outside of 1 to 6 mol/L is outside the law's data and gets none. Ionic strength
    /// of fresh bleach is `2 c + 0.1`, chloride being equal to hypochlorite.
    ///
    /// Source: `adam-gordon-1999` for hypochlorite, the reagent's own for the activation energy.
    #[must_use]
    pub fn of(
        decay: &Decay,
        condition: Condition,
        label_percent_w_w: Option<f64>,
        label_g_per_l: f64,
        molar_mass: f64,
    ) -> Option<Kinetics> {
        match decay.law {
            Law::Keeps => Some(Kinetics::Keeps),
            Law::Unknown => None,
            Law::FirstOrder => {
                let own = row(decay, condition, label_percent_w_w).and_then(|row| row.activation.as_ref());
                own.or(decay.activation.as_ref())
                    .map(|figure| Kinetics::FirstOrder { activation: MolarEnergy::kj_per_mol(figure.value) })
            }
            Law::SecondOrderHypochlorite => {
                let ionic_strength = 2.0 * label_g_per_l / molar_mass + 0.1;
                (1.0..=6.0).contains(&ionic_strength).then_some(Kinetics::SecondOrder { ionic_strength, molar_mass })
            }
        }
    }

    /// The belief's time that passes in a climate between two dates.
    #[must_use]
    pub fn time(self, climate: &Climate, from: NaiveDate, to: NaiveDate) -> f64 {
        match self {
            Kinetics::Keeps => 0.0,
            Kinetics::FirstOrder { activation } => {
                Span::days(climate.sum_of(from, to, Pace::Arrhenius(activation))).to_years()
            }
            Kinetics::SecondOrder { ionic_strength, molar_mass } => {
                // The salt is the same every day.
                climate.sum_of(from, to, Pace::Hypochlorite) * hypochlorite_salt(ionic_strength) * 86_400.0 / molar_mass
            }
        }
    }

    /// The belief's time that passes in so many years at 20 °C.
    #[must_use]
    pub fn time_at_20(self, years: f64) -> f64 {
        let bench = Temperature::celsius(20.0);
        match self {
            Kinetics::Keeps => 0.0,
            Kinetics::FirstOrder { .. } => years,
            Kinetics::SecondOrder { ionic_strength, molar_mass } => {
                hypochlorite_rate(bench, ionic_strength) * Span::years(years).to_days() * 86_400.0 / molar_mass
            }
        }
    }

    /// The logarithm of a content after the belief's time at a rate, in the dark.
    ///
    /// First order: `ln C - k tau`. Second order: `ln C - ln(1 + C f t)`; a small error shrinks by `1 / (1 + C f t)`.
    #[must_use]
    pub fn fall(self, ln_content: f64, rate: f64, time: f64) -> Fallen {
        match self {
            Kinetics::Keeps => Fallen { ln_content, shrink: 1.0, by_rate: 0.0, by_light: 0.0 },
            Kinetics::FirstOrder { .. } => {
                let loss = rate * time;
                let left = (ln_content - loss).max(NOTHING_LN.min(ln_content));
                Fallen { ln_content: left, shrink: 1.0, by_rate: -loss, by_light: 0.0 }
            }
            Kinetics::SecondOrder { .. } => {
                let growth = libm::exp(ln_content) * rate * time;
                let shrink = 1.0 / (1.0 + growth);
                Fallen {
                    ln_content: ln_content - libm::log1p(growth),
                    shrink,
                    by_rate: -growth * shrink,
                    by_light: 0.0,
                }
            }
        }
    }
}

/// No content of a logarithm below this is followed: 1e-26 grams in a litre are nothing.
pub(super) const NOTHING_LN: f64 = -60.0;

/// Lower than this below its reference, in logarithms, no content is followed: nothing is left.
const NOTHING_LEFT: f64 = -40.0;

/// A stretch that takes less than this, as a logarithm, is short: the third term of the series is below 1e-4.
const SHORT: f64 = 0.15;

/// A stretch of light as one lane of the light error sees it.
///
/// `dy/dt = -k' - b exp(-a (y - r))` with `k' = k tau / years` has, for `w = exp(a (y - r))`, the solution
/// `w(t) = w(0) e - b (1 - e) / k'`, `e = exp(-a k' t)`; below the content at which nothing is shaded it goes on at
/// `k' + b_thin`. Faint light is taken as it is, whatever the content. Peroxide of 30 g/L in clear glass, 5 h of sun a day for
/// 30 days, without dark loss: 17 % lost.
///
/// Source: `facts-posterior`.
#[derive(Debug, Clone, Copy)]
pub struct LitStretch {
    tau: f64,
    years: f64,
    faint: bool,
    sd_ln: f64,
    power: f64,
    reference_ln: f64,
    /// Loss a year at the reference, and where nothing is shaded.
    lit: f64,
    thin: f64,
    /// The logarithm of the content below which nothing is shaded, and `w` there.
    clear: f64,
    least: f64,
}

impl LitStretch {
    /// `tau` years at 20 °C spent in so many `years` of light, with a light error in standard deviations.
    #[must_use]
    pub fn new(tau: f64, years: f64, fading: Fading, light: f64) -> Self {
        let factor = libm::exp(fading.sd_ln * light);
        let power = fading.power;
        let bottom = fading.reference_ln + NOTHING_LEFT;
        let clear = if power > 1e-6 {
            (fading.reference_ln - libm::log(fading.thin / fading.per_year) / power).max(bottom)
        } else {
            f64::INFINITY
        };
        LitStretch {
            tau,
            years,
            faint: fading.is_faint(),
            sd_ln: fading.sd_ln,
            power,
            reference_ln: fading.reference_ln,
            lit: fading.per_year * factor,
            thin: fading.thin * factor,
            clear,
            least: libm::exp(power * (clear - fading.reference_ln)),
        }
    }

    /// The logarithm of a first-order content after it, at a dark rate.
    #[must_use]
    pub fn fall(&self, ln_content: f64, rate: f64) -> Fallen {
        let lost_in_dark = rate * self.tau;
        if self.faint {
            let ln_content = ln_content - lost_in_dark - self.lit * self.years;
            return Fallen { ln_content, shrink: 1.0, by_rate: -lost_in_dark, by_light: 0.0 };
        }
        let (a, dark) = (self.power, lost_in_dark / self.years);
        let thin = dark + self.thin;
        let (after, pace_before, pace_after) = if ln_content <= self.clear {
            (ln_content - thin * self.years, thin, thin)
        } else if thin * self.years < SHORT && ln_content - thin * self.years > self.clear {
            // A short stretch: two terms of the series, one exponential instead of three.
            let lit = self.lit * libm::exp(-a * (ln_content - self.reference_ln));
            let pace = dark + lit;
            let loss = pace * self.years * (1.0 + 0.5 * a * lit * self.years);
            (ln_content - loss, pace, pace + lit * a * loss)
        } else {
            let before = libm::exp(a * (ln_content - self.reference_ln));
            let exponent = a * lost_in_dark;
            let lost = -libm::expm1(-exponent);
            // (1 - e) / k', which is a t for a rate of nothing.
            let exposed = if exponent > 1e-9 { lost / dark } else { a * self.years };
            let shaded = before * (1.0 - lost) - self.lit * exposed;
            if shaded >= self.least {
                let after = self.reference_ln + libm::log(shaded) / a;
                (after, dark + self.lit / before, dark + self.lit / shaded)
            } else {
                let until = if exponent > 1e-9 {
                    libm::log((before * dark + self.lit) / (self.least * dark + self.lit)) / (a * dark)
                } else {
                    (before - self.least) / (a * self.lit)
                };
                (self.clear - thin * (self.years - until), dark + self.lit / before, thin)
            }
        };
        let bottom = (self.reference_ln + NOTHING_LEFT).max(NOTHING_LN).min(ln_content);
        Fallen {
            ln_content: after.max(bottom),
            shrink: pace_after / pace_before,
            by_rate: -lost_in_dark,
            by_light: -(pace_after - dark) * self.years * self.sd_ln,
        }
    }
}

/// [`LitStretch::fall`] once.
#[must_use]
pub fn fade(ln_content: f64, rate: f64, tau: f64, years: f64, fading: Fading, light: f64) -> Fallen {
    LitStretch::new(tau, years, fading, light).fall(ln_content, rate)
}
