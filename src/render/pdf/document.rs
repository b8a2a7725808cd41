//! Pages into a file: fonts cut down to what is used, drawings stored once, no clock and no chance in any byte.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use chrono::NaiveDate;
use kurbo::{Affine, BezPath, PathEl};
use lopdf::{Object, StringFormat, dictionary};
use printpdf::{
    DictItem, ExternalStream, ExternalXObject, Mm, Op, PdfDocument, PdfFontHandle, PdfPage, PdfSaveOptions, Pt,
    TextItem, TextMatrix, XObject, XObjectId, XObjectTransform,
};
use sha2::{Digest, Sha256};

use super::picture::{self, Picture, SIDE};
use super::{Face, Ink, MM_PER_PT, Mark, Page, Paint};

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
        for (face, letters) in self.letters() {
            document.resources.fonts.map.insert(face.id(), face.subset(&letters));
        }
        for name in self.pictures() {
            document.resources.xobjects.map.insert(XObjectId(name.to_owned()), form(&picture::all()[name]));
        }
        document.pages = self.pages.iter().map(drawn).collect();
        let mut warnings = Vec::new();
        let options = PdfSaveOptions { optimize: false, subset_fonts: false, secure: false, image_optimization: None };
        let file = document.to_lopdf_document(&options, &mut warnings);
        match warnings.first() {
            Some(warning) => Err(format!("{warning:?}")),
            None => self.finished(file),
        }
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
        let mut first = Vec::new();
        file.save_to(&mut first).map_err(|error| error.to_string())?;
        let mark = Object::String(Sha256::digest(&first)[..16].to_vec(), StringFormat::Hexadecimal);
        file.trailer.set("ID", vec![mark.clone(), mark]);
        let mut bytes = Vec::with_capacity(first.len());
        file.save_to(&mut bytes).map_err(|error| error.to_string())?;
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

/// A text string of the format: UTF-16 with its mark.
fn text(words: &str) -> Object {
    let units = std::iter::once(0xFEFF).chain(words.encode_utf16());
    Object::String(units.flat_map(u16::to_be_bytes).collect(), StringFormat::Hexadecimal)
}

/// A length as the format has it: points, to a thousandth.
fn points(mm: f64) -> f64 {
    libm::round(mm / MM_PER_PT * 1000.0) / 1000.0
}

fn number(value: f64) -> DictItem {
    DictItem::Real((libm::round(value * 1000.0) / 1000.0) as f32)
}

/// A drawing as a form that pages refer to.
fn form(picture: &Picture) -> XObject {
    let mut content = String::new();
    for (path, fill) in &picture.paths {
        let (r, g, b) = rgb(fill.ink);
        let _ = writeln!(content, "{r} {g} {b} rg");
        // The format counts y upwards.
        let flipped = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, SIDE]) * path.clone();
        for (operator, numbers) in operators(&flipped) {
            for value in numbers {
                let _ = write!(content, "{} ", libm::round(value * 1000.0) / 1000.0);
            }
            let _ = writeln!(content, "{operator}");
        }
        let _ = writeln!(content, "{}", if fill.even_odd { "f*" } else { "f" });
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

/// A path as operators of the format with their numbers; a curve of two ends and one handle is raised to two handles.
fn operators(path: &BezPath) -> Vec<(&'static str, Vec<f64>)> {
    let mut from = kurbo::Point::ZERO;
    let mut start = from;
    path.elements()
        .iter()
        .map(|element| match *element {
            PathEl::MoveTo(to) => {
                (from, start) = (to, to);
                ("m", vec![to.x, to.y])
            }
            PathEl::LineTo(to) => {
                from = to;
                ("l", vec![to.x, to.y])
            }
            PathEl::QuadTo(handle, to) => {
                let (a, b) = (from + (handle - from) * (2.0 / 3.0), to + (handle - to) * (2.0 / 3.0));
                from = to;
                ("c", vec![a.x, a.y, b.x, b.y, to.x, to.y])
            }
            PathEl::CurveTo(a, b, to) => {
                from = to;
                ("c", vec![a.x, a.y, b.x, b.y, to.x, to.y])
            }
            PathEl::ClosePath => {
                from = start;
                ("h", Vec::new())
            }
        })
        .collect()
}

fn operator(key: &str, numbers: &[f64]) -> Op {
    Op::Unknown { key: key.to_owned(), value: numbers.iter().map(|value| number(*value)).collect() }
}

fn colour(key: &str, ink: Ink) -> Op {
    let (r, g, b) = rgb(ink);
    operator(key, &[f64::from(r), f64::from(g), f64::from(b)])
}

fn drawn(page: &Page) -> PdfPage {
    let mut pen = Pen { height: page.height, ops: Vec::new(), ink: None };
    for mark in &page.marks {
        pen.draw(mark);
    }
    PdfPage::new(Mm(page.width as f32), Mm(page.height as f32), pen.ops)
}

/// Writes the operations of a page.
struct Pen {
    height: f64,
    ops: Vec<Op>,
    /// The ink that areas and letters are filled with by now.
    ink: Option<Ink>,
}

impl Pen {
    fn up(&self, y: f64) -> f64 {
        points(self.height - y)
    }

    fn fill(&mut self, ink: Ink) {
        if self.ink != Some(ink) {
            self.ops.push(colour("rg", ink));
            self.ink = Some(ink);
        }
    }

    fn draw(&mut self, mark: &Mark) {
        match mark {
            Mark::Text { x, y, size, face, ink, text } => {
                self.fill(*ink);
                let at = TextMatrix::Raw([1.0, 0.0, 0.0, 1.0, points(*x) as f32, self.up(*y) as f32]);
                let size = Pt((libm::round(size * 1000.0) / 1000.0) as f32);
                self.ops.extend([
                    Op::StartTextSection,
                    Op::SetFont { font: PdfFontHandle::External(face.id()), size },
                    Op::SetTextMatrix { matrix: at },
                    Op::ShowText { items: vec![TextItem::Text(text.clone())] },
                    Op::EndTextSection,
                ]);
            }
            Mark::Path { path, paint } => self.path(path, *paint),
            Mark::Picture { name, x, y, side } => {
                let scale = (side / MM_PER_PT / SIDE) as f32;
                self.ops.push(Op::UseXobject {
                    id: XObjectId((*name).to_owned()),
                    transform: XObjectTransform {
                        translate_x: Some(Pt(points(*x) as f32)),
                        translate_y: Some(Pt(self.up(y + side) as f32)),
                        scale_x: Some(scale),
                        scale_y: Some(scale),
                        no_auto_scale: true,
                        ..XObjectTransform::default()
                    },
                });
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
                self.ops.push(colour("RG", ink));
                self.ops.push(operator("w", &[points(thickness)]));
            }
            Paint::Dashed(ink, thickness, dash) => {
                self.ops.push(Op::SaveGraphicsState);
                self.ops.push(colour("RG", ink));
                self.ops.push(operator("w", &[points(thickness)]));
                let dash = DictItem::Array(vec![number(points(dash)), number(points(dash))]);
                self.ops.push(Op::Unknown { key: "d".to_owned(), value: vec![dash, DictItem::Int(0)] });
            }
        }
        self.ops.extend(operators(&placed).into_iter().map(|(key, numbers)| operator(key, &numbers)));
        match paint {
            Paint::Fill(_) => self.ops.push(operator("f*", &[])),
            Paint::Stroke(..) => self.ops.push(operator("S", &[])),
            Paint::Dashed(..) => {
                self.ops.push(operator("S", &[]));
                self.ops.push(Op::RestoreGraphicsState);
            }
        }
    }
}
