//! The rules that the texts of `hazards/` must keep.
//!
//! Called once when the catalogue is read; each breach names the file and the key.

use std::collections::{BTreeMap, BTreeSet};

use super::assay::NEEDED;
use super::{
    CatalogueError, Choice, Class, Container, Decay, Density, Dip, Element, Figure, Form, Grade, Hazard, Law, Light,
    Measuring, Method, Optics, Reagent, Route, Seen, Solution, Source, SourceKind, Statement, Test, problem,
};

type Sources = BTreeMap<String, Source>;

/// Every source says how it was had, and the three marks exist.
pub(super) fn sources(file: &str, sources: &Sources) -> Result<(), CatalogueError> {
    for key in ["memory", "common-practice", "judgement"] {
        if !sources.contains_key(key) {
            return Err(problem(file, key, "this source must be there"));
        }
    }
    for (key, source) in sources {
        let fits = match source.kind {
            SourceKind::Memory => source.seen == Seen::Recalled,
            SourceKind::Judgement | SourceKind::Practice => source.seen == Seen::Judged,
            SourceKind::Definition => true,
            _ => matches!(source.seen, Seen::Read | Seen::Quoted | Seen::Computed),
        };
        if !fits {
            return Err(problem(file, key, "`seen` does not fit `kind`: recalled and judged things are no papers"));
        }
        if source.title.trim().is_empty() {
            return Err(problem(file, key, "`title` is empty"));
        }
    }
    Ok(())
}

/// One reagent file by itself.
pub(super) fn reagent(file: &str, reagent: &Reagent, sources: &Sources) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let stem = file.rsplit('/').next().unwrap_or(file).trim_end_matches(".toml");
    if stem != reagent.key {
        return Err(problem(file, "key", format!("`{}` is not the file's name `{stem}`", reagent.key)));
    }
    if reagent.code.len() < 2 || reagent.code.len() > 3 || !reagent.code.chars().all(|c| c.is_ascii_uppercase()) {
        return Err(problem(file, "code", format!("`{}` is not two or three capital letters", reagent.code)));
    }
    at.source("cas", &reagent.cas.source)?;
    if !cas_number_is_valid(&reagent.cas.value) {
        return Err(problem(file, "cas", format!("`{}` fails its check digit", reagent.cas.value)));
    }
    at.source("formula", &reagent.formula.source)?;
    if reagent.forms.is_empty() {
        return Err(problem(file, "forms", "name at least one of `solid`, `solution`"));
    }
    if let Some(solid) = &reagent.solid {
        at.figure("solid.purity", &solid.purity, "% w/w", 0.0..=100.0)?;
        if solid.spooned.is_empty() {
            return Err(problem(file, "solid.spooned", "give at least one kind"));
        }
        for spooned in &solid.spooned {
            at.figure(&format!("solid.spooned.{}", spooned.kind), &spooned.density, "g/mL", 0.1..=4.0)?;
            if spooned.density.relative_sd.is_none() {
                return Err(problem(file, "solid.spooned", "`relative_sd` is missing"));
            }
        }
    } else if reagent.forms.contains(&Form::Solid) {
        return Err(problem(file, "solid", "is missing, though `forms` names it"));
    }
    match &reagent.solution {
        Some(solution) => check_solution(&at, solution)?,
        None if reagent.forms.contains(&Form::Solution) => {
            return Err(problem(file, "solution", "is missing, though `forms` names it"));
        }
        None => {}
    }
    for form in &reagent.forms {
        if !reagent.decay.iter().any(|decay| decay.form == *form) {
            return Err(problem(file, "decay", format!("no entry for the form `{form}`")));
        }
    }
    for decay in &reagent.decay {
        check_decay(&at, decay)?;
    }
    for taken in &reagent.taken_for {
        at.source("taken_for", &taken.source)?;
    }
    reagent.hazard.as_ref().map_or(Ok(()), |hazard| check_hazard(&at, hazard))
}

