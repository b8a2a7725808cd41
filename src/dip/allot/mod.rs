//! Which stock goes into which bath: one allocation over many baths and days that over-draws nothing.

mod portion;
mod programme;

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Days, NaiveDate};
use thiserror::Error;

use self::portion::{Part, portions};
use self::programme::{Class, Way, cheapest, counts, served, with_missing};
use super::measure::Bench;
use super::plan::{Source, is_ready};
use super::stop::Stopping;
use super::{Bath, Dose, Offer, Plan};
use crate::catalogue::Form;
use crate::decay::mixture::Mixture;
use crate::decay::posterior::Standing;

/// How far ahead one looks for which of two stocks of one age weakens faster, days.
const WEAKENING_DAYS: u64 = 90;

/// What a stock costs more that could not reach the keeper's chance alone. Source: `judgement`, as all prices.
const DOUBTFUL: f64 = 2.0;

/// What a stock costs more of which there is no estimate.
const UNKNOWN: f64 = 4.0;

/// Baths that are wanted: so many, alike, on one day for one lot.
#[derive(Debug, Clone)]
pub struct Want<'a> {
    /// The day.
    pub day: NaiveDate,
    /// The lot: of baths that are alike the first by name is served first.
    pub lot: &'a str,
    /// How many.
    pub count: u32,
    /// Each of them.
    pub bath: Bath<'a>,
    /// What stopping one of them takes, where it must be stopped; what it says of the shelf is not read.
    pub stopping: Option<Stopping>,
    /// What it is measured with.
    pub bench: Bench<'a>,
}

impl Want<'_> {
    /// Grams of reagent in one bath at its aim.
    #[must_use]
    pub fn grams(&self) -> f64 {
        self.bath.goal.aim.to_g_per_l() * self.bath.volume.to_l()
    }
}

/// A stock that may be drawn on.
#[derive(Debug, Clone, Copy)]
pub struct Supply<'a> {
    /// What it brings.
    pub offer: &'a Offer,
    /// Key of its reagent.
    pub reagent: &'a str,
}

impl Supply<'_> {
    fn is_usable(&self) -> bool {
        self.offer.hold.is_none() && self.offer.left > 0.0
    }

    fn content(&self, day: NaiveDate) -> Option<Mixture> {
        match &self.offer.standing {
            Standing::Known(known) => Some(known.later(day)),
            Standing::Unknown { .. } => None,
        }
    }

    /// What is left of it after a while, in parts of what it holds.
    fn keeps(&self, from: NaiveDate) -> f64 {
        match &self.offer.standing {
            Standing::Known(known) if !known.keeps() => {
                known.later(from + Days::new(WEAKENING_DAYS)).quantile(0.5) / known.content.quantile(0.5)
            }
            _ => 1.0,
        }
    }
}

/// What one bath gets.
#[derive(Debug, Clone)]
pub struct Portion {
    /// The number of what was wanted.
    pub want: usize,
    /// Which of its baths, from 1.
    pub number: u32,
    /// What can be done, as for one bath alone from what it was allotted; without an allotment from what nobody else takes.
    pub plan: Plan,
    /// Its stopping, held against what it was allotted.
    pub stopping: Option<Stopping>,
    /// What to measure out to stop it.
    pub neutraliser: Vec<Dose>,
    /// The numbers of the stocks it draws on, for itself and for its neutraliser, and how much, in the stock's unit.
    pub drawn: Vec<(usize, f64)>,
}

/// What the shelf lacks on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Missing {
    /// Key of the reagent.
    pub reagent: String,
    /// The day it is missing.
    pub day: NaiveDate,
    /// Grams, as the baths count them.
    pub grams: f64,
}

/// The allocation.
#[derive(Debug, Clone)]
pub struct Allotted {
    /// Every bath, in the order of what was wanted and its numbers.
    pub portions: Vec<Portion>,
    /// What would have to be there for all of them: the shelf's stocks first, and whatever is missing as late as may be.
    pub missing: Vec<Missing>,
}

/// The programme found no answer that it could verify.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the allocation could not be computed: {0}")]
pub struct Unsolved(String);

impl From<microlp::Error> for Unsolved {
    fn from(error: microlp::Error) -> Self {
        Unsolved(error.to_string())
    }
}

