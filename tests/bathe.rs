//! Whole commands of `bathe`: made up, loaded, taken out, ended, drained, looked over, withdrawn; every refusal.

use std::fs;
use std::io::Read;
use std::process::Stdio;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::harness::{Bench, Ran};

const DAY: &str = "2031-03-03";

/// Alum, peroxide, bleach and thiosulfate at 20 °C, and a vessel of 10 L; entered once and copied.
fn shelf() -> Bench {
    static ENTERED: OnceLock<Vec<u8>> = OnceLock::new();
    let register = ENTERED.get_or_init(|| {
        let bench = Bench::new();
        for line in [
            "receive potassium-alum 1kg --at cupboard",
            "receive hydrogen-peroxide \"3 % w/v\" 5L --at cupboard",
            "receive sodium-hypochlorite \"5.25 % w/w\" 2L --at cupboard",
            "receive sodium-thiosulfate 1kg --at cupboard",
            "measure add T10 vessel 10L",
        ] {
            bench.on("2031-03-01", line).ok();
        }
        fs::read(bench.register()).expect("a register")
    });
    let bench = Bench::bare();
    fs::write(bench.register(), register).expect("a copy of the register");
    bench
}

fn bathe(bench: &Bench, day: &str, line: &str) -> Ran {
    bench.on(day, &format!("--json bathe {line}"))
}

#[track_caller]
fn entered(bench: &Bench, day: &str, line: &str) -> Value {
    let ran = bathe(bench, day, line);
    assert_eq!(ran.code, 0, "{line}: {ran:?}");
    ran.json()
}

fn left(bench: &Bench, stock: &str) -> f64 {
    bench.on("2031-06-01", &format!("--json show {stock}")).json()["left"]["value"].as_f64().expect("an amount")
}

fn start(lot: &str, at: &str) -> String {
    format!("start alum-short --bath 10L --lot {lot} --kind fine-leaved --at {at}")
}

#[track_caller]
fn warned(answer: &Value, words: &str) {
    assert!(answer["warnings"].to_string().contains(words), "{words}: {answer}");
}

#[test]
fn a_start_draws_the_dose_and_tells_when_it_ends() {
    let bench = shelf();
    let dose = bench.on(DAY, "--json dose alum-short --bath 10L").json();
    let line = "start alum-short --bath 10L --lot A1 --plants \"60 bundles\" --kind fine-leaved --who R --water 16 --ph 7.2 --dirt 1 --at 14:00";
    let answer = entered(&bench, DAY, line);
    assert_eq!(answer["taken"][0]["stock"], "PA-1");
    assert_eq!(answer["taken"][0]["value"], dose["doses"][0]["value"]);
    let taken = answer["taken"][0]["value"].as_f64().unwrap();
    assert!((left(&bench, "PA-1") - (1000.0 - taken)).abs() < 1e-6);
    assert_eq!(answer["in_for_seconds"], json!({"low": 7200, "high": 10_800}));
    assert_eq!(answer["out_from"], "2031-03-03T16:00:00");
    assert_eq!(answer["out_by"], "2031-03-03T17:00:00");
    assert_eq!(answer["verdict"], "ready");
    let days: Vec<&str> =
        answer["looks"].as_array().unwrap().iter().map(|look| look["day"].as_str().unwrap()).collect();
    assert_eq!(days, ["2031-03-10", "2031-03-17", "2031-03-24", "2031-03-31"]);
    let shown = entered(&bench, DAY, "show a1");
    let load = &shown["loads"][0];
    for (field, value) in [
        ("lot", json!("A1")),
        ("plants", json!("60 bundles")),
        ("kind", json!("fine-leaved")),
        ("who", json!("R")),
        ("water_c", json!(16.0)),
        ("ph", json!(7.2)),
        ("dirt", json!(1)),
        ("version", json!(1)),
        ("started", json!("2031-03-03T14:00:00")),
        ("ended", Value::Null),
    ] {
        assert_eq!(load[field], value, "{field}");
    }
    let journal = bench.on(DAY, "show PA-1").ok();
    assert!(journal.contains("taken"), "{journal}");
}

