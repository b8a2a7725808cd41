//! The suppliers' safety data sheets: attached, listed, shown, gone and changed; and every file that is none.

use std::fs::{self, File};
use std::path::PathBuf;

use brimstock::commands::sds::digest_of;

use crate::harness::Bench;

const DAY: &str = "2031-03-15";

/// A small invented sheet: what makes a PDF of it is its beginning.
const SHEET: &[u8] = b"%PDF-1.4\nan invented sheet about an invented bottle\n%%EOF\n";

/// Two bottles of peroxide and one of bleach on the shelf, one peroxide that has left, and a sheet in the folder.
fn with_bottles() -> Bench {
    let bench = Bench::new();
    for line in [
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard",
        "receive bleach \"5.25 % w/w\" 1L --at cupboard",
        "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --code gone",
        "retire gone --because \"used up\"",
    ] {
        bench.on("2031-03-01", line).ok();
    }
    fs::write(bench.folder().join("peroxide.pdf"), SHEET).unwrap();
    bench
}

fn copy_of(bench: &Bench, bytes: &[u8]) -> PathBuf {
    bench.folder().join("shelf.sheets").join(format!("{}.pdf", digest_of(bytes)))
}

/// How many lines the register has about sheets.
fn rows(bench: &Bench) -> i64 {
    let register = rusqlite::Connection::open(bench.register()).unwrap();
    register.query_row("SELECT count(*) FROM sheet", [], |row| row.get(0)).unwrap()
}

#[test]
fn digests_are_those_of_the_standard() {
    // FIPS 180-4, the published examples of SHA-256: one block, two blocks; and the empty message.
    for (message, digest) in [
        ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    ] {
        assert_eq!(digest_of(message.as_bytes()), digest, "{message}");
    }
}

#[test]
fn a_sheet_is_copied_entered_and_shown() {
    let bench = with_bottles();
    assert!(bench.on(DAY, "show HP-1").ok().contains("data sheet: none; brimstock sds attach HP-1 FILE\n"));
    assert!(bench.on(DAY, "--json show HP-1").json()["sheet"].is_null());
    let said = bench.on(DAY, "sds attach hp-1 peroxide.pdf --revised 2029-05-04").ok();
    let copy = copy_of(&bench, SHEET);
    assert!(said.contains("HP-1: data sheet peroxide.pdf attached, revised 2029-05-04"), "{said}");
    assert!(said.contains(&format!("copy: {}\n", copy.display())), "{said}");
    assert!(said.contains("without a sheet: HP-2;") && said.contains("`brimstock sds attach HP-2 FILE`"), "{said}");
    assert!(!said.contains("check:") && !said.contains("not given"), "{said}");
    assert_eq!(fs::read(&copy).unwrap(), SHEET);
    assert_eq!(fs::read(bench.folder().join("peroxide.pdf")).unwrap(), SHEET, "the file itself stays");
    assert_eq!(fs::read_dir(copy.parent().unwrap()).unwrap().count(), 1, "no temporary file is left");
    let shown = bench.on(DAY, "show HP-1").ok();
    assert!(shown.contains(&format!("data sheet: {} (revised 2029-05-04)\n", copy.display())), "{shown}");
    let sheet = bench.on(DAY, "--json show HP-1").json()["sheet"].clone();
    assert_eq!(sheet["path"], copy.to_str().unwrap());
    assert_eq!(sheet["name"], "peroxide.pdf");
    assert_eq!(sheet["digest"], digest_of(SHEET));
    assert_eq!(sheet["revised"], "2029-05-04");
    assert_eq!(sheet["copy"], "there");
    assert!(sheet["check"].is_null());
    assert!(bench.on(DAY, "show gone").ok().contains("data sheet: none\n"), "a stock that has left needs none");
}

