//! The reference card: where it lies in a photograph, and what the photograph shows of each patch.
//!
//! The card of our own is found by its QR code ([`find_card`]); a plain grey card or a 24-patch target by four taps
//! ([`taps`]); any other card is described by hand ([`marked`]). All three give quadrilaterals in pixels, which
//! [`read_patches`] averages in linear light.

mod file;
mod find;
mod homography;
mod layout;
mod read;
mod settle;
mod taps;

pub use file::{MarkedError, MarkedErrorKind, MarkedRow, marked};
pub use find::{CardSeen, find_card, find_card_near};
pub use layout::{CARD_MM, Layout, PatchRow, layout};
pub use read::read_patches;
pub use taps::{Edition, Target, taps};

/// Four corners in pixels of the upright picture, in order around the quadrilateral: what is top left, top right, bottom
/// right and bottom left when the card is held the right way up.
pub type Quad = [face::Pixel; 4];

#[cfg(test)]
mod tests;
