//! Prior, history and tests give the strength of a day, with its band, and the day on which it no longer suffices.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use chrono::{Days, NaiveDate};

use super::belief::{Belief, Window};
use super::case::Case;
use super::climate::Climate;
use super::crystals::ClearLiquid;
use super::law::Kinetics;
use super::light::Daylight;
use super::mixture::Mixture;
use super::walk::{Losses, Outlook, Told, Walk, walk};
use super::{History, Stretch};
use crate::catalogue::{Condition, Decay, Optics, Reagent};
use crate::chem::ChemError;
use crate::units::estimate::Estimate;
use crate::units::step::Step;

/// What can be said of a stock's content on a day.
#[derive(Debug, Clone)]
pub enum Standing {
    /// An estimate.
    Known(Box<Known>),
    /// No rate is on file: the label is an upper bound, and a test is the only way to know.
    Unknown {
        /// Why.
        why: String,
        /// Key of the source of the reason.
        source: String,
    },
}

/// An estimate of a content, ready to be carried on in time.
#[derive(Debug, Clone)]
pub struct Known {
    belief: Belief,
    /// How it goes on from that day, if it stays where and as it is.
    outlook: Outlook,
    /// The content that light is reckoned around.
    reference: f64,
    /// The day it holds for.
    day: NaiveDate,
    /// The content's distribution on that day.
    pub content: Mixture,
    /// The day of the last test, if it fits neither label nor history.
    pub misfit: Option<NaiveDate>,
    /// What a cold day has left in the clear liquid, if it was made stronger than that.
    pub clear: Option<ClearLiquid>,
    /// What has weakened it since it came or was last tested.
    pub losses: Losses,
    /// How the number came about.
    pub steps: Vec<Step>,
    /// What has been worked out of it already.
    worked_out: WorkedOut,
}

/// What was asked of an estimate and may be asked again: of one bottle several dips ask for nearly the same days.
#[derive(Debug, Clone, Default)]
struct WorkedOut {
    band: OnceLock<Estimate>,
    /// Contents of later days, shared by every copy of the estimate.
    ahead: Arc<Mutex<Vec<(NaiveDate, Mixture)>>>,
}

impl Known {
    /// The content with its 5–95 % band.
    #[must_use]
    pub fn estimate(&self) -> Estimate {
        *self.worked_out.band.get_or_init(|| estimate(&self.content))
    }

