//! `correct`: an earlier line of a journal was wrong.

use chrono::NaiveDate;
use clap::Args;

use super::container::{ContainerArguments, made, made_before};
use super::event::amount_of;
use super::receive::{ConditionWord, Entered, append};
use super::sight::Sight;
use super::{Problem, Session, arguments};
use crate::catalogue::Form;
use crate::chem::Substance;
use crate::chem::reading;
use crate::register::Writing;
use crate::register::checkpoint::Journal;
use crate::register::event::{Entry, Event, Labelled, Made, What};
use crate::register::history::content;
use crate::register::place::Place;
use crate::units::strength::{Basis, Strength, StrengthUnit};
use crate::units::{Temperature, parse};

/// Correct an earlier line of a stock's journal
///
/// The line stays as it was entered; a new line says what is right instead. `show` numbers the lines.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock correct HP-1 1 --strength \"3 % w/v\" --because \"typed 35 for 3\"\n  brimstock correct HP-1 4 --never --because \"that was the other bottle\""
)]
pub struct Correct {
    /// The stock's code
    pub stock: String,
    /// The number of the line, as `show` gives it
    #[arg(value_parser = arguments::whole(0_usize..=999_999_999))]
    pub line: usize,
    /// Why
    #[arg(long, value_name = "REASON")]
    pub because: String,
    /// It never happened
    #[arg(long, conflicts_with_all = ["happened_on", "amount", "strength", "place", "condition", "hold", "release", "made", "container", "wall", "diameter", "holds", "cap"])]
    pub never: bool,
    /// The day it really happened
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub happened_on: Option<NaiveDate>,
    /// The amount it really was
    #[arg(long)]
    pub amount: Option<String>,
    /// The strength it really was
    #[arg(long)]
    pub strength: Option<String>,
    /// The place it really was
    #[arg(long)]
    pub place: Option<String>,
    /// The condition in which it really came
    #[arg(long, value_enum)]
    pub condition: Option<ConditionWord>,
    /// The day it was really made, or `unknown`
    #[arg(long, value_parser = made, value_name = "DAY")]
    pub made: Option<Made>,
    #[command(flatten)]
    pub container: ContainerArguments,
    /// Why it may not be used, after all
    #[arg(long, value_name = "REASON", conflicts_with = "release")]
    pub hold: Option<String>,
    /// It may be used, after all
    #[arg(long)]
    pub release: bool,
}

/// Enters the correction.
///
/// # Errors
/// For a line that is not there or is a correction itself, a field that the line does not have, nothing to correct, or a
/// journal that would contradict itself.
pub fn run(session: &Session, arguments: &Correct) -> Result<Entered, Problem> {
    if arguments.because.trim().is_empty() {
        return Err(Problem::question("--because is empty").hint("say why; the journal keeps it"));
    }
    let mut register = session.register()?;
    register.write(|writing| {
        let places = writing.places()?;
        let stock = arguments::stock(writing, &arguments.stock)?;
        let entries = writing.entries(&stock, &places)?;
        let target = entries.iter().find(|entry| entry.number == arguments.line).ok_or_else(|| {
            Problem::question(format!("`{}` has no line {}", stock.code, arguments.line)).hint(format!(
                "`brimstock show {}` numbers its {} lines",
                stock.code,
                entries.len()
            ))
        })?;
        let What::Event(_) = &target.what else {
            return Err(Problem::question(format!("line {} is a correction itself", arguments.line))
                .hint("correct the line that it corrects; the last correction counts"));
        };
        let (day, event) = last_word(&entries, target);
        let last = entries.iter().map(|entry| entry.day).max().unwrap_or(session.day);
        let seen = Sight::of(session, stock.clone(), Journal::whole(entries.clone()), &places, last)?;
        let instead = if arguments.never {
            None
        } else {
            let corrector = Corrector { session, writing, places: &places, seen: seen.as_ref(), arguments };
            let day = arguments::event_day(session, Some(arguments.happened_on.unwrap_or(day)))?;
            let event = corrector.apply(event, day)?;
            Some((day, event))
        };
        let line = entries.len() + 1;
        let said = format!(
            "line {} of {} {}; the line itself stays in the journal",
            arguments.line,
            stock.code,
            if arguments.never { "taken back: it never happened" } else { "corrected" }
        );
        let what = What::Correction { of: arguments.line, instead, why: arguments.because.clone() };
        let entry = Entry {
            id: 0,
            number: line,
            day: session.day,
            entered_at: session.entered_at.clone(),
            written: String::new(),
            what,
        };
        append(writing, &stock, &places, Journal::whole(entries), entry)?;
        let after = writing.journal(&stock, &places, session.day)?;
        let after = Sight::of(session, stock.clone(), after, &places, session.day)?;
        let unit = if stock.form == Form::Solid { "g" } else { "mL" };
        Ok(Entered {
            stock: stock.code.clone(),
            reagent: stock.reagent.clone(),
            line,
            kind: "corrected",
            day: session.day,
            said,
            left: after.map_or(0.0, |sight| sight.state.left),
            unit: unit.to_owned(),
            assumed: Vec::new(),
            warnings: Vec::new(),
            next: Some(format!("`brimstock show {}` shows both", stock.code)),
        })
    })
}

/// What a line says now: itself, or its last correction. One that was taken back comes as it was entered.
fn last_word(entries: &[Entry], target: &Entry) -> (NaiveDate, Event) {
    let corrected = entries.iter().rev().find_map(|entry| match &entry.what {
        What::Correction { of, instead: Some((day, event)), .. } if *of == target.number => Some((*day, event.clone())),
        _ => None,
    });
    match (&target.what, corrected) {
        (_, Some(corrected)) => corrected,
        (What::Event(event), None) => (target.day, event.clone()),
        (What::Correction { .. }, None) => unreachable!("the caller has refused corrections of corrections"),
    }
}

