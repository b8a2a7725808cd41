//! Acute toxicity: how much of a mixture harms when it is swallowed, touched or breathed.

use super::exact::Exact;
use super::{Classification, Entry, Found, Ingredient, Mixture, Regime, Rules};
use crate::catalogue::{Category, Class, Route, Toxicity};
use crate::units::show::plain;

/// Above this share of ingredients about which nothing is known, the sum is taken over the rest.
const UNKNOWN_ALLOWED: f64 = 10.0;

/// What a mixture's estimate comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimated {
    /// The dose that harms, in the unit of the route.
    pub ate: Exact,
    /// Its category, if it has one.
    pub category: Option<Category>,
    /// Ingredients counted.
    pub counted: Vec<Poison>,
    /// Per cent of the mixture about which nothing is known.
    pub unknown: Exact,
}

/// An ingredient that counts, with the dose that harms.
#[derive(Debug, Clone, PartialEq)]
pub struct Poison {
    /// Its name.
    pub ingredient: String,
    /// Grams in 100 g.
    pub percent: Exact,
    /// Its own dose, in the unit of the route.
    pub dose: f64,
    /// Key of the source of the dose.
    pub source: String,
}

/// The acute toxicity estimate of a mixture by one route: `100 / ATE = Σ C/ATE`, or `(100 - C?) / ATE = Σ C/ATE` where
/// ingredients of unknown toxicity are more than 10 %.
///
/// Counted are ingredients from 1 % up (0.1 % in categories 1 to 3) whose own figure lies within category 4, in `un` and
/// `us` within 5000 mg/kg. 16 % of 1600, 4 % of 200 and 80 % of 3450 mg/kg come to 1880 mg/kg (`un`), category 4.
/// Nothing if no ingredient counts.
///
/// Source: `hpr-2015-17` (8.1.1 to 8.1.7), `clp-cut-offs`.
#[must_use]
pub fn estimate(mixture: &Mixture<'_>, route: Route, rules: Rules) -> Option<Estimated> {
    let bounds = route.bounds();
    let most = match (rules.regime, route) {
        (Regime::Un | Regime::Us, Route::Oral | Route::Dermal) => 5000.0,
        _ => bounds[3],
    };
    let mut sum = Exact::zero();
    let mut counted = Vec::new();
    for ingredient in &mixture.ingredients {
        let rows = ingredient.hazard.toxicity.iter().filter(|row| row.route == route && row.value <= most);
        for row in rows.filter(|row| relevant(mixture, ingredient, row)) {
            sum = &sum + &(&ingredient.percent / &Exact::of(row.value));
            counted.push(Poison {
                ingredient: ingredient.name.clone(),
                percent: ingredient.percent.clone(),
                dose: row.value,
                source: row.source.clone(),
            });
        }
    }
    if sum.is_none() {
        return None;
    }
    let unknown: Exact = mixture
        .ingredients
        .iter()
        .filter(|ingredient| ingredient.hazard.toxicity_unknown.contains(&route) && ingredient.percent >= Exact::one())
        .map(|ingredient| ingredient.percent.clone())
        .sum();
    let whole = if unknown > Exact::of(UNKNOWN_ALLOWED) {
        &Exact::of(100.0) + &(&unknown * &Exact::of(-1.0))
    } else {
        Exact::of(100.0)
    };
    let ate = &whole / &sum;
    let category = bounds.iter().position(|bound| ate <= Exact::of(*bound)).map(|place| Category::ACUTE[place]);
    Some(Estimated { ate, category, counted, unknown })
}

fn relevant(mixture: &Mixture<'_>, ingredient: &Ingredient<'_>, row: &Toxicity) -> bool {
    let cut_off = if row.value <= row.route.bounds()[2] { 0.1 } else { 1.0 };
    mixture.together(ingredient) >= Exact::of(cut_off)
}

/// Every route by itself; of the ways of breathing the worst.
pub(super) fn judge(mixture: &Mixture<'_>, rules: Rules, judged: &mut Classification) {
    no_mist(mixture, judged);
    let breathed = [Route::Gas, Route::Vapour, Route::Mist];
    for (class, routes) in [
        (Class::AcuteOral, &[Route::Oral][..]),
        (Class::AcuteDermal, &[Route::Dermal]),
        (Class::AcuteInhaled, &breathed),
    ] {
        for route in routes {
            unknown(mixture, *route, judged);
        }
        let found = routes.iter().filter_map(|route| by_route(mixture, class, *route, rules));
        // Of equal categories the first route is told.
        judged.classes.extend(found.min_by_key(|found| found.category));
    }
}

fn by_route(mixture: &Mixture<'_>, class: Class, route: Route, rules: Rules) -> Option<Found> {
    let estimated = estimate(mixture, route, rules)?;
    let category = estimated.category?;
    let unit = route.unit();
    let bound = route.bounds()[Category::ACUTE.iter().position(|known| *known == category)?];
    let part = |poison: &Poison| {
        let Poison { percent, ingredient, dose, .. } = poison;
        format!("{percent} % {ingredient} of {} {unit}{}", plain(*dose), breathed_as(route))
    };
    let parts: Vec<String> = estimated.counted.iter().map(part).collect();
    Some(Found {
        class,
        category,
        statement: None,
        because: format!("{}: together {} ≤ {} {unit}", parts.join(" and "), estimated.ate, plain(bound)),
        rule: "hpr-2015-17".to_owned(),
        rests_on: rests_on(mixture, class, &estimated.counted),
    })
}

fn rests_on(mixture: &Mixture<'_>, class: Class, counted: &[Poison]) -> Vec<Entry> {
    let classes = mixture
        .entries(class)
        .filter(|(ingredient, _)| counted.iter().any(|poison| poison.ingredient == ingredient.name))
        .map(|(ingredient, entry)| Entry::of(ingredient, entry));
    let doses = counted.iter().map(|poison| Entry {
        ingredient: poison.ingredient.clone(),
        class,
        source: poison.source.clone(),
    });
    classes.chain(doses).collect()
}

fn unknown(mixture: &Mixture<'_>, route: Route, judged: &mut Classification) {
    for ingredient in &mixture.ingredients {
        if ingredient.hazard.toxicity_unknown.contains(&route) && ingredient.percent >= Exact::one() {
            judged.gap(format!(
                "{} % of the mixture is of unknown acute toxicity ({}): {}",
                ingredient.percent,
                route.words(),
                ingredient.name
            ));
        }
    }
}

/// ` as vapour` and the like for what is breathed.
fn breathed_as(route: Route) -> &'static str {
    match route {
        Route::Oral | Route::Dermal => "",
        Route::Gas => " as gas",
        Route::Vapour => " as vapour",
        Route::Mist => " as mist",
    }
}

/// Breathed things of which vapour is on file and mist is not.
fn no_mist(mixture: &Mixture<'_>, judged: &mut Classification) {
    for ingredient in mixture.ingredients.iter().filter(|ingredient| ingredient.percent >= Exact::one()) {
        let has = |route: Route| ingredient.hazard.toxicity.iter().any(|row| row.route == route);
        if has(Route::Vapour) && !has(Route::Mist) {
            judged.gap(format!(
                "acute toxicity, breathed: {} is counted as vapour; of its mist no figure is on file, do not spray it",
                ingredient.name
            ));
        }
    }
}
