//! What a test found, and what a content that was believed to be normal (in its logarithm) becomes by it.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// What a test found, in the unit of the content.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Finding {
    /// A figure: `ln y ~ N(ln C, r²)`.
    Figure {
        /// The content found.
        content: f64,
        /// Relative standard deviation `r`.
        relative_sd: f64,
    },
    /// An interval, as of a colour block: `ln low < ln C + e < ln high`, `e ~ N(0, r²)`.
    Between {
        /// The lower end.
        low: f64,
        /// The upper end; infinite where the scale ended.
        high: f64,
        /// Relative standard deviation `r` of what blurs the ends.
        relative_sd: f64,
    },
}

/// A normal after a test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Seen {
    /// How likely the finding was.
    pub likelihood: f64,
    /// Mean afterwards.
    pub mean: f64,
    /// Variance afterwards.
    pub variance: f64,
    /// The share of an earlier error that is left.
    pub kept: f64,
}

impl Finding {
    /// One content that stands for the finding: the figure, the middle of the interval by logarithm, the bound.
    #[must_use]
    pub fn content(self) -> f64 {
        match self {
            Finding::Figure { content, .. } => content,
            Finding::Between { low: 0.0, high, .. } => high,
            Finding::Between { low, high, .. } if high.is_finite() => libm::sqrt(low * high),
            Finding::Between { low, .. } => low,
        }
    }

    /// The relative standard deviation that stands for the finding: of an interval `hypot(ln(high/low)/sqrt(12), r)`; blocks
    /// 2.5 times apart leave 0.26 by themselves.
    #[must_use]
    pub fn relative_sd(self) -> f64 {
        match self {
            Finding::Figure { relative_sd, .. } => relative_sd,
            Finding::Between { low, high, relative_sd } if low > 0.0 && high.is_finite() => {
                libm::hypot(libm::log(high / low) / libm::sqrt(12.0), relative_sd)
            }
            Finding::Between { relative_sd, .. } => relative_sd,
        }
    }

    /// The same of a content in another unit.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        match self {
            Finding::Figure { content, relative_sd } => Finding::Figure { content: content * factor, relative_sd },
            Finding::Between { low, high, relative_sd } => {
                Finding::Between { low: low * factor, high: high * factor, relative_sd }
            }
        }
    }

    /// The finding with a further independent error, relative.
    #[must_use]
    pub fn blurred(self, more: f64) -> Self {
        match self {
            Finding::Figure { content, relative_sd } => {
                Finding::Figure { content, relative_sd: libm::hypot(relative_sd, more) }
            }
            Finding::Between { low, high, relative_sd } => {
                Finding::Between { low, high, relative_sd: libm::hypot(relative_sd, more) }
            }
        }
    }

    /// How many of its own standard deviations a content lies away from it: above it, negative; an interval has no error
    /// inside.
    #[must_use]
    pub fn away(self, content: f64) -> f64 {
        match self {
            Finding::Figure { content: found, relative_sd } => libm::log(found / content) / relative_sd,
            Finding::Between { low, .. } if content < low => libm::log(low / content) / self.relative_sd(),
            Finding::Between { high, .. } if content > high => libm::log(high / content) / self.relative_sd(),
            Finding::Between { .. } => 0.0,
        }
    }

    /// The same in logarithms, worked out once for many normals.
    pub(super) fn logs(self) -> Logs {
        match self {
            Finding::Figure { content, relative_sd } => {
                let found = libm::log(content);
                Logs { low: found, high: found, noise: relative_sd * relative_sd }
            }
            Finding::Between { low, high, relative_sd } => {
                Logs { low: libm::log(low), high: libm::log(high), noise: relative_sd * relative_sd }
            }
        }
    }
}

/// Standard deviation, in logarithms, of a test that was a slip: a factor of 12 either way in nine cases of ten.
const SLIP_SD: f64 = 1.5;

/// A finding in logarithms: the two ends, which for a figure are one, and the variance of the error.
#[derive(Debug, Clone, Copy)]
pub(super) struct Logs {
    low: f64,
    high: f64,
    noise: f64,
}

