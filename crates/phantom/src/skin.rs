//! Colours of skin, lips, hair, eyes and cloth, linear RGB. The only file that knows what colour a person is.
//!
//! Nominal skin colours are our own choice for each class, in the spirit of published cheek colours (Xiao et al. 2017);
//! a spectral model may take this file's place.

use crate::V3;
use crate::head::{BLUSH, BROW, DARK, LIP, PAINTS, UNDER_EYE};
use crate::measured::Measured;
use crate::person::{Person, Tone};
use crate::rng::noise;
use crate::spectral::tissue::Skin;

/// Linear value of an sRGB level 0-255 (IEC 61966-2-1).
pub(crate) fn linear(level: f64) -> f64 {
    let v = (level / 255.0).clamp(0.0, 1.0);
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

/// sRGB level 0-1 of a linear value.
pub(crate) fn encoded(v: f32) -> f32 {
    let v = v.clamp(0.0, 1.0);
    if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }
}

/// Linear colour of sRGB levels.
pub(crate) fn colour(rgb: [f64; 3]) -> [f32; 3] {
    rgb.map(|v| linear(v) as f32)
}

/// The colours of one person.
#[derive(Clone, Debug)]
pub(crate) struct Palette {
    skin: [f32; 3],
    lip: [f32; 3],
    blush: [f32; 3],
    shade: [f32; 3],
    pub(crate) hair: [f32; 3],
    pub(crate) brow: [f32; 3],
    /// Linear sRGB, whatever the camera.
    pub(crate) iris: [f32; 3],
    pub(crate) cloth: [f32; 3],
    pub(crate) rim: [f32; 3],
    pub(crate) lash: [f32; 3],
    /// The dark between the lips.
    pub(crate) mouth: [f32; 3],
    pub(crate) grey: f32,
    /// Strength of the skin's shine.
    pub(crate) shine: f32,
    seed: u64,
    pub(crate) measured: Option<Measured>,
}

impl Palette {
    pub(crate) fn of(person: &Person) -> Self {
        let (skin, lip) = match person.tone {
            Tone::VeryLight => ([238.0, 204.0, 184.0], [196.0, 124.0, 118.0]),
            Tone::Light => ([227.0, 187.0, 162.0], [186.0, 114.0, 106.0]),
            Tone::Intermediate => ([208.0, 163.0, 133.0], [168.0, 100.0, 90.0]),
            Tone::Tan => ([182.0, 133.0, 102.0], [146.0, 86.0, 76.0]),
            Tone::Brown => ([140.0, 95.0, 69.0], [116.0, 68.0, 60.0]),
            Tone::Dark => ([92.0, 61.0, 46.0], [82.0, 48.0, 44.0]),
        };
        // A person differs from the class by up to 4 % in each channel.
        let own =
            |k: u64, v: f64| v * (1.0 + 0.04 * f64::from(noise([person.seed as f32 * 0.37 + 0.5, k as f32, 0.5], 91)));
        let skin = [own(0, skin[0]), own(1, skin[1]), own(1, skin[2])];
        let skin = colour(skin);
        let hair = colour(person.hair_rgb);
        let grey = person.grey as f32;
        let dark = match person.tone {
            Tone::VeryLight | Tone::Light => 1.0,
            Tone::Intermediate | Tone::Tan => 0.8,
            Tone::Brown | Tone::Dark => 0.55,
        };
        let brow: [f32; 3] = std::array::from_fn(|k| (hair[k] * 0.45).min(skin[k] * 0.26));
        Self {
            skin,
            lip: colour(lip),
            blush: [1.0, 1.0 - 0.20 * dark, 1.0 - 0.16 * dark],
            shade: [0.80, 0.72, 0.74],
            hair: std::array::from_fn(|k| hair[k] + (0.42 - hair[k]) * grey * 0.7),
            brow,
            iris: colour(person.iris_rgb),
            cloth: colour(person.cloth_rgb),
            rim: std::array::from_fn(|k| skin[k] * [0.86, 0.60, 0.58][k]),
            lash: [0.018, 0.014, 0.012],
            mouth: [0.10, 0.035, 0.03],
            grey,
            shine: match person.tone {
                Tone::Brown | Tone::Dark => 0.075,
                _ => 0.055,
            },
            seed: person.seed,
            measured: None,
        }
    }

