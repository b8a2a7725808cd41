//! From the journal of a stock to its state on a day, or to what contradicts itself.
//!
//! The same replay serves every question and guards every entry: an event is written only if the whole journal with it
//! still makes sense, on every day, past and to come.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::event::{Entry, Event, KeptIn, Labelled, Made, Received, What};
use crate::catalogue::{Cap, Condition};
use crate::decay::reading::Raw;
use crate::units::show;

/// A stock on a day, also as a checkpoint keeps it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct State {
    /// The day it came.
    pub received: NaiveDate,
    /// What the label says.
    pub label: Labelled,
    /// The condition in which it came.
    pub came: Condition,
    /// The condition now.
    pub condition: Condition,
    /// The day its seal was broken here.
    pub opened: Option<NaiveDate>,
    /// Where it stands.
    pub place: String,
    /// How much is left.
    pub left: f64,
    /// How much there was.
    pub amount: f64,
    /// `g` or `mL`.
    pub unit: String,
    /// Why it may not be used, if it may not.
    pub hold: Option<String>,
    /// When and why it left the shelf.
    pub retired: Option<(NaiveDate, String)>,
    /// Where and how it stood, from which day on.
    pub stays: Vec<Stay>,
    /// What it is kept in.
    pub kept_in: KeptIn,
    /// When it was made.
    pub made: Made,
    /// The code of the stock it was poured from.
    pub poured_from: Option<String>,
    /// What was noticed on it, and when.
    pub notes: Vec<(NaiveDate, String)>,
    /// The line that put it where it stands: the row of the register, which rises from entry to entry.
    pub placed: i64,
    /// Why it stands where it stands against a warning, and since when.
    pub overruled: Option<(NaiveDate, String)>,
    /// Who took it, if it was handed over.
    pub handed_to: Option<String>,
    /// Tests, in order.
    pub tests: Vec<Test>,
}

impl State {
    /// How its cap closes: as last noted, else as it came; nothing where nobody said.
    #[must_use]
    pub fn cap(&self) -> Option<Cap> {
        let noted = self.notes.iter().rev().find_map(|(_, what)| match what.as_str() {
            "vented cap" => Some(Cap::Vented),
            "tight cap" => Some(Cap::Tight),
            _ => None,
        });
        noted.or(self.kept_in.cap)
    }

    /// True if it bears a label: as last noted; what was bought came with one, of what was made here nobody knows.
    #[must_use]
    pub fn is_labelled(&self) -> Option<bool> {
        let noted = self.notes.iter().rev().find_map(|(_, what)| match what.as_str() {
            "labelled" => Some(true),
            "unlabelled" => Some(false),
            _ => None,
        });
        let made_here = self.poured_from.is_some() || matches!(self.came, Condition::MadeUp | Condition::MadeUpTap);
        noted.or((!made_here).then_some(true))
    }

    /// The day on which it was found swollen, and the word, if no vented cap was put on and no test made since; gas in it does
    /// not end by a cap.
    #[must_use]
    pub fn swollen(&self) -> Option<(NaiveDate, &'static str)> {
        let last = |what: &str| self.notes.iter().rposition(|(_, noted)| noted == what);
        let tested = self.tests.iter().map(|test| test.day).max();
        let swollen = last("swollen").filter(|at| last("vented cap").is_none_or(|vented| vented < *at));
        let found = swollen.map(|at| (at, "swollen")).or_else(|| last("gassing").map(|at| (at, "gassing")));
        found.map(|(at, word)| (self.notes[at].0, word)).filter(|(day, _)| tested.is_none_or(|tested| *day >= tested))
    }

    /// The day on which a thing was last noticed on it.
    #[must_use]
    pub fn noticed(&self, what: &str) -> Option<NaiveDate> {
        self.notes.iter().rev().find(|(_, noted)| noted == what).map(|(day, _)| *day)
    }
}

/// A test that was entered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Test {
    /// The day.
    pub day: NaiveDate,
    /// How.
    pub method: String,
    /// What was found, as it was computed when it was entered.
    pub strength: Labelled,
    /// What was read; nothing for a result from elsewhere.
    pub raw: Option<Raw>,
}

