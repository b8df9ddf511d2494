//! The folder of a cabinet: what lies where, and how files are replaced so that no moment shows half of one.
//!
//! ```text
//! cabinet.toml        the header, in clear (see `header`)
//! cabinet.toml.copy   the same once more
//! store-1.db          the store, encrypted; with -wal and -shm while it is open
//! attempts.txt        wrong passphrases in a row and when: a number and a time
//! in-use, in-turn     empty; programs hold each other off with the first, and try passphrases one after another with the second
//! backups/            backups, encrypted
//! aside/              what a restore replaced; each folder in it is a cabinet of its own
//! ```

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::error::{Damage, Error, ErrorKind};
use crate::header::{Header, Unread, store_name, store_number};

/// Paths of one cabinet.
#[derive(Clone, Debug)]
pub struct Place {
    folder: PathBuf,
}

/// A hold on the folder, given back when dropped.
pub struct Hold(File);

impl Hold {
    /// From shared to alone; says whether it came about. Otherwise it is shared as before.
    pub fn alone(&self) -> bool {
        let _ = self.0.unlock();
        let alone = self.0.try_lock().is_ok();
        if !alone {
            self.shared();
        }
        alone
    }

    /// Back to shared.
    pub fn shared(&self) {
        let _ = self.0.unlock();
        // Who took it alone in this moment waits for nobody, so this waits for them.
        let _ = self.0.lock_shared();
    }
}

impl Place {
    pub fn new(folder: &Path) -> Place {
        Place { folder: folder.to_owned() }
    }

    pub fn folder(&self) -> &Path {
        &self.folder
    }

    pub fn header(&self) -> PathBuf {
        self.folder.join("cabinet.toml")
    }

    fn header_copy(&self) -> PathBuf {
        self.folder.join("cabinet.toml.copy")
    }

    pub fn attempts(&self) -> PathBuf {
        self.folder.join("attempts.txt")
    }

    pub fn backups(&self) -> PathBuf {
        self.folder.join("backups")
    }

