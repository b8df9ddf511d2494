//! What lies under the eyes: brown, blue-red, and a groove with a soft bulge above it.

use crate::V3;
use crate::figure::Figure;
use crate::groom::curve;
use crate::marks::LIDS;
use crate::person::Person;
use crate::rng::Rng;
use crate::spectral::cielab::{ciede2000, lab};
use crate::spectral::tables::xyz;
use crate::spectral::tissue::{Skin, reflectance};

/// Strengths under the own right and the own left eye: 0 none; 1 about three CIEDE2000 where it is strongest.
#[derive(Clone, Debug, PartialEq)]
pub struct UnderEye {
    /// More melanin.
    pub brown: [f64; 2],
    /// More blood, with less oxygen.
    pub blue_red: [f64; 2],
    /// A groove below a bulge.
    pub relief: [f64; 2],
}

/// One of the three.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// More melanin.
    Brown,
    /// More blood, with less oxygen.
    BlueRed,
    /// A groove below a bulge.
    Relief,
}

impl UnderEye {
    /// Nothing.
    pub const NONE: UnderEye = UnderEye { brown: [0.0; 2], blue_red: [0.0; 2], relief: [0.0; 2] };

    /// A mixture of a severity, 0 (none) to 4 (marked), that differs a little between the sides.
    pub fn of_severity(person: &Person, severity: f64, seed: u64) -> UnderEye {
        let mut rng = Rng::new(seed ^ person.seed.rotate_left(17), 43);
        let mut parts: [f64; 3] = std::array::from_fn(|_| rng.unit().powi(2) + 0.05);
        let total: f64 = parts.iter().sum();
        parts.iter_mut().for_each(|p| *p *= 1.3 * severity / total);
        let mut both = |v: f64| {
            let more = 1.0 + 0.15 * rng.range(-1.0, 1.0);
            [v * more, v * (2.0 - more)]
        };
        UnderEye { brown: both(parts[0]), blue_red: both(parts[1]), relief: both(parts[2]) }
    }

    /// One kind alone, alike on both sides.
    pub fn only(kind: Kind, strength: f64) -> UnderEye {
        let mut all = UnderEye::NONE;
        match kind {
            Kind::Brown => all.brown = [strength; 2],
            Kind::BlueRed => all.blue_red = [strength; 2],
            Kind::Relief => all.relief = [strength; 2],
        }
        all
    }
}

/// The fields of one face.
#[derive(Clone, Debug)]
pub(crate) struct Field {
    /// Lower lids, outer to inner, own right first; face frame.
    lids: [Vec<V3>; 2],
    /// Times the melanin grows by at strength 1, and the blood.
    grow: [f64; 2],
    under: UnderEye,
}

/// What the field says of a place.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Here {
    /// Times more melanin, blood, and less oxygen (share).
    pub(crate) melanin: f64,
    pub(crate) blood: f64,
    pub(crate) oxygen: f64,
    /// Depth below the smooth face, mm, and how it grows downward, mm a mm.
    pub(crate) depth: f64,
    pub(crate) slope: f64,
}

/// Depth of the groove at strength 1, mm.
const GROOVE_MM: f64 = 0.55;

impl Field {
    pub(crate) fn of(figure: &Figure, under: &UnderEye, skin: Skin) -> Field {
        let lids = [0, 1].map(|side| (0..=8).map(|k| figure.head[LIDS[side][k]]).collect());
        let base = lab(xyz(&reflectance(skin)));
        // How much more it takes for three CIEDE2000 on this skin.
        let solve = |of: &dyn Fn(f64) -> Skin| {
            let (mut low, mut high) = (0.0, 12.0);
            for _ in 0..30 {
                let by = (low + high) / 2.0;
                if ciede2000(lab(xyz(&reflectance(of(by)))), base) < 3.0 { low = by } else { high = by }
            }
            low
        };
        let brown = solve(&|by| Skin { melanin: skin.melanin * (1.0 + by), ..skin });
        let blue =
            solve(&|by| Skin { blood: skin.blood * (1.0 + by), oxygen: skin.oxygen - OXYGEN * by.min(1.0), ..skin });
        Field { lids, grow: [brown, blue], under: under.clone() }
    }

    /// The field at a place of the face frame.
    pub(crate) fn at(&self, p: V3) -> Here {
        let side = usize::from(p.x > 0.0);
        let lid = &self.lids[side];
        let t = (p.x - lid[0].x) / (lid[8].x - lid[0].x);
        if !(-0.5..1.5).contains(&t) {
            return Here::default();
        }
        let below = curve(lid, t.clamp(0.0, 1.0)).y - p.y;
        if !(-2.0..40.0).contains(&below) {
            return Here::default();
        }
        let hump = |v: f64, middle: f64, width: f64| (-((v - middle) / width).powi(2) / 2.0).exp();
        let colour = hump(below, 6.0, 5.0) * hump(t, 0.55, 0.42);
        let vein = hump(below, 5.0, 4.5) * hump(t, 0.72, 0.36);
        // The groove runs from the inner corner outward and down.
        let groove = 7.5 + 3.5 * (1.0 - t);
        let window = hump(t, 0.66, 0.38);
        let amount = self.under.relief[side] * GROOVE_MM;
        let depth = |v: f64| amount * (hump(v, groove, 3.0) - 0.55 * hump(v, groove - 6.0, 3.2)) * window;
        let h = 0.05;
        let slope = (depth(below + h) - depth(below - h)) / (2.0 * h);
        let blue = self.under.blue_red[side] * vein * self.grow[1];
        Here {
            melanin: 1.0 + self.under.brown[side] * colour * self.grow[0],
            blood: 1.0 + blue,
            oxygen: OXYGEN * blue.min(1.0),
            depth: depth(below),
            slope,
        }
    }
}

/// Oxygen that is missing where there is twice the blood.
const OXYGEN: f64 = 0.18;
