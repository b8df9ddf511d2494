//! CIELAB.

use crate::light::Xyz;

/// CIELAB for D65 and the 2 degree observer: L* 0 (black) to 100 (white), a* green to red, b* blue to yellow.
/// ISO/CIE 11664-4.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lab {
    /// Lightness L*.
    pub l: f64,
    /// a*.
    pub a: f64,
    /// b*.
    pub b: f64,
}

/// Where the cube root gives way to a line: (6/29)^3.
const EPSILON: f64 = 216.0 / 24389.0;

fn forth(t: f64) -> f64 {
    if t > EPSILON { t.cbrt() } else { 841.0 / 108.0 * t + 16.0 / 116.0 }
}

fn back(f: f64) -> f64 {
    if f > 6.0 / 29.0 { f * f * f } else { 108.0 / 841.0 * (f - 16.0 / 116.0) }
}

fn lab(xyz: [f64; 3], white: Xyz) -> Lab {
    let [x, y, z] = std::array::from_fn(|k| forth(xyz[k] / white.0[k]));
    Lab { l: 116.0 * y - 16.0, a: 500.0 * (x - y), b: 200.0 * (y - z) }
}

fn xyz([l, a, b]: [f64; 3], white: Xyz) -> Xyz {
    let y = (l + 16.0) / 116.0;
    let f = [y + a / 500.0, y, y - b / 200.0];
    Xyz(std::array::from_fn(|k| white.0[k] * back(f[k])))
}

/// XYZ under D50 of CIELAB for D50.
pub(crate) fn of_d50_lab(lab: [f64; 3]) -> Xyz {
    xyz(lab, Xyz::WHITE_D50)
}

impl Xyz {
    /// Its CIELAB. Below black (Y < 0) the line is followed on, so that small noise about black stays noise about L* 0.
    pub fn lab(self) -> Lab {
        lab(self.0, Xyz::WHITE_D65)
    }
}

impl Lab {
    /// Its XYZ.
    pub fn xyz(self) -> Xyz {
        xyz([self.l, self.a, self.b], Xyz::WHITE_D65)
    }

    /// From CIELAB as published for D50 (print and photographic targets), by linear Bradford: the white is adapted, the
    /// patch's spectrum is not known, so a coloured patch may differ from its true D65 colour by a unit or so.
    pub fn of_d50([l, a, b]: [f64; 3]) -> Lab {
        of_d50_lab([l, a, b]).adapted(Xyz::WHITE_D50, Xyz::WHITE_D65).lab()
    }

    pub(crate) fn array(self) -> [f64; 3] {
        [self.l, self.a, self.b]
    }

    #[cfg(test)]
    pub(crate) fn of_array([l, a, b]: [f64; 3]) -> Lab {
        Lab { l, a, b }
    }
}
