//! Answers as terminal tables and sentences: what every family of answers says in the same words.

mod about;
mod answer;
mod assay;
mod audit;
mod bathe;
mod card;
mod chart;
mod classify;
mod convert;
mod dip_book;
mod dip_own;
mod dip_read;
mod discard;
mod dose;
mod due;
mod entry;
mod exchange;
mod local;
mod measure;
mod quench;
mod ready;
mod reagents;
mod sds;
mod shelf;
mod signatures;
mod strength;
mod verify;

pub use answer::answer;
pub(super) use strength::{give_or_take, moved_by};

pub(super) use dip_book::minutes;

use super::Style;
use super::table::sentence;
use crate::dip::Until;
use crate::units::step::Step;

/// What an answer took for granted, one line each.
fn assumed(style: &Style, assumed: &[String]) -> String {
    assumed.iter().map(|line| sentence(style, "assumed: ", line)).collect()
}

/// The day on which it no longer suffices, in words.
pub(super) fn until(until: Option<Until>) -> String {
    match until {
        Some(Until::Day(day)) => day.to_string(),
        Some(Until::NoEnd) => "10 years and on".to_owned(),
        None => "-".to_owned(),
    }
}

/// The steps of a number with their sources, if they are wanted.
fn why(style: &Style, steps: &[Step]) -> String {
    if !style.why || steps.is_empty() {
        return String::new();
    }
    let mut text = "why:\n".to_owned();
    for (number, step) in steps.iter().enumerate() {
        text.push_str(&sentence(style, &format!("{:>3}. ", number + 1), &step.what));
        text.push_str(&sentence(style, "     ", &cited(style, &step.source)));
    }
    text
}

/// ` [memory]` and the like behind a figure that nobody here has read.
fn mark(style: &Style, source: &str) -> String {
    style.catalogue.source(source).and_then(|source| source.mark()).map_or(String::new(), |mark| format!(" [{mark}]"))
}

/// A source in brackets: its key, its title and how we had it.
fn cited(style: &Style, key: &str) -> String {
    match style.catalogue.source(key) {
        Some(source) => match source.mark() {
            Some(mark) => format!("[{mark}]"),
            None => format!("[{key}: {}; {}]", source.title, source.seen.word()),
        },
        None => format!("[{key}]"),
    }
}
