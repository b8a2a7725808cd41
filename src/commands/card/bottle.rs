//! The `bottle` card: what the label of a stock says.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};

use crate::catalogue::{Catalogue, Condition, Form, Jurisdiction, Occasion, SmallPackage};
use crate::commands::composition::{Composition, as_chlorine};
use crate::commands::sight::Sight;
use crate::commands::{Problem, Session, arguments};
use crate::disposal::local::Local;
use crate::hazard::label::{Label, label};
use crate::hazard::supplement::SHEET;
use crate::hazard::{Classification, Regime, Rules, classify};
use crate::register::event::{Labelled, Made};
use crate::units::estimate::{Estimate, Z_95};
use crate::units::show;

/// What the label of one stock says.
#[derive(Debug, Clone)]
pub struct Bottle {
    /// Its code.
    pub code: String,
    /// The full name of its reagent, English.
    pub name: String,
    /// Its formula, water of crystallisation included.
    pub formula: String,
    /// Its registry number.
    pub cas: String,
    /// Solid or solution.
    pub form: Form,
    /// Its strength as labelled or made, in the unit.
    pub strength: String,
    /// The unit's printed name.
    pub unit: String,
    /// Why nothing is to be poured from it, if so: the keeper's words, or that it is left closed.
    pub hold: Option<String>,
    /// True if that is an estimate of ours.
    pub estimated: bool,
    /// What is dangerous in it; nothing where nothing is on file.
    pub hazards: Option<Hazards>,
    /// The eye and the mouth: first aid, English.
    pub first_aid: Vec<String>,
    /// How it is kept.
    pub keep: Keep,
    /// The day it came or was made up here.
    pub received: NaiveDate,
    /// The day it was made, where that is another and known.
    pub made: Option<NaiveDate>,
    /// True if its solution was made or poured here.
    pub filled_here: bool,
    /// The stock it was poured from.
    pub poured_from: Option<String>,
    /// The day it was opened.
    pub opened: Option<NaiveDate>,
    /// The day on which an own dilution is to be tested or made afresh, by the rule of its reagent; for what was bought none is
    /// on file, and which dips it still makes until when is told by `check`.
    pub use_by: Option<NaiveDate>,
    /// How much it held when it came.
    pub amount: String,
    /// How much its container holds, L: to the brim where that is known, else what it held when it came.
    pub litres: f64,
}

/// The elements of a label at the strongest that a stock can credibly be.
#[derive(Debug, Clone)]
pub struct Hazards {
    /// The strength that they are computed for, % w/w.
    pub percent: f64,
    /// Grams of the reagent itself in 100 g.
    pub whole: f64,
    /// True if these per cent are of available chlorine.
    pub as_chlorine: bool,
    /// All of them.
    pub label: Label,
    /// Statements beyond the classes, with what they name.
    pub supplements: Vec<(String, Option<String>)>,
    /// True if something could not be decided.
    pub gaps: bool,
    /// The same without what a very small package may leave off: precautions, then statements too; nothing for others.
    pub small: Vec<Label>,
}

/// How a stock is kept.
#[derive(Debug, Clone, Default)]
pub struct Keep {
    /// Its cap must let gas out.
    pub vented: bool,
    /// Light spoils it.
    pub dark: bool,
    /// Its place stays below so many °C.
    pub below_c: Option<f64>,
}

/// What became of one label.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// The stock.
    pub code: String,
    /// Width and height of a panel, mm.
    pub size: (f64, f64),
    /// Codes of the statements left off.
    pub left_off: Vec<String>,
    /// The least size for its container, mm, if it is smaller than that.
    pub least: Option<(f64, f64)>,
}

/// Gathers the labels of stocks, in the order in which they were named.
///
/// # Errors
/// Unknown codes, what left the shelf, and a strength that cannot be brought to per cent by weight.
pub fn gather(session: &Session, local: &Local, what: &[String]) -> Result<Vec<Bottle>, Problem> {
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        let stocks = arguments::stocks(reading, what)?;
        let mut known: BTreeMap<i64, Bottle> = BTreeMap::new();
        let mut all = Vec::with_capacity(stocks.len());
        for stock in reading.work().over("gathering labels", stocks) {
            let stock = stock?;
            let id = stock.id;
            let label = match known.get(&id) {
                Some(same) => same.clone(),
                None => {
                    let sight = Sight::of_shelf(session, reading, &places, stock)?;
                    sight.still_there()?;
                    bottle(session, local, &sight)?
                }
            };
            known.entry(id).or_insert_with(|| label.clone());
            all.push(label);
        }
        Ok(all)
    })
}

fn bottle(session: &Session, local: &Local, sight: &Sight<'_>) -> Result<Bottle, Problem> {
    let catalogue = session.catalogue;
    let (reagent, state) = (sight.reagent, &sight.state);
    let litres = state.kept_in.brim_ml.unwrap_or(state.amount).max(state.amount) / 1000.0;
    let sizes = catalogue.label_sizes();
    // The rule of very small packages goes by what they hold, not by what they could.
    let small = may_leave_off(&sizes.small, state.amount / 1000.0, local.jurisdiction);
    let hazards = hazards(catalogue, sight, small)?;
    let keep = keep(sight, hazards.as_ref());
    let own = sight.own_dilution();
    let use_by = own.and_then(|(made, keeps)| made.checked_add_days(Days::new(keeps.value as u64)));
    Ok(Bottle {
        code: sight.stock.code.clone(),
        name: reagent.name.clone(),
        formula: reagent.formula.value.clone(),
        cas: reagent.cas.value.clone(),
        form: sight.stock.form,
        strength: strength(&state.label, sight.history.decanted),
        unit: state.label.unit.clone(),
        hold: sight.offer().hold,
        estimated: sight.history.decanted && state.label.relative_sd > 0.0,
        first_aid: first_aid(catalogue, sight, hazards.as_ref()),
        hazards,
        keep,
        received: state.received,
        made: match state.made {
            Made::On(day) if day != state.received => Some(day),
            _ => None,
        },
        filled_here: state.poured_from.is_some() || matches!(state.came, Condition::MadeUp | Condition::MadeUpTap),
        poured_from: state.poured_from.clone(),
        opened: state.opened,
        use_by,
        amount: show::amount(state.amount, &state.unit),
        litres,
    })
}

