//! `measure`: the keeper's own vessels, jugs, syringes, spoons, scales and droppers, and what was weighed with them.

use chrono::NaiveDate;
use clap::{Args, Subcommand};

use super::own_measures::{holds, used};
use super::{Problem, Session, arguments};
use crate::catalogue::Form;
use crate::chem::density::water;
use crate::dip::weighing::Holds;
use crate::register::measure::{Described, Kind, Owned, Weighed, Weighing};
use crate::units::measure::{Kitchen, Measure as Ware, Quantity};
use crate::units::{Temperature, parse, show};

/// How warm water is taken to be, °C. Source: `judgement`.
const USUAL_CELSIUS: f64 = 20.0;

/// A heap of powder weighs no less and no more than this, g/mL; beyond, something was typed wrongly. Source: `judgement`.
const HEAP_G_PER_ML: [f64; 2] = [0.1, 3.0];

/// How far what is weighed may be from what was said; beyond, something was typed wrongly. Source: `judgement`.
const FAR_OFF: f64 = 3.0;

/// Enter, weigh and list what you measure with; alone it lists them
#[derive(Debug, Args)]
pub struct Measure {
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Enter a vessel, jug, syringe, spoon, scale or dropper
    #[command(
        after_help = "Examples:\n  brimstock measure add T10 vessel 10L\n  brimstock measure add tbsp spoon 15mL\n  brimstock measure add s10 syringe 10mL --step 0.2mL\n  brimstock measure add litre jug 1L --step 10mL\n  brimstock measure add kitchen scale --step 1g --most 5kg\n  brimstock measure add pipette dropper --drops 20"
    )]
    Add(Add),
    /// Enter what a level spoon of a reagent weighs, or what water up to the mark weighs
    ///
    /// Several weights are as many weighings of one filling each. Of two days the later one holds, from its day on.
    #[command(
        after_help = "Examples:\n  brimstock measure weigh tbsp --of potassium-alum 13.8g\n  brimstock measure weigh tbsp --of potassium-alum 13.5g 13.8g 14.1g\n  brimstock measure weigh T10 --water 9.7kg\n  brimstock measure weigh litre --water 489g --mark 500mL\n  brimstock measure weigh pipette --water 1.1g --drops 20"
    )]
    Weigh(Weigh),
    /// List the measures that are used
    #[command(after_help = "Example: brimstock measure list")]
    List,
    /// Show one measure with everything that was weighed
    #[command(after_help = "Example: brimstock measure show tbsp")]
    Show {
        /// The measure's name
        name: String,
    },
    /// Enter that a measure is no longer used; its name stays taken
    #[command(after_help = "Example: brimstock measure retire tbsp")]
    Retire {
        /// The measure's name
        name: String,
        /// From which day on [default: the day of the question]
        #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
        date: Option<NaiveDate>,
    },
}

#[derive(Debug, Args)]
struct Add {
    /// Its name, as you would write it on it
    #[arg(value_parser = name)]
    name: String,
    /// vessel, jug, syringe, spoon, scale or dropper
    #[arg(value_parser = kind)]
    kind: Kind,
    /// What it holds: full to the mark, level for a spoon
    size: Option<String>,
    /// The distance of two marks of a jug or syringe, the last figure that a scale shows
    #[arg(long)]
    step: Option<String>,
    /// The most that a scale bears
    #[arg(long)]
    most: Option<String>,
    /// How many drops of a dropper make a millilitre
    #[arg(long, value_name = "PER_ML", value_parser = drops)]
    drops: Option<f64>,
    /// From which day on it is there [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    date: Option<NaiveDate>,
}

#[derive(Debug, Args)]
struct Weigh {
    /// The measure's name
    name: String,
    /// What each level spoon weighed
    #[arg(value_name = "WEIGHT")]
    weights: Vec<String>,
    /// The reagent in the spoon
    #[arg(long, value_name = "REAGENT", conflicts_with = "water")]
    of: Option<String>,
    /// What the water in it weighed: full, level, up to the mark, or so many drops
    #[arg(long, value_name = "WEIGHT", num_args = 1.., conflicts_with = "weights")]
    water: Vec<String>,
    /// How warm the water was, °C [default: 20]
    #[arg(long, value_parser = arguments::celsius, requires = "water", allow_hyphen_values = true)]
    temp: Option<f64>,
    /// Up to which mark of a jug
    #[arg(long, requires = "water")]
    mark: Option<String>,
    /// How many drops were weighed together
    #[arg(long, requires = "water", value_parser = drops)]
    drops: Option<f64>,
    /// The day it was weighed [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    date: Option<NaiveDate>,
}

