//! The words on printed cards: every key that the cards use, both languages whole, nothing stale, nothing promised.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use brimstock::catalogue::{Language, Words};
use toml::{Table, Value};

/// Sections that are there in both languages: the kinds of card that speak both, and what every card says.
const BOTH: [&str; 5] = ["frame", "sign", "bottle", "spill", "bench"];

fn read(path: &str) -> Table {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{path}: {error}")).parse().expect("TOML")
}

/// Every phrase by `section.key`.
fn phrases(language: &str) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    for (section, keys) in read(&format!("hazards/cards.{language}.toml")) {
        for (key, phrase) in keys.as_table().expect("a section") {
            found.insert(format!("{section}.{key}"), phrase.as_str().expect("a phrase").to_owned());
        }
    }
    found
}

/// The pairs of `hazards/texts.es.toml`.
fn texts() -> Vec<(String, String)> {
    let word = |row: &Value, key: &str| row[key].as_str().expect("a sentence").to_owned();
    let file = read("hazards/texts.es.toml");
    file["text"].as_array().unwrap().iter().map(|row| (word(row, "en"), word(row, "es"))).collect()
}

/// The names in braces, each once.
fn gaps(phrase: &str) -> BTreeSet<&str> {
    phrase.split('{').skip(1).filter_map(|rest| rest.split_once('}').map(|(name, _)| name)).collect()
}

/// Every file with an ending below a folder.
fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path, ending));
        } else if path.extension().is_some_and(|one| one == ending) {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Everything between two quotes of a source, comments left out; what is no string looks like none.
fn literals(source: &str) -> BTreeSet<String> {
    let code: Vec<&str> = source.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
    code.join("\n").split('"').map(str::to_owned).collect()
}

/// The translated sentences of the catalogue that come onto a label, a spill card or a bench card.
fn printed() -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut add = |value: Option<&Value>| {
        if let Some(text) = value.and_then(Value::as_str) {
            found.insert(text.to_owned());
        }
    };
    let rows = |file: &Table, key: &str| file[key].as_array().cloned().unwrap_or_default();
    let mut disposal = BTreeMap::new();
    for path in files(Path::new("hazards/reagents"), "toml") {
        let reagent = read(path.to_str().unwrap());
        add(reagent.get("name"));
        let key = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let class = reagent.get("care").and_then(|care| care.get("disposal")).and_then(Value::as_str);
        disposal.insert(key, class.unwrap_or_default().to_owned());
    }
    for text in rows(&read("hazards/care.toml"), "text") {
        text["lines"].as_array().unwrap().iter().for_each(|line| add(line.get("say")));
    }
    let mut classes = BTreeSet::new();
    for dip in rows(&read("hazards/dips.toml"), "dip") {
        ["name", "plants", "used_for"].iter().for_each(|key| add(dip.get(key)));
        for key in ["cautions", "not_shown"] {
            dip[key].as_array().unwrap().iter().for_each(|line| add(Some(line)));
        }
        classes.insert(disposal[dip["reagent"].as_str().unwrap()].clone());
    }
    let neutralise = read("hazards/neutralise.toml");
    for treatment in rows(&neutralise, "treatment") {
        ["above", "proof", "wait_for"].iter().for_each(|key| add(treatment.get(key)));
        treatment["cautions"].as_array().unwrap().iter().for_each(|line| add(line.get("say")));
    }
    rows(&neutralise, "untreatable").iter().for_each(|row| add(row.get("why")));
    for class in rows(&read("hazards/disposal.toml"), "class") {
        if classes.contains(class["key"].as_str().unwrap()) {
            class["bath"].as_array().unwrap().iter().for_each(|line| add(line.get("say")));
        }
    }
    found.insert(brimstock::disposal::caution::short().to_owned());
    found.extend(brimstock::dip::measure::TOOLS.map(str::to_owned));
    found
}

