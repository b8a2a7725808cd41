//! Fuzz in the place of what is imported: a list, an archive.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{Read, Write};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::sync::OnceLock;

use brimstock::cli::{self, Cli};
use brimstock::commands::archive::Measured;
use brimstock::commands::import::list::{How, read};
use brimstock::commands::verify::{self, Verify};
use brimstock::register::tables::LEVEL;
use brimstock::units::date::Order;
use clap::Parser;
use serde_json::{Value, json};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use super::shelf::{answered, at, day, folder};
use super::{KITCHENS, edited, finite, repository, shipped};

/// A line of the command line, on a register.
fn told(path: &Path, line: &[&str]) -> Result<cli::Answer, brimstock::commands::Problem> {
    let cli = Cli::try_parse_from(["brimstock"].iter().chain(line)).unwrap();
    cli::run(&at(path.to_owned()), cli.verb)
}

/// A register with two places and two stocks, for what is imported into it.
fn two_stocks() -> &'static [u8] {
    static MADE: OnceLock<Vec<u8>> = OnceLock::new();
    MADE.get_or_init(|| {
        let folder = folder();
        let path = folder.path().join("shelf.brimstock");
        for line in [
            &["new"][..],
            &["place", "add", "cupboard", "--temp", "20", "--light", "dark"],
            &["place", "add", "porch", "--temp", "10", "--light", "dark"],
            &["receive", "potassium-alum", "1kg", "--at", "cupboard"],
            &["receive", "hydrogen-peroxide", "3 % w/v", "500mL", "--at", "porch"],
        ] {
            told(&path, line).unwrap();
        }
        fs::read(path).unwrap()
    })
}

/// Lists that are read well, which fuzz changes.
fn good_lists() -> &'static [Vec<u8>; 3] {
    static READ: OnceLock<[Vec<u8>; 3]> = OnceLock::new();
    READ.get_or_init(|| {
        [
            fs::read(repository().join("tests/import/shelf.csv")).unwrap(),
            b"reagent,strength,amount (mL),place,received (day first)\nbleach,\"8,25 % available chlorine w/w\",500,porch,03/02/2031\n"
                .to_vec(),
            b"sep=;\r\nname;left;where;date\r\nalum;1.5 kg;cupboard;1 March 2031\r\nKMnO4;2 oz;porch;2031-02-03\r\n".to_vec(),
        ]
    })
}

/// A list kept by hand: bytes as they are, or a good one with edits; if it is read without a fault, entered too.
pub fn lists(data: &[u8]) {
    let [choice, from, rest @ ..] = data else { return };
    let bytes = match usize::from(*from) % 4 {
        3 => rest.to_vec(),
        which => edited(&good_lists()[which], rest),
    };
    if bytes.len() > 8192 {
        return;
    }
    let choice = usize::from(*choice);
    let order = [None, None, Some(Order::DayFirst), Some(Order::MonthFirst)][choice % 4];
    let how = How {
        order,
        at: (choice / 4 % 2 == 1).then(|| "cupboard".to_owned()),
        kitchen: KITCHENS[choice / 8 % KITCHENS.len()],
        allow_duplicates: choice >= 128,
        ..How::plain("list.csv", day())
    };
    let is_good = match read(&bytes, shipped(), &how) {
        Ok(list) => {
            finite(&list.rows);
            let is_good = list.faults.is_empty();
            let count = list.rows.len();
            assert!(count > 0, "a list without rows is read");
            if !is_good {
                assert!(list.rows.iter().any(|row| list.faults.of(row.line)) || list.columns.is_empty());
                assert!(!list.faults.refusal("list.csv", count, &list.settle).rows.is_empty());
            }
            is_good
        }
        Err(problem) => {
            assert!(!problem.what.is_empty() && problem.hint.is_some(), "{problem:?}");
            false
        }
    };
    // What has a fault is refused by the command before it writes; of those one in sixteen is tried.
    if !is_good && choice / 8 % 16 != 0 {
        return;
    }
    let folder = folder();
    let (path, list) = (folder.path().join("shelf.brimstock"), folder.path().join("list.csv"));
    fs::write(&path, two_stocks()).unwrap();
    fs::write(&list, &bytes).unwrap();
    let name = list.to_string_lossy().into_owned();
    let mut line = vec!["import", "csv", &name];
    if let Some(order) = order {
        line.extend(["--dates", if order == Order::DayFirst { "day-first" } else { "month-first" }]);
    }
    if how.at.is_some() {
        line.extend(["--at", "cupboard"]);
    }
    if how.allow_duplicates {
        line.push("--allow-duplicates");
    }
    let found = told(&path, &line);
    let is_in = found.is_ok();
    answered(&at(path.clone()), found, false);
    if is_in {
        let verified = verify::run(&at(path.clone()), &Verify { file: None }).unwrap();
        assert!(verified.faults.is_empty(), "{:?}", verified.faults);
        for line in [&["shelf"][..], &["audit"], &["due"]] {
            answered(&at(path.clone()), told(&path, line), false);
        }
    } else {
        assert!(fs::read(&path).unwrap() == two_stocks(), "a refused list left a trace");
    }
}

