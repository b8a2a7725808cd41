//! What one bath leaves behind that spoils the next, or makes gas with it.

use serde::Deserialize;

use super::{Figure, Reagent};

/// `hazards/sequence.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sequence {
    /// How many rinses are asked for.
    pub rinses: RinsesFor,
    /// The traps.
    #[serde(rename = "trap")]
    pub traps: Vec<Trap>,
}

/// How many rinses are asked for, by what would happen without them.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RinsesFor {
    /// Where the next bath only loses strength.
    pub spoils: Figure,
    /// Where gas or fire may come.
    pub danger: Figure,
}

/// Something left of one bath, and the bath that must not follow it unrinsed.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trap {
    /// Its name in the file.
    pub key: String,
    /// What may be left: reaction groups or reagents.
    pub after: Vec<String>,
    /// What comes next: reaction groups or reagents.
    pub before: Vec<String>,
    /// True if the other order is as bad.
    #[serde(default)]
    pub either_way: bool,
    /// What happens.
    pub happens: String,
    /// What that does.
    pub harm: Harm,
    /// How many rinses between the two clear it; nothing where they never follow each other.
    #[serde(default)]
    pub rinses: Option<u8>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What a trap does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Harm {
    /// Gas or fire may come.
    Danger,
    /// The next bath is weaker than it was made.
    Spoils,
}

impl Harm {
    /// The word in JSON and in the data.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Harm::Danger => "danger",
            Harm::Spoils => "spoils",
        }
    }
}

impl Trap {
    /// True if it is about this reagent left over and that one coming.
    #[must_use]
    pub fn is_of(&self, left: &Reagent, next: &Reagent) -> bool {
        let names = |list: &[String], reagent: &Reagent| {
            let groups = reagent.care.as_ref().map_or(&[][..], |care| &care.groups);
            list.iter().any(|word| *word == reagent.key || groups.contains(word))
        };
        let one_way = |left: &Reagent, next: &Reagent| names(&self.after, left) && names(&self.before, next);
        one_way(left, next) || (self.either_way && one_way(next, left))
    }

    /// True once there were enough rinses.
    #[must_use]
    pub fn is_cleared_by(&self, rinses: u8) -> bool {
        self.rinses.is_some_and(|wanted| rinses >= wanted)
    }
}