fn check_hazard(at: &Place, hazard: &Hazard) -> Result<(), CatalogueError> {
    let file = at.file;
    at.source("hazard", &hazard.source)?;
    let percent = |key: &str, value: f64| {
        if (0.0..=100.0).contains(&value) {
            return Ok(());
        }
        Err(problem(file, key, format!("{value} is no per cent: 0 to 100")))
    };
    for entry in &hazard.classes {
        let key = format!("hazard.class.{}", entry.class);
        at.source(&key, &entry.source)?;
        for limit in &entry.limits {
            at.source(&format!("{key}.limit"), &limit.source)?;
            percent(&format!("{key}.limit.from"), limit.from)?;
            percent(&format!("{key}.limit.below"), limit.below.unwrap_or(100.0))?;
            if limit.below.is_some_and(|below| below <= limit.from) {
                return Err(problem(file, &key, "a limit ends (`below`) before it begins (`from`)"));
            }
        }
        let aquatic = matches!(entry.class, Class::AquaticAcute | Class::AquaticChronic);
        match entry.m_factor {
            Some(m) if !aquatic || m.is_nan() || m < 1.0 => {
                return Err(problem(
                    file,
                    &format!("{key}.m_factor"),
                    format!("{m}: 1, 10, 100 …, of aquatic classes"),
                ));
            }
            _ => {}
        }
    }
    for row in &hazard.toxicity {
        at.source("hazard.toxicity", &row.source)?;
        let unit = match row.route {
            Route::Oral | Route::Dermal => "mg/kg",
            Route::Gas => "ppmV",
            Route::Vapour | Route::Mist => "mg/L",
        };
        if row.unit != unit || row.value.is_nan() || row.value <= 0.0 {
            let what = format!("`{} {}`: a figure above 0 in {unit} wanted for this route", row.value, row.unit);
            return Err(problem(file, "hazard.toxicity", what));
        }
    }
    if let Some(extreme) = &hazard.extreme_ph {
        at.source("hazard.extreme_ph", &extreme.source)?;
        percent("hazard.extreme_ph.from", extreme.from)?;
        if extreme.ph > 2.0 && extreme.ph < 11.5 {
            return Err(problem(
                file,
                "hazard.extreme_ph.ph",
                format!("{} is not extreme: to 2, or from 11.5", extreme.ph),
            ));
        }
    }
    for row in &hazard.supplements {
        at.source("hazard.supplement", &row.source)?;
        percent("hazard.supplement.from", row.from)?;
    }
    Ok(())
}

/// Every statement once, and those that reagents name.
pub(super) fn statements(
    file: &str,
    statements: &[Statement],
    reagents: &BTreeMap<String, Reagent>,
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let mut codes = BTreeSet::new();
    for statement in statements {
        at.source(&statement.code, &statement.source)?;
        at.source(&statement.code, &statement.source_es)?;
        if statement.en.trim().is_empty() || statement.es.trim().is_empty() {
            return Err(problem(file, &statement.code, "the words of both languages are wanted"));
        }
        if !codes.insert(statement.code.as_str()) {
            return Err(problem(file, &statement.code, "this code is there twice"));
        }
    }
    for (key, hazard) in reagents.iter().filter_map(|(key, reagent)| Some((key, reagent.hazard.as_ref()?))) {
        let named = hazard.classes.iter().filter_map(|entry| entry.statement.as_ref());
        let named = named.chain(hazard.supplements.iter().map(|row| &row.statement));
        for code in named {
            if !codes.contains(code.as_str()) {
                return Err(problem(file, code, format!("is missing, though `{key}` names it")));
            }
        }
    }
    Ok(())
}

/// Every code of the label table has its words.
pub(super) fn labels(
    file: &str,
    elements: &[Element],
    choice: &Choice,
    statements: &[Statement],
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let known = |code: &str| statements.iter().any(|statement| statement.code == code);
    let mut seen = BTreeSet::new();
    for row in elements {
        let key =
            format!("{} {}", row.class, row.categories.iter().map(ToString::to_string).collect::<Vec<_>>().join("/"));
        at.source(&key, &row.source)?;
        at.source(&key, &row.precautions_source)?;
        for category in &row.categories {
            if !seen.insert((row.class, *category)) {
                return Err(problem(file, &key, format!("category {category} is there twice")));
            }
        }
        if let Some(code) = std::iter::once(&row.statement).chain(&row.precautions).find(|code| !known(code)) {
            return Err(problem(file, &key, format!("`{code}` has no words in statements.toml")));
        }
    }
    at.source("choice", &choice.source)?;
    if choice.most == 0 || choice.most_in_danger < choice.most {
        return Err(problem(file, "choice.most", "at least 1, and in danger no fewer"));
    }
    let ordered = elements.iter().flat_map(|row| &row.precautions);
    for code in ordered {
        if !choice.order.contains(code) {
            return Err(problem(file, "choice.order", format!("`{code}` has no place in the order")));
        }
    }
    Ok(())
}

/// Two columns of at least two rows, the first one rising.
fn rising(rows: &[[f64; 2]]) -> bool {
    rows.len() > 1 && rows.windows(2).all(|pair| pair[0][0] < pair[1][0])
}

