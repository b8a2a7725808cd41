//! The `shelf` card: how many, what is to be set right first, what stands where, limits, data sheets, what is left open.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::press::{Laid, Press};
use crate::catalogue::Container;
use crate::commands::audit::{Audited, Carry, Finding, Held};
use crate::commands::card::paper::Paper;
use crate::commands::card::shelf::{Holding, Shelf, Shelved};
use crate::commands::sds::{Copied, Kept};
use crate::disposal::local::Asked;
use crate::hazard::storage::Severity;
use crate::render::pdf::block::{Align, Block, Row, Table, Text, Width};
use crate::render::pdf::wrap::Span;
use crate::render::pdf::{Face, picture};
use crate::units::show::{self, plain};

/// So many codes of one finding are listed.
const CODES_SHOWN: usize = 12;

/// Lays it out.
pub fn card(press: &Press, card: &Shelf) -> Laid {
    let values = [("register", press.card.register.as_str()), ("day", &press.card.day.to_string())];
    let title = press.fill("shelf.title", &values);
    let (urgent, minor): (Vec<&Finding>, Vec<&Finding>) =
        card.audited.findings.iter().partition(|finding| finding.fault.severity < Severity::Minor);
    let mut blocks = vec![
        press.band(press.say("shelf.band"), &title),
        press.gap(0.6),
        figures(press, card),
        press.gap(0.6),
        Block::Together(press.contacts()),
    ];
    blocks.extend(findings(press, press.say("shelf.first"), &urgent));
    blocks.push(press.gap(0.4));
    blocks.extend(moves(press, &card.audited));
    blocks.extend(standing(press, card));
    blocks.extend(limits(press, card));
    blocks.extend(findings(press, press.say("shelf.minor"), &minor));
    blocks.extend(sheets(press, card));
    blocks.extend(open(press, card));
    let estimates = card.holdings().any(|holding| holding.line.strength.is_some());
    Laid { title, blocks, sources: sources(card), estimates }
}

/// What the shelf comes to, in numbers that are read from across the room.
fn figures(press: &Press, card: &Shelf) -> Block {
    let of =
        |severity: Severity| card.audited.findings.iter().filter(|finding| finding.fault.severity == severity).count();
    let missing = card.sheets.iter().filter(|line| line.kept.is_none()).count();
    let used = card.places.iter().filter(|place| !place.holdings.is_empty()).count();
    let numbers = [
        (card.holdings().count(), "shelf.stocks"),
        (used, "shelf.places"),
        (of(Severity::Danger), "shelf.dangers"),
        (of(Severity::Serious), "shelf.serious"),
        (missing, "shelf.without_sheet"),
    ];
    let cells = numbers.map(|(number, what)| {
        let number = press.huge(&number.to_string()).aligned(Align::Centre);
        (Width::Share(1.0), vec![number.into(), press.body(press.say(what)).aligned(Align::Centre).into()])
    });
    press.boxed(vec![Block::Row(Row { cells: cells.to_vec(), gap: press.mm(2.0) })])
}

/// Findings, each with a box to tick.
fn findings(press: &Press, heading: &str, findings: &[&Finding]) -> Vec<Block> {
    headed(press, heading, findings.iter().map(|one| finding(press, one)).collect())
}

/// A heading that stays with the first of what it is of; nothing without any.
fn headed(press: &Press, heading: &str, blocks: Vec<Block>) -> Vec<Block> {
    if blocks.is_empty() {
        return blocks;
    }
    [press.gap(0.9), press.head(heading).into()].into_iter().chain(blocks).collect()
}

/// A smaller heading with its lines; nothing without any.
fn under(press: &Press, heading: &str, lines: Vec<Block>) -> Vec<Block> {
    if lines.is_empty() {
        return lines;
    }
    let heading = Text { heading: true, ..press.strong(heading) };
    std::iter::once(heading.into()).chain(lines).chain([press.gap(0.4)]).collect()
}

