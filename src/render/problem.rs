//! Problems as text and as JSON, all in one shape: what is wrong, why, what to do.

use serde::Serialize;

use crate::commands::Problem;

/// `error:`, `why:` and `hint:`, one line each; several reasons stand under each other.
#[must_use]
pub fn text(problem: &Problem) -> String {
    let mut text = format!("error: {}\n", problem.what);
    if let Some(why) = &problem.why {
        text.push_str(&format!("  why: {}\n", why.replace('\n', "\n       ")));
    }
    if let Some(hint) = &problem.hint {
        text.push_str(&format!(" hint: {hint}\n"));
    }
    text
}

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
    };
    super::data::line(&Wrapped { format: super::data::FORMAT, error })
}
