//! Long journals: whatever a checkpoint leaves unread, the answer is that of the whole journal.

use brimstock::catalogue::{Condition, Form};
use brimstock::register::checkpoint::Journal;
use brimstock::register::event::{Entry, Event, What};
use brimstock::register::place::Place;
use brimstock::register::stock::Stock;
use brimstock::register::{Register, StoreError, Writing, ledger};
use rusqlite::Connection;

use super::*;
use crate::harness::Bench as Run;

/// What is entered next: how many days after the last or, now and then, before it, and what.
#[derive(Debug, Clone)]
struct Next {
    days: i64,
    what: Kind,
}

#[derive(Debug, Clone)]
enum Kind {
    Taken(f64),
    Counted(f64),
    Swollen,
    /// The line so many lines back was something else, on the day so many days later.
    Corrected(usize, i64, f64),
    NeverHappened(usize),
}

fn next() -> impl Strategy<Value = Next> {
    let days = prop_oneof![20 => 0..4i64, 1 => -40..0i64];
    let what = prop_oneof![
        30 => (0.001..0.3f64).prop_map(Kind::Taken),
        3 => (50.0..500.0f64).prop_map(Kind::Counted),
        1 => Just(Kind::Swollen),
        1 => (1..60usize, -3..3i64, 0.001..0.3f64).prop_map(|(back, days, amount)| Kind::Corrected(back, days, amount)),
        1 => (1..60usize).prop_map(Kind::NeverHappened),
    ];
    (days, what).prop_map(|(days, what)| Next { days, what })
}

fn entry(number: usize, day: NaiveDate, what: What) -> Entry {
    Entry { id: 0, number, day, entered_at: "2030-01-01T12:00:00Z".to_owned(), written: String::new(), what }
}

/// The line that a thing makes, if the journal can take it.
fn line(number: usize, last: NaiveDate, whole: &[Entry], next: &Next) -> Option<Entry> {
    let day = (last + chrono::Duration::days(next.days)).max(date(0));
    // Line 1 is the receipt, and stays.
    let back = |back: usize| whole.get(whole.len().checked_sub(back)?).filter(|line| line.number > 1);
    let correction = |of: usize, instead| What::Correction { of, instead, why: "misread".to_owned() };
    let what = match next.what {
        Kind::Taken(amount) => What::Event(Event::Taken { amount }),
        Kind::Counted(amount) => What::Event(Event::Counted { amount }),
        Kind::Swollen => What::Event(Event::Noted { condition: Condition::Dirty, what: "swollen".to_owned() }),
        Kind::Corrected(lines, days, amount) => match back(lines)? {
            Entry { number, day, what: What::Event(Event::Taken { .. }), .. } => {
                let day = (*day + chrono::Duration::days(days)).max(date(0));
                correction(*number, Some((day, Event::Taken { amount })))
            }
            _ => return None,
        },
        Kind::NeverHappened(lines) => match back(lines)? {
            Entry { number, what: What::Event(_), .. } => correction(*number, None),
            Entry { .. } => return None,
        },
    };
    Some(entry(number, day, what))
}

/// Enters a line as commands do: corrections with the whole journal before them, the rest with what their day needs.
fn enter(writing: &Writing<'_>, stock: &Stock, places: &[Place], entry: Entry) -> Result<bool, StoreError> {
    let before = match &entry.what {
        What::Event(_) => writing.journal(stock, places, entry.day)?,
        What::Correction { .. } => Journal::whole(writing.entries(stock, places)?),
    };
    let with = before.and(entry);
    if with.check().is_err() {
        return Ok(false);
    }
    writing.append(stock, "mL", with, places)?;
    Ok(true)
}

fn checkpoints(run: &Run) -> i64 {
    let register = Connection::open(run.register()).unwrap();
    register.query_row("SELECT count(*) FROM checkpoint", [], |row| row.get(0)).unwrap()
}

