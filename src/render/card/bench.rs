//! The `bench` card: followed from top to bottom with wet gloves.

use super::bench_steps::{Steps, before, drain, ending, in_the_bath, record};
use super::bench_words::{chance_words, columns, counted, in_units, reagent_name};
use super::press::{Laid, Press};
use crate::catalogue::Bathed;
use crate::commands::card::bench::{Bench, Bottles, End};
use crate::commands::dose_steps::baths;
use crate::dip::{Until, Verdict};
use crate::hazard::label::Label;
use crate::hazard::supplement::Extra;
use crate::render::pdf::block::{Block, Frame, Row, Text, Width};
use crate::render::pdf::wrap::Span;
use crate::render::pdf::{Face, Ink, picture};
use crate::units::show;

/// Lays it out.
pub fn card(press: &Press, card: &Bench) -> Laid {
    let name = press.of_dip(&card.dip.name);
    let bath = in_units(press, &card.bath);
    let title = press.fill("bench.title", &[("dip", &name), ("bath", &bath)]);
    let mut blocks = vec![press.band(press.say("bench.kind"), &title)];
    // What is not to be followed says so on every page.
    let title = match card.verdict {
        Verdict::Ready => title,
        _ => format!("{} · {title}", press.fill("bench.not-ready", &[("verdict", not_ready(press, card).0)])),
    };
    blocks.extend(readiness(press, card));
    blocks.extend(followed(press, card));
    blocks.push(press.gap(0.5));
    let plants = press.of_dip(&card.dip.plants);
    blocks.push(press.led(press.say("bench.used-for"), &press.of_dip(&card.dip.used_for)).into());
    blocks.push(press.led(press.say("bench.for-plants"), &plants).into());
    blocks.push(press.gap(0.6));
    blocks.push(hazards(press, card));
    blocks.push(press.gap(0.6));
    blocks.extend(press.contacts());
    blocks.extend(mind(press, card));
    let mut steps = Steps::new(press);
    before(&mut steps, card);
    in_the_bath(&mut steps, card);
    ending(&mut steps, card);
    drain(&mut steps, card);
    record(&mut steps);
    blocks.extend(steps.blocks);
    blocks.extend(not_shown(press, card));
    Laid { title, blocks, sources: sources(card), estimates: true }
}

/// What stands in the way, as a plain black band; or until when the amounts hold.
fn readiness(press: &Press, card: &Bench) -> Vec<Block> {
    let plan = &card.dosed.plan;
    let chance = plan.chance.map(|chance| {
        let chance = chance_words(press, chance);
        let wanted = press.amount(&show::chance(card.threshold));
        press.fill("bench.chance", &[("chance", &chance), ("wanted", &wanted)])
    });
    if card.verdict != Verdict::Ready {
        let (verdict, reason) = not_ready(press, card);
        let white = |text: Text| -> Block { text.inked(Ink::White).into() };
        let head = press.fill("bench.not-ready", &[("verdict", verdict)]);
        let mut inner = vec![white(press.head(&head)), white(press.strong(&reason))];
        inner.extend(shelf_short(press, &card.end).map(white));
        inner.extend(chance.map(|chance| white(press.body(&chance))));
        let band = Frame { inner, line: 0.0, padding: press.mm(2.5), fill: Some(Ink::Black) };
        return vec![press.gap(0.6), Block::Frame(band)];
    }
    let mut lines: Vec<Block> = vec![press.gap(0.4)];
    let chance = chance.unwrap_or_default();
    let until = match plan.until {
        Some(Until::Day(day)) => press.fill("bench.until", &[("day", &day.to_string())]),
        _ => String::new(),
    };
    lines.push(press.body(format!("{chance} {until}").trim()).into());
    // A plan that is ready has no reason but that a label is stronger than the keeper was told.
    if !plan.reasons.is_empty() {
        lines.push(press.strong(press.say("bench.above-local")).into());
    }
    lines
}

