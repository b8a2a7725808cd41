//! Where the faults of one row go, and how a problem is told beside the cell that brought it.

use super::list::Faults;
use crate::commands::{Problem, RowFault};

/// How much of a cell is shown in a refusal, characters.
const SHOWN: usize = 40;

/// Where faults of one row go.
pub(super) struct Blame<'f> {
    /// The line on which the row begins.
    pub(super) line: u64,
    /// Where they are gathered.
    pub(super) faults: &'f mut Faults,
}

impl Blame<'_> {
    /// A fault of one cell.
    pub(super) fn on(&mut self, column: &str, value: &str, problem: impl Into<String>, accepted: impl Into<String>) {
        let (column, value) = (column.to_owned(), shown(value));
        let fault = RowFault { row: self.line, column, value, problem: problem.into(), accepted: accepted.into() };
        self.faults.push(fault);
    }

    /// A fault of one cell, as whoever read it tells it.
    pub(super) fn by(&mut self, column: &str, value: &str, problem: &Problem) {
        let (said, accepted) = said(problem);
        self.on(column, value, said, accepted);
    }
}

/// A problem in the two columns of a fault: what is wrong, what is accepted.
#[must_use]
pub fn said(problem: &Problem) -> (String, String) {
    let said = match &problem.why {
        // What cannot be read stands in a column of its own.
        Some(why) if problem.what.starts_with("cannot read") => why.clone(),
        Some(why) => format!("{}: {why}", problem.what),
        None => problem.what.clone(),
    };
    let hint = problem.hint.clone().unwrap_or_default();
    let accepted = hint.strip_prefix("accepted: ").map(str::to_owned).unwrap_or(hint);
    (said, accepted)
}

/// A cell as it is shown in a refusal.
fn shown(cell: &str) -> String {
    let clean = |c: char| if c.is_control() { ' ' } else { c };
    match cell.char_indices().nth(SHOWN) {
        Some((end, _)) => format!("{}…", cell[..end].chars().map(clean).collect::<String>()),
        None => cell.chars().map(clean).collect(),
    }
}
