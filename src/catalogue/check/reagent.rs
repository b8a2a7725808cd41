//! The rules that a reagent's file must keep. Every breach is told, not the first alone.

use super::{Place, Sources, cas_number_is_valid, rising};
use crate::catalogue::{CatalogueError, Class, Decay, Density, Figure, Form, Hazard, Law, Reagent, Solution, problem};

/// What is wrong so far.
struct Faults<'a> {
    place: Place<'a>,
    found: Vec<CatalogueError>,
}

impl Faults<'_> {
    fn wrong(&mut self, key: &str, what: impl Into<String>) {
        self.found.push(problem(self.place.file, key, what));
    }

    fn source(&mut self, key: &str, source: &str) {
        self.found.extend(self.place.source(key, source).err());
    }

    fn figure(&mut self, key: &str, figure: &Figure, unit: &str, range: std::ops::RangeInclusive<f64>) {
        self.found.extend(self.place.figure(key, figure, unit, range).err());
    }

    fn percent(&mut self, key: &str, value: f64) {
        if !(0.0..=100.0).contains(&value) {
            self.wrong(key, format!("{value} is no per cent: 0 to 100"));
        }
    }
}

/// Everything that is wrong with one reagent by itself.
pub(in crate::catalogue) fn reagent(file: &str, reagent: &Reagent, sources: &Sources) -> Vec<CatalogueError> {
    let mut at = Faults { place: Place { file, sources }, found: Vec::new() };
    let stem = file.rsplit('/').next().unwrap_or(file).trim_end_matches(".toml");
    if stem != reagent.key {
        at.wrong("key", format!("`{}` is not the file's name `{stem}`", reagent.key));
    }
    if reagent.code.len() < 2 || reagent.code.len() > 3 || !reagent.code.chars().all(|c| c.is_ascii_uppercase()) {
        at.wrong("code", format!("`{}` is not two or three capital letters", reagent.code));
    }
    at.source("cas", &reagent.cas.source);
    if !cas_number_is_valid(&reagent.cas.value) {
        at.wrong("cas", format!("`{}` fails its check digit", reagent.cas.value));
    }
    at.source("formula", &reagent.formula.source);
    if reagent.forms.is_empty() {
        at.wrong("forms", "name at least one of `solid`, `solution`");
    }
    if let Some(solid) = &reagent.solid {
        at.figure("solid.purity", &solid.purity, "% w/w", 0.0..=100.0);
        if solid.spooned.is_empty() {
            at.wrong("solid.spooned", "give at least one kind");
        }
        for spooned in &solid.spooned {
            at.figure(&format!("solid.spooned.{}", spooned.kind), &spooned.density, "g/mL", 0.1..=4.0);
            if spooned.density.relative_sd.is_none() {
                at.wrong("solid.spooned", "`relative_sd` is missing");
            }
        }
    } else if reagent.forms.contains(&Form::Solid) {
        at.wrong("solid", "is missing, though `forms` names it");
    }
    match &reagent.solution {
        Some(solution) => check_solution(&mut at, solution),
        None if reagent.forms.contains(&Form::Solution) => {
            at.wrong("solution", "is missing, though `forms` names it");
        }
        None => {}
    }
    for form in &reagent.forms {
        if !reagent.decay.iter().any(|decay| decay.form == *form) {
            at.wrong("decay", format!("no entry for the form `{form}`"));
        }
    }
    for decay in &reagent.decay {
        check_decay(&mut at, decay);
    }
    for taken in &reagent.taken_for {
        at.source("taken_for", &taken.source);
    }
    for row in &reagent.carriage {
        at.source("carriage", &row.source);
        if row.un.len() != 6 || !row.un.starts_with("UN") || !row.un[2..].chars().all(|c| c.is_ascii_digit()) {
            at.wrong("carriage.un", format!("`{}`: UN and four figures wanted", row.un));
        }
        if !["I", "II", "III"].contains(&row.group.as_str()) {
            at.wrong("carriage.group", format!("`{}`: I, II or III wanted", row.group));
        }
        let low = row.from_percent_w_w.or(row.above_percent_w_w).unwrap_or(0.0);
        let high = row.up_to_percent_w_w.or(row.below_percent_w_w).unwrap_or(100.0);
        let twice =
            row.from_percent_w_w.and(row.above_percent_w_w).or(row.up_to_percent_w_w.and(row.below_percent_w_w));
        if !(low >= 0.0 && low < high && high <= 100.0) || twice.is_some() {
            at.wrong("carriage", "the bounds must rise within 0 to 100 % w/w, one lower and one upper at the most");
        }
    }
    for row in &reagent.regulated {
        at.source("regulated", &row.source);
    }
    if let Some(keeping) = &reagent.keeping {
        at.source("keeping", &keeping.source);
        for (key, figure, unit, range) in [
            ("keeping.below_c", &keeping.below_c, "°C", 0.0..=60.0),
            ("keeping.closed_above", &keeping.closed_above, "% w/w", 0.1..=100.0),
            ("keeping.vent_above", &keeping.vent_above, "% w/w", 0.1..=100.0),
            ("keeping.made_up_keeps", &keeping.made_up_keeps, "d", 0.1..=3700.0),
        ] {
            if let Some(figure) = figure {
                at.figure(key, figure, unit, range);
            }
        }
        if let Some(dark) = &keeping.dark {
            at.source("keeping.dark", &dark.source);
        }
    }
    if let Some(hazard) = &reagent.hazard {
        check_hazard(&mut at, hazard);
    }
    at.found
}

