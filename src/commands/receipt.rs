//! What came, from its label and its amount as they are written to what the register keeps: for `receive` and for a list.

use chrono::NaiveDate;

use super::{Problem, Session};
use crate::catalogue::{Condition, CountedAs, Form, Measuring, Reagent};
use crate::chem::reading::{self, note_measure};
use crate::chem::solution;
use crate::chem::{Substance, density};
use crate::decay::crystals::water_holds;
use crate::disposal::balance::counted_per_gram;
use crate::register::Writing;
use crate::register::checkpoint::Journal;
use crate::register::event::{Entry, Event, KeptIn, Labelled, Made, Received, What};
use crate::register::history::content;
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::units::measure::{Amount, Kitchen, Quantity};
use crate::units::parse::{self, Written};
use crate::units::show;
use crate::units::strength::{Basis, Strength, StrengthUnit};
use crate::units::{MassFraction, Temperature};

/// What came, as it is written.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// What the label says; a solid's purity may be left out.
    pub strength: Option<&'a str>,
    /// How much there is.
    pub amount: &'a str,
    /// The condition in which it came, where somebody said.
    pub condition: Option<Condition>,
    /// When it was made, where somebody said.
    pub made: Option<Made>,
    /// The day it came; a day of making must not lie after it.
    pub day: NaiveDate,
    /// Where it is told.
    pub by: By,
}

/// Where it is told, which decides how one says that something else holds than what was assumed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// On the command line.
    Flags,
    /// In the columns of a list.
    Columns,
}

/// The part of what was told that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The strength.
    Strength,
    /// The amount.
    Amount,
}

/// What came, understood.
#[derive(Debug, Clone)]
pub struct Receipt<'a> {
    /// Of what.
    pub reagent: &'a Reagent,
    /// Solid or solution.
    pub form: Form,
    /// What the label says.
    pub label: Labelled,
    /// How much, in the unit.
    pub amount: f64,
    /// `g` or `mL`.
    pub unit: &'static str,
    /// The condition in which it came.
    pub condition: Condition,
    /// When it was made.
    pub made: Made,
    /// The day it came.
    pub day: NaiveDate,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    by: By,
}

/// Where it goes and what is kept of it besides.
#[derive(Debug)]
pub struct Standing<'a> {
    /// The place.
    pub place: &'a Place,
    /// The code, which is free.
    pub code: &'a str,
    /// What it is kept in.
    pub kept_in: KeptIn,
    /// Why it may not be used, if it may not.
    pub hold: Option<String>,
    /// Why it goes there against a warning.
    pub overruled: Option<String>,
    /// The words typed.
    pub written: String,
}

