//! What a transaction is given: a reader, or a writer that reads as well.

use std::ops::Deref;

use rusqlite::types::FromSql;
use rusqlite::{CachedStatement, Connection, OptionalExtension, Params, Row};

use crate::error::{Error, ErrorKind};
use crate::time::Time;

/// Reads in one transaction. What can be read stands beside each kind of thing (`clients`, `visits`, …).
pub struct Reader<'c> {
    conn: &'c Connection,
}

/// Writes in one transaction; reads what a [`Reader`] does.
pub struct Writer<'c> {
    reader: Reader<'c>,
    now: Time,
}

impl<'c> Reader<'c> {
    pub(crate) fn new(conn: &'c Connection) -> Reader<'c> {
        Reader { conn }
    }

    fn prepared(&self, sql: &str) -> Result<CachedStatement<'_>, Error> {
        Ok(self.conn.prepare_cached(sql)?)
    }

    /// All rows of a query.
    pub(crate) fn all<T>(
        &self,
        sql: &str,
        params: impl Params,
        row: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, Error> {
        let mut statement = self.prepared(sql)?;
        let rows = statement.query_map(params, row)?;
        Ok(rows.collect::<rusqlite::Result<Vec<T>>>()?)
    }

    /// The first row of a query, if there is one.
    pub(crate) fn first<T>(
        &self,
        sql: &str,
        params: impl Params,
        row: impl FnOnce(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Option<T>, Error> {
        Ok(self.prepared(sql)?.query_row(params, row).optional()?)
    }

    /// One value of a query that has one.
    pub(crate) fn value<T: FromSql>(&self, sql: &str, params: impl Params) -> Result<T, Error> {
        Ok(self.prepared(sql)?.query_row(params, |r| r.get(0))?)
    }

    /// Whether a table has a row with this id; if not, an error that names the kind.
    pub(crate) fn must_have(&self, table: &str, word: &'static str, id: i64) -> Result<(), Error> {
        let sql = format!("SELECT EXISTS (SELECT 1 FROM {table} WHERE id = ?1)");
        if self.value::<bool>(&sql, [id])? { Ok(()) } else { Err(ErrorKind::NoSuch(word, id).into()) }
    }
}

/// What the change log says was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Done {
    /// Something new.
    Added,
    /// Something is otherwise now.
    Changed,
    /// One thing was taken out.
    Removed,
    /// A client was erased whole.
    Erased,
}

impl Done {
    pub(crate) const ALL: [(Done, &'static str); 4] =
        [(Done::Added, "added"), (Done::Changed, "changed"), (Done::Removed, "removed"), (Done::Erased, "erased")];

    /// The word in the log.
    pub fn word(self) -> &'static str {
        word_of(&Done::ALL, self)
    }
}

/// The word of a choice in its table.
pub(crate) fn word_of<T: PartialEq + Copy>(table: &[(T, &'static str)], choice: T) -> &'static str {
    table.iter().find(|(known, _)| *known == choice).map_or("", |(_, word)| *word)
}

/// A choice from the word in a column; another word is a mistake of the program.
pub(crate) fn choice<T: Copy>(table: &[(T, &'static str)], row: &Row<'_>, column: usize) -> rusqlite::Result<T> {
    let word: String = row.get(column)?;
    table.iter().find(|(_, known)| *known == word).map(|(choice, _)| *choice).ok_or_else(|| unreadable(column))
}

/// A column whose text this program does not write.
pub(crate) fn unreadable(column: usize) -> rusqlite::Error {
    let what = format!("column {column} holds what this program does not write");
    rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Text, what.into())
}

pub(crate) fn time(row: &Row<'_>, column: usize) -> rusqlite::Result<Time> {
    Ok(Time::from_unix(row.get(column)?))
}

pub(crate) fn date(row: &Row<'_>, column: usize) -> rusqlite::Result<vocab::Date> {
    vocab::Date::parse(&row.get::<_, String>(column)?).ok_or_else(|| unreadable(column))
}

impl<'c> Writer<'c> {
    pub(crate) fn new(conn: &'c Connection, now: Time) -> Writer<'c> {
        Writer { reader: Reader::new(conn), now }
    }

    /// The moment of this transaction, as the caller told it.
    pub fn now(&self) -> Time {
        self.now
    }

    pub(crate) fn run(&self, sql: &str, params: impl Params) -> Result<usize, Error> {
        Ok(self.prepared(sql)?.execute(params)?)
    }

    /// Adds a row and answers its id; the caller notes it.
    pub(crate) fn insert(&self, sql: &str, params: impl Params) -> Result<i64, Error> {
        self.run(sql, params)?;
        Ok(self.conn.last_insert_rowid())
    }

    /// Adds a row, notes it in the change log, and answers its id.
    pub(crate) fn add(
        &self,
        kind: &'static str,
        client: Option<i64>,
        sql: &str,
        params: impl Params,
    ) -> Result<i64, Error> {
        let id = self.insert(sql, params)?;
        self.log(Done::Added, kind, Some(id), client)?;
        Ok(id)
    }

    pub(crate) fn log(
        &self,
        done: Done,
        kind: &'static str,
        item: Option<i64>,
        client: Option<i64>,
    ) -> Result<(), Error> {
        let sql = "INSERT INTO changes (at, done, kind, item, client) VALUES (?1, ?2, ?3, ?4, ?5)";
        self.run(sql, (self.now.unix(), done.word(), kind, item, client))?;
        Ok(())
    }

    /// Removes one row and notes it.
    pub(crate) fn remove(&self, table: &str, kind: &'static str, id: i64, client: Option<i64>) -> Result<(), Error> {
        if self.run(&format!("DELETE FROM {table} WHERE id = ?1"), [id])? == 0 {
            return Err(ErrorKind::NoSuch(kind, id).into());
        }
        self.log(Done::Removed, kind, Some(id), client)
    }
}

impl<'c> Deref for Writer<'c> {
    type Target = Reader<'c>;

    fn deref(&self) -> &Reader<'c> {
        &self.reader
    }
}
