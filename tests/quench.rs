//! `quench` as it is typed: every way to end a bath, both sides of every limit, what is refused, and what comes then.

use serde_json::Value;

use crate::harness::Bench;

const DAY: &str = "2027-03-15";

/// A shelf with every neutraliser on it.
fn stocked() -> Bench {
    let bench = Bench::bare();
    bench.on("2026-01-01", "new").ok();
    bench.on("2026-01-01", "place add cupboard --temp 20 --light dark").ok();
    for line in [
        "ascorbic-acid 250g",
        "sodium-thiosulfate 500g",
        "sodium-metabisulfite 250g",
        "potassium-metabisulfite 100g",
        "hydrogen-peroxide \"3 % w/v\" 1L",
    ] {
        bench.on("2027-03-01", &format!("receive {line} --at cupboard")).ok();
    }
    bench
}

fn asked(bench: &Bench, line: &str) -> Value {
    let ran = bench.on(DAY, &format!("--json quench {line}"));
    let answer = ran.json();
    let yes = answer["verdict"] == "can be ended";
    assert_eq!(ran.code, i32::from(!yes), "{line}: {ran:?}");
    for word in ["safe", "guarantee", "harmless"] {
        assert!(!ran.stdout.to_lowercase().contains(word), "{line}: `{word}`: {ran:?}");
    }
    if !yes && answer["verdict"] != "short" {
        for field in ["grams_theory", "grams_planned", "theory_range", "enough_on_shelf", "proof", "minutes"] {
            assert!(answer[field].is_null(), "{line}: {field}: {answer}");
        }
        assert_eq!(answer["doses"].as_array().unwrap().len(), 0, "{line}");
        assert!(!answer["reasons"].as_array().unwrap().is_empty(), "{line}");
    }
    answer
}

fn verdict(bench: &Bench, line: &str) -> String {
    asked(bench, line)["verdict"].as_str().unwrap().to_owned()
}

/// Every line of a field in one text.
fn text(answer: &Value, field: &str) -> String {
    answer[field].as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect::<Vec<_>>().join("\n")
}

#[track_caller]
fn near(found: &Value, expected: f64, relative: f64) {
    let found = found.as_f64().unwrap_or_else(|| panic!("{found} is no number"));
    assert!((found / expected - 1.0).abs() <= relative, "{found} is not {expected}");
}

/// The dose menu of the facts (F5), worked by hand there.
#[test]
fn the_menu_of_the_facts() {
    let bench = stocked();
    let of = |line: &str| asked(&bench, line);
    let weak = of("\"10 mg/L\" --of potassium-permanganate --bath 10L");
    near(&weak["grams_to_destroy"], 0.1, 1e-6);
    near(&weak["grams_theory"], 0.2786, 0.002);
    assert_eq!(weak["neutraliser"], "ascorbic-acid");
    assert_eq!(weak["enough_on_shelf"], true);
    near(&weak["theory_range"]["low"], 0.1672, 0.002);
    near(&of("\"25 mg/L\" --of potassium-permanganate --bath 20L")["grams_theory"], 1.393, 0.002);
    let sulfur = of("\"25 mg/L\" --of potassium-permanganate --bath 20L --with sodium-thiosulfate");
    near(&sulfur["grams_theory"], 0.2945, 0.002);
    near(&sulfur["grams_planned"], 0.3534, 0.002);
    near(&sulfur["theory_range"]["high"], 3.925, 0.002);
    let chlorine = of("\"200 mg/L available chlorine\" --of bleach --bath 20L --with sodium-metabisulfite");
    near(&chlorine["grams_planned"], 5.88, 0.002);
    assert!(text(&chlorine, "assumed").contains("counted as its label says"), "no rate is on file: {chlorine}");
    let thiosulfate = of("\"200 mg/L available chlorine\" --of bleach --bath 20L --with sodium-thiosulfate");
    near(&thiosulfate["theory_range"]["low"], 3.5, 0.002);
    near(&thiosulfate["theory_range"]["high"], 28.0, 0.002);
    near(&thiosulfate["grams_planned"], 29.6, 0.002);
    near(&thiosulfate["left_over_mg_per_l"], 590.0, 0.002);
    assert_eq!(thiosulfate["left_over_as"], "S2O3--");
    let limit = &thiosulfate["left_over_limit"];
    assert_eq!((&limit["example"], &limit["exceeded"]), (&Value::from(true), &Value::from(true)));
}

