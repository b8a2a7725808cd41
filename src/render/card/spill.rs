//! The `spill` card.

use super::press::{Laid, Press};
use crate::commands::card::spill::Spill;

/// Lays it out.
pub fn card(press: &Press, card: &Spill) -> Laid {
    let _ = (press, card);
    Laid { title: String::new(), blocks: Vec::new(), sources: Default::default(), estimates: false }
}
