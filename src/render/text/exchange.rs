//! What was exported, and what became of an archive.

use crate::commands::export::{Exported, Outcome};
use crate::commands::import::Imported;
use crate::commands::import::archive::Restored;
use crate::render::Style;
use crate::render::table::sentence;

/// What was written; what goes to standard output by itself says nothing more.
pub(super) fn exported(style: &Style, outcome: &Outcome) -> String {
    match outcome {
        Outcome::Exported(exported) => written(style, exported),
        Outcome::Schema(schema) => schema.clone(),
        Outcome::Streamed(_) => String::new(),
    }
}

fn written(style: &Style, exported: &Exported) -> String {
    let Exported { form, path, tables, notes, .. } = exported;
    let (rows, path) = (exported.rows(), path.display());
    let mut text = sentence(style, "", &format!("{} tables with {rows} rows stand in {path}", tables.len()));
    for note in notes {
        text.push_str(&sentence(style, "note: ", note));
    }
    if *form == "archive" {
        let next = format!("`brimstock --register NEW.brimstock import archive {path} --dry-run`");
        text.push_str(&sentence(style, "next: ", &next));
    }
    text
}

/// What was taken in.
pub(super) fn imported(style: &Style, imported: &Imported) -> String {
    match imported {
        Imported::Archive(restored) => taken_in(style, restored),
    }
}

fn taken_in(style: &Style, restored: &Restored) -> String {
    let Restored { file, register, dry_run, made_on, stocks, lines, beside, notes, .. } = restored;
    let (file, register) = (file.display(), register.display());
    let held = format!("{stocks} stocks with {lines} journal lines");
    let with = match beside.len() {
        0 => String::new(),
        1 => ", and 1 file that lies beside the register".to_owned(),
        many => format!(", and {many} files that lie beside the register"),
    };
    let mut text = sentence(style, "", &format!("{file}, made for {made_on}, is sound: {held}{with}"));
    let end = match dry_run {
        true => format!("nothing was kept; it would become {register}"),
        false => format!("it stands at {register}, the same as it was"),
    };
    text.push_str(&sentence(style, "", &end));
    for note in notes {
        text.push_str(&sentence(style, "note: ", note));
    }
    let next = match dry_run {
        true => "the same without `--dry-run`".to_owned(),
        false => format!("`brimstock --register {register} shelf`"),
    };
    text.push_str(&sentence(style, "next: ", &next));
    text
}
