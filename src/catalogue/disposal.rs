//! How unwanted stock is handed over: how it is packed, what is never done with it, how lists of waste call it, whom to ask.

use chrono::NaiveDate;
use serde::Deserialize;

use super::Said;
use super::apart::day;

/// `hazards/disposal.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Disposal {
    /// After this day the rules want a second look.
    #[serde(deserialize_with = "day")]
    pub review_by: NaiveDate,
    /// Reagents that leave in the same way.
    #[serde(rename = "class")]
    pub classes: Vec<DisposalClass>,
    /// How lists of waste call them: information, the holder decides.
    #[serde(rename = "code")]
    pub codes: Vec<WasteCode>,
    /// What is said of households.
    #[serde(rename = "household")]
    pub households: Vec<Household>,
    /// What to ask whom.
    #[serde(rename = "question")]
    pub questions: Vec<Question>,
    /// What the package should say.
    #[serde(rename = "label")]
    pub labels: Vec<Said>,
}

/// Reagents that leave in the same way.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DisposalClass {
    /// The word that reagents name.
    pub key: String,
    /// In words.
    pub name: String,
    /// How it is packed for the way.
    pub pack: Vec<Said>,
    /// What is never done with it.
    pub never: Vec<Said>,
    /// What may be done with a used weak bath, if the local rule allows.
    pub bath: Vec<Said>,
    /// True if it goes to whoever is licensed to take it; false where small rests may go another way.
    pub hand_over: bool,
}

/// Where a list of waste or a rule holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Jurisdiction {
    /// The European Union.
    #[serde(rename = "EU")]
    Eu,
    /// The United Kingdom.
    #[serde(rename = "UK")]
    Uk,
    /// The United States.
    #[serde(rename = "US")]
    Us,
}

impl Jurisdiction {
    /// Every one.
    pub const ALL: [Jurisdiction; 3] = [Jurisdiction::Eu, Jurisdiction::Uk, Jurisdiction::Us];

    /// The word to type.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Jurisdiction::Eu => "EU",
            Jurisdiction::Uk => "UK",
            Jurisdiction::Us => "US",
        }
    }

    /// The one with this word, capitals aside.
    #[must_use]
    pub fn called(word: &str) -> Option<Jurisdiction> {
        Jurisdiction::ALL.into_iter().find(|place| place.word().eq_ignore_ascii_case(word))
    }
}

/// An entry of a list of waste.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WasteCode {
    /// Where it holds.
    pub jurisdiction: Jurisdiction,
    /// Key of the class that it is for.
    pub class: String,
    /// `16 09 03*`.
    pub code: String,
    /// The entry in our own words.
    pub words: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What is said of households.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Household {
    /// Where it holds.
    pub jurisdiction: Jurisdiction,
    /// What is said.
    pub say: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// A part of the keeper's local rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Topic {
    /// How much may be kept.
    Store,
    /// How strong it may be.
    Strength,
    /// What may go down a drain.
    Drain,
    /// Who takes unwanted stock.
    Takes,
}

impl Topic {
    /// Every one, in the order of the keeper's file.
    pub const ALL: [Topic; 4] = [Topic::Store, Topic::Strength, Topic::Drain, Topic::Takes];

    /// The key of the keeper's file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Topic::Store => "store",
            Topic::Strength => "strength",
            Topic::Drain => "drain",
            Topic::Takes => "takes",
        }
    }
}

/// What to ask whom.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// Whom.
    pub whom: String,
    /// Which lines of the keeper's local rules the answer fills.
    pub about: Vec<Topic>,
    /// What.
    pub ask: Vec<String>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

impl Disposal {
    /// What to ask, and whom, to fill a part of the local rules.
    pub fn questions(&self, topic: Topic) -> impl Iterator<Item = &Question> {
        self.questions.iter().filter(move |question| question.about.contains(&topic))
    }

    /// The class with this key.
    #[must_use]
    pub fn class(&self, key: &str) -> Option<&DisposalClass> {
        self.classes.iter().find(|class| class.key == key)
    }
}
