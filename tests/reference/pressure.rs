//! Sources: worked out apart from this program, from balanced equations, atomic weights and the ideal gas, with recalled
//! enthalpies (285.83 and 187.78 kJ/mol), heat capacities and oxygen solubility; "volumes" of peroxide by definition; the end
//! at about 64 % as the literature is remembered. Strengths by weight go through the density of Laliberté 2009.

use super::{check, row, substance};
use brimstock::chem::density::of_solution;
use brimstock::hazard::pressure::{Closed, air, end_point, liquid_heat, oxygen, volume};
use brimstock::units::{Concentration, Mass, MassFraction, MolarEnergy, Pressure, Temperature, Volume};

const GAS: &str = "ideal gas and recalled solubility";
const EQUATION: &str = "balanced equation";
const HEAT: &str = "recalled enthalpies";

fn at_20() -> Temperature {
    Temperature::celsius(20.0)
}

/// So many mL of liquid in a bottle of 500 mL.
fn filled(ml: f64) -> Closed {
    Closed { liquid: Volume::ml(ml), headspace: Volume::ml(500.0 - ml), temperature: at_20() }
}

fn by_weight(percent: f64) -> f64 {
    let fraction = MassFraction::percent(percent);
    let density = of_solution(substance("hydrogen-peroxide"), fraction, at_20()).expect("a density").density;
    fraction.in_volume(density).to_g_per_l()
}

/// Gauge pressure, bar, when so much of the peroxide is lost.
fn bar(bottle: Closed, g_per_l: f64, share: f64) -> f64 {
    bottle.gauge(oxygen(Mass::g(g_per_l * bottle.liquid.to_l() * share)).expect("oxygen")).to_bar()
}

/// Per cent whose loss brings half a bar.
fn half_a_bar(g_per_l: f64) -> f64 {
    100.0 * filled(450.0).loss_for(Concentration::g_per_l(g_per_l), Pressure::bar(0.5)).expect("a loss").expect("some")
}

#[test]
fn oxygen_of_a_litre() {
    let moles = |grams: f64| oxygen(Mass::g(grams)).expect("oxygen");
    let litres = |grams: f64, celsius: f64| volume(moles(grams), Temperature::celsius(celsius), air()).to_l();
    let strong = by_weight(35.0);
    check(vec![
        row("450 mL of 3 % w/v, mol", moles(13.5), 0.1984, 1e-4, EQUATION),
        row("3 % w/v at 20 °C, L", litres(30.0, 20.0), 10.61, 0.03, EQUATION),
        row("3 % w/v at 0 °C, L", litres(30.0, 0.0), 9.88, 0.03, EQUATION),
        row("ten volumes, L", litres(30.351, 0.0), 10.0, 0.001, "definition"),
        row("35 % w/w at 20 °C, L", litres(strong, 20.0), 140.0, 1.4, EQUATION),
        row("35 % w/w at 0 °C, L", litres(strong, 0.0), 130.0, 1.3, EQUATION),
    ]);
}

#[test]
fn pressure_of_a_closed_bottle() {
    let [full, half] = [filled(450.0), filled(250.0)];
    let (weak, strong) = (by_weight(12.0), by_weight(35.0));
    // With no liquid to dissolve in: the room above alone.
    let dry = Closed { liquid: Volume::ml(0.0), ..full };
    let undissolved = |share: f64| dry.gauge(oxygen(Mass::g(13.5 * share)).expect("oxygen")).to_bar();
    check(vec![
        row("3 % w/v, 1 % lost", bar(full, 30.0, 0.01), 0.744, 0.007, GAS),
        row("the same, nothing dissolved", undissolved(0.01), 0.967, 0.0097, GAS),
        row("6 % w/v, 1 % lost", bar(full, 60.0, 0.01), 1.49, 0.015, GAS),
        row("12 % w/w, 1 % lost", bar(full, weak, 0.01), 3.09, 0.031, GAS),
        row("35 % w/w, 1 % lost", bar(full, strong, 0.01), 9.81, 0.098, GAS),
        row("half full: 3 % w/v", bar(half, 30.0, 0.01), 0.104, 0.001, GAS),
        row("half full: 6 % w/v", bar(half, 60.0, 0.01), 0.208, 0.002, GAS),
        row("half full: 12 % w/w", bar(half, weak, 0.01), 0.43, 0.005, GAS),
        row("half full: 35 % w/w", bar(half, strong, 0.01), 1.37, 0.014, GAS),
        row("all of 3 % w/v, nothing dissolved", undissolved(1.0), 97.0, 0.97, GAS),
        row("all of 3 % w/v", bar(full, 30.0, 1.0), 74.0, 0.74, GAS),
        row("a year at 2 %", bar(full, 30.0, 0.02), 1.5, 0.05, GAS),
    ]);
}

