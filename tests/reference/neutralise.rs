//! Sources: F1 to F3 and the check values J 1 to 6, 8, 9, 15 and 17 to 19 of the facts on storage and disposal, worked by hand from
//! atomic weights and, for heat, from recalled enthalpies of formation; the chlorine field guide's tables 7-2 (grams to a
//! gram) and 7-5 (pounds for 100,000 US gallons and 1 mg/L), the permanganate maker's brief (0.375 of anhydrous
//! thiosulfate), the hatchery handbook (7.4 of the pentahydrate). Tolerances are those stated with the values.

use super::{Row, check, reagent, row, shipped};
use brimstock::catalogue::{CountedAs, Reaction, Reagent, Use};
use brimstock::chem::formula::molar_mass;
use brimstock::disposal::balance::{Equation, counted_per_gram, grams_per_gram};
use brimstock::disposal::quench::warming;
use brimstock::hazard::pressure::{air, volume};
use brimstock::units::Temperature;
use brimstock::units::measure::Quantity;
use brimstock::units::parse;

const FACTS: &str = "facts J, F1 to F3";
const TABLE_7_2: &str = "field guide, table 7-2";
const TABLE_7_5: &str = "field guide, table 7-5";

fn way(key: &str) -> &'static Reaction {
    let found = shipped().neutralise().reactions.iter().find(|row| row.key == key);
    found.unwrap_or_else(|| panic!("no reaction {key}"))
}

/// Grams of the neutraliser to a gram destroyed.
fn ratio(key: &str) -> f64 {
    let way = way(key);
    grams_per_gram(way, reagent(&way.destroys), reagent(way.with.as_deref().unwrap())).unwrap()
}

/// The same with another salt that brings one of the reducer.
fn ratio_of(key: &str, formula: &str) -> f64 {
    let way = Reaction { reducer_per_formula: Some(1.0), ..way(key).clone() };
    let mut salt: Reagent = reagent(way.with.as_deref().unwrap()).clone();
    salt.formula.value = formula.to_owned();
    grams_per_gram(&way, reagent(&way.destroys), &salt).unwrap()
}

/// A row with a relative tolerance.
fn within(what: &str, found: f64, expected: f64, relative: f64, source: &'static str) -> Row {
    row(what, found, expected, expected * relative, source)
}

#[test]
fn every_equation_balances_and_names_its_own_species() {
    for way in &shipped().neutralise().reactions {
        let equation = Equation::read(&way.equation).unwrap_or_else(|error| panic!("{}: {error}", way.key));
        let other = way.reducer.as_deref().unwrap_or(&way.oxidiser);
        let ratio = equation.ratio(other, &way.oxidiser).unwrap_or_else(|error| panic!("{}: {error}", way.key));
        assert!(ratio > 0.0);
    }
    assert!(shipped().neutralise().reactions.len() > 40);
    // One that the register never plans, for the reader of equations alone.
    let manganese = "2 MnO4- + 3 Mn++ + 2 H2O -> 5 MnO2 + 4 H+";
    assert!((Equation::read(manganese).unwrap().ratio("Mn++", "MnO4-").unwrap() - 1.5).abs() < 1e-12);
}

