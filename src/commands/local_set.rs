//! `local set`: fills in one line of the local rules, and writes the file whole or not at all.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

use clap::Args;
use tempfile::NamedTempFile;

use super::local::{self, file, parsed, told_one_a_line};
use super::settings::Done;
use super::{Kind, Problem, Session, told};
use crate::disposal::local_edit::{self, LINES, ROWS};

/// Fill in one line of the file
///
/// Every other line and every comment of `local.toml` stays as it is; without a file one is made from the template.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock local set fire 112\n  brimstock local set print.paper a5\n  brimstock local set fire \"\""
)]
pub struct Line {
    /// The line: place, jurisdiction, emergency, fire, poison_centre, water_company, print.language (en, es),
    /// print.units (metric, us, imperial), print.paper (a4, a5, a6, letter) or print.keeper
    pub key: String,
    /// What it says; "" empties it
    pub value: String,
}

/// Fills in a line.
///
/// # Errors
/// For a line that there is not or that lies in a row, a value that is none, and a file that is faulty or cannot be read
/// or written. Nothing is changed then.
pub fn run(session: &Session, given: &Line) -> Result<Done, Problem> {
    let file = file(session);
    let key = given.key.as_str();
    if !LINES.contains(&key) {
        let lines = format!("accepted: {}", LINES.join(", "));
        let row = ROWS.iter().find(|row| key.split(['.', '[']).next() == Some(row));
        return Err(match row {
            Some(row) => Problem::question(format!("`{key}` is not set from here: [[{row}]] is a table of rows"))
                .because("a row says whom you asked and when, and there may be several")
                .hint(format!(
                    "write [[{row}]] into {}; `brimstock local --template` shows one. {lines}",
                    file.display()
                )),
            None => Problem::question(format!("there is no line `{key}` in the local rules")).hint(lines),
        });
    }
    let there = local::text(session)?;
    if let Some(text) = &there {
        parsed(session, text)?;
    }
    let before = there.as_deref().unwrap_or(local::TEMPLATE);
    let after = local_edit::set(session.catalogue, before, key, &given.value)
        .map_err(|faults| Problem::question(told_one_a_line(&faults)).because("nothing was changed"))?;
    write(&file, &after).map_err(|error| {
        let problem = Problem::question(format!("{} cannot be written: {}", file.display(), told(&error)));
        Problem { kind: Kind::Store, ..problem }
            .because("nothing was changed")
            .hint("see who may write there, and how much room is left; `brimstock new` makes a register and its folder")
    })?;
    let value = given.value.trim();
    let said =
        if value.is_empty() { format!("{key} is empty now") } else { format!("{key} is \"{value}\" from now on") };
    let made = if there.is_none() { ", which was made with a line for everything that you can be told" } else { "" };
    Ok(Done { said: format!("{said} in {}{made}", file.display()), next: None })
}

/// Puts the text in the file's place, whole or not at all; who may read and write it stays as it was.
fn write(file: &Path, text: &str) -> io::Result<()> {
    // A link stays one: what it leads to is written.
    let file = &fs::canonicalize(file).unwrap_or_else(|_| file.to_owned());
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // A new one is made readable and writable by its owner alone.
    let mut incoming = NamedTempFile::with_prefix_in("local-", folder)?;
    incoming.write_all(text.as_bytes())?;
    if let Ok(there) = fs::metadata(file) {
        if there.permissions().readonly() {
            return Err(io::Error::other("it is read-only"));
        }
        incoming.as_file().set_permissions(there.permissions())?;
    }
    incoming.as_file().sync_all()?;
    incoming.persist(file)?;
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    Ok(())
}
