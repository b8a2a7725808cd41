//! Answers as terminal tables and sentences.

use comfy_table::Cell;

use super::Style;
use super::table::{sentence, table, verdict};
use crate::catalogue::{Dip, Form};
use crate::cli::Answer;
use crate::cli::demo::Played;
use crate::commands::convert::Converted;
use crate::commands::dip::{Book, Dosed};
use crate::commands::place::Places;
use crate::commands::reagents::{Known, ReagentPage};
use crate::commands::receive::Entered;
use crate::commands::settings::Done;
use crate::commands::shelf::{Shelved, Shown};
use crate::commands::strength::{Assayed, Checked};
use crate::dip::{Goal, Until, Verdict};
use crate::units::show;
use crate::units::step::Step;

/// The answer as text, ending in a line break.
#[must_use]
pub fn answer(style: &Style, answer: &Answer) -> String {
    match answer {
        Answer::Done(done) => self::done(style, done),
        Answer::Places(places) => self::places(style, places),
        Answer::Entered(entered) => self::entered(style, entered),
        Answer::Shelved(shelved) => self::shelved(style, shelved),
        Answer::Shown(shown) => self::shown(style, shown),
        Answer::Checked(checked) => self::checked(style, checked),
        Answer::Assayed(assayed) => self::assayed(style, assayed),
        Answer::Book(book) => self::book(style, book),
        Answer::Dosed(dosed) => self::dosed(style, dosed),
        Answer::Converted(converted) => self::converted(style, converted),
        Answer::Reagents(Known::List(_)) | Answer::Reagents(Known::One(_)) => reagents(style, answer),
        Answer::Played(played) => self::played(style, played),
        Answer::Script(script) => script.clone(),
    }
}

fn done(style: &Style, done: &Done) -> String {
    let mut text = sentence(style, "", &done.said);
    if let Some(next) = &done.next {
        text.push_str(&sentence(style, "next: ", next));
    }
    text
}

fn places(style: &Style, places: &Places) -> String {
    let mut text = String::new();
    if let Some(said) = &places.said {
        text.push_str(&sentence(style, "", said));
        text.push_str(&assumed(style, &places.assumed));
        return text;
    }
    if places.places.is_empty() {
        return sentence(style, "", "no place yet; enter one: `brimstock place add cupboard --temp 19 --light dark`");
    }
    let rows = places
        .places
        .iter()
        .map(|place| {
            [place.name.clone(), place.climate.clone(), place.light.word().to_owned(), place.since.to_string()]
                .map(Cell::new)
                .to_vec()
        })
        .collect();
    table(style, &["place", "temperature", "light", "since"], &[1], rows)
}

fn entered(style: &Style, entered: &Entered) -> String {
    let mut text = sentence(style, "", &format!("{} ({})", entered.said, entered.day));
    if entered.kind != "received" && entered.kind != "retired" {
        text.push_str(&sentence(style, "left: ", &show::amount(entered.left, &entered.unit)));
    }
    text.push_str(&assumed(style, &entered.assumed));
    if let Some(next) = &entered.next {
        text.push_str(&sentence(style, "next: ", next));
    }
    text
}

fn assumed(style: &Style, assumed: &[String]) -> String {
    assumed.iter().map(|line| sentence(style, "assumed: ", line)).collect()
}

fn shelved(style: &Style, shelved: &Shelved) -> String {
    if shelved.stocks.is_empty() {
        return sentence(
            style,
            "",
            &format!(
                "nothing stands on the shelf on {}; enter what does: `brimstock receive hydrogen-peroxide \"3 % w/v\" 500mL --at PLACE`",
                shelved.on
            ),
        );
    }
    let mut text = format!("The shelf on {}\n", shelved.on);
    let rows = shelved
        .stocks
        .iter()
        .map(|line| {
            let strength = line.strength.as_ref().map_or_else(
                || "not known".to_owned(),
                |usual| format!("{} {}", show::with_band(usual.estimate), usual.unit),
            );
            [
                line.code.clone(),
                line.reagent.clone(),
                line.label.clone(),
                strength,
                show::amount(line.left, &line.unit),
                line.place.clone(),
            ]
            .map(Cell::new)
            .to_vec()
        })
        .collect();
    text.push_str(&table(style, &["code", "reagent", "label", "strength", "left", "place"], &[], rows));
    for line in shelved.stocks.iter().filter(|line| !line.note.is_empty()) {
        text.push_str(&sentence(style, &format!("{}: ", line.code), &line.note));
    }
    text.push_str("Strengths: median, in brackets where it lies nine times in ten.\n");
    text
}

