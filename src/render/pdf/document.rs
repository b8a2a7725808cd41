//! Pages into a file: fonts cut down to what is used, drawings stored once, no clock and no chance in any byte.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::io::Write as _;

use chrono::NaiveDate;
use flate2::Compression;
use flate2::write::ZlibEncoder;
use kurbo::{Affine, BezPath, PathEl, Point};
use lopdf::{Object, Stream, StringFormat, dictionary};
use printpdf::{
    DictItem, ExternalStream, ExternalXObject, Mm, Op, PdfDocument, PdfFontHandle, PdfPage, PdfSaveOptions, Pt,
    TextItem, XObject, XObjectId,
};
use sha2::{Digest, Sha256};

use super::picture::{self, Picture, SIDE};
use super::{Face, Ink, MM_PER_PT, Mark, Page, Paint};

/// How tightly pages are packed, of 1 to 9.
const PACKING: u32 = 3;

/// A document and what it says of itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Title.
    pub title: String,
    /// Whose cards they are: the register's name.
    pub author: String,
    /// `en` or `es`.
    pub language: &'static str,
    /// The day of the question, which stands for the day on which it was made.
    pub day: NaiveDate,
    /// The pages.
    pub pages: Vec<Page>,
}

impl Document {
    /// The file. The same document gives the same bytes.
    ///
    /// # Errors
    /// What the writer complains of; nothing does with the marks of this module.
    pub fn bytes(&self) -> Result<Vec<u8>, String> {
        let mut document = PdfDocument::new(&self.title);
        let mut glyphs = Glyphs::new();
        let mut used = Vec::new();
        for (face, letters) in self.letters() {
            let (font, of_letter) = face.subset(&letters);
            document.resources.fonts.map.insert(face.id(), font);
            glyphs.insert(face, of_letter);
            // The library embeds the letters that its own operations show.
            used.extend([
                Op::StartTextSection,
                Op::SetFont { font: PdfFontHandle::External(face.id()), size: Pt(1.0) },
                Op::ShowText { items: vec![TextItem::Text(letters.into_iter().collect())] },
                Op::EndTextSection,
            ]);
        }
        for name in self.pictures() {
            document.resources.xobjects.map.insert(XObjectId(name.to_owned()), form(&picture::all()[name]));
        }
        let size = |mm: f64| Mm(mm as f32);
        document.pages = self
            .pages
            .iter()
            .map(|page| PdfPage::new(size(page.width), size(page.height), std::mem::take(&mut used)))
            .collect();
        let mut warnings = Vec::new();
        let options = PdfSaveOptions { optimize: false, subset_fonts: false, secure: false, image_optimization: None };
        let mut file = document.to_lopdf_document(&options, &mut warnings);
        drop(document);
        if let Some(warning) = warnings.first() {
            return Err(format!("{warning:?}"));
        }
        self.draw(&mut file, &glyphs).map_err(|error| error.to_string())?;
        self.finished(file)
    }

    /// Puts on each page of the file what is on it.
    fn draw(&self, file: &mut lopdf::Document, glyphs: &Glyphs) -> Result<(), lopdf::Error> {
        let ids: Vec<lopdf::ObjectId> = file.get_pages().into_values().collect();
        for (id, page) in ids.into_iter().zip(&self.pages) {
            let stream = packed(&drawn(page, glyphs))?;
            let content = file.get_dictionary(id)?.get(b"Contents")?.as_reference()?;
            file.set_object(content, stream);
        }
        Ok(())
    }

    fn letters(&self) -> BTreeMap<Face, BTreeSet<char>> {
        let mut letters: BTreeMap<Face, BTreeSet<char>> = BTreeMap::new();
        for mark in self.pages.iter().flat_map(|page| &page.marks) {
            if let Mark::Text { face, text, .. } = mark {
                letters.entry(*face).or_default().extend(text.chars());
            }
        }
        letters
    }

