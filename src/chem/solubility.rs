//! What a litre of water can hold, over temperature.

use super::density::{self, within};
use super::formula::molar_mass;
use super::{ChemError, Substance};
use crate::catalogue::SolubilityBasis;
use crate::units::{Concentration, MassFraction, Temperature};

/// A saturated solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Saturated {
    /// Grams of the reagent as named (crystal water included) that 100 g of *added* water take up.
    pub per_100_g_added_water: f64,
    /// The solution's content of the reagent as named.
    pub fraction: MassFraction,
    /// Half-width of the band of all of it, relative.
    pub spread: f64,
    /// Key of the source.
    pub source: String,
}

/// Solubility of a reagent at a temperature.
///
/// Between table points `ln s` is linear in `1/T`, `s` being grams of anhydrous salt to 100 g of all water. With
/// `r = M(hydrate) / M(anhydrous)`, the hydrate to 100 g of added water is `100 s r / (100 - s (r - 1))`.
/// Copper sulfate pentahydrate at 20 °C: `s` = 20.05 gives 35.4 g.
///
/// # Errors
/// [`ChemError::SolubilityUnknown`] without a table, [`ChemError::OutsideData`] outside its temperatures.
///
/// Source: the source of the reagent's table.
pub fn saturated(substance: Substance<'_>, temperature: Temperature) -> Result<Saturated, ChemError> {
    let reagent = substance.reagent;
    let table = reagent
        .solution
        .as_ref()
        .and_then(|solution| solution.solubility.as_ref())
        .ok_or_else(|| ChemError::SolubilityUnknown { reagent: reagent.name.clone() })?;
    let rows = &table.points;
    let t = temperature.to_celsius();
    within("a temperature", t, "°C", [rows[0][0], rows[rows.len() - 1][0]])?;
    let in_water = |figure: f64| match table.basis {
        SolubilityBasis::MassPercent => 100.0 * figure / (100.0 - figure),
        SolubilityBasis::GramsPer100GWater => figure,
    };
    let above = rows.iter().position(|row| row[0] >= t).unwrap_or(rows.len() - 1).max(1);
    let [x0, x1, x] = [rows[above - 1][0], rows[above][0], t].map(|t| 1.0 / Temperature::celsius(t).to_kelvin());
    let [y0, y1] = [rows[above - 1][1], rows[above][1]].map(|figure| libm::log(in_water(figure)));
    let s = libm::exp(y0 + (y1 - y0) * (x - x0) / (x1 - x0));

    let r = molar_mass(&reagent.formula.value)?.to_g_per_mol() / molar_mass(&table.of)?.to_g_per_mol();
    Ok(Saturated {
        per_100_g_added_water: 100.0 * s * r / (100.0 - s * (r - 1.0)),
        fraction: MassFraction::fraction(s * r / (100.0 + s)),
        spread: table.spread,
        source: table.source.clone(),
    })
}

/// Grams of the reagent in a litre of its saturated solution: `w rho(w)`.
///
/// Permanganate at 20 °C: 61.9 g/L.
///
/// # Errors
/// As [`saturated`], and where the density of so strong a solution is not on file.
///
/// Source: the sources of the reagent's solubility and density.
pub fn saturated_concentration(substance: Substance<'_>, temperature: Temperature) -> Result<Concentration, ChemError> {
    let saturated = saturated(substance, temperature)?;
    let found = density::of_solution(substance, saturated.fraction, temperature)?;
    Ok(saturated.fraction.in_volume(found.density))
}
