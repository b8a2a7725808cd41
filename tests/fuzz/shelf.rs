//! Fuzz in the place of a register, and command lines on one.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use brimstock::cli::{self, Answer, Cli, Verb};
use brimstock::commands::verify::{self, Verify};
use brimstock::commands::{Problem, Session, arguments};
use brimstock::register::{Register, StoreError};
use brimstock::render::{self, Style};
use chrono::NaiveDate;
use clap::Parser;
use rusqlite::Connection;
use rusqlite::types::Value;
use tempfile::TempDir;

use super::{edited, finite, repository, session, shipped};

/// Where registers are written: in memory, where the system has such a place.
pub(super) fn folder() -> TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.unwrap()
}

/// What is done at the bench before anything is changed, beside the demo.
const BENCH: [&str; 9] = [
    "measure add tbsp spoon 15mL",
    "measure weigh tbsp --of potassium-alum 13.8g",
    "measure add old jug 1L --step 10mL",
    "measure retire old",
    "bathe start salt-flash --bath 10L --lot A1 --at 09:00 --overrule trial",
    "bathe stop A1 --at 09:05",
    "dips sign peroxide-weak --who keeper",
    "bathe look A1 --adults 0 --eggs 1",
    "set threshold 0.95",
];

/// A register with rows in most tables, and all that is read of it.
struct Good {
    bytes: Vec<u8>,
    read: String,
    /// Each table with its columns and how many rows it has.
    tables: Vec<(String, Vec<String>, i64)>,
}

fn good() -> &'static Good {
    static GOOD: OnceLock<Good> = OnceLock::new();
    GOOD.get_or_init(|| {
        let folder = folder();
        let path = folder.path().join("shelf.brimstock");
        let demo = cli::demo::Demo { keep: Some(path.clone()) };
        cli::run(&at(path.clone()), Verb::Demo(demo)).unwrap();
        for line in BENCH {
            let cli = Cli::try_parse_from(["brimstock"].into_iter().chain(line.split(' '))).unwrap();
            cli::run(&at(path.clone()), cli.verb).unwrap();
        }
        let read = everything(&path).unwrap();
        let connection = Connection::open(&path).unwrap();
        let names = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name";
        let mut tables = Vec::new();
        for name in strings(&connection, names) {
            let columns = strings(&connection, &format!("SELECT name FROM pragma_table_info('{name}')"));
            let rows = connection.query_row(&format!("SELECT count(*) FROM {name}"), [], |row| row.get(0)).unwrap();
            tables.push((name, columns, rows));
        }
        drop(connection);
        Good { bytes: std::fs::read(&path).unwrap(), read, tables }
    })
}

fn strings(connection: &Connection, sql: &str) -> Vec<String> {
    let mut statement = connection.prepare(sql).unwrap();
    statement.query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}

pub(super) fn at(path: PathBuf) -> Session {
    Session { path, ..session(shipped()) }
}

pub(super) fn day() -> NaiveDate {
    "2031-03-15".parse().unwrap()
}

