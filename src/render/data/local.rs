//! The fields of `local`.

use serde::Serialize;

use super::{Amount, FORMAT, Writer, line, six};
use crate::catalogue::Language;
use crate::commands::local::{Asking, OnRecord};
use crate::commands::local_check::Filled;
use crate::disposal::local::{About, Asked, Print, Taker};
use crate::units::measure::Kitchen;

/// The local rules read back.
pub(super) fn on_record(_: &Writer<'_>, record: &OnRecord) -> String {
    let local = &record.local;
    let day = record.on;
    line(&RecordData {
        format: FORMAT,
        file: &record.file,
        there: record.there,
        on: day.to_string(),
        place: local.place.as_deref(),
        jurisdiction: local.jurisdiction.map(|place| place.word()),
        emergency: local.emergency.as_deref(),
        fire: local.fire.as_deref(),
        poison_centre: local.poison_centre.as_deref(),
        water_company: local.water_company.as_deref(),
        print: PrintData::of(&local.print),
        store: local
            .stores
            .iter()
            .map(|store| {
                let (reagent, group) = match &store.about {
                    About::Reagent(key) => (Some(key.as_str()), None),
                    About::Group(key) => (None, Some(key.as_str())),
                };
                StoreData {
                    reagent,
                    group,
                    stronger_than_percent_w_w: store.stronger_than.map(six),
                    most: Amount::of(store.most.base(), store.most.base_unit()),
                    asked: AskedData::of(&store.asked, day),
                }
            })
            .collect(),
        strength: local
            .strengths
            .iter()
            .map(|row| StrengthData {
                reagent: &row.reagent,
                most_percent_w_w: six(row.percent_w_w),
                asked: AskedData::of(&row.asked, day),
            })
            .collect(),
        drain: local
            .drains
            .iter()
            .map(|row| DrainData {
                reagent: &row.reagent,
                into: &row.into,
                allowed: row.allowed,
                most_mg_per_l: row.most_mg_per_l.map(six),
                asked: AskedData::of(&row.asked, day),
            })
            .collect(),
        takes: local.takers.iter().map(|taker| TakerData::of(taker, day)).collect(),
        unanswered: record
            .unanswered
            .iter()
            .map(|silent| UnansweredData {
                key: silent.key,
                what: &silent.what,
                ask: silent.ask.iter().map(AskingData::of).collect(),
            })
            .collect(),
        due_for_review_since: record.due_since.map(|day| day.to_string()),
        caution: record.caution,
    })
}

#[derive(Serialize)]
struct RecordData<'a> {
    format: u32,
    file: &'a str,
    there: bool,
    on: String,
    place: Option<&'a str>,
    jurisdiction: Option<&'a str>,
    emergency: Option<&'a str>,
    fire: Option<&'a str>,
    poison_centre: Option<&'a str>,
    water_company: Option<&'a str>,
    print: PrintData<'a>,
    store: Vec<StoreData<'a>>,
    strength: Vec<StrengthData<'a>>,
    drain: Vec<DrainData<'a>>,
    takes: Vec<TakerData<'a>>,
    unanswered: Vec<UnansweredData<'a>>,
    due_for_review_since: Option<String>,
    caution: &'a str,
}

/// How things are printed.
#[derive(Serialize)]
struct PrintData<'a> {
    language: Option<&'a str>,
    units: Option<&'a str>,
    paper: Option<&'a str>,
    keeper: Option<&'a str>,
}

impl<'a> PrintData<'a> {
    fn of(print: &'a Print) -> Self {
        PrintData {
            language: print.language.map(Language::code),
            units: print.units.map(Kitchen::word),
            paper: print.paper.as_deref(),
            keeper: print.keeper.as_deref(),
        }
    }
}

#[derive(Serialize)]
struct StoreData<'a> {
    reagent: Option<&'a str>,
    group: Option<&'a str>,
    stronger_than_percent_w_w: Option<f64>,
    most: Amount<'a>,
    #[serde(flatten)]
    asked: AskedData<'a>,
}

#[derive(Serialize)]
struct StrengthData<'a> {
    reagent: &'a str,
    most_percent_w_w: f64,
    #[serde(flatten)]
    asked: AskedData<'a>,
}

#[derive(Serialize)]
struct DrainData<'a> {
    reagent: &'a str,
    into: &'a str,
    allowed: bool,
    most_mg_per_l: Option<f64>,
    #[serde(flatten)]
    asked: AskedData<'a>,
}

#[derive(Serialize)]
struct UnansweredData<'a> {
    key: &'a str,
    what: &'a str,
    ask: Vec<AskingData<'a>>,
}

/// Who takes what.
#[derive(Serialize)]
pub(super) struct TakerData<'a> {
    who: &'a str,
    /// Keys of disposal classes; empty for every one.
    classes: &'a [String],
    days: Option<&'a str>,
    how: Option<&'a str>,
    phone: Option<&'a str>,
    #[serde(flatten)]
    asked: AskedData<'a>,
}

impl<'a> TakerData<'a> {
    pub(super) fn of(taker: &'a Taker, day: chrono::NaiveDate) -> Self {
        TakerData {
            who: &taker.who,
            classes: &taker.classes,
            days: taker.days.as_deref(),
            how: taker.how.as_deref(),
            phone: taker.phone.as_deref(),
            asked: AskedData::of(&taker.asked, day),
        }
    }
}

/// Who was asked, when, and whether that is too long ago.
#[derive(Serialize)]
struct AskedData<'a> {
    asked: &'a str,
    asked_on: String,
    reference: Option<&'a str>,
    answer: Option<&'a str>,
    check: bool,
}

impl<'a> AskedData<'a> {
    fn of(asked: &'a Asked, day: chrono::NaiveDate) -> Self {
        AskedData {
            asked: &asked.whom,
            asked_on: asked.on.to_string(),
            reference: asked.reference.as_deref(),
            answer: asked.answer.as_deref(),
            check: asked.wants_asking_again(day),
        }
    }
}

/// Whom to ask what.
#[derive(Serialize)]
pub(super) struct AskingData<'a> {
    whom: &'a str,
    questions: &'a [String],
}

impl<'a> AskingData<'a> {
    pub(super) fn of(asking: &'a Asking) -> Self {
        AskingData { whom: &asking.whom, questions: &asking.questions }
    }
}

/// What is to be filled in by hand, and asked again.
pub(super) fn filled(filled: &Filled) -> String {
    line(&FilledData {
        format: FORMAT,
        file: &filled.file,
        there: filled.there,
        on: filled.on.to_string(),
        by_hand: filled.by_hand.iter().map(|(key, what)| ByHandData { key, what }).collect(),
        ask_again: filled
            .ask_again
            .iter()
            .map(|(key, asked)| AgainData { key, asked: AskedData::of(asked, filled.on) })
            .collect(),
    })
}

#[derive(Serialize)]
struct FilledData<'a> {
    format: u32,
    file: &'a str,
    there: bool,
    on: String,
    by_hand: Vec<ByHandData<'a>>,
    ask_again: Vec<AgainData<'a>>,
}

#[derive(Serialize)]
struct ByHandData<'a> {
    key: &'a str,
    what: &'a str,
}

#[derive(Serialize)]
struct AgainData<'a> {
    key: &'a str,
    #[serde(flatten)]
    asked: AskedData<'a>,
}
