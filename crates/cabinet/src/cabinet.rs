//! The cabinet itself: making, opening, locking; reading and writing in transactions.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError, RwLock, RwLockReadGuard, RwLockWriteGuard};

use rusqlite::{Connection, TransactionBehavior};

use crate::access::{Reader, Writer};
use crate::attempts::{self, Attempt};
use crate::error::{Damage, Error, ErrorKind};
use crate::header::{Header, store_name};
use crate::key::{self, StoreKey};
use crate::passphrase::{Cost, Passphrase};
use crate::place::{Hold, Place, sync_file};
use crate::time::Time;
use crate::{backup, conn, migrate};

/// Up to this size, in bytes, every page of a store is held against its seal each time it is opened.
pub const CHECKED_WHOLE: u64 = 16 * 1024 * 1024;

/// Readers that are kept open for the next who reads; each may hold 16 MB of pages.
const MOST_IDLE: usize = 6;

/// How much of the store was looked at when it was opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Checked {
    /// Every page was held against its seal: no byte is another than was written.
    Whole,
    /// The first page, the length and the version: the store is larger than [`CHECKED_WHOLE`]. Every further page is held
    /// against its seal when it is read. [`Cabinet::check`] looks at the rest.
    Start,
}

/// A practice's encrypted store, in a folder of its own: locked, or unlocked with its passphrase.
///
/// It can be shared between threads: any number read at once, one writes. What `read` and `write` are given runs in one
/// transaction: a reader sees one moment, a writer's changes are all on the disk when `write` returns `Ok`, or none is.
/// Inside of it use what it is given: a second `read` or `write` of the same cabinet there may wait for itself.
pub struct Cabinet {
    pub(crate) place: Place,
    opened: RwLock<Option<Opened>>,
    idle: Mutex<Idle>,
}

/// What is there only while the cabinet is unlocked. Fields are dropped in this order: the connections close, the last one
/// empties the log, then the key is wiped.
pub(crate) struct Opened {
    readers: Mutex<Vec<Connection>>,
    pub(crate) writer: Mutex<Connection>,
    pub(crate) key: StoreKey,
    pub(crate) header: Header,
    pub(crate) store: PathBuf,
    checked: Checked,
    pub(crate) hold: Hold,
}

#[derive(Default)]
struct Idle {
    after: Option<i64>,
    last: Option<Time>,
}

impl Cabinet {
    /// Whether there is a cabinet in this folder, open or not.
    pub fn is_in(folder: &Path) -> bool {
        Place::new(folder).is_there()
    }

    /// Makes a cabinet in a new or empty folder, and leaves it unlocked.
    ///
    /// # Errors
    /// A cabinet or anything else is there; the passphrase is too short; the disk.
    pub fn create(folder: &Path, passphrase: &Passphrase, cost: Cost, now: Time) -> Result<Cabinet, Error> {
        passphrase.fit()?;
        let place = Place::new(folder);
        place.make()?;
        let hold = place.hold_alone()?;
        let (recipe, key) = key::fresh(passphrase, cost)?;
        let header = Header { store: store_name(1), recipe, replaced: None };
        let unfinished = place.unfinished(&header.store);
        let mut made = conn::open(&unfinished, &key, true)?;
        migrate::to_latest(&mut made, &unfinished)?;
        close(made, &unfinished)?;
        attempts::begin_at_none(&place, now)?;
        place.write_header(&header)?;
        place.settle(&header)?;
        drop(hold);
        let cabinet = Cabinet::at(folder);
        cabinet.opened_with(header, key, now)?;
        Ok(cabinet)
    }

    /// A handle on the cabinet in this folder, locked. Nothing is read yet.
    pub fn at(folder: &Path) -> Cabinet {
        Cabinet { place: Place::new(folder), opened: RwLock::default(), idle: Mutex::default() }
    }

    /// Opens a cabinet with its passphrase: [`Cabinet::at`] and [`Cabinet::unlock`].
    ///
    /// # Errors
    /// As [`Cabinet::unlock`].
    pub fn open(folder: &Path, passphrase: &Passphrase, now: Time) -> Result<Cabinet, Error> {
        let cabinet = Cabinet::at(folder);
        cabinet.unlock(passphrase, now)?;
        Ok(cabinet)
    }

