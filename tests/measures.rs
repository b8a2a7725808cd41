//! Whole commands about the keeper's own measures: each kind, what is weighed, doses in them, stock solutions, refusals.

use std::fs;

use rusqlite::Connection;
use serde_json::Value;

use crate::harness::Bench;

const DAY: &str = "2031-03-10";

/// A shelf at 10 °C with alum, permanganate, peroxide and chalk-like lime; no measures.
fn shelf() -> Bench {
    let bench = Bench::bare();
    bench.on("2031-03-01", "new").ok();
    bench.on("2031-03-01", "place add porch --temp 10 --light dark").ok();
    for line in [
        "receive potassium-alum 1kg --at porch",
        "receive potassium-permanganate \"98 %\" 240g --at porch",
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at porch",
    ] {
        bench.on("2031-03-01", line).ok();
    }
    bench
}

fn add(bench: &Bench, lines: &[&str]) {
    for line in lines {
        bench.on("2031-03-02", &format!("measure {line}")).ok();
    }
}

fn dose(bench: &Bench, line: &str) -> Value {
    bench.on(DAY, &format!("--json dose {line}")).json()
}

#[track_caller]
fn near(found: &Value, wanted: f64, tolerance: f64) {
    let found = found.as_f64().unwrap_or_else(|| panic!("{found} is no number"));
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
}

#[test]
fn without_a_measure_all_stays_as_it_was() {
    let bench = shelf();
    let answer = dose(&bench, "alum-soak --bath 10L");
    assert_eq!(answer["doses"][0]["measure"], "pocket scale, 0.01 g steps");
    assert_eq!(answer["doses"][0]["own"], Value::Array(Vec::new()));
    assert_eq!(answer["doses"][0]["stock_solution"], Value::Null);
    assert_eq!(answer["vessel"], Value::Null);
    assert!(bench.on(DAY, "measure").ok().contains("measure add tbsp spoon 15mL"));
}

