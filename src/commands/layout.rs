//! The shelf as `audit` sees it: every place with what stands there.
//!
//! Stocks that are alike in all that the rules ask are one item: ten bottles of the same bleach beside an acid are one finding
//! with eleven codes, and move together.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Days, NaiveDate};

use super::audit::{Carry, Finding, LeastBad, Overruled};
use super::gas::gas;
use super::sight::{CLOSED_ABOVE, Sight};
use super::{Problem, Session};
use crate::catalogue::{Apart, Cap, Catalogue, Condition, Form, Reagent};
use crate::chem::{Substance, density, solution};
use crate::decay::posterior::Standing;
use crate::hazard::apart::Neighbour;
use crate::hazard::arrange::{Board, arrange};
use crate::hazard::storage::{Fault, Occupant, Severity, Site, alone, together};
use crate::hazard::upkeep::{self, Kept};
use crate::register::Writing;
use crate::register::history::history;
use crate::register::ledger::{self, State};
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::units::estimate::Z_95;
use crate::units::measure::Quantity;
use crate::units::strength::{Basis, Strength};
use crate::units::{Concentration, MassFraction, Temperature};

/// The shelf on a day.
#[derive(Clone)]
pub struct Layout<'a> {
    apart: &'a Apart,
    /// The places as they are stored.
    pub places: Vec<Place>,
    /// The same as a stock meets them.
    pub sites: Vec<Site>,
    /// What stands there, in the order of receipt.
    pub stocks: Vec<Stands<'a>>,
}

/// One stock in its place.
#[derive(Debug, Clone)]
pub struct Stands<'a> {
    /// Its code.
    pub code: String,
    /// Its place.
    pub place: usize,
    /// How it is kept.
    pub kept: Kept<'a>,
    shaded: bool,
    left: f64,
    placed: i64,
    overruled: Option<(NaiveDate, String)>,
}

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

impl<'a> Stands<'a> {
    /// What it is to its neighbours.
    #[must_use]
    pub fn neighbour(&self) -> Neighbour<'a> {
        self.kept.stock
    }

    /// True if nobody should carry it: a bottle under pressure, one that may break, one too strong to be handled.
    fn is_fixed(&self) -> bool {
        self.kept.swollen.is_some() || self.kept.brittle.is_some() || self.kept.closed
    }

    fn occupant(&self) -> Occupant<'a> {
        Occupant { stock: self.kept.stock, shaded: self.shaded }
    }

    /// How much is left, in the unit of a limit; nothing where it cannot be told.
    #[must_use]
    pub fn amount_in(&self, limit: Quantity) -> Option<f64> {
        let Neighbour { reagent, form, percent_w_w } = self.neighbour();
        match (form, limit) {
            (Form::Solution, Quantity::Volume(_)) | (Form::Solid, Quantity::Mass(_)) => Some(self.left),
            (Form::Solid, Quantity::Volume(_)) => None,
            (Form::Solution, Quantity::Mass(_)) => {
                let fraction = MassFraction::percent(percent_w_w?);
                let found = density::of_solution(Substance::of(reagent), fraction, Temperature::celsius(20.0)).ok()?;
                Some(self.left * found.density.to_g_per_ml())
            }
        }
    }
}

