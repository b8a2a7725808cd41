//! Source: section G of the facts on the trade: what the fictional bench must be answered, by arithmetic done there. Where
//! bottles fade after their label or their test, the figure there is the ceiling of what is in them and the floor of the dose.

use serde_json::Value;

use crate::harness::Bench;

const DAY: &str = "2031-03-06";

#[track_caller]
fn dose(bench: &Bench, line: &str) -> Value {
    bench.on(DAY, &format!("--json dose {line}")).json()
}

#[track_caller]
fn number(value: &Value, path: &str) -> f64 {
    value.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("no {path}: {value}"))
}

#[track_caller]
fn between(found: f64, low: f64, high: f64) {
    assert!((low..=high).contains(&found), "{found} is not within {low} to {high}");
}

#[test]
fn r1_from_the_strong_bleach_and_from_the_old_one_by_test_and_not_by_label() {
    let bench = Bench::demo();
    // 27.0 g of available chlorine: 307 mL of 88.0 g/L; a sealed bottle of a week has lost a little.
    let strong = dose(&bench, "bleach-fine-leaved --bath 10L --from S06");
    between(number(&strong, "/doses/0/value"), 307.0, 320.0);
    // By its label it would be 500 mL, as tested (34.0 g/L on that day) 794 mL; what was known before has a say of 2 %.
    let old = dose(&bench, "bleach-fine-leaved --bath 10L --from S05");
    between(number(&old, "/doses/0/value"), 778.0, 810.0);
    // 27.0 g of available chlorine in 10 L, counted as hypochlorite.
    between(number(&old, "/target/aim_g_per_l"), 2.82, 2.85);
}

#[test]
fn r8_the_dip_that_cannot_be_stopped_is_not_started() {
    let bench = Bench::demo();
    let answer = bench.on(DAY, "--json dose bleach-fine-leaved --bath 10L --from S06");
    assert_eq!(answer.code, 1);
    let answer = answer.json();
    assert_eq!(answer["verdict"], "short");
    between(number(&answer, "/stopping/grams_planned"), 199.0, 201.0);
    between(number(&answer, "/stopping/grams_theory"), 188.5, 189.5);
    between(number(&answer, "/stopping/grams_on_shelf"), 160.0, 160.0);
    between(number(&answer, "/largest_bath_l"), 7.95, 8.05);
    let eight = dose(&bench, "bleach-fine-leaved --bath 8L --from S06");
    assert_eq!(eight["verdict"], "ready");
    let more = bench.on(DAY, "--json dose bleach-fine-leaved --bath 8.1L --from S06");
    assert_eq!(more.code, 1);
}

#[test]
fn r4_no_bottle_alone_makes_ten_litres_of_the_strong_peroxide() {
    let bench = Bench::demo();
    let pair = dose(&bench, "peroxide-strong --bath 10L --from S01 S01B");
    assert_eq!(pair["verdict"], "short");
    between(number(&pair, "/largest_bath_l"), 1.9, 2.1); // 30 g over 15 g/L
    let sprayed = dose(&bench, "peroxide-strong --bath 10L --from S02");
    assert_eq!(sprayed["verdict"], "short");
    between(number(&sprayed, "/largest_bath_l"), 0.37, 0.41); // 5.95 g
    // 800 mL at 106.6 g/L hold 85 g: 1,407 mL would be wanted, 5.7 L are possible.
    let twelve = dose(&bench, "peroxide-strong --bath 10L --from S03");
    assert_eq!(twelve["verdict"], "short");
    between(number(&twelve, "/largest_bath_l"), 5.58, 5.82);
}

