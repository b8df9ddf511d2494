//! Backups: one encrypted file each, with everything but the passphrase in it.
//!
//! The first 4096 bytes are a text in clear, filled up with line ends: what makes the key, when it was made, how long the
//! rest is and its SHA-256. The rest is a store as SQLCipher writes it, under the same key as the cabinet at that moment.
//! `tail -c +4097` gives it to any other tool of that format.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use sha2::{Digest, Sha256};

use crate::attempts::Attempt;
use crate::cabinet::{Cabinet, close};
use crate::error::{Error, ErrorKind};
use crate::header::{FORMAT, Fields, Header, Replaced, Unread, hex, sealed, store_number};
use crate::key::{self, Recipe, StoreKey};
use crate::passphrase::{Cost, Passphrase};
use crate::place::{Place, entries, make_folder, rename, sync_file};
use crate::time::Time;
use crate::{conn, migrate};

const HEAD: usize = 4096;
const MARK: &str = "# A backup of a Tragion cabinet, encrypted. It opens with the passphrase of the day it was made.\n";
const ENDING: &str = ".tragion-backup";

/// A backup, as its head says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackupInfo {
    /// The file.
    pub path: PathBuf,
    /// When it was made.
    pub made: Time,
    /// The version of the store in it.
    pub version: u32,
    /// Bytes of the file.
    pub size: u64,
}

impl BackupInfo {
    /// So many bytes of a file are needed to know whether it is a backup.
    pub const HEAD_BYTES: usize = HEAD;

    /// What the head of a backup file says; its length is compared, the rest is not looked at.
    ///
    /// # Errors
    /// It is no backup, cut short, or of a later version; the disk.
    pub fn of(path: &Path) -> Result<BackupInfo, Error> {
        Ok(head_of(path)?.info)
    }

    /// The same from the first [`BackupInfo::HEAD_BYTES`] bytes of a file that is still on its way; `path` is where it will lie,
    /// `size` what the head says that it will have.
    ///
    /// # Errors
    /// It is no backup, or of a later version.
    pub fn of_head(first: &[u8], path: &Path) -> Result<BackupInfo, Error> {
        let bad = || Error::from(ErrorKind::BadBackup(path.to_owned()));
        let head = parse_head(first.get(..HEAD).ok_or_else(bad)?, path)?;
        let size = head.length.checked_add(HEAD as u64).ok_or_else(bad)?;
        Ok(BackupInfo { size, ..head.info })
    }

    /// Whether the checksum of the whole file holds. Reads it whole; needs no passphrase.
    pub fn is_whole(&self) -> bool {
        head_of(&self.path).and_then(|head| check_rest(&self.path, &head)).is_ok()
    }
}

struct Head {
    info: BackupInfo,
    recipe: Recipe,
    length: u64,
    sha256: String,
}

impl Cabinet {
    /// Writes a backup into the cabinet's own folder of backups, checks it whole, and then takes away the oldest ones
    /// beyond `keep` (at least 1). Others may read and write meanwhile; the backup holds one moment.
    ///
    /// # Errors
    /// It is locked; the store is damaged; the disk. The backups before stay untouched then.
    pub fn backup(&self, keep: usize, now: Time) -> Result<BackupInfo, Error> {
        let info = self.backup_into(None, now)?;
        let kept = backups(&self.place);
        for old in kept.iter().rev().skip(keep.max(1)).filter(|old| old.path != info.path) {
            fs::remove_file(&old.path).map_err(|e| Error::io(&old.path, &e))?;
        }
        Ok(info)
    }

    /// Writes a backup to a path of one's own, as onto another disk. What is there under this name is replaced when the new
    /// one is whole.
    ///
    /// # Errors
    /// As [`Cabinet::backup`].
    pub fn backup_to(&self, path: &Path, now: Time) -> Result<BackupInfo, Error> {
        self.backup_into(Some(path), now)
    }

    fn backup_into(&self, path: Option<&Path>, now: Time) -> Result<BackupInfo, Error> {
        let slot = self.shared();
        let opened = slot.as_ref().ok_or(ErrorKind::Locked)?;
        // A connection of its own reads every page from the disk, and with it its seal.
        let run = || {
            let conn = conn::open(&opened.store, &opened.key, false)?;
            write_to(&self.place, &conn, &opened.key, &opened.header.recipe, path, now)
        };
        run().map_err(|e: Error| self.advised(e.at(&opened.store)))
    }

