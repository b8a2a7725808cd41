//! `import`: what was written elsewhere comes into a register.

pub mod archive;
pub mod unpack;

use clap::{Args, Subcommand};

use super::{Problem, Session};

/// Take in what was written elsewhere
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock --register new.brimstock import archive shelf.zip")]
pub struct Import {
    /// From what
    #[command(subcommand)]
    pub verb: ImportVerb,
}

/// What can be taken in.
#[derive(Debug, Subcommand)]
pub enum ImportVerb {
    Archive(archive::Archive),
}

/// What an import came to.
#[derive(Debug, Clone, PartialEq)]
pub enum Imported {
    /// An archive became a register.
    Archive(archive::Restored),
}

/// Imports.
///
/// # Errors
/// The command's problem.
pub fn run(session: &Session, arguments: &Import) -> Result<Imported, Problem> {
    match &arguments.verb {
        ImportVerb::Archive(given) => archive::run(session, given).map(Imported::Archive),
    }
}
