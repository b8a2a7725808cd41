//! What a card is built of, and how each part becomes strips: slices of a page that are not cut.

use std::rc::Rc;

use kurbo::{BezPath, Line as Segment, Rect, Shape};

use super::font::{ASCENT, missing};
use super::wrap::{Line, Span, lines};
use super::{Face, Ink, MM_PER_PT, Mark, Paint, qr};

/// Distance of two baselines over the size of the type; labels ask for 1.2 at least.
pub const LEADING: f64 = 1.24;

/// A part of a card. Lengths are millimetres, sizes of type points; both are those of a card that need not shrink.
#[derive(Clone)]
pub enum Block {
    /// A paragraph.
    Text(Text),
    /// Blocks side by side.
    Row(Row),
    /// Rows and columns.
    Table(Table),
    /// A box.
    Frame(Frame),
    /// A compiled-in picture. Its side does not shrink with the type.
    Picture {
        /// Name, `GHS05` or `goggles`.
        name: &'static str,
        /// Side of the square round it, mm.
        side: f64,
    },
    /// Pictures in a row, as many on a line as it holds.
    Pictures {
        /// Names.
        names: Vec<&'static str>,
        /// Side of the square round each, mm.
        side: f64,
        /// Between them, mm.
        gap: f64,
    },
    /// A square code that a telephone reads. It does not shrink.
    Qr {
        /// What it says.
        text: String,
        /// Side with its quiet zone, mm.
        side: f64,
    },
    /// A drawing made for the width that it gets.
    Drawing {
        /// Height, mm.
        height: f64,
        /// Draws into width and height.
        draw: Rc<dyn Fn(f64, f64) -> Vec<Mark>>,
    },
    /// A line across.
    Rule {
        /// Thickness, mm.
        thickness: f64,
        /// Ink.
        ink: Ink,
    },
    /// Something to be written by hand: words, and a line behind them.
    WriteIn {
        /// The words.
        label: String,
        /// Size of the words.
        size: f64,
    },
    /// White space.
    Gap(f64),
    /// Parts that are not torn apart, unless they are higher than a page.
    Together(Vec<Block>),
}

/// Where the lines of a paragraph stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// At the left edge.
    Left,
    /// In the middle.
    Centre,
    /// At the right edge.
    Right,
}

/// A paragraph.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// The words.
    pub spans: Vec<Span>,
    /// Size in points.
    pub size: f64,
    /// Where the lines stand.
    pub align: Align,
    /// A sign before the first line, with which the others are flush: a number, a bullet, a box to tick.
    pub sign: Option<String>,
    /// A heading for the reader of the file: its level.
    pub bookmark: Option<usize>,
    /// It is not left alone at the foot of a page.
    pub heading: bool,
}

impl Text {
    /// A paragraph in one face.
    #[must_use]
    pub fn new(face: Face, size: f64, text: &str) -> Text {
        Text::spans(size, vec![Span::new(face, text)])
    }

    /// A paragraph of several stretches.
    #[must_use]
    pub fn spans(size: f64, spans: Vec<Span>) -> Text {
        Text { spans, size, align: Align::Left, sign: None, bookmark: None, heading: false }
    }

    /// Lines elsewhere.
    #[must_use]
    pub fn aligned(self, align: Align) -> Text {
        Text { align, ..self }
    }

    /// A sign before it.
    #[must_use]
    pub fn signed(self, sign: &str) -> Text {
        Text { sign: Some(sign.to_owned()), ..self }
    }

    /// All of it in another ink.
    #[must_use]
    pub fn inked(mut self, ink: Ink) -> Text {
        self.spans.iter_mut().for_each(|span| span.ink = ink);
        self
    }

    /// A heading, bookmarked at a level.
    #[must_use]
    pub fn heading(self, level: usize) -> Text {
        Text { bookmark: Some(level), heading: true, ..self }
    }
}

impl From<Text> for Block {
    fn from(text: Text) -> Block {
        Block::Text(text)
    }
}

/// How wide a column is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Width {
    /// Millimetres. It does not shrink.
    Fixed(f64),
    /// A share of what the fixed columns leave.
    Share(f64),
}

/// Blocks side by side.
#[derive(Clone)]
pub struct Row {
    /// Width and blocks of each column.
    pub cells: Vec<(Width, Vec<Block>)>,
    /// Between the columns, mm.
    pub gap: f64,
}

/// Rows and columns, with a line under each row. A row that is cut goes on at the next page under the same head.
#[derive(Clone)]
pub struct Table {
    /// Width of each column.
    pub widths: Vec<Width>,
    /// The head, repeated on every page; none, if empty.
    pub head: Vec<String>,
    /// The rows, a block list for each cell.
    pub rows: Vec<Vec<Vec<Block>>>,
    /// Size of the head's type.
    pub size: f64,
}

/// A box round blocks.
#[derive(Clone)]
pub struct Frame {
    /// What is in it.
    pub inner: Vec<Block>,
    /// Thickness of its lines, mm; 0 for none.
    pub line: f64,
    /// Between lines and content, mm.
    pub padding: f64,
    /// What it is filled with.
    pub fill: Option<Ink>,
}

