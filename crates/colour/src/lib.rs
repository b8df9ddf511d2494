//! The meaning of encoded pixels, in numbers: from a file's RGB to linear light ([`Space`]), from there to CIE XYZ and CIELAB
//! ([`Xyz`], [`Lab`]) and to differences that a person sees ([`ciede2000`], [`ita`]); from a reference card in the picture
//! to colours that mean the same on another day ([`CardFit`]); and from the difference of two areas of skin to what brown
//! pigment, blood and shading could each have given ([`Base`], [`separate`]).
//!
//! Everything is D65 and the 2 degree observer unless a name says otherwise. Nothing is clipped: light may lie below 0 or
//! above 1.
//!
//! This crate is pure: it reads no file, no clock and no environment; published tables are compiled in.

mod card;
mod difference;
mod lab;
mod light;
mod matrix;
mod skin;
mod space;
mod tone;

pub use card::{CardFit, Dropped, FitError, FitKind, MOST_CLIPPED, Patch, Reading, Residual, WORST_LEAVE_ONE_OUT};
pub use difference::ciede2000;
pub use lab::Lab;
pub use light::{Linear, Xyz};
pub use skin::{Base, Separation, separate, skin_model_lab};
pub use space::{Space, SpaceError, Table8};
pub use tone::{ITA_LEAST_B, Tone, ita};
