//! `check` and `assay`: is this bottle still good, and what a test makes of it.

use chrono::NaiveDate;
use clap::{Args, Subcommand};

use super::correct::labelled;
use super::dip::{bath_for, offers, planned};
use super::event::{Entering, enter};
use super::receive::label_text;
use super::sight::{Sight, Usual};
use super::{Problem, Session, arguments};
use crate::catalogue::Form;
use crate::decay::posterior::Standing;
use crate::dip::{Until, Verdict};
use crate::register::Writing;
use crate::register::history::content;
use crate::register::journal::Event;
use crate::register::place::{Light, Place};
use crate::units::estimate::Estimate;
use crate::units::step::Step;
use crate::units::{Volume, parse, show};

/// Is this bottle still good: strength today, and what it can still make until when
///
/// Exit code 0 if it can make a dip of the book (or keeps, where the book has none for it), 1 if not.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock check HP-1 --bath 16L")]
pub struct Check {
    /// The stock's code
    pub stock: String,
    /// The volume of the bath that its dips are judged by
    #[arg(long, default_value = "10L")]
    pub bath: String,
    /// Only this dip
    #[arg(long, value_name = "DIP")]
    pub dip: Option<String>,
}

/// Enter a test of a stock's strength
#[derive(Debug, Args)]
pub struct Assay {
    /// The stock's code
    pub stock: String,
    #[command(subcommand)]
    method: Method,
}

#[derive(Debug, Subcommand)]
enum Method {
    /// A result that was had elsewhere, with its standard deviation
    #[command(after_help = "Example: brimstock assay HP-1 figure \"2.7 % w/v\" --sd 3%")]
    Figure {
        /// The strength that was found
        strength: String,
        /// Its relative standard deviation
        #[arg(long)]
        sd: String,
        /// The day of the test [default: the day of the question]
        #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
        date: Option<NaiveDate>,
    },
}

/// What is known of a stock and what it can do.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// Its code.
    pub stock: String,
    /// Key of its reagent.
    pub reagent: String,
    /// Its full name.
    pub name: String,
    /// The day.
    pub on: NaiveDate,
    /// Solid or solution.
    pub form: Form,
    /// What the label says.
    pub label_text: String,
    /// What the label comes to, grams in a litre or in a gram.
    pub label: f64,
    /// Its content on that day, grams in a litre or in a gram.
    pub content: Option<Estimate>,
    /// The same in its usual unit.
    pub usual: Option<Usual>,
    /// How much is left, in the unit.
    pub left: f64,
    /// `mL` or `g`.
    pub unit: String,
    /// The bath that its dips are judged by.
    pub bath: Volume,
    /// What it can do.
    pub dips: Vec<DipLine>,
    /// What to do.
    pub advice: Vec<String>,
    /// How the strength came about.
    pub steps: Vec<Step>,
}

impl Checked {
    /// True if the answer is yes.
    #[must_use]
    pub fn is_good(&self) -> bool {
        if self.dips.is_empty() {
            self.content.is_some()
        } else {
            self.dips.iter().any(|dip| dip.verdict == Verdict::Ready)
        }
    }
}

/// What a stock can do for one dip.
#[derive(Debug, Clone, PartialEq)]
pub struct DipLine {
    /// The dip's key.
    pub dip: String,
    /// Its name.
    pub name: String,
    /// What it aims at, as the book says it.
    pub aim: String,
    /// What can be done.
    pub verdict: Verdict,
    /// With what chance.
    pub chance: Option<f64>,
    /// How long.
    pub until: Option<Until>,
    /// Why.
    pub reasons: Vec<String>,
}

/// What a test made of a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Assayed {
    /// Its code.
    pub stock: String,
    /// How it was tested.
    pub method: &'static str,
    /// The day of the test.
    pub day: NaiveDate,
    /// What was found, as typed.
    pub found: String,
    /// Solid or solution.
    pub form: Form,
    /// What was found, grams in a litre or in a gram.
    pub content: f64,
    /// Its relative standard deviation.
    pub relative_sd: f64,
    /// How good a test it is, and how it fits what was believed.
    pub comment: String,
    /// What is known now.
    pub after: Checked,
}

/// Answers whether a bottle is still good.
///
/// # Errors
/// For an unknown stock, dip or bath, and a stock that had not come by that day.
pub fn check(session: &Session, arguments: &Check) -> Result<Checked, Problem> {
    let dip = match &arguments.dip {
        Some(word) => Some(arguments::dip(session.catalogue, word)?),
        None => None,
    };
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        let bath = parse::volume(&arguments.bath, arguments::kitchen(reading)?)?;
        let sight = Sight::on_shelf(session, reading, &places, &arguments.stock)?;
        if let Some((day, why)) = &sight.state.retired {
            return Err(Problem::question(format!("`{}` left the shelf on {day}: {why}", sight.stock.code))
                .hint(format!("`brimstock show {}` shows its journal", sight.stock.code)));
        }
        if let Some(dip) = dip.filter(|dip| dip.reagent != sight.stock.reagent) {
            return Err(Problem::question(format!(
                "`{}` is {}, and the dip `{}` is made with {}",
                sight.stock.code, sight.stock.reagent, dip.key, dip.reagent
            ))
            .because("one reagent is never put in the place of another")
            .hint(format!("`brimstock dose {} --bath {}` asks the whole shelf", dip.key, arguments.bath)));
        }
        checked(session, reading, &places, &sight, bath, dip.map(|dip| dip.key.as_str()))
    })
}

