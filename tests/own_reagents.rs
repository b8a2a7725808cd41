//! Reagents of the keeper's own: read beside the shipped ones, and every fault of a file told at once.

use std::fs;

use crate::harness::Bench;

const DAY: &str = "2031-03-15";

/// A fictional salt, whole and right.
pub const MARSH_SALT: &str = r#"
key = "marsh-salt"
name = "marsh salt"
code = "MS"
cas = { value = "7647-14-5", source = "memory" }
formula = { value = "NaCl", source = "memory" }
forms = ["solid"]

[solid]
purity = { value = 90, unit = "% w/w", relative_sd = 0.02, source = "memory" }
[[solid.spooned]]
kind = "coarse"
density = { value = 1.0, unit = "g/mL", relative_sd = 0.2, source = "memory" }

[[decay]]
form = "solid"
law = "keeps"
why = "Salt keeps."
source = "memory"
start = [{ condition = "sealed", factor = { value = 1, unit = "1", source = "memory" }, sd_ln = 0.02 },
    { condition = "opened", factor = { value = 1, unit = "1", source = "memory" }, sd_ln = 0.02 }]

[hazard]
source = "memory"
class = [{ class = "eye", category = "2", set_by = "supplier", source = "memory" }]
"#;

fn with_file(text: &str) -> Bench {
    let bench = Bench::new();
    let folder = bench.register().with_extension("reagents");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("marsh-salt.toml"), text).unwrap();
    bench
}

const CHECK: &str = "reagents check shelf.reagents/marsh-salt.toml";

#[test]
fn a_reagent_of_ones_own_is_received_shown_and_classified() {
    let bench = with_file(MARSH_SALT);
    assert!(bench.on(DAY, CHECK).ok().contains("nothing wrong"));
    bench.on(DAY, "receive marsh-salt 1kg --at cupboard").ok();
    assert!(bench.on(DAY, "shelf").ok().contains("MS-1"));
    assert!(bench.on(DAY, "reagents show marsh-salt").ok().contains("marsh salt"));
    let answer = bench.on(DAY, "--json classify MS-1").json();
    assert_eq!(answer["hazard_statements"][0]["code"], "H319", "{answer}");
    assert!(answer["unverified"].to_string().contains("marsh-salt"), "{answer}");
}

/// Whoever writes a file of their own reads the shipped ones first: limits, factors, doses and pH stand on the page.
#[test]
fn the_page_of_a_reagent_shows_its_limits_and_doses() {
    let bench = Bench::bare();
    for (reagent, words) in [
        (
            "hydrogen-peroxide",
            &[
                "eye damage or irritation, from 8 %: category 1",
                "swallowed: 500 mg/kg (converted",
                "by the rules of carriage",
            ][..],
        ),
        ("copper-sulfate", &["counted 10 times in sums (M-factor) [memory]", "swallowed: 481 mg/kg [memory]"]),
        ("sodium-hydroxide", &["pH about 11.5 from 0.013 % on"]),
        ("isopropanol", &["above 62.4 %: category 2, taken over from a like substance [judgement]"]),
    ] {
        let page = bench.on(DAY, &format!("reagents {reagent}")).ok();
        let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
        for word in words {
            assert!(flat.contains(word), "{reagent}: `{word}` is missing: {page}");
        }
    }
}

#[test]
fn every_fault_of_shape_is_told_at_once() {
    let text = MARSH_SALT
        .replace("name = \"marsh salt\"\n", "")
        .replace("forms = [\"solid\"]", "forms = [\"slab\"]")
        .replace("law = \"keeps\"", "law = \"stays\"")
        .replace("class = \"eye\"", "class = \"ear\"")
        .replace("[hazard]", "[colour]\nred = 1\n[hazard]");
    let bench = with_file(&text);
    let ran = bench.on(DAY, &format!("--json {CHECK}"));
    assert_eq!(ran.code, 1, "{ran:?}");
    let faults = ran.json()["faults"].as_array().unwrap().clone();
    for (key, what) in [
        ("name", "is missing"),
        ("forms", "accepted: solid, solution"),
        ("decay[1].law", "accepted: keeps, "),
        ("hazard.class[1].class", ", eye, "),
        ("colour", "accepted: key, name"),
    ] {
        let found = faults.iter().any(|fault| fault["key"] == key && fault["what"].as_str().unwrap().contains(what));
        assert!(found, "{key}: {what}: {faults:?}");
    }
}

