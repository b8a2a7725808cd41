//! The `handover` card: what must not be moved, then box by box what is in it, how it is packed, what stays apart on the way,
//! who takes it, and the lines to sign.

use std::collections::{BTreeMap, BTreeSet};

use super::press::{Laid, Press};
use crate::catalogue::{Carriage, Container, DisposalClass, Said};
use crate::commands::card::handover::Handover;
use crate::commands::discard::{Discarded, Item};
use crate::commands::local::Asking;
use crate::disposal::local::Taker;
use crate::render::pdf::block::{Block, Frame, Row, Table, Text, Width};
use crate::render::pdf::{Face, Ink, picture};
use crate::units::show::{self, significant};

/// So many codes stand in the title.
const TITLED: usize = 4;

/// Lays it out.
pub fn card(press: &Press, card: &Handover) -> Laid {
    let plan = &card.plan;
    let codes: Vec<&str> = plan
        .items
        .iter()
        .map(|item| item.stock.as_str())
        .chain(plan.empty.iter().map(|(code, _)| code.as_str()))
        .collect();
    let title = press.fill("handover.title", &[("codes", &short(press, &codes))]);
    let staying: Vec<&Item> = plan.items.iter().filter(|item| item.gas.is_some()).collect();
    let mut blocks = Vec::new();
    if staying.is_empty() {
        blocks.push(press.band(press.say("handover.band"), &short(press, &codes)));
    } else {
        blocks.extend(do_not_move(press, plan, &staying));
        blocks.push(press.gap(0.6));
        blocks.push(press.boxed(vec![
            press.strong(press.say("handover.band")).into(),
            press.head(&short(press, &codes)).heading(0).into(),
        ]));
    }
    blocks.extend([press.gap(0.5), dated(press, plan)]);
    if let Some(day) = plan.due_since {
        blocks.push(press.strong(&press.fill("handover.due", &[("day", &day.to_string())])).into());
    }
    blocks.extend(contents(press, plan, &staying));
    blocks.extend(empties(press, plan));
    blocks.extend(packing(press, plan));
    blocks.extend(apart(press, plan));
    blocks.extend(taking(press, plan));
    blocks.extend(contacts(press));
    blocks.extend(households(press, plan));
    if plan.items.iter().any(|item| item.gas.is_none()) {
        blocks.push(signatures(press));
    }
    let estimates = plan.items.iter().any(|item| item.strength.is_some());
    Laid { title, blocks, sources: sources(plan), estimates }
}

/// `S04, S11`, of many only the first and how many more.
fn short(press: &Press, codes: &[&str]) -> String {
    if codes.len() <= TITLED + 1 {
        return codes.join(", ");
    }
    let more = (codes.len() - TITLED).to_string();
    press.fill("handover.more", &[("codes", &codes[..TITLED].join(", ")), ("more", &more)])
}

/// White on black, before all else: what nobody lifts, and who is called.
fn do_not_move(press: &Press, plan: &Discarded, staying: &[&Item]) -> Vec<Block> {
    let white = |text: Text| -> Block { text.inked(Ink::White).into() };
    let codes: Vec<&str> = staying.iter().map(|item| item.stock.as_str()).collect();
    let call = match &plan.numbers[0] {
        Some(number) => press.fill("handover.call", &[("number", number)]),
        None => press.say("handover.call_blank").to_owned(),
    };
    let call = press.huge(&call);
    let mut inner = vec![
        white(press.huge(press.say("handover.do_not_move"))),
        white(press.head(&short(press, &codes)).heading(1)),
        white(Text { size: call.size * 0.6, ..call }),
    ];
    for item in staying {
        let Some((day, what)) = &item.gas else { continue };
        let day = day.to_string();
        let values = [
            ("code", item.stock.as_str()),
            ("name", &item.name),
            ("place", &item.place),
            ("what", what),
            ("day", &day),
        ];
        inner.push(white(press.body(&press.fill("handover.why_not", &values))));
        for taker in &item.takers {
            let phone = phone(press, taker).map_or_else(String::new, |phone| format!("; {phone}"));
            let who = format!("{}{phone}", taker.who);
            inner.push(white(press.strong(&press.fill("handover.ring_taker", &[("who", &who)]))));
        }
    }
    inner.push(white(press.body(press.say("handover.keep_away"))));
    let mut blocks = vec![Block::Frame(Frame { inner, line: 0.0, padding: press.mm(3.0), fill: Some(Ink::Black) })];
    if plan.numbers[0].is_none() {
        blocks.push(press.contact(press.say("frame.emergency"), None));
    }
    blocks
}

