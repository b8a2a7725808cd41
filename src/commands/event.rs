//! `open`, `note`, `move`, `take`, `count`, `retire`: what happens to a stock after it came.

use chrono::NaiveDate;
use clap::Args;

use super::receive::{Entered, append};
use super::sight::Sight;
use super::{Problem, Session, arguments, audit};
use crate::catalogue::{Condition, Form};
use crate::chem::reading::{mass_of, note_measure};
use crate::chem::{Substance, density, solution};
use crate::register::Writing;
use crate::register::event::{Entry, Event, What};
use crate::register::place::Place;
use crate::units::measure::{Amount, Quantity};
use crate::units::parse;
use crate::units::show;
use crate::units::strength::{Basis, Strength};
use crate::units::{Concentration, MassFraction, Temperature};

/// Enter that a seal was broken
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock open HP-1")]
pub struct Open {
    /// The stock's code
    pub stock: String,
    /// The day it happened [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// Enter what was noticed on a stock: what makes it keep worse, and how its cap, label and container are
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  brimstock note HP-1 swollen\n  brimstock note HP-1 vented-cap")]
pub struct Note {
    /// The stock's code
    pub stock: String,
    /// What was noticed
    #[arg(value_enum)]
    pub what: Noticed,
    /// The day it was noticed [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// What can be noticed on a container.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Noticed {
    /// It bulges: gas has gathered
    Swollen,
    /// Bubbles rise in it
    Gassing,
    /// Something is in it that does not belong there
    Dirty,
    /// Something was dipped into it
    DippedInto,
    /// Something was poured back into it
    PouredBack,
    /// It has a brown deposit
    Browned,
    /// A solid is damp or caked
    Damp,
    /// Its cap lets gas out
    VentedCap,
    /// Its cap lets nothing out
    TightCap,
    /// It bears a label that says what it is
    Labelled,
    /// It bears no label, or one that cannot be read
    Unlabelled,
    /// Its wall is brittle, cracked or yellowed
    Brittle,
}

impl Noticed {
    fn words(self) -> &'static str {
        match self {
            Noticed::Swollen => "swollen",
            Noticed::Gassing => "gassing",
            Noticed::Dirty => "dirty",
            Noticed::DippedInto => "dipped into",
            Noticed::PouredBack => "poured back into",
            Noticed::Browned => "brown deposit",
            Noticed::Damp => "damp",
            Noticed::VentedCap => "vented cap",
            Noticed::TightCap => "tight cap",
            Noticed::Labelled => "labelled",
            Noticed::Unlabelled => "unlabelled",
            Noticed::Brittle => "brittle",
        }
    }

    /// True if what is in it keeps worse from then on.
    fn spoils(self) -> bool {
        !matches!(
            self,
            Noticed::VentedCap | Noticed::TightCap | Noticed::Labelled | Noticed::Unlabelled | Noticed::Brittle
        )
    }
}

