//! Published values against what the library computes: one file a subject, each headed by where its values stand.
//!
//! A row holds the input, the expected value, how far off it may be, and its source. All rows of a table are tried
//! before a test fails, so that one run shows everything that moved.

mod assays;
mod conversions;
mod dates;
mod density;
mod hazard;
mod keep_apart;
mod light;
mod measures;
mod molar_mass;
mod neutralise;
mod outcome;
mod posterior;
mod pressure;
mod recipes;
mod solubility;
mod strength;
mod warmth;
mod wrong_advice;

use brimstock::catalogue::{Catalogue, Reagent};
use brimstock::chem::Substance;

/// One published value.
pub struct Row {
    what: String,
    found: f64,
    expected: f64,
    tolerance: f64,
    source: &'static str,
}

/// A row of a table.
pub fn row(what: impl Into<String>, found: f64, expected: f64, tolerance: f64, source: &'static str) -> Row {
    Row { what: what.into(), found, expected, tolerance, source }
}

/// Fails with every row that is off.
pub fn check(rows: Vec<Row>) {
    assert!(!rows.is_empty());
    let off: Vec<String> = rows
        .iter()
        .filter(|row| row.found.is_nan() || (row.found - row.expected).abs() > row.tolerance)
        .map(|row| format!("{}: {} found, {} ± {} in {}", row.what, row.found, row.expected, row.tolerance, row.source))
        .collect();
    assert!(off.is_empty(), "{} of {} rows are off:\n{}", off.len(), rows.len(), off.join("\n"));
}

/// The shipped catalogue.
pub fn shipped() -> &'static Catalogue {
    Catalogue::shipped().expect("the shipped catalogue is good")
}

/// A reagent of the shipped catalogue.
pub fn reagent(key: &str) -> &'static Reagent {
    shipped().reagent(key).unwrap_or_else(|| panic!("no reagent {key}"))
}

/// A substance of the shipped catalogue.
pub fn substance(key: &str) -> Substance<'static> {
    Substance::of(reagent(key))
}
