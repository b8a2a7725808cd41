//! Prior, history and tests give the strength of a day, with its band, and the day on which it no longer suffices.

use chrono::{Days, NaiveDate};

use super::belief::{Belief, Mixture};
use super::climate::Climate;
use super::law::{self, Kinetics, RatePrior};
use super::{Assay, History};
use crate::catalogue::{Condition, Decay, Reagent};
use crate::chem::ChemError;
use crate::chem::formula::molar_mass;
use crate::units::estimate::Estimate;
use crate::units::show::{self, plain};
use crate::units::step::Step;

/// A test whose own error is exceeded so many times by what is left of the surprise fits nothing that is known.
const MISFIT: f64 = 4.0;

/// What can be said of a stock's content on a day.
#[derive(Debug, Clone)]
pub enum Standing {
    /// An estimate.
    Known(Known),
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
    kinetics: Kinetics,
    /// The day it holds for.
    day: NaiveDate,
    /// How warm it stands from that day on.
    climate: Climate,
    /// The content's distribution on that day.
    pub content: Mixture,
    /// The day of the last test, if it fits neither label nor history.
    pub misfit: Option<NaiveDate>,
    /// How the number came about.
    pub steps: Vec<Step>,
}

impl Known {
    /// The content with its 5–95 % band.
    #[must_use]
    pub fn estimate(&self) -> Estimate {
        Estimate {
            low: self.content.quantile(0.05),
            mid: self.content.quantile(0.5),
            high: self.content.quantile(0.95),
        }
    }

    /// The content's distribution on a later day, if the stock stays where and as it is.
    #[must_use]
    pub fn later(&self, day: NaiveDate) -> Mixture {
        let mut belief = self.belief.clone();
        belief.age(self.kinetics.time(self.climate, self.day, day));
        belief.content()
    }

    /// True if the content does not change with time.
    #[must_use]
    pub fn keeps(&self) -> bool {
        self.kinetics == Kinetics::Keeps
    }

    /// The last day, up to a horizon in days, on which something that only gets worse still holds.
    ///
    /// `None` if it does not hold even on the first day; the horizon itself if it still holds then.
    pub fn last_day(&self, horizon: u64, holds: impl Fn(NaiveDate, &Mixture) -> bool) -> Option<NaiveDate> {
        if !holds(self.day, &self.content) {
            return None;
        }
        let after = |days: u64| self.day.checked_add_days(Days::new(days)).unwrap_or(NaiveDate::MAX);
        if self.keeps() || holds(after(horizon), &self.later(after(horizon))) {
            return Some(after(horizon));
        }
        let (mut good, mut bad) = (0, horizon);
        while bad - good > 1 {
            let middle = (good + bad) / 2;
            if holds(after(middle), &self.later(after(middle))) { good = middle } else { bad = middle }
        }
        Some(after(good))
    }
}

/// The content of a stock on the day its history ends, from label, places, conditions and tests.
///
/// Peroxide and other first-order stocks: `ln C(t) = ln C0 - k tau(t)`, `tau` the time at 20 °C that equals the stock's own
/// temperatures; `k` log-normal by condition; a change of condition multiplies `k` by a log-normal factor that carries the
/// old prior into the new one; a test updates both. 3.10 g/100 mL, opened, at 25 °C (Ea 70): after a test of 2.70 ± 3 % at
/// 0.75 y the content at 1 y is 2.61 (2.44 to 2.78).
///
/// # Errors
/// [`ChemError::Formula`] if the catalogue's formula cannot be read.
///
/// Source: `facts-posterior`, `arrhenius`, `adam-gordon-1999`, and the sources of the reagent's priors.
pub fn standing(reagent: &Reagent, history: &History, day: NaiveDate) -> Result<Standing, ChemError> {
    let Some(decay) = reagent.decay.iter().find(|decay| decay.form == history.form) else {
        let why = format!("nothing is on file on how {} as a {} keeps", reagent.name, history.form);
        return Ok(Standing::Unknown { why, source: "definition".to_owned() });
    };
    let molar_mass = molar_mass(&reagent.formula.value)?.to_g_per_mol();
    let unknown = |why: String| Standing::Unknown { why, source: decay.source.clone() };
    let Some(kinetics) = Kinetics::of(decay, history.label.0, molar_mass) else {
        return Ok(tested_today(history, day, decay).unwrap_or_else(|| unknown(decay.why.clone())));
    };
    let prior = |condition: Condition| -> Option<Option<RatePrior>> {
        match kinetics {
            Kinetics::Keeps => Some(None),
            _ => law::prior(decay, condition, history.label_percent_w_w).map(Some),
        }
    };
    let no_rate =
        |condition: Condition| format!("no rate is on file for {} that is {}", reagent.name, condition.word());
    let Some(start) = decay.start.iter().find(|start| start.condition == history.came) else {
        let why = format!("nothing is on file on what {} that came {} holds", reagent.name, history.came.word());
        return Ok(tested_today(history, day, decay).unwrap_or_else(|| unknown(why)));
    };
    let Some(first) = prior(history.came) else {
        return Ok(tested_today(history, day, decay).unwrap_or_else(|| unknown(no_rate(history.came))));
    };
    let start_ln = libm::log(history.label.0 * start.factor.value);
    let mut walk = Walk {
        kinetics,
        decay,
        belief: Belief::new(kinetics, first, start_ln, libm::hypot(start.sd_ln, history.label_sd_ln)),
        condition: history.came,
        prior: first,
        misfit: None,
        steps: Vec::new(),
    };
    walk.say_start(history, start.factor.value, start.sd_ln, &start.factor.source);
    for stretch in &history.stretches {
        if stretch.condition != walk.condition {
            let Some(next) = prior(stretch.condition) else {
                return Ok(tested_today(history, day, decay).unwrap_or_else(|| unknown(no_rate(stretch.condition))));
            };
            walk.change(stretch.condition, next);
        }
        let mut reached = stretch.from;
        for assay in history.assays.iter().filter(|assay| assay.day >= stretch.from && assay.day < stretch.to) {
            walk.wait(stretch.climate, reached, assay.day, &stretch.place);
            walk.test(assay, history);
            reached = assay.day;
        }
        walk.wait(stretch.climate, reached, stretch.to, &stretch.place);
    }
    let end = history.stretches.last().map_or(day, |stretch| stretch.to);
    for assay in history.assays.iter().filter(|assay| assay.day >= end && assay.day <= day) {
        walk.test(assay, history);
    }
    let climate =
        history.stretches.last().map_or(Climate::Constant(crate::units::Temperature::celsius(20.0)), |s| s.climate);
    let content = walk.belief.content();
    Ok(Standing::Known(Known {
        content,
        misfit: walk.misfit,
        belief: walk.belief,
        kinetics,
        day,
        climate,
        steps: walk.steps,
    }))
}

