//! Reads a thermometer's log: rows of time and temperature become days.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, NaiveDateTime};

use super::climate::LoggedDay;
use crate::units::show::plain;
use crate::units::{Span, Temperature};

/// The temperatures that a place where stocks stand can have, °C.
const STORES: std::ops::RangeInclusive<f64> = -40.0..=70.0;

/// A log that was read whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// Its days.
    pub days: BTreeMap<NaiveDate, LoggedDay>,
    /// Its readings with the time each stands for.
    pub readings: Vec<(Temperature, Span)>,
}

/// A row that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadRow {
    /// Its line in the file.
    pub line: u64,
    /// What is wrong with it.
    pub what: String,
}

/// Reads a log: comma, semicolon or tab between columns, with or without headings, times rising.
///
/// # Errors
/// Every [`BadRow`]; nothing is left out silently.
pub fn read(text: &str) -> Result<Log, Vec<BadRow>> {
    let text = text.trim_start_matches('\u{feff}');
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let delimiter = [';', '\t', ','].into_iter().find(|sign| first.contains(*sign)).unwrap_or(',');
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .from_reader(text.as_bytes());
    let mut columns = None;
    let mut bad = Vec::new();
    let mut rows: Vec<(NaiveDateTime, f64)> = Vec::new();
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                let line = line_of(text, error.position());
                bad.push(BadRow { line, what: "cannot be read as a row of columns".to_owned() });
                continue;
            }
        };
        let line = line_of(text, record.position());
        let Some(known) = &columns else {
            let (found, is_heading) = Columns::of(&record);
            match found {
                Ok(found) => {
                    if !is_heading {
                        take(&found, &record, delimiter, line, &mut rows, &mut bad);
                    }
                    columns = Some(found);
                }
                Err(what) => return Err(vec![BadRow { line, what }]),
            }
            continue;
        };
        take(known, &record, delimiter, line, &mut rows, &mut bad);
    }
    if !bad.is_empty() {
        return Err(bad);
    }
    if rows.is_empty() {
        return Err(vec![BadRow { line: 1, what: "the file holds no reading".to_owned() }]);
    }
    Ok(Log { days: by_day(&rows), readings: weighted(&rows) })
}

/// The line of a row, counted from 1, blank lines and all.
fn line_of(text: &str, position: Option<&csv::Position>) -> u64 {
    let start = position.map_or(0, |position| usize::try_from(position.byte()).unwrap_or(0)).min(text.len());
    let blank = text.as_bytes()[start..].iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
    1 + text.as_bytes()[..start + blank].iter().filter(|byte| **byte == b'\n').count() as u64
}

/// Which columns hold what.
struct Columns {
    /// How many there are.
    count: usize,
    /// The time, or its day.
    time: usize,
    /// The hour, where it stands apart.
    hour: Option<usize>,
    temperature: usize,
    fahrenheit: bool,
    /// A column that names the unit of each reading.
    unit: Option<usize>,
}

impl Columns {
    /// From the first row, and whether that row is one of headings.
    fn of(first: &csv::StringRecord) -> (Result<Columns, String>, bool) {
        let words: Vec<String> = first.iter().map(str::to_lowercase).collect();
        if first.iter().any(|field| time(field).is_ok()) {
            let plain =
                Columns { count: first.len(), time: 0, hour: None, temperature: 1, fahrenheit: false, unit: None };
            return (Ok(plain), false);
        }
        let called = |names: &[&str]| words.iter().position(|word| names.iter().any(|name| word.contains(name)));
        let date = called(&["date", "day"]);
        let hour = words.iter().position(|word| word.contains("time") && !word.contains("date"));
        let (time, hour) = match (date, hour) {
            (Some(date), hour) => (date, hour),
            (None, Some(time)) => (time, None),
            (None, None) => {
                let what = format!(
                    "no column of times: the first row reads `{}`; accepted: headings with `time` and `temperature`, or \
                     rows such as `2031-03-01 12:00,19.5`",
                    first.iter().collect::<Vec<_>>().join(" | ")
                );
                return (Err(what), true);
            }
        };
        match temperature_column(&words) {
            Ok((temperature, fahrenheit)) => {
                let unit = words.iter().position(|word| word.contains("unit"));
                (Ok(Columns { count: first.len(), time, hour, temperature, fahrenheit, unit }), true)
            }
            Err(what) => (Err(what), true),
        }
    }
}

/// The column of temperatures by its heading, and whether they are in °F. Highest and lowest of an interval are no readings.
fn temperature_column(words: &[String]) -> Result<(usize, bool), String> {
    let called = |word: &str| {
        ["temp", "°c", "celsius", "°f", "fahr"].iter().any(|name| word.contains(name))
            || matches!(word, "c" | "f" | "t")
    };
    let extreme = |word: &str| ["min", "max", "low", "high", "dew"].iter().any(|name| word.contains(name));
    let found: Vec<usize> =
        (0..words.len()).filter(|index| called(&words[*index]) && !extreme(&words[*index])).collect();
    match found[..] {
        [column] => {
            let word = &words[column];
            let last = word.split(|c: char| !c.is_alphanumeric()).rfind(|part| !part.is_empty());
            Ok((column, word.contains("°f") || word.contains("fahr") || last == Some("f")))
        }
        [] => Err("no column of temperatures: call it `temperature`, in °C".to_owned()),
        _ => Err("several columns could be the temperature; leave one, called `temperature`".to_owned()),
    }
}

