//! Moves: on small boards as good as trying everything; on real shelves they clear what they say and make nothing new.

use std::collections::BTreeSet;

use brimstock::cli::{self, Answer, Cli};
use brimstock::commands::Session;
use brimstock::commands::audit::{Audited, Finding};
use brimstock::hazard::arrange::{Arrangement, Board, Faults, arrange};
use brimstock::hazard::storage::Severity;
use clap::Parser;
use proptest::prelude::*;
use proptest::sample::Index;
use tempfile::TempDir;

use super::{cases, shipped};
use crate::harness::words;

/// A board with everything written down.
#[derive(Debug, Clone)]
struct Puzzle {
    weights: Vec<u64>,
    start: Vec<usize>,
    pinned: Vec<bool>,
    places: usize,
    /// By item and place.
    alone: Vec<Vec<Option<Severity>>>,
    /// By the lower item, its place, the higher item, its place.
    together: Vec<Option<Severity>>,
}

impl Puzzle {
    fn alone(&self, item: usize, place: usize) -> Option<Severity> {
        self.alone[item][place]
    }

    fn together(&self, one: (usize, usize), other: (usize, usize)) -> Option<Severity> {
        let ((a, here), (b, there)) = if one.0 < other.0 { (one, other) } else { (other, one) };
        assert_ne!(a, b, "an item is not beside itself");
        let count = self.weights.len();
        self.together[((a * count + b) * self.places + here) * self.places + there]
    }

    fn solved(&self) -> Arrangement {
        self.on_board(arrange)
    }