    /// The content's distribution on a later day, if the stock stays where and as it is.
    #[must_use]
    pub fn later(&self, day: NaiveDate) -> Mixture {
        let mut ahead = self.worked_out.ahead.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, content)) = ahead.iter().find(|(known, _)| *known == day) {
            return content.clone();
        }
        let content = self.on(day);
        ahead.push((day, content.clone()));
        content
    }

    fn on(&self, day: NaiveDate) -> Mixture {
        let Outlook { kinetics, climate, fading, faster } = &self.outlook;
        let time = faster * kinetics.time(climate, self.day, day);
        match fading {
            Some(fading) if day > self.day => {
                self.belief.content_faded(time, (day - self.day).num_days() as f64 / 365.25, *fading)
            }
            _ => self.belief.content_after(time),
        }
    }

    /// How much of the content goes until a later day, if the stock stays where and as it is.
    ///
    /// The rate that has brought a bottle where it is also takes the rest: the loss has a distribution of its own, and is not
    /// the distance between two quantiles of the content. 30.9 g/L at 0.10 a year (sd of the logarithm 1.0), 30 days at 20 °C:
    /// 0.253 g/L, and 1.28 at the 95 % end.
    ///
    /// Source: `facts-posterior`.
    #[must_use]
    pub fn lost_by(&self, day: NaiveDate) -> Mixture {
        let Outlook { kinetics, climate, fading, faster } = &self.outlook;
        let time = faster * kinetics.time(climate, self.day, day);
        match fading {
            Some(fading) if day > self.day => {
                self.belief.lost_faded(time, (day - self.day).num_days() as f64 / 365.25, *fading)
            }
            _ => self.belief.lost_after(time),
        }
    }

    /// The same stock, carried to another place on that day.
    #[must_use]
    pub fn elsewhere(&self, outlook: Outlook) -> Known {
        Known { outlook, worked_out: WorkedOut::default(), ..self.clone() }
    }

    /// How it goes on weakening.
    #[must_use]
    pub fn outlook(&self) -> &Outlook {
        &self.outlook
    }

    /// True if the content does not change with time.
    #[must_use]
    pub fn keeps(&self) -> bool {
        self.outlook.kinetics == Kinetics::Keeps
    }

    /// The rate of the bottle: of a year at 20 °C, or times the published law. Nothing for one that keeps.
    #[must_use]
    pub fn rate(&self) -> Option<Estimate> {
        if self.keeps() {
            return None;
        }
        let (mean, sd) = self.belief.rate_ln();
        Some(Estimate::log_normal(libm::exp(mean), sd))
    }

    /// The chance that it keeps as the few bad makers' bottles do.
    #[must_use]
    pub fn odd(&self) -> f64 {
        self.belief.odd()
    }

    /// The last day, up to a horizon in days, on which a margin that only gets smaller is not below zero.
    ///
    /// `None` if it is below even on the first day; the horizon itself if it is not below then. Looked for by false position (the
    /// Illinois rule), which asks for half as many days as halving does: a later content takes long to work out.
    pub fn last_day(&self, horizon: u64, margin: impl Fn(NaiveDate, &Mixture) -> f64) -> Option<NaiveDate> {
        let after = |days: u64| self.day.checked_add_days(Days::new(days)).unwrap_or(NaiveDate::MAX);
        let mut at_good = margin(self.day, &self.content);
        if at_good < 0.0 {
            return None;
        }
        if self.keeps() {
            return Some(after(horizon));
        }
        let on = |days: u64| margin(after(days), &self.later(after(days)));
        let mut at_bad = on(horizon);
        if at_bad >= 0.0 {
            return Some(after(horizon));
        }
        let (mut good, mut bad) = (0, horizon);
        let mut last_was_good = None;
        while bad - good > 1 {
            let guess = good + ((bad - good) as f64 * at_good / (at_good - at_bad)) as u64;
            let between = guess.clamp(good + 1, bad - 1);
            let at = on(between);
            let is_good = at >= 0.0;
            // The end that stays for a second time counts for half, so that the next guess lies beyond.
            let half = if last_was_good == Some(is_good) { 0.5 } else { 1.0 };
            if is_good {
                (good, at_good, at_bad) = (between, at, at_bad * half);
            } else {
                (bad, at_bad, at_good) = (between, at, at_good * half);
            }
            last_was_good = Some(is_good);
        }
        Some(after(good))
    }
}

/// Median and 5–95 % band of a content.
#[must_use]
pub fn estimate(content: &Mixture) -> Estimate {
    Estimate { low: content.quantile(0.05), mid: content.quantile(0.5), high: content.quantile(0.95) }
}

/// The content of a stock on the day its history ends, from label, places, conditions, light and tests.
///
/// Peroxide and other first-order stocks: `ln C(t) = ln C0 - k tau(t) - light`, `tau` the time at 20 °C that equals the
/// stock's own temperatures; `k` log-normal by condition; a change of condition multiplies `k` by a log-normal factor that
/// carries the old prior into the new one; a test updates both. 3.10 g/100 mL, opened, at 25 °C (Ea 70): after a test of
/// 2.70 ± 3 % at 0.75 y the content at 1 y is 2.61 (2.44 to 2.78).
///
/// # Errors
/// [`ChemError::Formula`] if the catalogue's formula cannot be read.
///
/// Source: `facts-posterior`, `arrhenius`, `adam-gordon-1999`, and the sources of the reagent's priors.
pub fn standing(optics: &Optics, reagent: &Reagent, history: &History, day: NaiveDate) -> Result<Standing, ChemError> {
    stand(optics, reagent, history, day, Told::InSteps)
}

/// [`standing`] in figures alone: the same numbers, and no steps. For lists, which show none.
///
/// # Errors
/// As [`standing`].
///
/// Source: as [`standing`].
pub fn standing_untold(
    optics: &Optics,
    reagent: &Reagent,
    history: &History,
    day: NaiveDate,
) -> Result<Standing, ChemError> {
    stand(optics, reagent, history, day, Told::InFigures)
}

