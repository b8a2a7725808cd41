//! A value with its band, and how bands combine.

/// The 95 % point of the standard normal distribution.
pub const Z_95: f64 = 1.644_853_626_951_472_2;

/// A positive value with the limits between which it lies in nine cases of ten (5 and 95 %).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// 5 % limit.
    pub low: f64,
    /// Median.
    pub mid: f64,
    /// 95 % limit.
    pub high: f64,
}

impl Estimate {
    /// A value without a band: a definition, or a figure that is taken as it stands.
    #[must_use]
    pub fn exact(value: f64) -> Self {
        Estimate { low: value, mid: value, high: value }
    }

    /// A value whose natural logarithm has this standard deviation.
    ///
    /// `low = mid exp(-1.645 sd)`, `high = mid exp(1.645 sd)`: 4.77 with sd 0.10 lies in 4.05 to 5.62.
    #[must_use]
    pub fn log_normal(mid: f64, sd_ln: f64) -> Self {
        let factor = libm::exp(Z_95 * sd_ln);
        Estimate { low: mid / factor, mid, high: mid * factor }
    }

    /// True if the value has no band.
    #[must_use]
    pub fn is_exact(self) -> bool {
        self.low == self.high
    }

    /// The same in another unit.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Estimate { low: self.low * factor, mid: self.mid * factor, high: self.high * factor }
    }

    /// The product with an independent factor of median one: squared distances of the logarithms add.
    #[must_use]
    pub fn spread(self, sd_ln: f64) -> Self {
        if sd_ln == 0.0 || self.mid <= 0.0 {
            return self;
        }
        let widen = |distance: f64| libm::exp(libm::hypot(distance, Z_95 * sd_ln));
        Estimate {
            low: self.mid / widen(libm::log(self.mid / self.low)),
            mid: self.mid,
            high: self.mid * widen(libm::log(self.high / self.mid)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_spreads_add_like_pythagoras() {
        let once = Estimate::exact(10.0).spread(0.3).spread(0.4);
        let at_once = Estimate::log_normal(10.0, 0.5);
        assert!((once.low - at_once.low).abs() < 1e-12 && (once.high - at_once.high).abs() < 1e-12);
    }
}
