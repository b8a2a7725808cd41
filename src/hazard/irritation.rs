//! Skin corrosion and irritation, eye damage and irritation.

use super::exact::Exact;
use super::{Classification, Entry, Found, Ingredient, Mixture, Regime, Rules, limit_for, limit_word};
use crate::catalogue::{Category, Class, Classified, ExtremePh, Form};

/// pH at and below which a mixture counts as corrosive.
const ACID: f64 = 2.0;
/// pH at and above which a mixture counts as corrosive.
const ALKALINE: f64 = 11.5;
/// Per cent from which an ingredient is counted, its kin with it, unless its own limit is lower.
const RELEVANT: f64 = 1.0;
/// Per cent from which an ingredient that acts alone makes corrosive.
const ALONE_CORROSIVE: f64 = 1.0;
/// Per cent from which an ingredient that acts alone irritates.
const ALONE_IRRITANT: f64 = 3.0;

/// Skin and eye, by the first of these that classifies worst:
///
/// - pH ≤ 2 or ≥ 11.5 of the mixture, measured, or recalled of an ingredient without data of its own: skin 1 and eye 1;
/// - an ingredient that acts alone: from 1 % category 1, from 3 % category 2;
/// - sums `Σ C/L ≥ 1`, where `L` is the strength from which the ingredient alone gives the category: its specific limit, or
///   generically 5 % (skin 1), 1 % (skin 2 from corrosive), 10 % (skin 2), 3 % (eye 1), 1 % and 10 % (eye 2). With generic
///   limits that is the standard's own `10 Σ corrosive + Σ irritant ≥ 10 %`.
///
/// Peroxide 12 % w/w: eye 1 by its limit of 8 %; 3 %: nothing (`eu`).
///
/// Source: `hpr-2015-17` (8.2.5 to 8.2.11, 8.3.5, 8.3.11), `clp-mixture-rules`, `clp-specific-sums`.
pub(super) fn judge(mixture: &Mixture<'_>, rules: Rules, judged: &mut Classification) {
    let mut skin = by_sum(mixture, rules, Class::Skin);
    let mut eye = by_sum(mixture, rules, Class::Eye);
    keep_worse(&mut skin, alone(mixture, rules, Class::Skin));
    keep_worse(&mut eye, alone(mixture, rules, Class::Eye));
    match extreme_ph(mixture) {
        Some(because) => {
            keep_worse(&mut skin, Some(by_ph(Class::Skin, &because)));
            keep_worse(&mut eye, Some(by_ph(Class::Eye, &because)));
        }
        None => ph_unchecked(mixture, [&skin, &eye], judged),
    }
    judged.classes.extend(skin);
    judged.classes.extend(eye);
}

/// What the pH might still change, where nobody measured it.
fn ph_unchecked(mixture: &Mixture<'_>, found: [&Option<Found>; 2], judged: &mut Classification) {
    if mixture.ph.is_some() || mixture.form == Form::Solid {
        return;
    }
    let corrosive = found.into_iter().flatten().any(|found| found.category.is_first());
    let extreme = mixture.ingredients.iter().filter(|_| !corrosive).find_map(|ingredient| {
        extreme_alone(mixture, ingredient).map(|extreme| {
            format!(
                ": {} has pH {} at {} % already and by pH alone {} % would count as corrosive; its own data are milder and \
                 hold, but handle it as corrosive",
                ingredient.name, extreme.ph, extreme.from, ingredient.percent
            )
        })
    });
    judged.gap(format!(
        "skin and eye: pH rule not checked, the pH is missing; tell a measured one with --ph{}",
        extreme.unwrap_or_default()
    ));
}

fn keep_worse(best: &mut Option<Found>, other: Option<Found>) {
    if let Some(other) = other
        && best.as_ref().is_none_or(|best| other.category < best.category && !best.category.is_first())
    {
        *best = Some(other);
    }
}

/// What each category asks for, the worst first. `1C` stands for any of the first category.
fn ladder(class: Class) -> &'static [Category] {
    match class {
        Class::Skin => &[Category::OneA, Category::OneB, Category::OneC, Category::Two],
        _ => &[Category::One, Category::Two],
    }
}

