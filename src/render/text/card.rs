//! A card that was printed.

use crate::commands::card::Drawn;
use crate::render::Style;
use crate::render::table::sentence;

/// Which file it went to.
pub(super) fn drawn(style: &Style, card: &Drawn) -> String {
    let pages = if card.pages == 1 { "1 page".to_owned() } else { format!("{} pages", card.pages) };
    let mut text =
        sentence(style, "", &format!("{} card written to {}, {pages}", card.kind.word(), card.out.display()));
    for (dip, verdict) in card.not_ready() {
        let why = format!("{dip} is not ready: {}; the card says so at its head", verdict.words());
        text.push_str(&sentence(style, "", &why));
    }
    for set in &card.labels {
        let said = |(width, height): (f64, f64)| format!("{width} × {height} mm");
        if let Some(least) = set.least {
            let (is, least) = (said(set.size), said(least));
            let why = format!("{}: {is} is smaller than the {least} that a container of its size asks for", set.code);
            text.push_str(&sentence(style, "", &why));
        }
        if !set.left_off.is_empty() {
            let codes = set.left_off.join(", ");
            let why = format!("{}: left off, as the EU allows on so small a package: {codes}", set.code);
            text.push_str(&sentence(style, "", &why));
        }
    }
    text
}