    /// The backups in the cabinet's own folder, oldest first, as their heads say; their rest is not looked at.
    pub fn backups(&self) -> Vec<BackupInfo> {
        backups(&self.place)
    }

    /// The folders in which restores kept what they replaced; each is a cabinet of its own, with everything that was in it then.
    pub fn kept_aside(&self) -> Vec<PathBuf> {
        let folder = self.place.folder().join("aside");
        entries(&folder).unwrap_or_default().into_iter().map(|name| folder.join(name)).collect()
    }

    /// The newest backup in the cabinet's own folder whose checksum holds. Reads it whole; needs no passphrase.
    pub fn newest_whole_backup(&self) -> Option<BackupInfo> {
        newest_whole(&self.place)
    }

    /// Whether a passphrase opens a backup, before the cabinet is closed to restore it. Counts as an attempt on this cabinet.
    ///
    /// # Errors
    /// It does not, or too many did not; it is no backup; the disk.
    pub fn try_backup(&self, backup: &Path, passphrase: &Passphrase, now: Time) -> Result<(), Error> {
        let head = head_of(backup)?;
        let attempt = Attempt::begin(&self.place, now)?;
        if key::open(passphrase, &head.recipe)?.is_none() {
            return Err(ErrorKind::WrongPassphrase { wait_until: attempt.wait_until() }.into());
        }
        attempt.right().map(drop)
    }

    /// Restores a backup into a folder, new or with a cabinet in it, and opens it. The cabinet that was there is kept aside, in
    /// `aside/`, as a cabinet of its own. The backup is checked whole before anything changes.
    ///
    /// # Errors
    /// It is no whole backup; the passphrase is not the one of the day it was made; the cabinet there is open; it is of a
    /// later version; the folder holds something else; the disk. The cabinet that was there is untouched then.
    pub fn restore(backup: &Path, folder: &Path, passphrase: &Passphrase, now: Time) -> Result<Cabinet, Error> {
        let head = head_of(backup)?;
        if head.info.version > migrate::LATEST {
            return Err(ErrorKind::Newer { found: head.info.version, known: migrate::LATEST }.into());
        }
        let place = Place::new(folder);
        let lost = || entries(folder).is_ok_and(|e| e.iter().any(|e| store_number(e).is_some()));
        if !place.is_there() && !lost() {
            place.make()?;
        }
        let hold = place.hold_alone()?;
        let attempt = Attempt::begin(&place, now)?;
        let Some(key) = key::open(passphrase, &head.recipe)? else {
            return Err(ErrorKind::WrongPassphrase { wait_until: attempt.wait_until() }.into());
        };
        let _turn = attempt.right()?;
        let store = place.next_store()?;
        let unfinished = place.unfinished(&store);
        unpack(backup, &head, &unfinished)?;
        prove(&unfinished, &key).map_err(|e| match e.kind() {
            ErrorKind::Damaged { .. } => ErrorKind::BadBackup(backup.to_owned()).into(),
            _ => e,
        })?;
        let before = match place.read_header() {
            Ok(header) => Some(header.store),
            // Without a header the latest store there is what a person means.
            Err(_) => {
                let numbers = entries(folder)?.into_iter().filter(|e| store_number(e).is_some());
                numbers.max_by_key(|e| store_number(e))
            }
        };
        if let Some(before) = &before {
            place.keep_header_aside(before)?;
        }
        let replaced = before.map(|store| Replaced { store, aside: true });
        let header = Header { store, recipe: head.recipe, replaced };
        place.write_header(&header)?;
        place.settle(&header)?;
        drop(hold);
        let cabinet = Cabinet::at(folder);
        cabinet.opened_with(header, key, now).map_err(|e| cabinet.advised(e))?;
        Ok(cabinet)
    }

