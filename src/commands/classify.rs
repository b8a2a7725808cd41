//! `classify`: the hazard classes of anything on the shelf or in a bath, and what its label must say.

use clap::{Args, ValueEnum};

use super::composition::{Composition, Part, as_chlorine};
use super::{Problem, Session, arguments};
use crate::catalogue::{Catalogue, Class, Reagent, SourceKind, Verdict};
use crate::hazard::apart::{Neighbour, conflict};
use crate::hazard::label::{self, Label};
use crate::hazard::supplement::SHEET;
use crate::hazard::{Classification, Regime, Rules, classify};
use crate::units::step::Step;

/// Tell the hazard classes and label elements of a reagent, a stock, a mixture or a bath
///
/// Computed by the rules of the Globally Harmonized System from composition and strength. It is help for your own
/// labels; the supplier's data sheet and the local rules stand above it.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  brimstock classify hydrogen-peroxide --at \"12 % w/w\"
  brimstock classify HP-1
  brimstock classify --bath bleach-robust
  brimstock classify \"copper-sulfate 2 %; citric-acid 10 %\" --rules us --why")]
pub struct Classify {
    /// A reagent, the code of a stock, or parts with their strengths, separated by `;`
    #[arg(conflicts_with = "bath", value_name = "WHAT")]
    pub what: Option<String>,
    /// The strength of the reagent in water
    #[arg(long, value_name = "STRENGTH", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// The bath of a dip, at the upper end of its band
    #[arg(long, value_name = "DIP", conflicts_with = "at")]
    pub bath: Option<String>,
    /// Whose rules
    #[arg(long, value_enum, default_value = "eu")]
    pub rules: RegimeWord,
    /// Set specific limits of single substances aside and take the generic ones
    #[arg(long)]
    pub generic: bool,
    /// The measured pH
    #[arg(long, value_name = "PH", value_parser = ph, allow_hyphen_values = true)]
    pub ph: Option<f64>,
}

/// Whose rules, as a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RegimeWord {
    /// European Union
    Eu,
    /// The United Nations' standard itself
    Un,
    /// United States, workplaces
    Us,
}

fn ph(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(ph) if (-1.0..=15.0).contains(&ph) => Ok(ph),
        _ => Err(format!("`{text}` is no pH; accepted: -1 to 15")),
    }
}

/// The classes and the label of a mixture.
#[derive(Debug)]
pub struct Judged {
    /// What was asked about.
    pub what: String,
    /// The rules taken.
    pub rules: Rules,
    /// What is in it.
    pub composition: Vec<CompositionLine>,
    /// The classes, with what could not be decided.
    pub judged: Classification,
    /// The statement of each class, in the same order.
    pub statements: Vec<Option<String>>,
    /// The label's elements.
    pub label: Label,
    /// Entries recalled and not seen, one line an ingredient.
    pub unverified: Vec<String>,
    /// Parts that must not meet, the worst first.
    pub conflicts: Vec<Clash>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// How the percentages were reached.
    pub steps: Vec<Step>,
}

impl Judged {
    /// True if two of its parts must never meet: then it is no mixture to label, but one not to make.
    #[must_use]
    pub fn is_never(&self) -> bool {
        self.conflicts.iter().any(|clash| clash.verdict == Verdict::Never)
    }
}

/// Two parts that must not meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Clash {
    /// The two, by their keys.
    pub reagents: [String; 2],
    /// How far apart they are kept.
    pub verdict: Verdict,
    /// What happens if they meet.
    pub consequence: String,
    /// Key of the source.
    pub source: String,
}

/// One part of what was classified.
#[derive(Debug, Clone, PartialEq)]
pub struct CompositionLine {
    /// Its key.
    pub reagent: String,
    /// Grams in 100 g.
    pub percent: f64,
    /// What these grams are.
    pub counted_as: String,
}

/// Classifies.
///
/// # Errors
/// For what cannot be read or is unknown, a strength that no solution has, and a reagent without hazard data.
pub fn run(session: &Session, arguments: &Classify) -> Result<Judged, Problem> {
    let composition = match (&arguments.bath, &arguments.what) {
        (Some(dip), _) => Composition::of_bath(session, dip)?,
        (None, Some(what)) => named(session, what, arguments.at.as_deref())?,
        (None, None) => {
            return Err(Problem::question("what is to be classified?")
                .hint("name a reagent, a stock or a mixture, or a bath with --bath DIP"));
        }
    };
    judge(session, arguments, &composition)
}

/// Classifies a stock by its code, by the Union's rules.
///
/// # Errors
/// As [`run`], and for an unknown code.
pub fn stock(session: &Session, code: &str) -> Result<Judged, Problem> {
    let asked = Classify { what: None, at: None, bath: None, rules: RegimeWord::Eu, generic: false, ph: None };
    judge(session, &asked, &Composition::of_stock(session, code)?)
}

