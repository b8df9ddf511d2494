//! What is printed or filed: the reference card, the guide that goes home, the report of some weeks, the calendar of
//! sessions.
//!
//! Pages are tagged PDF (PDF/UA-1, ISO 14289-1) with embedded fonts: squares, lines and letters, and in a report photographs. The
//! same words give the same bytes. Words come from the caller; this crate has none of its own.
//!
//! This crate is pure: it reads no file, no clock and no environment; fonts and the card's design are compiled in.

pub mod calendar;
mod card;
mod error;
mod flow;
pub mod guide;
mod ink;
mod layout;
mod letters;
pub mod outline;
mod prose;
pub mod report;
mod said;
mod sheet;
mod vector;

pub use card::{CardWords, card};
pub use error::PressError;

/// The paper that is in the printer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 215.9 by 279.4 mm (ANSI Y14.1, size A).
    Letter,
}

impl Paper {
    /// Every paper.
    pub const ALL: [Paper; 2] = [Paper::A4, Paper::Letter];

    /// Width and height in millimetres.
    pub fn mm(self) -> [f64; 2] {
        match self {
            Paper::A4 => [210.0, 297.0],
            Paper::Letter => [215.9, 279.4],
        }
    }

    /// As it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Paper::A4 => "a4",
            Paper::Letter => "letter",
        }
    }

    /// The paper of this name.
    pub fn parse(name: &str) -> Option<Paper> {
        Paper::ALL.into_iter().find(|p| p.name() == name)
    }
}
