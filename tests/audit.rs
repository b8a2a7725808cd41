//! `audit` as whole commands: every rule on both sides of its line, questions before a move, reasons that are kept.

use std::fs;

use serde_json::Value;

use crate::harness::{Bench, Ran};

const DAY: &str = "2031-03-15";

/// A bench with these places and no other, known since 2030.
fn bench(places: &[&str]) -> Bench {
    let bench = Bench::bare();
    bench.on("2030-01-01", "new").ok();
    for place in places {
        bench.on("2030-01-01", &format!("place add {place}")).ok();
    }
    bench
}

/// Enters lines that must go well.
#[track_caller]
fn enter(bench: &Bench, lines: &[&str]) {
    for line in lines {
        bench.on(DAY, line).ok();
    }
}

#[track_caller]
fn audit_on(bench: &Bench, day: &str) -> Value {
    let ran = bench.on(day, "--json audit");
    let answer = ran.json();
    let clean = answer["findings"].as_array().expect("findings").is_empty();
    assert_eq!(ran.code, i32::from(!clean), "{ran:?}");
    answer
}

#[track_caller]
fn audit(bench: &Bench) -> Value {
    audit_on(bench, DAY)
}

/// The finding whose rule holds these words, if there is one.
fn found<'a>(answer: &'a Value, words: &str) -> Option<&'a Value> {
    answer["findings"].as_array()?.iter().find(|finding| finding["rule"].as_str().unwrap().contains(words))
}

#[track_caller]
fn finding<'a>(answer: &'a Value, words: &str) -> &'a Value {
    found(answer, words).unwrap_or_else(|| panic!("no `{words}` in {answer:#}"))
}

#[track_caller]
fn none(answer: &Value, words: &str) {
    if let Some(found) = found(answer, words) {
        panic!("`{words}` in {found:#}");
    }
}

fn codes(finding: &Value) -> Vec<&str> {
    let mut codes: Vec<&str> =
        finding["stocks"].as_array().unwrap().iter().map(|code| code.as_str().unwrap()).collect();
    codes.sort_unstable();
    codes
}

const CUPBOARD: &str = "cupboard --temp 20 --light dark --around nothing";
const PORCH: &str = "porch --temp 15 --light dark --around nothing";
const TOP: &str = "top --temp 20 --light dark --around nothing --cabinet locker --height 140";
const LOW: &str = "low --temp 20 --light dark --around nothing --cabinet locker --height 40";

const BLEACH: &str = "receive sodium-hypochlorite \"10 % w/w\" 1L --cap vented --at";
const VINEGAR: &str = "receive acetic-acid \"5 % w/v\" 1L --at";
const WEAK: &str = "receive hydrogen-peroxide \"3 % w/v\" 500mL --at";
const STRONG: &str = "receive hydrogen-peroxide \"35 % w/w\" 500mL --cap vented --at";
const SALT: &str = "receive sodium-chloride 1kg --at";

// Pairs.

#[test]
fn audit_pairs_in_one_place() {
    for (one, other, severity, words) in [
        (BLEACH, VINEGAR, "danger", "never together"),
        (BLEACH, "receive ammonium-alum 500g --at", "danger", "never together"),
        (BLEACH, "receive potassium-alum 500g --at", "serious", "not in one cabinet"),
        (WEAK, VINEGAR, "minor", "not on one shelf or tray (one step less"),
        (STRONG, VINEGAR, "serious", "not in one cabinet"),
        (
            "receive potassium-permanganate 100g --at",
            "receive sodium-thiosulfate 500g --at",
            "danger",
            "never together",
        ),
    ] {
        let bench = bench(&[CUPBOARD]);
        enter(&bench, &[&format!("{one} cupboard --code A"), &format!("{other} cupboard --code B")]);
        let answer = audit(&bench);
        let found = finding(&answer, words);
        assert_eq!(found["severity"], severity, "{found:#}");
        assert_eq!(found["place"], "cupboard");
        assert_eq!(codes(found), ["A", "B"]);
        for field in ["consequence", "source", "advice"] {
            assert!(found[field].as_str().is_some_and(|text| !text.is_empty()), "{field}: {found:#}");
        }
        // The gravest comes first.
        let order: Vec<usize> = answer["findings"]
            .as_array()
            .unwrap()
            .iter()
            .map(|found| ["danger", "serious", "minor"].iter().position(|word| found["severity"] == *word).unwrap())
            .collect();
        assert!(order.is_sorted(), "{answer:#}");
    }
}

#[test]
fn audit_salt_beside_anything_is_no_known_conflict() {
    let bench = bench(&[CUPBOARD]);
    enter(
        &bench,
        &[&format!("{SALT} cupboard"), &format!("{BLEACH} cupboard"), "receive potassium-chloride 1kg --at cupboard"],
    );
    let answer = audit(&bench);
    none(&answer, " and ");
}

#[test]
fn audit_two_shelves_of_one_cabinet_share_air_but_no_tray() {
    let bench = bench(&[TOP, LOW, "attic --temp 20 --around nothing"]);
    // A tray each is what two shelves are.
    enter(&bench, &[&format!("{WEAK} low --code A"), "receive sodium-percarbonate 1kg --at top --code B"]);
    none(&audit(&bench), " and ");
    enter(&bench, &["move A top"]);
    assert_eq!(finding(&audit(&bench), "not on one shelf")["place"], "top");
    // Another cabinet is wanted: two shelves are not enough, and the finding names the cabinet.
    enter(&bench, &["retire A --because used", "retire B --because used"]);
    enter(&bench, &[&format!("{BLEACH} low --code C"), "receive potassium-alum 500g --at top --code D"]);
    let answer = audit(&bench);
    let found = finding(&answer, "not in one cabinet");
    assert_eq!((found["severity"].as_str(), found["place"].as_str()), (Some("serious"), Some("locker")));
    enter(&bench, &[&format!("{VINEGAR} top --code E")]);
    let answer = audit(&bench);
    let found = finding(&answer, "never together");
    assert_eq!((found["severity"].as_str(), codes(found)), (Some("danger"), vec!["C", "E"]));
    // Two cabinets.
    enter(&bench, &["move C attic"]);
    none(&audit(&bench), " and ");
}

#[test]
fn audit_a_cabinet_is_one_however_it_is_written() {
    let bench = bench(&[TOP, "low --cabinet LOCKER --height 40 --around nothing"]);
    enter(&bench, &[&format!("{BLEACH} low"), &format!("{VINEGAR} top")]);
    finding(&audit(&bench), "never together");
}

#[test]
fn audit_a_shelf_of_a_cabinet_that_is_a_place_shares_its_air() {
    let bench = bench(&["locker --around nothing", TOP]);
    enter(&bench, &[&format!("{BLEACH} locker"), &format!("{VINEGAR} top")]);
    finding(&audit(&bench), "never together");
}

// Heights.

#[test]
fn audit_a_liquid_above_a_solid() {
    let bench = bench(&[TOP, LOW]);
    enter(&bench, &[&format!("{WEAK} top --code A"), "receive citric-acid 500g --at low --code B"]);
    let answer = audit(&bench);
    let found = finding(&answer, "liquids above");
    assert_eq!((found["severity"].as_str(), codes(found)), (Some("minor"), vec!["A", "B"]));
    assert_eq!(found["place"], "locker");
    enter(&bench, &["move A low", "move B top"]);
    none(&audit(&bench), "liquids above");
    // Two of a height, and one shelf.
    enter(&bench, &["place set low --height 140"]);
    none(&audit(&bench), "liquids above");
    enter(&bench, &["move A top"]);
    none(&audit(&bench), "liquids above");
}

