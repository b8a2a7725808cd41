//! The page layer: drawings, fonts, lines, pages, files. What is on them is read back with poppler and qpdf.

mod chart;
mod document;
mod flow;
mod fonts;
mod pictures;
mod wrap;

use brimstock::render::pdf::document::Document;
use brimstock::render::pdf::{Face, Ink, Mark, Page};
use chrono::NaiveDate;
use proptest::prelude::ProptestConfig;
use proptest::test_runner::RngSeed;

/// The same cases in every run.
fn cases(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, rng_seed: RngSeed::Fixed(20_310_306), ..Default::default() }
}

/// A document of a day.
fn document(pages: Vec<Page>) -> Document {
    let day = NaiveDate::from_ymd_opt(2031, 3, 6).unwrap();
    Document { title: "Título ≈ Ω".to_owned(), author: "Estante de Łódź".to_owned(), language: "es", day, pages }
}

/// A run of black text, mm and points.
fn run(face: Face, x: f64, y: f64, size: f64, text: &str) -> Mark {
    Mark::Text { x, y, size, face, ink: Ink::Black, text: text.to_owned() }
}

/// A document as a file in a folder that lasts as long as the answer's second part.
fn file(document: &Document) -> (std::path::PathBuf, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("paper.pdf");
    std::fs::write(&path, document.bytes().unwrap()).unwrap();
    (path, folder)
}
