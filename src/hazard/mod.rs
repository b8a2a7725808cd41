//! Hazard classes of any mixture of known substances in water, and what its label must say.
//!
//! Each family of classes has its rule in a file of its own; all work from the same [`Mixture`] and answer with
//! [`Found`] classes that name the ingredients, the figures compared and the sources. Percentages are by weight and
//! compared as exact decimals. What the data cannot decide is a [`Gap`], never silence.

pub mod acute;
pub mod apart;
pub mod aquatic;
pub mod arrange;
pub mod exact;
pub mod irritation;
pub mod label;
pub mod physical;
pub mod pressure;
pub mod storage;
pub mod supplement;
pub mod threshold;
pub mod upkeep;

use crate::catalogue::{Category, Class, Classified, Form, Hazard, LimitOf, SetBy};
use exact::Exact;

/// A mixture: so much of each ingredient in 100 g, the rest water (or, in a solid, something without a class).
#[derive(Debug, Clone)]
pub struct Mixture<'a> {
    /// A solution, or a powder.
    pub form: Form,
    /// What is in it beside water.
    pub ingredients: Vec<Ingredient<'a>>,
    /// Its pH, if somebody measured it.
    pub ph: Option<f64>,
}

/// One ingredient.
#[derive(Debug, Clone)]
pub struct Ingredient<'a> {
    /// Its name, for answers.
    pub name: String,
    /// Grams in 100 g, counted as its table counts.
    pub percent: Exact,
    /// What it brings into the water, where others bring the same (`sulfur dioxide`): such are relevant together.
    pub kin: Option<String>,
    /// Its entry.
    pub hazard: &'a Hazard,
}

/// Whose rules are applied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rules {
    /// The building blocks taken.
    pub regime: Regime,
    /// True if specific limits of single substances stand in for generic ones.
    pub specific: bool,
}

/// Which building blocks of the standard are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Regime {
    /// Regulation (EC) 1272/2008.
    Eu,
    /// The standard itself, without the mildest categories (acute 5, skin 3).
    Un,
    /// 29 CFR 1910.1200: no environmental classes.
    Us,
}

impl Regime {
    /// The word in commands and JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Regime::Eu => "eu",
            Regime::Un => "un",
            Regime::Us => "us",
        }
    }
}

/// A class that the mixture has, with the way to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The class.
    pub class: Class,
    /// The category.
    pub category: Category,
    /// The statement, where an ingredient's entry names a variant of the usual one.
    pub statement: Option<String>,
    /// The rule, the figure compared and the limit, in one sentence.
    pub because: String,
    /// Key of the source of the rule.
    pub rule: String,
    /// The entries that it rests on.
    pub rests_on: Vec<Entry>,
}

/// An entry that an answer rests on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Entry {
    /// The ingredient.
    pub ingredient: String,
    /// The class of its entry.
    pub class: Class,
    /// Key of its source.
    pub source: String,
}

/// Something that the data do not allow to decide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gap {
    /// What cannot be told, and the datum that is missing.
    pub what: String,
}

/// The classes of a mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Classification {
    /// What was found, in the order of the standard.
    pub classes: Vec<Found>,
    /// Statements beyond the classes, with their reason and source.
    pub supplements: Vec<supplement::Extra>,
    /// What could not be decided.
    pub gaps: Vec<Gap>,
}

