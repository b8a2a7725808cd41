//! The `handover` card: what must not be moved comes first, then what goes, how it is packed, who takes it, who signs.

use super::{Paper, card, tool};
use crate::harness::Bench;

const DAY: &str = "2031-03-06";

const LOCAL: &str = "place = \"Nowhere\"\njurisdiction = \"EU\"\nemergency = \"112\"\npoison_centre = \"555-0199\"\n\
    [[takes]]\nwho = \"the collection boat\"\nclasses = [\"peroxide\"]\nhow = \"at the jetty\"\nphone = \"555-0107\"\n\
    asked = \"the island office\"\non = \"2031-02-04\"\n";

fn with_local(bench: &Bench) {
    std::fs::write(bench.folder().join("local.toml"), LOCAL).unwrap();
}

fn page(paper: &Paper, number: usize) -> String {
    let number = number.to_string();
    let text = tool("pdftotext", &["-f", &number, "-l", &number, paper.path.to_str().unwrap(), "-"]);
    text.replace('\u{a0}', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn it_says_what_classify_and_discard_say() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "handover S04 S11");
    let words = paper.words();
    let plan = bench.on(DAY, "--json discard S04 S11").json();
    for item in plan["items"].as_array().unwrap() {
        for key in ["stock", "un"] {
            assert!(words.contains(item[key].as_str().unwrap()), "{key}: {words}");
        }
        let code = item["stock"].as_str().unwrap();
        let judged = bench.on(DAY, &format!("--json classify {code}")).json();
        for statement in judged["hazard_statements"].as_array().unwrap() {
            let line = format!("{} {}", statement["code"].as_str().unwrap(), statement["text"].as_str().unwrap());
            assert!(words.contains(&line), "{line}: {words}");
        }
        assert!(words.contains(judged["signal_word"].as_str().unwrap()));
    }
    let boxes = plan["boxes"].as_array().unwrap().len();
    assert!(words.contains(&format!("Box {boxes} of {boxes}")), "{words}");
    let meet = plan["far_apart"][0]["if_they_meet"].as_str().unwrap();
    assert!(words.contains("S04 and S11") && words.contains(meet), "{words}");
    paper.says(&[
        "TO HAND OVER",
        "≈ 35 (32–38) % w/w today",
        "Label: 35 % w/w. 250 mL",
        "For the carrier, who decides",
        "Handed over by (role or initials)",
        "Taken by",
        "Reference",
        "≈ is estimated, not measured",
    ]);
    let forms = String::from_utf8_lossy(&paper.bytes()).matches("/Subtype/Form").count();
    let shown: std::collections::BTreeSet<&str> = plan["items"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|item| item["pictograms"].as_array().unwrap())
        .map(|code| code.as_str().unwrap())
        .collect();
    assert_eq!(forms, shown.len(), "each symbol once in the file: {shown:?}");
    let again = card(&bench, DAY, "handover S04 S11");
    assert_eq!(again.bytes(), std::fs::read(&paper.path).unwrap());
}

#[test]
fn who_takes_it_or_whom_to_ask() {
    let bench = Bench::demo();
    let asked = card(&bench, DAY, "handover S01").words();
    assert!(asked.contains("nobody on record takes it") && asked.contains("Spoke to, on"), "{asked}");
    assert!(!asked.contains("555-0107") && asked.contains("so lists and laws of EU, UK, US are shown"), "{asked}");
    with_local(&bench);
    let told = card(&bench, DAY, "handover S01").words();
    for said in
        ["the collection boat; at the jetty; telephone: 555-0107", "Asked the island office on 2031-02-04", "555-0199"]
    {
        assert!(told.contains(said), "{said}: {told}");
    }
    assert!(!told.contains("nobody on record takes it") && !told.contains("Spoke to"), "{told}");
    let mixed = card(&bench, DAY, "handover S01 S07").words();
    assert!(mixed.contains("S07: nobody on record takes it"), "{mixed}");
}

