//! Sources: CRC Handbook, 98th ed., aqueous solubility of inorganic compounds over temperature (mass per cent of the
//! anhydrous salt), brought to grams of the named salt in 100 g of added water; alums, citric acid and lime, rounded
//! tables of less standing, hence the wider tolerances of the alums.

use super::{check, row, substance};
use brimstock::chem::ChemError;
use brimstock::chem::solubility::{saturated, saturated_concentration};
use brimstock::units::Temperature;

const CRC: &str = "CRC 98th ed.";
const LESSER: &str = "table of less standing";

/// Reagent; °C and g of it to 100 g of added water; tolerance; source.
type Line = (&'static str, &'static [(f64, f64)], f64, &'static str);

const TAKEN_UP: &[Line] = &[
    (
        "sodium-chloride",
        &[(0.0, 35.65), (10.0, 35.72), (20.0, 35.89), (25.0, 35.96), (30.0, 36.09), (40.0, 36.37)],
        0.15,
        CRC,
    ),
    (
        "potassium-permanganate",
        &[(0.0, 2.82), (10.0, 4.30), (20.0, 6.34), (25.0, 7.60), (30.0, 9.03), (40.0, 12.50)],
        0.15,
        CRC,
    ),
    ("copper-sulfate", &[(0.0, 24.1), (10.0, 29.1), (20.0, 35.4), (25.0, 39.2), (30.0, 43.3), (40.0, 53.2)], 0.5, CRC),
    (
        "sodium-thiosulfate",
        &[(0.0, 108.0), (10.0, 132.0), (20.0, 176.0), (25.0, 212.0), (30.0, 258.0), (40.0, 444.0)],
        3.0,
        CRC,
    ),
    ("potassium-alum", &[(0.0, 5.7), (10.0, 7.6), (20.0, 11.4), (30.0, 16.6), (40.0, 23.8)], 0.2, LESSER),
    ("ammonium-alum", &[(20.0, 12.0)], 0.2, LESSER),
    (
        "potassium-chloride",
        &[(0.0, 27.78), (10.0, 30.91), (20.0, 34.03), (25.0, 35.54), (30.0, 37.06), (40.0, 40.04)],
        0.15,
        CRC,
    ),
    ("sodium-metabisulfite", &[(10.0, 62.3), (20.0, 65.3), (25.0, 66.7), (30.0, 68.4), (40.0, 71.8)], 0.1, CRC),
    (
        "potassium-metabisulfite",
        &[(0.0, 28.4), (10.0, 36.4), (20.0, 45.1), (25.0, 49.5), (30.0, 54.3), (40.0, 63.9)],
        0.1,
        CRC,
    ),
    ("calcium-hydroxide", &[(0.0, 0.189), (10.0, 0.182), (20.0, 0.173), (30.0, 0.16), (40.0, 0.141)], 0.001, LESSER),
];

#[test]
fn water_takes_up_what_the_tables_say() {
    let mut rows = Vec::new();
    for (key, points, tolerance, source) in TAKEN_UP {
        for (t, grams) in *points {
            let found = saturated(substance(key), Temperature::celsius(*t)).expect("inside the table");
            rows.push(row(format!("{key} at {t} °C"), found.per_100_g_added_water, *grams, *tolerance, source));
        }
    }
    check(rows);
}

#[test]
fn copper_sulfate_is_not_counted_on_all_water() {
    // 31.4 is what one gets when the crystal water counts as water.
    let found = saturated(substance("copper-sulfate"), Temperature::celsius(20.0)).expect("inside the table");
    assert!((found.per_100_g_added_water - 31.4).abs() > 3.0);
    let added = found.fraction.to_fraction();
    let again = 100.0 * added / (1.0 - added);
    assert!((again - found.per_100_g_added_water).abs() < 1e-9, "the fraction says {again} g to 100 g of water");
}

#[test]
fn saturated_permanganate_in_a_litre() {
    let rows = [(0.0, 27.9), (10.0, 42.3), (20.0, 61.9)].map(|(t, grams)| {
        let found = saturated_concentration(substance("potassium-permanganate"), Temperature::celsius(t));
        let found = found.expect("inside the table").to_g_per_l();
        row(format!("permanganate at {t} °C, g/L"), found, grams, 0.5, CRC)
    });
    check(rows.into());
}

#[test]
fn outside_the_table_there_is_no_solubility() {
    for key in TAKEN_UP.iter().map(|(key, ..)| *key) {
        for t in [60.0, 40.1, -0.1, -5.0] {
            let found = saturated(substance(key), Temperature::celsius(t));
            assert!(matches!(found, Err(ChemError::OutsideData { .. })), "{key} at {t} °C: {found:?}");
        }
    }
    let peroxide = saturated(substance("hydrogen-peroxide"), Temperature::celsius(20.0));
    assert!(matches!(peroxide, Err(ChemError::SolubilityUnknown { .. })));
}
