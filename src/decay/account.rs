//! How a strength came about, told in steps: each with its figure and its source.

use super::case::Case;
use super::finding::Finding;
use super::law::{self, Kinetics, RatePrior};
use super::light::{self, Fading};
use super::{Assay, Stretch};
use crate::catalogue::{Condition, Form, Start};
use crate::units::estimate::{Estimate, Z_95};
use crate::units::show::{self, plain, significant};
use crate::units::step::Step;

const DAYS_PER_YEAR: f64 = 365.25;

/// What it was when it came, and by which law it falls.
pub(super) fn start(case: Case<'_>, start: &Start) -> Vec<Step> {
    let history = case.history;
    let label = history.label.0;
    let (unit, shown) = match history.form {
        Form::Solution => ("g/L", label),
        Form::Solid => ("% w/w", 100.0 * label),
    };
    let text = case.content_text(label);
    let error = |sd_ln: f64| significant(100.0 * Z_95 * sd_ln, 2);
    let mut steps = if history.decanted {
        let what = format!("poured in: {text} ± {} %, as it was known then", error(history.label_sd_ln));
        vec![Step::new(what, "register").of(shown, unit)]
    } else {
        let what = format!(
            "a stock that comes {} holds {} of its label, ± {} %",
            history.came.word(),
            plain(start.factor.value),
            error(start.sd_ln)
        );
        vec![
            Step::new(format!("label: {text}"), "register").of(shown, unit),
            Step::new(what, start.factor.source.clone()).of(start.factor.value, "1"),
        ]
    };
    steps.push(Step::new(case.decay.why.clone(), case.decay.source.clone()));
    steps
}

/// The rates that are believed in a condition.
pub(super) fn rates(case: Case<'_>, condition: Condition, prior: &RatePrior, kinetics: Kinetics) -> Vec<Step> {
    let Some(row) = law::row(case.decay, condition, case.history.label_percent_w_w) else { return Vec::new() };
    let (what, unit) = match kinetics {
        Kinetics::SecondOrder { .. } => ("times the published rate", "1"),
        _ => ("a year at 20 °C", "1/y"),
    };
    let mut steps = Vec::new();
    for (index, part) in prior.parts.iter().enumerate() {
        let median = libm::exp(part.mean_ln);
        let band = show::with_band(Estimate::log_normal(median, part.sd_ln));
        let source = match (index, &row.or) {
            (1, Some(other)) => &other.median.source,
            _ => &row.median.source,
        };
        let text = if index == 0 {
            format!("rate while {}: {band} {what}", condition.word())
        } else {
            format!("rate of the {} in 100 that keep badly: {band} {what}", plain(100.0 * part.share))
        };
        steps.push(Step::new(text, source.clone()).of(median, unit));
    }
    if let Kinetics::FirstOrder { activation } = kinetics {
        let figure = row.activation.as_ref().or(case.decay.activation.as_ref());
        let source = figure.map_or(&case.decay.source, |figure| &figure.source);
        let energy = activation.to_kj_per_mol();
        steps.push(
            Step::new(format!("activation energy {} kJ/mol", plain(energy)), source.clone()).of(energy, "kJ/mol"),
        );
    }
    steps
}

/// Days in a place, and what they count as.
pub(super) fn wait(kinetics: Kinetics, stretch: &Stretch, days: f64, time: f64) -> Step {
    let place = &stretch.place;
    if let Kinetics::FirstOrder { .. } = kinetics {
        let counted = time * DAYS_PER_YEAR;
        let what = format!("{} at {place} count as {} at 20 °C", days_text(days), significant(counted, 3));
        return Step::new(what, "arrhenius").of(counted, "d");
    }
    let what = format!("{} at {place} at the second-order rate of its temperature", days_text(days));
    Step::new(what, "adam-gordon-1999").of(days, "d")
}

/// Days in words.
pub(super) fn days_text(days: f64) -> String {
    if days == 1.0 { "1 day".to_owned() } else { format!("{} days", plain(days)) }
}

