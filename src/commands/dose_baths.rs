//! `dose --baths`: several equal baths of one dip on one day.

use super::allocating::{NeedLine, needed, needs};
use super::{Problem, Session};
use crate::catalogue::Dip;
use crate::dip::allot::{Portion, Supply, Want, allot};
use crate::dip::measure::Bench;
use crate::dip::{Bath, Offer, Verdict};
use crate::units::{Volume, show};

/// Equal baths, and what all of them take.
#[derive(Debug, Clone)]
pub struct Baths {
    /// Each bath, in order.
    pub portions: Vec<Portion>,
    /// Stocks with what all baths take of them, in their units: first reagent, then neutraliser.
    pub taken: Vec<Taken>,
    /// What all baths take, by reagent.
    pub needs: Vec<NeedLine>,
}

/// What all baths take of a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// The stock's code.
    pub code: String,
    /// How much.
    pub amount: f64,
    /// `mL` or `g`.
    pub unit: String,
    /// True if it only stops them.
    pub stops: bool,
}

impl Baths {
    /// The worst verdict of all.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        self.portions.iter().map(|portion| portion.plan.verdict).max().unwrap_or(Verdict::Short)
    }

    /// How many are ready.
    #[must_use]
    pub fn ready(&self) -> usize {
        self.portions.iter().filter(|portion| portion.plan.verdict == Verdict::Ready).count()
    }

    /// What to do next.
    pub(super) fn next_step(&self, dip: &Dip, volume: Volume) -> String {
        let dose = format!("brimstock dose {} --bath {}L", dip.key, show::plain(volume.to_l()));
        match (self.verdict(), self.ready()) {
            (Verdict::Ready, _) => {
                let takes: Vec<String> = self
                    .taken
                    .iter()
                    .map(|taken| {
                        let amount = show::amount(taken.amount, &taken.unit).replace(' ', "");
                        format!("`brimstock take {} {amount}`", taken.code)
                    })
                    .collect();
                format!("measure each bath out, then enter what you took: {}", takes.join(", "))
            }
            (_, 0) => format!("ask for one bath, and what it lacks: `{dose}`"),
            (_, ready) => format!("ask again with those that are ready: `{dose} --baths {ready}`"),
        }
    }
}

/// Allots stocks to so many equal baths.
///
/// # Errors
/// A failure of the solver, and what [`needed`] returns.
pub(super) fn several(
    session: &Session,
    bench: &Bench<'_>,
    bath: &Bath<'_>,
    own: &[Offer],
    neutralisers: &[Offer],
    count: u32,
) -> Result<Baths, Problem> {
    let stopping = needed(session, bath)?;
    let want = Want { day: session.day, lot: "", count, bath: bath.clone(), stopping, bench: *bench };
    let stop = want.stopping.as_ref().map(|stopping| stopping.neutraliser.clone()).unwrap_or_default();
    let of = |offer, reagent| Supply { offer, reagent };
    let mut supplies: Vec<Supply<'_>> = own.iter().map(|offer| of(offer, bath.dip.reagent.as_str())).collect();
    supplies.extend(neutralisers.iter().map(|offer| of(offer, stop.as_str())));
    let wants = [want];
    let allotted = allot(&wants, &supplies)?;
    let needs = needs(&wants, &supplies, &allotted.missing);
    let taken = supplies.iter().enumerate().filter_map(|(index, supply)| {
        let drawn = allotted.portions.iter().flat_map(|portion| &portion.drawn);
        let amount: f64 = drawn.filter(|(stock, _)| *stock == index).map(|(_, amount)| amount).sum();
        let (code, unit) = (supply.offer.code.clone(), supply.offer.unit.clone());
        (amount > 0.0).then_some(Taken { code, amount, unit, stops: index >= own.len() })
    });
    let taken = taken.collect();
    Ok(Baths { portions: allotted.portions, taken, needs })
}
