//! The `storage` card: what stands here, how it wants to be kept, and what must never come beside it and why.

use std::collections::BTreeSet;

use super::press::{Laid, Press};
use crate::catalogue::Verdict;
use crate::commands::audit::Finding;
use crate::commands::card::storage::{Limit, Never, Storage, Wants};
use crate::hazard::storage::{Severity, around_words};
use crate::render::pdf::block::{Block, Row, Table, Text, Width};
use crate::render::pdf::{Face, picture};
use crate::units::show::{amount, plain};

/// Lays it out.
pub fn card(press: &Press, card: &Storage) -> Laid {
    let title = match &card.stock {
        Some(code) => format!("{code} · {}", card.site.name),
        None => card.site.name.clone(),
    };
    let mut blocks = vec![press.band(press.say("storage.band"), &title), press.gap(0.8), place(press, card)];
    if card.check {
        blocks.push(press.strong(press.say("storage.check")).into());
    }
    blocks.extend(dangers(press, card));
    blocks.extend([press.gap(0.8), standing(press, card)]);
    blocks.extend(card.wants.iter().flat_map(|(name, wants)| wanted(press, name, wants)));
    blocks.extend(never(press, card));
    blocks.extend(around(press, card));
    blocks.extend(limits(press, &card.limits));
    blocks.extend(findings(press, card));
    Laid { title, blocks, sources: sources(card), estimates: false }
}

/// How warm and how light the place is.
fn place(press: &Press, card: &Storage) -> Block {
    let warmest = plain(libm::round(card.site.warmest_c));
    let values = [("warmest", warmest.as_str()), ("light", card.site.light.word())];
    let mut words = press.fill("storage.is", &values);
    if let Some(cabinet) = &card.site.cabinet {
        words = format!("{words} {}", press.fill("storage.cabinet", &[("cabinet", cabinet)]));
    }
    if let Some(height) = card.site.height_cm {
        words = format!("{words} {}", press.fill("storage.height", &[("height", &plain(height))]));
    }
    press.body(&words).into()
}

fn standing(press: &Press, card: &Storage) -> Block {
    if card.standing.is_empty() {
        return press.body(press.say("storage.empty")).into();
    }
    let rows = card.standing.iter().map(|row| {
        let [label, left] = [&row.at.label, &row.at.left].map(|text| press.cell(&press.amount(text)));
        vec![press.cell(&row.at.code), press.cell(&press.name(&row.name)), label, left, press.cell(row.container)]
    });
    let head = ["storage.code", "storage.name", "storage.label", "storage.left", "storage.container"];
    Block::Table(Table {
        widths: vec![Width::Share(1.0), Width::Share(3.0), Width::Share(1.6), Width::Share(1.1), Width::Share(1.4)],
        head: head.map(|key| press.fill(key, &[])).to_vec(),
        rows: rows.collect(),
        size: press.table_size(),
    })
}

/// One reagent's needs: signs at the left, sentences at the right.
fn wanted(press: &Press, name: &str, wants: &Wants) -> Vec<Block> {
    let keeping = &wants.keeping;
    let mut signs = Vec::new();
    let mut lines: Vec<Block> = vec![press.strong(&press.name(name)).into()];
    if wants.dark {
        signs.push("dark");
    }
    if let Some(below) = &keeping.below_c {
        signs.push("cool");
        let below = plain(below.value);
        lines.push(press.body(&press.fill("storage.below", &[("below", &below)])).into());
    }
    if wants.vent {
        signs.push("vented-cap");
    }
    lines.extend(keeping.needs.iter().map(|need| Block::from(press.body(need).signed("·"))));
    if !keeping.never_in.is_empty() {
        if keeping.not_in.iter().any(|container| container.word() == "metal") {
            signs.push("no-metal");
        }
        let materials = keeping.never_in.join("; ");
        lines.push(press.led(press.say("storage.never_in"), &materials).into());
    }
    let names: Vec<&'static str> = signs.into_iter().filter_map(picture::name).collect();
    let signs = Block::Pictures { names, side: press.mm(12.0), gap: press.mm(1.5) };
    let row = Row {
        cells: vec![(Width::Fixed(press.mm(28.0)), vec![signs]), (Width::Share(1.0), lines)],
        gap: press.mm(3.0),
    };
    vec![press.gap(0.8), Block::Together(vec![Block::Row(row)])]
}

