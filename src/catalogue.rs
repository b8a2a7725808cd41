//! What `hazards/` says: reagents, dips and the sources behind every figure.
//!
//! The texts are compiled in, read once and checked whole: a wrong unit, an unknown source or a misspelt key is
//! reported with the file and the key, never skipped. Nothing here computes; `chem`, `decay` and `dip` do.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::OnceLock;

use serde::Deserialize;
use thiserror::Error;

mod check;

const REAGENT_FILES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/reagents.rs"));
const SOURCES_FILE: (&str, &str) = ("hazards/sources.toml", include_str!("../hazards/sources.toml"));
const DIPS_FILE: (&str, &str) = ("hazards/dips.toml", include_str!("../hazards/dips.toml"));

/// Everything `hazards/` holds, in the order of its keys.
#[derive(Debug)]
pub struct Catalogue {
    reagents: BTreeMap<String, Reagent>,
    dips: Vec<Dip>,
    measuring: Measuring,
    sources: BTreeMap<String, Source>,
}

/// What is wrong with a catalogue text.
#[derive(Debug, Error, PartialEq)]
#[error("{file}: {key}: {what}")]
pub struct CatalogueError {
    /// The file, as named in the repository.
    pub file: String,
    /// The key inside the file, dotted; for a text that is not TOML the line.
    pub key: String,
    /// What is wrong and what would be accepted.
    pub what: String,
}

impl Catalogue {
    /// The compiled-in catalogue, read and checked on first use.
    ///
    /// # Errors
    /// The first [`CatalogueError`] found; a released program never has one, because a test reads every file.
    pub fn shipped() -> Result<&'static Catalogue, CatalogueError> {
        static SHIPPED: OnceLock<Result<Catalogue, CatalogueError>> = OnceLock::new();
        SHIPPED.get_or_init(|| Catalogue::read(SOURCES_FILE, REAGENT_FILES, DIPS_FILE)).as_ref().map_err(|error| {
            CatalogueError { file: error.file.clone(), key: error.key.clone(), what: error.what.clone() }
        })
    }

    /// Reads a catalogue from texts, each given with the file name that errors should show.
    ///
    /// # Errors
    /// The first [`CatalogueError`] found, in the order sources, reagents, dips.
    pub fn read(
        sources: (&str, &str),
        reagents: &[(&str, &str)],
        dips: (&str, &str),
    ) -> Result<Catalogue, CatalogueError> {
        let sources_file = sources.0;
        let sources: BTreeMap<String, Source> = parse(sources)?;
        check::sources(sources_file, &sources)?;
        let mut found = BTreeMap::new();
        for (file, text) in reagents {
            let reagent: Reagent = parse((file, text))?;
            check::reagent(file, &reagent, &sources)?;
            let key = reagent.key.clone();
            if found.insert(key.clone(), reagent).is_some() {
                return Err(problem(file, "key", format!("`{key}` is taken by another file")));
            }
        }
        check::reagents_together(&found)?;
        let DipFile { measuring, dip } = parse(dips)?;
        check::dips(dips.0, &measuring, &dip, &found, &sources)?;
        Ok(Catalogue { reagents: found, dips: dip, measuring, sources })
    }

    /// Every reagent, in the order of keys.
    pub fn reagents(&self) -> impl Iterator<Item = &Reagent> {
        self.reagents.values()
    }

    /// The reagent with this key.
    #[must_use]
    pub fn reagent(&self, key: &str) -> Option<&Reagent> {
        self.reagents.get(key)
    }

    /// The reagents that bear this key, name or other name, spaces, hyphens and capitals aside. More than one where
    /// the trade uses one word for several ("alum").
    #[must_use]
    pub fn reagents_called(&self, word: &str) -> Vec<&Reagent> {
        let wanted = plain_word(word);
        if let Some(exact) = self.reagents.values().find(|reagent| plain_word(&reagent.key) == wanted) {
            return vec![exact];
        }
        self.reagents
            .values()
            .filter(|reagent| {
                plain_word(&reagent.name) == wanted || reagent.also.iter().any(|also| plain_word(also) == wanted)
            })
            .collect()
    }

    /// Every dip, in the order of the book.
    #[must_use]
    pub fn dips(&self) -> &[Dip] {
        &self.dips
    }

    /// The dip with this key.
    #[must_use]
    pub fn dip(&self, key: &str) -> Option<&Dip> {
        self.dips.iter().find(|dip| dip.key == key)
    }

    /// How exactly things are measured out at a bench.
    #[must_use]
    pub fn measuring(&self) -> &Measuring {
        &self.measuring
    }

    /// Every source with its key.
    pub fn sources(&self) -> impl Iterator<Item = (&str, &Source)> {
        self.sources.iter().map(|(key, source)| (key.as_str(), source))
    }

    /// The source with this key.
    #[must_use]
    pub fn source(&self, key: &str) -> Option<&Source> {
        self.sources.get(key)
    }
}

