//! Whole commands about local rules and handing over, and what must hold of boxes.

use std::fs;

use brimstock::catalogue::{Catalogue, Form, Jurisdiction, Verdict};
use brimstock::disposal::hand_over::{Kept, boxes, carried, never_together, regulated, unwanted};
use brimstock::disposal::{caution, local::Local};
use brimstock::hazard::apart::{Neighbour, conflict};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use serde_json::Value;

use crate::harness::{Bench, Ran};

const CAME: &str = "2028-03-01";
const DAY: &str = "2028-03-15";

/// A register with these lines entered.
fn with(lines: &[&str]) -> Bench {
    let bench = Bench::bare();
    bench.on("2026-01-01", "new").ok();
    bench.on("2026-01-01", "place add cupboard --temp 20 --light dark").ok();
    for line in lines {
        bench.on(CAME, line).ok();
    }
    bench
}

fn rules(bench: &Bench, text: &str) {
    fs::write(bench.folder().join("local.toml"), text).unwrap();
}

fn asked(bench: &Bench, line: &str) -> Value {
    let ran = bench.on(DAY, &format!("--json {line}"));
    assert_eq!(ran.code, 0, "{ran:?}");
    ran.json()
}

fn words(list: &Value, field: &str) -> Vec<String> {
    list.as_array().unwrap().iter().map(|row| row[field].as_str().unwrap().to_owned()).collect()
}

/// Nothing promises anything; a `safety sheet` may be named.
#[track_caller]
fn promises_nothing(ran: &Ran) {
    let text = format!("{}{}", ran.stdout, ran.stderr).to_lowercase().replace("safety", "");
    for word in ["safe", "guarantee"] {
        assert!(!text.contains(word), "`{word}`: {ran:?}");
    }
}

const RULES: &str = r#"
place = "Marrowmere"
jurisdiction = "EU"
emergency = "000"
fire = "112"
poison_centre = "111"
water_company = "333"

[[store]]
reagent = "hydrogen-peroxide"
stronger_than = "8 % w/w"
most = "5 L"
asked = "the fire authority"
on = "2027-02-01"
answer = "five litres in a dwelling"

[[strength]]
reagent = "hydrogen-peroxide"
most = "12 % w/w"
asked = "the licensing office"
on = "2025-02-01"

[[drain]]
reagent = "sodium-hypochlorite"
into = "sewer"
allowed = true
most = "5 mg/L"
asked = "the water company"
on = "2027-02-01"
answer = "once a strip reads 0"

[[takes]]
who = "the district's collection"
classes = ["peroxide", "permanganate"]
how = "first Saturday, label on"
phone = "555"
asked = "the district office"
on = "2026-03-15"
"#;

#[test]
fn without_a_file_everything_is_to_be_asked() {
    let bench = with(&[]);
    let answer = asked(&bench, "local");
    assert_eq!(answer["there"], false);
    let keys = words(&answer["unanswered"], "key");
    let scalars = ["place", "jurisdiction", "emergency", "fire", "poison_centre", "water_company"];
    assert_eq!(keys, [&scalars[..], &["store", "strength", "drain", "takes"]].concat());
    assert!(answer["unanswered"][9]["ask"][0]["whom"].as_str().unwrap().contains("hazardous-waste site"), "{answer}");
    let text = bench.on(DAY, "local").ok();
    assert!(text.contains("brimstock local --template > local.toml"), "{text}");
}

#[test]
fn the_template_is_a_file_that_reads() {
    let bench = with(&[]);
    let template = bench.on(DAY, "local --template").ok();
    rules(&bench, &template);
    assert_eq!(asked(&bench, "local")["there"], true);
    // With every line of it let in as well.
    let lines = template.lines().map(|line| match line.strip_prefix("# ") {
        Some(rest) if rest.starts_with("[[") || rest.contains(" = ") => rest.to_owned(),
        _ => line.to_owned(),
    });
    rules(&bench, &lines.collect::<Vec<_>>().join("\n"));
    let answer = asked(&bench, "local");
    assert_eq!(answer["store"][0]["most"]["value"], 5000.0, "{answer}");
}