/// The day, and whose lists and laws are shown.
fn dated(press: &Press, plan: &Discarded) -> Block {
    let places: Vec<&str> = plan.places.iter().map(|place| place.word()).collect();
    let key = if plan.place_known { "handover.dated" } else { "handover.dated_unknown" };
    press.body(&press.fill(key, &[("day", &plan.on.to_string()), ("places", &places.join(", "))])).into()
}

/// What stays, then box by box what goes.
fn contents(press: &Press, plan: &Discarded, staying: &[&Item]) -> Vec<Block> {
    let mut blocks = Vec::new();
    if !staying.is_empty() {
        blocks.extend(boxful(press, plan, press.say("handover.no_box"), staying));
    }
    let many = plan.boxes.len().to_string();
    for (number, codes) in plan.boxes.iter().enumerate() {
        let items: Vec<&Item> =
            codes.iter().filter_map(|code| plan.items.iter().find(|item| item.stock == *code)).collect();
        let values = [("number", &*(number + 1).to_string()), ("many", &*many), ("codes", &*codes.join(", "))];
        blocks.extend(boxful(press, plan, &press.fill("handover.box", &values), &items));
    }
    blocks
}

/// A heading and the stocks under it; the heading stays with the first.
fn boxful(press: &Press, plan: &Discarded, heading: &str, items: &[&Item]) -> Vec<Block> {
    let mut blocks = vec![press.gap(0.8)];
    for (number, item) in items.iter().enumerate() {
        let heading = (number == 0).then(|| [press.head(heading).into(), press.gap(0.2)]);
        let whole = heading.into_iter().flatten().chain([stock(press, plan, item), press.gap(0.4)]);
        blocks.push(Block::Together(whole.collect()));
    }
    blocks
}

/// One stock: what it is at the left, its symbols at the right, what is only told below.
fn stock(press: &Press, plan: &Discarded, item: &Item) -> Block {
    let mut left: Vec<Block> = vec![
        press.head(&format!("{} · {}", item.stock, press.name(&item.name))).heading(1).into(),
        press.strong(&now(press, item)).into(),
        press.body(&amounts(press, item)).into(),
    ];
    left.extend(item.because.iter().map(|why| press.led(press.say("handover.because"), why).into()));
    if item.unlabelled {
        left.push(press.strong(press.say("handover.unlabelled")).into());
    }
    let mut inner = vec![Block::Row(Row {
        cells: vec![(Width::Share(1.0), left), (Width::Fixed(press.mm(57.0)), symbols(press, item))],
        gap: press.mm(3.0),
    })];
    inner.extend(statements(press, item));
    inner.push(press.gap(0.25));
    inner.push(information(press, plan, item));
    press.boxed(inner)
}

/// The strength of today with its band.
fn now(press: &Press, item: &Item) -> String {
    match &item.strength {
        Some(usual) => {
            let strength = press.amount(&format!("≈ {}", show::with_band(usual.estimate)));
            let strength = format!("{strength} {}", press.amount(&usual.unit));
            press.fill("handover.now", &[("strength", &strength)])
        }
        None => press.say("handover.now_unknown").to_owned(),
    }
}

/// What its label says, how much, in what.
fn amounts(press: &Press, item: &Item) -> String {
    let left = press.amount(&show::amount(item.left, &item.unit));
    let label = press.amount(&item.label);
    let container = match item.container {
        Container::Unknown => press.say("handover.container").to_owned(),
        known => known.word().replace('-', " "),
    };
    let cap = match item.cap {
        Some(cap) => press.fill("handover.cap", &[("cap", cap.word())]),
        None => String::new(),
    };
    press.fill("handover.amounts", &[("label", &label), ("left", &left), ("container", &container), ("cap", &cap)])
}