#[cfg(unix)]
#[test]
fn the_copy_is_for_its_owners_eyes_only() {
    use std::os::unix::fs::PermissionsExt;
    let bench = with_bottles();
    bench.on(DAY, "sds attach HP-1 peroxide.pdf").ok();
    let copy = copy_of(&bench, SHEET);
    assert_eq!(fs::metadata(&copy).unwrap().permissions().mode() & 0o777, 0o600);
    assert_eq!(fs::metadata(copy.parent().unwrap()).unwrap().permissions().mode() & 0o777, 0o700);
}

#[test]
fn the_path_alone_is_one_line() {
    let bench = with_bottles();
    bench.on(DAY, "show HP-1 --sds").fails(3, &["`HP-1` has no data sheet", "brimstock sds attach HP-1 FILE"]);
    bench.on(DAY, "show HP-9 --sds").fails(2, &["there is no stock `HP-9`"]);
    bench.on(DAY, "sds attach HP-1 peroxide.pdf").ok();
    let copy = copy_of(&bench, SHEET);
    assert_eq!(bench.on(DAY, "show HP-1 --sds").ok(), format!("{}\n", copy.display()));
    assert_eq!(bench.on(DAY, "--json show HP-1 --sds").json()["sheet"]["path"], copy.to_str().unwrap());
    fs::write(&copy, b"%PDF-1.4\nanother").unwrap();
    let ran = bench.on(DAY, "show HP-1 --sds");
    assert!(ran.stderr.contains("has changed since it was attached"), "{ran:?}");
    assert_eq!(ran.ok(), format!("{}\n", copy.display()));
    fs::remove_file(&copy).unwrap();
    bench.on(DAY, "show HP-1 --sds").fails(3, &["is missing", copy.to_str().unwrap(), "sds attach HP-1"]);
    // A register that is named from where one stands gives a path that holds from anywhere.
    bench.on(DAY, "--register shelf.brimstock sds attach HP-1 peroxide.pdf").ok();
    let shown = bench.on(DAY, "--register shelf.brimstock show HP-1 --sds").ok();
    assert!(PathBuf::from(shown.trim_end()).is_absolute(), "{shown}");
    // A stock that has left keeps the sheet it had.
    bench.on(DAY, "retire HP-1 --because \"used up\"").ok();
    bench.on(DAY, "show HP-1 --sds").ok();
}

#[test]
fn a_copy_that_is_gone_or_changed_is_told_and_put_back() {
    let bench = with_bottles();
    bench.on(DAY, "sds attach HP-1 peroxide.pdf --revised 2030-01-01").ok();
    let copy = copy_of(&bench, SHEET);
    // As long as before, so that only its digest tells.
    let mut other = SHEET.to_vec();
    other[20] ^= 1;
    let spoil: [(&dyn Fn(), &str, &str); 4] = [
        (&|| fs::write(&copy, &other).unwrap(), "changed", "changed since it was attached"),
        (&|| fs::write(&copy, b"").unwrap(), "changed", "changed since it was attached"),
        (&|| fs::remove_file(&copy).unwrap(), "missing", "missing"),
        (&|| fs::remove_dir_all(copy.parent().unwrap()).unwrap(), "missing", "missing"),
    ];
    for (spoil, word, words) in spoil {
        spoil();
        let shown = bench.on(DAY, "show HP-1").ok();
        let line = shown.lines().find(|line| line.starts_with("data sheet: ")).unwrap();
        assert!(line.contains(words) && line.contains(copy.to_str().unwrap()), "{line}");
        assert_eq!(bench.on(DAY, "--json show HP-1").json()["sheet"]["copy"], word);
        assert!(bench.on(DAY, "sds list").ok().contains(&format!("HP-1: {words}")));
        let missing = bench.on(DAY, "sds list --missing");
        assert_eq!(missing.code, 1);
        assert!(missing.stdout.contains("HP-1") && missing.stdout.contains(words), "{missing:?}");
        assert!(!missing.stdout.contains("HP-1 holds the same reagent"), "only a whole sheet is offered: {missing:?}");
        let said = bench.on(DAY, "sds attach HP-1 peroxide.pdf").ok().replace('\n', " ");
        assert!(said.contains("attached already") && said.contains("its copy was put back"), "{said}");
        assert_eq!(fs::read(&copy).unwrap(), SHEET);
        assert_eq!(rows(&bench), 1, "what is known already is not entered again");
    }
}

