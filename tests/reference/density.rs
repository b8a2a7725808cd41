//! Sources: water, IAPWS-95 at 101.325 kPa; peroxide, alum and vinegar, the model of Laliberté (J. Chem. Eng. Data 54,
//! 2009, 1725) worked out apart from this program; densities and mol/L at 20 °C, CRC Handbook, 102nd ed.,
//! concentrative properties of aqueous solutions; alcohols by volume, the definition of % vol with the densities of the
//! pure alcohols of that handbook, and the US Pharmacopeia; bisulfite, ECHA dossier 15334; formalin, a trade page.

use super::{check, row, substance};
use brimstock::chem::ChemError;
use brimstock::chem::density::{of_solution, water};
use brimstock::chem::solution::convert;
use brimstock::units::strength::StrengthUnit;
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
    ("acetic-acid", 5.0, 1.0, 1.0052, 0.0006),
    ("acetic-acid", 10.0, 1.0, 1.0121, 0.0006),
    ("acetic-acid", 30.0, 1.0, 1.0369, 0.0006),
    ("acetic-acid", 80.0, 1.0, 1.0680, 0.0025),
    ("acetic-acid", 100.0, 1.0, 1.0477, 0.0030),
    ("sodium-hydroxide", 1.0, 1.0, 1.0095, 0.0005),
    ("sodium-hydroxide", 5.0, 1.0, 1.0538, 0.0008),
    ("sodium-hydroxide", 10.0, 1.0, 1.1089, 0.0008),
    ("sodium-hydroxide", 20.0, 1.0, 1.2192, 0.0008),
    ("sodium-hydroxide", 30.0, 1.0, 1.3277, 0.0025),
    ("sodium-hydroxide", 40.0, 1.0, 1.4299, 0.0045),
    ("ammonia", 5.0, 1.0, 0.9770, 0.0015),
    ("ammonia", 10.0, 1.0, 0.9575, 0.0015),
    ("ammonia", 24.0, 1.0, 0.9102, 0.0015),
    ("ammonia", 30.0, 1.0, 0.8920, 0.0016),
    ("ethanol", 10.0, 1.0, 0.9819, 0.0040),
    ("ethanol", 40.0, 1.0, 0.9352, 0.0020),
    ("ethanol", 62.0, 1.0, 0.8865, 0.0020),
    ("ethanol", 92.0, 1.0, 0.8125, 0.0020),
    ("ethanol", 100.0, 1.0, 0.7893, 0.0025),
    // Between the points of the catalogue.
    ("hydrochloric-acid", 2.0, 1.0, 1.0081, 0.0005),
    ("hydrochloric-acid", 7.0, 1.0, 1.0327, 0.0005),
    ("hydrochloric-acid", 15.0, 1.0, 1.0726, 0.0005),
    ("hydrochloric-acid", 24.0, 1.0, 1.1185, 0.0005),
    ("hydrochloric-acid", 34.0, 1.0, 1.1693, 0.0005),
    ("isopropanol", 3.0, 1.0, 0.9920, 0.0020),
    ("isopropanol", 8.0, 1.0, 0.9843, 0.0010),
    ("isopropanol", 14.0, 1.0, 0.9772, 0.0010),
    ("isopropanol", 18.0, 1.0, 0.9725, 0.0010),
    ("potassium-chloride", 1.0, 1.0, 1.0046, 0.0005),
    ("potassium-chloride", 10.0, 1.0, 1.0633, 0.0005),
    ("potassium-chloride", 24.0, 1.0, 1.1623, 0.0006),
];

#[test]
fn solutions_at_20_degrees() {
    let rows = AT_20.iter().map(|(key, percent, whole, rho, tolerance)| {
        let found = solution(key, percent * whole, 20.0).expect("inside the data") / 1000.0;
        row(format!("{percent} % {key}"), found, *rho, *tolerance, CRC)
    });
    check(rows.collect());
}

/// Reagent, % w/w, mol/L at 20 °C, tolerance relative.
const MOLAR_AT_20: &[(&str, f64, f64, f64)] = &[
    ("acetic-acid", 5.0, 0.837, 1e-3),
    ("acetic-acid", 10.0, 1.685, 1e-3),
    ("acetic-acid", 100.0, 17.447, 3e-3),
    ("hydrochloric-acid", 10.0, 2.873, 1e-3),
    ("hydrochloric-acid", 36.0, 11.642, 1e-3),
    ("sodium-hydroxide", 5.0, 1.317, 1e-3),
    ("sodium-hydroxide", 20.0, 6.096, 1e-3),
    ("sodium-hydroxide", 40.0, 14.300, 4e-3),
    ("ammonia", 5.0, 2.868, 2e-3),
    ("ammonia", 10.0, 5.622, 2e-3),
    ("ammonia", 28.0, 14.764, 2e-3),
    ("ethanol", 10.0, 2.131, 5e-3),
    ("ethanol", 62.0, 11.930, 2e-3),
    ("ethanol", 96.0, 16.697, 2e-3),
    ("isopropanol", 9.0, 1.472, 2e-3),
    ("isopropanol", 60.0, 8.809, 1e-3),
    ("isopropanol", 80.0, 11.103, 1e-3),
    ("potassium-chloride", 10.0, 1.426, 1e-3),
    ("potassium-chloride", 20.0, 3.039, 1e-3),
];

