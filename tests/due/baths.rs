//! Baths, lots and what is planned: just before and on their day.

use std::fs;

use brimstock::catalogue::Catalogue;
use brimstock::commands::Session;
use brimstock::commands::due::rank::{Kind, Matter};
use brimstock::commands::due::{DueArguments, run};
use brimstock::hazard::storage::Severity;
use chrono::NaiveTime;

use super::{day, due, due_from, shelf};
use crate::harness::Bench;

/// Enough bleach, alum and thiosulfate, and nothing that wants doing by itself.
fn bench() -> Bench {
    shelf(&[
        ("2030-01-01", "place add far --temp 8 --light dark"),
        ("2031-03-10", "receive bleach \"5 % w/w\" 4L --at far --code S06 --cap vented"),
        ("2031-03-10", "receive potassium-alum \"99 %\" 2kg --at cupboard --code S08"),
        ("2031-03-10", "receive sodium-thiosulfate \"99 %\" 2kg --at cupboard --code S13"),
    ])
}

/// What is due by a clock on the wall, and nothing ahead.
fn at(bench: &Bench, on: &str, time: &str) -> Vec<Matter> {
    let session = Session {
        catalogue: Catalogue::shipped().unwrap(),
        path: bench.register(),
        day: day(on),
        entered_at: format!("{on}T12:00:00Z"),
        clock: day(on).and_time(time.parse::<NaiveTime>().unwrap()),
        work: brimstock::register::work::Work::default(),
    };
    run(&session, &DueArguments { days: Some(0), all: true, ics: None }).unwrap().matters
}

#[test]
fn a_bath_runs_over_from_the_second_after_its_longest_time() {
    let bench = bench();
    bench.on("2031-03-15", "bathe start alum-short --bath 10L --lot A1 --at 10:00").ok();
    // alum-short: 2 to 3 hours, from hazards/dips.toml.
    let [within, over] = ["13:00:00", "13:00:01"].map(|time| at(&bench, "2031-03-15", time).remove(0));
    assert_eq!((within.kind, within.severity), (Kind::Overrun, Severity::Serious));
    assert_eq!((over.kind, over.severity), (Kind::Overrun, Severity::Danger));
    assert_eq!(over.says(), "A1: over its time in bath 1, out by 13:00");
    assert_eq!(over.next, "brimstock bathe stop A1");
    assert_eq!((within.key.clone(), within.about.clone()), (over.key, over.about), "one entry of a calendar");
    // Asked for another day it is the end of that day that counts.
    assert_eq!(due(&bench, "2031-03-16", "bath running over")[0]["severity"], "danger");
    assert!(bench.on("2031-03-16", "due").stdout.starts_with("since 2031-03-15  A1: over its time in bath 1"));
    bench.on("2031-03-15", "bathe stop A1 --at 12:30").ok();
    assert!(due(&bench, "2031-03-16", "bath running over").is_empty());
}

#[test]
fn a_soak_of_two_days_is_told_ahead() {
    let bench = bench();
    bench.on("2031-03-15", "bathe start alum-soak --bath 10L --lot A2 --at 08:00").ok();
    // alum-soak: 24 to 48 hours.
    assert!(due(&bench, "2031-03-16", "bath running over").is_empty());
    let said = bench.on("2031-03-15", "due").stdout;
    assert!(said.starts_with("by 2031-03-17     A2: out of bath 1 by 08:00; `brimstock bathe stop A2`"), "{said}");
    assert_eq!(at(&bench, "2031-03-17", "07:59:00")[0].severity, Severity::Serious);
    assert_eq!(at(&bench, "2031-03-17", "08:00:01")[0].severity, Severity::Danger);
}

