//! What can go wrong in making a page.

use std::fmt;

/// Why a page was not made. The text is for a log; what was wrong lies in the words given or in this program, never in
/// what a person did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PressError {
    kind: Kind,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Kind {
    Font,
    TooLong(&'static str),
    NoLetter(char),
    Refused(String),
    Drawing(String),
}

impl PressError {
    pub(crate) fn font() -> PressError {
        PressError { kind: Kind::Font }
    }

    pub(crate) fn too_long(part: &'static str) -> PressError {
        PressError { kind: Kind::TooLong(part) }
    }

    pub(crate) fn no_letter(letter: char) -> PressError {
        PressError { kind: Kind::NoLetter(letter) }
    }

    pub(crate) fn drawing(what: impl Into<String>) -> PressError {
        PressError { kind: Kind::Drawing(what.into()) }
    }

    pub(crate) fn refused(why: impl fmt::Debug) -> PressError {
        PressError { kind: Kind::Refused(format!("{why:?}")) }
    }
}

impl fmt::Display for PressError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.kind {
            Kind::Font => f.write_str("a compiled-in font cannot be read"),
            Kind::TooLong(part) => write!(f, "the words for {part} do not fit on the page"),
            Kind::NoLetter(letter) => write!(f, "the font has no letter {letter:?}"),
            Kind::Drawing(what) => write!(f, "a drawing holds what is not known here: {what}"),
            Kind::Refused(why) => write!(f, "the page does not satisfy PDF/UA-1: {why}"),
        }
    }
}

impl std::error::Error for PressError {}
