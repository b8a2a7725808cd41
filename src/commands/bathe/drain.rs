//! `bathe drain`: where a bath went, and by which permission.

use clap::{Args, ValueEnum};

use super::{DoneArguments, Noted, bath_named, book_on, dip_version, enter};
use crate::catalogue::Dip;
use crate::commands::{Problem, Session, arguments, local};
use crate::dip::log::book::BathOf;
use crate::dip::log::{Drained, Happened};
use crate::disposal::after::record;

/// Enter where a bath went, with the permission that allows it
///
/// What the local rules have on file is used where no permission is given.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock bathe drain 3 --into sewer\n  brimstock bathe drain A1 --into sewer --permission \"letter W-17\"\n  brimstock bathe drain 3 --into handed-over"
)]
pub struct DrainArguments {
    /// The number of the bath, or a lot that was in it last
    #[arg(value_name = "BATH|LOT")]
    pub bath: String,
    /// Where it went
    #[arg(long, value_enum)]
    pub into: Into,
    /// The permission: a letter, a reference
    #[arg(long, value_parser = arguments::reason, value_name = "REFERENCE")]
    pub permission: Option<String>,
    /// Why it went against a warning; the reason is kept
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    pub overrule: Option<String>,
    #[command(flatten)]
    pub done: DoneArguments,
}

/// Where a bath can go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Into {
    /// A drain that leads to a sewer and its works
    Sewer,
    /// A container that somebody takes who is licensed to
    HandedOver,
    /// A septic tank or a soakaway: always refused
    Septic,
    /// A pond, river, ditch, storm drain or the garden: always refused
    OpenWater,
}

impl Into {
    fn words(self) -> &'static str {
        match self {
            Into::Sewer => "sewer",
            Into::HandedOver => "handed over",
            Into::Septic => "septic tank",
            Into::OpenWater => "open water",
        }
    }
}

/// Enters it.
///
/// # Errors
/// For open water and septic tanks; for a sewer without a permission on file or in hand, with an answer that forbids it, for
/// a bath that no reading proved to be ended, and for one that never goes down a drain; for a bath that is not there, was
/// drained, or still holds plants.
pub fn run(session: &Session, given: &DrainArguments) -> Result<Noted, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        let book = book_on(writing, chrono::NaiveDate::MAX)?;
        let bath = bath_named(&book, &given.bath)?;
        let day = given.done.day(session, bath)?;
        let dip = dip_version(session, writing, &bath.dip, bath.version)?
            .ok_or_else(|| Problem::data(format!("version {} of `{}` is not known here", bath.version, bath.dip)))?;
        let mut warnings = Vec::new();
        let permission = match given.into {
            Into::Septic | Into::OpenWater => {
                return Err(Problem::refused(format!("a bath never goes into {}", given.into.words()))
                    .because("what ends snails and algae in a bath does so there too")
                    .hint(
                        "keep it closed and labelled; accepted: --into sewer where that is allowed, --into handed-over",
                    ));
            }
            Into::HandedOver => given.permission.clone(),
            Into::Sewer => {
                ended(&dip, bath, given, &mut warnings)?;
                sewer(session, &dip, bath, given, &mut warnings)?
            }
        };
        let what = Happened::Drained(Drained {
            bath: bath.row,
            into: given.into.words().to_owned(),
            permission: permission.clone(),
            who: given.done.by.who.clone(),
            overruled: given.overrule.clone(),
            at: given.done.at,
        });
        let row = enter(session, writing, day, &what, "")?;
        let by = permission.as_ref().map_or(String::new(), |permission| format!(", by {permission}"));
        Ok(Noted {
            row,
            kind: "drained",
            day,
            lot: None,
            bath: Some(bath.row),
            permission,
            said: format!("bath {} ({}) left: {}{by}", bath.row, bath.dip, given.into.words()),
            warnings,
            next: None,
        })
    })
}

/// That a bath which must be ended was.
fn ended(dip: &Dip, bath: &BathOf, given: &DrainArguments, warnings: &mut Vec<String>) -> Result<(), Problem> {
    if dip.stop.is_none() || bath.is_ended() {
        return Ok(());
    }
    let why = match bath.quenched.last() {
        Some(last) => format!("the last reading, of {}, was \"{}\"", last.day, last.what.reading),
        None => "no reading is on file".to_owned(),
    };
    let what = format!("nothing proves that bath {} is ended: {why}", bath.row);
    if given.overrule.is_some() {
        warnings.push(format!("overruled: {what}"));
        return Ok(());
    }
    Err(Problem::refused(what)
        .because(format!("a bath of `{}` is ended before it leaves", dip.key))
        .hint(format!("`brimstock bathe quench {} --reading …`, or --overrule \"why\"", bath.row)))
}

/// The permission by which a bath goes down a drain.
fn sewer(
    session: &Session,
    dip: &Dip,
    bath: &BathOf,
    given: &DrainArguments,
    warnings: &mut Vec<String>,
) -> Result<Option<String>, Problem> {
    let catalogue = session.catalogue;
    let reagent = arguments::reagent(catalogue, &dip.reagent)?;
    let key = reagent.care.as_ref().map_or("", |care| care.disposal.as_str());
    let handed_over = catalogue.disposal().class(key).is_none_or(|class| class.hand_over);
    if handed_over && catalogue.neutralise().treatment(&reagent.key).is_none() {
        return Err(Problem::refused(format!("a bath of {} goes down no drain, whatever was answered", reagent.name))
            .because("nothing on file ends it")
            .hint("accepted: --into handed-over"));
    }
    let local = local::of(session)?;
    let neutraliser = dip.stop.as_ref().filter(|_| !bath.quenched.is_empty()).map(|stop| stop.reagent.as_str());
    let answers = record(&local, key, &reagent.key, neutraliser).answers;
    if let Some(no) = answers.iter().find(|answer| !answer.allowed) {
        let (whom, on) = (&no.asked.whom, no.asked.on);
        let what = format!("{whom} said on {on} that {} may not go into the {}", no.reagent, no.into);
        if given.permission.is_none() {
            return Err(Problem::refused(what).because("the local rules decide, and no reason overrules them").hint(
                "accepted: --into handed-over, or --permission with a later answer; then `brimstock local set`",
            ));
        }
        warnings.push(format!("{what}: enter the later answer with `brimstock local`"));
    }
    for answer in answers.iter().filter(|answer| answer.asked.wants_asking_again(session.day)) {
        warnings.push(format!("the answer of {} for {} wants asking for again", answer.asked.on, answer.reagent));
    }
    let Some(first) = answers.first() else {
        let what = format!("no rule on file for {} into a sewer", reagent.name);
        if given.permission.is_none() && given.overrule.is_none() {
            return Err(Problem::refused(what).because("whether it may is for the water company to say").hint(
                "ask them and enter it: `brimstock local`; or give --permission REFERENCE, or --overrule \"why\"",
            ));
        }
        warnings.push(what);
        return Ok(given.permission.clone());
    };
    let on_file = || {
        let asked = &first.asked;
        asked.reference.clone().unwrap_or_else(|| format!("{}, {}", asked.whom, asked.on))
    };
    Ok(Some(given.permission.clone().unwrap_or_else(on_file)))
}
