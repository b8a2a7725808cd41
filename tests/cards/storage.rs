//! The `storage` card: what stands at a place, how it is kept, what must not come beside it.

use super::card;
use crate::harness::Bench;

const DAY: &str = "2031-03-06";

#[test]
fn a_place_lists_what_stands_there_and_nothing_else() {
    let bench = Bench::demo();
    let paper = card(&bench, DAY, "storage bench");
    paper.says(&["STORAGE", "bench", "S01", "S01B", "S02", "S08", "3 % w/v", "350 mL", "At the most 21 °C"]);
    let table = paper.words();
    let standing = table.split("Must not come beside it").next().unwrap();
    assert!(!standing.contains("S10"), "{standing}");
}

#[test]
fn every_conflict_of_its_groups_is_told_with_what_happens_the_worst_first() {
    let bench = Bench::demo();
    let words = card(&bench, DAY, "storage S03").words();
    for (what, then) in [
        ("permanganate", "Oxygen and heat come at once"),
        ("liquid bleach", "The two destroy each other in a burst of oxygen"),
        ("alcohols", "It can catch fire"),
    ] {
        assert!(words.contains(what) && words.contains(then), "{what}: {words}");
    }
    let never = words.find("never together").unwrap();
    let cabinet = words.find("not in one cabinet").unwrap();
    assert!(never < cabinet, "{words}");
}

/// 3 % of peroxide is let off a step, 12 % is not: the relief of the data, both sides.
#[test]
fn a_weak_solution_asks_for_less_distance() {
    let bench = Bench::new();
    bench.on(DAY, "receive hydrogen-peroxide \"3 % w/w\" 500mL --at cupboard --code WEAK").ok();
    bench.on(DAY, "receive hydrogen-peroxide \"12 % w/w\" 500mL --at cupboard --code STRONG").ok();
    let alcohol = |code: &str| {
        let words = card(&bench, DAY, &format!("storage {code}")).words();
        let from = words.find("alcohols").unwrap();
        words[from..from + 40].to_owned()
    };
    assert!(alcohol("STRONG").contains("never together"), "{}", alcohol("STRONG"));
    assert!(!alcohol("WEAK").contains("never together"), "{}", alcohol("WEAK"));
}

#[test]
fn signs_follow_the_strength() {
    let bench = Bench::new();
    for (code, strength) in [("A", "7.9 % w/w"), ("B", "8 % w/w")] {
        bench.on(DAY, &format!("receive hydrogen-peroxide \"{strength}\" 500mL --at cupboard --code {code}")).ok();
    }
    let forms = |code: &str| {
        let paper = card(&bench, DAY, &format!("storage {code}"));
        String::from_utf8_lossy(&paper.bytes()).matches("/Subtype/Form").count()
    };
    assert_eq!(forms("B"), forms("A") + 1, "from 8 % on the sign of the vented cap is there");
}

#[test]
fn open_matters_and_local_limits_are_those_of_audit_and_local() {
    let bench = Bench::demo();
    std::fs::copy("demo/local.toml", bench.folder().join("local.toml")).unwrap();
    let audit = bench.on(DAY, "--json audit --at boiler").json();
    let paper = card(&bench, DAY, "storage boiler");
    let words = paper.words();
    let findings = audit["findings"].as_array().unwrap();
    assert!(!findings.is_empty());
    for finding in findings {
        let rule = finding["rule"].as_str().unwrap();
        assert!(words.contains(rule), "`{rule}`: {words}");
    }
    assert!(words.contains("1 L at the most"), "{words}");
    let none = Bench::demo();
    assert!(card(&none, DAY, "storage boiler").words().contains("Nothing is on record"), "a line to write on");
}

#[test]
fn an_empty_place_and_an_unknown_one() {
    let bench = Bench::new();
    card(&bench, DAY, "storage cupboard").says(&["Nothing stands here"]);
    bench.on(DAY, "card storage cupbord").fails(2, &["cupbord", "cupboard"]);
    bench.on(DAY, "card storage cupboard --lang es").fails(2, &["storage", "es"]);
}

/// Two stocks meet the same group with different ends: each is told, with its own stock.
#[test]
fn what_happens_is_told_of_the_stock_that_it_happens_to() {
    let bench = Bench::demo();
    let words = card(&bench, DAY, "storage boiler").words();
    assert!(words.contains("Chloroform and other chlorinated vapours form. (S05)"), "{words}");
    assert!(words.contains("It can catch fire; alcohol mixed into strong peroxide can explode. (S03)"), "{words}");
    let (danger, table) = (words.find("DANGER: to be set right first").unwrap(), words.find("Code What").unwrap());
    assert!(danger < table, "{words}");
}
