//! Registers that earlier programs wrote: each opens, answers as it did, and is sound afterwards.
//!
//! `registers/level-1.brimstock` was written by the program of commit 0092d4e; `registers/level-1.json` is what that program
//! said of it with `show --json` and `place list --json` on the day that stands in it. `registers/level-2` in the same way, by
//! the program of commit 32d094e, `registers/level-3` by one whose register was still that of commit 288e8f2, and
//! `registers/level-4` by that of commit 86bc89c, `registers/level-5` by that of commit 1045dfe.

use std::fs;
use std::path::Path;

use rusqlite::Connection;
use serde_json::Value;

use crate::harness::Bench;

/// A copy of an old register, and what its own program said of it.
fn old(level: &str) -> (Bench, Value) {
    let bench = Bench::bare();
    let registers = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/registers");
    fs::copy(registers.join(format!("{level}.brimstock")), bench.register()).unwrap();
    let said = fs::read_to_string(registers.join(format!("{level}.json"))).unwrap();
    (bench, serde_json::from_str(&said).unwrap())
}

fn all(register: &Connection, sql: &str) -> Vec<String> {
    let mut statement = register.prepare(sql).unwrap();
    let rows = statement.query_map([], |row| row.get::<_, rusqlite::types::Value>(0)).unwrap();
    rows.map(|row| format!("{:?}", row.unwrap())).collect()
}

/// What was told, with a chance of less than a billionth as none: what subtraction leaves of nothing is no answer to hold to.
fn told(value: &Value) -> Value {
    match value {
        Value::Object(fields) => {
            let field = |(name, value): (&String, &Value)| match value.as_f64() {
                Some(chance) if name == "chance" && chance.abs() < 1e-9 => (name.clone(), Value::from(0.0)),
                _ => (name.clone(), told(value)),
            };
            Value::Object(fields.iter().map(field).collect())
        }
        Value::Array(values) => Value::Array(values.iter().map(told).collect()),
        other => other.clone(),
    }
}

fn version(bench: &Bench) -> i64 {
    let register = Connection::open(bench.register()).unwrap();
    register.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap()
}

#[test]
fn a_register_of_level_1_tells_every_journal_line_and_amount_as_before() {
    let (bench, said) = old("level-1");
    let day = said["on"].as_str().unwrap();
    assert_eq!(version(&bench), 1);
    let stocks = said["stocks"].as_object().unwrap();
    assert_eq!(stocks.len(), 7);
    for (code, before) in stocks {
        let ran = bench.on(day, &format!("--json show {code}"));
        assert_eq!(ran.code, 0, "{ran:?}");
        let now = ran.json();
        let (lines, lines_before) = (now["journal"].as_array().unwrap(), before["journal"].as_array().unwrap());
        assert_eq!(lines.len(), lines_before.len(), "{code}");
        for (line, line_before) in lines.iter().zip(lines_before) {
            assert_eq!(line, line_before, "{code}");
        }
        for field in ["reagent", "label", "left", "place", "condition", "retired"] {
            assert_eq!(told(&now[field]), told(&before[field]), "{code}: {field}");
        }
        for field in ["label_g_per_l", "label_g_per_kg"] {
            assert_eq!(now["strength"][field], before[field], "{code}: {field}");
        }
    }
    let places = bench.on(day, "--json place list").json();
    for (now, before) in places["places"].as_array().unwrap().iter().zip(said["places"].as_array().unwrap()) {
        for (field, value) in before.as_object().unwrap() {
            assert_eq!(&now[field], value, "{field}: {now}");
        }
    }
}