#[test]
fn audit_a_leak_onto_what_must_stay_dry_is_serious() {
    for solid in ["sodium-percarbonate 1kg", "calcium-hypochlorite \"65 % w/w\" 1kg"] {
        let bench = bench(&[TOP, LOW]);
        enter(&bench, &["receive sodium-chloride \"5 % w/v\" 1L --at top", &format!("receive {solid} --at low")]);
        assert_eq!(finding(&audit(&bench), "liquids above")["severity"], "serious");
    }
}

#[test]
fn audit_without_heights_says_what_it_cannot_see() {
    let bench = bench(&["top --cabinet locker --around nothing", "low --cabinet locker --height 40 --around nothing"]);
    enter(&bench, &[&format!("{WEAK} top"), "receive citric-acid 500g --at low"]);
    let answer = audit(&bench);
    none(&answer, "liquids above");
    let unseen = answer["not_looked_at"].to_string();
    assert!(unseen.contains("which shelf is above which at top") && !unseen.contains("low"), "{unseen}");
    enter(&bench, &["place set top --height 140"]);
    let answer = audit(&bench);
    finding(&answer, "liquids above");
    assert_eq!(answer["not_looked_at"], serde_json::json!([]));
}

#[test]
fn audit_what_nobody_said_is_around_a_place_is_said() {
    let bench = bench(&["cupboard"]);
    enter(&bench, &[&format!("{SALT} cupboard")]);
    let unseen = audit(&bench)["not_looked_at"].to_string();
    assert!(unseen.contains("around cupboard"), "{unseen}");
    enter(&bench, &["place set cupboard --around nothing"]);
    assert_eq!(audit(&bench)["not_looked_at"], serde_json::json!([]));
}

#[test]
fn audit_nothing_harmful_above_150_cm() {
    for (cm, stock, there) in [("150", WEAK, false), ("151", WEAK, true), ("200", SALT, false)] {
        let bench = bench(&[&format!("board --height {cm} --around nothing")]);
        enter(&bench, &[&format!("{stock} board")]);
        let answer = audit(&bench);
        assert_eq!(found(&answer, "higher than 150 cm").is_some(), there, "{cm}: {answer:#}");
    }
}

// Warmth, light, surroundings.

#[test]
fn audit_what_suffers_in_warmth() {
    for (climate, stock, there) in [
        ("--temp 25", WEAK, false),
        ("--temp 25.5", WEAK, true),
        ("--temp 29", "receive sodium-thiosulfate 500g --at", false),
        ("--temp 31", "receive sodium-thiosulfate 500g --at", true),
        ("--temp 35", SALT, false),
        // Cold on the day, warm last summer.
        ("--summer 27 --winter 8", WEAK, true),
        ("--summer 22 --winter 8", WEAK, false),
    ] {
        let bench = bench(&[&format!("loft {climate} --around nothing")]);
        enter(&bench, &[&format!("{stock} loft")]);
        let answer = audit(&bench);
        assert_eq!(found(&answer, "warmer than").is_some(), there, "{climate}: {answer:#}");
    }
}

/// A thermometer knows better than what was said of the place.
#[test]
fn audit_a_logged_hot_day_counts_for_a_year() {
    let bench = bench(&["attic --temp 18 --light dark --around nothing"]);
    let rows: String = (0..24).map(|hour| format!("2030-07-20 {hour:02}:00,{}\n", 20 + hour % 13)).collect();
    fs::write(bench.folder().join("attic.csv"), format!("time,temperature\n{rows}")).unwrap();
    enter(&bench, &[&format!("{WEAK} attic")]);
    none(&audit(&bench), "warmer than");
    enter(&bench, &["place log attic attic.csv"]);
    let answer = audit(&bench);
    assert!(finding(&answer, "warmer than 25")["consequence"].as_str().unwrap().contains("32 °C"), "{answer:#}");
    none(&audit_on(&bench, "2031-09-01"), "warmer than");
}

#[test]
fn audit_what_suffers_in_light() {
    const PURPLE: &str = "receive potassium-permanganate";
    for (light, stock, there) in [
        ("bright", "receive hydrogen-peroxide \"3 % w/v\" 500mL --container clear-glass --at", true),
        ("sill", "receive hydrogen-peroxide \"3 % w/v\" 500mL --container clear-glass --at", true),
        ("bright", "receive hydrogen-peroxide \"3 % w/v\" 500mL --container amber-glass --at", false),
        ("sill", "receive hydrogen-peroxide \"3 % w/v\" 500mL --container opaque-plastic --at", false),
        ("dim", "receive hydrogen-peroxide \"3 % w/v\" 500mL --container clear-glass --at", false),
        ("dark", "receive hydrogen-peroxide \"3 % w/v\" 500mL --container clear-glass --at", false),
        // Nobody knows the wall: the strict side.
        ("bright", WEAK, true),
        ("bright", &format!("{PURPLE} \"1 % w/v\" 500mL --container clear-glass --at"), true),
        ("bright", &format!("{PURPLE} 100g --container clear-glass --at"), false),
        ("sill", "receive sodium-thiosulfate 500g --container clear-glass --at", false),
    ] {
        let bench = bench(&[&format!("board --temp 20 --light {light} --around nothing")]);
        enter(&bench, &[&format!("{stock} board")]);
        let answer = audit(&bench);
        assert_eq!(found(&answer, "in the light").is_some(), there, "{light} {stock}: {answer:#}");
    }
}

#[test]
fn audit_powders_that_light_spoils() {
    for stock in ["ascorbic-acid 100g", "chloramine-t 100g"] {
        let bench = bench(&["board --temp 20 --light sill --around nothing"]);
        enter(&bench, &[&format!("receive {stock} --container clear-glass --at board")]);
        finding(&audit(&bench), "in the light");
    }
}

#[test]
fn audit_what_is_around_a_place() {
    let weak = "hydrogen-peroxide \"3 % w/v\" 500mL";
    let strong = "hydrogen-peroxide \"35 % w/w\" 500mL";
    for (tag, severity, words, bad, good) in [
        ("combustibles", "serious", "near paper", "potassium-permanganate 100g", weak),
        ("combustibles", "serious", "near paper", strong, "sodium-chloride 1kg"),
        ("bare-metal", "minor", "near bare iron", weak, "acetic-acid \"5 % w/v\" 1L"),
        ("damp", "serious", "near damp", "sodium-percarbonate 1kg", weak),
        // A tray keeps no vapour from a heater.
        ("warm", "serious", "near sun", "isopropanol \"70 % w/w\" 500mL", "sodium-thiosulfate 500g"),
        ("warm", "minor", "near sun", weak, "sodium-thiosulfate 500g"),
        ("food", "danger", "near food", "acetic-acid \"5 % w/v\" 1L", "sodium-chloride 1kg"),
        ("food", "danger", "near food", strong, "potassium-chloride 1kg"),
        ("bedroom", "serious", "near a room to sleep in", "ammonia \"10 % w/w\" 1L", weak),
    ] {
        let bench = bench(&[&format!("nook --temp 20 --around {tag}")]);
        enter(
            &bench,
            &[&format!("receive {bad} --at nook --code BAD"), &format!("receive {good} --at nook --code GOOD")],
        );
        let answer = audit(&bench);
        let found = finding(&answer, words);
        assert_eq!((found["severity"].as_str(), codes(found)), (Some(severity), vec!["BAD"]), "{tag}");
        assert_eq!(found["place"], "nook");
        // Several things around, and one that was taken away.
        enter(&bench, &[&format!("place set nook --around damp,{tag}")]);
        finding(&audit(&bench), words);
        enter(&bench, &["place set nook --around nothing"]);
        none(&audit(&bench), words);
    }
}

