//! `quench`: how a used bath is ended, with what, and what may be done with it then.

use chrono::NaiveDate;
use clap::Args;

use super::dose::offers;
use super::{Problem, Session, arguments, local};
use crate::catalogue::{Apart, Catalogue, CountedAs, Figure, Reaction, Reagent, Said, Treatment, Use};
use crate::chem::{ChemError, Substance, reading, solution};
use crate::dip::recipe::goal;
use crate::dip::{Dose, Offer};
use crate::disposal::after::{Limit, Stands, after, limit};
use crate::disposal::balance::counted_per_gram;
use crate::disposal::caution;
use crate::disposal::local::Local;
use crate::disposal::quench::{Ending, Used, Verdict, Way, counted_words, end, hottest, mistaken};
use crate::hazard::apart::{Neighbour, conflict};
use crate::register::{Register, StoreError, Writing};
use crate::units::estimate::Estimate;
use crate::units::measure::Kitchen;
use crate::units::parse::{self, Written};
use crate::units::step::Step;
use crate::units::strength::{Basis, Strength};
use crate::units::{Temperature, Volume, show};

/// Tell how a used, weak bath is ended, and what may be done with it then
///
/// For used baths only, never for bottles, powders or stock. Exit code 0 if the verdict is `can be ended`, 1 if it is any
/// other.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  brimstock quench permanganate-bulletin --bath 10L
  brimstock quench \"10 mg/L\" --of potassium-permanganate --bath 40L
  brimstock quench \"200 mg/L available chlorine\" --of bleach --bath 20L --with sodium-thiosulfate --why")]
pub struct Quench {
    /// The dip whose bath it is, counted at the upper end of its band; or how strong the bath is
    #[arg(allow_hyphen_values = true, value_name = "DIP|STRENGTH")]
    pub what: String,
    /// What the bath was made from, for a strength
    #[arg(long, value_name = "REAGENT")]
    pub of: Option<String>,
    /// How much there is of it
    #[arg(long, allow_hyphen_values = true, value_name = "VOLUME")]
    pub bath: String,
    /// Another neutraliser than the usual one
    #[arg(long, value_name = "REAGENT")]
    pub with: Option<String>,
}

/// How a bath is ended, or why not.
#[derive(Debug)]
pub struct Quenched {
    /// What was asked about.
    pub what: String,
    /// The day.
    pub on: NaiveDate,
    /// What the bath was made from.
    pub reagent: &'static Reagent,
    /// How much there is of it.
    pub bath: Volume,
    /// What can be done.
    pub verdict: Verdict,
    /// Why the verdict is what it is.
    pub reasons: Vec<String>,
    /// How a weak bath of it is ended; nothing where none is.
    pub treatment: Option<&'static Treatment>,
    /// Key of the neutraliser; nothing where the bath is left to stand and where none was taken.
    pub neutraliser: Option<String>,
    /// The amounts; nothing where there is no treatment, and for a name that is no neutraliser's.
    pub ending: Option<Ending>,
    /// What the left-over neutraliser is held against.
    pub limit: Option<Limit>,
    /// What to mind.
    pub cautions: &'static [Said],
    /// How the bath stands that is to leave.
    pub stands: Stands,
    /// What may be done with the bath then.
    pub then: Vec<String>,
    /// The day after which the rules want a second look, if that has passed.
    pub due: Option<NaiveDate>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// What stands at the foot of every plan.
    pub caution: &'static str,
    /// What to do next.
    pub next_step: String,
    /// How the numbers came about.
    pub steps: Vec<Step>,
}

/// What stands in one tub while it falls apart by itself, litres.
/// Source: `judgement`.
const MOST_STANDING_L: f64 = 10.0;

/// What a bath may hold, as it was asked.
struct Asked {
    what: String,
    reagent: &'static Reagent,
    strength: Held,
    assumed: Vec<String>,
    steps: Vec<Step>,
}

/// A strength in grams of reagent in a litre, or of available chlorine where it was written so.
enum Held {
    Reagent(Estimate),
    Chlorine(Estimate),
}

