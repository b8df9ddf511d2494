//! The colour of one seen point, from its material and its light.

use crate::V3;
use crate::eye::Iris;
use crate::groom::curve;
use crate::hair::{ACROSS, ALONG, CAP, FLOW, flow};
use crate::head::PAINTS;
use crate::irradiance::Lit;
use crate::measured::True;
use crate::mesh::Part;
use crate::rng::noise;
use crate::skin::{Palette, smooth};

/// A seen point: averages over the samples of one surface in one pixel.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seen {
    pub(crate) part: Part,
    /// Face frame, mm.
    pub(crate) p: V3,
    /// World.
    pub(crate) normal: V3,
    /// World, unit, toward the camera.
    pub(crate) view: V3,
    pub(crate) lit: Lit,
    pub(crate) paint: [f32; PAINTS],
    /// Size of a pixel there, mm.
    pub(crate) px_mm: f32,
}

/// What shading needs to know of the person and the shot.
pub(crate) struct Stage<'a> {
    pub(crate) palette: &'a Palette,
    pub(crate) seed: u64,
    /// World direction and linear colour of the key light.
    pub(crate) key: V3,
    pub(crate) key_colour: [f32; 3],
    /// The wall behind, as the camera sees it.
    pub(crate) wall: [f32; 3],
    pub(crate) turn: nalgebra::Rotation3<f64>,
    pub(crate) irises: [Iris; 2],
    /// Upper lid margins, outer to inner, and inner corners, face frame.
    pub(crate) lids: [Vec<V3>; 2],
}

/// The white of the eye, linear sRGB; our own choice.
pub(crate) const WHITE_OF_THE_EYE: [f32; 3] = [0.70, 0.665, 0.64];

fn times(a: [f32; 3], b: [f32; 3]) -> [f32; 3] {
    [a[0] * b[0], a[1] * b[1], a[2] * b[2]]
}