    /// Gives the cabinet another passphrase: the whole store is written anew under a new key, the old one taken away.
    /// Backups made before open with the passphrase of their day.
    ///
    /// # Errors
    /// It is locked; `old` is not its passphrase (counted as an attempt); `new` is too short; another program has it open.
    pub fn change_passphrase(&self, old: &Passphrase, new: &Passphrase, cost: Cost, now: Time) -> Result<(), Error> {
        new.fit()?;
        let mut slot = self.exclusive();
        let mut opened = slot.take().ok_or(ErrorKind::Locked)?;
        let run = |opened: &mut crate::cabinet::Opened| {
            let attempt = Attempt::begin(&self.place, now)?;
            if key::open(old, &opened.header.recipe)?.is_none() {
                return Err(ErrorKind::WrongPassphrase { wait_until: attempt.wait_until() }.into());
            }
            let _turn = attempt.right()?;
            if !opened.hold.alone() {
                return Err(ErrorKind::InUse(self.place.folder().to_owned()).into());
            }
            let (recipe, key) = key::fresh(new, cost)?;
            let store = self.place.next_store()?;
            let unfinished = self.place.unfinished(&store);
            let current = opened.store.clone();
            vacuum_into(opened.alone(), &current, &unfinished)?;
            conn::rekey(&unfinished, &opened.key, &key)?;
            prove(&unfinished, &key)?;
            let replaced = Some(Replaced { store: opened.header.store.clone(), aside: false });
            Ok((Header { store, recipe, replaced }, key))
        };
        match run(&mut opened) {
            Ok((header, key)) => {
                self.place.write_header(&header)?;
                drop(opened);
                drop(slot);
                self.opened_with(header, key, now).map_err(|e| self.advised(e))
            }
            Err(error) => {
                opened.hold.shared();
                *slot = Some(opened);
                Err(error)
            }
        }
    }
}

/// A backup that comes from elsewhere, piece by piece, into a cabinet's own folder of backups. Refused after its first
/// [`BackupInfo::HEAD_BYTES`] bytes if it is none; dropped before [`Incoming::finish`], nothing of it stays.
pub struct Incoming {
    path: PathBuf,
    new: PathBuf,
    first: Vec<u8>,
    /// What its head says, once that is here, and the file.
    begun: Option<(BackupInfo, File)>,
    taken: u64,
}

impl Incoming {
    /// Begins to take one in for the cabinet of this folder, there or still to be restored.
    ///
    /// # Errors
    /// The folder holds something else than a cabinet; the disk.
    pub fn begin(folder: &Path, now: Time) -> Result<Incoming, Error> {
        let place = Place::new(folder);
        let lost = || entries(folder).is_ok_and(|e| e.iter().any(|e| store_number(e).is_some()));
        if !place.is_there() && !lost() {
            place.make()?;
        }
        make_folder(&place.backups())?;
        let name = format!("from-elsewhere-{}{ENDING}", unique(now));
        let path = place.backups().join(&name);
        let new = place.backups().join(format!("{name}.new"));
        Ok(Incoming { path, new, first: Vec::new(), begun: None, taken: 0 })
    }

    /// Takes the next piece.
    ///
    /// # Errors
    /// It is no backup, longer than its head says, or of a later version; the disk has no room.
    pub fn take(&mut self, piece: &[u8]) -> Result<(), Error> {
        self.taken += piece.len() as u64;
        if self.begun.is_none() {
            self.first.extend_from_slice(piece);
            if self.first.len() < HEAD {
                return Ok(());
            }
            let info = BackupInfo::of_head(&self.first, &self.path)?;
            let mut file = File::create(&self.new).map_err(|e| Error::io(&self.new, &e))?;
            let first = std::mem::take(&mut self.first);
            file.write_all(&first).map_err(|e| Error::io(&self.new, &e))?;
            self.begun = Some((info, file));
        } else if let Some((_, file)) = &mut self.begun {
            file.write_all(piece).map_err(|e| Error::io(&self.new, &e))?;
        }
        match &self.begun {
            Some((info, _)) if self.taken > info.size => Err(ErrorKind::BadBackup(self.path.clone()).into()),
            _ => Ok(()),
        }
    }

    /// All of it is here: it is read back, and one of the folder's backups from now on.
    ///
    /// # Errors
    /// It is cut short or damaged; the disk.
    pub fn finish(mut self) -> Result<BackupInfo, Error> {
        let Some((_, file)) = self.begun.take() else { return Err(ErrorKind::BadBackup(self.path.clone()).into()) };
        file.sync_all().map_err(|e| Error::io(&self.new, &e))?;
        drop(file);
        let head = head_of(&self.new)?;
        check_rest(&self.new, &head)?;
        rename(&self.new, &self.path)?;
        Ok(BackupInfo { path: self.path.clone(), ..head.info })
    }
}

impl Drop for Incoming {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.new);
    }
}

/// Writes a backup into the folder of backups.
pub(crate) fn write(
    place: &Place,
    conn: &Connection,
    key: &StoreKey,
    recipe: &Recipe,
    now: Time,
) -> Result<BackupInfo, Error> {
    write_to(place, conn, key, recipe, None, now)
}

