//! Compiles every reagent's file and every drawing of `hazards/` into the program.
//!
//! A reagent or a drawing is added by adding one file: this script lists the folders, `src/catalogue/mod.rs` and
//! `src/render/pdf/picture.rs` read the texts.

use std::path::{Path, PathBuf};
use std::{env, fmt::Write as _, fs};

fn main() {
    println!("cargo::rerun-if-changed=src/build.rs");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR"));
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    let reagents = list(&root, &["hazards/reagents"], "toml", |path| path.to_owned());
    fs::write(out.join("reagents.rs"), reagents).expect("OUT_DIR can be written");
    let drawings = list(&root, &["hazards/pictograms", "hazards/pictograms/icons"], "svg", |path| {
        let stem = Path::new(path).file_stem().expect("a file has a name");
        stem.to_string_lossy().into_owned()
    });
    fs::write(out.join("pictograms.rs"), drawings).expect("OUT_DIR can be written");
}

/// A Rust expression: name and text of every file with an ending in some folders, in order.
fn list(root: &Path, folders: &[&str], ending: &str, name: impl Fn(&str) -> String) -> String {
    let mut list = String::from("&[\n");
    for folder in folders {
        println!("cargo::rerun-if-changed={folder}");
        let entries = fs::read_dir(root.join(folder)).expect("a folder of hazards/ can be listed");
        let mut files: Vec<PathBuf> = entries
            .map(|entry| entry.expect("a folder of hazards/ can be listed").path())
            .filter(|path| path.extension().is_some_and(|end| end == ending))
            .collect();
        files.sort();
        for file in files {
            let inside = format!("{folder}/{}", file.file_name().expect("a file has a name").to_string_lossy());
            writeln!(list, "    ({:?}, include_str!({file:?})),", name(&inside)).expect("a String takes text");
        }
    }
    list.push(']');
    list
}