impl<'a> Layout<'a> {
    /// The shelf on the session's day.
    ///
    /// # Errors
    /// If the register cannot be read or contradicts itself.
    pub fn of(session: &Session, reading: &Writing<'_>) -> Result<Layout<'a>, Problem> {
        let places = reading.places()?;
        let sites = places.iter().map(|place| site(place, session.day)).collect();
        let sheets: BTreeSet<i64> = reading.sheets()?.iter().map(|sheet| sheet.stock).collect();
        let mut stocks = Vec::new();
        reading.each_stock(&places, |stock, entries| {
            let state = ledger::state(&entries, session.day)
                .map_err(|contradiction| Problem::data(format!("the journal of `{}`: {contradiction}", stock.code)))?;
            let Some(state) = state.filter(|state| state.retired.is_none()) else { return Ok(()) };
            // The estimate costs time, and is asked only where it can tell more than the label.
            let sight = if state.tests.is_empty() && state.cap() != Some(Cap::Tight) {
                None
            } else {
                Sight::of(session, stock.clone(), entries, &places, session.day)?
            };
            let percent_w_w = strongest(session, &stock, &state, &places, sight.as_ref())?;
            let bar_a_year = match &sight {
                Some(sight) => gas(sight, session.day)?.0.and_then(|gas| gas.tight_cap_bar),
                None => None,
            };
            let more = Known { percent_w_w, bar_a_year, sheet: sheets.contains(&stock.id) };
            stocks.extend(stands(session.catalogue, &stock, state, &places, more));
            Ok::<(), Problem>(())
        })?;
        Ok(Layout { apart: session.catalogue.apart(), places, sites, stocks })
    }

    /// The same shelf with one stock in another place.
    #[must_use]
    pub fn with(&self, code: &str, to: &str) -> Layout<'a> {
        let place = self.sites.iter().position(|site| site.name == to);
        let mut stocks = self.stocks.clone();
        if let (Some(stock), Some(place)) = (stocks.iter_mut().find(|stock| stock.code == code), place) {
            stock.place = place;
            stock.placed = i64::MAX;
            stock.overruled = None;
        }
        Layout { apart: self.apart, places: self.places.clone(), sites: self.sites.clone(), stocks }
    }

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

