//! Reads what instruments show: temperatures, pressures, lengths, densities, and how often something was thinned.

use super::parse::{Reader, Unreadable};
use super::{Density, Length, Pressure, Temperature};

/// A unit: its name, its spellings (compared without spaces and capitals), and what one of it is in the base unit.
type Unit = (&'static str, &'static [&'static str], f64);

/// Base unit kPa. Source: `unit-definitions`.
const PRESSURES: &[Unit] = &[
    ("kPa", &["kpa"], 1.0),
    ("hPa", &["hpa", "mbar", "mb", "millibar"], 0.1),
    ("Pa", &["pa"], 1e-3),
    ("bar", &["bar"], 100.0),
    ("mmHg", &["mmhg", "torr"], 0.133_322_387_415),
    ("inHg", &["inhg", "\"hg"], 3.386_388_640_341),
    ("atm", &["atm"], 101.325),
];

/// Base unit mm. Source: `unit-definitions`.
const LENGTHS: &[Unit] = &[
    ("mm", &["mm"], 1.0),
    ("cm", &["cm"], 10.0),
    ("m", &["m", "metre", "metres", "meter", "meters"], 1e3),
    ("km", &["km"], 1e6),
    ("in", &["in", "inch", "inches", "\""], 25.4),
    ("ft", &["ft", "foot", "feet"], 304.8),
];

/// Base unit g/mL. Source: `definition`.
const DENSITIES: &[Unit] =
    &[("g/mL", &["g/ml", "kg/l", "g/cm3", "g/cm³"], 1.0), ("kg/m3", &["kg/m3", "kg/m³", "g/l"], 1e-3)];

/// Reads a pressure: `1013 hPa`, `95.0 kPa`, `29.9 inHg`.
///
/// # Errors
/// [`Unreadable`] for a bad number, and a missing or unknown unit: 1013 could be hPa, 101 kPa.
pub fn pressure(text: &str) -> Result<Pressure, Unreadable> {
    let accepted = "a number and a unit: hPa, mbar, kPa, mmHg, inHg, bar";
    measured(text, "an air pressure", accepted, PRESSURES).map(Pressure::kpa)
}

/// Reads a length or an altitude: `6 cm`, `450 m`, `1500 ft`. A minus sign is below the sea.
///
/// # Errors
/// [`Unreadable`] for a bad number, and a missing or unknown unit.
pub fn length(text: &str) -> Result<Length, Unreadable> {
    let accepted = "a number and a unit: mm, cm, m, km, in, ft";
    let (sign, size) = signed(text);
    // Sea level is a place; no other quantity may be nothing.
    let (digits, unit) = split(size);
    let nothing = digits.parse::<f64>().is_ok_and(|value| value == 0.0);
    if nothing && unit_of(unit, LENGTHS).is_some() {
        return Ok(Length::mm(0.0));
    }
    measured(size, "a length", accepted, LENGTHS)
        .map(|mm| Length::mm(sign * mm))
        .map_err(|error| Unreadable { text: text.to_owned(), ..error })
}

/// Reads a density: `1.131 g/mL`, `1131 kg/m3`; without a unit it is g/mL.
///
/// # Errors
/// [`Unreadable`] for a bad number or an unknown unit.
pub fn density(text: &str) -> Result<Density, Unreadable> {
    let accepted = "a number and a unit: g/mL, kg/m3";
    let bare = text.trim().chars().all(|c| c.is_ascii_digit() || c == '.');
    let whole = if bare { format!("{} g/mL", text.trim()) } else { text.to_owned() };
    measured(&whole, "a density", accepted, DENSITIES).map(Density::g_per_ml)
}

/// Reads a temperature: `21`, `21 C`, `70 F`, `293 K`; without a unit it is °C.
///
/// # Errors
/// [`Unreadable`] for a bad number or an unknown unit.
pub fn temperature(text: &str) -> Result<Temperature, Unreadable> {
    let reader =
        Reader { text, what: "a temperature", accepted: "a number and C, F or K; without a unit it is taken as °C" };
    let (sign, size) = signed(text);
    let (digits, unit) = split(size);
    let value = digits.parse::<f64>().map_err(|_| reader.because(format!("`{digits}` is no number")))? * sign;
    match unit.trim().trim_start_matches('°').to_lowercase().as_str() {
        "" | "c" | "celsius" => Ok(Temperature::celsius(value)),
        "f" | "fahrenheit" => Ok(Temperature::celsius((value - 32.0) / 1.8)),
        "k" | "kelvin" => Ok(Temperature::kelvin(value)),
        _ => Err(reader.stopped(unit)),
    }
}

/// Reads how many times something was thinned: `3000`, `3000x`, `1:50` (one part in fifty), `10mL:250mL`.
///
/// # Errors
/// [`Unreadable`] for anything else.
pub fn dilution(text: &str) -> Result<f64, Unreadable> {
    let reader = Reader {
        text,
        what: "a dilution",
        accepted: "how many times: `25`; one part in so many: `1:25`; or both volumes: `10mL:250mL`",
    };
    let Some((part, whole)) = text.split_once(':') else {
        let (times, rest) = reader.number(text.trim())?;
        return if matches!(rest.trim(), "" | "x" | "times") { Ok(times) } else { Err(reader.stopped(rest)) };
    };
    let side = |side: &str| -> Result<(f64, bool), Unreadable> {
        match super::parse::volume(side, None) {
            Ok(volume) => Ok((volume.to_ml(), true)),
            Err(_) => match reader.number(side.trim())? {
                (number, "") => Ok((number, false)),
                (_, rest) => Err(reader.stopped(rest)),
            },
        }
    };
    match (side(part)?, side(whole)?) {
        ((part, a), (whole, b)) if a == b => Ok(whole / part),
        _ => Err(reader.because("one side is a volume, the other is not")),
    }
}

fn signed(text: &str) -> (f64, &str) {
    match text.trim().strip_prefix(['-', '−']) {
        Some(size) => (-1.0, size),
        None => (1.0, text),
    }
}

fn measured(text: &str, what: &'static str, accepted: &'static str, units: &[Unit]) -> Result<f64, Unreadable> {
    let reader = Reader { text, what, accepted };
    let (value, rest) = reader.number(text.trim())?;
    unit_of(rest, units).map(|factor| value * factor).ok_or_else(|| reader.stopped(rest))
}

/// What one of a unit is in the base unit.
fn unit_of(text: &str, units: &[Unit]) -> Option<f64> {
    let word: String = text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect();
    units.iter().find(|(_, spellings, _)| spellings.contains(&word.as_str())).map(|(_, _, factor)| *factor)
}

/// Digits and point, and what stands behind them.
fn split(text: &str) -> (&str, &str) {
    let text = text.trim();
    text.split_at(text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-6 * wanted.abs().max(1.0), "{found} is not {wanted}");
    }

    #[test]
    fn what_instruments_show() {
        near(pressure("1013.25 hPa").unwrap().to_kpa(), 101.325);
        near(pressure("760 mmHg").unwrap().to_kpa(), 101.325);
        near(pressure("29.92 inHg").unwrap().to_kpa(), 101.320_75);
        near(length("1500 ft").unwrap().to_m(), 457.2);
        near(length("-10 cm").unwrap().to_mm(), -100.0);
        near(length("0 m").unwrap().to_m(), 0.0);
        near(density("1131 kg/m3").unwrap().to_g_per_ml(), 1.131);
        near(density("1.131").unwrap().to_g_per_ml(), 1.131);
        near(temperature("72 F").unwrap().to_celsius(), 22.222_222);
        near(temperature("-2.5").unwrap().to_celsius(), -2.5);
        near(dilution("10mL:250mL").unwrap(), 25.0);
        near(dilution("1:25").unwrap(), 25.0);
        near(dilution("3000x").unwrap(), 3000.0);
    }

    #[test]
    fn what_they_never_show() {
        for (text, word) in [("1013", "a unit is missing"), ("95 psi", "stopped at `psi`"), ("-1 hPa", "above 0")] {
            let error = pressure(text).unwrap_err();
            assert!(error.why.contains(word), "{text}: {error:?}");
        }
        assert!(length("450").unwrap_err().why.contains("a unit is missing"));
        for text in ["high", "NaNm", "-m", "wet", "0", "0 furlong"] {
            assert!(length(text).is_err(), "{text}");
        }
        assert!(temperature("warm").is_err() && temperature("21 R").is_err() && temperature("").is_err());
        assert!(dilution("1mL:50").unwrap_err().why.contains("one side is a volume"));
    }
}
