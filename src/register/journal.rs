//! The append-only journal: events into rows, and back.

use chrono::NaiveDate;
use rusqlite::Row;

use super::checkpoint::Journal;
use super::event::{Entry, Event, KeptIn, Labelled, Made, Received, What};
use super::place::Place;
use super::seal::Seal;
use super::stock::Stock;
use super::system::json;
use super::{StoreError, Writing};
use crate::catalogue::{Cap, Condition, Container};
use crate::units::strength::StrengthUnit;

/// The columns that depend on the kind of event.
#[derive(Default)]
struct Columns<'a> {
    place: Option<i64>,
    amount: Option<f64>,
    amount_unit: Option<&'a str>,
    strength: Option<f64>,
    strength_unit: Option<&'a str>,
    relative_sd: Option<f64>,
    condition: Option<&'static str>,
    method: Option<&'a str>,
    hold: Option<&'a str>,
    note: Option<&'a str>,
    container: Option<&'static str>,
    wall_mm: Option<f64>,
    diameter_cm: Option<f64>,
    made_on: Option<String>,
    poured_from: Option<&'a str>,
    readings: Option<String>,
    cap: Option<&'static str>,
    brim_ml: Option<f64>,
    overruled: Option<&'a str>,
    handed_to: Option<&'a str>,
}

impl<'a> Columns<'a> {
    fn of(event: &'a Event, unit: &'a str, places: &[Place]) -> Option<Columns<'a>> {
        let place_id = |name: &str| places.iter().find(|place| place.name == name).map(|place| place.id);
        let none = Columns::default();
        Some(match event {
            Event::Received(received) => Columns {
                place: Some(place_id(&received.place)?),
                amount: Some(received.amount),
                amount_unit: Some(&received.unit),
                strength: Some(received.label.value),
                strength_unit: Some(&received.label.unit),
                relative_sd: Some(received.label.relative_sd),
                condition: Some(received.condition.word()),
                hold: received.hold.as_deref(),
                container: Some(received.kept_in.container)
                    .filter(|container| *container != Container::Unknown)
                    .map(Container::word),
                wall_mm: received.kept_in.wall_mm,
                diameter_cm: received.kept_in.diameter_cm,
                made_on: match received.made {
                    Made::New => None,
                    Made::On(day) => Some(day.to_string()),
                    Made::Unknown => Some("unknown".to_owned()),
                },
                poured_from: received.poured_from.as_deref(),
                cap: received.kept_in.cap.map(Cap::word),
                brim_ml: received.kept_in.brim_ml,
                overruled: received.overruled.as_deref(),
                ..none
            },
            Event::Opened { condition } => Columns { condition: Some(condition.word()), ..none },
            Event::Moved { place, overruled } => {
                Columns { place: Some(place_id(place)?), overruled: overruled.as_deref(), ..none }
            }
            Event::Taken { amount } | Event::Counted { amount } => {
                Columns { amount: Some(*amount), amount_unit: Some(unit), ..none }
            }
            Event::Noted { condition, what } => Columns { condition: Some(condition.word()), note: Some(what), ..none },
            Event::Assayed { method, strength, raw } => Columns {
                readings: raw
                    .as_ref()
                    .map(|raw| serde_json::to_string(raw).expect("numbers and words always make JSON")),
                method: Some(method),
                strength: Some(strength.value),
                strength_unit: Some(&strength.unit),
                relative_sd: Some(strength.relative_sd),
                ..none
            },
            Event::Retired { why, handed_to } => Columns { note: Some(why), handed_to: handed_to.as_deref(), ..none },
        })
    }
}

