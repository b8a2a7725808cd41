//! Classes of mixtures: more of anything never makes milder, water never makes worse, and a label says each thing once.

use brimstock::catalogue::{Category, Class, Form, Hazard, Signal};
use brimstock::hazard::exact::Exact;
use brimstock::hazard::label::{element, label};
use brimstock::hazard::{Classification, Ingredient, Mixture, Regime, Rules, classify};
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;

use super::{cases, shipped};

fn entries() -> Vec<(&'static str, &'static Hazard)> {
    shipped().reagents().filter_map(|reagent| Some((reagent.key.as_str(), reagent.hazard.as_ref()?))).collect()
}

/// What it shares with others of the shelf.
fn kin_of(key: &str) -> Option<String> {
    Some(shipped().reagent(key)?.contains.as_ref()?.what.clone())
}

/// From next to nothing to the pure thing, and often the limits themselves.
fn percent() -> impl Strategy<Value = f64> {
    let limits = vec![0.01, 0.025, 0.1, 0.25, 0.3, 0.5, 1.0, 2.0, 2.5, 3.0, 5.0, 8.0, 10.0, 20.0, 24.05, 25.0, 50.0];
    prop_oneof![(-9.0..2.0_f64).prop_map(|power| 10.0_f64.powf(power)), 0.0..30.0_f64, prop::sample::select(limits)]
        .prop_map(|percent: f64| percent.max(1e-9))
}

fn rules() -> impl Strategy<Value = Rules> {
    (prop::sample::select(vec![Regime::Eu, Regime::Un, Regime::Us]), any::<bool>())
        .prop_map(|(regime, specific)| Rules { regime, specific })
}

/// Different reagents of the shelf, together 100 % and less.
fn ingredients(most: usize) -> impl Strategy<Value = Vec<Ingredient<'static>>> {
    (prop::sample::subsequence(entries(), 1..=most), prop::collection::vec(percent(), most)).prop_map(
        |(chosen, percents)| {
            let total: f64 = percents.iter().take(chosen.len()).sum();
            let fit = if total > 100.0 { 99.9 / total } else { 1.0 };
            chosen
                .into_iter()
                .zip(percents)
                .map(|((name, hazard), percent)| Ingredient {
                    name: name.to_owned(),
                    percent: Exact::of(percent * fit),
                    kin: kin_of(name),
                    hazard,
                })
                .collect()
        },
    )
}

fn form() -> impl Strategy<Value = Form> {
    prop::sample::select(vec![Form::Solution, Form::Solid])
}