/// Enter that a stock went to another place
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock move HP-1 porch")]
pub struct Move {
    /// The stock's code
    pub stock: String,
    /// The place it went to
    pub to: String,
    /// Why it stands there against a warning of `audit`; the reason is kept and printed with the warning
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    pub overrule: Option<String>,
    /// The day it happened [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// Enter that some of a stock was used
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock take HP-1 150mL")]
pub struct Take {
    /// The stock's code
    pub stock: String,
    /// How much was used
    #[arg(allow_hyphen_values = true)]
    pub amount: String,
    /// The day it happened [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// Enter how much is really left
///
/// The book then starts again from what was found; the difference is told.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock count SC-1 23.2kg")]
pub struct Count {
    /// The stock's code
    pub stock: String,
    /// How much there is; `none` for an empty container
    #[arg(allow_hyphen_values = true)]
    pub amount: String,
    /// The day it happened [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// Enter that a stock left the shelf for good
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock retire HP-4 --because \"used up\"\n  brimstock retire HP-4 --handed-over-to \"the district's collection\""
)]
pub struct Retire {
    /// The stock's code
    pub stock: String,
    /// Where it went and why
    #[arg(long, value_name = "REASON", value_parser = arguments::reason, required_unless_present = "handed_over_to")]
    pub because: Option<String>,
    /// Who took it: the collection or the firm that is licensed to
    #[arg(long, value_name = "WHOM", value_parser = arguments::reason)]
    pub handed_over_to: Option<String>,
    /// The day it happened [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub date: Option<NaiveDate>,
}

/// Enters the opening.
///
/// # Errors
/// For a second opening, a stock without a seal, a day before the receipt or in the future.
pub fn open(session: &Session, arguments: &Open) -> Result<Entered, Problem> {
    enter(session, &arguments.stock, arguments.date, String::new(), |seen, _, _| {
        let said = format!("{} opened; from then on it counts as poured from and never dipped into", seen.stock.code);
        Ok(Entering { event: Event::Opened { condition: Condition::Opened }, said, assumed: Vec::new() })
    })
}

/// Enters what was noticed: where it spoils what is in it, the stock keeps as a dirty one does from that day on.
///
/// # Errors
/// For a day before the receipt or in the future.
pub fn note(session: &Session, arguments: &Note) -> Result<Entered, Problem> {
    let words = arguments.what.words();
    enter(session, &arguments.stock, arguments.date, String::new(), |seen, _, _| {
        let code = &seen.stock.code;
        let fits = match arguments.what {
            Noticed::Damp => seen.stock.form == Form::Solid,
            Noticed::Swollen | Noticed::Gassing => seen.stock.form == Form::Solution,
            _ => true,
        };
        if !fits {
            return Err(Problem::question(format!(
                "`{code}` is a {}, and no {} is {words}",
                seen.stock.form, seen.stock.form
            ))
            .hint("`brimstock note --help` tells what can be noticed"));
        }
        let mut assumed = Vec::new();
        if matches!(arguments.what, Noticed::Swollen | Noticed::Gassing) && seen.stock.form == Form::Solution {
            assumed.push(
                "it makes gas: a vented cap, a tray, away from faces and from what burns; do not screw it tight, and do not open a tight one over your face"
                    .to_owned(),
            );
        }
        let (condition, said) = if arguments.what.spoils() {
            (Condition::Dirty, format!("{code} noted as {words}; from then on it counts as dirty, and keeps worse"))
        } else {
            (seen.state.condition, format!("{code} noted: {words}"))
        };
        Ok(Entering { event: Event::Noted { condition, what: words.to_owned() }, said, assumed })
    })
}

/// Enters the move.
///
/// # Errors
/// For an unknown place, a day before the receipt or in the future.
pub fn shift(session: &Session, arguments: &Move) -> Result<Entered, Problem> {
    let make = |seen: &Sight<'_>, _: &Writing<'_>, places: &[Place]| {
        let place = arguments::place(places, &arguments.to)?;
        let said = format!("{} moved from {} to {}", seen.stock.code, seen.state.place, place.name);
        let event = Event::Moved { place: place.name.clone(), overruled: arguments.overrule.clone() };
        Ok(Entering { event, said, assumed: Vec::new() })
    };
    let look = |writing: &Writing<'_>, _: &[Place]| {
        let code = arguments::stock(writing, &arguments.stock)?.code;
        Ok(audit::warnings(session, writing, &code))
    };
    let written = arguments.to.clone();
    let (entered, warnings) = enter_and_look(session, &arguments.stock, arguments.date, written, make, look)?;
    Ok(Entered { warnings, ..entered })
}

/// Enters the use.
///
/// # Errors
/// For more than is left, an amount that cannot be read or weighed, a day before the receipt or in the future.
pub fn take(session: &Session, arguments: &Take) -> Result<Entered, Problem> {
    enter(session, &arguments.stock, arguments.date, arguments.amount.clone(), |seen, writing, _| {
        let (amount, assumed) = amount_of(session, seen, writing, &arguments.amount)?;
        let said = format!("{} taken from {}", show::amount(amount, &seen.state.unit), seen.stock.code);
        Ok(Entering { event: Event::Taken { amount }, said, assumed })
    })
}

/// Enters the count.
///
/// # Errors
/// For an amount that cannot be read or weighed, a day before the receipt or in the future.
pub fn count(session: &Session, arguments: &Count) -> Result<Entered, Problem> {
    enter(session, &arguments.stock, arguments.date, arguments.amount.clone(), |seen, writing, _| {
        let (amount, assumed) = match arguments.amount.trim() {
            "none" | "0" => (0.0, Vec::new()),
            text => amount_of(session, seen, writing, text)?,
        };
        let unit = &seen.state.unit;
        let difference = amount - seen.state.left;
        let compared = if difference.abs() < 1e-6 * seen.state.amount {
            "as the book says".to_owned()
        } else {
            let word = if difference > 0.0 { "more" } else { "less" };
            format!(
                "{} {word} than the book's {}",
                show::amount(difference.abs(), unit),
                show::amount(seen.state.left, unit)
            )
        };
        let compared = if amount > 1.05 * seen.state.amount {
            format!("{compared}, and more than ever came in it: check the figure and its unit")
        } else {
            compared
        };
        let said = format!("{} counted: {} there, {compared}", seen.stock.code, show::amount(amount, unit));
        Ok(Entering { event: Event::Counted { amount }, said, assumed })
    })
}

