//! Harm to water life, at once and for long: weighted sums.

use super::exact::Exact;
use super::{Classification, Entry, Found, Mixture, Regime, Rules};
use crate::catalogue::{Category, Class};

/// Per cent that each sum must reach.
const ENOUGH: f64 = 25.0;

/// An ingredient as the sums see it: its category, its content, and its content times its multiplier.
struct Part {
    name: String,
    category: Category,
    percent: Exact,
    weighted: Exact,
    entry: Entry,
}

/// Acute and chronic, each by the first sum that reaches 25 %.
///
/// With `A` the ingredients of category 1 times their M-factor, `B` those of category 2, `C` of category 3: category 1 if
/// `A ≥ 25`, 2 if `10 A + B ≥ 25`, 3 if `100 A + 10 B + C ≥ 25`; chronic 4 if all of them together reach 25 % unweighted.
/// The Union knows no acute 2 and 3. Counted from `0.1 / M` % (category 1) or 1 %. Hypochlorite (M 10) is acute 1 from
/// 2.5 % available chlorine.
///
/// Source: `unece-4-1`, `clp-cut-offs`, `euro-chlor-m`.
pub(super) fn judge(mixture: &Mixture<'_>, rules: Rules, judged: &mut Classification) {
    for class in [Class::AquaticAcute, Class::AquaticChronic] {
        let mut parts = Vec::new();
        for (ingredient, entry) in mixture.entries(class) {
            let m = match (entry.category, entry.m_factor) {
                (Category::One, Some(m)) => m,
                (Category::One, None) => {
                    judged.gap(format!("{class}: no M-factor of {} is on file; 1 is taken", ingredient.name));
                    1.0
                }
                _ => 1.0,
            };
            let counted_from =
                if entry.category == Category::One { &Exact::of(0.1) / &Exact::of(m) } else { Exact::one() };
            if mixture.together(ingredient) < counted_from {
                continue;
            }
            parts.push(Part {
                name: ingredient.name.clone(),
                category: entry.category,
                percent: ingredient.percent.clone(),
                weighted: &ingredient.percent * &Exact::of(m),
                entry: Entry::of(ingredient, entry),
            });
        }
        judged.classes.extend(by_sum(class, &parts, rules));
    }
}

fn by_sum(class: Class, parts: &[Part], rules: Rules) -> Option<Found> {
    let of = |category: Category| parts.iter().filter(move |part| part.category == category);
    let weighted = |category: Category| -> Exact { of(category).map(|part| part.weighted.clone()).sum() };
    let (a, b, c) = (weighted(Category::One), weighted(Category::Two), weighted(Category::Three));
    let (ten, hundred) = (Exact::of(10.0), Exact::of(100.0));
    let mut sums = vec![(Category::One, a.clone(), "ΣM·C of category 1")];
    if class == Class::AquaticChronic || rules.regime != Regime::Eu {
        sums.push((Category::Two, &(&ten * &a) + &b, "10·ΣM·C of category 1 + ΣC of category 2"));
        sums.push((
            Category::Three,
            &(&(&hundred * &a) + &(&ten * &b)) + &c,
            "100·ΣM·C of category 1 + 10·ΣC of category 2 + ΣC of category 3",
        ));
    }
    if class == Class::AquaticChronic {
        sums.push((Category::Four, parts.iter().map(|part| part.percent.clone()).sum(), "ΣC of all categories"));
    }
    let (category, sum, what) = sums.into_iter().find(|(_, sum, _)| *sum >= Exact::of(ENOUGH))?;
    let names: Vec<String> = parts.iter().map(|part| format!("{} {} %", part.name, part.percent)).collect();
    Some(Found {
        class,
        category,
        statement: None,
        because: format!("{}: {what} = {sum} % ≥ 25 %", names.join(", ")),
        rule: "unece-4-1".to_owned(),
        rests_on: parts.iter().map(|part| part.entry.clone()).collect(),
    })
}
