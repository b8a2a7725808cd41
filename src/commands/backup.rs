//! `backup` and `restore`: dated copies of the register, and the way back.

use std::path::{Path, PathBuf};
use std::{fs, io};

use chrono::NaiveDate;
use clap::Args;

use super::archive::LOCAL;
use super::settings::Done;
use super::{Kind, Problem, Session, arguments, own_reagents, sds, told};
use crate::register::copy::{Held, set_aside};
use crate::register::system::not_made;
use crate::register::{Register, StoreError};

/// Copy the register while it stays in use, and look the copy through
///
/// Copies stand in a folder beside the register that bears its name, `shelf.copies` beside `shelf.brimstock`, each with its
/// day. A copy on a stick or another machine is worth more than one on the same disk.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  brimstock backup\n  brimstock backup --to /media/stick --keep 10")]
pub struct Backup {
    /// Another folder for the copy
    #[arg(long, value_name = "FOLDER")]
    pub to: Option<PathBuf>,
    /// Remove the oldest copies in that folder beyond this many [default: none is removed]
    #[arg(long, value_name = "NUMBER", value_parser = arguments::whole(1..=u16::MAX))]
    pub keep: Option<u16>,
}

/// Put a copy in the place of the register
///
/// The copy is looked through first, and what stands in its place is kept beside the other copies.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock restore shelf.copies/shelf-2031-03-15.brimstock")]
pub struct Restore {
    /// The copy
    pub file: PathBuf,
}

/// The folder of a register's copies: `shelf.copies` beside `shelf.brimstock`.
fn folder(register: &Path) -> PathBuf {
    register.with_extension("copies")
}

/// The register's name without its ending, for the names of its copies.
fn stem(register: &Path) -> String {
    register.file_stem().map_or_else(|| "register".to_owned(), |stem| stem.to_string_lossy().into_owned())
}

/// Copies the register.
///
/// # Errors
/// If the folder cannot be made, the copy not be written, or the register has a fault.
pub fn backup(session: &Session, arguments: &Backup) -> Result<Done, Problem> {
    let register = session.register()?;
    let (into, stem) = (arguments.to.clone().unwrap_or_else(|| folder(&session.path)), stem(&session.path));
    if fs::metadata(&into).is_ok_and(|there| !there.is_dir()) {
        return Err(no_place(&into, "it is a file, not a folder"));
    }
    make_private(&into).map_err(|error| no_place(&into, &not_made(&error)))?;
    let to = loop {
        let to = free(&into, &stem, session.day);
        match register.back_up(&to) {
            // Another command was quicker with the name.
            Err(StoreError::Exists(_)) => {}
            Err(StoreError::Refused { cause, .. }) => return Err(no_place(&into, &cause)),
            made => break made.map(|()| to)?,
        }
    };
    let mut said = format!("copied to {}, and looked through", to.display());
    let beside = beside(&session.path);
    if !beside.is_empty() {
        said.push_str(&format!("; not in it: {}, which `brimstock export archive` takes along", beside.join(", ")));
    }
    if let Some(keep) = arguments.keep {
        // The new one counts and stays, whatever day it bears.
        let others: Vec<PathBuf> =
            copies(&into, &stem)?.into_iter().map(|(_, copy)| copy).filter(|copy| *copy != to).collect();
        let old = others.len().saturating_sub(usize::from(keep).saturating_sub(1));
        for copy in others.into_iter().take(old) {
            fs::remove_file(&copy)
                .map_err(|error| unusable(&copy, &error).because(format!("the copy {} was made", to.display())))?;
            said.push_str(&format!("; removed {}", copy.display()));
        }
    }
    Ok(Done { said, next: Some(format!("to put it back: `brimstock restore {}`", to.display())) })
}