#[test]
fn a_register_of_level_2_tells_every_strength_and_journal_line_as_before() {
    let (bench, said) = old("level-2");
    let day = said["on"].as_str().unwrap();
    assert_eq!(version(&bench), 2);
    let stocks = said["stocks"].as_object().unwrap();
    assert_eq!(stocks.len(), 6);
    for (code, before) in stocks {
        let now = bench.on(day, &format!("--json show {code}")).json();
        let mut before = before.clone();
        if code == "purple" {
            // That program halved its way past two days on which it would itself have said `test first`; this one ends before.
            let until = &mut before["dips"][1]["until"];
            assert_eq!(std::mem::replace(until, "2031-04-28".into()), "2031-05-01");
            let then = bench.on("2031-04-29", "--json show purple").json();
            assert_eq!(then["dips"][1]["verdict"], "test first");
        }
        for field in ["reagent", "label", "strength", "left", "place", "condition", "retired", "dips", "journal"] {
            assert_eq!(told(&now[field]), told(&before[field]), "{code}: {field}");
        }
    }
    let places = bench.on(day, "--json place list").json();
    for (now, before) in places["places"].as_array().unwrap().iter().zip(said["places"].as_array().unwrap()) {
        for (field, value) in before.as_object().unwrap() {
            assert_eq!(&now[field], value, "{field}: {now}");
        }
    }
}

#[test]
fn a_register_of_level_3_tells_every_strength_journal_line_sheet_and_dose_as_before() {
    let (bench, said) = old("level-3");
    let day = said["on"].as_str().unwrap();
    assert_eq!(version(&bench), 3);
    let stocks = said["stocks"].as_object().unwrap();
    assert_eq!(stocks.len(), 6);
    for (code, before) in stocks {
        let now = bench.on(day, &format!("--json show {code}")).json();
        for field in ["reagent", "label", "strength", "left", "place", "condition", "retired", "dips", "journal", "gas"]
        {
            assert_eq!(told(&now[field]), told(&before[field]), "{code}: {field}");
        }
        assert_eq!(now["sheet"]["digest"], before["sheet"]["digest"], "{code}");
    }
    assert_eq!(bench.on(day, "--json place list").json()["places"], said["places"]);
    let dose = bench.on(day, "--json dose peroxide-weak --bath 4L").json();
    for (field, value) in said["dose"].as_object().unwrap().iter().filter(|(field, _)| *field != "doses") {
        assert_eq!(told(&dose[field]), told(value), "{field}");
    }
    for field in ["stock", "value", "unit", "measure"] {
        assert_eq!(dose["doses"][0][field], said["dose"]["doses"][0][field], "{field}");
    }
}

#[test]
fn a_register_of_level_4_tells_every_strength_measure_and_dose_as_before() {
    let (bench, said) = old("level-4");
    let day = said["on"].as_str().unwrap();
    assert_eq!(version(&bench), 4);
    let stocks = said["stocks"].as_object().unwrap();
    assert_eq!(stocks.len(), 4);
    for (code, before) in stocks {
        let now = bench.on(day, &format!("--json show {code}")).json();
        for field in ["reagent", "label", "strength", "left", "place", "condition", "retired", "dips", "journal", "gas"]
        {
            // That program counted a bottle out in ten and more spoonfuls; this one takes a jug for it.
            if (code.as_str(), field) != ("HP-1", "dips") {
                assert_eq!(told(&now[field]), told(&before[field]), "{code}: {field}");
            }
        }
    }
    assert_eq!(bench.on(day, "--json place list").json()["places"], said["places"]);
    assert_eq!(bench.on(day, "--json measure list").json()["measures"], said["measures"]);
    let dose = bench.on(day, "--json dose alum-soak --in T10 --using tbsp").json();
    for (field, value) in said["dose"].as_object().unwrap() {
        assert_eq!(told(&dose[field]), told(value), "{field}");
    }
}

#[test]
fn a_register_of_level_5_tells_every_bath_lot_and_due_matter_as_before() {
    let (bench, said) = old("level-5");
    let day = said["on"].as_str().unwrap();
    assert_eq!(version(&bench), 5);
    let stocks = said["stocks"].as_object().unwrap();
    assert_eq!(stocks.len(), 4);
    for (code, before) in stocks {
        assert_eq!(&bench.on(day, &format!("--json show {code}")).json(), before, "{code}");
    }
    assert_eq!(bench.on(day, "--json place list").json()["places"], said["places"]);
    assert_eq!(bench.on(day, "--json measure list").json()["measures"], said["measures"]);
    for (line, before) in [
        ("dose alum-soak --in T10 --using tbsp", "dose"),
        ("bathe list", "bathe"),
        ("bathe show A1", "lot"),
        ("due", "due"),
    ] {
        assert_eq!(bench.on(day, &format!("--json {line}")).json(), said[before], "{line}");
    }
    assert_eq!(said["lot"]["looks"].as_array().unwrap().len(), 1);
}

