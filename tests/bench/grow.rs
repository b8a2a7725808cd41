//! How `shelf` grows with its stocks: time and memory of a thousand, ten thousand and a hundred thousand.
//!
//! Run by hand: `cargo bench --bench grow`. Wants GNU `time`.

#[path = "kit.rs"]
mod kit;

use kit::{DAY, exponent, fill_shelf, machine, met, weighed};

fn main() {
    machine();
    let folder = tempfile::tempdir().expect("a folder");
    for lit in [false, true] {
        let mut points = [Vec::new(), Vec::new()];
        let mut last = (0.0, 0.0);
        for (stocks, rounds) in [(1_000, 5), (10_000, 3), (100_000, 1)] {
            let register = folder.path().join(format!("shelf-{stocks}-{lit}.brimstock"));
            kit::new_register(&register);
            fill_shelf(&register, stocks, lit);
            let mut runs: Vec<(f64, f64)> = (0..rounds).map(|_| weighed(&register, &["--on", DAY, "shelf"])).collect();
            runs.sort_by(|a, b| a.0.total_cmp(&b.0));
            last = runs[rounds / 2];
            points[0].push((stocks as f64, last.0));
            points[1].push((stocks as f64, last.1));
            let light = if lit { "half of them on a sill in spring" } else { "in the dark" };
            println!("shelf of {stocks} stocks of 30 events, {light}: {:.2} s, {:.0} MB", last.0, last.1);
            let _ = std::fs::remove_file(&register);
        }
        println!(
            "exponent of the time {:.2}, of the memory {:.2}; 100,000 stocks: {:.1} s (goal: 20 s): {}, {:.0} MB (goal: 500 MB): {}",
            exponent(&points[0]),
            exponent(&points[1]),
            last.0,
            met(last.0 <= 20.0),
            last.1,
            met(last.1 <= 500.0)
        );
    }
}
