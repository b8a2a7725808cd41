//! Whole commands of the book's page and of a dose in its order: both sides of what is disputed, what follows a bath, what was
//! before it, and dips of several baths.

use std::fs;

use brimstock::catalogue::{Catalogue, Texts};
use brimstock::cli::Answer;
use brimstock::commands::dip_book::{Dips, dips};
use brimstock::commands::dose::{DoseArguments, Dosed, dose};
use brimstock::commands::dose_steps::baths;
use brimstock::commands::{Opened, Problem, Session};
use brimstock::dip::Verdict;
use brimstock::render::{Style, data, text};
use chrono::{NaiveDate, NaiveDateTime};
use serde_json::Value;

use crate::harness::Bench;

const DAY: &str = "2031-03-15";

fn page(dip: &str) -> String {
    Bench::bare().run(&["dips", dip]).ok()
}

/// The lines with single blanks, as one.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_contradicts_itself_stands_side_by_side_with_grade_and_source() {
    // Trade notes A1, rows 19 and 20: detached is not killed.
    let book = Bench::bare().run(&["--json", "dips", "permanganate-cysts"]).json();
    let cysts = &book["dips"][0]["contradictions"][0];
    assert_eq!(cysts["about"], "fluke cysts on leaves");
    assert_eq!((&cysts["one"]["grade"], &cysts["one"]["source"]), (&"published".into(), &"benha-metacercariae".into()));
    assert_eq!((&cysts["other"]["grade"], &cysts["other"]["source"]), (&"published".into(), &"ashrafi-2006".into()));
    assert!(cysts["one"]["says"].as_str().unwrap().contains("24 mg/L for 10 minutes loosened all"));
    assert!(cysts["other"]["says"].as_str().unwrap().contains("300, 600 and 1,200 mg/L"));
    assert!(cysts["how"].as_str().unwrap().contains("Loosened is not killed"));
    let text = page("permanganate-cysts");
    let both = flat(&text);
    assert!(both.contains("one: [published] 24 mg/L for 10 minutes"), "{text}");
    assert!(both.contains("other: [published] Metacercariae on leaves lived"), "{text}");
    assert_eq!(both.matches("Metacercariae on leaves lived").count(), 1, "told once: {text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    // Common practice beside a published result.
    let text = flat(&page("bleach-robust"));
    assert!(text.contains("one: [common practice] Lists tell") && text.contains("other: [published] Faucet snails"));
    for (dip, about) in [
        ("salt-hydra", "salt and snails"),
        ("salt-quarantine", "what a little salt does in quarantine"),
        ("permanganate-long", "worms and permanganate"),
        ("bleach-fine-leaved", "how long plants bear bleach"),
        ("alum-soak", "alum and lidded snails"),
    ] {
        assert!(flat(&page(dip)).contains(&format!("- {about}: ")), "{dip}: {about}");
    }
    assert!(!page("salt-gear-two-days").contains("both ways"), "nothing there is disputed");
}

#[test]
fn a_terminal_shows_two_columns_and_a_narrow_one_stacks_them() {
    let session = session(Bench::bare().register().to_str().unwrap(), Catalogue::shipped().unwrap());
    let book = dips(&session, &Dips { dip: Some("permanganate-cysts".to_owned()), version: None, verb: None }).unwrap();
    let answer = Answer::Book(book);
    let drawn = |width: Option<usize>| {
        let style = Style {
            json: false,
            why: false,
            lines: true,
            colour: false,
            width,
            catalogue: Catalogue::shipped().unwrap(),
        };
        text::answer(&style, &answer)
    };
    let wide = drawn(Some(80));
    assert!(wide.lines().all(|line| line.chars().count() <= 80), "{wide}");
    let row = wide.lines().find(|line| line.contains("24 mg/L for 10")).expect("the first side");
    assert!(row.contains("Metacercariae"), "the other side stands on the same line: {row}");
    assert!(!wide.contains("other: ["));
    assert!(drawn(Some(60)).lines().any(|line| line.contains("24 mg/L") && line.contains("Metacercariae")));
    assert!(drawn(Some(59)).contains("other: [published]"), "stacked below the line");
}

