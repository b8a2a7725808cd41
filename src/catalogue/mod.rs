//! What `hazards/` says: reagents, dips and the sources behind every figure.
//!
//! The build puts the texts into the program as JSON, where they are read once. A test checks them whole: a wrong unit, an unknown source or a misspelt key is
//! reported with the file and the key, never skipped; a keeper's own file is checked whenever it is read. Nothing here
//! computes; `chem`, `decay` and `dip` do.

mod apart;
mod assay;
mod care;
mod check;
pub mod complaint;
mod decay;
mod density;
mod dip;
mod disposal;
mod hatching;
mod hazard;
mod keeping;
mod label;
mod label_size;
mod light;
mod loose;
mod neutralise;
mod one_by_one;
mod own;
mod probe;
mod reagent;
mod sequence;
mod source;
mod trail;
mod words;

use std::collections::BTreeMap;
use std::sync::OnceLock;

use chrono::NaiveDate;
use serde::Deserialize;
use thiserror::Error;

use one_by_one::{Entry, OneByOne};

pub use apart::{Apart, Around, Group, Pair, PlannedUse, Relief, Surrounding, Verdict};
pub use assay::{Method, Suits, Test};
pub use care::{Care, CareText, Occasion, Part, Said};
pub use check::promise;
pub use decay::{Condition, Decay, Law, Other, RatePrior, Start};
pub use density::{Density, Solute};
pub use dip::{
    After, Bathed, Contradiction, CountedAs, Dip, Evidence, Grade, KEEPERS_OWN, Measuring, Minutes, Row, StepFigures,
    Stop, Target, Tolerance,
};
pub use disposal::{Disposal, DisposalClass, Household, Jurisdiction, Question, Topic, WasteCode};
pub use hatching::{Hatches, Hatching, LookOn};
pub use hazard::{
    Category, Class, Classified, Counted, Effect, ExtremePh, Hazard, Limit, LimitOf, Route, SetBy, Supplement, Toxicity,
};
pub use keeping::{Carriage, Keeping, Regulated};
pub use label::{Choice, Covers, Element, Signal, Statement};
pub use label_size::{LabelSize, LabelSizes, LeaveOff, Letter, LineSpacing, SmallPackage};
pub use light::{Cap, Container, Daylight, Glass, Light, Optics, Photolysis, Wall};
pub use loose::{Loose, LooseWord, Range, Telling, Wrong};
pub use neutralise::{Neutralise, Reaction, SewerExample, Treatment, Untreatable, Use};
pub use reagent::{
    BarePercent, Contains, Form, PercentBasis, Reagent, Solid, Solubility, SolubilityBasis, Solution, Spooned, TakenFor,
};
pub use sequence::{Harm, RinsesFor, Sequence, Trap};
pub use source::{Figure, Seen, Source, SourceKind, Word};
pub use words::{Language, Words};

/// The shipped reagents as the build has them.
const REAGENTS: &[Entry] = include!(concat!(env!("OUT_DIR"), "/reagents.rs"));

/// The dips of the shipped book, which belong to their reagents.
const DIPS: &[Entry] = include!(concat!(env!("OUT_DIR"), "/dips.rs"));

/// The tests of strength as shipped.
const METHODS: &[Entry] = include!(concat!(env!("OUT_DIR"), "/methods.rs"));

/// Where shipped figures come from.
const SOURCES: &[Entry] = include!(concat!(env!("OUT_DIR"), "/sources.rs"));

