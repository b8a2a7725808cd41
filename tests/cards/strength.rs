//! The `strength` card: what `check` and `assay plan` say, on paper.

use super::{Paper, card, tool};
use crate::harness::Bench;

const DAY: &str = "2031-03-06";

/// The JSON of `check` on the card's day.
fn check(bench: &Bench, code: &str) -> serde_json::Value {
    bench.on(DAY, &format!("--json check {code} --chart")).json()
}

/// The words of a page laid out as on paper, line by line.
fn lines(paper: &Paper) -> String {
    tool("pdftotext", &["-layout", paper.path.to_str().unwrap(), "-"]).replace('\u{a0}', " ")
}

#[test]
fn it_says_what_check_says() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "strength S02");
    assert_eq!(paper.pages, 1, "one page for a stock");
    paper.says(&["S02 · hydrogen peroxide solution", "≈ 1.7 % w/v", "1.5 to 1.9 % w/v", "3 % w/v", "350 mL left"]);
    let checked = check(&bench, "S02");
    let laid = lines(&paper);
    for dip in checked["dips"].as_array().unwrap() {
        let (key, verdict) = (dip["dip"].as_str().unwrap(), dip["verdict"].as_str().unwrap());
        let row = laid.lines().find(|line| line.contains(key) && line.contains(verdict));
        let row = row.unwrap_or_else(|| panic!("no row of `{key}` with `{verdict}`: {laid}"));
        let until = dip["until"].as_str().unwrap_or("-");
        assert!(row.trim_end().ends_with(until), "{row}: {dip}");
    }
    // The test of 2031-03-05 found 1.7 with 4 % of error: 1.7 ± 0.11 nine times in ten.
    paper.says(&["2031-03-05 A figure from elsewhere", "1.7 (1.6–1.8) % w/v", "Opened since 2030-12-18"]);
    paper.says(&["at bench (21 °C, dark, container not known) since 2031-03-04"]);
    paper.says(&["Light breaks it down.", "below 25 °C", "from 8 % w/w up", "look at its cap"]);
    paper.says(&["today", "Strength, % w/v", "≈ is estimated", "as of 2031-03-06", "the local law"]);
    // The test that `check` proposes, before the day on which the first dip is no longer ready.
    let first = checked["dips"].as_array().unwrap().iter().filter_map(|dip| dip["until"].as_str()).min().unwrap();
    let test = checked["test"]["name"].as_str().unwrap();
    assert_eq!(test, "oxygen volume");
    paper.says(&[&format!("Oxygen volume, before {first}")]);
    let plan = bench.on(DAY, "--json assay plan S02").json();
    let expected = plan["expected"]["value"].as_f64().unwrap();
    paper.says(&[&format!("Expect about {expected:.0} mL"), "The flask must never be closed"]);
    assert_eq!(paper.bytes(), card(&bench, DAY, "strength S02").bytes(), "the same card, the same bytes");
}

#[test]
fn the_chart_names_levels_tests_and_round_steps() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "strength S03");
    let laid = lines(&paper);
    for limit in check(&bench, "S03")["chart"]["limits"].as_array().unwrap() {
        let (dip, level) = (limit["dip"].as_str().unwrap(), limit["needs"].as_f64().unwrap());
        let shown = laid.lines().any(|line| {
            line.split_whitespace().collect::<Vec<_>>().windows(2).any(|pair| {
                pair[1] == dip && pair[0].parse::<f64>().is_ok_and(|figure| (figure / level - 1.0).abs() < 0.06)
            })
        });
        assert_eq!(shown, level <= 15.0, "{dip} at {level}: {laid}");
    }
    let words = paper.words();
    for mark in [" 15 ", " 10 ", " 5 ", " 0 ", "2031-04", "2031-05"] {
        assert!(words.contains(mark), "{mark}: {words}");
    }
}