// Containers.

#[test]
fn audit_caps() {
    for (stock, cap, expected) in [
        ("hydrogen-peroxide \"35 % w/w\" 500mL", "", Some("minor")),
        ("hydrogen-peroxide \"35 % w/w\" 500mL", "--cap vented", None),
        ("hydrogen-peroxide \"35 % w/w\" 500mL", "--cap tight", Some("danger")),
        ("hydrogen-peroxide \"8 % w/w\" 500mL", "--cap tight", Some("danger")),
        ("hydrogen-peroxide \"8 % w/w\" 500mL", "", Some("minor")),
        ("hydrogen-peroxide \"7.9 % w/w\" 500mL", "", None),
        ("hydrogen-peroxide \"3 % w/v\" 500mL", "", None),
        ("sodium-hypochlorite \"5 % w/w\" 1L", "--cap tight", Some("danger")),
        ("sodium-hypochlorite \"4.9 % w/w\" 1L", "", None),
        ("acetic-acid \"5 % w/v\" 1L", "--cap tight", None),
        ("sodium-percarbonate 1kg", "--cap tight", None),
    ] {
        let bench = bench(&[CUPBOARD]);
        enter(&bench, &[&format!("receive {stock} {cap} --at cupboard")]);
        let answer = audit(&bench);
        let severity = found(&answer, "cap").map(|found| found["severity"].as_str().unwrap());
        assert_eq!(severity, expected, "{stock} {cap}: {answer:#}");
    }
}

#[test]
fn audit_a_cap_that_was_looked_at() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &["receive hydrogen-peroxide \"12 % w/w\" 500mL --at cupboard --condition opened"]);
    enter(&bench, &["note HP-1 tight-cap"]);
    assert_eq!(finding(&audit(&bench), "tight cap")["severity"], "danger");
    enter(&bench, &["note HP-1 vented-cap"]);
    none(&audit(&bench), "cap");
    // What was filled here has no maker who knew better.
    enter(&bench, &["decant HP-1 100mL --container opaque-plastic"]);
    let answer = audit(&bench);
    let found = finding(&answer, "nobody said how its cap closes");
    assert_eq!((found["severity"].as_str(), codes(found)), (Some("serious"), vec!["HP-2"]));
}

#[test]
fn audit_of_unknown_strength_a_cap_counts_as_of_the_strongest() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard --cap tight"), "note HP-1 unlabelled"]);
    assert_eq!(finding(&audit(&bench), "tight cap")["severity"], "danger");
}

#[test]
fn audit_a_tight_cap_on_weak_peroxide_tells_its_pressure() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard --cap tight")]);
    let answer = audit(&bench);
    assert!(finding(&answer, "tight cap")["consequence"].as_str().unwrap().contains(" bar "), "{answer:#}");
}

#[test]
fn audit_what_it_is_kept_in() {
    for (stock, kind, expected) in [
        ("hydrogen-peroxide \"3 % w/v\" 500mL", "drink-bottle", Some("danger")),
        ("hydrogen-peroxide \"3 % w/v\" 500mL", "metal", Some("serious")),
        ("hydrogen-peroxide \"3 % w/v\" 500mL", "clear-glass", Some("minor")),
        ("hydrogen-peroxide \"3 % w/v\" 500mL", "amber-glass", None),
        ("hydrogen-peroxide \"3 % w/v\" 500mL", "opaque-plastic", None),
        ("acetic-acid \"5 % w/v\" 1L", "drink-bottle", Some("danger")),
        ("acetic-acid \"5 % w/v\" 1L", "clear-glass", None),
        ("potassium-permanganate 100g", "paper", Some("serious")),
        ("potassium-permanganate 100g", "metal", Some("serious")),
        ("ammonium-alum 500g", "paper", None),
        ("isopropanol \"70 % w/w\" 500mL", "metal", None),
    ] {
        let bench = bench(&[CUPBOARD]);
        enter(&bench, &[&format!("receive {stock} --container {kind} --at cupboard")]);
        let answer = audit(&bench);
        let words = format!(" in {kind}");
        let severity = found(&answer, &words).map(|found| found["severity"].as_str().unwrap());
        assert_eq!(severity, expected, "{stock} in {kind}: {answer:#}");
    }
}

#[test]
fn audit_an_unknown_container_is_told_only_of_what_was_filled_here() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard --condition opened"), "decant HP-1 100mL"]);
    assert_eq!(codes(finding(&audit(&bench), "container unknown")), ["HP-2"]);
    enter(&bench, &["correct HP-2 1 --container amber-glass --because looked"]);
    none(&audit(&bench), "container unknown");
}

#[test]
fn audit_brittle_unlabelled_swollen() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard"), &format!("{WEAK} cupboard")]);
    let clean = audit(&bench);
    for words in ["brittle", "label", "swollen", "gassing"] {
        none(&clean, words);
    }
    enter(&bench, &["note HP-1 brittle", "note HP-1 unlabelled", "note HP-1 swollen", "note HP-2 gassing"]);
    let answer = audit(&bench);
    for (words, severity, code) in [
        ("brittle", "serious", "HP-1"),
        ("no label", "serious", "HP-1"),
        ("swollen", "danger", "HP-1"),
        ("gassing", "danger", "HP-2"),
    ] {
        let found = finding(&answer, words);
        assert_eq!((found["severity"].as_str(), codes(found)), (Some(severity), vec![code]), "{words}");
    }
    assert!(finding(&answer, "brittle")["consequence"].as_str().unwrap().contains(DAY));
    bench.on("2031-03-16", "note HP-1 labelled").ok();
    bench.on("2031-03-16", "note HP-1 vented-cap").ok();
    let later = audit_on(&bench, "2031-03-17");
    none(&later, "no label");
    none(&later, "swollen");
    // On the day before it nothing was known of it.
    finding(&audit(&bench), "swollen");
}

/// A vented cap that was looked at in the morning does not answer for a bottle that bulges at noon: its vent has failed.
#[test]
fn audit_a_bottle_that_swells_under_a_vented_cap() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{STRONG} cupboard"), "note HP-1 vented-cap", "note HP-1 swollen"]);
    assert_eq!(finding(&audit(&bench), "swollen")["severity"], "danger");
}

#[test]
fn audit_what_was_filled_here_wants_a_label() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard --condition opened"), "decant HP-1 100mL --container amber-glass"]);
    let answer = audit(&bench);
    let found = finding(&answer, "nobody noted a label");
    assert_eq!((found["severity"].as_str(), codes(found)), (Some("minor"), vec!["HP-2"]));
    enter(&bench, &["note HP-2 labelled"]);
    none(&audit(&bench), "label");
}

/// Peroxide thinned here is worth keeping for thirty days.
#[test]
fn audit_an_own_dilution_too_old() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard --condition opened")]);
    enter(&bench, &["decant HP-1 100mL --water 100mL --container amber-glass"]);
    none(&audit_on(&bench, "2031-04-14"), "own dilution");
    let answer = audit_on(&bench, "2031-04-15");
    let found = finding(&answer, "own dilution");
    assert_eq!((found["severity"].as_str(), codes(found)), (Some("minor"), vec!["HP-2"]));
    // Poured over without water it is no dilution.
    enter(&bench, &["decant HP-1 100mL --container amber-glass --code POUR"]);
    assert_eq!(codes(finding(&audit_on(&bench, "2031-06-15"), "own dilution")), ["HP-2"]);
}

