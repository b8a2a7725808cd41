//! Sources: definitions (litre of ideal gas at 0 °C and 101.325 kPa, 22.41397 L/mol; kitchen measures of NIST
//! Handbook 44 App. C and the UK Weights and Measures Act 1985) worked out apart from this program; White, Handbook of
//! Chlorination (1972) as quoted, for bleach; USDA FoodData Central 173468, for salt by the spoon; ECHA dossier on
//! sodium percarbonate.

use super::{check, reagent, row, shipped, substance};
use brimstock::chem::formula::molar_mass;
use brimstock::chem::reading::read;
use brimstock::chem::solution::{chlorine_per_gram, convert};
use brimstock::dip::lookalike::equivalent;
use brimstock::units::Temperature;
use brimstock::units::estimate::Estimate;
use brimstock::units::measure::Kitchen;
use brimstock::units::parse;
use brimstock::units::strength::StrengthUnit;

/// A strength of `value` in one unit, in another.
fn converted(key: &str, value: f64, from: &str, to: &str, t: f64) -> f64 {
    let (from, to) = (StrengthUnit::named(from), StrengthUnit::named(to));
    let found = convert(substance(key), from.of(value), to.basis, Temperature::celsius(t));
    to.read(found.expect("inside the data").strength).expect("the basis asked for")
}

/// % w/w; at 20 °C g/L, mol/L, % w/v and volumes; g/L at 25 °C.
const PEROXIDE: &[(f64, [f64; 5])] = &[
    (3.0, [30.278, 0.8902, 3.028, 9.976, 30.237]),
    (6.0, [61.222, 1.7999, 6.122, 20.17, 61.130]),
    (12.0, [125.14, 3.6791, 12.51, 41.23, 124.91]),
    (30.0, [333.78, 9.8131, 33.38, 109.98, 332.91]),
    (35.0, [396.48, 11.656, 39.65, 130.6, 395.36]),
    (50.0, [597.98, 17.580, 59.80, 197.0, 595.99]),
];

#[test]
fn peroxide_by_weight() {
    let columns = [("g/L", 20.0), ("mol/L", 20.0), ("% w/v", 20.0), ("vol O₂", 20.0), ("g/L", 25.0)];
    let mut rows = Vec::new();
    for (percent, line) in PEROXIDE {
        for ((unit, t), expected) in columns.into_iter().zip(line) {
            let found = converted("hydrogen-peroxide", *percent, "% w/w", unit, t);
            // The table is rounded to four or five figures.
            let tolerance = 4e-4 * expected;
            rows.push(row(
                format!("{percent} % w/w in {unit} at {t} °C"),
                found,
                *expected,
                tolerance,
                "Laliberté 2009",
            ));
        }
    }
    check(rows);
}

/// Value, its unit, the unit wanted, expected, tolerance; peroxide at 20 °C.
const PEROXIDE_PAIRS: &[(f64, &str, &str, f64, f64)] = &[
    (3.0, "% w/v", "mol/L", 0.88199, 1e-4),
    (3.0, "% w/v", "vol O₂", 9.884, 0.001),
    (3.0, "% w/v", "% w/w", 2.9728, 2e-4),
    (6.0, "% w/v", "mol/L", 1.7640, 1e-4),
    (6.0, "% w/v", "vol O₂", 19.77, 0.006),
    (6.0, "% w/v", "% w/w", 5.883, 1e-3),
    (9.0, "% w/v", "vol O₂", 29.65, 0.006),
    (9.0, "% w/v", "% w/w", 8.733, 1e-3),
    (12.0, "% w/v", "% w/w", 11.527, 1e-3),
    (30.0, "% w/v", "vol O₂", 98.84, 0.006),
    (30.0, "% w/v", "% w/w", 27.233, 2e-3),
    (10.0, "vol O₂", "% w/v", 3.035, 0.001),
    (20.0, "vol O₂", "g/100 mL", 6.070, 0.001),
    (30.0, "vol O₂", "% w/v", 9.105, 0.001),
    (100.0, "vol O₂", "% w/v", 30.35, 0.005),
    (10.0, "vol O₂", "% w/w", 3.007, 0.001),
    (20.0, "vol O₂", "mol/L", 1.785, 0.001),
    (20.0, "vol O₂", "% w/w", 5.950, 0.001),
    (40.0, "vol O₂", "% w/w", 11.656, 0.002),
];

