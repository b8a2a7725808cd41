//! What given stocks can do for one bath on one day: amounts, chance and verdict.

use super::measure::{Bench, Measured, measured};
use super::{Bath, Dose, Offer, Plan, Verdict};
use crate::catalogue::Form;
use crate::decay::mixture::Mixture;
use crate::units::Volume;
use crate::units::estimate::Estimate;
use crate::units::show;

/// How much chance one gives up at most for staying on the dip's aim.
const WORTH_MOVING: f64 = 0.01;

/// A median is known to such a share of its width, and so is a chance around it.
const AS_GOOD_AS: f64 = 1e-6;

/// One stock with what it holds on the day in question.
#[derive(Debug, Clone)]
pub struct Source<'a> {
    /// The stock.
    pub offer: &'a Offer,
    /// Its content on that day, if there is an estimate.
    pub content: Option<Mixture>,
}

/// The plan for a bath from exactly these stocks, oldest first; what may not be used has been left out.
///
/// The amount puts the bath's median on the dip's aim, or, where that gains more than one point of chance, where the chance
/// of the band is greatest. The bath's strength is `sum(C_i a_i) / V`; of several stocks mean and variance add and a
/// log-normal of the same moments stands for the sum. Measure and vessel add their own errors.
///
/// - `ready`: the chance is at least the threshold.
/// - `short`: the chance that the stocks hold enough for the band's lower end is below one minus the threshold.
/// - `too weak`: the chance that they are as strong as the band's lower end, undiluted, is below that.
/// - `test first`: anything between, whatever has no estimate, and a `ready` whose estimate is known to leave something out.
///
/// Source: `facts-posterior`, `judgement` (what counts as sure).
#[must_use]
pub fn plan(bath: &Bath<'_>, sources: &[Source<'_>], bench: &Bench<'_>) -> Plan {
    let Some(stocks) = sources.iter().map(Stock::of).collect::<Option<Vec<_>>>() else {
        return without_estimate(bath, sources);
    };
    let pool = Pool { bath, stocks, bench };
    let litres = bath.volume.to_l();
    let (low, aim) = (bath.goal.low.to_g_per_l(), bath.goal.aim.to_g_per_l());
    let sure = 1.0 - bath.threshold;

    let most = pool.all();
    let portion = pool.portion(pool.likeliest(pool.chance(aim)).0);
    let largest = pool.median_grams(&most) / aim;
    let mut reasons = Vec::new();
    let undiluted = pool.undiluted();
    let verdict = if undiluted.at_least(low) < sure {
        reasons.push(format!(
            "undiluted it holds {} g/L; the dip wants at least {} g/L",
            show::with_band(band(&undiluted)),
            show::plain(low)
        ));
        Verdict::TooWeak
    } else if pool.grams(&most).at_least(low * litres) < sure {
        reasons.push(format!(
            "in {} there are about {} g of reagent, the bath takes {}",
            pool.names(),
            show::significant(pool.median_grams(&most), 2),
            show::grams(aim * litres)
        ));
        Verdict::Short
    } else if portion.chance >= bath.threshold {
        let doubts = pool.stocks.iter().filter_map(|stock| stock.offer.doubt.clone());
        reasons.extend(doubts);
        if reasons.is_empty() { Verdict::Ready } else { Verdict::TestFirst }
    } else {
        reasons.push(pool.doubt(&portion));
        reasons.extend(pool.stocks.iter().filter_map(|stock| stock.offer.doubt.clone()));
        Verdict::TestFirst
    };
    let largest = if undiluted.quantile(0.5) < aim { 0.0 } else { largest };
    Plan {
        verdict,
        chance: Some(portion.chance),
        water: Volume::l((litres - pool.litres(&portion.amounts)).max(0.0)),
        bath: Some(band(&portion.bath).spread(portion.measuring_sd)),
        doses: pool.doses(&portion),
        largest: Volume::l(largest),
        reasons,
        until: None,
    }
}

/// True if [`plan`] would say `ready`: the same rules, without amounts, words and bands.
#[must_use]
pub fn is_ready(bath: &Bath<'_>, sources: &[Source<'_>], bench: &Bench<'_>) -> bool {
    to_spare(bath, sources, bench) >= 0.0
}