#[test]
fn weights_follow_from_the_equations() {
    let millilitres = |key: &str| ratio(key) / 0.03;
    check(vec![
        within("J1", ratio_of("permanganate-thiosulfate-brown", "Na2S2O3"), 0.3752, 1e-3, FACTS),
        within(
            "J1 published",
            ratio_of("permanganate-thiosulfate-brown", "Na2S2O3"),
            0.375,
            1e-3,
            "permanganate brief",
        ),
        within("J2 neutral", ratio("permanganate-thiosulfate-brown"), 0.589, 2e-3, FACTS),
        within("J2 acid", ratio("permanganate-thiosulfate-acid"), 0.982, 2e-3, FACTS),
        within("J2 tetrathionate", ratio("permanganate-thiosulfate-tetrathionate"), 7.85, 2e-3, FACTS),
        within("J3 bisulfite", ratio("permanganate-bisulfite-clear"), 1.646, 2e-3, FACTS),
        within("J3 metabisulfite", ratio("permanganate-metabisulfite-clear"), 1.504, 2e-3, FACTS),
        within("J4 acid, mL of 3 %", millilitres("permanganate-peroxide-clear"), 17.94, 2e-3, FACTS),
        within("J4 neutral, mL of 3 %", millilitres("permanganate-peroxide-brown"), 10.76, 2e-3, FACTS),
        within("J5 sulfate", ratio("bleach-thiosulfate-sulfate"), 0.875, 2e-3, FACTS),
        within("J5 tetrathionate", ratio("bleach-thiosulfate-tetrathionate"), 7.00, 2e-3, FACTS),
        within("J6 ascorbic", ratio("bleach-ascorbic"), 2.484, 2e-3, FACTS),
        within("J6 from 2.08 lb", ratio("bleach-ascorbic"), 2.492, 5e-3, TABLE_7_5),
        within("J9 peroxide on chlorine", ratio("bleach-peroxide"), 0.4797, 1e-3, FACTS),
        within("P4 sulfite", ratio_of("permanganate-bisulfite-clear", "Na2SO3"), 1.994, 1e-3, FACTS),
        within("P5 bisulfite", ratio("permanganate-bisulfite-brown"), 0.988, 1e-3, FACTS),
        within("P5 metabisulfite", ratio("permanganate-metabisulfite-brown"), 0.902, 1e-3, FACTS),
        within("P6 ascorbic", ratio("permanganate-ascorbic-clear"), 2.786, 1e-3, FACTS),
        within("P7 ascorbic", ratio("permanganate-ascorbic-brown"), 1.672, 1e-3, FACTS),
        within("C2 sulfur", ratio("bleach-thiosulfate-sulfur"), 3.500, 1e-3, FACTS),
        within("C2 sulfur, anhydrous", ratio_of("bleach-thiosulfate-sulfur", "Na2S2O3"), 2.230, 1e-3, FACTS),
        within("C4 bisulfite", ratio("bleach-bisulfite"), 1.468, 1e-3, FACTS),
        within("C4 metabisulfite", ratio("bleach-metabisulfite"), 1.341, 1e-3, FACTS),
        within("C4 sulfite", ratio_of("bleach-bisulfite", "Na2SO3"), 1.778, 1e-3, FACTS),
        within("C5 sodium ascorbate", ratio_of("bleach-ascorbic", "C6H7NaO6"), 2.794, 1e-3, FACTS),
        within("F3 thiosulfate to sulfate", ratio("peroxide-thiosulfate-sulfate"), 1.82, 3e-3, FACTS),
        within("F3 thiosulfate to tetrathionate", ratio("peroxide-thiosulfate-tetrathionate"), 14.6, 3e-3, FACTS),
        within("F3 bisulfite", ratio("peroxide-bisulfite"), 3.06, 3e-3, FACTS),
        within("F3 metabisulfite", ratio("peroxide-metabisulfite"), 2.79, 3e-3, FACTS),
        within("F3 ascorbic", ratio("peroxide-ascorbic"), 5.18, 3e-3, FACTS),
    ]);
}