/// Classifies a mixture.
///
/// Every family of rules by itself: physical hazards from data on the solution, acute toxicity by the sum
/// `100 / ATE = Σ C/ATE`, skin and eye by `Σ C/L ≥ 1`, thresholds for organs, sensitisers and long-term harm, aquatic by
/// weighted sums. Peroxide 12 % w/w (`eu`): oxidising liquid 3, eye damage 1.
///
/// Source: `hpr-2015-17`, `clp-mixture-rules`.
#[must_use]
pub fn classify(mixture: &Mixture<'_>, rules: Rules) -> Classification {
    let mut judged = Classification { classes: Vec::new(), supplements: Vec::new(), gaps: Vec::new() };
    physical::judge(mixture, rules, &mut judged);
    acute::judge(mixture, rules, &mut judged);
    irritation::judge(mixture, rules, &mut judged);
    threshold::judge(mixture, rules, &mut judged);
    if rules.regime != Regime::Us {
        aquatic::judge(mixture, rules, &mut judged);
    }
    if rules.regime == Regime::Un {
        judged.gap("acute toxicity 5 and skin 3, the mildest categories of the standard, are not computed");
    }
    if mixture.ingredients.len() > 1 {
        judged.gap(
            "what the parts do to each other is not judged: the classes hold only if nothing reacts; never pour bleach to acid, ammonia or peroxide",
        );
    }
    if rules.regime == Regime::Eu {
        supplement::judge(mixture, &mut judged);
    }
    judged.classes.sort_by_key(|found| found.class);
    judged
}

impl Mixture<'_> {
    /// Every ingredient with its entries for a class, in the form of the mixture.
    fn entries(&self, class: Class) -> impl Iterator<Item = (&Ingredient<'_>, &Classified)> {
        self.ingredients.iter().flat_map(move |ingredient| {
            ingredient
                .hazard
                .classes
                .iter()
                .filter(move |entry| entry.class == class && entry.form.is_none_or(|form| form == self.form))
                .map(move |entry| (ingredient, entry))
        })
    }
}

impl<'a> Mixture<'a> {
    /// An ingredient and what brings the same into the water as it does: once dissolved they are one thing.
    fn kin<'m>(&'m self, ingredient: &'m Ingredient<'a>) -> impl Iterator<Item = &'m Ingredient<'a>> {
        self.ingredients.iter().filter(move |other| {
            std::ptr::eq(*other, ingredient) || (other.kin.is_some() && other.kin == ingredient.kin)
        })
    }

    /// Per cent of an ingredient with its kin, which is held against a limit that makes it relevant at all.
    fn together(&self, ingredient: &Ingredient<'a>) -> Exact {
        self.kin(ingredient).map(|other| other.percent.clone()).sum()
    }
}

impl Classification {
    fn gap(&mut self, what: impl Into<String>) {
        self.gaps.push(Gap { what: what.into() });
    }

    /// True if the mixture has this class.
    #[must_use]
    pub fn has(&self, class: Class) -> bool {
        self.classes.iter().any(|found| found.class == class)
    }
}

impl Entry {
    fn of(ingredient: &Ingredient<'_>, entry: &Classified) -> Self {
        Entry { ingredient: ingredient.name.clone(), class: entry.class, source: entry.source.clone() }
    }
}

/// The percentage from which an entry alone gives a category or a worse one: its specific limit, else the generic one.
///
/// `None` where no amount of it does. The flag tells that the limit is specific.
fn limit_for(
    entry: &Classified,
    rules: Rules,
    fits: impl Fn(Category) -> bool,
    generic: impl Fn(Category) -> Option<f64>,
) -> Option<(Exact, bool)> {
    let law = || entry.limits.iter().filter(|limit| limit.of == LimitOf::Law);
    if rules.specific && law().next().is_some() {
        return law()
            .filter(|limit| fits(limit.category))
            .map(|limit| Exact::of(limit.from))
            .min()
            .map(|from| (from, true));
    }
    generic(entry.category).map(|from| (Exact::of(from), false))
}

/// How a specific limit is named: the law's in the Union, evidence elsewhere.
fn limit_word(rules: Rules, specific: bool, set_by: SetBy) -> &'static str {
    match (specific, set_by, rules.regime) {
        (false, ..) => "generic limit",
        (true, SetBy::Law, Regime::Eu) => "specific limit",
        (true, SetBy::Law, _) => "specific limit of EU law, taken as evidence on the diluted mixture",
        (true, SetBy::Supplier, _) => "suppliers' specific limit",
    }
}