fn judge(session: &Session, arguments: &Classify, composition: &Composition) -> Result<Judged, Problem> {
    let regime = match arguments.rules {
        RegimeWord::Eu => Regime::Eu,
        RegimeWord::Un => Regime::Un,
        RegimeWord::Us => Regime::Us,
    };
    let rules = Rules { regime, specific: !arguments.generic };
    let mut judged = classify(&composition.mixture(arguments.ph)?, rules);
    if arguments.bath.is_some() {
        // A bath is supplied to nobody.
        judged.supplements.retain(|extra| extra.statement != SHEET);
    }
    let mut assumed = composition.assumed.clone();
    if let Some(other) = composition.read_by_weight(arguments.ph)? {
        let chlorine = composition.parts.iter().any(|part| part.by_weight.is_some() && as_chlorine(part.reagent));
        assumed.extend(otherwise(&judged, &classify(&other, rules), chlorine));
    }
    let catalogue = session.catalogue;
    let elements = catalogue.elements();
    Ok(Judged {
        what: composition.what.clone(),
        rules,
        statements: judged.classes.iter().map(|found| label::statement(elements, found)).collect(),
        label: label::label(&judged, elements, catalogue.choice()),
        unverified: composition.parts.iter().filter_map(|part| unverified(catalogue, part.reagent, regime)).collect(),
        composition: composition
            .parts
            .iter()
            .map(|part| CompositionLine {
                reagent: part.reagent.key.clone(),
                percent: part.percent,
                counted_as: if as_chlorine(part.reagent) {
                    "available chlorine".to_owned()
                } else {
                    part.reagent.formula.value.clone()
                },
            })
            .collect(),
        judged,
        conflicts: clashes(catalogue, composition),
        assumed,
        steps: composition.steps.clone(),
    })
}

/// Every two parts that want another cabinet or must never meet.
fn clashes(catalogue: &Catalogue, composition: &Composition) -> Vec<Clash> {
    let seen = |part: &Part| Neighbour { reagent: part.reagent, form: composition.form, percent_w_w: Some(part.whole) };
    let mut found = Vec::new();
    for (place, one) in composition.parts.iter().enumerate() {
        for other in &composition.parts[place + 1..] {
            let Some(met) = conflict(catalogue.apart(), seen(one), seen(other)) else { continue };
            if met.verdict >= Verdict::Cabinet {
                found.push(Clash {
                    reagents: [one.reagent.key.clone(), other.reagent.key.clone()],
                    verdict: met.verdict,
                    consequence: met.pair.consequence.clone().unwrap_or_default(),
                    source: met.pair.source.clone(),
                });
            }
        }
    }
    found.sort_by_key(|clash| std::cmp::Reverse(clash.verdict));
    found
}

/// That a bare `%` meant by weight would have led to other classes, if it would.
fn otherwise(judged: &Classification, other: &Classification, chlorine: bool) -> Option<String> {
    let named = |judged: &Classification| -> Vec<String> {
        judged.classes.iter().map(|found| format!("{} {}", found.class, found.category)).collect()
    };
    let (read, other) = (named(judged), named(other));
    (read != other).then(|| {
        let of = if chlorine { " (of bleach: available chlorine)" } else { "" };
        format!("the basis matters: had the bare % been % w/w{of}, the classes were {}", other.join(", "))
    })
}

/// A mixture where there are parts with figures, else a reagent, else a stock.
fn named(session: &Session, what: &str, at: Option<&str>) -> Result<Composition, Problem> {
    let parts = what.contains(';')
        || what.split_whitespace().skip(1).any(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    if parts {
        if at.is_some() {
            return Err(
                Problem::question("a strength is told twice: in the parts and with --at").hint("leave one of them out")
            );
        }
        return Composition::of_parts(session, what);
    }
    if at.is_none() && session.catalogue.reagents_called(what).is_empty() && looks_like_a_code(what) {
        return Composition::of_stock(session, what);
    }
    if at.is_some() && session.catalogue.reagents_called(what).is_empty() && looks_like_a_code(what) {
        return Err(Problem::question(format!("`{what}` is no reagent, and a stock has a strength of its own"))
            .hint("leave --at away for a stock, or name its reagent"));
    }
    let reagent = arguments::reagent(session.catalogue, what)?;
    Composition::of_reagent(session, reagent, at)
}

/// `HP-1` and the like: letters, a hyphen, a number.
fn looks_like_a_code(word: &str) -> bool {
    word.chars().any(|c| c.is_ascii_digit()) && word.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
}

/// The entries of a reagent that are recalled, in one line; nothing if all were seen.
fn unverified(catalogue: &Catalogue, reagent: &Reagent, regime: Regime) -> Option<String> {
    let hazard = reagent.hazard.as_ref()?;
    let recalled = |key: &str| catalogue.source(key).is_some_and(|source| source.kind == SourceKind::Memory);
    let mut entries: Vec<String> = Vec::new();
    let asked = |class: Class| regime != Regime::Us || !matches!(class, Class::AquaticAcute | Class::AquaticChronic);
    for entry in hazard.classes.iter().filter(|entry| asked(entry.class)) {
        if recalled(&entry.source) || entry.limits.iter().any(|limit| recalled(&limit.source)) {
            entries.push(entry.class.to_string());
        }
    }
    if hazard.toxicity.iter().any(|row| recalled(&row.source)) {
        entries.push("its toxic dose".to_owned());
    }
    if hazard.extreme_ph.as_ref().is_some_and(|extreme| recalled(&extreme.source)) {
        entries.push("its pH".to_owned());
    }
    if hazard.classes.is_empty() && recalled(&hazard.source) {
        entries.push("that it has no class".to_owned());
    }
    (!entries.is_empty()).then(|| format!("{}: {}", reagent.key, entries.join("; ")))
}
