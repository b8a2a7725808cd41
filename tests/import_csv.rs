//! Whole commands of `import csv`: every way to write a list, every fault by its row, all of it or nothing.

use std::fs;

use serde_json::Value;

use crate::harness::{Bench, Ran};

const DAY: &str = "2031-03-10";

const SHELF: &[u8] = include_bytes!("import/shelf.csv");

/// A register with two places, and no stock.
fn bench() -> Bench {
    let bench = Bench::new();
    bench.on("2030-01-01", "place add porch --temp 10 --light dark").ok();
    bench
}

/// The answer to an import of some bytes, with further words of the command.
fn import(bench: &Bench, bytes: &[u8], more: &str) -> Ran {
    fs::write(bench.folder().join("list.csv"), bytes).unwrap();
    bench.on(DAY, &format!("--json import csv list.csv {more}"))
}

/// The stocks of an import that must have been accepted.
#[track_caller]
fn stocks(bench: &Bench, bytes: &[u8], more: &str) -> Vec<Value> {
    let ran = import(bench, bytes, more);
    assert_eq!(ran.code, 0, "{ran:?}");
    ran.json()["stocks"].as_array().unwrap().clone()
}

/// The faults of an import that must have been refused: row, column, problem and what is accepted in one text.
#[track_caller]
fn faults(bench: &Bench, bytes: &[u8], more: &str) -> Vec<(u64, String, String)> {
    let before = fs::read(bench.register()).unwrap();
    let ran = import(bench, bytes, more);
    assert_eq!((ran.code, ran.stdout.as_str()), (2, ""), "{ran:?}");
    assert!(before == fs::read(bench.register()).unwrap(), "a refusal left a trace");
    let error: Value = serde_json::from_str(&ran.stderr).unwrap_or_else(|error| panic!("{error}: {ran:?}"));
    let rows = error["error"]["rows"].as_array().cloned().unwrap_or_default();
    let text = |row: &Value, key: &str| row[key].as_str().unwrap().to_owned();
    rows.iter()
        .map(|row| {
            let said = format!("{} | {} | {}", text(row, "value"), text(row, "problem"), text(row, "accepted"));
            (row["row"].as_u64().unwrap(), text(row, "column"), said)
        })
        .collect()
}

/// Each expected fault is among the found ones, and there are no others.
#[track_caller]
fn are(found: &[(u64, String, String)], wanted: &[(u64, &str, &str)]) {
    for (row, column, words) in wanted {
        let is_there = found.iter().any(|(r, c, said)| r == row && c == column && said.contains(words));
        assert!(is_there, "row {row}, {column}: `{words}` is missing in {found:#?}");
    }
    assert_eq!(found.len(), wanted.len(), "{found:#?}");
}

/// A list with the usual columns.
fn usual(rows: &str) -> Vec<u8> {
    format!("reagent,strength,amount,place,received\n{rows}").into_bytes()
}

