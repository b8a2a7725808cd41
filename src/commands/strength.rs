//! `check`: is this bottle still good, what moves it, what would a test settle, where would it last.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::rc::Rc;

use chrono::NaiveDate;
use clap::Args;

use super::chart::{Chart, chart};
use super::dose::{bath_for, offers, planned};
use super::elsewhere::{Elsewhere, elsewhere};
use super::gas::{Gas, gas, needs_vent};
use super::receive::label_text;
use super::sight::{Sight, Usual};
use super::testing::first_worth_doing;
use super::{Problem, Session, arguments, local, own_measures};
use crate::catalogue::{Dip, Form, Test};
use crate::decay::posterior::{Known, Standing, dirt};
use crate::dip::{Offer, Until, Verdict};
use crate::register::Writing;
use crate::register::checkpoint::Journal;
use crate::register::place::Place;
use crate::units::estimate::{Estimate, Z_95};
use crate::units::step::Step;
use crate::units::strength::StrengthUnit;
use crate::units::{Volume, parse, show};

/// Tests speak of a contaminated bottle from this many times the likelihood of a clean one.
pub const SUSPICIOUS: f64 = 3.0;

/// Is this bottle still good: strength today, and what it can still make until when
///
/// Exit code 0 if it can make a dip of the book (or keeps, where the book has none for it), 1 if not.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock check HP-1 --bath 16L")]
pub struct Check {
    /// The stock's code
    pub stock: String,
    /// The volume of the bath that its dips are judged by
    #[arg(long, default_value = "10L")]
    pub bath: String,
    /// Only this dip
    #[arg(long, value_name = "DIP")]
    pub dip: Option<String>,
    /// Where in your places it would last longest
    #[arg(long = "where")]
    pub elsewhere: bool,
    /// Draw its strength over time
    #[arg(long)]
    pub chart: bool,
    /// Draw its strength over time into this file
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
}

/// What is wanted to be known of a stock.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The bath that its dips are judged by.
    pub bath: Volume,
    /// Only the dip with this key.
    pub only: Option<&'a str>,
    /// How it would fare in other places.
    pub elsewhere: bool,
    /// Its strength over time.
    pub chart: bool,
}

impl Asked<'_> {
    /// Its strength and every dip.
    #[must_use]
    pub fn of(bath: Volume) -> Self {
        Asked { bath, only: None, elsewhere: false, chart: false }
    }
}

/// What is known of a stock and what it can do.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// Its code.
    pub stock: String,
    /// Key of its reagent.
    pub reagent: String,
    /// Its full name.
    pub name: String,
    /// The day.
    pub on: NaiveDate,
    /// Solid or solution.
    pub form: Form,
    /// What the label says.
    pub label_text: String,
    /// What the label comes to, grams in a litre or in a gram.
    pub label: f64,
    /// Its content on that day, grams in a litre or in a gram.
    pub content: Option<Estimate>,
    /// The same in its usual unit.
    pub usual: Option<Usual>,
    /// How much is left, in the unit.
    pub left: f64,
    /// `mL` or `g`.
    pub unit: String,
    /// The bath that its dips are judged by.
    pub bath: Volume,
    /// What it can do.
    pub dips: Vec<DipLine>,
    /// What has weakened it since it came or was last tested, what most first.
    pub moved_by: Vec<Mover>,
    /// What a test would do for it.
    pub test: Option<TestWorth>,
    /// How many times better its tests fit a contaminated bottle.
    pub dirt: Option<f64>,
    /// What has weakened it by an amount that is not counted.
    pub uncounted: Option<String>,
    /// How it would fare in the keeper's places, best first.
    pub elsewhere: Vec<Elsewhere>,
    /// Its strength over time.
    pub chart: Option<Chart>,
    /// What it gives off, and what would come of that; of peroxide alone.
    pub gas: Option<Gas>,
    /// Where to draw it.
    pub svg: Option<PathBuf>,
    /// What to do.
    pub advice: Vec<String>,
    /// How the strength came about.
    pub steps: Vec<Step>,
}