    fn on_board<T>(&self, ask: impl FnOnce(&Board<'_>) -> T) -> T {
        ask(&Board {
            weights: &self.weights,
            start: &self.start,
            pinned: &self.pinned,
            places: self.places,
            alone: &|item, place| self.alone(item, place),
            together: &|one, other| self.together(one, other),
        })
    }

    /// What is wrong, everything being where `at` says.
    fn faults(&self, at: &[usize]) -> Faults {
        let mut faults = Faults::default();
        for a in 0..at.len() {
            if let Some(severity) = self.alone(a, at[a]) {
                faults[severity as usize] += self.weights[a];
            }
            for b in a + 1..at.len() {
                if let Some(severity) = self.together((a, at[a]), (b, at[b])) {
                    faults[severity as usize] += self.weights[a] * self.weights[b];
                }
            }
        }
        faults
    }

    /// Takes away what is wrong at the start.
    fn clean(&mut self) {
        let count = self.weights.len();
        for a in 0..count {
            self.alone[a][self.start[a]] = None;
            for b in a + 1..count {
                self.together[((a * count + b) * self.places + self.start[a]) * self.places + self.start[b]] = None;
            }
        }
    }

    /// True if an item has no fault where `at` puts it but what it takes along with one that it stood with before.
    fn stands_well(&self, item: usize, at: &[usize]) -> bool {
        self.alone(item, at[item]).is_none()
            && (0..at.len()).filter(|other| *other != item).all(|other| {
                let along = self.start[item] == self.start[other] && at[item] == at[other];
                along || self.together((item, at[item]), (other, at[other])).is_none()
            })
    }

    fn moved(&self, at: &[usize]) -> Vec<usize> {
        (0..at.len()).filter(|item| at[*item] != self.start[*item]).collect()
    }

    fn cost(&self, at: &[usize]) -> u64 {
        self.moved(at).into_iter().map(|item| self.weights[item]).sum()
    }

    /// Every way to put the items, and the best of those that are allowed.
    fn tried(&self) -> (Faults, u64) {
        let count = self.weights.len();
        let ways = self.places.pow(u32::try_from(count).expect("few"));
        (0..ways)
            .map(|mut way| {
                let mut at = Vec::new();
                for _ in 0..count {
                    at.push(way % self.places);
                    way /= self.places;
                }
                at
            })
            .filter(|at| self.moved(at).into_iter().all(|item| !self.pinned[item] && self.stands_well(item, at)))
            .map(|at| (self.faults(&at), self.cost(&at)))
            .min()
            .expect("nothing moved is always allowed")
    }
}

fn severity(weight: f64) -> impl Strategy<Value = Option<Severity>> {
    prop::option::weighted(weight, prop::sample::select(Severity::ALL.to_vec()))
}

fn puzzle() -> impl Strategy<Value = Puzzle> {
    (1..=5_usize, 1..=4_usize, prop::sample::select(vec![0.1, 0.3, 0.6])).prop_flat_map(|(count, places, crowd)| {
        let pairs = count * count * places * places;
        (
            prop::collection::vec(1..=3_u64, count),
            prop::collection::vec(0..places, count),
            prop::collection::vec(prop::bool::weighted(0.15), count),
            prop::collection::vec(prop::collection::vec(severity(0.3), places), count),
            prop::collection::vec((severity(crowd), severity(0.1)), pairs),
        )
            .prop_map(move |(weights, start, pinned, alone, both)| {
                // In one place often, across places seldom.
                let together = both
                    .into_iter()
                    .enumerate()
                    .map(|(cell, (near, far))| if (cell / places) % places == cell % places { near } else { far })
                    .collect();
                Puzzle { weights, start, pinned, places, alone, together }
            })
    })
}

proptest! {
    #![proptest_config(cases(512))]

    #[test]
    fn arrange_is_as_good_as_trying_everything(puzzle in puzzle()) {
        let found = puzzle.solved();
        prop_assert!(found.proven, "few positions");
        let mut at = puzzle.start.clone();
        let mut once = BTreeSet::new();
        for (item, place) in &found.moves {
            prop_assert!(once.insert(*item), "{item} moves twice");
            prop_assert!(*place != puzzle.start[*item], "{item} moves to where it stands");
            prop_assert!(!puzzle.pinned[*item], "{item} was to stay");
            at[*item] = *place;
        }
        for (item, _) in &found.moves {
            prop_assert!(puzzle.stands_well(*item, &at), "{} has a fault where it went", item);
        }
        prop_assert_eq!(found.left, puzzle.faults(&at), "what it says is left");
        prop_assert_eq!((found.left, puzzle.cost(&at)), puzzle.tried());
        prop_assert!(found.left <= puzzle.faults(&puzzle.start));
    }

    #[test]
    fn arrange_no_step_makes_a_fault_on_the_way(puzzle in puzzle()) {
        let found = puzzle.solved();
        let steps = puzzle.on_board(|board| board.in_steps(&found.moves));
        let mut carried: Vec<(usize, usize)> = steps.iter().flatten().copied().collect();
        carried.sort_unstable();
        prop_assert_eq!(&carried, &found.moves, "every move once");
        let mut at = puzzle.start.clone();
        for (number, step) in steps.iter().enumerate() {
            step.iter().for_each(|(item, place)| at[*item] = *place);
            let alone = step.len() == 1;
            prop_assert!(alone || number + 1 == steps.len(), "only the last step carries several");
            if alone {
                prop_assert!(puzzle.stands_well(step[0].0, &at), "step {} of {:?}", number, steps);
            }
        }
    }

    #[test]
    fn arrange_is_the_same_every_time(puzzle in puzzle()) {
        let found = puzzle.solved();
        prop_assert_eq!(&found, &puzzle.solved());
        let mut sorted = found.moves.clone();
        sorted.sort_unstable();
        prop_assert_eq!(found.moves, sorted, "in the order of the items");
    }

    #[test]
    fn arrange_a_clean_board_moves_nothing(mut puzzle in puzzle()) {
        puzzle.clean();
        prop_assert_eq!(puzzle.faults(&puzzle.start), Faults::default());
        let found = puzzle.solved();
        prop_assert_eq!(found, Arrangement { moves: Vec::new(), left: Faults::default(), proven: true });
    }
}

// Whole commands over small shelves.

const DAY: &str = "2031-03-15";

/// What may stand on a shelf: reagent and label, amount.
const STOCKS: [&str; 20] = [
    "hydrogen-peroxide \"3 % w/v\" 500mL",
    "hydrogen-peroxide \"12 % w/w\" 500mL",
    "hydrogen-peroxide \"35 % w/w\" 500mL",
    "sodium-hypochlorite \"10 % w/w\" 1L",
    "calcium-hypochlorite \"65 % w/w\" 1kg",
    "sodium-percarbonate 1kg",
    "potassium-permanganate 100g",
    "potassium-permanganate \"0.5 % w/v\" 500mL",
    "acetic-acid \"5 % w/v\" 1L",
    "hydrochloric-acid \"10 % w/w\" 1L",
    "ammonia \"10 % w/w\" 1L",
    "ascorbic-acid 100g",
    "ammonium-alum 500g",
    "potassium-alum 500g",
    "sodium-thiosulfate 500g",
    "isopropanol \"70 % w/w\" 500mL",
    "formaldehyde \"37 % w/w\" 250mL",
    "copper-sulfate 250g",
    "sodium-hydroxide 500g",
    "sodium-chloride 2kg",
];

/// Two shelves of one locker, and places of their own.
const PLACES: [&str; 6] = [
    "top --temp 20 --light dark --around nothing --cabinet locker --height 140",
    "low --temp 20 --light dark --around nothing --cabinet locker --height 40",
    "shed --temp 15 --light dark --around combustibles",
    "pantry --temp 20 --light dark --around food",
    "sill --temp 28 --light sill --around warm,bedroom --height 160",
    "cellar --temp 12 --light dark --around nothing",
];

/// A register that is asked inside this process.
struct Asked {
    folder: TempDir,
}

impl Asked {
    fn new(places: &[&str]) -> Asked {
        let asked = Asked { folder: tempfile::tempdir().expect("a temporary folder") };
        asked.ask("new");
        for place in places {
            asked.ask(&format!("place add {place}"));
        }
        asked
    }

