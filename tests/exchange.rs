//! Whole commands of `export csv`, `export json` and `export schema`; what the schema covers; who may read what is written.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use boon::{Compiler, Schemas};
use brimstock::commands::export::csv::no_formula;
use brimstock::register::columns::{DERIVED, Kind, TABLES};
use brimstock::register::tables::fields;
use rusqlite::Connection;
use rusqlite::types::Value as Sql;
use serde_json::{Value, json};

use crate::harness::Bench;
use crate::own_reagents::MARSH_SALT;

pub const DAY: &str = "2031-03-20";

const SHEET: &[u8] = b"%PDF-1.4\nan invented sheet about an invented bottle\n%%EOF\n";

/// A register with rows in every table, and with everything beside it that can lie there.
pub fn full() -> Bench {
    static ENTERED: OnceLock<Bench> = OnceLock::new();
    let made = ENTERED.get_or_init(|| {
        let bench = Bench::new();
        let folder = bench.folder();
        fs::create_dir(folder.join("shelf.reagents")).unwrap();
        fs::write(folder.join("shelf.reagents/marsh-salt.toml"), MARSH_SALT).unwrap();
        fs::copy("demo/local.toml", folder.join("local.toml")).unwrap();
        fs::write(folder.join("sheet.pdf"), SHEET).unwrap();
        fs::write(folder.join("log.csv"), "time,temperature\n2031-03-02 12:00,-4.7\n2031-03-03 12:00,3.3\n").unwrap();
        fs::write(folder.join("plan.csv"), "date,lot,dip,bath\n2031-04-10,A1,peroxide-weak,10L\n").unwrap();
        for line in [
            "set kitchen us",
            "place add porch --summer 20 --winter=-5.5 --light sill --sun 4 --cabinet \"=locker\" --height 140 --around damp",
            "place log porch log.csv",
            "receive potassium-alum 1kg --at cupboard",
            "receive hydrogen-peroxide \"3 % w/v\" 5L --at cupboard --container clear-glass --wall 2.1mm --cap vented",
            "receive marsh-salt 1.1kg --at porch",
            "receive sodium-thiosulfate 1kg --at cupboard",
            "open HP-1",
            "note HP-1 swollen",
            "take PA-1 33.3g",
            "correct PA-1 2 --amount 33.4g --because=-misread",
            "correct PA-1 2 --amount 33.5g --because \"=1+1, he said\"",
            "decant HP-1 300mL --water 100mL --container amber-glass",
            "assay HP-1 oxygen-volume --gas 49mL --sample 5mL --temp 20C --altitude 100m",
            "sds attach HP-1 sheet.pdf --revised 2029-05-04",
            "measure add T10 vessel 10L",
            "measure add tbsp spoon 15mL",
            "measure add old spoon 5mL",
            "measure weigh tbsp --of potassium-alum 13.8g 13.9g",
            "measure retire old",
            "dips add alum-mild --name \"Alum soak, mild\" --reagent potassium-alum --low \"1.5 g/L\" --aim \"2 g/L\" --high \"2.5 g/L\" --minutes 24-48h --used-for \"snails, tried here\" --plants mosses --because \"the usual one browned moss\"",
            "dips sign alum-mild --who JM",
            "ready-for plan.csv --keep",
            "bathe start alum-short --bath 10L --lot A --kind mosses --at 09:00",
            "bathe stop A --at 12:00",
        ] {
            let ran = bench.on(DAY, line);
            assert!(ran.code < 2, "{line}: {ran:?}");
        }
        let because = "two\nlines, \"quoted\"";
        bench.run(&["--on", DAY, "correct", "PA-1", "2", "--amount", "33.6g", "--because", because]).ok();
        let register = Connection::open(bench.register()).unwrap();
        for table in TABLES {
            let rows: i64 =
                register.query_row(&format!("SELECT count(*) FROM {}", table.name), [], |row| row.get(0)).unwrap();
            assert!(rows > 0, "no row in {}", table.name);
        }
        bench
    });
    let bench = Bench::bare();
    copy_folder(made.folder(), bench.folder());
    bench
}

