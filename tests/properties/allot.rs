//! One allocation over many baths: no stock is over-drawn, whoever can be served is, and more stock serves no fewer.

use std::collections::BTreeMap;

use brimstock::catalogue::{Condition, Form};
use brimstock::decay::posterior::Standing;
use brimstock::dip::allot::{Allotted, Supply, Want, allot};
use brimstock::dip::measure::Bench;
use brimstock::dip::stop::stopping;
use brimstock::dip::{Offer, Verdict};
use chrono::NaiveDate;
use proptest::prelude::*;

use super::{Bottle, bath, bottle, cases, date, fits, peroxide_dip, shipped, sound};

/// The first day on which all bottles here have been looked at.
const FIRST: u64 = 900;

/// Baths as they are asked for: dip, litres, how many, days after the first.
type Asked = (&'static str, f64, u32, u64);

fn wants<'a>(asked: &[Asked], lots: &'a [String]) -> Vec<Want<'a>> {
    let want = |((key, litres, count, days), lot): (&Asked, &'a String)| {
        let bath = bath(key, *litres, 0.9);
        let reagent = shipped().reagent(&bath.dip.reagent).expect("a reagent");
        let stopping = bath.dip.stop.as_ref().map(|stop| stopping(&bath, stop, reagent, &[]).expect("grams"));
        let bench = Bench::usual(shipped().measuring());
        Want { day: date(FIRST + days), lot, count: *count, bath, stopping, bench }
    };
    asked.iter().zip(lots).map(want).collect()
}

fn lots(count: usize) -> Vec<String> {
    (0..count).map(|number| format!("L{number:02}")).collect()
}

fn supplies(offers: &[Offer]) -> Vec<Supply<'_>> {
    let reagent =
        |offer: &Offer| if offer.form == Form::Solid { "potassium-permanganate" } else { "hydrogen-peroxide" };
    offers.iter().map(|offer| Supply { offer, reagent: reagent(offer) }).collect()
}

fn allotted(asked: &[Asked], offers: &[Offer]) -> Allotted {
    let lots = lots(asked.len());
    allot(&wants(asked, &lots), &supplies(offers)).expect("an allocation")
}

/// A bottle of 3 % peroxide that was tested well the day before, and keeps in the cold.
fn tested(number: usize, label: f64, left: f64) -> Offer {
    let days = vec![FIRST];
    let test = Some((FIRST - 1, 1.0, 0.01));
    Bottle { label, came: Condition::Opened, days, celsius: 2.0, test, left }.offer(number)
}

/// Dry permanganate, of which the same is known.
fn permanganate(number: usize, left: f64) -> Offer {
    Offer { form: Form::Solid, unit: "g".to_owned(), code: format!("PP-{number}"), ..tested(number, 0.98, left) }
}

fn median(offer: &Offer, day: NaiveDate) -> f64 {
    match &offer.standing {
        Standing::Known(known) => known.later(day).quantile(0.5) * offer.per_unit(),
        Standing::Unknown { .. } => panic!("all of these were tested"),
    }
}

/// Which baths got, at the median, all that their aim takes: rounding to a measure's step leaves 1.5 % at most here.
fn served(asked: &[Asked], offers: &[Offer]) -> BTreeMap<(usize, u32), bool> {
    let portions = allotted(asked, offers).portions;
    let full = portions.iter().map(|portion| {
        let (key, litres, _, days) = asked[portion.want];
        let wanted = bath(key, litres, 0.9).goal.aim.to_g_per_l() * litres;
        let grams = |dose: &brimstock::dip::Dose| {
            let offer = offers.iter().find(|offer| offer.code == dose.code).expect("a stock of the shelf");
            dose.amount * median(offer, date(FIRST + days))
        };
        let got: f64 = portion.plan.doses.iter().map(grams).sum();
        ((portion.want, portion.number), got >= 0.985 * wanted)
    });
    full.collect()
}