#[test]
fn loss_that_brings_half_a_bar() {
    check(vec![
        row("3 % w/v", half_a_bar(30.0), 0.67, 0.007, GAS),
        row("6 % w/v", half_a_bar(60.0), 0.34, 0.005, GAS),
        row("12 % w/w", half_a_bar(by_weight(12.0)), 0.16, 0.005, GAS),
        row("35 % w/w", half_a_bar(by_weight(35.0)), 0.051, 0.0005, GAS),
    ]);
    // All the oxygen of a weak solution does not reach it.
    let weak = filled(250.0).loss_for(Concentration::g_per_l(0.1), Pressure::bar(0.5)).expect("a loss");
    assert_eq!(weak, None);
}

/// Oxygen dissolved over temperature, against air-saturated water: 11.29, 9.09 and 7.56 mg/L at 10, 20 and 30 °C, with
/// 20.95 % oxygen in the air and water vapour of 1.228, 2.338 and 4.246 kPa.
#[test]
fn less_dissolves_in_the_warmth() {
    let held = |celsius: f64| {
        let temperature = Temperature::celsius(celsius);
        let bottle = Closed { liquid: Volume::l(1.0), headspace: Volume::l(0.0), temperature };
        // Moles that bring 1 atm.
        101.325 / bottle.gauge(1.0).to_kpa()
    };
    let air_saturated = |mg_per_l: f64, vapour: f64| mg_per_l / 31_998.8 / (0.2095 * (1.0 - vapour / 101.325));
    let table = "air-saturated water, recalled";
    check(vec![
        row("10 °C", held(10.0) * 1e3, air_saturated(11.29, 1.228) * 1e3, 0.05, table),
        row("20 °C", held(20.0) * 1e3, air_saturated(9.09, 2.338) * 1e3, 0.01, table),
        row("30 °C", held(30.0) * 1e3, air_saturated(7.56, 4.246) * 1e3, 0.02, table),
    ]);
}

#[test]
fn where_all_of_it_at_once_ends() {
    let end = |percent: f64| end_point(MassFraction::percent(percent), liquid_heat()).expect("an end");
    let ends_at = |percent: f64| end(percent).temperature.to_celsius();
    let boils = |percent: f64| 100.0 * end(percent).boiled_off;
    let dissolved = end_point(MassFraction::percent(3.0), MolarEnergy::kj_per_mol(94.7)).expect("an end");
    check(vec![
        row("1 %, °C", ends_at(1.0), 27.0, 0.5, HEAT),
        row("3 %, °C", ends_at(3.0), 40.9, 0.5, HEAT),
        row("6 %, °C", ends_at(6.0), 62.0, 0.5, HEAT),
        row("8 %, °C", ends_at(8.0), 77.0, 0.5, HEAT),
        row("10 %, °C", ends_at(10.0), 91.0, 0.5, HEAT),
        row("11.2 % reaches boiling, rise in K", end(11.2).rise_without_boiling_k, 80.0, 0.5, HEAT),
        row("11.1 % does not, % of the water", boils(11.1), 0.0, 0.0, HEAT),
        row("11.2 %, °C", ends_at(11.2), 100.0, 1e-9, HEAT),
        row("20 %, % of the water", boils(20.0), 13.0, 0.5, HEAT),
        row("35 %, % of the water", boils(35.0), 38.0, 0.5, HEAT),
        row("63.7 %, % of the water", boils(63.7), 100.0, 0.5, HEAT),
        row("70 %, % of the water", boils(70.0), 100.0, 1e-9, HEAT),
        row("35 %, rise of the liquid in K", end(35.0).rise_without_boiling_k, 276.0, 1.0, HEAT),
        row("3 % dissolved, rise in K", dissolved.rise_without_boiling_k, 20.1, 0.2, HEAT),
        row("3 % by a catalyst, rise in K", dissolved.rise_without_boiling_k, 20.0, 0.6, HEAT),
        row("3 %, kJ a gram", end(3.0).heat_kj_per_g, 0.08648, 1e-5, HEAT),
    ]);
}
