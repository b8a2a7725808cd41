//! Source: the project's own study of storage, A7, A8 and check value J 20, with the pair table beside it
//! (`pairs.csv`: its two-letter codes written as the keys of our groups). The matrix below is the study's second print of
//! the same verdicts, typed in row by row. Chloramine-T and the strong bases joined later and stand in neither.

use brimstock::catalogue::{Apart, Around, Form, Seen, Verdict};
use brimstock::hazard::apart::{Neighbour, conflict, ill_placed};

use super::{reagent, shipped};

const PAIRS: &str = include_str!("pairs.csv");

/// Groups in the order of the matrix, each with a reagent that is in no other group.
const GROUPS: [(&str, &str, Form); 14] = [
    ("peroxide", "hydrogen-peroxide", Form::Solution),
    ("percarbonate", "sodium-percarbonate", Form::Solid),
    ("permanganate", "potassium-permanganate", Form::Solution),
    ("bleach", "sodium-hypochlorite", Form::Solution),
    ("dry-hypochlorite", "calcium-hypochlorite", Form::Solid),
    ("strong-acid", "hydrochloric-acid", Form::Solution),
    ("mild-acid", "citric-acid", Form::Solid),
    ("acid-salt", "potassium-alum", Form::Solid),
    ("ammonia-source", "ammonia", Form::Solution),
    ("sulfur-reducer", "sodium-thiosulfate", Form::Solid),
    ("alcohol", "isopropanol", Form::Solution),
    ("aldehyde", "glutaraldehyde", Form::Solution),
    ("copper-salt", "copper-sulfate", Form::Solid),
    ("neutral-salt", "sodium-chloride", Form::Solid),
];

/// F fine, S separate shelf or tray, C separate cabinet, N never together.
const MATRIX: [&str; 14] = [
    ". S N N N C C F C C N N C F",
    "S . C N N C C S S C C C S F",
    "N C . S C N N S C N N N F F",
    "N N S . C N N C N C N C S F",
    "N N C C . N N C N N N N S F",
    "C C N N N . S F C N S N F F",
    "C C N N N S . F S C S S F F",
    "F S S C C F F . S S F F F F",
    "C S C N N C S S . F S C S F",
    "C C N C N N C S F . F S F F",
    "N C N N N S S F S F . S F F",
    "N C N C N N S F C S S . F F",
    "C S F S S F F F S F F F . F",
    "F F F F F F F F F F F F F .",
];

struct Row {
    a: &'static str,
    b: &'static str,
    verdict: Verdict,
    trust: &'static str,
}

fn rows() -> Vec<Row> {
    let read = |line: &'static str| {
        let [a, b, word, trust] = line.split(',').collect::<Vec<_>>()[..] else { panic!("{line}") };
        let verdict = [Verdict::None, Verdict::Tray, Verdict::Cabinet, Verdict::Never]
            .into_iter()
            .find(|verdict| verdict.word() == word)
            .unwrap_or_else(|| panic!("{line}"));
        Row { a, b, verdict, trust }
    };
    PAIRS.lines().skip(1).map(read).collect()
}

/// What the table says of two groups, in whatever order it names them.
fn said(a: &str, b: &str) -> Verdict {
    let rows = rows();
    let mut found = rows.iter().filter(|row| (row.a == a && row.b == b) || (row.a == b && row.b == a));
    let row = found.next().unwrap_or_else(|| panic!("no row of {a} and {b}"));
    assert!(found.next().is_none(), "{a} and {b} stand twice");
    row.verdict
}

fn apart() -> &'static Apart {
    shipped().apart()
}

fn stock(key: &str, form: Form, percent_w_w: Option<f64>) -> Neighbour<'static> {
    Neighbour { reagent: reagent(key), form, percent_w_w }
}

fn sample(group: &str, percent: Option<f64>) -> Neighbour<'static> {
    let (_, key, form) = GROUPS.iter().find(|(known, ..)| *known == group).expect("a group of the study");
    stock(key, *form, percent)
}

/// The verdict of two stocks, asked in both orders.
#[track_caller]
fn verdict(one: Neighbour<'_>, other: Neighbour<'_>) -> Verdict {
    let asked = |a, b| conflict(apart(), a, b).map_or(Verdict::None, |found| found.verdict);
    let (there, back) = (asked(one, other), asked(other, one));
    assert_eq!(there, back, "{} and {} in the other order", one.reagent.key, other.reagent.key);
    there
}

/// Fails with everything that differs.
#[track_caller]
fn none_off(off: &[String]) {
    assert!(off.is_empty(), "{} are off:\n{}", off.len(), off.join("\n"));
}