    /// Unlocks with the passphrase; a store of an earlier version is backed up and brought up to date. Takes as long as the
    /// key's derivation, whether the passphrase is right or not.
    ///
    /// # Errors
    /// A wrong passphrase, or too many of them in a row (see [`crate::wait_after`]); a damaged header or store, with the
    /// newest whole backup; a store of a later version; another program that holds the folder alone.
    pub fn unlock(&self, passphrase: &Passphrase, now: Time) -> Result<(), Error> {
        let header = self.place.read_header().map_err(|e| self.advised(e))?;
        let attempt = Attempt::begin(&self.place, now)?;
        let Some(key) = key::open(passphrase, &header.recipe)? else {
            return Err(ErrorKind::WrongPassphrase { wait_until: attempt.wait_until() }.into());
        };
        let _turn = attempt.right()?;
        self.opened_with(header, key, now).map_err(|e| self.advised(e))
    }

    pub(crate) fn opened_with(&self, header: Header, key: StoreKey, now: Time) -> Result<(), Error> {
        let mut slot = self.exclusive();
        // Whoever is alone finishes what was cut off; with others in the folder it is finished already.
        if slot.is_none()
            && let Ok(hold) = self.place.hold_alone()
        {
            self.place.settle(&header)?;
            drop(hold);
        }
        let hold = self.place.hold_shared()?;
        let store = self.place.store(&header.store);
        let mut writer = conn::open(&store, &key, false)?;
        conn::check_length(&writer, &store)?;
        let version = migrate::version(&writer, &store)?;
        if version == 0 {
            // A store takes its name only when it is whole, with its version.
            return Err(ErrorKind::Damaged { what: Damage::Store, file: store, newest_backup: None }.into());
        }
        if version < migrate::LATEST {
            backup::write(&self.place, &writer, &key, &header.recipe, now).map_err(|e| e.at(&store))?;
            migrate::to_latest(&mut writer, &store)?;
        }
        let size = std::fs::metadata(&store).map_err(|e| Error::io(&store, &e))?.len();
        let checked = if size <= CHECKED_WHOLE { Checked::Whole } else { Checked::Start };
        if checked == Checked::Whole {
            conn::check_seals(&writer, &store)?;
        }
        let readers = Mutex::new(Vec::new());
        *slot = Some(Opened { readers, writer: Mutex::new(writer), key, header, store, checked, hold });
        self.idle().last = Some(now);
        Ok(())
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        self.place.folder()
    }

    /// Whether it is unlocked.
    pub fn is_unlocked(&self) -> bool {
        self.shared().is_some()
    }

    /// How much was looked at when it was unlocked; `None` while it is locked.
    pub fn checked(&self) -> Option<Checked> {
        self.shared().as_ref().map(|opened| opened.checked)
    }

    /// Locks: waits for transactions that run, closes the store and wipes the key.
    pub fn lock(&self) {
        *self.exclusive() = None;
    }

    /// Sets after how many seconds without [`Cabinet::touch`] it locks itself; `None`: never.
    pub fn lock_after(&self, seconds: Option<u32>) {
        self.idle().after = seconds.map(i64::from);
    }

    /// When it locks itself if nothing touches it before.
    pub fn locks_at(&self) -> Option<Time> {
        let unlocked = self.is_unlocked();
        let idle = self.idle();
        idle.last.zip(idle.after).filter(|_| unlocked).map(|(last, after)| last.plus(after))
    }

    /// Says that a person is at work now. A cabinet whose time is over locks instead.
    ///
    /// # Errors
    /// It is locked.
    pub fn touch(&self, now: Time) -> Result<(), Error> {
        self.lock_if_due(now);
        if !self.is_unlocked() {
            return Err(ErrorKind::Locked.into());
        }
        self.idle().last = Some(now);
        Ok(())
    }

    /// Locks if its time is over; says whether it did.
    pub fn lock_if_due(&self, now: Time) -> bool {
        let due = self.locks_at().is_some_and(|at| now >= at);
        if due {
            self.lock();
        }
        due
    }

