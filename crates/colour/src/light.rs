//! Linear light and CIE XYZ.

use crate::matrix::{M3, inverse, product, times};

/// Linear light: sRGB/Rec.709 primaries, D65 white, 1.0 = white of the file; unclipped (may be < 0 or > 1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Linear(pub [f64; 3]);

/// CIE XYZ relative to D65 white, 2 degree observer; white Y = 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Xyz(pub [f64; 3]);

/// sRGB/Rec.709 primaries (IEC 61966-2-1, table 1): x, y of red, green, blue.
pub(crate) const SRGB: [[f64; 2]; 3] = [[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]];
/// Display P3's primaries (SMPTE EG 432-1).
pub(crate) const P3: [[f64; 2]; 3] = [[0.680, 0.320], [0.265, 0.690], [0.150, 0.060]];
/// The standards' D65 to four digits, x, y (IEC 61966-2-1, clause 4.1); not the white of the spectrum's tables, which differs
/// in the fifth digit.
pub(crate) const D65: [f64; 2] = [0.3127, 0.3290];

/// Linear light to XYZ, derived from primaries and white rather than the standard's four printed digits: those sum to
/// a white of (0.9505, 1, 1.0890), which would make white off neutral by a* 0.008 and b* 0.004 against that of the chromaticities.
const TO_XYZ: M3 = primaries(&SRGB, D65);
const FROM_XYZ: M3 = inverse(&TO_XYZ);

/// XYZ of a chromaticity, Y = 1.
pub(crate) const fn of_xy(xy: [f64; 2]) -> [f64; 3] {
    [xy[0] / xy[1], 1.0, (1.0 - xy[0] - xy[1]) / xy[1]]
}

/// The matrix from linear channels to XYZ of a space given by its primaries' and white's chromaticities: the columns
/// are the primaries, so scaled that (1, 1, 1) gives white (SMPTE RP 177).
pub(crate) const fn primaries(rgb: &[[f64; 2]; 3], white: [f64; 2]) -> M3 {
    let (r, g, b) = (of_xy(rgb[0]), of_xy(rgb[1]), of_xy(rgb[2]));
    let columns = [[r[0], g[0], b[0]], [r[1], g[1], b[1]], [r[2], g[2], b[2]]];
    let s = times(&inverse(&columns), of_xy(white));
    product(&columns, &[[s[0], 0.0, 0.0], [0.0, s[1], 0.0], [0.0, 0.0, s[2]]])
}

impl Linear {
    /// Its XYZ.
    pub fn xyz(self) -> Xyz {
        Xyz(times(&TO_XYZ, self.0))
    }

    /// Linear light of an XYZ, unclipped.
    pub fn of_xyz(xyz: Xyz) -> Linear {
        Linear(times(&FROM_XYZ, xyz.0))
    }

    /// Relative luminance, Y of [`Xyz`]; white is 1.
    pub fn luminance(self) -> f64 {
        times(&TO_XYZ, self.0)[1]
    }
}

/// Linear Bradford cone responses from XYZ (ICC.1:2022, annex E.3).
pub(crate) const BRADFORD: M3 = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];

/// The matrix that takes colours seen under one white to those under another, by linear Bradford.
pub(crate) const fn bradford(from_white: [f64; 3], to_white: [f64; 3]) -> M3 {
    let (from, to) = (times(&BRADFORD, from_white), times(&BRADFORD, to_white));
    let gains = [[to[0] / from[0], 0.0, 0.0], [0.0, to[1] / from[1], 0.0], [0.0, 0.0, to[2] / from[2]]];
    product(&inverse(&BRADFORD), &product(&gains, &BRADFORD))
}

impl Xyz {
    /// D65 from x 0.3127, y 0.3290.
    pub const WHITE_D65: Xyz = Xyz(of_xy(D65));
    /// D50 of the ICC's profile connection space (ICC.1:2022, 7.2.16).
    pub const WHITE_D50: Xyz = Xyz([0.9642, 1.0, 0.8249]);

    /// The same colour under another white, by linear Bradford.
    pub fn adapted(self, from_white: Xyz, to_white: Xyz) -> Xyz {
        Xyz(times(&bradford(from_white.0, to_white.0), self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_derived_matrix_is_the_published_one_to_its_digits() {
        // IEC 61966-2-1, formula 7.
        let published = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
        for (row, expected) in TO_XYZ.iter().zip(published) {
            for (value, expected) in row.iter().zip(expected) {
                assert!((value - expected).abs() < 1e-4, "{value} against {expected}");
            }
        }
    }

    #[test]
    fn white_is_white() {
        let Xyz(white) = Linear([1.0; 3]).xyz();
        for (value, expected) in white.iter().zip(Xyz::WHITE_D65.0) {
            assert!((value - expected).abs() < 1e-14);
        }
        let Xyz(d50) = Xyz::WHITE_D65.adapted(Xyz::WHITE_D65, Xyz::WHITE_D50);
        for (value, expected) in d50.iter().zip(Xyz::WHITE_D50.0) {
            assert!((value - expected).abs() < 1e-14, "{value} against {expected}");
        }
    }
}
