//! Which bottles: the oldest that will do, as few as possible, never one that is held.

use chrono::NaiveDate;

use super::measure::Bench;
use super::plan::{Source, plan, to_spare};
use super::{Bath, Offer, Plan, Until, Verdict};
use crate::decay::mixture::Mixture;
use crate::decay::posterior::{Known, Standing};
use crate::units::Volume;

/// How far ahead `until` looks.
const HORIZON_DAYS: u64 = 3653;

/// How many combinations are tried before everything is poured together.
const MOST_COMBINATIONS: usize = 2000;

/// The plan that a shelf has for a bath.
///
/// Every stock alone, then every pair, and so on, the oldest poured first and, if that does not do, the strongest; the first
/// choice that is `ready` is taken, else the best found, everything together among them. A stock more only adds choices, so
/// it never makes a verdict worse, as long as there are no more than can be tried (all of a dozen bottles).
#[must_use]
pub fn pick(bath: &Bath<'_>, offers: &[Offer], day: NaiveDate, bench: &Bench<'_>) -> Plan {
    let mut usable: Vec<&Offer> = offers.iter().filter(|offer| offer.hold.is_none() && offer.left > 0.0).collect();
    usable.sort_by(|a, b| (a.received, &a.code).cmp(&(b.received, &b.code)));
    if usable.is_empty() {
        return nothing_usable(bath, offers);
    }
    let sources: Vec<Source<'_>> = usable.iter().map(|offer| source(offer)).collect();
    let mut best: Option<(Plan, Vec<usize>)> = None;
    let mut tried = 0;
    for size in 1..=usable.len() {
        for chosen in combinations(usable.len(), size) {
            if size > 1 && !may_suffice(bath, &usable, &chosen) {
                continue;
            }
            tried += 1;
            if tried > MOST_COMBINATIONS {
                break;
            }
            consider(bath, &sources, chosen, bench, &mut best);
            if let Some((plan, _)) = best.as_ref().filter(|(plan, _)| plan.verdict == Verdict::Ready) {
                let chosen = best.as_ref().map(|(_, chosen)| chosen.clone()).unwrap_or_default();
                let until = until(bath, &usable, &chosen, day, bench);
                return Plan { until, largest: largest(bath, &sources, plan, bench), ..plan.clone() };
            }
        }
    }
    consider(bath, &sources, (0..usable.len()).collect(), bench, &mut best);
    let (mut plan, chosen) = best.unwrap_or_else(|| (nothing_usable(bath, offers), Vec::new()));
    plan.largest = largest(bath, &sources, &plan, bench);
    if plan.verdict == Verdict::Ready {
        plan.until = until(bath, &usable, &chosen, day, bench);
    }
    plan
}

/// The largest bath that everything together could make, or the chosen stocks alone where the rest would only thin them.
fn largest(bath: &Bath<'_>, sources: &[Source<'_>], chosen: &Plan, bench: &Bench<'_>) -> Volume {
    // A single stock was chosen as it is.
    let [_, _, ..] = sources else { return chosen.largest };
    let all = plan(bath, sources, bench).largest;
    if all > chosen.largest { all } else { chosen.largest }
}

/// False if even by their labels, and a little more, these stocks could not reach the band.
fn may_suffice(bath: &Bath<'_>, usable: &[&Offer], chosen: &[usize]) -> bool {
    let most: f64 = chosen.iter().map(|i| usable[*i].left * usable[*i].per_unit() * usable[*i].label).sum();
    1.2 * most >= bath.goal.low.to_g_per_l() * bath.volume.to_l()
}

