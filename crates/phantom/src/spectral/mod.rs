//! Light as spectra: tables, skin, sensor, colour for the truth.

pub(crate) mod cielab;
pub(crate) mod sensor;
pub(crate) mod tables;
pub(crate) mod tissue;
