//! Whole commands of `verify`, `backup` and `restore`.

use std::fs;

use brimstock::register::event::{Entry, Event, What};
use brimstock::register::{Register, StoreError, Writing};
use rusqlite::Connection;

use crate::harness::Bench;
use crate::own_reagents::MARSH_SALT;

const DAY: &str = "2031-03-15";

fn stocked() -> Bench {
    let bench = Bench::new();
    bench.on(DAY, "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
    bench.on(DAY, "take HP-1 50mL").ok();
    bench
}

/// Changes a register behind the program's back.
fn tamper(bench: &Bench, sql: &str) {
    Connection::open(bench.register()).unwrap().execute_batch(sql).unwrap();
}

#[test]
fn a_sound_register_has_nothing_wrong() {
    let bench = stocked();
    let said = bench.on(DAY, "verify").ok();
    assert!(said.contains("nothing wrong in 1 stocks and 2 journal lines"), "{said}");
    let data = bench.on(DAY, "--json verify").json();
    assert_eq!(data["faults"], serde_json::json!([]));
    assert_eq!(data["lines"], 2);
}

#[test]
fn a_row_that_was_changed_is_named() {
    let bench = stocked();
    tamper(&bench, "DROP TRIGGER event_keeps; UPDATE event SET amount = 60 WHERE kind = 'taken';");
    let verified = bench.on(DAY, "--json verify");
    assert_eq!(verified.code, 1);
    assert!(verified.json()["faults"].to_string().contains("event:1"), "{verified:?}");
    bench.on(DAY, "check HP-1").fails(4, &["is damaged", "does not read as it was written"]);
    bench.on(DAY, "shelf").fails(4, &["is damaged"]);
    // A damaged one is not copied over the good ones.
    bench.on(DAY, "backup").fails(4, &["is damaged"]);
    assert!(fs::read_dir(bench.folder().join("shelf.copies")).unwrap().next().is_none());
}

#[test]
fn a_row_that_is_gone_is_missed() {
    let bench = stocked();
    tamper(&bench, "DROP TRIGGER event_stays; DELETE FROM event WHERE kind = 'taken';");
    assert_eq!(bench.on(DAY, "verify").code, 1);
    bench.on(DAY, "show HP-1").fails(4, &["1 rows, 2 were entered"]);
}

#[test]
fn what_names_nothing_is_named() {
    let bench = stocked();
    tamper(&bench, "PRAGMA foreign_keys = OFF; DROP TRIGGER event_keeps; UPDATE event SET place = 77 WHERE id = 1;");
    let said = bench.on(DAY, "--json verify").json()["faults"].to_string();
    assert!(said.contains("`place`") && said.contains("row 1 of `event`"), "{said}");
}

#[test]
fn a_journal_that_contradicts_itself_is_named() {
    let bench = stocked();
    tamper(&bench, "DROP TRIGGER event_keeps; UPDATE event SET amount = 600 WHERE kind = 'taken';");
    Register::open(&bench.register()).unwrap().seal_again().unwrap();
    let verified = bench.on(DAY, "verify");
    assert_eq!(verified.code, 1);
    assert!(verified.stdout.contains("HP-1"), "{verified:?}");
}

#[test]
fn damage_behind_a_checkpoint_is_seen_by_whatever_reads_all() {
    let bench = stocked();
    let mut register = Register::open(&bench.register()).unwrap();
    let day = DAY.parse().unwrap();
    let entered = |writing: &Writing<'_>| {
        let places = writing.places()?;
        let stock = writing.stock_called("HP-1")?.expect("it was received");
        for _ in 0..40 {
            let before = writing.journal(&stock, &places, day)?;
            let (number, entered_at) = (before.lines() + 1, format!("{DAY}T12:00:00Z"));
            let what = What::Event(Event::Taken { amount: 1.0 });
            let entry = Entry { id: 0, number, day, entered_at, written: String::new(), what };
            writing.append(&stock, "mL", before.and(entry), &places)?;
        }
        Ok::<(), StoreError>(())
    };
    register.write(entered).unwrap();
    drop(register);
    tamper(&bench, "DROP TRIGGER event_keeps; UPDATE event SET amount = 1.5 WHERE kind = 'taken' AND id < 8;");
    // An entry stands on the checkpoint, which has a seal of its own.
    bench.on(DAY, "take HP-1 1mL").ok();
    let verified = bench.on(DAY, "verify");
    assert!(verified.code == 1 && verified.stdout.contains("the journal of `HP-1`"), "{verified:?}");
    let words = ["is damaged", "the journal of `HP-1`", "does not read as it was written"];
    bench.on(DAY, "backup").fails(4, &words);
    bench.on(DAY, "show HP-1").fails(4, &words);
    bench.on(DAY, "export csv tables").fails(4, &words);
    // What it stood at is known by the checkpoint all the same: 500, less 50, 40 and 1.
    assert_eq!(bench.on(DAY, "--json check HP-1").json()["left"]["value"], 409.0);
}

