//! Looks at every stock of the shelf, one after the other: read here, and where there are many judged beside the reading.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::thread;

use super::sight::{Judge, Sight};
use super::{Problem, Session};
use crate::decay::posterior::{standing, standing_untold};
use crate::register::checkpoint::Journal;
use crate::register::place::Place;
use crate::register::stock::Stock;
use crate::register::{StoreError, Writing};

/// So many stocks are judged while the next ones are read; fewer than that one after the other. Source: `judgement`: some ten
/// milliseconds, so that starting the threads costs less than a hundredth of it.
const AT_ONCE: usize = 64;

/// Calls back with every stock that stands on the shelf on the session's day and is wanted, one after the other.
///
/// # Errors
/// As [`Sight::of`], what the callback returns, and a [`StoreError`] as a problem.
pub fn each_on_shelf(
    session: &Session,
    writing: &Writing<'_>,
    places: &[Place],
    wanted: impl Fn(&Stock) -> bool,
    look: impl FnMut(Sight<'static>) -> Result<(), Problem>,
) -> Result<(), Problem> {
    each_judged(session, writing, places, wanted, look, standing)
}

/// As [`each_on_shelf`], but no strength has steps: for a list that shows none.
///
/// # Errors
/// As [`each_on_shelf`].
pub fn each_untold(
    session: &Session,
    writing: &Writing<'_>,
    places: &[Place],
    wanted: impl Fn(&Stock) -> bool,
    look: impl FnMut(Sight<'static>) -> Result<(), Problem>,
) -> Result<(), Problem> {
    each_judged(session, writing, places, wanted, look, standing_untold)
}

/// A stock that was read.
type Read = Result<(Stock, Journal), Problem>;

/// The connection to the register belongs to one thread, which reads; the strengths of what it has read are worked out by others
/// meanwhile. What comes of it is the same to the letter, and in the same order, however many threads there are: the first
/// problem of the shelf is told, whichever was found first.
fn each_judged(
    session: &Session,
    writing: &Writing<'_>,
    places: &[Place],
    wanted: impl Fn(&Stock) -> bool,
    mut look: impl FnMut(Sight<'static>) -> Result<(), Problem>,
    judge: Judge,
) -> Result<(), Problem> {
    let (catalogue, day) = (session.catalogue, session.day);
    let stocks: Vec<Stock> = writing.stocks()?.into_iter().filter(wanted).collect();
    let at_once = if stocks.len() < AT_ONCE { 1 } else { AT_ONCE };
    let mut unread = writing.work().over("reading the shelf", stocks);
    let mut read = || -> Vec<Read> {
        let one = |stock: Result<Stock, StoreError>| {
            let stock = stock?;
            let journal = writing.journal(&stock, places, day)?;
            Ok((stock, journal))
        };
        unread.by_ref().take(at_once).map(one).collect()
    };
    let judged = |read: Read| -> Result<Option<Sight<'static>>, Problem> {
        let (stock, journal) = read?;
        Sight::judged(catalogue, stock, journal, places, day, judge)
    };
    let mut see = |sight: Option<Sight<'static>>| match sight {
        Some(sight) if sight.state.retired.is_none() => look(sight),
        _ => Ok(()),
    };
    let mut next = read();
    while !next.is_empty() {
        if at_once == 1 {
            next.into_iter().try_for_each(|read| see(judged(read)?))?;
            next = read();
            continue;
        }
        let sights;
        (sights, next) = beside(next, &judged, &mut read);
        sights.into_iter().try_for_each(|sight| see(sight?))?;
    }
    Ok(())
}

/// Does something with things on every processor, and something else meanwhile on this one.
fn beside<T: Send, U: Send, V>(
    things: Vec<T>,
    of: &(impl Fn(T) -> U + Sync),
    meanwhile: &mut impl FnMut() -> V,
) -> (Vec<U>, V) {
    let processors = thread::available_parallelism().map_or(1, NonZero::get);
    let each = things.len().div_ceil(processors).max(1);
    thread::scope(|scope| {
        let mut things = things.into_iter();
        let mut parts = Vec::with_capacity(processors);
        loop {
            let part: Vec<T> = things.by_ref().take(each).collect();
            if part.is_empty() {
                break;
            }
            parts.push(scope.spawn(move || part.into_iter().map(of).collect::<Vec<U>>()));
        }
        let other = meanwhile();
        let done = parts.into_iter().flat_map(|part| part.join().unwrap_or_else(|panic| resume_unwind(panic)));
        (done.collect(), other)
    })
}

#[cfg(test)]
mod tests {
    use super::beside;

    #[test]
    fn what_is_done_beside_comes_in_order() {
        for count in [0, 1, 2, 3, 64, 65, 1000] {
            let things: Vec<usize> = (0..count).collect();
            let doubled: Vec<usize> = things.iter().map(|thing| 2 * thing).collect();
            assert_eq!(beside(things, &|thing| 2 * thing, &mut || "meanwhile"), (doubled, "meanwhile"));
        }
    }
}