    /// What is wrong with the containers themselves.
    #[must_use]
    pub fn upkeep(&self, session: &Session) -> Vec<Finding> {
        let mut found: BTreeMap<Fault, BTreeSet<usize>> = BTreeMap::new();
        for (number, stock) in self.stocks.iter().enumerate() {
            for fault in upkeep::faults(&stock.kept, session.day) {
                found.entry(fault).or_default().insert(number);
            }
        }
        let place = |stocks: &BTreeSet<usize>| {
            let mut places = stocks.iter().map(|stock| self.stocks[*stock].place);
            let first = places.next()?;
            places.all(|place| place == first).then(|| self.sites[first].name.clone())
        };
        let finding = |(fault, stocks)| {
            let (place, stocks) = (place(&stocks), self.codes(&stocks));
            Finding { fault, place, stocks, overruled: Vec::new(), open: true }
        };
        found.into_iter().map(finding).collect()
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

    /// What could not be looked at, in a sentence each.
    #[must_use]
    pub fn unseen(&self) -> Vec<String> {
        let mut said = Vec::new();
        let used: BTreeSet<usize> = self.stocks.iter().map(|stock| stock.place).collect();
        let names = |wanted: &dyn Fn(&Site, &Place) -> bool| -> Vec<String> {
            let places = used.iter().map(|place| (&self.sites[*place], &self.places[*place]));
            places.filter(|(site, place)| wanted(site, place)).map(|(site, _)| site.name.clone()).collect()
        };
        let around = names(&|_, place| place.states.iter().all(|state| state.around.is_none()));
        if !around.is_empty() {
            said.push(format!(
                "what is around {}: nobody said (`brimstock place set PLACE --around nothing`, or what there is)",
                around.join(", ")
            ));
        }
        let heights = names(&|site, _| site.cabinet.is_some() && site.height_cm.is_none());
        if !heights.is_empty() {
            said.push(format!(
                "which shelf is above which at {}: `brimstock place set PLACE --height CM`",
                heights.join(", ")
            ));
        }
        let unknown: BTreeSet<&str> = self
            .stocks
            .iter()
            .map(Stands::neighbour)
            .filter(|stock| stock.groups().is_empty())
            .map(|stock| stock.reagent.key.as_str())
            .collect();
        if !unknown.is_empty() {
            let keys: Vec<&str> = unknown.into_iter().collect();
            said.push(format!("what {} reacts with: its file has no `[care]`", keys.join(", ")));
        }
        said
    }

    fn codes(&self, stocks: &BTreeSet<usize>) -> Vec<String> {
        stocks.iter().map(|stock| self.stocks[*stock].code.clone()).collect()
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

/// A place as a stock meets it on a day: as warm as it gets in a year, by what is said of it on that day.
fn site(place: &Place, day: NaiveDate) -> Site {
    let state = place.on(day);
    let year_ago = day.checked_sub_days(Days::new(365)).unwrap_or(day);
    Site {
        name: place.name.clone(),
        cabinet: state.cabinet.clone(),
        height_cm: state.height_cm,
        around: state.around.clone().unwrap_or_default(),
        warmest_c: place.climate(day).warmest(year_ago, day).to_celsius(),
        light: state.daylight.light,
    }
}

/// The highest strength that a stock can credibly have, % w/w: its label, or where it was tested the upper end of its band if
/// that is above. Nothing where no label is left or its strength is not on file by weight.
fn strongest(
    session: &Session,
    stock: &Stock,
    state: &State,
    places: &[Place],
    sight: Option<&Sight<'_>>,
) -> Result<Option<f64>, Problem> {
    if state.is_labelled() == Some(false) {
        return Ok(None);
    }
    let reagent = reagent_of(session.catalogue, stock)?;
    let history = history(session.catalogue, stock, state, reagent, places, session.day)?;
    // What was thinned here is our own estimate: it may be as strong as the upper end of that.
    let spread = if history.decanted { libm::exp(Z_95 * history.label_sd_ln) } else { 1.0 };
    let label = history.label_percent_w_w.map(|percent| (percent * spread).min(100.0));
    if state.tests.is_empty() || stock.form == Form::Solid {
        return Ok(label);
    }
    let Some(Standing::Known(known)) = sight.map(|sight| &sight.standing) else { return Ok(label) };
    let high = Strength::InVolume(Concentration::g_per_l(known.estimate().high));
    let bench = Temperature::celsius(20.0);
    let converted = solution::convert(Substance::of(reagent), high, Basis::InWeight, bench);
    let tested = converted.ok().map(|converted| 100.0 * converted.strength.base());
    Ok(label.zip(tested).map(|(label, tested)| label.max(tested)))
}

fn reagent_of<'a>(catalogue: &'a Catalogue, stock: &Stock) -> Result<&'a Reagent, Problem> {
    catalogue.reagent(&stock.reagent).ok_or_else(|| {
        Problem::data(format!(
            "`{}` holds `{}`, which this program's catalogue does not know",
            stock.code, stock.reagent
        ))
        .hint("use the program that wrote it, or a newer one")
    })
}

/// What is known of a stock beside its journal.
struct Known {
    percent_w_w: Option<f64>,
    bar_a_year: Option<f64>,
    sheet: bool,
}

fn stands<'a>(
    catalogue: &'a Catalogue,
    stock: &Stock,
    state: State,
    places: &[Place],
    Known { percent_w_w, bar_a_year, sheet }: Known,
) -> Option<Stands<'a>> {
    let reagent = catalogue.reagent(&stock.reagent)?;
    let place = places.iter().position(|place| place.name == state.place)?;
    let filled_here = state.poured_from.is_some() || matches!(state.came, Condition::MadeUp | Condition::MadeUpTap);
    let thinned = matches!(state.came, Condition::MadeUp | Condition::MadeUpTap);
    Some(Stands {
        code: stock.code.clone(),
        place,
        shaded: catalogue.optics().wall(state.kept_in.container).shades,
        left: state.left,
        placed: state.placed,
        kept: Kept {
            stock: Neighbour { reagent, form: stock.form, percent_w_w },
            container: state.kept_in.container,
            filled_here,
            cap: state.cap(),
            bar_a_year,
            closed: reagent.care.as_ref().is_some_and(|care| care.groups.iter().any(|group| group == "peroxide"))
                && percent_w_w.is_some_and(|percent| percent > CLOSED_ABOVE),
            labelled: state.is_labelled(),
            sheet,
            brittle: state.noticed("brittle"),
            swollen: state.swollen(),
            made_up: thinned.then_some(state.received),
        },
        overruled: state.overruled,
    })
}
