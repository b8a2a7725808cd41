//! Bottles of peroxide and bleach with places, light, containers, ages and tests, as the register would tell of them.

use brimstock::catalogue::{Condition, Container, Form, Light};
use brimstock::decay::climate::{Climate, Season};
use brimstock::decay::finding::Finding;
use brimstock::decay::light::{Bottle as Kept, Daylight};
use brimstock::decay::mixture::Mixture;
use brimstock::decay::posterior::{Known, Standing, standing, standing_untold};
use brimstock::decay::{Age, Assay, Content, History, Stretch};
use brimstock::units::Temperature;
use chrono::{Days, NaiveDate};
use proptest::prelude::*;

use super::{date, shipped};

/// A bottle and all that happened to it.
#[derive(Debug, Clone)]
pub struct Life {
    pub bleach: bool,
    /// The label, % w/w.
    pub percent: f64,
    pub age: Age,
    pub kept: Kept,
    /// The first tells the condition in which it came.
    pub stays: Vec<Stay>,
    pub assays: Vec<Assay>,
}

/// Days in one place and condition.
#[derive(Debug, Clone, Copy)]
pub struct Stay {
    pub days: u64,
    pub celsius: f64,
    /// How much warmer than that its summer is.
    pub swing: f64,
    pub light: Light,
    pub sun_hours: Option<f64>,
    pub condition: Condition,
}

impl Stay {
    fn climate(&self) -> Climate {
        if self.swing == 0.0 {
            return Climate::constant(Temperature::celsius(self.celsius));
        }
        let [summer, winter] = [1.0, -1.0].map(|sign| Temperature::celsius(self.celsius + sign * self.swing));
        Climate { season: Season::Cosine { summer, winter, warmest_month: 7 }, logged: None }
    }
}

impl Life {
    /// The label in g/L; the density is near enough.
    pub fn label(&self) -> f64 {
        10.0 * self.percent * (1.0 + self.percent * if self.bleach { 0.0145 } else { 0.0035 })
    }

    pub fn history(&self, extra_days: u64) -> History {
        let mut from = date(0);
        let last = self.stays.len() - 1;
        let stretch = |(index, stay): (usize, &Stay)| {
            let to = from + Days::new(stay.days + if index == last { extra_days } else { 0 });
            let (place, climate) = (format!("place {index}"), stay.climate());
            let daylight = Daylight { light: stay.light, sun_hours: stay.sun_hours };
            let stretch = Stretch { from, to, place, climate, daylight, condition: stay.condition };
            from = to;
            stretch
        };
        let stretches = self.stays.iter().enumerate().map(stretch).collect();
        History {
            form: Form::Solution,
            label: Content(self.label()),
            label_percent_w_w: Some(self.percent),
            came: self.stays[0].condition,
            label_sd_ln: 0.0,
            decanted: false,
            age: self.age,
            bottle: self.kept,
            stretches,
            assays: self.assays.clone(),
        }
    }

    /// The day on which its history ends.
    pub fn end(&self) -> NaiveDate {
        date(self.stays.iter().map(|stay| stay.days).sum())
    }

    /// Nothing where the law has no data.
    pub fn asked(&self, extra_days: u64) -> Option<Known> {
        let key = if self.bleach { "sodium-hypochlorite" } else { "hydrogen-peroxide" };
        let reagent = shipped().reagent(key).expect("a reagent");
        let day = self.end() + Days::new(extra_days);
        match standing(shipped().optics(), reagent, &self.history(extra_days), day).expect("a standing") {
            Standing::Known(known) => Some(*known),
            Standing::Unknown { .. } => None,
        }
    }

    /// As a list asks, which shows no steps.
    pub fn untold(&self) -> Known {
        let key = if self.bleach { "sodium-hypochlorite" } else { "hydrogen-peroxide" };
        let reagent = shipped().reagent(key).expect("a reagent");
        match standing_untold(shipped().optics(), reagent, &self.history(0), self.end()).expect("a standing") {
            Standing::Known(known) => *known,
            Standing::Unknown { why, .. } => panic!("{why}"),
        }
    }

