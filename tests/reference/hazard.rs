//! Sources: the worked examples of the UN guidance on the GHS (3.1a, 3.1c, 3.2/3.3a, 4.1a), of a helpdesk of the EU's
//! chemicals agency and of the hypochlorite makers' notice on the M-factor; labels as printed by the Australian entry of
//! hypochlorite, by the international safety cards 1416 and 0751 and by a data sheet of copper oxychloride; peroxide by the
//! limits of its harmonised entry and the bands of the Canadian transport list; generic limits by SOR/2015-17 and
//! Regulation (EC) 1272/2008; words by the LaTeX package ghsystem.

use super::{check, reagent, row, shipped};
use brimstock::catalogue::{Category, Class, Classified, Counted, Effect, Form, Hazard, Limit, LimitOf, Route, Signal};
use brimstock::hazard::acute::{Estimated, estimate};
use brimstock::hazard::exact::Exact;
use brimstock::hazard::label::{Label, element, label};
use brimstock::hazard::{Classification, Found, Ingredient, Mixture, Regime, Rules, classify};
use std::collections::BTreeMap;

const GUIDANCE: &str = "UN guidance on the GHS";
const REGIMES: [Regime; 3] = [Regime::Eu, Regime::Un, Regime::Us];
const EU: Rules = Rules { regime: Regime::Eu, specific: true };

fn all_rules() -> impl Iterator<Item = Rules> {
    REGIMES.into_iter().flat_map(|regime| [true, false].map(|specific| Rules { regime, specific }))
}

/// An entry from the text of a `[hazard]` table; its source is of no interest here.
fn hazard(text: &str) -> Hazard {
    toml::from_str(&format!("source = \"memory\"\n{text}")).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// An entry with one class.
fn of_class(class: &str, category: &str, more: &str) -> Hazard {
    hazard(&format!(
        "class = [{{ class = \"{class}\", category = \"{category}\", set_by = \"law\", source = \"memory\"{more} }}]"
    ))
}

/// An entry with a dose.
fn of_dose(route: &str, value: f64, unit: &str) -> Hazard {
    hazard(&format!(
        "toxicity = [{{ route = \"{route}\", value = {value:?}, unit = \"{unit}\", source = \"memory\" }}]"
    ))
}

fn mixture<'a>(parts: impl IntoIterator<Item = (f64, &'a Hazard)>) -> Mixture<'a> {
    let ingredient = |(number, (percent, hazard)): (usize, (f64, &'a Hazard))| Ingredient {
        name: format!("part {number}"),
        percent: Exact::of(percent),
        kin: None,
        hazard,
    };
    Mixture { form: Form::Solution, ingredients: parts.into_iter().enumerate().map(ingredient).collect(), ph: None }
}

fn entry_of(key: &str) -> &'static Hazard {
    reagent(key).hazard.as_ref().unwrap_or_else(|| panic!("{key} has no hazard table"))
}

/// The classes of one substance in water.
fn alone(hazard: &Hazard, percent: f64, rules: Rules) -> Classification {
    classify(&mixture([(percent, hazard)]), rules)
}

fn category(judged: &Classification, class: Class) -> Option<Category> {
    let found: Vec<Category> =
        judged.classes.iter().filter(|found| found.class == class).map(|found| found.category).collect();
    assert!(found.len() <= 1, "{class} is there {} times", found.len());
    found.first().copied()
}

fn label_of(judged: &Classification) -> Label {
    label(judged, shipped().elements(), shipped().choice())
}

/// A classification that somebody published, without the way to it.
fn published(classes: &[(Class, Category)]) -> Classification {
    let found = |(class, category): &(Class, Category)| Found {
        class: *class,
        category: *category,
        statement: None,
        because: "published".to_owned(),
        rule: "memory".to_owned(),
        rests_on: Vec::new(),
    };
    Classification { classes: classes.iter().map(found).collect(), supplements: Vec::new(), gaps: Vec::new() }
}

/// Fails with every pair that differs.
fn same<T: PartialEq + std::fmt::Debug>(rows: Vec<(String, T, T)>) {
    assert!(!rows.is_empty());
    let off: Vec<String> = rows
        .iter()
        .filter(|(_, found, expected)| found != expected)
        .map(|(what, found, expected)| format!("{what}: {found:?} found, {expected:?} expected"))
        .collect();
    assert!(off.is_empty(), "{} of {} rows are off:\n{}", off.len(), rows.len(), off.join("\n"));
}

// Worked examples: swallowed.

fn swallowed(parts: &[(f64, f64)], rules: Rules) -> Estimated {
    let entries: Vec<Hazard> = parts.iter().map(|(_, ate)| of_dose("oral", *ate, "mg/kg")).collect();
    let parts = parts.iter().zip(&entries).map(|((percent, _), hazard)| (*percent, hazard));
    estimate(&mixture(parts), Route::Oral, rules).expect("an estimate")
}

/// Example 3.1(a): the range of the second part spans two categories, so its lowest value counts; the third is above
/// category 4 and counted all the same, which the Union does not ask for.
#[test]
fn hazard_three_doses_make_category_4() {
    for regime in [Regime::Un, Regime::Us] {
        let found = swallowed(&[(16.0, 1600.0), (4.0, 200.0), (80.0, 3450.0)], Rules { regime, specific: true });
        check(vec![row("3.1(a)", found.ate.to_f64(), 1880.0, 0.5, GUIDANCE)]);
        assert_eq!(found.category, Some(Category::Four));
    }
}

/// Example 3.1(c): what is above 5,000 mg/kg, or did nothing at the highest dose given, is not counted.
#[test]
fn hazard_one_dose_of_four_percent_makes_no_category() {
    let parts = [(4.0, 1737.0), (5.0, 5400.0)];
    for rules in all_rules() {
        let found = swallowed(&parts, rules);
        check(vec![row("3.1(c)", found.ate.to_f64(), 43_425.0, 0.5, GUIDANCE)]);
        assert_eq!(found.category, None);
        assert_eq!(found.counted.len(), 1);
    }
}

/// SOR/2015-17, 8.1.5: up to 10 % unknown the whole mixture stands above the line, beyond that only what is known.
#[test]
fn hazard_unknown_parts_above_ten_percent_leave_the_sum() {
    let known = of_dose("oral", 100.0, "mg/kg");
    let unknown = hazard("toxicity_unknown = [\"oral\"]");
    let mut rows = Vec::new();
    for (percent, expected) in [(0.5, 1000.0), (10.0, 1000.0), (20.0, 800.0), (90.0, 100.0)] {
        let mixture = mixture([(10.0, &known), (percent, &unknown)]);
        let found = estimate(&mixture, Route::Oral, EU).expect("an estimate");
        rows.push(row(format!("{percent} % unknown"), found.ate.to_f64(), expected, 1e-9, "SOR/2015-17, 8.1.5"));
        let told = classify(&mixture, EU).gaps.iter().any(|gap| gap.what.contains("unknown acute toxicity"));
        assert_eq!(told, percent >= 1.0, "{percent} % of unknown toxicity");
    }
    check(rows);
}

/// SOR/2015-17, tables of 8.1: the upper bound of a category belongs to it.
#[test]
fn hazard_each_bound_of_acute_toxicity_belongs_to_its_category() {
    let bounds = [
        ("oral", "mg/kg", Class::AcuteOral, [5.0, 50.0, 300.0, 2000.0]),
        ("dermal", "mg/kg", Class::AcuteDermal, [50.0, 200.0, 1000.0, 2000.0]),
        ("gas", "ppmV", Class::AcuteInhaled, [100.0, 500.0, 2500.0, 20_000.0]),
        ("vapour", "mg/L", Class::AcuteInhaled, [0.5, 2.0, 10.0, 20.0]),
        ("mist", "mg/L", Class::AcuteInhaled, [0.05, 0.5, 1.0, 5.0]),
    ];
    let categories = [Category::One, Category::Two, Category::Three, Category::Four];
    let mut rows = Vec::new();
    for (route, unit, class, bounds) in bounds {
        for (place, bound) in bounds.into_iter().enumerate() {
            for (value, expected) in [
                (bound * (1.0 - 1e-6), Some(categories[place])),
                (bound, Some(categories[place])),
                (bound * (1.0 + 1e-6), categories.get(place + 1).copied()),
            ] {
                let entry = of_dose(route, value, unit);
                rows.push((format!("{route} {value}"), category(&alone(&entry, 100.0, EU), class), expected));
            }
        }
    }
    same(rows);
}

