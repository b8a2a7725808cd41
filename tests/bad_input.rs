//! Wrong files and wrong words: a clear error, the right exit code, nothing lost.

use std::fs;
use std::io::Read;
use std::process::Stdio;

use crate::harness::Bench;

/// Asks each line on a day: each is refused with that exit code and these words, and the register keeps every byte.
#[track_caller]
fn refused(bench: &Bench, day: &str, cases: &[(&str, i32, &[&str])]) {
    let before = fs::read(bench.register()).unwrap();
    for (line, code, words) in cases {
        let ran = bench.on(day, line);
        let said = ran.stderr.clone();
        assert_eq!(ran.code, *code, "{line}: {ran:?}");
        for word in *words {
            assert!(said.contains(word), "{line}: `{word}` is missing: {said}");
        }
        ran.fails(*code, &[]);
        assert!(before == fs::read(bench.register()).unwrap(), "{line} left a trace");
    }
}

/// A bottle of 3 % peroxide, a strong one, a bleach, a solid and one that has left.
fn with_bottles() -> Bench {
    let bench = Bench::new();
    for line in [
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --condition opened",
        "receive hydrogen-peroxide \"35 % w/w\" 500mL --at cupboard",
        "receive bleach \"5.25 % w/w\" 1L --at cupboard",
        "receive potassium-alum 1kg --at cupboard",
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --code gone",
    ] {
        bench.on("2031-03-01", line).ok();
    }
    bench.on("2031-03-20", "retire gone --because \"poured away, thinned\"").ok();
    bench
}

#[test]
fn a_register_that_is_none() {
    let bench = Bench::bare();
    bench.run(&["shelf"]).fails(4, &["there is no register", "brimstock new"]);
    fs::write(bench.register(), "").unwrap();
    bench.run(&["shelf"]).fails(4, &["is empty", "brimstock new"]);
    bench.run(&["new"]).ok();
    bench.run(&["new"]).fails(4, &["already a file"]);
    fs::write(bench.register(), "groceries: eggs, milk, and a good many words more than a header has").unwrap();
    bench.run(&["shelf"]).fails(4, &["is not a brimstock register"]);
    bench.run(&["new"]).fails(4, &["already a file"]);
    fs::remove_file(bench.register()).unwrap();
    fs::create_dir(bench.register()).unwrap();
    bench.run(&["shelf"]).fails(4, &["it is a folder"]);
}

#[test]
fn a_register_of_another_program_or_a_newer_one() {
    let bench = Bench::bare();
    let other = rusqlite::Connection::open(bench.register()).unwrap();
    other.execute_batch("CREATE TABLE recipe (name TEXT);").unwrap();
    drop(other);
    bench.run(&["shelf"]).fails(4, &["is not a brimstock register"]);
    fs::remove_file(bench.register()).unwrap();
    bench.run(&["new"]).ok();
    let newer = rusqlite::Connection::open(bench.register()).unwrap();
    newer.execute_batch("PRAGMA user_version = 99;").unwrap();
    drop(newer);
    let before = fs::read(bench.register()).unwrap();
    bench.run(&["shelf"]).fails(4, &["newer brimstock", "version 99"]);
    assert_eq!(before, fs::read(bench.register()).unwrap());
}

#[test]
fn the_journal_cannot_be_rewritten() {
    let bench = Bench::demo();
    let register = rusqlite::Connection::open(bench.register()).unwrap();
    for sql in [
        "UPDATE event SET amount = 1",
        "DELETE FROM event",
        "DELETE FROM stock",
        "UPDATE place SET name = 'x'",
        "INSERT OR REPLACE INTO event (id, stock, kind, day, entered_at, note) VALUES (1, 1, 'retired', '2031-01-01', '2031-01-01T00:00:00Z', 'x')",
        "INSERT INTO event (stock, kind, day, entered_at, amount, amount_unit) VALUES (1, 'taken', '2031-01-01', '2031-01-01T00:00:00Z', -1, 'mL')",
        "INSERT INTO event (stock, kind, day, entered_at, amount, amount_unit) VALUES (99, 'taken', '2031-01-01', '2031-01-01T00:00:00Z', 1, 'mL')",
    ] {
        register.execute_batch("PRAGMA foreign_keys = ON").unwrap();
        assert!(register.execute(sql, []).is_err(), "{sql}");
    }
}