/// By how much the chance of the band passes the threshold; below zero where [`plan`] would not say `ready`.
#[must_use]
pub fn to_spare(bath: &Bath<'_>, sources: &[Source<'_>], bench: &Bench<'_>) -> f64 {
    let stocks = sources.iter().map(Stock::of).collect::<Option<Vec<_>>>();
    let Some(stocks) = stocks.filter(|stocks| stocks.iter().all(|stock| stock.offer.doubt.is_none())) else {
        return -1.0;
    };
    let pool = Pool { bath, stocks, bench };
    let aim = bath.goal.aim.to_g_per_l();
    // A chance above the threshold already says that there is enough of it and that it is strong enough.
    let on_aim = pool.chance(aim);
    let best =
        if on_aim < bath.threshold && pool.may_reach(bath.threshold) { pool.likeliest(on_aim).1 } else { on_aim };
    best - bath.threshold
}

fn without_estimate(bath: &Bath<'_>, sources: &[Source<'_>]) -> Plan {
    let aim = bath.goal.aim.to_g_per_l();
    let mut reasons = Vec::new();
    let mut promised = 0.0;
    for source in sources {
        let offer = source.offer;
        promised += offer.left * offer.per_unit() * offer.label;
        if let crate::decay::posterior::Standing::Unknown { why, .. } = &offer.standing {
            reasons.push(format!("{}: {}", offer.code, why.trim_end_matches('.')));
        }
    }
    let too_weak = sources
        .iter()
        .all(|source| source.offer.form == Form::Solution && source.offer.label < bath.goal.low.to_g_per_l());
    let verdict = if too_weak {
        reasons.push("even its label is below the dip's band".to_owned());
        Verdict::TooWeak
    } else if promised < bath.goal.low.to_g_per_l() * bath.volume.to_l() {
        reasons.push(format!(
            "even by the labels there are only {} of reagent, the bath takes {}",
            show::grams(promised),
            show::grams(aim * bath.volume.to_l())
        ));
        Verdict::Short
    } else {
        Verdict::TestFirst
    };
    Plan::without_doses(verdict, bath, Volume::l(if too_weak { 0.0 } else { promised / aim }), reasons)
}

struct Stock<'a> {
    offer: &'a Offer,
    content: &'a Mixture,
    median: f64,
}

impl<'a> Stock<'a> {
    fn of(source: &'a Source<'a>) -> Option<Self> {
        let content = source.content.as_ref()?;
        Some(Stock { offer: source.offer, content, median: content.quantile(0.5) })
    }
}

struct Pool<'a> {
    bath: &'a Bath<'a>,
    stocks: Vec<Stock<'a>>,
    bench: &'a Bench<'a>,
}

/// Amounts measured out for a bath.
struct Portion {
    measures: Vec<Measured>,
    amounts: Vec<f64>,
    /// Relative standard deviation of measures and vessel together.
    measuring_sd: f64,
    /// The bath's strength without that error.
    bath: Mixture,
    /// The chance of the band, with it.
    chance: f64,
}