fn finding(press: &Press, finding: &Finding) -> Block {
    let fault = &finding.fault;
    let codes: Vec<&str> = finding.stocks.iter().map(String::as_str).collect();
    let place = finding.place.as_ref().map_or_else(String::new, |place| format!(" ({place})"));
    let rule = match fault.severity {
        Severity::Danger => format!("{}: {}", fault.severity.word().to_uppercase(), fault.rule),
        Severity::Serious => format!("{}: {}", capital(fault.severity.word()), fault.rule),
        Severity::Minor => capital(&fault.rule),
    };
    let mark = press.catalogue.source(&fault.source).and_then(|source| source.mark());
    let mark = mark.map_or_else(String::new, |mark| format!(" [{mark}]"));
    let then = format!(" {}.{mark} ", capital(fault.consequence.trim_end_matches('.')));
    let mut spans = vec![
        Span::new(Face::Bold, &format!("{rule}{place}: {}.", listed(press, &codes))),
        Span::new(Face::Regular, &then),
        Span::new(Face::Bold, press.say("shelf.do")),
        Span::new(Face::Regular, &format!(" {}.", fault.advice.trim_end_matches('.'))),
    ];
    for reason in &finding.overruled {
        let since = reason.since.to_string();
        let values = [("stock", reason.stock.as_str()), ("since", &since), ("why", &reason.why)];
        spans.push(Span::new(Face::Regular, &format!(" {}", press.fill("shelf.reason", &values))));
    }
    if finding.open && !finding.overruled.is_empty() {
        spans.push(Span::new(Face::Regular, &format!(" {}", press.say("shelf.still_open"))));
    }
    Block::Together(vec![Text::spans(press.body("").size, spans).signed("☐").into(), press.gap(0.15)])
}

/// A phrase as the beginning of a sentence.
fn capital(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Codes, of many the first dozen and how many more.
fn listed(press: &Press, codes: &[&str]) -> String {
    if codes.len() <= CODES_SHOWN {
        return codes.join(", ");
    }
    let more = (codes.len() - CODES_SHOWN).to_string();
    press.fill("shelf.more", &[("codes", &codes[..CODES_SHOWN].join(", ")), ("more", &more)])
}

/// The moves that clear what moves can clear, in steps.
fn moves(press: &Press, audited: &Audited) -> Vec<Block> {
    let carried = |carry: &Carry| {
        let values = [("stock", carry.stock.as_str()), ("from", &carry.from), ("to", &carry.to)];
        press.fill("shelf.carry", &values)
    };
    let mut lines: Vec<Block> = Vec::new();
    for step in audited.moves.chunk_by(|one, next| one.step == next.step) {
        if step.iter().any(|carry| step.iter().any(|other| other.to == carry.from)) {
            lines.push(press.strong(press.say("shelf.lift")).into());
        }
        lines.extend(step.iter().map(|carry| Block::from(press.tick(&carried(carry)))));
    }
    if audited.stuck > 0 {
        lines.push(press.body(&press.fill("shelf.stuck", &[("many", &audited.stuck.to_string())])).into());
    }
    if let Some(least) = &audited.least_bad {
        let codes: Vec<&str> = least.carries.iter().map(|carry| carry.stock.as_str()).collect();
        let to = least.carries.first().map_or("", |carry| carry.to.as_str());
        let makes = if least.makes.is_empty() {
            String::new()
        } else {
            format!(" {}", press.fill("shelf.makes", &[("makes", &least.makes.join("; "))]))
        };
        let said = press.fill("shelf.least_bad", &[("codes", &listed(press, &codes)), ("to", to)]);
        lines.push(press.tick(&format!("{said}{makes}")).into());
    }
    under(press, press.say(if audited.proven { "shelf.moves" } else { "shelf.moves_some" }), lines)
}

/// What stands where, a table a place.
fn standing(press: &Press, card: &Shelf) -> Vec<Block> {
    let mut blocks = vec![press.gap(0.9), press.head(press.say("shelf.standing")).into()];
    if card.places.is_empty() {
        blocks.push(press.body(press.say("shelf.no_place")).into());
    }
    for place in &card.places {
        let standing = if place.holdings.is_empty() {
            press.body(press.say("shelf.nothing")).into()
        } else {
            holdings(press, place)
        };
        blocks.extend(place_line(press, place).into_iter().chain([standing, press.gap(0.5)]));
    }
    blocks
}

/// The name of a place, bookmarked, and what it is like.
fn place_line(press: &Press, place: &Shelved) -> [Block; 2] {
    let site = &place.site;
    let warmest = plain(libm::round(site.warmest_c));
    let mut like = press.fill("shelf.like", &[("warmest", &warmest), ("light", site.light.word())]);
    if let Some(cabinet) = &site.cabinet {
        like = format!("{like}; {}", press.fill("shelf.cabinet", &[("cabinet", cabinet)]));
    }
    let name = press.head(&site.name);
    let like = Text { heading: true, ..press.body(&like) };
    [name.into(), like.into()]
}

/// Share of the width and head of each column.
type Columns = &'static [(f64, &'static str)];

