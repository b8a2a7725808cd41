//! The `shelf` card.

use super::press::{Laid, Press};
use crate::commands::card::shelf::Shelf;

/// Lays it out.
pub fn card(press: &Press, card: &Shelf) -> Laid {
    let _ = (press, card);
    Laid { title: String::new(), blocks: Vec::new(), sources: Default::default(), estimates: false }
}
