//! The allocation as a linear programme, and the order in which baths are served where not all can be.

use microlp::{ComparisonOp, Error, OptimizationDirection, Problem, Variable};

/// Shares and shortfalls below this are what the arithmetic brought.
const NOTHING: f64 = 1e-6;

/// A whole number is taken as reached this much below it: within the solver's own tolerance.
const NEARLY: f64 = 1e-7;

/// What one share, all that one bath takes of a reagent, costs where it is missing; a stock's own price is below 6.
const MISSING: f64 = 100.0;

/// One way to bring what a bath takes of a reagent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Way {
    /// The number of the stock.
    pub(super) stock: usize,
    /// How much of the stock, in its unit, brings all of it.
    pub(super) units: f64,
    /// How many times that much of it fills the bath: above 1 it is weaker than the bath's aim.
    pub(super) filling: f64,
    /// What it costs, from the oldest that is known well (0) to one of which nothing is known (below 6).
    pub(super) price: f64,
}

/// Baths of one day, dip and volume, which are alike.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Class {
    /// How many there are.
    pub(super) count: f64,
    /// What each brings into the objective, by its grams of reagent: of the largest use of it 1.
    pub(super) weight: f64,
    /// The same of its neutraliser.
    pub(super) stop_weight: f64,
    /// Where its reagent can come from.
    pub(super) ways: Vec<Way>,
    /// Where its neutraliser can come from; nothing where it needs none.
    pub(super) stops: Option<Vec<Way>>,
}

impl Class {
    /// True if a stock among its own is weaker than its aim, so that too much of it would not go in.
    pub(super) fn may_run_over(&self) -> bool {
        self.ways.iter().any(|way| way.filling > 1.0)
    }

    /// True if it is no easier to serve than another: every stock brings it no more baths than the other.
    fn as_hard_as(&self, other: &Class) -> bool {
        let harder = |ways: &[Way], others: &[Way]| {
            ways.iter().all(|way| {
                others.iter().any(|other| {
                    other.stock == way.stock
                        && way.units >= other.units * (1.0 - 1e-9)
                        && way.filling >= other.filling * (1.0 - 1e-9)
                })
            })
        };
        harder(&self.ways, &other.ways)
            && match (&self.stops, &other.stops) {
                (Some(stops), Some(others)) => harder(stops, others),
                (_, None) => true,
                (None, Some(_)) => false,
            }
    }
}

/// What each class gets: shares of one bath by stock.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Shares {
    /// For each class, stock and share of its reagent.
    pub(super) reagent: Vec<Vec<(usize, f64)>>,
    /// For each class, stock and share of its neutraliser.
    pub(super) stop: Vec<Vec<(usize, f64)>>,
    /// For each class, the baths whose reagent is missing.
    pub(super) missing: Vec<f64>,
    /// For each class, the baths whose neutraliser is missing.
    pub(super) stop_missing: Vec<f64>,
}

/// What may be missing.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Slack {
    /// Nothing: the baths are served or the programme has no solution.
    None,
    /// Reagent and neutraliser, each on its own, the later the rather.
    Apart,
    /// Whole baths of one class, and of that as few as possible.
    Whole(usize),
}

/// Everything, with whatever is missing for it: the shelf's stocks first, and what is missing as late as possible.
pub(super) fn with_missing(classes: &[Class], left: &[f64]) -> Result<Shares, Error> {
    let counts: Vec<f64> = classes.iter().map(|class| class.count).collect();
    // Never without a solution: all may be missing.
    Ok(solve(classes, &counts, left, Slack::Apart)?.unwrap_or_default())
}

/// How many baths of each class are served: class by class in their order, each as many as those before it leave possible.
pub(super) fn served(classes: &[Class], left: &[f64]) -> Result<Vec<f64>, Error> {
    let mut counts = vec![0.0; classes.len()];
    // The longest beginning that can be served whole, by halving.
    let (mut good, mut bad) = (0, classes.len() + 1);
    while bad - good > 1 {
        let middle = usize::midpoint(good, bad);
        let whole: Vec<f64> =
            classes.iter().enumerate().map(|(i, class)| if i < middle { class.count } else { 0.0 }).collect();
        if solve(classes, &whole, left, Slack::None)?.is_some() {
            good = middle;
        } else {
            bad = middle;
        }
    }
    for (count, class) in counts.iter_mut().zip(classes).take(good) {
        *count = class.count;
    }
    let mut refused: Vec<usize> = Vec::new();
    for index in good..classes.len() {
        let class = &classes[index];
        if refused.iter().any(|other| class.as_hard_as(&classes[*other])) {
            continue;
        }
        let mut with = counts.clone();
        with[index] = class.count;
        let missing = match solve(classes, &with, left, Slack::Whole(index))? {
            Some(shares) => shares.missing[index],
            None => class.count,
        };
        counts[index] = libm::floor(class.count - missing + NEARLY).max(0.0);
        if counts[index] < class.count {
            refused.push(index);
        }
    }
    Ok(counts)
}

