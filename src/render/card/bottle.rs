//! The `bottle` label: as large as its container asks for, and as what it must say needs. Tiles are in `tiles`.

use super::label::{Look, Panel, Parts};
use super::press::{self, Press};
use super::tiles;
use crate::commands::Problem;
use crate::commands::card::bottle::{Bottle, Set};
use crate::commands::card::paper::{Paper, Tiles};
use crate::render::pdf::block::{Block, height, polyline, stacked};
use crate::render::pdf::flow::{self, Unfit};
use crate::render::pdf::{Ink, MM_PER_PT, Mark, Page, Paint, font};

/// White round what a label says: at least so many mm, and so much of its width.
const MARGIN: f64 = 2.5;
const MARGIN_SHARE: f64 = 0.028;

/// Pictograms are made no larger than the least where type would become smaller than this over its floor; on a label that is
/// larger than it need be, by as much again as it is wider.
const EASY: f64 = 1.25;

/// How much of the side that goes with the size of a label is tried for pictograms.
const SIDES: [f64; 4] = [1.0, 0.8, 0.6, 0.45];

/// What a label that is proposed looks like at the narrowest, width over height.
const LYING: f64 = 1.25;

/// Type is at most so many times its floor, on the narrowest label of the standard.
const LARGEST: f64 = 2.0;

/// Labels as pages, and which paper each was set for.
pub struct Labels {
    /// What the file is called.
    pub title: String,
    /// The pages.
    pub pages: Vec<Page>,
    /// The labels, in the order in which they were asked for.
    pub labels: Vec<Set>,
}

/// One label, set: its marks from its upper left corner.
struct Laid {
    marks: Vec<Mark>,
    left_off: Vec<String>,
}

/// The labels of stocks, a page each or tiled on sheets.
///
/// # Errors
/// A label too small for what it must say, one that is larger than the sheet, a character that the fonts do not have.
pub fn labels(press: &Press, bottles: &[Bottle], sheet: Option<Tiles>, folded: bool) -> Result<Labels, Problem> {
    let wanted = press.card.paper.map(lying);
    let fitted_all: Result<Vec<_>, Problem> =
        press.work.over("laying out labels", bottles).map(|bottle| fitted(press, bottle?, wanted, folded)).collect();
    let (mut sizes, mut laid): (Vec<_>, Vec<_>) = fitted_all?.into_iter().unzip();
    if let (Some(_), None) = (sheet, wanted) {
        // Tiles are all of one size: that of the largest.
        let largest = sizes.iter().copied().max_by(|one, other| one.0.total_cmp(&other.0)).unwrap_or_default();
        for (bottle, (size, label)) in bottles.iter().zip(sizes.iter_mut().zip(&mut laid)) {
            if *size != largest {
                (*size, *label) = fitted(press, bottle, Some(largest), folded)?;
            }
        }
    }
    let set = bottles.iter().zip(&sizes).zip(&laid).map(|((bottle, size), label)| Set {
        code: bottle.code.clone(),
        size: *size,
        left_off: label.left_off.clone(),
        least: too_small(press, bottle, *size),
    });
    let set = set.collect();
    let codes: Vec<&str> = bottles.iter().take(3).map(|bottle| bottle.code.as_str()).collect();
    let more = if bottles.len() > codes.len() { " …" } else { "" };
    let title = press.fill("bottle.title", &[("codes", &format!("{}{more}", codes.join(", ")))]);
    let whole = |(width, height): (f64, f64)| if folded { (2.0 * width, height) } else { (width, height) };
    let named = bottles.iter().zip(laid).map(|(bottle, label)| {
        let mut marks =
            vec![Mark::Bookmark { level: 0, title: format!("{} {}", bottle.code, press.name(&bottle.name)) }];
        marks.extend(label.marks);
        marks
    });
    let pages = match sheet {
        None => named
            .zip(&sizes)
            .map(|(marks, size)| {
                let (width, height) = whole(*size);
                Page { width, height, marks }
            })
            .collect(),
        Some(sheet) => tiles::tiled(sheet, whole(sizes.first().copied().unwrap_or_default()), named.collect())?,
    };
    Ok(Labels { title, pages, labels: set })
}

fn margin(width: f64) -> f64 {
    MARGIN.max(width * MARGIN_SHARE)
}