/// Something that moves a strength.
#[derive(Debug, Clone, PartialEq)]
pub struct Mover {
    /// `age`, `warmth`, `light`, `unknown start`, `unknown age and start` or `last test`.
    pub what: &'static str,
    /// What it has taken, as a share of the content; of start and test what they may be off, either way.
    pub share: f64,
}

/// What a test would do.
#[derive(Debug, Clone, PartialEq)]
pub struct TestWorth {
    /// Which test.
    pub test: Test,
    /// Its name.
    pub name: String,
    /// Half the width of the band now, as a share.
    pub now: f64,
    /// What would be left of it.
    pub after: f64,
}

impl Checked {
    /// True if the answer is yes.
    #[must_use]
    pub fn is_good(&self) -> bool {
        if self.dips.is_empty() {
            self.content.is_some()
        } else {
            self.dips.iter().any(|dip| dip.verdict == Verdict::Ready)
        }
    }
}

/// What a stock can do for one dip.
#[derive(Debug, Clone, PartialEq)]
pub struct DipLine {
    /// The dip's key.
    pub dip: String,
    /// Its name.
    pub name: String,
    /// What it aims at, as the book says it.
    pub aim: String,
    /// What can be done.
    pub verdict: Verdict,
    /// With what chance.
    pub chance: Option<f64>,
    /// How long.
    pub until: Option<Until>,
    /// Why.
    pub reasons: Vec<String>,
}

/// Answers whether a bottle is still good.
///
/// # Errors
/// For an unknown stock, dip or bath, and a stock that had not come by that day.
pub fn check(session: &Session, arguments: &Check) -> Result<Checked, Problem> {
    let dip = match &arguments.dip {
        Some(word) => Some(arguments::dip(session.catalogue, word)?),
        None => None,
    };
    let mut register = session.register()?;
    let checked = register.read(|reading| {
        let places = reading.places()?;
        let bath = parse::volume(&arguments.bath, arguments::kitchen(reading)?)?;
        let sight = Sight::on_shelf(session, reading, &places, &arguments.stock)?;
        if let Some((day, why)) = &sight.state.retired {
            return Err(Problem::question(format!("`{}` left the shelf on {day}: {why}", sight.stock.code))
                .hint(format!("`brimstock show {}` shows its journal", sight.stock.code)));
        }
        if let Some(dip) = dip.filter(|dip| dip.reagent != sight.stock.reagent) {
            return Err(Problem::question(format!(
                "`{}` is {}, and the dip `{}` is made with {}",
                sight.stock.code, sight.stock.reagent, dip.key, dip.reagent
            ))
            .because("one reagent is never put in the place of another")
            .hint(format!("`brimstock dose {} --bath {}` asks the whole shelf", dip.key, arguments.bath)));
        }
        let asked = Asked {
            bath,
            only: dip.map(|dip| dip.key.as_str()),
            elsewhere: arguments.elsewhere,
            chart: arguments.chart || arguments.svg.is_some(),
        };
        let mut checked = checked(session, reading, &places, &sight, &asked)?;
        let label = StrengthUnit::named(&sight.state.label.unit).of(sight.state.label.value);
        checked.advice.extend(local::stronger(session, &checked.stock, sight.reagent, label));
        Ok(Checked { svg: arguments.svg.clone(), ..checked })
    })?;
    session.give_back(register);
    Ok(checked)
}

