//! What a written strength means once the reagent is known.

use super::solution::{self, Converted};
use super::{ChemError, Substance};
use crate::catalogue::{Measuring, PercentBasis, Solid};
use crate::units::measure::{Amount, Measure, Quantity};
use crate::units::parse::{Share, Written};
use crate::units::show::{plain, significant};
use crate::units::step::Step;
use crate::units::strength::{Basis, Strength, StrengthUnit};
use crate::units::{Concentration, Mass, MassFraction, Temperature, Volume};

/// A written strength with its meaning.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The strength.
    pub strength: Strength,
    /// Standard deviation of its logarithm that spoons and densities bring.
    pub sd_ln: f64,
    /// What was taken for granted, one sentence each.
    pub assumed: Vec<String>,
    /// What was done.
    pub steps: Vec<Step>,
}

impl Reading {
    fn plain(strength: Strength) -> Self {
        Reading { strength, sd_ln: 0.0, assumed: Vec::new(), steps: Vec::new() }
    }

    fn add(&mut self, converted: Converted) {
        self.sd_ln = libm::hypot(self.sd_ln, converted.sd_ln);
        self.steps.extend(converted.steps);
        self.strength = converted.strength;
    }
}

/// The strength that a text means for a solution of this reagent.
///
/// A bare `%` takes the reagent's usual basis and says so. A share is computed by volume:
/// `c = c0 p / (p + w)` for parts, `c = c0 v / V` for `v` made up to `V`, `c0 v / (V + v)` for `v` added to `V` of water;
/// a mass `m` made up to `V` is `m / V`, a spoon counts with its bulk density. Peroxide: `2.5 mL/gal-us of 3 % w/v` is
/// 19.81 mg/L. Volumes are added up as they stand; below 35 % that is right to 0.1 % (`handbook` arithmetic).
///
/// # Errors
/// [`ChemError::ShareOfWhat`] for a share without its product, [`ChemError::ProductUnnamed`] for % v/v of what is no pure
/// liquid on file, and the errors of [`solution::convert`].
///
/// Source: `definition`, and those of the densities used.
pub fn read(
    substance: Substance<'_>,
    written: &Written,
    measuring: &Measuring,
    temperature: Temperature,
) -> Result<Reading, ChemError> {
    match written {
        Written::Plain(strength @ Strength::VolumeInVolume(share), _) => {
            by_volume(substance, *strength, share.to_percent(), temperature)
        }
        Written::Plain(strength, _) => Ok(Reading::plain(*strength)),
        Written::BarePercent(percent) => bare_percent(substance, *percent),
        Written::Share(share, of) => {
            let reader = ShareReader { substance, measuring, temperature };
            match of {
                Some(of) => reader.of_product(share, read(substance, of, measuring, temperature)?),
                None => reader.of_solid(share),
            }
        }
    }
}

/// The basis that a bare `%` of this size has for the reagent, and the unit to show strengths of that size in.
///
/// # Errors
/// [`ChemError::NotThisReagent`] if the reagent is not kept in solution.
pub fn usual_unit(substance: Substance<'_>, percent: f64) -> Result<(StrengthUnit, &str), ChemError> {
    let rows = substance.reagent.solution.as_ref().map(|solution| &solution.bare_percent).ok_or_else(|| {
        ChemError::NotThisReagent { unit: "a strength in solution", reagent: substance.reagent.name.clone() }
    })?;
    let row = rows.iter().find(|row| percent <= row.up_to).unwrap_or(&rows[rows.len() - 1]);
    let name = match row.basis {
        PercentBasis::WeightInWeight => "% w/w",
        PercentBasis::WeightInVolume => "% w/v",
    };
    Ok((StrengthUnit::named(name), &row.source))
}

/// Millilitres of the pure liquid in 100 mL, kept as written, with what that comes to by weight.
fn by_volume(
    substance: Substance<'_>,
    strength: Strength,
    percent: f64,
    temperature: Temperature,
) -> Result<Reading, ChemError> {
    let (g_per_l, _) = solution::concentration(substance, strength, temperature)?;
    let by_weight = solution::convert(substance, strength, Basis::InWeight, temperature)?;
    let said = format!(
        "{} % v/v counts mL of the pure liquid in 100 mL: {} g/L, {} % w/w",
        plain(percent),
        plain(g_per_l.to_g_per_l()),
        significant(100.0 * by_weight.strength.base(), 3)
    );
    Ok(Reading { assumed: vec![said], steps: by_weight.steps, ..Reading::plain(strength) })
}

