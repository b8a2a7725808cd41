//! Reads days as people write them in a list: `2031-03-01`, `1 March 2031`, `March 1, 2031`, `25/03/2031`.
//!
//! A day that could be another one is never guessed: [`read`] gives both, and whoever asks must be told the order.

use chrono::{Datelike, NaiveDate, Weekday};

use super::parse::Unreadable;

/// The years that a day may lie in, as everywhere in this program. Source: `judgement`.
const YEARS: std::ops::RangeInclusive<i32> = 1900..=2200;

/// What is accepted.
const ACCEPTED: &str = "2031-03-01 (year, month, day), or the month as a word: 1 March 2031; four figures for the year";

/// The months in English, and the beginnings that stand for them.
const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// The order in which the numbers of a day stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// `25/03/2031`.
    DayFirst,
    /// `03/25/2031`.
    MonthFirst,
    /// `2031/03/25`.
    YearFirst,
}

impl Order {
    /// Every order with its word.
    pub const ALL: [(Order, &'static str); 3] =
        [(Order::DayFirst, "day-first"), (Order::MonthFirst, "month-first"), (Order::YearFirst, "year-first")];

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(order, _)| *order == self).map_or("", |(_, word)| word)
    }

    /// The order with this word.
    #[must_use]
    pub fn called(word: &str) -> Option<Order> {
        Self::ALL.iter().find(|(_, name)| *name == word).map(|(order, _)| *order)
    }

    /// The order that a pattern shows: `dd/mm/yyyy` is day first.
    #[must_use]
    pub fn of_pattern(pattern: &str) -> Option<Order> {
        let mut parts: Vec<(char, usize)> = Vec::new();
        let mut before = ' ';
        for c in pattern.trim().to_lowercase().chars() {
            match (c, parts.last_mut()) {
                ('d' | 'm' | 'y', Some((_, count))) if before == c => *count += 1,
                ('d' | 'm' | 'y', _) => parts.push((c, 1)),
                ('/' | '-' | '.' | ' ', Some(_)) => {}
                _ => return None,
            }
            before = c;
        }
        match parts[..] {
            [('d', 1 | 2), ('m', 1 | 2), ('y', 1..=4)] => Some(Order::DayFirst),
            [('m', 1 | 2), ('d', 1 | 2), ('y', 1..=4)] => Some(Order::MonthFirst),
            [('y', 1..=4), ('m', 1 | 2), ('d', 1 | 2)] => Some(Order::YearFirst),
            _ => None,
        }
    }
}

/// What a text says of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// One day.
    Day {
        /// The day.
        day: NaiveDate,
        /// The only order in which its numbers make a day, where another was thinkable.
        only: Option<Order>,
    },
    /// One of two: only the order can tell.
    Either {
        /// With the day first.
        day_first: NaiveDate,
        /// With the month first.
        month_first: NaiveDate,
    },
}

