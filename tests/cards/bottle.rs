//! The `bottle` card: the label of a stock.

use std::fs;

use brimstock::catalogue::Catalogue;
use brimstock::render::pdf::block::LEADING;
use brimstock::render::pdf::font::X_HEIGHT;
use serde_json::Value;

use super::{Paper, card, tool};
use crate::harness::Bench;

const DAY: &str = "2031-03-06";

fn with(lines: &[&str]) -> Bench {
    let bench = Bench::new();
    for line in lines {
        bench.on("2031-02-01", line).ok();
    }
    bench
}

fn local(bench: &Bench, text: &str) {
    fs::write(bench.folder().join("local.toml"), text).unwrap();
}

/// What the command answers of its labels.
#[track_caller]
fn labels(bench: &Bench, line: &str) -> Value {
    let answer = bench.on(DAY, &format!("--json card bottle {line} --out card.pdf --force"));
    assert_eq!(answer.code, 0, "{answer:?}");
    answer.json()["labels"].clone()
}

/// The operations of the pages, as they stand in the file.
fn operations(paper: &Paper) -> String {
    tool("qpdf", &["--qdf", "--object-streams=disable", paper.path.to_str().unwrap(), "-"])
}

/// The sizes of type on the pages, points.
fn sizes(paper: &Paper) -> Vec<f64> {
    let operations = operations(paper);
    operations
        .lines()
        .filter(|line| line.ends_with(" Tf"))
        .map(|line| line.split_whitespace().nth(1).unwrap().parse().unwrap())
        .collect()
}

/// A statement as a label prints it: blanks filled in or left away, so that only its beginning is compared.
fn beginning(text: &str) -> String {
    text.replace(['[', ']'], "").split(['…', '<']).next().unwrap().trim_end_matches('/').trim().to_owned()
}

#[track_caller]
fn bears_what_classify_says(bench: &Bench, code: &str, language: &str) {
    let paper = card(bench, DAY, &format!("bottle {code} --lang {language}"));
    let judged = bench.on(DAY, &format!("--json classify {code}")).json();
    let text = if language == "es" { "text_es" } else { "text" };
    let words = paper.words();
    for list in ["hazard_statements", "precautionary_statements", "supplemental"] {
        for statement in judged[list].as_array().unwrap().iter().filter(|row| row["code"] != "EUH210") {
            let wanted = beginning(statement[text].as_str().unwrap());
            assert!(words.contains(&wanted), "{code}: `{wanted}` is missing: {words}");
        }
    }
    for (word, printed) in [("Danger", ["DANGER", "PELIGRO"]), ("Warning", ["WARNING", "ATENCIÓN"])] {
        let printed = printed[usize::from(language == "es")];
        assert_eq!(words.contains(printed), judged["signal_word"] == word, "{code}: {printed}: {words}");
    }
    let operations = operations(&paper);
    for number in 1..=9 {
        let sign = format!("GHS0{number}");
        let asked = judged["pictograms"].as_array().unwrap().iter().any(|code| *code == sign.as_str());
        assert_eq!(operations.contains(&format!("/{sign} Do")), asked, "{code}: {sign}");
    }
}

#[test]
fn a_label_bears_what_classify_says_of_the_stock() {
    let bench = Bench::demo();
    for (code, language) in [("S01", "en"), ("S04", "en"), ("S06", "es"), ("S10", "es"), ("S12", "en")] {
        bears_what_classify_says(&bench, code, language);
    }
}

#[test]
fn a_label_names_strength_basis_days_keeping_and_leaves_lines_for_the_rest() {
    let bench = Bench::demo();
    local(&bench, "poison_centre = \"555 0100\"");
    let paper = card(&bench, DAY, "bottle S03");
    paper.says(&[
        "S03",
        "Hydrogen peroxide solution",
        "12 % w/w H₂O₂ in water",
        "Hazards computed for up to 12 % w/w.",
        "CAS 7722-84-1",
        "1 L when new",
        "Received 2031-01-10",
        "Opened 2031-01-22",
        "Use or test by",
        "Classes by Regulation (EC) 1272/2008",
        "vented cap",
        "in the dark",
        "below 25 °C",
        "Eye: water at once",
        "Swallowed: rinse the mouth",
        "Swallowed above 10 %: an emergency",
        "Poison centre: 555 0100",
        "Supplier, address",
        "Tel.",
        "Workplace label, not for supply",
        "local code and the supplier's sheet come first",
        "shelf · as of 2031-03-06",
        "Dispose of contents/container to whoever is licensed to take it.",
    ]);
    let words = card(&bench, DAY, "bottle S06 --lang es").words();
    for wanted in [
        "8,25 % p/p NaOCl en agua",
        "7,9 % p/p de cloro activo",
        "Recibido 2031-02-26",
        "tapón con venteo",
        "Proveedor",
    ] {
        assert!(words.contains(wanted), "`{wanted}` is missing: {words}");
    }
    for english in ["Received", "below", "Supplier", "Keep", "water"] {
        assert!(!words.contains(english), "`{english}` on a Spanish label: {words}");
    }
}

