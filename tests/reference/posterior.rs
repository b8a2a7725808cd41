//! Source: `posterior.json`, made by `posterior.py` with numpy and scipy: the same model by brute force, written apart from
//! this program. Each case says what was believed, what happened, and what must be believed afterwards.

use super::{Row, check, row};
use brimstock::decay::belief::{Belief, Window};
use brimstock::decay::finding::Finding;
use brimstock::decay::law::{Kinetics, RatePart, RatePrior};
use brimstock::decay::light::Fading;
use brimstock::units::MolarEnergy;
use serde_json::Value;

const SOURCE: &str = "tests/reference/posterior.py";

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} is no number in {value}"))
}

fn part(value: &Value) -> RatePart {
    let share = value["share"].as_f64().unwrap_or(1.0);
    RatePart { share, mean_ln: number(value, "median").ln(), sd_ln: number(value, "sd_ln") }
}

fn happen(belief: &mut Belief, event: &Value, window: Window) {
    if let Some(age) = event.get("age") {
        if let Some(time) = age["time"].as_f64() {
            belief.age(time);
        } else if age.get("light_per_year").is_some() {
            let fading = Fading {
                per_year: number(age, "light_per_year"),
                thin: number(age, "thin_per_year"),
                power: number(age, "power"),
                reference_ln: number(age, "reference").ln(),
                sd_ln: number(age, "light_sd"),
            };
            belief.fade(number(age, "tau"), number(age, "years"), fading);
        } else {
            belief.age(number(age, "tau"));
        }
    } else if let Some(next) = event.get("worsen") {
        belief.worsen(part(next), window);
    } else if let Some(seen) = event.get("observe") {
        belief.observe(Finding::Figure { content: number(seen, "value"), relative_sd: number(seen, "sd") }, 0.0);
    } else if let Some(seen) = event.get("between") {
        let high = seen["high"].as_f64().unwrap_or(f64::INFINITY);
        belief.observe(Finding::Between { low: number(seen, "low"), high, relative_sd: number(seen, "sd") }, 0.0);
    } else {
        panic!("an event that is not known: {event}");
    }
}

/// The belief after a case, its grid drawn closer as the program draws it.
fn after(case: &Value) -> Belief {
    let kinetics = match case["kinetics"].as_str() {
        Some("first-order") => Kinetics::FirstOrder { activation: MolarEnergy::kj_per_mol(75.0) },
        _ => Kinetics::SecondOrder { ionic_strength: 2.1, molar_mass: 74.44 },
    };
    let prior = RatePrior { parts: case["prior"].as_array().expect("a prior").iter().map(part).collect() };
    let (start_ln, sd_ln) = (number(&case["start"], "median").ln(), number(&case["start"], "sd_ln"));
    let along = |window: Window| {
        let events = case["events"].as_array().expect("events");
        let last = events.iter().rposition(|event| event.get("worsen").is_some());
        let first = if last.is_some() { window.of_lights() } else { window };
        let mut belief = Belief::new(kinetics, Some(&prior), start_ln, sd_ln, first);
        for (index, event) in events.iter().enumerate() {
            happen(
                &mut belief,
                event,
                if last.is_some_and(|last| index >= last) { window } else { window.of_lights() },
            );
        }
        belief
    };
    let belief = along(Window::OPEN);
    belief.closer().map_or(belief, along)
}

/// What the program's own coarse grid may add to the brute force's error. The light error is followed on few lanes: it is a
/// factor of two itself.
struct Slack {
    /// Of a content, in parts of the content at the start.
    content: f64,
    /// Of a chance.
    chance: f64,
    /// Of the logarithm of the evidence, and of the rate's mean and standard deviation.
    logarithm: f64,
}

const DARK: Slack = Slack { content: 0.004, chance: 0.006, logarithm: 0.01 };
const LIT: Slack = Slack { content: 0.01, chance: 0.025, logarithm: 0.04 };

#[test]
fn the_belief_agrees_with_brute_force() {
    let text = include_str!("posterior.json");
    let all: Value = serde_json::from_str(text).expect("JSON");
    let cases = all["cases"].as_array().expect("cases");
    assert!(cases.len() >= 12, "{} cases", cases.len());
    let mut rows: Vec<Row> = Vec::new();
    for case in cases {
        let name = case["name"].as_str().expect("a name");
        let slack = if case["events"].to_string().contains("light_per_year") { LIT } else { DARK };
        let expect = &case["expect"];
        let own = |field: &str| number(&expect["tolerance"], field);
        let belief = after(case);
        let content = belief.content();
        let start = number(&case["start"], "median");
        let mut add = |what: &str, found: f64, expected: f64, tolerance: f64| {
            rows.push(row(format!("{name}: {what}"), found, expected, tolerance, SOURCE));
        };
        for (field, probability) in [("q05", 0.05), ("q50", 0.5), ("q95", 0.95)] {
            let tolerance = own(field) + slack.content * start;
            add(field, content.quantile(probability), number(expect, field), tolerance);
        }
        for chance in expect["at_least"].as_array().expect("chances") {
            let (least, expected) = (number(chance, "content"), number(chance, "chance"));
            let what = format!("chance of {least}");
            add(&what, content.at_least(least), expected, own("at_least") + slack.chance);
        }
        let (mean, sd) = belief.rate_ln();
        for (field, found) in [("ln_evidence", belief.evidence_ln()), ("rate_ln_mean", mean), ("rate_ln_sd", sd)] {
            let expected = number(expect, field);
            // An outlier's evidence is far out in a tail: a hundredth of it is enough.
            add(field, found, expected, own(field) + slack.logarithm.max(0.002 * expected.abs()));
        }
    }
    check(rows);
}