/// The baths that follow it, with what is measured out for each from what this one leaves.
fn followed(press: &Press, card: &Bench) -> Option<Block> {
    let baths: Vec<String> = baths(&card.dosed.then)
        .map(|next| {
            let name = press.of_dip(&next.dip.name);
            let doses = next.plan.doses.iter();
            let doses =
                doses.map(|dose| format!("{} {}", dose.code, press.amount(&show::amount(dose.amount, &dose.unit))));
            match doses.collect::<Vec<_>>().join(" + ") {
                none if none.is_empty() => name,
                doses => format!("{name} ({doses})"),
            }
        })
        .collect();
    let told = press.fill("bench.followed", &[("baths", &baths.join("; "))]);
    (!baths.is_empty()).then(|| press.boxed(vec![press.strong(&told).into()]))
}

/// That what ends the bath is not there in full.
fn shelf_short(press: &Press, end: &End) -> Option<Text> {
    let needed = end.quenched.ending.as_ref()?.needed.as_ref().filter(|needed| !needed.enough())?;
    let [planned, held] = [needed.planned, needed.held].map(|mass| counted(press, &needed.neutraliser, mass));
    let values = [("grams", &*planned), ("held", &held), ("neutraliser", &reagent_name(press, &needed.neutraliser))];
    Some(press.body(&press.fill("bench.shelf-short", &values)))
}

/// The verdict and why, in the card's language.
fn not_ready(press: &Press, card: &Bench) -> (&'static str, String) {
    let stoppable = card.can_be_ended;
    let litres = libm::floor(card.largest.to_l() * 10.0 + 1e-6) / 10.0;
    let largest = press.amount(&format!("{} L", show::plain(litres)));
    match card.verdict {
        Verdict::Ready => ("", String::new()),
        Verdict::TestFirst => (press.say("bench.test-first"), press.say("bench.test-first-why").to_owned()),
        Verdict::Short if litres <= 0.0 => {
            let why = if stoppable { press.say("bench.none-why") } else { press.say("bench.none-stop-why") };
            (press.say("bench.short"), why.to_owned())
        }
        Verdict::Short if !stoppable => {
            (press.say("bench.short"), press.fill("bench.short-stop-why", &[("largest", &largest)]))
        }
        Verdict::Short => (press.say("bench.short"), press.fill("bench.short-why", &[("largest", &largest)])),
        Verdict::TooWeak => (press.say("bench.too-weak"), press.say("bench.too-weak-why").to_owned()),
        Verdict::Held => (press.say("bench.held"), press.say("bench.held-why").to_owned()),
    }
}

/// The diluted bath beside the bottle that is poured from.
fn hazards(press: &Press, card: &Bench) -> Block {
    let mut bath = vec![Block::from(press.strong(press.say("bench.in-the-bath")))];
    let judged = &card.judged;
    bath.extend(label(press, &judged.label, &judged.judged.supplements, 15.0));
    if judged.label.statements.is_empty() {
        bath.push(press.body(press.say("bench.no-class")).into());
    }
    let gaps = (!judged.judged.gaps.is_empty()).then(|| press.say("bench.gaps"));
    let recalled = (!judged.unverified.is_empty()).then(|| press.say("bench.recalled"));
    let doubts: Vec<&str> = gaps.into_iter().chain(recalled).collect();
    let precautions = precautions(press, &judged.label);
    for line in [precautions, doubts.join(" ")].iter().filter(|line| !line.is_empty()) {
        bath.push(press.small(line).into());
    }
    let mut bottle = Vec::new();
    for bottles in &card.bottles {
        bottle.extend(in_the_bottle(press, bottles));
    }
    if card.bottles.is_empty() {
        bottle.push(press.strong(press.say("bench.in-any-bottle")).into());
        bottle.push(press.small(press.say("bench.read-label")).into());
    }
    press.boxed(vec![Block::Row(Row {
        cells: vec![(Width::Share(3.0), bath), (Width::Share(2.0), bottle)],
        gap: press.mm(5.0),
    })])
}