#[test]
fn gases_metals_and_rules_of_thumb() {
    let mass = |formula: &str| molar_mass(formula).unwrap().to_g_per_mol();
    let litres = |moles: f64| volume(moles, Temperature::celsius(20.0), air()).to_l();
    // Each acid particle frees one molecule of the gas.
    let freed = Equation::read("S2O5-- + 2 H+ -> 2 SO2 + H2O").unwrap().ratio("H+", "S2O5--").unwrap();
    let dioxide = litres(10.0 / mass("Na2S2O5") * freed);
    let copper = mass("Cu") / mass("CuSO4.5H2O");
    let pound_per_gallon =
        parse::amount("1 lb", None).unwrap().quantity.base() / parse::volume("1 gal-us", None).unwrap().to_l();
    check(vec![
        within("J15 sulfur dioxide, L", dioxide, 2.53, 1e-2, FACTS),
        within("J15 in 20 m3, ppm", dioxide / 20_000.0 * 1e6, 127.0, 1e-2, FACTS),
        within("J17 pentahydrate of 8.0 mg/L copper", 8.0 / copper, 31.4, 3e-3, FACTS),
        within("J17 1 g/L over the limit", 1000.0 * copper / 8.0, 31.8, 3e-3, FACTS),
        within(
            "J18 chlorine that a pound of sulfite to a gallon covers, g/L",
            pound_per_gallon / ratio_of("bleach-bisulfite", "Na2SO3"),
            67.4,
            1e-2,
            FACTS,
        ),
    ]);
}

#[test]
fn chlorine_counts_alike_whatever_brings_it() {
    let chlorine = |key: &str| counted_per_gram(reagent(key), CountedAs::AvailableChlorine).unwrap();
    check(vec![
        within("hypochlorite", chlorine("sodium-hypochlorite"), 70.90 / 74.44, 1e-4, "atomic weights"),
        within("calcium hypochlorite", chlorine("calcium-hypochlorite"), 0.9918, 1e-4, "its file"),
        within("chloramine-T trihydrate", chlorine("chloramine-t"), 70.90 / 281.68, 1e-3, "pharmacopoeia"),
        within("as bleach", ratio("calcium-hypochlorite-ascorbic"), ratio("bleach-ascorbic"), 1e-12, "one reaction"),
        within("as bleach", ratio("chloramine-t-ascorbic"), ratio("bleach-ascorbic"), 1e-12, "one chlorine"),
    ]);
    assert!(counted_per_gram(reagent("hydrogen-peroxide"), CountedAs::AvailableChlorine).is_err());
}

#[test]
fn the_published_volume_is_what_its_units_say() {
    let grams = parse::volume("100000 gal-us", None).unwrap().to_l() / 1000.0;
    let Quantity::Mass(pound) = parse::amount("1 lb", None).unwrap().quantity else { panic!("a pound is a mass") };
    check(vec![
        within("J8 grams", grams, 378.54, 1e-4, FACTS),
        within("J8 pounds", grams / pound.to_g(), 0.83454, 1e-4, FACTS),
    ]);
}

/// The tables hold a tenth over theory for sulfites and nothing over it for ascorbates; the ratios are those of the facts.
#[test]
fn the_published_dechlorination_rows_lie_where_they_are_said_to_lie() {
    let pounds = |pounds: f64| pounds / 0.834_54;
    let (bisulfite, metabisulfite) = (ratio("bleach-bisulfite"), ratio("bleach-metabisulfite"));
    let (sulfite, ascorbic) = (ratio_of("bleach-bisulfite", "Na2SO3"), ratio("bleach-ascorbic"));
    let ascorbate = ratio_of("bleach-ascorbic", "C6H7NaO6");
    check(vec![
        within("bisulfite", 1.61 / bisulfite, 1.097, 5e-3, TABLE_7_2),
        within("bisulfite", pounds(1.34) / bisulfite, 1.094, 5e-3, TABLE_7_5),
        within("metabisulfite", 1.47 / metabisulfite, 1.099, 5e-3, TABLE_7_2),
        within("metabisulfite", pounds(1.23) / metabisulfite, 1.099, 5e-3, TABLE_7_5),
        within("sulfite", 1.96 / sulfite, 1.099, 5e-3, TABLE_7_2),
        within("sulfite", pounds(1.63) / sulfite, 1.099, 5e-3, TABLE_7_5),
        within("ascorbic acid", 2.5 / ascorbic, 1.003, 5e-3, TABLE_7_2),
        within("ascorbic acid", pounds(2.08) / ascorbic, 1.003, 5e-3, TABLE_7_5),
        within("sodium ascorbate", 2.8 / ascorbate, 0.999, 5e-3, TABLE_7_2),
        within("sodium ascorbate", pounds(2.33) / ascorbate, 0.999, 5e-3, TABLE_7_5),
        within("handbook's thiosulfate", 7.4 / ratio("bleach-thiosulfate-tetrathionate"), 1.06, 5e-3, "handbook"),
    ]);
    // Both tables' thiosulfate meets no route, of neither salt: within a tenth of none of them.
    for printed in [1.9, pounds(1.58)] {
        for key in ["bleach-thiosulfate-sulfate", "bleach-thiosulfate-sulfur", "bleach-thiosulfate-tetrathionate"] {
            for theory in [ratio(key), ratio_of(key, "Na2S2O3")] {
                assert!((printed / theory - 1.0).abs() > 0.1, "{printed} meets {key}, {theory}");
            }
        }
    }
}

