//! Compiles every file of `hazards/` into the program: the tables as JSON, which is read several times faster than TOML, the
//! long lists among them entry by entry, so that a question reads only those that it is about, and the drawings as they are.
//!
//! A reagent or a drawing is added by adding one file: this script lists the folders, `src/catalogue/mod.rs` and
//! `src/render/pdf/picture.rs` read what it made of them. A file that is no TOML stops the build with its line; what else can
//! be wrong with one, a test tells.

use std::path::{Path, PathBuf};
use std::{env, fmt::Write as _, fs};

use toml::Value;

fn main() {
    println!("cargo::rerun-if-changed=src/build.rs");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR"));
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    let write = |name: &str, list: String| fs::write(out.join(name), list).expect("OUT_DIR can be written");
    let reagent = |file: &Path| format!("\"\", {}", as_json(&out, &table(file), file));
    write("reagents.rs", list(&root, &["hazards/reagents"], "toml", reagent));
    let sources = table(&root.join("hazards/sources.toml"));
    write("sources.rs", entries(sources.iter().map(|(key, source)| (key.as_str(), "", source))));
    let book = table(&root.join("hazards/dips.toml"));
    let dips = book["dip"].as_array().expect("a list of dips").iter();
    write("dips.rs", entries(dips.map(|dip| (word(dip, "key"), word(dip, "reagent"), dip))));
    let assays = table(&root.join("hazards/assays.toml"));
    let methods = assays["method"].as_array().expect("a list of tests").iter();
    write("methods.rs", entries(methods.map(|method| (word(method, "word"), "", method))));
    // The other tables are included by name, and of the book what is not in its list.
    list(&root, &["hazards"], "toml", |file| {
        let mut table = table(file);
        table.remove("dip");
        as_json(&out, &table, file)
    });
    let drawings = list(&root, &["hazards/pictograms", "hazards/pictograms/icons"], "svg", |file| {
        format!("include_str!({file:?})")
    });
    write("pictograms.rs", drawings);
}

/// A Rust expression: name of every file with an ending in some folders, and what is made of it, in order.
fn list(root: &Path, folders: &[&str], ending: &str, made: impl Fn(&Path) -> String) -> String {
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
            let name = file.file_stem().expect("a file has a name").to_string_lossy();
            writeln!(list, "    ({name:?}, {}),", made(&file)).expect("a String takes text");
        }
    }
    list.push(']');
    list
}

/// A Rust expression: the key of every entry, what it belongs to, and itself as JSON.
fn entries<'a>(entries: impl Iterator<Item = (&'a str, &'a str, &'a Value)>) -> String {
    let mut list = String::from("&[\n");
    for (key, of, entry) in entries {
        let json = serde_json::to_string(entry).expect("a table without days is JSON");
        writeln!(list, "    ({key:?}, {of:?}, {json:?}),").expect("a String takes text");
    }
    list.push(']');
    list
}

fn word<'a>(entry: &'a Value, key: &str) -> &'a str {
    entry.get(key).and_then(Value::as_str).expect("an entry bears its key")
}

fn table(file: &Path) -> toml::Table {
    let text = fs::read_to_string(file).expect("a file of hazards/ can be read");
    toml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", file.display()))
}

/// Writes a table as JSON into a file of its own, named as the one that it came from, and includes that.
fn as_json(out: &Path, table: &toml::Table, file: &Path) -> String {
    let json = serde_json::to_vec(table).expect("a table without days is JSON");
    let folder = file.parent().and_then(Path::file_name).expect("a file of hazards/ is in a folder");
    let made = out.join(folder).join(file.with_extension("json").file_name().expect("a file has a name"));
    fs::create_dir_all(out.join(folder)).expect("OUT_DIR can be written");
    fs::write(&made, json).expect("OUT_DIR can be written");
    format!("include_str!({made:?})")
}