/// Answers how a bath is ended.
///
/// # Errors
/// For an unknown dip, reagent or unit, a strength without a reagent, and a local file that cannot be read.
pub fn run(session: &Session, arguments: &Quench) -> Result<Quenched, Problem> {
    let mut register = match Register::open(&session.path) {
        Ok(register) => Some(register),
        // A refusal needs no shelf, and without one nothing counts as held.
        Err(StoreError::Missing(_)) => None,
        Err(other) => return Err(other.into()),
    };
    match &mut register {
        Some(register) => register.read(|reading| answered(session, arguments, Some(reading))),
        None => answered(session, arguments, None),
    }
}

/// The same within a transaction that is under way, or without a register.
pub(super) fn answered(
    session: &Session,
    arguments: &Quench,
    shelf: Option<&Writing<'_>>,
) -> Result<Quenched, Problem> {
    let catalogue = session.catalogue;
    let rules = catalogue.neutralise();
    let kitchen = shelf.map(arguments::kitchen).transpose()?.flatten();
    let bath = parse::volume(&arguments.bath, kitchen)?;
    let asked = asked(session, arguments, kitchen)?;
    let local = local::of(session)?;
    let reagent = asked.reagent;
    let mut answer = Quenched {
        what: asked.what.clone(),
        on: session.day,
        reagent,
        bath,
        verdict: Verdict::Untreatable,
        reasons: Vec::new(),
        treatment: rules.treatment(&reagent.key),
        neutraliser: None,
        ending: None,
        limit: None,
        cautions: &[],
        stands: Stands::AsItIs,
        then: Vec::new(),
        due: Some(rules.review_by.min(catalogue.disposal().review_by)).filter(|day| session.day > *day),
        assumed: asked.assumed.clone(),
        caution: caution::short(),
        next_step: String::new(),
        steps: asked.steps.clone(),
    };
    let misread = arguments.with.as_deref();
    let misread = misread.and_then(|word| Some((word, mistaken(catalogue.reagents(), word)?)));
    if let Some((word, row)) = misread {
        answer.verdict = Verdict::Refused;
        answer.reasons.push(format!("`{word}` is {}: an acid that ends nothing, and frees chlorine", row.name));
        answer.reasons.push(row.difference.clone());
        answer.steps.push(Step::new(row.difference.clone(), row.source.clone()));
    } else if let Some(treatment) = answer.treatment {
        let neutraliser = match arguments.with.as_ref().or(treatment.default.as_ref()) {
            Some(word) => Some(arguments::reagent(catalogue, word)?),
            None => None,
        };
        end_with(session, shelf, &asked, neutraliser, &local, &mut answer)?;
    } else {
        if let Some(word) = &arguments.with {
            arguments::reagent(catalogue, word)?;
        }
        let why = rules.untreatable(&reagent.key);
        let (why, source) = why.map_or(("Nothing on file ends it.", "judgement"), |row| (&row.why, &row.source));
        answer.reasons.push(why.to_owned());
        answer.steps.push(Step::new(why, source));
    }
    then(catalogue, &local, &mut answer);
    answer.next_step = next_step(&answer);
    Ok(answer)
}

/// What may be done with the bath, and what is to be minded with one that is not ended.
fn then(catalogue: &'static Catalogue, local: &Local, answer: &mut Quenched) {
    let reagent = answer.reagent;
    let key = reagent.care.as_ref().map_or("", |care| care.disposal.as_str());
    let class = catalogue.disposal().class(key);
    let handed_over = class.is_none_or(|class| class.hand_over);
    answer.stands = match (answer.verdict, &answer.neutraliser) {
        (Verdict::Refused, _) => Stands::AsItIs,
        (Verdict::Untreatable, _) if handed_over => Stands::AsItIs,
        (Verdict::CanBeEnded | Verdict::Short, None) => Stands::Stood,
        _ => Stands::Ended,
    };
    let ended = matches!(answer.verdict, Verdict::CanBeEnded | Verdict::Short);
    answer.cautions = match (answer.treatment.filter(|_| ended), class) {
        (Some(treatment), _) => &treatment.cautions,
        (None, Some(class)) => &class.never,
        (None, None) => &[],
    };
    if answer.in_tubs() {
        answer.then.push("let it stand in tubs of ten litres, not in one: a large one keeps its heat".to_owned());
    }
    if let Some(class) = class.filter(|_| answer.verdict != Verdict::Refused) {
        answer.then.extend(class.bath.iter().map(|line| line.say.clone()));
    }
    answer.then.extend(after(local, key, &reagent.key, answer.neutraliser.as_deref(), answer.stands, answer.on));
}