/// What a test found.
pub(super) fn test(case: Case<'_>, assay: &Assay) -> Step {
    let found = case.content_text(assay.finding.content());
    let what = match assay.finding {
        Finding::Figure { relative_sd, .. } => {
            format!("test of {}: {found} ± {} % (1 sd)", assay.day, significant(100.0 * relative_sd, 2))
        }
        Finding::Between { low: 0.0, .. } => format!("test of {}: at most {found}", assay.day),
        Finding::Between { low, high, .. } if high.is_finite() => {
            format!("test of {}: between {} and {}", assay.day, case.content_text(low), case.content_text(high))
        }
        Finding::Between { .. } => format!("test of {}: at least {found}", assay.day),
    };
    Step::new(what, "register")
}

/// What light takes in a time.
pub(super) fn light_dose(case: Case<'_>, stretch: &Stretch, fading: Fading, years: f64) -> Step {
    let dose = Estimate::log_normal(fading.per_year * years, fading.sd_ln);
    let share = |dose: f64| -100.0 * libm::expm1(-dose);
    let band = Estimate { low: share(dose.low), mid: share(dose.mid), high: share(dose.high) };
    let what = format!(
        "light at {} ({}) through {} takes {} % of it in that time",
        stretch.place,
        stretch.daylight.light.word(),
        case.history.bottle.container.word(),
        show::with_band(band)
    );
    Step::new(what, "computed-from-light").of(fading.per_year, "1/y")
}

/// The terms that a light dose is computed from.
pub(super) fn light_terms(case: Case<'_>, stretch: &Stretch, fading: Fading) -> Vec<Step> {
    let Some(photolysis) = &case.decay.photolysis else { return Vec::new() };
    let (optics, bottle) = (case.optics, case.history.bottle);
    let place = optics.daylight(stretch.daylight.light);
    let wall = optics.wall(bottle.container);
    let say = |what: String, source: &str, value: f64, unit: &str| Step::new(what, source).of(value, unit);
    let mut steps = vec![
        say("photons of the sun, 295 to 400 nm".to_owned(), &optics.spectrum.source, 1.0, "AM1.5 global"),
        say(
            format!("absorption, {} L/(mol cm) at 320 nm", significant(light::absorption(photolysis, 320.0), 2)),
            &photolysis.source,
            light::absorption(photolysis, 320.0),
            "L/(mol cm)",
        ),
        say(
            format!("{} lost for each photon taken up", plain(photolysis.quantum_yield.value)),
            &photolysis.quantum_yield.source,
            photolysis.quantum_yield.value,
            "1",
        ),
    ];
    if let Some(hours) = stretch.daylight.sun_hours.or(place.sun_hours.as_ref().map(|hours| hours.value)) {
        let source = if stretch.daylight.sun_hours.is_some() { "register" } else { "judgement" };
        steps.push(say(format!("{}: {} h of full sun a day", place.says, plain(hours)), source, hours, "h/d"));
    } else {
        steps.push(say(
            place.says.clone(),
            &optics.room.per_lux.source,
            optics.room.per_lux.value,
            "1/lx of the sun behind a window",
        ));
    }
    if !place.open {
        let pane = &optics.glass.window_mm;
        steps.push(say(
            format!("behind {} mm of window glass", plain(pane.value)),
            &optics.glass.source,
            pane.value,
            "mm",
        ));
    }
    steps.push(match &wall.wall_mm {
        Some(usual) => {
            let mm = bottle.wall_mm.unwrap_or(usual.value);
            say(format!("a wall of {} mm clear glass", plain(mm)), &wall.transmission.source, mm, "mm")
        }
        None => {
            let through = wall.transmission.value;
            let what = format!("a wall that lets {} % through", plain(100.0 * through));
            say(what, &wall.transmission.source, through, "1")
        }
    });
    let path = bottle.path_cm();
    steps.push(say(format!("way of the light inside: {} cm", significant(path, 2)), "judgement", path, "cm"));
    let factor = libm::exp(Z_95 * fading.sd_ln);
    let what = format!("light is known to a factor of {} either way, nine times in ten", significant(factor, 2));
    steps.push(say(what, "judgement", fading.sd_ln, "sd of the logarithm"));
    steps
}