/// A shipped file of `hazards/` as the build has it, in JSON, with the name that errors should show.
macro_rules! shipped_file {
    ($name:literal) => {
        (concat!("hazards/", $name, ".toml"), include_str!(concat!(env!("OUT_DIR"), "/hazards/", $name, ".json")))
    };
}
use shipped_file;

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
    /// How large labels and their letters are.
    pub label_sizes: (&'a str, &'a str),
    /// What must be kept apart.
    pub apart: (&'a str, &'a str),
    /// Spills, first aid, protection.
    pub care: (&'a str, &'a str),
    /// What ends a bath.
    pub neutralise: (&'a str, &'a str),
    /// How unwanted stock is handed over.
    pub disposal: (&'a str, &'a str),
    /// How recipes are told.
    pub loose: (&'a str, &'a str),
    /// When eggs hatch.
    pub hatching: (&'a str, &'a str),
    /// What must not follow what.
    pub sequence: (&'a str, &'a str),
}

/// Everything `hazards/` holds, in the order of its keys.
///
/// The shipped files are read when they are first asked for, one at a time, and of reagents, dips, tests and sources one entry
/// at a time: most questions need few of them. They are not checked then; a test reads all of them with [`Catalogue::read`], which
/// checks every rule.
#[derive(Debug, Default)]
pub struct Catalogue {
    /// All of them: as they were read, else as shipped, once all are asked for. So with the dips and the sources.
    reagents: OnceLock<BTreeMap<String, Reagent>>,
    one_by_one: Asked,
    dips: OnceLock<Vec<Dip>>,
    bench: OnceLock<BenchFile>,
    /// The whole book, where the keeper has dips of their own.
    book: Option<Vec<Dip>>,
    optics: OnceLock<Optics>,
    methods: OnceLock<Vec<Method>>,
    statements: OnceLock<StatementFile>,
    labels: OnceLock<LabelFile>,
    label_sizes: OnceLock<LabelSizes>,
    apart: OnceLock<Apart>,
    care: OnceLock<CareFile>,
    neutralise: OnceLock<Neutralise>,
    disposal: OnceLock<Disposal>,
    loose: OnceLock<Loose>,
    hatching: OnceLock<Hatching>,
    sequence: OnceLock<Sequence>,
    sources: OnceLock<BTreeMap<String, Source>>,
}

/// Shipped entries that were asked for by their keys, before all were.
#[derive(Debug)]
struct Asked {
    reagents: OneByOne<Reagent>,
    dips: OneByOne<Dip>,
    methods: OneByOne<Method>,
    sources: OneByOne<Source>,
}

impl Default for Asked {
    fn default() -> Self {
        Asked {
            reagents: OneByOne::new(REAGENTS),
            dips: OneByOne::new(DIPS),
            methods: OneByOne::new(METHODS),
            sources: OneByOne::new(SOURCES),
        }
    }
}

