//! `classify` as it is typed: bottles, baths, mixtures, whose rules, what is missing, and every refusal.

use serde_json::Value;

use crate::harness::Bench;

const DAY: &str = "2031-03-15";

fn asked(bench: &Bench, line: &str) -> Value {
    let ran = bench.on(DAY, &format!("--json classify {line}"));
    assert_eq!(ran.code, 0, "{line}: {ran:?}");
    ran.json()
}

/// `class category` of each class.
fn classes(answer: &Value) -> Vec<String> {
    let class = |class: &Value| format!("{} {}", class["class"].as_str().unwrap(), class["category"].as_str().unwrap());
    answer["classes"].as_array().unwrap().iter().map(class).collect()
}

fn codes(answer: &Value, field: &str) -> Vec<String> {
    let code = |one: &Value| one.as_str().or_else(|| one["code"].as_str()).unwrap().to_owned();
    answer[field].as_array().unwrap().iter().map(code).collect()
}

#[test]
fn a_reagent_at_a_strength_needs_no_register() {
    let answer = asked(&Bench::bare(), "hydrogen-peroxide --at \"12 % w/w\"");
    assert_eq!(classes(&answer), ["oxidising liquid 3", "eye damage or irritation 1"]);
    assert_eq!(answer["jurisdiction"], "eu");
    assert_eq!(answer["signal_word"], "Danger");
    assert_eq!(codes(&answer, "pictograms"), ["GHS03", "GHS05"]);
    assert_eq!(codes(&answer, "hazard_statements"), ["H272", "H318"]);
    assert_eq!(answer["composition"][0]["percent_w_w"], 12.0);
    assert_eq!(answer["hazard_statements"][1]["text"], "Causes serious eye damage.");
    assert_eq!(answer["hazard_statements"][1]["text_es"], "Provoca lesiones oculares graves.");
    let precautions = codes(&answer, "precautionary_statements");
    assert!(precautions.len() <= 8 && precautions.contains(&"P305+P351+P338".to_owned()), "{precautions:?}");
}

#[test]
fn a_stock_counts_as_strong_as_its_label_or_its_band_above_it() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"7.9 % w/w\" 500mL --at cupboard").ok();
    assert_eq!(classes(&asked(&bench, "HP-1")), ["eye damage or irritation 2"], "below 8 %");
    bench.on("2031-03-02", "assay HP-1 figure \"8.2 % w/w\" --sd \"2 %\"").ok();
    let tested = asked(&bench, "HP-1");
    assert_eq!(classes(&tested), ["oxidising liquid 3", "eye damage or irritation 1"], "tested above 8 %: {tested}");
    bench.on("2031-03-02", "receive hydrogen-peroxide \"12 % w/w\" 500mL --at cupboard").ok();
    for day in ["2031-03-03", "2031-03-04"] {
        bench.on(day, "assay HP-2 figure \"6 % w/w\" --sd \"2 %\"").ok();
    }
    let faded = asked(&bench, "HP-2");
    assert_eq!(faded["composition"][0]["percent_w_w"], 12.0, "a weak test does not weaken the label");
}

#[test]
fn a_solid_stock_is_the_substance_itself() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive copper-sulfate 500g --at cupboard").ok();
    let answer = asked(&bench, "CU-1");
    assert_eq!(codes(&answer, "hazard_statements"), ["H302", "H318", "H410"]);
    assert_eq!(codes(&answer, "pictograms"), ["GHS05", "GHS07", "GHS09"]);
    bench.on("2031-03-01", "receive hydrogen-peroxide \"35 % w/w\" 250mL --at cupboard").ok();
    assert_eq!(asked(&bench, "HP-1")["composition"][0]["percent_w_w"], 35.0, "a label is compared as it stands");
    let solid = asked(&bench, "potassium-permanganate");
    assert!(classes(&solid).contains(&"oxidising solid 2".to_owned()));
}

#[test]
fn a_bath_is_judged_thinned() {
    let bench = Bench::bare();
    let bath = asked(&bench, "--bath peroxide-weak");
    assert_eq!(classes(&bath), Vec::<String>::new());
    assert_eq!(bath["signal_word"], Value::Null);
    let text = bench.on(DAY, "classify --bath peroxide-weak").ok();
    assert!(text.contains("no class can be shown"), "{text}");
    let bleach = asked(&bench, "--bath bleach-robust");
    assert!(classes(&bleach).iter().any(|class| class.starts_with("aquatic, chronic")), "{bleach}");
}