#[test]
fn a_used_bath_is_due_until_it_is_ended_and_drained() {
    let bench = bench();
    bench.on("2031-03-15", "bathe start bleach-fine-leaved --bath 10L --lot A1 --at 10:00").ok();
    assert!(due(&bench, "2031-03-15", "used bath").is_empty(), "plants are in it");
    bench.on("2031-03-15", "bathe stop A1 --at 10:02").ok();
    let found = &due(&bench, "2031-03-15", "used bath")[0];
    assert_eq!((&found["severity"], &found["what"]), (&"serious".into(), &"not ended (bleach-fine-leaved)".into()));
    assert_eq!(found["next_step"], "brimstock bathe quench 1 --reading …");
    bench.on("2031-03-15", "bathe quench 1 --reading \"strip 0\"").ok();
    let found = &due(&bench, "2031-03-16", "used bath")[0];
    assert_eq!((&found["severity"], &found["what"]), (&"minor".into(), &"not drained (bleach-fine-leaved)".into()));
    assert_eq!(found["day"], "2031-03-15");
    bench.on("2031-03-16", "bathe drain 1 --into sewer --permission \"letter W-17\"").ok();
    assert!(due(&bench, "2031-03-16", "used bath").is_empty());
}

#[test]
fn a_lot_is_looked_over_on_its_days_and_one_look_makes_up_for_all_that_were_missed() {
    let bench = bench();
    bench.on("2031-03-15", "bathe start alum-short --bath 10L --lot A1 --at 10:00").ok();
    assert!(due(&bench, "2031-03-30", "look").is_empty(), "it is in a bath");
    bench.on("2031-03-15", "bathe stop A1 --at 12:30").ok();
    // Days 7, 14, 21 and 28, from hazards/hatching.toml.
    let found = due_from(&bench, "2031-03-21", "2031-03-22", "look");
    assert_eq!((&found["about"][0], &found["what"]), (&"A1".into(), &"look it over (day 7)".into()));
    bench.on("2031-03-22", "bathe look A1 --adults 0 --eggs 0").ok();
    due_from(&bench, "2031-03-28", "2031-03-29", "look");
    let late = due(&bench, "2031-04-06", "look");
    assert_eq!((late.len(), &late[0]["day"]), (1, &"2031-03-29".into()));
    bench.on("2031-04-06", "bathe look A1 --adults 0 --eggs 0").ok();
    due_from(&bench, "2031-04-11", "2031-04-12", "look");
    let ahead = bench.on("2031-03-16", "--json due --days 60").json();
    let looks = ahead["due"].as_array().unwrap().iter().filter(|matter| matter["kind"] == "look").count();
    assert_eq!(looks, 4, "all its days are told ahead");
    bench.on("2031-04-12", "bathe look A1 --adults 0 --eggs 0").ok();
    assert!(due(&bench, "2031-05-12", "look").is_empty());
    bench.on("2031-04-20", "bathe start alum-short --bath 10L --lot A1 --at 10:00 --overrule again").ok();
    bench.on("2031-04-20", "bathe stop A1 --at 12:30").ok();
    due_from(&bench, "2031-04-26", "2031-04-27", "look");
    bench.on("2031-04-27", "bathe destroy A1 --because \"eggs\"").ok();
    assert!(due(&bench, "2031-04-28", "look").is_empty());
}

#[test]
fn a_planned_bath_is_due_on_its_day_until_the_book_has_it() {
    let bench = bench();
    let plan = "date,lot,dip,bath,baths\n2031-03-20,A1,alum-short,10L,2\n";
    fs::write(bench.folder().join("plan.csv"), plan).unwrap();
    bench.on("2031-03-11", "ready-for plan.csv --keep").ok();
    let found = due_from(&bench, "2031-03-19", "2031-03-20", "planned bath");
    assert_eq!((&found["about"][0], &found["what"]), (&"A1".into(), &"2 × 10 L of alum-short".into()));
    assert_eq!(found["next_step"], "brimstock dose alum-short --bath 10L");
    assert_eq!(bench.on("2031-03-12", "due").ok(), "", "eight days ahead");
    assert!(bench.on("2031-03-13", "due").stdout.contains("by 2031-03-20     A1: 2 × 10 L of alum-short"));
    for (from, to, left) in [("08:00", "10:00", "10 L of alum-short"), ("11:00", "13:00", "")] {
        bench.on("2031-03-20", &format!("bathe start alum-short --bath 10L --lot A1 --at {from}")).ok();
        bench.on("2031-03-20", &format!("bathe stop A1 --at {to}")).ok();
        let found = due(&bench, "2031-03-20", "planned bath");
        assert_eq!(found.first().map_or("", |matter| matter["what"].as_str().unwrap()), left);
    }
    assert!(due(&bench, "2031-03-21", "planned bath").is_empty());
}