#[test]
fn r3_one_small_bottle_makes_ten_litres_of_the_weak_peroxide() {
    let bench = Bench::demo();
    let answer = dose(&bench, "peroxide-weak --bath 10L --from S01");
    assert_eq!(answer["verdict"], "ready");
    // 15 g: 500 mL of 30 g/L; a label may be filled a little over.
    between(number(&answer, "/doses/0/value"), 480.0, 500.0);
    // Oldest first: the weakening twelve per cent, 141 mL at 106.6 g/L, and the small bottles stay sealed.
    let oldest = dose(&bench, "peroxide-weak --bath 10L");
    assert_eq!(oldest["doses"][0]["stock"], "S03");
    between(number(&oldest, "/doses/0/value"), 138.0, 145.0);
}

#[test]
fn r5_the_alum_soak_takes_the_potassium_salt_and_tells_of_the_other() {
    let bench = Bench::demo();
    let answer = dose(&bench, "alum-soak --bath 40L");
    assert_eq!(answer["verdict"], "ready");
    assert_eq!(answer["doses"][0]["stock"], "S08");
    between(number(&answer, "/doses/0/value"), 160.0, 164.0); // 160 g of pure salt, 99 % in the tub
    let told = answer["not_used"].to_string();
    assert!(told.contains("S09") && told.contains("100.2 g") && told.contains("no evidence"), "{told}");
}

#[test]
fn r6_permanganate_comes_from_the_clear_liquid_at_what_it_holds() {
    let bench = Bench::demo();
    let answer = dose(&bench, "permanganate-bulletin --bath 10L");
    assert_eq!(answer["doses"][0]["stock"], "S11");
    // 0.100 g: 1.33 mL at 75 g/L, 2.6 mL at the 38 g/L that stay dissolved at 8 °C.
    between(number(&answer, "/doses/0/value"), 2.5, 2.7);
    // A tenth of a gram from the tub lies under ten steps of a kitchen scale.
    let weighed = dose(&bench, "permanganate-bulletin --bath 10L --from S10");
    assert_eq!(weighed["doses"][0]["measure"], "pocket scale, 0.01 g steps");
    let quench =
        bench.on(DAY, "--json quench \"10 mg/L\" --of potassium-permanganate --bath 10L --with hydrogen-peroxide");
    // 0.1 g in neutral water takes 0.032 g of peroxide, 1.1 mL of 3 %.
    between(number(&quench.json(), "/grams_theory"), 0.0315, 0.0330);
}

#[test]
fn r7_the_net_drum_takes_ten_kilograms_of_salt() {
    let bench = Bench::demo();
    let answer = dose(&bench, "salt-gear --bath 100L");
    assert_eq!(answer["verdict"], "ready");
    assert_eq!(answer["doses"][0]["stock"], "S07");
    // 10 kg of pure dry salt; from a sack of 99 % that stood damp a little more.
    between(number(&answer, "/doses/0/value"), 10_000.0, 10_900.0);
}

#[test]
fn the_wrong_entry_of_day_36_is_corrected_and_stays_readable() {
    let bench = Bench::demo();
    bench.on("2031-04-08", "receive hydrogen-peroxide \"35 % w/v\" 500mL --at bench --code S15").ok();
    bench.on("2031-04-08", "correct S15 1 --strength \"3 % w/v\" --because \"typed 35 for 3\"").ok();
    let shown = bench.on("2031-04-08", "--json show S15").json();
    assert_eq!(shown["label"], "3 % w/v", "{shown}");
    let journal = shown["journal"].to_string();
    assert!(journal.contains("35 % w/v") && journal.contains("typed 35 for 3"), "{journal}");
}

/// A day of the scenario: day 0 is 2031-03-03.
fn date(day: u64) -> String {
    let first = chrono::NaiveDate::from_ymd_opt(2031, 3, 3).unwrap();
    (first + chrono::Days::new(day)).to_string()
}

