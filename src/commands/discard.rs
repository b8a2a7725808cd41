//! `discard`: how unwanted stock is handed over. It plans and prints; nothing is entered, and nothing is treated.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use clap::Args;

use super::composition::{Composition, Shown, counted_share};
use super::local::{self, Asking, asking, due_since};
use super::looking::each_on_shelf;
use super::receive::label_text;
use super::sight::{Sight, Usual};
use super::strength::{Asked, checked};
use super::{Problem, Session};
use crate::catalogue::{
    Cap, Carriage, Condition, Container, Counted, DisposalClass, Form, Household, Jurisdiction, Regulated, Said, Topic,
    WasteCode,
};
use crate::decay::posterior::Standing;
use crate::dip;
use crate::disposal::caution;
use crate::disposal::hand_over::{Kept, boxes, carried, never_together, regulated, unwanted};
use crate::disposal::local::{Local, Taker};
use crate::hazard::Regime;
use crate::hazard::apart::Neighbour;
use crate::register::Writing;
use crate::register::place::Place;
use crate::units::Volume;
use crate::units::strength::StrengthUnit;

/// The bath by which `still good for` is judged, as `check` does.
const BATH_L: f64 = 10.0;

/// Plan how unwanted stock is handed over: packing, boxes, whom to ask, what to write on it
///
/// Nothing is entered. Nobody is coached to treat or pour away a stock: it goes, as it is, to whoever may take it.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  brimstock discard HP-1 PP-2\n  brimstock discard --unwanted --in EU")]
pub struct Discard {
    /// The stocks' codes
    #[arg(value_name = "STOCK", conflicts_with = "unwanted")]
    pub stocks: Vec<String>,
    /// Every stock that nobody should want to keep: held, swollen, made up too long ago, weaker than half of its label
    #[arg(long)]
    pub unwanted: bool,
    /// Whose lists of waste and laws are shown: EU, UK or US [default: as in `local.toml`, else all]
    #[arg(long = "in", value_name = "WHERE", value_parser = jurisdiction)]
    pub jurisdiction: Option<Jurisdiction>,
}

fn jurisdiction(word: &str) -> Result<Jurisdiction, String> {
    let accepted = Jurisdiction::ALL.map(Jurisdiction::word).join(", ");
    Jurisdiction::called(word.trim()).ok_or_else(|| format!("`{word}` is not on file; accepted: {accepted}"))
}

/// A plan for handing over.
#[derive(Debug)]
pub struct Discarded {
    /// The day.
    pub on: NaiveDate,
    /// Whose lists and laws are shown.
    pub places: Vec<Jurisdiction>,
    /// True if somebody said where this is.
    pub place_known: bool,
    /// What goes.
    pub items: Vec<Item>,
    /// What is empty: code and name.
    pub empty: Vec<(String, String)>,
    /// The codes in each box.
    pub boxes: Vec<Vec<String>>,
    /// What must not meet: two codes, and what would happen.
    pub far_apart: Vec<(String, String, String)>,
    /// Whom to ask what.
    pub ask: Vec<Asking>,
    /// What is said of households.
    pub household: Vec<Household>,
    /// What to write on the package.
    pub package: Vec<Said>,
    /// The numbers on record: emergency, poison centre.
    pub numbers: [Option<String>; 2],
    /// The day since which these rules want a second look, if it has passed.
    pub due_since: Option<NaiveDate>,
    /// What the plan says of itself.
    pub caution: &'static str,
}

/// One stock of a plan.
#[derive(Debug)]
pub struct Item {
    /// Its code.
    pub stock: String,
    /// Key of its reagent.
    pub reagent: String,
    /// Its full name.
    pub name: String,
    /// Solid or solution.
    pub form: Form,
    /// How much is left, in the unit.
    pub left: f64,
    /// `mL` or `g`.
    pub unit: String,
    /// What its label says.
    pub label: String,
    /// What is thought of it now.
    pub strength: Option<Usual>,
    /// Keys of the sources of that.
    pub sources: BTreeSet<String>,
    /// The highest strength that can be believed, % w/w, which law and carriage are compared with.
    pub counted: Option<f64>,
    /// What these per cent are of, where it is not the substance itself.
    pub counted_as: Option<&'static str>,
    /// True if it was noted to bear no label.
    pub unlabelled: bool,
    /// The names it is carried under.
    pub carried: Vec<Carriage>,
    /// Those that hold on a condition.
    pub may_be_carried: Vec<Carriage>,
    /// What it is kept in.
    pub container: Container,
    /// How its cap closes, where somebody said.
    pub cap: Option<Cap>,
    /// Where it stands.
    pub place: String,
    /// What its label shows; nothing without data.
    pub hazard: Option<Shown>,
    /// How it leaves; nothing for a reagent without a class on file.
    pub class: Option<DisposalClass>,
    /// How lists of waste call it.
    pub codes: Vec<WasteCode>,
    /// What the law says of it.
    pub law: Vec<Regulated>,
    /// True if it is stronger than the law or the local rules allow everybody: then no use of it is offered.
    pub too_strong: bool,
    /// Dips that it still does, and until when.
    pub still_good_for: Vec<(String, Option<dip::Until>)>,
    /// Who takes it.
    pub takers: Vec<Taker>,
    /// Why it should go, where a reason is known.
    pub because: Vec<String>,
    /// When and as what it was noted that must not be carried.
    pub gas: Option<(NaiveDate, String)>,
}

