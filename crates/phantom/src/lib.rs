//! Synthetic faces of known truth, for tests and the demo. Never a client: every person here is invented.
//!
//! [`photograph`] takes an invented [`Person`] and a [`Shot`] and gives a [`Picture`] and its [`Truth`]. The way there:
//! `shape` (this person's 468 points) → `head`, `surface` (a smooth head whose surface passes through them) → `figure`
//! (eyes, ears, neck, hair) → `camera` → `irradiance` (light at each vertex) → `raster` (what is seen where) → `shade` with
//! `skin` (its colour) → `strokes`, `groom` (hairs) → `develop`.
//!
//! This crate is pure: it reads no file, no clock and no environment; the reference tables are compiled in.

mod body;
mod camera;
mod card;
mod develop;
mod eye;
mod figure;
mod film;
mod fitted;
mod groom;
mod hair;
mod hairline;
mod head;
mod irradiance;
mod light;
mod marks;
mod measured;
mod mesh;
mod person;
mod photograph;
mod raster;
mod region;
mod rng;
mod setting;
mod shade;
mod shape;
mod shot;
mod skin;
mod skin_truth;
mod spectacles;
mod spectral;
mod strokes;
mod surface;
mod truth;
mod under_eye;

pub use camera::Camera;
pub use film::Film;
pub use light::Light;
pub use person::{Build, Hair, Mode, Person, Tone};
pub use photograph::{Picture, known, photograph};
pub use setting::Setting;
pub use shot::{Shot, Space};
pub use truth::{CardPatch, CardTruth, SideTruth, SkinTruth, Truth};
pub use under_eye::{Kind, UnderEye};

/// A vector or point, mm.
pub(crate) type V3 = nalgebra::Vector3<f64>;
