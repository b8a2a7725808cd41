//! Text into lines: breaks where Unicode allows them, cuts a word that is wider than the line.

use unicode_linebreak::{BreakOpportunity, linebreaks};
use unicode_normalization::char::is_combining_mark;

use super::font::{composed, millimetres};
use super::{Face, Ink};

/// A stretch of text in one face and ink.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// The text.
    pub text: String,
    /// Its face.
    pub face: Face,
    /// Its ink.
    pub ink: Ink,
}

impl Span {
    /// A stretch in black.
    #[must_use]
    pub fn new(face: Face, text: &str) -> Span {
        Span { text: composed(text), face, ink: Ink::Black }
    }
}

/// A line: its stretches and its width, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The stretches, each with its width.
    pub spans: Vec<(Span, f64)>,
    /// Width of all, without blanks at the end.
    pub width: f64,
}

/// The lines of a text at a size in points, none wider than `width` mm.
///
/// Breaks by Unicode's line-breaking rules, as many words on a line as it holds. Source: UAX 14.
#[must_use]
pub fn lines(spans: &[Span], size: f64, width: f64) -> Vec<Line> {
    let letters: Vec<(char, usize)> =
        spans.iter().enumerate().flat_map(|(at, span)| span.text.chars().map(move |letter| (letter, at))).collect();
    // How far each letter ends from the beginning, in thousandths of the size: every stretch is then one subtraction.
    let ends: Vec<u64> = std::iter::once(0)
        .chain(letters.iter().scan(0, |end, (letter, at)| {
            *end += spans[*at].face.thousandths(*letter);
            Some(*end)
        }))
        .collect();
    let advance = |from: usize, to: usize| -> f64 { millimetres(ends[to] - ends[from], size) };
    let trimmed = |from: usize, to: usize| -> usize {
        let mut end = to;
        while end > from && letters[end - 1].0 == ' ' {
            end -= 1;
        }
        end
    };
    let mut found = Vec::new();
    let (mut start, mut good) = (0, 0);
    for (to, must) in breaks(spans) {
        while advance(start, trimmed(start, to)) > width + 1e-9 {
            if good == start {
                good = cut(&letters, start, to, width, &advance);
            }
            found.push((start, trimmed(start, good)));
            start = good;
        }
        good = to;
        if must {
            found.push((start, trimmed(start, to)));
            start = to;
        }
    }
    if start < letters.len() || found.is_empty() {
        found.push((start, trimmed(start, letters.len())));
    }
    found.into_iter().map(|(from, to)| line(&letters[from..to], spans, size)).collect()
}

/// Where a line may end, counted in characters, and whether it must.
fn breaks(spans: &[Span]) -> Vec<(usize, bool)> {
    let text: String = spans.iter().map(|span| span.text.as_str()).collect();
    let mut ends = Vec::new();
    let (mut bytes, mut letters) = (0, 0);
    for (at, kind) in linebreaks(&text) {
        letters += text[bytes..at].chars().count();
        bytes = at;
        ends.push((letters, kind == BreakOpportunity::Mandatory && at < text.len()));
    }
    ends
}

/// Where an over-long word is cut: as much of it as the line holds, at least one character, never before a mark that stands
/// on the character before it.
fn cut(letters: &[(char, usize)], from: usize, to: usize, width: f64, advance: &impl Fn(usize, usize) -> f64) -> usize {
    let mut ends = (from + 1..=to).filter(|end| letters.get(*end).is_none_or(|(next, _)| !is_combining_mark(*next)));
    let first = ends.next().unwrap_or(to);
    ends.take_while(|end| advance(from, *end) <= width + 1e-9).last().unwrap_or(first)
}

fn line(letters: &[(char, usize)], spans: &[Span], size: f64) -> Line {
    let mut parts: Vec<(usize, String)> = Vec::new();
    for (letter, at) in letters {
        match parts.last_mut() {
            Some((same, text)) if same == at => text.push(*letter),
            _ => parts.push((*at, letter.to_string())),
        }
    }
    let spans: Vec<(Span, f64)> = parts
        .into_iter()
        .map(|(at, text)| {
            let width = spans[at].face.width(&text, size);
            (Span { text, ..spans[at].clone() }, width)
        })
        .collect();
    Line { width: spans.iter().map(|(_, width)| width).sum(), spans }
}