    fn pictures(&self) -> BTreeSet<&'static str> {
        let marks = self.pages.iter().flat_map(|page| &page.marks);
        marks.filter_map(|mark| if let Mark::Picture { name, .. } = mark { Some(*name) } else { None }).collect()
    }

    /// What the page library leaves out or leaves to chance: language, bookmarks, dates, the file's mark.
    fn finished(&self, mut file: lopdf::Document) -> Result<Vec<u8>, String> {
        let fault = |error: lopdf::Error| error.to_string();
        file.version = "1.7".to_owned();
        let outlines = self.outlines(&mut file);
        let catalog = file.catalog_mut().map_err(fault)?;
        catalog.set("Lang", text(self.language));
        catalog.set("ViewerPreferences", dictionary! { "DisplayDocTitle" => true });
        catalog.set("PageLayout", Object::Name(b"SinglePage".to_vec()));
        if let Some(outlines) = outlines {
            catalog.set("Outlines", outlines);
            catalog.set("PageMode", Object::Name(b"UseOutlines".to_vec()));
        }
        let stamp = Object::string_literal(format!("D:{}000000Z", self.day.format("%Y%m%d")));
        let info = dictionary! {
            "Title" => text(&self.title),
            "Author" => text(&self.author),
            "Creator" => text("brimstock"),
            "Producer" => text("brimstock"),
            "CreationDate" => stamp.clone(),
            "ModDate" => stamp,
        };
        let info = file.add_object(info);
        file.trailer.set("Info", info);
        let blank = Object::String(vec![0; 16], StringFormat::Hexadecimal);
        file.trailer.set("ID", vec![blank.clone(), blank]);
        file.prune_objects();
        file.compress();
        let mut bytes = Vec::new();
        file.save_to(&mut bytes).map_err(|error| error.to_string())?;
        mark(&mut bytes);
        Ok(bytes)
    }

    /// The tree of bookmarks, two levels deep.
    fn outlines(&self, file: &mut lopdf::Document) -> Option<Object> {
        let pages: Vec<lopdf::ObjectId> = file.get_pages().into_values().collect();
        let mut roots: Vec<Entry> = Vec::new();
        for (page, id) in self.pages.iter().zip(pages) {
            for mark in &page.marks {
                let Mark::Bookmark { level, title } = mark else { continue };
                let entry = Entry { title: title.clone(), page: id, inner: Vec::new() };
                match roots.last_mut().filter(|_| *level > 0) {
                    Some(root) => root.inner.push(entry),
                    None => roots.push(entry),
                }
            }
        }
        if roots.is_empty() {
            return None;
        }
        let root = file.new_object_id();
        let (first, last) = hang(file, root, &roots)?;
        let many = roots.len() as i64;
        file.set_object(root, dictionary! { "Type" => "Outlines", "First" => first, "Last" => last, "Count" => many });
        Some(Object::Reference(root))
    }
}

/// A bookmark.
struct Entry {
    title: String,
    page: lopdf::ObjectId,
    inner: Vec<Entry>,
}

/// Writes bookmarks under their parent; the first and the last of them.
fn hang(file: &mut lopdf::Document, parent: lopdf::ObjectId, entries: &[Entry]) -> Option<(Object, Object)> {
    let ids: Vec<lopdf::ObjectId> = entries.iter().map(|_| file.new_object_id()).collect();
    for (at, entry) in entries.iter().enumerate() {
        let mut row = dictionary! {
            "Title" => text(&entry.title),
            "Parent" => parent,
            "Dest" => vec![Object::Reference(entry.page), "XYZ".into(), Object::Null, Object::Null, Object::Null],
        };
        if let Some(before) = at.checked_sub(1) {
            row.set("Prev", ids[before]);
        }
        if let Some(after) = ids.get(at + 1) {
            row.set("Next", *after);
        }
        if let Some((first, last)) = hang(file, ids[at], &entry.inner) {
            row.set("First", first);
            row.set("Last", last);
            row.set("Count", -(entry.inner.len() as i64));
        }
        file.set_object(ids[at], row);
    }
    Some((Object::Reference(*ids.first()?), Object::Reference(*ids.last()?)))
}