fn shown(style: &Style, shown: &Shown) -> String {
    let mut text = checked(style, &shown.checked);
    let standing = match &shown.retired {
        Some((day, why)) => format!("left the shelf on {day}: {why}"),
        None => format!("stands at {}, {}", shown.place, shown.condition.word()),
    };
    text.push_str(&sentence(style, "", &standing));
    let rows = shown
        .journal
        .iter()
        .map(|line| {
            [line.number.to_string(), line.day.to_string(), line.kind.clone(), line.says.clone()]
                .map(Cell::new)
                .to_vec()
        })
        .collect();
    text.push_str(&table(style, &["line", "day", "event", "says"], &[3], rows));
    text
}

fn checked(style: &Style, checked: &Checked) -> String {
    let mut text = format!("{}  {}, label {}\n", checked.stock, checked.name, checked.label_text);
    let strength = match (&checked.usual, checked.content) {
        (Some(usual), Some(content)) => {
            let per_litre = match checked.form {
                Form::Solution if usual.unit != "g/L" => format!(" = {} g/L", show::with_band(content)),
                _ => String::new(),
            };
            format!("{} {}{per_litre}", show::with_band(usual.estimate), usual.unit)
        }
        _ => "not known without a test".to_owned(),
    };
    text.push_str(&sentence(style, &format!("on {}: ", checked.on), &strength));
    text.push_str(&format!("left: {}\n", show::amount(checked.left, &checked.unit)));
    if !checked.dips.is_empty() {
        text.push_str(&format!("\nFor a bath of {}:\n", show::millilitres(checked.bath.to_ml())));
        let rows = checked
            .dips
            .iter()
            .map(|dip| {
                vec![
                    Cell::new(&dip.dip),
                    Cell::new(&dip.aim),
                    verdict(style, dip.verdict),
                    Cell::new(dip.chance.map_or_else(|| "not known".to_owned(), show::chance)),
                    Cell::new(until(dip.until)),
                ]
            })
            .collect();
        text.push_str(&table(style, &["dip", "aim", "verdict", "chance", "ready until"], &[1], rows));
        if checked.dips.iter().any(|dip| dip.until.is_some()) {
            text.push_str("Ready until: if it stays where and as it is; an opened bottle weakens faster.\n");
        }
        for dip in checked.dips.iter().filter(|dip| dip.verdict != Verdict::Ready) {
            for reason in &dip.reasons {
                text.push_str(&sentence(style, &format!("{}: ", dip.dip), reason));
            }
        }
    }
    for line in &checked.advice {
        text.push_str(&sentence(style, "next: ", line));
    }
    text.push_str(&why(style, &checked.steps));
    text
}

fn until(until: Option<Until>) -> String {
    match until {
        Some(Until::Day(day)) => day.to_string(),
        Some(Until::NoEnd) => "10 years and on".to_owned(),
        None => "-".to_owned(),
    }
}

fn assayed(style: &Style, assayed: &Assayed) -> String {
    let mut text = sentence(
        style,
        "",
        &format!(
            "{} tested on {}: {} ± {} % (1 sd); {}",
            assayed.stock,
            assayed.day,
            assayed.found,
            show::significant(100.0 * assayed.relative_sd, 2),
            assayed.comment
        ),
    );
    text.push('\n');
    text.push_str(&checked(style, &assayed.after));
    text
}

fn book(style: &Style, book: &Book) -> String {
    if let (true, [(dip, goal)]) = (book.single, &book.dips[..]) {
        return page(style, dip, goal);
    }
    let rows = book
        .dips
        .iter()
        .map(|(dip, _)| {
            let published = dip.evidence.iter().any(|row| row.grade == crate::catalogue::Grade::Published);
            [
                dip.key.clone(),
                dip.reagent.clone(),
                dip.target.aim.clone(),
                minutes(dip),
                if published { "published" } else { "practice" }.to_owned(),
            ]
            .map(Cell::new)
            .to_vec()
        })
        .collect();
    let mut text = table(style, &["dip", "reagent", "aim", "time", "evidence"], &[2], rows);
    text.push_str("Published: somebody printed a result, good or bad; practice: told without a trial.\n");
    text.push_str("No dip here is known to clear plants of snails and their eggs; each page says what is\nnot shown: brimstock dips NAME\n");
    text
}

fn minutes(dip: &Dip) -> String {
    let show = |minutes: f64| match minutes {
        m if m < 1.0 => format!("{} s", show::plain(m * 60.0)),
        m if m < 120.0 => format!("{} min", show::plain(m)),
        m if m < 2880.0 => format!("{} h", show::plain(libm::round(m / 6.0) / 10.0)),
        m => format!("{} d", show::plain(libm::round(m / 144.0) / 10.0)),
    };
    if dip.minutes.low == dip.minutes.high {
        return show(dip.minutes.low);
    }
    let (low, high) = (show(dip.minutes.low), show(dip.minutes.high));
    match (low.rsplit_once(' '), high.rsplit_once(' ')) {
        (Some((number, unit)), Some((_, other))) if unit == other => format!("{number}–{high}"),
        _ => format!("{low}–{high}"),
    }
}

