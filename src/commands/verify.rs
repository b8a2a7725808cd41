//! `verify`: what is wrong with a register, all of it.

use std::collections::BTreeSet;
use std::path::PathBuf;

use chrono::NaiveDate;
use clap::Args;

use super::backup::no_copy;
use super::bathe::book_on;
use super::ready::planned;
use super::{Problem, Session, own_dips, own_reagents};
use crate::catalogue::Catalogue;
use crate::register::measure::Weighed;
use crate::register::{Register, StoreError, Writing, ledger};

/// Look a register through: its file, its sums, and what it names
///
/// Exit code 0 if nothing is wrong, 1 if something is; 3 if a file of your own reagents has a fault: what was found then was
/// found without that reagent. The data sheets that lie beside it are looked at by `brimstock sds list`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  brimstock verify\n  brimstock verify shelf.copies/shelf-2031-03-15.brimstock")]
pub struct Verify {
    /// Another file than the register, as a copy of it
    pub file: Option<PathBuf>,
}

/// A register that was looked through.
#[derive(Debug, Clone, PartialEq)]
pub struct Verified {
    /// The file.
    pub file: PathBuf,
    /// How many stocks it has.
    pub stocks: usize,
    /// How many lines their journals have.
    pub lines: usize,
    /// What is wrong; nothing in a sound one.
    pub faults: Vec<String>,
    /// How many of them, the last ones, are of the keeper's own reagents.
    pub of_reagents: usize,
}

/// Looks a register through.
///
/// # Errors
/// If it cannot be opened at all.
pub fn run(session: &Session, arguments: &Verify) -> Result<Verified, Problem> {
    let file = arguments.file.clone().unwrap_or_else(|| session.path.clone());
    // A copy of the keeper's is not brought up to date by being looked at.
    let (mut register, _folder) = match &arguments.file {
        Some(copy) => {
            let (register, folder) = Register::open_aside(copy).map_err(|error| no_copy(session, copy, error))?;
            (register.watched(session.work.clone())?, Some(folder))
        }
        None => (session.register()?, None),
    };
    let (catalogue, broken) = own_reagents::as_far_as_right(&session.path)?;
    let mut verified = look_through(catalogue, &mut register, file)?;
    verified.of_reagents = broken.len();
    verified.faults.extend(broken);
    Ok(verified)
}

/// Looks an open register through.
///
/// # Errors
/// If it cannot be read.
pub(super) fn look_through(catalogue: &Catalogue, register: &mut Register, file: PathBuf) -> Result<Verified, Problem> {
    let faults = register.faults()?;
    let mut verified = Verified { file, stocks: 0, lines: 0, faults, of_reagents: 0 };
    if !verified.faults.is_empty() {
        // What is read from a damaged file is no ground for saying more.
        return Ok(verified);
    }
    register.read(|reading| sums(catalogue, reading, &mut verified))?;
    Ok(verified)
}

/// What the file cannot know: journals that contradict themselves, reagents and dips that nobody knows.
fn sums(catalogue: &Catalogue, reading: &Writing<'_>, verified: &mut Verified) -> Result<(), Problem> {
    let places = reading.places()?;
    reading.each_stock(&places, |stock, entries| {
        verified.stocks += 1;
        verified.lines += entries.len();
        if let Err(contradiction) = ledger::check(&entries) {
            verified.faults.push(format!("`{}`: {contradiction}", stock.code));
        }
        if catalogue.reagent(&stock.reagent).is_none() {
            verified
                .faults
                .push(format!("`{}` holds `{}`, which this catalogue does not know", stock.code, stock.reagent));
        }
        Ok::<(), StoreError>(())
    })?;
    let unknown: BTreeSet<String> = reading
        .measures()?
        .iter()
        .flat_map(|owned| owned.weighings.iter())
        .filter_map(|weighing| match &weighing.what {
            Weighed::Reagent(key) if catalogue.reagent(key).is_none() => Some(key.clone()),
            _ => None,
        })
        .collect();
    verified
        .faults
        .extend(unknown.iter().map(|key| format!("`{key}` was weighed, and this catalogue does not know it")));
    reading.sheets()?;
    for version in reading.dip_versions()? {
        if let Err(problem) = own_dips::read(catalogue, &verified.file, &version) {
            verified.faults.push(problem.what);
        }
    }
    reading.signatures()?;
    // A book whose rows contradict each other, and a plan that is none.
    // The register compares days as text: of four figures a year.
    let last = NaiveDate::from_ymd_opt(9999, 12, 31).unwrap_or(NaiveDate::MAX);
    for problem in [book_on(reading, last).err(), planned(reading, last).err()] {
        verified.faults.extend(problem.map(|problem| problem.what));
    }
    Ok(())
}
