//! What a bottle of peroxide gives off, asked with whole commands: rates, caps, headspace, and who is asked about it at all.

use serde_json::Value;

use crate::harness::Bench;

/// Bottles that came on the first of March.
fn receive(bench: &Bench, more: &str) {
    bench.on("2031-03-01", &format!("receive {more} --at cupboard")).ok();
}

#[track_caller]
fn asked(bench: &Bench, day: &str, line: &str) -> Value {
    let ran = bench.on(day, &format!("--json {line}"));
    assert!(ran.code <= 1, "{ran:?}");
    assert!(!ran.stdout.contains("NaN") && !ran.stdout.contains("inf"), "{ran:?}");
    ran.json()
}

#[track_caller]
fn text(bench: &Bench, day: &str, line: &str) -> String {
    let ran = bench.on(day, line);
    assert!(ran.code <= 1, "{ran:?}");
    // A sentence is wrapped where it may.
    ran.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn number(gas: &Value, field: &str) -> f64 {
    gas[field].as_f64().unwrap_or_else(|| panic!("{field}: {gas}"))
}

#[track_caller]
fn near(found: f64, wanted: f64, share: f64) {
    assert!((found - wanted).abs() <= share * wanted.abs(), "{found} is not {wanted}");
}

/// An opened bottle of 3 % w/v: 30.9 g/L (sd 0.04), a rate of 0.10 a year at 20 °C (sd of the logarithm 1.0). Over 30 days
/// 1 − exp(−0.10 × 30/365.25) goes, at the ends exp(±1.645) times that rate; half a mole of oxygen for each of peroxide,
/// 24.055 L a mole. The year likewise, between 50 mL of headspace and 450 mL of water.
#[test]
fn gas_of_a_day_and_of_a_year_under_a_tight_cap() {
    let bench = Bench::new();
    receive(&bench, "hydrogen-peroxide \"3 % w/v\" 450mL --condition opened --holds 500mL");
    let gas = &asked(&bench, "2031-03-01", "check HP-1")["gas"];
    let a_day = |rate: f64| 30.9 * (1.0 - (-rate * 30.0 / 365.25).exp()) * 0.45 / 68.0294 * 24_055.0 / 30.0;
    let ends = [1.645_f64, 0.0, -1.645].map(|z| 0.10 * (-z).exp());
    for (field, rate) in ["low", "mid", "high"].iter().zip(ends) {
        near(number(&gas["ml_per_day"], field), a_day(rate), 0.02);
    }
    let lost = 30.9 * (1.0 - (-0.10 * 1.645_f64.exp() * 365.0 / 365.25).exp()) * 0.45;
    let takes_up = 50e-6 / (8.314_463 * 293.15) + 1.39e-3 * 0.45 / 101_325.0;
    near(number(gas, "tight_cap_bar_per_year_high"), lost / 68.0294 / takes_up / 1e5, 0.02);
    assert_eq!((number(gas, "headspace_ml"), &gas["headspace_assumed"]), (50.0, &Value::Bool(false)));
    // At the high end of the strength, 33 g/L.
    near(number(gas, "loss_for_half_bar_percent"), 0.6724 * 30.0 / 33.0, 0.01);
    near(number(gas, "end_temperature_c"), 42.7, 0.01);
    assert_eq!((number(gas, "water_boiled_off_percent"), &gas["cap"]), (0.0, &Value::Null));
    // `show` says the same.
    assert_eq!(&asked(&bench, "2031-03-01", "show HP-1")["gas"], gas);
    let said = text(&bench, "2031-03-01", "check HP-1");
    for words in [
        "Gas and heat:",
        "gives off: 1.3 (0.26–6.8) mL of oxygen a day at 20 °C",
        "a tight cap: 31 bar in a year at most",
        "50 mL of headspace (by what it holds to the brim)",
        "0.5 bar: reached once 0.61 % of its peroxide is lost",
        "goes from 20 to 43 °C, no water boils off [memory]",
    ] {
        assert!(said.contains(words), "`{words}` is missing: {said}");
    }
    assert!(!said.contains("needs a vented cap"), "{said}");
    assert!(text(&bench, "2031-03-01", "show HP-1").contains("Gas and heat:"));
}

#[test]
fn a_brim_that_nobody_told_is_taken_as_a_tenth_more() {
    let bench = Bench::new();
    receive(&bench, "hydrogen-peroxide \"3 % w/v\" 450mL");
    let gas = &asked(&bench, "2031-03-01", "check HP-1")["gas"];
    near(number(gas, "headspace_ml"), 45.0, 1e-5);
    assert_eq!(gas["headspace_assumed"], true);
    assert!(text(&bench, "2031-03-01", "check HP-1").contains("holding a tenth more than came in it, else --holds"));
    // What is taken out leaves room: less gas, and far less pressure.
    bench.on("2031-03-01", "take HP-1 250mL").ok();
    let emptier = &asked(&bench, "2031-03-01", "check HP-1")["gas"];
    near(number(emptier, "headspace_ml"), 295.0, 1e-5);
    near(number(&emptier["ml_per_day"], "mid"), number(&gas["ml_per_day"], "mid") * 200.0 / 450.0, 1e-4);
    let year = "tight_cap_bar_per_year_high";
    assert!(number(emptier, year) < 0.2 * number(gas, year), "{emptier}");
    // More in it than it is said to hold: no room above, but no end of pressure either.
    receive(&bench, "hydrogen-peroxide \"3 % w/v\" 450mL --holds 400mL");
    let brimful = &asked(&bench, "2031-03-01", "check HP-2")["gas"];
    assert_eq!(number(brimful, "headspace_ml"), 0.0);
    assert!(number(brimful, year) > number(gas, year));
}

#[test]
fn a_strong_bottle_wants_a_vented_cap() {
    let bench = Bench::new();
    receive(&bench, "hydrogen-peroxide \"35 % w/w\" 450mL");
    receive(&bench, "hydrogen-peroxide \"35 % w/w\" 450mL --cap tight");
    receive(&bench, "hydrogen-peroxide \"35 % w/w\" 450mL --cap vented");
    receive(&bench, "hydrogen-peroxide \"7.9 % w/w\" 450mL");
    receive(&bench, "hydrogen-peroxide \"7 % w/w\" 450mL --cap tight");
    let needs = "from 8 % w/w up it needs a vented cap, never a tight one";
    let [unknown, tight, vented, near_it, below] =
        ["HP-1", "HP-2", "HP-3", "HP-4", "HP-5"].map(|code| text(&bench, "2031-03-01", &format!("check {code}")));
    assert!(unknown.contains(needs) && unknown.contains("`brimstock note HP-1 vented-cap`"), "{unknown}");
    assert!(unknown.contains("a tight cap: "), "{unknown}");
    assert!(tight.contains(needs) && tight.contains("HP-2 has a tight one"), "{tight}");
    assert!(tight.contains("its tight cap: "), "{tight}");
    assert!(!vented.contains(needs) && vented.contains("if its vent failed: "), "{vented}");
    // The label is below the bound, but what is in it may not be.
    assert!(near_it.contains(needs), "{near_it}");
    assert!(!below.contains(needs), "{below}");
    for (code, cap) in [("HP-1", Value::Null), ("HP-2", "tight".into()), ("HP-3", "vented".into())] {
        let answer = asked(&bench, "2031-03-01", &format!("check {code}"));
        let gas = &answer["gas"];
        assert_eq!((&gas["cap"], number(gas, "end_temperature_c")), (&cap, 100.0));
        assert!((38.0..50.0).contains(&number(gas, "water_boiled_off_percent")), "{gas}");
        let told = answer["advice"].as_array().unwrap().iter().any(|line| line.as_str().unwrap().starts_with(needs));
        assert_eq!(told, cap != "vented", "{answer}");
    }
    // A cap that is noted later counts.
    bench.on("2031-03-02", "note HP-2 vented-cap").ok();
    assert_eq!(asked(&bench, "2031-03-02", "check HP-2")["gas"]["cap"], "vented");
    assert!(!text(&bench, "2031-03-02", "check HP-2").contains(needs));
}

#[test]
fn warmth_light_and_dirt_make_more_gas() {
    let bench = Bench::new();
    bench.on("2030-01-01", "place add attic --temp 35 --light dark").ok();
    bench.on("2030-01-01", "place add sill --temp 20 --light sill --sun 3").ok();
    for (place, more) in [("cupboard", ""), ("attic", ""), ("sill", "--container clear-glass"), ("cupboard", "")] {
        bench.on("2031-03-01", &format!("receive hydrogen-peroxide \"3 % w/v\" 450mL --at {place} {more}")).ok();
    }
    bench.on("2031-03-01", "note HP-4 dirty").ok();
    let mid = |code: &str| {
        let answer = asked(&bench, "2031-03-01", &format!("check {code}"));
        number(&answer["gas"]["ml_per_day"], "mid")
    };
    let [cool, warm, lit, dirty] = ["HP-1", "HP-2", "HP-3", "HP-4"].map(mid);
    // exp(75000/8.3145 (1/293.15 − 1/308.15)) = 4.47 for the rate, 308.15/293.15 for the gas.
    near(warm / cool, 4.47 * 308.15 / 293.15, 0.05);
    assert!(lit > 2.0 * cool && dirty > 5.0 * cool, "{cool} {lit} {dirty}");
    assert!(text(&bench, "2031-03-01", "check HP-2").contains("mL of oxygen a day at 35 °C"));
}

#[test]
fn what_gives_off_nothing_is_not_asked() {
    let bench = Bench::new();
    receive(&bench, "sodium-percarbonate 500g");
    receive(&bench, "potassium-alum 500g");
    receive(&bench, "sodium-hypochlorite \"5 % w/w\" 500mL");
    receive(&bench, "hydrogen-peroxide \"35 % w/w\" 450mL");
    receive(&bench, "hydrogen-peroxide \"35 % w/w\" 450mL");
    // Empty, and gone.
    bench.on("2031-03-02", "take HP-1 450mL").ok();
    bench.on("2031-03-02", "retire HP-2 --because \"handed over\"").ok();
    for line in ["check PC-1", "check PA-1", "check BL-1", "check HP-1", "show HP-1", "show HP-2"] {
        let answer = asked(&bench, "2031-03-02", line);
        assert!(answer.get("gas").is_none(), "{line}: {answer}");
        assert!(!text(&bench, "2031-03-02", line).contains("Gas and heat"), "{line}");
    }
}

#[test]
fn nothing_panics_at_the_ends() {
    let bench = Bench::new();
    bench.on("2030-01-01", "place add oven --temp 60 --light outdoors").ok();
    receive(&bench, "hydrogen-peroxide \"99 % w/w\" 450mL");
    receive(&bench, "hydrogen-peroxide \"0.01 % w/w\" 1mL --holds 1000L --made unknown");
    bench.on("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 450mL --at oven --condition dirty").ok();
    bench.on("2031-03-01", "note HP-1 swollen").ok();
    for code in ["HP-1", "HP-2", "HP-3"] {
        for day in ["2031-03-01", "2041-03-01", "2199-03-01"] {
            let answer = asked(&bench, day, &format!("check {code}"));
            let gas = &answer["gas"];
            for field in ["low", "mid", "high"] {
                assert!(number(&gas["ml_per_day"], field) >= 0.0, "{gas}");
            }
            assert!(number(gas, "tight_cap_bar_per_year_high") >= 0.0, "{gas}");
            let said = text(&bench, day, &format!("--why check {code}"));
            assert!(said.contains("Gas and heat:") && !said.contains(" ? "), "{said}");
        }
    }
    assert!(text(&bench, "2041-03-01", "check HP-3").contains("0.5 bar: not reached, whatever it loses"));
}

#[test]
fn every_step_of_the_gas_names_its_source() {
    let bench = Bench::new();
    receive(&bench, "hydrogen-peroxide \"3 % w/v\" 450mL");
    let answer = asked(&bench, "2031-03-01", "--why check HP-1");
    let steps = answer["steps"].as_array().unwrap();
    for (source, mark) in [("computed-reactions", Value::Null), ("oxygen-solubility-memory", "memory".into())] {
        let step = steps.iter().find(|step| step["source"] == source).unwrap_or_else(|| panic!("{source}: {answer}"));
        assert_eq!(step["mark"], mark, "{step}");
    }
}