#[test]
fn every_dip_tells_what_follows_it_and_what_plants_bear() {
    let book = Bench::bare().run(&["--json", "dips"]).json();
    for dip in book["dips"].as_array().unwrap() {
        let then: Vec<&str> =
            dip["then"].as_array().unwrap().iter().map(|step| step["step"].as_str().unwrap()).collect();
        let name = dip["dip"].as_str().unwrap();
        let is_gear = dip["plants"].as_str().unwrap().starts_with("none");
        match (is_gear, dip["stopped_with"].is_string()) {
            (true, _) => assert_eq!(then, ["rinse"], "{name}"),
            (false, true) => assert_eq!(then, ["rinse", "quench", "rinse", "hold", "look"], "{name}"),
            (false, false) => assert_eq!(then.last(), Some(&"look"), "{name}"),
        }
        for step in dip["then"].as_array().unwrap() {
            // Trade notes A4: two weeks at least, looks every week up to day 28.
            if step["step"] == "hold" {
                assert_eq!(step["for_days"], 14, "{name}");
            }
            if step["step"] == "look" {
                assert_eq!(step["on_days"], serde_json::json!([7, 14, 21, 28]), "{name}");
            }
        }
        for borne in dip["tolerance"].as_array().unwrap() {
            assert!(["plant", "exposure", "effect", "grade", "source"].iter().all(|field| borne[field].is_string()));
        }
    }
    let text = flat(&page("bleach-fine-leaved"));
    assert!(text.contains("rinse twice [judgement]; 14 days apart from everything else [trade-quarantine]"), "{text}");
    assert!(text.contains("through water with a little sodium-thiosulfate"), "{text}");
    // Trade notes A2: 0.05 mg/L for 96 h cost milfoil about 30 % of its dry weight.
    assert!(text.contains("0.05 mg/L residual chlorine for 96 hours: about 30 % less dry weight"), "{text}");
    assert!(page("permanganate-bulletin").contains("no published figure for any plant is on file"));
    let why = Bench::bare().run(&["--why", "dips", "bleach-fine-leaved"]).ok();
    assert!(flat(&why).contains("how long to keep apart, where no dip says otherwise: 14 d"), "{why}");
}

#[test]
fn the_aim_stands_beside_the_other_dips_of_its_reagent() {
    let book = Bench::bare().run(&["--json", "dips", "peroxide-strong"]).json();
    let kin = book["dips"][0]["aim_times"].as_array().unwrap();
    // 15 g/L over 20 mg/L is 750, over 1.5 g/L 10, over 7.5 g/L 2.
    for (dip, times) in [("peroxide-rinse", 750.0), ("peroxide-weak", 10.0), ("peroxide-day-soak", 2.0)] {
        assert!(kin.iter().any(|row| row["dip"] == dip && row["times"] == times), "{dip}: {kin:?}");
    }
    assert!(flat(&page("peroxide-strong")).contains("10 times peroxide-weak"));
    assert!(flat(&page("peroxide-weak")).contains("1/10 of peroxide-strong"));
    assert!(flat(&page("bleach-robust")).contains("as strong as bleach-fine-leaved"));
}

/// Trade notes G, day 47: the bath of day 12, stopped with thiosulfate, then permanganate on the same plants.
#[test]
fn day_47_two_rinses_are_asked_for_between_bleach_and_permanganate() {
    let bench = Bench::demo();
    let asked = "dose permanganate-bulletin --bath 10L --after bleach-fine-leaved";
    let ran = bench.on("2031-04-19", &format!("--json {asked}"));
    let answer = ran.json();
    let bare = bench.on("2031-04-19", "--json dose permanganate-bulletin --bath 10L");
    assert_eq!(
        (ran.code, &answer["verdict"]),
        (bare.code, &bare.json()["verdict"]),
        "what only spoils changes no verdict"
    );
    let traps = answer["traps"].as_array().unwrap();
    assert_eq!(traps.len(), 1, "{traps:?}");
    let trap = &traps[0];
    assert_eq!((&trap["after"], &trap["left"]), (&"bleach-fine-leaved".into(), &"sodium-thiosulfate".into()));
    assert_eq!((&trap["rinses"], &trap["rinsed"], &trap["cleared"]), (&2.into(), &0.into(), &false.into()));
    assert_eq!((&trap["harm"], &trap["source"]), (&"spoils".into(), &"permanganate-brief".into()));
    let text = flat(&bench.on("2031-04-19", asked).stdout);
    assert!(
        text.contains("order: rinse twice before permanganate-bulletin: sodium-thiosulfate may be left over from bleach-fine-leaved."),
        "{text}"
    );
    for (rinsed, cleared) in [(1, false), (2, true), (3, true)] {
        let answer = bench.on("2031-04-19", &format!("--json {asked} --rinsed {rinsed}")).json();
        assert_eq!(answer["traps"][0]["cleared"], cleared, "{rinsed}");
    }
    let text = flat(&bench.on("2031-04-19", &format!("{asked} --rinsed 1")).stdout);
    assert!(text.contains("rinse twice before permanganate-bulletin; once is not enough"), "{text}");
    let text = flat(&bench.on("2031-04-19", &format!("{asked} --rinsed 2")).stdout);
    assert!(text.contains("order: rinsed twice, so it is cleared"), "{text}");
}

