//! The dip book as text.

use comfy_table::Cell;

use super::{cited, mark, why};
use crate::catalogue::{CountedAs, Dip, Grade, Minutes};
use crate::commands::dip_book::Book;
use crate::dip::Goal;
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::{Concentration, show};

/// The dips, one line each, or the page of one.
pub(super) fn book(style: &Style, book: &Book) -> String {
    if let (true, [(dip, goal)]) = (book.single, &book.dips[..]) {
        return page(style, dip, goal);
    }
    let rows = book
        .dips
        .iter()
        .map(|(dip, _)| {
            let published = dip.evidence.iter().any(|row| row.grade == Grade::Published);
            [
                dip.key.clone(),
                dip.reagent.clone(),
                dip.target.aim.clone(),
                minutes(&dip.minutes),
                if published { "published" } else { "practice" }.to_owned(),
            ]
            .map(Cell::new)
            .to_vec()
        })
        .collect();
    let mut text = table(style, &["dip", "reagent", "aim", "time", "evidence"], &[2], rows);
    text.push_str("Published: somebody printed a result, good or bad; practice: told without a trial.\n");
    text.push_str("No dip here is known to clear plants of snails and their eggs; each page says what is\nnot shown: brimstock dips NAME\n");
    text
}

/// A time in the unit that reads best.
pub(in crate::render) fn minutes(minutes: &Minutes) -> String {
    let show = |minutes: f64| match minutes {
        m if m < 1.0 => format!("{} s", show::plain(m * 60.0)),
        m if m < 120.0 => format!("{} min", show::plain(m)),
        m if m <= 2880.0 => format!("{} h", show::plain(libm::round(m / 6.0) / 10.0)),
        m => format!("{} d", show::plain(libm::round(m / 144.0) / 10.0)),
    };
    if minutes.low == minutes.high {
        return show(minutes.low);
    }
    let (low, high) = (show(minutes.low), show(minutes.high));
    match (low.rsplit_once(' '), high.rsplit_once(' ')) {
        (Some((number, unit)), Some((_, other))) if unit == other => format!("{number}–{high}"),
        _ => format!("{low}–{high}"),
    }
}

/// One dip with its target, evidence and cautions.
fn page(style: &Style, dip: &Dip, goal: &Goal) -> String {
    let mut text = format!("{}  {}\n", dip.key, dip.name);
    let mark = |source: &str| mark(style, source);
    let in_grams = |value: Concentration| show::significant(value.to_g_per_l(), 3);
    text.push_str(&sentence(
        style,
        "aim: ",
        &format!(
            "{}, between {} and {}{}",
            dip.target.aim,
            dip.target.low,
            dip.target.high,
            mark(&dip.target.band_source)
        ),
    ));
    text.push_str(&sentence(
        style,
        "     ",
        &format!("= {} g/L of {} ({}–{})", in_grams(goal.aim), dip.reagent, in_grams(goal.low), in_grams(goal.high)),
    ));
    text.push_str(&sentence(style, "time: ", &format!("{}{}", minutes(&dip.minutes), mark(&dip.minutes.source))));
    if let Some([low, high]) = dip.water_c {
        text.push_str(&format!("water: {}–{} °C\n", show::plain(low), show::plain(high)));
    }
    text.push_str(&sentence(style, "used for: ", &dip.used_for));
    text.push_str(&sentence(style, "plants: ", &dip.plants));
    text.push_str("evidence:\n");
    for row in &dip.evidence {
        text.push_str(&sentence(
            style,
            "  - ",
            &format!("[{}] {} {}", row.grade.word(), row.says, cited(style, &row.source)),
        ));
    }
    text.push_str("not shown:\n");
    for line in &dip.not_shown {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str("cautions:\n");
    for line in &dip.cautions {
        text.push_str(&sentence(style, "  - ", line));
    }
    if let Some(stop) = &dip.stop {
        let counted = match stop.counted_as {
            CountedAs::AvailableChlorine => "available chlorine",
            CountedAs::Reagent => dip.reagent.as_str(),
        };
        text.push_str(&sentence(
            style,
            "stopped with: ",
            &format!(
                "{}, {} g for 1 g of {counted} planned{}, {} g by theory",
                stop.reagent,
                show::plain(stop.planned.value),
                mark(&stop.planned.source),
                show::plain(stop.theory.value)
            ),
        ));
    }
    text.push_str(&sentence(style, "next: ", &format!("`brimstock dose {} --bath 10L`", dip.key)));
    text.push_str(&why(style, &goal.steps));
    text
}