/// Enters the leaving.
///
/// # Errors
/// For a stock that has left already, a day before the receipt or in the future.
pub fn retire(session: &Session, arguments: &Retire) -> Result<Entered, Problem> {
    let handed_to = arguments.handed_over_to.clone();
    let why = arguments.because.clone().unwrap_or_else(|| "not wanted any more".to_owned());
    enter(session, &arguments.stock, arguments.date, String::new(), |seen, _, _| {
        let whom = handed_to.as_ref().map_or(String::new(), |whom| format!(", handed over to {whom}"));
        let said = format!("{} left the shelf: {why}{whom}", seen.stock.code);
        Ok(Entering { event: Event::Retired { why, handed_to }, said, assumed: Vec::new() })
    })
}

/// An event about to be entered.
pub(super) struct Entering {
    pub(super) event: Event,
    pub(super) said: String,
    pub(super) assumed: Vec<String>,
}

/// Enters an event that is made from the stock as it is seen on the event's day.
pub(super) fn enter(
    session: &Session,
    code: &str,
    date: Option<NaiveDate>,
    written: String,
    make: impl FnOnce(&Sight<'_>, &Writing<'_>, &[Place]) -> Result<Entering, Problem>,
) -> Result<Entered, Problem> {
    enter_and_look(session, code, date, written, make, |_, _| Ok(())).map(|(entered, ())| entered)
}

/// Enters an event and looks at what came of it; if it cannot be looked at, nothing is entered.
pub(super) fn enter_and_look<T>(
    session: &Session,
    code: &str,
    date: Option<NaiveDate>,
    written: String,
    make: impl FnOnce(&Sight<'_>, &Writing<'_>, &[Place]) -> Result<Entering, Problem>,
    look: impl FnOnce(&Writing<'_>, &[Place]) -> Result<T, Problem>,
) -> Result<(Entered, T), Problem> {
    let day = arguments::event_day(session, date)?;
    let mut register = session.register()?;
    register.write(|writing| {
        let places = writing.places()?;
        let stock = arguments::stock(writing, code)?;
        let journal = writing.journal(&stock, &places, day)?;
        // Seen on the event's own day; for a day before it came on its last known day, and the journal says what is wrong.
        let last = journal.last_day(NaiveDate::MAX).unwrap_or(day);
        let seen = match Sight::of(session, stock.clone(), journal.clone(), &places, day)? {
            Some(seen) => seen,
            None => Sight::of(session, stock.clone(), journal.clone(), &places, last)?.ok_or_else(|| {
                Problem::question(format!("`{}` never came: its receipt was corrected away", stock.code))
            })?,
        };
        let Entering { event, said, assumed } = make(&seen, writing, &places)?;
        let kind = event.kind();
        let line = journal.lines() + 1;
        let entry = Entry {
            id: 0,
            number: line,
            day,
            entered_at: session.entered_at.clone(),
            written,
            what: What::Event(event),
        };
        append(writing, &stock, &places, journal, entry)?;
        let after = writing.journal(&stock, &places, session.day)?;
        let after = Sight::of(session, stock.clone(), after, &places, session.day)?;
        let left = after.as_ref().map_or(0.0, |sight| sight.state.left);
        let entered = Entered {
            stock: stock.code.clone(),
            reagent: seen.reagent.name.clone(),
            line,
            kind,
            day,
            said,
            left,
            unit: seen.state.unit.clone(),
            assumed,
            warnings: Vec::new(),
            next: None,
        };
        Ok((entered, look(writing, &places)?))
    })
}

/// A typed amount in the stock's own unit.
pub(super) fn amount_of(
    session: &Session,
    seen: &Sight<'_>,
    writing: &Writing<'_>,
    text: &str,
) -> Result<(f64, Vec<String>), Problem> {
    let amount: Amount = parse::amount(text, arguments::kitchen(writing)?)?;
    let mut assumed = Vec::new();
    let value = match (seen.stock.form, amount.quantity) {
        (Form::Solution, Quantity::Volume(volume)) => {
            note_measure(&amount, &mut assumed, &mut Vec::new());
            volume.to_ml()
        }
        (Form::Solid, _) => {
            let (mass, _, notes, _) = mass_of(Substance::of(seen.reagent), &amount, session.catalogue.measuring())?;
            assumed.extend(notes);
            mass.to_g()
        }
        (Form::Solution, Quantity::Mass(mass)) => {
            let substance = Substance::of(seen.reagent);
            let bench = Temperature::celsius(20.0);
            let strength = Strength::InVolume(Concentration::g_per_l(seen.label));
            let fraction = solution::convert(substance, strength, Basis::InWeight, bench)?.strength.base();
            let found = density::of_solution(substance, MassFraction::fraction(fraction), bench)?;
            assumed.push(found.step.what);
            mass.to_g() / found.density.to_g_per_ml()
        }
    };
    Ok((value, assumed))
}
