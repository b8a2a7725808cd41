//! Reads a reaction's equation, sees that nothing is lost in it, and tells what weight of the one ends what weight of the other.

use thiserror::Error;

use crate::catalogue::{CountedAs, Reaction, Reagent};
use crate::chem::ChemError;
use crate::chem::formula::{atoms, molar_mass};

/// What is wrong with an equation.
#[derive(Debug, Clone, Error, PartialEq)]
pub enum BalanceError {
    /// It cannot be read.
    #[error("the equation `{equation}` cannot be read at `{at}`")]
    Unreadable {
        /// The equation.
        equation: String,
        /// The part that is none.
        at: String,
    },
    /// Something is lost or won.
    #[error("the equation `{equation}` does not balance: {what} {left} before the arrow, {right} behind it")]
    Unbalanced {
        /// The equation.
        equation: String,
        /// An element, or `charge`.
        what: String,
        /// How much before.
        left: f64,
        /// How much behind.
        right: f64,
    },
    /// A species that does not take part.
    #[error("`{species}` does not stand before the arrow of `{equation}`")]
    Absent {
        /// The equation.
        equation: String,
        /// The species.
        species: String,
    },
    /// A formula that cannot be read, or chlorine counted in something that has none.
    #[error(transparent)]
    Chem(#[from] ChemError),
}

/// A balanced equation.
#[derive(Debug, Clone, PartialEq)]
pub struct Equation {
    text: String,
    left: Vec<Term>,
    right: Vec<Term>,
}

/// One species with its number.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// How many.
    pub count: f64,
    /// As written, charge included: `S2O3--`.
    pub species: String,
    /// Without its charge: `S2O3`.
    pub formula: String,
    /// Elementary charges.
    pub charge: f64,
}

impl Equation {
    /// Reads `8 MnO4- + 3 S2O3-- + H2O -> 8 MnO2 + 6 SO4-- + 2 OH-` and sees that atoms and charges are the same on both
    /// sides.
    ///
    /// # Errors
    /// [`BalanceError`] for what cannot be read and what does not balance.
    pub fn read(text: &str) -> Result<Equation, BalanceError> {
        let unreadable = |at: &str| BalanceError::Unreadable { equation: text.to_owned(), at: at.to_owned() };
        let (left, right) = text.split_once(" -> ").ok_or_else(|| unreadable(text))?;
        let side = |side: &str| -> Result<Vec<Term>, BalanceError> {
            side.split(" + ").map(|term| read_term(term).ok_or_else(|| unreadable(term))).collect()
        };
        let equation = Equation { text: text.to_owned(), left: side(left)?, right: side(right)? };
        equation.balanced()?;
        Ok(equation)
    }

    /// Moles of one species to a mole of another, both before the arrow: 3/8 thiosulfate to a permanganate.
    ///
    /// # Errors
    /// [`BalanceError::Absent`] for a species that does not stand there.
    pub fn ratio(&self, of: &str, to: &str) -> Result<f64, BalanceError> {
        Ok(self.before(of)? / self.before(to)?)
    }

    fn before(&self, species: &str) -> Result<f64, BalanceError> {
        let found = self.left.iter().find(|term| term.species == species).map(|term| term.count);
        found.ok_or_else(|| BalanceError::Absent { equation: self.text.clone(), species: species.to_owned() })
    }

