//! What the columns of a list are: by their headings, by what the keeper says of them, and with the unit that stands there.

use super::cell::{Of, is_percent};
use crate::commands::RowFault;
use crate::units::date::Order;
use crate::units::measure::{Kitchen, MassUnit, VolumeUnit};
use crate::units::strength::StrengthUnit;

/// What a column can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// The reagent.
    Reagent,
    /// What its label says.
    Strength,
    /// How much came.
    Amount,
    /// How much is left.
    Left,
    /// Where it stands.
    Place,
    /// The day it came.
    Received,
    /// The day its seal was broken.
    Opened,
    /// The day it was made, or `unknown`.
    Made,
    /// The condition in which it came.
    Condition,
    /// What it is kept in.
    Container,
    /// How its cap closes.
    Cap,
    /// Why it may not be used.
    Hold,
    /// What was noticed on it.
    Note,
    /// The code on it.
    Code,
}

/// Every field: its name first, then what else a heading may call it; compared without capitals, signs and a plural's `s`.
///
/// Source: `judgement`, words that keepers use in such lists.
const FIELDS: [(Field, &[&str]); 14] = [
    (
        Field::Reagent,
        &["reagent", "chemical", "what", "substance", "product", "item", "name", "chemical name", "formula"],
    ),
    (
        Field::Strength,
        &["strength", "concentration", "label strength", "conc", "purity", "content", "label", "label says", "grade"],
    ),
    (
        Field::Amount,
        &[
            "amount",
            "quantity",
            "qty",
            "size",
            "volume",
            "weight",
            "mass",
            "pack size",
            "bottle size",
            "how much",
            "net",
            "amount received",
        ],
    ),
    (Field::Left, &["left", "remaining", "amount left", "quantity left", "rest", "still there", "how much left"]),
    (
        Field::Place,
        &["place", "where", "shelf", "location", "stored", "stored at", "stored in", "stands at", "storage"],
    ),
    (
        Field::Received,
        &[
            "received",
            "bought",
            "came",
            "date",
            "day",
            "date received",
            "received on",
            "date bought",
            "bought on",
            "purchased",
            "purchase date",
            "delivered",
            "arrived",
            "since",
        ],
    ),
    (Field::Opened, &["opened", "opened on", "date opened", "open since", "first opened", "day opened"]),
    (
        Field::Made,
        &[
            "made",
            "manufactured",
            "made on",
            "date made",
            "produced",
            "production date",
            "manufacture date",
            "date of manufacture",
        ],
    ),
    (Field::Condition, &["condition", "state", "came as"]),
    (Field::Container, &["container", "kept in", "bottle", "vessel", "packaging"]),
    (Field::Cap, &["cap", "closure", "lid"]),
    (Field::Hold, &["hold", "held", "held because", "do not use", "why held"]),
    (Field::Note, &["note", "remark", "comment", "noticed"]),
    (Field::Code, &["code", "stock", "stock code", "our code", "mark"]),
];

/// How near a heading must be to a known one to be named in a refusal. Source: `judgement`.
const NEAR: f64 = 0.7;

impl Field {
    /// Its name.
    #[must_use]
    pub fn word(self) -> &'static str {
        self.names()[0]
    }

    /// The field that a word names.
    #[must_use]
    pub fn called(word: &str) -> Option<Field> {
        let word = plain(word);
        FIELDS.iter().find(|(_, names)| names.iter().any(|name| plain(name) == word)).map(|(field, _)| *field)
    }

    /// The names of every field.
    #[must_use]
    pub fn words() -> String {
        let words: Vec<&str> = FIELDS.iter().map(|(field, _)| field.word()).collect();
        words.join(", ")
    }

    fn names(self) -> &'static [&'static str] {
        FIELDS.iter().find(|(field, _)| *field == self).map_or(&[""], |(_, names)| names)
    }

    fn is_day(self) -> bool {
        matches!(self, Field::Received | Field::Opened | Field::Made)
    }

    fn counted(self) -> Option<Of> {
        match self {
            Field::Strength => Some(Of::Strength),
            Field::Amount | Field::Left => Some(Of::Amount),
            _ => None,
        }
    }
}

/// A unit that stands in a heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit {
    /// As it stands there.
    pub text: String,
    /// What it counts.
    pub of: Of,
}

/// A column of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub heading: String,
    /// What it holds.
    pub holds: Holds,
    /// The unit of its cells, where the heading tells one.
    pub unit: Option<Unit>,
    /// The order of its days, where the heading tells one.
    pub order: Option<Order>,
}

/// What is done with a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// It is read.
    Field(Field),
    /// The keeper leaves it out.
    Skipped,
    /// It has no heading, and may only hold empty cells.
    Nothing,
}