fn check_solution(at: &Place, solution: &Solution) -> Result<(), CatalogueError> {
    if let Some(strongest) = &solution.strongest {
        at.figure("solution.strongest", strongest, "g/L", 1.0..=3000.0)?;
    }
    let mut bound = 0.0;
    for row in &solution.bare_percent {
        at.source("solution.bare_percent", &row.source)?;
        if row.up_to <= bound {
            return Err(problem(at.file, "solution.bare_percent", "`up_to` must rise from row to row"));
        }
        bound = row.up_to;
    }
    if bound != 100.0 {
        return Err(problem(at.file, "solution.bare_percent", "the last row must hold `up_to = 100`"));
    }
    let spread = match &solution.density {
        Some(Density::Laliberte { solutes, spread }) => {
            for solute in solutes {
                at.source("solution.density.solutes", &solute.source)?;
            }
            *spread
        }
        Some(Density::Polynomial { source, spread, .. }) => {
            at.source("solution.density", source)?;
            *spread
        }
        Some(Density::Points { points, temperature, source, spread }) => {
            at.source("solution.density", source)?;
            if !rising(points) || !rising(temperature) {
                return Err(problem(at.file, "solution.density", "two rising columns of at least two rows wanted"));
            }
            *spread
        }
        None => 0.001,
    };
    if !(spread > 0.0 && spread < 0.1) {
        return Err(problem(at.file, "solution.density.spread", format!("{spread} is not between 0 and 0.1")));
    }
    if let Some(solubility) = &solution.solubility {
        at.source("solution.solubility", &solubility.source)?;
        if !rising(&solubility.points) {
            return Err(problem(at.file, "solution.solubility.points", "at least two rising temperatures wanted"));
        }
        if !(solubility.spread > 0.0 && solubility.spread < 0.5) {
            return Err(problem(at.file, "solution.solubility.spread", "must lie between 0 and 0.5"));
        }
    }
    Ok(())
}

fn check_decay(at: &Place, decay: &Decay) -> Result<(), CatalogueError> {
    let file = at.file;
    at.source("decay", &decay.source)?;
    if decay.start.is_empty() {
        return Err(problem(file, "decay.start", "give at least one condition"));
    }
    for start in &decay.start {
        at.figure("decay.start.factor", &start.factor, "1", 0.5..=1.5)?;
        if !(start.sd_ln > 0.0 && start.sd_ln < 1.0) {
            return Err(problem(file, "decay.start.sd_ln", "must lie between 0 and 1"));
        }
    }
    let unit = match decay.law {
        Law::Keeps | Law::Unknown => {
            return if decay.prior.is_empty() && decay.activation.is_none() {
                Ok(())
            } else {
                Err(problem(file, "decay.prior", "a law without a rate takes no prior and no activation energy"))
            };
        }
        Law::FirstOrder => "1/y",
        Law::SecondOrderHypochlorite => "1",
    };
    match (&decay.activation, decay.law) {
        (Some(activation), Law::FirstOrder) => at.figure("decay.activation", activation, "kJ/mol", 5.0..=200.0)?,
        (None, Law::FirstOrder) => return Err(problem(file, "decay.activation", "is missing")),
        (Some(_), _) => return Err(problem(file, "decay.activation", "this law brings its own")),
        (None, _) => {}
    }
    if decay.prior.is_empty() {
        return Err(problem(file, "decay.prior", "a law with a rate needs at least one prior"));
    }
    for prior in &decay.prior {
        let key = format!("decay.prior.{}", prior.condition.word());
        at.figure(&key, &prior.median, unit, 1e-6..=1e4)?;
        if !(prior.sd_ln > 0.0 && prior.sd_ln < 3.0) {
            return Err(problem(file, &key, "`sd_ln` must lie between 0 and 3"));
        }
        if let Some(activation) = &prior.activation {
            at.figure(&format!("{key}.activation"), activation, "kJ/mol", 5.0..=200.0)?;
        }
        if let Some(other) = &prior.or {
            at.figure(&format!("{key}.or.share"), &other.share, "1", 0.0..=0.5)?;
            at.figure(&format!("{key}.or.median"), &other.median, unit, 1e-6..=1e4)?;
            if !(other.sd_ln > 0.0 && other.sd_ln < 3.0) {
                return Err(problem(file, &key, "`or.sd_ln` must lie between 0 and 3"));
            }
        }
    }
    if let Some(factor) = &decay.in_light {
        at.figure("decay.in_light", factor, "1", 1.0..=1e3)?;
    }
    if let Some(photolysis) = &decay.photolysis {
        if decay.law != Law::FirstOrder {
            return Err(problem(file, "decay.photolysis", "is computed beside the law `first-order` alone"));
        }
        at.source("decay.photolysis", &photolysis.source)?;
        at.figure("decay.photolysis.quantum_yield", &photolysis.quantum_yield, "1", 0.0..=4.0)?;
        if !rising(&photolysis.absorption) || photolysis.absorption.iter().any(|[_, size]| *size <= 0.0) {
            return Err(problem(file, "decay.photolysis.absorption", "rising wavelengths and sizes above 0 wanted"));
        }
    }
    Ok(())
}

