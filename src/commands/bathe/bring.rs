//! What is told when plants go in: how long, what then, when to look.

use chrono::{NaiveDateTime, TimeDelta};

use super::draw::Draw;
use super::watch::Watched;
use crate::catalogue::{After, Bathed, Dip};
use crate::commands::{Problem, Session};
use crate::dip::Verdict;
use crate::dip::log::book::LoadOf;
use crate::dip::log::countdown::Span;
use crate::dip::log::look::{LookDay, looking_days};
use crate::dip::stop::Stopping;
use crate::units::{Volume, show};

/// Plants that went in.
#[derive(Debug, Clone)]
pub struct Went {
    /// The load, as it stands in the book.
    pub load: LoadOf,
    /// How much there is of the bath.
    pub volume: Volume,
    /// The vessel, if one was named.
    pub vessel: Option<String>,
    /// What the shelf could do for it; nothing for a further load and where it was said what was taken.
    pub verdict: Option<Verdict>,
    /// The chance that it landed in its band.
    pub chance: Option<f64>,
    /// What was taken from the stocks.
    pub draws: Vec<Draw>,
    /// How long it is to be in.
    pub span: Span,
    /// When it comes out.
    pub out_from: NaiveDateTime,
    /// When it must be out.
    pub out_by: NaiveDateTime,
    /// What is done then, in order.
    pub then: Vec<String>,
    /// Key of the neutraliser and grams to plan with, where the bath must be ended.
    pub neutraliser: Option<(String, f64)>,
    /// When the lot is to be looked over.
    pub looks: Vec<LookDay>,
    /// What to mind.
    pub warnings: Vec<String>,
    /// What is watched once this is printed.
    pub watch: Option<Watched>,
}

impl Went {
    /// What follows from a load and its dip.
    ///
    /// # Errors
    /// If watching was asked for and the load went in on another day than the clock's.
    pub(super) fn of(
        session: &Session,
        load: LoadOf,
        dip: &Dip,
        volume: Volume,
        stopping: Option<&Stopping>,
        is_watched: bool,
    ) -> Result<Went, Problem> {
        let span = Span::minutes(dip.minutes.low, dip.minutes.high);
        let at = load.load.at;
        let [out_from, out_by] = [span.low, span.high].map(|seconds| at + TimeDelta::seconds(seconds));
        let looks = match dip.bathed {
            Bathed::Plants => looking_days(session.catalogue.hatching(), dip.look_days(), out_from.date(), false),
            Bathed::Gear | Bathed::Tank => Vec::new(),
        };
        let neutraliser = stopping.map(|stopping| (stopping.neutraliser.clone(), stopping.planned.to_g()));
        let watch = is_watched.then(|| Watched::of(session, &load, span)).transpose()?;
        let then = then(dip, &load, volume, neutraliser.as_ref());
        Ok(Went {
            load,
            volume,
            vessel: None,
            verdict: None,
            chance: None,
            draws: Vec::new(),
            span,
            out_from,
            out_by,
            then,
            neutraliser,
            looks,
            warnings: Vec::new(),
            watch,
        })
    }
}

/// What is done once the plants come out, in order.
fn then(dip: &Dip, load: &LoadOf, volume: Volume, neutraliser: Option<&(String, f64)>) -> Vec<String> {
    let mut then = vec![format!("take it out: `brimstock bathe stop {}`", quoted(&load.load.lot))];
    let rinsed = dip.steps.iter().any(|step| matches!(step, After::Rinse(_)));
    if dip.bathed == Bathed::Plants && !rinsed {
        then.push("rinse the plants in clean water".to_owned());
    }
    for step in &dip.steps {
        then.push(match step {
            After::Dip(next) => format!("then the dip `{next}`"),
            After::Rinse(1) => "rinse the plants once in clean water".to_owned(),
            After::Rinse(times) => format!("rinse the plants {times} times in clean water, fresh each time"),
            After::Quench => "a bath with a little of the neutraliser, for what the plants carry along".to_owned(),
            After::Hold(days) => format!("keep them apart from everything else for {days} days"),
            After::Look(_) => continue,
        });
    }
    match neutraliser {
        Some((key, grams)) => then.push(format!(
            "after the last load end the bath: {} of {key} are planned, and `brimstock quench {} --bath {} --with {key}` tells how, and how to thin it first where it is too strong; then `brimstock bathe quench {} --reading …`",
            show::planned_grams(*grams),
            load.dip,
            show::millilitres(volume.to_ml()).replace(' ', ""),
            load.bath
        )),
        None => then.push(format!("after the last load: `brimstock bathe drain {} --into …`", load.bath)),
    }
    then
}

/// A lot as it is typed: in quotes where it has spaces.
pub(super) fn quoted(lot: &str) -> String {
    if lot.contains(' ') { format!("\"{lot}\"") } else { lot.to_owned() }
}
