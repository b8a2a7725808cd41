//! The shelf as `audit` sees it: every place with what stands there, and how it is kept.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Days, NaiveDate};

use super::audit::Finding;
use super::gas::gas;
use super::sight::{Sight, Strongest, strongest};
use super::{Problem, Session};
use crate::catalogue::{Apart, Cap, Catalogue, Condition, Form, Reagent};
use crate::chem::{Substance, density, solution};
use crate::hazard::apart::Neighbour;
use crate::hazard::storage::{Fault, Occupant, Site};
use crate::hazard::upkeep::{self, Kept, left_closed};
use crate::register::Writing;
use crate::register::history::history;
use crate::register::ledger::State;
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::units::measure::Quantity;
use crate::units::strength::{Basis, Strength};
use crate::units::{Concentration, MassFraction, Temperature};

/// The shelf on a day.
#[derive(Clone)]
pub struct Layout<'a> {
    /// What must be kept apart.
    pub apart: &'a Apart,
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
    /// Row in the register.
    pub id: i64,
    /// Its code.
    pub code: String,
    /// Its place.
    pub place: usize,
    /// How it is kept.
    pub kept: Kept<'a>,
    /// True if its container keeps light out.
    pub shaded: bool,
    /// The row that put it there.
    pub placed: i64,
    /// Why it stands there against a warning, and since when.
    pub overruled: Option<(NaiveDate, String)>,
    left: f64,
}

impl<'a> Stands<'a> {
    /// What it is to its neighbours.
    #[must_use]
    pub fn neighbour(&self) -> Neighbour<'a> {
        self.kept.stock
    }

    /// True if nobody should carry it: a bottle under pressure, one that may break, one too strong to be handled.
    pub(super) fn is_fixed(&self) -> bool {
        self.kept.swollen.is_some() || self.kept.brittle.is_some() || left_closed(self.kept.stock).is_some()
    }

    pub(super) fn occupant(&self) -> Occupant<'a> {
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
        for stock in reading.work().over("reading the shelf", reading.stocks()?) {
            let stock = stock?;
            let journal = reading.journal(&stock, &places, session.day)?;
            let state = journal
                .state(session.day)
                .map_err(|contradiction| Problem::data(format!("the journal of `{}`: {contradiction}", stock.code)))?;
            let Some(state) = state.filter(|state| state.retired.is_none()) else { continue };
            // The estimate costs time, and is asked only where it can tell more than the label.
            let sight = if state.tests.is_empty() && state.cap() != Some(Cap::Tight) {
                None
            } else {
                Sight::of(session, stock.clone(), journal, &places, session.day)?
            };
            let percent_w_w = counted(session, &stock, &state, &places, sight.as_ref())?;
            let bar_a_year = match &sight {
                Some(sight) => gas(sight, session.day)?.0.and_then(|gas| gas.tight_cap_bar),
                None => None,
            };
            let more = Known { percent_w_w, bar_a_year, sheet: sheets.contains(&stock.id) };
            stocks.extend(stands(session.catalogue, &stock, state, &places, more));
        }
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

    pub(super) fn codes(&self, stocks: &BTreeSet<usize>) -> Vec<String> {
        stocks.iter().map(|stock| self.stocks[*stock].code.clone()).collect()
    }
}

/// A place as a stock meets it on a day: as warm as it gets in a year, by what is said of it on that day.
#[must_use]
pub fn site(place: &Place, day: NaiveDate) -> Site {
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

/// The highest strength that a stock can credibly have, % w/w. Nothing where no label is left or its strength is not on file
/// by weight.
fn counted(
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
    if stock.form == Form::Solid {
        return Ok(history.label_percent_w_w);
    }
    let by_weight = |g_per_l: f64| {
        let strength = Strength::InVolume(Concentration::g_per_l(g_per_l));
        let converted =
            solution::converted(Substance::of(reagent), strength, Basis::InWeight, Temperature::celsius(20.0));
        converted.ok().map(|converted| (100.0 * converted.base()).min(100.0))
    };
    Ok(match strongest(&history, sight.map(|sight| &sight.standing)) {
        Strongest::Label => history.label_percent_w_w,
        Strongest::Poured(high) | Strongest::Tested(high) => by_weight(high),
    })
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
        id: stock.id,
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
            labelled: state.is_labelled(),
            sheet,
            brittle: state.noticed("brittle"),
            swollen: state.swollen(),
            made_up: thinned.then_some(state.received),
        },
        overruled: state.overruled,
    })
}
