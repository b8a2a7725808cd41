//! What to measure out for a bath, as JSON.

use serde::Serialize;

use super::dip_book::ThenData;
use super::ready::NeedData;
use super::{DoseData, FORMAT, StepData, Writer, line, six, until};
use crate::commands::dose::Dosed;
use crate::commands::dose_baths::{Baths, Taken};
use crate::commands::dose_steps::{Follow, NextBath};
use crate::dip::allot::Portion;
use crate::dip::sequence::Found;
use crate::dip::stop::Stopping;
use crate::dip::tool::{Own, Reading};
use crate::dip::{Dose, Goal, Until};
use crate::units::estimate::Estimate;

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
        verdict: dosed.verdict.words(),
        bath_verdict: plan.verdict.words(),
        chance: plan.chance.map(six),
        doses: plan.doses.iter().map(OwnDoseData::of).collect(),
        water_l: six(plan.water.to_l()),
        bath_strength: plan.bath.map(BathData::of),
        largest_bath_l: six(plan.largest.to_l()),
        until: until(plan.until),
        keeps: plan.until == Some(Until::NoEnd),
        reasons: &plan.reasons,
        stopping: dosed.stopping.as_ref().map(StoppingData::of),
        then: dosed.then.iter().map(FollowData::of).collect(),
        traps: dosed.traps.iter().map(|found| TrapData::of(writer, found)).collect(),
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

/// The band of a dip in grams in a litre.
#[derive(Serialize)]
pub(super) struct TargetData {
    low_g_per_l: f64,
    aim_g_per_l: f64,
    high_g_per_l: f64,
}

impl TargetData {
    /// The band of a dip.
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
    bath_verdict: &'a str,
    chance: Option<f64>,
    doses: Vec<OwnDoseData<'a>>,
    water_l: f64,
    bath_strength: Option<BathData>,
    largest_bath_l: f64,
    until: Option<String>,
    keeps: bool,
    reasons: &'a [String],
    stopping: Option<StoppingData<'a>>,
    then: Vec<FollowData<'a>>,
    traps: Vec<TrapData<'a>>,
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
    grams_planned_high: f64,
    grams_on_shelf: f64,
    enough_on_shelf: bool,
}

impl<'a> StoppingData<'a> {
    fn of(stopping: &'a Stopping) -> Self {
        StoppingData {
            neutraliser: &stopping.neutraliser,
            grams_theory: six(stopping.theory.to_g()),
            grams_planned: six(stopping.planned.to_g()),
            grams_planned_high: six(stopping.planned_high.to_g()),
            grams_on_shelf: six(stopping.held.to_g()),
            enough_on_shelf: stopping.enough(),
        }
    }
}

/// One step after the first bath: another bath, or what is done between.
#[derive(Serialize)]
#[serde(untagged)]
enum FollowData<'a> {
    Bath(Box<NextData<'a>>),
    Other(ThenData<'a>),
}

/// A bath that follows another one.
#[derive(Serialize)]
struct NextData<'a> {
    step: &'a str,
    dip: &'a str,
    target: TargetData,
    verdict: &'a str,
    chance: Option<f64>,
    doses: Vec<OwnDoseData<'a>>,
    water_l: f64,
    bath_strength: Option<BathData>,
    reasons: &'a [String],
    stopping: Option<StoppingData<'a>>,
    cautions: &'a [String],
}

impl<'a> FollowData<'a> {
    fn of(step: &'a Follow) -> Self {
        match step {
            Follow::Bath(next) => FollowData::Bath(Box::new(NextData::of(next))),
            Follow::Rinse(times) => FollowData::Other(ThenData::rinse(*times)),
            Follow::Quench(with) => FollowData::Other(ThenData::quench(Some(with))),
            Follow::Hold(days) => FollowData::Other(ThenData::hold(*days)),
            Follow::Look(days) => FollowData::Other(ThenData::look(days)),
        }
    }
}

impl<'a> NextData<'a> {
    fn of(next: &'a NextBath) -> Self {
        NextData {
            step: "dip",
            dip: &next.dip.key,
            target: TargetData::of(&next.goal),
            verdict: next.plan.verdict.words(),
            chance: next.plan.chance.map(six),
            doses: next.plan.doses.iter().map(OwnDoseData::of).collect(),
            water_l: six(next.plan.water.to_l()),
            bath_strength: next.plan.bath.map(BathData::of),
            reasons: &next.plan.reasons,
            stopping: next.stopping.as_ref().map(StoppingData::of),
            cautions: &next.dip.cautions,
        }
    }
}

/// What stands between two baths; `rinses` is null where nothing clears it.
#[derive(Serialize)]
struct TrapData<'a> {
    after: &'a str,
    before: &'a str,
    left: &'a str,
    happens: &'a str,
    harm: &'a str,
    rinses: Option<u8>,
    rinsed: u8,
    cleared: bool,
    source: &'a str,
    seen: Option<&'a str>,
}

impl<'a> TrapData<'a> {
    fn of(writer: &Writer<'a>, found: &'a Found) -> Self {
        TrapData {
            after: &found.after,
            before: &found.next,
            left: &found.left,
            happens: &found.trap.happens,
            harm: found.trap.harm.word(),
            rinses: found.trap.rinses,
            rinsed: found.rinsed,
            cleared: found.is_cleared(),
            source: &found.trap.source,
            seen: writer.catalogue.source(&found.trap.source).map(|source| source.seen.word()),
        }
    }
}
