//! The long lists of the shipped catalogue, read one entry at a time: a question about one bottle needs few of them.

use std::sync::OnceLock;

use serde::de::DeserializeOwned;

use super::of_json;

/// A shipped entry as the build has it: its key, what it belongs to if to anything, and itself as JSON.
pub(super) type Entry = (&'static str, &'static str, &'static str);

/// The entries of a shipped list, each of which is read when it is first asked for.
#[derive(Debug)]
pub(super) struct OneByOne<T> {
    entries: &'static [Entry],
    read: Vec<OnceLock<Box<T>>>,
}

impl<T: DeserializeOwned> OneByOne<T> {
    pub(super) fn new(entries: &'static [Entry]) -> Self {
        OneByOne { entries, read: entries.iter().map(|_| OnceLock::new()).collect() }
    }

    /// The entry with this key.
    pub(super) fn get(&self, key: &str) -> Option<&T> {
        self.entries.iter().position(|(own, ..)| *own == key).map(|index| self.at(index))
    }

    /// Every entry that belongs to this one, in order.
    pub(super) fn of(&self, owner: &str) -> impl Iterator<Item = &T> {
        let belong = self.entries.iter().enumerate().filter(move |(_, (_, of, _))| *of == owner);
        belong.map(|(index, _)| self.at(index))
    }

    fn at(&self, index: usize) -> &T {
        self.read[index].get_or_init(|| Box::new(read(&self.entries[index])))
    }
}

/// Every entry with its key, in order.
pub(super) fn all<T: DeserializeOwned>(entries: &'static [Entry]) -> impl Iterator<Item = (&'static str, T)> {
    entries.iter().map(|entry| (entry.0, read(entry)))
}

fn read<T: DeserializeOwned>((key, _, json): &Entry) -> T {
    of_json((key, json)).expect("a test reads every shipped file")
}
