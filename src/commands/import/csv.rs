//! `import csv`: a list that was kept by hand becomes stocks of the shelf, all of it or nothing.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::Args;

use super::blame::said;
use super::decimal::Decimal;
use super::header::{Column, Field, Holds, Said};
use super::input;
use super::list::{Faults, How, List, read};
use super::row::{Arrival, Row};
use crate::catalogue::Condition;
use crate::commands::receipt::{Receipt, Standing};
use crate::commands::receive::append;
use crate::commands::{Kind, Problem, RowFault, Session, arguments, audit, local, told};
use crate::register::checkpoint::Journal;
use crate::register::event::{Entry, Event, Labelled, Made, Received, What};
use crate::register::place::Place;
use crate::register::{Register, Writing};
use crate::units::date::Order;

/// Up to how many new stocks it is looked at what stands beside what: beyond, `audit` does. Source: `judgement`.
const LOOKED_AT: usize = 1000;

/// Enter a list that was kept by hand in a spreadsheet: a CSV file, one container a row
///
/// Its first row tells what the columns are: reagent, strength, amount, left, place, received, opened, made, condition,
/// container, cap, hold, note, code. Units stand in the cells (500 mL, 3 % w/v) or in the heading, as `amount (g)`. Days are
/// 2031-03-01 or 1 March 2031; what could be another day is asked, never guessed. Every faulty row is told with its number, and
/// then nothing is entered. Read are up to 100,000 rows, 64 columns, 1,000 characters a cell and 32 MB.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock import csv list.csv --dry-run\n  brimstock import csv - --decimal comma < liste.csv\n  brimstock import csv list.csv --map \"Bottle no.=code\" --skip Price --dates day-first --at cupboard"
)]
pub struct Csv {
    /// The file: separated by commas, semicolons or tabs, text in UTF-8; `-` for standard input
    pub file: PathBuf,
    /// Tell what would be entered, and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// What a column holds, where its heading is not known: "HEADER=field"
    #[arg(long, value_name = "HEADER=FIELD", value_parser = map)]
    pub map: Vec<(String, Field)>,
    /// A column that is left out
    #[arg(long, value_name = "HEADER")]
    pub skip: Vec<String>,
    /// The order of days in figures: day-first, month-first, year-first
    #[arg(long, value_name = "ORDER", value_parser = order)]
    pub dates: Option<Order>,
    /// What a comma within figures is: the decimal sign (1.234,5), or what parts thousands where a point is (1,234.5)
    #[arg(long, value_enum, value_name = "SIGN")]
    pub decimal: Option<Decimal>,
    /// The place of rows that tell none
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// Rows that are alike are containers that are alike
    #[arg(long)]
    pub allow_duplicates: bool,
}

fn map(text: &str) -> Result<(String, Field), String> {
    let (heading, field) =
        text.rsplit_once('=').ok_or_else(|| format!("`{text}` is no HEADER=FIELD, as \"Bottle no.=code\""))?;
    let known = Field::called(field)
        .ok_or_else(|| format!("`{}` is nothing that a column can hold; accepted: {}", field.trim(), Field::words()))?;
    Ok((heading.trim().to_owned(), known))
}

fn order(word: &str) -> Result<Order, String> {
    let words = Order::ALL.map(|(_, word)| word).join(", ");
    Order::called(word).ok_or_else(|| format!("`{word}` is no order of days; accepted: {words}"))
}

/// A list that was entered, or would be.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// The file.
    pub file: PathBuf,
    /// True if nothing was written.
    pub dry_run: bool,
    /// The day of the question.
    pub day: NaiveDate,
    /// The name of what stands between the cells.
    pub separator: &'static str,
    /// How each column was read.
    pub columns: Vec<Column>,
    /// The stocks.
    pub stocks: Vec<Stocked>,
    /// What was taken for granted, with the rows that it was taken for.
    pub assumed: Vec<(String, Vec<u64>)>,
    /// What is wrong with where they stand now.
    pub warnings: Vec<String>,
    /// What to type next.
    pub next: String,
}

