//! What to measure out for a bath, as text.

use comfy_table::Cell;

use super::dip_book::listed;
use super::{cited, mark, until, why};
use crate::commands::dose::Dosed;
use crate::commands::dose_steps::{Follow, NextBath, baths};
use crate::dip::sequence::times;
use crate::dip::stock_solution::{Dissolves, StockSolution};
use crate::dip::stop::Stopping;
use crate::dip::{Dose, Plan, Verdict};
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::{Concentration, show};

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
    let word = dosed.verdict.words();
    let verdict = if style.colour { format!("\u{1b}[1m{word}\u{1b}[0m") } else { word.to_owned() };
    text.push_str(&format!("verdict: {verdict}, {chance}\n"));
    for reason in &plan.reasons {
        text.push_str(&sentence(style, "because: ", reason));
    }
    for found in &dosed.traps {
        text.push_str(&sentence(style, "order: ", &format!("{} {}", found.words(), cited(style, &found.trap.source))));
    }
    if !plan.doses.is_empty() {
        text.push_str(if dosed.verdict == Verdict::Ready { "\nMeasure out:\n" } else { "\nIt would take:\n" });
        text.push_str(&doses(style, plan, dosed.bath.to_ml()));
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
        text.push_str(&stop_with(style, stopping));
    }
    if baths(&dosed.then).next().is_some() {
        for (step, number) in dosed.then.iter().zip(1..) {
            text.push_str(&follow(style, step, number, dosed));
        }
        text.push('\n');
    }
    let largest = libm::floor(plan.largest.to_l() * 10.0 + 1e-6) / 10.0;
    text.push_str(&format!("largest bath: {} L\n", show::plain(largest)));
    if dosed.verdict == Verdict::Ready {
        text.push_str(&format!("ready until: {}\n", until(plan.until)));
    }
    for line in &dosed.lookalikes {
        text.push_str(&sentence(style, "not used: ", line));
    }
    text.push_str("mind:\n");
    let mut minded: Vec<&String> = dosed.dip.cautions.iter().collect();
    for line in baths(&dosed.then).flat_map(|next| &next.dip.cautions).chain(dosed.dip.not_shown.first()) {
        if !minded.contains(&line) {
            minded.push(line);
        }
    }
    for line in minded {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str(&sentence(style, "next: ", &dosed.next_step));
    text.push_str(&why(style, &dosed.steps));
    text
}

/// What to measure out of which stock, and the water.
fn doses(style: &Style, plan: &Plan, bath_ml: f64) -> String {
    let rows = plan
        .doses
        .iter()
        .map(|dose| {
            [dose.code.clone(), show::amount(dose.amount, &dose.unit), dose.measure.clone()].map(Cell::new).to_vec()
        })
        .collect();
    let mut text = table(style, &["stock", "amount", "measure with"], &[2], rows);
    text.push_str(&format!(
        "water: {}, so that the whole is {}\n",
        show::millilitres(libm::round(plan.water.to_ml())),
        show::millilitres(bath_ml)
    ));
    text
}

/// What stopping a bath takes.
fn stop_with(style: &Style, stopping: &Stopping) -> String {
    sentence(
        style,
        "stop it with: ",
        &format!(
            "{} of {} ({} by theory), {} if it comes out at the upper end of its band; the shelf holds {}",
            show::planned_grams(stopping.planned.to_g()),
            stopping.neutraliser,
            show::planned_grams(stopping.theory.to_g()),
            show::planned_grams(stopping.planned_high.to_g()),
            show::planned_grams(stopping.held.to_g())
        ),
    )
}

/// One step after the first bath, with its number.
fn follow(style: &Style, step: &Follow, number: usize, dosed: &Dosed) -> String {
    let words = match step {
        Follow::Bath(next) => return next_bath(style, next, number, dosed.bath.to_ml()),
        Follow::Rinse(count) => format!("rinse {}", times(*count)),
        Follow::Quench(with) => format!("through water with a little {with}"),
        Follow::Hold(days) => format!("{days} days apart from everything else"),
        Follow::Look(days) => format!("look them over after {} days", listed(days)),
    };
    sentence(style, &format!("then {number}: "), &words)
}

/// A further bath.
fn next_bath(style: &Style, next: &NextBath, number: usize, bath_ml: f64) -> String {
    let plan = &next.plan;
    let chance = plan.chance.map_or(String::new(), |chance| format!(", chance {}", show::chance(chance)));
    let mut text = format!(
        "\nthen {number}: {} in {}: {}{chance}\n",
        next.dip.key,
        show::millilitres(bath_ml),
        plan.verdict.words()
    );
    if !plan.doses.is_empty() {
        text.push_str(&doses(style, plan, bath_ml));
    }
    for dose in &plan.doses {
        if let Some(solution) = &dose.stock_solution {
            text.push_str(&stock_solution(style, dose, solution));
        }
    }
    if let Some(stopping) = &next.stopping {
        text.push_str(&stop_with(style, stopping));
    }
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