/// What is wrong with a catalogue text.
#[derive(Debug, Clone, Error, PartialEq)]
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
    /// The compiled-in catalogue; each of its files is read when it is asked for.
    ///
    /// # Errors
    /// None so far.
    pub fn shipped() -> Result<&'static Catalogue, CatalogueError> {
        static SHIPPED: OnceLock<Catalogue> = OnceLock::new();
        Ok(SHIPPED.get_or_init(Catalogue::default))
    }

    /// Every reagent by its key.
    fn by_key(&self) -> &BTreeMap<String, Reagent> {
        self.reagents
            .get_or_init(|| one_by_one::all(REAGENTS).map(|(key, reagent)| (key.to_owned(), reagent)).collect())
    }

    /// Reads a catalogue from texts.
    ///
    /// # Errors
    /// The first [`CatalogueError`] found, in the order sources, statements, labels and their sizes, keeping apart, care,
    /// disposal, reagents, neutralising, dips and what must not follow what, light, how recipes are told, hatching, assays.
    pub fn read(texts: Texts<'_>) -> Result<Catalogue, CatalogueError> {
        let sources: BTreeMap<String, Source> = parse(texts.sources)?;
        check::sources(texts.sources.0, &sources)?;
        let statements: StatementFile = parse(texts.statements)?;
        check::statements(texts.statements.0, &statements.statement, &sources)?;
        let labels: LabelFile = parse(texts.labels)?;
        check::labels(texts.labels.0, &labels.element, &labels.choice, &statements.statement, &sources)?;
        let label_sizes: LabelSizes = parse(texts.label_sizes)?;
        check::label_sizes(texts.label_sizes.0, &label_sizes, &labels.element, &sources)?;
        let apart: Apart = parse(texts.apart)?;
        check::apart(texts.apart.0, &apart, &sources)?;
        let care: CareFile = parse(texts.care)?;
        check::care(texts.care.0, &care.text, &sources)?;
        let disposal: Disposal = parse(texts.disposal)?;
        check::disposal(texts.disposal.0, &disposal, &sources)?;
        let mut found = BTreeMap::new();
        for (file, text) in texts.reagents {
            let reagent: Reagent = parse((file, text))?;
            let mut faults = check::reagent(file, &reagent, &sources);
            faults.extend(check::named(file, &reagent, &statements.statement, &labels.element));
            faults.extend(check::cared_for(file, &reagent, &apart, &care.text, &disposal, &sources));
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
        let dips: DipFile = parse(texts.dips)?;
        check::dips(texts.dips.0, &dips.measuring, &dips.dip, &found, &sources)?;
        check::book(texts.dips.0, &dips.steps, &dips.dip, &dips.contradiction, &sources)?;
        let sequence: Sequence = parse(texts.sequence)?;
        check::sequence(texts.sequence.0, &sequence, &apart, &found, &sources)?;
        let optics: Optics = parse(texts.light)?;
        check::optics(texts.light.0, &optics, &sources)?;
        let loose: Loose = parse(texts.loose)?;
        check::loose(texts.loose.0, &loose, &found, &sources)?;
        let hatching: Hatching = parse(texts.hatching)?;
        check::hatching(texts.hatching.0, &hatching, &sources)?;
        let methods: AssayFile = parse(texts.assays)?;
        check::methods(texts.assays.0, &methods.method, &found, &sources)?;
        Ok(Catalogue {
            reagents: found.into(),
            one_by_one: Asked::default(),
            dips: dips.dip.into(),
            bench: BenchFile { measuring: dips.measuring, steps: dips.steps, contradiction: dips.contradiction }.into(),
            book: None,
            optics: optics.into(),
            methods: methods.method.into(),
            statements: statements.into(),
            labels: labels.into(),
            label_sizes: label_sizes.into(),
            apart: apart.into(),
            care: care.into(),
            neutralise: neutralise.into(),
            disposal: disposal.into(),
            loose: loose.into(),
            hatching: hatching.into(),
            sequence: sequence.into(),
            sources: sources.into(),
        })
    }

    /// Every reagent, in the order of keys.
    pub fn reagents(&self) -> impl Iterator<Item = &Reagent> {
        self.by_key().values()
    }

    /// The reagent with this key.
    #[must_use]
    pub fn reagent(&self, key: &str) -> Option<&Reagent> {
        match self.reagents.get() {
            Some(all) => all.get(key),
            None => self.one_by_one.reagents.get(key),
        }
    }

    /// The reagents that bear this key, name, other name or formula, spaces, signs and capitals aside. More than one where
    /// the trade uses one word for several ("alum").
    #[must_use]
    pub fn reagents_called(&self, word: &str) -> Vec<&Reagent> {
        if let Some(named) = self.reagent(word) {
            return vec![named];
        }
        let wanted = plain_word(word);
        if let Some(exact) = self.reagents().find(|reagent| plain_word(&reagent.key) == wanted) {
            return vec![exact];
        }
        self.reagents()
            .filter(|reagent| {
                let names = [&reagent.name, &reagent.formula.value].into_iter().chain(&reagent.also);
                names.into_iter().any(|name| plain_word(name) == wanted)
            })
            .collect()
    }

    /// Every dip, in the order of the book, those of the keeper's own behind.
    #[must_use]
    pub fn dips(&self) -> &[Dip] {
        self.book.as_deref().unwrap_or_else(|| self.shipped_dips())
    }

    /// Every dip as it was shipped.
    #[must_use]
    pub fn shipped_dips(&self) -> &[Dip] {
        self.dips.get_or_init(|| one_by_one::all(DIPS).map(|(_, dip)| dip).collect())
    }

    /// The book, if all of it was read.
    fn whole_book(&self) -> Option<&[Dip]> {
        self.book.as_deref().or_else(|| self.dips.get().map(Vec::as_slice))
    }

    /// Every dip that is made with this reagent, in the order of the book.
    #[must_use]
    pub fn dips_with(&self, reagent: &str) -> Vec<&Dip> {
        match self.whole_book() {
            Some(book) => book.iter().filter(|dip| dip.reagent == reagent).collect(),
            None => self.one_by_one.dips.of(reagent).collect(),
        }
    }

    /// The dip with this key as it was shipped.
    #[must_use]
    pub fn shipped_dip(&self, key: &str) -> Option<&Dip> {
        self.shipped_dips().iter().find(|dip| dip.key == key)
    }

    /// The dip with this key.
    #[must_use]
    pub fn dip(&self, key: &str) -> Option<&Dip> {
        match self.whole_book() {
            Some(book) => book.iter().find(|dip| dip.key == key),
            None => self.one_by_one.dips.get(key),
        }
    }

    /// How exactly things are measured out at a bench.
    #[must_use]
    pub fn measuring(&self) -> &Measuring {
        &self.bench_file().measuring
    }

    /// What is known of daylight, walls and places.
    #[must_use]
    pub fn optics(&self) -> &Optics {
        shipped(&self.optics, shipped_file!("light"))
    }

    /// What is on file of a test of strength.
    ///
    /// # Panics
    /// Never for a checked catalogue: every test has its entry.
    #[must_use]
    pub fn method(&self, test: Test) -> &Method {
        let found = match self.methods.get() {
            Some(all) => all.iter().find(|method| method.word == test),
            None => self.one_by_one.methods.get(test.word()),
        };
        found.expect("an entry for every test")
    }

    /// The statement with this code.
    #[must_use]
    pub fn statement(&self, code: &str) -> Option<&Statement> {
        self.statements().iter().find(|statement| statement.code == code)
    }

    /// What each class puts on a label.
    #[must_use]
    pub fn elements(&self) -> &[Element] {
        &shipped(&self.labels, shipped_file!("labels")).element
    }

    /// How precautionary statements are chosen.
    #[must_use]
    pub fn choice(&self) -> &Choice {
        &shipped(&self.labels, shipped_file!("labels")).choice
    }

    /// How large labels and their letters are.
    #[must_use]
    pub fn label_sizes(&self) -> &LabelSizes {
        shipped(&self.label_sizes, shipped_file!("label-sizes"))
    }

    /// What must be kept apart.
    #[must_use]
    pub fn apart(&self) -> &Apart {
        shipped(&self.apart, shipped_file!("keep-apart"))
    }

    /// What to do on an occasion, by the key that a reagent names.
    #[must_use]
    pub fn care(&self, occasion: Occasion, key: &str) -> Option<&CareText> {
        self.care_texts().iter().find(|text| text.occasion == occasion && text.key == key)
    }

    /// After this day what to do in trouble wants a second look.
    #[must_use]
    pub fn care_review_by(&self) -> NaiveDate {
        shipped(&self.care, shipped_file!("care")).review_by
    }

    /// What ends a used bath.
    #[must_use]
    pub fn neutralise(&self) -> &Neutralise {
        shipped(&self.neutralise, shipped_file!("neutralise"))
    }

    /// How unwanted stock is handed over.
    #[must_use]
    pub fn disposal(&self) -> &Disposal {
        shipped(&self.disposal, shipped_file!("disposal"))
    }

    /// How recipes are told.
    #[must_use]
    pub fn loose(&self) -> &Loose {
        shipped(&self.loose, shipped_file!("words-of-measure"))
    }

    /// When eggs hatch, and when a lot is looked over because of it.
    #[must_use]
    pub fn hatching(&self) -> &Hatching {
        shipped(&self.hatching, shipped_file!("hatching"))
    }

    /// What must not follow what.
    #[must_use]
    pub fn sequence(&self) -> &Sequence {
        shipped(&self.sequence, shipped_file!("sequence"))
    }

    /// Where the figures of the steps come from.
    #[must_use]
    pub fn step_figures(&self) -> &StepFigures {
        &self.bench_file().steps
    }

    /// What contradicts itself on the page of a dip, each with its two rows.
    pub fn contradictions(&self, dip: &str) -> impl Iterator<Item = (&Contradiction, Row, Row)> {
        let row = |name: &str| {
            let mut rows = self.shipped_dips().iter().flat_map(Dip::named_rows);
            rows.find(|(other, _)| *other == name).map(|(_, row)| row)
        };
        let of_dip = self
            .bench_file()
            .contradiction
            .iter()
            .filter(move |contradiction| contradiction.dips.iter().any(|key| key == dip));
        of_dip.filter_map(move |found| Some((found, row(&found.one)?, row(&found.other)?)))
    }

    /// Every source with its key.
    pub fn sources(&self) -> impl Iterator<Item = (&str, &Source)> {
        self.every_source().iter().map(|(key, source)| (key.as_str(), source))
    }

    /// The source with this key.
    #[must_use]
    pub fn source(&self, key: &str) -> Option<&Source> {
        match self.sources.get() {
            Some(all) => all.get(key),
            None => self.one_by_one.sources.get(key),
        }
    }

    fn every_source(&self) -> &BTreeMap<String, Source> {
        self.sources.get_or_init(|| one_by_one::all(SOURCES).map(|(key, source)| (key.to_owned(), source)).collect())
    }

    fn bench_file(&self) -> &BenchFile {
        shipped(&self.bench, shipped_file!("dips"))
    }

    fn statements(&self) -> &[Statement] {
        &shipped(&self.statements, shipped_file!("statements")).statement
    }

    fn care_texts(&self) -> &[CareText] {
        &shipped(&self.care, shipped_file!("care")).text
    }
}

