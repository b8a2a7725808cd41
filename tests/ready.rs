//! Whole commands about what is expected: the demo's consignments, plans in files and in the register, what to buy, and
//! several baths of one dip.

use serde_json::Value;

use crate::harness::{Bench, Ran};

/// Consignment A of the demo scenario.
const CONSIGNMENT_A: &str = "date,lot,dip,bath,baths,plants\n\
    2031-03-15,A1,bleach-fine-leaved,10L,4,60 fine-leaved bundles\n\
    2031-03-15,A2,bleach-robust,10L,2,25 rhizomes\n";

/// Consignment B.
const CONSIGNMENT_B: &str = "date,lot,dip,bath,baths\n2031-04-07,B1,peroxide-weak,10L,3\n";

fn ready_for(bench: &Bench, day: &str, plan: &str, more: &str) -> Ran {
    std::fs::write(bench.folder().join("plan.csv"), plan).expect("a plan");
    bench.on(day, &format!("{more} ready-for plan.csv"))
}

#[track_caller]
fn near(found: &Value, wanted: f64, tolerance: f64) {
    let found = found.as_f64().unwrap_or_else(|| panic!("{found} is no number"));
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
}

fn stock<'a>(answer: &'a Value, code: &str) -> Option<&'a Value> {
    answer["stocks"].as_array().expect("stocks").iter().find(|stock| stock["stock"] == code)
}

fn verdicts(answer: &Value) -> Vec<&str> {
    answer["baths"].as_array().expect("baths").iter().map(|bath| bath["verdict"].as_str().expect("a verdict")).collect()
}

/// Trade notes G, day 6: 4 x 10 L and 2 x 10 L at 2.7 g/L are 162 g of available chlorine and 1,199 g of thiosulfate; 160 g of
/// that are there.
#[test]
fn consignment_a_lacks_its_neutraliser() {
    let bench = Bench::demo();
    let ran = ready_for(&bench, "2031-03-09", CONSIGNMENT_A, "--json");
    assert_eq!(ran.code, 1, "{ran:?}");
    let answer = ran.json();
    assert_eq!(answer["ready"], false);
    assert_eq!(verdicts(&answer), ["short"; 6]);
    // Nothing is spent on baths that could not be stopped.
    assert_eq!(answer["stocks"], Value::Array(Vec::new()));
    assert!(answer["baths"][0]["reasons"][0].as_str().unwrap().contains("8 L is the most that can be stopped"));
    let needs = answer["needs"].as_array().unwrap();
    assert_eq!((&needs[0]["reagent"], &needs[0]["stops"]), (&"sodium-hypochlorite".into(), &false.into()));
    // 74.44 g of NaOCl bring 70.90 g of available chlorine.
    near(&needs[0]["grams"], 162.0 * 74.44 / 70.9, 0.05);
    near(&needs[0]["grams_missing"], 0.0, 0.0);
    near(&needs[1]["grams"], 162.0 * 7.4, 1e-6);
    near(&needs[1]["grams_on_shelf"], 160.0, 1e-9);
    near(&needs[1]["grams_missing"], 1038.8, 1e-3);
    let list = answer["shopping"].as_array().unwrap();
    assert_eq!(list.len(), 1);
    // The tub that came last held 160 g: 7 of them, 6 would be 960 g.
    assert_eq!(list[0]["reagent"], "sodium-thiosulfate");
    assert_eq!((&list[0]["containers"], &list[0]["label"]), (&7.into(), &"99 % w/w".into()));
    assert_eq!((&list[0]["from"], &list[0]["order_by"]), (&"2031-03-15".into(), &"2031-03-08".into()));
    assert_eq!((&list[0]["days_late"], &answer["delivery_assumed"]), (&1.into(), &true.into()));
    let text = bench.on("2031-03-09", "ready-for plan.csv").stdout;
    for words in
        ["0 of 6 baths ready", "4 x 10 L", "7 x 160 g of", "order at once", "it comes 1 day late", "[judgement]"]
    {
        assert!(text.contains(words), "{words}: {text}");
    }
    assert!(text.lines().count() <= 24, "{text}");
}

