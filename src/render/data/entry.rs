//! What was entered: settings, places, and lines of a journal.

use serde::Serialize;

use super::{Amount, FORMAT, line, six};
use crate::commands::place::Places;
use crate::commands::receive::Entered;
use crate::commands::settings::Done;

/// What was done to the register itself.
pub(super) fn done(done: &Done) -> String {
    line(&DoneData { format: FORMAT, done: &done.said, next_step: done.next.as_deref() })
}

/// The places, and what was entered about one.
pub(super) fn places(places: &Places) -> String {
    line(&PlacesData {
        format: FORMAT,
        done: places.said.as_deref(),
        assumed: &places.assumed,
        places: places
            .places
            .iter()
            .map(|place| PlaceData {
                name: &place.name,
                summer_c: six(place.summer_c),
                winter_c: six(place.winter_c),
                mean_kinetic_c: six(place.mean_kinetic_c),
                logged_days: place.logged_days,
                light: place.daylight.light.word(),
                sun_hours: place.daylight.sun_hours.map(six),
                cabinet: place.cabinet.as_deref(),
                height_cm: place.height_cm,
                around: place.around.as_ref().map(|around| around.iter().map(|around| around.word()).collect()),
                since: place.since.to_string(),
            })
            .collect(),
    })
}

/// One line of a journal, just entered.
pub(super) fn entered(entered: &Entered) -> String {
    line(&EnteredData {
        format: FORMAT,
        stock: &entered.stock,
        line: entered.line,
        event: entered.kind,
        day: entered.day.to_string(),
        said: &entered.said,
        left: Amount::of(entered.left, &entered.unit),
        assumed: &entered.assumed,
        warnings: &entered.warnings,
        next_step: entered.next.as_deref(),
    })
}

#[derive(Serialize)]
struct DoneData<'a> {
    format: u32,
    done: &'a str,
    next_step: Option<&'a str>,
}

#[derive(Serialize)]
struct PlacesData<'a> {
    format: u32,
    done: Option<&'a str>,
    assumed: &'a [String],
    places: Vec<PlaceData<'a>>,
}

#[derive(Serialize)]
struct PlaceData<'a> {
    name: &'a str,
    summer_c: f64,
    winter_c: f64,
    mean_kinetic_c: f64,
    logged_days: usize,
    light: &'a str,
    sun_hours: Option<f64>,
    cabinet: Option<&'a str>,
    height_cm: Option<f64>,
    around: Option<Vec<&'a str>>,
    since: String,
}

#[derive(Serialize)]
struct EnteredData<'a> {
    format: u32,
    stock: &'a str,
    line: usize,
    event: &'a str,
    day: String,
    said: &'a str,
    left: Amount<'a>,
    assumed: &'a [String],
    warnings: &'a [String],
    next_step: Option<&'a str>,
}