#[test]
fn registers_of_earlier_levels_are_sound_after_they_were_opened() {
    ["level-1", "level-2", "level-3", "level-4", "level-5"].into_iter().for_each(is_sound);
}

fn is_sound(level: &str) {
    let (bench, said) = old(level);
    bench.on(said["on"].as_str().unwrap(), "shelf").ok();
    assert_eq!(version(&bench), 6);
    let register = Connection::open(bench.register()).unwrap();
    assert_eq!(all(&register, "PRAGMA integrity_check"), ["Text(\"ok\")"]);
    assert_eq!(all(&register, "PRAGMA foreign_key_check"), Vec::<String>::new());
    // An old one and a new one have the same tables, columns and rules.
    let new = Bench::new();
    let fresh = Connection::open(new.register()).unwrap();
    let schema = "SELECT type || ' ' || name || ' ' || coalesce(sql, '') FROM sqlite_schema ORDER BY 1";
    assert_eq!(all(&register, schema), all(&fresh, schema));
}

#[test]
fn a_line_without_readings_is_sound_to_an_older_sqlite_too() {
    // Older SQLite takes `json_valid(NULL)` as 0: there a check on it alone calls every line without readings damaged.
    let bench = Bench::demo();
    let register = Connection::open(bench.register()).unwrap();
    for table in all(&register, "SELECT sql FROM sqlite_schema WHERE sql LIKE '%json_valid%'") {
        assert!(table.contains("IS NULL OR json_valid"), "{table}");
    }
}

#[test]
fn an_old_register_takes_every_new_entry() {
    let (bench, said) = old("level-1");
    let day = said["on"].as_str().unwrap();
    for line in [
        "note HP-2 swollen",
        "decant HP-1 100mL --water 100mL --container amber-glass",
        "correct HP-2 1 --container opaque-plastic --made unknown --because \"looked again\"",
        "assay HP-1 oxygen-volume --gas 49mL --sample 5mL --temp 20C --altitude 100m",
        "place set sill --light sill --sun 4",
        "measure add tbsp spoon 15mL",
        "measure weigh tbsp --of potassium-alum 13.8g",
        "receive hydrogen-peroxide \"3 % w/v\" 1L --at sill --container clear-glass --wall 2mm --diameter 8cm",
    ] {
        bench.on(day, line).ok();
    }
    fs::write(bench.folder().join("log.csv"), "time,temperature\n2031-03-18 12:00,19\n2031-03-19 12:00,20\n").unwrap();
    bench.on(day, "place log cupboard log.csv").ok();
    bench.on(day, "--json show HP-1").ok();
    let register = Connection::open(bench.register()).unwrap();
    assert_eq!(all(&register, "PRAGMA integrity_check"), ["Text(\"ok\")"]);
    assert_eq!(all(&register, "PRAGMA foreign_key_check"), Vec::<String>::new());
    // The journal is still kept from being rewritten.
    for sql in
        ["UPDATE event SET amount = 1", "DELETE FROM event", "DELETE FROM place_log", "UPDATE place_day SET mean_c = 1"]
    {
        assert!(register.execute(sql, []).is_err(), "{sql}");
    }
}

#[test]
fn settings_of_an_old_register_hold() {
    let (bench, said) = old("level-1");
    let day = said["on"].as_str().unwrap();
    let answer = bench.on(day, "--json dose peroxide-rinse --bath \"1 gal\"").json();
    assert_eq!(answer["bath_l"], 4.54609, "{answer}");
}

#[test]
fn a_register_of_a_newer_level_is_refused_and_left_alone() {
    let (bench, said) = old("level-1");
    let day = said["on"].as_str().unwrap();
    Connection::open(bench.register()).unwrap().execute_batch("PRAGMA user_version = 99").unwrap();
    let before = fs::read(bench.register()).unwrap();
    for line in ["shelf", "open HP-2", "check HP-1 --svg hp.svg"] {
        bench.on(day, line).fails(4, &["newer", "99"]);
    }
    assert_eq!(before, fs::read(bench.register()).unwrap());
    assert!(!bench.folder().join("hp.svg").exists());
}

