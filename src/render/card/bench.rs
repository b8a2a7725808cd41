//! The `bench` card: followed from top to bottom with wet gloves.

use super::press::{Laid, Press};
use crate::catalogue::{Bathed, Form, Minutes, Signal};
use crate::commands::card::bench::{Bench, Bottles, Customary, End, InUnits, Made, Poured, Read, With};
use crate::dip::{Until, Verdict};
use crate::disposal::after::Stands;
use crate::disposal::quench;
use crate::hazard::label::Label;
use crate::hazard::supplement::Extra;
use crate::render::pdf::block::{Block, Frame, Row, Text, Width};
use crate::render::pdf::wrap::Span;
use crate::render::pdf::{Face, Ink, picture};
use crate::render::text::{minutes, round_grams};
use crate::units::{Mass, show};

/// Up to this many minutes a timer is set in seconds.
const IN_SECONDS_MIN: f64 = 15.0;

/// Lays it out.
pub fn card(press: &Press, card: &Bench) -> Laid {
    let name = press.text(&card.dip.name);
    let bath = in_units(press, &card.bath);
    let title = press.fill("bench.title", &[("dip", &name), ("bath", &bath)]);
    let mut blocks = vec![press.band(press.say("bench.kind"), &title)];
    blocks.extend(readiness(press, card));
    blocks.push(press.gap(0.5));
    let plants = press.text(&card.dip.plants);
    blocks.push(press.led(press.say("bench.used-for"), &press.text(&card.dip.used_for)).into());
    blocks.push(press.led(press.say("bench.for-plants"), &plants).into());
    blocks.push(press.gap(0.6));
    blocks.push(hazards(press, card));
    blocks.push(press.gap(0.6));
    blocks.extend(help(press));
    blocks.extend(mind(press, card));
    let mut steps = Steps { press, done: 0, blocks: Vec::new() };
    before(&mut steps, card);
    in_the_bath(&mut steps, card);
    ending(&mut steps, card);
    drain(&mut steps, card);
    record(&mut steps);
    blocks.extend(steps.blocks);
    blocks.extend(not_shown(press, card));
    Laid { title, blocks, sources: sources(card), estimates: true }
}

/// The steps so far.
struct Steps<'a> {
    press: &'a Press<'a>,
    done: usize,
    blocks: Vec<Block>,
}

impl Steps<'_> {
    /// Appends a step.
    fn add(&mut self, head: &str, what: Vec<Block>) {
        let step = self.step(head, what);
        self.blocks.push(step);
    }

    /// A step: its number, what it is in a few words, and what is to be done; kept together.
    fn step(&mut self, head: &str, what: Vec<Block>) -> Block {
        let press = self.press;
        self.done += 1;
        let mut inner = vec![Block::from(press.head(head))];
        inner.extend(what);
        let number = press.head(&self.done.to_string());
        let number = Text { bookmark: None, heading: false, ..number };
        Block::Together(vec![
            Block::Rule { thickness: 0.3, ink: Ink::Black },
            press.gap(0.25),
            Block::Row(Row {
                cells: vec![(Width::Fixed(press.mm(8.0)), vec![number.into()]), (Width::Share(1.0), inner)],
                gap: press.mm(1.0),
            }),
            press.gap(0.35),
        ])
    }
}

