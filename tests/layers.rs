//! The order of the house, read from the sources: who may use whom, and what the inner rooms must not touch.

use std::fs;
use std::path::Path;

/// The modules, each of which may use itself and those before it.
const ORDER: [&str; 11] =
    ["units", "catalogue", "chem", "decay", "hazard", "dip", "disposal", "register", "commands", "cli", "render"];

/// The modules that compute: nothing printed, no clock, no environment, no file.
const PURE: [&str; 7] = ["units", "catalogue", "chem", "decay", "hazard", "dip", "disposal"];

const OUTSIDE_WORLD: [&str; 12] = [
    "print!(",
    "println!(",
    "eprint!(",
    "eprintln!(",
    "dbg!(",
    "std::env",
    "std::fs",
    "std::process",
    "Local::now",
    "Utc::now",
    "SystemTime",
    "Instant::now",
];

const SQL: [&str; 5] = ["SELECT ", "INSERT INTO", "DELETE FROM", "CREATE TABLE", "PRAGMA "];

/// Every breach in one file, given by its path under `src/`.
fn breaches(path: &str, text: &str) -> Vec<String> {
    let module = path.split(['/', '.']).next().unwrap_or(path);
    let mut found = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let mut breach = |what: String| found.push(format!("src/{path}:{}: {what}: {}", number + 1, line.trim()));
        if module != "register" {
            for word in SQL.iter().filter(|word| line.contains(**word)) {
                breach(format!("`{}` outside of `register`", word.trim()));
            }
        }
        if let Some(place) = ORDER.iter().position(|name| *name == module) {
            for behind in line.split("crate::").skip(1) {
                let used: String = behind.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect();
                match ORDER.iter().position(|name| *name == used) {
                    Some(other) if other <= place => {}
                    Some(_) => breach(format!("`{module}` stands before `{used}`")),
                    None => breach(format!("`crate::{used}` is none of the modules, one line a module")),
                }
            }
        }
        if PURE.contains(&module) && !line.trim_start().starts_with("//") {
            for word in OUTSIDE_WORLD.iter().filter(|word| line.contains(**word)) {
                breach(format!("`{word}` in `{module}`"));
            }
        }
    }
    found
}

/// Every source file with its path under `src/`.
fn sources(folder: &Path, under: &str, found: &mut Vec<(String, String)>) {
    for entry in fs::read_dir(folder).expect("src can be listed") {
        let path = entry.expect("src can be listed").path();
        let name = format!("{under}{}", path.file_name().expect("a name").to_string_lossy());
        if path.is_dir() {
            sources(&path, &format!("{name}/"), found);
        } else if name.ends_with(".rs") {
            found.push((name, fs::read_to_string(&path).expect("a source can be read")));
        }
    }
}

pub fn all_sources() -> Vec<(String, String)> {
    let mut found = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), "", &mut found);
    found.sort();
    found
}

#[test]
fn every_module_keeps_its_place() {
    let found: Vec<String> = all_sources().iter().flat_map(|(path, text)| breaches(path, text)).collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn every_module_has_a_place() {
    for (path, _) in all_sources() {
        let module = path.split(['/', '.']).next().unwrap_or_default();
        let known = ORDER.contains(&module) || ["lib", "main", "build"].contains(&module);
        assert!(known, "src/{path} has no place in the order");
    }
}

#[test]
fn a_breach_is_seen() {
    for (path, line, says) in [
        ("units/mod.rs", "use crate::catalogue::Catalogue;", "`units` stands before `catalogue`"),
        ("catalogue.rs", "    let grams = crate::chem::formula::molar_mass(text);", "`catalogue` stands before `chem`"),
        ("dip/pick.rs", "use crate::register::Register;", "`dip` stands before `register`"),
        ("commands/shelf.rs", "use crate::render::table;", "`commands` stands before `render`"),
        ("cli.rs", "use crate::render::text;", "`cli` stands before `render`"),
        ("decay/law.rs", "use crate::{units, render};", "none of the modules"),
        ("chem/mod.rs", "    println!(\"{density}\");", "`println!(` in `chem`"),
        ("units/parse.rs", "let home = std::env::var(\"HOME\");", "`std::env` in `units`"),
        ("decay/climate.rs", "let today = Local::now().date_naive();", "`Local::now` in `decay`"),
        ("catalogue/check.rs", "use std::fs;", "`std::fs` in `catalogue`"),
        ("commands/shelf.rs", "let sql = \"SELECT code FROM stock\";", "`SELECT` outside of `register`"),
        ("main.rs", "let sql = \"INSERT INTO stock\";", "`INSERT INTO` outside of `register`"),
    ] {
        let found = breaches(path, line);
        assert!(found.iter().any(|breach| breach.contains(says)), "{path}: {line}: {found:?}");
    }
    for (path, line) in [
        ("render/text/dip.rs", "use crate::units::show;"),
        ("register/ledger.rs", "let sql = \"SELECT code FROM stock\";"),
        ("commands/shelf.rs", "let now = Local::now();"),
        ("dip/plan.rs", "use crate::dip::Offer;"),
        ("decay/mod.rs", "// no std::fs here"),
        ("main.rs", "    println!(\"done\");"),
    ] {
        assert_eq!(breaches(path, line), Vec::<String>::new(), "{path}: {line}");
    }
}
