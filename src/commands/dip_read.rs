//! `dips read`: a recipe as people write it, in grams in a litre, beside the dip book.

use clap::Args;

use super::convert::{kitchen, registered_kitchen};
use super::{Problem, Session, arguments};
use crate::catalogue::{Catalogue, Reagent};
use crate::chem::Substance;
use crate::chem::solution::chlorine_per_gram;
use crate::dip::lookalike::equivalent;
use crate::dip::told::beside::{Beside, beside};
use crate::dip::told::doubt::{questions, wrongs};
use crate::dip::told::weigh::weigh;
use crate::dip::told::{Span, Told, grammar};
use crate::units::estimate::Estimate;
use crate::units::measure::Kitchen;
use crate::units::show::significant;
use crate::units::step::Step;

/// Read a recipe as people write it: g/L with a band, what was assumed, and how it stands beside the dip book
///
/// Exit code 0 once it is read, however much of it is questioned; 2 if it cannot be read.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  brimstock dips read \"2 tbsp alum per gal for 3 h\"
  brimstock dips read \"1:19 bleach (5.25 %), 2 minutes\"
  brimstock dips read \"5 mL of 3 % H2O2 per litre\"
  brimstock dips read \"1 cup per 10 gal\" --of salt --kitchen us
  brimstock dips read \"permanganate until it is dark pink, 10 min\"")]
pub struct Read {
    /// The recipe, in its own words
    #[arg(required = true, num_args = 1.., value_name = "TEXT")]
    pub text: Vec<String>,
    /// The reagent, where the text does not name it
    #[arg(long, value_name = "REAGENT")]
    pub of: Option<String>,
    /// Which kitchen a bare `cup` or `gal` comes from [default: the register's, else all of them]
    #[arg(long, value_parser = kitchen)]
    pub kitchen: Option<Kitchen>,
}

/// A recipe that was read.
#[derive(Debug, Clone)]
pub struct Recipe {
    /// The text.
    pub text: String,
    /// The reagent's key.
    pub reagent: String,
    /// Grams of it in a litre; nothing where no volume is told.
    pub g_per_l: Option<Estimate>,
    /// Grams of it, where only an amount is told.
    pub grams: Option<Estimate>,
    /// The strength as available chlorine, g/L, of what is counted so.
    pub chlorine: Option<Estimate>,
    /// Minutes in the bath, if told.
    pub minutes: Option<Span>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// The rows of the dip book for the reagent, published ones first.
    pub compared: Vec<Beside>,
    /// What is to be asked before anybody follows it.
    pub questions: Vec<String>,
    /// How the strength came about.
    pub steps: Vec<Step>,
}

/// Reads a recipe.
///
/// # Errors
/// For a text that cannot be read, a reagent that is missing, unknown or not the one that the text names.
pub fn run(session: &Session, arguments: &Read) -> Result<Recipe, Problem> {
    let text = arguments.text.join(" ");
    let catalogue = session.catalogue;
    let warned = |problem: Problem| with_wrongs(problem, &text, catalogue);
    let kitchen = match arguments.kitchen {
        Some(kitchen) => Some(kitchen),
        None => registered_kitchen(session)?,
    };
    let told = grammar::read(&text, catalogue).map_err(|error| warned(error.into()))?;
    let (reagent, mut assumed) = reagent_of(catalogue, &told, arguments.of.as_deref()).map_err(warned)?;
    let weighed = weigh(&told, reagent, kitchen, catalogue).map_err(|error| warned(error.into()))?;
    let compared = match weighed.g_per_l {
        Some(strength) => beside(catalogue, reagent, strength)?,
        None => Vec::new(),
    };
    let questions = questions(&told, &weighed, &compared, reagent, catalogue);
    let chlorine = match weighed.g_per_l {
        Some(strength) if reagent.solution.as_ref().is_some_and(|solution| solution.available_chlorine) => {
            Some(strength.scaled(chlorine_per_gram(Substance::of(reagent))?))
        }
        _ => None,
    };
    assumed.extend(weighed.assumed);
    if !told.unread.is_empty() {
        assumed.push(format!("passed over, not understood: {}", told.unread.join(" ")));
    }
    assumed.extend(told.unused.iter().map(|what| format!("told and not counted: {what}")));
    Ok(Recipe {
        text: told.text.clone(),
        reagent: reagent.key.clone(),
        g_per_l: weighed.g_per_l,
        grams: weighed.grams,
        chlorine,
        minutes: told.minutes,
        assumed,
        compared,
        questions,
        steps: weighed.steps,
    })
}

