//! `ready-for`: the lots that are expected, and whether the shelf will be ready for all their baths.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::Args;

use super::allocating::{Allocation, Wanted, allocate};
use super::dose::{bath_for, within_the_law};
use super::shopping::{Purchase, USUAL_DELIVERY, shopping};
use super::{Kind, Problem, Session, arguments, told};
use crate::dip::expected::{COLUMNS, Expected, MORE_COLUMNS, read};
use crate::register::Writing;
use crate::register::system::json;
use crate::units::Volume;

/// Ask whether the shelf will be ready for the lots that are expected
///
/// The file is a table in CSV with the columns date, lot, dip, bath, and where wanted baths (how many alike) and plants.
/// One allocation is made over all baths, at the strength that each stock will have on their days. Exit code 0 if all baths
/// are `ready`, 1 if not.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock ready-for march.csv\n  brimstock ready-for march.csv --keep\n  brimstock ready-for --plan --delivery 3\n\nA plan:\n  date,lot,dip,bath,baths,plants\n  2031-03-15,A1,bleach-fine-leaved,10L,4,60 fine-leaved bundles\n  2031-03-15,A2,bleach-robust,10L,2,25 rhizomes"
)]
pub struct ReadyFor {
    /// The table of what is expected
    #[arg(required_unless_present = "plan", conflicts_with = "plan")]
    pub file: Option<PathBuf>,
    /// Ask for the plan that was kept last
    #[arg(long, conflicts_with = "keep")]
    pub plan: bool,
    /// Keep it in the register as what is expected, in place of what was
    #[arg(long)]
    pub keep: bool,
    /// Days from an order to its delivery [default: 7]
    #[arg(long, value_name = "DAYS", value_parser = arguments::whole(0_u16..=365))]
    pub delivery: Option<u16>,
}

/// What `ready-for` answers.
#[derive(Debug, Clone)]
pub struct Readiness {
    /// The day of the question.
    pub on: NaiveDate,
    /// Who gets what.
    pub allocation: Allocation,
    /// What to buy.
    pub shopping: Vec<Purchase>,
    /// Days from an order to its delivery.
    pub delivery: u16,
    /// True if nobody said so.
    pub delivery_assumed: bool,
    /// True if the plan was kept.
    pub kept: bool,
}

/// Answers.
///
/// # Errors
/// Every fault of the file at once, no plan in the register, what the allocation returns. Nothing is written then.
pub fn run(session: &Session, arguments: &ReadyFor) -> Result<Readiness, Problem> {
    let text = arguments.file.as_deref().map(|file| Ok::<_, Problem>((file, text_of(file)?))).transpose()?;
    let mut register = session.register()?;
    let answer = |writing: &Writing<'_>| -> Result<Readiness, Problem> {
        let expected = match &text {
            Some((file, text)) => from_file(session, writing, file, text)?,
            None => kept(session, writing)?,
        };
        let readiness = judge(session, writing, &expected, arguments)?;
        if arguments.keep {
            let content = serde_json::to_string(&expected)
                .map_err(|error| Problem::data(format!("the plan cannot be kept: {error}")))?;
            writing.keep_plan(session.day, &content, &session.entered_at)?;
        }
        Ok(readiness)
    };
    if arguments.keep { register.write(answer) } else { register.read(answer) }
}

/// What is expected from a day on, by the plan that was kept last; nothing where none was.
///
/// # Errors
/// If the register cannot be read, or holds a plan that this program cannot.
pub fn planned(reading: &Writing<'_>, day: NaiveDate) -> Result<Vec<Expected>, Problem> {
    let Some(content) = reading.plan(day)? else { return Ok(Vec::new()) };
    let expected: Vec<Expected> = serde_json::from_str(&content).map_err(|error| {
        Problem::data(format!("the plan in the register cannot be read: {}", json(&error))).hint(
            "use the program that wrote it, or a newer one; or keep a new plan: `brimstock ready-for FILE --keep`",
        )
    })?;
    Ok(expected.into_iter().filter(|row| row.date >= day).collect())
}

fn text_of(file: &Path) -> Result<String, Problem> {
    let bytes = std::fs::read(file).map_err(|error| {
        let what = format!("{} cannot be read: {}", file.display(), told(&error));
        Problem { kind: Kind::Store, ..Problem::question(what) }.hint(columns())
    })?;
    String::from_utf8(bytes).map_err(|_| {
        Problem::question(format!("{} is no text in UTF-8", file.display()))
            .because("nothing was written")
            .hint("save the table as CSV in UTF-8")
    })
}

fn columns() -> String {
    format!(
        "accepted: a table in CSV with the columns {}, and where wanted {}",
        COLUMNS.join(", "),
        MORE_COLUMNS.join(", ")
    )
}

fn from_file(session: &Session, reading: &Writing<'_>, file: &Path, text: &str) -> Result<Vec<Expected>, Problem> {
    let threshold = arguments::threshold(reading)?;
    let find = |word: &str| {
        let refused = |problem: Problem| (problem.what, problem.hint.unwrap_or_default());
        let unknown = |problem: Problem| ("there is no such dip".to_owned(), problem.hint.unwrap_or_default());
        let dip = arguments::dip(session.catalogue, word).map_err(unknown)?;
        let bath = bath_for(session, dip, Volume::l(1.0), threshold).map_err(refused)?;
        within_the_law(session, &bath).map_err(refused)?;
        Ok(dip.key.clone())
    };
    read(text, arguments::kitchen(reading)?, session.day, find).map_err(|faults| {
        let lines: Vec<String> = faults.iter().map(|fault| fault.line()).collect();
        let many = if faults.len() == 1 { "1 fault".to_owned() } else { format!("{} faults", faults.len()) };
        Problem::question(format!("{}: {many}", file.display()))
            .because(lines.join("\n"))
            .hint("nothing was allotted or written; mend these fields and ask again")
    })
}

fn kept(session: &Session, reading: &Writing<'_>) -> Result<Vec<Expected>, Problem> {
    let expected = planned(reading, session.day)?;
    if !expected.is_empty() {
        return Ok(expected);
    }
    let what = match reading.plan(session.day)? {
        Some(_) => format!("every day of the plan that was kept is past on {}", session.day),
        None => format!("no plan was kept by {}", session.day),
    };
    Err(Problem::question(what).hint("keep one: `brimstock ready-for FILE --keep`"))
}

/// What the shelf can do for what is expected, and what is to be bought.
///
/// # Errors
/// A dip that is not known any more, what the allocation returns.
pub(super) fn judge(
    session: &Session,
    reading: &Writing<'_>,
    expected: &[Expected],
    arguments: &ReadyFor,
) -> Result<Readiness, Problem> {
    let places = reading.places()?;
    let mut wanted = Vec::with_capacity(expected.len());
    for row in expected {
        wanted.push(Wanted {
            day: row.date,
            lot: row.lot.clone(),
            dip: arguments::dip(session.catalogue, &row.dip)?,
            volume: row.volume(),
            count: row.count,
            plants: row.plants.clone(),
        });
    }
    wanted.sort_by_key(|want| want.day);
    let allocation = allocate(session, reading, &places, &wanted)?;
    let lacks: &[_] = if allocation.is_ready() { &[] } else { &allocation.missing };
    let delivery = arguments.delivery.unwrap_or(USUAL_DELIVERY);
    let shopping = shopping(session, reading, &places, &allocation.needs, lacks, delivery)?;
    Ok(Readiness {
        on: session.day,
        allocation,
        shopping,
        delivery,
        delivery_assumed: arguments.delivery.is_none(),
        kept: arguments.keep,
    })
}
