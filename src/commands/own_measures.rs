//! The keeper's own measures as the doses of one reagent know them: what a spoon of it weighs, what a full vessel holds.

use chrono::Days;

use super::{Problem, Session, arguments};
use crate::catalogue::{Form, Measuring, Reagent, SourceKind};
use crate::chem::Substance;
use crate::chem::density::water;
use crate::dip::measure::Bench;
use crate::dip::stock_solution::{Dissolves, dissolves};
use crate::dip::tool::{Tool, Way};
use crate::dip::weighing::Holds;
use crate::register::Writing;
use crate::register::measure::{Kind, Owned, Weighed};
use crate::register::place::Place;
use crate::units::{Temperature, Volume, show};

/// What there is to measure one reagent with.
#[derive(Debug, Clone)]
pub struct OwnMeasures {
    /// The measures that can be used.
    pub tools: Vec<Tool>,
    /// What stays dissolved in the coldest place, where that is on file.
    pub dissolves: Option<Dissolves>,
    /// Why a spoon is not used, one sentence each.
    pub unweighed: Vec<String>,
}

impl OwnMeasures {
    /// As a dose takes them; the bath's volume is as exact as any vessel's unless one is told.
    #[must_use]
    pub fn bench<'a>(&'a self, measuring: &'a Measuring, vessel_sd: Option<f64>) -> Bench<'a> {
        Bench {
            tools: &self.tools,
            dissolves: self.dissolves.as_ref(),
            vessel_sd: vessel_sd.unwrap_or(measuring.vessel.value),
            ..Bench::usual(measuring)
        }
    }
}

/// Every measure that is used on the day of the question, for a reagent.
///
/// # Errors
/// If the register cannot be read, or what was weighed makes no sense.
pub fn of(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    reagent: &Reagent,
) -> Result<OwnMeasures, Problem> {
    let (mut tools, mut unweighed) = (Vec::new(), Vec::new());
    for owned in reading.measures()?.iter().filter(|owned| owned.is_used_on(session.day)) {
        let mut tool =
            |unit: &'static str, way: Way| tools.push(Tool { name: owned.described.name.clone(), unit, way });
        match owned.described.kind {
            Kind::Vessel => {}
            Kind::Scale | Kind::Jug | Kind::Syringe => {
                let is_scale = owned.described.kind == Kind::Scale;
                let way = Way::Marks {
                    step: owned.described.step.unwrap_or(1.0),
                    most: owned.described.most,
                    shows: holds(session, owned)?,
                    is_scale,
                };
                tool(if is_scale { "g" } else { "mL" }, way);
            }
            Kind::Dropper => tool("mL", counted("drop", holds(session, owned)?, None)),
            Kind::Spoon => {
                tool("mL", counted("level spoon", holds(session, owned)?, None));
                match spoon_of(session, owned, reagent)? {
                    Some((one, taken_as)) => tool("g", counted("level spoon", one, taken_as)),
                    None if reagent.forms.contains(&Form::Solid) => unweighed.push(format!(
                        "nobody weighed a level spoon `{}` of {}, and no source tells how heavy a heap of it is: `brimstock measure weigh {} --of {} …g`",
                        owned.described.name, reagent.key, owned.described.name, reagent.key
                    )),
                    None => {}
                }
            }
        }
    }
    let dissolves = match tools.is_empty() {
        true => None,
        false => coldest(session, places).and_then(|at| dissolves(Substance::of(reagent), at).ok()),
    };
    Ok(OwnMeasures { tools, dissolves, unweighed })
}

fn counted(thing: &'static str, one: Holds, taken_as: Option<String>) -> Way {
    Way::Counted { thing, one, taken_as }
}

/// The lowest temperature of any place in the year to come.
fn coldest(session: &Session, places: &[Place]) -> Option<Temperature> {
    let to = session.day + Days::new(365);
    let lowest = places.iter().map(|place| place.climate(session.day).coldest(session.day, to).to_celsius());
    lowest.min_by(f64::total_cmp).map(Temperature::celsius)
}

/// What a measure holds by its own scale: millilitres when full, level or in a drop; of marks, what is there where it shows 1.
///
/// Weighed with water the volume is `m / rho`: 98 g at 20 °C are 98.18 mL. Air bears 0.1 % of it, which is left out.
///
/// # Errors
/// If what was weighed makes no sense.
///
/// Source: `kell-1975`, and the errors of `hazards/dips.toml`.
pub fn holds(session: &Session, owned: &Owned) -> Result<Holds, Problem> {
    let measuring = session.catalogue.measuring();
    let described = &owned.described;
    let most = described.most.unwrap_or(1.0);
    let (said, once) = match described.kind {
        Kind::Vessel => (Holds::said(most, measuring.vessel.value), measuring.filling.value),
        Kind::Jug => (Holds::said(1.0, measuring.jug.value), measuring.filling.value),
        Kind::Syringe => return Ok(Holds::said(1.0, measuring.syringe.value)),
        Kind::Scale => return Ok(Holds::said(1.0, measuring.scale.value)),
        Kind::Spoon => (Holds::said(most, measuring.household_spoon.value), measuring.spoon.value),
        Kind::Dropper => {
            let drop_ml = 1.0 / described.drops_per_ml.unwrap_or(20.0);
            (Holds::said(drop_ml, measuring.drop.value), measuring.weighed_drop.value)
        }
    };
    let Some(weighing) = owned.weighing_on(session.day, None) else { return Ok(said) };
    let Weighed::Water { celsius, mark_ml, drops } = weighing.what else { return Ok(said) };
    let per_gram = 1.0 / water(Temperature::celsius(celsius))?.to_g_per_ml();
    let share = match described.kind {
        Kind::Jug => mark_ml.unwrap_or(1.0),
        Kind::Dropper => drops.unwrap_or(1.0),
        _ => 1.0,
    };
    Ok(Holds::weighed(&weighing.grams, once).scaled(per_gram / share))
}