/// The cheapest way to serve so many of each class; nothing if there is none.
pub(super) fn cheapest(classes: &[Class], counts: &[f64], left: &[f64]) -> Result<Option<Shares>, Error> {
    solve(classes, counts, left, Slack::None)
}

/// True if a share is more than what the arithmetic brought.
pub(super) fn counts(share: f64) -> bool {
    share > NOTHING
}

/// One programme. Its variables are shares of one bath, so that the rows of a class are all ones and a stock's row tells what
/// part of it a bath takes.
fn solve(classes: &[Class], wanted: &[f64], left: &[f64], slack: Slack) -> Result<Option<Shares>, Error> {
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let mut drawn: Vec<Vec<(Variable, f64)>> = vec![Vec::new(); left.len()];
    let mut uses: Vec<[Vec<(usize, Variable)>; 2]> = Vec::with_capacity(classes.len());
    let mut short: Vec<[Option<Variable>; 2]> = Vec::with_capacity(classes.len());
    let by_cost = !matches!(slack, Slack::Whole(_));
    for (index, (class, count)) in classes.iter().zip(wanted.iter().copied()).enumerate() {
        let mut variables = [Vec::new(), Vec::new()];
        let mut missing = [None, None];
        if count > 0.0 {
            let sides = [(Some(&class.ways), class.weight), (class.stops.as_ref(), class.stop_weight)];
            let whole = (slack == Slack::Whole(index)).then(|| problem.add_var(1.0, (0.0, count)));
            let later = index as f64 / classes.len() as f64;
            for (side, (ways, weight)) in sides.into_iter().enumerate() {
                let Some(ways) = ways else { continue };
                let mut row: Vec<(Variable, f64)> = Vec::with_capacity(ways.len() + 1);
                let mut filled: Vec<(Variable, f64)> = Vec::new();
                for way in ways {
                    let most = left[way.stock] / way.units;
                    if !counts(most) {
                        continue;
                    }
                    let price = if by_cost { way.price * weight } else { 0.0 };
                    let variable = problem.add_var(price, (0.0, most.min(count)));
                    row.push((variable, 1.0));
                    filled.push((variable, way.filling));
                    drawn[way.stock].push((variable, 1.0 / most));
                    variables[side].push((way.stock, variable));
                }
                missing[side] = match slack {
                    Slack::Apart => Some(problem.add_var(MISSING * weight * (2.0 - later), (0.0, count))),
                    Slack::Whole(_) => whole,
                    Slack::None => None,
                };
                row.extend(missing[side].map(|variable| (variable, 1.0)));
                if row.is_empty() {
                    return Ok(None);
                }
                problem.add_constraint(row, ComparisonOp::Eq, count);
                if side == 0 && class.may_run_over() {
                    problem.add_constraint(filled, ComparisonOp::Le, count);
                }
            }
        }
        uses.push(variables);
        short.push(missing);
    }
    for row in drawn.into_iter().filter(|row| !row.is_empty()) {
        let largest = row.iter().map(|(_, part)| *part).fold(0.0, f64::max);
        let scaled: Vec<(Variable, f64)> = row.into_iter().map(|(variable, part)| (variable, part / largest)).collect();
        problem.add_constraint(scaled, ComparisonOp::Le, 1.0 / largest);
    }
    let solution = match problem.solve() {
        Ok(outcome) => match outcome.into_solution() {
            Ok(solution) => solution,
            Err(_) => return Ok(None),
        },
        Err(Error::Infeasible) => return Ok(None),
        Err(other) => return Err(other),
    };
    let amounts = |variables: &[(usize, Variable)]| {
        let all = variables.iter().map(|(stock, variable)| (*stock, solution.var_value(*variable)));
        all.filter(|(_, share)| counts(*share)).collect::<Vec<_>>()
    };
    let value = |variable: &Option<Variable>| variable.map_or(0.0, |variable| solution.var_value(variable));
    Ok(Some(Shares {
        reagent: uses.iter().map(|[reagent, _]| amounts(reagent)).collect(),
        stop: uses.iter().map(|[_, stop]| amounts(stop)).collect(),
        missing: short.iter().map(|[reagent, _]| value(reagent)).collect(),
        stop_missing: short.iter().map(|[_, stop]| value(stop)).collect(),
    }))
}
