//! What is believed about one bottle: its rate and its content, before and after a test.
//!
//! A grid over the logarithm of the rate, in lanes for what else multiplies it (a change of condition, the light error);
//! for each node the logarithm of the content is normal, so that a test updates it in closed form. Source of the scheme:
//! `facts-posterior`; it is held against an independent brute force in `tests/reference/posterior.py`.

use super::finding::Finding;
pub use super::grid::Window;
use super::grid::{Lane, NEGLIGIBLE, Node, after};
use super::law::{Fallen, Kinetics, LitStretch, NOTHING_LN, RatePart, RatePrior};
use super::light::Fading;
use super::mixture::{Mixture, Part};
use crate::units::estimate::Z_95;

/// Half the width of the first grid in standard deviations.
const REACH: f64 = 5.5;

/// A grid whose weight lies on fewer rates, or fewer light errors, than this is too coarse for what the tests have told.
const FEW: usize = 10;
const FEW_LIGHTS: usize = 7;

/// A node stands for its neighbourhood: its content is at least so wide, in parts of the step to the next node.
const NEIGHBOURHOOD: f64 = 0.3;

/// But never wider than this by that: far down it no longer matters, and a wide log-normal has a long arm upwards.
const WIDEST: f64 = 0.3;

/// Where a node whose light lanes lie far apart is looked at between them, in thirds of their distance.
const BETWEEN_LANES: [f64; 3] = [-1.0, 0.0, 1.0];

/// Points and weights of seven-point Gauss–Hermite quadrature for a standard normal variable.
const HERMITE: [(f64, f64); 7] = [
    (-3.750_439_717_725_742, 0.000_548_268_855_972_218),
    (-2.366_759_410_734_541, 0.030_757_123_967_586_5),
    (-1.154_405_394_739_968, 0.240_123_178_605_012_8),
    (0.0, 0.457_142_857_142_857_1),
    (1.154_405_394_739_968, 0.240_123_178_605_012_8),
    (2.366_759_410_734_541, 0.030_757_123_967_586_5),
    (3.750_439_717_725_742, 0.000_548_268_855_972_218),
];

/// The joint belief about rate and content.
#[derive(Debug, Clone)]
pub struct Belief {
    kinetics: Kinetics,
    /// What is now believed of the rate before any test, part by part.
    parts: Vec<RatePart>,
    lanes: Vec<Lane>,
    /// From lane to lane of the light error; 0 until it has lanes of its own.
    light_step: f64,
    /// Standard deviation of the logarithm of the last light.
    light_sd: f64,
    window: Window,
    evidence_ln: f64,
}

impl Belief {
    /// The belief before anything is known but label and condition.
    ///
    /// The content is log-normal with this mean and standard deviation of its logarithm; a rate prior of width 0, or none,
    /// makes a single node. A window narrows the grid to rates that earlier tests have left.
    #[must_use]
    pub fn new(kinetics: Kinetics, rate: Option<&RatePrior>, content_ln: f64, sd_ln: f64, window: Window) -> Self {
        let node = |rate_ln: f64, weight: f64| Node {
            rate_ln,
            rate: libm::exp(rate_ln),
            weight,
            mean: content_ln,
            variance: sd_ln * sd_ln,
            by_rate: 0.0,
            by_light: 0.0,
        };
        let lane = |part: usize, step: f64, nodes: Vec<Node>| Lane { part, light: 0.0, step, nodes };
        let parts = rate.map_or_else(Vec::new, |rate| rate.parts.clone());
        let lanes = if rate.is_none() {
            vec![lane(0, 0.0, vec![Node { rate: 0.0, ..node(0.0, 1.0) }])]
        } else {
            let grid = |(index, part): (usize, &RatePart)| {
                if part.sd_ln == 0.0 {
                    return lane(index, 0.0, vec![node(part.mean_ln, part.share)]);
                }
                let reach = REACH * part.sd_ln;
                let (low, high) = (window.rates.0.max(part.mean_ln - reach), window.rates.1.min(part.mean_ln + reach));
                let step = (high - low).max(0.0) / (window.points[0] - 1) as f64;
                let density = part.share * step / (part.sd_ln * libm::sqrt(2.0 * std::f64::consts::PI));
                let nodes = (0..window.points[0])
                    .map(|j| {
                        let rate_ln = low + j as f64 * step;
                        let z = (rate_ln - part.mean_ln) / part.sd_ln;
                        node(rate_ln, density * libm::exp(-0.5 * z * z))
                    })
                    .collect();
                lane(index, step, nodes)
            };
            parts.iter().enumerate().map(grid).collect()
        };
        let mut belief = Belief { kinetics, parts, lanes, light_step: 0.0, light_sd: 0.0, window, evidence_ln: 0.0 };
        belief.tidy();
        belief
    }

