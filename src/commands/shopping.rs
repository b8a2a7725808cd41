//! What to buy for the baths that are short: how much, in which containers, and by when.

use chrono::{Days, NaiveDate};

use super::allocating::NeedLine;
use super::container::UNKNOWN;
use super::sight::Sight;
use super::{Problem, Session, arguments};
use crate::catalogue::{Condition, Form, Reagent};
use crate::decay::posterior::Standing;
use crate::dip::allot::Missing;
use crate::register::Writing;
use crate::register::checkpoint::Journal;
use crate::register::event::{Entry, Event, KeptIn, Labelled, Made, Received, What};
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::units::parse::{self, Written};
use crate::units::show;

/// Days from order to delivery unless the keeper says another. Source: `judgement`.
pub const USUAL_DELIVERY: u16 = 7;

/// One reagent to buy.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// Key of the reagent.
    pub reagent: String,
    /// Grams that are missing, as the baths count them.
    pub grams: f64,
    /// The first day it is missing.
    pub from: NaiveDate,
    /// The day to order it.
    pub order_by: NaiveDate,
    /// The label it is reckoned with: `8.25 % w/w`.
    pub label: String,
    /// How much of that it takes, read low on the days of the baths, in the unit.
    pub amount: f64,
    /// `g` or `mL`.
    pub unit: &'static str,
    /// Size of a container, and how many, where the reagent was ever received.
    pub containers: Option<(f64, u32)>,
}

impl Purchase {
    /// How many days too late it would come if it were ordered on a day.
    #[must_use]
    pub fn late(&self, today: NaiveDate) -> i64 {
        (today - self.order_by).num_days().max(0)
    }
}

/// What is sold of a reagent, and where it would stand.
struct Sold {
    form: Form,
    label: Labelled,
    /// The size of a container, if one is known.
    size: Option<f64>,
    kept_in: KeptIn,
    place: Option<String>,
}

/// The shopping list, by reagent.
///
/// The container is the one that the keeper last received, where none ever came the catalogue's usual strength. It is taken
/// to come sealed on the first day that it is missing, or as soon as it can, and counts by the weak end of its band on the day
/// of each bath.
///
/// # Errors
/// What reading the shelf returns, and a strength that cannot be converted.
pub fn shopping(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    needs: &[NeedLine],
    missing: &[Missing],
    delivery: u16,
) -> Result<Vec<Purchase>, Problem> {
    let mut keys: Vec<&str> = missing.iter().map(|lack| lack.reagent.as_str()).collect();
    keys.sort_unstable();
    keys.dedup();
    let mut list = Vec::with_capacity(keys.len());
    for key in keys {
        let lacks: Vec<&Missing> = missing.iter().filter(|lack| lack.reagent == key).collect();
        let Some(from) = lacks.iter().map(|lack| lack.day).min() else { continue };
        let reagent = arguments::reagent(session.catalogue, key)?;
        let sold = match last_received(session, reading, places, key)? {
            Some(sold) => sold,
            None => usually_sold(session, places, reagent)?,
        };
        let earliest = session.day + Days::new(u64::from(delivery));
        let stops = needs.iter().any(|need| need.reagent == key && need.stops);
        let fresh = fresh(session, places, reagent, &sold, from.max(earliest))?;
        let amount: f64 = lacks.iter().map(|lack| lack.grams / fresh.low(lack.day, stops)).sum();
        let (label, unit) = (&sold.label, if sold.form == Form::Solid { "g" } else { "mL" });
        list.push(Purchase {
            reagent: key.to_owned(),
            grams: lacks.iter().map(|lack| lack.grams).sum(),
            from,
            order_by: from - Days::new(u64::from(delivery)),
            label: format!("{} {}", show::plain(label.value), label.unit),
            amount,
            unit,
            // A container more for what only the arithmetic brought would be one too many.
            containers: sold.size.map(|size| (size, libm::ceil(amount / size - 1e-6) as u32)),
        });
    }
    list.sort_by(|a, b| (a.order_by, &a.reagent).cmp(&(b.order_by, &b.reagent)));
    Ok(list)
}