/// What stands in the way, as a plain black band; or until when the amounts hold.
fn readiness(press: &Press, card: &Bench) -> Vec<Block> {
    let plan = &card.dosed.plan;
    let chance = plan.chance.map(|chance| {
        let chance = chance_words(press, chance);
        let wanted = press.amount(&show::chance(card.threshold));
        press.fill("bench.chance", &[("chance", &chance), ("wanted", &wanted)])
    });
    if plan.verdict != Verdict::Ready {
        let (verdict, reason) = not_ready(press, card);
        let white = |text: Text| -> Block { text.inked(Ink::White).into() };
        let head = press.fill("bench.not-ready", &[("verdict", verdict)]);
        let mut inner = vec![white(press.head(&head)), white(press.strong(&reason))];
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
    lines.extend(shelf_short(press, &card.end));
    lines
}

/// That what ends the bath is not there in full, said before anything is begun: `dose` counts the aim, `quench` the upper
/// end of the band.
fn shelf_short(press: &Press, end: &End) -> Option<Block> {
    let needed = end.quenched.ending.as_ref()?.needed.as_ref().filter(|needed| !needed.enough())?;
    let [planned, held] = [needed.planned, needed.held].map(|mass| counted(press, &needed.neutraliser, mass));
    let values = [("grams", &*planned), ("held", &held), ("neutraliser", &reagent_name(press, &needed.neutraliser))];
    Some(press.strong(&press.fill("bench.shelf-short", &values)).into())
}

/// A mass of a neutraliser with two figures; of a solution it is that of the substance in it, and says so.
fn counted(press: &Press, neutraliser: &str, mass: Mass) -> String {
    let grams = press.amount(&show::grams(show::significant(mass.to_g(), 2).parse().unwrap_or(mass.to_g())));
    let solid = press.catalogue.reagent(neutraliser).is_some_and(|reagent| reagent.forms.contains(&Form::Solid));
    if solid { grams } else { press.fill("bench.counted-pure", &[("grams", &grams)]) }
}

/// The verdict and why, in the card's language.
fn not_ready(press: &Press, card: &Bench) -> (&'static str, String) {
    let plan = &card.dosed.plan;
    let stoppable = card.dosed.stopping.as_ref().is_none_or(|stopping| stopping.enough());
    let litres = libm::floor(plan.largest.to_l() * 10.0 + 1e-6) / 10.0;
    let largest = press.amount(&format!("{} L", show::plain(litres)));
    match plan.verdict {
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

/// A chance as `dose` says it, marked as estimated.
fn chance_words(press: &Press, chance: f64) -> String {
    let said = show::chance(chance);
    let split = said.split_once(' ').filter(|(word, _)| matches!(*word, "over" | "under"));
    let said = match split {
        Some(("over", rest)) => press.fill("bench.over", &[("chance", &press.amount(rest))]),
        Some((_, rest)) => press.fill("bench.under", &[("chance", &press.amount(rest))]),
        None => press.amount(&said),
    };
    format!("≈\u{a0}{said}")
}

/// A volume, and in brackets the same in the keeper's own units.
fn in_units(press: &Press, volume: &InUnits) -> String {
    let metric = press.amount(&volume.metric);
    let Some((count, unit)) = &volume.customary else { return metric };
    let unit = match unit {
        Customary::UsGallon => press.say("bench.us-gallons"),
        Customary::UsOunce => press.say("bench.us-ounces"),
        Customary::ImperialGallon => press.say("bench.imperial-gallons"),
        Customary::ImperialOunce => press.say("bench.imperial-ounces"),
    };
    format!("{metric} ({}\u{a0}{})", press.amount(count), unit.replace(' ', "\u{a0}"))
}

/// A strength of the dip book: `2.7 g/L available chlorine`.
fn strength(press: &Press, written: &str) -> String {
    match written.strip_suffix(" available chlorine") {
        Some(amount) => press.fill("bench.chlorine", &[("amount", &press.amount(amount))]),
        None => press.amount(written),
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
    let signal = bottles.label.signal.map(|signal| signal_word(press, signal)).unwrap_or_default();
    let mut words = said(press, &bottles.label, &bottles.supplements);
    if words.is_empty() {
        words = press.say("bench.no-class-bottle").to_owned();
    }
    if !names.is_empty() {
        blocks.push(Block::Pictures { names, side: press.mm(9.0), gap: press.mm(1.0) });
    }
    let size = press.small("").size;
    let spans = if signal.is_empty() {
        vec![Span::new(Face::Regular, &words)]
    } else {
        vec![Span::new(Face::Bold, signal), Span::new(Face::Regular, &format!(" {words}"))]
    };
    blocks.push(Text::spans(size, spans).into());
    blocks
}

fn pictograms(label: &Label) -> Vec<&'static str> {
    label.pictograms.iter().filter_map(|code| picture::name(code)).collect()
}

fn signal_word(press: &Press, signal: Signal) -> &'static str {
    match signal {
        Signal::Danger => press.say("bench.danger"),
        Signal::Warning => press.say("bench.warning"),
    }
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
        blocks.push(Text { bookmark: None, ..press.head(signal_word(press, signal)) }.into());
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
    let cautions: Vec<String> = card.dip.cautions.iter().map(|line| press.text(line)).collect();
    let mut blocks = vec![Block::from(press.head(press.say("bench.mind")))];
    blocks.push(columns(press, &cautions));
    blocks.push(press.gap(0.5));
    blocks
}

/// A list in two columns of about the same length.
fn columns(press: &Press, lines: &[String]) -> Block {
    let whole: usize = lines.iter().map(String::len).sum();
    let mut before = 0;
    let left = lines
        .iter()
        .take_while(|line| {
            before += line.len();
            2 * before <= whole + line.len()
        })
        .count();
    let list = |lines: &[String]| lines.iter().map(|line| listed(press, line)).collect();
    Block::Row(Row {
        cells: vec![(Width::Share(1.0), list(&lines[..left])), (Width::Share(1.0), list(&lines[left..]))],
        gap: press.mm(5.0),
    })
}

fn listed(press: &Press, line: &str) -> Block {
    Text::new(Face::Regular, press.table_size(), line).signed("•").into()
}

/// From the gloves to the stirred bath.
fn before(steps: &mut Steps, card: &Bench) {
    let press = steps.press;
    let side = press.mm(14.0);
    let mut on = vec![Block::Pictures { names: card.wear.clone(), side, gap: press.mm(3.0) }];
    on.extend(card.protection.iter().take(2).map(|line| press.tick(&press.text(&line.say)).into()));
    steps.add(press.say("bench.put-on"), on);

    let tubs = if card.dip.bathed == Bathed::Tank { "bench.ready-timer" } else { "bench.ready-rinse" };
    let mut ready = vec![Block::from(press.tick(press.say(tubs)))];
    if let Some(needed) = card.end.quenched.ending.as_ref().and_then(|ending| ending.needed.as_ref()) {
        let name = reagent_name(press, &needed.neutraliser);
        let values = [("grams", &*counted(press, &needed.neutraliser, needed.planned)), ("neutraliser", &name)];
        ready.push(press.tick(&press.fill("bench.ready-neutraliser", &values)).into());
    }
    steps.add(press.say("bench.ready"), ready);

    let (bath, water) = (in_units(press, &card.bath), in_units(press, &card.water));
    let mut first = Vec::new();
    if card.dip.bathed == Bathed::Tank {
        first.push(press.tick(&press.fill("bench.tank-holds", &[("bath", &bath)])).into());
    } else if card.doses.is_empty() {
        first.push(press.tick(&press.fill("bench.water-general", &[("bath", &bath)])).into());
    } else {
        first.push(press.tick(&press.fill("bench.water", &[("water", &water), ("bath", &bath)])).into());
    }
    if let Some([low, high]) = card.dip.water_c {
        let range = press.amount(&format!("{}–{} °C", show::plain(low), show::plain(high)));
        first.push(press.tick(&press.fill("bench.water-warm", &[("range", &range)])).into());
    }
    steps.add(press.say("bench.water-first"), first);

    let name = press.text(&card.reagent.name);
    let mut pour = vec![Block::from(press.led(press.say("bench.only"), &name))];
    pour.extend(doses(press, &card.doses));
    if card.doses.is_empty() {
        pour.extend([press.write_in(press.say("bench.from-bottle")), press.write_in(press.say("bench.amount"))]);
    }
    pour.extend(aim(press, card));
    let solid = card.dosed.plan.doses.iter().any(|dose| dose.unit == "g")
        || (card.doses.is_empty() && card.reagent.forms.contains(&Form::Solid));
    let (head, stir) = match (card.dip.bathed, solid) {
        (Bathed::Tank, _) => ("bench.draw-up", None),
        (_, true) => ("bench.pour", Some("bench.stir-solid")),
        (_, false) => ("bench.pour", Some("bench.stir-liquid")),
    };
    pour.extend(stir.map(|key| press.tick(press.say(key)).into()));
    steps.add(press.say(head), pour);
}

/// What the bath is meant to hold and what it will hold.
fn aim(press: &Press, card: &Bench) -> Vec<Block> {
    let target = &card.dip.target;
    let [low, aim, high] = [&target.low, &target.aim, &target.high].map(|written| strength(press, written));
    let (aim_mark, band_mark) = (mark(press, &target.source), mark(press, &target.band_source));
    let filled = [("low", &*low), ("aim", &aim), ("high", &high), ("aim-mark", &aim_mark), ("band-mark", &band_mark)];
    let mut blocks = vec![Block::from(press.small(&press.fill("bench.aim", &filled)))];
    let two = |value: f64| press.amount(&show::significant(value, 2));
    let goal = &card.dosed.goal;
    let name = press.text(&card.reagent.name);
    if card.doses.is_empty() {
        let grams = show::grams(round_grams(goal.aim.to_g_per_l() * card.dosed.bath.to_l()));
        let bath = in_units(press, &card.bath);
        let values = [("aim", &*two(goal.aim.to_g_per_l())), ("grams", &press.amount(&grams)), ("bath", &bath)];
        blocks.push(press.body(&press.fill("bench.aim-general", &values)).into());
    }
    if let Some(bath) = card.dosed.plan.bath {
        let (band, wanted) = (press.amount(&show::with_band(bath)), two(goal.aim.to_g_per_l()));
        let values = [("band", &*band), ("aim", &wanted), ("reagent", &name)];
        blocks.push(press.small(&press.fill("bench.estimate", &values)).into());
    }
    blocks
}

/// How a figure is marked that nobody here has read: ` (judgement)`.
fn mark(press: &Press, source: &str) -> String {
    let word = match press.catalogue.source(source).and_then(|source| source.mark()) {
        Some("memory") => press.say("bench.memory"),
        Some("judgement") => press.say("bench.judgement"),
        Some(_) => press.say("bench.common-practice"),
        None => return String::new(),
    };
    format!(" ({word})")
}

fn reagent_name(press: &Press, key: &str) -> String {
    press.catalogue.reagent(key).map_or(String::new(), |reagent| press.text(&reagent.name))
}

/// Amounts to measure out, the figure large.
fn doses(press: &Press, doses: &[Poured]) -> Vec<Block> {
    let mut blocks = Vec::new();
    for dose in doses {
        blocks.extend(
            dose.stock_solution.as_ref().map(|made| press.tick(&stock_solution(press, &dose.code, made)).into()),
        );
        let tool = if dose.own.is_empty() { press.text(dose.tool) } else { own(press, &dose.own) };
        let amount = Text::new(Face::Bold, press.head("").size * 1.35, &in_units(press, &dose.amount));
        blocks.push(Block::Row(Row {
            cells: vec![
                (Width::Share(1.0), vec![Text::new(Face::Bold, press.head("").size, &dose.code).signed("☐").into()]),
                (Width::Share(2.0), vec![amount.into()]),
                (Width::Share(2.0), vec![press.body(&tool).into()]),
            ],
            gap: press.mm(3.0),
        }));
        if dose.coarse {
            blocks.push(press.strong(press.say("bench.coarse")).into());
        }
    }
    blocks
}

/// The solution that is made of a bottle before any of it is taken.
fn stock_solution(press: &Press, code: &str, made: &Made) -> String {
    let values = [
        ("code", code),
        ("grams", &*press.amount(&made.weighed)),
        ("scale", &*own(press, &made.weighed_with)),
        ("volume", &*in_units(press, &made.made_up)),
        ("jug", &*own(press, &made.made_up_with)),
        ("strength", &*strength(press, &format!("{} g/L", show::plain(made.g_per_l)))),
    ];
    press.fill("bench.stock-solution", &values)
}

/// What the keeper's measures show or how many of them it takes; their names are the keeper's.
fn own(press: &Press, own: &[With]) -> String {
    let one = |with: &With| {
        let measure = ("measure", with.measure.as_str());
        match &with.read {
            Read::Shows(mark, times) => {
                let (mark, times) = (press.amount(mark), show::plain(*times));
                let key = if times == "1" { "bench.own-shows" } else { "bench.own-shows-times" };
                press.fill(key, &[("mark", &mark), ("times", &times), measure])
            }
            Read::Spoons(count) => {
                let key = if *count > 1.0 { "bench.own-spoons" } else { "bench.own-spoon" };
                press.fill(key, &[("count", &show::plain(*count)), measure])
            }
            Read::Drops(count) => {
                let key = if *count > 1.0 { "bench.own-drops" } else { "bench.own-drop" };
                press.fill(key, &[("count", &show::plain(*count)), measure])
            }
        }
    };
    own.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// The time in the bath, and out of it.
fn in_the_bath(steps: &mut Steps, card: &Bench) {
    let press = steps.press;
    let time = &card.dip.minutes;
    let shown = press.fill("bench.time-from", &[("mark", &mark(press, &time.source))]);
    let shown = (!mark(press, &time.source).is_empty()).then(|| press.small(&shown).into());
    let clock = Block::Row(Row {
        cells: vec![
            (Width::Share(1.0), vec![press.write_in(press.say("bench.start-time"))]),
            (Width::Share(1.0), vec![press.write_in(press.say("bench.stop-time"))]),
        ],
        gap: press.mm(5.0),
    });
    let (into, what, out, then) = match card.dip.bathed {
        Bathed::Plants => ("bench.plants-in", "bench.plants-in-do", "bench.plants-out", "bench.plants-out-do"),
        Bathed::Gear => ("bench.gear-in", "bench.gear-in-do", "bench.gear-out", "bench.gear-out-do"),
        Bathed::Tank => ("bench.tank-in", "bench.tank-in-do", "bench.tank-out", "bench.tank-out-do"),
    };
    let huge = press.huge(&huge_time(press, time));
    let mut doing = vec![press.tick(press.say(what)).into(), huge.into()];
    doing.extend(shown);
    doing.push(clock);
    let into = steps.step(press.say(into), doing);
    let mut done = vec![Block::from(press.tick(press.say(then)))];
    if card.dip.bathed == Bathed::Plants {
        // What the cautions of the dip ask for after chlorine.
        if card.dip.stop.as_ref().is_some_and(|stop| stop.reagent == "sodium-thiosulfate") {
            done.push(press.tick(press.say("bench.rinse-thiosulfate")).into());
        }
        done.push(press.tick(press.say("bench.rinse-again")).into());
    }
    // Whoever counts seconds turns no page.
    let out = steps.step(press.say(out), done);
    steps.blocks.push(Block::Together(vec![into, out]));
}

/// `3 min = 180 s`, breakable before the sign.
fn huge_time(press: &Press, time: &Minutes) -> String {
    let said = press.amount(&minutes(time));
    if time.low < 1.0 || time.high > IN_SECONDS_MIN {
        return said;
    }
    let seconds = |minutes: f64| show::plain(minutes * 60.0);
    let seconds = if time.low == time.high {
        seconds(time.low)
    } else {
        format!("{}–{}", seconds(time.low), seconds(time.high))
    };
    format!("{said} =\u{a0}{}", press.amount(&format!("{seconds} s")))
}

/// How the bath is ended: only as far as `quench` goes.
fn ending(steps: &mut Steps, card: &Bench) {
    if card.dip.bathed == Bathed::Tank {
        return;
    }
    let press = steps.press;
    let end = &card.end;
    let quenched = &end.quenched;
    let mut blocks: Vec<Block> = Vec::new();
    match (quenched.verdict, quenched.treatment) {
        (quench::Verdict::Untreatable, _) | (_, None) => {
            let why = press.catalogue.neutralise().untreatable(&quenched.reagent.key);
            blocks.extend(why.map(|row| press.body(&press.text(&row.why)).into()));
            steps.add(press.say("bench.nothing-to-end"), blocks);
        }
        (quench::Verdict::Refused, Some(treatment)) => {
            blocks.push(press.strong(press.say("bench.not-ended-do")).into());
            blocks.push(press.body(&press.text(&treatment.above)).into());
            steps.add(press.say("bench.not-ended"), blocks);
        }
        (quench::Verdict::CanBeEnded | quench::Verdict::Short, Some(treatment)) => {
            blocks.extend(thinned(press, end));
            blocks.extend(stirred_in(press, end));
            let wait = press.amount(&minutes(&treatment.minutes));
            let waits = [("minutes", &*wait), ("mark", &mark(press, &treatment.minutes.source))];
            blocks.push(press.tick(&press.fill("bench.wait", &waits)).into());
            let proof = press.text(&treatment.proof);
            blocks.push(press.boxed(vec![press.led(press.say("bench.proof"), &proof).into()]));
            blocks.push(press.body(&press.text(&treatment.wait_for)).into());
            blocks.push(press.write_in(press.say("bench.reading")));
            steps.add(press.say("bench.end"), blocks);
            let cautions: Vec<String> = quenched.cautions.iter().map(|line| press.text(&line.say)).collect();
            steps.blocks.push(press.strong(press.say("bench.mind-ending")).into());
            steps.blocks.push(columns(press, &cautions));
            steps.blocks.push(press.gap(0.5));
        }
    }
}

fn thinned(press: &Press, end: &End) -> Vec<Block> {
    let Some(thinned) = &end.thinned else { return Vec::new() };
    let (litres, limit) = (in_units(press, &thinned.volume), show::plain(thinned.g_per_l));
    let unit = if thinned.chlorine { " available chlorine" } else { "" };
    let limit = strength(press, &format!("{limit} g/L{unit}"));
    vec![press.tick(&press.fill("bench.thin", &[("volume", &litres), ("strength", &limit)])).into()]
}

/// What is stirred in, or that it stands.
fn stirred_in(press: &Press, end: &End) -> Vec<Block> {
    let needed = end.quenched.ending.as_ref().and_then(|ending| ending.needed.as_ref());
    let Some(needed) = needed else {
        let mut blocks = vec![Block::from(press.tick(press.say("bench.stand")))];
        if end.quenched.in_tubs() {
            blocks.push(press.tick(press.say("bench.tubs")).into());
        }
        return blocks;
    };
    let name = reagent_name(press, &needed.neutraliser);
    let planned = end.quenched.planned(press.catalogue);
    let figure = planned.and_then(|route| route.planned.as_ref().or(route.planned_g_per_g.as_ref()));
    let figure_mark = figure.map_or(String::new(), |figure| mark(press, &figure.source));
    let grams = counted(press, &needed.neutraliser, needed.planned);
    let values = [("grams", &*grams), ("neutraliser", &name), ("mark", &figure_mark)];
    let mut blocks = vec![Block::from(press.tick(&press.fill("bench.stir-in", &values)))];
    blocks.extend(doses(press, &end.doses));
    if end.quenched.limit.as_ref().is_some_and(|limit| limit.exceeded) {
        blocks.push(press.tick(press.say("bench.stop-at-reading")).into());
    }
    blocks
}

/// Where the bath goes: what the keeper was told, else to ask first.
fn drain(steps: &mut Steps, card: &Bench) {
    let press = steps.press;
    let end = &card.end;
    let mut blocks: Vec<Block> = Vec::new();
    let stands = end.quenched.stands;
    let mut taken = true;
    if stands == Stands::AsItIs {
        blocks.push(press.strong(press.say("bench.no-drain")).into());
    } else if end.drains.is_empty() {
        blocks.push(press.strong(press.say("bench.ask-first")).into());
        blocks.push(press.write_in(press.say("bench.asked")));
    } else {
        for told in &end.drains {
            let reagent = reagent_name(press, &told.reagent);
            let asked = format!("{}, {}", told.asked.whom, told.asked.on);
            let values = [("reagent", &*reagent), ("into", &told.into), ("asked", &asked)];
            let line = if told.allowed {
                press.fill("bench.drain-allowed", &values)
            } else {
                press.fill("bench.drain-refused", &values)
            };
            blocks.push(press.strong(&line).into());
            if let Some(most) = told.most_mg_per_l {
                let most = press.amount(&format!("{} mg/L", show::plain(most)));
                blocks.push(press.body(&press.fill("bench.drain-most", &[("most", &most)])).into());
            }
            if let Some(answer) = &told.asked.answer {
                blocks.push(press.body(&format!("“{answer}”")).into());
            }
            if told.asked.wants_asking_again(card.dosed.on) {
                blocks.push(press.strong(press.say("bench.ask-again")).into());
            }
        }
        taken = end.drains.iter().any(|told| !told.allowed);
    }
    if taken && stands != Stands::AsItIs {
        let keep = if stands == Stands::Stood { press.say("bench.keep-loose") } else { press.say("bench.keep-closed") };
        blocks.push(press.tick(keep).into());
    }
    if taken {
        blocks.push(press.body(&taker(press, end)).into());
    }
    if stands != Stands::AsItIs {
        blocks.extend(end.bath.iter().map(|line| listed(press, &press.text(&line.say))));
    }
    blocks.push(press.strong(press.say("bench.never-drain")).into());
    steps.add(press.say("bench.drain"), blocks);
}

fn taker(press: &Press, end: &End) -> String {
    let Some(taker) = &end.taker else { return press.say("bench.taker-site").to_owned() };
    let parts = [Some(&taker.who), taker.how.as_ref(), taker.phone.as_ref()];
    let who: Vec<&str> = parts.into_iter().flatten().map(String::as_str).collect();
    press.fill("bench.taker", &[("who", &who.join(", "))])
}

/// Lines to write on.
fn record(steps: &mut Steps) {
    let press = steps.press;
    let pair = |left: &str, right: &str| {
        Block::Row(Row {
            cells: vec![
                (Width::Share(1.0), vec![press.write_in(left)]),
                (Width::Share(1.0), vec![press.write_in(right)]),
            ],
            gap: press.mm(5.0),
        })
    };
    let lines = vec![
        pair(press.say("bench.date"), press.say("bench.done-by")),
        pair(press.say("bench.water-temperature"), press.say("bench.ph")),
        pair(press.say("bench.plants-written"), press.say("bench.lot")),
        pair(press.say("bench.poured-written"), press.say("bench.reading-after")),
        press.write_in(press.say("bench.seen")),
        press.tick(press.say("bench.enter")).into(),
    ];
    steps.add(press.say("bench.write-down"), lines);
}

fn not_shown(press: &Press, card: &Bench) -> Vec<Block> {
    let lines: Vec<String> = card.dip.not_shown.iter().map(|line| press.text(line)).collect();
    vec![Block::Together(vec![press.head(press.say("bench.not-shown")).into(), columns(press, &lines)]), press.gap(0.5)]
}

/// Whom to call.
fn help(press: &Press) -> Vec<Block> {
    let local = &press.card.local;
    let emergency = press.contact(press.say("bench.emergency"), local.emergency.as_deref());
    let poison = press.contact(press.say("bench.poison-centre"), local.poison_centre.as_deref());
    let cells = vec![(Width::Share(1.0), vec![emergency]), (Width::Share(1.0), vec![poison])];
    vec![Block::Row(Row { cells, gap: press.mm(5.0) }), press.gap(0.5)]
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
