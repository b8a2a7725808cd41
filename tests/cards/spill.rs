//! The `spill` card: whom to call, whether to leave, what to put on, what never to use; in this order and in both languages.

use super::{card, tool};
use crate::harness::Bench;

const DAY: &str = "2031-03-06";

fn with_rules(rules: &str) -> Bench {
    let bench = Bench::demo();
    std::fs::write(bench.folder().join("local.toml"), rules).unwrap();
    bench
}

#[test]
fn the_first_lines_are_whom_to_call_whether_to_leave_what_to_wear_what_never_to_use() {
    let bench = with_rules("emergency = \"555 01\"\nfire = \"555 02\"\npoison_centre = \"555 03\"\n");
    let words = card(&bench, DAY, "spill S01").words();
    let order = [
        "SPILL",
        "555 01",
        "555 02",
        "555 03",
        "OUT, AND CALL",
        "everyone out, call the fire service",
        "ONLY THIS IS YOURS TO CLEAN",
        "PUT ON FIRST",
        "goggles, gloves, apron",
        "NEVER",
        "No sawdust, paper or rags",
        "First aid",
        "Eye:",
        "Swallowed:",
    ];
    let mut from = 0;
    for one in order {
        let at = words[from..].find(one).unwrap_or_else(|| panic!("`{one}` is missing or out of order: {words}"));
        from += at + one.len();
    }
}

#[test]
fn an_empty_field_is_a_line_to_write_on() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "spill bleach");
    paper.says(&["Emergency", "Fire service", "Poison centre"]);
    let filled = with_rules("emergency = \"555 01\"\n");
    let words = card(&filled, DAY, "spill bleach").words();
    assert!(words.contains("555 01"), "{words}");
}

#[test]
fn every_line_on_file_of_a_spill_is_printed_once() {
    let bench = Bench::demo();
    for reagent in ["hydrogen-peroxide", "potassium-permanganate", "copper-sulfate", "sodium-chloride", "citric-acid"] {
        let page = bench.on(DAY, &format!("--json reagents {reagent}")).json();
        let words = card(&bench, DAY, &format!("spill {reagent}")).words();
        let care = page["care"].as_array().unwrap();
        let told = care.iter().filter(|part| ["Spilt", "First aid"].contains(&part["heading"].as_str().unwrap()));
        let lines: Vec<String> = told
            .flat_map(|part| part["lines"].as_array().unwrap())
            .map(|line| line["what"].as_str().unwrap().replace("\u{a0}", " "))
            .collect();
        assert!(lines.len() >= 10, "{reagent}: {page}");
        for line in lines {
            assert_eq!(words.matches(&line).count(), 1, "{reagent}: `{line}`: {words}");
        }
    }
}

#[test]
fn a_stock_brings_its_own_hazards_and_its_place() {
    let bench = Bench::demo();
    let judged = bench.on(DAY, "--json classify S03").json();
    let paper = card(&bench, DAY, "spill S03");
    let statements = judged["hazard_statements"].as_array().unwrap();
    assert!(!statements.is_empty());
    for statement in statements {
        paper.says(&[statement["text"].as_str().unwrap()]);
    }
    paper.says(&["Danger", "boiler", "12 % w/w", "800 mL"]);
    // A reagent alone has no strength, so it promises nothing of the bottle.
    let words = card(&bench, DAY, "spill hydrogen-peroxide").words();
    assert!(!words.contains("What the bottle can do"), "{words}");
    for code in ["S01", "S02", "S03", "S04"] {
        assert!(words.contains(code), "{code}: {words}");
    }
}

#[test]
fn it_speaks_spanish_without_an_english_line() {
    let bench = Bench::demo();
    for what in ["S01", "potassium-permanganate", "bleach", "copper-sulfate", "sodium-hydroxide", "ethanol"] {
        let paper = card(&bench, DAY, &format!("spill {what} --lang es"));
        paper.says(&["DERRAME", "SALIR Y LLAMAR", "PONERSE ANTES", "Primeros auxilios"]);
        let words = paper.words();
        for english in [" the ", " and ", "Never", "water"] {
            let before_sources = words.split("Datos:").next().unwrap();
            assert!(!before_sources.contains(english), "{what}: `{english}`: {before_sources}");
        }
    }
    assert!(card(&bench, DAY, "spill S03 --lang es").words().contains("Peligro"));
}

#[test]
fn it_fits_every_paper_and_past_its_review_it_says_so() {
    let bench = Bench::demo();
    for paper in ["a4", "a5", "a6", "letter"] {
        assert!(card(&bench, DAY, &format!("spill permanganate --paper {paper}")).pages <= 2, "{paper}");
    }
    assert!(!card(&bench, DAY, "spill bleach").words().contains("check: past"));
    assert!(card(&bench, "2031-12-01", "spill bleach").words().contains("check: past its day of review"));
}

#[test]
fn several_cards_are_one_file_and_what_is_unknown_is_told() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "spill bleach S10 salt");
    assert!(paper.pages >= 3);
    let marks = tool("qpdf", &["--json", "--json-key=outlines", paper.path.to_str().unwrap()]);
    assert!(marks.contains("bleach"), "{marks}");
    bench.on(DAY, "card spill permanganat").fails(2, &["permanganat", "potassium-permanganate"]);
    bench.on(DAY, "card spill").fails(2, &["spill", "hydrogen-peroxide"]);
}

/// The bound of 8 % of the lines, on both sides: a bottle above it is nobody's to clean up at home.
#[test]
fn a_strong_bottle_leaves_nothing_to_clean() {
    let bench = Bench::new();
    for (code, strength) in [("WEAK", "7.9 % w/w"), ("STRONG", "8 % w/w")] {
        bench.on(DAY, &format!("receive hydrogen-peroxide \"{strength}\" 500mL --at cupboard --code {code}")).ok();
    }
    let weak = card(&bench, DAY, "spill WEAK").words();
    assert!(weak.contains("ONLY THIS IS YOURS") && !weak.contains("any amount of it."), "{weak}");
    let strong = card(&bench, DAY, "spill STRONG").words();
    assert!(!strong.contains("PUT ON FIRST"), "whoever leaves puts nothing on: {strong}");
    assert!(!strong.contains("ONLY THIS IS YOURS") && strong.contains("any amount of it."), "{strong}");
}
