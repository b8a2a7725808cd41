//! Whole commands of `dips read`: every shape that recipes come in, what is assumed and said, what is questioned, what is
//! refused; the wrong recipes of the trade one by one.

use crate::harness::Bench;

use serde_json::Value;

fn read(text: &str) -> Value {
    let bench = Bench::bare();
    let ran = bench.run(&["dips", "read", text, "--json"]);
    assert_eq!(ran.code, 0, "{text}: {ran:?}");
    ran.json()
}

fn in_us(text: &str) -> Value {
    let bench = Bench::bare();
    let ran = bench.run(&["dips", "read", text, "--kitchen", "us", "--json"]);
    assert_eq!(ran.code, 0, "{text}: {ran:?}");
    ran.json()
}

/// All lines of a list as one text.
fn said(answer: &Value, list: &str) -> String {
    let lines = answer[list].as_array().expect("a list").iter().map(|line| line.as_str().expect("a text").to_owned());
    lines.collect::<Vec<_>>().join("\n")
}

#[track_caller]
fn asks(answer: &Value, words: &[&str]) {
    let questions = said(answer, "questions");
    for word in words {
        assert!(questions.contains(word), "`{word}` is not asked of {}: {questions}", answer["read"]);
    }
}

fn mid(answer: &Value) -> f64 {
    answer["g_per_l"]["mid"].as_f64().unwrap_or_else(|| panic!("no strength: {answer}"))
}

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!((found / wanted - 1.0).abs() < 1e-4, "{found} is not {wanted}");
}

#[test]
fn every_shape_is_read() {
    // Text, reagent, g/L in a US kitchen by arithmetic done apart (bulk densities and bottles as on file).
    let shapes = [
        ("2 tbsp alum per gal for 3 h", "potassium-alum", 2.0 * 14.786_764_8 * 0.80 / 3.785_411_784),
        ("1 cup per 10 gal of salt", "sodium-chloride", 236.588_236_5 * 1.22 / 37.854_117_84),
        ("25 % of a 3 % bottle of peroxide", "hydrogen-peroxide", 7.5),
        ("2 mL/gal of 3 % peroxide", "hydrogen-peroxide", 2.0 * 30.0 / 3_785.411_784),
        ("5 mL of 3 % H2O2 per litre", "hydrogen-peroxide", 0.15),
        ("per litre 5 mL of H2O2, 3 %", "hydrogen-peroxide", 0.15),
        ("10 mg/L permanganate 30 min", "potassium-permanganate", 0.01),
        ("10 ppm KMnO4", "potassium-permanganate", 0.01),
        ("a teaspoon of salt per litre", "sodium-chloride", 4.928_921_6 * 1.22),
        ("3 tablespoons of salt per gallon 30 s", "sodium-chloride", 3.0 * 14.786_764_8 * 1.22 / 3.785_411_784),
        ("3 tablespoons of coarse salt per gallon", "sodium-chloride", 3.0 * 14.786_764_8 * 0.97 / 3.785_411_784),
        ("½ cup of salt per gal", "sodium-chloride", 0.5 * 236.588_236_5 * 1.22 / 3.785_411_784),
        ("one and a half cups of salt per gal", "sodium-chloride", 1.5 * 236.588_236_5 * 1.22 / 3.785_411_784),
        ("2 and a half cups of salt per gal", "sodium-chloride", 2.5 * 236.588_236_5 * 1.22 / 3.785_411_784),
        ("about 1/2 a cup of salt per gal", "sodium-chloride", 0.5 * 236.588_236_5 * 1.22 / 3.785_411_784),
        ("1 tbsp (12 g) alum per gal", "potassium-alum", 12.0 / 3.785_411_784),
        ("half a cup of salt per gal", "sodium-chloride", 0.5 * 236.588_236_5 * 1.22 / 3.785_411_784),
        ("3% peroxide straight", "hydrogen-peroxide", 30.0),
        ("peroxide 3 % undiluted", "hydrogen-peroxide", 30.0),
        ("8 oz salt per 5 gal", "sodium-chloride", 8.0 * 28.349_523_125 / (5.0 * 3.785_411_784)),
        ("8 oz of 3 % peroxide per 5 gal", "hydrogen-peroxide", 8.0 * 29.573_529_6 * 0.03 / (5.0 * 3.785_411_784)),
        ("1 in 20 of 3 % peroxide", "hydrogen-peroxide", 1.5),
        ("one in twenty, 3 % peroxide", "hydrogen-peroxide", 1.5),
        ("1 part 3 % peroxide to 19 parts water", "hydrogen-peroxide", 1.5),
        ("1 part of a 3 % peroxide to 19", "hydrogen-peroxide", 1.5),
        ("19:1 peroxide 3 %", "hydrogen-peroxide", 1.5),
        ("1 to 19 peroxide 3 %", "hydrogen-peroxide", 1.5),
        ("1 cup of 3 % peroxide and 19 cups of water", "hydrogen-peroxide", 1.5),
        ("19 parts water to 1 part 3 % peroxide", "hydrogen-peroxide", 1.5),
        ("3 % peroxide 1/20", "hydrogen-peroxide", 1.5),
        ("5 % v/v of 3 % peroxide", "hydrogen-peroxide", 1.5),
        ("peroxide:water 1:19, 3 per cent", "hydrogen-peroxide", 1.5),
        ("0.5 g permanganate per 100 mL", "potassium-permanganate", 5.0),
        ("2 Tbsp. alum / US gal.", "potassium-alum", 2.0 * 14.786_764_8 * 0.80 / 3.785_411_784),
    ];
    for (text, reagent, grams) in shapes {
        let answer = in_us(text);
        assert_eq!(answer["reagent"], reagent, "{text}");
        let found = mid(&answer);
        assert!((found / grams - 1.0).abs() < 1e-4, "{text}: {found} is not {grams}");
    }
}

