//! Cards: which words stand where. One grid, one scale of type, one foot for all of them.

mod bench;
mod bench_steps;
mod bench_words;
mod bottle;
mod handover;
mod label;
mod press;
mod shelf;
mod spill;
mod storage;
mod strength;
mod tiles;

use super::pdf::Page;
use super::pdf::document::Document;
use crate::catalogue::{Catalogue, Words};
use crate::commands::card::bottle::Set;
use crate::commands::card::{Body, Drawn};
use crate::commands::{Kind, Problem};
use crate::register::work::Work;
use press::Press;

/// A card as a file.
#[derive(Debug)]
pub struct Printed {
    /// The file.
    pub bytes: Vec<u8>,
    /// Its pages.
    pub pages: usize,
    /// The labels on it, if it is of labels.
    pub labels: Vec<Set>,
}

/// Lays a card out.
///
/// # Errors
/// A label too small for what it must say, a character that the fonts do not have, a sentence without a translation.
pub fn print(catalogue: &'static Catalogue, card: &Drawn, work: &Work) -> Result<Printed, Problem> {
    let words = Words::of(card.language)?;
    let press = Press::new(catalogue, words, card, work);
    let mut set = Vec::new();
    let (title, pages) = match &card.body {
        Body::Bottles { labels, tiles, folded } => {
            let made = bottle::labels(&press, labels, *tiles, *folded)?;
            set = made.labels;
            (made.title, made.pages)
        }
        Body::Storage(cards) => each(&press, cards, storage::card)?,
        Body::Spill(cards) => each(&press, cards, spill::card)?,
        Body::Bench(cards) => each(&press, cards, bench::card)?,
        Body::Handover(card) => each(&press, std::slice::from_ref(&**card), handover::card)?,
        Body::Strength(cards) => each(&press, cards, strength::card)?,
        Body::Shelf(card) => each(&press, std::slice::from_ref(&**card), shelf::card)?,
    };
    press.complete()?;
    let many = pages.len();
    let language = words.language.code();
    let document = Document { title, author: card.register.clone(), language, day: card.day, pages };
    let bytes = document.bytes().map_err(|fault| Problem {
        kind: Kind::Store,
        ..Problem::question(format!("the card cannot be made: {fault}"))
    })?;
    Ok(Printed { bytes, pages: many, labels: set })
}

/// One card after the other, each from a page of its own; the title is that of the first.
fn each<C>(
    press: &Press,
    cards: &[C],
    lay_out: impl Fn(&Press, &C) -> press::Laid,
) -> Result<(String, Vec<Page>), Problem> {
    let mut title = String::new();
    let mut pages = Vec::new();
    for card in press.work.over("laying out cards", cards) {
        let laid = lay_out(press, card?);
        pages.extend(press.pages(&laid)?);
        if title.is_empty() {
            title = laid.title;
        }
    }
    Ok((title, pages))
}