/// Allots stocks to baths.
///
/// One linear programme for all baths that can touch the same stocks. Its variables are the amounts of every stock for every
/// bath and every neutraliser. A bath takes `aim × volume` grams of reagent at the median on its day, never more litres than
/// it holds, and its planned neutraliser, of which a solution counts by the weak end of its band. No stock gives more than is
/// left of it, over all its uses. Where not all baths can be served, they are served in the order of their days, of one day the
/// smaller first: each if it can be beside all before it that are. Nothing is spent on half a bath. Among all ways to do that
/// the cheapest is taken: older stocks before newer, of one age the faster weakening, those that could not reach the
/// keeper's chance alone only where no other will do. Then each bath is planned by itself from what it was allotted.
///
/// # Errors
/// [`Unsolved`] if the solver fails, which it says of numbers that span more than six orders of magnitude.
///
/// Source: `judgement` (order and prices); the solver is the crate `microlp`, a simplex.
pub fn allot(wants: &[Want<'_>], supplies: &[Supply<'_>]) -> Result<Allotted, Unsolved> {
    let shelf = Shelf::of(wants, supplies);
    let order = Kind::all(wants);
    let mut missing: BTreeMap<(String, NaiveDate), f64> = BTreeMap::new();
    let mut parts: Vec<Part> = Vec::new();
    for group in groups(wants, &order) {
        let kinds: Vec<&Kind> = group.iter().map(|index| &order[*index]).collect();
        let classes = shelf.classes(wants, &kinds);
        let whole = with_missing(&classes, &shelf.left)?;
        let lacks = |share: &[f64]| share.iter().any(|share| counts(*share));
        let (served_of, shares) = if lacks(&whole.missing) || lacks(&whole.stop_missing) {
            let served = served(&classes, &shelf.left)?;
            let shares = cheapest(&classes, &served, &shelf.left)?;
            (served, shares.ok_or_else(|| Unsolved("what can be served has no solution".to_owned()))?)
        } else {
            (classes.iter().map(|class| class.count).collect(), whole.clone())
        };
        for (index, kind) in kinds.iter().enumerate() {
            let want = &wants[kind.members[0].0];
            let mut lack = |reagent: &str, share: f64, grams: f64| {
                if counts(share) {
                    *missing.entry((reagent.to_owned(), want.day)).or_default() += share * grams;
                }
            };
            lack(&want.bath.dip.reagent, whole.missing[index], want.grams());
            if let Some(stopping) = &want.stopping {
                lack(&stopping.neutraliser, whole.stop_missing[index], stopping.planned.to_g());
            }
            let evenly = classes[index].may_run_over();
            let baths = libm::round(served_of[index]) as usize;
            let units = |ways: &[Way], shares: &[(usize, f64)]| {
                split(shares, baths, evenly).into_iter().map(|bath| in_units(ways, bath)).collect::<Vec<_>>()
            };
            let reagent = units(&classes[index].ways, &shares.reagent[index]);
            let stop = units(classes[index].stops.as_deref().unwrap_or_default(), &shares.stop[index]);
            for (at, (want, number)) in kind.members.iter().copied().enumerate() {
                let allotted = (at < baths).then(|| (reagent[at].clone(), stop[at].clone()));
                parts.push(Part { want, number, allotted });
            }
        }
    }
    let mut portions = portions(wants, &shelf, parts);
    portions.sort_by_key(|portion| (portion.want, portion.number));
    let missing = missing.into_iter().map(|((reagent, day), grams)| Missing { reagent, day, grams });
    Ok(Allotted { portions, missing: missing.collect() })
}

/// Baths that are alike, each the number of what was wanted and its own.
struct Kind {
    members: Vec<(usize, u32)>,
}

