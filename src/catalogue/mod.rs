//! What `hazards/` says: reagents, dips and the sources behind every figure.
//!
//! The texts are compiled in, read once and checked whole: a wrong unit, an unknown source or a misspelt key is
//! reported with the file and the key, never skipped. Nothing here computes; `chem`, `decay` and `dip` do.

mod apart;
mod assay;
mod care;
mod check;
mod decay;
mod dip;
mod disposal;
mod hazard;
mod keeping;
mod label;
mod light;
mod neutralise;
mod own;
mod reagent;
mod source;

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;
use thiserror::Error;

pub use apart::{Apart, Around, Group, Pair, PlannedUse, Relief, Surrounding, Verdict};
pub use assay::{Method, Suits, Test};
pub use care::{Care, CareText, Occasion, Said};
pub use decay::{Condition, Decay, Law, Other, RatePrior, Start};
pub use dip::{CountedAs, Dip, Evidence, Grade, Measuring, Minutes, Stop, Target};
pub use disposal::{Disposal, DisposalClass, Household, Jurisdiction, Question, Topic, WasteCode};
pub use hazard::{
    Category, Class, Classified, Counted, Effect, ExtremePh, Hazard, Limit, LimitOf, Route, SetBy, Supplement, Toxicity,
};
pub use keeping::{Carriage, Keeping, Regulated};
pub use label::{Choice, Covers, Element, Signal, Statement};
pub use light::{Cap, Container, Daylight, Glass, Light, Optics, Photolysis, Wall};
pub use neutralise::{Neutralise, Reaction, SewerExample, Treatment, Untreatable, Use};
pub use reagent::{
    BarePercent, Contains, Density, Form, PercentBasis, Reagent, Solid, Solubility, SolubilityBasis, Solute, Solution,
    Spooned, TakenFor,
};
pub use source::{Figure, Seen, Source, SourceKind, Word};

const REAGENT_FILES: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/reagents.rs"));

/// The texts of a catalogue, each with the file name that errors should show.
#[derive(Debug, Clone, Copy)]
pub struct Texts<'a> {
    /// Where figures come from.
    pub sources: (&'a str, &'a str),
    /// One text a reagent.
    pub reagents: &'a [(&'a str, &'a str)],
    /// The dip book.
    pub dips: (&'a str, &'a str),
    /// Daylight.
    pub light: (&'a str, &'a str),
    /// Tests of strength.
    pub assays: (&'a str, &'a str),
    /// Words of the standard.
    pub statements: (&'a str, &'a str),
    /// What each class puts on a label.
    pub labels: (&'a str, &'a str),
    /// What must be kept apart.
    pub apart: (&'a str, &'a str),
    /// Spills, first aid, protection.
    pub care: (&'a str, &'a str),
    /// What ends a bath.
    pub neutralise: (&'a str, &'a str),
    /// How unwanted stock is handed over.
    pub disposal: (&'a str, &'a str),
}

const TEXTS: Texts<'static> = Texts {
    sources: ("hazards/sources.toml", include_str!("../../hazards/sources.toml")),
    reagents: REAGENT_FILES,
    dips: ("hazards/dips.toml", include_str!("../../hazards/dips.toml")),
    light: ("hazards/light.toml", include_str!("../../hazards/light.toml")),
    assays: ("hazards/assays.toml", include_str!("../../hazards/assays.toml")),
    statements: ("hazards/statements.toml", include_str!("../../hazards/statements.toml")),
    labels: ("hazards/labels.toml", include_str!("../../hazards/labels.toml")),
    apart: ("hazards/keep-apart.toml", include_str!("../../hazards/keep-apart.toml")),
    care: ("hazards/care.toml", include_str!("../../hazards/care.toml")),
    neutralise: ("hazards/neutralise.toml", include_str!("../../hazards/neutralise.toml")),
    disposal: ("hazards/disposal.toml", include_str!("../../hazards/disposal.toml")),
};

