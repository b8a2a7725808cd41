//! The dip book: recipes with their evidence, and how exactly a bench measures.

use serde::{Deserialize, Serialize};

use super::Figure;

/// How exactly a bench measures; every value is a relative standard deviation.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measuring {
    /// A marked bucket or tub filled to the mark.
    pub vessel: Figure,
    /// A kitchen jug.
    pub jug: Figure,
    /// A medical syringe.
    pub syringe: Figure,
    /// A kitchen or pocket scale read at ten times its step or more.
    pub scale: Figure,
    /// A levelled measuring spoon, volume only.
    pub spoon: Figure,
    /// A drop.
    pub drop: Figure,
    /// What an unstated spoon or cup adds.
    pub unknown_spoon: Figure,
    /// A keeper's own spoon that nobody weighed.
    pub household_spoon: Figure,
    /// A vessel or jug that was weighed with water, filled to the same mark once more.
    pub filling: Figure,
    /// A drop from a dropper that was weighed with water.
    pub weighed_drop: Figure,
}

/// What follows a bath, where no dip says otherwise.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepFigures {
    /// How many rinses, `rinses`.
    pub rinse: Figure,
    /// How long apart from everything else, `d`.
    pub hold: Figure,
    /// From one look to the next, `d`.
    pub look: Figure,
    /// The last look, days after the bath, `d`.
    pub last_look: Figure,
}

/// A dip: one row of the book.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dip {
    /// The word to type.
    pub key: String,
    /// Which version of it this is; the shipped book holds first ones.
    #[serde(default = "first")]
    pub version: u32,
    /// What it is called.
    pub name: String,
    /// The reagent's key.
    pub reagent: String,
    /// What the bath should hold.
    pub target: Target,
    /// Minutes in the bath.
    pub minutes: Minutes,
    /// Lowest and highest water temperature, °C, where the source gives one.
    #[serde(default)]
    pub water_c: Option<[f64; 2]>,
    /// What it is used for.
    pub used_for: String,
    /// Which plants it is told for.
    pub plants: String,
    /// What goes into the bath.
    #[serde(default)]
    pub bathed: Bathed,
    /// What it is not shown to do; at least one line.
    pub not_shown: Vec<String>,
    /// What stands behind it; at least one line.
    pub evidence: Vec<Evidence>,
    /// What plants are known to bear of it, or not to bear.
    #[serde(default)]
    pub tolerance: Vec<Tolerance>,
    /// How it is stopped with a neutraliser, if it must be.
    #[serde(default)]
    pub stop: Option<Stop>,
    /// What follows once the plants are out of the bath, in order; another dip may be among it.
    #[serde(default)]
    pub steps: Vec<After>,
    /// Cautions for the person at the bench.
    pub cautions: Vec<String>,
}

impl Dip {
    /// The rows of its evidence and tolerance that have a name, each with its name.
    pub fn named_rows(&self) -> impl Iterator<Item = (&str, Row)> {
        let told = self.evidence.iter().map(|told| (&told.row, told.row()));
        let borne = self.tolerance.iter().map(|borne| (&borne.row, borne.row()));
        told.chain(borne).filter_map(|(name, row)| Some((name.as_deref()?, row)))
    }

    /// What is wrong with its steps, if anything is: an unknown dip, itself, one that brings further dips, a bath of
    /// neutraliser where none is named, days that do not rise.
    pub fn fault_in_steps<'a>(&self, named: impl Fn(&str) -> Option<&'a Dip>) -> Option<String> {
        self.steps.iter().find_map(|step| match step {
            After::Dip(key) if *key == self.key => Some(format!("`{key}` cannot follow itself")),
            After::Dip(key) => match named(key) {
                None => Some(format!("there is no dip `{key}`")),
                Some(dip) if dip.steps.iter().any(|step| matches!(step, After::Dip(_))) => {
                    Some(format!("`{key}` is itself a dip of several baths; name its baths one by one"))
                }
                Some(_) => None,
            },
            After::Rinse(times) if !(1..=10).contains(times) => Some("accepted: 1 to 10 rinses".to_owned()),
            After::Quench if self.stop.is_none() => Some("`quench` wants a `stop`".to_owned()),
            After::Hold(days) if !(1..=365).contains(days) => Some("accepted: a hold of 1 to 365 days".to_owned()),
            After::Look(days) if days.is_empty() || days.windows(2).any(|pair| pair[0] >= pair[1]) => {
                Some("the days of the looks must rise".to_owned())
            }
            After::Look(days) if days.iter().any(|day| !(1..=365).contains(day)) => {
                Some("accepted: looks on days 1 to 365".to_owned())
            }
            _ => None,
        })
    }
}

