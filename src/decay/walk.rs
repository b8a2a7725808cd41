//! The way through a stock's history: places, conditions, light and tests, one after the other.

use chrono::NaiveDate;

use super::belief::{Belief, Window};
use super::climate::Climate;
use super::crystals::{ClearLiquid, clear_liquid};
use super::finding::Finding;
use super::law::{self, Kinetics, RatePrior};
use super::light::{self, Daylight, Fading};
use super::{Age, Assay, History, Stretch};
use crate::catalogue::{Condition, Decay, Form, Optics, Reagent, Start};
use crate::chem::formula::molar_mass;
use crate::chem::{ChemError, Substance};
use crate::units::estimate::{Estimate, Z_95};
use crate::units::show::{self, plain, significant};
use crate::units::step::Step;
use crate::units::{Concentration, MolarMass, Temperature};

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
    optics: &'a Optics,
    reagent: &'a Reagent,
    decay: &'a Decay,
    history: &'a History,
    molar_mass: f64,
    pub(super) kinetics: Kinetics,
    pub(super) belief: Belief,
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
    pub(super) steps: Vec<Step>,
    pub(super) outlook: Outlook,
}

/// Walks through a history; where no rate is on file, says why. The grid is drawn closer until it is fine enough for what
/// the tests have told.
pub(super) fn walk<'a>(
    optics: &'a Optics,
    reagent: &'a Reagent,
    decay: &'a Decay,
    history: &'a History,
    day: NaiveDate,
) -> Result<Result<Walk<'a>, String>, ChemError> {
    let by_label = closing_in(optics, reagent, decay, history, day, false)?;
    let Some(first) = by_label.as_ref().ok().and_then(|walk| walk.misfit) else { return Ok(by_label) };
    // The label may be another bottle's: with it set aside, two figures that agree are enough.
    let later = history.assays.iter().filter(|assay| assay.day >= first && assay.day <= day);
    if later.filter(|assay| matches!(assay.finding, Finding::Figure { .. })).count() < 2 {
        return Ok(by_label);
    }
    let by_tests = closing_in(optics, reagent, decay, history, day, true)?;
    let agree = by_tests.as_ref().is_ok_and(|walk| walk.misfit.is_none());
    Ok(if agree { by_tests } else { by_label })
}

/// Walks again through a narrower window as long as that is worth it.
fn closing_in<'a>(
    optics: &'a Optics,
    reagent: &'a Reagent,
    decay: &'a Decay,
    history: &'a History,
    day: NaiveDate,
    label_aside: bool,
) -> Result<Result<Walk<'a>, String>, ChemError> {
    let way = |window: Window| match Walk::begin(optics, reagent, decay, history, window, label_aside)? {
        Ok(walk) => walk.through(day),
        Err(why) => Ok(Err(why)),
    };
    // Many tests leave few rates: a coarse grid shows which.
    let many = history.assays.len() > MANY;
    let walked = way(if many { Window::COARSE } else { Window::OPEN })?;
    match walked.as_ref().ok().map(|walk| walk.belief.closer()) {
        Some(Some(closer)) => way(closer),
        Some(None) if many => way(Window::OPEN),
        _ => Ok(walked),
    }
}

/// How a stock in a condition goes on in a place.
pub(super) fn outlook(
    optics: &Optics,
    reagent: &Reagent,
    decay: &Decay,
    history: &History,
    condition: Condition,
    (climate, daylight): (Climate, Daylight),
    reference: f64,
) -> Result<Option<Outlook>, ChemError> {
    let molar_mass = molar_mass_of(reagent)?;
    let Some(kinetics) = Kinetics::of(decay, condition, history.label_percent_w_w, history.label.0, molar_mass) else {
        return Ok(None);
    };
    let fading = fading(optics, decay, history, daylight, reference, molar_mass);
    Ok(Some(Outlook { kinetics, climate, fading, faster: faster(optics, decay, history, daylight) }))
}

