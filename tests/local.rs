//! Whole commands of `local`: old and new files, each line set and refused, what is left open.

use std::fs;

use brimstock::catalogue::{Catalogue, Language};
use brimstock::disposal::local::{Local, TEMPLATE};
use brimstock::disposal::local_edit::LINES;
use brimstock::units::measure::Kitchen;
use serde_json::Value;

use crate::harness::Bench;

const DAY: &str = "2028-03-15";

/// A file of before there were days, references and a [print], with its comments.
const OLD: &str = r#"# mine, of the spring
place = "Marrowmere" # the glasshouse
emergency = "000"
poison_centre = "111"

# from the letter
[[drain]]
reagent = "sodium-hypochlorite"
into = "sewer"
allowed = true
asked = "the water company"
on = "2027-02-01"
answer = "once a strip reads 0"

[[takes]]
who = "the district's collection"
classes = ["all"]
how = "label on"
phone = "555"
asked = "the district office"
on = "2026-03-15"
# the end
"#;

/// A file without a gap.
const FULL: &str = r#"
place = "Marrowmere"
emergency = "000"
fire = "112"
poison_centre = "111"
water_company = "333"
print = { language = "es", units = "us", paper = "A4", keeper = "bench 3" }

[[store]]
group = "peroxide"
most = "5 kg"
asked = "the fire warden"
on = "2026-03-14"
reference = "note F-4"

[[strength]]
reagent = "hydrogen-peroxide"
most = "12 % w/w"
asked = "the licensing office"
on = "2027-02-01"
reference = "by telephone"

[[drain]]
reagent = "sodium-hypochlorite"
into = "sewer"
allowed = true
asked = "the water company"
on = "2027-02-01"
reference = "letter W-17"
answer = "once a strip reads 0"

[[takes]]
who = "the district's collection"
classes = ["all"]
days = "first Saturday"
how = "label on"
phone = "555"
asked = "the district office"
on = "2026-03-15"
reference = "leaflet 9"
"#;

fn rules(bench: &Bench, text: &str) {
    fs::write(bench.folder().join("local.toml"), text).unwrap();
}

fn written(bench: &Bench) -> String {
    fs::read_to_string(bench.folder().join("local.toml")).unwrap()
}

fn set(bench: &Bench, key: &str, value: &str) -> String {
    bench.run(&["local", "set", key, value]).ok()
}

fn read(text: &str) -> Local {
    Local::read(Catalogue::shipped().unwrap(), text).unwrap()
}

/// What `local check` lists under a heading, and its exit code.
fn checked(bench: &Bench, list: &str) -> (Vec<String>, i32) {
    let ran = bench.on(DAY, "--json local check");
    let keys = ran.json()[list].as_array().unwrap().iter().map(|row| row["key"].as_str().unwrap().to_owned()).collect();
    (keys, ran.code)
}

#[test]
fn a_local_file_of_before_reads_as_it_did() {
    let local = read(OLD);
    assert_eq!((local.fire, local.water_company), (None, None));
    assert_eq!(local.print, brimstock::disposal::local::Print::default());
    assert_eq!((&local.takers[0].days, &local.takers[0].asked.reference), (&None, &None));
    let bench = Bench::new();
    rules(&bench, OLD);
    let text = bench.on(DAY, "local").ok();
    let unwrapped = text.replace("\n  ", " ");
    assert!(unwrapped.contains("asked the water company on 2027-02-01: once a strip reads 0"), "{text}");
    assert!(text.contains("- fire: ") && text.contains("- water_company: "), "{text}");
    assert!(!text.contains("printed"), "{text}");
    assert_eq!(text, bench.on(DAY, "local show").ok());
}

