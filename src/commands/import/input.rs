//! The bytes of a list, from a file, a pipe or standard input, whose end may never come.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::Duration;

use super::sheet::MOST_BYTES;
use crate::commands::{Kind, Problem, Session, told};
use crate::register::StoreError;

/// How often it is asked, while nothing comes in, whether the keeper wants it to end.
const ASKED_EVERY: Duration = Duration::from_millis(100);

/// The bytes that come in, up to what is read of a file. Nothing is asked there: what a list leaves open is refused with what
/// would settle it.
///
/// # Errors
/// If it cannot be read, or the keeper ends the waiting.
pub(super) fn standard(session: &Session) -> Result<Vec<u8>, Problem> {
    waited_for(session, "standard input", || bytes_of(io::stdin()))
}

/// The bytes of a file, up to what is read of one; it may be a pipe.
///
/// # Errors
/// As [`standard`].
pub(super) fn at(session: &Session, path: &Path) -> Result<Vec<u8>, Problem> {
    let file = path.to_owned();
    waited_for(session, &path.display().to_string(), move || File::open(file).and_then(bytes_of))
}

fn bytes_of(read: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    read.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Reads in a thread of its own, for a pipe may be silent for ever: the keeper can end the waiting.
fn waited_for(
    session: &Session,
    what: &str,
    read: impl FnOnce() -> io::Result<Vec<u8>> + Send + 'static,
) -> Result<Vec<u8>, Problem> {
    let (tell, told_of) = mpsc::channel();
    // Nobody listens any more once the keeper has ended it.
    thread::spawn(move || drop(tell.send(read())));
    loop {
        match told_of.recv_timeout(ASKED_EVERY) {
            Ok(read) => {
                return read.map_err(|error| Problem {
                    kind: Kind::Store,
                    ..Problem::question(format!("{what} cannot be read: {}", told(&error)))
                });
            }
            Err(_) if session.work.is_stopped() => return Err(StoreError::Interrupted.into()),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => {
                return Err(Problem::data(format!("{what} cannot be read: what read it has failed")));
            }
        }
    }
}
