//! What the timings share: the machine, the program run from outside, registers filled by SQL, medians and exponents.

#![allow(dead_code, reason = "each timing uses its own part of the kit")]

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use rusqlite::Transaction;

/// The day of every question.
pub const DAY: &str = "2031-01-01";

/// When the rows of a filled register were typed.
const ENTERED: &str = "2027-01-01T12:00:00Z";

/// Says on what machine and how busy it is.
pub fn machine() {
    let read = |path: &str| std::fs::read_to_string(path).unwrap_or_default();
    let info = read("/proc/cpuinfo");
    let model = info.lines().find_map(|line| line.strip_prefix("model name")).unwrap_or("unknown");
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let load = read("/proc/loadavg");
    let load = load.split(' ').next().unwrap_or("unknown").to_owned();
    println!("machine: {cores} cores of {}, load {load}", model.trim_start_matches([' ', ':', '\t']).trim());
}

/// The program's file.
pub fn program() -> &'static str {
    env!("CARGO_BIN_EXE_brimstock")
}

/// Runs the program on a register; an answer that is not yes is one as well.
pub fn run(register: &Path, words: &[&str]) {
    let output = Command::new(program())
        .env("BRIMSTOCK_REGISTER", register)
        .args(words)
        .stdin(Stdio::null())
        .output()
        .expect("the program runs");
    let code = output.status.code();
    assert!(code == Some(0) || code == Some(1), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
}

/// Seconds and peak resident megabytes of a run, by GNU `time`.
pub fn weighed(register: &Path, words: &[&str]) -> (f64, f64) {
    let output = Command::new("/usr/bin/time")
        .args(["-f", "%e %M", program()])
        .args(words)
        .env("BRIMSTOCK_REGISTER", register)
        .output()
        .expect("/usr/bin/time runs");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let mut figures = said.split_whitespace().rev().filter_map(|word| word.parse::<f64>().ok());
    let kilobytes = figures.next().unwrap_or_else(|| panic!("no figures: {said}"));
    (figures.next().expect("seconds"), kilobytes / 1000.0)
}

/// How long a thing takes once.
pub fn once(what: impl FnOnce()) -> Duration {
    let start = Instant::now();
    what();
    start.elapsed()
}

/// The middle of some times.
pub fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

/// The value below which a share of them lies.
pub fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * share).round() as usize]
}

/// Runs several things in turn, so that what else the machine does strikes all of them alike, and gives each one's median.
pub fn in_turn<const N: usize>(rounds: usize, things: [&dyn Fn(); N]) -> [Duration; N] {
    let mut times: [Vec<Duration>; N] = std::array::from_fn(|_| Vec::with_capacity(rounds));
    for _ in 0..rounds {
        for (times, thing) in times.iter_mut().zip(things) {
            times.push(once(thing));
        }
    }
    times.map(median)
}

/// Milliseconds.
pub fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

/// The exponent `b` of `y = a x^b` by least squares of the logarithms.
pub fn exponent(points: &[(f64, f64)]) -> f64 {
    let logs: Vec<(f64, f64)> = points.iter().map(|(x, y)| (libm::log(*x), libm::log(*y))).collect();
    let count = logs.len() as f64;
    let (x, y) = logs.iter().fold((0.0, 0.0), |(x, y), point| (x + point.0 / count, y + point.1 / count));
    let (above, below) = logs.iter().fold((0.0, 0.0), |(above, below), point| {
        (above + (point.0 - x) * (point.1 - y), below + (point.0 - x) * (point.0 - x))
    });
    above / below
}

/// A verdict beside a goal.
pub fn met(holds: bool) -> &'static str {
    if holds { "met" } else { "NOT met" }
}

/// A new register with three places: `cupboard`, `porch` and `sill`, the rows 1, 2 and 3.
pub fn new_register(path: &Path) {
    let on = ["--on", "2027-01-01"];
    for words in [
        &["new"][..],
        &["place", "add", "cupboard", "--temp", "19"],
        &["place", "add", "porch", "--summer", "18", "--winter", "4"],
        &["place", "add", "sill", "--summer", "24", "--winter", "16", "--light", "sill"],
    ] {
        run(path, &[&on[..], words].concat());
    }
}

