//! A connection to the store, with everything that keeps its contents off the disk in clear.

use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};
use zeroize::Zeroizing;

use crate::error::{Damage, Error, ErrorKind};
use crate::key::StoreKey;

/// How long a change waits for another program's.
const PATIENCE: Duration = Duration::from_secs(5);

/// Opens an existing store, or makes it; the wrong key shows as damage, since the passphrase was checked before.
pub fn open(store: &Path, key: &StoreKey, make: bool) -> Result<Connection, Error> {
    let conn = unlocked(store, key, make)?;
    settings(&conn).map_err(|e| Error::sql(store, e))?;
    conn.set_prepared_statement_cache_capacity(128);
    Ok(conn)
}

fn unlocked(store: &Path, key: &StoreKey, make: bool) -> Result<Connection, Error> {
    let mut flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    if make {
        flags |= OpenFlags::SQLITE_OPEN_CREATE;
    } else if !store.is_file() {
        return Err(damaged(store));
    }
    let run = || {
        let conn = Connection::open_with_flags(store, flags)?;
        conn.busy_timeout(PATIENCE)?;
        // Says page numbers on the standard error stream otherwise; the errors come back to us as well.
        pragma(&conn, "PRAGMA cipher_log_level = NONE")?;
        with_key(&conn, "key", key)?;
        // SQLCipher 4's own defaults, said aloud: a later library must not choose others.
        pragma(&conn, "PRAGMA cipher_compatibility = 4")?;
        pragma(&conn, "PRAGMA cipher_page_size = 4096")?;
        // The first look at the file: the seal of page 1.
        conn.query_row("SELECT count(*) FROM sqlite_master", [], |_| Ok(()))?;
        Ok(conn)
    };
    run().map_err(|e| Error::sql(store, e))
}

fn with_key(conn: &Connection, what: &str, key: &StoreKey) -> rusqlite::Result<()> {
    let mut text = Zeroizing::new(String::with_capacity(100));
    text.push_str("PRAGMA ");
    text.push_str(what);
    text.push_str(" = ");
    text.push_str(&key.pragma());
    pragma(conn, &text)
}

/// Writes every page of a store that stands alone anew, under another key.
pub fn rekey(store: &Path, old: &StoreKey, new: &StoreKey) -> Result<(), Error> {
    let conn = unlocked(store, old, false)?;
    pragma(&conn, "PRAGMA journal_mode = DELETE").map_err(|e| Error::sql(store, e))?;
    with_key(&conn, "rekey", new).map_err(|e| Error::sql(store, e))?;
    conn.close().map_err(|(_, e)| Error::sql(store, e))
}

/// What every connection needs, encrypted or not.
pub fn settings(conn: &Connection) -> rusqlite::Result<()> {
    for text in [
        "PRAGMA temp_store = MEMORY",
        "PRAGMA journal_mode = WAL",
        "PRAGMA synchronous = FULL",
        "PRAGMA secure_delete = ON",
        "PRAGMA foreign_keys = ON",
        "PRAGMA trusted_schema = OFF",
        "PRAGMA cell_size_check = ON",
        "PRAGMA cache_size = -16384",
        // The log shrinks again after a large change.
        "PRAGMA journal_size_limit = 4194304",
    ] {
        pragma(conn, text)?;
    }
    Ok(())
}

/// Runs a pragma whose answer is no matter.
pub fn pragma(conn: &Connection, text: &str) -> rusqlite::Result<()> {
    let mut statement = conn.prepare(text)?;
    let mut rows = statement.query([])?;
    while rows.next()?.is_some() {}
    Ok(())
}

/// Looks at the seal of every page: any other byte than was written shows. It reads the file itself, which another
/// connection may be writing at this moment; damage is still there at the second look.
pub fn check_seals(conn: &Connection, store: &Path) -> Result<(), Error> {
    let look = || nothing_said(conn, store, "PRAGMA cipher_integrity_check");
    look().or_else(|_| look())
}

/// Looks at the whole file: the seals, then the trees and indices, and that nothing points to nothing.
pub fn check_whole(conn: &Connection, store: &Path) -> Result<(), Error> {
    check_seals(conn, store)?;
    nothing_said(conn, store, "PRAGMA foreign_key_check")?;
    let said: String =
        conn.query_row("PRAGMA integrity_check(1)", [], |r| r.get(0)).map_err(|e| Error::sql(store, e))?;
    if said == "ok" { Ok(()) } else { Err(damaged(store)) }
}

fn nothing_said(conn: &Connection, store: &Path, text: &str) -> Result<(), Error> {
    let at = |e| Error::sql(store, e);
    let mut statement = conn.prepare(text).map_err(at)?;
    let mut rows = statement.query([]).map_err(at)?;
    if rows.next().map_err(at)?.is_none() { Ok(()) } else { Err(damaged(store)) }
}

fn damaged(store: &Path) -> Error {
    ErrorKind::Damaged { what: Damage::Store, file: store.to_owned(), newest_backup: None }.into()
}

/// Looks at what can be seen without reading the whole: that the file is as long as its first page says.
/// Newer pages may still stand in the log, so longer or shorter by those is no damage.
pub fn check_length(conn: &Connection, store: &Path) -> Result<(), Error> {
    let at = |e| Error::sql(store, e);
    let pages: i64 = conn.query_row("PRAGMA page_count", [], |r| r.get(0)).map_err(at)?;
    let length = std::fs::metadata(store).map_err(|e| Error::io(store, &e))?.len();
    let mut log = store.as_os_str().to_owned();
    log.push("-wal");
    let log = std::fs::metadata(log).map_or(0, |m| m.len());
    if length % 4096 != 0 || (log == 0 && length != u64::try_from(pages).unwrap_or(0) * 4096) {
        return Err(damaged(store));
    }
    Ok(())
}