#[test]
fn what_is_added_to_water_is_less_than_what_is_made_up() {
    let answer = read("500 g salt in 100 L");
    assert!((4.98..5.0).contains(&mid(&answer)), "{answer}");
    let assumed = said(&read("10 kg salt in 100 L"), "assumed");
    assert!(assumed.contains("made up to that volume it would be 100 g/L"), "{assumed}");
}

#[test]
fn time_is_read_in_every_unit_and_missed() {
    for (text, low, high) in [
        ("10 mg/L permanganate 30 min", 30.0, 30.0),
        ("4 tbsp permanganate in 12 gal for two hours", 120.0, 120.0),
        ("3 tbsp of salt per gal 30 s", 0.5, 0.5),
        ("salt 1 tbsp / 5 gal, 2-4 weeks", 20_160.0, 40_320.0),
        ("1.5 g/L peroxide for 5 to 10 minutes", 5.0, 10.0),
        ("1.5 g/L peroxide for half an hour", 30.0, 30.0),
        ("1.5 g/L peroxide for 1 h 30 min", 90.0, 90.0),
        ("1 tbsp alum per gal for 24 h or 48 h", 1440.0, 2880.0),
    ] {
        let answer = read(text);
        near(answer["minutes"]["low"].as_f64().unwrap(), low);
        near(answer["minutes"]["high"].as_f64().unwrap(), high);
    }
    let answer = read("1 tbsp alum per gal");
    assert!(answer["minutes"].is_null());
    asks(&answer, &["for how long"]);
}

