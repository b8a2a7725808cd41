//! How a used bath is ended, and what may be done with it then.

use comfy_table::Cell;

use super::dip_book::minutes;
use super::{assumed, mark, why};
use crate::catalogue::Reaction;
use crate::commands::quench::Quenched;
use crate::disposal::after::against;
use crate::disposal::quench::{Needed, Verdict};
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::estimate::Estimate;
use crate::units::show;

/// The verdict, the amounts, the reading that proves it, and what comes then.
pub(super) fn quenched(style: &Style, quenched: &Quenched) -> String {
    let due = quenched.due.map_or(String::new(), |day| format!("  [check: due for review since {day}]"));
    let (what, bath) = (&quenched.what, show::millilitres(quenched.bath.to_ml()));
    let mut text = format!("{what} in {bath} on {}{due}\n", quenched.on);
    let word = quenched.verdict.words();
    let verdict = if style.colour { format!("\u{1b}[1m{word}\u{1b}[0m") } else { word.to_owned() };
    text.push_str(&format!("verdict: {verdict}\n"));
    for reason in &quenched.reasons {
        text.push_str(&sentence(style, "because: ", reason));
    }
    text.push_str(&amounts(style, quenched));
    if let Some(treatment) = quenched.treatment
        && matches!(quenched.verdict, Verdict::CanBeEnded | Verdict::Short)
    {
        text.push_str(&sentence(
            style,
            "wait: ",
            &format!("{}{}", minutes(&treatment.minutes), mark(style, &treatment.minutes.source)),
        ));
        text.push_str(&sentence(style, "proof: ", &treatment.proof));
        text.push_str(&sentence(style, "until then: ", &treatment.wait_for));
    }
    text.push_str(&formed(style, quenched));
    text.push_str(&assumed(style, &quenched.assumed));
    if !quenched.cautions.is_empty() {
        text.push_str("mind:\n");
        for line in quenched.cautions {
            text.push_str(&sentence(style, "  - ", &format!("{}{}", line.say, mark(style, &line.source))));
        }
    }
    text.push_str("Then:\n");
    for line in &quenched.then {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str(&sentence(style, "", quenched.caution));
    text.push_str(&sentence(style, "next: ", &quenched.next_step));
    text.push_str(&why(style, &quenched.steps));
    text
}

/// Two figures of a mass, in the unit that reads best.
fn grams(grams: f64) -> String {
    show::grams(show::significant(grams, 2).parse().unwrap_or(grams))
}

/// A mass with its band, where it has one.
fn banded(destroy: Estimate) -> String {
    if destroy.is_exact() {
        return grams(destroy.high);
    }
    let (factor, unit) = if destroy.high < 0.1 { (1000.0, "mg") } else { (1.0, "g") };
    let figure = |value: f64| show::significant(value * factor, 2);
    format!("{} ({}–{}) {unit}", figure(destroy.mid), figure(destroy.low), figure(destroy.high))
}

/// What is to be destroyed, what it takes, and from which stocks; no dose in a refusal.
fn amounts(style: &Style, quenched: &Quenched) -> String {
    let Some(ending) = &quenched.ending else { return String::new() };
    let counted = quenched.counted();
    let mut text = sentence(style, "to destroy: ", &format!("{} of {counted}", banded(ending.destroy)));
    match &ending.needed {
        Some(needed) => text.push_str(&taken(style, quenched, needed)),
        None if ending.verdict == Verdict::CanBeEnded => {
            text.push_str(&sentence(style, "stir in: ", "nothing; it stands and falls apart by itself"));
        }
        None => {}
    }
    text
}

fn taken(style: &Style, quenched: &Quenched, needed: &Needed) -> String {
    let planned = quenched.planned(style.catalogue);
    let marked = |source: Option<&str>| source.map_or(String::new(), |source| mark(style, source));
    let (low, high) = (needed.theory_low.to_g(), needed.theory_high.to_g());
    let range =
        if high > low { format!(", {} to {} by what is formed", grams(low), grams(high)) } else { String::new() };
    let mut text = sentence(
        style,
        "stir in: ",
        &format!(
            "{} of {} planned{}; theory {}{range}{}",
            grams(needed.planned.to_g()),
            needed.neutraliser,
            marked(planned.and_then(planned_source)),
            grams(needed.theory.to_g()),
            marked(planned.map(|route| route.source.as_str()))
        ),
    );
    if needed.enough() {
        let row = |dose: &crate::dip::Dose| {
            [dose.code.clone(), show::amount(dose.amount, &dose.unit), dose.measure.clone()].map(Cell::new).to_vec()
        };
        text.push_str(&table(
            style,
            &["stock", "amount", "measure with"],
            &[2],
            needed.doses.iter().map(row).collect(),
        ));
    }
    text.push_str(&sentence(
        style,
        "on the shelf: ",
        &format!("{} that count, at the low end of their strength", grams(needed.held.to_g())),
    ));
    text
}

fn planned_source(route: &Reaction) -> Option<&str> {
    route.planned.as_ref().or(route.planned_g_per_g.as_ref()).map(|figure| figure.source.as_str())
}

/// What is made, how warm it gets, what is left over.
fn formed(style: &Style, quenched: &Quenched) -> String {
    let Some(ending) = &quenched.ending else { return String::new() };
    let mut text = String::new();
    if let Some(formed) = ending.formed.as_ref().filter(|_| ending.verdict != Verdict::Refused) {
        text.push_str(&sentence(style, "formed: ", formed));
    }
    if let Some(heat) = ending.heat_k {
        let warming = if heat < 0.1 { "under 0.1 K".to_owned() } else { format!("{} K", show::significant(heat, 2)) };
        let source = quenched.hottest(style.catalogue).map_or("heats-recalled", |heat| heat.source.as_str());
        text.push_str(&sentence(
            style,
            "warms by: ",
            &format!("{warming} if all reacts at once{}", mark(style, source)),
        ));
    }
    if let Some(needed) = &ending.needed {
        let left = show::significant(needed.left_over_mg_per_l, 2);
        let against = quenched.limit.as_ref().map_or(String::new(), |limit| format!("; {}", against(limit)));
        let said = format!(
            "up to {left} mg/L of {} (as {}), if no more than theory is used up{against}",
            needed.neutraliser, needed.left_over_as
        );
        text.push_str(&sentence(style, "left over: ", &said));
        if quenched.limit.as_ref().is_some_and(|limit| limit.exceeded) {
            text.push_str(&sentence(
                style,
                "so: ",
                "stir it in by portions and stop when the reading is there; less is left then",
            ));
        }
    }
    text
}
