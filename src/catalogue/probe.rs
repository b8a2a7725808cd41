//! Every fault of shape in a keeper's file, found one after the other.

use std::cell::Cell;

use serde::de::DeserializeOwned;
use toml::Value;

use super::CatalogueError;

/// A step to a value: a key of a table, or a row of a list.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    Key(String),
    Row(usize),
}

pub(super) type Path = Vec<Step>;

/// `hazard.class[2].category`.
pub(super) fn shown(path: &[Step]) -> String {
    let mut text = String::new();
    for step in path {
        match step {
            Step::Key(key) if text.is_empty() => text.push_str(key),
            Step::Key(key) => text.push_str(&format!(".{key}")),
            Step::Row(row) => text.push_str(&format!("[{}]", row + 1)),
        }
    }
    if text.is_empty() { "file".to_owned() } else { text }
}

/// The same without its rows, as the rules of values name keys.
fn named(path: &[Step]) -> String {
    let keys: Vec<&str> = path
        .iter()
        .filter_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Row(_) => None,
        })
        .collect();
    keys.join(".")
}

/// What stands in for a missing text.
const STAND_IN: &str = "stand-in";

/// More faults than this in one file are not looked for.
const MOST: usize = 400;

/// How often a file is read at most to find where its faults are: a second or so. Source: `judgement`; one fault in a
/// shipped reagent's file needs some 100.
const MOST_READINGS: usize = 3000;

/// Looks for every fault of shape. The reader of a table stops at its first fault without a word on where it is; so each
/// fault is found by what makes the reader's complaint change, mended with a stand-in, and the next one is looked for.
pub(super) struct Probe {
    /// The value as mended so far.
    pub(super) value: Value,
    /// What is wrong, and where.
    pub(super) faults: Vec<(Path, String)>,
    /// Where something was mended, the last one last, and the words that were put in.
    mended: Vec<Path>,
    words: Vec<String>,
    /// How often it was read.
    readings: Cell<usize>,
}

/// A mending of the value at a path: another value, or none.
type Edit = (Path, Option<Value>);

impl Probe {
    pub(super) fn of<T: DeserializeOwned>(value: Value) -> Probe {
        let mut probe =
            Probe { value, faults: Vec::new(), mended: Vec::new(), words: Vec::new(), readings: Cell::new(0) };
        for _ in 0..MOST {
            let Some(complaint) = complaint::<T>(&probe.value) else { break };
            if !probe.mend::<T>(&complaint) {
                let more = if probe.is_spent() { "; more may be wrong: mend what is told first" } else { "" };
                probe.faults.push((Vec::new(), format!("{complaint}{more}")));
                break;
            }
        }
        probe.faults.sort();
        probe
    }

    /// What a reader of the file as it is in `value` complains of; counted.
    fn complaint<T: DeserializeOwned>(&self, value: &Value) -> Option<String> {
        self.readings.set(self.readings.get() + 1);
        complaint::<T>(value)
    }

    /// True if it was read as often as it may be.
    fn is_spent(&self) -> bool {
        self.readings.get() >= MOST_READINGS
    }

