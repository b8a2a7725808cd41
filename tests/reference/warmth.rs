//! Sources: mean kinetic temperature as in USP <1160> (83.144 kJ/mol, so that Ea/R is 10,000 K), worked out with 50 digits
//! apart from this program.

use super::{check, row};
use brimstock::decay::climate::{Climate, LoggedDay, Season};
use brimstock::decay::warmth::{mean_kinetic, speed};
use brimstock::units::{MolarEnergy, Temperature};
use chrono::{Days, NaiveDate};
use std::collections::BTreeMap;
use std::sync::Arc;

const USP: &str = "USP <1160>";
const ARRHENIUS: &str = "definition";
const ENERGIES: [f64; 3] = [83.144, 75.0, 57.0];

/// What; °C and weights; the mean kinetic temperature for each energy.
type Weighed = (&'static str, Vec<(f64, f64)>, [f64; 3]);

fn readings() -> Vec<Weighed> {
    let evenly = |celsius: &[f64]| celsius.iter().map(|t| (*t, 1.0)).collect::<Vec<_>>();
    let hourly: Vec<f64> =
        (0..24).map(|hour| 20.0 + 8.0 * (2.0 * std::f64::consts::PI * f64::from(hour) / 24.0).sin()).collect();
    let months = [16.0, 16.0, 17.0, 18.0, 20.0, 22.0, 25.0, 26.0, 23.0, 20.0, 18.0, 16.0];
    vec![
        ("one value", evenly(&[21.5]), [21.5, 21.5, 21.5]),
        ("20 and 30", evenly(&[20.0, 30.0]), [26.25989, 26.13859, 25.86014]),
        ("four at 4, one at 16", evenly(&[4.0, 4.0, 4.0, 4.0, 16.0]), [8.10886, 7.90649, 7.47409]),
        ("29 d at 22, 1 d at 40", vec![(22.0, 29.0), (40.0, 1.0)], [23.59958, 23.43850, 23.13840]),
        ("717 h at 22, 3 h at 29", vec![(22.0, 717.0), (29.0, 3.0)], [22.04318, 22.04136, 22.03769]),
        ("twelve months", evenly(&months), [20.40849, 20.33813, 20.18357]),
        ("24 hours around 20", evenly(&hourly), [21.66176, 21.50262, 21.13685]),
        ("-5 and 45", evenly(&[-5.0, 45.0]), [38.16295, 37.46167, 35.33217]),
    ]
}

#[test]
fn mean_kinetic_temperature() {
    let mut rows = Vec::new();
    for (what, weighed, expected) in readings() {
        for (energy, expected) in ENERGIES.into_iter().zip(expected) {
            let weighed = weighed.iter().map(|(t, weight)| (Temperature::celsius(*t), *weight));
            let found = mean_kinetic(MolarEnergy::kj_per_mol(energy), weighed).expect("a reading");
            // The pharmacopoeia's gas constant (8.3144) moves the widest pair by 5e-5 against the exact one.
            rows.push(row(format!("{what}, {energy} kJ/mol"), found.to_celsius(), expected, 6e-5, USP));
        }
    }
    check(rows);
    assert_eq!(mean_kinetic(MolarEnergy::kj_per_mol(75.0), std::iter::empty()), None);
}

/// °C; times faster than at 20 °C, half of the last digit; 83.144 kJ/mol.
const FACTORS: &[(f64, f64, f64)] = &[
    (4.0, 0.1396, 5e-5),
    (5.0, 0.1589, 5e-5),
    (10.0, 0.2998, 5e-5),
    (15.0, 0.5533, 5e-5),
    (25.0, 1.7719, 5e-5),
    (30.0, 3.081, 5e-4),
    (35.0, 5.262, 5e-4),
    (40.0, 8.834, 5e-4),
];

/// The same for 75 kJ/mol; 5, 20, 30 and 40 °C stand in `strength.rs`.
const MULTIPLIERS: &[(f64, f64, f64)] =
    &[(10.0, 0.34, 0.005), (15.0, 0.59, 0.005), (25.0, 1.675, 5e-4), (35.0, 4.5, 0.05)];

#[test]
fn faster_than_at_20_degrees() {
    let mut rows = Vec::new();
    for (energy, table) in [(83.144, FACTORS), (75.0, MULTIPLIERS)] {
        for (t, expected, tolerance) in table {
            let found = speed(MolarEnergy::kj_per_mol(energy), Temperature::celsius(*t));
            rows.push(row(format!("{energy} kJ/mol, {t} °C"), found, *expected, 1.02 * tolerance, ARRHENIUS));
        }
    }
    check(rows);
}

#[test]
fn a_logged_day_that_swings() {
    let day = NaiveDate::from_ymd_opt(2031, 5, 1).expect("a date");
    let swing = LoggedDay { readings: 24, mean_c: 20.0, sd_c: 8.0 / 2.0_f64.sqrt(), low_c: 12.0, high_c: 28.0 };
    let climate = Climate {
        season: Season::Constant(Temperature::celsius(5.0)),
        logged: Some(Arc::new(BTreeMap::from([(day, swing)]))),
    };
    let found = climate.mean_kinetic(MolarEnergy::kj_per_mol(83.144), day, day + Days::new(1)).to_celsius();
    check(vec![
        // Mean and sd stand for the 24 readings.
        row("20 ± 8 °C", found, 21.66176, 0.05, USP),
        row("20 ± 8 °C, two points", found, 21.64, 0.006, ARRHENIUS),
    ]);
}