#[test]
fn both_ends_of_the_time_belong_to_it() {
    let bench = shelf();
    let bath = entered(&bench, DAY, &start("A1", "08:00"))["bath"].as_i64().unwrap();
    for (index, (after, over, short)) in
        [("7200s", 0, 0), ("7199s", 0, 1), ("3h", 0, 0), ("10801s", 1, 0)].into_iter().enumerate()
    {
        if index > 0 {
            entered(&bench, DAY, &format!("load {bath} --lot A{} --at 08:30", index + 1));
        }
        let answer = entered(&bench, DAY, &format!("stop A{} --after {after}", index + 1));
        assert_eq!((&answer["over_seconds"], &answer["short_seconds"]), (&json!(over), &json!(short)), "{after}");
    }
    let text = bench.on(DAY, &format!("bathe load {bath} --lot B --at 09:00")).ok();
    assert!(text.contains("load 5 of this bath"), "{text}");
    let text = bench.on(DAY, "bathe stop B --at 13:00").ok();
    assert!(text.contains("OVERRUN: 1 h longer"), "{text}");
    // 0.3333 minutes of the book are 20 seconds, and 20 seconds are not over.
    bench.on("2031-03-01", "receive sodium-chloride 5kg --at cupboard").ok();
    bench.on(DAY, "bathe start salt-flash --bath 10L --lot S --at 09:00 --overrule trial").ok();
    assert_eq!(entered(&bench, DAY, "stop S --at 09:00:20")["over_seconds"], 0);
}

#[test]
fn what_was_really_taken_is_entered_as_it_was() {
    let bench = shelf();
    let line = "start peroxide-weak --bath 10L --lot A1 --drew \"HP-1 307mL\" --date 2031-03-02 --at 14:05:30";
    let answer = entered(&bench, DAY, line);
    assert_eq!((&answer["taken"][0]["value"], &answer["verdict"]), (&json!(307.0), &Value::Null));
    assert_eq!(answer["started"], "2031-03-02T14:05:30");
    assert!((left(&bench, "HP-1") - 4693.0).abs() < 1e-6);
    warned(&entered(&bench, DAY, "start alum-short --bath 10L --lot A2 --drew \"PA-1 1g\" --at 14:00"), "weaker");
    let alum = "start alum-short --bath 10L --lot A3 --at 14:00";
    bathe(&bench, DAY, &format!("{alum} --drew \"HP-1 10mL\"")).fails(2, &["potassium-alum"]);
    bathe(&bench, DAY, &format!("{alum} --drew \"PA-1 5kg\"")).fails(2, &["only", "were left"]);
    bathe(&bench, DAY, &format!("{alum} --drew PA-1")).fails(2, &["stock and amount"]);
    bathe(&bench, DAY, &format!("{alum} --drew \"PA-1 1g\" --drew \"PA-1 2g\"")).fails(2, &["twice"]);
    assert!((left(&bench, "PA-1") - 999.0).abs() < 1e-6, "a refusal takes nothing");
    assert_eq!(bathe(&bench, DAY, "show A3").code, 2, "a refusal writes nothing");
}

#[test]
fn a_bath_that_is_not_ready_wants_a_reason_and_keeps_it() {
    let bench = shelf();
    let line = "start alum-short --bath 200L --lot A1 --at 14:00";
    bathe(&bench, DAY, line).fails(1, &["not ready", "short", "--overrule", "nothing was written"]);
    let answer = entered(&bench, DAY, &format!("{line} --drew \"PA-1 1kg\""));
    warned(&answer, "weaker");
    let bench = shelf();
    let answer = entered(&bench, DAY, &format!("{line} --overrule \"a trial\""));
    warned(&answer, "overruled: short");
    assert_eq!(answer["overruled"], "a trial");
    assert_eq!(entered(&bench, DAY, "show A1")["loads"][0]["overruled"], "a trial");
}

#[test]
fn warnings_stop_nobody() {
    let bench = shelf();
    fs::write(
        bench.folder().join("local.toml"),
        "[[strength]]\nreagent = \"potassium-alum\"\nmost = \"0.5 % w/w\"\nasked = \"the office\"\non = \"2031-01-05\"\nanswer = \"half a per cent\"\n",
    )
    .unwrap();
    let ran = bathe(&bench, DAY, &start("A1", "14:00"));
    assert_eq!(ran.code, 0, "{ran:?}");
    warned(&ran.json(), "local limit");
    entered(&bench, DAY, "stop A1 --after 2h");
    fs::write(bench.folder().join("local.toml"), "nonsense").unwrap();
    warned(&entered(&bench, DAY, &start("A2", "14:00")), "local rules not looked at");
    fs::remove_file(bench.folder().join("local.toml")).unwrap();
    let again = entered(&bench, "2031-03-06", &start("a1", "09:00"));
    warned(&again, "was in `alum-short` 3 days before");
    assert_eq!(again["lot"], "A1", "a lot keeps its spelling");
}