fn copy_folder(from: &Path, to: &Path) {
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let there = to.join(path.file_name().unwrap());
        if path.is_dir() {
            fs::create_dir(&there).unwrap();
            copy_folder(&path, &there);
        } else {
            fs::copy(&path, &there).unwrap();
        }
    }
}

/// What lies in a folder, sorted.
pub fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn validates(schema: &Value, data: &Value) -> bool {
    let mut compiler = Compiler::new();
    let mut schemas = Schemas::new();
    compiler.enable_format_assertions();
    compiler.add_resource("https://example.org/export.json", schema.clone()).unwrap();
    let index = compiler.compile("https://example.org/export.json", &mut schemas).unwrap();
    schemas.validate(data, index).is_ok()
}

fn rows_of(bench: &Bench, sql: &str) -> Vec<Vec<Sql>> {
    let register = Connection::open(bench.register()).unwrap();
    let mut statement = register.prepare(sql).unwrap();
    let width = statement.column_count();
    let rows = statement.query_map([], |row| (0..width).map(|place| row.get(place)).collect()).unwrap();
    rows.map(|row| row.unwrap()).collect()
}

#[test]
fn csv_is_rfc_4180_with_every_row_and_the_names_beside_the_numbers() {
    let bench = full();
    let answer = bench.on(DAY, "--json export csv tables").json();
    assert_eq!(names(&bench.folder().join("tables")).len(), TABLES.len());
    for table in TABLES {
        let path = bench.folder().join("tables").join(format!("{}.csv", table.name));
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.ends_with("\r\n") && !text.starts_with('\u{feff}'), "{}", table.name);
        let told =
            answer["files"].as_array().unwrap().iter().find(|file| file["name"] == format!("{}.csv", table.name));
        assert_eq!(told.unwrap()["bytes"], text.len());
        let mut reader = csv::ReaderBuilder::new().terminator(csv::Terminator::CRLF).from_reader(text.as_bytes());
        let head: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        assert_eq!(head, fields(table).iter().map(|field| field.name).collect::<Vec<_>>());
        let rows = rows_of(&bench, &format!("SELECT * FROM {} ORDER BY id", table.name));
        let entries: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(entries.len(), rows.len(), "{}", table.name);
        for (entry, row) in entries.iter().zip(&rows) {
            for (column, value) in table.columns.iter().zip(row) {
                let cell = &entry[head.iter().position(|name| name == column.field).unwrap()];
                match value {
                    Sql::Null => assert_eq!(cell, ""),
                    Sql::Integer(value) if column.kind == Kind::YesNo => assert_eq!(cell == "true", *value == 1),
                    Sql::Integer(value) => assert_eq!(cell.parse::<i64>().unwrap(), *value),
                    Sql::Real(value) => assert_eq!(cell.parse::<f64>().unwrap().to_bits(), value.to_bits()),
                    Sql::Text(text) => assert!(cell == text || cell == format!("'{text}"), "{cell}"),
                    Sql::Blob(_) => panic!("bytes"),
                }
            }
        }
    }
    let events = fs::read_to_string(bench.folder().join("tables/event.csv")).unwrap();
    assert!(events.contains("\"'=1+1, he said\"") && events.contains("'-misread"), "{events}");
    assert!(events.contains(",HP-1,noted,"), "{events}");
    let places = fs::read_to_string(bench.folder().join("tables/place_state.csv")).unwrap();
    assert!(places.contains(",porch,2031-03-20,20,-5.5,") && places.contains(",'=locker,"), "{places}");
}

#[test]
fn no_text_becomes_a_formula() {
    for text in ["=1", "+1", "-1", "@a", "\tx", "\rx"] {
        assert_eq!(no_formula(text), format!("'{text}"));
    }
    for text in ["", "a=1", " =1", "3 % w/v", "'=1"] {
        assert_eq!(no_formula(text), text);
    }
}

