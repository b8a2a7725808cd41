//! Whole commands about dips of the keeper's own: versions, signatures, where they are used, every refusal.

use std::fs;

use brimstock::catalogue::{After, Catalogue};
use brimstock::commands::own_dips::Book;
use brimstock::commands::signatures::unsigned;
use brimstock::dip::course;
use brimstock::register::Register;
use chrono::NaiveDate;
use proptest::prelude::*;
use rusqlite::Connection;
use serde_json::Value;

use crate::harness::Bench;

/// The day on which the dips of these tests are entered.
const DAY: &str = "2031-03-27";

/// A day before.
const BEFORE: &str = "2031-03-26";

/// What a mild soak says, all that is needed.
const MILD: &str = "--name \"Alum soak, mild\" --reagent potassium-alum --low \"1.5 g/L\" --aim \"2 g/L\" --high \"2.5 g/L\" \
                    --minutes 24-48h --used-for \"snails, tried here\" --plants mosses --because \"the usual one browned moss\"";

/// A bleach dip with everything said.
const FULL: &str = "dips add bleach-ferns --name \"Bleach dip, ferns\" --reagent sodium-hypochlorite \
                    --low \"1 g/L available chlorine\" --aim \"1.2 g/L available chlorine\" --high \"1.5 g/L available chlorine\" \
                    --minutes 90-120s --water 15-22 --used-for \"algae on ferns\" --plants ferns \
                    --not-shown \"Eggs: not looked for.\" --not-shown \"Snails: two lived.\" --caution \"Hold the rhizome up.\" \
                    --evidence \"Three ferns, all alive after 14 days.\" --steps \"rinse 2, quench, hold 14, look 7 14, dip bleach-robust\" \
                    --because \"ferns browned in the usual dip\"";

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn add(bench: &Bench, rest: &str) -> Value {
    bench.on(DAY, &format!("--json dips add {rest}")).json()
}

fn page(bench: &Bench, on: &str, rest: &str) -> Value {
    let answer = bench.on(on, &format!("--json dips {rest}")).json();
    answer["dips"][0].clone()
}

