//! What is wrong with where a stock stands: beside what, above what, in what warmth and light.

use std::fmt;

use super::apart::{Neighbour, conflict, ill_placed};
use crate::catalogue::{Apart, Around, Form, Keeping, Light, Verdict};
use crate::units::show::plain;

/// How bad.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Somebody can be hurt by it.
    Danger,
    /// It can go wrong, or ruin what stands there.
    Serious,
    /// It wants mending.
    Minor,
}

impl Severity {
    /// The gravest first.
    pub const ALL: [Severity; 3] = [Severity::Danger, Severity::Serious, Severity::Minor];

    /// The word printed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Severity::Danger => "danger",
            Severity::Serious => "serious",
            Severity::Minor => "minor",
        }
    }

    fn of(verdict: Verdict) -> Severity {
        match verdict {
            Verdict::Never => Severity::Danger,
            Verdict::Cabinet => Severity::Serious,
            Verdict::Tray | Verdict::None => Severity::Minor,
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// How bad.
    pub severity: Severity,
    /// Of two that are as bad the lower is told first: what two stocks do to each other, or a bottle to itself, is 0.
    pub rank: u8,
    /// True if two stocks do it to each other.
    pub mutual: bool,
    /// What is wrong, in words.
    pub rule: String,
    /// What can come of it.
    pub consequence: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What to do.
    pub advice: String,
}

/// A place as a stock meets it.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Its name.
    pub name: String,
    /// What it lies in; nothing for a cabinet of its own.
    pub cabinet: Option<String>,
    /// How high above the floor, cm, where somebody said.
    pub height_cm: Option<f64>,
    /// What is around it.
    pub around: Vec<Around>,
    /// The warmest that it gets, °C.
    pub warmest_c: f64,
    /// How light it is.
    pub light: Light,
}

impl Site {
    /// True if two places share air and spills: one place, or two shelves of one cabinet.
    #[must_use]
    pub fn shares_cabinet(&self, other: &Site) -> bool {
        self.whole().eq_ignore_ascii_case(other.whole())
    }

    /// What it is part of: its cabinet, or itself, which may be the cabinet of others.
    #[must_use]
    pub fn whole(&self) -> &str {
        self.cabinet.as_deref().unwrap_or(&self.name)
    }

    /// True if it lies above another shelf of its cabinet.
    #[must_use]
    pub fn is_above(&self, other: &Site) -> bool {
        let heights = self.height_cm.zip(other.height_cm);
        self.name != other.name && self.shares_cabinet(other) && heights.is_some_and(|(a, b)| a > b)
    }
}

/// A stock in a place.
#[derive(Debug, Clone, Copy)]
pub struct Occupant<'a> {
    /// What it is.
    pub stock: Neighbour<'a>,
    /// True if its container keeps light out.
    pub shaded: bool,
}

/// Higher than this, cm, nothing that can run over somebody should stand. Source: `shelf-heights`.
const HIGH_CM: f64 = 150.0;

/// From this light on something that light spoils stands wrong.
const BRIGHT: Light = Light::Bright;

/// What is wrong with a stock in a place, whatever else stands there.
#[must_use]
pub fn alone(apart: &Apart, occupant: Occupant<'_>, site: &Site) -> Vec<Fault> {
    let stock = occupant.stock;
    let name = stock.reagent.short_name();
    let mut faults: Vec<Fault> = ill_placed(apart, stock, &site.around)
        .map(|row| Fault {
            severity: Severity::of(row.verdict),
            rank: if matches!(row.tag, Around::Combustibles | Around::Warm) { 1 } else { 2 },
            mutual: false,
            rule: format!("{name} near {}", around_words(row.tag)),
            consequence: row.consequence.clone(),
            source: row.source.clone(),
            advice: format!("another place, without {} around it", around_words(row.tag)),
        })
        .collect();
    let keeping = stock.reagent.keeping.as_ref();
    if let Some(below) = keeping.and_then(|keeping| keeping.below_c.as_ref())
        && site.warmest_c > below.value
    {
        faults.push(Fault {
            severity: Severity::Minor,
            rank: 3,
            mutual: false,
            rule: format!("{name} warmer than {} °C", plain(below.value)),
            consequence: format!(
                "it gets {} °C there: warmth spoils it, or builds up gas or vapour in it",
                plain(libm::round(site.warmest_c))
            ),
            source: below.source.clone(),
            advice: "a cooler place".to_owned(),
        });
    }
    let fears_light = |keeping: &&Keeping| keeping.dark_form.is_none_or(|form| form == stock.form);
    if let Some(dark) = keeping.filter(fears_light).and_then(|keeping| keeping.dark.as_ref())
        && !occupant.shaded
        && site.light >= BRIGHT
    {
        faults.push(Fault {
            severity: Severity::Minor,
            rank: 3,
            mutual: false,
            rule: format!("{name} in the light"),
            consequence: format!("{}; it stands {} there", dark.value, site.light.word()),
            source: dark.source.clone(),
            advice: "a darker place, or amber glass or opaque plastic".to_owned(),
        });
    }
    let harmful = stock.groups().iter().any(|group| group != "neutral-salt");
    if harmful && site.height_cm.is_some_and(|cm| cm > HIGH_CM) {
        faults.push(Fault {
            severity: Severity::Minor,
            rank: 3,
            mutual: false,
            rule: format!("higher than {} cm", plain(HIGH_CM)),
            consequence: "what slips from above eye level runs over a face".to_owned(),
            source: "shelf-heights".to_owned(),
            advice: "a lower shelf, below the eyes of the smallest who uses it".to_owned(),
        });
    }
    faults
}

