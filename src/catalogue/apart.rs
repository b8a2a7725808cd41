//! What must be kept apart: reaction groups, what every two of them do to each other, and what a place may have around it.

use chrono::NaiveDate;
use serde::{Deserialize, Deserializer};

use super::Form;

/// `hazards/keep-apart.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Apart {
    /// After this day the rules want a second look.
    #[serde(deserialize_with = "day")]
    pub review_by: NaiveDate,
    /// The groups.
    #[serde(rename = "group")]
    pub groups: Vec<Group>,
    /// Every two groups; two different reagents of one group where that is not without conflict.
    #[serde(rename = "pair")]
    pub pairs: Vec<Pair>,
    /// Where two groups meet on purpose, much thinner. It softens no verdict.
    pub planned: Vec<PlannedUse>,
    /// Weak solutions that ask for one step less.
    #[serde(rename = "relief")]
    pub reliefs: Vec<Relief>,
    /// What a place may have around it, and what must not stand there.
    #[serde(rename = "around")]
    pub surroundings: Vec<Surrounding>,
}

/// Things that react alike.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Group {
    /// The word that reagents name.
    pub key: String,
    /// In words.
    pub name: String,
    /// What belongs here.
    pub means: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// How far apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// No known conflict.
    None,
    /// A shelf or a tray of its own.
    Tray,
    /// A cabinet of its own.
    Cabinet,
    /// Never one cabinet, tray, drain or line of spill.
    Never,
}

impl Verdict {
    /// The word in JSON and in the data.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Verdict::None => "none",
            Verdict::Tray => "tray",
            Verdict::Cabinet => "cabinet",
            Verdict::Never => "never",
        }
    }

    /// What it says of the two, in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Verdict::None => "no known conflict",
            Verdict::Tray => "not on one shelf or tray",
            Verdict::Cabinet => "not in one cabinet",
            Verdict::Never => "never together",
        }
    }

    /// One step less, never below a tray.
    #[must_use]
    pub fn relieved(self) -> Verdict {
        match self {
            Verdict::Never => Verdict::Cabinet,
            Verdict::Cabinet => Verdict::Tray,
            less => less,
        }
    }
}

/// What two groups do to each other.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// The two groups, in any order; the same twice for two reagents of one group.
    pub groups: [String; 2],
    /// How far apart.
    pub verdict: Verdict,
    /// What happens if they meet; nothing for no known conflict.
    #[serde(default)]
    pub consequence: Option<String>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

impl Pair {
    /// True if it is about these two, in either order.
    #[must_use]
    pub fn is_of(&self, one: &str, other: &str) -> bool {
        let [a, b] = &self.groups;
        (a == one && b == other) || (a == other && b == one)
    }
}

/// Where two groups meet on purpose.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedUse {
    /// The two groups.
    pub groups: [String; 2],
    /// What is done, and how thin.
    pub what: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// A weak solution that asks for one step less.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Relief {
    /// Its group.
    pub group: String,
    /// The form that it holds for.
    pub form: Form,
    /// Holds up to and including this strength.
    pub up_to_percent_w_w: f64,
    /// Against these groups.
    pub against: Vec<String>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// What a place can have around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Around {
    /// Paper, wood, sawdust, oil, sugar, dry plants.
    Combustibles,
    /// Bare iron, copper, brass.
    BareMetal,
    /// A sink, a damp wall.
    Damp,
    /// Sun, a heater, a boiler.
    Warm,
    /// Food, feed, drinks, medicine.
    Food,
    /// A room to sleep in.
    Bedroom,
}

impl Around {
    /// Every word.
    pub const ALL: [Around; 6] =
        [Around::Combustibles, Around::BareMetal, Around::Damp, Around::Warm, Around::Food, Around::Bedroom];

    /// The word to type.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Around::Combustibles => "combustibles",
            Around::BareMetal => "bare-metal",
            Around::Damp => "damp",
            Around::Warm => "warm",
            Around::Food => "food",
            Around::Bedroom => "bedroom",
        }
    }

    /// The one with this word.
    #[must_use]
    pub fn called(word: &str) -> Option<Around> {
        Around::ALL.into_iter().find(|around| around.word() == word)
    }
}

/// What must not stand beside something.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Surrounding {
    /// What is around.
    pub tag: Around,
    /// The groups that it concerns.
    pub groups: Vec<String>,
    /// Only above this strength, where there is such a bound.
    #[serde(default)]
    pub above_percent_w_w: Option<f64>,
    /// How far apart.
    pub verdict: Verdict,
    /// What happens.
    pub consequence: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

impl Apart {
    /// What two groups do to each other; nothing for two reagents of one group of which nothing is said.
    #[must_use]
    pub fn pair(&self, one: &str, other: &str) -> Option<&Pair> {
        self.pairs.iter().find(|pair| pair.is_of(one, other))
    }

    /// The group with this key.
    #[must_use]
    pub fn group(&self, key: &str) -> Option<&Group> {
        self.groups.iter().find(|group| group.key == key)
    }
}

/// Reads a day written as text, `YYYY-MM-DD`.
pub(super) fn day<'de, D: Deserializer<'de>>(deserializer: D) -> Result<NaiveDate, D::Error> {
    String::deserialize(deserializer)?.parse().map_err(|_| serde::de::Error::custom("a day is wanted: \"YYYY-MM-DD\""))
}