#[test]
fn csv_goes_into_an_empty_folder_and_over_an_earlier_export_only_when_told() {
    let bench = Bench::demo();
    let before = names(bench.folder());
    fs::create_dir(bench.folder().join("out")).unwrap();
    bench.on(DAY, "export csv out").ok();
    bench.on(DAY, "export csv out").fails(4, &["out", "is not empty", "--force"]);
    fs::write(bench.folder().join("out/event.csv"), "old").unwrap();
    bench.on(DAY, "export csv out --force").ok();
    assert_ne!(fs::read_to_string(bench.folder().join("out/event.csv")).unwrap(), "old");
    // Somebody else's file is never taken away with it.
    fs::write(bench.folder().join("out/holiday.csv"), "mine").unwrap();
    bench.on(DAY, "export csv out --force").fails(4, &["holds `holiday.csv`", "nothing was written"]);
    assert_eq!(fs::read_to_string(bench.folder().join("out/holiday.csv")).unwrap(), "mine");
    bench.on(DAY, "export csv shelf.brimstock --force").fails(4, &["is no folder"]);
    bench.on(DAY, "export csv nowhere/out").fails(4, &["its folder is not there"]);
    let mut after = names(bench.folder());
    after.retain(|name| name != "out");
    assert_eq!(after, before, "nothing else was left behind");
}

#[test]
fn json_tells_every_value_and_the_schema_says_so() {
    let bench = full();
    let answer = bench.on(DAY, "--json export json shelf.json").json();
    let text = fs::read_to_string(bench.folder().join("shelf.json")).unwrap();
    assert_eq!(answer["bytes"], text.len());
    let data: Value = serde_json::from_str(&text).unwrap();
    assert_eq!((&data["format"], &data["on"]), (&json!(1), &json!(DAY)));
    let mut all = 0;
    for table in TABLES {
        let rows = rows_of(&bench, &format!("SELECT * FROM {} ORDER BY id", table.name));
        let told = data["tables"][table.name].as_array().unwrap();
        assert_eq!(told.len(), rows.len());
        all += rows.len();
        for (entry, row) in told.iter().zip(&rows) {
            for (column, value) in table.columns.iter().zip(row) {
                let field = &entry[column.field];
                match value {
                    Sql::Null => assert!(field.is_null()),
                    Sql::Integer(value) if column.kind == Kind::YesNo => assert_eq!(field, &json!(*value == 1)),
                    Sql::Integer(value) => assert_eq!(field, &json!(value)),
                    Sql::Real(value) => assert_eq!(field.as_f64().unwrap().to_bits(), value.to_bits()),
                    Sql::Text(text) if field.is_string() => assert_eq!(field, text),
                    Sql::Text(text) => assert_eq!(*field, serde_json::from_str::<Value>(text).unwrap()),
                    Sql::Blob(_) => panic!("bytes"),
                }
            }
        }
    }
    assert_eq!(answer["rows"], all);
    assert_eq!(data["tables"]["event"][1]["stock"], "HP-1");
    // To standard output it is the same.
    assert_eq!(bench.on(DAY, "export json -").ok(), text);
    assert_eq!(bench.on(DAY, "--json export json -").ok(), text);
    let schema: Value = serde_json::from_str(&bench.run(&["export", "schema"]).ok()).unwrap();
    assert_eq!(bench.on(DAY, "--json export schema").json(), schema);
    assert!(validates(&schema, &data));
    assert!(validates(&schema, &serde_json::from_str(&Bench::new().on(DAY, "export json -").ok()).unwrap()));
    spoilt(&schema, &data);
}

