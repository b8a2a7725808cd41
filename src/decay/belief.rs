//! What is believed about one bottle: its rate and its content, before and after a test.
//!
//! A grid over the logarithm of the rate; for each rate the logarithm of the content is normal, so that a test updates it
//! in closed form. Source of the scheme: `facts-posterior` (checked against a two-dimensional grid to 1e-5).

use super::law::{Kinetics, RatePrior};

/// Half the width of the first grid in standard deviations, and its number of points.
const REACH: f64 = 6.0;
const POINTS: usize = 201;

/// How near two nodes' contents must be to be taken together, in standard deviations.
const ALIKE: f64 = 0.1;

/// Points and weights of five-point Gauss–Hermite quadrature for a standard normal variable.
const HERMITE: [(f64, f64); 5] = [
    (-2.856_970_013_872_805_6, 0.011_257_411_327_720_7),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (2.856_970_013_872_805_6, 0.011_257_411_327_720_7),
];

/// Weights below this share of the largest are dropped.
const NEGLIGIBLE: f64 = 1e-9;

/// The joint belief about rate and content.
#[derive(Debug, Clone)]
pub struct Belief {
    kinetics: Kinetics,
    nodes: Vec<Node>,
}

#[derive(Debug, Clone, Copy)]
struct Node {
    /// Logarithm of the rate.
    rate_ln: f64,
    /// The rate.
    rate: f64,
    weight: f64,
    /// Mean and variance of the logarithm of the content at this rate.
    mean: f64,
    variance: f64,
}

impl Belief {
    /// The belief before anything is known but label and condition.
    ///
    /// The rate is log-normal, the content log-normal with this mean and standard deviation of its logarithm. A rate prior
    /// of width 0, or none, makes a single node.
    #[must_use]
    pub fn new(kinetics: Kinetics, rate: Option<RatePrior>, content_ln: f64, sd_ln: f64) -> Self {
        let node = |rate_ln: f64, weight: f64| Node {
            rate_ln,
            rate: libm::exp(rate_ln),
            weight,
            mean: content_ln,
            variance: sd_ln * sd_ln,
        };
        match rate {
            None => Belief { kinetics, nodes: vec![Node { rate: 0.0, ..node(0.0, 1.0) }] },
            Some(prior) if prior.sd_ln == 0.0 => Belief { kinetics, nodes: vec![node(prior.mean_ln, 1.0)] },
            Some(prior) => {
                let last = (POINTS - 1) as f64;
                let nodes = (0..POINTS)
                    .map(|j| {
                        let z = (2.0 * j as f64 / last - 1.0) * REACH;
                        node(prior.mean_ln + z * prior.sd_ln, libm::exp(-0.5 * z * z))
                    })
                    .collect();
                let mut belief = Belief { kinetics, nodes };
                belief.tidy();
                belief
            }
        }
    }

    /// Lets time pass, in the unit of the kinetics.
    pub fn age(&mut self, time: f64) {
        for node in &mut self.nodes {
            let (mean, shrink) = self.kinetics.fall(node.mean, node.rate, time);
            node.mean = mean;
            node.variance *= shrink * shrink;
        }
    }

    /// Takes a test into account and returns its likelihood under the belief held before.
    ///
    /// `ln y ~ N(ln C, r²)`: with `S = v + r²`, each rate's weight gains `exp(-(ln y - m)²/2S) / sqrt(S)`, and its content
    /// moves by `K = v/S` of the surprise.
    pub fn observe(&mut self, found_ln: f64, relative_sd: f64) -> f64 {
        let noise = relative_sd * relative_sd;
        for node in &mut self.nodes {
            let surprise = found_ln - node.mean;
            let spread = node.variance + noise;
            node.weight *=
                libm::exp(-0.5 * surprise * surprise / spread) / libm::sqrt(2.0 * std::f64::consts::PI * spread);
            let gain = node.variance / spread;
            node.mean += gain * surprise;
            node.variance *= 1.0 - gain;
        }
        self.tidy()
    }

    /// The condition changed: the rate is multiplied by a log-normal factor of this mean and sd of its logarithm.
    ///
    /// Each node becomes five, at the points and with the weights of Gauss–Hermite quadrature, and keeps its content: a worn
    /// bottle's content has a long tail that no single normal could stand for.
    pub fn worsen(&mut self, mean_ln: f64, sd_ln: f64) {
        let single = [(0.0, 1.0)];
        let points = if sd_ln == 0.0 { &single[..] } else { &HERMITE[..] };
        let mut nodes = Vec::with_capacity(points.len() * self.nodes.len());
        for (point, share) in points {
            let shift = mean_ln + point * sd_ln;
            let factor = libm::exp(shift);
            nodes.extend(self.nodes.iter().map(|node| Node {
                rate_ln: node.rate_ln + shift,
                rate: node.rate * factor,
                weight: node.weight * share,
                ..*node
            }));
        }
        self.nodes = nodes;
        self.tidy();
    }

    /// What is believed of the content alone.
    ///
    /// Neighbours whose contents differ by less than a tenth of their standard deviation become one normal of the same
    /// moments: a tenth of the nodes, and no probability moves by more than 1e-6.
    #[must_use]
    pub fn content(&self) -> Mixture {
        let mut nodes = self.nodes.clone();
        nodes.sort_by(|a, b| b.mean.total_cmp(&a.mean));
        let mut parts = Vec::new();
        let mut rest = &nodes[..];
        while let Some(first) = rest.first() {
            let sd = libm::sqrt(first.variance);
            let alike = |node: &Node| {
                (node.mean - first.mean).abs() <= ALIKE * sd && (libm::sqrt(node.variance) - sd).abs() <= ALIKE * sd
            };
            let count = rest.iter().take_while(|node| alike(node)).count().max(1);
            let (group, behind) = rest.split_at(count);
            let weight: f64 = group.iter().map(|node| node.weight).sum();
            let mean = group.iter().map(|node| node.weight * node.mean).sum::<f64>() / weight;
            let variance = group
                .iter()
                .map(|node| node.weight * (node.variance + (node.mean - mean) * (node.mean - mean)))
                .sum::<f64>()
                / weight;
            parts.push(Part { weight, mean, sd: libm::sqrt(variance) });
            rest = behind;
        }
        Mixture { parts }
    }

    /// Mean and standard deviation of the logarithm of the rate.
    #[must_use]
    pub fn rate_ln(&self) -> (f64, f64) {
        let mean: f64 = self.nodes.iter().map(|node| node.weight * node.rate_ln).sum();
        let square: f64 =
            self.nodes.iter().map(|node| node.weight * (node.rate_ln - mean) * (node.rate_ln - mean)).sum();
        (mean, libm::sqrt(square))
    }

    /// Drops what weighs nothing, makes the weights add to one, and returns what they added to.
    fn tidy(&mut self) -> f64 {
        let largest = self.nodes.iter().map(|node| node.weight).fold(0.0, f64::max);
        if largest > 0.0 {
            self.nodes.retain(|node| node.weight > largest * NEGLIGIBLE);
        } else {
            // A test beyond the reach of every rate: the belief keeps its shape, the contents have moved.
            for node in &mut self.nodes {
                node.weight = 1.0;
            }
        }
        let total: f64 = self.nodes.iter().map(|node| node.weight).sum();
        for node in &mut self.nodes {
            node.weight /= total;
        }
        if largest > 0.0 { total } else { 0.0 }
    }
}

/// A distribution of the logarithm of a content: weighted normals.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    parts: Vec<Part>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Part {
    weight: f64,
    mean: f64,
    sd: f64,
}

impl Mixture {
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
