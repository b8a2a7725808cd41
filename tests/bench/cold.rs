//! What a command costs beside a program that opens an empty SQLite file, asks it one thing and closes it: both from outside,
//! a process each, in turn.
//!
//! Run by hand: `cargo bench --bench cold`. With hyperfine (Debian's package, or `astral-dev-toolchain-hyperfine` of PyPI) its
//! figures are printed too.

#[path = "kit.rs"]
mod kit;

use std::path::Path;
use std::process::{Command, Stdio};

use kit::{in_turn, machine, met, ms, program};

/// How often each is run.
const ROUNDS: usize = 101;

/// `check` may take so many times as long as the empty file.
const GOAL: f64 = 3.0;

/// The word that makes this program the one with the empty file.
const EMPTY: &str = "--open-query-close";

fn main() {
    let words: Vec<String> = std::env::args().collect();
    if let [_, word, file] = &words[..]
        && word == EMPTY
    {
        return open_query_close(Path::new(file));
    }
    machine();
    let folder = tempfile::tempdir().expect("a folder");
    let empty = folder.path().join("empty.sqlite");
    rusqlite::Connection::open(&empty)
        .and_then(|file| file.execute_batch("CREATE TABLE t (id INTEGER)"))
        .expect("a file");
    let demo = folder.path().join("demo.brimstock");
    kit::run(&demo, &["demo", "--keep", demo.to_str().expect("UTF-8")]);
    let this = std::env::current_exe().expect("this program");

    let silent = |mut command: Command| {
        let done = command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).status().expect("it runs");
        assert!(done.code().is_some_and(|code| code <= 1), "{command:?}");
    };
    let ours = |words: &[&str]| {
        let mut command = Command::new(program());
        command.env("BRIMSTOCK_REGISTER", &demo).args(["--on", "2031-03-15"]).args(words);
        silent(command);
    };
    let nothing = || {
        let mut command = Command::new(&this);
        command.arg(EMPTY).arg(&empty);
        silent(command);
    };
    let [base, version, check, plain, shelf, dose, due, dips] = in_turn(
        ROUNDS,
        [
            &nothing,
            &|| ours(&["--version"]),
            &|| ours(&["check", "S03"]),
            &|| ours(&["check", "S03", "--json"]),
            &|| ours(&["shelf"]),
            &|| ours(&["dose", "peroxide-weak", "--bath", "10L"]),
            &|| ours(&["due"]),
            &|| ours(&["dips"]),
        ],
    );
    println!("an empty SQLite file opened, asked and closed, median of {ROUNDS} processes: {:.2} ms", ms(base));
    for (name, time) in [
        ("check", check),
        ("check --json", plain),
        ("shelf", shelf),
        ("dose", dose),
        ("due", due),
        ("dips", dips),
        ("--version", version),
    ] {
        println!("{name} on the demo register: {:.2} ms, {:.2} times that", ms(time), ms(time) / ms(base));
    }
    let ratio = ms(check) / ms(base);
    println!("check beside the empty file: {ratio:.2} (goal: at most {GOAL}): {}", met(ratio <= GOAL));
    hyperfine(&this, &empty, &demo);
}

/// Opens a file with the same care as the register is opened with, asks it one thing, and closes it.
fn open_query_close(file: &Path) {
    let connection = rusqlite::Connection::open(file).expect("it opens");
    let rows: i64 = connection.query_row("SELECT count(*) FROM t", [], |row| row.get(0)).expect("it answers");
    assert_eq!(rows, 0);
    connection.close().expect("it closes");
}

/// The same two by hyperfine, if it is there.
fn hyperfine(this: &Path, empty: &Path, demo: &Path) {
    let nothing = format!("'{}' {EMPTY} '{}'", this.display(), empty.display());
    let check = format!("'{}' --on 2031-03-15 check S03", program());
    let ran = Command::new("hyperfine")
        .args(["--shell=none", "--warmup=5", "--runs=101", "--ignore-failure", "--style=basic"])
        .args(["--command-name", "empty SQLite file", &nothing, "--command-name", "check", &check])
        .env("BRIMSTOCK_REGISTER", demo)
        .stderr(Stdio::null())
        .output();
    match ran {
        Ok(output) if output.status.success() => print!("{}", String::from_utf8_lossy(&output.stdout)),
        _ => println!("hyperfine is not there: its figures are left out"),
    }
}
