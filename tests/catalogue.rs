//! The texts of `hazards/`: the shipped ones are good and complete, a broken one is named with its file and key.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use brimstock::catalogue::{Catalogue, CatalogueError, Dip, Language, Test, Texts, Words};
use brimstock::chem::formula::molar_mass;
use brimstock::dip::recipe::goal;

fn shipped() -> &'static Catalogue {
    Catalogue::shipped().expect("the shipped catalogue is good")
}

/// Every text under a folder whose name ends so, with its path from the repository's root.
fn texts(folder: &str, end: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)).expect("a folder") {
        let path = entry.expect("a folder").path();
        let name = format!("{folder}/{}", path.file_name().expect("a name").to_string_lossy());
        if path.is_dir() {
            found.extend(texts(&name, end));
        } else if name.ends_with(end) {
            found.push((name, fs::read_to_string(&path).expect("a text")));
        }
    }
    found.sort();
    found
}

/// The texts of `hazards/` with, in one file, the first `old` made `new`.
fn read_with(file: &str, old: &str, new: &str) -> Result<Catalogue, CatalogueError> {
    let mut all = texts("hazards", ".toml");
    let (_, text) = all.iter_mut().find(|(name, _)| name == file).expect("a file of hazards");
    assert!(text.contains(old), "{file} does not hold {old:?}");
    *text = text.replacen(old, new, 1);
    let (reagents, others): (Vec<_>, Vec<_>) = all.iter().partition(|(name, _)| name.starts_with("hazards/reagents/"));
    let reagents: Vec<(&str, &str)> = reagents.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let one = |wanted: &str| {
        let (name, text) = others.iter().find(|(name, _)| name == wanted).expect("a file of hazards");
        (name.as_str(), text.as_str())
    };
    Catalogue::read(Texts {
        sources: one("hazards/sources.toml"),
        reagents: &reagents,
        dips: one("hazards/dips.toml"),
        light: one("hazards/light.toml"),
        assays: one("hazards/assays.toml"),
        statements: one("hazards/statements.toml"),
        labels: one("hazards/labels.toml"),
        label_sizes: one("hazards/label-sizes.toml"),
        apart: one("hazards/keep-apart.toml"),
        care: one("hazards/care.toml"),
        neutralise: one("hazards/neutralise.toml"),
        disposal: one("hazards/disposal.toml"),
        loose: one("hazards/words-of-measure.toml"),
        hatching: one("hazards/hatching.toml"),
        sequence: one("hazards/sequence.toml"),
    })
}

#[test]
fn the_shipped_catalogue_is_whole() {
    let catalogue = shipped();
    assert!(catalogue.reagents().count() >= 27, "{} reagents", catalogue.reagents().count());
    assert!(catalogue.dips().len() >= 12, "{} dips", catalogue.dips().len());
    assert_eq!(catalogue.reagents().count(), texts("hazards/reagents", ".toml").len(), "one file a reagent");
}

#[test]
fn every_source_is_used() {
    let mut places = texts("src", ".rs");
    places.extend(texts("hazards", ".toml").into_iter().filter(|(name, _)| name != "hazards/sources.toml"));
    let unused: Vec<&str> = shipped()
        .sources()
        .map(|(key, _)| key)
        .filter(|key| {
            !places.iter().any(|(_, text)| text.contains(&format!("\"{key}\"")) || text.contains(&format!("`{key}`")))
        })
        .collect();
    assert!(unused.is_empty(), "no figure stands on {unused:?}");
}

#[test]
fn every_goal_has_its_aim_inside_its_band() {
    let catalogue = shipped();
    for dip in catalogue.dips() {
        let reagent = catalogue.reagent(&dip.reagent).expect("the reagent of a dip");
        let goal = goal(dip, reagent, catalogue.measuring()).unwrap_or_else(|error| panic!("{}: {error}", dip.key));
        let (low, aim, high) = (goal.low.to_g_per_l(), goal.aim.to_g_per_l(), goal.high.to_g_per_l());
        assert!(0.0 < low && low <= aim && aim <= high && high.is_finite(), "{}: {low} {aim} {high}", dip.key);
        for step in &goal.steps {
            assert!(catalogue.source(&step.source).is_some(), "{}: no source `{}`", dip.key, step.source);
        }
    }
}