#[test]
fn consignment_a_from_day_8_to_day_33() {
    let bench = Bench::demo();
    let on = |day: u64, line: &str| bench.on(&date(day), line);
    on(8, "dips sign bleach-fine-leaved --who \"Saturday helper\"").ok();
    on(9, "receive sodium-thiosulfate \"99 %\" 500g --at chest --code S16").ok();
    // Day 12: two loads of A1 in one bath, the second 55 s too long; A2 in a bath of its own.
    let start = "--kind fine-leaved --who \"Saturday helper\"";
    let started =
        on(12, &format!("bathe start bleach-fine-leaved --bath 10L --lot A1 {start} --from S06 --at 09:00")).ok();
    assert!(!started.contains("has not signed"), "{started}");
    let stopped = on(12, "bathe stop A1 --after 118s").ok();
    assert!(!stopped.contains("OVERRUN"), "{stopped}");
    on(12, &format!("bathe load 1 --lot A1 {start} --at 09:10")).ok();
    let stopped = on(12, "bathe stop A1 --after 175s").ok();
    assert!(stopped.contains("OVERRUN: 55 s"), "{stopped}");
    let unsigned =
        on(12, "bathe start bleach-robust --bath 5L --lot A2 --kind rhizomes --who keeper --from S06 --at 09:20");
    assert!(unsigned.ok().contains("has not signed"));
    // The dip is changed while plants are in it: what they went into still counts.
    on(12, "dips revise bleach-robust --minutes \"max 110 s\" --because \"a trial\"").ok();
    // Two open baths share one neutraliser: 660 g less 200 g and 100 g.
    assert_eq!(on(12, "dose bleach-robust --bath 17L --from S06").code, 0);
    let promised = on(12, "dose bleach-robust --bath 19L --from S06");
    assert_eq!(promised.code, 1);
    assert!(promised.stdout.contains("baths that are not ended yet take 300 g"), "{promised:?}");
    let stopped = on(12, "bathe stop A2 --after 190s").ok();
    assert!(stopped.contains("OVERRUN: 10 s"), "{stopped}");
    assert!(on(13, "bathe show A2").ok().contains("OVERRUN of 10 s"));
    assert!(on(13, "due --all").stdout.contains("A2: look it over (day 1)"));
    let residue = on(12, "bathe quench 1 --reading \"strip 1\" --drew \"S16 200g\"");
    assert_eq!(residue.code, 1, "a residue is not proof");
    on(12, "bathe quench 1 --reading \"strip 0\"").ok();
    on(12, "bathe drain 1 --into sewer").fails(1, &["no rule on file"]);
    on(12, "bathe drain 1 --into sewer --permission \"letter of the island office\"").ok();
    // Day 19: two snails on A2, and an egg mass that was missed.
    on(19, "bathe look A1 --adults 0 --eggs 0 --damage 10%").ok();
    on(19, "bathe look A2 --adults 2 --eggs 1").ok();
    on(19, "bathe release A2").fails(1, &["--overrule"]);
    // Day 20: A2 into alum for two days, 160 g of S08.
    let soak =
        on(20, "--json bathe start alum-soak --bath 40L --lot A2 --kind rhizomes --who keeper --at 08:00 --ph 3.4")
            .json();
    let taken = soak.to_string();
    assert!(taken.contains("S08"), "{taken}");
    on(22, "bathe stop A2 --at 08:00").ok();
    for day in [29, 43] {
        on(day, "bathe look A2 --adults 0 --eggs 0").ok();
    }
    on(33, "bathe look A1 --adults 0 --eggs 0").ok();
    on(33, "bathe release A1").ok();
    // Day 27: at most 110 seconds from now on; the helper has to read it again.
    on(44, "dips revise bleach-fine-leaved --minutes \"max 110 s\" --because \"a load overran and leaves browned\"")
        .ok();
    let again = on(44, "dips signed bleach-fine-leaved");
    assert!(again.stdout.contains("Saturday helper"), "{again:?}");
    let own = on(44, "--json dips alum-soak").json()["dips"][0]["own"].to_string();
    assert!(own.contains("rhizomes"), "{own}");
    on(44, "verify").ok();
}
