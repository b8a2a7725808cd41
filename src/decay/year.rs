//! What the days of a place's year add up to: worked out once for a season and a law, then two look-ups a stretch.

use std::cell::RefCell;
use std::rc::Rc;

use chrono::{Datelike, NaiveDate};

use super::climate::Season;
use super::law::hypochlorite_warmth;
use super::warmth::speed;
use crate::units::{MolarEnergy, Temperature};

/// What a temperature does to a rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pace {
    /// Times that of 20 °C, by an activation energy.
    Arrhenius(MolarEnergy),
    /// The second-order rate of hypochlorite without its salt.
    Hypochlorite,
}

impl Pace {
    /// At a temperature.
    #[must_use]
    pub fn at(self, temperature: Temperature) -> f64 {
        match self {
            Pace::Arrhenius(activation) => speed(activation, temperature),
            Pace::Hypochlorite => hypochlorite_warmth(temperature),
        }
    }
}

/// The days of a leap year.
const DAYS: usize = 366;

/// More seasons and laws than a shelf has together; then those that are kept are let go.
const KEPT: usize = 64;

/// A season and a law with what the days add up to.
type Kept = (Season, Pace, Rc<Year>);

thread_local! {
    static YEARS: RefCell<Vec<Kept>> = const { RefCell::new(Vec::new()) };
}

/// What the days before each day of a year add up to; a season knows a day by its number in the year alone.
#[derive(Debug)]
struct Year([f64; DAYS + 1]);

impl Year {
    fn of(season: Season, pace: Pace) -> Rc<Year> {
        YEARS.with_borrow_mut(|kept| {
            if let Some((_, _, year)) = kept.iter().find(|(known, law, _)| *known == season && *law == pace) {
                return Rc::clone(year);
            }
            let mut sums = [0.0; DAYS + 1];
            for day in 0..DAYS {
                sums[day + 1] = sums[day] + pace.at(season.on_number(day as u32));
            }
            if kept.len() == KEPT {
                kept.clear();
            }
            let year = Rc::new(Year(sums));
            kept.push((season, pace, Rc::clone(&year)));
            year
        })
    }

    fn before(&self, day: NaiveDate) -> f64 {
        self.0[day.ordinal0() as usize]
    }

    fn whole(&self, year: i32) -> f64 {
        let leap = NaiveDate::from_yo_opt(year, DAYS as u32).is_some();
        self.0[if leap { DAYS } else { DAYS - 1 }]
    }
}

/// Adds up a season's days from one date to another.
///
/// The same as day by day but for rounding: the sums before two days of a year are taken from each other, and whole years
/// are added; 1 March to 1 September at 1 a day is 184.
#[must_use]
pub fn sum(season: Season, pace: Pace, from: NaiveDate, to: NaiveDate) -> f64 {
    if to <= from {
        return 0.0;
    }
    let year = Year::of(season, pace);
    let years = (from.year()..to.year()).map(|number| year.whole(number)).sum::<f64>();
    years + (year.before(to) - year.before(from))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_is_the_sum_of_its_days() {
        let season =
            Season::Cosine { summer: Temperature::celsius(24.0), winter: Temperature::celsius(4.0), warmest_month: 8 };
        let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
        for pace in [Pace::Arrhenius(MolarEnergy::kj_per_mol(70.0)), Pace::Hypochlorite] {
            for (from, to) in [
                (day(2027, 3, 1), day(2027, 9, 1)),
                (day(2027, 12, 31), day(2028, 1, 1)),
                (day(2027, 7, 15), day(2033, 2, 3)),
                (day(2028, 2, 28), day(2028, 12, 31)),
                (day(2028, 12, 31), day(2029, 3, 1)),
            ] {
                let days = (to - from).num_days() as usize;
                let one_by_one: f64 = from.iter_days().take(days).map(|day| pace.at(season.on(day))).sum();
                let found = sum(season, pace, from, to);
                assert!((found / one_by_one - 1.0).abs() < 1e-12, "{from} to {to}: {found}, {one_by_one}");
            }
            assert_eq!(sum(season, pace, day(2028, 1, 2), day(2028, 1, 2)), 0.0);
            assert_eq!(sum(season, pace, day(2028, 1, 2), day(2027, 1, 2)), 0.0);
        }
    }
}
