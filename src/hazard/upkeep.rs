//! What is wrong with a container by itself: cap, material, age, label, data sheet.

use chrono::NaiveDate;

use super::apart::Neighbour;
use super::storage::{Fault, Severity};
use crate::catalogue::{Cap, Container, Figure, Form};
use crate::units::show::{plain, significant};

/// A container as it is known.
#[derive(Debug, Clone)]
pub struct Kept<'a> {
    /// What is in it.
    pub stock: Neighbour<'a>,
    /// What it is made of.
    pub container: Container,
    /// True if it was filled here, and did not come as it is.
    pub filled_here: bool,
    /// How its cap closes, where somebody said.
    pub cap: Option<Cap>,
    /// What a tight cap would reach in a year, bar over the air's; nothing for what makes no gas.
    pub bar_a_year: Option<f64>,
    /// True if it bears a label; nothing where nobody said.
    pub labelled: Option<bool>,
    /// True if a data sheet is on file.
    pub sheet: bool,
    /// The day on which it was found brittle.
    pub brittle: Option<NaiveDate>,
    /// The day on which it was found swollen, or gas in it, and the word for it.
    pub swollen: Option<(NaiveDate, &'static str)>,
    /// The day on which its solution was made up here.
    pub made_up: Option<NaiveDate>,
}

/// From this pressure on, bar over the air's, a bottle that is not made for it swells. Source: `judgement`.
pub const SWELLS_BAR: f64 = 0.5;

/// Share of a bound that rounding may bring above it.
const ROUNDING: f64 = 1e-9;

/// Everything that is wrong with a container on a day.
#[must_use]
pub fn faults(kept: &Kept<'_>, day: NaiveDate) -> Vec<Fault> {
    [swollen(kept), closed(kept), cap(kept), material(kept), brittle(kept), label(kept), old(kept, day), sheet(kept)]
        .into_iter()
        .flatten()
        .collect()
}

fn swollen(kept: &Kept<'_>) -> Option<Fault> {
    let (day, how) = kept.swollen?;
    Some(Fault {
        severity: Severity::Danger,
        rank: 0,
        mutual: false,
        rule: how.to_owned(),
        consequence: format!("noted on {day}: a bottle under pressure can burst"),
        source: "peroxide-keeping".to_owned(),
        advice: "do not open or carry it; keep people and what burns away; warm, hissing or above 8 %: call for help"
            .to_owned(),
    })
}

/// The bound above which a stock is left closed, if it is stronger than that. An unknown strength is not taken to be.
#[must_use]
pub fn left_closed(stock: Neighbour<'_>) -> Option<&Figure> {
    let bound = stock.reagent.keeping.as_ref()?.closed_above.as_ref()?;
    let stronger = stock.percent_w_w.is_some_and(|percent| percent > bound.value * (1.0 + ROUNDING));
    (stock.form == Form::Solution && stronger).then_some(bound)
}

fn closed(kept: &Kept<'_>) -> Option<Fault> {
    left_closed(kept.stock).map(|bound| Fault {
        severity: Severity::Danger,
        rank: 0,
        mutual: false,
        rule: format!("{} above {} % w/w", kept.stock.reagent.short_name(), plain(bound.value)),
        consequence: "so strong it can set cloth, wood and much else alight, and burst its bottle".to_owned(),
        source: bound.source.clone(),
        advice: "leave it closed where it stands, and ask the fire service or whoever is licensed to take it"
            .to_owned(),
    })
}

/// A cap that should let gas out and does not, or nobody knows.
fn cap(kept: &Kept<'_>) -> Option<Fault> {
    let name = kept.stock.reagent.short_name();
    if kept.stock.form != Form::Solution || kept.cap == Some(Cap::Vented) {
        return None;
    }
    let pressure = kept.bar_a_year.map_or(String::new(), |bar| {
        format!("; a tight one would reach up to {} bar in a year at its rate", significant(bar, 2))
    });
    let vent = kept.stock.reagent.keeping.as_ref().and_then(|keeping| keeping.vent_above.as_ref());
    // Nobody knows how strong it is: as the strongest sold.
    let strong = |bound: f64| kept.stock.percent_w_w.is_none_or(|percent| percent >= bound);
    if let Some(vent) = vent.filter(|vent| strong(vent.value)) {
        let (severity, rule, advice) = match kept.cap {
            Some(Cap::Tight) => (
                Severity::Danger,
                format!("tight cap on {name} of {} % w/w or more", plain(vent.value)),
                "a vented cap from its maker, then `brimstock note CODE vented-cap`; warm, swollen or hissing: do not open it, keep away, ask for help",
            ),
            // What came closed by its maker is more likely to be right than what was filled here.
            _ => (
                if kept.filled_here { Severity::Serious } else { Severity::Minor },
                format!("{name} of {} % w/w or more: nobody said how its cap closes", plain(vent.value)),
                "look at it, then `brimstock note CODE vented-cap` or `tight-cap`",
            ),
        };
        return Some(Fault {
            severity,
            rank: 0,
            mutual: false,
            rule,
            consequence: format!("it makes gas and can burst a closed bottle{pressure}"),
            source: vent.source.clone(),
            advice: advice.to_owned(),
        });
    }
    let swells = kept.cap == Some(Cap::Tight) && kept.bar_a_year.is_some_and(|bar| bar > SWELLS_BAR);
    swells.then(|| Fault {
        severity: Severity::Minor,
        rank: 3,
        mutual: false,
        rule: format!("tight cap on {name}"),
        consequence: format!("it makes gas and can burst a closed bottle{pressure}, an upper bound for rigid walls"),
        source: "judgement".to_owned(),
        advice: "a vented cap, or look every month whether it swells; never fill it past nine tenths".to_owned(),
    })
}

