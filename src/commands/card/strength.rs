//! The `strength` card: what it says.

use crate::commands::{Problem, Session};

/// What the card says.
#[derive(Debug)]
pub struct Strength {}

/// Gathers it.
///
/// # Errors
/// Unknown names.
pub fn gather(session: &Session, what: &[String]) -> Result<Vec<Strength>, Problem> {
    let _ = session;
    Err(Problem::question("not yet"))
}
