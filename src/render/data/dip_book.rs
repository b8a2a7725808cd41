//! The dip book as JSON.

use serde::Serialize;

use super::dose::TargetData;
use super::{FORMAT, StepData, Writer, line};
use crate::commands::dip_book::Book;

/// The dips, each with its target and evidence.
pub(super) fn book<'a>(writer: &Writer<'a>, book: &'a Book) -> String {
    let dips = book
        .dips
        .iter()
        .map(|(dip, goal)| BookLine {
            dip: &dip.key,
            name: &dip.name,
            reagent: &dip.reagent,
            aim: &dip.target.aim,
            target: TargetData::of(goal),
            minutes_low: dip.minutes.low,
            minutes_high: dip.minutes.high,
            water_c: dip.water_c,
            used_for: &dip.used_for,
            plants: &dip.plants,
            not_shown: &dip.not_shown,
            evidence: dip
                .evidence
                .iter()
                .map(|row| EvidenceData { grade: row.grade.word(), says: &row.says, source: &row.source })
                .collect(),
            cautions: &dip.cautions,
            stopped_with: dip.stop.as_ref().map(|stop| stop.reagent.as_str()),
            steps: writer.steps(&goal.steps),
        })
        .collect();
    line(&BookData { format: FORMAT, dips })
}

#[derive(Serialize)]
struct BookData<'a> {
    format: u32,
    dips: Vec<BookLine<'a>>,
}

#[derive(Serialize)]
struct BookLine<'a> {
    dip: &'a str,
    name: &'a str,
    reagent: &'a str,
    aim: &'a str,
    target: TargetData,
    minutes_low: f64,
    minutes_high: f64,
    water_c: Option<[f64; 2]>,
    used_for: &'a str,
    plants: &'a str,
    not_shown: &'a [String],
    evidence: Vec<EvidenceData<'a>>,
    cautions: &'a [String],
    stopped_with: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct EvidenceData<'a> {
    grade: &'a str,
    says: &'a str,
    source: &'a str,
}
