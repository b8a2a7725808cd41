//! `bathe stop`: a load comes out.

use chrono::{NaiveDateTime, TimeDelta};
use clap::Args;

use super::{TimeArguments, book_on, dip_version, enter, refuse, words};
use crate::catalogue::Bathed;
use crate::commands::{Problem, Session};
use crate::dip::log::countdown::{Kept, Span};
use crate::dip::log::{Happened, name};

/// Enter that a lot came out of its bath; an overrun is told
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock bathe stop A1\n  brimstock bathe stop A1 --after 175s\n  brimstock bathe stop A1 --at 14:10:30 --note \"leaves pale\""
)]
pub struct StopArguments {
    /// The lot
    #[arg(value_parser = name::lot)]
    pub lot: String,
    /// How long after it went in: 175s, 8min, 2h, 1d
    #[arg(long, value_parser = lasting, conflicts_with_all = ["at", "date"], value_name = "TIME")]
    pub after: Option<i64>,
    /// What was seen
    #[arg(long, value_parser = words)]
    pub note: Option<String>,
    #[command(flatten)]
    pub time: TimeArguments,
}

/// Reads a time in seconds: `175s`, `2.5 min`, `3h`, `2d`.
fn lasting(text: &str) -> Result<i64, String> {
    let text = text.trim();
    let unit = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
    let seconds = match text[unit..].trim() {
        "s" | "sec" | "seconds" => 1.0,
        "min" | "minutes" | "m" => 60.0,
        "h" | "hours" => 3600.0,
        "d" | "days" => 86_400.0,
        _ => return Err(format!("`{text}` is no time; accepted: 175s, 8min, 2h, 1d")),
    };
    let number = text[..unit].trim().parse::<f64>().ok().map(|number| libm::round(number * seconds));
    match number {
        #[allow(clippy::cast_possible_truncation, reason = "ten years of seconds")]
        Some(whole) if (0.0..=315_576_000.0).contains(&whole) => Ok(whole as i64),
        _ => Err(format!("`{text}` is no time; accepted: 175s, 8min, 2h, 1d, up to ten years")),
    }
}

/// A load that came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Stopped {
    /// Its row.
    pub row: i64,
    /// The lot.
    pub lot: String,
    /// The bath's row.
    pub bath: i64,
    /// Key of the dip.
    pub dip: String,
    /// Which version of it.
    pub version: u32,
    /// When it came out.
    pub at: NaiveDateTime,
    /// How long it was in, s.
    pub seconds: i64,
    /// How long it was to be in; nothing where that version is not known here.
    pub span: Option<Span>,
    /// Lots that are still in the bath.
    pub still_in: Vec<String>,
    /// What is done now, in order.
    pub then: Vec<String>,
}

impl Stopped {
    /// How the time lies to what the dip says.
    #[must_use]
    pub fn kept(&self) -> Option<Kept> {
        self.span.map(|span| span.kept(self.seconds))
    }
}

/// Enters it.
///
/// # Errors
/// For a lot that is in no bath, and a time that cannot be.
pub fn run(session: &Session, given: &StopArguments) -> Result<Stopped, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        let book = book_on(writing, chrono::NaiveDate::MAX)?;
        let lot = refuse::lot(&book, &given.lot)?;
        let load = lot.running().ok_or_else(|| refuse::in_no_bath(lot))?;
        let at = match given.after {
            Some(seconds) => load.load.at + TimeDelta::seconds(seconds),
            None => given.time.moment(session)?,
        };
        let is_today = session.day == session.clock.date();
        if at.date() > session.day || (is_today && at > session.clock) {
            return Err(Problem::question("that time lies in the future")
                .because(format!("it went in on {}", crate::dip::log::disagreement::time(load.load.at)))
                .hint("enter it when it has happened"));
        }
        let what = Happened::Stopped(crate::dip::log::Stopped {
            lot: lot.name.clone(),
            load: load.row,
            at,
            note: given.note.clone(),
        });
        let row = enter(session, writing, at.date(), &what, "")?;
        let dip = dip_version(session, writing, &load.dip, load.version)?;
        let still_in: Vec<String> = book
            .bath(load.bath)
            .into_iter()
            .flat_map(|bath| bath.running())
            .filter(|other| other.row != load.row)
            .map(|other| other.load.lot.clone())
            .collect();
        let mut then = Vec::new();
        if dip.as_ref().is_none_or(|dip| dip.bathed == Bathed::Plants) {
            then.push("rinse the plants in clean water now".to_owned());
        }
        if still_in.is_empty() {
            then.push(match dip.as_ref().is_some_and(|dip| dip.stop.is_some()) {
                true => format!("after the last load end the bath: `brimstock bathe quench {} --reading …`", load.bath),
                false => format!("after the last load: `brimstock bathe drain {} --into …`", load.bath),
            });
        }
        Ok(Stopped {
            row,
            lot: lot.name.clone(),
            bath: load.bath,
            dip: load.dip.clone(),
            version: load.version,
            at,
            seconds: (at - load.load.at).num_seconds(),
            span: dip.map(|dip| Span::minutes(dip.minutes.low, dip.minutes.high)),
            still_in,
            then,
        })
    })
}