/// The last container that was bought of a reagent, whether it still stands there or not.
fn last_received(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    reagent: &str,
) -> Result<Option<Sold>, Problem> {
    let mut last: Option<(NaiveDate, i64, Sold)> = None;
    for stock in reading.stocks()?.into_iter().filter(|stock| stock.reagent == reagent) {
        let journal = reading.journal(&stock, places, session.day)?;
        let (id, form) = (stock.id, stock.form);
        let Some(sight) = Sight::of(session, stock, journal, places, session.day)? else { continue };
        let state = &sight.state;
        let bought = state.poured_from.is_none()
            && state.hold.is_none()
            && matches!(state.came, Condition::Sealed | Condition::Opened);
        let newer = last.as_ref().is_none_or(|(day, other, _)| (state.received, id) > (*day, *other));
        if bought && newer {
            let (label, kept_in) = (state.label.clone(), state.kept_in);
            let sold = Sold { form, label, size: Some(state.amount), kept_in, place: Some(state.place.clone()) };
            last = Some((state.received, id, sold));
        }
    }
    Ok(last.map(|(_, _, sold)| sold))
}

/// What the catalogue says is usual.
fn usually_sold(session: &Session, places: &[Place], reagent: &Reagent) -> Result<Sold, Problem> {
    let kept_in = UNKNOWN;
    let place = places.iter().find(|place| place.states[0].from <= session.day).map(|place| place.name.clone());
    if let Some(text) = reagent.solution.as_ref().and_then(|solution| solution.sold.first())
        && let Written::Plain(strength, unit) = parse::strength(text, None)?
    {
        let label = Labelled { value: strength.base() / unit.factor, unit: unit.name, relative_sd: 0.0 };
        return Ok(Sold { form: Form::Solution, label, size: None, kept_in, place });
    }
    let purity = reagent.solid.as_ref().map(|solid| &solid.purity);
    let value = purity.map_or(100.0, |purity| purity.value);
    let relative_sd = purity.and_then(|purity| purity.relative_sd).unwrap_or(0.0);
    let label = Labelled { value, unit: "% w/w".to_owned(), relative_sd };
    Ok(Sold { form: Form::Solid, label, size: None, kept_in, place })
}

/// A container that has not come yet.
struct Fresh<'a> {
    form: Form,
    arrives: NaiveDate,
    sight: Option<Sight<'a>>,
    label: f64,
}

impl Fresh<'_> {
    /// Grams that one unit counts for on a day, read low; a salt that ends a bath counts as it stands.
    fn low(&self, day: NaiveDate, stops: bool) -> f64 {
        if stops && self.form == Form::Solid {
            return 1.0;
        }
        let per_unit = if self.form == Form::Solid { 1.0 } else { 1e-3 };
        let content = match self.sight.as_ref().map(|sight| &sight.standing) {
            Some(Standing::Known(known)) => known.later(day.max(self.arrives)).quantile(0.05),
            Some(Standing::Unknown { .. }) | None => self.label,
        };
        per_unit * content
    }
}

/// The container as it will be: a journal of one entry, read as any other.
fn fresh<'a>(
    session: &Session,
    places: &[Place],
    reagent: &Reagent,
    sold: &Sold,
    arrives: NaiveDate,
) -> Result<Fresh<'a>, Problem> {
    let (form, label) = (sold.form, crate::register::history::content(sold.form, reagent, &sold.label)?.0.0);
    let unit = if form == Form::Solid { "g" } else { "mL" };
    let received = |place: &String| Received {
        place: place.clone(),
        amount: sold.size.unwrap_or(1000.0),
        unit: unit.to_owned(),
        label: sold.label.clone(),
        condition: Condition::Sealed,
        hold: None,
        kept_in: sold.kept_in,
        made: Made::New,
        poured_from: None,
        overruled: None,
    };
    let stock = Stock { id: 0, code: "new".to_owned(), reagent: reagent.key.clone(), form };
    let sight = match &sold.place {
        Some(place) => {
            let entry = Entry {
                id: 0,
                number: 1,
                day: arrives,
                entered_at: session.entered_at.clone(),
                written: String::new(),
                what: What::Event(Event::Received(received(place))),
            };
            Sight::of(session, stock, Journal::whole(vec![entry]), places, arrives)?
        }
        None => None,
    };
    Ok(Fresh { form, arrives, sight, label })
}
