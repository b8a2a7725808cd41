//! Neutraliser that baths which nobody has ended yet still take: it is there, and is not free.

use super::{book_on, dip_version};
use crate::catalogue::Stop;
use crate::commands::dose::bath_for;
use crate::commands::{Problem, Session, arguments};
use crate::dip::Offer;
use crate::dip::stop::stopping;
use crate::register::Writing;
use crate::units::show;

/// What is left of a neutraliser beside what open baths take, and that in words, if they take any.
///
/// Each open bath takes what [`stopping`] plans for it at its dip's aim; every stock gives the same share of it.
///
/// # Errors
/// If the book of baths cannot be read, or contradicts itself.
pub fn unpromised(
    session: &Session,
    reading: &Writing<'_>,
    stop: &Stop,
    mut neutralisers: Vec<Offer>,
) -> Result<(Vec<Offer>, Option<String>), Problem> {
    let (mut promised, mut held) = (0.0, 0.0);
    let book = book_on(reading, session.day)?;
    for open in book.baths.iter().filter(|bath| !bath.is_ended() && bath.drained.is_none()) {
        let Some(dip) = dip_version(session, reading, &open.dip, open.version)? else { continue };
        let Some(its_stop) = dip.stop.as_ref().filter(|its_stop| its_stop.reagent == stop.reagent) else { continue };
        let bath = bath_for(session, &dip, open.volume, arguments::threshold(reading)?)?;
        let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
        let stopping = stopping(&bath, its_stop, reagent, &neutralisers)?;
        promised += stopping.planned.to_g();
        held = stopping.held.to_g();
    }
    if promised <= 0.0 {
        return Ok((neutralisers, None));
    }
    let free = if held > 0.0 { (1.0 - promised / held).max(0.0) } else { 0.0 };
    for offer in &mut neutralisers {
        offer.left *= free;
    }
    let told = format!(
        "baths that are not ended yet take {} of {}: `brimstock bathe list`",
        show::planned_grams(promised),
        stop.reagent
    );
    Ok((neutralisers, Some(told)))
}