/// True if a limit or an entry of this category counts for a step of the ladder.
fn counts(category: Category, step: Category) -> bool {
    match step {
        Category::OneA => category == Category::OneA,
        Category::OneB => matches!(category, Category::OneA | Category::OneB),
        Category::One | Category::OneC => category.is_first(),
        _ => category <= Category::Two,
    }
}

fn generic(class: Class, step: Category) -> impl Fn(Category) -> Option<f64> {
    move |category| match (class, step) {
        (_, Category::Two) if category.is_first() => Some(1.0),
        (_, Category::Two) => (category == Category::Two).then_some(10.0),
        (Class::Skin, _) => counts(category, step).then_some(5.0),
        _ => category.is_first().then_some(3.0),
    }
}

/// The entry that counts: for the eye that of the skin where it has none of its own.
fn entry<'m>(mixture: &'m Mixture<'_>, ingredient: &'m Ingredient<'_>, class: Class) -> Option<&'m Classified> {
    let of = |class: Class| {
        ingredient
            .hazard
            .classes
            .iter()
            .find(|entry| entry.class == class && entry.form.is_none_or(|form| form == mixture.form))
    };
    of(class).or_else(|| of(Class::Skin).filter(|entry| class == Class::Eye && entry.category.is_first()))
}

/// What one ingredient brings towards a step of the ladder.
struct Share<'m> {
    ingredient: &'m Ingredient<'m>,
    entry: &'m Classified,
    limit: Exact,
    specific: bool,
}

fn shares<'m>(mixture: &'m Mixture<'_>, rules: Rules, class: Class, step: Category) -> Vec<Share<'m>> {
    let share = |ingredient: &'m Ingredient<'_>| {
        let entry = entry(mixture, ingredient, class)?;
        // A borrowed skin entry keeps only its category: its limits are those of the skin.
        let (limit, specific) = if entry.class == class {
            limit_for(entry, rules, |category| counts(category, step), generic(class, step))?
        } else {
            (Exact::of(generic(class, step)(entry.category)?), false)
        };
        let together = mixture.together(ingredient);
        let counted = together >= Exact::of(RELEVANT) || together >= limit;
        counted.then_some(Share { ingredient, entry, limit, specific })
    };
    mixture.ingredients.iter().filter_map(share).collect()
}

fn by_sum(mixture: &Mixture<'_>, rules: Rules, class: Class) -> Option<Found> {
    ladder(class).iter().find_map(|step| {
        let shares = shares(mixture, rules, class, *step);
        let sum: Exact = shares.iter().map(|share| &share.ingredient.percent / &share.limit).sum();
        (sum >= Exact::one()).then(|| {
            let firsts = || shares.iter().map(|share| share.entry.category).filter(|category| category.is_first());
            let plain = *step == Category::OneC && firsts().any(|category| category == Category::One);
            let mixed = rules.regime != Regime::Eu && firsts().any(|category| Some(category) != firsts().next());
            let unlettered = step.is_first() && (plain || mixed);
            let mut rests_on: Vec<Entry> = shares.iter().flat_map(Share::rests_on).collect();
            rests_on.sort();
            rests_on.dedup();
            Found {
                class,
                // A letter is kept only where it can be told: in the Union by its ladder, elsewhere if all bear the same.
                category: if unlettered { Category::One } else { *step },
                statement: None,
                because: because(&shares, &sum, rules),
                rule: rule(&shares).to_owned(),
                rests_on,
            }
        })
    })
}

impl Share<'_> {
    fn rests_on(&self) -> Vec<Entry> {
        let ingredient = &self.ingredient.name;
        let limits = self.entry.limits.iter().filter(|_| self.specific);
        let limits = limits.map(|limit| Entry {
            ingredient: ingredient.clone(),
            class: self.entry.class,
            source: limit.source.clone(),
        });
        std::iter::once(Entry::of(self.ingredient, self.entry)).chain(limits).collect()
    }
}