fn consider(
    bath: &Bath<'_>,
    sources: &[Source<'_>],
    chosen: Vec<usize>,
    bench: &Bench<'_>,
    best: &mut Option<(Plan, Vec<usize>)>,
) {
    let made_of = |order: &[usize]| {
        let some: Vec<Source<'_>> = order.iter().map(|i| sources[*i].clone()).collect();
        plan(bath, &some, bench)
    };
    let oldest_first = made_of(&chosen);
    let not_ready = oldest_first.verdict != Verdict::Ready;
    keep_better(oldest_first, chosen.clone(), best);
    if not_ready && chosen.len() > 1 {
        let mut strongest_first = chosen;
        let strength = |i: usize| sources[i].offer.label * sources[i].offer.per_unit();
        strongest_first.sort_by(|a, b| strength(*b).total_cmp(&strength(*a)));
        keep_better(made_of(&strongest_first), strongest_first, best);
    }
}

fn keep_better(plan: Plan, chosen: Vec<usize>, best: &mut Option<(Plan, Vec<usize>)>) {
    // Of two that are not enough the larger bath is better, of two that are not sure the likelier one.
    let rank = |plan: &Plan| {
        let merit = if plan.verdict == Verdict::Short { plan.largest.to_l() } else { plan.chance.unwrap_or(0.0) };
        (std::cmp::Reverse(plan.verdict), merit)
    };
    if best.as_ref().is_none_or(|(old, _)| rank(&plan) > rank(old)) {
        *best = Some((plan, chosen));
    }
}

fn source(offer: &Offer) -> Source<'_> {
    let content = match &offer.standing {
        Standing::Known(known) => Some(known.content.clone()),
        Standing::Unknown { .. } => None,
    };
    Source { offer, content }
}

/// The last day on which the same stocks would still be `ready`.
fn until(bath: &Bath<'_>, usable: &[&Offer], chosen: &[usize], day: NaiveDate, bench: &Bench<'_>) -> Option<Until> {
    let stocks: Vec<(&Offer, &Known)> = chosen
        .iter()
        .filter_map(|i| match &usable[*i].standing {
            Standing::Known(known) => Some((usable[*i], &**known)),
            Standing::Unknown { .. } => None,
        })
        .collect();
    let weakening = stocks.iter().find(|(_, known)| !known.keeps());
    let Some((_, clock)) = weakening else { return Some(Until::NoEnd) };
    let to_spare_on = |on: NaiveDate, _: &Mixture| {
        let sources: Vec<Source<'_>> =
            stocks.iter().map(|(offer, known)| Source { offer, content: Some(known.later(on)) }).collect();
        to_spare(bath, &sources, bench)
    };
    let last = clock.last_day(HORIZON_DAYS, to_spare_on)?;
    let beyond = (last - day).num_days() >= i64::try_from(HORIZON_DAYS).unwrap_or(i64::MAX);
    Some(if beyond { Until::NoEnd } else { Until::Day(last) })
}

/// The answer where no stock may be used: held, or nothing left.
pub(super) fn nothing_usable(bath: &Bath<'_>, offers: &[Offer]) -> Plan {
    let held: Vec<String> = offers
        .iter()
        .filter_map(|offer| offer.hold.as_ref().map(|why| format!("{} is held: {why}", offer.code)))
        .collect();
    let (verdict, reasons) = if held.is_empty() {
        (Verdict::Short, vec![format!("nothing is left of {} that could be used", bath.dip.reagent)])
    } else {
        (Verdict::Held, held)
    };
    Plan::without_doses(verdict, bath, Volume::ml(0.0), reasons)
}

/// Every choice of `size` out of `count` in the order of their indices.
fn combinations(count: usize, size: usize) -> impl Iterator<Item = Vec<usize>> {
    let mut next: Option<Vec<usize>> = (size <= count).then(|| (0..size).collect());
    std::iter::from_fn(move || {
        let current = next.clone()?;
        let mut following = current.clone();
        next = (0..size).rev().find(|i| following[*i] < count - size + i).map(|i| {
            following[i] += 1;
            for j in i + 1..size {
                following[j] = following[j - 1] + 1;
            }
            following.clone()
        });
        Some(current)
    })
}

#[cfg(test)]
mod tests {
    use super::combinations;

    #[test]
    fn combinations_are_complete_and_in_order() {
        let pairs: Vec<_> = combinations(4, 2).collect();
        assert_eq!(pairs, [[0, 1], [0, 2], [0, 3], [1, 2], [1, 3], [2, 3]]);
        assert_eq!(combinations(3, 3).count(), 1);
        assert_eq!(combinations(2, 3).count(), 0);
    }
}
