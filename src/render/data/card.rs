//! A card that was printed.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::card::Drawn;

#[derive(Serialize)]
struct CardData<'a> {
    format: u32,
    card: &'a str,
    file: String,
    pages: usize,
    language: &'a str,
    on: String,
}

/// Which file it went to.
pub(super) fn drawn(card: &Drawn) -> String {
    line(&CardData {
        format: FORMAT,
        card: card.kind.word(),
        file: card.out.display().to_string(),
        pages: card.pages,
        language: card.language.code(),
        on: card.day.to_string(),
    })
}