fn draws_within(allotted: &Allotted, asked: &[Asked], offers: &[Offer]) -> Result<(), TestCaseError> {
    let mut drawn = vec![0.0; offers.len()];
    let mut dosed: BTreeMap<&str, f64> = BTreeMap::new();
    for portion in &allotted.portions {
        for (stock, amount) in &portion.drawn {
            prop_assert!(*amount > 0.0 && offers[*stock].hold.is_none());
            drawn[*stock] += amount;
        }
        for dose in portion.plan.doses.iter().chain(&portion.neutraliser) {
            *dosed.entry(&dose.code).or_default() += dose.amount;
        }
        let (key, litres, _, _) = asked[portion.want];
        fits(&portion.plan, offers, &bath(key, litres, 0.9))?;
        sound(&portion.plan)?;
        // What is said to be ready can be stopped.
        if portion.plan.verdict == Verdict::Ready {
            prop_assert!(portion.stopping.as_ref().is_none_or(|stopping| stopping.enough()));
        }
    }
    for (offer, drawn) in offers.iter().zip(drawn) {
        prop_assert!(drawn <= offer.left * (1.0 + 1e-9), "{drawn} of {} from {}", offer.left, offer.code);
        let dosed = dosed.get(offer.code.as_str()).copied().unwrap_or_default();
        prop_assert!(dosed <= offer.left * (1.0 + 1e-9), "{dosed} dosed of {} from {}", offer.left, offer.code);
    }
    let count: u32 = asked.iter().map(|(_, _, count, _)| count).sum();
    prop_assert_eq!(allotted.portions.len(), count as usize);
    Ok(())
}

/// A use of a stock: the bath, and what of it is brought (grams it takes, grams that a unit of each stock brings).
struct Use {
    wanted: f64,
    per_unit: Vec<f64>,
    litres: Option<f64>,
}

/// True if some way to deal out every stock in eighths gives every use all it takes, and no bath more litres than it holds.
fn found_by_trying(uses: &[Use], offers: &[Offer]) -> bool {
    fn deal(
        uses: &[Use],
        offers: &[Offer],
        at: (usize, usize),
        parts: u32,
        got: &mut Vec<f64>,
        filled: &mut Vec<f64>,
    ) -> bool {
        let (stock, index) = at;
        if stock == offers.len() {
            return uses.iter().zip(got.iter()).all(|(wants, got)| *got >= wants.wanted)
                && uses
                    .iter()
                    .zip(filled.iter())
                    .all(|(wants, litres)| wants.litres.is_none_or(|room| *litres <= room));
        }
        if index == uses.len() {
            return deal(uses, offers, (stock + 1, 0), 8, got, filled);
        }
        let useless = uses[index].per_unit[stock] == 0.0;
        for part in 0..=(if useless { 0 } else { parts }) {
            let amount = offers[stock].left * f64::from(part) / 8.0;
            let (grams, litres) = (amount * uses[index].per_unit[stock], amount * offers[stock].litres_per_unit());
            got[index] += grams;
            filled[index] += litres;
            let found = deal(uses, offers, (stock, index + 1), parts - part, got, filled);
            got[index] -= grams;
            filled[index] -= litres;
            if found {
                return true;
            }
        }
        false
    }
    let (mut got, mut filled) = (vec![0.0; uses.len()], vec![0.0; uses.len()]);
    deal(uses, offers, (0, 0), 8, &mut got, &mut filled)
}

/// Every use of the shelf by these baths, one of each.
fn uses(asked: &[Asked], offers: &[Offer]) -> Vec<Use> {
    let lots = lots(asked.len());
    let mut uses = Vec::new();
    for want in wants(asked, &lots) {
        let supplies = supplies(offers);
        let brings = |reagent: &str, low: bool| {
            let of = |supply: &Supply<'_>| match &supply.offer.standing {
                _ if supply.reagent != reagent => 0.0,
                Standing::Known(known) => {
                    known.later(want.day).quantile(if low { 0.05 } else { 0.5 }) * supply.offer.per_unit()
                }
                Standing::Unknown { .. } => 0.0,
            };
            supplies.iter().map(of).collect::<Vec<f64>>()
        };
        let litres = Some(want.bath.volume.to_l());
        uses.push(Use { wanted: want.grams(), per_unit: brings(&want.bath.dip.reagent, false), litres });
        if let Some(stopping) = &want.stopping {
            let per_unit = brings(&stopping.neutraliser, true);
            uses.push(Use { wanted: stopping.planned.to_g(), per_unit, litres: None });
        }
    }
    uses
}