#[test]
fn a_dip_counts_at_the_high_end_of_its_band() {
    let bench = stocked();
    let answer = asked(&bench, "permanganate-bulletin --bath 10L");
    near(&answer["grams_to_destroy"], 0.125, 1e-6);
    near(&answer["grams_to_destroy_range"]["low"], 0.08, 1e-6);
    near(&answer["grams_planned"], 0.125 * 2.786 * 1.2, 0.002);
    assert_eq!(answer["doses"][0]["stock"], "VC-1");
    assert!(answer["doses"][0]["value"].as_f64() >= answer["grams_planned"].as_f64(), "the low end of its strength");
    assert!(text(&answer, "assumed").contains("12.5 mg/L"));
    assert!(answer["proof"].as_str().unwrap().contains("no pink"));
    assert_eq!((&answer["minutes"]["low"], &answer["minutes"]["high"]), (&Value::from(5.0), &Value::from(30.0)));
    assert!(answer["formed"].as_str().unwrap().contains("vitamin C"));
    assert!(answer["steps"].is_null(), "only with --why");
    let why = asked(&bench, "permanganate-bulletin --bath 10L --why");
    assert!(why["steps"].to_string().contains("2 MnO4- + 5 C6H8O6"), "{why}");
    let page = bench.on(DAY, "quench permanganate-bulletin --bath 10L").ok();
    for line in
        ["verdict: can be ended", "to destroy: 0.10 (0.080–0.12) g", "0.42 g of ascorbic-acid planned [judgement]"]
    {
        assert!(page.contains(line), "`{line}` is missing:\n{page}");
    }
}

#[test]
fn peroxide_on_a_weak_purple_bath_is_measured_from_its_bottle() {
    let answer = asked(&stocked(), "\"10 mg/L\" --of potassium-permanganate --bath 40L --with hydrogen-peroxide");
    near(&answer["grams_planned"], 0.4 * 0.65, 1e-6);
    assert_eq!(answer["doses"][0]["unit"], "mL");
    let poured = answer["doses"][0]["value"].as_f64().unwrap();
    assert!((8.7..12.0).contains(&poured), "8.7 mL of a full 3 %: {answer}");
}

#[test]
fn peroxide_stands_with_nothing_stirred_in() {
    let bench = stocked();
    for line in ["\"15 g/L\" --of hydrogen-peroxide --bath 10L", "\"5 g/L\" --of sodium-percarbonate --bath 10L"] {
        let answer = asked(&bench, line);
        assert_eq!(answer["verdict"], "can be ended");
        for field in ["neutraliser", "grams_theory", "grams_planned", "left_over_mg_per_l"] {
            assert!(answer[field].is_null(), "{field}: {answer}");
        }
        assert_eq!(answer["enough_on_shelf"], true);
        assert!(text(&answer, "then").contains("loose lid"), "it may still make gas: {answer}");
        assert!(answer["minutes"]["low"].as_f64().unwrap() >= 1440.0);
    }
}

