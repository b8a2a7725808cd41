//! `import`: what was written elsewhere comes into a register.

pub mod archive;
mod blame;
pub mod cell;
pub mod csv;
mod days;
pub mod decimal;
pub mod header;
mod input;
pub mod list;
pub mod row;
pub mod sheet;
pub mod unpack;

use clap::{Args, Subcommand};

use super::{Problem, Session};

/// Take in what was written elsewhere: a list from a spreadsheet, or an archive of a register
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock import csv shelf.csv --dry-run\n  brimstock --register new.brimstock import archive shelf.zip"
)]
pub struct Import {
    /// From what
    #[command(subcommand)]
    pub verb: ImportVerb,
}

/// What can be taken in.
#[derive(Debug, Subcommand)]
#[allow(missing_docs, reason = "each variant's help stands on its arguments")]
pub enum ImportVerb {
    Csv(csv::Csv),
    Archive(archive::Archive),
}

/// What an import came to.
#[derive(Debug, Clone)]
pub enum Imported {
    /// A list became stocks.
    Csv(Box<csv::Imported>),
    /// An archive became a register.
    Archive(archive::Restored),
}

/// Imports.
///
/// # Errors
/// The command's problem.
pub fn run(session: &Session, arguments: &Import) -> Result<Imported, Problem> {
    match &arguments.verb {
        ImportVerb::Csv(given) => Ok(Imported::Csv(Box::new(csv::run(session, given)?))),
        ImportVerb::Archive(given) => archive::run(session, given).map(Imported::Archive),
    }
}
