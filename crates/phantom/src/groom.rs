//! Where brow hairs, lashes, fine hairs of the hairline and freckles grow.

use crate::V3;
use crate::hair::{FLOW, flow};
use crate::hairline::{Hairline, on_surface};
use crate::head::Skull;
use crate::irradiance::Lit;
use crate::marks::{BROW_LOWER, BROW_UPPER, FOLD, LIDS, LIPS_INNER};
use crate::mesh::{Mesh, normals};
use crate::person::{Hair, Person};
use crate::rng::Rng;
use crate::skin::Palette;
use crate::strokes::Stroke;

/// What is needed to grow hairs.
pub(crate) struct Ground<'a> {
    pub(crate) person: &'a Person,
    pub(crate) palette: &'a Palette,
    /// Fine head: points, normals, light; its first vertices are the landmarks.
    pub(crate) points: &'a [V3],
    pub(crate) normals: &'a [V3],
    pub(crate) lit: &'a [Lit],
    pub(crate) triangles: &'a [[u32; 3]],
    pub(crate) skull: &'a Skull,
    pub(crate) line: &'a Hairline,
    pub(crate) closed: bool,
}

/// A point along five or more others, smooth (Catmull and Rom), `t` in 0..1.
pub(crate) fn curve(points: &[V3], t: f64) -> V3 {
    let last = points.len() - 1;
    let place = (t.clamp(0.0, 1.0) * last as f64).min(last as f64 - 1e-9);
    let (i, u) = (place as usize, place.fract());
    let at = |k: isize| points[(i as isize + k).clamp(0, last as isize) as usize];
    let (a, b, c, d) = (at(-1), at(0), at(1), at(2));
    b + (c - a + (a * 2.0 - b * 5.0 + c * 4.0 - d + ((b - c) * 3.0 + d - a) * u) * u) * (0.5 * u)
}