#[test]
fn both_sides_of_the_dilute_limits() {
    let bench = stocked();
    for (good, bad) in [
        ("\"0.1 g/L\" --of potassium-permanganate", "\"0.1001 g/L\" --of potassium-permanganate"),
        ("\"2 g/L available chlorine\" --of bleach", "\"2.001 g/L available chlorine\" --of bleach"),
        (
            "\"2 g/L available chlorine\" --of calcium-hypochlorite",
            "\"2.001 g/L available chlorine\" --of calcium-hypochlorite",
        ),
        ("\"2 g/L available chlorine\" --of chloramine-t", "\"8 g/L\" --of chloramine-t"),
        ("\"10 g/L\" --of sodium-percarbonate", "\"10.01 g/L\" --of sodium-percarbonate"),
    ] {
        assert_eq!(verdict(&bench, &format!("{good} --bath 5L")), "can be ended", "{good}");
        let refused = asked(&bench, &format!("{bad} --bath 5L"));
        assert_eq!(refused["verdict"], "refused", "{bad}");
        assert!(text(&refused, "reasons").contains("strongest bath that is ended at home"), "{refused}");
    }
    // Of peroxide the data reach to 30 g/L; its heat refuses from half of that on.
    let of = |strength: &str| asked(&bench, &format!("\"{strength}\" --of hydrogen-peroxide --bath 5L"));
    let strongest = |strength: &str| text(&of(strength), "reasons").contains("30 g/L is the strongest bath");
    assert!(!strongest("3 % w/v") && strongest("30.01 g/L"));
}

#[test]
fn a_bath_just_too_strong_is_thinned_and_asked_about_again() {
    let bench = stocked();
    let refused = asked(&bench, "bleach-robust --bath 10L");
    assert_eq!(refused["verdict"], "refused", "its band ends at 3.2 g/L");
    let next = refused["next_step"].as_str().unwrap();
    assert!(next.contains("--bath 16L"), "10 L × 3.2 / 2: {next}");
    let line = next.split("brimstock quench ").nth(1).unwrap().trim_end_matches('`');
    assert_eq!(verdict(&bench, line), "can be ended", "{line}");
    let stock = asked(&bench, "\"50 g/L available chlorine\" --of bleach --bath 1L");
    assert!(!stock["next_step"].as_str().unwrap().contains("water"), "nobody is told to thin a bottle: {stock}");
}

/// 10 K × 4.18 / 11.1 kJ/g is 3.766 g/L with a sulfite; by itself 10 × 4.18 / 2.78 is 15.04 g/L.
#[test]
fn both_sides_of_ten_kelvin() {
    let bench = stocked();
    let with = |strength: &str| {
        asked(&bench, &format!("\"{strength} g/L\" --of hydrogen-peroxide --bath 5L --with sodium-metabisulfite"))
    };
    let (cool, warm) = (with("3.76"), with("3.77"));
    assert!(cool["heat_rise_k"].as_f64().unwrap() < 10.0 && !text(&cool, "reasons").contains("10 K is the most"));
    assert!(warm["heat_rise_k"].as_f64().unwrap() > 10.0 && text(&warm, "reasons").contains("10 K is the most"));
    assert!(text(&warm, "reasons").contains("thinned with water to about 3.7 g/L"), "{warm}");
    assert_eq!((&cool["verdict"], &warm["verdict"]), (&"refused".into(), &"refused".into()), "told, not planned");
    let hot = with("30");
    near(&hot["heat_rise_k"], 80.0, 0.03);
    let alone = |strength: &str| asked(&bench, &format!("\"{strength} g/L\" --of hydrogen-peroxide --bath 5L"));
    let (cool, warm) = (alone("15.03"), alone("15.05"));
    assert_eq!((&cool["verdict"], &warm["verdict"]), (&"can be ended".into(), &"refused".into()), "{warm}");
    assert!(text(&warm, "reasons").contains("10 K is the most here; thinned with water to about 15 g/L"), "{warm}");
    near(&alone("30")["heat_rise_k"], 20.0, 0.03);
    // The way out is typed as it is told, for a dip of the book and beyond the data's own limit.
    for line in ["peroxide-strong --bath 10L", "\"40 g/L\" --of hydrogen-peroxide --bath 3L"] {
        let next = asked(&bench, line)["next_step"].as_str().unwrap().to_owned();
        let told = next.split("brimstock quench ").nth(1).unwrap().trim_end_matches('`').to_owned();
        assert_eq!(verdict(&bench, &told), "can be ended", "{line}: {next}");
    }
    let hot = asked(&bench, "\"61 g/L\" --of hydrogen-peroxide --bath 3L");
    assert!(!hot["next_step"].as_str().unwrap().contains("water"), "a bottle is not talked into a bath: {hot}");
}

