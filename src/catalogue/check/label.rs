//! The rules that statements and the label table must keep.

use std::collections::BTreeSet;

use super::{Place, Sources};
use crate::catalogue::{CatalogueError, Category, Choice, Element, Reagent, Statement, problem};

/// Every statement once, in both languages.
pub(in crate::catalogue) fn statements(
    file: &str,
    statements: &[Statement],
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let mut codes = BTreeSet::new();
    for statement in statements {
        at.source(&statement.code, &statement.source)?;
        at.source(&statement.code, &statement.source_es)?;
        if statement.en.trim().is_empty() || statement.es.trim().is_empty() {
            return Err(problem(file, &statement.code, "the words of both languages are wanted"));
        }
        if !codes.insert(statement.code.as_str()) {
            return Err(problem(file, &statement.code, "this code is there twice"));
        }
    }
    Ok(())
}

/// What a reagent's file names and the tables of the standard do not know.
pub(in crate::catalogue) fn named(
    file: &str,
    reagent: &Reagent,
    statements: &[Statement],
    elements: &[Element],
) -> Vec<CatalogueError> {
    let mut found = Vec::new();
    let Some(hazard) = &reagent.hazard else { return found };
    let codes = hazard.classes.iter().filter_map(|entry| entry.statement.as_ref());
    for code in codes.chain(hazard.supplements.iter().map(|row| &row.statement)) {
        if !statements.iter().any(|statement| statement.code == *code) {
            found.push(problem(file, "hazard", format!("`{code}` has no words in hazards/statements.toml")));
        }
    }
    for entry in &hazard.classes {
        let known: Vec<Category> =
            elements.iter().filter(|row| row.class == entry.class).flat_map(|row| row.categories.clone()).collect();
        let told = std::iter::once(entry.category).chain(entry.limits.iter().map(|limit| limit.category));
        for category in told.filter(|category| !known.contains(category)) {
            let accepted: Vec<String> = known.iter().map(ToString::to_string).collect();
            let what = format!("has no category {category}; accepted: {}", accepted.join(", "));
            found.push(problem(file, &format!("hazard.class.{}", entry.class), what));
        }
    }
    found
}

/// Every code of the label table has its words.
pub(in crate::catalogue) fn labels(
    file: &str,
    elements: &[Element],
    choice: &Choice,
    statements: &[Statement],
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let known = |code: &str| statements.iter().any(|statement| statement.code == code);
    let mut seen = BTreeSet::new();
    for row in elements {
        let key =
            format!("{} {}", row.class, row.categories.iter().map(ToString::to_string).collect::<Vec<_>>().join("/"));
        at.source(&key, &row.source)?;
        at.source(&key, &row.precautions_source)?;
        for category in &row.categories {
            if !seen.insert((row.class, *category)) {
                return Err(problem(file, &key, format!("category {category} is there twice")));
            }
        }
        if let Some(code) = std::iter::once(&row.statement).chain(&row.precautions).find(|code| !known(code)) {
            return Err(problem(file, &key, format!("`{code}` has no words in statements.toml")));
        }
    }
    at.source("choice", &choice.source)?;
    if choice.most == 0 || choice.most_in_danger < choice.most {
        return Err(problem(file, "choice.most", "at least 1, and in danger no fewer"));
    }
    let ordered = elements.iter().flat_map(|row| &row.precautions);
    for code in ordered {
        if !choice.order.contains(code) {
            return Err(problem(file, "choice.order", format!("`{code}` has no place in the order")));
        }
    }
    Ok(())
}
