//! A thousand labels in one file: time and memory of the release program, beside the same labels by reportlab.
//!
//! Run by hand: `cargo bench --bench paper`. Wants GNU `time`, poppler, and python3 with reportlab from PyPI.

use std::path::Path;
use std::process::Command;

/// Stocks, and labels.
const STOCKS: u64 = 1000;

/// The day of the question.
const DAY: &str = "2031-02-01";

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let register = folder.path().join("thousand.brimstock");
    run(&register, &["--on", "2029-12-01", "new"]);
    run(&register, &["--on", "2029-12-01", "place", "add", "cellar", "--temp", "9", "--light", "dark"]);
    run(&register, &["--on", "2029-12-01", "place", "add", "kitchen", "--temp", "21", "--light", "dim"]);
    fill(&register);

    let labels = folder.path().join("labels.pdf");
    let codes: Vec<String> = (1..=STOCKS).map(|number| format!("X-{number}")).collect();
    let mut ours = Command::new("/usr/bin/time");
    ours.args(["-f", "%e %M", env!("CARGO_BIN_EXE_brimstock"), "--on", DAY, "card", "bottle", "--out"]);
    ours.arg(&labels).args(codes).env("BRIMSTOCK_REGISTER", &register);
    let (seconds, megabytes) = timed(&mut ours);
    let size = std::fs::metadata(&labels).expect("the labels").len() as f64 / 1e6;
    println!("{STOCKS} bottle labels in one file: {seconds:.2} s, {megabytes:.0} MB at the most, {size:.1} MB of file");

    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/paper.py");
    let mut theirs = Command::new("python3");
    theirs.arg(script).arg(&labels).arg(folder.path().join("reportlab.pdf"));
    let (theirs, megabytes) = timed(&mut theirs);
    println!("the same by reportlab: {theirs:.2} s, {megabytes:.0} MB; ours takes {:.2} of its time", seconds / theirs);
}

/// Runs something that ends by printing seconds and kilobytes.
fn timed(command: &mut Command) -> (f64, f64) {
    let output = command.output().expect("it runs");
    let said = [output.stdout, output.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).concat();
    assert!(output.status.success(), "{said}");
    let last: Vec<f64> =
        said.lines().last().unwrap_or_default().split(' ').filter_map(|word| word.parse().ok()).collect();
    let [seconds, kilobytes] = last[..] else { panic!("no figures: {said}") };
    (seconds, kilobytes / 1000.0)
}

fn run(register: &Path, arguments: &[&str]) {
    let output = Command::new(env!("CARGO_BIN_EXE_brimstock"))
        .env("BRIMSTOCK_REGISTER", register)
        .args(arguments)
        .output()
        .expect("the program runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

/// Stocks of four reagents that came on the days of a year, every third of them opened.
fn fill(register: &Path) {
    let mut connection = rusqlite::Connection::open(register).expect("the register opens");
    let transaction = connection.transaction().expect("a transaction");
    let reagents = [
        ("hydrogen-peroxide", "solution", "mL", 12.0),
        ("sodium-hypochlorite", "solution", "mL", 8.25),
        ("sodium-chloride", "solid", "g", 99.0),
        ("copper-sulfate", "solid", "g", 99.0),
    ];
    let first = chrono::NaiveDate::from_ymd_opt(2030, 1, 1).expect("a date");
    for stock in 1..=STOCKS {
        let (reagent, form, unit, strength) = reagents[usize::try_from(stock % 4).expect("a small number")];
        let came = first + chrono::Days::new(stock % 365);
        transaction
            .execute(
                "INSERT INTO stock (id, code, reagent, form) VALUES (?1, ?2, ?3, ?4)",
                (stock.cast_signed(), format!("X-{stock}"), reagent, form),
            )
            .expect("a stock");
        transaction
            .execute(
                "INSERT INTO event (stock, kind, day, entered_at, place, amount, amount_unit, strength, strength_unit, \
                 relative_sd, condition) \
                 VALUES (?1, 'received', ?2, '2030-01-01T12:00:00Z', ?3, 500, ?4, ?5, '% w/w', 0.01, 'sealed')",
                (stock.cast_signed(), came.to_string(), (1 + stock % 2).cast_signed(), unit, strength),
            )
            .expect("a receipt");
        if stock % 3 == 0 {
            transaction
                .execute(
                    "INSERT INTO event (stock, kind, day, entered_at, condition) \
                     VALUES (?1, 'opened', ?2, '2030-01-01T12:00:00Z', 'opened')",
                    (stock.cast_signed(), (came + chrono::Days::new(10)).to_string()),
                )
                .expect("an opening");
        }
    }
    transaction.commit().expect("the events are kept");
    drop(connection);
    brimstock::register::Register::open(register).expect("a register").seal_again().expect("seals");
}
