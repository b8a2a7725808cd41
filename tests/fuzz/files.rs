//! Fuzz in the place of files: the catalogue's own, and those of a keeper.

use std::path::Path;
use std::sync::OnceLock;

use brimstock::catalogue::{Catalogue, Condition, Container, Form, Light, Reagent, Texts};
use brimstock::chem::{Substance, reading, solubility, solution};
use brimstock::commands::{own_dips, own_reagents};
use brimstock::decay::climate::Climate;
use brimstock::decay::light::{Bottle, Daylight};
use brimstock::decay::posterior::{self, Standing};
use brimstock::decay::{Age, Content, History, Stretch};
use brimstock::dip::recipe::goal;
use brimstock::disposal::local::{Local, TEMPLATE};
use brimstock::disposal::local_edit;
use brimstock::register::dip_book::DipVersion;
use brimstock::units::strength::Basis;
use brimstock::units::{Temperature, parse};
use chrono::NaiveDate;

use super::{edited, finite, repository, shipped, tables};

/// The texts of `hazards/`, each with its path from there, sorted.
fn hazards() -> &'static [(String, String)] {
    static TEXTS: OnceLock<Vec<(String, String)>> = OnceLock::new();
    TEXTS.get_or_init(|| {
        let mut found = Vec::new();
        for folder in ["hazards", "hazards/reagents"] {
            for entry in std::fs::read_dir(repository().join(folder)).unwrap() {
                let path = entry.unwrap().path();
                if path.extension().is_some_and(|end| end == "toml") {
                    let name = path.file_name().unwrap().to_string_lossy().into_owned();
                    found.push((format!("{folder}/{name}"), std::fs::read_to_string(&path).unwrap()));
                }
            }
        }
        found.sort();
        found
    })
}

/// A text from fuzz: as it stands, or a good text with edits. The second byte says which.
fn text(data: &[u8], good: &str) -> Option<String> {
    let (how, rest) = data.split_first()?;
    let bytes = if how % 4 == 0 { rest.to_vec() } else { edited(good.as_bytes(), rest) };
    String::from_utf8(bytes).ok()
}

/// The catalogue with another text in the place of one of its files.
pub fn catalogues(data: &[u8]) {
    let Some((choice, rest)) = data.split_first() else { return };
    let all = hazards();
    // `cards.*` and `texts.*` are read by the cards.
    let read: Vec<usize> = (0..all.len())
        .filter(|at| !["hazards/cards.", "hazards/texts."].iter().any(|begin| all[*at].0.starts_with(begin)))
        .collect();
    let changed = read[usize::from(*choice) % read.len()];
    let Some(new) = text(rest, &all[changed].1) else { return };
    let with = |at: usize| (all[at].0.as_str(), if at == changed { new.as_str() } else { all[at].1.as_str() });
    let one = |name: &str| with(all.iter().position(|(other, _)| other == name).unwrap());
    let reagents: Vec<(&str, &str)> =
        read.iter().filter(|at| all[**at].0.starts_with("hazards/reagents/")).map(|at| with(*at)).collect();
    let found = Catalogue::read(Texts {
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
    });
    match found {
        Ok(catalogue) => finite(&catalogue),
        Err(error) => assert!(!error.what.is_empty() && !error.key.is_empty(), "{error:?}"),
    }
}

/// Files that are handed to the program: a reagent, a dip, the local rules, a line set in them, a log, a plan.
pub fn own_files(data: &[u8]) {
    let Some((choice, rest)) = data.split_first() else { return };
    let (kind, which) = (choice % 8, usize::from(choice / 8));
    match kind {
        0 | 1 => own_reagent(which, rest),
        2 => own_dip(which, rest),
        3 | 4 => local_rules(kind == 4, which, rest),
        _ => tables(which, rest),
    }
}

/// A shipped reagent under another name, changed.
fn own_reagent(which: usize, data: &[u8]) {
    let shipped = shipped();
    let (file, good) = &hazards()
        .iter()
        .filter(|(file, _)| file.starts_with("hazards/reagents/"))
        .nth(which % shipped.reagents().count())
        .unwrap();
    let key = file.trim_start_matches("hazards/reagents/").trim_end_matches(".toml");
    let code = &shipped.reagent(key).unwrap().code;
    let renamed = good.replacen(&format!("key = \"{key}\""), "key = \"my-own\"", 1).replacen(
        &format!("code = \"{code}\""),
        "code = \"OWN\"",
        1,
    );
    let Some(text) = text(data, &renamed) else { return };
    let faults = shipped.faults("my-own.toml", &text);
    let uncountable = own_reagents::uncountable(&text, faults.is_empty());
    let catalogue = Catalogue::with_own(&[("my-own.toml".to_owned(), text)]);
    assert_eq!(catalogue.is_ok(), faults.is_empty(), "{faults:?}");
    let (Ok(catalogue), None) = (catalogue, uncountable) else { return };
    for reagent in catalogue.reagents().filter(|reagent| shipped.reagent(&reagent.key).is_none()) {
        finite(reagent);
        let substance = Substance::of(reagent);
        for told in ["5 %", "5 % w/w", "50 g/L", "5 % v/v", "1 mol/L", "1:3 of 5 %", "1 tbsp-us/gal-us"] {
            let written = parse::strength(told, None).unwrap();
            for celsius in [0.0, 20.0, 60.0] {
                let at = Temperature::celsius(celsius);
                let Ok(read) = reading::read(substance, &written, catalogue.measuring(), at) else { continue };
                finite(&read);
                for basis in [Basis::InWeight, Basis::InVolume, Basis::Molar] {
                    finite(&solution::convert(substance, read.strength, basis, at));
                }
            }
        }
        for celsius in [0.0, 7.0, 20.0, 60.0] {
            finite(&solubility::saturated(substance, Temperature::celsius(celsius)));
        }
        aged(&catalogue, reagent, which);
    }
}

