//! `reagents`: what the catalogue knows.

use chrono::NaiveDate;
use clap::{Args, Subcommand};

use super::own_reagents::{self, LookedThrough};
use super::{Problem, Session, arguments};
use crate::catalogue::{Care, Classified, Form, Keeping, Limit, LimitOf, Occasion, Reagent, Said, SetBy};
use crate::chem::formula::molar_mass;
use crate::chem::solubility::saturated;
use crate::chem::{Substance, density};
use crate::dip::lookalike::equivalent;
use crate::hazard::exact::Exact;
use crate::units::show::{plain, significant};
use crate::units::{MassFraction, Temperature};

/// List the reagents, show one with what it is often taken for, or check a file of your own
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
#[command(after_help = "Examples:\n  brimstock reagents\n  brimstock reagents potassium-alum")]
pub struct Reagents {
    /// One reagent
    pub reagent: Option<String>,
    /// Something else than the list
    #[command(subcommand)]
    pub verb: Option<ReagentsVerb>,
}

/// What can be done with reagents beside listing them.
#[derive(Debug, Subcommand)]
pub enum ReagentsVerb {
    /// Show one reagent; the same as naming it
    Show {
        /// The reagent
        reagent: String,
    },
    /// Check a reagent's file of your own: every fault at once
    Check(own_reagents::Check),
}

/// What `reagents` answers.
#[derive(Debug, Clone, PartialEq)]
pub enum Known {
    /// All of them.
    List(Vec<ReagentLine>),
    /// One of them.
    One(Box<ReagentPage>),
    /// A keeper's file.
    LookedThrough(LookedThrough),
}

/// One line of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct ReagentLine {
    /// The word to type.
    pub key: String,
    /// The beginning of its codes.
    pub code: String,
    /// Its formula.
    pub formula: String,
    /// Its forms.
    pub forms: Vec<String>,
    /// Other names.
    pub also: Vec<String>,
}

/// One reagent in full: headings with lines, each line with its source.
#[derive(Debug, Clone, PartialEq)]
pub struct ReagentPage {
    /// Its line of the list.
    pub line: ReagentLine,
    /// Its full name.
    pub name: String,
    /// Registry number.
    pub cas: String,
    /// Grams in a mole of the formula.
    pub molar_mass: f64,
    /// What is known, in sentences: what, and the key of the source.
    pub facts: Vec<(String, String)>,
    /// What it is often taken for: name, difference, source.
    pub taken_for: Vec<(String, String, String)>,
    /// What to do in trouble and at the end: a heading and its lines.
    pub care: Vec<(String, Vec<Said>)>,
}

/// Lists or shows.
///
/// # Errors
/// For an unknown reagent.
pub fn run(session: &Session, arguments: &Reagents) -> Result<Known, Problem> {
    let shown = match &arguments.verb {
        Some(ReagentsVerb::Check(given)) => return Ok(Known::LookedThrough(own_reagents::check(session, given)?)),
        Some(ReagentsVerb::Show { reagent }) => Some(reagent),
        None => arguments.reagent.as_ref(),
    };
    match shown {
        None => Ok(Known::List(session.catalogue.reagents().map(line).collect())),
        Some(word) => Ok(Known::One(Box::new(page(session, arguments::reagent(session.catalogue, word)?)?))),
    }
}

fn line(reagent: &Reagent) -> ReagentLine {
    ReagentLine {
        key: reagent.key.clone(),
        code: reagent.code.clone(),
        formula: reagent.formula.value.clone(),
        forms: reagent.forms.iter().map(Form::to_string).collect(),
        also: reagent.also.clone(),
    }
}

