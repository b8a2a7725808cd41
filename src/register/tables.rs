//! Whole tables, row by row: out of a register for an export, and into a new one for an import.
//!
//! Nothing is held but the row that is looked at. Out of a register come only tables whose seals hold; into a new one go rows
//! with their own numbers, under all the rules of the schema of their level, which is then brought up to date as any register.

use std::path::Path;

use rusqlite::types::{ToSqlOutput, ValueRef};
use rusqlite::{Row, ToSql, params_from_iter};

use super::columns::{Column, DERIVED, Kind, Table};
use super::damage::Rows;
use super::work::Steps;
use super::{APPLICATION_ID, MIGRATIONS, Register, StoreError, Writing, io_error, new_private_file};

/// The level of the register's schema that this program writes.
pub const LEVEL: usize = MIGRATIONS.len();

/// One value of a row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell<'a> {
    /// Nothing.
    Empty,
    /// A whole number.
    Whole(i64),
    /// A number.
    Real(f64),
    /// Some text.
    Text(&'a str),
}

impl ToSql for Cell<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match *self {
            Cell::Empty => ValueRef::Null,
            Cell::Whole(value) => ValueRef::Integer(value),
            Cell::Real(value) => ValueRef::Real(value),
            Cell::Text(text) => ValueRef::Text(text.as_bytes()),
        }))
    }
}

/// A field of an export: a column, or the name of the row that a column points at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// True if it may be empty.
    pub may_be_empty: bool,
    /// What it means, with its unit.
    pub about: &'static str,
}

/// The fields of a table, in the order in which its rows are told.
#[must_use]
pub fn fields(table: &Table) -> Vec<Field> {
    let mut fields = Vec::new();
    for &Column { field, kind, may_be_empty, about, .. } in table.columns {
        fields.push(Field { name: field, kind, may_be_empty, about });
        if let Kind::Of { shown: Some((_, name, about)), .. } = kind {
            fields.push(Field { name, kind: Kind::Text(1, 0), may_be_empty, about });
        }
    }
    fields
}

/// A table as the register itself has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    /// Its name.
    pub table: String,
    /// Its columns, in order.
    pub columns: Vec<String>,
}

impl Register {
    /// Makes a new register at an earlier level, or at this program's, to be filled and then brought up to date.
    ///
    /// # Errors
    /// [`StoreError::Exists`], [`StoreError::Newer`], or what the system says.
    pub fn create_at(path: &Path, level: usize) -> Result<Register, StoreError> {
        let steps = MIGRATIONS.get(..level).filter(|steps| !steps.is_empty()).ok_or_else(|| StoreError::Newer {
            path: path.to_owned(),
            found: level,
            known: LEVEL,
        })?;
        new_private_file(path).map_err(|error| match error.kind() {
            std::io::ErrorKind::AlreadyExists => StoreError::Exists(path.to_owned()),
            _ => io_error(path, &error),
        })?;
        let mut register = Self::connect(path)?;
        register.write(|writing| {
            for step in steps {
                writing.batch(step)?;
            }
            writing.batch(&format!("PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {level};"))
        })?;
        Ok(register)
    }

    /// Takes every step of the schema that is missing, and seals what is there.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read or written, or a row does not fit.
    pub fn bring_up(&mut self) -> Result<(), StoreError> {
        self.migrate(false, |_| Ok(()))
    }
}

