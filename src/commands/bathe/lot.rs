//! `bathe look`, `bathe release` and `bathe destroy`: what becomes of a lot.

use std::path::Path;

use chrono::NaiveDate;
use clap::Args;

use super::bring::quoted;
use super::{ByArguments, Noted, book_on, enter, looks, refuse, words};
use crate::commands::{Problem, Session, arguments};
use crate::dip::log::book::{Book, Lot};
use crate::dip::log::look::last_look;
use crate::dip::log::{Happened, Left, Looked, name};
use crate::register::Writing;

/// Enter what was seen when a lot was looked over
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock bathe look A1 --adults 0 --eggs 1\n  brimstock bathe look A1 --adults 2 --eggs 0 --damage 10% --photo a1-day7.jpg"
)]
pub struct LookArguments {
    /// The lot
    #[arg(value_parser = name::lot)]
    pub lot: String,
    /// Living snails and other animals that were seen
    #[arg(long, value_name = "NUMBER", value_parser = arguments::whole(0_u32..=999_999_999))]
    pub adults: u32,
    /// Egg masses that were seen
    #[arg(long, value_name = "NUMBER", value_parser = arguments::whole(0_u32..=999_999_999))]
    pub eggs: u32,
    /// Damaged leaves, per cent
    #[arg(long, value_parser = percent, value_name = "PERCENT")]
    pub damage: Option<f64>,
    /// A picture; its path is kept as it is given
    #[arg(long, value_parser = words, value_name = "PATH")]
    pub photo: Option<String>,
    /// What was seen, in your words
    #[arg(long, value_parser = words)]
    pub note: Option<String>,
    #[command(flatten)]
    pub by: ByArguments,
}

/// Enter that a lot left quarantine
///
/// Refused without a reason unless it was looked over late enough after its last bath, and nothing was seen.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock bathe release A1 --because \"day 21, nothing seen\"")]
pub struct ReleaseArguments {
    /// The lot
    #[arg(value_parser = name::lot)]
    pub lot: String,
    /// Why, or where it went
    #[arg(long, value_parser = arguments::reason, value_name = "REASON")]
    pub because: Option<String>,
    /// Why it leaves against a warning; the reason is kept
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    pub overrule: Option<String>,
    #[command(flatten)]
    pub by: ByArguments,
}

/// Enter that a lot was destroyed
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock bathe destroy A2 --because \"snails again\" --witness inspector")]
pub struct DestroyArguments {
    /// The lot
    #[arg(value_parser = name::lot)]
    pub lot: String,
    /// Why, and how
    #[arg(long, value_parser = arguments::reason, value_name = "REASON")]
    pub because: String,
    /// The role of whoever saw it
    #[arg(long, value_parser = name::who, value_name = "ROLE")]
    pub witness: Option<String>,
    #[command(flatten)]
    pub by: ByArguments,
}

fn percent(text: &str) -> Result<f64, String> {
    let number = text.trim().trim_end_matches('%').trim().parse::<f64>().ok();
    number
        .filter(|number| (0.0..=100.0).contains(number))
        .ok_or_else(|| format!("`{text}` is no share; accepted: 0 to 100 %, as 10%"))
}

/// Enters a look.
///
/// # Errors
/// For a lot that was never in a bath, had not been by that day, or has left.
pub fn look(session: &Session, given: &LookArguments) -> Result<Noted, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        let book = book_on(writing, NaiveDate::MAX)?;
        let lot = refuse::lot(&book, &given.lot)?;
        let day = given.by.day(session)?;
        let mut warnings = Vec::new();
        if let Some(photo) = given.photo.as_ref().filter(|photo| !Path::new(photo.as_str()).is_file()) {
            warnings.push(format!("no picture is there yet at {photo}"));
        }
        let what = Looked {
            lot: lot.name.clone(),
            adults: given.adults,
            eggs: given.eggs,
            damage_percent: given.damage,
            photo: given.photo.clone(),
            note: given.note.clone(),
            who: given.by.who.clone(),
        };
        let row = enter(session, writing, day, &Happened::Looked(what), "")?;
        let said = format!("{} looked over: adults {}, egg masses {}", lot.name, given.adults, given.eggs);
        let clear = given.adults == 0 && given.eggs == 0;
        let after = book_on(writing, day)?;
        Ok(Noted {
            row,
            kind: "looked",
            day,
            lot: Some(lot.name.clone()),
            bath: None,
            permission: None,
            said,
            warnings,
            next: Some(next(session, writing, &after, &lot.name, day, clear)?),
        })
    })
}

