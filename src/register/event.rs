//! What can happen to a stock, as it is entered.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::catalogue::{Cap, Condition, Container};
use crate::decay::reading::Raw;

/// Something that happened to a stock. Amounts are in the stock's own unit.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// It came onto the shelf.
    Received(Received),
    /// Its seal was broken.
    Opened {
        /// The condition from that day on.
        condition: Condition,
    },
    /// It went to another place.
    Moved {
        /// The place's name.
        place: String,
        /// Why the keeper puts it there against a warning.
        overruled: Option<String>,
    },
    /// Some of it was used.
    Taken {
        /// How much.
        amount: f64,
    },
    /// What is left was measured.
    Counted {
        /// How much there was.
        amount: f64,
    },
    /// Its strength was tested.
    Assayed {
        /// How: `figure` for a result from elsewhere.
        method: String,
        /// What was found, as it was computed then.
        strength: Labelled,
        /// What was read; nothing for a result from elsewhere.
        raw: Option<Raw>,
    },
    /// Something was noticed on it that makes it keep worse.
    Noted {
        /// The condition from that day on.
        condition: Condition,
        /// What was noticed.
        what: String,
    },
    /// It left the shelf.
    Retired {
        /// Where it went, and why.
        why: String,
        /// Who took it, if it was handed over.
        handed_to: Option<String>,
    },
}

/// What is entered when a stock comes.
#[derive(Debug, Clone, PartialEq)]
pub struct Received {
    /// Where it was put.
    pub place: String,
    /// How much.
    pub amount: f64,
    /// `g` or `mL`.
    pub unit: String,
    /// What the label says.
    pub label: Labelled,
    /// The condition in which it came.
    pub condition: Condition,
    /// Why it may not be used, if it may not.
    pub hold: Option<String>,
    /// What it is kept in.
    pub kept_in: KeptIn,
    /// When it was made.
    pub made: Made,
    /// The code of the stock it was poured from; its label is then our own estimate.
    pub poured_from: Option<String>,
    /// Why the keeper puts it there against a warning.
    pub overruled: Option<String>,
}

/// A container as the keeper sees it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct KeptIn {
    /// What its wall is made of.
    pub container: Container,
    /// How thick it is, mm, where it was measured.
    pub wall_mm: Option<f64>,
    /// Its diameter, cm, where it was measured.
    pub diameter_cm: Option<f64>,
    /// How much it holds to the brim, mL, where somebody said.
    pub brim_ml: Option<f64>,
    /// How its cap closes, where somebody said.
    pub cap: Option<Cap>,
}

/// When a stock was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Made {
    /// It was new when it came.
    New,
    /// On that day.
    On(NaiveDate),
    /// Nobody knows.
    Unknown,
}

/// A strength as entered: number and unit, never converted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Labelled {
    /// The number.
    pub value: f64,
    /// The unit's printed name.
    pub unit: String,
    /// Relative standard deviation: of reading it for a label, of finding it for a test.
    pub relative_sd: f64,
}

/// One line of the journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Row in the register.
    pub id: i64,
    /// 1, 2, 3 ... within the stock; corrections count too.
    pub number: usize,
    /// The day on which it happened; for a correction, on which it was made.
    pub day: NaiveDate,
    /// When it was typed: UTC, `YYYY-MM-DDTHH:MM:SSZ`.
    pub entered_at: String,
    /// The words typed.
    pub written: String,
    /// What was entered.
    pub what: What,
}

/// What a line of the journal says.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// Something happened.
    Event(Event),
    /// An earlier line was wrong.
    Correction {
        /// The number of that line.
        of: usize,
        /// What happened instead and when; nothing if it never happened.
        instead: Option<(NaiveDate, Event)>,
        /// Why.
        why: String,
    },
}

impl Event {
    /// The word for its kind, as stored.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Event::Received(_) => "received",
            Event::Opened { .. } => "opened",
            Event::Moved { .. } => "moved",
            Event::Taken { .. } => "taken",
            Event::Counted { .. } => "counted",
            Event::Assayed { .. } => "assayed",
            Event::Noted { .. } => "noted",
            Event::Retired { .. } => "retired",
        }
    }
}