#[test]
fn keep_apart_the_table_is_whole() {
    let rows = rows();
    assert_eq!(rows.len(), 91);
    let count = |verdict| rows.iter().filter(|row| row.verdict == verdict).count();
    assert_eq!([Verdict::Never, Verdict::Cabinet, Verdict::Tray, Verdict::None].map(count), [24, 21, 19, 27]);
}

#[test]
fn keep_apart_every_pair_of_the_table_is_in_the_data() {
    let mut off = Vec::new();
    for Row { a, b, verdict, .. } in rows() {
        for (one, other) in [(a, b), (b, a)] {
            match apart().pair(one, other) {
                None => off.push(format!("{one} and {other}: missing")),
                Some(pair) if pair.verdict != verdict => {
                    off.push(format!("{one} and {other}: {} and not {}", pair.verdict.word(), verdict.word()));
                }
                Some(_) => {}
            }
        }
    }
    none_off(&off);
}

#[test]
fn keep_apart_real_reagents_get_the_verdict_of_their_groups_in_both_orders() {
    let mut off = Vec::new();
    for Row { a, b, verdict: expected, .. } in rows() {
        let found = verdict(sample(a, None), sample(b, None));
        if found != expected {
            off.push(format!("{a} and {b}: {} and not {}", found.word(), expected.word()));
        }
    }
    none_off(&off);
}

#[test]
fn keep_apart_the_matrix_row_by_row() {
    let mut off = Vec::new();
    for (row, line) in MATRIX.iter().enumerate() {
        let cells: Vec<&str> = line.split(' ').collect();
        assert_eq!(cells.len(), 14, "{line}");
        for (column, cell) in cells.iter().enumerate() {
            let (a, b) = (GROUPS[row].0, GROUPS[column].0);
            let expected = match *cell {
                "." => {
                    assert_eq!(row, column);
                    continue;
                }
                "F" => Verdict::None,
                "S" => Verdict::Tray,
                "C" => Verdict::Cabinet,
                "N" => Verdict::Never,
                _ => panic!("{cell}"),
            };
            assert_eq!(said(a, b), expected, "the two prints differ: {a} and {b}");
            let found = apart().pair(a, b).map(|pair| pair.verdict);
            if found != Some(expected) {
                off.push(format!("{a} and {b}: {found:?} and not {expected:?}"));
            }
        }
    }
    none_off(&off);
}

#[test]
fn keep_apart_every_verdict_names_a_source_that_is_there() {
    let known = |key: &str| shipped().source(key).is_some();
    for pair in &apart().pairs {
        assert!(known(&pair.source), "{:?}: {}", pair.groups, pair.source);
        let said = pair.consequence.as_deref().is_some_and(|text| !text.trim().is_empty());
        assert_eq!(said, pair.verdict > Verdict::None, "{:?}", pair.groups);
    }
    assert!(apart().reliefs.iter().all(|row| known(&row.source)));
    assert!(apart().surroundings.iter().all(|row| known(&row.source) && !row.consequence.is_empty()));
    assert!(apart().planned.iter().all(|row| known(&row.source)));
    assert!(apart().groups.iter().all(|row| known(&row.source)));
}

/// What the study only recalls or judges is nowhere printed as if somebody had read it.
#[test]
fn keep_apart_what_was_recalled_is_not_dressed_as_read() {
    let mut off = Vec::new();
    for Row { a, b, trust, .. } in rows().iter().filter(|row| ["MEMORY", "JUDGEMENT"].contains(&row.trust)) {
        let source = &apart().pair(a, b).expect("a pair").source;
        let seen = shipped().source(source).expect("a source").seen;
        if ![Seen::Recalled, Seen::Judged].contains(&seen) {
            off.push(format!("{a} and {b}: {trust} in the study, `{source}` is {}", seen.word()));
        }
    }
    none_off(&off);
}

/// Every two groups have a row, the two later ones included.
#[test]
fn keep_apart_no_pair_of_groups_is_left_open() {
    let groups = &apart().groups;
    for (number, one) in groups.iter().enumerate() {
        for other in &groups[number + 1..] {
            let rows = apart().pairs.iter().filter(|pair| pair.is_of(&one.key, &other.key)).count();
            assert_eq!(rows, 1, "{} and {}", one.key, other.key);
        }
    }
}

