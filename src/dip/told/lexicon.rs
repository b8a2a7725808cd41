//! What single words, signs and numbers of a recipe may be: numbers in words, units of amount, time and strength.

use super::token::{Kind, Token};
use super::{Span, StrengthWord, UnitWord};
use crate::catalogue::Catalogue;
use crate::units::measure::{MassUnit, VolumeUnit};
use crate::units::strength::StrengthUnit;
use crate::units::time;

/// Numbers in words; one that is made of several words is refused.
const NUMBERS: &[(&str, f64)] = &[
    ("a", 1.0),
    ("an", 1.0),
    ("one", 1.0),
    ("two", 2.0),
    ("three", 3.0),
    ("four", 4.0),
    ("five", 5.0),
    ("six", 6.0),
    ("seven", 7.0),
    ("eight", 8.0),
    ("nine", 9.0),
    ("ten", 10.0),
    ("twelve", 12.0),
    ("fifteen", 15.0),
    ("twenty", 20.0),
    ("thirty", 30.0),
    ("forty", 40.0),
    ("sixty", 60.0),
    ("eleven", 11.0),
    ("thirteen", 13.0),
    ("fourteen", 14.0),
    ("sixteen", 16.0),
    ("seventeen", 17.0),
    ("eighteen", 18.0),
    ("nineteen", 19.0),
    ("fifty", 50.0),
    ("seventy", 70.0),
    ("eighty", 80.0),
    ("ninety", 90.0),
    ("hundred", 100.0),
    ("thousand", 1000.0),
    ("half", 0.5),
    ("quarter", 0.25),
];

/// The tokens of a text, and what may stand at one of them. Each reader tells where the rest begins.
pub(super) struct Page<'a> {
    pub(super) catalogue: &'a Catalogue,
    pub(super) text: &'a str,
    pub(super) tokens: &'a [Token],
}