    pub fn known(&self, extra_days: u64) -> Known {
        self.asked(extra_days).expect("a strength inside of the law's data")
    }

    pub fn content(&self) -> Mixture {
        self.known(0).content
    }

    pub fn tested(&self, assay: Assay) -> Life {
        let mut life = self.clone();
        life.assays.push(assay);
        life
    }

    /// The same with another stay.
    pub fn with(&self, index: usize, change: impl FnOnce(&mut Stay)) -> Life {
        let mut life = self.clone();
        change(&mut life.stays[index]);
        life
    }

    pub fn is_lit(&self) -> bool {
        self.stays.iter().any(|stay| stay.light > Light::Dark)
    }
}

/// A test that found a figure.
pub fn figure(day: NaiveDate, content: f64, relative_sd: f64) -> Assay {
    Assay { day, finding: Finding::Figure { content, relative_sd }, of_damp: false }
}

/// The ratio of the band's ends, as a logarithm.
pub fn width(content: &Mixture) -> f64 {
    (content.quantile(0.95) / content.quantile(0.05)).ln()
}

/// Below so many g/L nobody asks, and the program follows a content less and less closely.
pub const NOTHING: f64 = 1e-6;

/// That no content is surer to be reached by the first than by the second.
pub fn never_stronger(weak: &Mixture, strong: &Mixture, slack: f64) -> Result<(), TestCaseError> {
    for probability in [0.001, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 0.999] {
        let content = strong.quantile(probability).max(NOTHING);
        let (found, most) = (weak.at_least(content), strong.at_least(content));
        prop_assert!(found <= most + slack, "chance of {} g/L: {} above {}", content, found, most);
    }
    prop_assert!(weak.quantile(0.5) <= strong.quantile(0.5).max(NOTHING) * (1.0 + slack));
    Ok(())
}

pub fn light() -> impl Strategy<Value = Light> {
    prop::sample::select(Light::ALL.to_vec())
}

pub fn container() -> impl Strategy<Value = Container> {
    prop::sample::select(Container::ALL.to_vec())
}

fn stays(lit: bool) -> impl Strategy<Value = Vec<Stay>> {
    let light = if lit { light().boxed() } else { Just(Light::Dark).boxed() };
    let swing = prop_oneof![Just(0.0), 1.0..8.0];
    let stay = (1_u64..400, 2.0..30.0, swing, light, prop::sample::select(Condition::ALL.to_vec())).prop_map(
        |(days, celsius, swing, light, condition)| Stay { days, celsius, swing, light, sun_hours: None, condition },
    );
    prop::collection::vec(stay, 1..4).prop_map(|mut stays| {
        // No bottle gets cleaner.
        let mut conditions: Vec<Condition> = stays.iter().map(|stay| stay.condition).collect();
        conditions.sort_unstable();
        stays.iter_mut().zip(conditions).for_each(|(stay, condition)| stay.condition = condition);
        stays
    })
}

fn of(bleach: bool, percent: impl Strategy<Value = f64>, lit: bool) -> impl Strategy<Value = Life> {
    (percent, container(), 3.0..12.0, stays(lit)).prop_map(move |(percent, container, diameter_cm, stays)| Life {
        bleach,
        percent,
        age: Age::New,
        kept: Kept { container, wall_mm: None, diameter_cm },
        stays,
        assays: Vec::new(),
    })
}

/// Peroxide without a test, of both priors.
pub fn peroxide(lit: bool) -> impl Strategy<Value = Life> {
    of(false, prop_oneof![3 => 1.0..19.5, 1 => 20.5..50.0], lit)
}

/// Bleach without a test, of both laws.
pub fn bleach(lit: bool) -> impl Strategy<Value = Life> {
    of(true, prop_oneof![0.3..3.2, 4.0..14.0], lit)
}

/// Any of these.
pub fn life(lit: bool) -> impl Strategy<Value = Life> {
    prop_oneof![peroxide(lit), bleach(lit)]
}