#[test]
fn a_copy_is_dated_and_numbered_and_holds_what_was_there() {
    let bench = stocked();
    let said = bench.on(DAY, "backup").ok();
    assert!(said.contains("shelf-2031-03-15.brimstock"), "{said}");
    bench.on(DAY, "backup").ok();
    bench.on("2031-03-16", "take HP-1 50mL").ok();
    bench.on("2031-03-16", "backup").ok();
    let copies = bench.folder().join("shelf.copies");
    let mut names: Vec<String> =
        fs::read_dir(&copies).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(names, ["shelf-2031-03-15-2.brimstock", "shelf-2031-03-15.brimstock", "shelf-2031-03-16.brimstock"]);
    for name in &names {
        bench.on(DAY, &format!("verify shelf.copies/{name}")).ok();
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |path: &std::path::Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&copies), 0o700);
        assert_eq!(mode(&copies.join(&names[0])), 0o600);
    }
}

#[test]
fn old_copies_go_only_when_they_are_told_to_and_nothing_else_goes() {
    let bench = stocked();
    for day in ["2031-03-15", "2031-03-16", "2031-03-17"] {
        bench.on(day, "backup --to stick").ok();
    }
    let stick = bench.folder().join("stick");
    fs::write(stick.join("shelf-of-photos.brimstock"), "mine").unwrap();
    fs::write(stick.join("other-2031-01-01.brimstock"), "mine").unwrap();
    let said = bench.on("2031-03-18", "backup --to stick --keep 2").ok();
    assert!(said.contains("removed") && said.contains("2031-03-15"), "{said}");
    let left = fs::read_dir(&stick).unwrap().count();
    assert_eq!(left, 4, "two copies and two files of the keeper's");
    bench.on(DAY, "backup --keep 0").fails(2, &["--keep"]);
}

#[test]
fn a_copy_is_put_back_and_what_stood_there_is_kept() {
    let bench = stocked();
    bench.on(DAY, "backup").ok();
    bench.on("2031-03-16", "take HP-1 100mL").ok();
    let said = bench.on("2031-03-17", "restore shelf.copies/shelf-2031-03-15.brimstock").ok();
    assert!(said.contains("shelf-before-restore-2031-03-17"), "{said}");
    let left = |line: &str| bench.on("2031-03-17", line).json()["left"]["value"].clone();
    assert_eq!(left("--json show HP-1"), 450.0);
    assert_eq!(left("--json --register shelf.copies/shelf-before-restore-2031-03-17.brimstock show HP-1"), 350.0);
    // And back again.
    bench.on("2031-03-17", "restore shelf.copies/shelf-before-restore-2031-03-17.brimstock").ok();
    assert_eq!(left("--json show HP-1"), 350.0);
}

#[test]
fn a_ruined_register_is_replaced_and_kept() {
    let bench = stocked();
    bench.on(DAY, "backup").ok();
    fs::write(bench.register(), "this was a register once").unwrap();
    bench.on(DAY, "shelf").fails(4, &["is not a brimstock register"]);
    bench.on(DAY, "restore shelf.copies/shelf-2031-03-15.brimstock").ok();
    bench.on(DAY, "verify").ok();
    let kept = bench.folder().join("shelf.copies/shelf-before-restore-2031-03-15.brimstock");
    assert_eq!(fs::read_to_string(kept).unwrap(), "this was a register once");
}

