//! `place`: where stocks stand.

use std::path::{Path, PathBuf};

use chrono::{Days, NaiveDate};
use clap::{Args, Subcommand};

use super::{Kind, Problem, Session, arguments, told};
use crate::catalogue::{Around, Light};
use crate::decay::climate::{Climate, Season};
use crate::decay::light::Daylight;
use crate::decay::log::{self, Log};
use crate::decay::warmth::mean_kinetic;
use crate::register::place::{Place as Stored, PlaceState};
use crate::units::{MolarEnergy, Temperature, show};

/// What a place is taken for when nothing is said: an indoor cupboard.
const USUAL_CELSIUS: f64 = 19.0;

/// The activation energy by which labels count a mean kinetic temperature, kJ/mol. Source: `usp-1160`.
const LABELS_KJ_PER_MOL: f64 = 83.144;

/// How many bad rows of a log are named.
const ROWS_SHOWN: usize = 10;

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
        after_help = "Examples:\n  brimstock place add cupboard --temp 19 --light dark\n  brimstock place add porch --summer 18 --winter 4 --light dim --around combustibles\n  brimstock place add top-shelf --cabinet locker --height 140"
    )]
    Add(Climates),
    /// Enter that a place is warmer, colder, lighter or darker from a day on
    #[command(after_help = "Example: brimstock place set porch --temp 8 --date 2031-03-01")]
    Set(Climates),
    /// Read what a thermometer logged in a place: a CSV file of times and °C
    ///
    /// All of the file is read or nothing. Logged days go before what was said of the place.
    #[command(after_help = "Example: brimstock place log cupboard readings.csv")]
    Log {
        /// The place's name
        name: String,
        /// The file: a column of times (2031-03-01 12:00, rising) and one of temperatures
        file: PathBuf,
    },
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
    #[arg(long, default_value_t = 7, value_parser = arguments::whole(1_u32..=12), value_name = "MONTH")]
    warmest_month: u32,
    /// How much daylight gets there: dark, dim, bright, sill or outdoors [default for a new place: dark]
    #[arg(long, value_parser = light)]
    light: Option<Light>,
    /// Hours of full sun on a stock there in a day, for sill and outdoors [default: 2 and 5]
    #[arg(long, value_parser = sun_hours, value_name = "HOURS", allow_hyphen_values = true)]
    sun: Option<f64>,
    /// The cabinet that it is a shelf of; places of one cabinet share air and spills [default: a cabinet of its own]
    #[arg(long, value_name = "NAME", value_parser = cabinet)]
    cabinet: Option<String>,
    /// How high above the floor it is, cm: 0 to 1000
    #[arg(long, value_name = "CM", value_parser = height, allow_hyphen_values = true)]
    height: Option<f64>,
    /// What is around it: combustibles, bare-metal, damp, warm, food, bedroom; several with commas; `nothing` for none
    #[arg(long, value_name = "WORDS", value_parser = around)]
    around: Option<AroundWords>,
    /// From which day on [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    date: Option<NaiveDate>,
}

/// What is around a place, as typed.
#[derive(Debug, Clone)]
struct AroundWords(Vec<Around>);

fn around(text: &str) -> Result<AroundWords, String> {
    if text.trim() == "nothing" {
        return Ok(AroundWords(Vec::new()));
    }
    let mut found = Vec::new();
    for word in text.split(',').map(str::trim) {
        let words: Vec<&str> = Around::ALL.iter().map(|around| around.word()).collect();
        let known = Around::called(word)
            .ok_or_else(|| format!("`{word}` is not known; accepted: {}, or nothing", words.join(", ")))?;
        if !found.contains(&known) {
            found.push(known);
        }
    }
    found.sort_unstable();
    Ok(AroundWords(found))
}

fn cabinet(text: &str) -> Result<String, String> {
    let text = text.trim();
    if (1..=40).contains(&text.chars().count()) && !text.chars().any(char::is_control) {
        Ok(text.to_owned())
    } else {
        Err("is no name of a cabinet; accepted: 1 to 40 characters".to_owned())
    }
}

