//! Conversions between the bases of strength at a temperature.

use super::density::{self, within};
use super::formula::molar_mass;
use super::{ChemError, Substance};
use crate::units::show::plain;
use crate::units::step::Step;
use crate::units::strength::{Basis, Strength};
use crate::units::{Concentration, Density, MassFraction, MolarMass, Molarity, Temperature, VolumeFraction};

/// Volume of a mole of ideal gas at 0 °C and 101.325 kPa, litres: the volume that "volumes of oxygen" counts.
/// Source: `codata-molar-volume`.
const LITRES_PER_MOLE_OF_GAS: f64 = 22.413_969_54;

/// More rounds than this are not gone. Where `w rho'/rho` stays below 0.4, as in every shipped model, 33 close in
/// (`0.4³³ < 1e-13`); halving takes 47. Source: `judgement`.
const MOST_ROUNDS: usize = 60;

/// A strength in another basis, with how it was reached and what the way cost in certainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Converted {
    /// The strength.
    pub strength: Strength,
    /// Standard deviation of its logarithm that the conversion itself brought.
    pub sd_ln: f64,
    /// What was done.
    pub steps: Vec<Step>,
}

/// Converts a strength of a solution into another basis at a temperature.
///
/// - w/w to g/L: `c = w rho(w)`; back by solving it for `w`. Peroxide, 20 °C: 35 % w/w is 396.5 g/L.
/// - g/L to mol/L: `c / M`. Peroxide 30.0 g/L is 0.8820 mol/L.
/// - volumes of oxygen: `n = c / M × 22.41397 / 2`. Peroxide 30.0 g/L is 9.885 volumes.
/// - % v/v: `c = share × rho(pure liquid, 20 °C)`. Ethanol, 96 % v/v is 93.8 % w/w.
/// - available chlorine: `c × M(Cl2) / M(NaOCl)`, one Cl₂ for one hypochlorite. 1 g NaOCl is 0.9525 g Cl₂.
///
/// # Errors
/// [`ChemError::DensityUnknown`], [`ChemError::OutsideData`] and [`ChemError::DensityModel`] where a density is needed and
/// not to be had, [`ChemError::NotThisReagent`] for oxygen of anything but peroxide and chlorine of anything but hypochlorite,
/// [`ChemError::ProductUnnamed`] for % v/v where the density of the pure liquid is not on file.
///
/// Source: `definition`, `iupac-2021`, `codata-molar-volume`, and the density's own.
pub fn convert(
    substance: Substance<'_>,
    strength: Strength,
    to: Basis,
    temperature: Temperature,
) -> Result<Converted, ChemError> {
    let mut way = Way { substance, temperature, told: true, sd_ln: 0.0, steps: Vec::new() };
    let strength = way.convert(strength, to)?;
    Ok(Converted { strength, sd_ln: way.sd_ln, steps: way.steps })
}

/// The strength that [`convert`] comes to, without a word of how: putting figures into words takes longer than to find them.
///
/// # Errors
/// As [`convert`].
///
/// Source: as [`convert`].
pub fn converted(
    substance: Substance<'_>,
    strength: Strength,
    to: Basis,
    temperature: Temperature,
) -> Result<Strength, ChemError> {
    Way { substance, temperature, told: false, sd_ln: 0.0, steps: Vec::new() }.convert(strength, to)
}

/// The concentration of a strength: [`convert`] to w/v.
///
/// # Errors
/// As [`convert`].
///
/// Source: as [`convert`].
pub fn concentration(
    substance: Substance<'_>,
    strength: Strength,
    temperature: Temperature,
) -> Result<(Concentration, Converted), ChemError> {
    let converted = convert(substance, strength, Basis::InVolume, temperature)?;
    Ok((Concentration::g_per_l(converted.strength.base()), converted))
}

