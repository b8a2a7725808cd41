//! Compiles every file of `hazards/` into the program: the tables packed, so that no text is parsed at a start, and the
//! drawings as they are.
//!
//! A reagent or a drawing is added by adding one file: this script lists the folders, `src/catalogue/mod.rs` and
//! `src/render/pdf/picture.rs` read what it made of them. A file that is no TOML stops the build with its line; what else can
//! be wrong with one, a test tells. How a table is packed stands at the head of `src/catalogue/packed.rs`.

use std::path::{Path, PathBuf};
use std::{env, fmt::Write as _, fs};

use toml::Value;

fn main() {
    println!("cargo::rerun-if-changed=src/build.rs");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR"));
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    let name = |path: &str| path.to_owned();
    let reagents = list(&root, &["hazards/reagents"], "toml", name, |file| pack_into(&out, file));
    fs::write(out.join("reagents.rs"), reagents).expect("OUT_DIR can be written");
    // The other tables are included by name.
    list(&root, &["hazards"], "toml", name, |file| pack_into(&out, file));
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

/// Packs a table into a file of its own, and includes that.
fn pack_into(out: &Path, file: &Path) -> String {
    let text = fs::read_to_string(file).expect("a file of hazards/ can be read");
    let table: toml::Table = toml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    let mut packed = Vec::new();
    pack(&mut packed, &Value::Table(table));
    let folder = file.parent().and_then(Path::file_name).expect("a file of hazards/ is in a folder");
    let made = out.join(folder).join(file.with_extension("packed").file_name().expect("a file has a name"));
    fs::create_dir_all(out.join(folder)).expect("OUT_DIR can be written");
    fs::write(&made, packed).expect("OUT_DIR can be written");
    format!("include_bytes!({made:?})")
}

fn pack(packed: &mut Vec<u8>, value: &Value) {
    match value {
        Value::String(text) => {
            packed.push(0);
            pack_text(packed, text);
        }
        Value::Integer(whole) => {
            packed.push(1);
            packed.extend(whole.to_le_bytes());
        }
        Value::Float(fraction) => {
            packed.push(2);
            packed.extend(fraction.to_le_bytes());
        }
        Value::Boolean(yes) => packed.push(if *yes { 4 } else { 3 }),
        Value::Array(values) => {
            packed.push(5);
            pack_count(packed, values.len());
            values.iter().for_each(|value| pack(packed, value));
        }
        Value::Table(table) => {
            packed.push(6);
            pack_count(packed, table.len());
            for (key, value) in table {
                pack_text(packed, key);
                pack(packed, value);
            }
        }
        Value::Datetime(day) => panic!("{day}: a day is written in quotation marks"),
    }
}

fn pack_text(packed: &mut Vec<u8>, text: &str) {
    pack_count(packed, text.len());
    packed.extend(text.as_bytes());
}

fn pack_count(packed: &mut Vec<u8>, count: usize) {
    packed.extend(u32::try_from(count).expect("no file of hazards/ is that large").to_le_bytes());
}
