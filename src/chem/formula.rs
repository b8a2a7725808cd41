//! Molar masses from formulas, hydrates included.
//!
//! Atomic weights: the abridged values of IUPAC 2021 (Prohaska et al., Pure Appl. Chem. 94, 2022).

use super::ChemError;
use crate::units::MolarMass;

/// Abridged standard atomic weights, g/mol.
const WEIGHTS: &[(&str, f64)] = &[
    ("H", 1.008),
    ("C", 12.011),
    ("N", 14.007),
    ("O", 15.999),
    ("Na", 22.990),
    ("Mg", 24.305),
    ("Al", 26.982),
    ("S", 32.06),
    ("Cl", 35.45),
    ("K", 39.098),
    ("Ca", 40.078),
    ("Mn", 54.938),
    ("Cu", 63.546),
    ("I", 126.90),
];

/// More parentheses than this are not opened in one another. Source: `judgement`; minerals have two.
const MOST_OPEN: usize = 16;

/// The largest number that may stand in a formula: with it a mass stays a number. Source: `judgement`.
const MOST_ATOMS: f64 = 10_000.0;

/// The molar mass of a formula: the sum of its atomic weights.
///
/// Elements, integer subscripts, parentheses, and water or another molecule behind a point with its own number:
/// `KAl(SO4)2.12H2O` is 474.372 g/mol, `Na2CO3.1.5H2O2` 157.009.
///
/// # Errors
/// [`ChemError::Formula`] at the first thing that is none of these: at a number that is nothing or above 10,000 too, and at
/// the seventeenth parenthesis in one another.
///
/// Source: `iupac-2021`.
pub fn molar_mass(formula: &str) -> Result<MolarMass, ChemError> {
    Ok(MolarMass::g_per_mol(summed(formula, None)?))
}

/// How many atoms of each element a formula holds, those that it has none of left out.
///
/// `KAl(SO4)2.12H2O` holds 24 H, 20 O, 1 Al, 2 S and 1 K.
///
/// # Errors
/// As [`molar_mass`].
///
/// Source: `definition`.
pub fn atoms(formula: &str) -> Result<Vec<(&'static str, f64)>, ChemError> {
    let mut found = Vec::new();
    for (symbol, _) in WEIGHTS {
        let count = summed(formula, Some(symbol))?;
        if count > 0.0 {
            found.push((*symbol, count));
        }
    }
    Ok(found)
}

/// The sum of the weights of all atoms, or the number of those of one element.
fn summed(formula: &str, only: Option<&str>) -> Result<f64, ChemError> {
    let mut reader = Reader { formula, rest: formula, only, open: 0 };
    let mut total = reader.group()?;
    while let Some(rest) = reader.rest.strip_prefix('.') {
        reader.rest = rest;
        let count = reader.decimal()?;
        total += count * reader.group()?;
    }
    if reader.rest.is_empty() { Ok(total) } else { Err(reader.stopped()) }
}

struct Reader<'a> {
    formula: &'a str,
    rest: &'a str,
    /// The one element that is counted; nothing where all are weighed.
    only: Option<&'a str>,
    /// How many parentheses are open.
    open: usize,
}

impl Reader<'_> {
    fn stopped(&self) -> ChemError {
        ChemError::Formula { formula: self.formula.to_owned(), at: self.rest.to_owned() }
    }

    /// A run of elements and parentheses with their subscripts.
    fn group(&mut self) -> Result<f64, ChemError> {
        let mut total = 0.0;
        let start = self.rest;
        loop {
            if let Some(inside) = self.rest.strip_prefix('(') {
                if self.open == MOST_OPEN {
                    return Err(self.stopped());
                }
                (self.rest, self.open) = (inside, self.open + 1);
                let mass = self.group()?;
                self.rest = self.rest.strip_prefix(')').ok_or_else(|| self.stopped())?;
                self.open -= 1;
                total += mass * self.subscript()?;
            } else if let Some(weight) = self.element() {
                total += weight * self.subscript()?;
            } else {
                return if self.rest.len() < start.len() { Ok(total) } else { Err(self.stopped()) };
            }
        }
    }

    /// The longest element symbol that stands next: `Na` before `N`.
    fn element(&mut self) -> Option<f64> {
        let named = |letters: usize| {
            let next = self.rest.get(..letters)?;
            WEIGHTS.iter().find(|(symbol, _)| *symbol == next)
        };
        let found = named(2).or_else(|| named(1))?;
        let rest = &self.rest[found.0.len()..];
        // `Co` is not `C` followed by `o`.
        if rest.starts_with(|c: char| c.is_ascii_lowercase()) {
            return None;
        }
        self.rest = rest;
        Some(match self.only {
            None => found.1,
            Some(symbol) => f64::from(u8::from(symbol == found.0)),
        })
    }

    fn subscript(&mut self) -> Result<f64, ChemError> {
        self.count(|c| c.is_ascii_digit())
    }

    /// The number of molecules behind a point, which may itself hold a point: `1.5` in `.1.5H2O2`.
    fn decimal(&mut self) -> Result<f64, ChemError> {
        self.count(|c| c.is_ascii_digit() || c == '.')
    }

    /// The number that stands next, 1 where none does.
    fn count(&mut self, of_number: impl Fn(char) -> bool) -> Result<f64, ChemError> {
        let end = self.rest.find(|c| !of_number(c)).unwrap_or(self.rest.len());
        let (digits, rest) = self.rest.split_at(end);
        if digits.is_empty() {
            return Ok(1.0);
        }
        let Ok(count) = digits.parse::<f64>() else { return Ok(1.0) };
        if count > 0.0 && count <= MOST_ATOMS {
            self.rest = rest;
            return Ok(count);
        }
        Err(self.stopped())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_formula_is_refused_where_it_stops() {
        for (formula, at) in [
            ("", ""),
            ("Xx", "Xx"),
            ("H2O)", ")"),
            ("(H2O", ""),
            ("NaCl.", ""),
            ("Co", "Co"),
            ("H0", "0"),
            ("H10001", "10001"),
            ("NaCl.0H2O", "0H2O"),
        ] {
            let error = molar_mass(formula).unwrap_err();
            assert_eq!(error, ChemError::Formula { formula: formula.to_owned(), at: at.to_owned() });
        }
    }

    #[test]
    fn parentheses_and_numbers_have_a_bound() {
        let nested = |depth: usize| format!("{}H{}", "(".repeat(depth), ")".repeat(depth));
        assert_eq!(molar_mass(&nested(MOST_OPEN)).unwrap().to_g_per_mol(), 1.008);
        assert!(molar_mass(&nested(MOST_OPEN + 1)).is_err());
        assert!(molar_mass(&"(".repeat(1_000_000)).is_err());
        assert_eq!(molar_mass("H10000").unwrap().to_g_per_mol(), 10_080.0);
    }
}
