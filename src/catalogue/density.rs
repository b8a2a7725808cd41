//! How the density of a solution is had, and how its table is read.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde::de::IgnoredAny;

/// How the density of a solution is had.
#[derive(Debug, Clone, Deserialize)]
#[serde(try_from = "Told")]
pub enum Density {
    /// Laliberté 2009: apparent volumes of one or more anhydrous solutes mixed with water.
    Laliberte {
        /// The solutes that the reagent brings into solution.
        solutes: Vec<Solute>,
        /// Half-width of the band, relative.
        spread: f64,
    },
    /// `a + b w + c w²` in g/mL at 20 °C, `w` the mass fraction; other temperatures by the ratio of water.
    Polynomial {
        /// `a`, `b`, `c`.
        coefficients: [f64; 3],
        /// The formula whose mass fraction `w` is.
        of: String,
        /// Largest `w` of the data.
        w_max: f64,
        /// Lowest and highest temperature allowed, °C.
        range_c: [f64; 2],
        /// Half-width of the band, relative.
        spread: f64,
        /// Key in `hazards/sources.toml`.
        source: String,
    },
    /// Points of mass per cent and g/mL at 20 °C, and factors for other temperatures, both interpolated linearly.
    Points {
        /// `[% w/w, g/mL]`, rising.
        points: Vec<[f64; 2]>,
        /// `[°C, factor]`, rising.
        temperature: Vec<[f64; 2]>,
        /// Half-width of the band, relative.
        spread: f64,
        /// Key in `hazards/sources.toml`.
        source: String,
    },
}

/// One anhydrous solute of the Laliberté model.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solute {
    /// Its formula.
    pub formula: String,
    /// How many of it one formula unit of the reagent brings.
    pub per_formula: f64,
    /// `c0` to `c4`.
    pub c: [f64; 5],
    /// Lowest and highest temperature of the data, °C.
    pub range_c: [f64; 2],
    /// Largest mass fraction of the data.
    pub w_max: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// What a complaint says that would be none if the model were another.
pub(super) const OF_MODEL: &str = " of this model";

/// The table as it stands: every key of every model. Whether those of its own model are there, and no others, is looked at
/// afterwards, so that the reader knows where it stands all the time.
#[derive(Deserialize)]
struct Told {
    model: Model,
    solutes: Option<Vec<Solute>>,
    coefficients: Option<[f64; 3]>,
    points: Option<Vec<[f64; 2]>>,
    temperature: Option<Vec<[f64; 2]>>,
    of: Option<String>,
    w_max: Option<f64>,
    range_c: Option<[f64; 2]>,
    spread: Option<f64>,
    source: Option<String>,
    #[serde(flatten)]
    others: BTreeMap<String, IgnoredAny>,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Model {
    Laliberte,
    Polynomial,
    Points,
}

impl Model {
    fn keys(self) -> &'static [&'static str] {
        match self {
            Model::Laliberte => &["solutes", "spread"],
            Model::Polynomial => &["coefficients", "of", "w_max", "range_c", "spread", "source"],
            Model::Points => &["points", "temperature", "spread", "source"],
        }
    }
}

impl Told {
    /// The first key that its model has not.
    fn stranger(&self) -> Option<&str> {
        let told = [
            ("solutes", self.solutes.is_some()),
            ("coefficients", self.coefficients.is_some()),
            ("points", self.points.is_some()),
            ("temperature", self.temperature.is_some()),
            ("of", self.of.is_some()),
            ("w_max", self.w_max.is_some()),
            ("range_c", self.range_c.is_some()),
            ("spread", self.spread.is_some()),
            ("source", self.source.is_some()),
        ];
        let strange = told.into_iter().find(|(key, is_told)| *is_told && !self.model.keys().contains(key));
        strange.map(|(key, _)| key).or_else(|| self.others.keys().next().map(String::as_str))
    }
}

impl TryFrom<Told> for Density {
    type Error = String;

    /// In the words of a derived reader, which the search for faults knows.
    fn try_from(told: Told) -> Result<Density, String> {
        if let Some(key) = told.stranger() {
            let accepted: Vec<String> = told.model.keys().iter().map(|key| format!("`{key}`")).collect();
            return Err(format!("unknown field `{key}`{OF_MODEL}, expected one of {}", accepted.join(", ")));
        }
        let missing = |key: &str| format!("missing field `{key}`{OF_MODEL}");
        let spread = told.spread.ok_or_else(|| missing("spread"))?;
        let source = told.source.ok_or_else(|| missing("source"));
        Ok(match told.model {
            Model::Laliberte => Density::Laliberte { solutes: told.solutes.ok_or_else(|| missing("solutes"))?, spread },
            Model::Polynomial => Density::Polynomial {
                coefficients: told.coefficients.ok_or_else(|| missing("coefficients"))?,
                of: told.of.ok_or_else(|| missing("of"))?,
                w_max: told.w_max.ok_or_else(|| missing("w_max"))?,
                range_c: told.range_c.ok_or_else(|| missing("range_c"))?,
                spread,
                source: source?,
            },
            Model::Points => Density::Points {
                points: told.points.ok_or_else(|| missing("points"))?,
                temperature: told.temperature.ok_or_else(|| missing("temperature"))?,
                spread,
                source: source?,
            },
        })
    }
}
