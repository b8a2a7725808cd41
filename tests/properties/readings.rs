//! What was read at the bench: units, formulas turned round, nonsense, and a thermometer's log.

use brimstock::catalogue::{Form, Reagent};
use brimstock::chem::formula::molar_mass;
use brimstock::decay::assay::{Sample, tested};
use brimstock::decay::finding::Finding;
use brimstock::decay::log;
use brimstock::decay::reaction::{PERMANGANATE_PER_PEROXIDE, gas_expected, titre_expected};
use brimstock::decay::reading::{GasCaught, Raw, Reading, Titration};
use brimstock::units::reading::{density, dilution, length, pressure, temperature};
use brimstock::units::{MolarMass, Pressure, Temperature, Volume};
use chrono::TimeDelta;
use proptest::prelude::*;

use super::{cases, date, shipped};

fn peroxide() -> &'static Reagent {
    shipped().reagent("hydrogen-peroxide").expect("peroxide")
}

fn mass() -> MolarMass {
    molar_mass(&peroxide().formula.value).expect("a formula")
}

fn sample() -> Sample<'static> {
    Sample { reagent: peroxide(), form: Form::Solution, label: 30.0, label_sd_ln: 0.05 }
}

fn found(reading: Reading) -> Finding {
    tested(shipped(), sample(), &Raw { reading, relative_sd: None }).expect("a strength").finding
}

fn same(found: f64, wanted: f64) -> Result<(), TestCaseError> {
    prop_assert!((found / wanted - 1.0).abs() < 1e-9, "{} is not {}", found, wanted);
    Ok(())
}

/// A reading that cannot be.
fn nonsense() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::NEG_INFINITY),
        (-9.0..300.0_f64).prop_map(|power| -10_f64.powf(power)),
        (12.0..300.0_f64).prop_map(|power| 10_f64.powf(power)),
    ]
}

