//! The one face of Tragion, and everyone's own: the canonical surface, where every zone, point and line lies on the
//! drawings, and how a photograph's landmarks carry them to one person ([`OwnMap`]).
//!
//! A photograph becomes a map in these steps: landmarks, corrected by hand ([`Hands`]) → [`Frame`] (pose) → [`Scale`] from
//! the fitted [`Iris`] → [`Hairline`] → [`Head`] → each point by its rule ([`Places`]) with its uncertainty.
//!
//! Two frames, both in centimetres, x toward the viewer's right, y up:
//! - *front*: the canonical surface projected along z. Face and torso share it, so that the hand's way from the
//!   collarbone to the brow is one way. The drawing faces us: the person's own left lies at x > 0.
//! - *back*: the same body seen from behind. The person's own left lies at x < 0.
//!
//! This crate is pure: it reads no file, no clock and no environment; the reference files are compiled in.

mod asymmetry;
mod drawing;
mod frame;
mod hairline;
mod hand;
mod head;
mod iris;
mod knot;
mod landmarks;
mod own;
pub mod place;
pub mod region;
mod scale;
mod spot;
mod surface;
mod warp;

pub use asymmetry::{Likeness, Signature};
pub use drawing::{Drawing, LinePlace, PointPlace, Seen, View, ZonePlace};
pub use frame::{Frame, Place, Pose};
pub use hairline::{FOREHEAD_MM, Hairline, HairlineSource, Pixels};
pub use hand::{HANDLES, corrected};
pub use head::Head;
pub use iris::{IRIS_MM, Iris};
pub use knot::read_knots;
pub use landmarks::{IRIS_LEFT, IRIS_RIGHT, LANDMARKS, Landmarks, Pixel, mirror};
pub use own::{Caveat, Hands, OwnMap, OwnPoint, PROFILE, TURNED, drawn_head};
pub use place::{Places, PointRule};
pub use region::{Area, Margins, Outline};
pub use scale::{Scale, ScaleSource};
pub use spot::Spot;
pub use surface::{SurfaceError, VERTICES, canonical, parse_vertices, triangles, vertex};
pub use warp::Warp;