/// A stretch of a stock's life.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stay {
    /// First day.
    pub from: NaiveDate,
    /// Where.
    pub place: String,
    /// How.
    pub condition: Condition,
}

/// What in a journal cannot be.
#[derive(Debug, Clone, Error, PartialEq)]
pub enum Contradiction {
    /// Something before the stock was there.
    #[error("{kind} on {day}, but it was received on {received}")]
    BeforeReceipt {
        /// The kind of event.
        kind: &'static str,
        /// Its day.
        day: NaiveDate,
        /// The day of receipt.
        received: NaiveDate,
    },
    /// Something without a receipt.
    #[error("{kind} on {day}, but it was never received")]
    NeverReceived {
        /// The kind of event.
        kind: &'static str,
        /// Its day.
        day: NaiveDate,
    },
    /// Opened again.
    #[error("opened on {day}, but it was opened on {before} already")]
    OpenedTwice {
        /// The second day.
        day: NaiveDate,
        /// The first day.
        before: NaiveDate,
    },
    /// Opened, though it had no seal.
    #[error("opened on {day}, but it came {} and had no seal to break", came.word())]
    HadNoSeal {
        /// The day.
        day: NaiveDate,
        /// The condition in which it came.
        came: Condition,
    },
    /// More taken than there was.
    #[error("{} taken on {day}, but only {} were left", show::amount(*taken, unit), show::amount(*left, unit))]
    MoreThanLeft {
        /// How much was taken.
        taken: f64,
        /// How much there was.
        left: f64,
        /// `g` or `mL`.
        unit: String,
        /// The day.
        day: NaiveDate,
    },
    /// Something after the stock had gone.
    #[error("{kind} on {day}, but it left the shelf on {retired}")]
    AfterRetirement {
        /// The kind of event.
        kind: &'static str,
        /// Its day.
        day: NaiveDate,
        /// The day it left.
        retired: NaiveDate,
    },
}

/// The state of a stock at the end of a day; nothing if it had not come by then or never came.
///
/// Corrections put their event in the place of the one they correct, whatever day they were made on: what counts is what
/// is known now. Events of one day follow each other as they were entered.
///
/// # Errors
/// The first [`Contradiction`] up to that day.
pub fn state(entries: &[Entry], day: NaiveDate) -> Result<Option<State>, Contradiction> {
    state_from(None, entries, day)
}

/// The same from a state on, for lines of which none reaches back behind it.
pub(super) fn state_from(
    begun: Option<State>,
    entries: &[Entry],
    day: NaiveDate,
) -> Result<Option<State>, Contradiction> {
    let mut state = begun;
    for Happened { on, row, event } in in_order(entries) {
        if on > day {
            break;
        }
        let mut next = apply(state, on, event)?;
        if matches!(event, Event::Received(_) | Event::Moved { .. }) {
            next.placed = row;
        }
        state = Some(next);
    }
    Ok(state)
}

/// The last day up to a day on which something happened.
pub(super) fn last_day(entries: &[Entry], day: NaiveDate) -> Option<NaiveDate> {
    in_order(entries).iter().map(|happened| happened.on).filter(|on| *on <= day).max()
}

/// What happened, corrected and in the order of the days; the receipt first among the events of its day.
fn in_order(entries: &[Entry]) -> Vec<Happened<'_>> {
    let mut happened: Vec<(usize, Option<Happened<'_>>)> = Vec::with_capacity(entries.len());
    for entry in entries {
        let row = entry.id;
        match &entry.what {
            What::Event(event) => happened.push((entry.number, Some(Happened { on: entry.day, row, event }))),
            What::Correction { of, instead, .. } => {
                let line = happened.iter_mut().find(|(number, _)| number == of);
                if let Some(line) = line {
                    line.1 = instead.as_ref().map(|(on, event)| Happened { on: *on, row, event });
                }
            }
        }
    }
    let mut events: Vec<Happened<'_>> = happened.into_iter().filter_map(|(_, event)| event).collect();
    events.sort_by_key(|happened| happened.on);
    events
}

