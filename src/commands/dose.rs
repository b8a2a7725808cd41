//! `dose`: what to measure out for a bath.

use chrono::NaiveDate;
use clap::Args;

use super::bathe::promised::unpromised;
use super::dose_baths::{Baths, several};
use super::dose_steps::{self, Asked, Follow};
use super::looking::each_on_shelf;
use super::own_measures::Vessel;
use super::sight::LEFT_CLOSED;

use super::{Problem, Session, arguments, local, own_measures};
use crate::catalogue::{Dip, Form};
use crate::dip::lookalike::equivalent;
use crate::dip::measure::Bench;
use crate::dip::pick::pick;
use crate::dip::recipe::goal;
use crate::dip::sequence::Found;
use crate::dip::stock_solution::StockSolution;
use crate::dip::stop::{Stopping, limit, stopping};
use crate::dip::{Bath, Goal, Offer, Plan, Verdict};
use crate::register::Writing;
use crate::register::place::Place;
use crate::units::step::Step;
use crate::units::strength::Strength;
use crate::units::{Concentration, Volume, parse, show};

/// What to measure out for a bath, from which bottles
///
/// Exit code 0 if the verdict is `ready`, 1 if it is any other.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock dose peroxide-weak --bath 16L --from HP-1\n  brimstock dose bleach-robust --bath 10L --baths 4\n  brimstock dose alum-soak --in T10 --using tbsp\n  brimstock dose permanganate-bulletin --bath 10L --after bleach-fine-leaved --rinsed 2"
)]
pub struct DoseArguments {
    /// The dip: `brimstock dips` lists them
    pub dip: String,
    /// The volume of the bath [default with --in: the full vessel]
    #[arg(long, required_unless_present = "vessel")]
    pub bath: Option<String>,
    /// The vessel that it is made in, one of `brimstock measure list`
    #[arg(long = "in", value_name = "VESSEL")]
    pub vessel: Option<String>,
    /// Only with these measures of yours
    #[arg(long, num_args = 1.., value_name = "MEASURE")]
    pub using: Vec<String>,
    /// Only from these stocks
    #[arg(long, num_args = 1.., value_name = "STOCK")]
    pub from: Vec<String>,
    /// So many baths of this volume
    #[arg(long, value_name = "COUNT", value_parser = arguments::whole(1_u32..=500))]
    pub baths: Option<u32>,
    /// What was there before, a dip or a reagent: what must not follow it is told, with the rinses that clear it
    #[arg(long, value_name = "WHAT")]
    pub after: Vec<String>,
    /// So many rinses in clean water came in between [default: 0]
    #[arg(long, value_name = "N", requires = "after", value_parser = arguments::whole(0_u8..=20))]
    pub rinsed: Option<u8>,
}

/// The answer for a bath.
#[derive(Debug, Clone)]
pub struct Dosed {
    /// The dip.
    pub dip: Dip,
    /// Its band.
    pub goal: Goal,
    /// The day.
    pub on: NaiveDate,
    /// The volume of the bath.
    pub bath: Volume,
    /// The vessel that it is made in, if one was named.
    pub vessel: Option<String>,
    /// The verdict on all of it: the plan, what follows, and what was before.
    pub verdict: Verdict,
    /// The plan of the bath, of the first one where there are several.
    pub plan: Plan,
    /// What follows it, in order.
    pub then: Vec<Follow>,
    /// What stands between two of the baths, or between what was before and this one.
    pub traps: Vec<Found>,
    /// Why a spoon of the keeper's was not used, where there is something to weigh.
    pub unweighed: Vec<String>,
    /// What stopping it takes, where it must be stopped.
    pub stopping: Option<Stopping>,
    /// What stands there and is easily taken for the reagent.
    pub lookalikes: Vec<String>,
    /// What to do next.
    pub next_step: String,
    /// How the numbers came about.
    pub steps: Vec<Step>,
    /// All baths, where several were asked for; the plan is then that of one bath alone.
    pub baths: Option<Baths>,
}

