//! `assay`: enters a test of a stock's strength with what was read in it.

use chrono::NaiveDate;
use clap::{Args, Subcommand};

use super::assay_plan::{AssayPlan, PlanArguments, plan};
use super::correct::labelled;
use super::event::{Entering, enter};
use super::receive::label_text;
use super::sight::Sight;
use super::strength::{Asked, Checked, checked, dirt_text};
use super::testing::blocks;
use super::{Problem, Session, arguments};
use crate::catalogue::{Catalogue, Form, Test};
use crate::chem::Substance;
use crate::chem::reading as chem_reading;
use crate::chem::solution;
use crate::decay::assay::{Raw, Reading, Sample, pressure_at, tested};
use crate::decay::finding::Finding;
use crate::decay::posterior::{Standing, dirt};
use crate::register::Writing;
use crate::register::history::content;
use crate::register::journal::{Event, Labelled};
use crate::units::estimate::{Estimate, Z_95};
use crate::units::step::Step;
use crate::units::strength::{Basis, Strength};
use crate::units::{Pressure, Temperature, Volume, parse, reading, show};

/// The largest altitude at which anybody keeps plants, m.
const HIGHEST: f64 = 5500.0;

/// Enter a test of a stock's strength, or plan one
#[derive(Debug, Args)]
#[command(
    override_usage = "brimstock assay plan <STOCK>\n       brimstock assay <STOCK> <TEST> ...",
    after_help = "Examples:\n  brimstock assay plan HP-1\n  brimstock assay HP-1 oxygen-volume --gas 49.5mL --sample 5mL --temp 22C --altitude 540m"
)]
pub struct Assay {
    /// The stock's code
    pub stock: Option<String>,
    #[command(subcommand)]
    method: Method,
}

#[derive(Debug, Subcommand)]
enum Method {
    /// How to do the cheapest test that is worth it, and what to expect
    Plan(PlanArguments),
    /// Peroxide: yeast takes it apart, the oxygen is caught over water
    #[command(
        after_help = "Example: brimstock assay HP-1 oxygen-volume --gas 49.5mL --sample 5mL --temp 22C --pressure \"950 hPa\""
    )]
    OxygenVolume {
        /// The gas in the cylinder, the air that the sample pushed out taken off
        #[arg(long, allow_hyphen_values = true)]
        gas: String,
        /// The sample
        #[arg(long)]
        sample: String,
        /// The temperature of gas and water
        #[arg(long, allow_hyphen_values = true)]
        temp: String,
        /// The air pressure where you stand, as "950 hPa" (not one that is reduced to sea level)
        #[arg(long)]
        pressure: Option<String>,
        /// Your altitude, as 540m, instead of the pressure or beside --sea-level
        #[arg(long, allow_hyphen_values = true)]
        altitude: Option<String>,
        /// The air pressure reduced to sea level, as a weather report gives it
        #[arg(long, requires = "altitude", conflicts_with = "pressure")]
        sea_level: Option<String>,
        /// How much higher the water stands inside the cylinder than outside, as 5cm
        #[arg(long, allow_hyphen_values = true)]
        column: Option<String>,
        /// How many times the sample had been thinned first, as 10
        #[arg(long)]
        diluted: Option<String>,
        #[command(flatten)]
        when: When,
    },
    /// Peroxide: permanganate is added until a pink stays
    #[command(
        after_help = "Example: brimstock assay HP-1 permanganate --titre 35.3mL --of \"0.02 mol/L\" --sample 2mL"
    )]
    Permanganate(Titration),
    /// Peroxide, bleach, permanganate: the iodine it sets free is taken away with thiosulfate
    #[command(after_help = "Example: brimstock assay BL-1 iodometric --titre 14.2mL --of \"0.1 mol/L\" --sample 1mL")]
    Iodometric(Titration),
    /// Peroxide, bleach: a test strip after dilution; a colour block is an interval
    #[command(
        after_help = "Examples:\n  brimstock assay HP-1 strip 10mg/L --diluted 3000 --scale 0.5,2,5,10,25\n  brimstock assay HP-1 strip \">25mg/L\" --diluted 1000"
    )]
    Strip {
        /// The block: `10mg/L`; `">25mg/L"` where it was darker than the last
        reading: String,
        /// How many times the sample had been thinned, as 3000 or 1:3000
        #[arg(long)]
        diluted: Option<String>,
        /// Every block of the scale, in the same unit [default: 0.5,2,5,10,25]
        #[arg(long)]
        scale: Option<String>,
        #[command(flatten)]
        when: When,
    },
    /// Strong solutions: density by spindle or scale
    #[command(after_help = "Example: brimstock assay HP-4 density 1.131g/mL --temp 20C")]
    Density {
        /// The density
        density: String,
        /// The temperature of the solution
        #[arg(long)]
        temp: String,
        #[command(flatten)]
        when: When,
    },
    /// Damp solids: weighed, left in dry air, weighed again
    #[command(after_help = "Example: brimstock assay PA-1 drying --wet 50.0g --dry 47.2g")]
    Drying {
        /// What it weighed before
        #[arg(long)]
        wet: String,
        /// What it weighed when it lost no more
        #[arg(long)]
        dry: String,
        #[command(flatten)]
        when: When,
    },
    /// A result that was had elsewhere, with its standard deviation
    #[command(after_help = "Example: brimstock assay HP-1 figure \"2.7 % w/v\" --sd 3%")]
    Figure {
        /// The strength that was found
        strength: String,
        /// Its relative standard deviation
        #[arg(long)]
        sd: String,
        /// The day of the test [default: the day of the question]
        #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
        date: Option<NaiveDate>,
    },
}