fn check_solution(at: &mut Faults<'_>, solution: &Solution) {
    if let Some(strongest) = &solution.strongest {
        at.figure("solution.strongest", strongest, "g/L", 1.0..=3000.0);
    }
    if let Some(pure) = &solution.pure_density {
        at.figure("solution.pure_density", pure, "g/mL", 0.5..=3.0);
    }
    let mut bound = 0.0;
    for row in &solution.bare_percent {
        at.source("solution.bare_percent", &row.source);
        if row.up_to <= bound {
            at.wrong("solution.bare_percent", "`up_to` must rise from row to row");
        }
        bound = row.up_to;
    }
    if bound != 100.0 {
        at.wrong("solution.bare_percent", "the last row must hold `up_to = 100`");
    }
    let spread = match &solution.density {
        Some(Density::Laliberte { solutes, spread }) => {
            if solutes.is_empty() {
                at.wrong("solution.density.solutes", "give at least one");
            }
            for solute in solutes {
                at.source("solution.density.solutes", &solute.source);
            }
            *spread
        }
        Some(Density::Polynomial { source, spread, .. }) => {
            at.source("solution.density", source);
            *spread
        }
        Some(Density::Points { points, temperature, source, spread }) => {
            at.source("solution.density", source);
            if !rising(points) || !rising(temperature) {
                at.wrong("solution.density", "two rising columns of at least two rows wanted");
            }
            *spread
        }
        None => 0.001,
    };
    if !(spread > 0.0 && spread < 0.1) {
        at.wrong("solution.density.spread", format!("{spread} is not between 0 and 0.1"));
    }
    if let Some(solubility) = &solution.solubility {
        at.source("solution.solubility", &solubility.source);
        if !rising(&solubility.points) {
            at.wrong("solution.solubility.points", "at least two rising temperatures wanted");
        }
        if !(solubility.spread > 0.0 && solubility.spread < 0.5) {
            at.wrong("solution.solubility.spread", "must lie between 0 and 0.5");
        }
    }
}

fn check_decay(at: &mut Faults<'_>, decay: &Decay) {
    at.source("decay", &decay.source);
    if decay.start.is_empty() {
        at.wrong("decay.start", "give at least one condition");
    }
    for start in &decay.start {
        at.figure("decay.start.factor", &start.factor, "1", 0.5..=1.5);
        if !(start.sd_ln > 0.0 && start.sd_ln < 1.0) {
            at.wrong("decay.start.sd_ln", "must lie between 0 and 1");
        }
    }
    let unit = match decay.law {
        Law::Keeps | Law::Unknown => {
            if !decay.prior.is_empty() || decay.activation.is_some() {
                at.wrong("decay.prior", "a law without a rate takes no prior and no activation energy");
            }
            return;
        }
        Law::FirstOrder => "1/y",
        Law::SecondOrderHypochlorite => "1",
    };
    match (&decay.activation, decay.law) {
        (Some(activation), Law::FirstOrder) => at.figure("decay.activation", activation, "kJ/mol", 5.0..=200.0),
        (None, Law::FirstOrder) => at.wrong("decay.activation", "is missing"),
        (Some(_), _) => at.wrong("decay.activation", "this law brings its own"),
        (None, _) => {}
    }
    if decay.prior.is_empty() {
        at.wrong("decay.prior", "a law with a rate needs at least one prior");
    }
    for prior in &decay.prior {
        let key = format!("decay.prior.{}", prior.condition.word());
        at.figure(&key, &prior.median, unit, 1e-6..=1e4);
        if !(prior.sd_ln > 0.0 && prior.sd_ln < 3.0) {
            at.wrong(&key, "`sd_ln` must lie between 0 and 3");
        }
        if let Some(activation) = &prior.activation {
            at.figure(&format!("{key}.activation"), activation, "kJ/mol", 5.0..=200.0);
        }
        if let Some(other) = &prior.or {
            at.figure(&format!("{key}.or.share"), &other.share, "1", 0.0..=0.5);
            at.figure(&format!("{key}.or.median"), &other.median, unit, 1e-6..=1e4);
            if !(other.sd_ln > 0.0 && other.sd_ln < 3.0) {
                at.wrong(&key, "`or.sd_ln` must lie between 0 and 3");
            }
        }
    }
    if let Some(factor) = &decay.in_light {
        at.figure("decay.in_light", factor, "1", 1.0..=1e3);
    }
    if let Some(photolysis) = &decay.photolysis {
        if decay.law != Law::FirstOrder {
            at.wrong("decay.photolysis", "is computed beside the law `first-order` alone");
        }
        at.source("decay.photolysis", &photolysis.source);
        at.figure("decay.photolysis.quantum_yield", &photolysis.quantum_yield, "1", 0.0..=4.0);
        if !rising(&photolysis.absorption) || photolysis.absorption.iter().any(|[_, size]| *size <= 0.0) {
            at.wrong("decay.photolysis.absorption", "rising wavelengths and sizes above 0 wanted");
        }
    }
}

