//! The faces have every character that is printed, and none is taken for another.

use std::collections::BTreeSet;

use brimstock::render::pdf::font::{composed, missing};
use brimstock::render::pdf::{Face, Mark, Page};

use super::{document, file, run};
use crate::cards::tool;

/// What words on cards come from.
const FILES: [&str; 14] = [
    "assays.toml",
    "cards.en.toml",
    "cards.es.toml",
    "care.toml",
    "dips.toml",
    "disposal.toml",
    "keep-apart.toml",
    "labels.toml",
    "light.toml",
    "neutralise.toml",
    "sources.toml",
    "statements.toml",
    "texts.es.toml",
    "reagents",
];

/// Every character of the files that words on cards come from, and the signs that the layout sets itself.
fn printed() -> BTreeSet<char> {
    let mut letters: BTreeSet<char> = "☐≈–—…·!\u{a0}₀₁₂₃₄₅₆₇₈₉°µ×≥≤".chars().collect();
    for name in FILES {
        let path = std::path::Path::new("hazards").join(name);
        let paths: Vec<std::path::PathBuf> = match path.is_dir() {
            true => std::fs::read_dir(path).unwrap().map(|entry| entry.unwrap().path()).collect(),
            false => vec![path],
        };
        for path in paths {
            letters.extend(composed(&std::fs::read_to_string(&path).unwrap()).chars());
        }
    }
    letters
}

#[test]
fn both_faces_have_every_character_of_the_data() {
    let lacking: Vec<char> = printed().into_iter().filter(|letter| missing(&letter.to_string()).is_some()).collect();
    assert!(lacking.is_empty(), "{lacking:?}");
}

#[test]
fn a_character_that_is_not_there_is_named() {
    assert_eq!(missing("Łódź, Ωμέγα, Жёлтый, H₂O₂, e\u{301}"), None);
    assert_eq!(missing("salt 塩 شب"), Some('塩'));
    assert_eq!(missing("שלט"), None.or(missing("ש")), "both faces are asked");
}

#[test]
fn every_character_comes_back_as_itself() {
    // Greek, Cyrillic and Latin names of keepers beside what the data hold; blanks are not told apart in extraction.
    let names: String = ('\u{a1}'..='\u{17f}').chain('Α'..='ω').chain('А'..='я').collect();
    let mut letters: BTreeSet<char> = printed().into_iter().chain(composed(&names).chars()).collect();
    letters.retain(|letter| !letter.is_whitespace() && *letter != '\u{ad}' && missing(&letter.to_string()).is_none());
    let letters: Vec<char> = letters.into_iter().collect();
    let mut pages = Vec::new();
    let lines: Vec<String> = letters.chunks(16).map(|part| part.iter().flat_map(|one| [*one, ' ']).collect()).collect();
    for face in Face::BOTH {
        for part in lines.chunks(40) {
            let line = |(at, text): (usize, &String)| run(face, 10.0, 12.0 + 7.0 * at as f64, 10.0, text);
            let marks: Vec<Mark> = part.iter().enumerate().map(line).collect();
            pages.push(Page { width: 210.0, height: 297.0, marks });
        }
    }
    let (path, _folder) = file(&document(pages));
    let text = tool("pdftotext", &["-raw", path.to_str().unwrap(), "-"]);
    let found: Vec<char> = text.chars().filter(|letter| !letter.is_whitespace()).collect();
    let wanted: Vec<char> = letters.iter().chain(&letters).copied().collect();
    let first = found.iter().zip(&wanted).position(|(found, wanted)| found != wanted);
    assert_eq!(first.map(|at| (found[at], wanted[at])), None);
    assert_eq!(found.len(), wanted.len());
}

#[test]
fn widths_are_those_of_the_table() {
    // The digits of the condensed face are 1303 of 2048 units wide: 572.9 thousandths of the upright one times 0.9.
    let digit = Face::Regular.width("0", 1000.0) / (25.4 / 72.0);
    assert!((digit - 572.0).abs() < 1.5, "{digit}");
    let one = Face::Bold.width("m", 10.0);
    assert!((Face::Bold.width("mm", 20.0) - 4.0 * one).abs() < 1e-9);
    assert_eq!(Face::Regular.width("", 10.0), 0.0);
}
