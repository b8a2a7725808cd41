//! `export archive` and `import archive`: the same register again, from this level and every earlier one; and everything that
//! an archive can be that is not taken in.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::Path;

use rusqlite::Connection;
use rusqlite::types::Value as Sql;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use crate::exchange::{DAY, full, names};
use crate::harness::{Bench, Ran};

type Members = Vec<(String, Vec<u8>)>;

/// What is asked of a register before and after.
fn answers(bench: &Bench, register: &str, day: &str, all: bool) -> Vec<(String, Value)> {
    let ask = |line: &str| {
        let ran = bench.on(day, &format!("--register {register} --json {line}"));
        // Where something lies is told with its path, which is another one.
        let stdout = ran.stdout.replace("there/", "").replace("here/", "");
        (line.to_owned(), json!({ "code": ran.code, "stdout": stdout }))
    };
    let shelf = bench.on(day, &format!("--register {register} --json shelf")).json();
    let codes: Vec<String> = shelf["stocks"]
        .as_array()
        .unwrap_or_else(|| panic!("{shelf}"))
        .iter()
        .map(|stock| stock["stock"].as_str().unwrap_or_else(|| panic!("{stock}")).to_owned())
        .collect();
    let mut asked = vec![ask("shelf"), ask("place list"), ask("measure list")];
    if all {
        asked.extend(
            ["audit", "due", "dips", "bathe list", "dips signed", "sds list", "local", "ready-for --plan"].map(ask),
        );
        asked.push(ask("dose peroxide-weak --bath 4L"));
        asked.extend(codes.iter().take(2).map(|code| ask(&format!("check {code}"))));
    }
    asked.extend(codes.iter().map(|code| ask(&format!("show {code}"))));
    asked
}

/// Moves a bench's register with everything beside it into `here`, exports it, imports it as `there`, and asks both.
fn comes_back(bench: &Bench, day: &str, all: bool) {
    let (here, there) = (bench.folder().join("here"), bench.folder().join("there"));
    fs::create_dir(&here).unwrap();
    fs::create_dir(&there).unwrap();
    for name in names(bench.folder()).iter().filter(|name| *name != "here" && *name != "there") {
        fs::rename(bench.folder().join(name), here.join(name)).unwrap();
    }
    let archive = |register: &str, file: &str| {
        let ran = bench.on(day, &format!("--register {register}/shelf.brimstock export archive {file}"));
        // A register whose sheet does not lie beside it is archived without, which is no yes.
        assert_eq!(ran.code, i32::from(ran.stdout.contains("left out")), "{ran:?}");
    };
    archive("here", "one.zip");
    archive("here", "again.zip");
    let one = fs::read(bench.folder().join("one.zip")).unwrap();
    assert!(one == fs::read(bench.folder().join("again.zip")).unwrap(), "the same bytes");
    bench.on(day, "--register there/shelf.brimstock import archive one.zip").ok();
    let before = answers(bench, "here/shelf.brimstock", day, all);
    for ((line, before), (_, after)) in before.iter().zip(answers(bench, "there/shelf.brimstock", day, all)) {
        assert_eq!(*before, after, "{line}");
    }
    bench.on(day, "--register there/shelf.brimstock verify").ok();
    archive("there", "two.zip");
    assert!(one == fs::read(bench.folder().join("two.zip")).unwrap(), "the same bytes out of the second register");
}

#[test]
fn the_demo_comes_back_the_same() {
    comes_back(&Bench::demo(), "2031-03-15", true);
}

