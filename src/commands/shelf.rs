//! `shelf` and `show`: what stands there, and the journal of one stock.

use chrono::NaiveDate;
use clap::Args;

use super::looking::each_untold;
use super::receive::label_text;
use super::sds::{self, Kept};
use super::sight::{Sight, Usual};
use super::strength::{Asked, Checked, checked};
use super::{Problem, Session, arguments};
use crate::catalogue::{Condition, Container};
use crate::decay::posterior::Standing;
use crate::register::event::{Event, Made, What};
use crate::units::show;

/// List what stands on the shelf, with strengths
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock shelf --on 2031-03-15")]
pub struct Shelf {
    /// Only the stocks of this place
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
}

/// Show one stock: its strength, its dips and its journal
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  brimstock show HP-1\n  xdg-open \"$(brimstock show HP-1 --sds)\"")]
pub struct Show {
    /// The stock's code
    pub stock: String,
    /// The volume of the bath that its dips are judged by
    #[arg(long, default_value = "10L")]
    pub bath: String,
    /// Only the path of its data sheet, for a program that opens it
    #[arg(long)]
    pub sds: bool,
}

/// The shelf on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Shelved {
    /// The day.
    pub on: NaiveDate,
    /// Its stocks, in the order of receipt.
    pub stocks: Vec<ShelfLine>,
}

/// One stock on the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct ShelfLine {
    /// Its code.
    pub code: String,
    /// Key of its reagent.
    pub reagent: String,
    /// What the label says.
    pub label: String,
    /// Its strength on that day in its usual unit; nothing where none can be told.
    pub strength: Option<Usual>,
    /// How much is left, in the unit.
    pub left: f64,
    /// `mL` or `g`.
    pub unit: String,
    /// Where it stands.
    pub place: String,
    /// Its condition.
    pub condition: Condition,
    /// What to mind.
    pub note: String,
}

/// One stock with its journal.
#[derive(Debug, Clone)]
pub struct Shown {
    /// What `check` says of it.
    pub checked: Checked,
    /// Where it stands.
    pub place: String,
    /// Its condition.
    pub condition: Condition,
    /// When and why it left, if it did.
    pub retired: Option<(NaiveDate, String)>,
    /// Its supplier's safety data sheet.
    pub sheet: Option<Kept>,
    /// Its journal.
    pub journal: Vec<JournalLine>,
}

/// One line of a journal, in words.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalLine {
    /// Its number.
    pub number: usize,
    /// The day it happened, or was corrected.
    pub day: NaiveDate,
    /// The kind of event.
    pub kind: String,
    /// What it says.
    pub says: String,
    /// When it was typed.
    pub entered_at: String,
}

/// Lists the shelf.
///
/// # Errors
/// If the register cannot be read or contradicts itself, and for an unknown place.
pub fn shelf(session: &Session, arguments: &Shelf) -> Result<Shelved, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        let at = match &arguments.at {
            Some(name) => Some(arguments::place(&places, name)?.name.clone()),
            None => None,
        };
        let mut stocks = Vec::new();
        each_untold(
            session,
            reading,
            &places,
            |_| true,
            |sight| {
                if at.as_ref().is_none_or(|place| *place == sight.state.place) {
                    stocks.push(line(&sight)?);
                }
                Ok(())
            },
        )?;
        Ok(Shelved { on: session.day, stocks })
    })
}

/// A stock as a line of the shelf.
///
/// # Errors
/// For a strength that cannot be converted.
pub(super) fn line(sight: &Sight<'_>) -> Result<ShelfLine, Problem> {
    let strength = match &sight.standing {
        Standing::Known(known) => Some(sight.usual(known.estimate())?),
        Standing::Unknown { .. } => None,
    };
    let state = &sight.state;
    let mut notes = Vec::new();
    if let Some(why) = &state.hold {
        notes.push(format!("held: {why}"));
    }
    if state.left == 0.0 {
        notes.push("empty".to_owned());
    }
    if let Some(crystals) = sight.crystals() {
        notes.push(crystals.trim_start_matches(&sight.stock.code).trim_start().to_owned());
    }
    if strength.is_none() {
        notes.push("test first".to_owned());
    }
    if let Some(light) = sight.uncounted_light() {
        notes.push(format!("not counted: {light}"));
    }
    Ok(ShelfLine {
        code: sight.stock.code.clone(),
        reagent: sight.stock.reagent.clone(),
        label: label_text(&state.label),
        strength,
        left: state.left,
        unit: state.unit.clone(),
        place: state.place.clone(),
        condition: state.condition,
        note: notes.join("; "),
    })
}