impl Writing<'_> {
    /// How many rows a table has.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read.
    pub fn count(&self, table: &str) -> Result<usize, StoreError> {
        let rows: i64 = self.one(&format!("SELECT count(*) FROM {table} NOT INDEXED"), [], |row| row.get(0))?;
        Ok(usize::try_from(rows).unwrap_or(0))
    }

    /// Every row of a table as [`fields`] names them, in the order of entry; of a damaged register those that are sound.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read, or what the visitor says.
    pub fn each_entry<E: From<StoreError>>(
        &self,
        table: &Table,
        rows: &Rows,
        steps: &mut Steps,
        mut visit: impl FnMut(&[Cell<'_>]) -> Result<(), E>,
    ) -> Result<u64, E> {
        let mut wanted = Vec::new();
        for column in table.columns {
            wanted.push(format!("this.{}", column.name));
            if let Kind::Of { table: other, shown: Some((name, ..)) } = column.kind {
                wanted.push(match rows.is_nameless(other) {
                    true => "NULL".to_owned(),
                    false => {
                        format!("(SELECT other.{name} FROM {other} AS other WHERE other.id = this.{})", column.name)
                    }
                });
            }
        }
        let wanted = wanted.join(", ");
        let Some(sound) = rows.of(table.name) else {
            let sql = format!("SELECT {} FROM {} AS this ORDER BY this.id", wanted, table.name);
            return self.each(&sql, [], steps, visit);
        };
        let sql = format!("SELECT {} FROM {} AS this WHERE this.id = ?1", wanted, table.name);
        let mut count = 0;
        for id in sound {
            count += self.each(&sql, [id], steps, &mut visit)?;
        }
        Ok(count)
    }

    /// Every row of a table as the register has it, in the order of entry.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read, or what the visitor says.
    pub fn each_row<E: From<StoreError>>(
        &self,
        layout: &Layout,
        steps: &mut Steps,
        visit: impl FnMut(&[Cell<'_>]) -> Result<(), E>,
    ) -> Result<u64, E> {
        let sql = format!("SELECT {} FROM {} ORDER BY id", layout.columns.join(", "), layout.table);
        self.each(&sql, [], steps, visit)
    }

    /// The tables of this register with their columns, sorted by name; without those that are reckoned from the others.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read.
    pub fn layouts(&self) -> Result<Vec<Layout>, StoreError> {
        let sql = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name";
        let mut layouts = Vec::new();
        for table in self.all(sql, [], |row| row.get::<_, String>(0))? {
            if !DERIVED.contains(&table.as_str()) {
                let columns = self.all(&format!("PRAGMA table_info({table})"), [], |row| row.get(1))?;
                layouts.push(Layout { table, columns });
            }
        }
        Ok(layouts)
    }

    /// The same tables, each behind those whose rows it names. Filled in that order no row ever waits for another: SQLite
    /// would look through a whole table for every row that might be waited for.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be read.
    pub fn parents_first(&self, mut layouts: Vec<Layout>) -> Result<Vec<Layout>, StoreError> {
        let mut ordered: Vec<Layout> = Vec::with_capacity(layouts.len());
        while !layouts.is_empty() {
            let mut next = 0;
            for (place, layout) in layouts.iter().enumerate() {
                let sql = format!("PRAGMA foreign_key_list({})", layout.table);
                let named = self.all(&sql, [], |row| row.get::<_, String>(2))?;
                if !layouts.iter().any(|other| other != layout && named.contains(&other.table)) {
                    next = place;
                    break;
                }
            }
            ordered.push(layouts.remove(next));
        }
        Ok(ordered)
    }

    /// Takes out of a new register what its own making has put into a table, so that other rows can go there.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written.
    pub fn make_room(&self, table: &str) -> Result<(), StoreError> {
        if self.count(table)? == 0 {
            return Ok(());
        }
        // What keeps history from being rewritten steps aside for the rows of a register that has none yet.
        let guards = self.all(
            "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = ?1 ORDER BY name",
            [table],
            |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?)),
        )?;
        for (guard, _) in &guards {
            self.batch(&format!("DROP TRIGGER {guard}"))?;
        }
        self.batch(&format!("DELETE FROM {table}"))?;
        guards.iter().try_for_each(|(_, sql)| self.batch(sql))
    }

    /// Enters a row with its own number. It is sealed when the register is brought up to date.
    ///
    /// # Errors
    /// [`StoreError`] if it cannot be written, or breaks a rule of the schema.
    pub fn enter_row(&self, layout: &Layout, row: &[Cell<'_>]) -> Result<(), StoreError> {
        let places = vec!["?"; layout.columns.len()].join(", ");
        let sql = format!("INSERT INTO {} ({}) VALUES ({places})", layout.table, layout.columns.join(", "));
        let mut statement = self.transaction.prepare_cached(&sql).map_err(|error| self.error(error))?;
        statement.execute(params_from_iter(row)).map(|_| ()).map_err(|error| self.error(error))
    }

    fn each<E: From<StoreError>>(
        &self,
        sql: &str,
        values: impl rusqlite::Params,
        steps: &mut Steps,
        mut visit: impl FnMut(&[Cell<'_>]) -> Result<(), E>,
    ) -> Result<u64, E> {
        let wrap = |error| self.error(error);
        let mut statement = self.transaction.prepare_cached(sql).map_err(wrap)?;
        let mut rows = statement.query(values).map_err(wrap)?;
        let mut count = 0;
        while let Some(row) = rows.next().map_err(wrap)? {
            visit(&self.cells(row)?)?;
            steps.one()?;
            count += 1;
        }
        Ok(count)
    }

    fn cells<'r>(&self, row: &'r Row<'_>) -> Result<Vec<Cell<'r>>, StoreError> {
        let width = row.as_ref().column_count();
        let mut cells = Vec::with_capacity(width);
        for index in 0..width {
            cells.push(match row.get_ref(index).map_err(|error| self.error(error))? {
                ValueRef::Null => Cell::Empty,
                ValueRef::Integer(value) => Cell::Whole(value),
                ValueRef::Real(value) => Cell::Real(value),
                ValueRef::Text(bytes) => {
                    Cell::Text(std::str::from_utf8(bytes).map_err(|error| {
                        self.damaged(format!("a text in it cannot be read: it is no UTF-8 ({error})"))
                    })?)
                }
                ValueRef::Blob(_) => return Err(self.damaged("bytes stand where none are written")),
            });
        }
        Ok(cells)
    }
}