fn check_hazard(at: &mut Faults<'_>, hazard: &Hazard) {
    at.source("hazard", &hazard.source);
    for entry in &hazard.classes {
        let key = format!("hazard.class.{}", entry.class);
        at.source(&key, &entry.source);
        for limit in &entry.limits {
            at.source(&format!("{key}.limit"), &limit.source);
            at.percent(&format!("{key}.limit.from"), limit.from);
            at.percent(&format!("{key}.limit.below"), limit.below.unwrap_or(100.0));
            if limit.above && !entry.class.is_physical() {
                at.wrong(&format!("{key}.limit.above"), "only bands of physical hazards begin above their figure");
            }
            if limit.below.is_some_and(|below| below <= limit.from) {
                at.wrong(&key, "a limit ends (`below`) before it begins (`from`)");
            }
        }
        let aquatic = matches!(entry.class, Class::AquaticAcute | Class::AquaticChronic);
        match entry.m_factor {
            Some(m) if !aquatic || m.is_nan() || m < 1.0 => {
                at.wrong(&format!("{key}.m_factor"), format!("{m}: 1, 10, 100 …, of aquatic classes"));
            }
            _ => {}
        }
    }
    for row in &hazard.toxicity {
        at.source("hazard.toxicity", &row.source);
        let unit = row.route.unit();
        if row.unit != unit || row.value.is_nan() || row.value <= 0.0 {
            let what = format!("`{} {}`: a figure above 0 in {unit} wanted for this route", row.value, row.unit);
            at.wrong("hazard.toxicity", what);
        }
    }
    check_doses(at, hazard);
    if let Some(extreme) = &hazard.extreme_ph {
        at.source("hazard.extreme_ph", &extreme.source);
        at.percent("hazard.extreme_ph.from", extreme.from);
        if extreme.ph > 2.0 && extreme.ph < 11.5 {
            at.wrong("hazard.extreme_ph.ph", format!("{} is not extreme: to 2, or from 11.5", extreme.ph));
        }
    }
    for row in &hazard.supplements {
        at.source("hazard.supplement", &row.source);
        at.percent("hazard.supplement.from", row.from);
    }
}

/// Each class of acute toxicity has a dose, and each dose the category of its class.
///
/// The sums count doses and never classes: a class without one would be lost in the very bottle that it was read from.
fn check_doses(at: &mut Faults<'_>, hazard: &Hazard) {
    for entry in &hazard.classes {
        if !matches!(entry.class, Class::AcuteOral | Class::AcuteDermal | Class::AcuteInhaled) {
            continue;
        }
        let key = format!("hazard.class.{}", entry.class);
        let rows: Vec<_> = hazard.toxicity.iter().filter(|row| row.route.class() == entry.class).collect();
        if rows.is_empty() {
            let what = "no `toxicity` of a fitting route: give the dose, or the table's point estimate with \
                `converted = true`";
            at.wrong(&key, what);
        }
        for row in rows.into_iter().filter(|row| row.category() != Some(entry.category) && !entry.minimum) {
            let found = row.category().map_or("no category".to_owned(), |found| format!("category {found}"));
            let why = if row.converted { "as a converted figure" } else { "by the bounds of the table" };
            let what = format!(
                "`{} {}` ({}) is {found} {why}; the class says {}",
                row.value,
                row.unit,
                row.route.words(),
                entry.category
            );
            at.wrong("hazard.toxicity", what);
        }
    }
}
