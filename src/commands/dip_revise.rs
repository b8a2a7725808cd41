//! `dips revise`: the next version of a dip.

use clap::Args;

use super::dip_add::keep;
use super::dip_own::{Given, Kept, changes, questions};
use super::{Problem, Session, arguments};
use crate::catalogue::Dip;

/// Change a dip of the book or of your own: the version before stays on file
///
/// Of cautions, evidence and what is not shown, lines given replace your own earlier ones; those of the shipped book stay.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  brimstock dips revise bleach-fine-leaved --minutes \"max 110 s\" --because \"load 3 browned at 2 min 55 s\""
)]
pub struct Revise {
    /// The dip
    pub dip: String,
    #[command(flatten)]
    pub given: Given,
    /// Why it is changed
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    pub because: String,
}

/// Writes the next version.
///
/// # Errors
/// For an unknown dip, another reagent, a part that cannot be, a change of nothing, and a day before that of a later version.
pub fn run(session: &Session, arguments: &Revise) -> Result<Kept, Problem> {
    let old = arguments::dip(session.catalogue, &arguments.dip)?;
    same_reagent(session, old, &arguments.given)?;
    let base = base(session, old);
    let (mut dip, goal) = arguments.given.over(session, old, Some(&base))?;
    if dip == *old {
        return Err(Problem::question(format!("nothing would change in `{}`", old.key))
            .because("what is given is what it says already, or nothing is given; nothing was written")
            .hint(format!("`brimstock dips {}` shows it; `brimstock help dips revise` what can be changed", old.key)));
    }
    let read_again = session.register()?.write(|writing| -> Result<Vec<String>, Problem> {
        let versions = writing.dip_versions()?;
        let last = versions.iter().filter(|version| version.dip == old.key).max_by_key(|version| version.version);
        if let Some(last) = last.filter(|last| last.version != old.version) {
            return Err(Problem::question(format!(
                "version {} of `{}` holds from {} on, and this would hold from {}",
                last.version, old.key, last.day, session.day
            ))
            .because("a later version cannot begin before an earlier one; nothing was written")
            .hint(format!("enter it on {} or later", last.day)));
        }
        dip.version = old.version + 1;
        keep(session, &dip, &arguments.because, |version| writing.add_dip_version(version, &session.entered_at))?;
        let mut who: Vec<String> = Vec::new();
        for signature in writing.signatures()?.into_iter().filter(|signature| signature.dip == old.key) {
            if !who.iter().any(|other| other.eq_ignore_ascii_case(&signature.who)) {
                who.push(signature.who);
            }
        }
        Ok(who)
    })?;
    let questions = questions(session, &dip, &goal)?;
    Ok(Kept {
        questions,
        changes: changes(old, &dip),
        dip,
        goal,
        day: session.day,
        why: arguments.because.clone(),
        taken: Vec::new(),
        read_again,
    })
}

/// Another reagent makes another dip.
fn same_reagent(session: &Session, dip: &Dip, given: &Given) -> Result<(), Problem> {
    let Some(word) = &given.reagent else { return Ok(()) };
    let reagent = arguments::reagent(session.catalogue, word)?;
    if reagent.key == dip.reagent {
        return Ok(());
    }
    Err(Problem::question(format!("`{}` is made with {}, not with {}", dip.key, dip.reagent, reagent.key))
        .because("one reagent is never put in the place of another: that is another dip; nothing was written")
        .hint("enter it as one: `brimstock dips add`"))
}

/// What of a dip stays whatever the keeper says: of a shipped dip its lines, of one of the keeper's own the cautions that
/// shipped dips of the reagent have.
fn base(session: &Session, dip: &Dip) -> Dip {
    if let Some(shipped) = session.catalogue.shipped_dip(&dip.key) {
        return shipped.clone();
    }
    let same = session.catalogue.shipped_dips().iter().filter(|other| other.reagent == dip.reagent);
    let cautions = same.flat_map(|other| other.cautions.clone()).collect();
    Dip { not_shown: Vec::new(), evidence: Vec::new(), cautions, ..dip.clone() }
}
