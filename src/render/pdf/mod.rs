//! Pages: what is put on them, in millimetres from the top left corner.
//!
//! The only module that knows of PDF. A card is a list of [`block::Block`]s; [`flow`] lays them on pages, text first
//! smaller down to a floor, then on more pages; [`document`] makes the file.

pub mod block;
pub mod chart;
mod columns;
pub mod document;
pub mod flow;
pub mod font;
pub mod picture;
pub mod qr;
pub mod wrap;

use std::sync::Arc;

use kurbo::BezPath;

pub use font::Face;

/// Millimetres in a point.
pub const MM_PER_PT: f64 = 25.4 / 72.0;

/// What is drawn with. Colour is never the only sign of anything.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ink {
    /// Nearly everything.
    Black,
    /// On black.
    White,
    /// Lines that only guide the eye; 0 is black, 1 white.
    Grey(f32),
    /// The frames of the hazard symbols.
    Red,
}

/// How a path is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Paint {
    /// Filled; holes by the even-odd rule.
    Fill(Ink),
    /// Outlined, line width in millimetres.
    Stroke(Ink, f64),
    /// Outlined with dashes as long as the gaps between them, both in millimetres.
    Dashed(Ink, f64, f64),
}

/// One thing on a page, in millimetres from the top left corner.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A run of text with its baseline at `y`.
    Text {
        /// Left edge.
        x: f64,
        /// Baseline.
        y: f64,
        /// Size in points.
        size: f64,
        /// Face.
        face: Face,
        /// Ink.
        ink: Ink,
        /// The text.
        text: String,
    },
    /// A path.
    Path {
        /// The path.
        path: BezPath,
        /// How it is drawn.
        paint: Paint,
    },
    /// A compiled-in picture in a square.
    Picture {
        /// Its name, `GHS05` or `goggles`.
        name: &'static str,
        /// Left edge.
        x: f64,
        /// Upper edge.
        y: f64,
        /// Side of the square round it.
        side: f64,
    },
    /// A square code.
    Code {
        /// What is black in it.
        code: Arc<qr::Code>,
        /// Left edge.
        x: f64,
        /// Upper edge.
        y: f64,
        /// Side with its quiet zone.
        side: f64,
    },
    /// A heading that a reader of the file can jump to.
    Bookmark {
        /// 0 for the card, 1 for its parts.
        level: usize,
        /// The words.
        title: String,
    },
}

impl Mark {
    /// The same mark elsewhere.
    #[must_use]
    pub fn shifted(mut self, dx: f64, dy: f64) -> Mark {
        match &mut self {
            Mark::Text { x, y, .. } | Mark::Picture { x, y, .. } | Mark::Code { x, y, .. } => {
                *x += dx;
                *y += dy;
            }
            Mark::Path { path, .. } => path.apply_affine(kurbo::Affine::translate((dx, dy))),
            Mark::Bookmark { .. } => {}
        }
        self
    }
}

/// A page with what is on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// What is on it, in reading order.
    pub marks: Vec<Mark>,
}
