//! `bathe start` and `bathe load`: plants go into a bath.

use clap::Args;

use super::bring::Went;
use super::draw::{drew, enter as enter_draw, taken};
use super::promised::unpromised;
use super::{TimeArguments, bath_named, book_on, dip_version, enter, on, warnings, words};
use crate::catalogue::Dip;
use crate::commands::dose::{DoseArguments, bath_for, named, offers, planned, volume};
use crate::commands::{Problem, Session, arguments, own_measures};
use crate::decay::posterior::Standing;
use crate::dip::log::book::{Book, LoadOf};
use crate::dip::log::{Happened, Load, Loaded, Started, name};
use crate::dip::stop::{Stopping, stopping};
use crate::dip::{Bath, Offer, Plan, Verdict};
use crate::register::Writing;
use crate::register::place::Place;
use crate::units::estimate::Estimate;
use crate::units::{Volume, show};

/// Make up a bath and put a lot in
///
/// What the dose takes is taken from the stocks. A bath that is not `ready` is refused unless it is overruled with a reason.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock bathe start alum-short --bath 10L --lot A1 --plants \"60 bundles\" --kind fine-leaved --water 16\n  brimstock bathe start peroxide-weak --in T10 --lot A2 --who R --watch\n  brimstock bathe start peroxide-weak --bath 10L --lot A3 --drew \"HP-1 305mL\" --date 2031-03-03 --at 14:05"
)]
pub struct StartArguments {
    /// The dip: `brimstock dips` lists them
    pub dip: String,
    /// The volume of the bath [default with --in: the full vessel]
    #[arg(long, required_unless_present = "vessel")]
    pub bath: Option<String>,
    /// The vessel that it is made in, one of `brimstock measure list`
    #[arg(long = "in", value_name = "VESSEL")]
    pub vessel: Option<String>,
    /// Only from these stocks
    #[arg(long, num_args = 1.., value_name = "STOCK", conflicts_with = "drew")]
    pub from: Vec<String>,
    /// What was really taken from a stock, instead of the dose; may stand several times
    #[arg(long, value_parser = drew, value_name = "STOCK AMOUNT")]
    pub drew: Vec<(String, String)>,
    #[command(flatten)]
    load: LoadDetails,
}

/// Put another lot into a bath that was made up before
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock bathe load 3 --lot A2 --dirt 1")]
pub struct LoadArguments {
    /// The number of the bath, or a lot that was in it last
    #[arg(value_name = "BATH|LOT")]
    pub bath: String,
    #[command(flatten)]
    load: LoadDetails,
}

#[derive(Debug, Args)]
struct LoadDetails {
    /// The lot, as it stands on its tray
    #[arg(long, value_parser = name::lot)]
    lot: String,
    /// What went in, in your words
    #[arg(long, value_parser = words)]
    plants: Option<String>,
    /// The kind of plant, by which outcomes are counted
    #[arg(long, value_parser = kind)]
    kind: Option<String>,
    /// Role or initials of whoever does it
    #[arg(long, value_parser = name::who)]
    who: Option<String>,
    /// How warm the water is, °C
    #[arg(long, value_parser = arguments::celsius, allow_hyphen_values = true, value_name = "CELSIUS")]
    water: Option<f64>,
    /// pH of the water
    #[arg(long, value_parser = ph)]
    ph: Option<f64>,
    /// Dirt that can be seen: 0 none, 1 a little, 2 much, 3 the water is clouded
    #[arg(long, value_parser = arguments::whole(0_u8..=3))]
    dirt: Option<u8>,
    /// Why it goes in against a verdict; the reason is kept
    #[arg(long, value_name = "REASON", value_parser = arguments::reason)]
    overrule: Option<String>,
    /// Count down in the terminal once it is written, with a bell at the end
    #[arg(long)]
    watch: bool,
    #[command(flatten)]
    time: TimeArguments,
}

fn kind(text: &str) -> Result<String, String> {
    let text = text.trim();
    let good = (1..=30).contains(&text.chars().count()) && !text.chars().any(char::is_control);
    good.then(|| text.to_owned()).ok_or("accepted: 1 to 30 characters, as fine-leaved".to_owned())
}

/// Reads a pH.
///
/// # Errors
/// What is accepted, for clap to show.
pub fn ph(text: &str) -> Result<f64, String> {
    let number = text.trim().parse::<f64>().ok().filter(|number| (0.0..=14.0).contains(number));
    number.ok_or_else(|| format!("`{text}` is no pH; accepted: 0 to 14, as 7.2"))
}

impl LoadDetails {
    /// The load; a lot that is known keeps its spelling.
    fn load(&self, session: &Session, book: &Book) -> Result<Load, Problem> {
        let lot = book.lot(&self.lot).map_or(&self.lot, |lot| &lot.name);
        Ok(Load {
            lot: lot.clone(),
            plants: self.plants.clone(),
            kind: self.kind.clone(),
            at: self.time.moment(session)?,
            who: self.who.clone(),
            water_c: self.water,
            ph: self.ph,
            dirt: self.dirt,
        })
    }
}