/// Lower case, letters and digits only: the form in which names are compared.
fn plain_word(word: &str) -> String {
    word.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

fn parse<T: for<'de> Deserialize<'de>>((file, text): (&str, &str)) -> Result<T, CatalogueError> {
    toml::from_str(text).map_err(|error| {
        let line = error.span().map_or(1, |span| text[..span.start].lines().count().max(1));
        problem(file, &format!("line {line}"), error.message().to_owned())
    })
}

fn problem(file: &str, key: &str, what: impl Into<String>) -> CatalogueError {
    CatalogueError { file: file.to_owned(), key: key.to_owned(), what: what.into() }
}

/// Where a figure comes from.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// What sort of thing it is.
    pub kind: SourceKind,
    /// Author, title and year, enough to find it again.
    pub title: String,
    /// Page, table or section.
    #[serde(default)]
    pub place: Option<String>,
    /// How we had it.
    pub seen: Seen,
}

/// What sort of thing a source is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SourceKind {
    /// A paper, thesis or report.
    Paper,
    /// A handbook or a data collection.
    Handbook,
    /// A standard, pharmacopoeia or regulation.
    Standard,
    /// A definition or arithmetic on other entries.
    Definition,
    /// A public page without an author we could weigh.
    Page,
    /// A rule of the trade without source.
    Practice,
    /// Our own choice.
    Judgement,
    /// Recalled, not seen.
    Memory,
}

/// How a source was had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// The text or file was read.
    Read,
    /// Quoted by something that was read.
    Quoted,
    /// Computed here.
    Computed,
    /// Recalled, not seen.
    Recalled,
    /// Chosen here, or told without source.
    Judged,
}

impl Source {
    /// The mark printed beside a figure that nobody here has read: `memory`, `judgement` or `common practice`.
    #[must_use]
    pub fn mark(&self) -> Option<&'static str> {
        match self.kind {
            SourceKind::Memory => Some("memory"),
            SourceKind::Judgement => Some("judgement"),
            SourceKind::Practice => Some("common practice"),
            _ => None,
        }
    }
}

/// A word or a formula with its source.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Word {
    /// The word.
    pub value: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// A figure with its unit and source. The unit is fixed for each key and checked.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// The number.
    pub value: f64,
    /// Its unit, as `check.rs` demands it for the key.
    pub unit: String,
    /// Relative standard deviation, where the figure has one.
    #[serde(default)]
    pub relative_sd: Option<f64>,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// A chemical as the catalogue knows it: one file of `hazards/reagents/`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reagent {
    /// The word to type, the file's name without its ending.
    pub key: String,
    /// The full name of what is weighed or poured.
    pub name: String,
    /// Other names of the chemical; one word may belong to several reagents.
    #[serde(default)]
    pub also: Vec<String>,
    /// Two or three letters that begin the codes of its stocks (`HP-1`).
    pub code: String,
    /// Registry number, check digit verified.
    pub cas: Word,
    /// Formula of what is weighed, water of crystallisation included: `KAl(SO4)2.12H2O`.
    pub formula: Word,
    /// The forms it is sold or kept in.
    pub forms: Vec<Form>,
    /// What is known of it as a solid.
    #[serde(default)]
    pub solid: Option<Solid>,
    /// What is known of its solutions.
    #[serde(default)]
    pub solution: Option<Solution>,
    /// How it weakens; a table a form, in the order given the first that fits a stock holds.
    pub decay: Vec<Decay>,
    /// The part that other reagents share with it and recipes may mean, for equivalents.
    #[serde(default)]
    pub contains: Option<Contains>,
    /// What it is often taken for.
    #[serde(default)]
    pub taken_for: Vec<TakenFor>,
}

/// A form of a reagent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// Powder, crystals, granules.
    Solid,
    /// Dissolved in water.
    Solution,
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Form::Solid => "solid",
            Form::Solution => "solution",
        })
    }
}

