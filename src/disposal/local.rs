//! The keeper's local rules: what was asked, of whom, and what was answered. Nothing of it is invented here.
//!
//! They stand in `local.toml` beside the register. Strengths and amounts are written with their units, as everywhere.

use super::local_read;
use crate::catalogue::{Catalogue, Jurisdiction, Language};
use crate::units::measure::{Kitchen, Quantity};
use chrono::{Months, NaiveDate};

/// What the keeper was told.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Local {
    /// Where it holds, in the keeper's words.
    pub place: Option<String>,
    /// Whose lists of waste are shown.
    pub jurisdiction: Option<Jurisdiction>,
    /// The emergency number.
    pub emergency: Option<String>,
    /// The fire service's or the warden's number.
    pub fire: Option<String>,
    /// The poison centre's number.
    pub poison_centre: Option<String>,
    /// The water company's number.
    pub water_company: Option<String>,
    /// How things are printed.
    pub print: Print,
    /// How much may be kept.
    pub stores: Vec<Store>,
    /// How strong something may be.
    pub strengths: Vec<Strongest>,
    /// What may go down a drain.
    pub drains: Vec<Drain>,
    /// Who takes what.
    pub takers: Vec<Taker>,
}

/// How things are printed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Print {
    /// In which language.
    pub language: Option<Language>,
    /// Whose measures stand beside the metric ones; `metric` for none.
    pub units: Option<Kitchen>,
    /// On what: `a4`, `a5`, `a6` or `letter`.
    pub paper: Option<String>,
    /// The role or the initials of whoever answers for the shelf.
    pub keeper: Option<String>,
}

/// Who was asked, when, and what was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Who was asked.
    pub whom: String,
    /// When.
    pub on: NaiveDate,
    /// The letter or permission that says so.
    pub reference: Option<String>,
    /// What was answered, in words.
    pub answer: Option<String>,
}

impl Asked {
    /// The letter or permission as it follows the day: `, letter W-17`; nothing where there is none.
    #[must_use]
    pub fn under(&self) -> String {
        self.reference.as_ref().map_or(String::new(), |reference| format!(", {reference}"))
    }

    /// The mark of an answer that wants to be asked for again; nothing for one that holds.
    #[must_use]
    pub fn check(&self, day: NaiveDate) -> String {
        if self.wants_asking_again(day) { format!(" [check: asked on {}]", self.on) } else { String::new() }
    }

    /// True if the answer is older than two years, or of a day still to come, and wants to be asked for again.
    ///
    /// Source: `judgement`.
    #[must_use]
    pub fn wants_asking_again(&self, day: NaiveDate) -> bool {
        self.on > day || day > self.holds_to()
    }

    /// The last day before it is older than two years.
    #[must_use]
    pub fn holds_to(&self) -> NaiveDate {
        self.on.checked_add_months(Months::new(24)).unwrap_or(NaiveDate::MAX)
    }
}

/// What a rule is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum About {
    /// One reagent, by its key.
    Reagent(String),
    /// A reaction group, by its key.
    Group(String),
}

/// How much may be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Store {
    /// Of what.
    pub about: About,
    /// Only of what is stronger than this, % w/w.
    pub stronger_than: Option<f64>,
    /// The most, in all containers together.
    pub most: Quantity,
    /// Who says so.
    pub asked: Asked,
}

/// How strong something may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Strongest {
    /// Key of the reagent.
    pub reagent: String,
    /// The strongest, % w/w.
    pub percent_w_w: f64,
    /// The same as it was written.
    pub written: String,
    /// Who says so.
    pub asked: Asked,
}

/// What may go down a drain.
#[derive(Debug, Clone, PartialEq)]
pub struct Drain {
    /// Key of the reagent that the bath was made from, or that is left in it.
    pub reagent: String,
    /// Where to: `sewer`.
    pub into: String,
    /// Whether it may.
    pub allowed: bool,
    /// The most that may be left in it, mg/L.
    pub most_mg_per_l: Option<f64>,
    /// Who says so.
    pub asked: Asked,
}

/// Who takes unwanted stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Taker {
    /// Who.
    pub who: String,
    /// Keys of disposal classes; none for every one.
    pub classes: Vec<String>,
    /// On which days, in words.
    pub days: Option<String>,
    /// How.
    pub how: Option<String>,
    /// The number to ring.
    pub phone: Option<String>,
    /// Who was asked.
    pub asked: Asked,
}

/// What is wrong with the file: a key, and what is wrong there.
pub type Fault = (String, String);

/// A file with a line for everything that a keeper can be told.
pub const TEMPLATE: &str = include_str!("template.toml");

impl Local {
    /// Reads the keeper's file: all of it, or every fault that it has.
    ///
    /// # Errors
    /// Every fault with the path of its key.
    pub fn read(catalogue: &Catalogue, text: &str) -> Result<Local, Vec<Fault>> {
        local_read::read(catalogue, text)
    }

    /// What was answered about a drain for what is left of a reagent.
    #[must_use]
    pub fn drain(&self, reagent: &str) -> Option<&Drain> {
        self.drains.iter().find(|drain| drain.reagent == reagent)
    }

    /// Who takes a disposal class.
    pub fn takers<'a>(&'a self, class: &'a str) -> impl Iterator<Item = &'a Taker> {
        self.takers.iter().filter(move |taker| taker.classes.is_empty() || taker.classes.iter().any(|key| key == class))
    }

    /// The strongest that a reagent may be.
    #[must_use]
    pub fn strongest(&self, reagent: &str) -> Option<&Strongest> {
        self.strengths.iter().find(|row| row.reagent == reagent)
    }
}