/// Makes up a bath and puts the first load in.
///
/// # Errors
/// For an unknown dip, stock or vessel, a bath larger than the vessel, a verdict that is not `ready` without a reason, more
/// taken than there is, a lot that is in a bath or has left, and a time that cannot be.
pub fn start(session: &Session, given: &StartArguments) -> Result<Went, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        let book = book_on(writing, chrono::NaiveDate::MAX)?;
        let load = given.load.load(session, &book)?;
        let then = on(session, load.at.date());
        let dip = arguments::dip(session.catalogue, &given.dip)?;
        let places = writing.places()?;
        let made = made(&then, writing, &places, dip, given)?;
        let mut warned = warnings::at_start(&then, writing, &book, dip, &load)?;
        warned.extend(made.warnings);
        warned.extend(made.not_ready.iter().map(|why| format!("overruled: {why}")));
        let what = Happened::Started(Started {
            dip: dip.key.clone(),
            version: dip.version,
            bath_ml: made.volume_ml,
            vessel: made.vessel.clone(),
            load,
            overruled: given.load.overrule.clone(),
        });
        // What contradicts the book is told before what the shelf cannot do; either way nothing is kept of it.
        let row = enter(session, writing, then.day, &what, &written(&given.drew))?;
        if let (Some(why), None) = (&made.not_ready, &given.load.overrule) {
            return Err(Problem::refused(format!("`{}` is not ready: {why}", dip.key))
                .because("nothing was written, and nothing taken from a stock")
                .hint(format!(
                    "ask `brimstock dose {}`; or enter what was really taken with --drew; to start it all the same, --overrule \"why\"",
                    dip.key
                )));
        }
        let draws = made
            .takes
            .iter()
            .map(|(code, amount)| enter_draw(session, writing, &places, row, then.day, (code, *amount)))
            .collect::<Result<Vec<_>, Problem>>()?;
        let load = entered(writing, row)?;
        let went = Went::of(session, load, dip, Volume::ml(made.volume_ml), made.stopping.as_ref(), given.load.watch)?;
        Ok(Went {
            vessel: made.vessel,
            verdict: made.verdict,
            chance: made.chance,
            draws,
            warnings: warned,
            ..went
        })
    })
}

fn written(drew: &[(String, String)]) -> String {
    drew.iter().map(|(code, amount)| format!("{code} {amount}")).collect::<Vec<_>>().join(", ")
}

/// The load that was just entered.
fn entered(writing: &Writing<'_>, row: i64) -> Result<LoadOf, Problem> {
    let book = book_on(writing, chrono::NaiveDate::MAX)?;
    let mut loads = book.baths.into_iter().flat_map(|bath| bath.loads);
    loads.find(|load| load.row == row).ok_or_else(|| Problem::data("the entry is not in the book"))
}

/// A bath that can be made up.
struct Made {
    volume_ml: f64,
    vessel: Option<String>,
    takes: Vec<(String, f64)>,
    verdict: Option<Verdict>,
    chance: Option<f64>,
    not_ready: Option<String>,
    stopping: Option<Stopping>,
    warnings: Vec<String>,
}

/// Plans the bath as `dose` does; where it is said what was taken, that is only compared with the dip.
fn made(
    session: &Session,
    writing: &Writing<'_>,
    places: &[Place],
    dip: &Dip,
    given: &StartArguments,
) -> Result<Made, Problem> {
    let asked = DoseArguments {
        dip: given.dip.clone(),
        bath: given.bath.clone(),
        vessel: given.vessel.clone(),
        using: Vec::new(),
        from: given.from.clone(),
        baths: None,
        after: Vec::new(),
        rinsed: None,
    };
    let (volume, vessel) = volume(session, writing, &asked)?;
    let bath = bath_for(session, dip, volume, arguments::threshold(writing)?)?;
    let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
    let all = offers(session, writing, places, &dip.reagent)?;
    let (neutralisers, promised) = match &dip.stop {
        Some(stop) => unpromised(session, writing, stop, offers(session, writing, places, &stop.reagent)?)?,
        None => (Vec::new(), None),
    };
    let mut made = Made {
        volume_ml: volume.to_ml(),
        vessel: vessel.as_ref().map(|vessel| vessel.name.clone()),
        takes: Vec::new(),
        verdict: None,
        chance: None,
        not_ready: None,
        stopping: None,
        warnings: Vec::new(),
    };
    if !given.drew.is_empty() {
        made.takes = taken(session, writing, places, reagent, &given.drew)?;
        let holds = |(code, _): &(String, f64)| {
            let offer = all.iter().find(|offer| offer.code == *code)?;
            Some(format!("{code} is held: {}", offer.hold.as_ref()?))
        };
        made.warnings.extend(made.takes.iter().filter_map(holds));
        made.warnings.extend(against_the_dip(&bath, &all, &made.takes));
        if let Some(stop) = &dip.stop {
            let stopping = stopping(&bath, stop, reagent, &neutralisers)?;
            if !stopping.enough() {
                made.warnings.push(format!(
                    "to end it takes {} of {}, and the shelf holds {}",
                    show::grams(libm::round(stopping.planned.to_g())),
                    stopping.neutraliser,
                    show::grams(libm::round(stopping.held.to_g()))
                ));
                made.warnings.extend(promised);
            }
            made.stopping = Some(stopping);
        }
        return Ok(made);
    }
    let own = if given.from.is_empty() { all } else { named(writing, dip, all, &given.from)? };
    let measures = own_measures::of(session, writing, places, reagent)?;
    let vessel_sd = vessel.as_ref().filter(|_| given.bath.is_none()).map(|vessel| vessel.relative_sd);
    let bench = measures.bench(session.catalogue.measuring(), vessel_sd);
    let (mut plan, stopping) = planned(session, &bench, &bath, &own, &neutralisers)?;
    plan.reasons.extend(promised.filter(|_| stopping.as_ref().is_some_and(|stopping| !stopping.enough())));
    made.not_ready = not_ready(&plan);
    made.takes = plan.doses.iter().map(|dose| (dose.code.clone(), dose.amount)).collect();
    (made.verdict, made.chance, made.stopping) = (Some(plan.verdict), plan.chance, stopping);
    if made.takes.is_empty() && given.load.overrule.is_some() {
        made.warnings.push("nothing was taken from a stock; say what was with --drew".to_owned());
    }
    Ok(made)
}

