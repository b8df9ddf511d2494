//! The versions of the store, and the way from each to the latest.

use std::path::Path;

use rusqlite::Connection;
use rusqlite_migration::{M, Migrations};

use crate::days;
use crate::error::{Error, ErrorKind};

/// The latest version.
pub const LATEST: u32 = 5;

/// One text a version; a text that was released never changes.
fn steps() -> Migrations<'static> {
    Migrations::new(vec![
        M::up(include_str!("schema/v1.sql")).foreign_key_check(),
        M::up(include_str!("schema/v2.sql")).foreign_key_check(),
        M::up(include_str!("schema/v3.sql")).foreign_key_check(),
        M::up_with_hook(include_str!("schema/v4.sql"), |all: &rusqlite::Transaction<'_>| Ok(days::project_all(all)?))
            .foreign_key_check(),
        M::up(include_str!("schema/v5.sql")).foreign_key_check(),
    ])
}

/// Marks the file as a cabinet's store ("TRGN").
const APPLICATION: i32 = 0x5452_474e;

/// The version of the store: 0 for one that was just made.
pub fn version(conn: &Connection, store: &Path) -> Result<u32, Error> {
    let found: i64 = conn.query_row("PRAGMA user_version", [], |r| r.get(0)).map_err(|e| Error::sql(store, e))?;
    let found = u32::try_from(found).unwrap_or(u32::MAX);
    if found > LATEST {
        return Err(ErrorKind::Newer { found, known: LATEST }.into());
    }
    Ok(found)
}

/// Brings the store to the latest version; each step is a transaction of its own.
pub fn to_latest(conn: &mut Connection, store: &Path) -> Result<(), Error> {
    to(conn, store, LATEST)
}

pub(crate) fn to(conn: &mut Connection, store: &Path, version: u32) -> Result<(), Error> {
    steps().to_version(conn, version as usize).map_err(|e| match e {
        rusqlite_migration::Error::RusqliteError { err, .. } => Error::sql(store, err),
        other => Error::internal(other),
    })?;
    conn.pragma_update(None, "application_id", APPLICATION).map_err(|e| Error::sql(store, e))
}

#[cfg(test)]
mod tests;
