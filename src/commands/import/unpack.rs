//! An archive looked through before anything of it is believed: its shape, its names, its sizes, its list, every digest.
//!
//! Nothing is unpacked here, and no name of the archive ever becomes a path: a name stands for a member of the fixed list, or
//! the archive is refused.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};

use zip::ZipArchive;
use zip::result::ZipError;

use crate::commands::archive::{
    FORMAT, LARGEST_TOTAL, Listed, MANIFEST, MOST_MEMBERS, Manifest, Measured, Member, WHAT, unusable,
};
use crate::commands::backup::{REGISTER, begins};
use crate::commands::{Problem, told};
use crate::register::system::json;
use crate::register::tables::LEVEL;

/// How much is read at a time.
const PART: usize = 65536;

/// An archive that was looked through.
#[derive(Debug)]
pub struct Opened {
    /// Its file.
    pub path: PathBuf,
    zip: ZipArchive<BufReader<File>>,
    /// Its list.
    pub manifest: Manifest,
}

impl Opened {
    /// Opens an archive and looks all of it through.
    ///
    /// # Errors
    /// If it cannot be read, is none of ours or a newer one's, or anything in it is not as its list says.
    pub fn open(path: &Path) -> Result<Opened, Problem> {
        let shown = path.display();
        let unreadable = |error: io::Error| unusable(format!("{shown} cannot be read: {}", told(&error)));
        // Asked before it is opened: a pipe would wait for whoever writes to it.
        if !fs::metadata(path).map_err(unreadable)?.is_file() {
            return Err(unusable(format!("{shown} is no plain file")).hint("name an archive"));
        }
        if begins(path, REGISTER) {
            return Err(unusable(format!("{shown} is a register, not an archive"))
                .because("nothing was imported")
                .hint(format!(
                    "`brimstock --register {shown} shelf` looks into it, and `brimstock restore {shown}` puts it in the place of yours"
                )));
        }
        let file = File::open(path).map_err(unreadable)?;
        let zip = ZipArchive::new(BufReader::new(file)).map_err(|error| foreign(path, &said(error)))?;
        let manifest = Manifest {
            what: String::new(),
            format: 0,
            register_level: 0,
            made_on: String::new(),
            count: 0,
            members: Vec::new(),
        };
        let mut opened = Opened { path: path.to_owned(), zip, manifest };
        opened.shape()?;
        opened.list()?;
        opened.agrees()?;
        opened.digests()?;
        Ok(opened)
    }

    /// Members under names from the fixed list, once each, none beyond its limit, nothing around them.
    fn shape(&mut self) -> Result<(), Problem> {
        let path = self.path.clone();
        let bad = |what: String| damaged(&path, what);
        if self.zip.len() > MOST_MEMBERS {
            return Err(bad(format!("it has {} members; at most {MOST_MEMBERS} are read", self.zip.len())));
        }
        if self.zip.has_duplicate_names() {
            return Err(bad("a name stands in it twice".to_owned()));
        }
        if self.zip.offset() != 0 {
            return Err(bad("something stands before it".to_owned()));
        }
        let mut total: u64 = 0;
        for index in 0..self.zip.len() {
            let entry = self.zip.by_index_raw(index).map_err(|error| bad(said(error)))?;
            let name = String::from_utf8_lossy(entry.name_raw()).into_owned();
            let member =
                Member::named(&name).ok_or_else(|| bad(format!("`{}` is no name of a member", name.escape_debug())))?;
            if entry.is_dir() || entry.is_symlink() || !entry.is_file() {
                return Err(bad(format!("`{name}` is no plain file")));
            }
            if entry.encrypted() {
                return Err(bad(format!("`{name}` is locked")));
            }
            let largest = member.largest();
            if entry.size() > largest {
                return Err(bad(format!("`{name}` would have {} bytes; at most {largest} are read", entry.size())));
            }
            total = total.saturating_add(entry.size());
        }
        if total > LARGEST_TOTAL {
            return Err(bad(format!("its members would have {total} bytes; at most {LARGEST_TOTAL} are read")));
        }
        if self.zip.has_overlapping_files().map_err(|error| bad(said(error)))? {
            return Err(bad("two members lie over each other".to_owned()));
        }
        Ok(())
    }

    /// Reads the list, and whether this program can read what it lists.
    fn list(&mut self) -> Result<(), Problem> {
        let path = self.path.clone();
        if self.zip.index_for_name(MANIFEST).is_none() {
            return Err(foreign(&path, &format!("it has no `{MANIFEST}`")));
        }
        let mut text = Vec::new();
        self.each_part(&Member::Manifest, |part| {
            text.extend_from_slice(part);
            Ok(())
        })?;
        let loose: serde_json::Value =
            serde_json::from_slice(&text).map_err(|error| damaged(&path, format!("`{MANIFEST}`: {}", json(&error))))?;
        if loose["what"] != WHAT {
            return Err(foreign(&path, "its list does not say so"));
        }
        let newer = |what: &str, found: u64, known: u64| {
            unusable(format!(
                "{} was written by a newer brimstock ({what} {found}; this program knows {known})",
                path.display()
            ))
            .because("nothing was imported")
            .hint("use the newer program for it")
        };
        match loose["format"].as_u64() {
            Some(found) if found > u64::from(FORMAT) => return Err(newer("format", found, u64::from(FORMAT))),
            Some(1..) => {}
            _ => return Err(damaged(&path, format!("`{MANIFEST}`: no format"))),
        }
        match loose["register_level"].as_u64() {
            Some(found) if found > LEVEL as u64 => return Err(newer("register version", found, LEVEL as u64)),
            Some(1..) => {}
            _ => return Err(damaged(&path, format!("`{MANIFEST}`: no register level"))),
        }
        // Out of the text itself: a field that stands there twice is a fault.
        self.manifest =
            serde_json::from_slice(&text).map_err(|error| damaged(&path, format!("`{MANIFEST}`: {}", json(&error))))?;
        Ok(())
    }

