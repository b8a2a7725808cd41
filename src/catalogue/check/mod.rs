//! The rules that the texts of `hazards/` must keep.
//!
//! Called once when the catalogue is read; each breach names the file and the key.

mod care;
mod dip;
mod hatching;
mod label;
mod label_size;
mod loose;
mod reagent;

use std::collections::{BTreeMap, BTreeSet};

use super::assay::NEEDED;
use super::dip::KEEPERS_OWN;
use super::{
    CatalogueError, Container, Dip, Figure, Grade, Light, Measuring, Method, Optics, Reagent, Seen, Source, SourceKind,
    Test, problem,
};
pub use care::promise;
pub(super) use care::{apart, care, cared_for, disposal, neutralise};
pub(super) use dip::{book, sequence};
pub(super) use hatching::hatching;
pub(super) use label::{labels, named, statements};
pub(super) use label_size::label_sizes;
pub(super) use loose::loose;
pub(super) use reagent::reagent;

type Sources = BTreeMap<String, Source>;

/// Every source says how it was had, and the three marks exist.
pub(in crate::catalogue) fn sources(file: &str, sources: &Sources) -> Result<(), CatalogueError> {
    for key in ["memory", "common-practice", "judgement"] {
        if !sources.contains_key(key) {
            return Err(problem(file, key, "this source must be there"));
        }
    }
    for (key, source) in sources {
        let fits = match source.kind {
            SourceKind::Memory => source.seen == Seen::Recalled,
            SourceKind::Judgement | SourceKind::Practice | SourceKind::Keeper => source.seen == Seen::Judged,
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

/// Daylight, walls and places.
pub(in crate::catalogue) fn optics(file: &str, optics: &Optics, sources: &Sources) -> Result<(), CatalogueError> {
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
pub(in crate::catalogue) fn methods(
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
pub(in crate::catalogue) fn reagents_together(reagents: &BTreeMap<String, Reagent>) -> Result<(), CatalogueError> {
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
pub(in crate::catalogue) fn dips(
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
        ("household_spoon", &measuring.household_spoon),
        ("filling", &measuring.filling),
        ("weighed_drop", &measuring.weighed_drop),
    ] {
        at.figure(&format!("measuring.{key}"), figure, "relative sd", 0.0..=0.5)?;
    }
    let mut keys = BTreeSet::new();
    for dip in dips {
        let key = |part: &str| format!("dip.{}.{part}", dip.key);
        if !keys.insert(&dip.key) {
            return Err(problem(file, &key("key"), "stands twice"));
        }
        self::dip(file, dip, reagents, sources)?;
    }
    Ok(())
}

/// One dip of the book, shipped or of the keeper's own.
pub(in crate::catalogue) fn dip(
    file: &str,
    dip: &Dip,
    reagents: &BTreeMap<String, Reagent>,
    sources: &Sources,
) -> Result<(), CatalogueError> {
    let at = Place { file, sources };
    let key = |part: &str| format!("dip.{}.{part}", dip.key);
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
        let fits = match evidence.grade {
            Grade::Published => sources[&evidence.source].mark().is_none(),
            Grade::CommonPractice => sources[&evidence.source].mark().is_some() && evidence.source != KEEPERS_OWN,
            Grade::Keeper => evidence.source == KEEPERS_OWN,
        };
        if !fits {
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

/// Two columns of at least two rows, the first one rising.
fn rising(rows: &[[f64; 2]]) -> bool {
    rows.len() > 1 && rows.windows(2).all(|pair| pair[0][0] < pair[1][0])
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
