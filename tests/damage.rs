//! A register in which one byte has changed is refused, or reads as before; it never reads as something else.

use std::collections::BTreeMap;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use brimstock::dip::log::{Happened, Looked};
use brimstock::register::columns::TABLES;
use brimstock::register::dip_book::{DipVersion, Signature};
use brimstock::register::event::{Entry, Event, What};
use brimstock::register::{Register, StoreError};
use chrono::NaiveDate;
use proptest::prelude::*;
use rusqlite::Connection;

use crate::harness::Bench;

const DAY: &str = "2031-03-15";

fn day() -> NaiveDate {
    DAY.parse().unwrap()
}

/// All that any answer is made of.
fn everything(path: &Path) -> Result<String, StoreError> {
    Register::open(path)?.read(|reading| {
        let places = reading.places()?;
        let mut all = format!("{places:?} {:?} {:?}", reading.sheets()?, reading.measures()?);
        reading.each_stock(&places, |stock, entries| {
            // As commands look for one: what the index does not find, in all of them.
            let found = match reading.stock_called(&stock.code)? {
                Some(found) => Some(found),
                None => reading.stocks()?.into_iter().find(|other| other.code == stock.code),
            };
            let state = reading.journal(&stock, &places, day())?.state(day());
            all += &format!("{stock:?} {:?} {entries:?} {state:?}", found == Some(stock.clone()));
            Ok::<(), StoreError>(())
        })?;
        let settings = [reading.setting("kitchen")?, reading.setting("threshold")?];
        all += &format!("{settings:?} {:?} {:?}", reading.identity()?, reading.bench()?);
        let books = (reading.dip_versions()?, reading.signatures()?, reading.plan(day())?, reading.draws(1)?);
        all += &format!("{books:?} {:?}", reading.next_code("S")?);
        Ok(all)
    })
}

/// The demo with a row in every table.
fn register() -> (Bench, PathBuf) {
    let bench = Bench::demo();
    for line in [
        "measure add tbsp spoon 15mL",
        "measure weigh tbsp --of potassium-alum 13.8g",
        "measure add old jug 1L --step 10mL",
        "measure retire old",
        "sds attach S02 sheet.pdf",
        "place log porch log.csv",
    ] {
        fs::write(bench.folder().join("sheet.pdf"), "%PDF-1.4 a sheet of nothing").unwrap();
        fs::write(bench.folder().join("log.csv"), "time,temperature\n2031-03-10 12:00,19\n2031-03-11 12:00,21\n")
            .unwrap();
        bench.on(DAY, line).ok();
    }
    let path = bench.register();
    let entered = "2031-03-15T12:00:00Z";
    let mut open = Register::open(&path).unwrap();
    open.write(|writing| {
        let looked =
            Looked { lot: "A1".into(), adults: 0, eggs: 1, damage_percent: None, photo: None, note: None, who: None };
        // A journal that is long enough for a checkpoint.
        let places = writing.places()?;
        let stock = writing.stock_called("S01")?.expect("it is in the demo");
        for _ in 0..130 {
            let before = writing.journal(&stock, &places, day())?;
            let (number, written) = (before.lines() + 1, String::new());
            let what = What::Event(Event::Taken { amount: 0.001 });
            let entry = Entry { id: 0, number, day: day(), entered_at: entered.into(), written, what };
            writing.append(&stock, "mL", before.and(entry), &places)?;
        }
        let row = writing.enter(day(), &Happened::Looked(looked), "bathe look A1", entered)?;
        writing.link_draw(row, 3)?;
        let version =
            DipVersion { dip: "own".into(), version: 1, day: day(), content: "{}".into(), why: "tried".into() };
        writing.add_dip_version(&version, entered)?;
        writing.sign(&Signature { who: "keeper".into(), dip: "own".into(), version: 1, day: day() }, entered)?;
        writing.keep_plan(day(), "[]", entered)
    })
    .unwrap();
    (bench, path)
}

fn without_panic(path: &Path, what: &str) -> Result<String, StoreError> {
    let found = catch_unwind(AssertUnwindSafe(|| everything(path))).unwrap_or_else(|_| panic!("{what}: a panic"));
    let _ = fs::remove_file(path.with_extension("brimstock-journal"));
    found
}

#[test]
fn one_changed_byte_is_told_or_changes_nothing() {
    let (_bench, path) = register();
    let sound = fs::read(&path).unwrap();
    let right = everything(&path).unwrap();
    let (mut tried, mut refused, mut by_seal) = (0, 0, 0);
    // A prime distance meets every page at another place; what is put there differs too.
    for offset in (0..sound.len()).step_by(179) {
        let mut damaged = sound.clone();
        damaged[offset] ^= u8::try_from(offset % 255).unwrap() + 1;
        fs::write(&path, &damaged).unwrap();
        tried += 1;
        match without_panic(&path, &format!("byte {offset}")) {
            Ok(found) => assert!(found == right, "byte {offset} is believed"),
            Err(error) => {
                refused += 1;
                by_seal += i32::from(error.to_string().contains("does not read as it was written"));
            }
        }
    }
    // The seals are at work: without them a changed number is believed.
    assert!(by_seal > tried / 200 && refused >= by_seal, "{by_seal} by seal, {refused} of {tried} refused");
}

