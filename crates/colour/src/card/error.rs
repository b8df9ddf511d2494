//! Why a card cannot be used.

use std::fmt;

/// Why a card cannot be used. What it says is for a person to read.
#[derive(Clone, Debug, PartialEq)]
pub enum FitError {
    /// As many readings as patches are needed: how many of each there were.
    Uneven(usize, usize),
    /// Too few patches are left to fit anything: how many, and how many were dropped as blown out or black.
    TooFewPatches {
        /// How many could be used.
        kept: usize,
        /// How many were dropped.
        dropped: usize,
    },
    /// Fewer than four patches, and no grey among them.
    NoGreys,
    /// The fit does not describe the card: mean leave-one-out error, CIEDE2000.
    TooFar {
        /// Mean leave-one-out error.
        loo: f64,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FitError::Uneven(patches, readings) => {
                write!(f, "the card has {patches} patches, but {readings} were read; mark the card's corners again")
            }
            FitError::TooFewPatches { kept, dropped } => write!(
                f,
                "only {kept} of the card's patches can be used ({dropped} are blown out, black or unreadable); take the photograph again with the card flat, without shine, and a little darker or brighter"
            ),
            FitError::NoGreys => write!(
                f,
                "no grey step of the card can be used, and fewer than four patches in all; photograph the whole card, without shine"
            ),
            FitError::TooFar { loo } => write!(
                f,
                "the card's colours do not fit together (mean error {loo:.1}, at most {:.1}); keep the card flat in the same light as the face, without shine or shadow on it, and check that it is the card whose values were entered",
                super::WORST_LEAVE_ONE_OUT
            ),
        }
    }
}

impl std::error::Error for FitError {}