/// An event as it counts, with the row of the register that says so.
#[derive(Clone, Copy)]
struct Happened<'a> {
    on: NaiveDate,
    row: i64,
    event: &'a Event,
}

fn apply(state: Option<State>, day: NaiveDate, event: &Event) -> Result<State, Contradiction> {
    let kind = event.kind();
    let mut state = match (state, event) {
        (None, Event::Received(received)) => return Ok(arrival(day, received)),
        (None, _) => return Err(Contradiction::NeverReceived { kind, day }),
        (Some(state), _) => state,
    };
    if let Some((retired, _)) = state.retired {
        return Err(Contradiction::AfterRetirement { kind, day, retired });
    }
    match event {
        Event::Received(_) => return Err(Contradiction::BeforeReceipt { kind, day, received: state.received }),
        Event::Opened { condition } => {
            if let Some(before) = state.opened {
                return Err(Contradiction::OpenedTwice { day, before });
            }
            if state.came != Condition::Sealed {
                return Err(Contradiction::HadNoSeal { day, came: state.came });
            }
            state.opened = Some(day);
            // A bottle that was swollen before it was opened is no better for it.
            state.condition = state.condition.max(*condition);
            state.stays.push(Stay { from: day, place: state.place.clone(), condition: state.condition });
        }
        Event::Noted { condition, what } => {
            state.condition = state.condition.max(*condition);
            state.notes.push((day, what.clone()));
            state.stays.push(Stay { from: day, place: state.place.clone(), condition: state.condition });
        }
        Event::Moved { place, overruled } => {
            state.place.clone_from(place);
            state.overruled = overruled.clone().map(|why| (day, why));
            state.stays.push(Stay { from: day, place: place.clone(), condition: state.condition });
        }
        Event::Taken { amount } => {
            // A rounding of the tenth figure is no overdraft.
            if *amount > state.left + 1e-9 * state.amount {
                let unit = state.unit;
                return Err(Contradiction::MoreThanLeft { taken: *amount, left: state.left, unit, day });
            }
            state.left = (state.left - amount).max(0.0);
        }
        Event::Counted { amount } => state.left = *amount,
        Event::Assayed { method, strength, raw } => {
            state.tests.push(Test { day, method: method.clone(), strength: strength.clone(), raw: raw.clone() });
        }
        Event::Retired { why, handed_to } => {
            state.retired = Some((day, why.clone()));
            state.handed_to.clone_from(handed_to);
        }
    }
    Ok(state)
}

fn arrival(day: NaiveDate, received: &Received) -> State {
    State {
        received: day,
        label: received.label.clone(),
        came: received.condition,
        condition: received.condition,
        opened: None,
        place: received.place.clone(),
        left: received.amount,
        amount: received.amount,
        unit: received.unit.clone(),
        hold: received.hold.clone(),
        retired: None,
        stays: vec![Stay { from: day, place: received.place.clone(), condition: received.condition }],
        kept_in: received.kept_in,
        made: received.made,
        poured_from: received.poured_from.clone(),
        notes: Vec::new(),
        placed: 0,
        overruled: received.overruled.clone().map(|why| (day, why)),
        handed_to: None,
        tests: Vec::new(),
    }
}

/// Like [`state`], for all days there are, but saying of an event before the receipt when the receipt was.
///
/// # Errors
/// The first [`Contradiction`].
pub fn check(entries: &[Entry]) -> Result<(), Contradiction> {
    match state(entries, NaiveDate::MAX) {
        Err(Contradiction::NeverReceived { kind, day }) => {
            let received = in_order(entries)
                .iter()
                .find(|happened| matches!(happened.event, Event::Received(_)))
                .map(|happened| happened.on);
            Err(match received {
                Some(received) => Contradiction::BeforeReceipt { kind, day, received },
                None => Contradiction::NeverReceived { kind, day },
            })
        }
        Err(other) => Err(other),
        Ok(_) => Ok(()),
    }
}