#[test]
fn every_formula_can_be_weighed() {
    for reagent in shipped().reagents() {
        let mass = molar_mass(&reagent.formula.value).unwrap_or_else(|error| panic!("{}: {error}", reagent.key));
        assert!(mass.to_g_per_mol() > 1.0, "{}", reagent.key);
        if let Some(part) = &reagent.contains {
            let share = part.per_formula * molar_mass(&part.formula).expect("a formula").to_g_per_mol();
            assert!(share <= mass.to_g_per_mol() + 1e-9, "{} holds more {} than it weighs", reagent.key, part.what);
        }
        for decay in &reagent.decay {
            assert!(reagent.forms.contains(&decay.form), "{} has no form {}", reagent.key, decay.form);
        }
    }
}

#[test]
fn no_code_stands_twice() {
    let codes: Vec<&str> = shipped().reagents().map(|reagent| reagent.code.as_str()).collect();
    assert_eq!(codes.iter().collect::<BTreeSet<_>>().len(), codes.len(), "{codes:?}");
}

/// File, what stands there, what is written instead, the key that must be named, a part of the complaint.
const BROKEN: &[(&str, &str, &str, &str, &str)] = &[
    ("hazards/hatching.toml", "[7, 14, 21, 28]", "[7, 13]", "look_on.days", "day 14"),
    ("hazards/hatching.toml", "[7, 14, 21, 28]", "[14, 14]", "look_on.days", "rise"),
    ("hazards/hatching.toml", "value = 21, unit", "value = 13, unit", "counts_after", "14"),
    ("hazards/hatching.toml", "days = [7, 10]", "days = [10, 7]", "hatching.bladder snail", "rise"),
    ("hazards/hatching.toml", "source = \"ma-li-2012\"", "source = \"somebody\"", "hatching.bladder snail", "somebody"),
    ("hazards/words-of-measure.toml", "low = 3, high = 60", "low = 60, high = 3", "word.capful", "below `high`"),
    (
        "hazards/words-of-measure.toml",
        "unit = \"mg/L\"",
        "unit = \"mL\"",
        "word.light reddish purple",
        "belongs to a strength",
    ),
    ("hazards/words-of-measure.toml", "\"handful\"", "\"capful\"", "word.capful", "stand once"),
    (
        "hazards/words-of-measure.toml",
        "source = \"falagas-2010\"",
        "source = \"hearsay\"",
        "household_teaspoon",
        "no source",
    ),
    ("hazards/words-of-measure.toml", "\"ph strip\"", "\"pH strip\"", "wrong.ph-strip", "small letters"),
    (
        "hazards/words-of-measure.toml",
        "reagent = \"potassium-permanganate\"",
        "reagent = \"lye\"",
        "word.light reddish purple",
        "no reagent `lye`",
    ),
    (
        "hazards/reagents/sodium-chloride.toml",
        "source = \"usda-173468\"",
        "source = \"hearsay\"",
        "solid.spooned.fine",
        "no source `hearsay`",
    ),
    (
        "hazards/reagents/sodium-chloride.toml",
        "unit = \"g/mL\"",
        "unit = \"kg/L\"",
        "solid.spooned.fine",
        "unit `kg/L` found, `g/mL` wanted",
    ),
    ("hazards/reagents/sodium-chloride.toml", "purity =", "pureness =", "line", "pureness"),
    ("hazards/reagents/sodium-chloride.toml", "7647-14-5", "7647-14-6", "cas", "check digit"),
    ("hazards/reagents/sodium-chloride.toml", "7647-14-5", "salt", "cas", "check digit"),
    ("hazards/reagents/sodium-chloride.toml", "[\"solid\", \"solution\"]", "[]", "forms", "at least one"),
    ("hazards/reagents/sodium-chloride.toml", "value = 99,", "value = 990,", "solid.purity", "not between"),
    ("hazards/reagents/sodium-chloride.toml", "code = \"SC\"", "code = \"s\"", "code", "capital letters"),
    ("hazards/reagents/sodium-chloride.toml", "code = \"SC\"", "code = \"HP\"", "code", "taken by another"),
    (
        "hazards/reagents/sodium-chloride.toml",
        "key = \"sodium-chloride\"",
        "key = \"salt\"",
        "key",
        "not the file's name",
    ),
    ("hazards/reagents/sodium-chloride.toml", "up_to = 100", "up_to = 90", "solution.bare_percent", "up_to = 100"),
    ("hazards/reagents/hydrogen-peroxide.toml", "[\"solution\"]", "[\"solution\", \"solid\"]", "solid", "is missing"),
    ("hazards/reagents/hydrogen-peroxide.toml", "\"kJ/mol\"", "\"kcal/mol\"", "decay.activation", "`kJ/mol` wanted"),
    (
        "hazards/reagents/hydrogen-peroxide.toml",
        "unit = \"1/y\"",
        "unit = \"1/d\"",
        "decay.prior.sealed",
        "`1/y` wanted",
    ),
    ("hazards/dips.toml", "reagent = \"sodium-hypochlorite\"", "reagent = \"lye\"", "reagent", "no reagent `lye`"),
    (
        "hazards/dips.toml",
        "band_source = \"judgement\"",
        "band_source = \"hearsay\"",
        "band_source",
        "no source `hearsay`",
    ),
    ("hazards/dips.toml", "grade = \"common-practice\"", "grade = \"published\"", "evidence", "does not fit"),
    ("hazards/dips.toml", "unit = \"relative sd\"", "unit = \"%\"", "measuring.vessel", "`relative sd` wanted"),
    ("hazards/dips.toml", "minutes = { low = 2", "minutes = { low = 0", "minutes", "above 0"),
    ("hazards/dips.toml", "unit = \"g/g\"", "unit = \"g/mol\"", "stop.planned", "`g/g` wanted"),
    (
        "hazards/dips.toml",
        "{ rinse = 1 }, \"quench\"",
        "{ rinse = 0 }, \"quench\"",
        "bleach-fine-leaved.steps",
        "1 to 10",
    ),
    ("hazards/dips.toml", "{ hold = 14 }", "{ hold = 0 }", "bleach-fine-leaved.steps", "1 to 365"),
    ("hazards/dips.toml", "[7, 14, 21, 28]", "[7, 7, 21]", "bleach-fine-leaved.steps", "must rise"),
    ("hazards/dips.toml", "{ rinse = 1 }", "{ dip = \"nothing\" }", "bleach-fine-leaved.steps", "no dip `nothing`"),
    ("hazards/dips.toml", "{ rinse = 1 }", "{ dip = \"bleach-fine-leaved\" }", "steps", "cannot follow itself"),
    ("hazards/dips.toml", "steps = [{ rinse = 2 }, { hold", "steps = [\"quench\", { hold", "steps", "wants a `stop`"),
    ("hazards/dips.toml", "unit = \"rinses\"", "unit = \"times\"", "steps.rinse", "`rinses` wanted"),
    ("hazards/dips.toml", "source = \"goodman-2010\"", "source = \"hearsay\"", "tolerance", "no source `hearsay`"),
    ("hazards/dips.toml", "one = \"cysts-loosened\"", "one = \"cysts-gone\"", "contradiction", "no row `cysts-gone`"),
    (
        "hazards/dips.toml",
        "other = \"cysts-lived\"",
        "other = \"cysts-loosened\"",
        "contradiction",
        "contradict itself",
    ),
    ("hazards/dips.toml", "row = \"faucet-salt\"", "row = \"by-colour\"", "row", "something else in another dip"),
    (
        "hazards/dips.toml",
        "dips = [\"salt-hydra\"]",
        "dips = [\"salt-hydras\"]",
        "contradiction",
        "no dip `salt-hydras`",
    ),
    (
        "hazards/sequence.toml",
        "after = [\"aldehyde\"]",
        "after = [\"formalin\"]",
        "trap.formalin",
        "no reagent `formalin`",
    ),
    ("hazards/sequence.toml", "source = \"permanganate-brief\"", "source = \"hearsay\"", "trap.reducer", "no source"),
    (
        "hazards/sequence.toml",
        "harm = \"spoils\"\nrinses = 2",
        "harm = \"spoils\"",
        "trap.reducer",
        "`rinses` is missing",
    ),
    (
        "hazards/sequence.toml",
        "harm = \"spoils\"\nrinses = 2",
        "harm = \"spoils\"\nrinses = 1",
        "trap.reducer",
        "must be 2",
    ),
    ("hazards/sequence.toml", "key = \"reducer-then-peroxide\"", "key = \"reducer-then-chlorine\"", "trap", "twice"),
    ("hazards/reagents/hydrogen-peroxide.toml", "from = 35,", "from = 350,", "hazard.class", "0 to 100"),
    ("hazards/reagents/hydrogen-peroxide.toml", "\"mg/kg\"", "\"g/kg\"", "hazard.toxicity", "mg/kg wanted"),
    ("hazards/reagents/citric-acid.toml", "ph = 2.0", "ph = 3.0", "hazard.extreme_ph.ph", "not extreme"),
    ("hazards/reagents/copper-sulfate.toml", "m_factor = 10", "m_factor = 0", "m_factor", "1, 10, 100"),
    ("hazards/reagents/sodium-hypochlorite.toml", "\"EUH031\"", "\"EUH999\"", "hazard", "EUH999"),
    ("hazards/reagents/citric-acid.toml", "class = \"eye\"", "class = \"ear\"", "line", "ear"),
    ("hazards/reagents/citric-acid.toml", "category = \"2\"", "category = \"4\"", "hazard.class.eye", "accepted: 1, 2"),
    (
        "hazards/reagents/hydrochloric-acid.toml",
        "from = 25, ",
        "from = 25, above = true, ",
        "limit.above",
        "only bands of physical hazards",
    ),
    (
        "hazards/reagents/hydrogen-peroxide.toml",
        "from_percent_w_w = 8\nbelow_percent_w_w = 20",
        "from_percent_w_w = 20\nbelow_percent_w_w = 8",
        "carriage",
        "must rise",
    ),
    ("hazards/disposal.toml", "about = [\"store\"]", "about = []", "question", "asked about `store`"),
    ("hazards/disposal.toml", "about = [\"store\"]", "about = [\"stores\"]", "line", "stores"),
    (
        "hazards/keep-apart.toml",
        "groups = [\"peroxide\", \"percarbonate\"]",
        "groups = [\"peroxide\", \"percarbonat\"]",
        "pair",
        "no group `percarbonat`",
    ),
    (
        "hazards/keep-apart.toml",
        "groups = [\"peroxide\", \"permanganate\"]",
        "groups = [\"permanganate\", \"permanganate\"]",
        "pair.permanganate+peroxide",
        "is missing",
    ),
    (
        "hazards/keep-apart.toml",
        "groups = [\"peroxide\", \"permanganate\"]",
        "groups = [\"percarbonate\", \"peroxide\"]",
        "pair.percarbonate+peroxide",
        "twice",
    ),
    ("hazards/keep-apart.toml", "review_by = \"2036-11-30\"", "review_by = \"soon\"", "line", "YYYY-MM-DD"),
    ("hazards/reagents/citric-acid.toml", "[\"mild-acid\"]", "[\"mild-acids\"]", "care.groups", "accepted: "),
    ("hazards/reagents/citric-acid.toml", "spill = \"mild-acid\"", "spill = \"sour\"", "care.spill", "accepted: "),
    ("hazards/care.toml", "occasion = \"spill\"", "occasion = \"fire\"", "line", "fire"),
    ("hazards/neutralise.toml", "with = \"ascorbic-acid\"", "with = \"vitamin\"", "reaction", "no reagent `vitamin`"),
    ("hazards/statements.toml", "code = \"H302\"", "code = \"H301\"", "H301", "twice"),
    ("hazards/labels.toml", "statement = \"H271\"", "statement = \"H999\"", "oxidising", "H999"),
    ("hazards/label-sizes.toml", "up_to_l = 50\n", "up_to_l = 2\n", "size", "must rise"),
    ("hazards/label-sizes.toml", "up_to_l = 500\n", "", "size", "without `up_to_l`"),
    ("hazards/label-sizes.toml", "width_mm = 105", "width_mm = 70", "size", "a label lies"),
    ("hazards/label-sizes.toml", "x_mm = 1.8", "x_mm = 1.3", "letter.x_mm", "never smaller"),
    ("hazards/label-sizes.toml", "spacing = 1.2", "spacing = 0.9", "line.spacing", "1 to 2"),
    ("hazards/label-sizes.toml", "wanted_mm = 16", "wanted_mm = 9", "wanted_mm", "at least `pictogram_mm`"),
    ("hazards/label-sizes.toml", "categories = [\"2\", \"3\"]", "categories = [\"4\"]", "leave_off", "category 4"),
    ("hazards/label-sizes.toml", "source = \"clp-small-packages\"", "source = \"rumour\"", "small", "no source"),
    ("hazards/sources.toml", "[judgement]", "[opinion]", "judgement", "must be there"),
    ("hazards/sources.toml", "seen = \"recalled\"", "seen = \"read\"", "memory", "does not fit"),
];

