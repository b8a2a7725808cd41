//! The `storage` card.

use super::press::{Laid, Press};
use crate::commands::card::storage::Storage;

/// Lays it out.
pub fn card(press: &Press, card: &Storage) -> Laid {
    let _ = (press, card);
    Laid { title: String::new(), blocks: Vec::new(), sources: Default::default(), estimates: false }
}
