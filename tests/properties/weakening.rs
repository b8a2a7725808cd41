//! Warmth, light, age and time never strengthen a bottle.
//!
//! Only where no later test speaks: of two bottles in which a test found the same, the one that stood warmer before it must
//! be of the better sort.

use std::cell::Cell;

use brimstock::catalogue::{Condition, Container, Light};
use brimstock::decay::Age;
use brimstock::decay::light::Bottle as Kept;
use brimstock::decay::mixture::Mixture;
use chrono::Days;
use proptest::prelude::*;

use super::life::{Life, NOTHING, Stay, bleach, figure, life, never_stronger, peroxide, width};
use super::{cases, date};

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn warmer_is_never_stronger(
        one in life(true), which: prop::sample::Index, degrees in 0.1..20.0_f64, part in 0.5..1.0,
    ) {
        let which = which.index(one.stays.len());
        let warmer = |one: &Life| one.with(which, |stay| stay.celsius += degrees).content();
        never_stronger(&warmer(&one), &one.content(), 1e-4)?;
        // A test before it got warmer speaks for both.
        let day = date(if which == 0 { 0 } else { one.stays[0].days / 2 });
        let tested = one.tested(figure(day, part * one.label(), 0.05));
        never_stronger(&warmer(&tested), &tested.content(), 1e-4)?;
    }

    #[test]
    fn a_strength_is_the_same_told_or_not(one in life(true), part in 0.3..1.0) {
        let one = one.tested(figure(date(one.stays[0].days / 2), part * one.label(), 0.05));
        let (told, untold) = (one.known(0), one.untold());
        prop_assert_eq!(&told.content, &untold.content);
        prop_assert_eq!(told.losses, untold.losses);
        prop_assert_eq!(told.misfit, untold.misfit);
        prop_assert!(!told.steps.is_empty() && untold.steps.is_empty());
    }

    #[test]
    fn the_last_day_is_good_and_the_next_is_not(
        one in life(true), part in 0.2..1.1, wanted in 0.55..0.99, horizon in 1_u64..4000,
    ) {
        let (known, asked) = (one.known(0), Cell::new(0));
        let least = part * known.content.quantile(1.0 - wanted);
        let margin = |content: &Mixture| content.at_least(least) - wanted;
        let last = known.last_day(horizon, |_, content| {
            asked.set(asked.get() + 1);
            margin(content)
        });
        let day = |days: u64| one.end() + Days::new(days);
        match last {
            None => prop_assert!(margin(&known.content) < 0.0),
            Some(last) => {
                prop_assert!(margin(&known.later(last)) >= 0.0);
                prop_assert!(last == day(horizon) || margin(&known.later(last + Days::new(1))) < 0.0);
            }
        }
        // Halving asks for both ends and for up to twelve days between them.
        prop_assert!(asked.get() <= 16, "asked {} times", asked.get());
    }

    #[test]
    fn an_older_bottle_is_never_stronger(one in life(true), days in 0.0..2000.0_f64, more in 1.0..2000.0_f64) {
        let aged = |age: Age| Life { age, ..one.clone() }.content();
        let (new, old, older) = (one.content(), aged(Age::Days(days)), aged(Age::Days(days + more)));
        never_stronger(&old, &new, 1e-4)?;
        never_stronger(&older, &old, 1e-4)?;
        let unknown = aged(Age::Unknown);
        never_stronger(&unknown, &new, 1e-4)?;
        if unknown.quantile(0.05) > NOTHING {
            prop_assert!(width(&unknown) >= width(&new) * (1.0 - 1e-4), "{} below {}", width(&unknown), width(&new));
        }
    }

    #[test]
    fn time_never_strengthens_any_bottle(one in life(true), days in 1_u64..1000, part in prop::option::of(0.3..1.0)) {
        let one = match part {
            Some(part) => one.tested(figure(date(one.stays[0].days / 2), part * one.label(), 0.05)),
            None => one,
        };
        let (now, then) = (one.known(0), one.known(days));
        let carried = now.later(one.end() + Days::new(days));
        never_stronger(&then.content, &now.content, 1e-4)?;
        never_stronger(&carried, &now.content, 1e-4)?;
        // Waiting and looking ahead come to the same, as long as there is something left.
        let slack = if one.is_lit() && !one.bleach { 1e-2 } else { 1e-3 };
        for probability in [0.05, 0.5, 0.95] {
            let (waited, foreseen) = (then.content.quantile(probability), carried.quantile(probability));
            let same = (foreseen / waited - 1.0).abs() < slack || waited < 1e-3 * one.label();
            prop_assert!(same, "{}: {} and {}", probability, waited, foreseen);
        }
    }
}