fn take(
    columns: &Columns,
    record: &csv::StringRecord,
    delimiter: char,
    line: u64,
    rows: &mut Vec<(NaiveDateTime, f64)>,
    bad: &mut Vec<BadRow>,
) {
    let mut wrong = |what: String| bad.push(BadRow { line, what });
    if record.iter().all(str::is_empty) {
        return;
    }
    if record.iter().skip(columns.count).any(|field| !field.is_empty()) {
        let (found, wanted) = (record.len(), columns.count);
        return wrong(format!(
            "{found} columns where there are {wanted}: a decimal comma? write 19.5, or separate by ;"
        ));
    }
    let field = |index: usize| record.get(index).unwrap_or_default();
    let at = match columns.hour {
        Some(hour) => format!("{} {}", field(columns.time), field(hour)),
        None => field(columns.time).to_owned(),
    };
    let at = match time(&at) {
        Ok(at) => at,
        Err(what) => return wrong(what),
    };
    let unit = columns.unit.map(field).and_then(|unit| unit.trim_start_matches('°').chars().next());
    let celsius = match degrees(field(columns.temperature), delimiter) {
        Some((value, None)) if matches!(unit, Some('F' | 'f')) => (value - 32.0) / 1.8,
        Some((value, fahrenheit)) if fahrenheit.unwrap_or(columns.fahrenheit) => (value - 32.0) / 1.8,
        Some((value, _)) => value,
        None => {
            return wrong(format!("`{}` is no temperature; accepted: a number in °C", field(columns.temperature)));
        }
    };
    if !STORES.contains(&celsius) {
        let (low, high) = (STORES.start(), STORES.end());
        return wrong(format!("{} °C is no temperature of a store; accepted: {low} to {high} °C", plain(celsius)));
    }
    match rows.last() {
        Some((before, _)) if *before == at => {
            wrong(format!("{at} stands twice (a clock that was put back? log in standard time)"))
        }
        Some((before, _)) if *before > at => wrong(format!(
            "{at} comes after {before}: the times must rise (a clock that was put back? log in standard time)"
        )),
        _ => rows.push((at, celsius)),
    }
}

/// A temperature, and whether it says that it is in °F.
fn degrees(field: &str, delimiter: char) -> Option<(f64, Option<bool>)> {
    let unit = field.chars().last().filter(char::is_ascii_alphabetic);
    let fahrenheit = match unit {
        Some('C' | 'c') => Some(false),
        Some('F' | 'f') => Some(true),
        Some(_) => return None,
        None => None,
    };
    let number = field.trim_end_matches(|c: char| c.is_ascii_alphabetic()).trim_end().trim_end_matches('°').trim_end();
    let number = if delimiter == ',' { number.to_owned() } else { number.replace(',', ".") };
    number.parse().ok().filter(|value: &f64| value.is_finite()).map(|value| (value, fahrenheit))
}

fn time(field: &str) -> Result<NaiveDateTime, String> {
    let field = field.trim();
    if let Ok(at) = DateTime::parse_from_rfc3339(field) {
        return Ok(at.naive_local());
    }
    let shapes = ["%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y/%m/%d %H:%M"];
    if let Some(at) = shapes.iter().find_map(|shape| NaiveDateTime::parse_from_str(field, shape).ok()) {
        return Ok(at);
    }
    let day = NaiveDate::parse_from_str(field, "%Y-%m-%d").ok().and_then(|day| day.and_hms_opt(12, 0, 0));
    day.ok_or_else(|| format!("`{field}` is no time that can be told; accepted: 2031-03-01 12:00 (year, month, day)"))
}

fn by_day(rows: &[(NaiveDateTime, f64)]) -> BTreeMap<NaiveDate, LoggedDay> {
    let mut days: BTreeMap<NaiveDate, Vec<f64>> = BTreeMap::new();
    for (at, celsius) in rows {
        days.entry(at.date()).or_default().push(*celsius);
    }
    let digest = |readings: Vec<f64>| {
        let count = readings.len() as f64;
        let low_c = readings.iter().copied().fold(f64::INFINITY, f64::min);
        let high_c = readings.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mean_c = (readings.iter().sum::<f64>() / count).clamp(low_c, high_c);
        let square: f64 = readings.iter().map(|value| (value - mean_c) * (value - mean_c)).sum();
        let readings = u32::try_from(readings.len()).unwrap_or(u32::MAX);
        LoggedDay { readings, mean_c, sd_c: libm::sqrt(square / count), low_c, high_c }
    };
    days.into_iter().map(|(day, readings)| (day, digest(readings))).collect()
}

/// Each reading stands until the next one, a day at most; the last as long as the one before it.
fn weighted(rows: &[(NaiveDateTime, f64)]) -> Vec<(Temperature, Span)> {
    let between: Vec<f64> =
        rows.windows(2).map(|pair| ((pair[1].0 - pair[0].0).num_seconds() as f64 / 86_400.0).min(1.0)).collect();
    let last = between.last().copied().unwrap_or(1.0);
    rows.iter()
        .zip(between.into_iter().chain([last]))
        .map(|((_, celsius), days)| (Temperature::celsius(*celsius), Span::days(days)))
        .collect()
}