#[test]
fn a_large_standing_bath_goes_into_tubs() {
    let bench = stocked();
    let then = |line: &str| text(&asked(&bench, line), "then");
    let tubs = "in tubs of ten litres, not in one";
    assert!(!then("\"5 g/L\" --of hydrogen-peroxide --bath 10L").contains(tubs));
    assert!(then("\"5 g/L\" --of hydrogen-peroxide --bath 10.1L").contains(tubs));
    assert!(!then("\"10 mg/L\" --of potassium-permanganate --bath 40L").contains(tubs), "it is stirred, and lukewarm");
    let thinned = asked(&bench, "\"20 g/L\" --of hydrogen-peroxide --bath 10L");
    assert!(thinned["next_step"].as_str().unwrap().contains(tubs), "{thinned}");
}

#[test]
fn a_name_that_is_almost_a_sulfite_is_a_hard_stop() {
    let bench = stocked();
    let baths = ["\"200 mg/L\" --of bleach", "\"10 mg/L\" --of potassium-permanganate", "bleach-gear"];
    let words = [
        "sodium-bisulfate",
        "bisulfate",
        "metabisulfate",
        "sodium metabisulphate",
        "Bisulphate",
        "NaHSO4",
        "dry acid",
        "pH minus",
    ];
    for (word, bath) in words.iter().zip(baths.iter().cycle()) {
        let answer = asked(&bench, &format!("{bath} --bath 20L --with \"{word}\""));
        assert_eq!(answer["verdict"], "refused", "{word}");
        let why = text(&answer, "reasons");
        assert!(why.contains("acid") && why.contains("chlorine") && why.contains("ulf-a-te"), "{word}: {why}");
        assert!(answer["neutraliser"].is_null(), "{word}");
    }
    // Nor does any other command offer the sulfite for it.
    bench.on(DAY, "receive sodium-bisulfate 500g --at cupboard").fails(2, &["bisulfate", "acid", "chlorine"]);
    bench.on(DAY, "quench \"1 g/L\" --of bisulfate --bath 1L").fails(2, &["bisulfate", "acid"]);
}

#[test]
fn what_was_seen_in_the_wild_is_refused() {
    let bench = stocked();
    for (line, says) in [
        ("\"200 mg/L\" --of bleach --bath 20L --with hydrochloric-acid", "Chlorine gas"),
        ("\"10 mg/L\" --of potassium-permanganate --bath 20L --with hydrochloric-acid", "no reaction on file"),
        ("\"3 % w/v\" --of hydrogen-peroxide --bath 5L --with acetic-acid", "no reaction on file"),
        ("\"10 mg/L\" --of potassium-permanganate --bath 20L --with citric-acid", "no reaction on file"),
        ("\"200 mg/L\" --of bleach --bath 20L --with ammonia", "no reaction on file"),
        ("\"200 mg/L\" --of bleach --bath 20L --with hydrogen-peroxide", "to be known, not to be done"),
        ("\"3 % w/v\" --of hydrogen-peroxide --bath 5L --with sodium-thiosulfate", "to be known, not to be done"),
        ("\"20 g/L\" --of potassium-permanganate --bath 1L --with hydrogen-peroxide", "0.1 g/L is the strongest"),
        ("\"35 % w/w\" --of hydrogen-peroxide --bath 1L", "30 g/L is the strongest"),
        ("\"35 % w/w\" --of hydrogen-peroxide --bath 1L --with sodium-metabisulfite", "30 g/L is the strongest"),
    ] {
        let answer = asked(&bench, line);
        assert_eq!(answer["verdict"], "refused", "{line}");
        assert!(text(&answer, "reasons").contains(says), "{line}: {answer}");
        let page = bench.on(DAY, &format!("quench {line} --why"));
        assert_eq!(page.code, 1);
        assert!(!page.stdout.contains("stir in:") && !page.stdout.contains("planned:"), "{line}:\n{}", page.stdout);
    }
}

