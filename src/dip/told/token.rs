//! Cuts a recipe into numbers, words and signs.

use crate::units::parse::{self, Unreadable};

/// The shapes that a recipe may have, for errors.
pub const SHAPES: &str = "an amount and a volume: `2 tbsp alum per gal`, `5 mL of 3 % peroxide per litre`, `500 g salt in \
                          100 L`; a ratio: `1:19 bleach (5.25 %)`, `1 part bleach to 19 parts water`, `1 in 20`; a share: \
                          `25 % of a 3 % bottle`; a strength: `10 mg/L permanganate`, `1.5 % chlorine`, `3 % peroxide \
                          undiluted`; a word: `dark pink`, `a capful of bleach per litre`; and a time: `30 s`, `2 minutes`, \
                          `for 3 h`";

/// The longest text that is read.
const LONGEST: usize = 300;

/// What a token is.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// A number above 0.
    Number(f64),
    /// A word in small letters.
    Word(String),
    /// Any other sign.
    Sign(char),
}

/// One piece of a text.
#[derive(Debug, Clone, PartialEq)]
pub struct Token {
    /// What it is.
    pub kind: Kind,
    /// Its first byte.
    pub start: usize,
    /// The byte behind it.
    pub end: usize,
}

/// That a recipe cannot be read.
#[must_use]
pub fn unreadable(text: &str, why: impl Into<String>) -> Unreadable {
    Unreadable { text: text.to_owned(), what: "a recipe", why: why.into(), accepted: SHAPES.to_owned() }
}

/// The text with single blanks, without control characters.
///
/// # Errors
/// For a text without words, and one longer than anybody's recipe.
pub fn tidy(text: &str) -> Result<String, Unreadable> {
    let spaced: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let tidied = spaced.split_whitespace().collect::<Vec<_>>().join(" ");
    match tidied.chars().count() {
        0 => Err(unreadable("", "it is empty")),
        1..=LONGEST => Ok(tidied),
        long => {
            let begin: String = tidied.chars().take(40).collect();
            Err(unreadable(&format!("{begin}…"), format!("{long} characters; one recipe has no more than {LONGEST}")))
        }
    }
}

/// The tokens of a text.
///
/// # Errors
/// For a number that is none, is not above 0, or has a comma in it.
pub fn tokens(text: &str) -> Result<Vec<Token>, Unreadable> {
    let mut tokens: Vec<Token> = Vec::new();
    let mut at = 0;
    while let Some(first) = text[at..].chars().next() {
        let rest = &text[at..];
        let behind = rest[first.len_utf8()..].chars().next();
        let (kind, length) = if first.is_whitespace() {
            at += first.len_utf8();
            continue;
        } else if first.is_ascii_digit()
            || "½¼¾⅓⅔⅛".contains(first)
            || (first == '.' && behind.is_some_and(|c| c.is_ascii_digit()))
        {
            let (value, after) =
                parse::number(rest).map_err(|error| unreadable(text, format!("at `{rest}`: {}", error.why)))?;
            (Kind::Number(value), rest.len() - after.len())
        } else if first.is_alphabetic() {
            let length = rest.find(|c: char| !c.is_alphanumeric()).unwrap_or(rest.len());
            (Kind::Word(rest[..length].to_lowercase()), length)
        } else if matches!(first, '-' | '\'' | '’')
            && behind.is_some_and(char::is_alphabetic)
            && matches!(tokens.last(), Some(Token { kind: Kind::Word(_), end, .. }) if *end == at)
        {
            // Inside of a word: `gal-us` is two words that stand together.
            at += first.len_utf8();
            continue;
        } else {
            let minus = matches!(first, '-' | '−') && behind.is_some_and(|c| c.is_ascii_digit());
            if minus && !matches!(tokens.last(), Some(Token { kind: Kind::Number(_), .. })) {
                return Err(unreadable(text, format!("at `{rest}`: a quantity must be above 0")));
            }
            (Kind::Sign(first), first.len_utf8())
        };
        tokens.push(Token { kind, start: at, end: at + length });
        at += length;
    }
    Ok(tokens)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_words_and_signs() {
        let kinds = |text: &str| tokens(text).unwrap().into_iter().map(|token| token.kind).collect::<Vec<_>>();
        let word = |text: &str| Kind::Word(text.to_owned());
        assert_eq!(
            kinds("1½ tbsp/gal-us"),
            [Kind::Number(1.5), word("tbsp"), Kind::Sign('/'), word("gal"), word("us")]
        );
        assert_eq!(kinds("3%H2O2"), [Kind::Number(3.0), Kind::Sign('%'), word("h2o2")]);
        assert_eq!(kinds("2-3 mL"), [Kind::Number(2.0), Kind::Sign('-'), Kind::Number(3.0), word("ml")]);
    }

    #[test]
    fn what_is_no_number() {
        for (text, why) in
            [("1,000 L", "comma"), ("-2 tbsp", "above 0"), ("0 tsp", "above 0"), ("1/0 cup", "divides by 0")]
        {
            assert!(tokens(text).unwrap_err().why.contains(why), "{text}");
        }
        assert!(tidy(" \n ").is_err() && tidy(&"tsp ".repeat(90)).is_err());
    }
}
