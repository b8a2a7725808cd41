//! Tables and paragraphs for a terminal, or plain for a pipe.

use comfy_table::{Cell, Color, ColumnConstraint, ContentArrangement, Table, Width, presets};
use comfy_table::{LineStyle, TableStyle};

use super::Style;
use crate::dip::Verdict;

/// Columns that sentences are wrapped to where the width of a table is free.
const PARAGRAPH: usize = 80;

/// A line under the headings and one at the end; lines between rows would halve what a page shows.
const RULED: TableStyle = TableStyle::new()
    .header_separator(LineStyle::none().fill('─').junction('─'))
    .bottom_border(LineStyle::none().fill('─').junction('─'));

/// Lays out rows under headings. Columns named in `wide` may wrap; the others keep their width.
#[must_use]
pub fn table(style: &Style, headings: &[&str], wide: &[usize], rows: Vec<Vec<Cell>>) -> String {
    let mut table = Table::new();
    table.load_style(if style.lines { RULED } else { presets::NOTHING });
    match style.width {
        Some(width) => {
            table.set_content_arrangement(ContentArrangement::Dynamic);
            table.set_width(u16::try_from(width).unwrap_or(u16::MAX));
        }
        None => {
            table.set_content_arrangement(ContentArrangement::Disabled);
        }
    }
    if style.colour {
        table.enforce_styling();
    } else {
        table.force_no_tty();
    }
    table.set_header(headings.iter().map(|heading| Cell::new(*heading)));
    for row in rows {
        table.add_row(row);
    }
    for (index, column) in table.column_iter_mut().enumerate() {
        // A ruled table brings a blank of its own between columns.
        column.set_padding((0, if style.lines { 1 } else { 2 }));
        column.set_constraint(if wide.contains(&index) {
            ColumnConstraint::LowerBoundary(Width::Fixed(10))
        } else {
            ColumnConstraint::ContentWidth
        });
    }
    // Blanks at the end of a line help nobody.
    table.to_string().lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

/// A cell for a verdict: a word, and a colour where there are colours.
#[must_use]
pub fn verdict(style: &Style, verdict: Verdict) -> Cell {
    let cell = Cell::new(verdict.words());
    if !style.colour {
        return cell;
    }
    cell.fg(match verdict {
        Verdict::Ready => Color::Green,
        Verdict::TestFirst => Color::Yellow,
        Verdict::Short | Verdict::TooWeak => Color::Red,
        Verdict::Held => Color::Magenta,
    })
}

/// A sentence wrapped to the page, its later lines indented under its beginning.
#[must_use]
pub fn sentence(style: &Style, beginning: &str, text: &str) -> String {
    let indent = " ".repeat(beginning.chars().count());
    let width = style.width.unwrap_or(PARAGRAPH).clamp(40, 100);
    let options = textwrap::Options::new(width)
        .initial_indent(beginning)
        .subsequent_indent(&indent)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .break_words(false);
    let mut wrapped = textwrap::fill(&tied(text), options).replace(TIE, " ");
    wrapped.push('\n');
    wrapped
}

/// A blank at which no line is broken.
const TIE: char = '\u{a0}';

/// Ties what belongs together: a number to its unit, and the words of a command in backticks.
fn tied(text: &str) -> String {
    let mut tied = String::with_capacity(text.len());
    let mut in_command = false;
    let mut before = ' ';
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        in_command ^= c == '`';
        let unit_follows = rest.peek().is_some_and(|next| next.is_alphabetic() || matches!(next, '%' | '°'));
        let tie = c == ' ' && (in_command || (before.is_ascii_digit() && unit_follows));
        tied.push(if tie { TIE } else { c });
        before = c;
    }
    tied
}
