//! What the program says of itself.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::about::Itself;

/// The cautions.
pub(super) fn itself(itself: &Itself) -> String {
    line(&ItselfData { format: FORMAT, version: itself.version, cautions: itself.cautions })
}

#[derive(Serialize)]
struct ItselfData<'a> {
    format: u32,
    version: &'a str,
    cautions: &'a [&'a str],
}