#[test]
fn what_is_planned_is_what_was_published_or_a_factor_on_theory() {
    for way in shipped().neutralise().reactions.iter().filter(|way| way.purpose == Use::Planned) {
        let Some(with) = &way.with else { continue };
        let theory = grams_per_gram(way, reagent(&way.destroys), reagent(with)).unwrap();
        let planned = way
            .planned_g_per_g
            .as_ref()
            .map_or_else(|| theory * way.planned.as_ref().expect("a factor").value, |figure| figure.value);
        assert!(planned >= theory, "{}: {planned} planned, {theory} by theory", way.key);
        assert!(planned <= 2.1 * theory, "{}: {planned} planned, {theory} by theory", way.key);
        for figure in &way.published {
            let off = figure.value / theory - 1.0;
            assert!(off.abs() < 0.12, "{}: {} published, {theory} by theory", way.key, figure.value);
        }
    }
}

#[test]
fn the_dip_book_stops_as_the_reactions_say() {
    let catalogue = shipped();
    let mut rows = Vec::new();
    for dip in catalogue.dips() {
        let Some(stop) = &dip.stop else { continue };
        let mut ways = catalogue.neutralise().ways(&dip.reagent, Some(&stop.reagent));
        let way = ways.find(|way| way.purpose == Use::Planned).unwrap_or_else(|| panic!("{}: no reaction", dip.key));
        assert_eq!(way.counted_as, stop.counted_as, "{}", dip.key);
        let theory = grams_per_gram(way, reagent(&dip.reagent), reagent(&stop.reagent)).unwrap();
        let planned = way
            .planned_g_per_g
            .as_ref()
            .map_or_else(|| theory * way.planned.as_ref().expect("a factor").value, |figure| figure.value);
        rows.push(within(&format!("{}: theory", dip.key), stop.theory.value, theory, 0.01, "hazards/neutralise.toml"));
        rows.push(within(
            &format!("{}: planned", dip.key),
            stop.planned.value,
            planned,
            0.01,
            "hazards/neutralise.toml",
        ));
    }
    assert!(rows.len() >= 14);
    check(rows);
}

#[test]
fn heat_is_what_the_facts_say() {
    let by = |key: &str, g_per_l: f64| warming(g_per_l, &[way(key)]).expect("a heat");
    check(vec![
        within("J19 bisulfite on 3 % peroxide", by("peroxide-bisulfite", 30.0), 80.0, 0.03, FACTS),
        within("J19 catalase on 3 % peroxide", by("peroxide-by-itself", 30.0), 20.0, 0.03, FACTS),
        within("F2 stock bleach with bisulfite", by("bleach-bisulfite", 50.0), 58.0, 0.03, FACTS),
        within("P1, of 1 g/L", by("permanganate-thiosulfate-brown", 1.0), 0.66, 0.03, FACTS),
        within("P8, of 1 g/L", by("permanganate-peroxide-clear", 1.0), 0.52, 0.03, FACTS),
    ]);
}