#[derive(Debug, Args)]
struct When {
    /// The relative standard deviation of the whole test, where you know it better
    #[arg(long)]
    sd: Option<String>,
    /// The day of the test [default: the day of the question]
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    date: Option<NaiveDate>,
}

#[derive(Debug, Args)]
struct Titration {
    /// The titrant used
    #[arg(long, allow_hyphen_values = true)]
    titre: String,
    /// The titrant's strength, as "0.02 mol/L", "0.1 N" or "3.16 g/L"
    #[arg(long, value_name = "STRENGTH")]
    of: String,
    /// The sample in the cup
    #[arg(long)]
    sample: String,
    /// How many times the sample had been thinned first, as 25 or 10mL:250mL
    #[arg(long)]
    diluted: Option<String>,
    #[command(flatten)]
    when: When,
}

/// What `assay` answers.
#[derive(Debug, Clone, PartialEq)]
pub enum Answered {
    /// How to test.
    Plan(Box<AssayPlan>),
    /// What a test made of it.
    Assayed(Box<Assayed>),
}

/// What a test made of a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Assayed {
    /// Its code.
    pub stock: String,
    /// How it was tested.
    pub method: Test,
    /// The day of the test.
    pub day: NaiveDate,
    /// What was found, in words.
    pub found: String,
    /// Solid or solution.
    pub form: Form,
    /// What was found, grams in a litre or in a gram.
    pub finding: Finding,
    /// What was read, with units in the names.
    pub raw: Option<Raw>,
    /// How good a test it is, and how it fits what was believed.
    pub comment: String,
    /// How the strength was computed.
    pub steps: Vec<Step>,
    /// What is known now.
    pub after: Checked,
}

/// Enters a test, or plans one.
///
/// # Errors
/// For readings that cannot be read or cannot be, a test that does not suit, an unknown stock, a day before the receipt or in
/// the future.
pub fn run(session: &Session, given: &Assay) -> Result<Answered, Problem> {
    if let Method::Plan(arguments) = &given.method {
        return Ok(Answered::Plan(Box::new(plan(session, given.stock.as_deref(), arguments)?)));
    }
    let Some(code) = &given.stock else {
        return Err(Problem::question("which stock?").hint("`brimstock assay HP-1 oxygen-volume …`"));
    };
    let (date, typed) = (given.method.date(), given.method.typed());
    let mut found: Option<Found> = None;
    let entered = enter(session, code, date, typed, |seen, writing, _| {
        let entry = entry(session, seen, writing, &given.method)?;
        let said = format!("{} tested: {}", seen.stock.code, entry.text);
        let event = Event::Assayed {
            method: given.method.test().word().to_owned(),
            strength: entry.strength.clone(),
            raw: entry.raw.clone(),
        };
        found = Some(entry);
        Ok(Entering { event, said, assumed: Vec::new() })
    })?;
    let found = found.ok_or_else(|| Problem::data("the test was not understood"))?;
    let mut register = session.register()?;
    let (after, dirt) = register.read(|reading| {
        let places = reading.places()?;
        let sight = Sight::on_shelf(session, reading, &places, code)?;
        let dirt = dirt(session.catalogue.optics(), sight.reagent, &sight.history, session.day)?;
        Ok::<_, Problem>((checked(session, reading, &places, &sight, &Asked::of(Volume::l(10.0)))?, dirt))
    })?;
    let mut comment = comment(session.catalogue, given.method.test(), found.finding, found.before);
    if let Some(times) = dirt.filter(|times| *times > 3.0) {
        comment.push_str(&format!("; {}", dirt_text(times)));
    }
    Ok(Answered::Assayed(Box::new(Assayed {
        stock: entered.stock,
        method: given.method.test(),
        day: entered.day,
        found: found.text,
        form: found.form,
        finding: found.finding,
        raw: found.raw,
        comment,
        steps: found.steps,
        after,
    })))
}

