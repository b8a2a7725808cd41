//! The `bench` card against what `dose`, `quench` and `classify` say.

use super::{card, tool};
use crate::harness::Bench;

const DAY: &str = "2031-03-06";

/// Words of a statement, filled as on the card.
fn words(statements: &serde_json::Value, language: &str) -> Vec<String> {
    let field = if language == "es" { "text_es" } else { "text" };
    statements.as_array().unwrap().iter().map(|row| row[field].as_str().unwrap().to_owned()).collect()
}

#[test]
fn it_says_what_dose_and_classify_say() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "bench permanganate-bulletin --bath 10L");
    let dose = bench.on(DAY, "--json dose permanganate-bulletin --bath 10L").json();
    assert_eq!(dose["verdict"], "ready");
    let amount = &dose["doses"][0];
    assert_eq!((amount["stock"].as_str(), amount["value"].as_f64()), (Some("S11"), Some(2.6)));
    let bath = bench.on(DAY, "--json classify --bath permanganate-bulletin").json();
    let bottle = bench.on(DAY, "--json classify S11").json();
    assert_eq!(bath["pictograms"], serde_json::json!([]));
    assert_eq!(bottle["signal_word"], "Danger");
    paper.says(&["S11", "2.6 mL", "10 mL syringe", "30 min", "≈ over 99 %", "IN THE BOTTLE S11", "DANGER"]);
    paper.says(&words(&bottle["hazard_statements"], "en").iter().map(String::as_str).collect::<Vec<_>>());
    paper.says(&["no hazard class", "Started at", "Stopped at", "pH", "Lot", "Done by", "Reading after the stop"]);
    assert!(!paper.words().contains("NOT READY"));
}

#[test]
fn the_bath_is_classified_and_not_the_bottle() {
    let bench = Bench::demo();
    for (language, signal) in [("en", "DANGER"), ("es", "PELIGRO")] {
        let text = card(&bench, DAY, &format!("bench bleach-robust --bath 8L --lang {language}")).words();
        let bath = bench.on(DAY, "--json classify --bath bleach-robust").json();
        let bottle = bench.on(DAY, "--json classify S05").json();
        assert_eq!(bath["signal_word"], serde_json::Value::Null);
        let statements = [words(&bath["hazard_statements"], language), words(&bottle["hazard_statements"], language)];
        for statement in statements.iter().flatten() {
            assert!(text.contains(statement.as_str()), "{statement}: {text}");
        }
        // The only signal word is that of the bottle, and it stands beside its statements.
        assert_eq!(text.matches(signal).count(), 1, "{text}");
        assert!(text.contains(&format!("{signal} {}", statements[1][0])), "{text}");
    }
}

#[test]
fn a_bath_that_is_not_ready_says_so_in_the_language_of_the_card() {
    let bench = Bench::demo();
    // By `quench`, which counts the upper end of the band, 6.5 L can be ended and 6.6 L cannot; by `dose` 8 L can.
    assert!(!card(&bench, DAY, "bench bleach-robust --bath 6.5L").words().contains("NOT READY"));
    let short = card(&bench, DAY, "bench bleach-robust --bath 6.6L");
    short.says(&["NOT READY: short", "made and stopped is 6.5 L", "Get more before you begin"]);
    let pages = tool("pdftotext", &["-f", "2", short.path.to_str().unwrap(), "-"]);
    let heads = pages.matches("NOT READY: short · Bleach dip").count();
    assert_eq!(heads, short.pages - 1, "on every page that could be taken alone: {pages}");
    let text = card(&bench, DAY, "bench peroxide-strong --bath 10L --lang es").words();
    assert!(text.contains("NO ESTÁ LISTO: medir antes la concentración"), "{text}");
    assert!(text.contains("≈ 66 %") && !text.contains("there are about"), "{text}");
}