/// The same once 3 x 500 g have come on day 9, with the old bleach gone: 1.84 L of S06 at its label's 88.0 g/L. It came on
/// day -5 and stands at 21 °C, so that the program counts a little less in it on day 12 and takes up to 6 % more.
#[test]
fn consignment_a_takes_s06_and_thiosulfate() {
    let bench = Bench::demo();
    for _ in 0..3 {
        bench.on("2031-03-12", "receive sodium-thiosulfate \"99 %\" 500g --at chest").ok();
    }
    let both = ready_for(&bench, "2031-03-12", CONSIGNMENT_A, "--json");
    assert_eq!(both.code, 0, "{both:?}");
    // The oldest first: the scenario leaves S05 alone, the program empties it before S06.
    near(&stock(&both.json(), "S05").expect("S05")["left"]["value"], 0.0, 2.0);
    bench.on("2031-03-12", "retire S05 --because cleaning").ok();
    let answer = ready_for(&bench, "2031-03-12", CONSIGNMENT_A, "--json").json();
    assert_eq!(verdicts(&answer), ["ready"; 6]);
    let bleach = stock(&answer, "S06").expect("S06");
    let taken = bleach["taken"]["value"].as_f64().unwrap();
    assert!((1841.0..1.06 * 1841.0).contains(&taken), "{taken} mL");
    assert_eq!(bleach["baths"], 6);
    assert_eq!(bleach["strengths"][0]["date"], "2031-03-15");
    let strength = bleach["strengths"][0]["strength"]["value"].as_f64().unwrap();
    assert!((7.75..8.25).contains(&strength), "{strength}");
    // Six portions of 199.8 g: none is less, and a step of the scale at most is more.
    let salt = ["S13", "TS-1", "TS-2", "TS-3"]
        .map(|code| stock(&answer, code).map_or(0.0, |stock| stock["taken"]["value"].as_f64().unwrap()));
    let all: f64 = salt.iter().sum();
    assert!((1198.8 - 1e-6..1204.8).contains(&all), "{all} g");
    assert!(salt.iter().zip([160.0, 500.0, 500.0, 500.0]).all(|(taken, there)| *taken <= there));
    for bath in answer["baths"].as_array().unwrap() {
        assert_eq!(bath["stopping"]["enough"], true);
        let doses = bath["stopping"]["doses"].as_array().unwrap();
        let grams: f64 = doses.iter().map(|dose| dose["value"].as_f64().unwrap()).sum();
        assert!(grams >= 199.8 - 1e-3, "{grams} g");
    }
    assert_eq!(answer["baths"][5]["plants"], "25 rhizomes");
    assert_eq!(answer["shopping"], Value::Array(Vec::new()));
}

/// Day 35: the weakening S03 goes first and the second bottle of S01 stays sealed. The program's shelf still has S02, older
/// than S03 and tested, and 800 mL of S03: S01 need not be touched at all before those are nearly gone.
#[test]
fn consignment_b_takes_the_weakening_bottles_first() {
    let bench = Bench::demo();
    let answer = ready_for(&bench, "2031-04-07", CONSIGNMENT_B, "--json").json();
    assert_eq!(verdicts(&answer), ["ready"; 3]);
    assert!(stock(&answer, "S01").is_none() && stock(&answer, "S01B").is_none(), "{answer}");
    near(&stock(&answer, "S02").expect("S02")["left"]["value"], 0.0, 1e-9);
    bench.on("2031-04-07", "retire S02 --because \"no label\"").ok();
    // As in the scenario, S03 has enough for two: 141 mL each at the 106.6 g/L of its test, a month in the warm takes a tenth.
    bench.on("2031-04-07", "take S03 490mL").ok();
    let answer = ready_for(&bench, "2031-04-07", CONSIGNMENT_B, "--json").json();
    assert_eq!(verdicts(&answer), ["ready"; 3]);
    for bath in [0, 1] {
        let doses = answer["baths"][bath]["doses"].as_array().unwrap();
        assert_eq!((doses.len(), &doses[0]["stock"]), (1, &"S03".into()));
        let ml = doses[0]["value"].as_f64().unwrap();
        assert!((141.0..1.15 * 141.0).contains(&ml), "{ml} mL");
    }
    assert!(stock(&answer, "S01").is_some() && stock(&answer, "S01B").is_none(), "{answer}");
}

