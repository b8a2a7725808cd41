//! `decant`: some of a stock is poured into another container, thinned or not, and becomes a stock of its own.

use chrono::NaiveDate;
use clap::Args;

use super::container::{ContainerArguments, UNKNOWN};
use super::event::amount_of;
use super::receive::{Entered, append, free_code};
use super::sight::Sight;
use super::{Problem, Session, arguments, audit, local};
use crate::catalogue::{Condition, Form};
use crate::decay::posterior::Standing;
use crate::register::checkpoint::Journal;
use crate::register::event::{Entry, Event, Labelled, Made, Received, What};
use crate::units::estimate::{Estimate, Z_95};
use crate::units::strength::StrengthUnit;
use crate::units::{parse, show};

/// Pour some of a stock into another container, thinned or not
///
/// It becomes a stock of its own. Its strength is what is known of the first one that day, thinned; it keeps as a made-up
/// solution does. Never pour back.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock decant HP-1 250mL --water 750mL --at cupboard --container amber-glass\n  brimstock decant PP-1 20g --make-up-to 1L --container amber-glass"
)]
pub struct Decant {
    /// The stock's code
    pub stock: String,
    /// How much of it
    #[arg(allow_hyphen_values = true)]
    pub amount: String,
    /// Water added to it
    #[arg(long, value_name = "VOLUME", conflicts_with = "make_up_to", allow_hyphen_values = true)]
    pub water: Option<String>,
    /// Made up to this volume with water
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub make_up_to: Option<String>,
    /// The water came from the tap, not purified
    #[arg(long)]
    pub tap: bool,
    /// The place it goes to [default: where the first one stands]
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// The code to write on it [default: the next free one]
    #[arg(long)]
    pub code: Option<String>,
    #[command(flatten)]
    pub container: ContainerArguments,
    /// Why it goes there against a warning of `audit`; the reason is kept and printed with the warning
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    pub overrule: Option<String>,
    /// The day it happened [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// Enters what was poured, as a use of the first stock and the coming of the second: both or none.
///
/// # Errors
/// For a sealed stock, one of unknown strength, more than is left, water with nothing to thin, a day before it came, and what is
/// made up stronger than a recorded limit.
pub fn run(session: &Session, given: &Decant) -> Result<Entered, Problem> {
    let day = arguments::event_day(session, given.date)?;
    let mut register = session.register()?;
    register.write(|writing| {
        let places = writing.places()?;
        let kitchen = arguments::kitchen(writing)?;
        let stock = arguments::stock(writing, &given.stock)?;
        let journal = writing.journal(&stock, &places, day)?;
        let seen = Sight::of(session, stock.clone(), journal.clone(), &places, day)?.ok_or_else(|| {
            Problem::question(format!("`{}` was not on the shelf on {day}", stock.code))
                .hint("give a later day with --date YYYY-MM-DD")
        })?;
        if let Some((day, why)) = &seen.state.retired {
            return Err(Problem::question(format!("`{}` left the shelf on {day}: {why}", stock.code)));
        }
        if let Some(why) = seen.left_closed() {
            return Err(Problem::question(format!("`{}` is {why}", stock.code)).because("nothing was written").hint(
                format!("leave it closed, and ask whoever is licensed to take it: `brimstock discard {}`", stock.code),
            ));
        }
        if seen.state.condition == Condition::Sealed {
            return Err(Problem::question(format!("`{}` is entered as sealed", stock.code))
                .because("what is poured from has been opened, and keeps worse from then on")
                .hint(format!("enter that first: `brimstock open {}`", stock.code)));
        }
        let Standing::Known(known) = &seen.standing else {
            return Err(Problem::data(format!("nobody can tell how strong `{}` is", stock.code))
                .because("what is poured from it would be as unknown")
                .hint(format!("test it first: `brimstock assay plan {}`", stock.code)));
        };
        let (amount, mut assumed) = amount_of(session, &seen, writing, &given.amount)?;
        let water = given.water.as_deref().map(|text| parse::volume(text, kitchen)).transpose()?;
        let whole = given.make_up_to.as_deref().map(|text| parse::volume(text, kitchen)).transpose()?;
        let total_ml = match (stock.form, water, whole) {
            (_, None, None) => None,
            (Form::Solution, Some(water), _) => Some(amount + water.to_ml()),
            (Form::Solution, None, Some(whole)) if whole.to_ml() < amount => {
                return Err(Problem::question(format!(
                    "--make-up-to {} is less than the {} poured",
                    show::millilitres(whole.to_ml()),
                    show::millilitres(amount)
                ))
                .hint("give the volume of the whole, water included"));
            }
            (_, _, Some(whole)) => Some(whole.to_ml()),
            (Form::Solid, Some(_), _) => {
                return Err(Problem::question("a solid in so much water fills nobody knows how much")
                    .hint("give the volume of the whole: --make-up-to 1L"));
            }
        };
        if given.tap && total_ml.is_none() {
            return Err(Problem::question("--tap without water").hint("give --water or --make-up-to"));
        }
        let measuring = session.catalogue.measuring();
        // A log-normal with the same 5 and 95 %: what is thinned is no stronger and no better known than its source.
        let Estimate { low, high, .. } = known.estimate();
        let (median, sd_ln) = (libm::sqrt(low * high), libm::log(high / low) / (2.0 * Z_95));
        let (form, label, amount_there, unit) = match (stock.form, total_ml) {
            (form, None) => (form, median, amount, seen.state.unit.clone()),
            (Form::Solution, Some(total)) => (Form::Solution, median * amount / total, total, "mL".to_owned()),
            (Form::Solid, Some(total)) => (Form::Solution, median * amount / (total / 1000.0), total, "mL".to_owned()),
        };
        let measured = if total_ml.is_some() { libm::hypot(measuring.jug.value, measuring.syringe.value) } else { 0.0 };
        let relative_sd = libm::hypot(sd_ln, measured).min(1.0);
        let condition = match (seen.state.condition, total_ml, given.tap) {
            (Condition::Dirty, ..) if stock.form == Form::Solution => Condition::Dirty,
            (before, None, _) => before,
            (_, Some(_), true) => Condition::MadeUpTap,
            (_, Some(_), false) => Condition::MadeUp,
        };
        if total_ml.is_some() && !given.tap {
            assumed.push("thinned with purified water (else --tap)".to_owned());
        }
        let place = match &given.at {
            Some(name) => arguments::place(&places, name)?.name.clone(),
            None => seen.state.place.clone(),
        };
        let kept_in = given.container.kept_in(UNKNOWN)?;
        if kept_in.container == UNKNOWN.container {
            assumed.push("container not said: light may get at it (else --container amber-glass)".to_owned());
        }
        let (value, label_unit) = match form {
            Form::Solution => (label, "g/L"),
            Form::Solid => (100.0 * label, "% w/w"),
        };
        let strength = StrengthUnit::named(label_unit).of(value);
        if total_ml.is_none() {
            assumed.extend(local::warning(session, seen.reagent, strength));
        } else if let Some((limit, percent)) = local::above(&local::of(session)?, seen.reagent, strength)? {
            return Err(local::too_strong("what is made up", limit, percent));
        }
        let label = Labelled { value, unit: label_unit.to_owned(), relative_sd };
        let code = free_code(writing, seen.reagent, given.code.as_deref())?;
        let said = format!(
            "{code}: {} of {} from {}, about {} {label_unit} ± {} %, {}, at {place}",
            show::amount(amount_there, &unit),
            seen.reagent.name,
            stock.code,
            show::significant(value, 2),
            show::significant(100.0 * Z_95 * relative_sd, 2),
            condition.word(),
        );
        let entry = |number: usize, what: Event| Entry {
            id: 0,
            number,
            day,
            entered_at: session.entered_at.clone(),
            written: format!("decant {} {}", given.stock, given.amount),
            what: What::Event(what),
        };
        let line = journal.lines() + 1;
        append(writing, &stock, &places, journal, entry(line, Event::Taken { amount }))?;
        let next = writing.add_stock(&code, &seen.reagent.key, form)?;
        let received = Received {
            place,
            amount: amount_there,
            unit: unit.clone(),
            label,
            condition,
            hold: seen.state.hold.clone(),
            kept_in,
            made: Made::New,
            poured_from: Some(stock.code.clone()),
            overruled: given.overrule.clone(),
        };
        writing.append(&next, &unit, Journal::whole(vec![entry(1, Event::Received(received))]), &places)?;
        Ok(Entered {
            stock: code.clone(),
            reagent: seen.reagent.name.clone(),
            line: 1,
            kind: "received",
            day,
            said,
            left: amount_there,
            unit,
            assumed,
            warnings: audit::warnings(session, writing, &code),
            next: Some(format!(
                "write {code}, its name, its strength and the day on it, on a container that never held food or drink; peroxide under a vented cap; never pour back"
            )),
        })
    })
}
