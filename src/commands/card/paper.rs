//! Paper: the sizes that are known, labels of any size, and labels tiled on a sheet.

use super::Card;
use crate::commands::Problem;

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Paper {
    /// 210 × 297 mm.
    A4,
    /// 148 × 210 mm.
    A5,
    /// 105 × 148 mm.
    A6,
    /// 215.9 × 279.4 mm.
    Letter,
    /// A label, mm.
    Label {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
    },
}

/// The sides that a label can have, mm.
const LABEL_SIDES: std::ops::RangeInclusive<f64> = 20.0..=400.0;

impl Paper {
    /// Width and height, mm. Source: `iso-216` for A4, A5 and A6; a Letter is 8.5 by 11 inches.
    #[must_use]
    pub fn size(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::A5 => (148.0, 210.0),
            Paper::A6 => (105.0, 148.0),
            Paper::Letter => (215.9, 279.4),
            Paper::Label { width, height } => (width, height),
        }
    }
}

/// Reads a size of paper.
///
/// # Errors
/// For a word that is none, with those that are known.
pub fn read(word: &str) -> Result<Paper, String> {
    match word.to_lowercase().as_str() {
        "a4" => Ok(Paper::A4),
        "a5" => Ok(Paper::A5),
        "a6" => Ok(Paper::A6),
        "letter" => Ok(Paper::Letter),
        other => {
            let label = other.strip_prefix("label-").ok_or_else(|| {
                format!("`{word}` is no paper; accepted: a4, a5, a6, letter, label-WxH in millimetres, as label-74x52")
            })?;
            let (width, height) = pair(label)?;
            if LABEL_SIDES.contains(&width) && LABEL_SIDES.contains(&height) {
                Ok(Paper::Label { width, height })
            } else {
                Err(format!("`{word}`: a label has sides of {} to {} mm", LABEL_SIDES.start(), LABEL_SIDES.end()))
            }
        }
    }
}

/// Reads two lengths in millimetres, `74x52`.
///
/// # Errors
/// For anything else.
pub fn pair(word: &str) -> Result<(f64, f64), String> {
    let number = |part: &str| part.trim().parse::<f64>().ok().filter(|mm| mm.is_finite() && *mm >= 0.0);
    let plain = word.to_lowercase();
    let plain = plain.trim_end_matches("mm");
    plain
        .split_once(['x', '×'])
        .and_then(|(first, second)| Some((number(first)?, number(second)?)))
        .ok_or_else(|| format!("`{word}` is not two lengths in millimetres, as 74x52"))
}

/// How labels are tiled on a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tiles {
    /// The sheet.
    pub sheet: Paper,
    /// Where the first label begins, from left and top, mm; in the middle of what is left if it was not said.
    pub from: Option<(f64, f64)>,
    /// White between labels, across and down, mm.
    pub gap: (f64, f64),
    /// How many labels are used up already.
    pub skip: usize,
}

/// The tiling that was asked for.
///
/// # Errors
/// For a sheet that is itself a label.
pub fn tiles(card: &Card) -> Result<Option<Tiles>, Problem> {
    let Some(sheet) = card.sheet else { return Ok(None) };
    if matches!(sheet, Paper::Label { .. }) {
        return Err(
            Problem::question("`--sheet` is the whole sheet, not one label").hint("accepted: a4, a5, a6, letter")
        );
    }
    Ok(Some(Tiles { sheet, from: card.from, gap: card.gap.unwrap_or_default(), skip: card.skip.unwrap_or_default() }))
}
