//! Whole commands, every path a keeper can take, and the answers' machine fields.

use crate::harness::Bench;

/// One bottle of 3 % peroxide in the cupboard since the first of March.
fn with_peroxide() -> Bench {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
    bench
}

#[test]
fn receive_gives_a_code_and_says_what_it_assumed() {
    let bench = Bench::new();
    let said = bench.on("2031-03-01", "receive peroxide 3% 500ml --at cupboard").ok();
    assert!(said.contains("HP-1: hydrogen peroxide solution, 3 % w/v, 500 mL, at cupboard"), "{said}");
    assert!(said.contains("3 % read as % w/v") && said.contains("came sealed"), "{said}");
    let said = bench.on("2031-03-01", "receive hydrogen-peroxide 35% 1L --at cupboard").ok();
    assert!(said.contains("HP-2") && said.contains("35 % w/w"), "{said}");
}

#[test]
fn a_solid_may_come_by_weight_by_spoon_or_as_its_solution() {
    let bench = Bench::new();
    let answer = bench.on("2031-03-01", "--json receive sodium-chloride 25kg --at cupboard").json();
    assert_eq!((answer["left"]["value"].as_f64(), answer["left"]["unit"].as_str()), (Some(25_000.0), Some("g")));
    let answer = bench.on("2031-03-01", "--json receive potassium-alum \"2 tbsp-us\" --at cupboard").json();
    assert_eq!(answer["left"]["unit"], "g");
    let answer = bench.on("2031-03-01", "--json receive potassium-permanganate \"20 g/L\" 1L --at cupboard").json();
    assert_eq!(answer["left"]["unit"], "mL");
    assert!(answer["assumed"].to_string().contains("made up here"));
    bench.on("2031-03-01", "receive hydrogen-peroxide \"1:3 of 12 % w/w\" 1L --at cupboard --condition made-up").ok();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"35 % w/w\" 1kg --at cupboard").ok();
}

/// 96 and 70 % by volume of ethanol are 93.8 and 62.4 % by weight in the official tables; isopropanol's 70 are 62.8.
#[test]
fn strengths_as_labels_of_spirit_have_them() {
    let bench = Bench::new();
    let received = |line: &str| bench.on("2031-03-01", &format!("receive {line} --at cupboard")).ok();
    let said = received("ethanol \"96 % v/v\" 1L");
    assert!(
        said.contains("96 % v/v") && said.contains("mL of the pure liquid in 100 mL") && said.contains("93."),
        "{said}"
    );
    let by_weight = |reagent: &str, percent: f64| {
        let answer = bench.on("2031-03-01", &format!("--json classify {reagent} --at \"{percent} % v/v\"")).json();
        answer["composition"][0]["percent_w_w"].as_f64().unwrap()
    };
    for (reagent, volume, weight) in [("ethanol", 96.0, 93.8), ("ethanol", 70.0, 62.4), ("isopropanol", 70.0, 62.8)] {
        let found = by_weight(reagent, volume);
        assert!((found / weight - 1.0).abs() < 0.003, "{reagent}: {volume} % v/v is {found} % w/w, not {weight}");
    }
    assert!(received("isopropanol \"70 % v/v\" 500mL").contains("70 % v/v"));
    let checked = bench.on("2031-03-01", "check IP-1").ok();
    assert!(checked.contains("% v/v"), "kept as it was typed: {checked}");
    let bare = received("ethanol 70% 1L");
    let words: Vec<&str> = bare.split_whitespace().collect();
    assert!(words.join(" ").contains("70 % read as % w/w; labels of spirit mean % v/v: write it"), "{bare}");
    assert!(!received("hydrogen-peroxide 3% 1L").contains("spirit"));
    bench
        .on("2031-03-01", "receive hydrogen-peroxide \"3 % v/v\" 1L --at cupboard")
        .fails(2, &["% v/v counts a product", "hydrogen peroxide"]);
    bench.on("2031-03-01", "receive formaldehyde \"37 % v/v\" 1L --at cupboard").fails(2, &["% v/v counts a product"]);
    bench.on("2031-03-01", "receive ethanol \"101 % v/v\" 1L --at cupboard").fails(2, &["more than the whole"]);
}

