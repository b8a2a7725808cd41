//! The `storage` card: what it says.

use crate::commands::{Problem, Session};
use crate::disposal::local::Local;

/// What the card says.
#[derive(Debug)]
pub struct Storage {}

/// Gathers it.
///
/// # Errors
/// Unknown names.
pub fn gather(session: &Session, local: &Local, what: &[String]) -> Result<Vec<Storage>, Problem> {
    let _ = session;
    Err(Problem::question("not yet"))
}
