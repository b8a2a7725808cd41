//! Long work: told on a terminal, silent in a pipe, ended by Ctrl-C with nothing half written.

use std::fs;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use brimstock::register::work::{Watcher, Work};
use brimstock::register::{Register, StoreError};
use rusqlite::Connection;

use crate::harness::Bench;

const DAY: &str = "2031-03-06";

/// A shelf on which a question takes a while.
fn long_shelf() -> Bench {
    let bench = Bench::new();
    let connection = Connection::open(bench.register()).unwrap();
    connection
        .execute_batch(
            "BEGIN;
             WITH RECURSIVE number (n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM number WHERE n < 900)
             INSERT INTO stock (id, code, reagent, form)
             SELECT n, 'B' || n, 'hydrogen-peroxide', 'solution' FROM number;
             INSERT INTO event (stock, kind, day, entered_at, place, amount, amount_unit, strength, strength_unit,
                 relative_sd, condition)
             SELECT id, 'received', '2031-01-02', '2031-01-02T12:00:00Z', 1, 500, 'mL', 12, '% w/w', 0.01, 'sealed'
             FROM stock;
             COMMIT;",
        )
        .unwrap();
    drop(connection);
    Register::open(&bench.register()).unwrap().seal_again().unwrap();
    bench
}

#[test]
fn a_long_shelf_says_of_each_stock_what_is_said_of_it_alone() {
    // 130 stocks, no two of one strength: so many that the threads and their chunks all have a share.
    let bench = long_shelf();
    let connection = Connection::open(bench.register()).unwrap();
    connection
        .execute_batch(
            "DROP TRIGGER event_stays; DROP TRIGGER stock_stays; DROP TRIGGER event_keeps;
             DELETE FROM event WHERE stock > 130; DELETE FROM stock WHERE id > 130; DELETE FROM seal; DELETE FROM checkpoint;
             UPDATE event SET strength = 3 + stock / 20.0;",
        )
        .unwrap();
    drop(connection);
    Register::open(&bench.register()).unwrap().seal_again().unwrap();
    let shelf = bench.on(DAY, "--json shelf").json();
    let lines = shelf["stocks"].as_array().unwrap();
    let codes: Vec<&str> = lines.iter().map(|line| line["stock"].as_str().unwrap()).collect();
    assert_eq!(codes, (1..=130).map(|number| format!("B{number}")).collect::<Vec<_>>());
    for number in [1, 32, 33, 63, 64, 65, 127, 128, 129, 130] {
        let alone = bench.on(DAY, &format!("--json show B{number}")).json();
        assert!(alone["strength"]["usual"].is_object(), "{alone}");
        assert_eq!(lines[number - 1]["usual"], alone["strength"]["usual"], "B{number}");
    }
    // The first that is damaged is told, and no other.
    let connection = Connection::open(bench.register()).unwrap();
    connection
        .execute("UPDATE seal SET crc = crc + 1 WHERE scope IN ('event:90', 'event:70', 'event:129')", [])
        .unwrap();
    bench.on(DAY, "shelf").fails(4, &["the journal of `B70` (`event:70`) does not read as it was written"]);
}

/// Counts what it is told, and ends the work once so many things are done.
#[derive(Debug, Default)]
struct Counting {
    told: AtomicUsize,
    all: AtomicUsize,
    ended: AtomicUsize,
    patience: usize,
}

impl Watcher for Counting {
    fn begun(&self, _what: &'static str, all: usize) {
        self.all.fetch_max(all, Ordering::Relaxed);
    }
    fn came(&self, _done: usize) {
        self.told.fetch_add(1, Ordering::Relaxed);
    }
    fn ended(&self) {
        self.ended.fetch_add(1, Ordering::Relaxed);
    }
    fn is_stopped(&self) -> bool {
        self.told.load(Ordering::Relaxed) > self.patience
    }
}

fn read_all(path: &std::path::Path, watcher: &Arc<Counting>) -> Result<usize, StoreError> {
    let work = Work::watched(Arc::clone(watcher) as Arc<dyn Watcher>);
    let mut seen = 0;
    Register::open(path)?.watched(work)?.read(|reading| {
        reading.each_stock(&reading.places()?, |_, _| {
            seen += 1;
            Ok::<(), StoreError>(())
        })
    })?;
    Ok(seen)
}