/// Shows a stock.
///
/// # Errors
/// For an unknown stock or one that had not come by that day, and a bath that cannot be read.
pub fn show(session: &Session, arguments: &Show) -> Result<Shown, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        let sight = Sight::on_shelf(session, reading, &places, &arguments.stock)?;
        let journal = reading
            .entries(&sight.stock, &places)?
            .iter()
            .map(|entry| {
                let (kind, says) = match &entry.what {
                    What::Event(event) => (event.kind(), event_text(event, &sight.state.unit)),
                    What::Correction { of, instead, why } => {
                        let says = match instead {
                            Some((day, event)) => {
                                format!(
                                    "line {of} is really: {day} {} {} ({why})",
                                    event.kind(),
                                    event_text(event, &sight.state.unit)
                                )
                            }
                            None => format!("line {of} never happened ({why})"),
                        };
                        ("corrected", says)
                    }
                };
                JournalLine {
                    number: entry.number,
                    day: entry.day,
                    kind: kind.to_owned(),
                    says,
                    entered_at: entry.entered_at.clone(),
                }
            })
            .collect();
        let bath = crate::units::parse::volume(&arguments.bath, arguments::kitchen(reading)?)?;
        Ok(Shown {
            place: sight.state.place.clone(),
            condition: sight.state.condition,
            retired: sight.state.retired.clone(),
            sheet: sds::kept(session, reading, &sight.stock)?,
            checked: checked(session, reading, &places, &sight, &Asked::of(bath))?,
            journal,
        })
    })
}

fn event_text(event: &Event, unit: &str) -> String {
    match event {
        Event::Received(received) => {
            let mut text = format!(
                "{}, {}, {}, at {}",
                label_text(&received.label),
                show::amount(received.amount, unit),
                received.condition.word(),
                received.place
            );
            let kept = received.kept_in;
            if kept.container != Container::Unknown {
                text.push_str(&format!(", in {}", kept.container.word()));
            }
            if let Some(mm) = kept.wall_mm {
                text.push_str(&format!(" of {} mm", show::plain(mm)));
            }
            if let Some(cm) = kept.diameter_cm {
                text.push_str(&format!(", {} cm wide", show::plain(cm)));
            }
            if let Some(ml) = kept.brim_ml {
                text.push_str(&format!(", holds {} to the brim", show::millilitres(ml)));
            }
            if let Some(cap) = kept.cap {
                text.push_str(&format!(", {} cap", cap.word()));
            }
            match received.made {
                Made::New => {}
                Made::On(day) => text.push_str(&format!(", made on {day}")),
                Made::Unknown => text.push_str(", age unknown"),
            }
            if let Some(code) = &received.poured_from {
                text.push_str(&format!(", poured from {code}"));
            }
            if let Some(why) = &received.hold {
                text.push_str(&format!(", held: {why}"));
            }
            if let Some(why) = &received.overruled {
                text.push_str(&format!(", there against a warning: {why}"));
            }
            text
        }
        Event::Opened { condition } => condition.word().to_owned(),
        Event::Moved { place, overruled: None } => format!("to {place}"),
        Event::Moved { place, overruled: Some(why) } => format!("to {place}, against a warning: {why}"),
        Event::Taken { amount } => show::amount(*amount, unit),
        Event::Counted { amount } => format!("{} there", show::amount(*amount, unit)),
        Event::Noted { what, .. } => what.clone(),
        Event::Assayed { method, strength, .. } => {
            format!("{method}: {} ± {} % (1 sd)", label_text(strength), show::plain(100.0 * strength.relative_sd))
        }
        Event::Retired { why, handed_to: None } => why.clone(),
        Event::Retired { why, handed_to: Some(whom) } => format!("{why}, handed over to {whom}"),
    }
}