fn page(session: &Session, reagent: &Reagent) -> Result<ReagentPage, Problem> {
    let mut facts = Vec::new();
    let mut fact = |what: String, source: &str| facts.push((what, source.to_owned()));
    if let Some(solid) = &reagent.solid {
        fact(format!("purity where the label says none: {} % w/w", plain(solid.purity.value)), &solid.purity.source);
        for spooned in &solid.spooned {
            fact(
                format!(
                    "a levelled mL of {}: {} g ± {} % (1 sd)",
                    spooned.kind,
                    plain(spooned.density.value),
                    plain(100.0 * spooned.density.relative_sd.unwrap_or(0.0))
                ),
                &spooned.density.source,
            );
        }
    }
    if let Some(solution) = &reagent.solution {
        if !solution.sold.is_empty() {
            fact(format!("sold as {}", solution.sold.join(", ")), "common-practice");
        }
        for row in &solution.bare_percent {
            let basis = match row.basis {
                crate::catalogue::PercentBasis::WeightInWeight => "w/w",
                crate::catalogue::PercentBasis::WeightInVolume => "w/v",
            };
            fact(format!("a bare % up to {} % is read as {basis}", plain(row.up_to)), &row.source);
        }
        for percent in [1.0, 3.0, 10.0, 35.0] {
            let fraction = MassFraction::percent(percent);
            // Strengths and temperatures outside the data are simply not listed.
            if let Ok(found) = density::of_solution(Substance::of(reagent), fraction, Temperature::celsius(20.0)) {
                fact(found.step.what, &found.step.source);
            }
        }
        for celsius in [0.0, 10.0, 20.0, 30.0] {
            if let Ok(found) = saturated(Substance::of(reagent), Temperature::celsius(celsius)) {
                fact(
                    format!(
                        "100 g of added water at {} °C take up {} g ± {} %",
                        plain(celsius),
                        significant(found.per_100_g_added_water, 3),
                        plain(100.0 * found.spread)
                    ),
                    &found.source,
                );
            }
        }
    }
    for decay in &reagent.decay {
        fact(format!("as a {}: {}", decay.form, decay.why), &decay.source);
    }
    if let Some(hazard) = &reagent.hazard {
        for entry in &hazard.classes {
            let by = match entry.set_by {
                SetBy::Law => "the law's list",
                SetBy::Supplier => "suppliers",
            };
            let least = if entry.minimum { " at least" } else { "" };
            let note = entry.note.as_ref().map_or(String::new(), |note| format!(" ({note})"));
            fact(format!("undiluted: {} {}{least}, by {by}{note}", entry.class, entry.category), &entry.source);
            for limit in &entry.limits {
                fact(limited(entry, limit), &limit.source);
            }
            if let Some(m) = entry.m_factor {
                fact(format!("{}: counted {} times in sums (M-factor)", entry.class, plain(m)), &entry.source);
            }
        }
        if hazard.classes.is_empty() {
            fact("undiluted: no hazard class".to_owned(), &hazard.source);
        }
        for row in &hazard.toxicity {
            let converted = if row.converted { " (converted: it stands for the category)" } else { "" };
            fact(
                format!("toxic dose, {}: {} {}{converted}", row.route.words(), plain(row.value), row.unit),
                &row.source,
            );
        }
        if let Some(extreme) = &hazard.extreme_ph {
            fact(format!("pH about {} from {} % on", plain(extreme.ph), Exact::of(extreme.from)), &extreme.source);
        }
        if let Some(note) = &hazard.note {
            fact(note.clone(), &hazard.source);
        }
    }
    let law = due(session, session.catalogue.disposal().review_by);
    for row in &reagent.carriage {
        let form = row.form.map_or(String::new(), |form| format!("as a {form} "));
        let strength = row.strength.as_ref().map_or(String::new(), |strength| format!(", {strength}"));
        fact(
            format!("carried {form}as {}, class {}, group {}{strength}{law}", row.un, row.class, row.group),
            &row.source,
        );
    }
    for row in &reagent.regulated {
        fact(format!("{}, {}: {}; check local law{law}", row.place, row.bound, row.effect), &row.source);
    }
    if let Some(keeping) = &reagent.keeping {
        facts.extend(kept(keeping));
    }
    let mut taken_for = Vec::new();
    for taken in &reagent.taken_for {
        let other = taken.reagent.as_deref().and_then(|key| session.catalogue.reagent(key));
        let share = match (other, &reagent.contains) {
            (Some(other), Some(part)) => equivalent(1.0, reagent, other)?.map(|grams| {
                format!(" 1 g of this holds as much {} as {} g of that.", part.what, significant(grams, 3))
            }),
            _ => None,
        };
        taken_for.push((
            taken.name.clone(),
            format!("{}{}", taken.difference, share.unwrap_or_default()),
            taken.source.clone(),
        ));
    }
    Ok(ReagentPage {
        line: line(reagent),
        name: reagent.name.clone(),
        cas: reagent.cas.value.clone(),
        molar_mass: molar_mass(&reagent.formula.value)?.to_g_per_mol(),
        facts,
        taken_for,
        care: reagent.care.as_ref().map_or(Vec::new(), |care| cared_for(session, care)),
    })
}

