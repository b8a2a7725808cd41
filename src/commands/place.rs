//! `place`: where stocks stand.

use chrono::NaiveDate;
use clap::{Args, Subcommand};

use super::{Problem, Session, arguments};
use crate::decay::climate::Climate;
use crate::register::place::{Light, Place as Stored, PlaceState};
use crate::units::{Temperature, show};

/// What a place is taken for when nothing is said: an indoor cupboard.
const USUAL_CELSIUS: f64 = 19.0;

/// Enter and list the places where stocks stand
#[derive(Debug, Args)]
pub struct Place {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Enter a new place
    #[command(
        after_help = "Examples:\n  brimstock place add cupboard --temp 19 --light dark\n  brimstock place add porch --summer 18 --winter 4 --light dim"
    )]
    Add(Climates),
    /// Enter that a place is warmer, colder, lighter or darker from a day on
    #[command(after_help = "Example: brimstock place set porch --temp 8 --date 2031-03-01")]
    Set(Climates),
    /// List the places
    #[command(after_help = "Example: brimstock place list")]
    List,
}

#[derive(Debug, Args)]
struct Climates {
    /// The place's name
    name: String,
    /// The temperature all year, °C [default for a new place: 19, an indoor cupboard]
    #[arg(long, value_parser = arguments::celsius, conflicts_with_all = ["summer", "winter"], allow_hyphen_values = true)]
    temp: Option<f64>,
    /// The mean of the warmest quarter, °C
    #[arg(long, value_parser = arguments::celsius, requires = "winter", allow_hyphen_values = true)]
    summer: Option<f64>,
    /// The mean of the coldest quarter, °C
    #[arg(long, value_parser = arguments::celsius, requires = "summer", allow_hyphen_values = true)]
    winter: Option<f64>,
    /// The number of the warmest month: 7 north of the equator, 1 south of it
    #[arg(long, default_value_t = 7, value_parser = clap::value_parser!(u32).range(1..=12), value_name = "MONTH")]
    warmest_month: u32,
    /// How much daylight gets there: dark, dim, bright, sill or outdoors [default for a new place: dark]
    #[arg(long, value_parser = light)]
    light: Option<Light>,
    /// From which day on [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    date: Option<NaiveDate>,
}

fn light(word: &str) -> Result<Light, String> {
    Light::called(word).ok_or_else(|| {
        let words: Vec<&str> = Light::ALL.iter().map(|(_, word)| *word).collect();
        format!("`{word}` is no light class; accepted: {}", words.join(", "))
    })
}

/// What `place` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Places {
    /// What was entered, if something was.
    pub said: Option<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// Every place, as it is on the day of the question.
    pub places: Vec<PlaceLine>,
}

/// One place on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceLine {
    /// Its name.
    pub name: String,
    /// Its temperature in words.
    pub climate: String,
    /// Mean of the warmest quarter, °C.
    pub summer_c: f64,
    /// Mean of the coldest quarter, °C.
    pub winter_c: f64,
    /// Its light class.
    pub light: Light,
    /// Since when.
    pub since: NaiveDate,
}

/// Enters or lists places.
///
/// # Errors
/// For a name that is taken or unknown, and a day in the future.
pub fn run(session: &Session, arguments: Place) -> Result<Places, Problem> {
    let mut register = session.register()?;
    match arguments.verb {
        Verb::List => register.read(|reading| Ok(answer(session, &reading.places()?, None, Vec::new()))),
        Verb::Add(given) => register.write(|writing| {
            let places = writing.places()?;
            let name = new_name(&places, &given.name)?;
            let mut assumed = Vec::new();
            let climate = given.climate().unwrap_or_else(|| {
                assumed.push(format!(
                    "{USUAL_CELSIUS} °C all year, an indoor cupboard; a min/max thermometer knows better"
                ));
                Climate::Constant(Temperature::celsius(USUAL_CELSIUS))
            });
            let light = given.light.unwrap_or_else(|| {
                assumed.push("dark, as in a closed cupboard (else --light dim, bright, sill or outdoors)".to_owned());
                Light::Dark
            });
            let from = arguments::event_day(session, given.date)?;
            let id = writing.add_place(name, &session.entered_at)?;
            writing.set_place(id, &PlaceState { from, climate, light }, &session.entered_at)?;
            Ok(answer(session, &writing.places()?, Some(format!("place {name} entered")), assumed))
        }),
        Verb::Set(given) => register.write(|writing| {
            let places = writing.places()?;
            let place = arguments::place(&places, &given.name)?;
            let from = arguments::event_day(session, given.date)?;
            if given.climate().is_none() && given.light.is_none() {
                return Err(Problem::question("nothing to set").hint("give --temp, --summer and --winter, or --light"));
            }
            let known_from = place.states[0].from;
            if from < known_from {
                return Err(Problem::question(format!(
                    "`{}` is known from {known_from} on, not on {from}",
                    place.name
                ))
                .because("its first entry also speaks for the days before it")
                .hint(format!("give --date {known_from} or a later day")));
            }
            let before = place.on(from);
            let climate = given.climate().unwrap_or(before.climate);
            let light = given.light.unwrap_or(before.light);
            writing.set_place(place.id, &PlaceState { from, climate, light }, &session.entered_at)?;
            let said = format!("place {} from {from} on: {}, {}", place.name, climate_text(climate), light.word());
            Ok(answer(session, &writing.places()?, Some(said), Vec::new()))
        }),
    }
}

impl Climates {
    fn climate(&self) -> Option<Climate> {
        if let Some(temperature) = self.temp {
            return Some(Climate::Constant(Temperature::celsius(temperature)));
        }
        let (summer, winter) = (self.summer?, self.winter?);
        let (summer, winter) = (Temperature::celsius(summer.max(winter)), Temperature::celsius(winter.min(summer)));
        Some(Climate::Seasonal { summer, winter, warmest_month: self.warmest_month })
    }
}

fn new_name<'a>(places: &[Stored], name: &'a str) -> Result<&'a str, Problem> {
    let name = name.trim();
    if name.is_empty() || name.chars().count() > 40 || name.chars().any(char::is_control) {
        return Err(Problem::question(format!("`{name}` is no name for a place")).hint("accepted: 1 to 40 characters"));
    }
    if places.iter().any(|place| place.name.eq_ignore_ascii_case(name)) {
        return Err(Problem::question(format!("there is a place `{name}` already"))
            .hint(format!("to change it from a day on: `brimstock place set {name} --temp 8`")));
    }
    Ok(name)
}

fn answer(session: &Session, places: &[Stored], said: Option<String>, assumed: Vec<String>) -> Places {
    let places = places
        .iter()
        .map(|place| {
            let state = place.on(session.day);
            let (summer_c, winter_c) = match state.climate {
                Climate::Constant(temperature) => (temperature.to_celsius(), temperature.to_celsius()),
                Climate::Seasonal { summer, winter, .. } => (summer.to_celsius(), winter.to_celsius()),
            };
            PlaceLine {
                name: place.name.clone(),
                climate: climate_text(state.climate),
                summer_c,
                winter_c,
                light: state.light,
                since: state.from,
            }
        })
        .collect();
    Places { said, assumed, places }
}

/// A climate in words.
#[must_use]
pub fn climate_text(climate: Climate) -> String {
    let celsius = |temperature: Temperature| format!("{} °C", show::plain(temperature.to_celsius()));
    match climate {
        Climate::Constant(temperature) => celsius(temperature),
        Climate::Seasonal { summer, winter, .. } => {
            format!("{} summer, {} winter", celsius(summer), celsius(winter))
        }
    }
}
