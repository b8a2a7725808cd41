//! What must hold whatever is typed: conversions come back, doses fit the shelf, time never strengthens a bottle.

mod allot;
mod arrange;
mod assays;
mod bench;
mod dates;
mod exchange;
mod extremes;
mod hazard;
mod journals;
mod life;
mod lists;
mod measures;
mod pressure;
mod quench;
mod readings;
mod recipes;
mod sequence;
mod weakening;

use brimstock::catalogue::{Catalogue, Condition, Container, Form, Light};
use brimstock::chem::Substance;
use brimstock::chem::solution::convert;
use brimstock::decay::belief::{Belief, Window};
use brimstock::decay::climate::Climate;
use brimstock::decay::finding::Finding;
use brimstock::decay::law::{Kinetics, RatePrior};
use brimstock::decay::light::{Bottle as Kept, Daylight};
use brimstock::decay::mixture::Mixture;
use brimstock::decay::posterior::{Known, Standing, standing};
use brimstock::decay::{Age, Assay, Content, History, Stretch};
use brimstock::dip::measure::Bench;
use brimstock::dip::pick::pick;
use brimstock::dip::plan::{Source, is_ready, plan};
use brimstock::dip::recipe::goal;
use brimstock::dip::{Bath, Offer, Plan, Verdict};
use brimstock::units::measure::Quantity;
use brimstock::units::strength::{Basis, StrengthUnit};
use brimstock::units::{MassFraction, MolarEnergy, Temperature, Volume, parse, show};
use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// The same cases in every run, so that a failure is a change of the program and not of luck.
fn cases(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, rng_seed: RngSeed::Fixed(20_300_101), ..Default::default() }
}

fn shipped() -> &'static Catalogue {
    Catalogue::shipped().expect("the shipped catalogue is good")
}

fn date(days: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2030, 1, 1).expect("a date") + Days::new(days)
}

/// A bottle of peroxide as the register would tell of it.
#[derive(Debug, Clone)]
struct Bottle {
    label: f64,
    came: Condition,
    /// Days in each condition that followed, the first being the one it came in.
    days: Vec<u64>,
    celsius: f64,
    /// Days after it came, strength found in parts of the label, relative sd.
    test: Option<(u64, f64, f64)>,
    left: f64,
}

impl Bottle {
    fn history(&self, extra_days: u64) -> History {
        let first = Condition::ALL.iter().position(|condition| *condition == self.came).expect("a condition");
        let mut from = date(0);
        let mut stretches = Vec::new();
        for (condition, days) in Condition::ALL[first..].iter().zip(&self.days) {
            let to = from + Days::new(*days);
            let climate = Climate::constant(Temperature::celsius(self.celsius));
            let daylight = Daylight { light: Light::Dark, sun_hours: None };
            stretches.push(Stretch { from, to, place: "shed".to_owned(), climate, daylight, condition: *condition });
            from = to;
        }
        let end = from;
        let last = stretches.last_mut().expect("a stretch");
        last.to = last.to + Days::new(extra_days);
        let assays = self.test.map(|(day, part, relative_sd)| Assay {
            day: date(day).min(end),
            finding: Finding::Figure { content: self.label * part, relative_sd },
            of_damp: false,
        });
        History {
            form: Form::Solution,
            label: Content(self.label),
            label_percent_w_w: Some(self.label / 10.0),
            came: self.came,
            label_sd_ln: 0.0,
            decanted: false,
            age: Age::New,
            bottle: Kept { container: Container::Unknown, wall_mm: None, diameter_cm: 7.0 },
            stretches,
            assays: assays.into_iter().collect(),
        }
    }

    fn known(&self, extra_days: u64) -> Known {
        let peroxide = shipped().reagent("hydrogen-peroxide").expect("peroxide");
        let history = self.history(extra_days);
        let day = history.stretches.last().expect("a stretch").to;
        match standing(shipped().optics(), peroxide, &history, day).expect("a standing") {
            Standing::Known(known) => *known,
            Standing::Unknown { why, .. } => panic!("{why}"),
        }
    }

    fn offer(&self, number: usize) -> Offer {
        Offer {
            code: format!("HP-{number}"),
            form: Form::Solution,
            left: self.left,
            unit: "mL".to_owned(),
            received: date(number as u64),
            hold: None,
            label: self.label,
            standing: Standing::Known(Box::new(self.known(0))),
            doubt: None,
        }
    }
}

fn condition() -> impl Strategy<Value = Condition> {
    prop::sample::select(Condition::ALL.to_vec())
}

