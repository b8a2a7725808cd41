//! The one test binary. A file under `tests/` that is not listed here makes `every_file_is_listed` fail.

#![allow(clippy::disallowed_methods, reason = "a check may use the arithmetic that the program must not")]

mod archive;
mod audit;
mod bad_input;
mod bathe;
mod cards;
mod catalogue;
mod classify;
mod commands;
mod copies;
mod crash;
mod damage;
mod demo;
mod dip_book;
mod dips;
mod discard;
mod due;
mod exchange;
mod fuzzed;
mod gas;
mod golden_answers;
mod harness;
mod import_csv;
mod layers;
mod local;
mod long_work;
mod manual;
mod measures;
mod one_verb;
mod own_reagents;
mod paper;
mod properties;
mod quench;
mod ready;
mod recipes;
mod reference;
mod registers;
mod sds;
mod security;
mod strength;
mod words;

#[test]
fn every_file_is_listed() {
    let list = include_str!("main.rs");
    for entry in std::fs::read_dir("tests").expect("tests can be listed") {
        let name = entry.expect("tests can be listed").file_name().to_string_lossy().into_owned();
        let Some(module) = name.strip_suffix(".rs").filter(|module| *module != "main") else { continue };
        assert!(list.contains(&format!("mod {module};")), "tests/{name} is not listed in tests/main.rs");
    }
}