#[test]
fn a_strength_that_nobody_knows_has_no_chart() {
    let bench = Bench::new();
    bench.on(DAY, "receive chloramine-t \"2 % w/v\" 500mL --at cupboard").ok();
    let paper = card(&bench, DAY, "strength CT-1");
    paper.says(&["Not known", "no chart", "Test it before anything is poured from it", "brimstock assay plan CT-1"]);
    let words = paper.words();
    for absent in ["today", "Hatching", "≈"] {
        assert!(!words.contains(absent), "{absent}: {words}");
    }
}

#[test]
fn what_is_held_is_said_first_and_not_tested() {
    let bench = Bench::demo();
    let words = card(&bench, DAY, "strength S04").words();
    let held = words.find("Do not use it: date unknown, bottle brittle").expect(&words);
    assert!(held < words.find("Strength over time").expect(&words), "{words}");
    assert!(words.contains("Leave it closed") && !words.contains("assay plan"), "{words}");
}

#[test]
fn a_solid_that_keeps_is_pressed_by_no_day() {
    let bench = Bench::demo();
    card(&bench, DAY, "strength S07").says(&["≈ 99 % w/w", "per cent of its weight", "no day presses", "never tested"]);
    card(&bench, DAY, "strength S12").says(&["The book has no dip that is made with it."]);
}

#[test]
fn a_test_before_a_dip_is_asked_for_by_its_name() {
    let bench = Bench::demo();
    let checked = check(&bench, "S02");
    // A month after the last day the same bottle is no longer sure enough for its weakest dip.
    let last = checked["dips"].as_array().unwrap().iter().filter_map(|dip| dip["until"].as_str()).max().unwrap();
    let day = chrono::NaiveDate::parse_from_str(last, "%Y-%m-%d").unwrap() + chrono::Days::new(5);
    let words = card(&bench, &day.to_string(), "strength S02").words();
    assert!(words.contains("Oxygen volume, before: Peroxide"), "{words}");
}

#[test]
fn every_paper_and_several_stocks() {
    let bench = Bench::demo();
    for (paper, width) in [("a5", "419"), ("a6", "297"), ("letter", "612")] {
        let printed = card(&bench, DAY, &format!("strength S02 --paper {paper}"));
        let size = tool("pdfinfo", &[printed.path.to_str().unwrap()]);
        assert!(size.contains(&format!("Page size:       {width}")), "{paper}: {size}");
        printed.says(&["≈ 1.7 % w/v", "peroxide-tank-spot", "Never pour the sample back.", "What harms it"]);
    }
    let printed = card(&bench, DAY, "strength S02 S07");
    assert_eq!(printed.pages, 2);
    printed.says(&["S02 · hydrogen peroxide", "S07 · salt"]);
}

#[test]
fn many_tests_and_a_long_place_stay_on_paper() {
    let bench = Bench::new();
    let long = "shelf-behind-door-of-the-potting-shed";
    bench.on("2030-01-01", &format!("place add \"{long}\" --temp 20 --light dark")).ok();
    bench.on("2030-01-02", &format!("receive hydrogen-peroxide \"12 % w/w\" 1L --at \"{long}\"")).ok();
    for week in 1..16 {
        let day = chrono::NaiveDate::from_ymd_opt(2030, 1, 2).unwrap() + chrono::Days::new(7 * week);
        bench.on(&day.to_string(), "assay HP-1 figure \"11.5 % w/w\" --sd 3%").ok();
    }
    let paper = card(&bench, "2030-12-01", "strength HP-1 --paper a5");
    paper.says(&["of-the-potting-shed", "2030-01-09", "2030-04-17"]);
}

#[test]
fn what_is_not_there_is_refused() {
    let bench = Bench::demo();
    bench.on(DAY, "card strength S99").fails(2, &["there is no stock `S99`"]);
    bench.on(DAY, "card strength S02 --lang es").fails(2, &["not there in `es`", "bottle, spill and bench"]);
    bench.on(DAY, "card strength").fails(2, &["wants to know of what"]);
    bench.on(DAY, "retire S02 --because \"handed over\"").ok();
    bench.on("2031-03-07", "card strength S02").fails(2, &["left the shelf on 2031-03-06"]);
}
