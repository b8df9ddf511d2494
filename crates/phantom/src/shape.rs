//! From the canonical surface to this person's 468 points, in millimetres of the face frame.

use crate::V3;
use crate::marks::{FOLD, LIDS, LIPS_INNER, MENTON, SELLION, ZYGIA};
use crate::person::{Build, Mode};

/// Radius of the eyeball, mm (adult axial length about 24 mm; from memory).
pub(crate) const EYEBALL_MM: f64 = 12.2;

/// The shaped face: its 468 points and the eyeballs behind the lids.
#[derive(Clone, Debug)]
pub(crate) struct Face {
    /// Points of the surface, mm.
    pub(crate) points: Vec<V3>,
    /// Centres of the eyeballs, own right, own left.
    pub(crate) eyes: [V3; 2],
}

/// A smooth local change: everything near `centre` (canonical mm, own left; mirrored too) moves by `by`.
struct Bump {
    centre: [f64; 3],
    radius: f64,
    by: [f64; 3],
}

impl Bump {
    /// Moves `p` whose canonical place is `q`; `sides` scales the own right and own left copies.
    fn apply(&self, q: V3, p: &mut V3, sides: [f64; 2]) {
        for (mirror, strength) in [(-1.0, sides[0]), (1.0, sides[1])] {
            if self.centre[0] == 0.0 && mirror < 0.0 {
                continue;
            }
            let c = V3::new(self.centre[0] * mirror, self.centre[1], self.centre[2]);
            let weight = strength * (-(q - c).norm_squared() / (2.0 * self.radius * self.radius)).exp();
            *p += V3::new(self.by[0] * mirror, self.by[1], self.by[2]) * weight;
        }
    }
}

/// The pull of a vertex away from the eye it belongs to: 1 at the lids, 0 beyond the socket.
fn near_eye(q: V3, centre: V3) -> f64 {
    let d = q - centre;
    (-(d.x * d.x / (2.0 * 17.0 * 17.0) + d.y * d.y / (2.0 * 9.0 * 9.0))).exp()
}

/// This build's face.
pub(crate) fn face(build: &Build, closed: bool) -> Face {
    let canonical: Vec<V3> = face::canonical().iter().map(|v| V3::new(v[0], v[1], v[2]) * 10.0).collect();
    let mut points = canonical.clone();
    close_mouth(&mut points);
    local_modes(build, &canonical, &mut points);
    open_eyes(build, &canonical, &mut points);
    sizes(build, &mut points);
    let eyes = seat_eyes(build, &mut points);
    if closed {
        close_eyes(&mut points, &eyes);
    }
    Face { points, eyes }
}

/// Brings the two inner borders of the lips together and lets the lips follow.
fn close_mouth(points: &mut [V3]) {
    let before: Vec<V3> = points.to_vec();
    for column in 1..10 {
        let (low, high) = (LIPS_INNER[column], LIPS_INNER[20 - column]);
        let meet = before[low] * 0.5 + before[high] * 0.5 - V3::new(0.0, 0.0, 0.4);
        for (from, other) in [(low, meet - before[low]), (high, meet - before[high])] {
            for (i, q) in before.iter().enumerate() {
                let d = q - before[from];
                let near = if i == from { 1.0 } else { (-(d.norm_squared()) / (2.0 * 3.0 * 3.0)).exp() * 0.28 };
                let same_side = (q.y - meet.y) * (before[from].y - meet.y) > 0.0;
                if i == from || (!LIPS_INNER.contains(&i) && same_side) {
                    points[i] += V3::new(0.0, other.y, if i == from { other.z } else { 0.0 }) * near;
                }
            }
        }
    }
}

