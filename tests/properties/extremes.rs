//! What is typed and kept at the ends of what can be: no number of any answer is infinite or none.

use std::path::Path;
use std::sync::OnceLock;

use brimstock::chem::{Substance, density, solution};
use brimstock::commands::convert::{Convert, run};
use brimstock::decay::reaction::{gas_expected, titre_expected};
use brimstock::decay::warmth::speed;
use brimstock::units::estimate::Estimate;
use brimstock::units::strength::{Basis, Strength};
use brimstock::units::{MolarEnergy, MolarMass, Pressure, Temperature, Volume, show};
use proptest::prelude::*;

use super::{cases, shipped};
use crate::fuzzed::bodies::{answer, finite, session};
use crate::harness::Bench;

/// A size from 1e-300 to 1e300, nothing and the denormal ones among them.
fn size() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => (-300.0..300.0_f64).prop_map(|power| 10_f64.powf(power)),
        2 => (-12.0..12.0_f64).prop_map(|power| 10_f64.powf(power)),
        1 => prop::sample::select(vec![0.0, f64::MIN_POSITIVE, 5e-324, 1e-310, 1e300, 1e-300, 1.0]),
    ]
}

/// The same as digits, the way in which a keeper would have to type it.
fn typed() -> impl Strategy<Value = String> {
    (-14.0..14.0_f64, 0_usize..8).prop_map(|(power, figures)| {
        let value = 10_f64.powf(power);
        let places = figures.max((-power).max(0.0) as usize + 1);
        format!("{value:.places$}")
    })
}

const BASES: [Basis; 7] = [
    Basis::InWeight,
    Basis::InVolume,
    Basis::VolumeInVolume,
    Basis::Molar,
    Basis::OxygenVolumes,
    Basis::ChlorineInVolume,
    Basis::ChlorineInWeight,
];

proptest! {
    #![proptest_config(cases(96))]

    #[test]
    fn no_conversion_leaves_the_numbers(value in size(), from: prop::sample::Index, celsius in -300.0..2000.0_f64) {
        let at = Temperature::celsius(celsius);
        for reagent in shipped().reagents() {
            let substance = Substance::of(reagent);
            let strength = Strength::from_base(BASES[from.index(BASES.len())], value);
            for to in BASES {
                // What the data cannot tell is refused; what is told is a number.
                if let Ok(converted) = solution::convert(substance, strength, to, at) {
                    prop_assert!(converted.strength.base().is_finite() && converted.sd_ln.is_finite(), "{:?}", converted);
                    finite(&converted);
                }
            }
        }
        finite(&density::water(at));
    }

    #[test]
    fn no_word_for_a_number_is_none(value in size(), other in size(), figures in 1..6) {
        let estimate = Estimate { low: value.min(other), mid: value, high: value.max(other) };
        for word in [
            show::significant(value, figures), show::plain(value), show::with_band(estimate), show::grams(value),
            show::planned_grams(value), show::millilitres(value), show::amount(value, "g"), show::amount(value, "mL"),
        ] {
            prop_assert!(!word.contains("NaN") && !word.contains("inf"), "{word}");
        }
    }

    #[test]
    fn what_a_test_should_show_is_a_number(
        g_per_l in size(), ml in size(), celsius in -40.0..70.0_f64, kpa in 50.0..110.0_f64,
    ) {
        let peroxide = MolarMass::g_per_mol(34.014);
        let room = (Temperature::celsius(celsius), Pressure::kpa(kpa));
        let small = [g_per_l, ml].map(|value| value.min(1e9));
        let gas = gas_expected(small[0], peroxide, Volume::ml(small[1]), room.0, room.1);
        let titre = titre_expected(small[0], peroxide, Volume::ml(small[1]), 0.4, 0.02);
        finite(&(gas, titre, speed(MolarEnergy::kj_per_mol(75.0), room.0)));
    }
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn no_typed_quantity_leads_to_none(
        amount in typed(), other in typed(), unit: prop::sample::Index, to: prop::sample::Index, celsius in -40.0..70.0_f64,
    ) {
        let shapes = [
            format!("{amount} g"), format!("{amount} L"), format!("{amount} tsp"), format!("{amount} %"),
            format!("{amount} % w/w"), format!("{amount} g/L"), format!("{amount} mol/L"), format!("{amount} vol"),
            format!("{amount}:{other}"), format!("{amount} mL per {other} L of 3 % w/v"), format!("{amount} drops/gal-us"),
            format!("{amount} % of a {other} % w/w bottle"), format!("1:{amount} of {other} g/L"), format!("{amount} oz/gal-us"),
        ];
        let units = ["g/L", "% w/w", "mol/L", "ppm", "vol", "g", "mL", "gal-imp", "drop", "oz/gal-us", "% v/v"];
        for reagent in shipped().reagents() {
            let asked = Convert {
                what: shapes[unit.index(shapes.len())].clone(),
                of: Some(reagent.key.clone()),
                to: units[to.index(units.len())].to_owned(),
                temp: celsius,
                kitchen: Some(brimstock::units::measure::Kitchen::Us),
            };
            if let Ok(converted) = run(&session(shipped()), &asked) {
                finite(&converted);
            }
        }
    }
}