#[test]
fn every_stock_is_told_and_a_wish_to_end_is_heard_at_the_next_one() {
    let bench = Bench::demo();
    let patient = Arc::new(Counting { patience: usize::MAX, ..Counting::default() });
    let stocks = read_all(&bench.register(), &patient).unwrap();
    // The one more is the question whether there is a next one.
    assert_eq!(patient.told.load(Ordering::Relaxed), stocks + 1);
    assert_eq!(patient.all.load(Ordering::Relaxed), stocks);
    assert_eq!(patient.ended.load(Ordering::Relaxed), 1);
    let hasty = Arc::new(Counting { patience: 3, ..Counting::default() });
    assert!(matches!(read_all(&bench.register(), &hasty), Err(StoreError::Interrupted)));
    assert_eq!(hasty.told.load(Ordering::Relaxed), 4);
    assert_eq!(hasty.ended.load(Ordering::Relaxed), 1);
}

#[test]
fn what_sqlite_does_alone_is_ended_too_and_what_was_begun_is_taken_back() {
    let bench = long_shelf();
    let hasty = Arc::new(Counting { patience: 0, told: AtomicUsize::new(1), ..Counting::default() });
    let work = Work::watched(hasty as Arc<dyn Watcher>);
    let mut register = Register::open(&bench.register()).unwrap().watched(work).unwrap();
    assert!(matches!(register.faults(), Err(StoreError::Interrupted)));
    let entered = register.write(|writing| {
        writing.set("kitchen", "us", "2031-03-06T12:00:00Z")?;
        writing.each_stock(&[], |_, _| Ok::<(), StoreError>(()))
    });
    assert!(matches!(entered, Err(StoreError::Interrupted)), "{entered:?}");
    let mut register = Register::open(&bench.register()).unwrap();
    assert_eq!(register.read(|reading| reading.setting("kitchen")).unwrap(), None);
}

/// Sends the program the signal of Ctrl-C once it has been at work for a while.
#[test]
fn ctrl_c_ends_it_with_130_and_leaves_nothing_behind() {
    let bench = long_shelf();
    let codes: Vec<String> = (1..=900).map(|number| format!("B{number}")).collect();
    let mut lines = vec![vec!["shelf".to_owned()]];
    lines.push(
        [vec!["card".to_owned(), "bottle".to_owned()], codes, vec!["--out".to_owned(), "l.pdf".to_owned()]].concat(),
    );
    for line in lines {
        let begun = Instant::now();
        let child = bench
            .command()
            .args(["--on", DAY])
            .args(&line)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        thread::sleep(Duration::from_millis(400));
        assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
        let output = child.wait_with_output().unwrap();
        let (said, took) = (String::from_utf8(output.stderr).unwrap(), begun.elapsed());
        assert_eq!(output.status.code(), Some(130), "{line:?} after {took:?}: {said}");
        assert!(said.contains("interrupted; nothing was written"), "{said}");
        assert!(output.stdout.is_empty());
    }
    let left: Vec<_> = fs::read_dir(bench.folder()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left, ["shelf.brimstock"]);
    bench.on(DAY, "verify").ok();
}

#[test]
fn a_terminal_is_shown_how_far_it_has_come_and_a_pipe_is_not() {
    let bench = long_shelf();
    let ran = bench.on(DAY, "shelf");
    assert_eq!((ran.code, ran.stderr.as_str()), (0, ""));
    // `script` gives the program a terminal; what it shows goes to standard output.
    let program = env!("CARGO_BIN_EXE_brimstock");
    let shown = |more: &str| {
        let line = format!("{program} --on {DAY} {more} shelf >/dev/null");
        let output = Command::new("script")
            .args(["-qec", &line, "/dev/null"])
            .env("BRIMSTOCK_REGISTER", bench.register())
            .env("TERM", "xterm")
            .stdin(Stdio::null())
            .output()
            .expect("`script` of util-linux");
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    assert!(shown("").contains("reading the shelf ["), "no bar");
    assert_eq!(shown("--plain"), "");
}
