//! What stands on the shelf and is easily taken for the dip's reagent.

use crate::catalogue::Reagent;
use crate::chem::ChemError;
use crate::chem::formula::molar_mass;

/// Grams of another reagent that hold as much of the shared part as a mass of this one.
///
/// `m = m0 × (n0 M_part / M0) / (n M_part / M)`: 160 g of potassium alum dodecahydrate hold as much aluminium as 100 g of
/// aluminium sulfate tetradecahydrate. `None` if they share no part.
///
/// # Errors
/// [`ChemError::Formula`] if the catalogue's formula cannot be read.
///
/// Source: `iupac-2021`.
pub fn equivalent(grams: f64, of: &Reagent, other: &Reagent) -> Result<Option<f64>, ChemError> {
    let (Some(mine), Some(theirs)) = (&of.contains, &other.contains) else { return Ok(None) };
    if mine.formula != theirs.formula {
        return Ok(None);
    }
    let per_gram = |per_formula: f64, formula: &str| -> Result<f64, ChemError> {
        Ok(per_formula / molar_mass(formula)?.to_g_per_mol())
    };
    let here = per_gram(mine.per_formula, &of.formula.value)?;
    let there = per_gram(theirs.per_formula, &other.formula.value)?;
    Ok(Some(grams * here / there))
}
