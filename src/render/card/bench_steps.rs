//! The steps of a `bench` card: what is laid ready, the bath, the time in it, its end, where it goes, what is written down.

use super::bench_words::{columns, counted, in_units, listed, mark, reagent_name, strength};
use super::press::Press;
use crate::catalogue::{Bathed, Form, Minutes};
use crate::commands::card::bench::{Bench, End, Made, Poured, Read, With};
use crate::disposal::after::Stands;
use crate::disposal::quench;
use crate::render::pdf::block::{Block, Row, Text, Width};
use crate::render::pdf::{Face, Ink};
use crate::render::text::minutes;
use crate::units::show;

/// Up to this many minutes a timer is set in seconds.
const IN_SECONDS_MIN: f64 = 15.0;

/// The steps so far.
pub(super) struct Steps<'a> {
    press: &'a Press<'a>,
    done: usize,
    /// The blocks of all steps so far.
    pub(super) blocks: Vec<Block>,
}

impl<'a> Steps<'a> {
    /// No steps so far.
    pub(super) fn new(press: &'a Press<'a>) -> Steps<'a> {
        Steps { press, done: 0, blocks: Vec::new() }
    }

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

/// From the gloves to the stirred bath.
pub(super) fn before(steps: &mut Steps, card: &Bench) {
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
        let grams = show::planned_grams(goal.aim.to_g_per_l() * card.dosed.bath.to_l());
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
pub(super) fn in_the_bath(steps: &mut Steps, card: &Bench) {
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
    if time.low < 1.0 || time.high > IN_SECONDS_MIN || said.ends_with('s') {
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
pub(super) fn ending(steps: &mut Steps, card: &Bench) {
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
pub(super) fn drain(steps: &mut Steps, card: &Bench) {
    let press = steps.press;
    let end = &card.end;
    let mut blocks: Vec<Block> = Vec::new();
    let stands = end.quenched.stands;
    let mut taken = true;
    if stands == Stands::AsItIs {
        blocks.push(press.strong(press.say("bench.no-drain")).into());
    } else if end.drains.is_empty() {
        blocks.push(press.strong(press.say("bench.ask-first")).into());
        if let Some(number) = &press.card.local.water_company {
            blocks.push(press.contact(press.say("bench.water-company"), Some(number)));
        }
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
pub(super) fn record(steps: &mut Steps) {
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