#[test]
fn what_nothing_ends_is_said_to_be_so() {
    let bench = Bench::bare();
    for line in [
        "salt-gear --bath 10L",
        "alum-soak --bath 10L",
        "\"5 %\" --of vinegar --bath 1L",
        "\"4 %\" --of formaldehyde --bath 1L",
    ] {
        assert_eq!(verdict(&bench, line), "untreatable", "{line}");
    }
    let copper = asked(&bench, "\"1 g/L\" --of copper-sulfate --bath 10L");
    assert_eq!(copper["verdict"], "untreatable");
    let then = text(&copper, "then");
    assert!(then.contains("no drain") && then.contains("hazardous-waste site"), "{then}");
    assert!(text(&copper, "reasons").contains("thinning only spreads it"));
    // Not even with an answer on record, which somewhere is 8 mg/L.
    let answered = stocked();
    record(&answered, "copper-sulfate", true, "8 mg/L");
    let copper = asked(&answered, "\"1 g/L\" --of copper-sulfate --bath 10L");
    assert!(!text(&copper, "then").contains("allowed"), "{copper}");
}

#[test]
fn too_little_on_the_shelf_is_short_and_says_how_far_it_goes() {
    let bench = stocked();
    let line = "\"2 g/L available chlorine\" --of bleach --bath 100L";
    let short = asked(&bench, line);
    assert_eq!(short["verdict"], "short");
    assert_eq!(short["enough_on_shelf"], false);
    near(&short["grams_planned"], 200.0 * 2.484 * 1.1, 0.002);
    let held = short["grams_on_shelf"].as_f64().unwrap();
    assert!((235.0..=250.0).contains(&held), "the low end of 250 g: {held}");
    near(&short["grams_missing"], short["grams_planned"].as_f64().unwrap() - held, 1e-4);
    near(&short["largest_bath_l"], 100.0 * held / short["grams_planned"].as_f64().unwrap(), 1e-4);
    let smaller = line.replace("100L", &format!("{}L", short["largest_bath_l"].as_f64().unwrap() - 0.1));
    assert_eq!(verdict(&bench, &smaller), "can be ended");
    let other =
        asked(&bench, "\"200 mg/L available chlorine\" --of bleach --bath 100L --with potassium-metabisulfite --why");
    assert_eq!(other["verdict"], "can be ended", "100 g, 29.5 needed: {other}");
    // Without a register nothing counts as held, and no error is made of it.
    let bare = asked(&Bench::bare(), "\"10 mg/L\" --of potassium-permanganate --bath 10L");
    assert_eq!(bare["verdict"], "short");
    assert!(text(&bare, "assumed").contains("no register"));
}

#[test]
fn another_neutraliser_is_told_and_never_taken() {
    let bench = Bench::new();
    bench.on("2030-02-01", "receive sodium-thiosulfate 500g --at cupboard").ok();
    let ran = bench.on("2030-02-02", "--json quench \"10 mg/L\" --of potassium-permanganate --bath 10L");
    let answer = ran.json();
    assert_eq!((ran.code, &answer["verdict"]), (1, &"short".into()));
    assert!(text(&answer, "reasons").contains("--with sodium-thiosulfate"), "{answer}");
    assert_eq!(answer["doses"].as_array().unwrap().len(), 0);
}

