//! The reagents, and one with what it is taken for.

use comfy_table::Cell;

use super::{cited, mark};
use crate::commands::own_reagents::LookedThrough;
use crate::commands::reagents::{Known, ReagentPage};
use crate::render::Style;
use crate::render::table::{sentence, table};

/// The reagents, one line each, or the page of one.
pub(super) fn reagents(style: &Style, known: &Known) -> String {
    match known {
        Known::One(page) => reagent_page(style, page),
        Known::LookedThrough(looked) => looked_through(style, looked),
        Known::List(lines) => {
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
    }
}

/// A keeper's file with every fault.
fn looked_through(style: &Style, looked: &LookedThrough) -> String {
    if looked.faults.is_empty() {
        return format!("{}: nothing wrong\n", looked.file);
    }
    let mut text = format!("{}:\n", looked.file);
    for (key, what) in &looked.faults {
        text.push_str(&sentence(style, "- ", &format!("{key}: {what}")));
    }
    text
}

/// One reagent with its figures.
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
    for (heading, lines) in &page.care {
        text.push_str(&format!("{heading}:\n"));
        for line in lines {
            text.push_str(&sentence(style, "- ", &format!("{}{}", line.say, mark(style, &line.source))));
            if style.why {
                text.push_str(&sentence(style, "    ", &cited(style, &line.source)));
            }
        }
    }
    text
}