/// A bottle as they stand in a shed.
fn bottle() -> impl Strategy<Value = Bottle> {
    let test = prop::option::of((0_u64..900, 0.3..1.1, 0.02..0.3));
    (25.0..400.0, condition(), prop::collection::vec(1_u64..400, 1..3), 0.0..35.0, test, 1.0..3000.0)
        .prop_map(|(label, came, days, celsius, test, left)| Bottle { label, came, days, celsius, test, left })
}

/// A bottle that no shed ever held.
fn extreme_bottle() -> impl Strategy<Value = Bottle> {
    let size = |low: i32, high: i32| (f64::from(low)..f64::from(high)).prop_map(|power| 10_f64.powf(power));
    let test = prop::option::of((0_u64..40_000, size(-9, 6), size(-4, 0)));
    (size(-6, 3), condition(), prop::collection::vec(0_u64..40_000, 1..2), -60.0..150.0, test, size(-1, 6))
        .prop_map(|(label, came, days, celsius, test, left)| Bottle { label, came, days, celsius, test, left })
}

/// A bath for one of the peroxide dips.
fn bath(key: &str, litres: f64, threshold: f64) -> Bath<'static> {
    let dip = shipped().dip(key).expect("a dip");
    let reagent = shipped().reagent(&dip.reagent).expect("a reagent");
    let goal = goal(dip, reagent, shipped().measuring()).expect("a goal");
    Bath { dip, goal, volume: Volume::l(litres), threshold }
}

fn peroxide_dip() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec!["peroxide-weak", "peroxide-strong", "peroxide-day-soak", "peroxide-rinse"])
}

fn fits(plan: &Plan, offers: &[Offer], bath: &Bath<'_>) -> Result<(), TestCaseError> {
    for dose in &plan.doses {
        let offer = offers.iter().find(|offer| offer.code == dose.code).expect("a stock of the shelf");
        prop_assert!(dose.amount <= offer.left, "{} of {} taken from {}", dose.amount, dose.code, offer.left);
        prop_assert!(dose.amount > 0.0 && dose.unit == offer.unit && offer.hold.is_none());
    }
    for (at, dose) in plan.doses.iter().enumerate() {
        prop_assert!(plan.doses[..at].iter().all(|other| other.code != dose.code), "{} twice", dose.code);
    }
    // A jug is read in steps of 10 mL, so that what is poured may pass the brim by half a step a stock.
    let poured: f64 = plan.doses.iter().map(|dose| dose.amount).sum();
    let slack = 5.0 * offers.len() as f64;
    prop_assert!(poured <= bath.volume.to_ml() + slack, "{poured} mL in {} mL", bath.volume.to_ml());
    prop_assert!(plan.water.to_l() >= 0.0 && plan.water.to_l() <= bath.volume.to_l() + 1e-9);
    Ok(())
}

fn sound(plan: &Plan) -> Result<(), TestCaseError> {
    let mut numbers = vec![plan.water.to_l(), plan.largest.to_l()];
    numbers.extend(plan.chance);
    numbers.extend(plan.doses.iter().map(|dose| dose.amount));
    numbers.extend(plan.bath.into_iter().flat_map(|band| [band.low, band.mid, band.high]));
    prop_assert!(numbers.iter().all(|number| number.is_finite() && *number >= 0.0), "{plan:?}");
    prop_assert!(plan.chance.is_none_or(|chance| chance <= 1.0));
    Ok(())
}

