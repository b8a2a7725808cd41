//! From the bytes of a CSV file to its rows of cells, each with the line it stands on; RFC 4180 and what spreadsheets make of it.

use csv::{Position, ReaderBuilder, StringRecord, Terminator};

use crate::commands::Problem;
use crate::commands::backup::{REGISTER, ZIP};

/// The largest file that is read, bytes. Source: `judgement`; 100,000 rows of 300 characters.
pub const MOST_BYTES: u64 = 32 * 1024 * 1024;

/// How many rows are read. Source: `judgement`.
pub const MOST_ROWS: usize = 100_000;

/// How many columns a list may have. Source: `judgement`.
pub const MOST_COLUMNS: usize = 64;

/// How long a cell may be, characters. Source: `judgement`.
pub const MOST_CHARACTERS: usize = 1000;

/// How to save a list so that it can be read.
const SAVE: &str = "in the spreadsheet save it as CSV in UTF-8";

/// A list that can be read row by row.
#[derive(Debug, Clone)]
pub struct Sheet<'a> {
    /// The headings, as they stand there.
    pub headings: Vec<String>,
    /// The line on which they stand.
    pub line: u64,
    /// What stands between the cells.
    pub separator: Separator,
    /// Everything below a `sep=` line.
    text: &'a str,
    /// Lines before that.
    before: u64,
}

/// What stands between cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separator {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tabulator.
    Tab,
}

impl Separator {
    const ALL: [Separator; 3] = [Separator::Comma, Separator::Semicolon, Separator::Tab];

    /// Its sign.
    #[must_use]
    pub fn sign(self) -> char {
        match self {
            Separator::Comma => ',',
            Separator::Semicolon => ';',
            Separator::Tab => '\t',
        }
    }

    /// Its name.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Separator::Comma => "comma",
            Separator::Semicolon => "semicolon",
            Separator::Tab => "tab",
        }
    }

    fn byte(self) -> u8 {
        match self {
            Separator::Comma => b',',
            Separator::Semicolon => b';',
            Separator::Tab => b'\t',
        }
    }
}

/// One row that holds something.
#[derive(Debug)]
pub struct Record<'r> {
    /// The line on which it begins, counted from 1.
    pub line: u64,
    /// Its cells.
    pub cells: &'r StringRecord,
}

