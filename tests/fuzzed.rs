//! What fuzzing kept and found, tried again: the corpora of `tests/fuzz/corpus/` and the cases of `tests/fuzz/found/`, each
//! through the same function as in the fuzz target of its name.

use std::fs;
use std::path::{Path, PathBuf};

#[path = "fuzz/bodies.rs"]
pub mod bodies;

/// The cases of a target, with a folder for each kind of them.
fn cases(target: &str) -> Vec<PathBuf> {
    let fuzz = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz");
    let mut found = Vec::new();
    for kind in ["corpus", "found"] {
        // A target of which nothing was found has no folder there.
        let Ok(folder) = fs::read_dir(fuzz.join(kind).join(target)) else { continue };
        found.extend(folder.map(|entry| entry.unwrap().path()));
    }
    found.sort();
    found
}

#[track_caller]
fn replay(target: &str, body: fn(&[u8])) {
    let cases = cases(target);
    assert!(cases.len() >= 20, "{target} has {} cases", cases.len());
    for case in cases {
        // The name of the case that fails stands last.
        eprintln!("{}", case.display());
        body(&fs::read(&case).unwrap());
    }
}

#[test]
fn quantities() {
    replay("quantities", bodies::quantities);
}

#[test]
fn recipes() {
    replay("recipes", bodies::recipes);
}

#[test]
fn catalogues() {
    replay("catalogues", bodies::catalogues);
}

#[test]
fn own_files() {
    replay("own_files", bodies::own_files);
}

#[test]
fn registers() {
    replay("registers", bodies::registers);
}

#[test]
fn commands() {
    replay("commands", bodies::commands);
}

#[test]
fn lists() {
    replay("lists", bodies::lists);
}

#[test]
fn archives() {
    replay("archives", bodies::archives);
}
