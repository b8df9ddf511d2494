//! Erasure: of one client whole, or of the cabinet.

use std::fs;

use rusqlite::TransactionBehavior;

use crate::access::{Done, Writer};
use crate::cabinet::Cabinet;
use crate::conn;
use crate::error::{Error, ErrorKind};
use crate::header::store_number;
use crate::id::ClientId;
use crate::place::entries;
use crate::time::Time;

/// What an erasure came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Erasure {
    /// The store was written anew, so that it is smaller now. If there was no room for that, what was erased is overwritten
    /// all the same, and its place used again.
    pub compacted: bool,
}

impl Cabinet {
    /// Erases a client whole: details, consents, answers, visits with photographs, routines of their own, sessions,
    /// notes, incidents, weeks, home notes, what they were given to take home, what was read on them, their place in courses, and their lines of the
    /// change log. The log keeps only that an erasure happened, a course only how many of its members were erased. What was there is overwritten in the store, then the store written anew and the write-ahead log emptied.
    ///
    /// Texts, films and own rules stay: none of them points at a client. A text that tells of one by name still does.
    ///
    /// Backups made before still hold the client, until they are replaced or removed. What the disk itself keeps of
    /// overwritten blocks (as flash does) is encrypted.
    ///
    /// # Errors
    /// There is no such client; it is locked; another program has the cabinet open (nothing was erased then).
    pub fn erase_client(&self, id: ClientId, now: Time) -> Result<Erasure, Error> {
        let mut slot = self.exclusive();
        let opened = slot.as_mut().ok_or(ErrorKind::Locked)?;
        // A reader elsewhere would keep the old pages in the log.
        if !opened.hold.alone() {
            return Err(ErrorKind::InUse(self.place.folder().to_owned()).into());
        }
        let store = opened.store.clone();
        let conn = opened.alone();
        let mut run = || {
            let all = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
            erase(&Writer::new(&all, now), id)?;
            all.commit()?;
            let compacted = conn::pragma(conn, "VACUUM").is_ok();
            conn::pragma(conn, "PRAGMA wal_checkpoint(TRUNCATE)")?;
            Ok(Erasure { compacted })
        };
        let erased = run();
        opened.hold.shared();
        erased.map_err(|e: Error| self.advised(e.at(&store)))
    }

    /// Erases the cabinet: what makes the keys first, then stores, backups and what was kept aside. It is locked then, and
    /// there is no way back but a backup that was written elsewhere.
    ///
    /// # Errors
    /// It is locked (only who knows the passphrase erases); another program has it open; the disk.
    pub fn erase_all(&self) -> Result<(), Error> {
        let mut slot = self.exclusive();
        let opened = slot.as_ref().ok_or(ErrorKind::Locked)?;
        if !opened.hold.alone() {
            return Err(ErrorKind::InUse(self.place.folder().to_owned()).into());
        }
        *slot = None;
        let folder = self.place.folder();
        let ours = |name: &str| {
            let of_a_store = [".db", ".db-wal", ".db-shm", ".db.new"].iter().find_map(|e| name.strip_suffix(e));
            of_a_store.is_some_and(|n| store_number(&format!("{n}.db")).is_some())
                || ["cabinet.toml", "cabinet.toml.copy", "attempts.txt", "in-use", "in-turn"].contains(&name)
        };
        let mut names = entries(folder)?;
        // Headers first: without them the rest is noise, should this be cut off.
        names.sort_by_key(|n| !n.starts_with("cabinet.toml"));
        for name in names {
            let path = folder.join(&name);
            let gone = match name.as_str() {
                "backups" | "aside" => fs::remove_dir_all(&path),
                _ if ours(&name) => fs::remove_file(&path),
                _ => Ok(()),
            };
            gone.map_err(|e| Error::io(&path, &e))?;
        }
        // Something else in the folder keeps the folder.
        let _ = fs::remove_dir(folder);
        Ok(())
    }
}

pub(crate) fn erase(writer: &Writer<'_>, id: ClientId) -> Result<(), Error> {
    if writer.run("DELETE FROM clients WHERE id = ?1", [id])? == 0 {
        return Err(ErrorKind::NoSuch(ClientId::WORD, id.number()).into());
    }
    writer.run("DELETE FROM changes WHERE client = ?1", [id])?;
    writer.log(Done::Erased, ClientId::WORD, None, None)
}

#[cfg(test)]
mod tests;
