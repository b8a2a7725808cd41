//! Timings, run by hand with `cargo bench --bench speed`; the figures are kept in DEVELOPERS.md.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use brimstock::catalogue::{Catalogue, Condition, Container, Form, Light};
use brimstock::decay::climate::{Climate, Season};
use brimstock::decay::finding::Finding;
use brimstock::decay::light::{Bottle, Daylight};
use brimstock::decay::posterior::{Known, Standing, standing};
use brimstock::decay::{Age, Assay, Content, History, Stretch};
use brimstock::hazard::exact::Exact;
use brimstock::hazard::label::label;
use brimstock::hazard::{Ingredient, Mixture, Regime, Rules, classify};
use brimstock::units::Temperature;
use chrono::{Days, NaiveDate};

const STOCKS: usize = 10_000;

/// Days of the one bottle's life.
const LIFE: u64 = 900;

fn main() {
    one_bottle();
    one_mixture();
    let folder = tempfile::tempdir().expect("a temporary folder");
    let demo = folder.path().join("demo.brimstock");
    run(&demo, &["demo", "--keep", demo.to_str().expect("UTF-8")]);
    report("check, demo register, median of 41", median(41, || run(&demo, &["--on", "2031-03-15", "check", "S03"])));
    report("shelf, demo register, median of 41", median(41, || run(&demo, &["--on", "2031-03-15", "shelf"])));
    report(
        "dose, demo register, median of 41",
        median(41, || {
            run(&demo, &["--on", "2031-03-15", "dose", "peroxide-weak", "--bath", "10L"]);
        }),
    );
    report("audit, demo register, median of 41", median(41, || run(&demo, &["--on", "2031-03-15", "audit"])));

    for lit in [false, true] {
        let large = folder.path().join(format!("large-{lit}.brimstock"));
        run(&large, &["--on", "2027-01-01", "new"]);
        run(&large, &["--on", "2027-01-01", "place", "add", "cupboard", "--temp", "19"]);
        run(&large, &["--on", "2027-01-01", "place", "add", "porch", "--summer", "18", "--winter", "4"]);
        run(
            &large,
            &["--on", "2027-01-01", "place", "add", "sill", "--summer", "24", "--winter", "16", "--light", "sill"],
        );
        fill(&large, lit);
        let light = if lit { "half of them on a sill in spring" } else { "all in the dark" };
        report(
            &format!("shelf of 10,000 stocks, four years of events each, {light}"),
            median(3, || run(&large, &["--on", "2031-01-01", "shelf"])),
        );
        println!("largest memory of that shelf: {} MB", peak_megabytes(&large));
        report("audit of that shelf", median(3, || run(&large, &["--on", "2031-01-01", "audit"])));
    }
}

/// The estimate of one bottle, and how it grows with what is known of it.
fn one_bottle() {
    let micros = |changes: u64, assays: u64| {
        let life = life(changes, assays);
        median(101, || drop(known(&life))).as_secs_f64() * 1e6
    };
    println!("one bottle of peroxide, 30 changes, 20 tests, median of 101: {:.0} us", micros(30, 20));
    println!("{:>8} {:>8} {:>8}", "changes", "tests", "us");
    for (changes, assays) in [(30, 0), (30, 5), (30, 10), (30, 20), (30, 40), (0, 20), (10, 20), (60, 20)] {
        println!("{changes:>8} {assays:>8} {:>8.0}", micros(changes, assays));
    }
}

/// The classes and the label of one mixture, and of as many as a large shelf has stocks.
fn one_mixture() {
    let catalogue = Catalogue::shipped().expect("the shipped catalogue is good");
    let part = |key: &str, percent: f64| Ingredient {
        name: key.to_owned(),
        percent: Exact::of(percent),
        kin: None,
        hazard: catalogue.reagent(key).and_then(|reagent| reagent.hazard.as_ref()).expect("hazard data"),
    };
    let judge = |parts: Vec<Ingredient<'static>>| {
        let mixture = Mixture { form: Form::Solution, ingredients: parts, ph: None };
        let judged = classify(&mixture, Rules { regime: Regime::Eu, specific: true });
        drop(label(&judged, catalogue.elements(), catalogue.choice()));
    };
    let three = || judge(vec![part("glutaraldehyde", 2.0), part("copper-sulfate", 5.0), part("citric-acid", 3.0)]);
    println!(
        "classes and label of three things in water, median of 101: {:.0} us",
        median(101, three).as_secs_f64() * 1e6
    );
    report(
        "classes and label of 10,000 bottles of peroxide",
        median(3, || (0..STOCKS).for_each(|index| judge(vec![part("hydrogen-peroxide", 1.0 + index as f64 / 200.0)]))),
    );
}

