//! The `strength` card: what it holds today, over time, what that is good for, and what to test.

use super::press::{Laid, Press};
use crate::catalogue::Form;
use crate::commands::card::strength::{Harm, HarmBy, Kept, Strength, When, container_text};
use crate::commands::strength::{DipLine, SUSPICIOUS, half_width};
use crate::commands::testing::PlannedTest;
use crate::dip::Verdict;
use crate::render::pdf::block::{Block, Row, Table, Text, Width};
use crate::render::pdf::{Face, chart, picture};
use crate::render::text::{give_or_take, moved_by, until};
use crate::units::estimate::Estimate;
use crate::units::show;

/// Height of the chart on A4, mm.
const CHART: f64 = 60.0;

/// Side of the signs before what harms it, on A4, mm.
const SIGN: f64 = 7.0;

/// Lays it out.
pub fn card(press: &Press, card: &Strength) -> Laid {
    let checked = &card.checked;
    let title = press.fill("strength.name", &[("code", &checked.stock), ("name", &press.name(&checked.name))]);
    let mut blocks = vec![press.band(press.say("strength.kind"), &title), press.gap(0.8)];
    blocks.push(today(press, card));
    if let Some(why) = &card.held {
        blocks.extend([press.gap(0.6), press.boxed(vec![press.led(press.say("strength.held"), why).into()])]);
    }
    blocks.push(press.gap(0.9));
    blocks.extend(over_time(press, card));
    blocks.extend(dips(press, card));
    blocks.push(press.gap(0.8));
    let mut tested = test_next(press, card);
    tested.extend(tests(press, card));
    blocks.push(Block::Row(Row {
        cells: vec![(Width::Share(1.0), tested), (Width::Share(1.0), reckoned(press, card))],
        gap: press.mm(8.0),
    }));
    Laid { title, blocks, sources: card.sources.clone(), estimates: checked.content.is_some() }
}

/// A value and its range, as many figures as the range allows; an exact one has no range.
fn parts(estimate: Estimate) -> (String, Option<(String, String)>) {
    let text = show::with_band(estimate);
    match text.split_once(" (").and_then(|(mid, range)| Some((mid, range.trim_end_matches(')').split_once('–')?))) {
        Some((mid, (low, high))) => (mid.to_owned(), Some((low.to_owned(), high.to_owned()))),
        None => (text, None),
    }
}

/// The strength of the day, large, and beside it what the label says.
fn today(press: &Press, card: &Strength) -> Block {
    let checked = &card.checked;
    let mut now: Vec<Block> = vec![press.strong(press.say("strength.today")).into()];
    match (&checked.usual, checked.content) {
        (Some(usual), Some(content)) => {
            let (mid, range) = parts(usual.estimate);
            now.push(press.huge(&press.amount(&format!("≈ {mid} {}", usual.unit))).into());
            if let Some((low, high)) = range {
                let high = press.amount(&format!("{high} {}", usual.unit));
                now.push(press.body(&press.fill("strength.range", &[("low", &low), ("high", &high)])).into());
            }
            if checked.form == Form::Solid {
                now.push(press.body(press.say("strength.solid")).into());
            } else if usual.unit != "g/L"
                && let (mid, Some((low, high))) = parts(content)
            {
                let (amount, high) = (press.amount(&format!("{mid} g")), press.amount(&format!("{high} g")));
                let values = [("amount", amount.as_str()), ("low", &low), ("high", &high)];
                now.push(press.body(&press.fill("strength.per_litre", &values)).into());
            }
        }
        _ => now.push(press.huge(press.say("strength.not_known")).into()),
    }
    let left = press.amount(&show::amount(checked.left, &checked.unit));
    let came = card.kept.received.to_string();
    let label = vec![
        press.body(press.say("strength.label")).into(),
        press.title(&press.amount(&checked.label_text)).into(),
        press.body(&press.fill("strength.left", &[("amount", &left), ("day", &came)])).into(),
    ];
    Block::Row(Row { cells: vec![(Width::Share(7.0), now), (Width::Share(4.0), label)], gap: press.mm(5.0) })
}

/// The chart; without a strength on any day, why there is none.
fn over_time(press: &Press, card: &Strength) -> Vec<Block> {
    if let Some(why) = &card.unknown {
        return vec![press.boxed(vec![
            press.body(&press.fill("strength.no_chart", &[("why", press.text(why).trim_end_matches('.'))])).into(),
            press.strong(press.say("strength.test_before_use")).into(),
        ])];
    }
    let Some(figures) = &card.checked.chart else { return Vec::new() };
    let captions = chart::Captions {
        today: press.say("strength.line_today").to_owned(),
        axis: press.fill("strength.axis", &[("unit", &figures.unit)]),
    };
    let Some(drawing) = chart::drawing(figures, captions, press.table_size(), press.mm(CHART)) else {
        return Vec::new();
    };
    let legend = press.fill("strength.legend", &[("bath", &bath(press, card))]);
    vec![Block::Together(vec![
        press.head(press.say("strength.over_time")).into(),
        press.gap(0.3),
        drawing,
        press.gap(0.2),
        press.small(&legend).into(),
    ])]
}