/// Reads a day.
///
/// `2031-03-01` and `20310301` are the calendar dates of ISO 8601-1:2019, 5.2.2.1 (`memory`), a time behind them is read and
/// left. A year of four figures that stands first is followed by the month. With a month in words the order does not matter.
/// Numbers with the year last are read by `order`; without it `25/03/2031` and `03/25/2031` can only be one day, `03/03/2031`
/// is the same either way, and `3/4/2031` may be 3 April or 4 March, whatever stands between the numbers.
///
/// # Errors
/// [`Unreadable`] for any other shape, a year of two figures, a day that no calendar has or that lies outside 1900 to 2200, a
/// weekday that is another, and numbers that do not fit the order.
pub fn read(text: &str, order: Option<Order>) -> Result<Told, Unreadable> {
    let because =
        |why: String| Unreadable { text: text.trim().to_owned(), what: "a day", why, accepted: ACCEPTED.to_owned() };
    let date = without_time(text.trim()).map_err(because)?;
    let (weekday, parts) = parts(date).map_err(because)?;
    let told = match parts[..] {
        [] => return Err(because("it is empty".to_owned())),
        [Part::Number(digits)] if digits.len() == 8 => {
            whole(&digits[..4], &digits[4..6], &digits[6..]).map_err(because)?
        }
        [Part::Number(digits)] if digits.len() == 5 => {
            return Err(because(
                "it looks like a spreadsheet's count of days; show the column as dates, then save".to_owned(),
            ));
        }
        [Part::Month(_), Part::Number(_)] | [Part::Number(_), Part::Month(_)] => {
            return Err(because("it names no day of the month".to_owned()));
        }
        [Part::Month(month), Part::Number(one), Part::Number(other)]
        | [Part::Number(one), Part::Month(month), Part::Number(other)]
        | [Part::Number(one), Part::Number(other), Part::Month(month)] => {
            let (year, day) = match (one.len(), other.len()) {
                (4, 1 | 2) => (one, other),
                (1 | 2, 4) => (other, one),
                (1 | 2, 1 | 2) => return Err(because(two_figures(other))),
                _ => return Err(because("a day, a month and a year of four figures were expected".to_owned())),
            };
            whole(year, &month.to_string(), day).map_err(because)?
        }
        [Part::Number(first), Part::Number(second), Part::Number(third)] => {
            in_numbers([first, second, third], order).map_err(because)?
        }
        _ => return Err(because("a day, a month and a year were expected".to_owned())),
    };
    match (weekday, told) {
        (Some(weekday), Told::Day { day, .. }) if day.weekday() != weekday => {
            Err(because(format!("{day} is a {}, not a {}", named(day.weekday()), named(weekday))))
        }
        (Some(_), Told::Either { .. }) => Err(because("beside a weekday write the month as a word".to_owned())),
        _ => Ok(told),
    }
}

/// Three numbers: a year of four figures first or last.
fn in_numbers([first, second, third]: [&str; 3], order: Option<Order>) -> Result<Told, String> {
    match (first.len(), second.len(), third.len()) {
        (4, 1 | 2, 1 | 2) => whole(first, second, third),
        (1 | 2, 1 | 2, 4) => {
            let day_first = whole(third, second, first);
            let month_first = whole(third, first, second);
            match (order, day_first, month_first) {
                (Some(Order::YearFirst), ..) => Err("the year stands last, not first".to_owned()),
                (Some(Order::DayFirst), read, Ok(_)) | (Some(Order::MonthFirst), Ok(_), read) => {
                    read.map_err(|why| format!("{why}, as the order was told"))
                }
                (Some(Order::DayFirst), read, Err(_)) | (Some(Order::MonthFirst), Err(_), read) => read,
                (None, Ok(Told::Day { day: one, .. }), Ok(Told::Day { day: other, .. })) if one != other => {
                    Ok(Told::Either { day_first: one, month_first: other })
                }
                (None, Ok(same), Ok(_)) => Ok(same),
                (None, Ok(Told::Day { day, .. }), Err(_)) => Ok(Told::Day { day, only: Some(Order::DayFirst) }),
                (None, Err(_), Ok(Told::Day { day, .. })) => Ok(Told::Day { day, only: Some(Order::MonthFirst) }),
                (None, read, Err(_)) | (None, Err(_), read) => read,
            }
        }
        (1 | 2, 1 | 2, 1 | 2) => Err(two_figures(third)),
        _ => Err("numbers of a day, a month and a year of four figures were expected".to_owned()),
    }
}

fn two_figures(year: &str) -> String {
    format!("a year of two figures, as `{year}`, may be of any century, or no year at all")
}

/// The day with this year, month and day in figures.
fn whole(year: &str, month: &str, day: &str) -> Result<Told, String> {
    let number = |figures: &str| figures.parse::<u32>().unwrap_or(u32::MAX);
    let year = number(year);
    let in_range = i32::try_from(year).ok().filter(|year| YEARS.contains(year));
    let Some(in_range) = in_range else {
        return Err(format!("the year {year} lies outside {} to {}", YEARS.start(), YEARS.end()));
    };
    match NaiveDate::from_ymd_opt(in_range, number(month), number(day)) {
        Some(day) => Ok(Told::Day { day, only: None }),
        None => Err(format!("no calendar has a day {} of month {} in {year}", number(day), number(month))),
    }
}

