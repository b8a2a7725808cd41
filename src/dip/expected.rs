//! What is expected: which lots come on which day, and the baths that they are to have; read from a table and kept.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};

use crate::units::measure::Kitchen;
use crate::units::{Volume, parse};

/// The columns that a plan must have.
pub const COLUMNS: [&str; 4] = ["date", "lot", "dip", "bath"];

/// The columns that it may have.
pub const MORE_COLUMNS: [&str; 2] = ["baths", "plants"];

/// The most baths of one row. Source: `judgement`.
pub const MOST_BATHS: u32 = 500;

/// The most rows of a plan. Source: `judgement`.
const MOST_ROWS: usize = 2000;

/// Baths that a lot is to have on a day, all alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expected {
    /// The day.
    pub date: NaiveDate,
    /// The lot.
    pub lot: String,
    /// Key of the dip.
    pub dip: String,
    /// Litres of one bath.
    pub litres: f64,
    /// How many baths.
    pub count: u32,
    /// Which plants, and how many, if it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plants: Option<String>,
}

impl Expected {
    /// The volume of one bath.
    #[must_use]
    pub fn volume(&self) -> Volume {
        Volume::l(self.litres)
    }
}

/// What is wrong in one field of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The line of the file, the one with the columns' names being the first.
    pub row: u64,
    /// The column.
    pub column: String,
    /// What stands there, if anything does.
    pub value: String,
    /// What is wrong with it.
    pub what: String,
    /// What is accepted.
    pub accepted: String,
}

impl Fault {
    /// In one line: `row 3, dip `bleech`: there is no such dip; accepted: …`.
    #[must_use]
    pub fn line(&self) -> String {
        let Fault { row, column, value, what, accepted } = self;
        // What stands in a file may be long, or go over several lines.
        let shown: String = value.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect();
        let value = if value.is_empty() { String::new() } else { format!(" `{shown}`") };
        format!("row {row}, {column}{value}: {what}; accepted: {accepted}")
    }
}

/// Reads a plan from CSV: a line of names, then a row for each lot and dip. Empty lines are passed over.
///
/// `dip` finds the key of a dip, or tells what is wrong with its name and what is accepted. Days before `today` are refused.
///
/// # Errors
/// Every fault of the whole table, by row.
pub fn read(
    text: &str,
    kitchen: Option<Kitchen>,
    today: NaiveDate,
    dip: impl Fn(&str) -> Result<String, (String, String)>,
) -> Result<Vec<Expected>, Vec<Fault>> {
    let names = format!("{}; besides {}", COLUMNS.join(", "), MORE_COLUMNS.join(", "));
    let whole = |row: u64, column: &str, value: &str, what: &str, accepted: &str| Fault {
        row,
        column: column.to_owned(),
        value: value.to_owned(),
        what: what.to_owned(),
        accepted: accepted.to_owned(),
    };
    // A spreadsheet may put a mark of its own before the first name.
    let text = text.trim_start_matches('\u{feff}');
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).flexible(true).from_reader(text.as_bytes());
    let header = match reader.headers() {
        Ok(header) if !header.is_empty() => header.clone(),
        _ => {
            return Err(vec![whole(
                1,
                "file",
                "",
                "it is empty",
                &format!("a line with the names {names}, then rows"),
            )]);
        }
    };
    let mut faults = Vec::new();
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    for (place, name) in header.iter().enumerate() {
        let name = name.to_lowercase();
        let is_known = COLUMNS.iter().chain(&MORE_COLUMNS).any(|known| *known == name);
        if !is_known {
            faults.push(whole(1, "column", &name, "no such column is read", &names));
        } else if places.insert(name.clone(), place).is_some() {
            faults.push(whole(1, "column", &name, "it stands there twice", "each name once"));
        }
    }
    for name in COLUMNS.iter().filter(|name| !places.contains_key(**name)) {
        faults.push(whole(1, "column", name, "it is missing", &names));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut expected: Vec<Expected> = Vec::new();
    let mut first: BTreeMap<(NaiveDate, String, String), u64> = BTreeMap::new();
    let mut rows = 0;
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                let row = error.position().map_or(0, |at| line_of(text, at));
                faults.push(whole(row, "row", "", "it cannot be read", "text in UTF-8, fields parted by commas"));
                continue;
            }
        };
        let row = record.position().map_or(0, |at| line_of(text, at));
        if record.iter().all(str::is_empty) {
            continue;
        }
        rows += 1;
        if record.len() > header.len() {
            let fields = format!("{} fields", record.len());
            let accepted =
                format!("{} fields as in the first line; a text with a comma in double quotes", header.len());
            faults.push(whole(row, "row", &fields, "it has more fields than there are names", &accepted));
            continue;
        }
        let mut line = Row { row, faults: &mut faults };
        let field = |name: &str| places.get(name).and_then(|place| record.get(*place)).unwrap_or_default();
        let read = (
            line.check("date", field("date"), |text| day(text, today)),
            line.check("lot", field("lot"), lot),
            line.check("dip", field("dip"), &dip),
            line.check("bath", field("bath"), |text| litres(text, kitchen)),
            line.check("baths", field("baths"), baths),
        );
        let (Some(date), Some(lot), Some(dip), Some(litres), Some(count)) = read else { continue };
        if let Some(before) = first.get(&(date, lot.clone(), dip.clone())) {
            let what = format!("row {before} has the same lot, dip and day");
            line.faults.push(whole(row, "lot", &lot, &what, "one row for it, with more in `baths`"));
            continue;
        }
        first.insert((date, lot.clone(), dip.clone()), row);
        let plants = Some(field("plants").to_owned()).filter(|plants| !plants.is_empty());
        expected.push(Expected { date, lot, dip, litres, count, plants });
    }
    if rows == 0 && faults.is_empty() {
        faults.push(whole(2, "file", "", "it has no row", "a row for each lot and dip"));
    }
    if rows > MOST_ROWS {
        let value = format!("{rows} rows");
        faults.push(whole(1, "file", &value, "too many", &format!("up to {MOST_ROWS}")));
    }
    if faults.is_empty() { Ok(expected) } else { Err(faults) }
}

