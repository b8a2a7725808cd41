//! A strength or an amount in another unit.

use super::{assumed, why};
use crate::commands::convert::Converted;
use crate::render::Style;
use crate::units::show;

/// What was asked, and what it is in the other unit.
pub(super) fn converted(style: &Style, converted: &Converted) -> String {
    let of = converted.of.as_ref().map_or(String::new(), |key| format!(" of {key}"));
    let mut text = format!("{}{of} = {} {}\n", converted.from, show::with_band(converted.value), converted.unit);
    text.push_str(&assumed(style, &converted.assumed));
    text.push_str(&why(style, &converted.steps));
    text
}