#[test]
fn a_list_becomes_stocks_with_their_journals() {
    let bench = bench();
    let before = fs::read(bench.register()).unwrap();
    let dry = import(&bench, SHELF, "--dry-run").json();
    assert!(before == fs::read(bench.register()).unwrap(), "a dry run left a trace");
    let answer = import(&bench, SHELF, "").json();
    assert_eq!((dry["dry_run"].as_bool(), answer["dry_run"].as_bool()), (Some(true), Some(false)));
    for key in ["file", "separator", "columns", "left_out", "stocks", "assumed", "warnings"] {
        assert_eq!(dry[key], answer[key], "{key}");
    }
    assert_eq!(answer["separator"], "semicolon");
    let stocks = answer["stocks"].as_array().unwrap();
    let of = |index: usize, key: &str| stocks[index][key].clone();
    let rows: Vec<u64> = stocks.iter().map(|stock| stock["row"].as_u64().unwrap()).collect();
    assert_eq!(rows, [2, 3, 4, 6, 7, 8], "the blank line counts");
    let codes: Vec<&str> = stocks.iter().map(|stock| stock["stock"].as_str().unwrap()).collect();
    assert_eq!(codes[..3], ["HP-1", "PA-7", "CH-1"]);
    assert_eq!(of(0, "left")["value"], 320.0);
    assert_eq!((of(0, "opened"), of(0, "made")), ("2030-03-08".into(), "2030-01-15".into()));
    assert_eq!(of(1, "amount")["value"], 2500.0);
    assert_eq!((of(2, "made"), of(2, "hold")), ("unknown".into(), "smells odd; ask".into()));
    // 65 % available chlorine, 142.98 g/mol of hypochlorite to 2 × 70.90 g/mol of chlorine: 65.54 %.
    let chlorine = of(2, "label")["value"].as_f64().unwrap();
    assert!((chlorine - 65.0 * 142.98 / 141.80).abs() < 0.02, "{chlorine}");
    assert_eq!(of(4, "left")["value"], 0.0);
    assert_eq!((of(5, "amount")["value"].as_f64(), of(5, "received")), (Some(453.592), "2030-04-05".into()));
    let said = answer["warnings"].to_string();
    assert!(said.contains("calcium hypochlorite and bleach"), "{said}");
    let shown = bench.on(DAY, "--json show HP-1").json();
    let journal: Vec<&str> =
        shown["journal"].as_array().unwrap().iter().map(|line| line["event"].as_str().unwrap()).collect();
    assert_eq!(journal, ["received", "opened", "noted", "counted"]);
    assert!(bench.on(DAY, "show HP-1").ok().contains("opaque-plastic, vented cap, made on 2030-01-15"));
    bench.on(DAY, "verify").ok();
    // The same list once more is entered by nobody.
    let again = faults(&bench, SHELF, "");
    assert_eq!(again.iter().filter(|(_, column, _)| column == "(whole row)").count(), 6, "{again:#?}");
    let again = faults(&bench, SHELF, "--allow-duplicates");
    assert!(again.iter().any(|(row, _, said)| *row == 2 && said.contains("`HP-1` in the register")), "{again:#?}");
    // Nor after a correction of what was entered.
    bench.on(DAY, "correct HP-1 1 --amount 480mL --because \"read wrongly\"").ok();
    let again = faults(&bench, SHELF, "");
    assert!(again.iter().any(|(row, _, said)| *row == 2 && said.contains("`HP-1`")), "{again:#?}");
}

#[test]
fn it_enters_what_receive_enters() {
    let (one, other) = (bench(), bench());
    let list = usual(
        "peroxide,10 vol,2.5 kg,cupboard,2031-03-01\n\
         alum potash,,1 lb,cupboard,2031-03-01\n\
         permanganate,1:3 of 3 % w/v,200 mL,cupboard,2031-03-01\n",
    );
    let list = String::from_utf8(list).unwrap().replace("alum potash", "potash alum");
    stocks(&one, list.as_bytes(), "");
    for line in ["peroxide \"10 vol\" 2.5kg", "\"potash alum\" 1lb", "permanganate \"1:3 of 3 % w/v\" 200mL"] {
        other.on(DAY, &format!("receive {line} --at cupboard --date 2031-03-01")).ok();
    }
    for code in ["HP-1", "PA-1", "PP-1"] {
        let shown = [&one, &other].map(|bench| {
            let shown = bench.on(DAY, &format!("--json show {code}")).json();
            let journal =
                shown["journal"].as_array().unwrap().iter().map(|line| line["says"].clone()).collect::<Vec<_>>();
            (shown["strength"].clone(), shown["left"].clone(), journal)
        });
        assert_eq!(shown[0], shown[1], "{code}");
    }
    let text = one.on(DAY, "shelf").ok();
    assert_eq!(text, other.on(DAY, "shelf").ok());
}

#[test]
fn text_names_rows_columns_and_assumptions() {
    let bench = bench();
    fs::write(bench.folder().join("list.csv"), SHELF).unwrap();
    let text = bench.on(DAY, "import csv list.csv --dry-run").ok();
    for words in [
        "list.csv: 6 stocks would be entered; nothing was written",
        "semicolon between the cells",
        "`Chemical` as reagent",
        "row  code",
        "66 % w/w ± 6.6 %",
        "assumed: row 3: purity not given: 99 % w/w taken",
        "assumed: row 4: nobody knows how old it is",
        "held because",
        "next: the same without --dry-run enters all of it",
    ] {
        assert!(text.contains(words), "`{words}` is missing: {text}");
    }
    fs::write(bench.folder().join("bad.csv"), usual("alum,,1 kg,cupbord,3/4/2030\nsalt,,1 kg,cupboard,2031-01-01\n"))
        .unwrap();
    bench.on(DAY, "import csv bad.csv").fails(
        2,
        &[
            "error: bad.csv: 1 of 2 rows cannot be entered (1 could); nothing was entered",
            "row  column",
            "2    reagent   alum      `alum` is sold as several reagents",
            "3 April 2030 or 4 March 2030?",
            "there is no place `cupbord`",
            "did you mean `cupboard`?",
            "place add cupbord",
            "no row tells the order by itself",
            "accepted in received, row 2:",
        ],
    );
    assert!(bench.on(DAY, "shelf").ok().contains("nothing stands on the shelf"));
}