    pub fn store(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// Whether a header or its copy is there.
    pub fn is_there(&self) -> bool {
        self.header().exists() || self.header_copy().exists()
    }

    /// Makes the folder, for its owner alone, and refuses one with anything of a cabinet, or of anyone else, in it.
    pub fn make(&self) -> Result<(), Error> {
        if self.is_there() {
            return Err(ErrorKind::AlreadyThere(self.folder.clone()).into());
        }
        make_folder(&self.folder)?;
        for entry in entries(&self.folder)? {
            // What a creation that was cut off left behind; no header was ever written for it.
            let ours = is_begun(&entry) || ["in-use", "in-turn", "backups", "attempts.txt"].contains(&entry.as_str());
            if !ours {
                return Err(ErrorKind::NotEmpty(self.folder.clone()).into());
            }
        }
        self.sweep()?;
        make_folder(&self.backups())
    }

    /// The header, from its copy where the first one is damaged; both are whole afterwards.
    pub fn read_header(&self) -> Result<Header, Error> {
        if !self.is_there() {
            let lost = entries(&self.folder).unwrap_or_default().iter().any(|e| store_number(e).is_some());
            return Err(if lost { self.header_damaged() } else { ErrorKind::NoCabinet(self.folder.clone()).into() });
        }
        let read = |path: &Path| fs::read(path).map_err(|_| Unread::Damaged).and_then(|bytes| Header::parse(&bytes));
        let (first, copy) = (read(&self.header()), read(&self.header_copy()));
        match (first, copy) {
            (Ok(header), copy) => {
                if copy.as_ref() != Ok(&header) {
                    // A disk that can't be written is no reason not to open.
                    let _ = replace(&self.header_copy(), header.text().as_bytes());
                }
                Ok(header)
            }
            (Err(Unread::Newer(found)), _) | (Err(_), Err(Unread::Newer(found))) => {
                Err(ErrorKind::Newer { found, known: crate::header::FORMAT }.into())
            }
            (Err(Unread::Damaged), Ok(header)) => {
                let _ = replace(&self.header(), header.text().as_bytes());
                Ok(header)
            }
            (Err(_), Err(_)) => Err(self.header_damaged()),
        }
    }

    fn header_damaged(&self) -> Error {
        ErrorKind::Damaged { what: Damage::Header, file: self.header(), newest_backup: None }.into()
    }

    /// Writes the header in one step: from then on it holds. A copy that could not be written is mended at the next opening.
    pub fn write_header(&self, header: &Header) -> Result<(), Error> {
        replace(&self.header(), header.text().as_bytes())?;
        let _ = replace(&self.header_copy(), header.text().as_bytes());
        Ok(())
    }

    /// A name no store of this folder has had.
    pub fn next_store(&self) -> Result<String, Error> {
        let names = entries(&self.folder)?;
        let numbers = names.iter().filter_map(|e| store_number(e.trim_end_matches(".new")));
        let set_aside = entries(&self.folder.join("aside")).unwrap_or_default();
        let numbers = numbers.chain(set_aside.iter().filter_map(|e| e.parse().ok()));
        Ok(store_name(numbers.max().unwrap_or(0) + 1))
    }

    /// Where a store is built before the header names it.
    pub fn unfinished(&self, store: &str) -> PathBuf {
        self.folder.join(format!("{store}.new"))
    }

    /// After the header has switched, at once or at the next opening: puts the new store in its place and the old one
    /// where the header says.
    pub fn settle(&self, header: &Header) -> Result<(), Error> {
        let (store, unfinished) = (self.store(&header.store), self.unfinished(&header.store));
        if !store.exists() && unfinished.exists() {
            rename(&unfinished, &store)?;
        }
        if let Some(replaced) = &header.replaced {
            let aside = self.folder.join("aside").join(store_number(&replaced.store).unwrap_or(0).to_string());
            for end in ["", "-wal", "-shm"] {
                let old = self.folder.join(format!("{}{end}", replaced.store));
                if !old.exists() {
                    continue;
                }
                if replaced.aside {
                    make_folder(&aside)?;
                    rename(&old, &aside.join(format!("{}{end}", replaced.store)))?;
                } else {
                    fs::remove_file(&old).map_err(|e| Error::io(&old, &e))?;
                }
            }
        }
        self.sweep()
    }

    /// Keeps the header of a store that a restore is about to replace, whatever it holds.
    pub fn keep_header_aside(&self, store: &str) -> Result<(), Error> {
        let aside = self.folder.join("aside").join(store_number(store).unwrap_or(0).to_string());
        make_folder(&aside)?;
        for file in ["cabinet.toml", "cabinet.toml.copy"] {
            if let Ok(bytes) = fs::read(self.folder.join(file)) {
                replace(&aside.join(file), &bytes)?;
            }
        }
        Ok(())
    }

    /// Takes away what was begun and never named by a header.
    fn sweep(&self) -> Result<(), Error> {
        for folder in [&self.folder, &self.backups()] {
            for entry in entries(folder).unwrap_or_default() {
                if is_begun(&entry) {
                    let path = folder.join(&entry);
                    fs::remove_file(&path).map_err(|e| Error::io(&path, &e))?;
                }
            }
        }
        Ok(())
    }

    /// Holds the folder together with others that only read and write rows.
    pub fn hold_shared(&self) -> Result<Hold, Error> {
        self.hold(|file| file.try_lock_shared())
    }

    /// Holds the folder alone.
    pub fn hold_alone(&self) -> Result<Hold, Error> {
        self.hold(|file| file.try_lock())
    }

    fn hold(&self, lock: impl FnOnce(&File) -> Result<(), TryLockError>) -> Result<Hold, Error> {
        let path = self.folder.join("in-use");
        let file = OpenOptions::new().create(true).truncate(false).write(true).open(&path);
        let file = file.map_err(|e| Error::io(&path, &e))?;
        match lock(&file) {
            Ok(()) => Ok(Hold(file)),
            Err(TryLockError::WouldBlock) => Err(ErrorKind::InUse(self.folder.clone()).into()),
            Err(TryLockError::Error(e)) => Err(Error::io(&path, &e)),
        }
    }
}

/// Whether this is a name that only something of ours has before it is whole; other people's files are theirs.
fn is_begun(name: &str) -> bool {
    let stem = [".new", ".new-journal", ".new-wal", ".new-shm"].iter().find_map(|end| name.strip_suffix(end));
    stem.is_some_and(|stem| {
        store_number(stem).is_some()
            || ["cabinet.toml", "cabinet.toml.copy"].contains(&stem)
            || stem.ends_with(".tragion-backup")
            || (!stem.is_empty() && stem.bytes().all(|b| b.is_ascii_digit() || b == b'-'))
    })
}

/// Names in a folder, in order.
pub fn entries(folder: &Path) -> Result<Vec<String>, Error> {
    let read = fs::read_dir(folder).map_err(|e| Error::io(folder, &e))?;
    let mut names: Vec<String> =
        read.filter_map(|e| Some(e.ok()?.file_name().to_string_lossy().into_owned())).collect();
    names.sort();
    Ok(names)
}

/// Makes a folder where there is none, on Unix for its owner alone.
pub fn make_folder(folder: &Path) -> Result<(), Error> {
    if folder.is_dir() {
        return Ok(());
    }
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(|e| Error::io(folder, &e))
}

/// Replaces a file in one step: the new one is whole on the disk before it takes the name.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".new");
    let new = path.with_file_name(name);
    let write = || {
        let mut file = File::create(&new)?;
        file.write_all(bytes)?;
        file.sync_all()
    };
    write().map_err(|e| {
        let _ = fs::remove_file(&new);
        Error::io(path, &e)
    })?;
    rename(&new, path)
}

/// Renames, and waits until the folder knows it.
pub fn rename(from: &Path, to: &Path) -> Result<(), Error> {
    fs::rename(from, to).map_err(|e| Error::io(to, &e))?;
    if let Some(folder) = to.parent() {
        sync_folder(folder);
    }
    Ok(())
}

/// Puts a file that was written by someone else on the disk.
pub fn sync_file(path: &Path) -> Result<(), Error> {
    OpenOptions::new().write(true).open(path).and_then(|f| f.sync_all()).map_err(|e| Error::io(path, &e))
}

fn sync_folder(folder: &Path) {
    // Where folders can't be opened (Windows), the file system journals names itself.
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}
