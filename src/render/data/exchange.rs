//! The fields of `export` and `import`.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::export::{Exported, Outcome};
use crate::commands::import::Imported;
use crate::commands::import::archive::Restored;

/// What was written; the schema is an object of its own, and what goes to standard output by itself says nothing more.
pub(super) fn exported(outcome: &Outcome) -> String {
    match outcome {
        Outcome::Exported(exported) => written(exported),
        Outcome::Schema(schema) => schema.clone(),
        Outcome::Streamed(_) => String::new(),
    }
}

fn written(exported: &Exported) -> String {
    let Exported { form, path, on, tables, files, bytes, notes } = exported;
    line(&ExportedData {
        format: FORMAT,
        form,
        path: path.display().to_string(),
        on: on.to_string(),
        rows: exported.rows(),
        tables: counted(tables),
        files: measured(files),
        bytes: *bytes,
        notes,
    })
}

/// What was taken in.
pub(super) fn imported(imported: &Imported) -> String {
    match imported {
        Imported::Archive(restored) => taken_in(restored),
    }
}

fn taken_in(restored: &Restored) -> String {
    let Restored { file, register, dry_run, made_on, level, tables, beside, stocks, lines, notes } = restored;
    line(&RestoredData {
        format: FORMAT,
        file: file.display().to_string(),
        register: register.display().to_string(),
        dry_run: *dry_run,
        made_on,
        level: *level,
        stocks: *stocks,
        lines: *lines,
        rows: tables.iter().map(|(_, rows)| rows).sum(),
        tables: counted(tables),
        files: measured(beside),
        notes,
    })
}

fn counted(tables: &[(String, u64)]) -> Vec<TableData<'_>> {
    tables.iter().map(|(table, rows)| TableData { table, rows: *rows }).collect()
}

fn measured(files: &[(String, u64)]) -> Vec<FileData<'_>> {
    files.iter().map(|(name, bytes)| FileData { name, bytes: *bytes }).collect()
}

#[derive(Serialize)]
struct ExportedData<'a> {
    format: u32,
    form: &'a str,
    path: String,
    on: String,
    rows: u64,
    tables: Vec<TableData<'a>>,
    files: Vec<FileData<'a>>,
    bytes: u64,
    notes: &'a [String],
}

#[derive(Serialize)]
struct RestoredData<'a> {
    format: u32,
    file: String,
    register: String,
    dry_run: bool,
    made_on: &'a str,
    level: usize,
    stocks: usize,
    lines: usize,
    rows: u64,
    tables: Vec<TableData<'a>>,
    files: Vec<FileData<'a>>,
    notes: &'a [String],
}

#[derive(Serialize)]
struct TableData<'a> {
    table: &'a str,
    rows: u64,
}

#[derive(Serialize)]
struct FileData<'a> {
    name: &'a str,
    bytes: u64,
}