fn asked() -> impl Strategy<Value = Vec<Asked>> {
    let dip = prop_oneof![4 => peroxide_dip(), 1 => Just("permanganate-cysts")];
    prop::collection::vec((dip, 0.5..60.0_f64, 1_u32..6, 0_u64..60), 1..6)
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn no_stock_is_over_drawn(
        asked in asked(), bottles in prop::collection::vec(bottle(), 1..5), salt in prop::option::of(0.1..200.0_f64), held: bool,
    ) {
        let mut offers: Vec<Offer> = bottles.iter().enumerate().map(|(number, bottle)| bottle.offer(number)).collect();
        offers.extend(salt.map(|grams| permanganate(9, grams)));
        if held {
            offers[0].hold = Some("smells".to_owned());
        }
        draws_within(&allotted(&asked, &offers), &asked, &offers)?;
    }

    #[test]
    fn whatever_trying_finds_is_served(
        baths in prop::collection::vec((0..3_usize, 4.0..16.0_f64, 0_u64..40), 1..4),
        bottles in prop::collection::vec((prop_oneof![Just(17.0), Just(30.0), Just(110.0)], 0.2..1.6_f64), 1..3), salt in 0.05..0.4_f64,
    ) {
        let keys = ["peroxide-weak", "peroxide-strong", "permanganate-cysts"];
        let asked: Vec<Asked> = baths.iter().map(|(key, litres, days)| (keys[*key], *litres, 1, *days)).collect();
        let grams: f64 = asked.iter().filter(|(key, ..)| *key != keys[2]).map(|(key, litres, ..)| bath(key, *litres, 0.9).goal.aim.to_g_per_l() * litres).sum();
        // Bottles of about what all baths take, so that some shelves suffice and some do not.
        let bottle = |(number, (label, part)): (usize, &(f64, f64))| tested(number, *label, (grams.max(1.0) * part / label * 1e3).max(5.0));
        let mut offers: Vec<Offer> = bottles.iter().enumerate().map(bottle).collect();
        offers.push(permanganate(9, salt));
        let found = allotted(&asked, &offers);
        if found_by_trying(&uses(&asked, &offers), &offers) {
            prop_assert!(found.missing.is_empty(), "{:?}", found.missing);
            prop_assert!(found.portions.iter().all(|portion| !portion.plan.doses.is_empty()));
            prop_assert!(found.portions.iter().all(|portion| portion.plan.verdict < Verdict::Short), "{found:?}");
        }
        draws_within(&found, &asked, &offers)?;
    }

    #[test]
    fn more_stock_never_makes_more_equal_baths_short(
        litres in 4.0..30.0_f64, count in 1_u32..9, quarters in prop::collection::vec(1_u32..12, 1..4), which in 0..3_usize, more in 1_u32..8,
    ) {
        let asked = [("peroxide-weak", litres, count, 3)];
        let quarter = litres * 1.5 / 4.0 / 30.0 * 1e3;
        let stock = |(number, quarters): (usize, &u32)| tested(number, 30.0, quarter * f64::from(*quarters));
        let offers: Vec<Offer> = quarters.iter().enumerate().map(stock).collect();
        let mut larger = offers.clone();
        let which = which % larger.len();
        larger[which].left += quarter * f64::from(more);
        let short = |offers: &[Offer]| {
            let portions = allotted(&asked, offers).portions;
            portions.iter().filter(|portion| portion.plan.verdict >= Verdict::Short).count()
        };
        let (before, after) = (short(&offers), short(&larger));
        prop_assert!(after <= before, "{before} short became {after}");
    }

    /// Baths are served in the order of their days, the smaller of a day first: with more stock the first bath of that order
    /// whose fate changes is one that is served now. It may cost a later one.
    #[test]
    fn more_stock_never_costs_an_earlier_bath_its_own(
        baths in prop::collection::vec((prop::sample::select(vec![5.0, 10.0, 20.0]), 1_u32..3, 0_u64..3), 1..5),
        quarters in prop::collection::vec(1_u32..16, 1..4), more in 1_u32..8,
    ) {
        let asked: Vec<Asked> = baths.iter().map(|(litres, count, day)| ("peroxide-weak", *litres, *count, 20 * day)).collect();
        let quarter = 10.0 * 1.5 / 4.0 / 30.0 * 1e3;
        let stock = |(number, quarters): (usize, &u32)| tested(number, 30.0, quarter * f64::from(*quarters));
        let offers: Vec<Offer> = quarters.iter().enumerate().map(stock).collect();
        let mut larger = offers.clone();
        larger[0].left += quarter * f64::from(more);
        let (before, after) = (served(&asked, &offers), served(&asked, &larger));
        let mut order: Vec<&(usize, u32)> = before.keys().collect();
        order.sort_by(|a, b| {
            let key = |bath: &(usize, u32)| (asked[bath.0].3, asked[bath.0].1);
            key(a).partial_cmp(&key(b)).expect("numbers").then(a.cmp(b))
        });
        if let Some(first) = order.into_iter().find(|bath| before[*bath] != after[*bath]) {
            prop_assert!(after[first], "{first:?} was served with less: {before:?} {after:?}");
        }
    }

    #[test]
    fn the_order_of_the_rows_changes_nothing(
        baths in prop::collection::vec((5.0..20.0_f64, 1_u32..4, 0_u64..3), 2..6), parts in prop::collection::vec(20.0..500.0_f64, 1..4),
    ) {
        let asked: Vec<Asked> = baths.iter().map(|(litres, count, day)| ("peroxide-weak", *litres, *count, 20 * day)).collect();
        let offers: Vec<Offer> = parts.iter().enumerate().map(|(number, left)| tested(number, 30.0, *left)).collect();
        let lots = lots(asked.len());
        let fate = |wants: &[Want<'_>], offers: &[Offer]| {
            let allotted = allot(wants, &supplies(offers)).expect("an allocation");
            let fate = allotted.portions.iter().map(|portion| {
                let doses: Vec<(String, f64)> = portion.plan.doses.iter().map(|dose| (dose.code.clone(), dose.amount)).collect();
                ((wants[portion.want].lot.to_owned(), portion.number), (portion.plan.verdict, doses))
            });
            fate.collect::<BTreeMap<_, _>>()
        };
        let mut wants = wants(&asked, &lots);
        let forth = fate(&wants, &offers);
        wants.reverse();
        let back: Vec<Offer> = offers.iter().rev().cloned().collect();
        prop_assert_eq!(forth, fate(&wants, &back));
    }
}