/// The members of an archive in their order, each with its name.
type Members = Vec<(String, Vec<u8>)>;

const MANIFEST: &str = "manifest.json";

fn members(path: &Path) -> Members {
    let mut zip = ZipArchive::new(File::open(path).unwrap()).unwrap();
    (0..zip.len())
        .map(|index| {
            let mut entry = zip.by_index(index).unwrap();
            let mut bytes = Vec::new();
            entry.read_to_end(&mut bytes).unwrap();
            (entry.name().unwrap().into_owned(), bytes)
        })
        .collect()
}

/// An archive of a small register with something beside it.
fn good_archive() -> &'static (Vec<u8>, Members) {
    static MADE: OnceLock<(Vec<u8>, Members)> = OnceLock::new();
    MADE.get_or_init(|| {
        let folder = folder();
        let path = folder.path().join("shelf.brimstock");
        let sheet = folder.path().join("sheet.pdf");
        fs::write(&path, two_stocks()).unwrap();
        fs::write(&sheet, b"%PDF-1.4\nan invented sheet about an invented bottle\n%%EOF\n").unwrap();
        fs::copy(repository().join("demo/local.toml"), folder.path().join("local.toml")).unwrap();
        let zip = folder.path().join("good.zip").to_string_lossy().into_owned();
        for line in [
            &["open", "HP-1"][..],
            &["take", "PA-1", "33.3g"],
            &["correct", "PA-1", "2", "--amount", "33.4g", "--because", "misread"],
            &["decant", "HP-1", "100mL", "--container", "amber-glass"],
            &["measure", "add", "tbsp", "spoon", "15mL"],
            &["dips", "sign", "alum-soak", "--who", "keeper"],
            &["sds", "attach", "HP-1", &sheet.to_string_lossy(), "--revised", "2029-05-04"],
            &["export", "archive", &zip],
        ] {
            told(&path, line).unwrap_or_else(|problem| panic!("{line:?}: {problem:?}"));
        }
        (fs::read(&zip).unwrap(), members(Path::new(&zip)))
    })
}

/// Makes the list true again after members were changed.
fn relist(members: &mut Members) {
    let listed: Vec<Value> = members
        .iter()
        .filter(|(name, _)| name != MANIFEST)
        .map(|(name, bytes)| {
            let mut measured = Measured::default();
            measured.take(bytes);
            let mut listed = json!({ "name": name, "bytes": bytes.len(), "sha256": measured.digest() });
            if name.starts_with("table-") {
                listed["rows"] = json!(bytes.iter().filter(|byte| **byte == b'\n').count().saturating_sub(1));
            }
            listed
        })
        .collect();
    let Some(list) = members.iter_mut().find(|(name, _)| name == MANIFEST) else { return };
    let Ok(mut manifest) = serde_json::from_slice::<Value>(&list.1) else { return };
    if manifest.is_object() {
        manifest["count"] = json!(listed.len());
        manifest["members"] = json!(listed);
        list.1 = serde_json::to_vec(&manifest).unwrap();
    }
}

