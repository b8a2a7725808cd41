//! Hazard classes and label elements.

use super::{assumed, cited, mark, why};
use crate::catalogue::{Signal, Verdict};
use crate::commands::classify::Judged;
use crate::hazard::Regime;
use crate::hazard::exact::Exact;
use crate::render::Style;
use crate::render::table::sentence;

/// The classes and the label of a mixture.
pub(super) fn judged(style: &Style, judged: &Judged) -> String {
    let rules = match judged.rules.regime {
        Regime::Eu => "rules of the European Union",
        Regime::Un => "rules of the United Nations' standard",
        Regime::Us => "rules of the United States, workplaces",
    };
    let limits = if judged.rules.specific { "" } else { ", generic limits only" };
    let mut text = String::new();
    for clash in &judged.conflicts {
        let [one, other] = &clash.reagents;
        let line = format!(
            "{one} and {other}, {}: {}{}",
            clash.verdict.words(),
            clash.consequence,
            mark(style, &clash.source)
        );
        let head = if clash.verdict == Verdict::Never { "DANGER: " } else { "mind: " };
        text.push_str(&sentence(style, head, &line));
    }
    text.push_str(&format!("{}: {rules}{limits}\n", judged.what));
    let parts: Vec<String> = judged
        .composition
        .iter()
        .map(|part| format!("{} {} % w/w as {}", part.reagent, Exact::of(part.percent), part.counted_as))
        .collect();
    text.push_str(&sentence(style, "holds: ", &parts.join("; ")));
    text.push_str(&assumed(style, &judged.assumed));
    text.push_str("classes:\n");
    text.push_str(&classes(style, judged));
    text.push_str(&label(style, judged));
    let gaps: Vec<&str> = judged.judged.gaps.iter().map(|gap| gap.what.as_str()).collect();
    text.push_str(&listed(style, "undetermined, for want of data:", &gaps));
    let entries: Vec<&str> = judged.unverified.iter().map(String::as_str).collect();
    text.push_str(&listed(style, "not verified against the regulation, but recalled:", &entries));
    text.push_str(&reasons(style, judged));
    text.push_str(&why(style, &judged.steps));
    text
}

/// Lines under a heading; nothing without lines.
fn listed(style: &Style, heading: &str, lines: &[&str]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    std::iter::once(format!("{heading}\n")).chain(lines.iter().map(|line| sentence(style, "- ", line))).collect()
}

fn classes(style: &Style, judged: &Judged) -> String {
    if judged.judged.classes.is_empty() {
        return "- no class can be shown from the data on file, which proves nothing\n".to_owned();
    }
    let mut text = String::new();
    for (found, statement) in judged.judged.classes.iter().zip(&judged.statements) {
        let recalled = std::iter::once(&found.rule)
            .chain(found.rests_on.iter().map(|entry| &entry.source))
            .map(|source| mark(style, source))
            .find(|mark| !mark.is_empty())
            .unwrap_or_default();
        let statement = statement.as_ref().map_or(String::new(), |code| format!(" ({code})"));
        let line = format!("{} {}{statement}: {}{recalled}", found.class, found.category, found.because);
        text.push_str(&sentence(style, "- ", &line));
    }
    text
}

/// What stands on the label, in the order of a label.
fn label(style: &Style, judged: &Judged) -> String {
    let label = &judged.label;
    let mut text = String::new();
    if label.statements.is_empty() && judged.judged.supplements.is_empty() {
        text.push_str("label: nothing that the data on file ask for\n");
    } else {
        let signal = match label.signal {
            Some(Signal::Danger) => "Danger",
            Some(Signal::Warning) => "Warning",
            None => "no signal word",
        };
        let pictograms =
            if label.pictograms.is_empty() { "no pictogram".to_owned() } else { label.pictograms.join(" ") };
        text.push_str(&format!("label: {signal}; {pictograms}\n"));
    }
    for code in &label.statements {
        text.push_str(&said(style, code, None, None));
    }
    for extra in &judged.judged.supplements {
        text.push_str(&said(style, &extra.statement, extra.names.as_deref(), extra.note));
    }
    for code in &label.precautions {
        text.push_str(&said(style, code, None, None));
    }
    text
}

fn said(style: &Style, code: &str, names: Option<&str>, note: Option<&str>) -> String {
    let words = style.catalogue.statement(code).map_or_else(String::new, |statement| {
        let filled = names.map_or(statement.en.clone(), |name| statement.en.replace("<substance>", name));
        let note = note.map_or(String::new(), |note| format!(" ({note})"));
        format!("{filled}{note}{}", mark(style, &statement.source))
    });
    sentence(style, &format!("  {code} "), &words)
}

/// For each class the rule and the entries it rests on, if they are wanted.
fn reasons(style: &Style, judged: &Judged) -> String {
    let mut text = String::new();
    if !style.why {
        return text;
    }
    for found in &judged.judged.classes {
        text.push_str(&sentence(style, "", &format!("{} {}: {}", found.class, found.category, found.because)));
        text.push_str(&sentence(style, "  rule ", &cited(style, &found.rule)));
        for entry in &found.rests_on {
            let entry = format!("{}, {}: {}", entry.ingredient, entry.class, cited(style, &entry.source));
            text.push_str(&sentence(style, "  entry ", &entry));
        }
    }
    for extra in &judged.judged.supplements {
        let said = format!("{}: {} {}", extra.statement, extra.because, cited(style, &extra.source));
        text.push_str(&sentence(style, "", &said));
    }
    text
}
