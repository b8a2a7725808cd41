//! A keeper's own reagents: the folder beside the register, and `reagents check`.

use std::fs;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

use clap::Args;

use super::{Kind, Problem, Session, told};
use crate::catalogue::{Catalogue, CatalogueError, Reagent};
use crate::chem::formula::molar_mass;
use crate::chem::{Substance, density, solubility};
use crate::units::Temperature;

/// Check a reagent's file of your own: every fault at once
///
/// A file is named after its key, as `oxalic-acid.toml`, and stands in the folder beside the register that bears the
/// register's name: `shelf.reagents` beside `shelf.brimstock`. The program's own files show what one looks like.
#[derive(Debug, Args)]
#[command(after_help = "Example: brimstock reagents check shelf.reagents/oxalic-acid.toml")]
pub struct Check {
    /// The file
    pub file: PathBuf,
}

/// A keeper's file that was looked through.
#[derive(Debug, Clone, PartialEq)]
pub struct LookedThrough {
    /// The file.
    pub file: String,
    /// What is wrong: key path, and what is accepted.
    pub faults: Vec<(String, String)>,
}

/// The folder of a register's own reagents: `shelf.reagents` beside `shelf.brimstock`.
#[must_use]
pub fn folder(register: &Path) -> PathBuf {
    register.with_extension("reagents")
}

/// The catalogue for a register: the shipped one, with the keeper's own reagents where there are some.
///
/// # Errors
/// If a file cannot be read, or has a fault.
pub fn catalogue(register: &Path) -> Result<&'static Catalogue, Problem> {
    let mut own = Vec::new();
    for file in files(register)? {
        own.push((file.display().to_string(), read(&file)?));
    }
    if own.is_empty() {
        return Ok(Catalogue::shipped()?);
    }
    let faulty = |file: &str, said: String| {
        Problem::data(said)
            .because("a reagent of your own must be right before anything is computed with it")
            .hint(format!("`brimstock reagents check {file}` tells every fault of the file"))
    };
    let catalogue =
        Catalogue::with_own(&own).map_err(|error: CatalogueError| faulty(&error.file, error.to_string()))?;
    for (file, text) in &own {
        if let Some((key, what)) = uncountable(text, true) {
            return Err(faulty(file, format!("{file}: {key}: {what}")));
        }
    }
    // Read once a run, and wanted to its end.
    Ok(Box::leak(Box::new(catalogue)))
}

/// The shipped catalogue with those of the keeper's own files that are right, and every fault of the others.
///
/// # Errors
/// If the shipped one cannot be read.
pub fn as_far_as_right(register: &Path) -> Result<(&'static Catalogue, Vec<String>), Problem> {
    let (mut own, mut faults) = (Vec::new(), Vec::new());
    let shipped = Catalogue::shipped()?;
    let files = files(register).unwrap_or_else(|problem| {
        faults.push(problem.hint.map_or(problem.what.clone(), |hint| format!("{}: {hint}", problem.what)));
        Vec::new()
    });
    for file in files {
        let name = file.display().to_string();
        match read(&file) {
            Err(problem) => faults.push(problem.what),
            Ok(text) => {
                let mut said: Vec<String> =
                    shipped.faults(&name, &text).into_iter().map(|error| error.to_string()).collect();
                said.extend(uncountable(&text, said.is_empty()).map(|(key, what)| format!("{name}: {key}: {what}")));
                if said.is_empty() {
                    own.push((name, text));
                }
                faults.extend(said);
            }
        }
    }
    // Right by themselves, two may still want the same code.
    loop {
        if own.is_empty() {
            return Ok((shipped, faults));
        }
        match Catalogue::with_own(&own) {
            // Read once a run, and wanted to its end.
            Ok(catalogue) => return Ok((Box::leak(Box::new(catalogue)), faults)),
            Err(error) => {
                let others = own.len();
                own.retain(|(name, _)| *name != error.file);
                if own.len() == others {
                    own.clear();
                }
                faults.push(error.to_string());
            }
        }
    }
}

