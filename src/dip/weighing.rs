//! What several weighings of one measure tell: how much it holds, and how alike two fillings are.

/// How much a measure holds, and how far one filling may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Holds {
    /// The mean of the weighings.
    pub mean: f64,
    /// Relative standard deviation of that mean: the same in every filling.
    pub mean_sd: f64,
    /// Relative standard deviation of a single filling about it.
    pub once_sd: f64,
}

impl Holds {
    /// What was said and not weighed: all of its error is the same in every filling.
    #[must_use]
    pub fn said(value: f64, relative_sd: f64) -> Self {
        Holds { mean: value, mean_sd: relative_sd, once_sd: 0.0 }
    }

    /// From weighings of single fillings, at least one.
    ///
    /// The spread on file counts as one more observation: `s² = (s0² + sum (x / mean - 1)²) / n`, and `s / sqrt(n)` for the
    /// mean. One weighing so has the spread on file, and three equal ones are not called exact. Spoons of 13.5, 13.8 and
    /// 14.1 g, 0.08 on file: mean 13.8 g, `s² = (0.0064 + 2 × 0.000473) / 3`, s = 0.0495, of the mean 0.0286.
    ///
    /// Source: `judgement` (the spread on file as one observation); else arithmetic. The scale's own error is left out: a
    /// kitchen scale knows a spoon better than a hand levels it.
    #[must_use]
    pub fn weighed(weighings: &[f64], spread_on_file: f64) -> Self {
        let count = weighings.iter().fold(0.0, |count, _| count + 1.0);
        let mean = weighings.iter().sum::<f64>() / count;
        let squares: f64 = weighings.iter().map(|x| (x / mean - 1.0) * (x / mean - 1.0)).sum();
        let once_sd = libm::sqrt((spread_on_file * spread_on_file + squares) / count);
        Holds { mean, mean_sd: once_sd / libm::sqrt(count), once_sd }
    }

    /// The same in another unit.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Holds { mean: self.mean * factor, ..self }
    }

    /// With an error of its own that is the same in every filling, such as that of a density.
    #[must_use]
    pub fn with(self, relative_sd: f64) -> Self {
        Holds { mean_sd: libm::hypot(self.mean_sd, relative_sd), ..self }
    }

    /// Relative standard deviation of what so many fillings bring together: `sqrt(mean² + once² / n)`.
    ///
    /// Once weighed with 0.08, one spoon: `0.08 sqrt(2)` = 0.113; four: `0.08 sqrt(1.25)` = 0.089.
    ///
    /// Source: arithmetic.
    #[must_use]
    pub fn relative_sd(self, fillings: f64) -> f64 {
        libm::sqrt(self.mean_sd * self.mean_sd + self.once_sd * self.once_sd / fillings)
    }
}
