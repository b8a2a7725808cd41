//! Reads amounts and strengths as people write them.
//!
//! `500ml`, `1 1/2 tsp`, `16 L`; `3%`, `35 % w/w`, `10 vol`, `1:3`, `2.5 mL/gal-us of 3 % w/v`, `25 % of a 3 % bottle`.
//! Nothing is guessed silently: what had to be assumed stands in the result, what cannot be told is an error that says
//! what was read, where it stopped and what would be accepted.

use thiserror::Error;

use super::measure::{Amount, Kitchen, MassUnit, Measure, Quantity, VolumeReading, VolumeUnit};
use super::strength::{Basis, Strength, StrengthUnit};
use super::{Mass, Volume};

/// A text that cannot be read.
#[derive(Debug, Clone, Error, PartialEq)]
#[error("cannot read `{text}` as {what}: {why}")]
pub struct Unreadable {
    /// The whole text.
    pub text: String,
    /// What it should have been: `an amount`.
    pub what: &'static str,
    /// What was read, where it stopped.
    pub why: String,
    /// What would be accepted.
    pub accepted: String,
}

/// A strength as it was written, before a reagent gives it meaning.
#[derive(Debug, Clone, PartialEq)]
pub enum Written {
    /// A strength with its basis.
    Plain(Strength, StrengthUnit),
    /// A bare per cent: the reagent's usual basis decides.
    BarePercent(f64),
    /// A share of something, named or not.
    Share(Share, Option<Box<Written>>),
}

/// How something was thinned.
#[derive(Debug, Clone, PartialEq)]
pub enum Share {
    /// Parts of product to parts of water by volume.
    Parts {
        /// Parts of the product.
        product: f64,
        /// Parts of water added to them.
        water: f64,
    },
    /// A measure of product for a volume.
    PerVolume {
        /// The measure.
        amount: Amount,
        /// The volume.
        volume: Volume,
        /// True for `/` and `per` (made up to that volume), false for `in` and `to` (added to that much water).
        made_up: bool,
    },
    /// So many per cent of the product by volume: `25 % of a 3 % bottle`.
    Percent(f64),
}

const AMOUNTS: &str = "a number and a unit: g, kg, mg, oz, lb, mL, L, tsp, tbsp, cup, drop, gal-us, gal-imp, floz-us \
                       (fractions as 1/2 or 1 1/2, the decimal sign is a point)";
const STRENGTHS: &str = "for example `3 %`, `3 % w/v`, `35 % w/w`, `30 g/L`, `10 mg/L`, `0.9 mol/L`, `10 vol`, \
                         `2.7 g/L available chlorine`, `1:3 of 3 % w/v`, `2.5 mL/gal-us of 3 % w/v`, `2 tbsp/gal-us`";

/// Reads an amount: a number and a unit of mass or volume.
///
/// # Errors
/// [`Unreadable`] for a missing or unknown unit, a number that is no number or not above 0, or a kitchen word whose
/// country must be told (`gal`).
pub fn amount(text: &str, kitchen: Option<Kitchen>) -> Result<Amount, Unreadable> {
    let reader = Reader { text, what: "an amount", accepted: AMOUNTS };
    let (value, unit) = reader.number(text.trim())?;
    reader.amount_of(value, unit.trim(), kitchen)
}

/// Reads a volume, such as that of a bath.
///
/// # Errors
/// As [`amount`], and for a mass.
pub fn volume(text: &str, kitchen: Option<Kitchen>) -> Result<Volume, Unreadable> {
    match amount(text, kitchen)?.quantity {
        Quantity::Volume(volume) => Ok(volume),
        Quantity::Mass(_) => Err(Unreadable {
            text: text.to_owned(),
            what: "a volume",
            why: "that is a mass".to_owned(),
            accepted: "a number and a unit of volume: 16 L, 500 mL, 5 gal-us, 4 gal-imp".to_owned(),
        }),
    }
}

