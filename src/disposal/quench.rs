//! How a used, weak bath is ended: what it takes, what there is of it, how warm it gets, what may be left over.
//!
//! Nothing here is for bottles, powders or stock: above a treatment's limit, and where it would get hot, there is no dose.

use super::balance::{BalanceError, grams_per_gram, species_mass};
use crate::catalogue::{CountedAs, Figure, Form, Measuring, Reaction, Reagent, TakenFor, Treatment, Use};
use crate::chem::formula::molar_mass;
use crate::decay::posterior::Standing;
use crate::dip::measure::measured_up;
use crate::dip::{Dose, Offer};
use crate::units::estimate::Estimate;
use crate::units::show;
use crate::units::step::Step;
use crate::units::{Mass, Volume};

/// Heat that warms a litre of water by a kelvin, kJ.
/// Source: `memory`.
const KJ_PER_L_AND_K: f64 = 4.18;

/// A bath that would warm by more than this is not ended, K.
/// Source: `judgement`.
pub const MOST_WARMING_K: f64 = 10.0;

/// A bath of up to this many times the limit is thinned and asked about again; beyond it nobody is told how.
/// Source: `judgement`.
const THINNED_UP_TO: f64 = 2.0;

/// Share of a limit that rounding may bring above it.
const ROUNDING: f64 = 1e-9;

/// What can be done with a used bath.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// There is a way, and enough of what it takes.
    CanBeEnded,
    /// There is a way, and not enough of what it takes.
    Short,
    /// Not like this.
    Refused,
    /// Nothing on file ends it.
    Untreatable,
}

impl Verdict {
    /// The words printed.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Verdict::CanBeEnded => "can be ended",
            Verdict::Short => "short",
            Verdict::Refused => "refused",
            Verdict::Untreatable => "untreatable",
        }
    }
}

/// A used bath.
#[derive(Debug, Clone, Copy)]
pub struct Used<'a> {
    /// What it was made from.
    pub reagent: &'a Reagent,
    /// How a weak bath of it is ended.
    pub treatment: &'a Treatment,
    /// What it may hold, g/L of what the treatment counts.
    pub strength: Estimate,
    /// How much there is of it.
    pub volume: Volume,
}

/// A way to end it: a neutraliser, or time alone, and every reaction of the two that is on file.
#[derive(Debug, Clone)]
pub struct Way<'a> {
    /// What does it; nothing where it falls apart by itself.
    pub neutraliser: Option<&'a Reagent>,
    /// The reactions.
    pub routes: Vec<&'a Reaction>,
}

/// What a bath takes of a neutraliser, and what there is.
#[derive(Debug, Clone, PartialEq)]
pub struct Needed {
    /// Key of the neutraliser.
    pub neutraliser: String,
    /// By the equation that is planned with.
    pub theory: Mass,
    /// By the route that takes least.
    pub theory_low: Mass,
    /// By the route that takes most.
    pub theory_high: Mass,
    /// To plan with.
    pub planned: Mass,
    /// What may be used of the shelf, counted at the low end of its strength.
    pub held: Mass,
    /// What to measure out of which stock; none where there is not enough.
    pub doses: Vec<Dose>,
    /// The largest bath of this strength that the shelf can end.
    pub largest: Volume,
    /// What may be left in the bath if no more than the least was used up, mg/L.
    pub left_over_mg_per_l: f64,
    /// What that is milligrams of: `S2O3--`.
    pub left_over_as: String,
}

impl Needed {
    /// True if the shelf has enough.
    #[must_use]
    pub fn enough(&self) -> bool {
        self.held.to_g() >= self.planned.to_g()
    }

    /// What is missing.
    #[must_use]
    pub fn missing(&self) -> Mass {
        Mass::g((self.planned.to_g() - self.held.to_g()).max(0.0))
    }
}

/// A bath thinned with water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thinned {
    /// How much there is of it then.
    pub volume: Volume,
    /// How strong it is then, g/L of what the treatment counts.
    pub g_per_l: f64,
}

