//! From what was read at the bench to a strength with its error.

use thiserror::Error;

use super::finding::Finding;
use super::reaction::{PERMANGANATE_PER_PEROXIDE, gas_expected, moles_of_gas, vapour_pressure};
use super::reading::{GasCaught, Raw, Reading, Titration};
use crate::catalogue::{Catalogue, Form, Method, Reagent, Suits};
use crate::chem::formula::molar_mass;
use crate::chem::solution::chlorine_per_gram;
use crate::chem::{ChemError, Substance, density};
use crate::units::estimate::Z_95;
use crate::units::show::{plain, significant};
use crate::units::step::Step;
use crate::units::{MassFraction, MolarMass, Pressure, Temperature, Volume};

/// A reading of fewer of its own errors than this hardly differs from nothing.
const HARDLY: f64 = 4.0;

/// What a test is made of.
#[derive(Debug, Clone, Copy)]
pub struct Sample<'a> {
    /// The reagent.
    pub reagent: &'a Reagent,
    /// Solid or solution.
    pub form: Form,
    /// What the label says, grams in a litre or in a gram.
    pub label: f64,
    /// Standard deviation of the label's logarithm.
    pub label_sd_ln: f64,
}

/// What a test says.
#[derive(Debug, Clone, PartialEq)]
pub struct Tested {
    /// The finding, grams in a litre or in a gram.
    pub finding: Finding,
    /// How it was computed.
    pub steps: Vec<Step>,
}

/// Why a test gives no strength.
#[derive(Debug, Clone, Error, PartialEq)]
pub enum AssayError {
    /// The test is not for this.
    #[error("{test} is no test for {what}")]
    Unsuited {
        /// The test's name.
        test: String,
        /// The reagent, and its form.
        what: String,
    },
    /// A reading that cannot be.
    #[error("{field}: {value} cannot be")]
    Impossible {
        /// Which reading.
        field: &'static str,
        /// What was given, with its unit.
        value: String,
        /// What is accepted, and what to do.
        accepted: String,
    },
    /// The test would tell too little.
    #[error("{test} would tell this strength only to ± {percent} % (1 sd): worthless here")]
    Worthless {
        /// The test's name.
        test: String,
        /// Its relative standard deviation in per cent.
        percent: String,
        /// Why.
        why: String,
    },
    /// Chemistry gives no answer.
    #[error(transparent)]
    Chem(#[from] ChemError),
}

/// The strength that a test found.
///
/// - oxygen volume: `g/L = 1000 × 2 n M / V_s`, `n` from [`moles_of_gas`]. 5.0 mL, 49.5 mL gas, 22 °C, 95.0 kPa: 25.35 g/L.
/// - permanganate: `g/L = 2.5 V c M / V_s`. 2.00 mL, 35.28 mL of 0.02 mol/L: 30.0 g/L.
/// - iodometric: `g/L = V c M / (e V_s)`, `e` electrons. 1.00 mL, 17.64 mL of 0.1 mol/L: 30.0 g/L of peroxide.
/// - strip: the block's interval times the dilution.
/// - density: the table turned round.
/// - drying: the label's content times dry over wet.
///
/// Each reading brings its own error; they add as independent ones do, and no test is taken to be better than its `least`.
///
/// # Errors
/// [`AssayError`] for a test that does not suit, a reading that cannot be, one that tells nothing.
///
/// Source: `memory` for the formulas, `judgement` for the errors; those of `hazards/assays.toml`.
pub fn tested(catalogue: &Catalogue, sample: Sample<'_>, raw: &Raw) -> Result<Tested, AssayError> {
    let method = catalogue.method(raw.reading.test());
    let bench = Bench { method, sample };
    let mut tested = match raw.reading {
        Reading::OxygenVolume(gas) => {
            bench.suited()?;
            bench.oxygen_volume(gas)?
        }
        Reading::Permanganate(titration) => {
            bench.suited()?;
            bench.titration(PERMANGANATE_PER_PEROXIDE, titration)?
        }
        Reading::Iodometric(titration) => {
            let electrons = bench.suited()?.electrons.unwrap_or(1.0);
            bench.titration(electrons, titration)?
        }
        Reading::Strip { low_mg_per_l, high_mg_per_l, diluted } => bench.strip(low_mg_per_l, high_mg_per_l, diluted)?,
        Reading::Density { g_per_ml, celsius } => bench.density(g_per_ml, celsius)?,
        Reading::Drying { wet_g, dry_g } => bench.drying(wet_g, dry_g)?,
    };
    if let (Some(stated), Finding::Figure { content, .. }) = (raw.relative_sd, tested.finding) {
        must("--sd", (1e-4..=1.0).contains(&stated), 100.0 * stated, "%", "0.01 to 100 %")?;
        tested.finding = Finding::Figure { content, relative_sd: stated };
        tested.steps.push(Step::new("its standard deviation as it was stated", "register").of(stated, "1"));
    }
    bench.possible(tested.finding.content())?;
    Ok(tested)
}

struct Bench<'a> {
    method: &'a Method,
    sample: Sample<'a>,
}

