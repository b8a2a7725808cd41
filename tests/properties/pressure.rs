//! Oxygen in closed bottles: more of anything never lowers the pressure, nothing is ever endless, and what is lost of a bottle
//! is what it has now less what it has then.

use brimstock::hazard::pressure::{Closed, end_point, liquid_heat, oxygen, volume};
use brimstock::units::{Concentration, Mass, MassFraction, Pressure, Temperature, Volume};
use proptest::prelude::*;

use super::life::{life, peroxide};
use super::{cases, date};

/// Any size from nothing on.
fn size() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), (-30.0..9.0_f64).prop_map(|power| 10_f64.powf(power))]
}

/// A bottle of so many litres, filled to this share.
fn bottle(litres: f64, filled: f64, celsius: f64) -> Closed {
    Closed {
        liquid: Volume::l(litres * filled),
        headspace: Volume::l(litres * (1.0 - filled)),
        temperature: Temperature::celsius(celsius),
    }
}

fn bar(bottle: Closed, g_per_l: f64, share: f64) -> f64 {
    bottle.gauge(oxygen(Mass::g(g_per_l * bottle.liquid.to_l() * share)).expect("oxygen")).to_bar()
}

proptest! {
    #![proptest_config(cases(256))]

    #[test]
    fn stronger_fuller_or_more_loss_never_lowers_the_pressure(
        litres in 0.01..1000.0_f64, filled in 0.0..1.0_f64, g_per_l in 0.0..1450.0_f64, share in 0.0..1.0_f64,
        celsius in 0.0..50.0_f64, more in 1.0..3.0_f64, fuller in 0.0..1.0_f64,
    ) {
        let one = bottle(litres, filled, celsius);
        let base = bar(one, g_per_l, share) * (1.0 - 1e-12);
        prop_assert!(base >= 0.0);
        prop_assert!(bar(one, g_per_l * more, share) >= base);
        prop_assert!(bar(one, g_per_l, (share * more).min(1.0)) >= base);
        prop_assert!(bar(bottle(litres, filled + fuller * (1.0 - filled), celsius), g_per_l, share) >= base);
        prop_assert!(bar(bottle(litres, filled, celsius + more), g_per_l, share) >= base);
        // The loss for a pressure brings that pressure.
        let wanted = Pressure::bar(0.5);
        match one.loss_for(Concentration::g_per_l(g_per_l), wanted).expect("a loss") {
            Some(loss) => {
                prop_assert!((0.0..=1.0).contains(&loss));
                prop_assert!((bar(one, g_per_l, loss) - 0.5).abs() < 1e-9);
            }
            None => prop_assert!(bar(one, g_per_l, 1.0) < 0.5),
        }
    }

    #[test]
    fn nothing_is_endless(
        liquid in size(), headspace in size(), grams in size(), kelvin in prop_oneof![Just(1.0), 1.0..1e4_f64],
    ) {
        let temperature = Temperature::kelvin(kelvin);
        let one = Closed { liquid: Volume::l(liquid), headspace: Volume::l(headspace), temperature };
        let moles = oxygen(Mass::g(grams)).expect("oxygen");
        let pressure = one.gauge(moles).to_bar();
        prop_assert!(pressure.is_finite() && pressure >= 0.0, "{}", pressure);
        let loss = one.loss_for(Concentration::g_per_l(grams), Pressure::bar(0.5)).expect("a loss");
        prop_assert!(loss.is_none_or(|loss| (0.0..=1.0).contains(&loss)), "{:?}", loss);
        prop_assert!(volume(moles, temperature, Pressure::kpa(101.325)).to_l().is_finite());
    }

    #[test]
    fn stronger_never_ends_cooler_or_wetter(percent in 0.0..100.0_f64, more in 0.0..100.0_f64) {
        let end = |percent: f64| end_point(MassFraction::percent(percent), liquid_heat()).expect("an end");
        let (weak, strong) = (end(percent), end((percent + more).min(100.0)));
        let celsius = |temperature: Temperature| temperature.to_celsius();
        prop_assert!(celsius(strong.temperature) >= celsius(weak.temperature) && celsius(strong.temperature) < 100.000_001);
        prop_assert!(strong.boiled_off >= weak.boiled_off && (0.0..=1.0).contains(&strong.boiled_off));
        prop_assert!(weak.boiled_off == 0.0 || celsius(weak.temperature) > 99.999_999);
    }
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn what_is_lost_is_what_was_there_less_what_is_left(one in life(true), days in 1_u64..800) {
        let known = one.known(0);
        let day = date((one.end() - date(0)).num_days().unsigned_abs() + days);
        let (lost, later) = (known.lost_by(day), known.later(day));
        let [lost_mean, now_mean, later_mean] = [&lost, &known.content, &later].map(|content| content.moments().0);
        let off = (lost_mean - (now_mean - later_mean)).abs();
        // A content far down is drawn a little wider than it is.
        prop_assert!(off <= 0.015 * now_mean, "{} of {} less {}", lost_mean, now_mean, later_mean);
        prop_assert!(lost.quantile(0.05) <= lost.quantile(0.5) && lost.quantile(0.5) <= lost.quantile(0.95));
    }

    #[test]
    fn a_longer_time_never_takes_less(one in peroxide(true), days in 1_u64..800, more in 1_u64..800) {
        let known = one.known(0);
        let first = (one.end() - date(0)).num_days().unsigned_abs() + days;
        let (short, long) = (known.lost_by(date(first)), known.lost_by(date(first + more)));
        for probability in [0.05, 0.5, 0.95] {
            prop_assert!(long.quantile(probability) >= short.quantile(probability) * (1.0 - 1e-3));
        }
    }
}