/// Strength of each local mode at one standard deviation, mm.
fn local_modes(build: &Build, canonical: &[V3], points: &mut [V3]) {
    let m = |mode: Mode| build.mode(mode);
    let bump = |centre: [f64; 3], radius: f64, by: [f64; 3]| Bump { centre, radius, by };
    let u = build.uneven;
    let even = |s: f64| [s, s];
    let table = [
        (
            bump([35.0, 49.0, 45.0], 17.0, [0.0, 1.3, 0.2]),
            [m(Mode::BrowHeight) - u[0] * 0.5, m(Mode::BrowHeight) + u[0] * 0.5],
        ),
        (bump([42.0, 50.0, 42.0], 10.0, [0.0, 1.1, 0.0]), even(m(Mode::BrowArch))),
        (bump([0.0, -8.0, 70.0], 17.0, [0.0, -1.7, 0.0]), even(m(Mode::NoseLength))),
        (bump([16.0, -11.0, 54.0], 9.0, [1.2, 0.0, 0.0]), even(m(Mode::NoseWidth))),
        (bump([0.0, -6.0, 76.0], 11.0, [0.0, 0.5, 1.3]), even(m(Mode::NoseTip))),
        (bump([0.0, 18.0, 62.0], 11.0, [0.0, 0.0, 1.2]), even(m(Mode::NoseBridge))),
        (bump([25.0, -43.0, 43.0], 10.0, [1.9, 0.0, -0.6]), even(m(Mode::MouthWidth))),
        (bump([0.0, -43.0, 55.0], 20.0, [0.0, 1.0, 0.0]), even(m(Mode::MouthHeight))),
        (bump([0.0, -33.0, 58.0], 10.0, [0.0, 0.7, 0.5]), even(m(Mode::LipFullness))),
        (bump([0.0, -54.5, 55.0], 10.0, [0.0, -0.9, 0.6]), even(m(Mode::LipFullness))),
        (
            bump([60.0, -58.0, -2.0], 24.0, [2.4, -0.6, 0.0]),
            [m(Mode::JawWidth) - u[3] * 0.35, m(Mode::JawWidth) + u[3] * 0.35],
        ),
        (bump([0.0, -86.0, 45.0], 22.0, [0.0, -1.8, 0.0]), even(m(Mode::ChinLength))),
        (bump([0.0, -84.0, 48.0], 18.0, [0.0, 0.0, 1.8]), even(m(Mode::ChinForward))),
        (
            bump([44.0, -20.0, 34.0], 20.0, [1.0, 0.0, 1.3]),
            [m(Mode::CheekFullness) - u[4] * 0.35, m(Mode::CheekFullness) + u[4] * 0.35],
        ),
        (bump([31.0, 26.0, 38.0], 13.0, [0.0, 0.5, 0.0]), [-u[1] * 0.5, u[1] * 0.5]),
        (bump([25.0, -43.0, 43.0], 10.0, [0.0, 0.5, 0.0]), [-u[2] * 0.5, u[2] * 0.5]),
        // At rest and well disposed: the corners of the mouth a little higher than the canonical ones; a finer jaw.
        (bump([24.0, -43.0, 43.0], 6.0, [0.0, 1.3, 0.0]), even(1.0)),
        (bump([58.0, -62.0, -4.0], 26.0, [-2.2, 1.4, 0.0]), even(1.0)),
        // Where a landmark network trained on photographs looks for these, seen over many pictures of this crate: root
        // and tip of the nose and the upper outline a little lower, wings a little wider.
        (bump([0.0, 24.0, 58.0], 13.0, [0.0, -1.6, 0.0]), even(1.0)),
        (bump([0.0, -5.0, 72.0], 13.0, [0.0, -2.2, 0.0]), even(1.0)),
        (bump([16.5, -11.0, 53.0], 7.5, [2.2, -1.2, 0.0]), even(1.0)),
        (bump([0.0, 84.0, 44.0], 24.0, [0.0, -4.6, 1.4]), even(1.0)),
        (bump([52.0, 74.0, 24.0], 20.0, [0.0, -4.6, 1.4]), even(1.0)),
        (bump([74.0, 44.0, -8.0], 24.0, [0.0, -3.2, 0.0]), even(1.0)),
        (bump([76.0, 0.0, -24.0], 20.0, [0.4, -1.0, 0.0]), even(1.0)),
        (bump([0.0, -93.0, 42.0], 14.0, [0.0, 0.7, 0.0]), even(1.0)),
        (bump([0.0, -6.0, 74.0], 18.0, [0.6, 0.0, 0.0]), even(u[5])),
    ];
    for (point, q) in points.iter_mut().zip(canonical) {
        for (bump, sides) in &table {
            bump.apply(*q, point, *sides);
        }
    }
}

/// Widens and opens the eyes from the canonical 26 x 7 mm to the build's; mean fissure about 29 x 9.5 mm (from memory).
fn open_eyes(build: &Build, canonical: &[V3], points: &mut [V3]) {
    let wide = 1.09 * (1.0 + 0.045 * build.mode(Mode::EyeWidth));
    let open = 1.43 * (1.0 + 0.10 * build.mode(Mode::EyeOpening));
    let tilt = (1.6 * build.mode(Mode::EyeTilt)).to_radians();
    for (side, mirror) in [(0, -1.0), (1, 1.0)] {
        let lids = LIDS[side];
        let centre = (canonical[lids[0]] + canonical[lids[8]]) / 2.0;
        for (point, q) in points.iter_mut().zip(canonical) {
            let weight = near_eye(*q, centre);
            let lid_only = (-(q - centre).norm_squared() / (2.0 * 13.0 * 13.0)).exp();
            let d = q - centre;
            point.x += weight * d.x * (wide - 1.0);
            point.y += lid_only * d.y * (open - 1.0) + weight * d.x * mirror * tilt.tan();
        }
    }
}

