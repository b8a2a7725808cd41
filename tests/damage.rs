//! A register in which one byte has changed is refused, or reads as before; it never reads as something else.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use brimstock::dip::log::{Happened, Looked};
use brimstock::register::dip_book::{DipVersion, Signature};
use brimstock::register::event::{Entry, Event, What};
use brimstock::register::{Register, StoreError};
use chrono::NaiveDate;
use proptest::prelude::*;

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
