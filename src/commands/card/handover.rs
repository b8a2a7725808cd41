//! The `handover` card: what it says.

use crate::commands::discard::{self, Discard, Discarded};
use crate::commands::{Problem, Session};

/// What the card says.
#[derive(Debug)]
pub struct Handover {
    /// The plan, as `discard` makes it.
    pub plan: Discarded,
}

/// Gathers it.
///
/// # Errors
/// As `discard`: unknown stocks, one that left already, one that is named twice.
pub fn gather(session: &Session, what: &[String]) -> Result<Handover, Problem> {
    let asked = Discard { stocks: what.to_vec(), unwanted: false, jurisdiction: None };
    Ok(Handover { plan: discard::run(session, &asked)? })
}
