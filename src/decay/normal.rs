//! The normal distribution by a table: a chance and a density cost a dozen multiplications, not two exponentials.

use std::sync::OnceLock;

/// So many standard deviations from the middle the tail is below 1e-18: nothing.
pub(super) const ENDS: f64 = 9.0;

/// From node to node of the table, in parts of a standard deviation.
const A_STANDARD_DEVIATION: f64 = 32.0;

/// The nodes from the middle to the end, both included.
const NODES: usize = 289;

/// The lower half of the distribution: `[chance of less, density]` at 0, -1/32, -2/32 ... standard deviations.
#[derive(Debug)]
pub(super) struct Normal([[f64; 2]; NODES]);

impl Normal {
    /// The table, made when it is first asked for.
    pub(super) fn table() -> &'static Normal {
        static TABLE: OnceLock<Normal> = OnceLock::new();
        TABLE.get_or_init(|| {
            Normal(std::array::from_fn(|node| {
                let z = node as f64 / A_STANDARD_DEVIATION;
                let density = libm::exp(-0.5 * z * z) / libm::sqrt(2.0 * std::f64::consts::PI);
                [0.5 * libm::erfc(z * std::f64::consts::FRAC_1_SQRT_2), density]
            }))
        })
    }

    /// The chance that a standard normal lies below, and its density there.
    ///
    /// From the nearest node on by the series of Taylor, whose terms are the polynomials of Hermite: five terms of the chance are
    /// exact to 1e-13, those of the density to 1e-9. Below -1.96 lie 0.0249979, and the density there is 0.0584409.
    ///
    /// Source: `definition`.
    #[inline]
    pub(super) fn at(&self, z: f64) -> (f64, f64) {
        // No number is the end of its side.
        let low = (-z.abs()).max(-ENDS);
        let node = ((0.5 - low * A_STANDARD_DEVIATION) as usize).min(NODES - 1);
        let [chance, density] = self.0[node];
        let z0 = -(node as f64) / A_STANDARD_DEVIATION;
        let h = low - z0;
        let squared = z0 * z0;
        let (two, three, four) = (squared - 1.0, z0 * (squared - 3.0), squared * (squared - 6.0) + 3.0);
        let below =
            chance + density * h * (1.0 - h * (z0 / 2.0 - h * (two / 6.0 - h * (three / 24.0 - h * (four / 120.0)))));
        let here = density * (1.0 - h * (z0 - h * (two / 2.0 - h * (three / 6.0 - h * (four / 24.0)))));
        (if z > 0.0 { 1.0 - below } else { below }, here)
    }

    /// The chance alone.
    #[inline]
    pub(super) fn below(&self, z: f64) -> f64 {
        self.at(z).0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_as_exact_as_the_error_function() {
        let table = Normal::table();
        for step in -9100..=9100_i32 {
            let z = f64::from(step) * 0.001 + 0.000_37;
            let exact = 0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2);
            let (below, density) = table.at(z);
            assert!((below - exact).abs() < 2e-13, "{z}: {below} {exact}");
            let bell = libm::exp(-0.5 * z * z) / libm::sqrt(2.0 * std::f64::consts::PI);
            assert!((density - bell).abs() < 1e-9, "{z}: {density} {bell}");
        }
        assert_eq!(table.below(f64::INFINITY), 1.0);
        assert!(table.below(f64::NEG_INFINITY) < 1e-18);
    }
}
