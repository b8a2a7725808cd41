//! The dip book, and what to measure out for a bath.

use serde::Serialize;

use super::bathe::OwnData;
use super::dip_own::{self, VersionData};
use super::ready::NeedData;
use super::{DoseData, FORMAT, StepData, Writer, line, six, until};
use crate::commands::dip::{Book, Dosed};
use crate::commands::dose_baths::{Baths, Taken};
use crate::dip::allot::Portion;
use crate::dip::stop::Stopping;
use crate::dip::tool::{Own, Reading};
use crate::dip::{Dose, Goal, Until};
use crate::units::estimate::Estimate;

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
            evidence: dip
                .evidence
                .iter()
                .map(|row| EvidenceData { grade: row.grade.word(), says: &row.says, source: &row.source })
                .collect(),
            cautions: &dip.cautions,
            stopped_with: dip.stop.as_ref().map(|stop| stop.reagent.as_str()),
            own: book.own.iter().map(OwnData::of).collect(),
            steps: writer.steps(&goal.steps),
        })
        .collect();
    line(&BookData { format: FORMAT, dips })
}

/// The verdict on a bath, the doses, and what to mind.
pub(super) fn dosed<'a>(writer: &Writer<'a>, dosed: &'a Dosed) -> String {
    let plan = &dosed.plan;
    let baths = dosed.baths.as_ref();
    line(&DosedData {
        format: FORMAT,
        dip: &dosed.dip.key,
        on: dosed.on.to_string(),
        bath_l: six(dosed.bath.to_l()),
        vessel: dosed.vessel.as_deref(),
        target: TargetData::of(&dosed.goal),
        verdict: dosed.verdict().words(),
        chance: plan.chance.map(six),
        doses: plan.doses.iter().map(OwnDoseData::of).collect(),
        water_l: six(plan.water.to_l()),
        bath_strength: plan.bath.map(BathData::of),
        largest_bath_l: six(plan.largest.to_l()),
        until: until(plan.until),
        keeps: plan.until == Some(Until::NoEnd),
        reasons: &plan.reasons,
        stopping: dosed.stopping.as_ref().map(StoppingData::of),
        not_used: &dosed.lookalikes,
        not_weighed: &dosed.unweighed,
        cautions: &dosed.dip.cautions,
        not_shown: &dosed.dip.not_shown,
        next_step: &dosed.next_step,
        steps: writer.steps(&dosed.steps),
        baths: baths.map(|baths| baths.portions.iter().map(PortionData::of).collect()),
        ready_baths: baths.map(Baths::ready),
        taken: baths.map(|baths| baths.taken.iter().map(TakenData::of).collect()),
        needs: baths.map(|baths| baths.needs.iter().map(NeedData::of).collect()),
    })
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
    evidence: Vec<EvidenceData<'a>>,
    cautions: &'a [String],
    stopped_with: Option<&'a str>,
    own: Vec<OwnData<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct EvidenceData<'a> {
    grade: &'a str,
    says: &'a str,
    source: &'a str,
}

#[derive(Serialize)]
pub(super) struct TargetData {
    low_g_per_l: f64,
    aim_g_per_l: f64,
    high_g_per_l: f64,
}

impl TargetData {
    pub(super) fn of(goal: &Goal) -> Self {
        TargetData {
            low_g_per_l: six(goal.low.to_g_per_l()),
            aim_g_per_l: six(goal.aim.to_g_per_l()),
            high_g_per_l: six(goal.high.to_g_per_l()),
        }
    }
}

#[derive(Serialize)]
struct DosedData<'a> {
    format: u32,
    dip: &'a str,
    on: String,
    bath_l: f64,
    vessel: Option<&'a str>,
    target: TargetData,
    verdict: &'a str,
    chance: Option<f64>,
    doses: Vec<OwnDoseData<'a>>,
    water_l: f64,
    bath_strength: Option<BathData>,
    largest_bath_l: f64,
    until: Option<String>,
    keeps: bool,
    reasons: &'a [String],
    stopping: Option<StoppingData<'a>>,
    not_used: &'a [String],
    not_weighed: &'a [String],
    cautions: &'a [String],
    not_shown: &'a [String],
    next_step: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    baths: Option<Vec<PortionData<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    ready_baths: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    taken: Option<Vec<TakenData<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    needs: Option<Vec<NeedData<'a>>>,
}

