//! Text into lines: breaks where Unicode allows them, cuts a word that is wider than the line.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

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

/// As many paragraphs are remembered; then memory begins anew.
const REMEMBERED: usize = 2048;

thread_local! {
    /// Paragraphs that were measured before: a label is set at many sizes, and the next one says much the same.
    static MEASURED: RefCell<HashMap<String, Rc<Measured>>> = RefCell::default();
}

/// What of a paragraph is the same at every size.
struct Measured {
    /// All of its text.
    text: String,
    /// Where each character begins, in bytes, and where the last one ends.
    starts: Vec<usize>,
    /// How far each character ends from the beginning, in thousandths of the size: every stretch is then one subtraction.
    ends: Vec<u64>,
    /// Where a line may end, counted in characters, and whether it must.
    breaks: Vec<(usize, bool)>,
    /// Where each span ends, counted in characters.
    spans: Vec<usize>,
}

impl Measured {
    /// The measures of a paragraph, from memory where it is there.
    fn of(spans: &[Span]) -> Rc<Measured> {
        let mut key = String::new();
        for span in spans {
            // No text has control characters.
            key.push(if span.face == Face::Bold { '\u{1}' } else { '\u{2}' });
            key.push_str(&span.text);
        }
        MEASURED.with_borrow_mut(|known| {
            if let Some(found) = known.get(&key) {
                return Rc::clone(found);
            }
            if known.len() >= REMEMBERED {
                known.clear();
            }
            Rc::clone(known.entry(key).or_insert_with(|| Rc::new(Measured::anew(spans))))
        })
    }

    fn anew(spans: &[Span]) -> Measured {
        let text: String = spans.iter().map(|span| span.text.as_str()).collect();
        let starts: Vec<usize> = text.char_indices().map(|(at, _)| at).chain([text.len()]).collect();
        let (mut ends, mut until) = (vec![0], Vec::new());
        let mut end = 0;
        for span in spans {
            for letter in span.text.chars() {
                end += span.face.thousandths(letter);
                ends.push(end);
            }
            until.push(ends.len() - 1);
        }
        let breaks = linebreaks(&text).map(|(at, kind)| {
            let letters = starts.binary_search(&at).unwrap_or_else(|next| next);
            (letters, kind == BreakOpportunity::Mandatory && at < text.len())
        });
        let breaks = breaks.filter(|(at, must)| *must || !holds(&text, &starts, *at)).collect();
        Measured { text, starts, ends, breaks, spans: until }
    }

    fn letters(&self) -> usize {
        self.starts.len() - 1
    }

    fn advance(&self, from: usize, to: usize, size: f64) -> f64 {
        millimetres(self.ends[to] - self.ends[from], size)
    }

    fn slice(&self, from: usize, to: usize) -> &str {
        &self.text[self.starts[from]..self.starts[to]]
    }

    /// The end of a stretch without the blanks at its end.
    fn trimmed(&self, from: usize, to: usize) -> usize {
        let blanks = self.slice(from, to).bytes().rev().take_while(|byte| *byte == b' ').count();
        to - blanks
    }

    /// Where an over-long word is cut: as much of it as the line holds, at least one character, never before a mark that
    /// stands on the character before it.
    fn cut(&self, from: usize, to: usize, size: f64, width: f64) -> usize {
        let stands_on = |end: usize| self.text[self.starts[end]..].chars().next().is_some_and(is_combining_mark);
        let mut ends = (from + 1..=to).filter(|end| !stands_on(*end));
        let first = ends.next().unwrap_or(to);
        ends.take_while(|end| self.advance(from, *end, size) <= width + 1e-9).last().unwrap_or(first)
    }

    fn line(&self, from: usize, to: usize, spans: &[Span], size: f64) -> Line {
        let mut begin = from;
        let mut parts = Vec::new();
        for (span, until) in spans.iter().zip(&self.spans) {
            let end = to.min(*until);
            if end > begin {
                let text = self.slice(begin, end).to_owned();
                parts.push((Span { text, face: span.face, ink: span.ink }, self.advance(begin, end, size)));
                begin = end;
            }
        }
        Line { width: parts.iter().map(|(_, width)| width).sum(), spans: parts }
    }
}

/// The lines of a text at a size in points, none wider than `width` mm.
///
/// Breaks by Unicode's line-breaking rules, as many words on a line as it holds. Source: UAX 14.
#[must_use]
pub fn lines(spans: &[Span], size: f64, width: f64) -> Vec<Line> {
    let measured = Measured::of(spans);
    let mut found = Vec::new();
    let (mut start, mut good) = (0, 0);
    for (to, must) in &measured.breaks {
        while measured.advance(start, measured.trimmed(start, *to), size) > width + 1e-9 {
            if good == start {
                good = measured.cut(start, *to, size, width);
            }
            found.push((start, measured.trimmed(start, good)));
            start = good;
        }
        good = *to;
        if *must {
            found.push((start, measured.trimmed(start, *to)));
            start = *to;
        }
    }
    let letters = measured.letters();
    if start < letters || found.is_empty() {
        found.push((start, measured.trimmed(start, letters)));
    }
    found.into_iter().map(|(from, to)| measured.line(from, to, spans, size)).collect()
}

/// True if a line must not end there, though Unicode lets it: inside a date and inside a unit such as `w/w`.
fn holds(text: &str, starts: &[usize], at: usize) -> bool {
    let letter = |at: usize| starts.get(at).and_then(|from| text[*from..].chars().next());
    let (before, after) = (at.checked_sub(1).and_then(letter), letter(at));
    match (before, after) {
        (Some('-'), Some(after)) => after.is_ascii_digit(),
        (Some('/'), Some(after)) => {
            after.is_alphabetic() && at.checked_sub(3).and_then(letter).is_none_or(|far| !far.is_alphabetic())
        }
        _ => false,
    }
}
