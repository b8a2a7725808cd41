//! The strengths of ten thousand bottles on one grid, by the library, by numpy and by a spreadsheet: the same bottles, days,
//! places and tests, in the same run, compared figure by figure.
//!
//! Run by hand: `cargo bench --bench grid`. Wants python3 with numpy, and for the sheet LibreOffice (Debian's
//! `libreoffice-calc`); what is missing is said and left out. Where `OPENBLAS_CORETYPE` is set it is taken away for numpy.

#[path = "kit.rs"]
mod kit;
#[path = "sheet.rs"]
mod sheet;

use std::path::Path;
use std::process::Command;

use brimstock::catalogue::{Catalogue, Condition, Container, Form, Light, Reagent};
use brimstock::decay::climate::{Climate, Season};
use brimstock::decay::finding::Finding;
use brimstock::decay::light::{Bottle, Daylight};
use brimstock::decay::posterior::{Standing, standing_untold};
use brimstock::decay::{Age, Assay, Content, History, Stretch};
use brimstock::units::Temperature;
use brimstock::units::estimate::Estimate;
use chrono::{Datelike, Days, NaiveDate};
use kit::{machine, met, once};

/// Bottles, and how many of them the spreadsheet gets.
const BOTTLES: usize = 10_000;
const IN_SHEET: usize = 20;

/// Stretches of a bottle's life; after every second one it is tested.
const STRETCHES: usize = 8;

/// How many times as fast as numpy, and how near the figures.
const GOAL: f64 = 10.0;
const ALIKE: f64 = 1e-6;

/// A bottle with its numbers, as the two others get them.
pub struct Told {
    /// 1 for a first-order law, 2 for that of hypochlorite.
    pub law: u8,
    /// Mean and standard deviation of the logarithm of the rate.
    pub rate: (f64, f64),
    /// The same of the content that it came with.
    pub content: (f64, f64),
    /// Of the fresh solution, mol/L.
    pub ionic_strength: f64,
    /// Place, first and last day of every stretch.
    pub stretches: Vec<(usize, u64, u64)>,
    /// Logarithm and error of what the tests found.
    pub found: Vec<(f64, f64)>,
}

/// What the two others get beside the bottles.
pub struct World {
    /// Mean of the warmest and of the coldest quarter, °C, and the warmest month.
    pub places: [(f64, f64, u32); 4],
    /// Activation energy of the first-order law, kJ/mol.
    pub activation: f64,
    /// Grams in a mole of hypochlorite.
    pub molar_mass: f64,
    /// The day of the year of every day.
    pub day_of_year: Vec<u32>,
}

fn main() {
    machine();
    let catalogue = Catalogue::shipped().expect("the shipped catalogue is good");
    let places = [(19.0, 19.0, 7), (18.0, 4.0, 7), (24.0, 16.0, 8), (9.0, 9.0, 7)];
    let (bottles, told): (Vec<_>, Vec<_>) = (0..BOTTLES).map(|number| bottle(catalogue, &places, number)).unzip();
    let day = first() + Days::new(4 * 366);
    let all = || -> Vec<Estimate> {
        let one =
            |(reagent, history): &(&Reagent, History)| match standing_untold(catalogue.optics(), reagent, history, day)
            {
                Ok(Standing::Known(known)) => known.estimate(),
                other => panic!("no estimate: {other:?}"),
            };
        bottles.iter().map(one).collect()
    };
    let ours = all();
    // The best of twelve, as numpy's.
    let seconds = (0..12).map(|_| once(|| drop(all()))).min().expect("twelve times").as_secs_f64();
    let each = 1e6 * seconds / BOTTLES as f64;
    println!(
        "{BOTTLES} bottles, {STRETCHES} stretches and {} tests each, by the library: {each:.1} us a bottle",
        STRETCHES / 2
    );

    let reagent = bottles[0].0;
    let activation = reagent.decay.iter().find_map(|decay| decay.activation.as_ref()).expect("an energy").value;
    let days = (0..4 * 366).map(|days| (first() + Days::new(days)).ordinal0()).collect();
    let world = World { places, activation, molar_mass: molar_mass(bottles[1].0), day_of_year: days };
    let folder = tempfile::tempdir().expect("a folder");
    let numpy = match by_numpy(folder.path(), &world, &told) {
        Ok(numpy) => numpy,
        Err(why) => return println!("numpy is left out, and with it the spreadsheet: {why}"),
    };
    let theirs = 1e6 * numpy.seconds / BOTTLES as f64;
    let times = theirs / each;
    println!("the same by numpy ({}): {theirs:.1} us a bottle", numpy.how);
    println!("ours is {times:.1} times as fast as numpy (goal: {GOAL}): {}", met(times >= GOAL));
    let closer = numpy.windows.iter().filter(|window| window[0] > -1e8).count();
    println!("{closer} of them wanted a second, closer grid");
    tell_apart("numpy", &ours, &numpy.found);
    match sheet::strengths(folder.path(), &world, &told[..IN_SHEET], &numpy.windows) {
        Ok((seconds, found)) => {
            let a_bottle = 1e6 * seconds / IN_SHEET as f64;
            println!(
                "{IN_SHEET} of them by LibreOffice without a screen, its start included: {seconds:.1} s, {a_bottle:.0} us a bottle, {:.0} times ours",
                a_bottle / each
            );
            tell_apart("the spreadsheet", &ours[..IN_SHEET], &found);
        }
        Err(why) => println!("the spreadsheet is left out: {why}"),
    }
}

