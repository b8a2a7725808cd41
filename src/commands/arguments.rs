//! How words of the command line become dates, reagents, dips, stocks and places, or a helpful refusal.

use std::fmt::Display;
use std::ops::RangeInclusive;
use std::str::FromStr;

use chrono::NaiveDate;

use super::{Problem, Session};
use crate::catalogue::{Catalogue, Dip, Form, Reagent};
use crate::disposal::quench::mistaken;
use crate::register::measure::Owned;
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::register::{StoreError, Writing};
use crate::units::measure::Kitchen;
use crate::units::show;

/// Reads a day, `YYYY-MM-DD`.
///
/// # Errors
/// What is wrong with it, for clap to show.
pub fn day(text: &str) -> Result<NaiveDate, String> {
    let parts: Vec<&str> = text.split('-').collect();
    let shape = parts.len() == 3
        && [4, 2, 2]
            .iter()
            .zip(&parts)
            .all(|(length, part)| part.len() == *length && part.chars().all(|c| c.is_ascii_digit()));
    if !shape {
        return Err(format!("`{text}` is no day; write YYYY-MM-DD, as 2031-03-03"));
    }
    let day: NaiveDate = text.parse().map_err(|_| format!("{text} is no day of the calendar"))?;
    let years = NaiveDate::from_ymd_opt(1900, 1, 1).zip(NaiveDate::from_ymd_opt(2200, 12, 31));
    match years {
        Some((first, last)) if day < first || day > last => Err(format!("{text} is outside the years 1900 to 2200")),
        _ => Ok(day),
    }
}

/// Reads a reason: some words, not too many to print.
///
/// # Errors
/// What is wrong with it, for clap to show.
pub fn reason(text: &str) -> Result<String, String> {
    let text = text.trim();
    match text.chars().count() {
        0 => Err("is empty; say why in a few words, the journal keeps it".to_owned()),
        1..=200 if !text.chars().any(char::is_control) => Ok(text.to_owned()),
        _ => Err("is no reason of one line; accepted: 1 to 200 characters".to_owned()),
    }
}

/// A reader of whole numbers from one to another.
pub fn whole<N>(range: RangeInclusive<N>) -> impl Fn(&str) -> Result<N, String> + Clone
where
    N: FromStr + PartialOrd + Display + Clone,
{
    move |text: &str| {
        let found = text.trim().parse().ok().filter(|number| range.contains(number));
        let (low, high) = (range.start(), range.end());
        found.ok_or_else(|| format!("`{text}` does not fit; accepted: a whole number from {low} to {high}"))
    }
}

/// Splits a line at spaces, double quotes keeping words together, as a shell does.
#[must_use]
pub fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (index, part) in line.split('"').enumerate() {
        if index % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}

/// The day an event happened: as given, else the day of the question; never after it.
///
/// # Errors
/// For a day after the one the question is asked for.
pub fn event_day(session: &Session, given: Option<NaiveDate>) -> Result<NaiveDate, Problem> {
    let day = given.unwrap_or(session.day);
    if day > session.day {
        return Err(Problem::question(format!("--date {day} lies in the future: today is {}", session.day))
            .because("an event is something that has happened")
            .hint("enter it on the day, or say which day is today with --on YYYY-MM-DD"));
    }
    Ok(day)
}

/// The reagent that a word names.
///
/// # Errors
/// With the nearest names for an unknown word, with the choices for one that several reagents share.
pub fn reagent<'a>(catalogue: &'a Catalogue, word: &str) -> Result<&'a Reagent, Problem> {
    match &catalogue.reagents_called(word)[..] {
        [one] => Ok(one),
        [] => {
            // The nearest name of an acid must not be that of a salt which it frees gas from.
            if let Some(row) = mistaken(catalogue.reagents(), word) {
                return Err(Problem::question(format!("there is no reagent `{word}`: that is {}", row.name))
                    .because(row.difference.clone())
                    .hint("read the salt's name to its end; sulfite and sulfate are not the same"));
            }
            let names: Vec<&str> = catalogue
                .reagents()
                .filter(|reagent| !dry(word) || reagent.forms.contains(&Form::Solid))
                // An old name may say sulfite of what is none.
                .filter(|reagent| !differs_in_kind(word, &reagent.key))
                .flat_map(|reagent| std::iter::once(&reagent.key).chain(&reagent.also).map(String::as_str))
                .collect();
            let near = nearest(word, &names).map(|name| match &catalogue.reagents_called(name)[..] {
                [one] => one.key.clone(),
                // A name that several salts are sold under leads to none of them.
                _ => name.to_owned(),
            });
            Err(Problem::question(format!("there is no reagent `{word}`"))
                .hint(did_you_mean(near, "`brimstock reagents` lists them all")))
        }
        several => {
            let keys: Vec<String> = several.iter().map(|reagent| format!("`{}`", reagent.key)).collect();
            Err(Problem::question(format!("`{word}` is sold as several reagents: {}", keys.join(", ")))
                .because("they are different salts and are not interchangeable gram for gram")
                .hint("read the label and choose one; `brimstock reagents NAME` tells how they differ"))
        }
    }
}