/// `skin corrosion or irritation, from 35 %: category 2`.
fn limited(entry: &Classified, limit: &Limit) -> String {
    let begins = if limit.above { "above" } else { "from" };
    let of = match limit.of {
        LimitOf::Law => "",
        LimitOf::Transport => ", by the rules of carriage",
        LimitOf::Like => ", taken over from a like substance",
    };
    format!("{}, {begins} {} %: category {}{of}", entry.class, Exact::of(limit.from), limit.category)
}

/// That a day of review is past, in words that follow others; empty where it is not.
fn due(session: &Session, review_by: NaiveDate) -> String {
    if session.day > review_by { format!(" [check: due for review since {review_by}]") } else { String::new() }
}

/// What it needs where it stands.
fn kept(keeping: &Keeping) -> Vec<(String, String)> {
    let mut facts: Vec<(String, String)> =
        keeping.needs.iter().map(|need| (format!("needs {need}"), keeping.source.clone())).collect();
    if !keeping.never_in.is_empty() {
        facts.push((format!("never in or on: {}", keeping.never_in.join(", ")), keeping.source.clone()));
    }
    let mut noted = |what: String, note: Option<&String>, source: &str| {
        facts.push((format!("{what}{}", note.map_or(String::new(), |note| format!(" ({note})"))), source.to_owned()));
    };
    if let Some(below) = &keeping.below_c {
        noted(format!("its place below {} °C", plain(below.value)), below.note.as_ref(), &below.source);
    }
    if let Some(dark) = &keeping.dark {
        noted(format!("dark: {}", dark.value), dark.note.as_ref(), &dark.source);
    }
    if let Some(vent) = &keeping.vent_above {
        let what = format!("a cap that lets gas out from {} % w/w on", plain(vent.value));
        noted(what, vent.note.as_ref(), &vent.source);
    }
    if let Some(closed) = &keeping.closed_above {
        let what = format!("above {} % w/w left closed, and handed over", plain(closed.value));
        noted(what, closed.note.as_ref(), &closed.source);
    }
    if let Some(days) = &keeping.made_up_keeps {
        let what = format!("an own dilution is worth keeping for {} days", plain(days.value));
        noted(what, days.note.as_ref(), &days.source);
    }
    if !keeping.not_in.is_empty() {
        let kinds: Vec<&str> = keeping.not_in.iter().map(|kind| kind.word()).collect();
        noted(format!("not in a container of the kind {}", kinds.join(", ")), None, &keeping.source);
    }
    facts
}

/// What to do in trouble and at the end, under a heading each.
fn cared_for(session: &Session, care: &Care) -> Vec<(String, Vec<Said>)> {
    let catalogue = session.catalogue;
    let trouble = due(session, catalogue.care_review_by());
    let of = |heading: &str, occasion: Occasion, key: &str| {
        catalogue.care(occasion, key).map(|text| (format!("{heading}{trouble}"), text.lines.clone()))
    };
    let apart = due(session, catalogue.apart().review_by);
    let disposal = due(session, catalogue.disposal().review_by);
    let groups = care.groups.iter().filter_map(|key| catalogue.apart().group(key)).map(|group| Said {
        part: None,
        say: format!("counts as {}: {}", group.name, group.means),
        source: care.source.clone(),
    });
    let leaves = catalogue.disposal().class(&care.disposal).map(|class| {
        let lines = class.pack.iter().chain(&class.never).chain(&class.bath).cloned().collect();
        (format!("Getting rid of it ({}){disposal}", class.name), lines)
    });
    [
        Some((format!("Keeping it apart{apart}"), groups.collect())),
        of("Wearing", Occasion::Protection, &care.protection),
        of("First aid", Occasion::FirstAid, &care.first_aid),
        of("Spilt", Occasion::Spill, &care.spill),
        leaves,
    ]
    .into_iter()
    .flatten()
    .collect()
}
