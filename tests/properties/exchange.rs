//! What holds of any row that is written into an archive, and of any text that is written into a spreadsheet's file.

use brimstock::commands::archive::{Member, line};
use brimstock::commands::export::csv::no_formula;
use brimstock::register::tables::Cell;
use proptest::prelude::*;

#[derive(Debug, Clone)]
enum Any {
    Empty,
    Whole(i64),
    Real(f64),
    Text(String),
}

fn any_cell() -> impl Strategy<Value = Any> {
    prop_oneof![
        Just(Any::Empty),
        any::<i64>().prop_map(Any::Whole),
        // Any bits that are a number: subnormal ones, zeros of both signs, the largest.
        any::<u64>().prop_map(f64::from_bits).prop_filter("no number", |value| value.is_finite()).prop_map(Any::Real),
        (-1_000_000..1_000_000_i32).prop_map(|value| Any::Real(f64::from(value) / 1000.0)),
        any::<String>().prop_map(Any::Text),
    ]
}

proptest! {
    #[test]
    fn rows_read_back_to_the_last_bit(rows in prop::collection::vec(prop::collection::vec(any_cell(), 0..8), 1..5)) {
        let mut text = Vec::new();
        for row in &rows {
            let cells: Vec<Cell<'_>> = row
                .iter()
                .map(|cell| match cell {
                    Any::Empty => Cell::Empty,
                    Any::Whole(value) => Cell::Whole(*value),
                    Any::Real(value) => Cell::Real(*value),
                    Any::Text(text) => Cell::Text(text),
                })
                .collect();
            line::write(&cells, &mut text).unwrap();
        }
        let (mut from, mut buffer) = (text.as_slice(), Vec::new());
        for row in &rows {
            let read = line::read(&mut from, &mut buffer).unwrap().unwrap();
            let cells = line::cells(&read).unwrap();
            prop_assert_eq!(cells.len(), row.len());
            for (cell, was) in cells.iter().zip(row) {
                let same = match (cell, was) {
                    (Cell::Empty, Any::Empty) => true,
                    (Cell::Whole(cell), Any::Whole(was)) => cell == was,
                    (Cell::Real(cell), Any::Real(was)) => cell.to_bits() == was.to_bits(),
                    (Cell::Text(cell), Any::Text(was)) => cell == was,
                    _ => false,
                };
                prop_assert!(same, "{cell:?} was {was:?}");
            }
        }
        prop_assert!(line::read(&mut from, &mut buffer).unwrap().is_none());
        // One that was cut off is told, never taken for a shorter one.
        let cut = &text[..text.len() - 1];
        let (mut from, mut last) = (cut, Ok(None));
        for _ in 0..rows.len() {
            last = line::read(&mut from, &mut buffer);
        }
        prop_assert!(last.is_err());
    }

    #[test]
    fn no_text_begins_as_a_formula_and_none_is_lost(text in any::<String>(), sign in "[-=+@\t\r\n]?") {
        let text = format!("{sign}{text}");
        let written = no_formula(&text);
        prop_assert!(!written.starts_with(['=', '+', '-', '@', '\t', '\r']), "{written:?}");
        prop_assert_eq!(written.strip_prefix('\'').filter(|rest| *rest == text).unwrap_or(&written), text.as_str());
    }

    #[test]
    fn a_name_of_a_member_never_leads_anywhere(name in "[a-z./\\\\:~-]{0,12}(toml|pdf|jsonl)?|(reagent-|sheet-|table-)[ -~]{0,20}[.](toml|pdf|jsonl)") {
        if let Some(member) = Member::named(&name) {
            prop_assert_eq!(member.name(), name.clone());
            prop_assert!(!name.contains(['/', '\\', ':', '~', '\0']) && !name.starts_with('.') && !name.contains(".."), "{name}");
        }
    }
}

#[test]
fn what_is_no_number_is_not_written_and_what_is_no_row_is_not_read() {
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(line::write(&[Cell::Real(value)], &mut Vec::new()).is_err());
    }
    let mut buffer = Vec::new();
    for text in ["{}\n", "[1\n", "7\n", "[1] 2\n", "\n", "[1e999]\n", "[\"\u{1}\"]\n"] {
        assert!(line::read(&mut text.as_bytes(), &mut buffer).is_err(), "{text}");
    }
    for text in ["[true]\n", "[[1]]\n", "[{}]\n", "[18446744073709551615]\n"] {
        let row = line::read(&mut text.as_bytes(), &mut buffer).unwrap().unwrap();
        assert!(line::cells(&row).is_err(), "{text}");
    }
}