    /// Mends what a complaint is about; false if that cannot be found.
    fn mend<T: DeserializeOwned>(&mut self, complaint: &str) -> bool {
        let quoted = complaint.split('`').nth(1).unwrap_or_default().to_owned();
        let mut paths = Vec::new();
        walk(&self.value, &mut Vec::new(), &mut paths);
        if complaint.starts_with("missing field") {
            let edits = paths
                .iter()
                .filter(|path| {
                    at(&self.value, path).and_then(Value::as_table).is_some_and(|t| !t.contains_key(&quoted))
                })
                .map(|path| (joined(path, &quoted), Some(Value::String(STAND_IN.to_owned()))))
                .collect();
            return self.settle::<T>(edits, complaint, &format!("unknown field `{quoted}`"), "is missing");
        }
        if complaint.starts_with("unknown field") {
            let edits = paths
                .into_iter()
                .filter(|path| path.last() == Some(&Step::Key(quoted.clone())))
                .map(|path| (path, None))
                .collect();
            let accepted: Vec<&str> = complaint.split('`').skip(3).step_by(2).collect();
            return self.settle::<T>(edits, complaint, "", &format!("is no key; accepted: {}", accepted.join(", ")));
        }
        let said = complaint.split("expected").next().unwrap_or_default();
        // What was put in has not the right shape yet: the complaint says what is wanted.
        let own: Vec<Edit> = self
            .mended
            .iter()
            .rev()
            .filter(|path| at(&self.value, path).is_some())
            .map(|path| (path.clone(), Some(wanted(complaint))))
            .collect();
        if (said.contains(STAND_IN) || self.words.iter().any(|word| said.contains(&format!("`{word}`"))))
            && self.settle::<T>(own, complaint, "", "")
        {
            return true;
        }
        // Another text in its place is felt only at the key that is read first of all that are wrong, or before it: the last
        // that feels it is the wrong one. Those come first that look like what is complained of.
        paths.retain(|path| matches!(path.last(), Some(Step::Key(_))));
        paths.reverse();
        paths.sort_by_key(|path| !looks_like(at(&self.value, path), said));
        let felt = |path: &Path| {
            let mut value = self.value.clone();
            put(&mut value, path, Some(Value::String("another stand-in".to_owned())));
            self.complaint::<T>(&value).as_deref() != Some(complaint)
        };
        let Some(path) = paths.into_iter().find(|path| !self.is_spent() && felt(path)) else { return false };
        self.keep(path, None, complaint);
        true
    }

    /// Mends at a path, and records it unless something at or above it is told already.
    fn keep(&mut self, path: Path, new: Option<Value>, what: &str) {
        put(&mut self.value, &path, new.clone());
        if let Some(Value::String(word)) = new {
            self.words.push(word);
        }
        if !what.is_empty() && !self.mended.iter().any(|mended| path.starts_with(mended)) {
            self.faults.push((path.clone(), what.to_owned()));
        }
        self.mended.push(path);
    }

    /// Keeps the fewest edits that change the complaint, and records them; false if none do.
    fn settle<T: DeserializeOwned>(&mut self, edits: Vec<Edit>, complaint: &str, caused: &str, what: &str) -> bool {
        let after = |held: &[&Edit]| {
            let mut value = self.value.clone();
            for (path, new) in held {
                put(&mut value, path, new.clone());
            }
            self.complaint::<T>(&value)
        };
        let is_caused =
            |new: &Option<String>| !caused.is_empty() && new.as_ref().is_some_and(|new| new.starts_with(caused));
        let moved = |new: &Option<String>| new.as_deref() != Some(complaint) && !is_caused(new);
        let mut held: Vec<&Edit> =
            edits.iter().find(|edit| !self.is_spent() && moved(&after(&[edit]))).into_iter().collect();
        if held.is_empty() {
            // The same fault stands in several places: mend one after the other.
            for edit in &edits {
                held.push(edit);
                while is_caused(&after(&held)) {
                    if self.is_spent() {
                        return false;
                    }
                    let without = |left_out: usize| -> Vec<&Edit> {
                        held.iter().enumerate().filter(|(place, _)| *place != left_out).map(|(_, edit)| *edit).collect()
                    };
                    match (0..held.len()).find(|place| !is_caused(&after(&without(*place)))) {
                        Some(place) => held = without(place),
                        None => held.truncate(held.len() - 1),
                    }
                }
                if !held.is_empty() && moved(&after(&held)) {
                    break;
                }
                if self.is_spent() {
                    return false;
                }
            }
            if held.is_empty() || !moved(&after(&held)) {
                return false;
            }
            let mut place = 0;
            while place < held.len() {
                if self.is_spent() {
                    return false;
                }
                let mut fewer = held.clone();
                fewer.remove(place);
                if !fewer.is_empty() && moved(&after(&fewer)) {
                    held = fewer;
                } else {
                    place += 1;
                }
            }
        }
        let held: Vec<Edit> = held.into_iter().cloned().collect();
        for (path, new) in held {
            self.keep(path, new, what);
        }
        true
    }