/// Answers what to measure out.
///
/// # Errors
/// For an unknown dip or stock, a stock of another reagent, a bath that cannot be read, and one above a recorded limit.
pub fn dose(session: &Session, arguments: &DoseArguments) -> Result<Dosed, Problem> {
    let dip = arguments::dip(session.catalogue, &arguments.dip)?;
    one_bath_only(dip, arguments)?;
    let mut traps = dose_steps::before(session, &arguments.after, arguments.rinsed.unwrap_or(0), dip)?;
    let mut register = session.register()?;
    register.read(|reading| {
        let places = reading.places()?;
        let (volume, vessel) = volume(session, reading, arguments)?;
        let bath = bath_for(session, dip, volume, arguments::threshold(reading)?)?;
        within_the_law(session, &bath)?;
        let all = offers(session, reading, &places, &dip.reagent)?;
        let own = if arguments.from.is_empty() { all } else { named(reading, dip, all, &arguments.from)? };
        let (neutralisers, promised) = match &dip.stop {
            Some(stop) => unpromised(session, reading, stop, offers(session, reading, &places, &stop.reagent)?)?,
            None => (Vec::new(), None),
        };
        let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
        let mut measures = own_measures::of(session, reading, &places, reagent)?;
        if !arguments.using.is_empty() {
            let forms: Vec<Form> = own.iter().map(|offer| offer.form).collect();
            measures = own_measures::only(session, reading, measures, &arguments.using, reagent, &forms)?;
        }
        let vessel_sd = vessel.as_ref().filter(|_| arguments.bath.is_none()).map(|vessel| vessel.relative_sd);
        let bench = measures.bench(session.catalogue.measuring(), vessel_sd);
        let (mut plan, stopping) = planned(session, &bench, &bath, &own, &neutralisers)?;
        plan.reasons.extend(promised.filter(|_| stopping.as_ref().is_some_and(|stopping| !stopping.enough())));
        let poured = |offer: &&Offer| plan.doses.iter().any(|dose| dose.code == offer.code);
        let stronger = too_strong(session, dip, own.iter().filter(poured))?;
        plan.reasons.extend(stronger);
        let asked = Asked { session, reading, places: &places, vessel_sd };
        let (then, between) = dose_steps::follow(&asked, &bath, &mut plan, stopping.as_ref())?;
        traps.extend(between);
        let verdict = dose_steps::verdict(&plan, &then, &traps);
        plan.until = dose_steps::until(&plan, &then).filter(|_| verdict == Verdict::Ready);
        let lookalikes = lookalikes(session, reading, &places, &bath)?;
        let mut steps = bath.goal.steps.clone();
        for dose in &plan.doses {
            if let Some(offer) = own.iter().find(|offer| offer.code == dose.code)
                && let crate::decay::posterior::Standing::Known(known) = &offer.standing
            {
                steps.extend(
                    known
                        .steps
                        .iter()
                        .map(|step| Step::new(format!("{}: {}", offer.code, step.what), step.source.clone())),
                );
            }
        }
        if let Some(stopping) = &stopping {
            steps.push(Step::new(
                format!(
                    "stopping: {} by theory, {} planned",
                    show::grams(stopping.theory.to_g()),
                    show::grams(stopping.planned.to_g())
                ),
                stopping.source.clone(),
            ));
        }
        let baths =
            arguments.baths.map(|count| several(session, &bench, &bath, &own, &neutralisers, count)).transpose()?;
        let verdict = baths.as_ref().map_or(verdict, |baths| verdict.max(baths.verdict()));
        steps.extend(dose_steps::baths(&then).flat_map(|next| next.goal.steps.clone()));
        steps.extend(traps.iter().map(|found| Step::new(found.words(), found.trap.source.clone())));
        let next_step = match (dose_steps::next_step(dip, &traps, &question(arguments)), &baths) {
            (Some(step), _) => step,
            (None, Some(baths)) => baths.next_step(dip, volume),
            (None, None) => whole_next_step(&bath, &plan, &own, &then),
        };
        plan.reasons.extend(dose_steps::reasons(&then, &traps));
        let is_weighed = plan.doses.iter().any(|dose| dose.unit == "g");
        let unweighed = if is_weighed { measures.unweighed.clone() } else { Vec::new() };
        for solution in plan.doses.iter().filter_map(|dose| dose.stock_solution.as_ref()) {
            let dissolves = &solution.dissolves;
            steps.push(Step::new(
                format!(
                    "stays dissolved at {} °C: {} g/L, read low",
                    show::plain(dissolves.at.to_celsius()),
                    show::significant(dissolves.most.to_g_per_l(), 2)
                ),
                dissolves.source.clone(),
            ));
        }
        Ok(Dosed {
            dip: dip.clone(),
            goal: bath.goal.clone(),
            on: session.day,
            bath: volume,
            vessel: vessel.map(|vessel| vessel.name),
            verdict,
            plan,
            then,
            traps,
            unweighed,
            stopping,
            lookalikes,
            next_step,
            steps,
            baths,
        })
    })
}