/// A size of paper as a label has it: a page lies on its side.
fn lying(paper: Paper) -> (f64, f64) {
    match paper {
        Paper::Label { width, height } => (width, height),
        page => {
            let (width, height) = page.size();
            (width.max(height), width.min(height))
        }
    }
}

/// The least size for its container, if a label is smaller than that.
fn too_small(press: &Press, bottle: &Bottle, (width, height): (f64, f64)) -> Option<(f64, f64)> {
    let least = press.catalogue.label_sizes().label(bottle.litres);
    let (long, short) = (width.max(height), width.min(height));
    (long < least.width_mm || short < least.height_mm).then_some((least.width_mm, least.height_mm))
}

/// A label at the size that was asked for, else at the smallest of the standard that its container asks for and that holds
/// what it must say; where none of the standard's does, at the smallest that does.
fn fitted(
    press: &Press,
    bottle: &Bottle,
    wanted: Option<(f64, f64)>,
    folded: bool,
) -> Result<((f64, f64), Laid), Problem> {
    let sizes = press.catalogue.label_sizes();
    let least = sizes.label(bottle.litres);
    let standard = sizes.size.iter().filter(|row| row.width_mm >= least.width_mm);
    let candidates: Vec<(f64, f64)> =
        wanted.map_or_else(|| standard.map(|row| (row.width_mm, row.height_mm)).collect(), |size| vec![size]);
    let largest = candidates.last().copied().unwrap_or_default();
    let beyond = || wanted.is_none().then(|| smallest(press, bottle, folded)).flatten();
    for size in candidates.into_iter().chain(std::iter::once_with(beyond).flatten()) {
        match set(press, bottle, size, folded) {
            Ok(laid) => return Ok((size, laid)),
            Err(Unfit::TooSmall { .. }) => {}
            Err(letter) => return Err(press::problem(&letter)),
        }
    }
    Err(no_room(press, bottle, largest, folded))
}

/// That a label is too small, which would do, and that it could be folded.
fn no_room(press: &Press, bottle: &Bottle, (width, height): (f64, f64), folded: bool) -> Problem {
    let plain = smallest(press, bottle, folded);
    let fold = if folded { None } else { smallest(press, bottle, true) };
    let label = |(width, height): (f64, f64)| format!("label-{width:.0}x{height:.0}");
    let option = if folded { " --folded" } else { "" };
    let mut hint = match plain {
        Some(size) => format!("the smallest label that fits is `--paper {}{option}`", label(size)),
        None => "no label holds it: take a whole page, as `--paper a4`".to_owned(),
    };
    if let Some(size) = fold {
        hint.push_str(&format!("; folded once, `--paper {} --folded`", label(size)));
    }
    Problem::question(format!("{width:.0} × {height:.0} mm is too small for the label of `{}`", bottle.code))
        .because(format!(
            "what it must say does not fit in letters of {} mm, the least on a container of {} L",
            press.catalogue.label_sizes().letter(bottle.litres).x_mm,
            crate::units::show::plain(bottle.litres)
        ))
        .hint(hint)
}

/// The smallest label that holds everything: of all widths in whole millimetres, with the height that each needs, lying but
/// no more than twice as wide as high.
fn smallest(press: &Press, bottle: &Bottle, folded: bool) -> Option<(f64, f64)> {
    let mut best: Option<(f64, f64)> = None;
    for width in (40..=400).map(f64::from) {
        let lowest = libm::ceil(width / 2.0);
        if best.is_some_and(|(w, h)| width * lowest >= w * h) {
            break;
        }
        let Some(needs) = needs(press, bottle, width, folded) else { continue };
        let height = libm::ceil(needs + 2.0 * margin(width)).max(lowest);
        if width >= height * LYING && best.is_none_or(|(w, h)| width * height < w * h) {
            best = Some((width, height));
        }
    }
    best
}

