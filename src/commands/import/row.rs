//! One row of a list: cells become what came, or every fault of them.

use std::collections::HashMap;

use chrono::NaiveDate;

use super::blame::Blame;
use super::cell;
use super::days::Days;
use super::decimal::Decimal;
use super::header::{Column, Field, Holds};
use super::list::{Faults, How};
use super::sheet::{MOST_CHARACTERS, Record, Separator};
use crate::catalogue::{Catalogue, Condition, Form, Reagent};
use crate::commands::container::UNKNOWN;
use crate::commands::event::Noticed;
use crate::commands::receipt::{By, Part, Receipt, Told};
use crate::commands::receive::readable_code;
use crate::commands::{Problem, arguments};
use crate::register::event::{KeptIn, Made};
use crate::register::ledger::Contradiction;
use crate::units::{parse, show};

/// One row, understood as far as it could be.
#[derive(Debug)]
pub struct Row<'a> {
    /// The line on which it begins.
    pub line: u64,
    /// The place it tells, or that was told for all.
    pub place: Option<String>,
    /// The code it tells.
    pub code: Option<String>,
    /// What came; nothing in a row with a fault.
    pub arrival: Option<Arrival<'a>>,
}

/// What a row says of one container.
#[derive(Debug)]
pub struct Arrival<'a> {
    /// What came.
    pub receipt: Receipt<'a>,
    /// The day its seal was broken.
    pub opened: Option<NaiveDate>,
    /// How much is left on the day of the question.
    pub left: Option<f64>,
    /// What it is kept in.
    pub kept_in: KeptIn,
    /// Why it may not be used, if it may not.
    pub hold: Option<String>,
    /// What is noted on it.
    pub note: Option<Noted>,
    /// Strength and amount as they are written.
    pub written: String,
}

/// A note: one of the words of `note`, or words that are only kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noted {
    /// The words.
    pub words: String,
    /// True if what is in it keeps worse from then on.
    pub spoils: bool,
}

/// A row with what tells it from others.
pub(super) struct Read<'a> {
    pub(super) row: Row<'a>,
    /// The same for rows that say the same; empty for one whose cells are not where they belong.
    pub(super) identity: String,
    pub(super) code_heading: String,
}

/// Reads the rows of one list.
pub(super) struct Reader<'a, 'h> {
    catalogue: &'a Catalogue,
    how: &'h How,
    columns: &'h [Column],
    separator: Separator,
    reagents: HashMap<String, Result<&'a Reagent, Problem>>,
    days: Vec<Days>,
}

/// A cell with its heading.
type Cell<'h, 'r> = (&'h str, &'r str);

impl<'a, 'h> Reader<'a, 'h> {
    pub(super) fn new(catalogue: &'a Catalogue, how: &'h How, columns: &'h [Column], separator: Separator) -> Self {
        let days = columns.iter().map(|_| Days::default()).collect();
        Reader { catalogue, how, columns, separator, reagents: HashMap::new(), days }
    }