#[test]
fn what_is_on_record_is_read_back_with_whom_and_when() {
    let bench = with(&[]);
    rules(&bench, RULES);
    let answer = asked(&bench, "local");
    assert_eq!(answer["store"][0]["stronger_than_percent_w_w"], 8.0);
    assert_eq!(answer["store"][0]["asked"], "the fire authority");
    assert_eq!(answer["drain"][0]["most_mg_per_l"], 5.0);
    assert_eq!(answer["strength"][0]["check"], true, "older than two years");
    assert_eq!(answer["takes"][0]["check"], false, "two years to the day are not older");
    let keys = words(&answer["unanswered"], "key");
    assert_eq!(keys, ["takes"]);
    assert!(answer["unanswered"][0]["what"].as_str().unwrap().contains("copper"), "{answer}");
    let text = bench.on(DAY, "local").ok();
    for word in ["Marrowmere", "asked the licensing office on 2025-02-01 [check: asked on 2025-02-01]", "ring 555"] {
        assert!(text.replace("\n  ", " ").contains(word), "`{word}` is missing: {text}");
    }
    assert!(!text.contains("due for review"), "{text}");
    let later = bench.on("2028-12-01", "local").ok();
    assert!(later.contains("[check: due for review since 2028-11-30]"), "{later}");
    assert!(!bench.on("2028-11-30", "local").ok().contains("due for review"));
}