/// What is known of a stock that is seen, and what it can do.
pub(super) fn checked(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    sight: &Sight<'_>,
    asked: &Asked<'_>,
) -> Result<Checked, Problem> {
    let (content, usual, mut steps) = match &sight.standing {
        Standing::Known(known) => {
            let content = known.estimate();
            (Some(content), Some(sight.usual(content)?), known.steps.clone())
        }
        Standing::Unknown { why, source } => (None, None, vec![Step::new(why.clone(), source.clone())]),
    };
    let mut wanted = session.catalogue.dips_with(&sight.stock.reagent);
    wanted.retain(|dip| asked.only.is_none_or(|key| key == dip.key) && sight.state.retired.is_none());
    let own = [sight.offer()];
    let neutralisers = Neutralisers::default();
    let dips = dip_lines(session, reading, places, &wanted, &own, asked.bath, &neutralisers)?;
    let known = match &sight.standing {
        Standing::Known(known) => Some(&**known),
        Standing::Unknown { .. } => None,
    };
    let test = first_worth_doing(session, sight)?.and_then(|worth| {
        let (now, after) = worth.narrows?;
        let name = worth.method.name.clone();
        Some(TestWorth { test: worth.method.word, name, now: half_width(now), after: half_width(after) })
    });
    // Every place is judged by the same dip: the first that is ready here.
    let judged = dips.iter().find(|line| line.until.is_some()).map(|line| line.dip.clone());
    let elsewhere = match known.filter(|known| asked.elsewhere && !known.keeps()) {
        Some(known) => elsewhere(session, places, sight, known, judged.as_deref(), |offer| {
            dip_lines(session, reading, places, &wanted, &[offer], asked.bath, &neutralisers)
        })?,
        None => Vec::new(),
    };
    let chart = match asked.chart {
        true => {
            let journal = Journal::whole(reading.entries(&sight.stock, places)?);
            Some(chart(session, places, (sight, &journal), &wanted, asked.bath)?)
        }
        false => None,
    };
    let (gas, of_gas) = gas(sight, session.day)?;
    steps.extend(of_gas);
    let mut checked = Checked {
        stock: sight.stock.code.clone(),
        reagent: sight.stock.reagent.clone(),
        name: sight.reagent.name.clone(),
        on: session.day,
        form: sight.stock.form,
        label_text: label_text(&sight.state.label),
        label: sight.label,
        content,
        usual,
        left: sight.state.left,
        unit: sight.state.unit.clone(),
        bath: asked.bath,
        dips,
        moved_by: known.map_or_else(Vec::new, movers),
        test,
        dirt: match known {
            Some(known) => dirt(session.catalogue.optics(), sight.reagent, &sight.history, session.day, known)?,
            None => None,
        },
        uncounted: sight.uncounted_light(),
        elsewhere,
        chart,
        gas,
        svg: None,
        advice: Vec::new(),
        steps,
    };
    checked.advice = advice(&checked, sight);
    Ok(checked)
}

/// What the shelf offers of neutralisers, looked up once for every dip that is asked for.
#[derive(Debug, Default)]
pub(super) struct Neutralisers(RefCell<BTreeMap<String, Rc<[Offer]>>>);

impl Neutralisers {
    fn of(
        &self,
        session: &Session,
        reading: &Writing<'_>,
        places: &[Place],
        reagent: &str,
    ) -> Result<Rc<[Offer]>, Problem> {
        if let Some(known) = self.0.borrow().get(reagent) {
            return Ok(known.clone());
        }
        let found: Rc<[Offer]> = offers(session, reading, places, reagent)?.into();
        self.0.borrow_mut().insert(reagent.to_owned(), found.clone());
        Ok(found)
    }
}

/// What stocks can do for each dip.
pub(super) fn dip_lines(
    session: &Session,
    reading: &Writing<'_>,
    places: &[Place],
    dips: &[&Dip],
    own: &[Offer],
    bath: Volume,
    neutralisers: &Neutralisers,
) -> Result<Vec<DipLine>, Problem> {
    let threshold = arguments::threshold(reading)?;
    let mut lines = Vec::with_capacity(dips.len());
    let Some(first) = dips.first() else { return Ok(lines) };
    let reagent = arguments::reagent(session.catalogue, &first.reagent)?;
    let measures = own_measures::of(session, reading, places, reagent)?;
    let bench = measures.bench(session.catalogue.measuring(), None);
    for dip in dips {
        let bath = bath_for(session, dip, bath, threshold)?;
        let neutralisers = match &dip.stop {
            Some(stop) => neutralisers.of(session, reading, places, &stop.reagent)?,
            None => Rc::default(),
        };
        let (plan, _) = planned(session, &bench, &bath, own, &neutralisers)?;
        lines.push(DipLine {
            dip: dip.key.clone(),
            name: dip.name.clone(),
            aim: dip.target.aim.clone(),
            verdict: plan.verdict,
            chance: plan.chance,
            until: plan.until,
            reasons: plan.reasons,
        });
    }
    Ok(lines)
}