impl<'a> Bench<'a> {
    fn suited(&self) -> Result<&'a Suits, AssayError> {
        let dissolved = self.sample.form == Form::Solution;
        self.method.suits(self.sample.reagent).filter(|_| dissolved).ok_or_else(|| AssayError::Unsuited {
            test: self.method.name.clone(),
            what: format!("{} as a {}", self.sample.reagent.name, self.sample.form),
        })
    }

    fn molar_mass(&self) -> Result<f64, AssayError> {
        Ok(molar_mass(&self.sample.reagent.formula.value)?.to_g_per_mol())
    }

    /// Nothing holds more than the pure reagent.
    fn possible(&self, content: f64) -> Result<(), AssayError> {
        let (most, unit, factor) = match self.sample.form {
            Form::Solid => (1.1, "% w/w", 100.0),
            Form::Solution => (strongest(self.sample.reagent), "g/L", 1.0),
        };
        if content <= most {
            return Ok(());
        }
        Err(AssayError::Impossible {
            field: "the strength that follows",
            value: format!("{} {unit}", significant(content * factor, 3)),
            accepted: format!(
                "{} holds at most {} {unit}; check the readings, their units and the dilution",
                self.sample.reagent.name,
                plain(most * factor)
            ),
        })
    }

    fn oxygen_volume(&self, gas: GasCaught) -> Result<Tested, AssayError> {
        let GasCaught { gas_ml, sample_ml, celsius, pressure_kpa, column_mm, diluted } = gas;
        must("--gas", (0.0..=1e5).contains(&gas_ml), gas_ml, "mL", "0 to 100,000 mL")?;
        must("--sample", sample_ml > 0.0 && sample_ml <= 1000.0, sample_ml, "mL", "above 0 and up to 1000 mL")?;
        must("--temp", (0.0..=45.0).contains(&celsius), celsius, "°C", "0 to 45 °C")?;
        let accepted = "50 to 110 kPa, that is 500 to 1100 hPa or mbar, where you stand";
        must("--pressure", (50.0..=110.0).contains(&pressure_kpa), pressure_kpa, "kPa", accepted)?;
        must("--column", column_mm.abs() <= 1000.0, column_mm, "mm", "at most 1 m of water, inside above outside")?;
        thinned(diluted)?;
        let temperature = Temperature::celsius(celsius);
        let pressure = Pressure::kpa(pressure_kpa);
        let moles = moles_of_gas(Volume::ml(gas_ml), temperature, pressure, column_mm);
        // Grams in a litre for each millilitre of gas: what is read may be nothing.
        let per_ml = moles_of_gas(Volume::ml(1.0), temperature, pressure, column_mm) * 2000.0 * self.molar_mass()?
            / sample_ml
            * diluted;
        let content = per_ml * gas_ml;
        let most = strongest(self.sample.reagent);
        if content > most {
            let mass = MolarMass::g_per_mol(self.molar_mass()?);
            let thinned = Volume::ml(sample_ml / diluted);
            let all = gas_expected(most, mass, thinned, temperature, pressure).to_ml();
            let accepted = format!(
                "at most {} mL: the pure reagent could give no more from that sample; check sample and dilution",
                significant(all, 2)
            );
            must("--gas", false, gas_ml, "mL", &accepted)?;
        }
        let dry = pressure.to_kpa() - vapour_pressure(temperature).to_kpa();
        let relative_sd = self.sd(&[
            self.method.error("gas") / gas_ml.max(1e-3),
            self.method.error("sample") / sample_ml,
            self.method.error("pressure") / dry,
            self.method.error("temperature") / temperature.to_kelvin(),
            self.method.error("share"),
        ]);
        let vapour = vapour_pressure(temperature).to_kpa();
        let finding = self.figure_or_less(content, per_ml * self.method.error("gas"), relative_sd);
        Ok(Tested {
            finding,
            steps: vec![
                Step::new(format!("water vapour takes {} kPa of the pressure", significant(vapour, 3)), "memory")
                    .of(vapour, "kPa"),
                Step::new(
                    format!(
                        "{} mL of gas are {} mmol of oxygen",
                        plain(gas_ml),
                        significant((moles * 1e3).max(1e-6), 3)
                    ),
                    "memory",
                )
                .of(moles * 1e3, "mmol"),
                self.sd_step(relative_sd),
            ],
        })
    }

    /// `per_mole` moles of titrant for each mole of the reagent.
    fn titration(&self, per_mole: f64, titration: Titration) -> Result<Tested, AssayError> {
        let Titration { titre_ml, titrant_mol_per_l: titrant, sample_ml, diluted } = titration;
        must("--titre", (0.0..=1e4).contains(&titre_ml), titre_ml, "mL", "0 to 10,000 mL")?;
        must("--sample", sample_ml > 0.0 && sample_ml <= 1000.0, sample_ml, "mL", "above 0 and up to 1000 mL")?;
        must("--of", titrant > 0.0 && titrant <= 5.0, titrant, "mol/L", "above 0 and up to 5 mol/L")?;
        thinned(diluted)?;
        let per_ml = titrant / per_mole * self.molar_mass()? / sample_ml * diluted;
        let content = titre_ml * per_ml;
        let mut errors = vec![
            self.method.error("titre") / titre_ml.max(1e-3),
            self.method.error("sample") / sample_ml,
            self.method.error("share"),
        ];
        if diluted > 1.0 {
            errors.push(self.method.error("dilution"));
        }
        let relative_sd = self.sd(&errors);
        let moles = titre_ml * titrant / per_mole;
        let finding = self.figure_or_less(content, per_ml * self.method.error("titre"), relative_sd);
        Ok(Tested {
            finding,
            steps: vec![
                Step::new(
                    format!(
                        "{} mL of {} mol/L stand for {} mmol of it, {} of titrant for each",
                        plain(titre_ml),
                        plain(titrant),
                        significant(moles, 3),
                        plain(per_mole)
                    ),
                    "computed-from-weights",
                )
                .of(moles, "mmol"),
                self.sd_step(relative_sd),
            ],
        })
    }

    fn strip(&self, low: f64, high: Option<f64>, diluted: f64) -> Result<Tested, AssayError> {
        let suits = self.suited()?;
        thinned(diluted)?;
        if !(low >= 0.0 && low.is_finite() && high.is_none_or(|high| high > low && high <= 1e7) && low <= 1e7) {
            return Err(AssayError::Impossible {
                field: "the strip's reading",
                value: format!("{} to {} mg/L", plain(low), high.map_or_else(|| "more".to_owned(), plain)),
                accepted: "a block of the scale, above 0".to_owned(),
            });
        }
        let substance = Substance::of(self.sample.reagent);
        let counted = if suits.as_chlorine { chlorine_per_gram(substance)? } else { 1.0 };
        let factor = 1e-3 * diluted / counted;
        let steps_of_dilution = libm::ceil(libm::log10(diluted) / 2.0);
        let dilution = self.method.error("dilution") * libm::sqrt(steps_of_dilution);
        let relative_sd = libm::hypot(self.method.error("share"), dilution);
        let finding =
            Finding::Between { low: low * factor, high: high.map_or(f64::INFINITY, |high| high * factor), relative_sd };
        let upto = high.map_or_else(|| "and more".to_owned(), |high| format!("to {}", significant(high, 2)));
        let what =
            format!("the block stands for {} {upto} mg/L, thinned {} times", significant(low, 2), plain(diluted));
        Ok(Tested { finding, steps: vec![Step::new(what, "register"), self.sd_step(finding.relative_sd())] })
    }

    fn density(&self, g_per_ml: f64, celsius: f64) -> Result<Tested, AssayError> {
        if self.sample.form == Form::Solid {
            self.suited()?;
        }
        must("--temp", (0.0..=45.0).contains(&celsius), celsius, "°C", "0 to 45 °C")?;
        let temperature = Temperature::celsius(celsius);
        let substance = Substance::of(self.sample.reagent);
        let at = |w: f64, t: Temperature| {
            density::of_solution(substance, MassFraction::fraction(w), t).map(|found| found.density.to_g_per_ml())
        };
        let lightest = at(0.0, temperature)?;
        let end = strongest_fraction(|w| at(w, temperature).is_ok());
        let heaviest = at(end, temperature)?;
        if !(g_per_ml > lightest && g_per_ml < heaviest) {
            return Err(AssayError::Impossible {
                field: "the density",
                value: format!("{} g/mL", plain(g_per_ml)),
                accepted: format!(
                    "between {} (water) and {} g/mL at that temperature",
                    significant(lightest, 4),
                    significant(heaviest, 4)
                ),
            });
        }
        let (mut low, mut high) = (0.0, end);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if at(middle, temperature)? < g_per_ml { low = middle } else { high = middle }
        }
        let w = 0.5 * (low + high);
        // At the upper end of the data the slope is that below it.
        let step = 1e-3 * w.max(1e-3);
        let above = if w + step <= end { w + step } else { w };
        let slope = (at(above, temperature)? - at(w - step, temperature)?) / (above - w + step);
        let warmer = Temperature::celsius(celsius + 1.0);
        let by_degree = at(w, warmer).map_or(0.0, |warm| (warm - g_per_ml).abs()) * self.method.error("temperature");
        let relative_sd = libm::hypot(self.method.error("density"), by_degree) / (slope * w);
        if relative_sd > self.method.error("most") {
            return Err(AssayError::Worthless {
                test: self.method.name.clone(),
                percent: significant(100.0 * relative_sd, 2),
                why: format!(
                    "1 % w/w more makes it only {} g/mL heavier, and a spindle is read to {} g/mL",
                    significant(0.01 * slope, 2),
                    plain(self.method.error("density"))
                ),
            });
        }
        let what = format!("{} g/mL at {} °C is {} % w/w", plain(g_per_ml), plain(celsius), significant(100.0 * w, 3));
        let source = at_source(substance, w, temperature)?;
        Ok(Tested {
            finding: Finding::Figure { content: 1000.0 * w * g_per_ml, relative_sd },
            steps: vec![Step::new(what, source).of(100.0 * w, "% w/w"), self.sd_step(relative_sd)],
        })
    }

    fn drying(&self, wet: f64, dry: f64) -> Result<Tested, AssayError> {
        if self.sample.form == Form::Solution || self.method.suits(self.sample.reagent).is_none() {
            return Err(AssayError::Unsuited {
                test: self.method.name.clone(),
                what: format!("{} as a {}", self.sample.reagent.name, self.sample.form),
            });
        }
        must("--wet", wet > 0.0 && wet <= 1e5, wet, "g", "above 0 and up to 100,000 g")?;
        let accepted = format!("above 0 and at most the {} g it weighed before", plain(wet));
        must("--dry", dry > 0.0 && dry <= wet, dry, "g", &accepted)?;
        let error = self.method.error("mass");
        let parts = [error / wet, error / dry, self.method.error("share"), self.sample.label_sd_ln];
        let relative_sd = self.sd(&parts);
        let what = format!("{} % of it was water", significant(100.0 * (1.0 - dry / wet), 2));
        Ok(Tested {
            finding: Finding::Figure { content: self.sample.label * dry / wet, relative_sd },
            steps: vec![Step::new(what, "register").of(dry / wet, "1"), self.sd_step(relative_sd)],
        })
    }

    /// A reading that hardly differs from nothing only tells how little there may be: at most it and 1.645 of its own errors.
    fn figure_or_less(&self, content: f64, error: f64, relative_sd: f64) -> Finding {
        if content > HARDLY * error {
            return Finding::Figure { content, relative_sd };
        }
        Finding::Between { low: 0.0, high: content + Z_95 * error, relative_sd: self.method.error("share") }
    }

    fn sd(&self, parts: &[f64]) -> f64 {
        let sum: f64 = parts.iter().map(|part| part * part).sum();
        let least = self.method.errors.iter().find(|error| error.of == "least").map_or(0.0, |error| error.value);
        libm::sqrt(sum).max(least)
    }

    fn sd_step(&self, relative_sd: f64) -> Step {
        let what = format!("usual errors of this test together: ± {} % (1 sd)", significant(100.0 * relative_sd, 2));
        Step::new(what, "judgement").of(relative_sd, "1")
    }
}