impl Writing<'_> {
    /// Enters the last line of a stock's journal, and gives its row. `unit` is that of the stock.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn append(&self, stock: &Stock, unit: &str, mut journal: Journal, places: &[Place]) -> Result<i64, StoreError> {
        let (entry, earlier) = journal.split_last().ok_or_else(|| self.damaged("an entry without a line"))?;
        let (kind, event, corrects, happened, event_day, why) = match &entry.what {
            What::Event(event) => (event.kind(), Some(event), None, None, None, None),
            What::Correction { of, instead, why } => {
                let target = earlier.iter().find(|line| line.number == *of);
                let target =
                    target.ok_or_else(|| self.damaged(format!("a correction of line {of}, which is not there")))?;
                let (day, event) = match instead {
                    Some((day, event)) => (*day, Some(event)),
                    None => (target.day, None),
                };
                let happened = i64::from(instead.is_some());
                ("corrected", event, Some(target.id), Some(happened), Some(day.to_string()), Some(why.as_str()))
            }
        };
        let columns = match event {
            Some(event) => Columns::of(event, unit, places)
                .ok_or_else(|| self.damaged("an event names a place that is not there"))?,
            None => Columns::default(),
        };
        // A correction's reason takes the column of the reason for retiring; both cannot be wanted at once.
        let note = why.or(columns.note);
        self.insert_line(
            stock,
            "stock, kind, day, entered_at, corrects, happened, event_day, place, amount, amount_unit, strength, strength_unit, relative_sd, condition, method, hold, written, note, container, wall_mm, diameter_cm, made_on, poured_from, readings, cap, brim_ml, overruled, handed_to",
            rusqlite::params![
                stock.id,
                kind,
                entry.day.to_string(),
                entry.entered_at,
                corrects,
                happened,
                event_day,
                columns.place,
                columns.amount,
                columns.amount_unit,
                columns.strength,
                columns.strength_unit,
                columns.relative_sd,
                columns.condition,
                columns.method,
                columns.hold,
                entry.written,
                note,
                columns.container,
                columns.wall_mm,
                columns.diameter_cm,
                columns.made_on,
                columns.poured_from,
                columns.readings,
                columns.cap,
                columns.brim_ml,
                columns.overruled,
                columns.handed_to,
            ],
        )?;
        let id = self.transaction.last_insert_rowid();
        journal.is_row(id);
        self.advance(stock, &journal)?;
        Ok(id)
    }

    /// The whole journal of one stock, as entered; [`Writing::journal`] reads no more of it than a day needs.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn entries(&self, stock: &Stock, places: &[Place]) -> Result<Vec<Entry>, StoreError> {
        self.lines_after(stock, places, 0, Seal::begun(stock))
    }

    /// The lines of a stock's journal after a line, up to which it is sealed so.
    pub(super) fn lines_after(
        &self,
        stock: &Stock,
        places: &[Place],
        row: i64,
        begun: Seal,
    ) -> Result<Vec<Entry>, StoreError> {
        let mut seal = begun;
        let sql = format!("SELECT {COLUMNS} FROM event WHERE stock = ?1 AND id > ?2 ORDER BY id");
        let rows = self.all(&sql, [stock.id, row], |row| {
            seal = seal.and(row)?;
            Line::read(row)
        })?;
        self.compare_journal(stock, seal)?;
        self.decode(rows, usize::try_from(begun.rows()).unwrap_or(0), places)
    }

    /// Calls back with every stock and its whole journal, one after the other, without holding all of them.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read, or what the callback returns.
    pub fn each_stock<E: From<StoreError>>(
        &self,
        places: &[Place],
        mut look: impl FnMut(Stock, Vec<Entry>) -> Result<(), E>,
    ) -> Result<(), E> {
        for stock in self.work().over("reading journals", self.stocks()?) {
            let stock = stock?;
            let entries = self.entries(&stock, places)?;
            look(stock, entries)?;
        }
        Ok(())
    }

    /// Lines become entries; so many came before them.
    fn decode(&self, lines: Vec<Line>, before: usize, places: &[Place]) -> Result<Vec<Entry>, StoreError> {
        let mut kinds: Vec<(i64, String)> = Vec::with_capacity(lines.len());
        let mut entries = Vec::with_capacity(lines.len());
        for (index, line) in lines.into_iter().enumerate() {
            let number = before + index + 1;
            let day = self.day(&line.day)?;
            let what = match line.corrects {
                None => What::Event(self.event(&line.kind, &line, places)?),
                Some(target) => {
                    let of = kinds.iter().position(|(id, _)| *id == target);
                    let of = of.ok_or_else(|| self.damaged("a correction of a line that is not there"))?;
                    let instead = if line.happened == Some(1) {
                        let day = self.day(line.event_day.as_deref().unwrap_or_default())?;
                        Some((day, self.event(&kinds[of].1, &line, places)?))
                    } else {
                        None
                    };
                    What::Correction { of: before + of + 1, instead, why: line.note.clone().unwrap_or_default() }
                }
            };
            kinds.push((line.id, line.kind));
            entries.push(Entry { id: line.id, number, day, entered_at: line.entered_at, written: line.written, what });
        }
        Ok(entries)
    }

    fn event(&self, kind: &str, line: &Line, places: &[Place]) -> Result<Event, StoreError> {
        let missing = |column: &str| self.damaged(format!("event {} ({kind}) has no {column}", line.id));
        let amount = || line.amount.ok_or_else(|| missing("amount"));
        let place = || {
            let found = places.iter().find(|place| Some(place.id) == line.place);
            found.map(|place| place.name.clone()).ok_or_else(|| missing("place"))
        };
        let condition = || {
            let word = line.condition.as_deref().unwrap_or_default();
            Condition::ALL.into_iter().find(|condition| condition.word() == word).ok_or_else(|| missing("condition"))
        };
        let strength = || {
            let unit = line.strength_unit.clone().ok_or_else(|| missing("strength unit"))?;
            if StrengthUnit::called(&unit).is_none() {
                return Err(self.damaged(format!("event {} has the unknown unit `{unit}`", line.id)));
            }
            Ok::<_, StoreError>(Labelled {
                value: line.strength.ok_or_else(|| missing("strength"))?,
                unit,
                relative_sd: line.relative_sd.ok_or_else(|| missing("standard deviation"))?,
            })
        };
        Ok(match kind {
            "received" => Event::Received(Received {
                place: place()?,
                amount: amount()?,
                unit: line.amount_unit.clone().ok_or_else(|| missing("unit"))?,
                label: strength()?,
                condition: condition()?,
                hold: line.hold.clone(),
                kept_in: KeptIn {
                    container: match line.container.as_deref() {
                        None => Container::Unknown,
                        Some(word) => Container::called(word).ok_or_else(|| missing("container"))?,
                    },
                    wall_mm: line.wall_mm,
                    diameter_cm: line.diameter_cm,
                    brim_ml: line.brim_ml,
                    cap: match line.cap.as_deref() {
                        None => None,
                        Some(word) => Some(Cap::called(word).ok_or_else(|| missing("cap"))?),
                    },
                },
                made: match line.made_on.as_deref() {
                    None => Made::New,
                    Some("unknown") => Made::Unknown,
                    Some(day) => Made::On(self.day(day)?),
                },
                poured_from: line.poured_from.clone(),
                overruled: line.overruled.clone(),
            }),
            "opened" => Event::Opened { condition: condition()? },
            "moved" => Event::Moved { place: place()?, overruled: line.overruled.clone() },
            "taken" => Event::Taken { amount: amount()? },
            "counted" => Event::Counted { amount: amount()? },
            "assayed" => {
                let raw = line.readings.as_deref().map(serde_json::from_str).transpose();
                Event::Assayed {
                    method: line.method.clone().ok_or_else(|| missing("method"))?,
                    strength: strength()?,
                    raw: raw
                        .map_err(|error| self.damaged(format!("event {}: its readings: {}", line.id, json(&error))))?,
                }
            }
            "noted" => {
                Event::Noted { condition: condition()?, what: line.note.clone().ok_or_else(|| missing("note"))? }
            }
            "retired" => Event::Retired {
                why: line.note.clone().ok_or_else(|| missing("reason"))?,
                handed_to: line.handed_to.clone(),
            },
            other => return Err(self.damaged(format!("event {} is of an unknown kind `{other}`", line.id))),
        })
    }

    pub(super) fn day(&self, text: &str) -> Result<NaiveDate, StoreError> {
        text.parse().map_err(|_| self.damaged(format!("`{text}` is no day of the calendar")))
    }
}

