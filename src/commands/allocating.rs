//! The shelf allotted to the baths that are wanted, with the strength that every stock has on their days.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::dose::bath_for;
use super::looking::each_on_shelf;
use super::own_measures::{self, OwnMeasures};
use super::sight::{Sight, Usual};
use super::{Problem, Session, arguments};
use crate::catalogue::{Dip, Form};
use crate::decay::posterior::{Standing, estimate};
use crate::dip::allot::{Allotted, Missing, Supply, Unsolved, Want, allot};
use crate::dip::stop::{Stopping, stopping};
use crate::dip::{Bath, Dose, Offer, Plan, Verdict};
use crate::register::Writing;
use crate::register::place::Place;
use crate::units::step::Step;
use crate::units::{Volume, show};

impl From<Unsolved> for Problem {
    fn from(error: Unsolved) -> Self {
        Problem::data(error.to_string())
            .because("amounts that lie six orders of magnitude apart are more than the solver can tell apart")
            .hint("ask for the smallest or the largest baths alone")
    }
}

/// Baths that are wanted for a lot on a day, all alike.
#[derive(Debug, Clone)]
pub struct Wanted<'a> {
    /// The day.
    pub day: NaiveDate,
    /// The lot.
    pub lot: String,
    /// The dip.
    pub dip: &'a Dip,
    /// The volume of one bath.
    pub volume: Volume,
    /// How many.
    pub count: u32,
    /// Which plants.
    pub plants: Option<String>,
}

/// One bath with what it gets.
#[derive(Debug, Clone)]
pub struct BathLine {
    /// The day.
    pub day: NaiveDate,
    /// The lot.
    pub lot: String,
    /// Key of the dip.
    pub dip: String,
    /// Its volume.
    pub volume: Volume,
    /// Which of the lot's baths it is, and how many there are.
    pub number: u32,
    /// How many there are.
    pub count: u32,
    /// Which plants.
    pub plants: Option<String>,
    /// What can be done.
    pub plan: Plan,
    /// What stopping it takes, held against what it was allotted.
    pub stopping: Option<Stopping>,
    /// What to measure out to stop it.
    pub neutraliser: Vec<Dose>,
}

/// A stock that is drawn on.
#[derive(Debug, Clone)]
pub struct StockLine {
    /// Its code.
    pub code: String,
    /// Key of its reagent.
    pub reagent: String,
    /// How many baths it goes into, or stops.
    pub baths: u32,
    /// How much all of them take.
    pub taken: f64,
    /// How much is left then.
    pub left: f64,
    /// `g` or `mL`.
    pub unit: String,
    /// What it holds on each day that it is used; of a salt that only stops baths, and of one without an estimate, nothing.
    pub strengths: Vec<(NaiveDate, Usual)>,
}

/// What all baths together take of a reagent.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedLine {
    /// Key of the reagent.
    pub reagent: String,
    /// Grams, as the baths count them.
    pub wanted: f64,
    /// Grams on the shelf that may be used, as they will count on the first of the days.
    pub there: f64,
    /// Grams that are missing.
    pub missing: f64,
    /// True if it ends baths.
    pub stops: bool,
}

/// The whole allocation.
#[derive(Debug, Clone)]
pub struct Allocation {
    /// Every bath, in the order of the question.
    pub baths: Vec<BathLine>,
    /// Every stock that is drawn on.
    pub stocks: Vec<StockLine>,
    /// What all baths together take, by reagent.
    pub needs: Vec<NeedLine>,
    /// What is missing, by day.
    pub missing: Vec<Missing>,
    /// How the numbers came about.
    pub steps: Vec<Step>,
}

impl Allocation {
    /// True if every bath is ready.
    #[must_use]
    pub fn is_ready(&self) -> bool {
        self.baths.iter().all(|bath| bath.plan.verdict == Verdict::Ready)
    }
}

