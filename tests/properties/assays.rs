//! What a test may do to an estimate, and what it may not.

use brimstock::catalogue::{Condition, Container, Form, Light};
use brimstock::decay::belief::{Belief, Window};
use brimstock::decay::finding::Finding;
use brimstock::decay::law::{Kinetics, RatePrior};
use brimstock::decay::light::Bottle as Kept;
use brimstock::decay::{Age, Assay};
use brimstock::register::event::{KeptIn, Labelled, Made};
use brimstock::register::history::history;
use brimstock::register::ledger::{State, Stay as Stood, Test};
use brimstock::register::place::{Place, PlaceState};
use brimstock::register::stock::Stock;
use brimstock::units::MolarEnergy;
use chrono::NaiveDate;
use proptest::prelude::*;

use super::life::{Life, NOTHING, Stay, container, figure, life, light, width};
use super::{cases, date, shipped};

/// Findings of one day that do not contradict each other: around a content, in parts of the label.
fn findings(intervals: bool) -> impl Strategy<Value = Vec<Finding>> {
    let one = (-1.5..1.5_f64, 0.01..0.2_f64, 1.5..3.0_f64, if intervals { 0..3 } else { 0..1 });
    prop::collection::vec(one, 2..5).prop_map(|rows| {
        let finding = |(off, relative_sd, wide, kind): (f64, f64, f64, i32)| {
            let content = (off * relative_sd).exp();
            match kind {
                0 => Finding::Figure { content, relative_sd },
                1 => Finding::Between { low: content / wide, high: content * wide, relative_sd },
                _ => Finding::Between { low: content / wide, high: f64::INFINITY, relative_sd },
            }
        };
        rows.into_iter().map(finding).collect()
    })
}

/// A test's relative standard deviation, from a laboratory's to a kit's.
fn sharp() -> impl Strategy<Value = f64> {
    (-3.0..-1.0_f64).prop_map(|power| 10_f64.powf(power))
}

/// Contents of a belief that saw the findings in this order, and in the opposite one.
fn both_ways(rate: f64, sd_ln: f64, years: f64, findings: &[Finding]) -> [[f64; 3]; 2] {
    let prior = RatePrior::log_normal(rate.ln(), sd_ln);
    let kinetics = Kinetics::FirstOrder { activation: MolarEnergy::kj_per_mol(75.0) };
    let of = |order: &mut dyn Iterator<Item = &Finding>| {
        let mut belief = Belief::new(kinetics, Some(&prior), 0.0, 0.05, Window::OPEN);
        belief.age(years);
        let middle = belief.content().quantile(0.5);
        order.for_each(|finding| {
            belief.observe(finding.scaled(middle), 0.0);
        });
        [0.05, 0.5, 0.95].map(|probability| belief.content().quantile(probability))
    };
    [of(&mut findings.iter()), of(&mut findings.iter().rev())]
}

