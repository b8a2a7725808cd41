//! What was before a bath and what follows it: the traps in that order, and further baths out of the same shelf.

use std::collections::BTreeMap;

use super::dose::{bath_for, offers, planned, within_the_law};
use super::{Problem, Session, arguments, own_measures};
use crate::catalogue::{After, Dip, Harm};
use crate::dip::measure::Bench;
use crate::dip::pick::pick;
use crate::dip::sequence::{Found, found, left_by, times};
use crate::dip::stop::{Stopping, held, usable_in_one};
use crate::dip::{Bath, Goal, Offer, Plan, Until, Verdict};
use crate::register::Writing;
use crate::register::place::Place;
use crate::units::{Volume, show};

/// One step after the first bath.
#[derive(Debug, Clone)]
pub enum Follow {
    /// Another bath of the same volume.
    Bath(Box<NextBath>),
    /// So many rinses.
    Rinse(u8),
    /// A bath with a little of this neutraliser.
    Quench(String),
    /// So many days apart from everything else.
    Hold(u16),
    /// Looks on these days after the bath.
    Look(Vec<u16>),
}

/// A bath that follows another one on the same day.
#[derive(Debug, Clone)]
pub struct NextBath {
    /// The dip.
    pub dip: Dip,
    /// Its band.
    pub goal: Goal,
    /// What to measure out, from what the baths before it leave.
    pub plan: Plan,
    /// What stopping it takes, and what the baths before it leave for that.
    pub stopping: Option<Stopping>,
    /// What the rest of the shelf offers of its reagent.
    pub offers: Vec<Offer>,
}

/// What is asked: one bath, with what the register says.
pub(super) struct Asked<'a, 'w> {
    /// The session.
    pub session: &'a Session,
    /// The register.
    pub reading: &'a Writing<'w>,
    /// Its places.
    pub places: &'a [Place],
    /// Relative standard deviation of the vessel, where the keeper's own was named.
    pub vessel_sd: Option<f64>,
}

/// The traps between what the keeper says was there before and a dip.
///
/// # Errors
/// For a word that is neither a dip nor a reagent.
pub(super) fn before(session: &Session, after: &[String], rinsed: u8, dip: &Dip) -> Result<Vec<Found>, Problem> {
    let mut traps = Vec::new();
    for word in after {
        let (name, left) = what_was(session, word)?;
        let left: Vec<&str> = left.iter().map(String::as_str).collect();
        traps.extend(found(session.catalogue, &name, &left, dip, rinsed));
    }
    Ok(traps)
}

/// What a word of `--after` names, and what that leaves behind.
fn what_was(session: &Session, word: &str) -> Result<(String, Vec<String>), Problem> {
    let unknown_dip = match arguments::dip(session.catalogue, word) {
        Ok(dip) => {
            let mut left: Vec<String> = left_by(dip).into_iter().map(str::to_owned).collect();
            for key in further(dip) {
                left.extend(left_by(arguments::dip(session.catalogue, key)?).into_iter().map(str::to_owned));
            }
            return Ok((dip.key.clone(), left));
        }
        Err(problem) => problem,
    };
    match arguments::reagent(session.catalogue, word) {
        Ok(reagent) => Ok((reagent.key.clone(), vec![reagent.key.clone()])),
        Err(problem) if session.catalogue.reagents_called(word).len() > 1 => Err(problem),
        Err(problem) => {
            let near = [&unknown_dip, &problem].into_iter().filter_map(|problem| problem.hint.clone());
            let near = near.into_iter().find(|hint| hint.starts_with("did you mean"));
            Err(Problem::question(format!("--after {word}: there is no dip and no reagent of that name")).hint(
                near.unwrap_or_else(|| "`brimstock dips` and `brimstock reagents` list what there is".to_owned()),
            ))
        }
    }
}

/// The dips that follow in the steps of a dip.
fn further(dip: &Dip) -> impl Iterator<Item = &str> {
    dip.steps.iter().filter_map(|step| match step {
        After::Dip(key) => Some(key.as_str()),
        _ => None,
    })
}

/// True if a dip is made of more than one bath.
pub(super) fn is_of_several_baths(dip: &Dip) -> bool {
    further(dip).next().is_some()
}

