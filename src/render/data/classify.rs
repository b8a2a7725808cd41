//! Hazard classes and label elements.

use serde::Serialize;

use super::{FORMAT, StepData, Writer, line, six};
use crate::catalogue::Signal;
use crate::commands::classify::Judged;

/// The classes and the label of a mixture.
pub(super) fn judged<'a>(writer: &Writer<'a>, judged: &'a Judged) -> String {
    let texts = |codes: &'a [String]| -> Vec<StatementData<'a>> {
        codes.iter().map(|code| statement(writer, code, None)).collect()
    };
    line(&JudgedData {
        format: FORMAT,
        what: &judged.what,
        jurisdiction: judged.rules.regime.word(),
        specific_limits: judged.rules.specific,
        composition: judged
            .composition
            .iter()
            .map(|part| PartData {
                reagent: &part.reagent,
                percent_w_w: six(part.percent),
                counted_as: &part.counted_as,
            })
            .collect(),
        classes: judged
            .judged
            .classes
            .iter()
            .zip(&judged.statements)
            .map(|(found, statement)| ClassData {
                class: found.class.to_string(),
                category: found.category.to_string(),
                statement: statement.as_deref(),
                because: &found.because,
                rule: &found.rule,
                rests_on: found
                    .rests_on
                    .iter()
                    .map(|entry| EntryData {
                        ingredient: &entry.ingredient,
                        source: writer.step("entry", &entry.source),
                    })
                    .filter(|_| writer.why)
                    .collect(),
            })
            .collect(),
        signal_word: judged.label.signal.map(|signal| match signal {
            Signal::Danger => "Danger",
            Signal::Warning => "Warning",
        }),
        pictograms: &judged.label.pictograms,
        hazard_statements: texts(&judged.label.statements),
        precautionary_statements: texts(&judged.label.precautions),
        supplemental: judged
            .judged
            .supplements
            .iter()
            .map(|extra| StatementData {
                note: extra.note,
                ..statement(writer, &extra.statement, extra.names.as_deref())
            })
            .collect(),
        conflicts: judged
            .conflicts
            .iter()
            .map(|clash| ClashData {
                reagents: &clash.reagents,
                verdict: clash.verdict.word(),
                consequence: &clash.consequence,
                source: &clash.source,
            })
            .collect(),
        undetermined: judged.judged.gaps.iter().map(|gap| gap.what.as_str()).collect(),
        unverified: &judged.unverified,
        assumed: &judged.assumed,
        steps: writer.steps(&judged.steps),
    })
}

fn statement<'a>(writer: &Writer<'a>, code: &'a str, names: Option<&str>) -> StatementData<'a> {
    let found = writer.catalogue.statement(code);
    let filled = |text: &str| names.map_or(text.to_owned(), |name| text.replace("<substance>", name));
    StatementData {
        code,
        text: found.map(|statement| filled(&statement.en)),
        text_es: found.map(|statement| filled(&statement.es)),
        note: None,
        mark: found.and_then(|statement| writer.catalogue.source(&statement.source)?.mark()),
    }
}

#[derive(Serialize)]
struct JudgedData<'a> {
    format: u32,
    what: &'a str,
    jurisdiction: &'a str,
    specific_limits: bool,
    composition: Vec<PartData<'a>>,
    classes: Vec<ClassData<'a>>,
    signal_word: Option<&'a str>,
    pictograms: &'a [String],
    hazard_statements: Vec<StatementData<'a>>,
    precautionary_statements: Vec<StatementData<'a>>,
    supplemental: Vec<StatementData<'a>>,
    conflicts: Vec<ClashData<'a>>,
    undetermined: Vec<&'a str>,
    unverified: &'a [String],
    assumed: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct ClashData<'a> {
    reagents: &'a [String; 2],
    verdict: &'a str,
    consequence: &'a str,
    source: &'a str,
}

#[derive(Serialize)]
struct PartData<'a> {
    reagent: &'a str,
    percent_w_w: f64,
    counted_as: &'a str,
}

#[derive(Serialize)]
struct ClassData<'a> {
    class: String,
    category: String,
    statement: Option<&'a str>,
    because: &'a str,
    rule: &'a str,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    rests_on: Vec<EntryData<'a>>,
}

#[derive(Serialize)]
struct EntryData<'a> {
    ingredient: &'a str,
    #[serde(flatten)]
    source: StepData<'a>,
}

#[derive(Serialize)]
struct StatementData<'a> {
    code: &'a str,
    text: Option<String>,
    text_es: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mark: Option<&'a str>,
}
