//! Where the values of a chart lie: round steps, days, and labels that stand clear of each other. Shared by every drawing
//! of a strength over time.

use chrono::{Datelike, NaiveDate};

use crate::commands::chart::Chart;
use crate::units::estimate::Estimate;

/// About so many steps from nought to the top.
const STEPS: f64 = 5.0;

/// Months between two marks of the time axis.
const MONTHS: [i32; 9] = [1, 2, 3, 6, 12, 24, 60, 120, 240];

/// The two axes of a chart: days across, strengths upwards from nought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// The first day.
    pub first: NaiveDate,
    /// The last day.
    pub last: NaiveDate,
    /// Between two marks of the strength axis, in the chart's unit: 1, 2 or 5 times a power of ten.
    pub step: f64,
    /// The upper end of the strength axis: a whole number of steps.
    pub top: f64,
}

impl Scale {
    /// The axes that hold a chart's band and tests; nothing for a chart without a day of which anything is known.
    #[must_use]
    pub fn of(chart: &Chart) -> Option<Scale> {
        let ((first, _), (last, _)) = (chart.band.first()?, chart.band.last()?);
        let shown = |(_, estimate): &(NaiveDate, Estimate)| estimate.high;
        let highest = chart.band.iter().chain(&chart.tests).map(shown).fold(0.0, f64::max);
        let step = round_step(highest / STEPS);
        let top = step * libm::ceil(highest * 1.02 / step).max(1.0);
        Some(Scale { first: *first, last: *last, step, top })
    }

    /// Where a day lies, 0 at the first and 1 at the last.
    #[must_use]
    pub fn across(&self, day: NaiveDate) -> f64 {
        (day - self.first).num_days() as f64 / (self.last - self.first).num_days().max(1) as f64
    }

    /// Where a strength lies, 0 at nought and 1 at the top; what lies beyond is put at the edge.
    #[must_use]
    pub fn up(&self, value: f64) -> f64 {
        (value / self.top).clamp(0.0, 1.0)
    }

    /// The marks of the strength axis, from nought to the top, in the chart's unit.
    pub fn values(&self) -> impl Iterator<Item = f64> + use<> {
        let step = self.step;
        (0..=libm::round(self.top / step) as u32).map(move |at| f64::from(at) * step)
    }

    /// The marks of the time axis, at most so many: first days of months that are a round number of months apart.
    #[must_use]
    pub fn days(&self, most: usize) -> Vec<NaiveDate> {
        let every = |months: i32| -> Vec<NaiveDate> {
            let from = self.first.year() * 12 + self.first.month0() as i32;
            let to = self.last.year() * 12 + self.last.month0() as i32;
            (from..=to)
                .filter(|month| month.rem_euclid(months) == 0)
                .filter_map(|month| NaiveDate::from_ymd_opt(month.div_euclid(12), month.rem_euclid(12) as u32 + 1, 1))
                .filter(|day| (self.first..=self.last).contains(day))
                .collect()
        };
        MONTHS.into_iter().map(every).find(|days| days.len() <= most).unwrap_or_default()
    }
}

/// 1, 2 or 5 times a power of ten, at least this.
fn round_step(least: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(least.max(1e-12))));
    [1.0, 2.0, 5.0].into_iter().map(|figure| figure * power).find(|step| *step >= least).unwrap_or(10.0 * power)
}

/// Places for labels that want to stand at rising places, each at least `apart` from the next and all between `low` and
/// `high`: as near to where they want to be as that allows. Any length, all in the same.
///
/// Labels that would touch are taken as one block that stands at the mean of what its members want. Where there is no room
/// for all of them they stand evenly, and touch.
#[must_use]
pub fn spread(wanted: &[f64], apart: f64, low: f64, high: f64) -> Vec<f64> {
    let gaps = wanted.len().saturating_sub(1) as f64;
    let apart = if gaps > 0.0 { apart.min((high - low) / gaps) } else { apart };
    // With the distances taken off, standing clear of each other is the same as not falling: blocks are pooled until none does.
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    for (at, wanted) in wanted.iter().enumerate() {
        let mut block = (wanted - at as f64 * apart, 1);
        while let Some((mean, many)) = blocks.last().copied().filter(|(mean, _)| *mean > block.0) {
            blocks.pop();
            let together = many + block.1;
            block = ((mean * many as f64 + block.0 * block.1 as f64) / together as f64, together);
        }
        blocks.push(block);
    }
    let highest = (high - gaps * apart).max(low);
    let means = blocks.into_iter().flat_map(|(mean, many)| std::iter::repeat_n(mean, many));
    means.enumerate().map(|(at, mean)| mean.clamp(low, highest) + at as f64 * apart).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn labels_stand_clear_and_near() {
        assert_eq!(spread(&[10.0, 30.0], 5.0, 0.0, 100.0), [10.0, 30.0], "those that are clear stay");
        assert_eq!(spread(&[10.0, 11.0], 5.0, 0.0, 100.0), [8.0, 13.0], "two that touch part evenly");
        assert_eq!(spread(&[1.0, 1.0, 1.0], 5.0, 0.0, 100.0), [0.0, 5.0, 10.0], "the edge holds");
        assert_eq!(spread(&[99.0, 99.5], 5.0, 0.0, 100.0), [95.0, 100.0]);
        assert_eq!(spread(&[3.0, 4.0, 5.0], 50.0, 0.0, 60.0), [0.0, 30.0, 60.0], "no room: evenly");
        assert_eq!(spread(&[], 5.0, 0.0, 60.0), [0.0; 0]);
    }

    #[test]
    fn marks_are_round_and_few() {
        let scale = Scale { first: day("2030-12-01"), last: day("2032-06-10"), step: 0.5, top: 2.0 };
        assert_eq!(scale.values().collect::<Vec<_>>(), [0.0, 0.5, 1.0, 1.5, 2.0]);
        let days = scale.days(5);
        assert_eq!(days, ["2031-01-01", "2031-07-01", "2032-01-01"].map(day));
        assert_eq!(scale.days(19).len(), 19, "every month from December to June of the year after next");
        assert_eq!(scale.days(0), [] as [NaiveDate; 0]);
    }

    #[test]
    fn a_step_is_the_next_round_number() {
        let steps = [0.011, 0.02, 0.3, 5.1].map(round_step);
        for (step, wanted) in steps.into_iter().zip([0.02, 0.02, 0.5, 10.0]) {
            assert!((step / wanted - 1.0).abs() < 1e-12, "{step}");
        }
    }
}
