//! The two faces that are printed with: which characters they have, how wide they are, and the part of them that a
//! document needs.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use printpdf::{FontId, ParsedFont, PdfFont};
use sha2::{Digest, Sha256};
use subsetter::GlyphRemapper;
use ttf_parser::Face as Table;
use unicode_normalization::{IsNormalized, UnicodeNormalization, is_nfc_quick};

/// Which of the two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// For reading.
    Regular,
    /// For what must be seen first.
    Bold,
}

/// What [`Metrics`] has for a character that the face lacks.
const NONE: u16 = u16::MAX;

/// Widths of a face in thousandths of its size, by code point.
struct Metrics {
    widths: Vec<u16>,
}

impl Metrics {
    fn width(&self, letter: char) -> Option<u16> {
        self.widths.get(letter as usize).copied().filter(|width| *width != NONE)
    }
}

/// Height of a small `x` over the size of the face; 1120 of 2048 units.
pub const X_HEIGHT: f64 = 0.547;
/// From the baseline up to the top of the tallest letters, over the size of the face.
pub const ASCENT: f64 = 0.78;

impl Face {
    /// Both.
    pub const BOTH: [Face; 2] = [Face::Regular, Face::Bold];

    fn bytes(self) -> &'static [u8] {
        match self {
            Face::Regular => include_bytes!("fonts/DejaVuSansCondensed.ttf"),
            Face::Bold => include_bytes!("fonts/DejaVuSansCondensed-Bold.ttf"),
        }
    }

    /// The name under which a document knows it.
    pub(super) fn id(self) -> FontId {
        FontId(match self {
            Face::Regular => "R".to_owned(),
            Face::Bold => "B".to_owned(),
        })
    }

    fn name(self) -> &'static str {
        match self {
            Face::Regular => "DejaVuSansCondensed",
            Face::Bold => "DejaVuSansCondensed-Bold",
        }
    }

    fn metrics(self) -> &'static Metrics {
        static REGULAR: OnceLock<Metrics> = OnceLock::new();
        static BOLD: OnceLock<Metrics> = OnceLock::new();
        let cell = match self {
            Face::Regular => &REGULAR,
            Face::Bold => &BOLD,
        };
        cell.get_or_init(|| Metrics { widths: widths(&self.table()) })
    }

    fn table(self) -> Table<'static> {
        Table::parse(self.bytes(), 0).expect("the compiled-in face is a font; `tests/paper` opens it")
    }

    /// Width of a text, mm, at a size in points.
    ///
    /// Widths are cut to whole thousandths, as the document states them, so that what is measured is what is printed.
    /// `0` at 10 pt is 572 thousandths, 2.02 mm. Source: the font's own table.
    #[must_use]
    pub fn width(self, text: &str, size: f64) -> f64 {
        millimetres(text.chars().map(|letter| self.thousandths(letter)).sum(), size)
    }

    /// Width of a letter, in thousandths of the size.
    pub(super) fn thousandths(self, letter: char) -> u64 {
        u64::from(self.metrics().width(letter).unwrap_or(600))
    }

    /// The part of the face that a document needs, ready to be embedded, and the glyph of each letter in it.
    ///
    /// # Panics
    /// Never with the compiled-in faces.
    pub(super) fn subset(self, letters: &BTreeSet<char>) -> (PdfFont, BTreeMap<char, u16>) {
        let table = self.table();
        let mut remapper = GlyphRemapper::new();
        let glyphs: BTreeMap<char, u16> = letters
            .iter()
            .filter_map(|letter| table.glyph_index(*letter).map(|glyph| (*letter, remapper.remap(glyph.0))))
            .collect();
        let bytes = subsetter::subset(self.bytes(), 0, &remapper).expect("a face that was parsed can be cut down");
        let mut font =
            ParsedFont::from_bytes(&bytes, 0, &mut Vec::new()).expect("what the subsetter wrote is a font again");
        for (letter, glyph) in &glyphs {
            font.set_codepoint_mapping(u32::from(*letter), *glyph);
        }
        font.font_name = Some(format!("{}+{}", tag(letters), self.name()));
        (PdfFont::new(font), glyphs)
    }
}

fn widths(table: &Table) -> Vec<u16> {
    let em = u32::from(table.units_per_em());
    let mut widths = Vec::new();
    let maps =
        table.tables().cmap.into_iter().flat_map(|cmap| cmap.subtables).filter(ttf_parser::cmap::Subtable::is_unicode);
    for map in maps {
        map.codepoints(|point| {
            let Some(letter) = char::from_u32(point) else { return };
            let Some(glyph) = map.glyph_index(point) else { return };
            let advance = u32::from(table.glyph_hor_advance(glyph).unwrap_or_default());
            let at = letter as usize;
            if at >= widths.len() {
                widths.resize(at + 1, NONE);
            }
            widths[at] = u16::try_from(advance * 1000 / em).unwrap_or(NONE);
        });
    }
    widths
}

/// Thousandths of a size in points as millimetres.
pub(super) fn millimetres(thousandths: u64, size: f64) -> f64 {
    thousandths as f64 / 1000.0 * size * super::MM_PER_PT
}

/// Six capitals before the name of a part of a font, as the format asks for; the same letters give the same tag.
fn tag(letters: &BTreeSet<char>) -> String {
    let text: String = letters.iter().collect();
    Sha256::digest(text.as_bytes()).iter().take(6).map(|byte| char::from(b'A' + byte % 26)).collect()
}

/// A text in the form in which the faces have it: accents joined to their letters, tabs and line breaks as spaces.
#[must_use]
pub fn composed(text: &str) -> String {
    if is_composed(text) {
        return text.to_owned();
    }
    text.nfc().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}

/// True if [`composed`] would change nothing, as far as can be told at a glance.
fn is_composed(text: &str) -> bool {
    is_nfc_quick(text.chars()) == IsNormalized::Yes && !text.chars().any(char::is_control)
}

/// The first character of a text that the faces do not have.
#[must_use]
pub fn missing(text: &str) -> Option<char> {
    let faces = Face::BOTH.map(Face::metrics);
    let lacking = |letter: &char| faces.iter().any(|face| face.width(*letter).is_none());
    if is_composed(text) { text.chars().find(lacking) } else { composed(text).chars().find(lacking) }
}