#[test]
fn a_time_is_the_clock_s_or_is_said() {
    let bench = shelf();
    let line = "start alum-short --bath 10L --lot A1";
    bathe(&bench, DAY, line).fails(2, &["at what time on 2031-03-03", "--at 14:05"]);
    bathe(&bench, DAY, &format!("{line} --at 25:00")).fails(2, &["HH:MM"]);
    bathe(&bench, DAY, &format!("{line} --at 14:00 --date 2031-03-04")).fails(2, &["future"]);
    bathe(&bench, DAY, &format!("{line} --at 14:00 --watch")).fails(2, &["nothing can be watched"]);
    bathe(&bench, DAY, &format!("{line} --at 14:00 --who x@y.z")).fails(2, &["address"]);
    bathe(&bench, DAY, &format!("{line} --at 14:00 --who \"06 12 34\"")).fails(2, &["number to ring"]);
    bathe(&bench, DAY, "start alum-short --bath 10L --lot 12 --at 14:00").fails(2, &["number of an entry"]);
    bathe(&bench, DAY, &format!("{line} --at 14:00 --dirt 4")).fails(2, &["4"]);
    bathe(&bench, DAY, &format!("{line} --at 14:00 --ph 15")).fails(2, &["0 to 14"]);
}

#[test]
fn what_cannot_be_is_refused_with_all_that_there_is_to_say() {
    let bench = shelf();
    bathe(&bench, DAY, "stop A1 --at 14:00").fails(2, &["no lot `A1`"]);
    bathe(&bench, DAY, "look A1 --adults 0 --eggs 0").fails(2, &["no lot `A1`", "first bath"]);
    bathe(&bench, DAY, "start alum-short --bath 12L --in T10 --lot A1 --at 14:00")
        .fails(2, &["larger than the vessel"]);
    bathe(&bench, DAY, "load 7 --lot A1 --at 14:00").fails(2, &["no bath 7"]);
    bathe(&bench, DAY, "watch").fails(2, &["no lot is in a bath"]);
    let bath = entered(&bench, DAY, &start("A1", "14:00"))["bath"].as_i64().unwrap();
    let larger = "start alum-short --bath 900L --lot A1 --at 14:30";
    bathe(&bench, DAY, larger).fails(2, &["A1 is in bath 1"]);
    bathe(&bench, DAY, &start("A1", "14:30")).fails(2, &["A1 is in bath 1 since 2031-03-03 14:00", "bathe stop A1"]);
    bathe(&bench, DAY, &format!("load {bath} --lot A2 --at 13:59")).fails(2, &["made up on 2031-03-03 14:00"]);
    bathe(&bench, DAY, "stop A1 --at 13:59").fails(2, &["went in on 2031-03-03 14:00"]);
    bathe(&bench, DAY, "stop A1 --after soon").fails(2, &["175s"]);
    bathe(&bench, DAY, &format!("drain {bath} --into sewer --permission W")).fails(2, &["A1 is in bath 1"]);
    bathe(&bench, DAY, &format!("quench {bath} --reading 0")).fails(2, &["A1 is in bath 1"]);
    bathe(&bench, DAY, "destroy A1 --because x").fails(2, &["A1 is in bath 1"]);
    bathe(&bench, DAY, "release A1 --overrule x").fails(2, &["A1 is in bath 1"]);
    entered(&bench, DAY, "stop A1 --at 16:00");
    bathe(&bench, DAY, "stop A1 --at 16:00").fails(2, &["came out of bath 1 on 2031-03-03 16:00"]);
    bathe(&bench, DAY, &start("A1", "15:00")).fails(2, &["was in bath 1 from 2031-03-03 14:00 to 2031-03-03 16:00"]);
    bathe(&bench, DAY, "look A1 --adults 0 --eggs 0 --date 2031-03-02")
        .fails(2, &["first bath was on 2031-03-03 14:00"]);
    entered(&bench, DAY, "destroy A1 --because \"leaves gone\" --witness inspector");
    bathe(&bench, "2031-03-05", &start("A1", "15:00")).fails(2, &["was destroyed on 2031-03-03", "another name"]);
    bathe(&bench, "2031-03-05", "look A1 --adults 0 --eggs 0").fails(2, &["was destroyed on 2031-03-03"]);
    bathe(&bench, "2031-03-05", "show A9").fails(2, &["lots: A1"]);
    assert_eq!(entered(&bench, DAY, "show A1")["left"]["witness"], "inspector");
}

#[test]
fn a_load_that_is_entered_late_may_lie_before_another() {
    let bench = shelf();
    entered(&bench, DAY, &start("A1", "14:00"));
    entered(&bench, DAY, "stop A1 --at 16:00");
    entered(&bench, DAY, &format!("{} --date 2031-03-01", start("A1", "10:00")));
    bathe(&bench, DAY, "stop A1 --date 2031-03-03 --at 14:10").fails(2, &["A1 was in bath"]);
    entered(&bench, DAY, "stop A1 --date 2031-03-01 --at 12:00");
    let shown = entered(&bench, DAY, "show A1");
    assert_eq!(shown["loads"][0]["started"], "2031-03-01T10:00:00");
    let before = entered(&bench, "2031-03-02", "show A1");
    assert_eq!(before["loads"].as_array().unwrap().len(), 1, "as it stood on that day");
}