#[test]
fn a_mixture_says_what_it_rests_on_and_what_is_missing() {
    let bench = Bench::bare();
    let answer = asked(&bench, "\"potassium-permanganate 2 % w/w; copper-sulfate 0.1 % w/w\"");
    assert!(codes(&answer, "hazard_statements").contains(&"H411".to_owned()));
    let undetermined = answer["undetermined"].to_string();
    assert!(undetermined.contains("oxidising liquid: no test of potassium-permanganate in water"), "{undetermined}");
    assert!(undetermined.contains("corrosive to metals"), "{undetermined}");
    let unverified = answer["unverified"].to_string();
    assert!(unverified.contains("potassium-permanganate") && unverified.contains("copper-sulfate"), "{unverified}");
    let text = bench.on(DAY, "classify \"citric-acid 1 % w/w\"").ok();
    assert!(text.contains("pH rule not checked"), "{text}");
    assert!(text.contains("not verified against the regulation"), "{text}");
}

#[test]
fn a_measured_ph_decides_at_its_bounds() {
    let bench = Bench::bare();
    let corrosive = |ph: &str| {
        let answer = asked(&bench, &format!("\"citric-acid 1 % w/w\" --ph {ph}"));
        assert!(!answer["undetermined"].to_string().contains("pH rule"), "{answer}");
        classes(&answer).contains(&"skin corrosion or irritation 1".to_owned())
    };
    assert!(corrosive("2") && !corrosive("2.01") && !corrosive("11.49") && corrosive("11.5"));
}

#[test]
fn the_rules_differ_where_they_should() {
    let bench = Bench::bare();
    let under = |rules: &str| classes(&asked(&bench, &format!("\"potassium-permanganate 1 % w/w\" --rules {rules}")));
    assert!(!under("eu").iter().any(|class| class.starts_with("toxic to reproduction")));
    assert!(under("us").contains(&"toxic to reproduction 2".to_owned()));
    assert!(!under("us").iter().any(|class| class.starts_with("aquatic")));
    let acute = |rules: &str| {
        let answer = asked(&bench, &format!("\"copper-sulfate 0.3 % w/w\" --rules {rules}"));
        classes(&answer).into_iter().filter(|class| class.starts_with("aquatic, acute")).collect::<Vec<_>>()
    };
    assert_eq!(acute("eu"), Vec::<String>::new());
    assert_eq!(acute("un"), ["aquatic, acute 2"]);
}

#[test]
fn generic_limits_are_harsher_on_thin_peroxide() {
    let bench = Bench::bare();
    assert_eq!(classes(&asked(&bench, "hydrogen-peroxide --at \"3 % w/w\"")), Vec::<String>::new());
    let generic = classes(&asked(&bench, "hydrogen-peroxide --at \"3 % w/w\" --generic"));
    assert_eq!(generic, ["skin corrosion or irritation 2", "eye damage or irritation 1"]);
}

#[test]
fn bleach_is_counted_as_available_chlorine_and_warned_of_acid() {
    let bench = Bench::bare();
    let answer = asked(&bench, "sodium-hypochlorite --at \"5 % w/w available chlorine\"");
    assert_eq!(answer["composition"][0]["counted_as"], "available chlorine");
    assert_eq!(answer["composition"][0]["percent_w_w"], 5.0);
    assert_eq!(codes(&answer, "supplemental"), ["EUH031", "EUH206"]);
    let thin = asked(&bench, "sodium-hypochlorite --at \"1 % w/w available chlorine\"");
    assert!(!codes(&thin, "supplemental").contains(&"EUH206".to_owned()), "more than 1 %: {thin}");
    assert_eq!(codes(&asked(&bench, "sodium-hypochlorite --at \"5 % w/w\" --rules un"), "supplemental"), [""; 0]);
}

#[test]
fn why_names_rule_figure_limit_and_source() {
    let bench = Bench::bare();
    let text = bench.on(DAY, "--why classify hydrogen-peroxide --at \"35 % w/w\"").ok();
    for word in ["35 % ≥ 35 %", "rule [", "entry hydrogen-peroxide", "ghs-table-3-1-2", "echa-clh-peroxide"] {
        assert!(text.contains(word), "`{word}` is missing: {text}");
    }
    let json = bench.on(DAY, "--json --why classify hydrogen-peroxide --at \"35 % w/w\"").json();
    let class = &json["classes"][0];
    assert!(class["rule"].is_string() && class["rests_on"][0]["title"].is_string(), "{class}");
}