/// Everything that follows once a treatment and what to do it with are known.
fn end_with(
    session: &Session,
    shelf: Option<&Writing<'_>>,
    asked: &Asked,
    neutraliser: Option<&'static Reagent>,
    local: &Local,
    answer: &mut Quenched,
) -> Result<(), Problem> {
    let catalogue = session.catalogue;
    let Some(treatment) = answer.treatment else { return Ok(()) };
    let share = counted_per_gram(asked.reagent, treatment.counted_as)?;
    let strength = match asked.strength {
        Held::Reagent(grams) => grams.scaled(share),
        Held::Chlorine(grams) => grams,
    };
    let used = Used { reagent: asked.reagent, treatment, strength, volume: answer.bath };
    let held = held(session, shelf, neutraliser)?;
    let with = neutraliser.map(|reagent| reagent.key.as_str());
    let way = Way { neutraliser, routes: catalogue.neutralise().ways(&asked.reagent.key, with).collect() };
    let mut ending = end(&used, &way, &held, catalogue.measuring())?;
    if let Some(other) = neutraliser.filter(|_| way.routes.is_empty()) {
        ending.reasons.extend(meeting(catalogue.apart(), asked.reagent, other));
    }
    answer.verdict = ending.verdict;
    answer.reasons.append(&mut ending.reasons);
    answer.assumed.append(&mut ending.assumed);
    answer.steps.append(&mut ending.steps);
    answer.neutraliser = neutraliser.map(|reagent| reagent.key.clone());
    if let Some(needed) = &ending.needed {
        answer.limit = limit(local, catalogue.neutralise(), &needed.neutraliser, needed.left_over_mg_per_l);
    }
    if ending.verdict == Verdict::Short {
        if shelf.is_none() {
            answer.assumed.push("there is no register, so nothing counts as held".to_owned());
        }
        answer.reasons.extend(others(session, shelf, &used, neutraliser)?);
    }
    answer.ending = Some(ending);
    Ok(())
}

/// What happens if the two meet, at whatever strength.
fn meeting(apart: &Apart, one: &Reagent, other: &Reagent) -> Option<String> {
    let [one, other] = [one, other].map(|reagent| Neighbour { reagent, form: reagent.forms[0], percent_w_w: None });
    conflict(apart, one, other).and_then(|found| found.pair.consequence.clone())
}

/// What the shelf offers of a neutraliser.
fn held(session: &Session, shelf: Option<&Writing<'_>>, neutraliser: Option<&Reagent>) -> Result<Vec<Offer>, Problem> {
    match (shelf, neutraliser) {
        (Some(shelf), Some(neutraliser)) => offers(session, shelf, &shelf.places()?, &neutraliser.key),
        _ => Ok(Vec::new()),
    }
}

/// Other neutralisers of which enough stands there: told, never taken in place of the one asked for.
fn others(
    session: &Session,
    shelf: Option<&Writing<'_>>,
    used: &Used<'_>,
    neutraliser: Option<&Reagent>,
) -> Result<Option<String>, Problem> {
    let catalogue = session.catalogue;
    let mut enough = Vec::new();
    for other in catalogue.reagents().filter(|other| neutraliser.is_none_or(|one| one.key != other.key)) {
        let routes: Vec<_> = catalogue.neutralise().ways(&used.reagent.key, Some(&other.key)).collect();
        if routes.is_empty() {
            continue;
        }
        let held = held(session, shelf, Some(other))?;
        let way = Way { neutraliser: Some(other), routes };
        if end(used, &way, &held, catalogue.measuring())?.verdict == Verdict::CanBeEnded {
            enough.push(format!("--with {}", other.key));
        }
    }
    let told = format!("of another neutraliser enough stands there; ask again {}", enough.join(" or "));
    Ok((!enough.is_empty()).then_some(told))
}

