//! A recipe that was read, beside the dip book.

use serde::Serialize;

use super::{FORMAT, StepData, Writer, line, six};
use crate::commands::dip_read::Recipe;
use crate::dip::told::Span;
use crate::dip::told::beside::Beside;
use crate::units::estimate::Estimate;

/// The strength with its band, what was assumed, the rows of the book, and what is to be asked.
pub(super) fn recipe<'a>(writer: &Writer<'a>, recipe: &'a Recipe) -> String {
    line(&RecipeData {
        format: FORMAT,
        read: &recipe.text,
        reagent: &recipe.reagent,
        g_per_l: recipe.g_per_l.map(BandData::of),
        grams: recipe.grams.map(BandData::of),
        g_per_l_available_chlorine: recipe.chlorine.map(BandData::of),
        minutes: recipe.minutes.map(SpanData::of),
        assumed: &recipe.assumed,
        compared: recipe.compared.iter().map(BesideData::of).collect(),
        questions: &recipe.questions,
        steps: writer.steps(&recipe.steps),
    })
}

#[derive(Serialize)]
struct RecipeData<'a> {
    format: u32,
    read: &'a str,
    reagent: &'a str,
    g_per_l: Option<BandData>,
    grams: Option<BandData>,
    #[serde(skip_serializing_if = "Option::is_none")]
    g_per_l_available_chlorine: Option<BandData>,
    minutes: Option<SpanData>,
    assumed: &'a [String],
    compared: Vec<BesideData<'a>>,
    questions: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    steps: Option<Vec<StepData<'a>>>,
}

#[derive(Serialize)]
struct BandData {
    low: f64,
    mid: f64,
    high: f64,
}

impl BandData {
    fn of(estimate: Estimate) -> Self {
        BandData { low: six(estimate.low), mid: six(estimate.mid), high: six(estimate.high) }
    }
}

#[derive(Serialize)]
struct SpanData {
    low: f64,
    high: f64,
}

impl SpanData {
    fn of(span: Span) -> Self {
        SpanData { low: six(span.low), high: six(span.high) }
    }
}

#[derive(Serialize)]
struct BesideData<'a> {
    dip: &'a str,
    grade: &'a str,
    source: &'a str,
    for_plants: bool,
    aim_g_per_l: f64,
    minutes: SpanData,
    ratio: BandData,
    words: String,
}

impl<'a> BesideData<'a> {
    fn of(row: &'a Beside) -> Self {
        BesideData {
            dip: &row.dip,
            grade: row.grade.word(),
            source: &row.source,
            for_plants: row.for_plants,
            aim_g_per_l: six(row.goal.aim.to_g_per_l()),
            minutes: SpanData::of(row.minutes),
            ratio: BandData::of(row.ratio),
            words: row.words(),
        }
    }
}