#[test]
fn two_of_one_kind_are_said_to_be_one_solution() {
    let bench = Bench::bare();
    let twice = asked(&bench, "\"copper-sulfate 1 % w/w; copper-sulfate 2 % w/w\"");
    assert_eq!(twice["composition"][0]["percent_w_w"], 3.0);
    assert!(twice["assumed"].to_string().contains("told twice"), "{twice}");
    let alums = asked(&bench, "\"potassium-alum 1 % w/w; aluminium-sulfate 1 % w/w\"");
    assert!(alums["assumed"].to_string().contains("both bring aluminium"), "{alums}");
}

#[test]
fn a_spoon_is_read_at_its_high_end() {
    let bench = Bench::bare();
    let percent = |at: &str| {
        let answer = asked(&bench, &format!("copper-sulfate --at \"{at}\""));
        (answer["composition"][0]["percent_w_w"].as_f64().unwrap(), answer["assumed"].to_string())
    };
    let (spooned, said) = percent("1 tbsp/gal-us");
    let (weighed, _) = percent("1 g/L");
    let middle = bench.on(DAY, "--json convert \"1 tbsp/gal-us\" --of copper-sulfate --to g/L").json();
    let high = middle["high"].as_f64().unwrap();
    assert!((spooned / weighed / high - 1.0).abs() < 0.02, "{spooned} against {high} g/L");
    assert!(said.contains("upper end"), "{said}");
}

#[test]
fn a_bare_per_cent_says_how_it_was_read() {
    let answer = asked(&Bench::bare(), "hydrogen-peroxide --at 3%");
    assert!(answer["assumed"].to_string().contains("3 % read as % w/v"), "{answer}");
}

#[test]
fn what_was_made_too_strong_counts_as_saturated() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive potassium-permanganate \"75 g/L\" 1L --at cupboard").ok();
    let answer = asked(&bench, "PP-1");
    assert!(answer["assumed"].to_string().contains("counted as saturated"), "{answer}");
    assert!(answer["composition"][0]["percent_w_w"].as_f64().unwrap() < 6.1, "{answer}");
}

#[test]
fn wrong_questions_are_refused() {
    let bench = Bench::bare();
    let cases: &[(&str, i32, &[&str])] = &[
        ("classify", 2, &["what is to be classified", "--bath DIP"]),
        ("classify hydrogen-peroxide", 2, &["how strong", "--at"]),
        ("classify hydrogen-peroxyde --at 3%", 2, &["hydrogen-peroxyde", "did you mean"]),
        ("classify hydrogen-peroxide --at strong", 2, &["strong", "accepted"]),
        ("classify hydrogen-peroxide --at \"130 % w/w\"", 2, &["130 % w/w", "more than the whole"]),
        ("classify alum --at 3%", 2, &["several reagents"]),
        ("classify potassium-permanganate --at \"20 % w/w\"", 2, &["holds 6.0 % w/w", "20", "up to \"6.0 % w/w\""]),
        ("classify \"acetic-acid 60 % w/w; ethanol 50 % w/w\"", 2, &["110", "100 %"]),
        ("classify \"citric-acid\"", 0, &[]),
        ("classify \"citric-acid; ethanol 5 %\"", 2, &["citric-acid", "how much"]),
        ("classify \";\"", 2, &["what is in it"]),
        ("classify \"citric-acid 5 %\" --at 3%", 2, &["told twice"]),
        ("classify --bath no-such", 2, &["no-such"]),
        ("classify HP-1 --bath salt-gear", 2, &["--bath"]),
        ("classify HP-1", 4, &["there is no register"]),
        ("classify \"citric-acid 5 %\" --ph 17", 2, &["17", "-1 to 15"]),
        ("classify \"citric-acid 5 %\" --rules mars", 2, &["mars", "eu, un, us"]),
    ];
    for (line, code, words) in cases {
        let ran = bench.on(DAY, line);
        if *code == 0 {
            ran.ok();
        } else {
            ran.fails(*code, words);
        }
    }
    let bench = Bench::new();
    bench.on(DAY, "classify HP-9").fails(2, &["HP-9", "shelf"]);
}

