//! Reads a value of TOML into its shape, and says where it stood when it could not go on.

use serde::de::DeserializeOwned;
use serde_path_to_error::Segment;
use toml::Value;

/// A step to a value: a key of a table, or a row of a list.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    Key(String),
    Row(usize),
}

pub(super) type Path = Vec<Step>;

/// Why a value has not the shape that is wanted, and where that was seen.
pub(super) struct Stop {
    /// The value or the key that was being read, a table itself where one of its keys is missing.
    pub(super) path: Path,
    pub(super) complaint: String,
}

/// Reads a value once, up to its first fault. The words are those of `Value::try_into`.
pub(super) fn read<T: DeserializeOwned>(value: &Value) -> Result<T, Stop> {
    serde_path_to_error::deserialize(value.clone()).map_err(|error| Stop {
        path: error.path().iter().filter_map(step).collect(),
        complaint: error.inner().message().trim().replace('\n', " "),
    })
}

fn step(segment: &Segment) -> Option<Step> {
    match segment {
        Segment::Seq { index } => Some(Step::Row(*index)),
        Segment::Map { key } => Some(Step::Key(key.clone())),
        // A variant stands in no file by itself.
        Segment::Enum { .. } | Segment::Unknown => None,
    }
}
