//! `bathe quench`: what is left of a bath is destroyed, and a reading says whether that is so.

use chrono::NaiveDate;
use clap::{Args, ValueEnum};

use super::draw::{Draw, drew, enter as enter_draw, taken};
use super::start::ph;
use super::{DoneArguments, bath_named, book_on, dip_version, enter, on, words};
use crate::commands::quench::{Quench, Quenched as Plan, answered};
use crate::commands::{Problem, Session, arguments};
use crate::dip::log::book::BathOf;
use crate::dip::log::{Happened, Quenched as Entry};
use crate::disposal::after::Stands;
use crate::disposal::proof::told;
use crate::disposal::quench::Verdict;
use crate::register::Writing;
use crate::units::show;

/// Enter that a bath was ended, with the reading that proves it
///
/// The neutraliser that `quench` plans is taken from the stocks. Exit code 1 if the reading says that something is left.
#[derive(Debug, Args)]
#[command(
    name = "quench",
    after_help = "Examples:\n  brimstock bathe quench 3 --reading \"strip 0\"\n  brimstock bathe quench A1 --reading \"no pink\" --drew \"AA-1 1g\""
)]
pub struct QuenchArguments {
    /// The number of the bath, or a lot that was in it last
    #[arg(value_name = "BATH|LOT")]
    pub bath: String,
    /// What the strip or the eye says
    #[arg(long, value_parser = words)]
    pub reading: String,
    /// Whether that proves it [default: yes for a reading of 0; by eye, for permanganate alone, for clear or no pink]
    #[arg(long, value_enum)]
    pub proven: Option<YesNo>,
    /// What was really taken from a stock, instead of what is planned; may stand several times
    #[arg(long, value_parser = drew, value_name = "STOCK AMOUNT")]
    pub drew: Vec<(String, String)>,
    /// Another neutraliser than the usual one
    #[arg(long, value_name = "REAGENT")]
    pub with: Option<String>,
    /// pH then
    #[arg(long, value_parser = ph)]
    pub ph: Option<f64>,
    #[command(flatten)]
    pub done: DoneArguments,
}

/// Yes or no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[allow(missing_docs, reason = "they say themselves")]
pub enum YesNo {
    Yes,
    No,
}

/// A bath that was ended, or not.
#[derive(Debug, Clone, PartialEq)]
pub struct Quenched {
    /// Its row.
    pub row: i64,
    /// The day.
    pub day: NaiveDate,
    /// What was entered.
    pub what: Entry,
    /// Key of the bath's dip.
    pub dip: String,
    /// Key of the neutraliser and grams to plan with, where there is a way.
    pub planned: Option<(String, f64)>,
    /// What was taken from the stocks.
    pub draws: Vec<Draw>,
    /// The reading that proves it.
    pub proof: Option<String>,
    /// What to mind.
    pub warnings: Vec<String>,
    /// What to do next.
    pub next: String,
}

