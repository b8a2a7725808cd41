//! Source: section I of the facts on storage and disposal, wrong things seen in print. None of them may come from here; those
//! about names, transport and sewers are tested as whole commands in `audit.rs`, `quench.rs` and `discard.rs`.

use super::{check, row, shipped};
use brimstock::catalogue::Occasion;
use brimstock::chem::formula::molar_mass;
use brimstock::hazard::pressure::{air, liquid_heat, oxygen, volume};
use brimstock::units::{Mass, Temperature};

/// Every line of advice on file, with where it stands.
fn lines() -> Vec<(String, String)> {
    let catalogue = shipped();
    let mut lines = Vec::new();
    for reagent in catalogue.reagents() {
        let Some(care) = &reagent.care else { continue };
        for (occasion, key) in [
            (Occasion::Spill, &care.spill),
            (Occasion::FirstAid, &care.first_aid),
            (Occasion::Protection, &care.protection),
        ] {
            let text = catalogue.care(occasion, key).expect("a text");
            lines.extend(text.lines.iter().map(|line| (format!("{occasion} {key}"), line.say.clone())));
        }
    }
    for class in &catalogue.disposal().classes {
        let said = class.pack.iter().chain(&class.never).chain(&class.bath);
        lines.extend(said.map(|line| (format!("disposal {}", class.key), line.say.clone())));
    }
    for treatment in &catalogue.neutralise().treatments {
        let key = format!("treatment {}", treatment.reagent);
        lines.push((key.clone(), treatment.above.clone()));
        lines.extend(treatment.cautions.iter().map(|line| (key.clone(), line.say.clone())));
    }
    assert!(lines.len() > 250, "{}", lines.len());
    lines
}

/// Lines that hold all of these words.
fn with(words: &[&str]) -> Vec<(String, String)> {
    lines().into_iter().filter(|(_, say)| words.iter().all(|word| say.to_lowercase().contains(word))).collect()
}

fn warns(say: &str) -> bool {
    let lower = say.to_lowercase();
    ["never", "no ", "not ", "nothing", "is an acid"].iter().any(|word| lower.contains(word))
}

#[test]
fn heat_and_gas_are_counted_right() {
    let cubic = volume(oxygen(Mass::g(1.13 * 0.35)).unwrap(), Temperature::celsius(20.0), air()).to_ml();
    check(vec![
        // I 4: 98 kJ belong to one mole of peroxide, not to the two of the equation.
        row("kJ to a mole", liquid_heat().to_kj_per_mol(), 98.05, 0.2, "facts G"),
        // I 5: 140 mL and not 100.
        row("mL of oxygen of 1 mL of 35 %", cubic, 140.0, 2.0, "facts I 5"),
    ]);
}

/// I 12: two tablespoons of 3 % to 100 gallons.
#[test]
fn the_trades_two_spoons_stop_four_milligrams_and_are_no_rule_for_stock() {
    let brought = 2.0 * 14.786_764_781_25 * 0.03 * 1000.0 / 378.541_178_4;
    let needed = 4.0 * 1.5 * molar_mass("H2O2").unwrap().to_g_per_mol() / molar_mass("KMnO4").unwrap().to_g_per_mol();
    check(vec![
        row("mg/L of peroxide brought", brought, 2.34, 0.01, "facts I 12"),
        row("mg/L needed for 4 mg/L of permanganate", needed, 1.29, 0.01, "facts I 12"),
    ]);
    let treatment = shipped().neutralise().treatment("potassium-permanganate").unwrap();
    assert!(treatment.up_to.value <= 0.1, "stock is never ended at home");
}

/// I 1, 6, 7: an acid for a reducer, acids and peracid on stains, copper in the bin or the drain.
#[test]
fn nobody_is_told_to() {
    for words in [
        &["bisulfate"][..],
        &["hydrochloric", "stain"],
        &["vinegar", "peroxide"],
        &["citric", "crystal"],
        &["copper", "bin"],
        &["copper", "flush"],
        &["freezer"],
    ] {
        for (place, say) in with(words) {
            assert!(warns(&say), "{place}: {say}");
        }
    }
    // No stain is treated on skin with more than water.
    for (place, say) in with(&["skin"]) {
        let lower = say.to_lowercase();
        let chemical = ["acid", "peroxide", "sulfite", "vinegar"].iter().any(|word| lower.contains(word));
        assert!(!chemical || warns(&say), "{place}: {say}");
    }
}

/// I 11: bleach with ammonia gives chloramines, not chlorine.
#[test]
fn bleach_and_ammonia_give_chloramine() {
    let pair = shipped().apart().pair("bleach", "ammonia-source").unwrap();
    let said = pair.consequence.as_deref().unwrap();
    assert!(said.contains("chloramine"), "{said}");
    let chlorine = with(&["ammonia", "chlorine gas"]);
    assert_eq!(chlorine, Vec::new());
}
