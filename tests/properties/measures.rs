//! What holds of any measure of the keeper's and any amount.

use brimstock::dip::tool::{Reading, Taken, Tool, Way};
use brimstock::dip::weighing::Holds;
use proptest::prelude::*;

fn marks(step: f64, most: Option<f64>, shows: Holds) -> Tool {
    Tool { name: "m".to_owned(), unit: "mL", way: Way::Marks { step, most, shows, is_scale: false } }
}

fn spoons(one: Holds) -> Tool {
    Tool { name: "s".to_owned(), unit: "g", way: Way::Counted { thing: "level spoon", one, taken_as: None } }
}

/// What the lines say, added up.
fn told(taken: &Taken, one: f64) -> f64 {
    let part = |reading: Reading| match reading {
        Reading::Mark { mark, times } => mark * times,
        Reading::Count(count) => count,
    };
    taken.own.iter().map(|own| part(own.reading)).sum::<f64>() * one
}

proptest! {
    #[test]
    fn marks_give_back_the_amount_within_the_error_told(
        amount in 0.001..5000.0f64, step in 0.01..50.0f64, full in 1.0..200.0f64, sd in 0.0..0.1f64, true_to in 0.8..1.2f64,
    ) {
        let most = full * step;
        let shows = Holds { mean: true_to, mean_sd: sd, once_sd: sd };
        if let Some(taken) = marks(step, Some(most), shows).take(amount, f64::INFINITY) {
            prop_assert!((told(&taken, true_to) / taken.amount - 1.0).abs() < 1e-9);
            // Half a step is sqrt(3) standard deviations of a step.
            prop_assert!((taken.amount - amount).abs() <= 3f64.sqrt() * taken.relative_sd * taken.amount * (1.0 + 1e-9));
            for own in &taken.own {
                if let Reading::Mark { mark, .. } = own.reading {
                    prop_assert!(mark <= most * (1.0 + 1e-9), "{mark} in {most}");
                }
            }
        } else {
            let steps = amount / true_to / step;
            prop_assert!(steps < 2.5 + 1e-9 || steps > 9.0 * (full - 1.0).max(1.0), "{steps} steps refused");
        }
    }

    #[test]
    fn spoons_are_whole_and_never_more_than_is_left(
        one in 0.1..50.0f64, amount in 0.1..900.0f64, left in 0.1..1000.0f64, sd in 0.01..0.3f64,
    ) {
        if let Some(taken) = spoons(Holds { mean: one, mean_sd: sd, once_sd: sd }).take(amount, left) {
            prop_assert!((told(&taken, one) / taken.amount - 1.0).abs() < 1e-12);
            prop_assert!(taken.amount <= left * (1.0 + 1e-8));
            prop_assert!(taken.amount <= amount + 0.5 * one * (1.0 + 1e-9));
            prop_assert!(taken.relative_sd >= sd && taken.relative_sd <= 1.5 * sd);
        }
    }

    #[test]
    fn more_weighings_of_the_same_never_make_it_less_sure(weight in 0.1..100.0f64, count in 1usize..20, file in 0.01..0.3f64) {
        let sds: Vec<f64> = [count, count + 1].iter().map(|n| Holds::weighed(&vec![weight; *n], file).relative_sd(1.0)).collect();
        prop_assert!(sds[1] < sds[0] && sds[1] > 0.0);
    }
}