proptest! {
    #![proptest_config(cases(16))]

    #[test]
    fn more_light_is_never_stronger(
        one in peroxide(false), which: prop::sample::Index, hours in 0.0..8.0_f64, more in 0.1..8.0_f64,
    ) {
        let which = which.index(one.stays.len());
        let mut before = one.content();
        for light in [Light::Dim, Light::Bright, Light::Sill, Light::Outdoors] {
            let lighter = one.with(which, |stay| stay.light = light).content();
            never_stronger(&lighter, &before, 1.5e-2)?;
            before = lighter;
        }
        for light in [Light::Sill, Light::Outdoors] {
            let of = |hours: f64| one.with(which, |stay| (stay.light, stay.sun_hours) = (light, Some(hours))).content();
            never_stronger(&of(hours + more), &of(hours), 1.5e-2)?;
        }
    }

    /// Behind a window; outdoors natural plastic lets through what clear glass keeps. A container that nobody named is left
    /// out: its band is the widest, so that a small part of it lies above and below all others.
    #[test]
    fn a_clearer_container_is_never_stronger(
        one in peroxide(false), which: prop::sample::Index,
        light in prop::sample::select(vec![Light::Bright, Light::Sill]), wall in 1.0..5.0_f64, thicker in 0.1..5.0_f64,
    ) {
        let one = one.with(which.index(one.stays.len()), |stay| stay.light = light);
        let of = |container: Container, wall_mm: Option<f64>| {
            let kept = Kept { container, wall_mm, ..one.kept };
            Life { kept, ..one.clone() }.content()
        };
        let mut before = of(Container::OpaquePlastic, None);
        for container in [Container::AmberGlass, Container::NaturalPlastic, Container::ClearGlass] {
            let clearer = of(container, None);
            never_stronger(&clearer, &before, 1.5e-2)?;
            before = clearer;
        }
        never_stronger(&of(Container::ClearGlass, Some(wall)), &of(Container::ClearGlass, Some(wall + thicker)), 1.5e-2)?;
    }

    #[test]
    fn light_never_strengthens_bleach(one in bleach(false), which: prop::sample::Index) {
        let which = which.index(one.stays.len());
        let dark = one.content();
        for light in [Light::Dim, Light::Outdoors] {
            let lit = one.with(which, |stay| stay.light = light);
            never_stronger(&lit.content(), &dark, 1.5e-2)?;
            let of = |container: Container| Life { kept: Kept { container, ..lit.kept }, ..lit.clone() };
            never_stronger(&of(Container::ClearGlass).content(), &of(Container::AmberGlass).content(), 1.5e-2)?;
        }
    }
}

/// Strong sealed peroxide in a container that nobody named, 399 days at 15 °C: no light puts more above the label.
#[test]
fn more_light_never_lifts_the_upper_end() {
    let kept = Kept { container: Container::Unknown, wall_mm: None, diameter_cm: 7.0 };
    let of = |light: Light| {
        let stay = Stay { days: 399, celsius: 15.0, swing: 0.0, light, sun_hours: None, condition: Condition::Sealed };
        Life { bleach: false, percent: 45.0, age: Age::New, kept, stays: vec![stay], assays: Vec::new() }
    };
    let content = 1.176 * of(Light::Dark).label();
    let chances = Light::ALL.map(|light| of(light).content().at_least(content));
    assert!(chances.windows(2).all(|pair| pair[1] <= pair[0] + 1e-4), "chances of {content} g/L: {chances:?}");
}