#[test]
fn what_is_short_for_a_plan_is_due_by_the_day_to_order_it() {
    let bench = bench();
    // 13 g/L in 200 L are 2.6 kg of alum, and 2 kg are there; delivery is taken as 7 days.
    let plan = "date,lot,dip,bath\n2031-03-27,A1,alum-short,200L\n";
    fs::write(bench.folder().join("plan.csv"), plan).unwrap();
    assert_eq!(bench.on("2031-03-11", "ready-for plan.csv --keep").code, 1);
    let found = due_from(&bench, "2031-03-19", "2031-03-20", "low stock");
    assert_eq!(
        (&found["about"][0], &found["next_step"]),
        (&"potassium-alum".into(), &"brimstock ready-for --plan".into())
    );
    assert_eq!(found["what"], "order 1 × 2 kg of 99 % w/w", "in containers as the last that came");
    bench.on("2031-03-20", "receive potassium-alum 1kg --at cupboard --code S09").ok();
    assert!(due(&bench, "2031-03-20", "low stock").is_empty());
}

#[test]
fn a_bottle_that_a_plan_needs_is_tested_by_the_day_of_the_bath() {
    let bench = shelf(&[
        ("2030-01-01", "place add boiler --temp 31 --light dark"),
        (
            "2031-01-10",
            "receive hydrogen-peroxide \"12 % w/w\" 1L --at boiler --code S03 --condition opened --cap vented",
        ),
    ]);
    let check = bench.on("2031-01-20", "--json check S03 --dip peroxide-weak").json();
    let last = check["dips"][0]["until"].as_str().unwrap().to_owned();
    let later = day(&last) + chrono::Days::new(10);
    let plan = format!("date,lot,dip,bath\n{later},A1,peroxide-weak,10L\n");
    fs::write(bench.folder().join("plan.csv"), plan).unwrap();
    assert_eq!(bench.on("2031-01-20", "ready-for plan.csv --keep").code, 1);
    let before = day(&last).pred_opt().unwrap().to_string();
    let found = due_from(&bench, &before, &last, "test");
    assert_eq!((&found["about"][0], &found["day"]), (&"S03".into(), &last.as_str().into()));
    assert_eq!(found["what"], format!("no longer sure of peroxide-weak, planned for {later}"));
}

#[test]
fn a_plan_that_cannot_be_judged_hides_nothing_else() {
    let bench = bench();
    fs::write(bench.folder().join("plan.csv"), "date,lot,dip,bath\n2031-03-20,A1,alum-short,10L\n").unwrap();
    bench.on("2031-03-11", "ready-for plan.csv --keep").ok();
    let register = rusqlite::Connection::open(bench.register()).unwrap();
    let insert = "INSERT INTO plan (day, content, entered_at) VALUES ('2031-03-12', '{}', '2031-03-12T12:00:00Z')";
    register.execute(insert, []).unwrap();
    bench.on("2031-03-13", "note S06 swollen").ok();
    assert_eq!(due(&bench, "2031-03-13", "container").len(), 1);
    let found = &due(&bench, "2031-03-13", "planned bath")[0];
    assert!(found["what"].as_str().unwrap().starts_with("the plan cannot be judged: "), "{found}");
}
