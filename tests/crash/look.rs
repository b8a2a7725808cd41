//! What a register holds, seen without disturbing it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use brimstock::register::{Register, StoreError};
use rusqlite::Connection;

/// Every table that holds history. What the register keeps for itself (seals) is looked at by its own check.
const TABLES: [&str; 17] = [
    "setting",
    "place",
    "place_state",
    "place_log",
    "place_day",
    "stock",
    "sheet",
    "measure",
    "measure_weighing",
    "measure_end",
    "identity",
    "dip_version",
    "signature",
    "plan",
    "bench",
    "bench_draw",
    "event",
];

/// How many rows there are in each table, and the journal of each stock.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Held {
    pub rows: BTreeMap<&'static str, i64>,
    pub journals: BTreeMap<String, Vec<Line>>,
}

/// A line of a journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub kind: String,
    /// Its amount in millionths, so that what was reckoned in another order compares equal.
    pub millionths: Option<i64>,
    /// The place in the journal of the line that it corrects, from 0 on.
    pub corrects: Option<usize>,
    pub happened: bool,
}

impl Held {
    /// Of a copy of the register and its journal, so that what a killed command left behind stays for the next command.
    pub fn of(register: &Path) -> Result<Held, StoreError> {
        let folder = tempfile::tempdir().unwrap();
        let copy = folder.path().join("copy.brimstock");
        fs::copy(register, &copy).map_err(|_| StoreError::Missing(register.to_owned()))?;
        let _ = fs::copy(journal(register), journal(&copy));
        let faults = Register::open(&copy)?.faults()?;
        assert_eq!(faults, Vec::<String>::new(), "{}", register.display());
        Ok(Self::read(&Connection::open(&copy).unwrap()))
    }

    fn read(register: &Connection) -> Held {
        let count = |table: &&'static str| {
            let sql = format!("SELECT count(*) FROM {table}");
            (*table, register.query_row(&sql, [], |row| row.get(0)).unwrap())
        };
        let mut held = Held { rows: TABLES.iter().map(count).collect(), journals: BTreeMap::new() };
        let mut numbers: BTreeMap<i64, usize> = BTreeMap::new();
        let mut statement = register
            .prepare(
                "SELECT stock.code, event.id, event.kind, event.amount, event.corrects, event.happened \
                 FROM event JOIN stock ON stock.id = event.stock ORDER BY event.id",
            )
            .unwrap();
        let mut rows = statement.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let lines = held.journals.entry(row.get(0).unwrap()).or_default();
            numbers.insert(row.get(1).unwrap(), lines.len());
            let amount: Option<f64> = row.get(3).unwrap();
            let corrects: Option<i64> = row.get(4).unwrap();
            lines.push(Line {
                kind: row.get(2).unwrap(),
                millionths: amount.map(|amount| (amount * 1e6).round() as i64),
                corrects: corrects.map(|id| numbers[&id]),
                happened: row.get::<_, Option<bool>>(5).unwrap().unwrap_or(true),
            });
        }
        held
    }

    /// What is left of a stock by its journal, in millionths: added up here, not by the program.
    pub fn left(&self, code: &str) -> i64 {
        let lines = &self.journals[code];
        let mut left = 0;
        for (number, line) in lines.iter().enumerate().filter(|(_, line)| line.corrects.is_none()) {
            let last = lines.iter().rfind(|other| other.corrects == Some(number)).unwrap_or(line);
            match (line.kind.as_str(), last.happened, last.millionths) {
                ("received" | "counted", true, Some(amount)) => left = amount,
                ("taken", true, Some(amount)) => left -= amount,
                _ => {}
            }
        }
        left
    }
}

/// Where SQLite keeps what an interrupted command has begun.
pub fn journal(register: &Path) -> PathBuf {
    let mut name = register.as_os_str().to_owned();
    name.push("-journal");
    name.into()
}

/// The names in a folder, sorted.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).map(|entries| entries.map(|entry| entry.unwrap().file_name())).into_iter();
    let mut names: Vec<String> = entries.flatten().map(|name| name.into_string().unwrap()).collect();
    names.sort();
    names
}
