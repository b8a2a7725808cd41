//! Words that the parts of a `bench` card share: volumes, strengths, names and marks in the card's language.

use super::press::Press;
use crate::catalogue::Form;
use crate::commands::card::bench::{Customary, InUnits};
use crate::render::pdf::Face;
use crate::render::pdf::block::{Block, Row, Text, Width};
use crate::units::{Mass, show};

/// A mass of a neutraliser with two figures; of a solution it is that of the substance in it, and says so.
pub(super) fn counted(press: &Press, neutraliser: &str, mass: Mass) -> String {
    let grams = press.amount(&show::grams(show::significant(mass.to_g(), 2).parse().unwrap_or(mass.to_g())));
    let solid = press.catalogue.reagent(neutraliser).is_some_and(|reagent| reagent.forms.contains(&Form::Solid));
    if solid { grams } else { press.fill("bench.counted-pure", &[("grams", &grams)]) }
}

/// A chance as `dose` says it, marked as estimated.
pub(super) fn chance_words(press: &Press, chance: f64) -> String {
    let said = show::chance(chance);
    let split = said.split_once(' ').filter(|(word, _)| matches!(*word, "over" | "under"));
    let said = match split {
        Some(("over", rest)) => press.fill("bench.over", &[("chance", &press.amount(rest))]),
        Some((_, rest)) => press.fill("bench.under", &[("chance", &press.amount(rest))]),
        None => press.amount(&said),
    };
    format!("≈\u{a0}{said}")
}

/// A volume, and in brackets the same in the keeper's own units.
pub(super) fn in_units(press: &Press, volume: &InUnits) -> String {
    let metric = press.amount(&volume.metric);
    let Some((count, unit)) = &volume.customary else { return metric };
    let unit = match unit {
        Customary::UsGallon => press.say("bench.us-gallons"),
        Customary::UsOunce => press.say("bench.us-ounces"),
        Customary::ImperialGallon => press.say("bench.imperial-gallons"),
        Customary::ImperialOunce => press.say("bench.imperial-ounces"),
    };
    format!("{metric} ({}\u{a0}{})", press.amount(count), unit.replace(' ', "\u{a0}"))
}

/// A strength of the dip book: `2.7 g/L available chlorine`.
pub(super) fn strength(press: &Press, written: &str) -> String {
    match written.strip_suffix(" available chlorine") {
        Some(amount) => press.fill("bench.chlorine", &[("amount", &press.amount(amount))]),
        None => press.amount(written),
    }
}

/// A list in two columns of about the same length.
pub(super) fn columns(press: &Press, lines: &[String]) -> Block {
    let whole: usize = lines.iter().map(String::len).sum();
    let mut before = 0;
    let left = lines
        .iter()
        .take_while(|line| {
            before += line.len();
            2 * before <= whole + line.len()
        })
        .count();
    let list = |lines: &[String]| lines.iter().map(|line| listed(press, line)).collect();
    Block::Row(Row {
        cells: vec![(Width::Share(1.0), list(&lines[..left])), (Width::Share(1.0), list(&lines[left..]))],
        gap: press.mm(5.0),
    })
}

pub(super) fn listed(press: &Press, line: &str) -> Block {
    Text::new(Face::Regular, press.table_size(), line).signed("•").into()
}

/// How a figure is marked that nobody here has read: ` (judgement)`.
pub(super) fn mark(press: &Press, source: &str) -> String {
    let word = match press.catalogue.source(source).and_then(|source| source.mark()) {
        Some("memory") => press.say("bench.memory"),
        Some("judgement") => press.say("bench.judgement"),
        Some("keeper's own") => press.say("bench.keepers-own"),
        Some(_) => press.say("bench.common-practice"),
        None => return String::new(),
    };
    format!(" ({word})")
}

pub(super) fn reagent_name(press: &Press, key: &str) -> String {
    press.catalogue.reagent(key).map_or(String::new(), |reagent| press.text(&reagent.name))
}