/// One of several equal baths.
#[derive(Serialize)]
struct PortionData<'a> {
    number: u32,
    verdict: &'a str,
    chance: Option<f64>,
    doses: Vec<OwnDoseData<'a>>,
    neutraliser: Vec<DoseData<'a>>,
    reasons: &'a [String],
}

impl<'a> PortionData<'a> {
    fn of(portion: &'a Portion) -> Self {
        let plan = &portion.plan;
        PortionData {
            number: portion.number,
            verdict: plan.verdict.words(),
            chance: plan.chance.map(six),
            doses: plan.doses.iter().map(OwnDoseData::of).collect(),
            neutraliser: portion.neutraliser.iter().map(DoseData::of).collect(),
            reasons: &plan.reasons,
        }
    }
}

/// What all baths take of a stock.
#[derive(Serialize)]
struct TakenData<'a> {
    stock: &'a str,
    value: f64,
    unit: &'a str,
    stops: bool,
}

impl<'a> TakenData<'a> {
    fn of(taken: &'a Taken) -> Self {
        TakenData { stock: &taken.code, value: six(taken.amount), unit: &taken.unit, stops: taken.stops }
    }
}

/// What to measure out of one stock, with the keeper's own measures.
#[derive(Serialize)]
struct OwnDoseData<'a> {
    #[serde(flatten)]
    dose: DoseData<'a>,
    own: Vec<OwnMeasureData<'a>>,
    stock_solution: Option<StockSolutionData<'a>>,
}

#[derive(Serialize)]
struct OwnMeasureData<'a> {
    measure: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    count: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mark: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    times: Option<f64>,
    unit: &'a str,
    relative_sd: f64,
}

#[derive(Serialize)]
struct StockSolutionData<'a> {
    grams: f64,
    water_ml: f64,
    g_per_l: f64,
    take_ml: f64,
    scale: &'a str,
    dissolves_g_per_l: f64,
    coldest_c: f64,
}

impl<'a> OwnDoseData<'a> {
    fn of(dose: &'a Dose) -> Self {
        OwnDoseData {
            dose: DoseData::of(dose),
            own: dose.own.iter().map(OwnMeasureData::of).collect(),
            stock_solution: dose.stock_solution.as_ref().map(|solution| StockSolutionData {
                grams: six(solution.grams),
                water_ml: six(solution.made_up_ml),
                g_per_l: six(solution.g_per_l),
                take_ml: six(solution.take_ml),
                scale: &solution.scale,
                dissolves_g_per_l: six(solution.dissolves.most.to_g_per_l()),
                coldest_c: six(solution.dissolves.at.to_celsius()),
            }),
        }
    }
}

impl<'a> OwnMeasureData<'a> {
    fn of(own: &'a Own) -> Self {
        let (count, mark, times) = match own.reading {
            Reading::Count(count) => (Some(count), None, None),
            Reading::Mark { mark, times } => (None, Some(six(mark)), Some(times)),
        };
        OwnMeasureData { measure: &own.measure, count, mark, times, unit: own.unit, relative_sd: six(own.relative_sd) }
    }
}

#[derive(Serialize)]
pub(super) struct BathData {
    median_g_per_l: f64,
    low_g_per_l: f64,
    high_g_per_l: f64,
}

impl BathData {
    pub(super) fn of(bath: Estimate) -> Self {
        let Estimate { low, mid, high } = bath;
        BathData { median_g_per_l: six(mid), low_g_per_l: six(low), high_g_per_l: six(high) }
    }
}

#[derive(Serialize)]
struct StoppingData<'a> {
    neutraliser: &'a str,
    grams_theory: f64,
    grams_planned: f64,
    grams_on_shelf: f64,
    enough_on_shelf: bool,
}

impl<'a> StoppingData<'a> {
    fn of(stopping: &'a Stopping) -> Self {
        StoppingData {
            neutraliser: &stopping.neutraliser,
            grams_theory: six(stopping.theory.to_g()),
            grams_planned: six(stopping.planned.to_g()),
            grams_on_shelf: six(stopping.held.to_g()),
            enough_on_shelf: stopping.enough(),
        }
    }
}
