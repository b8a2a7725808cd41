//! `import`: what was kept elsewhere comes into the register.

mod blame;
pub mod cell;
pub mod csv;
mod days;
pub mod header;
pub mod list;
pub mod row;
pub mod sheet;

use clap::Subcommand;

/// Enter what was kept elsewhere: a list from a spreadsheet
#[derive(Debug, Subcommand)]
#[allow(missing_docs, reason = "each variant's help stands on its arguments")]
pub enum Import {
    Csv(csv::Csv),
}