/// What follows the first bath: each further bath from what the ones before it leave, and the traps between any two.
///
/// The first bath takes what it takes; the second is measured out from the rest, and so on, and each stop is set aside before
/// the next bath is looked at. The largest volume is the least over the reagents, for each the harmonic sum over the baths
/// that draw on it: 300 g of thiosulfate that would stop 15 L of each of two baths stop 7.5 L of both.
///
/// # Errors
/// For a dip in its steps that is not there, and whatever is wrong with a single bath.
pub(super) fn follow(
    asked: &Asked<'_, '_>,
    first: &Bath<'_>,
    plan: &mut Plan,
    stopping: Option<&Stopping>,
) -> Result<(Vec<Follow>, Vec<Found>), Problem> {
    let session = asked.session;
    let mut shelf = Shelf { asked, whole: BTreeMap::new(), rest: BTreeMap::new() };
    let mut litres: BTreeMap<String, f64> = BTreeMap::new();
    let several = is_of_several_baths(first.dip);
    if several {
        shelf.draw(first.dip, plan, stopping)?;
        shelf.count(&mut litres, first, stopping)?;
    }
    let (mut steps, mut traps) = (Vec::new(), Vec::new());
    let mut earlier: Vec<(Dip, u8)> = vec![(first.dip.clone(), 0)];
    for step in &first.dip.steps {
        steps.push(match step {
            After::Rinse(count) => {
                earlier.iter_mut().for_each(|(_, rinsed)| *rinsed = rinsed.saturating_add(*count));
                Follow::Rinse(*count)
            }
            After::Quench => {
                let with = first_stop(earlier.last().map_or(first.dip, |(dip, _)| dip), first.dip);
                Follow::Quench(with)
            }
            After::Hold(days) => Follow::Hold(*days),
            After::Look(days) => Follow::Look(days.clone()),
            After::Dip(key) => {
                let dip = arguments::dip(session.catalogue, key)?;
                for (before, rinsed) in &earlier {
                    let new = found(session.catalogue, &before.key, &left_by(before), dip, *rinsed);
                    traps.extend(new);
                }
                let next = shelf.next(dip, first, &mut litres)?;
                earlier.push((dip.clone(), 0));
                Follow::Bath(Box::new(next))
            }
        });
    }
    if several {
        let most = litres.values().map(|inverse| 1.0 / inverse).fold(plan.largest.to_l(), f64::min);
        plan.largest = Volume::l(most);
    }
    Ok((steps, traps))
}

/// The neutraliser of the last bath, or else of the first.
fn first_stop(last: &Dip, first: &Dip) -> String {
    let stop = last.stop.as_ref().or(first.stop.as_ref());
    stop.map_or_else(|| "neutraliser".to_owned(), |stop| stop.reagent.clone())
}

/// The shelf as a chain of baths empties it.
struct Shelf<'a, 'w> {
    asked: &'a Asked<'a, 'w>,
    whole: BTreeMap<String, Vec<Offer>>,
    rest: BTreeMap<String, Vec<Offer>>,
}

impl Shelf<'_, '_> {
    /// Looks at a reagent once.
    fn look(&mut self, reagent: &str) -> Result<(), Problem> {
        if !self.whole.contains_key(reagent) {
            let there = offers(self.asked.session, self.asked.reading, self.asked.places, reagent)?;
            self.whole.insert(reagent.to_owned(), there.clone());
            self.rest.insert(reagent.to_owned(), there);
        }
        Ok(())
    }

    /// Takes what a bath takes and what stopping it takes.
    fn draw(&mut self, dip: &Dip, plan: &Plan, stopping: Option<&Stopping>) -> Result<(), Problem> {
        self.look(&dip.reagent)?;
        for offer in self.rest.get_mut(&dip.reagent).into_iter().flatten() {
            let taken = plan.doses.iter().filter(|dose| dose.code == offer.code).map(|dose| dose.amount);
            offer.left = (offer.left - taken.sum::<f64>()).max(0.0);
        }
        let Some(stopping) = stopping else { return Ok(()) };
        self.look(&stopping.neutraliser)?;
        let mut grams = stopping.planned.to_g();
        for offer in self.rest.get_mut(&stopping.neutraliser).into_iter().flatten() {
            let in_one = usable_in_one(offer);
            if in_one <= 0.0 {
                continue;
            }
            let taken = (grams / in_one).min(offer.left);
            offer.left -= taken;
            grams -= taken * in_one;
        }
        Ok(())
    }

    /// Adds, for each reagent that a bath draws on, one over the litres that the whole shelf would do of it.
    fn count(
        &mut self,
        litres: &mut BTreeMap<String, f64>,
        bath: &Bath<'_>,
        stopping: Option<&Stopping>,
    ) -> Result<(), Problem> {
        self.look(&bath.dip.reagent)?;
        let bench = Bench::usual(self.asked.session.catalogue.measuring());
        let alone = pick(bath, &self.whole[&bath.dip.reagent], self.asked.session.day, &bench).largest.to_l();
        *litres.entry(bath.dip.reagent.clone()).or_default() += 1.0 / alone;
        if let Some(stopping) = stopping {
            self.look(&stopping.neutraliser)?;
            let held = held(&self.whole[&stopping.neutraliser]).to_g();
            let most = bath.volume.to_l() * held / stopping.planned.to_g();
            *litres.entry(stopping.neutraliser.clone()).or_default() += 1.0 / most;
        }
        Ok(())
    }

