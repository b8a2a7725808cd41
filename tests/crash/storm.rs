//! A thousand commands killed in the middle of a growing register.
//!
//! Two threads, a register each. Every command is drawn at random, with what the register must hold after it. Most are
//! killed: some at any moment of their life, some a moment after their journal has appeared, some just before the n-th thing
//! that they do to a file (the library of `faults.rs`; however busy the machine, these die while they write). The delays are
//! drawn from what unkilled commands took on this machine just now. Afterwards the register holds what it held
//! before, or all of what the command was to enter; if the command had printed its success, all of it.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Read, Write};
use std::path::Path;
use std::process::Stdio;
use std::sync::Mutex;
use std::thread;
use std::time::{Duration, Instant};

use brimstock::register::StoreError;

use super::drawn::{Aim, Dice, Shelf, Step};
use super::faults::library;
use super::look::{Held, journal, names};
use crate::harness::{Bench, words};

const DAY: &str = "2031-03-02";

/// How many commands are to die, in each of the two threads.
const DEATHS: u32 = 500;

/// One of the two threads: its register and what was seen so far.
struct Keeper {
    bench: Bench,
    dice: Dice,
    shelf: Shelf,
    number: usize,
    /// What was in the copies, by name.
    copies: BTreeMap<String, Shelf>,
    /// The register and its journal when they were last looked at.
    bytes: (Vec<u8>, Vec<u8>),
    /// How long commands take that nobody kills, and how long their journal is there.
    life: Duration,
    writing: Duration,
    seen: Seen,
}

#[derive(Default)]
struct Seen {
    commands: u32,
    died: u32,
    /// Died with a journal beside the register: within a transaction.
    within: u32,
    /// Of these, those whose journal was finished, so that the register itself may have been half written.
    hot: u32,
    /// Died after all was written and before the end.
    late: u32,
    verbs: BTreeMap<String, u32>,
}

impl Keeper {
    fn new(seed: u64) -> Keeper {
        let bench = Bench::new();
        for line in [
            "receive potassium-alum 5kg --at cupboard --condition opened --code PA-1",
            "receive potassium-alum 5kg --at cupboard --condition opened --code PA-2",
        ] {
            bench.on("2031-03-01", line).ok();
        }
        let day =
            |number: u32| format!("2031-{:02}-{:02} 12:00,{}\n", 1 + number / 28, 1 + number % 28, 15 + number % 7);
        let log: String = (0..50).map(day).collect();
        fs::write(bench.folder().join("log.csv"), format!("time,temperature\n{log}")).unwrap();
        fs::write(bench.folder().join("sheet.pdf"), "%PDF-1.4 a sheet of nothing").unwrap();
        let held = Held::of(&bench.register()).unwrap();
        let shelf = Shelf { held, places: vec!["cupboard".to_owned()], ..Shelf::default() };
        let mut keeper = Keeper {
            bench,
            dice: Dice(seed),
            shelf,
            number: 0,
            copies: BTreeMap::new(),
            bytes: Default::default(),
            life: Duration::from_millis(50),
            writing: Duration::from_millis(2),
            seen: Seen::default(),
        };
        (0..5).for_each(|_| keeper.turn(Death::None));
        keeper
    }

