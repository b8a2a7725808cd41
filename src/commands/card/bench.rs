//! The `bench` card: what it says. Doses come from `dose`, the end of the bath from `quench`, hazards from `classify`.

use crate::catalogue::{Bathed, CountedAs, Dip, Form, Occasion, Reagent, Said};
use crate::commands::classify::{self, Classify, Judged, RegimeWord};
use crate::commands::composition::Composition;
use crate::commands::dose::{DoseArguments, Dosed, dose};
use crate::commands::quench::{self, Quench, Quenched};
use crate::commands::{Problem, Session, arguments};
use crate::dip::tool::{Own, Reading};
use crate::dip::{Dose, Verdict};
use crate::disposal::after;
use crate::disposal::local::{Drain, Local, Taker};
use crate::hazard::label::{self, Label};
use crate::hazard::supplement::{Extra, SHEET};
use crate::hazard::{Regime, Rules};
use crate::units::measure::{Kitchen, VolumeReading, VolumeUnit};
use crate::units::{Volume, show};

/// What the card says.
#[derive(Debug)]
pub struct Bench {
    /// The dip.
    pub dip: &'static Dip,
    /// What it is made with.
    pub reagent: &'static Reagent,
    /// What to measure out, and the verdict.
    pub dosed: Dosed,
    /// Whether it can be made and ended: as `dose` says it, and `short` where the shelf cannot end the bath by `quench`, which
    /// counts the upper end of the band where `dose` counts the aim.
    pub verdict: Verdict,
    /// The largest bath that can be made and ended, by the same count.
    pub largest: Volume,
    /// True if the shelf can end it.
    pub can_be_ended: bool,
    /// The chance that the keeper wants.
    pub threshold: f64,
    /// The volume of the bath.
    pub bath: InUnits,
    /// The water that goes in first.
    pub water: InUnits,
    /// What is poured into it; nothing where no stock can be used.
    pub doses: Vec<Poured>,
    /// The hazards of the diluted bath.
    pub judged: Judged,
    /// The hazards of what is poured, bottles of the same label together.
    pub bottles: Vec<Bottles>,
    /// Names of the pictures of what to put on.
    pub wear: Vec<&'static str>,
    /// What to put on, in words.
    pub protection: &'static [Said],
    /// How the bath is ended, and where it may go.
    pub end: End,
}

/// A volume, and the same in the units of the keeper's kitchen.
#[derive(Debug, Clone, PartialEq)]
pub struct InUnits {
    /// In litres or millilitres; grams of what is weighed.
    pub metric: String,
    /// In customary units, two figures.
    pub customary: Option<(String, Customary)>,
}

/// A customary unit of volume.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Customary {
    /// Gallon of the United States.
    UsGallon,
    /// Fluid ounce of the United States.
    UsOunce,
    /// Imperial gallon.
    ImperialGallon,
    /// Imperial fluid ounce.
    ImperialOunce,
}

/// An amount of one stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Poured {
    /// The stock's code.
    pub code: String,
    /// How much.
    pub amount: InUnits,
    /// What to measure it with: one of [`crate::dip::measure::TOOLS`].
    pub tool: &'static str,
    /// True if it is too little to be measured with that, or with the keeper's measure, straight from the bottle.
    pub coarse: bool,
    /// The same with a measure of the keeper's, if one was chosen.
    pub own: Vec<With>,
    /// The stock solution that it is taken from, made before.
    pub stock_solution: Option<Made>,
}

/// A measure of the keeper's, and what to read or count.
#[derive(Debug, Clone, PartialEq)]
pub struct With {
    /// Its name, as the keeper gave it.
    pub measure: String,
    /// What to read or count.
    pub read: Read,
}

/// What is read or counted.
#[derive(Debug, Clone, PartialEq)]
pub enum Read {
    /// What it shows, and how many times.
    Shows(String, f64),
    /// Level spoons.
    Spoons(f64),
    /// Drops.
    Drops(f64),
}