/// One row that became a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Stocked {
    /// The line of the file.
    pub row: u64,
    /// Its code.
    pub stock: String,
    /// The key of its reagent.
    pub reagent: String,
    /// Its strength as it was understood.
    pub label: Labelled,
    /// How much came.
    pub amount: f64,
    /// `g` or `mL`.
    pub unit: &'static str,
    /// How much is left, where the list tells it.
    pub left: Option<f64>,
    /// Where it stands.
    pub place: String,
    /// The condition in which it came, in a word.
    pub condition: &'static str,
    /// The day it came.
    pub received: NaiveDate,
    /// The day its seal was broken.
    pub opened: Option<NaiveDate>,
    /// When it was made.
    pub made: Made,
    /// Why it may not be used, if it may not.
    pub hold: Option<String>,
    /// What was noted.
    pub note: Option<String>,
}

/// Enters the list.
///
/// # Errors
/// For a file that cannot be read, headings that are not known, and every row that cannot be entered, all at once; then nothing
/// is.
pub fn run(session: &Session, given: &Csv) -> Result<Imported, Problem> {
    let is_input = given.file == Path::new("-");
    let bytes = if is_input { input::standard(session)? } else { input::at(session, &given.file)? };
    let name = if is_input { "standard input".to_owned() } else { given.file.display().to_string() };
    let mut register = session.register()?;
    let kitchen = register.read(arguments::kitchen)?;
    let how = How {
        said: Said { maps: given.map.clone(), skips: given.skip.clone(), has_place: given.at.is_some() },
        order: given.dates,
        decimal: given.decimal,
        at: given.at.clone(),
        kitchen,
        allow_duplicates: given.allow_duplicates,
        ..How::plain(&name, session.day)
    };
    let list = read(&bytes, session.catalogue, &how)?;
    drop(bytes);
    if !given.dry_run {
        return register.write(|writing| enter(session, writing, given, &how, list));
    }
    // What would happen is what does happen, in a copy that nobody keeps.
    let failed = |error: std::io::Error| Problem {
        kind: Kind::Store,
        ..Problem::question(format!("no copy of the register can be made: {}", told(&error)))
    };
    let folder = tempfile::tempdir().map_err(failed)?;
    let copy = folder.path().join("dry-run.brimstock");
    register.back_up(&copy)?;
    Register::open(&copy)?.watched(session.work.clone())?.write(|writing| enter(session, writing, given, &how, list))
}

/// Checks the rows against the register, and enters them if none has a fault.
fn enter(
    session: &Session,
    writing: &Writing<'_>,
    given: &Csv,
    how: &How,
    list: List<'_>,
) -> Result<Imported, Problem> {
    let places = writing.places()?;
    if let Some(at) = &given.at {
        arguments::place(&places, at)?;
    }
    let List { rows, mut faults, settle, columns, separator } = list;
    let mut codes = Codes::of(writing)?;
    let known = known_receipts(writing, &places)?;
    let heading = |field: Field| {
        let column = columns.iter().find(|column| column.holds == Holds::Field(field));
        column.map_or(field.word(), |column| column.heading.as_str())
    };
    for row in &rows {
        check(row, &places, &codes, &known, &heading, &mut faults);
    }
    if !faults.is_empty() {
        return Err(faults.refusal(&how.name, rows.len(), &settle));
    }
    codes.reserve(rows.iter().filter_map(|row| row.code.as_deref()));
    let mut entering = Entering { session, writing, places: &places, limits: HashMap::new(), assumed: BTreeMap::new() };
    let mut stocks = Vec::with_capacity(rows.len());
    for row in writing.work().over("entering rows", rows) {
        stocks.extend(entering.row(row?, &mut codes)?);
    }
    let assumed = entering.in_order();
    let new: BTreeSet<&str> = stocks.iter().map(|stocked| stocked.stock.as_str()).collect();
    let warnings = if new.len() > LOOKED_AT {
        vec![format!("for more than {LOOKED_AT} new stocks `brimstock audit` tells what stands where it must not")]
    } else {
        audit::warnings_among(session, writing, &new)
    };
    let next = if given.dry_run {
        "the same without --dry-run enters all of it".to_owned()
    } else {
        "write each code on its container; `brimstock shelf` lists them".to_owned()
    };
    Ok(Imported {
        file: PathBuf::from(&how.name),
        dry_run: given.dry_run,
        day: session.day,
        separator: separator.word(),
        columns,
        stocks,
        assumed,
        warnings,
        next,
    })
}