/// The figures that stand for a category (table 3.1.2 of the GHS).
#[test]
fn hazard_converted_doses_are_those_of_the_table() {
    let table = [
        (Route::Oral, [0.5, 5.0, 100.0, 500.0]),
        (Route::Dermal, [5.0, 50.0, 300.0, 1100.0]),
        (Route::Gas, [10.0, 100.0, 700.0, 4500.0]),
        (Route::Vapour, [0.05, 0.5, 3.0, 11.0]),
        (Route::Mist, [0.005, 0.05, 0.5, 1.5]),
    ];
    let categories = [Category::One, Category::Two, Category::Three, Category::Four];
    let mut rows = Vec::new();
    for (reagent, entry) in reagents() {
        for dose in entry.toxicity.iter().filter(|dose| dose.converted) {
            let class = match dose.route {
                Route::Oral => Class::AcuteOral,
                Route::Dermal => Class::AcuteDermal,
                _ => Class::AcuteInhaled,
            };
            let told = entry.classes.iter().find(|entry| entry.class == class).map(|entry| entry.category);
            let (_, values) = table.iter().find(|(route, _)| *route == dose.route).expect("a line for every route");
            let stands_for = values.iter().position(|value| value == &dose.value).map(|place| categories[place]);
            rows.push((format!("{reagent}, {:?} {}", dose.route, dose.value), stands_for, told));
        }
    }
    same(rows);
}

/// SOR/2015-17, 8.1.2: what is in category 3 and worse counts from 0.1 %, the rest from 1 %.
#[test]
fn hazard_doses_count_from_their_cut_off() {
    let strong = of_dose("oral", 10.0, "mg/kg");
    for (value, cut_off) in [(0.5, 0.1), (300.0, 0.1), (300.1, 1.0), (2000.0, 1.0)] {
        let weak = of_dose("oral", value, "mg/kg");
        for (percent, counted) in around(cut_off, 2, 1) {
            let found = estimate(&mixture([(5.0, &strong), (percent, &weak)]), Route::Oral, EU).expect("an estimate");
            assert_eq!(found.counted.len(), counted, "{percent} % of {value} mg/kg");
        }
    }
    let dose = of_dose("oral", 0.5, "mg/kg");
    assert_eq!(category(&alone(&dose, 0.1, EU), Class::AcuteOral), Some(Category::Four));
    assert_eq!(category(&alone(&dose, 0.099, EU), Class::AcuteOral), None);
}

/// Each ingredient is held against its threshold by itself, and the worst that one of them brings holds.
#[test]
fn hazard_thresholds_do_not_add_up_and_the_worst_holds() {
    for class in ["mutagen", "carcinogen", "reproduction"] {
        let (worse, milder) = (of_class(class, "1B", ""), of_class(class, "2", ""));
        let named = worse.classes[0].class;
        for parts in [[(5.0, &worse), (5.0, &milder)], [(5.0, &milder), (5.0, &worse)]] {
            assert_eq!(category(&classify(&mixture(parts), EU), named), Some(Category::OneB), "{class}");
        }
        let little = classify(&mixture([(0.6, &milder), (0.6, &milder), (0.06, &worse), (0.06, &worse)]), EU);
        assert_eq!(category(&little, named), None, "{class}");
    }
}

// Worked examples: skin and eye.

/// Example 3.2/3.3(a): 4 % of an acid of pH 1.8 beside irritants, the whole at pH 4. Sums would make it an irritant, but
/// the acid acts alone from 1 %.
#[test]
fn hazard_an_acid_that_acts_alone_corrodes() {
    for (acts_alone, expected) in [(true, Category::One), (false, Category::Two)] {
        for rules in all_rules() {
            let mut acid = of_class("skin", "1", "");
            acid.acts_alone = acts_alone;
            let irritant = of_class("skin", "2", "");
            let (mild, none) = (hazard(""), hazard(""));
            let parts = [(4.0, &acid), (5.0, &irritant), (5.0, &mild), (86.0, &none)];
            let judged = classify(&Mixture { ph: Some(4.0), ..mixture(parts) }, rules);
            assert_eq!(category(&judged, Class::Skin), Some(expected), "{rules:?}, acts alone {acts_alone}");
        }
    }
}

/// SOR/2015-17, table to 8.2.11: from 1 % what corrodes, from 3 % what irritates.
#[test]
fn hazard_limits_of_what_acts_alone() {
    let mut rows = Vec::new();
    for (told, expected, limit) in [("1B", Category::OneB, 1.0), ("2", Category::Two, 3.0)] {
        let mut entry = of_class("skin", told, "");
        entry.acts_alone = true;
        for (percent, expected) in around(limit, Some(expected), None) {
            let found = category(&alone(&entry, percent, EU), Class::Skin);
            rows.push((format!("skin {told} {percent} %"), found, expected));
        }
    }
    same(rows);
}

/// SOR/2015-17, 8.2.5 and 8.3.5: pH 2 and below, 11.5 and above.
#[test]
fn hazard_extreme_ph_burns_skin_and_eyes() {
    let nothing = hazard("");
    for (ph, extreme) in [(0.0, true), (2.0, true), (2.01, false), (4.0, false), (11.49, false), (11.5, true)] {
        for rules in all_rules() {
            let judged = classify(&Mixture { ph: Some(ph), ..mixture([(1.0, &nothing)]) }, rules);
            let expected = extreme.then_some(Category::One);
            assert_eq!(category(&judged, Class::Skin), expected, "skin at pH {ph}, {rules:?}");
            assert_eq!(category(&judged, Class::Eye), expected, "eye at pH {ph}, {rules:?}");
        }
    }
}

/// The helpdesk's examples 1 and 2: 0.8 % of an irritant is not counted, 1.8 % is and stays below 10 %.
#[test]
fn hazard_little_of_an_irritant_does_not_irritate() {
    let (irritant, none, rest) = (of_class("skin", "2", ""), hazard(""), hazard(""));
    for percent in [0.8, 1.8] {
        for rules in all_rules() {
            let judged = classify(&mixture([(10.0 - percent, &none), (percent, &irritant), (90.0, &rest)]), rules);
            assert_eq!(judged.classes, [], "{percent} %, {rules:?}");
        }
    }
}

/// SOR/2015-17, tables to 8.2.8 and 8.3.8: ten times what corrodes and once what irritates.
#[test]
fn hazard_corrosive_and_irritant_parts_add_up() {
    let parts =
        [(of_class("skin", "1B", ""), of_class("skin", "2", "")), (of_class("eye", "1", ""), of_class("eye", "2", ""))];
    // Per cent that corrode (all 1 % and more, to be counted), per cent that irritate.
    let cases = [
        (0.0, 9.999, None),
        (0.0, 10.0, Some(Category::Two)),
        (0.5, 5.0, None),
        (0.5, 9.5, None),
        (1.0, 0.0, Some(Category::Two)),
    ];
    let mut rows = Vec::new();
    for ((strong, weak), class) in parts.iter().zip([Class::Skin, Class::Eye]) {
        for (corrosive, irritant, expected) in cases {
            let judged = classify(&mixture([(corrosive, strong), (irritant, weak)]), EU);
            rows.push((format!("{class}: {corrosive} % and {irritant} %"), category(&judged, class), expected));
        }
    }
    same(rows);
}

/// The Union's ladder: 1A if the parts of 1A make 5 %, 1B if those of 1A and 1B do, else 1C.
#[test]
fn hazard_sub_categories_of_corrosion_by_what_reaches_five_percent() {
    let entries = ["1A", "1B", "1C"].map(|told| of_class("skin", told, ""));
    let cases = [
        ([5.0, 0.0, 0.0], Some(Category::OneA)),
        ([2.0, 3.0, 0.0], Some(Category::OneB)),
        ([4.999, 0.0, 5.0], Some(Category::OneC)),
        ([2.0, 2.0, 1.0], Some(Category::OneC)),
        ([2.0, 2.0, 0.9], Some(Category::Two)),
        // Neither is counted below 1 %.
        ([0.9, 0.9, 0.9], None),
    ];
    let mut rows = Vec::new();
    for (percents, expected) in cases {
        let judged = classify(&mixture(percents.into_iter().zip(&entries)), EU);
        rows.push((format!("{percents:?}"), category(&judged, Class::Skin), expected));
    }
    same(rows);
}