/// Changes cells of a table's row: what JSON can say.
fn cell(table: &mut Vec<u8>, change: &[u8]) {
    let [row, column, kind, put @ ..] = change else { return };
    let mut lines: Vec<Vec<u8>> = table.split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
    if lines.is_empty() {
        return;
    }
    let rows = lines.len();
    let here = usize::from(*row) % rows;
    let Ok(mut cells) = serde_json::from_slice::<Vec<Value>>(&lines[here]) else { return };
    if cells.is_empty() {
        return;
    }
    let place = usize::from(*column) % cells.len();
    let number = put.iter().take(8).fold(0i64, |value, byte| (value << 8) | i64::from(*byte));
    cells[place] = match kind % 8 {
        0 => Value::Null,
        1 => json!(number),
        2 => json!(f64::from_bits(number.cast_unsigned())),
        3 => json!([-1.0, 1e-300, 1e300, 5e-324, 1e9, 0.5, -0.0, f64::MAX][usize::from(kind / 8) % 8]),
        4 => json!(
            ["9999-12-31", "0001-01-01", "2031-02-29", "", "=1+1", "../x", "\u{0}", "1e400"][usize::from(kind / 8) % 8]
        ),
        5 => {
            let other = &lines[number.unsigned_abs() as usize % rows];
            let other = serde_json::from_slice::<Vec<Value>>(other).unwrap_or_default();
            other.get(place).cloned().unwrap_or_default()
        }
        6 => serde_json::from_slice(put).unwrap_or_default(),
        _ => json!(String::from_utf8_lossy(put)),
    };
    lines[here] = serde_json::to_vec(&cells).unwrap();
    lines[here].push(b'\n');
    *table = lines.concat();
}

/// The good archive's members with changes. `root` is a folder that is watched: `@` at the beginning of a name is put for it.
fn changed(mut data: &[u8], root: &Path) -> Vec<u8> {
    let mut members = good_archive().1.clone();
    let name_of = |bytes: &[u8]| {
        let name = String::from_utf8_lossy(bytes).into_owned();
        name.strip_prefix('@').map_or(name.clone(), |end| format!("{}/{end}", root.display()))
    };
    let mut untrue: Vec<(usize, &[u8])> = Vec::new();
    let mut links: Vec<(String, String)> = Vec::new();
    for _ in 0..6 {
        let [what, which, length, rest @ ..] = data else { break };
        let (put, rest) = rest.split_at(usize::from(*length).min(rest.len()));
        data = rest;
        if members.is_empty() {
            break;
        }
        let which = usize::from(*which) % members.len();
        match what % 10 {
            0 => members[which].1 = edited(&members[which].1, put),
            1..=3 => cell(&mut members[which].1, put),
            4 => {
                // A row again, or gone, or two in the other order.
                let mut lines: Vec<Vec<u8>> =
                    members[which].1.split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
                if let [row, how, ..] = put
                    && !lines.is_empty()
                {
                    let row = usize::from(*row) % lines.len();
                    match how % 3 {
                        0 => lines.push(lines[row].clone()),
                        1 => drop(lines.remove(row)),
                        _ => lines.swap(0, row),
                    }
                }
                members[which].1 = lines.concat();
            }
            5 => members[which].0 = name_of(put),
            6 => {
                let (name, bytes) = put.split_at(put.iter().position(|byte| *byte == b'\n').unwrap_or(put.len()));
                members.push((name_of(name), bytes.get(1..).unwrap_or_default().to_vec()));
            }
            7 if what / 10 % 4 == 0 => links.push((name_of(put), name_of(b"@out"))),
            7 => drop(members.remove(which)),
            8 => {
                let list = members.iter_mut().find(|(name, _)| name == MANIFEST);
                let manifest = list.as_ref().and_then(|(_, list)| serde_json::from_slice::<Value>(list).ok());
                if let (Some((_, list)), Some(mut manifest)) = (list, manifest) {
                    let field = ["what", "format", "register_level", "made_on", "more"][usize::from(what / 10) % 5];
                    if manifest.is_object() {
                        manifest[field] = serde_json::from_slice(put).unwrap_or_default();
                        *list = serde_json::to_vec(&manifest).unwrap();
                    }
                }
            }
            _ => untrue.push((which, put)),
        }
    }
    relist(&mut members);
    for (which, put) in untrue {
        if let Some((_, bytes)) = members.get_mut(which) {
            *bytes = edited(bytes, put);
        }
    }
    let mut zip = ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let plain = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, bytes) in members {
        // The same name twice is made by edits of the good archive's bytes.
        if zip.start_file(name, plain).is_ok() {
            zip.write_all(&bytes).unwrap();
        }
    }
    for (name, to) in links {
        let _ = zip.add_symlink(name, to, plain);
    }
    zip.finish().unwrap().into_inner()
}