#[test]
fn gas_is_no_yes_until_it_is_rinsed_away() {
    let bench = Bench::demo();
    let asked = "dose bleach-fine-leaved --bath 2L --after alum-soak";
    assert_eq!(bench.on(DAY, "dose bleach-fine-leaved --bath 2L").code, 0);
    for (rinsed, code) in [(0, 1), (2, 1), (3, 0)] {
        let ran = bench.on(DAY, &format!("--json {asked} --rinsed {rinsed}"));
        let answer = ran.json();
        assert_eq!(ran.code, code, "{rinsed}: {answer}");
        assert_eq!(answer["verdict"], if code == 0 { "ready" } else { "held" });
        assert_eq!(answer["bath_verdict"], "ready", "nothing is wrong with the bath itself");
    }
    let text = flat(&bench.on(DAY, asked).stdout);
    assert!(text.contains("because: what is left of alum-soak is dangerous in bleach-fine-leaved"), "{text}");
    assert!(text.contains("`brimstock dose bleach-fine-leaved --bath 2L --after alum-soak --rinsed 3`"), "{text}");
    // Never: no number of rinses clears formalin.
    let ran = bench.on(DAY, "--json dose permanganate-bulletin --bath 10L --after formaldehyde --rinsed 20");
    let answer = ran.json();
    assert_eq!((ran.code, &answer["verdict"]), (1, &"held".into()));
    assert_eq!(answer["traps"][0]["rinses"], Value::Null);
    assert!(answer["next_step"].as_str().unwrap().contains("leave one of the two out"), "{answer}");
    // Several at once, a reagent among them; the harmless one adds nothing.
    let asked = "--json dose permanganate-bulletin --bath 10L --after sodium-chloride --after peroxide-weak --after alum-short --rinsed 3";
    let answer = bench.on(DAY, asked).json();
    let after: Vec<&str> =
        answer["traps"].as_array().unwrap().iter().map(|trap| trap["after"].as_str().unwrap()).collect();
    assert_eq!(after, ["sodium-chloride", "peroxide-weak", "alum-short"]);
    let nothing = bench.on(DAY, "--json dose peroxide-rinse --bath 1L --after alum-soak").json();
    assert_eq!(nothing["traps"], Value::Array(Vec::new()));
}

#[test]
fn what_was_before_is_refused_where_nobody_knows_it() {
    let bench = Bench::demo();
    for (line, words) in [
        ("--after bleech", vec!["--after bleech", "no dip and no reagent", "did you mean"]),
        ("--after xyzzy", vec!["`brimstock dips` and `brimstock reagents`"]),
        ("--after alum", vec!["sold as several reagents", "potassium-alum"]),
        ("--rinsed 2", vec!["--after"]),
        ("--after alum-soak --rinsed 21", vec!["from 0 to 20"]),
        ("--after alum-soak --rinsed two", vec!["--rinsed"]),
    ] {
        bench.on(DAY, &format!("dose bleach-fine-leaved --bath 2L {line}")).fails(2, &words);
    }
}