/// The height that a label of a width needs with the smallest type and pictograms, mm without its margins: of the steps of
/// leaving statements off the one that needs least. Nothing for a label without parts.
fn needs(press: &Press, bottle: &Bottle, width: f64, folded: bool) -> Option<f64> {
    let across = width - 2.0 * margin(width);
    let (floor, steps) = (floor(press, bottle), steps(bottle));
    let diamond = press.catalogue.label_sizes().label(bottle.litres).pictogram_mm;
    let largest = largest(press, width);
    let look = Look { type_size: floor * largest, width: across, diamond, floor };
    let smallest = |blocks: &[Block]| height(&stacked(blocks, across, 1.0 / largest));
    let high = |(body, foot): &Panel| smallest(body) + smallest(foot);
    let high = |parts: Parts<'_>| {
        if folded { parts.folded().iter().map(high).fold(0.0, f64::max) } else { high(&parts.flat()) }
    };
    (0..=steps).map(|less| high(Parts::of(press, bottle, look, less))).min_by(f64::total_cmp)
}

/// The smallest type on the label of a container, points.
fn floor(press: &Press, bottle: &Bottle) -> f64 {
    press.catalogue.label_sizes().letter(bottle.litres).x_mm / MM_PER_PT / font::X_HEIGHT
}

/// The largest type on a label of a width, over the smallest.
fn largest(press: &Press, width: f64) -> f64 {
    LARGEST * (width / press.catalogue.label_sizes().size[0].width_mm).max(1.0)
}

/// In how many steps statements may be left off.
fn steps(bottle: &Bottle) -> usize {
    bottle.hazards.as_ref().map_or(0, |hazards| hazards.small.len())
}

/// A label at a size: pictograms as large as leaves type easy to read, all statements before fewer.
fn set(press: &Press, bottle: &Bottle, (width, height): (f64, f64), folded: bool) -> Result<Laid, Unfit> {
    let sizes = press.catalogue.label_sizes();
    let row = sizes.label(bottle.litres);
    let floor = floor(press, bottle);
    let largest = largest(press, width);
    let grown = (width / row.width_mm).min(height / row.height_mm);
    let easy = EASY * grown.max(1.0).midpoint(1.0);
    let mut sides: Vec<f64> = SIDES.iter().map(|share| share * grown * row.wanted_mm).collect();
    sides.retain(|side| *side > row.pictogram_mm);
    sides.push(row.pictogram_mm);
    let white = margin(width);
    let room = (width - 2.0 * white, height - 2.0 * white);
    let mut least = f64::INFINITY;
    for less in 0..=steps(bottle) {
        for (at, side) in sides.iter().enumerate() {
            // Large pictograms are only worth it if the type beside them stays easy to read.
            let least_type = if at + 1 == sides.len() { 1.0 } else { easy.min(largest) };
            let look = Look { type_size: floor * largest, width: room.0, diamond: *side, floor };
            let parts = Parts::of(press, bottle, look, less);
            let tried = if folded {
                let [front, back] = parts.folded();
                panels(&front, &back, room, least_type / largest, (width, height))
            } else {
                let (body, foot) = parts.flat();
                flow::boxed(room.0, room.1, least_type / largest, &body, &foot)
            };
            match tried {
                Ok(marks) => {
                    let marks = marks.into_iter().map(|mark| mark.shifted(white, white)).collect();
                    return Ok(Laid { marks, left_off: parts.left_off() });
                }
                Err(Unfit::TooSmall { needs, .. }) => least = least.min(needs),
                Err(other) => return Err(other),
            }
        }
    }
    Err(Unfit::TooSmall { needs: least, has: room.1 })
}

/// Two panels side by side with a line between them to fold at.
fn panels(
    front: &Panel,
    back: &Panel,
    (across, down): (f64, f64),
    floor: f64,
    (width, height): (f64, f64),
) -> Result<Vec<Mark>, Unfit> {
    let set = |(body, foot): &Panel| flow::boxed(across, down, floor, body, foot);
    let (mut marks, behind) = match (set(front), set(back)) {
        (Ok(front), Ok(back)) => (front, back),
        (Err(Unfit::TooSmall { needs: one, has }), Err(Unfit::TooSmall { needs: other, .. })) => {
            return Err(Unfit::TooSmall { needs: one.max(other), has });
        }
        (Err(unfit), _) | (_, Err(unfit)) => return Err(unfit),
    };
    marks.extend(behind.into_iter().map(|mark| mark.shifted(width, 0.0)));
    // Marks are shifted by the margin later; the fold is at the edge of the panel.
    let white = margin(width);
    let fold = polyline(&[(width - white, -white), (width - white, height - white)]);
    marks.push(Mark::Path { path: fold, paint: Paint::Dashed(Ink::Grey(0.5), 0.2, 1.5) });
    Ok(marks)
}
