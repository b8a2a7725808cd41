//! Columns of days: each read in the order that is told, and what the column itself shows of its order.

use chrono::NaiveDate;

use super::blame::Blame;
use super::header::Column;
use super::list::How;
use crate::commands::Problem;
use crate::units::date::{self, Order};

/// What the days of a column show of their order.
#[derive(Debug, Default)]
pub(super) struct Days {
    either: usize,
    day_first: Option<(u64, String)>,
    month_first: Option<(u64, String)>,
}

impl Days {
    /// Reads a cell of the column: a day up to that of the question.
    pub(super) fn read(
        &mut self,
        column: &Column,
        how: &How,
        text: &str,
        blame: &mut Blame<'_>,
    ) -> Result<NaiveDate, ()> {
        let told = match date::read(text, column.order.or(how.order)) {
            Ok(told) => told,
            Err(error) => {
                blame.by(&column.heading, text, &Problem::from(error));
                return Err(());
            }
        };
        let day = match told {
            date::Told::Day { day, only } => {
                let seen = match only {
                    Some(Order::DayFirst) => Some(&mut self.day_first),
                    Some(Order::MonthFirst) => Some(&mut self.month_first),
                    _ => None,
                };
                if let Some(seen) = seen {
                    seen.get_or_insert_with(|| (blame.line, text.to_owned()));
                }
                day
            }
            date::Told::Either { day_first, month_first } => {
                self.either += 1;
                let words = |day: NaiveDate| day.format("%-d %B %Y").to_string();
                let said = format!("{} or {}?", words(day_first), words(month_first));
                let accepted = "the month as a word, or 2031-03-01; --dates day-first or --dates month-first reads all of the list so";
                blame.on(&column.heading, text, said, accepted);
                return Err(());
            }
        };
        if day > how.day {
            let said = format!("{day} lies after {}, the day of the question", how.day);
            blame.on(&column.heading, text, said, "a day up to that one; --on says which day it is");
            return Err(());
        }
        Ok(day)
    }

    /// What would settle the days of the column that can be read in two ways; nothing where there are none.
    pub(super) fn settle(&self, column: &Column) -> Option<String> {
        let rest = match (&self.day_first, &self.month_first) {
            (Some((row, text)), None) => only_way(*row, text, "day", "month"),
            (None, Some((row, text))) => only_way(*row, text, "month", "day"),
            (None, None) => {
                "no row tells the order by itself: if you know it, --dates day-first or --dates month-first".to_owned()
            }
            (Some((one, day_first)), Some((other, month_first))) => format!(
                "row {one} (`{day_first}`) can only be day first, row {other} (`{month_first}`) only month first: no order fits all of them, write the month as a word"
            ),
        };
        let many = if self.either == 1 { "a day".to_owned() } else { format!("{} days", self.either) };
        (self.either > 0).then(|| format!("{many} of `{}` can be read in two ways; {rest}", column.heading))
    }
}

/// That one row shows the order, which is still for the keeper to tell.
fn only_way(row: u64, text: &str, one: &str, other: &str) -> String {
    format!(
        "row {row} (`{text}`) can only be {one} first, and no row only {other} first: if the list was written in one way, --dates {one}-first reads it"
    )
}
