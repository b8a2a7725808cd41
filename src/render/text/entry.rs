//! What was entered: settings, places, and lines of a journal.

use comfy_table::Cell;

use super::assumed;
use crate::commands::place::{Places, daylight_text, site_text};
use crate::commands::receive::Entered;
use crate::commands::settings::Done;
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::show;

/// What was done to the register itself.
pub(super) fn done(style: &Style, done: &Done) -> String {
    let mut text = sentence(style, "", &done.said);
    if let Some(next) = &done.next {
        text.push_str(&sentence(style, "next: ", next));
    }
    text
}

/// The places, or what was entered about one.
pub(super) fn places(style: &Style, places: &Places) -> String {
    let mut text = String::new();
    if let Some(said) = &places.said {
        text.push_str(&sentence(style, "", said));
        text.push_str(&assumed(style, &places.assumed));
        return text;
    }
    if places.places.is_empty() {
        return sentence(style, "", "no place yet; enter one: `brimstock place add cupboard --temp 19 --light dark`");
    }
    let rows = places
        .places
        .iter()
        .map(|place| {
            let logged = match place.logged_days {
                0 => String::new(),
                days => format!(", {days} days logged"),
            };
            [
                place.name.clone(),
                format!("{}{logged}", place.climate),
                format!("{} °C", show::plain(libm::round(place.mean_kinetic_c * 10.0) / 10.0)),
                daylight_text(place.daylight),
                place.since.to_string(),
            ]
            .map(Cell::new)
            .to_vec()
        })
        .collect();
    let mut text = table(style, &["place", "temperature", "mean kinetic", "light", "since"], &[1], rows);
    for place in &places.places {
        let site = site_text(place.cabinet.as_deref(), place.height_cm, place.around.as_deref());
        if !site.is_empty() {
            text.push_str(&sentence(style, &format!("{}: ", place.name), &site));
        }
    }
    text.push_str("Mean kinetic: the steady temperature that would have had the same effect in the last 365\ndays, at 83.144 kJ/mol as labels count it.\n");
    text
}

/// One line of a journal, just entered.
pub(super) fn entered(style: &Style, entered: &Entered) -> String {
    let mut text = sentence(style, "", &format!("{} ({})", entered.said, entered.day));
    if entered.kind != "received" && entered.kind != "retired" {
        text.push_str(&sentence(style, "left: ", &show::amount(entered.left, &entered.unit)));
    }
    text.push_str(&assumed(style, &entered.assumed));
    for warning in &entered.warnings {
        text.push_str(&sentence(style, "WARNING ", warning));
    }
    if let Some(next) = &entered.next {
        text.push_str(&sentence(style, "next: ", next));
    }
    text
}
