//! How strong a stock is and what it can still make, by reckoning or after a test.

use comfy_table::Cell;

use super::{until, why};
use crate::catalogue::Form;
use crate::commands::strength::{Assayed, Checked};
use crate::dip::Verdict;
use crate::render::Style;
use crate::render::table::{sentence, table, verdict};
use crate::units::show;

/// Strength, amount left, and the dips that it can make.
pub(super) fn checked(style: &Style, checked: &Checked) -> String {
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

/// A test, and the stock as it is seen after it.
pub(super) fn assayed(style: &Style, assayed: &Assayed) -> String {
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