/// True for a liquid whose labels count % v/v: an alcohol, as far as its density is on file up to the pure liquid.
fn labelled_by_volume(substance: Substance<'_>) -> bool {
    let alcohol =
        substance.reagent.care.as_ref().is_some_and(|care| care.groups.iter().any(|group| group == "alcohol"));
    alcohol && super::density::of_pure(substance).is_ok()
}

fn bare_percent(substance: Substance<'_>, percent: f64) -> Result<Reading, ChemError> {
    let (unit, source) = usual_unit(substance, percent)?;
    let said = if labelled_by_volume(substance) {
        format!("{} % read as {}; labels of spirit mean % v/v: write it", plain(percent), unit.name)
    } else {
        format!("{} % read as {}, the usual basis of {}", plain(percent), unit.name, substance.reagent.name)
    };
    Ok(Reading {
        strength: unit.of(percent),
        sd_ln: 0.0,
        steps: vec![Step::new(said.clone(), source)],
        assumed: vec![said],
    })
}

/// The mass of an amount of the solid: weighed, or spooned with its bulk density.
///
/// `m = V d`; a level 15 mL spoon of fine salt (1.22 g/mL) is 18.3 g.
///
/// # Errors
/// [`ChemError::BulkUnknown`] for a volume of a reagent without a bulk density.
///
/// Source: the source of the reagent's bulk density.
pub fn mass_of(
    substance: Substance<'_>,
    amount: &Amount,
    measuring: &Measuring,
) -> Result<(Mass, f64, Vec<String>, Vec<Step>), ChemError> {
    let volume = match amount.quantity {
        Quantity::Mass(mass) => return Ok((mass, 0.0, Vec::new(), Vec::new())),
        Quantity::Volume(volume) => volume,
    };
    let Solid { spooned, .. } = substance
        .reagent
        .solid
        .as_ref()
        .ok_or_else(|| ChemError::BulkUnknown { reagent: substance.reagent.name.clone() })?;
    let bulk = &spooned[0];
    let mass = Mass::g(volume.to_ml() * bulk.density.value);
    let sd_ln = libm::hypot(measure_sd(amount.measure, measuring), bulk.density.relative_sd.unwrap_or(0.0));
    let mut assumed = vec![format!(
        "{} {} taken as {} g/mL, levelled; weighing is better",
        bulk.kind,
        substance.reagent.name,
        plain(bulk.density.value)
    )];
    let mut steps = vec![Step::new(
        format!(
            "{} mL of {} {} at {} g/mL: {} g",
            plain(volume.to_ml()),
            bulk.kind,
            substance.reagent.name,
            plain(bulk.density.value),
            plain(mass.to_g())
        ),
        bulk.density.source.clone(),
    )];
    note_measure(amount, &mut assumed, &mut steps);
    Ok((mass, sd_ln, assumed, steps))
}

/// Relative standard deviation of what a measure holds; figures typed in millilitres are taken as meant.
#[must_use]
pub fn measure_sd(measure: Measure, measuring: &Measuring) -> f64 {
    match measure {
        Measure::Weighed | Measure::Marked => 0.0,
        Measure::Spoon => measuring.spoon.value,
        Measure::UnknownSpoon => libm::hypot(measuring.spoon.value, measuring.unknown_spoon.value),
        Measure::Drops => measuring.drop.value,
    }
}

/// Says which spoon or gallon was meant.
pub fn note_measure(amount: &Amount, assumed: &mut Vec<String>, steps: &mut Vec<Step>) {
    if amount.measure == Measure::UnknownSpoon {
        assumed.push(format!("spoon or cup of unstated country read as {}", amount.unit));
    }
    if amount.source != "definition" {
        let base = amount.quantity;
        steps.push(Step::new(
            format!("measured in {}: {} {}", amount.unit, plain(base.base()), base.base_unit()),
            amount.source,
        ));
    }
}

struct ShareReader<'a> {
    substance: Substance<'a>,
    measuring: &'a Measuring,
    temperature: Temperature,
}

