//! Sources: water, IAPWS-95 at 101.325 kPa; peroxide and alum, the model of Laliberté (J. Chem. Eng. Data 54, 2009,
//! 1725) worked out apart from this program; sodium chloride, copper sulfate, permanganate and citric acid, CRC
//! Handbook, 102nd ed., concentrative properties of aqueous solutions at 20 °C.

use super::{check, row, substance};
use brimstock::chem::ChemError;
use brimstock::chem::density::{of_solution, water};
use brimstock::units::{MassFraction, Temperature};

const IAPWS: &str = "IAPWS-95";
const LALIBERTE: &str = "Laliberté 2009";
const CRC: &str = "CRC 102nd ed.";

/// °C and kg/m³.
const WATER: &[(f64, f64)] = &[
    (5.0, 999.9666),
    (10.0, 999.7025),
    (15.0, 999.1026),
    (20.0, 998.2072),
    (25.0, 997.0476),
    (30.0, 995.6495),
    (40.0, 992.2164),
];

#[test]
fn water_alone() {
    let at = water_at;
    check(WATER.iter().map(|(t, rho)| row(format!("water at {t} °C"), at(*t), *rho, 0.006, IAPWS)).collect());
    // A widely copied slip in one coefficient gives 996.73 here.
    assert!((at(25.0) - 996.73).abs() > 0.3, "the slip in the coefficient of t is in: {}", at(25.0));
}

fn water_at(t: f64) -> f64 {
    water(Temperature::celsius(t)).expect("inside the formula's range").to_kg_per_m3()
}

fn solution(key: &str, percent: f64, t: f64) -> Result<f64, ChemError> {
    let found = of_solution(substance(key), MassFraction::percent(percent), Temperature::celsius(t))?;
    Ok(found.density.to_kg_per_m3())
}

/// % w/w; then kg/m³ at 0, 10, 20, 25, 30 and 40 °C.
const PEROXIDE: &[(f64, [f64; 6])] = &[
    (1.0, [1003.79, 1003.51, 1001.88, 1000.66, 999.20, 995.64]),
    (3.0, [1011.71, 1011.15, 1009.26, 1007.90, 1006.32, 1002.53]),
    (6.0, [1023.63, 1022.66, 1020.37, 1018.83, 1017.06, 1012.92]),
    (12.0, [1047.68, 1045.89, 1042.83, 1040.93, 1038.81, 1033.99]),
    (30.0, [1122.03, 1117.85, 1112.61, 1109.69, 1106.59, 1099.95]),
    (35.0, [1143.45, 1138.62, 1132.79, 1129.60, 1126.25, 1119.15]),
    (50.0, [1210.28, 1203.48, 1195.95, 1191.99, 1187.92, 1179.52]),
    (90.0, [1414.53, 1402.19, 1390.16, 1384.28, 1378.49, 1367.21]),
];

/// The same columns.
const BRINE: &[(f64, [f64; 6])] = &[
    (1.0, [1007.22, 1006.89, 1005.24, 1004.01, 1002.55, 999.02]),
    (3.5, [1025.89, 1025.09, 1023.03, 1021.64, 1020.03, 1016.24]),
    (10.0, [1075.98, 1073.87, 1070.75, 1068.91, 1066.91, 1062.49]),
    (20.0, [1157.16, 1152.89, 1148.11, 1145.60, 1143.03, 1137.77]),
    (26.0, [1208.05, 1202.43, 1196.67, 1193.79, 1190.92, 1185.27]),
];

#[test]
fn peroxide_and_brine_over_temperature() {
    let mut rows = Vec::new();
    for (key, table) in [("hydrogen-peroxide", PEROXIDE), ("sodium-chloride", BRINE)] {
        for (percent, line) in table {
            for (t, rho) in [0.0, 10.0, 20.0, 25.0, 30.0, 40.0].into_iter().zip(line) {
                let found = solution(key, *percent, t).expect("inside the data");
                rows.push(row(format!("{percent} % {key} at {t} °C"), found, *rho, 0.02, LALIBERTE));
            }
        }
    }
    check(rows);
}

