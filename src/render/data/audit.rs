//! The fields of `audit`.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::audit::{Audited, Carry, Finding};
use crate::disposal::caution;

/// Findings and moves.
pub(super) fn audited(audited: &Audited) -> String {
    line(&AuditData {
        format: FORMAT,
        on: audited.on.to_string(),
        stocks: audited.stocks,
        findings: audited.findings.iter().map(FindingData::of).collect(),
        moves: audited.moves.iter().map(MoveData::of).collect(),
        moves_proven: audited.proven,
        left_after_moves: audited.stuck,
        least_bad: audited.least_bad.as_ref().map(|found| LeastBadData {
            moves: found.carries.iter().map(MoveData::of).collect(),
            before: found.before,
            after: found.after,
            makes: &found.makes,
        }),
        before: audited.before.as_ref().map(|before| BeforeData {
            moving: MoveData::of(&before.carry),
            cleared: before.cleared.iter().map(FindingData::of).collect(),
        }),
        not_looked_at: &audited.unseen,
        review_due_since: audited.review.map(|day| day.to_string()),
        caution: caution::short(),
    })
}

#[derive(Serialize)]
struct AuditData<'a> {
    format: u32,
    on: String,
    stocks: usize,
    findings: Vec<FindingData<'a>>,
    moves: Vec<MoveData<'a>>,
    moves_proven: bool,
    left_after_moves: usize,
    least_bad: Option<LeastBadData<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    before: Option<BeforeData<'a>>,
    not_looked_at: &'a [String],
    review_due_since: Option<String>,
    caution: &'a str,
}

/// Findings by severity: danger, serious, minor.
#[derive(Serialize)]
struct LeastBadData<'a> {
    moves: Vec<MoveData<'a>>,
    before: [usize; 3],
    after: [usize; 3],
    makes: &'a [String],
}

#[derive(Serialize)]
struct BeforeData<'a> {
    #[serde(rename = "move")]
    moving: MoveData<'a>,
    cleared: Vec<FindingData<'a>>,
}

#[derive(Serialize)]
struct FindingData<'a> {
    severity: &'a str,
    place: Option<&'a str>,
    stocks: &'a [String],
    rule: &'a str,
    consequence: &'a str,
    source: &'a str,
    advice: &'a str,
    overruled: Vec<OverruledData<'a>>,
    open: bool,
}

#[derive(Serialize)]
struct OverruledData<'a> {
    stock: &'a str,
    since: String,
    why: &'a str,
}

#[derive(Serialize)]
struct MoveData<'a> {
    stock: &'a str,
    from: &'a str,
    to: &'a str,
    step: usize,
}

impl<'a> FindingData<'a> {
    fn of(finding: &'a Finding) -> Self {
        FindingData {
            severity: finding.fault.severity.word(),
            place: finding.place.as_deref(),
            stocks: &finding.stocks,
            rule: &finding.fault.rule,
            consequence: &finding.fault.consequence,
            source: &finding.fault.source,
            advice: &finding.fault.advice,
            overruled: finding
                .overruled
                .iter()
                .map(|reason| OverruledData { stock: &reason.stock, since: reason.since.to_string(), why: &reason.why })
                .collect(),
            open: finding.open,
        }
    }
}

impl<'a> MoveData<'a> {
    fn of(carry: &'a Carry) -> Self {
        MoveData { stock: &carry.stock, from: &carry.from, to: &carry.to, step: carry.step }
    }
}