#[test]
fn every_kind_is_entered_listed_shown_and_retired() {
    let bench = shelf();
    add(
        &bench,
        &[
            "add T10 vessel 10L",
            "add tbsp spoon 15mL",
            "add s10 syringe 10mL --step 0.2mL",
            "add litre jug 1L --step 10mL",
            "add marks jug --step 5mL",
            "add kitchen scale --step 1g --most 5kg",
            "add pipette dropper --drops 20",
        ],
    );
    let listed = bench.on(DAY, "--json measure").json();
    assert_eq!(listed, bench.on(DAY, "--json measure list").json());
    let measures = listed["measures"].as_array().unwrap();
    let kinds: Vec<&str> = measures.iter().map(|measure| measure["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["vessel", "spoon", "syringe", "jug", "jug", "scale", "dropper"]);
    near(&measures[0]["holds_ml"], 10_000.0, 1e-6);
    near(&measures[5]["most_g"], 5000.0, 1e-6);
    near(&measures[6]["drops_per_ml"], 20.0, 1e-6);
    let text = bench.on(DAY, "measure list").ok();
    for words in ["T10", "10 L", "steps of 0.2 mL", "up to 5 kg, steps of 1 g", "20 drops in 1 mL", "± 30 % (1 sd)"] {
        assert!(text.contains(words), "{words}: {text}");
    }
    bench.on(DAY, "measure retire TBSP").ok();
    assert!(!bench.on(DAY, "measure").ok().contains("tbsp"));
    assert!(bench.on("2031-03-09", "measure").ok().contains("tbsp"), "an earlier day still has it");
    assert!(!bench.on("2031-03-01", "measure").ok().contains("T10"), "it was not there yet");
    assert!(bench.on(DAY, "measure show tbsp").ok().contains("retired 2031-03-10"));
}

#[test]
fn a_spoon_weighed_once_is_counted_and_an_earlier_day_sees_the_earlier_weight() {
    let bench = shelf();
    add(&bench, &["add tbsp spoon 15mL"]);
    bench.on("2031-03-04", "measure weigh tbsp --of potassium-alum 13.8g").ok();
    let answer = dose(&bench, "alum-soak --bath 10L");
    let (dose_now, own) = (&answer["doses"][0], &answer["doses"][0]["own"][0]);
    assert_eq!(
        (own["measure"].as_str(), own["count"].as_f64(), own["unit"].as_str()),
        (Some("tbsp"), Some(3.0), Some("level spoon"))
    );
    near(&dose_now["value"], 41.4, 1e-4);
    // One weighing, three spoons: 0.08 sqrt(1 + 1/3).
    near(&own["relative_sd"], 0.092_376, 1e-5);
    assert_eq!(dose_now["measure"], "3 level spoons of `tbsp`, ± 9.2 % (1 sd)");

    bench.on("2031-03-12", "measure weigh tbsp --of potassium-alum 16.9g 17g 17.1g").ok();
    near(&dose(&bench, "alum-soak --bath 10L")["doses"][0]["value"], 41.4, 1e-4);
    let later = bench.on("2031-03-12", "--json dose alum-soak --bath 10L").json();
    near(&later["doses"][0]["own"][0]["count"], 2.0, 0.0);
    near(&later["doses"][0]["value"], 34.0, 1e-4);
    // Entered late for an earlier day, it does not take the place of the later one.
    bench.on("2031-03-13", "measure weigh tbsp --of potassium-alum 10g --date 2031-03-05").ok();
    let now = bench.on("2031-03-13", "--json measure show tbsp").json();
    near(&now["measures"][0]["spoons"][0]["mean_g"], 17.0, 1e-9);
    assert_eq!(now["measures"][0]["weighings"].as_array().unwrap().len(), 3, "nothing is lost");
    // The weight of alum is none of permanganate's.
    assert!(bench.on(DAY, "measure show tbsp").ok().contains("weighed: 13.8 g (potassium-alum)"));
    let rows = Connection::open(bench.register()).unwrap();
    for sql in [
        "UPDATE measure SET most = 1",
        "DELETE FROM measure_weighing",
        "DELETE FROM measure_end",
        "UPDATE measure_weighing SET grams = '[1]'",
    ] {
        let _ = bench.on(DAY, "measure retire tbsp");
        assert!(rows.execute(sql, []).is_err(), "{sql}");
    }
}

#[test]
fn a_spoon_nobody_weighed_is_wide_marked_or_refused() {
    let bench = shelf();
    add(&bench, &["add tbsp spoon 15mL"]);
    let answer = dose(&bench, "alum-soak --bath 10L");
    let measure = answer["doses"][0]["measure"].as_str().unwrap();
    assert!(measure.contains("powder taken as 0.8 g/mL, nobody weighed a spoon of it"), "{measure}");
    // hypot(0.30, 0.12): the spoon and the powder.
    near(&answer["doses"][0]["own"][0]["relative_sd"], 0.323_11, 1e-4);
    assert_eq!(answer["verdict"], "test first", "three spoons that nobody weighed are too coarse");
    // The bulk density of permanganate is only our judgement: the spoon is not used, and says what it wants.
    let answer = dose(&bench, "permanganate-bulletin --bath 2000L");
    assert_eq!(answer["doses"][0]["measure"], "pocket scale, 0.01 g steps");
    assert!(answer["not_weighed"].to_string().contains("brimstock measure weigh tbsp --of potassium-permanganate"));
    assert!(bench.on(DAY, "dose permanganate-bulletin --bath 2000L").ok().contains("not used: nobody weighed"));
    bench.on(DAY, "dose permanganate-bulletin --bath 2000L --using tbsp").fails(
        3,
        &[
            "--using tbsp",
            "nobody weighed a level spoon of potassium-permanganate",
            "measure weigh tbsp --of potassium-permanganate",
        ],
    );
    bench.on(DAY, "measure weigh tbsp --of potassium-permanganate 21g").ok();
    let weighed = dose(&bench, "permanganate-bulletin --bath 2000L --using tbsp");
    near(&weighed["doses"][0]["value"], 21.0, 1e-6);
}

#[test]
fn a_vessel_by_name_is_the_bath_and_a_larger_bath_is_refused() {
    let bench = shelf();
    add(&bench, &["add T10 vessel 10L", "add litre jug 1L --step 10mL"]);
    let answer = dose(&bench, "peroxide-rinse --in T10");
    assert_eq!((answer["bath_l"].as_f64(), answer["vessel"].as_str()), (Some(10.0), Some("T10")));
    bench.on(DAY, "dose peroxide-rinse --bath 16L --in T10").fails(2, &["16 L", "`T10`", "10 L", "--bath up to 10 L"]);
    assert_eq!(dose(&bench, "peroxide-rinse --bath 10L --in t10")["vessel"], "T10");
    assert_eq!(dose(&bench, "peroxide-rinse --bath 6L --in T10")["bath_l"], 6.0);
    bench.on(DAY, "dose peroxide-rinse").fails(2, &["--bath"]);
    bench.on(DAY, "dose peroxide-rinse --in T11").fails(2, &["no measure `T11`", "did you mean `T10`?"]);
    bench.on(DAY, "dose peroxide-rinse --in litre").fails(2, &["`litre` is a jug, no vessel"]);
    // Weighed with water at 20 °C it holds 9.7 kg / 0.998207 g/mL, and is surer.
    bench.on(DAY, "measure weigh T10 --water 9.7kg").ok();
    let weighed = dose(&bench, "peroxide-rinse --in T10");
    near(&weighed["bath_l"], 9.717_43, 1e-4);
    let width = |answer: &Value| {
        let bath = &answer["bath_strength"];
        bath["high_g_per_l"].as_f64().unwrap() / bath["low_g_per_l"].as_f64().unwrap()
    };
    assert!(width(&weighed) < width(&answer));
    bench.on(DAY, "dose peroxide-rinse --bath 9.8L --in T10").fails(2, &["9.717 L"]);
    assert!(bench.on(DAY, "dose peroxide-rinse --in T10").ok().contains("9.717 L in `T10`"));
    bench.on("2031-03-11", "measure retire T10").ok();
    bench
        .on("2031-03-12", "dose peroxide-rinse --in T10")
        .fails(2, &["not used on 2031-03-12", "retired on 2031-03-11"]);
    bench.on(DAY, "dose peroxide-rinse --in T10").ok();
}

#[test]
fn liquids_go_into_jugs_syringes_and_drops() {
    let bench = shelf();
    add(
        &bench,
        &["add s10 syringe 10mL --step 0.2mL", "add litre jug 1L --step 10mL", "add pipette dropper --drops 20"],
    );
    let rinse = dose(&bench, "peroxide-rinse --bath 10L");
    assert_eq!(rinse["doses"][0]["own"][0]["measure"], "s10");
    let weak = dose(&bench, "peroxide-weak --bath 9L");
    assert_eq!(weak["doses"][0]["own"][0]["measure"], "litre");
    // More than it holds: several fillings, each told.
    let twice = dose(&bench, "peroxide-rinse --bath 30L --using s10");
    let own = twice["doses"][0]["own"].as_array().unwrap();
    near(&own[0]["mark"], 10.0, 0.0);
    assert_eq!(own.len(), 2, "{own:?}");
    let sum: f64 = own.iter().map(|own| own["mark"].as_f64().unwrap() * own["times"].as_f64().unwrap()).sum();
    near(&twice["doses"][0]["value"], sum, 1e-6);
    let drops = dose(&bench, "peroxide-rinse --bath 1L --using pipette");
    let own = &drops["doses"][0]["own"][0];
    assert_eq!(own["unit"], "drop");
    near(&own["relative_sd"], 0.10, 1e-9);
    near(&drops["doses"][0]["value"], own["count"].as_f64().unwrap() / 20.0, 1e-9);
    // 20 drops of 1.1 g: 18.15 drops in 1 mL.
    bench.on(DAY, "measure weigh pipette --water 1.1g --drops 20").ok();
    near(&bench.on(DAY, "--json measure show pipette").json()["measures"][0]["drops_per_ml"], 18.149, 1e-3);
    // A jug whose mark of 500 mL holds 489 g of water shows more than is there.
    bench.on(DAY, "measure weigh litre --water 489g --mark 500mL").ok();
    let jug = bench.on(DAY, "--json measure show litre").json();
    near(&jug["measures"][0]["shown_to_true"], 0.979_757, 1e-5);
    let weak = dose(&bench, "peroxide-weak --bath 9L");
    let (mark, value) = (weak["doses"][0]["own"][0]["mark"].as_f64().unwrap(), &weak["doses"][0]["value"]);
    near(value, mark * 0.979_757, 1e-2);
}

#[test]
fn under_ten_steps_of_the_scale_a_stock_solution_is_proposed() {
    let bench = shelf();
    add(&bench, &["add kitchen scale --step 1g --most 5kg", "add s10 syringe 10mL --step 0.2mL"]);
    // Ten litres of 10 mg/L: 0.1 g, which no scale of 1 g weighs.
    add(&bench, &["add litre jug 1L --step 10mL"]);
    let answer = dose(&bench, "permanganate-bulletin --bath 10L");
    let (dose_of, solution) = (&answer["doses"][0], &answer["doses"][0]["stock_solution"]);
    near(&solution["grams"], 10.0, 0.0);
    near(&solution["water_ml"], 500.0, 0.0);
    near(&solution["g_per_l"], 20.0, 1e-9);
    // 0.1 g pure of 98 % is 0.102 g: 5.1 mL, to the nearest mark.
    near(&solution["take_ml"], 5.2, 1e-9);
    near(&dose_of["value"], 0.104, 1e-6);
    assert_eq!(dose_of["own"][0]["measure"], "s10");
    assert!(answer["next_step"].as_str().unwrap().contains("brimstock decant PP-1 10g --make-up-to 500mL"));
    let dissolved = solution["dissolves_g_per_l"].as_f64().unwrap();
    assert!(solution["g_per_l"].as_f64().unwrap() < dissolved && dissolved < 42.0, "{solution}");
    let text = bench.on(DAY, "dose permanganate-bulletin --bath 10L").ok();
    for words in ["under ten steps", "`kitchen`", "10 g", "500 mL", "5.2 mL", "with a"] {
        assert!(text.contains(words), "{words}: {text}");
    }
    // What it says can be done, and the new stock then serves the bath by the syringe.
    bench.on(DAY, "open PP-1").ok();
    bench.on(DAY, "decant PP-1 10g --make-up-to 500mL --container amber-glass").ok();
    let from = dose(&bench, "permanganate-bulletin --bath 10L --from PP-2");
    assert_eq!(from["doses"][0]["own"][0]["measure"], "s10");
    assert_eq!(from["doses"][0]["stock_solution"], Value::Null);
    near(&from["doses"][0]["value"], 5.2, 0.2);
}

#[test]
fn ten_steps_are_weighed_and_a_little_less_is_not() {
    let bench = shelf();
    add(&bench, &["add kitchen scale --step 1g", "add s10 syringe 10mL --step 0.2mL", "add litre jug 1L --step 10mL"]);
    // Alum of 99 %, 4 g/L: 2.475 L take 10 g, 2.4 L take 9.697 g.
    let ten = dose(&bench, "alum-soak --bath 2.48L");
    assert_eq!(ten["doses"][0]["stock_solution"], Value::Null, "{ten}");
    assert_eq!(ten["doses"][0]["own"][0]["mark"], 10.0);
    let less = dose(&bench, "alum-soak --bath 2.4L");
    assert!(less["doses"][0]["stock_solution"]["take_ml"].as_f64().unwrap() > 10.0, "{less}");
}

#[test]
fn a_stock_solution_needs_a_measure_of_volume() {
    let bench = shelf();
    add(&bench, &["add kitchen scale --step 1g --most 5kg"]);
    let answer = dose(&bench, "permanganate-bulletin --bath 10L");
    assert_eq!(answer["doses"][0]["stock_solution"], Value::Null);
    let measure = answer["doses"][0]["measure"].as_str().unwrap();
    assert!(measure.contains("it needs a measure of volume: `brimstock measure add"), "{measure}");
    // A finer scale of one's own ends the need.
    add(&bench, &["add pocket scale --step 0.001g --most 50g"]);
    let fine = dose(&bench, "permanganate-bulletin --bath 10L");
    assert_eq!(fine["doses"][0]["own"][0]["measure"], "pocket");
}

#[test]
fn the_error_of_a_measure_enters_the_chance_and_check_agrees() {
    let bench = shelf();
    let before = dose(&bench, "alum-soak --bath 10L")["chance"].as_f64().unwrap();
    add(&bench, &["add tbsp spoon 15mL"]);
    let spooned = dose(&bench, "alum-soak --bath 10L");
    let chance = spooned["chance"].as_f64().unwrap();
    assert!(chance < before - 0.1, "{chance} {before}");
    let check = bench.on(DAY, "--json check PA-1 --bath 10L").json();
    assert_eq!(check["dips"][0]["chance"], spooned["chance"]);
}

#[test]
fn what_cannot_be_is_refused_and_leaves_no_trace() {
    let bench = shelf();
    add(
        &bench,
        &[
            "add T10 vessel 10L",
            "add tbsp spoon 15mL",
            "add s10 syringe 10mL --step 0.2mL",
            "add old spoon 5mL",
            "add jug jug --step 10mL",
            "add drip dropper --drops 20",
            "add kitchen scale --step 1g",
        ],
    );
    bench.on("2031-03-03", "measure retire old").ok();
    let before = fs::read(bench.register()).unwrap();
    let cases: &[(&str, i32, &[&str])] = &[
        ("measure add tbsp spoon 15mL", 2, &["already a measure `tbsp`"]),
        ("measure add OLD spoon 5mL", 2, &["already a measure `old`, retired"]),
        ("measure add pail bucket 3L", 2, &["`bucket`", "vessel, jug, syringe, spoon, scale, dropper"]),
        ("measure add pail vessel", 2, &["needs what it holds when full", "10L"]),
        ("measure add pail vessel 10kg", 2, &["cannot read `10kg` as a volume", "16 L"]),
        ("measure add pail vessel 0L", 2, &["above 0"]),
        ("measure add spoon2 spoon", 2, &["needs what it holds when level"]),
        ("measure add spoon2 spoon 5L", 2, &["a spoon of 5 L", "up to 1 L"]),
        ("measure add spoon2 spoon 5mL --step 1mL", 2, &["a spoon has no steps"]),
        ("measure add s syringe 10mL", 2, &["needs what it holds and the distance"]),
        ("measure add s syringe 10mL --step 20mL", 2, &["--step 20 mL", "10 mL"]),
        ("measure add s scale 5kg", 2, &["a scale has no volume"]),
        ("measure add s scale --step 1mL", 2, &["--step `1mL` is a volume", "mass"]),
        ("measure add s scale --step 10g --most 1g", 2, &["--step 10 g", "1 g", "bears"]),
        ("measure add s dropper", 2, &["--drops 20"]),
        ("measure add s dropper --drops 0", 2, &["`0` is no number of drops"]),
        ("measure add s vessel 10L --drops 3", 2, &["--drops is for a dropper"]),
        ("measure add s vessel 10L --date 2031-03-11", 2, &["lies in the future"]),
        ("measure weigh tbps --of potassium-alum 13.8g", 2, &["no measure `tbps`", "did you mean `tbsp`?"]),
        ("measure weigh old --of potassium-alum 4g", 2, &["not used on 2031-03-10", "retired on 2031-03-03"]),
        ("measure weigh tbsp", 2, &["is missing", "--of REAGENT"]),
        ("measure weigh tbsp 13.8g", 2, &["is missing", "--of REAGENT"]),
        ("measure weigh tbsp --of potassium-alum", 2, &["what the spoon weighed is missing"]),
        ("measure weigh tbsp --of potassium-alum 13.8mL", 2, &["`13.8mL` is a volume", "13.8g"]),
        ("measure weigh tbsp --of potassium-alum 138g", 2, &["138 g", "15 mL", "1.5 g to 45 g"]),
        ("measure weigh tbsp --of hydrogen-peroxide 15g", 2, &["no powder", "--water"]),
        ("measure weigh tbsp --of alumm 13g", 2, &["there is no reagent `alumm`"]),
        ("measure weigh T10 --of potassium-alum 9kg", 2, &["`T10` is a vessel"]),
        ("measure weigh T10 --water 98g", 2, &["98 g", "10 L"]),
        ("measure weigh s10 --water 9g", 2, &["a syringe is not weighed"]),
        ("measure weigh jug --water 98g", 2, &["up to which mark?", "--mark 500mL"]),
        ("measure weigh tbsp --water 15g --mark 10mL", 2, &["--mark is for a jug"]),
        ("measure weigh drip --water 1g", 2, &["how many drops"]),
        ("measure weigh tbsp --water 15g --drops 3", 2, &["--drops is for a dropper"]),
        ("measure weigh tbsp --water 15g --date 2031-03-01", 2, &["is there from 2031-03-02"]),
        ("measure retire tbsp --date 2031-03-01", 2, &["is there from 2031-03-02"]),
        ("measure retire old", 2, &["not used"]),
        ("measure show nothing", 2, &["no measure `nothing`"]),
        ("dose alum-soak --bath 10L --using s10", 2, &["--using s10", "grams: a scale or a spoon"]),
        ("dose peroxide-weak --bath 1L --using kitchen", 2, &["--using kitchen", "millilitres"]),
        ("dose alum-soak --bath 10L --using T10", 2, &["--using T10", "vessel"]),
        ("dose alum-soak --bath 10L --using nothing", 2, &["no measure `nothing`"]),
        ("dose alum-soak --bath 16L --in T10", 2, &["16 L", "`T10`"]),
    ];
    for (line, code, words) in cases {
        let ran = bench.on(DAY, line);
        for word in *words {
            assert!(ran.stderr.contains(word), "{line}: `{word}` is missing: {}", ran.stderr);
        }
        ran.fails(*code, &[]);
        assert!(before == fs::read(bench.register()).unwrap(), "{line} left a trace");
    }
}

#[test]
fn a_spoon_is_not_counted_out_of_a_liquid_more_than_ten_times() {
    let bench = Bench::new();
    let day = "2031-03-05";
    bench.on(day, "receive hydrogen-peroxide \"3 % w/v\" 1L --at cupboard").ok();
    bench.on(day, "measure add tbsp spoon 15mL").ok();
    // 1.5 g/L from about 30 g/L: 150 mL are ten spoonfuls and make about 3 L.
    let few = bench.on(day, "--json dose peroxide-weak --bath 2.5L").json();
    assert_eq!(few["doses"][0]["own"][0]["measure"], "tbsp", "{few}");
    let many = bench.on(day, "--json dose peroxide-weak --bath 10L");
    assert_eq!(many.code, 0, "{many:?}");
    let many = many.json();
    assert_eq!(many["doses"][0]["own"], serde_json::json!([]), "{many}");
    assert!(many["doses"][0]["measure"].as_str().unwrap().contains("no measure of yours fits"), "{many}");
}