/// Puts a copy back.
///
/// # Errors
/// If the copy cannot be read or has a fault, or the register not be kept or written.
pub fn restore(session: &Session, arguments: &Restore) -> Result<Done, Problem> {
    let from = &arguments.file;
    let (mut copy, _aside) = Register::open_aside(from).map_err(|error| no_copy(session, from, error))?;
    let faults = copy.faults()?;
    if let Some(first) = faults.first() {
        let what = format!("{} is not put back: {first}", from.display());
        return Err(Problem { kind: Kind::Store, ..Problem::question(what) }
            .because("nothing was changed")
            .hint("`brimstock verify FILE` tells all that is wrong with it; take an older copy"));
    }
    if fs::canonicalize(from).ok() == fs::canonicalize(&session.path).ok() {
        return Err(Problem::question(format!("{} is the register itself", from.display()))
            .hint("name a copy: they stand in the folder beside it"));
    }
    let mut said = format!("{} stands in the place of the register: {}", from.display(), held(&copy.held()?));
    drop(copy);
    let mut kept_as = None;
    if session.path.exists() {
        let into = folder(&session.path);
        make(&into)?;
        let kept = free(&into, &format!("{}-before-restore", stem(&session.path)), session.day);
        set_aside(&session.path, &kept).map_err(|error| unusable(&kept, &error))?;
        let was = Register::open_aside(&kept).and_then(|(mut was, _aside)| was.held());
        let was = was.map_or_else(|_| "which cannot be read".to_owned(), |was| held(&was));
        said.push_str(&format!("; what stood there ({was}) is kept as {}", kept.display()));
        kept_as = Some(kept);
    } else {
        said.push_str("; nothing stood there before");
    }
    Register::put_back(from, &session.path).map_err(|error| match kept_as {
        Some(kept) => {
            let why = format!("the register stands as it was, and is kept as {} too", kept.display());
            Problem::from(error).because(why)
        }
        None => error.into(),
    })?;
    Ok(Done { said, next: Some(looked_at_next(&session.path)) })
}

/// What to do after a copy was put back: first what would stand in the way of every answer.
fn looked_at_next(register: &Path) -> String {
    match own_reagents::catalogue(register) {
        Ok(_) => "`brimstock verify`".to_owned(),
        Err(Problem { what, hint, .. }) => {
            let hint = hint.map_or(String::new(), |hint| format!("; {hint}"));
            format!(
                "reagents of your own are no part of a copy, and there is a fault in them: {what}{hint}; then `brimstock verify`"
            )
        }
    }
}

/// `3 stocks with 12 journal lines and 2 entries of the book of baths, the last day 2031-03-16`.
fn held(held: &Held) -> String {
    let Held { stocks, lines, baths, last } = held;
    let of = |number: usize, one: &str, many: &str| format!("{number} {}", if number == 1 { one } else { many });
    let mut text = format!("{} with {}", of(*stocks, "stock", "stocks"), of(*lines, "journal line", "journal lines"));
    if *baths > 0 {
        text.push_str(&format!(" and {} of the book of baths", of(*baths, "entry", "entries")));
    }
    if let Some(last) = last {
        text.push_str(&format!(", the last day {last}"));
    }
    text
}

/// How a zip file begins (APPNOTE.TXT of the format, 4.3.7: the signature of a member's head).
pub(super) const ZIP: &[u8] = b"PK\x03\x04";

/// How a register begins, as every file of SQLite's does (sqlite.org/fileformat.html, 1.3).
pub(super) const REGISTER: &[u8] = b"SQLite format 3\0";

/// True if a file begins so.
pub(super) fn begins(path: &Path, with: &[u8]) -> bool {
    let mut beginning = vec![0; with.len()];
    let is_file = fs::metadata(path).is_ok_and(|data| data.is_file());
    is_file
        && fs::File::open(path).and_then(|mut file| io::Read::read_exact(&mut file, &mut beginning)).is_ok()
        && beginning == with
}

