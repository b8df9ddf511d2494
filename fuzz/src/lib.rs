//! The photograph decoder alone, from the very files of `vision`: the landmark network beside it takes minutes to build
//! under a sanitizer and is not what is fuzzed.

#[path = "../../crates/vision/src"]
mod vision {
    pub mod decode;
    pub mod error;
}

use vision::error;

pub use error::{DecodeError, DecodeErrorKind};
pub use vision::decode::{Format, Limits, Note, Photograph, Profile, Samples, decode};

/// The reader of home notes, from the very files of `app`, which is a program and can't be asked otherwise.
#[cfg(feature = "home")]
#[path = "../../crates/app/src/notes"]
pub mod home {
    pub mod node;
    pub mod read;
}

/// The reader of series, from the very file of `app`.
#[cfg(feature = "series")]
#[path = "../../crates/app/src/series"]
pub mod series {
    pub mod read;
}