#[test]
fn days_that_are_none() {
    let bench = Bench::new();
    bench.run(&["--on", "2031-02-29", "shelf"]).fails(2, &["no day of the calendar"]);
    bench.run(&["--on", "tomorrow", "shelf"]).fails(2, &["write YYYY-MM-DD"]);
    bench.run(&["--on", "31-02-02", "shelf"]).fails(2, &["write YYYY-MM-DD"]);
    bench.run(&["--on", "9999-01-01", "shelf"]).fails(2, &["outside the years"]);
    bench.run(&["--on", "2032-02-29", "shelf"]).ok();
}

#[test]
fn quantities_that_are_none() {
    let bench = Bench::new();
    let receive = |strength: &str, amount: &str| {
        bench.run(&["--on", "2031-03-01", "receive", "hydrogen-peroxide", strength, amount, "--at", "cupboard"])
    };
    receive("3 % w/v", "-5mL").fails(2, &["'-5'"]);
    receive("3 % w/v", "0mL").fails(2, &["above 0"]);
    receive("3 % w/v", "NaN mL").fails(2, &["a number was expected"]);
    receive("3 % w/v", "1/0 tsp").fails(2, &["divides by 0"]);
    receive("3 % w/v", "99999999999L").fails(2, &["out of any range"]);
    receive("3 % w/v", "500").fails(2, &["a unit is missing", "accepted:"]);
    receive("300 % w/w", "1L").fails(2, &["more than the whole"]);
    receive("900 % w/v", "1L").fails(2, &["more than any solution holds"]);
    receive("1:3", "1L").fails(2, &["of what?"]);
    receive("3 bananas", "1L").fails(2, &["read `3`, stopped at `bananas`"]);
    bench.on("2031-03-01", "receive hydrogen-peroxide 1L --at cupboard").fails(2, &["how strong"]);
    bench.on("2031-03-01", "receive potassium-alum \"5 % w/v\" 1kg --at cupboard").fails(2, &["strength by volume"]);
    bench.on("2031-03-01", "receive sodium-percarbonate \"5 g/L\" 1kg --at cupboard").fails(2, &["is a solid"]);
    bench
        .on("2031-03-01", "receive hydrogen-peroxid 3% 1L --at cupboard")
        .fails(2, &["did you mean `hydrogen-peroxide`?"]);
    // Another acid's salt is not almost the same, and a powder is no solution.
    for (word, never) in [
        ("sodium sulfate", "thiosulfate"),
        ("sodium sulphate", "thiosulfate"),
        ("sodium persulfate", "thiosulfate"),
        ("sodium-thiosulfite", "thiosulfate"),
        ("potassium persulfate", "metabisulfite"),
        ("peroxide powder", "hydrogen-peroxide"),
        ("hydrogen-peroxide-powder", "hydrogen-peroxide"),
    ] {
        let ran = bench.on("2031-03-01", &format!("receive \"{word}\" 100g --at cupboard"));
        assert_eq!(ran.code, 2, "{ran:?}");
        assert!(!ran.stderr.contains(&format!("did you mean `{never}")), "{word}: {ran:?}");
        assert!(!ran.stderr.contains("did you mean `sodium-thiosulfate"), "{word}: {ran:?}");
    }
    let led = |word: &str, to: &str| {
        bench
            .on("2031-03-01", &format!("receive {word} 100g --at cupboard"))
            .fails(2, &[&format!("did you mean `{to}`?")]);
    };
    led("sodium-thiosulfat", "sodium-thiosulfate");
    led("sodium-thiosulphat-powder", "sodium-thiosulfate");
    bench.on("2031-03-01", "receive alum 1kg --at cupboard").fails(2, &["`alum` is sold as several reagents"]);
    bench.on("2031-03-01", "place add x --temp 900").fails(2, &["no temperature of a store"]);
    bench.on("2031-03-01", "dose peroxide-weak --bath 5kg").fails(2, &["that is a mass"]);
    bench.on("2031-03-01", "dose peroxyde-weak --bath 5L").fails(2, &["did you mean `peroxide-weak`?"]);
}