/// A7, members; ammonium alum and formalin carry a second tag.
#[test]
fn keep_apart_members_of_the_groups() {
    for (key, groups) in [
        ("hydrogen-peroxide", &["peroxide"][..]),
        ("sodium-percarbonate", &["percarbonate"]),
        ("potassium-permanganate", &["permanganate"]),
        ("sodium-hypochlorite", &["bleach"]),
        ("calcium-hypochlorite", &["dry-hypochlorite"]),
        ("hydrochloric-acid", &["strong-acid"]),
        ("acetic-acid", &["mild-acid"]),
        ("citric-acid", &["mild-acid"]),
        ("potassium-alum", &["acid-salt"]),
        ("ammonium-alum", &["acid-salt", "ammonia-source"]),
        ("ammonia", &["ammonia-source"]),
        ("sodium-thiosulfate", &["sulfur-reducer"]),
        ("sodium-bisulfite", &["sulfur-reducer"]),
        ("sodium-metabisulfite", &["sulfur-reducer"]),
        ("potassium-metabisulfite", &["sulfur-reducer"]),
        ("ethanol", &["alcohol"]),
        ("isopropanol", &["alcohol"]),
        ("formaldehyde", &["alcohol", "aldehyde"]),
        ("glutaraldehyde", &["aldehyde"]),
        ("copper-sulfate", &["copper-salt"]),
        ("sodium-chloride", &["neutral-salt"]),
    ] {
        let mut found = reagent(key).care.as_ref().unwrap_or_else(|| panic!("{key}: no care")).groups.clone();
        found.sort();
        assert_eq!(found, groups, "{key}");
    }
    for reagent in shipped().reagents() {
        let groups = reagent.care.as_ref().map_or(0, |care| care.groups.len());
        assert!(groups > 0, "{} is in no group", reagent.key);
    }
}

/// A reagent with several tags takes the worst verdict.
#[test]
fn keep_apart_of_two_groups_the_worse_counts() {
    for (key, form, tags) in [
        ("ammonium-alum", Form::Solid, ["acid-salt", "ammonia-source"]),
        ("formaldehyde", Form::Solution, ["aldehyde", "alcohol"]),
    ] {
        for (group, ..) in GROUPS.iter().filter(|(group, ..)| !tags.contains(group)) {
            let expected = tags.map(|tag| said(tag, group)).into_iter().max().expect("two");
            assert_eq!(verdict(stock(key, form, None), sample(group, None)), expected, "{key} and {group}");
        }
    }
    // Ascorbic acid is a reducer too, toward oxidisers: no milder than thiosulfate there.
    for group in ["peroxide", "percarbonate", "permanganate", "bleach", "dry-hypochlorite"] {
        let found = verdict(stock("ascorbic-acid", Form::Solid, None), sample(group, None));
        let expected = said("mild-acid", group).max(said("sulfur-reducer", group));
        assert_eq!(found, expected, "ascorbic acid and {group}");
    }
}

/// J 20.
#[test]
fn keep_apart_check_values() {
    let bleach = stock("sodium-hypochlorite", Form::Solution, Some(5.0));
    let vinegar = stock("acetic-acid", Form::Solution, Some(5.0));
    let peroxide = |percent| stock("hydrogen-peroxide", Form::Solution, Some(percent));
    let solid = |key| stock(key, Form::Solid, Some(99.0));
    assert_eq!(verdict(bleach, solid("ammonium-alum")), Verdict::Never);
    assert_eq!(verdict(bleach, solid("potassium-alum")), Verdict::Cabinet);
    assert_eq!(verdict(peroxide(3.0), vinegar), Verdict::Tray);
    assert_eq!(verdict(peroxide(35.0), vinegar), Verdict::Cabinet);
    assert_eq!(verdict(solid("potassium-permanganate"), solid("sodium-thiosulfate")), Verdict::Never);
    for other in shipped().reagents() {
        for form in &other.forms {
            for percent in [None, Some(1.0), Some(90.0)] {
                let other = stock(&other.key, *form, percent);
                assert_eq!(verdict(solid("sodium-chloride"), other), Verdict::None, "{}", other.reagent.key);
            }
        }
    }
}

/// A7, as written: who is let off one step, up to which strength, against whom.
fn relieved(group: &str, percent: Option<f64>, form: Form, against: &str) -> bool {
    let Some(percent) = percent.filter(|_| form == Form::Solution) else { return false };
    match group {
        "peroxide" => {
            let with = [
                "percarbonate",
                "strong-acid",
                "mild-acid",
                "ammonia-source",
                "sulfur-reducer",
                "copper-salt",
                "alcohol",
                "aldehyde",
            ];
            percent <= 8.0 && with.contains(&against)
        }
        "permanganate" => {
            percent <= 1.0
                && ["mild-acid", "ammonia-source", "sulfur-reducer", "alcohol", "aldehyde"].contains(&against)
        }
        // 24 % by volume, on the strict side by weight; never with a hypochlorite.
        "alcohol" => percent <= 19.0 && !["bleach", "dry-hypochlorite"].contains(&against),
        _ => false,
    }
}

