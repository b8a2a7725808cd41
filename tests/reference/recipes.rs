//! Source: sections A1, A3, B2 and H of the facts on the trade: recipes as they are told, and what they come to in grams.
//! `recipes.csv` says of each whether the figure is published, arithmetic on told figures, or common practice. `mid` wants our
//! middle between the two figures, `band` wants our band to meet theirs; bulk densities are ours, so spoons are told by band.

use super::{check, reagent, row, shipped, substance};
use brimstock::chem::solution::chlorine_per_gram;
use brimstock::dip::told::grammar;
use brimstock::dip::told::weigh::weigh;
use brimstock::units::measure::Kitchen;

const RECIPES: &str = include_str!("recipes.csv");

/// The key of the reagent that a text names; alum is the one of the dip book.
fn key(told: &brimstock::dip::told::Told) -> String {
    let shade = told.shade.and_then(|place| shipped().loose().words[place].reagent.clone());
    match told.named.first() {
        Some((word, _)) if word == "alum" => "potassium-alum".to_owned(),
        Some((_, keys)) => keys[0].clone(),
        None => shade.expect("a reagent or a colour"),
    }
}

#[test]
fn recipes_as_they_are_told() {
    let mut rows = Vec::new();
    let mut lines = 0;
    for line in RECIPES.lines().skip(1) {
        let fields: Vec<&str> = line.split(';').collect();
        let [recipe, _, kitchen, counted, low, high, unit, checked, status, place] = fields[..] else {
            panic!("ten fields wanted: {line}");
        };
        assert!(["published", "CALC", "common practice"].contains(&status), "{line}");
        lines += 1;
        let told = grammar::read(recipe, shipped());
        let told = told.unwrap_or_else(|error| panic!("{recipe}: {error:?}"));
        let key = key(&told);
        let found = weigh(&told, reagent(&key), Kitchen::called(kitchen), shipped())
            .unwrap_or_else(|error| panic!("{recipe}: {error}"));
        let mut scale = if unit == "mg/L" { 1000.0 } else { 1.0 };
        if counted == "chlorine" {
            scale *= chlorine_per_gram(substance(&key)).unwrap();
        }
        let found = found.g_per_l.expect("a volume").scaled(scale);
        let (low, high): (f64, f64) = (low.parse().unwrap(), high.parse().unwrap());
        if checked == "mid" {
            rows.push(row(
                format!("{recipe} ({place})"),
                found.mid,
                (low + high) / 2.0,
                (high - low) / 2.0,
                "recipes.csv",
            ));
        } else {
            let reaches = found.low <= high * 1.0001 && found.high >= low * 0.9999;
            assert!(reaches, "{recipe}: {found:?} does not reach {low} to {high}");
        }
    }
    assert!(lines > 30, "{lines}");
    check(rows);
}
