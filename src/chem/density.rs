//! Density of water and of solutions over composition and temperature.

use std::ops::RangeInclusive;

use super::formula::molar_mass;
use super::{ChemError, Substance};
use crate::catalogue::{Density as Model, Reagent, Solute};
use crate::units::step::Step;
use crate::units::{Density, MassFraction, Temperature};

/// Density of water at 1 atm.
///
/// `rho = ((((( -2.8054253e-10 t + 1.0556302e-7) t - 4.6170461e-5) t - 0.0079870401) t + 16.945176) t + 999.83952)
/// / (1 + 0.01687985 t)`, kg/m³, `t` in °C, 0 to 100 °C. 25 °C gives 997.0449 (IAPWS-95: 997.0476).
///
/// # Errors
/// [`ChemError::OutsideData`] below 0 and above 100 °C.
///
/// Source: `kell-1975`.
pub fn water(temperature: Temperature) -> Result<Density, ChemError> {
    let t = temperature.to_celsius();
    within("a temperature", t, "°C", [0.0, 100.0])?;
    let polynomial =
        ((((-2.805_425_3e-10 * t + 1.055_630_2e-7) * t - 4.617_046_1e-5) * t - 0.007_987_040_1) * t + 16.945_176) * t
            + 999.839_52;
    Ok(Density::kg_per_m3(polynomial / (1.0 + 0.016_879_85 * t)))
}

/// No solution in water lies outside, g/mL: the heaviest known, of thallium salts, has some 4.3, the lightest liquids that mix
/// with water 0.7. Source: `memory`; the bounds: `judgement`.
const CREDIBLE: RangeInclusive<f64> = 0.5..=5.0;

/// A density with the half-width of its band, relative, and the key of its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The density.
    pub density: Density,
    /// Half-width of the band, relative.
    pub spread: f64,
    /// What was done.
    pub step: Step,
}

/// Density of a solution that holds this mass fraction of the reagent as named (crystal water included).
///
/// The model is the catalogue's: Laliberté's mixing of apparent volumes,
/// `rho = 1 / (w_water / rho_water + sum w_i v_i)` with
/// `v = (W + c2 + c3 t) / ((c0 W + c1) exp(1e-6 (t + c4)²))` in m³/kg; or a polynomial or points at 20 °C carried to
/// other temperatures. 3 % w/w peroxide at 20 °C gives 1.0093 g/mL.
///
/// # Errors
/// [`ChemError::DensityUnknown`] without a model, [`ChemError::OutsideData`] outside its temperatures and compositions,
/// [`ChemError::DensityModel`] for what cannot be a density (below 0.5 or above 5 g/mL), as a keeper's own file may give.
///
/// Source: `laliberte-2009`, or the source of the reagent's own table.
pub fn of_solution(
    substance: Substance<'_>,
    fraction: MassFraction,
    temperature: Temperature,
) -> Result<Found, ChemError> {
    let (density, spread, source) = figures(substance, fraction, temperature)?;
    let step = Step::new(
        format!(
            "density of {} % w/w {} at {} °C: {} g/mL ± {} %",
            crate::units::show::plain(100.0 * fraction.to_fraction()),
            substance.reagent.name,
            crate::units::show::plain(temperature.to_celsius()),
            crate::units::show::significant(density.to_g_per_ml(), 5),
            crate::units::show::plain(100.0 * spread),
        ),
        source,
    );
    Ok(Found { density, spread, step })
}

/// The figures of [`of_solution`] without a word: density, half-width of the band, key of the source.
pub(super) fn figures<'a>(
    substance: Substance<'a>,
    fraction: MassFraction,
    temperature: Temperature,
) -> Result<(Density, f64, &'a str), ChemError> {
    Weighed::of(substance)?.figures(fraction, temperature)
}

/// A density model whose molar masses are worked out. What is solved by repeating asks it at every step.
pub(super) struct Weighed<'a> {
    reagent: &'a Reagent,
    model: &'a Model,
    /// The mass of each thing that the model counts in, as a share of the reagent's.
    shares: Vec<f64>,
}