/// 65 / 0.9918 = 65.54; chloramine-T holds 25.2 % when it is pure.
#[test]
fn a_solid_may_be_labelled_by_its_available_chlorine() {
    let bench = Bench::new();
    let on = |line: &str| bench.on("2031-03-01", &format!("receive {line} --at cupboard"));
    let said = |line: &str| on(line).ok().split_whitespace().collect::<Vec<_>>().join(" ");
    for label in ["65 % w/w available chlorine", "65 % available chlorine"] {
        let said = said(&format!("calcium-hypochlorite \"{label}\" 1kg"));
        assert!(said.contains("65 % available chlorine") && said.contains("65.5 % w/w"), "{said}");
    }
    let salt = said("calcium-hypochlorite \"65 % w/w\" 1kg");
    assert!(salt.contains("65 % w/w") && !salt.contains("of it in a gram"), "{salt}");
    let salt = said("chloramine-t \"24 % available chlorine\" 100g");
    assert!(salt.contains("95.4 % w/w"), "{salt}");
    on("chloramine-t \"65 % available chlorine\" 100g").fails(2, &["25.2 % w/w of available chlorine at the most"]);
    on("sodium-thiosulfate \"65 % available chlorine\" 100g").fails(2, &["does not apply"]);
}

#[test]
fn the_life_of_a_bottle() {
    let bench = with_peroxide();
    bench.on("2031-03-05", "open HP-1").ok();
    bench.on("2031-03-06", "place add porch --summer 18 --winter 4 --light dim").ok();
    bench.on("2031-03-07", "move hp-1 porch").ok();
    assert!(bench.on("2031-03-08", "take HP-1 120mL").ok().contains("left: 380 mL"));
    let counted = bench.on("2031-03-09", "count HP-1 350mL").ok();
    assert!(counted.contains("30 mL less than the book's 380 mL"), "{counted}");
    let tested = bench.on("2031-03-10", "assay HP-1 figure \"2.7 % w/v\" --sd 3%").ok();
    assert!(tested.contains("2.7 % w/v"), "{tested}");
    bench.on("2031-03-11", "retire HP-1 --because \"handed to the collection\"").ok();
    let shelf = bench.on("2031-03-12", "shelf").ok();
    assert!(shelf.contains("nothing stands on the shelf"), "{shelf}");
    let shown = bench.on("2031-03-12", "show HP-1").ok();
    for word in
        ["received", "opened", "moved", "taken", "counted", "assayed", "retired", "left the shelf on 2031-03-11"]
    {
        assert!(shown.contains(word), "{word}: {shown}");
    }
    // The past can still be asked.
    assert!(bench.on("2031-03-08", "shelf").ok().contains("380 mL"));
}

#[test]
fn what_contradicts_the_journal_is_refused_and_nothing_is_written() {
    let bench = with_peroxide();
    bench.on("2031-03-05", "open HP-1").ok();
    let before = std::fs::read(bench.register()).unwrap();
    bench.on("2031-03-06", "take HP-1 501mL").fails(2, &["501 mL taken", "only 500 mL were left", "brimstock count"]);
    bench.on("2031-03-06", "open HP-1").fails(2, &["opened on 2031-03-05 already"]);
    bench.on("2031-02-01", "take HP-1 5mL").fails(2, &["received on 2031-03-01"]);
    bench.on("2031-03-06", "take HP-1 5mL --date 2031-03-07").fails(2, &["future"]);
    bench.on("2031-03-06", "move HP-1 cuboard").fails(2, &["no place `cuboard`", "did you mean `cupboard`?"]);
    bench.on("2031-03-06", "take HP-9 5mL").fails(2, &["no stock `HP-9`", "did you mean `HP-1`?"]);
    bench.on("2031-03-06", "retire HP-1 --because \"\"").fails(2, &["--because <REASON>", "is empty"]);
    bench
        .on("2031-03-06", "receive hydrogen-peroxide 3% 1L --at cupboard --code hp-1")
        .fails(2, &["stock `hp-1` already"]);
    assert_eq!(before, std::fs::read(bench.register()).unwrap(), "a refused command left a trace");
    // Taking exactly what is there is allowed, a drop more is not.
    bench.on("2031-03-06", "take HP-1 500mL").ok();
    bench.on("2031-03-06", "take HP-1 0.01mL").fails(2, &["only 0 mL were left"]);
}