/// What only the register can tell of a row.
fn check<'c>(
    row: &Row<'_>,
    places: &[Place],
    codes: &Codes,
    known: &HashMap<String, String>,
    heading: &impl Fn(Field) -> &'c str,
    faults: &mut Faults,
) {
    let mut blame = |column: &str, value: &str, problem: String, accepted: String| {
        faults.push(RowFault { row: row.line, column: column.to_owned(), value: value.to_owned(), problem, accepted });
    };
    if let Some(name) = &row.place
        && let Err(problem) = arguments::place(places, name)
    {
        let (problem, accepted) = said(&problem);
        blame(heading(Field::Place), name, problem, accepted);
    }
    if let Some(code) = &row.code
        && codes.taken.contains(&code.to_lowercase())
    {
        let problem = "the register has a stock with this code".to_owned();
        blame(heading(Field::Code), code, problem, "another code, or none: the next free one is taken".to_owned());
    }
    if let Some(arrival) = &row.arrival
        && let Some(code) = known.get(&of_receipt(&arrival.receipt))
    {
        let problem =
            format!("`{code}` in the register is the same reagent, strength and amount, come on the same day");
        let accepted =
            "what the register does not have yet; if it is another container, enter it with `brimstock receive`";
        blame("(whole row)", "", problem, accepted.to_owned());
    }
}

/// What tells a receipt from others: reagent, label, amount and day.
fn of_received(reagent: &str, day: NaiveDate, label: &Labelled, amount: f64, unit: &str) -> String {
    format!("{reagent}|{day}|{:.5e} {}|{amount:.5e} {unit}", label.value, label.unit)
}

fn of_receipt(receipt: &Receipt<'_>) -> String {
    of_received(&receipt.reagent.key, receipt.day, &receipt.label, receipt.amount, receipt.unit)
}

/// Every receipt of the register with the code of its stock, as it was entered first and as it was corrected.
fn known_receipts(writing: &Writing<'_>, places: &[Place]) -> Result<HashMap<String, String>, Problem> {
    let mut known = HashMap::new();
    writing.each_stock(places, |stock, entries| {
        let mut note = |day: NaiveDate, received: &Received| {
            if received.poured_from.is_none() {
                let Received { label, amount, unit, .. } = received;
                known.insert(of_received(&stock.reagent, day, label, *amount, unit), stock.code.clone());
            }
        };
        for entry in &entries {
            match &entry.what {
                What::Event(Event::Received(received)) => note(entry.day, received),
                What::Correction { instead: Some((day, Event::Received(received))), .. } => note(*day, received),
                _ => {}
            }
        }
        Ok::<(), Problem>(())
    })?;
    Ok(known)
}

/// The codes of the register, and the next ones.
struct Codes {
    /// In small letters.
    taken: BTreeSet<String>,
    /// The highest number behind each beginning.
    highest: HashMap<String, u64>,
}

impl Codes {
    fn of(writing: &Writing<'_>) -> Result<Codes, Problem> {
        let mut codes = Codes { taken: BTreeSet::new(), highest: HashMap::new() };
        let stocks = writing.stocks()?;
        codes.reserve(stocks.iter().map(|stock| stock.code.as_str()));
        Ok(codes)
    }

