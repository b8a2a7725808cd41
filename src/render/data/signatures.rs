//! The fields of `dips sign` and `dips signed`.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::signatures::Readers;

/// The signatures, and who must read again.
pub(super) fn readers(readers: &Readers) -> String {
    line(&ReadersData {
        format: FORMAT,
        on: readers.on.to_string(),
        done: readers.said.as_deref(),
        signatures: readers
            .lines
            .iter()
            .map(|line| SignatureData {
                dip: &line.signature.dip,
                who: &line.signature.who,
                version: line.signature.version,
                read_on: line.signature.day.to_string(),
                in_force: line.in_force,
                must_read_again: line.again,
            })
            .collect(),
    })
}

#[derive(Serialize)]
struct ReadersData<'a> {
    format: u32,
    on: String,
    done: Option<&'a str>,
    signatures: Vec<SignatureData<'a>>,
}

#[derive(Serialize)]
struct SignatureData<'a> {
    dip: &'a str,
    who: &'a str,
    version: u32,
    read_on: String,
    in_force: u32,
    must_read_again: bool,
}