    /// Lets time pass in the dark, in the unit of the kinetics.
    pub fn age(&mut self, time: f64) {
        let kinetics = self.kinetics;
        for node in self.lanes.iter_mut().flat_map(|lane| &mut lane.nodes) {
            node.take(kinetics.fall(node.mean, node.rate, time));
        }
    }

    /// Lets `tau` years at 20 °C pass in so many `years` of light.
    pub fn fade(&mut self, tau: f64, years: f64, fading: Fading) {
        if self.light_step == 0.0 && !fading.is_faint() {
            self.light_lanes();
        }
        self.light_sd = fading.sd_ln;
        for lane in &mut self.lanes {
            let stretch = LitStretch::new(tau, years, fading, lane.light);
            for node in &mut lane.nodes {
                node.take(stretch.fall(node.mean, node.rate));
            }
        }
    }

    /// Lets a time pass that is itself only known as these values with these weights.
    pub fn age_unsurely(&mut self, times: impl Fn(f64) -> f64) {
        let kinetics = self.kinetics;
        self.split(&HERMITE, |node, _, point| node.take(kinetics.fall(node.mean, node.rate, times(point))));
    }

    /// Takes a test into account and returns its likelihood under the belief held before.
    ///
    /// With this chance the test was a slip (of reading, unit or dilution) and says next to nothing; 0 takes it at its word.
    pub fn observe(&mut self, finding: Finding, slip: f64) -> f64 {
        let logs = finding.logs();
        for node in self.lanes.iter_mut().flat_map(|lane| &mut lane.nodes) {
            let seen = logs.seen_with_slips(node.mean, node.variance, slip);
            node.weight *= seen.likelihood;
            node.mean = seen.mean;
            node.variance = seen.variance;
            node.by_rate *= seen.kept;
            node.by_light *= seen.kept;
        }
        self.tidy()
    }

    /// How likely a test was to find something so far out, under the belief held before it: of a figure the chance of one as high
    /// or of one as low, whichever is less; of an interval its own chance.
    #[must_use]
    pub fn tail(&self, finding: Finding) -> f64 {
        let logs = finding.logs();
        let (above, below) = self.nodes().fold((0.0, 0.0), |(above, below), (_, node)| {
            let (high, low) = logs.tails(node.mean, node.variance);
            (above + node.weight * high, below + node.weight * low)
        });
        above.min(below)
    }

    /// The condition changed to one with this prior: each part's rate is multiplied by a log-normal factor that carries it
    /// there; no bottle becomes slower by it, and none better known.
    ///
    /// Each node becomes seven, at the points and with the weights of Gauss–Hermite quadrature, and keeps its content; then
    /// nodes of nearly one rate and one content are taken together. A window narrows the rates that are followed from here on.
    pub fn worsen(&mut self, next: RatePart, window: Window) {
        let steps: Vec<(f64, f64)> = self
            .parts
            .iter()
            .map(|part| {
                let wider = (next.sd_ln * next.sd_ln - part.sd_ln * part.sd_ln).max(0.0);
                ((next.mean_ln - part.mean_ln).max(0.0), libm::sqrt(wider))
            })
            .collect();
        for part in &mut self.parts {
            part.mean_ln = part.mean_ln.max(next.mean_ln);
            part.sd_ln = part.sd_ln.max(next.sd_ln);
        }
        self.window = window;
        let points = window.points[usize::from(self.light_step > 0.0)];
        for lane in &mut self.lanes {
            let (mean, sd) = steps[lane.part];
            if sd == 0.0 {
                let factor = libm::exp(mean);
                for node in &mut lane.nodes {
                    *node = Node { rate_ln: node.rate_ln + mean, rate: node.rate * factor, ..*node };
                }
                continue;
            }
            let mut nodes = Vec::with_capacity(HERMITE.len() * lane.nodes.len());
            for (point, share) in HERMITE {
                let shift = mean + point * sd;
                let factor = libm::exp(shift);
                nodes.extend(lane.nodes.iter().map(|node| Node {
                    rate_ln: node.rate_ln + shift,
                    rate: node.rate * factor,
                    weight: node.weight * share,
                    ..*node
                }));
            }
            lane.nodes = nodes;
            lane.regrid(points, window.rates);
        }
        self.tidy();
    }

