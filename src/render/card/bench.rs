//! The `bench` card.

use super::press::{Laid, Press};
use crate::commands::card::bench::Bench;

/// Lays it out.
pub fn card(press: &Press, card: &Bench) -> Laid {
    let _ = (press, card);
    Laid { title: String::new(), blocks: Vec::new(), sources: Default::default(), estimates: false }
}