/// The complaint names neither the value nor its key, and much of the file is read before it.
#[test]
fn a_figure_in_the_place_of_a_word_is_told_where_it_stands() {
    let bench = with_file(&MARSH_SALT.replace("category = \"2\"", "category = 9"));
    let ran = bench.on(DAY, &format!("--json {CHECK}"));
    assert_eq!(ran.code, 1, "{ran:?}");
    let faults = ran.json()["faults"].as_array().unwrap().clone();
    let keys: Vec<&str> = faults.iter().map(|fault| fault["key"].as_str().unwrap()).collect();
    assert_eq!(keys, ["hazard.class[1].category"], "{faults:?}");
}

/// Which keys belong into the table of a density its model says, and lists of tables lie in it: what is wrong is told where it
/// stands all the same, and nothing else is.
#[test]
fn a_fault_of_a_density_is_told_where_it_stands() {
    let solute = "[[solution.density.solutes]]\nformula = \"NaCl\"\nper_formula = 1\nc = [-0.003, 0.064, 1.014, 0.015, 3317]\n\
        range_c = [0, 140]\nw_max = 0.2\nsource = \"memory\"\n";
    let laliberte = format!("[solution.density]\nmodel = \"laliberte\"\nspread = 0.01\n{solute}");
    let polynomial = "[solution.density]\nmodel = \"polynomial\"\ncoefficients = [1, 0.5, 0]\nof = \"NaCl\"\nw_max = 0.2\n\
        range_c = [0, 40]\nspread = 0.01\nsource = \"memory\"\n";
    let points = "[solution.density]\nmodel = \"points\"\npoints = [[0, 1], [20, 1.1]]\n\
        temperature = [[0, 1.01], [20, 1], [40, 0.99]]\nspread = 0.01\nsource = \"memory\"\n";
    let cases: [(String, &[(&str, &str)]); 11] = [
        (laliberte.clone(), &[]),
        (
            "[solution.density]\nmodel = \"laliberte\"\nspread = 0.01\nsolutes = []\n".to_owned(),
            &[("solution.density.solutes", "give at least one")],
        ),
        (
            laliberte.replace(", 3317]", "]").replace("0.2", "\"much\"").replace("source = \"memory\"", "red = 1"),
            &[
                ("solution.density.solutes[1].c", "an array of length 5"),
                ("solution.density.solutes[1].red", "is no key; accepted: formula, per_formula, c"),
                ("solution.density.solutes[1].source", "is missing"),
                ("solution.density.solutes[1].w_max", "f64"),
            ],
        ),
        (
            format!("{laliberte}{}", solute.replace("range_c = [0, 140]\n", ""))
                .replace("spread = 0.01", "points = []"),
            &[
                ("solution.density.points", "is no key; accepted: solutes, spread"),
                ("solution.density.solutes[2].range_c", "is missing"),
                ("solution.density.spread", "is missing"),
            ],
        ),
        // The head is lost: its keys fall into the table above.
        (
            laliberte.replace("[solution.density]\n", ""),
            &[
                ("solution.density.model", "is missing"),
                ("solution.model", "is no key; accepted: sold"),
                ("solution.spread", "is no key; accepted: sold"),
            ],
        ),
        (polynomial.to_owned(), &[]),
        (
            polynomial.replace("coefficients = [1, 0.5, 0]\n", "").replace("of = \"NaCl\"", "of = 3"),
            &[("solution.density.coefficients", "is missing"), ("solution.density.of", "a string")],
        ),
        (points.to_owned(), &[]),
        (
            points.replace("temperature", "temperatures").replace("[20, 1.1]", "[20]"),
            &[
                ("solution.density.points", "an array of length 2"),
                ("solution.density.temperature", "is missing"),
                ("solution.density.temperatures", "is no key; accepted: points, temperature, spread, source"),
            ],
        ),
        (points.replace("\"points\"", "\"dots\""), &[("solution.density.model", "laliberte")]),
        // A key that is called as its table is.
        (
            points.replace("temperature", "density"),
            &[
                ("solution.density.density", "is no key; accepted: points, temperature, spread, source"),
                ("solution.density.temperature", "is missing"),
            ],
        ),
    ];
    for (density, wanted) in cases {
        let solution = format!(
            "[solution]\nbare_percent = [{{ up_to = 100, basis = \"w/w\", source = \"memory\" }}]\n{density}\n[[decay]]"
        );
        let ran = with_file(&MARSH_SALT.replace("[[decay]]", &solution)).on(DAY, &format!("--json {CHECK}"));
        let told = ran.json()["faults"].as_array().unwrap().clone();
        let keys: Vec<&str> = told.iter().map(|fault| fault["key"].as_str().unwrap()).collect();
        assert_eq!(keys, wanted.iter().map(|(key, _)| *key).collect::<Vec<_>>(), "{density}{told:#?}");
        for (fault, (_, what)) in told.iter().zip(wanted) {
            assert!(fault["what"].as_str().unwrap().contains(what), "{what}: {fault}");
        }
    }
}