fn name(text: &str) -> Result<String, String> {
    let text = text.trim();
    let good = |c: char| !c.is_control() && c != '`' && c != '"';
    if (1..=40).contains(&text.chars().count()) && text.chars().all(good) && !text.starts_with('-') {
        Ok(text.to_owned())
    } else {
        Err("is no name of a measure; accepted: 1 to 40 characters, no quotes".to_owned())
    }
}

fn kind(word: &str) -> Result<Kind, String> {
    Kind::called(word).ok_or_else(|| {
        let words: Vec<&str> = Kind::ALL.iter().map(|(_, word)| *word).collect();
        format!("`{word}` is no kind of measure; accepted: {}", words.join(", "))
    })
}

fn drops(text: &str) -> Result<f64, String> {
    let number = text.trim().parse::<f64>().ok().filter(|number| (1.0..=1000.0).contains(number));
    number.ok_or_else(|| format!("`{text}` is no number of drops; accepted: 1 to 1000"))
}

/// What `measure` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Measures {
    /// What was entered, if something was.
    pub said: Option<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// What to do next.
    pub next: Option<String>,
    /// The measures, one where one was asked for.
    pub measures: Vec<MeasureLine>,
    /// True if one was asked for, with everything that was weighed.
    pub single: bool,
}

/// One measure on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasureLine {
    /// As it was entered.
    pub described: Described,
    /// From which day on it is no longer used.
    pub ended: Option<NaiveDate>,
    /// What it holds on the day of the question: millilitres, or what is there where its marks show 1.
    pub holds: Holds,
    /// The day on which water was weighed in it.
    pub weighed_on: Option<NaiveDate>,
    /// What a level spoon weighs on that day, by reagent.
    pub spoons: Vec<SpoonLine>,
    /// Everything that was weighed with it.
    pub weighings: Vec<Weighing>,
}

/// What a level spoon of a reagent weighs.
#[derive(Debug, Clone, PartialEq)]
pub struct SpoonLine {
    /// The reagent's key.
    pub reagent: String,
    /// Grams, and how sure they are.
    pub grams: Holds,
    /// The day it was weighed.
    pub on: NaiveDate,
}

/// Enters, weighs, retires or lists measures.
///
/// # Errors
/// For a name that is taken or unknown, a size or step that the kind does not have or lacks, a weight that cannot be, and a
/// day in the future.
pub fn run(session: &Session, arguments: &Measure) -> Result<Measures, Problem> {
    let mut register = session.register()?;
    match &arguments.verb {
        None | Some(Verb::List) => register.read(|reading| {
            let used = reading.measures()?.into_iter().filter(|owned| owned.is_used_on(session.day));
            let measures = used.map(|owned| line(session, &owned)).collect::<Result<_, _>>()?;
            Ok(Measures { said: None, assumed: Vec::new(), next: None, measures, single: false })
        }),
        Some(Verb::Show { name }) => register.read(|reading| {
            let measures = reading.measures()?;
            one(session, arguments::measure(&measures, name)?, None)
        }),
        Some(Verb::Add(given)) => register.write(|writing| {
            if let Some(owned) = writing.measures()?.iter().find(|owned| same(owned, &given.name)) {
                let retired = if owned.ended.is_some() { ", retired" } else { "" };
                return Err(Problem::question(format!(
                    "there is already a measure `{}`{retired}",
                    owned.described.name
                ))
                .because("a name stays taken, so that an old dose can be read")
                .hint("choose another name, or weigh it: `brimstock measure weigh`"));
            }
            let kitchen = arguments::kitchen(writing)?;
            let mut assumed = Vec::new();
            let described = given.described(session, kitchen, &mut assumed)?;
            writing.add_measure(&described, &session.entered_at)?;
            let said = format!("{} `{}` entered", described.kind.word(), described.name);
            let measures = writing.measures()?;
            let owned = arguments::measure(&measures, &described.name)?;
            Ok(Measures { assumed, next: next(&described), ..one(session, owned, Some(said))? })
        }),
        Some(Verb::Weigh(given)) => register.write(|writing| {
            let measures = writing.measures()?;
            let owned = used(session, &measures, &given.name)?;
            let mut assumed = Vec::new();
            let weighing = given.weighing(session, owned, arguments::kitchen(writing)?, &mut assumed)?;
            writing.add_weighing(owned.id, &weighing, &session.entered_at)?;
            let name = &owned.described.name;
            let measures = writing.measures()?;
            let owned = arguments::measure(&measures, name)?;
            let what = match &weighing.what {
                Weighed::Reagent(key) => format!("a level spoon of {key}"),
                Weighed::Water { .. } => "water".to_owned(),
            };
            Ok(Measures {
                assumed,
                ..one(session, owned, Some(format!("`{name}`: {what} weighed on {}", weighing.day)))?
            })
        }),
        Some(Verb::Retire { name, date }) => register.write(|writing| {
            let measures = writing.measures()?;
            let owned = used(session, &measures, name)?;
            let day = arguments::event_day(session, *date)?;
            not_before(owned, day)?;
            writing.end_measure(owned.id, day, &session.entered_at)?;
            let measures = writing.measures()?;
            let said = format!("`{}` is no longer used from {day} on", owned.described.name);
            one(session, arguments::measure(&measures, name)?, Some(said))
        }),
    }
}

