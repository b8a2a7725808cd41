//! `receive`: a container comes onto the shelf.

use chrono::NaiveDate;
use clap::Args;

use super::container::{ContainerArguments, UNKNOWN, made, made_before};
use super::{Problem, Session, arguments, audit, local, refused};
use crate::catalogue::{Condition, CountedAs, Form, Measuring, Reagent};
use crate::chem::reading::{self, note_measure};
use crate::chem::solution;
use crate::chem::{Substance, density};
use crate::decay::crystals::water_holds;
use crate::disposal::balance::counted_per_gram;
use crate::register::checkpoint::Journal;
use crate::register::event::{Entry, Event, Labelled, Made, Received, What};
use crate::register::history::content;
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::units::measure::{Amount, Kitchen, Quantity};
use crate::units::parse::{self, Written};
use crate::units::show;
use crate::units::strength::{Basis, Strength, StrengthUnit};
use crate::units::{MassFraction, Temperature};

/// Enter a container that came onto the shelf
///
/// `receive hydrogen-peroxide "3 % w/v" 500mL --at cupboard` gives it a code and prints what was assumed.
#[derive(Debug, Args)]
#[command(
    override_usage = "brimstock receive [OPTIONS] --at <PLACE> <REAGENT> [STRENGTH] <AMOUNT>",
    after_help = "Example: brimstock receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard"
)]
pub struct Receive {
    /// The reagent: `brimstock reagents` lists them
    pub reagent: String,
    /// What the label says, then how much there is; a solid's purity may be left out
    #[arg(required = true, num_args = 1..=2, value_names = ["STRENGTH", "AMOUNT"])]
    pub what: Vec<String>,
    /// The place it goes to
    #[arg(long, value_name = "PLACE")]
    pub at: String,
    /// The code to write on it [default: the next free one, as HP-1]
    #[arg(long)]
    pub code: Option<String>,
    /// The condition in which it came [default: sealed; made-up for a solution of a solid]
    #[arg(long, value_enum)]
    pub condition: Option<ConditionWord>,
    /// Why it may not be used, if it may not
    #[arg(long, value_name = "REASON")]
    pub hold: Option<String>,
    /// The day it was made, as its label says, or `unknown` [default: it was new when it came]
    #[arg(long, value_parser = made, value_name = "DAY")]
    pub made: Option<Made>,
    #[command(flatten)]
    pub container: ContainerArguments,
    /// Why it goes there against a warning of `audit`; the reason is kept and printed with the warning
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    pub overrule: Option<String>,
    /// The day it came [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// The condition of a container, as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum ConditionWord {
    /// As it left the factory
    Sealed,
    /// Opened before it came, poured from, never dipped into
    Opened,
    /// Made up here with purified water
    MadeUp,
    /// Made up here with tap water
    MadeUpTap,
    /// Dipped into, poured back, swollen or dirty
    Dirty,
}

impl From<ConditionWord> for Condition {
    fn from(word: ConditionWord) -> Self {
        match word {
            ConditionWord::Sealed => Condition::Sealed,
            ConditionWord::Opened => Condition::Opened,
            ConditionWord::MadeUp => Condition::MadeUp,
            ConditionWord::MadeUpTap => Condition::MadeUpTap,
            ConditionWord::Dirty => Condition::Dirty,
        }
    }
}

/// What an entry did.
#[derive(Debug, Clone, PartialEq)]
pub struct Entered {
    /// The stock's code.
    pub stock: String,
    /// The reagent's name.
    pub reagent: String,
    /// The number of the journal line.
    pub line: usize,
    /// The kind of event.
    pub kind: &'static str,
    /// The day it happened.
    pub day: NaiveDate,
    /// What was entered, in one sentence.
    pub said: String,
    /// How much is left, in the unit.
    pub left: f64,
    /// `g` or `mL`.
    pub unit: String,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// What is wrong with where it stands now.
    pub warnings: Vec<String>,
    /// What to type next.
    pub next: Option<String>,
}