#[test]
fn separators_marks_line_ends_and_blank_lines() {
    for (bytes, separator, row) in [
        ("reagent,amount,place,came\nsalt,1 kg,cupboard,2031-01-01", "comma", 2),
        ("reagent;amount;place;came\r\n\r\n;;;\r\nsalt;1 kg;cupboard;2031-01-01\r\n", "semicolon", 4),
        ("\u{feff}reagent\tamount\tplace\tcame\rsalt\t1 kg\tcupboard\t2031-01-01\r", "tab", 2),
        ("reagent;amount;place;came;5\";note\nsalt;1 kg;cupboard;2031-01-01;;\n", "semicolon", 2),
        ("sep=;\nreagent;amount;place;came\nsalt;1 kg;cupboard;2031-01-01\n", "semicolon", 3),
        (
            "\n\n\"reagent\",\"amount\",\"place\",\"came\",\n\"salt\",\"1 kg\",\"cupboard\",\"2031-01-01\",\n",
            "comma",
            4,
        ),
        (
            "reagent;\"amount\";place;came;\"note, and remark\"\nsalt;1 kg;cupboard;2031-01-01;\"a \"\"b\"\" c\"\n",
            "semicolon",
            2,
        ),
    ] {
        let bench = bench();
        let more = if bytes.contains("remark") { "--dry-run --map \"note, and remark=note\"" } else { "--dry-run" };
        let more = if bytes.contains("5\"") { "--dry-run --skip 5" } else { more };
        let answer = import(&bench, bytes.as_bytes(), more);
        assert_eq!(answer.code, 0, "{bytes}: {answer:?}");
        let answer = answer.json();
        assert_eq!(
            (answer["separator"].as_str(), answer["stocks"][0]["row"].as_u64()),
            (Some(separator), Some(row)),
            "{bytes}"
        );
        if bytes.contains("remark") {
            assert_eq!(answer["stocks"][0]["note"], "a \"b\" c");
        }
    }
}

#[test]
fn what_is_no_list_is_refused_as_a_whole() {
    let bench = bench();
    let mut wide = vec![0xFF, 0xFE];
    wide.extend("reagent,amount".encode_utf16().flat_map(u16::to_le_bytes));
    let bare: Vec<u8> = "reagent,amount".encode_utf16().flat_map(u16::to_be_bytes).collect();
    let latin = [&usual("salt,,1 kg,cupboard,2031-01-01\n")[..], b"salt,,1 kg,caf\xe9,2031-01-01\n"].concat();
    let columns = format!("reagent,{}\n", "x,".repeat(70));
    let cases: &[(&[u8], &[&str])] = &[
        (&wide, &["UTF-16", "save it as CSV in UTF-8"]),
        (&bare, &["UTF-16"]),
        (&latin, &["not text in UTF-8: row 3, byte 85", "0xE9", "Windows-1252 writes `é`"]),
        (b"reagent,amount\nsalt,\0", &["row 2 holds a byte 0x00"]),
        (b"", &["holds no row"]),
        (b"\n \n,,\n", &["holds no row"]),
        (b"reagent,amount,place,came\n", &["no row below its headings"]),
        (b"reagent,amount;place\nsalt", &["is it a comma or a semicolon"]),
        (b"sep=|\nreagent|amount\n", &["`sep=|` is no separator"]),
        (columns.as_bytes(), &["has 72 columns", "up to 64"]),
    ];
    for (bytes, words) in cases {
        fs::write(bench.folder().join("list.csv"), bytes).unwrap();
        let ran = bench.on(DAY, "import csv list.csv");
        for word in *words {
            assert!(ran.stderr.contains(word), "`{word}` is missing: {ran:?}");
        }
        ran.fails(2, &[]);
    }
    bench.on(DAY, "import csv nothing.csv").fails(4, &["nothing.csv cannot be read"]);
    bench.on(DAY, "import csv .").fails(4, &["cannot be read"]);
    Bench::bare().on(DAY, "import csv list.csv").fails(4, &["list.csv cannot be read"]);
    for (line, words) in [
        ("import csv list.csv --map nonsense", "HEADER=FIELD"),
        ("import csv list.csv --map a=b", "nothing that a column can hold"),
        ("import csv list.csv --dates dayfirst", "day-first, month-first, year-first"),
    ] {
        bench.on(DAY, line).fails(2, &[words]);
    }
}

