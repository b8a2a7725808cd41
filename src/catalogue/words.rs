//! The words on printed cards, by language: phrases of our own by key, and what the catalogue says, translated.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use super::{CatalogueError, of_json, shipped_file};

/// A language that cards are printed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// Spanish.
    Spanish,
}

impl Language {
    /// Every one.
    pub const ALL: [Language; 2] = [Language::English, Language::Spanish];

    /// The language of a code.
    #[must_use]
    pub fn read(code: &str) -> Option<Language> {
        Language::ALL.into_iter().find(|language| language.code() == code)
    }

    /// `en`, `es`.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::Spanish => "es",
        }
    }

    fn phrases(self) -> (&'static str, &'static str) {
        match self {
            Language::English => shipped_file!("cards.en"),
            Language::Spanish => shipped_file!("cards.es"),
        }
    }

    fn translations(self) -> Option<(&'static str, &'static str)> {
        match self {
            Language::English => None,
            Language::Spanish => Some(shipped_file!("texts.es")),
        }
    }
}

/// What stays on the line of the number before it.
const UNITS: [&str; 19] =
    ["%", "°C", "K", "L", "mL", "mL/L", "g", "kg", "mg", "g/L", "mg/L", "g/g", "mm", "cm", "m", "s", "min", "h", "bar"];

/// The words of a language.
#[derive(Debug, Clone)]
pub struct Words {
    /// Which.
    pub language: Language,
    /// `frame.page`: a phrase, with `{names}` of what is filled in.
    phrases: BTreeMap<String, String>,
    /// The catalogue's English sentences, translated.
    texts: BTreeMap<String, String>,
}

/// A file of translations.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct TextFile {
    text: Vec<Translation>,
}

/// One sentence of the catalogue in another language.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Translation {
    en: String,
    es: String,
}

impl Words {
    /// The words of a language, read once.
    ///
    /// # Errors
    /// A fault of a file of `hazards/`.
    pub fn of(language: Language) -> Result<&'static Words, CatalogueError> {
        static ENGLISH: OnceLock<Result<Words, CatalogueError>> = OnceLock::new();
        static SPANISH: OnceLock<Result<Words, CatalogueError>> = OnceLock::new();
        let cell = match language {
            Language::English => &ENGLISH,
            Language::Spanish => &SPANISH,
        };
        cell.get_or_init(|| Words::read(language)).as_ref().map_err(Clone::clone)
    }

    fn read(language: Language) -> Result<Words, CatalogueError> {
        let file: BTreeMap<String, BTreeMap<String, String>> = of_json(language.phrases())?;
        let phrases = file.into_iter().flat_map(|(section, phrases)| {
            phrases.into_iter().map(move |(key, phrase)| (format!("{section}.{key}"), phrase))
        });
        let texts = match language.translations() {
            Some(file) => of_json::<TextFile>(file)?.text.into_iter().map(|text| (text.en, text.es)).collect(),
            None => BTreeMap::new(),
        };
        Ok(Words { language, phrases: phrases.collect(), texts })
    }

    /// A phrase by its key, `frame.page`. A key that no file has is printed as it stands; `tests/words.rs` finds every
    /// one that the cards use.
    #[must_use]
    pub fn phrase<'a>(&'a self, key: &'a str) -> &'a str {
        self.phrases.get(key).map_or(key, String::as_str)
    }

    /// A phrase with its `{names}` filled in.
    #[must_use]
    pub fn filled(&self, key: &str, values: &[(&str, &str)]) -> String {
        let phrase = self.phrase(key).to_owned();
        values.iter().fold(phrase, |phrase, (name, value)| phrase.replace(&format!("{{{name}}}"), value))
    }

    /// Every phrase by its key.
    pub fn phrases(&self) -> impl Iterator<Item = (&str, &str)> {
        self.phrases.iter().map(|(key, phrase)| (key.as_str(), phrase.as_str()))
    }

    /// A sentence of the catalogue in this language, if it has it.
    #[must_use]
    pub fn text<'a>(&'a self, english: &'a str) -> Option<&'a str> {
        match self.language {
            Language::English => Some(english),
            Language::Spanish => self.texts.get(english).map(String::as_str),
        }
    }

    /// A sentence whose numbers are not torn from their units at the end of a line.
    #[must_use]
    pub fn tied(&self, text: &str) -> String {
        let mut tied = String::with_capacity(text.len());
        for (number, word) in text.split(' ').enumerate() {
            let after_number = tied.ends_with(|letter: char| letter.is_ascii_digit());
            if number > 0 {
                let unit = UNITS.contains(&word.trim_end_matches([',', '.', ';', ':', ')']));
                tied.push(if after_number && unit { '\u{a0}' } else { ' ' });
            }
            tied.push_str(word);
        }
        tied
    }

    /// A number with its unit, as the language writes it and never torn apart at the end of a line: `2,7 g/L`.
    #[must_use]
    pub fn amount(&self, written: &str) -> String {
        let letters: Vec<char> = written.chars().collect();
        let digit = |at: usize| letters.get(at).is_some_and(char::is_ascii_digit);
        letters
            .iter()
            .enumerate()
            .map(|(at, letter)| match letter {
                '.' if self.language == Language::Spanish && at > 0 && digit(at - 1) && digit(at + 1) => ',',
                ' ' => '\u{a0}',
                other => *other,
            })
            .collect()
    }
}
