//! `check --where`: how a stock would fare in each of the keeper's places.

use chrono::{Days, NaiveDate};

use super::sight::{Sight, Usual};
use super::strength::DipLine;
use super::{Problem, Session};
use crate::decay::posterior::{Known, Standing, estimate, outlook};
use crate::dip::{Offer, Until};
use crate::register::place::Place;

/// How far ahead the strength in a place is told, days.
const AHEAD: u64 = 180;

/// A stock in a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Elsewhere {
    /// The place.
    pub place: String,
    /// True where it stands now.
    pub here: bool,
    /// The day its strength is told for.
    pub on: NaiveDate,
    /// Its strength on that day.
    pub strength: Usual,
    /// What it holds then, at the median, grams in a litre or in a gram: the more the better.
    pub content: f64,
    /// The last day on which the dip that is judged would be `ready` there, and which it is.
    pub ready_until: Option<(Until, String)>,
}

/// Every place, the best first.
///
/// # Errors
/// If a strength cannot be converted, and what judging the dips returns.
pub fn elsewhere(
    session: &Session,
    places: &[Place],
    sight: &Sight<'_>,
    known: &Known,
    dip: Option<&str>,
    judge: impl Fn(Offer) -> Result<Vec<DipLine>, Problem>,
) -> Result<Vec<Elsewhere>, Problem> {
    let on = session.day + Days::new(AHEAD);
    let mut found = Vec::with_capacity(places.len());
    for place in places {
        let there = (place.climate(session.day), place.on(session.day).daylight);
        let optics = session.catalogue.optics();
        let condition = sight.state.condition;
        let Some(outlook) = outlook(optics, sight.reagent, &sight.history, condition, there, known)? else {
            continue;
        };
        let there = known.elsewhere(outlook);
        let later = estimate(&there.later(on));
        let lines = judge(Offer { standing: Standing::Known(Box::new(there)), ..sight.offer() })?;
        let ready_until = lines
            .into_iter()
            .filter(|line| dip.is_some_and(|dip| dip == line.dip))
            .find_map(|line| line.until.map(|until| (until, line.dip)));
        found.push(Elsewhere {
            place: place.name.clone(),
            here: place.name == sight.state.place,
            on,
            strength: sight.usual(later)?,
            content: later.mid,
            ready_until,
        });
    }
    found.sort_by(|a, b| b.content.total_cmp(&a.content));
    Ok(found)
}