fn first() -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 1, 1).expect("a day")
}

fn molar_mass(reagent: &Reagent) -> f64 {
    brimstock::chem::formula::molar_mass(&reagent.formula.value).expect("a formula").to_g_per_mol()
}

/// A bottle of peroxide or of bleach, opened, in the dark, carried about and tested: each test finds about what is to be
/// expected of a rate of its own.
fn bottle<'a>(
    catalogue: &'a Catalogue,
    places: &[(f64, f64, u32); 4],
    number: usize,
) -> ((&'a Reagent, History), Told) {
    let key = ["hydrogen-peroxide", "sodium-hypochlorite"][number % 2];
    let reagent = catalogue.reagent(key).expect("a reagent");
    let law = if number.is_multiple_of(2) { 1 } else { 2 };
    // Numbers that are spread and the same in every run.
    let spread = |salt: usize| (number * 7919 + salt * 104_729) % 1000;
    let label = if law == 1 { 30.0 + 0.03 * spread(1) as f64 } else { 70.0 + 0.03 * spread(1) as f64 };
    let percent = if law == 1 { 3.0 } else { 6.0 };
    let mut edges = vec![0];
    (0..STRETCHES).for_each(|stretch| edges.push(edges[stretch] + 60 + spread(2 + stretch) as u64 / 10));
    let day = |edge: u64| first() + Days::new(edge);
    let climate = |(summer, winter, warmest_month): (f64, f64, u32)| Climate {
        season: match summer == winter {
            true => Season::Constant(Temperature::celsius(summer)),
            false => {
                let [summer, winter] = [summer, winter].map(Temperature::celsius);
                Season::Cosine { summer, winter, warmest_month }
            }
        },
        logged: None,
    };
    let mut history = History {
        form: Form::Solution,
        label: Content(label),
        label_percent_w_w: Some(percent),
        came: Condition::Opened,
        label_sd_ln: 0.01,
        decanted: false,
        age: Age::New,
        bottle: Bottle { container: Container::OpaquePlastic, wall_mm: None, diameter_cm: 7.0 },
        stretches: Vec::new(),
        assays: Vec::new(),
    };
    let mut stretches = Vec::new();
    for stretch in 0..STRETCHES {
        let place = spread(20 + stretch) % places.len();
        stretches.push((place, edges[stretch], edges[stretch + 1]));
        history.stretches.push(Stretch {
            from: day(edges[stretch]),
            to: day(edges[stretch + 1]),
            place: format!("place {place}"),
            climate: climate(places[place]),
            daylight: Daylight { light: Light::Dark, sun_hours: None },
            condition: Condition::Opened,
        });
    }
    let ionic_strength = 2.0 * label / molar_mass(reagent) + 0.1;
    let decay = reagent.decay.iter().find(|decay| percent <= decay.up_to_percent_w_w).expect("an entry");
    let prior = decay.prior.iter().find(|prior| prior.condition == Condition::Opened).expect("a rate");
    let start = decay.start.iter().find(|start| start.condition == Condition::Opened).expect("a start");
    assert!(prior.or.is_none() && percent <= prior.up_to_percent_w_w, "one log-normal");
    let mut found = Vec::new();
    for test in 0..STRETCHES / 2 {
        // A slow first-order loss and a faster second-order one; a few per cent off, either way.
        let years = edges[2 * test + 2] as f64 / 365.25;
        let lost = if law == 1 { 0.05 + 0.0001 * spread(40) as f64 } else { 0.15 + 0.0002 * spread(40) as f64 };
        let off = 1.0 + 0.00008 * (spread(50 + test) as f64 - 500.0);
        let (content, relative_sd) = (label * libm::exp(-lost * years) * off, 0.05);
        found.push((libm::log(content), relative_sd));
        let finding = Finding::Figure { content, relative_sd };
        history.assays.push(Assay { day: day(edges[2 * test + 2]), finding, of_damp: false });
    }
    let content = (libm::log(label * start.factor.value), libm::hypot(start.sd_ln, history.label_sd_ln));
    let rate = (libm::log(prior.median.value), prior.sd_ln);
    ((reagent, history), Told { law, rate, content, ionic_strength, stretches, found })
}

/// What numpy says.
struct Reckoned {
    seconds: f64,
    found: Vec<[f64; 3]>,
    /// Between which rates the grid of every bottle lies.
    windows: Vec<[f64; 2]>,
    /// The size of a chunk and the version.
    how: String,
}

/// What the script writes.
#[derive(serde::Deserialize)]
struct Written {
    strengths: Vec<[f64; 3]>,
    windows: Vec<[f64; 2]>,
}

fn by_numpy(folder: &Path, world: &World, told: &[Told]) -> Result<Reckoned, String> {
    let of = |what: fn(&Told) -> serde_json::Value| told.iter().map(what).collect::<Vec<_>>();
    let stretch = |what: fn(&(usize, u64, u64)) -> u64| {
        told.iter().map(|told| told.stretches.iter().map(what).collect::<Vec<_>>()).collect::<Vec<_>>()
    };
    let found = |what: fn(&(f64, f64)) -> f64| {
        told.iter().map(|told| told.found.iter().map(what).collect::<Vec<_>>()).collect::<Vec<_>>()
    };
    let places: Vec<_> = world
        .places
        .iter()
        .map(|(summer, winter, month)| serde_json::json!({"summer": summer, "winter": winter, "warmest_month": month}))
        .collect();
    let input = serde_json::json!({
        "places": places,
        "activation": world.activation,
        "day_of_year": world.day_of_year,
        "stocks": {
            "law": of(|told| told.law.into()),
            "rate_mean": of(|told| told.rate.0.into()),
            "rate_sd": of(|told| told.rate.1.into()),
            "content_ln": of(|told| told.content.0.into()),
            "content_sd": of(|told| told.content.1.into()),
            "ionic_strength": of(|told| told.ionic_strength.into()),
            "molar_mass": vec![world.molar_mass; told.len()],
            "place": stretch(|(place, _, _)| *place as u64),
            "from": stretch(|(_, from, _)| *from),
            "to": stretch(|(_, _, to)| *to),
            "found_ln": found(|(found, _)| *found),
            "found_sd": found(|(_, sd)| *sd),
        },
    });
    let [given, made] = ["stocks.json", "strengths.json"].map(|name| folder.join(name));
    std::fs::write(&given, input.to_string()).map_err(|error| error.to_string())?;
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/strength_grid.py");
    let output = Command::new("python3")
        .arg(script)
        .args([&given, &made])
        .env_remove("OPENBLAS_CORETYPE")
        .env_remove("OPENBLAS_L2_SIZE")
        .output()
        .map_err(|error| format!("python3: {error}"))?;
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let words: Vec<&str> = said.split_whitespace().collect();
    let [seconds, chunk, version] = words[..] else {
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        return Err(error.lines().last().unwrap_or("it said nothing").to_owned());
    };
    let text = std::fs::read_to_string(made).map_err(|error| error.to_string())?;
    let Written { strengths, windows } = serde_json::from_str(&text).map_err(|error| error.to_string())?;
    let seconds = seconds.parse().map_err(|_| "no seconds".to_owned())?;
    let how = format!("version {version}, {chunk} bottles at a time, the best of four sizes");
    Ok(Reckoned { seconds, found: strengths, windows, how })
}

/// How far the figures of another way lie from ours.
fn tell_apart(whose: &str, ours: &[Estimate], theirs: &[[f64; 3]]) {
    assert_eq!(ours.len(), theirs.len(), "a figure a bottle");
    let mut furthest = 0.0_f64;
    for (ours, theirs) in ours.iter().zip(theirs) {
        for (one, other) in [ours.low, ours.mid, ours.high].into_iter().zip(theirs) {
            furthest = furthest.max((one / other - 1.0).abs());
        }
    }
    println!("ours and {whose} differ by {furthest:.1e} at most (goal: {ALIKE:.0e}): {}", met(furthest <= ALIKE));
}