#[test]
fn every_fault_of_a_plan_is_told_by_row() {
    let bench = Bench::new();
    let plan = "date,lot,dip,bath,baths\n\
        2031-03-15,A1,bleach-fine-leafed,10L,1\n\
        15.3.2031,,peroxide-weak,10kg,0\n\
        \n\
        2031-02-30,A3,no such thing,ten,501\n\
        2031-02-28,A4,peroxide-weak,10L,1\n\
        2031-03-20,A5,peroxide-weak,10L,\n\
        2031-03-20,A5,peroxide-weak,16L,2\n\
        2031-03-20,A6,peroxide-weak,10L,1,8 pots,or so\n";
    let expected = [
        "plan.csv: 12 faults",
        "row 2, dip `bleach-fine-leafed`: there is no such dip; accepted: did you mean `bleach-fine-leaved`?",
        "row 3, date `15.3.2031`: it is no day of the calendar; accepted: a day as 2031-03-15, from 2031-03-01 on",
        "row 3, lot: it names no lot; accepted: 1 to 30 characters",
        "row 3, bath `10kg`: that is a mass; accepted: a number and a unit of volume",
        "row 3, baths `0`: it is no number of baths; accepted: 1 to 500",
        "row 5, date `2031-02-30`",
        "row 5, dip `no such thing`",
        "row 5, bath `ten`",
        "row 5, baths `501`",
        "row 6, date `2031-02-28`: it is past on 2031-03-01",
        "row 8, lot `A5`: row 7 has the same lot, dip and day",
        "row 9, row `7 fields`",
    ];
    ready_for(&bench, "2031-03-01", plan, "").fails(2, &expected);
    // The same with --keep: nothing is kept.
    bench.on("2031-03-01", "ready-for plan.csv --keep").fails(2, &["12 faults"]);
    bench.on("2031-03-01", "ready-for --plan").fails(2, &["no plan was kept by 2031-03-01", "--keep"]);
    let json = bench.on("2031-03-01", "--json ready-for plan.csv");
    assert!(json.stderr.contains("\"exit_code\":2") && json.stderr.contains("row 9"), "{json:?}");
}

#[test]
fn a_plan_without_its_columns_is_refused() {
    let bench = Bench::new();
    let day = "2031-03-01";
    ready_for(&bench, day, "", "").fails(2, &["row 1, file: it is empty", "date, lot, dip, bath"]);
    ready_for(&bench, day, "date,lot,dip,bath\n", "").fails(2, &["it has no row"]);
    ready_for(&bench, day, "date,lot,bath,bath,colour\n", "").fails(
        2,
        &[
            "3 faults",
            "column `dip`: it is missing",
            "column `bath`: it stands there twice",
            "`colour`: no such column",
        ],
    );
    bench.on(day, "ready-for nowhere.csv").fails(4, &["nowhere.csv cannot be read", "date, lot, dip, bath"]);
    std::fs::write(bench.folder().join("latin.csv"), b"date,lot,dip,bath\n2031-03-15,Caf\xe9,peroxide-weak,10L\n")
        .unwrap();
    bench.on(day, "ready-for latin.csv").fails(2, &["is no text in UTF-8"]);
    for line in
        ["ready-for", "ready-for plan.csv --plan", "ready-for --plan --keep", "ready-for plan.csv --delivery 366"]
    {
        assert_eq!(bench.on(day, line).code, 2, "{line}");
    }
}