proptest! {
    #![proptest_config(cases(128))]

    #[test]
    fn every_pair_of_units_converts_there_and_back(bleach: bool, share in 1e-4..0.149, celsius in 11.0..29.0) {
        let key = if bleach { "sodium-hypochlorite" } else { "hydrogen-peroxide" };
        let substance = Substance::of(shipped().reagent(key).expect("a reagent"));
        let temperature = Temperature::celsius(celsius);
        let units: Vec<StrengthUnit> = StrengthUnit::names()
            .chain(["g/L", "oz/gal-us"])
            .map(StrengthUnit::named)
            .filter(|unit| match unit.basis {
                Basis::InWeight | Basis::InVolume | Basis::Molar => true,
                Basis::OxygenVolumes => !bleach,
                Basis::ChlorineInVolume | Basis::ChlorineInWeight => bleach,
                Basis::VolumeInVolume => false,
            })
            .collect();
        prop_assert!(units.len() >= 9);
        let start = brimstock::units::strength::Strength::InWeight(MassFraction::fraction(share));
        for from in &units {
            let there = convert(substance, start, from.basis, temperature).expect("inside the data").strength;
            let value = from.read(there).expect("its own basis");
            for to in &units {
                let other = convert(substance, from.of(value), to.basis, temperature).expect("inside the data").strength;
                let shown = to.read(other).expect("its own basis");
                let back = convert(substance, to.of(shown), from.basis, temperature).expect("inside the data").strength;
                let again = from.read(back).expect("its own basis");
                prop_assert!((again / value - 1.0).abs() < 1e-6, "{value} {} by {} is {again}", from.name, to.name);
            }
        }
    }

    #[test]
    fn an_amount_that_is_shown_can_be_typed(power in -5.0..7.0_f64, solid: bool) {
        let (value, unit) = (10_f64.powf(power), if solid { "g" } else { "mL" });
        let text = show::amount(value, unit);
        let read = parse::amount(&text, None).expect(&text).quantity;
        prop_assert_eq!(solid, matches!(read, Quantity::Mass(_)));
        prop_assert!((read.base() / value - 1.0).abs() < 6e-4, "{} shown as {}, read as {}", value, text, read.base());
        prop_assert_eq!(show::amount(read.base(), unit), text);
    }

    #[test]
    fn whatever_is_typed_is_read_or_refused(text in "[0-9./½ :%a-zA-Zµ₂,-]{0,24}") {
        if let Ok(amount) = parse::amount(&text, None) {
            prop_assert!(amount.quantity.base() > 0.0 && amount.quantity.base().is_finite());
        }
        let _ = parse::strength(&text, None);
        let _ = parse::relative_sd(&text);
    }

    #[test]
    fn a_quantile_is_reached_with_its_own_probability(
        median in 1e-4..1e3_f64, sd_ln in 0.01..0.5, rate in 0.001..5.0_f64, rate_sd in 0.1..1.5, years in 0.0..3.0,
        probability in 0.001..0.999,
    ) {
        let kinetics = Kinetics::FirstOrder { activation: MolarEnergy::kj_per_mol(70.0) };
        let prior = RatePrior::log_normal(rate.ln(), rate_sd);
        let mut belief = Belief::new(kinetics, Some(&prior), median.ln(), sd_ln, Window::OPEN);
        belief.age(years);
        for mixture in [belief.content(), belief.content().times(0.01), Mixture::log_normal(median.ln(), sd_ln)] {
            let content = mixture.quantile(probability);
            prop_assert!((mixture.at_least(content) - (1.0 - probability)).abs() < 1e-6);
            prop_assert!(mixture.quantile(0.5 * probability) <= content);
        }
    }
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn no_dose_is_larger_than_what_is_there(
        bottles in prop::collection::vec(bottle(), 1..4), key in peroxide_dip(), litres in 0.5..200.0,
        threshold in 0.5..0.99,
    ) {
        let offers: Vec<Offer> = bottles.iter().enumerate().map(|(number, bottle)| bottle.offer(number)).collect();
        let bath = bath(key, litres, threshold);
        let picked = pick(&bath, &offers, date(900), &Bench::usual(shipped().measuring()));
        fits(&picked, &offers, &bath)?;
        sound(&picked)?;
        let sources: Vec<Source<'_>> = offers
            .iter()
            .map(|offer| {
                let Standing::Known(known) = &offer.standing else { unreachable!("every bottle is known") };
                Source { offer, content: Some(known.content.clone()) }
            })
            .collect();
        let all = plan(&bath, &sources, &Bench::usual(shipped().measuring()));
        fits(&all, &offers, &bath)?;
        sound(&all)?;
        let is_ready = is_ready(&bath, &sources, &Bench::usual(shipped().measuring()));
        prop_assert_eq!(is_ready, all.verdict == Verdict::Ready);
    }

    #[test]
    fn a_stock_more_never_makes_a_verdict_worse(
        bottles in prop::collection::vec(bottle(), 2..5), key in peroxide_dip(), litres in 0.5..200.0, held: bool,
    ) {
        let mut offers: Vec<Offer> = bottles.iter().enumerate().map(|(number, bottle)| bottle.offer(number)).collect();
        let bath = bath(key, litres, 0.9);
        if held {
            offers.last_mut().expect("a stock").hold = Some("smells".to_owned());
        }
        let fewer = pick(&bath, &offers[..offers.len() - 1], date(900), &Bench::usual(shipped().measuring())).verdict;
        let more = pick(&bath, &offers, date(900), &Bench::usual(shipped().measuring())).verdict;
        prop_assert!(more <= fewer, "{fewer:?} became {more:?}");
    }

    #[test]
    fn more_in_a_bottle_never_makes_a_verdict_worse(one in bottle(), key in peroxide_dip(), litres in 0.5..50.0) {
        let bath = bath(key, litres, 0.9);
        let little = one.offer(1);
        let much = Offer { left: 2.0 * little.left, ..little.clone() };
        let [little, much] = [little, much].map(|offer| pick(&bath, &[offer], date(900), &Bench::usual(shipped().measuring())).verdict);
        prop_assert!(much <= little, "{little:?} became {much:?}");
    }

    #[test]
    fn time_never_strengthens_peroxide(one in bottle(), days in 1_u64..2000, part in 0.1..1.2) {
        let (now, then) = (one.known(0), one.known(days));
        let carried = now.later(one.history(days).stretches.last().expect("a stretch").to);
        let content = part * one.label;
        for later in [&then.content, &carried] {
            prop_assert!(later.quantile(0.5) <= now.content.quantile(0.5) * (1.0 + 1e-6));
            prop_assert!(later.at_least(content) <= now.content.at_least(content) + 2e-6);
        }
        // Waiting and looking ahead come to the same.
        prop_assert!((then.content.at_least(content) - carried.at_least(content)).abs() < 5e-6);
    }

    #[test]
    fn nothing_is_ever_no_number(
        bottles in prop::collection::vec(extreme_bottle(), 1..4), key in peroxide_dip(), power in 0.0..6.0_f64,
        threshold in 0.5..0.9999,
    ) {
        for bottle in &bottles {
            let known = bottle.known(0);
            let band = known.estimate();
            prop_assert!(0.0 <= band.low && band.low <= band.mid && band.mid <= band.high, "{:?}", band);
            prop_assert!(band.high.is_finite(), "{:?}", band);
            for content in [0.0, 1e-12, bottle.label, 1e12] {
                let chance = known.content.at_least(content);
                prop_assert!((-1e-9..=1.0 + 1e-9).contains(&chance), "chance {}", chance);
            }
            let later = known.later(date(3_000_000));
            prop_assert!(later.quantile(0.5).is_finite() && later.at_least(1.0).is_finite());
        }
        let offers: Vec<Offer> = bottles.iter().enumerate().map(|(number, bottle)| bottle.offer(number)).collect();
        let bath = bath(key, 10_f64.powf(power), threshold);
        let picked = pick(&bath, &offers, date(300_000), &Bench::usual(shipped().measuring()));
        sound(&picked)?;
        fits(&picked, &offers, &bath)?;
    }
}