#[test]
fn what_has_no_class_says_so_and_what_nobody_knows_is_left_to_write() {
    let bench = with(&["receive salt 1kg --at cupboard"]);
    card(&bench, DAY, "bottle SC-1").says(&["99 % w/w NaCl", "Not classified as hazardous."]);
    let words = card(&bench, DAY, "bottle SC-1 --lang es").words();
    assert!(words.contains("No clasificado como peligroso."), "{words}");

    let folder = bench.register().with_extension("reagents");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("marsh-salt.toml"), own("marsh salt", "")).unwrap();
    bench.on(DAY, "receive marsh-salt 1kg --at cupboard").ok();
    let words = card(&bench, DAY, "bottle MS-1").words();
    assert!(words.contains("No hazard data on file.") && !words.contains("Not classified"), "{words}");
}

#[test]
fn a_decanted_label_gives_the_band_the_upper_end_and_its_origin() {
    let bench = Bench::demo();
    bench.on(DAY, "decant S03 100mL --at bench --container amber-glass --code P1").ok();
    let paper = card(&bench, DAY, "bottle P1");
    paper.says(&[
        "P1",
        "≈ 110 (",
        ") g/L H₂O₂",
        "Estimated when it was poured",
        "Poured from S03",
        "Filled by, address",
    ]);
    bears_what_classify_says(&bench, "P1", "en");
}

#[test]
fn an_own_dilution_wants_a_test_when_its_days_are_over() {
    let bench = with(&["receive hydrogen-peroxide \"3 % w/v\" 100mL --at cupboard --condition made-up"]);
    card(&bench, DAY, "bottle HP-1").says(&["Made up 2031-02-01", "Past since 2031-03-03: test or make afresh"]);
    let fresh = bench.on("2031-03-03", "card bottle HP-1 --out fresh.pdf");
    assert_eq!(fresh.code, 0, "{fresh:?}");
    let text = tool("pdftotext", &[bench.folder().join("fresh.pdf").to_str().unwrap(), "-"]);
    assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains("Use or test by 2031-03-03"), "{text}");
}

#[test]
fn letters_and_labels_grow_with_the_container() {
    let sizes_on_file = Catalogue::shipped().unwrap().label_sizes();
    assert!(LEADING >= sizes_on_file.line.spacing);
    for (litres, x_mm) in [("500mL", 1.2), ("501mL", 1.4), ("3L", 1.4), ("3001mL", 1.8), ("51L", 2.0)] {
        let bench = with(&[&format!("receive bleach \"5 % w/w\" {litres} --at cupboard --code B1")]);
        let paper = card(&bench, DAY, "bottle B1");
        let smallest = sizes(&paper).into_iter().fold(f64::INFINITY, f64::min) * 25.4 / 72.0 * X_HEIGHT;
        assert!(smallest >= x_mm - 1e-3, "{litres}: {smallest} mm");
    }
    let bench = with(&["receive salt 3kg --at cupboard", "receive salt 3001g --at cupboard"]);
    let small = labels(&bench, "SC-1 SC-2 --paper label-104x80");
    assert!(small[0]["smaller_than"].is_null(), "{small}");
    assert_eq!(small[1]["smaller_than"], "label-105x74", "{small}");
}

#[test]
fn pictograms_are_never_smaller_than_the_container_asks_for() {
    for (amount, least) in [("3L", 10.0), ("3001mL", 23.0)] {
        let bench = with(&[&format!("receive bleach \"5 % w/w\" {amount} --at cupboard --code B1")]);
        let operations = operations(&card(&bench, DAY, "bottle B1"));
        let lines: Vec<&str> = operations.lines().collect();
        let at = lines.iter().position(|line| line.contains("/GHS05 Do")).expect("the corroded hand");
        let matrices = lines[..at].iter().rev().filter(|line| line.ends_with(" cm")).take(3);
        let scale = matrices.filter_map(|line| line.split_whitespace().next()?.parse::<f64>().ok());
        let scale = scale.filter(|scale| *scale != 1.0).last().expect("a scale");
        // The diamond's corners lie in the middle of the sides of a square of 100 units.
        let side = scale * 100.0 * 25.4 / 72.0 / std::f64::consts::SQRT_2;
        assert!(side >= least - 0.01, "{amount}: {side} mm");
    }
}