#[test]
fn audit_without_a_label_nothing_is_let_off() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard"), &format!("{VINEGAR} cupboard")]);
    assert_eq!(finding(&audit(&bench), " and ")["severity"], "minor");
    enter(&bench, &["note HP-1 unlabelled"]);
    assert_eq!(finding(&audit(&bench), " and ")["severity"], "serious");
}

/// `check` gives 73 to 87 g/L for it, which is up to 8.5 % w/w: no relief, and a cap that must let gas out.
#[test]
fn audit_an_own_dilution_counts_as_strong_as_it_can_be() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{STRONG} cupboard --condition opened")]);
    enter(&bench, &["decant HP-1 100mL --water 410mL --container opaque-plastic --cap tight"]);
    enter(&bench, &["retire HP-1 --because used", &format!("{VINEGAR} cupboard")]);
    let high = bench.on(DAY, "--json check HP-2").json()["strength"]["high_g_per_l"].as_f64().unwrap();
    assert!(high > 83.0, "above 8 % w/w, which is 82 g/L: {high}");
    let answer = audit(&bench);
    assert_eq!(finding(&answer, " and ")["severity"], "serious", "{answer:#}");
    assert_eq!(finding(&answer, "tight cap")["severity"], "danger", "{answer:#}");
}

// Answers.

#[test]
fn audit_exit_codes() {
    let bench = bench(&[CUPBOARD]);
    assert!(bench.on(DAY, "audit").ok().contains("nothing stands on the shelf"));
    enter(&bench, &[&format!("{SALT} cupboard")]);
    let said = bench.on(DAY, "audit").ok();
    assert!(said.contains("no known conflict") && said.contains("promises nothing"), "{said}");
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{VINEGAR} cupboard")]);
    let ran = bench.on(DAY, "audit");
    assert_eq!(ran.code, 1, "{ran:?}");
    for words in ["DANGER", "never together", "Chlorine", "do: another cabinet", "BL-1", "AC-1"] {
        assert!(ran.stdout.contains(words), "{words}: {ran:?}");
    }
    let why = bench.on(DAY, "audit --why");
    assert!(why.stdout.len() > ran.stdout.len(), "{why:?}");
    // Before anything came.
    assert!(bench.on("2030-06-01", "audit").ok().contains("nothing stands on the shelf"));
}

#[test]
fn audit_fields() {
    let bench = bench(&[CUPBOARD, PORCH]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{VINEGAR} cupboard --overrule \"until Monday\"")]);
    let answer = audit(&bench);
    for field in ["findings", "moves", "moves_proven", "left_after_moves", "not_looked_at", "review_due_since"] {
        assert!(answer.get(field).is_some(), "{field}: {answer:#}");
    }
    assert_eq!(answer["format"], 1);
    assert!(answer.get("before").is_none());
    assert_eq!(answer["review_due_since"], Value::Null);
    for found in answer["findings"].as_array().unwrap() {
        for field in ["severity", "place", "stocks", "rule", "consequence", "source", "advice", "overruled"] {
            assert!(found.get(field).is_some(), "{field}: {found:#}");
        }
    }
    let reason = &finding(&answer, "never together")["overruled"];
    assert_eq!(reason, &serde_json::json!([{ "stock": "AC-1", "since": DAY, "why": "until Monday" }]));
    let before = bench.on(DAY, "--json audit --before \"move BL-1 porch\"").json();
    assert_eq!(
        before["before"]["move"],
        serde_json::json!({ "stock": "BL-1", "from": "cupboard", "to": "porch", "step": 1 })
    );
    assert!(before["before"]["cleared"].is_array());
}

#[test]
fn audit_rules_past_their_review_are_marked() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{VINEGAR} cupboard")]);
    let ran = bench.on("2036-11-30", "audit");
    assert!(!ran.stdout.contains("[check]"), "{ran:?}");
    let ran = bench.on("2036-12-01", "audit");
    assert!(ran.stdout.contains("[check]") && ran.stdout.contains("2036-11-30"), "{ran:?}");
    assert_eq!(audit_on(&bench, "2036-12-01")["review_due_since"], "2036-11-30");
}

#[test]
fn audit_proposes_the_fewest_moves() {
    let bench = bench(&[CUPBOARD, PORCH]);
    for _ in 0..3 {
        enter(&bench, &[&format!("{BLEACH} cupboard")]);
    }
    enter(&bench, &[&format!("{VINEGAR} cupboard")]);
    let answer = audit(&bench);
    assert_eq!(answer["moves"], serde_json::json!([{ "stock": "AC-1", "from": "cupboard", "to": "porch", "step": 1 }]));
    assert_eq!((&answer["moves_proven"], &answer["left_after_moves"]), (&Value::from(true), &Value::from(0)));
    let text = bench.on(DAY, "audit").stdout;
    assert!(text.contains("brimstock move AC-1 porch"), "{text}");
    enter(&bench, &["move AC-1 porch"]);
    let answer = audit(&bench);
    none(&answer, " and ");
    assert_eq!(answer["moves"], serde_json::json!([]));
}

#[test]
fn audit_says_when_no_place_clears_it() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{VINEGAR} cupboard")]);
    let answer = audit(&bench);
    assert_eq!((&answer["moves"], &answer["left_after_moves"]), (&serde_json::json!([]), &Value::from(1)));
    let text = bench.on(DAY, "audit").stdout;
    assert!(text.contains("place add"), "{text}");
}

/// Found by the property on the order of receipt: three bottles, one finding, in whatever order they came.
#[test]
fn audit_one_conflict_is_one_finding_in_whatever_order_they_came() {
    let count = |lines: [&str; 3]| {
        let bench = bench(&[CUPBOARD]);
        for line in lines {
            enter(&bench, &[&format!("{line} cupboard")]);
        }
        let answer = audit(&bench);
        let all = answer["findings"].as_array().unwrap();
        all.iter().filter(|found| found["rule"].as_str().unwrap().contains(" and ")).count()
    };
    let twelve = "receive hydrogen-peroxide \"12 % w/w\" 500mL --cap vented --at";
    assert_eq!(count([twelve, STRONG, VINEGAR]), 1);
    assert_eq!(count([twelve, VINEGAR, STRONG]), 1);
}

// Before a move.

fn before(bench: &Bench, asked: &str) -> Ran {
    bench.run(&["--on", DAY, "--json", "audit", "--before", asked])
}

