//! What a measured photograph adds to a plain one: skin by its pigments, a spectral light, a camera, and the truth of each pixel.

use crate::V3;
use crate::figure::Figure;
use crate::head::{BLUSH, PAINTS};
use crate::light::Ray;
use crate::person::{Person, Tone};
use crate::rng::{Rng, noise};
use crate::setting::Setting;
use crate::shot::Shot;
use crate::spectral::cielab::{ita, lab};
use crate::spectral::sensor::Sensor;
use crate::spectral::tables::xyz;
use crate::spectral::tissue::{Look, MELANIN, Skin, reflectance};
use crate::under_eye::{Field, Here};

/// Pigments, light and camera of one shot.
#[derive(Clone, Debug)]
pub(crate) struct Measured {
    pub(crate) base: Skin,
    pub(crate) sensor: Sensor,
    pub(crate) rays: Vec<Ray>,
    truth: Look,
    field: Field,
    seed: u64,
    turn: nalgebra::Rotation3<f64>,
}

/// What is true of a pixel.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct True {
    /// XYZ under D65 of skin with its relief.
    pub(crate) xyz: [f64; 3],
    /// -log10 of the luminance that brown, blue-red and relief each alone would leave.
    pub(crate) parts: [f64; 3],
    /// ln of the light on the smooth fitted face.
    pub(crate) light: f64,
}

/// What a class's cheeks are drawn from: the angle, degrees, inside the class's limits (Chardon 1991, Del Bino and Bernerd 2013) by what
/// the own shape of a face may add in any light; and the volume share of blood with which redness is that of the published means of
/// the class (Alaluf 2002, Xiao 2017), cheeks between arms and sun-exposed skin.
fn drawn(tone: Tone) -> ([f64; 2], [f64; 2]) {
    match tone {
        Tone::VeryLight => ([57.0, 61.0], [0.011, 0.020]),
        Tone::Light => ([44.0, 51.5], [0.008, 0.019]),
        Tone::Intermediate => ([30.5, 37.5], [0.012, 0.030]),
        Tone::Tan => ([12.5, 24.5], [0.014, 0.034]),
        Tone::Brown => ([-26.0, 6.5], [0.016, 0.038]),
        Tone::Dark => ([-44.0, -34.0], [0.024, 0.050]),
    }
}

/// The skin of a person's cheek: blood as drawn, and as much melanin as the class asks for.
pub(crate) fn skin_of(person: &Person) -> Skin {
    let mut rng = Rng::new(person.seed, 47);
    let (angle, blood) = drawn(person.tone);
    let angle = rng.range(angle[0], angle[1]);
    let (blood, oxygen) = (rng.range(blood[0], blood[1]), rng.range(0.68, 0.80));
    let (mut less, mut more) = (MELANIN[0], MELANIN[1]);
    for _ in 0..40 {
        let melanin = (less * more).sqrt();
        // A cheek holds about an eighth more blood than the rest of the face.
        let cheek = Skin { melanin, blood: 1.13 * blood, oxygen };
        if ita(lab(xyz(&reflectance(cheek)))) > angle { less = melanin } else { more = melanin }
    }
    Skin { melanin: (less * more).sqrt(), blood, oxygen }
}

impl Measured {
    pub(crate) fn new(
        person: &Person,
        figure: &Figure,
        shot: &Shot,
        setting: Setting,
        turn: nalgebra::Rotation3<f64>,
    ) -> Measured {
        let base = skin_of(person);
        let spectrum = setting.spectrum();
        let sensor = Sensor::new(shot.camera_kind, &spectrum);
        let whole: f64 = crate::spectral::tables::luminance(&spectrum);
        let rays = setting.rays(shot.light_seed, |light| {
            let ratio = std::array::from_fn(|i| light[i] / spectrum[i].max(1e-12) * whole);
            sensor.see(&ratio)
        });
        Measured {
            base,
            rays,
            truth: Look::of(xyz),
            field: Field::of(figure, &shot.under_eye, base),
            sensor,
            seed: person.seed,
            turn,
        }
    }

    /// How the camera exposes: dark skin a little longer, light skin a little shorter, white paper never blown.
    pub(crate) fn gain(&self) -> f64 {
        let y = f64::from(self.truth.at(self.base)[1]);
        (0.30 / y).powf(0.25).clamp(0.88, 1.12) * 0.80
    }

    /// Skin and what the field says at a painted place of the face frame.
    pub(crate) fn tissue(&self, paint: &[f32; PAINTS], p: V3) -> (Skin, Here) {
        let at = |size: f64, salt: u64| f64::from(noise([p.x, p.y, p.z].map(|v| (v / size) as f32), self.seed ^ salt));
        let here = self.field.at(p);
        let (slow, blotch, fine) = (at(26.0, 0), at(7.0, 0), at(1.5, 0));
        let blush = 0.30 * f64::from(paint[BLUSH]);
        let melanin = self.base.melanin * here.melanin.max(1.0) * (1.0 + 0.05 * slow + 0.05 * at(5.0, 3) + 0.05 * fine);
        let blood = self.base.blood
            * here.blood.max(1.0)
            * (1.0 + blush + 0.10 * at(31.0, 7) + 0.10 * blotch + 0.06 * at(1.1, 9));
        (Skin { melanin, blood, oxygen: self.base.oxygen - here.oxygen }, here)
    }

    /// The light of the small relief alone, against the smooth skin's: a bent normal, and a groove that is less open.
    pub(crate) fn relief(&self, here: &Here, normal: V3) -> f64 {
        if here.depth == 0.0 && here.slope == 0.0 {
            return 1.0;
        }
        // Going down into a groove the skin looks down.
        let down = self.turn * V3::new(0.0, -here.slope, 0.0);
        let bent = (normal + down).normalize();
        let light = |n: V3| -> f64 {
            self.rays.iter().map(|r| r.colour[1] * ((n.dot(&r.toward) + 0.2) / 1.2).max(0.0)).sum::<f64>().max(1e-6)
        };
        light(bent) / light(normal) * (1.0 - 0.10 * here.depth).clamp(0.3, 1.2)
    }

    /// What is true of skin at a place.
    pub(crate) fn truth(&self, skin: Skin, relief: f64, light: f64) -> True {
        let seen = self.truth.at(skin).map(|v| f64::from(v) * relief);
        let y = |s: Skin| f64::from(self.truth.at(s)[1]);
        let brown = -y(Skin { melanin: skin.melanin, ..self.base }).log10();
        let blue = -y(Skin { melanin: self.base.melanin, ..skin }).log10();
        True { xyz: seen, parts: [brown, blue, -relief.log10()], light: light.max(1e-6).ln() }
    }
}