/// What is wrong with two stocks, each in its place.
#[must_use]
pub fn together(
    apart: &Apart,
    (one, here): (Occupant<'_>, &Site),
    (other, there): (Occupant<'_>, &Site),
) -> Vec<Fault> {
    if !here.shares_cabinet(there) {
        return Vec::new();
    }
    // One conflict is told in the same words, whichever of the two is looked at first.
    let ((one, here), (other, there)) = if one.stock.reagent.key <= other.stock.reagent.key {
        ((one, here), (other, there))
    } else {
        ((other, there), (one, here))
    };
    let mut faults = Vec::new();
    let found = conflict(apart, one.stock, other.stock);
    if let Some(found) = found.filter(|found| here.name == there.name || found.verdict > Verdict::Tray) {
        let relief = found.relief.map_or(String::new(), |relief| {
            format!(" (one step less: a weak solution, up to {} % w/w)", plain(relief.up_to_percent_w_w))
        });
        faults.push(Fault {
            severity: Severity::of(found.verdict),
            rank: 0,
            mutual: true,
            rule: format!(
                "{} and {}, {}{relief}",
                one.stock.reagent.short_name(),
                other.stock.reagent.short_name(),
                found.verdict.words()
            ),
            consequence: found.pair.consequence.clone().unwrap_or_default(),
            source: found.pair.source.clone(),
            advice: match found.verdict {
                Verdict::Tray | Verdict::None => "a shelf or tray each, as places of their own",
                Verdict::Cabinet => "another cabinet",
                Verdict::Never => "another cabinet, with no shelf, tray or drain in common",
            }
            .to_owned(),
        });
    }
    faults.extend(dripped_on(apart, (one, here), (other, there)));
    faults.extend(dripped_on(apart, (other, there), (one, here)));
    faults
}

/// A liquid above a solid, which it would run into.
fn dripped_on(
    apart: &Apart,
    (liquid, above): (Occupant<'_>, &Site),
    (solid, below): (Occupant<'_>, &Site),
) -> Option<Fault> {
    let harmed = solid.stock.groups().iter().any(|group| group != "neutral-salt");
    let wets = liquid.stock.form == Form::Solution && solid.stock.form == Form::Solid && above.is_above(below);
    (wets && harmed).then(|| {
        // What must not get damp suffers more from a leak than from damp air.
        let damp = ill_placed(apart, solid.stock, &[Around::Damp]).max_by_key(|row| row.verdict);
        Fault {
            severity: damp.map_or(Severity::Minor, |row| Severity::of(row.verdict)),
            rank: 1,
            mutual: true,
            rule: damp.map_or_else(
                || "liquids above powders".to_owned(),
                |_| format!("liquids above {}, a powder", solid.stock.reagent.short_name()),
            ),
            consequence: damp.map_or_else(
                || "a leak runs into the powder and spoils it, or does worse".to_owned(),
                |row| row.consequence.clone(),
            ),
            source: "liquids-below-powders".to_owned(),
            advice: "change the two shelves, or a tray that holds the whole bottle".to_owned(),
        }
    })
}

/// What is around a place, in words.
#[must_use]
pub fn around_words(around: Around) -> &'static str {
    match around {
        Around::Combustibles => "paper, wood, oil or dry plants",
        Around::BareMetal => "bare iron, copper or brass",
        Around::Damp => "damp",
        Around::Warm => "sun, heater or boiler",
        Around::Food => "food, drinks, feed or medicine",
        Around::Bedroom => "a room to sleep in",
    }
}
