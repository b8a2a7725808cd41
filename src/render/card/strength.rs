//! The `strength` card.

use super::press::{Laid, Press};
use crate::commands::card::strength::Strength;

/// Lays it out.
pub fn card(press: &Press, card: &Strength) -> Laid {
    let _ = (press, card);
    Laid { title: String::new(), blocks: Vec::new(), sources: Default::default(), estimates: false }
}
