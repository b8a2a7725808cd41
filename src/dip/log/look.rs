//! The days on which a lot is looked over after its last bath.

use chrono::{Days, NaiveDate};

use super::book::{LookOf, Lot};
use crate::catalogue::Hatching;

/// A day on which a lot is to be looked over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LookDay {
    /// How many days after the last bath.
    pub after: u16,
    /// The day.
    pub day: NaiveDate,
}

/// The days of looking after a bath: those of the data, unless the dip names its own; after an overrun the next day too.
///
/// A bath on 2031-03-03 with days 7, 14, 21 and 28: 2031-03-10, 17, 24 and 31, and 2031-03-04 if it ran over.
///
/// Source: `judgement`, on the published times of `hazards/hatching.toml`.
#[must_use]
pub fn looking_days(hatching: &Hatching, own: Option<&[u16]>, last_bath: NaiveDate, ran_over: bool) -> Vec<LookDay> {
    let days = own.filter(|days| !days.is_empty()).unwrap_or(&hatching.look_on.days);
    let leaves = Some(1).filter(|next| ran_over && !days.contains(next));
    leaves
        .iter()
        .chain(days)
        .map(|after| LookDay { after: *after, day: last_bath + Days::new(u64::from(*after)) })
        .collect()
}

/// Of these days the first that no look has answered: one is answered by a look on it or later.
///
/// Nothing for a lot that has left, is in a bath, or was looked over on the last of them.
#[must_use]
pub fn next_look(lot: &Lot, days: &[LookDay]) -> Option<LookDay> {
    if lot.left.is_some() || lot.running().is_some() {
        return None;
    }
    let last = last_look(lot).map(|look| look.day);
    days.iter().copied().find(|look| last.is_none_or(|last| last < look.day))
}

/// The last look since the last bath.
#[must_use]
pub fn last_look(lot: &Lot) -> Option<&LookOf> {
    let bathed = lot.last_bath()?;
    lot.looks.iter().rev().find(|look| look.day >= bathed)
}

impl LookOf {
    /// True if neither animals nor eggs were seen.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.what.adults == 0 && self.what.eggs == 0
    }
}