/// Symbols and signal word, as on its label.
fn symbols(press: &Press, item: &Item) -> Vec<Block> {
    let Some(shown) = &item.hazard else { return vec![press.body(press.say("handover.no_data")).into()] };
    let names: Vec<&'static str> = shown.label.pictograms.iter().filter_map(|code| picture::name(code)).collect();
    let mut blocks = Vec::new();
    if !names.is_empty() {
        blocks.push(Block::Pictures { names, side: press.mm(18.0), gap: press.mm(1.0) });
    }
    if let Some(signal) = shown.label.signal {
        blocks.push(press.head(press.signal(signal)).into());
    }
    if blocks.is_empty() {
        blocks.push(press.body(press.say("handover.no_symbol")).into());
    }
    blocks
}

/// The statements of its label, one a line.
fn statements(press: &Press, item: &Item) -> Vec<Block> {
    let Some(shown) = &item.hazard else { return Vec::new() };
    let codes = shown.label.statements.iter().chain(&shown.extra);
    codes.map(|code| press.led(code, &press.statement(code)).into()).collect()
}

/// What is told for information: names for the way, lists of waste, the law.
fn information(press: &Press, plan: &Discarded, item: &Item) -> Block {
    let mut rows = vec![(press.say("handover.carriage"), carriage(press, item))];
    let codes: Vec<String> = item
        .codes
        .iter()
        .map(|row| marked(press, &format!("{} {} {}", row.jurisdiction.word(), row.code, row.words), &row.source))
        .collect();
    if !codes.is_empty() {
        rows.push((press.say("handover.waste"), codes));
    }
    let law: Vec<String> = item
        .law
        .iter()
        .map(|row| {
            let loss = row
                .loss
                .as_ref()
                .map_or_else(String::new, |loss| format!(" {}", press.fill("handover.loss", &[("loss", loss)])));
            marked(press, &format!("{}, {}: {}.{loss}", row.place, row.bound, row.effect), &row.source)
        })
        .collect();
    if !law.is_empty() {
        rows.push((press.say("handover.law"), law));
    }
    if !item.still_good_for.is_empty() {
        let dips: Vec<&str> = item.still_good_for.iter().map(|(dip, _)| dip.as_str()).collect();
        rows.push((
            press.say("handover.still"),
            vec![press.fill("handover.still_good", &[("dips", &dips.join(", "))])],
        ));
    }
    if item.too_strong {
        rows.push((press.say("handover.bound"), vec![press.say("handover.too_strong").to_owned()]));
    }
    if !item.takers.is_empty() && item.gas.is_none() && plan.items.len() > 1 {
        let who: Vec<String> = item.takers.iter().map(|taker| taker.who.clone()).collect();
        rows.push((press.say("handover.to"), who));
    }
    let rows = rows.into_iter().map(|(what, lines)| {
        let what = vec![Text::new(Face::Bold, press.table_size(), what).into()];
        vec![what, lines.iter().flat_map(|line| press.cell(line)).collect()]
    });
    Block::Table(Table {
        widths: vec![Width::Share(1.0), Width::Share(3.4)],
        head: Vec::new(),
        rows: rows.collect(),
        size: press.table_size(),
    })
}

/// The names under which it is carried; the carrier decides.
fn carriage(press: &Press, item: &Item) -> Vec<String> {
    let named =
        |row: &Carriage| press.fill("handover.un", &[("un", &row.un), ("class", &row.class), ("group", &row.group)]);
    let fits = item.carried.iter().map(|row| marked(press, &named(row), &row.source));
    let may = item.may_be_carried.iter().map(|row| {
        let when = row.strength.as_deref().unwrap_or(press.say("handover.if_unknown"));
        marked(press, &press.fill("handover.perhaps", &[("un", &named(row)), ("when", when)]), &row.source)
    });
    let mut lines: Vec<String> = fits.chain(may).collect();
    if lines.is_empty() {
        lines.push(press.say("handover.no_un").to_owned());
    }
    let counted = match item.counted {
        Some(percent) => {
            let of = item.counted_as.map_or(String::new(), |what| format!(" {what}"));
            let percent = press.amount(&format!("{} % w/w", three(percent)));
            press.fill("handover.counted", &[("percent", &format!("{percent}{of}"))])
        }
        None => press.say("handover.counted_unknown").to_owned(),
    };
    lines.push(counted);
    lines
}

