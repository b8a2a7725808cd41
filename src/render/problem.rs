//! Problems as text and as JSON, all in one shape: what is wrong, why, what to do.

use serde::Serialize;

use crate::commands::{Problem, RowFault};

/// `error:`, `why:` and `hint:`, one line each; several reasons stand under each other, rows of a list in a table of their own.
#[must_use]
pub fn text(problem: &Problem) -> String {
    let mut text = format!("error: {}\n", problem.what);
    text.push_str(&rows(&problem.rows));
    if let Some(why) = &problem.why {
        text.push_str(&format!("  why: {}\n", why.replace('\n', "\n       ")));
    }
    if let Some(hint) = &problem.hint {
        text.push_str(&format!(" hint: {hint}\n"));
    }
    text
}

/// What is wrong with rows, a line each, and then what is accepted, each thing once.
fn rows(faults: &[RowFault]) -> String {
    if faults.is_empty() {
        return String::new();
    }
    let headings = ["row", "column", "value", "problem"].map(str::to_owned);
    let cells = faults.iter().map(|fault| {
        let dash = |text: &str| if text.is_empty() { "-".to_owned() } else { text.to_owned() };
        [fault.row.to_string(), dash(&fault.column), dash(&fault.value), fault.problem.clone()]
    });
    let lines: Vec<[String; 4]> = std::iter::once(headings).chain(cells).collect();
    let width = |column: usize| lines.iter().map(|line| line[column].chars().count()).max().unwrap_or(0);
    let [row, column, value] = [0, 1, 2].map(width);
    let mut text = String::new();
    for [first, second, third, problem] in &lines {
        text.push_str(&format!("  {first:<row$}  {second:<column$}  {third:<value$}  {problem}\n"));
    }
    let mut accepted: Vec<(&str, &str, Vec<String>)> = Vec::new();
    for fault in faults.iter().filter(|fault| !fault.accepted.is_empty()) {
        let row = fault.row.to_string();
        match accepted.iter_mut().find(|(column, what, _)| *column == fault.column && *what == fault.accepted) {
            Some((_, _, rows)) => rows.push(row),
            None => accepted.push((&fault.column, &fault.accepted, vec![row])),
        }
    }
    for (column, what, rows) in accepted {
        let rows = match &rows[..] {
            [row] => format!("row {row}"),
            few if few.len() <= ROWS_NAMED => format!("rows {}", few.join(", ")),
            many => format!("rows {} and {} more", many[..ROWS_NAMED].join(", "), many.len() - ROWS_NAMED),
        };
        text.push_str(&format!("  accepted in {column}, {rows}: {what}\n"));
    }
    text
}

/// How many rows are named beside what is accepted in them.
const ROWS_NAMED: usize = 8;

#[derive(Serialize)]
struct Wrapped<'a> {
    format: u32,
    error: Data<'a>,
}

#[derive(Serialize)]
struct Data<'a> {
    kind: &'a str,
    exit_code: u8,
    what: &'a str,
    why: Option<&'a str>,
    hint: Option<&'a str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    rows: Vec<RowData<'a>>,
}

/// What is wrong with one cell of a list.
#[derive(Serialize)]
struct RowData<'a> {
    row: u64,
    column: &'a str,
    value: &'a str,
    problem: &'a str,
    accepted: &'a str,
}

impl<'a> RowData<'a> {
    fn of(fault: &'a RowFault) -> Self {
        let RowFault { row, column, value, problem, accepted } = fault;
        RowData { row: *row, column, value, problem, accepted }
    }
}

/// One JSON object.
#[must_use]
pub fn json(problem: &Problem) -> String {
    let error = Data {
        kind: problem.kind.word(),
        exit_code: problem.kind.exit_code(),
        what: &problem.what,
        why: problem.why.as_deref(),
        hint: problem.hint.as_deref(),
        rows: problem.rows.iter().map(RowData::of).collect(),
    };
    super::data::line(&Wrapped { format: super::data::FORMAT, error })
}
