//! `receive`: a container comes onto the shelf.

use chrono::NaiveDate;
use clap::Args;

use super::container::{ContainerArguments, UNKNOWN, made, made_before};
use super::receipt::{By, Receipt, Standing, Told};
use super::{Problem, Session, arguments, audit, local, refused};
use crate::catalogue::{Condition, Form, Reagent};
use crate::register::checkpoint::Journal;
use crate::register::event::{Entry, Labelled, Made};
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::units::show;

/// Enter a container that came onto the shelf
///
/// `receive hydrogen-peroxide "3 % w/v" 500mL --at cupboard` gives it a code and prints what was assumed.
#[derive(Debug, Args)]
#[command(
    override_usage = "brimstock receive [OPTIONS] --at <PLACE> <REAGENT> [STRENGTH] <AMOUNT>",
    after_help = "Example: brimstock receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard"
)]
pub struct Receive {
    /// The reagent: `brimstock reagents` lists them
    pub reagent: String,
    /// What the label says, then how much there is; a solid's purity may be left out
    #[arg(required = true, num_args = 1..=2, value_names = ["STRENGTH", "AMOUNT"])]
    pub what: Vec<String>,
    /// The place it goes to
    #[arg(long, value_name = "PLACE")]
    pub at: String,
    /// The code to write on it [default: the next free one, as HP-1]
    #[arg(long)]
    pub code: Option<String>,
    /// The condition in which it came [default: sealed; made-up for a solution of a solid]
    #[arg(long, value_enum)]
    pub condition: Option<ConditionWord>,
    /// Why it may not be used, if it may not
    #[arg(long, value_name = "REASON")]
    pub hold: Option<String>,
    /// The day it was made, as its label says, or `unknown` [default: it was new when it came]
    #[arg(long, value_parser = made, value_name = "DAY")]
    pub made: Option<Made>,
    #[command(flatten)]
    pub container: ContainerArguments,
    /// Why it goes there against a warning of `audit`; the reason is kept and printed with the warning
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    pub overrule: Option<String>,
    /// The day it came [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// The condition of a container, as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum ConditionWord {
    /// As it left the factory
    Sealed,
    /// Opened before it came, poured from, never dipped into
    Opened,
    /// Made up here with purified water
    MadeUp,
    /// Made up here with tap water
    MadeUpTap,
    /// Dipped into, poured back, swollen or dirty
    Dirty,
}

impl From<ConditionWord> for Condition {
    fn from(word: ConditionWord) -> Self {
        match word {
            ConditionWord::Sealed => Condition::Sealed,
            ConditionWord::Opened => Condition::Opened,
            ConditionWord::MadeUp => Condition::MadeUp,
            ConditionWord::MadeUpTap => Condition::MadeUpTap,
            ConditionWord::Dirty => Condition::Dirty,
        }
    }
}

/// What an entry did.
#[derive(Debug, Clone, PartialEq)]
pub struct Entered {
    /// The stock's code.
    pub stock: String,
    /// The reagent's name.
    pub reagent: String,
    /// The number of the journal line.
    pub line: usize,
    /// The kind of event.
    pub kind: &'static str,
    /// The day it happened.
    pub day: NaiveDate,
    /// What was entered, in one sentence.
    pub said: String,
    /// How much is left, in the unit.
    pub left: f64,
    /// `g` or `mL`.
    pub unit: String,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// What is wrong with where it stands now.
    pub warnings: Vec<String>,
    /// What to type next.
    pub next: Option<String>,
}

/// Enters the container.
///
/// # Errors
/// Anything that cannot be read, does not fit the reagent, or a place or code that does not serve. Nothing is written then.
pub fn run(session: &Session, arguments: Receive) -> Result<Entered, Problem> {
    let day = arguments::event_day(session, arguments.date)?;
    let reagent = arguments::reagent(session.catalogue, &arguments.reagent)?;
    let mut register = session.register()?;
    register.write(|writing| {
        let kitchen = arguments::kitchen(writing)?;
        let places = writing.places()?;
        let place = arguments::place(&places, &arguments.at)?;
        let (strength, amount) = match &arguments.what[..] {
            [amount] => (None, amount),
            [strength, amount] => (Some(strength.as_str()), amount),
            _ => return Err(Problem::question("give a strength and an amount: `\"3 % w/v\" 500mL`")),
        };
        let condition = arguments.condition.map(Condition::from);
        let told = Told { strength, amount, condition, made: arguments.made, day, by: By::Flags };
        let receipt =
            Receipt::read(session.catalogue.measuring(), reagent, told, kitchen).map_err(|(_, problem)| problem)?;
        let code = free_code(writing, reagent, arguments.code.as_deref())?;
        made_before(receipt.made, day)?;
        let mut assumed = receipt.assumed.clone();
        assumed.extend(receipt.assumed_at(place)?);
        assumed.extend(local::warning(session, reagent, receipt.strength()));
        let standing = Standing {
            place,
            code: &code,
            kept_in: arguments.container.kept_in(UNKNOWN)?,
            hold: arguments.hold.clone(),
            overruled: arguments.overrule.clone(),
            written: arguments.what.join(" "),
        };
        receipt.enter(session, writing, &places, &standing)?;
        let label = label_text(&receipt.label);
        let amount = show::amount(receipt.amount, receipt.unit);
        Ok(Entered {
            stock: code.clone(),
            reagent: reagent.name.clone(),
            line: 1,
            kind: "received",
            day,
            said: format!("{code}: {}, {label}, {amount}, at {}", reagent.name, place.name),
            left: receipt.amount,
            unit: receipt.unit.to_owned(),
            assumed,
            warnings: audit::warnings(session, writing, &code),
            next: Some(format!("write {code} on it; `brimstock check {code}` tells what it can do")),
        })
    })
}

/// Appends an event to a stock's journal, if the journal still makes sense with it, and gives its row.
///
/// # Errors
/// The contradiction as a problem, and a [`crate::register::StoreError`] as one.
pub fn append(
    writing: &crate::register::Writing<'_>,
    stock: &Stock,
    places: &[Place],
    earlier: Journal,
    entry: Entry,
) -> Result<i64, Problem> {
    let with = earlier.and(entry);
    with.check().map_err(|contradiction| refused(&stock.code, &contradiction))?;
    let unit = if stock.form == Form::Solid { "g" } else { "mL" };
    Ok(writing.append(stock, unit, with, places)?)
}

pub(super) fn free_code(
    writing: &crate::register::Writing<'_>,
    reagent: &Reagent,
    wanted: Option<&str>,
) -> Result<String, Problem> {
    let Some(code) = wanted else { return Ok(writing.next_code(&reagent.code)?) };
    readable_code(code)?;
    if writing.stocks()?.iter().any(|stock| stock.code.eq_ignore_ascii_case(code)) {
        return Err(Problem::question(format!("there is a stock `{code}` already"))
            .because("a code stands for one container for ever")
            .hint("choose another, or leave --code away and take the next free one"));
    }
    Ok(code.to_owned())
}

/// Refuses a code that nobody could write on a container.
///
/// # Errors
/// For such a code.
pub fn readable_code(code: &str) -> Result<(), Problem> {
    if (1..=20).contains(&code.len()) && code.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') {
        return Ok(());
    }
    Err(Problem::question(format!("`{code}` is no code for a container"))
        .hint("accepted: 1 to 20 letters, digits and hyphens, short enough to write on it"))
}

/// A label as it was entered: `3 % w/v`.
#[must_use]
pub fn label_text(label: &Labelled) -> String {
    format!("{} {}", show::plain(label.value), label.unit)
}