/// Everything `hazards/` holds, in the order of its keys.
#[derive(Debug)]
pub struct Catalogue {
    reagents: BTreeMap<String, Reagent>,
    dips: Vec<Dip>,
    measuring: Measuring,
    optics: Optics,
    methods: Vec<Method>,
    statements: Vec<Statement>,
    elements: Vec<Element>,
    choice: Choice,
    apart: Apart,
    care: Vec<CareText>,
    neutralise: Neutralise,
    disposal: Disposal,
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
        SHIPPED.get_or_init(|| Catalogue::read(TEXTS)).as_ref().map_err(|error| CatalogueError {
            file: error.file.clone(),
            key: error.key.clone(),
            what: error.what.clone(),
        })
    }

    /// Reads a catalogue from texts.
    ///
    /// # Errors
    /// The first [`CatalogueError`] found, in the order sources, statements, labels, keeping apart, care, disposal, reagents,
    /// neutralising, dips, light, assays.
    pub fn read(texts: Texts<'_>) -> Result<Catalogue, CatalogueError> {
        let sources: BTreeMap<String, Source> = parse(texts.sources)?;
        check::sources(texts.sources.0, &sources)?;
        let StatementFile { statement } = parse(texts.statements)?;
        check::statements(texts.statements.0, &statement, &sources)?;
        let LabelFile { element, choice } = parse(texts.labels)?;
        check::labels(texts.labels.0, &element, &choice, &statement, &sources)?;
        let apart: Apart = parse(texts.apart)?;
        check::apart(texts.apart.0, &apart, &sources)?;
        let CareFile { text: care } = parse(texts.care)?;
        check::care(texts.care.0, &care, &sources)?;
        let disposal: Disposal = parse(texts.disposal)?;
        check::disposal(texts.disposal.0, &disposal, &sources)?;
        let mut found = BTreeMap::new();
        for (file, text) in texts.reagents {
            let reagent: Reagent = parse((file, text))?;
            let mut faults = check::reagent(file, &reagent, &sources);
            faults.extend(check::named(file, &reagent, &statement, &element));
            faults.extend(check::cared_for(file, &reagent, &apart, &care, &disposal, &sources));
            if let Some(first) = faults.into_iter().next() {
                return Err(first);
            }
            let key = reagent.key.clone();
            if found.insert(key.clone(), reagent).is_some() {
                return Err(problem(file, "key", format!("`{key}` is taken by another file")));
            }
        }
        check::reagents_together(&found)?;
        let neutralise: Neutralise = parse(texts.neutralise)?;
        check::neutralise(texts.neutralise.0, &neutralise, &found, &sources)?;
        let DipFile { measuring, dip } = parse(texts.dips)?;
        check::dips(texts.dips.0, &measuring, &dip, &found, &sources)?;
        let optics: Optics = parse(texts.light)?;
        check::optics(texts.light.0, &optics, &sources)?;
        let AssayFile { method } = parse(texts.assays)?;
        check::methods(texts.assays.0, &method, &found, &sources)?;
        Ok(Catalogue {
            reagents: found,
            dips: dip,
            measuring,
            optics,
            methods: method,
            statements: statement,
            elements: element,
            choice,
            apart,
            care,
            neutralise,
            disposal,
            sources,
        })
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

    /// What is known of daylight, walls and places.
    #[must_use]
    pub fn optics(&self) -> &Optics {
        &self.optics
    }

    /// What is on file of a test of strength.
    ///
    /// # Panics
    /// Never for a checked catalogue: every test has its entry.
    #[must_use]
    pub fn method(&self, test: Test) -> &Method {
        self.methods.iter().find(|method| method.word == test).expect("an entry for every test")
    }

    /// The statement with this code.
    #[must_use]
    pub fn statement(&self, code: &str) -> Option<&Statement> {
        self.statements.iter().find(|statement| statement.code == code)
    }

    /// What each class puts on a label.
    #[must_use]
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// How precautionary statements are chosen.
    #[must_use]
    pub fn choice(&self) -> &Choice {
        &self.choice
    }

    /// What must be kept apart.
    #[must_use]
    pub fn apart(&self) -> &Apart {
        &self.apart
    }

    /// What to do on an occasion, by the key that a reagent names.
    #[must_use]
    pub fn care(&self, occasion: Occasion, key: &str) -> Option<&CareText> {
        self.care.iter().find(|text| text.occasion == occasion && text.key == key)
    }

    /// What ends a used bath.
    #[must_use]
    pub fn neutralise(&self) -> &Neutralise {
        &self.neutralise
    }

    /// How unwanted stock is handed over.
    #[must_use]
    pub fn disposal(&self) -> &Disposal {
        &self.disposal
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

/// `hazards/dips.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct DipFile {
    measuring: Measuring,
    dip: Vec<Dip>,
}

/// `hazards/assays.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AssayFile {
    method: Vec<Method>,
}

/// `hazards/statements.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StatementFile {
    statement: Vec<Statement>,
}

/// `hazards/care.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CareFile {
    text: Vec<CareText>,
}

/// `hazards/labels.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct LabelFile {
    element: Vec<Element>,
    choice: Choice,
}
