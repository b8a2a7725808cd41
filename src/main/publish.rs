//! Files of the answers: cards, calendars and drawings, written whole or not at all.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use brimstock::commands::{Kind, Problem};
use brimstock::register::system::not_made;

/// What of a file that is there may be written over.
#[derive(Clone, Copy)]
pub enum Over {
    /// None is.
    Nothing,
    /// Every plain file is.
    Anything,
    /// One that is of our own making; else this is said of it.
    Only(fn(&[u8]) -> bool, &'static str),
}

/// Writes a file whole or not at all; one that is there stays, unless it may be written over. A link at its place is
/// replaced, and what it leads to stays as it is.
pub fn publish(path: &Path, ending: &str, bytes: &[u8], over: Over) -> Result<(), Problem> {
    let store = |what: String| Problem { kind: Kind::Store, ..Problem::question(what) };
    let cannot = |error: io::Error| {
        store(format!("{} cannot be written: {}", path.display(), not_made(&error)))
            .because("nothing was written")
            .hint("accepted: a file on a disk or a stick in which you may write, with room left")
    };
    let refused = |why: &str| store(format!("{} cannot be written: {why}", path.display()));
    if fs::metadata(path).is_ok_and(|there| !there.is_file()) || path.as_os_str() == "-" {
        return Err(
            refused("it is no plain file").hint(format!("name a file that ends in {ending}; nothing was changed"))
        );
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if !folder.is_dir() {
        return Err(refused("its folder is not there").hint("make the folder first, or name another file"));
    }
    if let Over::Only(is_ours, no) = over
        && path.exists()
        && !is_ours(&fs::read(path).map_err(cannot)?)
    {
        return Err(store(format!("{} {no}", path.display())).hint("nothing was changed; choose another name"));
    }
    let mut file = readable().tempfile_in(folder).map_err(cannot)?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(cannot)?;
    if !matches!(over, Over::Nothing) {
        file.persist(path).map_err(|error| cannot(error.error))?;
        return Ok(());
    }
    match file.persist_noclobber(path) {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => {
            Err(store(format!("{} is there already", path.display()))
                .hint("nothing was changed; choose another name with `--out`, or write over it with `--force`"))
        }
        Err(error) => Err(cannot(error.error)),
    }
}

/// A file in the making, which others may read as far as the system's own mask lets them: a card is to be printed.
fn readable() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix("unfinished-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder
}