/// Enters it.
///
/// # Errors
/// For a bath that is not there, still holds plants, or was ended or drained; a stock of another reagent; more taken than
/// there is; and a reading that is said to prove what it does not.
pub fn run(session: &Session, given: &QuenchArguments) -> Result<Quenched, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        let book = book_on(writing, NaiveDate::MAX)?;
        let bath = bath_named(&book, &given.bath)?;
        let day = given.done.day(session, bath)?;
        let then = on(session, day);
        let asked = Quench {
            what: bath.dip.clone(),
            of: None,
            bath: format!("{}mL", bath.volume.to_ml()),
            with: with(&then, writing, given, bath)?,
        };
        let plan = answered(&then, &asked, Some(writing))?;
        let by_colour = plan.treatment.is_some_and(|treatment| treatment.reading == "colour");
        let read = told(&given.reading, by_colour);
        if given.proven == Some(YesNo::Yes) && read.something {
            let what = format!("--proven yes: a reading of \"{}\" says that something is left", given.reading);
            return Err(Problem::question(what).hint("add neutraliser, wait and read again; or leave --proven away"));
        }
        let proven = given.proven.map_or(read.nothing, |said| said == YesNo::Yes);
        let what = Entry {
            bath: bath.row,
            reading: given.reading.clone(),
            proven,
            ph: given.ph,
            who: given.done.by.who.clone(),
            at: given.done.at,
        };
        let row = enter(session, writing, day, &Happened::Quenched(what.clone()), "")?;
        let needed = plan.ending.as_ref().and_then(|ending| ending.needed.as_ref());
        let mut warnings = Vec::new();
        if given.proven.is_none() && !read.something && !read.nothing {
            let reading = &given.reading;
            warnings.push(format!(
                "\"{reading}\" is not taken for a proof; if it is one, --proven yes says so (0 is one by itself{})",
                if by_colour { ", so are clear and no pink" } else { "" }
            ));
        }
        let places = writing.places()?;
        let takes = if given.drew.is_empty() {
            match (plan.verdict, needed, bath.quenched.is_empty()) {
                (Verdict::CanBeEnded, Some(needed), true) => {
                    needed.doses.iter().map(|dose| (dose.code.clone(), dose.amount)).collect()
                }
                (_, Some(_), false) => {
                    warnings.push("nothing more was taken from a stock: say what was added with --drew".to_owned());
                    Vec::new()
                }
                (Verdict::CanBeEnded, None, _) => Vec::new(),
                (Verdict::Untreatable, ..) => {
                    warnings.push(plan.reasons.join("; "));
                    Vec::new()
                }
                (verdict, ..) => {
                    let reasons = plan.reasons.join("; ");
                    warnings.push(format!(
                        "nothing was taken from a stock, say what was with --drew ({}: {reasons})",
                        verdict.words()
                    ));
                    Vec::new()
                }
            }
        } else {
            let key = plan.neutraliser.as_ref().ok_or_else(|| {
                Problem::question("--drew: nothing on file is put into such a bath")
                    .because(plan.reasons.join("; "))
                    .hint("leave --drew away, or name the neutraliser: --with REAGENT")
            })?;
            let reagent = arguments::reagent(session.catalogue, key)?;
            if plan.verdict == Verdict::Refused {
                warnings.push(plan.reasons.join("; "));
            }
            taken(&then, writing, &places, reagent, &given.drew)?
        };
        let draws = takes
            .iter()
            .map(|(code, amount)| enter_draw(session, writing, &places, row, day, (code, *amount)))
            .collect::<Result<Vec<_>, Problem>>()?;
        let planned = needed.map(|needed| (needed.neutraliser.clone(), needed.planned.to_g()));
        let next = next(bath, proven, &plan);
        let proof = plan.treatment.map(|treatment| treatment.proof.clone());
        Ok(Quenched { row, day, what, dip: bath.dip.clone(), planned, draws, proof, warnings, next })
    })
}

/// What it is ended with: as said, else what was taken, else what the dip was planned with.
fn with(
    session: &Session,
    writing: &Writing<'_>,
    given: &QuenchArguments,
    bath: &BathOf,
) -> Result<Option<String>, Problem> {
    if given.with.is_some() {
        return Ok(given.with.clone());
    }
    if let Some((code, _)) = given.drew.first() {
        return Ok(Some(arguments::stock(writing, code)?.reagent));
    }
    let dip = dip_version(session, writing, &bath.dip, bath.version)?;
    Ok(dip.and_then(|dip| dip.stop).map(|stop| stop.reagent))
}

/// What to do after a reading. To wait and read again is of use only where something ends the bath.
fn next(bath: &BathOf, proven: bool, plan: &Plan) -> String {
    let row = bath.row;
    if proven {
        return format!("`brimstock bathe drain {row} --into …`");
    }
    let again = format!("read again, and enter it: `brimstock bathe quench {row} --reading …`");
    let needed = plan.ending.as_ref().and_then(|ending| ending.needed.as_ref());
    match (plan.verdict, needed) {
        (_, Some(needed)) => {
            let grams = show::planned_grams(needed.planned.to_g());
            format!("not ended: add a little more of {} (planned {grams}), {again}", needed.neutraliser)
        }
        (Verdict::Untreatable, None) if plan.stands == Stands::AsItIs => format!(
            "nothing on file ends it, so do not wait for a reading of 0: keep it closed until it is handed over, \
             `brimstock bathe drain {row} --into handed-over`"
        ),
        (Verdict::Untreatable, None) => format!(
            "nothing on file ends it, so do not wait for a reading of 0: it leaves as it is, `brimstock bathe drain {row} \
             --into …`, where the local rule lets it; whether it must be thinned first is for that rule to say"
        ),
        (Verdict::Refused, None) => format!("not ended: {}", plan.next_step),
        (_, None) => format!("not ended: wait, {again}"),
    }
}