#[test]
fn a_register_with_everything_comes_back_the_same() {
    let bench = full();
    comes_back(&bench, "2031-03-22", true);
    let there = names(&bench.folder().join("there"));
    assert_eq!(there, ["local.toml", "shelf.brimstock", "shelf.reagents", "shelf.sheets"]);
    // It takes entries as the first one did, and keeps its history as that did.
    bench.on("2031-03-22", "--register there/shelf.brimstock take HP-1 5mL").ok();
    let register = Connection::open(bench.folder().join("there/shelf.brimstock")).unwrap();
    let first = Connection::open(bench.folder().join("here/shelf.brimstock")).unwrap();
    let schema = |register: &Connection| -> Vec<String> {
        let mut statement = register.prepare("SELECT name || coalesce(sql, '') FROM sqlite_schema ORDER BY 1").unwrap();
        statement.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    assert_eq!(schema(&register), schema(&first));
    for sql in
        ["UPDATE identity SET name = 'x'", "DELETE FROM identity", "DELETE FROM event", "UPDATE place SET name = 'x'"]
    {
        assert!(register.execute(sql, []).is_err(), "{sql}");
    }
}

#[test]
fn registers_of_earlier_levels_come_back_the_same() {
    for level in 1..=4 {
        let bench = Bench::bare();
        let said = fixture(level, &bench.register());
        comes_back(&bench, &said, false);
    }
}

/// Copies the register of an earlier level; tells the day of which its own program spoke.
fn fixture(level: usize, to: &Path) -> String {
    let registers = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/registers");
    fs::copy(registers.join(format!("level-{level}.brimstock")), to).unwrap();
    let said = fs::read_to_string(registers.join(format!("level-{level}.json"))).unwrap();
    let said: Value = serde_json::from_str(&said).unwrap();
    said["on"].as_str().unwrap().to_owned()
}

/// An archive as a program of an earlier level would have written it: made here from its file, by other means than ours.
fn archive_of_level(level: usize, register: &Path) -> Members {
    let register = Connection::open(register).unwrap();
    let list = |sql: &str, place: usize| -> Vec<String> {
        let mut statement = register.prepare(sql).unwrap();
        statement.query_map([], |row| row.get(place)).unwrap().map(Result::unwrap).collect()
    };
    let mut members = Members::new();
    for table in list("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%'", 0) {
        let columns = list(&format!("PRAGMA table_info({table})"), 1);
        let mut text = serde_json::to_string(&columns).unwrap() + "\n";
        let mut statement = register.prepare(&format!("SELECT * FROM {table} ORDER BY id")).unwrap();
        let mut rows = statement.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let cells: Vec<Value> = (0..columns.len())
                .map(|place| match row.get(place).unwrap() {
                    Sql::Null => Value::Null,
                    Sql::Integer(value) => json!(value),
                    Sql::Real(value) => json!(value),
                    Sql::Text(text) => json!(text),
                    Sql::Blob(_) => panic!("bytes"),
                })
                .collect();
            text += &(serde_json::to_string(&cells).unwrap() + "\n");
        }
        members.push((format!("table-{table}.jsonl"), text.into_bytes()));
    }
    members.push((
        "manifest.json".to_owned(),
        serde_json::to_vec(
            &json!({ "what": "brimstock archive", "format": 1, "register_level": level, "made_on": DAY }),
        )
        .unwrap(),
    ));
    relist(&mut members);
    members
}

#[test]
fn an_archive_of_an_earlier_level_becomes_a_register_of_this_one() {
    for level in 1..=4 {
        let bench = Bench::bare();
        let old = bench.folder().join("old.brimstock");
        let day = fixture(level, &old);
        pack(&bench, &archive_of_level(level, &old));
        let told = bench.on(&day, "--register new.brimstock --json import archive bad.zip").json();
        assert_eq!(told["level"], level);
        let new = answers(&bench, "new.brimstock", &day, false);
        for ((line, after), (_, before)) in new.iter().zip(answers(&bench, "old.brimstock", &day, false)) {
            // One that looks for sheets tells the folder, which bears the register's name.
            let after = after.to_string().replace("new.", "old.");
            assert_eq!(after, before.to_string(), "level {level}: {line}");
        }
    }
}

/// The members of an archive, in order.
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

fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Makes the list true again after members were changed.
fn relist(members: &mut Members) {
    let listed: Vec<Value> = members
        .iter()
        .filter(|(name, _)| name != "manifest.json")
        .map(|(name, bytes)| {
            let mut listed = json!({ "name": name, "bytes": bytes.len(), "sha256": digest(bytes) });
            if name.starts_with("table-") {
                listed["rows"] = json!(bytes.iter().filter(|byte| **byte == b'\n').count().saturating_sub(1));
            }
            listed
        })
        .collect();
    let list = members.iter_mut().find(|(name, _)| name == "manifest.json").unwrap();
    let mut manifest: Value = serde_json::from_slice(&list.1).unwrap();
    manifest["count"] = json!(listed.len());
    manifest["members"] = json!(listed);
    list.1 = serde_json::to_vec(&manifest).unwrap();
}

fn pack(bench: &Bench, members: &Members) {
    let mut zip = ZipWriter::new(File::create(bench.folder().join("bad.zip")).unwrap());
    for (name, bytes) in members {
        zip.start_file(name.as_str(), SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap();
}

fn member<'a>(members: &'a mut Members, name: &str) -> &'a mut Vec<u8> {
    &mut members.iter_mut().find(|(other, _)| other == name).unwrap_or_else(|| panic!("{name}")).1
}

fn text(members: &mut Members, name: &str, from: &str, to: &str) {
    let bytes = member(members, name);
    let before = String::from_utf8(bytes.clone()).unwrap();
    assert!(before.contains(from), "{name}: {from}");
    *bytes = before.replacen(from, to, 1).into_bytes();
}

/// A folder with an archive of a register that has everything, and a folder for the new one.
fn with_archive() -> (Bench, Members) {
    static MADE: std::sync::OnceLock<Vec<u8>> = std::sync::OnceLock::new();
    let zip = MADE.get_or_init(|| {
        let bench = full();
        bench.on(DAY, "export archive shelf.zip").ok();
        fs::read(bench.folder().join("shelf.zip")).unwrap()
    });
    let bench = Bench::bare();
    fs::create_dir(bench.folder().join("new")).unwrap();
    fs::write(bench.folder().join("good.zip"), zip).unwrap();
    let members = members(&bench.folder().join("good.zip"));
    (bench, members)
}

fn import(bench: &Bench) -> Ran {
    bench.on(DAY, "--register new/shelf.brimstock import archive bad.zip")
}

/// Imports what was packed, which must be refused, and looks that nothing was written anywhere.
#[track_caller]
fn refused(bench: &Bench, code: i32, words: &[&str]) {
    import(bench).fails(code, words);
    assert!(names(&bench.folder().join("new")).is_empty(), "{:?}", names(&bench.folder().join("new")));
    assert_eq!(names(bench.folder()), ["bad.zip", "good.zip", "new"]);
}

#[track_caller]
fn spoilt(words: &[&str], code: i32, change: impl FnOnce(&mut Members)) {
    let (bench, mut members) = with_archive();
    change(&mut members);
    pack(&bench, &members);
    refused(&bench, code, words);
}

#[test]
fn what_this_test_packs_itself_is_taken_in() {
    // The other refusals mean something only if the same way of packing makes an archive that is taken in.
    let (bench, mut members) = with_archive();
    relist(&mut members);
    pack(&bench, &members);
    import(&bench).ok();
}

#[test]
fn names_that_lead_elsewhere_are_refused() {
    for name in [
        "../evil.toml",
        "/tmp/evil.toml",
        "a/../../evil",
        "..\\evil.toml",
        "C:\\evil.toml",
        "new/local.toml",
        "reagent-../x.toml",
        "reagent-a/b.toml",
        "reagent-.toml",
        "sheet-x.pdf",
        "table-.jsonl",
        "Manifest.json",
        "evil",
        "./local.toml",
    ] {
        spoilt(&["is no name of a member"], 4, |members| {
            members.push((name.to_owned(), b"x".to_vec()));
            relist(members);
        });
    }
}