/// The line of a row: the reader passes empty lines over, and tells where it stood before them.
fn line_of(text: &str, at: &csv::Position) -> u64 {
    let from = usize::try_from(at.byte()).unwrap_or(usize::MAX).min(text.len());
    let bytes = text.as_bytes();
    let empty = bytes[from..].iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
    1 + bytes[..from + empty].iter().filter(|byte| **byte == b'\n').count() as u64
}

struct Row<'a> {
    row: u64,
    faults: &'a mut Vec<Fault>,
}

impl Row<'_> {
    /// The value of a field, or nothing and a fault more.
    fn check<T>(
        &mut self,
        column: &str,
        text: &str,
        read: impl FnOnce(&str) -> Result<T, (String, String)>,
    ) -> Option<T> {
        match read(text) {
            Ok(value) => Some(value),
            Err((what, accepted)) => {
                let (column, value) = (column.to_owned(), text.to_owned());
                self.faults.push(Fault { row: self.row, column, value, what, accepted });
                None
            }
        }
    }
}

fn day(text: &str, today: NaiveDate) -> Result<NaiveDate, (String, String)> {
    let accepted = format!("a day as 2031-03-15, from {today} on");
    let is_shaped = text.len() == 10
        && text.bytes().enumerate().all(|(i, byte)| match i {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    match text.parse::<NaiveDate>() {
        Ok(date) if is_shaped && date < today => Err((format!("it is past on {today}"), accepted)),
        Ok(date) if is_shaped && date.year() <= 2200 => Ok(date),
        _ => Err(("it is no day of the calendar".to_owned(), accepted)),
    }
}

fn lot(text: &str) -> Result<String, (String, String)> {
    if (1..=30).contains(&text.chars().count()) && !text.chars().any(char::is_control) {
        return Ok(text.to_owned());
    }
    Err(("it names no lot".to_owned(), "1 to 30 characters, as A1".to_owned()))
}

fn litres(text: &str, kitchen: Option<Kitchen>) -> Result<f64, (String, String)> {
    match parse::volume(text, kitchen) {
        Ok(volume) if volume.to_l() > 0.0 && volume.to_l().is_finite() => Ok(volume.to_l()),
        Ok(_) => Err(("it is no volume of a bath".to_owned(), "more than nothing, as 10L".to_owned())),
        Err(error) => Err((error.why.to_string(), error.accepted.to_string())),
    }
}

fn baths(text: &str) -> Result<u32, (String, String)> {
    if text.is_empty() {
        return Ok(1);
    }
    let number = text.parse::<u32>().ok().filter(|number| (1..=MOST_BATHS).contains(number));
    number.ok_or_else(|| ("it is no number of baths".to_owned(), format!("1 to {MOST_BATHS}, or nothing for 1")))
}