    /// True if a fault of value is only that of a stand-in, or of what has been told already.
    pub(super) fn explains(&self, fault: &CatalogueError) -> bool {
        let put_in = |word: &String| {
            fault.what.contains(&format!("`{word}`"))
                || fault.key.rsplit('.').next() == Some(word.replace('-', " ").as_str())
        };
        self.words.iter().any(put_in)
            || self.mended.iter().any(|path| {
                let whole = named(path);
                // A figure's faults are told of the figure.
                let figure = whole.strip_suffix(".value").unwrap_or(&whole);
                // An empty list that was put in is no column of a table.
                let emptied = at(&self.value, path).and_then(Value::as_array).is_some_and(Vec::is_empty);
                let parent = whole.rsplit_once('.').map_or("", |(parent, _)| parent);
                (emptied && fault.key == parent)
                    || fault.key == whole
                    || fault.key == figure
                    || fault.key.starts_with(&format!("{whole}."))
            })
    }
}

/// Why a value has not the shape that is wanted, if it has not.
fn complaint<T: DeserializeOwned>(value: &Value) -> Option<String> {
    value.clone().try_into::<T>().err().map(|error| error.message().trim().replace('\n', " "))
}

/// True if a complaint, up to what it expects, speaks of such a value.
fn looks_like(value: Option<&Value>, said: &str) -> bool {
    let bare = match value {
        Some(Value::Table(_)) => return said.contains("map"),
        Some(Value::Array(rows)) => {
            return said.contains("sequence") || rows.iter().any(|row| !row.is_table() && looks_like(Some(row), said));
        }
        Some(Value::String(text)) => text.clone(),
        Some(Value::Integer(number)) => number.to_string(),
        Some(Value::Float(number)) => number.to_string(),
        Some(Value::Boolean(told)) => told.to_string(),
        _ => return false,
    };
    said.contains(&format!("`{bare}`")) || said.contains(&format!("\"{bare}\""))
}

/// A value of the kind that a complaint asks for.
fn wanted(complaint: &str) -> Value {
    let expected = complaint.rsplit_once("expected ").map_or("", |(_, expected)| expected);
    if complaint.starts_with("unknown variant") {
        return Value::String(complaint.split('`').nth(3).unwrap_or(STAND_IN).to_owned());
    }
    match expected {
        kind if kind.contains("bool") => Value::Boolean(false),
        kind if ["sequence", "array", "tuple"].iter().any(|word| kind.contains(word)) => Value::Array(Vec::new()),
        kind if ["struct", "map", "table"].iter().any(|word| kind.contains(word)) => Value::Table(toml::Table::new()),
        kind if kind.contains("f64") || kind.contains("float") => Value::Float(1.0),
        _ => Value::Integer(1),
    }
}

fn joined(path: &[Step], key: &str) -> Path {
    path.iter().cloned().chain(std::iter::once(Step::Key(key.to_owned()))).collect()
}

/// Every path, a table before what is in it; lists are looked into where they hold tables.
fn walk(value: &Value, here: &mut Path, paths: &mut Vec<Path>) {
    paths.push(here.clone());
    let mut down = |step: Step, value: &Value| {
        here.push(step);
        walk(value, here, paths);
        here.pop();
    };
    match value {
        Value::Table(table) => table.iter().for_each(|(key, value)| down(Step::Key(key.clone()), value)),
        Value::Array(rows) => {
            rows.iter()
                .enumerate()
                .filter(|(_, row)| row.is_table())
                .for_each(|(row, value)| down(Step::Row(row), value));
        }
        _ => {}
    }
}

fn at<'v>(value: &'v Value, path: &[Step]) -> Option<&'v Value> {
    path.iter().try_fold(value, |value, step| match step {
        Step::Key(key) => value.as_table()?.get(key),
        Step::Row(row) => value.as_array()?.get(*row),
    })
}

/// Puts a value at a path whose last step is a key, or takes away what is there.
fn put(value: &mut Value, path: &[Step], new: Option<Value>) {
    let Some((Step::Key(key), parents)) = path.split_last() else { return };
    let parent = parents.iter().try_fold(value, |value, step| match step {
        Step::Key(key) => value.as_table_mut()?.get_mut(key),
        Step::Row(row) => value.as_array_mut()?.get_mut(*row),
    });
    if let Some(table) = parent.and_then(Value::as_table_mut) {
        match new {
            Some(new) => drop(table.insert(key.clone(), new)),
            None => drop(table.remove(key)),
        }
    }
}
