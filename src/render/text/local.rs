//! What the keeper was told, and what is still to be asked.

use chrono::NaiveDate;

use super::{cited, mark};
use crate::catalogue::{Jurisdiction, Language, Said};
use crate::commands::local::{Asking, OnRecord};
use crate::commands::local_check::Filled;
use crate::disposal::local::{About, Asked, Drain, Store, Strongest, Taker};
use crate::render::Style;
use crate::render::table::sentence;
use crate::units::measure::Kitchen;
use crate::units::show::{amount, plain};

/// The local rules read back.
pub(super) fn on_record(style: &Style, record: &OnRecord) -> String {
    let mut text = if record.there {
        sentence(style, "", &format!("Local rules of {}", record.file))
    } else {
        let how = format!(
            "there are no local rules beside the register ({}); begin with `brimstock local --template > local.toml` in that folder, fill in what you know and delete the rest",
            record.file
        );
        sentence(style, "", &how)
    };
    let local = &record.local;
    let print = &local.print;
    for (word, value) in [
        ("place", local.place.as_deref()),
        ("lists of waste of", local.jurisdiction.map(Jurisdiction::word)),
        ("emergency", local.emergency.as_deref()),
        ("fire", local.fire.as_deref()),
        ("poison centre", local.poison_centre.as_deref()),
        ("water company", local.water_company.as_deref()),
        ("printed in", print.language.map(Language::code)),
        ("printed with measures", print.units.map(Kitchen::word)),
        ("printed on", print.paper.as_deref()),
        ("printed as the keeper", print.keeper.as_deref()),
    ] {
        if let Some(value) = value {
            text.push_str(&sentence(style, &format!("{word}: "), value));
        }
    }
    text.push_str(&listed(style, "how much may be kept:", stores(style, record)));
    text.push_str(&listed(style, "how strong it may be:", strengths(style, record)));
    text.push_str(&listed(style, "down the drain:", drains(style, record)));
    text.push_str(&listed(style, "who takes what:", takers(record)));
    if !record.unanswered.is_empty() {
        text.push_str("not on record:\n");
        for silent in &record.unanswered {
            text.push_str(&sentence(style, "- ", &format!("{}: {}", silent.key, silent.what)));
        }
        let mut told: Vec<&Asking> = Vec::new();
        for asking in record.unanswered.iter().flat_map(|silent| &silent.ask) {
            if !told.contains(&asking) {
                told.push(asking);
            }
        }
        text.push_str(&asked_of(style, &told));
    }
    text.push_str(&due(record.due_since));
    text.push_str(&sentence(style, "", record.caution));
    text
}

/// What is to be filled in by hand, and asked again.
pub(super) fn filled(style: &Style, filled: &Filled) -> String {
    let mut text = if filled.there {
        sentence(style, "", &format!("Local rules of {}", filled.file))
    } else {
        sentence(style, "", &format!("there are no local rules beside the register ({})", filled.file))
    };
    if filled.by_hand.is_empty() {
        text.push_str("nothing is left to be filled in by hand\n");
    } else {
        text.push_str("printed as a ruled line, to be filled in by hand:\n");
        let lines = filled.by_hand.iter().map(|(key, what)| sentence(style, "- ", &format!("{key}: {what}")));
        text.extend(lines);
    }
    if !filled.ask_again.is_empty() {
        text.push_str("answers older than two years, or of a day still to come; ask again:\n");
        let lines = filled.ask_again.iter();
        text.extend(lines.map(|(key, asked)| {
            sentence(style, "- ", &format!("{key}: {} on {}{}", asked.whom, asked.on, asked.under()))
        }));
    }
    if !filled.by_hand.is_empty() {
        let next = "`brimstock local set KEY VALUE` fills in a line; rows are written in the file itself, and `brimstock local --template` shows how";
        text.push_str(&sentence(style, "next: ", next));
    }
    text
}

