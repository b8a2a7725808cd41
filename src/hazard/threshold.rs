//! Organs, sensitisers and long-term harm: one ingredient above its threshold is enough.

use super::exact::Exact;
use super::{Classification, Entry, Found, Mixture, Regime, Rules, limit_for, limit_word};
use crate::catalogue::{Category, Class, Classified, Effect};

/// Per cent of ingredients with the same passing effect, from which a mixture has it.
const PASSING: f64 = 20.0;

/// The classes judged by a threshold of their own.
const SINGLE: [Class; 7] = [
    Class::RespiratorySensitiser,
    Class::SkinSensitiser,
    Class::Mutagen,
    Class::Carcinogen,
    Class::Reproduction,
    Class::SingleExposure,
    Class::RepeatedExposure,
];

/// What an ingredient of a category gives a mixture, and from which per cent; the worst first.
///
/// Glutaraldehyde (skin sensitiser 1A) from 0.1 %; a category 2 toxicant to reproduction from 3 % in `eu`, from 0.1 % in
/// `un` and `us`.
///
/// Source: `hpr-2015-17` (8.4 to 8.9), `clp-thresholds-memory`; of specific limits `clp-mixture-rules`.
#[must_use]
pub fn thresholds(class: Class, category: Category, regime: Regime) -> &'static [(Category, f64)] {
    use Category::{One, OneA, Two};
    let union = regime == Regime::Eu;
    match (class, category) {
        (Class::RespiratorySensitiser | Class::SkinSensitiser, One) if !union => &[(One, 0.1)],
        (Class::RespiratorySensitiser | Class::SkinSensitiser, OneA) => &[(OneA, 0.1)],
        (Class::RespiratorySensitiser | Class::SkinSensitiser, _) => &[(One, 1.0)],
        (Class::Mutagen, Two) => &[(Two, 1.0)],
        (Class::Carcinogen, Two) if union => &[(Two, 1.0)],
        (Class::Reproduction, Two) if union => &[(Two, 3.0)],
        (Class::Carcinogen | Class::Reproduction, Two) => &[(Two, 0.1)],
        (Class::Reproduction, _) if union => &[(One, 0.3)],
        (Class::Mutagen | Class::Carcinogen | Class::Reproduction, _) => &[(One, 0.1)],
        (Class::SingleExposure | Class::RepeatedExposure, One) if union => &[(One, 10.0), (Two, 1.0)],
        (Class::SingleExposure | Class::RepeatedExposure, One) => &[(One, 1.0)],
        (Class::SingleExposure | Class::RepeatedExposure, Two) if union => &[(Two, 10.0)],
        (Class::SingleExposure | Class::RepeatedExposure, Two) => &[(Two, 1.0)],
        _ => &[],
    }
}

/// Every class with a threshold, and the passing effects, which add up.
///
/// Source: as [`thresholds`].
pub(super) fn judge(mixture: &Mixture<'_>, rules: Rules, judged: &mut Classification) {
    for class in SINGLE {
        let mut worst: Option<Found> = None;
        for (ingredient, entry) in mixture.entries(class).filter(|(_, entry)| entry.effect.is_none()) {
            let Some((category, from, word, source)) = reached(&ingredient.percent, entry, rules) else { continue };
            if worst.as_ref().is_some_and(|worst| worst.category <= category) {
                continue;
            }
            let rule = if source.is_some() { "clp-mixture-rules" } else { rule(rules) };
            let mut rests_on = vec![Entry::of(ingredient, entry)];
            rests_on.extend(source.map(|source| Entry { ingredient: ingredient.name.clone(), class, source }));
            worst = Some(Found {
                class,
                category,
                statement: entry.statement.clone(),
                because: format!("{} {} % ≥ {from} % ({word})", ingredient.name, ingredient.percent),
                rule: rule.to_owned(),
                rests_on,
            });
        }
        judged.classes.extend(worst);
    }
    for effect in [Effect::Respiratory, Effect::Drowsiness] {
        judged.classes.extend(passing(mixture, effect, rules));
    }
}

fn rule(rules: Rules) -> &'static str {
    if rules.regime == Regime::Eu { "clp-thresholds-memory" } else { "hpr-2015-17" }
}

/// The worst category that an amount of an ingredient gives, with its limit.
fn reached(
    percent: &Exact,
    entry: &Classified,
    rules: Rules,
) -> Option<(Category, Exact, &'static str, Option<String>)> {
    if rules.specific && !entry.limits.is_empty() {
        let limit =
            entry.limits.iter().filter(|limit| *percent >= Exact::of(limit.from)).min_by_key(|limit| limit.category)?;
        let word = limit_word(rules, true, entry.set_by);
        return Some((limit.category, Exact::of(limit.from), word, Some(limit.source.clone())));
    }
    let (category, from) =
        thresholds(entry.class, entry.category, rules.regime).iter().find(|(_, from)| *percent >= Exact::of(*from))?;
    // The sub-category of the ingredient is kept where the mixture is in the same category.
    let category = if category.is_first() && entry.category.is_first() { entry.category } else { *category };
    Some((category, Exact::of(*from), "generic limit", None))
}

/// Irritation of the airways or drowsiness: shares of the limit add up.
fn passing(mixture: &Mixture<'_>, effect: Effect, rules: Rules) -> Option<Found> {
    let mut sum = Exact::zero();
    let mut parts = Vec::new();
    let mut rests_on = Vec::new();
    for (ingredient, entry) in mixture.entries(Class::SingleExposure).filter(|(_, entry)| entry.effect == Some(effect))
    {
        let Some((limit, specific)) = limit_for(entry, rules, |_| true, |_| Some(PASSING)) else { continue };
        let together = mixture.together(ingredient);
        if together < Exact::one() && together < limit {
            continue;
        }
        sum = &sum + &(&ingredient.percent / &limit);
        let word = limit_word(rules, specific, entry.set_by);
        parts.push((format!("{} {} %", ingredient.name, ingredient.percent), format!("{limit} %"), word));
        rests_on.push(Entry::of(ingredient, entry));
    }
    let statement = match effect {
        Effect::Respiratory => "H335",
        Effect::Drowsiness => "H336",
    };
    let because = match &parts[..] {
        [(part, limit, word)] => format!("{part} ≥ {limit} ({word})"),
        several => {
            let each: Vec<String> = several.iter().map(|(part, limit, _)| format!("{part} / {limit}")).collect();
            format!("{} = {sum} ≥ 1 (shares of the limit of each)", each.join(" + "))
        }
    };
    (sum >= Exact::one()).then(|| Found {
        class: Class::SingleExposure,
        category: Category::Three,
        statement: Some(statement.to_owned()),
        because,
        rule: "hpr-2015-17".to_owned(),
        rests_on,
    })
}
