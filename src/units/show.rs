//! The one place where numbers become text.
//!
//! A number with a band is printed with the fewest figures at which the band shows; one without a band with four.

use super::estimate::Estimate;

/// A number with this many significant figures, without trailing noise and without an exponent.
///
/// `significant(0.00123456, 2)` is `0.0012`, `significant(1234.5, 2)` is `1200`.
#[must_use]
pub fn significant(value: f64, figures: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { "?".to_owned() };
    }
    rounded(value, figures - 1 - magnitude(value, figures))
}

/// The power of ten of the first figure after rounding to `figures`: 9.99 to two figures is 10, power 1.
fn magnitude(value: f64, figures: i32) -> i32 {
    let rounded = format!("{:.*e}", usize::try_from(figures - 1).unwrap_or(0), value.abs());
    rounded.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

/// Four significant figures with trailing zeros after the point removed, for definitions and typed figures.
#[must_use]
pub fn plain(value: f64) -> String {
    let text = significant(value, 4);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A value with its band, with the fewest figures (two to four) at which both ends of the band show: `2.6 (2.4–2.8)`.
///
/// An end that lies on the value itself, as `1.43 (1.43–1.50)` has one, need not show.
#[must_use]
pub fn with_band(estimate: Estimate) -> String {
    for figures in 2..=4 {
        let decimals = figures - 1 - magnitude(estimate.mid, figures);
        let [low, mid, high] = [estimate.low, estimate.mid, estimate.high].map(|value| rounded(value, decimals));
        let shows = |end: f64, text: &String| end == estimate.mid || *text != mid;
        if !estimate.is_exact() && shows(estimate.low, &low) && shows(estimate.high, &high) {
            return format!("{mid} ({low}–{high})");
        }
    }
    plain(estimate.mid)
}

/// The number with this many decimals; a negative count rounds to tens, hundreds and so on.
fn rounded(value: f64, decimals: i32) -> String {
    if decimals >= 0 {
        let places = usize::try_from(decimals.min(12)).unwrap_or(0);
        return format!("{value:.places$}");
    }
    let step = libm::pow(10.0, f64::from(-decimals));
    format!("{:.0}", libm::round(value / step) * step)
}

/// A chance as people say it: whole per cent, never 0 or 100.
#[must_use]
pub fn chance(probability: f64) -> String {
    match probability {
        p if p < 0.005 => "under 1 %".to_owned(),
        p if p > 0.995 => "over 99 %".to_owned(),
        p => format!("{:.0} %", p * 100.0),
    }
}

/// A mass in the unit that reads best.
#[must_use]
pub fn grams(value: f64) -> String {
    match value {
        g if g >= 1000.0 => format!("{} kg", plain(g / 1000.0)),
        g if g >= 0.1 || g == 0.0 => format!("{} g", plain(g)),
        g => format!("{} mg", plain(g * 1000.0)),
    }
}

/// A mass as it is planned with: whole grams, and two figures below ten.
#[must_use]
pub fn planned_grams(value: f64) -> String {
    grams(if value >= 10.0 { libm::round(value) } else { significant(value, 2).parse().unwrap_or(value) })
}

/// A volume in the unit that reads best.
#[must_use]
pub fn millilitres(value: f64) -> String {
    if value >= 1000.0 { format!("{} L", plain(value / 1000.0)) } else { format!("{} mL", plain(value)) }
}

/// An amount given in `g` or `mL`, in the unit that reads best.
#[must_use]
pub fn amount(value: f64, base_unit: &str) -> String {
    if base_unit == "g" { grams(value) } else { millilitres(value) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_follow_the_band() {
        assert_eq!(with_band(Estimate { low: 2.414, mid: 2.6097, high: 2.7822 }), "2.6 (2.4–2.8)");
        assert_eq!(with_band(Estimate { low: 19.79, mid: 19.81, high: 19.83 }), "19.81 (19.79–19.83)");
        assert_eq!(with_band(Estimate { low: 997.0, mid: 1234.5, high: 1500.0 }), "1200 (1000–1500)");
        assert_eq!(with_band(Estimate::exact(19.812_345)), "19.81");
        assert_eq!(with_band(Estimate { low: 1.4286, mid: 1.4286, high: 1.5 }), "1.4 (1.4–1.5)");
    }

    #[test]
    fn rounding_up_to_the_next_power_keeps_the_figures() {
        assert_eq!(significant(9.99, 2), "10");
        assert_eq!(significant(0.00999, 2), "0.010");
        assert_eq!(significant(1249.0, 2), "1200");
    }

    #[test]
    fn a_chance_is_never_certain() {
        assert_eq!(chance(0.0), "under 1 %");
        assert_eq!(chance(1.0), "over 99 %");
        assert_eq!(chance(0.9), "90 %");
    }
}
