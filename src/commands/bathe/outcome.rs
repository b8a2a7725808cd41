//! The keeper's own results of a dip.

use std::collections::BTreeMap;

use super::{book_on, dip_version};
use crate::commands::{Problem, Session};
use crate::dip::log::countdown::Span;
use crate::dip::log::outcome::{Outcome, outcomes};
use crate::register::{Register, StoreError};

/// What became of the lots that a dip was the last bath of, by version and kind of plant; none without a register.
///
/// # Errors
/// If the register cannot be read, or the book contradicts itself.
pub fn own(session: &Session, dip: &str) -> Result<Vec<Outcome>, Problem> {
    let mut register = match Register::open(&session.path) {
        Ok(register) => register,
        Err(StoreError::Missing(_)) => return Ok(Vec::new()),
        Err(other) => return Err(other.into()),
    };
    register.read(|reading| {
        let book = book_on(reading, session.day)?;
        let mut longest: BTreeMap<u32, i64> = BTreeMap::new();
        for bath in book.baths.iter().filter(|bath| bath.dip == dip) {
            if let Some(dip) = dip_version(session, reading, dip, bath.version)? {
                longest.insert(bath.version, Span::minutes(dip.minutes.low, dip.minutes.high).high);
            }
        }
        let found = outcomes(&book, counts_after(session), |key, version| {
            (key == dip).then(|| longest.get(&version).copied()).flatten()
        });
        Ok(found.into_iter().filter(|outcome| outcome.dip == dip).collect())
    })
}

/// From which day after the last bath on a look counts.
#[must_use]
#[allow(clippy::cast_possible_truncation, reason = "a check keeps it within a year")]
pub fn counts_after(session: &Session) -> i64 {
    session.catalogue.hatching().counts_after.value as i64
}