    #[track_caller]
    fn ask(&self, line: &str) -> Answer {
        let typed = words(line);
        let typed = ["brimstock", "--on", DAY].into_iter().chain(typed.iter().map(String::as_str));
        let cli = Cli::try_parse_from(typed).unwrap_or_else(|error| panic!("{line}: {error}"));
        let session = Session {
            catalogue: shipped(),
            path: self.folder.path().join("shelf.brimstock"),
            day: cli.on.expect("a day"),
            entered_at: format!("{DAY}T12:00:00Z"),
            clock: chrono::NaiveDateTime::default(),
            work: brimstock::register::work::Work::default(),
        };
        cli::run(&session, cli.verb).unwrap_or_else(|problem| panic!("{line}: {problem}"))
    }

    fn receive(&self, stock: &Stock, places: &[&str]) {
        let place = name_of(places[stock.place.index(places.len())]);
        self.ask(&format!("receive {} --at {place} --code {} --cap {}", stock.what, stock.code, stock.cap));
    }

    fn audit(&self) -> Audited {
        match self.ask("audit") {
            Answer::Audited(audited) => *audited,
            other => panic!("{other:?}"),
        }
    }
}

fn name_of(place: &str) -> &str {
    place.split_whitespace().next().expect("a name")
}

#[derive(Debug, Clone)]
struct Stock {
    what: String,
    code: String,
    place: Index,
    cap: &'static str,
}

/// Stocks and the places they may stand in.
fn shelf(most: usize) -> impl Strategy<Value = (Vec<Stock>, Vec<&'static str>)> {
    let stock = (prop::sample::select(STOCKS.to_vec()), any::<Index>(), prop::sample::select(vec!["vented", "tight"]));
    let stocks = prop::collection::vec(stock, 1..=most).prop_map(|all| {
        let named = |(number, (what, place, cap)): (usize, (&str, Index, &'static str))| Stock {
            what: what.to_owned(),
            code: format!("X-{number}"),
            place,
            cap,
        };
        all.into_iter().enumerate().map(named).collect()
    });
    (stocks, prop::sample::subsequence(PLACES.to_vec(), 2..=4))
}

/// A rule without regard to which of two stocks it names first.
fn rule(finding: &Finding) -> String {
    let (names, rest) = finding.fault.rule.split_once(", ").unwrap_or((&finding.fault.rule, ""));
    let mut names: Vec<&str> = names.split(" and ").collect();
    names.sort_unstable();
    format!("{}, {rest}", names.join(" and "))
}

fn holds_all(more: &Finding, less: &Finding) -> bool {
    less.stocks.iter().all(|stock| more.stocks.contains(stock))
}

/// True if it is about a container, which stays wrong wherever it stands.
fn is_upkeep(finding: &Finding) -> bool {
    let of_a_place = [" and ", " near ", " warmer than ", " in the light", "higher than ", "liquids above "];
    !of_a_place.iter().any(|words| finding.fault.rule.contains(words))
}

proptest! {
    #![proptest_config(cases(10))]

    #[test]
    fn arrange_another_stock_never_removes_a_finding((stocks, places) in shelf(5)) {
        let asked = Asked::new(&places);
        let mut before: Vec<Finding> = Vec::new();
        for stock in &stocks {
            asked.receive(stock, &places);
            let now = asked.audit().findings;
            for old in &before {
                let kept = now.iter().any(|new| {
                    // A container's finding that concerns two places names none.
                    let there = new.place == old.place || (is_upkeep(new) && new.place.is_none());
                    there && rule(new) == rule(old) && new.fault.severity == old.fault.severity && holds_all(new, old)
                });
                prop_assert!(kept, "with {:?} this is lost: {:?}\n{:?}", stock, old, now);
            }
            before = now;
        }
    }

    #[test]
    fn arrange_stronger_never_relieves(
        (stocks, places) in shelf(4), place in any::<Index>(), cap in prop::sample::select(vec!["vented", "tight"]),
        (reagent, ladder) in prop::sample::select(vec![
            ("hydrogen-peroxide", vec!["3 % w/v", "7.9 % w/w", "8 % w/w", "8.1 % w/w", "12 % w/w", "35 % w/w"]),
            ("potassium-permanganate", vec!["0.1 % w/w", "1 % w/w", "1.1 % w/w", "4 % w/w"]),
            ("isopropanol", vec!["10 % w/w", "19 % w/w", "19.1 % w/w", "70 % w/w"]),
            ("ethanol", vec!["10 % w/w", "19 % w/w", "19.1 % w/w", "96 % w/w"]),
            ("sodium-hypochlorite", vec!["0.5 % w/w", "4.9 % w/w", "5 % w/w", "12 % w/w"]),
        ]),
    ) {
        let mut weaker: Option<(&str, Vec<Finding>)> = None;
        for strength in ladder {
            let asked = Asked::new(&places);
            for stock in &stocks {
                asked.receive(stock, &places);
            }
            let what = format!("{reagent} \"{strength}\" 500mL");
            asked.receive(&Stock { what, code: "Y-1".to_owned(), place, cap }, &places);
            let now = asked.audit().findings;
            if let Some((weak, before)) = &weaker {
                let concerned = |finding: &&Finding| finding.stocks.iter().any(|stock| stock == "Y-1");
                for old in before.iter().filter(concerned) {
                    let kept = now.iter().filter(concerned).any(|new| {
                        // Behind the semicolon stands a pressure, which rises with the strength.
                        let words = |finding: &Finding| finding.fault.consequence.split(';').next().map(str::to_owned);
                        new.fault.severity <= old.fault.severity && words(new) == words(old)
                    });
                    prop_assert!(kept, "{} relieves {} of {:?}\n{:?}", strength, weak, old, now);
                }
            }
            weaker = Some((strength, now));
        }
    }

    #[test]
    fn arrange_the_moves_clear_what_they_say_and_make_nothing_new((stocks, places) in shelf(6)) {
        let asked = Asked::new(&places);
        for stock in &stocks {
            asked.receive(stock, &places);
        }
        let before = asked.audit();
        prop_assert!(before.proven);
        for carry in &before.moves {
            prop_assert!(carry.from != carry.to);
            asked.ask(&format!("move {} {}", carry.stock, carry.to));
        }
        let after = asked.audit();
        for new in &after.findings {
            let known = before.findings.iter().any(|old| {
                rule(old) == rule(new) && old.fault.severity == new.fault.severity && holds_all(old, new)
                    && (is_upkeep(new) || old.place == new.place)
            });
            prop_assert!(known, "made by {:?}: {:?}\n{:?}", before.moves, new, before.findings);
        }
        let left: Vec<&Finding> = after.findings.iter().filter(|finding| !is_upkeep(finding)).collect();
        prop_assert_eq!(left.len(), before.stuck, "{:?}", left);
        for carry in &before.moves {
            let fault = left.iter().find(|finding| finding.stocks.contains(&carry.stock));
            prop_assert!(fault.is_none(), "{:?} went into {:?}", carry, fault);
        }
        // What was the fewest leaves nothing to do.
        prop_assert_eq!(&after.moves, &Vec::new());
        prop_assert_eq!(after.stuck, before.stuck);
    }

    /// Two findings that differ only in which of two reagents is named first are one here; see `tests/audit.rs`.
    #[test]
    fn arrange_order_of_receipt_does_not_matter(
        ((stocks, places), order) in shelf(5).prop_flat_map(|(stocks, places)| {
            let order = Just((0..stocks.len()).collect::<Vec<_>>()).prop_shuffle();
            (Just((stocks, places)), order)
        }),
    ) {
        let said = |order: &[usize]| {
            let asked = Asked::new(&places);
            for number in order {
                asked.receive(&stocks[*number], &places);
            }
            let audited = asked.audit();
            let mut found = std::collections::BTreeMap::<_, BTreeSet<String>>::new();
            for finding in &audited.findings {
                let key = (finding.fault.severity, rule(finding), finding.place.clone());
                found.entry(key).or_default().extend(finding.stocks.iter().cloned());
            }
            (found, audited.moves.len())
        };
        let as_they_came: Vec<usize> = (0..stocks.len()).collect();
        prop_assert_eq!(said(&as_they_came), said(&order));
    }
}
