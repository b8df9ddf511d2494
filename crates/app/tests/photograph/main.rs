//! `map` on photographs as they come: wrong files, odd files, faces turned, small, mirrored, corrected. Every face is
//! invented.

#[path = "../house/mod.rs"]
mod house;

mod answer;
mod drawn;
mod faces;
mod files;
mod hands;
mod mirror;
mod pictures;