impl Kind {
    /// All kinds in the order in which they are served.
    fn all(wants: &[Want<'_>]) -> Vec<Kind> {
        let mut order: Vec<usize> = (0..wants.len()).filter(|index| wants[*index].count > 0).collect();
        let alike = |a: &Want<'_>, b: &Want<'_>| {
            let keys = (&a.bath.dip.key, a.bath.dip.version).cmp(&(&b.bath.dip.key, b.bath.dip.version));
            let volumes = a.bath.volume.to_l().total_cmp(&b.bath.volume.to_l());
            a.day.cmp(&b.day).then(a.grams().total_cmp(&b.grams())).then(keys).then(volumes)
        };
        order.sort_by(|a, b| {
            let (one, other) = (&wants[*a], &wants[*b]);
            alike(one, other).then_with(|| one.lot.cmp(other.lot)).then(one.count.cmp(&other.count))
        });
        let same = |a: &usize, b: &usize| alike(&wants[*a], &wants[*b]).is_eq();
        let kinds = order.chunk_by(same).map(|wanted| {
            let members = wanted.iter().flat_map(|want| (1..=wants[*want].count).map(|number| (*want, number)));
            Kind { members: members.collect() }
        });
        kinds.collect()
    }
}

/// The kinds that share no reagent with those of another group, in order.
fn groups(wants: &[Want<'_>], kinds: &[Kind]) -> Vec<Vec<usize>> {
    let mut groups: Vec<(BTreeSet<&str>, Vec<usize>)> = Vec::new();
    for (index, kind) in kinds.iter().enumerate() {
        let want = &wants[kind.members[0].0];
        let mut reagents = BTreeSet::from([want.bath.dip.reagent.as_str()]);
        reagents.extend(want.stopping.as_ref().map(|stopping| stopping.neutraliser.as_str()));
        let (touched, apart): (Vec<_>, Vec<_>) =
            groups.into_iter().partition(|(theirs, _)| !theirs.is_disjoint(&reagents));
        let mut members = Vec::new();
        for (theirs, indices) in touched {
            reagents.extend(theirs);
            members.extend(indices);
        }
        members.push(index);
        members.sort_unstable();
        groups = apart;
        groups.push((reagents, members));
    }
    groups.into_iter().map(|(_, members)| members).collect()
}

/// The stocks that may be used, the oldest first, with what they hold on every day that is asked for.
struct Shelf<'a> {
    /// Every stock, those that may not be used among them.
    all: &'a [Supply<'a>],
    supplies: Vec<Supply<'a>>,
    /// The number that each has outside.
    numbers: Vec<usize>,
    left: Vec<f64>,
    contents: BTreeMap<NaiveDate, Vec<Option<Mixture>>>,
}