/// What must not come beside it, and what happens then.
fn never(press: &Press, card: &Storage) -> Vec<Block> {
    if card.never.is_empty() {
        return Vec::new();
    }
    let many = card.standing.len() > 1;
    let row = |row: &Never| {
        let with =
            if many { format!("{} ({})", row.consequence, row.stocks.join(", ")) } else { row.consequence.clone() };
        let far = if row.verdict.0 == Verdict::Never {
            vec![Text::new(Face::Bold, press.table_size(), row.verdict.0.words()).into()]
        } else {
            press.cell(row.verdict.0.words())
        };
        vec![press.cell(&row.group), far, press.cell(&with)]
    };
    let head = ["storage.beside", "storage.far", "storage.then"].map(|key| press.fill(key, &[]));
    let table = Table {
        widths: vec![Width::Share(1.5), Width::Share(1.2), Width::Share(3.0)],
        head: head.to_vec(),
        rows: card.never.iter().map(row).collect(),
        size: press.table_size(),
    };
    vec![press.gap(0.9), press.head(press.say("storage.never")).into(), Block::Table(table)]
}

fn around(press: &Press, card: &Storage) -> Vec<Block> {
    if card.around.is_empty() {
        return Vec::new();
    }
    let lines = card.around.iter().map(|row| press.led(&format!("{}:", around_words(row.around)), &row.consequence));
    let mut blocks = vec![press.gap(0.9), press.head(press.say("storage.around")).into()];
    blocks.extend(lines.map(|line| Block::from(line.signed("·"))));
    blocks
}

fn limits(press: &Press, limits: &[Limit]) -> Vec<Block> {
    let mut blocks = vec![press.gap(0.9), press.head(press.say("storage.limits")).into()];
    for limit in limits {
        let most = press.amount(&amount(limit.store.most.base(), limit.store.most.base_unit()));
        let above = limit.store.stronger_than.map_or_else(String::new, |percent| {
            format!(" {}", press.fill("storage.above", &[("percent", &plain(percent))]))
        });
        let asked = &limit.store.asked;
        let who = format!("{}, {}{}{}", asked.whom, asked.on, asked.under(), asked.check(press.card.day));
        let values = [("what", format!("{}{above}", limit.of)), ("most", most), ("who", who)];
        let values: Vec<(&str, &str)> = values.iter().map(|(name, value)| (*name, value.as_str())).collect();
        blocks.push(press.body(&press.fill("storage.limit", &values)).into());
    }
    if limits.is_empty() {
        blocks.push(press.write_in(press.say("storage.no_limit")));
    }
    blocks
}

/// What `audit` finds here that is a danger, in a box before everything else.
fn dangers(press: &Press, card: &Storage) -> Vec<Block> {
    let found = card.findings.iter().filter(|finding| finding.fault.severity == Severity::Danger);
    let ticks: Vec<Block> = found.map(|finding| tick(press, finding)).collect();
    if ticks.is_empty() {
        return Vec::new();
    }
    let mut inner = vec![press.head(press.say("storage.danger")).into()];
    inner.extend(ticks);
    vec![press.gap(0.8), press.boxed(inner)]
}

/// What else it finds, to be ticked off.
fn findings(press: &Press, card: &Storage) -> Vec<Block> {
    let found = card.findings.iter().filter(|finding| finding.fault.severity != Severity::Danger);
    let ticks: Vec<Block> = found.map(|finding| tick(press, finding)).collect();
    if ticks.is_empty() {
        return Vec::new();
    }
    let heading = press.head(press.say("storage.open")).into();
    [press.gap(0.9), heading].into_iter().chain(ticks).collect()
}

fn tick(press: &Press, finding: &Finding) -> Block {
    let fault = &finding.fault;
    let stocks = finding.stocks.join(", ");
    let what = format!("{} ({stocks}): {}", fault.rule, sentences(&[&fault.consequence, &fault.advice]));
    press.tick(&what).into()
}

/// Phrases as sentences one after the other, the first of which goes on with what stood before it.
fn sentences(phrases: &[&str]) -> String {
    let mut text = String::new();
    for phrase in phrases {
        let phrase = phrase.trim_end_matches('.');
        match phrase.chars().next().filter(|_| !text.is_empty()) {
            Some(first) => text.extend([' '].into_iter().chain(first.to_uppercase()).chain(phrase.chars().skip(1))),
            None => text.push_str(phrase),
        }
        text.push('.');
    }
    text
}

fn sources(card: &Storage) -> BTreeSet<String> {
    let wants = card.wants.values().map(|wants| wants.keeping.source.clone());
    let below =
        card.wants.values().filter_map(|wants| wants.keeping.below_c.as_ref()).map(|figure| figure.source.clone());
    let never = card.never.iter().map(|row| row.source.clone());
    let around = card.around.iter().map(|row| row.source.clone());
    let found = card.findings.iter().map(|finding| finding.fault.source.clone());
    wants.chain(below).chain(never).chain(around).chain(found).collect()
}
