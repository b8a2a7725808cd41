//! `bathe`: its verbs, each sent to its file, and what they share.

pub mod bring;
pub mod drain;
pub mod draw;
pub mod looks;
pub mod lot;
pub mod outcome;
pub mod pages;
pub mod promised;
pub mod quench;
pub mod refuse;
pub mod start;
pub mod stop;
pub mod warnings;
pub mod watch;
pub mod withdraw;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Timelike};
use clap::{Args, Subcommand};

use self::bring::Went;
use self::drain::DrainArguments;
use self::lot::{DestroyArguments, LookArguments, ReleaseArguments};
use self::pages::{BathPage, Listed, LotPage};
use self::quench::{QuenchArguments, Quenched};
use self::start::{LoadArguments, StartArguments};
use self::stop::{StopArguments, Stopped};
use self::watch::{WatchArguments, Watched};
use self::withdraw::WithdrawArguments;
use super::{Opened, Problem, Session, arguments, own_dips};
use crate::catalogue::Dip;
use crate::dip::log::book::{BathOf, Book, book};
use crate::dip::log::disagreement::time;
use crate::dip::log::{Happened, Row, name};
use crate::register::Writing;

/// Keep the book of baths: made up, loaded, taken out, ended, drained; lots looked over until they leave
///
/// Alone it lists what is in a bath and what is to be looked over.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock bathe start alum-short --bath 10L --lot A1 --kind fine-leaved --watch\n  brimstock bathe stop A1\n  brimstock bathe look A1 --adults 0 --eggs 1"
)]
pub struct Bathe {
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Debug, Subcommand)]
enum Verb {
    Start(Box<StartArguments>),
    Load(Box<LoadArguments>),
    Stop(StopArguments),
    Watch(WatchArguments),
    Quench(QuenchArguments),
    Drain(DrainArguments),
    Look(LookArguments),
    Release(ReleaseArguments),
    Destroy(DestroyArguments),
    Withdraw(WithdrawArguments),
    /// List what is in a bath and every lot with its last look
    #[command(after_help = "Example: brimstock bathe list")]
    List,
    /// Show a lot with its baths and looks, or a bath with its loads
    #[command(after_help = "Examples:\n  brimstock bathe show A1\n  brimstock bathe show 3")]
    Show {
        /// The lot, or the number of the bath
        #[arg(value_name = "LOT|BATH")]
        what: String,
    },
}

/// What `bathe` answers.
#[derive(Debug, Clone)]
pub enum Bathed {
    /// Plants went in.
    Went(Box<Went>),
    /// They came out.
    Stopped(Stopped),
    /// What was left was destroyed, or not.
    Quenched(Quenched),
    /// Anything else was entered.
    Noted(Noted),
    /// What there is.
    Listed(Listed),
    /// One lot.
    Lot(LotPage),
    /// One bath.
    Bath(BathPage),
    /// A load is watched.
    Watched(Watched),
}

impl Bathed {
    /// True unless a reading says that something is left.
    #[must_use]
    pub fn is_yes(&self) -> bool {
        !matches!(self, Bathed::Quenched(quenched) if !quenched.what.proven)
    }

    /// The day for which something was entered.
    #[must_use]
    pub fn entered_for(&self) -> Option<NaiveDate> {
        match self {
            Bathed::Went(went) => Some(went.load.load.at.date()),
            Bathed::Stopped(stopped) => Some(stopped.at.date()),
            Bathed::Quenched(quenched) => Some(quenched.day),
            Bathed::Noted(noted) => Some(noted.day),
            Bathed::Listed(_) | Bathed::Lot(_) | Bathed::Bath(_) | Bathed::Watched(_) => None,
        }
    }

    /// What is to be watched once the answer is printed.
    #[must_use]
    pub fn watched(&self) -> Option<&Watched> {
        match self {
            Bathed::Went(went) => went.watch.as_ref(),
            Bathed::Watched(watched) => Some(watched),
            _ => None,
        }
    }
}

/// An entry that needs no page of its own.
#[derive(Debug, Clone)]
pub struct Noted {
    /// Its row.
    pub row: i64,
    /// The word for its kind.
    pub kind: &'static str,
    /// The day on which it happened.
    pub day: NaiveDate,
    /// The lot, if it is about one.
    pub lot: Option<String>,
    /// The bath, if it is about one.
    pub bath: Option<i64>,
    /// The permission that allows it, of a drain.
    pub permission: Option<String>,
    /// What was entered, in words.
    pub said: String,
    /// What to mind.
    pub warnings: Vec<String>,
    /// What to do next.
    pub next: Option<String>,
}

