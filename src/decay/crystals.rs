//! What a cold day leaves in the clear liquid of a solution that was made too strong.

use chrono::NaiveDate;

use super::{Content, Stretch};
use crate::catalogue::Form;
use crate::chem::Substance;
use crate::chem::density;
use crate::chem::solubility::{saturated, saturated_concentration};
use crate::units::{Concentration, MassFraction, Temperature};

/// The most that water holds of a reagent at a temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct ClearLiquid {
    /// The coldest temperature it stood at.
    pub coldest: Temperature,
    /// The day by which it had.
    pub by: NaiveDate,
    /// Grams in a litre of the clear liquid, and the standard deviation of its logarithm.
    pub holds: (Content, f64),
    /// Key of the source of the solubility.
    pub source: String,
    /// True if it stands warmer now: some of the crystals may have dissolved again.
    pub warmed: bool,
}

/// What a density from another temperature or a weaker solution may be off.
const DENSITY_SD: f64 = 0.01;

/// Grams in a litre of a solution of this fraction, with the density at 20 °C of the nearest one on file.
fn strongest_on_file(substance: Substance<'_>, fraction: MassFraction) -> Option<Concentration> {
    let bench = Temperature::celsius(20.0);
    let w = fraction.to_fraction();
    let weaker = (0..20).map(|tenth| MassFraction::fraction(w * (1.0 - 0.05 * f64::from(tenth))));
    let density = weaker.filter_map(|w| density::of_solution(substance, w, bench).ok()).next()?;
    Some(fraction.in_volume(density.density))
}

/// What the clear liquid can hold at the coldest of a stretch; nothing where solubility or density is not on file.
///
/// Permanganate at 8 °C: 39 g/L, whatever was weighed in.
///
/// Source: the sources of the reagent's solubility and density.
#[must_use]
pub fn clear_liquid(substance: Substance<'_>, form: Form, stretch: &Stretch) -> Option<ClearLiquid> {
    if form != Form::Solution {
        return None;
    }
    let coldest = stretch.climate.coldest(stretch.from, stretch.to);
    let holds = water_holds(substance, coldest)?;
    let source = substance.reagent.solution.as_ref()?.solubility.as_ref()?.source.clone();
    Some(ClearLiquid { coldest, by: stretch.to, holds, source, warmed: false })
}

/// Grams of a reagent in a litre of its saturated solution, and the standard deviation of its logarithm; nothing where the
/// solubility at that temperature is not on file.
///
/// Source: the sources of the reagent's solubility and density.
#[must_use]
pub fn water_holds(substance: Substance<'_>, coldest: Temperature) -> Option<(Content, f64)> {
    let table = substance.reagent.solution.as_ref()?.solubility.as_ref()?;
    let (most, density_sd) = match saturated_concentration(substance, coldest) {
        Ok(most) => (most, 0.0),
        // Where no density is on file for so strong or so cold a solution: that of the strongest at 20 °C.
        Err(_) => (strongest_on_file(substance, saturated(substance, coldest).ok()?.fraction)?, DENSITY_SD),
    };
    // The half-width of the table's band is taken as its 95 % limit.
    let sd_ln = libm::hypot(table.spread / crate::units::estimate::Z_95, density_sd);
    Some((Content(most.to_g_per_l()), sd_ln))
}

/// True if so much by weight is more than water holds at the coldest of a stretch, where no density tells grams in a litre.
#[must_use]
pub fn too_much_by_weight(substance: Substance<'_>, stretch: &Stretch, percent_w_w: f64) -> bool {
    let coldest = stretch.climate.coldest(stretch.from, stretch.to);
    saturated_concentration(substance, coldest).is_err()
        && saturated(substance, coldest).is_ok_and(|saturated| percent_w_w > saturated.fraction.to_percent())
}
