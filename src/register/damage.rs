//! What in a damaged register still reads as it was written, part by part: each table, and the journal of each stock.
//!
//! A seal tells that a part has changed, not which of its rows has. So a part is sound as a whole, or none of its rows is
//! vouched for. A stock that stands in a damaged table is sound all the same if its journal is: the seal of the journal begins
//! with it.

use std::collections::{BTreeMap, BTreeSet};

use super::columns::{Kind, TABLES, Table};
use super::seal::{TABLES as SEALED, journal_of};
use super::stock::Stock;
use super::{StoreError, Writing};

/// A part of a register that does not read as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// The table.
    pub table: String,
    /// The stock, for the journal of one.
    pub stock: Option<i64>,
    /// The part as it is told, where the cause does not name it itself.
    of: Option<String>,
    /// What is wrong with it.
    cause: String,
}

impl Damage {
    /// Which part, and what is wrong with it.
    #[must_use]
    pub fn told(&self) -> String {
        told(&[self])
    }
}

/// What is wrong with some parts, each thing told once.
fn told(damage: &[&Damage]) -> String {
    let mut causes: Vec<(&str, Vec<&str>)> = Vec::new();
    for Damage { of, cause, .. } in damage {
        let place = causes.iter().position(|(told, _)| told == cause).unwrap_or_else(|| {
            causes.push((cause, Vec::new()));
            causes.len() - 1
        });
        let parts = &mut causes[place].1;
        parts.extend(of.as_deref().filter(|part| !parts.contains(part)));
    }
    let causes = causes.into_iter().map(|(cause, parts)| match parts.is_empty() {
        true => cause.to_owned(),
        false => format!("{}: {cause}", parts.join(", ")),
    });
    causes.collect::<Vec<_>>().join("; ")
}

/// Rows that are left out, because nothing vouches for them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Their table.
    pub table: &'static str,
    /// Their numbers, as far as they can be read.
    pub rows: Vec<i64>,
    /// True if behind them there are rows of which not even the number can be read.
    pub more: bool,
    /// Why.
    pub why: String,
}

/// Which rows of a register are sound; by itself all are.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Rows {
    sound: BTreeMap<&'static str, BTreeSet<i64>>,
    nameless: BTreeSet<&'static str>,
    /// What is left out.
    pub left_out: Vec<LeftOut>,
}

impl Rows {
    /// The sound rows of a table of which not all are; nothing if all are.
    #[must_use]
    pub fn of(&self, table: &str) -> Option<&BTreeSet<i64>> {
        self.sound.get(table)
    }

    /// True if what other tables call a table's rows by cannot be relied on.
    #[must_use]
    pub fn is_nameless(&self, table: &str) -> bool {
        self.nameless.contains(table)
    }

    /// The tables whose names stand empty where others show them.
    pub fn nameless(&self) -> impl Iterator<Item = &'static str> {
        self.nameless.iter().copied()
    }
}

/// Damage is what was looked for; anything else ends the look.
fn unless_damaged<T>(looked: Result<T, StoreError>) -> Result<Result<T, String>, StoreError> {
    match looked {
        Ok(found) => Ok(Ok(found)),
        Err(StoreError::Damaged { cause, .. }) => Ok(Err(cause)),
        Err(other) => Err(other),
    }
}