/// A test as it goes into the journal.
struct Found {
    strength: Labelled,
    raw: Option<Raw>,
    finding: Finding,
    text: String,
    steps: Vec<Step>,
    form: Form,
    before: Option<Estimate>,
}

fn entry(session: &Session, seen: &Sight<'_>, writing: &Writing<'_>, method: &Method) -> Result<Found, Problem> {
    let form = seen.stock.form;
    let before = match &seen.standing {
        Standing::Known(known) => Some(known.estimate()),
        Standing::Unknown { .. } => None,
    };
    if let Method::Figure { strength, sd, .. } = method {
        let strength = labelled(session, seen, strength, parse::relative_sd(sd)?, writing)?;
        let (value, sd_ln) = content(form, seen.reagent, &strength)?;
        possible(seen, value.0)?;
        let relative_sd = libm::hypot(strength.relative_sd, sd_ln);
        let text = format!("{} ± {} % (1 sd)", label_text(&strength), show::significant(100.0 * relative_sd, 2));
        let finding = Finding::Figure { content: value.0, relative_sd };
        return Ok(Found { strength, raw: None, finding, text, steps: Vec::new(), form, before });
    }
    let raw = Raw { reading: read(session, writing, method)?, relative_sd: stated(method)? };
    let sample = Sample { reagent: seen.reagent, form, label: seen.label, label_sd_ln: seen.history.label_sd_ln };
    let tested = tested(session.catalogue, sample, &raw)?;
    let (factor, unit) = match form {
        Form::Solution => (1.0, "g/L"),
        Form::Solid => (100.0, "% w/w"),
    };
    let finding = tested.finding;
    let in_usual = |content: f64| -> Result<String, Problem> {
        let usual = seen.usual(Estimate::exact(content))?;
        Ok(format!("{} {}", show::significant(usual.estimate.mid, 3), usual.unit))
    };
    let text = match finding {
        Finding::Figure { content, relative_sd } => {
            format!("{} ± {} % (1 sd)", in_usual(content)?, show::significant(100.0 * relative_sd, 2))
        }
        Finding::Between { low, high, .. } if low == 0.0 => format!("at most {}", in_usual(high)?),
        Finding::Between { low, high, .. } if high.is_finite() => {
            format!("between {} and {}", in_usual(low)?, in_usual(high)?)
        }
        Finding::Between { low, .. } => format!("at least {}", in_usual(low)?),
    };
    let strength = Labelled {
        value: factor * finding.content(),
        unit: unit.to_owned(),
        relative_sd: finding.relative_sd().clamp(1e-4, 1.0),
    };
    Ok(Found { strength, raw: Some(raw), finding, text, steps: tested.steps, form, before })
}

/// Refuses a figure above what the pure reagent holds.
fn possible(seen: &Sight<'_>, content: f64) -> Result<(), Problem> {
    let most = match seen.stock.form {
        Form::Solid => 1.1,
        Form::Solution => crate::decay::assay::strongest(seen.reagent),
    };
    if content <= most {
        return Ok(());
    }
    let (factor, unit) = if seen.stock.form == Form::Solid { (100.0, "% w/w") } else { (1.0, "g/L") };
    Err(Problem::question(format!(
        "{} {unit} is more than {} can hold",
        show::significant(content * factor, 3),
        seen.reagent.name
    ))
    .because("nothing was written")
    .hint(format!("accepted: up to {} {unit}; check the figure and its unit", show::plain(most * factor))))
}

