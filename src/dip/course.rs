//! What follows a bath, as the keeper types it: `rinse 2, quench, hold 14, look 7 14 21 28, dip alum-soak`.

use crate::catalogue::After;
use crate::units::parse::Unreadable;

/// What is accepted.
const ACCEPTED: &str = "steps in order, with commas between them: `rinse`, `rinse 2` (1 to 10 times), `quench`, `hold 14` \
                        (1 to 365 days), `look 7 14 21 28` (days, rising, up to 365), `dip alum-soak`; at most 12 steps; `none` for none";

/// The word for no step at all.
const NONE: &str = "none";

/// The most steps that are read. Source: `judgement`.
const MOST_STEPS: usize = 12;

/// The most rinses in a row. Source: `judgement`.
const MOST_RINSES: u8 = 10;

/// The last day that a hold or a look may be told for. Source: `judgement`.
const LAST_DAY: u16 = 365;

/// The most looks of one step. Source: `judgement`.
const MOST_LOOKS: usize = 12;

/// Reads what follows a bath. Whether there is such a dip is asked where the book is known.
///
/// # Errors
/// [`Unreadable`] for a word that is no step, a number out of its range, days that do not rise, and too many steps.
pub fn read(text: &str) -> Result<Vec<After>, Unreadable> {
    let refused = |why: String| Unreadable {
        text: text.to_owned(),
        what: "the steps after a bath",
        why,
        accepted: ACCEPTED.to_owned(),
    };
    if text.trim() == NONE {
        return Ok(Vec::new());
    }
    let steps = text.split(',').map(|part| step(part).map_err(refused)).collect::<Result<Vec<_>, _>>()?;
    if steps.len() > MOST_STEPS {
        return Err(refused(format!("{} steps", steps.len())));
    }
    Ok(steps)
}

fn step(part: &str) -> Result<After, String> {
    let words: Vec<&str> = part.split_whitespace().collect();
    match words[..] {
        [] => Err("a step is empty".to_owned()),
        ["rinse"] => Ok(After::Rinse(1)),
        ["rinse", times] => match times.parse() {
            Ok(times) if (1..=MOST_RINSES).contains(&times) => Ok(After::Rinse(times)),
            _ => Err(format!("`{times}` is no number of rinses")),
        },
        ["quench"] => Ok(After::Quench),
        ["hold", days] => Ok(After::Hold(day(days)?)),
        ["dip", key] => Ok(After::Dip(key.to_owned())),
        ["look", ref days @ ..] if !days.is_empty() => {
            let days = days.iter().map(|word| day(word)).collect::<Result<Vec<_>, _>>()?;
            if days.len() > MOST_LOOKS {
                return Err(format!("{} looks in one step", days.len()));
            }
            match days.windows(2).find(|pair| pair[0] >= pair[1]) {
                Some(pair) => Err(format!("day {} stands behind day {}", pair[1], pair[0])),
                None => Ok(After::Look(days)),
            }
        }
        _ => Err(format!("`{}` is no step", part.trim())),
    }
}

fn day(word: &str) -> Result<u16, String> {
    match word.parse() {
        Ok(days) if (1..=LAST_DAY).contains(&days) => Ok(days),
        _ => Err(format!("`{word}` is no number of days")),
    }
}

/// The steps as they are typed: `rinse 2, quench`. [`read`] reads them back.
#[must_use]
pub fn typed(steps: &[After]) -> String {
    let step = |step: &After| match step {
        After::Dip(key) => format!("dip {key}"),
        After::Rinse(times) => format!("rinse {times}"),
        After::Quench => "quench".to_owned(),
        After::Hold(days) => format!("hold {days}"),
        After::Look(days) => format!("look {}", days.iter().map(u16::to_string).collect::<Vec<_>>().join(" ")),
    };
    if steps.is_empty() {
        return NONE.to_owned();
    }
    steps.iter().map(step).collect::<Vec<_>>().join(", ")
}

/// A step in words: `rinse twice in clean water`, `look on days 7, 14, 21 and 28 after the bath`.
#[must_use]
pub fn words(step: &After) -> String {
    match step {
        After::Dip(key) => format!("then the dip `{key}`"),
        After::Rinse(1) => "rinse once in clean water".to_owned(),
        After::Rinse(2) => "rinse twice in clean water".to_owned(),
        After::Rinse(times) => format!("rinse {times} times in clean water"),
        After::Quench => "a bath with a little of the neutraliser, for what the plants carry along".to_owned(),
        After::Hold(1) => "hold apart from everything else for 1 day".to_owned(),
        After::Hold(days) => format!("hold apart from everything else for {days} days"),
        After::Look(days) => match &days[..] {
            [before @ .., last] if !before.is_empty() => {
                let before = before.iter().map(u16::to_string).collect::<Vec<_>>().join(", ");
                format!("look on days {before} and {last} after the bath")
            }
            [one] => format!("look on day {one} after the bath"),
            _ => "look again".to_owned(),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_is_read_and_typed_again() {
        let text = "rinse 2, quench, hold 14, look 7 14 21 28, dip alum-soak";
        let steps = read(text).unwrap();
        assert_eq!(
            steps,
            [
                After::Rinse(2),
                After::Quench,
                After::Hold(14),
                After::Look(vec![7, 14, 21, 28]),
                After::Dip("alum-soak".to_owned())
            ]
        );
        assert_eq!(typed(&steps), text);
        assert_eq!(read(&typed(&[])).unwrap(), []);
        assert_eq!(read(" rinse ,hold  1 ").unwrap(), [After::Rinse(1), After::Hold(1)]);
        assert_eq!(words(&steps[3]), "look on days 7, 14, 21 and 28 after the bath");
        assert_eq!(words(&After::Look(vec![7])), "look on day 7 after the bath");
        assert_eq!(words(&After::Rinse(3)), "rinse 3 times in clean water");
    }

    #[test]
    fn both_sides_of_each_limit() {
        for good in ["rinse 10", "hold 365", "look 1", "look 364 365"] {
            assert!(read(good).is_ok(), "{good}");
        }
        for (bad, why) in [
            ("", "empty"),
            ("rinse,", "empty"),
            ("rinse 0", "number of rinses"),
            ("rinse 11", "number of rinses"),
            ("rinse 2 3", "no step"),
            ("quench 2", "no step"),
            ("hold", "no step"),
            ("hold 0", "number of days"),
            ("hold 366", "number of days"),
            ("hold 1.5", "number of days"),
            ("look", "no step"),
            ("look 7 7", "day 7 stands behind day 7"),
            ("look 14 7", "day 7 stands behind day 14"),
            ("look 1 2 3 4 5 6 7 8 9 10 11 12 13", "13 looks"),
            ("dip", "no step"),
            ("dip alum soak", "no step"),
            ("soak", "no step"),
            ("Rinse", "no step"),
            ("rinse,rinse,rinse,rinse,rinse,rinse,rinse,rinse,rinse,rinse,rinse,rinse,rinse", "13 steps"),
        ] {
            let error = read(bad).unwrap_err();
            assert!(error.why.contains(why), "{bad}: {error}");
        }
    }
}
