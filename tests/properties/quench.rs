//! Ending a bath: more to destroy never needs less, nobody plans below theory, and what is refused stays so when stronger.

use brimstock::catalogue::{Form, Reaction, Reagent, Treatment};
use brimstock::decay::posterior::Standing;
use brimstock::dip::Offer;
use brimstock::disposal::quench::{Ending, MOST_WARMING_K, Used, Verdict, Way, end};
use brimstock::units::Volume;
use brimstock::units::estimate::Estimate;
use proptest::prelude::*;

use super::{cases, date, shipped};

/// A way to end one reagent: its treatment and what is on file for one neutraliser, or for none.
#[derive(Debug, Clone)]
struct Pair {
    treatment: &'static Treatment,
    way: Way<'static>,
}

/// Every treatment with every reagent of the shelf, whether a reaction is on file or not, and with time alone.
fn pairs() -> Vec<Pair> {
    let rules = shipped().neutralise();
    let every: Vec<Option<&'static Reagent>> = std::iter::once(None).chain(shipped().reagents().map(Some)).collect();
    rules
        .treatments
        .iter()
        .flat_map(|treatment| {
            let time_alone = treatment.default.is_none();
            every.clone().into_iter().filter(move |other| other.is_some() || time_alone).map(move |neutraliser| {
                let key = neutraliser.map(|reagent| reagent.key.as_str());
                let routes: Vec<&'static Reaction> = rules
                    .reactions
                    .iter()
                    .filter(|row| row.destroys == treatment.reagent && row.with.as_deref() == key)
                    .collect();
                Pair { treatment, way: Way { neutraliser, routes } }
            })
        })
        .collect()
}

fn offer(grams: f64) -> Offer {
    Offer {
        code: "X-1".to_owned(),
        form: Form::Solid,
        left: grams,
        unit: "g".to_owned(),
        received: date(0),
        hold: None,
        label: 1.0,
        standing: Standing::Unknown { why: "not looked at".to_owned(), source: "judgement".to_owned() },
        doubt: None,
    }
}

fn ended(pair: &Pair, g_per_l: f64, band: f64, litres: f64, held: f64) -> Ending {
    let used = Used {
        reagent: shipped().reagent(&pair.treatment.reagent).unwrap(),
        treatment: pair.treatment,
        strength: Estimate { low: g_per_l / band, mid: g_per_l, high: g_per_l * band },
        volume: Volume::l(litres),
    };
    end(&used, &pair.way, &[offer(held)], shipped().measuring()).unwrap()
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn more_to_destroy_never_needs_less(
        pair in prop::sample::select(pairs()), power in -5.0..3.0_f64, band in 1.0..1.5_f64, litres in 0.1..200.0_f64,
        stronger in 1.0..3.0_f64, larger in 1.0..3.0_f64, held in 0.0..500.0_f64,
    ) {
        let g_per_l = 10.0_f64.powf(power);
        let less = ended(&pair, g_per_l, band, litres, held);
        let more = ended(&pair, g_per_l * stronger, band, litres * larger, held);
        prop_assert!(more.destroy.high >= less.destroy.high);
        if let (Some(less), Some(more)) = (&less.needed, &more.needed) {
            prop_assert!(more.planned.to_g() >= less.planned.to_g());
            prop_assert!(more.theory.to_g() >= less.theory.to_g());
            prop_assert!(less.enough() || !more.enough());
        }
        for needed in less.needed.iter().chain(&more.needed) {
            prop_assert!(needed.planned.to_g() >= needed.theory.to_g());
            prop_assert!(needed.theory_low.to_g() <= needed.theory.to_g());
            prop_assert!(needed.theory.to_g() <= needed.theory_high.to_g());
            prop_assert!(needed.left_over_mg_per_l >= 0.0);
            let measured: f64 = needed.doses.iter().map(|dose| dose.amount).sum();
            prop_assert!(!needed.enough() || measured >= needed.planned.to_g() * (1.0 - 1e-6));
            prop_assert!(needed.enough() || needed.doses.is_empty());
        }
    }

    #[test]
    fn what_is_refused_stays_refused_when_stronger_and_has_no_dose(
        pair in prop::sample::select(pairs()), power in -5.0..3.0_f64, stronger in 1.0..1000.0_f64, litres in 0.1..200.0_f64,
    ) {
        let g_per_l = 10.0_f64.powf(power);
        let weak = ended(&pair, g_per_l, 1.0, litres, 1000.0);
        let strong = ended(&pair, g_per_l * stronger, 1.0, litres, 1000.0);
        if weak.verdict == Verdict::Refused {
            prop_assert_eq!(strong.verdict, Verdict::Refused);
        }
        for one in [&weak, &strong] {
            prop_assert_eq!(one.verdict == Verdict::Refused, !one.reasons.is_empty() && one.needed.is_none());
            if one.verdict == Verdict::Refused {
                prop_assert!(one.steps.iter().all(|step| !step.what.contains("planned")));
            } else if pair.way.neutraliser.is_some() {
                prop_assert!(one.heat_k.unwrap() <= MOST_WARMING_K * (1.0 + 1e-6));
            }
        }
    }
}
