//! How long `ready-for` takes: 200 baths on a dozen dates over 60 stocks. Run by hand: `cargo bench --bench ready`.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

/// Dips with the volumes of their baths; five of them need a neutraliser.
const DIPS: [(&str, &str); 8] = [
    ("bleach-fine-leaved", "10L"),
    ("bleach-robust", "10L"),
    ("bleach-fine-leaved", "16L"),
    ("peroxide-weak", "10L"),
    ("peroxide-weak", "40L"),
    ("peroxide-strong", "5L"),
    ("alum-soak", "40L"),
    ("bleach-robust", "25L"),
];

fn main() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let register = folder.path().join("shelf.brimstock");
    run(&register, "2030-11-01", &["new"]);
    run(&register, "2030-11-01", &["place", "add", "bench", "--temp", "21", "--light", "dark"]);
    for number in 0..60 {
        let day = format!("2031-{:02}-{:02}", 1 + number % 2, 1 + number % 27);
        let what: &[&str] = match number % 6 {
            0 => &["bleach", "5.25 % w/w", "3L"],
            1 => &["bleach", "8.25 % w/w", "3.7L"],
            2 => &["hydrogen-peroxide", "3 % w/v", "1L"],
            3 => &["hydrogen-peroxide", "12 % w/w", "2L"],
            4 => &["sodium-thiosulfate", "99 %", "2kg"],
            _ => &["potassium-alum", "99 %", "1kg"],
        };
        let mut words = vec!["receive"];
        words.extend(what);
        words.extend(["--at", "bench"]);
        run(&register, &day, &words);
    }
    for (name, alike, what) in [
        ("alike", true, "of 8 kinds on 12 days, 60 stocks"),
        ("apart", false, "the same, every bath of a volume of its own"),
    ] {
        for (much, count) in [("few", 200), ("many", 1000)] {
            let plan = folder.path().join(format!("{name}-{much}.csv"));
            std::fs::write(&plan, rows(count, alike)).expect("a plan");
            let plan = plan.to_str().expect("UTF-8");
            let times = |how_often: usize| median(how_often, || run(&register, "2031-03-01", &["ready-for", plan]));
            println!("{count} baths, {what}: {:.0} ms", times(5).as_secs_f64() * 1e3);
        }
    }
}

/// A table of so many baths.
fn rows(count: usize, alike: bool) -> String {
    let mut text = "date,lot,dip,bath\n".to_owned();
    for number in 0..count {
        let (dip, volume) = DIPS[number % DIPS.len()];
        let day = 2 + 2 * (number / DIPS.len() % 12);
        let volume = if alike { volume.to_owned() } else { format!("{}L", 4.0 + 0.1 * (number % 97) as f64) };
        text.push_str(&format!("2031-03-{day:02},L{number},{dip},{volume}\n"));
    }
    text
}

fn median(how_often: usize, mut what: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..how_often)
        .map(|_| {
            let start = Instant::now();
            what();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[how_often / 2]
}

/// Runs the program; an answer that is not yes is one as well.
fn run(register: &Path, day: &str, words: &[&str]) {
    let output = Command::new(env!("CARGO_BIN_EXE_brimstock"))
        .env("BRIMSTOCK_REGISTER", register)
        .args(["--on", day])
        .args(words)
        .output()
        .expect("the program runs");
    let code = output.status.code();
    assert!(code == Some(0) || code == Some(1), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
}