/// A stock solution of a bottle.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// What is weighed of it.
    pub weighed: String,
    /// With what.
    pub weighed_with: Vec<With>,
    /// What it is made up to with water.
    pub made_up: InUnits,
    /// With what.
    pub made_up_with: Vec<With>,
    /// Grams of what was weighed in a litre.
    pub g_per_l: f64,
}

/// Bottles that bear the same label.
#[derive(Debug)]
pub struct Bottles {
    /// Their codes.
    pub codes: Vec<String>,
    /// The label's elements.
    pub label: Label,
    /// Statements beyond the classes.
    pub supplements: Vec<Extra>,
}

/// How a bath is ended.
#[derive(Debug)]
pub struct End {
    /// What it is thinned to with water first, where it is too strong as it is.
    pub thinned: Option<Thinned>,
    /// The answer for the bath, thinned where it must be.
    pub quenched: Quenched,
    /// What is measured out of the neutraliser.
    pub doses: Vec<Poured>,
    /// What may be done with a used weak bath of its kind.
    pub bath: &'static [Said],
    /// What was answered about drains.
    pub drains: Vec<Drain>,
    /// Who takes what is not poured away.
    pub taker: Option<Taker>,
}

/// A bath thinned with water.
#[derive(Debug)]
pub struct Thinned {
    /// How much there is of it then.
    pub volume: InUnits,
    /// How strong it is then, g/L.
    pub g_per_l: f64,
    /// True if that counts available chlorine.
    pub chlorine: bool,
}

/// Gathers it, one card a dip.
///
/// # Errors
/// Without a bath; what `dose`, `quench` and `classify` complain of.
pub fn gather(session: &Session, local: &Local, what: &[String], bath: Option<&str>) -> Result<Vec<Bench>, Problem> {
    let bath = bath.ok_or_else(|| {
        let dip = what.first().map_or("alum-soak", String::as_str);
        Problem::question("how large is the bath?")
            .because("a bench card gives amounts, and they depend on it")
            .hint(format!("add it: `brimstock card bench {dip} --bath 10L`"))
    })?;
    what.iter().map(|word| one(session, local, word, bath)).collect()
}

fn one(session: &Session, local: &Local, word: &str, bath: &str) -> Result<Bench, Problem> {
    let dip = arguments::dip(session.catalogue, word)?;
    let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
    let (kitchen, threshold) = session
        .register()?
        .read(|reading| -> Result<_, Problem> { Ok((arguments::kitchen(reading)?, arguments::threshold(reading)?)) })?;
    // What is printed goes by the local rules, where they say.
    let kitchen = local.print.units.or(kitchen);
    let wanted = DoseArguments {
        dip: dip.key.clone(),
        bath: Some(bath.to_owned()),
        vessel: None,
        using: Vec::new(),
        from: Vec::new(),
        baths: None,
        after: Vec::new(),
        rinsed: None,
    };
    let dosed = dose(session, &wanted)?;
    let codes: Vec<&str> = dosed.plan.doses.iter().map(|dose| dose.code.as_str()).collect();
    let bottles = bottles(session, &codes)?;
    let care = reagent.care.as_ref().map_or("", |care| care.protection.as_str());
    let powder = if dosed.plan.doses.is_empty() {
        reagent.forms.contains(&Form::Solid)
    } else {
        dosed.plan.doses.iter().any(|dose| dose.unit == "g")
    };
    let end = end(session, local, dip, bath, kitchen)?;
    let (verdict, largest, can_be_ended) = with_its_end(&dosed, &end);
    Ok(Bench {
        dip,
        reagent,
        verdict,
        largest,
        can_be_ended,
        threshold,
        bath: in_units(dosed.bath, kitchen),
        water: in_units(in_steps(dosed.plan.water), kitchen),
        doses: poured(&dosed.plan.doses, kitchen),
        judged: classify::run(session, &of_bath(&dip.key))?,
        // A bottle that nobody knows yet may be a strong one.
        wear: wear(
            care,
            powder,
            bottles.iter().any(|row| burns(&row.label)) || (bottles.is_empty() && care == "splash"),
        ),
        bottles,
        protection: session.catalogue.care(Occasion::Protection, care).map_or(&[], |text| &text.lines),
        end,
        dosed,
    })
}