/// What has weakened it, what most first; shares below a thousandth are nothing.
fn movers(known: &Known) -> Vec<Mover> {
    if known.keeps() {
        return Vec::new();
    }
    let losses = &known.losses;
    // One after the other, so that the three add up to the whole loss.
    let left = |loss: f64| libm::exp(-loss);
    let (aged, warmed) = (left(losses.age), left(losses.age + losses.warmth));
    let mut movers = vec![
        Mover { what: "age", share: 1.0 - aged },
        Mover { what: "warmth", share: aged - warmed },
        Mover { what: "light", share: warmed - left(losses.age + losses.warmth + losses.light) },
        Mover {
            what: match (losses.tested, losses.age_unknown) {
                (true, _) => "last test",
                (false, true) => "unknown age and start",
                (false, false) => "unknown start",
            },
            share: half_width(losses.start_sd),
        },
    ];
    movers.retain(|mover| mover.share.abs() >= 0.001);
    movers.sort_by(|a, b| b.share.abs().total_cmp(&a.share.abs()));
    movers
}

/// Half the width of the 5–95 % band of a logarithm with this standard deviation, as a share.
#[must_use]
pub fn half_width(sd_ln: f64) -> f64 {
    libm::expm1(Z_95 * sd_ln)
}

fn advice(checked: &Checked, sight: &Sight<'_>) -> Vec<String> {
    let mut advice = Vec::new();
    let code = &checked.stock;
    if let Some(why) = &sight.state.hold {
        advice.push(format!("held: {why}; release it with `brimstock correct {code} 1 --release --because …`"));
    }
    let closed = sight.left_closed();
    advice.extend(closed.map(|why| format!("held: {why}; hand it over: `brimstock discard {code}`")));
    advice.extend(checked.gas.as_ref().and_then(|gas| needs_vent(sight, gas)));
    if let Some(times) = checked.dirt.filter(|times| *times > SUSPICIOUS) {
        advice.push(dirt_text(times));
    }
    if let Standing::Known(known) = &sight.standing
        && known.odd() > 0.5
    {
        advice.push(format!(
            "it keeps as the bottles of the few bad makers do (chance {}): use it up, and note its maker",
            show::chance(known.odd())
        ));
    }
    if checked.uncounted.is_some() {
        advice.push("opaque plastic or amber glass, a dark place and a test set the light right".to_owned());
    }
    if closed.is_some() {
        return advice;
    }
    let command = format!("`brimstock assay plan {code}`");
    if checked.content.is_none() {
        advice.push(format!("nobody can tell its strength without a test: {command}"));
    } else if let Some(dip) = checked.dips.iter().find(|dip| dip.verdict == Verdict::TestFirst) {
        advice.push(format!("a test would settle {}: {command}", dip.dip));
    }
    if let Some(dip) = checked.dips.iter().find(|dip| dip.verdict == Verdict::Ready) {
        advice.push(format!(
            "to measure it out: `brimstock dose {} --bath {} --from {code}`",
            dip.dip,
            show::millilitres(checked.bath.to_ml()).replace(' ', "")
        ));
    }
    advice
}

/// How far the tests speak for a dirty bottle.
#[must_use]
pub fn dirt_text(times: f64) -> String {
    let strength = if times > 10.0 { "strongly" } else { "somewhat" };
    let count = if times > 1000.0 { "over 1000".to_owned() } else { show::significant(times, 2) };
    format!(
        "the tests {strength} suggest that it behaves like a contaminated bottle (they fit one {count} times better than a clean one): vented cap, never pour back, `brimstock note` it if you see why"
    )
}