/// The figure of a strength on a label; of what was poured here an estimate with its band.
fn strength(label: &Labelled, decanted: bool) -> String {
    if decanted && label.relative_sd > 0.0 {
        let estimate = Estimate::exact(label.value).spread(Z_95 * label.relative_sd);
        return format!("≈ {}", show::with_band(estimate));
    }
    show::plain(label.value)
}

/// The rule of very small packages, where it holds.
fn may_leave_off(small: &SmallPackage, litres: f64, jurisdiction: Option<Jurisdiction>) -> Option<&SmallPackage> {
    let holds = jurisdiction.is_some_and(|place| small.places.contains(&place));
    (holds && litres <= small.up_to_l).then_some(small)
}

/// What `classify` says of the stock.
fn hazards(
    catalogue: &'static Catalogue,
    sight: &Sight<'_>,
    small: Option<&SmallPackage>,
) -> Result<Option<Hazards>, Problem> {
    if sight.reagent.hazard.is_none() {
        return Ok(None);
    }
    let of_stock = |problem: Problem| Problem { what: format!("`{}`: {}", sight.stock.code, problem.what), ..problem };
    let composition = Composition::of_sight(catalogue, sight).map_err(of_stock)?;
    let judged = classify(&composition.mixture(None)?, Rules { regime: Regime::Eu, specific: true });
    let full = label(&judged, catalogue.elements(), catalogue.choice());
    Ok(Some(Hazards {
        percent: composition.parts.iter().map(|part| part.percent).sum(),
        whole: composition.parts.iter().map(|part| part.whole).sum(),
        as_chlorine: as_chlorine(sight.reagent),
        small: small.map_or_else(Vec::new, |small| reduced(catalogue, &judged, &full, small)),
        // A bottle of one's own is supplied to nobody.
        supplements: judged
            .supplements
            .iter()
            .filter(|extra| extra.statement != SHEET)
            .map(|extra| (extra.statement.clone(), extra.names.clone()))
            .collect(),
        gaps: !judged.gaps.is_empty(),
        label: full,
    }))
}

/// A label without the precautions that a very small package may leave off, and without the statements too; pictograms and
/// signal word stay. Only what differs from the one before.
fn reduced(catalogue: &Catalogue, judged: &Classification, full: &Label, small: &SmallPackage) -> Vec<Label> {
    let without = |precautions_too: bool| {
        let mut judged = judged.clone();
        judged.classes.retain(|found| {
            !small.leave_off.iter().any(|row| {
                row.class == found.class
                    && row.categories.contains(&found.category)
                    && (precautions_too || row.statement)
            })
        });
        label(&judged, catalogue.elements(), catalogue.choice())
    };
    let only = |codes: Vec<String>, of: &[String]| codes.into_iter().filter(|code| of.contains(code)).collect();
    let fewer = Label { precautions: only(without(true).precautions, &full.precautions), ..full.clone() };
    let fewest = Label { statements: only(without(false).statements, &full.statements), ..fewer.clone() };
    let mut labels = vec![full.clone(), fewer, fewest];
    labels.dedup();
    labels.remove(0);
    labels
}

/// First aid for the eye and for what was swallowed: the lines of the care text that begin so.
fn first_aid(catalogue: &Catalogue, sight: &Sight<'_>, hazards: Option<&Hazards>) -> Vec<String> {
    let Some(care) = &sight.reagent.care else { return Vec::new() };
    let Some(text) = catalogue.care(Occasion::FirstAid, &care.first_aid) else { return Vec::new() };
    let strong = hazards.is_none_or(|hazards| hazards.percent > 10.0);
    ["Eye:", "Swallowed:", "Swallowed above 10 %:"]
        .iter()
        .filter(|start| strong || !start.contains("above"))
        .filter_map(|start| text.lines.iter().find(|line| line.say.starts_with(*start)))
        .map(|line| line.say.clone())
        .collect()
}

fn keep(sight: &Sight<'_>, hazards: Option<&Hazards>) -> Keep {
    let Some(keeping) = &sight.reagent.keeping else { return Keep::default() };
    let liquid = sight.stock.form == Form::Solution;
    // Nobody knows how strong it is: as the strongest sold.
    let strong = |bound: f64| hazards.is_none_or(|hazards| hazards.whole >= bound);
    Keep {
        vented: liquid && keeping.vent_above.as_ref().is_some_and(|vent| strong(vent.value)),
        dark: keeping.dark.is_some() && keeping.dark_form.is_none_or(|form| form == sight.stock.form),
        below_c: keeping.below_c.as_ref().map(|figure| figure.value),
    }
}