fn stand(
    optics: &Optics,
    reagent: &Reagent,
    history: &History,
    day: NaiveDate,
    told: Told,
) -> Result<Standing, ChemError> {
    let Some(case) = Case::of(optics, reagent, history)? else {
        let why = format!("nothing is on file on how {} as a {} keeps", reagent.name, history.form);
        return Ok(Standing::Unknown { why, source: "definition".to_owned() });
    };
    Ok(match walk(case, day, told) {
        Ok(walked) => {
            let Walk { belief, misfit, clear, losses, steps, outlook, reference, .. } = walked;
            let content = belief.content();
            let worked_out = WorkedOut::default();
            let known = Known { belief, outlook, reference, day, content, misfit, clear, losses, steps, worked_out };
            Standing::Known(Box::new(known))
        }
        Err(why) => match tested_today(history, day, case.decay) {
            Some(known) => Standing::Known(Box::new(known)),
            None => Standing::Unknown { why, source: case.decay.source.clone() },
        },
    })
}

/// How a stock of which so much is known would go on in a place.
///
/// # Errors
/// [`ChemError::Formula`] if the catalogue's formula cannot be read.
pub fn outlook(
    optics: &Optics,
    reagent: &Reagent,
    history: &History,
    condition: Condition,
    (climate, daylight): (Climate, Daylight),
    known: &Known,
) -> Result<Option<Outlook>, ChemError> {
    let Some(case) = Case::of(optics, reagent, history)? else { return Ok(None) };
    Ok(case.kinetics(condition).map(|kinetics| Outlook {
        kinetics,
        climate,
        fading: case.fading(daylight, known.reference),
        faster: case.faster(daylight),
    }))
}

/// How many times better the tests fit a bottle that is dirty than one in the condition that is entered, of which so much is
/// known on that day.
///
/// The ratio of the two likelihoods of all tests (a Bayes factor). Nothing without a test, for a bottle that is entered as
/// dirty, and where the last test fits neither.
///
/// # Errors
/// As [`standing`].
///
/// Source: `facts-posterior`.
pub fn dirt(
    optics: &Optics,
    reagent: &Reagent,
    history: &History,
    day: NaiveDate,
    clean: &Known,
) -> Result<Option<f64>, ChemError> {
    let now = history.stretches.last().map_or(history.came, |stretch| stretch.condition);
    let untold = now == Condition::Dirty || history.assays.is_empty() || clean.keeps();
    let Some(case) = Case::of(optics, reagent, history)?.filter(|_| !untold) else { return Ok(None) };
    // It came with the label it has; only what happened since is another.
    let soiled = History {
        stretches: history
            .stretches
            .iter()
            .map(|stretch| Stretch { condition: Condition::Dirty, ..stretch.clone() })
            .collect(),
        ..history.clone()
    };
    let soiled = walk(case.with(&soiled), day, Told::InFigures).ok().filter(|soiled| soiled.misfit.is_none());
    Ok(soiled.map(|soiled| libm::exp(soiled.belief.evidence_ln() - clean.belief.evidence_ln())))
}

/// Without a rate, a test speaks for the day on which it was made and for no other.
fn tested_today(history: &History, day: NaiveDate, decay: &Decay) -> Option<Known> {
    let mut belief = Belief::new(Kinetics::Keeps, None, libm::log(history.label.0), NOTHING_KNOWN, Window::OPEN);
    let today = || history.assays.iter().filter(|assay| assay.day == day);
    today().next()?;
    for assay in today() {
        belief.observe(assay.finding, 0.0);
    }
    let climate = history.stretches.last()?.climate.clone();
    let steps =
        vec![Step::new(format!("{}; today's test alone counts, and only today", decay.why), decay.source.clone())];
    Some(Known {
        content: belief.content(),
        belief,
        outlook: Outlook { kinetics: Kinetics::Keeps, climate, fading: None, faster: 1.0 },
        reference: history.label.0,
        day,
        misfit: None,
        clear: None,
        losses: Losses::default(),
        steps,
        worked_out: WorkedOut::default(),
    })
}

/// The standard deviation, in logarithms, of a content of which a test is to say everything.
const NOTHING_KNOWN: f64 = 3.0;