/// A refusal also tells what is wrong with what the text says.
fn with_wrongs(problem: Problem, text: &str, catalogue: &Catalogue) -> Problem {
    let wrongs = wrongs(text, catalogue);
    if wrongs.is_empty() {
        return problem;
    }
    let why = problem.why.iter().cloned().chain(wrongs).collect::<Vec<_>>().join("; ");
    problem.because(why)
}

/// The reagent that is meant, with what had to be assumed for it.
fn reagent_of<'a>(
    catalogue: &'a Catalogue,
    told: &Told,
    given: Option<&str>,
) -> Result<(&'a Reagent, Vec<String>), Problem> {
    let shade = told.shade.and_then(|place| catalogue.loose().words[place].reagent.clone());
    let mut keys: Option<Vec<String>> = None;
    for (word, candidates) in &told.named {
        let common: Vec<String> = match &keys {
            Some(keys) => keys.iter().filter(|key| candidates.contains(key)).cloned().collect(),
            None => candidates.clone(),
        };
        if common.is_empty() {
            let words: Vec<String> = told.named.iter().map(|(word, _)| format!("`{word}`")).collect();
            return Err(Problem::question(format!("`{}` names more than one reagent", told.text))
                .because(format!("{} are not the same thing; stopped at `{word}`", words.join(" and ")))
                .hint("read one reagent at a time; what must never be mixed tells `brimstock audit`"));
        }
        keys = Some(common);
    }
    if let Some(word) = given {
        let meant = catalogue.reagents_called(word);
        let both =
            keys.as_ref().map(|keys| meant.iter().filter(|reagent| keys.contains(&reagent.key)).collect::<Vec<_>>());
        return match (keys, both.as_deref()) {
            (_, Some([one])) => Ok((one, Vec::new())),
            (Some(keys), Some([])) if !meant.is_empty() => {
                Err(Problem::question(format!("the text is about {}, --of says `{word}`", keys.join(" or ")))
                    .because("one reagent is never put in the place of another")
                    .hint("leave --of away, or change the text"))
            }
            _ => Ok((arguments::reagent(catalogue, word)?, Vec::new())),
        };
    }
    match (keys.as_deref(), shade) {
        (Some([one]), _) => Ok((arguments::reagent(catalogue, one)?, Vec::new())),
        (Some(several), _) => one_of(catalogue, told, several),
        (None, Some(key)) => {
            let reagent = arguments::reagent(catalogue, &key)?;
            Ok((reagent, vec![format!("a colour is told of {} alone", reagent.short_name())]))
        }
        (None, None) => {
            let dips = catalogue.dips().iter().map(|dip| dip.reagent.as_str());
            let mut candidates: Vec<String> = dips.map(|key| format!("`{key}`")).collect();
            candidates.sort();
            candidates.dedup();
            let unread = told.unread.join(" ");
            let why = if unread.is_empty() {
                "the text names no reagent".to_owned()
            } else {
                format!("the text names none that is on file; not understood: `{unread}`")
            };
            Err(Problem::question(format!("of which reagent is `{}`?", told.text)).because(why).hint(format!(
                "add it, as --of potassium-alum; the dip book has {}, `brimstock reagents` lists all",
                candidates.join(", ")
            )))
        }
    }
}

/// One of several reagents that share a name: the one that the dip book has, if it has just one of them.
fn one_of<'a>(catalogue: &'a Catalogue, told: &Told, keys: &[String]) -> Result<(&'a Reagent, Vec<String>), Problem> {
    let booked: Vec<&String> =
        keys.iter().filter(|key| catalogue.dips().iter().any(|dip| dip.reagent == **key)).collect();
    let word = told.named.first().map_or("", |(word, _)| word.as_str());
    let [key] = booked[..] else {
        return Err(Problem::question(format!("`{word}` is sold as several reagents: {}", keys.join(", ")))
            .because("they are different salts and are not interchangeable gram for gram")
            .hint("read the label and add the one it is, as --of with its name"));
    };
    let reagent = arguments::reagent(catalogue, key)?;
    let others: Vec<&str> = keys.iter().filter(|other| *other != key).map(String::as_str).collect();
    let said = format!("`{word}` read as {key}, the one in the dip book, not {}", others.join(" or "));
    let mut told = Vec::new();
    for other in &others {
        let other = arguments::reagent(catalogue, other)?;
        if let (Some(part), Some(grams)) = (&reagent.contains, equivalent(1.0, reagent, other)?) {
            told.push(format!("{} brings {} times the {}", other.key, significant(1.0 / grams, 2), part.what));
        }
    }
    let swapped = if told.is_empty() { String::new() } else { format!("; gram for gram {}", told.join(", ")) };
    Ok((reagent, vec![said + &swapped]))
}