/// A slice of a page that is not cut.
#[derive(Debug, Clone, Default)]
pub struct Strip {
    /// Height, mm.
    pub height: f64,
    /// What is on it, from its upper left corner.
    pub marks: Vec<Mark>,
    /// How strongly it holds on to the next: 0 lets go, and of what is torn the lowest is torn first.
    pub keep: u8,
    /// White space, dropped at the head of a page.
    pub blank: bool,
    /// What is repeated above it where it is the first on a page.
    pub head: Option<Rc<Vec<Strip>>>,
}

impl Block {
    /// The strips of the block in a width, mm, its type and its white space made smaller by `scale`.
    #[must_use]
    pub fn strips(&self, width: f64, scale: f64) -> Vec<Strip> {
        match self {
            Block::Text(text) => text.strips(width, scale),
            Block::Row(row) => row.strips(width, scale),
            Block::Table(table) => table.strips(width, scale),
            Block::Frame(frame) => frame.strips(width, scale),
            Block::Picture { name, side } => {
                vec![whole(*side, vec![Mark::Picture { name, x: 0.0, y: 0.0, side: *side }])]
            }
            Block::Pictures { names, side, gap } => pictures(names, *side, *gap, width),
            Block::Qr { text, side } => vec![whole(*side, qr::marks(text, *side))],
            Block::Drawing { height, draw } => vec![whole(*height, draw(width, *height))],
            Block::Rule { thickness, ink } => vec![whole(*thickness, vec![bar(0.0, 0.0, width, *thickness, *ink)])],
            Block::WriteIn { label, size } => write_in(label, size * scale, width),
            Block::Gap(height) => vec![Strip { height: height * scale, blank: true, ..Strip::default() }],
            Block::Together(blocks) => {
                let mut strips = stacked(blocks, width, scale);
                let last = strips.len().saturating_sub(1);
                strips.iter_mut().take(last).for_each(|strip| strip.keep += 1);
                strips
            }
        }
    }
}

/// The strips of blocks one under the other.
#[must_use]
pub fn stacked(blocks: &[Block], width: f64, scale: f64) -> Vec<Strip> {
    blocks.iter().flat_map(|block| block.strips(width, scale)).collect()
}

/// Height of strips, mm.
#[must_use]
pub fn height(strips: &[Strip]) -> f64 {
    strips.iter().map(|strip| strip.height).sum()
}

/// Strips one under the other as the marks of one piece.
#[must_use]
pub fn joined(strips: Vec<Strip>) -> Vec<Mark> {
    let mut y = 0.0;
    let mut marks = Vec::new();
    for strip in strips {
        marks.extend(strip.marks.into_iter().map(|mark| mark.shifted(0.0, y)));
        y += strip.height;
    }
    marks
}

pub(super) fn whole(height: f64, marks: Vec<Mark>) -> Strip {
    Strip { height, marks, ..Strip::default() }
}

/// A filled rectangle.
#[must_use]
pub fn bar(x: f64, y: f64, width: f64, height: f64, ink: Ink) -> Mark {
    Mark::Path { path: Rect::new(x, y, x + width, y + height).to_path(0.1), paint: Paint::Fill(ink) }
}

/// A straight line.
#[must_use]
pub fn line(from: (f64, f64), to: (f64, f64), thickness: f64, ink: Ink) -> Mark {
    Mark::Path { path: Segment::new(from, to).to_path(0.1), paint: Paint::Stroke(ink, thickness) }
}

impl Text {
    fn strips(&self, width: f64, scale: f64) -> Vec<Strip> {
        let size = self.size * scale;
        let sign = self.sign.as_ref().map(|sign| (sign, Face::Bold.width(sign, size) + size * MM_PER_PT * 0.45));
        let indent = sign.as_ref().map_or(0.0, |(_, indent)| *indent).min(width * 0.6);
        let lines = lines(&self.spans, size, (width - indent).max(0.1));
        let many = lines.len();
        let step = size * LEADING * MM_PER_PT;
        let baseline = (step - size * MM_PER_PT) / 2.0 + size * MM_PER_PT * ASCENT;
        lines
            .into_iter()
            .enumerate()
            .map(|(at, line)| {
                let mut marks = Vec::new();
                if at == 0 {
                    if let Some(level) = self.bookmark {
                        let title = self.spans.iter().map(|span| span.text.as_str()).collect();
                        marks.push(Mark::Bookmark { level, title });
                    }
                    if let Some((sign, _)) = &sign {
                        let ink = self.spans.first().map_or(Ink::Black, |span| span.ink);
                        marks.push(run(0.0, baseline, size, Span { ink, ..Span::new(Face::Bold, sign) }));
                    }
                }
                let x = match self.align {
                    Align::Left => indent,
                    Align::Centre => indent + (width - indent - line.width) / 2.0,
                    Align::Right => width - line.width,
                };
                marks.extend(runs(line, x, baseline, size));
                // Neither the first nor the last line of a paragraph stands alone.
                let keep = self.heading || (many > 1 && at == 0) || (many > 2 && at == many - 2);
                Strip { height: step, marks, keep: u8::from(keep), ..Strip::default() }
            })
            .collect()
    }
}