/// A model may have the shape of one and give nothing that is a density; a coefficient without its point once led into a search
/// without end.
#[test]
fn a_model_that_gives_no_densities_is_told() {
    let with = |coefficients: &str| {
        let density = format!(
            "[solution]\nbare_percent = [{{ up_to = 100, basis = \"w/w\", source = \"memory\" }}]\n[solution.density]\n\
             model = \"polynomial\"\ncoefficients = {coefficients}\nof = \"NaCl\"\nw_max = 1\nrange_c = [0, 40]\n\
             spread = 0.01\nsource = \"memory\"\n\n[[decay]]"
        );
        with_file(&MARSH_SALT.replace("[[decay]]", &density))
    };
    for (coefficients, right) in [
        ("[1, 3.9, 0]", true),
        ("[1, 4.1, 0]", false),
        ("[1, -0.4, 0]", true),
        ("[1, -0.6, 0]", false),
        ("[1, nan, 0]", false),
    ] {
        let bench = with(coefficients);
        let ran = bench.on(DAY, CHECK);
        assert_eq!(ran.code, i32::from(!right), "{coefficients}: {ran:?}");
        if !right {
            assert!(
                ran.stdout.contains("solution.density: the density model of marsh salt"),
                "{coefficients}: {ran:?}"
            );
            bench.on(DAY, "shelf").fails(3, &["solution.density", "g/mL"]);
        }
    }
    // 1 + 3.9 w², w = 0.9: 4.159 g/mL, 3743.1 g/L. What is repeated runs to and fro between two contents.
    let said = with("[1, 0, 3.9]").on(DAY, "--json convert \"3743.1 g/L\" --of marsh-salt --to \"% w/w\"").json();
    assert!((said["value"].as_f64().unwrap() - 90.0).abs() < 0.001, "{said}");
}

/// Solution of salt: a solubility of which nothing can be dissolved, or more than all, is told.
#[test]
fn a_solubility_that_is_none_is_told() {
    for (points, right) in [
        ("[[0, 26], [40, 27]]", true),
        ("[[0, 26], [40, 99]]", true),
        ("[[0, 26], [40, 101]]", false),
        ("[[0, 0.1], [40, 27]]", true),
        ("[[0, 0], [40, 27]]", false),
        ("[[0, -1], [40, 27]]", false),
    ] {
        let solution = format!(
            "[solution]\nbare_percent = [{{ up_to = 100, basis = \"w/w\", source = \"memory\" }}]\n[solution.solubility]\n\
             basis = \"mass-percent\"\nof = \"NaCl\"\npoints = {points}\nspread = 0.01\nsource = \"memory\"\n\n[[decay]]"
        );
        let ran = with_file(&MARSH_SALT.replace("[[decay]]", &solution)).on(DAY, CHECK);
        assert_eq!(ran.code, i32::from(!right), "{points}: {ran:?}");
        assert_eq!(ran.stdout.contains("is nothing that water can hold"), !right, "{points}: {ran:?}");
    }
}

/// The reader of formulas calls itself at every parenthesis.
#[test]
fn a_formula_of_parentheses_without_end_is_refused() {
    let ran = with_file(&MARSH_SALT.replace("\"NaCl\"", &format!("\"{}\"", "(".repeat(200_000)))).on(DAY, CHECK);
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(ran.stdout.contains("formula"));
}