/// How a bath is ended, or why not.
#[derive(Debug, Clone, PartialEq)]
pub struct Ending {
    /// What can be done.
    pub verdict: Verdict,
    /// Why the verdict is what it is.
    pub reasons: Vec<String>,
    /// Grams to destroy.
    pub destroy: Estimate,
    /// What it takes; nothing for a refusal and where it is left to stand.
    pub needed: Option<Needed>,
    /// How much it would warm if all reacted at once, K, at the high end; nothing without a reaction on file.
    pub heat_k: Option<f64>,
    /// What is formed, by the route that is planned with.
    pub formed: Option<String>,
    /// True above the treatment's limit.
    pub too_strong: bool,
    /// What it could be thinned to with water before anything else, where that is of use.
    pub thin_to: Option<Thinned>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// How the numbers came about; no dose in those of a refusal.
    pub steps: Vec<Step>,
}

/// How a used bath is ended with a neutraliser or by standing, or why it is not.
///
/// Refused above the treatment's limit, without a reaction to plan with, and where it would warm by more than 10 K if all
/// reacted at once: that standing takes days is what is hoped for, dirt or metal can make minutes of them. The high end of the
/// bath's strength counts for what is needed, for the limit and for the heat, the low end for what may be left over.
///
/// 20 L at 25 mg/L permanganate hold 0.5 g: 1.39 g of ascorbic acid by theory, 1.67 planned.
///
/// # Errors
/// [`BalanceError`] for an equation of the data that cannot be read; a test reads every one.
///
/// Source: the treatment's and the reactions' own.
pub fn end(used: &Used<'_>, way: &Way<'_>, offers: &[Offer], measuring: &Measuring) -> Result<Ending, BalanceError> {
    let strength = used.strength;
    let destroy = strength.scaled(used.volume.to_l());
    let planned = way.routes.iter().find(|route| route.purpose == Use::Planned).copied();
    let mut ending = Ending {
        verdict: Verdict::Refused,
        reasons: Vec::new(),
        destroy,
        needed: None,
        heat_k: warming(strength.high, &way.routes),
        formed: planned.or(way.routes.first().copied()).map(|route| route.formed.clone()),
        too_strong: false,
        thin_to: None,
        assumed: Vec::new(),
        steps: vec![destroyed_step(used, destroy)],
    };
    ending.steps.extend(heat_step(strength.high, &way.routes));
    too_strong(used, &mut ending);
    no_way(used, way, planned, &mut ending);
    too_hot(used, way, &mut ending);
    let Some(planned) = planned.filter(|_| ending.reasons.is_empty()) else { return Ok(ending) };
    ending.verdict = Verdict::CanBeEnded;
    let Some(neutraliser) = way.neutraliser else { return Ok(ending) };

    let mut theory = Vec::new();
    for route in way.routes.iter().filter(|route| route.purpose != Use::Information) {
        let ratio = grams_per_gram(route, used.reagent, neutraliser)?;
        theory.push(ratio);
        ending.steps.push(
            Step::new(
                format!("{}: {} g of {} to 1 g", route.equation, show::plain(ratio), neutraliser.key),
                route.source.clone(),
            )
            .of(ratio, "g/g"),
        );
    }
    let least = theory.iter().copied().fold(f64::INFINITY, f64::min);
    let most = theory.iter().copied().fold(0.0, f64::max);
    let by_equation = grams_per_gram(planned, used.reagent, neutraliser)?;
    let (ratio, source, said) = planned_ratio(planned, by_equation);
    let amount = ratio * destroy.high;
    ending.steps.push(Step::new(said, source).of(amount, "g"));
    let held = on_shelf(offers, &mut ending.assumed);
    let needed = Needed {
        neutraliser: neutraliser.key.clone(),
        theory: Mass::g(by_equation * destroy.high),
        theory_low: Mass::g(least * destroy.high),
        theory_high: Mass::g(most * destroy.high),
        planned: Mass::g(amount),
        held: Mass::g(held.iter().map(|stock| stock.grams).sum()),
        doses: doses(amount, &held, measuring),
        largest: Volume::l(used.volume.to_l() * held.iter().map(|stock| stock.grams).sum::<f64>() / amount),
        left_over_mg_per_l: left_over(planned, neutraliser, amount - least * destroy.low)? / used.volume.to_l(),
        left_over_as: planned.reducer.clone().unwrap_or_default(),
    };
    if !needed.enough() {
        ending.verdict = Verdict::Short;
        ending.reasons.push(shortage(&needed));
    }
    ending.needed = Some(needed);
    Ok(ending)
}

