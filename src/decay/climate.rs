//! How warm a place is through the year.

use chrono::{Datelike, NaiveDate};

use crate::units::Temperature;

/// Mean of a cosine over the quarter of the year around its top: `sin(pi/4) / (pi/4)`.
const QUARTER_MEAN: f64 = 0.900_316_316_157_106;

/// The temperature of a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Climate {
    /// The same all year.
    Constant(Temperature),
    /// A cosine over the year.
    Seasonal {
        /// Mean of the warmest quarter.
        summer: Temperature,
        /// Mean of the coldest quarter.
        winter: Temperature,
        /// The warmest month, 1 to 12; the top is in its middle.
        warmest_month: u32,
    },
}

impl Climate {
    /// The mean temperature of a day.
    ///
    /// Seasonal: `T = (s + w)/2 + (s - w)/2 / 0.9003 × cos(2 pi (d - d0) / 365.25)`, so that the warmest and the coldest
    /// quarter have the means `s` and `w`. With 20 and 10 °C, mid July (month 7) is 20.55 °C.
    ///
    /// Source: `definition`.
    #[must_use]
    pub fn on(self, day: NaiveDate) -> Temperature {
        match self {
            Climate::Constant(temperature) => temperature,
            Climate::Seasonal { summer, winter, warmest_month } => {
                let (summer, winter) = (summer.to_celsius(), winter.to_celsius());
                let top = (f64::from(warmest_month) - 0.5) * 365.25 / 12.0;
                let turn = (f64::from(day.ordinal0()) + 0.5 - top) / 365.25;
                let swing = 0.5 * (summer - winter) / QUARTER_MEAN;
                let cosine = libm::cos(2.0 * std::f64::consts::PI * turn);
                Temperature::celsius(0.5 * (summer + winter) + swing * cosine)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_warmest_quarter_has_the_summer_mean() {
        let climate = Climate::Seasonal {
            summer: Temperature::celsius(24.0),
            winter: Temperature::celsius(10.0),
            warmest_month: 7,
        };
        let middle = NaiveDate::from_ymd_opt(2031, 7, 16).unwrap();
        let quarter: f64 = (-45..=45)
            .map(|d| {
                climate
                    .on(middle + chrono::Days::new(45) - chrono::Days::new(u64::try_from(d + 45).unwrap()))
                    .to_celsius()
            })
            .sum::<f64>()
            / 91.0;
        assert!((quarter - 24.0).abs() < 0.05, "{quarter}");
    }
}