/// Stretches the whole so that the three measured sizes are exactly the build's.
fn sizes(build: &Build, points: &mut [V3]) {
    let pupil = |points: &[V3], side: usize| (points[LIDS[side][0]].x + points[LIDS[side][8]].x) / 2.0;
    let eye_level = (points[33].y + points[263].y + points[133].y + points[362].y) / 4.0;
    // Height: one factor about the level of the eyes. Eyes keep most of their opening (it was set above).
    let (sellion, menton) = (points[SELLION], points[MENTON]);
    let depth = 0.97 * build.depth;
    let across = (menton.z - sellion.z) * depth;
    let want = (build.menton_sellion_mm.powi(2) - across * across).sqrt();
    let tall = want / (sellion.y - menton.y);
    // Width: x (a + b (x/X)^2) takes the pupils and the zygia to where they should be.
    let x_pupil = (pupil(points, 1) - pupil(points, 0)) / 2.0;
    let x_zygia = (points[ZYGIA[1]].x - points[ZYGIA[0]].x) / 2.0;
    let (at_pupil, at_zygia) = (build.interpupillary_mm / 2.0 / x_pupil, build.bizygomatic_mm / 2.0 / x_zygia);
    let ratio = (x_pupil / x_zygia).powi(2);
    let b = (at_zygia - at_pupil) / (1.0 - ratio);
    let a = at_pupil - b * ratio;
    for p in points.iter_mut() {
        let r = (p.x / x_zygia).powi(2).min(1.1);
        p.x *= a + b * r;
        p.y = eye_level + (p.y - eye_level) * tall;
        p.z *= depth;
    }
}

/// Places the eyeballs and lays the lids on them.
fn seat_eyes(build: &Build, points: &mut [V3]) -> [V3; 2] {
    let mut eyes = [V3::zeros(); 2];
    let mirror = [-1.0, 1.0];
    for (side, lids) in LIDS.iter().enumerate() {
        // The lid opening lies a little inward of the pupil and lower.
        let middle = (points[lids[0]] + points[lids[8]]) / 2.0;
        for p in points.iter_mut() {
            let weight = (-(*p - middle).norm_squared() / (2.0 * 12.0 * 12.0)).exp();
            *p += V3::new(-0.9 * mirror[side], -0.5, 0.0) * weight;
        }
        let (outer, inner) = (points[lids[0]], points[lids[8]]);
        let (low, high) = (points[lids[4]], points[lids[12]]);
        let middle_y = (low.y + high.y) / 2.0;
        let x = mirror[side] * build.interpupillary_mm / 2.0;
        let half = (high.y - low.y) / 2.0;
        let radius = EYEBALL_MM + 0.6;
        let z = (low.z + high.z) / 2.0 - (radius * radius - half * half).sqrt();
        let centre = V3::new(x, middle_y * 0.8 + (outer.y + inner.y) * 0.1 + 0.35, z);
        // Nothing of the skin lies inside the eyeball: lid margins rest on it, the lids' skin a little over it.
        for (i, p) in points.iter_mut().enumerate() {
            let d = *p - centre;
            let over = if lids.contains(&i) { radius } else { radius + 1.2 };
            let room = over * over - d.x * d.x - d.y * d.y;
            if room > 0.0 && d.z > -4.0 {
                p.z = p.z.max(centre.z + room.sqrt());
            }
        }
        eyes[side] = centre;
    }
    eyes
}

/// Draws the upper lids down to the lower, over the eyeballs.
fn close_eyes(points: &mut [V3], eyes: &[V3; 2]) {
    for side in 0..2 {
        let lids = LIDS[side];
        for column in 1..8 {
            let (low, high) = (lids[column], lids[16 - column]);
            let before = points[high];
            let mut meet = points[low] + V3::new(0.0, 0.15 * (before.y - points[low].y), 0.0);
            meet.x = 0.5 * (points[low].x + before.x);
            points[low] = meet;
            points[high] = meet;
            let fold = FOLD[side][column - 1];
            points[fold].y += 0.38 * (meet.y - before.y);
            for vertex in [low, high, fold] {
                let d = points[vertex] - eyes[side];
                let room = (EYEBALL_MM + 1.0).powi(2) - d.x * d.x - d.y * d.y;
                if room > 0.0 {
                    points[vertex].z = points[vertex].z.max(eyes[side].z + room.sqrt());
                }
            }
        }
    }
}