#[test]
fn every_new_local_field_is_read_and_shown() {
    let local = read(FULL);
    assert_eq!(local.fire.as_deref(), Some("112"));
    assert_eq!(local.water_company.as_deref(), Some("333"));
    assert_eq!((local.print.language, local.print.units), (Some(Language::Spanish), Some(Kitchen::Us)));
    assert_eq!((local.print.paper.as_deref(), local.print.keeper.as_deref()), (Some("a4"), Some("bench 3")));
    let bench = Bench::new();
    bench.on("2028-01-01", "receive bleach \"5 % w/w\" 1L --at cupboard").ok();
    rules(&bench, FULL);
    let text = bench.on(DAY, "local").ok().replace("\n  ", " ");
    for line in [
        "fire: 112\n",
        "water company: 333\n",
        "printed in: es\n",
        "printed with measures: us\n",
        "printed on: a4\n",
        "printed as the keeper: bench 3\n",
        "asked the water company on 2027-02-01, letter W-17: once a strip reads 0\n",
        "the district's collection: everything; first Saturday; label on; ring 555; asked the district office on 2026-03-15, leaflet 9\n",
    ] {
        assert!(text.contains(line), "`{line}` is missing: {text}");
    }
    let data = bench.on(DAY, "--json local").json();
    assert_eq!((&data["fire"], &data["water_company"]), (&Value::from("112"), &Value::from("333")));
    assert_eq!(data["print"], serde_json::json!({"language": "es", "units": "us", "paper": "a4", "keeper": "bench 3"}));
    assert_eq!((&data["takes"][0]["days"], &data["takes"][0]["phone"]), (&"first Saturday".into(), &"555".into()));
    for (row, reference) in
        [("store", "note F-4"), ("strength", "by telephone"), ("drain", "letter W-17"), ("takes", "leaflet 9")]
    {
        assert_eq!(data[row][0]["reference"], reference, "{data}");
    }
    let plan = bench.on(DAY, "discard BL-1").ok().replace("\n  ", " ");
    assert!(plan.contains("first Saturday") && plan.contains("leaflet 9"), "{plan}");
    let bath = bench.on(DAY, "quench \"100 mg/L\" --of bleach --bath 1L").stdout.replace("\n  ", " ");
    assert!(bath.contains("letter W-17"), "{bath}");
    rules(&bench, &FULL.replace("letter W-17", " ").replace("first Saturday", ""));
    let data = bench.on(DAY, "--json local").json();
    assert!(data["drain"][0]["reference"].is_null() && data["takes"][0]["days"].is_null(), "{data}");
}

#[test]
fn every_fault_of_the_local_print_table_is_told() {
    let bench = Bench::new();
    let all = "fire = 112\n[print]\nlanguage = \"fr\"\nunits = \"australian\"\npaper = \"a3\"\nkeeper = 3\nsupplier = \"x\"\n[[takes]]\nwho = \"x\"\nclasses = [\"all\"]\ndays = 6\nasked = \"x\"\non = \"2028-01-01\"\nreference = 17\n";
    let faults = [
        "8 faults",
        "fire: text in quotes is wanted",
        "print.language: `fr` is not known; accepted: en, es, or \"\" for none",
        "print.units: `australian` is not known; accepted: metric, us, imperial",
        "print.paper: `a3` is not known; accepted: a4, a5, a6, letter",
        "print.keeper: text in quotes is wanted",
        "print.supplier: is no key; accepted: language, units, paper, keeper",
        "takes[1].days: text in quotes is wanted",
        "takes[1].reference: text in quotes is wanted",
    ];
    for line in ["local", "local show", "local check", "local set fire 112"] {
        rules(&bench, all);
        bench.on(DAY, line).fails(3, &faults);
        assert_eq!(written(&bench), all, "{line}");
    }
    rules(&bench, "print = \"a4\"");
    bench.on(DAY, "local").fails(3, &["a fault", "print: lines of the form key = value are wanted, below [print]"]);
    rules(&bench, "[print]\nlanguage = \"\"\nunits = \"\"\npaper = \"\"\nkeeper = \"\"\n");
    bench.on(DAY, "local").ok();
}

#[test]
fn every_local_line_is_set_and_emptied_and_all_others_stay() {
    for (key, value) in [
        ("place", "Isle of \"Nowhere\" \\ north"),
        ("jurisdiction", "UK"),
        ("emergency", "112"),
        ("fire", "the warden's bell"),
        ("poison_centre", "+00 111"),
        ("water_company", "ring 333, mornings"),
        ("print.language", "es"),
        ("print.units", "imperial"),
        ("print.paper", "letter"),
        ("print.keeper", "J. M."),
    ] {
        assert!(LINES.contains(&key));
        for (before, has_it) in [(OLD, OLD.contains(&format!("\n{key} = "))), (TEMPLATE, true)] {
            let bench = Bench::new();
            rules(&bench, before);
            let said = set(&bench, key, &format!(" {value} "));
            assert!(said.starts_with(&format!("{key} is \"{value}\" from now on in ")), "{said}");
            let after = written(&bench);
            let field = |text: &str| {
                let file: toml::Table = toml::from_str(text).unwrap();
                key.split('.').try_fold(toml::Value::Table(file), |value, key| value.get(key).cloned())
            };
            assert_eq!(field(&after), Some(toml::Value::from(value)), "{after}");
            let new =
                after.lines().filter(|line| !before.lines().any(|old| old == *line) && *line != "[print]").count();
            assert_eq!(new, 1, "one line is new: {after}");
            let stays = |old: &&str| {
                after.lines().any(|line| line == *old) || (has_it && old.starts_with(key.rsplit('.').next().unwrap()))
            };
            assert!(before.lines().all(|old| stays(&old)), "{after}");
            set(&bench, key, "");
            assert_eq!(field(&written(&bench)), Some(toml::Value::from("")));
            bench.on(DAY, "local").ok();
        }
    }
    assert_eq!(LINES.len(), 10);
}

