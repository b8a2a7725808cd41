//! The keeper's own dips with their versions, who has read them, and what is expected.

use std::path::Path;

use chrono::NaiveDate;

use super::system::json;
use super::{APPLICATION_ID, Register, StoreError, Writing};
use crate::catalogue::Dip;

/// The level of the register's schema from which on it can hold dips of the keeper's own.
const SINCE_LEVEL: i32 = 5;

/// A version of a dip as it was entered.
#[derive(Debug, Clone, PartialEq)]
pub struct DipVersion {
    /// Key of the dip.
    pub dip: String,
    /// Its number: 1 of a dip of the keeper's own, 2 of the first change to a shipped one.
    pub version: u32,
    /// The day from which it holds.
    pub day: NaiveDate,
    /// The dip, as JSON.
    pub content: String,
    /// Why it was entered or changed.
    pub why: String,
}

impl DipVersion {
    /// The dip.
    ///
    /// # Errors
    /// What is wrong with what is stored; nothing in the register is changed by that.
    pub fn read(&self) -> Result<Dip, String> {
        let damaged = |why: String| format!("version {} of the dip `{}`: {why}", self.version, self.dip);
        let dip: Dip = serde_json::from_str(&self.content).map_err(|error| damaged(json(&error)))?;
        if dip.key != self.dip || dip.version != self.version {
            return Err(damaged(format!("it holds version {} of `{}`", dip.version, dip.key)));
        }
        Ok(dip)
    }
}

impl Register {
    /// Every version of every dip of the keeper's own, in the order of entry, of a register that is not opened otherwise:
    /// none of a file that is not there, is empty, or is of a level that has none.
    ///
    /// # Errors
    /// [`StoreError`] if the file is no register or cannot be read.
    pub fn dip_versions_in(path: &Path) -> Result<Vec<DipVersion>, StoreError> {
        Ok(Register::dip_versions_of(path)?.0)
    }

    /// The same, and the connection for whoever goes on with [`Register::up_to_date`]: reading the schema of a register is a
    /// large part of a short command, and one time is enough.
    ///
    /// # Errors
    /// As [`Register::dip_versions_in`].
    pub fn dip_versions_of(path: &Path) -> Result<(Vec<DipVersion>, Option<Register>), StoreError> {
        if std::fs::metadata(path).is_ok_and(|data| data.len() == 0) || !path.exists() {
            return Ok((Vec::new(), None));
        }
        let mut register = Register::connect(path)?;
        let found = register.header()?;
        if found.pages > 0 && found.id != APPLICATION_ID {
            return Err(StoreError::Foreign(path.to_owned()));
        }
        if found.level < SINCE_LEVEL {
            return Ok((Vec::new(), None));
        }
        let versions = register.read(|reading| reading.dip_versions())?;
        Ok((versions, Some(register)))
    }
}

/// Who has read a version of a dip.
#[derive(Debug, Clone, PartialEq)]
pub struct Signature {
    /// Role or initials.
    pub who: String,
    /// Key of the dip.
    pub dip: String,
    /// Its version.
    pub version: u32,
    /// The day.
    pub day: NaiveDate,
}

impl Writing<'_> {
    /// Every version of every dip of the keeper's own, in the order of entry.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn dip_versions(&self) -> Result<Vec<DipVersion>, StoreError> {
        if !self.whole("dip_version")? {
            return Ok(Vec::new());
        }
        let rows = self.all("SELECT dip, version, day, content, why FROM dip_version ORDER BY id", [], |row| {
            let (dip, version, day): (String, u32, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
            let (content, why): (String, String) = (row.get(3)?, row.get(4)?);
            Ok((dip, version, day, content, why))
        })?;
        rows.into_iter()
            .map(|(dip, version, day, content, why)| {
                Ok(DipVersion { dip, version, day: self.day(&day)?, content, why })
            })
            .collect()
    }

    /// Enters a version of a dip.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that the number is the next one.
    pub fn add_dip_version(&self, new: &DipVersion, entered_at: &str) -> Result<(), StoreError> {
        let DipVersion { dip, version, day, content, why } = new;
        self.insert(
            "dip_version",
            "dip, version, day, content, why, entered_at",
            (dip, version, day.to_string(), content, why, entered_at),
        )
    }

    /// Every signature, in the order of entry.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn signatures(&self) -> Result<Vec<Signature>, StoreError> {
        self.whole("signature")?;
        let rows = self.all("SELECT who, dip, version, day FROM signature ORDER BY id", [], |row| {
            let (who, dip): (String, String) = (row.get(0)?, row.get(1)?);
            let (version, day): (u32, String) = (row.get(2)?, row.get(3)?);
            Ok((who, dip, version, day))
        })?;
        rows.into_iter()
            .map(|(who, dip, version, day)| Ok(Signature { who, dip, version, day: self.day(&day)? }))
            .collect()
    }

    /// Enters a signature.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that it is not there yet.
    pub fn sign(&self, new: &Signature, entered_at: &str) -> Result<(), StoreError> {
        let Signature { who, dip, version, day } = new;
        self.insert("signature", "who, dip, version, day, entered_at", (who, dip, version, day.to_string(), entered_at))
    }

    /// What is expected, as JSON, as it was last entered up to a day; nothing where nothing was.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn plan(&self, day: NaiveDate) -> Result<Option<String>, StoreError> {
        self.whole("plan")?;
        let plans = self.all(
            "SELECT content FROM plan WHERE day <= ?1 ORDER BY day DESC, id DESC LIMIT 1",
            [day.to_string()],
            |row| row.get(0),
        )?;
        Ok(plans.into_iter().next())
    }

    /// Enters what is expected, in place of what was.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn keep_plan(&self, day: NaiveDate, content: &str, entered_at: &str) -> Result<(), StoreError> {
        self.insert("plan", "day, content, entered_at", (day.to_string(), content, entered_at))
    }
}
