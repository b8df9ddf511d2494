//! Why no face was read from a picture.

use std::fmt;

/// Why no face was read from a picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindError(Kind);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Kind {
    NoFace,
    Network(String),
}

impl FindError {
    pub(crate) fn no_face() -> FindError {
        FindError(Kind::NoFace)
    }

    pub(crate) fn network(what: &str) -> FindError {
        FindError(Kind::Network(what.to_owned()))
    }

    /// Whether the picture simply holds no face; anything else is a fault of the program.
    pub fn is_no_face(&self) -> bool {
        self.0 == Kind::NoFace
    }
}

impl fmt::Display for FindError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.0 {
            Kind::NoFace => write!(f, "no face was found in the picture"),
            Kind::Network(what) => write!(f, "the network for faces cannot be run: {what}"),
        }
    }
}

impl std::error::Error for FindError {}