impl<'a> Weighed<'a> {
    pub(super) fn of(substance: Substance<'a>) -> Result<Self, ChemError> {
        let reagent = substance.reagent;
        let model = reagent.solution.as_ref().and_then(|solution| solution.density.as_ref()).ok_or_else(|| {
            ChemError::DensityUnknown {
                reagent: reagent.name.clone(),
                from: "weight in weight",
                to: "weight in volume",
            }
        })?;
        let mut shares = Vec::new();
        match model {
            Model::Laliberte { solutes, .. } => {
                let whole = molar_mass(&reagent.formula.value)?.to_g_per_mol();
                for solute in solutes {
                    shares.push(solute.per_formula * molar_mass(&solute.formula)?.to_g_per_mol() / whole);
                }
            }
            Model::Polynomial { of, .. } => {
                shares.push(molar_mass(of)?.to_g_per_mol() / molar_mass(&reagent.formula.value)?.to_g_per_mol());
            }
            Model::Points { .. } => {}
        }
        Ok(Weighed { reagent, model, shares })
    }

    pub(super) fn figures(
        &self,
        fraction: MassFraction,
        temperature: Temperature,
    ) -> Result<(Density, f64, &'a str), ChemError> {
        let w = fraction.to_fraction();
        let t = temperature.to_celsius();
        let (density, spread, source) = match self.model {
            Model::Laliberte { solutes, spread } => {
                let mut solute_fraction = 0.0;
                for (solute, share) in solutes.iter().zip(&self.shares) {
                    let (content, range) = (100.0 * w * share, [0.0, 100.0 * solute.w_max]);
                    within(format_args!("a content of {}", solute.formula), content, "% w/w", range)?;
                    within("a temperature", t, "°C", solute.range_c)?;
                    solute_fraction += w * share;
                }
                let mut volume = (1.0 - solute_fraction) / water(temperature)?.to_kg_per_m3();
                for (solute, share) in solutes.iter().zip(&self.shares) {
                    volume += w * share * apparent_volume(solute, solute_fraction, t);
                }
                (Density::kg_per_m3(1.0 / volume), *spread, solutes[0].source.as_str())
            }
            Model::Polynomial { coefficients: [a, b, c], w_max, range_c, spread, source, .. } => {
                let counted = w * self.shares[0];
                within("a content", 100.0 * counted, "% w/w", [0.0, 100.0 * w_max])?;
                within("a temperature", t, "°C", *range_c)?;
                let at_20 = a + b * counted + c * counted * counted;
                let factor = water(temperature)?.to_g_per_ml() / water(Temperature::celsius(20.0))?.to_g_per_ml();
                (Density::g_per_ml(at_20 * factor), *spread, source.as_str())
            }
            Model::Points { points, temperature: factors, spread, source } => {
                let at_20 = between(points, 100.0 * w, "a content", "% w/w")?;
                let factor = between(factors, t, "a temperature", "°C")?;
                (Density::g_per_ml(at_20 * factor), *spread, source.as_str())
            }
        };
        let found = density.to_g_per_ml();
        if !CREDIBLE.contains(&found) {
            let why = format!("it gives {found:.3e} g/mL");
            return Err(ChemError::DensityModel { reagent: self.reagent.name.clone(), why });
        }
        Ok((density, spread, source))
    }
}

/// Looks whether a density model gives densities at all, over its contents and temperatures: nine of each.
///
/// # Errors
/// [`ChemError::DensityModel`] where it does not, [`ChemError::Formula`] for a formula that cannot be read.
///
/// Source: `judgement`.
pub fn is_one(substance: Substance<'_>) -> Result<(), ChemError> {
    let largest = largest_fraction(substance)?;
    let [low, high] = match substance.reagent.solution.as_ref().and_then(|solution| solution.density.as_ref()) {
        None => return Ok(()),
        Some(Model::Laliberte { solutes, .. }) => solutes.iter().fold([0.0, 100.0], |[low, high]: [f64; 2], solute| {
            [low.max(solute.range_c[0]), high.min(solute.range_c[1])]
        }),
        Some(Model::Polynomial { range_c, .. }) => *range_c,
        Some(Model::Points { temperature, .. }) => [temperature[0][0], temperature[temperature.len() - 1][0]],
    };
    for part in 0..9 {
        for warmth in 0..9 {
            let w = MassFraction::fraction(largest * f64::from(part) / 8.0);
            let t = Temperature::celsius(low + (high - low) * f64::from(warmth) / 8.0);
            match figures(substance, w, t) {
                // Where its data begin and end is no fault of it.
                Ok(_) | Err(ChemError::OutsideData { .. }) => {}
                Err(error) => return Err(error),
            }
        }
    }
    Ok(())
}

