//! The dip book as JSON.

use serde::Serialize;

use super::bathe::OwnData;
use super::dip_own::{self, VersionData};
use super::dose::TargetData;
use super::{FORMAT, StepData, Writer, line, six};
use crate::catalogue::{After, Dip, Row};
use crate::commands::dip_book::Book;

/// The dips, each with its target and evidence.
pub(super) fn book<'a>(writer: &Writer<'a>, book: &'a Book) -> String {
    let dips = book
        .dips
        .iter()
        .map(|(dip, goal)| BookLine {
            dip: &dip.key,
            version: dip.version,
            versions: dip_own::versions(&book.versions),
            name: &dip.name,
            reagent: &dip.reagent,
            aim: &dip.target.aim,
            target: TargetData::of(goal),
            minutes_low: six(dip.minutes.low),
            minutes_high: six(dip.minutes.high),
            water_c: dip.water_c,
            used_for: &dip.used_for,
            plants: &dip.plants,
            not_shown: &dip.not_shown,
            evidence: dip.evidence.iter().map(|told| EvidenceData::of(told.row())).collect(),
            tolerance: dip
                .tolerance
                .iter()
                .map(|borne| ToleranceData {
                    plant: &borne.plant,
                    exposure: &borne.exposure,
                    effect: &borne.effect,
                    grade: borne.grade.word(),
                    source: &borne.source,
                })
                .collect(),
            contradictions: writer
                .catalogue
                .contradictions(&dip.key)
                .map(|(found, one, other)| ContradictionData {
                    about: &found.about,
                    how: &found.how,
                    one: EvidenceData::of(one),
                    other: EvidenceData::of(other),
                })
                .collect(),
            then: dip.steps.iter().map(|step| ThenData::of(step, dip)).collect(),
            aim_times: (book.single)
                .then(|| book.kin.iter().map(|(dip, times)| KinData { dip, times: six(*times) }).collect()),
            cautions: &dip.cautions,
            stopped_with: dip.stop.as_ref().map(|stop| stop.reagent.as_str()),
            own: book.own.iter().map(OwnData::of).collect(),
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
    version: u32,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    versions: Vec<VersionData<'a>>,
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
    evidence: Vec<EvidenceData>,
    tolerance: Vec<ToleranceData<'a>>,
    contradictions: Vec<ContradictionData<'a>>,
    then: Vec<ThenData<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    aim_times: Option<Vec<KinData<'a>>>,
    cautions: &'a [String],
    stopped_with: Option<&'a str>,
    own: Vec<OwnData<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct EvidenceData {
    grade: &'static str,
    says: String,
    source: String,
}

impl EvidenceData {
    fn of(row: Row) -> Self {
        EvidenceData { grade: row.grade.word(), says: row.says, source: row.source }
    }
}

#[derive(Serialize)]
struct ToleranceData<'a> {
    plant: &'a str,
    exposure: &'a str,
    effect: &'a str,
    grade: &'a str,
    source: &'a str,
}

#[derive(Serialize)]
struct ContradictionData<'a> {
    about: &'a str,
    how: &'a str,
    one: EvidenceData,
    other: EvidenceData,
}

/// Another dip of the same reagent, and how many times its aim this one's is.
#[derive(Serialize)]
struct KinData<'a> {
    dip: &'a str,
    times: f64,
}

/// One step after a bath.
#[derive(Serialize, Default)]
pub(super) struct ThenData<'a> {
    step: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    dip: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    times: Option<u8>,
    #[serde(skip_serializing_if = "Option::is_none")]
    with: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    for_days: Option<u16>,
    #[serde(skip_serializing_if = "Option::is_none")]
    on_days: Option<&'a [u16]>,
}

impl<'a> ThenData<'a> {
    fn of(step: &'a After, dip: &'a Dip) -> Self {
        match step {
            After::Dip(key) => ThenData { dip: Some(key), ..ThenData::named("dip") },
            After::Rinse(times) => ThenData::rinse(*times),
            After::Quench => ThenData::quench(dip.stop.as_ref().map(|stop| stop.reagent.as_str())),
            After::Hold(days) => ThenData::hold(*days),
            After::Look(days) => ThenData::look(days),
        }
    }

    fn named(step: &'static str) -> Self {
        ThenData { step, ..ThenData::default() }
    }

    /// So many rinses.
    pub(super) fn rinse(times: u8) -> Self {
        ThenData { times: Some(times), ..ThenData::named("rinse") }
    }

    /// A bath with a little neutraliser.
    pub(super) fn quench(with: Option<&'a str>) -> Self {
        ThenData { with, ..ThenData::named("quench") }
    }

    /// So many days apart.
    pub(super) fn hold(days: u16) -> Self {
        ThenData { for_days: Some(days), ..ThenData::named("hold") }
    }

    /// Looks on these days.
    pub(super) fn look(days: &'a [u16]) -> Self {
        ThenData { on_days: Some(days), ..ThenData::named("look") }
    }
}