impl<'a> Sheet<'a> {
    /// Finds the headings and what stands between the cells. `name` is what the file is called in a refusal.
    ///
    /// # Errors
    /// For bytes that are no UTF-8, with the row and the byte; for an empty file, and for headings between which as many commas
    /// as semicolons stand.
    pub fn of(name: &str, bytes: &'a [u8]) -> Result<Sheet<'a>, Problem> {
        let text = decoded(name, bytes)?;
        let first = text.trim_start_matches(['\r', '\n']).split(['\r', '\n']).next().unwrap_or_default();
        // Some spreadsheets write what stands between the cells before all else.
        let stated = first.trim().strip_prefix("sep=").map(|sign| {
            let sign = if sign.is_empty() { "\t" } else { sign };
            Separator::ALL.into_iter().find(|known| sign.chars().eq([known.sign()]))
        });
        let (text, before, stated) = match stated {
            Some(Some(separator)) => {
                let end = text.find("sep=").and_then(|start| text[start..].find(['\r', '\n']).map(|at| start + at));
                let rest = &text[end.unwrap_or(text.len())..];
                (rest, lines_in(&text.as_bytes()[..text.len() - rest.len()]), Some(separator))
            }
            Some(None) => {
                return Err(Problem::question(format!("{name}: `{}` is no separator that is read", first.trim()))
                    .hint("accepted: sep=, or sep=; or a tabulator between the cells"));
            }
            None => (text, 0, None),
        };
        let separator = match stated {
            Some(separator) => separator,
            None => separator_of(name, text)?,
        };
        let mut sheet = Sheet { headings: Vec::new(), line: 1, separator, text, before };
        let mut found = None;
        sheet.walk(|record| {
            found = Some((record.line, record.cells.iter().map(|cell| cell.trim().to_owned()).collect::<Vec<_>>()));
            false
        });
        let Some((line, headings)) = found else {
            return Err(Problem::question(format!("{name} holds no row"))
                .hint("row 1 tells what the columns are, as `reagent,strength,amount,place,received`"));
        };
        if headings.len() > MOST_COLUMNS {
            return Err(Problem::question(format!("{name} has {} columns", headings.len()))
                .hint(format!("accepted: up to {MOST_COLUMNS}")));
        }
        (sheet.headings, sheet.line) = (headings, line);
        Ok(sheet)
    }

    /// Calls back with every row below the headings that holds anything, until it answers with false.
    pub fn rows(&self, mut look: impl FnMut(Record<'_>) -> bool) {
        let mut is_heading = true;
        self.walk(|record| {
            if is_heading {
                is_heading = false;
                return true;
            }
            look(record)
        });
    }

    fn walk(&self, mut look: impl FnMut(Record<'_>) -> bool) {
        let bytes = self.text.as_bytes();
        let mut reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.separator.byte())
            .terminator(Terminator::CRLF)
            .from_reader(bytes);
        let mut cells = StringRecord::new();
        let (mut counted, mut line) = (0, 1 + self.before);
        // What can fail is the reading of UTF-8, and the text is that already.
        while matches!(reader.read_record(&mut cells), Ok(true)) {
            let start = cells.position().map_or(0, Position::byte);
            let start = usize::try_from(start).unwrap_or(bytes.len()).clamp(counted, bytes.len());
            // The position of a row is that of the blank lines before it.
            let blank = bytes[start..].iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
            line += lines_in(&bytes[counted..start + blank]);
            counted = start + blank;
            if cells.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            if !look(Record { line, cells: &cells }) {
                return;
            }
        }
    }
}

/// How many lines end in some bytes: by CR LF, LF or CR.
fn lines_in(bytes: &[u8]) -> u64 {
    let ends = bytes.iter().enumerate().filter(|(at, byte)| match byte {
        b'\n' => true,
        b'\r' => bytes.get(at + 1) != Some(&b'\n'),
        _ => false,
    });
    ends.count() as u64
}

/// The text of the bytes, without the mark that may stand before it.
fn decoded<'a>(name: &str, bytes: &'a [u8]) -> Result<&'a str, Problem> {
    let wide = |bytes: &[u8]| {
        let zeros = bytes.iter().take(64).filter(|byte| **byte == 0).count();
        bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) || zeros * 4 > bytes.len().min(64)
    };
    if bytes.len() as u64 > MOST_BYTES {
        return Err(Problem::question(format!("{name} is larger than {} MB", MOST_BYTES / (1024 * 1024)))
            .hint("divide it into several lists"));
    }
    // Files that are kept beside a list, and are none.
    if bytes.starts_with(REGISTER) {
        return Err(Problem::question(format!("{name} is a register, not a list"))
            .because("it begins as every register does")
            .hint(format!(
                "`brimstock --register {name} shelf` looks into it, `brimstock restore {name}` puts it in the place of yours, and `export csv` makes lists of it"
            )));
    }
    if bytes.starts_with(ZIP) {
        return Err(Problem::question(format!("{name} is a zip file, not a list"))
            .because("it begins as every zip file does, also what a spreadsheet keeps as its own")
            .hint(format!(
                "{SAVE}; what `export archive` has written: `brimstock --register NEW.brimstock import archive {name}`"
            )));
    }
    if wide(bytes) {
        return Err(Problem::question(format!("{name} is text in UTF-16, not in UTF-8"))
            .because("its first bytes say so: two to each character")
            .hint(SAVE));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let byte = bytes.get(at).copied().unwrap_or_default();
        let letter =
            if byte >= 0xA0 { format!(", as Windows-1252 writes `{}`", char::from(byte)) } else { String::new() };
        let row = 1 + lines_in(&bytes[..at]);
        Problem::question(format!("{name} is not text in UTF-8: row {row}, byte {} of the file", at + 1))
            .because(format!("the byte 0x{byte:02X} begins no character there{letter}"))
            .hint(SAVE)
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    match text.find('\0') {
        Some(at) => {
            let row = 1 + lines_in(&text.as_bytes()[..at]);
            Err(Problem::question(format!("{name} is no text: row {row} holds a byte 0x00")).hint(SAVE))
        }
        None => Ok(text),
    }
}

/// What stands most often between the headings, quoted ones aside.
fn separator_of(name: &str, text: &str) -> Result<Separator, Problem> {
    let (mut quoted, mut begins) = (false, true);
    let mut counts = [0_usize; 3];
    for c in text.trim_start_matches(['\r', '\n']).chars() {
        let separator = Separator::ALL.iter().position(|separator| separator.sign() == c).filter(|_| !quoted);
        match c {
            // Inside a cell that began without one a quote is only a sign.
            '"' if quoted || begins => quoted = !quoted,
            '\r' | '\n' if !quoted => break,
            _ => {}
        }
        if let Some(index) = separator {
            counts[index] += 1;
        }
        begins = separator.is_some() || (begins && c == ' ');
    }
    let most = counts.iter().copied().max().unwrap_or(0);
    let mut found = Separator::ALL.into_iter().zip(counts).filter(|(_, count)| *count == most).map(|(found, _)| found);
    match (found.next(), found.next()) {
        (Some(one), Some(other)) if most > 0 => Err(Problem::question(format!(
            "{name}: is it a {} or a {} that stands between the cells?",
            one.word(),
            other.word()
        ))
        .because(format!("{most} of each stand in the row of headings"))
        .hint("quote headings that hold one, or write `sep=;` on a line before them")),
        (Some(one), _) => Ok(one),
        (None, _) => Ok(Separator::Comma),
    }
}
