//! What an archive is: one zip file with a list of its members, the tables, and what lies beside the register.
//!
//! Its members stand side by side without folders, under names from a fixed list; whatever bears another name is refused.

pub mod line;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::{Kind, Problem};

/// The number of this form of archive.
pub const FORMAT: u32 = 1;

/// What a manifest says it belongs to.
pub const WHAT: &str = "brimstock archive";

/// The member that lists the others.
pub const MANIFEST: &str = "manifest.json";

/// The keeper's local rules.
pub const LOCAL: &str = "local.toml";

/// The most members that an archive may have.
pub const MOST_MEMBERS: usize = 10_000;

/// The most bytes of the list, of the local rules, and of a reagent's file.
pub const LARGEST_TEXT: u64 = 4_000_000;

/// The most bytes of a sheet: what `sds attach` takes.
pub const LARGEST_SHEET: u64 = 50_000_000;

/// The most bytes of a table: some three million lines of journals.
pub const LARGEST_TABLE: u64 = 1_000_000_000;

/// The most bytes of all members together.
pub const LARGEST_TOTAL: u64 = 4_000_000_000;

/// The list of what an archive holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// [`WHAT`].
    pub what: String,
    /// [`FORMAT`].
    pub format: u32,
    /// Level of the register's schema.
    pub register_level: usize,
    /// The day it was made for.
    pub made_on: String,
    /// How many members it has beside the list itself.
    pub count: usize,
    /// Each of them, sorted by name.
    pub members: Vec<Listed>,
}

/// A member as the manifest lists it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Listed {
    /// Its name.
    pub name: String,
    /// How long it is.
    pub bytes: u64,
    /// SHA-256 of it, in small hexadecimal digits.
    pub sha256: String,
    /// Of a table: how many rows it has.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rows: Option<u64>,
}

/// What a member is, by its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Member {
    /// The list.
    Manifest,
    /// The local rules.
    Local,
    /// A reagent of the keeper's own: the name of its file.
    Reagent(String),
    /// A supplier's sheet: its digest.
    Sheet(String),
    /// A table: its name.
    Table(String),
}

impl Member {
    /// What a name stands for; nothing for a name that no member may have.
    #[must_use]
    pub fn named(name: &str) -> Option<Member> {
        let plain = |text: &str, more: &[u8]| {
            (1..=80).contains(&text.len())
                && text.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || more.contains(&byte))
        };
        let inner = |before: &str, after: &str| name.strip_prefix(before)?.strip_suffix(after);
        match name {
            MANIFEST => return Some(Member::Manifest),
            LOCAL => return Some(Member::Local),
            _ => {}
        }
        if let Some(key) = inner("reagent-", ".toml") {
            return plain(key, b"-_").then(|| Member::Reagent(format!("{key}.toml")));
        }
        if let Some(digest) = inner("sheet-", ".pdf") {
            return is_digest(digest).then(|| Member::Sheet(digest.to_owned()));
        }
        inner("table-", ".jsonl").filter(|table| plain(table, b"_")).map(|table| Member::Table(table.to_owned()))
    }

    /// Its name in an archive.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Member::Manifest => MANIFEST.to_owned(),
            Member::Local => LOCAL.to_owned(),
            Member::Reagent(file) => format!("reagent-{file}"),
            Member::Sheet(digest) => format!("sheet-{digest}.pdf"),
            Member::Table(table) => format!("table-{table}.jsonl"),
        }
    }

    /// The most bytes that it may have.
    #[must_use]
    pub fn largest(&self) -> u64 {
        match self {
            Member::Manifest | Member::Local | Member::Reagent(_) => LARGEST_TEXT,
            Member::Sheet(_) => LARGEST_SHEET,
            Member::Table(_) => LARGEST_TABLE,
        }
    }
}

/// True for 64 small hexadecimal digits.
#[must_use]
pub fn is_digest(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'))
}

/// Counts and digests what goes through it.
#[derive(Debug, Default)]
pub struct Measured {
    sha: Sha256,
    /// How many bytes there were.
    pub bytes: u64,
}

impl Measured {
    /// So many bytes more.
    pub fn take(&mut self, bytes: &[u8]) {
        self.sha.update(bytes);
        self.bytes += bytes.len() as u64;
    }

    /// SHA-256 of all of them, in small hexadecimal digits.
    #[must_use]
    pub fn digest(self) -> String {
        self.sha.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

/// A file that could not be read or written, or is not what it should be.
pub(super) fn unusable(what: impl Into<String>) -> Problem {
    Problem { kind: Kind::Store, ..Problem::question(what) }
}
