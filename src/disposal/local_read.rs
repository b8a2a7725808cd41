//! Reads the keeper's file whole, or refuses it with every fault.

use super::local::{About, Asked, Drain, Fault, Local, Print, Store, Strongest, Taker};
use crate::catalogue::{Catalogue, Jurisdiction, Language, Reagent, complaint};
use crate::chem::{Substance, reading, solution};
use crate::units::Temperature;
use crate::units::measure::Kitchen;
use crate::units::parse::{self, Written};
use crate::units::strength::{Basis, Strength};

/// The keeper's file: all of it, or every fault that it has.
pub(super) fn read(catalogue: &Catalogue, text: &str) -> Result<Local, Vec<Fault>> {
    let table: toml::Table = toml::from_str(text).map_err(|error| {
        let line = error.span().map_or(1, |span| text[..span.start].lines().count().max(1));
        vec![(format!("line {line}"), complaint::of_syntax(error.message()))]
    })?;
    let mut reader = Reader { catalogue, faults: Vec::new(), drains: Vec::new() };
    let mut local = Local::default();
    for (key, value) in &table {
        match key.as_str() {
            "place" => local.place = reader.word(key, value),
            "emergency" => local.emergency = reader.word(key, value),
            "poison_centre" => local.poison_centre = reader.word(key, value),
            "fire" => local.fire = reader.word(key, value),
            "water_company" => local.water_company = reader.word(key, value),
            "print" => local.print = reader.print(value),
            "jurisdiction" => local.jurisdiction = reader.jurisdiction(value),
            "store" => local.stores = reader.rows(key, value, STORE, Reader::store),
            "strength" => local.strengths = reader.rows(key, value, STRENGTH, Reader::strongest),
            "drain" => local.drains = reader.rows(key, value, DRAIN, Reader::drain),
            "takes" => local.takers = reader.rows(key, value, TAKES, Reader::taker),
            _ => reader.wrong(
                key,
                "is no key; accepted: place, jurisdiction, emergency, fire, poison_centre, water_company, print, store, strength, drain, takes",
            ),
        }
    }
    if reader.faults.is_empty() { Ok(local) } else { Err(reader.faults) }
}

/// The keys of each kind of row.
const STORE: &[&str] = &["reagent", "group", "stronger_than", "most", "asked", "on", "reference", "answer"];
const STRENGTH: &[&str] = &["reagent", "most", "asked", "on", "reference", "answer"];
const DRAIN: &[&str] = &["reagent", "into", "allowed", "most", "asked", "on", "reference", "answer"];
const TAKES: &[&str] = &["who", "classes", "days", "how", "phone", "asked", "on", "reference", "answer"];

/// The words of [print].
const UNITS: [&str; 3] = ["metric", "us", "imperial"];
const PAPERS: [&str; 4] = ["a4", "a5", "a6", "letter"];

/// Where no bath goes, whoever allowed it: words, and parts of words that are long enough to be no other.
/// Source: `judgement`; `septic-pages` for tanks.
const OPEN_WATER_AND_GROUND: &[&str] = &[
    "pond", "ponds", "ditch", "ditches", "stream", "streams", "river", "rivers", "lake", "brook", "creek", "canal",
    "garden", "gardens", "lawn", "soil", "compost", "gutter",
];
const TANKS_AND_STORM_DRAINS: &[&str] = &["soakaway", "septic", "storm"];

/// One row as it is written.
struct Row<'t> {
    /// Its path: `drain[2]`.
    key: String,
    table: &'t toml::Table,
}

impl Row<'_> {
    fn at(&self, key: &str) -> String {
        format!("{}.{key}", self.key)
    }
}

