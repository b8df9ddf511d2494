//! Ears, neck, shoulders and plain clothes.

use crate::V3;
use crate::head::{BLUSH, PAINTS};
use crate::mesh::{Mesh, Part};
use crate::person::Build;

/// One ear as a shell: outline, rolled rim, hollow. `at` is its middle, `side` -1 own right, 1 own left.
/// Length 62, breadth 34.5 mm at the mean (ANSUR II, women and men pooled).
pub(crate) fn ear(at: V3, side: f64, build: &Build) -> Mesh {
    let size = (build.menton_sellion_mm / 118.0).sqrt();
    let (tall, broad) = (31.0 * size, 17.5 * size);
    // Along the ear toward the back and away from the head (about 28 degrees), and up, leaning back.
    let back = V3::new(side * 0.47, 0.0, -0.88).normalize();
    let up = V3::new(side * 0.08, 0.97, -0.2).normalize();
    let out = V3::new(side, 0.0, 0.5).normalize();
    let (rings, columns) = (12, 40);
    Mesh::grid(Part::Plain, rings, columns, true, |ring, column| {
        let turn = std::f64::consts::TAU * column as f64 / columns as f64;
        let r = ring as f64 / (rings - 1) as f64;
        let r = if ring == rings - 1 { 0.93 } else { r * 1.09 }.min(1.0);
        let (s, c) = turn.sin_cos();
        // Narrow below (the lobe), broad above.
        let width = broad * (1.0 + 0.16 * s) * if s < -0.5 { 1.0 - 0.5 * (-s - 0.5) } else { 1.0 };
        let x = width * c * r;
        let y = tall * s * r;
        let rim = (-((r - 0.88) / 0.09).powi(2)).exp() * (0.4 + 0.6 * (s + 0.3).clamp(0.0, 1.0));
        let hollow = (-((x - 1.0).powi(2) + (y + 4.0 * size).powi(2)) / (2.0 * 49.0)).exp();
        let anti = (-(((x + 2.0).hypot(y * 0.62) - 10.5) / 2.4).powi(2)).exp();
        let mut height = 3.6 * rim - 6.0 * hollow + 1.8 * anti;
        if ring == rings - 1 {
            height = -3.0;
        }
        let mut paint = [0.0; PAINTS];
        paint[BLUSH] = 0.55;
        (at + back * x + up * y + out * height, paint)
    })
    .turned(side < 0.0)
}

impl Mesh {
    /// The same with its triangles turned over when `yes`.
    pub(crate) fn turned(mut self, yes: bool) -> Self {
        if yes {
            self.triangles.iter_mut().for_each(|t| t.swap(1, 2));
        }
        self
    }
}

/// Rows of the trunk: height below the chin, half-breadth, half-depth, z of the middle; mm at the mean.
const TRUNK: [[f64; 4]; 13] = [
    [45.0, 52.0, 50.0, -52.0],
    [20.0, 53.0, 51.0, -50.0],
    [0.0, 54.0, 52.0, -49.0],
    [-22.0, 55.0, 53.0, -50.0],
    [-45.0, 59.0, 55.0, -53.0],
    [-60.0, 72.0, 60.0, -56.0],
    [-72.0, 102.0, 66.0, -59.0],
    [-84.0, 143.0, 74.0, -61.0],
    [-98.0, 174.0, 83.0, -62.0],
    [-120.0, 194.0, 92.0, -62.0],
    [-160.0, 204.0, 100.0, -62.0],
    [-230.0, 206.0, 106.0, -62.0],
    [-420.0, 200.0, 110.0, -62.0],
];

/// A smooth value through the rows of the trunk at a place 0..rows-1 (Catmull and Rom).
fn along(place: f64, column: usize) -> f64 {
    let i = (place as usize).min(TRUNK.len() - 2);
    let t = place - i as f64;
    let at = |k: isize| TRUNK[(i as isize + k).clamp(0, TRUNK.len() as isize - 1) as usize][column];
    let (a, b, c, d) = (at(-1), at(0), at(1), at(2));
    b + 0.5 * t * (c - a + t * (2.0 * a - 5.0 * b + 4.0 * c - d + t * (3.0 * (b - c) + d - a)))
}

/// Neck and shoulders as one surface of skin, or, `offset` mm outside it and below the neckline, of cloth.
pub(crate) fn trunk(chin: V3, build: &Build, cloth: bool) -> Mesh {
    let wide = 0.5 + 0.5 * build.bizygomatic_mm / 138.0;
    let (rows, columns) = (49, 72);
    // The skin ends where the cloth hides it.
    let (first, last) = if cloth { (4.0, TRUNK.len() as f64 - 1.0) } else { (0.0, 6.0) };
    Mesh::grid(if cloth { Part::Cloth } else { Part::Plain }, rows, columns, true, |row, column| {
        let turn = std::f64::consts::TAU * column as f64 / columns as f64;
        let (s, c) = turn.sin_cos();
        let place = first + (last - first) * row as f64 / (rows - 1) as f64;
        let [y, rx, rz, z] = std::array::from_fn(|k| along(place, k));
        let front = c.max(0.0);
        // Throat: a little flatter at the sides; the cloth's edge dips in front and rises at the nape.
        let lift = if cloth { 3.5 } else { -6.0 * (place - 4.4).max(0.0) };
        let dip = if cloth { (8.0 - 26.0 * front.powi(2)) * (1.0 - (place - first) / 3.0).max(0.0) } else { 0.0 };
        let p = V3::new((rx * wide + lift) * s, chin.y + y + dip, z + (rz + lift) * c);
        let mut paint = [0.0; PAINTS];
        paint[0] = (place - first) as f32;
        paint[1] = column as f32;
        (p, if cloth { paint } else { [0.0; PAINTS] })
    })
    .turned(false)
}
