//! From classes to what stands on a label: pictograms, signal word, statements, each left out where another covers it.

use super::{Classification, Found};
use crate::catalogue::{Category, Choice, Class, Element, Signal};

/// The elements of a label.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Label {
    /// The signal word, if any.
    pub signal: Option<Signal>,
    /// `GHS05`, in order.
    pub pictograms: Vec<String>,
    /// Codes of the hazard statements, in the order of the classes.
    pub statements: Vec<String>,
    /// Codes of the precautionary statements chosen, the most needed first.
    pub precautions: Vec<String>,
}

/// The label of a classification.
///
/// `Danger` covers `Warning`; burns of the skin cover damage to the eye (H314 over H318); the skull, the corroded hand and
/// the breast star each cover the exclamation mark for what they say worse; long-lasting harm to water covers harm at once.
/// Oxidising liquid 3 and eye damage 1: `Danger`, GHS03 and GHS05, H272 and H318.
///
/// Source: `hpr-2015-17` (3.6), `clp-article-26`, `clp-article-28`, and those of `hazards/labels.toml`.
#[must_use]
pub fn label(judged: &Classification, elements: &[Element], choice: &Choice) -> Label {
    let rows: Vec<(&Found, &Element)> = judged
        .classes
        .iter()
        .filter_map(|found| element(elements, found.class, found.category).map(|row| (found, row)))
        .collect();
    Label {
        signal: rows.iter().filter_map(|(_, row)| row.signal).min(),
        pictograms: pictograms(&rows),
        statements: statements(&rows),
        precautions: precautions(&rows, choice),
    }
}

/// The line of the table for a category of a class.
#[must_use]
pub fn element(elements: &[Element], class: Class, category: Category) -> Option<&Element> {
    elements.iter().find(|row| row.class == class && row.categories.contains(&category))
}

/// The statement of a class found: the variant of its entry, or the usual one.
#[must_use]
pub fn statement(elements: &[Element], found: &Found) -> Option<String> {
    found.statement.clone().or_else(|| element(elements, found.class, found.category).map(|row| row.statement.clone()))
}

fn pictograms(rows: &[(&Found, &Element)]) -> Vec<String> {
    let shown = |code: &str| rows.iter().any(|(_, row)| row.pictogram.as_deref() == Some(code));
    let airways = rows.iter().any(|(found, _)| found.class == Class::RespiratorySensitiser);
    let mut codes: Vec<String> = rows
        .iter()
        .filter(|(found, row)| {
            let irritates = matches!(found.class, Class::Skin | Class::Eye);
            match row.pictogram.as_deref() {
                Some("GHS07") => {
                    !(shown("GHS06")
                        || (irritates && shown("GHS05"))
                        || (airways && (irritates || found.class == Class::SkinSensitiser)))
                }
                _ => true,
            }
        })
        .filter_map(|(_, row)| row.pictogram.clone())
        .collect();
    codes.sort();
    codes.dedup();
    codes
}

fn statements(rows: &[(&Found, &Element)]) -> Vec<String> {
    let mut codes: Vec<String> =
        rows.iter().map(|(found, row)| found.statement.clone().unwrap_or_else(|| row.statement.clone())).collect();
    codes.dedup();
    let has = |codes: &[String], code: &str| codes.iter().any(|known| known == code);
    if has(&codes, "H400") && has(&codes, "H411") {
        // Very toxic at once and toxic for long are said together as very toxic for long.
        codes.retain(|code| code != "H400");
        codes.iter_mut().filter(|code| *code == "H411").for_each(|code| *code = "H410".to_owned());
    }
    for (covering, covered) in [("H314", "H318"), ("H410", "H400")] {
        if has(&codes, covering) {
            codes.retain(|code| code != covered);
        }
    }
    codes
}

fn precautions(rows: &[(&Found, &Element)], choice: &Choice) -> Vec<String> {
    let mut codes: Vec<String> = rows.iter().flat_map(|(_, row)| row.precautions.iter().cloned()).collect();
    codes.sort();
    codes.dedup();
    let present = codes.clone();
    for covers in choice.covers.iter().filter(|covers| present.contains(&covers.code)) {
        codes.retain(|code| !covers.needless.contains(code));
    }
    let place = |code: &String| choice.order.iter().position(|known| known == code).unwrap_or(usize::MAX);
    codes.sort_by_key(|code| (place(code), code.clone()));
    let (kept, others): (Vec<_>, Vec<_>) = codes.into_iter().partition(|code| choice.always.contains(code));
    let danger = rows.iter().any(|(_, row)| row.signal == Some(Signal::Danger));
    let most = if danger { choice.most_in_danger } else { choice.most };
    others.into_iter().take(most.saturating_sub(kept.len())).chain(kept).collect()
}