fn same(owned: &Owned, name: &str) -> bool {
    owned.described.name.eq_ignore_ascii_case(name)
}

fn one(session: &Session, owned: &Owned, said: Option<String>) -> Result<Measures, Problem> {
    let measures = vec![line(session, owned)?];
    Ok(Measures { said, assumed: Vec::new(), next: None, measures, single: true })
}

fn line(session: &Session, owned: &Owned) -> Result<MeasureLine, Problem> {
    let mut keys: Vec<&str> = Vec::new();
    for weighing in &owned.weighings {
        if let Weighed::Reagent(key) = &weighing.what
            && !keys.contains(&key.as_str())
        {
            keys.push(key);
        }
    }
    keys.sort_unstable();
    let spread = session.catalogue.measuring().spoon.value;
    let spoons = keys.into_iter().filter_map(|key| {
        let weighing = owned.weighing_on(session.day, Some(key))?;
        Some(SpoonLine { reagent: key.to_owned(), grams: Holds::weighed(&weighing.grams, spread), on: weighing.day })
    });
    Ok(MeasureLine {
        described: owned.described.clone(),
        ended: owned.ended.filter(|ended| *ended <= session.day),
        holds: holds(session, owned)?,
        weighed_on: owned.weighing_on(session.day, None).map(|weighing| weighing.day),
        spoons: spoons.collect(),
        weighings: owned.weighings.iter().filter(|weighing| weighing.day <= session.day).cloned().collect(),
    })
}

/// How it would become more exact.
fn next(described: &Described) -> Option<String> {
    let name = &described.name;
    match described.kind {
        Kind::Spoon => Some(format!("weigh a level spoon once: `brimstock measure weigh {name} --of REAGENT …g`")),
        Kind::Vessel => {
            Some(format!("weigh the water that fills it once: `brimstock measure weigh {name} --water …kg`"))
        }
        Kind::Jug => {
            Some(format!("weigh water up to a mark once: `brimstock measure weigh {name} --water …g --mark …mL`"))
        }
        Kind::Dropper => Some(format!("weigh some drops once: `brimstock measure weigh {name} --water …g --drops …`")),
        Kind::Syringe | Kind::Scale => None,
    }
}

/// An event of a measure is not before the day it came.
fn not_before(owned: &Owned, day: NaiveDate) -> Result<(), Problem> {
    let from = owned.described.from;
    if day >= from {
        return Ok(());
    }
    Err(Problem::question(format!("--date {day}: `{}` is there from {from}", owned.described.name))
        .because("nothing was written")
        .hint(format!("give {from} or a later day")))
}