impl Ground<'_> {
    fn shade(&self, vertex: usize, colour: [f32; 3], gain: f32) -> [f32; 3] {
        std::array::from_fn(|k| colour[k] * self.lit[vertex].hard[k].max(0.08) * gain)
    }

    /// Brow hairs fill the band between the two rows of landmarks, denser in the middle, lying outward.
    pub(crate) fn brows(&self) -> Vec<Stroke> {
        let mut rng = Rng::new(self.person.seed, 11);
        let mut strokes = Vec::new();
        for side in 0..2 {
            let upper = BROW_UPPER[side].map(|i| self.points[i]);
            let lower = BROW_LOWER[side].map(|i| self.points[i]);
            let out = if side == 0 { -1.0 } else { 1.0 };
            for _ in 0..520 {
                // t: 0 outer end, 1 inner end; v: 0 lower, 1 upper edge.
                let t: f64 = rng.unit();
                let v = 0.5 + 0.46 * rng.range(-1.0, 1.0) * if rng.unit() < 0.5 { 1.0 } else { 0.75 };
                let (low, high) = (curve(&lower, t), curve(&upper, t));
                let root = low + (high - low) * v;
                let across = high - low;
                let along =
                    (curve(&upper, (t - 0.04).max(0.0)) - curve(&upper, (t - 0.04).max(0.0) + 0.04)).normalize();
                // The inner third stands up, the rest lies outward and toward the middle line of the brow.
                let up = if t > 0.72 { 0.9 } else { 0.75 * (0.5 - v) + 0.15 };
                let lay = (along * (1.0 - 0.4 * (t > 0.72) as u8 as f64)
                    + across.normalize() * up
                    + V3::new(out * 0.05, 0.0, 0.0))
                .normalize();
                let length = rng.range(3.0, 5.6) * if t < 0.2 { 0.75 } else { 1.0 };
                // A hair ends inside the band.
                let tip_v = v + lay.dot(&across) * length / across.norm_squared();
                let length = if tip_v > 1.0 { length * ((1.0 - v) / (tip_v - v)).max(0.3) } else { length };
                let lift = V3::new(0.0, 0.0, 0.5);
                let vertex = BROW_UPPER[side][((t * 4.0).round() as usize).min(4)];
                let tint = rng.range(0.7, 1.25) as f32;
                strokes.push(Stroke {
                    points: vec![
                        root + lift,
                        root + lay * (length * 0.5) + lift * 1.5,
                        root + lay * length + across * -0.02 + lift,
                    ],
                    width: [0.42, 0.16],
                    colour: self.shade(vertex, self.palette.brow, tint),
                    strength: 0.62,
                    bias: 2.6,
                });
            }
        }
        strokes
    }

    /// Lashes on the upper and lower lid margins, and the dark line of their roots.
    pub(crate) fn lashes(&self) -> Vec<Stroke> {
        let mut rng = Rng::new(self.person.seed, 12);
        let mut strokes = Vec::new();
        let dark = self.palette.lash;
        for (side, lids) in LIDS.iter().enumerate() {
            let at = |i: usize| self.points[lids[i % 16]];
            let upper: Vec<V3> = (0..=8).map(|k| at(16 - k)).collect();
            let lower: Vec<V3> = (0..=8).map(at).collect();
            let out = if side == 0 { -1.0 } else { 1.0 };
            let vertex = lids[12];
            let line = |curve_points: &[V3], from: f64, to: f64, width: [f64; 2], strength: f32| Stroke {
                points: (0..=14)
                    .map(|i| curve(curve_points, from + (to - from) * i as f64 / 14.0) + V3::new(0.0, 0.0, 0.25))
                    .collect(),
                width,
                colour: self.shade(vertex, dark, 1.0),
                strength,
                bias: 2.0,
            };
            if !self.closed {
                strokes.push(line(&upper, 0.93, 0.0, [0.45, 0.95], 0.62));
                strokes.push(line(&lower, 0.0, 0.75, [0.30, 0.15], 0.30));
            } else {
                strokes.push(line(&lower, 0.97, 0.0, [0.6, 0.8], 0.55));
            }
            for (row, count, reach, up) in [(&upper, 64, 6.0, 1.0), (&lower, 34, 3.0, -1.0)] {
                if self.closed && up > 0.0 {
                    continue;
                }
                for i in 0..count {
                    let t = 0.03 + 0.86 * (i as f64 + rng.range(0.1, 0.9)) / count as f64;
                    let root = curve(row, t);
                    let fan = (0.45 - t) * 1.5 * out;
                    let reach = if self.closed { 6.0 } else { reach };
                    let length = reach * rng.range(0.65, 1.0) * (1.0 - 0.45 * t);
                    let up = if self.closed { -0.5 } else { up };
                    let first = V3::new(fan * 0.35, 0.10 * up, 0.9) * (0.45 * length);
                    let second = V3::new(fan * 0.8, 0.62 * up, 0.95) * (0.62 * length);
                    strokes.push(Stroke {
                        points: vec![root, root + first, root + second],
                        width: [0.20, 0.08],
                        colour: self.shade(vertex, dark, 1.0),
                        strength: if self.closed || row.as_ptr() == upper.as_ptr() { 0.75 } else { 0.42 },
                        bias: 2.0,
                    });
                }
            }
        }
        strokes
    }

    /// The fold of each upper lid and the line where the lips meet.
    pub(crate) fn folds(&self) -> Vec<Stroke> {
        let mut strokes = Vec::new();
        let skin = self.palette.skin(&[0.0; 5], [0.0; 3]).0;
        let mut line = |points: Vec<V3>, width: [f64; 2], vertex: usize, deep: [f32; 3], strength: f32| {
            let points = (0..=16).map(|i| curve(&points, i as f64 / 16.0) + V3::new(0.0, 0.0, 0.2)).collect();
            let colour = self.shade(vertex, std::array::from_fn(|k| skin[k] * deep[k]), 1.0);
            strokes.push(Stroke { points, width, colour, strength, bias: 2.5 });
        };
        for side in 0..2 {
            let fold: Vec<V3> = (0..7)
                .map(|i| {
                    let (f, m) = (self.points[FOLD[side][i]], self.points[LIDS[side][15 - i]]);
                    let toward = if self.closed { 0.25 } else { 0.42 };
                    f + (m - f) * toward
                })
                .collect();
            let vertex = FOLD[side][3];
            line(fold.clone(), [2.4, 1.2], vertex, [0.70, 0.58, 0.54], 0.22);
            line(fold, [0.9, 0.35], vertex, [0.50, 0.36, 0.32], if self.closed { 0.16 } else { 0.42 });
        }
        let meet: Vec<V3> = (0..=10).map(|i| self.points[LIPS_INNER[i]]).collect();
        let right: Vec<V3> = meet[..6].to_vec();
        let left: Vec<V3> = meet[5..].iter().rev().copied().collect();
        for half in [right, left] {
            line(half.clone(), [1.9, 1.3], LIPS_INNER[5], [0.42, 0.20, 0.18], 0.25);
            line(half, [0.75, 0.6], LIPS_INNER[5], [0.16, 0.06, 0.05], 0.62);
        }
        strokes
    }

    /// Fine short hairs across the hairline of the forehead.
    pub(crate) fn edge(&self) -> Vec<Stroke> {
        if !self.person.hair.shows_hairline() {
            return Vec::new();
        }
        let mut rng = Rng::new(self.person.seed, 13);
        let front: Vec<[u32; 3]> = upper_front(self.points, self.triangles, self.skull);
        let mut strokes = Vec::new();
        let guides = 48;
        let mut feet = Vec::new();
        for i in 0..=guides {
            let azimuth = 68.0 * (2.0 * i as f64 / guides as f64 - 1.0);
            let d = Skull::direction(azimuth, self.line.elevation(azimuth));
            if let Some(p) = on_surface(self.skull.centre, d, self.points, &front) {
                feet.push(p);
            }
        }
        if feet.len() < 8 {
            return strokes;
        }
        let vertex = crate::marks::OUTLINE[0];
        for _ in 0..1100 {
            let t = rng.unit();
            let p = curve(&feet, t);
            let d = p - self.skull.centre;
            let n = d.normalize();
            let to = match self.person.hair {
                Hair::Long => V3::new(p.x.signum() * 0.9, 0.35, -0.5),
                _ => V3::new(p.x * 0.004 + rng.range(-0.25, 0.25), 0.5, -1.0),
            };
            let lay = (to - n * to.dot(&n)).normalize();
            let start = p + lay * rng.range(-1.5, 5.0);
            let length = rng.range(7.0, 15.0);
            let rise = rng.range(0.05, 0.22);
            strokes.push(Stroke {
                points: vec![
                    start + n * 0.3,
                    start + lay * (0.5 * length) + n * (0.3 + rise * length * 0.7),
                    start + lay * length + n * (rise * length),
                ],
                width: [0.34, 0.2],
                colour: self.shade(vertex, self.palette.hair, rng.range(0.75, 1.25) as f32),
                strength: 0.5,
                bias: 2.5,
            });
        }
        strokes
    }

    /// Loose hairs over the cap, which break its outline. `first` is the number of its first vertex among all that are lit.
    pub(crate) fn loose(&self, cap: &Mesh, first: usize) -> Vec<Stroke> {
        let mut rng = Rng::new(self.person.seed, 15);
        let out = normals(&cap.points, &cap.triangles);
        let mut strokes = Vec::new();
        for _ in 0..1100 {
            let v = rng.below(cap.points.len());
            let (p, n) = (cap.points[v], out[v]);
            if self.line.above(self.skull, p) < 6.0 {
                continue;
            }
            let way = flow(cap.paint[v][FLOW], p) + V3::new(rng.range(-0.25, 0.25), rng.range(-0.25, 0.25), 0.0);
            let lay = (way - n * way.dot(&n)).try_normalize(1e-6).unwrap_or_else(V3::y);
            let p = p + V3::new(rng.range(-3.0, 3.0), rng.range(-1.0, 1.0), rng.range(-3.0, 3.0));
            let p = p - n * (p - cap.points[v]).dot(&n);
            let (length, rise) = (rng.range(14.0, 30.0), rng.range(0.0, 0.8));
            let bend = |t: f64| {
                p + lay * (length * (t - 0.5))
                    + n * (rise * 4.0 * t * (1.0 - t) - 0.006 * (length * (t - 0.5)).powi(2) + 0.4)
            };
            let tint = rng.range(0.55, 1.5) as f32;
            strokes.push(Stroke {
                points: (0..=4).map(|i| bend(i as f64 / 4.0)).collect(),
                width: [0.38, 0.25],
                colour: self.shade(first + v, self.palette.hair, tint),
                strength: 0.45,
                bias: 1.6,
            });
        }
        strokes
    }

    /// Freckles and a few moles.
    pub(crate) fn freckles(&self) -> Vec<Stroke> {
        let mut rng = Rng::new(self.person.seed, 14);
        let mut strokes = Vec::new();
        let count = (self.person.freckles * 190.0) as usize + 14;
        for i in 0..count {
            let mole = i < 2 + (self.person.seed % 3) as usize;
            let vertex = rng.below(face::VERTICES);
            let (p, n) = (self.points[vertex], self.normals[vertex]);
            let spread = 7.0;
            let q = p + V3::new(rng.range(-spread, spread), rng.range(-spread, spread), 0.0);
            let on_cheek = (-((q.y + 2.0) / 22.0).powi(2)).exp();
            let near_feature = LIDS.iter().flatten().any(|&l| (self.points[l] - q).norm() < 6.0)
                || crate::marks::LIPS_OUTER.iter().chain(&LIPS_INNER).any(|&l| (self.points[l] - q).norm() < 5.0)
                || q.x.abs() < 13.0 && q.y < 0.0 && q.y > -30.0;
            if near_feature || n.z < 0.35 || (!mole && rng.unit() > 0.25 + 0.75 * on_cheek) {
                continue;
            }
            let d = (q - p) - n * (q - p).dot(&n);
            let size = if mole { rng.range(0.9, 1.8) } else { rng.range(0.4, 1.3) };
            let skin = self.palette.skin(&[0.0; 5], [0.0; 3]).0;
            let deep = if mole { [0.36, 0.25, 0.2] } else { [0.78, 0.64, 0.54] };
            strokes.push(Stroke {
                points: vec![p + d, p + d + V3::new(0.01, 0.0, 0.0)],
                width: [size, size],
                colour: self.shade(vertex, std::array::from_fn(|k| skin[k] * deep[k]), 1.0),
                strength: if mole { 0.8 } else { rng.range(0.2, 0.6) as f32 },
                bias: 3.0,
            });
        }
        strokes
    }
}

/// Triangles of the upper front of the head, where the hairline of the forehead may run.
pub(crate) fn upper_front(points: &[V3], triangles: &[[u32; 3]], skull: &Skull) -> Vec<[u32; 3]> {
    triangles
        .iter()
        .filter(|t| {
            let p = points[t[0] as usize];
            p.y > skull.centre.y - 20.0 && p.z > skull.centre.z - 20.0
        })
        .copied()
        .collect()
}
