//! Compiles every file of `hazards/reagents/` into the program.
//!
//! A reagent is added by adding one file: this script lists the folder, `src/catalogue.rs` reads and checks the texts.

use std::{env, fmt::Write as _, fs, path::PathBuf};

fn main() {
    println!("cargo::rerun-if-changed=hazards/reagents");
    println!("cargo::rerun-if-changed=src/build.rs");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR"));
    let folder = root.join("hazards/reagents");
    let mut files: Vec<PathBuf> = fs::read_dir(&folder)
        .expect("hazards/reagents can be listed")
        .map(|entry| entry.expect("hazards/reagents can be listed").path())
        .filter(|path| path.extension().is_some_and(|end| end == "toml"))
        .collect();
    files.sort();
    let mut list = String::from("&[\n");
    for file in files {
        let name = file.file_name().expect("a file has a name").to_string_lossy();
        writeln!(list, "    (\"hazards/reagents/{name}\", include_str!({:?})),", file).expect("a String takes text");
    }
    list.push(']');
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    fs::write(out.join("reagents.rs"), list).expect("OUT_DIR can be written");
}
