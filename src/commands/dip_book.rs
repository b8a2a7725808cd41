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
    Ok(Book { dips, single: arguments.dip.is_some() })
}