/// A dozen faults and more, several in one table, the same one twice, and faults of value beside them.
#[test]
fn every_fault_of_every_table_is_told_at_once() {
    let text = format!(
        "{}{}",
        MARSH_SALT
            .replace("name = \"marsh salt\"\n", "name = 7\n")
            .replace("7647-14-5", "7647-14-6")
            .replace("purity = { value = 90, unit = \"% w/w\",", "purity = { value = \"much\", colour = 1,")
            .replace("kind = \"coarse\"\n", "")
            .replace("why = \"Salt keeps.\"\n", "")
            .replace("condition = \"sealed\"", "condition = \"shut\"")
            .replace("set_by = \"supplier\", source = \"memory\"}", "set_by = \"supplier\" }")
            .replace(
                "class = [{ class = \"eye\", category = \"2\", set_by = \"supplier\", source = \"memory\" }]",
                "note = 3\nclass = [{ class = \"eye\", category = \"9\", set_by = \"nobody\" }, { class = \"skin\", \
                 category = \"9\", set_by = \"law\", source = \"no-such\", minimum = \"yes\" }]",
            ),
        "
[[carriage]]
un = \"UN12\"
class = 3
source = \"memory\"

[keeping]
needs = \"a place\"
never_in = []
not_in = [\"hat\"]
smell = true

[care]
groups = [\"plain-salt\"]
spill = 5
first_aid = \"plain\"
protection = \"plain\"
"
    );
    let ran = with_file(&text).on(DAY, &format!("--json {CHECK}"));
    assert_eq!(ran.code, 1, "{ran:?}");
    let faults = ran.json()["faults"].as_array().unwrap().clone();
    let wanted = [
        ("name", "string"),
        ("cas", "check digit"),
        ("solid.purity.value", "f64"),
        ("solid.purity.colour", "accepted: value, unit"),
        ("solid.purity.unit", "is missing"),
        ("solid.spooned[1].kind", "is missing"),
        ("decay[1].why", "is missing"),
        ("decay[1].start[1].condition", "accepted: sealed, "),
        ("hazard.note", "string"),
        ("hazard.class[1].category", "accepted: 1, 1A, "),
        ("hazard.class[1].set_by", "supplier"),
        ("hazard.class[1].source", "is missing"),
        ("hazard.class[2].category", "accepted: 1, 1A, "),
        ("hazard.class[2].minimum", "bool"),
        ("hazard.class.skin corrosion or irritation", "no source `no-such`"),
        ("carriage[1].class", "string"),
        ("carriage[1].group", "is missing"),
        ("carriage.un", "four figures"),
        ("keeping.needs", "sequence"),
        ("keeping.not_in", "is not known; accepted: "),
        ("keeping.smell", "accepted: needs"),
        ("keeping.source", "is missing"),
        ("care.groups", "`plain-salt` is not known"),
        ("care.spill", "string"),
        ("care.disposal", "is missing"),
        ("care.source", "is missing"),
    ];
    for (key, what) in wanted {
        let found = faults.iter().any(|fault| fault["key"] == key && fault["what"].as_str().unwrap().contains(what));
        assert!(found, "{key}: {what}: {faults:#?}");
    }
    assert!(!ran.stdout.contains("stand-in"), "{faults:#?}");
    let invented: Vec<_> = faults.iter().filter(|fault| !wanted.iter().any(|(key, _)| fault["key"] == *key)).collect();
    assert!(invented.is_empty(), "{invented:#?}");
}

#[test]
fn every_fault_of_value_is_told_at_once() {
    let text = MARSH_SALT
        .replace("code = \"MS\"", "code = \"HP\"")
        .replace("7647-14-5", "7647-14-6")
        .replace("value = 90,", "value = 900,")
        .replace("\"NaCl\"", "\"NaQq\"")
        .replace("category = \"2\"", "category = \"4\"");
    let said = with_file(&text).on(DAY, CHECK);
    assert_eq!(said.code, 1, "{said:?}");
    for word in ["taken by `hydrogen-peroxide`", "check digit", "900 is not between", "NaQq", "accepted: 1, 2"] {
        assert!(said.stdout.contains(word), "`{word}` is missing: {said:?}");
    }
}

/// The sums count doses: an acute class whose dose is missing, or stands for another category, would be lost or wrong.
#[test]
fn a_class_of_acute_toxicity_needs_its_dose() {
    let entry = "class = \"eye\", category = \"2\", set_by = \"supplier\", source = \"memory\"";
    let faults = |category: &str, minimum: &str, dose: &str| {
        let class = format!(
            "class = \"acute-oral\", category = \"{category}\"{minimum}, set_by = \"law\", source = \"memory\""
        );
        let dose = if dose.is_empty() {
            String::new()
        } else {
            format!("toxicity = [{{ route = \"oral\", {dose}, unit = \"mg/kg\", source = \"memory\" }}]\n")
        };
        let bench = with_file(&format!("{}{dose}", MARSH_SALT.replace(entry, &class)));
        let ran = bench.on(DAY, &format!("--json {CHECK}")).json();
        ran["faults"].as_array().unwrap().iter().map(|fault| fault["what"].to_string()).collect::<Vec<_>>().join("; ")
    };
    assert!(faults("3", "", "").contains("give the dose, or the table's point estimate with `converted = true`"));
    // Table 3.1.1: category 3 ends at 300 mg/kg; table 3.1.2: 100 mg/kg stands for it, 5 mg/kg for category 2.
    for (category, minimum, dose, wrong) in [
        ("3", "", "value = 300", false),
        ("3", "", "value = 300.1", true),
        ("4", "", "value = 300", true),
        ("4", "", "value = 300.1", false),
        ("4", "", "value = 2001", true),
        ("3", "", "value = 100, converted = true", false),
        ("2", "", "value = 5, converted = true", false),
        ("1", "", "value = 5", false),
        ("3", "", "value = 120, converted = true", true),
        ("3", ", minimum = true", "value = 10", false),
    ] {
        let found = faults(category, minimum, dose);
        assert_eq!(!found.is_empty(), wrong, "{category}{minimum}, {dose}: {found}");
    }
}

#[test]
fn a_broken_file_stops_the_rest_and_says_how_to_look() {
    let bench = with_file("key = ");
    bench.on(DAY, "shelf").fails(3, &["marsh-salt.toml", "line 1", "reagents check"]);
    assert_eq!(bench.on(DAY, CHECK).code, 1);
    bench.on(DAY, "reagents check no-such.toml").fails(4, &["no-such.toml", "cannot be read"]);
    let bench = with_file(&MARSH_SALT.replace("\"NaCl\"", "\"NaQq\""));
    bench.on(DAY, "shelf").fails(3, &["marsh-salt.toml", "formula", "NaQq", "reagents check"]);
    let bench = with_file(MARSH_SALT);
    let twin = bench.register().with_extension("reagents").join("moor-salt.toml");
    fs::write(twin, MARSH_SALT.replace("key = \"marsh-salt\"", "key = \"moor-salt\"")).unwrap();
    bench.on(DAY, "shelf").fails(3, &["moor-salt.toml", "`MS` is taken by another file of yours"]);
    let bench = with_file(&MARSH_SALT.replace("key = \"marsh-salt\"", "key = \"sodium-chloride\""));
    bench.on(DAY, "shelf").fails(3, &["key", "not the file's name"]);
}

#[test]
fn a_reagent_without_hazard_data_is_not_classified() {
    let end = MARSH_SALT.find("[hazard]").unwrap();
    let bench = with_file(&MARSH_SALT[..end]);
    bench.on(DAY, "classify marsh-salt").fails(3, &["no hazard data of marsh salt", "[hazard]"]);
}

#[test]
fn a_file_in_the_place_of_the_folder_is_told_by_whatever_reads_the_catalogue() {
    let bench = Bench::new();
    bench.on("2031-03-01", "backup").ok();
    let stands_there = bench.folder().join("shelf.reagents");
    let told = |bench: &Bench| {
        let words = ["shelf.reagents is no folder", "accepted: a folder of files", "move aside what stands there"];
        for line in ["shelf", "reagents", "dips", "export csv tables", "about"] {
            bench.on("2031-03-01", line).fails(4, &words);
        }
        let ran = bench.on("2031-03-01", "verify");
        assert!(ran.code == 3 && ran.stdout.contains("no folder") && ran.stdout.contains("accepted:"), "{ran:?}");
        // Copies are made and put back all the same.
        bench.on("2031-03-01", "backup").ok();
        let said = bench.on("2031-03-01", "restore shelf.copies/shelf-2031-03-01.brimstock").ok();
        assert!(said.contains("is no folder"), "{said}");
    };
    fs::write(&stands_there, "sea salt and vinegar").unwrap();
    told(&bench);
    #[cfg(unix)]
    {
        fs::remove_file(&stands_there).unwrap();
        std::os::unix::fs::symlink("nowhere", &stands_there).unwrap();
        told(&bench);
    }
}

#[cfg(unix)]
#[test]
fn what_is_no_file_of_text_is_not_waited_for() {
    let bench = with_file(MARSH_SALT);
    let file = bench.register().with_extension("reagents").join("marsh-salt.toml");
    let told = |says: &str| {
        for line in ["shelf", "reagents check shelf.reagents/marsh-salt.toml"] {
            let ran = bench.on(DAY, line);
            assert!(
                ran.code == 4 && ran.stderr.contains(says) && ran.stderr.contains("accepted: a plain file"),
                "{ran:?}"
            );
        }
        let ran = bench.on(DAY, "verify");
        assert!(ran.code == 3 && ran.stdout.contains(says), "{ran:?}");
    };
    fs::write(&file, b"key = \"marsh-salt\xff\"").unwrap();
    told("is no text in UTF-8");
    fs::write(&file, " ".repeat(1_000_001)).unwrap();
    told("is larger than");
    fs::remove_file(&file).unwrap();
    assert!(std::process::Command::new("mkfifo").arg(&file).status().unwrap().success());
    told("is no plain file");
}
