//! Whatever is done at the bench in whatever order: what is entered keeps the book consistent, what cannot be is refused, and
//! a row that is withdrawn leaves the book as it was before.

use super::cases;
use brimstock::dip::log::book::{Book, book};
use brimstock::dip::log::{Drained, Happened, Left, Load, Loaded, Looked, Quenched, Row, Started, Stopped, Withdrawn};
use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use proptest::prelude::*;

/// A thing to try: its kind, a lot, a row to name, a minute, and whether it is so.
type Try = (u8, u8, i64, i64, bool);

fn midnight() -> NaiveDateTime {
    NaiveDate::from_ymd_opt(2031, 3, 3).unwrap().and_hms_opt(0, 0, 0).unwrap()
}

fn happened((kind, lot, named, minute, is_so): Try) -> (NaiveDateTime, Happened) {
    let at = midnight() + TimeDelta::minutes(minute);
    let lot = format!("L{lot}");
    let load = Load { lot: lot.clone(), plants: None, kind: None, at, who: None, water_c: None, ph: None, dirt: None };
    let left = Left { lot: lot.clone(), note: None, who: None, overruled: None, witness: None };
    let what = match kind {
        0 | 1 => Happened::Started(Started {
            dip: "alum-short".to_owned(),
            version: 1,
            bath_ml: 1e4,
            vessel: None,
            load,
            overruled: None,
        }),
        2 | 3 => Happened::Loaded(Loaded { bath: named, load, overruled: None }),
        4..=6 => Happened::Stopped(Stopped { lot, load: named, at, note: None }),
        7 => Happened::Quenched(Quenched {
            bath: named,
            reading: "0".to_owned(),
            proven: is_so,
            ph: None,
            who: None,
            at: None,
        }),
        8 => Happened::Drained(Drained {
            bath: named,
            into: "sewer".to_owned(),
            permission: None,
            who: None,
            overruled: None,
            at: None,
        }),
        9 => Happened::Looked(Looked {
            lot,
            adults: 0,
            eggs: 0,
            damage_percent: None,
            photo: None,
            note: None,
            who: None,
        }),
        10 if is_so => Happened::Released(left),
        10 => Happened::Destroyed(left),
        _ => Happened::Withdrawn(Withdrawn { row: named, why: "x".to_owned() }),
    };
    (at, what)
}

/// Enters what can be, as the commands do; rows that are refused leave a hole, as rows do that are rolled back.
fn entered(tries: Vec<Try>) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (id, one) in (1..).zip(tries) {
        let (at, what) = happened(one);
        rows.push(Row { id, day: at.date(), entered_at: String::new(), written: String::new(), what });
        if book(&rows, NaiveDate::MAX).is_err() {
            rows.pop();
        }
    }
    rows
}

/// What must hold of any book, looked at from outside.
fn consistent(book: &Book, is_whole: bool) {
    for lot in &book.lots {
        let mut spans: Vec<_> = lot.loads.iter().map(|load| (load.load.at, load.ended)).collect();
        spans.sort();
        // On a day in between a load that was entered late may be open beside one that came out later.
        assert!(!is_whole || spans.iter().filter(|(_, ended)| ended.is_none()).count() <= 1, "{lot:?}");
        for pair in spans.windows(2) {
            assert!(pair[0].1.is_none_or(|ended| ended <= pair[1].0), "two baths at once: {lot:?}");
        }
        assert!(spans.iter().all(|(began, ended)| ended.is_none_or(|ended| ended >= *began)), "{lot:?}");
        let first = spans.first().expect("a lot begins with a bath").0.date();
        assert!(lot.looks.iter().all(|look| look.day >= first), "{lot:?}");
        if let Some(left) = &lot.left {
            assert!(spans.iter().all(|(began, ended)| ended.is_some() && began.date() <= left.day), "{lot:?}");
            assert!(lot.looks.iter().all(|look| look.day <= left.day), "{lot:?}");
        }
    }
    for bath in &book.baths {
        let numbers: Vec<usize> = bath.loads.iter().map(|load| load.number).collect();
        assert_eq!(numbers, (1..=bath.loads.len()).collect::<Vec<_>>());
        assert!(bath.loads.iter().all(|load| load.load.at >= bath.began));
        if bath.drained.is_some() || !bath.quenched.is_empty() {
            assert!(bath.loads.iter().all(|load| load.ended.is_some()), "{bath:?}");
        }
        let proven = bath.quenched.iter().position(|quenched| quenched.what.proven);
        assert!(proven.is_none_or(|at| at + 1 == bath.quenched.len()), "{bath:?}");
    }
    let of_baths: usize = book.baths.iter().map(|bath| bath.loads.len()).sum();
    let of_lots: usize = book.lots.iter().map(|lot| lot.loads.len()).sum();
    assert_eq!(of_baths, of_lots);
}

fn tries() -> impl Strategy<Value = Vec<Try>> {
    prop::collection::vec((0_u8..12, 0_u8..3, 1_i64..20, 0_i64..6000, any::<bool>()), 1..40)
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn any_order_of_what_is_entered_is_a_book(tries in tries()) {
        let rows = entered(tries);
        for days in 0..6 {
            let day = midnight().date() + TimeDelta::days(days);
            let book = book(&rows, day);
            prop_assert!(book.is_ok(), "{book:?}");
            consistent(&book.unwrap(), days == 5);
        }
    }

    #[test]
    fn a_withdrawn_row_leaves_the_book_as_it_was(tries in tries()) {
        // Without withdrawals, which are not withdrawn themselves.
        let rows = entered(tries.into_iter().filter(|one| one.0 < 11).collect());
        let Some(last) = rows.last() else { return Ok(()) };
        let before = book(&rows[..rows.len() - 1], NaiveDate::MAX).unwrap();
        let mut withdrawn = rows.clone();
        let what = Happened::Withdrawn(Withdrawn { row: last.id, why: "x".to_owned() });
        withdrawn.push(Row { id: last.id + 1, what, ..last.clone() });
        prop_assert_eq!(book(&withdrawn, NaiveDate::MAX).unwrap(), before);
    }
}
