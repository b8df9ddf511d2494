//! Left or right: how one person's face differs from its own mirror picture.
//!
//! Cameras held in the hand may mirror what they save. The signature is the part of a face's shape that changes sign when left
//! and right are exchanged. A later photograph whose signature fits the first better with its sign turned was mirrored.
//!
//! What a network sees of it is little: on invented faces (brows half a millimetre apart in height) a landmark's unevenness
//! is 0.1 mm and its error three times that, most of it from the head's turn, which looks like unevenness. So only heights
//! count, only where landmarks are steady, and what a turned head does to them is taken out: every smooth pattern up to the
//! third power of the place. What is left speaks only when it is clear. Of 200 invented people, each photographed twice within
//! 12 degrees of straight ahead, 4 were called mirrored wrongly and 72 rightly: a word is a hint, silence means nothing.

use std::sync::OnceLock;

use crate::{Head, VERTICES, canonical, mirror};

/// What of a face's shape is not symmetrical: differences of height, left less right, halved, in millimetres of the face
/// frame, without what a turn of the head explains.
#[derive(Clone, Debug, PartialEq)]
pub struct Signature(Vec<f64>);

/// What a comparison of two photographs of one person says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Likeness {
    /// The correlation of the two signatures, from -1 (each other's mirror) to 1.
    pub correlation: f64,
}

/// Below this correlation a photograph is taken for mirrored. Of 200 pairs that were not, 8 lay below -0.6, 4 below -0.65 and
/// -0.7, none below -0.85; of the same pairs mirrored, 83, 72, 65 and 22.
const MIRRORED: f64 = -0.65;
/// The landmarks that count, on the canonical face, centimetres: not the outline, which slides along the cheek as the head
/// turns, nor the chin and the edge of the forehead.
const ACROSS: f64 = 5.5;
const UPWARD: std::ops::Range<f64> = -7.0..6.5;
/// The highest power of a smooth pattern.
const POWER: i32 = 3;

impl Signature {
    /// The signature of a head, made free of pose and size by the frame that the head is in.
    pub fn of(head: &Head) -> Signature {
        let basis = Basis::get();
        let half = |(a, b): &(usize, usize)| (head.points()[*a][1] - head.points()[*b][1]) / 2.0;
        Signature(basis.without(basis.pairs.iter().map(half).collect()))
    }

    /// How another photograph of the same person compares.
    pub fn compare(&self, other: &Signature) -> Likeness {
        let scale = (dot(&self.0, &self.0) * dot(&other.0, &other.0)).sqrt();
        Likeness { correlation: if scale > 1e-12 { dot(&self.0, &other.0) / scale } else { 0.0 } }
    }
}

impl Likeness {
    /// Whether the later photograph clearly fits the first better as its mirror picture.
    pub fn mirrored(self) -> bool {
        self.correlation < MIRRORED
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// The landmarks compared, and the smooth patterns over them.
struct Basis {
    /// Own left and its mirror.
    pairs: Vec<(usize, usize)>,
    /// At right angles to each other, of length 1.
    patterns: Vec<Vec<f64>>,
}

impl Basis {
    fn get() -> &'static Basis {
        static BASIS: OnceLock<Basis> = OnceLock::new();
        BASIS.get_or_init(|| {
            let surface = canonical();
            let steady = |v: [f64; 3]| v[0] > 1e-6 && v[0] < ACROSS && UPWARD.contains(&v[1]);
            let pairs: Vec<(usize, usize)> =
                (0..VERTICES).filter(|&i| steady(surface[i])).map(|i| (i, mirror(i))).collect();
            let mut basis = Basis { pairs, patterns: Vec::new() };
            // Odd across: the same pattern on both sides would be no difference.
            for (a, b, c) in
                (1..=POWER).step_by(2).flat_map(|a| (0..=POWER).flat_map(move |b| (0..=POWER).map(move |c| (a, b, c))))
            {
                if a + b + c > POWER {
                    continue;
                }
                // Around the middle of the face's depth, in units that keep all powers alike.
                let value = |(i, _): &(usize, usize)| {
                    let [x, y, z] = surface[*i];
                    (x / 5.0).powi(a) * (y / 5.0).powi(b) * ((z - 2.0) / 3.0).powi(c)
                };
                let mut pattern = basis.without(basis.pairs.iter().map(value).collect());
                let length = dot(&pattern, &pattern).sqrt();
                if length > 1e-9 {
                    pattern.iter_mut().for_each(|v| *v /= length);
                    basis.patterns.push(pattern);
                }
            }
            basis
        })
    }

    /// Takes the patterns out (twice: rounding).
    fn without(&self, mut values: Vec<f64>) -> Vec<f64> {
        for pattern in self.patterns.iter().chain(&self.patterns) {
            let share = dot(&values, pattern);
            values.iter_mut().zip(pattern).for_each(|(v, p)| *v -= share * p);
        }
        values
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Hairline, LANDMARKS, Place};

    /// The canonical face with one brow higher, turned a little and leaning, or mirrored.
    fn signature(brow: f64, turn: f64, mirrored: bool) -> Signature {
        let mut points: Vec<Place> = canonical().iter().map(|v| v.map(|c| c * 10.0)).collect();
        points.resize(LANDMARKS, [0.0; 3]);
        for p in &mut points[..VERTICES] {
            let far = ((p[0] - 35.0) / 15.0).powi(2) + ((p[1] - 49.0) / 15.0).powi(2);
            p[1] += brow * (-0.5 * far).exp();
            // What is left of a turn that was taken out not quite.
            p[1] += turn * p[0] * (1.0 + 0.01 * p[2]);
        }
        if mirrored {
            points = (0..LANDMARKS).map(|i| points[mirror(i)]).map(|[x, y, z]| [-x, y, z]).collect();
        }
        Signature::of(&Head::new(points, Hairline::level(91.0, 63.6)))
    }

    #[test]
    fn the_sign_turns_with_the_picture_and_the_head_does_not() {
        for (brow, turn) in [(1.0, 0.0), (-1.0, 0.03), (0.6, -0.05)] {
            let first = signature(brow, 0.0, false);
            let again = signature(brow, turn, false).compare(&first);
            let other = signature(brow, turn, true).compare(&first);
            assert!(again.correlation > 0.99 && !again.mirrored(), "{brow} {turn}: {again:?}");
            assert!(other.correlation < -0.99 && other.mirrored(), "{brow} {turn}: {other:?}");
        }
        // A face without unevenness says nothing.
        assert!(!signature(0.0, 0.0, true).compare(&signature(0.0, 0.05, false)).mirrored());
    }
}
