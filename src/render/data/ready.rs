//! Whether the shelf will be ready for what is expected.

use serde::Serialize;

use super::dose::BathData;
use super::{Amount, DoseData, FORMAT, StepData, UsualData, Writer, line, six};
use crate::commands::allocating::{BathLine, NeedLine, StockLine};
use crate::commands::ready::Readiness;
use crate::commands::shopping::Purchase;

/// Every bath, every stock that is drawn on, and what to buy.
pub(super) fn readiness<'a>(writer: &Writer<'a>, readiness: &'a Readiness) -> String {
    let allocation = &readiness.allocation;
    line(&ReadinessData {
        format: FORMAT,
        on: readiness.on.to_string(),
        ready: allocation.is_ready(),
        kept: readiness.kept,
        baths: allocation.baths.iter().map(LotBathData::of).collect(),
        stocks: allocation.stocks.iter().map(DrawnData::of).collect(),
        needs: allocation.needs.iter().map(NeedData::of).collect(),
        delivery_days: readiness.delivery,
        delivery_assumed: readiness.delivery_assumed,
        shopping: readiness.shopping.iter().map(|purchase| PurchaseData::of(purchase, readiness)).collect(),
        steps: writer.steps(&allocation.steps),
    })
}

#[derive(Serialize)]
struct ReadinessData<'a> {
    format: u32,
    on: String,
    ready: bool,
    kept: bool,
    baths: Vec<LotBathData<'a>>,
    stocks: Vec<DrawnData<'a>>,
    needs: Vec<NeedData<'a>>,
    delivery_days: u16,
    delivery_assumed: bool,
    shopping: Vec<PurchaseData<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct LotBathData<'a> {
    date: String,
    lot: &'a str,
    dip: &'a str,
    bath_l: f64,
    number: u32,
    baths: u32,
    plants: Option<&'a str>,
    verdict: &'a str,
    chance: Option<f64>,
    doses: Vec<DoseData<'a>>,
    water_l: f64,
    bath_strength: Option<BathData>,
    stopping: Option<LotStoppingData<'a>>,
    reasons: &'a [String],
}

#[derive(Serialize)]
struct LotStoppingData<'a> {
    neutraliser: &'a str,
    grams_planned: f64,
    grams_allotted: f64,
    enough: bool,
    doses: Vec<DoseData<'a>>,
}

impl<'a> LotBathData<'a> {
    fn of(bath: &'a BathLine) -> Self {
        let plan = &bath.plan;
        LotBathData {
            date: bath.day.to_string(),
            lot: &bath.lot,
            dip: &bath.dip,
            bath_l: six(bath.volume.to_l()),
            number: bath.number,
            baths: bath.count,
            plants: bath.plants.as_deref(),
            verdict: plan.verdict.words(),
            chance: plan.chance.map(six),
            doses: plan.doses.iter().map(DoseData::of).collect(),
            water_l: six(plan.water.to_l()),
            bath_strength: plan.bath.map(BathData::of),
            stopping: bath.stopping.as_ref().map(|stopping| LotStoppingData {
                neutraliser: &stopping.neutraliser,
                grams_planned: six(stopping.planned.to_g()),
                // What nobody takes is not allotted: it is in the reasons.
                grams_allotted: if bath.neutraliser.is_empty() { 0.0 } else { six(stopping.held.to_g()) },
                enough: stopping.enough(),
                doses: bath.neutraliser.iter().map(DoseData::of).collect(),
            }),
            reasons: &plan.reasons,
        }
    }
}

#[derive(Serialize)]
struct DrawnData<'a> {
    stock: &'a str,
    reagent: &'a str,
    baths: u32,
    taken: Amount<'a>,
    left: Amount<'a>,
    strengths: Vec<StrengthData<'a>>,
}

#[derive(Serialize)]
struct StrengthData<'a> {
    date: String,
    strength: UsualData<'a>,
}

impl<'a> DrawnData<'a> {
    fn of(stock: &'a StockLine) -> Self {
        let strengths = stock.strengths.iter();
        DrawnData {
            stock: &stock.code,
            reagent: &stock.reagent,
            baths: stock.baths,
            taken: Amount::of(stock.taken, &stock.unit),
            left: Amount::of(stock.left, &stock.unit),
            strengths: strengths
                .map(|(day, usual)| StrengthData { date: day.to_string(), strength: UsualData::of(usual) })
                .collect(),
        }
    }
}

/// What all baths take of a reagent.
#[derive(Serialize)]
pub(super) struct NeedData<'a> {
    reagent: &'a str,
    stops: bool,
    grams: f64,
    grams_on_shelf: f64,
    grams_missing: f64,
}

impl<'a> NeedData<'a> {
    pub(super) fn of(need: &'a NeedLine) -> Self {
        NeedData {
            reagent: &need.reagent,
            stops: need.stops,
            grams: six(need.wanted),
            grams_on_shelf: six(need.there),
            grams_missing: six(need.missing),
        }
    }
}

#[derive(Serialize)]
struct PurchaseData<'a> {
    reagent: &'a str,
    grams: f64,
    from: String,
    order_by: String,
    days_late: i64,
    label: &'a str,
    amount: Amount<'a>,
    container: Option<Amount<'a>>,
    containers: Option<u32>,
}

impl<'a> PurchaseData<'a> {
    fn of(purchase: &'a Purchase, readiness: &Readiness) -> Self {
        PurchaseData {
            reagent: &purchase.reagent,
            grams: six(purchase.grams),
            from: purchase.from.to_string(),
            order_by: purchase.order_by.to_string(),
            days_late: purchase.late(readiness.on),
            label: &purchase.label,
            amount: Amount::of(purchase.amount, purchase.unit),
            container: purchase.containers.map(|(size, _)| Amount::of(size, purchase.unit)),
            containers: purchase.containers.map(|(_, count)| count),
        }
    }
}