#[test]
fn what_is_no_copy_is_not_put_back() {
    let bench = stocked();
    let before = fs::read(bench.register()).unwrap();
    fs::write(bench.folder().join("photo.brimstock"), "not a register").unwrap();
    bench.on(DAY, "restore photo.brimstock").fails(4, &["is not a brimstock register"]);
    bench.on(DAY, "restore nowhere.brimstock").fails(4, &["there is no copy"]);
    bench.on(DAY, "restore shelf.brimstock").fails(2, &["is the register itself"]);
    fs::copy(bench.register(), bench.folder().join("bad.brimstock")).unwrap();
    let bad = Connection::open(bench.folder().join("bad.brimstock")).unwrap();
    bad.execute_batch("DROP TRIGGER event_keeps; UPDATE event SET amount = 60 WHERE kind = 'taken';").unwrap();
    drop(bad);
    bench.on(DAY, "restore bad.brimstock").fails(4, &["is not put back", "nothing was changed"]);
    bench.on(DAY, "backup --to /dev/null").fails(4, &["no copy can be written into /dev/null"]);
    assert_eq!(fs::read(bench.register()).unwrap(), before);
    assert!(!bench.folder().join("shelf.copies").exists());
}

#[test]
fn a_copy_of_an_older_program_is_looked_at_and_put_back_and_stays_as_it_was() {
    let bench = Bench::bare();
    let old = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/registers/level-3.brimstock");
    fs::copy(&old, bench.folder().join("old.brimstock")).unwrap();
    bench.on(DAY, "verify old.brimstock").ok();
    bench.on(DAY, "restore old.brimstock").ok();
    bench.on(DAY, "verify").ok();
    assert_eq!(fs::read(bench.folder().join("old.brimstock")).unwrap(), fs::read(&old).unwrap());
    assert!(bench.on("2031-03-20", "shelf").ok().contains("HP-1"));
}

#[test]
fn a_version_of_a_dip_and_a_plan_that_are_none_are_named() {
    let bench = stocked();
    tamper(
        &bench,
        "INSERT INTO dip_version (dip, version, day, content, why, entered_at) VALUES ('alum-soak', 2, '2031-03-01', '{}', 'x', '2031-03-01T00:00:00Z');
         INSERT INTO plan (day, content, entered_at) VALUES ('2031-03-01', '[{\"date\": 7}]', '2031-03-01T00:00:00Z');",
    );
    Register::open(&bench.register()).unwrap().seal_again().unwrap();
    let said = bench.on(DAY, "--json verify").json()["faults"].to_string();
    assert!(said.contains("version 2 of the dip `alum-soak`") && said.contains("plan"), "{said}");
}

#[test]
fn of_many_copies_of_a_day_the_oldest_go_and_no_freed_name_is_taken_again() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive sodium-chloride 1kg --at cupboard").ok();
    let names = || {
        let entries = fs::read_dir(bench.folder().join("stick")).unwrap();
        let mut names: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    };
    for _ in 0..7 {
        bench.on("2031-03-02", "backup --to stick --keep 3").ok();
    }
    assert_eq!(
        names(),
        ["shelf-2031-03-02-5.brimstock", "shelf-2031-03-02-6.brimstock", "shelf-2031-03-02-7.brimstock"]
    );
    // A copy for an earlier day is the newest all the same.
    bench.on("2031-03-01", "backup --to stick --keep 2").ok();
    assert_eq!(names(), ["shelf-2031-03-01.brimstock", "shelf-2031-03-02-7.brimstock"]);
}

#[test]
fn what_lies_beside_a_register_is_told_when_it_is_copied() {
    let bench = Bench::new();
    assert!(!bench.on("2031-03-02", "backup").ok().contains("not in it"));
    fs::create_dir(bench.folder().join("shelf.reagents")).unwrap();
    let said = bench.on("2031-03-02", "backup").ok();
    assert!(said.contains("not in it: reagents of your own") && said.contains("export archive"), "{said}");
}

#[test]
fn a_register_whose_version_is_not_that_of_its_tables_is_called_damaged() {
    let bench = Bench::new();
    for version in [0, 2, 4, -3] {
        let register = rusqlite::Connection::open(bench.register()).unwrap();
        register.execute_batch(&format!("PRAGMA user_version = {version};")).unwrap();
        drop(register);
        let ran = bench.on("2031-03-02", "shelf");
        assert!(ran.stderr.len() < 500, "{}", ran.stderr);
        ran.fails(4, &["is damaged", "and its tables are not"]);
    }
}

