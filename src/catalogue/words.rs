//! The languages that things are printed in.

/// A language that things are printed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Language {
    /// English.
    English,
    /// Spanish.
    Spanish,
}

impl Language {
    /// The language with this code.
    #[must_use]
    pub fn read(code: &str) -> Option<Language> {
        match code {
            "en" => Some(Language::English),
            "es" => Some(Language::Spanish),
            _ => None,
        }
    }

    /// Its code: `en`, `es`.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::Spanish => "es",
        }
    }
}