    /// Reads: everything in `look` sees the same moment.
    ///
    /// # Errors
    /// It is locked, or what `look` answers with; damage comes with the newest whole backup.
    pub fn read<T>(&self, look: impl FnOnce(&Reader<'_>) -> Result<T, Error>) -> Result<T, Error> {
        let slot = self.shared();
        let opened = slot.as_ref().ok_or(ErrorKind::Locked)?;
        let run = || {
            let kept = guard(&opened.readers).pop();
            let conn = match kept {
                Some(conn) => conn,
                None => conn::open(&opened.store, &opened.key, false)?,
            };
            let moment = conn.unchecked_transaction()?;
            let value = look(&Reader::new(&moment))?;
            moment.finish()?;
            let mut idle = guard(&opened.readers);
            if idle.len() < MOST_IDLE {
                idle.push(conn);
            }
            Ok(value)
        };
        run().map_err(|e: Error| self.advised(e.at(&opened.store)))
    }

    /// Writes: when it answers `Ok`, all of `change` is on the disk; on an error, or a crash, none of it is.
    ///
    /// # Errors
    /// It is locked, or what `change` answers with; a full disk; another program's long change.
    pub fn write<T>(&self, now: Time, change: impl FnOnce(&Writer<'_>) -> Result<T, Error>) -> Result<T, Error> {
        let slot = self.shared();
        let opened = slot.as_ref().ok_or(ErrorKind::Locked)?;
        let run = || {
            let mut conn = guard(&opened.writer);
            let all = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let value = change(&Writer::new(&all, now))?;
            all.commit()?;
            Ok(value)
        };
        run().map_err(|e: Error| self.advised(e.at(&opened.store)))
    }

    /// Holds every page against its seal. Reads the whole file.
    ///
    /// # Errors
    /// Damage, with the newest whole backup; it is locked.
    pub fn check_seals(&self) -> Result<(), Error> {
        self.look(conn::check_seals)
    }

    /// Looks at the whole store: every page's seal, every tree, every reference. Reads the whole file, several times.
    ///
    /// # Errors
    /// Damage, with the newest whole backup; it is locked.
    pub fn check(&self) -> Result<(), Error> {
        self.look(conn::check_whole)
    }

    fn look(&self, check: impl FnOnce(&Connection, &Path) -> Result<(), Error>) -> Result<(), Error> {
        let slot = self.shared();
        let opened = slot.as_ref().ok_or(ErrorKind::Locked)?;
        // A connection of its own has none of the pages in memory.
        let looked = conn::open(&opened.store, &opened.key, false).and_then(|conn| check(&conn, &opened.store));
        looked.map_err(|e| self.advised(e))
    }

    pub(crate) fn shared(&self) -> RwLockReadGuard<'_, Option<Opened>> {
        self.opened.read().unwrap_or_else(PoisonError::into_inner)
    }

    pub(crate) fn exclusive(&self) -> RwLockWriteGuard<'_, Option<Opened>> {
        self.opened.write().unwrap_or_else(PoisonError::into_inner)
    }

    fn idle(&self) -> MutexGuard<'_, Idle> {
        guard(&self.idle)
    }

    /// Damage comes with the way back.
    pub(crate) fn advised(&self, error: Error) -> Error {
        error.with_backup(|| backup::newest_whole(&self.place))
    }
}

impl Opened {
    /// Closes the readers, so that the writer can empty the log.
    pub(crate) fn alone(&mut self) -> &mut Connection {
        guard(&self.readers).clear();
        self.writer.get_mut().unwrap_or_else(PoisonError::into_inner)
    }
}

impl std::fmt::Debug for Cabinet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Cabinet").field("folder", &self.place.folder()).finish_non_exhaustive()
    }
}

/// A transaction that panicked was rolled back, so what a poisoned lock guards is whole.
pub(crate) fn guard<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Closes a store that stands alone: everything in one file, and that on the disk.
pub(crate) fn close(conn: Connection, store: &Path) -> Result<(), Error> {
    conn.close().map_err(|(_, e)| Error::sql(store, e))?;
    sync_file(store)
}

#[cfg(test)]
mod tests;
