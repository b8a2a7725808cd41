//! A disk that is full: a small one of the test's own, filled to every last page that a command still needs.
//!
//! The test starts itself again in a mount namespace of its own (`unshare`), mounts a small tmpfs there and works on it:
//! nothing of it is left, whatever happens. Where the system does not let it mount, it says so; a full disk is then only
//! what `faults.rs` makes of it.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;
use std::process::Command;

use super::look::{Held, names};
use crate::harness::Bench;

const DAY: &str = "2031-03-02";

/// Set in the process that may mount.
const INSIDE: &str = "BRIMSTOCK_TEST_ON_SMALL_DISK";

/// Said by that process when it has come to its end.
const DONE: &str = "the full disk was tried";

/// Said where the system does not let it mount.
const REFUSED: &str = "mounting was refused";

/// As large as a page of SQLite, and of a tmpfs.
const PAGE: usize = 4096;

#[test]
fn a_full_disk_is_told_and_nothing_is_lost() {
    if std::env::var_os(INSIDE).is_some() {
        return on_small_disk();
    }
    let mut said = String::new();
    // As root in a namespace of its own; else as the root of a namespace of users, where that is allowed.
    for options in ["--mount", "--mount --map-root-user"] {
        let output = Command::new("unshare")
            .args(options.split(' '))
            .arg(std::env::current_exe().unwrap())
            .args(["--exact", "--nocapture", "crash::disk::a_full_disk_is_told_and_nothing_is_lost"])
            .env(INSIDE, "yes")
            .output()
            .expect("`unshare` of util-linux");
        said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        if output.status.success() && said.contains(DONE) {
            return;
        }
        let refused = said.contains(REFUSED) || said.contains("unshare failed: Operation not permitted");
        assert!(refused, "{said}");
    }
    let note = format!("NOT RUN: a full disk on a tmpfs, for this system does not let a test mount one.\n{said}\n");
    io::stderr().write_all(note.as_bytes()).unwrap();
}

/// Mounts the disk and tries every command on it.
fn on_small_disk() {
    let bench = Bench::bare();
    let mounted = Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=1500k,mode=700", "none"])
        .arg(bench.folder())
        .output()
        .expect("`mount` of util-linux");
    if !mounted.status.success() {
        let why = String::from_utf8_lossy(&mounted.stderr).into_owned();
        assert!(
            why.contains("ermission denied") || why.contains("not permitted") || why.contains("must be superuser"),
            "{why}"
        );
        println!("{REFUSED}: {why}");
        return;
    }
    bench.on("2030-01-01", "new").ok();
    for line in [
        "place add cupboard --temp 20 --light dark",
        "receive potassium-alum 1kg --at cupboard --condition opened",
        "receive potassium-alum 1kg --at cupboard --condition opened",
    ] {
        bench.on("2031-03-01", line).ok();
    }
    fs::write(bench.folder().join("sheet.pdf"), format!("%PDF-1.4{}", " a sheet of nothing".repeat(600))).unwrap();
    let log: String = (0..120).map(|day| format!("2030-{:02}-{:02} 12:00,19\n", 1 + day / 28, 1 + day % 28)).collect();
    fs::write(bench.folder().join("log.csv"), format!("time,temperature\n{log}")).unwrap();
    let mut told = 0;
    for (line, file) in [
        ("take PA-1 1g", "shelf.brimstock"),
        ("receive potassium-permanganate 100g --at cupboard", "shelf.brimstock"),
        ("decant PA-1 20g", "shelf.brimstock"),
        (
            "bathe start alum-short --bath 1L --lot A1 --at 10:00 --drew \"PA-1 3g\" --drew \"PA-2 2g\"",
            "shelf.brimstock",
        ),
        ("place log cupboard log.csv", "shelf.brimstock"),
        ("backup", "shelf.copies/shelf-2031-03-02.brimstock"),
        ("restore shelf.copies/shelf-2031-03-02.brimstock", "shelf"),
        ("--register other.brimstock new --kitchen us", "other.brimstock"),
        ("card bottle PA-1 --out card.pdf", "card.pdf"),
        ("check PA-1 --svg chart.svg", "chart.svg"),
        ("local set fire 112", "local.toml"),
        ("sds attach PA-1 sheet.pdf", "shelf."),
    ] {
        told += until_there_is_room(&bench, line, file);
    }
    assert!(told >= 40, "only {told} times was the disk full");
    bench.on(DAY, "verify").ok();
    println!("{DONE}: {told} times");
}