/// Refuses `--using` and `--from` for a dip of several baths, each of which has a reagent of its own.
fn one_bath_only(dip: &Dip, arguments: &DoseArguments) -> Result<(), Problem> {
    let named = [
        ("--using", !arguments.using.is_empty()),
        ("--from", !arguments.from.is_empty()),
        ("--baths", arguments.baths.is_some()),
    ]
    .into_iter()
    .find(|(_, given)| *given);
    match named {
        Some((option, _)) if dose_steps::is_of_several_baths(dip) => {
            Err(Problem::question(format!("{option} with `{}`, a dip of several baths", dip.key))
                .because("each of its baths is made of another reagent")
                .hint(format!("leave {option} away, or ask for each of its baths alone")))
        }
        _ => Ok(()),
    }
}

/// The question as it was put, for asking it again.
fn question(arguments: &DoseArguments) -> String {
    let mut words = vec![arguments.dip.clone()];
    words.extend(arguments.bath.iter().map(|bath| format!("--bath {}", bath.replace(' ', ""))));
    words.extend(arguments.vessel.iter().map(|vessel| format!("--in {vessel}")));
    words.extend(arguments.baths.iter().map(|count| format!("--baths {count}")));
    words.extend(arguments.after.iter().map(|after| format!("--after {after}")));
    words.join(" ")
}

/// What to do next for a dip and all that follows it.
fn whole_next_step(bath: &Bath<'_>, plan: &Plan, own: &[Offer], then: &[Follow]) -> String {
    let later = dose_steps::baths(then);
    match later.max_by_key(|next| next.plan.verdict) {
        Some(_) if plan.verdict != Verdict::Ready => next_step(bath, plan, own),
        Some(next) if next.plan.verdict == Verdict::Ready => {
            let plans = std::iter::once(plan).chain(dose_steps::baths(then).map(|next| &next.plan));
            format!("measure each out when its bath is made, then enter what you took: {}", dose_steps::takes(plans))
        }
        Some(next) if next.plan.verdict == Verdict::Short => {
            let whole = Plan { verdict: Verdict::Short, ..plan.clone() };
            next_step(bath, &whole, &next.offers)
        }
        Some(next) => {
            let of_next = Bath { dip: &next.dip, goal: next.goal.clone(), ..bath.clone() };
            next_step(&of_next, &next.plan, &next.offers)
        }
        None => next_step(bath, plan, own),
    }
}