    /// From now on the content falls by other kinetics of the same law.
    pub fn go_on(&mut self, kinetics: Kinetics) {
        self.kinetics = kinetics;
    }

    /// The content is less well known than it was, and by so much smaller: a damp solid.
    pub fn loosen(&mut self, shift_ln: f64, sd_ln: f64) {
        for node in self.lanes.iter_mut().flat_map(|lane| &mut lane.nodes) {
            node.mean += shift_ln;
            node.variance += sd_ln * sd_ln;
        }
    }

    /// No content is above this any more, and one that was is as well known as this is.
    pub fn cap(&mut self, most_ln: f64, sd_ln: f64) {
        for node in self.lanes.iter_mut().flat_map(|lane| &mut lane.nodes).filter(|node| node.mean > most_ln) {
            *node = Node { mean: most_ln, variance: sd_ln * sd_ln, by_rate: 0.0, by_light: 0.0, ..*node };
        }
    }

    /// All that is known of the content is now that it lies between these, nine times in ten.
    pub fn settle_between(&mut self, low_ln: f64, high_ln: f64) {
        let (mean, sd) = (0.5 * (low_ln + high_ln), 0.5 * (high_ln - low_ln) / Z_95);
        for node in self.lanes.iter_mut().flat_map(|lane| &mut lane.nodes) {
            *node = Node { mean, variance: sd * sd, by_rate: 0.0, by_light: 0.0, ..*node };
        }
    }

    /// What is believed of the content alone.
    #[must_use]
    pub fn content(&self) -> Mixture {
        self.contents(self.light_sd, |_| |node: &Node| (node.mean, node.variance, node.by_rate, node.by_light))
    }

    /// What would be believed of the content after some time in the dark.
    #[must_use]
    pub fn content_after(&self, time: f64) -> Mixture {
        self.contents(self.light_sd, |_| |node: &Node| after(node, self.kinetics.fall(node.mean, node.rate, time)))
    }

    /// What would be believed of the content after some time in the light.
    #[must_use]
    pub fn content_faded(&self, tau: f64, years: f64, fading: Fading) -> Mixture {
        if self.light_step == 0.0 && !fading.is_faint() {
            let mut belief = self.clone();
            belief.light_lanes();
            return belief.content_faded(tau, years, fading);
        }
        self.contents(fading.sd_ln, |lane| {
            let stretch = LitStretch::new(tau, years, fading, lane.light);
            move |node: &Node| after(node, stretch.fall(node.mean, node.rate))
        })
    }

    /// What would be believed of the content lost after some time in the dark: of one bottle now and then, not of two.
    #[must_use]
    pub fn lost_after(&self, time: f64) -> Mixture {
        self.losses(self.light_sd, |_| |node: &Node| self.kinetics.fall(node.mean, node.rate, time))
    }

    /// What would be believed of the content lost after some time in the light.
    #[must_use]
    pub fn lost_faded(&self, tau: f64, years: f64, fading: Fading) -> Mixture {
        if self.light_step == 0.0 && !fading.is_faint() {
            let mut belief = self.clone();
            belief.light_lanes();
            return belief.lost_faded(tau, years, fading);
        }
        self.losses(fading.sd_ln, |lane| {
            let stretch = LitStretch::new(tau, years, fading, lane.light);
            move |node: &Node| stretch.fall(node.mean, node.rate)
        })
    }

