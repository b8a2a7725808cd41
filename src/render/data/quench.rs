//! How a used bath is ended, and what may be done with it then.

use serde::Serialize;

use super::{DoseData, FORMAT, StepData, Writer, line, six};
use crate::commands::quench::Quenched;
use crate::disposal::quench::Verdict;

/// The verdict, the amounts, the reading that proves it, and what comes then. A refusal holds no dose.
pub(super) fn quenched<'a>(writer: &Writer<'a>, quenched: &'a Quenched) -> String {
    let ending = quenched.ending.as_ref();
    let needed = ending.and_then(|ending| ending.needed.as_ref());
    let done = matches!(quenched.verdict, Verdict::CanBeEnded | Verdict::Short);
    let treatment = quenched.treatment.filter(|_| done);
    line(&QuenchedData {
        format: FORMAT,
        what: &quenched.what,
        reagent: &quenched.reagent.key,
        on: quenched.on.to_string(),
        bath_l: six(quenched.bath.to_l()),
        verdict: quenched.verdict.words(),
        reasons: &quenched.reasons,
        counted_as: quenched.counted(),
        grams_to_destroy: ending.map(|ending| six(ending.destroy.high)),
        grams_to_destroy_range: ending.map(|ending| Range::of(ending.destroy.low, ending.destroy.high)),
        neutraliser: quenched.neutraliser.as_deref(),
        grams_theory: needed.map(|needed| six(needed.theory.to_g())),
        theory_range: needed.map(|needed| Range::of(needed.theory_low.to_g(), needed.theory_high.to_g())),
        grams_planned: needed.map(|needed| six(needed.planned.to_g())),
        doses: needed.map_or(Vec::new(), |needed| needed.doses.iter().map(DoseData::of).collect()),
        enough_on_shelf: needed.map_or(done.then_some(true), |needed| Some(needed.enough())),
        grams_on_shelf: needed.map(|needed| six(needed.held.to_g())),
        grams_missing: needed.map(|needed| six(needed.missing().to_g())),
        largest_bath_l: needed.map(|needed| six(needed.largest.to_l())),
        minutes: treatment.map(|treatment| Range::of(treatment.minutes.low, treatment.minutes.high)),
        proof: treatment.map(|treatment| treatment.proof.as_str()),
        wait_for: treatment.map(|treatment| treatment.wait_for.as_str()),
        formed: ending.and_then(|ending| ending.formed.as_deref()).filter(|_| done),
        heat_rise_k: ending.and_then(|ending| ending.heat_k).map(six),
        left_over_mg_per_l: needed.map(|needed| six(needed.left_over_mg_per_l)),
        left_over_as: needed.map(|needed| needed.left_over_as.as_str()),
        left_over_limit: quenched.limit.as_ref().map(|limit| LimitData {
            mg_per_l: six(limit.mg_per_l),
            whose: &limit.whose,
            example: limit.example,
            exceeded: limit.exceeded,
        }),
        cautions: quenched
            .cautions
            .iter()
            .map(|line| match writer.catalogue.source(&line.source).and_then(|source| source.mark()) {
                Some(mark) => format!("{} [{mark}]", line.say),
                None => line.say.clone(),
            })
            .collect(),
        assumed: &quenched.assumed,
        then: &quenched.then,
        due_for_review_since: quenched.due.map(|day| day.to_string()),
        caution: quenched.caution,
        next_step: &quenched.next_step,
        steps: writer.steps(&quenched.steps),
    })
}

#[derive(Serialize)]
struct QuenchedData<'a> {
    format: u32,
    what: &'a str,
    reagent: &'a str,
    on: String,
    bath_l: f64,
    verdict: &'a str,
    reasons: &'a [String],
    /// What the grams to destroy are grams of.
    counted_as: &'a str,
    grams_to_destroy: Option<f64>,
    grams_to_destroy_range: Option<Range>,
    neutraliser: Option<&'a str>,
    grams_theory: Option<f64>,
    theory_range: Option<Range>,
    grams_planned: Option<f64>,
    doses: Vec<DoseData<'a>>,
    enough_on_shelf: Option<bool>,
    grams_on_shelf: Option<f64>,
    grams_missing: Option<f64>,
    largest_bath_l: Option<f64>,
    minutes: Option<Range>,
    proof: Option<&'a str>,
    wait_for: Option<&'a str>,
    formed: Option<&'a str>,
    heat_rise_k: Option<f64>,
    left_over_mg_per_l: Option<f64>,
    left_over_as: Option<&'a str>,
    left_over_limit: Option<LimitData<'a>>,
    cautions: Vec<String>,
    assumed: &'a [String],
    then: &'a [String],
    due_for_review_since: Option<String>,
    caution: &'a str,
    next_step: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct Range {
    low: f64,
    high: f64,
}

impl Range {
    fn of(low: f64, high: f64) -> Self {
        Range { low: six(low), high: six(high) }
    }
}

#[derive(Serialize)]
struct LimitData<'a> {
    mg_per_l: f64,
    whose: &'a str,
    /// True for a limit of some other place, told to show how low they can be.
    example: bool,
    exceeded: bool,
}