#[test]
fn the_same_sheet_again_changes_nothing() {
    let bench = with_bottles();
    bench.on(DAY, "sds attach HP-1 peroxide.pdf --revised 2030-01-01").ok();
    let before = fs::read(bench.register()).unwrap();
    for line in ["sds attach HP-1 peroxide.pdf", "sds attach HP-1 peroxide.pdf --revised 2030-01-01"] {
        let said = bench.on(DAY, line).ok();
        assert!(said.contains("this very sheet is attached already, as peroxide.pdf; nothing was written"), "{said}");
        assert_eq!(bench.on(DAY, &format!("--json {line}")).json()["entered"], false);
        assert!(fs::read(bench.register()).unwrap() == before, "{line} left a trace");
    }
    // Another date is news, and so is another file.
    bench.on(DAY, "sds attach HP-1 peroxide.pdf --revised 2030-02-01").ok();
    assert_eq!(bench.on(DAY, "--json show HP-1").json()["sheet"]["revised"], "2030-02-01");
    let newer = [SHEET, b"newer"].concat();
    fs::write(bench.folder().join("newer.pdf"), &newer).unwrap();
    bench.on(DAY, "sds attach HP-1 newer.pdf").ok();
    assert_eq!(bench.on(DAY, "--json show HP-1").json()["sheet"]["digest"], digest_of(&newer));
    assert_eq!(rows(&bench), 3, "the earlier ones stay in the register");
    // Back to the first: what was attached last holds.
    bench.on(DAY, "sds attach HP-1 peroxide.pdf").ok();
    assert_eq!(bench.on(DAY, "--json show HP-1").json()["sheet"]["digest"], digest_of(SHEET));
}

#[test]
fn a_copy_without_a_line_is_used_again() {
    let bench = with_bottles();
    let copy = copy_of(&bench, SHEET);
    fs::create_dir(copy.parent().unwrap()).unwrap();
    fs::write(&copy, SHEET).unwrap();
    assert_eq!(bench.on(DAY, "--json sds list").json()["sheets"][0]["missing"], true);
    let answer = bench.on(DAY, "--json sds attach HP-1 peroxide.pdf").json();
    assert_eq!((&answer["entered"], &answer["copied"]), (&true.into(), &false.into()), "{answer}");
    assert_eq!(bench.on(DAY, "--json show HP-1").json()["sheet"]["copy"], "there");
    // A copy that was cut short is not.
    fs::write(&copy, &SHEET[..9]).unwrap();
    assert_eq!(bench.on(DAY, "--json sds attach HP-2 peroxide.pdf").json()["copied"], true);
    assert_eq!(fs::read(&copy).unwrap(), SHEET);
}

#[test]
fn stocks_of_a_reagent_may_share_a_sheet() {
    let bench = with_bottles();
    bench.on(DAY, "sds attach HP-1 peroxide.pdf --revised 2030-01-01").ok();
    let copy = copy_of(&bench, SHEET);
    let list = bench.on(DAY, "sds list").ok();
    assert!(list.contains("HP-2: HP-1 holds the same reagent"), "{list}");
    assert!(!list.contains("BL-1: HP-1"), "{list}");
    let command = format!("brimstock sds attach HP-2 \"{}\"", copy.display());
    assert!(list.contains(&command), "{list}");
    let said = bench.on(DAY, command.trim_start_matches("brimstock ")).ok();
    assert!(said.contains("assumed: revised 2030-01-01, as it was told of the same file before"), "{said}");
    let list = bench.on(DAY, "sds list").ok();
    assert!(list.contains("HP-1: the same file as that of HP-2"), "{list}");
    let answer = bench.on(DAY, "--json sds list").json();
    assert_eq!(answer["sheets"][1]["name"], "peroxide.pdf", "a copy out of the folder keeps its name: {answer}");
    assert_eq!(answer["sheets"][1]["shared_with"][0], "HP-1");
    assert_eq!(answer["sheets"][1]["revised"], "2030-01-01");
    assert!(!list.contains("HP-2: the same file"), "told once: {list}");
    assert_eq!(fs::read_dir(copy.parent().unwrap()).unwrap().count(), 1);
}