#[test]
fn links_folders_and_names_that_stand_twice_are_refused() {
    let (bench, members) = with_archive();
    let begin = || {
        let mut zip = ZipWriter::new(File::create(bench.folder().join("bad.zip")).unwrap());
        for (name, bytes) in members.iter().filter(|(name, _)| name != "local.toml") {
            zip.start_file(name.as_str(), SimpleFileOptions::default()).unwrap();
            zip.write_all(bytes).unwrap();
        }
        zip
    };
    let mut zip = begin();
    zip.add_symlink("local.toml", "/etc/passwd", SimpleFileOptions::default()).unwrap();
    zip.finish().unwrap();
    refused(&bench, 4, &["`local.toml` is no plain file"]);
    let mut zip = begin();
    zip.add_directory("local.toml", SimpleFileOptions::default()).unwrap();
    zip.finish().unwrap();
    refused(&bench, 4, &["is no name of a member"]);
    let mut zip = begin();
    for name in ["local.toml", "l0cal.toml"] {
        zip.start_file(name, SimpleFileOptions::default()).unwrap();
        zip.write_all(b"x").unwrap();
    }
    zip.finish().unwrap();
    replace_everywhere(&bench, b"l0cal.toml", b"local.toml");
    refused(&bench, 4, &["stands in it twice"]);
}

/// Changes bytes of the packed file itself.
fn replace_everywhere(bench: &Bench, from: &[u8], to: &[u8]) {
    let path = bench.folder().join("bad.zip");
    let mut bytes = fs::read(&path).unwrap();
    let mut found = 0;
    for at in 0..bytes.len() - from.len() {
        if &bytes[at..at + from.len()] == from {
            bytes[at..at + from.len()].copy_from_slice(to);
            found += 1;
        }
    }
    assert!(found > 0);
    fs::write(path, bytes).unwrap();
}

#[test]
fn members_beyond_their_limit_are_refused_however_little_they_say() {
    let bomb = vec![0; 5_000_000];
    spoilt(&["`local.toml` would have 5000000 bytes; at most 4000000"], 4, |members| {
        *member(members, "local.toml") = bomb.clone();
        relist(members);
    });
    // One that lies about its length in every place.
    let (bench, mut members) = with_archive();
    *member(&mut members, "local.toml") = bomb;
    relist(&mut members);
    text(&mut members, "manifest.json", "\"bytes\":5000000", "\"bytes\":10");
    pack(&bench, &members);
    replace_everywhere(&bench, &5_000_000_u32.to_le_bytes(), &10_u32.to_le_bytes());
    refused(&bench, 4, &["`local.toml`"]);
    let (bench, mut members) = with_archive();
    members.extend((0..10_001).map(|number| (format!("reagent-r{number}.toml"), Vec::new())));
    pack(&bench, &members);
    refused(&bench, 4, &["members; at most 10000"]);
}

#[test]
fn what_is_no_archive_of_ours_is_refused() {
    let (bench, mut members) = with_archive();
    fs::write(bench.folder().join("bad.zip"), "a letter").unwrap();
    refused(&bench, 4, &["is no archive of brimstock's", "accepted: what `brimstock export archive`"]);
    members.retain(|(name, _)| name != "manifest.json");
    pack(&bench, &members);
    refused(&bench, 4, &["is no archive of brimstock's", "manifest.json"]);
    spoilt(&["is no archive of brimstock's"], 4, |members| {
        text(members, "manifest.json", "brimstock archive", "another archive");
    });
    let (bench, _) = with_archive();
    let good = fs::read(bench.folder().join("good.zip")).unwrap();
    fs::write(bench.folder().join("bad.zip"), &good[..good.len() / 2]).unwrap();
    refused(&bench, 4, &["bad.zip"]);
    fs::write(bench.folder().join("bad.zip"), [b"before".as_slice(), &good].concat()).unwrap();
    refused(&bench, 4, &["bad.zip"]);
    bench
        .on(DAY, "--register new/shelf.brimstock import archive nowhere.zip")
        .fails(4, &["nowhere.zip cannot be read"]);
    bench.on(DAY, "--register new/shelf.brimstock import archive new").fails(4, &["is no plain file"]);
}

#[test]
fn newer_ones_are_refused_with_what_to_do() {
    let words = ["was written by a newer brimstock", "use the newer program for it"];
    spoilt(&[words[0], words[1], "format 2"], 4, |members| {
        text(members, "manifest.json", "\"format\": 1", "\"format\": 2")
    });
    spoilt(&[words[0], words[1], "register version 99"], 4, |members| {
        let list = member(members, "manifest.json");
        let mut manifest: Value = serde_json::from_slice(list).unwrap();
        manifest["register_level"] = json!(99);
        *list = serde_json::to_vec(&manifest).unwrap();
    });
    spoilt(&["no format"], 4, |members| text(members, "manifest.json", "\"format\": 1", "\"format\": 0"));
}

