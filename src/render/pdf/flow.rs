//! Blocks onto pages: type smaller down to a floor, then more pages; into a box of fixed size, or not at all.

use super::block::{Block, Strip, height, joined, missing_letter, stacked};
use super::{Mark, Page};

/// Steps by which type is made smaller.
const STEP: f64 = 0.96;

/// A sheet: its size, its margins, and what stands on every page of a card.
#[derive(Clone)]
pub struct Sheet {
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// White on every side, mm.
    pub margin: f64,
    /// At the head of every page after the first.
    pub head: Vec<Block>,
    /// At the foot of every page; `{page}` and `{pages}` in a text become numbers.
    pub foot: Vec<Block>,
    /// How small type may become, over its full size.
    pub floor: f64,
}

/// What stands in the way of printing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Unfit {
    /// A part that is higher than a page.
    #[error("a part of it is higher than the page: {0:.0} mm")]
    TooHigh(f64),
    /// It does not fit into the box even with the smallest type.
    #[error("it needs {needs:.0} mm of height and has {has:.0} mm")]
    TooSmall {
        /// Height that it needs with the smallest type, mm.
        needs: f64,
        /// Height of the box, mm.
        has: f64,
    },
    /// A character that the faces do not have.
    #[error("the fonts have no `{letter}`")]
    Letter {
        /// The character.
        letter: char,
        /// The words that it stands in.
        words: String,
    },
}

/// Lays blocks on pages.
///
/// Of all sizes of type between full and the floor the largest is taken that needs the fewest pages and, of those, tears
/// the fewest parts that belong together.
///
/// # Errors
/// [`Unfit::Letter`] for a character without a glyph, [`Unfit::TooHigh`] for a part that no page holds.
pub fn pages(sheet: &Sheet, blocks: &[Block]) -> Result<Vec<Page>, Unfit> {
    if let Some((letter, words)) = [blocks, &sheet.head, &sheet.foot].into_iter().find_map(missing_letter) {
        return Err(Unfit::Letter { letter, words });
    }
    let width = sheet.width - 2.0 * sheet.margin;
    let foot = height(&stacked(&sheet.foot, width, 1.0));
    let head = stacked(&sheet.head, width, 1.0);
    let room = sheet.height - 2.0 * sheet.margin - foot;
    let mut best: Option<Paginated> = None;
    let mut fault = None;
    for scale in scales(sheet.floor) {
        match paginated(stacked(blocks, width, scale), room, room - height(&head)) {
            Ok(pages) if best.as_ref().is_none_or(|known| pages.rank() < known.rank()) => best = Some(pages),
            Ok(_) => {}
            Err(why) => fault = Some(why),
        }
        if best.as_ref().is_some_and(|pages| pages.rank() == (1, 0)) {
            break;
        }
    }
    let Some(Paginated { pages, .. }) = best else { return Err(fault.unwrap_or(Unfit::TooHigh(0.0))) };
    let many = pages.len();
    Ok(pages
        .into_iter()
        .enumerate()
        .map(|(at, strips)| {
            let mut marks = Vec::new();
            let mut y = sheet.margin;
            let top = if at == 0 { Vec::new() } else { head.clone() };
            let body_from = height(&top);
            for mark in joined(top) {
                marks.push(mark.shifted(sheet.margin, y));
            }
            y += body_from;
            marks.extend(joined(strips).into_iter().map(|mark| mark.shifted(sheet.margin, y)));
            let bottom = sheet.height - sheet.margin - foot;
            for mark in joined(stacked(&numbered(&sheet.foot, at + 1, many), width, 1.0)) {
                marks.push(mark.shifted(sheet.margin, bottom));
            }
            Page { width: sheet.width, height: sheet.height, marks }
        })
        .collect())
}

/// Lays blocks into a box, with the largest type that fits; a foot stands at its lower edge.
///
/// The smallest type is tried first: what does not fit then does not fit at all. Between the two ends the size is halved in
/// on, so that a label is set a few times and not at every size.
///
/// # Errors
/// [`Unfit::TooSmall`] with the height that the smallest type needs, [`Unfit::Letter`] for a character without a glyph.
pub fn boxed(width: f64, room: f64, floor: f64, blocks: &[Block], foot: &[Block]) -> Result<Vec<Mark>, Unfit> {
    if let Some((letter, words)) = missing_letter(blocks).or_else(|| missing_letter(foot)) {
        return Err(Unfit::Letter { letter, words });
    }
    let set = |scale: f64| (stacked(blocks, width, scale), stacked(foot, width, scale));
    let needs = |(body, foot): &(Vec<Strip>, Vec<Strip>)| height(body) + height(foot);
    let scales: Vec<f64> = scales(floor).collect();
    let (mut fits, mut too_large) = (scales.len() - 1, None);
    let mut best = set(scales[fits]);
    if needs(&best) > room + 1e-6 {
        return Err(Unfit::TooSmall { needs: needs(&best), has: room });
    }
    while fits > too_large.map_or(0, |at: usize| at + 1) {
        let middle = too_large.map_or(0, |at| at + 1).midpoint(fits);
        let tried = set(scales[middle]);
        if needs(&tried) <= room + 1e-6 {
            (fits, best) = (middle, tried);
        } else {
            too_large = Some(middle);
        }
    }
    let (body, foot) = best;
    let at = room - height(&foot);
    let mut marks = joined(body);
    marks.extend(joined(foot).into_iter().map(|mark| mark.shifted(0.0, at)));
    Ok(marks)
}