impl<'a> Receipt<'a> {
    /// Reads what came.
    ///
    /// # Errors
    /// With the part that cannot be read, or that does not fit the reagent.
    pub fn read(
        measuring: &Measuring,
        reagent: &'a Reagent,
        told: Told<'_>,
        kitchen: Option<Kitchen>,
    ) -> Result<Receipt<'a>, (Part, Problem)> {
        let of_strength = |problem: Problem| (Part::Strength, problem);
        let of_amount = |problem: Problem| (Part::Amount, problem);
        let strength = match told.strength {
            Some(text) => Some(parse::strength(text, kitchen).map_err(|error| of_strength(error.into()))?),
            None => None,
        };
        let amount = parse::amount(told.amount, kitchen).map_err(|error| of_amount(error.into()))?;
        let form = form_of(reagent, strength.as_ref(), &amount).map_err(of_amount)?;
        let mut assumed = Vec::new();
        let label = match form {
            Form::Solid => purity(reagent, strength, &mut assumed),
            Form::Solution => dissolved(reagent, strength, measuring, &mut assumed),
        };
        let label = label.map_err(of_strength)?;
        let (amount, unit) = measured(measuring, reagent, form, &label, &amount, &mut assumed).map_err(of_amount)?;
        let usual = if form == Form::Solution && reagent.forms.contains(&Form::Solid) {
            Condition::MadeUp
        } else {
            Condition::Sealed
        };
        let condition = told.condition.unwrap_or(usual);
        if told.condition.is_none() {
            let (said, else_is) = match condition {
                Condition::MadeUp => ("made up here with purified water", "made-up-tap"),
                _ => ("came sealed", "opened"),
            };
            assumed.push(match told.by {
                By::Flags => format!("{said} (else --condition {else_is})"),
                By::Columns => format!("{said} (else `{else_is}` in a column `condition`)"),
            });
        }
        let label = match condition {
            // What the keeper measured is as exact as a jug and a syringe.
            Condition::MadeUp | Condition::MadeUpTap => {
                let measured = libm::hypot(measuring.jug.value, measuring.syringe.value);
                Labelled { relative_sd: libm::hypot(label.relative_sd, measured), ..label }
            }
            Condition::Sealed | Condition::Opened | Condition::Dirty => label,
        };
        content(form, reagent, &label).map_err(|error| of_strength(error.into()))?;
        let made = told.made.unwrap_or(Made::New);
        Ok(Receipt { reagent, form, label, amount, unit, condition, made, day: told.day, assumed, by: told.by })
    }

    /// What is taken for granted of its age and of the place it goes to.
    ///
    /// # Errors
    /// For a label whose content cannot be told.
    pub fn assumed_at(&self, place: &Place) -> Result<Vec<String>, Problem> {
        let mut assumed = Vec::new();
        let known_from = place.states[0].from;
        if self.day < known_from {
            assumed.push(format!(
                "{} is known from {known_from} on; before that it is taken to have been the same",
                place.name
            ));
        }
        assumed.push(match self.made {
            Made::New => {
                let otherwise = match self.by {
                    By::Flags => "--made DAY or --made unknown",
                    By::Columns => "a day or `unknown` in a column `made`",
                };
                format!("new when it came: its age is counted from that day (else {otherwise})")
            }
            Made::On(made) => format!("made on {made}, and at 20 °C in the dark until it came"),
            Made::Unknown => "nobody knows how old it is: anything from weeks to years".to_owned(),
        });
        if self.form == Form::Solution
            && let Some((most, _)) =
                water_holds(Substance::of(self.reagent), place.climate(self.day).coldest(self.day, self.day))
            && content(self.form, self.reagent, &self.label)?.0 > most
        {
            assumed.push(format!(
                "stronger than water at {} holds of it ({} g/L): the rest lies below as crystals",
                place.name,
                show::significant(most.0, 2)
            ));
        }
        Ok(assumed)
    }

    /// The strength on its label.
    #[must_use]
    pub fn strength(&self) -> Strength {
        StrengthUnit::named(&self.label.unit).of(self.label.value)
    }

    /// An amount of the same, in its own unit: what is left of it.
    ///
    /// # Errors
    /// For an amount that cannot be read, or measured in the unit.
    pub fn amount_of(
        &self,
        measuring: &Measuring,
        text: &str,
        kitchen: Option<Kitchen>,
        assumed: &mut Vec<String>,
    ) -> Result<f64, Problem> {
        let amount = parse::amount(text, kitchen)?;
        measured(measuring, self.reagent, self.form, &self.label, &amount, assumed).map(|(value, _)| value)
    }

    /// The event that it comes.
    #[must_use]
    pub fn event(&self, standing: &Standing<'_>) -> Event {
        Event::Received(Received {
            kept_in: standing.kept_in,
            made: self.made,
            poured_from: None,
            overruled: standing.overruled.clone(),
            place: standing.place.name.clone(),
            amount: self.amount,
            unit: self.unit.to_owned(),
            label: self.label.clone(),
            condition: self.condition,
            hold: standing.hold.clone(),
        })
    }

    /// Enters the stock with the first line of its journal.
    ///
    /// # Errors
    /// A [`crate::register::StoreError`] as a problem.
    pub fn enter(
        &self,
        session: &Session,
        writing: &Writing<'_>,
        places: &[Place],
        standing: &Standing<'_>,
    ) -> Result<(Stock, Entry), Problem> {
        let stock = writing.add_stock(standing.code, &self.reagent.key, self.form)?;
        let entry = Entry {
            id: 0,
            number: 1,
            day: self.day,
            entered_at: session.entered_at.clone(),
            written: standing.written.clone(),
            what: What::Event(self.event(standing)),
        };
        writing.append(&stock, self.unit, Journal::whole(vec![entry.clone()]), places)?;
        Ok((stock, entry))
    }
}

