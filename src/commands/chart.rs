//! A stock's strength over time, as it was known on each day and as it is expected to go on.

use chrono::{Days, NaiveDate};

use super::dose::bath_for;
use super::sight::Sight;
use super::{Problem, Session};
use crate::catalogue::{Dip, Form};
use crate::decay::finding::Finding;
use crate::decay::posterior::{Standing, estimate};
use crate::register::checkpoint::Journal;
use crate::register::place::Place;
use crate::units::Volume;
use crate::units::estimate::{Estimate, Z_95};

/// How many days are looked at, before and after the day of the question.
const POINTS: i64 = 36;

/// How far ahead a chart goes: as far as it goes back, but not less or more than these days.
const AHEAD: std::ops::RangeInclusive<i64> = 90..=730;

/// A strength over time, in the stock's usual unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// The unit.
    pub unit: String,
    /// The day of the question.
    pub today: NaiveDate,
    /// Days with the band, rising; a day without an estimate has none.
    pub band: Vec<(NaiveDate, Estimate)>,
    /// Tests: the day and the band of what they found.
    pub tests: Vec<(NaiveDate, Estimate)>,
    /// What the bottle must hold at least for a dip in the bath asked for: the dip's name and the strength.
    pub limits: Vec<(String, f64)>,
}

/// Draws up the figures.
///
/// Days before the day of the question show what was known on that day; later tests do not reach back. A limit is what the
/// rest of the bottle must hold so that it makes the bath: `max(low, low × bath / left)`.
///
/// The journal is the whole one: the past is drawn too.
///
/// # Errors
/// If a strength cannot be converted.
pub fn chart(
    session: &Session,
    places: &[Place],
    (sight, journal): (&Sight<'_>, &Journal),
    dips: &[&Dip],
    bath: Volume,
) -> Result<Chart, Problem> {
    let (came, today) = (sight.state.received, session.day);
    let back = (today - came).num_days();
    let ahead = back.clamp(*AHEAD.start(), *AHEAD.end());
    let mut days: Vec<NaiveDate> = (0..=POINTS).map(|j| came + chrono::Duration::days(back * j / POINTS)).collect();
    days.extend(sight.history.assays.iter().map(|assay| assay.day));
    days.sort_unstable();
    days.dedup();
    let mut band = Vec::new();
    let mut unit = sight.state.label.unit.clone();
    let mut push = |day: NaiveDate, content: Estimate| -> Result<(), Problem> {
        let usual = sight.usual(content)?;
        unit = usual.unit;
        band.push((day, usual.estimate));
        Ok(())
    };
    for day in days {
        let then = Sight::of(session, sight.stock.clone(), journal.clone(), places, day)?;
        if let Some(Standing::Known(known)) = then.map(|then| then.standing) {
            push(day, known.estimate())?;
        }
    }
    if let Standing::Known(known) = &sight.standing {
        for j in 1..=POINTS {
            let day = today + Days::new(u64::try_from(ahead * j / POINTS).unwrap_or(0));
            push(day, estimate(&known.later(day)))?;
        }
    }
    let mut tests = Vec::new();
    for assay in &sight.history.assays {
        let content = found_band(assay.finding);
        tests.push((assay.day, sight.usual(content)?.estimate));
    }
    let mut limits = Vec::new();
    for dip in dips.iter().filter(|_| sight.stock.form == Form::Solution) {
        let low = bath_for(session, dip, bath, 0.5)?.goal.low.to_g_per_l();
        let left_l = sight.state.left / 1000.0;
        if left_l > 0.0 {
            let needed = (low * bath.to_l() / left_l).max(low);
            // What lies beyond all tables lies beyond the chart.
            let usual = sight.usual(Estimate::exact(needed))?;
            if usual.unit == unit {
                limits.push((dip.key.clone(), usual.estimate.mid));
            }
        }
    }
    limits.sort_by(|a, b| a.1.total_cmp(&b.1));
    Ok(Chart { unit, today, band, tests, limits })
}

/// What a test found, with its own band; of an interval its ends.
#[must_use]
pub fn found_band(finding: Finding) -> Estimate {
    match finding {
        Finding::Figure { content, relative_sd } => Estimate::log_normal(content, relative_sd),
        Finding::Between { low, high, .. } if high.is_finite() => Estimate { low, mid: finding.content(), high },
        Finding::Between { low, relative_sd, .. } => {
            Estimate { low, mid: low, high: low * libm::exp(Z_95 * relative_sd) }
        }
    }
}
