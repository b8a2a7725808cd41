//! `take` and `check` on a register of a million events beside one of a thousand, in two shapes: wide, the events of a hundred
//! thousand stocks, and deep, those of ten stocks.
//!
//! Run by hand: `cargo bench --bench million`. `EVENTS` in the environment asks for fewer than a million.

#[path = "kit.rs"]
mod kit;

use std::path::Path;

use kit::{Bottle, DAY, in_turn, machine, met, ms};

/// How often each is run.
const ROUNDS: usize = 41;

/// How many times as long it may take.
const GOAL: f64 = 1.2;

fn main() {
    machine();
    let events: usize = std::env::var("EVENTS").map_or(1_000_000, |events| events.parse().expect("how many events"));
    let folder = tempfile::tempdir().expect("a folder");
    for (shape, [large, small]) in [("wide", [(events / 10, 10), (100, 10)]), ("deep", [(10, events / 10), (10, 100)])]
    {
        let paths = ["large", "small"].map(|size| folder.path().join(format!("{shape}-{size}.brimstock")));
        fill(&paths[0], large);
        fill(&paths[1], small);
        let code = "X-7";
        let check = |path: &Path| kit::run(path, &["--on", DAY, "check", code]);
        let take = |path: &Path| kit::run(path, &["--on", DAY, "take", code, "1mL"]);
        // A first run of each: what is done once in a register's life, and the file in memory.
        paths.iter().for_each(|path| take(path));
        let [check_large, check_small, take_large, take_small] =
            in_turn(ROUNDS, [&|| check(&paths[0]), &|| check(&paths[1]), &|| take(&paths[0]), &|| take(&paths[1])]);
        for (what, long, short) in [("check", check_large, check_small), ("take", take_large, take_small)] {
            let ratio = ms(long) / ms(short);
            println!(
                "{what}, {shape} ({} stocks of {} events): {:.2} ms; of {} by {}: {:.2} ms; ratio {ratio:.2} (goal: at most {GOAL}): {}",
                large.0,
                large.1,
                ms(long),
                small.0,
                small.1,
                ms(short),
                met(ratio <= GOAL)
            );
        }
    }
}

/// A register of so many stocks of peroxide, each with so many events: received, opened, carried eight times within the first
/// year, the rest uses.
fn fill(register: &Path, (stocks, events): (usize, usize)) {
    kit::new_register(register);
    kit::enter(register, |transaction| {
        let code = |number: usize| format!("X-{number}");
        let codes: Vec<String> = (1..=stocks).map(code).collect();
        let bottles: Vec<Bottle<'_>> = codes
            .iter()
            .zip(1..)
            .map(|(code, id)| Bottle {
                id,
                code,
                reagent: "hydrogen-peroxide",
                form: "solution",
                unit: "mL",
                amount: 1e6,
                strength: (3.0, "% w/v"),
                container: Some("opaque-plastic"),
            })
            .collect();
        bottles.iter().for_each(|bottle| bottle.receive(transaction));
        bottles.iter().for_each(|bottle| bottle.open(transaction, "2027-02-01"));
        // As the events of a shelf come: one stock after the other, day by day.
        for number in 2..events {
            let (year, month) =
                (2027 + 3 * number / events, 1 + 11 * (number % (events / 3).max(1)) / (events / 3).max(1));
            let day = format!("{year}-{:02}-02", month.clamp(2, 12));
            bottles.iter().for_each(|bottle| match number {
                3 => bottle.carry(transaction, &day, 2),
                5 => bottle.carry(transaction, &day, 1),
                7 => bottle.test(transaction, &day, 0.93),
                _ => bottle.take(transaction, &day, 1.0),
            });
        }
    });
}