fn stated(method: &Method) -> Result<Option<f64>, Problem> {
    let when = match method {
        Method::OxygenVolume { when, .. }
        | Method::Strip { when, .. }
        | Method::Density { when, .. }
        | Method::Drying { when, .. } => when,
        Method::Permanganate(titration) | Method::Iodometric(titration) => &titration.when,
        Method::Plan(_) | Method::Figure { .. } => return Ok(None),
    };
    Ok(when.sd.as_deref().map(parse::relative_sd).transpose()?)
}

/// The words of the command line as readings in fixed units.
fn read(session: &Session, writing: &Writing<'_>, method: &Method) -> Result<Reading, Problem> {
    let kitchen = arguments::kitchen(writing)?;
    let ml = |field: &str, text: &str| -> Result<f64, Problem> {
        let volume = parse::volume(text, kitchen).map_err(|error| {
            let problem = Problem::from(error);
            Problem { what: format!("{field}: {}", problem.what), ..problem }
        })?;
        Ok(volume.to_ml())
    };
    let grams = |field: &str, text: &str| -> Result<f64, Problem> {
        match parse::amount(text, kitchen)?.quantity {
            crate::units::measure::Quantity::Mass(mass) => Ok(mass.to_g()),
            crate::units::measure::Quantity::Volume(_) => {
                Err(Problem::question(format!("{field}: `{text}` is a volume")).hint("accepted: a mass, as 50.0g"))
            }
        }
    };
    let thinned = |text: &Option<String>| -> Result<f64, Problem> {
        Ok(text.as_deref().map(reading::dilution).transpose()?.unwrap_or(1.0))
    };
    Ok(match method {
        Method::OxygenVolume { gas, sample, temp, pressure, altitude, sea_level, column, diluted, .. } => {
            Reading::OxygenVolume {
                gas_ml: ml("--gas", gas)?,
                sample_ml: ml("--sample", sample)?,
                celsius: reading::temperature(temp)?.to_celsius(),
                pressure_kpa: on_the_spot(pressure.as_deref(), altitude.as_deref(), sea_level.as_deref())?.to_kpa(),
                column_mm: column.as_deref().map(reading::length).transpose()?.map_or(0.0, |length| length.to_mm()),
                diluted: thinned(diluted)?,
            }
        }
        Method::Permanganate(titration) => Reading::Permanganate {
            titre_ml: ml("--titre", &titration.titre)?,
            titrant_mol_per_l: titrant(session, &titration.of, "potassium-permanganate", 5.0)?,
            sample_ml: ml("--sample", &titration.sample)?,
            diluted: thinned(&titration.diluted)?,
        },
        Method::Iodometric(titration) => Reading::Iodometric {
            titre_ml: ml("--titre", &titration.titre)?,
            titrant_mol_per_l: titrant(session, &titration.of, "sodium-thiosulfate", 1.0)?,
            sample_ml: ml("--sample", &titration.sample)?,
            diluted: thinned(&titration.diluted)?,
        },
        Method::Strip { reading, diluted, scale, .. } => {
            let method = session.catalogue.method(Test::Strip);
            let scale = match scale {
                Some(text) => blocks(text)?,
                None => method.scale.clone(),
            };
            let (low, high) = block(reading, &scale, method.error("step"))?;
            Reading::Strip { low_mg_per_l: low, high_mg_per_l: high, diluted: thinned(diluted)? }
        }
        Method::Density { density, temp, .. } => Reading::Density {
            g_per_ml: reading::density(density)?.to_g_per_ml(),
            celsius: reading::temperature(temp)?.to_celsius(),
        },
        Method::Drying { wet, dry, .. } => Reading::Drying { wet_g: grams("--wet", wet)?, dry_g: grams("--dry", dry)? },
        Method::Plan(_) | Method::Figure { .. } => {
            return Err(Problem::question("nothing was read in that test"));
        }
    })
}