/// Full size, then smaller by steps, the floor last.
fn scales(floor: f64) -> impl Iterator<Item = f64> {
    let stepped =
        std::iter::successors(Some(1.0), |scale| Some(scale * STEP)).take_while(move |scale| *scale > floor + 1e-9);
    stepped.chain((floor < 1.0).then_some(floor)).chain((floor >= 1.0).then_some(1.0))
}

/// Strips laid on pages.
struct Paginated {
    pages: Vec<Vec<Strip>>,
    /// Parts that belong together and were torn, being higher than a page.
    torn: usize,
}

impl Paginated {
    /// Fewer pages first, then fewer torn parts.
    fn rank(&self) -> (usize, usize) {
        (self.pages.len(), self.torn)
    }
}

fn paginated(strips: Vec<Strip>, first: f64, later: f64) -> Result<Paginated, Unfit> {
    let mut pages: Vec<Vec<Strip>> = Vec::new();
    let mut page: Vec<Strip> = Vec::new();
    let mut used = 0.0;
    let mut room = first;
    let (groups, torn) = groups(strips, first, later);
    for group in groups {
        let high = height(&group);
        if used + high > room + 1e-6 && !page.is_empty() {
            pages.push(std::mem::take(&mut page));
            (used, room) = (0.0, later);
        }
        let mut group = group;
        if page.is_empty() {
            while group.first().is_some_and(|strip| strip.blank) {
                group.remove(0);
            }
            // A head that leaves no room for its row is left out.
            let head = group.first().and_then(|strip| strip.head.clone()).filter(|_| !pages.is_empty());
            if let Some(head) = head.filter(|head| height(head) + height(&group) <= room + 1e-6) {
                used += height(&head);
                page.extend(head.iter().cloned());
            }
        }
        used += height(&group);
        if used > room + 1e-6 {
            return Err(Unfit::TooHigh(high));
        }
        page.extend(group);
    }
    if !page.is_empty() || pages.is_empty() {
        pages.push(page);
    }
    Ok(Paginated { pages, torn })
}

/// Strips that stay together, and how many parts had to be torn for it.
fn groups(strips: Vec<Strip>, first: f64, later: f64) -> (Vec<Vec<Strip>>, usize) {
    let mut torn = 0;
    let mut groups = Vec::new();
    for (number, group) in split(strips, 0).into_iter().enumerate() {
        let room = if number == 0 { first } else { later };
        groups.extend(fitted(group, room, &mut torn));
    }
    (groups, torn)
}

/// A group, or its parts if it is higher than a page: torn where its strips hold on to each other least.
fn fitted(group: Vec<Strip>, room: f64, torn: &mut usize) -> Vec<Vec<Strip>> {
    let head = group.first().and_then(|strip| strip.head.as_ref()).map_or(0.0, |head| height(head));
    let holds = group.iter().rev().skip(1).map(|strip| strip.keep).min();
    match holds {
        Some(holds) if height(&group) + head > room => {
            *torn += 1;
            split(group, holds).into_iter().flat_map(|part| fitted(part, room, torn)).collect()
        }
        _ => vec![group],
    }
}

/// Strips cut after each one that holds on to the next no more than this.
fn split(strips: Vec<Strip>, holds: u8) -> Vec<Vec<Strip>> {
    let mut groups = Vec::new();
    let mut group: Vec<Strip> = Vec::new();
    for strip in strips {
        let lets_go = strip.keep <= holds;
        group.push(strip);
        if lets_go {
            groups.push(std::mem::take(&mut group));
        }
    }
    if !group.is_empty() {
        groups.push(group);
    }
    groups
}

fn numbered(blocks: &[Block], page: usize, pages: usize) -> Vec<Block> {
    blocks
        .iter()
        .cloned()
        .map(|block| match block {
            Block::Text(mut text) => {
                for span in &mut text.spans {
                    span.text = span.text.replace("{pages}", &pages.to_string()).replace("{page}", &page.to_string());
                }
                Block::Text(text)
            }
            Block::Row(mut row) => {
                row.cells =
                    row.cells.into_iter().map(|(width, blocks)| (width, numbered(&blocks, page, pages))).collect();
                Block::Row(row)
            }
            other => other,
        })
        .collect()
}