/// Three figures, noughts behind the point left out.
fn three(value: f64) -> String {
    let text = significant(value, 3);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Words with the mark of what nobody here has read.
fn marked(press: &Press, text: &str, source: &str) -> String {
    let mark = press.catalogue.source(source).and_then(|source| source.mark());
    mark.map_or_else(|| text.to_owned(), |mark| format!("{text} [{mark}]"))
}

fn empties(press: &Press, plan: &Discarded) -> Vec<Block> {
    if plan.empty.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![press.gap(0.8), press.head(press.say("handover.empty")).into()];
    blocks.extend(plan.empty.iter().map(|(code, name)| {
        press.tick(&press.fill("handover.rinse", &[("code", code), ("name", &press.name(name))])).into()
    }));
    blocks
}

/// Boxes to tick: once for all stocks that leave in the same way, then for every package.
fn packing(press: &Press, plan: &Discarded) -> Vec<Block> {
    let going: Vec<&Item> = plan.items.iter().filter(|item| item.gas.is_none()).collect();
    if going.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![press.gap(0.9)];
    let mut head = vec![press.head(press.say("handover.pack")).into()];
    let mut classes: BTreeMap<&str, (&DisposalClass, Vec<&str>)> = BTreeMap::new();
    for item in &going {
        if let Some(class) = &item.class {
            classes.entry(&class.key).or_insert((class, Vec::new())).1.push(&item.stock);
        }
    }
    for (class, codes) in classes.values() {
        let heading = press.strong(&format!("{}: {}", codes.join(", "), press.text(&class.name)));
        let heading = Text { heading: true, ..heading };
        let ticks = class.pack.iter().map(|line| press.tick(&advice(press, line)).into());
        let never = class.never.iter().map(|line| press.body(&advice(press, line)).signed("×").into());
        let lines: Vec<Block> = ticks.chain(never).collect();
        let whole = [std::mem::take(&mut head), vec![heading.into()], lines].concat();
        blocks.extend([Block::Together(whole), press.gap(0.3)]);
    }
    let unknown: Vec<&str> = going.iter().filter(|item| item.class.is_none()).map(|item| item.stock.as_str()).collect();
    if !unknown.is_empty() {
        blocks.append(&mut head);
        blocks.push(press.tick(&press.fill("handover.pack_unknown", &[("codes", &unknown.join(", "))])).into());
    }
    let every = Text { heading: true, ..press.strong(press.say("handover.every")) };
    let lines = plan.package.iter().map(|line| Block::from(press.tick(&advice(press, line))));
    blocks.push(Block::Together(std::iter::once(every.into()).chain(lines).collect()));
    blocks
}

fn advice(press: &Press, said: &Said) -> String {
    marked(press, &press.text(&said.say), &said.source)
}

/// What must not meet on the way, and what would happen.
fn apart(press: &Press, plan: &Discarded) -> Vec<Block> {
    if plan.far_apart.is_empty() {
        return Vec::new();
    }
    let rows = plan.far_apart.iter().map(|(one, other, then)| {
        let both = press.fill("handover.both", &[("one", one), ("other", other)]);
        vec![vec![press.strong(&both).into()], vec![press.body(&press.text(then)).into()]]
    });
    let table = Table {
        widths: vec![Width::Share(1.0), Width::Share(2.4)],
        head: Vec::new(),
        rows: rows.collect(),
        size: press.table_size(),
    };
    vec![press.gap(0.9), press.head(press.say("handover.apart")).into(), Block::Table(table)]
}

/// Who takes it; where nobody is on record, what to ask whom, with lines for the answers.
fn taking(press: &Press, plan: &Discarded) -> Vec<Block> {
    let mut blocks = Vec::new();
    if plan.items.is_empty() {
        return blocks;
    }
    blocks.extend([press.gap(0.9), press.head(press.say("handover.takes")).into()]);
    let mut told: Vec<(&Taker, Vec<&str>)> = Vec::new();
    for item in plan.items.iter().filter(|item| item.gas.is_none()) {
        for taker in &item.takers {
            match told.iter_mut().find(|(known, _)| *known == taker) {
                Some((_, codes)) => codes.push(&item.stock),
                None => told.push((taker, vec![&item.stock])),
            }
        }
    }
    for (taker, codes) in told {
        let asked = &taker.asked;
        let day = asked.on.to_string();
        let check = format!("{}{}", asked.under(), asked.check(plan.on));
        let values = [("whom", asked.whom.as_str()), ("day", &day), ("check", &check)];
        blocks.push(Block::Together(vec![
            press.strong(&format!("{}: {}", codes.join(", "), reached(press, taker))).into(),
            press.body(&press.fill("handover.asked", &values)).into(),
            press.gap(0.3),
        ]));
    }
    let nobody: Vec<&str> =
        plan.items.iter().filter(|item| item.takers.is_empty()).map(|item| item.stock.as_str()).collect();
    if !nobody.is_empty() {
        blocks.push(press.strong(&press.fill("handover.nobody", &[("codes", &nobody.join(", "))])).into());
    }
    blocks.extend(plan.ask.iter().flat_map(|asking| questions(press, asking)));
    blocks
}

/// Who, how, and under which number.
fn reached(press: &Press, taker: &Taker) -> String {
    [Some(taker.who.clone()), taker.how.clone(), taker.days.clone(), phone(press, taker)]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join("; ")
}

fn phone(press: &Press, taker: &Taker) -> Option<String> {
    taker.phone.as_ref().map(|phone| press.fill("handover.phone", &[("phone", phone)]))
}

/// Questions to one, each with a line for the answer.
fn questions(press: &Press, asking: &Asking) -> Vec<Block> {
    let whom = Text { heading: true, ..press.led(press.say("handover.ask"), &asking.whom) };
    let mut blocks = vec![press.gap(0.3), whom.into()];
    for (number, question) in asking.questions.iter().enumerate() {
        let mut whole = vec![press.body(question).signed("·").into(), press.gap(0.3), press.write_in("")];
        // Whom one spoke to stays with the last answer.
        if number + 1 == asking.questions.len() {
            whole.push(press.write_in(press.say("handover.spoke_to")));
        }
        blocks.push(Block::Together(whole));
    }
    blocks
}

fn contacts(press: &Press) -> Vec<Block> {
    let mut whole = vec![press.head(press.say("handover.wrong")).into()];
    whole.extend(press.contacts());
    vec![press.gap(0.9), Block::Together(whole)]
}

/// What is said of households, for information.
fn households(press: &Press, plan: &Discarded) -> Vec<Block> {
    if plan.household.is_empty() || plan.items.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![press.gap(0.6), press.small(press.say("handover.household")).into()];
    blocks.extend(plan.household.iter().map(|row| {
        press.small(&marked(press, &format!("{}: {}", row.jurisdiction.word(), row.say), &row.source)).into()
    }));
    blocks
}

/// Lines to sign, each twice as high as a line of reading: handed over, taken, when, under which number.
fn signatures(press: &Press) -> Block {
    let keys = ["handover.from", "handover.by", "handover.date", "handover.reference"];
    let lines = keys.into_iter().flat_map(|key| [press.gap(0.7), press.write_in(press.say(key))]);
    let mut blocks = vec![press.gap(0.8), press.head(press.say("handover.signed")).into()];
    blocks.push(press.boxed(lines.chain([press.gap(0.5)]).collect()));
    Block::Together(blocks)
}

/// Keys of everything that a figure or a line of the card rests on.
fn sources(plan: &Discarded) -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    for item in &plan.items {
        keys.extend(item.sources.iter().cloned());
        keys.extend(item.hazard.iter().flat_map(|shown| shown.sources.clone()));
        keys.extend(item.carried.iter().chain(&item.may_be_carried).map(|row| row.source.clone()));
        keys.extend(item.codes.iter().map(|row| row.source.clone()));
        keys.extend(item.law.iter().map(|row| row.source.clone()));
        let class = item.class.iter().filter(|_| item.gas.is_none());
        keys.extend(class.flat_map(|class| class.pack.iter().chain(&class.never)).map(|said| said.source.clone()));
    }
    if !plan.items.is_empty() {
        keys.extend(plan.package.iter().map(|said| said.source.clone()));
        keys.extend(plan.household.iter().map(|row| row.source.clone()));
    }
    keys
}
