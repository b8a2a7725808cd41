//! What the system says of a file, in words of whoever keeps the shelf.

use std::io;

/// The system's number for a disk that does not answer: EIO, 5 on every Unix.
const NO_ANSWER: i32 = 5;

/// Its numbers for too many files that are open at once: ENFILE and EMFILE on every Unix.
const TOO_MANY: [i32; 2] = [23, 24];

/// True if the disk itself has failed.
#[must_use]
pub fn is_disk(error: &io::Error) -> bool {
    cfg!(unix) && error.raw_os_error() == Some(NO_ANSWER)
}

/// Why a file could not be read or written. The system's own words stand in brackets, and only where there are no others.
#[must_use]
pub fn told(error: &io::Error) -> String {
    let words = match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder",
        io::ErrorKind::PermissionDenied => "you have no right to do that there",
        io::ErrorKind::AlreadyExists => "there is something of that name already",
        io::ErrorKind::IsADirectory => "it is a folder, not a file",
        io::ErrorKind::NotADirectory => "something on the way to it is a file, not a folder",
        io::ErrorKind::DirectoryNotEmpty => "the folder is not empty",
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => "the disk is full",
        io::ErrorKind::ReadOnlyFilesystem => "it lies on a disk that can only be read",
        io::ErrorKind::FileTooLarge => "the file would be larger than the disk takes",
        io::ErrorKind::InvalidFilename => "its name is too long",
        io::ErrorKind::UnexpectedEof => "it ends too early",
        io::ErrorKind::InvalidData => "it is no text in UTF-8",
        io::ErrorKind::ResourceBusy => "another program is using it",
        io::ErrorKind::BrokenPipe => "whoever was to read it has gone",
        io::ErrorKind::OutOfMemory => "there is not enough memory for it",
        io::ErrorKind::TimedOut => "the disk or the network did not answer in time",
        _ if is_disk(error) => "the disk failed",
        _ if cfg!(unix) && error.raw_os_error().is_some_and(|number| TOO_MANY.contains(&number)) => {
            "too many files are open at once"
        }
        _ if error.raw_os_error().is_none() => return error.to_string(),
        _ => return format!("the system refused it ({error})"),
    };
    words.to_owned()
}

/// Why nothing new could be made in a folder that is there: a place of the system's own says that it is not.
#[must_use]
pub fn not_made(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "the system lets nobody make anything there".to_owned(),
        _ => told(error),
    }
}

/// Why what the program keeps as JSON does not read; the reader's own words stand in brackets.
#[must_use]
pub fn json(error: &serde_json::Error) -> String {
    format!("it does not read as this program writes it (JSON: {error})")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_known_is_told_without_the_systems_words() {
        // Numbers of Linux and most other Unixes (POSIX <errno.h>): ENOENT, EIO, EACCES, EEXIST, ENOTDIR, EISDIR, EMFILE, ENOSPC, EROFS.
        if cfg!(target_os = "linux") {
            for (number, word) in [
                (2, "no such file"),
                (5, "the disk failed"),
                (13, "no right"),
                (17, "already"),
                (20, "on the way"),
                (21, "a folder"),
                (24, "too many files"),
                (28, "full"),
                (30, "only be read"),
            ] {
                let said = told(&io::Error::from_raw_os_error(number));
                assert!(said.contains(word) && !said.contains("os error"), "{number}: {said}");
            }
            // One that has no words of ours: EPROTO.
            assert!(told(&io::Error::from_raw_os_error(71)).starts_with("the system refused it ("));
        }
        assert_eq!(told(&io::Error::other("a reason of our own")), "a reason of our own");
    }
}
