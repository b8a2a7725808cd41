//! The demo shows what it promises, twice the same.

use crate::harness::Bench;

#[test]
fn two_demos_give_the_same_json() {
    let played = || {
        let bench = Bench::bare();
        bench.run(&["demo", "--keep", bench.register().to_str().unwrap()]).ok();
        bench
    };
    let (first, second) = (played(), played());
    for line in
        ["--json shelf", "--json check S03", "--json show S02", "--json dose alum-soak --bath 40L", "--json dips"]
    {
        assert_eq!(first.on("2031-03-15", line).stdout, second.on("2031-03-15", line).stdout, "{line}");
    }
    assert_eq!(first.run(&["--json", "demo"]).ok(), second.run(&["--json", "demo"]).ok());
}

#[test]
fn the_fading_bottle_can_just_can_and_cannot() {
    let bench = Bench::bare();
    let demo = bench.run(&["--json", "demo"]).json();
    let check = demo["scenes"]
        .as_array()
        .unwrap()
        .iter()
        .find(|scene| scene["command"].as_str().unwrap().contains("check"))
        .unwrap();
    let verdicts: Vec<&str> =
        check["answer"]["dips"].as_array().unwrap().iter().map(|dip| dip["verdict"].as_str().unwrap()).collect();
    for verdict in ["ready", "test first", "short"] {
        assert!(verdicts.contains(&verdict), "{verdict}: {verdicts:?}");
    }
    assert!(demo["next_step"].as_str().unwrap().starts_with("brimstock "));
}
