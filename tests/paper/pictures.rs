//! Every drawing is read; the hazard symbols keep to the standard's composition.

use std::collections::BTreeSet;

use brimstock::render::pdf::picture::{self, SIDE};
use brimstock::render::pdf::{Ink, Mark, Page};
use kurbo::{PathEl, Shape};

use super::{document, file};
use crate::cards::picture as raster;

/// Inner over outer diamond. Source: `/work/shared/facts/ghs.md`, F.
const INNER: f64 = 0.841;
/// How far a symbol's box may be from the reference, as a fraction of the square round the diamond. Source: the same.
const BOX: f64 = 0.02;
/// How far the share of black may be from the reference, as a fraction of it. Source: the same.
const BLACK: f64 = 0.25;

fn codes() -> Vec<String> {
    (1..=9).map(|number| format!("GHS0{number}")).collect()
}

#[test]
fn every_file_is_read_and_compiled_in() {
    let mut names = BTreeSet::new();
    for folder in ["hazards/pictograms", "hazards/pictograms/icons"] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|ending| ending == "svg") {
                let drawn = picture::read(&std::fs::read_to_string(&path).unwrap());
                let drawn = drawn.unwrap_or_else(|fault| panic!("{}: {fault}", path.display()));
                assert!(!drawn.paths.is_empty(), "{}", path.display());
                for (outline, _) in &drawn.paths {
                    let edges = outline.bounding_box();
                    let inside =
                        edges.x0 >= -0.01 && edges.y0 >= -0.01 && edges.x1 <= SIDE + 0.01 && edges.y1 <= SIDE + 0.01;
                    assert!(inside && edges.area() > 0.0, "{}: {edges:?}", path.display());
                }
                names.insert(path.file_stem().unwrap().to_string_lossy().into_owned());
            }
        }
    }
    assert_eq!(names, picture::all().keys().map(|name| (*name).to_owned()).collect());
    for code in codes() {
        assert!(names.contains(&code), "{code}");
    }
}

#[test]
fn what_is_no_drawing_of_ours_is_refused() {
    let svg = |inner: &str| format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 100 100\">{inner}</svg>");
    assert!(picture::read(&svg("<title>a</title><path d=\"M0 0L9 0L9 9Z\"/>")).is_ok());
    for (wrong, said) in [
        (svg("<path d=\"M0 0L9 0L9 9Z\"/>"), "no `title`"),
        (svg("<title>a</title><rect width=\"9\" height=\"9\"/>"), "`rect`"),
        (svg("<title>a</title><path d=\"M0 0L9 0\" stroke=\"black\"/>"), "`stroke=\"black\"`"),
        (svg("<title>a</title><path d=\"M0 0L9 0\" fill=\"#f00\"/>"), "`fill=\"#f00\"`"),
        (svg("<title>a</title><path/>"), "without `d`"),
        (svg("<title>a</title><path d=\"M0 0 X\"/>"), "M0 0 X"),
        (svg("").replace("100 100", "24 24"), "viewBox"),
        ("<svg".to_owned(), ""),
    ] {
        let fault = picture::read(&wrong).unwrap_err();
        assert!(fault.contains(said), "{wrong}: {fault}");
    }
}

#[test]
fn the_frame_is_a_red_diamond_round_a_white_one() {
    for code in codes() {
        let paths = &picture::all()[code.as_str()].paths;
        for (index, (ink, half)) in [(Ink::Red, 50.0), (Ink::White, 50.0 * INNER)].into_iter().enumerate() {
            let (outline, fill) = &paths[index];
            assert_eq!(fill.ink, ink, "{code}");
            let corners: Vec<(f64, f64)> = outline
                .elements()
                .iter()
                .filter_map(|element| match element {
                    PathEl::MoveTo(to) | PathEl::LineTo(to) => Some((to.x - 50.0, to.y - 50.0)),
                    PathEl::ClosePath => None,
                    curved => panic!("{code}: {curved:?} in the frame"),
                })
                .collect();
            let wanted = [(0.0, -half), (half, 0.0), (0.0, half), (-half, 0.0)];
            assert_eq!(corners.len(), 4, "{code}");
            for (found, wanted) in corners.into_iter().zip(wanted) {
                assert!((found.0 - wanted.0).abs() < 0.02 && (found.1 - wanted.1).abs() < 0.02, "{code}: {found:?}");
            }
        }
        assert!(paths[2..].iter().all(|(_, fill)| fill.ink != Ink::Red), "{code}: the symbol is black and white");
    }
}

/// The dark pixels inside the white diamond of a page that one symbol fills, as fractions of its square, and their number
/// over that of the whole diamond.
fn black(pixels: &[u8], width: usize) -> (Vec<(f64, f64)>, f64) {
    let side = width as f64;
    let at = |index: usize| ((index % width) as f64 + 0.5) / side;
    let place = |index: usize| (at(index), ((index / width) as f64 + 0.5) / side);
    let inside = |(x, y): &(f64, f64)| (x - 0.5).abs() + (y - 0.5).abs() < 0.5 * INNER - 0.006;
    let dark = pixels.iter().enumerate().filter(|(_, level)| **level < 128).map(|(index, _)| place(index));
    let dark: Vec<(f64, f64)> = dark.filter(inside).collect();
    let share = dark.len() as f64 / (0.5 * side * side);
    (dark, share)
}

#[test]
fn symbols_lie_where_the_standard_has_them() {
    let mark = |name: &str| Mark::Picture { name: picture::name(name).unwrap(), x: 0.0, y: 0.0, side: 100.0 };
    let page = |code: &String| Page { width: 100.0, height: 100.0, marks: vec![mark(code.as_str())] };
    let (path, _folder) = file(&document(codes().iter().map(page).collect()));
    let rows: Vec<Vec<&str>> = include_str!("../reference/pictograms.csv")
        .lines()
        .filter(|line| line.starts_with("GHS"))
        .map(|line| line.split(',').collect())
        .collect();
    assert_eq!(rows.iter().map(|row| row[0].to_owned()).collect::<Vec<_>>(), codes());
    for (index, row) in rows.iter().enumerate() {
        let (pixels, width) = raster(&path, index + 1, 120);
        let (dark, share) = black(&pixels, width);
        let (xs, ys): (Vec<f64>, Vec<f64>) = dark.iter().copied().unzip();
        let least = |of: &[f64]| of.iter().copied().fold(f64::INFINITY, f64::min);
        let most = |of: &[f64]| of.iter().copied().fold(0.0, f64::max);
        let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
        let found = [least(&xs), most(&xs), least(&ys), most(&ys), mean(&xs), mean(&ys)];
        for (found, wanted) in found.iter().zip(&row[1..7]).filter(|(_, wanted)| !wanted.is_empty()) {
            let wanted: f64 = wanted.parse().unwrap();
            assert!((found - wanted).abs() <= BOX, "{}: {found:.3} is not {wanted} in {found:?} {row:?}", row[0]);
        }
        let wanted: f64 = row[7].parse().unwrap();
        assert!((share / wanted - 1.0).abs() <= BLACK, "{}: {share:.4} of it is black, not {wanted}", row[0]);
    }
}
