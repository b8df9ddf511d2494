//! The passphrase and what it costs to try one.

use std::fmt;

use unicode_normalization::UnicodeNormalization;
use zeroize::Zeroizing;

use crate::error::{Error, ErrorKind};

/// The fewest characters of a new passphrase.
pub const LEAST_CHARACTERS: usize = 8;

/// A passphrase, wiped from memory when it is dropped. Kept in Unicode form NFC, so that an é is the same é on every
/// keyboard (RFC 8265, OpaqueString); nothing else is changed, blanks at the ends count.
pub struct Passphrase(Zeroizing<String>);

impl Passphrase {
    /// A passphrase as typed.
    pub fn new(typed: impl Into<String>) -> Passphrase {
        let typed = Zeroizing::new(typed.into());
        // Room enough that growing leaves no copy behind.
        let mut normal = Zeroizing::new(String::with_capacity(typed.len() * 3 + 16));
        normal.extend(typed.nfc());
        Passphrase(normal)
    }

    pub(crate) fn bytes(&self) -> &[u8] {
        self.0.as_bytes()
    }

    /// Refuses one that is too short for a new cabinet.
    pub(crate) fn fit(&self) -> Result<(), Error> {
        if self.0.chars().count() < LEAST_CHARACTERS {
            return Err(ErrorKind::PassphraseTooShort(LEAST_CHARACTERS).into());
        }
        Ok(())
    }
}

impl fmt::Debug for Passphrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Passphrase(…)")
    }
}

/// What deriving the key costs (Argon2id, RFC 9106).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cost {
    pub(crate) memory_kib: u32,
    pub(crate) passes: u32,
    pub(crate) lanes: u32,
}

impl Cost {
    /// RFC 9106, section 4, second recommended option: 64 MiB, 3 passes, 4 lanes.
    pub const STANDARD: Cost = Cost { memory_kib: 64 * 1024, passes: 3, lanes: 4 };

    /// The least that Argon2 takes: for tests, where thousands of keys are derived. No protection.
    pub const FOR_TESTS: Cost = Cost { memory_kib: 8, passes: 1, lanes: 1 };

    /// A cost of one's own.
    ///
    /// # Errors
    /// Outside of 8 KiB a lane to 1 GiB, 1 to 64 passes, 1 to 16 lanes: the upper ends keep a forged header from taking the
    /// machine's memory.
    pub fn new(memory_kib: u32, passes: u32, lanes: u32) -> Result<Cost, Error> {
        let fine =
            (1..=16).contains(&lanes) && (1..=64).contains(&passes) && (8 * lanes..=1024 * 1024).contains(&memory_kib);
        if !fine {
            let allowed = "8 KiB a lane to 1 GiB of memory, 1 to 64 passes and 1 to 16 lanes are allowed";
            return Err(Error::bad("cost of the passphrase", allowed));
        }
        Ok(Cost { memory_kib, passes, lanes })
    }
}
