//! Durable entries a second through the library, beside SQLite alone with the same statement: the same table with its checks,
//! index and triggers, the same settings, the same file system, in turn in the same run.
//!
//! Run by hand: `cargo bench --bench commits`. `COMMITS_IN` names a folder on another disk.

#[path = "kit.rs"]
mod kit;

use std::path::{Path, PathBuf};

use brimstock::commands::receive::append;
use brimstock::register::event::{Entry, Event, What};
use brimstock::register::{Register, StoreError};
use chrono::NaiveDate;
use kit::{Bottle, machine, met, once, quantile};
use rusqlite::{Connection, TransactionBehavior};

/// Blocks of each, in turn, and entries in a block.
const BLOCKS: usize = 60;
const A_BLOCK: usize = 25;

/// So much of the rate of SQLite alone is wanted.
const GOAL: f64 = 0.8;

/// The settings of `src/register/mod.rs`.
const SETTINGS: &str = "PRAGMA foreign_keys = ON; PRAGMA synchronous = EXTRA; PRAGMA trusted_schema = OFF; \
                        PRAGMA cell_size_check = ON; PRAGMA journal_mode = DELETE;";

/// The statement of an entry, with its 29 columns less the row's number.
const INSERT: &str = "INSERT INTO event (stock, kind, day, entered_at, corrects, happened, event_day, place, amount, \
    amount_unit, strength, strength_unit, relative_sd, condition, method, hold, written, note, container, wall_mm, \
    diameter_cm, made_on, poured_from, readings, cap, brim_ml, overruled, handed_to) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, \
    ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21, ?22, ?23, ?24, ?25, ?26, ?27, ?28)";

fn main() {
    machine();
    let folder = match std::env::var_os("COMMITS_IN") {
        Some(other) => tempfile::tempdir_in(other),
        None => tempfile::tempdir(),
    };
    let folder = folder.expect("a folder");
    for (what, stocks, uses) in [("100 stocks of 10 events", 100, 9), ("2,000 stocks of 50 events", 2000, 49)] {
        let (ours, alone) = two_of_one(folder.path(), stocks, uses);
        compare(what, &ours, &alone, stocks);
    }
}

/// A register and its copy.
fn two_of_one(folder: &Path, stocks: usize, uses: usize) -> (PathBuf, PathBuf) {
    let (ours, alone) =
        (folder.join(format!("ours-{stocks}.brimstock")), folder.join(format!("alone-{stocks}.brimstock")));
    kit::new_register(&ours);
    kit::enter(&ours, |transaction| {
        for number in 1..=stocks {
            let bottle = Bottle {
                id: i64::try_from(number).expect("a small number"),
                code: &format!("X-{number}"),
                reagent: "hydrogen-peroxide",
                form: "solution",
                unit: "mL",
                amount: 1e6,
                strength: (3.0, "% w/v"),
                container: None,
            };
            bottle.receive(transaction);
            (0..uses).for_each(|_| bottle.take(transaction, "2027-03-01", 1.0));
        }
    });
    std::fs::copy(&ours, &alone).expect("a copy");
    (ours, alone)
}

fn compare(what: &str, ours: &Path, alone: &Path, stocks: usize) {
    let mut register = Register::open(ours).expect("a register");
    let mut raw = Connection::open(alone).expect("a copy");
    raw.execute_batch(SETTINGS).expect("its settings");
    let day = NaiveDate::from_ymd_opt(2030, 5, 1).expect("a day");
    let known = register.read(|reading| Ok::<_, StoreError>((reading.stocks()?, reading.places()?)));
    let (known, places) = known.expect("stocks");

    let mut next = 0;
    let mut through_us = |count: usize| {
        for _ in 0..count {
            let stock = &known[next * 7919 % stocks];
            // All that an entry needs: the journal before it, whether it makes sense behind that, the row and its seals.
            let kept = register.write(|writing| {
                let journal = writing.journal(stock, &places, day)?;
                let entry = Entry {
                    id: 0,
                    number: journal.lines() + 1,
                    day,
                    entered_at: "2030-05-01T12:00:00Z".to_owned(),
                    written: "10mL".to_owned(),
                    what: What::Event(Event::Taken { amount: 10.0 }),
                };
                append(writing, stock, &places, journal, entry)
            });
            kept.expect("it is kept");
            next += 1;
        }
    };
    let mut next = 0;
    let mut by_sqlite = |count: usize| {
        for _ in 0..count {
            let stock = &known[next * 7919 % stocks];
            let transaction = raw.transaction_with_behavior(TransactionBehavior::Immediate).expect("a transaction");
            {
                let mut statement = transaction.prepare_cached(INSERT).expect("a statement");
                let nothing: Option<f64> = None;
                let values = rusqlite::params![
                    stock.id,
                    "taken",
                    day.to_string(),
                    "2030-05-01T12:00:00Z",
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    10.0,
                    "mL",
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    "10mL",
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                    nothing,
                ];
                statement.execute(values).expect("a row");
            }
            transaction.commit().expect("it is kept");
            next += 1;
        }
    };
    by_sqlite(A_BLOCK);
    through_us(A_BLOCK);
    let mut rates = [Vec::new(), Vec::new()];
    let mut ratios = Vec::new();
    for _ in 0..BLOCKS {
        let rate = |seconds: f64| A_BLOCK as f64 / seconds;
        let ours = rate(once(|| through_us(A_BLOCK)).as_secs_f64());
        let alone = rate(once(|| by_sqlite(A_BLOCK)).as_secs_f64());
        ratios.push(ours / alone);
        rates[0].push(ours);
        rates[1].push(alone);
    }
    let [low, mid, high] = [0.1, 0.5, 0.9].map(|share| quantile(&mut ratios, share));
    let [ours, alone] = rates.each_mut().map(|rates| quantile(rates, 0.5));
    println!(
        "{what}: {ours:.0} durable entries a second, SQLite alone {alone:.0}; ratio of {BLOCKS} pairs of blocks of {A_BLOCK}: \
         {mid:.2} (tenth to ninetieth of a hundred: {low:.2} to {high:.2}; goal: at least {GOAL}): {}",
        met(mid >= GOAL)
    );
}
