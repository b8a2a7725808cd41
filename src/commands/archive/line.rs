//! A table in an archive: its columns in the first line, then one row a line, each a JSON array (RFC 8259).
//!
//! A number that has no point and no exponent is a whole one; every other is written with as few digits as read back to the
//! same bits, and is read exactly.

use std::io::BufRead;

use serde_json::Value;

use crate::register::system::{json, told};
use crate::register::tables::Cell;

/// The most bytes of one row.
pub const LARGEST_LINE: u64 = 16_000_000;

/// Writes one row behind what is there, with its line break.
///
/// # Errors
/// For a number that is none, and a row that is too long, in words.
pub fn write(row: &[Cell<'_>], line: &mut Vec<u8>) -> Result<(), String> {
    let before = line.len();
    line.push(b'[');
    for (place, cell) in row.iter().enumerate() {
        if place > 0 {
            line.push(b',');
        }
        let written = match *cell {
            Cell::Empty => serde_json::to_writer(&mut *line, &()),
            Cell::Whole(value) => serde_json::to_writer(&mut *line, &value),
            Cell::Real(value) if !value.is_finite() => return Err(format!("{value} is no number")),
            Cell::Real(value) => serde_json::to_writer(&mut *line, &value),
            Cell::Text(text) => serde_json::to_writer(&mut *line, text),
        };
        written.map_err(|error| error.to_string())?;
    }
    line.extend_from_slice(b"]\n");
    if (line.len() - before) as u64 > LARGEST_LINE {
        return Err("a row of more than 16 MB".to_owned());
    }
    Ok(())
}

/// Reads the next row; nothing at the end.
///
/// # Errors
/// What cannot be read, in words.
pub fn read(from: &mut impl BufRead, line: &mut Vec<u8>) -> Result<Option<Vec<Value>>, String> {
    line.clear();
    let mut limited = std::io::Read::take(from, LARGEST_LINE);
    limited.read_until(b'\n', line).map_err(|error| told(&error))?;
    match line.last() {
        None => return Ok(None),
        Some(b'\n') => {}
        Some(_) if line.len() as u64 >= LARGEST_LINE => return Err("a row of more than 16 MB".to_owned()),
        Some(_) => return Err("the last row has no end".to_owned()),
    }
    serde_json::from_slice(line).map(Some).map_err(|error| json(&error))
}

/// The values of a row that was read.
///
/// # Errors
/// For a value that no table holds.
pub fn cells(row: &[Value]) -> Result<Vec<Cell<'_>>, String> {
    let cell = |value| match value {
        &Value::Null => Ok(Cell::Empty),
        Value::String(text) => Ok(Cell::Text(text)),
        Value::Number(number) if number.is_f64() => {
            number.as_f64().map(Cell::Real).ok_or_else(|| format!("{number} is too large"))
        }
        Value::Number(number) => number.as_i64().map(Cell::Whole).ok_or_else(|| format!("{number} is too large")),
        other => Err(format!("{other} is no value of a table")),
    };
    row.iter().map(cell).collect()
}