/// A stream packed lightly: the tightest packing took an eighth of the time of many labels.
fn packed(content: &[u8]) -> Result<Stream, lopdf::Error> {
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::new(PACKING));
    packer.write_all(content)?;
    Ok(Stream::new(dictionary! { "Filter" => "FlateDecode" }, packer.finish()?))
}

/// A text string of the format: UTF-16 with its mark.
fn text(words: &str) -> Object {
    let units = std::iter::once(0xFEFF).chain(words.encode_utf16());
    Object::String(units.flat_map(u16::to_be_bytes).collect(), StringFormat::Hexadecimal)
}

/// Marks a file by what is in it: writes both halves of its `ID`, which were saved as noughts.
fn mark(bytes: &mut [u8]) {
    let mut hex = String::new();
    for byte in &Sha256::digest(&*bytes)[..16] {
        let _ = write!(hex, "{byte:02X}");
    }
    let blank = [b'0'; 32];
    for _half in 0..2 {
        if let Some(at) = bytes.windows(blank.len()).rposition(|window| *window == blank) {
            bytes[at..at + blank.len()].copy_from_slice(hex.as_bytes());
        }
    }
}

/// A length as the format has it: points.
fn points(mm: f64) -> f64 {
    mm / MM_PER_PT
}

/// A drawing as a form that pages refer to.
fn form(picture: &Picture) -> XObject {
    let mut content = String::new();
    for (path, fill) in &picture.paths {
        let (r, g, b) = rgb(fill.ink);
        let _ = writeln!(content, "{r} {g} {b} rg");
        // The format counts y upwards.
        let flipped = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, SIDE]) * path.clone();
        outline(&mut content, &flipped);
        operator(&mut content, &[], if fill.even_odd { "f*" } else { "f" });
    }
    let side = || DictItem::Real(SIDE as f32);
    let zero = || DictItem::Int(0);
    let dict = BTreeMap::from([
        ("Type".to_owned(), DictItem::Name(b"XObject".to_vec())),
        ("Subtype".to_owned(), DictItem::Name(b"Form".to_vec())),
        ("BBox".to_owned(), DictItem::Array(vec![zero(), zero(), side(), side()])),
    ]);
    let stream = ExternalStream { dict, content: content.into_bytes(), compress: true };
    XObject::External(ExternalXObject { stream, width: None, height: None, dpi: None })
}

fn rgb(ink: Ink) -> (f32, f32, f32) {
    match ink {
        Ink::Black => (0.0, 0.0, 0.0),
        Ink::White => (1.0, 1.0, 1.0),
        Ink::Grey(part) => (part, part, part),
        Ink::Red => (1.0, 0.0, 0.0),
    }
}

/// Writes an operator of the format after its numbers, each to a thousandth.
fn operator(content: &mut String, numbers: &[f64], operator: &str) {
    for value in numbers {
        let thousandths = libm::round(value * 1000.0) as i64;
        let (whole, part) = (thousandths.unsigned_abs() / 1000, thousandths.unsigned_abs() % 1000);
        if thousandths < 0 {
            content.push('-');
        }
        let _ = write!(content, "{whole}");
        if part > 0 {
            let digits = format!("{part:03}");
            content.push('.');
            content.push_str(digits.trim_end_matches('0'));
        }
        content.push(' ');
    }
    content.push_str(operator);
    content.push('\n');
}

/// Writes a path; a curve of two ends and one handle is raised to two handles.
fn outline(content: &mut String, path: &BezPath) {
    let mut from = Point::ZERO;
    let mut start = from;
    for element in path.elements() {
        let to = match *element {
            PathEl::MoveTo(to) => {
                start = to;
                operator(content, &[to.x, to.y], "m");
                to
            }
            PathEl::LineTo(to) => {
                operator(content, &[to.x, to.y], "l");
                to
            }
            PathEl::QuadTo(handle, to) => {
                let (a, b) = (from + (handle - from) * (2.0 / 3.0), to + (handle - to) * (2.0 / 3.0));
                operator(content, &[a.x, a.y, b.x, b.y, to.x, to.y], "c");
                to
            }
            PathEl::CurveTo(a, b, to) => {
                operator(content, &[a.x, a.y, b.x, b.y, to.x, to.y], "c");
                to
            }
            PathEl::ClosePath => {
                operator(content, &[], "h");
                start
            }
        };
        from = to;
    }
}

