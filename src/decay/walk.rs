//! The way through a stock's history: places, conditions, light and tests, one after the other.

use chrono::NaiveDate;

use super::account;
use super::belief::{Belief, Window};
use super::case::Case;
use super::climate::Climate;
use super::crystals::{ClearLiquid, clear_liquid};
use super::finding::Finding;
use super::law::{self, Kinetics, RatePrior};
use super::light::{Daylight, Fading};
use super::{Age, Assay, Stretch};
use crate::catalogue::Condition;
use crate::chem::Substance;
use crate::units::Temperature;
use crate::units::estimate::{Estimate, Z_95};
use crate::units::show::{self, plain, significant};
use crate::units::step::Step;

/// A test that was less likely than this fits nothing that is known: four standard deviations.
const MISFIT: f64 = 3e-5;

/// The age of a bottle of which nobody knows it: median in years, and standard deviation of the logarithm (0.2 to 5 years).
const UNKNOWN_AGE: (f64, f64) = (1.0, 1.0);

/// The chance that a test was a slip.
const SLIP: f64 = 0.01;

/// The standard deviation, in logarithms, of what a bottle holds whose label does not fit its tests (a factor of 5).
const WRONG_LABEL: f64 = 1.0;

/// Crystals begin to dissolve again when it is so many degrees warmer than it was.
const WARMER: f64 = 1.0;

/// So many tests and more are looked at on a coarse grid first.
const MANY: usize = 4;

const DAYS_PER_YEAR: f64 = 365.25;

/// How a stock goes on weakening in a place.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// The law.
    pub kinetics: Kinetics,
    /// How warm it is.
    pub climate: Climate,
    /// What light does, where that is computed.
    pub fading: Option<Fading>,
    /// How many times faster light makes it, where no more than that is known.
    pub faster: f64,
}

/// What has weakened a stock since it came or was last tested: losses of the logarithm of its content, at the median.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Losses {
    /// Days since then.
    pub days: f64,
    /// By age alone, as if it had stood at 20 °C in the dark.
    pub age: f64,
    /// By warmth; below 0 where it stood cooler than 20 °C.
    pub warmth: f64,
    /// By light.
    pub light: f64,
    /// Standard deviation of what it was then.
    pub start_sd: f64,
    /// True if that was a test.
    pub tested: bool,
    /// True if nobody knew how old it was then.
    pub age_unknown: bool,
}

/// Where a walk has come to.
pub(super) struct Walk<'a> {
    case: Case<'a>,
    pub(super) kinetics: Kinetics,
    pub(super) belief: Belief,
    /// Time in the dark that the belief has yet to be told of: stretches that follow each other without a test are one fall.
    in_dark: f64,
    condition: Condition,
    prior: Option<RatePrior>,
    /// Where the grid of the last condition looks, and how many changes of condition are still to come.
    window: Window,
    changes_left: usize,
    /// True once the terms of light have been told.
    light_told: bool,
    /// The content that light is reckoned around: the label, then the last test.
    pub(super) reference: f64,
    /// What light does in a kind of daylight around that content.
    fadings: Vec<(Daylight, Option<Fading>)>,
    pub(super) misfit: Option<NaiveDate>,
    pub(super) clear: Option<ClearLiquid>,
    pub(super) losses: Losses,
    told: Told,
    pub(super) steps: Vec<Step>,
    pub(super) outlook: Outlook,
}

/// Whether the way is told in steps as well: sentences cost as much as the figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    InSteps,
    InFigures,
}

