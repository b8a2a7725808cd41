//! A told strength beside the rows of the dip book for the same reagent.

use super::Span;
use crate::catalogue::{Catalogue, Dip, Grade, KEEPERS_OWN, Reagent};
use crate::chem::ChemError;
use crate::dip::Goal;
use crate::dip::recipe::goal;
use crate::units::estimate::Estimate;
use crate::units::show;

/// One row of the book and what the recipe is of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// The dip's key.
    pub dip: String,
    /// Its aim as the book writes it.
    pub aim: String,
    /// What stands behind its aim.
    pub grade: Grade,
    /// Key of the source of its aim.
    pub source: String,
    /// Its band in g/L.
    pub goal: Goal,
    /// Its minutes.
    pub minutes: Span,
    /// True if it is told for plants, false for gear alone.
    pub for_plants: bool,
    /// The recipe's strength over the dip's aim.
    pub ratio: Estimate,
}

/// The rows of the dip book for a reagent, beside a strength in g/L.
///
/// `ratio = g/L of the recipe / g/L of the dip's aim`; 1.95 g/L of permanganate is 195 times the 10 mg/L of a bulletin.
///
/// # Errors
/// [`ChemError`] if a row of the book cannot be brought to g/L; a test reads every dip.
///
/// Source: `definition`, and the dip's own.
pub fn beside(catalogue: &Catalogue, reagent: &Reagent, told: Estimate) -> Result<Vec<Beside>, ChemError> {
    let rows = catalogue.dips().iter().filter(|dip| dip.reagent == reagent.key);
    let mut rows = rows.map(|dip| row(catalogue, reagent, dip, told)).collect::<Result<Vec<_>, _>>()?;
    rows.sort_by_key(|row| row.grade != Grade::Published);
    Ok(rows)
}

fn row(catalogue: &Catalogue, reagent: &Reagent, dip: &Dip, told: Estimate) -> Result<Beside, ChemError> {
    let goal = goal(dip, reagent, catalogue.measuring())?;
    let marked = catalogue.source(&dip.target.source).is_none_or(|source| source.mark().is_some());
    let grade = match marked {
        _ if dip.target.source == KEEPERS_OWN => Grade::Keeper,
        true => Grade::CommonPractice,
        false => Grade::Published,
    };
    Ok(Beside {
        dip: dip.key.clone(),
        aim: dip.target.aim.clone(),
        grade,
        source: dip.target.source.clone(),
        minutes: Span { low: dip.minutes.low, high: dip.minutes.high },
        for_plants: !dip.plants.starts_with("none"),
        ratio: told.scaled(1.0 / goal.aim.to_g_per_l()),
        goal,
    })
}

impl Beside {
    /// The ends of the dip's band over its aim.
    fn band(&self) -> (f64, f64) {
        let aim = self.goal.aim.to_g_per_l();
        (self.goal.low.to_g_per_l() / aim, self.goal.high.to_g_per_l() / aim)
    }

    /// True if the recipe's middle lies in the dip's band.
    #[must_use]
    pub fn is_in_band(&self) -> bool {
        let (low, high) = self.band();
        (low..=high).contains(&self.ratio.mid)
    }

    /// What the recipe is of it, in words: `190 (110–280) times its figure`, `in its band`, `0.4 of its low end`.
    #[must_use]
    pub fn words(&self) -> String {
        let (low, high) = self.band();
        match self.ratio.mid {
            mid if mid > high => format!("{} times its figure", figure(self.ratio)),
            mid if mid < low => format!("{} of its low end", figure(self.ratio.scaled(1.0 / low))),
            _ if self.ratio.low < low || self.ratio.high > high => "in its band, if all is as assumed".to_owned(),
            _ => "in its band".to_owned(),
        }
    }
}

/// A ratio with its band, or with two figures where it has none.
fn figure(ratio: Estimate) -> String {
    if ratio.is_exact() { show::significant(ratio.mid, 2) } else { show::with_band(ratio) }
}