    /// The next bath, from what is left, which is less by it afterwards.
    fn next(&mut self, dip: &Dip, first: &Bath<'_>, litres: &mut BTreeMap<String, f64>) -> Result<NextBath, Problem> {
        let Asked { session, reading, places, vessel_sd } = *self.asked;
        let bath = bath_for(session, dip, first.volume, first.threshold)?;
        within_the_law(session, &bath)?;
        self.look(&dip.reagent)?;
        let neutralisers = match &dip.stop {
            Some(stop) => {
                self.look(&stop.reagent)?;
                self.rest[&stop.reagent].clone()
            }
            None => Vec::new(),
        };
        let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
        let measures = own_measures::of(session, reading, places, reagent)?;
        let bench = measures.bench(session.catalogue.measuring(), vessel_sd);
        let own = self.rest[&dip.reagent].clone();
        let (plan, stopping) = planned(session, &bench, &bath, &own, &neutralisers)?;
        self.draw(dip, &plan, stopping.as_ref())?;
        self.count(litres, &bath, stopping.as_ref())?;
        Ok(NextBath { dip: dip.clone(), goal: bath.goal, plan, stopping, offers: own })
    }
}

/// The verdict on all of it: that of the worst bath, and `held` while a danger stands between two of them.
pub(super) fn verdict(plan: &Plan, steps: &[Follow], traps: &[Found]) -> Verdict {
    let baths = baths(steps).map(|next| next.plan.verdict).fold(plan.verdict, Verdict::max);
    if danger(traps).next().is_some() { Verdict::Held } else { baths }
}

/// The traps that make gas or fire and were not rinsed away.
pub(super) fn danger(traps: &[Found]) -> impl Iterator<Item = &Found> {
    traps.iter().filter(|found| found.trap.harm == Harm::Danger && !found.is_cleared())
}

/// The further baths among the steps.
pub fn baths(steps: &[Follow]) -> impl Iterator<Item = &NextBath> {
    steps.iter().filter_map(|step| match step {
        Follow::Bath(next) => Some(&**next),
        _ => None,
    })
}

/// Why the whole is not ready, beyond what stands against the first bath.
pub(super) fn reasons(steps: &[Follow], traps: &[Found]) -> Vec<String> {
    let of_baths = baths(steps).flat_map(|next| {
        next.plan
            .reasons
            .iter()
            .map(|reason| format!("{}, from what the baths before it leave: {reason}", next.dip.key))
    });
    let of_traps = danger(traps).map(|found| match found.trap.rinses {
        Some(_) => format!("what is left of {} is dangerous in {}", found.after, found.next),
        None => format!("{} must never follow {}", found.next, found.after),
    });
    of_traps.chain(of_baths).collect()
}

/// The last day on which all of it would be ready.
pub(super) fn until(plan: &Plan, steps: &[Follow]) -> Option<Until> {
    baths(steps).map(|next| next.plan.until).fold(plan.until, |soonest, until| match (soonest?, until?) {
        (Until::Day(one), Until::Day(other)) => Some(Until::Day(one.min(other))),
        (Until::Day(day), Until::NoEnd) | (Until::NoEnd, Until::Day(day)) => Some(Until::Day(day)),
        (Until::NoEnd, Until::NoEnd) => Some(Until::NoEnd),
    })
}

/// What to do about a danger: rinse and ask again, or not at all. `asked` is the question as it was put.
pub(super) fn next_step(dip: &Dip, traps: &[Found], asked: &str) -> Option<String> {
    let worst = danger(traps).max_by_key(|found| found.trap.rinses.unwrap_or(u8::MAX))?;
    Some(match worst.trap.rinses {
        Some(wanted) if worst.next == dip.key => format!(
            "rinse {} in clean water, take a clean vessel, then ask again: `brimstock dose {asked} --rinsed {wanted}`",
            times(wanted)
        ),
        Some(wanted) => format!("let the dip rinse {} between {} and {}", times(wanted), worst.after, worst.next),
        None => format!("leave one of the two out: {} never follows {}", worst.next, worst.after),
    })
}

/// The takes of every bath, to be entered.
pub(super) fn takes<'a>(plans: impl Iterator<Item = &'a Plan>) -> String {
    let takes = plans.flat_map(|plan| &plan.doses).map(|dose| {
        let amount = show::amount(dose.amount, &dose.unit).replace(' ', "");
        format!("`brimstock take {} {amount}`", dose.code)
    });
    takes.collect::<Vec<_>>().join(", ")
}
