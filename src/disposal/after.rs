//! What may be done with a bath once it is ended: what the keeper was told by whoever decides, or to ask first.

use chrono::NaiveDate;

use super::local::{Drain, Local, Taker};
use crate::catalogue::{Neutralise, SewerExample};
use crate::units::show::plain;

/// A limit that what is left over is held against.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// The most, mg/L.
    pub mg_per_l: f64,
    /// Whose it is.
    pub whose: String,
    /// True for a limit of some other place, told to show how low they can be: no rule for the keeper.
    pub example: bool,
    /// True if what may be left over is above it.
    pub exceeded: bool,
}

/// The limit for what is left of a neutraliser: the keeper's own where one was recorded, else a published one as an example.
///
/// Source: the keeper's file; `american-canyon-code` for the example.
#[must_use]
pub fn limit(local: &Local, neutralise: &Neutralise, neutraliser: &str, left_mg_per_l: f64) -> Option<Limit> {
    let recorded = local.drains.iter().find(|drain| drain.reagent == neutraliser && drain.most_mg_per_l.is_some());
    let of = |mg_per_l: f64, whose: String, example: bool| Limit {
        mg_per_l,
        whose,
        example,
        exceeded: left_mg_per_l > mg_per_l * (1.0 + 1e-9),
    };
    match recorded.and_then(|drain| Some((drain, drain.most_mg_per_l?))) {
        Some((drain, most)) => Some(of(most, format!("{}, {}", drain.asked.whom, drain.asked.on), false)),
        None => {
            let concerns = |row: &&SewerExample| row.reagents.iter().any(|key| key == neutraliser);
            let row = neutralise.sewer_examples.iter().find(concerns)?;
            Some(of(row.limit.value, format!("{} ({})", row.place, row.what), true))
        }
    }
}

/// How the bath stands that is to leave.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// Ended, or with nothing in it that could be: it makes no gas.
    Ended,
    /// Ended by standing: what is left of it may still make gas.
    Stood,
    /// Not ended, or never for a drain.
    AsItIs,
}

/// What may be done with it. A drain is named only where the keeper has recorded who was asked and what was answered, and
/// never for a bath that was not ended. An answer that is too old, or of a day to come, is marked.
///
/// Source: the keeper's file; `septic-pages` for what is never done.
#[must_use]
pub fn after(
    local: &Local,
    class: &str,
    reagent: &str,
    neutraliser: Option<&str>,
    stands: Stands,
    day: NaiveDate,
) -> Vec<String> {
    let mut lines = Vec::new();
    let record = record(local, class, reagent, neutraliser);
    let taker = taker(&record, day);
    let keep = match stands {
        Stands::Ended => "keep it closed in a bucket",
        Stands::Stood => "keep it in its tub under a loose lid",
        Stands::AsItIs => {
            lines.push(format!(
                "no drain, whatever was answered: keep it apart and labelled, under a loose lid; the plan ends at {taker}"
            ));
            lines.push(NEVER.to_owned());
            return lines;
        }
    };
    if record.answers.is_empty() {
        lines.push(format!(
            "no answer on record: {keep} and ask the water or sewer company, or whoever looks after the drains; the plan ends at {taker}"
        ));
        lines.push("write whom you asked, when, and what was answered into local.toml beside the register".to_owned());
    } else {
        lines.extend(record.answers.iter().map(|drain| told(drain, day)));
        if record.answers.iter().any(|drain| !drain.allowed) {
            lines.push(format!("where it is not allowed, {keep}; the plan ends at {taker}"));
        }
    }
    lines.push(NEVER.to_owned());
    lines
}

/// What is on record about a bath that is to leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Record<'a> {
    /// What was answered about a drain for what the bath was made from, then for the neutraliser left in it. None where
    /// nothing was answered about the first, whatever is known of the other.
    pub answers: Vec<&'a Drain>,
    /// Who takes what is not poured away.
    pub taker: Option<&'a Taker>,
}

/// Looks it up.
///
/// Source: the keeper's file.
#[must_use]
pub fn record<'a>(local: &'a Local, class: &'a str, reagent: &str, neutraliser: Option<&str>) -> Record<'a> {
    let of = |key: &str| -> Vec<&'a Drain> { local.drains.iter().filter(|drain| drain.reagent == key).collect() };
    let mut answers = of(reagent);
    if !answers.is_empty() {
        answers.extend(neutraliser.map(of).unwrap_or_default());
    }
    Record { answers, taker: local.takers(class).next() }
}

const NEVER: &str = "never to a septic tank, soakaway, storm drain, pond or garden";

/// What was answered, by whom and when.
fn told(drain: &Drain, day: NaiveDate) -> String {
    let may = if drain.allowed { "allowed" } else { "not allowed" };
    let most = drain.most_mg_per_l.map_or(String::new(), |most| format!(", at most {} mg/L of it left", plain(most)));
    let answer = drain.asked.answer.as_deref().map_or(String::new(), |answer| format!(": \"{answer}\""));
    let (asked, under, again) = (&drain.asked, drain.asked.under(), drain.asked.check(day));
    format!("{}, into {}: {may}{most}; {} on {}{under}{answer}{again}", drain.reagent, drain.into, asked.whom, asked.on)
}

/// Who takes what is not poured away.
fn taker(record: &Record<'_>, day: NaiveDate) -> String {
    match record.taker {
        Some(taker) => {
            let ways = [&taker.days, &taker.how, &taker.phone].into_iter().flatten();
            let ways: String = ways.map(|way| format!(", {way}")).collect();
            format!("{}{ways}{}", taker.who, taker.asked.check(day))
        }
        None => "the household hazardous-waste site".to_owned(),
    }
}

/// How what is left over lies to its limit, in a sentence.
#[must_use]
pub fn against(limit: &Limit) -> String {
    let side = if limit.exceeded { "above" } else { "within" };
    let most = plain(limit.mg_per_l);
    if limit.example {
        format!("{side} the {most} mg/L of {}, an example of one place and not your rule", limit.whose)
    } else {
        format!("{side} the {most} mg/L on record ({})", limit.whose)
    }
}
