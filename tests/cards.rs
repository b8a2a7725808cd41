//! Printed cards, read back: with poppler's `pdftotext` and `pdftoppm`, and with `qpdf --check`.

mod bench;
mod bottle;
pub mod golden;
mod handover;
mod shelf;
mod spill;
mod storage;
mod strength;

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::harness::Bench;

/// A card that was printed and holds together by `qpdf`.
pub struct Paper {
    pub path: PathBuf,
    pub pages: usize,
}

/// Prints a card on a day: `card(&bench, "2031-03-06", "bottle S01")`.
#[track_caller]
pub fn card(bench: &Bench, day: &str, line: &str) -> Paper {
    let answer = bench.on(day, &format!("--json card {line} --out card.pdf --force"));
    // A card of a bath that is not ready is printed all the same, and the exit code says so as that of `dose` does.
    assert_eq!(answer.code, i32::from(answer.json()["not_ready"].is_array()), "{answer:?}");
    let path = bench.folder().join("card.pdf");
    tool("qpdf", &["--check", path.to_str().unwrap()]);
    Paper { path, pages: answer.json()["pages"].as_u64().unwrap() as usize }
}

impl Paper {
    /// What stands on it, in reading order, line breaks as blanks.
    pub fn words(&self) -> String {
        let text = tool("pdftotext", &[self.path.to_str().unwrap(), "-"]);
        text.replace('\u{a0}', " ").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Asserts that each of some words stands on it.
    #[track_caller]
    pub fn says(&self, wanted: &[&str]) {
        let words = self.words();
        for one in wanted {
            assert!(words.contains(one), "`{one}` is missing: {words}");
        }
    }

    pub fn bytes(&self) -> Vec<u8> {
        std::fs::read(&self.path).unwrap()
    }
}

/// Runs a program that must be there and must be content; what it printed.
#[track_caller]
pub fn tool(name: &str, arguments: &[&str]) -> String {
    let output = Command::new(name)
        .args(arguments)
        .output()
        .unwrap_or_else(|error| panic!("{name}: {error}; the tests need poppler-utils and qpdf"));
    assert!(output.status.success(), "{name}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// A page as grey levels, and how wide it is.
pub fn picture(path: &Path, page: usize, dots_per_inch: u32) -> (Vec<u8>, usize) {
    let (page, dpi) = (page.to_string(), dots_per_inch.to_string());
    let output = Command::new("pdftoppm")
        .args(["-gray", "-r", &dpi, "-f", &page, "-l", &page])
        .arg(path)
        .output()
        .expect("the tests need poppler-utils");
    // `P5 width height 255` and the bytes.
    let bytes = output.stdout;
    let mut words = bytes.splitn(4, u8::is_ascii_whitespace);
    let mut next = || words.next().expect("a grey picture");
    assert_eq!(next(), b"P5");
    let width: usize = String::from_utf8_lossy(next()).parse().expect("a width");
    let height: usize = String::from_utf8_lossy(next()).parse().expect("a height");
    (bytes[bytes.len() - width * height..].to_vec(), width)
}
