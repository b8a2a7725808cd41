//! Blocks side by side: how wide each column is, and where rows and tables may be cut.

use std::rc::Rc;

use super::block::{Block, Row, Strip, Table, Text, Width, bar, height, joined, stacked, whole};
use super::{Face, Ink};

/// The widths of columns that share a line, mm.
fn columns(widths: &[Width], gap: f64, width: f64) -> Vec<f64> {
    let gaps = gap * widths.len().saturating_sub(1) as f64;
    let fixed: f64 = widths.iter().map(|width| if let Width::Fixed(mm) = width { *mm } else { 0.0 }).sum();
    let shares: f64 = widths.iter().map(|width| if let Width::Share(part) = width { *part } else { 0.0 }).sum();
    let left = (width - gaps - fixed).max(0.0);
    widths
        .iter()
        .map(|width| match width {
            Width::Fixed(mm) => *mm,
            Width::Share(part) => left * part / shares,
        })
        .collect()
}

/// Two edges that are nearer to each other than this are one, mm.
const SAME: f64 = 1e-6;

/// Columns may stand side by side without a common edge for so long, mm; then the shorter ones wait for the longest, so that
/// no slice becomes higher than a page.
const UNCUT: f64 = 60.0;

/// A column of a row: where it stands, and its strips that are not placed yet.
struct Column {
    x: f64,
    strips: std::vec::IntoIter<Strip>,
}

impl Column {
    /// Where the strips that are left end, counted from the first of them, mm.
    fn edges(&self) -> Vec<f64> {
        let mut y = 0.0;
        let mut edge = |strip: &Strip| {
            y += strip.height;
            y
        };
        self.strips.as_slice().iter().map(&mut edge).collect()
    }
}

/// Columns of strips side by side, as strips: cut wherever all columns have an edge or have ended.
fn beside(cells: Vec<(f64, Vec<Strip>)>) -> Vec<Strip> {
    let mut columns: Vec<Column> =
        cells.into_iter().map(|(x, strips)| Column { x, strips: strips.into_iter() }).collect();
    let mut slices = Vec::new();
    while columns.iter().any(|column| !column.strips.as_slice().is_empty()) {
        let depth = next_cut(&columns);
        slices.push(slice(&mut columns, depth));
    }
    slices
}

/// How deep the next slice reaches: to the first edge that all columns share, or, if that is too far, as far as it may.
fn next_cut(columns: &[Column]) -> f64 {
    let edges: Vec<Vec<f64>> = columns.iter().map(Column::edges).collect();
    let shared = |y: f64| {
        edges.iter().all(|edges| {
            let ended = edges.last().is_none_or(|last| *last <= y + SAME);
            ended || edges.iter().any(|edge| (edge - y).abs() < SAME)
        })
    };
    let mut all: Vec<f64> = edges.iter().flatten().copied().filter(|edge| *edge > SAME).collect();
    all.sort_by(f64::total_cmp);
    // Strips without height alone share the edge at nought.
    let cut = all.into_iter().find(|edge| shared(*edge)).unwrap_or(0.0);
    // Every column that is left places one strip at least.
    let highest_first = edges.iter().filter_map(|edges| edges.first()).copied().fold(0.0, f64::max);
    cut.min(UNCUT.max(highest_first))
}

/// The strips of each column down to a depth, as one; the next ones of all columns begin below the longest.
fn slice(columns: &mut [Column], depth: f64) -> Strip {
    let mut slice = Strip::default();
    for column in columns {
        let many = column.edges().iter().take_while(|edge| **edge <= depth + SAME).count();
        let part: Vec<Strip> = column.strips.by_ref().take(many).collect();
        let goes_on = !column.strips.as_slice().is_empty();
        let held = part.last().filter(|_| goes_on).map_or(0, |last| last.keep);
        slice.keep = slice.keep.max(held);
        slice.height = slice.height.max(height(&part));
        slice.marks.extend(joined(part).into_iter().map(|mark| mark.shifted(column.x, 0.0)));
    }
    slice
}

impl Row {
    pub(super) fn strips(&self, width: f64, scale: f64) -> Vec<Strip> {
        let widths: Vec<Width> = self.cells.iter().map(|(width, _)| *width).collect();
        let mut x = 0.0;
        let cells = self.cells.iter().zip(columns(&widths, self.gap, width));
        beside(
            cells
                .map(|((_, blocks), width)| {
                    let cell = (x, stacked(blocks, width, scale));
                    x += width + self.gap;
                    cell
                })
                .collect(),
        )
    }
}

impl Table {
    pub(super) fn strips(&self, width: f64, scale: f64) -> Vec<Strip> {
        const GAP: f64 = 2.5;
        let widths = columns(&self.widths, GAP, width);
        let space = 0.9 * scale;
        let row = |cells: Vec<Vec<Block>>| -> Vec<Strip> {
            let mut x = 0.0;
            let cells = cells.into_iter().zip(&widths).map(|(blocks, width)| {
                let mut strips = vec![Strip { height: space, ..Strip::default() }];
                strips.extend(stacked(&blocks, *width, scale));
                strips.push(Strip { height: space, ..Strip::default() });
                let cell = (x, strips);
                x += width + GAP;
                cell
            });
            beside(cells.collect())
        };
        let head: Vec<Vec<Block>> =
            self.head.iter().map(|word| vec![Text::new(Face::Bold, self.size, word).into()]).collect();
        let mut head = if head.is_empty() { Vec::new() } else { row(head) };
        if !head.is_empty() {
            head.push(whole(0.4, vec![bar(0.0, 0.0, width, 0.4, Ink::Black)]));
            head.iter_mut().for_each(|strip| strip.keep += 1);
        }
        let repeated = Rc::new(head.clone());
        let mut all = head;
        for cells in &self.rows {
            let mut strips = row(cells.clone());
            strips.push(whole(0.2, vec![bar(0.0, 0.0, width, 0.2, Ink::Grey(0.6))]));
            let last = strips.len() - 1;
            // A short row stays whole; a long one may be cut where its lines end.
            let short = height(&strips) < 40.0;
            for (at, mut strip) in strips.into_iter().enumerate() {
                strip.keep += u8::from(at < last && (short || at == 0 || at + 2 >= last));
                strip.head = Some(Rc::clone(&repeated));
                all.push(strip);
            }
        }
        all
    }
}
