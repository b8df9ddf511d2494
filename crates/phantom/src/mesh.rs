//! Meshes of the scene: every surface that is drawn, in the face frame.

use crate::V3;
use crate::head::PAINTS;

/// What a surface is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Skin,
    /// Ears, neck, lids' inner edge: skin without the paint of the face.
    Plain,
    Eye,
    /// The inner edge of a lid.
    Rim,
    Mouth,
    Hair,
    Cloth,
}

/// A surface with what is painted on it. What the paint means depends on the part.
#[derive(Clone, Debug)]
pub(crate) struct Mesh {
    pub(crate) part: Part,
    pub(crate) points: Vec<V3>,
    pub(crate) triangles: Vec<[u32; 3]>,
    pub(crate) paint: Vec<[f32; PAINTS]>,
}

impl Mesh {
    /// A grid of `rows` x `columns` points; joined round in the columns when `round`.
    pub(crate) fn grid(
        part: Part,
        rows: usize,
        columns: usize,
        round: bool,
        at: impl Fn(usize, usize) -> (V3, [f32; PAINTS]),
    ) -> Self {
        let (mut points, mut paint) = (Vec::new(), Vec::new());
        for row in 0..rows {
            for column in 0..columns {
                let (p, c) = at(row, column);
                points.push(p);
                paint.push(c);
            }
        }
        let mut triangles = Vec::new();
        let last = if round { columns } else { columns - 1 };
        for row in 0..rows - 1 {
            for column in 0..last {
                let next = (column + 1) % columns;
                let [a, b, c, d] = [(row, column), (row, next), (row + 1, column), (row + 1, next)]
                    .map(|(r, c)| (r * columns + c) as u32);
                triangles.extend([[a, c, b], [b, c, d]]);
            }
        }
        Self { part, points, triangles, paint }
    }
}

/// Normals of the vertices, weighted by area, length one.
pub(crate) fn normals(points: &[V3], triangles: &[[u32; 3]]) -> Vec<V3> {
    let mut sum = vec![V3::zeros(); points.len()];
    for t in triangles {
        let [a, b, c] = t.map(|i| points[i as usize]);
        let n = (b - a).cross(&(c - a));
        for &i in t {
            sum[i as usize] += n;
        }
    }
    sum.into_iter().map(|n| n.try_normalize(1e-12).unwrap_or_else(V3::z)).collect()
}
