//! The encrypted store of a practice: everything a client told or showed, on the practitioner's own machine.
//!
//! A [`Cabinet`] is a folder. It is locked, or unlocked with a passphrase; then [`Cabinet::read`] and [`Cabinet::write`] run
//! one transaction each, on a [`Reader`] or a [`Writer`]. Time is always the caller's: nothing here reads a clock.
//!
//! ```
//! use cabinet::{Cabinet, ConsentKind, Cost, Details, Passphrase, Time};
//! # let folder = std::env::temp_dir().join(format!("cabinet-doc-{}", std::process::id()));
//! # let _ = std::fs::remove_dir_all(&folder);
//! let now = Time::from_unix(1_700_000_000);
//! let words = Passphrase::new("horse lamp river seven");
//! let cabinet = Cabinet::create(&folder, &words, Cost::FOR_TESTS, now)?;
//! let id = cabinet.write(now, |w| {
//!     let id = w.add_client(&Details { name: "Ana Example".into(), ..Details::default() })?;
//!     w.record_consent(id, ConsentKind::Care, true, now, "care 1")?;
//!     Ok(id)
//! })?;
//! let found = cabinet.read(|r| r.search("exam", 10))?;
//! assert_eq!(found[0].id, id);
//! cabinet.lock();
//! # std::fs::remove_dir_all(&folder).ok();
//! # Ok::<(), cabinet::Error>(())
//! ```
//!
//! What protects what: the store is SQLCipher 4 (AES-256-CBC, HMAC-SHA-512 on every page) under a raw key that
//! Argon2id makes of the passphrase. In clear are only the header (salt and cost), the count of wrong passphrases, names and sizes of
//! files, and when backups were made. Not protected: an unlocked cabinet against programs of the same user, a
//! weak passphrase against someone who took the files, and plaintext that an export was asked to write.

mod access;
mod attempts;
mod backup;
mod cabinet;
mod clients;
mod conn;
mod consents;
mod courses;
mod days;
mod due;
mod erase;
mod error;
mod export;
mod header;
mod id;
mod import;
mod intake;
mod key;
mod log;
mod migrate;
mod notes;
mod passphrase;
mod place;
mod publishing;
mod readings;
mod routines;
mod takehomes;
mod text;
mod time;
mod visits;

/// The readers of bytes that lie in clear, for the fuzzer in `fuzz/`: nothing else has a use for them.
#[doc(hidden)]
pub mod outside {
    /// A cabinet's header, as it lies there and with a sum that holds. Whether either is read.
    pub fn header(bytes: &[u8]) -> bool {
        let sealed = std::str::from_utf8(bytes).map(|text| crate::header::sealed(text.to_owned()));
        let read = |bytes: &[u8]| crate::header::Header::parse(bytes).is_ok();
        read(bytes) || sealed.is_ok_and(|text| read(text.as_bytes()))
    }

    /// A backup's head, likewise, in a file of this size.
    pub fn backup_head(bytes: &[u8], size: u64) -> bool {
        let sealed = std::str::from_utf8(bytes).map(|text| crate::header::sealed(text.to_owned()));
        crate::backup::is_head(bytes, size) || sealed.is_ok_and(|text| crate::backup::is_head(text.as_bytes(), size))
    }
}

pub use access::{Done, Reader, Writer};
pub use attempts::wait as wait_after;
pub use backup::{BackupInfo, Incoming};
pub use cabinet::{CHECKED_WHOLE, Cabinet, Checked};
pub use clients::{Birth, Client, Details, Hands, LONGEST_NAME, Line, OwnTone, Place};
pub use consents::{Consent, ConsentKind};
pub use courses::{Course, CourseMember, CourseWord, LeftOut};
pub use days::HomeDay;
pub use due::{Due, DueRule};
pub use erase::Erasure;
pub use error::{Damage, Error, ErrorKind};
pub use export::{Exported, Stripped, Take, without_metadata};
pub use id::{
    AtlasId, ClientId, ConsentId, CorrectionId, CourseId, FilmId, HomeNoteId, IntakeId, MeasurementId, NoteId,
    OwnRulesId, PhotographId, RoutineId, SessionId, TakehomeId, TextId, VersionId, VisitId, WeeksId, WordId,
};
pub use import::{Doubles, Imported, MOST_IMPORT_BYTES, Problem, ReadClient, Reading, read_csv, read_vcards};
pub use intake::{ClinicianWord, Intake, NewWord};
pub use log::Change;
pub use migrate::LATEST as LATEST_VERSION;
pub use notes::{Ended, HomeNote, Note, NoteKind, Weeks};
pub use passphrase::{Cost, LEAST_CHARACTERS, Passphrase};
pub use publishing::{Film, NewFilm, NewText, OwnRules, PublicText};
pub use readings::{Followed, NewReading, ReadingSide, VisitReading};
pub use routines::{AtlasPart, Routine, Session, Version};
pub use takehomes::Takehome;
pub use text::{Document, Json, MOST_BYTES, Toml};
pub use time::Time;
pub use visits::{Correction, MOST_PHOTOGRAPH_BYTES, Measurement, NewPhotograph, Photograph, Visit};