/// Plans the handing over.
///
/// # Errors
/// For no stock or an unknown one, one that left already, one that is named twice, and local rules with faults.
pub fn run(session: &Session, given: &Discard) -> Result<Discarded, Problem> {
    if given.stocks.is_empty() && !given.unwanted {
        return Err(Problem::question("which stock is to go?").hint(
            "name its code, as `brimstock discard HP-1`, or let the shelf answer: `brimstock discard --unwanted`",
        ));
    }
    let local = local::of(session)?;
    let place = given.jurisdiction.or(local.jurisdiction);
    let whose = place.map_or(Jurisdiction::ALL.to_vec(), |place| vec![place]);
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        let sights = if given.unwanted {
            all_unwanted(session, reading, &places)?
        } else {
            named(session, reading, &places, &given.stocks)?
        };
        let (empty, full): (Vec<_>, Vec<_>) = sights.into_iter().partition(|sight| sight.state.left <= 0.0);
        let mut items = Vec::new();
        for sight in &full {
            items.push(item(session, reading, &places, sight, &whose, &local)?);
        }
        let travelling: Vec<(&Item, Neighbour<'_>)> = items
            .iter()
            .zip(&full)
            .filter(|(item, _)| item.gas.is_none())
            .map(|(item, sight)| (item, neighbour(sight, item.counted)))
            .collect();
        let neighbours: Vec<Neighbour<'_>> = travelling.iter().map(|(_, neighbour)| *neighbour).collect();
        let code = |index: usize| travelling[index].0.stock.clone();
        let apart = session.catalogue.apart();
        let disposal = session.catalogue.disposal();
        Ok(Discarded {
            on: session.day,
            place_known: place.is_some(),
            boxes: boxes(apart, &neighbours).into_iter().map(|shared| shared.into_iter().map(code).collect()).collect(),
            far_apart: never_together(apart, &neighbours)
                .into_iter()
                .map(|(one, other, conflict)| {
                    (code(one), code(other), conflict.pair.consequence.clone().unwrap_or_default())
                })
                .collect(),
            ask: to_ask(session, &items),
            household: disposal.households.iter().filter(|row| whose.contains(&row.jurisdiction)).cloned().collect(),
            package: disposal.labels.clone(),
            numbers: [local.emergency.clone(), local.poison_centre.clone()],
            due_since: due_since(session),
            caution: caution::short(),
            empty: empty.into_iter().map(|sight| (sight.stock.code, sight.reagent.name.clone())).collect(),
            places: whose,
            items,
        })
    })
}

/// The stocks that were named, each once and still there.
fn named(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    codes: &[String],
) -> Result<Vec<Sight<'static>>, Problem> {
    let mut sights: Vec<Sight<'static>> = Vec::new();
    for code in codes {
        let sight = Sight::on_shelf(session, reading, places, code)?;
        let code = &sight.stock.code;
        if sights.iter().any(|other| other.stock.code == *code) {
            return Err(Problem::question(format!("`{code}` is named twice")).hint("name each stock once"));
        }
        sight.still_there()?;
        sights.push(sight);
    }
    Ok(sights)
}