/// The bath's volume, as said or as much as the vessel holds, and the vessel.
pub(super) fn volume(
    session: &Session,
    reading: &Writing<'_>,
    arguments: &DoseArguments,
) -> Result<(Volume, Option<Vessel>), Problem> {
    let kitchen = arguments::kitchen(reading)?;
    let said = arguments.bath.as_ref().map(|bath| parse::volume(bath, kitchen)).transpose()?;
    let vessel = arguments.vessel.as_ref().map(|name| own_measures::vessel(session, reading, name)).transpose()?;
    if let (Some(said), Some(vessel)) = (said, &vessel)
        && said.to_ml() > vessel.volume.to_ml() * (1.0 + 1e-9)
    {
        let full = show::millilitres(vessel.volume.to_ml());
        return Err(Problem::question(format!(
            "a bath of {} is larger than the vessel `{}`, which holds {full}",
            show::millilitres(said.to_ml()),
            vessel.name
        ))
        .because("it would run over, and the plants take room too")
        .hint(format!("accepted: --bath up to {full}, or another vessel; --in {} alone fills it", vessel.name)));
    }
    let volume = said.or(vessel.as_ref().map(|vessel| vessel.volume));
    volume
        .map(|volume| (volume, vessel))
        .ok_or_else(|| Problem::question("how large is the bath?").hint("give --bath or --in"))
}

/// Refuses a bath whose band goes above what the keeper was told may be had.
pub(super) fn within_the_law(session: &Session, bath: &Bath<'_>) -> Result<(), Problem> {
    let reagent = arguments::reagent(session.catalogue, &bath.dip.reagent)?;
    match local::above(&local::of(session)?, reagent, Strength::InVolume(bath.goal.high))? {
        Some((limit, percent)) => {
            Err(local::too_strong(&format!("the upper end of `{}`", bath.dip.key), limit, percent))
        }
        None => Ok(()),
    }
}

/// That the label of what is poured is above what the keeper was told, one line a stock: it is said, and refuses nothing.
fn too_strong<'a>(
    session: &Session,
    dip: &Dip,
    poured: impl Iterator<Item = &'a Offer>,
) -> Result<Vec<String>, Problem> {
    let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
    let label = |offer: &Offer| Strength::InVolume(Concentration::g_per_l(offer.label));
    let solutions = poured.filter(|offer| offer.form == Form::Solution);
    Ok(solutions.filter_map(|offer| local::stronger(session, &offer.code, reagent, label(offer))).collect())
}

/// The band of a dip in grams in a litre.
pub(super) fn goal_of(session: &Session, dip: &Dip) -> Result<Goal, Problem> {
    let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
    Ok(goal(dip, reagent, session.catalogue.measuring())?)
}

/// A bath of a dip of the book.
pub(super) fn bath_for<'a>(
    session: &Session,
    dip: &'a Dip,
    volume: Volume,
    threshold: f64,
) -> Result<Bath<'a>, Problem> {
    Ok(Bath { dip, goal: goal_of(session, dip)?, volume, threshold })
}

/// What the shelf offers of a reagent.
pub(super) fn offers(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    reagent: &str,
) -> Result<Vec<Offer>, Problem> {
    let mut offers = Vec::new();
    each_on_shelf(
        session,
        reading,
        places,
        |stock| stock.reagent == reagent,
        |sight| {
            offers.push(sight.offer());
            Ok(())
        },
    )?;
    Ok(offers)
}

pub(super) fn named(
    reading: &Writing<'_>,
    dip: &Dip,
    offers: Vec<Offer>,
    codes: &[String],
) -> Result<Vec<Offer>, Problem> {
    let mut chosen: Vec<Offer> = Vec::new();
    for code in codes {
        let stock = arguments::stock(reading, code)?;
        if stock.reagent != dip.reagent {
            return Err(Problem::question(format!(
                "`{}` is {}, and the dip `{}` is made with {}",
                stock.code, stock.reagent, dip.key, dip.reagent
            ))
            .because("one reagent is never put in the place of another")
            .hint("leave --from away and let the shelf answer"));
        }
        let offer = offers.iter().find(|offer| offer.code == stock.code).ok_or_else(|| {
            Problem::question(format!("`{}` is not on the shelf on that day", stock.code))
                .hint(format!("`brimstock show {}` shows its journal", stock.code))
        })?;
        if !chosen.iter().any(|other| other.code == offer.code) {
            chosen.push(offer.clone());
        }
    }
    Ok(chosen)
}