fn write_to(
    place: &Place,
    conn: &Connection,
    key: &StoreKey,
    recipe: &Recipe,
    path: Option<&Path>,
    now: Time,
) -> Result<BackupInfo, Error> {
    let folder = place.backups();
    make_folder(&folder)?;
    let path = path.map_or_else(|| free_name(&folder, now), Path::to_owned);
    let copy = folder.join(format!("{}.new", unique(now)));
    let run = || {
        vacuum_into(conn, Path::new(""), &copy)?;
        let version = prove(&copy, key)?;
        pack(&copy, &path, version, recipe, now)
    };
    let packed = run();
    let _ = fs::remove_file(&copy);
    packed?;
    let head = head_of(&path)?;
    check_rest(&path, &head)?;
    Ok(head.info)
}

fn free_name(folder: &Path, now: Time) -> PathBuf {
    let stamp = now.to_string().replace(':', "-");
    let name = |n: u32| if n == 1 { format!("{stamp}{ENDING}") } else { format!("{stamp}-{n}{ENDING}") };
    (1..).map(|n| folder.join(name(n))).find(|p| !p.exists()).unwrap_or_default()
}

/// A name that two backups at once don't share.
fn unique(now: Time) -> String {
    use std::sync::atomic::{AtomicU32, Ordering};
    static COUNT: AtomicU32 = AtomicU32::new(0);
    format!("{}-{}-{}", now.unix(), std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed))
}

/// Copies the store as it is at this moment, page by page sealed anew, into a new file.
fn vacuum_into(conn: &Connection, store: &Path, to: &Path) -> Result<(), Error> {
    let text = to
        .to_str()
        .ok_or_else(|| ErrorKind::File { path: to.to_owned(), detail: "its name is no Unicode".to_owned() })?;
    conn.execute("VACUUM INTO ?1", [text]).map_err(|e| {
        let _ = fs::remove_file(to);
        let error = Error::sql(store, e);
        match error.kind() {
            // A page without its seal comes as "SQL logic error" here: ask what it is.
            ErrorKind::Internal(_) => conn::check_whole(conn, store).err().unwrap_or(error),
            ErrorKind::DiskFull(_) => ErrorKind::DiskFull(to.to_owned()).into(),
            _ => error,
        }
    })?;
    sync_file(to)
}

/// Opens a copy and looks at it whole; answers its version.
fn prove(copy: &Path, key: &StoreKey) -> Result<u32, Error> {
    let conn = conn::open(copy, key, false)?;
    conn::check_length(&conn, copy)?;
    conn::check_whole(&conn, copy)?;
    let version = migrate::version(&conn, copy)?;
    close(conn, copy)?;
    Ok(version)
}

fn pack(copy: &Path, path: &Path, version: u32, recipe: &Recipe, now: Time) -> Result<(), Error> {
    let (length, sha256) = digest(copy, 0)?;
    let Cost { memory_kib, passes, lanes } = recipe.cost;
    let text = sealed(format!(
        "{MARK}format = {FORMAT}\nmade = {}\nversion = {version}\nlength = {length}\nsha256 = \"{sha256}\"\n\
         argon2id = {{ memory_kib = {memory_kib}, passes = {passes}, lanes = {lanes} }}\nsalt = \"{}\"\ncheck = \"{}\"\n",
        now.unix(),
        hex(&recipe.salt),
        hex(&recipe.check),
    ));
    let mut head = text.into_bytes();
    head.resize(HEAD, b'\n');
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".new");
    let new = path.with_file_name(name);
    let write = || {
        let mut out = File::create(&new)?;
        out.write_all(&head)?;
        std::io::copy(&mut File::open(copy)?, &mut out)?;
        out.sync_all()
    };
    write().map_err(|e| {
        let _ = fs::remove_file(&new);
        Error::io(path, &e)
    })?;
    // Read back before it takes the name of one that may be good.
    let written = head_of(&new).and_then(|head| check_rest(&new, &head));
    if let Err(error) = written {
        let _ = fs::remove_file(&new);
        return Err(error);
    }
    rename(&new, path)
}

