//! `assay`: enters a test of a stock's strength with what was read in it.

use chrono::NaiveDate;

use super::assay_arguments::{Assay, Method};
use super::assay_plan::{AssayPlan, plan};
use super::correct::labelled;
use super::event::{Entering, enter_and_look};
use super::readings::{read, stated};
use super::receive::label_text;
use super::sight::Sight;
use super::strength::{Asked, Checked, SUSPICIOUS, checked, dirt_text};
use super::{Problem, Session};
use crate::catalogue::{Catalogue, Form, Test};
use crate::decay::assay::{Sample, tested};
use crate::decay::finding::Finding;
use crate::decay::posterior::Standing;
use crate::decay::reading::{Raw, Reading};
use crate::register::Writing;
use crate::register::event::{Event, Labelled};
use crate::register::history::content;
use crate::units::estimate::{Estimate, Z_95};
use crate::units::step::Step;
use crate::units::{Volume, parse, show};

/// What `assay` answers.
#[derive(Debug, Clone, PartialEq)]
pub enum Answered {
    /// How to test.
    Plan(Box<AssayPlan>),
    /// What a test made of it.
    Assayed(Box<Assayed>),
}

/// What a test made of a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Assayed {
    /// Its code.
    pub stock: String,
    /// How it was tested.
    pub method: Test,
    /// The day of the test.
    pub day: NaiveDate,
    /// What was found, in words.
    pub found: String,
    /// Solid or solution.
    pub form: Form,
    /// What was found, grams in a litre or in a gram.
    pub finding: Finding,
    /// What was read, with units in the names.
    pub raw: Option<Raw>,
    /// How good a test it is, and how it fits what was believed.
    pub comment: String,
    /// How the strength was computed.
    pub steps: Vec<Step>,
    /// What is known now.
    pub after: Checked,
}

/// Enters a test, or plans one.
///
/// # Errors
/// For readings that cannot be read or cannot be, a test that does not suit, an unknown stock, a day before the receipt or in
/// the future.
pub fn run(session: &Session, given: &Assay) -> Result<Answered, Problem> {
    if let Method::Plan(arguments) = &given.method {
        return Ok(Answered::Plan(Box::new(plan(session, given.stock.as_deref(), arguments)?)));
    }
    let Some(code) = &given.stock else {
        return Err(Problem::question("which stock?").hint("`brimstock assay HP-1 oxygen-volume …`"));
    };
    let (date, typed) = (given.method.date(), given.method.typed());
    let mut found: Option<Found> = None;
    let (entered, after) = enter_and_look(
        session,
        code,
        date,
        typed,
        |seen, writing, _| {
            let entry = entry(session, seen, writing, &given.method)?;
            let said = format!("{} tested: {}", seen.stock.code, entry.text);
            let event = Event::Assayed {
                method: given.method.test().word().to_owned(),
                strength: entry.strength.clone(),
                raw: entry.raw.clone(),
            };
            found = Some(entry);
            Ok(Entering { event, said, assumed: Vec::new() })
        },
        |writing, places| {
            let sight = Sight::on_shelf(session, writing, places, code)?;
            checked(session, writing, places, &sight, &Asked::of(Volume::l(10.0)))
        },
    )?;
    let found = found.ok_or_else(|| Problem::data("the test was not understood"))?;
    let mut comment = comment(session.catalogue, given.method.test(), found.finding, found.raw.as_ref(), found.before);
    if let Some(times) = after.dirt.filter(|times| *times > SUSPICIOUS) {
        comment.push_str(&format!("; {}", dirt_text(times)));
    }
    Ok(Answered::Assayed(Box::new(Assayed {
        stock: entered.stock,
        method: given.method.test(),
        day: entered.day,
        found: found.text,
        form: found.form,
        finding: found.finding,
        raw: found.raw,
        comment,
        steps: found.steps,
        after,
    })))
}

/// A test as it goes into the journal.
struct Found {
    strength: Labelled,
    raw: Option<Raw>,
    finding: Finding,
    text: String,
    steps: Vec<Step>,
    form: Form,
    before: Option<Estimate>,
}