    fn balanced(&self) -> Result<(), BalanceError> {
        let charge = |side: &[Term]| side.iter().map(|term| term.count * term.charge).sum();
        self.same("charge", charge(&self.left), charge(&self.right))?;
        let (left, right) = (counted(&self.left)?, counted(&self.right)?);
        let of = |side: &[(&'static str, f64)], symbol: &str| -> f64 {
            side.iter().filter(|(other, _)| *other == symbol).map(|(_, count)| count).sum()
        };
        left.iter().chain(&right).try_for_each(|(symbol, _)| self.same(symbol, of(&left, symbol), of(&right, symbol)))
    }

    fn same(&self, what: &str, left: f64, right: f64) -> Result<(), BalanceError> {
        if (left - right).abs() < 1e-9 {
            return Ok(());
        }
        Err(BalanceError::Unbalanced { equation: self.text.clone(), what: what.to_owned(), left, right })
    }
}

/// Every atom of one side, element by element, as it comes.
fn counted(side: &[Term]) -> Result<Vec<(&'static str, f64)>, ChemError> {
    let mut found = Vec::new();
    for term in side {
        found.extend(atoms(&term.formula)?.into_iter().map(|(symbol, count)| (symbol, count * term.count)));
    }
    Ok(found)
}

/// `3 S2O3--` as its number, formula and charge.
fn read_term(text: &str) -> Option<Term> {
    let text = text.trim();
    let (count, species) = match text.split_once(' ') {
        Some((count, species)) => (f64::from(count.parse::<u16>().ok().filter(|count| *count > 0)?), species),
        None => (1.0, text),
    };
    let formula = species.trim_end_matches(['+', '-']);
    let signs = &species[formula.len()..];
    if formula.is_empty() || formula.contains(char::is_whitespace) || (signs.contains('+') && signs.contains('-')) {
        return None;
    }
    let sign = if signs.starts_with('-') { -1.0 } else { 1.0 };
    let charge = sign * f64::from(u16::try_from(signs.len()).ok()?);
    Some(Term { count, species: species.to_owned(), formula: formula.to_owned(), charge })
}

/// The molar mass of a species, its charge left aside, g/mol.
///
/// # Errors
/// As [`molar_mass`].
///
/// Source: `iupac-2021`.
pub fn species_mass(species: &str) -> Result<f64, ChemError> {
    Ok(molar_mass(species.trim_end_matches(['+', '-']))?.to_g_per_mol())
}

/// Grams of what is counted in a gram of the reagent: 1, or what it holds of available chlorine.
///
/// `n M(Cl2) / M`: 0.9525 of sodium hypochlorite, 0.9918 of calcium hypochlorite, 0.2517 of chloramine-T trihydrate.
///
/// # Errors
/// [`ChemError::NotThisReagent`] for chlorine of a reagent that has none.
///
/// Source: `iupac-2021`.
pub fn counted_per_gram(reagent: &Reagent, counted_as: CountedAs) -> Result<f64, ChemError> {
    if counted_as == CountedAs::Reagent {
        return Ok(1.0);
    }
    let per_formula = match (&reagent.contains, &reagent.solution) {
        (Some(contains), _) if contains.formula == "Cl2" => contains.per_formula,
        (_, Some(solution)) if solution.available_chlorine => 1.0,
        _ => return Err(ChemError::NotThisReagent { unit: "available chlorine", reagent: reagent.name.clone() }),
    };
    Ok(per_formula * molar_mass("Cl2")?.to_g_per_mol() / molar_mass(&reagent.formula.value)?.to_g_per_mol())
}

/// Grams of neutraliser that end a gram of what is counted, by the equation alone.
///
/// `(n(reducer) / n(oxidiser)) × (M(neutraliser) / its reducers) / (M(counted) / its oxidisers)`; counted as available
/// chlorine, `M` is that of Cl2. `8 MnO4- + 3 S2O3-- + …`: 0.589 g of thiosulfate pentahydrate to a gram of permanganate.
///
/// # Errors
/// [`BalanceError`] for an equation that cannot be read or does not balance; of a reaction without a reducer too.
///
/// Source: `iupac-2021`, and the reaction's own.
pub fn grams_per_gram(way: &Reaction, destroyed: &Reagent, neutraliser: &Reagent) -> Result<f64, BalanceError> {
    let equation = Equation::read(&way.equation)?;
    let absent = || BalanceError::Absent { equation: way.equation.clone(), species: "a reducer".to_owned() };
    let reducer = way.reducer.as_deref().ok_or_else(absent)?;
    let reducers = way.reducer_per_formula.ok_or_else(absent)?;
    let counted = match way.counted_as {
        CountedAs::Reagent => molar_mass(&destroyed.formula.value)?.to_g_per_mol(),
        CountedAs::AvailableChlorine => molar_mass("Cl2")?.to_g_per_mol(),
    };
    let taken = molar_mass(&neutraliser.formula.value)?.to_g_per_mol() / reducers;
    Ok(equation.ratio(reducer, &way.oxidiser)? * taken / (counted / way.oxidiser_per_formula))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_lost_is_named() {
        let lost = |text: &str| match Equation::read(text) {
            Err(BalanceError::Unbalanced { what, .. }) => what,
            other => panic!("{text}: {other:?}"),
        };
        assert_eq!(lost("2 H2O2 -> H2O + O2"), "H");
        assert_eq!(lost("OCl- + HSO3- -> Cl- + SO4--"), "charge");
        assert_eq!(lost("OCl- -> Cl-"), "O");
        assert_eq!(lost("Cl- -> Cl- + S"), "S");
    }

    #[test]
    fn what_is_no_equation_is_refused_where_it_stops() {
        for (text, at) in [
            ("2 H2O2", "2 H2O2"),
            ("x H2O -> H2O", "x H2O"),
            ("0 H2O -> H2O", "0 H2O"),
            ("H+- -> H", "H+-"),
            ("-- -> H", "--"),
            ("H2O + -> H2O", "H2O +"),
        ] {
            let at = at.to_owned();
            assert_eq!(Equation::read(text), Err(BalanceError::Unreadable { equation: text.to_owned(), at }), "{text}");
        }
        assert!(matches!(Equation::read("Xx -> Xx"), Err(BalanceError::Chem(ChemError::Formula { .. }))));
        let one = Equation::read("2 H2O2 -> 2 H2O + O2").unwrap();
        assert!(matches!(one.ratio("O2", "H2O2"), Err(BalanceError::Absent { .. })), "it stands behind the arrow");
    }
}