#[test]
fn a_list_that_is_not_true_is_refused() {
    spoilt(&["`local.toml` is not listed"], 4, |members| {
        let whole = members.clone();
        members.retain(|(name, _)| name != "local.toml");
        relist(members);
        members.extend(whole.into_iter().filter(|(name, _)| name == "local.toml"));
    });
    spoilt(&["`local.toml` is not in it"], 4, |members| members.retain(|(name, _)| name != "local.toml"));
    spoilt(&["`table-place.jsonl` does not read as it was written"], 4, |members| {
        text(members, "table-place.jsonl", "cupboard", "cupborad");
    });
    spoilt(&["`table-place.jsonl`", "bytes"], 4, |members| member(members, "table-place.jsonl").push(b'\n'));
    spoilt(&["counts"], 4, |members| text(members, "manifest.json", "\"count\": ", "\"count\": 1"));
    spoilt(&["manifest.json"], 4, |members| text(members, "manifest.json", "\"count\"", "\"cuont\""));
    spoilt(&["lists `manifest.json`"], 4, |members| text(members, "manifest.json", "local.toml", "manifest.json"));
    spoilt(&["lists `../x`"], 4, |members| text(members, "manifest.json", "local.toml", "../x"));
    spoilt(&["duplicate field"], 4, |members| text(members, "manifest.json", "\"rows\"", "\"rows\": 1, \"rows\""));
    spoilt(&["what it says of `local.toml` cannot be"], 4, |members| {
        text(members, "manifest.json", "\"sha256\"", "\"rows\": 1, \"sha256\"");
    });
}

#[test]
fn local_rules_that_are_no_text_are_refused() {
    spoilt(&["is not taken in: `local.toml`", "UTF-8"], 4, |members| {
        member(members, "local.toml").push(0xff);
        relist(members);
    });
}

#[test]
fn tables_that_cannot_be_a_register_are_refused_by_member_and_line() {
    let change = |name: &'static str, from: &'static str, to: &'static str| {
        move |members: &mut Members| {
            text(members, name, from, to);
            relist(members);
        }
    };
    let event = "table-event.jsonl";
    spoilt(
        &["`table-event.jsonl`, line 2", "a rule of the register forbids"],
        4,
        change(event, "\"received\"", "\"eaten\""),
    );
    spoilt(&["`table-event.jsonl`, line 1", "columns of that table"], 4, change(event, "\"kind\"", "\"sort\""));
    spoilt(&["`table-event.jsonl`, line 2"], 4, change(event, "[1,1,", "[1,1,1,"));
    spoilt(&["`table-event.jsonl`, line 2"], 4, change(event, "[1,1,", "[[],1,"));
    spoilt(&["`table-event.jsonl`, line 2"], 4, change(event, "[1,1,", "{1,1,"));
    spoilt(&["`table-event.jsonl`, line 3", "append-only"], 4, change(event, "[2,", "[1,"));
    spoilt(
        &["`table-event.jsonl`, line 2", "names something that is not in the archive"],
        4,
        change(event, "[1,1,", "[1,77,"),
    );
    // Read with care, and not as it was written: another way to write the same number.
    spoilt(&["does not read back as it was written"], 4, change(event, "33.3", "33.30"));
    // A journal that contradicts itself is none: more was taken than there was.
    spoilt(&["PA-1"], 3, change(event, "33.6", "3333.6"));
    spoilt(&["the table `plan` is not in it"], 4, |members| {
        members.retain(|(name, _)| name != "table-plan.jsonl");
        relist(members);
    });
    spoilt(&["has no table `seal`"], 4, |members| {
        members.push(("table-seal.jsonl".to_owned(), b"[\"scope\",\"rows\",\"crc\"]\n".to_vec()));
        relist(members);
    });
    spoilt(&["marsh-salt.toml"], 4, |members| {
        *member(members, "reagent-marsh-salt.toml") = b"key = ".to_vec();
        relist(members);
    });
}