#[test]
fn every_assumption_is_said() {
    let assumed = said(&read("2 tbsp alum per gal for 3 h"), "assumed");
    for word in [
        "read as potassium-alum",
        "not aluminium-sulfate or ammonium-alum",
        "1.6 times the aluminium",
        "powder 0.8 g/mL",
        "us (",
        "imperial (gal-imp 4.546 L",
        "australian (",
        "level",
        "heaped",
        "made up to",
        "added to",
    ] {
        assert!(assumed.contains(word), "{word}: {assumed}");
    }
    let assumed = said(&read("1:20 bleach 2 minutes"), "assumed");
    assert!(
        assumed.contains("any that is sold (2.6 % w/w available chlorine") && assumed.contains("1 in 20"),
        "{assumed}"
    );
    let assumed = said(&read("1 mL of 3 % peroxide per litre, blessed, at 25 C"), "assumed");
    assert!(
        assumed.contains("passed over, not understood: blessed") && assumed.contains("not counted: 25 C"),
        "{assumed}"
    );
    let then = read("1:19 bleach (5.25 %) 2 min, then into water with thiosulfate");
    assert_eq!(then["reagent"], "sodium-hypochlorite");
    assert!(said(&then, "assumed").contains("not counted: `then into water with thiosulfate`"), "{then}");
    let assumed = said(&read("1 tbsp (12 g) alum per gal"), "assumed");
    assert!(assumed.contains("not counted: the measure before `(12 g)`"), "{assumed}");
    for (oz, meant) in [("8 oz salt per 5 gal", "a weight"), ("8 oz bleach per 5 gal", "fluid ounces")] {
        assert!(said(&read(oz), "assumed").contains(meant));
    }
}

#[test]
fn the_kitchen_is_the_registers_the_options_or_all_of_them() {
    let bench = Bench::new();
    let ask = |more: &[&str]| {
        let mut words = vec!["dips", "read", "1 tbsp of fine salt per gal", "--json"];
        words.extend(more);
        let ran = bench.run(&words);
        assert_eq!(ran.code, 0, "{ran:?}");
        ran.json()
    };
    let (us, au) = (14.786_764_8 * 1.22 / 3.785_411_784, 20.0 * 1.22 / 4.546_09);
    let open = ask(&[]);
    assert!(open["g_per_l"]["low"].as_f64().unwrap() < 15.0 * 1.22 / 4.546_09);
    assert!(open["g_per_l"]["high"].as_f64().unwrap() > au);
    bench.run(&["set", "kitchen", "us"]).ok();
    near(mid(&ask(&[])), us);
    near(mid(&ask(&["--kitchen", "australian"])), au);
    // A gallon that names its country speaks for the spoon.
    let ran = bench.run(&["dips", "read", "1 tbsp of fine salt per imperial gallon", "--kitchen", "us", "--json"]);
    near(mid(&ran.json()), 15.0 * 1.22 / 4.546_09);
    near(
        mid(&bench.run(&["dips", "read", "1 tbsp of fine salt per gal (UK)", "--json"]).json()),
        15.0 * 1.22 / 4.546_09,
    );
    bench.run(&["dips", "read", "1 tbsp of salt per gal", "--kitchen", "french"]).fails(2, &["french", "australian"]);
}

#[test]
fn a_recipe_stands_beside_the_book() {
    let answer = in_us("4 tbsp permanganate in 12 gal for two hours");
    let rows = answer["compared"].as_array().unwrap();
    let row = rows.iter().find(|row| row["dip"] == "permanganate-bulletin").unwrap();
    assert_eq!((row["grade"].as_str(), row["source"].as_str()), (Some("published"), Some("ifas-fa37")));
    let ratio = row["ratio"]["mid"].as_f64().unwrap();
    assert!((175.0..=200.0).contains(&ratio), "{ratio}");
    assert!(row["words"].as_str().unwrap().contains("times its figure"));
    let weak = read("8 mg/L permanganate");
    let rows = weak["compared"].as_array().unwrap();
    let words = |dip: &str| rows.iter().find(|row| row["dip"] == dip).unwrap()["words"].as_str().unwrap().to_owned();
    assert_eq!(words("permanganate-cysts"), "0.42 of its low end");
    assert_eq!(words("permanganate-bulletin"), "in its band");
    assert_eq!(words("permanganate-long"), "4.0 times its figure");
    let text = Bench::bare().run(&["dips", "read", "1 tbsp alum per gal"]).ok();
    assert!(text.contains("No dip of potassium-alum on file has a published figure"), "{text}");
    let text = Bench::bare().run(&["dips", "read", "1 mg/L copper sulfate"]).ok();
    assert!(text.contains("has no row for copper-sulfate"), "{text}");
}

