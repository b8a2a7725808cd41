//! `bathe withdraw`: an earlier entry was wrong.

use chrono::NaiveDate;
use clap::Args;

use super::{Noted, book_on, draw, enter};
use crate::commands::{Problem, Session, arguments};
use crate::dip::log::{Happened, Withdrawn};
use crate::units::show;

/// Take back an entry: it counts as if it had never been, and what it took from stocks is back
///
/// The entry itself stays in the book.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock bathe withdraw 3 --because \"that was the other tray\"")]
pub struct WithdrawArguments {
    /// The number of the entry
    #[arg(value_parser = arguments::whole(0_i64..=999_999_999))]
    pub row: i64,
    /// Why
    #[arg(long, value_parser = arguments::reason, value_name = "REASON")]
    pub because: String,
}

/// Enters it.
///
/// # Errors
/// For an entry that is not there, was withdrawn, is a withdrawal, or that others rest on.
pub fn run(session: &Session, given: &WithdrawArguments) -> Result<Noted, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        book_on(writing, NaiveDate::MAX)?;
        let what = Happened::Withdrawn(Withdrawn { row: given.row, why: given.because.clone() });
        let row = enter(session, writing, session.day, &what, "")?;
        let places = writing.places()?;
        let back = draw::take_back(session, writing, &places, given.row, &given.because)?;
        let back: Vec<String> = back
            .iter()
            .map(|draw| format!("{} back in {}", show::amount(draw.amount, &draw.unit), draw.stock))
            .collect();
        let back = if back.is_empty() { String::new() } else { format!("; {}", back.join(", ")) };
        Ok(Noted {
            row,
            kind: "withdrawn",
            day: session.day,
            lot: None,
            bath: None,
            permission: None,
            said: format!("entry {} counts no more{back}", given.row),
            warnings: Vec::new(),
            next: Some("enter what is right, with its own day and time".to_owned()),
        })
    })
}
