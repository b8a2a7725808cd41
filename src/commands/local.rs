//! `local`: what the keeper was told where they live, and what is still to be asked. Other commands take it from here.

use std::fs;
use std::io::ErrorKind;
use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{Args, Subcommand};

use super::composition::by_weight;
use super::local_set::Line;
use super::{Kind, Problem, Session};
use crate::catalogue::{Reagent, Topic};
use crate::disposal::caution;
use crate::disposal::local::{Fault, Local, Strongest};
use crate::units::show::significant;
use crate::units::strength::Strength;

pub use crate::disposal::local::TEMPLATE;

/// Read back what holds where you live, and tell what is still to be asked of whom
///
/// It stands in `local.toml` beside the register. The program holds no limit of its own against you: what you were told
/// and wrote there is what counts.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
#[command(
    after_help = "Examples:\n  brimstock local\n  brimstock local --template > local.toml\n  brimstock local set fire 112\n  brimstock local check"
)]
pub struct LocalArguments {
    /// Print a file to fill in
    #[arg(long)]
    pub template: bool,
    /// Something else than reading it back
    #[command(subcommand)]
    pub verb: Option<LocalVerb>,
}

/// What can be done with the local rules.
#[derive(Debug, Subcommand)]
pub enum LocalVerb {
    /// Read them back; the same as `local` alone
    Show,
    /// Fill in one line of the file
    Set(Line),
    /// List what would be printed as a ruled line to fill in by hand, and what wants asking again
    #[command(
        after_help = "The exit code is 1 if there is a ruled line, 0 if there is none.\nExample: brimstock local check"
    )]
    Check,
}

/// What is on record.
#[derive(Debug, Clone, PartialEq)]
pub struct OnRecord {
    /// The file.
    pub file: String,
    /// True if there is one.
    pub there: bool,
    /// The day of the question.
    pub on: NaiveDate,
    /// What it says.
    pub local: Local,
    /// What it is silent about.
    pub unanswered: Vec<Unanswered>,
    /// The day since which the program's own rules want a second look, if it has passed.
    pub due_since: Option<NaiveDate>,
    /// What the answer says of itself.
    pub caution: &'static str,
}

/// A part of the local rules without an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unanswered {
    /// The key of the file.
    pub key: &'static str,
    /// What nobody knows.
    pub what: String,
    /// Whom to ask what.
    pub ask: Vec<Asking>,
}

/// Whom to ask what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asking {
    /// Whom.
    pub whom: String,
    /// What.
    pub questions: Vec<String>,
}

/// Reads the local rules back.
///
/// # Errors
/// Every fault of the file at once, and a file that cannot be read.
pub fn run(session: &Session) -> Result<OnRecord, Problem> {
    let read = read(session)?;
    let there = read.is_some();
    let local = read.unwrap_or_default();
    Ok(OnRecord {
        file: file(session).display().to_string(),
        there,
        on: session.day,
        unanswered: unanswered(session, &local),
        local,
        due_since: due_since(session),
        caution: caution::short(),
    })
}

/// The local rules, for other commands; without a file there are none.
///
/// # Errors
/// Every fault of the file at once, and a file that cannot be read.
pub fn of(session: &Session) -> Result<Local, Problem> {
    Ok(read(session)?.unwrap_or_default())
}

/// The day since which the rules of handing over want a second look, if it has passed.
#[must_use]
pub fn due_since(session: &Session) -> Option<NaiveDate> {
    let due = session.catalogue.disposal().review_by;
    (due < session.day).then_some(due)
}

/// Whom to ask what to fill a part of the local rules.
pub(super) fn asking(session: &Session, topic: Topic) -> Vec<Asking> {
    let questions = session.catalogue.disposal().questions(topic);
    questions.map(|row| Asking { whom: row.whom.clone(), questions: row.ask.clone() }).collect()
}

/// The recorded limit that a strength is above, if it is, and the strength in % w/w.
///
/// # Errors
/// For a strength that cannot be brought to per cent by weight.
pub(super) fn above<'a>(
    local: &'a Local,
    reagent: &Reagent,
    strength: Strength,
) -> Result<Option<(&'a Strongest, f64)>, Problem> {
    let Some(limit) = local.strongest(&reagent.key) else { return Ok(None) };
    let percent = 100.0 * by_weight(reagent, strength)?.0;
    // What was typed as 12 % and comes out of a conversion a hair above it is not above it.
    Ok((percent > limit.percent_w_w * (1.0 + 1e-9)).then_some((limit, percent)))
}

/// Why a strength is not made here.
pub(super) fn too_strong(what: &str, limit: &Strongest, percent: f64) -> Problem {
    let asked = &limit.asked;
    let answer = asked.answer.as_ref().map_or(String::new(), |answer| format!(": {answer}"));
    Problem::question(format!(
        "{what} would be {} % w/w, and {} told you of {} at the most",
        significant(percent, 3),
        asked.whom,
        limit.written
    ))
    .because(format!("`local.toml` has it from {}, {}{}{answer}", asked.whom, asked.on, asked.under()))
    .hint("ask them again before you change the line; `brimstock local` reads it back")
}