/// Walks through a history; where no rate is on file, says why. The grid is drawn closer until it is fine enough for what
/// the tests have told.
pub(super) fn walk(case: Case<'_>, day: NaiveDate, told: Told) -> Result<Walk<'_>, String> {
    let by_label = closing_in(case, day, false, told)?;
    let Some(first) = by_label.misfit else { return Ok(by_label) };
    // The label may be another bottle's: with it set aside, two figures that agree are enough.
    let later = case.history.assays.iter().filter(|assay| assay.day >= first && assay.day <= day);
    if later.filter(|assay| matches!(assay.finding, Finding::Figure { .. })).count() < 2 {
        return Ok(by_label);
    }
    let by_tests = closing_in(case, day, true, told)?;
    Ok(if by_tests.misfit.is_none() { by_tests } else { by_label })
}

/// Walks once more through a narrower window, if the tests have left too few points of the first.
fn closing_in(case: Case<'_>, day: NaiveDate, label_aside: bool, told: Told) -> Result<Walk<'_>, String> {
    let way = |window: Window| Walk::begin(case, window, label_aside, told)?.through(day);
    // Many tests leave few rates: a coarse grid shows which.
    let many = case.history.assays.len() > MANY;
    let walked = way(if many { Window::COARSE } else { Window::OPEN })?;
    match walked.belief.closer() {
        Some(closer) => way(closer),
        None if many => way(Window::OPEN),
        None => Ok(walked),
    }
}

impl<'a> Walk<'a> {
    fn begin(case: Case<'a>, window: Window, label_aside: bool, told: Told) -> Result<Self, String> {
        let history = case.history;
        let came = history.came;
        let kinetics = case.kinetics(came).ok_or_else(|| case.decay.why.clone())?;
        let start = case.decay.start.iter().find(|start| start.condition == came).ok_or_else(|| {
            format!("nothing is on file on what {} that came {} holds", case.reagent.name, came.word())
        })?;
        let prior = case.prior(kinetics, came)?;
        // Our own estimate of what was poured in has no maker who filled a little more.
        let (factor, sd_ln) = if history.decanted { (1.0, 0.0) } else { (start.factor.value, start.sd_ln) };
        let start_ln = libm::log(history.label.0 * factor);
        let aside = if label_aside { WRONG_LABEL } else { 0.0 };
        let start_sd = libm::hypot(libm::hypot(sd_ln, history.label_sd_ln), aside);
        let climate = history
            .stretches
            .first()
            .map_or_else(|| Climate::constant(Temperature::celsius(20.0)), |first| first.climate.clone());
        let changes_left = case.changes();
        let first_window = if changes_left == 0 { window } else { window.of_lights() };
        let mut walk = Walk {
            window,
            changes_left,
            light_told: false,
            case,
            kinetics,
            belief: Belief::new(kinetics, prior.as_ref(), start_ln, start_sd, first_window),
            in_dark: 0.0,
            condition: came,
            prior,
            reference: history.label.0,
            fadings: Vec::new(),
            misfit: None,
            clear: None,
            losses: Losses { start_sd, ..Losses::default() },
            told,
            steps: Vec::new(),
            outlook: Outlook { kinetics, climate, fading: None, faster: 1.0 },
        };
        if told == Told::InSteps {
            walk.steps = account::start(case, start);
        }
        walk.say_rates();
        if label_aside {
            let what = "its tests do not fit that label: it is set aside, and may be off by a factor of 5";
            walk.say(Step::new(what, "judgement").of(WRONG_LABEL, "1"));
        }
        walk.grow_old();
        Ok(walk)
    }

    fn through(mut self, day: NaiveDate) -> Result<Self, String> {
        let history = self.case.history;
        for stretch in &history.stretches {
            if stretch.condition != self.condition {
                self.change(stretch.condition)?;
            }
            self.crystallise(stretch, stretch.from, stretch.from);
            let mut reached = stretch.from;
            for assay in history.assays.iter().filter(|assay| assay.day >= stretch.from && assay.day < stretch.to) {
                self.wait(stretch, reached, assay.day);
                self.test(assay);
                reached = assay.day;
            }
            self.wait(stretch, reached, stretch.to);
        }
        let end = history.stretches.last().map_or(day, |stretch| stretch.to);
        for assay in history.assays.iter().filter(|assay| assay.day >= end && assay.day <= day) {
            self.test(assay);
        }
        self.catch_up();
        if let Some(last) = history.stretches.last() {
            self.outlook = Outlook {
                kinetics: self.kinetics,
                climate: last.climate.clone(),
                fading: self.fading(last.daylight),
                faster: self.case.faster(last.daylight),
            };
        }
        Ok(self)
    }

    fn fading(&mut self, daylight: Daylight) -> Option<Fading> {
        if let Some((_, fading)) = self.fadings.iter().find(|(known, _)| *known == daylight) {
            return *fading;
        }
        let found = self.case.fading(daylight, self.reference);
        self.fadings.push((daylight, found));
        found
    }

    fn change(&mut self, condition: Condition) -> Result<(), String> {
        let next = self.case.prior(self.kinetics, condition)?;
        self.catch_up();
        match next.as_ref().and_then(|prior| prior.parts.first()) {
            Some(part) => {
                self.changes_left = self.changes_left.saturating_sub(1);
                let window = if self.changes_left == 0 { self.window } else { self.window.of_lights() };
                self.belief.worsen(*part, window);
            }
            None => self.dampen(condition),
        }
        if let Some(kinetics) = self.case.kinetics(condition) {
            self.kinetics = kinetics;
            self.belief.go_on(kinetics);
        }
        self.condition = condition;
        self.prior = next;
        self.say_rates();
        Ok(())
    }

    /// What does not weaken may still become damp: from then on it is as well known as one that came so.
    fn dampen(&mut self, condition: Condition) {
        let of = |wanted: Condition| self.case.decay.start.iter().find(|start| start.condition == wanted);
        let (Some(old), Some(new)) = (of(self.condition), of(condition)) else { return };
        let wider = libm::sqrt((new.sd_ln * new.sd_ln - old.sd_ln * old.sd_ln).max(0.0));
        let shift = libm::log(new.factor.value / old.factor.value);
        self.belief.loosen(shift, wider);
        self.losses.start_sd = libm::hypot(self.losses.start_sd, wider);
        let source = new.factor.source.clone();
        self.say(Step::new(format!("{}: ± {} % more", condition.word(), plain(100.0 * Z_95 * wider)), source));
    }

    /// What happened before it came.
    fn grow_old(&mut self) {
        if self.kinetics == Kinetics::Keeps {
            return;
        }
        match self.case.history.age {
            Age::New => {}
            Age::Days(days) => {
                let years = days / DAYS_PER_YEAR;
                self.belief.age(self.kinetics.time_at_20(years));
                self.losses.days += days;
                self.losses.age += self.dark_loss(self.median_rate(), self.kinetics.time_at_20(years));
                let what = format!("{} before it came, taken as at 20 °C in the dark", account::days_text(days));
                self.say(Step::new(what, "judgement").of(days, "d"));
            }
            Age::Unknown => {
                let (median, sd_ln) = UNKNOWN_AGE;
                let kinetics = self.kinetics;
                self.belief.age_unsurely(|z| kinetics.time_at_20(median * libm::exp(sd_ln * z)));
                self.losses.age_unknown = true;
                self.losses.start_sd = self.belief.content_ln().1;
                let band = Estimate::log_normal(median, sd_ln);
                let what = format!("age unknown: {} years at 20 °C in the dark before it came", show::with_band(band));
                self.say(Step::new(what, "judgement").of(median, "y"));
            }
        }
    }

    fn wait(&mut self, stretch: &Stretch, from: NaiveDate, to: NaiveDate) {
        if to <= from {
            return;
        }
        if self.kinetics != Kinetics::Keeps {
            let days = (to - from).num_days() as f64;
            let years = days / DAYS_PER_YEAR;
            let faster = self.case.faster(stretch.daylight);
            let time = faster * self.kinetics.time(&stretch.climate, from, to);
            let rate = self.median_rate();
            let cool = self.dark_loss(rate, self.kinetics.time_at_20(years));
            let dark = self.dark_loss(rate, time / faster);
            self.losses.days += days;
            self.losses.age += cool;
            self.losses.warmth += dark - cool;
            self.losses.light += self.dark_loss(rate, time) - dark;
            self.say_that(|walk| account::wait(walk.kinetics, stretch, days, time / faster));
            match self.fading(stretch.daylight) {
                Some(fading) => {
                    self.losses.light += fading.per_year * years;
                    self.say_that(|walk| account::light_dose(walk.case, stretch, fading, years));
                    if !std::mem::replace(&mut self.light_told, true) && self.told == Told::InSteps {
                        self.steps.extend(account::light_terms(self.case, stretch, fading));
                    }
                    self.catch_up();
                    self.belief.fade(time, years, fading);
                }
                None => self.in_dark += time,
            }
            if faster > 1.0
                && let Some(figure) = &self.case.decay.in_light
            {
                let what = format!("daylight through its wall makes it {} times faster there", plain(faster));
                let source = figure.source.clone();
                self.say(Step::new(what, source).of(faster, "1"));
            }
        }
        self.crystallise(stretch, from, to);
    }

    /// Tells the belief of the time that it has stood in the dark.
    fn catch_up(&mut self) {
        let time = std::mem::take(&mut self.in_dark);
        if time > 0.0 {
            self.belief.age(time);
        }
    }

    /// A solution that was made stronger than cold water holds is only as strong as its clear liquid; once it is warmer, it may
    /// be anything up to what was weighed in.
    fn crystallise(&mut self, stretch: &Stretch, from: NaiveDate, to: NaiveDate) {
        let part = Stretch { from, to, ..stretch.clone() };
        // Only one that was made strong enough can have crystals.
        if self.case.reagent.solution.as_ref().is_some_and(|solution| solution.solubility.is_some())
            && let Some(clear) = clear_liquid(Substance::of(self.case.reagent), self.case.history.form, &part)
        {
            let (most, sd_ln) = clear.holds;
            self.catch_up();
            if self.belief.content().quantile(0.5) > most.0 {
                self.belief.cap(libm::log(most.0), sd_ln);
                let what = format!(
                    "at {} °C water holds {} g/L of it: the rest lies below as crystals",
                    plain(libm::round(clear.coldest.to_celsius() * 10.0) / 10.0),
                    significant(most.0, 2)
                );
                self.say(Step::new(what, clear.source.clone()).of(most.0, "g/L"));
                self.clear = Some(clear);
            }
        }
        let Some(clear) = self.clear.as_mut().filter(|clear| !clear.warmed) else { return };
        if stretch.climate.coldest(to, to).to_celsius() > clear.coldest.to_celsius() + WARMER {
            clear.warmed = true;
            let (low, high) = (libm::log(clear.holds.0.0), libm::log(self.case.history.label.0));
            self.catch_up();
            self.belief.settle_between(low, high.max(low));
            let what = "warmer since: some of the crystals may have dissolved again, up to what was weighed in";
            self.say(Step::new(what, "judgement"));
        }
    }

    fn test(&mut self, assay: &Assay) {
        self.catch_up();
        if assay.of_damp {
            self.dampen(Condition::Dirty);
        }
        let (expected_ln, sd_ln) = self.belief.content_ln();
        let away = assay.finding.away(libm::exp(expected_ln)) * assay.finding.relative_sd();
        // Near the middle of what was believed nothing is a misfit; above the label much may be.
        let ordinary = away.abs() < 1.5 * sd_ln && assay.finding.content() < self.case.history.label.0;
        let fits = ordinary || self.belief.tail(assay.finding) > MISFIT;
        self.belief.observe(assay.finding, SLIP);
        let (settled_ln, settled_sd) = self.belief.content_ln();
        if !fits {
            self.misfit = self.misfit.or(Some(assay.day));
        } else if matches!(assay.finding, Finding::Figure { .. }) {
            // A figure that fits sets an earlier misfit right; an interval is too wide for that.
            self.misfit = None;
        }
        if matches!(assay.finding, Finding::Figure { .. }) {
            self.clear = None;
        }
        self.reference = libm::exp(settled_ln.max(law::NOTHING_LN));
        self.fadings.clear();
        self.losses = Losses { start_sd: settled_sd, tested: true, ..Losses::default() };
        self.say_that(|walk| account::test(walk.case, assay));
    }

    /// What a time in the dark takes from the logarithm of the content.
    fn dark_loss(&self, rate: f64, time: f64) -> f64 {
        let content = libm::log(self.reference);
        content - self.kinetics.fall(content, rate, time).ln_content
    }

    fn median_rate(&self) -> f64 {
        libm::exp(self.belief.rate_ln().0)
    }

    fn say(&mut self, step: Step) {
        self.say_that(|_| step);
    }

    /// Says what is put into words only if the way is told.
    fn say_that(&mut self, step: impl FnOnce(&Self) -> Step) {
        if self.told == Told::InSteps {
            let step = step(self);
            self.steps.push(step);
        }
    }

    fn say_rates(&mut self) {
        if let Some(prior) = self.prior.as_ref().filter(|_| self.told == Told::InSteps) {
            self.steps.extend(account::rates(self.case, self.condition, prior, self.kinetics));
        }
    }
}