fn known(life: &History) -> Known {
    let catalogue = Catalogue::shipped().expect("the shipped catalogue is good");
    let peroxide = catalogue.reagent("hydrogen-peroxide").expect("peroxide");
    let day = life.stretches.last().expect("a stretch").to;
    match standing(catalogue.optics(), peroxide, life, day).expect("a standing") {
        Standing::Known(known) => *known,
        Standing::Unknown { why, .. } => panic!("{why}"),
    }
}

/// A clear bottle that is carried from place to place, opened after a third of its life, dirty after two, and tested: each
/// test finds what was expected, a little more or less.
fn life(changes: u64, assays: u64) -> History {
    let first = NaiveDate::from_ymd_opt(2028, 1, 1).expect("a date");
    let day = |part: u64, of: u64| first + Days::new(LIFE * part / of);
    let constant = |celsius: f64| Climate::constant(Temperature::celsius(celsius));
    let [summer, winter] = [20.0, 2.0].map(Temperature::celsius);
    let porch = Climate { season: Season::Cosine { summer, winter, warmest_month: 7 }, logged: None };
    let places = [
        ("cellar", constant(9.0), Light::Dark),
        ("kitchen", constant(22.0), Light::Bright),
        ("porch", porch, Light::Dim),
        ("sill", constant(20.0), Light::Sill),
    ];
    let stretch = |number: u64| {
        let (name, climate, light) = &places[usize::try_from(number).expect("a small number") % places.len()];
        Stretch {
            from: day(number, changes + 1),
            to: day(number + 1, changes + 1),
            place: (*name).to_owned(),
            climate: climate.clone(),
            daylight: Daylight { light: *light, sun_hours: None },
            condition: [Condition::Sealed, Condition::Opened, Condition::Dirty]
                [usize::try_from(3 * number / (changes + 1)).expect("a small number")],
        }
    };
    let mut life = History {
        form: Form::Solution,
        label: Content(30.0),
        label_percent_w_w: Some(3.0),
        came: Condition::Sealed,
        label_sd_ln: 0.01,
        decanted: false,
        age: Age::New,
        bottle: Bottle { container: Container::ClearGlass, wall_mm: None, diameter_cm: 7.0 },
        stretches: (0..=changes).map(stretch).collect(),
        assays: Vec::new(),
    };
    for number in 0..assays {
        let on = day(2 * number + 1, 2 * assays);
        let mut until = life.clone();
        until.stretches.retain(|stretch| stretch.from < on);
        until.stretches.last_mut().expect("a stretch").to = on;
        let content = known(&until).estimate().mid * if number % 2 == 0 { 1.03 } else { 0.97 };
        life.assays.push(Assay { day: on, finding: Finding::Figure { content, relative_sd: 0.05 }, of_damp: false });
    }
    life
}

fn run(register: &Path, arguments: &[&str]) {
    let output = Command::new(env!("CARGO_BIN_EXE_brimstock"))
        .env("BRIMSTOCK_REGISTER", register)
        .args(arguments)
        .output()
        .expect("the program runs");
    assert!(output.status.code().is_some_and(|code| code <= 1), "{}", String::from_utf8_lossy(&output.stderr));
}

fn median(rounds: usize, work: impl Fn()) -> Duration {
    let mut times: Vec<Duration> = (0..rounds)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[rounds / 2]
}

fn report(what: &str, time: Duration) {
    println!("{what}: {:.1} ms", time.as_secs_f64() * 1000.0);
}