/// A shelf with a bottle of each form, to be asked in any way, copied for each case.
fn shelf() -> &'static [u8] {
    static SHELF: OnceLock<Vec<u8>> = OnceLock::new();
    SHELF.get_or_init(|| std::fs::read(Bench::demo().register()).unwrap())
}

fn on_a_shelf(lines: &[String]) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shelf.brimstock");
    std::fs::write(&path, shelf()).unwrap();
    lines.iter().for_each(|line| ask(&path, line));
}

/// Asks in text and in JSON: `answer` looks at every number.
fn ask(path: &Path, line: &str) {
    answer(path, line, false);
}

proptest! {
    #![proptest_config(cases(3))]

    #[test]
    fn no_command_answers_with_none(
        amount in typed(), strength in typed(), bath in typed(), day in prop::sample::select(vec![
            "1900-01-01", "2030-12-31", "2031-03-15", "2032-02-29", "2200-12-31",
        ]), celsius in prop::sample::select(vec!["-40", "0", "70"]), dip in prop::sample::select(vec![
            "peroxide-weak", "bleach-fine-leaved", "alum-soak", "permanganate-long", "salt-gear",
        ]),
    ) {
        on_a_shelf(&[
            format!("--on {day} place add far --temp {celsius} --light outdoors"),
            format!("--on {day} receive hydrogen-peroxide \"{strength} % w/w\" {amount}mL --at far --code X1"),
            format!("--on {day} receive potassium-alum \"99 %\" {amount}kg --at far --code X2"),
            format!("--on {day} receive bleach \"{strength} g/L\" {amount}L --at far --code X3"),
            format!("--on {day} check X1 --chart --bath {bath}L"),
            "--on 2200-12-31 check X3".to_owned(),
            format!("--on {day} dose {dip} --bath {bath}L"),
            format!("--on 2200-12-31 dose {dip} --bath {bath}mL"),
            format!("--on {day} quench \"{strength} g/L\" --of bleach --bath {bath}L --with sodium-thiosulfate"),
            format!("--on {day} classify \"hydrogen-peroxide {strength} % w/w; citric-acid {strength} % w/w\""),
            format!("--on {day} take X1 {amount}mL"),
            format!("--on {day} shelf"),
        ]);
    }

    #[test]
    fn tests_that_contradict_each_other_leave_a_number(
        found in prop::collection::vec((0.001..60.0_f64, 0_u32..40), 1..6), sd in prop::sample::select(vec!["0.01%", "5%", "100%"]),
    ) {
        let mut day = chrono::NaiveDate::from_ymd_opt(2031, 3, 15).unwrap();
        let mut lines = Vec::new();
        for (percent, days) in found {
            day = day + chrono::Days::new(u64::from(days));
            lines.push(format!("--on {day} assay S03 figure \"{percent:.3} % w/w\" --sd {sd}"));
            lines.push(format!("--on {day} assay S05 figure \"{:.3} % w/w\" --sd {sd}", percent / 4.0));
        }
        lines.extend(["S03", "S05"].map(|stock| format!("--on {day} check {stock} --chart")));
        lines.push(format!("--on {day} due"));
        on_a_shelf(&lines);
    }
}

#[test]
fn the_lines_above_are_commands() {
    // A line that clap does not take would be left out of every case without a sound.
    let bench = Bench::demo();
    for line in [
        "place add far --temp -40 --light outdoors",
        "receive hydrogen-peroxide \"3 % w/w\" 10mL --at far --code X1",
        "receive potassium-alum \"99 %\" 10kg --at far --code X2",
        "check X1 --chart --bath 4L",
        "quench \"3 g/L\" --of bleach --bath 4L --with sodium-thiosulfate",
        "classify \"hydrogen-peroxide 3 % w/w; citric-acid 3 % w/w\"",
        "assay S03 figure \"3 % w/w\" --sd 5%",
        "check S03 --chart",
        "due",
    ] {
        let ran = bench.on("2031-03-15", line);
        assert!(ran.code <= 1, "{line}: {ran:?}");
    }
    for dip in ["peroxide-weak", "bleach-fine-leaved", "alum-soak", "permanganate-long", "salt-gear"] {
        let ran = bench.on("2031-03-15", &format!("dose {dip} --bath 4L"));
        assert!(ran.code <= 1, "{ran:?}");
    }
}
