//! `export json`: every table in one JSON object (RFC 8259), one row a line.

use std::fs::File;
use std::io::{self, BufWriter, Seek, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::Value;

use super::{Exported, Outcome, begin, cannot, finish, left_out, no_value, opened, rows, steps};
use crate::commands::{Problem, Session};
use crate::register::Writing;
use crate::register::columns::{Kind, TABLES, Table};
use crate::register::system::json;
use crate::register::tables::{Cell, Field, LEVEL, fields};

/// What the object says it is.
pub const WHAT: &str = "brimstock register";

/// Its number.
pub const FORMAT: u32 = 1;

/// Write everything into one JSON file
///
/// One object: its format, what it is, the register's level, the day, and the tables, each a list of rows. Numbers are
/// written to their last bit; something that nobody said is null. `export schema` prints the JSON Schema of it.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock export json shelf.json\n  brimstock export json - | python3 -m json.tool"
)]
pub struct Json {
    /// The file; `-` for standard output
    pub file: PathBuf,
    /// Write over an earlier export
    #[arg(long)]
    pub force: bool,
    /// Of a damaged register, leave out what is damaged, and tell what that is
    #[arg(long)]
    pub sound_only: bool,
}

/// Writes the object.
///
/// # Errors
/// If the register cannot be read, the file is there already, or it cannot be written.
pub fn run(session: &Session, arguments: &Json) -> Result<Outcome, Problem> {
    let path = arguments.file.as_path();
    if path == Path::new("-") {
        if arguments.sound_only {
            return Err(Problem::question("what is left out is told beside the file, and `-` has none")
                .hint("name a file for `--sound-only`"));
        }
        let mut register = session.register()?;
        let file = tempfile::tempfile().map_err(|error| cannot(path, &error))?;
        let mut writer = BufWriter::new(file);
        register.read(|reading| write(session, reading, false, &mut writer, path))?;
        let mut file = writer.into_inner().map_err(|error| cannot(path, error.error()))?;
        file.rewind().map_err(|error| cannot(path, &error))?;
        return Ok(Outcome::Streamed(file));
    }
    let file = begin(path, arguments.force, is_ours)?;
    let mut writer = BufWriter::new(file);
    let sound_only = arguments.sound_only;
    let (mut register, _aside, mut notes) = opened(session, sound_only)?;
    let (tables, left_out) = register.read(|reading| write(session, reading, sound_only, &mut writer, path))?;
    notes.extend(left_out);
    let file = writer.into_inner().map_err(|error| cannot(path, error.error()))?;
    let bytes = length(file.as_file()).map_err(|error| cannot(path, &error))?;
    finish(file, path, arguments.force)?;
    let files = vec![(path.display().to_string(), bytes)];
    let (path, on) = (path.to_owned(), session.day);
    Ok(Outcome::Exported(Exported { form: "json", path, on, tables, files, bytes, notes }))
}

fn length(file: &File) -> io::Result<u64> {
    file.metadata().map(|data| data.len())
}

fn is_ours(beginning: &[u8]) -> bool {
    beginning.starts_with(b"{\"format\":") && beginning.windows(WHAT.len()).any(|word| word == WHAT.as_bytes())
}

/// The tables with their rows, and what was left out.
type Written = (Vec<(String, u64)>, Vec<String>);

/// The whole object.
fn write(
    session: &Session,
    reading: &Writing<'_>,
    sound_only: bool,
    out: &mut impl Write,
    path: &Path,
) -> Result<Written, Problem> {
    let sound = rows(reading, sound_only)?;
    let failed = |error: io::Error| cannot(path, &error);
    let mut steps = steps(reading, &sound)?;
    let on = session.day;
    let head = format!("{{\"format\":{FORMAT},\"what\":\"{WHAT}\",\"level\":{LEVEL},\"on\":\"{on}\",\"tables\":{{");
    out.write_all(head.as_bytes()).map_err(failed)?;
    let mut tables = Vec::new();
    for (place, table) in TABLES.iter().enumerate() {
        let before = if place == 0 { "" } else { "," };
        write!(out, "{before}\n\"{}\":[", table.name).map_err(failed)?;
        let fields = fields(table);
        let (mut line, mut row) = (Vec::new(), 0);
        let rows = reading.each_entry(table, &sound, &mut steps, |cells| {
            line.clear();
            line.extend_from_slice(if row == 0 { b"\n" } else { b",\n" });
            row += 1;
            entry(&mut line, table, row, &fields, cells)?;
            out.write_all(&line).map_err(failed)
        })?;
        out.write_all(b"]").map_err(failed)?;
        tables.push((table.name.to_owned(), rows));
    }
    out.write_all(b"}}\n").and_then(|()| out.flush()).map_err(failed)?;
    Ok((tables, left_out(&sound)))
}

/// One row as an object.
fn entry(line: &mut Vec<u8>, table: &Table, row: u64, fields: &[Field], cells: &[Cell<'_>]) -> Result<(), Problem> {
    for (place, (field, cell)) in fields.iter().zip(cells).enumerate() {
        line.push(if place == 0 { b'{' } else { b',' });
        line.extend_from_slice(format!("\"{}\":", field.name).as_bytes());
        value(line, field.kind, cell).map_err(|why| no_value(table, row, field.name, &why))?;
    }
    line.push(b'}');
    Ok(())
}

fn value(line: &mut Vec<u8>, kind: Kind, cell: &Cell<'_>) -> Result<(), String> {
    let written = match *cell {
        Cell::Empty => serde_json::to_writer(line, &()),
        Cell::Whole(value) if kind == Kind::YesNo => serde_json::to_writer(line, &(value != 0)),
        Cell::Whole(value) => serde_json::to_writer(line, &value),
        Cell::Real(value) if !value.is_finite() => return Err(format!("{value} is no number")),
        Cell::Real(value) => serde_json::to_writer(line, &value),
        Cell::Text(text) if matches!(kind, Kind::Numbers | Kind::List | Kind::Object | Kind::Objects) => {
            let inner: Value = serde_json::from_str(text).map_err(|error| json(&error))?;
            serde_json::to_writer(line, &inner)
        }
        Cell::Text(text) => serde_json::to_writer(line, text),
    };
    written.map_err(|error| error.to_string())
}
