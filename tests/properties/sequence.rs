//! What must not follow what: the order counts, every trap has its source, and a rinse less than asked clears nothing.

use super::{cases, shipped};
use brimstock::catalogue::{Harm, Trap};
use brimstock::dip::sequence::{after_dip, between, found, left_by};
use proptest::prelude::*;

fn keys<'a>(traps: impl IntoIterator<Item = &'a Trap>) -> Vec<&'a str> {
    traps.into_iter().map(|trap| trap.key.as_str()).collect()
}

/// Before, after, what must be told of it; from the chemistry named in the trade notes and in keep-apart.toml.
const PAIRS: &[(&str, &str, Option<Harm>)] = &[
    ("sodium-thiosulfate", "potassium-permanganate", Some(Harm::Spoils)),
    ("sodium-thiosulfate", "sodium-hypochlorite", Some(Harm::Spoils)),
    ("sodium-thiosulfate", "hydrogen-peroxide", Some(Harm::Spoils)),
    ("potassium-permanganate", "sodium-thiosulfate", None),
    ("sodium-hypochlorite", "sodium-thiosulfate", None),
    ("hydrogen-peroxide", "potassium-permanganate", Some(Harm::Spoils)),
    ("potassium-permanganate", "hydrogen-peroxide", Some(Harm::Spoils)),
    ("citric-acid", "sodium-hypochlorite", Some(Harm::Danger)),
    ("sodium-hypochlorite", "citric-acid", Some(Harm::Danger)),
    ("potassium-alum", "sodium-hypochlorite", Some(Harm::Danger)),
    ("sodium-hypochlorite", "potassium-alum", Some(Harm::Danger)),
    ("ammonia", "sodium-hypochlorite", Some(Harm::Danger)),
    ("sodium-hypochlorite", "hydrogen-peroxide", Some(Harm::Spoils)),
    ("potassium-permanganate", "formaldehyde", Some(Harm::Danger)),
    ("formaldehyde", "potassium-permanganate", Some(Harm::Danger)),
    ("sodium-chloride", "formaldehyde", Some(Harm::Spoils)),
    ("sodium-chloride", "potassium-permanganate", Some(Harm::Spoils)),
    ("potassium-permanganate", "sodium-chloride", None),
    ("sodium-chloride", "sodium-chloride", None),
    ("nothing", "sodium-hypochlorite", None),
    ("sodium-hypochlorite", "nothing", None),
];

#[test]
fn the_order_counts() {
    for (before, after, wanted) in PAIRS {
        let traps = between(shipped(), before, after);
        let worst = traps.iter().map(|trap| trap.harm).min_by_key(|harm| *harm == Harm::Spoils);
        assert_eq!(worst, *wanted, "{before}, then {after}: {:?}", keys(traps.iter().copied()));
    }
}

#[test]
fn what_stops_the_earlier_dip_is_left_over_too() {
    let dip = |key: &str| shipped().dip(key).expect("a dip");
    let (bleach, permanganate) = (dip("bleach-fine-leaved"), dip("permanganate-bulletin"));
    assert_eq!(left_by(bleach), ["sodium-hypochlorite", "sodium-thiosulfate"]);
    assert_eq!(keys(after_dip(shipped(), bleach, permanganate)), ["reducer-then-permanganate"]);
    assert_eq!(keys(after_dip(shipped(), bleach, dip("bleach-robust"))), ["reducer-then-chlorine"]);
    assert_eq!(keys(after_dip(shipped(), dip("peroxide-weak"), permanganate)), ["peroxide-and-permanganate"]);
    assert!(after_dip(shipped(), dip("alum-soak"), dip("salt-flash")).is_empty());
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn every_pair_is_sourced_and_cleared_at_its_line(
        before in 0_usize..40,
        after in 0_usize..40,
        rinsed in 0_u8..6,
    ) {
        let all: Vec<&str> = shipped().reagents().map(|reagent| reagent.key.as_str()).collect();
        let (before, after) = (all[before % all.len()], all[after % all.len()]);
        let there = between(shipped(), before, after);
        let back = between(shipped(), after, before);
        for trap in &there {
            prop_assert!(shipped().source(&trap.source).is_some(), "{}", trap.key);
            prop_assert_eq!(trap.is_cleared_by(rinsed), trap.rinses.is_some_and(|line| rinsed >= line));
            if let Some(line) = trap.rinses {
                prop_assert!(!trap.is_cleared_by(line - 1) && trap.is_cleared_by(line));
            } else {
                prop_assert!(!trap.is_cleared_by(u8::MAX), "{}: nothing clears it", trap.key);
            }
            let returns = back.iter().any(|other| other.key == trap.key);
            prop_assert!(!trap.either_way || returns, "{}: {} and {}", trap.key, before, after);
        }
        let Some(dip) = shipped().dips().iter().find(|dip| dip.reagent == after) else { return Ok(()) };
        for found in found(shipped(), before, &[before], dip, rinsed) {
            let words = found.words();
            prop_assert_eq!(words.contains("cleared"), found.is_cleared(), "{}", words);
            prop_assert!(words.contains(&found.trap.happens) && words.contains(before), "{}", words);
        }
    }
}