/// Why a plan is not to be poured as it stands.
fn not_ready(plan: &Plan) -> Option<String> {
    if plan.verdict != Verdict::Ready {
        let reasons = plan.reasons.join("; ");
        let colon = if reasons.is_empty() { "" } else { ": " };
        return Some(format!("{}{colon}{reasons}", plan.verdict.words()));
    }
    let solution = plan.doses.iter().find(|dose| dose.stock_solution.is_some())?;
    Some(format!(
        "{} of {} is too little to be weighed; make the stock solution first (`brimstock dose` tells how) and start with `--from` and its code",
        show::amount(solution.amount, &solution.unit),
        solution.code
    ))
}

/// What the bath held by what was taken, where that is not what the dip wants.
fn against_the_dip(bath: &Bath<'_>, offers: &[Offer], takes: &[(String, f64)]) -> Option<String> {
    let mut sum = Estimate { low: 0.0, mid: 0.0, high: 0.0 };
    for (code, amount) in takes {
        let offer = offers.iter().find(|offer| offer.code == *code)?;
        let Standing::Known(known) = &offer.standing else {
            return Some(format!("how strong {code} is nobody knows: neither is the bath"));
        };
        let content = known.estimate();
        let per = amount * offer.per_unit() / bath.volume.to_l();
        sum = Estimate {
            low: sum.low + content.low * per,
            mid: sum.mid + content.mid * per,
            high: sum.high + content.high * per,
        };
    }
    let [low, high] = [bath.goal.low, bath.goal.high].map(|end| end.to_g_per_l());
    let word = match sum.mid {
        mid if mid < low => "weaker",
        mid if mid > high => "stronger",
        _ => return None,
    };
    Some(format!(
        "by what was taken the bath holds {} g/L, {word} than the dip's {}–{} g/L",
        show::with_band(sum),
        show::significant(low, 3),
        show::significant(high, 3)
    ))
}

/// Puts another load into a bath; nothing is taken from a stock.
///
/// # Errors
/// For a bath that is not there, was ended or drained, a lot that is in a bath or has left, and a time that cannot be.
pub fn load(session: &Session, given: &LoadArguments) -> Result<Went, Problem> {
    let mut register = session.register()?;
    register.write(|writing| {
        let book = book_on(writing, chrono::NaiveDate::MAX)?;
        let bath = bath_named(&book, &given.bath)?.clone();
        let load = given.load.load(session, &book)?;
        let then = on(session, load.at.date());
        let dip = dip_version(session, writing, &bath.dip, bath.version)?.ok_or_else(|| {
            Problem::data(format!("version {} of `{}` is not known here", bath.version, bath.dip))
                .hint("use the program that wrote it, or a newer one")
        })?;
        let mut warned = warnings::at_start(&then, writing, &book, &dip, &load)?;
        warned.extend(warnings::at_load(&bath, &load));
        let overruled = given.load.overrule.clone();
        let what = Happened::Loaded(Loaded { bath: bath.row, load, overruled });
        let row = enter(session, writing, then.day, &what, "")?;
        let reagent = arguments::reagent(session.catalogue, &dip.reagent)?;
        let planned = bath_for(session, &dip, bath.volume, arguments::threshold(writing)?)?;
        let stopping = dip.stop.as_ref().map(|stop| stopping(&planned, stop, reagent, &[])).transpose()?;
        let went = Went::of(session, entered(writing, row)?, &dip, bath.volume, stopping.as_ref(), given.load.watch)?;
        Ok(Went { vessel: bath.vessel, warnings: warned, ..went })
    })
}