/// The dip that a word names.
///
/// # Errors
/// With the nearest name for an unknown word.
pub fn dip<'a>(catalogue: &'a Catalogue, word: &str) -> Result<&'a Dip, Problem> {
    catalogue.dip(word).ok_or_else(|| {
        let names: Vec<&str> = catalogue.dips().iter().map(|dip| dip.key.as_str()).collect();
        let near = nearest(word, &names).map(str::to_owned);
        Problem::question(format!("there is no dip `{word}`"))
            .hint(did_you_mean(near, "`brimstock dips` lists them all"))
    })
}

/// The stock with a code.
///
/// # Errors
/// With the nearest code for an unknown one, or a [`StoreError`] as a problem.
pub fn stock(writing: &Writing<'_>, code: &str) -> Result<Stock, Problem> {
    match writing.stock_called(code)? {
        Some(stock) => Ok(stock),
        // What no index finds is looked for in all of them, so that a damaged one is noticed.
        None => among(&writing.stocks()?, code),
    }
}

/// The stocks with some codes, in that order.
///
/// # Errors
/// As [`stock`].
pub fn stocks(writing: &Writing<'_>, codes: &[String]) -> Result<Vec<Stock>, Problem> {
    let stocks = writing.stocks()?;
    codes.iter().map(|code| among(&stocks, code)).collect()
}

fn among(stocks: &[Stock], code: &str) -> Result<Stock, Problem> {
    if let Some(found) = stocks.iter().find(|stock| stock.code.eq_ignore_ascii_case(code)) {
        return Ok(found.clone());
    }
    let codes: Vec<&str> = stocks.iter().map(|stock| stock.code.as_str()).collect();
    let near = nearest(code, &codes).map(str::to_owned);
    Err(Problem::question(format!("there is no stock `{code}`"))
        .hint(did_you_mean(near, "`brimstock shelf` lists what stands there")))
}

/// The place with a name.
///
/// # Errors
/// With the nearest name for an unknown one.
pub fn place<'a>(places: &'a [Place], name: &str) -> Result<&'a Place, Problem> {
    if let Some(found) = places.iter().find(|place| place.name.eq_ignore_ascii_case(name)) {
        return Ok(found);
    }
    let names: Vec<&str> = places.iter().map(|place| place.name.as_str()).collect();
    let near = nearest(name, &names).map(str::to_owned);
    let otherwise = format!("enter it first: `brimstock place add {name} --temp 20 --light dark`");
    Err(Problem::question(format!("there is no place `{name}`")).hint(did_you_mean(near, &otherwise)))
}

/// The measure with a name.
///
/// # Errors
/// With the nearest name for an unknown one.
pub fn measure<'a>(measures: &'a [Owned], name: &str) -> Result<&'a Owned, Problem> {
    if let Some(found) = measures.iter().find(|owned| owned.described.name.eq_ignore_ascii_case(name)) {
        return Ok(found);
    }
    let names: Vec<&str> = measures.iter().map(|owned| owned.described.name.as_str()).collect();
    let near = nearest(name, &names).map(str::to_owned);
    Err(Problem::question(format!("there is no measure `{name}`"))
        .hint(did_you_mean(near, "`brimstock measure list` lists them; `brimstock measure add` enters one")))
}

/// The register's kitchen, if the keeper has told it one.
///
/// # Errors
/// [`StoreError`] if the register cannot be read.
pub fn kitchen(writing: &Writing<'_>) -> Result<Option<Kitchen>, StoreError> {
    Ok(writing.setting("kitchen")?.as_deref().and_then(Kitchen::called))
}

/// The keeper's threshold for `ready`.
///
/// # Errors
/// [`StoreError`] if the register cannot be read.
pub fn threshold(writing: &Writing<'_>) -> Result<f64, StoreError> {
    let stored = writing.setting("threshold")?.and_then(|text| text.parse().ok());
    Ok(stored.unwrap_or(crate::dip::USUAL_THRESHOLD))
}

