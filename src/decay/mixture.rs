//! A distribution of a content: weighted log-normals, their quantiles and chances.

use super::law::NOTHING_LN;

/// How near two parts must be to be taken together, in standard deviations.
const ALIKE: f64 = 0.1;

/// Below this, as a logarithm, a content is as good as nothing: 1e-13 grams in a litre.
const TRACE_LN: f64 = -30.0;

/// A distribution of the logarithm of a content: weighted normals.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    parts: Vec<Part>,
}

/// One of its normals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Its share of the whole.
    pub weight: f64,
    /// Mean of the logarithm.
    pub mean: f64,
    /// Standard deviation of the logarithm.
    pub sd: f64,
}

impl Mixture {
    /// Gathers normals whose weights add to one; those that hardly differ become one of the same moments.
    ///
    /// Alike are those whose means and standard deviations differ by less than a tenth of a standard deviation: a tenth of
    /// the parts remain, and no probability moves by more than 1e-5. Neighbours as they come are merged before the rest is
    /// sorted, because sorting would take longer than all else.
    #[must_use]
    pub fn gather(mut loose: Vec<Part>) -> Self {
        for part in &mut loose {
            part.mean = part.mean.max(NOTHING_LN);
            // What is as good as nothing stays so, however wide the rates made it.
            if part.mean < TRACE_LN {
                part.sd = part.sd.min(-part.mean / 4.0);
            }
        }
        let mut fewer = merged(&loose);
        fewer.sort_unstable_by(|a, b| b.mean.total_cmp(&a.mean));
        Mixture { parts: merged(&fewer) }
    }

    /// A single log-normal.
    #[must_use]
    pub fn log_normal(mean_ln: f64, sd_ln: f64) -> Self {
        Mixture { parts: vec![Part { weight: 1.0, mean: mean_ln, sd: sd_ln }] }
    }

    /// The distribution of a multiple of the content.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        let shift = libm::log(factor);
        Mixture { parts: self.parts.iter().map(|part| Part { mean: part.mean + shift, ..*part }).collect() }
    }

    /// The chance that the content is at least this.
    #[must_use]
    pub fn at_least(&self, content: f64) -> f64 {
        if content <= 0.0 {
            return 1.0;
        }
        1.0 - self.below_ln(libm::log(content), 0.0)
    }

    /// The chance that the content, read with this relative error, lies between two values.
    #[must_use]
    pub fn between(&self, low: f64, high: f64, sd_ln: f64) -> f64 {
        (self.below_ln(libm::log(high), sd_ln) - self.below_ln(libm::log(low), sd_ln)).clamp(0.0, 1.0)
    }

    /// The content that is not reached with this probability.
    #[must_use]
    pub fn quantile(&self, probability: f64) -> f64 {
        let (mut low, mut high) = self.parts.iter().fold((f64::MAX, f64::MIN), |(low, high), part| {
            (low.min(part.mean - 8.0 * part.sd - 1e-12), high.max(part.mean + 8.0 * part.sd + 1e-12))
        });
        // Newton steps, kept inside a bracket that every evaluation narrows.
        let (mean, sd) = self.moments_ln();
        let mut x = mean.clamp(low, high);
        for _ in 0..80 {
            let excess = self.below_ln(x, 0.0) - probability;
            if excess > 0.0 {
                high = x
            } else {
                low = x
            }
            let slope = self.slope_ln(x);
            let next = x - excess / slope;
            let next = if slope > 0.0 && next > low && next < high { next } else { 0.5 * (low + high) };
            if (next - x).abs() < 1e-8 * sd.max(1e-6) {
                return libm::exp(next);
            }
            x = next;
        }
        libm::exp(x)
    }

    /// Mean and standard deviation of the logarithm.
    #[must_use]
    pub fn moments_ln(&self) -> (f64, f64) {
        let mean: f64 = self.parts.iter().map(|part| part.weight * part.mean).sum();
        let variance: f64 = self
            .parts
            .iter()
            .map(|part| part.weight * (part.sd * part.sd + (part.mean - mean) * (part.mean - mean)))
            .sum();
        (mean, libm::sqrt(variance))
    }

    /// Mean and variance of the content itself.
    #[must_use]
    pub fn moments(&self) -> (f64, f64) {
        let (mean, square) = self.parts.iter().fold((0.0, 0.0), |(mean, square), part| {
            let variance = part.sd * part.sd;
            (
                mean + part.weight * libm::exp(part.mean + 0.5 * variance),
                square + part.weight * libm::exp(2.0 * part.mean + 2.0 * variance),
            )
        });
        (mean, (square - mean * mean).max(0.0))
    }

    fn below_ln(&self, x: f64, sd_ln: f64) -> f64 {
        self.parts
            .iter()
            .map(|part| {
                // Both are of ordinary size: the plain root is exact enough, and much quicker than `hypot`.
                let sd = if sd_ln == 0.0 { part.sd } else { libm::sqrt(part.sd * part.sd + sd_ln * sd_ln) };
                let z = (x - part.mean) / sd.max(1e-12);
                // Beyond nine standard deviations the tail is below 1e-18.
                match z {
                    z if z > 9.0 => part.weight,
                    z if z < -9.0 => 0.0,
                    z => part.weight * 0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2),
                }
            })
            .sum()
    }

    fn slope_ln(&self, x: f64) -> f64 {
        self.parts
            .iter()
            .map(|part| {
                let sd = part.sd.max(1e-12);
                let z = (x - part.mean) / sd;
                if z.abs() > 9.0 { 0.0 } else { part.weight * libm::exp(-0.5 * z * z) / sd }
            })
            .sum::<f64>()
            / libm::sqrt(2.0 * std::f64::consts::PI)
    }
}

/// Neighbours that are alike as one.
fn merged(parts: &[Part]) -> Vec<Part> {
    let mut fewer = Vec::new();
    let mut rest = parts;
    while let Some(first) = rest.first() {
        let alike = |part: &Part| {
            (part.mean - first.mean).abs() <= ALIKE * first.sd && (part.sd - first.sd).abs() <= ALIKE * first.sd
        };
        let count = rest.iter().take_while(|part| alike(part)).count().max(1);
        let (group, behind) = rest.split_at(count);
        let weight: f64 = group.iter().map(|part| part.weight).sum();
        let mean = group.iter().map(|part| part.weight * part.mean).sum::<f64>() / weight;
        let square = |part: &Part| part.sd * part.sd + (part.mean - mean) * (part.mean - mean);
        let variance = group.iter().map(|part| part.weight * square(part)).sum::<f64>() / weight;
        fewer.push(Part { weight, mean, sd: libm::sqrt(variance) });
        rest = behind;
    }
    fewer
}
