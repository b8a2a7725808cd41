//! `backup` and `restore`: dated copies of the register, and the way back.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::Args;

use super::archive::LOCAL;
use super::settings::Done;
use super::{Kind, Problem, Session, own_reagents, sds, told};
use crate::register::copy::set_aside;
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
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..))]
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
    make(&into)?;
    let to = loop {
        let to = free(&into, &stem, session.day);
        match register.back_up(&to) {
            // Another command was quicker with the name.
            Err(StoreError::Exists(_)) => {}
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
    let faults = Register::open_aside(from)?.0.faults()?;
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
    let mut said = format!("{} stands in the place of the register", from.display());
    let mut kept_as = None;
    if session.path.exists() {
        let into = folder(&session.path);
        make(&into)?;
        let kept = free(&into, &format!("{}-before-restore", stem(&session.path)), session.day);
        set_aside(&session.path, &kept).map_err(|error| unusable(&kept, &error))?;
        said.push_str(&format!("; what stood there is kept as {}", kept.display()));
        kept_as = Some(kept);
    }
    Register::put_back(from, &session.path).map_err(|error| match kept_as {
        Some(kept) => {
            let why = format!("the register stands as it was, and is kept as {} too", kept.display());
            Problem::from(error).because(why)
        }
        None => error.into(),
    })?;
    Ok(Done { said, next: Some("`brimstock verify`".to_owned()) })
}

fn make(folder: &Path) -> Result<(), Problem> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(|error| unusable(folder, &error))
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