impl ShareReader<'_> {
    fn of_product(&self, share: &Share, product: Reading) -> Result<Reading, ChemError> {
        let mut reading = product;
        let (_, converted) = solution::concentration(self.substance, reading.strength, self.temperature)?;
        reading.add(converted);
        let strong = reading.strength.base();
        let (part, what) = match share {
            Share::Parts { product, water } => {
                (product / (product + water), format!("{} parts to {} parts water", plain(*product), plain(*water)))
            }
            Share::Percent(percent) => (percent / 100.0, format!("{} % of the whole", plain(*percent))),
            Share::PerVolume { amount, volume, made_up } => {
                let poured = match amount.quantity {
                    Quantity::Volume(poured) => poured,
                    Quantity::Mass(mass) => self.poured(mass, strong)?,
                };
                reading.sd_ln = libm::hypot(reading.sd_ln, measure_sd(amount.measure, self.measuring));
                note_measure(amount, &mut reading.assumed, &mut reading.steps);
                let whole = if *made_up { volume.to_ml() } else { volume.to_ml() + poured.to_ml() };
                let joint = if *made_up { "made up to" } else { "added to" };
                (poured.to_ml() / whole, format!("{} mL {joint} {} mL", plain(poured.to_ml()), plain(volume.to_ml())))
            }
        };
        if part > 1.0 {
            return Err(ChemError::OutsideData {
                what: "a share".to_owned(),
                value: format!("{} % of the whole", plain(100.0 * part)),
                low: "0 %".to_owned(),
                high: "100 %".to_owned(),
            });
        }
        reading.strength = Strength::InVolume(Concentration::g_per_l(strong * part));
        reading.steps.push(Step::new(
            format!("{what}: {} g/L × {} = {} g/L", plain(strong), plain(part), plain(strong * part)),
            "definition",
        ));
        Ok(reading)
    }

    /// The volume that a weighed amount of a solution fills.
    fn poured(&self, mass: Mass, concentration: f64) -> Result<Volume, ChemError> {
        let strength = Strength::InVolume(Concentration::g_per_l(concentration));
        let fraction = solution::convert(self.substance, strength, Basis::InWeight, self.temperature)?;
        let fraction = MassFraction::fraction(fraction.strength.base());
        let found = super::density::of_solution(self.substance, fraction, self.temperature)?;
        Ok(Volume::ml(mass.to_g() / found.density.to_g_per_ml()))
    }

    fn of_solid(&self, share: &Share) -> Result<Reading, ChemError> {
        let Share::PerVolume { amount, volume, made_up } = share else {
            return Err(ChemError::ShareOfWhat { text: share_text(share) });
        };
        if self.substance.reagent.solid.is_none() && matches!(amount.quantity, Quantity::Volume(_)) {
            return Err(ChemError::ShareOfWhat { text: share_text(share) });
        }
        let (mass, sd_ln, assumed, steps) = mass_of(self.substance, amount, self.measuring)?;
        let mut reading = Reading { strength: Strength::InWeight(MassFraction::fraction(0.0)), sd_ln, assumed, steps };
        if *made_up {
            let concentration = Concentration::g_per_l(mass.to_g() / volume.to_l());
            reading.strength = Strength::InVolume(concentration);
            let what = format!(
                "{} g made up to {} L: {} g/L",
                plain(mass.to_g()),
                plain(volume.to_l()),
                plain(concentration.to_g_per_l())
            );
            reading.steps.push(Step::new(what, "definition"));
            return Ok(reading);
        }
        let water = super::density::water(self.temperature)?.to_g_per_ml() * volume.to_ml();
        let fraction = MassFraction::fraction(mass.to_g() / (mass.to_g() + water));
        let what = format!(
            "{} g added to {} L of water: {} % w/w",
            plain(mass.to_g()),
            plain(volume.to_l()),
            plain(fraction.to_percent())
        );
        reading.steps.push(Step::new(what, "definition"));
        let (_, converted) = solution::concentration(self.substance, Strength::InWeight(fraction), self.temperature)?;
        reading.add(converted);
        Ok(reading)
    }
}

fn share_text(share: &Share) -> String {
    match share {
        Share::Parts { product, water } => format!("{}:{}", plain(*product), plain(*water)),
        Share::Percent(percent) => format!("{} %", plain(*percent)),
        Share::PerVolume { amount, volume, .. } => {
            format!("{} {} in {} mL", plain(amount.quantity.base()), amount.quantity.base_unit(), plain(volume.to_ml()))
        }
    }
}