struct Corrector<'a> {
    session: &'a Session,
    writing: &'a Writing<'a>,
    places: &'a [Place],
    seen: Option<&'a Sight<'a>>,
    arguments: &'a Correct,
}

impl Corrector<'_> {
    fn apply(&self, mut event: Event, day: NaiveDate) -> Result<Event, Problem> {
        let given = self.arguments;
        let kind = event.kind();
        let mut used = Vec::new();
        if let Some(name) = &given.place {
            let place = arguments::place(self.places, name)?.name.clone();
            match &mut event {
                // A reason that was given for another place does not speak for this one.
                Event::Received(received) => (received.place, received.overruled) = (place, None),
                Event::Moved { place: to, overruled } => (*to, *overruled) = (place, None),
                _ => return Err(no_such_field(kind, "place")),
            }
            used.push("place");
        }
        if let Some(text) = &given.amount {
            let value = self.amount(text)?;
            match &mut event {
                Event::Received(received) => received.amount = value,
                Event::Taken { amount } | Event::Counted { amount } => *amount = value,
                _ => return Err(no_such_field(kind, "amount")),
            }
            used.push("amount");
        }
        if let Some(text) = &given.strength {
            match &mut event {
                Event::Received(received) => received.label = self.strength(text, received.label.relative_sd)?,
                Event::Assayed { strength, raw: None, .. } => *strength = self.strength(text, strength.relative_sd)?,
                Event::Assayed { .. } => {
                    return Err(Problem::question("the strength of that test follows from its readings")
                        .because("what was read is kept, and the strength is computed from it")
                        .hint("take the line back with --never, and enter the test again"));
                }
                _ => return Err(no_such_field(kind, "strength")),
            }
            used.push("strength");
        }
        if let Some(word) = given.condition {
            match &mut event {
                Event::Received(received) => received.condition = word.into(),
                _ => return Err(no_such_field(kind, "condition")),
            }
            used.push("condition");
        }
        if given.container.is_given() {
            match &mut event {
                Event::Received(received) => received.kept_in = given.container.kept_in(received.kept_in)?,
                _ => return Err(no_such_field(kind, "container")),
            }
            used.push("container");
        }
        if let Some(made) = given.made {
            match &mut event {
                Event::Received(received) => received.made = made,
                _ => return Err(no_such_field(kind, "day of making")),
            }
            used.push("made");
        }
        if let Event::Received(received) = &event {
            made_before(received.made, day)?;
        }
        if given.hold.is_some() || given.release {
            match &mut event {
                Event::Received(received) => received.hold.clone_from(&given.hold),
                _ => return Err(no_such_field(kind, "hold")),
            }
            used.push("hold");
        }
        if used.is_empty() && given.happened_on.is_none() {
            return Err(Problem::question("nothing to correct")
                .hint("give --amount, --strength, --place, --condition, --container, --made, --hold, --release, --happened-on or --never"));
        }
        Ok(event)
    }

    fn sight(&self) -> Result<&Sight<'_>, Problem> {
        self.seen.ok_or_else(|| Problem::question("its receipt was taken back; correct that first"))
    }

    fn amount(&self, text: &str) -> Result<f64, Problem> {
        Ok(amount_of(self.session, self.sight()?, self.writing, text)?.0)
    }

    fn strength(&self, text: &str, relative_sd: f64) -> Result<Labelled, Problem> {
        let sight = self.sight()?;
        labelled(self.session, sight, text, relative_sd, self.writing)
    }
}

/// A typed strength of a stock that is there, as a label or a test keeps it.
pub(super) fn labelled(
    session: &Session,
    sight: &Sight<'_>,
    text: &str,
    relative_sd: f64,
    writing: &Writing<'_>,
) -> Result<Labelled, Problem> {
    let written = parse::strength(text, arguments::kitchen(writing)?)?;
    let solid = sight.stock.form == Form::Solid;
    if let (true, parse::Written::BarePercent(value)) = (solid, &written) {
        return Ok(Labelled { value: *value, unit: "% w/w".to_owned(), relative_sd });
    }
    let substance = Substance::of(sight.reagent);
    let read = reading::read(substance, &written, session.catalogue.measuring(), Temperature::celsius(20.0))?;
    let unit = match (&written, read.strength.basis()) {
        (parse::Written::Plain(_, unit), _) => unit.clone(),
        (parse::Written::BarePercent(_), Basis::InVolume) => StrengthUnit::named("% w/v"),
        (_, Basis::InWeight) => StrengthUnit::named("% w/w"),
        _ => StrengthUnit::named("g/L"),
    };
    if solid && !matches!(read.strength, Strength::InWeight(_)) {
        return Err(Problem::question(format!(
            "{} is a solid: its strength is its content by weight",
            sight.reagent.name
        ))
        .hint("accepted: `99 %` or `99 % w/w`"));
    }
    let value = unit.read(read.strength).unwrap_or_else(|| read.strength.base() / unit.factor);
    let labelled = Labelled { value, unit: unit.name, relative_sd: libm::hypot(relative_sd, read.sd_ln) };
    content(sight.stock.form, sight.reagent, &labelled)?;
    Ok(labelled)
}

fn no_such_field(kind: &str, field: &str) -> Problem {
    Problem::question(format!("a line of the kind `{kind}` has no {field}"))
        .hint("`brimstock show STOCK` shows what each line says")
}