impl Stage<'_> {
    /// Linear light toward the camera.
    pub(crate) fn shade(&self, s: &Seen) -> [f32; 3] {
        match s.part {
            Part::Skin | Part::Plain => self.skin(s),
            Part::Rim => times(self.palette.rim, s.lit.soft.map(|v| v * 0.45 + 0.30)),
            Part::Mouth => times(self.palette.mouth, s.lit.soft.map(|v| v * 0.6 + 0.05)),
            Part::Eye => self.eye(s),
            Part::Hair => self.hair(s),
            Part::Cloth => {
                let weave = 1.0 + 0.05 * noise([s.p.x as f32 / 1.6, s.p.y as f32 / 1.6, s.p.z as f32], self.seed);
                let hem = smooth(0.0, 0.12, s.paint[0]) * 0.25 + 0.75;
                let seam = 1.0 - 0.18 * (1.0 - smooth(0.0, 0.05, (s.paint[0] - 0.42).abs()));
                times(self.palette.cloth, s.lit.hard.map(|v| v * weave * hem * seam))
            }
        }
    }

    /// Shine of a surface of this roughness exponent, with Schlick's Fresnel term.
    fn shine(&self, n: V3, view: V3, exponent: i32) -> f32 {
        let half = (self.key + view).normalize();
        let fresnel = 0.04 + 0.96 * (1.0 - view.dot(&half).max(0.0)).powi(5);
        let lobe = n.dot(&half).max(0.0).powi(exponent) * (f64::from(exponent) + 8.0) / 25.0;
        (lobe * fresnel / 0.04 * n.dot(&self.key).max(0.0)) as f32
    }

    fn skin(&self, s: &Seen) -> [f32; 3] {
        let p = [s.p.x as f32, s.p.y as f32, s.p.z as f32];
        let (albedo, lip) = self.palette.skin(&s.paint, p);
        let open = s.lit.open.max(0.0);
        let pore = noise(p.map(|v| v / 0.9), self.seed) * 0.25 + noise(p.map(|v| v / 2.4), self.seed) * 0.25;
        let broad = self.shine(s.normal, s.view, 9) * self.palette.shine * 0.55;
        let tight = self.shine(s.normal, s.view, 34) * self.palette.shine * (0.30 + 0.35 * lip);
        let shine = (broad + tight) * open * open * (1.0 + pore) * if s.part == Part::Plain { 0.5 } else { 1.0 };
        let relief = self.palette.measured.as_ref().map_or(1.0, |m| {
            let (_, here) = m.tissue(&s.paint, s.p);
            m.relief(&here, s.normal) as f32
        });
        let body = times(albedo, s.lit.soft.map(|v| v * relief));
        std::array::from_fn(|k| body[k] + shine * self.key_colour[k] * 0.8)
    }

    /// What is true of seen skin, where the shot is measured.
    pub(crate) fn truth(&self, s: &Seen) -> Option<True> {
        let m = self.palette.measured.as_ref().filter(|_| s.part == Part::Skin)?;
        let (tissue, here) = m.tissue(&s.paint, s.p);
        // What this face's own small shape does to light, against the smooth fitted face, is relief too.
        let shape = f64::from(s.lit.soft[1] / s.lit.smooth.max(1e-4)).clamp(0.2, 3.0);
        Some(m.truth(tissue, m.relief(&here, s.normal) * shape, f64::from(s.lit.smooth)))
    }

    fn eye(&self, s: &Seen) -> [f32; 3] {
        let side = usize::from(s.p.x > 0.0);
        let iris = &self.irises[side];
        let [r, x, y] = [s.paint[0], s.paint[1], s.paint[2]];
        let edge = (s.px_mm / iris.radius as f32 * 0.6).max(0.035);
        let lids = &self.lids[side];
        // The white: greyer toward the corners, pink toward the inner one.
        let corner = (s.p - lids[8]).norm() as f32;
        let outer = (s.p - lids[0]).norm() as f32;
        let pink = smooth(6.0, 1.5, corner) * 0.8 + smooth(5.0, 1.0, outer) * 0.35;
        let vein = noise([s.p.x as f32 * 0.5, s.p.y as f32 * 2.2, s.p.z as f32], self.seed ^ 5);
        let white: [f32; 3] = std::array::from_fn(|k| {
            WHITE_OF_THE_EYE[k] * (1.0 - pink * [0.16, 0.52, 0.50][k]) * (1.0 + [0.0, 0.03, 0.03][k] * vein)
        });
        let pupil = smooth(0.36 - edge, 0.36 + edge, r);
        let inside = smooth(1.0 + edge, 1.0 - edge, r);
        let mut iris_colour = self.palette.iris(r, y.atan2(x));
        // Light entering from the key side gathers on the far side of the iris.
        let toward = self.turn.inverse() * self.key;
        let gather = (1.0 - 0.35 * (x * toward.x as f32 + y * toward.y as f32)).max(0.4);
        iris_colour = iris_colour.map(|c| (c * gather * 1.15 + 0.002) * pupil + 0.004 * (1.0 - pupil));
        let albedo = std::array::from_fn(|k| white[k] + (iris_colour[k] - white[k]) * inside);
        let albedo = self.palette.named(albedo);
        // The upper lid and its lashes shade the eye below them.
        let t = ((s.p.x - lids[0].x) / (lids[8].x - lids[0].x)).clamp(0.0, 1.0);
        let lid = curve(lids, t);
        let below = (lid.y - s.p.y).max(0.0) as f32;
        let shadow = 1.0 - 0.62 * (-below / 1.9).exp();
        let light = s.lit.soft.map(|v| (v * 0.82 + 0.06) * shadow);
        let mut c = times(albedo, light);
        // The cornea: a steeper cap (radius 7.8 mm, from memory) whose highlight is the window's image.
        let bulge = (self.turn * (iris.right * f64::from(x) + iris.up * f64::from(y))) * (iris.radius / 7.8);
        let gaze = self.turn * iris.gaze;
        let wet = if r < 1.08 { (gaze + bulge).normalize() } else { s.normal };
        let half = (self.key + s.view).normalize();
        let spot = wet.dot(&half).clamp(-1.0, 1.0).acos() as f32;
        let glint = if r < 1.15 { smooth(0.125, 0.085, spot) * 0.90 } else { smooth(0.10, 0.0, spot) * 0.25 };
        c.iter_mut().zip(self.key_colour).for_each(|(c, key)| *c += glint * key * (0.35 + 0.65 * shadow));
        c
    }

    fn hair(&self, s: &Seen) -> [f32; 3] {
        let (across, along) = (s.paint[ACROSS], s.paint[ALONG]);
        let bend = 2.0 * noise([across / 14.0, along / 38.0, 2.0], self.seed);
        // Strands thinner than a pixel only change its mean: let them fade.
        let visible = |size: f32| (size / s.px_mm / 1.6).min(1.0);
        let a = noise([(across + bend) / 0.7, along / 46.0, 0.0], self.seed) * visible(0.7);
        let b = noise([(across + bend * 1.6) / 2.6, along / 60.0, 5.0], self.seed);
        let c = noise([(across + bend * 2.0) / 8.0, along / 90.0, 9.0], self.seed);
        let strand = 1.0 + 0.42 * a + 0.34 * b + 0.22 * c;
        let n = if s.normal.dot(&s.view) < 0.0 { -s.normal } else { s.normal };
        let way = self.turn * flow(s.paint[FLOW], s.p);
        let t = (way - n * way.dot(&n)).try_normalize(1e-6).unwrap_or_else(V3::y);
        let half = (self.key + s.view).normalize();
        let sine = (1.0 - t.dot(&half).powi(2)).max(0.0).sqrt();
        let gloss = if s.paint[FLOW] > 1.5 { 0.6 } else { 1.0 } * (sine.powi(46) * 0.10 + sine.powi(10) * 0.045) as f32;
        let wrap = s.lit.soft;
        let grey = if self.palette.grey > 0.0 { smooth(0.2, 0.7, a) * self.palette.grey * 0.35 } else { 0.0 };
        let base: [f32; 3] = self.palette.hair.map(|h| h + (0.45 - h) * grey);
        let roots = if s.paint[CAP] > 0.5 { 0.92 } else { 1.0 };
        std::array::from_fn(|k| {
            let body = base[k] * wrap[k] * strand.max(0.2) * roots;
            body + gloss * s.lit.open * s.lit.open * strand.max(0.0) * (0.25 + base[k] * 1.6) * self.key_colour[k]
        })
    }
}