/// Stocks of four reagents, each received, opened, moved twice, tested and drawn from every quarter; every second of each
/// reagent goes to a sill in spring, where there is to be light.
fn fill(register: &Path, lit: bool) {
    let mut connection = rusqlite::Connection::open(register).expect("the register opens");
    let transaction = connection.transaction().expect("a transaction");
    let reagents = [
        ("hydrogen-peroxide", "solution", "mL", 3.0, "% w/v"),
        ("sodium-hypochlorite", "solution", "mL", 8.25, "% w/w"),
        ("sodium-chloride", "solid", "g", 99.0, "% w/w"),
        ("potassium-alum", "solid", "g", 99.0, "% w/w"),
    ];
    let containers = ["clear-glass", "natural-plastic", "amber-glass", "opaque-plastic"];
    let entered = "2027-01-01T12:00:00Z";
    for number in 1..=STOCKS {
        let (reagent, form, unit, strength, strength_unit) = reagents[number % reagents.len()];
        let sunny = lit && (number / reagents.len()) % 2 == 0;
        let container = lit.then_some(containers[(number / (2 * reagents.len())) % containers.len()]);
        let stock = i64::try_from(number).expect("a small number");
        transaction
            .execute(
                "INSERT INTO stock (id, code, reagent, form) VALUES (?1, ?2, ?3, ?4)",
                (stock, format!("X-{number}"), reagent, form),
            )
            .expect("a stock");
        transaction
            .execute(
                "INSERT INTO event (stock, kind, day, entered_at, place, amount, amount_unit, strength, strength_unit, \
                 relative_sd, condition, container) \
                 VALUES (?1, 'received', '2027-01-02', ?2, 1, 1000, ?3, ?4, ?5, 0.01, 'sealed', ?6)",
                (stock, entered, unit, strength, strength_unit, container),
            )
            .expect("a receipt");
        transaction
            .execute(
                "INSERT INTO event (stock, kind, day, entered_at, condition) VALUES (?1, 'opened', '2027-02-01', ?2, 'opened')",
                (stock, entered),
            )
            .expect("an opening");
        for year in 2027..2031 {
            for (month, place) in [("03", if sunny { 3 } else { 2 }), ("09", 1)] {
                transaction
                    .execute(
                        "INSERT INTO event (stock, kind, day, entered_at, place) VALUES (?1, 'moved', ?2, ?3, ?4)",
                        (stock, format!("{year}-{month}-01"), entered, place),
                    )
                    .expect("a move");
            }
            for month in ["02", "05", "08", "11"] {
                transaction
                    .execute(
                        "INSERT INTO event (stock, kind, day, entered_at, amount, amount_unit) VALUES (?1, 'taken', ?2, ?3, 20, ?4)",
                        (stock, format!("{year}-{month}-15"), entered, unit),
                    )
                    .expect("a use");
            }
            transaction
                .execute(
                    "INSERT INTO event (stock, kind, day, entered_at, strength, strength_unit, relative_sd, method) \
                     VALUES (?1, 'assayed', ?2, ?3, ?4, ?5, 0.05, 'figure')",
                    (stock, format!("{year}-06-01"), entered, strength * 0.93, strength_unit),
                )
                .expect("a test");
        }
    }
    transaction.commit().expect("the events are kept");
    drop(connection);
    brimstock::register::Register::open(register).expect("a register").seal_again().expect("seals");
}

/// Peak resident memory, asked of the system's `time` where there is one.
fn peak_megabytes(register: &Path) -> String {
    let output = Command::new("/usr/bin/time")
        .args(["-f", "%M", env!("CARGO_BIN_EXE_brimstock"), "--on", "2031-01-01", "shelf"])
        .env("BRIMSTOCK_REGISTER", register)
        .output();
    let Ok(output) = output else { return "not measured (no /usr/bin/time)".to_owned() };
    let kilobytes = String::from_utf8_lossy(&output.stderr).trim().parse::<f64>().unwrap_or(f64::NAN);
    format!("{:.0}", kilobytes / 1000.0)
}