fn mixture(form: Form, ingredients: &[Ingredient<'static>]) -> Mixture<'static> {
    Mixture { form, ingredients: ingredients.to_vec(), ph: None }
}

/// Category 1 without a letter stands for any of its letters; otherwise the worst comes first.
fn milder(category: Category, than: Category) -> bool {
    let letter_open = category.is_first() && than.is_first() && [category, than].contains(&Category::One);
    !letter_open && category > than
}

/// Everything that `less` has, `more` has as badly or worse.
fn never_milder(more: &Classification, less: &Classification) -> Result<(), TestCaseError> {
    for found in &less.classes {
        // A passing effect is a class of its own.
        let same = |other: &&brimstock::hazard::Found| {
            other.class == found.class && (found.category != Category::Three || other.statement == found.statement)
        };
        match more.classes.iter().find(same) {
            None => prop_assert!(false, "{} is lost: {}", found.class, found.because),
            Some(other) => prop_assert!(
                !milder(other.category, found.category),
                "{}: {} ({}) became {} ({})",
                found.class,
                found.category,
                found.because,
                other.category,
                other.because
            ),
        }
    }
    Ok(())
}

/// Classes, statements beyond them, and how many gaps.
type Said = (Vec<(Class, Category, Option<String>)>, Vec<(String, Option<String>)>, usize);

/// What an answer says, without its reasons.
fn said(judged: &Classification) -> Said {
    let mut classes: Vec<_> =
        judged.classes.iter().map(|found| (found.class, found.category, found.statement.clone())).collect();
    let mut extras: Vec<_> =
        judged.supplements.iter().map(|extra| (extra.statement.clone(), extra.names.clone())).collect();
    classes.sort();
    extras.sort();
    (classes, extras, judged.gaps.len())
}

proptest! {
    #![proptest_config(cases(96))]

    #[test]
    fn hazard_order_of_ingredients_does_not_matter(
        (ordered, shuffled) in ingredients(6).prop_flat_map(|all| (Just(all.clone()), Just(all).prop_shuffle())),
        form in form(), rules in rules(),
    ) {
        let one = classify(&mixture(form, &ordered), rules);
        let other = classify(&mixture(form, &shuffled), rules);
        prop_assert_eq!(said(&one), said(&other));
        let (elements, choice) = (shipped().elements(), shipped().choice());
        prop_assert_eq!(label(&one, elements, choice), label(&other, elements, choice));
    }

    #[test]
    fn hazard_another_ingredient_never_makes_milder(
        all in ingredients(6), left_out: prop::sample::Index, rules in rules(),
    ) {
        let mut fewer = all.clone();
        fewer.remove(left_out.index(all.len()));
        let (more, less) = (mixture(Form::Solution, &all), mixture(Form::Solution, &fewer));
        never_milder(&classify(&more, rules), &classify(&less, rules))?;
    }

    /// Of a powder all but its burning, of which only the pure thing has been tested.
    #[test]
    fn hazard_another_powder_never_makes_milder(
        all in ingredients(6), left_out: prop::sample::Index, rules in rules(),
    ) {
        let mut fewer = all.clone();
        fewer.remove(left_out.index(all.len()));
        let more = classify(&mixture(Form::Solid, &all), rules);
        let mut less = classify(&mixture(Form::Solid, &fewer), rules);
        less.classes.retain(|found| found.class != Class::OxidisingSolid);
        never_milder(&more, &less)?;
    }

    #[test]
    fn hazard_water_never_makes_worse(
        all in ingredients(6), form in form(), factor in 1e-6..=1.0_f64, rules in rules(),
    ) {
        let factor = Exact::of(factor);
        let diluted: Vec<_> = all
            .iter()
            .map(|part| Ingredient { percent: &part.percent * &factor, ..part.clone() })
            .collect();
        never_milder(&classify(&mixture(form, &all), rules), &classify(&mixture(form, &diluted), rules))?;
    }

    #[test]
    fn hazard_more_of_one_ingredient_never_makes_milder(
        all in ingredients(6), which: prop::sample::Index, factor in 1.0..100.0_f64, form in form(), rules in rules(),
    ) {
        let mut more = all.clone();
        let which = which.index(all.len());
        let others: f64 = all.iter().map(|part| part.percent.to_f64()).sum::<f64>() - all[which].percent.to_f64();
        let raised = (all[which].percent.to_f64() * factor).min(100.0 - others);
        prop_assume!(raised > all[which].percent.to_f64());
        more[which].percent = Exact::of(raised);
        never_milder(&classify(&mixture(form, &more), rules), &classify(&mixture(form, &all), rules))?;
    }

    #[test]
    fn hazard_a_label_says_each_thing_once(
        all in ingredients(6), form in form(), ph in prop::option::weighted(0.3, 0.0..14.0_f64), rules in rules(),
    ) {
        let judged = classify(&Mixture { ph, ..mixture(form, &all) }, rules);
        let (elements, choice) = (shipped().elements(), shipped().choice());
        let found = label(&judged, elements, choice);
        // `Danger` stands before `Warning`.
        let rows = judged.classes.iter().filter_map(|found| element(elements, found.class, found.category));
        let worst = rows.filter_map(|row| row.signal).min();
        prop_assert_eq!(found.signal, worst);
        let has = |code: &str| found.statements.iter().any(|known| known == code);
        prop_assert!(!(has("H314") && has("H318")), "{:?}", found);
        prop_assert!(!(has("H410") && has("H400")), "{:?}", found);
        for codes in [&found.statements, &found.pictograms, &found.precautions] {
            let mut once = codes.clone();
            once.sort();
            once.dedup();
            prop_assert_eq!(once.len(), codes.len(), "{:?}", codes);
        }
        let most = if found.signal == Some(Signal::Danger) { choice.most_in_danger } else { choice.most };
        prop_assert!(most <= 8 && found.precautions.len() <= most, "{:?}", found.precautions);
        for covers in choice.covers.iter().filter(|covers| found.precautions.contains(&covers.code)) {
            let needless = found.precautions.iter().find(|code| covers.needless.contains(code));
            prop_assert_eq!(needless, None, "beside {}", covers.code);
        }
        for code in found.statements.iter().chain(&found.precautions) {
            prop_assert!(shipped().statement(code).is_some(), "no words for {}", code);
        }
        // Every class found has its statement on the label, or a covering one.
        prop_assert_eq!(found.statements.is_empty(), judged.classes.is_empty());
        for found in &judged.classes {
            let row = element(elements, found.class, found.category);
            prop_assert!(row.is_some(), "{} {}", found.class, found.category);
        }
        if rules.regime == Regime::Us {
            prop_assert!(!judged.has(Class::AquaticAcute) && !judged.has(Class::AquaticChronic));
        }
    }

    #[test]
    fn hazard_every_answer_has_its_sources(
        all in ingredients(6), form in form(), ph in prop::option::weighted(0.3, 0.0..14.0_f64), rules in rules(),
    ) {
        let judged = classify(&Mixture { ph, ..mixture(form, &all) }, rules);
        for found in &judged.classes {
            prop_assert!(shipped().source(&found.rule).is_some(), "no source {}", found.rule);
            prop_assert!(!found.because.is_empty());
            for entry in &found.rests_on {
                prop_assert!(shipped().source(&entry.source).is_some(), "no source {}", entry.source);
                prop_assert!(all.iter().any(|part| part.name == entry.ingredient), "{} is not in it", entry.ingredient);
            }
        }
        for extra in &judged.supplements {
            prop_assert!(shipped().source(&extra.source).is_some(), "no source {}", extra.source);
            prop_assert!(shipped().statement(&extra.statement).is_some(), "no words for {}", extra.statement);
        }
        prop_assert!(judged.gaps.iter().all(|gap| !gap.what.is_empty()));
    }

    /// A single substance at any strength that can be typed.
    #[test]
    fn hazard_any_strength_has_an_answer(
        which in prop::sample::select(entries()), power in -9.0..=2.0_f64, form in form(), rules in rules(),
    ) {
        let percent = Exact::of(10.0_f64.powf(power));
        let part = Ingredient { name: which.0.to_owned(), percent, kin: None, hazard: which.1 };
        let judged = classify(&mixture(form, &[part]), rules);
        let mut classes: Vec<_> = judged.classes.iter().map(|found| (found.class, found.statement.clone())).collect();
        classes.dedup();
        prop_assert_eq!(classes.len(), judged.classes.len(), "a class twice");
    }
}
