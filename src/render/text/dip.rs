//! The dip book, and what to measure out for a bath.

use comfy_table::Cell;

use super::{bathe, cited, dip_own, mark, until, why};
use crate::catalogue::{CountedAs, Dip, Grade, Minutes};
use crate::commands::dip::{Book, Dosed};
use crate::dip::stock_solution::{Dissolves, StockSolution};
use crate::dip::{Dose, Goal, Verdict};
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::{Concentration, show, time};

/// The dips, one line each, or the page of one.
pub(super) fn book(style: &Style, book: &Book) -> String {
    if let (true, [(dip, goal)]) = (book.single, &book.dips[..]) {
        let page = page(style, dip, goal, &bathe::own(style, &book.own, book.counts_after));
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
fn page(style: &Style, dip: &Dip, goal: &Goal, own: &str) -> String {
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
    text.push_str(&sentence(style, "time: ", &format!("{}{}", minutes(&dip.minutes), mark(&dip.minutes.source))));
    if let Some([low, high]) = dip.water_c {
        text.push_str(&format!("water: {}–{} °C\n", show::plain(low), show::plain(high)));
    }
    text.push_str(&sentence(style, "used for: ", &dip.used_for));
    text.push_str(&sentence(style, "plants: ", &dip.plants));
    text.push_str("evidence:\n");
    for row in &dip.evidence {
        text.push_str(&sentence(
            style,
            "  - ",
            &format!("[{}] {} {}", row.grade.word(), row.says, cited(style, &row.source)),
        ));
    }
    text.push_str(own);
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
    text.push_str(&sentence(style, "next: ", &format!("`brimstock dose {} --bath 10L`", dip.key)));
    text.push_str(&why(style, &goal.steps));
    text
}

/// The verdict on a bath, the doses, and what to mind.
pub(super) fn dosed(style: &Style, dosed: &Dosed) -> String {
    if let Some(baths) = &dosed.baths {
        return super::ready::baths(style, dosed, baths);
    }
    let plan = &dosed.plan;
    let chance = plan.chance.map_or_else(
        || "chance not known".to_owned(),
        |chance| format!("chance of landing in its band {}", show::chance(chance)),
    );
    let vessel = dosed.vessel.as_ref().map_or(String::new(), |name| format!(" in `{name}`"));
    let mut text = format!("{} in {}{vessel} on {}\n", dosed.dip.key, show::millilitres(dosed.bath.to_ml()), dosed.on);
    let word = plan.verdict.words();
    let verdict = if style.colour { format!("\u{1b}[1m{word}\u{1b}[0m") } else { word.to_owned() };
    text.push_str(&format!("verdict: {verdict}, {chance}\n"));
    for reason in &plan.reasons {
        text.push_str(&sentence(style, "because: ", reason));
    }
    if !plan.doses.is_empty() {
        text.push_str(if plan.verdict == Verdict::Ready { "\nMeasure out:\n" } else { "\nIt would take:\n" });
        let rows = plan
            .doses
            .iter()
            .map(|dose| {
                [dose.code.clone(), show::amount(dose.amount, &dose.unit), dose.measure.clone()].map(Cell::new).to_vec()
            })
            .collect();
        text.push_str(&table(style, &["stock", "amount", "measure with"], &[2], rows));
        text.push_str(&format!(
            "water: {}, so that the whole is {}\n",
            show::millilitres(libm::round(plan.water.to_ml())),
            show::millilitres(dosed.bath.to_ml())
        ));
    }
    for dose in &plan.doses {
        if let Some(solution) = &dose.stock_solution {
            text.push_str(&stock_solution(style, dose, solution));
        }
    }
    for line in &dosed.unweighed {
        text.push_str(&sentence(style, "not used: ", line));
    }
    if let Some(bath) = plan.bath {
        let goal = |value: Concentration| show::significant(value.to_g_per_l(), 3);
        text.push_str(&sentence(
            style,
            "bath: ",
            &format!(
                "{} g/L; wanted {} ({}–{}) g/L of {}",
                show::with_band(bath),
                goal(dosed.goal.aim),
                goal(dosed.goal.low),
                goal(dosed.goal.high),
                dosed.dip.reagent
            ),
        ));
    }
    if let Some(stopping) = &dosed.stopping {
        text.push_str(&sentence(
            style,
            "stop it with: ",
            &format!(
                "{} of {} ({} by theory); the shelf holds {}",
                show::grams(round_grams(stopping.planned.to_g())),
                stopping.neutraliser,
                show::grams(round_grams(stopping.theory.to_g())),
                show::grams(round_grams(stopping.held.to_g()))
            ),
        ));
    }
    let largest = libm::floor(plan.largest.to_l() * 10.0 + 1e-6) / 10.0;
    text.push_str(&format!("largest bath: {} L\n", show::plain(largest)));
    if plan.verdict == Verdict::Ready {
        text.push_str(&format!("ready until: {}\n", until(plan.until)));
    }
    for line in &dosed.lookalikes {
        text.push_str(&sentence(style, "not used: ", line));
    }
    text.push_str("mind:\n");
    for line in dosed.dip.cautions.iter().chain(dosed.dip.not_shown.first()) {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str(&sentence(style, "next: ", &dosed.next_step));
    text.push_str(&why(style, &dosed.steps));
    text
}

/// How a dose that is too little to be weighed is taken from a stock solution.
fn stock_solution(style: &Style, dose: &Dose, solution: &StockSolution) -> String {
    let [weighed, whole, part] = [&solution.weighed, &solution.whole, &solution.taken].map(|taken| &taken.words);
    let Dissolves { most, at, source } = &solution.dissolves;
    sentence(
        style,
        "stock solution: ",
        &format!(
            "{} is under ten steps of `{}`: of {} weigh {weighed}, make it up with water to {whole} ({} g/L; down to {} °C up to {} g/L stay dissolved{}), and give {part} of that to this bath; it is a stock of its own, with a label",
            show::amount(dose.amount, &dose.unit),
            solution.scale,
            dose.code,
            show::plain(solution.g_per_l),
            show::plain(libm::round(at.to_celsius() * 10.0) / 10.0),
            show::significant(most.to_g_per_l(), 2),
            mark(style, source)
        ),
    )
}

/// Grams as they are weighed: whole ones from 10 g.
pub(in crate::render) fn round_grams(grams: f64) -> f64 {
    if grams >= 10.0 { libm::round(grams) } else { show::significant(grams, 2).parse().unwrap_or(grams) }
}