const WIDE: Columns = &[
    (1.0, "shelf.code"),
    (2.6, "shelf.what"),
    (1.5, "shelf.label"),
    (1.6, "shelf.today"),
    (1.15, "shelf.left"),
    (1.6, "shelf.dates"),
    (1.95, "shelf.hazards"),
];

const NARROW: Columns = &[(2.3, "shelf.what"), (2.0, "shelf.strength"), (1.3, "shelf.hazards")];

fn holdings(press: &Press, place: &Shelved) -> Block {
    let narrow = press.card.paper == Some(Paper::A6);
    let columns = if narrow { NARROW } else { WIDE };
    let row = |holding| if narrow { narrow_row(press, holding) } else { wide_row(press, holding) };
    Block::Table(Table {
        widths: columns.iter().map(|(share, _)| Width::Share(*share)).collect(),
        head: columns.iter().map(|(_, key)| press.say(key).to_owned()).collect(),
        rows: place.holdings.iter().map(row).collect(),
        size: press.table_size(),
    })
}

fn wide_row(press: &Press, holding: &Holding) -> Vec<Vec<Block>> {
    vec![
        vec![bold(press, &holding.line.code)],
        [press.cell(&press.name(&holding.name)), container(press, holding), note(press, holding)].concat(),
        press.cell(&press.amount(&holding.line.label)),
        today(press, holding),
        press.cell(&press.amount(&show::amount(holding.line.left, &holding.line.unit))),
        dates(press, holding),
        hazards(press, holding),
    ]
}

/// The same on small paper: three columns, what belongs together under each other.
fn narrow_row(press: &Press, holding: &Holding) -> Vec<Vec<Block>> {
    let left = press.amount(&show::amount(holding.line.left, &holding.line.unit));
    let label = press.amount(&holding.line.label);
    vec![
        [
            vec![bold(press, &holding.line.code)],
            press.cell(&press.name(&holding.name)),
            press.cell(&left),
            container(press, holding),
            note(press, holding),
        ]
        .concat(),
        [press.cell(&press.fill("shelf.label_is", &[("label", &label)])), today(press, holding), dates(press, holding)]
            .concat(),
        hazards(press, holding),
    ]
}

fn bold(press: &Press, text: &str) -> Block {
    Text::new(Face::Bold, press.table_size(), text).into()
}

/// What it is kept in, where somebody said.
fn container(press: &Press, holding: &Holding) -> Vec<Block> {
    match holding.container {
        Container::Unknown => Vec::new(),
        known => press.cell(&known.word().replace('-', " ")),
    }
}

/// What to mind: held, empty, crystals.
fn note(press: &Press, holding: &Holding) -> Vec<Block> {
    let note = &holding.line.note;
    if note.is_empty() { Vec::new() } else { vec![bold(press, note)] }
}

/// The strength of the day with its band.
fn today(press: &Press, holding: &Holding) -> Vec<Block> {
    let Some(usual) = &holding.line.strength else { return press.cell(press.say("shelf.test_first")) };
    // The range under the middle, so that neither is torn in a narrow column.
    let said = show::with_band(usual.estimate);
    let (mid, range) = said.split_once(' ').unwrap_or((&said, ""));
    let mid = press.amount(&format!("≈ {mid} {}", usual.unit));
    [press.cell(&mid), if range.is_empty() { Vec::new() } else { press.cell(range) }].concat()
}

fn dates(press: &Press, holding: &Holding) -> Vec<Block> {
    let day = |key: &str, day: &str| press.cell(&press.fill(key, &[("day", day)]));
    let mut blocks = day("shelf.came", &holding.received.to_string());
    if let Some(opened) = holding.opened {
        blocks.extend(day("shelf.opened", &opened.to_string()));
    }
    blocks
}

