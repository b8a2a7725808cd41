//! What an earlier bath leaves behind, and what that does to the next one.

use crate::catalogue::{Catalogue, Dip, Trap};

/// The traps between a reagent that was there before and one that comes after it, both by their keys; none for a key that
/// nobody knows.
///
/// The order counts: thiosulfate before permanganate is a trap, permanganate before thiosulfate is how a bath is stopped.
///
/// Source: `hazards/sequence.toml`, each trap with its own.
#[must_use]
pub fn between<'a>(catalogue: &'a Catalogue, before: &str, after: &str) -> Vec<&'a Trap> {
    let (Some(left), Some(next)) = (catalogue.reagent(before), catalogue.reagent(after)) else { return Vec::new() };
    catalogue.sequence().traps.iter().filter(|trap| trap.is_of(left, next)).collect()
}

/// Keys of the reagents that a dip may leave behind: its own, and the neutraliser that stops it.
#[must_use]
pub fn left_by(dip: &Dip) -> Vec<&str> {
    std::iter::once(dip.reagent.as_str()).chain(dip.stop.as_ref().map(|stop| stop.reagent.as_str())).collect()
}

/// The traps between two dips, what stops the earlier one included; each once, in the order of the file's.
#[must_use]
pub fn after_dip<'a>(catalogue: &'a Catalogue, earlier: &Dip, later: &Dip) -> Vec<&'a Trap> {
    let mut traps: Vec<&Trap> = Vec::new();
    for left in left_by(earlier) {
        for trap in between(catalogue, left, &later.reagent) {
            if !traps.iter().any(|other| other.key == trap.key) {
                traps.push(trap);
            }
        }
    }
    traps
}

/// A trap that stands between something and a bath, with what was done about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// What was there before, as it was named.
    pub after: String,
    /// The dip that comes.
    pub next: String,
    /// Key of what is left of it.
    pub left: String,
    /// The trap.
    pub trap: Trap,
    /// Rinses that stand between them.
    pub rinsed: u8,
}

impl Found {
    /// True if the rinses were enough.
    #[must_use]
    pub fn is_cleared(&self) -> bool {
        self.trap.is_cleared_by(self.rinsed)
    }

    /// What is to be done, in words: `rinse twice before alum-soak: … may be left over. …`.
    #[must_use]
    pub fn words(&self) -> String {
        let left = match self.after == self.left {
            true => format!("{} may be left over", self.left),
            false => format!("{} may be left over from {}", self.left, self.after),
        };
        let what = match (self.trap.rinses, self.rinsed) {
            (None, _) => format!("never {} after it", self.next),
            (Some(_), rinsed) if self.is_cleared() => format!("rinsed {}, so it is cleared", times(rinsed)),
            (Some(wanted), 0) => format!("rinse {} before {}", times(wanted), self.next),
            (Some(wanted), rinsed) => {
                format!("rinse {} before {}; {} is not enough", times(wanted), self.next, times(rinsed))
            }
        };
        format!("{what}: {left}. {}", self.trap.happens)
    }
}

/// The traps between what is left of something and a dip; beside one that nothing clears the others are not worth a word.
#[must_use]
pub fn found(catalogue: &Catalogue, after: &str, left: &[&str], next: &Dip, rinsed: u8) -> Vec<Found> {
    let mut all: Vec<Found> = Vec::new();
    for left in left {
        for trap in between(catalogue, left, &next.reagent) {
            if all.iter().any(|found| found.trap.key == trap.key) {
                continue;
            }
            all.push(Found {
                after: after.to_owned(),
                next: next.key.clone(),
                left: (*left).to_owned(),
                trap: trap.clone(),
                rinsed,
            });
        }
    }
    if all.iter().any(|found| found.trap.rinses.is_none()) {
        all.retain(|found| found.trap.rinses.is_none());
    }
    all
}

/// `once`, `twice`, `3 times`.
#[must_use]
pub fn times(count: u8) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        other => format!("{other} times"),
    }
}