/// The air pressure where the test was made.
fn on_the_spot(pressure: Option<&str>, altitude: Option<&str>, sea_level: Option<&str>) -> Result<Pressure, Problem> {
    if let Some(text) = pressure {
        let pressure = reading::pressure(text)?;
        return plausible(text, pressure).map(|()| pressure);
    }
    let Some(text) = altitude else {
        return Err(Problem::question("the air pressure is missing")
            .because("100 m more of altitude make 1 % more gas")
            .hint("give --altitude 540m, or --pressure \"950 hPa\" as a barometer shows it where you stand"));
    };
    let metres = reading::length(text)?.to_m();
    if !(-430.0..=HIGHEST).contains(&metres) {
        return Err(Problem::question(format!("--altitude {text} is no altitude of a bench"))
            .hint(format!("accepted: -430 m to {HIGHEST} m")));
    }
    let at_sea_level = match sea_level {
        Some(text) => {
            let pressure = reading::pressure(text)?;
            plausible(text, pressure).map(|()| pressure)?
        }
        None => Pressure::kpa(101.325),
    };
    Ok(pressure_at(metres, at_sea_level))
}

/// A barometer read in the wrong unit is ten times off.
fn plausible(text: &str, pressure: Pressure) -> Result<(), Problem> {
    let kpa = pressure.to_kpa();
    if (50.0..=110.0).contains(&kpa) {
        return Ok(());
    }
    let meant = [("hPa", 0.1), ("kPa", 10.0), ("mmHg", 0.133_322)].into_iter().find(|(_, factor)| {
        let number = text.trim().split(|c: char| !(c.is_ascii_digit() || c == '.')).next().unwrap_or_default();
        let in_unit = number.parse::<f64>().unwrap_or(0.0) * if *factor == 10.0 { 1.0 } else { *factor };
        (50.0..=110.0).contains(&in_unit)
    });
    let hint = meant.map_or_else(String::new, |(unit, _)| format!("; did you mean {unit}?"));
    Err(Problem::question(format!("{text} is no air pressure: {} kPa{hint}", show::significant(kpa, 3)))
        .because("nothing was written")
        .hint("accepted: 50 to 110 kPa, that is 500 to 1100 hPa or mbar, where you stand"))
}

/// A titrant's strength in moles a litre; `electrons` is what makes a normal solution of a molar one.
fn titrant(session: &Session, text: &str, reagent: &str, electrons: f64) -> Result<f64, Problem> {
    if let Some(normal) = text.trim().strip_suffix(['N', 'n']) {
        let value: f64 = normal.trim().parse().map_err(|_| {
            Problem::question(format!("--of `{text}` is no strength")).hint("accepted: as \"0.02 mol/L\" or \"0.1 N\"")
        })?;
        return Ok(value / electrons);
    }
    let reagent = arguments::reagent(session.catalogue, reagent)?;
    let written = parse::strength(text, None)?;
    let bench = Temperature::celsius(20.0);
    let substance = Substance::of(reagent);
    let read = chem_reading::read(substance, &written, session.catalogue.measuring(), bench)?;
    Ok(match read.strength {
        Strength::Molar(molar) => molar.to_mol_per_l(),
        strength => solution::convert(substance, strength, Basis::Molar, bench)?.strength.base(),
    })
}

/// The interval that a colour block stands for, mg/L: to the middles, by logarithm, between it and its neighbours.
fn block(text: &str, scale: &[f64], step: f64) -> Result<(f64, Option<f64>), Problem> {
    let wrong = |why: &str| {
        Problem::question(format!("strip `{text}`: {why}"))
            .hint("accepted: the block in mg/L, as 10mg/L; `\">25mg/L\"` where it was darker than the last")
    };
    let (darker, number) = match text.trim().strip_prefix('>') {
        Some(rest) => (true, rest),
        None => (false, text.trim()),
    };
    let digits = number.trim().trim_end_matches("mg/L").trim_end_matches("mg/l").trim_end_matches("ppm").trim();
    let value: f64 = digits.parse().map_err(|_| wrong("no number of mg/L"))?;
    let (first, last) = (scale[0], scale[scale.len() - 1]);
    if darker {
        return if value >= last {
            Ok((value, None))
        } else {
            Err(wrong("darker than a block that is not the last is another block"))
        };
    }
    if value == 0.0 {
        return Ok((0.0, Some(first / libm::sqrt(step))));
    }
    let Some(index) = scale.iter().position(|block| (block - value).abs() < 1e-9 * value.max(1.0)) else {
        if value > last {
            return Err(wrong("off the scale")
                .because(format!("its last block is {} mg/L", show::plain(last)))
                .hint("dilute more and repeat; or enter it as a bound: `\">25mg/L\"`, with your own --scale"));
        }
        return Err(wrong("no block of the scale")
            .because(format!("the scale is {}", scale.iter().map(|b| show::plain(*b)).collect::<Vec<_>>().join(", ")))
            .hint("give the block that matched, or your strip's own --scale"));
    };
    let low = if index == 0 { value / libm::sqrt(step) } else { libm::sqrt(scale[index - 1] * value) };
    // The darkest block also stands for everything beyond it.
    let high = (index + 1 < scale.len()).then(|| libm::sqrt(value * scale[index + 1]));
    Ok((low, high))
}