/// What a file holds: as it was read, else as it was shipped.
fn shipped<'a, T: for<'de> Deserialize<'de>>(read: &'a OnceLock<T>, file: (&str, &str)) -> &'a T {
    read.get_or_init(|| of_json(file).expect("a test reads every shipped file"))
}

/// What a shipped file holds.
fn of_json<T: for<'de> Deserialize<'de>>((file, text): (&str, &str)) -> Result<T, CatalogueError> {
    serde_json::from_str(text).map_err(|error| problem(file, "as JSON", error.to_string()))
}

/// Lower case, letters and digits only: the form in which names are compared.
fn plain_word(word: &str) -> String {
    word.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

fn parse<T: for<'de> Deserialize<'de>>((file, text): (&str, &str)) -> Result<T, CatalogueError> {
    toml::from_str(text).map_err(|error| {
        let line = error.span().map_or(1, |span| text[..span.start].lines().count().max(1));
        problem(file, &format!("line {line}"), complaint::of_syntax(error.message()))
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
    steps: StepFigures,
    dip: Vec<Dip>,
    contradiction: Vec<Contradiction>,
}

/// The same without its list of dips.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct BenchFile {
    measuring: Measuring,
    steps: StepFigures,
    contradiction: Vec<Contradiction>,
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
    #[serde(deserialize_with = "apart::day")]
    review_by: NaiveDate,
    text: Vec<CareText>,
}

/// `hazards/labels.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct LabelFile {
    element: Vec<Element>,
    choice: Choice,
}