    /// Draws a command, kills it, and looks what is there.
    fn turn(&mut self, death: Death) {
        self.number += 1;
        let step = self.shelf.draw(&mut self.dice, self.number, self.bench.folder(), &self.copies);
        let register = match &step.aim {
            Aim::New(path) => path.clone(),
            _ => self.bench.register(),
        };
        let left_behind = journal(&register);
        let stamp = || fs::metadata(&left_behind).and_then(|data| Ok((data.modified()?, data.len()))).ok();
        let (had_journal, stamp_before) = (left_behind.exists(), stamp());
        let began = Instant::now();
        let mut child = self.bench.command();
        child.args(["--on", DAY]).args(words(&step.line)).stdin(Stdio::null());
        if matches!(death, Death::Deed) {
            let folder = fs::canonicalize(self.bench.folder()).unwrap();
            child.env("LD_PRELOAD", library()).env("FAULT_FOLDER", folder).env("FAULT_HOW", "kill");
            child.env("FAULT_AT", (1 + self.dice.below(26)).to_string()).env("FAULT_TOLD", "/dev/null");
        }
        let mut child = child.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut gone = false;
        match death {
            Death::None => {
                let mut appeared = None;
                while child.try_wait().unwrap().is_none() {
                    match (left_behind.exists(), appeared) {
                        (true, None) if !had_journal => appeared = Some(Instant::now()),
                        (false, Some(since)) => {
                            self.writing = (self.writing * 3 + since.elapsed()) / 4;
                            appeared = None;
                        }
                        _ => {}
                    }
                    thread::sleep(Duration::from_micros(100));
                }
                self.life = (self.life * 3 + began.elapsed()) / 4;
            }
            Death::Deed => drop(child.wait().unwrap()),
            Death::AnyTime => thread::sleep(self.life.mul_f64(self.dice.part() * 1.1)),
            Death::Writing => {
                while !gone && (had_journal || !left_behind.exists()) {
                    gone = child.try_wait().unwrap().is_some();
                    if had_journal && began.elapsed() > self.life {
                        break;
                    }
                    thread::sleep(Duration::from_micros(50));
                }
                if !gone {
                    spin(self.writing.mul_f64(self.dice.part() * 1.2));
                }
            }
        }
        let _ = child.kill();
        let code = child.wait().unwrap().code();
        let (mut said, mut told) = (String::new(), String::new());
        child.stdout.take().unwrap().read_to_string(&mut said).unwrap();
        child.stderr.take().unwrap().read_to_string(&mut told).unwrap();
        assert!(code.is_none_or(|code| code == 0), "{}: {code:?} {said} {told}", step.line);
        let promised = code.is_some() || !said.is_empty();
        self.seen.commands += 1;
        *self
            .seen
            .verbs
            .entry(
                step.line
                    .split(' ')
                    .find(|word| !word.starts_with('-') && !word.contains('/'))
                    .unwrap_or_default()
                    .to_owned(),
            )
            .or_default() += 1;
        if code.is_none() {
            self.seen.died += 1;
            // A journal of its own, not the one that it found.
            if let Ok(bytes) = fs::read(&left_behind)
                && stamp() != stamp_before
            {
                self.seen.within += 1;
                self.seen.hot += u32::from(bytes.iter().take(8).any(|byte| *byte != 0));
            }
        }
        self.look(&step, promised, code.is_none());
    }

    /// All of it is there, or nothing; all of it if that was promised.
    fn look(&mut self, step: &Step, promised: bool, died: bool) {
        let register = self.bench.register();
        let bytes = (fs::read(&register).unwrap(), fs::read(journal(&register)).unwrap_or_default());
        // Of what is still the same byte by byte the same would be said.
        let found = if bytes == self.bytes {
            self.shelf.held.clone()
        } else {
            Held::of(&register).unwrap_or_else(|error| panic!("{}: {error}", step.line))
        };
        self.bytes = bytes;
        let whole = found == step.after.held;
        let nothing = found == self.shelf.held;
        assert!(whole || nothing, "`{}` is there half:\n{}", step.line, difference(&self.shelf.held, &found));
        if promised && matches!(step.aim, Aim::Register) {
            assert!(whole, "`{}` had said yes, and is not there", step.line);
        }
        match &step.aim {
            Aim::Register => self.seen.late += u32::from(died && whole),
            Aim::New(path) => {
                let made = Held::of(path);
                match &made {
                    Ok(held) => assert_eq!((held.rows["setting"], held.rows["stock"]), (1, 0), "half a register"),
                    Err(StoreError::Missing(_) | StoreError::Empty(_)) => assert!(!promised, "{}", step.line),
                    Err(error) => panic!("{}: {error}", step.line),
                }
                // What a killed one left is no hindrance to the next one, which meets it as it is.
                if made.is_err() && journal(path).exists() {
                    self.bench.on(DAY, &step.line).ok();
                    Held::of(path).unwrap();
                }
                let _ = fs::remove_file(path);
            }
            Aim::Copy => {
                let copies = self.bench.folder().join("shelf.copies");
                let new: Vec<String> = names(&copies)
                    .into_iter()
                    .filter(|name| name.starts_with("shelf-") && name.ends_with(".brimstock"))
                    .filter(|name| !self.copies.contains_key(name))
                    .collect();
                let restored = step.line.starts_with("restore");
                assert!(!promised || new.len() == 1, "`{}` had said yes: {new:?}", step.line);
                if promised && restored {
                    assert!(whole, "`{}` had said yes", step.line);
                }
                for name in new {
                    let copy = Held::of(&copies.join(&name)).unwrap_or_else(|error| panic!("{name}: {error}"));
                    assert_eq!(copy, self.shelf.held, "{name} is not what the register was");
                    self.copies.insert(name, self.shelf.clone());
                }
            }
        }
        if whole {
            self.shelf = step.after.clone();
        }
    }

