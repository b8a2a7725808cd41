//! Pictures of pages that were looked at and found good: a later page must look like them.
//!
//! `BRIMSTOCK_GOLDEN=write cargo test golden` stores what is printed now. A page that differs is written beside the good one
//! as `NAME.new.pgm`, to be looked at.

use std::path::Path;

use super::{Paper, picture};

/// Dots per inch of the stored pictures: enough to see a line that moved, small enough to keep.
const DOTS: u32 = 40;
/// How far grey levels (0 to 255) may differ on the mean: another version of poppler smooths edges differently.
const MEAN: f64 = 1.5;
/// From this difference on a dot counts as another one, and so many of a thousand may.
const OTHER: u8 = 64;
const OTHERS: usize = 4;

/// Asserts that a page looks like the picture `tests/golden/NAME.pgm`.
#[track_caller]
pub fn golden(name: &str, paper: &Paper, page: usize) {
    let (seen, width) = picture(&paper.path, page, DOTS);
    let file = |ending: &str| Path::new("tests/golden").join(format!("{name}.{ending}"));
    let (good, new) = (file("pgm"), file("new.pgm"));
    let mut bytes = format!("P5\n{width} {}\n255\n", seen.len() / width).into_bytes();
    bytes.extend(&seen);
    if std::env::var("BRIMSTOCK_GOLDEN").is_ok_and(|what| what == "write") {
        std::fs::create_dir_all("tests/golden").unwrap();
        std::fs::write(good, bytes).unwrap();
        return;
    }
    let fault = match std::fs::read(&good) {
        Err(error) => Some(format!("{error}")),
        Ok(stored) => differs(&stored, &bytes, seen.len()),
    };
    if let Some(fault) = fault {
        std::fs::create_dir_all("tests/golden").unwrap();
        std::fs::write(&new, bytes).unwrap();
        panic!(
            "{}: {fault}. Look at {}; if it is as it should be, store it with BRIMSTOCK_GOLDEN=write",
            good.display(),
            new.display()
        );
    }
}

/// In what two pictures differ too much, the dots of each being its last bytes.
fn differs(stored: &[u8], seen: &[u8], dots: usize) -> Option<String> {
    if stored.len() != seen.len() || stored[..stored.len() - dots] != seen[..seen.len() - dots] {
        return Some("another size".to_owned());
    }
    let off = |(a, b): (&u8, &u8)| a.abs_diff(*b);
    let pairs = || stored[stored.len() - dots..].iter().zip(&seen[seen.len() - dots..]).map(off);
    let mean = pairs().map(f64::from).sum::<f64>() / dots as f64;
    let others = pairs().filter(|off| *off > OTHER).count();
    let too_much = mean > MEAN || others * 1000 > OTHERS * dots;
    too_much.then(|| format!("grey levels are {mean:.2} off on the mean, {others} of {dots} dots are others"))
}

/// The first page of every kind of card, of the fictional bench on a day.
#[test]
fn every_card_looks_as_it_was_found_good() {
    let bench = crate::harness::Bench::demo();
    std::fs::copy("demo/local.toml", bench.folder().join("local.toml")).unwrap();
    for (name, line) in [
        ("bottle", "bottle S03"),
        ("storage", "storage bench"),
        ("spill", "spill potassium-permanganate"),
        ("spill-es", "spill S05 --lang es --paper a5"),
        ("bench", "bench bleach-fine-leaved --bath 5L"),
        ("handover", "handover S04"),
        ("strength", "strength S02"),
        ("shelf", "shelf"),
    ] {
        golden(name, &super::card(&bench, "2031-03-06", line), 1);
    }
}

#[test]
fn a_line_that_moved_is_noticed_and_smoothing_is_not() {
    let head = b"P5\n100 100\n255\n";
    let paint = |dark: &dyn Fn(usize, usize) -> u8| -> Vec<u8> {
        head.iter().copied().chain((0..10_000).map(|at| dark(at % 100, at / 100))).collect()
    };
    let ruled = paint(&|_, y| if y == 50 { 0 } else { 255 });
    assert_eq!(differs(&ruled, &ruled, 10_000), None);
    let smooth = paint(&|_, y| if y == 50 { 40 } else { 255 });
    assert_eq!(differs(&ruled, &smooth, 10_000), None);
    let moved = paint(&|_, y| if y == 51 { 0 } else { 255 });
    assert!(differs(&ruled, &moved, 10_000).unwrap().contains("200 of 10000"));
    let paler = paint(&|_, y| if y == 50 { 0 } else { 250 });
    assert!(differs(&ruled, &paler, 10_000).unwrap().contains("4.95"));
    assert_eq!(differs(&ruled[..9000], &ruled, 10_000).unwrap(), "another size");
}
