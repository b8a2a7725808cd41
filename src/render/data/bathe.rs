//! The fields of `bathe`, and those of the keeper's own results.

use chrono::NaiveDateTime;
use serde::Serialize;

use super::bathe_pages::{BathPageData, ListedData, LotData};
use super::{FORMAT, line, six};
use crate::commands::bathe::bring::Went;
use crate::commands::bathe::draw::Draw;
use crate::commands::bathe::quench::Quenched;
use crate::commands::bathe::stop::Stopped;
use crate::commands::bathe::watch::Watched;
use crate::commands::bathe::{Bathed, Noted};
use crate::dip::log::book::LoadOf;
use crate::dip::log::countdown::{Kept, Span};
use crate::dip::log::look::LookDay;
use crate::dip::log::outcome::Outcome;

/// What was entered, or is there.
pub(super) fn bathed(bathed: &Bathed) -> String {
    match bathed {
        Bathed::Went(given) => line(&WentData::of(given)),
        Bathed::Stopped(given) => line(&StoppedData::of(given)),
        Bathed::Quenched(given) => line(&QuenchedData::of(given)),
        Bathed::Noted(given) => line(&NotedData::of(given)),
        Bathed::Listed(given) => line(&ListedData::of(given)),
        Bathed::Lot(given) => line(&LotData::of(given)),
        Bathed::Bath(given) => line(&BathPageData::of(given)),
        Bathed::Watched(given) => line(&WatchedData::of(given)),
    }
}

pub(super) fn time(at: NaiveDateTime) -> String {
    at.format("%Y-%m-%dT%H:%M:%S").to_string()
}

#[derive(Serialize)]
pub(super) struct DrawData<'a> {
    stock: &'a str,
    value: f64,
    unit: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    left: Option<f64>,
}

impl<'a> DrawData<'a> {
    fn of(draw: &'a Draw) -> Self {
        DrawData { left: Some(six(draw.left)), ..DrawData::without_rest(draw) }
    }

    pub(super) fn without_rest(draw: &'a Draw) -> Self {
        DrawData { stock: &draw.stock, value: six(draw.amount), unit: &draw.unit, left: None }
    }
}

#[derive(Serialize)]
pub(super) struct LookDayData {
    day: String,
    after_days: u16,
}

impl LookDayData {
    pub(super) fn of(look: &LookDay) -> Self {
        LookDayData { day: look.day.to_string(), after_days: look.after }
    }
}

#[derive(Serialize)]
pub(super) struct SpanData {
    low: i64,
    high: i64,
}

impl SpanData {
    pub(super) fn of(span: &Span) -> Self {
        SpanData { low: span.low, high: span.high }
    }
}

#[derive(Serialize)]
pub(super) struct LoadData<'a> {
    entry: i64,
    bath: i64,
    dip: &'a str,
    version: u32,
    load: usize,
    lot: &'a str,
    plants: Option<&'a str>,
    kind: Option<&'a str>,
    started: String,
    ended: Option<String>,
    seconds: Option<i64>,
    who: Option<&'a str>,
    water_c: Option<f64>,
    ph: Option<f64>,
    dirt: Option<u8>,
    note: Option<&'a str>,
    overruled: Option<&'a str>,
}

impl<'a> LoadData<'a> {
    pub(super) fn of(load: &'a LoadOf) -> Self {
        let given = &load.load;
        LoadData {
            entry: load.row,
            bath: load.bath,
            dip: &load.dip,
            version: load.version,
            load: load.number,
            lot: &given.lot,
            plants: given.plants.as_deref(),
            kind: given.kind.as_deref(),
            started: time(given.at),
            ended: load.ended.map(time),
            seconds: load.seconds(),
            who: given.who.as_deref(),
            water_c: given.water_c.map(six),
            ph: given.ph.map(six),
            dirt: given.dirt,
            note: load.note.as_deref(),
            overruled: load.overruled.as_deref(),
        }
    }
}

#[derive(Serialize)]
struct WentData<'a> {
    format: u32,
    #[serde(flatten)]
    load: LoadData<'a>,
    bath_l: f64,
    vessel: Option<&'a str>,
    verdict: Option<&'a str>,
    chance: Option<f64>,
    taken: Vec<DrawData<'a>>,
    in_for_seconds: SpanData,
    out_from: String,
    out_by: String,
    neutraliser: Option<NeutraliserData<'a>>,
    then: &'a [String],
    looks: Vec<LookDayData>,
    warnings: &'a [String],
}

#[derive(Serialize)]
struct NeutraliserData<'a> {
    reagent: &'a str,
    grams_planned: f64,
}

impl<'a> NeutraliserData<'a> {
    fn of((reagent, grams): &'a (String, f64)) -> Self {
        NeutraliserData { reagent, grams_planned: six(*grams) }
    }
}