/// Everything below a folder, by its path from there.
fn below(folder: &Path, root: &Path, found: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let shape = fs::symlink_metadata(&path).unwrap();
        assert!(!shape.is_symlink(), "{}", path.display());
        found.insert(path.strip_prefix(root).unwrap().to_string_lossy().into_owned());
        if shape.is_dir() {
            below(&path, root, found);
        }
    }
}

/// An archive: bytes as they are, a good one with bytes changed, or with members changed and the list made true again. Nothing
/// is ever made outside of the folder of the new register, and a refused one leaves nothing there either.
pub fn archives(data: &[u8]) {
    let Some((how, rest)) = data.split_first() else { return };
    let root = folder();
    // Deep, so that a name that leads upwards still leads into what is looked through.
    let new = root.path().join("a/b/c/new");
    fs::create_dir_all(&new).unwrap();
    let (from, path) = (root.path().join("bad.zip"), new.join("shelf.brimstock"));
    let bytes = match how % 8 {
        0 => rest.to_vec(),
        1 => edited(&good_archive().0, rest),
        _ => changed(rest, root.path()),
    };
    fs::write(&from, &bytes).unwrap();
    let name = from.to_string_lossy().into_owned();
    let mut line = vec!["import", "archive", &name];
    let is_dry = how / 8 % 8 == 7;
    if is_dry {
        line.push("--dry-run");
    }
    let found = told(&path, &line);
    let is_in = found.is_ok();
    answered(&at(path.clone()), found, true);
    let mut there = BTreeSet::new();
    below(root.path(), root.path(), &mut there);
    for folder in ["bad.zip", "a", "a/b", "a/b/c", "a/b/c/new"] {
        assert!(there.remove(folder), "{folder} is gone");
    }
    if !is_in || is_dry {
        assert!(there.is_empty(), "{there:?} was left");
        return;
    }
    for path in &there {
        let inner = path.strip_prefix("a/b/c/new/").unwrap_or_else(|| panic!("{path} is outside"));
        let is_known = matches!(inner, "shelf.brimstock" | "local.toml" | "shelf.sheets" | "shelf.reagents")
            || (inner.starts_with("shelf.sheets/") && inner.ends_with(".pdf"))
            || (inner.starts_with("shelf.reagents/") && inner.ends_with(".toml"));
        assert!(is_known, "{inner}");
        let mode = fs::metadata(root.path().join(path)).unwrap().permissions().mode();
        assert_eq!(mode & 0o077, 0, "{inner} may be read by others");
    }
    let verified = verify::run(&at(path.clone()), &Verify { file: None }).unwrap();
    assert!(verified.faults.is_empty(), "{:?}", verified.faults);
    for line in [&["shelf"][..], &["check", "HP-1"], &["due"]] {
        answered(&at(path.clone()), told(&path, line), true);
    }
    // Archived again it has the same tables, if it was of this level.
    let manifest =
        ZipArchive::new(File::open(&from).unwrap()).unwrap().by_name(MANIFEST).map(serde_json::from_reader::<_, Value>);
    if manifest.unwrap().unwrap()["register_level"] == json!(LEVEL) {
        let again = root.path().join("again.zip");
        told(&path, &["export", "archive", &again.to_string_lossy()]).unwrap_or_else(|problem| panic!("{problem:?}"));
        let tables = |path: &Path| {
            let mut found = members(path);
            found.retain(|(name, _)| name.starts_with("table-"));
            found.sort();
            found
        };
        assert!(tables(&from) == tables(&again), "it is not the same register");
    }
}