#[test]
fn every_fault_of_the_local_rules_is_told_at_once() {
    let bench = with(&["receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard"]);
    let bad = RULES
        .replace("most = \"5 L\"", "most = \"5 parsecs\"")
        .replace("jurisdiction = \"EU\"", "jurisdiction = \"Mars\"\ncolour = \"red\"")
        .replace("\"permanganate\"]", "\"moonrock\"]")
        .replace("2027-02-01\"\nanswer = \"once", "2027-02-31\"\nanswer = \"once")
        .replace("[[strength]]\nreagent = \"hydrogen-peroxide\"", "[[strength]]\nreagent = \"unobtainium\"");
    rules(&bench, &bad);
    let faults = [
        "6 faults",
        "store[1].most",
        "parsecs",
        "jurisdiction: `Mars` is not known; accepted: EU, UK, US",
        "colour: is no key; accepted: place",
        "takes[1].classes: `moonrock` is no disposal class; accepted: all, peroxide",
        "drain[1].on: `2027-02-31` is no day",
        "strength[1].reagent",
        "unobtainium",
        "brimstock local",
    ];
    for line in ["local", "discard HP-1", "discard --unwanted", "dose peroxide-weak --bath 1L"] {
        bench.on(DAY, line).fails(3, &faults);
    }
    let entered = bench.on(DAY, "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
    assert!(entered.contains("local rules not looked at"), "{entered}");
    rules(&bench, "place = ");
    bench.on(DAY, "local").fails(3, &["a fault", "line 1"]);
    fs::remove_file(bench.folder().join("local.toml")).unwrap();
    fs::create_dir(bench.folder().join("local.toml")).unwrap();
    bench.on(DAY, "local").fails(4, &["local.toml", "cannot be read"]);
}

#[test]
fn every_fault_of_one_row_is_told() {
    let bench = with(&[]);
    let row = |text: &str, faults: &[&str]| {
        rules(&bench, text);
        bench.on(DAY, "local").fails(3, &[&[format!("{} faults", faults.len()).as_str()], faults].concat());
    };
    row(
        "[[drain]]\nreagent = \"moonrock\"\ninto = \" \"\nallowed = \"yes\"\nmost = \"5 parsecs\"\nasked = \"\"\non = \"yesterday\"\ncolour = 1",
        &[
            "drain[1].colour: is no key; accepted: reagent, into",
            "drain[1].reagent: there is no reagent `moonrock`",
            "drain[1].into: is empty",
            "drain[1].allowed: true or false",
            "drain[1].most: cannot read `5 parsecs`",
            "drain[1].answer: is missing",
            "drain[1].asked: is empty",
            "drain[1].on: `yesterday` is no day",
        ],
    );
    row(
        "[[store]]\nmost = 5\n\n[[store]]\ngroup = \"peroxide\"\nstronger_than = \"8 %\"\nmost = \"5 parsecs\"\nasked = \"me\"\non = \"2028-01-01\"",
        &[
            "store[1]: either `reagent` or `group`",
            "store[1].most: text in quotes",
            "store[1].asked: is missing",
            "store[1].on: is missing",
            "store[2].stronger_than: goes with `reagent`",
            "store[2].most: cannot read",
        ],
    );
    row(
        "[[strength]]\nreagent = \"peroxide\"\nmost = \"12 furlong\"\n\n[[takes]]\nwho = \"\"\nclasses = \"all\"\non = \"x\"",
        &[
            "strength[1].most",
            "strength[1].asked: is missing",
            "strength[1].on: is missing",
            "takes[1].who: is empty",
            "takes[1].classes: a list of texts",
            "takes[1].asked: is missing",
            "takes[1].on: `x` is no day",
        ],
    );
}

#[test]
fn no_open_water_and_no_ground_is_taken_for_a_drain() {
    let bench = with(&[]);
    let drain = |into: &str, allowed: bool| {
        format!(
            "[[drain]]\nreagent = \"bleach\"\ninto = \"{into}\"\nallowed = {allowed}\nasked = \"a neighbour\"\non = \"2028-01-01\"\nanswer = \"go on\"\n"
        )
    };
    for into in [
        "pond",
        "the village pond",
        "Ditch",
        "stream",
        "river",
        "back garden",
        "soil",
        "soakaways",
        "septic tank",
        "septic-tank",
        "storm drain",
        "stormwater drain",
    ] {
        rules(&bench, &drain(into, true));
        let says =
            "this program plans no such thing; accepted: the sewer or another drain that somebody licensed named";
        bench.on(DAY, "local").fails(3, &["drain[1].into", into, says]);
        rules(&bench, &drain(into, false));
        bench.on(DAY, "local").ok();
    }
    for into in ["sewer", "foul drain", "the works upstream of the weir"] {
        rules(&bench, &drain(into, true));
        bench.on(DAY, "local").ok();
    }
    rules(&bench, &(drain("sewer", true) + &drain("foul drain", true)));
    bench.on(DAY, "local").ok();
    rules(&bench, &(drain("sewer", true) + &drain(" Sewer", false).replace("\"bleach\"", "\"sodium-hypochlorite\"")));
    bench.on(DAY, "local").fails(3, &["a fault", "drain[2]", "stands in drain[1] already"]);
}

#[test]
fn a_plan_without_local_rules_shows_three_places_and_asks() {
    let bench = with(&["receive hydrogen-peroxide \"35 % w/w\" 250mL --at cupboard"]);
    let answer = asked(&bench, "discard HP-1");
    let item = &answer["items"][0];
    assert_eq!(item["un"], "UN2014");
    assert_eq!(item["class"], "5.1 (8)");
    assert_eq!(item["packing_group"], "II");
    assert_eq!(item["counted_percent_w_w"], 35.0);
    assert_eq!(item["left"]["value"], 250.0);
    assert_eq!(item["signal_word"], "Danger");
    assert!(item["pictograms"].as_array().unwrap().contains(&Value::from("GHS03")), "{item}");
    assert_eq!(words(&item["waste_codes"], "jurisdiction"), ["EU", "UK", "US"]);
    assert_eq!(item["waste_codes"][0]["mark"], "memory");
    assert!(item["pack"].as_array().unwrap().len() > 1 && item["never"].as_array().unwrap().len() > 1);
    assert_eq!(item["takers"], Value::Array(Vec::new()));
    assert_eq!(answer["boxes"][0]["stocks"][0], "HP-1");
    assert!(words(&answer["ask"], "whom")[0].contains("hazardous-waste site"), "{answer}");
    assert_eq!(answer["caution"], caution::short());
    let text = bench.on(DAY, "discard HP-1").ok();
    for word in ["no place on record", "check local law", "24 hours", "retire HP-1 --handed-over-to", "on the package"]
    {
        assert!(text.contains(word), "`{word}` is missing: {text}");
    }
    let text = bench.on(DAY, "--why discard HP-1").ok();
    assert!(text.contains("[tdg-schedule-1:"), "{text}");
}

#[test]
fn the_one_who_takes_it_is_named_and_nobody_is_to_be_asked() {
    let bench = with(&[
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
        "receive copper-sulfate 500g --at cupboard",
    ]);
    rules(&bench, RULES);
    let answer = asked(&bench, "discard HP-1");
    assert_eq!(answer["jurisdictions"], serde_json::json!(["EU"]));
    assert_eq!(answer["items"][0]["takers"][0]["who"], "the district's collection");
    assert_eq!(answer["ask"], Value::Array(Vec::new()));
    let text = bench.on(DAY, "discard HP-1").ok();
    for word in ["first Saturday", "ring 555", "on 2026-03-15", "--handed-over-to \"the district's collection\"", "000"]
    {
        assert!(text.contains(word), "`{word}` is missing: {text}");
    }
    let text = bench.on("2028-03-16", "discard HP-1").ok();
    assert!(text.contains("[check: asked on 2026-03-15]"), "{text}");
    let copper = asked(&bench, "discard CU-1");
    assert_eq!(copper["items"][0]["takers"], Value::Array(Vec::new()));
    assert_eq!(copper["ask"][0]["whom"].as_str().map(|whom| whom.contains("waste site")), Some(true));
}

#[test]
fn a_jurisdiction_is_taken_as_typed_or_refused() {
    let bench = with(&["receive potassium-permanganate 50g --at cupboard"]);
    for (word, code) in [("EU", "16 09 01*"), ("uk", "16 09 01*"), ("us", "D001")] {
        let answer = asked(&bench, &format!("discard PP-1 --in {word}"));
        assert_eq!(words(&answer["items"][0]["waste_codes"], "code"), [code], "{word}");
        let household = words(&answer["household"], "jurisdiction");
        assert!(household.iter().all(|place| place.eq_ignore_ascii_case(word)) && !household.is_empty());
    }
    bench.on(DAY, "discard PP-1 --in mars").fails(2, &["mars", "accepted: EU, UK, US"]);
    rules(&bench, "jurisdiction = \"UK\"");
    assert_eq!(asked(&bench, "discard PP-1")["jurisdictions"], serde_json::json!(["UK"]));
    assert_eq!(asked(&bench, "discard PP-1 --in US")["jurisdictions"], serde_json::json!(["US"]), "typed goes first");
}

#[test]
fn numbers_and_laws_turn_at_their_bounds() {
    let reagent = |key: &str| Catalogue::shipped().unwrap().reagent(key).unwrap();
    let named = |key: &str, form: Form, percent: f64| -> Vec<String> {
        let carried = carried(reagent(key), form, Some(percent));
        carried.fits.iter().map(|row| format!("{} {}", row.un, row.group)).collect()
    };
    let peroxide = |percent: f64| named("hydrogen-peroxide", Form::Solution, percent);
    // Facts H and J 20.
    for (percent, name) in [
        (3.0, None),
        (7.9, None),
        (7.999, None),
        (8.0, Some("UN2984 III")),
        (19.99, Some("UN2984 III")),
        (20.0, Some("UN2014 II")),
        (60.0, Some("UN2014 II")),
        (60.01, Some("UN2015 I")),
    ] {
        assert_eq!(peroxide(percent), Vec::from_iter(name.map(str::to_owned)), "{percent}");
    }
    assert_eq!(named("acetic-acid", Form::Solution, 9.9), Vec::<String>::new());
    assert_eq!(named("acetic-acid", Form::Solution, 49.9), ["UN2790 III"]);
    assert_eq!(named("acetic-acid", Form::Solution, 50.0), ["UN2790 II"]);
    assert_eq!(named("acetic-acid", Form::Solution, 80.1), ["UN2789 II"]);
    assert_eq!(named("sodium-hypochlorite", Form::Solution, 0.07 * 100.0), Vec::<String>::new());
    assert_eq!(named("sodium-hypochlorite", Form::Solution, 7.1), ["UN1791 II"]);
    assert_eq!(named("potassium-permanganate", Form::Solid, 99.0), ["UN1490 II"]);
    assert_eq!(named("sodium-chloride", Form::Solid, 99.0), Vec::<String>::new());
    let ethanol = |percent: f64| named("ethanol", Form::Solution, percent);
    assert_eq!((ethanol(19.5), ethanol(19.6)), (Vec::new(), vec!["UN1170 III".to_owned()]));
    let unknown = carried(reagent("hydrogen-peroxide"), Form::Solution, None);
    assert!(unknown.fits.is_empty() && unknown.may.len() == 3, "unknown: any of them");
    let acid = carried(reagent("hydrochloric-acid"), Form::Solution, Some(10.0));
    assert!(acid.fits.is_empty() && acid.may.len() == 2, "the bound was not found, so the keeper is told both");
    let restricted = |percent: f64| {
        regulated(reagent("hydrogen-peroxide"), Some(percent), &[Jurisdiction::Eu])
            .filter(|row| row.place == "EU")
            .map(|row| row.loss.is_some())
            .collect::<Vec<_>>()
    };
    assert_eq!(restricted(12.0), [false; 0]);
    assert_eq!(restricted(12.1), [true], "and a loss is to be reported");
    assert_eq!(restricted(35.1), [true, false]);
    assert_eq!(regulated(reagent("hydrogen-peroxide"), Some(12.1), &[Jurisdiction::Us]).count(), 0);
}

#[test]
fn a_whole_plan_turns_at_the_bounds() {
    let bench = with(&[
        "receive hydrogen-peroxide \"7.9 % w/w\" 500mL --at cupboard",
        "receive hydrogen-peroxide \"8 % w/w\" 500mL --at cupboard",
        "receive hydrogen-peroxide \"12 % w/w\" 500mL --at cupboard",
        "receive hydrogen-peroxide \"12.1 % w/w\" 500mL --at cupboard",
        "receive sodium-hypochlorite \"5 % w/w available chlorine\" 1L --at cupboard",
    ]);
    let answer = asked(&bench, "discard HP-1 HP-2 HP-3 HP-4 BL-1 --in EU");
    let items = answer["items"].as_array().unwrap();
    let numbers: Vec<Option<&str>> = items.iter().map(|item| item["un"].as_str()).collect();
    assert_eq!(numbers, [None, Some("UN2984"), Some("UN2984"), Some("UN2984"), None]);
    let restricted: Vec<bool> = items.iter().map(|item| item["law"].to_string().contains("12 % w/w")).collect();
    assert_eq!(restricted, [false, false, false, true, false]);
    let offered: Vec<bool> = items[..4].iter().map(|item| item["still_good_for"] != Value::Array(Vec::new())).collect();
    assert_eq!(offered, [true, true, true, false], "no use is offered of what the public may not have");
    assert_ne!(asked(&bench, "discard HP-4 --in US")["items"][0]["still_good_for"], Value::Array(Vec::new()));
    rules(&bench, &strongest("12 % w/w"));
    assert_eq!(asked(&bench, "discard HP-4 --in US")["items"][0]["too_strong"], true);
    assert_eq!(items[4]["counted_as"], "available chlorine");
    assert_eq!(items[4]["counted_percent_w_w"], 5.0);
}

#[test]
fn boxes_keep_apart_what_must_not_meet() {
    let bench = with(&[
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
        "receive potassium-permanganate 50g --at cupboard",
        "receive sodium-chloride 1kg --at cupboard",
        "receive hydrogen-peroxide \"6 % w/v\" 500mL --at cupboard",
        "receive sodium-hypochlorite \"5 % w/w\" 1L --at cupboard",
        "receive acetic-acid \"5 % w/w\" 1L --at cupboard",
    ]);
    let answer = asked(&bench, "discard HP-1 PP-1 SC-1 HP-2 BL-1 AC-1");
    let shared: Vec<Value> = answer["boxes"].as_array().unwrap().iter().map(|one| one["stocks"].clone()).collect();
    assert_eq!(
        Value::from(shared),
        serde_json::json!([["HP-1", "SC-1", "HP-2"], ["PP-1"], ["BL-1"], ["AC-1"]]),
        "{answer}"
    );
    let far = answer["far_apart"].to_string();
    assert!(far.contains("BL-1\",\"AC-1") && !far.contains("HP-1\",\"AC-1"), "{far}");
    let text = bench.on(DAY, "discard BL-1 AC-1").ok();
    assert!(text.contains("as far apart as the vehicle allows"), "{text}");
    let again = bench.on(DAY, "discard BL-1 AC-1").ok();
    assert_eq!(text, again);
}

#[test]
fn what_is_unwanted_is_found_and_the_rest_left() {
    let bench = with(&[
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
        "receive hydrogen-peroxide \"12 % w/w\" 500mL --at cupboard",
        "receive citric-acid \"20 % w/v\" 500mL --at cupboard --condition made-up",
        "receive copper-sulfate 100g --at cupboard --hold \"not the keeper's\"",
        "receive sodium-chloride 1kg --at cupboard",
        "receive sodium-hypochlorite \"5 % w/w\" 1L --at cupboard",
    ]);
    let left: Vec<String> = Vec::new();
    assert_eq!(words(&asked(&bench, "discard --unwanted")["items"], "stock"), ["CU-1"]);
    bench.on(DAY, "note HP-2 swollen").ok();
    bench.on(DAY, "take SC-1 1kg").ok();
    let answer = asked(&bench, "discard --unwanted");
    assert_eq!(words(&answer["items"], "stock"), ["HP-2", "CU-1"], "fourteen days are what citric acid keeps");
    assert_eq!(words(&answer["empty"], "stock"), ["SC-1"]);
    assert_eq!(answer["in_no_box"], serde_json::json!(["HP-2"]));
    assert_eq!(words(&answer["items"][0]["still_good_for"], "dip"), left);
    assert!(words(&answer["ask"], "whom").iter().any(|whom| whom.contains("fire service")), "{answer}");
    let later = bench.on("2028-03-16", "--json discard --unwanted").json();
    assert_eq!(words(&later["items"], "stock"), ["HP-2", "CA-1", "CU-1"].map(str::to_owned), "{later}");
    let years = bench.on("2031-03-15", "--json discard --unwanted").json();
    assert!(words(&years["items"], "stock").contains(&"BL-1".to_owned()), "weak bleach: {years}");
    let text = bench.on(DAY, "discard --unwanted").ok();
    for word in ["swollen", "do not pack", "in no box", "rinse and deface", "held: not the keeper's"] {
        assert!(text.contains(word), "`{word}` is missing: {text}");
    }
    assert!(text.contains("not to be carried: ring first"), "{text}");
    // Whoever takes peroxide does not get it brought.
    rules(&bench, RULES);
    let text = bench.on(DAY, "discard HP-2").ok();
    assert!(
        text.contains("not to be carried: ring first: the district's collection") && !text.contains("goes to"),
        "{text}"
    );
    let text = bench.on(DAY, "discard HP-1").ok();
    assert!(
        text.contains("goes to the district's collection") && text.contains("no number that is on file, which"),
        "{text}"
    );
    let tidy = with(&["receive sodium-chloride 1kg --at cupboard"]);
    let text = tidy.on(DAY, "discard --unwanted").ok();
    assert!(text.contains("nothing stands out as unwanted"), "{text}");
    assert_eq!(asked(&tidy, "discard --unwanted")["items"], Value::Array(Vec::new()));
}

#[test]
fn each_reason_counts_by_itself() {
    assert_eq!(unwanted(&Kept::default()), Vec::<String>::new());
    let made = |age| unwanted(&Kept { made_up: Some((age, 30.0)), ..Kept::default() }).len();
    assert_eq!((made(30), made(31)), (0, 1));
    let weak = |low| unwanted(&Kept { strength: Some((30.0, low)), ..Kept::default() }).len();
    assert_eq!((weak(15.0), weak(14.99)), (0, 1));
    assert_eq!(unwanted(&Kept { hold: Some("a crack"), ..Kept::default() }), ["held: a crack"]);
}

#[test]
fn what_still_does_a_dip_is_offered_that_first() {
    let bench = with(&["receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard"]);
    let good = asked(&bench, "discard HP-1")["items"][0]["still_good_for"].clone();
    let check = bench.on(DAY, "--json check HP-1").json();
    let ready: Vec<(String, String)> = check["dips"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|dip| dip["verdict"] == "ready")
        .map(|dip| (dip["dip"].to_string(), dip["until"].to_string()))
        .collect();
    let offered: Vec<(String, String)> =
        good.as_array().unwrap().iter().map(|dip| (dip["dip"].to_string(), dip["until"].to_string())).collect();
    assert!(!ready.is_empty());
    assert_eq!(offered, ready);
    assert!(bench.on(DAY, "discard HP-1").ok().contains("still good for: peroxide-weak until 20"));
    bench.on(DAY, "note HP-1 dirty").ok();
    assert_eq!(asked(&bench, "discard HP-1")["items"][0]["still_good_for"], Value::Array(Vec::new()));
}

#[test]
fn wrong_questions_are_refused() {
    let bench = with(&[
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
        "retire HP-2 --handed-over-to \"the collection\"",
    ]);
    bench.on(DAY, "discard").fails(2, &["which stock", "--unwanted"]);
    bench.on(DAY, "discard HP-9").fails(2, &["there is no stock `HP-9`"]);
    bench.on(DAY, "discard HP-2").fails(2, &["HP-2", "2028-03-01", "handed over to the collection"]);
    bench.on(DAY, "discard HP-1 hp-1").fails(2, &["HP-1", "twice"]);
    bench.on(DAY, "discard HP-1 --unwanted").fails(2, &["--unwanted"]);
    bench.on("2027-01-01", "discard HP-1").fails(2, &["not on the shelf"]);
    Bench::bare().on(DAY, "discard HP-1").fails(4, &["there is no register"]);
    bench.on(DAY, "discard hp-1").ok();
}

#[test]
fn a_bottle_without_a_label_gets_no_relief() {
    let bench = with(&[
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
        "receive ethanol \"70 % w/w\" 500mL --at cupboard",
    ]);
    assert_eq!(asked(&bench, "discard HP-1 ET-1")["far_apart"], Value::Array(Vec::new()), "weak peroxide: a cabinet");
    bench.on(DAY, "note HP-1 unlabelled").ok();
    let answer = asked(&bench, "discard HP-1 ET-1");
    assert_eq!(answer["far_apart"][0]["stocks"], serde_json::json!(["HP-1", "ET-1"]));
    assert_eq!(answer["items"][0]["unlabelled"], true);
}

fn strongest(most: &str) -> String {
    format!(
        "[[strength]]\nreagent = \"hydrogen-peroxide\"\nmost = \"{most}\"\nasked = \"the licensing office\"\non = \"2028-02-01\"\n"
    )
}

#[test]
fn a_dose_above_the_recorded_limit_is_refused() {
    let bench = with(&["receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard"]);
    // The book's band ends at 1.8 g/L.
    rules(&bench, &strongest("1.8 g/L"));
    bench.on(DAY, "dose peroxide-weak --bath 5L").ok();
    rules(&bench, &strongest("1.79 g/L"));
    bench
        .on(DAY, "dose peroxide-weak --bath 5L")
        .fails(2, &["peroxide-weak", "the licensing office told you of 1.79 g/L", "2028-02-01", "brimstock local"]);
    assert_eq!(bench.on(DAY, "dose salt-gear --bath 5L").code, 1, "another reagent is none of its business");
}

#[test]
fn nothing_is_made_up_above_the_recorded_limit() {
    let bench = with(&["receive hydrogen-peroxide \"35 % w/w\" 500mL --at cupboard --condition opened"]);
    rules(&bench, &strongest("12 % w/w"));
    let thinned = |ml: u32| bench.on(DAY, &format!("decant HP-1 100mL --make-up-to {ml}mL"));
    // 100 mL hold about 40.6 g, a little over the label's 39.6; 12 % w/w is 125 g/L, reached near 325 mL.
    thinned(300).fails(2, &["what is made up would be", "the licensing office told you of 12 % w/w"]);
    let shelf = bench.on(DAY, "shelf").ok();
    assert!(!shelf.contains("HP-2") && shelf.contains("500 mL"), "nothing was entered: {shelf}");
    thinned(350).ok();
    let poured = bench.on(DAY, "decant HP-1 100mL").ok();
    assert!(poured.contains("stronger than the 12 % w/w"), "poured as it is: entered, and said: {poured}");
}

#[test]
fn a_stock_stronger_than_allowed_is_said_where_it_would_be_poured() {
    let bench = with(&[
        "receive hydrogen-peroxide \"35 % w/w\" 500mL --at cupboard",
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
    ]);
    let says = |line: &str| bench.on(DAY, line).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = "HP-1: 35.0 % w/w is stronger than the 12 % w/w that the licensing office told you of on 2028-02-01";
    let lines = ["dose peroxide-weak --bath 5L --from HP-1", "check HP-1"];
    for line in lines {
        assert!(!says(line).contains("stronger than"), "{line}: nothing is on record");
    }
    rules(&bench, &strongest("12 % w/w"));
    for line in lines {
        assert!(says(line).contains(words), "{line}: {}", says(line));
    }
    for line in ["dose peroxide-weak --bath 5L --from HP-2", "check HP-2"] {
        assert!(!says(line).contains("stronger than"), "{line}: {}", says(line));
    }
    rules(&bench, &strongest("35 % w/w"));
    assert!(!says("check HP-1").contains("stronger than") && !says(lines[0]).contains("stronger than"));
}

#[test]
fn peroxide_above_fifty_per_cent_is_left_closed() {
    let bench = with(&[
        "receive hydrogen-peroxide \"50 % w/w\" 500mL --at cupboard",
        "receive hydrogen-peroxide \"50.1 % w/w\" 500mL --at cupboard",
    ]);
    let dose = |from: &str| bench.on(DAY, &format!("--json dose peroxide-weak --bath 5L --from {from}")).json();
    assert_ne!(dose("HP-1")["verdict"], "held");
    let closed = dose("HP-2");
    assert_eq!(closed["verdict"], "held");
    assert_eq!(closed["doses"], Value::Array(Vec::new()), "{closed}");
    assert!(closed["reasons"].to_string().contains("too strong to be handled at home: left closed"), "{closed}");
    assert!(closed["next_step"].as_str().unwrap().contains("discard HP-2"), "{closed}");
    let whole = bench.on(DAY, "--json dose peroxide-weak --bath 5L").json();
    assert_eq!(whole["doses"][0]["stock"], "HP-1", "{whole}");
    let check = bench.on(DAY, "check HP-2").stdout;
    assert!(
        check.contains("left closed") && !check.contains("assay plan HP-2") && !check.contains("--release"),
        "{check}"
    );
    assert!(!bench.on(DAY, "check HP-1").stdout.contains("left closed"));
    assert_eq!(words(&asked(&bench, "discard --unwanted")["items"], "stock"), ["HP-2"]);
}

#[test]
fn what_came_stronger_than_allowed_is_entered_and_said() {
    let bench = with(&[]);
    rules(&bench, &strongest("12 % w/w"));
    let told = |strength: &str| {
        let line = format!("receive hydrogen-peroxide \"{strength}\" 500mL --at cupboard");
        bench.on(DAY, &line).ok().contains("stronger than the 12 % w/w")
    };
    assert!(!told("12 % w/w") && told("12.1 % w/w"));
    assert!(bench.on(DAY, "shelf").ok().contains("HP-2"), "nothing is lost");
}

#[test]
fn no_answer_promises_anything() {
    for line in caution::long().iter().chain([&caution::short()]) {
        let text = line.to_lowercase();
        assert!(!text.contains("safe") && !text.contains("guarantee"), "{line}");
    }
    assert_eq!(caution::long().len(), 9);
    let catalogue = Catalogue::shipped().unwrap();
    let bench = with(&[]);
    let mut codes = Vec::new();
    // A reagent of each class, in each of its forms.
    for class in &catalogue.disposal().classes {
        let mut reagents = catalogue.reagents();
        let reagent = reagents
            .find(|reagent| reagent.care.as_ref().is_some_and(|care| care.disposal == class.key))
            .expect("a reagent of the class");
        let key = &reagent.key;
        for form in &reagent.forms {
            let amount = match form {
                Form::Solid => "100g".to_owned(),
                Form::Solution => {
                    let sold = &reagent.solution.as_ref().unwrap().sold;
                    format!("\"{}\" 100mL", sold.first().map_or("10 g/L", String::as_str))
                }
            };
            let code = format!("X-{}", codes.len() + 1);
            let ran = bench.on(CAME, &format!("receive {key} {amount} --at cupboard --code {code}"));
            assert_eq!(ran.code, 0, "{ran:?}");
            codes.push(code);
        }
    }
    bench.on(DAY, "note X-1 unlabelled").ok();
    let all = format!("discard {}", codes.join(" "));
    for line in ["local", "local check", "discard --unwanted", "local --template", &all, "discard", "discard X-99"] {
        for json in ["", "--json --why "] {
            promises_nothing(&bench.on("2029-03-15", &format!("{json}{line}")));
        }
    }
    rules(&bench, RULES);
    promises_nothing(&bench.on(DAY, "local"));
    promises_nothing(&bench.on(DAY, &all));
    rules(&bench, "colour = 1");
    promises_nothing(&bench.on(DAY, "local"));
}

#[test]
fn every_taker_of_all_takes_each_class() {
    let catalogue = Catalogue::shipped().unwrap();
    let text = "[[takes]]\nwho = \"the site\"\nclasses = [\"all\"]\nasked = \"the site\"\non = \"2028-01-01\"\n";
    let local = Local::read(catalogue, text).unwrap();
    for class in &catalogue.disposal().classes {
        assert_eq!(local.takers(&class.key).count(), 1, "{}", class.key);
    }
}

/// Any shelf: a reagent, a form of its own, and a strength or none.
fn shelves() -> impl Strategy<Value = Vec<(usize, usize, Option<f64>)>> {
    prop::collection::vec((0..100_usize, 0..2_usize, prop::option::of(0.1..100.0_f64)), 0..16)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 256, failure_persistence: None, rng_seed: RngSeed::Fixed(20_310_315), ..Default::default()
    })]

    #[test]
    fn no_box_holds_a_conflict_and_every_stock_has_one(shelf in shelves()) {
        let catalogue = Catalogue::shipped().unwrap();
        let reagents: Vec<_> = catalogue.reagents().collect();
        let stocks: Vec<Neighbour<'_>> = shelf
            .iter()
            .map(|(reagent, form, percent_w_w)| {
                let reagent = reagents[reagent % reagents.len()];
                Neighbour { reagent, form: reagent.forms[form % reagent.forms.len()], percent_w_w: *percent_w_w }
            })
            .collect();
        let apart = catalogue.apart();
        let shared = boxes(apart, &stocks);
        let mut packed: Vec<usize> = shared.iter().flatten().copied().collect();
        packed.sort_unstable();
        prop_assert_eq!(packed, (0..stocks.len()).collect::<Vec<_>>(), "each in exactly one");
        for one in &shared {
            prop_assert!(!one.is_empty());
            for (place, a) in one.iter().enumerate() {
                for b in &one[place + 1..] {
                    prop_assert!(conflict(apart, stocks[*a], stocks[*b]).is_none(), "{a} and {b} share a box");
                }
            }
        }
        for (a, b, found) in never_together(apart, &stocks) {
            prop_assert_eq!(found.verdict, Verdict::Never);
            prop_assert!(!shared.iter().any(|one| one.contains(&a) && one.contains(&b)));
        }
        prop_assert_eq!(boxes(apart, &stocks), shared, "the same every time");
    }
}

/// Spirit mixes with water in all proportions: no strength of it is cut down to what water would hold.
#[test]
fn strong_spirit_is_counted_as_strong_as_it_is() {
    let bench = with(&[
        "receive ethanol \"95 % w/w\" 500mL --at cupboard",
        "receive isopropanol \"98.7 % w/w\" 500mL --at cupboard",
        "open IP-1",
        "decant IP-1 100mL --at cupboard",
    ]);
    let plan = asked(&bench, "discard ET-1 IP-1 IP-2");
    let counted: Vec<f64> =
        plan["items"].as_array().unwrap().iter().map(|item| item["counted_percent_w_w"].as_f64().unwrap()).collect();
    assert_eq!(counted[..2], [95.0, 98.7], "{plan}");
    assert!(counted[2] > 98.0 && counted[2] <= 100.0, "what was decanted is at the most the pure thing: {plan}");
}