impl Pool<'_> {
    fn names(&self) -> String {
        if self.stocks.len() > 3 {
            return format!("{} stocks together", self.stocks.len());
        }
        self.stocks.iter().map(|stock| stock.offer.code.as_str()).collect::<Vec<_>>().join(" and ")
    }

    fn all(&self) -> Vec<f64> {
        self.stocks.iter().map(|stock| stock.offer.left).collect()
    }

    fn median_grams(&self, amounts: &[f64]) -> f64 {
        self.stocks.iter().zip(amounts).map(|(stock, amount)| amount * stock.offer.per_unit() * stock.median).sum()
    }

    fn litres(&self, amounts: &[f64]) -> f64 {
        self.stocks.iter().zip(amounts).map(|(stock, amount)| amount * stock.offer.litres_per_unit()).sum()
    }

    /// Grams of reagent in these amounts.
    fn grams(&self, amounts: &[f64]) -> Mixture {
        if let ([stock], [amount]) = (&self.stocks[..], amounts) {
            return stock.content.times(amount * stock.offer.per_unit());
        }
        let (mut mean, mut variance) = (0.0, 0.0);
        for (stock, amount) in self.stocks.iter().zip(amounts) {
            let factor = amount * stock.offer.per_unit();
            let (one_mean, one_variance) = stock.content.moments();
            mean += factor * one_mean;
            variance += factor * factor * one_variance;
        }
        let sd_ln = libm::sqrt(libm::log1p(variance / (mean * mean)));
        Mixture::log_normal(libm::log(mean) - 0.5 * sd_ln * sd_ln, sd_ln)
    }

    /// What all of it holds undiluted, grams in a litre; a solid is as strong as one likes.
    fn undiluted(&self) -> Mixture {
        let amounts: Vec<f64> = self.stocks.iter().map(|stock| stock.offer.left.max(1e-9)).collect();
        let litres = self.litres(&amounts);
        let grams = self.grams(&amounts);
        if litres > 0.0 { grams.times(1.0 / litres) } else { grams.times(1e6) }
    }

    /// Amounts with this median mass of reagent, the first stocks emptied first, capped by what is there and fits in.
    fn amounts(&self, grams: f64) -> Vec<f64> {
        let mut missing = grams;
        let mut room = self.bath.volume.to_l();
        self.stocks
            .iter()
            .map(|stock| {
                let grams_per_unit = stock.offer.per_unit() * stock.median;
                let mut amount = (missing / grams_per_unit).min(stock.offer.left).max(0.0);
                let litres_per_unit = stock.offer.litres_per_unit();
                if litres_per_unit > 0.0 {
                    amount = amount.min(room / litres_per_unit).max(0.0);
                    room -= amount * litres_per_unit;
                }
                missing -= amount * grams_per_unit;
                amount
            })
            .collect()
    }

    /// The median strength to measure out, grams in a litre, with its chance: the aim, or what is likelier to land in the band.
    fn likeliest(&self, on_aim: f64) -> (f64, f64) {
        let aim = self.bath.goal.aim.to_g_per_l();
        if on_aim >= 1.0 - WORTH_MOVING {
            return (aim, on_aim);
        }
        // Golden section over the logarithm of the bath's median.
        let ratio = 0.618_033_988_749_894_9;
        let (mut a, mut b) =
            (libm::log(0.5 * self.bath.goal.low.to_g_per_l()), libm::log(2.0 * self.bath.goal.high.to_g_per_l()));
        // Of a single stock a rough picture of its content shows where to look.
        let rough = match &self.stocks[..] {
            [stock] => Some((stock, stock.content.roughly())),
            _ => None,
        };
        let at = |x: f64| match &rough {
            Some((stock, content)) => self.chance_of(stock, content, libm::exp(x)),
            None => self.chance(libm::exp(x)),
        };
        let (mut c, mut d) = (b - ratio * (b - a), a + ratio * (b - a));
        let (mut at_c, mut at_d) = (at(c), at(d));
        for _ in 0..14 {
            if at_c >= at_d {
                (b, d, at_d) = (d, c, at_c);
                c = b - ratio * (b - a);
                at_c = at(c);
            } else {
                (a, c, at_c) = (c, d, at_d);
                d = a + ratio * (b - a);
                at_d = at(d);
            }
        }
        let best = libm::exp(if at_c >= at_d { c } else { d });
        let chance = self.chance(best);
        if chance > on_aim + WORTH_MOVING { (best, chance) } else { (aim, on_aim) }
    }

    /// False if no amount at all could give this chance, and a glance is enough to see it.
    ///
    /// A band that holds more than half of a content holds its median, so it lies within its own width on both sides of that; and
    /// no band holds more once an error of measuring blurs the content.
    fn may_reach(&self, chance: f64) -> bool {
        let [Stock { content, median, .. }] = &self.stocks[..] else { return true };
        let width = self.bath.goal.high.to_g_per_l() / self.bath.goal.low.to_g_per_l();
        chance <= 0.5 || content.between(median / width, median * width, 0.0) >= chance - AS_GOOD_AS
    }

    /// What comes of measuring out this median strength, grams in a litre.
    fn portion(&self, strength: f64) -> Portion {
        let (measures, measuring_sd) = self.measured(strength);
        let amounts: Vec<f64> = measures.iter().map(|measure| measure.amount).collect();
        let bath = self.grams(&amounts).times(1.0 / self.bath.volume.to_l());
        let goal = &self.bath.goal;
        let chance = bath.between(goal.low.to_g_per_l(), goal.high.to_g_per_l(), measuring_sd);
        Portion { measures, amounts, measuring_sd, bath, chance }
    }

    /// The chance of [`Pool::portion`] alone.
    fn chance(&self, strength: f64) -> f64 {
        match &self.stocks[..] {
            [stock] => self.chance_of(stock, stock.content, strength),
            _ => self.portion(strength).chance,
        }
    }

    /// The chance of the only stock, if this is its content: the band is moved, not the distribution.
    fn chance_of(&self, stock: &Stock<'_>, content: &Mixture, strength: f64) -> f64 {
        let (measures, measuring_sd) = self.measured(strength);
        let grams: f64 = measures.iter().map(|measure| measure.amount * stock.offer.per_unit()).sum();
        let times = self.bath.volume.to_l() / grams;
        let goal = &self.bath.goal;
        content.between(goal.low.to_g_per_l() * times, goal.high.to_g_per_l() * times, measuring_sd)
    }

    /// How this median strength is measured out, and the relative standard deviation of measures and vessel.
    fn measured(&self, strength: f64) -> (Vec<Measured>, f64) {
        let litres = self.bath.volume.to_l();
        let measures: Vec<Measured> = self
            .stocks
            .iter()
            .zip(self.amounts(strength * litres))
            .map(|(stock, wanted)| measured(wanted, stock.offer.left, 1000.0 * litres, stock.offer.form, self.bench))
            .collect();
        let used = measures.iter().filter(|measure| measure.amount > 0.0);
        let error = used.map(|measure| measure.relative_sd).fold(0.0, f64::max);
        let measuring_sd = libm::hypot(error, self.bench.vessel_sd);
        (measures, measuring_sd)
    }

    fn doses(&self, portion: &Portion) -> Vec<Dose> {
        let pairs = self.stocks.iter().zip(&portion.measures).filter(|(_, measure)| measure.amount > 0.0);
        pairs
            .map(|(stock, measure)| Dose {
                code: stock.offer.code.clone(),
                amount: measure.amount,
                unit: stock.offer.unit.clone(),
                measure: measure.words.clone(),
                tool: measure.tool,
                coarse: measure.coarse,
                own: measure.own.clone(),
                stock_solution: measure.stock_solution.clone(),
            })
            .collect()
    }

    /// Why the chance is not what the keeper wants.
    fn doubt(&self, portion: &Portion) -> String {
        let wanted = show::chance(self.bath.threshold);
        let chance = match show::chance(portion.chance) {
            same if same == wanted => format!("just under {same}"),
            other => other,
        };
        let goal = &self.bath.goal;
        let (low, aim, high) = (goal.low.to_g_per_l(), goal.aim.to_g_per_l(), goal.high.to_g_per_l());
        let if_known = Mixture::log_normal(libm::log(aim), 0.0).between(low, high, portion.measuring_sd);
        let there = self.median_grams(&self.all());
        let wanted_grams = aim * self.bath.volume.to_l();
        if there < wanted_grams {
            return format!(
                "chance of landing in the band {chance}, {wanted} wanted: there are about {} g of reagent, the bath takes {}",
                show::significant(there, 2),
                show::grams(wanted_grams)
            );
        }
        if if_known < self.bath.threshold {
            return format!(
                "chance of landing in the band {chance}, {wanted} wanted: the measures are too coarse for it; make a weaker stock of it first (`brimstock decant`)"
            );
        }
        format!("chance of landing in the band {chance}, {wanted} wanted: the strength is not known well enough")
    }
}

fn band(mixture: &Mixture) -> Estimate {
    Estimate { low: mixture.quantile(0.05), mid: mixture.quantile(0.5), high: mixture.quantile(0.95) }
}