fn listed(style: &Style, heading: &str, lines: Vec<String>) -> String {
    if lines.is_empty() {
        return String::new();
    }
    std::iter::once(format!("{heading}\n")).chain(lines.iter().map(|line| sentence(style, "- ", line))).collect()
}

fn stores(style: &Style, record: &OnRecord) -> Vec<String> {
    let row = |store: &Store| {
        let what = match &store.about {
            About::Reagent(key) => name(style, key),
            About::Group(key) => style.catalogue.apart().group(key).map_or(key.clone(), |group| group.name.clone()),
        };
        let above = store.stronger_than.map_or(String::new(), |percent| format!(" above {} % w/w", plain(percent)));
        let most = amount(store.most.base(), store.most.base_unit());
        format!("{what}{above}: {most} at the most, in all; {}", said(&store.asked, record))
    };
    record.local.stores.iter().map(row).collect()
}

fn strengths(style: &Style, record: &OnRecord) -> Vec<String> {
    let row = |row: &Strongest| {
        format!("{}: {} at the most; {}", name(style, &row.reagent), row.written, said(&row.asked, record))
    };
    record.local.strengths.iter().map(row).collect()
}

fn drains(style: &Style, record: &OnRecord) -> Vec<String> {
    let row = |drain: &Drain| {
        let may = if drain.allowed { "may go" } else { "may not go" };
        let most = drain.most_mg_per_l.map_or(String::new(), |most| format!(", {} mg/L at the most", plain(most)));
        format!("{} {may} into the {}{most}; {}", name(style, &drain.reagent), drain.into, said(&drain.asked, record))
    };
    record.local.drains.iter().map(row).collect()
}

fn takers(record: &OnRecord) -> Vec<String> {
    let row = |taker: &Taker| {
        let classes = if taker.classes.is_empty() { "everything".to_owned() } else { taker.classes.join(", ") };
        format!("{}: {classes}{}; {}", taker.who, ways(taker), said(&taker.asked, record))
    };
    record.local.takers.iter().map(row).collect()
}

/// On which days, how and under which number somebody takes it.
pub(super) fn ways(taker: &Taker) -> String {
    let said = [&taker.days, &taker.how].into_iter().flatten().map(|way| format!("; {way}"));
    said.chain(taker.phone.iter().map(|phone| format!("; ring {phone}"))).collect()
}

fn said(asked: &Asked, record: &OnRecord) -> String {
    asked_on(asked, record.on)
}

/// Who said so and when, and whether that is too long ago.
pub(super) fn asked_on(asked: &Asked, day: NaiveDate) -> String {
    let answer = asked.answer.as_ref().map_or(String::new(), |answer| format!(": {answer}"));
    format!("asked {} on {}{}{answer}{}", asked.whom, asked.on, asked.under(), asked.check(day))
}

/// Whom to ask what.
pub(super) fn asked_of(style: &Style, ask: &[&Asking]) -> String {
    let mut text = String::new();
    for asking in ask {
        text.push_str(&sentence(style, "", &format!("ask {}:", asking.whom)));
        text.extend(asking.questions.iter().map(|question| sentence(style, "- ", question)));
    }
    text
}

/// That the rules want a second look.
pub(super) fn due(since: Option<NaiveDate>) -> String {
    since.map_or(String::new(), |day| format!("[check: due for review since {day}]\n"))
}

/// A line of advice, marked where nobody here has read its source.
pub(super) fn advice(style: &Style, said: &Said) -> String {
    format!("{}{}", said.say, behind(style, &said.source))
}

/// Who says so: in full where that is wanted, else the mark of what nobody here has read.
pub(super) fn behind(style: &Style, source: &str) -> String {
    if style.why { format!(" {}", cited(style, source)) } else { mark(style, source) }
}

fn name(style: &Style, key: &str) -> String {
    style.catalogue.reagent(key).map_or(key.to_owned(), |reagent| reagent.name.clone())
}
