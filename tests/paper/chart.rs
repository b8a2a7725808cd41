//! Charts: whatever is drawn, no word stands on another, and all of it lies inside.

use brimstock::commands::chart::Chart;
use brimstock::render::pdf::Mark;
use brimstock::render::pdf::chart::{Captions, drawing};
use brimstock::units::estimate::Estimate;
use chrono::{Days, NaiveDate};
use kurbo::{Rect, Shape};
use proptest::prelude::*;

use super::cases;

fn day(after: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2030, 1, 1).unwrap() + Days::new(after)
}

/// The boxes of words, mm: from a third under the baseline to the height of capitals.
fn words(marks: &[Mark]) -> Vec<(Rect, String)> {
    let boxed = |mark: &Mark| match mark {
        Mark::Text { x, y, size, face, text, .. } => {
            let em = size * 25.4 / 72.0;
            Some((Rect::new(*x, y - 0.73 * em, x + face.width(text, *size), y + 0.2 * em), text.clone()))
        }
        _ => None,
    };
    marks.iter().filter_map(boxed).collect()
}

proptest! {
    #![proptest_config(cases(150))]

    #[test]
    fn words_stand_clear_of_each_other(
        tests in prop::collection::btree_set(0..900u64, 0..20),
        limits in prop::collection::vec(0.0..1.3f64, 0..7),
        top in 0.01..500.0f64, today in 0..900u64, ahead in 90..730u64,
        size in 5.0..11.0f64, width in 90.0..190.0f64,
    ) {
        let estimate = |share: f64| Estimate { low: 0.9 * share * top, mid: share * top, high: 1.1 * share * top };
        let band = (0..=10).map(|at| (day(at * (today + ahead) / 10), estimate(1.0 - 0.05 * at as f64)));
        let mut limits: Vec<f64> = limits.into_iter().map(|share| share * top).collect();
        limits.sort_by(f64::total_cmp);
        let chart = Chart {
            unit: "% w/w available chlorine".to_owned(),
            today: day(today),
            band: band.collect(),
            tests: tests.into_iter().filter(|test| *test <= today).map(|test| (day(test), estimate(0.8))).collect(),
            limits: limits.into_iter().map(|limit| ("permanganate-bulletin".to_owned(), limit)).collect(),
        };
        let captions = Captions { today: "today".to_owned(), axis: "Strength, % w/w available chlorine".to_owned() };
        let height = 5.5 * size;
        let strips = drawing(&chart, captions, size, height).unwrap().strips(width, 0.8);
        prop_assert_eq!(strips.len(), 1);
        let words = words(&strips[0].marks);
        let page = Rect::new(-1e-6, -1e-6, width + 1e-6, height + 1e-6);
        for (at, (place, text)) in words.iter().enumerate() {
            prop_assert!(page.contains_rect(*place), "{} at {:?} is outside of {:?}", text, place, page);
            for (other, said) in &words[at + 1..] {
                prop_assert!(!place.overlaps(*other), "{} and {}: {:?} {:?}", text, said, place, other);
            }
        }
        prop_assert!(words.iter().any(|(_, text)| text == "today"));
        for mark in &strips[0].marks {
            if let Mark::Path { path, .. } = mark {
                prop_assert!(page.inflate(1.2, 1.2).contains_rect(path.bounding_box()), "{:?}", path.bounding_box());
            }
        }
    }
}

#[test]
fn nothing_is_drawn_of_what_nobody_knows() {
    let chart =
        Chart { unit: "g/L".to_owned(), today: day(0), band: Vec::new(), tests: Vec::new(), limits: Vec::new() };
    assert!(drawing(&chart, Captions { today: String::new(), axis: String::new() }, 9.0, 60.0).is_none());
}

#[test]
fn the_latest_tests_are_named_where_there_is_room_for_some() {
    let band = vec![(day(0), Estimate::exact(3.0)), (day(400), Estimate::exact(2.0))];
    let tests = (0..30).map(|at| (day(at * 10), Estimate::exact(2.5))).collect();
    let chart = Chart { unit: "g/L".to_owned(), today: day(300), band, tests, limits: vec![] };
    let captions = Captions { today: "today".to_owned(), axis: "g/L".to_owned() };
    let marks = drawing(&chart, captions, 10.0, 60.0).unwrap().strips(180.0, 1.0).remove(0).marks;
    let named: Vec<String> = words(&marks).into_iter().map(|(_, text)| text).filter(|text| text.len() == 10).collect();
    let last: Vec<String> = (0..30).map(|at| day(at * 10).to_string()).skip(30 - named.len()).collect();
    assert!((4..12).contains(&named.len()), "{named:?}");
    assert_eq!(named, last);
}