    /// `of` makes, for each lane, what gives a node's fall.
    fn losses<F>(&self, light_sd: f64, of: impl Fn(&Lane) -> F) -> Mixture
    where
        F: Fn(&Node) -> Fallen,
    {
        let mut parts = Vec::with_capacity(self.lanes.iter().map(|lane| lane.nodes.len()).sum());
        for lane in &self.lanes {
            let of = of(lane);
            for node in &lane.nodes {
                let fallen = of(node);
                let share = -libm::expm1(fallen.ln_content - node.mean);
                if share <= 0.0 {
                    parts.push(Part { weight: node.weight, mean: NOTHING_LN, sd: libm::sqrt(node.variance) });
                    continue;
                }
                // The logarithm of the loss grows with that of the rate and with the light at most one for one, and less and less
                // as all is lost.
                let apart = libm::hypot(lane.step, self.light_step * light_sd);
                let between = (NEIGHBOURHOOD * (1.0 - share) * apart).min(WIDEST);
                let sd = libm::sqrt(node.variance + between * between);
                parts.push(Part { weight: node.weight, mean: node.mean + libm::log(share), sd });
            }
        }
        Mixture::gather(parts)
    }

    /// `of` makes, for each lane, what gives a node's content and its dependence on rate and light.
    fn contents<F>(&self, light_sd: f64, of: impl Fn(&Lane) -> F) -> Mixture
    where
        F: Fn(&Node) -> (f64, f64, f64, f64),
    {
        let mut parts = Vec::with_capacity(self.lanes.iter().map(|lane| lane.nodes.len()).sum());
        for lane in &self.lanes {
            let of = of(lane);
            for node in &lane.nodes {
                let (mean, variance, by_rate, by_light) = of(node);
                let between = by_light * self.light_step / BETWEEN_LANES.len() as f64;
                let (a, b) = (NEIGHBOURHOOD * by_rate * lane.step, NEIGHBOURHOOD * between);
                let sd = libm::sqrt(variance.max((a * a + b * b).min(WIDEST * WIDEST)));
                if between.abs() < sd {
                    parts.push(Part { weight: node.weight, mean, sd });
                    continue;
                }
                // Lanes that lie far apart are filled up between them; a loss grows as the exponential of the light error.
                let weight = node.weight / BETWEEN_LANES.len() as f64;
                parts.extend(BETWEEN_LANES.iter().map(|at| {
                    let shift = at * self.light_step / BETWEEN_LANES.len() as f64;
                    let moved = if light_sd > 0.0 { libm::expm1(light_sd * shift) / light_sd } else { shift };
                    Part { weight, mean: mean + by_light * moved, sd }
                }));
            }
        }
        Mixture::gather(parts)
    }

    /// Mean and standard deviation of the logarithm of the rate.
    #[must_use]
    pub fn rate_ln(&self) -> (f64, f64) {
        self.moments(|node| (node.rate_ln, 0.0))
    }

    /// Mean and standard deviation of the logarithm of the content.
    #[must_use]
    pub fn content_ln(&self) -> (f64, f64) {
        self.moments(|node| (node.mean, node.variance))
    }

    fn moments(&self, of: impl Fn(&Node) -> (f64, f64)) -> (f64, f64) {
        let (mut mean, mut square) = (0.0, 0.0);
        for (_, node) in self.nodes() {
            let (value, variance) = of(node);
            mean += node.weight * value;
            square += node.weight * (value * value + variance);
        }
        (mean, libm::sqrt((square - mean * mean).max(0.0)))
    }

    /// The chance that the bottle belongs to another part of the prior than the first: that it keeps as few do.
    #[must_use]
    pub fn odd(&self) -> f64 {
        self.lanes.iter().filter(|lane| lane.part > 0).flat_map(|lane| &lane.nodes).map(|node| node.weight).sum()
    }

    /// Logarithm of the likelihood of all tests together.
    #[must_use]
    pub fn evidence_ln(&self) -> f64 {
        self.evidence_ln
    }