fn height(text: &str) -> Result<f64, String> {
    let cm = text.trim().trim_end_matches("cm").trim().parse::<f64>().ok();
    cm.filter(|cm| (0.0..=1000.0).contains(cm))
        .ok_or_else(|| format!("`{text}` is no height above the floor; accepted: 0 to 1000 cm"))
}

fn sun_hours(text: &str) -> Result<f64, String> {
    let hours = text.trim().trim_end_matches('h').trim().parse::<f64>().ok();
    hours
        .filter(|hours| (0.0..=16.0).contains(hours))
        .ok_or_else(|| format!("`{text}` is no number of sun hours in a day; accepted: 0 to 16"))
}

fn light(word: &str) -> Result<Light, String> {
    Light::called(word).ok_or_else(|| {
        let words: Vec<&str> = Light::ALL.iter().map(|light| light.word()).collect();
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
    /// The mean kinetic temperature of the year up to that day, °C, as labels count it.
    pub mean_kinetic_c: f64,
    /// How many days of that year a thermometer has logged.
    pub logged_days: usize,
    /// Its daylight.
    pub daylight: Daylight,
    /// What it lies in; nothing for a cabinet of its own.
    pub cabinet: Option<String>,
    /// How high above the floor, cm.
    pub height_cm: Option<f64>,
    /// What is around it.
    pub around: Option<Vec<Around>>,
    /// Since when.
    pub since: NaiveDate,
}

/// Enters or lists places.
///
/// # Errors
/// For a name that is taken or unknown, a day in the future, and a log that cannot be read whole.
pub fn run(session: &Session, arguments: Place) -> Result<Places, Problem> {
    let mut register = session.register()?;
    match arguments.verb {
        Verb::List => register.read(|reading| Ok(answer(session, &reading.places()?, None, Vec::new()))),
        Verb::Add(given) => register.write(|writing| {
            let places = writing.places()?;
            let name = new_name(&places, &given.name)?;
            let mut assumed = Vec::new();
            let season = given.season()?.unwrap_or_else(|| {
                assumed.push(format!(
                    "{USUAL_CELSIUS} °C all year, an indoor cupboard [judgement]; a min/max thermometer knows better"
                ));
                Season::Constant(Temperature::celsius(USUAL_CELSIUS))
            });
            let light = given.light.unwrap_or_else(|| {
                assumed.push("dark, as in a closed cupboard (else --light dim, bright, sill or outdoors)".to_owned());
                Light::Dark
            });
            let daylight = given.daylight(light, None)?;
            let place = session.catalogue.optics().daylight(light);
            if let (Some(usual), None) = (&place.sun_hours, daylight.sun_hours) {
                assumed.push(format!(
                    "{} hours of full sun a day [judgement] (else --sun HOURS)",
                    show::plain(usual.value)
                ));
            }
            let from = arguments::event_day(session, given.date)?;
            let id = writing.add_place(name, &session.entered_at)?;
            let Climates { cabinet, height: height_cm, around, .. } = given;
            let around = around.map(|words| words.0);
            let state = PlaceState { from, season, daylight, cabinet, height_cm, around };
            writing.set_place(id, &state, &session.entered_at)?;
            Ok(answer(session, &writing.places()?, Some(format!("place {name} entered")), assumed))
        }),
        Verb::Set(given) => register.write(|writing| {
            let places = writing.places()?;
            let place = arguments::place(&places, &given.name)?;
            let from = arguments::event_day(session, given.date)?;
            let site = given.cabinet.is_some() || given.height.is_some() || given.around.is_some();
            if given.season()?.is_none() && given.light.is_none() && given.sun.is_none() && !site {
                let hint = "give --temp, --summer and --winter, --light, --sun, --cabinet, --height, or --around";
                return Err(Problem::question("nothing to set").hint(hint));
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
            let season = given.season()?.unwrap_or(before.season);
            let light = given.light.unwrap_or(before.daylight.light);
            let hours = before.daylight.sun_hours.filter(|_| light == before.daylight.light);
            let daylight = given.daylight(light, hours)?;
            let state = PlaceState {
                from,
                season,
                daylight,
                cabinet: given.cabinet.or_else(|| before.cabinet.clone()),
                height_cm: given.height.or(before.height_cm),
                around: given.around.map_or_else(|| before.around.clone(), |words| Some(words.0)),
            };
            writing.set_place(place.id, &state, &session.entered_at)?;
            let said = format!(
                "place {} from {from} on: {}, {}{}",
                place.name,
                season_text(season),
                daylight_text(daylight),
                match site_text(state.cabinet.as_deref(), state.height_cm, state.around.as_deref()) {
                    site if site.is_empty() => site,
                    site => format!(", {site}"),
                }
            );
            Ok(answer(session, &writing.places()?, Some(said), Vec::new()))
        }),
        Verb::Log { name, file } => {
            let log = read_log(&file)?;
            register.write(|writing| {
                let places = writing.places()?;
                let place = arguments::place(&places, &name)?;
                let (first, last) = log.days.keys().next().zip(log.days.keys().next_back()).expect("a log has days");
                if *last > session.day {
                    return Err(Problem::question(format!("the log goes on to {last}: today is {}", session.day))
                        .because("a log tells what has happened; nothing of it was entered")
                        .hint("see to the logger's clock, or say which day is today with --on YYYY-MM-DD"));
                }
                writing.add_log(place.id, &file.display().to_string(), &log.days, &session.entered_at)?;
                let said = log_text(&place.name, &log, *first, *last);
                let mut assumed = vec!["days without a reading: as was said of the place".to_owned()];
                if let Some(difference) = difference(place.climate(*first), &log) {
                    assumed.push(difference);
                }
                Ok(answer(session, &writing.places()?, Some(said), assumed))
            })
        }
    }
}

/// Reads a log's file whole.
fn read_log(file: &Path) -> Result<Log, Problem> {
    let cannot = |what: String| Problem { kind: Kind::Store, ..Problem::question(what) };
    let bytes =
        std::fs::read(file).map_err(|error| cannot(format!("{} cannot be read: {}", file.display(), told(&error))))?;
    let text = String::from_utf8(bytes).map_err(|_| {
        Problem::question(format!("{} is not text in UTF-8", file.display())).hint("save it as CSV in UTF-8")
    })?;
    log::read(&text).map_err(|rows| {
        let shown: Vec<String> =
            rows.iter().take(ROWS_SHOWN).map(|row| format!("row {}: {}", row.line, row.what)).collect();
        let more = match rows.len().saturating_sub(ROWS_SHOWN) {
            0 => String::new(),
            more => format!("; and {more} more"),
        };
        Problem::question(format!(
            "{}: {} cannot be read; nothing of it was entered",
            file.display(),
            if rows.len() == 1 { "a row".to_owned() } else { format!("{} rows", rows.len()) }
        ))
        .because(format!("{}{more}", shown.join("; ")))
        .hint("mend these rows, or save the log as `time,temperature` with times such as 2031-03-01 12:00 and °C")
    })
}

fn log_text(place: &str, log: &Log, first: NaiveDate, last: NaiveDate) -> String {
    let readings = log.readings.len();
    let celsius = |value: f64| show::plain(libm::round(value * 10.0) / 10.0);
    let weights: f64 = log.readings.iter().map(|(_, span)| span.to_days()).sum();
    let mean = log.readings.iter().map(|(t, span)| t.to_celsius() * span.to_days()).sum::<f64>() / weights;
    let low = log.days.values().map(|day| day.low_c).fold(f64::INFINITY, f64::min);
    let high = log.days.values().map(|day| day.high_c).fold(f64::NEG_INFINITY, f64::max);
    let kinetic = mean_kinetic(
        MolarEnergy::kj_per_mol(LABELS_KJ_PER_MOL),
        log.readings.iter().map(|(t, span)| (*t, span.to_days())),
    );
    let kinetic = kinetic.map_or(mean, Temperature::to_celsius);
    format!(
        "{readings} readings on {} days at {place}, {first} to {last}: mean {} °C, mean kinetic {} °C, {} to {} °C",
        log.days.len(),
        celsius(mean),
        celsius(kinetic),
        celsius(low),
        celsius(high)
    )
}

/// That a log is far from what was said of the place, if it is.
fn difference(climate: Climate, log: &Log) -> Option<String> {
    let count = log.days.len() as f64;
    let logged = log.days.values().map(|day| day.mean_c).sum::<f64>() / count;
    let said = log.days.keys().map(|day| climate.season.on(*day).to_celsius()).sum::<f64>() / count;
    ((logged - said).abs() > 2.0).then(|| {
        format!(
            "other days keep {} °C, but the log says {} °C; if it is always so, `brimstock place set` it",
            show::plain(libm::round(said * 10.0) / 10.0),
            show::plain(libm::round(logged * 10.0) / 10.0)
        )
    })
}

impl Climates {
    fn season(&self) -> Result<Option<Season>, Problem> {
        if let Some(temperature) = self.temp {
            return Ok(Some(Season::Constant(Temperature::celsius(temperature))));
        }
        let (Some(summer), Some(winter)) = (self.summer, self.winter) else { return Ok(None) };
        if summer < winter {
            return Err(Problem::question(format!("--summer {summer} is colder than --winter {winter}"))
                .hint("give the mean of the warmest quarter as --summer; south of the equator add --warmest-month 1"));
        }
        let (summer, winter) = (Temperature::celsius(summer), Temperature::celsius(winter));
        Ok(Some(Season::Cosine { summer, winter, warmest_month: self.warmest_month }))
    }

    fn daylight(&self, light: Light, before: Option<f64>) -> Result<Daylight, Problem> {
        if self.sun.is_some() && !light.is_sunny() {
            return Err(Problem::question(format!("--sun does not go with a place that is {}", light.word()))
                .because("the sun itself shines on a sill and outdoors only")
                .hint("leave --sun away, or give --light sill or --light outdoors"));
        }
        Ok(Daylight { light, sun_hours: self.sun.or(before).filter(|_| light.is_sunny()) })
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
            let (summer_c, winter_c) = match state.season {
                Season::Constant(temperature) => (temperature.to_celsius(), temperature.to_celsius()),
                Season::Cosine { summer, winter, .. } => (summer.to_celsius(), winter.to_celsius()),
            };
            let year_ago = session.day - Days::new(365);
            let logged = place.logged.as_ref().map_or(0, |logged| logged.range(year_ago..session.day).count());
            let kinetic = place.climate(session.day).mean_kinetic(
                MolarEnergy::kj_per_mol(LABELS_KJ_PER_MOL),
                year_ago,
                session.day,
            );
            PlaceLine {
                name: place.name.clone(),
                climate: season_text(state.season),
                summer_c,
                winter_c,
                mean_kinetic_c: kinetic.to_celsius(),
                logged_days: logged,
                daylight: state.daylight,
                cabinet: state.cabinet.clone(),
                height_cm: state.height_cm,
                around: state.around.clone(),
                since: state.from,
            }
        })
        .collect();
    Places { said, assumed, places }
}

/// A temperature through the year in words.
#[must_use]
pub fn season_text(season: Season) -> String {
    let celsius = |temperature: Temperature| format!("{} °C", show::plain(temperature.to_celsius()));
    match season {
        Season::Constant(temperature) => celsius(temperature),
        Season::Cosine { summer, winter, .. } => {
            format!("{} summer, {} winter", celsius(summer), celsius(winter))
        }
    }
}

/// A daylight in words.
#[must_use]
pub fn daylight_text(daylight: Daylight) -> String {
    match daylight.sun_hours {
        Some(hours) => format!("{} with {} h of sun a day", daylight.light.word(), show::plain(hours)),
        None => daylight.light.word().to_owned(),
    }
}

/// Where a place lies, how high, and what is around it, in words that follow others; empty where nobody said.
#[must_use]
pub fn site_text(cabinet: Option<&str>, height_cm: Option<f64>, around: Option<&[Around]>) -> String {
    let mut parts = Vec::new();
    if let Some(cabinet) = cabinet {
        parts.push(format!("in {cabinet}"));
    }
    if let Some(cm) = height_cm {
        parts.push(format!("{} cm high", show::plain(cm)));
    }
    if let Some(around) = around {
        let words: Vec<&str> = around.iter().map(|around| around.word()).collect();
        parts.push(format!(
            "around it {}",
            if words.is_empty() { "nothing to mind".to_owned() } else { words.join(", ") }
        ));
    }
    parts.join(", ")
}