#[test]
fn a_card_of_a_bath_that_is_not_ready_exits_as_dose_does() {
    let bench = Bench::demo();
    for (line, code) in
        [("permanganate-bulletin --bath 10L", 0), ("peroxide-strong --bath 10L", 1), ("peroxide-weak --bath 900L", 1)]
    {
        let verdict = bench.on(DAY, &format!("--json dose {line}"));
        assert_eq!(verdict.code, code, "{verdict:?}");
        let drawn = bench.on(DAY, &format!("--json card bench {line} --out card.pdf --force"));
        assert_eq!(drawn.code, code, "{drawn:?}");
        assert!(bench.folder().join("card.pdf").is_file(), "it is written all the same");
        let told = drawn.json();
        match code {
            0 => assert_eq!(told["not_ready"], serde_json::Value::Null),
            _ => assert_eq!(told["not_ready"][0]["verdict"], verdict.json()["verdict"]),
        }
        let said = bench.on(DAY, &format!("card bench {line} --out card.pdf --force"));
        assert_eq!(said.stdout.contains("is not ready: "), code == 1, "{said:?}");
    }
    // One of several is enough; what no other card says is no reason.
    let both = bench.on(DAY, "--json card bench permanganate-bulletin peroxide-strong --bath 10L --out both.pdf");
    assert_eq!((both.code, both.json()["not_ready"].as_array().unwrap().len()), (1, 1));
    bench.on(DAY, "card spill hydrogen-peroxide --out spill.pdf").ok();
}

#[test]
fn without_stock_it_is_a_general_card_with_lines_to_fill_in() {
    let bench = Bench::new();
    let paper = card(&bench, "2031-03-06", "bench alum-soak --bath 10L");
    paper.says(&["NOT READY: short", "Wanted: 4.0 g/L, that is 40 g of the pure reagent in 10 L", "Bottle", "Amount"]);
    paper.says(&[
        "Nothing of it that could be used stands on the shelf",
        "Water into the tub, not quite 10 L",
        "24–48 h",
    ]);
    let paper = card(&bench, "2031-03-06", "bench bleach-gear --bath 10L --lang es");
    paper.says(&["NO ESTÁ LISTO: no alcanza", "no está lo que detiene este baño"]);
}

#[test]
fn too_strong_a_bath_is_thinned_before_anything_is_stirred_in() {
    let bench = Bench::demo();
    let strong = bench.on(DAY, "--json quench bleach-robust --bath 5L --with sodium-thiosulfate").json();
    assert_eq!(strong["verdict"], "refused");
    let thinned = "quench \"2 g/L available chlorine\" --of sodium-hypochlorite --bath 8L --with sodium-thiosulfate";
    let thinned = bench.on(DAY, &format!("--json {thinned}")).json();
    assert_eq!(thinned["verdict"], "can be ended", "{thinned}");
    let paper = card(&bench, DAY, "bench bleach-robust --bath 5L");
    paper.says(&["up with water to 8 L in a larger tub: 2 g/L available chlorine at the most", "S13", "120 g"]);
    paper.says(&["A chlorine strip in the stirred bath reads 0, and again 0 after five minutes."]);
    // A weak one is not thinned.
    let weak = card(&bench, DAY, "bench bleach-gear --bath 5L").words();
    assert!(!weak.contains("Fill it up") && weak.contains("Gear in"), "{weak}");
}

#[test]
fn what_cannot_be_ended_in_full_is_said_before_the_first_step() {
    let bench = Bench::demo();
    let text = card(&bench, DAY, "bench bleach-robust --bath 8L").words();
    let short = text.find("Get more before you begin").expect("190 g are planned, 150 g are there for certain");
    assert!(short < text.find("Put on").unwrap(), "{text}");
    assert!(!card(&bench, DAY, "bench bleach-robust --bath 5L").words().contains("Get more before"));
}

#[test]
fn a_drain_is_named_only_as_it_was_answered() {
    let bench = Bench::demo();
    let rule = |allowed: bool, on: &str| {
        let text = format!(
            "[[drain]]\nreagent = \"potassium-alum\"\ninto = \"the jetty sewer\"\nallowed = {allowed}\nmost = \"5 mg/L\"\n\
             asked = \"the water board\"\non = \"{on}\"\nanswer = \"weak ones\"\n"
        );
        std::fs::write(bench.folder().join("local.toml"), text).unwrap();
        card(&bench, DAY, "bench alum-soak --bath 10L").words()
    };
    let silent = card(&bench, DAY, "bench alum-soak --bath 10L").words();
    assert!(silent.contains("ask the water or sewer company first") && !silent.contains("ALLOWED"), "{silent}");
    let yes = rule(true, "2030-01-01");
    assert!(yes.contains("the jetty sewer: ALLOWED (the water board, 2030-01-01)"), "{yes}");
    assert!(
        yes.contains("At most 5 mg/L") && !yes.contains("ask again first") && !yes.contains("Who takes it"),
        "{yes}"
    );
    let no = rule(false, "2030-01-01");
    assert!(no.contains("NOT ALLOWED (the water board") && no.contains("Who takes it"), "{no}");
    assert!(rule(true, "2029-03-05").contains("ask again first"));
    assert!(!rule(true, "2029-03-06").contains("ask again first"));
    // A bath that falls apart by itself is not closed up.
    assert!(card(&bench, DAY, "bench peroxide-weak --bath 10L").words().contains("under a loose lid"));
}