/// 3 L of bath at 1.5 g/L from 30 g/L take 150 mL, to the last drop of what is there, and not a drop more for the second.
#[test]
fn exactly_enough_for_one_serves_one() {
    let day = date(FIRST + 2);
    let offer = |part: f64| {
        let full = tested(1, 30.0, 1.0);
        Offer { left: part * 3.0 * 1.5 / median(&full, day), ..full }
    };
    let verdicts = |part: f64| {
        let portions = allotted(&[("peroxide-weak", 3.0, 2, 2)], &[offer(part)]).portions;
        portions.iter().map(|portion| portion.plan.verdict).collect::<Vec<_>>()
    };
    assert_eq!(verdicts(1.0), [Verdict::Ready, Verdict::Short]);
    assert_eq!(verdicts(2.0), [Verdict::Ready, Verdict::Ready]);
    // Far below the aim neither band nor chance is reached.
    assert_eq!(verdicts(0.7), [Verdict::Short, Verdict::Short]);
    // A little below it one bath alone would be ready, and so it is here.
    assert_eq!(verdicts(0.95), [Verdict::Ready, Verdict::Short]);
}

/// One bottle of peroxide is wanted as a dip and to stop a permanganate bath: both together cannot have it.
#[test]
fn one_bottle_is_reagent_and_neutraliser_once() {
    let dips = [("permanganate-cysts", 10.0, 1, 1), ("peroxide-weak", 10.0, 1, 1)];
    let day = date(FIRST + 1);
    let lots = lots(2);
    let stop = wants(&dips, &lots)[0].stopping.as_ref().expect("a neutraliser").planned.to_g();
    let Standing::Known(known) = tested(1, 30.0, 1.0).standing else { panic!("tested") };
    let stop_ml = 1e3 * stop / known.later(day).quantile(0.05);
    let dip_ml = 1e3 * 15.0 / known.later(day).quantile(0.5);
    for (ml, fate) in [(1.001 * (stop_ml + dip_ml), [Verdict::Ready; 2]), (0.9 * stop_ml, [Verdict::Short; 2])] {
        let offers = [tested(1, 30.0, ml), permanganate(2, 5.0)];
        let verdicts: Vec<Verdict> =
            allotted(&dips, &offers).portions.iter().map(|portion| portion.plan.verdict).collect();
        assert_eq!(verdicts, fate, "{ml} mL");
    }
}