/// The plan of a bath, with its stopping.
pub(super) fn planned(
    session: &Session,
    bench: &Bench<'_>,
    bath: &Bath<'_>,
    own: &[Offer],
    neutralisers: &[Offer],
) -> Result<(Plan, Option<Stopping>), Problem> {
    let mut plan = pick(bath, own, session.day, bench);
    let Some(stop) = &bath.dip.stop else { return Ok((plan, None)) };
    let reagent = arguments::reagent(session.catalogue, &bath.dip.reagent)?;
    let stopping = stopping(bath, stop, reagent, neutralisers)?;
    limit(&mut plan, bath, &stopping);
    Ok((plan, Some(stopping)))
}

/// Stocks of other reagents that share what the dip's reagent is bought for: told, never used.
fn lookalikes(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    bath: &Bath<'_>,
) -> Result<Vec<String>, Problem> {
    let reagent = arguments::reagent(session.catalogue, &bath.dip.reagent)?;
    let grams = bath.goal.aim.to_g_per_l() * bath.volume.to_l();
    let mut told = Vec::new();
    let others: Vec<&str> = reagent.taken_for.iter().filter_map(|taken| taken.reagent.as_deref()).collect();
    each_on_shelf(
        session,
        reading,
        places,
        |stock| others.contains(&stock.reagent.as_str()),
        |sight| {
            if let (Some(part), Some(grams)) = (&reagent.contains, equivalent(grams, reagent, sight.reagent)?) {
                told.push(format!(
                "{} is {}, another reagent; {} of it, pure, would hold as much {}, but no evidence here speaks for it",
                sight.stock.code,
                sight.reagent.name,
                show::grams(libm::round(grams * 10.0) / 10.0),
                part.what
            ));
            }
            Ok(())
        },
    )?;
    Ok(told)
}

/// The first dose that is taken from a stock solution.
fn solution(plan: &Plan) -> Option<(&str, &StockSolution)> {
    plan.doses.iter().find_map(|dose| Some((dose.code.as_str(), dose.stock_solution.as_ref()?)))
}

fn next_step(bath: &Bath<'_>, plan: &Plan, own: &[Offer]) -> String {
    let dip = &bath.dip.key;
    let stock =
        plan.doses.first().map(|dose| dose.code.clone()).or_else(|| own.first().map(|offer| offer.code.clone()));
    match plan.verdict {
        Verdict::Ready => {
            if let Some((code, solution)) = solution(plan) {
                let [grams, whole] = [show::grams(solution.grams), show::millilitres(solution.made_up_ml)];
                return format!(
                    "make the stock solution, a stock of its own, and label it: `brimstock decant {code} {} --make-up-to {}`; then ask again with `--from` and its code",
                    grams.replace(' ', ""),
                    whole.replace(' ', "")
                );
            }
            format!("measure it out, then enter what you took: {}", dose_steps::takes(std::iter::once(plan)))
        }
        Verdict::TestFirst => match stock {
            Some(code) => {
                format!("test {code}, then enter what you find: `brimstock assay {code} figure \"… g/L\" --sd 3%`")
            }
            None => "test a bottle first".to_owned(),
        },
        Verdict::Short if plan.largest.to_l() >= 0.1 => {
            let litres = libm::floor(plan.largest.to_l() * 10.0 + 1e-6) / 10.0;
            format!("ask again with what can be made: `brimstock dose {dip} --bath {}L`", show::plain(litres))
        }
        Verdict::Short => format!("get more, or choose another dip: `brimstock dips {dip}` tells what this one is for"),
        Verdict::TooWeak => "use it for a weaker dip, and get a stronger bottle for this one".to_owned(),
        Verdict::Held => match own.first() {
            Some(offer) if offer.hold.as_deref() == Some(LEFT_CLOSED) => {
                format!("leave it closed, and hand it over: `brimstock discard {}`", offer.code)
            }
            Some(offer) => {
                format!("clear what holds it, then `brimstock correct {} 1 --release --because …`", offer.code)
            }
            None => "clear what holds it".to_owned(),
        },
    }
}
