//! Lists that are to be imported: whatever the bytes, they are read or refused, every fault with its row.

use brimstock::commands::import::header::Field;
use brimstock::commands::import::list::{How, read};
use chrono::NaiveDate;
use proptest::prelude::*;

use super::{cases, shipped};

const SHELF: &[u8] = include_bytes!("../import/shelf.csv");

fn how() -> How {
    How::plain("list.csv", NaiveDate::from_ymd_opt(2031, 3, 10).expect("a date"))
}

/// Reads bytes as a list, and looks at what every answer must keep to.
fn looked_at(bytes: &[u8]) -> Result<(), TestCaseError> {
    match read(bytes, shipped(), &how()) {
        Ok(list) => {
            let lines = 1 + bytes.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count() as u64;
            for row in &list.rows {
                prop_assert!(row.line <= lines, "row {} of {}", row.line, lines);
                if let Some(arrival) = &row.arrival {
                    let amount = arrival.receipt.amount;
                    prop_assert!(amount.is_finite() && amount > 0.0);
                    prop_assert!(arrival.receipt.label.value.is_finite());
                    prop_assert!(arrival.receipt.day <= how().day);
                } else {
                    prop_assert!(list.faults.of(row.line), "row {} is lost without a word", row.line);
                }
            }
        }
        Err(problem) => prop_assert!(problem.hint.is_some(), "{problem:?}"),
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        looked_at(&bytes)?;
    }

    #[test]
    fn any_cells_are_read_or_refused(cells in prop::collection::vec("[a-z0-9%/,. -]{0,12}", 1..6), amount in any::<String>()) {
        let mut text = "what;strength;amount;place;came;note\n".to_owned();
        let row: Vec<&str> = cells.iter().map(String::as_str).chain([amount.as_str()]).collect();
        text.push_str(&row.join(";"));
        looked_at(text.as_bytes())?;
    }

    #[test]
    fn a_good_list_with_changed_bytes_is_read_or_refused(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
        end in any::<prop::sample::Index>(),
    ) {
        let mut bytes = SHELF.to_vec();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        looked_at(&bytes)?;
        looked_at(&SHELF[..end.index(SHELF.len())])?;
    }
}

#[test]
fn the_good_list_is_good() {
    let list = read(SHELF, shipped(), &how()).expect("a list");
    assert!(list.faults.is_empty(), "{:?}", list.faults);
    assert_eq!(list.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [2, 3, 4, 6, 7, 8]);
    assert!(list.rows.iter().all(|row| row.arrival.is_some()));
}

#[test]
fn every_heading_is_known_by_its_names() {
    for (word, field) in [
        ("reagent", Field::Reagent),
        ("Chemical", Field::Reagent),
        ("WHAT", Field::Reagent),
        ("substances", Field::Reagent),
        ("Label-strength", Field::Strength),
        ("conc.", Field::Strength),
        ("Quantity", Field::Amount),
        ("pack_size", Field::Amount),
        ("left", Field::Left),
        ("Where", Field::Place),
        ("location", Field::Place),
        ("date bought", Field::Received),
        ("Came", Field::Received),
        ("date opened", Field::Opened),
        ("Manufactured", Field::Made),
        ("container", Field::Container),
        ("cap", Field::Cap),
        ("Notes", Field::Note),
        ("CODE", Field::Code),
    ] {
        assert_eq!(Field::called(word), Some(field), "{word}");
    }
    assert_eq!(Field::called("price"), None);
    for word in Field::words().split(", ") {
        assert_eq!(Field::called(word).map(Field::word), Some(word));
    }
}