#[test]
fn words_that_hide_a_number_have_a_range_and_a_way_out() {
    for (text, low, high, word) in [
        ("dark pink", 0.002, 0.1, "2 to 100 mg/L [common practice]"),
        ("permanganate until it is wine red", 0.01, 0.3, "10 to 300 mg/L [memory]"),
        ("strong tea", 0.0001, 0.02, "spent"),
    ] {
        let answer = read(text);
        assert_eq!(answer["reagent"], "potassium-permanganate");
        near(answer["g_per_l"]["low"].as_f64().unwrap(), low);
        near(answer["g_per_l"]["high"].as_f64().unwrap(), high);
        asks(&answer, &[word, "instead: "]);
    }
    for text in ["one capful of bleach", "a handful of salt", "a pinch of permanganate", "2 glugs of 3 % peroxide"] {
        let answer = read(text);
        assert!(answer["g_per_l"].is_null() && answer["grams"]["low"].as_f64().unwrap() > 0.0, "{answer}");
        asks(&answer, &["into how much water", "instead: "]);
    }
    let answer = read("a capful of 5 % w/v bleach per litre");
    near(answer["g_per_l"]["low"].as_f64().unwrap(), 0.15);
    near(answer["g_per_l"]["high"].as_f64().unwrap(), 3.0);
    for text in ["1/2 cup of salt", "½ tsp salt"] {
        assert!(read(text)["grams"]["mid"].as_f64().unwrap() > 2.0);
    }
}

#[test]
fn a_missing_or_doubtful_reagent_is_asked_for() {
    let bench = Bench::bare();
    bench
        .run(&["dips", "read", "1 tbsp/gal"])
        .fails(2, &["of which reagent", "potassium-alum", "sodium-chloride", "--of"]);
    bench.run(&["dips", "read", "1 cup of boric acid per gal"]).fails(2, &["of which reagent", "boric acid"]);
    bench.run(&["dips", "read", "5 g metabisulfite per litre"]).fails(2, &["sold as several", "sodium-metabisulfite"]);
    bench.run(&["dips", "read", "5 g/L of salt", "--of", "alum"]).fails(2, &["alum"]);
    bench
        .run(&["dips", "read", "5 g/L of salt", "--of", "peroxide"])
        .fails(2, &["sodium-chloride", "never put in the place"]);
    bench
        .run(&["dips", "read", "2 tbsp vinegar and 1 tbsp salt per gal"])
        .fails(2, &["more than one", "vinegar", "salt"]);
    let answer = bench.run(&["dips", "read", "1 tbsp/gal", "--of", "potassium-alum", "--json"]).json();
    assert_eq!(answer["reagent"], "potassium-alum");
    let answer = bench.run(&["dips", "read", "1 tbsp alum/gal", "--of", "ammonium-alum", "--json"]).json();
    assert_eq!(answer["reagent"], "ammonium-alum");
    asks(&read("3 tbsp epsom salt per gal"), &["epsom"]);
    asks(&read("2 tbsp burnt alum per gal"), &["burnt alum"]);
}

#[test]
fn what_cannot_be_read_is_named() {
    let bench = Bench::bare();
    for (text, words) in [
        ("2 foo alum per gal", &["2 foo alum", "unit"][..]),
        ("1,000 mg/L salt", &["1,…", "comma"]),
        ("alum -2 tbsp per gal", &["above 0"]),
        ("0 g/L salt", &["above 0"]),
        ("salt", &["no amount, no ratio and no strength"]),
        ("", &["empty"]),
        ("1:19 salt", &["ratio or share of a solid"]),
        ("1 part bleach", &["how many parts of water"]),
        ("19 parts water and bleach", &["how many parts of the product"]),
        ("bleach 20", &["a number whose unit"]),
        ("twenty five mL of 3 % peroxide per litre", &["a number whose unit"]),
        ("two thirds cup of salt per gal", &["a number whose unit"]),
        ("20 in 1 bleach 5 %", &["smaller than the whole"]),
        ("1:19 of 120 % bleach", &["more than the whole"]),
        ("1:19 and 1:20 bleach", &["second ratio"]),
        ("5 mL of 3 % 6 % peroxide per litre", &["which one is the bottle's"]),
        ("5 L of 3 % peroxide per litre", &["does not go into"]),
        ("500 kg salt per litre", &["more than the pure substance"]),
        ("per gallon salt", &["no amount that goes into it"]),
        ("1 tsp 2 tsp 3 tsp salt", &["third amount"]),
    ] {
        bench.run(&["dips", "read", text]).fails(2, &[words, &["hint"]].concat());
    }
    bench.run(&["dips", "read"]).fails(2, &["TEXT"]);
    bench.run(&["dips", "read", &"salt ".repeat(80)]).fails(2, &["no more than 300"]);
}

