//! What is wrong with where things stand, and the moves that clear it.
//!
//! Stocks that are alike in all that the rules ask are one item: ten bottles of the same bleach beside an acid are one finding
//! with eleven codes, and move together.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::audit::{Carry, Finding, LeastBad, Overruled};
use super::layout::{Layout, Stands};
use crate::catalogue::Form;
use crate::hazard::apart::Neighbour;
use crate::hazard::arrange::{Board, arrange};
use crate::hazard::storage::{Fault, Occupant, Severity, alone, together};

/// What moves can do.
#[derive(Debug, Clone)]
pub struct Moves {
    /// The moves, in the order of the stocks.
    pub moves: Vec<Carry>,
    /// False if there may be better ones.
    pub proven: bool,
    /// How many findings they leave, those apart for all of which the keeper has a reason.
    pub stuck: usize,
    /// Where a danger is left: the one move more that would make least of it.
    pub least_bad: Option<LeastBad>,
}

/// Items times places up to which the least bad move is looked for.
const TRIED: usize = 600;

/// Stocks that are alike and stand together.
struct Item {
    place: usize,
    kind: usize,
    /// The row that put it there against a warning; such a stock is an item of its own, and stays.
    reason: Option<i64>,
    /// True if it must not be lifted: swollen, brittle, too strong.
    fixed: bool,
    /// The row that put the first of them there: before the same reasons as the rest.
    placed: i64,
    members: Vec<usize>,
}

impl Item {
    /// True if it stands where it stands against the other: its reason speaks for what was there, not for what came later.
    fn accepts(&self, other: &Item) -> bool {
        self.reason.is_some_and(|row| other.placed < row)
    }
}

/// What a finding is gathered from.
#[derive(Default)]
struct Gathered {
    stocks: BTreeSet<usize>,
    reasons: BTreeSet<usize>,
    open: bool,
}

impl Gathered {
    fn take(&mut self, item: &Item, accepted: bool) {
        self.stocks.extend(&item.members);
        self.open |= !accepted;
        if accepted && item.reason.is_some() {
            self.reasons.extend(&item.members);
        }
    }
}

impl<'a> Layout<'a> {
    /// What is wrong with where things stand.
    #[must_use]
    pub fn placing(&self) -> Vec<Finding> {
        let (kinds, items) = self.items();
        let mut found: BTreeMap<(Fault, String), Gathered> = BTreeMap::new();
        for (number, item) in items.iter().enumerate() {
            let here = (kinds[item.kind], &self.sites[item.place]);
            for fault in alone(self.apart, here.0, here.1) {
                let gathered = found.entry((fault, here.1.name.clone())).or_default();
                gathered.take(item, item.reason.is_some());
            }
            for other in &items[number + 1..] {
                let there = (kinds[other.kind], &self.sites[other.place]);
                let place = if item.place == other.place { &here.1.name } else { here.1.whole() };
                for fault in together(self.apart, here, there) {
                    let gathered = found.entry((fault, place.to_owned())).or_default();
                    let accepted = item.accepts(other) || other.accepts(item);
                    gathered.take(item, accepted);
                    gathered.take(other, accepted);
                }
            }
        }
        let finding = |((fault, place), Gathered { stocks, reasons, open })| {
            let overruled = reasons.iter().filter_map(|stock: &usize| {
                let Stands { code, overruled, .. } = &self.stocks[*stock];
                let (since, why) = overruled.as_ref()?;
                Some(Overruled { stock: code.clone(), since: *since, why: why.clone() })
            });
            let overruled = overruled.collect();
            Finding { fault, place: Some(place), stocks: self.codes(&stocks), overruled, open }
        };
        let mut findings: Vec<Finding> = found.into_iter().map(finding).collect();
        findings.sort();
        findings
    }

    /// The smallest set of moves that clears what moves can clear.
    #[must_use]
    pub fn moves(&self) -> Moves {
        let (kinds, items) = self.items();
        let weights: Vec<u64> = items.iter().map(|item| item.members.len() as u64).collect();
        let start: Vec<usize> = items.iter().map(|item| item.place).collect();
        let pinned: Vec<bool> = items.iter().map(|item| item.reason.is_some() || item.fixed).collect();
        let gravest = |faults: Vec<Fault>| faults.iter().map(|fault| fault.severity).min();
        let known: RefCell<BTreeMap<[usize; 4], Option<Severity>>> = RefCell::default();
        let board = Board {
            weights: &weights,
            start: &start,
            pinned: &pinned,
            places: self.sites.len(),
            alone: &|item, place| {
                let Item { kind, reason, .. } = &items[item];
                let accepted = reason.is_some() && place == start[item];
                if accepted { None } else { gravest(alone(self.apart, kinds[*kind], &self.sites[place])) }
            },
            together: &|(one, here), (other, there)| {
                let stay = here == start[one] && there == start[other];
                let accepted = stay && (items[one].accepts(&items[other]) || items[other].accepts(&items[one]));
                if accepted || !self.sites[here].shares_cabinet(&self.sites[there]) {
                    return None;
                }
                let (one, other) = (items[one].kind, items[other].kind);
                *known.borrow_mut().entry([one, here, other, there]).or_insert_with(|| {
                    let (here, there) = (&self.sites[here], &self.sites[there]);
                    gravest(together(self.apart, (kinds[one], here), (kinds[other], there)))
                })
            },
        };
        let plan = arrange(&board);
        let mut after = self.clone();
        let mut moves = Vec::new();
        for (number, step) in board.in_steps(&plan.moves).into_iter().enumerate() {
            for (item, place) in step {
                moves.extend(after.carry(&items[item].members, place, number + 1));
            }
        }
        let stuck = after.placing().iter().filter(|finding| finding.open).count();
        let least_bad = after.least_bad(&items);
        Moves { moves, proven: plan.proven, stuck, least_bad }
    }

