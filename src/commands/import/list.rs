//! The list as a whole, without a register: every row understood, or every fault of it.

use std::collections::{BTreeSet, HashMap};

use chrono::NaiveDate;

use super::decimal::Decimal;
use super::header::{self, Column, Said};
use super::row::{Reader, Row};
use super::sheet::{MOST_ROWS, Separator, Sheet};
use crate::catalogue::Catalogue;
use crate::commands::{Problem, RowFault};
use crate::units::date::Order;
use crate::units::measure::Kitchen;

/// How many faults are told one by one; the rest are counted. Source: `judgement`.
pub const MOST_FAULTS: usize = 1000;

/// How a list is to be read.
#[derive(Debug, Clone)]
pub struct How {
    /// What the file is called.
    pub name: String,
    /// The day of the question, after which nothing has happened.
    pub day: NaiveDate,
    /// What the keeper says of the columns.
    pub said: Said,
    /// The order of days in figures, where the keeper tells it.
    pub order: Option<Order>,
    /// What a comma within figures means, where the keeper tells it.
    pub decimal: Option<Decimal>,
    /// The place of the rows that tell none.
    pub at: Option<String>,
    /// The kitchen that spoons and gallons are of.
    pub kitchen: Option<Kitchen>,
    /// Rows that are alike are several containers.
    pub allow_duplicates: bool,
}

impl How {
    /// As a list is read of which nothing is said.
    #[must_use]
    pub fn plain(name: &str, day: NaiveDate) -> How {
        How {
            name: name.to_owned(),
            day,
            said: Said::default(),
            order: None,
            decimal: None,
            at: None,
            kitchen: None,
            allow_duplicates: false,
        }
    }
}

/// Everything that is wrong with rows, so far.
#[derive(Debug, Default)]
pub struct Faults {
    told: Vec<RowFault>,
    more: usize,
    rows: BTreeSet<u64>,
}

impl Faults {
    /// One more.
    pub fn push(&mut self, fault: RowFault) {
        self.rows.insert(fault.row);
        if self.told.len() < MOST_FAULTS { self.told.push(fault) } else { self.more += 1 }
    }

    /// True if there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// True if a row has one.
    #[must_use]
    pub fn of(&self, row: u64) -> bool {
        self.rows.contains(&row)
    }

    /// All of them as one problem. `count` is that of all rows, `settle` what would settle days that can be read in two ways.
    #[must_use]
    pub fn refusal(mut self, name: &str, count: usize, settle: &[String]) -> Problem {
        self.told.sort_by_key(|fault| fault.row);
        let (bad, fine) = (self.rows.len(), count.saturating_sub(self.rows.len()));
        let mut why: Vec<String> = settle.to_vec();
        if self.more > 0 {
            why.push(format!("{} more faults are only counted; the first {MOST_FAULTS} are told", self.more));
        }
        let problem = Problem::question(format!(
            "{name}: {bad} of {count} rows cannot be entered ({fine} could); nothing was entered"
        ));
        let problem = Problem {
            rows: self.told,
            ..problem.hint("mend these rows and try again with --dry-run; all of the list is entered or nothing")
        };
        if why.is_empty() { problem } else { problem.because(why.join("\n")) }
    }
}

/// A list that was read.
#[derive(Debug)]
pub struct List<'a> {
    /// Its rows.
    pub rows: Vec<Row<'a>>,
    /// What is wrong with them.
    pub faults: Faults,
    /// What would settle days that can be read in two ways.
    pub settle: Vec<String>,
    /// Its columns.
    pub columns: Vec<Column>,
    /// What stands between its cells.
    pub separator: Separator,
}