fn page(style: &Style, dip: &Dip, goal: &Goal) -> String {
    let mut text = format!("{}  {}\n", dip.key, dip.name);
    let mark = |source: &str| mark(style, source);
    let in_grams = |value: crate::units::Concentration| show::significant(value.to_g_per_l(), 3);
    text.push_str(&sentence(
        style,
        "aim: ",
        &format!(
            "{}, between {} and {}{}",
            dip.target.aim,
            dip.target.low,
            dip.target.high,
            mark(&dip.target.band_source)
        ),
    ));
    text.push_str(&sentence(
        style,
        "     ",
        &format!("= {} g/L of {} ({}–{})", in_grams(goal.aim), dip.reagent, in_grams(goal.low), in_grams(goal.high)),
    ));
    text.push_str(&sentence(style, "time: ", &format!("{}{}", minutes(dip), mark(&dip.minutes.source))));
    if let Some([low, high]) = dip.water_c {
        text.push_str(&format!("water: {}–{} °C\n", show::plain(low), show::plain(high)));
    }
    text.push_str(&sentence(style, "used for: ", &dip.used_for));
    text.push_str(&sentence(style, "plants: ", &dip.plants));
    text.push_str("evidence:\n");
    for row in &dip.evidence {
        text.push_str(&sentence(
            style,
            "  - ",
            &format!("[{}] {} {}", row.grade.word(), row.says, cited(style, &row.source)),
        ));
    }
    text.push_str("not shown:\n");
    for line in &dip.not_shown {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str("cautions:\n");
    for line in &dip.cautions {
        text.push_str(&sentence(style, "  - ", line));
    }
    if let Some(stop) = &dip.stop {
        let counted = match stop.counted_as {
            crate::catalogue::CountedAs::AvailableChlorine => "available chlorine",
            crate::catalogue::CountedAs::Reagent => dip.reagent.as_str(),
        };
        text.push_str(&sentence(
            style,
            "stopped with: ",
            &format!(
                "{}, {} g for 1 g of {counted} planned{}, {} g by theory",
                stop.reagent,
                show::plain(stop.planned.value),
                mark(&stop.planned.source),
                show::plain(stop.theory.value)
            ),
        ));
    }
    text.push_str(&sentence(style, "next: ", &format!("`brimstock dose {} --bath 10L`", dip.key)));
    text.push_str(&why(style, &goal.steps));
    text
}

fn dosed(style: &Style, dosed: &Dosed) -> String {
    let plan = &dosed.plan;
    let chance = plan.chance.map_or_else(
        || "chance not known".to_owned(),
        |chance| format!("chance of landing in its band {}", show::chance(chance)),
    );
    let mut text = format!("{} in {} on {}\n", dosed.dip.key, show::millilitres(dosed.bath.to_ml()), dosed.on);
    let word = plan.verdict.words();
    let verdict = if style.colour { format!("\u{1b}[1m{word}\u{1b}[0m") } else { word.to_owned() };
    text.push_str(&format!("verdict: {verdict}, {chance}\n"));
    for reason in &plan.reasons {
        text.push_str(&sentence(style, "because: ", reason));
    }
    if !plan.doses.is_empty() {
        text.push_str(if plan.verdict == Verdict::Ready { "\nMeasure out:\n" } else { "\nIt would take:\n" });
        let rows = plan
            .doses
            .iter()
            .map(|dose| {
                [dose.code.clone(), show::amount(dose.amount, &dose.unit), dose.measure.clone()].map(Cell::new).to_vec()
            })
            .collect();
        text.push_str(&table(style, &["stock", "amount", "measure with"], &[2], rows));
        text.push_str(&format!(
            "water: {}, so that the whole is {}\n",
            show::millilitres(libm::round(plan.water.to_ml())),
            show::millilitres(dosed.bath.to_ml())
        ));
    }
    if let Some(bath) = plan.bath {
        let goal = |value: crate::units::Concentration| show::significant(value.to_g_per_l(), 3);
        text.push_str(&sentence(
            style,
            "bath: ",
            &format!(
                "{} g/L; wanted {} ({}–{}) g/L of {}",
                show::with_band(bath),
                goal(dosed.goal.aim),
                goal(dosed.goal.low),
                goal(dosed.goal.high),
                dosed.dip.reagent
            ),
        ));
    }
    if let Some(stopping) = &dosed.stopping {
        text.push_str(&sentence(
            style,
            "stop it with: ",
            &format!(
                "{} of {} ({} by theory); the shelf holds {}",
                show::grams(round_grams(stopping.planned.to_g())),
                stopping.neutraliser,
                show::grams(round_grams(stopping.theory.to_g())),
                show::grams(round_grams(stopping.held.to_g()))
            ),
        ));
    }
    let largest = libm::floor(plan.largest.to_l() * 10.0 + 1e-6) / 10.0;
    text.push_str(&format!("largest bath: {} L\n", show::plain(largest)));
    if plan.verdict == Verdict::Ready {
        text.push_str(&format!("ready until: {}\n", until(plan.until)));
    }
    for line in &dosed.lookalikes {
        text.push_str(&sentence(style, "not used: ", line));
    }
    text.push_str("mind:\n");
    for line in dosed.dip.cautions.iter().chain(dosed.dip.not_shown.first()) {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str(&sentence(style, "next: ", &dosed.next_step));
    text.push_str(&why(style, &dosed.steps));
    text
}

fn round_grams(grams: f64) -> f64 {
    if grams >= 10.0 { libm::round(grams) } else { show::significant(grams, 2).parse().unwrap_or(grams) }
}

fn converted(style: &Style, converted: &Converted) -> String {
    let of = converted.of.as_ref().map_or(String::new(), |key| format!(" of {key}"));
    let mut text = format!("{}{of} = {} {}\n", converted.from, show::with_band(converted.value), converted.unit);
    text.push_str(&assumed(style, &converted.assumed));
    text.push_str(&why(style, &converted.steps));
    text
}

fn reagents(style: &Style, answer: &Answer) -> String {
    match answer {
        Answer::Reagents(Known::One(page)) => reagent_page(style, page),
        Answer::Reagents(Known::List(lines)) => {
            let rows = lines
                .iter()
                .map(|line| {
                    [
                        line.key.clone(),
                        line.formula.clone(),
                        line.forms.join(", "),
                        line.also.iter().take(3).cloned().collect::<Vec<_>>().join(", "),
                    ]
                    .map(Cell::new)
                    .to_vec()
                })
                .collect();
            let mut text = table(style, &["reagent", "formula", "forms", "also called"], &[3], rows);
            text.push_str("One of them with its figures and what it is taken for: brimstock reagents NAME\n");
            text
        }
        _ => String::new(),
    }
}

fn reagent_page(style: &Style, page: &ReagentPage) -> String {
    let mut text = format!("{}  {}\n", page.line.key, page.name);
    text.push_str(&format!("{}, {:.3} g/mol, CAS {}\n", page.line.formula, page.molar_mass, page.cas));
    if !page.line.also.is_empty() {
        text.push_str(&sentence(style, "also: ", &page.line.also.join(", ")));
    }
    for (what, source) in &page.facts {
        text.push_str(&sentence(style, "- ", &format!("{what}{}", mark(style, source))));
        if style.why {
            text.push_str(&sentence(style, "    ", &cited(style, source)));
        }
    }
    if !page.taken_for.is_empty() {
        text.push_str("Often taken for it, and not the same:\n");
        for (name, difference, source) in &page.taken_for {
            text.push_str(&sentence(style, "- ", &format!("{name}: {difference}{}", mark(style, source))));
        }
    }
    text
}

fn played(style: &Style, played: &Played) -> String {
    let mut text = sentence(
        style,
        "",
        "Marrowmere Glasshouse, quarantine bench 3: a fictional shelf in the year 2031, played into a throw-away register.",
    );
    for scene in &played.scenes {
        text.push('\n');
        text.push_str(&sentence(style, "", &scene.heading));
        text.push_str(&format!("$ {}\n", scene.command));
        text.push_str(&answer(style, &scene.answer));
    }
    text.push('\n');
    if let Some(path) = &played.kept {
        text.push_str(&format!("The register is kept at {}.\n", path.display()));
    }
    text.push_str(&sentence(style, "next: ", &played.next));
    text
}

/// The steps of a number with their sources, if they are wanted.
fn why(style: &Style, steps: &[Step]) -> String {
    if !style.why || steps.is_empty() {
        return String::new();
    }
    let mut text = "why:\n".to_owned();
    for (number, step) in steps.iter().enumerate() {
        text.push_str(&sentence(style, &format!("{:>3}. ", number + 1), &step.what));
        text.push_str(&sentence(style, "     ", &cited(style, &step.source)));
    }
    text
}

/// ` [memory]` and the like behind a figure that nobody here has read.
fn mark(style: &Style, source: &str) -> String {
    style.catalogue.source(source).and_then(|source| source.mark()).map_or(String::new(), |mark| format!(" [{mark}]"))
}

/// A source in brackets.
fn cited(style: &Style, key: &str) -> String {
    match style.catalogue.source(key) {
        Some(source) => match source.mark() {
            Some(mark) => format!("[{mark}]"),
            None => format!("[{}]", source.title),
        },
        None => format!("[{key}]"),
    }
}