/// The glyph of each letter in the part of a face that a file has.
type Glyphs = BTreeMap<Face, BTreeMap<char, u16>>;

/// What a page shows, in the words of the format.
fn drawn(page: &Page, glyphs: &Glyphs) -> Vec<u8> {
    let mut pen = Pen { height: page.height, content: String::new(), glyphs, ink: None };
    for mark in &page.marks {
        pen.draw(mark);
    }
    pen.content.into_bytes()
}

/// Writes what is on a page.
struct Pen<'a> {
    height: f64,
    content: String,
    glyphs: &'a Glyphs,
    /// The ink that areas and letters are filled with by now.
    ink: Option<Ink>,
}

impl Pen<'_> {
    fn up(&self, y: f64) -> f64 {
        points(self.height - y)
    }

    fn write(&mut self, numbers: &[f64], word: &str) {
        operator(&mut self.content, numbers, word);
    }

    fn colour(&mut self, ink: Ink, word: &str) {
        let (r, g, b) = rgb(ink);
        self.write(&[r, g, b].map(f64::from), word);
    }

    fn fill(&mut self, ink: Ink) {
        if self.ink != Some(ink) {
            self.colour(ink, "rg");
            self.ink = Some(ink);
        }
    }

    fn draw(&mut self, mark: &Mark) {
        match mark {
            Mark::Text { x, y, size, face, ink, text } => {
                self.fill(*ink);
                let _ = write!(self.content, "BT\n/{} ", face.id().0);
                self.write(&[*size], "Tf");
                self.write(&[points(*x), self.up(*y)], "Td");
                self.content.push('<');
                let glyphs = self.glyphs.get(face);
                for letter in text.chars() {
                    let glyph = glyphs.and_then(|glyphs| glyphs.get(&letter)).copied().unwrap_or(0);
                    let _ = write!(self.content, "{glyph:04X}");
                }
                self.content.push_str("> Tj\nET\n");
            }
            Mark::Path { path, paint } => self.path(path, *paint),
            Mark::Picture { name, x, y, side } => {
                let scale = side / MM_PER_PT / SIDE;
                self.write(&[], "q");
                // A thousandth is too coarse for a scale.
                let _ = write!(self.content, "{scale:.6} 0 0 {scale:.6} ");
                self.write(&[points(*x), self.up(y + side)], "cm");
                let _ = write!(self.content, "/{name} Do\nQ\n");
            }
            Mark::Code { code, x, y, side } => {
                self.fill(Ink::Black);
                for black in code.black(*side) {
                    let (left, low) = (points(x + black.x0), self.up(y + black.y1));
                    self.write(&[left, low, points(black.width()), points(black.height())], "re");
                }
                self.write(&[], "f");
            }
            Mark::Bookmark { .. } => {}
        }
    }

    fn path(&mut self, path: &BezPath, paint: Paint) {
        let scale = 1.0 / MM_PER_PT;
        let placed = Affine::new([scale, 0.0, 0.0, -scale, 0.0, self.height * scale]) * path.clone();
        match paint {
            Paint::Fill(ink) => self.fill(ink),
            Paint::Stroke(ink, thickness) => {
                self.colour(ink, "RG");
                self.write(&[points(thickness)], "w");
            }
            Paint::Dashed(ink, thickness, dash) => {
                self.write(&[], "q");
                self.colour(ink, "RG");
                self.write(&[points(thickness)], "w");
                self.content.push('[');
                self.write(&[points(dash), points(dash)], "] 0 d");
            }
        }
        outline(&mut self.content, &placed);
        match paint {
            Paint::Fill(_) => self.write(&[], "f*"),
            Paint::Stroke(..) => self.write(&[], "S"),
            Paint::Dashed(..) => self.write(&[], "S\nQ"),
        }
    }
}
