//! The fields of `due`.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::due::Due;
use crate::commands::due::rank::Matter;

#[derive(Serialize)]
struct DueData<'a> {
    format: u32,
    on: String,
    to: String,
    due: Vec<MatterData<'a>>,
    calendar: Option<CalendarData>,
}

#[derive(Serialize)]
struct MatterData<'a> {
    kind: &'a str,
    severity: &'a str,
    about: &'a [String],
    what: &'a str,
    day: Option<String>,
    next_step: &'a str,
}

#[derive(Serialize)]
struct CalendarData {
    file: String,
    to: String,
    entries: usize,
}

/// All of it, in the order of the lines, and the calendar that was written.
pub(super) fn due(due: &Due) -> String {
    line(&DueData {
        format: FORMAT,
        on: due.on.to_string(),
        to: due.to.to_string(),
        due: due.matters.iter().map(matter).collect(),
        calendar: due.calendar.as_ref().map(|calendar| CalendarData {
            file: calendar.out.display().to_string(),
            to: calendar.to.to_string(),
            entries: calendar.matters.len(),
        }),
    })
}

fn matter(matter: &Matter) -> MatterData<'_> {
    MatterData {
        kind: matter.kind.word(),
        severity: matter.severity.word(),
        about: &matter.about,
        what: &matter.what,
        day: matter.day.map(|day| day.to_string()),
        next_step: &matter.next,
    }
}