impl Logs {
    /// What a normal of this mean and variance becomes.
    ///
    /// With `S = v + r²`: a figure multiplies the weight by the normal density of its surprise and moves the mean by `v/S` of
    /// it. An interval multiplies it by its probability; mean and variance are those of the truncated normal.
    fn seen(self, mean: f64, variance: f64) -> Seen {
        let spread = variance + self.noise;
        let gain = variance / spread;
        if self.low == self.high {
            let surprise = self.low - mean;
            return Seen {
                likelihood: libm::exp(-0.5 * surprise * surprise / spread) / libm::sqrt(2.0 * PI * spread),
                mean: mean + gain * surprise,
                variance: variance * (1.0 - gain),
                kept: 1.0 - gain,
            };
        }
        let sd = libm::sqrt(spread);
        let (a, b) = ((self.low - mean) / sd, (self.high - mean) / sd);
        let probability = probability(a, b);
        if probability < 1e-300 {
            return Seen { likelihood: 0.0, mean, variance, kept: 1.0 };
        }
        let density = |z: f64| libm::exp(-0.5 * z * z) / libm::sqrt(2.0 * PI);
        let weighted = |z: f64| if z.is_finite() { z * density(z) } else { 0.0 };
        let moved = (density(a) - density(b)) / probability;
        let narrower = (1.0 + (weighted(a) - weighted(b)) / probability - moved * moved).clamp(0.0, 1.0);
        Seen {
            likelihood: probability,
            mean: mean + gain * sd * moved,
            variance: variance * (1.0 - gain) + gain * gain * spread * narrower,
            kept: 1.0 - gain * (1.0 - narrower),
        }
    }

    /// As [`Logs::seen`], but with this chance the test was a slip: two normals, weighed by how likely each makes the finding,
    /// as one of the same moments.
    pub(super) fn seen_with_slips(self, mean: f64, variance: f64, slip: f64) -> Seen {
        let good = self.seen(mean, variance);
        // No slip makes a figure likelier than this; where the good test does so a thousand times better, it is none.
        let most = slip / (SLIP_SD * libm::sqrt(2.0 * PI));
        if slip <= 0.0 || good.likelihood > 1e3 * most {
            return Seen { likelihood: (1.0 - slip) * good.likelihood, ..good };
        }
        let slipped = Logs { noise: self.noise + SLIP_SD * SLIP_SD, ..self }.seen(mean, variance);
        let (a, b) = ((1.0 - slip) * good.likelihood, slip * slipped.likelihood);
        if a + b <= 0.0 {
            return good;
        }
        let (a, b) = (a / (a + b), b / (a + b));
        let mixed = a * good.mean + b * slipped.mean;
        let apart = |seen: Seen| seen.variance + (seen.mean - mixed) * (seen.mean - mixed);
        Seen {
            likelihood: (1.0 - slip) * good.likelihood + slip * slipped.likelihood,
            mean: mixed,
            variance: a * apart(good) + b * apart(slipped),
            kept: a * good.kept + b * slipped.kept,
        }
    }

    /// The chances of a finding at least as high and at least as low, for a content with a normal logarithm; of an interval both
    /// are its own chance.
    pub(super) fn tails(self, mean: f64, variance: f64) -> (f64, f64) {
        let sd = libm::sqrt(variance + self.noise);
        let (a, b) = ((self.low - mean) / sd, (self.high - mean) / sd);
        if self.low == self.high {
            return (0.5 * libm::erfc(a * FRAC_1_SQRT_2), 0.5 * libm::erfc(-a * FRAC_1_SQRT_2));
        }
        let own = probability(a, b);
        (own, own)
    }
}

/// The chance that a standard normal lies between two values, without loss of figures in either tail.
fn probability(a: f64, b: f64) -> f64 {
    let above = |z: f64| 0.5 * libm::erfc(z * FRAC_1_SQRT_2);
    if a > 0.0 { above(a) - above(b) } else { above(-b) - above(-a) }
}
