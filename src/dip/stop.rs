//! Can the bath be stopped again: neutraliser needed against neutraliser held.

use super::{Bath, Offer, Plan, Verdict};
use crate::catalogue::{CountedAs, Form, Reagent, Stop};
use crate::chem::solution::chlorine_per_gram;
use crate::chem::{ChemError, Substance};
use crate::decay::posterior::Standing;
use crate::units::show;
use crate::units::{Concentration, Mass, Volume};

/// What stopping a bath takes and what there is.
#[derive(Debug, Clone, PartialEq)]
pub struct Stopping {
    /// Key of the neutraliser.
    pub neutraliser: String,
    /// Grams by stoichiometry.
    pub theory: Mass,
    /// Grams to plan with, for a bath at its aim.
    pub planned: Mass,
    /// The same for a bath at the upper end of its band.
    pub planned_high: Mass,
    /// Grams on the shelf that may be used.
    pub held: Mass,
    /// Key of the source of the planning figure.
    pub source: String,
}

impl Stopping {
    /// True if the shelf can stop the bath.
    #[must_use]
    pub fn enough(&self) -> bool {
        self.held.to_g() >= self.planned.to_g()
    }
}

/// The neutraliser that a bath at its aim takes, against what the shelf holds.
///
/// `grams = planned × counted`: 10 L at 2.7 g/L available chlorine hold 27.0 g and take 200 g of thiosulfate crystals at
/// 7.4 g/g. The planning figure counts the salt as it stands in the tub; of a solution only the weak end of its band counts,
/// and nothing of a stock that is held or has no estimate.
///
/// # Errors
/// [`ChemError::NotThisReagent`] if chlorine is counted in something that has none.
///
/// Source: the dip's own `stop.planned` and `stop.theory`.
pub fn stopping(
    bath: &Bath<'_>,
    stop: &Stop,
    reagent: &Reagent,
    neutralisers: &[Offer],
) -> Result<Stopping, ChemError> {
    let share = match stop.counted_as {
        CountedAs::Reagent => 1.0,
        CountedAs::AvailableChlorine => chlorine_per_gram(Substance::of(reagent))?,
    };
    let counted_at = |strength: Concentration| strength.to_g_per_l() * bath.volume.to_l() * share;
    let counted = counted_at(bath.goal.aim);
    Ok(Stopping {
        neutraliser: stop.reagent.clone(),
        theory: Mass::g(counted * stop.theory.value),
        planned: Mass::g(counted * stop.planned.value),
        planned_high: Mass::g(counted_at(bath.goal.high) * stop.planned.value),
        held: held(neutralisers),
        source: stop.planned.source.clone(),
    })
}

/// Grams of a neutraliser that may be used: of a solution the weak end of its band, of what is held nothing.
#[must_use]
pub fn held(neutralisers: &[Offer]) -> Mass {
    Mass::g(neutralisers.iter().map(|offer| offer.left * usable_in_one(offer)).sum())
}

/// Grams of a neutraliser that one gram or millilitre of a stock of it is sure to bring.
#[must_use]
pub fn usable_in_one(offer: &Offer) -> f64 {
    match (offer.form, &offer.standing) {
        _ if offer.hold.is_some() => 0.0,
        (Form::Solid, _) => 1.0,
        (Form::Solution, Standing::Known(known)) => offer.per_unit() * known.content.quantile(0.05),
        (Form::Solution, Standing::Unknown { .. }) => 0.0,
    }
}

/// Takes back a `ready` or `test first` that could not be stopped, and lowers the largest bath to what can be.
pub fn limit(plan: &mut Plan, bath: &Bath<'_>, stopping: &Stopping) {
    let stoppable = bath.volume.to_l() * stopping.held.to_g() / stopping.planned.to_g();
    plan.largest = Volume::l(plan.largest.to_l().min(stoppable));
    if stopping.enough() {
        return;
    }
    let most = if stopping.held.to_g() > 0.0 {
        let litres = libm::floor(stoppable * 10.0 + 1e-6) / 10.0;
        let held = show::grams(libm::round(stopping.held.to_g()));
        format!("the shelf holds {held}; {} L is the most that can be stopped", show::plain(litres))
    } else {
        "the shelf holds none".to_owned()
    };
    plan.reasons.push(format!(
        "stopping it takes {} of {}, {most}",
        show::planned_grams(stopping.planned.to_g()),
        stopping.neutraliser,
    ));
    if matches!(plan.verdict, Verdict::Ready | Verdict::TestFirst) {
        plan.verdict = Verdict::Short;
        plan.until = None;
    }
}