    fn reserve<'c>(&mut self, codes: impl Iterator<Item = &'c str>) {
        for code in codes {
            let code = code.to_lowercase();
            if let Some((beginning, number)) = code.rsplit_once('-')
                && let Ok(number) = number.parse::<u64>()
            {
                let highest = self.highest.entry(beginning.to_owned()).or_default();
                *highest = number.max(*highest);
            }
            self.taken.insert(code);
        }
    }

    /// The next free code with a beginning, as `receive` counts.
    fn next(&mut self, beginning: &str) -> String {
        let highest = self.highest.entry(beginning.to_lowercase()).or_default();
        *highest += 1;
        format!("{beginning}-{highest}")
    }
}

/// Rows on their way into the register.
struct Entering<'e> {
    session: &'e Session,
    writing: &'e Writing<'e>,
    places: &'e [Place],
    /// What the local rules say of a label.
    limits: HashMap<String, Option<String>>,
    assumed: BTreeMap<String, Vec<u64>>,
}

impl Entering<'_> {
    /// Enters one row: the receipt, then what the list tells besides, each as a line of the journal.
    fn row(&mut self, row: Row<'_>, codes: &mut Codes) -> Result<Option<Stocked>, Problem> {
        // A row without either has a fault, and nothing is entered then.
        let (Some(arrival), Some(place)) = (row.arrival, row.place) else { return Ok(None) };
        let place = arguments::place(self.places, &place)?;
        let Arrival { receipt, opened, left, kept_in, hold, note, written } = arrival;
        let Receipt { reagent, label, .. } = &receipt;
        let code = row.code.unwrap_or_else(|| codes.next(&reagent.code));
        let limit = self
            .limits
            .entry(format!("{}|{} {}", reagent.key, label.value, label.unit))
            .or_insert_with(|| local::warning(self.session, reagent, receipt.strength()))
            .clone();
        for what in receipt.assumed.iter().cloned().chain(receipt.assumed_at(place)?).chain(limit) {
            self.assumed.entry(what).or_default().push(row.line);
        }
        let standing = Standing { place, code: &code, kept_in, hold: hold.clone(), overruled: None, written };
        let (stock, first) = receipt.enter(self.session, self.writing, self.places, &standing)?;
        let mut entries = vec![first];
        let today = self.session.day;
        let condition = match opened {
            Some(_) => receipt.condition.max(Condition::Opened),
            None => receipt.condition,
        };
        let noted = note.as_ref().map(|note| {
            let condition = if note.spoils { Condition::Dirty } else { condition };
            (today, Event::Noted { condition, what: note.words.clone() })
        });
        let opened_event = opened.map(|day| (day, Event::Opened { condition: Condition::Opened }));
        let counted = left.map(|amount| (today, Event::Counted { amount }));
        for (day, event) in opened_event.into_iter().chain(noted).chain(counted) {
            let entry = Entry {
                id: 0,
                number: entries.len() + 1,
                day,
                entered_at: self.session.entered_at.clone(),
                written: String::new(),
                what: What::Event(event),
            };
            append(self.writing, &stock, self.places, Journal::whole(entries.clone()), entry.clone())?;
            entries.push(entry);
        }
        Ok(Some(Stocked {
            row: row.line,
            stock: code.clone(),
            reagent: reagent.key.clone(),
            label: label.clone(),
            amount: receipt.amount,
            unit: receipt.unit,
            left,
            place: place.name.clone(),
            condition: receipt.condition.word(),
            received: receipt.day,
            opened,
            made: receipt.made,
            hold,
            note: note.map(|note| note.words),
        }))
    }

    /// What was taken for granted, in the order of the rows.
    fn in_order(self) -> Vec<(String, Vec<u64>)> {
        let mut assumed: Vec<(String, Vec<u64>)> = self.assumed.into_iter().collect();
        assumed.sort_by_key(|(_, rows)| rows.first().copied());
        assumed
    }
}