#[test]
fn nothing_that_is_there_is_written_over() {
    let (bench, _) = with_archive();
    let good = "--register new/shelf.brimstock import archive good.zip";
    for taken in ["shelf.brimstock", "shelf.brimstock-journal", "shelf.sheets", "shelf.reagents"] {
        let path = bench.folder().join("new").join(taken);
        fs::write(&path, "mine").unwrap();
        bench.on(DAY, good).fails(4, &[taken, "is there already", "--register PATH"]);
        assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
        fs::remove_file(&path).unwrap();
    }
    let local = bench.folder().join("new/local.toml");
    fs::write(&local, "mine").unwrap();
    bench.on(DAY, good).fails(4, &["local.toml", "is not that of the archive"]);
    assert_eq!(names(&bench.folder().join("new")), ["local.toml"]);
    // The same rules may lie there already.
    fs::copy("demo/local.toml", &local).unwrap();
    bench.on(DAY, good).ok();
    bench.on(DAY, good).fails(4, &["is there already"]);
    bench.on(DAY, "--register nowhere/shelf.brimstock import archive good.zip").fails(4, &["its folder is not there"]);
    // Rules that lie there and did not come with the archive are told of.
    let plain = Bench::demo();
    plain.on(DAY, "export archive demo.zip").ok();
    fs::create_dir(plain.folder().join("new")).unwrap();
    fs::copy("demo/local.toml", plain.folder().join("new/local.toml")).unwrap();
    let told = plain.on(DAY, "--register new/shelf.brimstock --json import archive demo.zip").json();
    assert!(told["notes"][0].as_str().unwrap().contains("local.toml was there already"), "{told}");
}

#[test]
fn a_dry_run_keeps_nothing_and_tells_the_same() {
    let (bench, _) = with_archive();
    let line = "--register new/shelf.brimstock --json import archive good.zip";
    let dry = bench.on(DAY, &format!("{line} --dry-run")).json();
    assert!(names(&bench.folder().join("new")).is_empty());
    let mut wet = bench.on(DAY, line).json();
    assert_eq!((&dry["dry_run"], &wet["dry_run"]), (&json!(true), &json!(false)));
    wet["dry_run"] = json!(true);
    assert_eq!(dry, wet);
    let text = bench.on(DAY, "--register new/other.brimstock import archive good.zip --dry-run");
    assert!(text.stderr.contains("local.toml") || text.ok().contains("nothing was kept"));
}

#[test]
fn an_archive_goes_into_a_file() {
    let bench = Bench::new();
    bench.on(DAY, "export archive -").fails(2, &["goes into a file", ".zip"]);
    assert!(!bench.folder().join("-").exists());
}

#[test]
fn a_sheet_that_is_gone_is_told_and_the_rest_comes() {
    let bench = full();
    let sheets = bench.folder().join("shelf.sheets");
    let sheet = sheets.join(&names(&sheets)[0]);
    fs::write(&sheet, "something else").unwrap();
    let told = bench.on(DAY, "--json export archive one.zip").json();
    assert!(told["notes"][0].as_str().unwrap().contains("is not the sheet that was attached"), "{told}");
    fs::remove_file(&sheet).unwrap();
    let ran = bench.on(DAY, "export archive two.zip");
    assert_eq!(ran.code, 1, "an archive without all that belongs to it is no yes: {ran:?}");
    let told = ran.stdout;
    assert!(told.contains("note:") && told.contains("left out"), "{told}");
    fs::create_dir(bench.folder().join("new")).unwrap();
    bench.on(DAY, "--register new/shelf.brimstock import archive two.zip").ok();
    assert!(!bench.folder().join("new/shelf.sheets").exists());
    fs::write(bench.folder().join("shelf.reagents/Odd name.toml"), "").unwrap();
    let odd = bench.on(DAY, "export archive three.zip");
    assert_ne!(odd.code, 0, "{odd:?}");
}