/// Daylight, walls and places.
pub(super) fn optics(file: &str, optics: &Optics, sources: &Sources) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    at.source("spectrum", &optics.spectrum.source)?;
    at.source("glass", &optics.glass.source)?;
    if !rising(&optics.spectrum.bins) || !rising(&optics.glass.extinction) {
        return Err(problem(file, "spectrum", "wavelengths must rise, here and in `glass`"));
    }
    at.figure("glass.window_mm", &optics.glass.window_mm, "mm", 1.0..=50.0)?;
    at.figure("room.per_lux", &optics.room.per_lux, "1/lx", 0.0..=1e-3)?;
    at.figure("room.hours", &optics.room.hours, "h/d", 0.0..=24.0)?;
    at.figure("spread.geometry", &optics.spread.geometry, "1", 0.0..=2.0)?;
    at.figure("bottle.slenderness", &optics.bottle.slenderness, "1", 0.5..=10.0)?;
    for container in Container::ALL {
        let rows: Vec<_> = optics.walls.iter().filter(|wall| wall.word == container).collect();
        let key = format!("container.{}", container.word());
        let [wall] = rows[..] else { return Err(problem(file, &key, "one row wanted")) };
        at.figure(&key, &wall.transmission, "1", 0.0..=1.0)?;
        match (&wall.wall_mm, wall.glass) {
            (Some(thickness), true) => at.figure(&key, thickness, "mm", 0.1..=20.0)?,
            (None, false) => {}
            _ => return Err(problem(file, &key, "`wall_mm` belongs to `glass = true`")),
        }
    }
    for light in Light::ALL {
        let rows: Vec<_> = optics.places.iter().filter(|place| place.word == light).collect();
        let key = format!("place.{}", light.word());
        let [place] = rows[..] else { return Err(problem(file, &key, "one row wanted")) };
        if light.is_sunny() != place.sun_hours.is_some() || (place.lux.is_some() && place.sun_hours.is_some()) {
            return Err(problem(file, &key, "`sun_hours` belongs to sunny places, `lux` to rooms"));
        }
        if let Some(hours) = &place.sun_hours {
            at.figure(&key, hours, "h/d", 0.0..=16.0)?;
        }
        if let Some(lux) = &place.lux {
            at.figure(&key, lux, "lx", 0.0..=1e5)?;
        }
    }
    Ok(())
}

/// Tests of strength.
pub(super) fn methods(
    file: &str,
    methods: &[Method],
    reagents: &BTreeMap<String, Reagent>,
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    for (test, needed) in NEEDED {
        let key = |part: &str| format!("method.{}.{part}", test.word());
        let rows: Vec<_> = methods.iter().filter(|method| method.word == test).collect();
        let [method] = rows[..] else { return Err(problem(file, &key("word"), "one entry wanted")) };
        at.source(&key("source"), &method.source)?;
        for suits in &method.suits {
            if !reagents.contains_key(&suits.reagent) {
                return Err(problem(file, &key("suits"), format!("no reagent `{}`", suits.reagent)));
            }
            if (test == Test::Iodometric) != suits.electrons.is_some() {
                return Err(problem(file, &key("suits.electrons"), "belongs to the iodometric titration"));
            }
        }
        for error in &method.errors {
            at.source(&key("errors"), &error.source)?;
            if !(error.value > 0.0 && error.value.is_finite()) {
                return Err(problem(file, &key("errors"), format!("`{}` must be above 0", error.of)));
            }
        }
        let missing = needed.iter().find(|name| !method.errors.iter().any(|error| error.of == **name));
        if let Some(name) = missing {
            return Err(problem(file, &key("errors"), format!("`{name}` is missing")));
        }
        if method.steps.is_empty() || method.cautions.is_empty() {
            return Err(problem(file, &key("steps"), "`steps` and `cautions` each need a line"));
        }
    }
    Ok(())
}