#[test]
fn the_keepers_kitchen_stands_in_brackets() {
    let bench = Bench::demo();
    let text = card(&bench, DAY, "bench peroxide-weak --bath 10L").words();
    assert!(!text.contains("US gal"), "{text}");
    bench.on(DAY, "set kitchen us").ok();
    // 10 L / 3.785 = 2.64; 139 mL / 29.57 = 4.7.
    card(&bench, DAY, "bench peroxide-weak --bath 10L").says(&["10 L (2.6 US gal)", "139 mL (4.7 US fl oz)"]);
    // 3.7 L are less than a gallon: 125 fl oz, two figures.
    card(&bench, DAY, "bench peroxide-weak --bath 3.7L").says(&["3.7 L (130 US fl oz)"]);
    bench.on(DAY, "set kitchen imperial").ok();
    // 10 / 4.546 = 2.2; a syringe of 2.6 mL is under a quarter of an ounce.
    let text = card(&bench, DAY, "bench permanganate-bulletin --bath 10L").words();
    assert!(text.contains("10 L (2.2 imp gal)") && text.contains("2.6 mL 10 mL syringe"), "{text}");
}

#[test]
fn times_are_in_the_unit_that_a_timer_is_set_in() {
    let bench = Bench::demo();
    let time = |dip: &str| card(&bench, DAY, &format!("bench {dip} --bath 5L --lang es")).words();
    assert!(time("bleach-fine-leaved").contains("2 min = 120 s"));
    assert!(time("peroxide-weak").contains("5–10 min = 300–600 s"));
    assert!(time("salt-flash").contains("15–20 s"));
    let half_an_hour = time("permanganate-bulletin");
    assert!(half_an_hour.contains("30 min") && !half_an_hour.contains("1800 s"));
}

#[test]
fn every_dip_is_printed_in_both_languages() {
    let bench = Bench::demo();
    let book = bench.on(DAY, "--json dips").json();
    let dips: Vec<&str> = book["dips"].as_array().unwrap().iter().map(|dip| dip["dip"].as_str().unwrap()).collect();
    assert!(dips.len() > 15, "{book}");
    let all = dips.join(" ");
    for language in ["en", "es"] {
        let text = card(&bench, DAY, &format!("bench {all} --bath 10L --lang {language}")).words();
        assert!(!text.contains("bench."), "a key without a phrase: {text}");
        for known in ["snail-free", "guaranteed", "garantiza", "libre de caracoles"] {
            assert!(!text.to_lowercase().contains(known), "{known}");
        }
    }
    // A tank is not emptied, thinned or stirred into.
    let tank = card(&bench, DAY, "bench peroxide-tank-spot --bath 100L").words();
    assert!(tank.contains("Pump off") && !tank.contains("Plants in") && !tank.contains("End the bath"), "{tank}");
}

#[test]
fn the_bath_is_asked_for_and_unknown_dips_are_told_of() {
    let bench = Bench::demo();
    bench.on(DAY, "card bench alum-soak").fails(2, &["how large is the bath", "--bath 10L"]);
    bench.on(DAY, "card bench alum-soke --bath 10L").fails(2, &["alum-soke", "alum-soak"]);
    bench.on(DAY, "card bench alum-soak --bath plenty").fails(2, &["plenty"]);
    bench.on(DAY, "card bench --bath 10L").fails(2, &["card bench alum-soak"]);
}

#[test]
fn the_same_question_gives_the_same_bytes_on_every_paper() {
    let bench = Bench::demo();
    for paper in ["a4", "a5", "a6", "letter"] {
        let line = format!("bench bleach-robust --bath 10L --paper {paper}");
        let printed = card(&bench, DAY, &line);
        printed.says(&["3 min", "= 180 s", "NOT READY", "What it is NOT shown to do"]);
        let first = printed.bytes();
        assert_eq!(first, card(&bench, DAY, &line).bytes(), "{paper}");
    }
}

/// A porch at 10 °C with alum and permanganate, and measures of the keeper's.
fn with_measures(measures: &[&str]) -> Bench {
    let bench = Bench::bare();
    bench.on("2031-03-01", "new").ok();
    for line in [
        "place add porch --temp 10 --light dark",
        "receive potassium-alum 1kg --at porch",
        "receive potassium-permanganate \"98 %\" 240g --at porch",
    ] {
        bench.on("2031-03-01", line).ok();
    }
    for line in measures {
        bench.on("2031-03-02", &format!("measure {line}")).ok();
    }
    bench
}