impl Add {
    fn described(
        &self,
        session: &Session,
        kitchen: Option<Kitchen>,
        assumed: &mut Vec<String>,
    ) -> Result<Described, Problem> {
        let word = self.kind.word();
        let unfit = |what: &str, accepted: &str| {
            Problem::question(format!("a {word} has no {what}"))
                .because("nothing was written")
                .hint(accepted.to_owned())
        };
        let wants = |what: &str, example: &str| {
            Problem::question(format!("a {word} needs {what}"))
                .because("nothing was written")
                .hint(format!("for example: `brimstock measure add {} {word} {example}`", self.name))
        };
        let has_volume = !matches!(self.kind, Kind::Scale | Kind::Dropper);
        let has_step = matches!(self.kind, Kind::Scale | Kind::Jug | Kind::Syringe);
        if self.size.is_some() && !has_volume {
            return Err(unfit("volume", "a scale takes --step and --most, a dropper --drops"));
        }
        if self.step.is_some() && !has_step {
            return Err(unfit(
                "steps",
                "accepted: what it holds, as 15mL or 10L; --step is for jug, syringe and scale",
            ));
        }
        if self.most.is_some() && self.kind != Kind::Scale {
            return Err(unfit("--most", "accepted: what it holds, as 15mL or 10L; --most is for a scale"));
        }
        if self.drops.is_some() && self.kind != Kind::Dropper {
            return Err(unfit("--drops", "--drops is for a dropper"));
        }
        let most = match (&self.size, &self.most) {
            (Some(size), _) => {
                let amount = parse::amount(size, kitchen)?;
                if amount.measure == Ware::UnknownSpoon {
                    assumed.push(format!("spoon or cup of unstated country read as {}", amount.unit));
                }
                Some(parse::volume(size, kitchen)?.to_ml())
            }
            (None, Some(most)) => Some(grams("--most", most, kitchen)?),
            (None, None) => None,
        };
        let step = match &self.step {
            Some(step) if self.kind == Kind::Scale => Some(grams("--step", step, kitchen)?),
            Some(step) => Some(parse::volume(step, kitchen)?.to_ml()),
            None => None,
        };
        let drops_per_ml = self.drops;
        match self.kind {
            Kind::Vessel if most.is_none() => return Err(wants("what it holds when full", "10L")),
            Kind::Spoon if most.is_none() => return Err(wants("what it holds when level", "15mL")),
            Kind::Syringe if most.is_none() || step.is_none() => {
                return Err(wants("what it holds and the distance of its marks", "10mL --step 0.2mL"));
            }
            Kind::Jug if step.is_none() => return Err(wants("the distance of its marks", "1L --step 10mL")),
            Kind::Scale if step.is_none() => {
                return Err(wants("the last figure that it shows", "--step 1g --most 5kg"));
            }
            Kind::Dropper if drops_per_ml.is_none() => return Err(wants("its drops in a millilitre", "--drops 20")),
            _ => {}
        }
        let unit = if self.kind == Kind::Scale { "g" } else { "mL" };
        if let (Some(most), Some(step)) = (most, step)
            && step > most
        {
            return Err(Problem::question(format!(
                "--step {} is more than the {} that it {}",
                show::amount(step, unit),
                show::amount(most, unit),
                if self.kind == Kind::Scale { "bears" } else { "holds" }
            ))
            .because("nothing was written")
            .hint("accepted: a step that goes into it at least once"));
        }
        if let (Kind::Spoon, Some(most)) = (self.kind, most)
            && most > 1000.0
        {
            return Err(Problem::question(format!("a spoon of {} is no spoon", show::millilitres(most)))
                .because("nothing was written")
                .hint("accepted: up to 1 L; a larger thing is a vessel or a jug"));
        }
        let from = arguments::event_day(session, self.date)?;
        Ok(Described { name: self.name.clone(), kind: self.kind, most, step, drops_per_ml, from })
    }
}

fn grams(field: &str, text: &str, kitchen: Option<Kitchen>) -> Result<f64, Problem> {
    match parse::amount(text, kitchen)?.quantity {
        Quantity::Mass(mass) => Ok(mass.to_g()),
        Quantity::Volume(_) => Err(Problem::question(format!("{field} `{text}` is a volume"))
            .because("nothing was written")
            .hint("accepted: a number and a unit of mass: 13.8g, 5kg, 0.5oz")),
    }
}

