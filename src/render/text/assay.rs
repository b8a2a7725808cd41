//! A test that was entered, and a plan for one.

use super::strength::checked;
use super::why;
use crate::commands::assay::Assayed;
use crate::commands::assay_plan::AssayPlan;
use crate::render::Style;
use crate::render::table::sentence;
use crate::units::show;

/// A test, and the stock as it is seen after it.
pub(super) fn assayed(style: &Style, assayed: &Assayed) -> String {
    let said = format!("{} tested on {} by {}: {}", assayed.stock, assayed.day, assayed.method.word(), assayed.found);
    let mut text = sentence(style, "", &said);
    text.push_str(&sentence(style, "", &format!("That is {}.", assayed.comment)));
    text.push_str(&why(style, &assayed.steps));
    text.push('\n');
    text.push_str(&checked(style, &assayed.after));
    text
}

/// A plan for a test: cautions first.
pub(super) fn plan(style: &Style, plan: &AssayPlan) -> String {
    let test = &plan.test;
    let mut text = format!("Testing {}  {}\n", plan.stock, plan.name);
    if let Some(now) = &plan.now {
        let now = format!("{} {}", show::with_band(now.estimate), now.unit);
        text.push_str(&sentence(style, &format!("believed on {}: ", plan.on), &now));
    }
    text.push_str(&sentence(style, "by: ", &format!("{}: {}", test.name, test.says)));
    text.push_str("mind first:\n");
    for line in &test.cautions {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str("you need:\n");
    for line in &test.needs {
        text.push_str(&sentence(style, "  - ", line));
    }
    text.push_str("then:\n");
    for (number, line) in test.steps.iter().enumerate() {
        text.push_str(&sentence(style, &format!("  {}. ", number + 1), line));
    }
    text.push_str(&sentence(style, "reads wrong: ", &test.traps));
    let percent = |share: f64| show::significant(100.0 * share, 2);
    text.push_str(&sentence(style, "usual error: ", &format!("± {} % (1 sd) [judgement]", percent(test.relative_sd))));
    if let Some((now, after)) = test.narrows {
        let what =
            format!("the strength is known to ± {} % now (1 sd), and would be to ± {} %", percent(now), percent(after));
        text.push_str(&sentence(style, "it tells: ", &what));
    }
    if !plan.settles.is_empty() {
        text.push_str(&sentence(style, "it settles: ", &plan.settles.join(", ")));
    }
    if !plan.others.is_empty() {
        let others: Vec<String> = plan.others.iter().map(|(test, _)| format!("--by {}", test.word())).collect();
        text.push_str(&sentence(style, "other tests: ", &others.join(", ")));
    }
    text
}