/// Each of these is one thing that the schema must notice.
fn spoilt(schema: &Value, data: &Value) {
    let event = "/tables/event/0";
    for (pointer, value) in [
        ("/format", json!(2)),
        ("/what", json!("something else")),
        ("/on", json!("15.3.2031")),
        ("/tables/event", json!(null)),
        ("/tables/event/0/kind", json!("eaten")),
        ("/tables/event/0/amount", json!(-1.0)),
        ("/tables/event/0/amount", json!("33")),
        ("/tables/event/0/strength", json!(0.0)),
        ("/tables/event/0/amount_unit", json!("oz")),
        ("/tables/event/0/day", json!(null)),
        ("/tables/event/0/day", json!("2031-3-1")),
        ("/tables/event/0/entered_at", json!("2031-03-01")),
        ("/tables/event/0/id", json!(1.5)),
        ("/tables/event/0/happened", json!(1)),
        ("/tables/stock/0/code", json!("")),
        ("/tables/stock/0/code", json!("A-CODE-THAT-IS-TOO-LONG")),
        ("/tables/place_state/0/warmest_month", json!(13)),
        ("/tables/sheet/0/sha256", json!("ABC")),
        ("/tables/measure_weighing/0/grams", json!(["1"])),
        ("/tables/bench/0/content", json!("{}")),
    ] {
        let mut bad = data.clone();
        *bad.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = value.clone();
        assert!(!validates(schema, &bad), "{pointer}: {value}");
    }
    let mut bad = data.clone();
    bad.pointer_mut(event).unwrap().as_object_mut().unwrap().remove("note");
    assert!(!validates(schema, &bad), "a field that is missing");
    let mut bad = data.clone();
    bad.pointer_mut(event).unwrap()["colour"] = json!("blue");
    assert!(!validates(schema, &bad), "a field that is none");
    let mut bad = data.clone();
    bad["tables"]["seal"] = json!([]);
    assert!(!validates(schema, &bad), "a table that is none");
}

/// The words between quotation marks of a list in SQL.
fn words_of(list: &str) -> Vec<String> {
    list.split('\'').skip(1).step_by(2).map(str::to_owned).collect()
}