    /// Reads one row; what is wrong with it goes to `faults`.
    pub(super) fn row(&mut self, record: &Record<'_>, faults: &mut Faults) -> Read<'a> {
        let mut blame = Blame { line: record.line, faults };
        let mut row = Row { line: record.line, place: None, code: None, arrival: None };
        let code_heading = self.heading(Field::Code).to_owned();
        if !self.is_in_shape(record, &mut blame) {
            return Read { row, identity: String::new(), code_heading };
        }
        row.place = self.get(record, Field::Place).map(|(_, name)| name.to_owned()).or_else(|| self.how.at.clone());
        if row.place.is_none() {
            blame.on(
                self.heading(Field::Place),
                "",
                "the place is missing",
                "a place of the register; or --at PLACE for all rows without one",
            );
        }
        if let Some((heading, code)) = self.get(record, Field::Code) {
            match readable_code(code) {
                Ok(()) => row.code = Some(code.to_owned()),
                Err(problem) => blame.by(heading, code, &problem),
            }
        }
        row.arrival = self.arrival(record, &mut blame);
        let identity = match &row.arrival {
            Some(arrival) => identity(arrival, row.place.as_deref()),
            None => record.cells.iter().map(str::trim).collect::<Vec<_>>().join("\u{1f}"),
        };
        Read { row, identity, code_heading }
    }

    /// True if every cell stands under a heading, and is one line of a length that can be kept.
    fn is_in_shape(&self, record: &Record<'_>, blame: &mut Blame<'_>) -> bool {
        let wanted = self.columns.len();
        let found = record.cells.len();
        let extra = record.cells.iter().skip(wanted).find(|cell| !cell.trim().is_empty());
        if found < wanted || extra.is_some() {
            let accepted = "a cell under each heading; one that holds the separator or a quote stands in quotes";
            let said = format!("{found} cells under {wanted} headings");
            blame.on("(whole row)", extra.unwrap_or_default(), said, accepted);
            return false;
        }
        let mut is_good = true;
        for (column, cell) in self.columns.iter().zip(record.cells.iter()) {
            let wrong = if cell.trim().chars().any(|c| matches!(c, '\n' | '\r')) {
                ("a line ends inside the cell", "one line; is a quote left open?")
            } else if cell.trim().chars().any(char::is_control) {
                ("holds a sign that cannot be printed", "words and figures")
            } else if cell.len() > MOST_CHARACTERS && cell.chars().count() > MOST_CHARACTERS {
                ("longer than 1000 characters", "up to 1000 characters; is a quote left open?")
            } else if column.holds == Holds::Nothing && !cell.trim().is_empty() {
                ("stands under no heading", "a heading for its column on the first row, or an empty cell")
            } else {
                continue;
            };
            let heading = if column.heading.is_empty() { "(no heading)" } else { &column.heading };
            blame.on(heading, cell, wrong.0, wrong.1);
            is_good = false;
        }
        is_good
    }

    /// Everything about the container but its place and its code.
    fn arrival(&mut self, record: &Record<'_>, blame: &mut Blame<'_>) -> Option<Arrival<'a>> {
        let reagent = self.reagent(record, blame);
        let received = self.received(record, blame);
        let made = self.made(record, received, blame);
        let opened = self.opened(record, received, blame);
        let condition = self.word(record, Field::Condition, cell::condition, cell::CONDITIONS, blame);
        let container = self.word(record, Field::Container, cell::container, &cell::containers(), blame);
        let cap = self.word(record, Field::Cap, cell::cap, cell::CAPS, blame);
        let hold = self.reason(record, Field::Hold, blame);
        let note = self.reason(record, Field::Note, blame);
        let strength = self.counted(record, Field::Strength, blame);
        let amount = self.counted(record, Field::Amount, blame);
        let left = self.counted(record, Field::Left, blame);
        let (strength, amount, left) = (strength.ok()?, amount.ok()?, left.ok()?);
        // Each of the others is read even where one is wrong, so that all is told at once.
        let reagent = reagent?;
        let is_told = received.is_some();
        let day = received.unwrap_or(self.how.day);
        let made = made.ok();
        let told = amount.clone().or_else(|| left.clone().filter(|left| !is_nothing(left)));
        let Some(told) = told else {
            let heading = if self.has(Field::Amount) { self.heading(Field::Amount) } else { self.heading(Field::Left) };
            blame.on(heading, "", "the amount is missing", "a number and a unit, as 500 mL or 2.5 kg");
            return None;
        };
        let (measuring, kitchen) = (self.catalogue.measuring(), self.how.kitchen);
        let of = Told {
            strength: strength.as_deref(),
            amount: &told,
            condition: condition.ok().flatten(),
            made: made.flatten(),
            day,
            by: By::Columns,
        };
        let counted = if amount.is_some() { Field::Amount } else { Field::Left };
        let mut receipt = match Receipt::read(measuring, reagent, of, kitchen) {
            Ok(receipt) => receipt,
            Err((part, problem)) => {
                let (field, text) = match part {
                    Part::Strength => (Field::Strength, strength.as_deref()),
                    Part::Amount => (counted, Some(told.as_str())),
                };
                blame.by(self.heading(field), text.unwrap_or_default(), &problem);
                return None;
            }
        };
        let left = match (&amount, left) {
            (None, Some(_)) => {
                receipt.assumed.push("what is left is taken for what came: no `amount` is told".to_owned());
                Ok(None)
            }
            (_, Some(text)) => self.left(&text, &mut receipt, blame).map(Some),
            (_, None) => Ok(None),
        };
        let opened = opened.and_then(|opened| self.seal(record, opened, &receipt, blame));
        let note = note.and_then(|note| note.map(|note| self.noted(note, &mut receipt, blame)).transpose());
        let (condition, container, cap) = (condition, container.ok()?, cap.ok()?);
        condition.ok()?;
        made?;
        let kept_in = KeptIn { container: container.unwrap_or(UNKNOWN.container), cap, ..UNKNOWN };
        let written = strength.iter().chain([&told]).map(String::as_str).collect::<Vec<_>>().join(" ");
        let arrival = Arrival {
            opened: opened.ok()?,
            left: left.ok()?,
            hold: hold.ok()?,
            note: note.ok()?,
            receipt,
            kept_in,
            written,
        };
        is_told.then_some(arrival)
    }