#[test]
fn a_bath_is_ended_by_a_reading_of_nothing() {
    let bench = shelf();
    let answer = entered(&bench, DAY, "start \"bleach-gear\" --bath 10L --lot N1 --at 10:00");
    let bath = answer["bath"].as_i64().unwrap();
    assert!(answer["neutraliser"]["grams_planned"].as_f64().unwrap() > 0.0);
    entered(&bench, DAY, "stop N1 --after 30min");
    let planned =
        bench.on(DAY, "--json quench bleach-gear --bath 10L --with sodium-thiosulfate").json()["grams_planned"]
            .as_f64()
            .unwrap();
    bathe(&bench, DAY, &format!("drain {bath} --into sewer --permission W-1")).fails(1, &["no reading is on file"]);
    let first = bathe(&bench, DAY, &format!("quench {bath} --reading \"strip 5\" --ph 8 --who R"));
    assert_eq!(first.code, 1, "{first:?}");
    let first = first.json();
    assert_eq!((&first["proven"], &first["taken"][0]["stock"]), (&json!(false), &json!("TS-1")));
    assert!((first["planned"]["grams_planned"].as_f64().unwrap() - planned).abs() < 1e-3 * planned);
    let taken = first["taken"][0]["value"].as_f64().unwrap();
    assert!(taken >= planned * 0.99, "{taken} of {planned}");
    bathe(&bench, DAY, &format!("load {bath} --lot N2 --at 11:00")).fails(2, &["was ended on"]);
    bathe(&bench, DAY, &format!("quench {bath} --reading \"strip 5\" --proven yes")).fails(2, &["something is left"]);
    bathe(&bench, DAY, &format!("drain {bath} --into sewer --permission W-1")).fails(1, &["strip 5"]);
    let second = entered(&bench, DAY, "quench N1 --reading \"strip 0 mg/L\" --drew \"TS-1 10g\"");
    assert_eq!(second["proven"], true);
    assert!((left(&bench, "TS-1") - (1000.0 - taken - 10.0)).abs() < 1e-6);
    bathe(&bench, DAY, &format!("quench {bath} --reading 0")).fails(2, &["was ended on"]);
    let shown = entered(&bench, DAY, &format!("show {bath}"));
    assert_eq!(shown["quenched"].as_array().unwrap().len(), 2);
    assert_eq!(shown["taken"].as_array().unwrap().len(), 3, "{shown}");
    let entry = second["entry"].as_i64().unwrap();
    entered(&bench, DAY, &format!("withdraw {entry} --because \"read the wrong bath\""));
    assert!((left(&bench, "TS-1") - (1000.0 - taken)).abs() < 1e-6, "only that row's ten grams are back");
    bathe(&bench, DAY, &format!("drain {bath} --into sewer --permission W-1")).fails(1, &["strip 5"]);
    let overruled = format!("drain {bath} --into sewer --permission W-1 --overrule \"strip lost\"");
    warned(&entered(&bench, DAY, &overruled), "overruled: nothing proves");
    let bench = shelf();
    entered(&bench, DAY, &start("A1", "14:00"));
    entered(&bench, DAY, "stop A1 --after 2h");
    let readings = [
        ("not clear", false),
        ("faint pink", false),
        ("0.1", false),
        ("hm", false),
        ("0 or 1", false),
        // Chlorine cannot be seen: water with bleach in it is clear.
        ("clear", false),
        ("no pink or purple", false),
        ("strip 0", true),
    ];
    for (reading, proven) in readings {
        let ran = bathe(&bench, DAY, &format!("quench A1 --reading \"{reading}\""));
        assert_eq!((ran.json()["proven"].as_bool(), ran.code), (Some(proven), i32::from(!proven)), "{reading}");
    }
}