/// Grams of chlorine equivalent to a gram of hypochlorite: `M(Cl2) / M(NaOCl)`, 0.9525.
///
/// # Errors
/// [`ChemError::NotThisReagent`] for anything but hypochlorite.
///
/// Source: `iupac-2021`.
pub fn chlorine_per_gram(substance: Substance<'_>) -> Result<f64, ChemError> {
    if substance.reagent.solution.as_ref().is_some_and(|solution| solution.available_chlorine) {
        return Ok(molar_mass("Cl2")?.to_g_per_mol() / molar_mass(&substance.reagent.formula.value)?.to_g_per_mol());
    }
    Err(ChemError::NotThisReagent { unit: "available chlorine", reagent: substance.reagent.name.clone() })
}

struct Way<'a> {
    substance: Substance<'a>,
    temperature: Temperature,
    /// True if every step is put into words.
    told: bool,
    sd_ln: f64,
    steps: Vec<Step>,
}

impl Way<'_> {
    fn convert(&mut self, strength: Strength, to: Basis) -> Result<Strength, ChemError> {
        let from = strength.basis();
        if from == to {
            return Ok(strength);
        }
        if matches!((from, to), (Basis::InWeight, Basis::ChlorineInWeight) | (Basis::ChlorineInWeight, Basis::InWeight))
        {
            let per_gram = self.chlorine()?;
            let factor = if to == Basis::ChlorineInWeight { per_gram } else { 1.0 / per_gram };
            return Ok(Strength::from_base(to, strength.base() * factor));
        }
        let concentration = self.dissolved(strength)?;
        self.of_concentration(concentration, to)
    }

    fn molar_mass(&self) -> Result<MolarMass, ChemError> {
        molar_mass(&self.substance.reagent.formula.value)
    }

    fn chlorine(&mut self) -> Result<f64, ChemError> {
        let factor = chlorine_per_gram(self.substance)?;
        self.note(|| format!("1 g NaOCl counts as {} g Cl₂ (70.90 / 74.44 g/mol)", plain(factor)), "iupac-2021");
        Ok(factor)
    }

    fn oxygen_volumes_per_mole(&mut self) -> Result<f64, ChemError> {
        if !self.substance.reagent.solution.as_ref().is_some_and(|solution| solution.oxygen_volumes) {
            return Err(ChemError::NotThisReagent {
                unit: "volumes of oxygen",
                reagent: self.substance.reagent.name.clone(),
            });
        }
        self.note(|| "2 H₂O₂ give 1 O₂, 22.414 L a mole at 0 °C and 101.325 kPa".to_owned(), "codata-molar-volume");
        Ok(LITRES_PER_MOLE_OF_GAS / 2.0)
    }

    fn note(&mut self, what: impl FnOnce() -> String, source: &str) {
        if self.told {
            self.steps.push(Step::new(what(), source));
        }
    }

    /// The density of a solution.
    fn density(&mut self, fraction: MassFraction) -> Result<Density, ChemError> {
        if !self.told {
            return Ok(density::figures(self.substance, fraction, self.temperature)?.0);
        }
        let found = density::of_solution(self.substance, fraction, self.temperature)?;
        self.sd_ln = self.sd_ln.max(sd_of_half_width(found.spread));
        self.steps.push(found.step);
        Ok(found.density)
    }

    fn dissolved(&mut self, strength: Strength) -> Result<Concentration, ChemError> {
        match strength {
            Strength::InVolume(concentration) => Ok(concentration),
            Strength::InWeight(fraction) => self.weigh_out(fraction),
            Strength::Molar(molarity) => {
                self.note_molar_mass()?;
                Ok(molarity.in_grams(self.molar_mass()?))
            }
            Strength::OxygenVolumes(volumes) => {
                let moles = volumes / self.oxygen_volumes_per_mole()?;
                self.note_molar_mass()?;
                Ok(Molarity::mol_per_l(moles).in_grams(self.molar_mass()?))
            }
            Strength::ChlorineInVolume(chlorine) => {
                Ok(Concentration::g_per_l(chlorine.to_g_per_l() / self.chlorine()?))
            }
            Strength::ChlorineInWeight(_) => {
                let in_weight = self.convert(strength, Basis::InWeight)?;
                self.dissolved(in_weight)
            }
            Strength::VolumeInVolume(share) => Ok(Concentration::g_per_l(share.to_fraction() * self.pure_g_per_l()?)),
        }
    }

    /// Grams in a litre of the pure liquid.
    fn pure_g_per_l(&mut self) -> Result<f64, ChemError> {
        let found = density::of_pure(self.substance)?;
        self.sd_ln = self.sd_ln.max(sd_of_half_width(found.spread));
        self.steps.push(found.step);
        Ok(1000.0 * found.density.to_g_per_ml())
    }

    fn of_concentration(&mut self, concentration: Concentration, to: Basis) -> Result<Strength, ChemError> {
        Ok(match to {
            Basis::InVolume => Strength::InVolume(concentration),
            Basis::InWeight => Strength::InWeight(self.weigh_in(concentration)?),
            Basis::Molar => {
                self.note_molar_mass()?;
                Strength::Molar(concentration.in_moles(self.molar_mass()?))
            }
            Basis::OxygenVolumes => {
                self.note_molar_mass()?;
                let moles = concentration.in_moles(self.molar_mass()?).to_mol_per_l();
                Strength::OxygenVolumes(moles * self.oxygen_volumes_per_mole()?)
            }
            Basis::ChlorineInVolume => {
                Strength::ChlorineInVolume(Concentration::g_per_l(concentration.to_g_per_l() * self.chlorine()?))
            }
            Basis::ChlorineInWeight => {
                let fraction = self.weigh_in(concentration)?;
                Strength::ChlorineInWeight(MassFraction::fraction(fraction.to_fraction() * self.chlorine()?))
            }
            Basis::VolumeInVolume => {
                Strength::VolumeInVolume(VolumeFraction::fraction(concentration.to_g_per_l() / self.pure_g_per_l()?))
            }
        })
    }

    fn note_molar_mass(&mut self) -> Result<(), ChemError> {
        let formula = &self.substance.reagent.formula.value;
        let mass = molar_mass(formula)?.to_g_per_mol();
        self.note(|| format!("molar mass of {formula}: {mass:.3} g/mol"), "iupac-2021");
        Ok(())
    }

    /// `c = w rho(w)`.
    fn weigh_out(&mut self, fraction: MassFraction) -> Result<Concentration, ChemError> {
        Ok(fraction.in_volume(self.density(fraction)?))
    }

    /// Solves `w rho(w) = c` by repeating `w = c / rho(w)`, which closes in where `w rho'/rho` stays below 1, and by halving
    /// where it does not, as a keeper's own model may have it.
    fn weigh_in(&mut self, concentration: Concentration) -> Result<MassFraction, ChemError> {
        let wanted = concentration.to_g_per_l();
        let largest = density::largest_fraction(self.substance)?;
        let model = density::Weighed::of(self.substance)?;
        let density_at =
            |w: f64| -> Result<_, ChemError> { Ok(model.figures(MassFraction::fraction(w), self.temperature)?.0) };
        let most = MassFraction::fraction(largest).in_volume(density_at(largest)?).to_g_per_l();
        within("a strength", wanted, "g/L", [0.0, most])?;
        let solved =
            |w: f64| -> Result<f64, ChemError> { Ok((wanted / (1000.0 * density_at(w)?.to_g_per_ml())).min(largest)) };
        let mut w = 0.0;
        let mut next = solved(w)?;
        let mut rounds = 0;
        while (next - w).abs() >= 1e-13 && rounds < MOST_ROUNDS {
            (w, next, rounds) = (next, solved(next)?, rounds + 1);
        }
        if rounds == MOST_ROUNDS {
            // Nothing dissolved is too little, and the most is enough: halved until both are one.
            let mut enough = largest;
            w = 0.0;
            for _ in 0..MOST_ROUNDS {
                next = f64::midpoint(w, enough);
                if solved(next)? > next { w = next } else { enough = next }
            }
        }
        self.density(MassFraction::fraction(w))?;
        Ok(MassFraction::fraction(next))
    }
}

/// The standard deviation for which a half-width is the 5–95 % band.
fn sd_of_half_width(half_width: f64) -> f64 {
    half_width / crate::units::estimate::Z_95
}
