//! One step of a number: what was done and what stands behind it.

/// What was done, the key of the source behind it, and the figure that came in or out, where there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// A sentence with the numbers in it.
    pub what: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// The figure with its unit.
    pub value: Option<(f64, String)>,
}

impl Step {
    /// A step.
    #[must_use]
    pub fn new(what: impl Into<String>, source: impl Into<String>) -> Self {
        Step { what: what.into(), source: source.into(), value: None }
    }

    /// The same with its figure.
    #[must_use]
    pub fn of(mut self, value: f64, unit: impl Into<String>) -> Self {
        self.value = Some((value, unit.into()));
        self
    }
}