#[test]
fn nobody_is_asked_to_wait_for_a_reading_that_never_falls() {
    let bench = shelf();
    let bath = entered(&bench, DAY, &start("A1", "14:00"))["bath"].as_i64().unwrap();
    entered(&bench, DAY, "stop A1 --after 2h");
    // Alum: a salt of aluminium, which nothing destroys (`hazards/neutralise.toml`). It may go where the local rule lets it.
    let ran = bathe(&bench, DAY, "quench A1 --reading \"strip 5\"");
    assert_eq!(ran.code, 1, "{ran:?}");
    let (told, next) = (ran.json(), ran.json()["next_step"].as_str().unwrap().to_owned());
    assert!(next.contains("it leaves as it is") && next.contains(&format!("drain {bath} --into")), "{next}");
    assert!(next.contains("do not wait for a reading of 0") && !next.contains("read again"), "{next}");
    assert!(
        told["warnings"].to_string().contains("Nothing to destroy") && !told.to_string().contains("--drew"),
        "{told}"
    );
    // Copper, another that does not fade, goes to whoever is licensed to take it.
    bench.on(DAY, "receive copper-sulfate 100g --at cupboard").ok();
    let own = "dips add copper-rinse --name \"Copper rinse\" --reagent copper-sulfate --low \"8 mg/L\" --aim \"10 mg/L\" \
               --high \"12 mg/L\" --minutes 10 --water 15-25 --used-for \"pots, tried here\" --bathed gear --plants none \
               --caution Gloves --evidence tried --not-shown eggs --steps none --because tried";
    bench.on(DAY, own).ok();
    entered(&bench, DAY, "start copper-rinse --bath 10L --lot C1 --at 10:00 --overrule tried");
    entered(&bench, DAY, "stop C1 --after 10min");
    let next = bathe(&bench, DAY, "quench C1 --reading \"strip 3\"").json()["next_step"].to_string();
    assert!(next.contains("--into handed-over") && next.contains("do not wait"), "{next}");
    // Peroxide falls apart by itself: there a wait is of use.
    entered(&bench, DAY, "start peroxide-weak --bath 10L --lot P1 --at 10:00 --overrule tried");
    entered(&bench, DAY, "stop P1 --after 10min");
    let next = bathe(&bench, DAY, "quench P1 --reading \"strip 3\"").json()["next_step"].to_string();
    assert!(next.contains("not ended: wait, read again"), "{next}");
    // Its end is read twice (`hazards/neutralise.toml`): that stands there though the first reading was a 0.
    let told = bench.on(DAY, "bathe quench P1 --reading \"strip 0\"").ok();
    assert!(told.contains("proof: ") && told.contains("on two days running"), "{told}");
}

#[test]
fn what_has_a_colour_may_be_read_by_eye() {
    let bench = shelf();
    bench.on(DAY, "receive potassium-permanganate 100g --at cupboard").ok();
    bench.on(DAY, "receive ascorbic-acid 100g --at cupboard").ok();
    entered(&bench, DAY, "start permanganate-bulletin --bath 5L --lot K1 --at 10:00 --overrule tried");
    entered(&bench, DAY, "stop K1 --after 10min");
    for (reading, told) in [("pink", "mg)"), ("clear?", "--proven yes"), ("clear above, brown settled", "NOT ENDED")] {
        let ran = bench.on(DAY, &format!("bathe quench K1 --reading \"{reading}\""));
        assert!(ran.code == 1 && ran.stdout.contains(told) && !ran.stdout.contains("planned 0 g"), "{ran:?}");
    }
    bench.on(DAY, "bathe quench K1 --reading \"pink\" --proven yes").fails(2, &["something is left"]);
    bench.on(DAY, "bathe quench K1 --reading \"no pink, clear\"").ok();
}

#[test]
fn a_drain_wants_a_permission_and_open_water_never() {
    let bench = shelf();
    let bath = entered(&bench, DAY, &start("A1", "14:00"))["bath"].as_i64().unwrap();
    entered(&bench, DAY, "stop A1 --after 2h");
    let drain = |into: &str| format!("drain {bath} --into {into}");
    for into in ["open-water", "septic"] {
        bathe(&bench, DAY, &format!("{} --permission W --overrule x", drain(into))).fails(1, &["never goes into"]);
    }
    bathe(&bench, DAY, &drain("sewer")).fails(1, &["no rule on file", "--permission"]);
    let rules = |allowed: bool, reagent: &str| {
        let text = format!(
            "[[drain]]\nreagent = \"{reagent}\"\ninto = \"sewer\"\nallowed = {allowed}\nasked = \"the water board\"\non = \"2031-02-05\"\nreference = \"letter W-17\"\nanswer = \"so it is\"\n"
        );
        fs::write(bench.folder().join("local.toml"), text).unwrap();
    };
    rules(false, "potassium-alum");
    bathe(&bench, DAY, &format!("{} --overrule x", drain("sewer"))).fails(1, &["the water board", "may not go"]);
    rules(true, "potassium-alum");
    let answer = entered(&bench, DAY, &drain("sewer"));
    assert_eq!(answer["permission"], "letter W-17");
    bathe(&bench, DAY, &drain("handed-over")).fails(2, &["was drained on"]);
    let entry = answer["entry"].as_i64().unwrap();
    entered(&bench, DAY, &format!("withdraw {entry} --because \"not yet\""));
    rules(true, "hydrogen-peroxide");
    warned(&entered(&bench, DAY, &format!("{} --overrule \"asked by telephone\"", drain("sewer"))), "no rule on file");
}

