//! What a list brought, row by row.

use comfy_table::Cell;

use crate::commands::import::csv::{Imported, Stocked};
use crate::commands::import::header::{Column, Holds};
use crate::commands::receive::label_text;
use crate::register::event::Made;
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::estimate::Z_95;
use crate::units::show;

/// How many stocks are listed one by one; `--json` has all of them.
const LISTED: usize = 1000;

/// How many rows an assumption names before it only counts them.
const ROWS_NAMED: usize = 8;

/// Every stock that was entered, or would be, with what was taken for granted.
pub(super) fn imported(style: &Style, imported: &Imported) -> String {
    let file = imported.file.display();
    let many = |count: usize| if count == 1 { "a stock".to_owned() } else { format!("{count} stocks") };
    let count = many(imported.stocks.len());
    let mut text = if imported.dry_run {
        sentence(style, "", &format!("{file}: {count} would be entered; nothing was written"))
    } else {
        sentence(style, "", &format!("{file}: {count} entered"))
    };
    text.push_str(&sentence(style, "read: ", &columns(imported)));
    text.push_str(&stocks(style, imported));
    if imported.stocks.len() > LISTED {
        let more = imported.stocks.len() - LISTED;
        text.push_str(&sentence(style, "", &format!("and {} more; --json lists all", many(more))));
    }
    for (what, rows) in &imported.assumed {
        let rows = rows_named(rows, imported.stocks.len());
        text.push_str(&sentence(style, "assumed: ", &format!("{rows}: {what}")));
    }
    for warning in &imported.warnings {
        text.push_str(&sentence(style, "WARNING ", warning));
    }
    text.push_str(&sentence(style, "next: ", &imported.next));
    text
}

/// How the columns were read: `Chemical as reagent, Size (mL) as amount in mL`.
fn columns(imported: &Imported) -> String {
    let read = |column: &Column| match column.holds {
        Holds::Field(field) => {
            let unit = column.unit.as_ref().map_or(String::new(), |unit| format!(" in {}", unit.text));
            let order = column.order.map_or(String::new(), |order| format!(" {}", order.word()));
            Some(format!("`{}` as {}{unit}{order}", column.heading, field.word()))
        }
        Holds::Skipped | Holds::Nothing => None,
    };
    let read: Vec<String> = imported.columns.iter().filter_map(read).collect();
    let skipped: Vec<String> = imported
        .columns
        .iter()
        .filter(|column| column.holds == Holds::Skipped)
        .map(|column| format!("`{}`", column.heading))
        .collect();
    let skipped = if skipped.is_empty() { String::new() } else { format!("; left out: {}", skipped.join(", ")) };
    format!("{} between the cells; {}{skipped}", imported.separator, read.join(", "))
}

fn stocks(style: &Style, imported: &Imported) -> String {
    let has = |told: fn(&Stocked) -> bool| imported.stocks.iter().any(told);
    let (left, opened) = (has(|stock| stock.left.is_some()), has(|stock| stock.opened.is_some()));
    let (made, hold) = (has(|stock| stock.made != Made::New), has(|stock| stock.hold.is_some()));
    let note = has(|stock| stock.note.is_some());
    let mut headings = vec!["row", "code", "reagent", "strength", "amount"];
    headings.extend(left.then_some("left"));
    headings.extend(["place", "came", "received"]);
    headings.extend(opened.then_some("opened"));
    headings.extend(made.then_some("made"));
    headings.extend(hold.then_some("held because"));
    headings.extend(note.then_some("note"));
    let dash = || "-".to_owned();
    let rows = imported.stocks.iter().take(LISTED).map(|stock| {
        let mut cells = vec![
            stock.row.to_string(),
            stock.stock.clone(),
            stock.reagent.clone(),
            strength(stock),
            amount(stock.amount, stock),
        ];
        if left {
            cells.push(stock.left.map_or_else(dash, |left| amount(left, stock)));
        }
        cells.extend([stock.place.clone(), stock.condition.to_owned(), stock.received.to_string()]);
        if opened {
            cells.push(stock.opened.map_or_else(dash, |day| day.to_string()));
        }
        if made {
            cells.push(match stock.made {
                Made::New => dash(),
                Made::On(day) => day.to_string(),
                Made::Unknown => "unknown".to_owned(),
            });
        }
        if hold {
            cells.push(stock.hold.clone().unwrap_or_else(dash));
        }
        if note {
            cells.push(stock.note.clone().unwrap_or_else(dash));
        }
        cells.into_iter().map(Cell::new).collect()
    });
    table(style, &headings, &[2], rows.collect())
}

fn amount(value: f64, stock: &Stocked) -> String {
    show::amount(value, stock.unit)
}

/// The label as it was understood; one that was worked out with two figures and its band.
fn strength(stock: &Stocked) -> String {
    let label = &stock.label;
    if label.relative_sd < 0.005 {
        return label_text(label);
    }
    let percent = show::significant(100.0 * Z_95 * label.relative_sd, 2);
    let figures = if label.relative_sd < 0.02 { 3 } else { 2 };
    let value = show::significant(label.value, figures);
    format!("{} {} ± {percent} %", value.strip_suffix(".0").unwrap_or(&value), label.unit)
}

/// `rows 2, 3 and 7`, or how many of them.
fn rows_named(rows: &[u64], all: usize) -> String {
    let words: Vec<String> = rows.iter().map(u64::to_string).collect();
    match &words[..] {
        many if many.len() == all && all > 1 => "every row".to_owned(),
        [one] => format!("row {one}"),
        few if few.len() <= ROWS_NAMED => format!("rows {}", few.join(", ")),
        many => format!("rows {} and {} more", many[..ROWS_NAMED].join(", "), many.len() - ROWS_NAMED),
    }
}
