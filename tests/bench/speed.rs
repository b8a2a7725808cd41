//! Timings, run by hand with `cargo bench --bench speed`; the figures are kept in DEVELOPERS.md.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

const STOCKS: usize = 10_000;

fn main() {
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

    let large = folder.path().join("large.brimstock");
    run(&large, &["--on", "2027-01-01", "new"]);
    run(&large, &["--on", "2027-01-01", "place", "add", "cupboard", "--temp", "19"]);
    run(&large, &["--on", "2027-01-01", "place", "add", "porch", "--summer", "18", "--winter", "4"]);
    fill(&large);
    report(
        "shelf of 10,000 stocks, four years of events each",
        median(3, || run(&large, &["--on", "2031-01-01", "shelf"])),
    );
    println!("largest memory of that shelf: {} MB", peak_megabytes(&large));
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

/// Stocks of four reagents, each received, opened, moved twice, counted, tested and drawn from every quarter.
fn fill(register: &Path) {
    let mut connection = rusqlite::Connection::open(register).expect("the register opens");
    let transaction = connection.transaction().expect("a transaction");
    let reagents = [
        ("hydrogen-peroxide", "solution", "mL", 3.0, "% w/v"),
        ("sodium-hypochlorite", "solution", "mL", 8.25, "% w/w"),
        ("sodium-chloride", "solid", "g", 99.0, "% w/w"),
        ("potassium-alum", "solid", "g", 99.0, "% w/w"),
    ];
    let entered = "2027-01-01T12:00:00Z";
    for number in 1..=STOCKS {
        let (reagent, form, unit, strength, strength_unit) = reagents[number % reagents.len()];
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
                 relative_sd, condition) VALUES (?1, 'received', '2027-01-02', ?2, 1, 1000, ?3, ?4, ?5, 0.01, 'sealed')",
                (stock, entered, unit, strength, strength_unit),
            )
            .expect("a receipt");
        transaction
            .execute(
                "INSERT INTO event (stock, kind, day, entered_at, condition) VALUES (?1, 'opened', '2027-02-01', ?2, 'opened')",
                (stock, entered),
            )
            .expect("an opening");
        for year in 2027..2031 {
            for (month, place) in [("03", 2), ("09", 1)] {
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
