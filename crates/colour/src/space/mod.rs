//! What a file's RGB means: from encoded values to linear light.

mod curve;
mod error;
mod icc;
mod lut;
#[cfg(test)]
mod tests;

use std::fmt;

use crate::light::{D65, Linear, P3, SRGB, Xyz, primaries};
use crate::matrix::{M3, product, times};

use curve::Curve;
pub use error::SpaceError;
use lut::Lut;

/// The RGB space of a file.
#[derive(Clone)]
pub struct Space {
    name: String,
    note: Option<String>,
    way: Way,
}

/// How encoded values become linear light.
#[derive(Clone)]
enum Way {
    /// A curve for each channel, then a matrix: exact, and never clipped.
    Shaper { curves: [Curve; 3], matrix: M3 },
    /// A table of the file's own.
    Lut(Lut),
}

impl Space {
    /// sRGB, IEC 61966-2-1.
    pub fn srgb() -> Space {
        Space::standard("sRGB", Curve::Srgb, &SRGB)
    }

    /// Display P3: the primaries of SMPTE EG 432-1, the white and curve of sRGB.
    pub fn display_p3() -> Space {
        Space::standard("Display P3", Curve::Srgb, &P3)
    }

    /// Adobe RGB (1998), version 2005-05: D65, exponent 563/256.
    pub fn adobe_rgb() -> Space {
        let curve = Curve::Power(563.0 / 256.0);
        Space::standard("Adobe RGB (1998)", curve, &[[0.64, 0.33], [0.21, 0.71], [0.15, 0.06]])
    }

    fn standard(name: &str, curve: Curve, rgb: &[[f64; 2]; 3]) -> Space {
        let matrix = product(&from_xyz(), &primaries(rgb, D65));
        let curves = [curve.clone(), curve.clone(), curve];
        Space { name: name.to_string(), note: None, way: Way::Shaper { curves, matrix } }
    }

    /// The space that an embedded ICC profile describes (ICC.1, versions 2 and 4). The profile's curves and matrix are taken
    /// where it has them, adapted from D50 to D65 by linear Bradford and never clipped. A profile of tables alone goes
    /// through those tables, which cannot hold what lies beyond them: [`Space::note`] then says so.
    ///
    /// # Errors
    /// Where the profile is damaged, or describes something other than RGB input.
    pub fn of_icc(bytes: &[u8]) -> Result<Space, SpaceError> {
        icc::read(bytes)
    }

    /// Its name: a standard's, or the profile's own description.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What a person should know of how this space is read, if anything.
    pub fn note(&self) -> Option<&str> {
        self.note.as_deref()
    }

    /// The linear light of encoded values, 0 to 1. Beyond that range a standard's formula goes on (below 0 as its mirror
    /// image), a profile's table stays at its end.
    pub fn linear(&self, encoded: [f64; 3]) -> Linear {
        match &self.way {
            Way::Shaper { curves, matrix } => {
                Linear(times(matrix, std::array::from_fn(|k| curves[k].linear(encoded[k]))))
            }
            Way::Lut(lut) => lut.linear(encoded),
        }
    }

    /// The fast way for 8-bit pixels.
    pub fn table8(&self) -> Table8 {
        Table8(match &self.way {
            Way::Shaper { curves, matrix } => {
                let table = |k: usize| (0..=255u8).map(|v| curves[k].linear(f64::from(v) / 255.0)).collect();
                Fast::Shaper { tables: [table(0), table(1), table(2)], matrix: *matrix }
            }
            Way::Lut(lut) => Fast::Lut(lut.clone()),
        })
    }
}

impl fmt::Debug for Space {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let way = match self.way {
            Way::Shaper { .. } => "curves and matrix",
            Way::Lut(_) => "tables",
        };
        f.debug_struct("Space").field("name", &self.name).field("note", &self.note).field("way", &way).finish()
    }
}

/// XYZ (D65) to linear light.
fn from_xyz() -> M3 {
    let columns = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]].map(|axis| Linear::of_xyz(Xyz(axis)).0);
    std::array::from_fn(|row| std::array::from_fn(|column| columns[column][row]))
}

/// 8-bit pixels to linear light: three tables of 256 and one matrix. Through a profile of tables each pixel goes its own
/// way instead, some ten times slower.
#[derive(Clone)]
pub struct Table8(Fast);

#[derive(Clone)]
enum Fast {
    Shaper { tables: [Box<[f64]>; 3], matrix: M3 },
    Lut(Lut),
}

impl Table8 {
    /// The linear light of a pixel.
    pub fn linear(&self, rgb: [u8; 3]) -> Linear {
        match &self.0 {
            Fast::Shaper { tables, matrix } => {
                Linear(times(matrix, std::array::from_fn(|k| tables[k][usize::from(rgb[k])])))
            }
            Fast::Lut(lut) => lut.linear(rgb.map(|v| f64::from(v) / 255.0)),
        }
    }
}

impl fmt::Debug for Table8 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Table8")
    }
}