#[test]
fn a_lot_is_looked_over_and_leaves() {
    let bench = shelf();
    entered(&bench, DAY, &start("A1", "14:00"));
    entered(&bench, DAY, "stop A1 --after 2h");
    bathe(&bench, "2031-03-20", "release A1").fails(1, &["not looked over since its last bath", "--overrule"]);
    let look =
        entered(&bench, "2031-03-10", "look A1 --adults 2 --eggs 1 --damage 10% --photo a1.jpg --who R --note snails");
    warned(&look, "a1.jpg");
    fs::write(bench.folder().join("a1.jpg"), "x").unwrap();
    let look = entered(&bench, "2031-03-11", "look A1 --adults 0 --eggs 0 --photo a1.jpg");
    assert_eq!(look["warnings"], json!([]));
    // Day 13 is too early, day 14 is late enough: eggs were found to hatch up to day 14.
    entered(&bench, "2031-03-16", "look A1 --adults 0 --eggs 0");
    bathe(&bench, "2031-03-16", "release A1").fails(1, &["day 13", "day 14"]);
    let listed = entered(&bench, "2031-03-17", "list");
    assert_eq!((&listed["lots"][0]["due"], &listed["lots"][0]["next_look"]["after_days"]), (&json!(true), &json!(14)));
    entered(&bench, "2031-03-17", "look A1 --adults 0 --eggs 0");
    let listed = entered(&bench, "2031-03-17", "list");
    assert_eq!((&listed["lots"][0]["due"], &listed["lots"][0]["next_look"]["after_days"]), (&json!(false), &json!(21)));
    entered(&bench, "2031-03-17", "release A1 --because \"day 14\"");
    let shown = entered(&bench, "2031-03-18", "show A1");
    assert_eq!((&shown["left"]["how"], &shown["next_look"]), (&json!("released"), &Value::Null));
    assert_eq!(shown["looks"][0]["damage_percent"], 10.0);
    assert_eq!(entered(&bench, "2031-03-16", "show A1")["left"], Value::Null, "as it stood on that day");
    for line in ["look A1 --adults=-1 --eggs 0", "look A1 --adults 0 --eggs 0 --damage 101"] {
        assert_eq!(bathe(&bench, "2031-03-16", line).code, 2, "{line}");
    }
}

#[test]
fn what_is_withdrawn_was_never_there() {
    let bench = shelf();
    let before = left(&bench, "PA-1");
    let row = entered(&bench, DAY, &start("A1", "14:00"))["entry"].as_i64().unwrap();
    let stop = entered(&bench, DAY, "stop A1 --after 2h")["entry"].as_i64().unwrap();
    let look = entered(&bench, "2031-03-10", "look A1 --adults 0 --eggs 0")["entry"].as_i64().unwrap();
    let withdraw = |row: i64| bathe(&bench, "2031-03-11", &format!("withdraw {row} --because \"other tray\""));
    withdraw(row).fails(2, &[&format!("entry {stop} rests on"), &format!("bathe withdraw {stop}")]);
    assert_eq!(withdraw(stop).code, 0);
    withdraw(row).fails(2, &[&format!("entry {look} would then be wrong")]);
    assert!(left(&bench, "PA-1") < before);
    assert_eq!(withdraw(look).code, 0);
    let back = withdraw(row);
    assert!(back.json()["done"].as_str().unwrap().contains("back in PA-1"), "{back:?}");
    assert!((left(&bench, "PA-1") - before).abs() < 1e-9, "the alum is back");
    withdraw(row).fails(2, &["withdrawn already"]);
    withdraw(99).fails(2, &["entry 99", "none"]);
    let last = back.json()["entry"].as_i64().unwrap();
    withdraw(last).fails(2, &["withdraws another"]);
    bathe(&bench, "2031-03-11", "show A1").fails(2, &["no lot `A1`"]);
    assert_eq!(entered(&bench, DAY, &start("A1", "14:00"))["lot"], "A1");
}