struct Reader<'a> {
    catalogue: &'a Catalogue,
    faults: Vec<Fault>,
    /// The reagent, the drain and the path of every row of a drain so far.
    drains: Vec<(String, String, String)>,
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

    /// One word of several, capitals aside.
    fn choice<T>(
        &mut self,
        key: &str,
        value: &toml::Value,
        accepted: &[&str],
        read: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        let word = self.word(key, value)?;
        let known = read(&word.to_lowercase());
        if known.is_none() {
            self.wrong(key, format!("`{word}` is not known; accepted: {}, or \"\" for none", accepted.join(", ")));
        }
        known
    }

    fn jurisdiction(&mut self, value: &toml::Value) -> Option<Jurisdiction> {
        let words = Jurisdiction::ALL.map(Jurisdiction::word);
        self.choice("jurisdiction", value, &words, Jurisdiction::called)
    }

    fn print(&mut self, value: &toml::Value) -> Print {
        let mut print = Print::default();
        let Some(table) = value.as_table() else {
            self.wrong("print", "lines of the form key = value are wanted, below [print]");
            return print;
        };
        for (word, value) in table {
            let key = format!("print.{word}");
            match word.as_str() {
                "language" => {
                    print.language = self.choice(&key, value, &Language::ALL.map(Language::code), Language::read)
                }
                "units" => {
                    let read = |word: &str| UNITS.contains(&word).then(|| Kitchen::called(word)).flatten();
                    print.units = self.choice(&key, value, &UNITS, read);
                }
                "paper" => {
                    let read = |word: &str| PAPERS.contains(&word).then(|| word.to_owned());
                    print.paper = self.choice(&key, value, &PAPERS, read);
                }
                "keeper" => print.keeper = self.word(&key, value),
                _ => self.wrong(&key, "is no key; accepted: language, units, paper, keeper"),
            }
        }
        print
    }

    /// Reads every row; a faulty one is left out, with each of its faults told.
    fn rows<T>(
        &mut self,
        key: &str,
        value: &toml::Value,
        known: &[&str],
        read: fn(&mut Self, &Row<'_>) -> Option<T>,
    ) -> Vec<T> {
        let Some(rows) = value.as_array() else {
            self.wrong(key, format!("a list is wanted: [[{key}]]"));
            return Vec::new();
        };
        let mut found = Vec::new();
        for (number, row) in rows.iter().enumerate() {
            let key = format!("{key}[{}]", number + 1);
            let Some(table) = row.as_table() else {
                self.wrong(&key, "lines of the form key = value are wanted");
                continue;
            };
            let row = Row { key, table };
            for word in table.keys().filter(|word| !known.contains(&word.as_str())) {
                self.wrong(&row.at(word), format!("is no key; accepted: {}", known.join(", ")));
            }
            found.extend(read(self, &row));
        }
        found
    }

    /// A text that may be left out.
    fn may(&mut self, row: &Row<'_>, key: &str) -> Option<String> {
        let value = row.table.get(key)?;
        if value.as_str().is_none() {
            self.wrong(&row.at(key), "text in quotes is wanted");
        }
        value.as_str().map(str::to_owned)
    }

    /// A text that may be left out, or left empty to be filled in later.
    fn filled(&mut self, row: &Row<'_>, key: &str) -> Option<String> {
        self.may(row, key).map(|text| text.trim().to_owned()).filter(|text| !text.is_empty())
    }

    /// A text that is wanted.
    fn must(&mut self, row: &Row<'_>, key: &str) -> Option<String> {
        if !row.table.contains_key(key) {
            self.wrong(&row.at(key), "is missing");
        }
        self.may(row, key)
    }

    /// A text that is wanted, and not empty.
    fn said(&mut self, row: &Row<'_>, key: &str, say: &str) -> Option<String> {
        let text = self.must(row, key)?.trim().to_owned();
        if text.is_empty() {
            self.wrong(&row.at(key), format!("is empty{say}"));
            return None;
        }
        Some(text)
    }

    // Each value of a row is read before any is asked for, so that none hides the fault of another.

    fn store(&mut self, row: &Row<'_>) -> Option<Store> {
        let about = match (self.may(row, "reagent"), self.may(row, "group")) {
            (Some(word), None) => self.reagent(&row.key, &word).map(|reagent| About::Reagent(reagent.key.clone())),
            (None, Some(word)) => self.group(&row.key, word).map(About::Group),
            _ => {
                self.wrong(&row.key, "either `reagent` or `group` is wanted");
                None
            }
        };
        let stronger_than = self.may(row, "stronger_than").and_then(|text| match &about {
            Some(About::Reagent(reagent)) => {
                let percent = percent_in_weight(self.catalogue, self.catalogue.reagent(reagent)?, &text);
                self.kept(&row.at("stronger_than"), percent)
            }
            Some(About::Group(_)) => {
                self.wrong(&row.at("stronger_than"), "goes with `reagent`, for per cent of what?");
                None
            }
            None => None,
        });
        let most = self.must(row, "most").and_then(|text| {
            let most = parse::amount(&text, None).map(|amount| amount.quantity);
            let most = most.map_err(|error| format!("{error}; accepted: an amount as \"5 L\" or \"2 kg\""));
            self.kept(&row.at("most"), most)
        });
        let asked = self.asked(row);
        Some(Store { about: about?, stronger_than, most: most?, asked: asked? })
    }

    fn strongest(&mut self, row: &Row<'_>) -> Option<Strongest> {
        let reagent = self.must(row, "reagent").and_then(|word| self.reagent(&row.key, &word));
        let written = self.must(row, "most");
        let percent = reagent.zip(written.as_ref()).and_then(|(reagent, text)| {
            let percent = percent_in_weight(self.catalogue, reagent, text);
            self.kept(&row.at("most"), percent)
        });
        let asked = self.asked(row);
        Some(Strongest { reagent: reagent?.key.clone(), percent_w_w: percent?, written: written?, asked: asked? })
    }

    fn drain(&mut self, row: &Row<'_>) -> Option<Drain> {
        let reagent = self.must(row, "reagent").and_then(|word| self.reagent(&row.key, &word));
        let into = self.said(row, "into", "; say where to, as \"sewer\"");
        let allowed = match row.table.get("allowed").map(toml::Value::as_bool) {
            Some(Some(allowed)) => Some(allowed),
            Some(None) => {
                self.wrong(&row.at("allowed"), "true or false is wanted, without quotes");
                None
            }
            None => {
                self.wrong(&row.at("allowed"), "is missing");
                None
            }
        };
        if let Some(into) = into.as_deref().filter(|into| allowed == Some(true) && is_no_drain(into)) {
            self.wrong(
                &row.at("into"),
                format!(
                    "`{into}`, allowed: this program plans no such thing; accepted: the sewer or another drain that somebody licensed named"
                ),
            );
        }
        let most = self.may(row, "most").and_then(|text| self.kept(&row.at("most"), mg_per_l(&text)));
        let answer = self.must(row, "answer");
        let asked = self.asked(row);
        let (reagent, into) = (reagent?.key.clone(), into?);
        let place = into.to_lowercase();
        match self.drains.iter().find(|(other, drain, _)| *other == reagent && *drain == place) {
            Some((.., earlier)) => {
                let said = format!("{reagent} into `{into}` stands in {earlier} already; leave one row of the two");
                self.wrong(&row.key, said);
            }
            None => self.drains.push((reagent.clone(), place, row.key.clone())),
        }
        answer?;
        Some(Drain { reagent, into, allowed: allowed?, most_mg_per_l: most, asked: asked? })
    }

    fn taker(&mut self, row: &Row<'_>) -> Option<Taker> {
        let who = self.said(row, "who", "");
        let classes = self.classes(row);
        let days = self.filled(row, "days");
        let (how, phone) = (self.filled(row, "how"), self.filled(row, "phone"));
        let asked = self.asked(row);
        Some(Taker { who: who?, classes: classes?, days, how, phone, asked: asked? })
    }

    /// The disposal classes of a row; none for all.
    fn classes(&mut self, row: &Row<'_>) -> Option<Vec<String>> {
        let key = row.at("classes");
        let known: Vec<&str> = self.catalogue.disposal().classes.iter().map(|class| class.key.as_str()).collect();
        let accepted = format!("accepted: all, {}", known.join(", "));
        let Some(value) = row.table.get("classes") else {
            self.wrong(&key, format!("is missing; {accepted}"));
            return None;
        };
        let words: Option<Vec<String>> =
            value.as_array().and_then(|list| list.iter().map(|word| word.as_str().map(str::to_owned)).collect());
        let Some(words) = words else {
            self.wrong(&key, "a list of texts is wanted, as [\"all\"]");
            return None;
        };
        for word in words.iter().filter(|word| *word != "all" && !known.contains(&word.as_str())) {
            self.wrong(&key, format!("`{word}` is no disposal class; {accepted}"));
        }
        if words.is_empty() {
            self.wrong(&key, format!("name at least one; {accepted}"));
        }
        Some(if words.iter().any(|word| word == "all") { Vec::new() } else { words })
    }

    fn asked(&mut self, row: &Row<'_>) -> Option<Asked> {
        let whom = self.said(row, "asked", "; say who was asked");
        let on = self.must(row, "on").and_then(|on| {
            let day = on.parse().map_err(|_| format!("`{on}` is no day; write YYYY-MM-DD, the day they answered"));
            self.kept(&row.at("on"), day)
        });
        let (reference, answer) = (self.filled(row, "reference"), self.filled(row, "answer"));
        Some(Asked { whom: whom?, on: on?, reference, answer })
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

/// True if a drain is none: open water, the ground, a tank, or a drain that leads to them.
fn is_no_drain(into: &str) -> bool {
    let into = into.to_lowercase();
    TANKS_AND_STORM_DRAINS.iter().any(|part| into.contains(part))
        || into.split(|c: char| !c.is_alphanumeric()).any(|word| OPEN_WATER_AND_GROUND.contains(&word))
}

/// A written limit of a drain, mg/L.
fn mg_per_l(text: &str) -> Result<f64, String> {
    match parse::strength(text, None) {
        Ok(Written::Plain(Strength::InVolume(concentration), _)) => Ok(1000.0 * concentration.to_g_per_l()),
        Ok(_) => Err(format!("`{text}` is no amount in a volume; accepted: \"5 mg/L\", \"0.1 g/L\"")),
        Err(error) => Err(format!("{error}; accepted: \"5 mg/L\", \"0.1 g/L\"")),
    }
}
