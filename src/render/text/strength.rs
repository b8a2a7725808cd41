//! How strong a stock is, what moves it, what it can still make and where it would last.

use comfy_table::Cell;

use super::chart::chart;
use super::{mark, until, why};
use crate::catalogue::{Cap, Form};
use crate::commands::elsewhere::Elsewhere;
use crate::commands::gas::{Gas, band, two};
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
    if let Some(given_off) = &checked.gas {
        text.push_str(&gas(style, given_off));
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
pub(in crate::render) fn moved_by(moved: &[Mover]) -> String {
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
pub(in crate::render) fn give_or_take(share: f64) -> String {
    if share < 1.0 {
        format!("± {} %", show::significant(100.0 * share, 2))
    } else {
        format!("a factor of {} either way", show::significant(1.0 + share, 2))
    }
}

/// No bottle for chemicals is thought to bear so many bar. Source: `judgement`.
const BURSTS: f64 = 10.0;

/// What a bottle of peroxide gives off, what a tight cap would bear, what all of it at once would do.
fn gas(style: &Style, gas: &Gas) -> String {
    let mut text = "\nGas and heat:\n".to_owned();
    let a_day = gas.ml_per_day.map_or_else(
        || "not known without a rate".to_owned(),
        |ml| format!("{} mL of oxygen a day at {} °C", band(ml), two(gas.celsius)),
    );
    text.push_str(&sentence(style, "gives off: ", &a_day));
    let cap = match gas.cap {
        Some(Cap::Vented) => "if its vent failed: ",
        Some(Cap::Tight) => "its tight cap: ",
        None => "a tight cap: ",
    };
    let brim = if gas.headspace_assumed {
        "holding a tenth more than came in it, else --holds"
    } else {
        "by what it holds to the brim"
    };
    let above = format!("{} mL of headspace ({brim})", two(gas.headspace_ml));
    let under = gas.tight_cap_bar.map_or_else(
        || format!("how fast is not known; {above}"),
        |bar| {
            let before = if bar >= BURSTS { "; it would bulge, leak or burst long before" } else { "" };
            format!(
                "{} bar in a year at most: strong end of the rate, walls that do not give, {above}{before}",
                two(bar)
            )
        },
    );
    let solubility = mark(style, "oxygen-solubility-memory");
    text.push_str(&sentence(style, cap, &format!("{under}{solubility}")));
    let half = gas.loss_for_half_bar.map_or_else(
        || "not reached, whatever it loses".to_owned(),
        |share| format!("reached once {} % of its peroxide is lost under a tight cap", two(100.0 * share)),
    );
    text.push_str(&sentence(style, "0.5 bar: ", &format!("{half}{solubility}")));
    if let Some(end) = gas.end {
        let boils = match end.boiled_off {
            0.0 => "no water boils off".to_owned(),
            share if share < 1.0 => format!("{} % of its water boils off", two(100.0 * share)),
            _ => "all its water boils off, and the steam goes hotter".to_owned(),
        };
        let what = format!("{} % w/w goes from 20 to {} °C, {boils}", two(end.percent_w_w), two(end.celsius));
        text.push_str(&sentence(style, "all at once: ", &format!("{what}{}", mark(style, "heats-recalled"))));
    }
    text
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