#[test]
fn a_broken_text_is_named_with_its_file_and_key() {
    for (file, old, new, key, complaint) in BROKEN {
        let error = read_with(file, old, new).expect_err(new);
        assert_eq!(error.file, *file, "{new}: {error}");
        assert!(error.key.contains(key), "{new}: key `{key}` wanted: {error}");
        assert!(error.what.contains(complaint), "{new}: `{complaint}` wanted: {error}");
        assert!(error.to_string().starts_with(&format!("{file}: {}: ", error.key)), "{error}");
    }
}

#[test]
fn the_texts_read_from_files_are_the_shipped_ones() {
    let read = read_with("hazards/dips.toml", "", "").expect("the texts are good");
    let keys = |catalogue: &Catalogue| catalogue.reagents().map(|reagent| reagent.key.clone()).collect::<Vec<_>>();
    assert_eq!(keys(&read), keys(shipped()));
    assert_eq!(read.dips().len(), shipped().dips().len());
}

fn words_of(dip: &Dip) -> Vec<&str> {
    let mut words = vec![dip.name.as_str(), &dip.used_for, &dip.plants];
    words.extend(dip.not_shown.iter().chain(&dip.cautions).map(String::as_str));
    words.extend(dip.evidence.iter().map(|evidence| evidence.says.as_str()));
    words.extend(
        dip.tolerance.iter().flat_map(|borne| [&borne.plant, &borne.exposure, &borne.effect]).map(String::as_str),
    );
    words.extend(shipped().contradictions(&dip.key).flat_map(|(found, _, _)| [found.about.as_str(), &found.how]));
    words
}

