//! The keeper's local rules: what was asked, of whom, and what was answered. Nothing of it is invented here.
//!
//! They stand in `local.toml` beside the register. Strengths and amounts are written with their units, as everywhere.

use chrono::{Months, NaiveDate};
use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::catalogue::{Catalogue, Jurisdiction, Reagent};
use crate::chem::{Substance, reading, solution};
use crate::units::Temperature;
use crate::units::measure::Quantity;
use crate::units::parse::{self, Written};
use crate::units::strength::{Basis, Strength};

/// What the keeper was told.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Local {
    /// Where it holds, in the keeper's words.
    pub place: Option<String>,
    /// Whose lists of waste are shown.
    pub jurisdiction: Option<Jurisdiction>,
    /// The emergency number.
    pub emergency: Option<String>,
    /// The poison centre's number.
    pub poison_centre: Option<String>,
    /// How much may be kept.
    pub stores: Vec<Store>,
    /// How strong something may be.
    pub strengths: Vec<Strongest>,
    /// What may go down a drain.
    pub drains: Vec<Drain>,
    /// Who takes what.
    pub takers: Vec<Taker>,
}

/// Who was asked, when, and what was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Who was asked.
    pub whom: String,
    /// When.
    pub on: NaiveDate,
    /// What was answered, in words.
    pub answer: Option<String>,
}

impl Asked {
    /// True if the answer is older than two years, or of a day still to come, and wants to be asked for again.
    ///
    /// Source: `judgement`.
    #[must_use]
    pub fn wants_asking_again(&self, day: NaiveDate) -> bool {
        self.on > day || day.checked_sub_months(Months::new(24)).is_some_and(|oldest| self.on < oldest)
    }
}

/// What a rule is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum About {
    /// One reagent, by its key.
    Reagent(String),
    /// A reaction group, by its key.
    Group(String),
}

/// How much may be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Store {
    /// Of what.
    pub about: About,
    /// Only of what is stronger than this, % w/w.
    pub stronger_than: Option<f64>,
    /// The most, in all containers together.
    pub most: Quantity,
    /// Who says so.
    pub asked: Asked,
}

/// How strong something may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Strongest {
    /// Key of the reagent.
    pub reagent: String,
    /// The strongest, % w/w.
    pub percent_w_w: f64,
    /// The same as it was written.
    pub written: String,
    /// Who says so.
    pub asked: Asked,
}

/// What may go down a drain.
#[derive(Debug, Clone, PartialEq)]
pub struct Drain {
    /// Key of the reagent that the bath was made from, or that is left in it.
    pub reagent: String,
    /// Where to: `sewer`.
    pub into: String,
    /// Whether it may.
    pub allowed: bool,
    /// The most that may be left in it, mg/L.
    pub most_mg_per_l: Option<f64>,
    /// Who says so.
    pub asked: Asked,
}

/// Who takes unwanted stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Taker {
    /// Who.
    pub who: String,
    /// Keys of disposal classes; none for every one.
    pub classes: Vec<String>,
    /// When and how.
    pub how: Option<String>,
    /// The number to ring.
    pub phone: Option<String>,
    /// Who was asked.
    pub asked: Asked,
}

/// What is wrong with the file: a key, and what is wrong there.
pub type Fault = (String, String);

/// A file with a line for everything that a keeper can be told.
pub const TEMPLATE: &str = include_str!("template.toml");

impl Local {
    /// Reads the keeper's file: all of it, or every fault that it has.
    ///
    /// # Errors
    /// Every fault with the path of its key.
    pub fn read(catalogue: &Catalogue, text: &str) -> Result<Local, Vec<Fault>> {
        let table: toml::Table = toml::from_str(text).map_err(|error| {
            let line = error.span().map_or(1, |span| text[..span.start].lines().count().max(1));
            vec![(format!("line {line}"), error.message().trim().replace('\n', " "))]
        })?;
        let mut reader = Reader { catalogue, faults: Vec::new() };
        let mut local = Local::default();
        for (key, value) in &table {
            match key.as_str() {
                "place" => local.place = reader.word(key, value),
                "emergency" => local.emergency = reader.word(key, value),
                "poison_centre" => local.poison_centre = reader.word(key, value),
                "jurisdiction" => local.jurisdiction = reader.jurisdiction(value),
                "store" => local.stores = reader.rows(key, value, Reader::store),
                "strength" => local.strengths = reader.rows(key, value, Reader::strongest),
                "drain" => local.drains = reader.rows(key, value, Reader::drain),
                "takes" => local.takers = reader.rows(key, value, Reader::taker),
                _ => reader.wrong(
                    key,
                    "is no key; accepted: place, jurisdiction, emergency, poison_centre, store, strength, drain, takes",
                ),
            }
        }
        if reader.faults.is_empty() { Ok(local) } else { Err(reader.faults) }
    }

