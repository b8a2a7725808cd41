//! What is wrong with a register.

use serde::Serialize;

use super::{FORMAT, line};
use crate::commands::verify::Verified;

/// Every fault.
pub(super) fn verified(verified: &Verified) -> String {
    let file = verified.file.display().to_string();
    let Verified { stocks, lines, faults, of_reagents, .. } = verified;
    line(&VerifiedData { format: FORMAT, file, stocks: *stocks, lines: *lines, faults, of_reagents: *of_reagents })
}

#[derive(Serialize)]
struct VerifiedData<'a> {
    format: u32,
    file: String,
    stocks: usize,
    lines: usize,
    faults: &'a [String],
    of_reagents: usize,
}