fn run(x: f64, y: f64, size: f64, span: Span) -> Mark {
    Mark::Text { x, y, size, face: span.face, ink: span.ink, text: span.text }
}

fn runs(line: Line, x: f64, y: f64, size: f64) -> Vec<Mark> {
    let mut at = x;
    line.spans
        .into_iter()
        .map(|(span, width)| {
            let mark = run(at, y, size, span);
            at += width;
            mark
        })
        .collect()
}

fn pictures(names: &[&'static str], side: f64, gap: f64, width: f64) -> Vec<Strip> {
    let on_a_line = (((width + gap) / (side + gap)) as usize).max(1);
    let rows: Vec<&[&'static str]> = names.chunks(on_a_line).collect();
    let last = rows.len().saturating_sub(1);
    rows.into_iter()
        .enumerate()
        .map(|(at, row)| {
            let place = |column: usize| column as f64 * (side + gap);
            let marks = row.iter().enumerate();
            let marks = marks.map(|(column, name)| Mark::Picture { name, x: place(column), y: 0.0, side });
            whole(side + if at == last { 0.0 } else { gap }, marks.collect())
        })
        .collect()
}

fn write_in(label: &str, size: f64, width: f64) -> Vec<Strip> {
    let text = Text::new(Face::Regular, size, label);
    let mut strips = text.strips(width * 0.7, 1.0);
    let room = size * MM_PER_PT * 0.5;
    if let Some(last) = strips.last_mut() {
        let end = last.marks.iter().map(|mark| match mark {
            Mark::Text { x, text, face, size, .. } => x + face.width(text, *size),
            _ => 0.0,
        });
        let from = end.fold(0.0, f64::max) + if label.is_empty() { 0.0 } else { 1.0 };
        last.height += room;
        last.marks = std::mem::take(&mut last.marks).into_iter().map(|mark| mark.shifted(0.0, room)).collect();
        let y = last.height - size * MM_PER_PT * 0.25;
        last.marks.push(line((from, y), (width, y), 0.25, Ink::Black));
    }
    strips
}

impl Frame {
    fn strips(&self, width: f64, scale: f64) -> Vec<Strip> {
        let edge = self.line + self.padding * scale;
        let inner = stacked(&self.inner, (width - 2.0 * edge).max(0.1), scale);
        let gap = |height: f64| Strip { height, ..Strip::default() };
        let mut strips = vec![Strip { keep: 1, ..gap(edge) }];
        strips.extend(inner);
        strips.push(gap(edge));
        let last = strips.len() - 1;
        if last >= 2 {
            strips[last - 1].keep += 1;
        }
        for (at, strip) in strips.iter_mut().enumerate() {
            let mut marks = Vec::new();
            if let Some(fill) = self.fill {
                marks.push(bar(0.0, 0.0, width, strip.height, fill));
            }
            if self.line > 0.0 {
                marks.push(bar(0.0, 0.0, self.line, strip.height, Ink::Black));
                marks.push(bar(width - self.line, 0.0, self.line, strip.height, Ink::Black));
                if at == 0 {
                    marks.push(bar(0.0, 0.0, width, self.line, Ink::Black));
                }
                if at == last {
                    marks.push(bar(0.0, strip.height - self.line, width, self.line, Ink::Black));
                }
            }
            marks.extend(std::mem::take(&mut strip.marks).into_iter().map(|mark| mark.shifted(edge, 0.0)));
            strip.marks = marks;
            strip.blank = false;
        }
        strips
    }
}

/// The first character in blocks that the faces do not have, and the words that it stands in.
#[must_use]
pub fn missing_letter(blocks: &[Block]) -> Option<(char, String)> {
    blocks.iter().find_map(|block| match block {
        Block::Text(text) => text.spans.iter().find_map(|span| lacking(&span.text)),
        Block::Row(row) => row.cells.iter().find_map(|(_, blocks)| missing_letter(blocks)),
        Block::Table(table) => table
            .head
            .iter()
            .find_map(|word| lacking(word))
            .or_else(|| table.rows.iter().flatten().find_map(|blocks| missing_letter(blocks))),
        Block::Frame(Frame { inner, .. }) | Block::Together(inner) => missing_letter(inner),
        Block::WriteIn { label, .. } => lacking(label),
        // What a drawing says does not depend on how large it is.
        Block::Drawing { height, draw } => draw(*height, *height).iter().find_map(|mark| match mark {
            Mark::Text { text, .. } => lacking(text),
            _ => None,
        }),
        _ => None,
    })
}

fn lacking(text: &str) -> Option<(char, String)> {
    missing(text).map(|letter| (letter, text.to_owned()))
}

/// A path of straight lines through points.
#[must_use]
pub fn polyline(points: &[(f64, f64)]) -> BezPath {
    let mut path = BezPath::new();
    for (at, point) in points.iter().enumerate() {
        if at == 0 { path.move_to(*point) } else { path.line_to(*point) }
    }
    path
}