#[test]
fn a_local_line_is_set_where_it_stands() {
    for (before, key, value, after) in [
        (
            "place = 'x'   # here\n  fire   =   \"1\" # there\n",
            "fire",
            "2",
            "place = 'x'   # here\n  fire   =   \"2\" # there\n",
        ),
        ("place = \"x\" # one\r\n\r\n# end\r\n", "fire", "1", "place = \"x\" # one\r\nfire = \"1\"\r\n\r\n# end\r\n"),
        ("place = \"x\"", "fire", "1", "place = \"x\"\nfire = \"1\"\n"),
        ("", "print.paper", "a5", "[print]\npaper = \"a5\"\n"),
        ("print.paper = \"a4\" # p\n", "print.units", "us", "print.paper = \"a4\" # p\nprint.units = \"us\"\n"),
        ("print = { paper = \"a4\" }\n", "print.paper", "a6", "print = { paper = \"a6\" }\n"),
        (
            "[print]\n# mine\npaper = \"a4\" # p\n\n# end\n",
            "print.paper",
            "a6",
            "[print]\n# mine\npaper = \"a6\" # p\n\n# end\n",
        ),
        ("[print]\npaper = \"a4\"\n", "fire", "1", "fire = \"1\"\n[print]\npaper = \"a4\"\n"),
    ] {
        let bench = Bench::new();
        rules(&bench, before);
        set(&bench, key, value);
        assert_eq!(written(&bench), after);
    }
}

#[test]
fn a_local_file_that_is_not_there_is_made_from_the_template() {
    let bench = Bench::new();
    bench.on(DAY, "local set print.paper a3").fails(2, &["print.paper: `a3` is not known", "nothing was changed"]);
    assert!(!bench.folder().join("local.toml").exists());
    let said = set(&bench, "fire", "112").replace("\n", " ");
    assert!(said.contains("made with a line for everything"), "{said}");
    assert_eq!(written(&bench), TEMPLATE.replace("\nfire = \"\"\n", "\nfire = \"112\"\n"));
    assert!(!set(&bench, "fire", "113").contains("was made"));
    let beside: Vec<_> = fs::read_dir(bench.folder()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(beside.len(), 2, "the register and the local rules: {beside:?}");
}

#[test]
fn local_set_refuses_and_changes_nothing() {
    let bench = Bench::new();
    rules(&bench, OLD);
    let refused = |arguments: [&str; 2], code: i32, words: &[&str]| {
        bench.run(&["local", "set", arguments[0], arguments[1]]).fails(code, words);
        assert_eq!(written(&bench), OLD);
    };
    refused(
        ["jurisdiction", "Mars"],
        2,
        &["jurisdiction: `Mars` is not known; accepted: EU, UK, US", "nothing was changed"],
    );
    refused(["print.language", "fr"], 2, &["print.language: `fr` is not known; accepted: en, es"]);
    refused(["print.units", "australian"], 2, &["print.units: `australian`", "accepted: metric, us, imperial"]);
    refused(["print.paper", "a3"], 2, &["print.paper: `a3`", "accepted: a4, a5, a6, letter"]);
    refused(["fire", "1\n2"], 2, &["fire: one line of text is wanted"]);
    for key in ["colour", "print", "print.supplier", "place.x", "Fire", ""] {
        let known = "accepted: place, jurisdiction, emergency, fire, poison_centre, water_company, print.language";
        refused([key, "x"], 2, &[&format!("there is no line `{key}` in the local rules"), known]);
    }
    for (key, row) in [
        ("takes", "takes"),
        ("takes.days", "takes"),
        ("store[1].most", "store"),
        ("drain", "drain"),
        ("strength.most", "strength"),
    ] {
        let says = format!("`{key}` is not set from here: [[{row}]] is a table of rows");
        refused(
            [key, "x"],
            2,
            &[&says, &format!("write [[{row}]] into "), "local.toml", "local --template", "accepted: place"],
        );
    }
    bench.on(DAY, "local set fire").fails(2, &["<VALUE>"]);
    bench.on(DAY, "local --template check").fails(2, &["--template"]);
    rules(&bench, "place = ");
    bench.on(DAY, "local set place x").fails(3, &["a fault", "line 1"]);
    assert_eq!(written(&bench), "place = ");
    fs::write(bench.folder().join("local.toml"), b"place = \"\xff\"").unwrap();
    bench.on(DAY, "local set place x").fails(4, &["local.toml", "cannot be read"]);
    let nowhere = bench.folder().join("nowhere/shelf.brimstock");
    let nowhere = ["--register", nowhere.to_str().unwrap(), "local", "set", "fire", "1"];
    let ran = bench.command().env_remove("BRIMSTOCK_REGISTER").args(nowhere).output().unwrap();
    let said = String::from_utf8(ran.stderr).unwrap();
    assert!(
        ran.status.code() == Some(4) && said.contains("cannot be written") && said.contains("brimstock new"),
        "{said}"
    );
}

#[cfg(unix)]
#[test]
fn a_local_file_keeps_its_rights_and_its_link() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let bench = Bench::new();
    let (link, real) = (bench.folder().join("local.toml"), bench.folder().join("elsewhere.toml"));
    fs::write(&real, OLD).unwrap();
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
    symlink("elsewhere.toml", &link).unwrap();
    set(&bench, "fire", "112");
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert!(fs::read_to_string(&real).unwrap().contains("fire = \"112\""));
    assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
    fs::set_permissions(&real, fs::Permissions::from_mode(0o444)).unwrap();
    bench.on(DAY, "local set fire 113").fails(4, &["cannot be written", "read-only", "nothing was changed"]);
    assert!(fs::read_to_string(&real).unwrap().contains("fire = \"112\""));
}