#[test]
fn audit_before_a_move_that_makes_clears_both_or_neither() {
    let bench = bench(&[CUPBOARD, PORCH, "pantry --around food"]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{VINEGAR} porch"), &format!("{SALT} cupboard")]);
    // Makes.
    let ran = before(&bench, "move AC-1 cupboard");
    assert_eq!(ran.code, 1, "{ran:?}");
    finding(&ran.json(), "never together");
    assert_eq!(ran.json()["before"]["cleared"], serde_json::json!([]));
    // Neither.
    let ran = before(&bench, "move SC-1 porch");
    assert_eq!((ran.code, &ran.json()["findings"]), (0, &serde_json::json!([])));
    // Clears.
    enter(&bench, &["move AC-1 cupboard"]);
    let ran = before(&bench, "move AC-1 porch");
    assert_eq!((ran.code, &ran.json()["findings"]), (0, &serde_json::json!([])));
    assert!(ran.json()["before"]["cleared"][0]["rule"].as_str().unwrap().contains("never together"), "{ran:?}");
    // Clears one by making another.
    let ran = before(&bench, "move AC-1 pantry");
    assert_eq!(ran.code, 1, "{ran:?}");
    finding(&ran.json(), "near food");
    assert!(ran.json()["before"]["cleared"].to_string().contains("never together"), "{ran:?}");
    // Asking moves nothing.
    finding(&audit(&bench), "never together");
    assert!(!bench.on(DAY, "show AC-1").ok().contains("moved  to pantry"));
    // Where it stands already, and whatever the letters.
    let ran = before(&bench, "move ac-1 CUPBOARD");
    assert_eq!((ran.code, &ran.json()["findings"]), (0, &serde_json::json!([])));
}

#[test]
fn audit_before_refuses_what_is_no_move() {
    let bench = bench(&[CUPBOARD, PORCH]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{SALT} cupboard"), "retire SC-1 --because used"]);
    for (asked, words) in [
        ("", "cannot read"),
        ("   ", "cannot read"),
        ("move", "cannot read"),
        ("move BL-1", "cannot read"),
        ("take BL-1 100mL", "cannot read"),
        ("BL-1 porch", "cannot read"),
        ("move XX-9 porch", "no stock `XX-9`"),
        ("move BL-1 moon", "no place `moon`"),
        // It left the shelf.
        ("move SC-1 porch", "no stock `SC-1`"),
    ] {
        bench.run(&["--on", DAY, "audit", "--before", asked]).fails(2, &[words, "hint"]);
    }
}

#[test]
fn audit_before_a_move_that_leaves_others_in_the_same_conflict() {
    let bench = bench(&[CUPBOARD, PORCH]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{VINEGAR} cupboard"), &format!("{BLEACH} porch")]);
    // BL-1 beside AC-1 stays what it is, so nothing is cleared.
    let ran = before(&bench, "move BL-2 cupboard");
    assert_eq!(ran.code, 1, "{ran:?}");
    assert_eq!(ran.json()["before"]["cleared"], serde_json::json!([]), "nothing is cleared");
    enter(&bench, &["move BL-2 cupboard"]);
    // And taking BL-2 away again makes nothing.
    let ran = before(&bench, "move BL-2 porch");
    assert_eq!(ran.json()["findings"], serde_json::json!([]), "nothing is made");
    assert_eq!(ran.code, 0, "{ran:?}");
}

#[test]
fn audit_before_reads_a_move_as_it_is_typed() {
    let bench = bench(&[CUPBOARD, "\"far porch\" --around nothing"]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{VINEGAR} cupboard")]);
    let text = bench.on(DAY, "audit").stdout;
    let line = text.lines().find_map(|line| line.trim().strip_prefix("brimstock ")).expect("a move is proposed");
    assert!(line.contains("\"far porch\""), "{line}");
    before(&bench, &line.replace('"', "")).json();
    assert_eq!(before(&bench, line).code, 0);
}

// Warnings at once, and reasons.

#[test]
fn audit_move_receive_and_decant_warn_at_once() {
    let bench = bench(&[CUPBOARD, PORCH]);
    let quiet = bench.on(DAY, &format!("{BLEACH} cupboard --condition opened")).ok();
    assert!(!quiet.contains("WARNING"), "{quiet}");
    let said = bench.on(DAY, &format!("{VINEGAR} cupboard --condition opened")).ok();
    assert!(said.contains("WARNING danger") && said.contains("never together (BL-1)"), "{said}");
    let quiet = bench.on(DAY, "move AC-1 porch").ok();
    assert!(!quiet.contains("WARNING"), "{quiet}");
    let said = bench.on(DAY, "move AC-1 cupboard").ok();
    assert!(said.contains("WARNING danger") && said.contains("BL-1"), "{said}");
    enter(&bench, &["move AC-1 porch"]);
    let said = bench.on(DAY, "decant AC-1 100mL --at cupboard").ok();
    assert!(said.contains("WARNING danger") && said.contains("BL-1"), "{said}");
    let quiet = bench.on(DAY, "decant AC-1 100mL").ok();
    assert!(!quiet.contains("WARNING"), "{quiet}");
    let json = bench.on(DAY, "--json move AC-1 cupboard").json();
    assert!(json["warnings"].to_string().contains("never together"), "{json}");
}

#[test]
fn audit_a_reason_is_kept_and_the_finding_stays() {
    let bench = bench(&[CUPBOARD, PORCH]);
    enter(&bench, &[&format!("{BLEACH} cupboard --condition opened"), &format!("{VINEGAR} porch --condition opened")]);
    let said = bench.on(DAY, "move AC-1 cupboard --overrule \"painting the porch\"").ok();
    assert!(said.contains("WARNING danger"), "a reason silences nothing: {said}");
    assert!(bench.on(DAY, "show AC-1").ok().contains("painting the porch"));
    let text = bench.on(DAY, "audit");
    assert_eq!(text.code, 1);
    assert!(text.stdout.contains("never together") && text.stdout.contains("painting the porch"), "{text:?}");
    let answer = audit(&bench);
    let found = finding(&answer, "never together");
    assert_eq!(found["severity"], "danger");
    assert_eq!(found["overruled"][0]["why"], "painting the porch");
    // The next move ends it; the journal keeps it.
    enter(&bench, &["move AC-1 porch", "move AC-1 cupboard"]);
    assert_eq!(finding(&audit(&bench), "never together")["overruled"], serde_json::json!([]));
    assert!(bench.on(DAY, "show AC-1").ok().contains("painting the porch"));
    // The other two verbs.
    enter(&bench, &[&format!("{VINEGAR} cupboard --overrule \"one night\"")]);
    enter(&bench, &["decant AC-1 50mL --at cupboard --container clear-glass --overrule \"for the bath at noon\""]);
    let reasons = finding(&audit(&bench), "never together")["overruled"].to_string();
    assert!(reasons.contains("one night") && reasons.contains("for the bath at noon"), "{reasons}");
    for code in ["AC-2", "AC-3"] {
        assert!(bench.on(DAY, &format!("show {code}")).ok().contains("against a warning"), "{code}");
    }
}

#[test]
fn audit_an_empty_reason_is_refused() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{BLEACH} cupboard --condition opened")]);
    let long = "x".repeat(201);
    for reason in ["", "   ", "two\nlines", long.as_str()] {
        for line in [
            &["move", "BL-1", "cupboard"][..],
            &["receive", "sodium-chloride", "1kg", "--at", "cupboard"],
            &["decant", "BL-1", "100mL"],
        ] {
            let mut typed = vec!["--on", DAY];
            typed.extend(line);
            typed.extend(["--overrule", reason]);
            bench.run(&typed).fails(2, &["--overrule"]);
        }
    }
    assert_eq!(audit(&bench)["stocks"], 1, "nothing was entered");
}

#[test]
fn audit_a_reason_for_one_bottle_does_not_speak_for_its_twin() {
    let bench = bench(&["pantry --temp 20 --around food"]);
    enter(&bench, &[&format!("{WEAK} pantry --overrule \"this week only\""), &format!("{WEAK} pantry")]);
    let answer = audit(&bench);
    assert_eq!(codes(finding(&answer, "near food")), ["HP-1", "HP-2"]);
    assert_eq!(answer["left_after_moves"], 1, "HP-2 stands there without a reason: {answer:#}");
}

#[test]
fn audit_a_reason_does_not_speak_for_what_comes_later() {
    let bench = bench(&["board --height 160 --around nothing", PORCH]);
    // The reason is for the height; nobody knew of the bleach.
    enter(&bench, &["receive acetic-acid \"5 % w/v\" 1L --at board --overrule \"no room lower down\""]);
    enter(&bench, &["place set board --height 100", &format!("{BLEACH} board")]);
    let answer = audit(&bench);
    finding(&answer, "never together");
    assert_eq!(
        answer["moves"],
        serde_json::json!([{ "stock": "BL-1", "from": "board", "to": "porch", "step": 1 }]),
        "{answer:#}"
    );
}

#[test]
fn audit_a_reason_belongs_to_its_place() {
    let bench = bench(&[CUPBOARD, "pantry --around food --temp 20", "attic --height 160 --around nothing --temp 20"]);
    enter(&bench, &[&format!("{WEAK} cupboard"), "move HP-1 pantry --overrule \"only for an hour\""]);
    enter(&bench, &["correct HP-1 2 --place attic --because \"it went to the attic\""]);
    let answer = audit(&bench);
    assert_eq!(finding(&answer, "higher than")["overruled"], serde_json::json!([]), "{answer:#}");
}

// Journals.

#[test]
fn audit_what_left_the_shelf_does_not_count() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{VINEGAR} cupboard")]);
    finding(&audit(&bench), "never together");
    bench.on("2031-03-20", "retire AC-1 --because \"used up\"").ok();
    let later = audit_on(&bench, "2031-03-20");
    none(&later, "never together");
    assert_eq!(later["stocks"], 1);
    // On the days before, it stood there.
    finding(&audit_on(&bench, "2031-03-19"), "never together");
}

#[test]
fn audit_a_correction_of_a_place_moves_the_finding() {
    let bench = bench(&[CUPBOARD, PORCH]);
    enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("{BLEACH} porch"), &format!("{VINEGAR} cupboard")]);
    let answer = audit(&bench);
    let found = finding(&answer, "never together");
    assert_eq!((found["place"].as_str(), codes(found)), (Some("cupboard"), vec!["AC-1", "BL-1"]));
    enter(&bench, &["correct AC-1 1 --place porch --because \"it went to the porch\""]);
    let answer = audit(&bench);
    let found = finding(&answer, "never together");
    assert_eq!((found["place"].as_str(), codes(found)), (Some("porch"), vec!["AC-1", "BL-2"]));
    enter(&bench, &["correct AC-1 1 --never --because \"it never came\""]);
    none(&audit(&bench), "never together");
}

