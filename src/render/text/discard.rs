//! A plan for handing over.

use super::local::{advice, asked_of, asked_on, behind, due, ways};
use super::until;
use crate::catalogue::{Carriage, Signal};
use crate::commands::discard::{Discarded, Item};
use crate::render::Style;
use crate::render::table::sentence;
use crate::units::show;

/// The plan, stock by stock, then what holds for all.
pub(super) fn discarded(style: &Style, plan: &Discarded) -> String {
    if plan.items.is_empty() && plan.empty.is_empty() {
        return sentence(
            style,
            "",
            &format!("nothing stands out as unwanted on {}; name a stock to plan it all the same", plan.on),
        );
    }
    let mut text = String::new();
    if !plan.items.is_empty() {
        let places: Vec<&str> = plan.places.iter().map(|place| place.word()).collect();
        let whose = if plan.place_known {
            format!("lists and laws of {}", places.join(", "))
        } else {
            format!("no place on record, so lists and laws of {} are shown (else --in)", places.join(", "))
        };
        text.push_str(&sentence(style, "", &format!("To hand over, {}: {whose}", plan.on)));
    }
    for item in &plan.items {
        text.push('\n');
        text.push_str(&stock(style, plan, item));
    }
    for (code, name) in &plan.empty {
        text.push('\n');
        let line = format!(
            "{name}: empty: rinse and deface; rinse it into the next dip of the same reagent, strike out the label, then `brimstock retire {code} --because empty`"
        );
        text.push_str(&sentence(style, &format!("{code}  "), &line));
    }
    if plan.items.is_empty() {
        text.push_str(&sentence(style, "", plan.caution));
        return text;
    }
    text.push('\n');
    text.push_str(&classes(style, plan));
    text.push_str(&boxes(style, plan));
    let ask: Vec<_> = plan.ask.iter().collect();
    text.push_str(&asked_of(style, &ask));
    text.push_str("on the package:\n");
    for item in plan.items.iter().filter(|item| item.gas.is_none()) {
        let now = item
            .strength
            .as_ref()
            .map_or("now not known".to_owned(), |now| format!("now {} {}", show::with_band(now.estimate), now.unit));
        let left = show::amount(item.left, &item.unit);
        let words = format!("{}, bought or made as {}, {now}, {left}", item.name, item.label);
        text.push_str(&sentence(style, &format!("- {}: ", item.stock), &words));
    }
    text.extend(plan.package.iter().map(|line| sentence(style, "- ", &advice(style, line))));
    text.push_str("of households (information, check local law):\n");
    for row in &plan.household {
        let line = format!("{}: {}{}", row.jurisdiction.word(), row.say, behind(style, &row.source));
        text.push_str(&sentence(style, "- ", &line));
    }
    text.push_str("once it is gone:\n");
    for item in &plan.items {
        let whom = item.takers.first().map_or("WHOM".to_owned(), |taker| taker.who.replace('"', "'"));
        text.push_str(&sentence(
            style,
            "- ",
            &format!("`brimstock retire {} --handed-over-to \"{whom}\"`", item.stock),
        ));
    }
    for (word, number) in ["emergency: ", "poison centre: "].iter().zip(&plan.numbers) {
        text.push_str(&number.as_ref().map_or(String::new(), |number| sentence(style, word, number)));
    }
    text.push_str(&due(plan.due_since));
    text.push_str(&sentence(style, "", plan.caution));
    text
}

