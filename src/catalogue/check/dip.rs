//! The rules of what follows a bath, of what plants bear, of rows that contradict each other, and of what must not follow what.

use std::collections::{BTreeMap, BTreeSet};

use super::{Place, Sources};
use crate::catalogue::{
    Apart, CatalogueError, Contradiction, Dip, Grade, Harm, Reagent, Sequence, StepFigures, problem,
};

/// The steps, the tolerance and the contradictions of the dip book.
pub(in crate::catalogue) fn book(
    file: &str,
    figures: &StepFigures,
    dips: &[Dip],
    contradictions: &[Contradiction],
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    at.figure("steps.rinse", &figures.rinse, "rinses", 1.0..=10.0)?;
    at.figure("steps.hold", &figures.hold, "d", 1.0..=365.0)?;
    at.figure("steps.look", &figures.look, "d", 1.0..=365.0)?;
    at.figure("steps.last_look", &figures.last_look, "d", 1.0..=365.0)?;
    let mut rows: BTreeMap<&str, String> = BTreeMap::new();
    for dip in dips {
        let key = |part: &str| format!("dip.{}.{part}", dip.key);
        if dip.steps.is_empty() {
            return Err(problem(file, &key("steps"), "what follows the bath is wanted: at least one step"));
        }
        if let Some(fault) = dip.fault_in_steps(|name| dips.iter().find(|other| other.key == name)) {
            return Err(problem(file, &key("steps"), fault));
        }
        for borne in &dip.tolerance {
            at.source(&key("tolerance"), &borne.source)?;
            if sources[&borne.source].mark().is_some() == (borne.grade == Grade::Published) {
                return Err(problem(file, &key("tolerance"), "`grade` does not fit the source's kind"));
            }
            if borne.plant.is_empty() || borne.exposure.is_empty() || borne.effect.is_empty() {
                return Err(problem(file, &key("tolerance"), "`plant`, `exposure` and `effect` each need words"));
            }
        }
        for (name, row) in dip.named_rows() {
            let says = rows.entry(name).or_insert_with(|| row.says.clone());
            if *says != row.says {
                return Err(problem(file, &key("row"), format!("row `{name}` says something else in another dip")));
            }
        }
    }
    let mut used = BTreeSet::new();
    for contradiction in contradictions {
        let key = format!("contradiction.{}", contradiction.about);
        for row in [&contradiction.one, &contradiction.other] {
            if !rows.contains_key(row.as_str()) {
                return Err(problem(file, &key, format!("no row `{row}` in the evidence or tolerance of any dip")));
            }
            used.insert(row.as_str());
        }
        if contradiction.one == contradiction.other {
            return Err(problem(file, &key, "a row cannot contradict itself"));
        }
        if contradiction.how.trim().is_empty() {
            return Err(problem(file, &key, "`how` is empty: say how the two disagree"));
        }
        let unknown = contradiction.dips.iter().find(|name| !dips.iter().any(|dip| dip.key == **name));
        if let Some(name) = unknown {
            return Err(problem(file, &key, format!("no dip `{name}`")));
        }
        if contradiction.dips.is_empty() {
            return Err(problem(file, &key, "`dips` is empty: on which page does it stand?"));
        }
    }
    match rows.keys().find(|name| !used.contains(**name)) {
        Some(name) => Err(problem(file, "row", format!("row `{name}` is named, and no contradiction names it"))),
        None => Ok(()),
    }
}

/// What must not follow what.
pub(in crate::catalogue) fn sequence(
    file: &str,
    sequence: &Sequence,
    apart: &Apart,
    reagents: &BTreeMap<String, Reagent>,
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    at.figure("rinses.spoils", &sequence.rinses.spoils, "rinses", 1.0..=10.0)?;
    at.figure("rinses.danger", &sequence.rinses.danger, "rinses", 1.0..=10.0)?;
    let mut keys = BTreeSet::new();
    for trap in &sequence.traps {
        let key = format!("trap.{}", trap.key);
        if !keys.insert(&trap.key) {
            return Err(problem(file, &key, "stands twice"));
        }
        at.source(&key, &trap.source)?;
        for word in trap.after.iter().chain(&trap.before) {
            if apart.group(word).is_none() && !reagents.contains_key(word) {
                return Err(problem(file, &key, format!("no group and no reagent `{word}`")));
            }
        }
        if trap.after.is_empty() || trap.before.is_empty() || trap.happens.trim().is_empty() {
            return Err(problem(file, &key, "`after`, `before` and `happens` each need words"));
        }
        let wanted = match trap.harm {
            Harm::Spoils => &sequence.rinses.spoils,
            Harm::Danger => &sequence.rinses.danger,
        };
        match trap.rinses {
            None if trap.harm == Harm::Spoils => {
                return Err(problem(file, &key, "`rinses` is missing; only a danger is never cleared"));
            }
            Some(rinses) if f64::from(rinses) != wanted.value => {
                return Err(problem(file, &key, format!("`rinses` must be {}, as the table says", wanted.value)));
            }
            _ => {}
        }
    }
    Ok(())
}
