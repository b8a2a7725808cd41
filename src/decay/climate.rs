//! How warm a place is: through the year as the keeper says, on single days as a logger says.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{Datelike, NaiveDate};

use super::warmth::temperature_of_speed;
use super::year::{self, Pace};
use crate::units::{MolarEnergy, Temperature};

/// Mean of a cosine over the quarter of the year around its top: `sin(pi/4) / (pi/4)`.
const QUARTER_MEAN: f64 = 0.900_316_316_157_106;

/// The temperature of a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// What the keeper says of it.
    pub season: Season,
    /// What a logger says, day by day; it goes before what the keeper says.
    pub logged: Option<Arc<BTreeMap<NaiveDate, LoggedDay>>>,
}

/// The temperature through the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Season {
    /// The same all year.
    Constant(Temperature),
    /// A cosine over the year.
    Cosine {
        /// Mean of the warmest quarter.
        summer: Temperature,
        /// Mean of the coldest quarter.
        winter: Temperature,
        /// The warmest month, 1 to 12; the top is in its middle.
        warmest_month: u32,
    },
}

/// A day of a logger's readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoggedDay {
    /// How many readings.
    pub readings: u32,
    /// Their mean, °C.
    pub mean_c: f64,
    /// Their standard deviation, °C.
    pub sd_c: f64,
    /// The lowest, °C.
    pub low_c: f64,
    /// The highest, °C.
    pub high_c: f64,
}

impl Season {
    /// The mean temperature of a day.
    ///
    /// Cosine: `T = (s + w)/2 + (s - w)/2 / 0.9003 × cos(2 pi (d - d0) / 365.25)`, so that the warmest and the coldest
    /// quarter have the means `s` and `w`. With 20 and 10 °C, mid July (month 7) is 20.55 °C.
    ///
    /// Source: `definition`.
    #[must_use]
    pub fn on(self, day: NaiveDate) -> Temperature {
        self.on_number(day.ordinal0())
    }

    /// The same of the day with this number in its year, from 0.
    pub(super) fn on_number(self, day: u32) -> Temperature {
        match self {
            Season::Constant(temperature) => temperature,
            Season::Cosine { summer, winter, warmest_month } => {
                let (summer, winter) = (summer.to_celsius(), winter.to_celsius());
                let top = (f64::from(warmest_month) - 0.5) * 365.25 / 12.0;
                let turn = (f64::from(day) + 0.5 - top) / 365.25;
                let swing = 0.5 * (summer - winter) / QUARTER_MEAN;
                let cosine = libm::cos(2.0 * std::f64::consts::PI * turn);
                Temperature::celsius(0.5 * (summer + winter) + swing * cosine)
            }
        }
    }
}

impl Climate {
    /// The same temperature all year.
    #[must_use]
    pub fn constant(temperature: Temperature) -> Self {
        Climate { season: Season::Constant(temperature), logged: None }
    }

    /// Adds up a speed over the days from one date to another.
    ///
    /// A logged day counts as half a day one standard deviation above its mean and half a day below it, which has the same
    /// mean and spread; any other as its season says. 20 °C with a daily swing of 8 °C (Ea 83.144) counts as 21.64 °C; the
    /// exact figure is 21.66.
    #[must_use]
    pub fn sum(&self, from: NaiveDate, to: NaiveDate, speed: impl Fn(Temperature) -> f64) -> f64 {
        let days = usize::try_from((to - from).num_days()).unwrap_or(0);
        let logged = self.logged.as_ref().filter(|logged| from < to && logged.range(from..to).next().is_some());
        match (logged, self.season) {
            (None, Season::Constant(temperature)) => days as f64 * speed(temperature),
            (None, season) => from.iter_days().take(days).map(|day| speed(season.on(day))).sum(),
            (Some(logged), season) => from
                .iter_days()
                .take(days)
                .map(|day| match logged.get(&day) {
                    Some(LoggedDay { mean_c, sd_c, .. }) => {
                        0.5 * (speed(Temperature::celsius(mean_c + sd_c)) + speed(Temperature::celsius(mean_c - sd_c)))
                    }
                    None => speed(season.on(day)),
                })
                .sum(),
        }
    }

    /// The same of a law's pace: where nothing is logged, without going from day to day.
    #[must_use]
    pub fn sum_of(&self, from: NaiveDate, to: NaiveDate, pace: Pace) -> f64 {
        let logged = self.logged.as_ref().is_some_and(|logged| from < to && logged.range(from..to).next().is_some());
        match self.season {
            season @ Season::Cosine { .. } if !logged => year::sum(season, pace, from, to),
            _ => self.sum(from, to, |temperature| pace.at(temperature)),
        }
    }

    /// The lowest temperature from one date to another, both ends included: a logger's lowest where it has the day.
    #[must_use]
    pub fn coldest(&self, from: NaiveDate, to: NaiveDate) -> Temperature {
        if let (Season::Constant(temperature), None) = (self.season, &self.logged) {
            return temperature;
        }
        let on = |day: NaiveDate| match self.logged.as_ref().and_then(|logged| logged.get(&day)) {
            Some(logged) => Temperature::celsius(logged.low_c),
            None => self.season.on(day),
        };
        from.iter_days().take_while(|day| *day <= to).map(on).fold(on(to), |a, b| if b < a { b } else { a })
    }

    /// The highest temperature from one date to another, both ends included: a logger's highest where it has the day.
    #[must_use]
    pub fn warmest(&self, from: NaiveDate, to: NaiveDate) -> Temperature {
        if let (Season::Constant(temperature), None) = (self.season, &self.logged) {
            return temperature;
        }
        let on = |day: NaiveDate| match self.logged.as_ref().and_then(|logged| logged.get(&day)) {
            Some(logged) => Temperature::celsius(logged.high_c),
            None => self.season.on(day),
        };
        from.iter_days().take_while(|day| *day <= to).map(on).fold(on(to), |a, b| if b > a { b } else { a })
    }

    /// The one temperature that would have the same effect from one date to another: the mean kinetic temperature.
    ///
    /// Of no days it is what the season says of the first day.
    ///
    /// Source: `usp-1160`.
    #[must_use]
    pub fn mean_kinetic(&self, activation: MolarEnergy, from: NaiveDate, to: NaiveDate) -> Temperature {
        let days = (to - from).num_days();
        if days < 1 {
            return self.season.on(from);
        }
        let mean = self.sum_of(from, to, Pace::Arrhenius(activation)) / days as f64;
        temperature_of_speed(activation, mean)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_warmest_quarter_has_the_summer_mean() {
        let season =
            Season::Cosine { summer: Temperature::celsius(24.0), winter: Temperature::celsius(10.0), warmest_month: 7 };
        let first = NaiveDate::from_ymd_opt(2031, 6, 1).unwrap();
        let quarter: f64 = first.iter_days().take(91).map(|day| season.on(day).to_celsius()).sum::<f64>() / 91.0;
        assert!((quarter - 24.0).abs() < 0.05, "{quarter}");
    }
}
