//! What is due, one line a matter.

use chrono::NaiveDate;

use crate::commands::due::rank::Matter;
use crate::commands::due::{Calendar, Due};
use crate::render::Style;
use crate::render::table::sentence;

/// Columns of a line.
const WIDTH: usize = 100;

/// Columns of the day.
const DAY: usize = 16;

/// The matters, how many more there are, and the calendar; nothing where nothing is due.
pub(super) fn due(style: &Style, due: &Due) -> String {
    let (matters, more) = due.lines();
    let mut text: String = matters.iter().map(|matter| line(due.on, matter)).collect();
    if more > 0 {
        text.push_str(&format!("and {more} more: `brimstock due --all`\n"));
    }
    if let Some(Calendar { out, to, matters, .. }) = &due.calendar {
        let entries = if matters.len() == 1 { "1 entry".to_owned() } else { format!("{} entries", matters.len()) };
        let written = format!("calendar up to {to} written to {}, {entries}", out.display());
        text.push_str(&sentence(style, "", &written));
    }
    text
}

fn line(on: NaiveDate, matter: &Matter) -> String {
    let start = format!("{:DAY$}  ", when(on, matter.day));
    let next = format!("; `{}`", matter.next);
    let room = WIDTH.saturating_sub(start.chars().count() + next.chars().count());
    format!("{start}{}{next}\n", short(&matter.says(), room))
}

/// Since or by when.
fn when(on: NaiveDate, day: Option<NaiveDate>) -> String {
    match day {
        None => "now".to_owned(),
        Some(day) if day < on => format!("since {day}"),
        Some(day) if day == on => "today".to_owned(),
        Some(day) => format!("by {day}"),
    }
}

/// As much of a text as there is room for.
fn short(text: &str, room: usize) -> String {
    if text.chars().count() <= room {
        return text.to_owned();
    }
    let kept: String = text.chars().take(room.saturating_sub(1).max(10)).collect();
    format!("{}…", kept.trim_end())
}