#[test]
fn the_book_of_a_dip_tells_the_keepers_own_results() {
    let bench = shelf();
    let own = || bench.on("2031-06-01", "--json dips alum-short").json()["dips"][0]["own"].clone();
    assert_eq!(own(), json!([]));
    // Six lots: five with nothing on day 21, one with eggs; a seventh looked over on day 20 does not count.
    let bath = entered(&bench, DAY, &start("L1", "08:00"))["bath"].as_i64().unwrap();
    for lot in 2..=7 {
        entered(&bench, DAY, &format!("load {bath} --lot L{lot} --kind Fine-leaved --at 08:00"));
    }
    for lot in 1..=7 {
        let after = if lot == 6 { "4h" } else { "2h" };
        entered(&bench, DAY, &format!("stop L{lot} --after {after}"));
        let (day, eggs) = match lot {
            6 => ("2031-03-24", 2),
            7 => ("2031-03-23", 0),
            _ => ("2031-03-24", 0),
        };
        entered(&bench, day, &format!("look L{lot} --adults 0 --eggs {eggs}"));
    }
    let found = own();
    assert_eq!(found.as_array().unwrap().len(), 1, "{found}");
    let row = &found[0];
    assert_eq!((&row["kind"], &row["clear"], &row["looked"]), (&json!("fine-leaved"), &json!(5), &json!(6)));
    assert_eq!((&row["overrun"], &row["overrun_clear"]), (&json!(1), &json!(0)));
    // Computed apart from the program: 0.4364972 and 0.9699466.
    assert!((row["low"].as_f64().unwrap() - 0.436_497).abs() < 1e-6);
    assert!((row["high"].as_f64().unwrap() - 0.969_947).abs() < 1e-6);
    let text = bench.on("2031-06-01", "dips alum-short").ok();
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains(
            "5 of 6 lots without snails or eggs at the last look, day 21 or later: 44 to 97 %; 1 of them ran over, 0"
        ),
        "{flat}"
    );
    let before = bench.on("2031-03-23", "--json dips alum-short").json();
    assert_eq!(before["dips"][0]["own"], json!([]), "as it stood on that day");
}

#[test]
fn a_lost_terminal_loses_nothing() {
    let bench = Bench::bare();
    for line in ["new", "place add cupboard --temp 20 --light dark", "receive potassium-alum 1kg --at cupboard"] {
        let words = crate::harness::words(line);
        bench.run(&words.iter().map(String::as_str).collect::<Vec<_>>()).ok();
    }
    let mut child = bench
        .command()
        .args(["--json", "bathe", "start", "alum-short", "--bath", "10L", "--lot", "A1", "--watch"])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let begun = Instant::now();
    loop {
        let listed = bench.run(&["--json", "bathe", "list"]).json();
        if listed["running"].as_array().is_some_and(|running| !running.is_empty()) {
            break;
        }
        assert!(begun.elapsed() < Duration::from_secs(20), "the start was never written");
    }
    assert!(child.try_wait().unwrap().is_none(), "it counts down for two hours");
    let (stdout, stderr) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
    let (said, answer) = std::sync::mpsc::channel();
    let (counted, told) = std::sync::mpsc::channel();
    std::thread::spawn(move || said.send(serde_json::Deserializer::from_reader(stdout).into_iter::<Value>().next()));
    std::thread::spawn(move || {
        let mut text = String::new();
        for byte in std::io::BufReader::new(stderr).bytes().map_while(Result::ok) {
            text.push(char::from(byte));
            if text.ends_with(" left") {
                break;
            }
        }
        counted.send(text)
    });
    let answer = answer.recv_timeout(Duration::from_secs(20)).expect("the answer comes before the countdown");
    let told = told.recv_timeout(Duration::from_secs(20)).expect("it counts down");
    child.kill().unwrap();
    child.wait().unwrap();
    let answer = answer.expect("an answer").expect("a JSON object");
    assert!(told.contains("A1 in alum-short: ") && told.contains(" left"), "{told}");
    let listed = bench.run(&["--json", "bathe", "list"]).json();
    assert_eq!(listed["running"][0]["lot"], "A1");
    assert_eq!(listed["running"][0]["started"], answer["started"]);
    assert_eq!(listed["running"][0]["in_for_seconds"]["low"], 7200);
    bench.run(&["bathe", "stop", "A1"]).ok();
    bench.run(&["bathe", "watch", "A1"]).fails(2, &["A1 is in no bath"]);
}