impl<'a> WentData<'a> {
    fn of(went: &'a Went) -> Self {
        WentData {
            format: FORMAT,
            load: LoadData::of(&went.load),
            bath_l: six(went.volume.to_l()),
            vessel: went.vessel.as_deref(),
            verdict: went.verdict.map(|verdict| verdict.words()),
            chance: went.chance.map(six),
            taken: went.draws.iter().map(DrawData::of).collect(),
            in_for_seconds: SpanData::of(&went.span),
            out_from: time(went.out_from),
            out_by: time(went.out_by),
            neutraliser: went.neutraliser.as_ref().map(NeutraliserData::of),
            then: &went.then,
            looks: went.looks.iter().map(LookDayData::of).collect(),
            warnings: &went.warnings,
        }
    }
}

#[derive(Serialize)]
struct StoppedData<'a> {
    format: u32,
    entry: i64,
    lot: &'a str,
    bath: i64,
    dip: &'a str,
    version: u32,
    ended: String,
    seconds: i64,
    in_for_seconds: Option<SpanData>,
    over_seconds: Option<i64>,
    short_seconds: Option<i64>,
    still_in: &'a [String],
    then: &'a [String],
}

impl<'a> StoppedData<'a> {
    fn of(stopped: &'a Stopped) -> Self {
        let (over_seconds, short_seconds) = match stopped.kept() {
            Some(Kept::Over(over)) => (Some(over), Some(0)),
            Some(Kept::Short(short)) => (Some(0), Some(short)),
            Some(Kept::Within) => (Some(0), Some(0)),
            None => (None, None),
        };
        StoppedData {
            format: FORMAT,
            entry: stopped.row,
            lot: &stopped.lot,
            bath: stopped.bath,
            dip: &stopped.dip,
            version: stopped.version,
            ended: time(stopped.at),
            seconds: stopped.seconds,
            in_for_seconds: stopped.span.as_ref().map(SpanData::of),
            over_seconds,
            short_seconds,
            still_in: &stopped.still_in,
            then: &stopped.then,
        }
    }
}

#[derive(Serialize)]
struct QuenchedData<'a> {
    format: u32,
    entry: i64,
    bath: i64,
    dip: &'a str,
    day: String,
    reading: &'a str,
    proven: bool,
    ph: Option<f64>,
    who: Option<&'a str>,
    at: Option<String>,
    planned: Option<NeutraliserData<'a>>,
    taken: Vec<DrawData<'a>>,
    proof: Option<&'a str>,
    warnings: &'a [String],
    next_step: &'a str,
}

impl<'a> QuenchedData<'a> {
    fn of(quenched: &'a Quenched) -> Self {
        let what = &quenched.what;
        QuenchedData {
            format: FORMAT,
            entry: quenched.row,
            bath: what.bath,
            dip: &quenched.dip,
            day: quenched.day.to_string(),
            reading: &what.reading,
            proven: what.proven,
            ph: what.ph.map(six),
            who: what.who.as_deref(),
            at: what.at.map(|at| at.to_string()),
            planned: quenched.planned.as_ref().map(NeutraliserData::of),
            taken: quenched.draws.iter().map(DrawData::of).collect(),
            proof: quenched.proof.as_deref(),
            warnings: &quenched.warnings,
            next_step: &quenched.next,
        }
    }
}

#[derive(Serialize)]
struct NotedData<'a> {
    format: u32,
    entry: i64,
    kind: &'a str,
    day: String,
    lot: Option<&'a str>,
    bath: Option<i64>,
    permission: Option<&'a str>,
    done: &'a str,
    warnings: &'a [String],
    next_step: Option<&'a str>,
}

impl<'a> NotedData<'a> {
    fn of(noted: &'a Noted) -> Self {
        NotedData {
            format: FORMAT,
            entry: noted.row,
            kind: noted.kind,
            day: noted.day.to_string(),
            lot: noted.lot.as_deref(),
            bath: noted.bath,
            permission: noted.permission.as_deref(),
            done: &noted.said,
            warnings: &noted.warnings,
            next_step: noted.next.as_deref(),
        }
    }
}

#[derive(Serialize)]
struct WatchedData<'a> {
    format: u32,
    lot: &'a str,
    bath: i64,
    dip: &'a str,
    started: String,
    in_since_seconds: i64,
    in_for_seconds: SpanData,
}

impl<'a> WatchedData<'a> {
    fn of(watched: &'a Watched) -> Self {
        WatchedData {
            format: FORMAT,
            lot: &watched.lot,
            bath: watched.bath,
            dip: &watched.dip,
            started: time(watched.started),
            in_since_seconds: watched.seconds(),
            in_for_seconds: SpanData::of(&watched.span),
        }
    }
}

/// What became of the keeper's own lots.
#[derive(Serialize)]
pub(super) struct OwnData<'a> {
    version: u32,
    kind: Option<&'a str>,
    clear: u32,
    looked: u32,
    low: f64,
    high: f64,
    overrun: u32,
    overrun_clear: u32,
}

impl<'a> OwnData<'a> {
    pub(super) fn of(outcome: &'a Outcome) -> Self {
        OwnData {
            version: outcome.version,
            kind: outcome.kind.as_deref(),
            clear: outcome.clear,
            looked: outcome.looked,
            low: six(outcome.low),
            high: six(outcome.high),
            overrun: outcome.overrun[0],
            overrun_clear: outcome.overrun[1],
        }
    }
}
