//! What stands on the shelf, and one stock with its journal.

use serde::Serialize;

use super::sds::SheetData;
use super::strength::CheckedData;
use super::{Amount, FORMAT, UsualData, Writer, line};
use crate::commands::shelf::{Shelved, Shown};

/// Every stock on the shelf.
pub(super) fn shelved(shelved: &Shelved) -> String {
    line(&ShelvedData {
        format: FORMAT,
        on: shelved.on.to_string(),
        stocks: shelved
            .stocks
            .iter()
            .map(|stock| ShelfData {
                stock: &stock.code,
                reagent: &stock.reagent,
                label: &stock.label,
                usual: stock.strength.as_ref().map(UsualData::of),
                left: Amount::of(stock.left, &stock.unit),
                place: &stock.place,
                condition: stock.condition.word(),
                note: &stock.note,
            })
            .collect(),
    })
}

/// A stock as it is checked, where it stands, and its journal.
pub(super) fn shown<'a>(writer: &Writer<'a>, shown: &'a Shown) -> String {
    line(&ShownData {
        checked: CheckedData::of(writer, &shown.checked),
        place: &shown.place,
        condition: shown.condition.word(),
        retired: shown.retired.as_ref().map(|(day, because)| RetiredData { day: day.to_string(), because }),
        sheet: shown.sheet.as_ref().map(SheetData::of),
        journal: shown
            .journal
            .iter()
            .map(|line| JournalData {
                line: line.number,
                day: line.day.to_string(),
                event: &line.kind,
                says: &line.says,
                entered_at: &line.entered_at,
            })
            .collect(),
    })
}

#[derive(Serialize)]
struct ShelvedData<'a> {
    format: u32,
    on: String,
    stocks: Vec<ShelfData<'a>>,
}

#[derive(Serialize)]
struct ShelfData<'a> {
    stock: &'a str,
    reagent: &'a str,
    label: &'a str,
    usual: Option<UsualData<'a>>,
    left: Amount<'a>,
    place: &'a str,
    condition: &'a str,
    note: &'a str,
}

#[derive(Serialize)]
struct ShownData<'a> {
    #[serde(flatten)]
    checked: CheckedData<'a>,
    place: &'a str,
    condition: &'a str,
    retired: Option<RetiredData<'a>>,
    sheet: Option<SheetData<'a>>,
    journal: Vec<JournalData<'a>>,
}

#[derive(Serialize)]
struct RetiredData<'a> {
    day: String,
    because: &'a str,
}

#[derive(Serialize)]
struct JournalData<'a> {
    line: usize,
    day: String,
    event: &'a str,
    says: &'a str,
    entered_at: &'a str,
}
