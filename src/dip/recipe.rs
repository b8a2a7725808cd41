//! From the words of the dip book to grams in a litre.

use super::Goal;
use crate::catalogue::{Dip, Measuring, Reagent};
use crate::chem::reading;
use crate::chem::solution;
use crate::chem::{ChemError, Substance};
use crate::units::parse;
use crate::units::step::Step;
use crate::units::{Concentration, Temperature};

/// The band of a dip in grams of its reagent in a litre.
///
/// 2.7 g/L available chlorine is 2.835 g/L of sodium hypochlorite (`2.7 / 0.95246`).
///
/// # Errors
/// [`ChemError`] if a strength of the book cannot be read or brought to g/L; a test reads every dip.
///
/// Source: the dip's own, and `iupac-2021`.
pub fn goal(dip: &Dip, reagent: &Reagent, measuring: &Measuring) -> Result<Goal, ChemError> {
    let mut steps = Vec::new();
    let mut grams = |text: &str, keep: bool| -> Result<Concentration, ChemError> {
        let (concentration, of_it) = counted(text, reagent, measuring)?;
        if keep {
            steps.extend(of_it);
        }
        Ok(concentration)
    };
    let (low, aim, high) =
        (grams(&dip.target.low, false)?, grams(&dip.target.aim, true)?, grams(&dip.target.high, false)?);
    let mut all = vec![
        Step::new(format!("aim of {}: {}", dip.name, dip.target.aim), dip.target.source.clone()),
        Step::new(format!("band: {} to {}", dip.target.low, dip.target.high), dip.target.band_source.clone()),
    ];
    all.append(&mut steps);
    Ok(Goal { low, aim, high, steps: all })
}

/// A strength of a dip as it is written, in grams of the reagent in a litre at 20 °C, with the steps to it.
///
/// # Errors
/// [`ChemError`] if it cannot be read or brought to g/L.
///
/// Source: `iupac-2021`.
pub fn counted(text: &str, reagent: &Reagent, measuring: &Measuring) -> Result<(Concentration, Vec<Step>), ChemError> {
    let substance = Substance::of(reagent);
    let bench = Temperature::celsius(20.0);
    let written = parse::strength(text, None)?;
    let read = reading::read(substance, &written, measuring, bench)?;
    let (concentration, converted) = solution::concentration(substance, read.strength, bench)?;
    Ok((concentration, read.steps.into_iter().chain(converted.steps).collect()))
}