#[test]
fn what_is_held_does_not_count_and_several_stocks_go_together() {
    let bench = Bench::new();
    bench.on("2030-02-01", "receive ascorbic-acid 5g --at cupboard").ok();
    bench.on("2030-02-02", "receive ascorbic-acid 5g --at cupboard").ok();
    bench.on("2030-02-03", "receive ascorbic-acid 50g --at cupboard --hold \"yellow lumps\"").ok();
    let at = |bath: &str| {
        bench.on("2030-03-01", &format!("--json quench \"100 mg/L\" --of potassium-permanganate --bath {bath}")).json()
    };
    let both = at("25L");
    assert_eq!(both["verdict"], "can be ended", "8.4 g planned: {both}");
    let stocks: Vec<&str> =
        both["doses"].as_array().unwrap().iter().map(|dose| dose["stock"].as_str().unwrap()).collect();
    assert_eq!(stocks, ["VC-1", "VC-2"]);
    let more = at("40L");
    assert_eq!(more["verdict"], "short");
    assert!(text(&more, "assumed").contains("yellow lumps"));
}

/// Writes one answer about a drain into the keeper's file.
fn record(bench: &Bench, reagent: &str, allowed: bool, most: &str) {
    let path = bench.folder().join("local.toml");
    let before = std::fs::read_to_string(&path).unwrap_or_default();
    let row = format!(
        "[[drain]]\nreagent = \"{reagent}\"\ninto = \"sewer\"\nallowed = {allowed}\nmost = \"{most}\"\nasked = \"Marsh Water\"\non = \"2027-02-03\"\nanswer = \"as told by letter\"\n"
    );
    std::fs::write(path, before + &row).unwrap();
}

#[test]
fn no_drain_is_named_without_an_answer_on_record() {
    let bench = stocked();
    let line = "\"200 mg/L available chlorine\" --of bleach --bath 20L --with sodium-thiosulfate";
    let then = text(&asked(&bench, line), "then");
    assert!(then.contains("no answer on record: keep it closed in a bucket and ask"), "{then}");
    assert!(then.contains("the plan ends at the household hazardous-waste site"), "{then}");
    record(&bench, "sodium-hypochlorite", true, "1 mg/L");
    record(&bench, "sodium-thiosulfate", true, "600 mg/L");
    let answer = asked(&bench, line);
    let then = text(&answer, "then");
    assert!(!then.contains("no answer on record"), "{then}");
    for word in ["Marsh Water", "2027-02-03", "as told by letter", "sewer: allowed, at most 1 mg/L", "septic tank"] {
        assert!(then.contains(word), "`{word}` is missing: {then}");
    }
    let limit = &answer["left_over_limit"];
    assert_eq!((&limit["mg_per_l"], &limit["example"]), (&600.0.into(), &false.into()), "the keeper's own comes first");
    assert_eq!(limit["exceeded"], false);
    // A refused bath gets none of it.
    let refused = text(&asked(&bench, "\"3 g/L available chlorine\" --of bleach --bath 20L"), "then");
    assert!(!refused.contains("Marsh Water") && refused.contains("no drain"), "{refused}");
}

/// Two years to the day are not older; a day to come is no answer yet.
#[test]
fn an_old_answer_is_marked_where_it_is_used() {
    let bench = stocked();
    record(&bench, "potassium-permanganate", true, "5 mg/L");
    let then = |day: &str| {
        let line = "--json quench \"10 mg/L\" --of potassium-permanganate --bath 10L";
        text(&bench.on(day, line).json(), "then")
    };
    let mark = "[check: asked on 2027-02-03]";
    assert!(!then("2027-03-01").contains("[check"), "{}", then("2027-03-01"));
    assert!(!then("2029-02-03").contains(mark));
    assert!(then("2029-02-04").contains(mark), "{}", then("2029-02-04"));
    assert!(then("2027-02-02").contains(mark), "asked tomorrow: {}", then("2027-02-02"));
}