/// Enters rows by SQL, and seals them.
pub fn enter(register: &Path, rows: impl FnOnce(&Transaction<'_>)) {
    let mut connection = rusqlite::Connection::open(register).expect("the register opens");
    let transaction = connection.transaction().expect("a transaction");
    rows(&transaction);
    transaction.commit().expect("the rows are kept");
    drop(connection);
    brimstock::register::Register::open(register).expect("a register").seal_again().expect("seals");
}

/// A stock and its receipt.
pub struct Bottle<'a> {
    /// Its row.
    pub id: i64,
    /// Its code.
    pub code: &'a str,
    /// Its reagent.
    pub reagent: &'a str,
    /// `solution` or `solid`.
    pub form: &'a str,
    /// `mL` or `g`.
    pub unit: &'a str,
    /// How much of it.
    pub amount: f64,
    /// What its label says.
    pub strength: (f64, &'a str),
    /// What it is kept in.
    pub container: Option<&'a str>,
}

impl Bottle<'_> {
    /// Enters it, sealed and in the cupboard, on the second of January 2027.
    pub fn receive(&self, transaction: &Transaction<'_>) {
        let mut stock = transaction
            .prepare_cached("INSERT INTO stock (id, code, reagent, form) VALUES (?1, ?2, ?3, ?4)")
            .expect("a statement");
        stock.execute((self.id, self.code, self.reagent, self.form)).expect("a stock");
        let mut event = transaction
            .prepare_cached(
                "INSERT INTO event (stock, kind, day, entered_at, place, amount, amount_unit, strength, strength_unit, \
                 relative_sd, condition, container) \
                 VALUES (?1, 'received', '2027-01-02', ?2, 1, ?3, ?4, ?5, ?6, 0.01, 'sealed', ?7)",
            )
            .expect("a statement");
        let (strength, strength_unit) = self.strength;
        event
            .execute((self.id, ENTERED, self.amount, self.unit, strength, strength_unit, self.container))
            .expect("a receipt");
    }

    /// Enters that it was opened.
    pub fn open(&self, transaction: &Transaction<'_>, day: &str) {
        let sql = "INSERT INTO event (stock, kind, day, entered_at, condition) VALUES (?1, 'opened', ?2, ?3, 'opened')";
        transaction.prepare_cached(sql).expect("a statement").execute((self.id, day, ENTERED)).expect("an opening");
    }

    /// Enters that it went to a place.
    pub fn carry(&self, transaction: &Transaction<'_>, day: &str, place: i64) {
        let sql = "INSERT INTO event (stock, kind, day, entered_at, place) VALUES (?1, 'moved', ?2, ?3, ?4)";
        transaction.prepare_cached(sql).expect("a statement").execute((self.id, day, ENTERED, place)).expect("a move");
    }

    /// Enters that some of it was used.
    pub fn take(&self, transaction: &Transaction<'_>, day: &str, amount: f64) {
        let sql = "INSERT INTO event (stock, kind, day, entered_at, amount, amount_unit) \
                   VALUES (?1, 'taken', ?2, ?3, ?4, ?5)";
        let mut statement = transaction.prepare_cached(sql).expect("a statement");
        statement.execute((self.id, day, ENTERED, amount, self.unit)).expect("a use");
    }

    /// Enters a test that found this share of its label.
    pub fn test(&self, transaction: &Transaction<'_>, day: &str, share: f64) {
        let sql = "INSERT INTO event (stock, kind, day, entered_at, strength, strength_unit, relative_sd, method) \
                   VALUES (?1, 'assayed', ?2, ?3, ?4, ?5, 0.05, 'figure')";
        let (strength, unit) = self.strength;
        let mut statement = transaction.prepare_cached(sql).expect("a statement");
        statement.execute((self.id, day, ENTERED, strength * share, unit)).expect("a test");
    }
}

/// The four reagents of a filled shelf: key, form, unit and label.
pub const REAGENTS: [(&str, &str, &str, (f64, &str)); 4] = [
    ("hydrogen-peroxide", "solution", "mL", (3.0, "% w/v")),
    ("sodium-hypochlorite", "solution", "mL", (8.25, "% w/w")),
    ("sodium-chloride", "solid", "g", (99.0, "% w/w")),
    ("potassium-alum", "solid", "g", (99.0, "% w/w")),
];

/// Stocks of four reagents, each received, opened, moved twice, tested and drawn from every quarter for four years (30 events);
/// every second of each reagent goes to a sill in spring, where there is to be light.
pub fn fill_shelf(register: &Path, stocks: usize, lit: bool) {
    let containers = ["clear-glass", "natural-plastic", "amber-glass", "opaque-plastic"];
    enter(register, |transaction| {
        for number in 1..=stocks {
            let (reagent, form, unit, strength) = REAGENTS[number % REAGENTS.len()];
            let sunny = lit && (number / REAGENTS.len()).is_multiple_of(2);
            let bottle = Bottle {
                id: i64::try_from(number).expect("a small number"),
                code: &format!("X-{number}"),
                reagent,
                form,
                unit,
                amount: 1000.0,
                strength,
                container: lit.then_some(containers[(number / (2 * REAGENTS.len())) % containers.len()]),
            };
            bottle.receive(transaction);
            bottle.open(transaction, "2027-02-01");
            for year in 2027..2031 {
                for (month, place) in [("03", if sunny { 3 } else { 2 }), ("09", 1)] {
                    bottle.carry(transaction, &format!("{year}-{month}-01"), place);
                }
                for month in ["02", "05", "08", "11"] {
                    bottle.take(transaction, &format!("{year}-{month}-15"), 20.0);
                }
                bottle.test(transaction, &format!("{year}-06-01"), 0.93);
            }
        }
    });
}