/// How much a bath would warm if all of it reacted at once: `c q / 4.18`, of the hottest route that is on file.
///
/// 30 g/L of peroxide with bisulfite, 11.1 kJ/g: 80 K; by itself, 2.78 kJ/g: 20 K.
///
/// Source: the reactions' own; the heat capacity of water, `memory`.
#[must_use]
pub fn warming(g_per_l: f64, routes: &[&Reaction]) -> Option<f64> {
    hottest(routes.iter().copied()).map(|heat| g_per_l * heat.value / KJ_PER_L_AND_K)
}

/// The heat of the route that gives most, kJ for a gram destroyed.
#[must_use]
pub fn hottest<'a>(routes: impl Iterator<Item = &'a Reaction>) -> Option<&'a Figure> {
    let heats = routes.filter_map(|route| route.heat.as_ref());
    heats.reduce(|most, next| if next.value > most.value { next } else { most })
}

/// The thing on file that is no neutraliser and is sold or written down under a name like one: bisulfate for bisulfite.
///
/// Source: `words` of `[[taken_for]]` of the reagents.
#[must_use]
pub fn mistaken<'a>(reagents: impl Iterator<Item = &'a Reagent>, word: &str) -> Option<&'a TakenFor> {
    let plain: String = word.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
    let plain = plain.replace("sulph", "sulf");
    let mut rows = reagents.flat_map(|reagent| &reagent.taken_for);
    rows.find(|row| row.words.iter().any(|word| plain.contains(word)))
}

/// What is counted, in words.
#[must_use]
pub fn counted_words(treatment: &Treatment) -> &str {
    match treatment.counted_as {
        CountedAs::Reagent => &treatment.reagent,
        CountedAs::AvailableChlorine => "available chlorine",
    }
}

fn destroyed_step(used: &Used<'_>, destroy: Estimate) -> Step {
    let (what, litres) = (counted_words(used.treatment), used.volume.to_l());
    let said = format!(
        "{} g/L of {what} at the high end × {} L = {}",
        show::plain(used.strength.high),
        show::plain(litres),
        show::grams(destroy.high)
    );
    Step::new(said, "definition").of(destroy.high, "g")
}

fn heat_step(g_per_l: f64, routes: &[&Reaction]) -> Option<Step> {
    let warming = warming(g_per_l, routes)?;
    let heat = hottest(routes.iter().copied())?;
    let said = format!(
        "{} g/L × {} kJ/g / {KJ_PER_L_AND_K} kJ for a litre and a kelvin: {} K if all reacted at once",
        show::plain(g_per_l),
        show::plain(heat.value),
        show::significant(warming, 2)
    );
    Some(Step::new(said, heat.source.clone()).of(warming, "K"))
}