/// Runs a command on the full disk, then with one page more each time, until it goes well. Gives how often it did not.
fn until_there_is_room(bench: &Bench, line: &str, file: &str) -> usize {
    let before = Held::of(&bench.register()).unwrap();
    let shelf = bench.on(DAY, "--json shelf").ok();
    let files = everything(bench.folder());
    let filler = bench.folder().join("filler");
    let (mut pages, mut told) = (0, 0);
    loop {
        let full = fill(&filler);
        fs::OpenOptions::new().write(true).open(&filler).unwrap().set_len((full - pages * PAGE) as u64).unwrap();
        let ran = bench.on(DAY, line);
        let what = format!("{line}, {pages} pages left: {ran:?}");
        if ran.code == 0 {
            break;
        }
        told += 1;
        assert_eq!((ran.code, ran.stdout.as_str()), (4, ""), "{what}");
        assert!(ran.stderr.contains(file), "{what}: which file?");
        assert!(ran.stderr.contains("is full"), "{what}: what is the matter?");
        let nothing = ["nothing was written", "nothing was changed", "the sheet was not attached"];
        assert!(nothing.iter().any(|words| ran.stderr.contains(words)), "{what}: what is there now?");
        assert_eq!(Held::of(&bench.register()).unwrap(), before, "{what}");
        // What is on a full disk can still be read, and nothing of what failed lies about.
        if told == 1 {
            assert_eq!(bench.on(DAY, "--json shelf").ok(), shelf, "{what}");
            bench.on(DAY, "verify").ok();
        }
        // A register is kept before it is written over; the disk is too small to keep one of each try.
        let new = |name: &&String| name.contains("before-restore") && !files.contains(name);
        for kept in names(&bench.folder().join("shelf.copies")).iter().filter(new) {
            assert!(line.starts_with("restore") && ran.stderr.contains(kept.as_str()), "{what}: {kept}");
            fs::remove_file(bench.folder().join("shelf.copies").join(kept)).unwrap();
        }
        let left: Vec<String> = everything(bench.folder()).into_iter().filter(|name| !files.contains(name)).collect();
        // An empty file that `new` takes next time; folders; the copy of a sheet that nothing points at yet.
        let known = ["filler", "other.brimstock", "shelf.sheets", "shelf.copies"];
        let sheet = |name: &str| line.starts_with("sds") && name.len() == 64 + 4 && name.ends_with(".pdf");
        let allowed = left.iter().all(|name| known.contains(&name.as_str()) || sheet(name));
        assert!(allowed, "{what}: {left:?}");
        // Every page at first; a command that needs many is not tried at each.
        pages += 1 + pages / 8;
        assert!(pages * PAGE < full, "{what}");
    }
    fs::remove_file(&filler).unwrap();
    assert!(told > 0, "{line} needs no room");
    told
}

/// Writes until the disk is full; gives the bytes of the filler.
fn fill(filler: &Path) -> usize {
    let mut file = File::create(filler).unwrap();
    let mut written = 0;
    loop {
        match file.write(&[0; PAGE]) {
            Ok(count) => written += count,
            Err(error) if error.kind() == io::ErrorKind::StorageFull => return written / PAGE * PAGE,
            Err(error) => panic!("{error}"),
        }
    }
}

/// Every name in the folder and those below it.
fn everything(folder: &Path) -> Vec<String> {
    let mut all = names(folder);
    for name in all.clone() {
        if folder.join(&name).is_dir() {
            all.extend(names(&folder.join(&name)));
        }
    }
    all
}