proptest! {
    #![proptest_config(cases(32))]

    /// Of figures inside the band of what was believed. Farther out it need not hold: a loose test leaves a narrow belief of
    /// one sort of bottle, a tight one that contradicts it leaves the wide one of another.
    #[test]
    fn a_tighter_test_never_widens_the_band(
        one in life(true), earlier in prop::option::of(0.5..1.0), at in 0.05..0.95, sd in sharp(),
        wider in 1.1..4.0_f64,
    ) {
        let one = match earlier {
            Some(part) => one.tested(figure(date(one.stays[0].days / 2), part * one.label(), 0.05)),
            None => one,
        };
        let found = one.content().quantile(at);
        prop_assume!(found > NOTHING);
        let [tight, loose] = [sd, sd * wider].map(|sd| width(&one.tested(figure(one.end(), found, sd)).content()));
        prop_assert!(tight <= 1.01 * loose, "{} is wider than {}", tight, loose);
    }

    #[test]
    fn the_order_of_a_days_figures_does_not_matter(
        findings in findings(false), rate in 0.01..1.0_f64, sd_ln in 0.3..1.3, years in 0.0..3.0,
    ) {
        let [one, other] = both_ways(rate, sd_ln, years, &findings);
        for (a, b) in one.iter().zip(other) {
            prop_assert!((a / b - 1.0).abs() < 1e-6, "{:?} and {:?}", one, other);
        }
    }

    #[test]
    fn the_order_of_a_days_intervals_hardly_matters(
        findings in findings(true), rate in 0.01..1.0_f64, sd_ln in 0.3..1.3, years in 0.0..3.0,
    ) {
        let [one, other] = both_ways(rate, sd_ln, years, &findings);
        for (a, b) in one.iter().zip(other) {
            prop_assert!((a / b - 1.0).abs() < 1e-2, "{:?} and {:?}", one, other);
        }
    }

    /// Whichever was typed first, the history that is computed with is the same.
    #[test]
    fn the_register_sorts_the_tests_of_a_day(
        rows in prop::collection::vec((0_u64..3, 1.0..4.0_f64, 0.01..0.2_f64), 2..6), seed in 0_usize..100,
    ) {
        let mut tests: Vec<Test> = rows
            .iter()
            .map(|(day, value, relative_sd)| Test {
                day: date(10 + day),
                method: "figure".to_owned(),
                strength: Labelled { value: *value, unit: "% w/v".to_owned(), relative_sd: *relative_sd },
                raw: None,
            })
            .collect();
        let sorted = |tests: &[Test]| assays_of(&registered(tests.to_vec()), date(20));
        let first = sorted(&tests);
        let count = tests.len();
        tests.swap(seed % count, (seed / 7) % count);
        tests.rotate_left(seed % count);
        prop_assert_eq!(first, sorted(&tests));
    }

    #[test]
    fn a_figure_inside_the_band_is_no_misfit(one in life(true), at in 0.05..0.95, sd in 0.005..0.3_f64) {
        let found = one.content().quantile(at);
        prop_assume!(found > NOTHING);
        prop_assert_eq!(one.tested(figure(one.end(), found, sd)).known(0).misfit, None);
    }

    #[test]
    fn ten_times_the_label_is_a_misfit(one in life(true), power in 1.0..5.0_f64, sd in sharp()) {
        let found = one.tested(figure(one.end(), one.label() * 10_f64.powf(power), sd));
        prop_assert_eq!(found.known(0).misfit, Some(one.end()));
    }

    /// In the first days no rate can have taken so much.
    #[test]
    fn a_hundredth_of_a_fresh_label_is_a_misfit(
        one in life(false), power in 2.0..6.0_f64, sd in sharp(), days in 0_u64..10,
    ) {
        let mut fresh = one.with(0, |stay| {
            *stay = Stay { days, celsius: 20.0, swing: 0.0, condition: Condition::Opened, ..*stay };
        });
        fresh.stays.truncate(1);
        let found = fresh.tested(figure(fresh.end(), fresh.label() * 10_f64.powf(-power), sd));
        prop_assert_eq!(found.known(0).misfit, Some(fresh.end()));
    }
}

/// A sealed bottle of 3 % that came yesterday; a titration of the usual exactness finds twice as much.
#[test]
fn twice_the_label_of_a_new_bottle_is_a_misfit() {
    let stay =
        Stay { days: 1, celsius: 20.0, swing: 0.0, light: Light::Dark, sun_hours: None, condition: Condition::Sealed };
    let kept = Kept { container: Container::Unknown, wall_mm: None, diameter_cm: 7.0 };
    let one = Life { bleach: false, percent: 3.0, age: Age::New, kept, stays: vec![stay], assays: Vec::new() };
    let found = one.tested(figure(one.end(), 2.0 * one.label(), 0.01));
    assert_eq!(found.known(0).misfit, Some(one.end()));
}

fn registered(tests: Vec<Test>) -> State {
    let label = Labelled { value: 3.0, unit: "% w/v".to_owned(), relative_sd: 0.0 };
    State {
        received: date(0),
        label,
        came: Condition::Opened,
        condition: Condition::Opened,
        opened: None,
        place: "shed".to_owned(),
        left: 500.0,
        amount: 500.0,
        unit: "mL".to_owned(),
        hold: None,
        retired: None,
        placed: 0,
        overruled: None,
        handed_to: None,
        stays: vec![Stood { from: date(0), place: "shed".to_owned(), condition: Condition::Opened }],
        kept_in: KeptIn { container: Container::Unknown, wall_mm: None, diameter_cm: None, brim_ml: None, cap: None },
        made: Made::New,
        poured_from: None,
        notes: Vec::new(),
        tests,
    }
}