#[test]
fn an_earlier_use_that_would_overdraw_a_later_one_is_refused() {
    let bench = with_peroxide();
    bench.on("2031-03-10", "take HP-1 400mL").ok();
    bench.on("2031-03-12", "take HP-1 200mL --date 2031-03-05").fails(2, &["400 mL taken on 2031-03-10", "300 mL"]);
}

#[test]
fn a_correction_keeps_the_original() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"35 % w/w\" 500mL --at cupboard").ok();
    bench.on("2031-03-02", "correct HP-1 1 --strength \"3 % w/v\" --because \"typed 35 for 3\"").ok();
    let shown = bench.on("2031-03-02", "--json show HP-1").json();
    assert_eq!(shown["label"], "3 % w/v");
    assert_eq!(shown["journal"].as_array().unwrap().len(), 2);
    assert!(shown["journal"][0]["says"].as_str().unwrap().contains("35 % w/w"));
    bench.on("2031-03-03", "take HP-1 50mL").ok();
    bench.on("2031-03-03", "correct HP-1 3 --never --because \"the other bottle\"").ok();
    assert_eq!(bench.on("2031-03-03", "--json show HP-1").json()["left"]["value"], 500.0);
    bench.on("2031-03-03", "correct HP-1 2 --never --because x").fails(2, &["is a correction itself"]);
    bench.on("2031-03-03", "correct HP-1 9 --never --because x").fails(2, &["no line 9"]);
    bench.on("2031-03-03", "correct HP-1 1 --because x").fails(2, &["nothing to correct"]);
    bench.on("2031-03-03", "correct HP-1 3 --place cupboard --because x").fails(2, &["has no place"]);
    bench.on("2031-03-03", "correct HP-1 1 --hold \"cracked\" --because seen").ok();
    let dose = bench.on("2031-03-03", "--json dose peroxide-weak --bath 1L");
    assert_eq!((dose.code, dose.json()["verdict"].as_str()), (1, Some("held")));
    bench.on("2031-03-03", "correct HP-1 1 --release --because \"was only dirt\"").ok();
    assert_eq!(bench.on("2031-03-03", "dose peroxide-weak --bath 1L").code, 0);
}

#[test]
fn check_has_the_fields_scripts_rely_on() {
    let bench = with_peroxide();
    let ran = bench.on("2031-03-20", "--json check HP-1");
    let answer = ran.json();
    assert_eq!(
        (answer["format"].as_i64(), answer["stock"].as_str(), answer["on"].as_str()),
        (Some(1), Some("HP-1"), Some("2031-03-20"))
    );
    let strength = &answer["strength"];
    let field = |name: &str| strength[name].as_f64().unwrap_or_else(|| panic!("{name}: {answer}"));
    assert!(field("low_g_per_l") < field("median_g_per_l") && field("median_g_per_l") < field("high_g_per_l"));
    assert_eq!(field("label_g_per_l"), 30.0);
    assert_eq!(strength["usual"]["unit"], "% w/v");
    assert_eq!(answer["left"]["unit"], "mL");
    for dip in answer["dips"].as_array().unwrap() {
        assert!(dip["verdict"].is_string() && dip["dip"].is_string());
    }
    assert!(answer["advice"].is_array() && answer.get("steps").is_none());
    assert!(bench.on("2031-03-20", "--json --why check HP-1").json()["steps"].as_array().unwrap().len() > 3);
}