/// An amount in the unit that the stock is kept in: grams of a solid, millilitres of a solution.
fn measured(
    measuring: &Measuring,
    reagent: &Reagent,
    form: Form,
    label: &Labelled,
    amount: &Amount,
    assumed: &mut Vec<String>,
) -> Result<(f64, &'static str), Problem> {
    match form {
        Form::Solid => {
            let (mass, sd_ln, notes, _) = reading::mass_of(Substance::of(reagent), amount, measuring)?;
            if sd_ln > 0.0 {
                assumed.extend(notes);
            }
            Ok((mass.to_g(), "g"))
        }
        Form::Solution => Ok((volume_of(reagent, label, amount, assumed)?, "mL")),
    }
}

fn form_of(reagent: &Reagent, strength: Option<&Written>, amount: &Amount) -> Result<Form, Problem> {
    if let [only] = reagent.forms[..] {
        return Ok(only);
    }
    let dissolved = match strength {
        // Labels count dry chlorine by weight too.
        Some(Written::Plain(Strength::InWeight(_) | Strength::ChlorineInWeight(_), _) | Written::BarePercent(_))
        | None => None,
        Some(_) => Some(Form::Solution),
    };
    let poured = match (amount.quantity, amount.measure) {
        (Quantity::Volume(_), crate::units::measure::Measure::Marked) => Some(Form::Solution),
        (Quantity::Volume(_), _) => None,
        (Quantity::Mass(_), _) => Some(Form::Solid),
    };
    match (dissolved, poured) {
        (Some(Form::Solution), Some(Form::Solid)) => Err(Problem::question(format!(
            "a strength by volume and an amount by weight do not go together for {}",
            reagent.name
        ))
        .because("a weight could be of the dry salt or of its solution")
        .hint("for the dry salt give its purity in % w/w or none; for a solution give a volume")),
        (Some(form), _) | (None, Some(form)) => Ok(form),
        (None, None) => Ok(Form::Solid),
    }
}

fn purity(reagent: &Reagent, strength: Option<Written>, assumed: &mut Vec<String>) -> Result<Labelled, Problem> {
    let usual = reagent.solid.as_ref().map(|solid| &solid.purity);
    let value = match strength {
        Some(Written::BarePercent(percent)) => {
            assumed.push(format!("{} % read as % w/w, the content of {}", show::plain(percent), reagent.formula.value));
            percent
        }
        Some(Written::Plain(Strength::InWeight(fraction), _)) => fraction.to_percent(),
        Some(Written::Plain(Strength::ChlorineInWeight(chlorine), _)) => of_chlorine(reagent, chlorine, assumed)?,
        None => {
            let usual = usual.ok_or_else(|| Problem::data(format!("no purity of {} is on file", reagent.name)))?;
            assumed.push(format!("purity not given: {} % w/w taken", show::plain(usual.value)));
            usual.value
        }
        Some(_) => {
            return Err(Problem::question(format!(
                "{} is a solid: its strength is its content by weight",
                reagent.name
            ))
            .because("grams in a litre say nothing of a dry salt")
            .hint("accepted: `99 %`, `99 % w/w`, or none; for a solution of it give the amount as a volume"));
        }
    };
    let relative_sd = usual.and_then(|figure| figure.relative_sd).unwrap_or(0.0);
    Ok(Labelled { value, unit: "% w/w".to_owned(), relative_sd })
}

