//! Containers that can hurt somebody, and labels that nobody noted: of what `audit` finds, that which cannot wait.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::rank::{Kind, Matter};
use crate::commands::Session;
use crate::commands::audit::Finding;
use crate::commands::layout::Layout;
use crate::hazard::storage::{Fault, Severity};

/// Everything about containers.
pub(super) fn matters(session: &Session, layout: &Layout<'_>) -> Vec<Matter> {
    let mut found = placed(layout);
    found.extend(containers(layout, &layout.upkeep(session)));
    found
}

/// Dangers of standing together, one matter a place.
fn placed(layout: &Layout<'_>) -> Vec<Matter> {
    let mut places: BTreeMap<String, Vec<Finding>> = BTreeMap::new();
    for finding in layout.placing() {
        if finding.open && finding.fault.severity == Severity::Danger {
            places.entry(finding.place.clone().unwrap_or_default()).or_default().push(finding);
        }
    }
    let matter = |(place, findings): (String, Vec<Finding>)| {
        let about: BTreeSet<&String> = findings.iter().flat_map(|finding| &finding.stocks).collect();
        let what = match &findings[..] {
            several if several.iter().all(|finding| finding.fault.mutual) => "must not stand together".to_owned(),
            [one] => one.fault.rule.clone(),
            several => format!("{} dangers where they stand", several.len()),
        };
        // What lies in one cabinet is no place that could be asked for.
        let is_place = layout.sites.iter().any(|site| site.name == place);
        let next = if is_place { format!("brimstock audit --at {}", quoted(&place)) } else { "brimstock audit".into() };
        Matter {
            kind: Kind::Container,
            severity: Severity::Danger,
            about: about.into_iter().cloned().collect(),
            what: format!("{what} ({place})"),
            day: None,
            next,
            key: format!("placed {place}"),
        }
    };
    places.into_iter().map(matter).collect()
}

/// What is wrong with containers and cannot wait, one matter a fault, of whichever stocks and whenever it was noted.
fn containers(layout: &Layout<'_>, findings: &[Finding]) -> Vec<Matter> {
    let mut found: BTreeMap<&str, Matter> = BTreeMap::new();
    for finding in findings {
        let Fault { severity, rank, rule, advice, .. } = &finding.fault;
        let is_label = advice.contains("labelled");
        let Some(first) = finding.stocks.first() else { continue };
        // What hurts or spoils, and what a bottle may do to itself; the rest waits for `audit`.
        if !is_label && *severity == Severity::Minor && *rank > 0 {
            continue;
        }
        let day = finding.stocks.iter().filter_map(|code| noted_on(layout, code, rule)).min();
        let matter = found.entry(rule).or_insert_with(|| Matter {
            kind: if is_label { Kind::Label } else { Kind::Container },
            severity: *severity,
            about: Vec::new(),
            // `peroxide of 8 % or more: nobody said how its cap closes`: its strength stands on the bottle.
            what: rule.split_once(": ").map_or(rule.as_str(), |(_, rest)| rest).to_owned(),
            day,
            next: command(advice, first),
            key: rule.clone(),
        });
        matter.severity = matter.severity.min(*severity);
        matter.day = [matter.day, day].into_iter().flatten().min();
        matter.about.extend(finding.stocks.iter().cloned());
    }
    found.values_mut().for_each(|matter| matter.about.sort());
    found.into_values().collect()
}

/// Since when it is known, for what somebody noted.
fn noted_on(layout: &Layout<'_>, code: &str, rule: &str) -> Option<NaiveDate> {
    let kept = &layout.stocks.iter().find(|stock| stock.code == code)?.kept;
    let swollen = kept.swollen.filter(|(_, how)| *how == rule).map(|(day, _)| day);
    swollen.or_else(|| kept.brittle.filter(|_| rule.starts_with("brittle")))
}

/// The first command of an advice, for one stock; without one the stock is shown.
fn command(advice: &str, code: &str) -> String {
    let mut quoted = advice.split('`').skip(1).step_by(2);
    let command = quoted.find(|words| words.starts_with("brimstock ") && words.contains("CODE"));
    command.map_or_else(|| format!("brimstock show {code}"), |words| words.replace("CODE", code))
}

/// A name as it is typed.
pub(super) fn quoted(name: &str) -> String {
    if name.contains(char::is_whitespace) { format!("\"{name}\"") } else { name.to_owned() }
}
