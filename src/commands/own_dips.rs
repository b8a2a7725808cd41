//! Dips of the keeper's own: which version holds on a day, and the catalogue with them.

use std::path::Path;

use chrono::NaiveDate;

use super::{Problem, Session};
use crate::catalogue::{Catalogue, Dip};
use crate::dip::recipe::goal;
use crate::register::dip_book::DipVersion;
use crate::register::{Register, StoreError};

/// Makes the catalogue of a register, and once more only where other dips hold.
#[derive(Debug, Default)]
pub struct Book {
    made: Option<(Vec<Dip>, &'static Catalogue)>,
}

/// One version of a dip in its history.
#[derive(Debug, Clone, PartialEq)]
pub struct VersionLine {
    /// Its number.
    pub version: u32,
    /// The day from which it holds; none of a shipped one.
    pub day: Option<NaiveDate>,
    /// Why it was entered; none of a shipped one.
    pub why: Option<String>,
}

impl Book {
    /// The catalogue for a register on a day: the given one, with the keeper's own dips where there are some.
    ///
    /// A register that cannot be opened is no matter here: the verb that needs it says what is wrong.
    ///
    /// # Errors
    /// For versions that are damaged, that cannot be read just now, or whose reagent is no longer on file.
    pub fn catalogue(
        &mut self,
        base: &'static Catalogue,
        register: &Path,
        day: NaiveDate,
    ) -> Result<&'static Catalogue, Problem> {
        let versions = match Register::dip_versions_in(register) {
            // Whoever asks again a moment later may well be answered, and then without the keeper's own dips.
            Err(error @ (StoreError::Damaged { .. } | StoreError::Busy(_) | StoreError::Disk { .. })) => {
                return Err(error.into());
            }
            Err(_) => return Ok(base),
            Ok(versions) => versions,
        };
        let mut own: Vec<Dip> = Vec::new();
        for version in versions.iter().filter(|version| holds(&versions, version, day)) {
            own.push(read(base, register, version)?);
        }
        if own.is_empty() {
            return Ok(base);
        }
        match &self.made {
            Some((made_of, made)) if *made_of == own => Ok(made),
            _ => {
                // Read once a run, and wanted to its end.
                let made: &'static Catalogue = Box::leak(Box::new(base.with_dips(own.clone())));
                self.made = Some((own, made));
                Ok(made)
            }
        }
    }
}

/// True if this is the version of its dip that holds on a day.
fn holds(versions: &[DipVersion], version: &DipVersion, day: NaiveDate) -> bool {
    latest(versions, &version.dip, day).is_some_and(|latest| latest.version == version.version)
}

/// The version of a dip that holds on a day, of those that were entered.
#[must_use]
pub fn latest<'a>(versions: &'a [DipVersion], key: &str, day: NaiveDate) -> Option<&'a DipVersion> {
    versions.iter().filter(|version| version.dip == key && version.day <= day).max_by_key(|version| version.version)
}

/// A version as it was entered, looked through.
///
/// # Errors
/// For one that is damaged, or whose reagent is no longer on file.
pub fn read(catalogue: &Catalogue, register: &Path, version: &DipVersion) -> Result<Dip, Problem> {
    let named = format!("version {} of the dip `{}`", version.version, version.dip);
    let damaged = |cause: String| Problem::from(StoreError::Damaged { path: register.to_owned(), cause });
    let dip = version.read().map_err(damaged)?;
    let Some(reagent) = catalogue.reagent(&dip.reagent) else {
        return Err(Problem::data(format!("{named} is made with `{}`, which is no longer on file", dip.reagent))
            .because("a reagent of your own stands in a file beside the register")
            .hint(format!("put `{}.toml` back into that folder", dip.reagent)));
    };
    catalogue.dip_fits(&dip).map_err(|error| damaged(format!("{named}: {}", error.what)))?;
    let goal = goal(&dip, reagent, catalogue.measuring()).map_err(|error| damaged(format!("{named}: {error}")))?;
    let (low, aim, high) = (goal.low.to_g_per_l(), goal.aim.to_g_per_l(), goal.high.to_g_per_l());
    if !(0.0 < low && low <= aim && aim <= high) {
        return Err(damaged(format!("{named}: its aim is not inside its band")));
    }
    Ok(dip)
}

/// Every version of every dip of the keeper's own; none without a register.
///
/// # Errors
/// For a register that cannot be read.
pub fn versions(session: &Session) -> Result<Vec<DipVersion>, Problem> {
    Ok(Register::dip_versions_in(&session.path)?)
}

/// The versions of a dip up to the day of the question, oldest first.
#[must_use]
pub fn history(session: &Session, versions: &[DipVersion], key: &str) -> Vec<VersionLine> {
    let entered = versions.iter().filter(|version| version.dip == key && version.day <= session.day);
    let mut lines: Vec<VersionLine> = entered
        .map(|version| VersionLine { version: version.version, day: Some(version.day), why: Some(version.why.clone()) })
        .collect();
    if session.catalogue.shipped_dip(key).is_some() && lines.iter().all(|line| line.version != 1) {
        lines.insert(0, VersionLine { version: 1, day: None, why: None });
    }
    lines
}

/// A version of a dip by its number, on whatever day it was entered; nothing where it is not known here.
///
/// # Errors
/// For one that is damaged, or whose reagent is no longer on file.
pub fn version(session: &Session, versions: &[DipVersion], key: &str, number: u32) -> Result<Option<Dip>, Problem> {
    if let Some(entered) = versions.iter().find(|version| version.dip == key && version.version == number) {
        return read(session.catalogue, &session.path, entered).map(Some);
    }
    Ok(session.catalogue.shipped_dip(key).filter(|shipped| shipped.version == number).cloned())
}

/// An earlier version of a dip, or the one in force, by its number.
///
/// # Errors
/// For a number that it does not have on the day of the question.
pub fn numbered(session: &Session, versions: &[DipVersion], dip: &Dip, number: u32) -> Result<Dip, Problem> {
    let entered = versions.iter().find(|version| version.dip == dip.key && version.version == number);
    let holds = entered.is_none_or(|version| version.day <= session.day);
    match version(session, versions, &dip.key, number)?.filter(|_| holds) {
        Some(dip) => Ok(dip),
        None => {
            let history = history(session, versions, &dip.key);
            let numbers: Vec<String> = history.iter().map(|line| line.version.to_string()).collect();
            let what = format!("`{}` has no version {number} on {}", dip.key, session.day);
            let problem = Problem::question(what).hint(format!("accepted: {}", numbers.join(", ")));
            Err(match entered {
                Some(version) => problem.because(format!("that one holds from {} on", version.day)),
                None => problem,
            })
        }
    }
}

/// The dip as it holds on an earlier day than that of the question.
///
/// # Errors
/// For a day on which it was not there.
pub fn on(session: &Session, versions: &[DipVersion], dip: &Dip, day: NaiveDate) -> Result<Dip, Problem> {
    if let Some(version) = latest(versions, &dip.key, day) {
        return read(session.catalogue, &session.path, version);
    }
    session.catalogue.shipped_dip(&dip.key).cloned().ok_or_else(|| {
        let first = versions.iter().find(|version| version.dip == dip.key).map(|version| version.day);
        let since = first.map_or(String::new(), |first| format!(": it is there from {first} on"));
        Problem::question(format!("there was no dip `{}` on {day}{since}", dip.key))
            .because("nothing was written")
            .hint("give a later day")
    })
}