#[test]
fn the_list_tells_what_is_missing() {
    let bench = with_bottles();
    let ran = bench.on(DAY, "sds list --missing");
    assert_eq!(ran.code, 1, "{ran:?}");
    for word in ["Without a whole data sheet", "HP-1", "HP-2", "next: ask the supplier"] {
        assert!(ran.stdout.contains(word), "`{word}` is missing: {ran:?}");
    }
    assert!(!ran.stdout.contains("gone"), "{ran:?}");
    let answer = bench.on(DAY, "--json sds list").json();
    assert_eq!((&answer["format"], answer["sheets"].as_array().unwrap().len()), (&1.into(), 3), "{answer}");
    let bare = &answer["sheets"][0];
    assert_eq!((&bare["stock"], &bare["reagent"]), (&"HP-1".into(), &"hydrogen-peroxide".into()));
    assert_eq!(bare["missing"], true);
    for field in ["name", "path", "digest", "revised", "age_months", "check", "copy", "may_share_with"] {
        assert!(bare.get(field).is_some_and(serde_json::Value::is_null), "{field}: {bare}");
    }
    let codes: Vec<String> =
        answer["sheets"].as_array().unwrap().iter().map(|sheet| sheet["stock"].as_str().unwrap().to_owned()).collect();
    for code in &codes {
        bench.on(DAY, &format!("sds attach {code} peroxide.pdf --revised 2029-05-04")).ok();
    }
    let said = bench.on(DAY, "sds list --missing").ok();
    assert!(said.contains("every stock on the shelf on 2031-03-15 has its data sheet"), "{said}");
    assert_eq!(bench.on(DAY, "--json sds list --missing").json()["sheets"].as_array().unwrap().len(), 0);
    let list = bench.on(DAY, "sds list").ok();
    assert!(list.contains("peroxide.pdf") && list.contains("2029-05-04") && list.contains("22 months"), "{list}");
    let whole = bench.on(DAY, "--json sds list").json()["sheets"][0].clone();
    assert_eq!(whole["path"], copy_of(&bench, SHEET).to_str().unwrap());
    assert_eq!(whole["digest"], digest_of(SHEET));
    assert_eq!((&whole["missing"], &whole["revised"]), (&false.into(), &"2029-05-04".into()));
    let bench = Bench::new();
    assert!(bench.on(DAY, "sds list --missing").ok().contains("nothing stands on the shelf on 2031-03-15"));
}

#[test]
fn age_is_told_and_an_old_sheet_is_marked() {
    let bench = with_bottles();
    let said = bench.on(DAY, "sds attach HP-1 peroxide.pdf").ok();
    assert!(said.contains("revision date not given: read it off the first page, `--revised`"), "{said}");
    assert!(bench.on(DAY, "sds list").ok().contains("HP-1: revision date not given"));
    assert!(bench.on(DAY, "show HP-1").ok().contains("(revision date not given)"));
    assert_eq!(bench.on(DAY, "--json sds list").json()["sheets"][0]["check"], "revision date not given");
    // Three years to the day are not yet more than three years.
    for (revised, age, old) in [
        ("2028-03-15", "3 years", false),
        ("2028-03-14", "3 years", true),
        ("2019-01-01", "12 years", true),
        ("2031-02-15", "1 month", false),
        ("2031-02-16", "0 months", false),
        ("2029-03-16", "23 months", false),
    ] {
        let said = bench.on(DAY, &format!("sds attach HP-1 peroxide.pdf --revised {revised}")).ok();
        let mark = "check: older than 3 years [judgement]";
        assert_eq!(said.contains(mark), old, "{revised}: {said}");
        let list = bench.on(DAY, "sds list").ok();
        assert_eq!(list.contains(mark), old, "{revised}: {list}");
        let row = list.lines().find(|line| line.starts_with("HP-1 ")).unwrap();
        assert!(row.ends_with(&format!("{revised}  {age}")), "{revised}: {row}");
        assert_eq!(bench.on(DAY, "show HP-1").ok().contains(mark), old, "{revised}");
        let check = bench.on(DAY, "--json sds list").json()["sheets"][0]["check"].clone();
        assert_eq!(check == "older than 3 years", old, "{check}");
    }
    // Asked for a day before its revision, it has no age yet.
    assert!(bench.on("2031-03-02", "--json sds list").json()["sheets"][0]["age_months"].is_number());
    bench.on(DAY, "sds attach HP-1 peroxide.pdf --revised 2031-03-14").ok();
    assert!(bench.on("2031-03-02", "--json sds list").json()["sheets"][0]["age_months"].is_null());
}