/// A catalogue with dips of several baths: the shipped texts, and these rows at the end of the book.
fn with_dips(rows: &[(&str, &str, &str)]) -> &'static Catalogue {
    let read = |name: &str| fs::read_to_string(format!("hazards/{name}")).unwrap();
    let mut book = read("dips.toml");
    for (key, like, steps) in rows {
        let shipped = book.split("[[dip]]\n").find(|row| row.starts_with(&format!("key = \"{like}\""))).unwrap();
        let shipped = shipped.split("\n# ").next().unwrap().to_owned();
        let start = shipped.find("\nsteps = ").unwrap() + 1;
        let end = start + shipped[start..].find('\n').unwrap();
        let row = format!("{}steps = {steps}{}", &shipped[..start], &shipped[end..]);
        book.push_str(&format!("\n[[dip]]\n{}", row.replacen(like, key, 1)));
    }
    let mut reagents = Vec::new();
    for entry in fs::read_dir("hazards/reagents").unwrap() {
        let path = entry.unwrap().path();
        reagents.push((path.to_string_lossy().into_owned(), fs::read_to_string(&path).unwrap()));
    }
    let reagents: Vec<(&str, &str)> = reagents.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let names = [
        "sources",
        "light",
        "assays",
        "statements",
        "labels",
        "label-sizes",
        "keep-apart",
        "care",
        "neutralise",
        "disposal",
        "words-of-measure",
        "sequence",
        "hatching",
    ];
    let texts = names.map(|name| read(&format!("{name}.toml")));
    let [
        sources,
        light,
        assays,
        statements,
        labels,
        sizes,
        apart,
        care,
        neutralise,
        disposal,
        loose,
        sequence,
        hatching,
    ] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12].map(|i: usize| (names[i], texts[i].as_str()));
    let read = Catalogue::read(Texts {
        sources,
        reagents: &reagents,
        dips: ("dips", &book),
        light,
        assays,
        statements,
        labels,
        label_sizes: sizes,
        apart,
        care,
        neutralise,
        disposal,
        loose,
        sequence,
        hatching,
    });
    Box::leak(Box::new(read.unwrap()))
}

fn session(register: &str, catalogue: &'static Catalogue) -> Session {
    let day = NaiveDate::from_ymd_opt(2031, 3, 15).unwrap();
    let clock: NaiveDateTime = day.and_hms_opt(9, 0, 0).unwrap();
    Session {
        catalogue,
        path: register.into(),
        day,
        entered_at: "2031-03-15T09:00:00Z".to_owned(),
        clock,
        opened: Opened::default(),
        work: brimstock::register::work::Work::default(),
    }
}

fn ask(bench: &Bench, catalogue: &'static Catalogue, dip: &str, bath: &str) -> Result<Dosed, Problem> {
    let asked = DoseArguments {
        dip: dip.to_owned(),
        bath: Some(bath.to_owned()),
        vessel: None,
        using: Vec::new(),
        from: Vec::new(),
        baths: None,
        after: Vec::new(),
        rinsed: None,
    };
    dose(&session(bench.register().to_str().unwrap(), catalogue), &asked)
}

fn written(catalogue: &'static Catalogue, dosed: Dosed) -> (String, Value) {
    let style = Style { json: false, why: false, lines: false, colour: false, width: None, catalogue };
    let answer = Answer::Dosed(Box::new(dosed));
    let json = data::answer(&answer, false, catalogue).unwrap();
    (flat(&text::answer(&style, &answer)), serde_json::from_str(&json).unwrap())
}