impl Method {
    fn test(&self) -> Test {
        match self {
            Method::OxygenVolume { .. } => Test::OxygenVolume,
            Method::Permanganate(_) => Test::Permanganate,
            Method::Iodometric(_) => Test::Iodometric,
            Method::Strip { .. } => Test::Strip,
            Method::Density { .. } => Test::Density,
            Method::Drying { .. } => Test::Drying,
            Method::Figure { .. } | Method::Plan(_) => Test::Figure,
        }
    }

    fn date(&self) -> Option<NaiveDate> {
        match self {
            Method::OxygenVolume { when, .. }
            | Method::Strip { when, .. }
            | Method::Density { when, .. }
            | Method::Drying { when, .. } => when.date,
            Method::Permanganate(titration) | Method::Iodometric(titration) => titration.when.date,
            Method::Figure { date, .. } => *date,
            Method::Plan(_) => None,
        }
    }

    /// What was typed of the readings, for the journal.
    fn typed(&self) -> String {
        match self {
            Method::OxygenVolume { gas, sample, temp, .. } => format!("{gas} of gas from {sample} at {temp}"),
            Method::Permanganate(titration) | Method::Iodometric(titration) => {
                format!("{} of {} for {}", titration.titre, titration.of, titration.sample)
            }
            Method::Strip { reading, diluted, .. } => {
                format!("{reading} after {}", diluted.as_deref().unwrap_or("no dilution"))
            }
            Method::Density { density, temp, .. } => format!("{density} at {temp}"),
            Method::Drying { wet, dry, .. } => format!("{wet} wet, {dry} dry"),
            Method::Figure { strength, .. } => strength.clone(),
            Method::Plan(_) => String::new(),
        }
    }
}

/// What is to be thought of a test, in plain words.
fn comment(catalogue: &Catalogue, test: Test, finding: Finding, before: Option<Estimate>) -> String {
    let quality = match finding {
        Finding::Between { high, .. } if high.is_infinite() => "only a bound: dilute more and repeat",
        _ => match finding.relative_sd() {
            sd if sd <= 0.03 => "a good test",
            sd if sd <= 0.08 => "a fair test",
            _ => "a rough test",
        },
    };
    let traps = &catalogue.method(test).traps;
    let fit = match before {
        None => "nothing was known before it, and it speaks for its own day only".to_owned(),
        Some(before) => fit(finding, before),
    };
    format!("{quality}; {fit}. Mind: {traps}")
}

/// How a finding fits what was expected: its distance in standard deviations of both.
fn fit(finding: Finding, before: Estimate) -> String {
    let mid = before.mid;
    let away = finding.away(mid) * finding.relative_sd();
    let side = if away < 0.0 { libm::log(before.mid / before.low) } else { libm::log(before.high / before.mid) };
    let expected_sd = side / Z_95;
    let distance = away / libm::hypot(expected_sd, finding.relative_sd());
    let word = if away < 0.0 { "lower" } else { "higher" };
    match distance.abs() {
        d if d <= Z_95 => "within what was expected".to_owned(),
        d if d <= 3.5 => format!("{word} than was expected; it counts, but repeat it before you rely on it"),
        _ => format!(
            "far {word} than anything that was expected: a slip in reading, unit or dilution, or another bottle? it is kept and counts; repeat it, and take it back with `brimstock correct` if it was a slip"
        ),
    }
}