    /// The same person before a camera under a spectral light: colours are as the camera sees them.
    pub(crate) fn seen(mut self, measured: Measured) -> Self {
        let named = |c: [f32; 3]| measured.sensor.named(c);
        let skin = measured.sensor.skin.at(measured.base);
        self.hair = named(self.hair);
        self.brow = named(self.brow);
        self.lash = named(self.lash);
        self.mouth = named(self.mouth);
        self.cloth = named(self.cloth);
        // What the surface throws back knows no pigment.
        self.shine = 0.055;
        // Lips and the lid's edge are skin with much blood, that of lips full of oxygen; our own choice of how much.
        let Skin { melanin, blood, oxygen } = measured.base;
        self.lip = measured.sensor.skin.at(Skin { melanin, blood: 9.0 * blood, oxygen: 0.95 }).map(|v| 0.95 * v);
        self.rim = measured.sensor.skin.at(Skin { melanin: 0.8 * melanin, blood: 3.0 * blood, oxygen });
        self.skin = skin;
        self.measured = Some(measured);
        self
    }

    /// Skin at a painted place of the face frame (mm).
    pub(crate) fn skin(&self, paint: &[f32; PAINTS], p: [f32; 3]) -> ([f32; 3], f32) {
        if let Some(m) = &self.measured {
            let (tissue, _) = m.tissue(paint, V3::new(f64::from(p[0]), f64::from(p[1]), f64::from(p[2])));
            let mut c = m.sensor.skin.at(tissue);
            let lip = smooth(0.30, 0.70, paint[LIP]);
            let brow = smooth(0.55, 1.0, paint[BROW]) * 0.45;
            for (k, c) in c.iter_mut().enumerate() {
                *c *= 1.0 - 0.85 * paint[DARK];
                *c += (self.lip[k] - *c) * lip;
                *c += (self.brow[k] - *c) * brow;
            }
            return (c, lip);
        }
        let at = |size: f32| noise(p.map(|v| v / size), self.seed);
        let slow = at(26.0);
        let blotch = at(7.0);
        let fine = at(1.5);
        let mut c = self.skin;
        let lip = smooth(0.30, 0.70, paint[LIP]);
        let redness = paint[BLUSH] + 0.14 * slow + 0.10 * blotch;
        let level = 1.0 + 0.030 * slow + 0.022 * blotch + 0.028 * fine;
        let line = 1.0 + 0.06 * noise([p[0] * 1.1, p[1] * 0.25, 0.0], self.seed) + 0.04 * slow;
        let brow = smooth(0.55, 1.0, paint[BROW]) * 0.45;
        for (k, c) in c.iter_mut().enumerate() {
            *c *= level * (1.0 + (self.blush[k] - 1.0) * redness * 1.3);
            *c *= 1.0 - 0.55 * (1.0 - self.shade[k]) * paint[UNDER_EYE];
            *c *= 1.0 - 0.85 * paint[DARK];
            *c += (self.lip[k] * line - *c) * lip;
            *c += (self.brow[k] - *c) * brow;
        }
        (c, lip)
    }

    /// A colour named in linear sRGB, as this picture's camera sees it.
    pub(crate) fn named(&self, c: [f32; 3]) -> [f32; 3] {
        self.measured.as_ref().map_or(c, |m| m.sensor.named(c))
    }

    /// Iris at a place in units of its radius; `turn` in radians.
    pub(crate) fn iris(&self, r: f32, turn: f32) -> [f32; 3] {
        let fibre =
            noise([turn * 9.0, r * 2.2, self.seed as f32], 17) * 0.5 + noise([turn * 22.0, r * 3.0, 1.5], 23) * 0.4;
        let ring = smooth(0.80, 1.0, r);
        let inner = smooth(0.62, 0.36, r);
        std::array::from_fn(|k| {
            let amber = [1.25, 0.98, 0.72][k];
            let c = self.iris[k] * (1.0 + 0.45 * fibre) * (1.25 - 0.2 * r);
            let c = c * (1.0 + (amber - 1.0) * inner);
            c * (1.0 - 0.66 * ring)
        })
    }
}

/// Smooth step from `a` to `b` (either may be larger).
pub(crate) fn smooth(a: f32, b: f32, x: f32) -> f32 {
    let t = ((x - a) / (b - a)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}
