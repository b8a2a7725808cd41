//! Changes one line of the keeper's file and keeps every other as it stands.

use super::local::{Fault, Local};
use crate::catalogue::{Catalogue, complaint};
use toml_edit::{DocumentMut, Item, Table, TableLike, Value, value};

/// The lines that hold one value each.
pub const LINES: [&str; 10] = [
    "place",
    "jurisdiction",
    "emergency",
    "fire",
    "poison_centre",
    "water_company",
    "print.language",
    "print.units",
    "print.paper",
    "print.keeper",
];

/// The tables of several rows, which are written by hand.
pub const ROWS: [&str; 4] = ["store", "strength", "drain", "takes"];

/// The file with another value in one of its [`LINES`], which is added where it is not there.
///
/// # Errors
/// Every fault that the file would have then.
pub fn set(catalogue: &Catalogue, text: &str, key: &str, to: &str) -> Result<String, Vec<Fault>> {
    let broken = |what: &str| vec![(key.to_owned(), what.to_owned())];
    let to = to.trim();
    if to.chars().any(char::is_control) {
        return Err(broken("one line of text is wanted, without line breaks and control characters"));
    }
    let mut file: DocumentMut =
        text.parse().map_err(|error: toml_edit::TomlError| broken(&complaint::of_syntax(error.message())))?;
    let (table, line): (&mut dyn TableLike, &str) = match key.split_once('.') {
        None => (file.as_table_mut(), key),
        Some((table, line)) => {
            let item = file.as_table_mut().entry(table).or_insert_with(|| Item::Table(Table::new()));
            (item.as_table_like_mut().ok_or_else(|| broken("does not stand in a table"))?, line)
        }
    };
    match table.get_mut(line).and_then(Item::as_value_mut) {
        Some(there) => {
            // What stands beside the value, as a comment, stays.
            let beside = there.decor().clone();
            *there = Value::from(to);
            *there.decor_mut() = beside;
        }
        None => {
            table.insert(line, value(to));
        }
    }
    let mut changed = file.to_string();
    // The editor breaks lines in one way only.
    if text.contains("\r\n") {
        changed = changed.replace("\r\n", "\n").replace('\n', "\r\n");
    }
    Local::read(catalogue, &changed)?;
    Ok(changed)
}
