//! The `handover` card.

use super::press::{Laid, Press};
use crate::commands::card::handover::Handover;

/// Lays it out.
pub fn card(press: &Press, card: &Handover) -> Laid {
    let _ = (press, card);
    Laid { title: String::new(), blocks: Vec::new(), sources: Default::default(), estimates: false }
}