fn material(kept: &Kept<'_>) -> Option<Fault> {
    let reagent = kept.stock.reagent;
    let keeping = reagent.keeping.as_ref()?;
    if keeping.not_in.contains(&kept.container) {
        let word = kept.container.word();
        let (severity, consequence) = match kept.container {
            Container::DrinkBottle => (Severity::Danger, "sooner or later somebody drinks from it".to_owned()),
            Container::Metal if kept.stock.form == Form::Solution => {
                (Severity::Serious, "metal spoils it, and it eats metal".to_owned())
            }
            Container::ClearGlass | Container::NaturalPlastic => {
                let why = keeping.dark.as_ref().map_or("it is no container for it", |dark| dark.value.as_str());
                (Severity::Minor, why.to_owned())
            }
            _ => (Severity::Serious, format!("{} and {word} do not go together", reagent.short_name())),
        };
        return Some(Fault {
            severity,
            rank: 2,
            mutual: false,
            rule: format!("{} in {word}", reagent.short_name()),
            consequence,
            source: keeping.source.clone(),
            advice: "the container it came in, or one that its label names; never one for food or drink".to_owned(),
        });
    }
    (kept.container == Container::Unknown && kept.filled_here).then(|| Fault {
        severity: Severity::Minor,
        rank: 3,
        mutual: false,
        rule: "container unknown".to_owned(),
        consequence: "nobody can tell whether its wall bears it and keeps light out".to_owned(),
        source: "judgement".to_owned(),
        advice: "`brimstock correct CODE 1 --container KIND --because \"looked\"`".to_owned(),
    })
}

fn brittle(kept: &Kept<'_>) -> Option<Fault> {
    let day = kept.brittle?;
    Some(Fault {
        severity: Severity::Serious,
        rank: 3,
        mutual: false,
        rule: "brittle, cracked or yellowed container".to_owned(),
        consequence: format!("noted on {day}: it breaks when it is lifted"),
        source: "judgement".to_owned(),
        advice: "do not lift it; a plastic tub around it that holds all of it, and ask who takes it: `brimstock discard CODE`"
            .to_owned(),
    })
}

fn label(kept: &Kept<'_>) -> Option<Fault> {
    let (severity, rule) = match kept.labelled {
        Some(true) => return None,
        Some(false) => (Severity::Serious, "no label"),
        None => (Severity::Minor, "nobody noted a label"),
    };
    Some(Fault {
        severity,
        rank: 3,
        mutual: false,
        rule: rule.to_owned(),
        consequence: "what nobody can name is used for something else, and no collection likes to take it".to_owned(),
        source: "judgement".to_owned(),
        advice: "write code, name, strength, day and dangers on it, then `brimstock note CODE labelled`".to_owned(),
    })
}

fn old(kept: &Kept<'_>, day: NaiveDate) -> Option<Fault> {
    let keeps = kept.stock.reagent.keeping.as_ref()?.made_up_keeps.as_ref()?;
    let age = (day - kept.made_up?).num_days();
    (age as f64 > keeps.value).then(|| Fault {
        severity: Severity::Minor,
        rank: 3,
        mutual: false,
        rule: format!("own dilution of {} older than {} days", kept.stock.reagent.short_name(), plain(keeps.value)),
        consequence: "it may be weaker than its label by more than anybody can tell without a test".to_owned(),
        source: keeps.source.clone(),
        advice: "test it (`brimstock assay plan CODE`), use it up where it still serves, or `brimstock discard CODE`"
            .to_owned(),
    })
}

fn sheet(kept: &Kept<'_>) -> Option<Fault> {
    let harmful = kept.stock.groups().iter().any(|group| group != "neutral-salt");
    (harmful && !kept.sheet).then(|| Fault {
        severity: Severity::Minor,
        rank: 3,
        mutual: false,
        rule: "no data sheet on file".to_owned(),
        consequence: "in an emergency nobody finds what the supplier says".to_owned(),
        source: "judgement".to_owned(),
        advice: "ask the supplier for it, then `brimstock sds attach CODE FILE`".to_owned(),
    })
}
