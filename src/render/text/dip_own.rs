//! A dip that was entered or changed, and the versions of one.

use super::mark;
use crate::catalogue::Dip;
use crate::commands::dip_own::Kept;
use crate::commands::own_dips::VersionLine;
use crate::dip::course;
use crate::render::Style;
use crate::render::table::sentence;
use crate::units::{Concentration, show, time};

/// What was entered, what changed, who must read it again.
pub(super) fn kept(style: &Style, kept: &Kept) -> String {
    let dip = &kept.dip;
    let mut text =
        sentence(style, "", &format!("`{}`: version {} entered, from {} on", dip.key, dip.version, kept.day));
    text.push_str(&sentence(style, "because: ", &kept.why));
    for change in &kept.changes {
        let said = match (&change.before, &change.after) {
            (Some(before), Some(after)) => format!("{before} → {after}"),
            (Some(before), None) => format!("no longer: {before}"),
            (None, after) => format!("new: {}", after.as_deref().unwrap_or_default()),
        };
        text.push_str(&sentence(style, &format!("{}: ", change.what), &said));
    }
    let grams = |value: Concentration| show::significant(value.to_g_per_l(), 3);
    text.push_str(&sentence(
        style,
        "band: ",
        &format!(
            "{} g/L of {} ({}–{}), {}{}",
            grams(kept.goal.aim),
            dip.reagent,
            grams(kept.goal.low),
            grams(kept.goal.high),
            time::words(dip.minutes.low, dip.minutes.high),
            mark(style, &dip.target.source)
        ),
    ));
    for line in &kept.questions {
        text.push_str(&sentence(style, "question: ", line));
    }
    for line in &kept.taken {
        text.push_str(&sentence(style, "taken over: ", line));
    }
    if kept.changes.is_empty() && !dip.steps.is_empty() {
        text.push_str(&sentence(style, "steps: ", &course::typed(&dip.steps)));
    }
    if !kept.read_again.is_empty() {
        let who = kept.read_again.join(", ");
        text.push_str(&sentence(style, "read again: ", &format!("{who} signed an earlier version, not this one")));
    }
    text.push_str(&sentence(
        style,
        "next: ",
        &format!("`brimstock dips {0}`, then `brimstock dips sign {0} --who ROLE`", dip.key),
    ));
    text
}

/// Which version a page shows, since when and why; nothing of a shipped dip that was never changed.
pub(super) fn versions(style: &Style, dip: &Dip, versions: &[VersionLine]) -> String {
    let last = versions.last().map_or(1, |line| line.version);
    let Some(shown) = versions.iter().find(|line| line.version == dip.version) else { return String::new() };
    if shown.day.is_none() && last == shown.version {
        return String::new();
    }
    let since = match (shown.day, &shown.why) {
        (Some(day), Some(why)) => format!(", from {day} on, because: {why}"),
        _ => ", as shipped".to_owned(),
    };
    let mut text = sentence(style, "version: ", &format!("{}{since}", shown.version));
    if let Some(newer) = versions.iter().find(|line| line.version > dip.version)
        && let Some(day) = newer.day
    {
        let said = format!("version {} from {day} on; in force is version {last}", newer.version);
        text.push_str(&sentence(style, "replaced by: ", &said));
    }
    text
}