#[test]
fn peroxide_by_volume() {
    let rows = PEROXIDE_PAIRS.iter().map(|(value, from, to, expected, tolerance)| {
        let found = converted("hydrogen-peroxide", *value, from, to, 20.0);
        row(format!("{value} {from} in {to}"), found, *expected, *tolerance, "definition")
    });
    check(rows.collect());
}

/// Value, its unit, the unit wanted, expected, tolerance; bleach at 20 °C.
const BLEACH: &[(f64, &str, &str, f64, f64)] = &[
    // Published with a specific gravity of 1.157, which makes 10.89 % w/w.
    (120.0, "g/L available chlorine", "% w/w", 10.89, 0.15),
    (120.0, "g/L available chlorine", "trade % chlorine", 12.0, 1e-9),
    (125.0, "g/L available chlorine", "% w/w", 11.26, 0.05),
    (5.25, "% w/w", "g/L", 56.3, 0.1),
    (5.25, "% w/w", "g/L available chlorine", 53.6, 0.1),
    (5.25, "% w/w", "trade % chlorine", 5.36, 0.01),
    (6.0, "% w/w", "trade % chlorine", 6.19, 0.01),
    (8.25, "% w/w", "g/L available chlorine", 87.8, 0.1),
    (10.0, "% w/w", "g/L available chlorine", 109.1, 0.2),
    (12.5, "% w/w", "g/L available chlorine", 141.2, 0.2),
    (1.0, "% w/w", "% w/w available chlorine", 0.95246, 1e-5),
];

#[test]
fn bleach() {
    let mut rows: Vec<_> = BLEACH
        .iter()
        .map(|(value, from, to, expected, tolerance)| {
            let found = converted("sodium-hypochlorite", *value, from, to, 20.0);
            row(format!("{value} {from} in {to}"), found, *expected, *tolerance, "Handbook of Chlorination, as quoted")
        })
        .collect();
    let per_gram = chlorine_per_gram(substance("sodium-hypochlorite")).expect("bleach counts chlorine");
    rows.push(row("chlorine for a gram of hypochlorite", per_gram, 0.95246, 1e-5, "IUPAC 2021"));
    check(rows);
}

#[test]
fn brine_by_volume() {
    let rows = [(35.0, 3.423), (100.0, 9.380), (200.0, 17.70)].map(|(grams, percent)| {
        let found = converted("sodium-chloride", grams, "g/L", "% w/w", 20.0);
        row(format!("{grams} g/L of salt in % w/w"), found, percent, 0.01, "Laliberté 2009")
    });
    check(rows.into());
}

/// As written, and its size in mL or g.
const MEASURES: &[(&str, f64)] = &[
    ("1 gal-us", 3785.411784),
    ("1 qt-us", 946.352946),
    ("1 pt-us", 473.176473),
    ("1 cup-us", 236.5882365),
    ("1 floz-us", 29.5735295625),
    ("1 tbsp-us", 14.78676478125),
    ("1 tsp-us", 4.92892159375),
    ("1 gal-imp", 4546.09),
    ("1 qt-imp", 1136.5225),
    ("1 pt-imp", 568.26125),
    ("1 floz-imp", 28.4130625),
    ("1 tsp-metric", 5.0),
    ("1 tbsp-metric", 15.0),
    ("1 cup-metric", 250.0),
    ("1 tbsp-au", 20.0),
    ("20 drops", 1.0),
    ("1 grain", 0.06479891),
    ("1 oz", 28.349523125),
    ("1 lb", 453.59237),
];

