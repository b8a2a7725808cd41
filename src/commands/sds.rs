//! `sds`: the suppliers' safety data sheets, copied beside the register under their digests.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use chrono::{Datelike, Months, NaiveDate};
use clap::{Args, Subcommand};
use sha2::{Digest, Sha256};
use tempfile::NamedTempFile;

use super::looking::each_on_shelf;
use super::sight::Sight;
use super::{Kind, Problem, Session, arguments, told};
use crate::register::Writing;
use crate::register::sheet::Sheet;
use crate::register::stock::Stock;

/// The largest file that is taken for a sheet: the longest are some hundred pages, with pictures.
const LARGEST: u64 = 50_000_000;

/// A PDF says what it is within its first bytes.
const BEGINNING: usize = 1024;

/// After how many months a sheet is worth asking the supplier for a newer one: a judgement, no limit of the law.
const OLD_MONTHS: u32 = 36;

/// Keep the suppliers' safety data sheets: attach one to a stock, list them
///
/// The files are copied into the folder beside the register that bears the register's name: `shelf.sheets` beside
/// `shelf.brimstock`. Whoever copies the register copies that folder with it.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  brimstock sds attach HP-1 peroxide.pdf --revised 2029-05-04\n  brimstock sds list --missing"
)]
pub struct Sds {
    /// What to do with them
    #[command(subcommand)]
    pub verb: SdsVerb,
}

/// What can be done with sheets.
#[derive(Debug, Subcommand)]
pub enum SdsVerb {
    /// Attach a supplier's sheet to a stock; a later one takes its place
    Attach(Attach),
    /// List the stocks on the shelf with their sheets
    List(List),
}

/// Attach a supplier's sheet to a stock; a later one takes its place
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock sds attach HP-1 peroxide.pdf --revised 2029-05-04")]
pub struct Attach {
    /// The stock's code
    pub stock: String,
    /// The sheet: a PDF of at most 50 MB; it is copied and stays where it is
    pub file: PathBuf,
    /// The day of its revision, as its first page says
    #[arg(long, value_parser = arguments::day, value_name = "YYYY-MM-DD")]
    pub revised: Option<NaiveDate>,
}

/// List the stocks on the shelf with their sheets
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock sds list --missing")]
pub struct List {
    /// Only the stocks without a sheet, or whose copy is not there as it was attached; exit code 1 if there are any
    #[arg(long)]
    pub missing: bool,
}

/// What `sds`, or `show --sds`, answers.
#[derive(Debug, Clone, PartialEq)]
pub enum Sheets {
    /// A sheet was attached, or was already.
    Attached(Attached),
    /// The stocks with their sheets.
    Listed(Listed),
    /// The sheet of one stock, to be opened.
    One(Kept),
}

/// A stock with the sheet that was attached.
#[derive(Debug, Clone, PartialEq)]
pub struct Attached {
    /// The stock with its sheet.
    pub line: SheetLine,
    /// True if a line was entered; else this very sheet was attached already.
    pub entered: bool,
    /// True if the file was copied, false if a whole copy of it lay there.
    pub copied: bool,
    /// The other stocks of the same reagent that have none.
    pub without: Vec<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
}

/// The stocks on the shelf with their sheets.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// The day.
    pub on: NaiveDate,
    /// True if only those without a whole sheet were asked for.
    pub missing: bool,
    /// How many stocks there are in all.
    pub stocks: usize,
    /// The stocks, in the order of receipt.
    pub lines: Vec<SheetLine>,
}

impl Listed {
    /// False if sheets were found missing when that was the question.
    #[must_use]
    pub fn is_good(&self) -> bool {
        !self.missing || self.lines.is_empty()
    }
}

/// One stock, with its sheet if it has one.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetLine {
    /// Its code.
    pub stock: String,
    /// Key of its reagent.
    pub reagent: String,
    /// Its sheet.
    pub kept: Option<Kept>,
    /// The other stocks on the shelf that have the same file.
    pub shared_with: Vec<String>,
    /// Where it has none: the first stock on the shelf of the same reagent with a whole one, and the copy of that.
    pub may_share: Option<(String, PathBuf)>,
}

impl SheetLine {
    /// True if it has a sheet, and the copy is there as it was attached.
    fn is_whole(&self) -> bool {
        self.kept.as_ref().is_some_and(|kept| kept.copy == Copied::There)
    }
}