/// Enters the container.
///
/// # Errors
/// Anything that cannot be read, does not fit the reagent, or a place or code that does not serve. Nothing is written then.
pub fn run(session: &Session, arguments: Receive) -> Result<Entered, Problem> {
    let day = arguments::event_day(session, arguments.date)?;
    let reagent = arguments::reagent(session.catalogue, &arguments.reagent)?;
    let mut register = session.register()?;
    register.write(|writing| {
        let kitchen = arguments::kitchen(writing)?;
        let places = writing.places()?;
        let place = arguments::place(&places, &arguments.at)?;
        let read = Delivery::read(session.catalogue.measuring(), reagent, &arguments, kitchen)?;
        let mut assumed = read.assumed;
        let known_from = place.states[0].from;
        if day < known_from {
            assumed.push(format!(
                "{} is known from {known_from} on; before that it is taken to have been the same",
                place.name
            ));
        }
        let code = free_code(writing, reagent, arguments.code.as_deref())?;
        let made = made_before(arguments.made.unwrap_or(Made::New), day)?;
        assumed.push(match made {
            Made::New => {
                "new when it came: its age is counted from that day (else --made DAY or --made unknown)".to_owned()
            }
            Made::On(made) => format!("made on {made}, and at 20 °C in the dark until it came"),
            Made::Unknown => "nobody knows how old it is: anything from weeks to years".to_owned(),
        });
        if read.form == Form::Solution
            && let Some((most, _)) = water_holds(Substance::of(reagent), place.climate(day).coldest(day, day))
            && content(read.form, reagent, &read.label)?.0 > most
        {
            assumed.push(format!(
                "stronger than water at {} holds of it ({} g/L): the rest lies below as crystals",
                place.name,
                show::significant(most.0, 2)
            ));
        }
        let strength = StrengthUnit::named(&read.label.unit).of(read.label.value);
        assumed.extend(local::warning(session, reagent, strength));
        let kept_in = arguments.container.kept_in(UNKNOWN)?;
        let received = Received {
            kept_in,
            made,
            poured_from: None,
            overruled: arguments.overrule.clone(),
            place: place.name.clone(),
            amount: read.amount,
            unit: read.unit.to_owned(),
            label: read.label,
            condition: read.condition,
            hold: arguments.hold.clone(),
        };
        let label = label_text(&received.label);
        let said =
            format!("{code}: {}, {label}, {}, at {}", reagent.name, show::amount(read.amount, read.unit), place.name);
        let stock = writing.add_stock(&code, &reagent.key, read.form)?;
        let entry = Entry {
            id: 0,
            number: 1,
            day,
            entered_at: session.entered_at.clone(),
            written: arguments.what.join(" "),
            what: What::Event(Event::Received(received)),
        };
        writing.append(&stock, read.unit, Journal::whole(vec![entry]), &places)?;
        Ok(Entered {
            stock: code.clone(),
            reagent: reagent.name.clone(),
            line: 1,
            kind: "received",
            day,
            said,
            left: read.amount,
            unit: read.unit.to_owned(),
            assumed,
            warnings: audit::warnings(session, writing, &code),
            next: Some(format!("write {code} on it; `brimstock check {code}` tells what it can do")),
        })
    })
}

/// Appends an event to a stock's journal, if the journal still makes sense with it, and gives its row.
///
/// # Errors
/// The contradiction as a problem, and a [`crate::register::StoreError`] as one.
pub fn append(
    writing: &crate::register::Writing<'_>,
    stock: &Stock,
    places: &[Place],
    earlier: Journal,
    entry: Entry,
) -> Result<i64, Problem> {
    let with = earlier.and(entry);
    with.check().map_err(|contradiction| refused(&stock.code, &contradiction))?;
    let unit = if stock.form == Form::Solid { "g" } else { "mL" };
    Ok(writing.append(stock, unit, with, places)?)
}

pub(super) fn free_code(
    writing: &crate::register::Writing<'_>,
    reagent: &Reagent,
    wanted: Option<&str>,
) -> Result<String, Problem> {
    let Some(code) = wanted else { return Ok(writing.next_code(&reagent.code)?) };
    let readable = (1..=20).contains(&code.len()) && code.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    if !readable {
        return Err(Problem::question(format!("`{code}` is no code for a container"))
            .hint("accepted: 1 to 20 letters, digits and hyphens, short enough to write on it"));
    }
    if writing.stocks()?.iter().any(|stock| stock.code.eq_ignore_ascii_case(code)) {
        return Err(Problem::question(format!("there is a stock `{code}` already"))
            .because("a code stands for one container for ever")
            .hint("choose another, or leave --code away and take the next free one"));
    }
    Ok(code.to_owned())
}

/// A label as it was entered: `3 % w/v`.
#[must_use]
pub fn label_text(label: &Labelled) -> String {
    format!("{} {}", show::plain(label.value), label.unit)
}

/// What came, understood.
struct Delivery {
    form: Form,
    label: Labelled,
    amount: f64,
    unit: &'static str,
    condition: Condition,
    assumed: Vec<String>,
}

impl Delivery {
    fn read(
        measuring: &Measuring,
        reagent: &Reagent,
        arguments: &Receive,
        kitchen: Option<Kitchen>,
    ) -> Result<Delivery, Problem> {
        let (strength, amount) = match &arguments.what[..] {
            [amount] => (None, amount),
            [strength, amount] => (Some(parse::strength(strength, kitchen)?), amount),
            _ => return Err(Problem::question("give a strength and an amount: `\"3 % w/v\" 500mL`")),
        };
        let amount = parse::amount(amount, kitchen)?;
        let form = form_of(reagent, strength.as_ref(), &amount)?;
        let mut assumed = Vec::new();
        let (label, amount, unit) = match form {
            Form::Solid => {
                let label = purity(reagent, strength, &mut assumed)?;
                let (mass, sd_ln, notes, _) = reading::mass_of(Substance::of(reagent), &amount, measuring)?;
                if sd_ln > 0.0 {
                    assumed.extend(notes);
                }
                (label, mass.to_g(), "g")
            }
            Form::Solution => {
                let label = dissolved(reagent, strength, measuring, &mut assumed)?;
                let volume = volume_of(reagent, &label, &amount, &mut assumed)?;
                (label, volume, "mL")
            }
        };
        let usual = if form == Form::Solution && reagent.forms.contains(&Form::Solid) {
            Condition::MadeUp
        } else {
            Condition::Sealed
        };
        let condition = arguments.condition.map_or(usual, Condition::from);
        if arguments.condition.is_none() {
            assumed.push(match condition {
                Condition::MadeUp => "made up here with purified water (else --condition made-up-tap)".to_owned(),
                _ => "came sealed (else --condition opened)".to_owned(),
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
        content(form, reagent, &label)?;
        Ok(Delivery { form, label, amount, unit, condition, assumed })
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
