//! The `spill` card: what is done, worn and never used when a reagent is spilt, and where it stands.

use crate::catalogue::{CareText, Occasion, Reagent};
use crate::commands::classify::{self, Judged};
use crate::commands::looking::each_on_shelf;
use crate::commands::receive::label_text;
use crate::commands::sight::Sight;
use crate::commands::{Problem, Session, arguments};
use crate::register::Writing;
use crate::units::show::amount;

/// What the card says.
#[derive(Debug)]
pub struct Spill {
    /// What was spilt, in English.
    pub name: String,
    /// The stock that was asked about, if it was one.
    pub stock: Option<String>,
    /// Where it stands, in the order of receipt.
    pub standing: Vec<Standing>,
    /// When to leave, what to do, what never to use.
    pub spill: CareText,
    /// What it does to people, and what is done then.
    pub first_aid: CareText,
    /// What is worn.
    pub protection: CareText,
    /// The classes of the stock asked about.
    pub judged: Option<Judged>,
    /// True if the stock asked about is so strong that no spill of it is the keeper's to clean.
    pub too_strong: bool,
    /// True if the texts are past their day of review.
    pub check: bool,
}

/// One container of it.
#[derive(Debug)]
pub struct Standing {
    /// Its code.
    pub code: String,
    /// Its place.
    pub place: String,
    /// What its label says.
    pub label: String,
    /// How much is left, with its unit.
    pub left: String,
}

/// Gathers a card for each stock or reagent.
///
/// # Errors
/// For a word that is neither, and a reagent of the keeper's own without texts for trouble.
pub fn gather(session: &Session, what: &[String]) -> Result<Vec<Spill>, Problem> {
    let mut register = session.register()?;
    what.iter().map(|word| register.read(|reading| of(session, reading, word))).collect()
}

fn of(session: &Session, reading: &Writing<'_>, word: &str) -> Result<Spill, Problem> {
    let code = reading.stocks()?.into_iter().find(|stock| stock.code.eq_ignore_ascii_case(word));
    let (reagent, judged, stock) = match code {
        Some(stock) => {
            let reagent = arguments::reagent(session.catalogue, &stock.reagent)?;
            (reagent, classify::stock(session, &stock.code).ok(), Some(stock.code))
        }
        None => (arguments::reagent(session.catalogue, word)?, None, None),
    };
    let places = reading.places()?;
    let mut standing = Vec::new();
    let wanted = |known: &crate::register::stock::Stock| {
        known.reagent == reagent.key && stock.as_ref().is_none_or(|code| known.code == *code)
    };
    each_on_shelf(session, reading, &places, wanted, |sight| {
        standing.push(stands(&sight));
        Ok(())
    })?;
    let text = |occasion, key: &str| session.catalogue.care(occasion, key).cloned().ok_or_else(|| untold(reagent));
    let care = reagent.care.as_ref().ok_or_else(|| untold(reagent))?;
    let spill = text(Occasion::Spill, &care.spill)?;
    // What has no strength that can be told is taken to be the strongest.
    let strongest = judged.as_ref().and_then(|judged| judged.composition.first()).map_or(100.0, |part| part.percent);
    let too_strong = stock.is_some() && spill.out_from_percent.is_some_and(|bound| strongest >= bound);
    Ok(Spill {
        too_strong,
        name: reagent.name.clone(),
        stock,
        standing,
        spill,
        first_aid: text(Occasion::FirstAid, &care.first_aid)?,
        protection: text(Occasion::Protection, &care.protection)?,
        judged,
        check: session.catalogue.care_review_by() < session.day,
    })
}

fn stands(sight: &Sight<'_>) -> Standing {
    Standing {
        code: sight.stock.code.clone(),
        place: sight.state.place.clone(),
        label: label_text(&sight.state.label),
        left: amount(sight.state.left, &sight.state.unit),
    }
}

fn untold(reagent: &Reagent) -> Problem {
    Problem::data(format!("nothing is on file of a spill of `{}`", reagent.key))
        .because("its file has no `[care]`")
        .hint("the supplier's data sheet, section 6, tells it; `brimstock reagents check FILE` names the keys")
}