fn fading(
    optics: &Optics,
    decay: &Decay,
    history: &History,
    daylight: Daylight,
    reference: f64,
    molar_mass: f64,
) -> Option<Fading> {
    let photolysis = decay.photolysis.as_ref().filter(|_| history.form == Form::Solution)?;
    let molarity = Concentration::g_per_l(reference).in_moles(MolarMass::g_per_mol(molar_mass));
    light::fading(optics, photolysis, history.bottle, daylight, molarity, libm::log(reference))
}

/// How many times faster light makes a stock, where no more than that is known: in a wall that shades nothing, outside of a
/// closed cupboard.
fn faster(optics: &Optics, decay: &Decay, history: &History, daylight: Daylight) -> f64 {
    let dark = daylight.light == crate::catalogue::Light::Dark || optics.wall(history.bottle.container).shades;
    decay.in_light.as_ref().filter(|_| !dark).map_or(1.0, |factor| factor.value)
}

impl<'a> Walk<'a> {
    fn begin(
        optics: &'a Optics,
        reagent: &'a Reagent,
        decay: &'a Decay,
        history: &'a History,
        window: Window,
        label_aside: bool,
    ) -> Result<Result<Self, String>, ChemError> {
        let molar_mass = molar_mass_of(reagent)?;
        let came = history.came;
        let Some(kinetics) = Kinetics::of(decay, came, history.label_percent_w_w, history.label.0, molar_mass) else {
            return Ok(Err(decay.why.clone()));
        };
        let Some(start) = decay.start.iter().find(|start| start.condition == came) else {
            return Ok(Err(format!("nothing is on file on what {} that came {} holds", reagent.name, came.word())));
        };
        let prior = match prior_of(kinetics, reagent, decay, came, history) {
            Ok(prior) => prior,
            Err(why) => return Ok(Err(why)),
        };
        // Our own estimate of what was poured in has no maker who filled a little more.
        let (factor, sd_ln) = if history.decanted { (1.0, 0.0) } else { (start.factor.value, start.sd_ln) };
        let start_ln = libm::log(history.label.0 * factor);
        let aside = if label_aside { WRONG_LABEL } else { 0.0 };
        let start_sd = libm::hypot(libm::hypot(sd_ln, history.label_sd_ln), aside);
        let climate = history
            .stretches
            .first()
            .map_or_else(|| Climate::constant(Temperature::celsius(20.0)), |first| first.climate.clone());
        let changes_left = changes(history);
        let first_window = if changes_left == 0 { window } else { window.of_lights() };
        let mut walk = Walk {
            window,
            changes_left,
            light_told: false,
            optics,
            reagent,
            decay,
            history,
            molar_mass,
            kinetics,
            belief: Belief::new(kinetics, prior.as_ref(), start_ln, start_sd, first_window),
            condition: came,
            prior,
            reference: history.label.0,
            fadings: Vec::new(),
            misfit: None,
            clear: None,
            losses: Losses { start_sd, ..Losses::default() },
            steps: Vec::new(),
            outlook: Outlook { kinetics, climate, fading: None, faster: 1.0 },
        };
        walk.say_start(start);
        if label_aside {
            let what = "its tests do not fit that label: it is set aside, and may be off by a factor of 5";
            walk.say(Step::new(what, "judgement").of(WRONG_LABEL, "1"));
        }
        walk.grow_old();
        Ok(Ok(walk))
    }

