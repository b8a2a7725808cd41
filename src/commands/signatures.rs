//! `dips sign` and `dips signed`: who has read which version of a dip.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use clap::Args;

use super::{Problem, Session, arguments, own_dips};
use crate::catalogue::Dip;
use crate::register::Writing;
use crate::register::dip_book::Signature;

/// This many figures are a telephone number rather than a role.
const TELEPHONE: usize = 5;

/// Enter that somebody has read a dip, in the version in force
///
/// Whoever is to work with it reads the page of the dip first: `brimstock dips DIP`. A role or initials, nothing that
/// reaches a person.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock dips sign bleach-fine-leaved --who \"bench helper\"")]
pub struct Sign {
    /// The dip
    pub dip: String,
    /// Role or initials
    #[arg(long, value_parser = role)]
    pub who: String,
    /// The day it was read [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// List who has read which version, and who must read again
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  brimstock dips signed\n  brimstock dips signed bleach-fine-leaved")]
pub struct Signed {
    /// One dip [default: all]
    pub dip: Option<String>,
}

/// Who has read what.
#[derive(Debug, Clone, PartialEq)]
pub struct Readers {
    /// What was entered, if something was.
    pub said: Option<String>,
    /// The day.
    pub on: NaiveDate,
    /// The signatures, in the order of entry.
    pub lines: Vec<Line>,
}

/// One signature, and how it stands to the version in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// As it was entered.
    pub signature: Signature,
    /// The version in force on the day of the question.
    pub in_force: u32,
    /// True if whoever signed has read no version as late as that.
    pub again: bool,
}

/// Reads a role or initials: nothing that reaches a person.
///
/// # Errors
/// What is wrong with it, for clap to show.
pub fn role(text: &str) -> Result<String, String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let text = words.join(" ");
    let figures = text.chars().filter(char::is_ascii_digit).count();
    if text.contains('@') || figures >= TELEPHONE {
        return Err(format!("`{text}` looks like an address or a number; no contact data here: a role or initials"));
    }
    let good = (1..=30).contains(&text.chars().count())
        && words.len() <= 3
        && !text.chars().any(|c| c.is_control() || c == '"' || c == '`');
    if good && text.chars().any(char::is_alphabetic) {
        Ok(text)
    } else {
        Err("is no role; accepted: a role or initials, 1 to 30 characters, at most three words".to_owned())
    }
}

/// Enters a signature.
///
/// # Errors
/// For an unknown dip, a day on which it was not there or that is still to come, and a version signed already.
pub fn sign(session: &Session, arguments: &Sign) -> Result<Readers, Problem> {
    let dip = arguments::dip(session.catalogue, &arguments.dip)?;
    let day = arguments::event_day(session, arguments.date)?;
    session.register()?.write(|writing| {
        let read = own_dips::on(session, &writing.dip_versions()?, dip, day)?;
        let who = &arguments.who;
        let signatures = writing.signatures()?;
        let same = |old: &&Signature| is_of(old, who, &read.key) && old.version == read.version;
        if let Some(old) = signatures.iter().find(same) {
            return Err(Problem::question(format!(
                "`{}` has signed version {} of `{}` already, on {}",
                old.who, old.version, old.dip, old.day
            ))
            .because("once is enough; nothing was written")
            .hint(format!("`brimstock dips signed {}` lists who has read it", read.key)));
        }
        let new = Signature { who: who.clone(), dip: read.key.clone(), version: read.version, day };
        writing.sign(&new, &session.entered_at)?;
        let said = format!("{who} has read version {} of `{}`, {day}", read.version, read.key);
        readers(session, &writing.signatures()?, Some(&read.key), Some(said))
    })
}

/// Lists the signatures.
///
/// # Errors
/// For an unknown dip, and a register that cannot be read.
pub fn signed(session: &Session, arguments: &Signed) -> Result<Readers, Problem> {
    let dip = arguments.dip.as_ref().map(|word| arguments::dip(session.catalogue, word)).transpose()?;
    let mut register = session.register()?;
    register.read(|reading| readers(session, &reading.signatures()?, dip.map(|dip| dip.key.as_str()), None))
}

fn readers(
    session: &Session,
    signatures: &[Signature],
    only: Option<&str>,
    said: Option<String>,
) -> Result<Readers, Problem> {
    let known = |signature: &&Signature| signature.day <= session.day && only.is_none_or(|key| signature.dip == key);
    let signatures: Vec<&Signature> = signatures.iter().filter(known).collect();
    let mut lines = Vec::new();
    for signature in &signatures {
        let in_force = arguments::dip(session.catalogue, &signature.dip)?.version;
        let newer = |other: &&&Signature| is_of(other, &signature.who, &signature.dip) && other.version >= in_force;
        let again = !signatures.iter().any(|other| newer(&other));
        lines.push(Line { signature: (*signature).clone(), in_force, again });
    }
    Ok(Readers { said, on: session.day, lines })
}

/// Who has signed an earlier version of a dip and not the one in force, each with the dip and that version.
///
/// # Errors
/// For a register that cannot be read, and a signed dip that this program does not know.
pub fn to_sign_again(session: &Session, reading: &Writing<'_>) -> Result<BTreeSet<(String, String, u32)>, Problem> {
    let readers = readers(session, &reading.signatures()?, None, None)?;
    let again = readers.lines.into_iter().filter(|line| line.again);
    Ok(again.map(|line| (line.signature.who, line.signature.dip, line.in_force)).collect())
}

fn is_of(signature: &Signature, who: &str, dip: &str) -> bool {
    signature.dip == dip && signature.who.eq_ignore_ascii_case(who)
}

/// What is to be said to somebody who starts a bath of a dip and has not signed its version up to a day; nothing where it is
/// signed.
///
/// # Errors
/// For a register that cannot be read.
pub fn unsigned(reading: &Writing<'_>, who: &str, dip: &Dip, day: NaiveDate) -> Result<Option<String>, Problem> {
    let who = who.trim();
    let signatures = reading.signatures()?;
    let own = signatures.iter().filter(|signature| is_of(signature, who, &dip.key) && signature.day <= day);
    let latest = own.map(|signature| signature.version).max();
    let (key, version) = (&dip.key, dip.version);
    let then = format!("read `brimstock dips {key}`, then `brimstock dips sign {key} --who \"{who}\"`");
    Ok(match latest {
        Some(signed) if signed >= version => None,
        Some(signed) => Some(format!("{who} has signed version {signed} of `{key}`, not version {version}: {then}")),
        None => Some(format!("{who} has not signed `{key}` (version {version}): {then}")),
    })
}
