//! What stands where it must not, and the moves that clear it.

use super::{cited, mark};
use crate::commands::audit::{Audited, Carry, Finding, LeastBad};
use crate::disposal::caution;
use crate::hazard::storage::Severity;
use crate::render::Style;
use crate::render::table::sentence;

/// How many codes of one finding are listed.
const CODES_SHOWN: usize = 12;

/// The findings, the gravest first, and the moves.
pub(super) fn audited(style: &Style, audited: &Audited) -> String {
    let mut text = match &audited.before {
        Some(before) => format!("Before {}, {}\n", carry(&before.carry), audited.on),
        None => format!("The shelf on {}: {}\n", audited.on, counted(audited.stocks, "stock")),
    };
    if audited.findings.is_empty() {
        let said = match (&audited.before, audited.stocks) {
            (Some(_), _) => "it makes no finding that is not there already",
            (None, 0) => "nothing stands on the shelf",
            (None, _) => "no known conflict",
        };
        text.push_str(&sentence(style, "", said));
    } else if audited.before.is_none() {
        let count = |severity: Severity| {
            let found = audited.findings.iter().filter(|finding| finding.fault.severity == severity).count();
            format!("{found} {severity}")
        };
        text.push_str(&format!("findings: {}\n", Severity::ALL.map(count).join(", ")));
    } else if audited.before.is_some() {
        text.push_str(&format!("It would make {}:\n", counted(audited.findings.len(), "finding")));
    }
    for finding in &audited.findings {
        text.push_str(&one(style, finding, audited));
    }
    if let Some(before) = audited.before.as_ref().filter(|before| !before.cleared.is_empty()) {
        text.push_str(&format!("It would clear {}:\n", counted(before.cleared.len(), "finding")));
        for finding in &before.cleared {
            let Finding { fault, place, .. } = finding;
            let place = place.as_ref().map_or(String::new(), |place| format!(" ({place})"));
            text.push_str(&sentence(style, "- ", &format!("{}: {}{place}", fault.severity, fault.rule)));
        }
    }
    text.push_str(&moves(style, audited));
    if let Some(day) = audited.review {
        let said = format!("these rules were due for review on {day}: see whether they still hold");
        text.push_str(&sentence(style, "[check] ", &said));
    }
    for unseen in &audited.unseen {
        text.push_str(&sentence(style, "not looked at: ", unseen));
    }
    text.push_str(&sentence(style, "", "What is not listed here is not known to this program; it promises nothing."));
    text.push_str(&sentence(style, "", caution::short()));
    text
}

fn one(style: &Style, finding: &Finding, audited: &Audited) -> String {
    let Finding { fault, place, stocks, overruled, open } = finding;
    let place = place.as_ref().map_or(String::new(), |place| format!(" ({place})"));
    let codes = if stocks.len() > CODES_SHOWN {
        format!("{} and {} more", stocks[..CODES_SHOWN].join(", "), stocks.len() - CODES_SHOWN)
    } else {
        stocks.join(", ")
    };
    let word = fault.severity.word();
    let head = if fault.severity == Severity::Danger { word.to_uppercase() } else { word.to_owned() };
    let mut text = sentence(style, &format!("{head}: "), &format!("{}{place}: {codes}", fault.rule));
    let review = audited.review.map_or("", |_| " [check]");
    text.push_str(&sentence(style, "    ", &format!("{}{}{review}", fault.consequence, mark(style, &fault.source))));
    text.push_str(&sentence(style, "    do: ", &fault.advice));
    for reason in overruled {
        let said = format!("{} stands there since {}: {}", reason.stock, reason.since, reason.why);
        text.push_str(&sentence(style, "    your reason: ", &said));
    }
    if *open && !overruled.is_empty() {
        text.push_str(&sentence(style, "    ", "that does not speak for all of them"));
    }
    if style.why {
        text.push_str(&sentence(style, "    ", &cited(style, &fault.source)));
    }
    text
}

fn moves(style: &Style, audited: &Audited) -> String {
    let mut text = String::new();
    if !audited.moves.is_empty() {
        let fewest = if audited.proven { "the fewest that do it" } else { "there may be fewer" };
        text.push_str(&format!("{} would clear what moving can ({fewest}):\n", counted(audited.moves.len(), "move")));
        for step in audited.moves.chunk_by(|one, next| one.step == next.step) {
            let swapped = step.iter().any(|carry| step.iter().any(|other| other.to == carry.from));
            if swapped {
                text.push_str(
                    "    lift these out together, each apart from the others, before you put any of them down:\n",
                );
            }
            for carry in step {
                text.push_str(&format!("    brimstock move {} {}\n", carry.stock, quoted(&carry.to)));
            }
        }
    }
    if audited.stuck > 0 {
        text.push_str(&sentence(
            style,
            "",
            &format!(
                "{} that a place could clear {} no place of yours does: a place in another cabinet is wanted (`brimstock place add`)",
                counted(audited.stuck, "finding"),
                if audited.stuck == 1 { "is left, and" } else { "are left, and" },
            ),
        ));
    }
    if let Some(LeastBad { carries, before, after, makes }) = &audited.least_bad {
        let codes: Vec<&str> = carries.iter().map(|carry| carry.stock.as_str()).collect();
        let to = carries.first().map_or("", |carry| carry.to.as_str());
        let [danger, serious, minor] = before;
        let makes = if makes.is_empty() { String::new() } else { format!("; it makes: {}", makes.join("; ")) };
        let said = format!(
            "until there is one, the least bad is to carry {} to {to}: of these {danger} danger, {serious} serious, {minor} minor would become {}, {} and {}{makes}",
            codes.join(", "),
            after[0],
            after[1],
            after[2]
        );
        text.push_str(&sentence(style, "", &said));
    }
    text
}

fn carry(carry: &Carry) -> String {
    format!("moving {} from {} to {}", carry.stock, carry.from, carry.to)
}

fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        _ => format!("{count} {what}s"),
    }
}

fn quoted(place: &str) -> String {
    if place.contains(char::is_whitespace) { format!("\"{place}\"") } else { place.to_owned() }
}
