//! Left or right: how one person's face differs from its own mirror picture.
//!
//! Cameras held in the hand may mirror what they save. The signature is the part of a face's shape that changes sign when left
//! and right are exchanged. A later photograph whose signature fits the first better with its sign turned was mirrored.

use crate::{Head, VERTICES, mirror};

/// What of a face's shape is not symmetrical, in millimetres, in the face frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Signature(Vec<f64>);

/// What a comparison of two photographs of one person says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Likeness {
    /// The correlation of the two signatures, from -1 (each other's mirror) to 1.
    pub correlation: f64,
}

/// Below this correlation a photograph is taken for mirrored; noise alone of two readings of one face stays well above.
const MIRRORED: f64 = -0.3;

impl Signature {
    /// The signature of a head, made free of pose and size by the frame that the head is in.
    pub fn of(head: &Head) -> Signature {
        let mut odd = Vec::with_capacity(2 * VERTICES);
        for i in 0..VERTICES {
            let (a, b) = (head.points()[i], head.points()[mirror(i)]);
            odd.push((a[0] + b[0]) / 2.0);
            odd.push(if i < mirror(i) { (a[1] - b[1]) / 2.0 } else { (b[1] - a[1]) / 2.0 });
        }
        // The mean sideways shift is where the frame's origin fell, not the face.
        let shift = odd.iter().step_by(2).sum::<f64>() / VERTICES as f64;
        odd.iter_mut().step_by(2).for_each(|v| *v -= shift);
        Signature(odd)
    }

    /// How another photograph of the same person compares.
    pub fn compare(&self, other: &Signature) -> Likeness {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let scale = (dot(&self.0, &self.0) * dot(&other.0, &other.0)).sqrt();
        Likeness { correlation: if scale > 1e-12 { dot(&self.0, &other.0) / scale } else { 0.0 } }
    }
}

impl Likeness {
    /// Whether the later photograph fits the first better as its mirror picture.
    pub fn mirrored(self) -> bool {
        self.correlation < MIRRORED
    }
}