/// A number above 0 at the beginning of a text, and what stands behind it: `1 1/2 tsp` is 1.5 and ` tsp`.
///
/// # Errors
/// [`Unreadable`] where none stands there, for one that is not above 0, out of range, or with a comma in it.
pub fn number(text: &str) -> Result<(f64, &str), Unreadable> {
    Reader { text, what: "a number", accepted: "2, 2.5, 1/2, 1 1/2, ½; the decimal sign is a point" }.number(text)
}

/// Reads a relative standard deviation: `3%`, `3 %` or `0.03`.
///
/// # Errors
/// [`Unreadable`] for anything that is not between 0.01 % and 100 %.
pub fn relative_sd(text: &str) -> Result<f64, Unreadable> {
    let reader = Reader {
        text,
        what: "a relative standard deviation",
        accepted: "a per cent of the figure, `3%`, or a share, `0.03`; between 0.01 % and 100 %",
    };
    let (value, rest) = reader.number(text.trim())?;
    let share = match rest.trim() {
        "%" => value / 100.0,
        "" => value,
        _ => return Err(reader.stopped(rest)),
    };
    if !(0.0001..=1.0).contains(&share) {
        return Err(reader.because(format!("{} % is out of range", share * 100.0)));
    }
    Ok(share)
}

/// Reads a strength as it is written on a bottle or in a recipe.
///
/// # Errors
/// [`Unreadable`] for an unknown unit, a bad number, a per cent above 100, or a kitchen word whose country must be told.
pub fn strength(text: &str, kitchen: Option<Kitchen>) -> Result<Written, Unreadable> {
    let reader = Reader { text, what: "a strength", accepted: STRENGTHS };
    let trimmed = text.trim();
    if let Some((head, tail)) = trimmed.split_once(" of ") {
        // `1 part of a 3 % bottle to 3 parts water` is `1 part to 3 parts water of a 3 % bottle`.
        let turned = [" to ", " per ", " in "]
            .iter()
            .find_map(|joint| tail.split_once(joint).map(|(of, below)| (of, format!("{head}{joint}{below}"))));
        let (tail, head) = match &turned {
            Some((of, whole)) => (*of, whole.as_str()),
            None => (tail, head),
        };
        let tail = tail.trim().trim_start_matches("a ").trim_start_matches("an ").trim_end_matches(" bottle");
        let of = reader.plain(tail)?;
        let share = match reader.head(head.trim(), kitchen)? {
            Written::Share(share, None) => share,
            Written::BarePercent(percent) => Share::Percent(percent),
            Written::Plain(Strength::VolumeInVolume(part), _) => Share::Percent(part.to_percent()),
            _ => return Err(reader.because(format!("read `{head}`, which is no share `of` something"))),
        };
        return Ok(Written::Share(share, Some(Box::new(of))));
    }
    reader.head(trimmed, kitchen)
}

/// A text on its way to a quantity.
pub(super) struct Reader<'a> {
    pub(super) text: &'a str,
    pub(super) what: &'static str,
    pub(super) accepted: &'static str,
}