#[test]
fn headings_are_mapped_skipped_or_asked() {
    let bench = bench();
    let row = "salt,1 kg,cupboard,2031-01-01,7,3.50\n";
    let found = faults(&bench, format!("reagant,amount,place,came,Bottel,Price\n{row}").as_bytes(), "");
    are(
        &found,
        &[
            (1, "reagant", "nearest: reagent"),
            (1, "Bottel", "nearest: bottle (read as container)"),
            (1, "Price", "--skip \"Price\" leaves it out"),
            (1, "reagent", "no column tells the reagent"),
        ],
    );
    let list = format!("Was,Menge,place,came,No.,Price\n{row}");
    let more = "--map was=reagent --map \"Menge = amount\" --map no=code --skip price";
    let found = stocks(&bench, list.as_bytes(), &format!("{more} --dry-run"));
    assert_eq!(found[0]["stock"], "7");
    let found = faults(&bench, list.as_bytes(), &format!("{more} --skip no --skip weight --map \"Menge=left\""));
    are(
        &found,
        &[
            (1, "no", "both --map and --skip name it"),
            (1, "weight", "no heading is called so"),
            (1, "Menge", "--map names it twice"),
        ],
    );
    let found = faults(&bench, b"what,chemical,size,date\nsalt,salt,1 kg,2031-01-01\n", "");
    are(&found, &[(1, "chemical", "`what` tells the reagent already"), (1, "place", "or --at PLACE for all of them")]);
    let found = faults(&bench, b"name,where\nsalt,cupboard\n", "");
    are(&found, &[(1, "amount", "no column tells the amount"), (1, "received", "received, bought, came, date")]);
    // What stands under no heading is not lost without a word.
    let found = faults(&bench, b"what,size,date,\nsalt,1 kg,2031-01-01,\nsalt,2 kg,2031-01-01,opened\n", "--at porch");
    are(&found, &[(3, "(no heading)", "stands under no heading")]);
    let found =
        stocks(&bench, b"what,size,date,where\nsalt,1 kg,2031-01-01,-\nsalt,2 kg,2031-01-01,cupboard\n", "--at porch");
    assert_eq!((found[0]["place"].as_str(), found[1]["place"].as_str()), (Some("porch"), Some("cupboard")));
    let found = faults(&bench, b"what,size,date\nsalt,3 kg,2031-01-01\n", "--at shed");
    are(&found, &[]);
}

#[test]
fn units_stand_in_the_heading_or_in_the_cell() {
    let bench = bench();
    let list = "what,strength %,amount (mL),left in mL,where,came\n\
                peroxide,3,500,20.5,cupboard,2031-01-01\n\
                peroxide,3.5 % w/v,400 mL,,cupboard,2031-01-02\n\
                bleach,5 %,1/2,,porch,2031-01-02\n";
    let found = stocks(&bench, list.as_bytes(), "--dry-run");
    let of = |index: usize, key: &str| found[index][key]["value"].as_f64().unwrap();
    assert_eq!((of(0, "label"), of(0, "amount"), of(0, "left")), (3.0, 500.0, 20.5));
    assert_eq!((of(1, "amount"), of(2, "amount")), (400.0, 0.5));
    for heading in ["purity (%)", "Strength%", "label strength, %", "conc. in % w/w"] {
        let list = format!("what,\"{heading}\",amount,where,came\nsalt,99.5,1 kg,cupboard,2031-01-01\n");
        assert_eq!(stocks(&bench, list.as_bytes(), "--dry-run")[0]["label"]["value"], 99.5, "{heading}");
    }
    let list = "what,strength (% w/v),amount [g],where,came\npermanganate,2 %,30,cupboard,2031-01-02\nperoxide,3,500,cupboard,2031-01-02\n";
    let found = faults(&bench, list.as_bytes(), "");
    // A strength by volume and an amount by weight of a salt: the question of `receive`, by row.
    are(&found, &[(2, "amount [g]", "a strength by volume and an amount by weight")]);
    let list = "what,strength %,amount (g),where,came\n\
                salt,99 % w/w,0.5 kg,cupboard,2031-01-01\n\
                peroxide,30 g/L,500 mL,cupboard,2031-01-01\n\
                salt,,\"2,5\",cupboard,2031-01-01\n\
                salt,,2 grams,cupboard,2031-01-01\n";
    let found = faults(&bench, list.as_bytes(), "");
    are(
        &found,
        &[
            (2, "amount (g)", "the heading says g, the cell kg"),
            (3, "strength %", "the heading says %, the cell g/L"),
            (3, "amount (g)", "the heading says g, the cell mL"),
            (4, "amount (g)", "its comma could be a decimal sign or part thousands"),
        ],
    );
    let found = faults(&bench, b"what,amount (bottles),where (room),came (local)\nsalt,1 kg,cupboard,2031-01-01\n", "");
    are(
        &found,
        &[
            (1, "amount (bottles)", "`bottles` beside the amount is not known"),
            (1, "where (room)", "`room` beside the place is not known"),
            (1, "came (local)", "the order of the days, as dd/mm/yyyy"),
        ],
    );
}

