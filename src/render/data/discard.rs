//! The fields of `discard`.

use serde::Serialize;

use super::local::{AskingData, TakerData};
use super::{Amount, FORMAT, StepData, UsualData, Writer, line, six, until};
use crate::catalogue::{Carriage, Said, Signal};
use crate::commands::discard::{Discarded, Item};

/// The plan.
pub(super) fn discarded<'a>(writer: &Writer<'a>, plan: &'a Discarded) -> String {
    line(&PlanData {
        format: FORMAT,
        on: plan.on.to_string(),
        jurisdictions: plan.places.iter().map(|place| place.word()).collect(),
        jurisdiction_known: plan.place_known,
        items: plan.items.iter().map(|item| stock(writer, plan, item)).collect(),
        empty: plan.empty.iter().map(|(stock, name)| EmptyData { stock, name }).collect(),
        boxes: plan.boxes.iter().map(|stocks| BoxData { stocks }).collect(),
        far_apart: plan
            .far_apart
            .iter()
            .map(|(one, other, what)| FarData { stocks: [one, other], if_they_meet: what })
            .collect(),
        in_no_box: plan.items.iter().filter(|item| item.gas.is_some()).map(|item| item.stock.as_str()).collect(),
        ask: plan.ask.iter().map(AskingData::of).collect(),
        household: plan
            .household
            .iter()
            .map(|row| HouseholdData {
                jurisdiction: row.jurisdiction.word(),
                said: writer.step(&row.say, &row.source),
            })
            .collect(),
        package: said(writer, &plan.package),
        emergency: plan.numbers[0].as_deref(),
        poison_centre: plan.numbers[1].as_deref(),
        due_for_review_since: plan.due_since.map(|day| day.to_string()),
        caution: plan.caution,
    })
}

fn stock<'a>(writer: &Writer<'a>, plan: &'a Discarded, item: &'a Item) -> ItemData<'a> {
    let first = item.carried.first();
    ItemData {
        stock: &item.stock,
        reagent: &item.reagent,
        left: Amount::of(item.left, &item.unit),
        label: &item.label,
        strength: item.strength.as_ref().map(UsualData::of),
        counted_percent_w_w: item.counted.map(six),
        counted_as: item.counted_as,
        unlabelled: item.unlabelled,
        un: first.map(|row| row.un.as_str()),
        class: first.map(|row| row.class.as_str()),
        packing_group: first.map(|row| row.group.as_str()),
        un_source: first.map(|row| writer.step(&row.un, &row.source)),
        un_if: item.may_be_carried.iter().map(|row| carriage(writer, row)).collect(),
        signal_word: item.hazard.as_ref().and_then(|shown| shown.label.signal).map(|signal| match signal {
            Signal::Danger => "Danger",
            Signal::Warning => "Warning",
        }),
        pictograms: item.hazard.as_ref().map(|shown| shown.label.pictograms.as_slice()),
        disposal_class: item.class.as_ref().map(|class| class.key.as_str()),
        waste_codes: item
            .codes
            .iter()
            .map(|row| CodeData {
                jurisdiction: row.jurisdiction.word(),
                code: &row.code,
                words: &row.words,
                source: &row.source,
                mark: writer.catalogue.source(&row.source).and_then(|source| source.mark()),
            })
            .collect(),
        law: item
            .law
            .iter()
            .map(|row| LawData {
                place: &row.place,
                bound: &row.bound,
                said: writer.step(&row.effect, &row.source),
                if_lost: row.loss.as_deref(),
            })
            .collect(),
        too_strong: item.too_strong,
        still_good_for: item.still_good_for.iter().map(|(dip, good)| GoodData { dip, until: until(*good) }).collect(),
        takers: item.takers.iter().map(|taker| TakerData::of(taker, plan.on)).collect(),
        pack: item.class.as_ref().map_or(Vec::new(), |class| said(writer, &class.pack)),
        never: item.class.as_ref().map_or(Vec::new(), |class| said(writer, &class.never)),
        because: &item.because,
    }
}

fn said<'a>(writer: &Writer<'a>, lines: &'a [Said]) -> Vec<StepData<'a>> {
    lines.iter().map(|line| writer.step(&line.say, &line.source)).collect()
}

fn carriage<'a>(writer: &Writer<'a>, row: &'a Carriage) -> CarriageData<'a> {
    CarriageData {
        un: &row.un,
        class: &row.class,
        packing_group: &row.group,
        said: writer.step(row.strength.as_deref().unwrap_or("strength not known"), &row.source),
    }
}

#[derive(Serialize)]
struct PlanData<'a> {
    format: u32,
    on: String,
    jurisdictions: Vec<&'a str>,
    jurisdiction_known: bool,
    items: Vec<ItemData<'a>>,
    empty: Vec<EmptyData<'a>>,
    boxes: Vec<BoxData<'a>>,
    far_apart: Vec<FarData<'a>>,
    in_no_box: Vec<&'a str>,
    ask: Vec<AskingData<'a>>,
    household: Vec<HouseholdData<'a>>,
    package: Vec<StepData<'a>>,
    emergency: Option<&'a str>,
    poison_centre: Option<&'a str>,
    due_for_review_since: Option<String>,
    caution: &'a str,
}

#[derive(Serialize)]
struct ItemData<'a> {
    stock: &'a str,
    reagent: &'a str,
    left: Amount<'a>,
    label: &'a str,
    strength: Option<UsualData<'a>>,
    counted_percent_w_w: Option<f64>,
    counted_as: Option<&'a str>,
    unlabelled: bool,
    un: Option<&'a str>,
    class: Option<&'a str>,
    packing_group: Option<&'a str>,
    un_source: Option<StepData<'a>>,
    un_if: Vec<CarriageData<'a>>,
    signal_word: Option<&'a str>,
    /// Null where no hazard data are on file.
    pictograms: Option<&'a [String]>,
    disposal_class: Option<&'a str>,
    waste_codes: Vec<CodeData<'a>>,
    law: Vec<LawData<'a>>,
    too_strong: bool,
    still_good_for: Vec<GoodData<'a>>,
    takers: Vec<TakerData<'a>>,
    pack: Vec<StepData<'a>>,
    never: Vec<StepData<'a>>,
    because: &'a [String],
}

#[derive(Serialize)]
struct CarriageData<'a> {
    un: &'a str,
    class: &'a str,
    packing_group: &'a str,
    #[serde(flatten)]
    said: StepData<'a>,
}

#[derive(Serialize)]
struct EmptyData<'a> {
    stock: &'a str,
    name: &'a str,
}

#[derive(Serialize)]
struct BoxData<'a> {
    stocks: &'a [String],
}

#[derive(Serialize)]
struct FarData<'a> {
    stocks: [&'a str; 2],
    if_they_meet: &'a str,
}

#[derive(Serialize)]
struct GoodData<'a> {
    dip: &'a str,
    /// The last good day; null for ten years and on.
    until: Option<String>,
}

#[derive(Serialize)]
struct LawData<'a> {
    place: &'a str,
    bound: &'a str,
    #[serde(flatten)]
    said: StepData<'a>,
    if_lost: Option<&'a str>,
}

#[derive(Serialize)]
struct CodeData<'a> {
    jurisdiction: &'a str,
    code: &'a str,
    words: &'a str,
    source: &'a str,
    mark: Option<&'a str>,
}

#[derive(Serialize)]
struct HouseholdData<'a> {
    jurisdiction: &'a str,
    #[serde(flatten)]
    said: StepData<'a>,
}
