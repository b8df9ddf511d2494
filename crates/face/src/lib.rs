//! The one face of Tragion: the canonical surface, and where every zone, point and line lies on the drawings.
//!
//! Two frames, both in centimetres, x toward the viewer's right, y up:
//! - *front*: the canonical surface projected along z. Face and torso share it, so that the hand's way from the
//!   collarbone to the brow is one way. The drawing faces us: the person's own left lies at x > 0.
//! - *back*: the same body seen from behind. The person's own left lies at x < 0.
//!
//! This crate is pure: it reads no file, no clock and no environment; the reference files are compiled in.

mod drawing;
mod knot;
mod spot;
mod surface;

pub use drawing::{Drawing, LinePlace, PointPlace, Seen, View, ZonePlace};
pub use knot::read_knots;
pub use spot::Spot;
pub use surface::{SurfaceError, VERTICES, canonical, parse_vertices, vertex};