#[test]
fn days_that_may_be_two_are_asked() {
    let bench = bench();
    let list = |days: [&str; 3]| {
        let rows: Vec<String> =
            days.iter().enumerate().map(|(at, day)| format!("salt,,{} kg,cupboard,{day}\n", at + 1)).collect();
        usual(&rows.concat())
    };
    let why = |days: [&str; 3], more: &str| {
        let ran = import(&bench, &list(days), more);
        assert_eq!(ran.code, 2, "{ran:?}");
        let error: Value = serde_json::from_str(&ran.stderr).unwrap();
        error["error"]["why"].as_str().unwrap_or_default().to_owned()
    };
    let days = ["3/4/2030", "25/03/2030", "01.02.2030"];
    are(
        &faults(&bench, &list(days), ""),
        &[
            (2, "received", "3 April 2030 or 4 March 2030?"),
            (4, "received", "--dates day-first or --dates month-first"),
        ],
    );
    assert!(why(days, "").contains("row 3 (`25/03/2030`) can only be day first"), "{}", why(days, ""));
    assert!(why(["3/4/2030", "3/25/2030", "2030-01-01"], "").contains("only be month first"));
    assert!(why(["3/4/2030", "3/25/2030", "25/3/2030"], "").contains("no order fits all of them"));
    assert!(why(["3/4/2030", "3/3/2030", "2030-01-01"], "").contains("no row tells the order by itself"));
    let read = |more: &str| {
        let found = stocks(&bench, &list(["3/4/2030", "3/3/2030", "2030-01-02"]), &format!("--dry-run {more}"));
        found.iter().map(|stock| stock["received"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(read("--dates day-first"), ["2030-04-03", "2030-03-03", "2030-01-02"]);
    assert_eq!(read("--dates month-first"), ["2030-03-04", "2030-03-03", "2030-01-02"]);
    are(&faults(&bench, &list(days), "--dates month-first"), &[(3, "received", "as the order was told")]);
    assert_eq!(faults(&bench, &list(days), "--dates year-first").len(), 3);
    // The heading may tell the order, and must not contradict the command line.
    let headed = String::from_utf8(list(days)).unwrap().replace("received", "date (dd/mm/yyyy)");
    assert_eq!(stocks(&bench, headed.as_bytes(), "--dry-run")[0]["received"], "2030-04-03");
    are(
        &faults(&bench, headed.as_bytes(), "--dates month-first"),
        &[(1, "date (dd/mm/yyyy)", "the heading says day-first, --dates month-first")],
    );
}

#[test]
fn every_fault_of_every_row_is_told_at_once() {
    let bench = bench();
    bench.on("2030-06-01", "receive salt 500g --at cupboard --code PC-1").ok();
    let list = "What,Strength,Amount,Left,Where,Date,Opened,Made,Condition,Container,Cap,Hold,Note,Code\n\
                alum,120 %,-3 kg,,cupbord,1/3/30,yes,1/2/2030,glowing,wood,loose,no,\"a\nb\",a b\n\
                peroxidd,,0 mL,,-,,,,,,,,,\n\
                peroxide,3 %,500 mL,600 mL,cupboard,2030-05-05,2030-05-01,2030-06-01,,,,,,\n\
                peroxide,,500,,cupboard,2040-01-01,,unknown,,,,,,\n\
                KMnO4,2 % w/v,500 mL,,cupboard,5 May 2030,6 May 2030,,,,,,,\n\
                salt,,500 g,,cupboard,2030-06-01,,,,,,,damp,\n\
                salt,,500 g,,cupboard,2030-06-02,,,,,,,swollen,\n\
                salt,,,none,cupboard,2030-06-03,,,,,,,,\n\
                salt,,1 kg,,cupboard,2030-06-04,,,,,,,,pc-1\n\
                salt,,1 kg,,cupboard,2030-06-05,,,,,,,,Z9\n\
                salt,,1 kg,,cupboard,2030-06-06,,,,,,,,z9\n\
                salt,,1 kg,,cupboard,2030-06-07,,,,,,,\n\
                salt,,1 kg,,cupboard,2030-06-07,,,,,,,,,more\n\
                salt,,1 kg,,cupboard,2030-06-08,,,,,,,,\n\
                salt,,1000 g,,Cupboard,8 June 2030,,,,,,,,\n\
                calcium hypochlorite,140 % available chlorine,1 kg,,porch,2030-06-09,,,,,,,,\n";
    let found = faults(&bench, list.as_bytes(), "");
    let wanted: &[(u64, &str, &str)] = &[
        (2, "Note", "a line ends inside the cell"),
        (4, "What", "there is no reagent `peroxidd` | did you mean `hydrogen-peroxide`?"),
        (4, "Amount", "a quantity must be above 0"),
        (4, "Where", "the place is missing"),
        (4, "Date", "the day it came is missing"),
        (5, "Opened", "2030-05-01 lies before the day it came, 2030-05-05"),
        (5, "Made", "2030-06-01 lies after the day it came"),
        (5, "Left", "600 mL are left of 500 mL"),
        (6, "Amount", "a unit is missing"),
        (6, "Date", "2040-01-01 lies after 2031-03-10"),
        (7, "Opened", "came made-up and had no seal to break"),
        (8, "(whole row)", "`PC-1` in the register is the same"),
        (9, "Note", "no solid is swollen"),
        (10, "Amount", "the amount is missing"),
        (11, "Code", "the register has a stock with this code"),
        (13, "Code", "row 12 has this code already"),
        (14, "(whole row)", "13 cells under 14 headings"),
        (15, "(whole row)", "15 cells under 14 headings"),
        (17, "(whole row)", "says the same as row 16"),
        (18, "Strength", "more than the whole"),
    ];
    are(&found, wanted);
    // The first row's other cells, once its note is one line.
    let found = faults(&bench, list.replace("\"a\nb\"", "a b").as_bytes(), "");
    let first: Vec<(u64, String, String)> = found.into_iter().filter(|(row, ..)| *row == 2).collect();
    are(
        &first,
        &[
            (2, "What", "sold as several reagents"),
            (2, "Strength", "120 % is more than the whole"),
            (2, "Amount", "above 0"),
            (2, "Where", "there is no place `cupbord`"),
            (2, "Date", "a year of two figures"),
            (2, "Opened", "on which day?"),
            (2, "Made", "1 February 2030 or 2 January 2030?"),
            (2, "Condition", "sealed, opened, made-up, made-up-tap, dirty"),
            (2, "Container", "amber-glass"),
            (2, "Cap", "vented, tight"),
            (2, "Hold", "tells no reason"),
            (2, "Code", "`a b` is no code for a container"),
        ],
    );
}

#[test]
fn two_containers_that_are_alike_are_entered_when_they_are_said_to_be() {
    let bench = bench();
    let list = usual("salt,,1 kg,cupboard,2031-01-01\nsalt,,1 kg,cupboard,2031-01-01\nsalt,,1 kg,porch,2031-01-01\n");
    are(&faults(&bench, &list, ""), &[(3, "(whole row)", "--allow-duplicates")]);
    let found = stocks(&bench, &list, "--allow-duplicates");
    let codes: Vec<&str> = found.iter().map(|stock| stock["stock"].as_str().unwrap()).collect();
    let beginning = codes[0].trim_end_matches('1');
    assert_eq!(codes, ["1", "2", "3"].map(|number| format!("{beginning}{number}")));
    // A code of the list is kept free for its row.
    let list =
        format!("what,size,where,came,code\nsalt,2 kg,porch,2031-01-01,\nsalt,3 kg,porch,2031-01-01,{beginning}4\n");
    let found = stocks(&bench, list.as_bytes(), "");
    assert_eq!(found[0]["stock"].as_str().unwrap(), format!("{beginning}5"));
}

#[test]
fn notes_holds_and_states_are_kept() {
    let bench = bench();
    let list = "what,strength,left,where,came,opened,condition,hold,note\n\
                peroxide,3 % w/v,200 mL,cupboard,2030-01-05,,open,ask before use,vented cap\n\
                peroxide,6 % w/v,100 mL,cupboard,2030-01-05,2030-02-01,,,a little swollen\n\
                peroxide,9 % w/v,100 mL,cupboard,2030-01-05,no,unopened,,dirty\n";
    let answer = import(&bench, list.as_bytes(), "");
    assert_eq!(answer.code, 0, "{answer:?}");
    let answer = answer.json();
    let said = answer["assumed"].to_string();
    assert!(said.contains("what is left is taken for what came") && said.contains("speaks of `swollen`"), "{said}");
    let conditions: Vec<String> = ["HP-1", "HP-2", "HP-3"]
        .iter()
        .map(|code| bench.on(DAY, &format!("--json show {code}")).json()["condition"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(conditions, ["opened", "opened", "dirty"]);
    let text = bench.on(DAY, "show HP-1").ok();
    assert!(text.contains("ask before use") && text.contains("vented cap"), "{text}");
    let written = bench.on(DAY, "show HP-2").ok();
    assert!(written.contains("a little swollen"), "{written}");
}

#[test]
fn a_list_as_long_as_it_may_be_is_refused_beyond() {
    let bench = bench();
    let long = usual(&"salt,,1 kg,cupboard,2031-13-01\n".repeat(2000));
    let ran = import(&bench, &long, "");
    let error: Value = serde_json::from_str(&ran.stderr).unwrap();
    assert_eq!(error["error"]["rows"].as_array().unwrap().len(), 1000, "one by one up to a thousand");
    assert!(error["error"]["what"].as_str().unwrap().contains("2000 of 2000 rows"), "{}", error["error"]["what"]);
    assert!(
        error["error"]["why"].as_str().unwrap().contains("2999 more faults are only counted"),
        "{}",
        error["error"]["why"]
    );
    let cell = usual(&format!("salt,,1 kg,cupboard,{}\n", "x".repeat(1001)));
    are(&faults(&bench, &cell, ""), &[(2, "received", "longer than 1000 characters")]);
    let rows = [&b"a,b\n"[..], &b"1,2\n".repeat(3)].concat();
    assert_eq!(
        faults(&bench, &rows, "").len(),
        6,
        "two headings that are not known, four things that are told by none"
    );
}

/// In many countries semicolons part the cells of a list, and points its thousands.
#[test]
fn a_point_before_three_figures_is_asked_where_semicolons_part_the_cells() {
    let bench = Bench::new();
    let list = |amount: &str, between: &str| {
        let rows = [
            ["reagent", "strength", "amount", "place", "came"],
            ["table salt", "99 %", amount, "cupboard", "2031-03-01"],
        ];
        let text: Vec<String> = rows.iter().map(|row| row.join(between)).collect();
        std::fs::write(bench.folder().join("list.csv"), text.join("\n") + "\n").unwrap();
        bench.on("2031-03-10", "import csv list.csv --dry-run")
    };
    list("1.000 g", ";").fails(2, &["may part thousands", "1000"]);
    list("12.500 kg", ";").fails(2, &["may part thousands"]);
    for good in ["1.50 g", "0.500 kg", "1000 g", "1234.500 g"] {
        list(good, ";").ok();
    }
    list("1.000 g", ",").ok();
}

/// What a comma within figures means is asked, or said for all rows; it is never guessed.
#[test]
fn decimal_commas_are_read_where_it_is_said_that_they_are() {
    let bench = Bench::new();
    let list = |amounts: [&str; 2], strength: &str, given: &str| {
        let rows = format!(
            "reagent;strength;amount;left;place;came\n\
             table salt;{strength};{};;cupboard;2031-03-01\npotassium alum;99 %;{};0;cupboard;2031-03-02\n",
            amounts[0], amounts[1]
        );
        std::fs::write(bench.folder().join("liste.csv"), rows).unwrap();
        bench.on("2031-03-10", &format!("--json import csv liste.csv --dry-run {given}"))
    };
    let amounts = |ran: Ran| -> Vec<f64> {
        let told: serde_json::Value = serde_json::from_str(&ran.ok()).unwrap();
        told["stocks"].as_array().unwrap().iter().map(|stock| stock["amount"]["value"].as_f64().unwrap()).collect()
    };
    let german = ["1.234,5 g", "2,5 kg"];
    list(german, "99 %", "").fails(2, &["its comma", "--decimal comma"]);
    assert_eq!(amounts(list(german, "99,5 %", "--decimal comma")), [1234.5, 2500.0]);
    assert_eq!(amounts(list(["1.000 g", "1,5 kg"], "99 %", "--decimal comma")), [1000.0, 1500.0]);
    list(german, "99 %", "--decimal point").fails(2, &["`1.234,5`", "`2,5`", "three figures"]);
    let english = ["1,234.5 g", "1.500 kg"];
    list(english, "99 %", "").fails(2, &["its comma", "may part thousands"]);
    assert_eq!(amounts(list(english, "99.5 %", "--decimal point")), [1234.5, 1500.0]);
    list(english, "99 %", "--decimal comma").fails(2, &["`1,234.5`", "figures alone"]);
    list(["1.5 g", "1 kg"], "99 %", "--decimal comma").fails(2, &["`1.5`", "three figures"]);
    list(["1 g", "1 kg"], "99 %", "--decimal semicolon").fails(2, &["'semicolon'", "--decimal"]);
}

#[test]
fn a_list_may_come_by_standard_input() {
    use std::io::Write;
    use std::process::Stdio;
    let bench = Bench::new();
    let import = |list: &[u8], given: &[&str]| {
        let mut command = bench.command();
        command.args(["--on", "2031-03-10", "import", "csv", "-"]).args(given);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut running = command.spawn().unwrap();
        // Whoever has read enough may close it early.
        let _ = running.stdin.take().unwrap().write_all(list);
        let ran = running.wait_with_output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        (ran.status.code().unwrap(), text(ran.stdout), text(ran.stderr))
    };
    let list = b"reagent,strength,amount,place,came\ntable salt,99 %,1 kg,cupboard,2031-03-01\n";
    let (code, said, _) = import(list, &["--dry-run"]);
    assert!(code == 0 && said.contains("1"), "{said}");
    assert!(!bench.on("2031-03-10", "shelf").ok().contains("sodium-chloride"), "a dry run enters nothing");
    let (code, said, _) = import(list, &[]);
    assert_eq!(code, 0, "{said}");
    assert!(bench.on("2031-03-10", "shelf").ok().contains("sodium-chloride"));
    // What is open is refused with what would settle it, not asked.
    let (code, _, said) = import(b"reagent,strength,amount,place,came\nsalt,99 %,2 kg,cupboard,3/4/2031\n", &[]);
    assert!(code == 2 && said.contains("standard input") && said.contains("--dates"), "{said}");
    let (code, _, said) = import(b"", &[]);
    assert!(code == 2 && said.contains("standard input holds no row"), "{said}");
    let (code, _, said) = import(&vec![b'a'; 32 * 1024 * 1024 + 1], &[]);
    assert!(code == 2 && said.contains("standard input is larger than 32 MB"), "{said}");
}

#[cfg(unix)]
#[test]
fn the_wait_for_a_silent_input_can_be_ended() {
    use std::process::{Command, Stdio};
    use std::time::{Duration, Instant};
    let bench = Bench::new();
    let pipe = bench.register().with_file_name("list.pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    for given in ["-", pipe.to_str().unwrap()] {
        let mut command = bench.command();
        command.args(["--on", "2031-03-10", "import", "csv", given]);
        command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::piped());
        let mut running = command.spawn().unwrap();
        let input = running.stdin.take();
        // By then it listens to signals: one that came before would end it in another way.
        std::thread::sleep(Duration::from_millis(700));
        assert!(running.try_wait().unwrap().is_none(), "{given}: it waits");
        assert!(Command::new("kill").args(["-INT", &running.id().to_string()]).status().unwrap().success());
        let since = Instant::now();
        let ran = running.wait_with_output().unwrap();
        assert_eq!(ran.status.code(), Some(130), "{given}: {ran:?}");
        assert!(since.elapsed() < Duration::from_secs(20), "{given}");
        assert!(String::from_utf8_lossy(&ran.stderr).contains("interrupted"), "{given}: {ran:?}");
        drop(input);
    }
    // A copy is a plain file: nobody waits for another.
    for verb in ["restore", "verify"] {
        bench.on("2031-03-10", &format!("{verb} list.pipe")).fails(4, &["it is no plain file"]);
    }
}
