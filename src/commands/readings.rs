//! From the words of `assay` to readings in fixed units.

use super::assay_arguments::{self, Method};
use super::testing::blocks;
use super::{Problem, Session, arguments};
use crate::catalogue::Test;
use crate::chem::Substance;
use crate::chem::reading as chem_reading;
use crate::chem::solution;
use crate::decay::reaction::pressure_at;
use crate::decay::reading::{GasCaught, Reading, Titration};
use crate::register::Writing;
use crate::units::measure::Quantity;
use crate::units::strength::{Basis, Strength};
use crate::units::{Pressure, Temperature, parse, reading, show};

/// The largest altitude at which anybody keeps plants, m.
const HIGHEST: f64 = 5500.0;

/// The standard deviation that was typed, if one was.
pub(super) fn stated(method: &Method) -> Result<Option<f64>, Problem> {
    let when = match method {
        Method::OxygenVolume { when, .. }
        | Method::Strip { when, .. }
        | Method::Density { when, .. }
        | Method::Drying { when, .. } => when,
        Method::Permanganate(titration) | Method::Iodometric(titration) => &titration.when,
        Method::Plan(_) | Method::Figure { .. } => return Ok(None),
    };
    Ok(when.sd.as_deref().map(parse::relative_sd).transpose()?)
}

/// The words of the command line as readings in fixed units.
pub(super) fn read(session: &Session, writing: &Writing<'_>, method: &Method) -> Result<Reading, Problem> {
    let kitchen = arguments::kitchen(writing)?;
    let ml = |field: &str, text: &str| -> Result<f64, Problem> {
        // No gas at all, no drop of titrant: a reading as good as any.
        let digits = text.trim().trim_end_matches(char::is_alphabetic).trim_end();
        if matches!(field, "--gas" | "--titre") && digits.parse::<f64>().is_ok_and(|value| value == 0.0) {
            return Ok(0.0);
        }
        let volume = parse::volume(text, kitchen).map_err(|error| {
            let problem = Problem::from(error);
            Problem { what: format!("{field}: {}", problem.what), ..problem }
        })?;
        Ok(volume.to_ml())
    };
    let grams = |field: &str, text: &str| -> Result<f64, Problem> {
        match parse::amount(text, kitchen)?.quantity {
            Quantity::Mass(mass) => Ok(mass.to_g()),
            Quantity::Volume(_) => {
                Err(Problem::question(format!("{field}: `{text}` is a volume")).hint("accepted: a mass, as 50.0g"))
            }
        }
    };
    let thinned = |text: &Option<String>| -> Result<f64, Problem> {
        Ok(text.as_deref().map(reading::dilution).transpose()?.unwrap_or(1.0))
    };
    let titration = |given: &assay_arguments::Titration, of: &str, electrons: f64| -> Result<Titration, Problem> {
        Ok(Titration {
            titre_ml: ml("--titre", &given.titre)?,
            titrant_mol_per_l: titrant(session, &given.of, of, electrons)?,
            sample_ml: ml("--sample", &given.sample)?,
            diluted: thinned(&given.diluted)?,
        })
    };
    Ok(match method {
        Method::OxygenVolume { gas, sample, temp, pressure, altitude, sea_level, column, diluted, .. } => {
            Reading::OxygenVolume(GasCaught {
                gas_ml: ml("--gas", gas)?,
                sample_ml: ml("--sample", sample)?,
                celsius: reading::temperature(temp)?.to_celsius(),
                pressure_kpa: on_the_spot(pressure.as_deref(), altitude.as_deref(), sea_level.as_deref())?.to_kpa(),
                column_mm: column.as_deref().map(reading::length).transpose()?.map_or(0.0, |length| length.to_mm()),
                diluted: thinned(diluted)?,
            })
        }
        Method::Permanganate(given) => Reading::Permanganate(titration(given, "potassium-permanganate", 5.0)?),
        Method::Iodometric(given) => Reading::Iodometric(titration(given, "sodium-thiosulfate", 1.0)?),
        Method::Strip { reading, diluted, scale, .. } => {
            let method = session.catalogue.method(Test::Strip);
            let scale = match scale {
                Some(text) => blocks(text)?,
                None => method.scale.clone(),
            };
            let (low, high) = block(reading, &scale, method.error("step"))?;
            Reading::Strip { low_mg_per_l: low, high_mg_per_l: high, diluted: thinned(diluted)? }
        }
        Method::Density { density, temp, .. } => Reading::Density {
            g_per_ml: reading::density(density)?.to_g_per_ml(),
            celsius: reading::temperature(temp)?.to_celsius(),
        },
        Method::Drying { wet, dry, .. } => Reading::Drying { wet_g: grams("--wet", wet)?, dry_g: grams("--dry", dry)? },
        Method::Plan(_) | Method::Figure { .. } => {
            return Err(Problem::question("nothing was read in that test"));
        }
    })
}