#[test]
fn audit_what_never_happened_had_no_cap() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{STRONG} cupboard")]);
    for more in ["--cap tight", "--holds 1L"] {
        bench.on(DAY, &format!("correct HP-1 1 --never {more} --because x")).fails(2, &["--never"]);
    }
}

#[test]
fn audit_a_corrected_strength_counts() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard"), &format!("{VINEGAR} cupboard")]);
    assert_eq!(finding(&audit(&bench), " and ")["severity"], "minor");
    enter(&bench, &["correct HP-1 1 --strength \"35 % w/w\" --because \"typed 3 for 35\""]);
    assert_eq!(finding(&audit(&bench), " and ")["severity"], "serious");
}

// Places.

#[test]
fn audit_places_know_cabinet_height_and_surroundings() {
    let bench = bench(&[]);
    let listed = |name: &str| {
        let all = bench.on(DAY, "--json place list").json();
        let found = all["places"].as_array().unwrap().iter().find(|place| place["name"] == name).cloned();
        found.unwrap_or_else(|| panic!("no {name} in {all:#}"))
    };
    enter(
        &bench,
        &["place add bare", "place add full --cabinet \"tall locker\" --height 120cm --around \"food, damp,food\""],
    );
    let place = listed("bare");
    assert_eq!((&place["cabinet"], &place["height_cm"], &place["around"]), (&Value::Null, &Value::Null, &Value::Null));
    let place = listed("full");
    assert_eq!((&place["cabinet"], &place["height_cm"]), (&Value::from("tall locker"), &Value::from(120.0)));
    let mut around: Vec<&str> = place["around"].as_array().unwrap().iter().map(|word| word.as_str().unwrap()).collect();
    around.sort_unstable();
    assert_eq!(around, ["damp", "food"]);
    // One thing is set, the others stay.
    enter(&bench, &["place set full --height 0"]);
    let place = listed("full");
    assert_eq!((&place["cabinet"], &place["height_cm"]), (&Value::from("tall locker"), &Value::from(0.0)));
    assert_eq!(place["around"].as_array().unwrap().len(), 2);
    enter(&bench, &["place set full --around nothing --cabinet low"]);
    let place = listed("full");
    assert_eq!((&place["cabinet"], &place["around"]), (&Value::from("low"), &serde_json::json!([])));
    for word in ["combustibles", "bare-metal", "damp", "warm", "food", "bedroom"] {
        enter(&bench, &[&format!("place set bare --around {word}")]);
        assert_eq!(listed("bare")["around"], serde_json::json!([word]));
    }
    enter(&bench, &["place set bare --height 1000"]);
    bench.on(DAY, "place set bare").fails(2, &["nothing to set", "--cabinet", "--height", "--around"]);
}

#[test]
fn audit_places_refuse_what_is_none() {
    let bench = bench(&[CUPBOARD]);
    let long = "c".repeat(41);
    for (flag, value, words) in [
        ("--around", "fish", &["`fish`", "combustibles", "bedroom", "nothing"][..]),
        ("--around", "food,fish", &["`fish`"]),
        ("--around", "food,", &["accepted"]),
        ("--around", "", &["accepted"]),
        ("--around", "nothing,food", &["`nothing`"]),
        ("--around", "Food", &["`Food`"]),
        ("--height", "-1", &["0 to 1000"]),
        ("--height", "1000.1", &["0 to 1000"]),
        ("--height", "NaN", &["0 to 1000"]),
        ("--height", "inf", &["0 to 1000"]),
        ("--height", "tall", &["0 to 1000"]),
        ("--height", "", &["0 to 1000"]),
        ("--cabinet", "", &["1 to 40"]),
        ("--cabinet", "  ", &["1 to 40"]),
        ("--cabinet", long.as_str(), &["1 to 40"]),
        ("--cabinet", "a\nb", &["1 to 40"]),
    ] {
        let verbs = [["place", "add", "nook"], ["place", "set", "cupboard"]];
        // The two verbs share their arguments: `set` with the short words is enough.
        for verb in &verbs[..if value.len() < 3 { 2 } else { 1 }] {
            let mut typed = vec!["--on", DAY];
            typed.extend(verb);
            typed.extend([flag, value]);
            bench.run(&typed).fails(2, words);
        }
    }
    let places = bench.on(DAY, "--json place list").json();
    assert_eq!(places["places"].as_array().unwrap().len(), 1, "nothing was entered: {places:#}");
}

#[test]
fn audit_a_place_counts_as_it_is_on_the_day() {
    let bench = bench(&[CUPBOARD]);
    enter(&bench, &[&format!("{WEAK} cupboard"), "place set cupboard --around food --date 2031-03-10"]);
    bench.on("2031-05-01", "place set cupboard --around nothing").ok();
    finding(&audit(&bench), "near food");
    none(&audit_on(&bench, "2031-05-01"), "near food");
}

