//! One step of a number: what was done, and what stands behind it.

/// A line of `--why`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// What was done, with its figures.
    pub what: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

impl Step {
    /// A step with the key of its source.
    #[must_use]
    pub fn new(what: impl Into<String>, source: impl Into<String>) -> Self {
        Step { what: what.into(), source: source.into() }
    }
}