// Worked examples: water life.

/// Example 4.1(a): sums 0.1, 2.0 and 20 per cent.
#[test]
fn hazard_aquatic_sums_below_a_quarter_make_no_class() {
    let one = hazard(
        "class = [
            { class = \"aquatic-acute\", category = \"1\", m_factor = 10, set_by = \"law\", source = \"memory\" },
            { class = \"aquatic-chronic\", category = \"1\", m_factor = 10, set_by = \"law\", source = \"memory\" },
        ]",
    );
    let two = hazard(
        "class = [
            { class = \"aquatic-acute\", category = \"2\", set_by = \"law\", source = \"memory\" },
            { class = \"aquatic-chronic\", category = \"2\", set_by = \"law\", source = \"memory\" },
        ]",
    );
    let (four, rest) = (of_class("aquatic-chronic", "4", ""), hazard(""));
    let acute = |first: f64, second: f64, rules: Rules| {
        let judged = classify(&mixture([(first, &one), (second, &two), (25.0, &four), (73.99, &rest)]), rules);
        category(&judged, Class::AquaticAcute)
    };
    for specific in [true, false] {
        let un = Rules { regime: Regime::Un, specific };
        assert_eq!(acute(0.01, 1.0, un), None, "the example");
        // The third sum is 100 × 0.1 + 10 × 1: half as much again of the second part fills it to 25.
        assert_eq!(acute(0.01, 1.5, un), Some(Category::Three));
        assert_eq!(acute(0.01, 1.499, un), None);
        // And the second is 10 × 0.1 + 1.
        assert_eq!(acute(0.01, 24.0, un), Some(Category::Two));
        assert_eq!(acute(2.5, 1.0, un), Some(Category::One));
        let eu = Rules { regime: Regime::Eu, specific };
        assert_eq!(acute(0.01, 24.0, eu), None, "the Union has no acute 2");
        assert_eq!(acute(2.5, 1.0, eu), Some(Category::One));
        assert_eq!(acute(2.5, 1.0, Rules { regime: Regime::Us, specific }), None, "no environment in us");
    }
}

/// The makers' notice: with a factor of 10 the limit is 2.5 % available chlorine.
#[test]
fn hazard_hypochlorite_is_acutely_toxic_to_water_life_from_two_and_a_half_percent() {
    let bleach = entry_of("sodium-hypochlorite");
    assert_eq!(bleach.counted_as, Counted::AvailableChlorine);
    for regime in [Regime::Eu, Regime::Un] {
        for (percent, expected) in [(2.5, true), (2.499_999, false), (2.4, false), (12.0, true)] {
            let judged = alone(bleach, percent, Rules { regime, specific: true });
            let found = category(&judged, Class::AquaticAcute) == Some(Category::One);
            assert_eq!(found, expected, "{percent} %, {regime:?}");
        }
    }
}

// Printed labels.

struct Printed {
    what: &'static str,
    classes: &'static [(Class, Category)],
    statements: Option<&'static [&'static str]>,
    pictograms: Option<&'static [&'static str]>,
    signal: Option<Signal>,
}

const PRINTED: &[Printed] = &[
    Printed {
        what: "hypochlorite, Australian entry",
        classes: &[
            (Class::Skin, Category::OneB),
            (Class::Eye, Category::One),
            (Class::SingleExposure, Category::Three),
            (Class::AquaticAcute, Category::One),
            (Class::AquaticChronic, Category::One),
        ],
        statements: Some(&["H314", "H335", "H410"]),
        pictograms: Some(&["GHS05", "GHS07", "GHS09"]),
        signal: Some(Signal::Danger),
    },
    Printed {
        what: "copper sulfate with water, card 1416",
        classes: &[
            (Class::AcuteOral, Category::Four),
            (Class::Eye, Category::One),
            (Class::AquaticAcute, Category::One),
            (Class::AquaticChronic, Category::One),
        ],
        statements: Some(&["H302", "H318", "H410"]),
        pictograms: Some(&["GHS05", "GHS07", "GHS09"]),
        signal: Some(Signal::Danger),
    },
    Printed {
        what: "copper sulfate without water, card 0751",
        classes: &[
            (Class::AcuteOral, Category::Four),
            (Class::Skin, Category::Two),
            (Class::Eye, Category::Two),
            (Class::AquaticAcute, Category::One),
            (Class::AquaticChronic, Category::One),
        ],
        statements: Some(&["H302", "H315", "H319", "H410"]),
        pictograms: None,
        signal: Some(Signal::Warning),
    },
    // Very toxic at once and toxic for long are printed as one.
    Printed {
        what: "copper oxychloride, data sheet",
        classes: &[
            (Class::AcuteOral, Category::Four),
            (Class::AcuteInhaled, Category::Four),
            (Class::AquaticAcute, Category::One),
            (Class::AquaticChronic, Category::Two),
        ],
        statements: Some(&["H302", "H332", "H410"]),
        pictograms: None,
        signal: None,
    },
];

#[test]
fn hazard_labels_as_printed() {
    let mut rows = Vec::new();
    for printed in PRINTED {
        let found = label_of(&published(printed.classes));
        let words = |words: &[&str]| words.join(" ");
        if let Some(expected) = printed.statements {
            rows.push((format!("{}, statements", printed.what), found.statements.join(" "), words(expected)));
        }
        if let Some(expected) = printed.pictograms {
            rows.push((format!("{}, pictograms", printed.what), found.pictograms.join(" "), words(expected)));
        }
        if let Some(signal) = printed.signal {
            rows.push((
                format!("{}, signal", printed.what),
                format!("{:?}", found.signal),
                format!("{:?}", Some(signal)),
            ));
        }
    }
    same(rows);
}

/// SOR/2015-17, 3.6, and article 26 of Regulation (EC) 1272/2008: which pictogram leaves no room for another.
#[test]
fn hazard_worse_pictograms_cover_the_exclamation_mark() {
    use Category::{Four, One, OneB, Three, Two};
    use Class::{AcuteOral, CorrosiveToMetals, Eye, RespiratorySensitiser, SingleExposure, Skin, SkinSensitiser};
    let cases: &[(&[(Class, Category)], &str)] = &[
        (&[(AcuteOral, Three), (Skin, Two)], "GHS06"),
        (&[(AcuteOral, Three), (SingleExposure, Three)], "GHS06"),
        (&[(Skin, Two), (Eye, One)], "GHS05"),
        (&[(Skin, OneB), (Eye, Two)], "GHS05"),
        (&[(AcuteOral, Four), (Skin, OneB)], "GHS05 GHS07"),
        (&[(Skin, OneB), (SkinSensitiser, One)], "GHS05 GHS07"),
        (&[(Skin, OneB), (SingleExposure, Three)], "GHS05 GHS07"),
        (&[(RespiratorySensitiser, One), (SkinSensitiser, One)], "GHS08"),
        (&[(Skin, Two), (Eye, Two), (RespiratorySensitiser, One)], "GHS08"),
        (&[(AcuteOral, Four), (RespiratorySensitiser, One)], "GHS07 GHS08"),
        (&[(Skin, Two), (Eye, Two)], "GHS07"),
        (&[(CorrosiveToMetals, One)], "GHS05"),
        (&[], ""),
    ];
    same(
        cases
            .iter()
            .map(|(classes, expected)| {
                let found = label_of(&published(classes)).pictograms.join(" ");
                (format!("{classes:?}"), found, (*expected).to_owned())
            })
            .collect(),
    );
}

