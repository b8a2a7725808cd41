//! Any answer, sent to its family; the demo is a row of them, and a script is itself.

use serde::Serialize;

use super::{
    FORMAT, Writer, about, assay, audit, bathe, card, classify, convert, dip_book, dip_own, dip_read, discard, dose,
    due, entry, exchange, line, local, measure, quench, ready, reagents, sds, shelf, signatures, strength, verify,
};
use crate::catalogue::Catalogue;
use crate::cli::Answer;
use crate::cli::demo::Played;
use crate::commands::Problem;
use crate::commands::assay::Answered;

/// The answer as one object on one line.
///
/// # Errors
/// For an answer with a number that is none: not a thing of the question, but a fault of this program, and no answer.
pub fn answer(answer: &Answer, why: bool, catalogue: &Catalogue) -> Result<String, Problem> {
    let text = written(&Writer { why, catalogue }, answer);
    if text.is_empty() {
        return Err(Problem::data("this answer would hold a number that is none")
            .because("that is a fault of this program; a wrong number would be worse than none")
            .hint(
                "what was entered stays; ask for less of it at once, and see with --why which step is out of range",
            ));
    }
    Ok(text)
}

/// Sends the answer to its family.
fn written(writer: &Writer<'_>, answer: &Answer) -> String {
    match answer {
        Answer::Done(done) => entry::done(done),
        Answer::Places(places) => entry::places(places),
        Answer::Measures(measures) => measure::measures(measures),
        Answer::Entered(entered) => entry::entered(entered),
        Answer::Shelved(shelved) => shelf::shelved(shelved),
        Answer::Shown(shown) => shelf::shown(writer, shown),
        Answer::Sheets(sheets) => sds::sheets(sheets),
        Answer::Checked(checked) => strength::checked(writer, checked),
        Answer::Assay(Answered::Plan(plan)) => assay::plan(plan),
        Answer::Assay(Answered::Assayed(assayed)) => assay::assayed(writer, assayed),
        Answer::Book(book) => dip_book::book(writer, book),
        Answer::Recipe(recipe) => dip_read::recipe(writer, recipe),
        Answer::Kept(kept) => dip_own::kept(writer, kept),
        Answer::Readers(readers) => signatures::readers(readers),
        Answer::Dosed(dosed) => dose::dosed(writer, dosed),
        Answer::Readiness(readiness) => ready::readiness(writer, readiness),
        Answer::Quenched(quenched) => quench::quenched(writer, quenched),
        Answer::Bathed(bathed) => bathe::bathed(bathed),
        Answer::Audited(audited) => audit::audited(audited),
        Answer::Due(due) => due::due(due),
        Answer::Judged(judged) => classify::judged(writer, judged),
        Answer::Drawn(drawn) => card::drawn(drawn),
        Answer::Discarded(discarded) => discard::discarded(writer, discarded),
        Answer::OnRecord(record) => local::on_record(writer, record),
        Answer::Filled(filled) => local::filled(filled),
        Answer::Converted(converted) => convert::converted(writer, converted),
        Answer::Reagents(known) => reagents::reagents(writer, known),
        Answer::Verified(verified) => verify::verified(verified),
        Answer::Export(outcome) => exchange::exported(outcome),
        Answer::Imported(imported) => exchange::imported(imported),
        Answer::Itself(itself) => about::itself(itself),
        Answer::Played(played) => self::played(writer, played),
        Answer::Script(script) => line(&ScriptData { format: FORMAT, script }),
    }
}

#[derive(Serialize)]
struct PlayedData<'a> {
    format: u32,
    scenes: Vec<SceneData<'a>>,
    next_step: &'a str,
}

#[derive(Serialize)]
struct SceneData<'a> {
    heading: &'a str,
    command: &'a str,
    answer: serde_json::Value,
}

#[derive(Serialize)]
struct ScriptData<'a> {
    format: u32,
    script: &'a str,
}

/// The demo: each question as it is typed, and its answer.
fn played(writer: &Writer, played: &Played) -> String {
    let scenes: Option<Vec<SceneData<'_>>> = played
        .scenes
        .iter()
        .map(|scene| {
            // Each answer is an object of its own kind: it is put in as it would have been printed.
            let answer = serde_json::from_str(&written(writer, &scene.answer)).ok()?;
            Some(SceneData { heading: &scene.heading, command: &scene.command, answer })
        })
        .collect();
    let Some(scenes) = scenes else { return String::new() };
    line(&PlayedData { format: FORMAT, scenes, next_step: &played.next })
}