/// Symbols, their codes, signal word.
fn hazards(press: &Press, holding: &Holding) -> Vec<Block> {
    let Some(shown) = &holding.shown else { return press.cell(press.say("shelf.no_data")) };
    let codes = &shown.label.pictograms;
    let names: Vec<&'static str> = codes.iter().filter_map(|code| picture::name(code)).collect();
    if names.is_empty() && shown.label.signal.is_none() {
        return press.cell(press.say("shelf.no_symbol"));
    }
    let mut blocks = vec![Block::Pictures { names, side: press.mm(8.0), gap: press.mm(0.4) }];
    if let Some(signal) = shown.label.signal {
        blocks.push(bold(press, press.signal(signal)));
    }
    blocks.push(press.small(&codes.join(" ")).into());
    blocks
}

/// What the local rules allow, against what is held.
fn limits(press: &Press, card: &Shelf) -> Vec<Block> {
    let local = &press.card.local;
    let amounts = card.audited.limits.iter().map(|limit| amount_row(press, limit));
    let strengths = local.strengths.iter().map(|row| {
        let above: Vec<&str> = card
            .holdings()
            .filter(|holding| holding.too_strong && holding.line.reagent == row.reagent)
            .map(|holding| holding.line.code.as_str())
            .collect();
        let name = named(press, &row.reagent);
        let limit = press.fill("shelf.strongest", &[("name", &name), ("most", &press.amount(&row.written))]);
        let held = if above.is_empty() {
            press.cell(press.say("shelf.none_above"))
        } else {
            vec![bold(press, &press.fill("shelf.above", &[("codes", &listed(press, &above))]))]
        };
        vec![press.cell(&limit), held, press.cell(&told(press, &row.asked))]
    });
    let rows: Vec<Vec<Vec<Block>>> = amounts.chain(strengths).collect();
    let mut blocks = vec![press.gap(0.9), press.head(press.say("shelf.limits")).into()];
    if rows.is_empty() {
        blocks.push(press.write_in(press.say("shelf.no_limit")));
        return blocks;
    }
    blocks.push(Block::Table(Table {
        widths: vec![Width::Share(2.2), Width::Share(2.0), Width::Share(2.0)],
        head: ["shelf.limit", "shelf.held", "shelf.said"].map(|key| press.fill(key, &[])).to_vec(),
        rows,
        size: press.table_size(),
    }));
    blocks
}

fn amount_row(press: &Press, limit: &Held) -> Vec<Vec<Block>> {
    let held = press.amount(&show::amount(limit.held, limit.rule.most.base_unit()));
    let codes: Vec<&str> = limit.stocks.iter().map(String::as_str).collect();
    let values = [("held", held.as_str()), ("codes", &*listed(press, &codes))];
    let mut cell = match (limit.stocks.is_empty(), limit.is_over()) {
        (true, _) => press.cell(press.say("shelf.none_held")),
        (false, true) => vec![bold(press, &press.fill("shelf.over", &values))],
        (false, false) => press.cell(&press.fill("shelf.within", &values)),
    };
    if !limit.uncounted.is_empty() {
        let codes: Vec<&str> = limit.uncounted.iter().map(String::as_str).collect();
        cell.extend(press.cell(&press.fill("shelf.uncounted", &[("codes", &listed(press, &codes))])));
    }
    vec![press.cell(&limit_words(press, limit)), cell, press.cell(&told(press, &limit.rule.asked))]
}

/// Of what how much at the most.
fn limit_words(press: &Press, limit: &Held) -> String {
    let rule = &limit.rule;
    let most = press.amount(&show::amount(rule.most.base(), rule.most.base_unit()));
    let name = named(press, &limit.of);
    match rule.stronger_than {
        Some(bound) => {
            let bound = press.amount(&format!("{} % w/w", plain(bound)));
            press.fill("shelf.most_above", &[("name", &name), ("bound", &bound), ("most", &most)])
        }
        None => press.fill("shelf.most", &[("name", &name), ("most", &most)]),
    }
}

/// Who said so, when, and whether that is too long ago.
fn told(press: &Press, asked: &Asked) -> String {
    let day = asked.on.to_string();
    let check = format!("{}{}", asked.under(), asked.check(press.card.day));
    press.fill("shelf.told", &[("whom", &asked.whom), ("day", &day), ("check", &check)])
}

/// The full name of a reagent.
fn named(press: &Press, key: &str) -> String {
    press.catalogue.reagent(key).map_or_else(|| key.to_owned(), |reagent| press.name(&reagent.name))
}