    /// Carries stocks to a place.
    fn carry(&mut self, members: &[usize], place: usize, step: usize) -> Vec<Carry> {
        let to = self.sites[place].name.clone();
        let carry = |stock: &usize| {
            let Stands { code, place: from, placed, .. } = &mut self.stocks[*stock];
            let carry = Carry { stock: code.clone(), from: self.sites[*from].name.clone(), to: to.clone(), step };
            (*from, *placed) = (place, i64::MAX);
            carry
        };
        members.iter().map(carry).collect()
    }

    /// Where a danger is left that no clean move clears: the move after which there is least danger, and then least else.
    fn least_bad(&self, items: &[Item]) -> Option<LeastBad> {
        let counts = |findings: &[Finding]| {
            Severity::ALL.map(|severity| {
                findings.iter().filter(|finding| finding.open && finding.fault.severity == severity).count()
            })
        };
        let findings = self.placing();
        let before = counts(&findings);
        if before[0] == 0 || items.len() * self.sites.len() > TRIED {
            return None;
        }
        let in_danger = |item: &&Item| {
            let danger = findings.iter().filter(|finding| finding.open && finding.fault.severity == Severity::Danger);
            let codes: BTreeSet<&String> = danger.flat_map(|finding| &finding.stocks).collect();
            item.reason.is_none()
                && !item.fixed
                && item.members.iter().any(|stock| codes.contains(&self.stocks[*stock].code))
        };
        let mut best: Option<LeastBad> = None;
        for item in items.iter().filter(in_danger) {
            for place in 0..self.sites.len() {
                let mut tried = self.clone();
                let carries = tried.carry(&item.members, place, 1);
                let then = tried.placing();
                let after = counts(&then);
                let made = then.iter().filter(|finding| !findings.iter().any(|known| known.is_same(finding)));
                let made: Vec<&Finding> = made.filter(|made| made.fault.severity < Severity::Minor).collect();
                let bound = best.as_ref().map_or(before, |best| best.after);
                // Only what takes away a danger, and makes none, is worth a fault elsewhere.
                let fair = made.iter().all(|made| made.fault.severity > Severity::Danger);
                if fair && after[0] < before[0] && after < bound {
                    let makes = made.iter().map(|made| made.fault.rule.clone()).collect();
                    best = Some(LeastBad { carries, before, after, makes });
                }
            }
        }
        best
    }

    /// What is alike, and what stands together of it.
    fn items(&self) -> (Vec<Occupant<'a>>, Vec<Item>) {
        let mut kinds: Vec<Occupant<'a>> = Vec::new();
        let mut known: BTreeMap<(&str, bool, usize, bool), usize> = BTreeMap::new();
        let reasons: BTreeSet<i64> =
            self.stocks.iter().filter(|stock| stock.overruled.is_some()).map(|stock| stock.placed).collect();
        let mut items: BTreeMap<(usize, usize, Option<i64>, bool, usize), Item> = BTreeMap::new();
        for (number, stock) in self.stocks.iter().enumerate() {
            let Neighbour { reagent, form, percent_w_w } = stock.neighbour();
            let key = (reagent.key.as_str(), form == Form::Solid, self.level(percent_w_w), stock.shaded);
            let kind = *known.entry(key).or_insert_with(|| {
                kinds.push(stock.occupant());
                kinds.len() - 1
            });
            let Stands { place, placed, overruled, .. } = stock;
            let (place, placed, reason) = (*place, *placed, overruled.as_ref().map(|_| *placed));
            let before = reasons.range(..placed).count();
            let fixed = stock.is_fixed();
            let item = Item { place, kind, reason, fixed, placed, members: Vec::new() };
            items.entry((place, kind, reason, fixed, before)).or_insert(item).members.push(number);
        }
        (kinds, items.into_values().collect())
    }

    /// How many of the bounds of strength that any rule asks for are passed; an unknown strength is beyond all.
    fn level(&self, percent: Option<f64>) -> usize {
        let bounds = self.apart.reliefs.iter().map(|relief| relief.up_to_percent_w_w);
        let bounds = bounds.chain(self.apart.surroundings.iter().filter_map(|row| row.above_percent_w_w));
        percent.map_or(usize::MAX, |percent| bounds.filter(|bound| percent > *bound).count())
    }
}
