//! When a lot is to be looked over after its last bath.

use super::dip_version;
use crate::catalogue::Bathed;
use crate::commands::{Problem, Session};
use crate::dip::log::book::Lot;
use crate::dip::log::countdown::{Span, overrun};
use crate::dip::log::look::{LookDay, looking_days};
use crate::register::Writing;

/// The days on which a lot is looked over: its last dip's own, else those of the data; none for gear, and for a lot that never
/// came out of a bath.
///
/// # Errors
/// If the register cannot be read.
pub fn days(session: &Session, reading: &Writing<'_>, lot: &Lot) -> Result<Vec<LookDay>, Problem> {
    let (Some(load), Some(bathed)) = (lot.loads.last(), lot.last_bath()) else { return Ok(Vec::new()) };
    let dip = dip_version(session, reading, &load.dip, load.version)?;
    if dip.as_ref().is_some_and(|dip| dip.bathed == Bathed::Gear) {
        return Ok(Vec::new());
    }
    let span = dip.as_ref().map(|dip| Span::minutes(dip.minutes.low, dip.minutes.high));
    let ran_over = overrun(load, span).is_some();
    let own = dip.as_ref().and_then(|dip| dip.look_days());
    Ok(looking_days(session.catalogue.hatching(), own, bathed, ran_over))
}
