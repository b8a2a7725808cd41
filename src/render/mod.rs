//! Answers become bytes; no decisions.

pub mod calendar;
pub mod card;
pub mod data;
pub mod pdf;
pub mod problem;
pub mod scale;
pub mod svg;
pub mod table;
pub mod text;

use crate::catalogue::Catalogue;

/// How an answer is to look.
#[derive(Debug, Clone, Copy)]
pub struct Style {
    /// One JSON object instead of text.
    pub json: bool,
    /// Every step with its source.
    pub why: bool,
    /// Box lines round tables.
    pub lines: bool,
    /// Colours.
    pub colour: bool,
    /// Columns of the page; nothing lets a table row run on, so that it stays one line for other programs.
    pub width: Option<usize>,
    /// Where the sources of `why` are looked up.
    pub catalogue: &'static Catalogue,
}