#[test]
fn a_broken_reagent_file_does_not_stand_in_the_way_of_a_copy() {
    let bench = Bench::new();
    fs::create_dir(bench.folder().join("shelf.reagents")).unwrap();
    fs::write(bench.folder().join("shelf.reagents/odd.toml"), "key = 1").unwrap();
    bench.on("2031-03-02", "shelf").fails(3, &["odd.toml"]);
    bench.on("2031-03-02", "backup").ok();
    // What comes next is not a command that the broken file stops.
    let said = bench.on("2031-03-02", "restore shelf.copies/shelf-2031-03-02.brimstock").ok();
    let next = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let next = next.split("next: ").nth(1).expect("a next line");
    let check = "`brimstock reagents check ";
    assert!(next.contains("odd.toml") && next.find(check) < next.find("`brimstock verify`"), "{said}");
    let file = next.split(check).nth(1).and_then(|rest| rest.split('`').next()).expect("a file");
    assert_eq!(bench.on("2031-03-02", &format!("reagents check {file}")).code, 1, "it tells the faults");
    fs::remove_file(bench.folder().join("shelf.reagents/odd.toml")).unwrap();
    let said = bench.on("2031-03-02", "restore shelf.copies/shelf-2031-03-02.brimstock").ok();
    assert!(said.ends_with("next: `brimstock verify`\n"), "{said}");
}

#[test]
fn a_place_where_nothing_can_be_written_is_named_with_what_is_accepted() {
    let bench = stocked();
    fs::write(bench.folder().join("file"), "").unwrap();
    let mut places = vec![("file", "it is a file, not a folder"), ("file/within", "a file, not a folder")];
    if cfg!(target_os = "linux") {
        // The kernel's own folder says of a new file that there is none (proc(5)).
        places.push(("/proc", "the system lets nobody make anything there"));
        places.push(("/proc/new", "the system lets nobody make anything there"));
        let made = |line: &str| bench.on(DAY, line).fails(4, &["/proc/", "the system lets nobody make anything there"]);
        made("export json /proc/shelf.json");
        made("export csv /proc/tables");
        made("card shelf --out /proc/shelf.pdf");
        made("new --register /proc/new.brimstock");
    }
    for (to, why) in places {
        let what = format!("no copy can be written into {to}: ");
        bench
            .on(DAY, &format!("backup --to {to}"))
            .fails(4, &[&what, why, "accepted: a folder", "`brimstock backup --to FOLDER`"]);
    }
}

#[test]
fn a_broken_reagent_file_is_a_fault_of_its_own_and_the_register_is_looked_through() {
    let bench = stocked();
    let folder = bench.folder().join("shelf.reagents");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("marsh-salt.toml"), MARSH_SALT).unwrap();
    bench.on(DAY, "receive marsh-salt 1kg --at cupboard --code M1").ok();
    bench.on(DAY, "verify").ok();
    fs::write(folder.join("odd.toml"), "key = 1").unwrap();
    let ran = bench.on(DAY, "verify");
    assert_eq!(ran.code, 3, "{ran:?}");
    assert!(ran.stdout.contains("odd.toml") && ran.stdout.contains("brimstock reagents check"), "{ran:?}");
    // The other file is right: its stock is known, and the register itself has no fault.
    assert!(!ran.stdout.contains("M1") && !ran.stdout.contains("restore"), "{ran:?}");
    let told = bench.on(DAY, "--json verify").json();
    assert_eq!((&told["stocks"], &told["lines"]), (&serde_json::json!(2), &serde_json::json!(3)));
    // Both at once.
    tamper(&bench, "DROP TRIGGER event_keeps; UPDATE event SET amount = 60 WHERE kind = 'taken';");
    let ran = bench.on(DAY, "verify");
    assert_eq!(ran.code, 3, "{ran:?}");
    for word in ["odd.toml", "the journal of `HP-1`", "restore"] {
        assert!(ran.stdout.contains(word), "`{word}`: {ran:?}");
    }
}