    /// Every member listed and no other, each as long as the list says.
    fn agrees(&mut self) -> Result<(), Problem> {
        let path = self.path.clone();
        let bad = |what: String| damaged(&path, what);
        if self.manifest.count != self.manifest.members.len() {
            return Err(bad(format!("`{MANIFEST}`: it counts {} members", self.manifest.count)));
        }
        let mut listed = BTreeSet::new();
        for Listed { name, bytes, sha256, rows } in self.manifest.members.clone() {
            let member = match Member::named(&name) {
                Some(Member::Manifest) | None => {
                    return Err(bad(format!("`{MANIFEST}` lists `{}`", name.escape_debug())));
                }
                Some(member) => member,
            };
            if !listed.insert(name.clone()) {
                return Err(bad(format!("`{MANIFEST}` lists `{name}` twice")));
            }
            let fits = match &member {
                Member::Sheet(digest) => *digest == sha256 && rows.is_none(),
                Member::Table(_) => rows.is_some(),
                _ => rows.is_none(),
            };
            if !fits {
                return Err(bad(format!("`{MANIFEST}`: what it says of `{name}` cannot be")));
            }
            let index = self.zip.index_for_name(&name).ok_or_else(|| bad(format!("`{name}` is not in it")))?;
            let size = self.zip.by_index_raw(index).map_err(|error| bad(said(error)))?.size();
            if size != bytes {
                return Err(bad(format!("`{name}` would have {size} bytes, {bytes} are listed")));
            }
        }
        for index in 0..self.zip.len() {
            let entry = self.zip.by_index_raw(index).map_err(|error| bad(said(error)))?;
            let name = String::from_utf8_lossy(entry.name_raw()).into_owned();
            if name != MANIFEST && !listed.contains(&name) {
                return Err(bad(format!("`{name}` is not listed")));
            }
        }
        Ok(())
    }

    /// Every member reads as it was written.
    fn digests(&mut self) -> Result<(), Problem> {
        for Listed { name, bytes, sha256, .. } in self.manifest.members.clone() {
            let Some(member) = Member::named(&name) else { continue };
            let mut measured = Measured::default();
            self.each_part(&member, |part| {
                measured.take(part);
                Ok(())
            })?;
            if measured.bytes != bytes || measured.digest() != sha256 {
                return Err(damaged(&self.path, format!("`{name}` does not read as it was written")));
            }
        }
        Ok(())
    }

    /// What a member holds, part by part; never more than its limit.
    ///
    /// # Errors
    /// If it cannot be read, is longer than it may be, or what the visitor says.
    pub fn each_part(
        &mut self,
        member: &Member,
        mut visit: impl FnMut(&[u8]) -> Result<(), Problem>,
    ) -> Result<(), Problem> {
        let (path, name) = (self.path.clone(), member.name());
        let mut reader = self.reader(member)?;
        let (mut part, mut read) = (vec![0; PART], 0);
        loop {
            let length = reader
                .read(&mut part)
                .map_err(|error| damaged(&path, format!("`{name}` cannot be unpacked: {}", told(&error))))?;
            read += length as u64;
            if read > member.largest() {
                return Err(damaged(&path, format!("`{name}` has more than {} bytes", member.largest())));
            }
            if length == 0 {
                return Ok(());
            }
            visit(&part[..length])?;
        }
    }

    /// A member, to be read.
    ///
    /// # Errors
    /// If it is not there or cannot be read.
    pub fn reader(&mut self, member: &Member) -> Result<impl Read + '_, Problem> {
        let (path, name) = (self.path.clone(), member.name());
        let entry = self.zip.by_name(&name).map_err(|error| damaged(&path, format!("`{name}`: {}", said(error))))?;
        Ok(entry.take(member.largest() + 1))
    }
}

/// An archive that is not as it was written.
pub(super) fn damaged(path: &Path, what: String) -> Problem {
    unusable(format!("{} is not taken in: {what}", path.display()))
        .because("an archive is taken in whole or not at all; nothing was imported")
        .hint("take another copy of it, or export it again")
}

fn foreign(path: &Path, why: &str) -> Problem {
    unusable(format!("{} is no archive of brimstock's: {why}", path.display()))
        .because("nothing was imported")
        .hint("accepted: what `brimstock export archive` has written")
}

fn said(error: ZipError) -> String {
    match error {
        ZipError::Io(error) => told(&error),
        // "EOCD" is the list at the end of one, by which it is read.
        ZipError::InvalidArchive(why) if why.contains("EOCD") => "it is no zip file, or its end is cut off".to_owned(),
        ZipError::InvalidArchive(why) => format!("it is no zip file, or its end is cut off ({why})"),
        ZipError::UnsupportedArchive(why) => format!("it is packed in a way that is not read ({why})"),
        ZipError::FileNotFound => "it is not in it".to_owned(),
        other => format!("it cannot be unpacked ({other})"),
    }
}
