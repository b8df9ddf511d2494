//! Photographs in, landmarks out: decoding and the landmark network. The adapter to pixels; what they mean is `face`'s.

pub mod card;
mod code;
mod decode;
mod detector;
mod error;
mod find_error;
mod finder;
mod follower;
mod network;
mod part;
mod pixels;
mod sample;
mod surface;
mod write;

pub use card::{CardSeen, Quad, find_card, find_card_near, read_patches};
pub use code::read_codes;
pub use decode::{Format, Limits, Note, Photograph, Profile, Samples, day_taken, decode};
pub use error::{DecodeError, DecodeErrorKind};
pub use find_error::FindError;
pub use finder::{Care, Finder, Found};
pub use follower::{Followed, Follower};
pub use part::{Placing, part};
pub use sample::{Border, Square, View, sample};
pub use write::{jpeg, png};