#[test]
fn dose_has_the_fields_scripts_rely_on_and_every_verdict_an_exit_code() {
    let bench = with_peroxide();
    let ran = bench.on("2031-03-20", "--json dose peroxide-weak --bath 5L");
    let answer = ran.json();
    assert_eq!((ran.code, answer["verdict"].as_str()), (0, Some("ready")));
    let amount = answer["doses"][0]["value"].as_f64().unwrap();
    let water = answer["water_l"].as_f64().unwrap();
    assert!((amount / 1000.0 + water - 5.0).abs() < 1e-3, "{answer}");
    for field in
        ["dip", "on", "bath_l", "target", "chance", "bath_strength", "largest_bath_l", "until", "reasons", "next_step"]
    {
        assert!(answer.get(field).is_some(), "{field}: {answer}");
    }
    let verdict = |line: &str| {
        let ran = bench.on("2031-03-20", line);
        (ran.code, ran.json()["verdict"].as_str().unwrap_or_default().to_owned())
    };
    assert_eq!(verdict("--json dose peroxide-weak --bath 500L"), (1, "short".to_owned()));
    assert_eq!(verdict("--json dose salt-gear --bath 10L"), (1, "short".to_owned()));
    bench.on("2031-03-20", "receive hydrogen-peroxide \"0.1 % w/v\" 5L --at cupboard").ok();
    assert_eq!(verdict("--json dose peroxide-weak --bath 1L --from HP-2"), (1, "too weak".to_owned()));
    bench
        .on(
            "2031-03-20",
            "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --condition dirty --date 2031-01-05",
        )
        .ok();
    assert_eq!(verdict("--json dose peroxide-weak --bath 5L --from HP-3"), (1, "test first".to_owned()));
    bench.on("2031-03-20", "assay HP-3 figure \"2.5 % w/v\" --sd 3%").ok();
    assert_eq!(verdict("--json dose peroxide-weak --bath 5L --from HP-3"), (0, "ready".to_owned()));
}

#[test]
fn several_bottles_serve_one_bath_the_oldest_first() {
    let bench = Bench::new();
    for day in ["2031-03-02", "2031-03-01", "2031-03-03"] {
        bench.on("2031-03-04", &format!("receive hydrogen-peroxide \"3 % w/v\" 200mL --at cupboard --date {day}")).ok();
    }
    let answer = bench.on("2031-03-05", "--json dose peroxide-weak --bath 7L").json();
    let doses = answer["doses"].as_array().unwrap();
    assert_eq!(doses.len(), 2, "{answer}");
    assert_eq!((doses[0]["stock"].as_str(), doses[0]["value"].as_f64()), (Some("HP-2"), Some(200.0)));
    assert_eq!(doses[1]["stock"], "HP-1");
    // Three bottles of 6 g and a little more at 1.5 g/L.
    assert!(answer["largest_bath_l"].as_f64().unwrap() > 12.0, "{answer}");
}

#[test]
fn a_dip_is_not_ready_unless_it_can_be_stopped() {
    let bench = Bench::demo();
    let answer = bench.on("2031-03-15", "--json dose bleach-fine-leaved --bath 10L --from S06").json();
    assert_eq!(answer["verdict"], "short");
    // 160 g of thiosulfate at 7.4 g for 1 g of chlorine and 2.7 g/L: 8.0 L (facts/trade.md G).
    assert!((answer["largest_bath_l"].as_f64().unwrap() - 8.0).abs() < 0.05, "{answer}");
    assert!((answer["stopping"]["grams_planned"].as_f64().unwrap() - 199.8).abs() < 0.1);
    assert_eq!(bench.on("2031-03-15", "dose bleach-fine-leaved --bath 8L --from S06").code, 0);
}

#[test]
fn another_alum_is_told_and_never_used() {
    let bench = Bench::demo();
    let answer = bench.on("2031-03-15", "--json dose alum-soak --bath 40L").json();
    assert_eq!(answer["doses"][0]["stock"], "S08");
    assert!(answer["not_used"].to_string().contains("S09"), "{answer}");
    bench
        .on("2031-03-15", "dose alum-soak --bath 40L --from S09")
        .fails(2, &["aluminium-sulfate", "never put in the place"]);
    bench.on("2031-03-15", "check S09 --dip alum-soak").fails(2, &["never put in the place"]);
}

#[test]
fn a_stock_made_stronger_than_cold_water_holds_is_as_strong_as_its_clear_liquid() {
    let bench = Bench::demo();
    let answer = bench.on("2031-03-15", "--json check S11").json();
    // At 8 °C a litre of water holds 38 to 40 g, whatever was weighed in.
    let median = answer["strength"]["median_g_per_l"].as_f64().unwrap();
    assert!((38.0..40.0).contains(&median), "{answer}");
    assert_eq!(bench.on("2031-03-15", "dose permanganate-bulletin --bath 10L --from S11").code, 0);
    // In the warm some of the crystals dissolve again, and nobody can tell how many.
    bench.on("2031-03-15", "move S11 bench").ok();
    let answer = bench.on("2031-03-16", "--json dose permanganate-bulletin --bath 10L --from S11").json();
    assert_eq!(answer["verdict"], "test first");
    assert!(answer["reasons"].to_string().contains("crystals"), "{answer}");
}

