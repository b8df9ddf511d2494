//! The landmarks of one face in one picture.

use std::sync::OnceLock;

use crate::{VERTICES, canonical};

/// How many landmarks a face has: the vertices of the surface, then five for each iris.
pub const LANDMARKS: usize = VERTICES + 10;

/// The centre of the iris of the person's own right eye; its edge follows.
pub const IRIS_RIGHT: usize = 468;
/// The centre of the iris of the person's own left eye; its edge follows.
pub const IRIS_LEFT: usize = 473;

/// A place in the upright picture: pixels from the top-left corner of the top-left pixel, so that the centre of a pixel
/// lies at a half; x to the right, y down.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pixel {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

impl Pixel {
    /// The place at `x`, `y`.
    pub const fn new(x: f64, y: f64) -> Pixel {
        Pixel { x, y }
    }

    /// The distance to another place, in pixels.
    pub fn to(self, other: Pixel) -> f64 {
        (other.x - self.x).hypot(other.y - self.y)
    }
}

/// 478 landmarks of one face in the frame of the upright picture: x, y as [`Pixel`], z in the same unit, smaller is
/// nearer to the camera.
#[derive(Clone, Debug, PartialEq)]
pub struct Landmarks(Vec<[f64; 3]>);

impl Landmarks {
    /// Takes 478 finite places; anything else is none.
    pub fn new(places: Vec<[f64; 3]>) -> Option<Landmarks> {
        let whole = places.len() == LANDMARKS && places.iter().flatten().all(|n| n.is_finite());
        whole.then_some(Landmarks(places))
    }

    /// All of them in order.
    pub fn all(&self) -> &[[f64; 3]] {
        &self.0
    }

    /// Where landmark `number` lies in the picture. A number that does not exist answers with the last.
    pub fn at(&self, number: usize) -> Pixel {
        let [x, y, _] = self.0[number.min(LANDMARKS - 1)];
        Pixel { x, y }
    }

    /// The distance of the outer corners of the eyes (33 and 263), in pixels: the yardstick of all shares here.
    pub fn eye_distance(&self) -> f64 {
        self.at(33).to(self.at(263))
    }

    /// The same face in the mirrored picture of this width, with left and right exchanged, so that the landmarks are the
    /// person's own again.
    pub fn mirrored(&self, width: f64) -> Landmarks {
        Landmarks(
            (0..LANDMARKS)
                .map(|i| {
                    let [x, y, z] = self.0[mirror(i)];
                    [width - x, y, z]
                })
                .collect(),
        )
    }

    /// The mean of two readings of one face.
    pub fn mean(&self, other: &Landmarks) -> Landmarks {
        let pairs = self.0.iter().zip(&other.0);
        Landmarks(pairs.map(|(a, b)| std::array::from_fn(|k| (a[k] + b[k]) / 2.0)).collect())
    }

    /// Moves every landmark by what `by` says of its number and place.
    pub fn moved(&self, by: impl Fn(usize, [f64; 3]) -> [f64; 3]) -> Landmarks {
        Landmarks(self.0.iter().enumerate().map(|(i, at)| by(i, *at)).collect())
    }
}

/// The landmark that mirrors `number` on the other side of the face; one on the midline mirrors itself.
pub fn mirror(number: usize) -> usize {
    static PAIRS: OnceLock<Vec<usize>> = OnceLock::new();
    let pairs = PAIRS.get_or_init(|| {
        let surface = canonical();
        let nearest = |v: &[f64; 3]| {
            let far = |w: &[f64; 3]| (w[0] + v[0]).powi(2) + (w[1] - v[1]).powi(2) + (w[2] - v[2]).powi(2);
            (0..surface.len()).min_by(|a, b| far(&surface[*a]).total_cmp(&far(&surface[*b]))).unwrap_or_default()
        };
        let mut pairs: Vec<usize> = surface.iter().map(nearest).collect();
        // Iris edges in the network's order: the picture's right, top, left, bottom. A mirror exchanges right and left.
        pairs.extend([473, 476, 475, 474, 477, 468, 471, 470, 469, 472]);
        pairs
    });
    pairs.get(number).copied().unwrap_or(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_landmark_has_one_mirror() {
        for i in 0..LANDMARKS {
            assert_eq!(mirror(mirror(i)), i, "landmark {i}");
        }
        for (right, left) in [(33, 263), (133, 362), (61, 291), (234, 454), (172, 397), (70, 300), (1, 1), (152, 152)] {
            assert_eq!(mirror(right), left);
        }
    }

    #[test]
    fn a_face_mirrored_twice_is_itself() {
        let face = Landmarks::new((0..LANDMARKS).map(|i| [i as f64, 2.0 * i as f64, -1.0]).collect()).expect("478");
        assert_eq!(face.mirrored(100.0).mirrored(100.0), face);
        assert!(Landmarks::new(vec![[0.0; 3]; 477]).is_none());
        assert!(Landmarks::new(vec![[f64::NAN; 3]; LANDMARKS]).is_none());
    }
}