/// Density of the pure liquid at 20 °C, by which % v/v of labels counts: its own figure, else the model's end. Ethanol
/// 0.7893 g/mL.
///
/// # Errors
/// [`ChemError::ProductUnnamed`] where the reagent's density data do not reach the pure liquid.
///
/// Source: as [`of_solution`].
pub fn of_pure(substance: Substance<'_>) -> Result<Found, ChemError> {
    if largest_fraction(substance)? < 1.0 - 1e-9 {
        return Err(ChemError::ProductUnnamed { reagent: substance.reagent.name.clone() });
    }
    let Some(pure) = substance.reagent.solution.as_ref().and_then(|solution| solution.pure_density.as_ref()) else {
        return of_solution(substance, MassFraction::fraction(1.0), Temperature::celsius(20.0));
    };
    let said =
        format!("density of pure {} at 20 °C: {} g/mL", substance.reagent.name, crate::units::show::plain(pure.value));
    let step = Step::new(said, pure.source.clone());
    Ok(Found { density: Density::g_per_ml(pure.value), spread: pure.relative_sd.unwrap_or(0.0), step })
}

/// The largest mass fraction of the reagent that its density model reaches.
pub(super) fn largest_fraction(substance: Substance<'_>) -> Result<f64, ChemError> {
    let reagent = substance.reagent;
    let whole = molar_mass(&reagent.formula.value)?.to_g_per_mol();
    Ok(match reagent.solution.as_ref().and_then(|solution| solution.density.as_ref()) {
        None => 0.0,
        Some(Model::Laliberte { solutes, .. }) => {
            let mut largest: f64 = 1.0;
            for solute in solutes {
                let share = solute.per_formula * molar_mass(&solute.formula)?.to_g_per_mol() / whole;
                largest = largest.min(solute.w_max / share);
            }
            largest
        }
        Some(Model::Polynomial { of, w_max, .. }) => w_max * whole / molar_mass(of)?.to_g_per_mol(),
        Some(Model::Points { points, .. }) => points.last().map_or(0.0, |row| row[0] / 100.0),
    })
}

fn apparent_volume(solute: &Solute, solute_fraction: f64, t: f64) -> f64 {
    let [c0, c1, c2, c3, c4] = solute.c;
    // The volume, not its inverse: copper and aluminium sulfate pass through zero.
    (solute_fraction + c2 + c3 * t) / ((c0 * solute_fraction + c1) * libm::exp(1e-6 * (t + c4) * (t + c4)))
}

fn between(rows: &[[f64; 2]], x: f64, what: &str, unit: &str) -> Result<f64, ChemError> {
    within(what, x, unit, [rows[0][0], rows[rows.len() - 1][0]])?;
    let above = rows.iter().position(|row| row[0] >= x).unwrap_or(rows.len() - 1).max(1);
    let ([x0, y0], [x1, y1]) = (rows[above - 1], rows[above]);
    Ok(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
}

/// An error unless `value` lies in the range, give or take a rounding.
pub(super) fn within(what: impl std::fmt::Display, value: f64, unit: &str, range: [f64; 2]) -> Result<(), ChemError> {
    let slack = 1e-9 * range[1].abs().max(1.0);
    if value >= range[0] - slack && value <= range[1] + slack {
        return Ok(());
    }
    let show = |value: f64| format!("{} {unit}", crate::units::show::plain(value));
    Err(ChemError::OutsideData {
        what: what.to_string(),
        value: show(value),
        low: show(range[0]),
        high: show(range[1]),
    })
}
