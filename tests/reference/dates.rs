//! Days in words and figures beside the same days in the notation of ISO 8601, as published sources write both.
//!
//! Sources: TEI Consortium, Guidelines P5 2.4.0, class att.datable.w3c, whose examples give a day as it is written and its
//! W3C date (found); W3C note on date and time formats, NOTE-datetime, a profile of ISO 8601:1988, `1997-07-16` as a complete
//! date (quoted by a copy); ISO 8601-1:2019, 5.2.2.1, its own example 12 April 1985 in both formats (memory); RFC 5322,
//! appendix A.1.1, `Fri, 21 Nov 1997` (memory).

use brimstock::units::date::{Told, read};
use chrono::NaiveDate;

const DAYS: &[(&str, &str)] = &[
    ("September 24th, 1996", "1996-09-24"),
    ("Jan 4 1999", "1999-01-04"),
    ("1996-09-24T07:25:00", "1996-09-24"),
    ("1945-10-24", "1945-10-24"),
    ("1997-07-16", "1997-07-16"),
    ("July 16th 1997", "1997-07-16"),
    ("19850412", "1985-04-12"),
    ("1985-04-12", "1985-04-12"),
    ("12 April 1985", "1985-04-12"),
    ("Fri, 21 Nov 1997", "1997-11-21"),
];

/// What those sources give as less than a day, or as a year of two figures: never taken for one.
const NO_DAYS: &[&str] = &["24 Oct 45", "October of 1962", "1962-10", "June 12th", "August", "2006"];

#[test]
fn days_are_those_of_the_sources() {
    for (text, iso) in DAYS {
        let day: NaiveDate = iso.parse().expect("a date of ISO 8601");
        assert_eq!(read(text, None), Ok(Told::Day { day, only: None }), "{text}");
    }
    for text in NO_DAYS {
        assert!(read(text, None).is_err(), "{text}");
    }
}