#[test]
fn sun_that_is_not_counted_asks_for_a_test_and_a_test_clears_it() {
    let bench = Bench::new();
    bench.on("2031-03-01", "place add sill --temp 22 --light sill").ok();
    bench.on("2031-03-01", "receive sodium-thiosulfate 1kg --at cupboard").ok();
    bench.on("2031-03-01", "receive bleach \"5.25 % w/w\" 1L --at sill --container natural-plastic").ok();
    let dose = "--json dose bleach-fine-leaved --bath 1L";
    let answer = bench.on("2031-03-03", dose).json();
    assert_eq!(answer["verdict"], "test first");
    assert!(answer["reasons"].to_string().contains("sun"), "{answer}");
    bench.on("2031-03-03", "move BL-1 cupboard").ok();
    bench.on("2031-03-03", "assay BL-1 figure \"5.2 % w/w\" --sd 3%").ok();
    assert_eq!(bench.on("2031-03-04", dose).json()["verdict"], "ready");
    // A wall that keeps light out leaves nothing to ask.
    bench.on("2031-03-04", "receive bleach \"5.25 % w/w\" 1L --at sill --container opaque-plastic").ok();
    let answer = bench.on("2031-03-06", &format!("{dose} --from BL-2")).json();
    assert_eq!(answer["verdict"], "ready", "{answer}");
}

#[test]
fn convert_states_value_unit_and_band() {
    let bench = Bench::bare();
    let answer = bench
        .run(&["--json", "convert", "2.5 mL/gal-us of 3 % w/v", "--of", "hydrogen-peroxide", "--to", "mg/L"])
        .json();
    assert!((answer["value"].as_f64().unwrap() - 19.8129).abs() < 1e-3, "{answer}");
    assert_eq!(answer["unit"], "mg/L");
    assert!(answer.get("low").is_none() && (answer["g_per_l"].as_f64().unwrap() - 0.019_812_9).abs() < 1e-6);
    let answer =
        bench.run(&["--json", "--why", "convert", "1 tbsp/gal-us", "--of", "sodium-chloride", "--to", "g/L"]).json();
    assert!((answer["value"].as_f64().unwrap() - 4.77).abs() < 0.02, "{answer}");
    assert!(answer["low"].as_f64().unwrap() < 4.3 && answer["high"].as_f64().unwrap() > 5.3);
    assert!(answer["steps"].as_array().unwrap().iter().all(|step| step["source"].is_string()));
    assert!(bench.run(&["convert", "5 g/L", "--to", "mg/L"]).ok().contains("5000 mg/L"));
    assert!(bench.run(&["convert", "2 tbsp-au", "--to", "mL"]).ok().contains("40"));
    bench.run(&["convert", "1 gal", "--to", "L", "--kitchen", "imperial"]).ok();
    bench.run(&["convert", "3 %", "--to", "g/L"]).fails(2, &["of which reagent?"]);
    bench.run(&["convert", "3 % w/w", "--of", "ascorbic-acid", "--to", "g/L"]).fails(3, &["no density"]);
    bench.run(&["convert", "10 vol", "--of", "bleach", "--to", "g/L"]).fails(2, &["does not apply"]);
    bench
        .run(&["convert", "3 % w/v", "--of", "hydrogen-peroxide", "--to", "furlong"])
        .fails(2, &["`furlong` is no unit"]);
}