/// What comes after a look.
fn next(
    session: &Session,
    writing: &Writing<'_>,
    book: &Book,
    name: &str,
    day: NaiveDate,
    clear: bool,
) -> Result<String, Problem> {
    let quoted = quoted(name);
    if !clear {
        let again = format!("dip it again, or `brimstock bathe destroy {quoted} --because …`; keep it apart meanwhile");
        return Ok(again);
    }
    let days = book.lot(name).map(|lot| looks::days(session, writing, lot)).transpose()?.unwrap_or_default();
    Ok(match days.iter().find(|look| look.day > day) {
        Some(look) => {
            format!("look again on {}, day {}: eggs hatch late, in the cold later still", look.day, look.after)
        }
        None => format!(
            "nothing was seen, which proves nothing; `brimstock bathe release {quoted}` if that is enough for you"
        ),
    })
}

/// Enters that a lot left.
///
/// # Errors
/// For a lot that is in a bath, has left, or was not looked over late enough with nothing seen, unless that is overruled.
pub fn release(session: &Session, given: &ReleaseArguments) -> Result<Noted, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        let day = given.by.day(session)?;
        let book = book_on(writing, day)?;
        let lot = refuse::lot(&book, &given.lot)?;
        let doubts = if lot.left.is_some() || lot.running().is_some() { Vec::new() } else { doubts(session, lot) };
        if let (false, None) = (doubts.is_empty(), &given.overrule) {
            return Err(Problem::refused(format!("{} is not to be released yet: {}", lot.name, doubts.join("; ")))
                .because("eggs that were missed hatch after the bath")
                .hint("look it over and enter it: `brimstock bathe look`; or --overrule \"why\""));
        }
        let note = given.because.clone();
        let (who, overruled) = (given.by.who.clone(), given.overrule.clone());
        let what = Left { lot: lot.name.clone(), note, who, overruled, witness: None };
        let row = enter(session, writing, day, &Happened::Released(what), "")?;
        Ok(Noted {
            row,
            kind: "released",
            day,
            lot: Some(lot.name.clone()),
            bath: None,
            permission: None,
            said: format!("{} released", lot.name),
            warnings: doubts.into_iter().map(|doubt| format!("overruled: {doubt}")).collect(),
            next: None,
        })
    })
}

/// Why a lot is not to leave yet.
fn doubts(session: &Session, lot: &Lot) -> Vec<String> {
    let longest = i64::from(session.catalogue.hatching().longest());
    let Some(bathed) = lot.last_bath() else { return Vec::new() };
    let Some(look) = last_look(lot) else { return vec!["it was not looked over since its last bath".to_owned()] };
    let mut doubts = Vec::new();
    if !look.is_clear() {
        let (adults, eggs) = (look.what.adults, look.what.eggs);
        doubts.push(format!("the last look, of {}, found adults {adults}, egg masses {eggs}", look.day));
    }
    let days = (look.day - bathed).num_days();
    if days < longest {
        doubts.push(format!(
            "the last look was on day {days} after the bath, and eggs were found to hatch until day {longest} in warm water"
        ));
    }
    doubts
}

/// Enters that a lot was destroyed.
///
/// # Errors
/// For a lot that was never in a bath, is in one, or has left.
pub fn destroy(session: &Session, given: &DestroyArguments) -> Result<Noted, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        let day = given.by.day(session)?;
        let book = book_on(writing, NaiveDate::MAX)?;
        let lot = refuse::lot(&book, &given.lot)?;
        let (note, who, witness) = (Some(given.because.clone()), given.by.who.clone(), given.witness.clone());
        let what = Left { lot: lot.name.clone(), note, who, overruled: None, witness };
        let row = enter(session, writing, day, &Happened::Destroyed(what), "")?;
        let seen = given.witness.as_ref().map_or(String::new(), |witness| format!(", seen by {witness}"));
        Ok(Noted {
            row,
            kind: "destroyed",
            day,
            lot: Some(lot.name.clone()),
            bath: None,
            permission: None,
            said: format!("{} destroyed: {}{seen}", lot.name, given.because),
            warnings: Vec::new(),
            next: None,
        })
    })
}