/// An opened bottle of 30 g/L, five years at 25 °C; then a day on which it got dirty.
#[test]
fn a_worse_condition_never_strengthens_a_bottle() {
    let peroxide = shipped().reagent("hydrogen-peroxide").expect("peroxide");
    let clean =
        Bottle { label: 30.0, came: Condition::Opened, days: vec![5 * 365], celsius: 25.0, test: None, left: 500.0 };
    let mut history = clean.history(0);
    let last = history.stretches[0].clone();
    let day = last.to + Days::new(1);
    history.stretches.push(Stretch { from: last.to, to: day, condition: Condition::Dirty, ..last });
    let Standing::Known(dirty) = standing(shipped().optics(), peroxide, &history, day).expect("a standing") else {
        panic!("no estimate")
    };
    let clean = clean.known(1);
    assert!(dirty.content.moments().0 < 40.0, "mean {}", dirty.content.moments().0);
    for content in [10.0, 20.0, 30.0, 40.0] {
        let (before, after) = (clean.content.at_least(content), dirty.content.at_least(content));
        assert!(after <= before + 1e-3, "chance of {content} g/L rose from {before} to {after}");
    }
}

/// Two bottles that are `ready` strongest first, and a drop of a third of which nothing is known.
#[test]
fn an_unknown_stock_never_takes_a_ready_back() {
    let tested = |number: usize, label: f64, left: f64| {
        let test = Some((1, 1.0, 0.01));
        Bottle { label, came: Condition::MadeUp, days: vec![1], celsius: 10.0, test, left }.offer(number)
    };
    let (weak, strong) = (tested(1, 8.0, 700.0), tested(2, 19.0, 500.0));
    let standing = Standing::Unknown { why: "no rate is on file".to_owned(), source: "judgement".to_owned() };
    let unknown = Offer { standing, ..tested(3, 20.0, 1.0) };
    let bath = bath("peroxide-strong", 1.0, 0.9);
    let two = pick(&bath, &[weak.clone(), strong.clone()], date(900), &Bench::usual(shipped().measuring())).verdict;
    let three = pick(&bath, &[weak, strong, unknown], date(900), &Bench::usual(shipped().measuring())).verdict;
    assert_eq!(two, Verdict::Ready);
    assert!(three <= two, "{two:?} became {three:?}");
}

/// Two bottles and a bath so small that either dose rounds to nothing.
#[test]
fn a_bath_of_a_few_drops_is_answered() {
    let one = Bottle { label: 30.0, came: Condition::Opened, days: vec![30], celsius: 20.0, test: None, left: 500.0 };
    let bath = bath("peroxide-rinse", 0.005, 0.9);
    for offers in [vec![one.offer(1)], vec![one.offer(1), one.offer(2)]] {
        sound(&pick(&bath, &offers, date(900), &Bench::usual(shipped().measuring()))).expect("sound numbers");
    }
}