proptest! {
    #![proptest_config(cases(4))]

    #[test]
    fn a_checkpoint_changes_no_answer(lines in prop::collection::vec(next(), 90..140), ahead in 0..30u64) {
        let run = Run::new();
        run.on("2030-01-01", "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
        let mut register = Register::open(&run.register()).unwrap();
        let mut last = date(0);
        let mut seen = 0;
        register
            .write(|writing| {
                let places = writing.places()?;
                let stock = writing.stock_called("hp-1")?.expect("it came");
                assert_eq!(stock.form, Form::Solution);
                for next in &lines {
                    let whole = writing.entries(&stock, &places)?;
                    let Some(entry) = line(whole.len() + 1, last, &whole, next) else { continue };
                    let day = entry.day;
                    if enter(writing, &stock, &places, entry)? {
                        last = last.max(day);
                    }
                    let whole = writing.entries(&stock, &places)?;
                    seen += 1;
                    if seen % 4 != 0 {
                        continue;
                    }
                    for day in [date(0), last - Days::new(9.min((last - date(0)).num_days() as u64)), last, last + Days::new(ahead)] {
                        let part = writing.journal(&stock, &places, day)?;
                        assert_eq!(part.state(day), ledger::state(&whole, day), "on {day}");
                        assert_eq!(part.lines(), whole.len());
                        assert_eq!(part.last_day(day), Journal::whole(whole.clone()).last_day(day));
                    }
                }
                Ok::<(), StoreError>(())
            })
            .unwrap();
        prop_assert_eq!(register.faults().unwrap(), Vec::<String>::new());
    }
}

#[test]
fn a_checkpoint_is_made_at_32_lines_and_thrown_away_by_an_entry_behind_it() {
    let run = Run::new();
    run.on("2030-01-01", "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
    let take = |many: usize, day: &str| {
        let mut register = Register::open(&run.register()).unwrap();
        register
            .write(|writing| {
                let (places, day) = (writing.places()?, day.parse().unwrap());
                let stock = writing.stock_called("HP-1")?.expect("it came");
                for _ in 0..many {
                    let before = writing.journal(&stock, &places, day)?;
                    let number = before.lines() + 1;
                    let taken = entry(number, day, What::Event(Event::Taken { amount: 0.5 }));
                    writing.append(&stock, "mL", before.and(taken), &places)?;
                }
                Ok::<(), StoreError>(())
            })
            .unwrap();
    };
    take(30, "2030-02-01");
    assert_eq!(checkpoints(&run), 0);
    take(1, "2030-02-01");
    assert_eq!(checkpoints(&run), 1);
    // On its last day it stays.
    take(1, "2030-02-01");
    assert_eq!(checkpoints(&run), 1);
    run.on("2030-02-02", "take HP-1 1mL --date 2030-01-31").ok();
    assert_eq!(checkpoints(&run), 0);
    take(1, "2030-02-02");
    assert_eq!(checkpoints(&run), 1);
    run.on("2030-02-03", "correct HP-1 5 --amount 2mL --because misread").ok();
    assert_eq!(checkpoints(&run), 0);
    // 500 mL less 33 times 0.5 mL and 1 mL; line 5 was 1.5 mL more.
    assert_eq!(run.on("2030-02-03", "--json show HP-1").json()["left"]["value"], 500.0 - 16.5 - 1.0 - 1.5);
    run.on("2030-02-03", "verify").ok();
}

#[test]
fn a_checkpoint_of_other_rules_is_not_relied_on_and_a_wrong_one_is_told() {
    let run = Run::new();
    run.on("2030-01-01", "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
    let register = Connection::open(run.register()).unwrap();
    let kept = |state: &str, rules: i64| {
        let (line, crc): (i64, i64) = (1, 0);
        register
            .execute(
                "INSERT OR REPLACE INTO checkpoint (stock, line, lines, last_day, sealed, rules, state, crc) \
                 SELECT 1, ?1, 1, '2030-01-01', crc, ?2, ?3, ?4 FROM seal WHERE scope = 'event:1'",
                rusqlite::params![line, rules, state, crc],
            )
            .unwrap();
        let sealed: i64 =
            register.query_row("SELECT crc FROM seal WHERE scope = 'event:1'", [], |row| row.get(0)).unwrap();
        let crc = crc32fast::hash(format!("1 1 1 2030-01-01 {sealed} {rules} {state}").as_bytes());
        register.execute("UPDATE checkpoint SET crc = ?1", [crc]).unwrap();
    };
    // By rules that this program does not know, whatever it says.
    kept("{}", 0);
    assert_eq!(run.on("2030-01-01", "--json show HP-1").json()["left"]["value"], 500.0);
    run.on("2030-01-01", "verify").ok();
    // By its own rules, well sealed, and yet not what the journal comes to.
    let mut register = Register::open(&run.register()).unwrap();
    let state = register
        .read(|reading| {
            let places = reading.places()?;
            let stock = reading.stock_called("HP-1")?.expect("it came");
            Ok::<_, StoreError>(ledger::state(&reading.entries(&stock, &places)?, date(0)).unwrap().unwrap())
        })
        .unwrap();
    let mut wrong = serde_json::to_value(state).unwrap();
    wrong["left"] = 400.0.into();
    kept(&wrong.to_string(), 1);
    let ran = run.on("2030-01-01", "verify");
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(ran.stdout.contains("the checkpoint of `HP-1` is not what its journal comes to"), "{ran:?}");
}