/// The verdict on making and ending a bath, the largest that both can be done with, and whether this one can be ended.
///
/// Ending counts as `quench` plans it, for the upper end of the band: 10 L of a bleach dip take 240 g, and with 160 g on the
/// shelf 6.6 L is the most.
///
/// Source: as [`quench::run`].
fn with_its_end(dosed: &Dosed, end: &End) -> (Verdict, Volume, bool) {
    let plan = &dosed.plan;
    let needed = end.quenched.ending.as_ref().and_then(|ending| ending.needed.as_ref());
    let Some(needed) = needed.filter(|needed| !needed.enough()) else {
        let can = dosed.stopping.as_ref().is_none_or(|stopping| stopping.enough());
        return (dosed.verdict, plan.largest, can);
    };
    let most = dosed.bath.to_l() * needed.held.to_g() / needed.planned.to_g();
    let verdict = match dosed.verdict {
        Verdict::Ready | Verdict::TestFirst => Verdict::Short,
        worse => worse,
    };
    (verdict, Volume::l(plan.largest.to_l().min(most)), false)
}

/// A volume of water as a jug shows it: 10 mL steps above a litre, 1 mL steps below.
///
/// Source: `judgement`, as the jugs of [`crate::dip::measure`].
fn in_steps(water: Volume) -> Volume {
    let step = if water.to_l() > 1.0 { 10.0 } else { 1.0 };
    Volume::ml(libm::round(water.to_ml() / step) * step)
}

fn of_bath(dip: &str) -> Classify {
    Classify { what: None, at: None, bath: Some(dip.to_owned()), rules: RegimeWord::Eu, generic: false, ph: None }
}

/// The label of each bottle that is poured from.
fn bottles(session: &Session, codes: &[&str]) -> Result<Vec<Bottles>, Problem> {
    let (elements, choice) = (session.catalogue.elements(), session.catalogue.choice());
    let mut found: Vec<Bottles> = Vec::new();
    for code in codes {
        let mixture = Composition::of_stock(session, code)?.mixture(None)?;
        let judged = crate::hazard::classify(&mixture, Rules { regime: Regime::Eu, specific: true });
        let label = label::label(&judged, elements, choice);
        let mut supplements = judged.supplements;
        // The keeper's own bottle is supplied to nobody.
        supplements.retain(|extra| extra.statement != SHEET);
        let code = (*code).to_owned();
        match found.iter_mut().find(|other| other.label == label && other.supplements == supplements) {
            Some(other) => other.codes.push(code),
            None => found.push(Bottles { codes: vec![code], label, supplements }),
        }
    }
    Ok(found)
}

/// True if it bears the symbol of what eats skin, eyes or metal.
fn burns(label: &Label) -> bool {
    label.pictograms.iter().any(|code| code == "GHS05")
}

/// What to put on, as pictures: by the reagent's protection text, by whether powder is weighed, and by the bottle's label.
///
/// Source: `judgement`, as the protection texts of `hazards/care.toml`.
fn wear(care: &str, powder: bool, burns: bool) -> Vec<&'static str> {
    let mut wear = vec!["goggles", "gloves"];
    if burns || care == "corrosive" {
        wear.extend(["face-shield", "apron"]);
    }
    if powder && care == "dust" {
        wear.push("mask");
    }
    wear
}

fn poured(doses: &[Dose], kitchen: Option<Kitchen>) -> Vec<Poured> {
    let amount = |dose: &Dose| match (&dose.stock_solution, dose.unit.as_str()) {
        (Some(solution), _) => in_units(Volume::ml(solution.take_ml), kitchen),
        (None, "mL") => in_units(Volume::ml(dose.amount), kitchen),
        (None, _) => InUnits { metric: show::amount(dose.amount, &dose.unit), customary: None },
    };
    let one = |dose: &Dose| Poured {
        code: dose.code.clone(),
        amount: amount(dose),
        tool: dose.tool,
        coarse: dose.coarse,
        own: dose.own.iter().map(with).collect(),
        stock_solution: dose.stock_solution.as_ref().map(|solution| Made {
            weighed: show::amount(solution.grams, "g"),
            weighed_with: solution.weighed.own.iter().map(with).collect(),
            made_up: in_units(Volume::ml(solution.made_up_ml), kitchen),
            made_up_with: solution.whole.own.iter().map(with).collect(),
            g_per_l: solution.g_per_l,
        }),
    };
    doses.iter().map(one).collect()
}