/// What the keeper says of the columns.
#[derive(Debug, Clone, Default)]
pub struct Said {
    /// A heading and what stands under it.
    pub maps: Vec<(String, Field)>,
    /// Headings that are left out.
    pub skips: Vec<String>,
    /// A place is told for the rows without one.
    pub has_place: bool,
}

/// What each column is.
///
/// # Errors
/// Every heading that is not known, or stands for what another one does; what the keeper says of headings that are not there;
/// what no column holds and must.
pub fn columns(
    headings: &[String],
    line: u64,
    said: &Said,
    kitchen: Option<Kitchen>,
) -> Result<Vec<Column>, Vec<RowFault>> {
    let mut faults = Vec::new();
    let mut fault = |column: &str, problem: String, accepted: String| {
        let (column, value) = (column.to_owned(), column.to_owned());
        faults.push(RowFault { row: line, column, value, problem, accepted });
    };
    let is = |heading: &str, name: &str| {
        heading.trim() == name.trim() || (!plain(name).is_empty() && plain(heading) == plain(name))
    };
    let there =
        || headings.iter().filter(|heading| !heading.is_empty()).map(String::as_str).collect::<Vec<_>>().join(", ");
    for (name, option) in
        said.maps.iter().map(|(name, _)| (name, "--map")).chain(said.skips.iter().map(|name| (name, "--skip")))
    {
        match headings.iter().filter(|heading| is(heading, name)).count() {
            1 => {}
            0 => fault(
                name,
                format!("{option} names it, and no heading is called so"),
                format!("the headings: {}", there()),
            ),
            _ => fault(
                name,
                format!("{option} names it, and several headings are called so"),
                "one heading each".to_owned(),
            ),
        }
        if option == "--map" && said.skips.iter().any(|skip| is(skip, name)) {
            fault(name, "both --map and --skip name it".to_owned(), "one of the two".to_owned());
        }
    }
    let mut columns: Vec<Column> = Vec::with_capacity(headings.len());
    for heading in headings {
        let mapped: Vec<Field> =
            said.maps.iter().filter(|(name, _)| is(heading, name)).map(|(_, field)| *field).collect();
        let skipped = said.skips.iter().any(|name| is(heading, name));
        let mut column = Column { heading: heading.clone(), holds: Holds::Nothing, unit: None, order: None };
        match (&mapped[..], skipped) {
            ([], true) => column.holds = Holds::Skipped,
            ([], false) if heading.is_empty() => {}
            ([], false) => match told(heading, kitchen) {
                Ok((field, extra)) => extra.put(&mut column, field),
                Err((field, problem, accepted)) => {
                    column.holds = field.map_or(Holds::Nothing, Holds::Field);
                    fault(heading, problem, accepted);
                }
            },
            ([field, ..], _) => {
                if mapped.iter().any(|other| other != field) {
                    fault(
                        heading,
                        "--map names it twice, for different things".to_owned(),
                        "one --map each".to_owned(),
                    );
                }
                mapped_extra(heading, *field, kitchen).put(&mut column, *field);
            }
        }
        if let Holds::Field(field) = column.holds
            && let Some(other) = columns.iter().find(|other| other.holds == column.holds)
        {
            fault(
                heading,
                format!("`{}` tells the {} already", other.heading, field.word()),
                format!(
                    "one column for each thing; --skip \"{heading}\" leaves it out, --map \"{heading}=FIELD\" says what else it is"
                ),
            );
        }
        columns.push(column);
    }
    let has = |field: Field| columns.iter().any(|column| column.holds == Holds::Field(field));
    for field in [Field::Reagent, Field::Amount, Field::Place, Field::Received] {
        let is_told = match field {
            Field::Amount => has(Field::Amount) || has(Field::Left),
            Field::Place => has(Field::Place) || said.has_place,
            _ => has(field),
        };
        if !is_told {
            let at = if field == Field::Place { "; or --at PLACE for all of them" } else { "" };
            fault(
                field.word(),
                format!("no column tells the {}", meaning(field)),
                format!("a heading such as {}; or --map \"HEADER={}\"{at}", some(field), field.word()),
            );
        }
    }
    if faults.is_empty() { Ok(columns) } else { Err(faults) }
}

fn meaning(field: Field) -> &'static str {
    match field {
        Field::Received => "day it came",
        Field::Place => "place",
        Field::Amount => "amount",
        other => other.word(),
    }
}

/// A few names of a field.
fn some(field: Field) -> String {
    field.names()[..4].join(", ")
}

/// What a heading says besides what its column holds.
enum Extra {
    Nothing,
    Unit(Unit),
    Order(Order),
}

impl Extra {
    fn put(self, column: &mut Column, field: Field) {
        column.holds = Holds::Field(field);
        match self {
            Extra::Nothing => {}
            Extra::Unit(unit) => column.unit = Some(unit),
            Extra::Order(order) => column.order = Some(order),
        }
    }