fn because(shares: &[Share<'_>], sum: &Exact, rules: Rules) -> String {
    if let [share] = shares {
        let word = limit_word(rules, share.specific, share.entry.set_by);
        return format!("{} {} % ≥ {} % ({word})", share.ingredient.name, share.ingredient.percent, share.limit);
    }
    let each: Vec<String> = shares
        .iter()
        .map(|share| format!("{} {} % / {} %", share.ingredient.name, share.ingredient.percent, share.limit))
        .collect();
    format!("{} = {sum} ≥ 1 (shares of the limit of each)", each.join(" + "))
}

/// The rule of a sum: only where specific limits of several meet is it the recalled guidance.
fn rule(shares: &[Share<'_>]) -> &'static str {
    match shares {
        [share] if share.specific => "clp-mixture-rules",
        several if several.iter().any(|share| share.specific) => "clp-specific-sums",
        _ => "hpr-2015-17",
    }
}

/// Acids, bases, aldehydes and the like, which harm below the limits of the sums.
fn alone(mixture: &Mixture<'_>, rules: Rules, class: Class) -> Option<Found> {
    let mut worst = None;
    for ingredient in mixture.ingredients.iter().filter(|ingredient| ingredient.hazard.acts_alone) {
        let Some(entry) = entry(mixture, ingredient, class) else { continue };
        if rules.specific && !entry.limits.is_empty() {
            continue;
        }
        let (from, category) = if entry.category.is_first() {
            (ALONE_CORROSIVE, if class == Class::Eye { Category::One } else { entry.category })
        } else {
            (ALONE_IRRITANT, Category::Two)
        };
        if ingredient.percent >= Exact::of(from) {
            let because =
                format!("{} {} % ≥ {from} % (acts below the limits of the sums)", ingredient.name, ingredient.percent);
            keep_worse(
                &mut worst,
                Some(Found {
                    class,
                    category,
                    statement: None,
                    because,
                    rule: "hpr-2015-17".to_owned(),
                    rests_on: vec![Entry::of(ingredient, entry)],
                }),
            );
        }
    }
    worst
}

/// Why the pH rule holds, if it does: a measured pH, or an ingredient known to be extreme at its strength.
///
/// A recalled pH stands in for data that are missing. Where the substance has a class for skin or eyes of its own, that was
/// judged with its pH in hand, and holds: or a thin solution would be classed harder than the thing itself.
fn extreme_ph(mixture: &Mixture<'_>) -> Option<(String, Option<Entry>)> {
    if let Some(ph) = mixture.ph {
        let sign = if ph <= ACID { "≤ 2" } else { "≥ 11.5" };
        return (ph <= ACID || ph >= ALKALINE)
            .then(|| (format!("measured pH {ph} {sign}; only reserve and tests could say otherwise"), None));
    }
    mixture.ingredients.iter().find_map(|ingredient| {
        let extreme = extreme_alone(mixture, ingredient).filter(|_| !has_own_data(mixture, ingredient))?;
        let entry = Entry { ingredient: ingredient.name.clone(), class: Class::Skin, source: extreme.source.clone() };
        let because = format!(
            "{} {} % ≥ {} %, where its pH is about {}: extreme",
            ingredient.name, ingredient.percent, extreme.from, extreme.ph
        );
        Some((because, Some(entry)))
    })
}

/// What is on file of an ingredient whose solution is extreme at its strength.
fn extreme_alone<'m>(mixture: &Mixture<'_>, ingredient: &'m Ingredient<'_>) -> Option<&'m ExtremePh> {
    let extreme = ingredient.hazard.extreme_ph.as_ref();
    extreme.filter(|extreme| mixture.form == Form::Solution && ingredient.percent >= Exact::of(extreme.from))
}

/// True if its entry has a class for skin or eyes.
fn has_own_data(mixture: &Mixture<'_>, ingredient: &Ingredient<'_>) -> bool {
    [Class::Skin, Class::Eye].into_iter().any(|class| entry(mixture, ingredient, class).is_some())
}

fn by_ph(class: Class, (because, entry): &(String, Option<Entry>)) -> Found {
    Found {
        class,
        category: Category::One,
        statement: None,
        because: because.clone(),
        rule: "hpr-2015-17".to_owned(),
        rests_on: entry.iter().cloned().collect(),
    }
}