/// The air pressure where the test was made.
fn on_the_spot(pressure: Option<&str>, altitude: Option<&str>, sea_level: Option<&str>) -> Result<Pressure, Problem> {
    if let Some(text) = pressure {
        let pressure = reading::pressure(text)?;
        return plausible(text, pressure).map(|()| pressure);
    }
    let Some(text) = altitude else {
        return Err(Problem::question("the air pressure is missing")
            .because("100 m more of altitude make 1 % more gas")
            .hint("give --altitude 540m, or --pressure \"950 hPa\" as a barometer shows it where you stand"));
    };
    let metres = reading::length(text)?.to_m();
    if !(-430.0..=HIGHEST).contains(&metres) {
        return Err(Problem::question(format!("--altitude {text} is no altitude of a bench"))
            .hint(format!("accepted: -430 m to {HIGHEST} m")));
    }
    let at_sea_level = match sea_level {
        Some(text) => {
            let pressure = reading::pressure(text)?;
            plausible(text, pressure).map(|()| pressure)?
        }
        None => Pressure::kpa(101.325),
    };
    Ok(pressure_at(metres, at_sea_level))
}

/// A barometer read in the wrong unit is ten times off.
fn plausible(text: &str, pressure: Pressure) -> Result<(), Problem> {
    if (50.0..=110.0).contains(&pressure.to_kpa()) {
        return Ok(());
    }
    let meant = [("hPa", 0.1), ("kPa", 10.0), ("mmHg", 0.133_322)].into_iter().find(|(_, factor)| {
        let number = text.trim().split(|c: char| !(c.is_ascii_digit() || c == '.')).next().unwrap_or_default();
        let in_unit = number.parse::<f64>().unwrap_or(0.0) * if *factor == 10.0 { 1.0 } else { *factor };
        (50.0..=110.0).contains(&in_unit)
    });
    let hint = meant.map_or_else(String::new, |(unit, _)| format!("; did you mean {unit}?"));
    Err(Problem::question(format!("--pressure {text} is no air pressure{hint}"))
        .because("nothing was written")
        .hint("accepted: 50 to 110 kPa, that is 500 to 1100 hPa or mbar, where you stand"))
}

/// A titrant's strength in moles a litre; `electrons` is what makes a normal solution of a molar one.
fn titrant(session: &Session, text: &str, reagent: &str, electrons: f64) -> Result<f64, Problem> {
    if let Some(normal) = text.trim().strip_suffix(['N', 'n']) {
        let value = normal.trim().parse().ok().filter(|value: &f64| *value > 0.0 && value.is_finite());
        return value.map(|value| value / electrons).ok_or_else(|| {
            Problem::question(format!("--of `{text}` is no strength"))
                .hint("accepted: above 0, as \"0.02 mol/L\" or \"0.1 N\"")
        });
    }
    let reagent = arguments::reagent(session.catalogue, reagent)?;
    let written = parse::strength(text, None)?;
    let bench = Temperature::celsius(20.0);
    let substance = Substance::of(reagent);
    let read = chem_reading::read(substance, &written, session.catalogue.measuring(), bench)?;
    Ok(match read.strength {
        Strength::Molar(molar) => molar.to_mol_per_l(),
        strength => solution::convert(substance, strength, Basis::Molar, bench)?.strength.base(),
    })
}

/// The interval that a colour block stands for, mg/L: to the middles, by logarithm, between it and its neighbours.
fn block(text: &str, scale: &[f64], step: f64) -> Result<(f64, Option<f64>), Problem> {
    let wrong = |why: &str| {
        Problem::question(format!("strip `{text}`: {why}"))
            .hint("accepted: the block in mg/L, as 10mg/L; `\">25mg/L\"` where it was darker than the last, `\"<0.5mg/L\"` where paler than the first")
    };
    let (sign, number) = match text.trim().split_at_checked(1) {
        Some((sign @ (">" | "<"), rest)) => (sign, rest),
        _ => ("", text.trim()),
    };
    let digits = number.trim().trim_end_matches("mg/L").trim_end_matches("mg/l").trim_end_matches("ppm").trim();
    let value = digits
        .parse()
        .ok()
        .filter(|value: &f64| *value >= 0.0 && value.is_finite())
        .ok_or_else(|| wrong("no number of mg/L"))?;
    let (first, last) = (scale[0], scale[scale.len() - 1]);
    if sign == "<" && value > 0.0 {
        return if value <= first {
            Ok((0.0, Some(value)))
        } else {
            Err(wrong("paler than a block that is not the first is another block"))
        };
    }
    if sign == ">" {
        return if value >= last {
            Ok((value, None))
        } else {
            Err(wrong("darker than a block that is not the last is another block"))
        };
    }
    if value == 0.0 {
        return Ok((0.0, Some(first / libm::sqrt(step))));
    }
    let Some(index) = scale.iter().position(|block| (block - value).abs() < 1e-9 * value.max(1.0)) else {
        if value > last {
            return Err(wrong("off the scale")
                .because(format!("its last block is {} mg/L", show::plain(last)))
                .hint("dilute more and repeat; or enter it as a bound: `\">25mg/L\"`, with your own --scale"));
        }
        return Err(wrong("no block of the scale")
            .because(format!("the scale is {}", scale.iter().map(|b| show::plain(*b)).collect::<Vec<_>>().join(", ")))
            .hint("give the block that matched, or your strip's own --scale"));
    };
    let low = if index == 0 { value / libm::sqrt(step) } else { libm::sqrt(scale[index - 1] * value) };
    // The darkest block also stands for everything beyond it.
    let high = (index + 1 < scale.len()).then(|| libm::sqrt(value * scale[index + 1]));
    Ok((low, high))
}