fn stock(style: &Style, plan: &Discarded, item: &Item) -> String {
    let left = show::amount(item.left, &item.unit);
    let mut text = sentence(style, &format!("{}  ", item.stock), &format!("{}, {left} left", item.name));
    let mut line = |words: String| text.push_str(&sentence(style, "  - ", &words));
    let now = item.strength.as_ref().map_or("nobody can tell how strong it is now".to_owned(), |usual| {
        format!("now thought to be {} {}", show::with_band(usual.estimate), usual.unit)
    });
    line(format!("label {}; {now}", item.label));
    for reason in &item.because {
        line(format!("to go because: {reason}"));
    }
    if let Some((day, what)) = &item.gas {
        line(format!(
            "{what} since {day}: do not pack, open or carry it; keep people and what burns away, and let the site or the fire service say how it goes"
        ));
    }
    if item.unlabelled {
        line("noted as without a label: write on it what stands here before it leaves the house".to_owned());
    }
    if !item.still_good_for.is_empty() {
        let dips: Vec<String> =
            item.still_good_for.iter().map(|(dip, good)| format!("{dip} until {}", until(*good))).collect();
        line(format!("still good for: {}; using it up comes before handing it over", dips.join(", ")));
    }
    if item.too_strong {
        line("above a bound of the law or of your local rules: no use of it is offered".to_owned());
    }
    let counted = item.counted.map_or("strength not known".to_owned(), |percent| {
        let of = item.counted_as.map_or(String::new(), |what| format!(" of {what}"));
        format!("counted at {} % w/w{of}, by its label, or by a test above it", show::plain(percent))
    });
    match &item.carried[..] {
        [] if item.may_be_carried.is_empty() => {
            line(format!(
                "carried under no number that is on file, which does not say that none is needed ({counted})"
            ));
        }
        [] => {}
        rows => {
            for row in rows {
                line(format!("carried as {} ({counted}){}", name(row), behind(style, &row.source)));
            }
        }
    }
    for row in &item.may_be_carried {
        let words = row.strength.as_deref().unwrap_or("strength not known");
        line(format!("perhaps carried as {}: {words}{}", name(row), behind(style, &row.source)));
    }
    line(match item.hazard.as_ref().map(|shown| (shown.label.signal, &shown.label.pictograms)) {
        None => "its hazard classes are not on file: keep what its own label shows".to_owned(),
        Some((None, pictograms)) if pictograms.is_empty() => {
            "no signal word or pictogram by the data on file".to_owned()
        }
        Some((signal, pictograms)) => {
            let signal = match signal {
                Some(Signal::Danger) => "Danger",
                Some(Signal::Warning) => "Warning",
                None => "no signal word",
            };
            format!("its label shows: {signal}; {}", pictograms.join(" "))
        }
    });
    if !item.codes.is_empty() {
        let codes: Vec<String> = item
            .codes
            .iter()
            .map(|row| format!("{} {} {}{}", row.jurisdiction.word(), row.code, row.words, behind(style, &row.source)))
            .collect();
        line(format!("lists of waste may call it (information; the site decides): {}", codes.join("; ")));
    }
    for row in &item.law {
        let said = format!("{}, {}: {}{}", row.place, row.bound, row.effect, behind(style, &row.source));
        line(format!("law: {said}; check local law"));
        if let Some(loss) = &row.loss {
            line(format!("if it is stolen or lost: {loss}{}; check local law", behind(style, &row.source)));
        }
    }
    if item.gas.is_some() {
        let whom = item.takers.iter().map(|taker| format!("{}{}", taker.who, ways(taker)));
        let whom = whom.collect::<Vec<_>>().join("; or ");
        let whom = if whom.is_empty() { whom } else { format!(": {whom}") };
        line(format!("not to be carried: ring first{whom}"));
        return text;
    }
    for taker in &item.takers {
        line(format!("goes to {}{}; {}", taker.who, ways(taker), asked_on(&taker.asked, plan.on)));
    }
    if item.takers.is_empty() {
        line("nobody on record takes it: ask as told below, and keep it closed till then".to_owned());
    }
    text
}

fn name(row: &Carriage) -> String {
    format!("{}, class {}, group {}", row.un, row.class, row.group)
}

/// Packing and what is never done, once for all stocks of a class.
fn classes(style: &Style, plan: &Discarded) -> String {
    let mut text = String::new();
    let mut told: Vec<&str> = Vec::new();
    for class in plan.items.iter().filter_map(|item| item.class.as_ref()) {
        if told.contains(&class.key.as_str()) {
            continue;
        }
        told.push(&class.key);
        let is_of = |item: &&Item| item.class.as_ref().is_some_and(|other| other.key == class.key);
        let codes: Vec<&str> = plan.items.iter().filter(is_of).map(|item| item.stock.as_str()).collect();
        text.push_str(&sentence(style, "", &format!("packing {} ({}):", codes.join(", "), class.name)));
        text.extend(class.pack.iter().chain(&class.never).map(|line| sentence(style, "- ", &advice(style, line))));
    }
    let without: Vec<&str> =
        plan.items.iter().filter(|item| item.class.is_none()).map(|item| item.stock.as_str()).collect();
    if !without.is_empty() {
        let line = "how it is packed is not on file: closed, label on, upright, alone, and ask by its full name";
        text.push_str(&sentence(style, &format!("packing {}: ", without.join(", ")), line));
    }
    text
}

fn boxes(style: &Style, plan: &Discarded) -> String {
    let mut text = String::new();
    if !plan.items.is_empty() {
        text.push_str("boxes (no known conflict inside one; what packing says above goes first):\n");
    }
    for (number, shared) in plan.boxes.iter().enumerate() {
        text.push_str(&sentence(style, &format!("- box {}: ", number + 1), &shared.join(", ")));
    }
    for (one, other, what) in &plan.far_apart {
        let line = format!("as far apart as the vehicle allows, or on two trips; if they meet: {what}");
        text.push_str(&sentence(style, "- ", &format!("{one} and {other}: {line}")));
    }
    for item in plan.items.iter().filter(|item| item.gas.is_some()) {
        text.push_str(&sentence(style, &format!("- {}: ", item.stock), "in no box; it stays where it stands"));
    }
    text
}
