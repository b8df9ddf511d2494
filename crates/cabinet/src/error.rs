//! Everything that can go wrong with a cabinet, and the words for it: what, where, what to do.
//!
//! The texts stand in this file alone. An app that words them itself goes by [`Error::kind`] and [`Error::key`].
//! No text carries anything that a client told or showed. Paths are the practitioner's own.

use std::fmt;
use std::path::{Path, PathBuf};

use crate::backup::BackupInfo;
use crate::consents::ConsentKind;
use crate::time::Time;

/// What went wrong; opaque, with [`Error::kind`] to tell kinds apart. `Display` is plain English for a person; what a log may
/// keep is [`Error::key`].
pub struct Error {
    kind: Box<ErrorKind>,
}

/// The kinds of [`Error`].
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum ErrorKind {
    /// There is no cabinet in this folder.
    NoCabinet(PathBuf),
    /// A cabinet was to be made where there already is one.
    AlreadyThere(PathBuf),
    /// A folder that should be empty holds something.
    NotEmpty(PathBuf),
    /// The passphrase does not open the cabinet. The same words whatever is wrong with it.
    WrongPassphrase {
        /// The next attempt is refused before this time.
        wait_until: Time,
    },
    /// Too many wrong passphrases in a row; nothing was tried.
    TooSoon {
        /// The next attempt is refused before this time.
        wait_until: Time,
    },
    /// A new passphrase has fewer characters than this.
    PassphraseTooShort(usize),
    /// The cabinet is locked.
    Locked,
    /// Another program, or another part of this one, has the cabinet open.
    InUse(PathBuf),
    /// The cabinet was written by a later version of the program.
    Newer {
        /// Version of the file.
        found: u32,
        /// The latest version known here.
        known: u32,
    },
    /// A file of the cabinet is damaged or missing.
    Damaged {
        /// Which part; never contents.
        what: Damage,
        /// The file.
        file: PathBuf,
        /// The newest backup whose checksum holds, if there is one.
        newest_backup: Option<BackupInfo>,
    },
    /// A backup file is no backup, incomplete or damaged.
    BadBackup(PathBuf),
    /// The disk has no room; nothing of the change was kept, everything before it was.
    DiskFull(PathBuf),
    /// A file or folder could not be written or read; the system's own words.
    File {
        /// The file or folder.
        path: PathBuf,
        /// The system's words.
        detail: String,
    },
    /// The cabinet is busy with another long change.
    Busy,
    /// There is nothing with this id; what was looked for.
    NoSuch(&'static str, i64),
    /// It is kept as it was: routine versions, incidents and a tone that is fixed.
    Unchangeable(&'static str),
    /// Something that needs a consent that is not given.
    NoConsent(ConsentKind),
    /// A routine that belongs to one client was to be run or planned for another.
    NotTheirs,
    /// A value is out of its bounds; which, and what is allowed.
    BadValue {
        /// The field.
        what: &'static str,
        /// What is allowed.
        allowed: String,
    },
    /// The program's own mistake; the database's words, for a log.
    Internal(String),
}

/// Which part is damaged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Damage {
    /// The small file with what makes the key.
    Header,
    /// The store: a page does not bear its seal, or the file is cut short or missing.
    Store,
}

impl Error {
    /// What went wrong, for an app that words it itself.
    pub fn kind(&self) -> &ErrorKind {
        &self.kind
    }

    /// A stable name of the kind: for a catalogue of texts and for logs.
    pub fn key(&self) -> &'static str {
        use ErrorKind::*;
        match *self.kind {
            NoCabinet(_) => "cabinet.none",
            AlreadyThere(_) => "cabinet.already_there",
            NotEmpty(_) => "cabinet.not_empty",
            WrongPassphrase { .. } => "cabinet.wrong_passphrase",
            TooSoon { .. } => "cabinet.too_soon",
            PassphraseTooShort(_) => "cabinet.passphrase_short",
            Locked => "cabinet.locked",
            InUse(_) => "cabinet.in_use",
            Newer { .. } => "cabinet.newer",
            Damaged { what: Damage::Header, .. } => "cabinet.header_damaged",
            Damaged { what: Damage::Store, .. } => "cabinet.store_damaged",
            BadBackup(_) => "cabinet.bad_backup",
            DiskFull(_) => "cabinet.disk_full",
            File { .. } => "cabinet.file",
            Busy => "cabinet.busy",
            NoSuch(..) => "cabinet.no_such",
            Unchangeable(_) => "cabinet.unchangeable",
            NoConsent(_) => "cabinet.no_consent",
            NotTheirs => "cabinet.not_theirs",
            BadValue { .. } => "cabinet.bad_value",
            Internal(_) => "cabinet.internal",
        }
    }

    pub(crate) fn bad(what: &'static str, allowed: impl Into<String>) -> Error {
        ErrorKind::BadValue { what, allowed: allowed.into() }.into()
    }

    pub(crate) fn internal(detail: impl fmt::Display) -> Error {
        ErrorKind::Internal(detail.to_string()).into()
    }

    /// An error of the file system at a path.
    pub fn io(path: &Path, error: &std::io::Error) -> Error {
        use std::io::ErrorKind as Io;
        match error.kind() {
            Io::StorageFull | Io::QuotaExceeded | Io::FileTooLarge => ErrorKind::DiskFull(path.to_owned()).into(),
            _ => ErrorKind::File { path: path.to_owned(), detail: error.to_string() }.into(),
        }
    }

    /// An error of the database in the file `store`.
    pub(crate) fn sql(store: &Path, error: rusqlite::Error) -> Error {
        use rusqlite::ErrorCode as Code;
        let damaged = || ErrorKind::Damaged { what: Damage::Store, file: store.to_owned(), newest_backup: None };
        let rusqlite::Error::SqliteFailure(code, _) = &error else { return Error::internal(error) };
        let kind = match code.code {
            Code::DiskFull => ErrorKind::DiskFull(store.to_owned()),
            Code::NotADatabase | Code::DatabaseCorrupt => damaged(),
            Code::DatabaseBusy | Code::DatabaseLocked => ErrorKind::Busy,
            Code::SystemIoFailure => match code.extended_code & 0xff00 {
                // Read, short read, data and corrupt-file-system: what is there cannot be read.
                0x0100 | 0x0200 | 0x2000 | 0x2100 => damaged(),
                // Write: a file that may not grow (a quota, a limit) reports this, not a full disk.
                0x0300 => ErrorKind::DiskFull(store.to_owned()),
                _ => ErrorKind::File { path: store.to_owned(), detail: error.to_string() },
            },
            Code::CannotOpen | Code::ReadOnly | Code::PermissionDenied => {
                ErrorKind::File { path: store.to_owned(), detail: error.to_string() }
            }
            _ => ErrorKind::Internal(error.to_string()),
        };
        kind.into()
    }

    /// The same error with the store's path, where a transaction did not know it.
    pub(crate) fn at(mut self, store: &Path) -> Error {
        use ErrorKind::{Damaged, DiskFull, File};
        if let Damaged { file: path, .. } | DiskFull(path) | File { path, .. } = &mut *self.kind
            && path.as_os_str().is_empty()
        {
            *path = store.to_owned();
        }
        self
    }

    /// The same error with the backup that a person can go back to.
    pub(crate) fn with_backup(mut self, newest: impl FnOnce() -> Option<BackupInfo>) -> Error {
        if let ErrorKind::Damaged { newest_backup, .. } = &mut *self.kind
            && newest_backup.is_none()
        {
            *newest_backup = newest();
        }
        self
    }
}

