//! Corrections by hand: a landmark dragged, a hairline lifted, and everything near it following.

use crate::{LANDMARKS, Landmarks, Pixel, canonical};

/// How far a dragged landmark takes its neighbours along: at this distance on the canonical surface (centimetres) they move
/// by six tenths.
const REACH: f64 = 1.6;

/// The landmarks that have a handle, with the key of their name: enough to mend every part of a face by hand.
pub const HANDLES: [(usize, &str); 27] = [
    (33, "outer_corner_right"),
    (133, "inner_corner_right"),
    (263, "outer_corner_left"),
    (362, "inner_corner_left"),
    (468, "pupil_right"),
    (473, "pupil_left"),
    (145, "lower_lid_right"),
    (374, "lower_lid_left"),
    (107, "brow_inner_right"),
    (105, "brow_arch_right"),
    (70, "brow_outer_right"),
    (336, "brow_inner_left"),
    (334, "brow_arch_left"),
    (300, "brow_outer_left"),
    (4, "nose_tip"),
    (2, "nose_base"),
    (129, "wing_right"),
    (358, "wing_left"),
    (61, "mouth_right"),
    (291, "mouth_left"),
    (0, "upper_lip"),
    (17, "lower_lip"),
    (152, "chin"),
    (172, "jaw_right"),
    (397, "jaw_left"),
    (234, "ear_right"),
    (454, "ear_left"),
];

/// The landmarks with each dragged one exactly where it was put, and its neighbourhood following smoothly. The pull of one
/// drag on another's place is allowed for, so that several hold at once. Numbers that do not exist are passed over.
pub fn corrected(landmarks: &Landmarks, drags: &[(usize, Pixel)]) -> Landmarks {
    let drags: Vec<(usize, Pixel)> = drags.iter().filter(|d| d.0 < LANDMARKS).copied().collect();
    if drags.is_empty() {
        return landmarks.clone();
    }
    let n = drags.len();
    let near = |a: usize, b: usize| {
        let d = distance(a, b) / REACH;
        (-0.5 * d * d).exp()
    };
    let pull = nalgebra::DMatrix::from_fn(n, n, |i, j| near(drags[i].0, drags[j].0) + if i == j { 1e-9 } else { 0.0 });
    let asked = nalgebra::DMatrix::from_fn(n, 2, |i, k| {
        let (from, to) = (landmarks.at(drags[i].0), drags[i].1);
        if k == 0 { to.x - from.x } else { to.y - from.y }
    });
    let Some(weights) = pull.lu().solve(&asked) else { return landmarks.clone() };
    landmarks.moved(|number, [x, y, z]| {
        let by = |k: usize| (0..n).map(|i| weights[(i, k)] * near(number, drags[i].0)).sum::<f64>();
        [x + by(0), y + by(1), z]
    })
}

/// How much of a landmark's error the drags took away: 1 where it was dragged itself, less for its neighbours.
pub(crate) fn steadied(number: usize, drags: &[(usize, Pixel)]) -> f64 {
    let near = |dragged: usize| {
        let d = distance(number, dragged) / REACH;
        (-0.5 * d * d).exp()
    };
    drags.iter().map(|d| near(d.0)).fold(0.0, f64::max)
}

/// The distance of two landmarks on the canonical face, centimetres; an iris moves with its own eye only.
fn distance(a: usize, b: usize) -> f64 {
    let place = |n: usize| {
        let n = match n {
            468..=472 => 159,
            473.. => 386,
            _ => n,
        };
        canonical().get(n).copied().unwrap_or_default()
    };
    let iris = |n: usize| (n >= 468).then_some(n / 473);
    match (iris(a), iris(b)) {
        (Some(p), Some(q)) if p == q => 0.0,
        // The pupil looks about without moving the lids.
        (Some(_), _) | (_, Some(_)) => 10.0,
        _ => {
            let (p, q) = (place(a), place(b));
            ((p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2) + (p[2] - q[2]).powi(2)).sqrt()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dragged_places_hold_and_far_ones_stay() {
        let mut all: Vec<[f64; 3]> =
            canonical().iter().map(|v| [300.0 + 20.0 * v[0], 300.0 - 20.0 * v[1], 0.0]).collect();
        all.resize(LANDMARKS, [250.0, 240.0, 0.0]);
        let face = Landmarks::new(all).expect("finite");
        let to = |n: usize, x: f64, y: f64| Pixel::new(face.at(n).x + x, face.at(n).y + y);
        let drags =
            [(291, to(291, 6.0, -3.0)), (287, to(287, 5.0, 0.0)), (473, to(473, 2.0, 0.0)), (9999, Pixel::default())];
        let got = corrected(&face, &drags);
        for (n, at) in &drags[..3] {
            assert!(got.at(*n).to(*at) < 1e-6, "landmark {n}");
        }
        assert!(got.at(477).x > face.at(477).x + 1.9, "the iris edge follows its middle");
        assert!(got.at(33).to(face.at(33)) < 0.01 && got.at(386).to(face.at(386)) < 0.05);
        assert!(got.at(410).to(face.at(410)) > 0.5, "a neighbour follows");
        assert_eq!(corrected(&face, &[]), face);
    }
}