/// The most that a solution of a reagent can hold, g/L.
///
/// Source: the reagent's `strongest`, else `judgement`.
#[must_use]
pub fn strongest(reagent: &Reagent) -> f64 {
    let own = reagent.solution.as_ref().and_then(|solution| solution.strongest.as_ref());
    own.map_or(1500.0, |figure| figure.value)
}

/// The largest mass fraction for which something is on file, to a thousandth.
fn strongest_fraction(on_file: impl Fn(f64) -> bool) -> f64 {
    let (mut good, mut bad) = (0.0, 1.0);
    for _ in 0..20 {
        let middle = 0.5 * (good + bad);
        if on_file(middle) { good = middle } else { bad = middle }
    }
    good
}

fn at_source(substance: Substance<'_>, w: f64, temperature: Temperature) -> Result<String, ChemError> {
    Ok(density::of_solution(substance, MassFraction::fraction(w), temperature)?.step.source)
}

/// A reading that must hold something.
fn must(field: &'static str, holds: bool, value: f64, unit: &str, accepted: &str) -> Result<(), AssayError> {
    if holds && value.is_finite() {
        return Ok(());
    }
    Err(AssayError::Impossible { field, value: format!("{} {unit}", plain(value)), accepted: accepted.to_owned() })
}

fn thinned(diluted: f64) -> Result<(), AssayError> {
    must("--diluted", (1.0..=1e6).contains(&diluted), diluted, "times", "1 (not thinned) to 1,000,000 times")
}