/// The keeper's own files for a register, by name.
fn files(register: &Path) -> Result<Vec<PathBuf>, Problem> {
    let folder = folder(register);
    let cannot = |error: std::io::Error| unreadable(&folder, &error);
    match fs::metadata(&folder) {
        Ok(there) if there.is_dir() => {}
        Err(error) if error.kind() == ErrorKind::NotFound && fs::symlink_metadata(&folder).is_err() => {
            return Ok(Vec::new());
        }
        Err(error) if error.kind() != ErrorKind::NotFound => return Err(cannot(error)),
        // A file, or a link that leads nowhere.
        _ => {
            return Err(Problem { kind: Kind::Store, ..Problem::question(format!("{} is no folder", folder.display())) }
                .because("that is where the files of your own reagents stand, and without them nothing is computed as you told it")
                .hint("accepted: a folder of files as `oxalic-acid.toml`, or nothing of that name; move aside what stands there"));
        }
    }
    let mut files: Vec<PathBuf> = Vec::new();
    for entry in fs::read_dir(&folder).map_err(cannot)? {
        files.push(entry.map_err(cannot)?.path());
    }
    files.retain(|file| file.extension().is_some_and(|end| end == "toml"));
    files.sort();
    Ok(files)
}

/// Looks a file through.
///
/// # Errors
/// If it cannot be read.
pub fn check(session: &Session, arguments: &Check) -> Result<LookedThrough, Problem> {
    let text = read(&arguments.file)?;
    let file = arguments.file.display().to_string();
    let mut faults: Vec<(String, String)> =
        session.catalogue.faults(&file, &text).into_iter().map(|error| (error.key, error.what)).collect();
    faults.extend(uncountable(&text, faults.is_empty()));
    Ok(LookedThrough { file, faults })
}

/// The most bytes of a reagent's file; the longest shipped one has a hundredth of it.
const LARGEST: u64 = 1_000_000;

/// What the catalogue cannot see in a reagent's file, knowing no chemistry: a formula that has no molar mass; and in a file that
/// is right but for that, a density model that gives no densities, or a solubility that is none.
#[must_use]
pub fn uncountable(text: &str, is_right: bool) -> Option<(String, String)> {
    let table: toml::Table = text.parse().ok()?;
    if let Err(error) = molar_mass(table.get("formula")?.get("value")?.as_str()?) {
        return Some(("formula".to_owned(), error.to_string()));
    }
    let reagent: Reagent = table.try_into().ok().filter(|_| is_right)?;
    let substance = Substance::of(&reagent);
    if let Err(error) = density::is_one(substance) {
        return Some(("solution.density".to_owned(), error.to_string()));
    }
    let points = &reagent.solution.as_ref()?.solubility.as_ref()?.points;
    points.iter().find_map(|[celsius, figure]| {
        let what = match solubility::saturated(substance, Temperature::celsius(*celsius)) {
            Ok(found) if found.per_100_g_added_water > 0.0 && found.per_100_g_added_water.is_finite() => return None,
            Ok(_) => format!("{figure} at {celsius} °C is nothing that water can hold"),
            Err(error) => error.to_string(),
        };
        Some(("solution.solubility".to_owned(), what))
    })
}

fn read(file: &Path) -> Result<String, Problem> {
    let cannot = |error: std::io::Error| unreadable(file, &error);
    let refused = |why: String| {
        Problem { kind: Kind::Store, ..Problem::question(format!("{}: {why}", file.display())) }
            .hint(format!("accepted: a plain file of text in UTF-8, of at most {} kB", LARGEST / 1000))
    };
    // A pipe would be waited for, and a device has no end.
    if !fs::metadata(file).map_err(cannot)?.is_file() {
        return Err(refused("is no plain file".to_owned()));
    }
    let mut bytes = Vec::new();
    fs::File::open(file).and_then(|open| open.take(LARGEST + 1).read_to_end(&mut bytes)).map_err(cannot)?;
    if bytes.len() as u64 > LARGEST {
        return Err(refused("is larger than a reagent's file can be".to_owned()));
    }
    String::from_utf8(bytes).map_err(|_| refused("is no text in UTF-8".to_owned()))
}

fn unreadable(path: &Path, error: &std::io::Error) -> Problem {
    Problem { kind: Kind::Store, ..Problem::question(format!("{} cannot be read: {}", path.display(), told(error))) }
        .because("a reagent of your own must be right before anything is computed with it")
        .hint("see who may read it; or move it aside")
}