/// What the bath is: a dip of the book, or a strength of a reagent.
fn asked(session: &Session, arguments: &Quench, kitchen: Option<Kitchen>) -> Result<Asked, Problem> {
    let catalogue = session.catalogue;
    let text = arguments.what.trim();
    let named = catalogue.dip(text).is_some() || text.starts_with(|c: char| c.is_alphabetic());
    if named {
        let dip = arguments::dip(catalogue, text)?;
        if let Some(word) = &arguments.of {
            let given = arguments::reagent(catalogue, word)?;
            if given.key != dip.reagent {
                return Err(Problem::question(format!(
                    "the dip `{}` is made with {}, not with {}",
                    dip.key, dip.reagent, given.key
                ))
                .hint("leave --of away for a dip, or give the strength instead of the dip"));
            }
        }
        let reagent = arguments::reagent(catalogue, &dip.reagent)?;
        let goal = goal(dip, reagent, catalogue.measuring())?;
        let [low, mid, high] = [goal.low, goal.aim, goal.high].map(|value| value.to_g_per_l());
        return Ok(Asked {
            what: dip.key.clone(),
            reagent,
            strength: Held::Reagent(Estimate { low, mid, high }),
            assumed: vec![format!("counted at the upper end of the dip's band, {}", dip.target.high)],
            steps: goal.steps,
        });
    }
    let Some(word) = &arguments.of else {
        return Err(Problem::question(format!("`{text}` of what?"))
            .because("what ends a bath depends on what it was made from")
            .hint("add it, as --of potassium-permanganate; or name a dip: `brimstock dips` lists them"));
    };
    let written = parse::strength(text, kitchen)?;
    let reagent = arguments::reagent(catalogue, word)?;
    let mut asked = Asked {
        what: format!("{} {text}", reagent.key),
        reagent,
        strength: Held::Reagent(Estimate::exact(0.0)),
        assumed: Vec::new(),
        steps: Vec::new(),
    };
    let Some(treatment) = catalogue.neutralise().treatment(&reagent.key) else { return Ok(asked) };
    let chlorine = treatment.counted_as == CountedAs::AvailableChlorine;
    if let (Written::Plain(Strength::ChlorineInVolume(grams), _), true) = (&written, chlorine) {
        asked.strength = Held::Chlorine(Estimate::exact(grams.to_g_per_l()));
        return Ok(asked);
    }
    let bench = Temperature::celsius(20.0);
    let read = reading::read(Substance::of(reagent), &written, catalogue.measuring(), bench)?;
    let (grams, converted) = match solution::concentration(Substance::of(reagent), read.strength, bench) {
        Err(ChemError::DensityUnknown { reagent, from, to }) => {
            return Err(Problem::from(ChemError::DensityUnknown { reagent, from, to }).hint("write it as mg/L or g/L"));
        }
        other => other?,
    };
    let sd_ln = libm::hypot(read.sd_ln, converted.sd_ln);
    asked.strength = Held::Reagent(Estimate::exact(grams.to_g_per_l()).spread(sd_ln));
    asked.assumed = read.assumed;
    if chlorine && read.strength.basis() != Basis::ChlorineInVolume {
        let share = show::significant(counted_per_gram(reagent, treatment.counted_as)?, 3);
        asked.assumed.push(format!(
            "counted as {} itself, {share} g of available chlorine in a gram; for chlorine write \"200 mg/L available chlorine\"",
            reagent.key
        ));
    }
    asked.steps = read.steps;
    asked.steps.extend(converted.steps);
    Ok(asked)
}