// A keeper's own reagents.

const OWN: &str = r#"
key = "marsh-salt"
name = "marsh salt"
code = "MS"
cas = { value = "7647-14-5", source = "memory" }
formula = { value = "NaCl", source = "memory" }
forms = ["solid"]

[solid]
purity = { value = 90, unit = "% w/w", relative_sd = 0.02, source = "memory" }
[[solid.spooned]]
kind = "coarse"
density = { value = 1.0, unit = "g/mL", relative_sd = 0.2, source = "memory" }

[[decay]]
form = "solid"
law = "keeps"
why = "Salt keeps."
source = "memory"
start = [{ condition = "sealed", factor = { value = 1, unit = "1", source = "memory" }, sd_ln = 0.02 },
    { condition = "opened", factor = { value = 1, unit = "1", source = "memory" }, sd_ln = 0.02 }]
"#;

fn with_own(care: &str) -> Bench {
    let bench = bench(&[CUPBOARD]);
    let folder = bench.register().with_extension("reagents");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("marsh-salt.toml"), format!("{OWN}{care}")).unwrap();
    bench
}

fn care(groups: &str) -> String {
    format!(
        "\n[care]\ngroups = {groups}\nspill = \"plain-salt\"\nfirst_aid = \"plain\"\nprotection = \"plain\"\n\
         disposal = \"plain-salt\"\nsource = \"memory\"\n"
    )
}

const OWN_CHECK: &str = "reagents check shelf.reagents/marsh-salt.toml";

#[test]
fn audit_a_reagent_without_care_is_said_not_to_be_looked_at() {
    let bench = with_own("");
    bench.on(DAY, OWN_CHECK).ok();
    enter(&bench, &["receive marsh-salt 1kg --at cupboard", &format!("{BLEACH} cupboard")]);
    let answer = audit(&bench);
    none(&answer, " and ");
    assert!(answer["not_looked_at"].to_string().contains("marsh-salt"), "{answer:#}");
    assert!(bench.on(DAY, "audit").stdout.contains("not looked at: "));
}

#[test]
fn audit_an_own_reagent_with_groups_is_looked_at() {
    let bench = with_own(&care("[\"neutral-salt\", \"mild-acid\"]"));
    bench.on(DAY, OWN_CHECK).ok();
    enter(&bench, &["receive marsh-salt 1kg --at cupboard", &format!("{BLEACH} cupboard")]);
    let answer = audit(&bench);
    assert_eq!(codes(finding(&answer, "never together")), ["BL-1", "MS-1"]);
    assert_eq!(answer["not_looked_at"], serde_json::json!([]));
}