/// Reads a list: pure, from bytes that may be anything.
///
/// # Errors
/// For what concerns the whole of it: bytes that are no text in UTF-8, headings that are not known, no rows or too many. What
/// is wrong with single rows stands in the list.
pub fn read<'a>(bytes: &[u8], catalogue: &'a Catalogue, how: &How) -> Result<List<'a>, Problem> {
    let sheet = Sheet::of(&how.name, bytes)?;
    let columns = header::columns(&sheet.headings, sheet.line, &how.said, how.kitchen).and_then(|columns| {
        let faults = contradicting_orders(&columns, sheet.line, how.order);
        if faults.is_empty() { Ok(columns) } else { Err(faults) }
    });
    let columns = columns.map_err(|rows| unknown_headings(how, &sheet, rows))?;
    let mut reader = Reader::new(catalogue, how, &columns, sheet.separator);
    let mut faults = Faults::default();
    let mut rows = Vec::new();
    let mut too_many = false;
    let mut twins = Twins::default();
    sheet.rows(|record| {
        too_many = rows.len() >= MOST_ROWS;
        if !too_many {
            let row = reader.row(&record, &mut faults);
            twins.look(&row, how.allow_duplicates, &mut faults);
            rows.push(row.row);
        }
        !too_many
    });
    if too_many {
        return Err(Problem::question(format!("{} has more than {MOST_ROWS} rows", how.name))
            .hint("divide it into several lists"));
    }
    if rows.is_empty() {
        return Err(
            Problem::question(format!("{} holds no row below its headings", how.name)).hint("one container a row")
        );
    }
    let settle = reader.settle();
    Ok(List { rows, faults, settle, separator: sheet.separator, columns })
}

/// Every heading that cannot be used, as one problem.
fn unknown_headings(how: &How, sheet: &Sheet<'_>, rows: Vec<RowFault>) -> Problem {
    let many = if rows.len() == 1 { "a heading".to_owned() } else { format!("{} headings", rows.len()) };
    let problem = Problem::question(format!("{}: {many} cannot be used; nothing was entered", how.name));
    let problem = problem
        .because(format!("a {} was read between the cells of row {}", sheet.separator.word(), sheet.line))
        .hint(format!(
            "--map \"HEADER=FIELD\" says what a column is, --skip HEADER leaves it out; fields: {}",
            header::Field::words()
        ));
    Problem { rows, ..problem }
}

/// Headings that tell another order of days than the command line.
fn contradicting_orders(columns: &[Column], line: u64, told: Option<Order>) -> Vec<RowFault> {
    let contradicts = |column: &&Column| column.order.zip(told).is_some_and(|(heading, told)| heading != told);
    let fault = |column: &Column| RowFault {
        row: line,
        column: column.heading.clone(),
        value: column.heading.clone(),
        problem: format!(
            "the heading says {}, --dates {}",
            column.order.map_or("", Order::word),
            told.map_or("", Order::word)
        ),
        accepted: "one order".to_owned(),
    };
    columns.iter().filter(contradicts).map(fault).collect()
}

/// Rows that are alike, and codes that stand twice.
#[derive(Default)]
struct Twins {
    rows: HashMap<String, u64>,
    codes: HashMap<String, u64>,
}

impl Twins {
    fn look(&mut self, read: &super::row::Read<'_>, allowed: bool, faults: &mut Faults) {
        let row = &read.row;
        let mut fault = |column: &str, value: &str, problem: String, accepted: &str| {
            let [column, value, accepted] = [column, value, accepted].map(str::to_owned);
            faults.push(RowFault { row: row.line, column, value, problem, accepted });
        };
        if let Some(code) = &row.code {
            let first = *self.codes.entry(code.to_lowercase()).or_insert(row.line);
            if first != row.line {
                let problem = format!("row {first} has this code already");
                fault(&read.code_heading, code, problem, "a code of its own, or none: the next free one is taken");
            }
        } else if !read.identity.is_empty() {
            let first = *self.rows.entry(read.identity.clone()).or_insert(row.line);
            if first != row.line && !allowed {
                fault(
                    "(whole row)",
                    "",
                    format!("says the same as row {first}"),
                    "each container once; --allow-duplicates, if rows that are alike are containers that are alike",
                );
            }
        }
    }
}