/// A reagent as a solid.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solid {
    /// Content of the named formula where the label says nothing, `% w/w`.
    pub purity: Figure,
    /// Mass of a levelled measure by its volume, `g/mL`; the first is used where the kind is not said.
    pub spooned: Vec<Spooned>,
}

/// The bulk density of one kind of powder or crystal.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spooned {
    /// `fine`, `coarse`, `flaky`, `powder`, `granular`, `crystals`.
    pub kind: String,
    /// Grams in a millilitre of levelled measure.
    pub density: Figure,
}

/// A reagent in water.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solution {
    /// Strengths on sale, for help texts.
    #[serde(default)]
    pub sold: Vec<String>,
    /// What a bare `%` means, by size; the first row whose bound is not passed holds.
    pub bare_percent: Vec<BarePercent>,
    /// Density over composition and temperature, if known.
    #[serde(default)]
    pub density: Option<Density>,
    /// Solubility over temperature, if known.
    #[serde(default)]
    pub solubility: Option<Solubility>,
    /// True for hypochlorite: strengths may be given as available chlorine.
    #[serde(default)]
    pub available_chlorine: bool,
    /// True for hydrogen peroxide: strengths may be given in volumes of oxygen.
    #[serde(default)]
    pub oxygen_volumes: bool,
}

/// What a bare `%` is taken for.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BarePercent {
    /// Holds up to and including this many per cent.
    pub up_to: f64,
    /// The basis.
    pub basis: PercentBasis,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// The basis of a percentage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum PercentBasis {
    /// Grams in 100 g.
    #[serde(rename = "w/w")]
    WeightInWeight,
    /// Grams in 100 mL.
    #[serde(rename = "w/v")]
    WeightInVolume,
}

/// How the density of a solution is had.
#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "model", rename_all = "lowercase", deny_unknown_fields)]
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

/// Solubility at temperatures.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solubility {
    /// What the figures count.
    pub basis: SolubilityBasis,
    /// The formula that is counted (anhydrous, as a rule).
    pub of: String,
    /// `[°C, figure]`, rising.
    pub points: Vec<[f64; 2]>,
    /// Half-width of the band, relative.
    pub spread: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// What a reader should know beside it.
    #[serde(default)]
    pub note: Option<String>,
}

/// What a solubility figure counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SolubilityBasis {
    /// Grams in 100 g of saturated solution.
    MassPercent,
    /// Grams to 100 g of water, crystal water counted as water.
    #[serde(rename = "grams-per-100-g-water")]
    GramsPer100GWater,
}

/// How one form of a reagent weakens.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decay {
    /// The form this holds for.
    pub form: Form,
    /// The law.
    pub law: Law,
    /// Why this law, in one sentence.
    pub why: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
    /// Activation energy, `kJ/mol`; needed for every law that has a rate.
    #[serde(default)]
    pub activation: Option<Figure>,
    /// Rates by condition, each holding up to a strength; the first that fits a stock holds.
    #[serde(default)]
    pub prior: Vec<RatePrior>,
    /// Filling factor: what a fresh bottle holds in parts of its label, and the sd of its logarithm.
    pub start: Vec<Start>,
}

/// A rate law.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Law {
    /// Does not weaken when kept dry and closed.
    Keeps,
    /// `dC/dt = -k C`.
    FirstOrder,
    /// Hypochlorite: `dC/dt = -k2 C²`, `k2` of ionic strength and temperature.
    SecondOrderHypochlorite,
    /// Weakens at a rate nobody has told us: only a test helps.
    Unknown,
}

/// The log-normal prior of a rate in one condition.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RatePrior {
    /// The condition of the bottle.
    pub condition: Condition,
    /// Holds for labels up to this many % w/w.
    pub up_to_percent_w_w: f64,
    /// Median: of the rate at 20 °C in `1/y` (first order), of the factor on the law in `1` (second order).
    pub median: Figure,
    /// Standard deviation of the natural logarithm.
    pub sd_ln: f64,
}

/// What a bottle has been through; later ones keep worse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// As it left the factory.
    Sealed,
    /// Opened, poured from, never dipped into.
    Opened,
    /// Made up by the keeper with purified water.
    MadeUp,
    /// Made up by the keeper with tap water.
    MadeUpTap,
    /// Dipped into, poured back, swollen or dirty.
    Dirty,
}