/// Regulation (EC) 1272/2008, the label tables of annex I, and the standard's: pictogram, signal word and statement.
#[test]
fn hazard_what_each_category_puts_on_a_label() {
    use Category::{Four, One, OneA, OneB, OneC, Three, Two};
    use Class::{
        AcuteDermal, AcuteInhaled, AcuteOral, AquaticAcute, AquaticChronic, Carcinogen, CorrosiveToMetals, Eye,
        FlammableLiquid, Mutagen, OxidisingLiquid, OxidisingSolid, RepeatedExposure, Reproduction,
        RespiratorySensitiser, SingleExposure, Skin, SkinSensitiser,
    };
    let table: &[(Class, &[Category], &str)] = &[
        (OxidisingLiquid, &[One], "GHS03 Danger H271"),
        (OxidisingLiquid, &[Two], "GHS03 Danger H272"),
        (OxidisingLiquid, &[Three], "GHS03 Warning H272"),
        (OxidisingSolid, &[One], "GHS03 Danger H271"),
        (OxidisingSolid, &[Two], "GHS03 Danger H272"),
        (OxidisingSolid, &[Three], "GHS03 Warning H272"),
        (FlammableLiquid, &[Two], "GHS02 Danger H225"),
        (FlammableLiquid, &[Three], "GHS02 Warning H226"),
        (CorrosiveToMetals, &[One], "GHS05 Warning H290"),
        (AcuteOral, &[One, Two], "GHS06 Danger H300"),
        (AcuteOral, &[Three], "GHS06 Danger H301"),
        (AcuteOral, &[Four], "GHS07 Warning H302"),
        (AcuteDermal, &[One, Two], "GHS06 Danger H310"),
        (AcuteDermal, &[Three], "GHS06 Danger H311"),
        (AcuteDermal, &[Four], "GHS07 Warning H312"),
        (AcuteInhaled, &[One, Two], "GHS06 Danger H330"),
        (AcuteInhaled, &[Three], "GHS06 Danger H331"),
        (AcuteInhaled, &[Four], "GHS07 Warning H332"),
        (Skin, &[One, OneA, OneB, OneC], "GHS05 Danger H314"),
        (Skin, &[Two], "GHS07 Warning H315"),
        (Eye, &[One], "GHS05 Danger H318"),
        (Eye, &[Two], "GHS07 Warning H319"),
        (RespiratorySensitiser, &[One, OneA, OneB], "GHS08 Danger H334"),
        (SkinSensitiser, &[One, OneA, OneB], "GHS07 Warning H317"),
        (Mutagen, &[One, OneA, OneB], "GHS08 Danger H340"),
        (Mutagen, &[Two], "GHS08 Warning H341"),
        (Carcinogen, &[One, OneA, OneB], "GHS08 Danger H350"),
        (Carcinogen, &[Two], "GHS08 Warning H351"),
        (Reproduction, &[One, OneA, OneB], "GHS08 Danger H360"),
        (Reproduction, &[Two], "GHS08 Warning H361"),
        (SingleExposure, &[One], "GHS08 Danger H370"),
        (SingleExposure, &[Two], "GHS08 Warning H371"),
        (SingleExposure, &[Three], "GHS07 Warning H335"),
        (RepeatedExposure, &[One], "GHS08 Danger H372"),
        (RepeatedExposure, &[Two], "GHS08 Warning H373"),
        (AquaticAcute, &[One], "GHS09 Warning H400"),
        (AquaticChronic, &[One], "GHS09 Warning H410"),
        (AquaticChronic, &[Two], "GHS09 - H411"),
        (AquaticChronic, &[Three], "- - H412"),
        (AquaticChronic, &[Four], "- - H413"),
    ];
    let mut rows = Vec::new();
    for (class, categories, expected) in table {
        for category in *categories {
            let found = element(shipped().elements(), *class, *category).map_or("no line".to_owned(), |row| {
                let signal = row.signal.map_or("-".to_owned(), |signal| format!("{signal:?}"));
                format!("{} {signal} {}", row.pictogram.as_deref().unwrap_or("-"), row.statement)
            });
            rows.push((format!("{class} {category}"), found, (*expected).to_owned()));
        }
    }
    same(rows);
}

// Peroxide by strength.

/// Per cent by weight; classes beside eye damage under corroded skin, which tables leave out; statements; pictograms.
const PEROXIDE: &[(f64, &str, &str, &str, Option<Signal>)] = &[
    (1.0, "", "", "", None),
    (3.0, "", "", "", None),
    (5.0, "eye 2", "H319", "GHS07", Some(Signal::Warning)),
    (6.0, "eye 2", "H319", "GHS07", Some(Signal::Warning)),
    (8.0, "oxidiser 3, eye 1", "H272 H318", "GHS03 GHS05", Some(Signal::Danger)),
    (9.0, "oxidiser 3, eye 1", "H272 H318", "GHS03 GHS05", Some(Signal::Danger)),
    (12.0, "oxidiser 3, eye 1", "H272 H318", "GHS03 GHS05", Some(Signal::Danger)),
    (25.0, "oxidiser 2, swallowed 4, eye 1", "H272 H302 H318", "GHS03 GHS05 GHS07", Some(Signal::Danger)),
    (30.0, "oxidiser 2, swallowed 4, eye 1", "H272 H302 H318", "GHS03 GHS05 GHS07", Some(Signal::Danger)),
    (
        35.0,
        "oxidiser 2, swallowed 4, skin 2, eye 1, airways 3",
        "H272 H302 H315 H318 H335",
        "GHS03 GHS05 GHS07",
        Some(Signal::Danger),
    ),
    (
        50.0,
        "oxidiser 2, swallowed 4, skin 1B, eye 1, airways 3",
        "H272 H302 H314 H335",
        "GHS03 GHS05 GHS07",
        Some(Signal::Danger),
    ),
    // Category 1 of the carriage band begins above 60.
    (
        60.0,
        "oxidiser 2, swallowed 4, breathed 4, skin 1B, eye 1, airways 3",
        "H272 H302 H332 H314 H335",
        "GHS03 GHS05 GHS07",
        Some(Signal::Danger),
    ),
    (
        70.0,
        "oxidiser 1, swallowed 4, breathed 4, skin 1A, eye 1, airways 3",
        "H271 H302 H332 H314 H335",
        "GHS03 GHS05 GHS07",
        Some(Signal::Danger),
    ),
];

#[test]
fn hazard_peroxide_by_strength() {
    let peroxide = entry_of("hydrogen-peroxide");
    let mut rows = Vec::new();
    for (percent, classes, statements, pictograms, signal) in PEROXIDE {
        let judged = alone(peroxide, *percent, EU);
        let found: Vec<String> = judged
            .classes
            .iter()
            .map(|found| {
                let word = match found.class {
                    Class::OxidisingLiquid => "oxidiser",
                    Class::AcuteOral => "swallowed",
                    Class::AcuteInhaled => "breathed",
                    Class::Skin => "skin",
                    Class::Eye => "eye",
                    Class::SingleExposure => "airways",
                    _ => "something else",
                };
                format!("{word} {}", found.category)
            })
            .collect();
        let label = label_of(&judged);
        let mut row = |what: &str, found: String, expected: &str| {
            rows.push((format!("{percent} %, {what}"), found, expected.to_owned()));
        };
        row("classes", found.join(", "), classes);
        row("statements", label.statements.join(" "), statements);
        row("pictograms", label.pictograms.join(" "), pictograms);
        row("signal", format!("{:?}", label.signal), &format!("{signal:?}"));
    }
    same(rows);
}

/// The transport list: packing group III from 8 %, II from 20 % to 60 % itself, I above.
#[test]
fn hazard_peroxide_is_carried_by_the_same_bands() {
    let peroxide = entry_of("hydrogen-peroxide");
    let bands = [
        (7.999_99, None),
        (8.0, Some(Category::Three)),
        (19.999_9, Some(Category::Three)),
        (20.0, Some(Category::Two)),
        (60.0, Some(Category::Two)),
        (60.000_1, Some(Category::One)),
        (90.0, Some(Category::One)),
    ];
    let mut rows = Vec::new();
    for rules in all_rules() {
        for (percent, expected) in bands {
            let found = category(&alone(peroxide, percent, rules), Class::OxidisingLiquid);
            rows.push((format!("{percent} %, {rules:?}"), found, expected));
        }
    }
    same(rows);
}

// Each limit of each entry.

fn reagents() -> impl Iterator<Item = (&'static str, &'static Hazard)> {
    shipped().reagents().filter_map(|reagent| Some((reagent.key.as_str(), reagent.hazard.as_ref()?)))
}

