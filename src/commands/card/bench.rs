//! The `bench` card: what it says.

use crate::commands::{Problem, Session};
use crate::disposal::local::Local;

/// What the card says.
#[derive(Debug)]
pub struct Bench {}

/// Gathers it.
///
/// # Errors
/// Unknown names.
pub fn gather(session: &Session, local: &Local, what: &[String], bath: Option<&str>) -> Result<Vec<Bench>, Problem> {
    let _ = session;
    Err(Problem::question("not yet"))
}
