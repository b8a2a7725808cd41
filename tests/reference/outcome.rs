//! The interval of a share against published ones and its own definition; the days of looking; what is shown at a second.
//!
//! Newcombe 1998, Statistics in Medicine 17, 857, table I, method 3: as recalled (`memory`), four decimals.

use brimstock::catalogue::Catalogue;
use brimstock::dip::log::countdown::{Kept, Span, face, time};
use brimstock::dip::log::look::looking_days;
use brimstock::dip::log::outcome::wilson;
use chrono::NaiveDate;

#[test]
fn shares_have_the_published_intervals() {
    for (clear, looked, low, high) in
        [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]
    {
        let found = wilson(clear, looked);
        assert!((found[0] - low).abs() < 5.1e-5 && (found[1] - high).abs() < 5.1e-5, "{clear}/{looked}: {found:?}");
    }
}

/// Each end `q` is a share that the data lie 1.96 of its own standard errors away from: `n (p - q)² = z² q (1 - q)`.
#[test]
fn its_ends_are_where_the_score_says() {
    let z = 1.959_963_984_540_054_f64;
    for looked in 1..=40_u32 {
        for clear in 0..=looked {
            let (n, p) = (f64::from(looked), f64::from(clear) / f64::from(looked));
            let [low, high] = wilson(clear, looked);
            assert!((0.0..=1.0).contains(&low) && low <= p + 1e-12 && p <= high + 1e-12 && high <= 1.0);
            for q in [low, high] {
                assert!((n * (p - q) * (p - q) - z * z * q * (1.0 - q)).abs() < 1e-9, "{clear}/{looked}: {q}");
            }
        }
    }
    assert_eq!(wilson(0, 0), [0.0, 1.0]);
}

#[test]
fn lots_are_looked_over_for_longer_than_eggs_were_found_to_take() {
    let hatching = Catalogue::shipped().unwrap().hatching();
    assert_eq!(hatching.longest(), 14);
    let day = NaiveDate::from_ymd_opt(2031, 2, 20).unwrap();
    let days: Vec<String> = looking_days(hatching, None, day, false).iter().map(|look| look.day.to_string()).collect();
    assert_eq!(days, ["2031-02-27", "2031-03-06", "2031-03-13", "2031-03-20"]);
    let own: Vec<u16> = looking_days(hatching, Some(&[3, 30]), day, true).iter().map(|look| look.after).collect();
    assert_eq!(own, [1, 3, 30]);
}

#[test]
fn the_countdown_shows_every_second_as_it_is() {
    let span = Span::minutes(2.0, 3.0);
    assert_eq!(span, Span { low: 120, high: 180 });
    let shown = |second| (face(span, second).words, face(span, second).out);
    assert_eq!(shown(0), ("2 min left".to_owned(), false));
    assert_eq!(shown(119), ("1 s left".to_owned(), false));
    assert_eq!(shown(120), ("TAKE OUT NOW: 1 min of the longest time left".to_owned(), true));
    assert_eq!(shown(180), ("TAKE OUT NOW".to_owned(), true));
    assert_eq!(shown(181), ("TAKE OUT NOW: 1 s over".to_owned(), true));
    assert_eq!(face(span, 60).passed, 60);
    assert_eq!(face(span, 500).passed, 120);
    assert_eq!((span.kept(119), span.kept(180), span.kept(181)), (Kept::Short(1), Kept::Within, Kept::Over(1)));
    for (seconds, words) in
        [(45, "45 s"), (125, "2 min 05 s"), (5400, "1 h 30 min"), (7200, "2 h"), (187_200, "2 d 4 h")]
    {
        assert_eq!(time(seconds), words);
    }
}