#[test]
fn every_table_column_word_and_bound_of_the_register_is_told() {
    let bench = Bench::new();
    let register = Connection::open(bench.register()).unwrap();
    let tables: BTreeSet<String> =
        rows_of(&bench, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%'")
            .into_iter()
            .map(|row| match &row[0] {
                Sql::Text(name) => name.clone(),
                other => panic!("{other:?}"),
            })
            .filter(|name| !DERIVED.contains(&name.as_str()))
            .collect();
    assert_eq!(TABLES.iter().map(|table| table.name.to_owned()).collect::<BTreeSet<_>>(), tables);
    for table in TABLES {
        let sql: String = register
            .query_row("SELECT sql FROM sqlite_schema WHERE name = ?1 AND type = 'table'", [table.name], |row| {
                row.get(0)
            })
            .unwrap();
        let mut info = register.prepare(&format!("PRAGMA table_info({})", table.name)).unwrap();
        let columns: Vec<(String, String, bool)> = info
            .query_map([], |row| Ok((row.get(1)?, row.get(2)?, row.get::<_, bool>(3)? || row.get::<_, bool>(5)?)))
            .unwrap()
            .map(Result::unwrap)
            .collect();
        assert_eq!(columns.len(), table.columns.len(), "{}", table.name);
        for ((name, kind, must), column) in columns.iter().zip(table.columns) {
            let what = format!("{}.{name}", table.name);
            assert_eq!((name.as_str(), !must), (column.name, column.may_be_empty), "{what}");
            assert!(column.about.ends_with('.') && column.about.len() > 5, "{what}: {}", column.about);
            let fits = match column.kind {
                Kind::Row | Kind::Of { .. } | Kind::Whole(..) | Kind::YesNo => kind == "INTEGER",
                Kind::Real { .. } => kind == "REAL",
                _ => kind == "TEXT",
            };
            assert!(fits, "{what}: {kind}");
            rules(&what, &sql, column.name, column.kind);
        }
        let all = fields(table);
        assert_eq!(all.iter().map(|field| field.name).collect::<BTreeSet<_>>().len(), all.len(), "{}", table.name);
    }
}

/// The checks that stand behind a column in SQL, against what is told of it.
fn rules(what: &str, sql: &str, name: &str, kind: Kind) {
    let line = sql.lines().map(str::trim).find(|line| line.starts_with(&format!("{name} "))).unwrap_or_else(|| {
        // A column that a later step has added stands behind the others.
        let behind = sql.rfind(&format!(" {name} ")).unwrap_or_else(|| panic!("{what}"));
        sql[behind..].split(", ").next().unwrap().trim()
    });
    let rule = line.split_once("CHECK (").map_or("", |(_, rule)| rule);
    let numbers =
        |text: &str| -> Vec<f64> { text.split([' ', ')', '(']).filter_map(|word| word.parse().ok()).collect() };
    if rule.contains(&format!("{name} IN (0")) {
        assert_eq!(kind, Kind::YesNo, "{what}");
    } else if rule.contains(&format!("{name} IN (")) {
        let Kind::Words(words) = kind else { panic!("{what}: {kind:?}") };
        assert_eq!(words, words_of(rule), "{what}");
    } else if rule.starts_with(&format!("length({name}) BETWEEN")) {
        let bounds = numbers(rule);
        assert_eq!(kind, Kind::Text(bounds[0] as u32, bounds[1] as u32), "{what}");
    } else if rule.starts_with(&format!("length({name}) > 0")) {
        assert_eq!(kind, Kind::Text(1, 0), "{what}");
    } else if rule.contains("'unknown'") {
        assert_eq!(kind, Kind::DayOrUnknown, "{what}");
    } else if rule.contains("GLOB") {
        assert_eq!(kind, if rule.contains('T') && rule.contains('Z') { Kind::Moment } else { Kind::Day }, "{what}");
    } else if rule.contains("json_valid") {
        assert!(matches!(kind, Kind::Numbers | Kind::List | Kind::Object | Kind::Objects), "{what}");
    } else if let Kind::Real { low, from, high } = kind {
        let bounds = numbers(rule);
        if rule.contains("BETWEEN low_c") {
            return;
        }
        assert_eq!((from, low), (rule.contains(">=") || rule.contains("BETWEEN"), bounds[0]), "{what}: {rule}");
        assert_eq!(high, bounds.get(1).copied().unwrap_or(f64::INFINITY), "{what}: {rule}");
    } else if let Kind::Whole(low, high) = kind
        && !rule.is_empty()
    {
        let bounds = numbers(rule);
        let least = if rule.contains("> 0") { 1 } else { bounds[0] as i64 };
        assert_eq!(low, least, "{what}: {rule}");
        assert!(high == i64::MAX || Some(&(high as f64)) == bounds.get(1) || high == low, "{what}: {rule}");
    }
}

#[test]
fn a_file_that_is_there_stays_unless_it_is_an_export() {
    let bench = Bench::demo();
    bench.on(DAY, "export json shelf.json").ok();
    bench.on(DAY, "export archive shelf.zip").ok();
    let register = fs::read(bench.register()).unwrap();
    for form in ["json shelf.json", "archive shelf.zip"] {
        bench.on(DAY, &format!("export {form}")).fails(4, &["is there already", "--force"]);
        bench.on("2031-03-21", &format!("export {form} --force")).ok();
    }
    assert!(fs::read_to_string(bench.folder().join("shelf.json")).unwrap().contains("2031-03-21"));
    for form in ["json shelf.brimstock", "archive shelf.brimstock", "json shelf.zip", "archive shelf.json"] {
        bench.on(DAY, &format!("export {form} --force")).fails(4, &["is no such export"]);
        bench.on(DAY, &format!("export {}", form.replace("shelf", "no/shelf"))).fails(4, &["its folder is not there"]);
    }
    bench.on(DAY, "export json . --force").fails(4, &["is no plain file"]);
    assert_eq!(fs::read(bench.register()).unwrap(), register);
    assert_eq!(names(bench.folder()), ["shelf.brimstock", "shelf.json", "shelf.zip"]);
}

#[test]
fn a_damaged_register_is_not_exported_as_if_it_were_sound() {
    let bench = Bench::demo();
    let register = Connection::open(bench.register()).unwrap();
    register.execute_batch("DROP TRIGGER event_keeps; UPDATE event SET amount = 3 WHERE kind = 'taken';").unwrap();
    drop(register);
    for form in ["csv out", "json out.json", "json -", "archive out.zip"] {
        bench.on(DAY, &format!("export {form}")).fails(4, &["does not read as it was written"]);
    }
    assert_eq!(names(bench.folder()), ["shelf.brimstock"]);
    let bare = Bench::bare();
    for form in ["csv out", "json out.json", "json -", "archive out.zip"] {
        bare.on(DAY, &format!("export {form}")).fails(4, &["there is no register"]);
    }
    assert!(names(bare.folder()).is_empty());
}

#[test]
fn what_is_sound_of_a_damaged_register_comes_out_and_the_rest_is_told() {
    let bench = Bench::demo();
    let all = read_json(&bench, "export json all.json", "all.json", 0).1;
    // Nothing is damaged: nothing is left out.
    let (told, same) = read_json(&bench, "export json same.json --sound-only", "same.json", 0);
    assert!(same == all && told["notes"] == json!([]));
    let sound = fs::read(bench.register()).unwrap();
    let tamper = |sql: &str| {
        fs::write(bench.register(), &sound).unwrap();
        Connection::open(bench.register()).unwrap().execute_batch(sql).unwrap();
    };

    // The journal of one stock, and the name of another.
    tamper(
        "DROP TRIGGER event_keeps; UPDATE event SET amount = 7 WHERE stock = 3 AND kind = 'taken'; \
         DROP TRIGGER stock_keeps; UPDATE stock SET code = 'S77' WHERE code = 'S02';",
    );
    for form in ["csv out", "json out.json", "json -", "archive out.zip"] {
        let words = ["nothing was exported", "`brimstock verify`", "`brimstock restore COPY`", "--sound-only"];
        let words = if form.starts_with("archive") { &words[1..] } else { &words[..] };
        bench.on(DAY, &format!("export {form}")).fails(4, words);
    }
    bench.on(DAY, "export json - --sound-only").fails(2, &["`-`", "name a file"]);
    bench.on(DAY, "export archive out.zip --sound-only").fails(2, &["unexpected argument"]);
    let (told, left) = read_json(&bench, "export json left.json --sound-only", "left.json", 1);
    let gone = |row: &Value| row["stock"] == "S03" || row["stock"] == "S02";
    let (mut wanted, mut lines) = (all.clone(), Vec::new());
    wanted["tables"]["stock"].as_array_mut().unwrap().retain(|row| row["code"] != "S03" && row["code"] != "S02");
    wanted["tables"]["event"].as_array_mut().unwrap().retain(|row| {
        lines.extend(gone(row).then(|| row["id"].as_u64().unwrap()));
        !gone(row)
    });
    assert_eq!(left, wanted);
    // By the demo's order of entry: stocks 2 and 3, and their journals.
    assert_eq!(lines, [3, 4, 5, 6, 20, 21, 23, 24, 25]);
    let notes = told["notes"].to_string();
    assert!(notes.contains("rows 2-3 of `stock` are left out"), "{notes}");
    assert!(notes.contains("rows 3-6, 20-21, 23-25 of `event` are left out"), "{notes}");
    let ran = bench.on(DAY, "export csv left --sound-only");
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(ran.stdout.contains("note: rows 2-3 of `stock` are left out"), "{ran:?}");
    assert_eq!(fs::read_to_string(bench.folder().join("left/stock.csv")).unwrap().lines().count(), 1 + 13);

    // Places: what must name one goes with them, and a journal keeps the number.
    tamper("DROP TRIGGER place_keeps; UPDATE place SET name = 'attic' WHERE id = 2;");
    let (told, left) = read_json(&bench, "export json places.json --sound-only", "places.json", 1);
    assert_eq!([&left["tables"]["place"], &left["tables"]["place_state"]], [&json!([]), &json!([])]);
    let mut wanted = all.clone();
    for table in ["place", "place_state"] {
        wanted["tables"][table] = json!([]);
    }
    for row in wanted["tables"]["event"].as_array_mut().unwrap() {
        row["place"] = Value::Null;
    }
    assert_eq!(left, wanted);
    let notes = told["notes"].to_string();
    assert!(notes.contains("rows 1-7 of `place_state` are left out: each names a row of `place`"), "{notes}");
    assert!(notes.contains("its name is left empty"), "{notes}");
}

#[test]
fn what_is_left_out_is_told_once_with_the_row_behind_which_nothing_reads() {
    let bench = Bench::demo();
    let sound = fs::read(bench.register()).unwrap();
    // Each page of SQLite's is 4096 bytes; the first after which a journal can no longer be read is looked for.
    let mut told_of = [0; 2];
    for page in 1..sound.len() / 4096 {
        let mut damaged = sound.clone();
        // Where the cells of the page lie (sqlite.org/fileformat.html, 1.6).
        damaged[page * 4096 + 8..page * 4096 + 16].fill(0xff);
        fs::write(bench.register(), &damaged).unwrap();
        let ran = bench.on(DAY, "--json export json left.json --force --sound-only");
        let notes = match ran.code {
            0 | 4 => continue,
            _ => ran.json()["notes"].clone(),
        };
        for note in notes.as_array().unwrap() {
            let note = note.as_str().unwrap();
            let why = note.split_once(": ").map_or("", |(_, why)| why);
            let parts: Vec<&str> = why.split("; ").collect();
            for (place, part) in parts.iter().enumerate() {
                assert!(!parts[..place].contains(part), "doubled: {note}");
            }
            // What SQLite says stands in brackets.
            let ours: String = why.split('(').map(|part| part.rsplit(')').next().unwrap()).collect();
            assert!(!ours.contains("malformed") && !ours.contains("SQLite"), "{note}");
            told_of[0] += usize::from(note.contains("behind row ") || note.contains("from the first row of "));
            told_of[1] += usize::from(note.contains("the journal of `"));
        }
        assert!(!notes.to_string().contains("name a row of `place_state`"), "nothing names one: {notes}");
    }
    assert!(told_of.iter().all(|count| *count > 0), "{told_of:?}");
}

#[test]
fn of_a_register_whose_head_is_damaged_all_that_is_sound_comes_out() {
    let bench = Bench::demo();
    let all = read_json(&bench, "export json all.json", "all.json", 0).1;
    let sound = fs::read(bench.register()).unwrap();
    // Fields of the head by sqlite.org/fileformat.html, 1.3: the magic string, the size of a page (to half of it), bytes kept
    // free, the number of pages, the format of the schema, the encoding, the level, the kind of file; then all of it.
    for (at, change) in [(3, 0xff), (16, 0x18), (20, 1), (30, 1), (47, 2), (59, 3), (63, 1), (63, 4), (63, 3), (70, 9)]
    {
        let mut damaged = sound.clone();
        damaged[at] ^= change;
        told_with_head(&bench, &damaged, &all);
    }
    let mut damaged = sound.clone();
    damaged[..100].fill(0);
    told_with_head(&bench, &damaged, &all);
    let hints = ["is not a brimstock register", "`brimstock restore COPY`", "--sound-only"];
    bench.on(DAY, "check S01").fails(4, &hints);
    bench.on(DAY, "export csv tables").fails(4, &hints);
    // What has no head of ours and no tables of ours stays what it is; so does a register of which too much is gone.
    let photo: Vec<u8> = (0..20_000_u32).map(|number| (number * 7 % 251) as u8).collect();
    fs::remove_file(bench.register()).unwrap();
    Connection::open(bench.register()).unwrap().execute_batch("CREATE TABLE cakes (name TEXT);").unwrap();
    let cakes = fs::read(bench.register()).unwrap();
    for (bytes, words) in [
        (&photo[..], "is not a brimstock register"),
        (&cakes, "is not a brimstock register"),
        (&sound[..3_000], "is damaged"),
        (&sound[..60], "is damaged"),
    ] {
        fs::write(bench.register(), bytes).unwrap();
        let hints = [words, "nothing of it can be read as a register", "`brimstock restore COPY`"];
        bench.on(DAY, "export csv tables --sound-only").fails(4, &hints);
        assert!(fs::read(bench.register()).unwrap() == bytes && !bench.folder().join("tables").exists());
    }
}

/// Everything comes out of a register with such a head, it is told, and the file stays as it is.
fn told_with_head(bench: &Bench, damaged: &[u8], all: &Value) {
    fs::write(bench.register(), damaged).unwrap();
    let (told, left) = read_json(bench, "export json left.json --sound-only --force", "left.json", 1);
    assert!(left == *all && told["notes"].to_string().contains("its first 100 bytes, is damaged"), "{told}");
    assert!(fs::read(bench.register()).unwrap() == damaged, "the file itself stays as it is");
}

/// What an export says, and the object that it has written.
fn read_json(bench: &Bench, line: &str, file: &str, code: i32) -> (Value, Value) {
    let ran = bench.on(DAY, &format!("--json {line}"));
    assert_eq!(ran.code, code, "{ran:?}");
    (ran.json(), serde_json::from_slice(&fs::read(bench.folder().join(file)).unwrap()).unwrap())
}

#[cfg(unix)]
#[test]
fn only_the_owner_may_read_what_is_written_whatever_the_mask() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::bare();
    fs::write(bench.folder().join("sheet.pdf"), SHEET).unwrap();
    let script = "umask 000; set -e; b=\"$0\"; \
        \"$b\" new; \"$b\" place add cupboard --temp 20 --light dark; \
        \"$b\" receive hydrogen-peroxide '3 % w/v' 500mL --at cupboard; \"$b\" sds attach HP-1 sheet.pdf; \
        \"$b\" backup; \"$b\" backup --to stick; \"$b\" export csv tables; \"$b\" export json shelf.json; \
        \"$b\" export archive shelf.zip; mkdir new; \"$b\" --register new/shelf.brimstock import archive shelf.zip; \
        \"$b\" restore shelf.copies/*.brimstock";
    let mut command = std::process::Command::new("sh");
    command.arg("-c").arg(script).arg(env!("CARGO_BIN_EXE_brimstock")).env_clear().env("PATH", "/usr/bin:/bin");
    command.env("HOME", bench.folder()).env("BRIMSTOCK_REGISTER", bench.register()).current_dir(bench.folder());
    let ran = command.output().unwrap();
    assert!(ran.status.success(), "{ran:?}");
    let mut files = Vec::new();
    all_files(bench.folder(), &mut files);
    files.retain(|path| !path.ends_with("sheet.pdf"));
    assert!(files.len() > TABLES.len() + 6, "{files:?}");
    for path in files {
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600, "{}", path.display());
    }
    for folder in ["tables", "shelf.copies", "stick", "shelf.sheets", "new/shelf.sheets"] {
        let mode = fs::metadata(bench.folder().join(folder)).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o700, "{folder}");
    }
}

fn all_files(folder: &Path, files: &mut Vec<std::path::PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { all_files(&path, files) } else { files.push(path) }
    }
}