impl From<ErrorKind> for Error {
    fn from(kind: ErrorKind) -> Error {
        Error { kind: Box::new(kind) }
    }
}

/// Inside a transaction the file's path is not at hand; the cabinet puts it in (see `Error::at`).
impl From<rusqlite::Error> for Error {
    fn from(error: rusqlite::Error) -> Error {
        Error::sql(Path::new(""), error)
    }
}

impl fmt::Debug for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.kind.fmt(f)
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use ErrorKind::*;
        match &*self.kind {
            NoCabinet(path) => {
                write!(f, "There is no cabinet in {}. Check the path, or create a cabinet there.", path.display())
            }
            AlreadyThere(path) => {
                write!(f, "There is a cabinet in {} already. Open it, or choose another folder.", path.display())
            }
            NotEmpty(path) => write!(f, "{} is not empty. Choose an empty or a new folder.", path.display()),
            WrongPassphrase { wait_until } => write!(
                f,
                "The passphrase does not open this cabinet. Check capital letters and the keyboard's language, and try \
                 again from {wait_until}."
            ),
            TooSoon { wait_until } => write!(
                f,
                "Too many passphrases in a row did not open this cabinet. Nothing was tried. Try again from {wait_until}."
            ),
            PassphraseTooShort(least) => write!(
                f,
                "The passphrase is too short. Use at least {least} characters; four or five words that do not belong \
                 together are easy to keep in mind and hard to guess."
            ),
            Locked => f.write_str("The cabinet is locked. Unlock it with the passphrase."),
            InUse(path) => write!(
                f,
                "The cabinet in {} is open elsewhere. Lock it or close the other program, then try again.",
                path.display()
            ),
            Newer { found, known } => write!(
                f,
                "This cabinet was written by a later version of the program (version {found}; this one knows up to \
                 {known}). Nothing was changed. Install the later version, and open it again."
            ),
            Damaged { what, file, newest_backup } => {
                match what {
                    Damage::Header => write!(f, "The file {} is damaged or missing, and its copy too", file.display())?,
                    Damage::Store => write!(f, "The store {} is damaged, cut short or missing", file.display())?,
                }
                f.write_str(". Nothing was changed. ")?;
                match newest_backup {
                    Some(backup) => write!(
                        f,
                        "The newest whole backup is {} of {}: restore it; what is there now is kept aside.",
                        backup.path.display(),
                        backup.made
                    ),
                    None => f.write_str(
                        "There is no whole backup in the folder of backups. If you keep one elsewhere, restore it; do not \
                         delete anything until then.",
                    ),
                }
            }
            BadBackup(path) => write!(
                f,
                "{} is no whole backup of a cabinet: it is cut short, damaged or something else. Choose another backup.",
                path.display()
            ),
            DiskFull(path) => write!(
                f,
                "There is no room to write {}. Nothing of this change was kept, everything before it is safe. Make room \
                 and do it again.",
                path.display()
            ),
            File { path, detail } => write!(
                f,
                "{} could not be read or written ({detail}). Check that the disk is there and that you may write to it.",
                path.display()
            ),
            Busy => f.write_str("The cabinet is busy with a long change. Wait a moment and do it again."),
            NoSuch(what, id) => {
                write!(f, "There is no {what} with the number {id}: it may have been erased. Go back to the list.")
            }
            Unchangeable(what) => write!(f, "A {what} is kept as it was. Add a new one instead."),
            NoConsent(kind) => write!(
                f,
                "There is no consent to {} from this client, or it was withdrawn. Ask for it and record it first.",
                kind.words()
            ),
            NotTheirs => f.write_str(
                "This routine belongs to another client, whose clearance it was made for. Make one for this client.",
            ),
            BadValue { what, allowed } => write!(f, "The {what} can't be kept: {allowed}."),
            Internal(detail) => write!(
                f,
                "The program made a mistake ({detail}). Nothing of this change was kept, everything before it is safe."
            ),
        }
    }
}

impl std::error::Error for Error {}
