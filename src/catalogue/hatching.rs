//! How long eggs of water snails take to hatch, and the days on which a lot is looked over because of it.

use serde::Deserialize;

use super::Figure;

/// `hazards/hatching.toml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hatching {
    /// Days after the last bath on which a lot is looked over.
    pub look_on: LookOn,
    /// From which day on a look counts in the keeper's own results, `d`.
    pub counts_after: Figure,
    /// What was published.
    #[serde(rename = "hatching")]
    pub rows: Vec<Hatches>,
}

/// Days after the last bath on which a lot is looked over.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LookOn {
    /// The days, rising.
    pub days: Vec<u16>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What they rest on.
    pub note: String,
}

/// How long the eggs of one animal take.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hatches {
    /// The animal.
    pub animal: String,
    /// Least and most days.
    pub days: [u16; 2],
    /// Water, °C, where it is told.
    #[serde(default)]
    pub at_c: Option<f64>,
    /// What is to be known of it.
    #[serde(default)]
    pub note: Option<String>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

impl Hatching {
    /// The longest published time, days.
    #[must_use]
    pub fn longest(&self) -> u16 {
        self.rows.iter().map(|row| row.days[1]).max().unwrap_or(0)
    }
}