fn head_of(path: &Path) -> Result<Head, Error> {
    let bad = || Error::from(ErrorKind::BadBackup(path.to_owned()));
    let mut file = File::open(path).map_err(|e| Error::io(path, &e))?;
    let size = file.metadata().map_err(|e| Error::io(path, &e))?.len();
    let mut bytes = vec![0; HEAD];
    file.read_exact(&mut bytes).map_err(|_| bad())?;
    let mut head = parse_head(&bytes, path)?;
    head.info.size = size;
    if head.length.checked_add(HEAD as u64) != Some(size) { Err(bad()) } else { Ok(head) }
}

/// The head, from its bytes; the size is not known yet.
fn parse_head(bytes: &[u8], path: &Path) -> Result<Head, Error> {
    let bad = || Error::from(ErrorKind::BadBackup(path.to_owned()));
    if !bytes.starts_with(MARK.as_bytes()) {
        return Err(bad());
    }
    let fields = Fields::parse(bytes).map_err(|e| match e {
        Unread::Newer(found) => ErrorKind::Newer { found, known: FORMAT }.into(),
        Unread::Damaged => bad(),
    })?;
    let number = |key: &str| fields.number(key).ok_or_else(bad);
    let unsigned = |key: &str| u64::try_from(number(key)?).map_err(|_| bad());
    let info = BackupInfo {
        path: path.to_owned(),
        made: Time::from_unix(number("made")?),
        version: u32::try_from(number("version")?).map_err(|_| bad())?,
        size: 0,
    };
    Ok(Head {
        info,
        recipe: fields.recipe().ok_or_else(bad)?,
        length: unsigned("length")?,
        sha256: fields.text("sha256").ok_or_else(bad)?,
    })
}

/// Whether these bytes are the head of a backup, for the fuzzer.
pub fn is_head(bytes: &[u8], size: u64) -> bool {
    parse_head(bytes, Path::new("")).is_ok_and(|head| head.length.checked_add(HEAD as u64) == Some(size))
}

/// Length and SHA-256 of a file after its first `skip` bytes.
fn digest(path: &Path, skip: u64) -> Result<(u64, String), Error> {
    let io = |e| Error::io(path, &e);
    let mut file = File::open(path).map_err(io)?;
    std::io::Seek::seek(&mut file, std::io::SeekFrom::Start(skip)).map_err(io)?;
    let (mut sum, mut length, mut buffer) = (Sha256::new(), 0, vec![0; 1 << 18]);
    loop {
        let read = file.read(&mut buffer).map_err(io)?;
        if read == 0 {
            return Ok((length, hex(&sum.finalize())));
        }
        length += read as u64;
        sum.update(&buffer[..read]);
    }
}

fn check_rest(path: &Path, head: &Head) -> Result<(), Error> {
    let whole = digest(path, HEAD as u64)? == (head.length, head.sha256.clone());
    if whole { Ok(()) } else { Err(ErrorKind::BadBackup(path.to_owned()).into()) }
}

/// Copies the store out of a backup and holds what was written against the head.
fn unpack(path: &Path, head: &Head, to: &Path) -> Result<(), Error> {
    let mut file = File::open(path).map_err(|e| Error::io(path, &e))?;
    std::io::Seek::seek(&mut file, std::io::SeekFrom::Start(HEAD as u64)).map_err(|e| Error::io(path, &e))?;
    let mut write = || {
        let mut out = File::create(to)?;
        std::io::copy(&mut file, &mut out)?;
        out.sync_all()
    };
    let written = write().map_err(|e| Error::io(to, &e)).and_then(|()| digest(to, 0));
    match written {
        Ok(found) if found == (head.length, head.sha256.clone()) => Ok(()),
        Ok(_) => {
            let _ = fs::remove_file(to);
            Err(ErrorKind::BadBackup(path.to_owned()).into())
        }
        Err(error) => {
            let _ = fs::remove_file(to);
            Err(error)
        }
    }
}

fn backups(place: &Place) -> Vec<BackupInfo> {
    let folder = place.backups();
    let names = entries(&folder).unwrap_or_default();
    let paths = names.iter().filter(|n| n.ends_with(ENDING)).map(|n| folder.join(n));
    let mut found: Vec<BackupInfo> = paths.filter_map(|p| Some(head_of(&p).ok()?.info)).collect();
    found.sort_by(|a, b| (a.made, &a.path).cmp(&(b.made, &b.path)));
    found
}

/// The newest backup whose checksum holds.
pub(crate) fn newest_whole(place: &Place) -> Option<BackupInfo> {
    backups(place).into_iter().rev().find(BackupInfo::is_whole)
}
