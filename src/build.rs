//! Compiles every file of `hazards/` into the program: the tables as JSON, which is read several times faster than TOML, and
//! the drawings as they are.
//!
//! A reagent or a drawing is added by adding one file: this script lists the folders, `src/catalogue/mod.rs` and
//! `src/render/pdf/picture.rs` read what it made of them. A file that is no TOML stops the build with its line; what else can
//! be wrong with one, a test tells.

use std::path::{Path, PathBuf};
use std::{env, fmt::Write as _, fs};

fn main() {
    println!("cargo::rerun-if-changed=src/build.rs");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR"));
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    let name = |path: &str| path.to_owned();
    let reagents = list(&root, &["hazards/reagents"], "toml", name, |file| as_json(&out, file));
    fs::write(out.join("reagents.rs"), reagents).expect("OUT_DIR can be written");
    // The other tables are included by name.
    list(&root, &["hazards"], "toml", name, |file| as_json(&out, file));
    let stem = |path: &str| {
        let stem = Path::new(path).file_stem().expect("a file has a name");
        stem.to_string_lossy().into_owned()
    };
    let drawings = list(&root, &["hazards/pictograms", "hazards/pictograms/icons"], "svg", stem, |file| {
        format!("include_str!({file:?})")
    });
    fs::write(out.join("pictograms.rs"), drawings).expect("OUT_DIR can be written");
}

/// A Rust expression: name of every file with an ending in some folders, and what is made of it, in order.
fn list(
    root: &Path,
    folders: &[&str],
    ending: &str,
    name: impl Fn(&str) -> String,
    made: impl Fn(&Path) -> String,
) -> String {
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
            writeln!(list, "    ({:?}, {}),", name(&inside), made(&file)).expect("a String takes text");
        }
    }
    list.push(']');
    list
}

/// Writes a table as JSON into a file of its own, and includes that.
fn as_json(out: &Path, file: &Path) -> String {
    let text = fs::read_to_string(file).expect("a file of hazards/ can be read");
    let table: toml::Table = toml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    let json = serde_json::to_vec(&table).expect("a table without days is JSON");
    let folder = file.parent().and_then(Path::file_name).expect("a file of hazards/ is in a folder");
    let made = out.join(folder).join(file.with_extension("json").file_name().expect("a file has a name"));
    fs::create_dir_all(out.join(folder)).expect("OUT_DIR can be written");
    fs::write(&made, json).expect("OUT_DIR can be written");
    format!("include_bytes!({made:?})")
}