/// What an entry says of a stock that is stronger than what was recorded; a faulty file stops no entry.
pub(super) fn warning(session: &Session, reagent: &Reagent, strength: Strength) -> Option<String> {
    told(session, reagent, strength, "it is entered, and nothing is lost; ask them before you keep or use it")
}

/// What an answer says of a stock whose label is stronger than what was recorded; a faulty file stops no answer.
pub(super) fn stronger(session: &Session, code: &str, reagent: &Reagent, strength: Strength) -> Option<String> {
    let said = told(session, reagent, strength, "ask them before you keep or use it")?;
    Some(format!("{code}: {said}"))
}

fn told(session: &Session, reagent: &Reagent, strength: Strength, then: &str) -> Option<String> {
    let local = match of(session) {
        Ok(local) => local,
        Err(problem) => return Some(format!("local rules not looked at: {}; see `brimstock local`", problem.what)),
    };
    let (limit, percent) = above(&local, reagent, strength).ok().flatten()?;
    Some(format!(
        "{} % w/w is stronger than the {} that {} told you of on {}{}: {then}",
        significant(percent, 3),
        limit.written,
        limit.asked.whom,
        limit.asked.on,
        limit.asked.check(session.day)
    ))
}

/// The keeper's file.
pub(super) fn file(session: &Session) -> PathBuf {
    session.path.with_file_name("local.toml")
}

/// What stands in the keeper's file, if there is one.
///
/// # Errors
/// A file that cannot be read.
pub(super) fn text(session: &Session) -> Result<Option<String>, Problem> {
    let file = file(session);
    match fs::read_to_string(&file) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Problem {
            kind: Kind::Store,
            ..Problem::question(format!("{} cannot be read: {}", file.display(), super::told(&error)))
        }),
    }
}

/// What the keeper's file says.
///
/// # Errors
/// Every fault of it at once.
pub(super) fn parsed(session: &Session, text: &str) -> Result<Local, Problem> {
    Local::read(session.catalogue, text).map_err(|faults| {
        let many = if faults.len() == 1 { "a fault".to_owned() } else { format!("{} faults", faults.len()) };
        Problem::data(format!("{} has {many}, and nothing of it is used", file(session).display()))
            .because(told_one_a_line(&faults))
            .hint(
                "mend it and look with `brimstock local`; `brimstock local --template` prints every line that there is",
            )
    })
}

/// Faults, one a line.
pub(super) fn told_one_a_line(faults: &[Fault]) -> String {
    let told: Vec<String> = faults.iter().map(|(key, what)| format!("{key}: {what}")).collect();
    told.join("\n")
}

/// The local rules, if there is a file.
pub(super) fn read(session: &Session) -> Result<Option<Local>, Problem> {
    text(session)?.map(|text| parsed(session, &text)).transpose()
}

/// What the local rules are silent about, and whom to ask.
pub(super) fn unanswered(session: &Session, local: &Local) -> Vec<Unanswered> {
    let mut silent = Vec::new();
    let mut line = |key, what: &str| silent.push(Unanswered { key, what: what.to_owned(), ask: Vec::new() });
    if local.place.is_none() {
        line("place", "where all this holds: town, district, country");
    }
    if local.jurisdiction.is_none() {
        line("jurisdiction", "whose lists of waste are shown: EU, UK or US; until then all three are");
    }
    if local.emergency.is_none() {
        line("emergency", "the number to ring when something goes wrong; your telephone book has it");
    }
    if local.fire.is_none() {
        line("fire", "the number of the fire service or of your fire warden");
    }
    if local.poison_centre.is_none() {
        line("poison_centre", "the poison centre's number; ask a pharmacy");
    }
    if local.water_company.is_none() {
        line("water_company", "the water or sewer company's number; a bill of theirs has it");
    }
    for topic in Topic::ALL {
        let what = match topic {
            Topic::Store if local.stores.is_empty() => "how much may be kept".to_owned(),
            Topic::Strength if local.strengths.is_empty() => "how strong something may be".to_owned(),
            Topic::Drain if local.drains.is_empty() => "what may go down a drain".to_owned(),
            Topic::Takes => {
                let classes = session.catalogue.disposal().classes.iter();
                let nobody: Vec<&str> = classes
                    .filter(|class| local.takers(&class.key).next().is_none())
                    .map(|class| class.key.as_str())
                    .collect();
                match nobody.len() {
                    0 => continue,
                    all if all == session.catalogue.disposal().classes.len() => "who takes unwanted stock".to_owned(),
                    _ => format!("who takes {}", nobody.join(", ")),
                }
            }
            _ => continue,
        };
        silent.push(Unanswered { key: topic.word(), what, ask: asking(session, topic) });
    }
    silent
}
