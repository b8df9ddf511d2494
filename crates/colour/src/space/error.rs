//! Why an ICC profile cannot be used.

use std::fmt;

/// Why an ICC profile cannot be used. What it says is for a person to read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SpaceError {
    /// The bytes are not a whole profile; what was found.
    Damaged(String),
    /// It describes something other than RGB: its four-letter kind.
    NotRgb(String),
    /// It is a whole profile, but says nothing that RGB could be read by; what is missing.
    NoMeaning(String),
}

impl fmt::Display for SpaceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SpaceError::Damaged(what) => write!(
                f,
                "the photograph's colour profile is damaged ({what}); use the original file from the camera, not one passed on by a messenger"
            ),
            SpaceError::NotRgb(kind) => write!(
                f,
                "the photograph's colour profile is for {kind}, not RGB; save the photograph as RGB and try again"
            ),
            SpaceError::NoMeaning(what) => write!(
                f,
                "the photograph's colour profile does not say what its colours mean ({what}); use the original file from the camera"
            ),
        }
    }
}

impl std::error::Error for SpaceError {}
