//! A recipe that was read, beside the dip book.

use comfy_table::Cell;

use super::dip_book::minutes;
use super::{assumed, mark, why};
use crate::catalogue::{Grade, Minutes};
use crate::commands::dip_read::Recipe;
use crate::dip::told::Span;
use crate::dip::told::beside::Beside;
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::estimate::Estimate;
use crate::units::show;

/// The strength with its band, what was assumed, the rows of the book, and what is to be asked.
pub(super) fn recipe(style: &Style, recipe: &Recipe) -> String {
    let mut text = sentence(style, "read: ", &recipe.text);
    let found = match (recipe.g_per_l, recipe.grams) {
        (Some(strength), _) => format!("{} of {}", strength_words(strength), recipe.reagent),
        (None, Some(grams)) if grams.mid < 0.1 => {
            format!("{} mg of {}, into no volume", show::with_band(grams.scaled(1000.0)), recipe.reagent)
        }
        (None, Some(grams)) => format!("{} g of {}, into no volume", show::with_band(grams), recipe.reagent),
        (None, None) => recipe.reagent.clone(),
    };
    text.push_str(&sentence(style, "    = ", &found));
    if let Some(chlorine) = recipe.chlorine {
        text.push_str(&sentence(style, "    = ", &format!("{} available chlorine", strength_words(chlorine))));
    }
    text.push_str(&sentence(style, "time: ", &recipe.minutes.map_or("not told".to_owned(), time)));
    text.push_str(&assumed(style, &recipe.assumed));
    for line in &recipe.questions {
        text.push_str(&sentence(style, "ask: ", line));
    }
    if recipe.g_per_l.is_some() {
        text.push_str(&book(style, &recipe.compared, recipe));
    }
    text.push_str(&why(style, &recipe.steps));
    let far = |row: &Beside| libm::fabs(libm::log(row.ratio.mid));
    let next = match recipe.compared.iter().min_by(|a, b| far(a).total_cmp(&far(b))) {
        Some(row) => format!("`brimstock dips {}` tells what stands behind the nearest of them", row.dip),
        None => "`brimstock dips` lists the dips that are on file".to_owned(),
    };
    text.push_str(&sentence(style, "next: ", &next));
    text
}

/// In g/L, or in mg/L where that reads better.
fn strength_words(strength: Estimate) -> String {
    match strength.mid {
        mid if mid < 0.1 => format!("{} mg/L", show::with_band(strength.scaled(1000.0))),
        _ => format!("{} g/L", show::with_band(strength)),
    }
}

fn time(span: Span) -> String {
    minutes(&Minutes { low: span.low, high: span.high, source: String::new() })
}

/// The rows of the book for the reagent.
fn book(style: &Style, rows: &[Beside], recipe: &Recipe) -> String {
    let none = |grade: Grade| !rows.iter().any(|row| row.grade == grade);
    let mut text = String::new();
    if rows.is_empty() {
        return sentence(
            style,
            "",
            &format!("The dip book has no row for {}: nothing to compare it with.", recipe.reagent),
        );
    }
    text.push_str("Beside the dip book:\n");
    let lines = rows
        .iter()
        .map(|row| {
            let source = match row.grade {
                Grade::Published => format!("published, {}", row.source),
                Grade::CommonPractice | Grade::Keeper => {
                    mark(style, &row.source).trim().trim_matches(['[', ']']).to_owned()
                }
            };
            let gear = if row.for_plants { "" } else { " (gear)" };
            [format!("{}{gear}", row.dip), row.aim.clone(), time(row.minutes), source, row.words()]
                .map(Cell::new)
                .to_vec()
        })
        .collect();
    text.push_str(&table(style, &["dip", "its figure", "its time", "evidence", "the recipe is"], &[1, 3, 4], lines));
    if none(Grade::Published) {
        text.push_str(&sentence(
            style,
            "",
            &format!(
                "No dip of {} on file has a published figure: practice is all there is beside it.",
                recipe.reagent
            ),
        ));
    }
    text
}
