//! The grid that a belief lies on: nodes of one rate, lanes of one light error, and where to look closer.

use super::law::Fallen;

/// Half the width of the light error's lanes in standard deviations.
const LIGHT_REACH: f64 = 3.2;

/// How near the contents of nodes of one rate must be to be taken together, in standard deviations.
const ALIKE: f64 = 0.5;

/// Weights below this share of the largest are dropped.
pub(super) const NEGLIGIBLE: f64 = 1e-6;

/// Nodes that differ by their rate alone.
#[derive(Debug, Clone)]
pub(super) struct Lane {
    /// The part of the prior that it belongs to.
    pub(super) part: usize,
    /// Its light error, in standard deviations.
    pub(super) light: f64,
    /// From node to node, in the logarithm of the rate.
    pub(super) step: f64,
    pub(super) nodes: Vec<Node>,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    /// Logarithm of the rate.
    pub(super) rate_ln: f64,
    /// The rate.
    pub(super) rate: f64,
    pub(super) weight: f64,
    /// Mean and variance of the logarithm of the content at this rate.
    pub(super) mean: f64,
    pub(super) variance: f64,
    /// What the mean gains for a unit more of the rate's logarithm, and for a standard deviation more of light.
    pub(super) by_rate: f64,
    pub(super) by_light: f64,
}

impl Node {
    /// What time or light has left of its content.
    pub(super) fn take(&mut self, fallen: Fallen) {
        self.mean = fallen.ln_content;
        self.variance *= fallen.shrink * fallen.shrink;
        self.by_rate = self.by_rate * fallen.shrink + fallen.by_rate;
        self.by_light = self.by_light * fallen.shrink + fallen.by_light;
    }
}

/// The stretches of rates and of light errors that a closer grid should look at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    pub(super) rates: (f64, f64),
    pub(super) lights: (f64, f64),
    /// How many rates, how many beside light lanes, and how many light lanes.
    pub(super) points: [usize; 3],
}

impl Window {
    /// Every rate, but only these light errors: for a grid whose rates will still change.
    #[must_use]
    pub fn of_lights(self) -> Self {
        Window { rates: Self::OPEN.rates, ..self }
    }

    /// All there are.
    pub const OPEN: Window = Window {
        rates: (f64::NEG_INFINITY, f64::INFINITY),
        lights: (-LIGHT_REACH, LIGHT_REACH),
        points: [121, 49, 11],
    };

    /// All there are, on a coarse grid: to find out where a closer one should look.
    pub const COARSE: Window = Window { points: [61, 25, 7], ..Self::OPEN };
}

/// A node's content and its dependence on rate and light after a fall.
pub(super) fn after(node: &Node, fallen: Fallen) -> (f64, f64, f64, f64) {
    (
        fallen.ln_content,
        node.variance * fallen.shrink * fallen.shrink,
        node.by_rate * fallen.shrink + fallen.by_rate,
        node.by_light * fallen.shrink + fallen.by_light,
    )
}

impl Lane {
    /// Takes nodes of nearly one rate together, where their contents are alike, so that about so many rates remain.
    pub(super) fn regrid(&mut self, points: usize, window: (f64, f64)) {
        if self.nodes.len() <= points {
            return;
        }
        self.nodes.retain(|node| node.rate_ln >= window.0 && node.rate_ln <= window.1);
        let largest = self.nodes.iter().map(|node| node.weight).fold(0.0, f64::max);
        self.nodes.retain(|node| node.weight > largest * NEGLIGIBLE);
        let (low, high) = self
            .nodes
            .iter()
            .fold((f64::MAX, f64::MIN), |(low, high), node| (low.min(node.rate_ln), high.max(node.rate_ln)));
        self.step = (high - low) / (points - 1) as f64;
        let bin = |node: &Node| (libm::round((node.rate_ln - low) / self.step.max(1e-12)) as usize).min(points - 1);
        let binned = in_bins(&self.nodes, points, bin);
        let mut nodes: Vec<Node> = Vec::with_capacity(2 * points);
        for in_bin in binned.chunk_by(|(one, _), (other, _)| one == other) {
            let mut rest = in_bin;
            while let Some((_, first)) = rest.first() {
                let sd = libm::sqrt(first.variance);
                // The standard deviations differ by no more than ALIKE of the first.
                let [narrowest, widest] = [1.0 - ALIKE, 1.0 + ALIKE].map(|part| part * part * first.variance);
                let alike = |(_, node): &(usize, Node)| {
                    (node.mean - first.mean).abs() <= ALIKE * sd
                        && node.variance >= narrowest
                        && node.variance <= widest
                };
                let count = rest.iter().take_while(|member| alike(member)).count().max(1);
                let (group, behind) = rest.split_at(count);
                nodes.push(Node::of(group));
                rest = behind;
            }
        }
        self.nodes = nodes;
    }
}

/// Nodes by their bins, those of one bin from the largest content down: counted into place, which sorts but few at a time.
fn in_bins(nodes: &[Node], bins: usize, bin: impl Fn(&Node) -> usize) -> Vec<(usize, Node)> {
    let Some(any) = nodes.first() else { return Vec::new() };
    let mut next = vec![0; bins + 1];
    let found: Vec<usize> = nodes.iter().map(bin).collect();
    found.iter().for_each(|bin| next[bin + 1] += 1);
    (0..bins).for_each(|bin| next[bin + 1] += next[bin]);
    let mut binned = vec![(0, *any); nodes.len()];
    for (node, bin) in nodes.iter().zip(found) {
        binned[next[bin]] = (bin, *node);
        next[bin] += 1;
    }
    let mut from = 0;
    for until in next.into_iter().take(bins) {
        binned[from..until].sort_unstable_by(|(_, one), (_, other)| other.mean.total_cmp(&one.mean));
        from = until;
    }
    binned
}

impl Node {
    /// Nodes as one of the same moments.
    fn of(group: &[(usize, Node)]) -> Node {
        if let [(_, alone)] = group {
            return *alone;
        }
        let weight: f64 = group.iter().map(|(_, node)| node.weight).sum();
        let mean_of = |of: fn(&Node) -> f64| group.iter().map(|(_, node)| node.weight * of(node)).sum::<f64>() / weight;
        let mean = mean_of(|node| node.mean);
        let square = mean_of(|node| node.variance + node.mean * node.mean);
        let rate_ln = mean_of(|node| node.rate_ln);
        Node {
            rate_ln,
            rate: libm::exp(rate_ln),
            weight,
            mean,
            variance: (square - mean * mean).max(group[0].1.variance),
            by_rate: mean_of(|node| node.by_rate),
            by_light: mean_of(|node| node.by_light),
        }
    }
}