/// Which stock has which sheet; what is missing, a box to tick for each thing to ask a supplier for.
fn sheets(press: &Press, card: &Shelf) -> Vec<Block> {
    if card.sheets.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![press.gap(0.9), press.head(press.say("shelf.sheets")).into()];
    let rows = card.sheets.iter().filter_map(|line| {
        let kept = line.kept.as_ref()?;
        let revised = kept.revised.map_or_else(|| press.say("shelf.no_revision").to_owned(), |day| day.to_string());
        Some(vec![
            vec![bold(press, &line.stock)],
            press.cell(&named(press, &line.reagent)),
            press.cell(&kept.name),
            press.cell(&revised),
            press.cell(&copy(press, kept)),
        ])
    });
    let rows: Vec<Vec<Vec<Block>>> = rows.collect();
    if !rows.is_empty() {
        let head = ["shelf.code", "shelf.what", "shelf.file", "shelf.revised", "shelf.copy"];
        blocks.push(Block::Table(Table {
            widths: [1.0, 2.6, 2.6, 1.4, 1.6].map(Width::Share).to_vec(),
            head: head.map(|key| press.fill(key, &[])).to_vec(),
            rows,
            size: press.table_size(),
        }));
    }
    let mut missing: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for line in card.sheets.iter().filter(|line| line.kept.is_none()) {
        missing.entry(&line.reagent).or_default().push(&line.stock);
    }
    let lines = missing
        .into_iter()
        .map(|(reagent, codes)| press.tick(&format!("{}: {}", named(press, reagent), listed(press, &codes))).into());
    blocks.extend(under(press, press.say("shelf.missing"), lines.collect()));
    blocks
}

fn copy(press: &Press, kept: &Kept) -> String {
    let mut said = match kept.copy {
        Copied::There => press.say("shelf.there").to_owned(),
        other => press.fill("shelf.not_there", &[("copy", other.word())]),
    };
    if kept.old {
        said = format!("{said}; {}", press.say("shelf.old"));
    }
    said
}

/// What is left open: to test, to hand over, past a date, not answered, not looked at.
fn open(press: &Press, card: &Shelf) -> Vec<Block> {
    let tick = |code: &str, why: &str| Block::from(press.led(&format!("{code}:"), why).signed("☐"));
    let test = card.holdings().filter_map(|holding| Some(tick(&holding.line.code, holding.doubt.as_deref()?)));
    let go = card
        .holdings()
        .filter(|holding| !holding.because.is_empty())
        .map(|holding| tick(&holding.line.code, &holding.because.join("; ")));
    let mut parts = under(press, press.say("shelf.test"), test.collect());
    parts.extend(under(press, press.say("shelf.go"), go.collect()));
    parts.extend(under(press, press.say("shelf.past"), past(press, card)));
    let silent = card
        .unanswered
        .iter()
        .map(|silent| Block::Together(vec![press.tick(&silent.what).into(), press.gap(0.2), press.write_in("")]));
    parts.extend(under(press, press.say("shelf.unanswered"), silent.collect()));
    let unseen = card.audited.unseen.iter().map(|what| press.tick(what).into());
    parts.extend(under(press, press.say("shelf.unseen"), unseen.collect()));
    headed(press, press.say("shelf.open"), parts)
}

/// Rules and answers past their day.
fn past(press: &Press, card: &Shelf) -> Vec<Block> {
    let mut lines = Vec::new();
    for (key, day) in [("shelf.past_apart", card.audited.review), ("shelf.past_handing", card.due_since)] {
        lines.extend(day.map(|day| Block::from(press.tick(&press.fill(key, &[("day", &day.to_string())])))));
    }
    // One to whom several rows go back is asked once.
    let old: BTreeSet<(&str, NaiveDate)> =
        card.ask_again.iter().map(|(_, asked)| (asked.whom.as_str(), asked.on)).collect();
    lines.extend(old.into_iter().map(|(whom, day)| {
        Block::from(press.tick(&press.fill("shelf.past_asked", &[("whom", whom), ("day", &day.to_string())])))
    }));
    lines
}

/// Keys of everything that a figure or a finding of the card rests on.
fn sources(card: &Shelf) -> BTreeSet<String> {
    let strengths = card.holdings().flat_map(|holding| holding.sources.iter().cloned());
    let hazards = card.holdings().filter_map(|holding| holding.shown.as_ref()).flat_map(|shown| shown.sources.clone());
    let found = card.audited.findings.iter().map(|finding| finding.fault.source.clone());
    strengths.chain(hazards).chain(found).collect()
}
