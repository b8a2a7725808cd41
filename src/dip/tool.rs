//! The keeper's own measures: which mark, how many of them, and the error that this brings.

use super::weighing::Holds;
use crate::units::show;

/// How often anybody fills the same syringe, jug or scale for one dose. Source: `judgement`.
const MOST_FILLINGS: f64 = 10.0;

/// How many spoons or drops anybody counts without losing count. Source: `judgement`.
const MOST_COUNTED: f64 = 40.0;

/// A dose of fewer steps than this is not measured with it at all: it could be a fifth off. Source: `judgement`.
const LEAST_STEPS: f64 = 3.0;

/// A dose of fewer steps than this is too small for its measure.
///
/// Source: `judgement`; the same threshold as where no measure of the keeper's is on file.
pub const STEPS_WANTED: f64 = 10.0;

/// More spoonfuls than this nobody counts out of a liquid.
///
/// Source: `judgement`.
const MOST_SPOONFULS: f64 = 10.0;

/// A measure of the keeper's, as far as one reagent is concerned.
#[derive(Debug, Clone, PartialEq)]
pub struct Tool {
    /// Its name.
    pub name: String,
    /// `g` or `mL`.
    pub unit: &'static str,
    /// How it is read.
    pub way: Way,
}

/// How a measure is read.
#[derive(Debug, Clone, PartialEq)]
pub enum Way {
    /// By marks, or by what its display shows.
    Marks {
        /// The distance of two marks, or the last figure of the display.
        step: f64,
        /// What it holds or bears at a time.
        most: Option<f64>,
        /// What is really there where it shows 1, and how sure that is.
        shows: Holds,
        /// True for a scale, whose last figure is the finest thing that can be weighed.
        is_scale: bool,
    },
    /// By counting.
    Counted {
        /// What is counted: `level spoon`, `drop`.
        thing: &'static str,
        /// What one of them brings.
        one: Holds,
        /// What was taken for granted, if nobody weighed one.
        taken_as: Option<String>,
    },
}

/// A dose as it is measured with one measure.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// What is really measured out, in the tool's unit.
    pub amount: f64,
    /// `g` or `mL`.
    pub unit: &'static str,
    /// Its relative standard deviation.
    pub relative_sd: f64,
    /// Which mark how often, or how many; full fillings first.
    pub own: Vec<Own>,
    /// Which mark or how many with what, in words.
    pub words: String,
    /// True if it is under ten steps of its measure, or ten drops.
    pub coarse: bool,
}

impl Taken {
    /// How far it may be off what was wanted, rounding included, as a relative deviation.
    #[must_use]
    pub fn off(&self, wanted: f64) -> f64 {
        libm::hypot(self.relative_sd, libm::log(self.amount / wanted))
    }
}

/// One line of how a dose is measured with a measure of the keeper's.
#[derive(Debug, Clone, PartialEq)]
pub struct Own {
    /// The measure's name.
    pub measure: String,
    /// How much.
    pub reading: Reading,
    /// `g`, `mL`, `level spoon` or `drop`.
    pub unit: &'static str,
    /// Relative standard deviation of the whole dose.
    pub relative_sd: f64,
}

/// What is read or counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// Filled to this mark, or weighed to this figure, so many times.
    Mark {
        /// The mark.
        mark: f64,
        /// How many times.
        times: f64,
    },
    /// So many of them.
    Count(f64),
}