#[test]
fn a_load_that_ran_over_is_rung_and_told_once_into_a_pipe() {
    let bench = Bench::bare();
    for line in ["new", "place add cupboard --temp 20 --light dark"] {
        let words = crate::harness::words(line);
        bench.run(&words.iter().map(String::as_str).collect::<Vec<_>>()).ok();
    }
    let received = ["receive", "potassium-alum", "1kg", "--at", "cupboard", "--date", "2026-01-01"];
    bench.run(&received).ok();
    let start =
        ["bathe", "start", "alum-short", "--bath", "10L", "--lot", "A1", "--date", "2026-01-02", "--at", "00:00"];
    bench.run(&start).ok();
    let ran = bench.run(&["bathe", "watch"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(ran.stdout.contains("A1 in bath 1") && ran.stderr.starts_with('\u{7}'), "{ran:?}");
    assert_eq!(ran.stderr.matches("TAKE OUT NOW").count(), 1, "{ran:?}");
    let text = bench.run(&["bathe", "list"]).ok();
    assert!(text.contains("TAKE OUT NOW") && text.contains("over"), "{text}");
}

#[test]
fn names_are_short_and_nobody_s_address() {
    use brimstock::dip::log::name::{lot, same, who};
    let [thirty, more] = [30, 31].map(|length| "a".repeat(length));
    assert_eq!(lot(&format!(" {thirty} ")), Ok(thirty.clone()));
    for wrong in ["", " ", &more, "a\nb", "a@b", "7", "-a", "a`b"] {
        assert!(lot(wrong).is_err(), "{wrong}");
    }
    assert_eq!((who("R2 shift 041").is_ok(), who("R2 shift 0412").is_ok()), (true, false), "four digits, five digits");
    assert!(who(&thirty).is_ok() && who(&more).is_err() && who("x@y").is_err() && who("a\tb").is_err());
    assert!(same("a1", "A1") && !same("A1", "A2"));
}

#[test]
fn water_is_warned_of_outside_the_dip_s_own_range() {
    use brimstock::commands::bathe::warnings::water;
    use brimstock::dip::log::Load;
    let mut dip = brimstock::catalogue::Catalogue::shipped().unwrap().dip("alum-short").unwrap().clone();
    let at = chrono::NaiveDate::from_ymd_opt(2031, 3, 3).unwrap().and_hms_opt(14, 0, 0).unwrap();
    let load =
        |water_c| Load { lot: "A1".to_owned(), plants: None, kind: None, at, who: None, water_c, ph: None, dirt: None };
    assert_eq!(water(&dip, &load(Some(2.0))), None, "the dip names no range");
    dip.water_c = Some([15.0, 25.0]);
    for (celsius, word) in [(14.9, Some("colder")), (15.0, None), (25.0, None), (25.1, Some("warmer"))] {
        let told = water(&dip, &load(Some(celsius)));
        assert_eq!(told.is_some(), word.is_some(), "{celsius}");
        assert!(told.unwrap_or_default().contains(word.unwrap_or_default()), "{celsius}");
    }
    assert_eq!(water(&dip, &load(None)), None);
}

#[test]
fn the_time_of_an_end_and_of_a_drain_is_kept_where_it_is_said() {
    let bench = shelf();
    let bath = entered(&bench, DAY, "start \"bleach-gear\" --bath 10L --lot N1 --at 10:00")["bath"].as_i64().unwrap();
    entered(&bench, DAY, "stop N1 --after 30min");
    // Plants came out at 10:30: both sides of it.
    let early = bathe(&bench, DAY, &format!("quench {bath} --reading 0 --at 10:29:59"));
    early.fails(2, &["plants came out of that bath", "10:30", "nothing was written"]);
    assert_eq!(entered(&bench, DAY, &format!("quench {bath} --reading 0 --at 10:30"))["at"], "10:30:00");
    entered(&bench, DAY, &format!("drain {bath} --into sewer --permission W-1"));
    let shown = entered(&bench, DAY, &format!("show {bath}"));
    assert_eq!((&shown["quenched"][0]["at"], &shown["drained"]["at"]), (&json!("10:30:00"), &Value::Null));
    let entry = shown["drained"]["entry"].as_i64().unwrap();
    entered(&bench, DAY, &format!("withdraw {entry} --because \"the hour was forgotten\""));
    entered(&bench, DAY, &format!("drain {bath} --into sewer --permission W-1 --at 11:05"));
    let shown = bench.on(DAY, &format!("bathe show {bath}")).ok();
    assert!(shown.contains("2031-03-03 11:05: sewer, by W-1"), "{shown}");
    bathe(&bench, DAY, &format!("drain {bath} --into sewer --at 25:00")).fails(2, &["--at"]);
}

#[test]
fn a_bath_is_not_drained_before_what_was_left_of_it_was_tested() {
    let bench = shelf();
    let bath = entered(&bench, DAY, "start \"bleach-gear\" --bath 10L --lot N1 --at 10:00")["bath"].as_i64().unwrap();
    entered(&bench, DAY, "stop N1 --after 30min");
    entered(&bench, DAY, &format!("quench {bath} --reading 0 --at 10:50"));
    let drain = |at: &str| bathe(&bench, DAY, &format!("drain {bath} --into sewer --permission W-1 --at {at}"));
    drain("10:49:59").fails(2, &["was tested on", "10:50", "nothing was written"]);
    drain("10:50").ok();
}