fn next_step(answer: &Quenched) -> String {
    let key = &answer.reagent.key;
    let tenths = |volume: Volume| show::plain(libm::floor(volume.to_l() * 10.0 + 1e-6) / 10.0);
    let needed = answer.ending.as_ref().and_then(|ending| ending.needed.as_ref());
    match (answer.verdict, needed) {
        (Verdict::CanBeEnded, Some(needed)) => {
            let take = |dose: &Dose| {
                format!("`brimstock take {} {}`", dose.code, show::amount(dose.amount, &dose.unit).replace(' ', ""))
            };
            let takes: Vec<String> = needed.doses.iter().map(take).collect();
            format!("believe the reading, not the sum; then enter what you took: {}", takes.join(", "))
        }
        (Verdict::CanBeEnded, None) => "let it stand open and read the strip tomorrow".to_owned(),
        (Verdict::Short, Some(needed)) if needed.largest.to_l() >= 0.1 => {
            format!("end a part of it, {} L, or get more of {}", tenths(needed.largest), needed.neutraliser)
        }
        (Verdict::Short, _) => "get what is missing, and keep the bath apart until then".to_owned(),
        (Verdict::Refused, _) => instead(answer),
        (Verdict::Untreatable, _) => format!("`brimstock reagents {key}` tells more of it"),
    }
}

/// What to do instead of what was refused.
fn instead(answer: &Quenched) -> String {
    let key = &answer.reagent.key;
    let Some(ending) = &answer.ending else {
        return "read the salt's name on the pack to its end, and ask again with it or without --with".to_owned();
    };
    if let Some((thinned, again)) = ending.thin_to.zip(answer.again()) {
        let tub = if answer.neutraliser.is_none() && thinned.volume.to_l() > MOST_STANDING_L {
            "tubs of ten litres, not in one"
        } else {
            "a larger tub"
        };
        let litres = show::plain(thinned.volume.to_l());
        return format!(
            "fill it up with water to {litres} L in {tub}, then ask again: `brimstock quench \"{}\" --of {key} --bath {}`",
            again.what, again.bath
        );
    }
    if ending.too_strong {
        return format!("nothing is stirred in; it is handed over. `brimstock reagents {key}` tells more of it");
    }
    "ask again without --with: the usual way is planned with".to_owned()
}

impl Quenched {
    /// True if it stands, and is too much for one tub: a large one keeps its heat.
    #[must_use]
    pub fn in_tubs(&self) -> bool {
        self.stands == Stands::Stood && self.bath.to_l() > MOST_STANDING_L
    }

    /// The words with which to ask again about the bath thinned with water; nothing where thinning is of no use.
    #[must_use]
    pub fn again(&self) -> Option<Quench> {
        let thinned = self.ending.as_ref()?.thin_to?;
        let chlorine = self.treatment?.counted_as == CountedAs::AvailableChlorine;
        let unit = if chlorine { "g/L available chlorine" } else { "g/L" };
        Some(Quench {
            what: format!("{} {unit}", show::plain(thinned.g_per_l)),
            of: Some(self.reagent.key.clone()),
            bath: format!("{}L", show::plain(thinned.volume.to_l())),
            with: None,
        })
    }

    /// What the grams are grams of.
    #[must_use]
    pub fn counted(&self) -> &str {
        self.treatment.map_or(&self.reagent.key, counted_words)
    }

    /// The reactions that were looked at.
    fn routes<'a>(&'a self, catalogue: &'a Catalogue) -> impl Iterator<Item = &'a Reaction> {
        catalogue.neutralise().ways(&self.reagent.key, self.neutraliser.as_deref())
    }

    /// The reaction that is planned with.
    #[must_use]
    pub fn planned<'a>(&'a self, catalogue: &'a Catalogue) -> Option<&'a Reaction> {
        self.routes(catalogue).find(|route| route.purpose == Use::Planned)
    }

    /// The heat of the reaction that gives most.
    #[must_use]
    pub fn hottest<'a>(&'a self, catalogue: &'a Catalogue) -> Option<&'a Figure> {
        hottest(self.routes(catalogue))
    }
}