#[test]
fn kitchen_measures() {
    let size = |text: &str, kitchen| parse::amount(text, kitchen).expect("an amount").quantity.base();
    let mut rows: Vec<_> = MEASURES
        .iter()
        .map(|(text, expected)| row(*text, size(text, None), *expected, 1e-9, "NIST HB44, UK Act of 1985"))
        .collect();
    for (kitchen, expected) in
        [(Kitchen::Us, 3785.411784), (Kitchen::Imperial, 4546.09), (Kitchen::Australian, 4546.09)]
    {
        rows.push(row("a gallon at home", size("1 gal", Some(kitchen)), expected, 1e-9, "NIST HB44, UK Act of 1985"));
    }
    check(rows);
    assert!(parse::amount("1 gal", None).is_err(), "a gallon of no country is asked about");
}

#[test]
fn salt_by_the_spoon() {
    let written = parse::strength("1 tbsp-us/gal-us", None).expect("a strength");
    let read = read(substance("sodium-chloride"), &written, shipped().measuring(), Temperature::celsius(20.0));
    let read = read.expect("a spoon of salt");
    let band = Estimate::log_normal(read.strength.base(), read.sd_ln);
    check(vec![
        row("g/L", band.mid, 4.755, 0.05, "USDA 173468"),
        row("5 % limit", band.low, 4.1, 0.08, "USDA 173468"),
        row("95 % limit", band.high, 5.6, 0.08, "USDA 173468"),
    ]);
}

/// Reagent, strength as written, mg/L or g/L in base units, tolerance.
const RECIPES: &[(&str, &str, f64, f64)] = &[
    ("hydrogen-peroxide", "2.5 mL/gal-us of 3 % w/v", 0.01981, 1e-5),
    ("hydrogen-peroxide", "1:3 of 3 % w/v", 7.5, 1e-9),
    ("hydrogen-peroxide", "15 % v/v of 35 % w/w", 59.47, 0.02),
    ("sodium-chloride", "35 g/L", 35.0, 1e-9),
    // Added to the water instead of made up to the litre.
    ("sodium-chloride", "35 g in 1 L", 34.63, 0.03),
    ("sodium-chloride", "100 g in 1 L", 96.89, 0.06),
];

#[test]
fn recipes() {
    let rows = RECIPES.iter().map(|(key, text, expected, tolerance)| {
        let written = parse::strength(text, None).expect("a strength");
        let read =
            read(substance(key), &written, shipped().measuring(), Temperature::celsius(20.0)).expect("a reading");
        let grams = brimstock::chem::solution::concentration(substance(key), read.strength, Temperature::celsius(20.0));
        let grams = grams.expect("a concentration").0.to_g_per_l();
        row(format!("{text} of {key}"), grams, *expected, *tolerance, "definition, Laliberté 2009")
    });
    check(rows.collect());
}

#[test]
fn equivalents() {
    let grams = |grams, of: &str, other: &str| {
        equivalent(grams, reagent(of), reagent(other)).expect("formulas").expect("a shared part")
    };
    let mass = |formula: &str| molar_mass(formula).expect("a formula").to_g_per_mol();
    let copper = reagent("copper-sulfate");
    let contains = copper.contains.as_ref().expect("copper");
    let in_crystals = contains.per_formula * mass(&contains.formula) / mass(&copper.formula.value);
    check(vec![
        row("potassium for aluminium", grams(100.0, "aluminium-sulfate", "potassium-alum"), 160.0, 1.0, "IUPAC 2021"),
        row("potassium for ammonium", grams(100.0, "ammonium-alum", "potassium-alum"), 104.65, 0.1, "IUPAC 2021"),
        row("peroxide in percarbonate", grams(100.0, "sodium-percarbonate", "hydrogen-peroxide"), 32.50, 0.05, "ECHA"),
        row("copper in the crystals", in_crystals, 0.25451, 1e-5, "IUPAC 2021"),
    ]);
    assert_eq!(equivalent(1.0, copper, reagent("sodium-chloride")), Ok(None));
}
