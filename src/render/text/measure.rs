//! The keeper's own measures, and what was weighed with them.

use comfy_table::Cell;

use super::assumed;
use crate::commands::measure::{MeasureLine, Measures};
use crate::register::measure::{Kind, Weighed, Weighing};
use crate::render::Style;
use crate::render::table::{sentence, table};
use crate::units::show;

/// The measures in use, or one with everything that was entered of it.
pub(super) fn measures(style: &Style, measures: &Measures) -> String {
    let mut text = measures.said.as_ref().map_or(String::new(), |said| sentence(style, "", said));
    text.push_str(&assumed(style, &measures.assumed));
    if let (true, [line]) = (measures.single, &measures.measures[..]) {
        text.push_str(&page(style, line));
        if let Some(next) = &measures.next {
            text.push_str(&sentence(style, "next: ", next));
        }
        return text;
    }
    if measures.measures.is_empty() {
        return sentence(style, "", "no measure yet; enter one: `brimstock measure add tbsp spoon 15mL`");
    }
    let rows = measures.measures.iter().map(|line| {
        let mut facts = vec![facts(line)];
        facts.extend(line.spoons.iter().map(|spoon| {
            format!("{} of {}, {}", weight(spoon.grams.mean), spoon.reagent, sd(spoon.grams.relative_sd(1.0)))
        }));
        [line.described.name.clone(), line.described.kind.word().to_owned(), facts.join("; "), error(line)]
            .map(Cell::new)
            .to_vec()
    });
    text.push_str(&table(style, &["measure", "kind", "holds", "error of one filling"], &[2], rows.collect()));
    text.push_str("A step comes on top of an error.\n");
    text
}

fn page(style: &Style, line: &MeasureLine) -> String {
    let described = &line.described;
    let mut text = format!("{}  {}, since {}", described.name, described.kind.word(), described.from);
    if let Some(ended) = line.ended {
        text.push_str(&format!(", retired {ended}"));
    }
    text.push('\n');
    text.push_str(&sentence(style, "holds: ", &format!("{}, {}", facts(line), error(line))));
    for spoon in &line.spoons {
        text.push_str(&sentence(
            style,
            &format!("{}: ", spoon.reagent),
            &format!(
                "{} in a level spoon, {} (weighed {})",
                weight(spoon.grams.mean),
                sd(spoon.grams.relative_sd(1.0)),
                spoon.on
            ),
        ));
    }
    for weighing in &line.weighings {
        text.push_str(&sentence(style, &format!("{}  ", weighing.day), &weighed(weighing)));
    }
    text
}

fn facts(line: &MeasureLine) -> String {
    let described = &line.described;
    let unit = if described.kind == Kind::Scale { "g" } else { "mL" };
    let weighed = line.weighed_on.map_or("", |_| ", weighed");
    let step = described.step.map(|step| format!("steps of {}", show::amount(step, unit)));
    let most = described.most.map(|most| match described.kind {
        Kind::Scale => format!("up to {}", show::amount(most, unit)),
        Kind::Vessel | Kind::Spoon => format!("{}{weighed}", show::millilitres(line.holds.mean)),
        _ => show::amount(most, unit),
    });
    let marks = (described.kind == Kind::Jug && line.weighed_on.is_some())
        .then(|| format!("{} mL where it shows 100 mL, weighed", show::plain(100.0 * line.holds.mean)));
    let drops =
        described.drops_per_ml.map(|_| format!("{} drops in 1 mL{weighed}", show::plain(1.0 / line.holds.mean)));
    [most, step, marks, drops].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn error(line: &MeasureLine) -> String {
    sd(line.holds.relative_sd(1.0))
}

fn sd(relative_sd: f64) -> String {
    format!("± {} % (1 sd)", show::significant(100.0 * relative_sd, 2))
}

fn weight(grams: f64) -> String {
    show::grams(grams)
}

fn weighed(weighing: &Weighing) -> String {
    let grams: Vec<String> = weighing.grams.iter().map(|grams| weight(*grams)).collect();
    let what = match &weighing.what {
        Weighed::Reagent(key) => key.clone(),
        Weighed::Water { celsius, mark_ml, drops } => {
            let mark = mark_ml.map(|mark| format!(" for {}", show::millilitres(mark)));
            let drops = drops.map(|drops| format!(", {} drops", show::plain(drops)));
            format!("water{}{}, {} °C", mark.unwrap_or_default(), drops.unwrap_or_default(), show::plain(*celsius))
        }
    };
    format!("weighed: {} ({what})", grams.join(", "))
}