/// All that any answer is made of.
fn everything(path: &Path) -> Result<String, StoreError> {
    Register::open(path)?.read(|reading| {
        let places = reading.places()?;
        let mut all = format!("{places:?} {:?} {:?}", reading.sheets()?, reading.measures()?);
        reading.each_stock(&places, |stock, entries| {
            let found = reading.stock_called(&stock.code)?;
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

/// What is asked of a register that could be read.
const QUESTIONS: [&str; 16] = [
    "shelf",
    "take S01 10mL",
    "count S02 100mL",
    "correct S02 4 --amount 100mL --because mistyped",
    "move S03 bench",
    "audit",
    "due",
    "bathe list",
    "dose peroxide-weak --bath 4L",
    "dose alum-soak --bath 4L",
    "check S01",
    "show S02",
    "measure",
    "place",
    "discard S02",
    "ready-for",
];

/// Bytes in the place of a register. The first says how: bytes as they are, changes to the bytes of a good one, values in its
/// cells with seals that fit them (so that what reads the rows is reached), changes to one of an earlier program.
pub fn registers(data: &[u8]) {
    let Some((how, rest)) = data.split_first() else { return };
    let folder = folder();
    let path = folder.path().join("shelf.brimstock");
    let question = QUESTIONS[usize::from(how / 4) % QUESTIONS.len()];
    match how % 4 {
        0 => std::fs::write(&path, rest).unwrap(),
        1 => {
            let bytes = edited(&good().bytes, rest);
            std::fs::write(&path, &bytes).unwrap();
            if let Ok(read) = everything(&path) {
                assert!(read == good().read, "a damaged register is believed");
            }
            return;
        }
        2 => {
            std::fs::write(&path, &good().bytes).unwrap();
            cells(&path, rest);
        }
        _ => {
            let level = 1 + how / 4 % 5;
            let old = repository().join(format!("tests/registers/level-{level}.brimstock"));
            std::fs::write(&path, edited(&std::fs::read(old).unwrap(), rest)).unwrap();
        }
    }
    let _ = everything(&path);
    if let Ok(verified) = verify::run(&at(path.clone()), &Verify { file: None }) {
        finite(&verified);
    }
    answer(&path, question, true);
}

/// Puts values into cells of the register, past every rule of its own, and seals them.
fn cells(path: &Path, mut data: &[u8]) {
    let mut connection = Connection::open(path).unwrap();
    for trigger in strings(&connection, "SELECT name FROM sqlite_schema WHERE type = 'trigger'") {
        connection.execute(&format!("DROP TRIGGER {trigger}"), []).unwrap();
    }
    connection.execute_batch("PRAGMA ignore_check_constraints = ON; PRAGMA foreign_keys = OFF").unwrap();
    let tables: Vec<_> = good().tables.iter().filter(|(_, _, rows)| *rows > 0).collect();
    let change = connection.transaction().unwrap();
    for _ in 0..4 {
        let [table, column, row, kind, length, rest @ ..] = data else { break };
        let (name, columns, rows) = tables[usize::from(*table) % tables.len()];
        let column = &columns[usize::from(*column) % columns.len()];
        let (put, rest) = rest.split_at(usize::from(*length).min(rest.len()));
        data = rest;
        let number = |bytes: &[u8]| bytes.iter().fold(0i64, |value, byte| (value << 8) | i64::from(*byte));
        let value = match kind % 8 {
            0 => Value::Null,
            1 => Value::Integer(number(put)),
            2 => Value::Real(f64::from_bits(number(put).cast_unsigned())),
            3 => Value::Real([0.0, -1.0, 1e-300, 1e300, 5e-324, 1e9, 0.5, f64::INFINITY][usize::from(kind / 8) % 8]),
            4 => match column.as_str() {
                _ if kind / 8 % 2 == 0 => Value::Text("9999-12-31".to_owned()),
                _ => Value::Text("0001-01-01".to_owned()),
            },
            5 => {
                // A value of the same column in another row.
                let other = format!("SELECT {column} FROM {name} ORDER BY rowid LIMIT 1 OFFSET ?1");
                let other = change.query_row(&other, [number(put).rem_euclid(*rows)], |row| row.get(0));
                other.unwrap_or(Value::Null)
            }
            _ => Value::Text(String::from_utf8_lossy(put).into_owned()),
        };
        let row = i64::from(*row) % rows;
        let sql = format!(
            "UPDATE {name} SET {column} = ?1 WHERE rowid = (SELECT rowid FROM {name} ORDER BY rowid LIMIT 1 OFFSET ?2)"
        );
        let _ = change.execute(&sql, (value, row));
    }
    change.commit().unwrap();
    drop(connection);
    if let Ok(mut register) = Register::open(path) {
        let _ = register.seal_again();
    }
}

/// Command lines on the good register, one after the other. Nothing is asked that would write a file of its own.
pub fn commands(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    if text.len() > 600 {
        return;
    }
    let folder = folder();
    let path = folder.path().join("shelf.brimstock");
    std::fs::write(&path, &good().bytes).unwrap();
    for line in text.lines().take(3) {
        answer(&path, line, false);
    }
}

/// Asks a line and looks at its answer in both forms: no number in it is none.
pub fn answer(path: &Path, line: &str, odd_rows: bool) {
    let words = arguments::words(line);
    // No help, no other file.
    let unwanted = |word: &String| {
        word.contains(['/', '\\'])
            || ["--regi", "--help", "-h", "--vers", "--svg", "--ics", "--ou", "help"]
                .iter()
                .any(|begin| word.starts_with(begin))
    };
    if words.iter().any(unwanted) {
        return;
    }
    let Ok(cli) = Cli::try_parse_from(["brimstock".to_owned()].into_iter().chain(words)) else { return };
    if !is_tried(&cli.verb) {
        return;
    }
    let day = cli.on.unwrap_or_else(day);
    let session = Session { day, ..at(path.to_owned()) };
    answered(&session, cli::run(&session, cli.verb), odd_rows);
}

/// Looks at an answer, or a refusal, in both forms. `odd_rows`: it is about rows that no command would enter.
pub(super) fn answered(session: &Session, found: Result<Answer, Problem>, odd_rows: bool) {
    match found {
        Ok(answer) => {
            let style = Style {
                json: false,
                why: true,
                lines: false,
                colour: false,
                width: None,
                catalogue: session.catalogue,
            };
            let _ = render::text::answer(&style, &answer);
            match render::data::answer(&answer, true, session.catalogue) {
                Ok(json) => {
                    let _: BTreeMap<String, serde_json::Value> = serde_json::from_str(&json).expect("an object");
                }
                // Of rows that no command would enter no number need come; that is said, and nothing printed.
                Err(_) if odd_rows => {}
                Err(problem) => panic!("{problem}: {answer:?}"),
            }
        }
        Err(problem) => {
            let _ = (render::problem::text(&problem), render::problem::json(&problem));
            assert!(!problem.what.is_empty());
        }
    }
}

/// True for what neither reads nor writes another file than the register.
fn is_tried(verb: &Verb) -> bool {
    match verb {
        Verb::Set(_)
        | Verb::Measure(_)
        | Verb::Receive(_)
        | Verb::Open(_)
        | Verb::Note(_)
        | Verb::Move(_)
        | Verb::Decant(_)
        | Verb::Take(_)
        | Verb::Count(_)
        | Verb::Correct(_)
        | Verb::Retire(_)
        | Verb::Shelf(_)
        | Verb::Show(_)
        | Verb::Check(_)
        | Verb::Assay(_)
        | Verb::Dips(_)
        | Verb::Dose(_)
        | Verb::Quench(_)
        | Verb::Bathe(_)
        | Verb::Audit(_)
        | Verb::Due(_)
        | Verb::Classify(_)
        | Verb::Discard(_)
        | Verb::Convert(_)
        | Verb::About(_) => true,
        Verb::Reagents(reagents) => reagents.verb.is_none(),
        Verb::ReadyFor(ready) => ready.file.is_none(),
        Verb::Place(place) => !format!("{place:?}").contains("Log"),
        _ => false,
    }
}