impl Condition {
    /// Every condition, best first.
    pub const ALL: [Condition; 5] =
        [Condition::Sealed, Condition::Opened, Condition::MadeUp, Condition::MadeUpTap, Condition::Dirty];

    /// The word used in the register, on the command line and in answers.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Condition::Sealed => "sealed",
            Condition::Opened => "opened",
            Condition::MadeUp => "made-up",
            Condition::MadeUpTap => "made-up-tap",
            Condition::Dirty => "dirty",
        }
    }
}

/// What a fresh stock holds against its label.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Start {
    /// The condition in which the stock came or was made.
    pub condition: Condition,
    /// Median of true strength over label, unit `1`.
    pub factor: Figure,
    /// Standard deviation of its natural logarithm.
    pub sd_ln: f64,
}

/// The part of a reagent that equivalents are counted in.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contains {
    /// Its name: `aluminium`.
    pub what: String,
    /// Its formula: `Al`.
    pub formula: String,
    /// How many of it one formula unit holds.
    pub per_formula: f64,
}

/// A thing that is often taken for this reagent.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakenFor {
    /// The other reagent's key, where the catalogue has it.
    #[serde(default)]
    pub reagent: Option<String>,
    /// What it is called on the pack.
    pub name: String,
    /// Why it is not the same, in one sentence.
    pub difference: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// `hazards/dips.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct DipFile {
    measuring: Measuring,
    dip: Vec<Dip>,
}

/// How exactly a bench measures; every value is a relative standard deviation.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measuring {
    /// A marked bucket or tub filled to the mark.
    pub vessel: Figure,
    /// A kitchen jug.
    pub jug: Figure,
    /// A medical syringe.
    pub syringe: Figure,
    /// A kitchen or pocket scale read at ten times its step or more.
    pub scale: Figure,
    /// A levelled measuring spoon, volume only.
    pub spoon: Figure,
    /// A drop.
    pub drop: Figure,
    /// What an unstated spoon or cup adds.
    pub unknown_spoon: Figure,
}

/// A dip: one row of the book.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dip {
    /// The word to type.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// The reagent's key.
    pub reagent: String,
    /// What the bath should hold.
    pub target: Target,
    /// Minutes in the bath.
    pub minutes: Minutes,
    /// Lowest and highest water temperature, °C, where the source gives one.
    #[serde(default)]
    pub water_c: Option<[f64; 2]>,
    /// What it is used for.
    pub used_for: String,
    /// Which plants it is told for.
    pub plants: String,
    /// What it is not shown to do; at least one line.
    pub not_shown: Vec<String>,
    /// What stands behind it; at least one line.
    pub evidence: Vec<Evidence>,
    /// How it is stopped with a neutraliser, if it must be.
    #[serde(default)]
    pub stop: Option<Stop>,
    /// Cautions for the person at the bench.
    pub cautions: Vec<String>,
}

/// The band that a bath should land in, written as recipes are: `1.5 g/L`, `1:19 of 5.25 % w/w`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// Below this it is not the dip.
    pub low: String,
    /// What to aim at.
    pub aim: String,
    /// Above this it is another dip.
    pub high: String,
    /// Key of the source of `aim`.
    pub source: String,
    /// Key of the source of `low` and `high`.
    pub band_source: String,
}

/// Minutes in the bath.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Minutes {
    /// Shortest told.
    pub low: f64,
    /// Longest told.
    pub high: f64,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// One thing that speaks for or against a dip.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// How good it is.
    pub grade: Grade,
    /// What was found or is told, with its figures.
    pub says: String,
    /// Key in `hazards/sources.toml`.
    pub source: String,
}

/// How good a piece of evidence is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// A published result.
    Published,
    /// A rule of the trade without source.
    CommonPractice,
}

impl Grade {
    /// The words printed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Grade::Published => "published",
            Grade::CommonPractice => "common practice",
        }
    }
}

/// The neutraliser that ends a dip.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stop {
    /// The neutraliser's key.
    pub reagent: String,
    /// What is counted in the bath: `available chlorine`, or the dip's own reagent.
    pub counted_as: CountedAs,
    /// Grams of neutraliser for a gram of what is counted, the planning figure, `g/g`.
    pub planned: Figure,
    /// The same by stoichiometry, `g/g`.
    pub theory: Figure,
}

/// What a neutraliser's figure counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CountedAs {
    /// The reagent of the dip.
    Reagent,
    /// Chlorine equivalent to the hypochlorite.
    AvailableChlorine,
}