#[test]
fn a_dip_of_several_baths_is_dosed_from_one_shelf() {
    let catalogue = with_dips(&[
        (
            "bleach-then-permanganate",
            "bleach-fine-leaved",
            "[\"quench\", { rinse = 1 }, { dip = \"permanganate-bulletin\" }, { hold = 14 }]",
        ),
        ("bleach-twice", "bleach-fine-leaved", "[{ rinse = 2 }, { dip = \"bleach-robust\" }, { rinse = 2 }]"),
        ("alum-then-bleach", "alum-soak", "[{ rinse = 2 }, { dip = \"bleach-robust\" }]"),
        ("alum-rinsed-then-bleach", "alum-soak", "[{ rinse = 2 }, { rinse = 1 }, { dip = \"bleach-robust\" }]"),
    ]);
    let bench = Bench::demo();

    // 8 L: 21.6 g of chlorine, 159.84 g of thiosulfate of 160 g; 0.08 g of permanganate.
    let dosed = ask(&bench, catalogue, "bleach-then-permanganate", "8L").unwrap();
    assert_eq!(dosed.verdict, Verdict::Ready);
    let (text, json) = written(catalogue, dosed);
    let steps: Vec<&str> = json["then"].as_array().unwrap().iter().map(|step| step["step"].as_str().unwrap()).collect();
    assert_eq!(steps, ["quench", "rinse", "dip", "hold"]);
    let second = &json["then"][2];
    assert_eq!((&second["dip"], &second["verdict"]), (&"permanganate-bulletin".into(), &"ready".into()));
    assert_eq!(second["stopping"]["neutraliser"], "hydrogen-peroxide");
    // 0.65 g for a gram: 0.052 g.
    assert_eq!(second["stopping"]["grams_planned"], 0.052);
    let trap = &json["traps"][0];
    assert_eq!(
        (&trap["before"], &trap["rinses"], &trap["rinsed"]),
        (&"permanganate-bulletin".into(), &2.into(), &1.into())
    );
    assert_eq!(trap["cleared"], false);
    assert!(text.contains("order: rinse twice before permanganate-bulletin; once is not enough"), "{text}");
    assert!(text.contains("then 3: permanganate-bulletin in 8 L: ready"), "{text}");
    assert!(text.contains("measure each out when its bath is made") && text.contains("brimstock take S11"), "{text}");
    // 10 L cannot be stopped: 200 g of 160 g.
    let dosed = ask(&bench, catalogue, "bleach-then-permanganate", "10L").unwrap();
    assert_eq!(dosed.verdict, Verdict::Short);

    // Both stops out of the same 160 g: 39.96 g a litre, so 4 L and not 5.
    let four = ask(&bench, catalogue, "bleach-twice", "4L").unwrap();
    assert_eq!((four.verdict, four.plan.verdict), (Verdict::Ready, Verdict::Ready));
    assert!((four.plan.largest.to_l() - 160.0 / 39.96).abs() < 1e-6, "{:?}", four.plan.largest);
    let five = ask(&bench, catalogue, "bleach-twice", "5L").unwrap();
    assert_eq!((five.plan.verdict, five.verdict), (Verdict::Ready, Verdict::Short));
    let (text, json) = written(catalogue, five);
    // 160 − 5 × 2.7 × 7.4 = 60.1 g are left for the second.
    assert_eq!(json["then"][1]["stopping"]["grams_on_shelf"], 60.1);
    assert_eq!(json["then"][1]["stopping"]["enough_on_shelf"], false);
    assert_eq!((&json["verdict"], &json["bath_verdict"]), (&"short".into(), &"ready".into()));
    assert!(text.contains("bleach-robust, from what the baths before it leave: stopping it takes 100 g"), "{text}");
    assert!(text.contains("`brimstock dose bleach-twice --bath 4L`"), "{text}");
    assert_eq!(json["traps"][0]["cleared"], true);

    // Nothing is poured twice.
    for bath in ["1L", "4L", "5L", "30L"] {
        let dosed = ask(&bench, catalogue, "bleach-twice", bath).unwrap();
        let mut poured = std::collections::BTreeMap::new();
        let plans = std::iter::once(&dosed.plan).chain(baths(&dosed.then).map(|next| &next.plan));
        for dose in plans.flat_map(|plan| &plan.doses) {
            *poured.entry(dose.code.clone()).or_insert(0.0) += dose.amount;
        }
        for (code, amount) in poured {
            let left = bench.on(DAY, &format!("--json check {code}")).json()["left"]["value"].as_f64().unwrap();
            assert!(amount <= left * (1.0 + 1e-5), "{bath}: {amount} of {left} in {code}");
        }
    }

    // Gas between two baths: two rinses are one too few.
    let gas = ask(&bench, catalogue, "alum-then-bleach", "2L").unwrap();
    assert_eq!(gas.verdict, Verdict::Held);
    assert!(
        gas.next_step.contains("let the dip rinse 3 times between alum-then-bleach and bleach-robust"),
        "{}",
        gas.next_step
    );
    assert_eq!(ask(&bench, catalogue, "alum-rinsed-then-bleach", "2L").unwrap().verdict, Verdict::Ready);

    // One reagent's options make no sense for two.
    let asked = DoseArguments {
        dip: "bleach-twice".to_owned(),
        bath: Some("1L".to_owned()),
        vessel: None,
        using: Vec::new(),
        from: vec!["S06".to_owned()],
        baths: None,
        after: Vec::new(),
        rinsed: None,
    };
    let refused = dose(&session(bench.register().to_str().unwrap(), catalogue), &asked).unwrap_err();
    assert!(refused.what.contains("--from with `bleach-twice`, a dip of several baths"), "{refused:?}");
}