#[test]
fn local_check_lists_the_ruled_lines() {
    let bench = Bench::new();
    let scalars = ["place", "emergency", "fire", "poison_centre", "water_company"];
    let tables = ["store", "strength", "drain", "takes", "print.keeper"];
    let everything = [&scalars[..], &tables].concat();
    assert_eq!(checked(&bench, "by_hand"), (everything.iter().map(|key| (*key).to_owned()).collect(), 1));
    let text = bench.on(DAY, "local check").stdout;
    assert!(text.starts_with("there are no local rules beside the register") && text.contains("- fire: "), "{text}");
    rules(&bench, TEMPLATE);
    assert_eq!(checked(&bench, "by_hand").0, everything);
    rules(&bench, OLD);
    let rows = ["takes[1].days", "drain[1].reference", "takes[1].reference"];
    let left = ["fire", "water_company", "store", "strength", "print.keeper"];
    assert_eq!(checked(&bench, "by_hand").0, [&left[..], &rows].concat());
    rules(&bench, &OLD.replace("phone = \"555\"", "phone = \"\"\ndays = \"Mondays\""));
    assert!(checked(&bench, "by_hand").0.contains(&"takes[1].phone".to_owned()));
    rules(&bench, &OLD.replace("[\"all\"]", "[\"peroxide\"]"));
    assert!(checked(&bench, "by_hand").0.contains(&"takes".to_owned()), "nobody takes the other classes");
}

#[test]
fn local_check_says_yes_to_a_full_file_and_names_old_answers() {
    let bench = Bench::new();
    rules(&bench, FULL);
    assert_eq!(checked(&bench, "by_hand"), (Vec::new(), 0));
    // Two years and a day; the taker was asked two years ago to the day.
    assert_eq!(checked(&bench, "ask_again"), (vec!["store[1]".to_owned()], 0));
    let text = bench.on(DAY, "local check").ok();
    assert!(text.contains("nothing is left to be filled in by hand\n"), "{text}");
    assert!(text.contains("ask again:\n- store[1]: the fire warden on 2026-03-14, note F-4\n"), "{text}");
    assert!(!bench.on("2028-03-14", "local check").ok().contains("ask again"));
    assert_eq!(bench.on("2027-01-01", "--json local check").json()["ask_again"][0]["key"], "strength[1]");
}
