//! How strong a stock is, what moves it, what it can still make and where it would last.

use comfy_table::Cell;

use super::chart::chart;
use super::{until, why};
use crate::catalogue::Form;
use crate::commands::elsewhere::Elsewhere;
use crate::commands::strength::{Checked, Mover};
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
    if !checked.moved_by.is_empty() {
        text.push_str(&sentence(style, "moved by: ", &moved_by(&checked.moved_by)));
    }
    if let Some(light) = &checked.uncounted {
        text.push_str(&sentence(style, "not counted: ", light));
    }
    if let Some(test) = &checked.test {
        let what =
            format!("{}: the band would go from {} to {}", test.name, give_or_take(test.now), give_or_take(test.after));
        text.push_str(&sentence(style, "a test: ", &what));
    }
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
    text.push_str(&places(style, &checked.elsewhere));
    if let Some(drawn) = &checked.chart {
        text.push('\n');
        text.push_str(&chart(style, drawn));
    }
    for line in &checked.advice {
        text.push_str(&sentence(style, "next: ", line));
    }
    if let Some(path) = &checked.svg {
        text.push_str(&sentence(style, "", &format!("drawn into {}", path.display())));
    }
    text.push_str(&why(style, &checked.steps));
    text
}

/// What has weakened it, in words.
fn moved_by(moved: &[Mover]) -> String {
    let shown = |mover: &Mover| {
        let percent = show::significant(100.0 * mover.share.abs(), 2);
        match (mover.what, mover.share < 0.0) {
            (what @ ("unknown start" | "unknown age and start" | "last test"), _) => {
                format!("{what} {}", give_or_take(mover.share))
            }
            ("warmth", true) => format!("cool saved {percent} %"),
            (what, _) => format!("{what} {percent} %"),
        }
    };
    moved.iter().map(shown).collect::<Vec<_>>().join(", ")
}

/// Half the width of a band: in per cent, or as a factor where that would be more than all.
fn give_or_take(share: f64) -> String {
    if share < 1.0 {
        format!("± {} %", show::significant(100.0 * share, 2))
    } else {
        format!("a factor of {} either way", show::significant(1.0 + share, 2))
    }
}

fn places(style: &Style, places: &[Elsewhere]) -> String {
    let Some(first) = places.first() else { return String::new() };
    let rows = places
        .iter()
        .map(|there| {
            let ready = there
                .ready_until
                .as_ref()
                .map_or_else(|| "-".to_owned(), |(day, dip)| format!("{} ({dip})", until(Some(*day))));
            [
                format!("{}{}", there.place, if there.here { " (here)" } else { "" }),
                format!("{} {}", show::with_band(there.strength.estimate), there.strength.unit),
                ready,
            ]
            .map(Cell::new)
            .to_vec()
        })
        .collect();
    let strength = format!("strength on {}", first.on);
    let mut text = "\nWhere it would last, best first:\n".to_owned();
    text.push_str(&table(style, &["place", &strength, "ready until"], &[2], rows));
    text
}
