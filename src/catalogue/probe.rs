//! Every fault of shape in a keeper's file, found one after the other.

use serde::de::DeserializeOwned;
use toml::Value;

use super::density::OF_MODEL;
use super::trail::{self, Path, Step, Stop};
use super::{CatalogueError, complaint};

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

/// More than this is not mended in one file. Source: `judgement`.
const MOST: usize = 400;

/// A value is not mended more often than this: taken out, a stand-in for it, what the complaint about that asks for, and
/// what the complaint about that one asks for.
const MOST_AT_ONE: usize = 4;

/// Looks for every fault of shape. The reader of a table stops at its first fault, and the trail knows where: each fault is
/// mended there with a stand-in, and the file is read again for the next one.
pub(super) struct Probe {
    /// The value as mended so far.
    pub(super) value: Value,
    /// What is wrong, and where.
    pub(super) faults: Vec<(Path, String)>,
    /// Where something was mended, the last one last, and the words that were put in.
    mended: Vec<Path>,
    words: Vec<String>,
}

impl Probe {
    pub(super) fn of<T: DeserializeOwned>(value: Value) -> Probe {
        let mut probe = Probe { value, faults: Vec::new(), mended: Vec::new(), words: Vec::new() };
        while let Err(stop) = trail::read::<T>(&probe.value) {
            if !probe.mend(stop) {
                break;
            }
        }
        probe.faults.sort();
        probe
    }

    /// Mends what a complaint is about; false if that is not to be gone on with.
    fn mend(&mut self, Stop { mut path, complaint }: Stop) -> bool {
        let quoted = complaint.split('`').nth(1).unwrap_or_default();
        // The model was put in: what does not fit it is no fault of the keeper's.
        let is_caused = complaint.contains(OF_MODEL) && self.mended.contains(&joined(&path, "model"));
        let (new, what) = if complaint.starts_with("missing field") {
            path = joined(&path, quoted);
            (Some(Value::String(STAND_IN.to_owned())), "is missing".to_owned())
        } else if complaint.starts_with("unknown field") {
            // A reader stops at the key that it does not know; a model is looked at when its table was read.
            if complaint.contains(OF_MODEL) {
                path = joined(&path, quoted);
            }
            let accepted: Vec<&str> = complaint.split('`').skip(3).step_by(2).collect();
            (None, format!("is no key; accepted: {}", accepted.join(", ")))
        } else {
            // A list is mended as a whole.
            while matches!(path.last(), Some(Step::Row(_))) {
                path.pop();
            }
            // What was put in has not the right shape yet: the complaint says what is wanted.
            (self.mended.contains(&path).then(|| wanted(&complaint)), complaint::of_shape(&complaint))
        };
        let again = self.mended.iter().filter(|mended| **mended == path).count();
        if path.is_empty() || again >= MOST_AT_ONE || self.mended.len() >= MOST {
            self.faults.push((path, format!("{what}; more may be wrong: mend what is told first")));
            return false;
        }
        put(&mut self.value, &path, new.clone());
        if !is_caused && !self.mended.iter().any(|mended| path.starts_with(mended)) {
            self.faults.push((path.clone(), what));
        }
        if let Some(Value::String(word)) = new {
            self.words.push(word);
        }
        self.mended.push(path);
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
                // A list that was put in is no column of a table.
                let is_list = at(&self.value, path).is_some_and(Value::is_array);
                let parent = whole.rsplit_once('.').map_or("", |(parent, _)| parent);
                (is_list && fault.key == parent)
                    || fault.key == whole
                    || fault.key == figure
                    || fault.key.starts_with(&format!("{whole}."))
            })
    }
}

/// A value of the kind that a complaint asks for.
fn wanted(complaint: &str) -> Value {
    let expected = complaint.rsplit_once("expected ").map_or("", |(_, expected)| expected);
    if complaint.starts_with("unknown variant") {
        return Value::String(complaint.split('`').nth(3).unwrap_or(STAND_IN).to_owned());
    }
    match expected {
        kind if kind.starts_with("an array of length ") => {
            let length = kind.rsplit(' ').next().and_then(|length| length.parse().ok()).unwrap_or(0);
            Value::Array(vec![Value::Float(1.0); length])
        }
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