#[test]
fn very_small_packages_leave_off_only_in_the_union_and_only_what_they_may() {
    let lines =
        ["125mL", "126mL"].map(|amount| format!("receive hydrogen-peroxide \"6 % w/w\" {amount} --at cupboard"));
    let bench = with(&[&lines[0], &lines[1]]);
    let size = "--paper label-105x74";
    let card_of = |code: &str| bench.on(DAY, &format!("--json card bottle {code} {size} --out card.pdf --force"));
    assert_eq!(card_of("HP-1").code, 2, "nobody said that this is the Union");
    local(&bench, "jurisdiction = \"US\"");
    assert_eq!(card_of("HP-1").code, 2);
    local(&bench, "jurisdiction = \"EU\"");
    assert_eq!(card_of("HP-2").code, 2, "126 mL are too much");
    let small = labels(&bench, &format!("HP-1 {size}"));
    let left_off = small[0]["left_off"].as_array().unwrap();
    assert!(left_off.iter().any(|code| *code == "P280"), "{small}");
    let paper = card(&bench, DAY, &format!("bottle HP-1 {size}"));
    paper.says(&["WARNING", "Left off, as packages up to 125 mL may in the EU: P280", "Hydrogen peroxide solution"]);
    // Eye damage must be told on the smallest.
    bench.on(DAY, "receive hydrogen-peroxide \"12 % w/w\" 100mL --at cupboard").ok();
    let strong = labels(&bench, "HP-3");
    assert!(!strong[0]["left_off"].to_string().contains("H318"), "{strong}");
}

#[test]
fn too_small_a_label_is_told_the_smallest_that_fits_and_the_fold() {
    let bench = Bench::demo();
    let refused = bench.on(DAY, "card bottle S03 --paper label-74x52");
    assert_eq!(refused.code, 2, "{refused:?}");
    let named: Vec<&str> = refused
        .stderr
        .split_whitespace()
        .filter(|word| word.starts_with("label-"))
        .map(|word| word.trim_end_matches(['`', ';']))
        .collect();
    let [plain, folded] = named[..] else { panic!("two sizes: {refused:?}") };
    card(&bench, DAY, &format!("bottle S03 --paper {plain}"));
    let paper = card(&bench, DAY, &format!("bottle S03 --paper {folded} --folded"));
    paper.says(&[
        "Statements, first aid and supplier: see the back.",
        "Causes serious eye damage.",
        "Supplier, address",
    ]);
    let (width, height) = plain.trim_start_matches("label-").split_once('x').unwrap();
    let lower = format!("card bottle S03 --paper label-{width}x{}", height.parse::<u32>().unwrap() - 1);
    bench.on(DAY, &lower).fails(2, &["too small"]);
    assert!(bench.on(DAY, "card bottle S03 --paper label-20x20 --folded").stderr.contains("--folded"));
}

#[test]
fn labels_are_tiled_on_sheets() {
    let bench = Bench::demo();
    let many = "bottle S01 S02 S01B S08 S12 S01 S02 S01B S08 --sheet a4 --paper label-105x74";
    let paper = card(&bench, DAY, many);
    assert_eq!(paper.pages, 2, "two across, four down");
    paper.says(&["Potassium alum", "Copper sulfate"]);
    let first = tool("pdftotext", &["-l", "1", paper.path.to_str().unwrap(), "-"]);
    assert_eq!(first.matches("Supplier,").count(), 8, "the ninth is on the second page");
    assert_eq!(card(&bench, DAY, &format!("{many} --skip 7")).pages, 2);
    assert_eq!(card(&bench, DAY, &format!("{many} --gap 0x2")).pages, 2, "three down");
    let refused = |line: &str, words: &[&str]| bench.on(DAY, &format!("card bottle S01 {line}")).fails(2, words);
    refused("--sheet a6 --paper label-210x148", &["210 × 148", "larger than the sheet of 105 × 148"]);
    refused("--sheet a4 --paper label-105x74 --skip 8", &["has 8 labels (2 across, 4 down)", "8 are said"]);
    refused("--sheet a4 --paper label-105x74 --from 106x0", &["--from 106x0", "no room"]);
    refused("--sheet a4 --paper label-105x74 --from 0x224", &["--from 0x224", "no room"]);
    refused("--sheet label-105x74", &["whole sheet"]);
    let margins = card(&bench, DAY, "bottle S01 S02 S01 --sheet letter --paper label-100x70 --from 5x10 --gap 3x2");
    assert_eq!(margins.pages, 1);
}

#[test]
fn tiles_are_as_large_as_the_largest_label() {
    let bench = Bench::demo();
    let set = labels(&bench, "S08 S10 --sheet a4");
    assert_eq!(set[0]["paper"], set[1]["paper"], "{set}");
    let single = labels(&bench, "S08 S10");
    assert_ne!(single[0]["paper"], single[1]["paper"], "{single}");
}