/// The per cent by weight of a solid whose label counts available chlorine: 65 % of it are 65.5 % calcium hypochlorite.
///
/// A little above the whole, as labels of fresh salts round, counts as the whole.
fn of_chlorine(reagent: &Reagent, chlorine: MassFraction, assumed: &mut Vec<String>) -> Result<f64, Problem> {
    let per_gram = counted_per_gram(reagent, CountedAs::AvailableChlorine)?;
    let percent = chlorine.to_percent() / per_gram;
    if percent > 105.0 {
        return Err(Problem::question(format!(
            "{} holds {} % w/w of available chlorine at the most",
            reagent.name,
            show::significant(100.0 * per_gram, 3)
        ))
        .hint("check the figure: some labels count the salt itself, as `65 % w/w`"));
    }
    assumed.push(format!(
        "{} % available chlorine, {} g of it in a gram of {}: {} % w/w",
        show::plain(chlorine.to_percent()),
        show::significant(per_gram, 3),
        reagent.formula.value,
        show::significant(percent.min(100.0), 3)
    ));
    Ok(percent.min(100.0))
}

fn dissolved(
    reagent: &Reagent,
    strength: Option<Written>,
    measuring: &Measuring,
    assumed: &mut Vec<String>,
) -> Result<Labelled, Problem> {
    let Some(written) = strength else {
        let example =
            reagent.solution.as_ref().and_then(|solution| solution.sold.first()).map_or("3 % w/v", String::as_str);
        return Err(Problem::question(format!("how strong is the {}?", reagent.name))
            .hint(format!("write what the label says before the amount, as \"{example}\"")));
    };
    if let Written::Plain(strength, unit) = &written {
        if strength.basis() == Basis::VolumeInVolume {
            let read = reading::read(Substance::of(reagent), &written, measuring, Temperature::celsius(20.0))?;
            assumed.extend(read.assumed);
        }
        plausible(reagent, *strength)?;
        return Ok(Labelled { value: strength.base() / unit.factor, unit: unit.name.clone(), relative_sd: 0.0 });
    }
    let read = reading::read(Substance::of(reagent), &written, measuring, Temperature::celsius(20.0))?;
    assumed.extend(read.assumed);
    plausible(reagent, read.strength)?;
    let (value, unit) = match read.strength {
        Strength::InWeight(fraction) => (fraction.to_percent(), "% w/w"),
        Strength::InVolume(concentration) if matches!(written, Written::BarePercent(_)) => {
            (concentration.to_g_per_l() / 10.0, "% w/v")
        }
        Strength::InVolume(concentration) => (concentration.to_g_per_l(), "g/L"),
        other => return Err(Problem::question(format!("`{}` cannot be kept as a label", other.base()))),
    };
    Ok(Labelled { value, unit: unit.to_owned(), relative_sd: read.sd_ln })
}

/// Refuses what no solution of the reagent can hold.
fn plausible(reagent: &Reagent, strength: Strength) -> Result<(), Problem> {
    let (concentration, _) = solution::concentration(Substance::of(reagent), strength, Temperature::celsius(20.0))?;
    let most = 1500.0;
    if concentration.to_g_per_l() > most {
        return Err(Problem::question(format!(
            "{} g/L of {} is more than any solution holds",
            show::plain(concentration.to_g_per_l()),
            reagent.name
        ))
        .hint("check the figure and its unit"));
    }
    Ok(())
}

/// The volume of a delivered solution; a weighed one by its density.
fn volume_of(reagent: &Reagent, label: &Labelled, amount: &Amount, assumed: &mut Vec<String>) -> Result<f64, Problem> {
    note_measure(amount, assumed, &mut Vec::new());
    let mass = match amount.quantity {
        Quantity::Volume(volume) => return Ok(volume.to_ml()),
        Quantity::Mass(mass) => mass,
    };
    let substance = Substance::of(reagent);
    let strength = StrengthUnit::named(&label.unit).of(label.value);
    let bench = Temperature::celsius(20.0);
    let fraction = solution::convert(substance, strength, Basis::InWeight, bench)?.strength.base();
    let found = density::of_solution(substance, MassFraction::fraction(fraction), bench)?;
    let volume = mass.to_g() / found.density.to_g_per_ml();
    assumed.push(format!("{} weigh {}: {}", show::millilitres(volume), show::grams(mass.to_g()), found.step.what));
    Ok(volume)
}