proptest! {
    #![proptest_config(cases(128))]

    #[test]
    fn the_unit_of_a_pressure_does_not_matter(kpa in 50.0..110.0_f64, spaced: bool) {
        let gap = if spaced { " " } else { "" };
        let units = [
            ("kPa", 1.0), ("hPa", 0.1), ("mbar", 0.1), ("Pa", 1e-3), ("bar", 100.0), ("mmHg", 0.133_322_387_415),
            ("torr", 0.133_322_387_415), ("inHg", 3.386_388_640_341), ("atm", 101.325),
        ];
        for (unit, factor) in units {
            same(pressure(&format!("{}{gap}{unit}", kpa / factor)).expect(unit).to_kpa(), kpa)?;
        }
    }

    #[test]
    fn the_unit_of_a_temperature_does_not_matter(celsius in -60.0..150.0_f64, spaced: bool) {
        let gap = if spaced { " " } else { "" };
        let texts = [
            format!("{celsius}"),
            format!("{celsius}{gap}C"),
            format!("{celsius}{gap}°C"),
            format!("{}{gap}F", celsius * 1.8 + 32.0),
            format!("{}{gap}K", celsius + 273.15),
        ];
        for text in texts {
            same(temperature(&text).expect(&text).to_kelvin(), celsius + 273.15)?;
        }
    }

    #[test]
    fn the_unit_of_a_length_does_not_matter(mm in 0.1..5e6_f64, below: bool) {
        let sign = if below { -1.0 } else { 1.0 };
        for (unit, factor) in [("mm", 1.0), ("cm", 10.0), ("m", 1e3), ("km", 1e6), ("in", 25.4), ("ft", 304.8)] {
            let text = format!("{} {unit}", sign * mm / factor);
            same(length(&text).expect(&text).to_mm(), sign * mm)?;
        }
    }

    #[test]
    fn the_unit_of_a_density_does_not_matter(g_per_ml in 0.9..1.5_f64) {
        for (unit, factor) in [("", 1.0), (" g/mL", 1.0), (" kg/L", 1.0), (" kg/m3", 1e-3), (" g/L", 1e-3)] {
            same(density(&format!("{}{unit}", g_per_ml / factor)).expect(unit).to_g_per_ml(), g_per_ml)?;
        }
    }

    #[test]
    fn how_a_dilution_is_written_does_not_matter(times in 1.0..1e5_f64, part in 0.1..50.0_f64) {
        let whole = part * times;
        let texts = [
            format!("{times}"), format!("{times}x"), format!("1:{times}"), format!("{part}:{whole}"),
            format!("{part}mL:{whole}mL"), format!("{part} mL : {} L", whole / 1000.0),
        ];
        for text in texts {
            same(dilution(&text).expect(&text), times)?;
        }
    }

    #[test]
    fn a_test_finds_what_its_formula_expects(
        g_per_l in 1.0..400.0_f64, ml in 0.5..20.0_f64, celsius in 5.0..40.0_f64, kpa in 60.0..108.0_f64,
        titrant in 0.05..0.5_f64, diluted in prop_oneof![Just(1.0), 1.0..100.0_f64],
    ) {
        let (volume, thin) = (Volume::ml(ml), g_per_l / diluted);
        let (warmth, air) = (Temperature::celsius(celsius), Pressure::kpa(kpa));
        let gas_ml = gas_expected(thin, mass(), volume, warmth, air).to_ml();
        let permanganate = titre_expected(thin, mass(), volume, PERMANGANATE_PER_PEROXIDE, titrant).to_ml();
        let thiosulfate = titre_expected(thin, mass(), volume, 2.0, titrant).to_ml();
        let readings = [
            Reading::OxygenVolume(GasCaught { gas_ml, sample_ml: ml, celsius, pressure_kpa: kpa, column_mm: 0.0, diluted }),
            Reading::Permanganate(Titration { titre_ml: permanganate, titrant_mol_per_l: titrant, sample_ml: ml, diluted }),
            Reading::Iodometric(Titration { titre_ml: thiosulfate, titrant_mol_per_l: titrant, sample_ml: ml, diluted }),
        ];
        for reading in readings {
            match found(reading) {
                Finding::Figure { content, relative_sd } => {
                    prop_assert!((content / g_per_l - 1.0).abs() < 1e-6, "{} of {}", content, g_per_l);
                    prop_assert!(relative_sd > 0.0 && relative_sd.is_finite());
                }
                // A reading that hardly differs from nothing is a bound.
                Finding::Between { low, high, .. } => prop_assert!(low == 0.0 && high > g_per_l),
            }
        }
    }

    #[test]
    fn nonsense_is_refused(bad in nonsense(), field in 0_usize..19) {
        let pick = |index: usize, good: f64| if field == index { bad } else { good };
        let oxygen = Reading::OxygenVolume(GasCaught {
            gas_ml: pick(0, 50.0), sample_ml: pick(1, 5.0), celsius: pick(2, 20.0), pressure_kpa: pick(3, 100.0),
            column_mm: pick(4, 0.0), diluted: pick(5, 1.0),
        });
        let titration = |start: usize| {
            (pick(start, 20.0), pick(start + 1, 0.02), pick(start + 2, 2.0), pick(start + 3, 1.0))
        };
        let reading = match field {
            // A column may stand lower inside than outside.
            4 if bad.is_finite() && bad.abs() <= 1000.0 => return Ok(()),
            2 if bad.abs() < 45.0 => return Ok(()),
            0..=5 => oxygen,
            6..=9 => {
                let (titre_ml, titrant_mol_per_l, sample_ml, diluted) = titration(6);
                Reading::Permanganate(Titration { titre_ml, titrant_mol_per_l, sample_ml, diluted })
            }
            10..=13 => {
                let (titre_ml, titrant_mol_per_l, sample_ml, diluted) = titration(10);
                Reading::Iodometric(Titration { titre_ml, titrant_mol_per_l, sample_ml, diluted })
            }
            14..=16 => {
                let high = if field == 15 { Some(bad) } else { None };
                Reading::Strip { low_mg_per_l: pick(14, 10.0), high_mg_per_l: high, diluted: pick(16, 1000.0) }
            }
            _ => Reading::Density { g_per_ml: pick(17, 1.13), celsius: pick(18, 20.0) },
        };
        let answer = tested(shipped(), sample(), &Raw { reading: reading.clone(), relative_sd: None });
        prop_assert!(answer.is_err(), "{:?} gave {:?}", reading, answer);
    }

    #[test]
    fn a_damp_solid_weighs_something(bad in nonsense(), which: bool) {
        let salt = shipped().reagent("sodium-chloride").expect("salt");
        let sample = Sample { reagent: salt, form: Form::Solid, label: 0.99, label_sd_ln: 0.01 };
        let (wet_g, dry_g) = if which { (bad, 10.0) } else { (10.0, bad) };
        let answer = tested(shipped(), sample, &Raw { reading: Reading::Drying { wet_g, dry_g }, relative_sd: None });
        prop_assert!(answer.is_err(), "{:?} of {} g and {} g", answer, wet_g, dry_g);
    }

    #[test]
    fn any_log_is_read_or_refused(
        text in "[0-9:;,. \t\n\r\"TZ+°CFdateimp\u{feff}-]{0,80}",
        rows in prop::collection::vec("[0-9]{1,6}-[0-9]{2}-[0-3][0-9] ?[T0-2:]{0,9},[0-9.e+-]{1,6}C?", 0..4),
        heading: bool,
    ) {
        let heading = if heading { "time,temperature\n" } else { "" };
        let rows = rows.join("\n");
        for text in [text.clone(), format!("{heading}{rows}"), format!("{heading}{text}\n{rows}")] {
            match log::read(&text) {
                Ok(log) => prop_assert!(!log.readings.is_empty()),
                Err(bad) => prop_assert!(!bad.is_empty()),
            }
        }
    }

    #[test]
    fn a_log_gives_a_reading_for_each_row(
        rows in prop::collection::vec((1_i64..200_000, -40.0..70.0_f64), 1..60),
        separator in prop::sample::select(vec![',', ';', '\t']), heading: bool, fahrenheit: bool,
    ) {
        let fahrenheit = fahrenheit && heading;
        let mut at = date(0).and_hms_opt(0, 0, 0).expect("midnight");
        let mut text = String::new();
        if heading {
            text += &format!("Date Time{separator}Temp ({})\n", if fahrenheit { "°F" } else { "°C" });
        }
        for (seconds, celsius) in &rows {
            at += TimeDelta::seconds(*seconds);
            let shown = if fahrenheit { celsius * 1.8 + 32.0 } else { *celsius };
            text += &format!("{}{separator}{shown:.4}\n", at.format("%Y-%m-%d %H:%M:%S"));
        }
        let log = log::read(&text).map_err(|bad| TestCaseError::fail(format!("{bad:?}")))?;
        prop_assert_eq!(log.readings.len(), rows.len());
        let counted: u32 = log.days.values().map(|day| day.readings).sum();
        prop_assert_eq!(counted as usize, rows.len());
        for day in log.days.values() {
            prop_assert!(day.low_c <= day.mean_c && day.mean_c <= day.high_c, "{:?}", day);
            prop_assert!(day.sd_c >= 0.0 && day.sd_c <= 0.5 * (day.high_c - day.low_c) + 1e-9, "{:?}", day);
        }
        let [low, high] = [f64::min, f64::max].map(|of| rows.iter().map(|(_, celsius)| *celsius).fold(rows[0].1, of));
        for (temperature, span) in &log.readings {
            prop_assert!((low - 1e-3..=high + 1e-3).contains(&temperature.to_celsius()));
            prop_assert!(span.to_days() > 0.0 && span.to_days() <= 1.0);
        }
    }
}