    fn reagent(&mut self, record: &Record<'_>, blame: &mut Blame<'_>) -> Option<&'a Reagent> {
        let Some((heading, word)) = self.get(record, Field::Reagent) else {
            blame.on(
                self.heading(Field::Reagent),
                "",
                "the reagent is missing",
                "a name that `brimstock reagents` lists",
            );
            return None;
        };
        let catalogue = self.catalogue;
        let found = self.reagents.entry(word.to_owned()).or_insert_with(|| arguments::reagent(catalogue, word));
        match found {
            Ok(reagent) => Some(*reagent),
            Err(problem) => {
                blame.by(heading, word, problem);
                None
            }
        }
    }

    fn received(&mut self, record: &Record<'_>, blame: &mut Blame<'_>) -> Option<NaiveDate> {
        match self.get(record, Field::Received) {
            Some((_, text)) => self.day(Field::Received, text, blame).ok(),
            None => {
                let accepted =
                    "the day it came; if nobody knows, a day on which it was there, and `unknown` in a column `made`";
                blame.on(self.heading(Field::Received), "", "the day it came is missing", accepted);
                None
            }
        }
    }

    fn made(
        &mut self,
        record: &Record<'_>,
        received: Option<NaiveDate>,
        blame: &mut Blame<'_>,
    ) -> Result<Option<Made>, ()> {
        let Some((heading, text)) = self.get(record, Field::Made) else { return Ok(None) };
        if matches!(text.to_lowercase().as_str(), "unknown" | "not known" | "?") {
            return Ok(Some(Made::Unknown));
        }
        let day = self.day(Field::Made, text, blame)?;
        match received {
            Some(received) if day > received => {
                let said = format!("{day} lies after the day it came, {received}");
                blame.on(heading, text, said, "a day up to that one, or `unknown`");
                Err(())
            }
            _ => Ok(Some(Made::On(day))),
        }
    }

    fn opened(
        &mut self,
        record: &Record<'_>,
        received: Option<NaiveDate>,
        blame: &mut Blame<'_>,
    ) -> Result<Option<NaiveDate>, ()> {
        let Some((heading, text)) = self.get(record, Field::Opened) else { return Ok(None) };
        match text.to_lowercase().as_str() {
            "no" | "not yet" | "never" | "sealed" | "unopened" => return Ok(None),
            "yes" | "open" | "opened" | "unknown" | "?" => {
                let accepted =
                    "the day; for a container that came opened leave it empty, with `opened` in a column `condition`";
                blame.on(heading, text, "on which day?", accepted);
                return Err(());
            }
            _ => {}
        }
        let day = self.day(Field::Opened, text, blame)?;
        match received {
            Some(received) if day < received => {
                let accepted = "a day from then on; for a container that came opened leave it empty, with `opened` in a column `condition`";
                blame.on(heading, text, format!("{day} lies before the day it came, {received}"), accepted);
                Err(())
            }
            _ => Ok(Some(day)),
        }
    }

    fn day(&mut self, field: Field, text: &str, blame: &mut Blame<'_>) -> Result<NaiveDate, ()> {
        let index = self.index(field).ok_or(())?;
        self.days[index].read(&self.columns[index], self.how, text, blame)
    }

    /// What would settle the days that can be read in two ways, a sentence for each column.
    pub(super) fn settle(&self) -> Vec<String> {
        self.columns.iter().zip(&self.days).filter_map(|(column, days)| days.settle(column)).collect()
    }

    /// One of a few words.
    fn word<T>(
        &self,
        record: &Record<'_>,
        field: Field,
        called: fn(&str) -> Option<T>,
        accepted: &str,
        blame: &mut Blame<'_>,
    ) -> Result<Option<T>, ()> {
        let Some((heading, text)) = self.get(record, field) else { return Ok(None) };
        match called(text) {
            Some(found) => Ok(Some(found)),
            None => {
                blame.on(heading, text, format!("no {} that is known", field.word()), accepted);
                Err(())
            }
        }
    }

    /// A few words of the keeper's own.
    fn reason(&self, record: &Record<'_>, field: Field, blame: &mut Blame<'_>) -> Result<Option<String>, ()> {
        let Some((heading, text)) = self.get(record, field) else { return Ok(None) };
        if field == Field::Hold && matches!(text.to_lowercase().as_str(), "yes" | "no" | "none" | "x") {
            blame.on(
                heading,
                text,
                "tells no reason",
                "why it may not be used, in a few words; an empty cell if it may",
            );
            return Err(());
        }
        arguments::reason(text).map(Some).map_err(|said| {
            let (said, accepted) = said.split_once("; accepted: ").unwrap_or((&said, "a few words"));
            blame.on(heading, text, said, accepted);
        })
    }

    /// A strength or an amount with the unit of its heading.
    fn counted(&self, record: &Record<'_>, field: Field, blame: &mut Blame<'_>) -> Result<Option<String>, ()> {
        let Some(index) = self.index(field) else { return Ok(None) };
        let Some((heading, text)) = self.get(record, field) else { return Ok(None) };
        let kitchen = self.how.kitchen;
        let said = match self.how.decimal {
            Some(decimal) => decimal.in_points(text).map_err(|said| {
                blame.on(heading, text, said, "numbers as --decimal says, the same in all rows");
            })?,
            None if Decimal::is_asked(text) => {
                let why = "its comma could be a decimal sign or part thousands";
                blame.on(
                    heading,
                    text,
                    why,
                    "a point or none; or --decimal comma or --decimal point, which says it for all rows",
                );
                return Err(());
            }
            None if self.separator == Separator::Semicolon && cell::may_be_thousands(text) => {
                let why = "where semicolons part the cells, its point may part thousands";
                let accepted = "1000 without the point, or a number of places other than three: 1.0; or --decimal comma or --decimal point, which says it for all rows";
                blame.on(heading, text, why, accepted);
                return Err(());
            }
            None => text.to_owned(),
        };
        let whole = cell::with_unit(&said, self.columns[index].unit.as_ref(), kitchen)
            .map_err(|said| blame.on(heading, text, said, "a number alone, or with the unit of the heading"))?;
        // Read here too, so that it is told beside a reagent that is not known.
        let read = match field {
            Field::Strength => parse::strength(&whole, kitchen).map(|_| ()),
            Field::Left if is_nothing(&whole) => Ok(()),
            _ => parse::amount(&whole, kitchen).map(|_| ()),
        };
        match read {
            Ok(()) => Ok(Some(whole)),
            Err(error) => {
                blame.by(heading, text, &Problem::from(error));
                Err(())
            }
        }
    }

    /// How much is left of what came.
    fn left(&self, text: &str, receipt: &mut Receipt<'a>, blame: &mut Blame<'_>) -> Result<f64, ()> {
        if is_nothing(text) {
            return Ok(0.0);
        }
        let mut assumed = Vec::new();
        let heading = self.heading(Field::Left);
        let (measuring, kitchen) = (self.catalogue.measuring(), self.how.kitchen);
        match receipt.amount_of(measuring, text, kitchen, &mut assumed) {
            Ok(left) if left > receipt.amount * (1.0 + 1e-9) => {
                let came = show::amount(receipt.amount, receipt.unit);
                let said = format!("{} are left of {came}", show::amount(left, receipt.unit));
                blame.on(heading, text, said, "no more than came");
                Err(())
            }
            Ok(left) => {
                receipt.assumed.extend(assumed);
                Ok(left)
            }
            Err(problem) => {
                blame.by(heading, text, &problem);
                Err(())
            }
        }
    }

    /// The day of opening, if there was a seal to break.
    fn seal(
        &self,
        record: &Record<'_>,
        opened: Option<NaiveDate>,
        receipt: &Receipt<'a>,
        blame: &mut Blame<'_>,
    ) -> Result<Option<NaiveDate>, ()> {
        match opened {
            Some(day) if receipt.condition != Condition::Sealed => {
                let text = self.get(record, Field::Opened).map_or("", |(_, text)| text);
                let said = Contradiction::HadNoSeal { day, came: receipt.condition }.to_string();
                blame.on(self.heading(Field::Opened), text, said, "no day, or `sealed` in a column `condition`");
                Err(())
            }
            opened => Ok(opened),
        }
    }

    /// A note, as one of the words that `note` knows or as words only.
    fn noted(&self, words: String, receipt: &mut Receipt<'a>, blame: &mut Blame<'_>) -> Result<Noted, ()> {
        let Some(noticed) = cell::noticed(&words) else {
            if let Some(noticed) = cell::speaks_of(&words) {
                receipt.assumed.push(format!(
                    "a note that speaks of `{}` is kept as words only; if it is so now, enter it with `brimstock note`",
                    noticed.words()
                ));
            }
            return Ok(Noted { words, spoils: false });
        };
        let fits = match noticed {
            Noticed::Damp => receipt.form == Form::Solid,
            Noticed::Swollen | Noticed::Gassing => receipt.form == Form::Solution,
            _ => true,
        };
        if !fits {
            let said = format!("no {} is {}", receipt.form, noticed.words());
            blame.on(self.heading(Field::Note), &words, said, "what `brimstock note --help` lists, or other words");
            return Err(());
        }
        Ok(Noted { words: noticed.words().to_owned(), spoils: noticed.spoils() })
    }

    fn index(&self, field: Field) -> Option<usize> {
        self.columns.iter().position(|column| column.holds == Holds::Field(field))
    }

    fn has(&self, field: Field) -> bool {
        self.index(field).is_some()
    }

    /// The heading of a field, or its name where no column holds it.
    fn heading(&self, field: Field) -> &'h str {
        self.index(field).map_or(field.word(), |index| &self.columns[index].heading)
    }

    /// A cell that is not empty, with its heading.
    fn get<'r>(&self, record: &Record<'r>, field: Field) -> Option<Cell<'h, 'r>> {
        let index = self.index(field)?;
        let text = record.cells.get(index)?.trim();
        (!cell::is_empty(text)).then_some((self.columns[index].heading.as_str(), text))
    }
}

/// True for `none`, `empty` and 0 of any unit.
fn is_nothing(text: &str) -> bool {
    let word = text.split_whitespace().next().unwrap_or_default().to_lowercase();
    let figures = word.trim_end_matches(char::is_alphabetic);
    matches!(word.as_str(), "none" | "nothing" | "empty") || figures.parse() == Ok(0.0)
}

/// The same text for two rows that say the same, however they write it.
fn identity(arrival: &Arrival<'_>, place: Option<&str>) -> String {
    let Arrival { receipt, opened, left, kept_in, hold, note, .. } = arrival;
    let Receipt { reagent, label, amount, unit, condition, made, day, .. } = receipt;
    let place = place.unwrap_or_default().to_lowercase();
    format!(
        "{}|{:.6e} {}|{amount:.6e} {unit}|{condition:?}|{made:?}|{day}|{opened:?}|{left:?}|{kept_in:?}|{hold:?}|{note:?}|{place}",
        reagent.key, label.value, label.unit
    )
}
