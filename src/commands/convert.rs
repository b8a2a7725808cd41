//! `convert`: any strength or amount in another unit, with every step and its source.

use clap::Args;

use super::{Problem, Session, arguments};
use crate::catalogue::{Form, Reagent};
use crate::chem::reading::{self, measure_sd};
use crate::chem::{ChemError, Substance, solution};
use crate::register::{Register, StoreError};
use crate::units::Temperature;
use crate::units::estimate::Estimate;
use crate::units::measure::{Amount, Kitchen, MassUnit, Quantity, VolumeReading, VolumeUnit};
use crate::units::parse::{self, Written};
use crate::units::show::plain;
use crate::units::step::Step;
use crate::units::strength::{Basis, StrengthUnit};

/// Convert a strength or an amount, as people write them, into another unit
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  brimstock convert \"2.5 mL/gal-us of 3 % w/v\" --of hydrogen-peroxide --to mg/L
  brimstock convert \"1 tbsp/gal-us\" --of potassium-alum --to g/L --why
  brimstock convert \"2 tbsp\" --of potassium-alum --to g")]
pub struct Convert {
    /// What to convert, with its unit
    pub what: String,
    /// The reagent it is about
    #[arg(long, value_name = "REAGENT")]
    pub of: Option<String>,
    /// The unit to convert to
    #[arg(long, value_name = "UNIT")]
    pub to: String,
    /// The temperature of the solution, °C
    #[arg(long, value_parser = arguments::celsius, default_value = "20", value_name = "°C", allow_hyphen_values = true)]
    pub temp: f64,
    /// Which kitchen a bare `cup` or `gal` comes from [default: the register's]
    #[arg(long, value_parser = kitchen)]
    pub kitchen: Option<Kitchen>,
}

/// Reads a kitchen's word.
///
/// # Errors
/// What is wrong with it, for clap to show.
pub(super) fn kitchen(word: &str) -> Result<Kitchen, String> {
    Kitchen::called(word).ok_or_else(|| format!("`{word}` is no kitchen; accepted: us, imperial, metric, australian"))
}

/// A converted value.
#[derive(Debug, Clone, PartialEq)]
pub struct Converted {
    /// What was converted, as typed.
    pub from: String,
    /// The reagent's key, if one was named.
    pub of: Option<String>,
    /// The value with its band.
    pub value: Estimate,
    /// The unit.
    pub unit: String,
    /// The same in grams of reagent in a litre, where that has a meaning.
    pub g_per_l: Option<f64>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// How it was done.
    pub steps: Vec<Step>,
}

/// Converts.
///
/// # Errors
/// For what cannot be read, a unit that is none, a reagent that is missing or unknown, and chemistry that has no answer.
pub fn run(session: &Session, arguments: &Convert) -> Result<Converted, Problem> {
    let kitchen = match arguments.kitchen {
        Some(kitchen) => Some(kitchen),
        None => registered_kitchen(session)?,
    };
    let reagent = match &arguments.of {
        Some(word) => Some(arguments::reagent(session.catalogue, word)?),
        None => None,
    };
    let conversion = Conversion { session, reagent, kitchen, arguments };
    if let Some(to) = conversion.strength_unit()? {
        return conversion.strength(&to);
    }
    if let Some(mass) = MassUnit::called(&arguments.to) {
        return conversion.amount(mass.name, |grams, _| grams.map(|value| value / mass.grams));
    }
    match VolumeUnit::called(&arguments.to, kitchen) {
        Some(VolumeReading::One(unit) | VolumeReading::Guessed(unit)) => {
            conversion.amount(unit.name, |_, millilitres| millilitres.map(|value| value / unit.ml))
        }
        Some(VolumeReading::Ask(us, imperial)) => Err(Problem::question(format!("which `{}`?", arguments.to))
            .hint(format!("accepted: {} or {}", us.name, imperial.name))),
        None => Err(unknown_unit(&arguments.to)),
    }
}

/// The register's kitchen, if there is a register at all: a converter must not need one.
///
/// # Errors
/// The [`StoreError`] of a register that is there and cannot be read, as a problem.
pub(super) fn registered_kitchen(session: &Session) -> Result<Option<Kitchen>, Problem> {
    match Register::open(&session.path) {
        Ok(mut register) => register.read(|reading| Ok(arguments::kitchen(reading)?)),
        Err(StoreError::Missing(_)) => Ok(None),
        Err(other) => Err(other.into()),
    }
}

fn unknown_unit(unit: &str) -> Problem {
    let strengths: Vec<&str> = StrengthUnit::names().collect();
    Problem::question(format!("`{unit}` is no unit")).hint(format!(
        "accepted for strengths: {}, and a mass over a volume, as oz/gal-us; for amounts: g, kg, mg, oz, lb, mL, L, tsp-us, \
         tbsp-us, cup-us, floz-us, gal-us, gal-imp, tbsp-metric, tbsp-au, drop",
        strengths.join(", ")
    ))
}

struct Conversion<'a> {
    session: &'a Session,
    reagent: Option<&'a Reagent>,
    kitchen: Option<Kitchen>,
    arguments: &'a Convert,
}

