//! The suppliers' safety data sheets: which file belongs to which stock.

use chrono::NaiveDate;

use super::{StoreError, Writing};

/// A stock's sheet; the file itself lies beside the register, under its digest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// Row of its stock.
    pub stock: i64,
    /// What the file was called when it was attached.
    pub name: String,
    /// SHA-256 of its bytes, 64 small hexadecimal digits.
    pub digest: String,
    /// How many bytes it has.
    pub bytes: u64,
    /// The day of its revision, if somebody read it off the first page.
    pub revised: Option<NaiveDate>,
    /// The moment of entry.
    pub entered_at: String,
}

impl Writing<'_> {
    /// The sheet of every stock that has one, in the order of receipt; of several the one entered last.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read, or a row of it makes no sense.
    pub fn sheets(&self) -> Result<Vec<Sheet>, StoreError> {
        self.whole("sheet")?;
        let rows = self.all(
            "SELECT stock, name, digest, bytes, revised, entered_at FROM sheet NOT INDEXED \
             WHERE id IN (SELECT max(id) FROM sheet NOT INDEXED GROUP BY stock) ORDER BY stock",
            [],
            |row| {
                let (bytes, revised): (i64, Option<String>) = (row.get(3)?, row.get(4)?);
                Ok((row.get(0)?, row.get(1)?, row.get(2)?, bytes, revised, row.get(5)?))
            },
        )?;
        let mut sheets = Vec::with_capacity(rows.len());
        for (stock, name, digest, bytes, revised, entered_at) in rows {
            let digest: String = digest;
            // It becomes part of a path.
            if !digest.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f')) {
                return Err(self.damaged(format!("`{digest}` is no digest of a sheet")));
            }
            let bytes = u64::try_from(bytes).map_err(|_| self.damaged(format!("a sheet of {bytes} bytes")))?;
            let revised = revised.map(|day| self.day(&day)).transpose()?;
            sheets.push(Sheet { stock, name, digest, bytes, revised, entered_at });
        }
        Ok(sheets)
    }

    /// Enters a stock's sheet, which holds from then on.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that the file is there.
    pub fn add_sheet(&self, sheet: &Sheet) -> Result<(), StoreError> {
        let bytes = i64::try_from(sheet.bytes).unwrap_or(i64::MAX);
        self.insert(
            "sheet",
            "stock, name, digest, bytes, revised, entered_at",
            (
                sheet.stock,
                &sheet.name,
                &sheet.digest,
                bytes,
                sheet.revised.map(|day| day.to_string()),
                &sheet.entered_at,
            ),
        )
    }
}
