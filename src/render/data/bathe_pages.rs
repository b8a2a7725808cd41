//! The fields of `bathe list` and `bathe show`.

use serde::Serialize;

use super::bathe::{DrawData, LoadData, LookDayData, SpanData, time};
use super::{FORMAT, six};
use crate::commands::bathe::pages::{BathPage, Listed, LotPage};
use crate::dip::log::book::{BathOf, LookOf};
use crate::dip::log::countdown::overrun;

#[derive(Serialize)]
struct LookData<'a> {
    entry: i64,
    day: String,
    adults: u32,
    eggs: u32,
    damage_percent: Option<f64>,
    photo: Option<&'a str>,
    note: Option<&'a str>,
    who: Option<&'a str>,
}

impl<'a> LookData<'a> {
    fn of(look: &'a LookOf) -> Self {
        let what = &look.what;
        LookData {
            entry: look.row,
            day: look.day.to_string(),
            adults: what.adults,
            eggs: what.eggs,
            damage_percent: what.damage_percent.map(six),
            photo: what.photo.as_deref(),
            note: what.note.as_deref(),
            who: what.who.as_deref(),
        }
    }
}

#[derive(Serialize)]
pub(super) struct ListedData<'a> {
    format: u32,
    on: String,
    running: Vec<RunningData<'a>>,
    baths: Vec<BathData<'a>>,
    lots: Vec<LotLineData<'a>>,
}

#[derive(Serialize)]
struct RunningData<'a> {
    #[serde(flatten)]
    load: LoadData<'a>,
    in_since_seconds: Option<i64>,
    in_for_seconds: Option<SpanData>,
}

#[derive(Serialize)]
struct LotLineData<'a> {
    lot: &'a str,
    dip: &'a str,
    bathed: String,
    last_look: Option<LookData<'a>>,
    next_look: Option<LookDayData>,
    due: bool,
}

impl<'a> ListedData<'a> {
    pub(super) fn of(listed: &'a Listed) -> Self {
        ListedData {
            format: FORMAT,
            on: listed.on.to_string(),
            running: listed
                .running
                .iter()
                .map(|running| RunningData {
                    load: LoadData::of(&running.load),
                    in_since_seconds: running.seconds,
                    in_for_seconds: running.span.as_ref().map(SpanData::of),
                })
                .collect(),
            baths: listed.baths.iter().map(BathData::of).collect(),
            lots: listed
                .lots
                .iter()
                .map(|lot| LotLineData {
                    lot: &lot.name,
                    dip: &lot.dip,
                    bathed: lot.bathed.to_string(),
                    last_look: lot.looked.as_ref().map(LookData::of),
                    next_look: lot.next.as_ref().map(LookDayData::of),
                    due: lot.next.is_some_and(|next| next.day <= listed.on),
                })
                .collect(),
        }
    }
}

#[derive(Serialize)]
pub(super) struct LotData<'a> {
    format: u32,
    lot: &'a str,
    loads: Vec<PastLoadData<'a>>,
    looks: Vec<LookData<'a>>,
    left: Option<LeftData<'a>>,
    next_look: Option<LookDayData>,
}

/// A load with how many seconds it was in too long; null where it was not, or that is not known.
#[derive(Serialize)]
struct PastLoadData<'a> {
    #[serde(flatten)]
    load: LoadData<'a>,
    over_seconds: Option<i64>,
}

#[derive(Serialize)]
struct LeftData<'a> {
    entry: i64,
    how: &'a str,
    day: String,
    note: Option<&'a str>,
    who: Option<&'a str>,
    witness: Option<&'a str>,
    overruled: Option<&'a str>,
}

impl<'a> LotData<'a> {
    pub(super) fn of(page: &'a LotPage) -> Self {
        let lot = &page.lot;
        LotData {
            format: FORMAT,
            lot: &lot.name,
            loads: lot
                .loads
                .iter()
                .zip(&page.spans)
                .map(|(load, span)| PastLoadData { load: LoadData::of(load), over_seconds: overrun(load, *span) })
                .collect(),
            looks: lot.looks.iter().map(LookData::of).collect(),
            left: lot.left.as_ref().map(|left| LeftData {
                entry: left.row,
                how: left.how(),
                day: left.day.to_string(),
                note: left.what.note.as_deref(),
                who: left.what.who.as_deref(),
                witness: left.what.witness.as_deref(),
                overruled: left.what.overruled.as_deref(),
            }),
            next_look: page.next.as_ref().map(LookDayData::of),
        }
    }
}

#[derive(Serialize)]
pub(super) struct BathPageData<'a> {
    format: u32,
    #[serde(flatten)]
    bath: BathData<'a>,
    in_for_seconds: Option<SpanData>,
    taken: Vec<DrawData<'a>>,
}

#[derive(Serialize)]
struct BathData<'a> {
    bath: i64,
    dip: &'a str,
    version: u32,
    bath_l: f64,
    vessel: Option<&'a str>,
    began: String,
    loads: Vec<LoadData<'a>>,
    quenched: Vec<ReadingData<'a>>,
    drained: Option<DrainedData<'a>>,
}

#[derive(Serialize)]
struct ReadingData<'a> {
    entry: i64,
    day: String,
    reading: &'a str,
    proven: bool,
    ph: Option<f64>,
    who: Option<&'a str>,
    at: Option<String>,
}

#[derive(Serialize)]
struct DrainedData<'a> {
    entry: i64,
    day: String,
    into: &'a str,
    permission: Option<&'a str>,
    who: Option<&'a str>,
    at: Option<String>,
    overruled: Option<&'a str>,
}

impl<'a> BathData<'a> {
    fn of(bath: &'a BathOf) -> Self {
        BathData {
            bath: bath.row,
            dip: &bath.dip,
            version: bath.version,
            bath_l: six(bath.volume.to_l()),
            vessel: bath.vessel.as_deref(),
            began: time(bath.began),
            loads: bath.loads.iter().map(LoadData::of).collect(),
            quenched: bath
                .quenched
                .iter()
                .map(|quenched| ReadingData {
                    entry: quenched.row,
                    day: quenched.day.to_string(),
                    reading: &quenched.what.reading,
                    proven: quenched.what.proven,
                    ph: quenched.what.ph.map(six),
                    who: quenched.what.who.as_deref(),
                    at: quenched.what.at.map(|at| at.to_string()),
                })
                .collect(),
            drained: bath.drained.as_ref().map(|drained| DrainedData {
                entry: drained.row,
                day: drained.day.to_string(),
                into: &drained.what.into,
                permission: drained.what.permission.as_deref(),
                who: drained.what.who.as_deref(),
                at: drained.what.at.map(|at| at.to_string()),
                overruled: drained.what.overruled.as_deref(),
            }),
        }
    }
}

impl<'a> BathPageData<'a> {
    pub(super) fn of(page: &'a BathPage) -> Self {
        BathPageData {
            format: FORMAT,
            bath: BathData::of(&page.bath),
            in_for_seconds: page.span.as_ref().map(SpanData::of),
            taken: page.draws.iter().map(DrawData::without_rest).collect(),
        }
    }
}