    fn through(mut self, day: NaiveDate) -> Result<Result<Self, String>, ChemError> {
        let history = self.history;
        for stretch in &history.stretches {
            if stretch.condition != self.condition
                && let Err(why) = self.change(stretch.condition)
            {
                return Ok(Err(why));
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
        if let Some(last) = history.stretches.last() {
            self.outlook = Outlook {
                kinetics: self.kinetics,
                climate: last.climate.clone(),
                fading: self.fading(last.daylight),
                faster: faster(self.optics, self.decay, history, last.daylight),
            };
        }
        Ok(Ok(self))
    }

    fn fading(&mut self, daylight: Daylight) -> Option<Fading> {
        if let Some((_, fading)) = self.fadings.iter().find(|(known, _)| *known == daylight) {
            return *fading;
        }
        let found = fading(self.optics, self.decay, self.history, daylight, self.reference, self.molar_mass);
        self.fadings.push((daylight, found));
        found
    }

    fn change(&mut self, condition: Condition) -> Result<(), String> {
        let next = prior_of(self.kinetics, self.reagent, self.decay, condition, self.history)?;
        match next.as_ref().and_then(|prior| prior.parts.first()) {
            Some(part) => {
                self.changes_left = self.changes_left.saturating_sub(1);
                let window = if self.changes_left == 0 { self.window } else { self.window.of_lights() };
                self.belief.worsen(*part, window);
            }
            None => self.dampen(condition),
        }
        let (label, percent) = (self.history.label.0, self.history.label_percent_w_w);
        if let Some(kinetics) = Kinetics::of(self.decay, condition, percent, label, self.molar_mass) {
            self.kinetics = kinetics;
            self.belief.go_on(kinetics);
        }
        self.condition = condition;
        self.prior = next;
        self.say_rate();
        Ok(())
    }

    /// What does not weaken may still become damp: from then on it is as well known as one that came so.
    fn dampen(&mut self, condition: Condition) {
        let of = |wanted: Condition| self.decay.start.iter().find(|start| start.condition == wanted);
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
        match self.history.age {
            Age::New => {}
            Age::Days(days) => {
                let years = days / DAYS_PER_YEAR;
                self.belief.age(self.kinetics.time_at_20(years));
                self.losses.days += days;
                self.losses.age += self.dark_loss(self.median_rate(), self.kinetics.time_at_20(years));
                let what = format!("{} before it came, taken as at 20 °C in the dark", days_text(days));
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
            let faster = faster(self.optics, self.decay, self.history, stretch.daylight);
            let time = faster * self.kinetics.time(&stretch.climate, from, to);
            let rate = self.median_rate();
            let cool = self.dark_loss(rate, self.kinetics.time_at_20(years));
            let dark = self.dark_loss(rate, time / faster);
            self.losses.days += days;
            self.losses.age += cool;
            self.losses.warmth += dark - cool;
            self.losses.light += self.dark_loss(rate, time) - dark;
            self.say_wait(stretch, days, time / faster);
            match self.fading(stretch.daylight) {
                Some(fading) => {
                    self.losses.light += fading.per_year * years;
                    self.say_light(stretch, fading, years);
                    self.belief.fade(time, years, fading);
                }
                None => self.belief.age(time),
            }
            if faster > 1.0
                && let Some(figure) = &self.decay.in_light
            {
                let what = format!("daylight through its wall makes it {} times faster there", plain(faster));
                let source = figure.source.clone();
                self.say(Step::new(what, source).of(faster, "1"));
            }
        }
        self.crystallise(stretch, from, to);
    }

    /// A solution that was made stronger than cold water holds is only as strong as its clear liquid; once it is warmer, it may
    /// be anything up to what was weighed in.
    fn crystallise(&mut self, stretch: &Stretch, from: NaiveDate, to: NaiveDate) {
        let part = Stretch { from, to, ..stretch.clone() };
        // Only one that was made strong enough can have crystals.
        if self.reagent.solution.as_ref().is_some_and(|solution| solution.solubility.is_some())
            && let Some(clear) = clear_liquid(Substance::of(self.reagent), self.history.form, &part)
        {
            let (most, sd_ln) = clear.holds;
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
            let (low, high) = (libm::log(clear.holds.0.0), libm::log(self.history.label.0));
            self.belief.settle_between(low, high.max(low));
            let what = "warmer since: some of the crystals may have dissolved again, up to what was weighed in";
            self.say(Step::new(what, "judgement"));
        }
    }

    fn test(&mut self, assay: &Assay) {
        if assay.of_damp {
            self.dampen(Condition::Dirty);
        }
        let (expected_ln, sd_ln) = self.belief.content_ln();
        let away = assay.finding.away(libm::exp(expected_ln)) * assay.finding.relative_sd();
        // Near the middle of what was believed nothing is a misfit; above the label much may be.
        let ordinary = away.abs() < 1.5 * sd_ln && assay.finding.content() < self.history.label.0;
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
        let found = self.content_text(assay.finding.content());
        let what = match assay.finding {
            Finding::Figure { relative_sd, .. } => {
                format!("test of {}: {found} ± {} % (1 sd)", assay.day, significant(100.0 * relative_sd, 2))
            }
            Finding::Between { low, high, .. } if high.is_finite() => {
                format!("test of {}: between {} and {}", assay.day, self.content_text(low), self.content_text(high))
            }
            Finding::Between { low, .. } => format!("test of {}: at least {}", assay.day, self.content_text(low)),
        };
        self.say(Step::new(what, "register"));
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
        self.steps.push(step);
    }

    fn say_start(&mut self, start: &Start) {
        let label = self.history.label.0;
        let (unit, shown) = match self.history.form {
            Form::Solution => ("g/L", label),
            Form::Solid => ("% w/w", 100.0 * label),
        };
        let text = self.content_text(label);
        if self.history.decanted {
            let what = format!("poured in: {text} ± {} %, as it was known then", self.label_error());
            self.say(Step::new(what, "register").of(shown, unit));
        } else {
            self.say(Step::new(format!("label: {text}"), "register").of(shown, unit));
            let what = format!(
                "a stock that comes {} holds {} of its label, ± {} %",
                self.condition.word(),
                plain(start.factor.value),
                significant(100.0 * Z_95 * start.sd_ln, 2)
            );
            self.say(Step::new(what, start.factor.source.clone()).of(start.factor.value, "1"));
        }
        self.say(Step::new(self.decay.why.clone(), self.decay.source.clone()));
        self.say_rate();
    }

    fn label_error(&self) -> String {
        significant(100.0 * Z_95 * self.history.label_sd_ln, 2)
    }

    fn say_rate(&mut self) {
        let Some(prior) = self.prior.clone() else { return };
        let Some(row) = law::row(self.decay, self.condition, self.history.label_percent_w_w) else { return };
        let (what, unit) = match self.kinetics {
            Kinetics::SecondOrder { .. } => ("times the published rate", "1"),
            _ => ("a year at 20 °C", "1/y"),
        };
        let condition = self.condition.word();
        for (index, part) in prior.parts.iter().enumerate() {
            let median = libm::exp(part.mean_ln);
            let band = show::with_band(Estimate::log_normal(median, part.sd_ln));
            let source = match (index, &row.or) {
                (1, Some(other)) => other.median.source.clone(),
                _ => row.median.source.clone(),
            };
            let text = if index == 0 {
                format!("rate while {condition}: {band} {what}")
            } else {
                format!("rate of the {} in 100 that keep badly: {band} {what}", plain(100.0 * part.share))
            };
            self.say(Step::new(text, source).of(median, unit));
        }
        if let Kinetics::FirstOrder { activation } = self.kinetics {
            let figure = row.activation.as_ref().or(self.decay.activation.as_ref());
            let source = figure.map_or_else(|| self.decay.source.clone(), |figure| figure.source.clone());
            let energy = activation.to_kj_per_mol();
            self.say(Step::new(format!("activation energy {} kJ/mol", plain(energy)), source).of(energy, "kJ/mol"));
        }
    }

    fn say_wait(&mut self, stretch: &Stretch, days: f64, time: f64) {
        let place = &stretch.place;
        let step = if let Kinetics::FirstOrder { .. } = self.kinetics {
            let counted = time * DAYS_PER_YEAR;
            let what = format!("{} at {place} count as {} at 20 °C", days_text(days), significant(counted, 3));
            Step::new(what, "arrhenius").of(counted, "d")
        } else {
            let what = format!("{} at {place} at the second-order rate of its temperature", days_text(days));
            Step::new(what, "adam-gordon-1999").of(days, "d")
        };
        self.say(step);
    }

    fn say_light(&mut self, stretch: &Stretch, fading: Fading, years: f64) {
        let optics = self.optics;
        let bottle = self.history.bottle;
        let Some(photolysis) = &self.decay.photolysis else { return };
        let place = optics.daylight(stretch.daylight.light);
        let wall = optics.wall(bottle.container);
        let dose = Estimate::log_normal(fading.per_year * years, fading.sd_ln);
        let share = |dose: f64| -100.0 * libm::expm1(-dose);
        let band = Estimate { low: share(dose.low), mid: share(dose.mid), high: share(dose.high) };
        let what = format!(
            "light at {} ({}) through {} takes {} % of it in that time",
            stretch.place,
            stretch.daylight.light.word(),
            bottle.container.word(),
            show::with_band(band)
        );
        self.say(Step::new(what, "computed-from-light").of(fading.per_year, "1/y"));
        if std::mem::replace(&mut self.light_told, true) {
            return;
        }
        let say = |what: String, source: &str, value: f64, unit: &str| Step::new(what, source).of(value, unit);
        let mut steps = vec![
            say("photons of the sun, 295 to 400 nm".to_owned(), &optics.spectrum.source, 1.0, "AM1.5 global"),
            say(
                format!("absorption, {} L/(mol cm) at 320 nm", significant(light::absorption(photolysis, 320.0), 2)),
                &photolysis.source,
                light::absorption(photolysis, 320.0),
                "L/(mol cm)",
            ),
            say(
                format!("{} lost for each photon taken up", plain(photolysis.quantum_yield.value)),
                &photolysis.quantum_yield.source,
                photolysis.quantum_yield.value,
                "1",
            ),
        ];
        if let Some(hours) = stretch.daylight.sun_hours.or(place.sun_hours.as_ref().map(|hours| hours.value)) {
            let source = if stretch.daylight.sun_hours.is_some() { "register" } else { "judgement" };
            steps.push(say(format!("{}: {} h of full sun a day", place.says, plain(hours)), source, hours, "h/d"));
        } else {
            steps.push(say(
                place.says.clone(),
                &optics.room.per_lux.source,
                optics.room.per_lux.value,
                "1/lx of the sun behind a window",
            ));
        }
        if !place.open {
            let pane = &optics.glass.window_mm;
            steps.push(say(
                format!("behind {} mm of window glass", plain(pane.value)),
                &optics.glass.source,
                pane.value,
                "mm",
            ));
        }
        steps.push(match &wall.wall_mm {
            Some(usual) => {
                let mm = bottle.wall_mm.unwrap_or(usual.value);
                say(format!("a wall of {} mm clear glass", plain(mm)), &wall.transmission.source, mm, "mm")
            }
            None => {
                let through = wall.transmission.value;
                let what = format!("a wall that lets {} % through", plain(100.0 * through));
                say(what, &wall.transmission.source, through, "1")
            }
        });
        let path = bottle.path_cm();
        steps.push(say(format!("way of the light inside: {} cm", significant(path, 2)), "judgement", path, "cm"));
        let factor = libm::exp(Z_95 * fading.sd_ln);
        let what = format!("light is known to a factor of {} either way, nine times in ten", significant(factor, 2));
        steps.push(say(what, "judgement", fading.sd_ln, "sd of the logarithm"));
        self.steps.extend(steps);
    }

    fn content_text(&self, content: f64) -> String {
        match self.history.form {
            Form::Solution => format!("{} g/L", plain(content)),
            Form::Solid => format!("{} % w/w", plain(100.0 * content)),
        }
    }
}

fn days_text(days: f64) -> String {
    if days == 1.0 { "1 day".to_owned() } else { format!("{} days", plain(days)) }
}

/// How often the condition changes after it came.
fn changes(history: &History) -> usize {
    let mut condition = history.came;
    history
        .stretches
        .iter()
        .filter(|stretch| std::mem::replace(&mut condition, stretch.condition) != stretch.condition)
        .count()
}

/// The rate that is believed of a stock in a condition; none for one that keeps.
fn prior_of(
    kinetics: Kinetics,
    reagent: &Reagent,
    decay: &Decay,
    condition: Condition,
    history: &History,
) -> Result<Option<RatePrior>, String> {
    if kinetics == Kinetics::Keeps {
        return Ok(None);
    }
    law::prior(decay, condition, history.label_percent_w_w)
        .map(Some)
        .ok_or_else(|| format!("no rate is on file for {} that is {}", reagent.name, condition.word()))
}

/// The molar mass of what is counted, g/mol.
fn molar_mass_of(reagent: &Reagent) -> Result<f64, ChemError> {
    Ok(molar_mass(&reagent.formula.value)?.to_g_per_mol())
}