#[test]
fn every_paper_and_the_same_bytes_twice() {
    let bench = Bench::demo();
    for paper in ["a4", "a5", "a6", "letter", "label-148x105"] {
        let line = format!("bottle S01 --paper {paper}");
        let first = card(&bench, DAY, &line).bytes();
        assert_eq!(card(&bench, DAY, &line).bytes(), first, "{paper}");
    }
}

#[test]
fn several_stocks_are_a_page_each() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "bottle S01 s06 S12");
    assert_eq!(paper.pages, 3);
    paper.says(&["S01", "S06", "S12"]);
}

#[test]
fn unknown_and_gone_stocks_are_refused() {
    let bench = with(&["receive salt 1kg --at cupboard"]);
    bench.on(DAY, "card bottle SC-9").fails(2, &["SC-9"]);
    bench.on(DAY, "card bottle").fails(2, &["card bottle HP-1"]);
    bench.on("2031-02-03", "retire SC-1 --because \"spilt\"").ok();
    bench.on(DAY, "card bottle SC-1").fails(2, &["SC-1", "left the shelf on 2031-02-03", "spilt"]);
    assert!(!bench.folder().join("bottle-SC-1.pdf").exists());
}

fn own(name: &str, hazard: &str) -> String {
    format!(
        r#"
key = "marsh-salt"
name = "{name}"
code = "MS"
cas = {{ value = "7647-14-5", source = "memory" }}
formula = {{ value = "NaCl", source = "memory" }}
forms = ["solid"]
[solid]
purity = {{ value = 90, unit = "% w/w", relative_sd = 0.02, source = "memory" }}
[[solid.spooned]]
kind = "coarse"
density = {{ value = 1.0, unit = "g/mL", relative_sd = 0.2, source = "memory" }}
[[decay]]
form = "solid"
law = "keeps"
why = "Salt keeps."
source = "memory"
start = [{{ condition = "sealed", factor = {{ value = 1, unit = "1", source = "memory" }}, sd_ln = 0.02 }},
    {{ condition = "opened", factor = {{ value = 1, unit = "1", source = "memory" }}, sd_ln = 0.02 }}]
{hazard}
"#
    )
}

#[test]
fn names_of_any_length_fit_or_are_refused_and_letters_that_are_missing_are_named() {
    let bench = Bench::new();
    let folder = bench.register().with_extension("reagents");
    fs::create_dir(&folder).unwrap();
    let file = folder.join("marsh-salt.toml");
    let hazard = "[hazard]\nsource = \"memory\"\nclass = [{ class = \"eye\", category = \"2\", set_by = \"supplier\", source = \"memory\" }]";
    fs::write(&file, own("marsh salt", hazard)).unwrap();
    bench.on("2031-02-01", "receive marsh-salt 1kg --at cupboard --code ABCDEFGHIJ-KLMNOPQR9").ok();
    let long = "marsh ".repeat(50);
    for name in [long.trim(), &"m".repeat(300)] {
        fs::write(&file, own(name, hazard)).unwrap();
        let words = card(&bench, DAY, "bottle ABCDEFGHIJ-KLMNOPQR9").words();
        let letters = |text: &str| text.to_lowercase().chars().filter(|c| c.is_alphabetic()).collect::<String>();
        assert!(letters(&words).contains(&letters(name)), "{words}");
        bench.on(DAY, "card bottle ABCDEFGHIJ-KLMNOPQR9 --paper label-74x52").fails(2, &["too small", "label-"]);
    }
    for (name, letter) in [("沼の塩", "沼"), ("ملح", "ل")] {
        fs::write(&file, own(name, hazard)).unwrap();
        let refused = bench.on(DAY, "card bottle ABCDEFGHIJ-KLMNOPQR9");
        // What the fonts have of right-to-left scripts is not set from the right.
        refused.fails(2, &["fonts have no", if letter == "沼" { "U+6CBC" } else { "U+" }]);
    }
}

#[test]
fn a_held_stock_says_so_and_only_plain_files_are_written() {
    let bench = Bench::demo();
    card(&bench, DAY, "bottle S04").says(&["HELD, DO NOT USE: date unknown"]);
    bench.on(DAY, "card bottle S01 --out /dev/null --force").fails(4, &["/dev/null", "no plain file"]);
    bench.on(DAY, "card bottle S01 --out -").fails(4, &["no plain file"]);
    bench.on(DAY, "card bottle S01 --out nowhere/x.pdf").fails(4, &["nowhere/x.pdf", "folder"]);
    bench.on(DAY, "card bottle S01 --out kept.pdf").ok();
    bench.on(DAY, "card bottle S01 --out kept.pdf").fails(4, &["kept.pdf", "--force"]);
}
