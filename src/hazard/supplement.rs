//! The Union's statements beyond the classes.

use super::exact::Exact;
use super::{Classification, Ingredient, Mixture};
use crate::catalogue::{Category, Class};

/// A statement beyond the classes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Extra {
    /// `EUH031`.
    pub statement: String,
    /// What it names, where its words have a gap for it.
    pub names: Option<String>,
    /// Why.
    pub because: String,
    /// What a keeper should know beside it.
    pub note: Option<&'static str>,
    /// Key of the source.
    pub source: String,
}

/// The notice that a data sheet can be had, for what is supplied to others.
pub const SHEET: &str = "EUH210";

/// From this share of the limit of a sensitiser a mixture names it.
const TENTH: f64 = 10.0;

/// The statements of single entries (acid frees chlorine from bleach of 5 % and more), the name of a sensitiser from a
/// tenth of its limit up, and the notice that a data sheet exists for an unclassified mixture with 1 % of a classified one,
/// or 0.1 % of one that harms in the long run.
///
/// Source: `clp-annex-ii`, `clp-sensitiser-memory`.
pub(super) fn judge(mixture: &Mixture<'_>, judged: &mut Classification) {
    let mut extras: Vec<Extra> = Vec::new();
    for ingredient in &mixture.ingredients {
        for row in &ingredient.hazard.supplements {
            let from = Exact::of(row.from);
            let together = mixture.together(ingredient);
            let reached = if row.above { together > from } else { together >= from };
            if reached && !extras.iter().any(|extra| extra.statement == row.statement) {
                extras.push(Extra {
                    statement: row.statement.clone(),
                    names: None,
                    because: format!("{} {} {from} %", told(mixture, ingredient), if row.above { ">" } else { "≥" }),
                    note: None,
                    source: row.source.clone(),
                });
            }
        }
    }
    for class in [Class::SkinSensitiser, Class::RespiratorySensitiser] {
        if judged.has(class) {
            continue;
        }
        for (ingredient, entry) in mixture.entries(class) {
            let whole = entry
                .limits
                .iter()
                .map(|limit| Exact::of(limit.from))
                .min()
                .unwrap_or_else(|| Exact::of(if entry.category == Category::OneA { 0.1 } else { 1.0 }));
            let from = &whole / &Exact::of(TENTH);
            if ingredient.percent >= from
                && !extras.iter().any(|extra| extra.names.as_deref() == Some(ingredient.name.as_str()))
            {
                extras.push(Extra {
                    statement: "EUH208".to_owned(),
                    names: Some(ingredient.name.clone()),
                    because: format!("{} {} % ≥ {from} %, a tenth of its limit", ingredient.name, ingredient.percent),
                    note: None,
                    source: "clp-sensitiser-memory".to_owned(),
                });
            }
        }
    }
    if judged.classes.is_empty()
        && let Some(because) = sheet(mixture, &extras)
    {
        extras.push(Extra {
            statement: SHEET.to_owned(),
            names: None,
            because,
            note: Some("for supply to professionals only"),
            source: "clp-annex-ii".to_owned(),
        });
    }
    judged.supplements = extras;
}

/// Why a data sheet must be had for a mixture without a class, if it must.
fn sheet(mixture: &Mixture<'_>, extras: &[Extra]) -> Option<String> {
    if extras.iter().any(|extra| extra.statement == "EUH208") {
        return Some("no class, but a tenth of the limit of a sensitiser".to_owned());
    }
    mixture.ingredients.iter().find_map(|ingredient| {
        let lasting = ingredient
            .hazard
            .classes
            .iter()
            .any(|entry| matches!(entry.class, Class::Carcinogen | Class::Reproduction));
        let from = if lasting { 0.1 } else { 1.0 };
        let reached = !ingredient.hazard.classes.is_empty() && mixture.together(ingredient) >= Exact::of(from);
        reached.then(|| format!("no class, but {} ≥ {from} % of a classified substance", told(mixture, ingredient)))
    })
}

/// `sodium-metabisulfite 0.9 % and potassium-metabisulfite 0.9 %, together 1.8 %`.
fn told(mixture: &Mixture<'_>, ingredient: &Ingredient<'_>) -> String {
    let each: Vec<String> = mixture.kin(ingredient).map(|part| format!("{} {} %", part.name, part.percent)).collect();
    match &each[..] {
        [one] => one.clone(),
        several => format!("{}, together {} %", several.join(" and "), mixture.together(ingredient)),
    }
}