impl<'a> Shelf<'a> {
    fn of(wants: &[Want<'_>], supplies: &'a [Supply<'a>]) -> Self {
        let days: BTreeSet<NaiveDate> = wants.iter().map(|want| want.day).collect();
        let first = days.first().copied().unwrap_or_default();
        let usable = supplies.iter().enumerate().filter(|(_, supply)| supply.is_usable());
        let mut usable: Vec<(usize, Supply<'a>, f64)> =
            usable.map(|(number, supply)| (number, *supply, supply.keeps(first))).collect();
        usable.sort_by(|(_, a, a_keeps), (_, b, b_keeps)| {
            let ages = a.offer.received.cmp(&b.offer.received);
            ages.then(a_keeps.total_cmp(b_keeps)).then(a.offer.code.cmp(&b.offer.code))
        });
        let content = |day: &NaiveDate| usable.iter().map(|(_, supply, _)| supply.content(*day)).collect();
        Shelf {
            all: supplies,
            contents: days.iter().map(|day| (*day, content(day))).collect(),
            left: usable.iter().map(|(_, supply, _)| supply.offer.left).collect(),
            numbers: usable.iter().map(|(number, ..)| *number).collect(),
            supplies: usable.into_iter().map(|(_, supply, _)| supply).collect(),
        }
    }

    fn content(&self, stock: usize, day: NaiveDate) -> Option<&Mixture> {
        self.contents.get(&day).and_then(|contents| contents[stock].as_ref())
    }

    /// The numbers of the stocks of a reagent.
    fn of_reagent(&self, reagent: &str) -> impl Iterator<Item = usize> {
        (0..self.supplies.len()).filter(move |stock| self.supplies[*stock].reagent == reagent)
    }

    fn classes(&self, wants: &[Want<'_>], kinds: &[&Kind]) -> Vec<Class> {
        let mut most: BTreeMap<&str, f64> = BTreeMap::new();
        let uses = |kind: &&Kind| {
            let want = &wants[kind.members[0].0];
            let stop = want.stopping.as_ref().map(|stop| (stop.neutraliser.as_str(), stop.planned.to_g()));
            std::iter::once((want.bath.dip.reagent.as_str(), want.grams())).chain(stop).collect::<Vec<_>>()
        };
        for (reagent, grams) in kinds.iter().flat_map(uses) {
            let most = most.entry(reagent).or_insert(grams);
            *most = most.max(grams);
        }
        let weight = |reagent: &str, grams: f64| {
            let part = most.get(reagent).map_or(1.0, |most| grams / most);
            part.max(1e-3)
        };
        let class = |kind: &&Kind| {
            let want = &wants[kind.members[0].0];
            let stop = want.stopping.as_ref();
            Class {
                count: kind.members.len() as f64,
                weight: weight(&want.bath.dip.reagent, want.grams()),
                stop_weight: stop.map_or(1.0, |stop| weight(&stop.neutraliser, stop.planned.to_g())),
                ways: self.ways(want),
                stops: stop.map(|stop| self.stops(want.day, stop)),
            }
        };
        kinds.iter().map(class).collect()
    }

    /// Where a bath's reagent can come from.
    fn ways(&self, want: &Want<'_>) -> Vec<Way> {
        let stocks: Vec<usize> = self.of_reagent(&want.bath.dip.reagent).collect();
        let (grams, litres) = (want.grams(), want.bath.volume.to_l());
        let way = |(rank, stock): (usize, &usize)| {
            let offer = self.supplies[*stock].offer;
            let content = self.content(*stock, want.day);
            let median = content.map_or(offer.label, |content| content.quantile(0.5));
            let units = grams / (median * offer.per_unit());
            let doubt = match content {
                None => UNKNOWN,
                Some(content) => {
                    let plenty = Offer { left: 2.0 * units, ..offer.clone() };
                    let source = Source { offer: &plenty, content: Some(content.clone()) };
                    if is_ready(&want.bath, &[source], &want.bench) { 0.0 } else { DOUBTFUL }
                }
            };
            let price = doubt + rank as f64 / stocks.len() as f64;
            Way { stock: *stock, units, filling: units * offer.litres_per_unit() / litres, price }
        };
        stocks.iter().enumerate().map(way).filter(|way| way.units.is_finite()).collect()
    }

    /// Where its neutraliser can come from: a salt counts as it stands, a solution by the weak end of its band.
    fn stops(&self, day: NaiveDate, stop: &Stopping) -> Vec<Way> {
        let stocks: Vec<usize> = self.of_reagent(&stop.neutraliser).collect();
        let way = |(rank, stock): (usize, &usize)| {
            let per_unit = self.stop_grams(*stock, day);
            let units = stop.planned.to_g() / per_unit;
            Way { stock: *stock, units, filling: 0.0, price: rank as f64 / stocks.len() as f64 }
        };
        stocks.iter().enumerate().map(way).filter(|way| way.units.is_finite()).collect()
    }

    /// Grams of neutraliser that one unit of a stock is counted for.
    fn stop_grams(&self, stock: usize, day: NaiveDate) -> f64 {
        let offer = self.supplies[stock].offer;
        match (offer.form, self.content(stock, day)) {
            (Form::Solid, _) => 1.0,
            (Form::Solution, Some(content)) => offer.per_unit() * content.quantile(0.05),
            (Form::Solution, None) => 0.0,
        }
    }
}

/// Shares of so many baths, bath by bath: one stock after the other, or the same of each for all where one of them is so weak
/// that a bath of it alone would run over.
fn split(shares: &[(usize, f64)], baths: usize, evenly: bool) -> Vec<Vec<(usize, f64)>> {
    if evenly {
        let each = shares.iter().map(|(stock, share)| (*stock, share / baths as f64)).collect();
        return vec![each; baths];
    }
    let mut rest = shares.iter().copied();
    let mut open = rest.next();
    (0..baths)
        .map(|_| {
            let mut wanted = 1.0;
            let mut bath = Vec::new();
            while let Some((stock, share)) = open
                && counts(wanted)
            {
                let taken = share.min(wanted);
                wanted -= taken;
                bath.push((stock, taken));
                open = if counts(share - taken) { Some((stock, share - taken)) } else { rest.next() };
            }
            bath
        })
        .collect()
}

/// Shares as amounts of their stocks.
fn in_units(ways: &[Way], shares: Vec<(usize, f64)>) -> Vec<(usize, f64)> {
    let units = |stock: usize| ways.iter().find(|way| way.stock == stock).map_or(0.0, |way| way.units);
    shares.into_iter().map(|(stock, share)| (stock, share * units(stock))).collect()
}