fn with(own: &Own) -> With {
    let read = match own.reading {
        Reading::Mark { mark, times } => Read::Shows(show::amount(mark, own.unit), times),
        Reading::Count(count) if own.unit == "drop" => Read::Drops(count),
        Reading::Count(count) => Read::Spoons(count),
    };
    With { measure: own.measure.clone(), read }
}

/// Below this many customary units a spoon or a syringe is meant, and no figure helps.
/// Source: `judgement`.
const LEAST_CUSTOMARY: f64 = 0.25;

/// A volume in metric units and, for a kitchen of the United States or an imperial one, in its gallons or fluid ounces.
///
/// 10 L are 2.6 US gallons. Source: `nist-hb44`, `uk-wma-1985`.
fn in_units(volume: Volume, kitchen: Option<Kitchen>) -> InUnits {
    let metric = show::millilitres(volume.to_ml());
    let units = match kitchen {
        Some(Kitchen::Us) => Some((Customary::UsGallon, Customary::UsOunce)),
        Some(Kitchen::Imperial) => Some((Customary::ImperialGallon, Customary::ImperialOunce)),
        _ => None,
    };
    let customary = units.and_then(|(gallon, ounce)| {
        let count = |word: &str| match VolumeUnit::called(word, kitchen) {
            Some(VolumeReading::One(unit)) => Some(volume.to_ml() / unit.ml),
            _ => None,
        };
        let (gallons, ounces) = (count("gal")?, count("floz")?);
        let (count, unit) = if gallons >= 1.0 { (gallons, gallon) } else { (ounces, ounce) };
        (count >= LEAST_CUSTOMARY).then(|| (show::significant(count, 2), unit))
    });
    InUnits { metric, customary }
}

/// How the bath is ended: with what the dip names, else in the usual way; thinned first where that is what it takes.
fn end(
    session: &Session,
    local: &Local,
    dip: &'static Dip,
    bath: &str,
    kitchen: Option<Kitchen>,
) -> Result<End, Problem> {
    let with = dip.stop.as_ref().map(|stop| stop.reagent.clone());
    let asked = Quench { what: dip.key.clone(), of: None, bath: bath.to_owned(), with: with.clone() };
    let mut quenched = quench::run(session, &asked)?;
    let mut thinned = None;
    // What lives in a tank is not thinned or stirred into.
    if dip.bathed != Bathed::Tank
        && let Some(again) = quenched.again()
        && let Some(to) = quenched.ending.as_ref().and_then(|ending| ending.thin_to)
    {
        let chlorine = quenched.treatment.is_some_and(|row| row.counted_as == CountedAs::AvailableChlorine);
        thinned = Some(Thinned { volume: in_units(to.volume, kitchen), g_per_l: to.g_per_l, chlorine });
        quenched = quench::run(session, &Quench { with, ..again })?;
    }
    let doses = quenched.ending.as_ref().and_then(|ending| ending.needed.as_ref()).map(|needed| &needed.doses[..]);
    let key = quenched.reagent.care.as_ref().map_or("", |care| care.disposal.as_str());
    let record = after::record(local, key, &quenched.reagent.key, quenched.neutraliser.as_deref());
    Ok(End {
        thinned,
        doses: poured(doses.unwrap_or_default(), kitchen),
        bath: session.catalogue.disposal().class(key).map_or(&[], |class| &class.bath),
        drains: record.answers.into_iter().cloned().collect(),
        taker: record.taker.cloned(),
        quenched,
    })
}
