//! Days as people write them: every shape comes back as the day it was written from, every pair that may be two days is asked.

use brimstock::units::date::{Order, Told, read};
use chrono::{Datelike, Days, NaiveDate};
use proptest::prelude::*;

use super::cases;

/// Shapes that can only be one day, in the words of chrono's own writer.
const SHAPES: [&str; 22] = [
    "%Y-%m-%d",
    "%Y%m%d",
    "%Y/%m/%d",
    "%Y.%m.%d",
    "%Y-%-m-%-d",
    "%Y-%m-%dT%H:%M",
    "%Y-%m-%d 00:00:00",
    "%-d %B %Y",
    "%-d %b %Y",
    "%d %B %Y",
    "%-d. %B %Y",
    "%-d-%b-%Y",
    "%d/%b/%Y",
    "%B %-d, %Y",
    "%b %-d %Y",
    "%B %d %Y",
    "%Y %B %-d",
    "%A, %-d %B %Y",
    "%a %-d %b %Y",
    "%-dth of %B %Y",
    "%B %-dst, %Y",
    " %-d  %B , %Y ",
];

fn days() -> impl Strategy<Value = NaiveDate> {
    let first = NaiveDate::from_ymd_opt(1900, 1, 1).expect("a date");
    (0..109_937_u64).prop_map(move |days| first + Days::new(days))
}

proptest! {
    #![proptest_config(cases(256))]

    #[test]
    fn every_shape_comes_back(day in days()) {
        let midnight = day.and_hms_opt(0, 0, 0).expect("midnight");
        for shape in SHAPES {
            let text = midnight.format(shape).to_string();
            for order in [None, Some(Order::DayFirst), Some(Order::MonthFirst), Some(Order::YearFirst)] {
                prop_assert_eq!(read(&text, order), Ok(Told::Day { day, only: None }), "{}", text);
            }
        }
    }

    #[test]
    fn the_order_that_was_told_decides(day in days(), sign in prop::sample::select(vec!["/", "-", ".", " "])) {
        let day_first = day.format(&format!("%d{sign}%m{sign}%Y")).to_string();
        let month_first = day.format(&format!("%-m{sign}%-d{sign}%Y")).to_string();
        prop_assert_eq!(read(&day_first, Some(Order::DayFirst)), Ok(Told::Day { day, only: None }));
        prop_assert_eq!(read(&month_first, Some(Order::MonthFirst)), Ok(Told::Day { day, only: None }));
        prop_assert!(read(&day_first, Some(Order::YearFirst)).is_err(), "the year stands last");
        if day.day() > 12 {
            prop_assert!(read(&day_first, Some(Order::MonthFirst)).is_err(), "{}", day_first);
            prop_assert_eq!(read(&day_first, None), Ok(Told::Day { day, only: Some(Order::DayFirst) }));
            prop_assert_eq!(read(&month_first, None), Ok(Told::Day { day, only: Some(Order::MonthFirst) }));
        }
    }

    #[test]
    fn no_text_is_too_odd(text in any::<String>(), figures in "[0-9/. :,TapmAPM-]{0,24}") {
        for text in [&text, &figures] {
            for order in [None, Some(Order::DayFirst), Some(Order::MonthFirst), Some(Order::YearFirst)] {
                if let Err(error) = read(text, order) {
                    prop_assert!(!error.why.is_empty() && error.accepted.contains("2031-03-01"));
                }
            }
        }
    }
}

/// All pairs, not a sample of them: 132 that are asked, 12 that are the same day either way, the rest only one day.
#[test]
fn every_pair_that_may_be_two_days_is_asked() {
    let mut counts = [0; 3];
    for sign in ["/", "-", "."] {
        for first in 1..=31_u32 {
            for second in 1..=12_u32 {
                let text = format!("{first}{sign}{second}{sign}2032");
                let whole = |day, month| NaiveDate::from_ymd_opt(2032, month, day);
                let told = read(&text, None);
                match (first <= 12, first == second, whole(first, second)) {
                    (true, false, _) => {
                        let (Some(day_first), Some(month_first)) = (whole(first, second), whole(second, first)) else {
                            panic!("{text}");
                        };
                        assert_eq!(told, Ok(Told::Either { day_first, month_first }), "{text}");
                        counts[0] += 1;
                    }
                    (true, true, Some(day)) => {
                        assert_eq!(told, Ok(Told::Day { day, only: None }), "{text}");
                        counts[1] += 1;
                    }
                    (_, _, Some(day)) => {
                        assert_eq!(told, Ok(Told::Day { day, only: Some(Order::DayFirst) }), "{text}");
                        counts[2] += 1;
                    }
                    (_, _, None) => assert!(told.is_err(), "{text}: {told:?}"),
                }
            }
        }
    }
    // A leap year of 366 days: 144 up to the twelfth of a month, 222 later ones.
    assert_eq!(counts, [3 * 132, 3 * 12, 3 * 222]);
}

#[test]
fn what_is_no_day_says_why() {
    for (text, order, words) in [
        ("", None, "empty"),
        ("1/3/26", None, "two figures"),
        ("1 Mar 26", None, "two figures"),
        ("26-03-01", Some(Order::YearFirst), "two figures"),
        ("46082", None, "spreadsheet"),
        ("March 2031", None, "no day of the month"),
        ("03/2031", None, "a day, a month and a year"),
        ("2031-02-29", None, "no calendar has a day 29 of month 2 in 2031"),
        ("31 April 2031", None, "no calendar"),
        ("2031/13/01", None, "month 13"),
        ("13/13/2031", None, "month 13"),
        ("25/03/2031", Some(Order::MonthFirst), "as the order was told"),
        ("25/03/2031", Some(Order::YearFirst), "the year stands last"),
        ("1 Marz 2031", None, "`Marz` is no month in English"),
        ("1er mars 2031", None, "is no month in English"),
        ("Monday, 1 March 2031", None, "is a Saturday, not a Monday"),
        ("Saturday 1/3/2031", None, "write the month as a word"),
        ("3/4-2031", None, "stopped at `-2031`"),
        ("01032031", None, "lies outside 1900 to 2200"),
        ("1899-12-31", None, "lies outside"),
        ("2201-01-01", None, "lies outside"),
        ("2031-03-01 25:00", None, "no time of day"),
        ("2031-03-01T12:00Z", None, "no time of day"),
        ("1 2 3 2031", None, "more than a day"),
        ("yesterday", None, "no month"),
    ] {
        let error = read(text, order).expect_err(text);
        assert!(error.why.contains(words), "{text}: {error:?}");
    }
    for (text, day) in [("2031-03-01 3:15 PM", 1), ("3/3/2031 12:00:00 AM", 3), ("3rd of March 2031", 3)] {
        let wanted = NaiveDate::from_ymd_opt(2031, 3, day).expect("a date");
        assert_eq!(read(text, None), Ok(Told::Day { day: wanted, only: None }), "{text}");
    }
}

#[test]
fn a_pattern_tells_the_order() {
    for (pattern, order) in [
        ("dd/mm/yyyy", Some(Order::DayFirst)),
        ("D.M.YYYY", Some(Order::DayFirst)),
        ("mm-dd-yyyy", Some(Order::MonthFirst)),
        ("yyyy mm dd", Some(Order::YearFirst)),
        ("dd/mm", None),
        ("d/d/m/y", None),
        ("UTC", None),
        ("", None),
    ] {
        assert_eq!(Order::of_pattern(pattern), order, "{pattern}");
    }
    for (order, word) in Order::ALL {
        assert_eq!((Order::called(word), order.word()), (Some(order), word));
    }
    assert_eq!(Order::called("day first"), None);
}
