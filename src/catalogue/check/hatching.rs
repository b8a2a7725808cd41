//! The rules of the days on which eggs hatch and lots are looked over.

use super::{Place, Sources};
use crate::catalogue::{CatalogueError, Hatching, problem};

/// Days rise, the last look lies behind every published hatching, and so does the day from which looks count.
pub(in crate::catalogue) fn hatching(file: &str, hatching: &Hatching, sources: &Sources) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    at.source("look_on", &hatching.look_on.source)?;
    let days = &hatching.look_on.days;
    if days.is_empty() || days[0] == 0 || !days.windows(2).all(|two| two[0] < two[1]) {
        return Err(problem(file, "look_on.days", "days above 0 that rise"));
    }
    for row in &hatching.rows {
        let key = format!("hatching.{}", row.animal);
        at.source(&key, &row.source)?;
        if row.days[0] == 0 || row.days[0] > row.days[1] {
            return Err(problem(file, &key, "`days` must be above 0 and rise"));
        }
    }
    let longest = hatching.longest();
    if longest == 0 || days.last().is_none_or(|last| *last < longest) {
        return Err(problem(file, "look_on.days", format!("the last look lies before day {longest}, when eggs hatch")));
    }
    at.figure("counts_after", &hatching.counts_after, "d", f64::from(longest)..=365.0)
}
