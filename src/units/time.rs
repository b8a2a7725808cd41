//! Reads times as people write them: `2`, `2-3`, `110 s`, `24 to 48 h`, `max 110 s`; and writes them.

use super::parse::{self, Unreadable};
use super::show;

/// Words for units of time, with the minutes in one.
const UNITS: &[(&[&str], f64)] = &[
    (&["s", "sec", "secs", "second", "seconds"], 1.0 / 60.0),
    (&["min", "mins", "minute", "minutes"], 1.0),
    (&["h", "hr", "hrs", "hour", "hours"], 60.0),
    (&["d", "day", "days"], 1440.0),
    (&["week", "weeks", "wk", "wks"], 10_080.0),
];

/// What is accepted.
const ACCEPTED: &str = "minutes, `2`, a range, `2-3`, with another unit, `110 s`, `24-48 h`, `2 d`, or the longest, `max 110 s`; \
                        from 1 s to 60 days";

/// The shortest and the longest time of a bath, minutes. Source: `judgement`.
const RANGE: [f64; 2] = [1.0 / 60.0, 86_400.0];

/// Words before a longest time.
const AT_MOST: [&str; 3] = ["max", "at most", "up to"];

/// Minutes from the shortest to the longest; where only the longest is told, no shortest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minutes {
    /// The shortest.
    pub low: Option<f64>,
    /// The longest.
    pub high: f64,
}

/// The minutes in a unit of time, by its name.
#[must_use]
pub fn unit(word: &str) -> Option<f64> {
    UNITS.iter().find(|(names, _)| names.contains(&word)).map(|(_, minutes)| *minutes)
}

/// Reads a time; a number without a unit is minutes, and the unit of a range stands behind it.
///
/// # Errors
/// [`Unreadable`] for an unknown unit, a bad number, a range that falls, and a time that no bath takes.
pub fn minutes(text: &str) -> Result<Minutes, Unreadable> {
    let refused = |why: String| Unreadable {
        text: text.to_owned(),
        what: "a time in the bath",
        why,
        accepted: ACCEPTED.to_owned(),
    };
    let lower = text.trim().to_lowercase();
    let longest = AT_MOST.iter().find_map(|word| lower.strip_prefix(word)).map(str::trim_start);
    let number = |text: &str| match parse::number(text) {
        Ok((value, rest)) => Ok((value, rest.trim_start().to_owned())),
        Err(error) => Err(refused(error.why)),
    };
    let (first, rest) = number(longest.unwrap_or(&lower))?;
    let behind = ["-", "–", "to "].iter().find_map(|sign| rest.strip_prefix(sign)).map(str::trim_start);
    let (second, word) = match behind {
        Some(_) if longest.is_some() => return Err(refused("a longest time has one number".to_owned())),
        Some(behind) => number(behind).map(|(second, rest)| (Some(second), rest))?,
        None => (None, rest),
    };
    let word = word.trim_end();
    let factor = match word {
        "" => 1.0,
        _ => unit(word).ok_or_else(|| refused(format!("`{word}` is no unit of time")))?,
    };
    let (low, high) = (first * factor, second.unwrap_or(first) * factor);
    if low > high {
        return Err(refused("the shortest time is above the longest".to_owned()));
    }
    if low < RANGE[0] - 1e-9 || high > RANGE[1] {
        return Err(refused("no bath takes that long or that short".to_owned()));
    }
    Ok(Minutes { low: longest.is_none().then_some(low), high })
}

/// Minutes in the unit that reads best: `2–3 min`, `110 s`, `24–48 h`.
#[must_use]
pub fn words(low: f64, high: f64) -> String {
    let in_seconds = is_told_in_seconds(low) || is_told_in_seconds(high);
    let show = |minutes: f64| match minutes {
        m if m < 1.0 || (in_seconds && m < 10.0) => format!("{} s", show::plain(m * 60.0)),
        m if m < 120.0 => format!("{} min", show::plain(m)),
        m if m <= 2880.0 => format!("{} h", show::plain(libm::round(m / 6.0) / 10.0)),
        m => format!("{} d", show::plain(libm::round(m / 144.0) / 10.0)),
    };
    if low == high {
        return show(low);
    }
    let (low, high) = (show(low), show(high));
    match (low.rsplit_once(' '), high.rsplit_once(' ')) {
        (Some((number, unit)), Some((_, other))) if unit == other => format!("{number}–{high}"),
        _ => format!("{low}–{high}"),
    }
}

/// True for a short time that is not a whole or half number of minutes: `110 s`.
fn is_told_in_seconds(minutes: f64) -> bool {
    let off = |value: f64| libm::fabs(value - libm::round(value));
    minutes < 10.0 && off(2.0 * minutes) > 1e-6 && off(60.0 * minutes) < 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> (Option<f64>, f64) {
        let minutes = minutes(text).unwrap();
        (minutes.low, minutes.high)
    }

    #[test]
    fn times_as_people_type_them() {
        for (text, low, high) in [
            ("2", 2.0, 2.0),
            ("2-3", 2.0, 3.0),
            ("2 – 3 min", 2.0, 3.0),
            ("90 s", 1.5, 1.5),
            ("90-120s", 1.5, 2.0),
            ("24 to 48 h", 1440.0, 2880.0),
            ("1-2 days", 1440.0, 2880.0),
            ("1 1/2 hours", 90.0, 90.0),
            ("60 d", 86_400.0, 86_400.0),
        ] {
            assert_eq!(found(text), (Some(low), high), "{text}");
        }
        assert_eq!(found("max 90 s"), (None, 1.5));
        assert_eq!(found("At most 2"), (None, 2.0));
        assert!((found("1 s").1 - 1.0 / 60.0).abs() < 1e-12);
    }

    #[test]
    fn times_are_written_in_the_unit_that_reads_best() {
        let of = |text: &str| {
            let (low, high) = found(text);
            words(low.unwrap_or(high), high)
        };
        for (text, written) in [
            ("2", "2 min"),
            ("2-3", "2–3 min"),
            ("110 s", "110 s"),
            ("90-110 s", "90–110 s"),
            ("60-120 s", "1–2 min"),
            ("150 s", "2.5 min"),
            ("59 s", "59 s"),
            ("24-48 h", "24–48 h"),
            ("21 d", "21 d"),
        ] {
            assert_eq!(of(text), written, "{text}");
        }
    }

    #[test]
    fn what_is_no_time() {
        for (text, why) in [
            ("", "empty"),
            ("0", "above 0"),
            ("-2", "above 0"),
            ("3-2", "the shortest time is above"),
            ("2 fortnights", "`fortnights` is no unit"),
            ("2-", "empty"),
            ("2-3-4", "no unit"),
            ("2,5 min", "comma"),
            ("max 2-3", "one number"),
            ("0.5 s", "no bath"),
            ("61 d", "no bath"),
        ] {
            let error = minutes(text).unwrap_err();
            assert!(error.why.contains(why), "{text}: {error}");
        }
    }
}
