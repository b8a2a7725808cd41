//! Labels of one size in rows and columns on sheets, with fine marks to cut at.

use std::collections::BTreeSet;

use crate::commands::Problem;
use crate::commands::card::paper::Tiles;
use crate::render::pdf::block::line;
use crate::render::pdf::{Ink, Mark, Page};

/// Half the length of a mark to cut at, mm.
const CUT: f64 = 2.0;

/// What a printer may be off by before a row is lost, mm.
const SLACK: f64 = 1e-6;

/// Pages of labels, each from its upper left corner.
///
/// # Errors
/// A label larger than the sheet or than what is left of it, more used up than there are.
pub fn tiled(tiles: Tiles, (width, height): (f64, f64), labels: Vec<Vec<Mark>>) -> Result<Vec<Page>, Problem> {
    let sheet = tiles.sheet.size();
    let grid = Grid::of(tiles, sheet, (width, height))?;
    let mut pages: Vec<Page> = Vec::new();
    let mut corners: BTreeSet<(i64, i64)> = BTreeSet::new();
    for (place, marks) in (tiles.skip..).zip(labels) {
        let at = place % grid.count();
        if pages.is_empty() || at == 0 {
            cut(pages.last_mut(), &mut corners);
            pages.push(Page { width: sheet.0, height: sheet.1, marks: Vec::new() });
        }
        let (x, y) = grid.corner(at);
        let Some(page) = pages.last_mut() else { break };
        page.marks.extend(marks.into_iter().map(|mark| mark.shifted(x, y)));
        for (x, y) in [(x, y), (x + width, y), (x, y + height), (x + width, y + height)] {
            corners.insert((libm::round(x * 100.0) as i64, libm::round(y * 100.0) as i64));
        }
    }
    cut(pages.last_mut(), &mut corners);
    Ok(pages)
}

/// Marks at the corners of a page's labels, each corner once.
fn cut(page: Option<&mut Page>, corners: &mut BTreeSet<(i64, i64)>) {
    let corners = std::mem::take(corners);
    let Some(page) = page else { return };
    for (x, y) in corners {
        let (x, y) = (x as f64 / 100.0, y as f64 / 100.0);
        let (left, right) = ((x - CUT).max(0.0), (x + CUT).min(page.width));
        let (top, bottom) = ((y - CUT).max(0.0), (y + CUT).min(page.height));
        page.marks.push(line((left, y), (right, y), 0.1, Ink::Grey(0.4)));
        page.marks.push(line((x, top), (x, bottom), 0.1, Ink::Grey(0.4)));
    }
}

/// Where labels stand on a sheet.
struct Grid {
    from: (f64, f64),
    step: (f64, f64),
    columns: usize,
    rows: usize,
}

impl Grid {
    fn of(tiles: Tiles, sheet: (f64, f64), label: (f64, f64)) -> Result<Grid, Problem> {
        let said = |(width, height): (f64, f64)| format!("{width} × {height} mm");
        if label.0 > sheet.0 + SLACK || label.1 > sheet.1 + SLACK {
            return Err(Problem::question(format!(
                "a label of {} is larger than the sheet of {}",
                said(label),
                said(sheet)
            ))
            .hint("take a larger sheet, or a smaller label with `--paper label-WxH`"));
        }
        let from = tiles.from.unwrap_or_default();
        let along = |room: f64, side: f64, gap: f64| -> usize {
            if room + SLACK < side { 0 } else { ((room - side + SLACK) / (side + gap)) as usize + 1 }
        };
        let columns = along(sheet.0 - from.0, label.0, tiles.gap.0);
        let rows = along(sheet.1 - from.1, label.1, tiles.gap.1);
        if columns * rows == 0 {
            return Err(Problem::question(format!(
                "`--from {}x{}` leaves no room for a label of {} on a sheet of {}",
                from.0,
                from.1,
                said(label),
                said(sheet)
            ))
            .hint("begin further up and to the left"));
        }
        if tiles.skip >= columns * rows {
            return Err(Problem::question(format!(
                "the sheet has {} labels ({columns} across, {rows} down) and {} are said to be used up",
                columns * rows,
                tiles.skip
            ))
            .hint("take a new sheet and leave `--skip` away"));
        }
        let step = (label.0 + tiles.gap.0, label.1 + tiles.gap.1);
        let middle = |room: f64, many: usize, step: f64, gap: f64| (room - (many as f64 * step - gap)) / 2.0;
        let from = tiles.from.unwrap_or_else(|| {
            (middle(sheet.0, columns, step.0, tiles.gap.0), middle(sheet.1, rows, step.1, tiles.gap.1))
        });
        Ok(Grid { from, step, columns, rows })
    }

    fn count(&self) -> usize {
        self.columns * self.rows
    }

    /// The upper left corner of a label, counted along the rows.
    fn corner(&self, at: usize) -> (f64, f64) {
        let (column, row) = (at % self.columns, at / self.columns);
        (self.from.0 + column as f64 * self.step.0, self.from.1 + row as f64 * self.step.1)
    }
}