#[test]
fn a_no_on_record_ends_at_whoever_takes_it() {
    let bench = stocked();
    record(&bench, "potassium-permanganate", false, "5 mg/L");
    let path = bench.folder().join("local.toml");
    let taker = "[[takes]]\nwho = \"Yard at Dyke Lane\"\nclasses = [\"all\"]\nphone = \"555 0199\"\nasked = \"the yard\"\non = \"2027-02-04\"\n";
    std::fs::write(&path, std::fs::read_to_string(&path).unwrap() + taker).unwrap();
    let then = text(&asked(&bench, "\"10 mg/L\" --of potassium-permanganate --bath 10L"), "then");
    for word in ["not allowed", "the plan ends at Yard at Dyke Lane, 555 0199"] {
        assert!(then.contains(word), "`{word}` is missing: {then}");
    }
    std::fs::write(&path, "[[drain]]\nreagent = \"bleach\"\n").unwrap();
    bench.on(DAY, "quench permanganate-bulletin --bath 10L").fails(3, &["local.toml", "drain[1]"]);
}

#[test]
fn a_rule_past_its_day_says_so() {
    let bench = stocked();
    let on = |day: &str| bench.on(day, "quench permanganate-bulletin --bath 10L").ok();
    assert!(!on("2028-11-30").contains("[check:"));
    assert!(on("2028-12-01").contains("[check: due for review since 2028-11-30]"));
    let late = bench.on("2029-01-01", "--json quench permanganate-bulletin --bath 10L").json();
    assert_eq!(late["due_for_review_since"], "2028-11-30");
}

#[test]
fn recalled_figures_are_marked() {
    let bench = stocked();
    let page =
        bench.on(DAY, "quench \"10 mg/L\" --of potassium-permanganate --bath 10L --with sodium-metabisulfite").ok();
    assert!(page.contains("[memory]") && page.contains("[judgement]"), "{page}");
    let answer = asked(&bench, "\"200 mg/L\" --of chloramine-t --bath 10L");
    assert!(text(&answer, "cautions").contains("[memory]"), "{answer}");
    assert!(text(&answer, "assumed").contains("0.252 g of available chlorine in a gram"), "{answer}");
}

#[test]
fn a_spooned_bath_counts_at_its_high_end() {
    let answer = asked(&stocked(), "\"1 tsp/100 L\" --of potassium-permanganate --bath 10L");
    let range = &answer["grams_to_destroy_range"];
    assert!(range["low"].as_f64().unwrap() < range["high"].as_f64().unwrap(), "{answer}");
    assert_eq!(answer["grams_to_destroy"], range["high"]);
}

#[test]
fn bad_input_says_what_would_do() {
    let bench = stocked();
    for (line, words) in [
        ("\"10 mg/L\" --bath 10L", &["of what?", "--of"][..]),
        ("\"10 furlong\" --of bleach --bath 10L", &["stopped at `furlong`"]),
        ("\"-10 mg/L\" --of bleach --bath 10L", &["above 0"]),
        ("\"0 mg/L\" --of bleach --bath 10L", &["above 0"]),
        ("\"10 mg/L\" --of bleach --bath -10L", &["above 0"]),
        ("\"10 mg/L\" --of bleach --bath 10kg", &["that is a mass"]),
        ("\"10 mg/L\" --of bleach --bath 10", &["unit is missing"]),
        ("\"10 mg/L\" --of blech --bath 10L", &["no reagent `blech`"]),
        ("\"10 mg/L\" --of bleach --bath 10L --with nothing", &["no reagent `nothing`"]),
        ("\"10 mg/L\" --of bleach --bath 10L --with metabisulfite", &["several reagents"]),
        ("\"10 mg/L available chlorine\" --of potassium-permanganate --bath 10L", &["does not apply"]),
        ("permanganate-buletin --bath 10L", &["did you mean `permanganate-bulletin`"]),
        ("permanganate-bulletin --of bleach --bath 10L", &["made with potassium-permanganate"]),
        ("permanganate-bulletin", &["--bath"]),
    ] {
        bench.on(DAY, &format!("quench {line}")).fails(2, words);
    }
    assert_eq!(verdict(&bench, "permanganate-bulletin --of potassium-permanganate --bath 10L"), "can be ended");
}
