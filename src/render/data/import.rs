//! What a list brought, row by row.

use serde::Serialize;

use super::{Amount, FORMAT, line, six};
use crate::commands::import::csv::{Imported, Stocked};
use crate::commands::import::header::{Column, Holds};
use crate::register::event::Made;

/// Every stock that was entered, or would be.
pub(super) fn imported(imported: &Imported) -> String {
    let skipped = imported.columns.iter().filter(|column| column.holds == Holds::Skipped);
    line(&ImportedData {
        format: FORMAT,
        file: imported.file.display().to_string(),
        dry_run: imported.dry_run,
        separator: imported.separator,
        columns: imported.columns.iter().filter_map(ColumnData::of).collect(),
        left_out: skipped.map(|column| column.heading.as_str()).collect(),
        stocks: imported.stocks.iter().map(StockedData::of).collect(),
        assumed: imported.assumed.iter().map(|(what, rows)| AssumedData { what, rows }).collect(),
        warnings: &imported.warnings,
        next_step: &imported.next,
    })
}

#[derive(Serialize)]
struct ImportedData<'a> {
    format: u32,
    file: String,
    dry_run: bool,
    separator: &'a str,
    columns: Vec<ColumnData<'a>>,
    left_out: Vec<&'a str>,
    stocks: Vec<StockedData<'a>>,
    assumed: Vec<AssumedData<'a>>,
    warnings: &'a [String],
    next_step: &'a str,
}

#[derive(Serialize)]
struct ColumnData<'a> {
    heading: &'a str,
    field: &'a str,
    unit: Option<&'a str>,
    dates: Option<&'a str>,
}

impl<'a> ColumnData<'a> {
    fn of(column: &'a Column) -> Option<Self> {
        let Holds::Field(field) = column.holds else { return None };
        Some(ColumnData {
            heading: &column.heading,
            field: field.word(),
            unit: column.unit.as_ref().map(|unit| unit.text.as_str()),
            dates: column.order.map(|order| order.word()),
        })
    }
}

#[derive(Serialize)]
struct AssumedData<'a> {
    what: &'a str,
    rows: &'a [u64],
}

#[derive(Serialize)]
struct LabelData<'a> {
    value: f64,
    unit: &'a str,
    relative_sd: f64,
}

#[derive(Serialize)]
struct StockedData<'a> {
    row: u64,
    stock: &'a str,
    reagent: &'a str,
    label: LabelData<'a>,
    amount: Amount<'a>,
    left: Option<Amount<'a>>,
    place: &'a str,
    condition: &'a str,
    received: String,
    opened: Option<String>,
    /// A day, `unknown`, or null: new when it came.
    made: Option<String>,
    hold: Option<&'a str>,
    note: Option<&'a str>,
}

impl<'a> StockedData<'a> {
    fn of(stock: &'a Stocked) -> Self {
        let label = &stock.label;
        StockedData {
            row: stock.row,
            stock: &stock.stock,
            reagent: &stock.reagent,
            label: LabelData { value: six(label.value), unit: &label.unit, relative_sd: six(label.relative_sd) },
            amount: Amount::of(stock.amount, stock.unit),
            left: stock.left.map(|left| Amount::of(left, stock.unit)),
            place: &stock.place,
            condition: stock.condition,
            received: stock.received.to_string(),
            opened: stock.opened.map(|day| day.to_string()),
            made: match stock.made {
                Made::New => None,
                Made::On(day) => Some(day.to_string()),
                Made::Unknown => Some("unknown".to_owned()),
            },
            hold: stock.hold.as_deref(),
            note: stock.note.as_deref(),
        }
    }
}