impl Tool {
    /// How an amount is measured with it; nothing where it is too much or too little for it, or more than is left.
    ///
    /// By marks: the nearest of them in `k` fillings, with `sqrt(sd² + k step² / 12 / shown²)`, `sd` being what its marks are
    /// off; the reading may be anything within half a step. 0.3 g on a scale of 0.01 g that is 1 % off: 1.4 %. Counted: the
    /// nearest whole number, with the error of one by [`Holds::relative_sd`].
    ///
    /// Source: arithmetic (a uniform error of a step has the standard deviation `step / sqrt(12)`); the errors of marks,
    /// spoons and drops stand in `hazards/dips.toml`.
    #[must_use]
    pub fn take(&self, amount: f64, left: f64) -> Option<Taken> {
        // What only the arithmetic brought is no step more or less.
        let left = left * (1.0 + 1e-9);
        match &self.way {
            Way::Marks { step, most, shows, .. } => {
                let whole = |steps: f64| libm::floor(steps + 1e-9);
                let nearest = libm::round(amount / shows.mean / step);
                let steps = if nearest * step * shows.mean > left { whole(left / shows.mean / step) } else { nearest };
                let full = most.map_or(f64::INFINITY, |most| whole(most / step));
                let fillings = libm::ceil(steps / full).max(1.0);
                if steps < LEAST_STEPS || fillings > MOST_FILLINGS {
                    return None;
                }
                let shown = steps * step;
                let rounding = libm::sqrt(fillings / 12.0) / steps;
                let relative_sd = libm::hypot(shows.relative_sd(fillings), rounding);
                let mut own = Vec::new();
                let mut mark = |steps: f64, times: f64| {
                    if steps > 0.0 && times > 0.0 {
                        let reading = Reading::Mark { mark: steps * step, times };
                        own.push(Own { measure: self.name.clone(), reading, unit: self.unit, relative_sd });
                    }
                };
                if fillings > 1.0 {
                    mark(full, fillings - 1.0);
                    mark(steps - full * (fillings - 1.0), 1.0);
                } else {
                    mark(steps, 1.0);
                }
                Some(Taken {
                    amount: shown * shows.mean,
                    unit: self.unit,
                    relative_sd,
                    words: self.words(&own),
                    own,
                    coarse: steps < STEPS_WANTED - 1e-9,
                })
            }
            Way::Counted { one, thing, .. } => {
                let nearest = libm::round(amount / one.mean);
                let count = if nearest * one.mean > left { libm::floor(left / one.mean) } else { nearest };
                if !(1.0..=MOST_COUNTED).contains(&count) {
                    return None;
                }
                let relative_sd = one.relative_sd(count);
                let own =
                    vec![Own { measure: self.name.clone(), reading: Reading::Count(count), unit: thing, relative_sd }];
                let coarse = *thing == "drop" && count < STEPS_WANTED;
                Some(Taken {
                    amount: count * one.mean,
                    unit: self.unit,
                    relative_sd,
                    words: self.words(&own),
                    own,
                    coarse,
                })
            }
        }
    }

    /// True if more than ten spoonfuls would be counted out; drops are meant to be counted.
    ///
    /// Source: `judgement`.
    #[must_use]
    pub fn is_counted_often(&self, amount: f64) -> bool {
        match &self.way {
            Way::Counted { thing, one, .. } => *thing != "drop" && amount > MOST_SPOONFULS * one.mean,
            Way::Marks { .. } => false,
        }
    }

    /// True for a scale.
    #[must_use]
    pub fn is_scale(&self) -> bool {
        matches!(self.way, Way::Marks { is_scale: true, .. })
    }

    /// True if this amount is fewer than ten steps of it.
    #[must_use]
    pub fn is_too_coarse_for(&self, amount: f64) -> bool {
        matches!(self.way, Way::Marks { step, .. } if amount < STEPS_WANTED * step * (1.0 - 1e-9))
    }

    fn words(&self, own: &[Own]) -> String {
        let parts: Vec<String> = own
            .iter()
            .map(|own| match own.reading {
                Reading::Mark { mark, times } if times > 1.0 => {
                    format!("{} × {}", show::plain(times), show::amount(mark, self.unit))
                }
                Reading::Mark { mark, .. } => show::amount(mark, self.unit),
                Reading::Count(count) => {
                    format!("{} {}{}", show::plain(count), own.unit, if count > 1.0 { "s" } else { "" })
                }
            })
            .collect();
        let with = match &self.way {
            Way::Marks { is_scale: true, .. } => "on",
            Way::Marks { .. } => "in",
            Way::Counted { thing: "drop", .. } => "from",
            Way::Counted { .. } => "of",
        };
        let taken_as = match &self.way {
            Way::Counted { taken_as: Some(taken_as), .. } => format!("; {taken_as}"),
            _ => String::new(),
        };
        format!("{} {with} `{}`{taken_as}", parts.join(" and "), self.name)
    }
}