#[test]
fn what_takes_the_registers_place_and_what_stood_there_are_told() {
    let bench = stocked();
    bench.on(DAY, "backup").ok();
    bench.on("2031-03-16", "receive sodium-chloride 1kg --at cupboard").ok();
    let told = |said: String| said.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = told(bench.on("2031-03-17", "restore shelf.copies/shelf-2031-03-15.brimstock").ok());
    assert!(
        said.contains("register: 1 stock with 2 journal lines, the last day 2031-03-15; what stood there"),
        "{said}"
    );
    assert!(said.contains("(2 stocks with 3 journal lines, the last day 2031-03-16) is kept as"), "{said}");
    fs::write(bench.register(), "ruined").unwrap();
    let said = told(bench.on("2031-03-17", "restore shelf.copies/shelf-2031-03-15.brimstock").ok());
    assert!(said.contains("what stood there (which cannot be read) is kept as"), "{said}");
    fs::remove_file(bench.register()).unwrap();
    let said = told(bench.on("2031-03-17", "restore shelf.copies/shelf-2031-03-15.brimstock").ok());
    assert!(said.contains("nothing stood there before"), "{said}");
}

#[test]
fn what_is_named_as_a_copy_and_is_none_is_told_for_what_it_is() {
    let bench = stocked();
    bench.on(DAY, "export archive shelf.zip").ok();
    fs::create_dir(bench.folder().join("folder")).unwrap();
    fs::write(bench.folder().join("empty.brimstock"), "").unwrap();
    for verb in ["restore", "verify"] {
        bench
            .on(DAY, &format!("{verb} gone.brimstock"))
            .fails(4, &["there is no copy at", "no copies", "`brimstock backup`"]);
        bench.on(DAY, &format!("{verb} shelf.zip")).fails(4, &["is a zip file", "import archive shelf.zip"]);
        bench.on(DAY, &format!("{verb} folder")).fails(4, &["is a folder"]);
        bench.on(DAY, &format!("{verb} empty.brimstock")).fails(4, &["is empty"]);
    }
    bench.on(DAY, "backup").ok();
    bench.on(DAY, "restore gone.brimstock").fails(4, &["the newest copy here is", "shelf-2031-03-15.brimstock"]);
    // A register or an archive where a list or an archive is wanted.
    bench.on(DAY, "import csv shelf.brimstock").fails(2, &["is a register, not a list", "`brimstock restore"]);
    bench.on(DAY, "import csv shelf.zip").fails(2, &["is a zip file, not a list", "import archive shelf.zip"]);
    bench
        .on(DAY, "--register new.brimstock import archive shelf.brimstock")
        .fails(4, &["is a register, not an archive"]);
}

#[test]
fn no_error_is_told_in_the_systems_own_words() {
    let bench = stocked();
    fs::write(bench.folder().join("file"), "").unwrap();
    let zip = {
        bench.on(DAY, "export archive shelf.zip").ok();
        fs::read(bench.folder().join("shelf.zip")).unwrap()
    };
    fs::write(bench.folder().join("cut.zip"), &zip[..zip.len() / 2]).unwrap();
    for (line, words) in [
        ("import csv gone.csv", "there is no such file"),
        ("import csv .", "it is a folder"),
        ("import archive gone.zip --register new.brimstock", "there is no such file"),
        ("import archive cut.zip --register new.brimstock", "its end is cut off"),
        ("--register file/shelf.brimstock shelf", "a file, not a folder"),
        ("export json file/out.json", "a file, not a folder"),
        ("export json gone/out.json", "its folder is not there"),
        ("new --register gone/new.brimstock", "its folder is not there"),
        ("import archive shelf.zip --register gone/new.brimstock", "its folder is not there"),
        ("place log cupboard gone.csv", "there is no such file"),
        ("sds attach HP-1 gone.pdf", "there is no such file"),
        ("backup --to file", "it is a file, not a folder"),
        ("ready-for gone.csv", "there is no such file"),
        ("reagents check gone.toml", "there is no such file"),
    ] {
        let ran = bench.on(DAY, line);
        assert_eq!(ran.code, 4, "{line}: {ran:?}");
        assert!(ran.stderr.contains(words), "{line}: {ran:?}");
        assert!(
            !ran.stderr.contains("os error") && !ran.stderr.contains("SQLite") && !ran.stderr.contains("EOCD"),
            "{line}: {ran:?}"
        );
    }
}