    /// The program's own word for it: nothing is wrong, every amount is what was added up here, every line is told.
    fn verify(&mut self) {
        self.bench.on(DAY, "verify").ok();
        let shelf = self.bench.on(DAY, "--json shelf").json();
        let stocks = shelf["stocks"].as_array().unwrap();
        assert_eq!(stocks.len(), self.shelf.here().len());
        for stock in stocks {
            let code = stock["stock"].as_str().unwrap();
            let left = stock["left"]["value"].as_f64().unwrap();
            assert!((left - self.shelf.held.left(code) as f64 / 1e6).abs() < 0.01, "{code}: {stock}");
        }
        let codes: Vec<String> = self.shelf.held.journals.keys().cloned().collect();
        let code = self.dice.one(&codes);
        let shown = self.bench.on(DAY, &format!("--json show {code}")).json();
        let kinds: Vec<&str> =
            shown["journal"].as_array().unwrap().iter().map(|line| line["event"].as_str().unwrap()).collect();
        let expected: Vec<&str> = self.shelf.held.journals[code].iter().map(|line| line.kind.as_str()).collect();
        assert_eq!(kinds, expected, "{code}");
    }
}

#[derive(Clone, Copy)]
enum Death {
    None,
    AnyTime,
    Writing,
    Deed,
}

/// Waits shorter than a sleep can.
fn spin(time: Duration) {
    let began = Instant::now();
    while began.elapsed() < time {
        std::hint::spin_loop();
    }
}

fn difference(before: &Held, after: &Held) -> String {
    let rows = after.rows.iter().filter(|(table, rows)| before.rows[*table] != **rows);
    let mut text: String = rows.map(|(table, rows)| format!("{table}: {} to {rows}\n", before.rows[table])).collect();
    for (code, lines) in &after.journals {
        let known = before.journals.get(code).map_or(0, Vec::len);
        if known != lines.len() {
            text.push_str(&format!("{code}: {:?}\n", &lines[known.min(lines.len())..]));
        }
    }
    text
}

#[test]
fn a_thousand_killed_commands_are_each_there_whole_or_not_at_all() {
    let began = Instant::now();
    let total = Mutex::new(Seen::default());
    let storm = |seed: u64| {
        let mut keeper = Keeper::new(seed);
        let mut verified = 0;
        while keeper.seen.died < DEATHS {
            assert!(keeper.seen.commands < 3 * DEATHS, "commands end before they are killed: {:?}", keeper.life);
            let death = match keeper.dice.below(20) {
                0 => Death::None,
                1..=7 => Death::AnyTime,
                8..=12 => Death::Writing,
                _ => Death::Deed,
            };
            keeper.turn(death);
            if keeper.seen.died >= verified + 50 {
                verified = keeper.seen.died;
                keeper.verify();
            }
        }
        keeper.verify();
        leaves_only_what_is_named(keeper.bench.folder());
        let mut total = total.lock().unwrap();
        let seen = keeper.seen;
        total.commands += seen.commands;
        total.died += seen.died;
        total.within += seen.within;
        total.hot += seen.hot;
        total.late += seen.late;
        seen.verbs.into_iter().for_each(|(verb, count)| *total.verbs.entry(verb).or_default() += count);
    };
    thread::scope(|scope| {
        let storms = [2031, 2032].map(|seed| scope.spawn(move || storm(seed)));
        storms.into_iter().for_each(|storm| storm.join().unwrap());
    });
    let seen = total.into_inner().unwrap();
    let told = format!(
        "storm: {} of {} commands killed, {} within a transaction ({} while the register was written), {} after it, {:.0} s; {:?}",
        seen.died,
        seen.commands,
        seen.within,
        seen.hot,
        seen.late,
        began.elapsed().as_secs_f64(),
        seen.verbs
    );
    let _ = writeln!(io::stderr(), "{told}");
    assert!(seen.died >= 1000 && 2 * seen.died >= seen.commands, "{told}");
    // The kills really land in the middle.
    assert!(seen.within >= 200 && seen.hot >= 20, "{told}");
    assert!(seen.verbs.len() >= 18, "{told}");
}

/// What killed commands leave lies under a name that says so.
fn leaves_only_what_is_named(folder: &Path) {
    let known = ["log.csv", "sheet.pdf", "shelf.brimstock", "shelf.brimstock-journal", "shelf.copies", "shelf.sheets"];
    for name in names(folder) {
        let new = name.starts_with("new") && name.contains(".brimstock");
        assert!(known.contains(&name.as_str()) || new || name.starts_with("unfinished-"), "{name}");
    }
    for name in names(&folder.join("shelf.copies")) {
        assert!(name.starts_with("unfinished-") || name.starts_with("shelf-"), "{name}");
    }
}