/// A bottle of it, strong or weak, solid or not, after a year on a sill.
fn aged(catalogue: &Catalogue, reagent: &Reagent, which: usize) {
    let [came, day] = ["2030-01-10", "2031-03-15"].map(|day| day.parse::<NaiveDate>().unwrap());
    let (form, label) = if which.is_multiple_of(2) { (Form::Solution, 120.0) } else { (Form::Solid, 0.8) };
    let condition = Condition::ALL[which / 2 % Condition::ALL.len()];
    let bottle = Bottle::of_volume(catalogue.optics(), Container::ALL[which % Container::ALL.len()], None, 500.0);
    let stretch = Stretch {
        from: came,
        to: day,
        place: "sill".to_owned(),
        climate: Climate::constant(Temperature::celsius(20.0)),
        daylight: Daylight { light: Light::ALL[which % Light::ALL.len()], sun_hours: None },
        condition,
    };
    let history = History {
        form,
        label: Content(label),
        label_percent_w_w: Some(10.0).filter(|_| which.is_multiple_of(3)),
        came: condition,
        label_sd_ln: 0.02,
        decanted: false,
        age: Age::New,
        bottle,
        stretches: vec![stretch],
        assays: Vec::new(),
    };
    match posterior::standing(catalogue.optics(), reagent, &history, day) {
        Ok(Standing::Known(known)) => finite(&known.estimate()),
        Ok(Standing::Unknown { why, .. }) => assert!(!why.is_empty()),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

/// A shipped dip as the register holds one of the keeper's own, changed.
fn own_dip(which: usize, data: &[u8]) {
    let catalogue = shipped();
    let dips = catalogue.shipped_dips();
    let good = serde_json::to_string(&dips[which % dips.len()]).unwrap();
    let Some(content) = text(data, &good) else { return };
    let told = |field: &str| serde_json::from_str::<serde_json::Value>(&content).ok()?.get(field).cloned();
    let version = DipVersion {
        dip: told("key").and_then(|key| key.as_str().map(str::to_owned)).unwrap_or_default(),
        version: told("version").and_then(|version| version.as_u64()).and_then(|v| u32::try_from(v).ok()).unwrap_or(1),
        day: "2031-03-01".parse().unwrap(),
        content,
        why: "fuzz".to_owned(),
    };
    if let Ok(dip) = own_dips::read(catalogue, Path::new("shelf.brimstock"), &version) {
        finite(&dip);
        let reagent = catalogue.reagent(&dip.reagent).unwrap();
        finite(&goal(&dip, reagent, catalogue.measuring()).unwrap());
    }
}

fn local_rules(set: bool, which: usize, data: &[u8]) {
    static GOOD: OnceLock<[String; 2]> = OnceLock::new();
    let good = GOOD.get_or_init(|| {
        let demo = std::fs::read_to_string(repository().join("demo/local.toml")).unwrap();
        // The template with its examples filled in.
        let open = TEMPLATE.replace("# [[", "[[");
        let lines = open.lines().map(|line| {
            let bare = line.trim_start_matches("# ");
            if bare.split_once(" = ").is_some_and(|(key, _)| !key.contains(' ')) { bare } else { line }
        });
        [demo, lines.collect::<Vec<_>>().join("\n")]
    });
    let catalogue = shipped();
    let good = &good[which % 2];
    if set {
        let Ok(word) = std::str::from_utf8(data) else { return };
        let (key, to) = word.split_once('=').unwrap_or(("fire", word));
        if let Ok(changed) = local_edit::set(catalogue, good, key, to) {
            finite(&Local::read(catalogue, &changed).expect("what was set can be read"));
        }
        return;
    }
    let Some(text) = text(data, good) else { return };
    match Local::read(catalogue, &text) {
        Ok(local) => finite(&local),
        Err(faults) => assert!(!faults.is_empty()),
    }
}