#[test]
fn an_own_measure_stands_where_the_usual_tool_would() {
    let bench = with_measures(&["add tbsp spoon 15mL", "weigh tbsp --of potassium-alum 13.8g"]);
    let dose = bench.on(DAY, "--json dose alum-soak --bath 10L").json();
    // 4 g/L of 99 % in 10 L are 40.4 g: three spoons of 13.8 g.
    assert_eq!(
        (&dose["doses"][0]["own"][0]["measure"], &dose["doses"][0]["own"][0]["count"]),
        (&"tbsp".into(), &3.0.into())
    );
    for (language, spoons) in [("en", "tbsp: 3 level spoons"), ("es", "tbsp: 3 cucharadas rasas")] {
        let text = card(&bench, DAY, &format!("bench alum-soak --bath 10L --lang {language}")).words();
        assert!(text.contains(spoons) && text.contains("PA-1 41"), "{text}");
        assert!(!text.contains("0.01 g") && !text.contains("0,01 g"), "{text}");
    }
    // Eight marks are too few and said to be; of a finer scale there are enough.
    for (step, coarse) in [("5g", true), ("0.1g", false)] {
        let bench = with_measures(&[&format!("add pan scale --step {step}")]);
        for (language, shows, words) in
            [("en", "pan shows 40", "Too little to measure"), ("es", "pan marca 40", "Demasiado poco para medirlo")]
        {
            let text = card(&bench, DAY, &format!("bench alum-soak --bath 10L --lang {language}")).words();
            assert!(text.contains(shows) && text.contains(words) == coarse, "{step}: {text}");
        }
    }
}

#[test]
fn a_stock_solution_is_made_before_any_of_it_is_taken() {
    let bench = with_measures(&[
        "add kitchen scale --step 1g --most 5kg",
        "add s10 syringe 10mL --step 0.2mL",
        "add litre jug 1L --step 10mL",
    ]);
    // 0.102 g of 98 % on a scale of 1 g: 10 g in 500 mL are 20 g/L, of which 5.1 mL are wanted, 5.2 mL the nearest mark.
    let dose = bench.on(DAY, "--json dose permanganate-bulletin --bath 10L").json();
    assert_eq!(dose["doses"][0]["stock_solution"]["take_ml"], 5.2);
    let english = [
        "Make a stock solution first: 10 g of PP-1 (kitchen shows 10 g), made up with water to 500 mL (litre shows 500 mL)",
        "That is 20 g/L: label it so",
        "s10 shows 5.2 mL",
        "Too little to measure straight from the bottle",
    ];
    let spanish = [
        "Preparar antes una disolución madre: 10 g de PP-1 (kitchen marca 10 g), completar con agua hasta 500 mL (litre marca 500 mL)",
        "Son 20 g/L: etiquetarla así",
        "s10 marca 5,2 mL",
        "Demasiado poco para medirlo directamente",
    ];
    for (language, [made, label, taken, coarse]) in [("en", english), ("es", spanish)] {
        let text = card(&bench, DAY, &format!("bench permanganate-bulletin --bath 10L --lang {language}")).words();
        let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("`{words}` is missing: {text}"));
        assert!(at(made) < at(label) && at(label) < at(taken), "{text}");
        assert!(!text.contains(coarse) && !text.contains("0.104 g") && !text.contains("0,104 g"), "{text}");
    }
}

/// A dip of several baths: the card is that of the first, and says which follow it and what they take.
#[test]
fn the_baths_that_follow_are_named_with_their_amounts() {
    let bench = Bench::demo();
    assert!(!card(&bench, DAY, "bench alum-soak --bath 10L").words().contains("several baths"));
    bench.on(DAY, "dips revise alum-soak --steps \"rinse 2, dip permanganate-bulletin, look 7\" --because tried").ok();
    let dose = bench.on(DAY, "--json dose permanganate-bulletin --bath 10L").json();
    let amount = &dose["doses"][0];
    assert_eq!((amount["stock"].as_str(), amount["value"].as_f64()), (Some("S11"), Some(2.6)));
    let paper = card(&bench, DAY, "bench alum-soak --bath 10L");
    paper.says(&["First of several baths", "(S11 2.6 mL)", "print one for each of the others too"]);
    let text = card(&bench, DAY, "bench alum-soak --bath 10L --lang es").words();
    assert!(text.contains("Primero de varios baños") && text.contains("(S11 2,6 mL)"), "{text}");
}