fn converted(key: &str, value: f64, from: &str, to: &str) -> f64 {
    let (from, to) = (StrengthUnit::named(from), StrengthUnit::named(to));
    let found = convert(substance(key), from.of(value), to.basis, Temperature::celsius(20.0));
    to.read(found.expect("inside the data").strength).expect("the basis asked for")
}

#[test]
fn moles_in_a_litre_at_20_degrees() {
    let rows = MOLAR_AT_20.iter().map(|(key, percent, moles, tolerance)| {
        let found = converted(key, *percent, "% w/w", "mol/L");
        row(format!("{percent} % {key} in mol/L"), found, *moles, tolerance * moles, CRC)
    });
    check(rows.collect());
}

/// Reagent, value, unit, unit wanted, expected, tolerance, source; 20 °C.
const TRADE: &[(&str, f64, &str, &str, f64, f64, &str)] = &[
    // 0.837 mol/L of 60.052 g/mol.
    ("acetic-acid", 5.0, "% w/w", "g/L", 50.26, 0.05, CRC),
    // A share of the volume is that share of 789.3 and 784.8 g/L.
    ("ethanol", 33.3, "% w/w", "g/L", 0.40 * 789.3, 1.5, "% vol by definition"),
    ("ethanol", 62.4, "% w/w", "g/L", 0.70 * 789.3, 1.5, "% vol by definition"),
    ("ethanol", 92.4, "% w/w", "g/L", 0.95 * 789.3, 1.5, "% vol by definition"),
    ("ethanol", 93.8, "% w/w", "g/L", 0.96 * 789.3, 1.5, "% vol by definition"),
    ("isopropanol", 62.8, "% w/w", "g/L", 0.70 * 784.8, 2.0, "% vol by definition"),
    ("isopropanol", 87.7, "% w/w", "g/L", 0.91 * 784.8, 2.0, "% vol by definition"),
    ("isopropanol", 98.7, "% w/w", "g/L", 0.99 * 784.8, 2.0, "% vol by definition"),
    // "40 by volume or 37 by weight" of the trade, rounded.
    ("formaldehyde", 37.0, "% w/w", "% w/v", 40.0, 0.5, "a trade page on formalin"),
    ("sodium-bisulfite", 42.0, "% w/w", "g/L", 0.42 * 1360.3, 0.5, "ECHA dossier 15334"),
];

#[test]
fn labels_of_the_trade() {
    let rows = TRADE.iter().map(|(key, value, from, to, expected, tolerance, source)| {
        row(format!("{value} {from} {key} in {to}"), converted(key, *value, from, to), *expected, *tolerance, source)
    });
    let mut rows: Vec<_> = rows.collect();
    // Isopropyl rubbing alcohol, 68 to 72 % by volume: specific gravity 0.872 to 0.883 against water at 20 °C.
    let weight = solution("isopropanol", 62.8, 20.0).expect("inside the data") / water_at(20.0);
    rows.push(row("specific gravity of rubbing alcohol", weight, 0.8775, 0.0055, "USP 32"));
    check(rows);
}

/// % w/w; then kg/m³ at 5, 10, 20, 25, 30 and 40 °C.
const VINEGAR: &[(f64, [f64; 6])] = &[
    (5.0, [1007.579, 1007.018, 1004.968, 1003.548, 1001.901, 998.000]),
    (10.0, [1015.116, 1014.252, 1011.635, 1009.950, 1008.049, 1003.673]),
];

#[test]
fn vinegar_over_temperature() {
    let mut rows = Vec::new();
    for (percent, line) in VINEGAR {
        for (t, rho) in [5.0, 10.0, 20.0, 25.0, 30.0, 40.0].into_iter().zip(line) {
            let found = solution("acetic-acid", *percent, t).expect("inside the data");
            rows.push(row(format!("{percent} % acetic acid at {t} °C"), found, *rho, 0.02, LALIBERTE));
        }
    }
    check(rows);
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
        ("ammonia", 10.0, 15.0),
        ("hydrochloric-acid", 41.0, 20.0),
        ("sodium-hydroxide", 51.0, 20.0),
        ("sodium-bisulfite", 43.0, 20.0),
        ("sodium-metabisulfite", 23.0, 20.0),
        ("formaldehyde", 46.0, 20.0),
        ("isopropanol", 50.0, 30.0),
    ] {
        let found = solution(key, percent, t);
        assert!(matches!(found, Err(ChemError::OutsideData { .. })), "{percent} % {key} at {t} °C: {found:?}");
    }
    for key in ["potassium-metabisulfite", "chloramine-t", "calcium-hydroxide", "calcium-hypochlorite"] {
        let found = solution(key, 1.0, 20.0);
        assert!(matches!(found, Err(ChemError::DensityUnknown { .. })), "{key}: {found:?}");
    }
    assert!(water(Temperature::celsius(-0.1)).is_err() && water(Temperature::celsius(100.1)).is_err());
}
