//! A disk that fails: the n-th write, sync, cut, removal or renaming of a command goes wrong, for one n after the other.
//!
//! The failing disk is `faulty_disk.c`, compiled here and preloaded into the program. The commands and the register are
//! those of a keeper; the program under test is the one that is shipped.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use brimstock::register::StoreError;
use tempfile::TempDir;

use super::look::{Held, names};
use crate::harness::{Bench, Ran, words};

const DAY: &str = "2031-03-02";

/// The preloaded library.
pub fn library() -> &'static Path {
    static BUILT: OnceLock<(TempDir, PathBuf)> = OnceLock::new();
    &BUILT
        .get_or_init(|| {
            let folder = tempfile::tempdir().unwrap();
            let to = folder.path().join("faulty_disk.so");
            let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/crash/faulty_disk.c");
            let built =
                Command::new("cc").args(["-shared", "-fPIC", "-O1", "-o"]).arg(&to).arg(from).arg("-ldl").output();
            let built = built.expect("a C compiler, which building the program needs too");
            assert!(built.status.success(), "{}", String::from_utf8_lossy(&built.stderr));
            (folder, to)
        })
        .1
}

/// A command, and a folder to run it in again and again.
struct Case {
    name: &'static str,
    bench: Bench,
    /// Every file of the folder as it is before the command.
    files: BTreeMap<PathBuf, Vec<u8>>,
    /// Where the failing disk tells what it did.
    told: TempDir,
    line: String,
    /// What the register holds before, and after the command went well; nothing where there is none.
    before: Option<Held>,
    after: Option<Held>,
    /// The file that the command makes, if it is another one than the register.
    makes: Option<&'static str>,
}

/// What became of a command on a failing disk.
struct Became {
    /// Nothing where it was killed.
    code: Option<i32>,
    stderr: String,
    /// True if something was let go wrong.
    hit: bool,
    /// How many deeds there were, of a command that ended by itself.
    deeds: Option<usize>,
}

impl Case {
    fn new(name: &'static str, line: &str, makes: Option<&'static str>) -> Case {
        let bench = if name == "new" { Bench::bare() } else { shelf() };
        let files = read_all(bench.folder());
        let mut case = Case {
            name,
            bench,
            files,
            told: tempfile::tempdir().unwrap(),
            line: line.to_owned(),
            before: None,
            after: None,
            makes,
        };
        case.before = case.held();
        let ran: Ran = case.bench.on(DAY, line);
        assert_eq!(ran.code, 0, "{ran:?}");
        case.after = case.held();
        case.put_back();
        case
    }

    fn held(&self) -> Option<Held> {
        match Held::of(&self.bench.register()) {
            Ok(held) => Some(held),
            Err(StoreError::Missing(_) | StoreError::Empty(_)) => None,
            Err(error) => panic!("{}: {error}", self.name),
        }
    }

    fn put_back(&self) {
        for path in read_all(self.bench.folder()).keys().filter(|path| !self.files.contains_key(*path)) {
            fs::remove_file(path).unwrap();
        }
        self.files.iter().for_each(|(path, bytes)| fs::write(path, bytes).unwrap());
    }

    fn run(&self, how: &str, at: usize) -> Became {
        let told = self.told.path().join("told");
        let _ = fs::remove_file(&told);
        let folder = fs::canonicalize(self.bench.folder()).unwrap();
        let mut command = self.bench.command();
        command.env("LD_PRELOAD", library()).env("FAULT_FOLDER", folder).env("FAULT_TOLD", &told);
        command.env("FAULT_HOW", how).env("FAULT_AT", at.to_string());
        let output = command.args(["--on", DAY]).args(words(&self.line)).output().unwrap();
        let said = fs::read_to_string(&told).unwrap_or_default();
        Became {
            code: output.status.code(),
            stderr: String::from_utf8(output.stderr).unwrap(),
            hit: said.starts_with('!'),
            deeds: said.split(' ').nth(1).and_then(|number| number.parse().ok()),
        }
    }

    /// Lets one deed go wrong, and looks whether that was told and did no harm.
    fn try_one(&self, how: &str, at: usize) {
        let became = self.run(how, at);
        let what = format!("{} {how} {at}: {:?} {}", self.name, became.code, became.stderr);
        assert!(became.hit, "{what}: nothing went wrong");
        assert!(!became.stderr.contains("panicked"), "{what}");
        let held = self.held();
        let (whole, nothing) = (held == self.after, held == self.before);
        assert!(whole || nothing, "{what}: half");
        let made = self.makes.map(|made| self.bench.folder().join(made)).filter(|made| made.exists());
        if let Some(made) = &made {
            self.is_whole(made, &what);
        }
        match became.code {
            Some(0) => {
                assert!(whole && (self.makes.is_none() || made.is_some()), "{what}: said yes, and it is not there");
            }
            Some(4) => {
                assert!(how != "short", "{what}: a short write is followed by the rest");
                // The journal is gone, and only that it will stay so could not be had from the disk.
                let unconfirmed = became.stderr.contains("it stands in");
                assert!(nothing != unconfirmed, "{what}: said no, and it is there");
                // The file, what is the matter with it, and what to do.
                let file = self.makes.map_or("shelf.brimstock", |made| made.rsplit('/').next().unwrap());
                assert!(became.stderr.contains(file) || became.stderr.contains("/shelf."), "{what}");
                let matter = ["failed to confirm", "is full", "the disk failed", "cannot be written", "cannot be used"];
                assert!(matter.iter().any(|words| became.stderr.contains(words)), "{what}");
                assert!(became.stderr.contains("hint: ") || became.stderr.contains("why: "), "{what}");
            }
            None => assert_eq!(how, "kill", "{what}"),
            Some(_) => panic!("{what}"),
        }
        // A disk that only refuses to remove may leave a file in the making, under a name that says what it is.
        for name in names(self.bench.folder()).into_iter().chain(names(&self.bench.folder().join("shelf.copies"))) {
            let known =
                ["shelf", "unfinished-", "local", "sheet.pdf", "incoming-"].iter().any(|word| name.starts_with(word));
            assert!(known || Some(name.as_str()) == self.makes, "{what}: {name}");
        }
        // Whatever is left: the same command goes well once the disk does.
        if at % 8 == 1 && became.code != Some(0) && nothing && made.is_none() {
            let again = self.bench.on(DAY, &self.line);
            assert_eq!(again.code, 0, "{what}; again: {again:?}");
            assert_eq!(self.held(), self.after, "{what}; again");
        }
        self.put_back();
    }