#[test]
fn what_is_no_sheet_is_refused_and_leaves_no_trace() {
    let bench = with_bottles();
    let folder = bench.folder();
    fs::write(folder.join("empty.pdf"), "").unwrap();
    fs::write(folder.join("page.pdf"), "<html>no sheet</html>").unwrap();
    fs::write(folder.join("late.pdf"), [&[b' '; 1020], SHEET].concat()).unwrap();
    File::create(folder.join("huge.pdf")).unwrap().set_len(50_000_001).unwrap();
    fs::create_dir(folder.join("drawer.pdf")).unwrap();
    let before = fs::read(bench.register()).unwrap();
    let accepted = "accepted: the supplier's sheet as a PDF of at most 50 MB";
    for (line, code, words) in [
        ("sds attach HP-1 empty.pdf", 2, vec!["empty.pdf is empty", accepted]),
        ("sds attach HP-1 page.pdf", 2, vec!["page.pdf is not a PDF", "`%PDF-`", accepted]),
        ("sds attach HP-1 late.pdf", 2, vec!["late.pdf is not a PDF", "1024 bytes"]),
        ("sds attach HP-1 huge.pdf", 2, vec!["huge.pdf is larger than 50 MB", accepted]),
        ("sds attach HP-1 drawer.pdf", 4, vec!["drawer.pdf cannot be read", "it is a folder"]),
        ("sds attach HP-1 no-such.pdf", 4, vec!["no-such.pdf cannot be read"]),
        ("sds attach HP-7 peroxide.pdf", 2, vec!["there is no stock `HP-7`", "did you mean"]),
        ("sds attach gone peroxide.pdf", 2, vec!["`gone` left the shelf on 2031-03-01", "nothing was written"]),
        (
            "sds attach HP-1 peroxide.pdf --revised 2031-03-16",
            2,
            vec!["--revised 2031-03-16 lies in the future: today is 2031-03-15"],
        ),
        ("sds attach HP-1 peroxide.pdf --revised 4.5.2029", 2, vec!["--revised", "4.5.2029", "YYYY-MM-DD"]),
        ("sds attach HP-1", 2, vec!["<FILE>"]),
        ("sds attach HP-1 \"\"", 2, vec!["FILE"]),
        ("sds", 2, vec!["attach", "list"]),
    ] {
        bench.on(DAY, line).fails(code, &words);
        assert!(fs::read(bench.register()).unwrap() == before, "{line} left a trace");
        assert!(!folder.join("shelf.sheets").exists(), "{line} left a copy");
    }
    bench.on("2031-02-01", "sds attach HP-1 peroxide.pdf").fails(2, &["was not on the shelf on 2031-02-01"]);
    let error = bench.on(DAY, "--json sds attach HP-1 empty.pdf").stderr;
    assert!(error.contains("\"kind\":\"question\""), "{error}");
    // The word may stand anywhere within the first 1024 bytes, up to the last.
    fs::write(folder.join("last.pdf"), [&[b' '; 1019], SHEET].concat()).unwrap();
    bench.on(DAY, "sds attach HP-1 last.pdf").ok();
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_or_is_a_pipe_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let bench = with_bottles();
    bench.on(DAY, "sds attach HP-1 /dev/null").fails(4, &["/dev/null cannot be read: it is no ordinary file"]);
    let file = bench.folder().join("peroxide.pdf");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o000)).unwrap();
    // Whoever may read everything cannot be refused.
    if File::open(&file).is_err() {
        bench.on(DAY, "sds attach HP-1 peroxide.pdf").fails(4, &["peroxide.pdf cannot be read"]);
    }
}