impl Reader<'_> {
    pub(super) fn because(&self, why: impl Into<String>) -> Unreadable {
        Unreadable { text: self.text.to_owned(), what: self.what, why: why.into(), accepted: self.accepted.to_owned() }
    }

    pub(super) fn stopped(&self, rest: &str) -> Unreadable {
        let read = self.text.strip_suffix(rest).unwrap_or(self.text).trim();
        match (read.is_empty(), rest.trim().is_empty()) {
            (_, true) => self.because(format!("read `{read}`, then it ended; a unit is missing")),
            (true, false) => self.because(format!("stopped at `{}`", rest.trim())),
            (false, false) => self.because(format!("read `{read}`, stopped at `{}`", rest.trim())),
        }
    }

    /// A number above 0 and the text behind it. `1/2`, `1 1/2`, `½`, `1½`, `2.5`.
    pub(super) fn number<'t>(&self, text: &'t str) -> Result<(f64, &'t str), Unreadable> {
        if text.starts_with(['-', '−']) {
            return Err(self.because("a quantity must be above 0"));
        }
        let (mut value, mut rest) = match glyph_fraction(text) {
            Some(found) => found,
            None => self.digits(text)?,
        };
        if let Some((part, behind)) = glyph_fraction(rest.trim_start()) {
            (value, rest) = (value + part, behind);
        } else if let Some(below) =
            rest.strip_prefix('/').filter(|below| below.starts_with(|c: char| c.is_ascii_digit()))
        {
            let (divisor, behind) = self.digits(below)?;
            (value, rest) = (self.divided(value, divisor)?, behind);
        } else if rest.starts_with(' ')
            && let Some((above, behind)) = self.digits(rest.trim_start()).ok()
            && let Some(below) = behind.strip_prefix('/')
            && let Ok((divisor, behind)) = self.digits(below)
        {
            (value, rest) = (value + self.divided(above, divisor)?, behind);
        }
        if value <= 0.0 {
            return Err(self.because("a quantity must be above 0"));
        }
        if !(1e-9..=1e9).contains(&value) {
            return Err(self.because(format!("{value:e} is out of any range that a shelf can hold")));
        }
        Ok((value, rest))
    }

    fn divided(&self, above: f64, below: f64) -> Result<f64, Unreadable> {
        if below == 0.0 { Err(self.because("it divides by 0")) } else { Ok(above / below) }
    }

    fn digits<'t>(&self, text: &'t str) -> Result<(f64, &'t str), Unreadable> {
        let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
        let (digits, rest) = text.split_at(end);
        if digits.is_empty() {
            return Err(self.because(if text.is_empty() {
                "it is empty".to_owned()
            } else {
                format!("a number was expected at `{text}`")
            }));
        }
        if rest.starts_with(',') && rest[1..].starts_with(|c: char| c.is_ascii_digit()) {
            return Err(
                self.because(format!("`{digits},…` could be a decimal or a thousands comma; write a point or none"))
            );
        }
        match digits.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok((value, rest)),
            _ => Err(self.because(format!("`{digits}` is no number"))),
        }
    }

    fn amount_of(&self, value: f64, unit: &str, kitchen: Option<Kitchen>) -> Result<Amount, Unreadable> {
        if let Some(mass) = MassUnit::called(unit) {
            let quantity = Quantity::Mass(Mass::g(value * mass.grams));
            return Ok(Amount { quantity, measure: Measure::Weighed, unit: mass.name, source: mass.source });
        }
        let volume = self.volume_unit(unit, kitchen)?;
        Ok(Amount {
            quantity: Quantity::Volume(Volume::ml(value * volume.ml)),
            measure: volume.measure,
            unit: volume.name,
            source: volume.source,
        })
    }

    fn volume_unit(&self, unit: &str, kitchen: Option<Kitchen>) -> Result<VolumeUnit, Unreadable> {
        match VolumeUnit::called(unit, kitchen) {
            Some(VolumeReading::One(unit) | VolumeReading::Guessed(unit)) => Ok(unit),
            Some(VolumeReading::Ask(us, imperial)) => Err(Unreadable {
                accepted: format!(
                    "`{}` or `{}`, or tell the register once which kitchen it stands in: `brimstock set kitchen us`",
                    us.name, imperial.name
                ),
                ..self.because(format!(
                    "which `{unit}`? {} is {:.0} mL, {} is {:.0} mL",
                    us.name, us.ml, imperial.name, imperial.ml
                ))
            }),
            None => Err(self.stopped(unit)),
        }
    }

    /// Everything that may stand before an `of`, or alone.
    fn head(&self, text: &str, kitchen: Option<Kitchen>) -> Result<Written, Unreadable> {
        let (value, rest) = self.number(text)?;
        if let Some(parts) = self.parts(value, rest)? {
            return Ok(Written::Share(parts, None));
        }
        if let Some(plain) = self.plain_unit(value, rest)? {
            return Ok(plain);
        }
        self.per_volume(value, rest, kitchen)
    }

    /// A strength that may stand behind an `of`.
    fn plain(&self, text: &str) -> Result<Written, Unreadable> {
        let (value, rest) = self.number(text)?;
        self.plain_unit(value, rest)?.ok_or_else(|| self.stopped(rest))
    }

    /// `: 3`, `to 3`, `part to 3 parts water`.
    fn parts(&self, product: f64, rest: &str) -> Result<Option<Share>, Unreadable> {
        let mut tail = rest.trim_start();
        let spelled = tail.strip_prefix("parts").or_else(|| tail.strip_prefix("part"));
        let is_spelled = spelled.is_some();
        tail = spelled.unwrap_or(tail).trim_start();
        let Some(behind) = tail.strip_prefix(':').or_else(|| tail.strip_prefix("to ")) else {
            return if is_spelled { Err(self.stopped(tail)) } else { Ok(None) };
        };
        let (water, end) = self.number(behind.trim_start())?;
        let mut end = end.trim();
        for word in ["parts", "part", "of water", "water"] {
            end = end.strip_prefix(word).unwrap_or(end).trim_start();
        }
        if end.is_empty() { Ok(Some(Share::Parts { product, water })) } else { Err(self.stopped(end)) }
    }

    fn plain_unit(&self, value: f64, rest: &str) -> Result<Option<Written>, Unreadable> {
        let unit = rest.trim();
        if matches!(unit, "%" | "percent" | "per cent") {
            return if value > 100.0 {
                Err(self.because(format!("{value} % is more than the whole")))
            } else {
                Ok(Some(Written::BarePercent(value)))
            };
        }
        let Some(unit) = StrengthUnit::called(unit) else { return Ok(None) };
        let strength = unit.of(value);
        let whole = matches!(unit.basis, Basis::InWeight | Basis::VolumeInVolume | Basis::ChlorineInWeight);
        if whole && strength.base() > 1.0 + 1e-12 {
            return Err(self.because(format!("{value} {} is more than the whole", unit.name)));
        }
        Ok(Some(Written::Plain(strength, unit)))
    }

    /// `mL/gal-us`, `tbsp per 5 gal-us`, `drops in 10 L`.
    fn per_volume(&self, value: f64, rest: &str, kitchen: Option<Kitchen>) -> Result<Written, Unreadable> {
        let joints = [("/", true), (" per ", true), (" in ", false), (" to ", false)];
        let Some((unit, below, made_up)) =
            joints.iter().find_map(|(joint, made_up)| rest.split_once(joint).map(|(a, b)| (a, b, *made_up)))
        else {
            return Err(self.stopped(rest));
        };
        let below = below.trim().trim_start_matches("a ");
        let (count, volume_name) = match self.number(below) {
            Ok((count, name)) => (count, name.trim()),
            Err(_) => (1.0, below),
        };
        let volume_name = volume_name.trim_end_matches(" of water").trim_end_matches(" water");
        let volume = self.volume_unit(volume_name, kitchen)?;
        // A gallon that says its country speaks for the spoon beside it.
        let amount = self.amount_of(value, unit.trim(), volume.kitchen().or(kitchen))?;
        let volume = Volume::ml(count * volume.ml);
        Ok(Written::Share(Share::PerVolume { amount, volume, made_up }, None))
    }
}