    /// What was answered about a drain for what is left of a reagent.
    #[must_use]
    pub fn drain(&self, reagent: &str) -> Option<&Drain> {
        self.drains.iter().find(|drain| drain.reagent == reagent)
    }

    /// Who takes a disposal class.
    pub fn takers<'a>(&'a self, class: &'a str) -> impl Iterator<Item = &'a Taker> {
        self.takers.iter().filter(move |taker| taker.classes.is_empty() || taker.classes.iter().any(|key| key == class))
    }

    /// The strongest that a reagent may be.
    #[must_use]
    pub fn strongest(&self, reagent: &str) -> Option<&Strongest> {
        self.strengths.iter().find(|row| row.reagent == reagent)
    }
}

/// The rows as they are written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StoreRow {
    reagent: Option<String>,
    group: Option<String>,
    stronger_than: Option<String>,
    most: String,
    asked: String,
    on: String,
    answer: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StrongestRow {
    reagent: String,
    most: String,
    asked: String,
    on: String,
    answer: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DrainRow {
    reagent: String,
    into: String,
    allowed: bool,
    most: Option<String>,
    asked: String,
    on: String,
    answer: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TakerRow {
    who: String,
    classes: Vec<String>,
    how: Option<String>,
    phone: Option<String>,
    asked: String,
    on: String,
    answer: Option<String>,
}

struct Reader<'a> {
    catalogue: &'a Catalogue,
    faults: Vec<Fault>,
}

impl<'a> Reader<'a> {
    fn wrong(&mut self, key: &str, what: impl Into<String>) {
        self.faults.push((key.to_owned(), what.into()));
    }

    fn kept<T>(&mut self, key: &str, read: Result<T, String>) -> Option<T> {
        read.map_err(|what| self.wrong(key, what)).ok()
    }

    fn word(&mut self, key: &str, value: &toml::Value) -> Option<String> {
        match value.as_str().map(str::trim) {
            // An empty line of the template is filled in by hand later.
            Some("") => None,
            Some(text) => Some(text.to_owned()),
            None => {
                self.wrong(key, "text in quotes is wanted");
                None
            }
        }
    }

    fn jurisdiction(&mut self, value: &toml::Value) -> Option<Jurisdiction> {
        let word = self.word("jurisdiction", value)?;
        let known = Jurisdiction::called(&word);
        if known.is_none() {
            let words: Vec<&str> = Jurisdiction::ALL.iter().map(|place| place.word()).collect();
            self.wrong("jurisdiction", format!("`{word}` is not known; accepted: {}, or no line", words.join(", ")));
        }
        known
    }

    fn rows<R: DeserializeOwned, T>(
        &mut self,
        key: &str,
        value: &toml::Value,
        read: fn(&mut Self, &str, R) -> Option<T>,
    ) -> Vec<T> {
        let Some(rows) = value.as_array() else {
            self.wrong(key, format!("a list is wanted: [[{key}]]"));
            return Vec::new();
        };
        let mut found = Vec::new();
        for (number, row) in rows.iter().enumerate() {
            let key = format!("{key}[{}]", number + 1);
            match row.clone().try_into::<R>() {
                Ok(row) => found.extend(read(self, &key, row)),
                Err(error) => self.wrong(&key, error.message().trim().replace('\n', " ")),
            }
        }
        found
    }

    fn store(&mut self, key: &str, row: StoreRow) -> Option<Store> {
        let about = match (row.reagent, row.group) {
            (Some(word), None) => About::Reagent(self.reagent(key, &word)?.key.clone()),
            (None, Some(word)) => About::Group(self.group(key, word)?),
            _ => {
                self.wrong(key, "either `reagent` or `group` is wanted");
                return None;
            }
        };
        let stronger_than = match (&row.stronger_than, &about) {
            (None, _) => None,
            (Some(text), About::Reagent(reagent)) => {
                let reagent = self.catalogue.reagent(reagent)?;
                let percent = percent_in_weight(self.catalogue, reagent, text);
                Some(self.kept(&format!("{key}.stronger_than"), percent)?)
            }
            (Some(_), About::Group(_)) => {
                self.wrong(&format!("{key}.stronger_than"), "goes with `reagent`, for per cent of what?");
                return None;
            }
        };
        let most = parse::amount(&row.most, None).map(|amount| amount.quantity);
        let most = most.map_err(|error| format!("{error}; accepted: an amount as \"5 L\" or \"2 kg\""));
        let most = self.kept(&format!("{key}.most"), most)?;
        Some(Store { about, stronger_than, most, asked: self.asked(key, row.asked, &row.on, row.answer)? })
    }

    fn strongest(&mut self, key: &str, row: StrongestRow) -> Option<Strongest> {
        let reagent = self.reagent(key, &row.reagent)?;
        let percent = percent_in_weight(self.catalogue, reagent, &row.most);
        let percent_w_w = self.kept(&format!("{key}.most"), percent)?;
        let asked = self.asked(key, row.asked, &row.on, row.answer)?;
        Some(Strongest { reagent: reagent.key.clone(), percent_w_w, written: row.most, asked })
    }

    fn drain(&mut self, key: &str, row: DrainRow) -> Option<Drain> {
        let reagent = self.reagent(key, &row.reagent)?.key.clone();
        let most = match &row.most {
            None => None,
            Some(text) => Some(self.kept(&format!("{key}.most"), mg_per_l(text))?),
        };
        let into = row.into.trim().to_owned();
        if into.is_empty() {
            self.wrong(&format!("{key}.into"), "is empty; say where to, as \"sewer\"");
            return None;
        }
        let asked = self.asked(key, row.asked, &row.on, Some(row.answer))?;
        Some(Drain { reagent, into, allowed: row.allowed, most_mg_per_l: most, asked })
    }

    fn taker(&mut self, key: &str, row: TakerRow) -> Option<Taker> {
        let known: Vec<&str> = self.catalogue.disposal().classes.iter().map(|class| class.key.as_str()).collect();
        let all = row.classes.iter().any(|word| word == "all");
        for word in row.classes.iter().filter(|word| *word != "all" && !known.contains(&word.as_str())) {
            self.wrong(
                &format!("{key}.classes"),
                format!("`{word}` is no disposal class; accepted: all, {}", known.join(", ")),
            );
        }
        if row.classes.is_empty() {
            self.wrong(&format!("{key}.classes"), format!("name at least one; accepted: all, {}", known.join(", ")));
        }
        if row.who.trim().is_empty() {
            self.wrong(&format!("{key}.who"), "is empty");
            return None;
        }
        let classes = if all { Vec::new() } else { row.classes };
        let asked = self.asked(key, row.asked, &row.on, row.answer)?;
        Some(Taker { who: row.who.trim().to_owned(), classes, how: row.how, phone: row.phone, asked })
    }

    fn asked(&mut self, key: &str, whom: String, on: &str, answer: Option<String>) -> Option<Asked> {
        if whom.trim().is_empty() {
            self.wrong(&format!("{key}.asked"), "is empty; say who was asked");
            return None;
        }
        let day = on.parse().map_err(|_| format!("`{on}` is no day; write YYYY-MM-DD, the day they answered"));
        let on = self.kept(&format!("{key}.on"), day)?;
        Some(Asked { whom: whom.trim().to_owned(), on, answer: answer.filter(|answer| !answer.trim().is_empty()) })
    }

    fn reagent(&mut self, key: &str, word: &str) -> Option<&'a Reagent> {
        let found = self.catalogue.reagents_called(word);
        let read = match found[..] {
            [one] => Ok(one),
            [] => Err(format!("there is no reagent `{word}`; `brimstock reagents` lists them")),
            _ => Err(format!("`{word}` is sold as several reagents; write the key of one")),
        };
        self.kept(&format!("{key}.reagent"), read)
    }

    fn group(&mut self, key: &str, word: String) -> Option<String> {
        let groups = &self.catalogue.apart().groups;
        let read = if groups.iter().any(|group| group.key == word) {
            Ok(word)
        } else {
            let known: Vec<&str> = groups.iter().map(|group| group.key.as_str()).collect();
            Err(format!("`{word}` is no group; accepted: {}", known.join(", ")))
        };
        self.kept(&format!("{key}.group"), read)
    }
}

/// A written strength of a reagent as per cent by weight.
fn percent_in_weight(catalogue: &Catalogue, reagent: &Reagent, text: &str) -> Result<f64, String> {
    let bench = Temperature::celsius(20.0);
    let substance = Substance::of(reagent);
    let written = parse::strength(text, None).map_err(|error| format!("{error}; accepted: {}", error.accepted))?;
    let read = reading::read(substance, &written, catalogue.measuring(), bench).map_err(|error| error.to_string())?;
    let converted =
        solution::convert(substance, read.strength, Basis::InWeight, bench).map_err(|error| error.to_string())?;
    Ok(100.0 * converted.strength.base())
}

/// A written limit of a drain, mg/L.
fn mg_per_l(text: &str) -> Result<f64, String> {
    match parse::strength(text, None) {
        Ok(Written::Plain(Strength::InVolume(concentration), _)) => Ok(1000.0 * concentration.to_g_per_l()),
        Ok(_) => Err(format!("`{text}` is no amount in a volume; accepted: \"5 mg/L\", \"0.1 g/L\"")),
        Err(error) => Err(format!("{error}; accepted: \"5 mg/L\", \"0.1 g/L\"")),
    }
}