impl Conversion<'_> {
    fn temperature(&self) -> Temperature {
        Temperature::celsius(self.arguments.temp)
    }

    fn needed(&self, why: &str) -> Result<&Reagent, Problem> {
        self.reagent.ok_or_else(|| {
            Problem::question("of which reagent?").because(why).hint("add it, as --of hydrogen-peroxide")
        })
    }

    /// The strength unit that is wanted, if it is one; a bare `%` takes the reagent's usual basis.
    fn strength_unit(&self) -> Result<Option<StrengthUnit>, Problem> {
        let wanted = self.arguments.to.trim();
        if wanted == "%" {
            let reagent = self.needed("a bare `%` means something else for each reagent")?;
            return Ok(Some(reading::usual_unit(Substance::of(reagent), 0.0)?.0));
        }
        Ok(StrengthUnit::called(wanted))
    }

    fn answer(&self, value: Estimate, unit: &str) -> Converted {
        Converted {
            from: self.arguments.what.clone(),
            of: self.reagent.map(|reagent| reagent.key.clone()),
            value,
            unit: unit.to_owned(),
            g_per_l: None,
            assumed: Vec::new(),
            steps: Vec::new(),
        }
    }

    fn strength(&self, to: &StrengthUnit) -> Result<Converted, Problem> {
        let written = parse::strength(&self.arguments.what, self.kitchen)?;
        if let (None, Written::Plain(strength, unit)) = (self.reagent, &written)
            && let Some(value) = to.read(*strength)
        {
            let mut answer = self.answer(Estimate::exact(value), &to.name);
            answer.g_per_l = (to.basis == Basis::InVolume).then(|| strength.base());
            answer.steps.push(Step::new(
                format!("1 {} is {} {}", unit.name, plain(unit.factor / to.factor), to.name),
                "definition",
            ));
            return Ok(answer);
        }
        let reagent = self.needed("that conversion depends on what is dissolved")?;
        let substance = Substance::of(reagent);
        let read = reading::read(substance, &written, self.session.catalogue.measuring(), self.temperature())?;
        let converted = solution::convert(substance, read.strength, to.basis, self.temperature())?;
        let sd_ln = libm::hypot(read.sd_ln, converted.sd_ln);
        let value = Estimate::log_normal(converted.strength.base() / to.factor, sd_ln);
        let mut answer = self.answer(if sd_ln == 0.0 { Estimate::exact(value.mid) } else { value }, &to.name);
        // Where even grams in a litre cannot be had, the answer simply has none.
        answer.g_per_l = solution::concentration(substance, read.strength, self.temperature())
            .ok()
            .map(|(concentration, _)| concentration.to_g_per_l());
        answer.assumed = read.assumed;
        answer.steps = read.steps;
        answer.steps.extend(converted.steps);
        answer
            .steps
            .push(Step::new(format!("in {}: {}", to.name, plain(converted.strength.base() / to.factor)), "definition"));
        Ok(answer)
    }

    /// An amount: `choose` picks the value from grams and millilitres, whichever of them can be told.
    fn amount(
        &self,
        unit: &str,
        choose: impl Fn(Option<f64>, Option<f64>) -> Option<f64>,
    ) -> Result<Converted, Problem> {
        let amount = parse::amount(&self.arguments.what, self.kitchen)?;
        let known = match amount.quantity {
            Quantity::Mass(mass) => choose(Some(mass.to_g()), None),
            Quantity::Volume(volume) => choose(None, Some(volume.to_ml())),
        };
        let sd_ln = measure_sd(amount.measure, self.session.catalogue.measuring());
        if let Some(value) = known {
            let value = if sd_ln == 0.0 { Estimate::exact(value) } else { Estimate::log_normal(value, sd_ln) };
            let mut answer = self.answer(value, unit);
            reading::note_measure(&amount, &mut answer.assumed, &mut answer.steps);
            answer.steps.push(Step::new(format!("in {unit}: {}", plain(value.mid)), "definition"));
            return Ok(answer);
        }
        self.across(&amount, unit, choose)
    }

    /// Between a mass and a volume of a solid: by its bulk density.
    fn across(
        &self,
        amount: &Amount,
        unit: &str,
        choose: impl Fn(Option<f64>, Option<f64>) -> Option<f64>,
    ) -> Result<Converted, Problem> {
        let reagent = self.needed("a mass becomes a volume only by what it is a mass of")?;
        let substance = Substance::of(reagent);
        if reagent.forms == [Form::Solution] {
            return Err(Problem::question(format!("how strong is the {}?", reagent.name))
                .because("the weight of a solution depends on its strength")
                .hint("its density: `brimstock reagents` with its name tells it for some strengths"));
        }
        let Quantity::Volume(_) = amount.quantity else {
            let Some(bulk) = reagent.solid.as_ref().and_then(|solid| solid.spooned.first()) else {
                return Err(ChemError::BulkUnknown { reagent: reagent.name.clone() }.into());
            };
            let millilitres = amount.quantity.base() / bulk.density.value;
            let value = choose(None, Some(millilitres)).unwrap_or(f64::NAN);
            let mut answer = self.answer(Estimate::log_normal(value, bulk.density.relative_sd.unwrap_or(0.0)), unit);
            let said = format!("{} {} taken as {} g/mL, levelled", bulk.kind, reagent.name, plain(bulk.density.value));
            answer.steps.push(Step::new(said.clone(), bulk.density.source.clone()));
            answer.assumed.push(said);
            return Ok(answer);
        };
        let (mass, sd_ln, assumed, steps) = reading::mass_of(substance, amount, self.session.catalogue.measuring())?;
        let value = choose(Some(mass.to_g()), None).unwrap_or(f64::NAN);
        let mut answer = self.answer(Estimate::log_normal(value, sd_ln), unit);
        answer.assumed = assumed;
        answer.steps = steps;
        Ok(answer)
    }
}