/// Just below a limit, on it and just above, with what holds there.
fn around<T: Copy>(limit: f64, from: T, below: T) -> [(f64, T); 3] {
    [(limit * (1.0 - 1e-6), below), (limit, from), (limit * (1.0 + 1e-6), from)]
}

/// One class of an entry and nothing else of it.
fn only(entry: &Classified) -> Hazard {
    Hazard { classes: vec![entry.clone()], ..hazard("") }
}

fn reaches(percent: f64, from: f64, above: bool) -> bool {
    if above { percent > from } else { percent >= from }
}

/// What the limits on file make of a strength: the worst that it reaches.
fn by_limits(limits: &[Limit], percent: f64) -> Option<Category> {
    limits.iter().filter(|limit| reaches(percent, limit.from, limit.above)).map(|limit| limit.category).min()
}

#[test]
fn hazard_every_specific_limit_holds_from_where_it_stands() {
    let mut rows = Vec::new();
    for (key, table) in reagents() {
        for entry in table.classes.iter().filter(|entry| !entry.limits.is_empty()) {
            let alone_in = |percent: f64| category(&alone(&only(entry), percent, EU), entry.class);
            for limit in &entry.limits {
                for (percent, reached) in around(limit.from, true, false) {
                    let found = alone_in(percent);
                    let what = format!("{key}, {} {percent} %", entry.class);
                    rows.push((what.clone(), found, by_limits(&entry.limits, percent)));
                    // Unless another limit, of the law or of carriage, brings it already.
                    let others: Vec<Limit> =
                        entry.limits.iter().filter(|other| !std::ptr::eq(*other, limit)).cloned().collect();
                    let already = by_limits(&others, percent).is_some_and(|other| other <= limit.category);
                    let holds = found.is_some_and(|found| found <= limit.category);
                    let expected = already || (reached && (!limit.above || percent > limit.from));
                    rows.push((
                        format!("{what}, category {} holds: {holds}", limit.category),
                        Some(limit.category).filter(|_| holds),
                        Some(limit.category).filter(|_| expected),
                    ));
                }
            }
        }
    }
    same(rows);
}

/// Generic limits of the Union for an entry without its own: per cent and what holds from there, the worst last.
fn generic(entry: &Classified) -> Vec<(f64, Category)> {
    use Category::{One, OneA, Three, Two};
    let m = entry.m_factor.unwrap_or(1.0);
    match (entry.class, entry.category) {
        (Class::Skin, category) if category.is_first() => vec![(1.0, Two), (5.0, category)],
        (Class::Eye, One) => vec![(1.0, Two), (3.0, One)],
        (Class::Skin | Class::Eye, Two) => vec![(10.0, Two)],
        (Class::SkinSensitiser | Class::RespiratorySensitiser, OneA) => vec![(0.1, OneA)],
        (Class::SkinSensitiser | Class::RespiratorySensitiser, category) => vec![(1.0, category)],
        (Class::Mutagen | Class::Carcinogen, category) if category.is_first() => vec![(0.1, category)],
        (Class::Mutagen | Class::Carcinogen, Two) => vec![(1.0, Two)],
        (Class::Reproduction, category) if category.is_first() => vec![(0.3, category)],
        (Class::Reproduction, Two) => vec![(3.0, Two)],
        (Class::SingleExposure, Three) => vec![(20.0, Three)],
        (Class::SingleExposure | Class::RepeatedExposure, One) => vec![(1.0, Two), (10.0, One)],
        (Class::SingleExposure | Class::RepeatedExposure, Two) => vec![(10.0, Two)],
        (Class::AquaticAcute, One) => vec![(25.0 / m, One)],
        (Class::AquaticChronic, One) => vec![(0.25 / m, Three), (2.5 / m, Two), (25.0 / m, One)],
        (Class::AquaticChronic, Two) => vec![(2.5, Three), (25.0, Two)],
        (Class::AquaticChronic, Three) => vec![(25.0, Three)],
        _ => Vec::new(),
    }
}

#[test]
fn hazard_every_entry_without_limits_follows_the_generic_ones() {
    let mut rows = Vec::new();
    for (key, table) in reagents() {
        for entry in &table.classes {
            // Oxidisers, flammables and metals have no generic limit, doses a sum.
            if entry.class <= Class::AcuteInhaled {
                continue;
            }
            for rules in [EU, Rules { specific: false, ..EU }] {
                if rules.specific && !entry.limits.is_empty() {
                    continue;
                }
                let limits = generic(entry);
                assert!(!limits.is_empty(), "{key}, {} {}", entry.class, entry.category);
                let mut below = None;
                for (limit, category_there) in limits {
                    for (percent, expected) in around(limit, Some(category_there), below) {
                        let found = category(&alone(&only(entry), percent, rules), entry.class);
                        let what = format!("{key}, {} {percent} %, own limits {}", entry.class, rules.specific);
                        rows.push((what, found, expected));
                    }
                    below = Some(category_there);
                }
            }
        }
    }
    same(rows);
}

/// `100 / ATE = C / ATEi`, so a category begins at `100 ATEi / bound` per cent.
#[test]
fn hazard_every_dose_makes_its_categories_from_the_share_of_their_bounds() {
    let bounds = |route: Route| match route {
        Route::Oral => [2000.0, 300.0, 50.0, 5.0],
        Route::Dermal => [2000.0, 1000.0, 200.0, 50.0],
        Route::Gas => [20_000.0, 2500.0, 500.0, 100.0],
        Route::Vapour => [20.0, 10.0, 2.0, 0.5],
        Route::Mist => [5.0, 1.0, 0.5, 0.05],
    };
    let categories = [Category::Four, Category::Three, Category::Two, Category::One];
    let mut rows = Vec::new();
    for (key, table) in reagents() {
        for dose in &table.toxicity {
            let entry = Hazard { toxicity: vec![dose.clone()], ..hazard("") };
            let class = match dose.route {
                Route::Oral => Class::AcuteOral,
                Route::Dermal => Class::AcuteDermal,
                _ => Class::AcuteInhaled,
            };
            let mut below = None;
            for (bound, category_there) in bounds(dose.route).into_iter().zip(categories) {
                let limit = 100.0 * dose.value / bound;
                if limit > 100.0 {
                    continue;
                }
                for (percent, expected) in around(limit, Some(category_there), below) {
                    // 33.33… per cent has no decimal: only what lies beside it can be typed.
                    let typable = (limit * 1e4).fract() == 0.0;
                    if percent <= 100.0 && (typable || percent != limit) {
                        let found = category(&alone(&entry, percent, EU), class);
                        rows.push((format!("{key}, {class} {percent} %"), found, expected));
                    }
                }
                below = Some(category_there);
            }
        }
    }
    same(rows);
}

#[test]
fn hazard_every_statement_beyond_the_classes_from_its_limit() {
    let mut rows = Vec::new();
    for (key, table) in reagents() {
        for extra in &table.supplements {
            for (percent, _) in around(extra.from, (), ()) {
                let judged = alone(table, percent, EU);
                let found = judged.supplements.iter().filter(|found| found.statement == extra.statement).count();
                let expected = usize::from(reaches(percent, extra.from, extra.above));
                rows.push((format!("{key}, {} at {percent} %", extra.statement), found, expected));
            }
        }
    }
    same(rows);
}

#[test]
fn hazard_every_extreme_ph_burns_from_its_strength() {
    let mut rows = Vec::new();
    for (key, table) in reagents() {
        let Some(extreme) = &table.extreme_ph else { continue };
        let entry = Hazard { extreme_ph: Some(extreme.clone()), ..hazard("") };
        for (percent, expected) in around(extreme.from, Some(Category::One), None) {
            let judged = alone(&entry, percent, EU);
            rows.push((format!("{key}, skin {percent} %"), category(&judged, Class::Skin), expected));
            rows.push((format!("{key}, eye {percent} %"), category(&judged, Class::Eye), expected));
            // A measured pH takes the place of the one on file.
            let judged = classify(&Mixture { ph: Some(7.0), ..mixture([(percent, &entry)]) }, EU);
            rows.push((format!("{key}, skin {percent} % at pH 7"), category(&judged, Class::Skin), None));
        }
    }
    same(rows);
}

