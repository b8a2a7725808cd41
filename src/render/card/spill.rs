//! The `spill` card. Its reader is two metres away and frightened: whom to call, whether to leave, what to put on and what
//! never to use come first and largest; then the steps, what stays behind, and first aid.

use std::collections::BTreeSet;

use super::press::{Laid, Press};
use crate::catalogue::{Part, Said};
use crate::commands::card::spill::{Spill, Standing};
use crate::render::pdf::block::{Block, Row, Table, Text, Width};
use crate::render::pdf::picture;

/// Lays it out.
pub fn card(press: &Press, card: &Spill) -> Laid {
    let name = press.name(&card.name);
    let title = match &card.stock {
        Some(code) => format!("{code} · {name}"),
        None => name,
    };
    let mut first = vec![press.band(press.say("spill.band"), &title), press.gap(1.0), calls(press)];
    let mut out = lines(press, card, Part::Out);
    if card.too_strong {
        out.insert(0, press.say("spill.too_strong").to_owned());
    }
    first.extend(panel(press, &["leave".to_owned()], "spill.out", &out));
    if !card.too_strong {
        first.extend(panel(press, &["stay".to_owned()], "spill.stay", &lines(press, card, Part::Stay)));
        // Whoever leaves puts nothing on first.
        first.extend(panel(press, &card.protection.signs, "spill.wear", &[worn(press, card)]));
    }
    first.extend(panel(press, &card.spill.signs, "spill.never", &lines(press, card, Part::Never)));
    // What is read in fright stands on one page.
    let mut blocks = vec![Block::Together(first)];
    blocks.extend(steps(press, card));
    blocks.extend(aid(press, card));
    blocks.extend(hazards(press, card));
    blocks.extend(standing(press, &card.standing));
    let said = card.spill.lines.iter().chain(&card.first_aid.lines).chain(&card.protection.lines);
    let sources: BTreeSet<String> = said.map(|line| line.source.clone()).collect();
    Laid { title, blocks, sources, estimates: false }
}

/// Whom to call, as large as the name of the card.
fn calls(press: &Press) -> Block {
    press.boxed(vec![beside(press, &["call".to_owned()], press.contacts())])
}

/// Signs at the left, a strong heading and lines at the right; nothing where there is nothing to say.
fn panel(press: &Press, signs: &[String], heading: &'static str, lines: &[String]) -> Vec<Block> {
    if lines.iter().all(String::is_empty) {
        return Vec::new();
    }
    let mut inner = vec![press.head(press.say(heading)).into()];
    let lines: Vec<&String> = lines.iter().filter(|line| !line.is_empty()).collect();
    let many = lines.len() > 1;
    inner.extend(lines.into_iter().map(|line| {
        let line = press.strong(line);
        Block::from(if many { line.signed("·") } else { line })
    }));
    vec![press.gap(0.9), Block::Together(vec![beside(press, signs, inner)])]
}

fn beside(press: &Press, signs: &[String], inner: Vec<Block>) -> Block {
    let names: Vec<&'static str> = signs.iter().filter_map(|sign| picture::name(sign)).collect();
    // One sign is large; several stand two by two in the same square.
    let side = press.mm(if names.len() > 1 { 12.0 } else { 20.0 });
    let signs = Block::Pictures { names, side, gap: press.mm(1.0) };
    Block::Row(Row {
        cells: vec![(Width::Fixed(press.mm(26.0)), vec![signs]), (Width::Share(1.0), inner)],
        gap: press.mm(3.0),
    })
}

/// The lines of one part, in the card's language.
fn lines(press: &Press, card: &Spill, part: Part) -> Vec<String> {
    card.spill.lines.iter().filter(|line| line.part == Some(part)).map(|line| said(press, card, line)).collect()
}

/// A line, marked where it is recalled or wants a second look.
fn said(press: &Press, card: &Spill, line: &Said) -> String {
    let mut text = press.text(&line.say);
    if line.source == "memory" {
        text = format!("{text} [{}]", press.say("spill.memory"));
    }
    if card.check { format!("{text} [{}]", press.say("spill.check")) } else { text }
}

