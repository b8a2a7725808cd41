//! The compiled-in drawings of `hazards/pictograms/`: hazard symbols, and our own signs for what to wear and how to store.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use kurbo::BezPath;

use super::Ink;

/// Side of the square in which every drawing is made.
pub const SIDE: f64 = 100.0;

/// A drawing: filled paths, the later over the earlier.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// What it shows.
    pub title: String,
    /// Paths in a square of [`SIDE`], y downwards.
    pub paths: Vec<(BezPath, Fill)>,
}

/// How a path of a drawing is filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// Ink.
    pub ink: Ink,
    /// Holes by the even-odd rule; by winding otherwise.
    pub even_odd: bool,
}

/// Name and text of every file, listed by `src/build.rs`.
const PICTOGRAMS: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/pictograms.rs"));

/// Every drawing by its name.
#[must_use]
pub fn all() -> &'static BTreeMap<&'static str, Picture> {
    static ALL: OnceLock<BTreeMap<&'static str, Picture>> = OnceLock::new();
    ALL.get_or_init(|| {
        PICTOGRAMS
            .iter()
            .map(|(name, svg)| match read(svg) {
                Ok(picture) => (*name, picture),
                Err(fault) => panic!("hazards/pictograms/{name}.svg: {fault}; `tests/paper` reads every one"),
            })
            .collect()
    })
}

/// The name under which a drawing is compiled in.
#[must_use]
pub fn name(name: &str) -> Option<&'static str> {
    all().get_key_value(name).map(|(known, _)| *known)
}

/// Reads a drawing: a square `viewBox` of 100, filled paths in black, white or red, nothing else.
///
/// # Errors
/// What the file holds beyond that.
pub fn read(svg: &str) -> Result<Picture, String> {
    let document = roxmltree::Document::parse(svg).map_err(|error| error.to_string())?;
    let root = document.root_element();
    if root.attribute("viewBox") != Some("0 0 100 100") {
        return Err("`viewBox` is not `0 0 100 100`".to_owned());
    }
    let mut picture = Picture { title: String::new(), paths: Vec::new() };
    for node in root.children().filter(roxmltree::Node::is_element) {
        match node.tag_name().name() {
            "title" => picture.title = node.text().unwrap_or_default().to_owned(),
            "path" => picture.paths.push(path(node)?),
            other => return Err(format!("`{other}` is neither `title` nor `path`")),
        }
    }
    if picture.title.is_empty() { Err("no `title`".to_owned()) } else { Ok(picture) }
}

fn path(node: roxmltree::Node) -> Result<(BezPath, Fill), String> {
    let mut fill = Fill { ink: Ink::Black, even_odd: false };
    for attribute in node.attributes() {
        match (attribute.name(), attribute.value()) {
            ("d", _) | ("fill", "black") | ("fill-rule", "nonzero") => {}
            ("fill", "white") => fill.ink = Ink::White,
            ("fill", "red") => fill.ink = Ink::Red,
            ("fill-rule", "evenodd") => fill.even_odd = true,
            (name, value) => return Err(format!("`{name}=\"{value}\"` is not drawn")),
        }
    }
    let path = node.attribute("d").ok_or("a path without `d`")?;
    BezPath::from_svg(path).map(|path| (path, fill)).map_err(|error| format!("`{path}`: {error}"))
}