#[test]
fn books_lists_and_settings() {
    let bench = Bench::new();
    let book = bench.run(&["--json", "dips"]).json();
    let dips = book["dips"].as_array().unwrap();
    assert!(dips.len() >= 12);
    for dip in dips {
        assert!(!dip["evidence"].as_array().unwrap().is_empty() && !dip["not_shown"].as_array().unwrap().is_empty());
        let page = bench.run(&["dips", dip["dip"].as_str().unwrap()]).ok();
        assert!(page.contains("not shown:") && page.contains("evidence:"));
    }
    assert!(bench.run(&["reagents"]).ok().contains("potassium-alum"));
    assert!(bench.run(&["reagents", "potassium-alum"]).ok().contains("474.372 g/mol"));
    assert!(bench.run(&["place", "list"]).ok().contains("cupboard"));
    bench.on("2031-03-01", "set threshold 95%").ok();
    bench.on("2031-03-01", "set threshold 5%").fails(2, &["50% to 99%"]);
    bench.on("2031-03-01", "dose peroxide-weak --bath \"1 gal\"").fails(2, &["which `gal`?", "gal-imp"]);
    bench.on("2031-03-01", "set kitchen imperial").ok();
    assert_eq!(bench.on("2031-03-01", "--json dose peroxide-weak --bath \"1 gal\"").json()["bath_l"], 4.54609);
    bench.on("2031-03-02", "place set cupboard --temp 25").ok();
    bench.on("2031-03-02", "place set cupboard").fails(2, &["nothing to set"]);
    bench.on("2031-03-02", "place add cupboard").fails(2, &["place `cupboard` already"]);
    assert!(bench.run(&["completions", "bash"]).ok().contains("brimstock"));
}

#[test]
fn every_verb_has_help_with_an_example() {
    let bench = Bench::bare();
    for verb in
        "new receive open move take count correct retire shelf show check dips dose convert reagents demo completions"
            .split(' ')
    {
        let help = bench.run(&[verb, "--help"]).ok();
        assert!(
            help.contains("Example") && help.contains(&format!("brimstock {verb}")) || verb == "new",
            "{verb}: {help}"
        );
    }
    for words in [["place", "add"], ["place", "set"], ["place", "list"], ["set", "kitchen"], ["set", "threshold"]] {
        assert!(bench.run(&[words[0], words[1], "--help"]).ok().contains("Example"), "{words:?}");
    }
    assert!(bench.run(&["assay", "HP-1", "figure", "--help"]).ok().contains("Example"));
}

#[test]
fn a_wild_test_is_kept_and_questioned_and_a_second_one_settles_it() {
    let bench = with_peroxide();
    bench.on("2031-03-02", "assay HP-1 figure \"35 % w/w\" --sd 3%").ok();
    let answer = bench.on("2031-03-02", "--json dose peroxide-weak --bath 2L").json();
    assert_eq!(answer["verdict"], "test first");
    assert!(answer["reasons"].to_string().contains("fits neither its label nor its other tests"), "{answer}");
    bench.on("2031-03-02", "correct HP-1 2 --strength \"2.9 % w/v\" --because \"read the wrong bottle\"").ok();
    assert_eq!(bench.on("2031-03-02", "dose peroxide-weak --bath 2L").code, 0);
}

#[test]
fn a_place_has_no_climate_before_its_first_entry() {
    let bench = Bench::new();
    bench.on("2031-03-01", "place set cupboard --temp 30 --date 2029-01-01").fails(2, &["known from 2030-01-01 on"]);
    let said = bench.on("2031-03-01", "receive peroxide 3% 1L --at cupboard --date 2029-06-01").ok();
    assert!(said.contains("cupboard is known from 2030-01-01 on"), "{said}");
}

#[test]
fn a_bath_of_a_drop_is_answered() {
    let bench = with_peroxide();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
    for bath in ["0.001mL", "1uL", "0.01mL"] {
        let ran = bench.on("2031-03-02", &format!("--json dose peroxide-weak --bath {bath}"));
        assert!(ran.code <= 1 && ran.json()["verdict"].is_string());
    }
}

#[test]
fn a_reagents_page_says_which_of_its_rules_are_due_for_review() {
    let bench = Bench::bare();
    let page = |day: &str| bench.on(day, "reagents hydrogen-peroxide").ok();
    let day_after_all = page("2037-01-01");
    for part in ["Keeping it apart [check", "First aid [check", "Getting rid of it", "check local law [check"] {
        assert!(day_after_all.contains(part), "{part}: {day_after_all}");
    }
    assert!(!page("2026-11-26").contains("[check"), "nothing is due yet");
}