/// Reads a temperature in °C: `21`, `21C`, `21 °C`, `-2.5`.
///
/// # Errors
/// What is wrong with it, for clap to show.
pub fn celsius(text: &str) -> Result<f64, String> {
    let number = text.trim().trim_end_matches(['C', 'c']).trim_end_matches('°').trim();
    match number.parse::<f64>() {
        Ok(value) if (-40.0..=70.0).contains(&value) => Ok(value),
        Ok(value) if value.is_finite() => {
            Err(format!("{} °C is no temperature of a store; accepted: -40 to 70 °C", show::plain(value)))
        }
        _ => Err(format!("`{text}` is no temperature; write °C as 21 or -2.5")),
    }
}

fn did_you_mean(near: Option<String>, otherwise: &str) -> String {
    match near {
        Some(name) => format!("did you mean `{name}`? {otherwise}"),
        None => otherwise.to_owned(),
    }
}

/// The name that is nearest to a word, if any is near enough to be meant: of those the most like it.
fn nearest<'a>(word: &str, names: &[&'a str]) -> Option<&'a str> {
    let word = word.to_lowercase();
    names
        .iter()
        .map(|name| (name.to_lowercase(), *name))
        .filter(|(plain, name)| is_near(&word, plain) && !differs_in_kind(&word, name))
        .map(|(plain, name)| (strsim::jaro_winkler(&word, &plain), name))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}

/// True if one of two words, in small letters, may have been meant by the other: no more than a third of the longer one's
/// letters are wrong, missing, too many or exchanged; or the word is the beginning of the name, or the whole name and something
/// apart from it, of at least three letters.
///
/// Source: `judgement`.
fn is_near(word: &str, name: &str) -> bool {
    let letters = |text: &str| text.chars().count();
    let begins = |longer: &str, shorter: &str, is_cut: fn(char) -> bool| {
        let rest = longer.strip_prefix(shorter).filter(|_| letters(shorter) >= 3);
        rest.is_some_and(|rest| rest.chars().next().is_none_or(is_cut))
    };
    3 * strsim::osa_distance(word, name) <= letters(word).max(letters(name))
        || begins(name, word, |_| true)
        // `saltpetre` is no salt of ours.
        || begins(word, name, |next| !next.is_alphanumeric())
}

/// True if a word speaks of something dry.
fn dry(word: &str) -> bool {
    word.to_lowercase().contains("powder")
}

/// True if the two are salts of different acids of sulfur: sulfite and sulfate, sulfate and thiosulfate, a letter or a
/// syllable apart, and not the same thing at all.
fn differs_in_kind(one: &str, other: &str) -> bool {
    let (one, other) = (SulfurSalt::named(one), SulfurSalt::named(other));
    let differ = |a: Option<&str>, b: Option<&str>| a.zip(b).is_some_and(|(a, b)| a != b);
    differ(one.ending, other.ending) || differ(one.begins, other.begins)
}

/// What a name tells of a salt of sulfur; nothing of what it does not tell, or spells in a way of its own.
#[derive(Default)]
struct SulfurSalt {
    /// `ite` or `ate`.
    ending: Option<&'static str>,
    /// `thio`, `per`, or `` for neither.
    begins: Option<&'static str>,
}

impl SulfurSalt {
    fn named(name: &str) -> SulfurSalt {
        let name = name.to_lowercase().replace("sulph", "sulf");
        let Some((before, after)) = name.split_once("sulf") else { return SulfurSalt::default() };
        let before = before.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or_default();
        let ending = ["it", "at"].into_iter().zip(["ite", "ate"]).find(|(stem, _)| after.starts_with(stem));
        let begins = match before {
            "" | "bi" | "di" | "meta" | "metabi" | "pyro" | "hydrogen" => Some(""),
            _ if before.ends_with("thio") => Some("thio"),
            _ if before.contains("perox") || (before.ends_with("per") && !before.ends_with("copper")) => Some("per"),
            _ => None,
        };
        SulfurSalt { ending: ending.map(|(_, ending)| ending), begins }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_near_up_to_a_third_of_its_letters() {
        // Letters that are to be changed, and those of the longer word, counted by hand.
        for (word, name, near) in [
            ("hpo", "hypo", true),          // 1 of 4
            ("alun", "alum", true),         // 1 of 4
            ("ten", "tin", true),           // 1 of 3, a third
            ("two", "tin", false),          // 2 of 3
            ("abcdef", "abxyef", true),     // 2 of 6, a third
            ("abcdef", "axyzef", false),    // 3 of 6
            ("tbps", "tbsp", true),         // two exchanged count as one
            ("foo", "formaldehyde", false), // 10 of 12
            ("per", "peroxide", true),      // its beginning, of three letters
            ("pe", "peroxide", false),      // of two
            ("bleach gel", "bleach", true), // the name and more
            ("saltpetre", "salt", false),   // another word
            ("ab c", "ab", false),          // of two letters, and 2 of 4
        ] {
            assert_eq!(is_near(word, name), near, "{word}, {name}");
        }
    }
}
