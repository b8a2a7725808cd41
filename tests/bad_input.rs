//! Wrong files and wrong words: a clear error, the right exit code, nothing lost.

use std::fs;
use std::io::Read;
use std::process::Stdio;

use crate::harness::Bench;

#[test]
fn a_register_that_is_none() {
    let bench = Bench::bare();
    bench.run(&["shelf"]).fails(4, &["there is no register", "brimstock new"]);
    fs::write(bench.register(), "").unwrap();
    bench.run(&["shelf"]).fails(4, &["is empty", "brimstock new"]);
    bench.run(&["new"]).ok();
    bench.run(&["new"]).fails(4, &["already a file"]);
    fs::write(bench.register(), "groceries: eggs, milk, and a good many words more than a header has").unwrap();
    bench.run(&["shelf"]).fails(4, &["is not a brimstock register"]);
    bench.run(&["new"]).fails(4, &["already a file"]);
    fs::remove_file(bench.register()).unwrap();
    fs::create_dir(bench.register()).unwrap();
    bench.run(&["shelf"]).fails(4, &["it is a folder"]);
}

#[test]
fn a_register_of_another_program_or_a_newer_one() {
    let bench = Bench::bare();
    let other = rusqlite::Connection::open(bench.register()).unwrap();
    other.execute_batch("CREATE TABLE recipe (name TEXT);").unwrap();
    drop(other);
    bench.run(&["shelf"]).fails(4, &["is not a brimstock register"]);
    fs::remove_file(bench.register()).unwrap();
    bench.run(&["new"]).ok();
    let newer = rusqlite::Connection::open(bench.register()).unwrap();
    newer.execute_batch("PRAGMA user_version = 99;").unwrap();
    drop(newer);
    let before = fs::read(bench.register()).unwrap();
    bench.run(&["shelf"]).fails(4, &["newer brimstock", "version 99"]);
    assert_eq!(before, fs::read(bench.register()).unwrap());
}

#[test]
fn the_journal_cannot_be_rewritten() {
    let bench = Bench::demo();
    let register = rusqlite::Connection::open(bench.register()).unwrap();
    for sql in [
        "UPDATE event SET amount = 1",
        "DELETE FROM event",
        "DELETE FROM stock",
        "UPDATE place SET name = 'x'",
        "INSERT OR REPLACE INTO event (id, stock, kind, day, entered_at, note) VALUES (1, 1, 'retired', '2031-01-01', '2031-01-01T00:00:00Z', 'x')",
        "INSERT INTO event (stock, kind, day, entered_at, amount, amount_unit) VALUES (1, 'taken', '2031-01-01', '2031-01-01T00:00:00Z', -1, 'mL')",
        "INSERT INTO event (stock, kind, day, entered_at, amount, amount_unit) VALUES (99, 'taken', '2031-01-01', '2031-01-01T00:00:00Z', 1, 'mL')",
    ] {
        register.execute_batch("PRAGMA foreign_keys = ON").unwrap();
        assert!(register.execute(sql, []).is_err(), "{sql}");
    }
}

#[test]
fn days_that_are_none() {
    let bench = Bench::new();
    bench.run(&["--on", "2031-02-29", "shelf"]).fails(2, &["no day of the calendar"]);
    bench.run(&["--on", "tomorrow", "shelf"]).fails(2, &["write YYYY-MM-DD"]);
    bench.run(&["--on", "31-02-02", "shelf"]).fails(2, &["write YYYY-MM-DD"]);
    bench.run(&["--on", "9999-01-01", "shelf"]).fails(2, &["outside the years"]);
    bench.run(&["--on", "2032-02-29", "shelf"]).ok();
}

#[test]
fn quantities_that_are_none() {
    let bench = Bench::new();
    let receive = |strength: &str, amount: &str| {
        bench.run(&["--on", "2031-03-01", "receive", "hydrogen-peroxide", strength, amount, "--at", "cupboard"])
    };
    receive("3 % w/v", "-5mL").fails(2, &["'-5'"]);
    receive("3 % w/v", "0mL").fails(2, &["above 0"]);
    receive("3 % w/v", "NaN mL").fails(2, &["a number was expected"]);
    receive("3 % w/v", "1/0 tsp").fails(2, &["divides by 0"]);
    receive("3 % w/v", "99999999999L").fails(2, &["out of any range"]);
    receive("3 % w/v", "500").fails(2, &["a unit is missing", "accepted:"]);
    receive("300 % w/w", "1L").fails(2, &["more than the whole"]);
    receive("900 % w/v", "1L").fails(2, &["more than any solution holds"]);
    receive("1:3", "1L").fails(2, &["of what?"]);
    receive("3 bananas", "1L").fails(2, &["read `3`, stopped at `bananas`"]);
    bench.on("2031-03-01", "receive hydrogen-peroxide 1L --at cupboard").fails(2, &["how strong"]);
    bench.on("2031-03-01", "receive potassium-alum \"5 % w/v\" 1kg --at cupboard").fails(2, &["strength by volume"]);
    bench.on("2031-03-01", "receive sodium-percarbonate \"5 g/L\" 1kg --at cupboard").fails(2, &["is a solid"]);
    bench
        .on("2031-03-01", "receive hydrogen-peroxid 3% 1L --at cupboard")
        .fails(2, &["did you mean `hydrogen-peroxide`?"]);
    bench.on("2031-03-01", "receive alum 1kg --at cupboard").fails(2, &["`alum` is sold as several reagents"]);
    bench.on("2031-03-01", "place add x --temp 900").fails(2, &["no temperature of a store"]);
    bench.on("2031-03-01", "dose peroxide-weak --bath 5kg").fails(2, &["that is a mass"]);
    bench.on("2031-03-01", "dose peroxyde-weak --bath 5L").fails(2, &["did you mean `peroxide-weak`?"]);
}

#[test]
fn errors_are_json_where_json_was_asked() {
    let bench = Bench::new();
    let ran = bench.on("2031-03-01", "--json take HP-1 5mL");
    let error: serde_json::Value = serde_json::from_str(&ran.stderr).unwrap();
    assert_eq!((ran.code, error["error"]["exit_code"].as_i64()), (2, Some(2)));
    let ran = bench.run(&["--json", "brew"]);
    assert!(serde_json::from_str::<serde_json::Value>(&ran.stderr).unwrap()["error"]["what"].is_string());
}

#[test]
fn a_pipe_closed_early_is_no_error() {
    let bench = Bench::demo();
    let mut child = bench.command().args(["dips"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let status = child.wait().unwrap();
    let mut stderr = String::new();
    child.stderr.take().unwrap().read_to_string(&mut stderr).unwrap();
    assert_eq!((status.code(), stderr.as_str()), (Some(0), ""));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_for_the_answer_is_said() {
    let bench = Bench::demo();
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = bench.command().args(["dips"]).stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(4));
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot be written"));
}