/// Sends a verb to its file.
///
/// # Errors
/// The verb's problem.
pub fn run(session: &Session, arguments: &Bathe) -> Result<Bathed, Problem> {
    Ok(match &arguments.verb {
        None | Some(Verb::List) => Bathed::Listed(pages::list(session)?),
        Some(Verb::Start(given)) => Bathed::Went(Box::new(start::start(session, given)?)),
        Some(Verb::Load(given)) => Bathed::Went(Box::new(start::load(session, given)?)),
        Some(Verb::Stop(given)) => Bathed::Stopped(stop::run(session, given)?),
        Some(Verb::Watch(given)) => Bathed::Watched(watch::run(session, given)?),
        Some(Verb::Quench(given)) => Bathed::Quenched(quench::run(session, given)?),
        Some(Verb::Drain(given)) => Bathed::Noted(drain::run(session, given)?),
        Some(Verb::Look(given)) => Bathed::Noted(lot::look(session, given)?),
        Some(Verb::Release(given)) => Bathed::Noted(lot::release(session, given)?),
        Some(Verb::Destroy(given)) => Bathed::Noted(lot::destroy(session, given)?),
        Some(Verb::Withdraw(given)) => Bathed::Noted(withdraw::run(session, given)?),
        Some(Verb::Show { what }) => pages::show(session, what)?,
    })
}

