//! What stands on the shelf, and one stock with its journal.

use comfy_table::Cell;

use super::sds;
use super::strength::checked;
use crate::commands::shelf::{Shelved, Shown};
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::show;

/// Every stock on the shelf, one line each.
pub(super) fn shelved(style: &Style, shelved: &Shelved) -> String {
    if shelved.stocks.is_empty() {
        return sentence(
            style,
            "",
            &format!(
                "nothing stands on the shelf on {}; enter what does: `brimstock receive hydrogen-peroxide \"3 % w/v\" 500mL --at PLACE`",
                shelved.on
            ),
        );
    }
    let mut text = format!("The shelf on {}\n", shelved.on);
    let rows = shelved
        .stocks
        .iter()
        .map(|line| {
            let strength = line.strength.as_ref().map_or_else(
                || "not known".to_owned(),
                |usual| format!("{} {}", show::with_band(usual.estimate), usual.unit),
            );
            [
                line.code.clone(),
                line.reagent.clone(),
                line.label.clone(),
                strength,
                show::amount(line.left, &line.unit),
                line.place.clone(),
            ]
            .map(Cell::new)
            .to_vec()
        })
        .collect();
    text.push_str(&table(style, &["code", "reagent", "label", "strength", "left", "place"], &[], rows));
    for line in shelved.stocks.iter().filter(|line| !line.note.is_empty()) {
        text.push_str(&sentence(style, &format!("{}: ", line.code), &line.note));
    }
    text.push_str("Strengths: median, in brackets where it lies nine times in ten.\n");
    text
}

/// A stock as it is checked, where it stands, and its journal.
pub(super) fn shown(style: &Style, shown: &Shown) -> String {
    let mut text = checked(style, &shown.checked);
    let standing = match &shown.retired {
        Some((day, why)) => format!("left the shelf on {day}: {why}"),
        None => format!("stands at {}, {}", shown.place, shown.condition.word()),
    };
    text.push_str(&sentence(style, "", &standing));
    text.push_str(&sds::line(style, &shown.checked.stock, shown.retired.is_some(), shown.sheet.as_ref()));
    let rows = shown
        .journal
        .iter()
        .map(|line| {
            [line.number.to_string(), line.day.to_string(), line.kind.clone(), line.says.clone()]
                .map(Cell::new)
                .to_vec()
        })
        .collect();
    text.push_str(&table(style, &["line", "day", "event", "says"], &[3], rows));
    text
}