#[test]
fn an_old_register_that_may_not_be_written_is_not_half_changed() {
    let (bench, said) = old("level-1");
    let day = said["on"].as_str().unwrap();
    let before = fs::read(bench.register()).unwrap();
    // Another program holds it: the new one waits, gives up, and has changed nothing.
    let other = Connection::open(bench.register()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    bench.on(day, "shelf").fails(4, &["shelf.brimstock", "for more than 5 seconds", "a long import", "try again"]);
    other.execute_batch("ROLLBACK").unwrap();
    drop(other);
    assert_eq!(before, fs::read(bench.register()).unwrap());
    bench.on(day, "shelf").ok();
}

/// An old register must be brought up to date before it is asked: where that may not be done, it is said what to do.
#[cfg(unix)]
#[test]
fn an_old_register_in_a_folder_that_may_only_be_read_is_told_with_what_to_do() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    let (bench, said) = old("level-5");
    let mode = |mode: u32| fs::set_permissions(bench.folder(), fs::Permissions::from_mode(mode)).unwrap();
    fs::set_permissions(bench.register(), fs::Permissions::from_mode(0o444)).unwrap();
    mode(0o555);
    let mut command = bench.command();
    command.args(["--on", said["on"].as_str().unwrap(), "shelf"]);
    if fs::metadata(bench.folder()).unwrap().uid() == 0 {
        // Nothing is closed to the system's keeper: somebody else asks, whom the program's own folder may not let in.
        command.uid(65534);
    }
    let ran = command.output();
    mode(0o755);
    let Ok(ran) = ran else { return };
    let told = String::from_utf8(ran.stderr).unwrap();
    assert_eq!(ran.status.code(), Some(4), "{told}");
    for words in ["it is of version 5", "brought up to date", "copy it to where you may write"] {
        assert!(told.contains(words), "{words}: {told}");
    }
}

#[test]
fn a_damaged_register_of_a_sealed_level_is_told_and_never_sealed_as_it_is() {
    let (bench, said) = old("level-5");
    let day = said["on"].as_str().unwrap();
    let register = Connection::open(bench.register()).unwrap();
    let change = "DROP TRIGGER event_keeps; UPDATE event SET amount = amount + 7 WHERE stock = 1 AND kind = 'taken';";
    register.execute_batch(change).unwrap();
    drop(register);
    let damaged = fs::read(bench.register()).unwrap();
    fs::copy(bench.register(), bench.folder().join("copy.brimstock")).unwrap();
    let words = ["is damaged", "the journal of `HP-1`", "does not read as it was written", "--sound-only"];
    for line in ["shelf", "show HP-1", "verify", "backup", "export json all.json"] {
        bench.on(day, line).fails(4, &words);
    }
    bench.on(day, "verify copy.brimstock").fails(4, &words[..3]);
    bench.on(day, "--register other.brimstock restore copy.brimstock").fails(4, &words[..3]);
    // What is sound of it comes out, by the seals that it had.
    let ran = bench.on(day, "--json export json left.json --sound-only");
    assert_eq!(ran.code, 1, "{ran:?}");
    let notes = ran.json()["notes"].to_string();
    assert!(notes.contains("is of an earlier version") && notes.contains("the journal of `HP-1`"), "{notes}");
    let left: Value = serde_json::from_slice(&fs::read(bench.folder().join("left.json")).unwrap()).unwrap();
    let (sound, _) = old("level-5");
    sound.on(day, "export json all.json").ok();
    let mut all: Value = serde_json::from_slice(&fs::read(sound.folder().join("all.json")).unwrap()).unwrap();
    all["tables"]["event"].as_array_mut().unwrap().retain(|row| row["stock"] != "HP-1");
    for table in ["event", "stock", "place", "bench", "measure"] {
        assert_eq!(left["tables"][table], all["tables"][table], "{table}");
    }
    assert!(fs::read(bench.register()).unwrap() == damaged, "the file itself stays as it is");
}
