//! What is due: every kind just before and on its day, the order, seven lines, silence; and the calendar.

mod baths;
mod calendar;

use std::fs;

use brimstock::commands::due::Due;
use brimstock::commands::due::rank::{Kind, Matter, rank};
use brimstock::hazard::storage::Severity;
use chrono::NaiveDate;
use serde_json::Value;

use crate::harness::Bench;

/// A dark cupboard at 20 °C with what is said to have come.
pub fn shelf(lines: &[(&str, &str)]) -> Bench {
    let bench = Bench::new();
    for (day, line) in lines {
        bench.on(day, line).ok();
    }
    bench
}

/// What is due of a kind on a day or before, and nothing ahead.
pub fn due(bench: &Bench, day: &str, kind: &str) -> Vec<Value> {
    let answer = bench.on(day, "--json due --days 0").json();
    answer["due"].as_array().unwrap().iter().filter(|matter| matter["kind"] == kind).cloned().collect()
}

/// Asserts that a kind is due from a day on, and not the day before; the matter of that day.
#[track_caller]
pub fn due_from(bench: &Bench, before: &str, day: &str, kind: &str) -> Value {
    assert_eq!(due(bench, before, kind), Vec::<Value>::new(), "{kind} on {before}");
    let on_its_day = due(bench, day, kind);
    assert_eq!(on_its_day.len(), 1, "{kind} on {day}: {on_its_day:?}");
    on_its_day[0].clone()
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn matter(kind: Kind, severity: Severity, about: &str, due: Option<&str>) -> Matter {
    Matter {
        kind,
        severity,
        about: vec![about.to_owned()],
        what: "something".to_owned(),
        day: due.map(day),
        next: "brimstock shelf".to_owned(),
        key: about.to_owned(),
    }
}

#[test]
fn nothing_due_is_silence() {
    let bench = shelf(&[("2031-03-01", "receive sodium-chloride \"99 %\" 25kg --at cupboard")]);
    assert_eq!(bench.on("2031-03-05", "due").ok(), "");
    assert_eq!(bench.on("2031-03-05", "due --all --days 3660").ok(), "");
    let answer = bench.on("2031-03-05", "--json due");
    assert_eq!((answer.code, answer.json()["due"].as_array().unwrap().len()), (0, 0));
}

#[test]
fn a_solution_made_up_here_is_due_when_its_month_is_over() {
    // `made_up_keeps` of permanganate: 30 days.
    let bench = shelf(&[
        ("2031-02-01", "receive potassium-permanganate \"20 g/L\" 1L --at cupboard --code S11"),
        ("2031-02-01", "note S11 labelled"),
    ]);
    let found = due_from(&bench, "2031-03-02", "2031-03-03", "past its time");
    assert_eq!((found["day"].as_str(), &found["about"][0]), (Some("2031-03-03"), &Value::from("S11")));
    assert_eq!(found["next_step"], "brimstock assay plan S11");
    // Seven days ahead by itself, and one more if asked for.
    assert_eq!(bench.on("2031-02-24", "--json due").json()["due"][0]["day"], "2031-03-03");
    assert_eq!(bench.on("2031-02-23", "due").ok(), "");
    assert_eq!(bench.on("2031-02-23", "due --days 8").code, 1);
    let said = bench.on("2031-03-05", "due");
    assert_eq!(said.code, 1);
    assert!(said.stdout.starts_with("since 2031-03-03  S11: made up 2031-02-01"), "{}", said.stdout);
    assert!(bench.on("2031-03-03", "due").stdout.starts_with("today             S11: made up"));
    // A test gives it as long again: 4 March and 30 days.
    bench.on("2031-03-04", "assay S11 figure \"20 g/L\" --sd 3%").ok();
    due_from(&bench, "2031-04-02", "2031-04-03", "past its time");
    bench.on("2031-04-03", "count S11 none").ok();
    assert!(due(&bench, "2031-04-05", "past its time").is_empty(), "what is empty is past nothing");
}

#[test]
fn a_bottle_is_tested_by_the_last_day_that_check_tells() {
    let bench = shelf(&[
        ("2030-01-01", "place add boiler --temp 31 --light dark"),
        (
            "2031-01-10",
            "receive hydrogen-peroxide \"12 % w/w\" 1L --at boiler --code S03 --condition opened --cap vented",
        ),
    ]);
    let check = bench.on("2031-01-20", "--json check S03").json();
    let last = check["dips"].as_array().unwrap().iter().filter_map(|dip| dip["until"].as_str()).max().unwrap();
    let [before, after] = [day(last).pred_opt().unwrap(), day(last).succ_opt().unwrap()].map(|day| day.to_string());
    let found = due_from(&bench, &before, last, "test");
    assert_eq!((&found["about"][0], &found["day"]), (&"S03".into(), &last.into()));
    assert_eq!(found["next_step"], "brimstock assay plan S03");
    // Then it is late, and nobody is told a day any more.
    let late = &due(&bench, &after, "test")[0];
    assert_eq!(late["day"], Value::Null);
    assert!(late["what"].as_str().unwrap().starts_with("test first for peroxide-"), "{late}");
    // Seven days ahead and not eight.
    let ahead = |days: u64| (day(last) - chrono::Days::new(days)).to_string();
    assert_eq!(bench.on(&ahead(8), "due").ok(), "");
    assert_eq!(
        bench.on(&ahead(7), "due").stdout,
        format!("by {last}     S03: test it, no dip is sure of it later; `brimstock assay plan S03`\n")
    );
}

#[test]
fn what_can_hurt_is_due_from_the_day_it_is_noted() {
    let bench = shelf(&[
        ("2031-02-01", "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --code S01"),
        ("2031-03-10", "note S01 swollen"),
    ]);
    let found = due_from(&bench, "2031-03-09", "2031-03-10", "container");
    assert_eq!((found["severity"].as_str(), found["day"].as_str()), (Some("danger"), Some("2031-03-10")));
    assert!(bench.on("2031-03-12", "due").stdout.contains("since 2031-03-10  S01: swollen; `brimstock show S01`"));
    bench.on("2031-03-13", "note S01 vented-cap").ok();
    assert!(due(&bench, "2031-03-13", "container").is_empty());
    bench.on("2031-03-14", "note S01 brittle").ok();
    let found = due_from(&bench, "2031-03-13", "2031-03-14", "container");
    assert_eq!((found["severity"].as_str(), &found["next_step"]), (Some("serious"), &"brimstock discard S01".into()));
}

#[test]
fn what_is_held_waits_for_its_end() {
    let bench = shelf(&[(
        "2031-03-03",
        "receive hydrogen-peroxide \"3 % w/v\" 250mL --at cupboard --code S04 --hold \"date unknown\"",
    )]);
    let found = due_from(&bench, "2031-03-02", "2031-03-03", "container");
    assert_eq!((&found["what"], &found["next_step"]), (&"held: date unknown".into(), &"brimstock discard S04".into()));
    assert!(due(&bench, "2031-03-03", "test").is_empty(), "what is held is tested for nothing");
    bench.on("2031-03-05", "retire S04 --because \"handed over\"").ok();
    assert_eq!(bench.on("2031-03-05", "due").ok(), "");
}

#[test]
fn a_tight_cap_on_what_makes_gas_is_looked_at_every_month() {
    let bench = shelf(&[(
        "2031-02-10",
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --code S01 --cap tight --condition opened",
    )]);
    let found = due_from(&bench, "2031-03-09", "2031-03-10", "container");
    assert_eq!((&found["severity"], &found["next_step"]), (&"minor".into(), &"brimstock note S01 tight-cap".into()));
    // Whatever is done with it counts as a look.
    bench.on("2031-03-10", "note S01 tight-cap").ok();
    due_from(&bench, "2031-04-09", "2031-04-10", "container");
    bench.on("2031-04-09", "take S01 20mL").ok();
    due_from(&bench, "2031-05-08", "2031-05-09", "container");
}

#[test]
fn a_bottle_that_nobody_labelled_is_asked_for() {
    let bench = shelf(&[
        ("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --code S01"),
        ("2031-03-02", "open S01"),
        ("2031-03-10", "decant S01 100mL --code S02"),
    ]);
    let found = due_from(&bench, "2031-03-09", "2031-03-10", "label");
    assert_eq!((&found["about"][0], &found["severity"]), (&"S02".into(), &"minor".into()));
    assert_eq!(found["next_step"], "brimstock note S02 labelled");
    bench.on("2031-03-11", "note S02 unlabelled").ok();
    assert_eq!(due(&bench, "2031-03-11", "label")[0]["severity"], "serious");
    bench.on("2031-03-12", "note S02 labelled").ok();
    assert!(due(&bench, "2031-03-12", "label").is_empty());
}

#[test]
fn what_must_not_stand_together_is_due_until_it_is_moved_or_has_a_reason() {
    let bench = shelf(&[
        ("2031-03-01", "place add \"far end\" --temp 20 --light dark"),
        ("2031-03-01", "receive bleach \"4 % w/w\" 1L --at cupboard --code S05"),
        ("2031-03-10", "receive citric-acid 900g --at cupboard --code S14"),
    ]);
    let found = due_from(&bench, "2031-03-09", "2031-03-10", "container");
    assert_eq!(found["about"], serde_json::json!(["S05", "S14"]));
    assert_eq!((&found["day"], &found["next_step"]), (&Value::Null, &"brimstock audit --at cupboard".into()));
    assert!(bench.on("2031-03-10", "due").stdout.starts_with("now               S05, S14: must not stand together"));
    bench.on("2031-03-11", "move S14 cupboard --overrule \"until the boat comes\"").ok();
    assert!(due(&bench, "2031-03-11", "container").is_empty(), "a reason is on file");
    bench.on("2031-03-12", "move S14 \"far end\"").ok();
    assert!(due(&bench, "2031-03-12", "container").is_empty());
}

#[test]
fn answers_are_asked_for_again_after_two_years_and_sheets_after_three() {
    let bench = shelf(&[("2031-02-01", "receive sodium-chloride \"99 %\" 25kg --at cupboard --code S07")]);
    let rules = |on: &str| {
        let text = format!(
            "[[drain]]\nreagent = \"sodium-chloride\"\ninto = \"sewer\"\nallowed = true\nasked = \"the water board\"\non = \"{on}\"\nanswer = \"salt is salt\"\n"
        );
        fs::write(bench.folder().join("local.toml"), text).unwrap();
    };
    rules("2029-03-10");
    let found = due_from(&bench, "2031-03-09", "2031-03-10", "ask again");
    assert_eq!(
        (&found["what"], &found["next_step"]),
        (&"ask again for the answer in drain[1]".into(), &"brimstock local check".into())
    );
    rules("2031-03-11");
    assert_eq!(
        due(&bench, "2031-03-10", "ask again")[0]["day"],
        Value::Null,
        "an answer of a day to come is wrong now"
    );
    fs::write(bench.folder().join("local.toml"), "place = 7").unwrap();
    assert_eq!(due(&bench, "2031-03-10", "ask again")[0]["next_step"], "brimstock local");
    fs::remove_file(bench.folder().join("local.toml")).unwrap();

    fs::write(bench.folder().join("salt.pdf"), b"%PDF-1.4\nan invented sheet\n%%EOF\n").unwrap();
    bench.on("2031-02-01", "sds attach S07 salt.pdf --revised 2028-03-10").ok();
    let found = due_from(&bench, "2031-03-09", "2031-03-10", "data sheet");
    assert_eq!((&found["about"][0], &found["next_step"]), (&"S07".into(), &"brimstock sds list".into()));
}

#[test]
fn people_come_first_then_the_gravest_then_the_oldest() {
    let danger = Severity::Danger;
    let serious = Severity::Serious;
    let wanted = [
        matter(Kind::Overrun, danger, "A1", Some("2031-03-15")),
        matter(Kind::Container, danger, "S03", None),
        matter(Kind::Container, serious, "S02", Some("2031-03-01")),
        matter(Kind::Container, serious, "S01", Some("2031-03-02")),
        matter(Kind::UsedBath, serious, "bath 3", Some("2031-03-15")),
        matter(Kind::PastItsTime, serious, "S11", Some("2031-03-03")),
        matter(Kind::Label, serious, "S12", None),
        matter(Kind::Look, serious, "A1", Some("2031-03-14")),
        matter(Kind::Look, serious, "A2", Some("2031-03-14")),
        matter(Kind::Test, serious, "S03", None),
        matter(Kind::Low, serious, "S13", Some("2031-03-01")),
        matter(Kind::Planned, serious, "A3", Some("2031-03-01")),
        matter(Kind::AskAgain, Severity::Minor, "", None),
        matter(Kind::Sheet, danger, "S01", None),
    ];
    let mut mixed: Vec<Matter> = wanted.iter().rev().cloned().collect();
    mixed.swap(2, 9);
    let (on, to) = (day("2031-03-15"), day("2031-03-22"));
    assert_eq!(rank(mixed, on, to), wanted);
    // Up to the last day, and no further.
    let of = |text| matter(Kind::Look, serious, "A1", Some(text));
    assert_eq!(rank(vec![of("2031-03-23"), of("2031-03-22")], on, to), [of("2031-03-22")]);
}

#[test]
fn seven_lines_are_seven_and_of_eight_the_seventh_counts_two_more() {
    let (on, to) = (day("2031-03-15"), day("2031-03-22"));
    let many = |count: usize| {
        let matters =
            (0..count).map(|n| matter(Kind::Look, Severity::Serious, &format!("A{n}"), Some("2031-03-15"))).collect();
        Due { on, to, matters, all: false, calendar: None }
    };
    assert_eq!((many(7).lines().0.len(), many(7).lines().1), (7, 0));
    assert_eq!((many(8).lines().0.len(), many(8).lines().1), (6, 2));
    let all = Due { all: true, ..many(8) };
    assert_eq!((all.lines().0.len(), all.lines().1), (8, 0));
}

#[test]
fn the_demo_on_5_march_tells_dangers_first_in_lines_of_a_hundred() {
    // trade.md G: S05 with S14 and S03 on the boiler shelf, S04 to be handed over, S11 of 1 February unlabelled and late.
    let bench = Bench::demo();
    let said = bench.on("2031-03-05", "due");
    assert_eq!(said.code, 1);
    let lines: Vec<&str> = said.stdout.lines().collect();
    assert_eq!(lines.len(), 7, "{}", said.stdout);
    assert!(lines.iter().all(|line| line.chars().count() <= 100), "{}", said.stdout);
    for (line, words) in lines.iter().zip([
        ["S03, S05, S14: must not stand together (boiler)", "`brimstock audit --at boiler`"],
        ["S04, S11: must not stand together (porch)", "`brimstock audit --at porch`"],
        ["since 2031-03-03  S04: held: date unknown", "`brimstock discard S04`"],
        ["S03, S04: nobody said how its cap closes", "`brimstock note S03 vented-cap`"],
        ["S05, S06: nobody said how its cap closes", "`brimstock note S05 vented-cap`"],
        ["since 2031-03-03  S11: made up 2031-02-01", "`brimstock assay plan S11`"],
    ]) {
        assert!(words.iter().all(|word| line.contains(word)), "{words:?}: {line}");
    }
    let all = bench.on("2031-03-05", "due --all").stdout;
    let more = all.lines().count() - 6;
    assert_eq!(lines[6], format!("and {more} more: `brimstock due --all`"));
    assert!(all.lines().take(6).eq(lines[..6].iter().copied()));
    assert!(all.contains("S11: nobody noted a label; `brimstock note S11 labelled`"), "{all}");
    let json = bench.on("2031-03-05", "--json due").json();
    assert_eq!(json["due"].as_array().unwrap().len(), all.lines().count(), "JSON keeps nothing back");
}

#[test]
fn days_that_are_none_are_refused() {
    let bench = Bench::new();
    for days in ["-1", "3661", "soon", "1.5"] {
        bench.on("2031-03-05", &format!("due --days={days}")).fails(2, &["--days"]);
    }
    bench.on("2031-03-05", "due --days 3660").ok();
}

#[test]
fn whoever_has_signed_an_earlier_version_of_a_dip_is_to_sign_again() {
    let bench = shelf(&[
        ("2031-03-09", "dips sign alum-soak --who \"bench helper\""),
        ("2031-03-09", "dips sign alum-short --who R"),
    ]);
    assert!(due(&bench, "2031-03-10", "sign again").is_empty());
    bench.on("2031-03-10", "dips revise alum-soak --minutes 20-30h --because \"tried here\"").ok();
    let found = due(&bench, "2031-03-10", "sign again");
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0]["about"], serde_json::json!(["bench helper"]));
    assert_eq!(found[0]["what"], "read version 2 of `alum-soak` and sign it");
    assert_eq!(found[0]["next_step"], "brimstock dips signed alum-soak");
    bench.on("2031-03-11", "dips sign alum-soak --who \"bench helper\"").ok();
    assert!(due(&bench, "2031-03-11", "sign again").is_empty());
}
