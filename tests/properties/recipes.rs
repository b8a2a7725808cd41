//! Whatever is told: reading never panics, bands are bands, and twice the spoons are twice the strength.

use super::{cases, shipped};
use brimstock::dip::told::beside::beside;
use brimstock::dip::told::doubt::questions;
use brimstock::dip::told::grammar;
use brimstock::dip::told::weigh::{Weighed, weigh};
use brimstock::units::measure::Kitchen;
use proptest::prelude::*;

const PIECES: &[&str] = &[
    "1",
    "2",
    "3 %",
    "½",
    "1/4",
    "-",
    ":",
    "19",
    "to",
    "in",
    "per",
    "/",
    "of",
    "a",
    "tbsp",
    "tsp",
    "cup",
    "gal",
    "litre",
    "mL",
    "g",
    "oz",
    "mg/L",
    "ppm",
    "drop",
    "alum",
    "salt",
    "bleach",
    "peroxide",
    "permanganate",
    "part",
    "parts water",
    "dark pink",
    "capful",
    "pinch",
    "min",
    "h",
    "overnight",
    "straight",
    "heaped",
    "fine",
    "chlorine",
    "removes",
    "(",
    ")",
    ",",
    "w/v",
    "us",
    "imperial",
    "half",
    "twenty",
    "vol",
    "°",
    "pH",
    "100 %",
    "é",
    "2-3",
    "1e9",
    "0.5",
];

fn kitchens() -> impl Strategy<Value = Option<Kitchen>> {
    prop::sample::select(vec![
        None,
        Some(Kitchen::Us),
        Some(Kitchen::Imperial),
        Some(Kitchen::Metric),
        Some(Kitchen::Australian),
    ])
}

/// Reads a text for a reagent and looks at what comes of it.
fn look(text: &str, key: &str, kitchen: Option<Kitchen>) -> Option<Weighed> {
    let told = grammar::read(text, shipped()).ok()?;
    let reagent = shipped().reagent(key).expect("a reagent");
    let weighed = weigh(&told, reagent, kitchen, shipped()).ok()?;
    for estimate in weighed.g_per_l.iter().chain(&weighed.grams) {
        assert!(estimate.low > 0.0 && estimate.high.is_finite(), "{text}: {estimate:?}");
        assert!(estimate.low <= estimate.mid && estimate.mid <= estimate.high, "{text}: {estimate:?}");
    }
    assert_eq!(weighed.g_per_l.is_some(), weighed.grams.is_none(), "{text}");
    if let Some(minutes) = told.minutes {
        assert!(minutes.low > 0.0 && minutes.low <= minutes.high, "{text}: {minutes:?}");
    }
    let rows =
        weighed.g_per_l.map_or(Vec::new(), |strength| beside(shipped(), reagent, strength).expect("the book reads"));
    for row in &rows {
        assert!(row.ratio.low <= row.ratio.high && !row.words().contains('?'), "{text}: {row:?}");
    }
    let _ = questions(&told, &weighed, &rows, reagent, shipped());
    Some(weighed)
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn any_text_is_read_or_refused(text in any::<String>(), kitchen in kitchens()) {
        look(&text, "sodium-chloride", kitchen);
    }

    #[test]
    fn any_heap_of_words_is_read_or_refused(
        pieces in prop::collection::vec(prop::sample::select(PIECES), 1..14),
        key in prop::sample::select(vec!["sodium-chloride", "sodium-hypochlorite", "hydrogen-peroxide", "potassium-alum",
            "potassium-permanganate", "sodium-thiosulfate", "ethanol"]),
        kitchen in kitchens(),
    ) {
        look(&pieces.join(" "), key, kitchen);
    }

    #[test]
    fn more_spoons_are_as_much_stronger(
        n in 2_u32..20,
        spoon in prop::sample::select(vec!["tsp", "tbsp", "cup", "heaped tbsp", "capful", "drop", "g", "oz"]),
        below in prop::sample::select(vec!["100 gal", "80 L", "200 quarts"]),
        what in prop::sample::select(vec![("salt", "sodium-chloride"), ("alum", "potassium-alum"),
            ("3 % peroxide", "hydrogen-peroxide"), ("bleach", "sodium-hypochlorite")]),
        kitchen in kitchens(),
    ) {
        let (name, key) = what;
        let of = |count: u32| look(&format!("{count} {spoon} of {name} per {below}"), key, kitchen);
        let (one, many) = (of(1), of(n));
        let (one, many) = (one.and_then(|one| one.g_per_l).expect("read"), many.and_then(|many| many.g_per_l).expect("read"));
        for (found, single) in [(many.low, one.low), (many.mid, one.mid), (many.high, one.high)] {
            prop_assert!((found / (single * f64::from(n)) - 1.0).abs() < 1e-9, "{} {:?} {:?}", n, one, many);
        }
    }
}