fn entry(session: &Session, seen: &Sight<'_>, writing: &Writing<'_>, method: &Method) -> Result<Found, Problem> {
    let form = seen.stock.form;
    let before = match &seen.standing {
        Standing::Known(known) => Some(known.estimate()),
        Standing::Unknown { .. } => None,
    };
    if let Method::Figure { strength, sd, .. } = method {
        let strength = labelled(session, seen, strength, parse::relative_sd(sd)?, writing)?;
        let (value, sd_ln) = content(form, seen.reagent, &strength)?;
        possible(seen, value.0)?;
        let relative_sd = libm::hypot(strength.relative_sd, sd_ln);
        let text = format!("{} ± {} % (1 sd)", label_text(&strength), show::significant(100.0 * relative_sd, 2));
        let finding = Finding::Figure { content: value.0, relative_sd };
        return Ok(Found { strength, raw: None, finding, text, steps: Vec::new(), form, before });
    }
    let raw = Raw { reading: read(session, writing, method)?, relative_sd: stated(method)? };
    let sample = Sample { reagent: seen.reagent, form, label: seen.label, label_sd_ln: seen.history.label_sd_ln };
    let tested = tested(session.catalogue, sample, &raw)?;
    let (factor, unit) = match form {
        Form::Solution => (1.0, "g/L"),
        Form::Solid => (100.0, "% w/w"),
    };
    let finding = tested.finding;
    let in_usual = |content: f64| -> Result<String, Problem> {
        let usual = seen.usual(Estimate::exact(content))?;
        Ok(format!("{} {}", show::significant(usual.estimate.mid, 3), usual.unit))
    };
    let text = match finding {
        Finding::Figure { content, relative_sd } => {
            format!("{} ± {} % (1 sd)", in_usual(content)?, show::significant(100.0 * relative_sd, 2))
        }
        Finding::Between { low: 0.0, high, .. } => format!("at most {}", in_usual(high)?),
        Finding::Between { low, high, .. } if high.is_finite() => {
            format!("between {} and {}", in_usual(low)?, in_usual(high)?)
        }
        Finding::Between { low, .. } => format!("at least {}", in_usual(low)?),
    };
    let strength = Labelled {
        value: factor * finding.content(),
        unit: unit.to_owned(),
        relative_sd: finding.relative_sd().clamp(1e-4, 1.0),
    };
    Ok(Found { strength, raw: Some(raw), finding, text, steps: tested.steps, form, before })
}

/// Refuses a figure above what the pure reagent holds.
fn possible(seen: &Sight<'_>, content: f64) -> Result<(), Problem> {
    let most = match seen.stock.form {
        Form::Solid => 1.1,
        Form::Solution => crate::decay::assay::strongest(seen.reagent),
    };
    if content <= most {
        return Ok(());
    }
    let (factor, unit) = if seen.stock.form == Form::Solid { (100.0, "% w/w") } else { (1.0, "g/L") };
    Err(Problem::question(format!(
        "{} {unit} is more than {} can hold",
        show::significant(content * factor, 3),
        seen.reagent.name
    ))
    .because("nothing was written")
    .hint(format!("accepted: up to {} {unit}; check the figure and its unit", show::plain(most * factor))))
}

/// What is to be thought of a test, in plain words.
fn comment(catalogue: &Catalogue, test: Test, finding: Finding, raw: Option<&Raw>, before: Option<Estimate>) -> String {
    let quality = match finding {
        Finding::Between { high, .. } if high.is_infinite() => match raw.map(|raw| &raw.reading) {
            // Three times as thin puts it near the middle of a common scale.
            Some(Reading::Strip { diluted, .. }) => {
                format!("only a bound; thin it about {} times and repeat", show::plain(3.0 * diluted))
            }
            _ => "only a bound; repeat".to_owned(),
        },
        Finding::Between { low: 0.0, .. } => "only a bound; thin it less and repeat".to_owned(),
        _ => match finding.relative_sd() {
            sd if sd <= 0.03 => "a good test".to_owned(),
            sd if sd <= 0.08 => "a fair test".to_owned(),
            _ => "a rough test".to_owned(),
        },
    };
    let traps = &catalogue.method(test).traps;
    let fit = match before {
        None => "nothing was known before it, and it speaks for its own day only".to_owned(),
        Some(before) => fit(finding, before),
    };
    format!("{quality}; {fit}. Mind: {traps}")
}

/// How a finding fits what was expected: its distance in standard deviations of both.
fn fit(finding: Finding, before: Estimate) -> String {
    let mid = before.mid;
    let away = finding.away(mid) * finding.relative_sd();
    let side = if away < 0.0 { libm::log(before.mid / before.low) } else { libm::log(before.high / before.mid) };
    let expected_sd = side / Z_95;
    let distance = away / libm::hypot(expected_sd, finding.relative_sd());
    let word = if away < 0.0 { "lower" } else { "higher" };
    match distance.abs() {
        d if d <= Z_95 => "within what was expected".to_owned(),
        d if d <= 3.5 => format!("{word} than was expected; it counts, but repeat it before you rely on it"),
        _ => format!(
            "far {word} than anything that was expected: a slip in reading, unit or dilution, or another bottle? it is kept, but waits for a second one that agrees; take it back with `brimstock correct` if it was a slip"
        ),
    }
}
