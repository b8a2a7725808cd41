//! The smallest set of moves that clears what stands wrong.
//!
//! Stocks that are alike and stand together move together. What cannot be cleared stays; what is moved must stand without
//! any fault but one that it had before and takes along: two that stood together may go to one place. So a plan never makes
//! a new fault. Most dangerous faults are cleared first, then fewest moves count.

use super::storage::Severity;

/// Faults by severity, the gravest first.
pub type Faults = [u64; Severity::ALL.len()];

/// The shelf as a puzzle.
pub struct Board<'a> {
    /// How many stocks each item is.
    pub weights: &'a [u64],
    /// Where each item stands.
    pub start: &'a [usize],
    /// Items that stay where they are: the keeper has a reason.
    pub pinned: &'a [bool],
    /// How many places there are.
    pub places: usize,
    /// What is wrong with an item in a place, whoever else is there.
    pub alone: &'a dyn Fn(usize, usize) -> Option<Severity>,
    /// What is wrong with an item in a place and another one in another place or the same.
    pub together: &'a dyn Fn((usize, usize), (usize, usize)) -> Option<Severity>,
}

impl Board<'_> {
    /// True if what is wrong between two was wrong between them before: they stood together and go to one place.
    #[must_use]
    pub fn is_taken_along(&self, (one, here): (usize, usize), (other, there): (usize, usize)) -> bool {
        self.start[one] == self.start[other] && here == there && here != self.start[one]
    }

    /// The moves in steps, none of which makes a fault on the way; what only can go all at once is one step.
    #[must_use]
    pub fn in_steps(&self, moves: &[(usize, usize)]) -> Vec<Vec<(usize, usize)>> {
        let mut at = self.start.to_vec();
        let mut rest = moves.to_vec();
        let mut steps = Vec::new();
        while !rest.is_empty() {
            let clear = rest.iter().position(|(item, place)| {
                let mut others = (0..at.len()).filter(|other| other != item);
                others.all(|other| {
                    let there = (other, at[other]);
                    (self.together)((*item, *place), there).is_none() || self.is_taken_along((*item, *place), there)
                })
            });
            let step = match clear {
                Some(number) => vec![rest.remove(number)],
                None => std::mem::take(&mut rest),
            };
            step.iter().for_each(|(item, place)| at[*item] = *place);
            steps.push(step);
        }
        steps
    }
}

/// What came out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrangement {
    /// Item and place, in the order of the items.
    pub moves: Vec<(usize, usize)>,
    /// What stays wrong.
    pub left: Faults,
    /// False if the search was cut short: a better plan may exist.
    pub proven: bool,
}

/// Positions that are looked at before a search is cut short.
const PATIENCE: usize = 20_000;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Choice {
    Open,
    Stays,
    Goes(usize),
}

struct Search<'a> {
    board: &'a Board<'a>,
    /// Pairs and single items (twice the same) that are wrong at the start, the gravest first.
    wrong: Vec<(Severity, usize, usize)>,
    choices: Vec<Choice>,
    best: (Faults, u64, Vec<(usize, usize)>),
    looked: usize,
}

/// Finds the moves.
///
/// A search tree: take the gravest fault, let one of its two stocks stay or go to each place where it stands without a
/// fault; whatever already makes more faults or more moves than the best plan so far is not followed. Exact, unless cut
/// short after 20,000 positions.
#[must_use]
pub fn arrange(board: &Board<'_>) -> Arrangement {
    let count = board.weights.len();
    let mut wrong = Vec::new();
    for item in 0..count {
        let here = (item, board.start[item]);
        wrong.extend((board.alone)(here.0, here.1).map(|severity| (severity, item, item)));
        for other in item + 1..count {
            let there = (other, board.start[other]);
            wrong.extend((board.together)(here, there).map(|severity| (severity, item, other)));
        }
    }
    wrong.sort_by_key(|(severity, ..)| *severity);
    // Whatever happens, everything may stay where it is.
    let mut untouched = Faults::default();
    for (severity, a, b) in &wrong {
        untouched[*severity as usize] += board.weights[*a] * if a == b { 1 } else { board.weights[*b] };
    }
    // What is wrong between those that stay whatever is chosen.
    let mut settled = Faults::default();
    for (severity, a, b) in wrong.iter().filter(|(_, a, b)| board.pinned[*a] && board.pinned[*b]) {
        settled[*severity as usize] += board.weights[*a] * if a == b { 1 } else { board.weights[*b] };
    }
    let choices = board.pinned.iter().map(|pinned| if *pinned { Choice::Stays } else { Choice::Open }).collect();
    let mut search = Search { board, wrong, choices, best: (untouched, 0, Vec::new()), looked: 0 };
    search.look(settled, 0);
    let proven = search.looked < PATIENCE;
    let (left, _, moves) = search.best;
    Arrangement { moves, left, proven }
}