fn in_the_bottle(press: &Press, bottles: &Bottles) -> Vec<Block> {
    let codes = bottles.codes.join(", ");
    let mut blocks = vec![Block::from(press.strong(&press.fill("bench.in-the-bottle", &[("codes", &codes)])))];
    let names = pictograms(&bottles.label);
    let signal = bottles.label.signal.map(|signal| press.signal(signal).to_uppercase()).unwrap_or_default();
    let mut words = said(press, &bottles.label, &bottles.supplements);
    if words.is_empty() {
        words = press.say("bench.no-class-bottle").to_owned();
    }
    if !names.is_empty() {
        blocks.push(Block::Pictures { names, side: press.mm(9.0), gap: press.mm(1.0) });
    }
    // The bottle is the dangerous one of the two: it is read as large as the bath.
    let size = press.body("").size;
    let spans = if signal.is_empty() {
        vec![Span::new(Face::Regular, &words)]
    } else {
        vec![Span::new(Face::Bold, &signal), Span::new(Face::Regular, &format!(" {words}"))]
    };
    blocks.push(Text::spans(size, spans).into());
    blocks
}

fn pictograms(label: &Label) -> Vec<&'static str> {
    label.pictograms.iter().filter_map(|code| picture::name(code)).collect()
}

/// The hazard statements and those beyond the classes, one after the other.
fn said(press: &Press, label: &Label, supplements: &[Extra]) -> String {
    let mut words: Vec<String> = label.statements.iter().map(|code| press.statement(code)).collect();
    words.extend(supplements.iter().map(|extra| {
        let names = extra.names.as_deref().and_then(|key| press.catalogue.reagent(key));
        let names = names.map_or(String::new(), |reagent| press.text(&reagent.name));
        press.statement(&extra.statement).replace("<substance>", &names)
    }));
    words.join(" ")
}

/// Symbols, signal word and statements.
fn label(press: &Press, label: &Label, supplements: &[Extra], side: f64) -> Vec<Block> {
    let mut blocks = Vec::new();
    let names = pictograms(label);
    if !names.is_empty() {
        blocks.push(Block::Pictures { names, side: press.mm(side), gap: press.mm(1.5) });
    }
    if let Some(signal) = label.signal {
        blocks.push(Text { bookmark: None, ..press.head(&press.signal(signal).to_uppercase()) }.into());
    }
    let words = said(press, label, supplements);
    if !words.is_empty() {
        blocks.push(press.body(&words).into());
    }
    blocks
}

/// The precautionary statements, but for those with a gap that a supplier fills in: where the bath goes is a step below.
fn precautions(press: &Press, label: &Label) -> String {
    let words = label.precautions.iter().map(|code| press.statement(code));
    words.filter(|words| !words.contains('…')).collect::<Vec<_>>().join(" ")
}

/// The cautions of the dip, in two columns.
fn mind(press: &Press, card: &Bench) -> Vec<Block> {
    let cautions: Vec<String> = card.dip.cautions.iter().map(|line| press.of_dip(line)).collect();
    let mut blocks = vec![Block::from(press.head(press.say("bench.mind")))];
    blocks.push(columns(press, &cautions));
    blocks.push(press.gap(0.5));
    blocks
}

fn not_shown(press: &Press, card: &Bench) -> Vec<Block> {
    let lines: Vec<String> = card.dip.not_shown.iter().map(|line| press.of_dip(line)).collect();
    vec![Block::Together(vec![press.head(press.say("bench.not-shown")).into(), columns(press, &lines)]), press.gap(0.5)]
}

/// Keys of the sources of the figures shown.
fn sources(card: &Bench) -> std::collections::BTreeSet<String> {
    let dip = &card.dip;
    let mut keys = vec![&dip.target.source, &dip.target.band_source, &dip.minutes.source];
    keys.extend(card.protection.iter().take(2).map(|line| &line.source));
    if dip.bathed != Bathed::Tank {
        let quenched = &card.end.quenched;
        keys.extend(quenched.cautions.iter().map(|line| &line.source));
        keys.extend(quenched.steps.iter().map(|step| &step.source));
        keys.extend(quenched.treatment.map(|treatment| &treatment.minutes.source));
    }
    keys.extend(card.end.bath.iter().map(|line| &line.source));
    keys.into_iter().filter(|key| *key != "definition").cloned().collect()
}