/// Why a file that was named is no copy, and where the copies are.
pub(super) fn no_copy(session: &Session, file: &Path, error: StoreError) -> Problem {
    let folder = folder(&session.path);
    let newest = copies(&folder, &stem(&session.path)).unwrap_or_default().pop();
    let there = match newest {
        Some((_, newest)) => format!("the newest copy here is {}", newest.display()),
        None => format!("there are no copies in {}; `brimstock backup` makes one", folder.display()),
    };
    let shown = file.display();
    let store = |what: String| Problem { kind: Kind::Store, ..Problem::question(what) }.because("nothing was changed");
    match error {
        StoreError::Missing(_) => store(format!("there is no copy at {shown}")).hint(there),
        StoreError::Foreign(_) | StoreError::Empty(_) if begins(file, ZIP) => {
            store(format!("{shown} is a zip file, not a copy of a register")).hint(format!(
                "what `export archive` has written: `brimstock --register NEW.brimstock import archive {shown}`"
            ))
        }
        StoreError::Foreign(_) => store(format!("{shown} is not a brimstock register")).hint(there),
        StoreError::Empty(_) => store(format!("{shown} is empty")).hint(there),
        StoreError::Refused { .. } if file.is_dir() => store(format!("{shown} is a folder")).hint(there),
        // All that can be said of it is said.
        StoreError::Damaged { .. } => Problem { hint: Some(format!("take another copy; {there}")), ..error.into() },
        other => other.into(),
    }
}

/// A place into which no copy can be written.
fn no_place(folder: &Path, why: &str) -> Problem {
    let what = format!("no copy can be written into {}: {why}", folder.display());
    Problem { kind: Kind::Store, ..Problem::question(what) }.because("the register itself stands as it was").hint(
        "accepted: a folder on a disk or a stick in which you may write; one that is not there is made: `brimstock backup --to FOLDER`",
    )
}

fn make(folder: &Path) -> Result<(), Problem> {
    make_private(folder).map_err(|error| unusable(folder, &error))
}

/// Makes a folder for its owner's eyes only, unless it is there.
fn make_private(folder: &Path) -> std::io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// What lies beside a register and belongs to it.
fn beside(register: &Path) -> Vec<&'static str> {
    let lies = [
        (sds::folder(register), "data sheets"),
        (own_reagents::folder(register), "reagents of your own"),
        (register.with_file_name(LOCAL), "the local rules"),
    ];
    lies.into_iter().filter(|(path, _)| path.exists()).map(|(_, what)| what).collect()
}

/// A name of that day behind all that are there: one that was freed is not taken again, so that the order is that of making.
fn free(folder: &Path, stem: &str, day: NaiveDate) -> PathBuf {
    let of_day = |((other, number), _): (Dated, PathBuf)| (other == day).then_some(number);
    let last = copies(folder, stem).unwrap_or_default().into_iter().filter_map(of_day).max().unwrap_or(0);
    let named = |number: u32| match number {
        1 => folder.join(format!("{stem}-{day}.brimstock")),
        number => folder.join(format!("{stem}-{day}-{number}.brimstock")),
    };
    (last.saturating_add(1)..).map(named).find(|path| is_free(path)).unwrap_or_default()
}

/// True if nothing bears the name; a link that leads nowhere does.
fn is_free(path: &Path) -> bool {
    fs::symlink_metadata(path).is_err_and(|error| error.kind() == std::io::ErrorKind::NotFound)
}

/// The day and the number of a copy.
type Dated = (NaiveDate, u32);

/// The copies of a register in a folder, the oldest first: by day, then by number. Nothing else is ever touched.
fn copies(folder: &Path, stem: &str) -> Result<Vec<(Dated, PathBuf)>, Problem> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).map_err(|error| unusable(folder, &error))? {
        let path = entry.map_err(|error| unusable(folder, &error))?.path();
        if let Some(key) = path.file_name().and_then(|name| dated(name.to_str()?, stem)) {
            found.push((key, path));
        }
    }
    found.sort();
    Ok(found)
}

/// The day and the number in the name of a copy.
fn dated(name: &str, stem: &str) -> Option<Dated> {
    let rest = name.strip_prefix(stem)?.strip_prefix('-')?.strip_suffix(".brimstock")?;
    let day: NaiveDate = rest.get(..10)?.parse().ok()?;
    match rest.get(10..)? {
        "" => Some((day, 1)),
        number => Some((day, number.strip_prefix('-')?.parse().ok()?)),
    }
}

fn unusable(path: &Path, error: &std::io::Error) -> Problem {
    Problem { kind: Kind::Store, ..Problem::question(format!("{} cannot be used: {}", path.display(), told(error))) }
        .because("nothing was written")
        .hint("see who may read and write there, and how much room is left")
}