/// Allots the shelf of the session's day.
///
/// # Errors
/// What reading the shelf returns, and a failure of the solver.
pub fn allocate(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    wanted: &[Wanted<'_>],
) -> Result<Allocation, Problem> {
    let threshold = arguments::threshold(reading)?;
    let mut reagents: BTreeSet<&str> = wanted.iter().map(|want| want.dip.reagent.as_str()).collect();
    reagents.extend(wanted.iter().filter_map(|want| Some(want.dip.stop.as_ref()?.reagent.as_str())));
    let mut sights: Vec<Sight<'_>> = Vec::new();
    each_on_shelf(
        session,
        reading,
        places,
        |stock| reagents.contains(stock.reagent.as_str()),
        |sight| {
            sights.push(sight);
            Ok(())
        },
    )?;
    let offers: Vec<Offer> = sights.iter().map(Sight::offer).collect();
    let mut measures: BTreeMap<&str, OwnMeasures> = BTreeMap::new();
    for want in wanted {
        let key = want.dip.reagent.as_str();
        if !measures.contains_key(key) {
            let reagent = arguments::reagent(session.catalogue, key)?;
            measures.insert(key, own_measures::of(session, reading, places, reagent)?);
        }
    }
    let measuring = session.catalogue.measuring();
    let mut wants = Vec::with_capacity(wanted.len());
    for want in wanted {
        let bath = bath_for(session, want.dip, want.volume, threshold)?;
        let bench = measures[want.dip.reagent.as_str()].bench(measuring, None);
        let stopping = needed(session, &bath)?;
        wants.push(Want { day: want.day, lot: &want.lot, count: want.count, bath, stopping, bench });
    }
    let supplies: Vec<Supply<'_>> =
        offers.iter().zip(&sights).map(|(offer, sight)| Supply { offer, reagent: &sight.stock.reagent }).collect();
    let allotted = allot(&wants, &supplies)?;
    let needs = needs(&wants, &supplies, &allotted.missing);
    let stocks = stocks(&sights, &offers, &wants, &allotted)?;
    let steps = steps(&wants, &offers, &stocks);
    let baths = allotted.portions.into_iter().map(|portion| {
        let want = &wanted[portion.want];
        BathLine {
            day: want.day,
            lot: want.lot.clone(),
            dip: want.dip.key.clone(),
            volume: want.volume,
            number: portion.number,
            count: want.count,
            plants: want.plants.clone(),
            plan: portion.plan,
            stopping: portion.stopping,
            neutraliser: portion.neutraliser,
        }
    });
    Ok(Allocation { baths: baths.collect(), stocks, needs, missing: allotted.missing, steps })
}

/// What stopping one bath takes, whatever the shelf holds.
///
/// # Errors
/// As [`stopping`].
pub fn needed(session: &Session, bath: &Bath<'_>) -> Result<Option<Stopping>, Problem> {
    let Some(stop) = &bath.dip.stop else { return Ok(None) };
    let reagent = arguments::reagent(session.catalogue, &bath.dip.reagent)?;
    Ok(Some(stopping(bath, stop, reagent, &[])?))
}

/// What all baths together take of each reagent, against what is there.
pub(super) fn needs(wants: &[Want<'_>], supplies: &[Supply<'_>], missing: &[Missing]) -> Vec<NeedLine> {
    let mut needs: Vec<(NeedLine, NaiveDate)> = Vec::new();
    let mut add = |reagent: &str, grams: f64, stops: bool, day: NaiveDate| match needs
        .iter_mut()
        .find(|(need, _)| need.reagent == reagent && need.stops == stops)
    {
        Some((need, first)) => {
            need.wanted += grams;
            *first = day.min(*first);
        }
        None => {
            let reagent = reagent.to_owned();
            needs.push((NeedLine { reagent, wanted: grams, there: 0.0, missing: 0.0, stops }, day));
        }
    };
    for want in wants {
        let count = f64::from(want.count);
        add(&want.bath.dip.reagent, count * want.grams(), false, want.day);
        if let Some(stopping) = &want.stopping {
            add(&stopping.neutraliser, count * stopping.planned.to_g(), true, want.day);
        }
    }
    for (need, first) in &mut needs {
        let usable = supplies.iter().filter(|supply| supply.reagent == need.reagent && supply.offer.hold.is_none());
        need.there = usable.fold(0.0, |sum, supply| sum + grams(supply.offer, need.stops, *first));
        let lacks = missing.iter().filter(|lack| lack.reagent == need.reagent);
        need.missing = lacks.fold(0.0, |sum, lack| sum + lack.grams);
    }
    needs.into_iter().map(|(need, _)| need).collect()
}

/// Grams that a stock counts for on a day: at the median for a bath, low for what stops it.
fn grams(offer: &Offer, stops: bool, day: NaiveDate) -> f64 {
    let units = offer.left * offer.per_unit();
    match (&offer.standing, offer.form) {
        (_, Form::Solid) if stops => offer.left,
        (Standing::Known(known), _) => units * known.later(day).quantile(if stops { 0.05 } else { 0.5 }),
        (Standing::Unknown { .. }, _) => units * if stops { 0.0 } else { offer.label },
    }
}

/// How each dip's band, its neutraliser and the strength of the stocks that are drawn on were had.
fn steps(wants: &[Want<'_>], offers: &[Offer], stocks: &[StockLine]) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut told: BTreeSet<&str> = BTreeSet::new();
    for want in wants.iter().filter(|want| told.insert(&want.bath.dip.key)) {
        let key = &want.bath.dip.key;
        let mut add = |what: &str, source: &str| steps.push(Step::new(format!("{key}: {what}"), source.to_owned()));
        for step in &want.bath.goal.steps {
            add(&step.what, &step.source);
        }
        if let Some(stopping) = &want.stopping {
            let [theory, planned] = [stopping.theory, stopping.planned].map(|mass| show::grams(mass.to_g()));
            let volume = show::millilitres(want.bath.volume.to_ml());
            add(&format!("stopping {volume}: {theory} by theory, {planned} planned"), &stopping.source);
        }
    }
    for offer in offers.iter().filter(|offer| stocks.iter().any(|stock| stock.code == offer.code)) {
        if let Standing::Known(known) = &offer.standing {
            let told =
                known.steps.iter().map(|step| Step::new(format!("{}: {}", offer.code, step.what), step.source.clone()));
            steps.extend(told);
        }
    }
    steps
}

/// The stocks that are drawn on, in the order of the shelf.
fn stocks(
    sights: &[Sight<'_>],
    offers: &[Offer],
    wants: &[Want<'_>],
    allotted: &Allotted,
) -> Result<Vec<StockLine>, Problem> {
    let mut lines = Vec::new();
    for (index, (sight, offer)) in sights.iter().zip(offers).enumerate() {
        let mut days: BTreeSet<NaiveDate> = BTreeSet::new();
        let (mut baths, mut taken) = (0, 0.0);
        for portion in &allotted.portions {
            let Some((_, amount)) = portion.drawn.iter().find(|(stock, _)| *stock == index) else { continue };
            let want = &wants[portion.want];
            baths += 1;
            taken += amount;
            if want.bath.dip.reagent == sight.stock.reagent || offer.form == Form::Solution {
                days.insert(want.day);
            }
        }
        if baths == 0 {
            continue;
        }
        let mut strengths = Vec::new();
        if let Standing::Known(known) = &offer.standing {
            for day in days {
                strengths.push((day, sight.usual(estimate(&known.later(day)))?));
            }
        }
        lines.push(StockLine {
            code: offer.code.clone(),
            reagent: sight.stock.reagent.clone(),
            baths,
            taken,
            left: (offer.left - taken).max(0.0),
            unit: offer.unit.clone(),
            strengths,
        });
    }
    Ok(lines)
}
