//! What a bath or its end takes from the stocks: into their journals, in the same transaction.

use chrono::NaiveDate;

use crate::catalogue::Reagent;
use crate::commands::event::amount_of;
use crate::commands::receive::append;
use crate::commands::sight::Sight;
use crate::commands::{Problem, Session, arguments};
use crate::register::Writing;
use crate::register::checkpoint::Journal;
use crate::register::event::{Entry, Event, What};
use crate::register::place::Place;

/// What was taken from one stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Draw {
    /// Its code.
    pub stock: String,
    /// How much.
    pub amount: f64,
    /// `g` or `mL`.
    pub unit: String,
    /// How much is left on the day it was taken.
    pub left: f64,
}

/// Reads `S06 307mL`: a stock, and what was taken from it.
///
/// # Errors
/// What is wrong with it, for clap to show.
pub fn drew(text: &str) -> Result<(String, String), String> {
    let pair = text.trim().split_once(char::is_whitespace);
    let pair = pair.map(|(stock, amount)| (stock.trim().to_owned(), amount.trim().to_owned()));
    pair.filter(|(_, amount)| !amount.is_empty())
        .ok_or_else(|| format!("`{text}` is no stock and amount; accepted: \"HP-1 307mL\""))
}

/// What was really taken, each amount in its stock's own unit; every stock must hold the reagent.
///
/// # Errors
/// For an unknown stock, one of another reagent, one that was not there on that day, and an amount that cannot be read.
pub fn taken(
    session: &Session,
    writing: &Writing<'_>,
    places: &[Place],
    reagent: &Reagent,
    given: &[(String, String)],
) -> Result<Vec<(String, f64)>, Problem> {
    let mut taken: Vec<(String, f64)> = Vec::new();
    for (code, text) in given {
        let sight = Sight::on_shelf(session, writing, places, code)?;
        if sight.stock.reagent != reagent.key {
            return Err(Problem::question(format!(
                "`{}` is {}, and this takes {}",
                sight.stock.code, sight.stock.reagent, reagent.key
            ))
            .because("one reagent is never put in the place of another")
            .hint("read the code on the bottle again; what was used by mistake is entered with `brimstock take`"));
        }
        if taken.iter().any(|(other, _)| *other == sight.stock.code) {
            return Err(Problem::question(format!("`{}` stands twice in --drew", sight.stock.code))
                .hint("add the two amounts up"));
        }
        let (amount, _) = amount_of(session, &sight, writing, text)?;
        taken.push((sight.stock.code.clone(), amount));
    }
    Ok(taken)
}

/// Enters that something was taken from a stock, and by which row of the book.
///
/// # Errors
/// For more than was left on that day, and a stock that was not there.
pub fn enter(
    session: &Session,
    writing: &Writing<'_>,
    places: &[Place],
    row: i64,
    day: NaiveDate,
    (code, amount): (&str, f64),
) -> Result<Draw, Problem> {
    let stock = arguments::stock(writing, code)?;
    let journal = writing.journal(&stock, places, day)?;
    let entry = Entry {
        id: 0,
        number: journal.lines() + 1,
        day,
        entered_at: session.entered_at.clone(),
        written: format!("for entry {row} of the book of baths"),
        what: What::Event(Event::Taken { amount }),
    };
    let event = append(writing, &stock, places, journal, entry)?;
    writing.link_draw(row, event)?;
    let then = super::on(session, day);
    let after = Sight::of_shelf(&then, writing, places, stock)?;
    Ok(Draw { stock: code.to_owned(), amount, unit: after.state.unit.clone(), left: after.state.left })
}

/// Takes back what a row took: its lines in the journals never happened. Gives what is back.
///
/// # Errors
/// If a journal would contradict itself then.
pub fn take_back(
    session: &Session,
    writing: &Writing<'_>,
    places: &[Place],
    row: i64,
    why: &str,
) -> Result<Vec<Draw>, Problem> {
    let stocks = writing.stocks()?;
    let mut back = Vec::new();
    for (stock, event) in writing.draws(row)? {
        let stock = stocks.iter().find(|other| other.id == stock);
        let stock = stock.ok_or_else(|| Problem::data(format!("entry {row} took from a stock that is not there")))?;
        let entries = writing.entries(stock, places)?;
        let Some(line) = entries.iter().find(|entry| entry.id == event) else { continue };
        let last = entries.iter().rev().find_map(|entry| match &entry.what {
            What::Correction { of, instead, .. } if *of == line.number => Some(instead.clone().map(|(_, event)| event)),
            _ => None,
        });
        let counted = match (last, &line.what) {
            (Some(corrected), _) => corrected,
            (None, What::Event(event)) => Some(event.clone()),
            (None, What::Correction { .. }) => None,
        };
        // A line that was taken back by hand is taken back.
        let Some(Event::Taken { amount }) = counted else { continue };
        let entry = Entry {
            id: 0,
            number: entries.len() + 1,
            day: session.day,
            entered_at: session.entered_at.clone(),
            written: String::new(),
            what: What::Correction {
                of: line.number,
                instead: None,
                why: format!("entry {row} of the book of baths was withdrawn: {why}"),
            },
        };
        append(writing, stock, places, Journal::whole(entries), entry)?;
        let after = Sight::of_shelf(session, writing, places, stock.clone())?;
        let (unit, left) = (after.state.unit.clone(), after.state.left);
        back.push(Draw { stock: stock.code.clone(), amount, unit, left });
    }
    Ok(back)
}
