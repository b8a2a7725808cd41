//! The book of baths: what is written down at the bench.

pub mod book;
pub mod countdown;
pub mod disagreement;
pub mod look;
pub mod name;
pub mod outcome;
pub mod replay;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use serde::{Deserialize, Serialize};

/// One row of the book.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Row in the register; what the keeper calls an entry by.
    pub id: i64,
    /// The day on which it happened.
    pub day: NaiveDate,
    /// When it was typed: UTC, `YYYY-MM-DDTHH:MM:SSZ`.
    pub entered_at: String,
    /// The words typed.
    pub written: String,
    /// What happened.
    pub what: Happened,
}

/// Something that happened at the bench. Times are those of the clock on its wall.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Happened {
    /// A bath was made up and a first load went in.
    Started(Started),
    /// Another load went into a bath that was made up before.
    Loaded(Loaded),
    /// A load came out.
    Stopped(Stopped),
    /// What was left of the reagent was destroyed.
    Quenched(Quenched),
    /// The bath left its vessel.
    Drained(Drained),
    /// A lot was looked over.
    Looked(Looked),
    /// A lot left quarantine.
    Released(Left),
    /// A lot was destroyed.
    Destroyed(Left),
    /// An earlier row was wrong: it counts as if it had never been.
    Withdrawn(Withdrawn),
}

/// A bath that was made up. Its number is its row's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Started {
    /// Key of the dip.
    pub dip: String,
    /// Which version of it.
    pub version: u32,
    /// Volume, mL.
    pub bath_ml: f64,
    /// The vessel, if one was named.
    pub vessel: Option<String>,
    /// The first load.
    pub load: Load,
    /// Why it was started against a warning, if it was.
    pub overruled: Option<String>,
}

/// A further load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Loaded {
    /// Row of the bath.
    pub bath: i64,
    /// The load.
    pub load: Load,
    /// Why it went in against a warning, if it did.
    pub overruled: Option<String>,
}

/// Plants of one lot that go into a bath together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// The lot.
    pub lot: String,
    /// What went in, in the keeper's words.
    pub plants: Option<String>,
    /// The kind of plant that outcomes are counted by.
    pub kind: Option<String>,
    /// When it went in.
    pub at: NaiveDateTime,
    /// Role or initials.
    pub who: Option<String>,
    /// Water, °C.
    pub water_c: Option<f64>,
    /// pH of the water.
    pub ph: Option<f64>,
    /// Visible dirt, 0 to 3.
    pub dirt: Option<u8>,
}

/// The end of a load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stopped {
    /// The lot.
    pub lot: String,
    /// Row of the load that came out.
    pub load: i64,
    /// When it came out.
    pub at: NaiveDateTime,
    /// What was seen, in the keeper's words.
    pub note: Option<String>,
}

/// The end of what was left in a bath.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quenched {
    /// Row of the bath.
    pub bath: i64,
    /// What the strip or the eye said.
    pub reading: String,
    /// True if the reading proves that nothing is left.
    pub proven: bool,
    /// pH then.
    pub ph: Option<f64>,
    /// Role or initials.
    pub who: Option<String>,
    /// The time by the clock on the wall; nothing where nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<NaiveTime>,
}

/// Where a bath went.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drained {
    /// Row of the bath.
    pub bath: i64,
    /// Where it went.
    pub into: String,
    /// The permission that allows it.
    pub permission: Option<String>,
    /// Role or initials.
    pub who: Option<String>,
    /// Why it went against a warning, if it did.
    pub overruled: Option<String>,
    /// The time by the clock on the wall; nothing where nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<NaiveTime>,
}

/// A look at a lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Looked {
    /// The lot.
    pub lot: String,
    /// Living snails or other animals.
    pub adults: u32,
    /// Egg masses.
    pub eggs: u32,
    /// Damaged leaves, per cent.
    pub damage_percent: Option<f64>,
    /// A picture.
    pub photo: Option<String>,
    /// What was seen, in the keeper's words.
    pub note: Option<String>,
    /// Role or initials.
    pub who: Option<String>,
}

/// A lot that left.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Left {
    /// The lot.
    pub lot: String,
    /// Why, or how.
    pub note: Option<String>,
    /// Role or initials.
    pub who: Option<String>,
    /// Why it was released against a warning, if it was.
    pub overruled: Option<String>,
    /// The role of whoever saw it destroyed.
    #[serde(default)]
    pub witness: Option<String>,
}

/// A row that was wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Withdrawn {
    /// That row.
    pub row: i64,
    /// Why.
    pub why: String,
}

impl Happened {
    /// The word for its kind, as stored.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Happened::Started(_) => "started",
            Happened::Loaded(_) => "loaded",
            Happened::Stopped(_) => "stopped",
            Happened::Quenched(_) => "quenched",
            Happened::Drained(_) => "drained",
            Happened::Looked(_) => "looked",
            Happened::Released(_) => "released",
            Happened::Destroyed(_) => "destroyed",
            Happened::Withdrawn(_) => "withdrawn",
        }
    }
}
