//! The lights of a measured photograph, as spectra and ways.

use crate::V3;
use crate::light::{Lobe, Ray, spread};
use crate::rng::Rng;
use crate::spectral::tables::{Spectrum31, tables};

/// The light of a measured photograph.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setting {
    /// Soft daylight from before the face (CIE D65).
    D65,
    /// Soft tungsten light from before the face (CIE A).
    A,
    /// A soft cool LED before the face (CIE LED-B5).
    Led,
    /// A daylight window before the face and a little to one side, and a tungsten room round it.
    Window,
    /// Even daylight that falls off across the face.
    Gradient,
    /// A window at one side: to be refused.
    SideWindow,
}

impl Setting {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::D65, Self::A, Self::Led, Self::Window, Self::Gradient, Self::SideWindow];

    /// The share of daylight, tungsten and LED in what falls on a face.
    fn mix(self) -> [f64; 3] {
        match self {
            Self::D65 | Self::Gradient => [1.0, 0.0, 0.0],
            Self::A => [0.0, 1.0, 0.0],
            Self::Led => [0.0, 0.0, 1.0],
            Self::Window => [0.72, 0.28, 0.0],
            Self::SideWindow => [0.85, 0.15, 0.0],
        }
    }

    /// The spectrum that falls on a face that looks at the camera.
    pub(crate) fn spectrum(self) -> Spectrum31 {
        let mix = self.mix();
        std::array::from_fn(|i| (0..3).map(|k| mix[k] * level(k)[i]).sum())
    }

    /// The rays of this setting for one shot; `see` is what the camera makes of a spectrum of light, 1 for [`Setting::spectrum`].
    pub(crate) fn rays(self, seed: u64, see: impl Fn(&Spectrum31) -> [f64; 3]) -> Vec<Ray> {
        spread(&self.lobes(seed, see(&level(0)), see(&level(1))), 36, true)
    }

    /// What the light is made of, the strongest first, given the colours of daylight and of tungsten.
    fn lobes(self, seed: u64, day: [f64; 3], lamp: [f64; 3]) -> Vec<Lobe> {
        let mut rng = Rng::new(seed, 41);
        let side = if rng.unit() < 0.5 { -1.0 } else { 1.0 };
        let (x, y) = (0.10 * rng.range(-1.0, 1.0), rng.range(0.15, 0.5));
        let white = [1.0; 3];
        match self {
            Self::D65 | Self::A | Self::Led => {
                vec![
                    ([x, y, 1.0], rng.range(1.4, 2.6), 1.0, white),
                    ([0.0, 1.0, 0.2], 1.0, rng.range(0.1, 0.35), white),
                ]
            }
            Self::Window => vec![
                ([side * rng.range(0.05, 0.22), 0.35, 1.0], rng.range(2.5, 4.0), 1.2, day),
                ([-0.5 * side, 0.4, 0.6], 0.5, 0.40, lamp),
            ],
            Self::Gradient => vec![
                ([side * rng.range(0.06, 0.16), y, 1.0], rng.range(2.0, 3.5), 1.0, white),
                ([0.0, 0.6, 0.6], 0.6, 0.35, white),
            ],
            Self::SideWindow => {
                vec![([side, 0.35, rng.range(0.45, 0.75)], 5.0, 2.0, day), ([-0.3 * side, 0.3, 0.8], 0.6, 0.40, lamp)]
            }
        }
    }

    /// Where the eye's highlight and the skin's shine come from: the middle of the strongest light.
    pub(crate) fn key(self, seed: u64) -> V3 {
        self.lobes(seed, [1.0; 3], [1.0; 3]).first().map_or(V3::z(), |lobe| V3::from(lobe.0).normalize())
    }
}

/// A light of the tables, scaled to the same luminance.
fn level(k: usize) -> Spectrum31 {
    let t = tables();
    let y: f64 = t.lights[k].iter().zip(&t.observer[1]).map(|(l, v)| l * v).sum();
    t.lights[k].map(|v| v / y)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Shine comes from where light is brightest, and over seeds from either side.
    #[test]
    fn shine_comes_from_the_light() {
        for setting in Setting::ALL {
            let mut sides = [0; 2];
            for seed in 0..40 {
                let rays = setting.rays(seed, |_| [1.0; 3]);
                let middle: V3 = rays.iter().map(|r| r.toward * r.colour[1].powi(4)).sum();
                let key = setting.key(seed);
                assert!((key.norm() - 1.0).abs() < 1e-12 && key.dot(&middle.normalize()) > 0.85, "{setting:?} {seed}");
                // A light nearly before the face is of no side.
                if key.x.abs() > 0.05 {
                    assert!(key.x * middle.x > 0.0, "{setting:?} {seed}: shine at {:.2}, light at {middle:?}", key.x);
                    sides[usize::from(key.x > 0.0)] += 1;
                }
            }
            assert!(sides.iter().all(|n| *n > 3), "{setting:?}: {sides:?}");
        }
    }
}