/// Reagent, % w/w of what the table counts, mass of the reagent for one of that, g/mL at 20 °C, tolerance.
const AT_20: &[(&str, f64, f64, f64, f64)] = &[
    ("sodium-chloride", 10.0, 1.0, 1.0707, 0.0005),
    ("sodium-chloride", 26.0, 1.0, 1.1972, 0.0006),
    // The table counts the anhydrous salt, the reagent is the pentahydrate.
    ("copper-sulfate", 1.0, 1.0 / 0.63923, 1.0085, 0.0012),
    ("copper-sulfate", 5.0, 1.0 / 0.63923, 1.0511, 0.0012),
    ("copper-sulfate", 10.0, 1.0 / 0.63923, 1.1070, 0.0012),
    ("copper-sulfate", 16.0, 1.0 / 0.63923, 1.1796, 0.0018),
    ("copper-sulfate", 18.0, 1.0 / 0.63923, 1.2059, 0.0018),
    ("potassium-permanganate", 0.5, 1.0, 1.0017, 0.0005),
    ("potassium-permanganate", 1.0, 1.0, 1.0051, 0.0005),
    ("potassium-permanganate", 2.0, 1.0, 1.0118, 0.0005),
    ("potassium-permanganate", 3.0, 1.0, 1.0186, 0.0005),
    ("potassium-permanganate", 4.0, 1.0, 1.0254, 0.0005),
    ("potassium-permanganate", 5.0, 1.0, 1.0322, 0.0005),
    ("potassium-permanganate", 6.0, 1.0, 1.0390, 0.0005),
    ("citric-acid", 5.0, 1.0, 1.0189, 0.0005),
    ("citric-acid", 10.0, 1.0, 1.0402, 0.0005),
    ("citric-acid", 20.0, 1.0, 1.0858, 0.0005),
    ("citric-acid", 30.0, 1.0, 1.1346, 0.0005),
];

#[test]
fn solutions_at_20_degrees() {
    let rows = AT_20.iter().map(|(key, percent, whole, rho, tolerance)| {
        let found = solution(key, percent * whole, 20.0).expect("inside the data") / 1000.0;
        row(format!("{percent} % {key}"), found, *rho, *tolerance, CRC)
    });
    check(rows.collect());
}

/// % w/w of the dodecahydrate; kg/m³ at 20, 25 and 30 °C: the data of one part begin at 15 °C.
const ALUM: &[(f64, [f64; 3])] = &[
    (0.5, [1000.72, 999.55, 998.14]),
    (1.0, [1003.25, 1002.06, 1000.63]),
    (2.0, [1008.33, 1007.11, 1005.65]),
    (5.0, [1023.77, 1022.46, 1020.91]),
    (10.0, [1050.19, 1048.72, 1047.04]),
];

#[test]
fn potassium_alum() {
    let mut rows = Vec::new();
    for (percent, line) in ALUM {
        for (t, rho) in [20.0, 25.0, 30.0].into_iter().zip(line) {
            let found = solution("potassium-alum", *percent, t).expect("inside the data");
            rows.push(row(format!("{percent} % alum at {t} °C"), found, *rho, 0.02, LALIBERTE));
        }
    }
    check(rows);
}

#[test]
fn outside_the_data_there_is_no_density() {
    for (key, percent, t) in [
        ("potassium-alum", 5.0, 10.0),
        ("copper-sulfate", 10.0, 5.0),
        ("sodium-thiosulfate", 10.0, 20.0),
        ("hydrogen-peroxide", 3.0, -1.0),
        ("sodium-chloride", 27.0, 20.0),
        ("potassium-permanganate", 8.0, 20.0),
    ] {
        let found = solution(key, percent, t);
        assert!(matches!(found, Err(ChemError::OutsideData { .. })), "{percent} % {key} at {t} °C: {found:?}");
    }
    assert!(water(Temperature::celsius(-0.1)).is_err() && water(Temperature::celsius(100.1)).is_err());
}