/// What is known of a stock that is seen, and what it can do.
pub(super) fn checked(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    sight: &Sight<'_>,
    bath: Volume,
    only: Option<&str>,
) -> Result<Checked, Problem> {
    let (content, usual, steps) = match &sight.standing {
        Standing::Known(known) => {
            let content = known.estimate();
            (Some(content), Some(sight.usual(content)?), known.steps.clone())
        }
        Standing::Unknown { why, source } => (None, None, vec![Step::new(why.clone(), source.clone())]),
    };
    let mut dips = Vec::new();
    let own = [sight.offer()];
    for dip in session.catalogue.dips() {
        if dip.reagent != sight.stock.reagent || only.is_some_and(|key| key != dip.key) || sight.state.retired.is_some()
        {
            continue;
        }
        let threshold = arguments::threshold(reading)?;
        let bath = bath_for(session, dip, bath, threshold)?;
        let neutralisers = match &dip.stop {
            Some(stop) => offers(session, reading, places, &stop.reagent)?,
            None => Vec::new(),
        };
        let (plan, _) = planned(session, &bath, &own, &neutralisers)?;
        dips.push(DipLine {
            dip: dip.key.clone(),
            name: dip.name.clone(),
            aim: dip.target.aim.clone(),
            verdict: plan.verdict,
            chance: plan.chance,
            until: plan.until,
            reasons: plan.reasons,
        });
    }
    let mut checked = Checked {
        stock: sight.stock.code.clone(),
        reagent: sight.stock.reagent.clone(),
        name: sight.reagent.name.clone(),
        on: session.day,
        form: sight.stock.form,
        label_text: label_text(&sight.state.label),
        label: sight.label,
        content,
        usual,
        left: sight.state.left,
        unit: sight.state.unit.clone(),
        bath,
        dips,
        advice: Vec::new(),
        steps,
    };
    checked.advice = advice(&checked, sight);
    Ok(checked)
}

fn advice(checked: &Checked, sight: &Sight<'_>) -> Vec<String> {
    let mut advice = Vec::new();
    let code = &checked.stock;
    if let Some(why) = &sight.state.hold {
        advice.push(format!("held: {why}; release it with `brimstock correct {code} 1 --release --because …`"));
    }
    if sight.fears_light()
        && let Some((light, place)) = sight.light.as_ref().filter(|(light, _)| *light >= Light::Bright)
    {
        advice.push(format!(
            "it stood at {place} ({}), and light is not counted here: it may be weaker; a dark place and a test set that right",
            light.word()
        ));
    }
    let unit = &sight.state.label.unit;
    let command = format!("`brimstock assay {code} figure \"… {unit}\" --sd 3%` with the figure you find");
    if checked.content.is_none() {
        advice.push(format!("nobody can tell its strength without a test: {command}"));
    } else if let Some(dip) = checked.dips.iter().find(|dip| dip.verdict == Verdict::TestFirst) {
        advice.push(format!("a test would settle {}: {command}", dip.dip));
    }
    if let Some(dip) = checked.dips.iter().find(|dip| dip.verdict == Verdict::Ready) {
        advice.push(format!(
            "to measure it out: `brimstock dose {} --bath {} --from {code}`",
            dip.dip,
            show::millilitres(checked.bath.to_ml()).replace(' ', "")
        ));
    }
    advice
}

/// Enters a test.
///
/// # Errors
/// For a strength or a standard deviation that cannot be read, an unknown stock, a day before the receipt or in the future.
pub fn assay(session: &Session, arguments: &Assay) -> Result<Assayed, Problem> {
    let Method::Figure { strength, sd, date } = &arguments.method;
    let relative_sd = parse::relative_sd(sd)?;
    let mut found = None;
    let mut before = None;
    let entered = enter(session, &arguments.stock, *date, strength.clone(), |seen, writing, _| {
        let labelled = labelled(session, seen, strength, relative_sd, writing)?;
        let (value, sd_ln) = content(seen.stock.form, seen.reagent, &labelled)?;
        found = Some((label_text(&labelled), value.0, libm::hypot(labelled.relative_sd, sd_ln), seen.stock.form));
        if let Standing::Known(known) = &seen.standing {
            before = Some(known.estimate());
        }
        let said = format!("{} tested: {}", seen.stock.code, label_text(&labelled));
        Ok(Entering {
            event: Event::Assayed { method: "figure".to_owned(), strength: labelled },
            said,
            assumed: Vec::new(),
        })
    })?;
    let (found, content, relative_sd, form) = found.ok_or_else(|| Problem::data("the test was not understood"))?;
    let mut register = session.register()?;
    let after = register.read(|reading| {
        let places = reading.places()?;
        let sight = Sight::on_shelf(session, reading, &places, &arguments.stock)?;
        checked(session, reading, &places, &sight, Volume::l(10.0), None)
    })?;
    Ok(Assayed {
        stock: entered.stock,
        method: "figure",
        day: entered.day,
        found,
        form,
        content,
        relative_sd,
        comment: comment(content, relative_sd, before),
        after,
    })
}

/// What is to be thought of a test, in plain words.
fn comment(content: f64, relative_sd: f64, before: Option<Estimate>) -> String {
    let quality = match relative_sd {
        sd if sd <= 0.03 => "a good test",
        sd if sd <= 0.08 => "a fair test",
        _ => "a rough test",
    };
    let Some(before) = before else {
        return format!("{quality}; nothing was known before it, and it speaks for its own day only");
    };
    let widened = before.spread(relative_sd);
    if content < widened.low {
        format!("{quality}, lower than was expected; it counts, but repeat it before you rely on it")
    } else if content > widened.high {
        format!("{quality}, higher than was expected; it counts, but repeat it before you rely on it")
    } else {
        format!("{quality}, within what was expected")
    }
}