impl Writing<'_> {
    /// Makes sure that every table reads as it was written.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] if one does not.
    pub fn sound(&self) -> Result<(), StoreError> {
        match self.damage()?.into_iter().next() {
            Some(first) => Err(self.damaged(first.told())),
            None => Ok(()),
        }
    }

    /// Every part that does not read as it was written; nothing of a sound register.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read for another reason than damage.
    pub fn damage(&self) -> Result<Vec<Damage>, StoreError> {
        let mut found = Vec::new();
        let mut part = |table: &str, stock: Option<&Stock>, looked: Result<(), StoreError>| {
            if let Err(cause) = unless_damaged(looked)? {
                let of = stock.map_or_else(|| format!("`{table}`"), |stock| format!("the journal of `{}`", stock.code));
                let of = (!cause.contains('`')).then_some(of);
                found.push(Damage { table: table.to_owned(), stock: stock.map(|stock| stock.id), of, cause });
            }
            Ok::<(), StoreError>(())
        };
        let mut seals = match unless_damaged(self.seals())? {
            Ok(seals) => seals,
            Err(cause) => {
                part("seal", None, Err(self.damaged(cause)))?;
                BTreeMap::new()
            }
        };
        for table in SEALED {
            part(table, None, self.whole(table).map(|_| ()))?;
            seals.remove(table);
        }
        let mut stocks = Vec::new();
        part("event", None, self.stock_rows().map(|rows| stocks = rows))?;
        let all_known = !stocks.is_empty();
        for stock in self.work().over("looking at seals", stocks) {
            let stock = stock?;
            let looked = self.journal_comes_to(&stock).and_then(|came| self.compare_journal(&stock, came));
            part("event", Some(&stock), looked)?;
            seals.remove(&journal_of(stock.id));
        }
        for scope in seals.keys().filter(|scope| all_known || !scope.starts_with("event:")) {
            part("seal", None, Err(self.damaged(format!("`{scope}` is sealed, and is not there"))))?;
        }
        Ok(found)
    }

    /// Which rows are sound, and which are left out.
    ///
    /// # Errors
    /// [`StoreError`] if the register cannot be read for another reason than damage.
    pub fn sound_rows(&self) -> Result<Rows, StoreError> {
        let mut rows = Rows::default();
        let damage = self.damage()?;
        if damage.is_empty() {
            return Ok(rows);
        }
        let whole = |table: &str| damage.iter().find(|part| part.table == table && part.stock.is_none());
        let stocks = unless_damaged(self.stock_rows())?.unwrap_or_default();
        let mut lines = BTreeSet::new();
        let mut vouched = BTreeSet::new();
        for Stock { id, .. } in &stocks {
            if damage.iter().any(|part| part.stock == Some(*id)) {
                continue;
            }
            let own: Vec<i64> =
                self.all("SELECT id FROM event WHERE stock = ?1 ORDER BY id", [*id], |row| row.get(0))?;
            if !own.is_empty() {
                vouched.insert(*id);
            }
            lines.extend(own);
        }
        for table in TABLES {
            let why = match (table.name, whole(table.name)) {
                ("event", _) => {
                    rows.sound.insert("event", std::mem::take(&mut lines));
                    told(&damage.iter().filter(|part| part.table == "event").collect::<Vec<_>>())
                }
                ("stock", Some(part)) => {
                    rows.sound.insert("stock", vouched.clone());
                    part.told()
                }
                (name, Some(part)) => {
                    rows.sound.insert(name, BTreeSet::new());
                    rows.nameless.insert(name);
                    part.told()
                }
                (name, None) => match self.named_by_sound(table, &rows)? {
                    Some((sound, other)) => {
                        rows.sound.insert(name, sound);
                        format!("each names a row of `{other}` that is left out")
                    }
                    None => continue,
                },
            };
            let sound = &rows.sound[table.name];
            let (mut left, more) = self.row_numbers(table)?;
            left.retain(|row| !sound.contains(row));
            if left.is_empty() && why.is_empty() {
                rows.sound.remove(table.name);
            } else {
                rows.left_out.push(LeftOut { table: table.name, rows: left, more, why });
            }
        }
        Ok(rows)
    }

    /// The numbers of a table's rows, up to the first that cannot be read, and whether there is such a one.
    fn row_numbers(&self, table: &Table) -> Result<(Vec<i64>, bool), StoreError> {
        let wrap = |error| self.error(error);
        let sql = format!("SELECT id FROM {} NOT INDEXED ORDER BY id", table.name);
        let mut statement = self.transaction.prepare(&sql).map_err(wrap)?;
        let mut found = statement.query([]).map_err(wrap)?;
        let mut numbers = Vec::new();
        loop {
            match unless_damaged(found.next().map_err(wrap))? {
                Ok(None) => return Ok((numbers, false)),
                Ok(Some(row)) => match unless_damaged(row.get(0).map_err(wrap))? {
                    Ok(number) => numbers.push(number),
                    Err(_) => return Ok((numbers, true)),
                },
                Err(_) => return Ok((numbers, true)),
            }
        }
    }

    /// The rows of a table that name none that is left out, and the table of those that others name; nothing if all are.
    fn named_by_sound(&self, table: &Table, rows: &Rows) -> Result<Option<(BTreeSet<i64>, &'static str)>, StoreError> {
        let mut left: Option<(BTreeSet<i64>, &'static str)> = None;
        for column in table.columns.iter().filter(|column| !column.may_be_empty) {
            let Kind::Of { table: other, .. } = column.kind else { continue };
            let Some(sound) = rows.of(other) else { continue };
            let sql = format!("SELECT id, {} FROM {} NOT INDEXED ORDER BY id", column.name, table.name);
            let named = self.all(&sql, [], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, i64>(1)?)))?;
            let out: BTreeSet<i64> = named.iter().filter(|(_, of)| !sound.contains(of)).map(|(id, _)| *id).collect();
            if out.is_empty() {
                continue;
            }
            let all = left.take().map_or_else(|| named.iter().map(|(id, _)| *id).collect(), |(all, _)| all);
            left = Some((all.difference(&out).copied().collect(), other));
        }
        Ok(left)
    }
}