/// What was poured over is as strong as we think, and perhaps stronger: the label is not a maker's.
#[test]
fn what_was_decanted_counts_at_the_upper_end_of_its_band() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"35 % w/w\" 1L --at cupboard").ok();
    bench.on("2031-03-02", "open HP-1").ok();
    bench.on("2031-03-02", "decant HP-1 200mL --at cupboard").ok();
    let poured = asked(&bench, "HP-2");
    assert!(poured["assumed"].to_string().contains("it was decanted"), "{poured}");
    let percent = |answer: &Value| answer["composition"][0]["percent_w_w"].as_f64().unwrap();
    assert_eq!(percent(&asked(&bench, "HP-1")), 35.0);
    assert!(percent(&poured) > 34.0, "{poured}");
}

#[test]
fn a_recalled_ph_never_beats_what_is_on_file() {
    let bench = Bench::bare();
    for (line, corrosive, said) in [
        ("citric-acid --at \"2 % w/w\"", false, true),
        ("calcium-hydroxide --at \"0.15 % w/w\"", false, true),
        ("hydrochloric-acid --at \"5 % w/w\"", false, true),
        ("hydrochloric-acid --at \"37 % w/w\"", true, false),
        ("sodium-hydroxide --at \"50 % w/w\"", true, false),
        ("citric-acid --at \"1.9 % w/w\"", false, false),
    ] {
        let answer = asked(&bench, line);
        assert_eq!(codes(&answer, "hazard_statements").contains(&"H314".to_owned()), corrosive, "{line}: {answer}");
        let gaps = answer["undetermined"].to_string();
        assert_eq!(gaps.contains("its own data are milder"), said, "{line}: {gaps}");
        assert_eq!(gaps.contains("handle it as corrosive"), said, "{line}: {gaps}");
    }
}

#[test]
fn spirit_burns_on_both_sides_of_its_bounds() {
    let bench = Bench::bare();
    for alcohol in ["ethanol", "isopropanol"] {
        for (percent, expected) in
            [("19.499", None), ("19.5", Some("H226")), ("62.4", Some("H226")), ("62.401", Some("H225"))]
        {
            let answer = asked(&bench, &format!("{alcohol} --at \"{percent} % w/w\""));
            let found = codes(&answer, "hazard_statements");
            let burns: Vec<&str> = found.iter().map(String::as_str).filter(|code| code.starts_with("H22")).collect();
            assert_eq!(burns, expected.into_iter().collect::<Vec<_>>(), "{alcohol} {percent}: {answer}");
            let flame = codes(&answer, "pictograms").contains(&"GHS02".to_owned());
            assert_eq!(flame, expected.is_some(), "{alcohol} {percent}");
        }
        let strong = asked(&bench, &format!("{alcohol} --at \"95 % w/w\""));
        assert_eq!(strong["composition"][0]["percent_w_w"], 95.0, "it mixes with water in all proportions");
    }
    let text = bench.on(DAY, "classify isopropanol --at \"70 % w/w\"").ok();
    assert!(text.contains("taken over from a") && text.contains("[judgement]"), "{text}");
}

#[test]
fn a_content_by_weight_that_no_water_holds_is_of_the_solid() {
    let bench = Bench::bare();
    for (line, percent, oxidises) in [
        ("calcium-hypochlorite --at \"68 % w/w\"", 68.0, true),
        ("sodium-percarbonate --at \"90 % w/w\"", 90.0, true),
        ("chloramine-t --at \"100 % w/w\"", 100.0, false),
        ("sodium-hydroxide --at \"99 % w/w\"", 99.0, false),
        ("\"potassium-permanganate 99 % w/w\"", 99.0, true),
    ] {
        let answer = asked(&bench, line);
        assert_eq!(answer["composition"][0]["percent_w_w"], percent, "{line}");
        assert!(answer["assumed"].to_string().contains("taken as the solid"), "{line}: {answer}");
        let found = classes(&answer).iter().any(|class| class.starts_with("oxidising solid"));
        assert_eq!(found, oxidises, "{line}: {answer}");
    }
    bench.on(DAY, "classify potassium-permanganate --at \"50 % w/w\"").fails(2, &["holds 6.0 % w/w"]);
    bench.on(DAY, "classify sodium-hypochlorite --at \"100 % w/w\"").fails(2, &["at the most"]);
}