/// Trade facts G, day 27: the recipe is revised to "max 110 s", the helper has to sign again.
#[test]
fn day_27_the_bleach_dip_is_cut_to_110_seconds_and_the_helper_signs_again() {
    let bench = Bench::demo();
    bench.on("2031-03-09", "dips sign bleach-fine-leaved --who \"bench helper\"").ok();
    let before = bench.on(DAY, "--json dose bleach-fine-leaved --bath 10L").json();
    let said = bench
        .on(DAY, "dips revise bleach-fine-leaved --minutes \"max 110 s\" --because \"load 3 browned at 2 min 55 s\"")
        .ok();
    for words in [
        "version 2 entered, from 2031-03-27 on",
        "time: 2 min → 110 s",
        "because: load 3 browned",
        "read again: bench helper",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let now = page(&bench, DAY, "bleach-fine-leaved");
    assert_eq!(
        (now["version"].as_u64(), now["minutes_low"].as_f64(), now["minutes_high"].as_f64()),
        (Some(2), Some(1.83333), Some(1.83333))
    );
    assert_eq!(now["versions"][0], serde_json::json!({"version": 1, "day": null, "why": null}));
    assert_eq!(now["versions"][1]["why"], "load 3 browned at 2 min 55 s");
    // Nothing but the time has changed: the dose stays, the evidence and the cautions of the book stay.
    let after = bench.on(DAY, "--json dose bleach-fine-leaved --bath 10L").json();
    assert_eq!(before["doses"], after["doses"]);
    assert_eq!(before["cautions"], after["cautions"]);
    let first = page(&bench, DAY, "bleach-fine-leaved --version 1");
    assert_eq!((first["version"].as_u64(), first["minutes_high"].as_f64()), (Some(1), Some(2.0)));
    assert_eq!(first["evidence"], now["evidence"]);
    let yesterday = page(&bench, BEFORE, "bleach-fine-leaved");
    assert_eq!((yesterday["version"].as_u64(), yesterday["minutes_high"].as_f64()), (Some(1), Some(2.0)));
    // The helper has read version 1 alone, signs, and is done.
    let text = bench.on(DAY, "dips signed").ok();
    assert!(text.contains("must read version 2"), "{text}");
    let signed = bench.on(DAY, "--json dips sign BLEACH --who x").code;
    assert_eq!(signed, 2);
    bench.on(DAY, "dips sign bleach-fine-leaved --who \"Bench  Helper\"").ok();
    let signed = bench.on(DAY, "--json dips signed bleach-fine-leaved").json();
    let rows = signed["signatures"].as_array().unwrap();
    assert_eq!(rows.len(), 2, "{signed}");
    assert!(rows.iter().all(|row| row["must_read_again"] == false && row["in_force"] == 2), "{signed}");
    let card = bench.on(DAY, "card bench bleach-fine-leaved --bath 10L --out card.pdf");
    assert!(card.code == 1 && card.stdout.contains("is not ready: short"), "{card:?}");
}

#[test]
fn the_page_tells_its_version_in_words() {
    let bench = Bench::new();
    assert!(!bench.on(DAY, "dips alum-soak").ok().contains("version"), "a shipped one that was never changed");
    bench.on(DAY, "dips revise alum-soak --used-for \"snails, as we do it\" --because \"first change\"").ok();
    bench.on("2031-03-28", "dips revise alum-soak --minutes 30h --because \"second change\"").ok();
    let text = bench.on("2031-04-01", "dips alum-soak").ok();
    assert!(text.contains("version: 3, from 2031-03-28 on, because: second change"), "{text}");
    assert!(text.contains("used for: snails, as we do it") && text.contains("time: 30 h [keeper's own]"), "{text}");
    let text = bench.on("2031-04-01", "dips alum-soak --version 2").ok();
    assert!(text.contains("version: 2, from 2031-03-27 on, because: first change"), "{text}");
    assert!(text.contains("replaced by: version 3 from 2031-03-28 on"), "{text}");
    let text = bench.on("2031-04-01", "dips alum-soak --version 1").ok();
    assert!(text.contains("version: 1, as shipped") && text.contains("in force is version 3"), "{text}");
    bench.on("2031-04-01", "dips alum-soak --version 4").fails(2, &["no version 4", "accepted: 1, 2, 3"]);
    bench.on(DAY, "dips alum-soak --version 3").fails(2, &["no version 3", "from 2031-03-28 on", "accepted: 1, 2"]);
    bench.on(DAY, "dips --version 1").fails(2, &["<DIP>"]);
    // A page of the shipped book is as it was.
    assert_eq!(page(&bench, BEFORE, "alum-short")["versions"].as_array().unwrap().len(), 1);
}

#[test]
fn a_dip_of_ones_own_takes_cautions_neutraliser_and_steps_of_the_nearest_shipped_one() {
    let bench = Bench::new();
    let kept = add(&bench, &format!("alum-mild {MILD}"));
    assert_eq!((kept["version"].as_u64(), kept["from"].as_str()), (Some(1), Some(DAY)));
    assert_eq!(kept["stopped_with"], Value::Null);
    let taken = kept["taken_over"].to_string();
    for words in ["cautions as of `alum-soak`", "no neutraliser", "nobody here has shown", "evidence: none told"] {
        assert!(taken.contains(words), "{words}: {taken}");
    }
    let (own, shipped) = (page(&bench, DAY, "alum-mild"), page(&bench, DAY, "alum-soak"));
    assert_eq!(own["cautions"], shipped["cautions"]);
    assert_eq!(own["evidence"][0]["grade"], "keeper's own");
    assert_eq!(own["evidence"][0]["source"], "keepers-own");
    assert!(own["not_shown"][0].as_str().unwrap().contains("Nobody here has shown"), "{own}");
    // Stronger than the middle of 4 and 13 g/L by ratio (7.2): the short soak is the nearer one.
    for (aim, near) in [("7 g/L", "alum-soak"), ("7.5 g/L", "alum-short")] {
        let rest = MILD.replace("2 g/L", aim).replace("2.5 g/L", "8 g/L");
        let kept = add(&bench, &format!("alum-{} {rest}", aim.replace([' ', '/', '.'], "").to_lowercase()));
        assert!(kept["taken_over"].to_string().contains(&format!("`{near}`")), "{aim}: {kept}");
    }
    // A bath of gear takes those of gear, though a bath of plants is nearer.
    let rest = "--name Tubs --reagent bleach --low \"2 g/L available chlorine\" --aim \"2.5 g/L available chlorine\" --high \"3 g/L available chlorine\" \
                --minutes 10 --bathed gear --used-for tubs --plants none --because tubs";
    let kept = add(&bench, &format!("tubs-strong {rest}"));
    assert!(kept["taken_over"].to_string().contains("`chytrid-bleach`"), "{kept}");
    assert_eq!(kept["stopped_with"], "sodium-thiosulfate");
    let listed = bench.on(DAY, "dips").ok();
    let line = listed.lines().find(|line| line.starts_with("alum-mild")).unwrap();
    assert!(line.ends_with("keeper's own"), "{line}");
    assert!(!bench.on(BEFORE, "dips").ok().contains("alum-mild"), "it is not there yet");
}

#[test]
fn everything_that_is_said_is_kept() {
    let bench = Bench::new();
    bench.on(DAY, FULL).ok();
    let own = page(&bench, DAY, "bleach-ferns");
    assert_eq!((own["minutes_low"].as_f64(), own["minutes_high"].as_f64()), (Some(1.5), Some(2.0)));
    assert_eq!(own["water_c"], serde_json::json!([15.0, 22.0]));
    assert_eq!(own["not_shown"], serde_json::json!(["Eggs: not looked for.", "Snails: two lived."]));
    assert_eq!(own["evidence"].as_array().unwrap().len(), 1);
    assert_eq!(own["evidence"][0]["says"], "Three ferns, all alive after 14 days.");
    assert_eq!(own["stopped_with"], "sodium-thiosulfate");
    let cautions = own["cautions"].as_array().unwrap();
    assert_eq!(cautions[0], "Hold the rhizome up.");
    assert!(cautions.len() > 5, "the general ones stay below: {own}");
    // 1.2 g/L chlorine are 1.2 / 0.95246 g/L of sodium hypochlorite: formula weights 74.44 and 70.90.
    let aim = own["target"]["aim_g_per_l"].as_f64().unwrap();
    assert!((aim - 1.2599).abs() < 0.0005, "{aim}");
    let kept = bench
        .on(DAY, "--json dips revise bleach-ferns --steps none --evidence \"A fourth fern died.\" --because more")
        .json();
    assert_eq!(kept["after"], Value::Null);
    let changes = kept["changes"].as_array().unwrap();
    let of = |what: &str| changes.iter().filter(|change| change["what"] == what).collect::<Vec<_>>();
    assert_eq!(of("steps")[0]["before"], "rinse 2, quench, hold 14, look 7 14, dip bleach-robust");
    assert_eq!(of("steps")[0]["after"], "none");
    assert_eq!(of("evidence").len(), 2, "one went, one came: {kept}");
    assert_eq!(changes.len(), 3, "{kept}");
    let kept = bench.on(DAY, "--json dips revise bleach-ferns --caution \"Count aloud.\" --because more").json();
    assert_eq!(kept["changes"].as_array().unwrap().len(), 2, "its own caution went, the general ones stay: {kept}");
    assert_eq!(kept["version"], 3);
}

#[test]
fn lines_of_the_shipped_book_stay_whatever_is_given() {
    let bench = Bench::new();
    let shipped = page(&bench, DAY, "bleach-robust");
    bench
        .on(DAY, "dips revise bleach-robust --evidence \"Ten bundles bore it.\" --not-shown \"Moss: not tried.\" --caution \"Stay with it.\" --water \"15 to 22\" --name Tough --because ours")
        .ok();
    let now = page(&bench, DAY, "bleach-robust");
    for (field, at) in [("not_shown", 1), ("cautions", 1), ("evidence", 0)] {
        let (old, new) = (shipped[field].as_array().unwrap(), now[field].as_array().unwrap());
        assert_eq!(&new[at..at + old.len()], &old[..], "{field}");
        assert_eq!(new.len(), old.len() + 1, "{field}");
    }
    assert_eq!(now["evidence"].as_array().unwrap().last().unwrap()["grade"], "keeper's own");
    assert_eq!(now["water_c"], serde_json::json!([15.0, 22.0]));
}

#[test]
fn an_own_dip_is_used_wherever_a_dip_is() {
    let bench = Bench::new();
    for line in ["receive bleach \"5.25 % w/w\" 1L --at cupboard", "receive sodium-thiosulfate 500g --at cupboard"] {
        bench.on("2031-03-20", line).ok();
    }
    bench.on(DAY, FULL).ok();
    // 10 L of 1.2 g/L available chlorine hold 12 g, and 7.4 g of thiosulfate are planned for each.
    let dosed = bench.on(DAY, "--json dose bleach-ferns --bath 10L").json();
    let planned = dosed["stopping"]["grams_planned"].as_f64().unwrap();
    assert!((planned - 88.8).abs() < 0.1, "{dosed}");
    assert_eq!(dosed["doses"].as_array().unwrap().len(), 1, "{dosed}");
    let ended = bench.on(DAY, "--json quench bleach-ferns --bath 10L --with sodium-thiosulfate").json();
    // Counted at the upper end of its band: 1.5 g/L in 10 L.
    assert_eq!(ended["grams_to_destroy"].as_f64(), Some(15.0), "{ended}");
    let checked = bench.on(DAY, "--json check BL-1").json();
    let dips = checked["dips"].as_array().unwrap();
    assert!(dips.iter().any(|line| line["dip"] == "bleach-ferns"), "{checked}");
    let one = bench.on(DAY, "--json check BL-1 --dip bleach-ferns").json();
    assert_eq!(one["dips"].as_array().unwrap().len(), 1, "{one}");
    let judged = bench.on(DAY, "--json classify --bath bleach-ferns").json();
    assert_eq!(judged["composition"][0]["reagent"], "sodium-hypochlorite", "{judged}");
    let read = bench.on(DAY, "--json dips read \"1:19 bleach (5.25 %), 2 minutes\"");
    let rows = read.json()["compared"].as_array().unwrap().clone();
    let row = rows.iter().find(|row| row["dip"] == "bleach-ferns").unwrap_or_else(|| panic!("{rows:?}"));
    assert_eq!(row["grade"], "keeper's own", "{row}");
    let read = bench.on(DAY, "dips read \"1:19 bleach (5.25 %), 2 minutes\"").ok();
    assert!(read.contains("keeper's own"), "{read}");
    for language in ["en", "es"] {
        let card = bench.on(DAY, &format!("card bench bleach-ferns --bath 10L --lang {language} --out {language}.pdf"));
        assert_eq!(card.code, i32::from(card.stdout.contains("bleach-ferns is not ready: ")), "{card:?}");
        assert!(fs::read(bench.folder().join(format!("{language}.pdf"))).unwrap().starts_with(b"%PDF"));
    }
    // The day before it was not there.
    bench.on(BEFORE, "dose bleach-ferns --bath 10L").fails(2, &["no dip `bleach-ferns`"]);
    bench.on(BEFORE, "quench bleach-ferns --bath 10L").fails(2, &["no dip `bleach-ferns`"]);
}

#[test]
fn a_revised_dip_answers_an_earlier_day_as_the_old_version() {
    let bench = Bench::new();
    bench.on("2031-03-20", "receive potassium-alum 1kg --at cupboard").ok();
    bench.on(DAY, "dips revise alum-soak --low \"5 g/L\" --aim \"6 g/L\" --high \"7 g/L\" --because stronger").ok();
    // 10 L at 4 and at 6 g/L; what is weighed is a little more, the salt not being wholly pure.
    for (on, low, high) in [(BEFORE, 40.0, 43.0), (DAY, 60.0, 64.0)] {
        let dosed = bench.on(on, "--json dose alum-soak --bath 10L").json();
        let grams = dosed["doses"][0]["value"].as_f64().unwrap();
        assert!((low..high).contains(&grams), "{on}: {dosed}");
        assert_eq!(dosed["target"]["aim_g_per_l"].as_f64(), Some(low / 10.0));
    }
}

#[test]
fn what_a_new_dip_must_not_be() {
    let bench = Bench::new();
    let with = |from: &str, to: &str| format!("dips add alum-mild {}", MILD.replace(from, to));
    let cases: Vec<(String, &[&str])> = vec![
        // The low end above the high end: bad input of issue 7.
        (
            with("\"1.5 g/L\"", "\"3 g/L\""),
            &["--low `3 g/L` is above --high `2.5 g/L`", "3 g/L against 2.5 g/L", "accepted: low not above aim"],
        ),
        (with("\"1.5 g/L\"", "\"2.2 g/L\""), &["--low `2.2 g/L` is above --aim `2 g/L`"]),
        (with("\"2 g/L\"", "\"2.6 g/L\""), &["--aim `2.6 g/L` is above --high `2.5 g/L`"]),
        // Units apart, the same: 1,500 mg/L are 1.5 g/L.
        (with("\"2.5 g/L\"", "\"1500 mg/L\""), &["--aim `2 g/L` is above --high `1500 mg/L`"]),
        (with("\"2 g/L\"", "\"a pinch\""), &["--aim: cannot read `a pinch`", "accepted"]),
        (with("\"2.5 g/L\"", "\"501 g/L\""), &["--high: `501 g/L`", "up to 500 g/L"]),
        (with("24-48h", "48-24h"), &["cannot read `48-24h`", "shortest time is above"]),
        (with("24-48h", "\"2 fortnights\""), &["`fortnights` is no unit of time", "`110 s`"]),
        (with("24-48h", "\"max 2 h\""), &["tells the longest time alone", "90-110s"]),
        (with("--plants mosses", ""), &["also needs --plants"]),
        (with("--plants mosses --because", "--because"), &["also needs --plants"]),
        (with("--plants mosses", "--plants mosses --water 22-15"), &["22 °C, is above its high end, 15 °C"]),
        (with("--plants mosses", "--plants mosses --water 15-46"), &["no span of temperatures", "0 to 45"]),
        (with("--plants mosses", "--plants mosses --bathed fish"), &["`fish`", "plants, gear, tank"]),
        (with("--plants mosses", "--plants mosses --steps \"soak\""), &["`soak` is no step", "look 7 14 21 28"]),
        (with("--plants mosses", "--plants mosses --steps \"dip alum-sock\""), &["no dip `alum-sock`", "`alum-soak`"]),
        (with("--plants mosses", "--plants mosses --steps \"dip salt-gear\""), &["`salt-gear` is for gear"]),
        (with("--plants mosses", "--plants mosses --steps \"dip alum-mild\""), &["leads back", "come to an end"]),
        (with("--plants mosses", "--plants mosses --steps quench"), &["`quench` after `alum-mild`", "no neutraliser"]),
        (with("Alum soak, mild", "Guaranteed soak"), &["`guarantee` promises", "--name"]),
        (with("--plants mosses", "--plants \" \""), &["--plants", "is empty"]),
        (with("--plants mosses", &format!("--plants {}", "m".repeat(151))), &["--plants", "1 to 150"]),
        (with("potassium-alum", "alum"), &["sold as several reagents"]),
        (with("potassium-alum", "moon-dust"), &["no reagent `moon-dust`"]),
        (with(" --because \"the usual one browned moss\"", ""), &["--because"]),
        (with("\"the usual one browned moss\"", "\"\""), &["--because", "is empty"]),
        (with("potassium-alum", "citric-acid"), &["which cautions does a dip of citric-acid need", "--caution"]),
    ];
    for (line, words) in cases {
        bench.on(DAY, &line).fails(2, words);
    }
    for (key, words) in [
        ("alum-soak", &["already a dip `alum-soak`, in the book", "dips revise alum-soak"][..]),
        ("sodium-chloride", &["is the key of a reagent"]),
        ("revise", &["needs", "--because"]),
        ("help", &["word of the program"]),
        ("Alum-Mild", &["is no key of a dip"]),
        ("ab", &["is no key of a dip"]),
        ("alum--mild", &["is no key of a dip"]),
        ("2alum", &["is no key of a dip"]),
    ] {
        let line = if key == "revise" { "dips revise".to_owned() } else { format!("dips add {key} {MILD}") };
        let ran = bench.on(DAY, &line);
        if key == "revise" {
            assert_eq!(ran.code, 2, "{ran:?}");
        } else {
            ran.fails(2, words);
        }
    }
    bench.on(DAY, &format!("dips add signed {MILD}")).fails(2, &["word of the program"]);
    bench
        .on(DAY, "dips add alum-mild --because why")
        .fails(2, &["--reagent, --low, --aim, --high, --minutes, --name, --used-for, --plants"]);
    assert!(!bench.on(DAY, "dips").ok().contains("keeper's own"), "nothing was written");
    // At the limit itself all is well: low, aim and high may be one figure.
    let even = MILD.replace("1.5 g/L", "2 g/L").replace("2.5 g/L", "2000 mg/L");
    add(&bench, &format!("even {even}"));
    assert_eq!(page(&bench, DAY, "even")["target"]["low_g_per_l"], 2.0);
    // A key that comes later is taken already.
    bench.on(BEFORE, &format!("dips add even {even}")).fails(2, &["already a dip `even`, your own, since 2031-03-27"]);
    // A reagent without a shipped dip needs a caution, and then has only that.
    let acid = MILD.replace("potassium-alum", "citric-acid");
    let kept = add(&bench, &format!("sour {acid} --caution \"Goggles.\""));
    assert_eq!(kept["version"], 1, "{kept}");
    assert_eq!(page(&bench, DAY, "sour")["cautions"], serde_json::json!(["Goggles."]));
}

#[test]
fn what_a_change_must_not_be() {
    let bench = Bench::new();
    bench.on(DAY, &format!("dips add alum-mild {MILD}")).ok();
    bench.on("2031-04-02", "dips revise alum-mild --minutes 24h --steps \"dip alum-soak\" --because shorter").ok();
    let on = "2031-04-05";
    for (line, words) in [
        ("dips revise alum-mild --because idle", &["nothing would change in `alum-mild`"][..]),
        ("dips revise alum-mild --minutes 1d --because idle", &["nothing would change"]),
        ("dips revise alum-mild --aim \" 2 g/L \" --because idle", &["nothing would change"]),
        ("dips revise alum-mild --reagent potassium-alum --because idle", &["nothing would change"]),
        (
            "dips revise alum-mild --reagent salt --because swap",
            &["made with potassium-alum, not with sodium-chloride", "dips add"],
        ),
        ("dips revise alum-mild --low \"3 g/L\" --because up", &["--low `3 g/L` is above --high `2.5 g/L`"]),
        ("dips revise alum-mild --aim \"1.4 g/L\" --because down", &["--low `1.5 g/L` is above --aim `1.4 g/L`"]),
        ("dips revise alum-soak --steps \"dip alum-mild\" --because loop", &["leads back to `alum-soak`"]),
        ("dips revise alum-mild --minutes 12h", &["--because"]),
        ("dips revise alum-mild --low 1 --because bare", &["--low: cannot read `1`"]),
        ("dips revise alum-mold --minutes 12h --because typo", &["no dip `alum-mold`", "`alum-mild`"]),
    ] {
        bench.on(on, line).fails(2, words);
    }
    bench
        .on("2031-04-01", "dips revise alum-mild --minutes 12h --because late")
        .fails(2, &["version 2 of `alum-mild` holds from 2031-04-02 on", "enter it on 2031-04-02 or later"]);
    bench.on(BEFORE, "dips revise alum-mild --minutes 12h --because early").fails(2, &["no dip `alum-mild`"]);
    // Only the longest time: the shortest stays where it is below.
    let kept = bench.on(on, "--json dips revise alum-short --minutes \"max 150 min\" --because ours").json();
    assert_eq!((kept["minutes_low"].as_f64(), kept["minutes_high"].as_f64()), (Some(120.0), Some(150.0)));
    // A second change on one day is a version of its own.
    bench.on(on, "dips revise alum-short --minutes 130 --because again").ok();
    assert_eq!(page(&bench, on, "alum-short")["version"], 3);
    Bench::bare().on(DAY, "dips revise alum-soak --minutes 30h --because nowhere").fails(4, &["no register"]);
}

#[test]
fn who_may_sign_and_what() {
    let bench = Bench::new();
    bench.on(DAY, &format!("dips add alum-mild {MILD}")).ok();
    for (line, words) in [
        ("dips sign alum-mild --who helper@bench", &["looks like an address", "a role or initials"][..]),
        ("dips sign alum-mild --who \"helper 12345\"", &["looks like an address or a number"]),
        ("dips sign alum-mild --who \"one two three four\"", &["at most three words"]),
        ("dips sign alum-mild --who \"\"", &["is no role"]),
        ("dips sign alum-mild --who 1234", &["is no role"]),
        ("dips sign alum-mild", &["--who"]),
        ("dips sign alum-mold --who JM", &["no dip `alum-mold`"]),
        ("dips sign alum-mild --who JM --date 2031-03-28", &["lies in the future"]),
        ("dips sign alum-mild --who JM --date 2031-03-26", &["no dip `alum-mild` on 2031-03-26", "from 2031-03-27 on"]),
    ] {
        bench.on(DAY, line).fails(2, words);
    }
    bench.on(DAY, &format!("dips sign alum-mild --who {}", "m".repeat(31))).fails(2, &["1 to 30"]);
    assert!(bench.on(DAY, "dips signed").ok().contains("nobody has signed"));
    bench.on(DAY, &format!("dips sign alum-mild --who {}", "m".repeat(30))).ok();
    bench.on(DAY, "dips sign alum-mild --who \"helper 1234\"").ok();
    bench.on(DAY, "dips sign alum-mild --who JM").ok();
    bench
        .on(DAY, "dips sign alum-mild --who jm")
        .fails(2, &["`JM` has signed version 1 of `alum-mild` already, on 2031-03-27"]);
    bench.on("2031-04-02", "dips revise alum-mild --minutes 24h --because shorter").ok();
    // Entered later, read before the change: the version of that day.
    let late = bench.on("2031-04-03", "--json dips sign alum-mild --who KP --date 2031-04-01").json();
    let kp = late["signatures"].as_array().unwrap().iter().find(|row| row["who"] == "KP").unwrap().clone();
    assert_eq!(
        (kp["version"].as_u64(), kp["in_force"].as_u64(), kp["must_read_again"].as_bool()),
        (Some(1), Some(2), Some(true))
    );
    bench.on("2031-04-03", "dips sign alum-mild --who JM").ok();
    let text = bench.on("2031-04-03", "dips signed alum-mild").ok();
    assert!(
        text.contains("has read a later one") && text.contains("in force") && text.contains("must read version 2"),
        "{text}"
    );
    let earlier = bench.on("2031-04-01", "--json dips signed").json();
    assert!(earlier["signatures"].as_array().unwrap().iter().all(|row| row["must_read_again"] == false), "{earlier}");
    bench.on(DAY, "dips signed alum-mold").fails(2, &["no dip `alum-mold`"]);
    // What a bath that is started would say.
    let path = bench.register();
    let said = |who: &str, on: &str| {
        let catalogue = Book::default().catalogue(Catalogue::shipped().unwrap(), &path, day(on)).unwrap();
        let dip = catalogue.dip("alum-mild").unwrap();
        Register::open(&path).unwrap().read(|reading| unsigned(reading, who, dip, day(on))).unwrap()
    };
    assert_eq!(said("jm", "2031-04-03"), None);
    assert_eq!(said("KP", "2031-04-01"), None);
    let warned = said("KP", "2031-04-03").unwrap();
    assert!(warned.starts_with("KP has signed version 1 of `alum-mild`, not version 2: "), "{warned}");
    assert!(said("JM", "2031-04-02").unwrap().contains("not version 2"), "signed a day later");
    let warned = said("QQ", "2031-04-03").unwrap();
    assert!(warned.starts_with("QQ has not signed `alum-mild` (version 2): "), "{warned}");
}

#[test]
fn a_catalogue_is_made_anew_only_where_other_dips_hold() {
    let bench = Bench::new();
    let shipped = Catalogue::shipped().unwrap();
    let path = bench.register();
    let mut book = Book::default();
    let plain = book.catalogue(shipped, &path, day(DAY)).unwrap();
    assert!(std::ptr::eq(plain, shipped), "a register without own dips pays nothing");
    bench.on(DAY, &format!("dips add alum-mild {MILD}")).ok();
    let first = book.catalogue(shipped, &path, day(DAY)).unwrap();
    assert_eq!(first.dips().len(), shipped.dips().len() + 1);
    assert!(std::ptr::eq(first, book.catalogue(shipped, &path, day("2031-05-01")).unwrap()));
    bench.on("2031-04-02", "dips revise alum-mild --minutes 24h --because shorter").ok();
    let second = book.catalogue(shipped, &path, day("2031-05-01")).unwrap();
    assert_eq!(second.dip("alum-mild").unwrap().version, 2);
    assert_eq!(book.catalogue(shipped, &path, day(DAY)).unwrap().dip("alum-mild").unwrap().version, 1);
    let missing = bench.folder().join("none.brimstock");
    assert!(std::ptr::eq(book.catalogue(shipped, &missing, day(DAY)).unwrap(), shipped));
}

#[test]
fn a_version_that_makes_no_sense_is_told_by_name() {
    let good = |bench: &Bench| {
        bench.on(DAY, &format!("dips add alum-mild {MILD}")).ok();
        let connection = Connection::open(bench.register()).unwrap();
        connection.query_row("SELECT content FROM dip_version", [], |row| row.get::<_, String>(0)).unwrap()
    };
    for (from, to, words) in [
        ("\"2 g/L\"", "\"2 stones\"", "2 stones"),
        ("\"1.5 g/L\"", "\"3 g/L\"", "its aim is not inside its band"),
        ("\"keepers-own\"", "\"a-lost-book\"", "a-lost-book"),
        ("\"version\":1", "\"version\":3", "holds version 3"),
        ("\"name\"", "\"nome\"", "nome"),
    ] {
        let bench = Bench::new();
        let content = good(&bench).replace("\"version\":1", "\"version\":2").replace(from, to);
        let content = if from == "\"version\":1" { content.replace("\"version\":2", "\"version\":3") } else { content };
        Connection::open(bench.register())
            .unwrap()
            .execute(
                "INSERT INTO dip_version (dip, version, day, content, why, entered_at) VALUES ('alum-mild', 2, '2031-04-01', ?1, 'x', '2031-04-01T12:00:00Z')",
                [&content],
            )
            .unwrap();
        bench.on("2031-04-02", "dose alum-mild --bath 1L").fails(4, &["damaged", "`dip_version`"]);
        brimstock::register::Register::open(&bench.register()).unwrap().seal_again().unwrap();
        bench.on("2031-04-02", "dose alum-mild --bath 1L").fails(4, &["damaged", "version 2", "`alum-mild`", words]);
        assert_eq!(page(&bench, DAY, "alum-mild")["version"], 1, "an earlier day does not need it");
        assert_eq!(bench.on("2031-04-02", "about").code, 0, "nor does what has no dips");
    }
}

#[test]
fn a_file_that_is_no_register_is_told_and_none_at_all_is_no_matter() {
    let bench = Bench::bare();
    assert!(bench.on(DAY, "dips").ok().contains("alum-soak"));
    assert!(bench.on(DAY, "dips alum-soak").ok().contains("alum-soak"));
    fs::write(bench.register(), "no register at all, but long enough to be looked at by anybody who cares to").unwrap();
    bench.on(DAY, "dips").fails(4, &["is not a brimstock register"]);
    bench.on(DAY, "dips signed").fails(4, &["is not a brimstock register"]);
    assert_eq!(bench.on(DAY, "about").code, 0);
}

fn steps() -> impl Strategy<Value = Vec<After>> {
    let look =
        proptest::collection::btree_set(1u16..=365, 1..12).prop_map(|days| After::Look(days.into_iter().collect()));
    let step = prop_oneof![
        "[a-z][a-z0-9-]{2,20}".prop_map(After::Dip),
        (1u8..=10).prop_map(After::Rinse),
        Just(After::Quench),
        (1u16..=365).prop_map(After::Hold),
        look,
    ];
    proptest::collection::vec(step, 0..=12)
}

proptest! {
    #[test]
    fn what_is_typed_of_steps_is_read_back(steps in steps()) {
        prop_assert_eq!(course::read(&course::typed(&steps)).unwrap(), steps);
    }

    #[test]
    fn no_text_breaks_the_reader_of_steps(text in ".{0,60}") {
        let _ = course::read(&text);
        let _ = brimstock::units::time::minutes(&text);
    }
}

#[test]
fn a_dip_beyond_all_that_is_on_file_is_asked_about() {
    let bench = Bench::new();
    let strong = bench.on(
        DAY,
        "--json dips add trial --name Trial --reagent bleach --low 30g/L --aim 40g/L --high 50g/L --minutes 10d --used-for snails --plants moss --because \"told so\"",
    );
    assert_eq!(strong.code, 0, "it asks, and stops nobody");
    let asked = strong.json()["questions"].to_string();
    // 40 g/L over the 3.36 g/L of hypochlorite at the upper end of the plant dips.
    assert!(asked.contains("strength is 12 times") && asked.contains("strength times time"), "{asked}");
    let mild = bench.on(DAY, &format!("--json dips add alum-mild {MILD}"));
    assert_eq!(mild.json()["questions"], serde_json::json!([]), "{mild:?}");
}
