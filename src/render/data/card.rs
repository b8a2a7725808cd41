//! A card that was printed.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::card::Drawn;
use crate::commands::card::bottle::Set;

#[derive(Serialize)]
struct CardData<'a> {
    format: u32,
    card: &'a str,
    file: String,
    pages: usize,
    language: &'a str,
    on: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    labels: Vec<LabelData<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    not_ready: Vec<NotReadyData<'a>>,
}

#[derive(Serialize)]
struct NotReadyData<'a> {
    dip: &'a str,
    verdict: &'a str,
}

#[derive(Serialize)]
struct LabelData<'a> {
    stock: &'a str,
    paper: String,
    left_off: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    smaller_than: Option<String>,
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
        labels: card.labels.iter().map(label).collect(),
        not_ready: card
            .not_ready()
            .into_iter()
            .map(|(dip, verdict)| NotReadyData { dip, verdict: verdict.words() })
            .collect(),
    })
}

fn label(set: &Set) -> LabelData<'_> {
    let paper = |(width, height): (f64, f64)| format!("label-{width}x{height}");
    LabelData { stock: &set.code, paper: paper(set.size), left_off: &set.left_off, smaller_than: set.least.map(paper) }
}
