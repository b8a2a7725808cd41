//! Many commands at once on one register: all get through, one after the other.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use rusqlite::{Connection, TransactionBehavior};

use super::look::Held;
use crate::harness::{Bench, Ran};

const DAY: &str = "2031-03-02";

/// Runs a line in each of several threads at once.
fn at_once(bench: &Bench, lines: &[String]) -> Vec<Ran> {
    thread::scope(|scope| {
        let started: Vec<_> = lines.iter().map(|line| scope.spawn(move || bench.on(DAY, line))).collect();
        started.into_iter().map(|thread| thread.join().unwrap()).collect()
    })
}

#[test]
fn two_hundred_commands_of_eight_processes_all_get_through() {
    let bench = Bench::new();
    for line in [
        "receive sodium-chloride 1kg --at cupboard --condition opened",
        "receive potassium-alum 1kg --at cupboard --condition opened",
        "receive potassium-alum 1kg --at cupboard --condition opened",
    ] {
        bench.on("2031-03-01", line).ok();
    }
    // What each of the eight does, one after the other: 18 that write, 7 that read.
    let lines = |who: usize| -> Vec<String> {
        let mut lines: Vec<String> = (0..8).map(|_| "take SC-1 1g".to_owned()).collect();
        for number in 0..2 {
            lines.push("receive potassium-permanganate 100g --at cupboard".to_owned());
            lines.push(format!("place add p{who}-{number} --temp 12"));
            lines.push(format!(
                "bathe start alum-short --bath 1L --lot L{who}-{number} --at 10:00 --drew \"PA-1 3g\" --drew \"PA-2 2g\""
            ));
            lines.push("decant PA-1 5g".to_owned());
            lines.push("--json shelf".to_owned());
            lines.push("--json show SC-1".to_owned());
        }
        lines.push(format!("measure add spoon{who} spoon 15mL"));
        lines.push("backup".to_owned());
        lines.push("verify".to_owned());
        lines.push("show PA-2".to_owned());
        lines.push("dose alum-short --bath 1L".to_owned());
        lines
    };
    let mut done = Vec::new();
    thread::scope(|scope| {
        let (bench, lines) = (&bench, &lines);
        let work = |who: usize| {
            let mut took = Vec::new();
            let own = lines(who);
            // Each begins elsewhere, so that different commands meet.
            for index in 0..own.len() {
                let line = &own[(index + 3 * who) % own.len()];
                let began = Instant::now();
                let ran = bench.on(DAY, line);
                assert!(!ran.stderr.contains("locked"), "{line}: {ran:?}");
                assert!(ran.code == 0 || ran.code == 1 && line.starts_with("dose"), "{line}: {ran:?}");
                took.push((began.elapsed(), line.clone()));
            }
            took
        };
        let threads: Vec<_> = (0..8).map(|who| scope.spawn(move || work(who))).collect();
        threads.into_iter().for_each(|thread| done.extend(thread.join().unwrap()));
    });
    assert_eq!(done.len(), 200);
    let held = Held::of(&bench.register()).unwrap();
    let rows = |table: &str| held.rows[table];
    assert_eq!(rows("stock"), 3 + 16 + 16, "three at first, sixteen came, sixteen were poured out");
    assert_eq!(
        rows("event"),
        3 + 64 + 16 + 2 * 16 + 2 * 16,
        "received, taken, received, drawn in pairs, poured in pairs"
    );
    assert_eq!((rows("bench"), rows("bench_draw")), (16, 32));
    assert_eq!((rows("place"), rows("measure")), (1 + 16, 8));
    assert_eq!(held.left("SC-1"), 936_000_000);
    assert_eq!(held.left("PA-1"), (1000 - 16 * 3 - 16 * 5) * 1_000_000);
    assert_eq!(held.left("PA-2"), (1000 - 16 * 2) * 1_000_000);
    assert_eq!(fs::read_dir(bench.folder().join("shelf.copies")).unwrap().count(), 8);
    bench.on(DAY, "verify").ok();
    done.sort();
    eprintln!(
        "two hundred commands of eight processes: half of them within {:?}, all within {:?}",
        done[100].0, done[199]
    );
}

#[test]
fn an_old_register_is_brought_up_to_date_once() {
    let bench = Bench::bare();
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/registers/level-1.brimstock");
    for round in 0..3 {
        fs::copy(&old, bench.register()).unwrap();
        let answers: BTreeSet<String> =
            at_once(&bench, &vec!["--json shelf".to_owned(); 6]).into_iter().map(Ran::ok).collect();
        assert_eq!(answers.len(), 1, "round {round}: {answers:?}");
        let mut ran = at_once(&bench, &["verify".to_owned(), "take HP-1 1mL".to_owned(), "backup".to_owned()]);
        ran.drain(..).for_each(|ran| drop(ran.ok()));
        Held::of(&bench.register()).unwrap();
    }
}

#[test]
fn of_several_new_registers_under_one_name_one_is_made() {
    let kitchens = ["us", "imperial", "metric", "australian", "us", "metric"];
    for _ in 0..3 {
        let bench = Bench::bare();
        let lines: Vec<String> = kitchens.iter().map(|kitchen| format!("new --kitchen {kitchen}")).collect();
        let ran = at_once(&bench, &lines);
        let made: Vec<usize> = (0..ran.len()).filter(|index| ran[*index].code == 0).collect();
        assert_eq!(made.len(), 1, "{ran:?}");
        for done in ran.into_iter().filter(|ran| ran.code != 0) {
            done.fails(4, &["there is already a file at", "nothing was changed"]);
        }
        let kitchen: String = Connection::open(bench.register())
            .unwrap()
            .query_row("SELECT group_concat(value) FROM setting WHERE name = 'kitchen'", [], |row| row.get(0))
            .unwrap();
        assert_eq!(kitchen, kitchens[made[0]], "the one that said so made it");
    }
}

#[test]
fn who_waits_longer_than_five_seconds_is_told_so_and_can_try_again() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive sodium-chloride 1kg --at cupboard").ok();
    let before = Held::of(&bench.register()).unwrap();
    let mut holder = Connection::open(bench.register()).unwrap();
    // Nobody may even read: both wait, and neither answers from what it could not see.
    let held = holder.transaction_with_behavior(TransactionBehavior::Exclusive).unwrap();
    let began = Instant::now();
    for ran in
        at_once(&bench, &["take SC-1 1g".to_owned(), "--json shelf".to_owned(), "dose salt-gear --bath 1L".to_owned()])
    {
        assert!(!ran.stderr.contains("locked"), "{ran:?}");
        assert_eq!(ran.code, 4, "{ran:?}");
        assert!(
            ran.stderr.contains("for more than 5 seconds") && ran.stderr.contains("nothing was written"),
            "{ran:?}"
        );
    }
    let waited = began.elapsed();
    assert!((Duration::from_secs(5)..Duration::from_secs(25)).contains(&waited), "{waited:?}");
    held.rollback().unwrap();
    assert_eq!(Held::of(&bench.register()).unwrap(), before);
    bench.on(DAY, "take SC-1 1g").ok();
}