/// Rows by their table and number, with all of their cells.
type Told = BTreeMap<(&'static str, String), String>;

/// Every row of every table that is told to be sound, and whether rows were told to be left out.
fn sound_rows(path: &Path) -> Result<(Told, bool), StoreError> {
    Register::open(path)?.read(|reading| {
        let rows = reading.sound_rows()?;
        let mut steps = reading.work().steps("reading", 0);
        let mut told = Told::new();
        for table in TABLES {
            reading.each_entry(table, &rows, &mut steps, |cells| {
                told.insert((table.name, format!("{:?}", cells[0])), format!("{cells:?}"));
                Ok::<(), StoreError>(())
            })?;
        }
        Ok((told, !rows.left_out.is_empty()))
    })
}

#[test]
fn what_is_left_of_a_damaged_register_is_as_it_was_written() {
    let (_bench, path) = register();
    let sound = fs::read(&path).unwrap();
    let (right, left_out) = sound_rows(&path).unwrap();
    assert!(!left_out && right.len() > 170);
    let (mut part, mut opened) = (0, 0);
    for offset in (0..sound.len()).step_by(1009) {
        let mut damaged = sound.clone();
        damaged[offset] ^= u8::try_from(offset % 255).unwrap() + 1;
        fs::write(&path, &damaged).unwrap();
        let Ok((told, left_out)) = sound_rows(&path) else { continue };
        opened += 1;
        let nameless = |row: &String| row.matches("Text(\"").count();
        for (row, cells) in &told {
            // Where the names of places cannot be relied on, the name of one stands empty.
            let same =
                right.get(row).is_some_and(|was| was == cells || row.0 == "event" && nameless(was) > nameless(cells));
            assert!(same, "byte {offset}: {cells} was {:?}", right.get(row));
        }
        assert!(told.len() == right.len() || left_out, "byte {offset}: rows are gone and nobody says so");
        part += i32::from(left_out && !told.is_empty());
    }
    assert!(part > 2 && opened > part, "{part} in part, {opened} opened");
}

/// Changes a register behind the program's back.
fn tamper(bench: &Bench, sql: &str) {
    Connection::open(bench.register()).unwrap().execute_batch(sql).unwrap();
}

#[test]
fn nothing_is_entered_on_top_of_damage_and_the_sound_rest_goes_on() {
    let bench = Bench::new();
    for name in ["A", "B"] {
        bench.on(DAY, &format!("receive sodium-chloride 1kg --at cupboard --code {name}")).ok();
        bench.on(DAY, &format!("take {name} 10g")).ok();
    }
    bench.on(DAY, "set kitchen us").ok();
    bench.on(DAY, "dips sign salt-flash --who \"A Keeper\"").ok();
    let sound = fs::read(bench.register()).unwrap();
    let refused = |line: &str, words: &[&str]| {
        let mut all =
            vec!["is damaged", "does not read as it was written", "nothing was written", "`brimstock verify`"];
        all.extend(["`brimstock restore COPY`"].iter().chain(words));
        bench.on(DAY, line).fails(4, &all);
    };
    tamper(&bench, "DROP TRIGGER event_keeps; UPDATE event SET amount = 60 WHERE kind = 'taken' AND stock = 1;");
    let before = fs::read(bench.register()).unwrap();
    for line in ["take A 1g", "count A 1g", "move A cupboard", "note A damp", "retire A --because gone"] {
        refused(line, &["the journal of `A`"]);
    }
    assert!(fs::read(bench.register()).unwrap() == before, "a refused entry changes nothing");
    bench.on(DAY, "take B 1g").ok();
    bench.on(DAY, "set kitchen us").ok();
    fs::write(bench.register(), &sound).unwrap();
    tamper(&bench, "DROP TRIGGER setting_keeps; UPDATE setting SET value = 'metric';");
    // An amount is read by the kitchen that is set; a signature has nothing to do with it.
    refused("set kitchen imperial", &["`setting`"]);
    refused("take A 1g", &["`setting`"]);
    bench.on(DAY, "dips sign salt-flash --who \"C Keeper\"").ok();
    fs::write(bench.register(), &sound).unwrap();
    tamper(&bench, "DROP TRIGGER signature_keeps; UPDATE signature SET who = 'B Keeper';");
    refused("dips sign salt-flash --who \"C Keeper\"", &["`signature`"]);
    bench.on(DAY, "take A 1g").ok();
    fs::write(bench.register(), &sound).unwrap();
    tamper(&bench, "DROP TRIGGER stock_keeps; UPDATE stock SET reagent = 'citric-acid' WHERE id = 2;");
    refused("receive sodium-chloride 1kg --at cupboard --code C", &["`stock`"]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_file_cut_short_is_told(part in 0.01..0.99f64) {
        let (_bench, path) = register();
        let sound = fs::read(&path).unwrap();
        let length = (part * sound.len() as f64) as usize;
        fs::write(&path, &sound[..length]).unwrap();
        prop_assert!(without_panic(&path, &format!("{length} bytes")).is_err(), "{length} of {}", sound.len());
    }
}