/// A sheet that was attached, and what became of its copy.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// What the file was called.
    pub name: String,
    /// Where its copy lies.
    pub path: PathBuf,
    /// SHA-256 of what was attached.
    pub digest: String,
    /// The day of its revision.
    pub revised: Option<NaiveDate>,
    /// Whole months since then; nothing without a day, or for a question about an earlier one.
    pub age_months: Option<u32>,
    /// True if it is so old that a newer one is worth asking for.
    pub old: bool,
    /// What became of the copy.
    pub copy: Copied,
}

/// What became of the copy of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Copied {
    /// It is as it was attached.
    There,
    /// It is gone.
    Missing,
    /// It is not the file that was attached.
    Changed,
    /// It is there and may not be read.
    Unreadable,
}

impl Copied {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Copied::There => "there",
            Copied::Missing => "missing",
            Copied::Changed => "changed",
            Copied::Unreadable => "unreadable",
        }
    }
}

/// The folder of a register's sheets: `shelf.sheets` beside `shelf.brimstock`, as a path that holds from anywhere.
#[must_use]
pub fn folder(register: &Path) -> PathBuf {
    let folder = register.with_extension("sheets");
    std::path::absolute(&folder).unwrap_or(folder)
}

/// SHA-256 of some bytes, in small hexadecimal digits.
///
/// Source: FIPS 180-4. Worked value: `abc` gives `ba7816bf…f20015ad`.
#[must_use]
pub fn digest_of(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// Does what was asked of the sheets.
///
/// # Errors
/// As [`attach`] and [`list`].
pub fn run(session: &Session, arguments: &Sds) -> Result<Sheets, Problem> {
    Ok(match &arguments.verb {
        SdsVerb::Attach(given) => Sheets::Attached(attach(session, given)?),
        SdsVerb::List(given) => Sheets::Listed(list(session, given)?),
    })
}

/// Copies a sheet beside the register and enters it: the copy first, so that no line ever names a file that never was.
///
/// # Errors
/// For a file that is no sheet or cannot be read, a revision in the future, a stock that is unknown or has left, and if
/// the copy or the line cannot be written.
pub fn attach(session: &Session, arguments: &Attach) -> Result<Attached, Problem> {
    if let Some(revised) = arguments.revised.filter(|day| *day > session.day) {
        return Err(Problem::question(format!("--revised {revised} lies in the future: today is {}", session.day))
            .because("a revision is something that has happened")
            .hint("read the date off the first page, or say which day is today with --on YYYY-MM-DD"));
    }
    let bytes = read_pdf(&arguments.file)?;
    let digest = digest_of(&bytes);
    let folder = folder(&session.path);
    let mut register = session.register()?;
    register.write(|writing| {
        let places = writing.places()?;
        let sight = Sight::on_shelf(session, writing, &places, &arguments.stock)?;
        let Stock { id, code, reagent, .. } = &sight.stock;
        if let Some((day, _)) = &sight.state.retired {
            return Err(Problem::question(format!("`{code}` left the shelf on {day}"))
                .because("a sheet is kept for what stands there; nothing was written")
                .hint("`brimstock sds list` names the stocks that do"));
        }
        let sheets = writing.sheets()?;
        let before = sheets.iter().find(|sheet| sheet.stock == *id && sheet.digest == digest);
        // The same file without a date says nothing new; with another date it does.
        let same = before.filter(|sheet| arguments.revised.is_none() || sheet.revised == arguments.revised);
        let mut assumed = Vec::new();
        let told = sheets.iter().find(|sheet| sheet.digest == digest && sheet.revised.is_some());
        let sheet = match same {
            Some(sheet) => sheet.clone(),
            None => Sheet {
                stock: *id,
                name: name_of(&arguments.file, &digest, &sheets),
                digest: digest.clone(),
                bytes: bytes.len() as u64,
                revised: arguments.revised.or(told.and_then(|sheet| sheet.revised)),
                entered_at: session.entered_at.clone(),
            },
        };
        if let Some(day) = sheet.revised.filter(|_| same.is_none() && arguments.revised.is_none()) {
            assumed.push(format!("revised {day}, as it was told of the same file before (else --revised YYYY-MM-DD)"));
        }
        let copied = state_of_copy(&folder, &sheet) != Copied::There;
        if copied {
            copy(&folder, &digest, &bytes)?;
        }
        if same.is_none() {
            writing.add_sheet(&sheet)?;
        }
        let lines = lines(session, writing, |stock| stock.reagent == *reagent)?;
        let without = lines.iter().filter(|line| line.kept.is_none()).map(|line| line.stock.clone()).collect();
        let line = lines.into_iter().find(|line| line.stock == *code).ok_or_else(|| {
            Problem::data(format!("`{code}` is not on the shelf on {}", session.day)).because("nothing was written")
        })?;
        Ok(Attached { line, entered: same.is_none(), copied, without, assumed })
    })
}

/// Lists the stocks on the shelf with their sheets.
///
/// # Errors
/// If the register cannot be read or contradicts itself.
pub fn list(session: &Session, arguments: &List) -> Result<Listed, Problem> {
    let mut lines = session.register()?.read(|reading| lines(session, reading, |_| true))?;
    let stocks = lines.len();
    if arguments.missing {
        lines.retain(|line| !line.is_whole());
    }
    Ok(Listed { on: session.day, missing: arguments.missing, stocks, lines })
}

/// The sheet of a stock, if it has one.
///
/// # Errors
/// If the register cannot be read.
pub fn kept(session: &Session, reading: &Writing<'_>, stock: &Stock) -> Result<Option<Kept>, Problem> {
    let sheet = reading.sheets()?.into_iter().find(|sheet| sheet.stock == stock.id);
    let folder = folder(&session.path);
    Ok(sheet.map(|sheet| kept_of(session.day, &folder, &sheet, state_of_copy(&folder, &sheet))))
}

/// The sheet of a stock, to be opened.
///
/// # Errors
/// For an unknown stock, one without a sheet, and one whose copy is gone.
pub fn one(session: &Session, code: &str) -> Result<Kept, Problem> {
    session.register()?.read(|reading| {
        let stock = arguments::stock(reading, code)?;
        let attach = format!("attach it: `brimstock sds attach {} FILE`", stock.code);
        let kept = kept(session, reading, &stock)?.ok_or_else(|| {
            Problem::data(format!("`{}` has no data sheet", stock.code))
                .hint(format!("ask the supplier for it, then {attach}"))
        })?;
        match kept.copy {
            Copied::There | Copied::Changed => Ok(kept),
            Copied::Missing => {
                Err(Problem::data(format!("the data sheet of `{}` is missing: {}", stock.code, kept.path.display()))
                    .because("a copy lay there when it was attached")
                    .hint(format!("bring the folder back, or {attach}")))
            }
            Copied::Unreadable => Err(Problem::data(format!(
                "the data sheet of `{}` cannot be read: {}",
                stock.code,
                kept.path.display()
            ))
            .hint("see who may read the file and its folder")),
        }
    })
}

/// Every wanted stock on the shelf with its sheet; each copy is looked at once, however many stocks share it.
fn lines(session: &Session, reading: &Writing<'_>, wanted: impl Fn(&Stock) -> bool) -> Result<Vec<SheetLine>, Problem> {
    let folder = folder(&session.path);
    let sheets: BTreeMap<i64, Sheet> = reading.sheets()?.into_iter().map(|sheet| (sheet.stock, sheet)).collect();
    let mut looked: BTreeMap<String, Copied> = BTreeMap::new();
    let mut lines = Vec::new();
    each_on_shelf(session, reading, &reading.places()?, wanted, |sight| {
        let kept = sheets.get(&sight.stock.id).map(|sheet| {
            let copy = *looked.entry(sheet.digest.clone()).or_insert_with(|| state_of_copy(&folder, sheet));
            kept_of(session.day, &folder, sheet, copy)
        });
        let Stock { code, reagent, .. } = sight.stock;
        lines.push(SheetLine { stock: code, reagent, kept, shared_with: Vec::new(), may_share: None });
        Ok(())
    })?;
    let mut by_digest: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut by_reagent: BTreeMap<String, (String, PathBuf)> = BTreeMap::new();
    for line in &lines {
        let Some(kept) = &line.kept else { continue };
        by_digest.entry(kept.digest.clone()).or_default().push(line.stock.clone());
        if kept.copy == Copied::There {
            by_reagent.entry(line.reagent.clone()).or_insert_with(|| (line.stock.clone(), kept.path.clone()));
        }
    }
    for line in &mut lines {
        match &line.kept {
            Some(kept) => {
                line.shared_with = by_digest.get(&kept.digest).cloned().unwrap_or_default();
                line.shared_with.retain(|code| *code != line.stock);
            }
            None => line.may_share = by_reagent.get(&line.reagent).cloned(),
        }
    }
    Ok(lines)
}

fn kept_of(day: NaiveDate, folder: &Path, sheet: &Sheet, copy: Copied) -> Kept {
    let age_months = sheet.revised.and_then(|revised| months_between(revised, day));
    let grown_old = |revised: NaiveDate| old_after(revised).is_some_and(|old| day > old);
    Kept {
        name: sheet.name.clone(),
        path: path_of(folder, &sheet.digest),
        digest: sheet.digest.clone(),
        revised: sheet.revised,
        age_months,
        old: sheet.revised.is_some_and(grown_old),
        copy,
    }
}

/// The last day before a sheet of that revision is old.
pub(super) fn old_after(revised: NaiveDate) -> Option<NaiveDate> {
    revised.checked_add_months(Months::new(OLD_MONTHS))
}

/// Whole months from one day to another; nothing if the other is earlier.
fn months_between(from: NaiveDate, to: NaiveDate) -> Option<u32> {
    let months = 12 * (to.year() - from.year()) + to.month() as i32 - from.month() as i32;
    u32::try_from(months - i32::from(to.day() < from.day())).ok()
}

fn path_of(folder: &Path, digest: &str) -> PathBuf {
    folder.join(format!("{digest}.pdf"))
}

/// What the file is called, in one line; a copy out of the folder keeps the name it was first attached under.
fn name_of(file: &Path, digest: &str, sheets: &[Sheet]) -> String {
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    if name == format!("{digest}.pdf")
        && let Some(sheet) = sheets.iter().find(|sheet| sheet.digest == digest)
    {
        return sheet.name.clone();
    }
    name.chars().map(|c| if c.is_control() { '?' } else { c }).collect()
}

/// Reads a file that is to be a sheet.
fn read_pdf(file: &Path) -> Result<Vec<u8>, Problem> {
    let shown = file.display();
    let cannot = |what: String| Problem { kind: Kind::Store, ..Problem::question(what) };
    let no_sheet = |what: &str| {
        Problem::question(format!("{shown} {what}")).hint("accepted: the supplier's sheet as a PDF of at most 50 MB")
    };
    let unreadable = |error: io::Error| cannot(format!("{shown} cannot be read: {}", told(&error)));
    // Asked before it is opened: a pipe would wait for whoever writes to it.
    let data = fs::metadata(file).map_err(unreadable)?;
    if !data.is_file() {
        let what = if data.is_dir() { "is a folder" } else { "is no ordinary file" };
        return Err(cannot(format!("{shown} cannot be read: it {what}")).hint("name the sheet's file: a PDF"));
    }
    let mut bytes = Vec::new();
    if data.len() <= LARGEST {
        File::open(file).and_then(|open| open.take(LARGEST + 1).read_to_end(&mut bytes)).map_err(unreadable)?;
    }
    if data.len().max(bytes.len() as u64) > LARGEST {
        return Err(no_sheet("is larger than 50 MB"));
    }
    if bytes.is_empty() {
        return Err(no_sheet("is empty"));
    }
    if !bytes[..bytes.len().min(BEGINNING)].windows(5).any(|word| word == b"%PDF-") {
        return Err(no_sheet("is not a PDF").because("`%PDF-` does not stand within its first 1024 bytes"));
    }
    Ok(bytes)
}

/// Looks whether the copy of a sheet is still what was attached.
fn state_of_copy(folder: &Path, sheet: &Sheet) -> Copied {
    let path = path_of(folder, &sheet.digest);
    match fs::metadata(&path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Copied::Missing,
        Err(_) => return Copied::Unreadable,
        Ok(data) if !data.is_file() || data.len() != sheet.bytes => return Copied::Changed,
        Ok(_) => {}
    }
    match fs::read(&path) {
        Ok(bytes) if digest_of(&bytes) == sheet.digest => Copied::There,
        Ok(_) => Copied::Changed,
        Err(_) => Copied::Unreadable,
    }
}

/// Puts the copy in its place, whole or not at all, for its owner's eyes only where the system knows such a thing.
fn copy(folder: &Path, digest: &str, bytes: &[u8]) -> Result<(), Problem> {
    let cannot = |what: String| {
        let problem = Problem { kind: Kind::Store, ..Problem::question(what) };
        problem.because("the sheet was not attached").hint("see who may write there, and how much room is left")
    };
    make_private_folder(folder)
        .map_err(|error| cannot(format!("{} cannot be made: {}", folder.display(), told(&error))))?;
    let path = path_of(folder, digest);
    let write = || -> io::Result<()> {
        // Made readable and writable by its owner alone.
        let mut file = NamedTempFile::with_prefix_in("incoming-", folder)?;
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        file.persist(&path)?;
        #[cfg(unix)]
        File::open(folder)?.sync_all()?;
        Ok(())
    };
    write().map_err(|error| cannot(format!("{} cannot be written: {}", path.display(), told(&error))))
}

fn make_private_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(folder)
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