#[test]
fn errors_are_json_where_json_was_asked() {
    let bench = Bench::new();
    let ran = bench.on("2031-03-01", "--json take HP-1 5mL");
    let error: serde_json::Value = serde_json::from_str(&ran.stderr).unwrap();
    assert_eq!((ran.code, error["error"]["exit_code"].as_i64()), (2, Some(2)));
    let ran = bench.run(&["--json", "brew"]);
    assert!(serde_json::from_str::<serde_json::Value>(&ran.stderr).unwrap()["error"]["what"].is_string());
}

#[test]
fn a_pipe_closed_early_is_no_error() {
    let bench = Bench::demo();
    let mut child = bench.command().args(["dips"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let status = child.wait().unwrap();
    let mut stderr = String::new();
    child.stderr.take().unwrap().read_to_string(&mut stderr).unwrap();
    assert_eq!((status.code(), stderr.as_str()), (Some(0), ""));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_for_the_answer_is_said() {
    let bench = Bench::demo();
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = bench.command().args(["dips"]).stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(4));
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot be written"));
}

#[test]
fn a_test_of_a_day_or_a_bottle_that_cannot_be() {
    refused(
        &with_bottles(),
        "2031-04-01",
        &[
            (
                "assay HP-1 figure \"2.7 % w/v\" --sd 3% --date 2031-02-01",
                2,
                &["2031-02-01", "received on 2031-03-01", "--date"],
            ),
            ("assay HP-1 figure \"2.7 % w/v\" --sd 3% --date 2031-05-01", 2, &["2031-05-01", "future"]),
            ("assay gone figure \"2.7 % w/v\" --sd 3%", 2, &["gone", "left the shelf on 2031-03-20"]),
            ("assay gone strip 10mg/L --diluted 3000", 2, &["gone", "left the shelf on 2031-03-20"]),
            ("assay plan gone", 2, &["gone", "left the shelf on 2031-03-20"]),
            ("note gone swollen", 2, &["gone", "left the shelf"]),
            ("assay HP-9 figure \"2.7 % w/v\" --sd 3%", 2, &["HP-9"]),
            ("assay figure \"2.7 % w/v\" --sd 3%", 2, &["which stock?"]),
        ],
    );
}

#[test]
fn a_bottle_that_left_says_so_before_anything_else() {
    refused(&with_bottles(), "2031-04-01", &[("decant gone 100mL", 2, &["gone", "left the shelf on 2031-03-20"])]);
}

#[test]
fn gas_that_cannot_be() {
    let bench = with_bottles();
    let gas = |rest: &str| format!("assay HP-1 oxygen-volume {rest} --temp 20C --altitude 0m");
    let lines = [
        gas("--gas -5mL --sample 5mL"),
        gas("--gas 50 --sample 5mL"),
        gas("--gas 50g --sample 5mL"),
        gas("--gas NaNmL --sample 5mL"),
        gas("--gas infmL --sample 5mL"),
        gas("--gas 50mL --sample 0mL"),
        gas("--gas 50mL --sample 5mL --diluted 0.5"),
        gas("--gas 50mL --sample 5mL --diluted 0"),
        gas("--gas 50mL --sample 5mL --diluted NaN"),
        gas("--gas 50mL --sample 5mL --sd 0"),
        gas("--gas 50mL --sample 5mL --sd 0%"),
        gas("--gas 50mL --sample 5mL --sd NaN"),
        gas("--gas 50mL --sample 5mL --sd 500%"),
        gas("--gas 50mL --sample 5mL --column 5m"),
    ];
    let words: [&[&str]; 14] = [
        &["--gas", "`-5mL`", "above 0"],
        &["--gas", "`50`", "unit", "mL"],
        &["--gas", "`50g`", "mass", "mL"],
        &["--gas", "`NaNmL`", "number"],
        &["--gas", "`infmL`", "number"],
        &["--sample", "`0mL`", "above 0"],
        &["--diluted", "0.5", "accepted: 1"],
        &["dilution", "`0`", "above 0"],
        &["dilution", "`NaN`", "accepted"],
        &["standard deviation", "`0`", "above 0", "accepted"],
        &["standard deviation", "`0%`", "above 0", "accepted"],
        &["standard deviation", "`NaN`", "accepted"],
        &["standard deviation", "`500%`", "accepted"],
        &["--column", "5000 mm", "accepted"],
    ];
    let cases: Vec<(&str, i32, &[&str])> =
        lines.iter().zip(words).map(|(line, words)| (line.as_str(), 2, words)).collect();
    refused(&bench, "2031-04-01", &cases);
}

#[test]
fn more_gas_than_any_bottle_could_yield() {
    // 5 mL of pure peroxide give about 2.6 L.
    refused(
        &with_bottles(),
        "2031-04-01",
        &[
            (
                "assay HP-1 oxygen-volume --gas 5L --sample 5mL --temp 20C --altitude 0m",
                2,
                &["--gas", "5000 mL", "at most"],
            ),
            (
                "assay HP-1 oxygen-volume --gas 50mL --sample 5mL --temp 20C --altitude 0m --diluted 1000",
                2,
                &["--gas", "at most", "dilution"],
            ),
        ],
    );
}

#[test]
fn refused_gas_is_named_with_what_was_typed() {
    let line = "assay HP-1 oxygen-volume --gas 5L --sample 5mL --temp 20C --altitude 0m";
    refused(&with_bottles(), "2031-04-01", &[(line, 2, &["--gas", "5000 mL"])]);
}

#[test]
fn air_pressures_that_cannot_be() {
    let bench = with_bottles();
    let air = |rest: &str| format!("assay HP-1 oxygen-volume --gas 50mL --sample 5mL --temp 20C {rest}");
    let lines = [
        air("--pressure \"1013 kPa\""),
        air("--pressure \"101.3 hPa\""),
        air("--pressure 1013"),
        air("--pressure \"1013 psi\""),
        air("--pressure \"NaN hPa\""),
        air("--pressure \"0 hPa\""),
        air(""),
        air("--sea-level \"1013 hPa\""),
        air("--altitude 540m --sea-level \"1013 kPa\""),
        air("--altitude 540"),
        air("--altitude 9000m"),
        air("--altitude -900m"),
    ];
    let words: [&[&str]; 12] = [
        &["1013 kPa", "hPa?", "50 to 110 kPa"],
        &["101.3 hPa", "kPa?", "50 to 110 kPa"],
        &["`1013`", "unit is missing", "hPa"],
        &["`1013 psi`", "hPa"],
        &["`NaN hPa`", "number"],
        &["`0 hPa`", "above 0"],
        &["pressure is missing", "--altitude", "--pressure"],
        &["--altitude"],
        &["1013 kPa", "hPa?"],
        &["`540`", "unit is missing"],
        &["--altitude 9000m", "5500 m"],
        &["--altitude -900m", "-430 m"],
    ];
    let cases: Vec<(&str, i32, &[&str])> =
        lines.iter().zip(words).map(|(line, words)| (line.as_str(), 2, words)).collect();
    refused(&bench, "2031-04-01", &cases);
}

#[test]
fn a_word_is_no_length() {
    let gas = "assay HP-1 oxygen-volume --gas 50mL --sample 5mL --temp 20C";
    let receive = "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --container clear-glass";
    let lines = [
        format!("{gas} --altitude high"),
        format!("{gas} --altitude NaNm"),
        format!("{gas} --altitude -m"),
        format!("{gas} --altitude 0m --column wet"),
        format!("{receive} --wall thin"),
        format!("{receive} --diameter NaNcm"),
    ];
    let words: [&[&str]; 6] = [&["`high`"], &["`NaNm`"], &["-m"], &["`wet`"], &["`thin`"], &["`NaNcm`"]];
    let cases: Vec<(&str, i32, &[&str])> =
        lines.iter().zip(words).map(|(line, words)| (line.as_str(), 2, words)).collect();
    refused(&with_bottles(), "2031-04-01", &cases);
}

#[test]
fn a_pressure_and_an_altitude_at_once_are_one_too_many() {
    let line = "assay HP-1 oxygen-volume --gas 50mL --sample 5mL --temp 20C --pressure \"950 hPa\" --altitude 540m";
    refused(&with_bottles(), "2031-04-01", &[(line, 2, &["--altitude", "--pressure"])]);
}

#[test]
fn readings_of_other_tests_that_cannot_be() {
    refused(
        &with_bottles(),
        "2031-04-01",
        &[
            (
                "assay HP-1 oxygen-volume --gas 50mL --sample 5mL --temp 295 --altitude 0m",
                2,
                &["--temp", "295 °C", "0 to 45"],
            ),
            ("assay HP-1 oxygen-volume --gas 50mL --sample 5mL --temp NaN --altitude 0m", 2, &["`NaN`", "temperature"]),
            (
                "assay HP-1 permanganate --titre -1mL --of \"0.02 mol/L\" --sample 2mL",
                2,
                &["--titre", "`-1mL`", "above 0"],
            ),
            (
                "assay HP-1 permanganate --titre 35mL --of \"0.02 mol/L\" --sample 0mL",
                2,
                &["--sample", "`0mL`", "above 0"],
            ),
            ("assay HP-1 permanganate --titre 35mL --of \"0 mol/L\" --sample 2mL", 2, &["`0 mol/L`", "above 0"]),
            ("assay HP-1 permanganate --titre 35mL --of 0.1 --sample 2mL", 2, &["`0.1`", "unit"]),
            (
                "assay HP-1 permanganate --titre 35mL --of \"20 mol/L\" --sample 2mL",
                2,
                &["--of", "20 mol/L", "5 mol/L"],
            ),
            ("assay HP-1 iodometric --titre 3500mL --of \"1 mol/L\" --sample 1mL", 2, &["g/L", "at most"]),
            ("assay HP-1 iodometric --titre 35mL --of \"0.1 mol/L\" --sample 1mL --diluted 1mL:50", 2, &["`1mL:50`"]),
            (
                "assay HP-1 iodometric --titre 35mL --of \"0.1 mol/L\" --sample 1mL --diluted 10mL:5mL",
                2,
                &["--diluted", "0.5"],
            ),
            ("assay HP-1 strip 50mg/L --diluted 3000", 2, &["`50mg/L`", "off the scale", "repeat"]),
            ("assay HP-1 strip 7mg/L --diluted 3000", 2, &["`7mg/L`", "the scale is"]),
            ("assay HP-1 strip blue --diluted 3000", 2, &["`blue`", "mg/L"]),
            ("assay HP-1 strip NaN --diluted 3000", 2, &["`NaN`"]),
            ("assay HP-1 strip 10 --diluted 3000 --scale 10,5", 2, &["--scale", "`10,5`", "rising"]),
            ("assay HP-1 strip 10 --diluted 3000 --scale nan,inf", 2, &["--scale", "`nan,inf`"]),
            ("assay HP-1 strip 25 --diluted 1000000", 2, &["g/L", "at most"]),
            ("assay HP-1 density 1.0095 --temp 20C", 2, &["density", "worthless"]),
            ("assay HP-2 density 0.9 --temp 20C", 2, &["density", "0.9 g/mL", "between"]),
            ("assay HP-2 density 1.9 --temp 20C", 2, &["density", "1.9 g/mL", "between"]),
            ("assay HP-2 density inf --temp 20C", 2, &["`inf`", "density"]),
            ("assay PA-1 drying --wet 47g --dry 50g", 2, &["--dry", "50 g", "47 g"]),
            ("assay PA-1 drying --wet 47mL --dry 40g", 2, &["--wet", "`47mL`", "mass"]),
            ("assay PA-1 drying --wet 47g --dry 0g", 2, &["`0g`", "above 0"]),
            ("assay HP-1 drying --wet 47g --dry 40g", 2, &["is no test for"]),
            ("assay BL-1 permanganate --titre 35mL --of \"0.02 mol/L\" --sample 2mL", 2, &["is no test for"]),
            ("assay BL-1 oxygen-volume --gas 50mL --sample 5mL --temp 20 --altitude 0m", 2, &["is no test for"]),
            ("assay PA-1 strip 10mg/L --diluted 3000", 2, &["is no test for"]),
        ],
    );
}

#[test]
fn readings_that_are_no_numbers_are_named_as_they_were_typed() {
    refused(
        &with_bottles(),
        "2031-04-01",
        &[
            ("assay HP-1 permanganate --titre 35mL --of \"NaN N\" --sample 2mL", 2, &["--of", "NaN"]),
            ("assay HP-1 permanganate --titre 35mL --of \"inf N\" --sample 2mL", 2, &["--of", "inf"]),
            ("assay HP-1 strip \">inf\" --diluted 3000", 2, &[">inf"]),
            ("assay HP-1 strip \">NaN\" --diluted 3000", 2, &[">NaN", "number"]),
        ],
    );
}

#[test]
fn readings_below_zero_are_named_with_what_is_accepted() {
    refused(
        &with_bottles(),
        "2031-04-01",
        &[
            ("assay HP-1 strip -5mg/L --diluted 3000", 2, &["-5mg/L", "accepted"]),
            ("assay HP-1 permanganate --titre 35mL --of \"-1 N\" --sample 2mL", 2, &["-1 N", "accepted"]),
            ("assay HP-1 permanganate --titre 35mL --of \"0.1 N\" --sample -2mL", 2, &["-2mL", "accepted"]),
            (
                "assay HP-1 oxygen-volume --gas 50mL --sample 5mL --temp 20C --pressure \"-1013 hPa\"",
                2,
                &["-1013 hPa", "accepted"],
            ),
            ("assay HP-1 figure \"3 % w/v\" --sd -3%", 2, &["-3%", "accepted"]),
            ("assay HP-1 figure \"-3 % w/v\" --sd 3%", 2, &["-3 % w/v", "accepted"]),
            ("assay HP-2 density 1.131 --temp -5C", 2, &["-5", "accepted"]),
            ("place add attic --light sill --sun -1", 2, &["--sun", "-1", "0 to 16"]),
        ],
    );
}

#[test]
fn strengths_above_what_can_be() {
    refused(
        &with_bottles(),
        "2031-04-01",
        &[
            ("assay HP-1 figure \"2000 g/L\" --sd 3%", 2, &["2000 g/L", "more than", "accepted", "1450 g/L"]),
            ("assay HP-1 figure \"120 % w/w\" --sd 3%", 2, &["120 % w/w", "more than the whole", "accepted"]),
            ("assay PA-1 figure \"120 % w/w\" --sd 3%", 2, &["120 % w/w", "more than the whole"]),
            ("assay HP-1 figure \"NaN % w/v\" --sd 3%", 2, &["`NaN % w/v`", "number"]),
            ("assay HP-1 figure \"inf g/L\" --sd 3%", 2, &["`inf g/L`", "number"]),
            ("assay HP-1 figure \"0 g/L\" --sd 3%", 2, &["`0 g/L`", "above 0"]),
            ("assay HP-1 figure 3 --sd 3%", 2, &["`3`", "unit is missing"]),
            ("assay HP-1 figure \"3 % w/v\" --sd 0", 2, &["`0`", "above 0"]),
            ("assay HP-1 figure \"3 % w/v\" --sd inf", 2, &["`inf`"]),
            ("assay HP-1 figure \"3 % w/v\"", 2, &["--sd"]),
        ],
    );
}

#[test]
fn places_and_containers_that_cannot_be() {
    let receive = |rest: &str| format!("receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard {rest}");
    let bench = with_bottles();
    let lines = [
        receive("--container amber-glass --wall 2mm"),
        receive("--container opaque-plastic --wall 2mm"),
        receive("--wall 2mm"),
        receive("--container clear-glass --wall 2"),
        receive("--container clear-glass --wall 0mm"),
        receive("--container clear-glass --wall 900mm"),
        receive("--container clear-glass --diameter 1mm"),
        receive("--container bucket"),
        receive("--made 2031-04-02"),
        receive("--made 2031-03-02 --date 2031-03-01"),
        receive("--made soon"),
        "correct HP-1 1 --made 2031-03-02 --because x".to_owned(),
        "correct HP-1 1 --container amber-glass --wall 3mm --because x".to_owned(),
        "place add attic --sun 3".to_owned(),
        "place add attic --light dim --sun 3".to_owned(),
        "place add attic --light sill --sun 30".to_owned(),
        "place add attic --light sill --sun NaN".to_owned(),
        "place set cupboard --sun 3".to_owned(),
        "place add attic --light gloomy".to_owned(),
    ];
    let words: [&[&str]; 19] = [
        &["--wall", "amber-glass", "clear-glass"],
        &["--wall", "opaque-plastic", "clear-glass"],
        &["--wall", "unknown", "clear-glass"],
        &["`2`", "unit is missing", "mm"],
        &["--wall 0mm", "accepted"],
        &["--wall 900mm", "50 mm"],
        &["--diameter 1mm", "accepted"],
        &["`bucket`", "amber-glass"],
        &["--made 2031-04-02", "2031-04-01"],
        &["--made 2031-03-02", "2031-03-01"],
        &["`soon`", "unknown"],
        &["--made 2031-03-02", "2031-03-01"],
        &["--wall", "amber-glass"],
        &["--sun", "dark", "sill"],
        &["--sun", "dim", "sill"],
        &["--sun", "`30`", "0 to 16"],
        &["--sun", "`NaN`", "0 to 16"],
        &["--sun", "dark"],
        &["`gloomy`", "bright"],
    ];
    let cases: Vec<(&str, i32, &[&str])> =
        lines.iter().zip(words).map(|(line, words)| (line.as_str(), 2, words)).collect();
    refused(&bench, "2031-04-01", &cases);
}

#[test]
fn logs_that_are_no_text_files() {
    let bench = with_bottles();
    fs::create_dir(bench.folder().join("logs")).unwrap();
    fs::write(bench.folder().join("latin.csv"), b"time,temperature \xb0C\n2031-03-01 12:00,20\n").unwrap();
    fs::write(bench.folder().join("zeros.csv"), [0_u8; 64]).unwrap();
    refused(
        &bench,
        "2031-04-01",
        &[
            ("place log cupboard none.csv", 4, &["none.csv"]),
            ("place log cupboard logs", 4, &["logs"]),
            ("place log cupboard latin.csv", 2, &["latin.csv", "UTF-8"]),
            ("place log cupboard zeros.csv", 2, &["zeros.csv"]),
            ("place log cupboard shelf.brimstock", 2, &["shelf.brimstock"]),
            ("place log attic latin.csv", 2, &["latin.csv"]),
        ],
    );
}

#[test]
fn the_highest_number_that_a_code_can_have_is_no_end() {
    let bench = Bench::new();
    let day = "2031-03-15";
    bench.on(day, "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --code HP-4294967295").ok();
    bench.on(day, "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
    bench.on(day, "show HP-1").ok();
    bench.on(day, "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard").ok();
    bench.on(day, "show HP-2").ok();
}

/// Words of libraries, which tell a keeper nothing.
const FOREIGN: [&str; 6] =
    ["invalid digit", "number too", "target type", "is not in ", "invalid float", "cannot parse integer"];

/// Asks every command below one for each of its arguments with a value that is none of anything.
fn odd_values(command: &clap::Command, tried: &mut usize) {
    for inner in command.get_subcommands() {
        odd_values(inner, tried);
    }
    for odd in ["qq", "99999999999999999999999", "-1", ""] {
        let mut lines: Vec<Vec<String>> = Vec::new();
        for argument in command.get_opts() {
            let long = argument.get_long().expect("every option has a long name");
            lines.push(vec![format!("--{long}={odd}")]);
        }
        lines.extend((1..=command.get_positionals().count()).map(|count| {
            let mut words = vec!["1".to_owned(); count - 1];
            words.push(odd.to_owned());
            words
        }));
        for line in lines {
            let words = std::iter::once(command.get_name().to_owned()).chain(line);
            let Err(error) = command.clone().try_get_matches_from(words) else { continue };
            let told = error.to_string();
            *tried += usize::from(told.contains("invalid value"));
            for word in FOREIGN {
                assert!(!told.contains(word), "`{word}`: {told}");
            }
            assert!(!told.contains("does not fit") || told.contains("accepted: a whole number from "), "{told}");
        }
    }
}

#[test]
fn only_a_near_name_is_asked_about() {
    let bench = Bench::new();
    let day = "2031-03-01";
    for (line, near) in [
        ("reagents foo", None),
        ("reagents saltpetre", None),
        ("reagents alun", Some("alum")),
        ("reagents formaldehyd", Some("formaldehyde")),
        ("reagents copper", Some("copper-sulfate")),
        ("dips foo", None),
        ("dips alum-soke", Some("alum-soak")),
        ("move S1 cup", None),
        ("dose alum-soak --bath 1L --in jug", None),
    ] {
        let ran = bench.on(day, line);
        assert_eq!(ran.code, 2, "{line}: {ran:?}");
        let asked = ran.stderr.split("did you mean `").nth(1).and_then(|rest| rest.split('`').next());
        assert_eq!(asked, near, "{line}: {ran:?}");
    }
    bench.on(day, "receive sodium-chloride 1kg --at cub").fails(2, &["no place `cub`"]);
    bench.on(day, "receive sodium-chloride 1kg --at cup").fails(2, &["did you mean `cupboard`?"]);
}

#[test]
fn no_value_is_refused_in_the_words_of_a_library() {
    let mut command = <brimstock::cli::Cli as clap::CommandFactory>::command();
    command.build();
    let mut tried = 0;
    odd_values(&command, &mut tried);
    assert!(tried > 150, "{tried} values were refused");
    let bench = Bench::new();
    let day = "2031-03-01";
    bench.on(day, "backup --keep 0").fails(2, &["'--keep <NUMBER>'", "`0` does not fit", "from 1 to 65535"]);
    bench.on(day, "--json backup --keep x").fails(2, &["--keep", "`x` does not fit", "from 1 to 65535"]);
    for (line, low, high) in [("due --days", 0, 3660), ("dose alum-soak --bath 1L --baths", 1, 500)] {
        for (value, fits) in [(low - 1, false), (low, true), (high, true), (high + 1, false)] {
            let ran = bench.on(day, &format!("{line}={value}"));
            assert_eq!(ran.stderr.contains("does not fit"), !fits, "{line} {value}: {ran:?}");
        }
    }
    // Files: the line, what is accepted, and the library's words in brackets behind.
    std::fs::write(bench.folder().join("local.toml"), "place = \"here\"\nfire = \"open\n").unwrap();
    for line in ["local", "local set place there"] {
        bench.on(day, line).fails(3, &["local.toml", "line 2: is no TOML from here on; accepted: `key = value`", " ("]);
    }
}