#[test]
fn spanish_phrases_are_those_of_the_english_file() {
    let (english, spanish) = (phrases("en"), phrases("es"));
    for (key, phrase) in &spanish {
        let original = english.get(key).unwrap_or_else(|| panic!("`{key}` is Spanish only"));
        assert_eq!(gaps(original), gaps(phrase), "{key}");
        assert!(!phrase.trim().is_empty() || original.trim().is_empty(), "`{key}` is empty");
    }
    let missing = |section: &str| -> Vec<&String> {
        let of = format!("{section}.");
        english.keys().filter(|key| key.starts_with(&of) && !spanish.contains_key(*key)).collect()
    };
    for section in BOTH {
        assert_eq!(missing(section), Vec::<&String>::new(), "[{section}] has holes in Spanish");
    }
}

#[test]
fn every_key_that_a_card_uses_has_a_phrase() {
    let english = phrases("en");
    let sections: BTreeSet<&str> = english.keys().filter_map(|key| Some(key.split_once('.')?.0)).collect();
    let is_key = |word: &str| {
        let tail = word.split_once('.').filter(|(section, _)| sections.contains(section)).map(|(_, tail)| tail);
        tail.is_some_and(|tail| !tail.is_empty() && tail.chars().all(|c| c.is_ascii_alphanumeric() || c == '-'))
    };
    let mut used = 0;
    for path in files(Path::new("src/render/card"), "rs") {
        for literal in literals(&fs::read_to_string(&path).unwrap()) {
            if is_key(&literal) {
                used += 1;
                assert!(english.contains_key(&literal), "{}: no phrase `{literal}`", path.display());
            }
        }
    }
    assert!(used > 60, "{used} keys found: the reader of the sources is broken");
}

#[test]
fn what_is_printed_is_translated_and_nothing_else() {
    let (printed, texts) = (printed(), texts());
    let translated: BTreeSet<&String> = texts.iter().map(|(english, _)| english).collect();
    assert_eq!(translated.len(), texts.len(), "a sentence is translated twice");
    let missing: Vec<&String> = printed.iter().filter(|text| !translated.contains(text)).collect();
    assert!(missing.is_empty(), "no Spanish for: {missing:#?}");
    // Words that stand in the sources, as the units of strengths, count as printed.
    let mut known = printed;
    for path in files(Path::new("src"), "rs") {
        known.extend(literals(&fs::read_to_string(&path).unwrap()));
    }
    let stale: Vec<&&String> = translated.iter().filter(|text| !known.contains(**text)).collect();
    assert!(stale.is_empty(), "translated, and no longer printed: {stale:#?}");
}

#[test]
fn spanish_is_spanish_and_promises_nothing() {
    let english = phrases("en");
    let of_cards = phrases("es").into_iter().map(|(key, phrase)| (english[&key].clone(), phrase));
    for (original, spanish) in of_cards.chain(texts()) {
        // What is filled in, and the program's own name, are the same in every language.
        let said = original.split(['{', '}']).step_by(2).collect::<String>().replace("brimstock", "");
        let letters = said.chars().filter(|c| c.is_alphabetic()).count();
        assert!(spanish != original || letters <= 12, "not translated: {original}");
        let signs: Vec<char> = spanish.chars().collect();
        let point = signs.windows(3).any(|w| w[0].is_ascii_digit() && w[1] == '.' && w[2].is_ascii_digit());
        assert!(!point, "a decimal point: {spanish}");
        let plain = spanish.to_lowercase();
        for promise in ["garantiz", "libre de caracoles", "libres de caracoles"] {
            assert!(!plain.contains(promise), "{promise}: {spanish}");
        }
        // `Seguridad` is the name of a data sheet; `seguro` would be a promise.
        let mut words = plain.split(|c: char| !c.is_alphabetic());
        assert!(!words.any(|word| word.starts_with("segur") && !word.starts_with("segurid")), "{spanish}");
    }
}

#[test]
fn the_program_reads_the_same_words() {
    for language in Language::ALL {
        let read: BTreeMap<String, String> =
            Words::of(language).unwrap().phrases().map(|(key, phrase)| (key.to_owned(), phrase.to_owned())).collect();
        assert_eq!(read, phrases(language.code()));
    }
    let spanish = Words::of(Language::Spanish).unwrap();
    assert_eq!(spanish.text("measuring jug"), Some("jarra graduada"));
    assert_eq!(spanish.text("not a sentence of the catalogue"), None);
    assert_eq!(spanish.amount("2.7 g/L"), "2,7\u{a0}g/L");
}
