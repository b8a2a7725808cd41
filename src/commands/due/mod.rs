//! `due`: what wants doing now and in the next days, the most dangerous first.

mod baths;
mod bottles;
mod containers;
mod papers;
mod planned;
pub mod rank;

use std::path::PathBuf;

use chrono::{Days, NaiveDate};
use clap::Args;

use self::rank::{Matter, rank};
use super::bathe::book_on;
use super::layout::Layout;
use super::{Problem, Session, arguments};

/// How many lines are printed, unless all are asked for.
pub const LINES: usize = 7;

/// For how many days ahead, unless somebody says.
const AHEAD: u16 = 7;

/// For how many days ahead a calendar is written, unless somebody says.
const AHEAD_IN_CALENDAR: u16 = 60;

/// What wants doing now and in the next days, at most seven lines, the most dangerous first
///
/// In this order: baths running over; containers that can hurt somebody, and what is held; used baths that were not ended,
/// made-up solutions past their time, missing labels; lots to look at; bottles to test; stocks short for what is planned;
/// planned baths; changed dips to sign again; answers to ask for again and old data sheets. It says nothing when nothing is due.
#[derive(Debug, Args)]
#[command(after_help = "\
The exit code is 0 if nothing is due and 1 if something is.
A calendar that is read in again moves its entries to their new days; it makes no second ones.
Examples:
  brimstock due
  brimstock due --all --days 30
  brimstock due --ics due.ics")]
pub struct DueArguments {
    /// How many days ahead [default: 7, for a calendar 60]
    #[arg(long, value_name = "N", value_parser = arguments::whole(0_u16..=3660))]
    pub days: Option<u16>,
    /// All lines, not only the first seven
    #[arg(long)]
    pub all: bool,
    /// Write it as a calendar (RFC 5545) into this file; a calendar of brimstock is written over
    #[arg(long, value_name = "FILE")]
    pub ics: Option<PathBuf>,
}

/// What is due.
#[derive(Debug, Clone)]
pub struct Due {
    /// The day.
    pub on: NaiveDate,
    /// The last day that was looked at.
    pub to: NaiveDate,
    /// All of it, the most dangerous first.
    pub matters: Vec<Matter>,
    /// True if all of it is to be printed.
    pub all: bool,
    /// The calendar to be written.
    pub calendar: Option<Calendar>,
}

impl Due {
    /// What is printed, and how many lines more there are.
    #[must_use]
    pub fn lines(&self) -> (&[Matter], usize) {
        if self.all || self.matters.len() <= LINES {
            return (&self.matters, 0);
        }
        // The last line says how many more there are.
        (&self.matters[..LINES - 1], self.matters.len() - (LINES - 1))
    }
}

/// A calendar of what is due.
#[derive(Debug, Clone)]
pub struct Calendar {
    /// The file.
    pub out: PathBuf,
    /// The day of the question: what is late stands on it.
    pub on: NaiveDate,
    /// The last day that was looked at.
    pub to: NaiveDate,
    /// What stands in it.
    pub matters: Vec<Matter>,
    /// The name of the register that no other has.
    pub register: String,
    /// The moment of writing, `YYYY-MM-DDTHH:MM:SSZ`.
    pub written_at: String,
}

/// Gathers what is due.
///
/// # Errors
/// If the register cannot be read or contradicts itself.
pub fn run(session: &Session, arguments: &DueArguments) -> Result<Due, Problem> {
    let until = |days: u16| session.day.checked_add_days(Days::new(days.into())).unwrap_or(NaiveDate::MAX);
    let to = until(arguments.days.unwrap_or(AHEAD));
    let far = until(arguments.days.unwrap_or(AHEAD_IN_CALENDAR));
    let mut register = session.register()?;
    let (found, identity) = register.read(|reading| {
        let layout = Layout::of(session, reading)?;
        let book = book_on(reading, session.day)?;
        let mut found = planned::matters(session, reading, &book)?;
        found.extend(baths::matters(session, reading, &book)?);
        found.extend(containers::matters(session, &layout));
        // Of a bottle that is tested for what is planned nothing more is told.
        let is_told = |test: &Matter| found.iter().any(|told| told.kind == test.kind && told.about == test.about);
        let bottles = bottles::matters(session, reading, &layout)?;
        let bottles: Vec<Matter> = bottles.into_iter().filter(|matter| !is_told(matter)).collect();
        found.extend(bottles);
        found.extend(papers::matters(session, reading, &layout)?);
        Ok::<_, Problem>((found, reading.identity()?))
    })?;
    let calendar = arguments.ics.as_ref().map(|out| Calendar {
        out: out.clone(),
        on: session.day,
        to: far,
        matters: rank(found.clone(), session.day, far),
        register: identity,
        written_at: session.entered_at.clone(),
    });
    Ok(Due { on: session.day, to, matters: rank(found, session.day, to), all: arguments.all, calendar })
}
