//! The rules of the words that hide a number, and of what is told and wrong.

use std::collections::{BTreeMap, BTreeSet};

use super::{Place, Sources};
use crate::catalogue::{CatalogueError, Loose, Range, Reagent, problem};

/// How recipes are told: ranges that are ranges, words that stand once, sources that are there.
pub(in crate::catalogue) fn loose(
    file: &str,
    loose: &Loose,
    reagents: &BTreeMap<String, Reagent>,
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let range = |key: &str, range: &Range, units: &[&str]| {
        at.source(key, &range.source)?;
        if !units.contains(&range.unit.as_str()) {
            return Err(problem(file, key, format!("unit `{}` found, one of {units:?} wanted", range.unit)));
        }
        if !(range.low > 0.0 && range.low < range.high && range.high.is_finite()) {
            return Err(problem(file, key, "`low` must be above 0 and below `high`"));
        }
        Ok(())
    };
    at.figure("reading.too_strong", &loose.reading.too_strong, "1", 1.0..=100.0)?;
    at.figure("reading.too_weak", &loose.reading.too_weak, "1", 1.0..=100.0)?;
    range("reading.heaped", &loose.reading.heaped, &["level measures"])?;
    range("reading.household_teaspoon", &loose.reading.household_teaspoon, &["mL"])?;
    let mut seen = BTreeSet::new();
    for word in &loose.words {
        let key = format!("word.{}", word.says.first().map_or("", String::as_str));
        range(&key, &word.range, &["mL", "g", "mg/L"])?;
        if word.says.is_empty() || word.instead.trim().is_empty() {
            return Err(problem(file, &key, "`says` and `instead` each need words"));
        }
        for said in &word.says {
            if !seen.insert(said) || *said != said.to_lowercase() {
                return Err(problem(file, &key, format!("`{said}` must stand once, in small letters")));
            }
        }
        if word.reagent.is_some() != (word.range.unit == "mg/L") {
            return Err(problem(file, &key, "`reagent` belongs to a strength in mg/L"));
        }
        if let Some(reagent) = word.reagent.as_ref().filter(|reagent| !reagents.contains_key(*reagent)) {
            return Err(problem(file, &key, format!("no reagent `{reagent}`")));
        }
    }
    for wrong in &loose.wrongs {
        let key = format!("wrong.{}", wrong.key);
        at.source(&key, &wrong.source)?;
        let parts = wrong.has.iter().flatten().filter(|part| !part.is_empty() && **part == part.to_lowercase()).count();
        if wrong.has.is_empty() || wrong.has.iter().any(Vec::is_empty) || parts != wrong.has.iter().flatten().count() {
            return Err(problem(file, &key, "`has` needs groups of words in small letters"));
        }
        if wrong.says.trim().is_empty() {
            return Err(problem(file, &key, "`says` is empty"));
        }
    }
    Ok(())
}