impl Search<'_> {
    /// Follows one position; `left` are the faults between stocks that stay, `moved` the stocks that go.
    fn look(&mut self, left: Faults, moved: u64) {
        self.looked += 1;
        if self.looked >= PATIENCE || (&left, moved) >= (&self.best.0, self.best.1) {
            return;
        }
        let Some(item) = self.next() else {
            let moves = self.moves().collect();
            self.best = (left, moved, moves);
            return;
        };
        let weight = self.board.weights[item];
        for (place, along) in self.open_places(item) {
            self.choices[item] = Choice::Goes(place);
            self.look(std::array::from_fn(|severity| left[severity] + along[severity]), moved + weight);
        }
        self.choices[item] = Choice::Stays;
        // Beside a stock that goes, it would make a new fault.
        if !self.moves().any(|goes| (self.board.together)((item, self.board.start[item]), goes).is_some()) {
            let with = self.with(item);
            self.look(std::array::from_fn(|severity| left[severity] + with[severity]), moved);
        }
        self.choices[item] = Choice::Open;
    }

    /// An item about which something must be decided; nothing where all is settled.
    fn next(&self) -> Option<usize> {
        let open = |item: &usize| self.choices[*item] == Choice::Open;
        let pushed = (0..self.choices.len()).filter(open).find(|item| {
            let here = (*item, self.board.start[*item]);
            self.moves().any(|goes| (self.board.together)(here, goes).is_some())
        });
        pushed.or_else(|| {
            let stands = |item: &usize| !matches!(self.choices[*item], Choice::Goes(_));
            self.wrong.iter().filter(|(_, a, b)| stands(a) && stands(b)).find_map(|(_, a, b)| {
                // The lighter one first: fewer stocks to carry.
                let (first, second) = if self.board.weights[*a] <= self.board.weights[*b] { (a, b) } else { (b, a) };
                [first, second].into_iter().find(|item| open(item)).copied()
            })
        })
    }

    /// Where an item could go without a new fault beside any that is decided, and the faults that it would take along.
    fn open_places(&self, item: usize) -> Vec<(usize, Faults)> {
        let board = self.board;
        let fits = |place: usize| {
            if place == board.start[item] || (board.alone)(item, place).is_some() {
                return None;
            }
            let mut along = Faults::default();
            for (other, choice) in self.choices.iter().enumerate().filter(|(other, _)| *other != item) {
                let at = match choice {
                    Choice::Open => continue,
                    Choice::Stays => board.start[other],
                    Choice::Goes(at) => *at,
                };
                if let Some(severity) = (board.together)((item, place), (other, at)) {
                    if !board.is_taken_along((item, place), (other, at)) {
                        return None;
                    }
                    along[severity as usize] += board.weights[item] * board.weights[other];
                }
            }
            Some((place, along))
        };
        (0..board.places).filter_map(fits).collect()
    }

    /// The faults that an item has by staying, alone and with the others that stay.
    fn with(&self, item: usize) -> Faults {
        let weights = self.board.weights;
        let mut faults = Faults::default();
        for (severity, a, b) in self.wrong.iter().filter(|(_, a, b)| *a == item || *b == item) {
            let other = if *a == item { *b } else { *a };
            if other == item {
                faults[*severity as usize] += weights[item];
            } else if self.choices[other] == Choice::Stays {
                faults[*severity as usize] += weights[item] * weights[other];
            }
        }
        faults
    }

    fn moves(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        self.choices.iter().enumerate().filter_map(|(item, choice)| match choice {
            Choice::Goes(place) => Some((item, *place)),
            _ => None,
        })
    }
}
