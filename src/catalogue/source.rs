//! Where figures come from, and how they are written beside each other.

use serde::{Deserialize, Serialize};

/// Where a figure comes from.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// What sort of thing it is.
    pub kind: SourceKind,
    /// Author, title and year, enough to find it again.
    pub title: String,
    /// Page, table or section.
    #[serde(default)]
    pub place: Option<String>,
    /// How we had it.
    pub seen: Seen,
}

/// What sort of thing a source is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SourceKind {
    /// A paper, thesis or report.
    Paper,
    /// A handbook or a data collection.
    Handbook,
    /// A standard, pharmacopoeia or regulation.
    Standard,
    /// A definition or arithmetic on other entries.
    Definition,
    /// A public page without an author we could weigh.
    Page,
    /// A rule of the trade without source.
    Practice,
    /// What the keeper says.
    Keeper,
    /// Our own choice.
    Judgement,
    /// Recalled, not seen.
    Memory,
}

/// How a source was had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// The text or file was read.
    Read,
    /// Quoted by something that was read.
    Quoted,
    /// Computed here.
    Computed,
    /// Recalled, not seen.
    Recalled,
    /// Chosen here, or told without source.
    Judged,
}

impl Seen {
    /// The word printed: `found`, `computed`, `recalled` or `judged`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Seen::Read | Seen::Quoted => "found",
            Seen::Computed => "computed",
            Seen::Recalled => "recalled",
            Seen::Judged => "judged",
        }
    }
}

impl Source {
    /// The mark printed beside a figure that nobody here has read: `memory`, `judgement`, `common practice` or `keeper's own`.
    #[must_use]
    pub fn mark(&self) -> Option<&'static str> {
        match self.kind {
            SourceKind::Memory => Some("memory"),
            SourceKind::Judgement => Some("judgement"),
            SourceKind::Practice => Some("common practice"),
            SourceKind::Keeper => Some("keeper's own"),
            _ => None,
        }
    }
}

/// A word or a formula with its source.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Word {
    /// The word.
    pub value: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// A figure with its unit and source. The unit is fixed for each key and checked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// The number.
    pub value: f64,
    /// Its unit, as `check.rs` demands it for the key.
    pub unit: String,
    /// Relative standard deviation, where the figure has one.
    #[serde(default)]
    pub relative_sd: Option<f64>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}
