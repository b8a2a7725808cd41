//! Oxidisers, flammable liquids, corrosion of metals: no sum exists for a mixture, only data on it or on its like.

use super::exact::Exact;
use super::{Classification, Entry, Found, Mixture, Rules};
use crate::catalogue::{Category, Class, Form, Limit, LimitOf, SetBy};
use crate::units::show::plain;

/// Oxidising, flammable, corrosive to metals.
///
/// A band on file for the substance in water decides (`12 % peroxide ≥ 8 %`, so oxidising liquid 3); of bands for
/// chemicals and for carriage, whose test is the same, the worse. Without a band the answer is a gap.
///
/// Source: `hpr-2015-17` (2.2, 7.13 to 7.16), `tdg-schedule-1`.
pub(super) fn judge(mixture: &Mixture<'_>, rules: Rules, judged: &mut Classification) {
    match mixture.form {
        Form::Solid => solid(mixture, judged),
        Form::Solution => {
            banded(mixture, Class::OxidisingLiquid, rules, judged);
            banded(mixture, Class::FlammableLiquid, rules, judged);
            dissolved_oxidisers(mixture, judged);
            metals(mixture, rules, judged);
        }
    }
}

/// A powder: the class of the substance holds for the substance alone.
fn solid(mixture: &Mixture<'_>, judged: &mut Classification) {
    let alone = mixture.ingredients.len() == 1;
    for (ingredient, entry) in mixture.entries(Class::OxidisingSolid) {
        if alone {
            judged.classes.push(Found {
                class: entry.class,
                category: entry.category,
                statement: entry.statement.clone(),
                because: format!("{} as it is sold is classified by test or by law", ingredient.name),
                rule: "hpr-2015-17".to_owned(),
                rests_on: vec![Entry::of(ingredient, entry)],
            });
        } else {
            judged.gap(format!("oxidising solid: {} in a mixture of powders has no test on file", ingredient.name));
        }
    }
}

fn reached(percent: &Exact, limit: &Limit) -> bool {
    let from = Exact::of(limit.from);
    if limit.above { *percent > from } else { *percent >= from }
}

/// Classes whose bands are on file for the substance in water.
fn banded(mixture: &Mixture<'_>, class: Class, rules: Rules, judged: &mut Classification) {
    let mut worst: Option<Found> = None;
    for (ingredient, entry) in mixture.entries(class) {
        if entry.limits.is_empty() {
            judged.gap(format!(
                "{class}: no test of {} in water is on file (undiluted it is category {}); keep it as one",
                ingredient.name, entry.category
            ));
            continue;
        }
        let usable = entry.limits.iter().filter(|limit| rules.specific || limit.of != LimitOf::Law);
        let Some(limit) = usable.filter(|limit| reached(&ingredient.percent, limit)).min_by(|a, b| {
            a.category.cmp(&b.category).then(a.of.eq(&LimitOf::Transport).cmp(&b.of.eq(&LimitOf::Transport)))
        }) else {
            continue;
        };
        let found = Found {
            class,
            category: limit.category,
            statement: entry.statement.clone(),
            because: format!(
                "{} {} % {} {} % ({})",
                ingredient.name,
                ingredient.percent,
                if limit.above { ">" } else { "≥" },
                plain(limit.from),
                match (limit.of, entry.set_by) {
                    (LimitOf::Transport, _) => "band of the rules of carriage, whose test is the same",
                    (LimitOf::Like, _) => "band taken over from a like substance",
                    (LimitOf::Law, SetBy::Law) => "specific limit",
                    (LimitOf::Law, SetBy::Supplier) => "suppliers' limit",
                }
            ),
            rule: limit.source.clone(),
            rests_on: vec![Entry { ingredient: ingredient.name.clone(), class, source: limit.source.clone() }],
        };
        if worst.as_ref().is_none_or(|worst| found.category < worst.category) {
            worst = Some(found);
        }
    }
    let others = mixture.ingredients.len() > 1;
    if let Some(found) = worst.iter().find(|_| others) {
        judged.gap(format!(
            "{class}: category {} is of {} in water alone; with other things in it no test is on file, and it may be worse",
            found.category, found.rests_on[0].ingredient
        ));
    }
    judged.classes.extend(worst);
}

/// A solid oxidiser in water: its class as a solid says nothing of the solution.
fn dissolved_oxidisers(mixture: &Mixture<'_>, judged: &mut Classification) {
    for ingredient in &mixture.ingredients {
        let solid = ingredient.hazard.classes.iter().find(|entry| entry.class == Class::OxidisingSolid);
        if let Some(entry) = solid {
            judged.gap(format!(
                "oxidising liquid: no test of {} in water is on file (as a solid it is category {}); keep it as an oxidiser",
                ingredient.name, entry.category
            ));
        }
    }
}

fn metals(mixture: &Mixture<'_>, rules: Rules, judged: &mut Classification) {
    let class = Class::CorrosiveToMetals;
    let mut known: Vec<String> = Vec::new();
    for (ingredient, entry) in mixture.entries(class) {
        let limit = entry.limits.iter().find(|limit| rules.specific && reached(&ingredient.percent, limit));
        match limit {
            Some(_) if judged.has(class) => {}
            Some(limit) => judged.classes.push(Found {
                class,
                category: Category::One,
                statement: None,
                because: format!("{} {} % ≥ {} %", ingredient.name, ingredient.percent, limit.from),
                rule: limit.source.clone(),
                rests_on: vec![Entry::of(ingredient, entry)],
            }),
            None => known.push(format!("suppliers class {} so at trade strength", ingredient.name)),
        }
    }
    if !judged.has(class) && !mixture.ingredients.is_empty() {
        let known = if known.is_empty() { String::new() } else { format!("; {}", known.join("; ")) };
        judged.gap(format!(
            "corrosive to metals: no test of this solution is on file (more than 6.25 mm a year of steel or aluminium at 55 °C){known}"
        ));
    }
}