/// Above the treatment's limit.
fn too_strong(used: &Used<'_>, ending: &mut Ending) {
    let (high, limit) = (used.strength.high, &used.treatment.up_to);
    ending.steps.push(
        Step::new(format!("the strongest that is ended at home: {} g/L", show::plain(limit.value)), &limit.source)
            .of(limit.value, "g/L"),
    );
    if high <= limit.value * (1.0 + ROUNDING) {
        return;
    }
    ending.too_strong = true;
    ending.reasons.push(format!(
        "it may hold {} g/L of {}; {} g/L is the strongest bath that is ended at home",
        show::plain(high),
        counted_words(used.treatment),
        show::plain(limit.value)
    ));
    ending.reasons.push(used.treatment.above.clone());
    if high <= limit.value * THINNED_UP_TO {
        let litres = used.volume.to_l() * high / limit.value;
        ending.thin_to =
            Some(Thinned { volume: Volume::l(libm::ceil(litres * 10.0 - 1e-6) / 10.0), g_per_l: limit.value });
    }
}

/// Nothing on file, or nothing that is planned with.
fn no_way(used: &Used<'_>, way: &Way<'_>, planned: Option<&Reaction>, ending: &mut Ending) {
    let Some(neutraliser) = way.neutraliser.filter(|_| planned.is_none()) else { return };
    let (one, other) = (&neutraliser.key, &used.reagent.key);
    ending.reasons.push(match way.routes.first() {
        Some(route) => {
            format!("that {one} ends {other} is on file to be known, not to be done: it makes {}", route.formed)
        }
        None => format!("no reaction on file in which {one} ends {other}; one thing is never put in place of another"),
    });
}

/// Too warm, with a neutraliser or by itself: the heat of the whole bath at once is what counts.
///
/// 18 g/L of standing peroxide, 12 K: thinned to 15 g/L it stays below 10.
fn too_hot(used: &Used<'_>, way: &Way<'_>, ending: &mut Ending) {
    let Some(warming) = ending.heat_k.filter(|warming| *warming > MOST_WARMING_K * (1.0 + ROUNDING)) else { return };
    let times = warming / MOST_WARMING_K;
    let high = used.strength.high;
    let under = down(high / times);
    // Two figures that would read as the bound itself are said to lie above it.
    let two = show::significant(warming, 2);
    let warming = if two == show::plain(MOST_WARMING_K) { format!("just over {two}") } else { two };
    // What is stronger than a weak bath is not talked into one.
    let within = high <= used.treatment.up_to.value * (1.0 + ROUNDING);
    let thinned = if within {
        format!(
            "; thinned with water to about {} g/L, {} times its volume, it would stay below",
            show::plain(under),
            show::plain(libm::ceil(times * 10.0 - 1e-6) / 10.0)
        )
    } else {
        String::new()
    };
    let Some(neutraliser) = way.neutraliser else {
        ending.reasons.push(format!(
            "falling apart all at once, as dirt or metal can make it, it would warm by {warming} K, and {MOST_WARMING_K} K is the most here{thinned}"
        ));
        if within || ending.thin_to.is_some() {
            let litres = used.volume.to_l() * high / under;
            let volume = Volume::l(libm::ceil(litres * 10.0 - 1e-6) / 10.0);
            ending.thin_to = Some(Thinned { volume, g_per_l: under });
        }
        return;
    };
    ending.reasons.push(format!(
        "with {} it would warm by {warming} K, and {MOST_WARMING_K} K is the most here{thinned}",
        neutraliser.key
    ));
}

/// Two figures, never more than the value.
fn down(value: f64) -> f64 {
    let step = libm::pow(10.0, libm::floor(libm::log10(value)) - 1.0);
    libm::floor(value / step + 1e-9) * step
}

/// Grams to a gram to plan with, its source, and how it was had.
fn planned_ratio(planned: &Reaction, by_equation: f64) -> (f64, String, String) {
    match (&planned.planned_g_per_g, &planned.planned) {
        (Some(figure), _) => {
            let said = format!("planned: {} g to 1 g", show::plain(figure.value));
            (figure.value, figure.source.clone(), said)
        }
        (None, Some(factor)) => {
            let said = format!("planned: theory × {}", show::plain(factor.value));
            (by_equation * factor.value, factor.source.clone(), said)
        }
        (None, None) => (by_equation, planned.source.clone(), "planned: theory".to_owned()),
    }
}

