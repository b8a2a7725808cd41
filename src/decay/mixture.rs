//! A distribution of a content: weighted log-normals, their quantiles and chances.

use super::law::NOTHING_LN;
use super::normal::{ENDS, Normal};

/// How near two parts must be to be taken together, in standard deviations.
const ALIKE: f64 = 0.1;

/// How near the means of parts must be where only the rough shape matters, in standard deviations of the whole; or how little
/// they must weigh together.
const NEAR: f64 = 0.125;
const LIGHT: f64 = 0.02;

/// So many standard deviations from the middle hardly anything is left, in what is a chance and no content.
const FAR: f64 = 7.0;

/// No part is narrower than this, as a standard deviation.
const LEAST_SD: f64 = 1e-12;

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
        let mut fewer = merged(&loose, hardly_differ);
        fewer.sort_unstable_by(|a, b| b.mean.total_cmp(&a.mean));
        Mixture { parts: merged(&fewer, hardly_differ) }
    }

    /// Nearly the same of some fifty parts: to find out where a chance is greatest, not how great it is.
    ///
    /// Neighbours whose means differ by less than an eighth of the whole's standard deviation, or that weigh less than a fiftieth
    /// together, become one of the same moments.
    #[must_use]
    pub fn roughly(&self) -> Self {
        let near = NEAR * self.moments_ln().1;
        Mixture {
            parts: merged(&self.parts, |first, part, weight| (part.mean - first.mean).abs() <= near || weight <= LIGHT),
        }
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
        1.0 - self.below_and_slope(libm::log(content)).0
    }

    /// The chance that the content, read with this relative error, lies between two values.
    #[must_use]
    pub fn between(&self, low: f64, high: f64, sd_ln: f64) -> f64 {
        let normal = Normal::table();
        let (low, high) = (libm::log(low), libm::log(high));
        let chance = |part: &Part| {
            // Both are of ordinary size: the plain root is exact enough, and much quicker than `hypot`.
            let sd = libm::sqrt(part.sd * part.sd + sd_ln * sd_ln).max(LEAST_SD);
            let [low, high] = [low, high].map(|end| (end - part.mean) / sd);
            match (low, high) {
                // All of it lies on one side of the band, or as good as all in it: less than 3e-12 is left out.
                (low, high) if low > FAR || high < -FAR => 0.0,
                (low, high) if low < -FAR && high > FAR => part.weight,
                (low, high) => part.weight * (normal.below(high) - normal.below(low)),
            }
        };
        self.parts.iter().map(chance).sum::<f64>().clamp(0.0, 1.0)
    }

    /// The content that is not reached with this probability.
    #[must_use]
    pub fn quantile(&self, probability: f64) -> f64 {
        let (mut low, mut high) = self.parts.iter().fold((f64::MAX, f64::MIN), |(low, high), part| {
            (low.min(part.mean - 8.0 * part.sd - 1e-12), high.max(part.mean + 8.0 * part.sd + 1e-12))
        });
        // Newton steps, kept inside a bracket that every evaluation narrows; the first guess is that of a single normal, by a
        // distribution of Tukey's that has nearly its shape.
        let (mean, sd) = self.moments_ln();
        let guess = 4.91 * (libm::pow(probability, 0.14) - libm::pow(1.0 - probability, 0.14));
        let mut x = (mean + guess * sd).clamp(low, high);
        for _ in 0..80 {
            let (below, slope) = self.below_and_slope(x);
            let excess = below - probability;
            if excess > 0.0 {
                high = x
            } else {
                low = x
            }
            let next = x - excess / slope;
            let straight = slope > 0.0 && next > low && next < high;
            let next = if straight { next } else { 0.5 * (low + high) };
            // What is wrong after a Newton step is as the square of that step.
            let near = if straight { 1e-6 } else { 1e-8 };
            if (next - x).abs() < near * sd.max(1e-6) {
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

    /// The chance of a logarithm below this, and how it grows there.
    fn below_and_slope(&self, x: f64) -> (f64, f64) {
        let normal = Normal::table();
        self.parts.iter().fold((0.0, 0.0), |(below, slope), part| {
            let sd = part.sd.max(LEAST_SD);
            let z = (x - part.mean) / sd;
            match z {
                z if z > ENDS => (below + part.weight, slope),
                z if z < -ENDS => (below, slope),
                z => {
                    let (chance, density) = normal.at(z);
                    (below + part.weight * chance, slope + part.weight * density / sd)
                }
            }
        })
    }
}

fn hardly_differ(first: &Part, part: &Part, _: f64) -> bool {
    (part.mean - first.mean).abs() <= ALIKE * first.sd && (part.sd - first.sd).abs() <= ALIKE * first.sd
}

/// Neighbours that are alike as one: told so of the first of them, another, and what all up to that weigh.
fn merged(parts: &[Part], alike: impl Fn(&Part, &Part, f64) -> bool) -> Vec<Part> {
    let mut fewer = Vec::new();
    let mut rest = parts;
    while let Some(first) = rest.first() {
        let mut weight = 0.0;
        let is_alike = |part: &&Part| {
            weight += part.weight;
            alike(first, part, weight)
        };
        let count = rest.iter().take_while(is_alike).count().max(1);
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