/// B4 of the facts on the trade: each is questioned, with the reason.
#[test]
fn wrong_recipes_are_questioned() {
    let refused = |text: &str, words: &[&str]| Bench::bare().run(&["dips", "read", text]).fails(2, words);
    // 1: fizz is no strength.
    refused("it fizzes so it is full strength", &["not how strong"]);
    asks(&read("3 % peroxide straight, it fizzes"), &["not how strong"]);
    // 2: a pH strip is no test of peroxide.
    asks(&read("peroxide 3 % by pH strip, 1:19, 5 min"), &["pH strip shows how sour"]);
    // 3: a drop of a weak stock.
    let drop = in_us("1 tbsp thiosulfate per pint, 1 drop/gal removes 3.75 ppm chlorine");
    asks(&drop, &["does it remove that much", "not 3.75"]);
    near(mid(&drop), 14.786_764_8 * 0.95 / 0.473_176_473 * 0.05 / 3_785.411_784);
    // 4: permanganate by the tablespoon.
    asks(&read("4 tbsp permanganate in 12 gal for two hours"), &["is this meant for plants", "times the upper end"]);
    // 5: chlorine five times the usual.
    let chlorine = read("up to 1.5 % chlorine");
    near(chlorine["g_per_l_available_chlorine"]["mid"].as_f64().unwrap(), 15.0);
    asks(&chlorine, &["is this meant for plants", "4.7 times"]);
    // 6: water and permanganate on fire.
    refused("never use water on a permanganate fire", &["much water, as recalled", "data sheet"]);
    // 7: kills everything.
    asks(&read("1:19 bleach 5.25 %, 2 min, kills snails, eggs, parasites, everything"), &["no dip is known to clear"]);
    // 8: one ratio for all bottles.
    let bare = read("1:19 bleach, 2 minutes");
    asks(&bare, &["how strong is the bottle"]);
    let (low, high) = (bare["g_per_l"]["low"].as_f64().unwrap(), bare["g_per_l"]["high"].as_f64().unwrap());
    assert!(high / low > 4.0, "2.6 to 12.5 % are sold: {low} to {high}");
    asks(&read("2 % v/v bleach for 1 minute"), &["how strong is the bottle"]);
    // More of B2 and H: a pint that is a cup, a stock that does not dissolve, a claim that does not hold.
    asks(&read("1 pint (8 oz) bleach in 10 gal"), &["which of the two"]);
    asks(&in_us("285 g KMnO4 per gal, 1 drop per gal"), &["does it dissolve", "62"]);
    asks(&in_us("10 mg/L permanganate: 1 tsp per gal"), &["which is right", "claims 10 mg/L"]);
    asks(&read("1:19 bleach (5.25 %), 7 minutes"), &["so long", "2.3 times", "bleach-robust"]);
    asks(&read("1 g/L peroxide, quite safe"), &["says nothing of eyes"]);
}

#[test]
fn the_book_answers_as_before() {
    let bench = Bench::bare();
    assert!(bench.run(&["dips"]).ok().contains("permanganate-bulletin"));
    assert!(bench.run(&["dips", "alum-soak"]).ok().starts_with("alum-soak"));
    bench.run(&["dips", "alum-sok"]).fails(2, &["alum-soak"]);
    let help = bench.run(&["dips", "read", "--help"]).ok();
    assert!(help.contains("Exit code 0 once it is read") && help.contains("--kitchen"), "{help}");
}