fn first() -> u32 {
    1
}

impl Dip {
    /// The days of looking that the dip names itself.
    #[must_use]
    pub fn look_days(&self) -> Option<&[u16]> {
        self.steps.iter().find_map(|step| match step {
            After::Look(days) => Some(days.as_slice()),
            _ => None,
        })
    }
}

/// What follows a bath.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", deny_unknown_fields)]
pub enum After {
    /// Another dip, by its key.
    Dip(String),
    /// So many rinses in clean water.
    Rinse(u8),
    /// A bath with a little of the neutraliser, for what the plants carry along.
    Quench,
    /// So many days apart from everything else.
    Hold(u16),
    /// Looks on these days after the bath.
    Look(Vec<u16>),
}

/// What goes into a bath.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Bathed {
    /// Plants.
    #[default]
    Plants,
    /// Nets, tubs, tools.
    Gear,
    /// Nothing: what is poured goes into the tank with all that lives there.
    Tank,
}

/// The band that a bath should land in, written as recipes are: `1.5 g/L`, `1:19 of 5.25 % w/w`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// Below this it is not the dip.
    pub low: String,
    /// What to aim at.
    pub aim: String,
    /// Above this it is another dip.
    pub high: String,
    /// Key of the source of `aim`.
    pub source: String,
    /// Key of the source of `low` and `high`.
    pub band_source: String,
}

/// Minutes in the bath.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Minutes {
    /// Shortest told.
    pub low: f64,
    /// Longest told.
    pub high: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// One thing that speaks for or against a dip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// A name for it, where a contradiction names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub row: Option<String>,
    /// How good it is.
    pub grade: Grade,
    /// What was found or is told, with its figures.
    pub says: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What a plant bears or does not bear.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tolerance {
    /// A name for it, where a contradiction names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub row: Option<String>,
    /// Which plant.
    pub plant: String,
    /// What it was exposed to, how strong and how long.
    pub exposure: String,
    /// What came of it.
    pub effect: String,
    /// How good it is.
    pub grade: Grade,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// One row of evidence or tolerance as it is printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// How good it is.
    pub grade: Grade,
    /// What it says.
    pub says: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

impl Evidence {
    /// As it is printed.
    #[must_use]
    pub fn row(&self) -> Row {
        Row { grade: self.grade, says: self.says.clone(), source: self.source.clone() }
    }
}

impl Tolerance {
    /// As it is printed: plant, exposure, effect.
    #[must_use]
    pub fn row(&self) -> Row {
        let says = format!("{}; {}: {}.", self.plant, self.exposure, self.effect);
        Row { grade: self.grade, says, source: self.source.clone() }
    }
}

/// Two rows that do not agree.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contradiction {
    /// What they are about.
    pub about: String,
    /// The dips on whose pages it stands.
    pub dips: Vec<String>,
    /// The name of one row.
    pub one: String,
    /// The name of the other.
    pub other: String,
    /// How they disagree, in one line.
    pub how: String,
}

/// How good a piece of evidence is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// A published result.
    Published,
    /// A rule of the trade without source.
    CommonPractice,
    /// What the keeper has seen or was told.
    Keeper,
}

/// The source of what the keeper says of a dip: key in `hazards/sources.toml`.
pub const KEEPERS_OWN: &str = "keepers-own";

impl Bathed {
    /// The word typed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Bathed::Plants => "plants",
            Bathed::Gear => "gear",
            Bathed::Tank => "tank",
        }
    }
}

impl Grade {
    /// The words printed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Grade::Published => "published",
            Grade::CommonPractice => "common practice",
            Grade::Keeper => "keeper's own",
        }
    }
}

/// The neutraliser that ends a dip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stop {
    /// The neutraliser's key.
    pub reagent: String,
    /// What is counted in the bath: `available chlorine`, or the dip's own reagent.
    pub counted_as: CountedAs,
    /// Grams of neutraliser for a gram of what is counted, the planning figure, `g/g`.
    pub planned: Figure,
    /// The same by stoichiometry, `g/g`.
    pub theory: Figure,
}

/// What a neutraliser's figure counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CountedAs {
    /// The reagent of the dip.
    Reagent,
    /// Chlorine equivalent to the hypochlorite.
    AvailableChlorine,
}