/// A piece of a date.
#[derive(Clone, Copy)]
enum Part<'a> {
    Number(&'a str),
    Month(u32),
}

/// The pieces of a date, and the weekday that stands before them.
fn parts(date: &str) -> Result<(Option<Weekday>, Vec<Part<'_>>), String> {
    let mut weekday = None;
    let mut parts = Vec::new();
    let mut sign = None;
    let mut rest = date;
    let mut after_number = false;
    while let Some(c) = rest.chars().next() {
        let end = |test: fn(char) -> bool| rest.find(|c: char| !test(c)).unwrap_or(rest.len());
        let behind;
        if c.is_ascii_digit() {
            let piece;
            (piece, behind) = rest.split_at(end(|c| c.is_ascii_digit()));
            parts.push(Part::Number(piece));
        } else if c.is_alphabetic() {
            let piece;
            (piece, behind) = rest.split_at(end(char::is_alphabetic));
            let word = piece.to_lowercase();
            let ordinal = after_number && ["st", "nd", "rd", "th"].contains(&word.as_str());
            if let Some(month) = month(&word) {
                parts.push(Part::Month(month));
            } else if let Some(found) = self::weekday(&word).filter(|_| parts.is_empty() && weekday.is_none()) {
                weekday = Some(found);
            } else if !(ordinal || (word == "of" && parts.len() == 1)) {
                return Err(format!("`{piece}` is no month in English"));
            }
        } else {
            behind = &rest[c.len_utf8()..];
            match c {
                // One sign between all numbers: `3/4-2031` is no date that anybody means.
                '/' | '-' | '.' if sign.is_none_or(|before| before == c) => sign = Some(c),
                ',' | ' ' => {}
                _ => return Err(format!("stopped at `{rest}`")),
            }
        }
        after_number = c.is_ascii_digit();
        rest = behind;
        if parts.len() > 3 {
            return Err("more than a day, a month and a year".to_owned());
        }
    }
    Ok((weekday, parts))
}

/// The number of a month by its English name, or three letters of it and more.
fn month(word: &str) -> Option<u32> {
    let found = MONTHS.iter().position(|name| (word.len() >= 3 && name.starts_with(word)) || *name == word);
    found.and_then(|index| u32::try_from(index + 1).ok())
}

fn weekday(word: &str) -> Option<Weekday> {
    let days = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat, Weekday::Sun];
    days.into_iter().find(|day| word.len() >= 3 && named(*day).to_lowercase().starts_with(word))
}

fn named(day: Weekday) -> &'static str {
    match day {
        Weekday::Mon => "Monday",
        Weekday::Tue => "Tuesday",
        Weekday::Wed => "Wednesday",
        Weekday::Thu => "Thursday",
        Weekday::Fri => "Friday",
        Weekday::Sat => "Saturday",
        Weekday::Sun => "Sunday",
    }
}

/// The date without a time of day behind it, as a spreadsheet adds one: `2031-03-01 00:00:00`.
fn without_time(text: &str) -> Result<&str, String> {
    let Some(colon) = text.find(':') else { return Ok(text) };
    let stopped = || format!("`{text}` ends in no time of day");
    let start = text[..colon].rfind([' ', 'T']).ok_or_else(stopped)?;
    let (date, time) = (&text[..start], text[start + 1..].trim());
    let lower = time.to_lowercase();
    let half = lower.ends_with("am") || lower.ends_with("pm");
    let clock = if half { lower[..lower.len() - 2].trim_end() } else { lower.as_str() };
    let numbers: Option<Vec<f64>> = clock.split(':').map(|part| part.parse().ok()).collect();
    let plain = clock.chars().all(|c| c.is_ascii_digit() || matches!(c, ':' | '.'));
    match numbers.as_deref() {
        Some([hour, minute, second @ ..])
            if plain
                && *hour < if half { 13.0 } else { 24.0 }
                && *minute < 60.0
                && second.len() < 2
                && second.iter().all(|second| *second < 60.0) =>
        {
            Ok(date.trim_end())
        }
        _ => Err(stopped()),
    }
}