/// What to put on, by the words of the signs.
fn worn(press: &Press, card: &Spill) -> String {
    let words: Vec<String> =
        card.protection.signs.iter().map(|sign| press.fill(&format!("sign.{sign}"), &[])).collect();
    words.join(", ")
}

/// What is done then, by numbers, and what it leaves behind.
fn steps(press: &Press, card: &Spill) -> Vec<Block> {
    let mut blocks = Vec::new();
    if card.too_strong {
        return blocks;
    }
    for (part, heading) in [(Part::Then, "spill.then"), (Part::Stains, "spill.stains")] {
        let lines = lines(press, card, part);
        if lines.is_empty() {
            continue;
        }
        let numbered = lines.iter().enumerate();
        let numbered = numbered.map(|(at, line)| Block::from(press.body(line).signed(&(at + 1).to_string())));
        let heading = Block::from(press.head(press.say(heading)));
        blocks.extend([press.gap(0.9), Block::Together([heading].into_iter().chain(numbered).collect())]);
    }
    blocks
}

/// First aid: what it touched, strong, and what to do.
fn aid(press: &Press, card: &Spill) -> Vec<Block> {
    let mut blocks = vec![press.gap(0.9), press.head(press.say("spill.aid")).into()];
    blocks.extend(card.first_aid.lines.iter().map(|line| Block::from(led(press, &said(press, card, line)))));
    blocks
}

/// A line whose beginning, up to a colon, is strong.
fn led(press: &Press, line: &str) -> Text {
    match line.split_once(": ").filter(|(lead, _)| lead.chars().count() <= 30) {
        Some((lead, rest)) => press.led(&format!("{lead}:"), rest),
        None => press.body(line),
    }
}

/// Symbols, signal word and hazard statements of the stock that was asked about.
fn hazards(press: &Press, card: &Spill) -> Vec<Block> {
    let Some(judged) = &card.judged else { return Vec::new() };
    let names: Vec<&'static str> = judged.label.pictograms.iter().filter_map(|code| picture::name(code)).collect();
    let mut words: Vec<Block> = Vec::new();
    if let Some(signal) = judged.label.signal {
        words.push(press.head(press.signal(signal)).into());
    }
    let statements: Vec<String> = judged.label.statements.iter().map(|code| press.statement(code)).collect();
    if statements.is_empty() {
        words.push(press.body(press.say("spill.no_class")).into());
    } else {
        words.push(press.body(&statements.join(" ")).into());
    }
    let wide = names.len() as f64 * press.mm(19.0);
    let symbols = Block::Pictures { names, side: press.mm(18.0), gap: press.mm(1.0) };
    let row = Row { cells: vec![(Width::Fixed(wide), vec![symbols]), (Width::Share(1.0), words)], gap: press.mm(3.0) };
    vec![press.gap(0.9), Block::Together(vec![press.head(press.say("spill.bottle")).into(), Block::Row(row)])]
}

/// Where it stands, for those who come to help.
fn standing(press: &Press, standing: &[Standing]) -> Vec<Block> {
    if standing.is_empty() {
        return Vec::new();
    }
    let rows = standing.iter().map(|row| {
        vec![
            press.cell(&row.code),
            press.cell(&row.place),
            press.cell(&press.amount(&row.label)),
            press.cell(&press.amount(&row.left)),
        ]
    });
    let head = ["spill.code", "spill.place", "spill.label", "spill.left"].map(|key| press.fill(key, &[]));
    let table = Table {
        widths: vec![Width::Share(1.0), Width::Share(2.0), Width::Share(2.0), Width::Share(1.0)],
        head: head.to_vec(),
        rows: rows.collect(),
        size: press.table_size(),
    };
    vec![press.gap(0.9), press.head(press.say("spill.standing")).into(), Block::Table(table)]
}
