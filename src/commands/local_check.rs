//! `local check`: what would be printed as a ruled line to fill in by hand, and which answers want asking again.

use chrono::NaiveDate;

use super::local::{file, read, unanswered};
use super::{Problem, Session};
use crate::disposal::local::{Asked, Local};

/// How far the local rules are filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// The file.
    pub file: String,
    /// True if there is one.
    pub there: bool,
    /// The day of the question.
    pub on: NaiveDate,
    /// What is printed as a ruled line: the key, and what belongs on the line.
    pub by_hand: Vec<(String, String)>,
    /// The answers that want to be asked for again: the row, and who was asked.
    pub ask_again: Vec<(String, Asked)>,
}

/// Looks the local rules through.
///
/// # Errors
/// Every fault of the file at once, and a file that cannot be read.
pub fn run(session: &Session) -> Result<Filled, Problem> {
    let read = read(session)?;
    let there = read.is_some();
    let local = read.unwrap_or_default();
    let rows = rows(&local);
    Ok(Filled {
        file: file(session).display().to_string(),
        there,
        on: session.day,
        by_hand: by_hand(session, &local, &rows),
        ask_again: rows
            .into_iter()
            .filter(|(_, asked)| asked.wants_asking_again(session.day))
            .map(|(row, asked)| (row, asked.clone()))
            .collect(),
    })
}

fn by_hand(session: &Session, local: &Local, rows: &[(String, &Asked)]) -> Vec<(String, String)> {
    // Without a jurisdiction the lists of all are printed: no line is left open for it.
    let silent = unanswered(session, local).into_iter().filter(|silent| silent.key != "jurisdiction");
    let mut lines: Vec<(String, String)> = silent.map(|silent| (silent.key.to_owned(), silent.what)).collect();
    let mut line = |key: String, what: String| lines.push((key, what));
    if local.print.keeper.is_none() {
        line("print.keeper".to_owned(), "the role or the initials of whoever answers for the shelf".to_owned());
    }
    for (number, taker) in local.takers.iter().enumerate() {
        let key = format!("takes[{}]", number + 1);
        if taker.days.is_none() {
            line(format!("{key}.days"), format!("on which days {} takes it", taker.who));
        }
        if taker.phone.is_none() {
            line(format!("{key}.phone"), format!("the number of {}", taker.who));
        }
    }
    for (key, asked) in rows.iter().filter(|(_, asked)| asked.reference.is_none()) {
        let what = format!("the letter or permission of {}, or that they only said it", asked.whom);
        line(format!("{key}.reference"), what);
    }
    lines
}

/// Every row with who was asked, numbered as in the file.
pub(super) fn rows(local: &Local) -> Vec<(String, &Asked)> {
    fn of<'a>(key: &'a str, asked: impl Iterator<Item = &'a Asked>) -> impl Iterator<Item = (String, &'a Asked)> {
        asked.enumerate().map(move |(number, asked)| (format!("{key}[{}]", number + 1), asked))
    }
    of("store", local.stores.iter().map(|row| &row.asked))
        .chain(of("strength", local.strengths.iter().map(|row| &row.asked)))
        .chain(of("drain", local.drains.iter().map(|row| &row.asked)))
        .chain(of("takes", local.takers.iter().map(|row| &row.asked)))
        .collect()
}
