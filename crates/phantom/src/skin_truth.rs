//! The truth of skin, summed over the pixels of each area.

use crate::measured::True;
use crate::spectral::cielab::{ciede2000, ita, lab};
use crate::spectral::sensor::rgb;
use crate::truth::{SideTruth, SkinTruth};

/// Sums over the four areas: bands of the own right and left, cheeks of the own right and left.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sums([Sum; 4]);

#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    xyz: [f64; 3],
    parts: [f64; 3],
    light: f64,
    weight: f64,
}

impl Sums {
    pub(crate) fn take(&mut self, region: u8, own: &True, weight: f64) {
        let s = &mut self.0[usize::from(region) - 1];
        for k in 0..3 {
            s.xyz[k] += own.xyz[k] * weight;
            s.parts[k] += own.parts[k] * weight;
        }
        s.light += own.light * weight;
        s.weight += weight;
    }

    pub(crate) fn add(&mut self, other: &Sums) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            for k in 0..3 {
                a.xyz[k] += b.xyz[k];
                a.parts[k] += b.parts[k];
            }
            a.light += b.light;
            a.weight += b.weight;
        }
    }

    pub(crate) fn truth(&self) -> SkinTruth {
        let mean = |k: usize| {
            let s = &self.0[k];
            (lab(s.xyz.map(|v| v / s.weight.max(1e-9))), s.parts.map(|v| v / s.weight.max(1e-9)))
        };
        let side = |k: usize| {
            let ((band, own), (cheek, other)) = (mean(k), mean(k + 2));
            let d: [f64; 3] = std::array::from_fn(|i| band[i] - cheek[i]);
            SideTruth {
                band,
                cheek,
                shadow: [d[0], d[1], d[2], ciede2000(band, cheek), ita(band) - ita(cheek)],
                brown: own[0] - other[0],
                blue_red: own[1] - other[1],
                relief: own[2] - other[2],
                light: self.0[k].light / self.0[k].weight.max(1e-9)
                    - self.0[k + 2].light / self.0[k + 2].weight.max(1e-9),
                sclera: sclera(),
            }
        };
        let sides = [side(0), side(1)];
        let tone_ita = (ita(sides[0].cheek) + ita(sides[1].cheek)) / 2.0;
        SkinTruth { sides, tone_ita }
    }
}

/// The white of the eye is one colour, named in linear sRGB.
fn sclera() -> [f64; 3] {
    let named = crate::shade::WHITE_OF_THE_EYE.map(f64::from);
    let m = nalgebra::Matrix3::from_columns(&[
        crate::V3::from(rgb([1.0, 0.0, 0.0])),
        crate::V3::from(rgb([0.0, 1.0, 0.0])),
        crate::V3::from(rgb([0.0, 0.0, 1.0])),
    ]);
    let xyz = m.try_inverse().map_or(crate::V3::zeros(), |back| back * crate::V3::from(named));
    lab(xyz.into())
}
