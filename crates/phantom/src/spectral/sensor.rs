//! A camera's colour: sensitivities of our own invention (not the eye's), white balance, a colour matrix as a maker would
//! fit it, a tone curve. No real camera is meant.

use nalgebra::Matrix3;

use super::tables::{COUNT, Spectrum31, nm, tables, xyz};
use super::tissue::{Look, Skin, reflectance, sum};
use crate::V3;
use crate::rng::Rng;

/// One camera under one light.
#[derive(Clone, Debug)]
pub(crate) struct Sensor {
    /// What it sees of skin, white-balanced: red, green, blue of its own.
    pub(crate) skin: Look,
    /// From its own colours to linear sRGB, white to white.
    pub(crate) matrix: Matrix3<f64>,
    /// And back: how a colour named in linear sRGB looks to it.
    pub(crate) inverse: Matrix3<f64>,
    /// Gains that white balance got wrong.
    pub(crate) gains: [f64; 3],
    /// Contrast of its tone curve, -0.15 to 0.25.
    pub(crate) contrast: f64,
    weights: [Spectrum31; 3],
}

/// Gaussian peaks (nm, width) of red, green and blue.
fn sensitivity(kind: u8, rng: &mut Rng) -> [Spectrum31; 3] {
    let t = tables();
    if kind == 0 {
        // The eye's own, as linear sRGB weighs them.
        let m = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];
        return m.map(|row| std::array::from_fn(|i| (0..3).map(|k| row[k] * t.observer[k][i]).sum()));
    }
    let bump = |peak: f64, width: f64, l: f64| (-((l - peak) / width).powi(2) / 2.0).exp();
    let mut near = |v: f64, by: f64| v + by * rng.range(-1.0, 1.0);
    let (r, g, b) = (near(603.0, 7.0), near(534.0, 6.0), near(458.0, 6.0));
    let (wr, wg, wb) = (near(34.0, 5.0), near(41.0, 5.0), near(27.0, 4.0));
    let leak = near(0.05, 0.04);
    [
        std::array::from_fn(|i| bump(r, wr, nm(i)) + leak * bump(450.0, 25.0, nm(i)) + 0.10 * bump(545.0, 30.0, nm(i))),
        std::array::from_fn(|i| bump(g, wg, nm(i)) + leak * bump(450.0, 40.0, nm(i)) + 0.08 * bump(610.0, 30.0, nm(i))),
        std::array::from_fn(|i| bump(b, wb, nm(i)) + 0.08 * bump(535.0, 40.0, nm(i))),
    ]
}

/// Linear sRGB of XYZ (IEC 61966-2-1).
pub(crate) fn rgb([x, y, z]: [f64; 3]) -> [f64; 3] {
    [3.2406 * x - 1.5372 * y - 0.4986 * z, -0.9689 * x + 1.8758 * y + 0.0415 * z, 0.0557 * x - 0.2040 * y + 1.0570 * z]
}

impl Sensor {
    /// Camera `kind` (0: the eye's own colours, straight) under a light of this spectrum.
    pub(crate) fn new(kind: u8, light: &Spectrum31) -> Sensor {
        let mut rng = Rng::new(u64::from(kind) + 1000, 31);
        let own = sensitivity(kind, &mut rng);
        let weights = own.map(|s| {
            let white: f64 = sum(&s, light);
            std::array::from_fn(|i| s[i] * light[i] / white)
        });
        let see = |r: &Spectrum31| -> [f64; 3] { std::array::from_fn(|k| sum(r, &weights[k])) };
        let mut seen = vec![(V3::repeat(1.0), V3::repeat(1.0), 40.0)];
        for melanin in [0.01, 0.03, 0.08, 0.2, 0.4] {
            for blood in [0.01, 0.03, 0.08] {
                let r = reflectance(Skin { melanin, blood, oxygen: 0.7 });
                seen.push((V3::from(see(&r)), V3::from(rgb(xyz(&r))), 1.0));
            }
        }
        for peak in (0..8).map(|i| 420.0 + 35.0 * f64::from(i)) {
            let r = std::array::from_fn(|i| 0.12 + 0.4 * (-((nm(i) - peak) / 45.0).powi(2) / 2.0).exp());
            seen.push((V3::from(see(&r)), V3::from(rgb(xyz(&r))), 0.35));
        }
        let (mut normal, mut cross) = (Matrix3::identity() * 1e-6, Matrix3::identity() * 1e-6);
        for (a, b, w) in &seen {
            normal += a * a.transpose() * *w;
            cross += b * a.transpose() * *w;
        }
        let matrix = if kind == 0 && light == &tables().lights[0] {
            Matrix3::identity()
        } else {
            normal.try_inverse().map_or(Matrix3::identity(), |n| cross * n)
        };
        let slip = if kind == 0 { 0.0 } else { 0.02 };
        let gains = [1.0 + slip * rng.range(-1.0, 1.0), 1.0, 1.0 + slip * rng.range(-1.0, 1.0)];
        let contrast = if kind == 0 { 0.0 } else { rng.range(-0.15, 0.25) };
        let inverse = matrix.try_inverse().unwrap_or_else(Matrix3::identity);
        Sensor { skin: Look::of(see), matrix, inverse, gains, contrast, weights }
    }

    /// What it sees of a reflectance.
    pub(crate) fn see(&self, r: &Spectrum31) -> [f64; 3] {
        std::array::from_fn(|k| sum(r, &self.weights[k]))
    }

    /// A colour named in linear sRGB, as it sees it.
    pub(crate) fn named(&self, c: [f32; 3]) -> [f32; 3] {
        let v = self.inverse * V3::new(f64::from(c[0]), f64::from(c[1]), f64::from(c[2]));
        [v[0].max(0.0) as f32, v[1].max(0.0) as f32, v[2].max(0.0) as f32]
    }

    /// The tone curve on an encoded value 0 to 1.
    pub(crate) fn tone(&self, e: f64) -> f64 {
        e + self.contrast * e * (1.0 - e) * (2.0 * e - 1.0)
    }
}

/// A smooth reflectance of this XYZ under D65: three broad humps, solved for; where that would leave 0.005 to 1 it is cut.
pub(crate) fn smooth(target: [f64; 3]) -> Spectrum31 {
    let humps: [Spectrum31; 3] = [(440.0, 45.0), (545.0, 45.0), (640.0, 60.0)]
        .map(|(peak, width)| std::array::from_fn(|i| (-((nm(i) - peak) / width).powi(2) / 2.0f64).exp()));
    // A little of an even grey keeps the valleys between humps from reaching nought.
    let grey = 0.5 * target[1];
    let base = xyz(&[grey; COUNT]);
    let m = Matrix3::from_fn(|r, c| xyz(&humps[c])[r]);
    let w = m.try_inverse().map_or(V3::zeros(), |inv| inv * (V3::from(target) - V3::from(base)));
    std::array::from_fn(|i| (grey + (0..3).map(|k| w[k] * humps[k][i]).sum::<f64>()).clamp(0.005, 1.0))
}