#[test]
fn a_swollen_bottle_is_not_moved_and_that_comes_first() {
    let bench = Bench::demo();
    with_local(&bench);
    let before = card(&bench, DAY, "handover S03").words();
    assert!(!before.contains("DO NOT MOVE") && before.starts_with("TO HAND OVER"), "{before}");
    bench.on(DAY, "note S03 swollen").ok();
    let alone = card(&bench, DAY, "handover S03").words();
    assert!(alone.starts_with("DO NOT MOVE S03 CALL 112"), "{alone}");
    assert!(!alone.contains("Box 1") && !alone.contains("Taken by") && !alone.contains("Every package"), "{alone}");
    let mixed = card(&bench, DAY, "handover S03 S07").words();
    assert!(mixed.starts_with("DO NOT MOVE S03 CALL 112"), "{mixed}");
    assert!(mixed.contains("Box 1 of 1: S07") && mixed.contains("Taken by"), "{mixed}");
}

/// Source: the row of the catalogue for UN2984, from 8 % w/w.
#[test]
fn the_number_for_carriage_changes_at_its_bound() {
    let bench = Bench::new();
    for (code, strength) in [("A", "7.9 % w/w"), ("B", "8 % w/w")] {
        bench.on(DAY, &format!("receive hydrogen-peroxide \"{strength}\" 500mL --at cupboard --code {code}")).ok();
    }
    let weak = card(&bench, DAY, "handover A").words();
    assert!(!weak.contains("UN2984") && weak.contains("No number is on file for it"), "{weak}");
    card(&bench, DAY, "handover B").says(&["UN2984"]);
}

#[test]
fn an_empty_one_is_rinsed() {
    let bench = Bench::new();
    bench.on(DAY, "receive sodium-chloride 500g --at cupboard --code SALT").ok();
    bench.on(DAY, "take SALT 500g").ok();
    let words = card(&bench, DAY, "handover SALT").words();
    assert!(words.contains("SALT, salt (sodium chloride): rinse it into the next bath"), "{words}");
    assert!(!words.contains("Taken by"), "{words}");
}

#[test]
fn no_stock_is_torn_whatever_the_paper() {
    let bench = Bench::demo();
    let codes = ["S01", "S03", "S04", "S05", "S10", "S12"];
    for size in ["a4", "a5", "a6", "letter"] {
        let paper = card(&bench, DAY, &format!("handover {} --paper {size}", codes.join(" ")));
        let pages: Vec<String> = (1..=paper.pages).map(|number| page(&paper, number)).collect();
        for page in &pages {
            let begun = codes.iter().filter(|code| page.contains(&format!("{code} · "))).count();
            let ended = page.matches("For the carrier").count();
            assert_eq!(begun, ended, "{size}: {page}");
        }
        let all = pages.join(" ");
        assert!(codes.iter().all(|code| all.contains(&format!("{code} · "))), "{size}: {all}");
    }
}

#[test]
fn long_words_stay_on_the_paper() {
    let bench = Bench::new();
    let why = "a reason that goes on and on ".repeat(10);
    let line =
        format!("receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --code LONG --hold \"{}\"", why.trim());
    bench.on(DAY, &line).ok();
    for size in ["a4", "a6"] {
        let words = card(&bench, DAY, &format!("handover LONG --paper {size}")).words();
        assert!(words.contains(why.trim()), "{size}: {words}");
    }
}

#[test]
fn what_it_cannot_be_printed_for() {
    let bench = Bench::demo();
    bench.on(DAY, "card handover").fails(2, &["wants to know of what"]);
    bench.on(DAY, "card handover S99").fails(2, &["S99"]);
    bench.on(DAY, "card handover S01 s01").fails(2, &["named twice"]);
    bench.on(DAY, "card handover S01 --lang es").fails(2, &["not there in `es`"]);
    bench.on(DAY, "retire S14 --because \"used up\"").ok();
    bench.on(DAY, "card handover S14").fails(2, &["left the shelf"]);
}