/// What only shows when all reagents are known: shared codes and references.
pub(super) fn reagents_together(reagents: &BTreeMap<String, Reagent>) -> Result<(), CatalogueError> {
    let mut codes = BTreeSet::new();
    for reagent in reagents.values() {
        let file = format!("hazards/reagents/{}.toml", reagent.key);
        if !codes.insert(&reagent.code) {
            return Err(problem(&file, "code", format!("`{}` is taken by another reagent", reagent.code)));
        }
        for other in reagent.taken_for.iter().filter_map(|taken| taken.reagent.as_ref()) {
            if !reagents.contains_key(other) {
                return Err(problem(&file, "taken_for.reagent", format!("no reagent `{other}`")));
            }
        }
    }
    Ok(())
}

/// The dip book.
pub(super) fn dips(
    file: &str,
    measuring: &Measuring,
    dips: &[Dip],
    reagents: &BTreeMap<String, Reagent>,
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    for (key, figure) in [
        ("vessel", &measuring.vessel),
        ("jug", &measuring.jug),
        ("syringe", &measuring.syringe),
        ("scale", &measuring.scale),
        ("spoon", &measuring.spoon),
        ("drop", &measuring.drop),
        ("unknown_spoon", &measuring.unknown_spoon),
    ] {
        at.figure(&format!("measuring.{key}"), figure, "relative sd", 0.0..=0.5)?;
    }
    let mut keys = BTreeSet::new();
    for dip in dips {
        let key = |part: &str| format!("dip.{}.{part}", dip.key);
        if !keys.insert(&dip.key) {
            return Err(problem(file, &key("key"), "stands twice"));
        }
        if !reagents.contains_key(&dip.reagent) {
            return Err(problem(file, &key("reagent"), format!("no reagent `{}`", dip.reagent)));
        }
        at.source(&key("target.source"), &dip.target.source)?;
        at.source(&key("target.band_source"), &dip.target.band_source)?;
        at.source(&key("minutes"), &dip.minutes.source)?;
        if !(dip.minutes.low > 0.0 && dip.minutes.low <= dip.minutes.high) {
            return Err(problem(file, &key("minutes"), "`low` must be above 0 and not above `high`"));
        }
        if dip.not_shown.is_empty() || dip.evidence.is_empty() || dip.cautions.is_empty() {
            return Err(problem(file, &key("evidence"), "`evidence`, `not_shown` and `cautions` each need a line"));
        }
        for evidence in &dip.evidence {
            at.source(&key("evidence"), &evidence.source)?;
            let marked = sources[&evidence.source].mark().is_some();
            if marked == (evidence.grade == Grade::Published) {
                return Err(problem(file, &key("evidence"), "`grade` does not fit the source's kind"));
            }
        }
        if let Some(stop) = &dip.stop {
            if !reagents.contains_key(&stop.reagent) {
                return Err(problem(file, &key("stop.reagent"), format!("no reagent `{}`", stop.reagent)));
            }
            at.figure(&key("stop.planned"), &stop.planned, "g/g", 0.01..=100.0)?;
            at.figure(&key("stop.theory"), &stop.theory, "g/g", 0.01..=100.0)?;
        }
    }
    Ok(())
}

struct Place<'a> {
    file: &'a str,
    sources: &'a Sources,
}

impl Place<'_> {
    fn source(&self, key: &str, source: &str) -> Result<(), CatalogueError> {
        if self.sources.contains_key(source) {
            Ok(())
        } else {
            Err(problem(self.file, key, format!("no source `{source}` in hazards/sources.toml")))
        }
    }

    fn figure(
        &self,
        key: &str,
        figure: &Figure,
        unit: &str,
        range: std::ops::RangeInclusive<f64>,
    ) -> Result<(), CatalogueError> {
        self.source(key, &figure.source)?;
        if figure.unit != unit {
            return Err(problem(self.file, key, format!("unit `{}` found, `{unit}` wanted", figure.unit)));
        }
        if !range.contains(&figure.value) {
            let (low, high) = (range.start(), range.end());
            return Err(problem(self.file, key, format!("{} is not between {low} and {high}", figure.value)));
        }
        Ok(())
    }
}

/// True if a CAS registry number's check digit is right: `7722-84-1`, 1·4 + 2·8 + 3·2 + ... ends in 1.
fn cas_number_is_valid(number: &str) -> bool {
    let parts: Vec<&str> = number.split('-').collect();
    let [first, second, check] = parts[..] else { return false };
    if !(2..=7).contains(&first.len()) || second.len() != 2 || check.len() != 1 {
        return false;
    }
    let digits: Option<Vec<u32>> = first.chars().chain(second.chars()).map(|c| c.to_digit(10)).collect();
    let (Some(digits), Some(check)) = (digits, check.chars().next().and_then(|c| c.to_digit(10))) else {
        return false;
    };
    digits.iter().rev().zip(1..).map(|(digit, weight)| digit * weight).sum::<u32>() % 10 == check
}