#[test]
fn two_kin_are_relevant_together() {
    let bench = Bench::bare();
    let chlorine =
        asked(&bench, "\"sodium-hypochlorite 0.9 % w/w available chlorine; calcium-hypochlorite 0.9 % w/w\"");
    assert!(codes(&chlorine, "hazard_statements").contains(&"H315".to_owned()), "{chlorine}");
    assert!(codes(&chlorine, "supplemental").contains(&"EUH206".to_owned()), "{chlorine}");
    assert!(chlorine["assumed"].to_string().contains("both bring available chlorine"), "{chlorine}");
    let two = asked(&bench, "\"sodium-metabisulfite 0.9 % w/w; potassium-metabisulfite 0.9 % w/w\"");
    let one = asked(&bench, "\"sodium-metabisulfite 1.8 % w/w\"");
    assert_eq!(codes(&one, "hazard_statements"), ["H319"]);
    for field in ["hazard_statements", "supplemental", "pictograms"] {
        assert_eq!(codes(&two, field), codes(&one, field), "{field}");
    }
    // No kin: neither counts.
    let strangers = asked(&bench, "\"sodium-metabisulfite 0.9 % w/w; aluminium-sulfate 0.9 % w/w\"");
    assert_eq!(codes(&strangers, "hazard_statements"), [""; 0]);
}

#[test]
fn parts_that_must_not_meet_are_said_first() {
    let bench = Bench::bare();
    for (line, verdict, code) in [
        ("\"hydrogen-peroxide 60 % w/w; ethanol 40 % w/w\"", "never", 1),
        ("\"potassium-permanganate 2 % w/w; hydrochloric-acid 5 % w/w\"", "never", 1),
        ("\"sodium-metabisulfite 2 % w/w; hydrochloric-acid 5 % w/w\"", "never", 1),
        ("\"sodium-hypochlorite 2 % w/w; hydrochloric-acid 5 % w/w\"", "never", 1),
        ("\"sodium-hypochlorite 2 % w/w; calcium-hypochlorite 2 % w/w\"", "cabinet", 0),
    ] {
        let ran = bench.on(DAY, &format!("--json classify {line}"));
        assert_eq!(ran.code, code, "{line}: {ran:?}");
        let clash = &ran.json()["conflicts"][0];
        assert_eq!(clash["verdict"], verdict, "{line}: {clash}");
        assert!(!clash["consequence"].as_str().unwrap().is_empty() && clash["source"].is_string(), "{clash}");
        assert_eq!(clash["reagents"].as_array().unwrap().len(), 2);
        let said = bench.on(DAY, &format!("classify {line}")).stdout;
        let head = if verdict == "never" { "DANGER: " } else { "mind: " };
        assert!(said.starts_with(head) && said.contains("holds:"), "{said}");
    }
    assert_eq!(asked(&bench, "\"copper-sulfate 1 % w/w; citric-acid 1 % w/w\"")["conflicts"].to_string(), "[]");
}

#[test]
fn a_bath_has_no_data_sheet() {
    let bench = Bench::bare();
    let code = "EUH210".to_owned();
    assert!(codes(&asked(&bench, "hydrogen-peroxide --at \"3 % w/w\""), "supplemental").contains(&code));
    assert!(bench.on(DAY, "classify hydrogen-peroxide --at \"3 % w/w\"").ok().contains("supply to professionals"));
    for dip in bench.on(DAY, "--json dips").json()["dips"].as_array().unwrap() {
        let bath = asked(&bench, &format!("--bath {}", dip["dip"].as_str().unwrap()));
        assert!(!codes(&bath, "supplemental").contains(&code), "{bath}");
    }
}

#[test]
fn a_number_just_off_its_limit_is_printed_as_it_is() {
    let text = Bench::bare().on(DAY, "classify hydrogen-peroxide --at \"34.999 % w/w\"").ok();
    assert!(text.contains("hydrogen-peroxide 34.999 % w/w") && !text.contains("35 %"), "{text}");
}

#[test]
fn the_hint_on_the_basis_names_bleach_only_for_bleach() {
    let bench = Bench::bare();
    let said = |line: &str| asked(&bench, line)["assumed"].to_string();
    let salt = said("copper-sulfate --at 25%");
    assert!(!salt.contains("of bleach"), "{salt}");
}