    /// What a piece of a heading may be beside a field.
    fn of(field: Field, text: &str, kitchen: Option<Kitchen>) -> Option<Extra> {
        let text = text.trim().trim_start_matches(',').trim();
        let text = text.strip_prefix("in ").unwrap_or(text).trim();
        if field.is_day() {
            return Order::of_pattern(text).map(Extra::Order);
        }
        let of = field.counted()?;
        let known = match of {
            Of::Amount => MassUnit::called(text).is_some() || VolumeUnit::called(text, kitchen).is_some(),
            Of::Strength => is_percent(text) || StrengthUnit::called(text).is_some(),
        };
        known.then(|| Extra::Unit(Unit { text: text.to_owned(), of }))
    }
}

/// A heading and the piece in brackets at its end.
fn bracketed(heading: &str) -> Option<(&str, &str)> {
    let inside = heading.trim().strip_suffix([')', ']'])?;
    let at = inside.rfind(['(', '['])?;
    Some((&inside[..at], &inside[at + 1..]))
}

/// The pieces into which a heading can be cut at its blanks: `strength % w/v` is `strength` and `% w/v`.
fn cuts(heading: &str) -> impl Iterator<Item = (&str, &str)> {
    let cut = heading.char_indices().rev().filter(|(_, c)| c.is_whitespace() || matches!(c, '_' | ',' | '%'));
    cut.map(|(at, c)| (&heading[..at], &heading[at + if c == '%' { 0 } else { c.len_utf8() }..]))
}

/// What a heading of the list says by itself; else the field that it does tell, what is wrong, and what is accepted.
fn told(heading: &str, kitchen: Option<Kitchen>) -> Result<(Field, Extra), (Option<Field>, String, String)> {
    // A sign of per cent is a unit, and no part of a name.
    if let Some(field) = Field::called(heading).filter(|_| !heading.contains('%')) {
        return Ok((field, Extra::Nothing));
    }
    if let Some((stem, inside)) = bracketed(heading)
        && let Some(field) = Field::called(stem)
    {
        return Extra::of(field, inside, kitchen).map(|extra| (field, extra)).ok_or_else(|| {
            let accepted = match field {
                field if field.is_day() => "the order of the days, as dd/mm/yyyy, or nothing in brackets",
                Field::Strength => "a unit, as % w/w, % w/v, g/L, or nothing in brackets",
                Field::Amount | Field::Left => "a unit, as g, kg, mL, L, or nothing in brackets",
                _ => "nothing in brackets",
            };
            (
                Some(field),
                format!("`{}` beside the {} is not known", inside.trim(), field.word()),
                format!("{accepted}; --map \"{heading}={}\" takes it as it is", field.word()),
            )
        });
    }
    let found = cuts(heading).find_map(|(stem, rest)| {
        let field = Field::called(stem)?;
        Extra::of(field, rest, kitchen).map(|extra| (field, extra))
    });
    found.ok_or_else(|| {
        let near = nearest(heading);
        let near = if near.is_empty() { Field::words() } else { near };
        (
            None,
            "not a known heading".to_owned(),
            format!("{near}; --map \"{heading}=FIELD\" says what it is, --skip \"{heading}\" leaves it out"),
        )
    })
}

/// What a heading says besides, where the keeper has said what it is.
fn mapped_extra(heading: &str, field: Field, kitchen: Option<Kitchen>) -> Extra {
    let bracket = bracketed(heading).and_then(|(_, inside)| Extra::of(field, inside, kitchen));
    let cut = || cuts(heading).find_map(|(_, rest)| Extra::of(field, rest, kitchen));
    bracket.or_else(cut).unwrap_or(Extra::Nothing)
}

/// The known headings that are nearest to one.
fn nearest(heading: &str) -> String {
    let word = plain(heading);
    let mut near: Vec<(f64, Field, &str)> = FIELDS
        .iter()
        .filter_map(|(field, names)| {
            let likeness = names.iter().map(|name| (strsim::jaro_winkler(&word, &plain(name)), *field, *name));
            likeness.max_by(|one, other| one.0.total_cmp(&other.0))
        })
        .filter(|(likeness, ..)| *likeness > NEAR)
        .collect();
    near.sort_by(|one, other| other.0.total_cmp(&one.0));
    let words = near.iter().take(3).map(|(_, field, name)| {
        if field.word() == *name { (*name).to_owned() } else { format!("{name} (read as {})", field.word()) }
    });
    let words: Vec<String> = words.collect();
    if words.is_empty() { String::new() } else { format!("nearest: {}", words.join(", ")) }
}

/// Lower case, single blanks for signs, without a plural's `s`.
fn plain(text: &str) -> String {
    let words = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let joined = words.collect::<Vec<_>>().join(" ").to_lowercase();
    joined.strip_suffix('s').map(str::to_owned).unwrap_or(joined)
}