/// Every column of a line, in the order in which they are read and sealed.
pub(super) const COLUMNS: &str = "id, stock, kind, day, entered_at, corrects, happened, event_day, place, amount, amount_unit, \
                                  strength, strength_unit, relative_sd, condition, method, hold, written, note, container, \
                                  wall_mm, diameter_cm, made_on, poured_from, readings, cap, brim_ml, overruled, handed_to";

/// A row as it is stored.
struct Line {
    id: i64,
    kind: String,
    day: String,
    entered_at: String,
    corrects: Option<i64>,
    happened: Option<i64>,
    event_day: Option<String>,
    place: Option<i64>,
    amount: Option<f64>,
    amount_unit: Option<String>,
    strength: Option<f64>,
    strength_unit: Option<String>,
    relative_sd: Option<f64>,
    condition: Option<String>,
    method: Option<String>,
    hold: Option<String>,
    written: String,
    note: Option<String>,
    container: Option<String>,
    wall_mm: Option<f64>,
    diameter_cm: Option<f64>,
    made_on: Option<String>,
    poured_from: Option<String>,
    readings: Option<String>,
    cap: Option<String>,
    brim_ml: Option<f64>,
    overruled: Option<String>,
    handed_to: Option<String>,
}

impl Line {
    fn read(row: &Row<'_>) -> rusqlite::Result<Line> {
        Ok(Line {
            id: row.get(0)?,
            kind: row.get(2)?,
            day: row.get(3)?,
            entered_at: row.get(4)?,
            corrects: row.get(5)?,
            happened: row.get(6)?,
            event_day: row.get(7)?,
            place: row.get(8)?,
            amount: row.get(9)?,
            amount_unit: row.get(10)?,
            strength: row.get(11)?,
            strength_unit: row.get(12)?,
            relative_sd: row.get(13)?,
            condition: row.get(14)?,
            method: row.get(15)?,
            hold: row.get(16)?,
            written: row.get::<_, Option<String>>(17)?.unwrap_or_default(),
            note: row.get(18)?,
            container: row.get(19)?,
            wall_mm: row.get(20)?,
            diameter_cm: row.get(21)?,
            made_on: row.get(22)?,
            poured_from: row.get(23)?,
            readings: row.get(24)?,
            cap: row.get(25)?,
            brim_ml: row.get(26)?,
            overruled: row.get(27)?,
            handed_to: row.get(28)?,
        })
    }
}