#[test]
fn a_plan_is_kept_replaced_and_ends() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 1L --at cupboard").ok();
    // As a spreadsheet saves it: a mark before the first name, capitals, blanks, quotes, lines ended its own way.
    let plan = "\u{feff}Date, Lot,dip,bath,plants\r\n2031-03-10,A1,peroxide-weak,10 L,\"8 pots, tall\"\r\n,,,,\r\n";
    let ran = ready_for(&bench, "2031-03-02", plan, "--json");
    assert_eq!((ran.code, &ran.json()["kept"]), (0, &false.into()), "{ran:?}");
    bench.on("2031-03-02", "ready-for --plan").fails(2, &["no plan was kept"]);
    let kept = bench.on("2031-03-02", "ready-for plan.csv --keep").ok();
    assert!(kept.contains("kept as what is expected"), "{kept}");
    let asked = bench.on("2031-03-05", "--json ready-for --plan").json();
    assert_eq!(asked["baths"][0]["plants"], "8 pots, tall");
    near(&asked["baths"][0]["bath_l"], 10.0, 1e-9);
    // Before it was kept nothing was expected, and after its day it is over.
    bench.on("2031-03-01", "ready-for --plan").fails(2, &["no plan was kept by 2031-03-01"]);
    assert_eq!(bench.on("2031-03-10", "ready-for --plan").code, 0);
    bench.on("2031-03-11", "ready-for --plan").fails(2, &["every day of the plan that was kept is past on 2031-03-11"]);
    // A later plan stands in its place.
    let plan = "date,lot,dip,bath\n2031-03-12,B1,peroxide-weak,5L\n2031-03-14,B2,peroxide-weak,5L\n";
    assert_eq!(ready_for(&bench, "2031-03-06", plan, "").code, 0);
    bench.on("2031-03-06", "ready-for plan.csv --keep").ok();
    let asked = bench.on("2031-03-13", "--json ready-for --plan").json();
    assert_eq!(verdicts(&asked), ["ready"]);
    assert_eq!(asked["baths"][0]["lot"], "B2");
}

#[test]
fn a_plan_of_another_program_is_data_that_contradict() {
    let bench = Bench::new();
    let register = rusqlite::Connection::open(bench.register()).unwrap();
    let rows =
        "INSERT INTO plan (day, content, entered_at) VALUES ('2031-03-01', '[{\"date\": 7}]', '2031-03-01T00:00:00Z')";
    register.execute(rows, []).unwrap();
    drop(register);
    brimstock::register::Register::open(&bench.register()).unwrap().seal_again().unwrap();
    bench.on("2031-03-02", "ready-for --plan").fails(3, &["the plan in the register cannot be read", "--keep"]);
}

#[test]
fn why_tells_how_the_numbers_came_about() {
    let bench = Bench::demo();
    let text = ready_for(&bench, "2031-04-07", CONSIGNMENT_B, "--why").ok();
    assert!(text.contains("why:") && text.contains("S03: "), "{text}");
    let json = bench.on("2031-04-07", "--json --why ready-for plan.csv").json();
    assert!(json["steps"].as_array().is_some_and(|steps| steps.len() > 3), "{json}");
    assert_eq!(bench.on("2031-04-07", "--json ready-for plan.csv").json().get("steps"), None);
}