    /// Where a closer grid should look, if the tests have left too few of this one's points.
    #[must_use]
    pub fn closer(&self) -> Option<Window> {
        let widest = self.lanes.iter().map(|lane| lane.step).fold(0.0, f64::max);
        let rates = self.narrowed(FEW, widest, |_, node| node.rate_ln);
        let lights = self.narrowed(FEW_LIGHTS, self.light_step, |lane, _| lane.light);
        if rates.is_none() && lights.is_none() {
            return None;
        }
        Some(Window {
            rates: rates.unwrap_or(self.window.rates),
            lights: lights.unwrap_or(self.window.lights),
            ..Window::OPEN
        })
    }

    /// Between which values nearly all weight lies, if it lies on fewer than so many of them.
    fn narrowed(&self, few: usize, step: f64, of: impl Fn(&Lane, &Node) -> f64) -> Option<(f64, f64)> {
        if step == 0.0 {
            return None;
        }
        let mut values: Vec<(f64, f64)> = self.nodes().map(|(lane, node)| (of(lane, node), node.weight)).collect();
        // Lane after lane they rise already: the stable sort takes such runs as they are.
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        // The weights of one value, whatever lanes they lie in, are taken together.
        let mut sums: Vec<(f64, f64)> = Vec::new();
        for (value, weight) in values {
            match sums.last_mut() {
                Some((last, sum)) if value - *last < 0.5 * step => *sum += weight,
                _ => sums.push((value, weight)),
            }
        }
        let largest = sums.iter().map(|(_, weight)| *weight).fold(0.0, f64::max);
        if sums.iter().filter(|(_, weight)| *weight > 1e-3 * largest).count() >= few {
            return None;
        }
        let mut left = sums.iter().filter(|(_, weight)| *weight > 1e-5 * largest).map(|(value, _)| *value);
        let low = left.next()?;
        let high = left.next_back().unwrap_or(low);
        Some((low - step, high + step))
    }

    fn nodes(&self) -> impl Iterator<Item = (&Lane, &Node)> {
        self.lanes.iter().flat_map(|lane| lane.nodes.iter().map(move |node| (lane, node)))
    }

    /// Gives the light error lanes of its own.
    fn light_lanes(&mut self) {
        let (low, high) = self.window.lights;
        let [_, rates, count] = self.window.points;
        let step = (high - low) / (count - 1) as f64;
        let density = step / libm::sqrt(2.0 * std::f64::consts::PI);
        let points: Vec<(f64, f64)> =
            (0..count).map(|j| low + j as f64 * step).map(|z| (z, density * libm::exp(-0.5 * z * z))).collect();
        self.light_step = step;
        for lane in &mut self.lanes {
            lane.regrid(rates, self.window.rates);
        }
        self.split(&points, |_, light, point| *light = point);
    }

    /// Makes each lane as many as there are points, with their shares of its weight.
    fn split(&mut self, points: &[(f64, f64)], change: impl Fn(&mut Node, &mut f64, f64)) {
        let mut lanes = Vec::with_capacity(points.len() * self.lanes.len());
        for lane in &self.lanes {
            for (point, share) in points {
                let mut next = lane.clone();
                for node in &mut next.nodes {
                    node.weight *= share;
                    change(node, &mut next.light, *point);
                }
                lanes.push(next);
            }
        }
        self.lanes = lanes;
        self.tidy();
    }

    /// Drops what weighs nothing, makes the weights add to one, and returns what they added to.
    fn tidy(&mut self) -> f64 {
        let largest = self.nodes().map(|(_, node)| node.weight).fold(0.0, f64::max);
        if largest > 0.0 {
            for lane in &mut self.lanes {
                lane.nodes.retain(|node| node.weight > largest * NEGLIGIBLE);
            }
            self.lanes.retain(|lane| !lane.nodes.is_empty());
        } else {
            // A test beyond the reach of every rate: the belief keeps its shape, the contents have moved.
            for node in self.lanes.iter_mut().flat_map(|lane| &mut lane.nodes) {
                node.weight = 1.0;
            }
        }
        let total: f64 = self.nodes().map(|(_, node)| node.weight).sum();
        for node in self.lanes.iter_mut().flat_map(|lane| &mut lane.nodes) {
            node.weight /= total;
        }
        let total = if largest > 0.0 { total } else { 0.0 };
        self.evidence_ln += libm::log(total.max(f64::MIN_POSITIVE));
        total
    }
}