#[test]
fn audit_a_wrong_or_missing_group_is_a_fault_of_the_file() {
    let bench = with_own(&care("[\"mild-acidity\"]"));
    let ran = bench.on(DAY, OWN_CHECK);
    assert_eq!(ran.code, 1, "{ran:?}");
    // Wrapped lines break long lists anywhere.
    let said = ran.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in ["care.groups", "`mild-acidity`", "mild-acid,", "peroxide", "neutral-salt", "strong-base"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    bench.on(DAY, "audit").fails(3, &["marsh-salt.toml", "reagents check"]);
    let ran = with_own(&care("[]")).on(DAY, OWN_CHECK);
    assert!(ran.code == 1 && ran.stdout.contains("at least one group"), "{ran:?}");
    let ran = with_own("\n[care]\nspill = \"plain-salt\"\n").on(DAY, OWN_CHECK);
    assert!(ran.code == 1 && ran.stdout.contains("groups"), "{ran:?}");
    let ran = with_own(&care("\"mild-acid\"")).on(DAY, OWN_CHECK);
    assert_eq!(ran.code, 1, "{ran:?}");
}

// Names that are taken for each other, and advice that is wrong.

#[test]
fn audit_bisulfate_is_no_name_of_bisulfite() {
    let bench = bench(&[CUPBOARD]);
    for word in
        ["sodium-bisulfate", "bisulfate", "sodium bisulfate", "sodium bisulphate", "meta bisulfate", "metabisulfate"]
    {
        bench.run(&["--on", DAY, "reagents", word]).fails(2, &["there is no reagent", "hint"]);
        let line = ["--on", DAY, "receive", word, "1kg", "--at", "cupboard"];
        bench.run(&line).fails(2, &["there is no reagent", "hint"]);
    }
    assert_eq!(audit(&bench)["stocks"], 0);
    let page = bench.on(DAY, "reagents sodium-bisulfite").ok();
    assert!(page.contains("bisulfate") && page.contains("acid"), "{page}");
}

#[test]
fn audit_bisulfate_is_not_led_to_bisulfite() {
    let bench = bench(&[CUPBOARD]);
    for word in ["sodium-bisulfate", "sodium bisulfate", "sodium bisulphate", "metabisulfate"] {
        let ran = bench.run(&["--on", DAY, "receive", word, "1kg", "--at", "cupboard"]);
        assert_eq!(ran.code, 2, "{ran:?}");
        let led = ran.stderr.contains("did you mean");
        assert!(!led || ran.stderr.contains("acid"), "an acid is led to a reducer: {}", ran.stderr);
    }
}

#[test]
fn audit_sulfites_and_sulfates_are_not_led_to_each_other() {
    let bench = bench(&[CUPBOARD]);
    for (word, other) in [("sulfite", "sulfate`"), ("sodium sulfate", "sulfite`")] {
        let ran = bench.run(&["--on", DAY, "reagents", word]);
        assert_eq!(ran.code, 2, "{ran:?}");
        assert!(!ran.stderr.contains(other), "{word}: {}", ran.stderr);
    }
}

#[test]
fn audit_alike_names_are_different_groups() {
    let bench = bench(&[CUPBOARD]);
    for (word, keys) in [
        ("alum", &["aluminium-sulfate", "ammonium-alum", "potassium-alum"][..]),
        ("bisulfite", &["sodium-bisulfite", "sodium-metabisulfite"]),
    ] {
        bench.on(DAY, &format!("receive {word} 500g --at cupboard")).fails(2, keys);
    }
    // Percarbonate is kept apart as itself, and even from peroxide.
    let page = |word: &str| bench.on(DAY, &format!("--json reagents {word}")).ok();
    assert!(page("percarbonate").contains("sodium-percarbonate") && !page("percarbonate").contains("\"HP\""));
    assert!(page("peroxide").contains("hydrogen-peroxide"));
    enter(&bench, &[&format!("{WEAK} cupboard"), "receive percarbonate 1kg --at cupboard"]);
    finding(&audit(&bench), "not on one shelf");
    // Ammonium alum beside bleach is worse than aluminium sulfate.
    for (alum, severity) in
        [("ammonium-alum", "danger"), ("aluminium-sulfate", "serious"), ("potassium-alum", "serious")]
    {
        let bench = self::bench(&[CUPBOARD]);
        enter(&bench, &[&format!("{BLEACH} cupboard"), &format!("receive {alum} 500g --at cupboard")]);
        assert_eq!(finding(&audit(&bench), " and ")["severity"], severity, "{alum}");
    }
}

/// A blog keeps it in the freezer among the food.
#[test]
fn audit_strong_peroxide_among_food_is_a_danger() {
    let bench = bench(&["freezer --temp -18 --light dark --around food", PORCH]);
    enter(&bench, &[&format!("{STRONG} freezer")]);
    let answer = audit(&bench);
    assert_eq!(finding(&answer, "near food")["severity"], "danger");
    assert_eq!(answer["moves"], serde_json::json!([{ "stock": "HP-1", "from": "freezer", "to": "porch", "step": 1 }]));
}

#[test]
fn audit_weak_peroxide_gets_no_un_number() {
    let bench = bench(&["pantry --around food"]);
    enter(&bench, &[&format!("{WEAK} pantry"), "receive hydrogen-peroxide \"7.9 % w/w\" 500mL --at pantry"]);
    for line in ["audit", "audit --why", "show HP-1", "show HP-2", "check HP-1", "classify HP-1", "classify HP-2 --why"]
    {
        let ran = bench.on(DAY, line);
        assert!(ran.code <= 1, "{line}: {ran:?}");
        assert!(!ran.stdout.contains("2984") && !ran.stdout.contains("UN2"), "{line}: {ran:?}");
    }
    let page = bench.on(DAY, "reagents hydrogen-peroxide").ok();
    let row = page.lines().find(|line| line.contains("2984")).expect("the row of 8 to 20 %");
    assert!(row.contains("8 to below 20 %"), "{row}");
}

// Words.

#[test]
fn audit_promises_nothing() {
    let bench = bench(&[
        TOP,
        LOW,
        "sill --temp 28 --light sill --around food,damp,warm,bedroom,combustibles,bare-metal",
        PORCH,
    ]);
    let mut said = Vec::new();
    let mut say = |line: &str| {
        let ran = bench.on(DAY, line);
        assert!(ran.code <= 1, "{line}: {ran:?}");
        said.push((line.to_owned(), ran.stdout));
    };
    say("audit");
    let mut stocks = Vec::new();
    for (number, what) in [
        "hydrogen-peroxide \"3 % w/v\" 500mL --container drink-bottle --cap tight",
        "hydrogen-peroxide \"35 % w/w\" 500mL --container metal --cap tight",
        "sodium-hypochlorite \"10 % w/w\" 1L",
        "calcium-hypochlorite \"65 % w/w\" 1kg --container paper",
        "sodium-percarbonate 1kg",
        "potassium-permanganate 100g",
        "acetic-acid \"5 % w/v\" 1L",
        "hydrochloric-acid \"10 % w/w\" 1L",
        "ammonia \"10 % w/w\" 1L",
        "ammonium-alum 500g",
        "sodium-thiosulfate 500g",
        "isopropanol \"70 % w/w\" 500mL",
        "formaldehyde \"37 % w/w\" 250mL",
        "glutaraldehyde \"25 % w/w\" 250mL",
        "copper-sulfate 250g",
        "chloramine-t 100g",
        "sodium-hydroxide 500g",
        "sodium-chloride 1kg",
    ]
    .iter()
    .enumerate()
    {
        let place = ["sill", "top", "low"][number % 3];
        stocks.push(format!("S-{number}"));
        say(&format!("receive {what} --at {place} --code S-{number}"));
    }
    say("audit");
    say("audit --why");
    say("--json audit");
    say("audit --before \"move S-1 sill\"");
    for code in stocks.iter().take(6) {
        say(&format!("move {code} sill --overrule \"to hear it all\""));
    }
    for what in ["swollen", "brittle", "unlabelled"] {
        say(&format!("note S-0 {what}"));
    }
    say("audit --why");
    say("--json audit");
    say("audit --help");
    said.push(("2040".to_owned(), bench.on("2040-01-01", "audit --why").stdout));
    for (line, text) in said {
        let lower = text.to_lowercase();
        for word in ["safe", "guarantee", "harmless"] {
            assert!(!lower.contains(word), "`{word}` in the answer of `{line}`: {text}");
        }
    }
}

#[test]
fn audit_never_carries_what_must_not_be_lifted() {
    let bench = bench(&[CUPBOARD, PORCH]);
    enter(
        &bench,
        &[
            "receive hydrogen-peroxide \"30 % w/w\" 500mL --at cupboard --cap vented",
            &format!("{BLEACH} cupboard"),
            "note HP-1 swollen",
        ],
    );
    // The bleach goes, not the bottle under pressure.
    let answer = audit(&bench);
    let moves = answer["moves"].as_array().unwrap();
    assert!(moves.iter().all(|carry| carry["stock"] == "BL-1") && !moves.is_empty(), "{answer:#}");
    // Its warning on a move of another one names no stranger.
    let said = bench.on(DAY, "move BL-1 porch").ok();
    assert!(!said.contains("swollen"), "{said}");
}

#[test]
fn audit_peroxide_too_strong_for_a_home_is_a_danger_and_stays_closed() {
    let bench = bench(&[CUPBOARD]);
    for (strength, code, dangerous) in [("50 % w/w", "A", false), ("50.1 % w/w", "B", true), ("65 % w/w", "C", true)] {
        let line = format!("receive hydrogen-peroxide \"{strength}\" 500mL --at cupboard --cap vented --code {code}");
        let said = bench.on(DAY, &format!("{line} --condition opened")).ok();
        assert_eq!(said.contains("WARNING danger"), dangerous, "{strength}: {said}");
        let poured = bench.on(DAY, &format!("decant {code} 10mL --water 200mL --container opaque-plastic"));
        assert_eq!(poured.code, if dangerous { 2 } else { 0 }, "{strength}: {poured:?}");
    }
    assert_eq!(finding(&audit(&bench), "above 50 %")["severity"], "danger");
    bench.on(DAY, "discard C").ok();
    let plan = bench.on(DAY, "--json discard C").json();
    assert_eq!(plan["in_no_box"], serde_json::json!(["C"]), "{plan:#}");
}

/// J 20: five kilograms of 65 % calcium hypochlorite are over the 4.5 kg of a fire code's class 3 (facts A4), if the keeper
/// was told that this holds; what is not stronger than 50 % is class 2 there.
#[test]
fn audit_amounts_are_held_against_the_local_rules() {
    let bench = bench(&[CUPBOARD]);
    let rule = "[[store]]\nreagent = \"calcium-hypochlorite\"\nstronger_than = \"50 % w/w\"\nmost = \"4.5 kg\"\n\
                asked = \"the fire authority\"\non = \"2031-01-05\"\n";
    enter(&bench, &["receive calcium-hypochlorite \"65 % w/w\" 4.5kg --at cupboard"]);
    enter(&bench, &["receive calcium-hypochlorite \"50 % w/w\" 5kg --at cupboard"]);
    none(&audit(&bench), "by your local rules");
    std::fs::write(bench.folder().join("local.toml"), rule).unwrap();
    none(&audit(&bench), "by your local rules");
    enter(&bench, &["receive calcium-hypochlorite \"65 % w/w\" 500g --at cupboard --code OVER"]);
    let answer = audit(&bench);
    let found = finding(&answer, "by your local rules");
    assert_eq!((found["severity"].as_str(), codes(found)), (Some("serious"), vec!["CH-1", "OVER"]));
    assert!(found["consequence"].as_str().unwrap().contains("5 kg") && found["source"] == "local-rules", "{found}");
    // A slip in the rules does not silence the rest.
    std::fs::write(bench.folder().join("local.toml"), rule.replace("4.5 kg", "4.5 feet")).unwrap();
    let answer = audit(&bench);
    none(&answer, "by your local rules");
    finding(&answer, "no data sheet");
    assert!(answer["not_looked_at"].to_string().contains("local rules"), "{answer:#}");
}
