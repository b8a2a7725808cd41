//! The fields of `dips add` and `dips revise`, and of the versions of a dip.

use serde::Serialize;

use super::dose::TargetData;
use super::{FORMAT, StepData, Writer, line, six};
use crate::commands::dip_own::Kept;
use crate::commands::own_dips::VersionLine;
use crate::dip::course;

/// What was entered, what changed, who must read it again.
pub(super) fn kept<'a>(writer: &Writer<'a>, kept: &'a Kept) -> String {
    let dip = &kept.dip;
    line(&KeptData {
        format: FORMAT,
        dip: &dip.key,
        version: dip.version,
        from: kept.day.to_string(),
        why: &kept.why,
        changes: kept
            .changes
            .iter()
            .map(|change| ChangeData {
                what: change.what,
                before: change.before.as_deref(),
                after: change.after.as_deref(),
            })
            .collect(),
        target: TargetData::of(&kept.goal),
        minutes_low: six(dip.minutes.low),
        minutes_high: six(dip.minutes.high),
        stopped_with: dip.stop.as_ref().map(|stop| stop.reagent.as_str()),
        after: (!dip.steps.is_empty()).then(|| course::typed(&dip.steps)),
        questions: &kept.questions,
        taken_over: &kept.taken,
        read_again: &kept.read_again,
        steps: writer.steps(&kept.goal.steps),
    })
}

/// The versions of a dip.
pub(super) fn versions(versions: &[VersionLine]) -> Vec<VersionData<'_>> {
    versions
        .iter()
        .map(|line| VersionData {
            version: line.version,
            day: line.day.map(|day| day.to_string()),
            why: line.why.as_deref(),
        })
        .collect()
}

#[derive(Serialize)]
struct KeptData<'a> {
    format: u32,
    dip: &'a str,
    version: u32,
    from: String,
    why: &'a str,
    changes: Vec<ChangeData<'a>>,
    target: TargetData,
    minutes_low: f64,
    minutes_high: f64,
    stopped_with: Option<&'a str>,
    after: Option<String>,
    questions: &'a [String],
    taken_over: &'a [String],
    read_again: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct ChangeData<'a> {
    what: &'a str,
    before: Option<&'a str>,
    after: Option<&'a str>,
}

/// A version: null, null for the day and the reason of a shipped one.
#[derive(Serialize)]
pub(super) struct VersionData<'a> {
    version: u32,
    day: Option<String>,
    why: Option<&'a str>,
}