/// Without a rate, a test speaks for the day on which it was made and for no other.
fn tested_today(history: &History, day: NaiveDate, decay: &Decay) -> Option<Standing> {
    let assay = history.assays.iter().rev().find(|assay| assay.day == day)?;
    let content = Mixture::log_normal(libm::log(assay.content.0), assay.relative_sd);
    let belief = Belief::new(Kinetics::Keeps, None, libm::log(assay.content.0), assay.relative_sd);
    let climate = history.stretches.last()?.climate;
    let steps =
        vec![Step::new(format!("{}; today's test alone counts, and only today", decay.why), decay.source.clone())];
    Some(Standing::Known(Known { belief, kinetics: Kinetics::Keeps, day, climate, content, misfit: None, steps }))
}

struct Walk<'a> {
    kinetics: Kinetics,
    decay: &'a Decay,
    belief: Belief,
    condition: Condition,
    prior: Option<RatePrior>,
    misfit: Option<NaiveDate>,
    steps: Vec<Step>,
}

impl Walk<'_> {
    fn say(&mut self, what: String, source: &str) {
        self.steps.push(Step::new(what, source));
    }

    fn source_of(&self, condition: Condition) -> String {
        let prior = self.decay.prior.iter().find(|prior| prior.condition == condition);
        prior.map_or_else(|| self.decay.source.clone(), |prior| prior.median.source.clone())
    }

    fn say_start(&mut self, history: &History, factor: f64, sd_ln: f64, source: &str) {
        self.say(format!("label: {}", content_text(history, history.label.0)), "register");
        self.say(
            format!(
                "a stock that comes {} holds {} of its label, ± {} %",
                history.came.word(),
                plain(factor),
                plain(165.0 * sd_ln)
            ),
            source,
        );
        let law = self.decay.why.clone();
        self.say(law, &self.decay.source.clone());
        self.say_rate();
    }

    fn say_rate(&mut self) {
        let Some(prior) = self.prior else { return };
        let factor = libm::exp(crate::units::estimate::Z_95 * prior.sd_ln);
        let median = libm::exp(prior.mean_ln);
        let what = match self.kinetics {
            Kinetics::SecondOrder { .. } => "times the published rate",
            _ => "a year at 20 °C",
        };
        let band = show::with_band(Estimate { low: median / factor, mid: median, high: median * factor });
        let (condition, source) = (self.condition.word(), self.source_of(self.condition));
        self.say(format!("rate while {condition}: {band} {what}"), &source);
    }

    fn change(&mut self, condition: Condition, next: Option<RatePrior>) {
        if let (Some(old), Some(new)) = (self.prior, next) {
            // A worse condition never slows a bottle down, and never makes its rate better known.
            let wider = (new.sd_ln * new.sd_ln - old.sd_ln * old.sd_ln).max(0.0);
            self.belief.worsen((new.mean_ln - old.mean_ln).max(0.0), libm::sqrt(wider));
        }
        self.condition = condition;
        self.prior = next;
        self.say_rate();
    }

    fn wait(&mut self, climate: Climate, from: NaiveDate, to: NaiveDate, place: &str) {
        if to <= from || self.kinetics == Kinetics::Keeps {
            return;
        }
        let time = self.kinetics.time(climate, from, to);
        self.belief.age(time);
        let days = (to - from).num_days();
        if let Kinetics::FirstOrder { activation } = self.kinetics {
            self.say(
                format!(
                    "{days} days in {place} count as {} days at 20 °C (activation energy {} kJ/mol)",
                    plain(time * 365.25),
                    plain(activation.to_kj_per_mol())
                ),
                "arrhenius",
            );
        } else {
            self.say(format!("{days} days in {place} at the second-order rate of its temperature"), "adam-gordon-1999");
        }
    }

    fn test(&mut self, assay: &Assay, history: &History) {
        let found = libm::log(assay.content.0);
        self.belief.observe(found, assay.relative_sd);
        let (settled, _) = self.belief.content().moments_ln();
        self.misfit = ((found - settled).abs() > MISFIT * assay.relative_sd).then_some(assay.day);
        self.say(
            format!(
                "test of {}: {} ± {} % (1 sd)",
                assay.day,
                content_text(history, assay.content.0),
                plain(100.0 * assay.relative_sd)
            ),
            "register",
        );
    }
}

fn content_text(history: &History, content: f64) -> String {
    match history.form {
        crate::catalogue::Form::Solution => format!("{} g/L", plain(content)),
        crate::catalogue::Form::Solid => format!("{} % w/w", plain(100.0 * content)),
    }
}