/// The day on which something happened.
#[derive(Debug, Clone, Args)]
pub struct DayArguments {
    /// The day it happened [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// By whom something was done, and on which day.
#[derive(Debug, Clone, Args)]
pub struct ByArguments {
    /// Role or initials of whoever does it
    #[arg(long, value_parser = name::who)]
    pub who: Option<String>,
    #[command(flatten)]
    pub day: DayArguments,
}

impl ByArguments {
    /// The day, as said, else that of the question.
    ///
    /// # Errors
    /// For a day in the future.
    pub(super) fn day(&self, session: &Session) -> Result<NaiveDate, Problem> {
        arguments::event_day(session, self.day.date)
    }
}

/// By whom something was done to a bath, on which day and, if that is said, when.
#[derive(Debug, Clone, Args)]
pub struct DoneArguments {
    /// The time by the clock on the wall [default: none is kept]
    #[arg(long, value_parser = wall_time, value_name = "HH:MM[:SS]")]
    pub at: Option<NaiveTime>,
    #[command(flatten)]
    pub by: ByArguments,
}

impl DoneArguments {
    /// The day, as said, else that of the question.
    ///
    /// # Errors
    /// For a day or a time in the future, and for a time before the last load came out or before what was left was last tested.
    pub(super) fn day(&self, session: &Session, bath: &BathOf) -> Result<NaiveDate, Problem> {
        let day = self.by.day(session)?;
        let Some(at) = self.at.map(|at| day.and_time(at)) else { return Ok(day) };
        not_ahead(session, at)?;
        let out = bath.loads.iter().filter_map(|load| load.ended).max();
        let tested = bath.quenched.iter().filter_map(|test| test.what.at.map(|at| test.day.and_time(at))).max();
        for (moment, what) in [(out, "plants came out of that bath"), (tested, "what is left of that bath was tested")]
        {
            if let Some(moment) = moment.filter(|moment| at < *moment) {
                return Err(Problem::question(format!("--at {}: {what} on {}", at.time(), time(moment)))
                    .because("nothing was written")
                    .hint("give the right time with --at or --date"));
            }
        }
        Ok(day)
    }
}

/// When something happened.
#[derive(Debug, Clone, Args)]
pub struct TimeArguments {
    /// The time by the clock on the wall [default: now]
    #[arg(long, value_parser = wall_time, value_name = "HH:MM[:SS]")]
    pub at: Option<NaiveTime>,
    #[command(flatten)]
    pub day: DayArguments,
}

impl TimeArguments {
    /// The moment that is meant: as said, else now; on another day than the clock's a time must be said.
    ///
    /// # Errors
    /// For a moment in the future, and for another day without a time.
    pub(super) fn moment(&self, session: &Session) -> Result<NaiveDateTime, Problem> {
        let day = arguments::event_day(session, self.day.date)?;
        let now = session.clock.with_nanosecond(0).unwrap_or(session.clock);
        let is_today = day == now.date();
        let at = match self.at {
            Some(time) => day.and_time(time),
            None if is_today => now,
            None => {
                return Err(Problem::question(format!("at what time on {day}?"))
                    .because(format!("by this computer's clock it is {}", now.date()))
                    .hint("give it as --at 14:05 or --at 14:05:30"));
            }
        };
        not_ahead(session, at)?;
        Ok(at)
    }
}

/// Refuses a moment that has not come yet by the clock on the wall.
fn not_ahead(session: &Session, at: NaiveDateTime) -> Result<(), Problem> {
    let now = session.clock.with_nanosecond(0).unwrap_or(session.clock);
    if at.date() != now.date() || at <= now {
        return Ok(());
    }
    Err(Problem::question(format!("--at {} lies in the future", at.time()))
        .because(format!("by this computer's clock it is {}", now.time()))
        .hint("enter it when it has happened; for yesterday add --date"))
}

fn wall_time(text: &str) -> Result<NaiveTime, String> {
    let found = ["%H:%M:%S", "%H:%M"].iter().find_map(|shape| NaiveTime::parse_from_str(text.trim(), shape).ok());
    found
        .filter(|time| time.nanosecond() < 1_000_000_000)
        .ok_or_else(|| format!("`{text}` is no time of the day; accepted: HH:MM or HH:MM:SS, as 14:05"))
}

/// Words of one line that are kept as they were said.
pub(super) fn words(text: &str) -> Result<String, String> {
    let text = text.trim();
    match text.chars().count() {
        1..=200 if !text.chars().any(char::is_control) => Ok(text.to_owned()),
        _ => Err("accepted: 1 to 200 characters on one line".to_owned()),
    }
}

/// The same session, asked on another day.
fn on(session: &Session, day: NaiveDate) -> Session {
    Session {
        catalogue: session.catalogue,
        path: session.path.clone(),
        day,
        entered_at: session.entered_at.clone(),
        clock: session.clock,
        opened: Opened::default(),
        work: session.work.clone(),
    }
}

/// The book as it stands on a day.
///
/// # Errors
/// If it cannot be read, or contradicts itself.
pub fn book_on(writing: &Writing<'_>, day: NaiveDate) -> Result<Book, Problem> {
    book(&writing.bench()?, day).map_err(|found| {
        Problem::data(format!("the book of baths contradicts itself: {found}"))
            .hint("keep the file as it is; take the entry back with `brimstock bathe withdraw`")
    })
}

/// Enters a row, if the whole book still makes sense with it, and gives its number.
///
/// # Errors
/// What it contradicts; then nothing may be kept of the transaction.
fn enter(
    session: &Session,
    writing: &Writing<'_>,
    day: NaiveDate,
    what: &Happened,
    written: &str,
) -> Result<i64, Problem> {
    let mut rows = writing.bench()?;
    let id = writing.enter(day, what, written, &session.entered_at)?;
    let entered_at = session.entered_at.clone();
    rows.push(Row { id, day, entered_at, written: written.to_owned(), what: what.clone() });
    book(&rows, NaiveDate::MAX).map_err(|found| refuse::refused(&found, id))?;
    Ok(id)
}

/// The bath that a number or a lot names: of a lot its last one.
fn bath_named<'a>(book: &'a Book, word: &str) -> Result<&'a BathOf, Problem> {
    let word = word.trim();
    if let Ok(row) = word.parse::<i64>() {
        return book.bath(row).ok_or_else(|| {
            Problem::question(format!("there is no bath {row}"))
                .hint("`brimstock bathe list` tells their numbers; a lot's name will do as well")
        });
    }
    let lot = refuse::lot(book, word)?;
    let last = lot.loads.last().and_then(|load| book.bath(load.bath));
    last.ok_or_else(|| Problem::question(format!("the lot {word} was in no bath by that day")))
}

/// A dip as it was in a version; nothing where that is not known here.
///
/// # Errors
/// If the register cannot be read, or what it holds of it is damaged.
pub fn dip_version(session: &Session, writing: &Writing<'_>, key: &str, version: u32) -> Result<Option<Dip>, Problem> {
    if let Some(dip) = session.catalogue.dip(key).filter(|dip| dip.version == version) {
        return Ok(Some(dip.clone()));
    }
    own_dips::version(session, &writing.dip_versions()?, key, version)
}
