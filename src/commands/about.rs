//! `about`: what this program is, and what it is not.

use clap::Args;

use crate::disposal::caution;

/// Tell what this program is worth, and who is heard before it
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock about")]
pub struct About {}

/// What the program says of itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Itself {
    /// Its version.
    pub version: &'static str,
    /// Its cautions, in order.
    pub cautions: &'static [&'static str],
}

/// What the program says of itself.
#[must_use]
pub fn run() -> Itself {
    Itself { version: env!("CARGO_PKG_VERSION"), cautions: caution::long() }
}
