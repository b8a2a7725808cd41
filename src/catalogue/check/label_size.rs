//! The rules that the sizes of labels must keep.

use super::{Place, Sources};
use crate::catalogue::{CatalogueError, Element, LabelSizes, problem};

/// Bounds rise and the last row has none, sizes never shrink, and what may be left off is there to be left off.
pub(in crate::catalogue) fn label_sizes(
    file: &str,
    sizes: &LabelSizes,
    elements: &[Element],
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let rows = sizes.size.iter().map(|row| (row.up_to_l, &row.source));
    bounds(&at, "size", &rows.collect::<Vec<_>>())?;
    let rows = sizes.letter.iter().map(|row| (row.up_to_l, &row.source));
    bounds(&at, "letter", &rows.collect::<Vec<_>>())?;
    for row in &sizes.size {
        let sides = [row.width_mm, row.height_mm, row.pictogram_mm];
        if sides.iter().any(|side| !(1.0..=400.0).contains(side)) || row.width_mm < row.height_mm {
            return Err(problem(file, "size", "sides are 1 to 400 mm, and a label lies"));
        }
        // Five of them are the most that a label shows, and they share it with the words.
        if row.wanted_mm < row.pictogram_mm || row.wanted_mm * 1.5 > row.height_mm {
            return Err(problem(
                file,
                "size.wanted_mm",
                "at least `pictogram_mm`, and at most two thirds of the height",
            ));
        }
    }
    let grow = sizes.size.windows(2).all(|two| {
        two[0].width_mm <= two[1].width_mm
            && two[0].height_mm <= two[1].height_mm
            && two[0].pictogram_mm <= two[1].pictogram_mm
    });
    if !grow {
        return Err(problem(file, "size", "a larger container has no smaller label"));
    }
    let letters_fit = sizes.letter.iter().all(|row| (0.5..=10.0).contains(&row.x_mm));
    if !letters_fit || !sizes.letter.windows(2).all(|two| two[0].x_mm <= two[1].x_mm) {
        return Err(problem(file, "letter.x_mm", "0.5 to 10 mm, and never smaller on a larger container"));
    }
    at.source("line", &sizes.line.source)?;
    if !(1.0..=2.0).contains(&sizes.line.spacing) {
        return Err(problem(file, "line.spacing", "1 to 2"));
    }
    small(&at, sizes, elements)
}

/// The bounds of rows, each with its source.
fn bounds(at: &Place<'_>, key: &str, rows: &[(Option<f64>, &String)]) -> Result<(), CatalogueError> {
    for (_, source) in rows {
        at.source(key, source)?;
    }
    let open = rows.iter().filter(|(bound, _)| bound.is_none()).count();
    let last_open = rows.last().is_some_and(|(bound, _)| bound.is_none());
    if open != 1 || !last_open {
        return Err(problem(at.file, key, "the last row, and only it, is without `up_to_l`"));
    }
    let known: Vec<f64> = rows.iter().filter_map(|(bound, _)| *bound).collect();
    if known.iter().any(|bound| *bound <= 0.0) || !known.windows(2).all(|two| two[0] < two[1]) {
        return Err(problem(at.file, key, "`up_to_l` must rise"));
    }
    Ok(())
}

fn small(at: &Place<'_>, sizes: &LabelSizes, elements: &[Element]) -> Result<(), CatalogueError> {
    at.source("small", &sizes.small.source)?;
    if !(0.0..=1.0).contains(&sizes.small.up_to_l) || sizes.small.places.is_empty() {
        return Err(problem(at.file, "small", "`up_to_l` is 0 to 1 L, and the rule holds somewhere"));
    }
    for row in &sizes.small.leave_off {
        let key = format!("small.leave_off.{}", row.class);
        at.source(&key, &row.source)?;
        for category in &row.categories {
            if !elements.iter().any(|element| element.class == row.class && element.categories.contains(category)) {
                return Err(problem(at.file, &key, format!("hazards/labels.toml has no category {category}")));
            }
        }
    }
    Ok(())
}