fn bath(press: &Press, card: &Strength) -> String {
    press.amount(&show::millilitres(card.checked.bath.to_ml()))
}

/// The dips of the book that are made with it.
fn dips(press: &Press, card: &Strength) -> Vec<Block> {
    let lines = &card.checked.dips;
    let mut blocks = vec![press.gap(0.8)];
    if lines.is_empty() {
        blocks.push(press.body(press.say("strength.no_dips")).into());
        return blocks;
    }
    let heading = press.head(&press.fill("strength.dips", &[("bath", &bath(press, card))]));
    let head = ["dip", "key", "aim", "verdict", "chance", "until"];
    let table = Table {
        widths: [52.0, 35.0, 34.0, 17.0, 20.0, 21.0].map(Width::Share).to_vec(),
        head: head.iter().map(|key| press.words.phrase(&format!("strength.{key}")).to_owned()).collect(),
        rows: lines.iter().map(|line| dip(press, line)).collect(),
        size: press.table_size(),
    };
    blocks.extend([heading.into(), Block::Table(table), press.gap(0.2)]);
    if lines.iter().any(|line| line.until.is_some()) {
        blocks.push(press.small(press.say("strength.if_it_stays")).into());
    }
    let reasons =
        lines.iter().filter(|line| !matches!(line.verdict, Verdict::Ready | Verdict::Held)).filter_map(|line| {
            let reasons: Vec<String> = line.reasons.iter().map(|reason| press.text(reason)).collect();
            (!reasons.is_empty()).then(|| format!("{}: {}.", line.name, reasons.join("; ")))
        });
    let reasons: Vec<String> = reasons.collect();
    if !reasons.is_empty() {
        blocks.push(press.small(&reasons.join(" ")).into());
    }
    blocks
}

fn dip(press: &Press, line: &DipLine) -> Vec<Vec<Block>> {
    let chance = line.chance.map_or_else(|| press.say("strength.chance_unknown").to_owned(), show::chance);
    let verdict = line.verdict.words();
    let verdict = if line.verdict == Verdict::Ready { strong_cell(press, verdict) } else { press.cell(verdict) };
    vec![
        press.cell(&press.name(&line.name)),
        press.cell(&line.dip),
        press.cell(&line.aim.replacen(' ', "\u{a0}", 1)),
        verdict,
        press.cell(&press.amount(&chance)),
        press.cell(&until(line.until)),
    ]
}

fn strong_cell(press: &Press, text: &str) -> Vec<Block> {
    vec![Text::new(Face::Bold, press.table_size(), text).into()]
}

/// The test to make next: by when, what it would tell, what to expect, and its cautions.
fn test_next(press: &Press, card: &Strength) -> Vec<Block> {
    let mut blocks: Vec<Block> = vec![press.head(press.say("strength.next")).into()];
    let Some(next) = &card.next else {
        blocks.push(note(press, press.say("strength.next_none")).into());
        return blocks;
    };
    let test = &next.test;
    let name = capital(&press.text(&test.name));
    blocks.push(Text::new(Face::Bold, press.table_size(), &by_when(press, &name, &next.when)).into());
    if next.when == When::BeforeUse {
        blocks.push(note(press, &format!("{}.", capital(&press.text(&test.says)))).into());
    }
    let told = promised(press, test);
    if !told.is_empty() {
        blocks.push(note(press, &told.join(" ")).into());
    }
    blocks.extend(test.cautions.iter().map(|caution| note(press, &press.text(caution)).signed("!").into()));
    blocks.push(press.small(&press.fill("strength.plan", &[("code", &card.checked.stock)])).into());
    blocks
}

fn by_when(press: &Press, test: &str, when: &When) -> String {
    match when {
        When::BeforeUse => press.fill("strength.next_before_use", &[("test", test)]),
        When::BeforeDips(names) => press.fill("strength.next_dips", &[("test", test), ("dips", &names.join(", "))]),
        When::By(day, dip) => {
            press.fill("strength.next_by", &[("test", test), ("day", &day.to_string()), ("dip", dip)])
        }
        When::AnyDay => press.fill("strength.next_any_day", &[("test", test)]),
        When::NotNow => press.fill("strength.next_not_now", &[("test", test)]),
    }
}

/// How far a test would narrow the range, and what will be read in it.
fn promised(press: &Press, test: &PlannedTest) -> Vec<String> {
    let narrows = test.narrows.map(|(now, after)| {
        let half = |sd: f64| press.amount(&give_or_take(half_width(sd)));
        press.fill("strength.narrows", &[("now", &half(now)), ("after", &half(after))])
    });
    let expected = test.expected.map(|(expected, unit)| {
        let figures = if unit == "g/mL" { 4 } else { 2 };
        let [low, mid, high] = [expected.low, expected.mid, expected.high].map(|at| show::significant(at, figures));
        let (amount, high) = (press.amount(&format!("{mid} {unit}")), press.amount(&format!("{high} {unit}")));
        press.fill("strength.expect", &[("amount", &amount), ("low", &low), ("high", &high)])
    });
    narrows.into_iter().chain(expected).collect()
}

