//! What contradicts the book of baths, as a problem of the entry that brought it.

use super::bring::quoted;
use crate::commands::Problem;
use crate::dip::log::book::{Book, Lot};
use crate::dip::log::disagreement::{Disagreement, time};

/// Refuses an entry; where an earlier one is at odds, that one is named.
#[must_use]
pub fn refused(found: &Disagreement, entered: i64) -> Problem {
    let hint = match found {
        Disagreement::NotThere { .. } => "`brimstock bathe list` tells the numbers of the baths".to_owned(),
        Disagreement::StopWithoutStart { lot, .. } => {
            format!("enter the start first, with its time: `brimstock bathe start DIP --lot {} --at …`", quoted(lot))
        }
        Disagreement::StoppedTwice { .. } | Disagreement::StopBeforeStart { .. } => {
            "give the right time with --at or --date; a wrong entry is taken back with `brimstock bathe withdraw`"
                .to_owned()
        }
        Disagreement::StartedTwice { lot, .. } => {
            format!("take it out first: `brimstock bathe stop {}`; other plants are another lot", quoted(lot))
        }
        Disagreement::TwoBathsAtOnce { .. } => "give the right time with --at or --date, or another lot".to_owned(),
        Disagreement::BeforeBath { .. } | Disagreement::BeforeFirstBath { .. } => {
            "give the right day with --date".to_owned()
        }
        Disagreement::BathGone { by, .. } => format!(
            "make up a new bath: `brimstock bathe start`; if that entry is wrong, `brimstock bathe withdraw {by} --because …`"
        ),
        Disagreement::StillIn { lot, .. } => format!("take it out first: `brimstock bathe stop {}`", quoted(lot)),
        Disagreement::NeverBathed { .. } => {
            "a lot begins with its first bath: `brimstock bathe start`; `brimstock bathe list` lists them".to_owned()
        }
        Disagreement::LotLeft { by, .. } => format!(
            "give plants that come later another name; if that entry is wrong, `brimstock bathe withdraw {by} --because …`"
        ),
        Disagreement::WithdrawnTwice { .. } => "it counts no more; nothing is left to do".to_owned(),
        Disagreement::Withdrawal { .. } => "enter again what is right".to_owned(),
        Disagreement::RestedOn { by, .. } => {
            format!("take that one back first: `brimstock bathe withdraw {by} --because …`")
        }
    };
    let what = if found.row() == entered || found.row() == 0 {
        found.to_string()
    } else {
        format!("entry {} would then be wrong: {found}", found.row())
    };
    Problem::question(what).because("nothing was written").hint(hint)
}

/// The lot with a name.
///
/// # Errors
/// For one that was never in a bath.
pub fn lot<'a>(book: &'a Book, name: &str) -> Result<&'a Lot, Problem> {
    book.lot(name).ok_or_else(|| {
        let lots: Vec<&str> = book.lots.iter().map(|lot| lot.name.as_str()).take(20).collect();
        let known = if lots.is_empty() { "none yet".to_owned() } else { lots.join(", ") };
        Problem::question(format!("no lot `{}` was ever in a bath", name.trim()))
            .because("a lot begins with its first bath")
            .hint(format!("lots: {known}; `brimstock bathe start DIP --lot …` begins one"))
    })
}

/// Refuses to take a lot out that is in no bath.
#[must_use]
pub fn in_no_bath(lot: &Lot) -> Problem {
    let last = lot.loads.last().and_then(|load| load.ended.map(|ended| (load, ended)));
    let why = last.map_or("it is in no bath".to_owned(), |(load, ended)| {
        format!("it came out of bath {} on {}", load.bath, time(ended))
    });
    Problem::question(format!("the lot {} is in no bath", lot.name)).because(why).hint(format!(
        "enter the start first, with its time: `brimstock bathe start DIP --lot {} --at …`",
        quoted(&lot.name)
    ))
}