    fn is_whole(&self, made: &Path, what: &str) {
        let bytes = fs::read(made).unwrap();
        match made.extension().and_then(|ending| ending.to_str()) {
            Some("brimstock") => assert_eq!(Held::of(made).ok(), self.before, "{what}: a copy that is none"),
            Some("pdf") => assert!(bytes.ends_with(b"%%EOF") || bytes.ends_with(b"%%EOF\n"), "{what}: half a card"),
            Some("svg") => assert!(bytes.ends_with(b"</svg>\n"), "{what}: half a drawing"),
            _ => assert!(String::from_utf8(bytes).unwrap().contains("112"), "{what}"),
        }
    }

    /// Every way to fail at about so many deeds, in turn; at each one where there are few.
    fn every_way(&self, ways: &[&str], tries: usize) {
        let deeds = self.run("eio", 0).deeds.expect("it ended by itself");
        self.put_back();
        assert!(deeds > 1, "{}: {deeds} deeds", self.name);
        let step = (deeds as f64 / tries as f64).max(1.0);
        let mut at: Vec<usize> = (0..tries).map(|try_| 1 + (try_ as f64 * step) as usize).collect();
        // The last deeds are those that make it last.
        at.extend(deeds.saturating_sub(4)..=deeds);
        at.retain(|at| (1..=deeds).contains(at));
        at.sort_unstable();
        at.dedup();
        for (index, at) in at.into_iter().enumerate() {
            self.try_one(ways[index % ways.len()], at);
        }
    }
}

/// Alum, peroxide, a copy of the register, a file of local rules.
fn shelf() -> Bench {
    let bench = Bench::new();
    for line in [
        "receive potassium-alum 1kg --at cupboard --condition opened",
        "receive potassium-alum 1kg --at cupboard --condition opened",
        "backup",
        "take PA-1 7g",
        "local set emergency 999",
    ] {
        bench.on("2031-03-01", line).ok();
    }
    fs::write(bench.folder().join("sheet.pdf"), "%PDF-1.4 a sheet of nothing").unwrap();
    bench
}

fn read_all(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut files = BTreeMap::new();
    for name in names(folder) {
        let path = folder.join(name);
        if path.is_dir() {
            files.extend(read_all(&path));
        } else {
            files.insert(path.clone(), fs::read(&path).unwrap());
        }
    }
    files
}

const WAYS: [&str; 6] = ["eio", "enospc", "kill", "eio-on", "short", "enospc-on"];

#[test]
fn whatever_goes_wrong_with_the_disk_an_entry_is_there_whole_or_not_at_all() {
    // Every deed of the shortest entry in two ways, in turn those of the others.
    for shift in [0, 2] {
        let mut ways = WAYS;
        ways.rotate_left(shift);
        Case::new("take", "take PA-1 1g", None).every_way(&ways, 26);
    }
    for (name, line) in [
        ("receive", "receive potassium-permanganate 100g --at cupboard"),
        ("decant", "decant PA-1 20g"),
        ("bathe start", "bathe start alum-short --bath 1L --lot A1 --at 10:00 --drew \"PA-1 3g\" --drew \"PA-2 2g\""),
    ] {
        Case::new(name, line, None).every_way(&WAYS, 14);
    }
}

#[test]
fn whatever_goes_wrong_with_the_disk_a_file_is_there_whole_or_not_at_all() {
    Case::new("new", "new --kitchen us", None).every_way(&WAYS, 16);
    Case::new("backup", "backup", Some("shelf.copies/shelf-2031-03-02.brimstock")).every_way(&WAYS, 10);
    Case::new("restore", "restore shelf.copies/shelf-2031-03-01.brimstock", None).every_way(&WAYS, 18);
    Case::new("sds", "sds attach PA-1 sheet.pdf", None).every_way(&WAYS, 8);
    let card = "card bottle PA-1 --out card.pdf";
    Case::new("card", card, Some("card.pdf")).every_way(&["eio", "enospc", "kill", "short"], 8);
    let drawing = "check PA-1 --svg chart.svg";
    Case::new("svg", drawing, Some("chart.svg")).every_way(&["enospc", "kill", "eio"], 8);
    for (name, line, makes) in [
        ("backup", "backup", Some("shelf.copies/shelf-2031-03-02.brimstock")),
        ("card", card, Some("card.pdf")),
        ("svg", drawing, Some("chart.svg")),
    ] {
        Case::new(name, line, makes).try_one("rename", 0);
    }
}