/// What is empty, and what there is a reason to hand over.
fn all_unwanted(session: &Session, reading: &Writing<'_>, places: &[Place]) -> Result<Vec<Sight<'static>>, Problem> {
    let mut sights = Vec::new();
    each_on_shelf(
        session,
        reading,
        places,
        |_| true,
        |sight| {
            if sight.state.left <= 0.0 || !reasons(session, &sight).is_empty() {
                sights.push(sight);
            }
            Ok(())
        },
    )?;
    Ok(sights)
}

/// Why a stock should go; nothing where no reason is known.
pub(super) fn reasons(session: &Session, sight: &Sight<'_>) -> Vec<String> {
    unwanted(&kept(session, sight))
}

/// Whose rules of labels hold.
pub(super) fn regime(whose: &[Jurisdiction]) -> Regime {
    if whose == [Jurisdiction::Us] { Regime::Us } else { Regime::Eu }
}

/// What is known of a stock that may not be wanted.
fn kept<'a>(session: &Session, sight: &'a Sight<'_>) -> Kept<'a> {
    let state = &sight.state;
    Kept {
        hold: sight.left_closed().or(state.hold.as_deref()),
        noticed: sight.state.swollen(),
        made_up: sight.own_dilution().map(|(made, keeps)| ((session.day - made).num_days(), keeps.value)),
        strength: match &sight.standing {
            Standing::Known(known) => Some((sight.label, known.estimate().low)),
            Standing::Unknown { .. } => None,
        },
    }
}

fn item(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    sight: &Sight<'_>,
    whose: &[Jurisdiction],
    local: &Local,
) -> Result<Item, Problem> {
    let catalogue = session.catalogue;
    let reagent = sight.reagent;
    let strength = match &sight.standing {
        Standing::Known(known) => Some(sight.usual(known.estimate())?),
        Standing::Unknown { .. } => None,
    };
    let composition = Composition::of_sight(catalogue, sight).ok();
    let counted = match sight.stock.form {
        Form::Solid => Some(highest_content(sight) * counted_share(reagent)?),
        Form::Solution => composition.as_ref().and_then(|made| made.parts.first()).map(|part| part.percent),
    };
    let hazard = composition.and_then(|made| made.label(catalogue, regime(whose)));
    let class = reagent.care.as_ref().and_then(|care| catalogue.disposal().class(&care.disposal));
    let key = class.map_or("", |class| class.key.as_str());
    let carried = carried(reagent, sight.stock.form, counted);
    let law: Vec<Regulated> = regulated(reagent, counted, whose).cloned().collect();
    let written = StrengthUnit::named(&sight.state.label.unit).of(sight.state.label.value);
    let too_strong = law.iter().any(|row| row.above_percent_w_w.is_some())
        || local::above(local, reagent, written).is_ok_and(|above| above.is_some());
    Ok(Item {
        stock: sight.stock.code.clone(),
        reagent: reagent.key.clone(),
        name: reagent.name.clone(),
        form: sight.stock.form,
        left: sight.state.left,
        unit: sight.state.unit.clone(),
        label: label_text(&sight.state.label),
        strength,
        sources: sight.sources(),
        counted,
        counted_as: match reagent.hazard.as_ref().map(|hazard| hazard.counted_as) {
            Some(Counted::AvailableChlorine) => Some("available chlorine"),
            _ => None,
        },
        unlabelled: sight.state.is_labelled() == Some(false),
        carried: carried.fits.into_iter().cloned().collect(),
        may_be_carried: carried.may.into_iter().cloned().collect(),
        container: sight.state.kept_in.container,
        cap: sight.state.cap(),
        place: sight.state.place.clone(),
        hazard,
        class: class.cloned(),
        codes: catalogue
            .disposal()
            .codes
            .iter()
            .filter(|row| row.class == key && whose.contains(&row.jurisdiction))
            .cloned()
            .collect(),
        law,
        still_good_for: if too_strong { Vec::new() } else { still_good_for(session, reading, places, sight)? },
        too_strong,
        takers: local.takers(key).cloned().collect(),
        because: reasons(session, sight),
        gas: sight
            .state
            .swollen()
            .or_else(|| sight.left_closed().map(|_| (sight.state.received, "too strong, left closed")))
            .map(|(day, what)| (day, what.to_owned())),
    })
}

/// The most that a solid may hold, grams of the substance in 100 g.
fn highest_content(sight: &Sight<'_>) -> f64 {
    let label = sight.state.label.value;
    match &sight.standing {
        Standing::Known(known) if !sight.history.assays.is_empty() => {
            label.max(100.0 * known.estimate().high).min(100.0)
        }
        _ => label,
    }
}

/// Dips that the shelf would still make from it; none for what is held, dirty or makes gas.
fn still_good_for(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    sight: &Sight<'_>,
) -> Result<Vec<(String, Option<dip::Until>)>, Problem> {
    let spoilt = sight.state.condition == Condition::Dirty || sight.state.swollen().is_some();
    if sight.state.hold.is_some() || spoilt {
        return Ok(Vec::new());
    }
    let checked = checked(session, reading, places, sight, &Asked::of(Volume::l(BATH_L)))?;
    let ready = checked.dips.into_iter().filter(|line| line.verdict == dip::Verdict::Ready);
    Ok(ready.map(|line| (line.dip, line.until)).collect())
}

/// The stock as its neighbours in a box see it; without a label nobody on the way knows how weak it is.
fn neighbour<'a>(sight: &Sight<'a>, counted: Option<f64>) -> Neighbour<'a> {
    let percent_w_w = counted.filter(|_| sight.state.is_labelled() != Some(false));
    Neighbour { reagent: sight.reagent, form: sight.stock.form, percent_w_w }
}

/// What to ask whom: who takes it, where the local rules are silent; and whom to call for a bottle that makes gas.
fn to_ask(session: &Session, items: &[Item]) -> Vec<Asking> {
    let mut ask = Vec::new();
    if items.iter().any(|item| item.takers.is_empty()) {
        ask.extend(asking(session, Topic::Takes));
    }
    if items.iter().any(|item| item.gas.is_some()) {
        ask.extend(asking(session, Topic::Store));
    }
    ask
}