#[test]
fn what_is_missing_is_bought_as_it_last_came() {
    let bench = Bench::new();
    let day = "2031-03-01";
    // Nothing of it ever came: the usual strength, and no size.
    let plan = "date,lot,dip,bath\n2031-03-08,A1,peroxide-weak,10L\n";
    let answer = ready_for(&bench, day, plan, "--json").json();
    let list = &answer["shopping"][0];
    assert_eq!((&list["containers"], &list["container"]), (&Value::Null, &Value::Null));
    assert_eq!((&list["label"], &list["order_by"], &list["days_late"]), (&"3 % w/v".into(), &day.into(), &0.into()));
    near(&list["grams"], 15.0, 1e-9);
    // 500 mL of 3 % hold 15 g; read low a little more is wanted, and no more than a tenth.
    let ml = list["amount"]["value"].as_f64().unwrap();
    assert!((500.0..550.0).contains(&ml), "{ml}");
    assert_eq!(answer["baths"][0]["verdict"], "short");
    let text = bench.on(day, "ready-for plan.csv").stdout;
    assert!(text.contains("as it is usually sold") && text.contains("order by 2031-03-01"), "{text}");
    // A day later it is a day late; a faster delivery is not.
    assert_eq!(bench.on("2031-03-02", "--json ready-for plan.csv").json()["shopping"][0]["days_late"], 1);
    let faster = bench.on("2031-03-02", "--json ready-for plan.csv --delivery 3").json();
    assert_eq!(
        (&faster["shopping"][0]["order_by"], &faster["delivery_assumed"]),
        (&"2031-03-05".into(), &false.into())
    );
    // A litre of 12 % came: 124.8 g at 1.04 g/mL. What is missing of 300 g takes two more of its size.
    bench.on(day, "receive hydrogen-peroxide \"12 % w/w\" 1L --at cupboard").ok();
    let plan = "date,lot,dip,bath\n2031-03-08,A1,peroxide-strong,20L\n";
    let one = ready_for(&bench, day, plan, "--json").json();
    let list = &one["shopping"][0];
    assert_eq!((&list["label"], &list["containers"]), (&"12 % w/w".into(), &2.into()));
    near(&list["container"]["value"], 1000.0, 1e-9);
    // The shelf's own litre comes first: about 175 g are missing of 300.
    let grams = list["grams"].as_f64().unwrap();
    assert!((170.0..190.0).contains(&grams), "{grams}");
    // A dilution of one's own is nothing that can be bought.
    bench.on(day, "open HP-1").ok();
    bench.on(day, "decant HP-1 100mL --make-up-to 400mL").ok();
    assert_eq!(bench.on(day, "--json ready-for plan.csv").json()["shopping"][0]["label"], "12 % w/w");
}

#[test]
fn the_earlier_bath_is_served_and_the_later_waits_for_the_order() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 600mL --at cupboard").ok();
    // 600 mL hold 18 g: for the 10 L of the 4th, not for the 5 L of the 20th as well.
    let plan = "date,lot,dip,bath\n2031-03-20,A1,peroxide-weak,5L\n2031-03-04,A2,peroxide-weak,10L\n";
    let ran = ready_for(&bench, "2031-03-01", plan, "--json");
    assert_eq!(ran.code, 1);
    let answer = ran.json();
    let baths: Vec<(&str, &str)> = answer["baths"]
        .as_array()
        .unwrap()
        .iter()
        .map(|bath| (bath["lot"].as_str().unwrap(), bath["verdict"].as_str().unwrap()))
        .collect();
    assert_eq!(baths, [("A2", "ready"), ("A1", "short")]);
    let list = &answer["shopping"][0];
    assert_eq!((&list["from"], &list["order_by"]), (&"2031-03-20".into(), &"2031-03-13".into()));
    assert_eq!((&list["containers"], &list["days_late"]), (&1.into(), &0.into()));
    // What is held is not counted, and said.
    bench.on("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 1L --at cupboard --hold smells").ok();
    assert_eq!(bench.on("2031-03-01", "--json ready-for plan.csv").code, 1);
    let shelf = Bench::new();
    shelf.on("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 1L --at cupboard --hold smells").ok();
    let answer = ready_for(&shelf, "2031-03-01", plan, "--json").json();
    assert_eq!(verdicts(&answer), ["held", "held"]);
    assert!(answer["baths"][0]["reasons"][0].as_str().unwrap().contains("HP-1 is held: smells"));
}

