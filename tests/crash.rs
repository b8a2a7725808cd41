//! Nothing is lost when commands meet or die.

use std::process::Stdio;
use std::thread;
use std::time::Duration;

use crate::harness::Bench;

#[test]
fn two_keepers_writing_at_once_both_get_through() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive sodium-chloride 1kg --at cupboard").ok();
    thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| {
                for _ in 0..5 {
                    bench.on("2031-03-02", "take SC-1 1g").ok();
                }
            });
        }
    });
    let shown = bench.on("2031-03-02", "--json show SC-1").json();
    assert_eq!(shown["left"]["value"], 980.0);
    assert_eq!(shown["journal"].as_array().unwrap().len(), 21);
}

#[test]
fn a_killed_command_is_there_whole_or_not_at_all() {
    let bench = Bench::new();
    bench.on("2031-03-01", "receive sodium-chloride 1kg --at cupboard").ok();
    let mut finished = 0;
    for round in 0..40_u64 {
        let mut child = bench
            .command()
            .args(["--on", "2031-03-02", "take", "SC-1", "1g"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        thread::sleep(Duration::from_micros(250 * round));
        let _ = child.kill();
        if child.wait().unwrap().success() {
            finished += 1;
        }
    }
    let shown = bench.on("2031-03-02", "--json show SC-1").json();
    let lines = shown["journal"].as_array().unwrap().len() - 1;
    assert!(lines >= finished, "{finished} commands said yes, {lines} are there");
    assert_eq!(shown["left"]["value"].as_f64().unwrap(), 1000.0 - lines as f64);
}