fn promise(text: &str) -> Option<&'static str> {
    let text = text.to_lowercase();
    let whole = text.split(|c: char| !c.is_alphanumeric() && c != '-').collect::<Vec<_>>();
    ["safe", "guaranteed", "snail-free"].into_iter().find(|word| whole.contains(word))
}

#[test]
fn no_dip_promises_anything() {
    for dip in shipped().dips() {
        for text in words_of(dip) {
            assert_eq!(promise(text), None, "{}: {text}", dip.key);
        }
    }
    for trap in &shipped().sequence().traps {
        assert_eq!(promise(&trap.happens), None, "{}", trap.key);
    }
    assert_eq!(promise("It is Safe."), Some("safe"));
    assert_eq!(promise("a snail-free tank"), Some("snail-free"));
    assert_eq!(promise("unsafe; safety first"), None);
}

/// What the build has made of the texts is what they say: read from both, every file looks the same.
#[test]
fn what_is_built_in_is_what_is_written() {
    let read = read_with("hazards/dips.toml", "", "").unwrap();
    let built_in = shipped();
    let sides = [&read, built_in].map(|catalogue| {
        let care = catalogue.care_review_by();
        let listed: Vec<String> = catalogue
            .reagents()
            .map(|reagent| format!("{reagent:?}"))
            .chain(catalogue.dips().iter().map(|dip| format!("{dip:?}")))
            .chain(Test::ALL.iter().map(|test| format!("{:?}", catalogue.method(*test))))
            .chain(catalogue.sources().map(|source| format!("{source:?}")))
            .chain(catalogue.elements().iter().map(|element| format!("{element:?}")))
            .collect();
        let whole = format!(
            "{:?} {:?} {:?} {:?} {:?} {:?} {:?} {:?} {:?} {:?} {:?} {care}",
            catalogue.measuring(),
            catalogue.step_figures(),
            catalogue.optics(),
            catalogue.choice(),
            catalogue.label_sizes(),
            catalogue.apart(),
            catalogue.neutralise(),
            catalogue.disposal(),
            catalogue.loose(),
            catalogue.hatching(),
            catalogue.sequence(),
        );
        (listed, whole)
    });
    assert_eq!(sides[0], sides[1]);
    // One by one and by its key a reagent is found by the name of its file.
    for reagent in read.reagents() {
        let alone = Catalogue::default();
        let found = alone.reagent(&reagent.key).unwrap_or_else(|| panic!("no file is called {}", reagent.key));
        assert_eq!(format!("{found:?}"), format!("{reagent:?}"));
    }
    assert!(Catalogue::default().reagent("no-such-reagent").is_none());
    for (name, text) in texts("hazards", ".toml").iter().filter(|(name, _)| name.contains("/cards.")) {
        let code = name.split('.').nth(1).expect("a language");
        let language = Language::read(code).expect("a language");
        let written: BTreeMap<String, BTreeMap<String, String>> = toml::from_str(text).unwrap();
        let written: BTreeMap<String, String> = written
            .into_iter()
            .flat_map(|(part, phrases)| phrases.into_iter().map(move |(key, said)| (format!("{part}.{key}"), said)))
            .collect();
        let built_in = Words::of(language).unwrap().phrases();
        let built_in: BTreeMap<String, String> =
            built_in.map(|(key, said)| (key.to_owned(), said.to_owned())).collect();
        assert_eq!(built_in, written, "{name}");
    }
}