fn one_step_less(verdict: Verdict) -> Verdict {
    match verdict {
        Verdict::Never => Verdict::Cabinet,
        Verdict::Cabinet => Verdict::Tray,
        less => less,
    }
}

const BOUNDS: [f64; 3] = [1.0, 8.0, 19.0];

fn strengths() -> Vec<Option<f64>> {
    let around = BOUNDS.iter().flat_map(|bound| [bound - 1e-9, *bound, bound + 1e-9]);
    let others = [0.001, 0.5, 3.0, 7.9, 8.1, 12.0, 18.9, 19.1, 35.0, 100.0];
    std::iter::once(None).chain(others.into_iter().chain(around).map(Some)).collect()
}

/// Each group against each, each strength against each: at a bound, just below and just above, and of unknown strength.
/// Two weak solutions are let off one step together, not one each.
#[test]
fn keep_apart_reliefs_hold_exactly_up_to_their_bounds() {
    let mut off = Vec::new();
    for (number, (a, a_key, a_form)) in GROUPS.iter().enumerate() {
        for (b, b_key, b_form) in &GROUPS[number + 1..] {
            let full = said(a, b);
            for one in strengths() {
                for other in strengths() {
                    let let_off = relieved(a, one, *a_form, b) || relieved(b, other, *b_form, a);
                    let expected = if let_off { one_step_less(full) } else { full };
                    let found = verdict(stock(a_key, *a_form, one), stock(b_key, *b_form, other));
                    if found != expected {
                        off.push(format!("{a} {one:?} and {b} {other:?}: {found:?} and not {expected:?}"));
                    }
                }
            }
        }
    }
    none_off(&off);
}

/// A handful of the same, written out.
#[test]
fn keep_apart_reliefs_by_example() {
    let of = |key, percent| stock(key, Form::Solution, percent);
    let thiosulfate = stock("sodium-thiosulfate", Form::Solid, None);
    for (one, other, expected) in [
        (of("hydrogen-peroxide", Some(8.0)), thiosulfate, Verdict::Tray),
        (of("hydrogen-peroxide", Some(8.000_001)), thiosulfate, Verdict::Cabinet),
        (of("hydrogen-peroxide", None), thiosulfate, Verdict::Cabinet),
        (of("hydrogen-peroxide", Some(8.0)), of("ethanol", Some(96.0)), Verdict::Cabinet),
        (of("hydrogen-peroxide", Some(8.0)), of("ethanol", Some(10.0)), Verdict::Cabinet),
        (of("hydrogen-peroxide", Some(35.0)), of("ethanol", Some(19.0)), Verdict::Cabinet),
        (of("hydrogen-peroxide", Some(35.0)), of("ethanol", Some(19.000_001)), Verdict::Never),
        (of("hydrogen-peroxide", Some(35.0)), of("ethanol", None), Verdict::Never),
        (of("hydrogen-peroxide", Some(3.0)), of("potassium-permanganate", Some(0.5)), Verdict::Never),
        (of("hydrogen-peroxide", Some(3.0)), of("sodium-hypochlorite", Some(0.1)), Verdict::Never),
        (of("potassium-permanganate", Some(1.0)), thiosulfate, Verdict::Cabinet),
        (of("potassium-permanganate", Some(1.000_001)), thiosulfate, Verdict::Never),
        (of("potassium-permanganate", None), thiosulfate, Verdict::Never),
        (of("potassium-permanganate", Some(1.0)), of("hydrochloric-acid", Some(1.0)), Verdict::Never),
        (stock("potassium-permanganate", Form::Solid, Some(1.0)), thiosulfate, Verdict::Never),
        (of("potassium-permanganate", Some(1.0)), of("isopropanol", Some(10.0)), Verdict::Cabinet),
        (of("sodium-hypochlorite", Some(0.01)), of("acetic-acid", Some(0.01)), Verdict::Never),
        (of("sodium-hypochlorite", Some(0.01)), of("isopropanol", Some(1.0)), Verdict::Never),
    ] {
        let names = (&one.reagent.key, one.percent_w_w, &other.reagent.key, other.percent_w_w);
        assert_eq!(verdict(one, other), expected, "{names:?}");
    }
}