fn assays_of(state: &State, day: NaiveDate) -> Vec<Assay> {
    let peroxide = shipped().reagent("hydrogen-peroxide").expect("peroxide");
    let stock = Stock { id: 1, code: "HP-1".to_owned(), reagent: peroxide.key.clone(), form: Form::Solution };
    let season = brimstock::decay::climate::Season::Constant(brimstock::units::Temperature::celsius(20.0));
    let daylight = brimstock::decay::light::Daylight { light: Light::Dark, sun_hours: None };
    let states = vec![PlaceState { from: date(0), season, daylight, cabinet: None, height_cm: None, around: None }];
    let places = [Place { id: 1, name: "shed".to_owned(), states, logged: None }];
    history(shipped(), &stock, state, peroxide, &places, day).expect("a history").assays
}

/// A bottle and findings that no shed ever held.
fn extreme() -> impl Strategy<Value = Life> {
    let size = |low: f64, high: f64| (low..high).prop_map(|power| 10_f64.powf(power));
    let stay = (0_u64..20_000, -60.0..150.0, 0.0..60.0, light(), prop::option::of(0.0..24.0)).prop_map(
        |(days, celsius, swing, light, sun_hours)| Stay {
            days,
            celsius,
            swing,
            light,
            sun_hours,
            condition: Condition::Sealed,
        },
    );
    let worse = prop::collection::vec(prop::sample::select(Condition::ALL.to_vec()), 2);
    let stays = (prop::collection::vec(stay, 1..3), worse).prop_map(|(mut stays, mut conditions)| {
        conditions.sort_unstable();
        stays.iter_mut().zip(conditions).for_each(|(stay, condition)| stay.condition = condition);
        stays
    });
    let finding = (size(-9.0, 6.0), size(0.001, 9.0), size(-4.0, 0.0), 0..5).prop_map(
        |(part, wide, relative_sd, kind)| match kind {
            0 | 1 => Finding::Figure { content: part, relative_sd },
            2 => Finding::Between { low: part, high: part * wide, relative_sd },
            3 => Finding::Between { low: 0.0, high: part, relative_sd },
            _ => Finding::Between { low: part, high: f64::INFINITY, relative_sd },
        },
    );
    let age = prop_oneof![Just(Age::New), (0.0..1e5_f64).prop_map(Age::Days), Just(Age::Unknown)];
    let kept = (container(), prop::option::of(size(-2.0, 1.7)), size(-2.0, 2.7))
        .prop_map(|(container, wall_mm, diameter_cm)| Kept { container, wall_mm, diameter_cm });
    let assays = prop::collection::vec((0_u64..40_000, finding), 0..4);
    (any::<bool>(), size(-4.0, 1.99), age, kept, stays, assays).prop_map(
        |(bleach, percent, age, kept, stays, assays)| {
            let mut life = Life { bleach, percent, age, kept, stays, assays: Vec::new() };
            let (label, end) = (life.label(), life.end());
            life.assays = assays
                .into_iter()
                .map(|(day, finding)| Assay { day: date(day).min(end), finding: finding.scaled(label), of_damp: false })
                .collect();
            life.assays.sort_by_key(|assay| assay.day);
            life
        },
    )
}

proptest! {
    #![proptest_config(cases(32))]

    #[test]
    fn no_finding_ever_gives_no_number(one in extreme()) {
        let Some(known) = one.asked(0) else { return Ok(()) };
        let band = known.estimate();
        prop_assert!(0.0 <= band.low && band.low <= band.mid && band.mid <= band.high, "{:?}", band);
        prop_assert!(band.high.is_finite(), "{:?}", band);
        if let Some(rate) = known.rate() {
            prop_assert!(rate.low >= 0.0 && rate.low <= rate.mid && rate.mid <= rate.high, "{:?}", rate);
        }
        prop_assert!((-1e-9..=1.0 + 1e-9).contains(&known.odd()), "odd {}", known.odd());
        let later = known.later(date(60_000));
        for content in [0.0, 1e-12, one.label(), 1e12] {
            for content in [known.content.at_least(content), later.at_least(content)] {
                prop_assert!((-1e-9..=1.0 + 1e-9).contains(&content), "chance {}", content);
            }
            let between = known.content.between(content, 10.0 * content + 1.0, 0.15);
            prop_assert!((0.0..=1.0).contains(&between), "chance {}", between);
        }
        prop_assert!(later.quantile(0.5).is_finite());
        let losses = known.losses;
        for loss in [losses.age, losses.warmth, losses.light, losses.start_sd] {
            prop_assert!(!loss.is_nan(), "{:?}", losses);
        }
    }
}
