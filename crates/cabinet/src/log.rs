//! The change log: what was done to which kind of thing, by number, and when. Never a word of what it holds. And the
//! practice's own settings.

use rusqlite::Row;

use crate::access::{Done, Reader, Writer, choice, time};
use crate::error::Error;
use crate::text::{bounded, said};
use crate::time::Time;

/// A line of the change log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Counts up.
    pub number: i64,
    /// When.
    pub at: Time,
    /// What was done.
    pub done: Done,
    /// To which kind of thing: the `WORD` of its id type.
    pub kind: String,
    /// Its number; none for an erasure, of which the log keeps only that it happened.
    pub item: Option<i64>,
}

const CHANGE: &str = "SELECT id, at, done, kind, item FROM changes";

fn change(row: &Row<'_>) -> rusqlite::Result<Change> {
    let done = choice(&Done::ALL, row, 2)?;
    Ok(Change { number: row.get(0)?, at: time(row, 1)?, done, kind: row.get(3)?, item: row.get(4)? })
}

impl Reader<'_> {
    /// Up to `most` lines after line `after`, oldest first; 0 for the beginning.
    ///
    /// # Errors
    /// Of the store.
    pub fn changes(&self, after: i64, most: u32) -> Result<Vec<Change>, Error> {
        self.all(&format!("{CHANGE} WHERE id > ?1 ORDER BY id LIMIT ?2"), (after, most), change)
    }

    /// The latest `most` lines, newest first.
    ///
    /// # Errors
    /// Of the store.
    pub fn latest_changes(&self, most: u32) -> Result<Vec<Change>, Error> {
        self.all(&format!("{CHANGE} ORDER BY id DESC LIMIT ?1"), [most], change)
    }

    /// A setting of the practice.
    ///
    /// # Errors
    /// Of the store.
    pub fn setting(&self, name: &str) -> Result<Option<String>, Error> {
        self.first("SELECT value FROM settings WHERE name = ?1", [name], |row| row.get(0))
    }
}

impl Writer<'_> {
    /// Keeps a setting of the practice, or with `None` forgets it.
    ///
    /// # Errors
    /// The name is empty or the value too long.
    pub fn set(&self, name: &str, value: Option<&str>) -> Result<(), Error> {
        said("name of a setting", name)?;
        match value {
            Some(value) => {
                bounded("setting", value)?;
                let sql = "INSERT INTO settings (name, value) VALUES (?1, ?2) \
                           ON CONFLICT (name) DO UPDATE SET value = excluded.value";
                self.run(sql, (name, value))?;
            }
            None => {
                self.run("DELETE FROM settings WHERE name = ?1", [name])?;
            }
        }
        self.log(Done::Changed, "setting", None, None)
    }
}