/// What is read after the chart and the dips: as large as a table.
fn note(press: &Press, text: &str) -> Text {
    Text::new(Face::Regular, press.table_size(), text)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The tests that were made.
fn tests(press: &Press, card: &Strength) -> Vec<Block> {
    let mut blocks = vec![press.gap(0.7)];
    if card.found.is_empty() {
        if card.unknown.is_none() {
            blocks.push(note(press, press.say("strength.no_tests")).into());
        }
        return blocks;
    }
    let rows = card.found.iter().map(|found| {
        let strength = format!("{} {}", show::with_band(found.strength.estimate), found.strength.unit);
        vec![
            press.cell(&found.day.to_string()),
            press.cell(&capital(&press.text(&found.method))),
            press.cell(&press.amount(&strength)),
        ]
    });
    blocks.push(press.head(press.say("strength.tests")).into());
    blocks.push(Block::Table(Table {
        widths: [21.0, 27.0, 40.0].map(Width::Share).to_vec(),
        head: ["day", "method", "found"]
            .iter()
            .map(|key| press.words.phrase(&format!("strength.{key}")).to_owned())
            .collect(),
        rows: rows.collect(),
        size: press.table_size(),
    }));
    blocks
}

/// What the strength was reckoned from, and what harms it.
fn reckoned(press: &Press, card: &Strength) -> Vec<Block> {
    let checked = &card.checked;
    let mut blocks: Vec<Block> = vec![press.head(press.say("strength.reckoned")).into()];
    blocks.push(note(press, &stands(press, &card.kept)).into());
    if !checked.moved_by.is_empty() {
        let movers = press.amount(&moved_by(&checked.moved_by)).replace(",\u{a0}", ", ");
        blocks.push(note(press, &press.fill("strength.moved_by", &[("movers", &movers)])).into());
    }
    if let Some(what) = &checked.uncounted {
        blocks.push(note(press, &press.fill("strength.uncounted", &[("what", &press.text(what))])).into());
    }
    if checked.dirt.is_some_and(|times| times > SUSPICIOUS) {
        blocks.push(note(press, press.say("strength.dirt")).into());
    }
    if !card.harms.is_empty() {
        blocks.extend([press.gap(0.5), press.head(press.say("strength.harms")).into()]);
        blocks.extend(card.harms.iter().map(|harm| harms_it(press, harm)));
    }
    blocks
}

fn stands(press: &Press, kept: &Kept) -> String {
    let condition = match kept.opened {
        Some(day) => {
            let values = [("condition", kept.condition.word()), ("day", &day.to_string())];
            press.fill("strength.opened_on", &values)
        }
        None => kept.condition.word().to_owned(),
    };
    let since = kept.since.to_string();
    let light = format!("{}, {}", kept.light, container_text(kept.container));
    let values = [
        ("condition", condition.as_str()),
        ("place", &kept.place),
        ("warmth", &press.amount(&kept.warmth)),
        ("light", &light),
        ("since", &since),
    ];
    capital(&press.fill("strength.stands", &values))
}

/// One thing that harms it, with a sign of ours.
fn harms_it(press: &Press, harm: &Harm) -> Block {
    let (sign, text) = match &harm.by {
        HarmBy::Light(why) => ("dark", press.fill("strength.light", &[("why", &capital(&press.text(why)))])),
        HarmBy::Warmth(celsius) => {
            let bound = press.amount(&format!("{} °C", show::plain(*celsius)));
            ("cool", press.fill("strength.warmth", &[("bound", &bound)]))
        }
        HarmBy::TightCap(percent) => {
            let bound = press.amount(&format!("{} % w/w", show::plain(*percent)));
            ("vented-cap", press.fill("strength.cap", &[("bound", &bound)]))
        }
        HarmBy::Contact(what) => {
            let what: Vec<String> = what.iter().map(|one| press.text(one)).collect();
            ("apart", press.fill("strength.contact", &[("what", &what.join("; "))]))
        }
    };
    let mut words: Vec<Block> = vec![note(press, &text).into()];
    let here = match (&harm.by, harm.here.as_str()) {
        (HarmBy::Contact(_), _) => None,
        (_, "") => Some(press.say("strength.cap_unknown").to_owned()),
        (_, here) => Some(here.to_owned()),
    };
    words.extend(here.map(|what| press.small(&press.fill("strength.here", &[("what", &press.amount(&what))])).into()));
    let side = press.mm(SIGN);
    let sign: Vec<Block> = picture::name(sign).map(|name| Block::Picture { name, side }).into_iter().collect();
    let cells = vec![(Width::Fixed(side), sign), (Width::Share(1.0), words)];
    Block::Together(vec![Block::Row(Row { cells, gap: press.mm(3.0) }), press.gap(0.15)])
}