impl Page<'_> {
    pub(super) fn word(&self, at: usize) -> Option<&str> {
        match self.tokens.get(at).map(|token| &token.kind) {
            Some(Kind::Word(word)) => Some(word),
            _ => None,
        }
    }

    pub(super) fn sign(&self, at: usize) -> Option<char> {
        match self.tokens.get(at).map(|token| &token.kind) {
            Some(Kind::Sign(sign)) => Some(*sign),
            _ => None,
        }
    }

    /// The text of these tokens.
    pub(super) fn words(&self, from: usize, to: usize) -> &str {
        match (self.tokens.get(from), self.tokens.get(to.saturating_sub(1))) {
            (Some(first), Some(last)) if first.start <= last.end => &self.text[first.start..last.end],
            _ => "",
        }
    }

    pub(super) fn skip(&self, at: usize, words: &[&str]) -> usize {
        let mut at = at;
        while self.word(at).is_some_and(|word| words.contains(&word)) {
            at += 1;
        }
        at
    }

    /// A number in figures or in words, or two with a hyphen, a `to` or an `or` between.
    pub(super) fn number(&self, at: usize) -> Option<(Span, usize)> {
        let (first, behind) = self.single(at)?;
        let hyphen = self.sign(behind).is_some_and(|sign| matches!(sign, '-' | '–' | '—'));
        let spelled = matches!(self.word(behind), Some("to" | "or"));
        if let Some((second, after)) = (hyphen || spelled).then(|| self.single(behind + 1)).flatten()
            && (hyphen || self.is_measured(after))
        {
            return Some((Span::between(first, second), after));
        }
        Some((Span::exact(first), behind))
    }

    pub(super) fn single(&self, at: usize) -> Option<(f64, usize)> {
        let (value, behind) = self.whole(at)?;
        // `2 and a half cups`, `one and a quarter`.
        if self.word(behind) == Some("and") {
            let fraction = self.skip(behind + 1, &["a", "one"]);
            let added = match self.word(fraction) {
                Some("half") => Some(0.5),
                Some("quarter") => Some(0.25),
                _ => None,
            };
            if let Some(added) = added {
                return Some((value + added, fraction + 1));
            }
        }
        if let Some(Kind::Number(_)) = self.tokens.get(at).map(|token| &token.kind) {
            // `1/2 a teaspoon`.
            let to = self.skip(behind, &["a", "an"]);
            return Some((value, if self.is_measured(to) { to } else { behind }));
        }
        let part = matches!(self.word(behind), Some("part" | "parts"));
        let ratio = matches!(self.word(behind), Some("in" | "to"))
            && matches!(self.tokens.get(behind + 1).map(|token| &token.kind), Some(Kind::Number(_)))
            && self.word(at) != Some("a");
        let in_words =
            self.word(behind) == Some("in") && self.word(at) == Some("one") && self.whole(behind + 1).is_some();
        let last = at > 1 && self.word(at - 1) == Some("in") && !matches!(self.word(at), Some("a" | "an"));
        (part || ratio || in_words || last || self.is_measured(behind)).then_some((value, behind))
    }

    /// A number in figures, or a word for one, whatever stands behind it.
    pub(super) fn whole(&self, at: usize) -> Option<(f64, usize)> {
        if let Some(Kind::Number(value)) = self.tokens.get(at).map(|token| &token.kind) {
            return Some((*value, at + 1));
        }
        let word = self.word(at)?;
        let (_, value) = NUMBERS.iter().find(|(name, _)| *name == word)?;
        // `half a cup`, `half an hour`, `a quarter teaspoon`, `a half cup`, `a couple of`.
        let next = at + 1;
        Some(match (word, self.word(next)) {
            ("half" | "quarter", Some("a" | "an" | "of")) => (*value, self.skip(next, &["a", "an", "of"])),
            ("a" | "an" | "one", Some("half")) => (0.5, next + 1),
            ("a" | "an" | "one", Some("quarter")) => (0.25, next + 1),
            ("a", Some("couple")) => (2.0, self.skip(next, &["couple", "of"])),
            _ => (*value, next),
        })
    }

    /// True if a unit of anything stands here.
    pub(super) fn is_measured(&self, at: usize) -> bool {
        self.time(at).is_some() || self.unit(at).is_some() || self.strength(at).is_some()
    }

    pub(super) fn time(&self, at: usize) -> Option<(f64, usize)> {
        Some((time::unit(self.word(at)?)?, at + 1))
    }

    /// A unit of an amount, the longest that fits.
    pub(super) fn unit(&self, at: usize) -> Option<(UnitWord, usize)> {
        let at = self.sized(at);
        for to in (at + 1..=(at + 3).min(self.tokens.len())).rev() {
            if (at..to).any(|at| self.word(at).is_none()) {
                continue;
            }
            let words = self.words(at, to);
            if let Some(mass) = MassUnit::called(words) {
                return Some((if mass.name == "oz" { UnitWord::Ounce } else { UnitWord::Mass(mass) }, to));
            }
            if VolumeUnit::called(words, None).is_some() {
                return Some((UnitWord::Volume(words.to_owned()), to));
            }
        }
        let (place, to) = self.loose(at)?;
        (self.catalogue.loose().words[place].range.unit != "mg/L").then_some((UnitWord::Loose(place), to))
    }

    /// Behind `heaped`, `level` and the like: they are read with the unit.
    pub(super) fn sized(&self, at: usize) -> usize {
        self.skip(at, &["heaped", "heaping", "rounded", "level", "levelled", "leveled", "small", "large", "big"])
    }

    /// A word that hides a number, the longest that fits.
    pub(super) fn loose(&self, at: usize) -> Option<(usize, usize)> {
        (at + 1..=(at + 3).min(self.tokens.len())).rev().find_map(|to| {
            if (at..to).any(|at| self.word(at).is_none()) {
                return None;
            }
            let words = self.words(at, to).to_lowercase().replace('-', " ");
            let singular = words.strip_suffix("es").filter(|word| word.ends_with("sh") || word.ends_with("ch"));
            let singular = singular.or_else(|| words.strip_suffix('s')).unwrap_or(&words);
            let names = |name: &String| *name == words || name == singular;
            self.catalogue.loose().words.iter().position(|word| word.says.iter().any(names)).map(|place| (place, to))
        })
    }

    /// A unit of strength, with the chlorine that it may count, and whether it counts it.
    pub(super) fn strength(&self, at: usize) -> Option<(StrengthWord, bool, usize)> {
        if self.sign(at) == Some('%') || matches!(self.word(at), Some("percent" | "pct")) {
            return Some(self.percent(at + 1));
        }
        if self.word(at) == Some("per") && self.word(at + 1) == Some("cent") {
            return Some(self.percent(at + 2));
        }
        let word = self.word(at)?;
        let joined = self.sign(at + 1) == Some('/') || self.word(at + 1) == Some("per");
        let (name, to) = match word {
            "ppm" => ("mg/L".to_owned(), at + 1),
            "vol" | "vols" | "volume" | "volumes" => ("vol".to_owned(), at + 1),
            "m" | "molar" if self.words(at, at + 1) != "m" => ("mol/L".to_owned(), at + 1),
            "mol" | "mmol" if joined && self.is_litre(at + 2) => (format!("{word}/L"), at + 3),
            _ if joined && self.is_litre(at + 2) => (format!("{}/L", MassUnit::called(word)?.name), at + 3),
            _ => return None,
        };
        let unit = StrengthUnit::called(&name)?;
        match self.chlorine(to) {
            Some(behind) if matches!(name.as_str(), "mg/L" | "g/L") => {
                let unit = StrengthUnit::called(&format!("{name} available chlorine"))?;
                Some((StrengthWord::Unit(unit), true, behind))
            }
            _ => Some((StrengthWord::Unit(unit), false, to)),
        }
    }

    pub(super) fn is_litre(&self, at: usize) -> bool {
        self.word(at).is_some_and(|word| VolumeUnit::exactly_called(word).is_some_and(|unit| unit.name == "L"))
    }

    /// What stands behind a per cent: `w/v`, `available chlorine`.
    pub(super) fn percent(&self, at: usize) -> (StrengthWord, bool, usize) {
        let of = |at: usize| self.word(at).filter(|word| matches!(*word, "w" | "v" | "m"));
        let based = of(at).zip(of(at + 2)).filter(|_| self.sign(at + 1) == Some('/'));
        let unit = based.and_then(|(part, whole)| StrengthUnit::called(&format!("% {part}/{whole}")));
        let (unit, to) = unit.map_or((None, at), |unit| (Some(unit), at + 3));
        match (unit, self.chlorine(to)) {
            (Some(unit), Some(behind)) if unit.name == "% w/w" => {
                (StrengthWord::Unit(StrengthUnit::named("% w/w available chlorine")), true, behind)
            }
            (Some(unit), _) => (StrengthWord::Unit(unit), false, to),
            (None, Some(behind)) => (StrengthWord::Percent, true, behind),
            (None, None) => (StrengthWord::Percent, false, to),
        }
    }

    pub(super) fn chlorine(&self, at: usize) -> Option<usize> {
        let at = self.skip(at, &["of", "as", "available", "active", "free"]);
        matches!(self.word(at), Some("chlorine" | "cl" | "cl2")).then_some(at + 1)
    }
}