fn glyph_fraction(text: &str) -> Option<(f64, &str)> {
    let glyph = text.chars().next()?;
    let value = match glyph {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        _ => return None,
    };
    Some((value, &text[glyph.len_utf8()..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Equal but for the rounding that a trip through SI base units brings.
    #[track_caller]
    fn near(found: f64, wanted: f64) {
        assert!((found / wanted - 1.0).abs() < 1e-12, "{found} is not {wanted}");
    }

    fn ml(text: &str) -> f64 {
        amount(text, None).unwrap().quantity.base()
    }

    #[test]
    fn amounts_as_people_type_them() {
        near(ml("500ml"), 500.0);
        near(ml("16 L"), 16_000.0);
        near(ml("2 tbsp"), 30.0);
        near(ml("1/2 tsp"), 2.5);
        near(ml("1 1/2 tsp"), 7.5);
        near(ml("1½ tsp"), 7.5);
        near(ml("2 US gallons"), 2.0 * 3_785.411_784);
        near(ml("1 gal (imp)"), 4_546.09);
        near(ml("3 fl oz US"), 3.0 * 29.573_529_562_5);
        near(ml("2 lbs"), 907.184_74);
        near(ml("3 drops"), 0.15);
    }

    #[test]
    fn a_bare_gallon_asks_and_a_kitchen_answers() {
        let asked = amount("1 gal", None).unwrap_err();
        assert!(asked.why.contains("which `gal`?") && asked.accepted.contains("gal-imp"), "{asked:?}");
        assert_eq!(amount("1 gal", Some(Kitchen::Us)).unwrap().unit, "gal-us");
        near(amount("1 tbsp", Some(Kitchen::Australian)).unwrap().quantity.base(), 20.0);
        assert_eq!(amount("1 tbsp", None).unwrap().measure, Measure::UnknownSpoon);
    }

    #[test]
    fn a_gallon_speaks_for_its_spoon() {
        let Written::Share(Share::PerVolume { amount, .. }, None) = strength("1 tbsp/gal-us", None).unwrap() else {
            panic!("a share was expected");
        };
        assert_eq!((amount.unit, amount.measure), ("tbsp-us", Measure::Spoon));
    }

    #[test]
    fn bad_numbers_say_where_they_stopped() {
        for (text, word) in [
            ("1/0 tsp", "divides by 0"),
            ("-3 g", "above 0"),
            ("0 g", "above 0"),
            ("NaN g", "a number was expected"),
            ("1e300 g", "stopped at `e300 g`"),
            ("9999999999999 L", "out of any range"),
            ("2,5 g", "decimal or a thousands comma"),
            ("2", "a unit is missing"),
            ("", "empty"),
            ("1.2.3 g", "is no number"),
            ("2 tbsq", "read `2`, stopped at `tbsq`"),
        ] {
            let error = amount(text, None).unwrap_err();
            assert!(error.why.contains(word), "{text}: {error:?}");
        }
        assert!(strength("130 % w/w", None).unwrap_err().why.contains("more than the whole"));
    }

    #[test]
    fn strengths_as_people_write_them() {
        let base = |text: &str| match strength(text, None).unwrap() {
            Written::Plain(strength, _) => strength.base(),
            other => panic!("{other:?}"),
        };
        near(base("35 % w/w"), 0.35);
        near(base("3 % w/v"), 30.0);
        near(base("10 vol"), 10.0);
        near(base("10 ppm"), 0.01);
        near(base("12.5 trade %"), 125.0);
        assert_eq!(strength("3%", None).unwrap(), Written::BarePercent(3.0));
        assert_eq!(strength("1:3", None).unwrap(), Written::Share(Share::Parts { product: 1.0, water: 3.0 }, None));
        assert!(matches!(
            strength("1 part to 19 parts water of 5.25 % w/w", None).unwrap(),
            Written::Share(Share::Parts { water, .. }, Some(_)) if water == 19.0
        ));
        assert_eq!(
            strength("1 part of a 3 % bottle to 3 parts water", None).unwrap(),
            strength("1:3 of 3 %", None).unwrap()
        );
        assert_eq!(strength("2 mL of 3 % per gal-us", None).unwrap(), strength("2 mL/gal-us of 3 %", None).unwrap());
        assert!(matches!(
            strength("25 % of a 3 % bottle", None).unwrap(),
            Written::Share(Share::Percent(percent), Some(_)) if percent == 25.0
        ));
    }
}
