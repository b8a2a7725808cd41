//! Any answer, sent to its family; the demo is a row of them.

use super::{
    about, assay, audit, bathe, card, classify, convert, dip_book, dip_own, dip_read, discard, dose, due, entry,
    exchange, local, measure, quench, ready, reagents, sds, shelf, signatures, strength, verify,
};
use crate::cli::Answer;
use crate::cli::demo::Played;
use crate::commands::assay::Answered;
use crate::render::Style;
use crate::render::table::sentence;

/// The answer as text, ending in a line break.
#[must_use]
pub fn answer(style: &Style, answer: &Answer) -> String {
    match answer {
        Answer::Done(done) => entry::done(style, done),
        Answer::Places(places) => entry::places(style, places),
        Answer::Measures(measures) => measure::measures(style, measures),
        Answer::Entered(entered) => entry::entered(style, entered),
        Answer::Shelved(shelved) => shelf::shelved(style, shelved),
        Answer::Shown(shown) => shelf::shown(style, shown),
        Answer::Sheets(sheets) => sds::sheets(style, sheets),
        Answer::Checked(checked) => strength::checked(style, checked),
        Answer::Assay(Answered::Plan(plan)) => assay::plan(style, plan),
        Answer::Assay(Answered::Assayed(assayed)) => assay::assayed(style, assayed),
        Answer::Book(book) => dip_book::book(style, book),
        Answer::Recipe(recipe) => dip_read::recipe(style, recipe),
        Answer::Kept(kept) => dip_own::kept(style, kept),
        Answer::Readers(readers) => signatures::readers(style, readers),
        Answer::Dosed(dosed) => dose::dosed(style, dosed),
        Answer::Readiness(readiness) => ready::readiness(style, readiness),
        Answer::Quenched(quenched) => quench::quenched(style, quenched),
        Answer::Bathed(bathed) => bathe::bathed(style, bathed),
        Answer::Audited(audited) => audit::audited(style, audited),
        Answer::Due(due) => due::due(style, due),
        Answer::Judged(judged) => classify::judged(style, judged),
        Answer::Drawn(drawn) => card::drawn(style, drawn),
        Answer::Discarded(discarded) => discard::discarded(style, discarded),
        Answer::OnRecord(record) => local::on_record(style, record),
        Answer::Filled(filled) => local::filled(style, filled),
        Answer::Converted(converted) => convert::converted(style, converted),
        Answer::Reagents(known) => reagents::reagents(style, known),
        Answer::Verified(verified) => verify::verified(style, verified),
        Answer::Export(outcome) => exchange::exported(style, outcome),
        Answer::Imported(imported) => exchange::imported(style, imported),
        Answer::Itself(itself) => about::itself(style, itself),
        Answer::Played(played) => self::played(style, played),
        Answer::Script(script) => script.clone(),
    }
}

/// The demo: each question as it is typed, and its answer.
fn played(style: &Style, played: &Played) -> String {
    let mut text = sentence(
        style,
        "",
        "Marrowmere Glasshouse, quarantine bench 3: a fictional shelf in the year 2031, played into a throw-away register.",
    );
    for scene in &played.scenes {
        text.push('\n');
        text.push_str(&sentence(style, "", &scene.heading));
        text.push_str(&format!("$ {}\n", scene.command));
        text.push_str(&answer(style, &scene.answer));
    }
    text.push('\n');
    if let Some(path) = &played.kept {
        text.push_str(&format!("The register is kept at {}.\n", path.display()));
    }
    text.push_str(&sentence(style, "next: ", &played.next));
    text
}
