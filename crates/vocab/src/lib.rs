//! The words every part of Tragion shares: sides, pressure, clearance, findings in a file,
//! and a TOML reader whose errors name line, key and the nearest right key.
//!
//! This crate is pure: it reads no file, no clock and no environment.

mod date;
mod finding;
mod fold;
mod phrases;
pub mod read;
mod words;

pub use date::Date;
pub use finding::{Finding, nearest};
pub use fold::folded;
pub use phrases::{Phrases, filled};
pub use words::{Class, Movement, Pressure, Side, Sides};
