//! The dip book as text.

use comfy_table::Cell;

use super::{bathe, cited, dip_own, mark, why};
use crate::catalogue::{After, Bathed, Catalogue, Contradiction, CountedAs, Dip, Figure, Grade, Minutes, Row};
use crate::commands::dip_book::Book;
use crate::dip::Goal;
use crate::dip::sequence::times;
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::step::Step;
use crate::units::{Concentration, show, time};

/// The dips, one line each, or the page of one.
pub(super) fn book(style: &Style, book: &Book) -> String {
    if let (true, [(dip, goal)]) = (book.single, &book.dips[..]) {
        let page = page(style, dip, goal, book);
        let (head, rest) = page.split_once('\n').unwrap_or((&page, ""));
        return format!("{head}\n{}{rest}", dip_own::versions(style, dip, &book.versions));
    }
    let rows = book
        .dips
        .iter()
        .map(|(dip, _)| {
            let any = |grade: Grade| dip.evidence.iter().any(|row| row.grade == grade);
            let evidence = match (any(Grade::Published), any(Grade::CommonPractice)) {
                (true, _) => "published",
                (_, true) => "practice",
                _ => Grade::Keeper.word(),
            };
            [dip.key.clone(), dip.reagent.clone(), dip.target.aim.clone(), minutes(&dip.minutes), evidence.to_owned()]
                .map(Cell::new)
                .to_vec()
        })
        .collect();
    let mut text = table(style, &["dip", "reagent", "aim", "time", "evidence"], &[2], rows);
    text.push_str("Published: somebody printed a result, good or bad; practice: told without a trial.\n");
    text.push_str("No dip here is known to clear plants of snails and their eggs; each page says what is\nnot shown: brimstock dips NAME\n");
    text
}

/// A time in the unit that reads best.
pub(in crate::render) fn minutes(minutes: &Minutes) -> String {
    time::words(minutes.low, minutes.high)
}

