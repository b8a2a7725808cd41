//! `bathe watch`, and what it watches: the start is in the book already, so a lost terminal loses nothing.

use chrono::NaiveDateTime;
use clap::Args;

use super::{book_on, dip_version, refuse};
use crate::commands::{Problem, Session};
use crate::dip::log::book::LoadOf;
use crate::dip::log::countdown::Span;
use crate::dip::log::name;

/// Count down a load that is in a bath, by its start in the book
///
/// With a bell at the end; then it counts what is over, until Ctrl-C or Enter.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  brimstock bathe watch\n  brimstock bathe watch A1")]
pub struct WatchArguments {
    /// The lot [default: the one that is in a bath]
    #[arg(value_parser = name::lot)]
    pub lot: Option<String>,
}

/// A load that is watched.
#[derive(Debug, Clone, PartialEq)]
pub struct Watched {
    /// The lot.
    pub lot: String,
    /// The bath's row.
    pub bath: i64,
    /// Key of the dip.
    pub dip: String,
    /// When it went in.
    pub started: NaiveDateTime,
    /// The moment of the question, by the same clock.
    pub now: NaiveDateTime,
    /// How long it is to be in.
    pub span: Span,
}

impl Watched {
    /// A load as it is watched.
    ///
    /// # Errors
    /// If the question is asked for another day than the clock's.
    pub(super) fn of(session: &Session, load: &LoadOf, span: Span) -> Result<Watched, Problem> {
        if session.day != session.clock.date() {
            return Err(Problem::question(format!("nothing can be watched on {}", session.day))
                .because(format!("by this computer's clock it is {}", session.clock.date()))
                .hint("leave --on away"));
        }
        let (lot, dip) = (load.load.lot.clone(), load.dip.clone());
        Ok(Watched { lot, bath: load.bath, dip, started: load.load.at, now: session.clock, span })
    }

    /// Seconds that it is in, at the moment of the question.
    #[must_use]
    pub fn seconds(&self) -> i64 {
        (self.now - self.started).num_seconds()
    }
}

/// Finds what is to be watched.
///
/// # Errors
/// If no load or more than one is in a bath and none was named, or the one named is in none.
pub fn run(session: &Session, given: &WatchArguments) -> Result<Watched, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let book = book_on(reading, session.day)?;
        let load = match &given.lot {
            Some(name) => {
                let lot = refuse::lot(&book, name)?;
                lot.running().ok_or_else(|| refuse::in_no_bath(lot))?
            }
            None => match &book.running().map(|(_, load)| load).collect::<Vec<_>>()[..] {
                [one] => *one,
                [] => {
                    return Err(Problem::question("no lot is in a bath")
                        .hint("`brimstock bathe start DIP --bath … --lot … --watch` starts one and counts it down"));
                }
                several => {
                    let lots: Vec<&str> = several.iter().map(|load| load.load.lot.as_str()).collect();
                    return Err(Problem::question(format!("{} lots are in a bath", lots.len()))
                        .hint(format!("name one: {}", lots.join(", "))));
                }
            },
        };
        let dip = dip_version(session, reading, &load.dip, load.version)?
            .ok_or_else(|| Problem::data(format!("version {} of `{}` is not known here", load.version, load.dip)))?;
        Watched::of(session, load, Span::minutes(dip.minutes.low, dip.minutes.high))
    })
}