impl Weigh {
    fn weighing(
        &self,
        session: &Session,
        owned: &Owned,
        kitchen: Option<Kitchen>,
        assumed: &mut Vec<String>,
    ) -> Result<Weighing, Problem> {
        let day = arguments::event_day(session, self.date)?;
        not_before(owned, day)?;
        let described = &owned.described;
        let (name, kind) = (&described.name, described.kind);
        let refused = |what: String, hint: &str| {
            Err(Problem::question(what).because("nothing was written").hint(hint.to_owned()))
        };
        if let Some(word) = &self.of {
            let reagent = arguments::reagent(session.catalogue, word)?;
            if kind != Kind::Spoon {
                return refused(
                    format!(
                        "--of {word}: `{name}` is a {}, and only a level spoon of a reagent is weighed",
                        kind.word()
                    ),
                    "water is weighed in vessels, jugs, spoons and droppers: --water 98g",
                );
            }
            if !reagent.forms.contains(&Form::Solid) {
                return refused(
                    format!("--of {word}: {} is no powder", reagent.key),
                    "weigh water in it instead, which tells what it holds of any liquid: --water 14.8g",
                );
            }
            if self.weights.is_empty() {
                return refused(
                    format!("--of {word}: what the spoon weighed is missing"),
                    "say it behind: `brimstock measure weigh tbsp --of potassium-alum 13.8g`",
                );
            }
            let grams = weights(&self.weights, kitchen)?;
            let holds = described.most.unwrap_or(1.0);
            for weight in &grams {
                let [low, high] = HEAP_G_PER_ML.map(|g_per_ml| g_per_ml * holds);
                in_range(name, *weight, low, high, &format!("a level spoon of {}", show::millilitres(holds)))?;
            }
            return Ok(Weighing { day, what: Weighed::Reagent(reagent.key.clone()), grams });
        }
        if self.water.is_empty() {
            return refused(
                format!("what was weighed in `{name}` is missing"),
                "say --of REAGENT and what a level spoon of it weighed, or --water and what the water weighed",
            );
        }
        let grams = weights(&self.water, kitchen)?;
        let mark_ml = match (&self.mark, kind) {
            (Some(mark), Kind::Jug) => Some(parse::volume(mark, kitchen)?.to_ml()),
            (Some(mark), _) => {
                return refused(format!("--mark {mark}: a {} is weighed full", kind.word()), "--mark is for a jug");
            }
            (None, Kind::Jug) => match described.most {
                Some(most) => {
                    assumed.push(format!("filled to its mark of {} (else --mark)", show::millilitres(most)));
                    Some(most)
                }
                None => return refused(format!("`{name}`: up to which mark?"), "say it: --mark 500mL"),
            },
            (None, Kind::Vessel | Kind::Spoon) => described.most,
            (None, _) => None,
        };
        if let (Some(mark), Some(most)) = (mark_ml, described.most)
            && mark > most * (1.0 + 1e-9)
        {
            return refused(
                format!("--mark {}: `{name}` holds {}", show::millilitres(mark), show::millilitres(most)),
                "accepted: a mark that it has",
            );
        }
        if self.drops.is_some() && kind != Kind::Dropper {
            return refused(format!("--drops: `{name}` is a {}", kind.word()), "--drops is for a dropper");
        }
        let said_ml = match kind {
            Kind::Scale | Kind::Syringe => {
                return refused(
                    format!("--water: a {} is not weighed with water", kind.word()),
                    "vessels, jugs, spoons and droppers are; of a scale and a syringe the step counts",
                );
            }
            Kind::Dropper => match (self.drops, described.drops_per_ml) {
                (Some(drops), Some(per_ml)) => drops / per_ml,
                _ => return refused(format!("`{name}`: how many drops were weighed?"), "say it: --drops 20"),
            },
            _ => mark_ml.unwrap_or(1.0),
        };
        let celsius = self.temp.unwrap_or_else(|| {
            assumed.push(format!("water of {USUAL_CELSIUS} °C (else --temp)"));
            USUAL_CELSIUS
        });
        let g_per_ml = water(Temperature::celsius(celsius))?.to_g_per_ml();
        for weight in &grams {
            let full = said_ml * g_per_ml;
            let what = format!("water of {}", show::millilitres(said_ml));
            in_range(name, *weight, full / FAR_OFF, full * FAR_OFF, &what)?;
        }
        Ok(Weighing { day, what: Weighed::Water { celsius, mark_ml, drops: self.drops }, grams })
    }
}

fn weights(words: &[String], kitchen: Option<Kitchen>) -> Result<Vec<f64>, Problem> {
    words.iter().map(|word| grams("the weight", word, kitchen)).collect()
}

fn in_range(name: &str, grams: f64, low: f64, high: f64, what: &str) -> Result<(), Problem> {
    if (low..=high).contains(&grams) {
        return Ok(());
    }
    Err(Problem::question(format!("`{name}`: {} cannot be {what}", show::grams(grams)))
        .because("nothing was written; that is far from anything it could weigh")
        .hint(format!(
            "accepted: {} to {}, without the weight of the measure itself",
            show::grams(low),
            show::grams(high)
        )))
}