/// One dip with its target, evidence and cautions.
fn page(style: &Style, dip: &Dip, goal: &Goal, book: &Book) -> String {
    let mut text = format!("{}  {}\n", dip.key, dip.name);
    let mark = |source: &str| mark(style, source);
    let in_grams = |value: Concentration| show::significant(value.to_g_per_l(), 3);
    text.push_str(&sentence(
        style,
        "aim: ",
        &format!(
            "{}, between {} and {}{}",
            dip.target.aim,
            dip.target.low,
            dip.target.high,
            mark(&dip.target.band_source)
        ),
    ));
    text.push_str(&sentence(
        style,
        "     ",
        &format!("= {} g/L of {} ({}–{})", in_grams(goal.aim), dip.reagent, in_grams(goal.low), in_grams(goal.high)),
    ));
    if !book.kin.is_empty() {
        let others = book.kin.iter().map(|(key, ratio)| beside(key, *ratio)).collect::<Vec<_>>();
        text.push_str(&sentence(style, "     ", &format!("beside the other dips of it: {}", others.join(", "))));
    }
    text.push_str(&sentence(style, "time: ", &format!("{}{}", minutes(&dip.minutes), mark(&dip.minutes.source))));
    if let Some([low, high]) = dip.water_c {
        text.push_str(&format!("water: {}–{} °C\n", show::plain(low), show::plain(high)));
    }
    text.push_str(&sentence(style, "used for: ", &dip.used_for));
    text.push_str(&sentence(style, "plants: ", &dip.plants));
    let disputed: Vec<(&Contradiction, Row, Row)> = style.catalogue.contradictions(&dip.key).collect();
    let undisputed = |row: &Row| !disputed.iter().any(|(_, one, other)| row == one || row == other);
    text.push_str("plants bear:\n");
    if dip.bathed == Bathed::Gear && dip.tolerance.is_empty() {
        text.push_str(&sentence(style, "  - ", "no plants go in"));
    } else if dip.tolerance.is_empty() {
        text.push_str(&sentence(style, "  - ", "no published figure for any plant is on file, nor a telling"));
    }
    let borne: Vec<Row> = dip.tolerance.iter().map(|borne| borne.row()).collect();
    text.push_str(&rows(style, &borne, undisputed));
    text.push_str("evidence:\n");
    let told: Vec<Row> = dip.evidence.iter().map(|told| told.row()).collect();
    text.push_str(&rows(style, &told, undisputed));
    if !disputed.is_empty() {
        text.push_str("told or found both ways:\n");
    }
    for (contradiction, one, other) in &disputed {
        text.push_str(&side_by_side(style, contradiction, one, other));
    }
    text.push_str(&bathe::own(style, &book.own, book.counts_after));
    text.push_str("not shown:\n");
    for line in &dip.not_shown {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str("cautions:\n");
    for line in &dip.cautions {
        text.push_str(&sentence(style, "  - ", line));
    }
    if let Some(stop) = &dip.stop {
        let counted = match stop.counted_as {
            CountedAs::AvailableChlorine => "available chlorine",
            CountedAs::Reagent => dip.reagent.as_str(),
        };
        text.push_str(&sentence(
            style,
            "stopped with: ",
            &format!(
                "{}, {} g for 1 g of {counted} planned{}, {} g by theory",
                stop.reagent,
                show::plain(stop.planned.value),
                mark(&stop.planned.source),
                show::plain(stop.theory.value)
            ),
        ));
    }
    if !dip.steps.is_empty() {
        text.push_str(&sentence(style, "then: ", &then(style, dip)));
    }
    text.push_str(&sentence(style, "next: ", &format!("`brimstock dose {} --bath 10L`", dip.key)));
    text.push_str(&why(style, &[goal.steps.clone(), figures(style, dip)].concat()));
    text
}

/// `190 times peroxide-rinse`, `a third of peroxide-strong`, `as strong as bleach-robust`.
fn beside(key: &str, ratio: f64) -> String {
    match ratio {
        same if libm::fabs(same - 1.0) < 0.005 => format!("as strong as {key}"),
        more if more > 1.0 => format!("{} times {key}", show::significant(more, 2)),
        less => format!("1/{} of {key}", show::significant(1.0 / less, 2)),
    }
}

/// Rows that nothing contradicts, and where the others are to be found.
fn rows(style: &Style, all: &[Row], undisputed: impl Fn(&Row) -> bool) -> String {
    let (plain, disputed): (Vec<&Row>, Vec<&Row>) = all.iter().partition(|row| undisputed(row));
    let mut text: String = plain
        .iter()
        .map(|row| {
            let said = format!("[{}] {} {}", row.grade.word(), row.says, cited(style, &row.source));
            sentence(style, "  - ", &said)
        })
        .collect();
    if plain.is_empty() && !disputed.is_empty() {
        text.push_str("  - below, each beside what contradicts it\n");
    }
    text
}

/// The narrowest page on which two columns of sentences can be read.
const TWO_COLUMNS: usize = 60;

/// Two rows that do not agree: in two columns where the page is wide enough, else one below the other.
fn side_by_side(style: &Style, contradiction: &Contradiction, one: &Row, other: &Row) -> String {
    let mut text = sentence(style, "  - ", &format!("{}: {}", contradiction.about, contradiction.how));
    if style.width.is_some_and(|width| width >= TWO_COLUMNS) {
        let cell = |row: &Row| Cell::new(format!("{} {}", row.says, cited(style, &row.source)));
        let headings = [format!("[{}]", one.grade.word()), format!("[{}]", other.grade.word())];
        let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
        text.push_str(&table(style, &headings, &[0, 1], vec![vec![cell(one), cell(other)]]));
        return text;
    }
    for (beginning, row) in [("      one: ", one), ("    other: ", other)] {
        let said = format!("[{}] {} {}", row.grade.word(), row.says, cited(style, &row.source));
        text.push_str(&sentence(style, beginning, &said));
    }
    text
}

/// What follows the bath, in words.
fn then(style: &Style, dip: &Dip) -> String {
    let figures = style.catalogue.step_figures();
    let is_shipped = is_shipped(dip);
    let of = |figure: &Figure| match style.catalogue.source(&figure.source).and_then(|source| source.mark()) {
        _ if !is_shipped => String::new(),
        Some(mark) => format!(" [{mark}]"),
        None => format!(" [{}]", figure.source),
    };
    let words = dip.steps.iter().map(|step| match step {
        After::Rinse(count) => format!("rinse {}{}", times(*count), of(&figures.rinse)),
        After::Hold(days) => format!("{days} days apart from everything else{}", of(&figures.hold)),
        After::Look(days) => {
            let [look, last] = [of(&figures.look), of(&figures.last_look)];
            format!("look them over after {} days{look}{last}", listed(days))
        }
        After::Quench => {
            let with = dip.stop.as_ref().map_or("its neutraliser", |stop| &stop.reagent);
            format!("through water with a little {with}")
        }
        After::Dip(key) => format!("the bath `{key}`"),
    });
    words.collect::<Vec<_>>().join("; ")
}

/// `7, 14, 21 and 28`.
pub(super) fn listed(days: &[u16]) -> String {
    let words: Vec<String> = days.iter().map(u16::to_string).collect();
    match words.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}

/// True for a dip as it was shipped: a keeper's own steps are the keeper's.
fn is_shipped(dip: &Dip) -> bool {
    dip.version == 1 && Catalogue::shipped().is_ok_and(|shipped| shipped.dip(&dip.key).is_some())
}

/// Where the figures of its steps come from.
fn figures(style: &Style, dip: &Dip) -> Vec<Step> {
    if !is_shipped(dip) {
        return Vec::new();
    }
    let figures = style.catalogue.step_figures();
    let has = |wanted: fn(&After) -> bool| dip.steps.iter().any(wanted);
    let all = [
        ("how often to rinse", &figures.rinse, has(|step| matches!(step, After::Rinse(_)))),
        ("how long to keep apart", &figures.hold, has(|step| matches!(step, After::Hold(_)))),
        ("from one look to the next", &figures.look, has(|step| matches!(step, After::Look(_)))),
        ("the last look", &figures.last_look, has(|step| matches!(step, After::Look(_)))),
    ];
    let used = all.into_iter().filter(|(_, _, used)| *used);
    used.map(|(what, figure, _)| {
        let note = figure.note.as_ref().map_or(String::new(), |note| format!("; {note}"));
        let what = format!("{what}, where no dip says otherwise: {} {}{note}", show::plain(figure.value), figure.unit);
        Step::new(what, figure.source.clone())
    })
    .collect()
}
