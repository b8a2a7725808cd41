//! Single cells of a list: numbers whose unit stands in the heading, words for conditions, containers and notes.

use clap::ValueEnum;

use super::header::Unit;
use crate::catalogue::{Cap, Condition, Container};
use crate::commands::event::Noticed;
use crate::units::measure::Kitchen;
use crate::units::parse::{self, Written};
use crate::units::strength::StrengthUnit;

/// What is accepted in a column of conditions.
pub const CONDITIONS: &str = "sealed, opened, made-up, made-up-tap, dirty";

/// What is accepted in a column of caps.
pub const CAPS: &str = "vented, tight";

/// What counts as empty.
#[must_use]
pub fn is_empty(cell: &str) -> bool {
    matches!(cell.trim(), "" | "-" | "–" | "—")
}

/// True if a number may be whole, with a point between its thousands: up to three figures, a point, and just three.
#[must_use]
pub fn may_be_thousands(cell: &str) -> bool {
    let number: &str = cell.trim().split(|c: char| c != '.' && !c.is_ascii_digit()).next().unwrap_or_default();
    number
        .split_once('.')
        .is_some_and(|(whole, places)| (1..=3).contains(&whole.len()) && !whole.starts_with('0') && places.len() == 3)
}

/// An amount or a strength with the unit of its heading, where the cell has none of its own.
///
/// # Errors
/// If the two contradict each other.
pub fn with_unit(cell: &str, unit: Option<&Unit>, kitchen: Option<Kitchen>) -> Result<String, String> {
    let Some(unit) = unit else { return Ok(cell.to_owned()) };
    match parse::number(cell) {
        Ok((_, rest)) if rest.trim().is_empty() => Ok(format!("{cell} {}", unit.text)),
        Ok((_, rest)) => {
            let own = rest.trim();
            let agrees = match unit.of {
                // A heading of per cent leaves open of what; the cell may say.
                Of::Strength if is_percent(&unit.text) => own.starts_with('%'),
                Of::Strength => {
                    let heading = StrengthUnit::called(&unit.text);
                    if is_percent(own) && heading.as_ref().is_some_and(|heading| heading.name.starts_with('%')) {
                        return Ok(format!("{} {}", cell.trim_end_matches(own).trim_end(), unit.text));
                    }
                    heading.is_some() && heading == StrengthUnit::called(own)
                }
                Of::Amount => match (parse::amount(&format!("1 {}", unit.text), kitchen), parse::amount(cell, kitchen))
                {
                    (Ok(heading), Ok(own)) => heading.unit == own.unit,
                    // What cannot be read at all is refused as that.
                    (_, Err(_)) => true,
                    (Err(_), Ok(_)) => false,
                },
            };
            if agrees { Ok(cell.to_owned()) } else { Err(format!("the heading says {}, the cell {own}", unit.text)) }
        }
        // What is no number is refused where it is read.
        Err(_) => Ok(cell.to_owned()),
    }
}

/// Whether a unit counts amounts or strengths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// An amount.
    Amount,
    /// A strength.
    Strength,
}

/// True if a text is the bare sign or word for per cent.
#[must_use]
pub fn is_percent(text: &str) -> bool {
    matches!(parse::strength(&format!("1 {text}"), None), Ok(Written::BarePercent(_)))
}

/// The condition that a word tells.
#[must_use]
pub fn condition(cell: &str) -> Option<Condition> {
    let word = plain(cell);
    match word.as_str() {
        "unopened" | "closed" | "new" => Some(Condition::Sealed),
        "open" => Some(Condition::Opened),
        _ => Condition::ALL.into_iter().find(|condition| condition.word() == word),
    }
}

/// The container that a word tells.
#[must_use]
pub fn container(cell: &str) -> Option<Container> {
    Container::called(&plain(cell))
}

/// The words for containers.
#[must_use]
pub fn containers() -> String {
    let words: Vec<&str> = Container::ALL.iter().map(|container| container.word()).collect();
    words.join(", ")
}

/// The cap that a word tells.
#[must_use]
pub fn cap(cell: &str) -> Option<Cap> {
    Cap::called(&plain(cell))
}

/// What a note says has been noticed, where it is one of the words of `note`; any other note is kept as words only.
#[must_use]
pub fn noticed(cell: &str) -> Option<Noticed> {
    let word = plain(cell);
    Noticed::value_variants().iter().copied().find(|noticed| plain(noticed.words()) == word)
}

/// The word of `note` that a longer note speaks of.
#[must_use]
pub fn speaks_of(cell: &str) -> Option<Noticed> {
    let note = format!("-{}-", plain(cell));
    Noticed::value_variants().iter().copied().find(|noticed| note.contains(&format!("-{}-", plain(noticed.words()))))
}

/// Lower case, with hyphens between the words.
fn plain(cell: &str) -> String {
    let words = cell.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-").to_lowercase()
}
