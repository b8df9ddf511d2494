//! What a photograph says of a face, in numbers with their uncertainty: the shadow under each eye against the cheek, how much
//! of it is brown, blue-red or relief, the white of the eye, heights in millimetres; and the gates that a photograph must
//! pass before any of it is believed.
//!
//! [`measure`] reads like the method: scale and frame → lids refined → light of the smooth face fitted ([`Shading`]) → areas
//! gathered pixel by pixel → differences in CIELAB → parts → uncertainty → gates. A [`Visit`] combines several photographs.
//!
//! This crate is pure: it reads no file, no clock and no environment. It describes skin; it diagnoses nothing.

mod chance;
mod compression;
mod gates;
mod gather;
mod heights;
mod leading;
mod lids;
mod light;
mod photo;
mod sclera;
mod shading;
mod shadow;
mod transfer;
mod value;
mod visit;

pub use gates::{Gate, GateName};
pub use heights::Heights;
pub use leading::Leading;
pub use light::Light;
pub use photo::{Card, Measured, Mode, Options, SideMeasured, Unmeasurable, Warning, measure};
pub use sclera::Sclera;
pub use shading::Shading;
pub use shadow::Shadow;
pub use value::Value;
pub use visit::{Change, Visit, VisitSide, combine};

/// The lower lids' margins on the picture's own edge, own right and left, and whether each edge was clear.
pub fn lid_margins(light: &impl Light, landmarks: &face::Landmarks, frame: &face::Frame) -> (face::Margins, [bool; 2]) {
    lids::refine(light, landmarks, frame, &face::region::margins(landmarks))
}

/// A vector or place, mm.
type V3 = nalgebra::Vector3<f64>;
/// A covariance of (L*, a*, b*) or of three channels.
type M3 = nalgebra::Matrix3<f64>;
