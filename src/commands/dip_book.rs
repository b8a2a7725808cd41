//! `dips`: the dip book.

use clap::{Args, Subcommand};

use super::dip_read::Read;
use super::dose::goal_of;
use super::{Problem, Session, arguments};
use crate::catalogue::Dip;
use crate::dip::Goal;

/// List the dip book, show one dip with its evidence, or read a recipe
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
#[command(
    after_help = "Examples:\n  brimstock dips\n  brimstock dips bleach-fine-leaved\n  brimstock dips read \"2 tbsp alum per gal for 3 h\""
)]
pub struct Dips {
    /// One dip
    pub dip: Option<String>,
    /// Something else than showing the book
    #[command(subcommand)]
    pub verb: Option<DipsVerb>,
}

/// What can be done beside showing the dip book.
#[derive(Debug, Subcommand)]
#[allow(missing_docs, reason = "each variant's help stands on its arguments")]
pub enum DipsVerb {
    Read(Read),
}

/// The dip book.
#[derive(Debug, Clone)]
pub struct Book {
    /// Its dips, with their bands; one if one was asked for.
    pub dips: Vec<(Dip, Goal)>,
    /// True if one was asked for.
    pub single: bool,
    /// Where one was asked for, the other dips of its reagent, each with how many times stronger this one's aim is.
    pub kin: Vec<(String, f64)>,
}

/// Lists the book.
///
/// # Errors
/// For an unknown dip.
pub fn dips(session: &Session, arguments: &Dips) -> Result<Book, Problem> {
    let chosen: Vec<&Dip> = match &arguments.dip {
        Some(word) => vec![arguments::dip(session.catalogue, word)?],
        None => session.catalogue.dips().iter().collect(),
    };
    let dips =
        chosen.into_iter().map(|dip| Ok((dip.clone(), goal_of(session, dip)?))).collect::<Result<Vec<_>, Problem>>()?;
    let kin = match (&arguments.dip, &dips[..]) {
        (Some(_), [(dip, goal)]) => kin(session, dip, goal)?,
        _ => Vec::new(),
    };
    Ok(Book { dips, single: arguments.dip.is_some(), kin })
}

/// The other dips of a dip's reagent, each with the ratio of this one's aim to its own, the strongest of them first.
///
/// 10 mg/L of permanganate are 5 times the 2 mg/L of another bath.
///
/// Source: `definition`.
fn kin(session: &Session, dip: &Dip, goal: &Goal) -> Result<Vec<(String, f64)>, Problem> {
    let aim = goal.aim.to_g_per_l();
    let others = session.catalogue.dips().iter().filter(|other| other.reagent == dip.reagent && other.key != dip.key);
    let mut kin = others
        .map(|other| Ok((other.key.clone(), aim / goal_of(session, other)?.aim.to_g_per_l())))
        .collect::<Result<Vec<_>, Problem>>()?;
    kin.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    Ok(kin)
}
