//! What became of the keeper's own lots, by dip and kind of plant, with an interval that is honest for small numbers.

use std::collections::BTreeMap;

use super::book::{Book, LoadOf, Lot};
use super::look::last_look;

/// What became of the lots of one kind of plant after one version of a dip.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Key of the dip.
    pub dip: String,
    /// Which version of it.
    pub version: u32,
    /// The kind of plant; nothing where none was told.
    pub kind: Option<String>,
    /// Lots whose last look found neither animals nor eggs.
    pub clear: u32,
    /// Lots that were looked over late enough.
    pub looked: u32,
    /// Lower end of the 95 % interval of the share.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// How many of them were in longer than the dip says, and how many of those were clear.
    pub overrun: [u32; 2],
}

/// The outcomes by dip, version and kind of plant, in that order.
///
/// A lot counts for its last bath, once, if its last look was `after` days later or more. `longest` gives the seconds that a
/// version of a dip lets plants stay in at the most, where that is known.
#[must_use]
pub fn outcomes(book: &Book, after: i64, longest: impl Fn(&str, u32) -> Option<i64>) -> Vec<Outcome> {
    let mut groups: BTreeMap<(String, u32, Option<String>), [u32; 4]> = BTreeMap::new();
    for lot in &book.lots {
        let Some((load, clear)) = counted(lot, after) else { continue };
        let kind = load.load.kind.as_ref().map(|kind| kind.to_lowercase());
        let counts = groups.entry((load.dip.clone(), load.version, kind)).or_default();
        let over = longest(&load.dip, load.version).zip(load.seconds()).is_some_and(|(most, seconds)| seconds > most);
        counts[0] += u32::from(clear);
        counts[1] += 1;
        counts[2] += u32::from(over);
        counts[3] += u32::from(over && clear);
    }
    let of = |((dip, version, kind), [clear, looked, over, over_clear]): ((String, u32, Option<String>), [u32; 4])| {
        let [low, high] = wilson(clear, looked);
        Outcome { dip, version, kind, clear, looked, low, high, overrun: [over, over_clear] }
    };
    groups.into_iter().map(of).collect()
}

/// The last bath of a lot, and whether its last look found nothing; nothing where that look came too early.
fn counted(lot: &Lot, after: i64) -> Option<(&LoadOf, bool)> {
    let load = lot.loads.last().filter(|load| load.ended.is_some())?;
    let look = last_look(lot)?;
    let days = (look.day - lot.last_bath()?).num_days();
    (days >= after).then(|| (load, look.is_clear()))
}

/// The 95 % interval of a share, by Wilson's score: with `p = k / n` and `z = 1.959964`
/// `(p + z²/2n ± z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n)`.
///
/// For any `n` above 0, of 0 nothing is known: 0 to 1. 5 of 6: 0.4365 to 0.9699. 0 of 10: 0 to 0.2775.
///
/// Source: `wilson-1927`.
#[must_use]
pub fn wilson(clear: u32, looked: u32) -> [f64; 2] {
    if looked == 0 {
        return [0.0, 1.0];
    }
    let (n, k) = (f64::from(looked), f64::from(clear.min(looked)));
    let z2 = Z * Z;
    let p = k / n;
    let middle = p + z2 / (2.0 * n);
    let half = Z * libm::sqrt(p * (1.0 - p) / n + z2 / (4.0 * n * n));
    let whole = 1.0 + z2 / n;
    [((middle - half) / whole).max(0.0), ((middle + half) / whole).min(1.0)]
}

/// The 97.5th percentile of the normal distribution.
const Z: f64 = 1.959_963_984_540_054;
