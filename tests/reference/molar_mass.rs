//! Source: sums of the abridged standard atomic weights of IUPAC 2021 (Prohaska et al., Pure Appl. Chem. 94, 2022),
//! H 1.0080, C 12.011, N 14.007, O 15.999, Na 22.990, Al 26.982, S 32.06, Cl 35.45, K 39.098, Ca 40.078, Mn 54.938, Cu 63.546,
//! I 126.90; agreed within 1e-4 with three public collections of atomic weights.

use super::{check, row};
use brimstock::chem::formula::molar_mass;

const SOURCE: &str = "IUPAC 2021, abridged";

/// Formula and g/mol.
const WEIGHTS: &[(&str, f64)] = &[
    ("H2O2", 34.014),
    ("H2O", 18.015),
    ("O2", 31.998),
    ("KMnO4", 158.032),
    ("MnO2", 86.936),
    ("NaCl", 58.440),
    ("KAl(SO4)2.12H2O", 474.372),
    ("KAl(SO4)2", 258.192),
    ("NH4Al(SO4)2.12H2O", 453.313),
    ("NH4Al(SO4)2", 237.133),
    ("Al2(SO4)3", 342.132),
    ("Al2(SO4)3.14H2O", 594.342),
    ("Al2(SO4)3.14.3H2O", 599.747),
    ("Al2(SO4)3.16H2O", 630.372),
    ("Al2(SO4)3.18H2O", 666.402),
    ("NaOCl", 74.439),
    ("HOCl", 52.457),
    ("Cl2", 70.90),
    ("CuSO4.5H2O", 249.677),
    ("CuSO4", 159.602),
    ("Na2S2O3.5H2O", 248.172),
    ("Na2S2O3", 158.097),
    ("C6H8O6", 176.124),
    ("NaC6H7O6", 198.106),
    ("C6H8O7", 192.123),
    ("C6H8O7.H2O", 210.138),
    ("NaHSO3", 104.055),
    ("Na2S2O5", 190.095),
    ("Na2SO3", 126.037),
    ("SO2", 64.058),
    ("Na2CO3.1.5H2O2", 157.009),
    ("Na2CO3", 105.988),
    ("NaHCO3", 84.006),
    ("KI", 165.998),
    ("KIO3", 213.995),
    ("I2", 253.80),
    ("CH3COOH", 60.052),
    ("NaOH", 39.997),
    ("Ca(OCl)2", 142.976),
    ("Ca(OH)2", 74.092),
    ("K2S2O5", 222.311),
    ("HCl", 36.458),
    ("NH3", 17.031),
    ("C2H5OH", 46.069),
    ("CH3CHOHCH3", 60.096),
    ("CH2O", 30.026),
    ("C5H8O2", 100.117),
    ("C7H7ClNNaO2S.3H2O", 281.683),
    ("KCl", 74.548),
];

#[test]
fn formulas_weigh_what_the_table_says() {
    let mass = |formula: &str| molar_mass(formula).expect("a formula of the table can be read").to_g_per_mol();
    // Half a unit of the table's last figure, and the rounding of the sum.
    check(WEIGHTS.iter().map(|(formula, grams)| row(*formula, mass(formula), *grams, 0.0011, SOURCE)).collect());
}

/// Part, how many of it, whole, mass ratio, tolerance.
const RATIOS: &[(&str, f64, &str, f64, f64)] = &[
    ("Cu", 1.0, "CuSO4.5H2O", 0.25451, 1e-5),
    ("CuSO4", 1.0, "CuSO4.5H2O", 0.63923, 1e-5),
    ("Al", 1.0, "KAl(SO4)2.12H2O", 0.05688, 1e-5),
    ("Al", 1.0, "NH4Al(SO4)2.12H2O", 0.05952, 1e-5),
    ("Al", 2.0, "Al2(SO4)3.14.3H2O", 0.0900, 1e-4),
    ("Al", 2.0, "Al2(SO4)3.18H2O", 0.0810, 1e-4),
    ("Cl2", 1.0, "NaOCl", 0.95246, 1e-5),
    ("H2O2", 1.5, "Na2CO3.1.5H2O2", 0.32496, 1e-5),
    ("KAl(SO4)2", 1.0, "KAl(SO4)2.12H2O", 0.54428, 1e-5),
    ("Cl2", 2.0, "Ca(OCl)2", 0.99177, 1e-5),
    ("Cl2", 1.0, "C7H7ClNNaO2S.3H2O", 0.25170, 1e-5),
    ("SO2", 2.0, "Na2S2O5", 0.67396, 1e-5),
    ("SO2", 2.0, "K2S2O5", 0.57629, 1e-5),
    ("SO2", 1.0, "NaHSO3", 0.61562, 1e-5),
];

#[test]
fn a_part_has_its_share_of_the_whole() {
    let mass = |formula: &str| molar_mass(formula).expect("a formula of the table can be read").to_g_per_mol();
    check(
        RATIOS
            .iter()
            .map(|(part, count, whole, ratio, tolerance)| {
                row(format!("{part} in {whole}"), count * mass(part) / mass(whole), *ratio, *tolerance, SOURCE)
            })
            .collect(),
    );
}