/// Trade notes G: 160 g of thiosulfate stop 8.0 L at 7.4 g a gram of chlorine.
#[test]
fn several_baths_are_dosed_together() {
    let bench = Bench::demo();
    let day = "2031-03-09";
    let eight = bench.on(day, "--json dose bleach-fine-leaved --bath 1L --baths 8");
    assert_eq!(eight.code, 0, "{eight:?}");
    let answer = eight.json();
    assert_eq!((&answer["verdict"], &answer["ready_baths"]), (&"ready".into(), &8.into()));
    assert_eq!(answer["baths"].as_array().unwrap().len(), 8);
    near(&answer["needs"][1]["grams"], 8.0 * 2.7 * 7.4, 1e-3);
    let salt = answer["taken"].as_array().unwrap().iter().find(|taken| taken["stock"] == "S13").unwrap();
    let grams = salt["value"].as_f64().unwrap();
    assert!((159.84..=160.0).contains(&grams), "{grams}");
    let nine = bench.on(day, "--json dose bleach-fine-leaved --bath 1L --baths 9");
    assert_eq!(nine.code, 1);
    let answer = nine.json();
    assert_eq!((&answer["verdict"], &answer["ready_baths"]), (&"short".into(), &8.into()));
    assert_eq!((&answer["baths"][8]["number"], &answer["baths"][8]["verdict"]), (&9.into(), &"short".into()));
    near(&answer["largest_bath_l"], 160.0 / 7.4 / 2.7, 1e-3);
    let text = bench.on(day, "dose bleach-fine-leaved --bath 1L --baths 9").stdout;
    for words in
        ["9 baths of 1 L", "short, 8 of 9 ready", "the other baths leave", "largest bath, one alone: 8 L", "--baths 8"]
    {
        assert!(text.contains(words), "{words}: {text}");
    }
    // One bath alone is answered as ever.
    let alone = bench.on(day, "--json dose bleach-fine-leaved --bath 1L").json();
    for key in ["baths", "ready_baths", "taken", "needs"] {
        assert_eq!(alone.get(key), None, "{key}");
    }
    let one = bench.on(day, "--json dose bleach-fine-leaved --bath 1L --baths 1").json();
    assert_eq!(one["baths"][0]["doses"], alone["doses"]);
    for count in ["0", "501", "-1", "two"] {
        let ran = bench.on(day, &format!("dose bleach-fine-leaved --bath 1L --baths {count}"));
        assert_eq!(ran.code, 2, "{ran:?}");
    }
}

/// A level tablespoon of this alum weighs 13.8 g, as weighed here: three of them are 41.4 g, next to the 40 g of 4 g/L in 10 L.
#[test]
fn the_keepers_own_measures_are_told_for_each_bath() {
    let bench = Bench::new();
    bench.on("2031-03-15", "receive potassium-alum 1kg --at cupboard").ok();
    let plan = "date,lot,dip,bath,baths\n2031-03-16,A1,alum-soak,10L,2\n";
    assert!(!ready_for(&bench, "2031-03-15", plan, "").ok().contains("measure:"), "no measure of the keeper's own");
    bench.on("2031-03-15", "measure add tbsp spoon 15mL").ok();
    bench.on("2031-03-15", "measure weigh tbsp --of potassium-alum 13.8g").ok();
    let said = ready_for(&bench, "2031-03-15", plan, "").ok();
    assert_eq!(said.matches("measure: PA-1 41.4 g: 3 level spoons of `tbsp`").count(), 1, "{said}");
    let said = bench.on("2031-03-15", "dose alum-soak --bath 10L --baths 3").ok();
    assert_eq!(said.matches("measure: PA-1 41.4 g: 3 level spoons of `tbsp`").count(), 1, "{said}");
}