#[test]
fn keep_apart_a_relief_is_told_with_the_verdict() {
    let (weak, strong) = (sample("peroxide", Some(3.0)), sample("peroxide", Some(35.0)));
    let told = |one, other| conflict(apart(), one, other).expect("a conflict").relief.is_some();
    assert!(told(weak, sample("mild-acid", None)) && told(sample("mild-acid", None), weak));
    assert!(!told(strong, sample("mild-acid", None)));
    // A tray stays a tray: nothing was let off.
    assert!(!told(weak, sample("percarbonate", None)));
}

/// Hypochlorites are let off nothing, at whatever strength of either.
#[test]
fn keep_apart_hypochlorites_get_no_relief() {
    assert!(apart().reliefs.iter().all(|row| {
        let names = std::iter::once(&row.group).chain(&row.against);
        names.into_iter().all(|group| group != "bleach" && group != "dry-hypochlorite")
    }));
}

/// Two bottles of one reagent, whatever their strengths, do not conflict.
#[test]
fn keep_apart_one_reagent_bears_itself() {
    for reagent in shipped().reagents() {
        let one = stock(&reagent.key, reagent.forms[0], Some(3.0));
        assert_eq!(verdict(one, Neighbour { percent_w_w: None, ..one }), Verdict::None, "{}", reagent.key);
    }
}

/// Meeting on purpose in a bucket softens nothing on the shelf.
#[test]
fn keep_apart_a_planned_use_softens_no_verdict() {
    let planned = |a, b| {
        apart().planned.iter().any(|row| row.groups.contains(&String::from(a)) && row.groups.contains(&String::from(b)))
    };
    assert!(planned("permanganate", "mild-acid") && planned("permanganate", "sulfur-reducer"));
    assert_eq!(verdict(stock("potassium-permanganate", Form::Solid, None), sample("mild-acid", None)), Verdict::Never);
    for row in &apart().planned {
        let [a, b] = &row.groups;
        assert_eq!(apart().pair(a, b).expect("a pair").verdict, said_or_later(a, b), "{a} and {b}");
    }
}

fn said_or_later(a: &str, b: &str) -> Verdict {
    let later = ["chloramine", "strong-base"];
    if later.contains(&a) || later.contains(&b) { apart().pair(a, b).expect("a pair").verdict } else { said(a, b) }
}

/// A7, surroundings: every tag against every group.
#[test]
fn keep_apart_surroundings_tag_by_tag() {
    let expected = |tag: Around, group: &str, percent: Option<f64>| {
        let one_of = |groups: &[&str], verdict| if groups.contains(&group) { verdict } else { Verdict::None };
        match tag {
            Around::Combustibles if group == "peroxide" => {
                if percent.is_none_or(|percent| percent > 8.0) {
                    Verdict::Cabinet
                } else {
                    Verdict::None
                }
            }
            // Alcohol burns itself, and feeds what burns beside it.
            Around::Combustibles if group == "alcohol" => Verdict::Tray,
            Around::Combustibles => one_of(&["permanganate", "dry-hypochlorite", "percarbonate"], Verdict::Cabinet),
            // The study names what metal spoils; what spoils metal, acid fumes and copper salts, came later.
            Around::BareMetal => one_of(&["peroxide", "bleach", "strong-acid", "copper-salt"], Verdict::Tray),
            Around::Damp => one_of(&["dry-hypochlorite", "percarbonate"], Verdict::Cabinet),
            // What is warm is mostly a heater: a tray does not keep alcohol's vapour from it, which the study overlooked.
            Around::Warm if group == "alcohol" => Verdict::Cabinet,
            Around::Warm => one_of(&["peroxide", "bleach", "dry-hypochlorite", "ammonia-source"], Verdict::Tray),
            Around::Food => {
                if group == "neutral-salt" {
                    Verdict::None
                } else {
                    Verdict::Never
                }
            }
            Around::Bedroom => {
                one_of(&["bleach", "ammonia-source", "strong-acid", "aldehyde", "dry-hypochlorite"], Verdict::Cabinet)
            }
        }
    };
    let mut off = Vec::new();
    for tag in Around::ALL {
        for (group, ..) in GROUPS {
            for percent in [None, Some(3.0), Some(8.0), Some(8.000_001), Some(35.0)] {
                let found = ill_placed(apart(), sample(group, percent), &[tag]).map(|row| row.verdict).max();
                let (found, expected) = (found.unwrap_or(Verdict::None), expected(tag, group, percent));
                if found != expected {
                    off.push(format!("{group} {percent:?} near {tag:?}: {found:?} and not {expected:?}"));
                }
            }
        }
    }
    none_off(&off);
    for (group, ..) in GROUPS {
        assert_eq!(ill_placed(apart(), sample(group, None), &[]).count(), 0, "{group} with nothing around");
    }
}