#[test]
fn nothing_half_is_left_when_the_copy_cannot_be_written() {
    let bench = with_bottles();
    let folder = bench.folder().join("shelf.sheets");
    fs::write(&folder, "a file where the folder should be").unwrap();
    let before = fs::read(bench.register()).unwrap();
    let words = ["shelf.sheets", "the sheet was not attached"];
    bench.on(DAY, "sds attach HP-1 peroxide.pdf").fails(4, &words);
    assert!(fs::read(bench.register()).unwrap() == before);
    fs::remove_file(&folder).unwrap();
    // Something else under the copy's name: the temporary file goes, and no line is entered.
    fs::create_dir_all(copy_of(&bench, SHEET).join("inside")).unwrap();
    bench.on(DAY, "sds attach HP-1 peroxide.pdf").fails(4, &words);
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "no temporary file is left");
    assert!(fs::read(bench.register()).unwrap() == before);
}

#[test]
fn names_of_any_kind_are_kept_in_one_line() {
    let bench = with_bottles();
    let name = "Sicherheitsdatenblatt Wasserstoff 3 % – Ausgabe 2.PDF";
    fs::write(bench.folder().join(name), SHEET).unwrap();
    let said = bench.on(DAY, &format!("sds attach HP-1 \"{name}\"")).ok();
    assert!(said.replace('\n', " ").contains(name), "{said}");
    assert_eq!(bench.on(DAY, "--json show HP-1").json()["sheet"]["name"], name);
    #[cfg(unix)]
    {
        fs::write(bench.folder().join("two\nlines\u{1b}[2J.pdf"), SHEET).unwrap();
        bench.run(&["--on", DAY, "sds", "attach", "HP-2", "two\nlines\u{1b}[2J.pdf"]).ok();
        assert_eq!(bench.on(DAY, "--json show HP-2").json()["sheet"]["name"], "two?lines?[2J.pdf");
    }
}

#[test]
fn a_register_that_was_tampered_with_is_told() {
    let bench = with_bottles();
    bench.on(DAY, "sds attach HP-1 peroxide.pdf").ok();
    let register = rusqlite::Connection::open(bench.register()).unwrap();
    register.execute("UPDATE sheet SET name = 'other.pdf'", []).unwrap_err();
    register.execute("DELETE FROM sheet", []).unwrap_err();
    let digest = format!("{:/<64}", "../../elsewhere");
    register
        .execute(
            "INSERT INTO sheet (stock, name, digest, bytes, entered_at) VALUES (1, 'x.pdf', ?1, 9, '2031-03-15T12:00:00Z')",
            [digest],
        )
        .unwrap();
    drop(register);
    bench.on(DAY, "sds list").fails(4, &["is damaged", "does not read as it was written"]);
    brimstock::register::Register::open(&bench.register()).unwrap().seal_again().unwrap();
    bench.on(DAY, "sds list").fails(4, &["is damaged", "is no digest of a sheet"]);
}

#[test]
fn help_has_an_example_for_each_verb() {
    let bench = Bench::bare();
    for (line, example) in [
        ("sds --help", "brimstock sds list --missing"),
        ("sds attach --help", "brimstock sds attach HP-1 peroxide.pdf --revised 2029-05-04"),
        ("sds list --help", "brimstock sds list --missing"),
        ("show --help", "xdg-open \"$(brimstock show HP-1 --sds)\""),
    ] {
        let help = bench.on(DAY, line).ok();
        assert!(help.contains(example), "{line}: {help}");
    }
}