/// Milligrams of the reducing species in grams of its salt: 1.305 g of thiosulfate pentahydrate hold 590 mg of the ion.
fn left_over(planned: &Reaction, neutraliser: &Reagent, grams: f64) -> Result<f64, BalanceError> {
    let (Some(reducer), Some(reducers)) = (&planned.reducer, planned.reducer_per_formula) else { return Ok(0.0) };
    let share = reducers * species_mass(reducer)? / molar_mass(&neutraliser.formula.value)?.to_g_per_mol();
    Ok(1000.0 * grams.max(0.0) * share)
}

/// A stock that may be used, with the grams of neutraliser that it holds at the least.
struct Held<'a> {
    offer: &'a Offer,
    per_unit: f64,
    grams: f64,
}

/// What may be used of the shelf, oldest first. A solid without a rate counts as its label says and is named; a solution
/// without one, and what is held, counts as nothing.
fn on_shelf<'a>(offers: &'a [Offer], assumed: &mut Vec<String>) -> Vec<Held<'a>> {
    let mut held = Vec::new();
    for offer in offers {
        let code = &offer.code;
        let per_unit = match (&offer.hold, &offer.standing, offer.form) {
            (Some(why), ..) => {
                assumed.push(format!("{code} is held and not counted: {why}"));
                continue;
            }
            (None, Standing::Known(known), form) => {
                let content = known.content.quantile(0.05);
                offer.per_unit() * if form == Form::Solid { content.min(1.0) } else { content }
            }
            (None, Standing::Unknown { .. }, Form::Solid) => {
                assumed.push(format!(
                    "{code} counted as its label says: how much of it is still good nobody knows without a test"
                ));
                offer.label
            }
            (None, Standing::Unknown { .. }, Form::Solution) => {
                assumed.push(format!("{code} not counted: how strong it still is nobody knows without a test"));
                continue;
            }
        };
        if per_unit > 0.0 && offer.left > 0.0 {
            assumed.extend(offer.doubt.clone());
            held.push(Held { offer, per_unit, grams: per_unit * offer.left });
        }
    }
    held.sort_by(|a, b| (a.offer.received, &a.offer.code).cmp(&(b.offer.received, &b.offer.code)));
    held
}

/// What to measure out: the oldest stock that has enough, else one after the other.
fn doses(grams: f64, held: &[Held<'_>], measuring: &Measuring) -> Vec<Dose> {
    if held.iter().map(|stock| stock.grams).sum::<f64>() < grams {
        return Vec::new();
    }
    let alone = held.iter().position(|stock| stock.grams >= grams);
    let chosen = alone.map_or(held, |place| &held[place..=place]);
    let mut missing = grams;
    let mut doses = Vec::new();
    for stock in chosen {
        if missing <= 0.0 {
            break;
        }
        let taken = missing.min(stock.grams);
        missing -= taken;
        let Offer { code, left, form, unit, .. } = stock.offer;
        let measure = measured_up(taken / stock.per_unit, *left, *form, measuring);
        doses.push(Dose {
            code: code.clone(),
            amount: measure.amount,
            unit: unit.clone(),
            measure: measure.words,
            tool: measure.tool,
            coarse: measure.coarse,
            own: measure.own,
            stock_solution: measure.stock_solution,
        });
    }
    doses
}

fn shortage(needed: &Needed) -> String {
    let two = |mass: Mass| show::grams(show::significant(mass.to_g(), 2).parse().unwrap_or(mass.to_g()));
    let takes = format!("it takes {} of {}", two(needed.planned), needed.neutraliser);
    if needed.held.to_g() <= 0.0 {
        return format!("{takes}, and the shelf holds none that counts");
    }
    let litres = libm::floor(needed.largest.to_l() * 10.0 + 1e-6) / 10.0;
    format!(
        "{takes}, the shelf holds {} for certain, {} are missing; {} L of such a bath is the most that can be ended",
        two(needed.held),
        two(needed.missing()),
        show::plain(litres)
    )
}
