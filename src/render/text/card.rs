//! A card that was printed.

use crate::commands::card::Drawn;
use crate::render::Style;
use crate::render::table::sentence;

/// Which file it went to.
pub(super) fn drawn(style: &Style, card: &Drawn) -> String {
    let pages = if card.pages == 1 { "1 page".to_owned() } else { format!("{} pages", card.pages) };
    sentence(style, "", &format!("{} card written to {}, {pages}", card.kind.word(), card.out.display()))
}
