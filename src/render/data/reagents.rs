//! The reagents, and one with what it is taken for.

use serde::Serialize;

use super::{FORMAT, StepData, Writer, line, six};
use crate::commands::reagents::{Known, ReagentLine, ReagentPage};

/// The reagents, or the page of one.
pub(super) fn reagents<'a>(writer: &Writer<'a>, known: &'a Known) -> String {
    match known {
        Known::List(lines) => {
            line(&ReagentsData { format: FORMAT, reagents: lines.iter().map(ReagentData::of).collect() })
        }
        Known::One(page) => line(&ReagentPageData::of(writer, page)),
        Known::LookedThrough(looked) => {
            let faults = looked.faults.iter().map(|(key, what)| FaultData { key, what }).collect();
            line(&LookedThroughData { format: FORMAT, file: &looked.file, faults })
        }
    }
}

#[derive(Serialize)]
struct LookedThroughData<'a> {
    format: u32,
    file: &'a str,
    faults: Vec<FaultData<'a>>,
}

#[derive(Serialize)]
struct FaultData<'a> {
    key: &'a str,
    what: &'a str,
}

#[derive(Serialize)]
struct ReagentsData<'a> {
    format: u32,
    reagents: Vec<ReagentData<'a>>,
}

#[derive(Serialize)]
struct ReagentData<'a> {
    reagent: &'a str,
    code: &'a str,
    formula: &'a str,
    forms: &'a [String],
    also: &'a [String],
}

impl<'a> ReagentData<'a> {
    fn of(line: &'a ReagentLine) -> Self {
        ReagentData {
            reagent: &line.key,
            code: &line.code,
            formula: &line.formula,
            forms: &line.forms,
            also: &line.also,
        }
    }
}

#[derive(Serialize)]
struct ReagentPageData<'a> {
    format: u32,
    #[serde(flatten)]
    line: ReagentData<'a>,
    name: &'a str,
    cas: &'a str,
    molar_mass_g_per_mol: f64,
    facts: Vec<StepData<'a>>,
    taken_for: Vec<TakenForData<'a>>,
    care: Vec<CareData<'a>>,
}

impl<'a> ReagentPageData<'a> {
    fn of(writer: &Writer<'a>, page: &'a ReagentPage) -> Self {
        ReagentPageData {
            format: FORMAT,
            line: ReagentData::of(&page.line),
            name: &page.name,
            cas: &page.cas,
            molar_mass_g_per_mol: six(page.molar_mass),
            facts: page.facts.iter().map(|(what, source)| writer.step(what, source)).collect(),
            taken_for: page
                .taken_for
                .iter()
                .map(|(name, difference, source)| TakenForData { name, difference, source })
                .collect(),
            care: page
                .care
                .iter()
                .map(|(heading, lines)| CareData {
                    heading,
                    lines: lines.iter().map(|line| writer.step(&line.say, &line.source)).collect(),
                })
                .collect(),
        }
    }
}

#[derive(Serialize)]
struct CareData<'a> {
    heading: &'a str,
    lines: Vec<StepData<'a>>,
}

#[derive(Serialize)]
struct TakenForData<'a> {
    name: &'a str,
    difference: &'a str,
    source: &'a str,
}
