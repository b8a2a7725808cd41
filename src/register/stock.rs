//! Stocks: one container each, with the short code that the keeper writes on it.

use std::collections::BTreeSet;

use rusqlite::Row;

use super::{StoreError, Writing};
use crate::catalogue::Form;

/// One container on the shelf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stock {
    /// Row in the register.
    pub id: i64,
    /// The code on the container.
    pub code: String,
    /// Key of its reagent.
    pub reagent: String,
    /// Solid or solution.
    pub form: Form,
}

fn stock_of(row: &Row<'_>) -> rusqlite::Result<Stock> {
    let form: String = row.get(3)?;
    let form = if form == "solid" { Form::Solid } else { Form::Solution };
    Ok(Stock { id: row.get(0)?, code: row.get(1)?, reagent: row.get(2)?, form })
}

impl Writing<'_> {
    /// The stock with a code, large letters or small; nothing if the index finds none. What it is, its journal's seal vouches for.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read, or the index leads to a stock with another code.
    pub fn stock_called(&self, code: &str) -> Result<Option<Stock>, StoreError> {
        let sql = "SELECT id, code, reagent, form FROM stock WHERE code = ?1";
        let found = self.all(sql, [code], stock_of)?.into_iter().next();
        match found {
            Some(stock) if !stock.code.eq_ignore_ascii_case(code) => {
                Err(self.damaged(format!("looking for the stock `{code}` leads to `{}`", stock.code)))
            }
            found => Ok(found),
        }
    }

    /// Every stock ever received, in the order of receipt.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn stocks(&self) -> Result<Vec<Stock>, StoreError> {
        self.whole("stock")?;
        self.stock_rows()
    }

    /// The same, whether they read as they were written or not.
    pub(super) fn stock_rows(&self) -> Result<Vec<Stock>, StoreError> {
        self.all("SELECT id, code, reagent, form FROM stock NOT INDEXED ORDER BY id", [], stock_of)
    }

    /// Enters a container.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written; the caller has seen to it that the code is free.
    pub fn add_stock(&self, code: &str, reagent: &str, form: Form) -> Result<Stock, StoreError> {
        self.insert("stock", "code, reagent, form", (code, reagent, form.to_string()))?;
        let id = self.transaction.last_insert_rowid();
        Ok(Stock { id, code: code.to_owned(), reagent: reagent.to_owned(), form })
    }

    /// The next free code with this beginning: `HP-1`, `HP-2`, ...
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read.
    pub fn next_code(&self, beginning: &str) -> Result<String, StoreError> {
        self.whole("stock")?;
        let sql = "SELECT code FROM stock NOT INDEXED WHERE code LIKE ?1 || '-%'";
        let codes: Vec<String> = self.all(sql, [beginning], |row| row.get(0))?;
        let taken: BTreeSet<u32> =
            codes.iter().filter_map(|code| code.get(beginning.len() + 1..)?.parse().ok()).collect();
        // A keeper may have given the highest number there is: then the first one that is free.
        let behind = taken.last().map_or(Some(1), |highest| highest.checked_add(1));
        let next = behind.or_else(|| (1..=u32::MAX).find(|number| !taken.contains(number)));
        Ok(format!("{beginning}-{}", next.unwrap_or_default()))
    }
}
