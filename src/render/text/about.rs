//! What the program says of itself.

use crate::commands::about::Itself;
use crate::render::Style;
use crate::render::table::sentence;

/// The cautions, numbered.
pub(super) fn itself(style: &Style, itself: &Itself) -> String {
    let mut text = format!("brimstock {}\n", itself.version);
    for (number, caution) in itself.cautions.iter().enumerate() {
        text.push_str(&sentence(style, &format!("{}. ", number + 1), caution));
    }
    text
}