/// What cannot be told of a solution is said, and no class is made up.
#[test]
fn hazard_physical_classes_without_a_test_are_gaps() {
    for (key, table) in reagents() {
        for entry in table.classes.iter().filter(|entry| entry.class <= Class::CorrosiveToMetals) {
            if entry.class != Class::OxidisingSolid && !entry.limits.is_empty() {
                continue;
            }
            for percent in [1.0, 50.0, 100.0] {
                let judged = alone(&only(entry), percent, EU);
                assert_eq!(judged.classes, [], "{key}, {} at {percent} %", entry.class);
                let told = judged.gaps.iter().any(|gap| gap.what.contains("part 0"));
                assert!(told, "{key}, {} at {percent} %: {:?}", entry.class, judged.gaps);
            }
        }
    }
}

/// Sections B3 to B7 of SOR/2015-17 and Regulation (EC) 1272/2008 on a shelf's own substances.
#[test]
fn hazard_generic_limits_on_known_substances() {
    use Category::{Four, One, OneA, OneB, OneC, Three, Two};
    use Regime::{Eu, Un, Us};
    type Limits = (&'static str, Class, Regime, bool, f64, Category, Option<Category>);
    let table: &[Limits] = &[
        ("chloramine-t", Class::Skin, Eu, true, 1.0, Two, None),
        ("chloramine-t", Class::Skin, Eu, true, 5.0, OneB, Some(Two)),
        ("potassium-permanganate", Class::Skin, Eu, true, 5.0, OneC, Some(Two)),
        ("hydrogen-peroxide", Class::Skin, Un, false, 1.0, Two, None),
        ("hydrogen-peroxide", Class::Skin, Us, false, 5.0, OneA, Some(Two)),
        ("copper-sulfate", Class::Eye, Eu, true, 1.0, Two, None),
        ("copper-sulfate", Class::Eye, Eu, true, 3.0, One, Some(Two)),
        ("sodium-hypochlorite", Class::Eye, Eu, true, 3.0, One, Some(Two)),
        ("hydrogen-peroxide", Class::Eye, Un, false, 3.0, One, Some(Two)),
        ("isopropanol", Class::Eye, Eu, true, 10.0, Two, None),
        ("ethanol", Class::Eye, Eu, true, 50.0, Two, None),
        ("ethanol", Class::Eye, Eu, false, 10.0, Two, None),
        ("glutaraldehyde", Class::SkinSensitiser, Eu, true, 0.1, OneA, None),
        ("glutaraldehyde", Class::RespiratorySensitiser, Eu, true, 1.0, One, None),
        ("glutaraldehyde", Class::RespiratorySensitiser, Us, true, 0.1, One, None),
        ("formaldehyde", Class::SkinSensitiser, Eu, true, 0.2, One, None),
        ("formaldehyde", Class::SkinSensitiser, Eu, false, 1.0, One, None),
        ("formaldehyde", Class::SkinSensitiser, Un, false, 0.1, One, None),
        ("formaldehyde", Class::Mutagen, Eu, true, 1.0, Two, None),
        ("formaldehyde", Class::Mutagen, Us, true, 1.0, Two, None),
        ("formaldehyde", Class::Carcinogen, Eu, true, 0.1, OneB, None),
        ("formaldehyde", Class::Carcinogen, Us, true, 0.1, OneB, None),
        ("potassium-permanganate", Class::Reproduction, Eu, true, 3.0, Two, None),
        ("potassium-permanganate", Class::Reproduction, Us, true, 0.1, Two, None),
        ("potassium-permanganate", Class::Reproduction, Un, true, 0.1, Two, None),
        ("potassium-permanganate", Class::RepeatedExposure, Eu, true, 10.0, Two, None),
        ("potassium-permanganate", Class::RepeatedExposure, Us, true, 1.0, Two, None),
        ("isopropanol", Class::SingleExposure, Eu, true, 20.0, Three, None),
        ("isopropanol", Class::SingleExposure, Us, true, 20.0, Three, None),
        ("citric-acid", Class::SingleExposure, Eu, true, 20.0, Three, None),
        ("copper-sulfate", Class::AquaticAcute, Eu, true, 2.5, One, None),
        ("copper-sulfate", Class::AquaticAcute, Un, true, 2.5, One, Some(Two)),
        ("copper-sulfate", Class::AquaticAcute, Un, true, 0.25, Two, Some(Three)),
        ("copper-sulfate", Class::AquaticAcute, Un, true, 0.025, Three, None),
        ("copper-sulfate", Class::AquaticChronic, Eu, true, 25.0, One, Some(Two)),
        ("copper-sulfate", Class::AquaticChronic, Eu, true, 2.5, Two, Some(Three)),
        ("copper-sulfate", Class::AquaticChronic, Eu, true, 0.25, Three, None),
        ("sodium-hypochlorite", Class::AquaticChronic, Eu, true, 0.25, Three, None),
        ("potassium-permanganate", Class::AquaticAcute, Eu, true, 2.5, One, None),
        ("potassium-permanganate", Class::AquaticChronic, Eu, true, 2.5, One, Some(Two)),
        ("potassium-permanganate", Class::AquaticChronic, Eu, true, 0.25, Two, Some(Three)),
        ("potassium-permanganate", Class::AquaticChronic, Eu, true, 0.025, Three, None),
        ("hydrogen-peroxide", Class::AcuteOral, Eu, true, 25.0, Four, None),
        ("hydrogen-peroxide", Class::AcuteOral, Us, false, 25.0, Four, None),
        ("hydrogen-peroxide", Class::AcuteInhaled, Eu, true, 55.0, Four, None),
        ("copper-sulfate", Class::AcuteOral, Eu, true, 24.05, Four, None),
        ("potassium-permanganate", Class::AcuteOral, Eu, true, 25.0, Four, None),
        ("formaldehyde", Class::AcuteOral, Eu, true, 5.0, Four, None),
    ];
    let mut rows = Vec::new();
    for (key, class, regime, specific, limit, from, below) in table {
        for (percent, expected) in around(*limit, Some(*from), *below) {
            let judged = alone(entry_of(key), percent, Rules { regime: *regime, specific: *specific });
            let what = format!("{key}, {class} {percent} % in {}, own limits {specific}", regime.word());
            rows.push((what, category(&judged, *class), expected));
        }
    }
    same(rows);
}

/// By the generic rule alone 3 % peroxide damages eyes and irritates skin, 5 % corrodes.
#[test]
fn hazard_peroxide_without_its_own_limits_is_worse() {
    let peroxide = entry_of("hydrogen-peroxide");
    for regime in REGIMES {
        let rules = Rules { regime, specific: false };
        let at = |percent: f64, class: Class| category(&alone(peroxide, percent, rules), class);
        assert_eq!(at(3.0, Class::Eye), Some(Category::One));
        assert_eq!(at(3.0, Class::Skin), Some(Category::Two));
        assert_eq!(at(5.0, Class::Skin), Some(Category::OneA));
        let judged = alone(peroxide, 3.0, Rules { regime, specific: true });
        assert_eq!(judged.classes, [], "{regime:?}");
    }
}

/// Passing effects of one kind add up by their limits; those of two kinds do not.
#[test]
fn hazard_passing_effects_add_up_by_kind() {
    let airways = of_class("single-exposure", "3", ", effect = \"respiratory\"");
    let other = of_class("single-exposure", "3", ", effect = \"respiratory\"");
    let drowsy = of_class("single-exposure", "3", ", effect = \"drowsiness\"");
    let statements = |parts: [(f64, &Hazard); 2]| label_of(&classify(&mixture(parts), EU)).statements.join(" ");
    assert_eq!(statements([(12.0, &airways), (8.0, &other)]), "H335");
    assert_eq!(statements([(12.0, &airways), (7.999, &other)]), "");
    assert_eq!(statements([(12.0, &airways), (8.0, &drowsy)]), "");
    assert_eq!(statements([(20.0, &airways), (20.0, &drowsy)]), "H335 H336");
    assert_eq!(airways.classes[0].effect, Some(Effect::Respiratory));
}

/// Shares of the limits of two acids: half of 10 % and half of 10 % irritate, half of 25 % and half of 25 % corrode.
#[test]
fn hazard_shares_of_specific_limits_add_up() {
    let (acetic, hydrochloric) = (entry_of("acetic-acid"), entry_of("hydrochloric-acid"));
    let both = |one: f64, other: f64, class: Class| {
        category(&classify(&mixture([(one, acetic), (other, hydrochloric)]), EU), class)
    };
    for class in [Class::Skin, Class::Eye] {
        assert_eq!(both(5.0, 5.0, class), Some(Category::Two));
        assert_eq!(both(5.0, 4.999, class), None);
        assert_eq!(both(12.5, 12.499, class), Some(Category::Two));
        assert!(both(12.5, 12.5, class).is_some_and(Category::is_first));
    }
}

/// SOR/2015-17, 8.2.8 and the standard: a letter only where all that corrodes bears it; the Union's ladder is its own.
#[test]
fn hazard_outside_the_union_a_mixture_of_letters_bears_none() {
    let (worst, middle) = (of_class("skin", "1A", ""), of_class("skin", "1B", ""));
    let mut rows = Vec::new();
    for rules in all_rules().filter(|rules| rules.regime != Regime::Eu) {
        let skin = |parts: [(f64, &Hazard); 2]| category(&classify(&mixture(parts), rules), Class::Skin);
        rows.push((format!("2 % 1A, 3 % 1B, {rules:?}"), skin([(2.0, &worst), (3.0, &middle)]), Some(Category::One)));
        rows.push((format!("2 % 1B, 3 % 1B, {rules:?}"), skin([(2.0, &middle), (3.0, &middle)]), Some(Category::OneB)));
    }
    same(rows);
}

/// Mild irritants (skin 3) are their own category, which no rules here take up.
#[test]
fn hazard_mild_irritants_do_not_irritate() {
    let mild = of_class("skin", "3", "");
    for rules in all_rules() {
        assert_eq!(category(&alone(&mild, 50.0, rules), Class::Skin), None, "{rules:?}");
    }
}

/// A band that begins above its figure does not hold on it; only physical hazards have such, the catalogue refuses others.
#[test]
fn hazard_limits_that_begin_above_their_figure() {
    let mut rows = Vec::new();
    for (class, category_there) in [("oxidising-liquid", "3"), ("flammable-liquid", "3"), ("corrosive-to-metals", "1")]
    {
        let limit =
            format!(", limit = [{{ category = \"{category_there}\", from = 5, above = true, source = \"memory\" }}]");
        let entry = of_class(class, category_there, &limit);
        for (percent, expected) in [(4.999_99, false), (5.0, false), (5.000_01, true)] {
            rows.push((
                format!("{class} {percent} %"),
                alone(&entry, percent, EU).has(entry.classes[0].class),
                expected,
            ));
        }
    }
    same(rows);
}

/// Two ingredients that corrode metals make one class.
#[test]
fn hazard_each_class_is_told_once() {
    for class in ["corrosive-to-metals", "oxidising-liquid", "flammable-liquid", "skin-sensitiser", "mutagen"] {
        let category = if class == "flammable-liquid" { "2" } else { "1" };
        let limit = format!(", limit = [{{ category = \"{category}\", from = 5, source = \"memory\" }}]");
        let entry = of_class(class, category, &limit);
        let judged = classify(&mixture([(6.0, &entry), (7.0, &entry)]), EU);
        assert_eq!(judged.classes.len(), 1, "{class}: {:?}", judged.classes);
    }
}

/// The published labels once more, from the shelf's own entries.
#[test]
fn hazard_shelf_entries_make_the_printed_labels() {
    let copper = Mixture { form: Form::Solid, ..mixture([(100.0, entry_of("copper-sulfate"))]) };
    let label = label_of(&classify(&copper, EU));
    assert_eq!(label.statements, ["H302", "H318", "H410"]);
    assert_eq!(label.pictograms, ["GHS05", "GHS07", "GHS09"]);
    assert_eq!(label.signal, Some(Signal::Danger));
    // Australia alone adds irritation of the airways; 25 % as chlorine brings both aquatic classes.
    let bleach = alone(entry_of("sodium-hypochlorite"), 25.0, EU);
    let label = label_of(&bleach);
    assert_eq!(label.statements, ["H314", "H410"]);
    assert_eq!(label.pictograms, ["GHS05", "GHS09"]);
    assert!(bleach.supplements.iter().any(|extra| extra.statement == "EUH031"));
}

// Check values.

/// A dip of permanganate, and bleach at dip strength: what is left at last is harm to water life.
#[test]
fn hazard_at_dip_strength_harm_to_water_is_left() {
    let statements = |key: &str, percent: f64| label_of(&alone(entry_of(key), percent, EU)).statements;
    assert_eq!(statements("sodium-hypochlorite", 0.25), ["H412"]);
    assert_eq!(statements("potassium-permanganate", 0.025), ["H412"]);
    assert_eq!(statements("potassium-permanganate", 0.249), ["H412"]);
    assert_eq!(statements("potassium-permanganate", 0.25), ["H411"]);
    let judged = alone(entry_of("potassium-permanganate"), 2.5, EU);
    assert_eq!(category(&judged, Class::AquaticAcute), Some(Category::One));
    assert_eq!(category(&judged, Class::AquaticChronic), Some(Category::One));
    assert_eq!(label_of(&alone(entry_of("potassium-permanganate"), 0.25, EU)).pictograms, ["GHS09"]);
}

#[test]
fn hazard_permanganate_keeps_its_own_statement_of_harm_to_the_unborn() {
    let label = label_of(&alone(entry_of("potassium-permanganate"), 3.0, EU));
    assert!(label.statements.contains(&"H361d".to_owned()), "{label:?}");
    assert!(!label.statements.contains(&"H361".to_owned()), "{label:?}");
}

/// Regulation (EC) 1272/2008, annex II, and what is said of sensitisers below their limit; no such statements elsewhere.
#[test]
fn hazard_statements_beyond_the_classes() {
    let extras = |key: &str, percent: f64, regime: Regime| -> Vec<String> {
        let judged = alone(entry_of(key), percent, Rules { regime, specific: true });
        judged.supplements.into_iter().map(|extra| extra.statement).collect()
    };
    let has = |key: &str, percent: f64, code: &str| extras(key, percent, Regime::Eu).contains(&code.to_owned());
    assert!(!has("sodium-hypochlorite", 4.999_99, "EUH031"));
    assert!(has("sodium-hypochlorite", 5.0, "EUH031"));
    assert!(!has("sodium-hypochlorite", 1.0, "EUH206"));
    assert!(has("sodium-hypochlorite", 1.000_01, "EUH206"));
    // A tenth of 0.1 % for what is 1A, of 1 % for what is 1, of a limit of its own.
    for (key, limit) in [("glutaraldehyde", 0.01), ("chloramine-t", 0.1), ("formaldehyde", 0.02)] {
        assert!(!has(key, limit * 0.999, "EUH208"), "{key}");
        assert!(has(key, limit, "EUH208"), "{key}");
        for regime in [Regime::Un, Regime::Us] {
            assert_eq!(extras(key, limit, regime), [""; 0], "{key}");
        }
    }
    assert!(!has("chloramine-t", 1.0, "EUH208"), "it is classed there");
    assert!(has("hydrogen-peroxide", 3.0, "EUH210"));
    assert!(!has("hydrogen-peroxide", 0.999, "EUH210"));
    assert!(!has("hydrogen-peroxide", 5.0, "EUH210"));
    assert!(!has("sodium-chloride", 20.0, "EUH210"));
}

/// Section 2.10 of annex II: below 1 % a sheet is due for a sensitiser from 0.1 % (1A from 0.01 %, or a tenth of its own
/// limit), a carcinogen of category 2 or a toxicant to reproduction from 0.1 %, if the mixture has no class.
#[test]
fn hazard_a_data_sheet_is_due_for_a_little_of_what_harms_for_long() {
    let due = |entry: &Hazard, percent: f64| {
        let judged = alone(entry, percent, EU);
        assert_eq!(judged.classes, [], "{percent} %");
        judged.supplements.iter().any(|extra| extra.statement == "EUH210")
    };
    let mut rows = Vec::new();
    for (key, limit) in [("glutaraldehyde", 0.01), ("formaldehyde", 0.02), ("chloramine-t", 0.1)] {
        for (percent, expected) in around(limit, true, false) {
            rows.push((format!("{key} {percent} %"), due(entry_of(key), percent), expected));
        }
    }
    for (class, told, limit) in [
        ("skin-sensitiser", "1", 0.1),
        ("skin-sensitiser", "1A", 0.01),
        ("respiratory-sensitiser", "1", 0.1),
        ("carcinogen", "2", 0.1),
        ("reproduction", "2", 0.1),
    ] {
        let entry = of_class(class, told, "");
        for (percent, expected) in around(limit, true, false) {
            rows.push((format!("{class} {told} {percent} %"), due(&entry, percent), expected));
        }
    }
    same(rows);
}

// Words.

/// Misprints and fill-in marks of the package, one by one.
const DEFECTS: &[(&str, &str, &str)] = &[
    ("H334", "orbreathing", "or breathing"),
    ("H340", " <exposure>", ""),
    ("H341", " <exposure>", ""),
    ("H350", " <exposure>", ""),
    ("H351", " <exposure>", ""),
    ("H360", " <effect> <exposure>", ""),
    ("H361", " <effect> <exposure>", ""),
    ("H370", " <organs>. <exposure>", "."),
    ("H371", " <organs>. <exposure>", "."),
    ("H372", " <organs>", ""),
    ("H372", " <exposure>", ""),
    ("H373", " <organs>", ""),
    ("H373", " <exposure>", ""),
];

#[test]
fn hazard_statements_in_the_packages_english() {
    let mut known: BTreeMap<&str, String> = include_str!("ghs-statements-en.tsv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split_once('\t').expect("a code and a text"))
        .map(|(code, text)| (code, text.to_owned()))
        .collect();
    for (code, defect, mended) in DEFECTS {
        let text = known.get_mut(code).unwrap_or_else(|| panic!("no {code}"));
        assert!(text.contains(defect), "{code} is without its defect: {text}");
        *text = text.replace(defect, mended);
    }
    let rows: Vec<_> = known
        .into_iter()
        .filter(|(code, _)| code.starts_with('H') || code.starts_with("EUH"))
        .filter_map(|(code, text)| Some((code.to_owned(), shipped().statement(code)?.en.clone(), text)))
        .collect();
    assert!(rows.len() >= 43, "{} codes are shared", rows.len());
    same(rows);
}

// Exact decimals.

#[test]
fn hazard_strengths_are_decimals() {
    let product = |a: f64, b: f64| &Exact::of(a) * &Exact::of(b);
    let share = |a: f64, b: f64| &Exact::of(a) / &Exact::of(b);
    assert_ne!(0.07 * 100.0, 7.0, "binary arithmetic misses it");
    assert_eq!(Exact::of(0.07 * 100.0), Exact::of(7.0));
    assert_eq!(product(0.07, 100.0), Exact::of(7.0));
    assert_eq!(product(2.5, 10.0), Exact::of(25.0));
    assert_eq!(share(500.0, 0.25), Exact::of(2000.0));
    assert_eq!(Exact::of(0.1 + 0.2), Exact::of(0.3));
    assert_eq!(&Exact::of(0.1) + &Exact::of(0.2), Exact::of(0.3));
    assert_eq!([1.1, 2.2, 1.7].map(Exact::of).into_iter().sum::<Exact>(), Exact::of(5.0));
    assert_eq!(product(3.0, 1.0 / 3.0).to_f64(), 0.999_999_999, "nine figures of a third");
    assert_eq!(&share(1.0, 3.0) * &Exact::of(3.0), Exact::one());
}

/// Tenths whose binary sum misses the limit.
#[test]
fn hazard_sums_on_the_limit_are_on_it() {
    let corrosive = of_class("skin", "1B", "");
    let at = |percents: &[f64]| {
        let judged = classify(&mixture(percents.iter().map(|percent| (*percent, &corrosive))), EU);
        category(&judged, Class::Skin)
    };
    let sums = [[1.0, 2.3, 1.7], [1.7, 1.4, 1.9], [2.3, 1.0, 1.7]];
    for percents in sums {
        let shares: f64 = percents.iter().map(|percent| percent / 5.0).sum();
        assert!(shares < 1.0, "binary arithmetic falls short: {percents:?}");
        assert_eq!(at(&percents), Some(Category::OneB), "{percents:?}");
    }
    assert_eq!(at(&[1.1, 2.2, 1.699_999]), Some(Category::Two));
    let dose = of_dose("oral", 500.0, "mg/kg");
    assert_eq!(category(&alone(&dose, 25.0, EU), Class::AcuteOral), Some(Category::Four));
    assert_eq!(category(&alone(&dose, 0.25 * 100.0, EU), Class::AcuteOral), Some(Category::Four));
}

/// Limits of carriage are limits of carriage, whoever reads the file.
#[test]
fn hazard_only_peroxide_and_spirit_have_bands_of_carriage() {
    let carried: Vec<&str> = reagents()
        .filter(|(_, table)| {
            table.classes.iter().any(|entry| entry.limits.iter().any(|limit| limit.of == LimitOf::Transport))
        })
        .map(|(key, _)| key)
        .collect();
    assert_eq!(carried, ["ethanol", "hydrogen-peroxide"]);
}

/// The rules of carriage of alcohol: packing group III from 24 % by volume, II above 70, by weight 19.5 and 62.4 %.
#[test]
fn hazard_spirit_burns_by_the_bands_of_carriage() {
    let mut rows = Vec::new();
    for key in ["ethanol", "isopropanol"] {
        for rules in all_rules() {
            for (percent, expected) in [
                (19.499_99, None),
                (19.5, Some(Category::Three)),
                (62.4, Some(Category::Three)),
                (62.400_1, Some(Category::Two)),
                (100.0, Some(Category::Two)),
            ] {
                let found = category(&alone(entry_of(key), percent, rules), Class::FlammableLiquid);
                rows.push((format!("{key} {percent} %, {rules:?}"), found, expected));
            }
        }
    }
    same(rows);
}

/// A pH that is only recalled stands in for data that are missing, and does not overrule those that are there.
#[test]
fn hazard_a_recalled_ph_gives_way_to_own_data() {
    let extreme = "extreme_ph = { from = 2, ph = 2.0, source = \"memory\" }";
    let bare = hazard(extreme);
    let eye = "class = [{ class = \"eye\", category = \"2\", set_by = \"law\", source = \"memory\" }]";
    let known = hazard(&format!("{extreme}\n{eye}"));
    for rules in all_rules() {
        assert_eq!(category(&alone(&bare, 5.0, rules), Class::Skin), Some(Category::One));
        let judged = alone(&known, 5.0, rules);
        assert_eq!(judged.classes, [], "{rules:?}");
        assert!(judged.gaps.iter().any(|gap| gap.what.contains("handle it as corrosive")));
    }
}

/// What brings the same into the water is one thing at the cut-off of the sums.
#[test]
fn hazard_kin_reach_the_cut_off_together() {
    let irritant = of_class("eye", "1", "");
    let eye = |kin: [Option<&str>; 2]| {
        let mut mixture = mixture([(0.9, &irritant), (0.9, &irritant)]);
        for (part, kin) in mixture.ingredients.iter_mut().zip(kin) {
            part.kin = kin.map(str::to_owned);
        }
        category(&classify(&mixture, EU), Class::Eye)
    };
    assert_eq!(eye([Some("sulfur dioxide"), Some("sulfur dioxide")]), Some(Category::Two));
    assert_eq!(eye([Some("sulfur dioxide"), Some("copper")]), None);
    assert_eq!(eye([None, None]), None);
}

#[test]
fn hazard_numbers_are_printed_whole_where_they_end() {
    for (value, expected) in [
        (34.999, "34.999"),
        (1.0 / 3.0, "0.3333"),
        (35.0, "35"),
        (43_425.0, "43425"),
        (0.000_123_456, "0.000123456"),
        (34.999_99, "35"),
        (0.0, "0"),
        (2000.0, "2000"),
        (62.400_1, "62.4001"),
    ] {
        assert_eq!(Exact::of(value).to_string(), expected);
    }
}