/// Grams of a reagent in a level spoon, and what was taken for granted: as weighed, else by the bulk density on file, unless
/// that is only our judgement: then nobody knows, and the spoon wants weighing.
fn spoon_of(session: &Session, owned: &Owned, reagent: &Reagent) -> Result<Option<(Holds, Option<String>)>, Problem> {
    if let Some(weighing) = owned.weighing_on(session.day, Some(&reagent.key)) {
        return Ok(Some((Holds::weighed(&weighing.grams, session.catalogue.measuring().spoon.value), None)));
    }
    let Some(bulk) = reagent.solid.as_ref().and_then(|solid| solid.spooned.first()) else { return Ok(None) };
    let Some(source) = session.catalogue.source(&bulk.density.source) else { return Ok(None) };
    if source.kind == SourceKind::Judgement {
        return Ok(None);
    }
    let one = holds(session, owned)?.scaled(bulk.density.value).with(bulk.density.relative_sd.unwrap_or(0.0));
    let mark = source.mark();
    let taken_as = format!(
        "{} taken as {} g/mL{}, nobody weighed a spoon of it",
        bulk.kind,
        show::plain(bulk.density.value),
        mark.map_or(String::new(), |mark| format!(" [{mark}]"))
    );
    Ok(Some((one, Some(taken_as))))
}

/// A vessel that a bath is made in.
#[derive(Debug, Clone)]
pub struct Vessel {
    /// Its name.
    pub name: String,
    /// What it holds when full.
    pub volume: Volume,
    /// Relative standard deviation of that.
    pub relative_sd: f64,
}

/// The vessel with a name, full on the day of the question.
///
/// # Errors
/// For an unknown name, another kind of measure, and one that is not used on that day.
pub fn vessel(session: &Session, reading: &Writing<'_>, name: &str) -> Result<Vessel, Problem> {
    let measures = reading.measures()?;
    let owned = used(session, &measures, name)?;
    if owned.described.kind != Kind::Vessel {
        return Err(Problem::question(format!(
            "--in {name}: `{}` is a {}, no vessel",
            owned.described.name,
            owned.described.kind.word()
        ))
        .because("a bath is made in a vessel, whose volume when full is known")
        .hint("enter it: `brimstock measure add T10 vessel 10L`"));
    }
    let holds = holds(session, owned)?;
    Ok(Vessel {
        name: owned.described.name.clone(),
        volume: Volume::ml(holds.mean),
        relative_sd: holds.relative_sd(1.0),
    })
}

/// The measure with a name, used on the day of the question.
///
/// # Errors
/// For an unknown name, and for one that is not used on that day.
pub fn used<'a>(session: &Session, measures: &'a [Owned], name: &str) -> Result<&'a Owned, Problem> {
    let owned = arguments::measure(measures, name)?;
    if owned.is_used_on(session.day) {
        return Ok(owned);
    }
    let known = match owned.ended {
        Some(ended) => format!("it was used from {} and retired on {ended}", owned.described.from),
        None => format!("it is there from {}", owned.described.from),
    };
    Err(Problem::question(format!("`{}` is not used on {}", owned.described.name, session.day))
        .because(known)
        .hint("`brimstock measure list` lists those that are; say another day with --on"))
}

/// Keeps only the measures that the keeper names.
///
/// # Errors
/// For an unknown or retired one, for a vessel, for a spoon of which nobody knows what it weighs, and for what measures
/// grams where millilitres are needed, or the other way round.
pub fn only(
    session: &Session,
    reading: &Writing<'_>,
    own: OwnMeasures,
    names: &[String],
    reagent: &Reagent,
    forms: &[Form],
) -> Result<OwnMeasures, Problem> {
    let measures = reading.measures()?;
    let mut tools = Vec::new();
    for name in names {
        let owned = used(session, &measures, name)?;
        let (name, kind) = (&owned.described.name, owned.described.kind);
        let units: Vec<&str> = forms.iter().map(|form| if *form == Form::Solid { "g" } else { "mL" }).collect();
        let found: Vec<&Tool> = own.tools.iter().filter(|tool| tool.name == *name).collect();
        if units.is_empty() || found.iter().any(|tool| units.contains(&tool.unit)) {
            tools.extend(found.into_iter().cloned());
            continue;
        }
        if kind == Kind::Spoon {
            return Err(Problem::data(format!("--using {name}: nobody weighed a level spoon of {}", reagent.key))
                .because("a spoon of one powder weighs up to three times as much as of another, and no source tells the bulk density of this one")
                .hint(format!("weigh one, level: `brimstock measure weigh {name} --of {} …g`", reagent.key)));
        }
        let wanted = if units.contains(&"g") {
            "grams: a scale or a spoon"
        } else {
            "millilitres: a jug, syringe, spoon or dropper"
        };
        return Err(Problem::question(format!("--using {name}: a {} does not measure {}", kind.word(), reagent.key))
            .because(format!("what stands on the shelf of it is measured in {wanted}"))
            .hint("`brimstock measure list` lists what you have"));
    }
    // What measures volumes still serves a stock solution.
    let volumes = own
        .tools
        .iter()
        .filter(|tool| tool.unit == "mL" && !names.iter().any(|name| name.eq_ignore_ascii_case(&tool.name)));
    if !forms.contains(&Form::Solution) {
        tools.extend(volumes.cloned());
    }
    Ok(OwnMeasures { tools, unweighed: Vec::new(), ..own })
}
