//! Loop's subdivision scheme, with borders and corners, as one fixed table of weights.
//!
//! The topology is the same for every person, so the table is made once: a vertex of the fine surface is a fixed
//! weighting of control points, already pushed to the limit surface (Loop 1987; limit positions after Hoppe et al. 1994,
//! doi:10.1145/192161.192233; weights of interior vertices after Warren). [`Scheme::control_through`] finds the control
//! points whose limit surface passes through given points, so that the surface keeps the sizes it is given.

use std::collections::BTreeMap;

use crate::V3;

type Row = Vec<(u32, f64)>;

/// A subdivided topology over `controls` control points.
#[derive(Debug)]
pub(crate) struct Scheme {
    /// Fine triangles.
    pub(crate) triangles: Vec<[u32; 3]>,
    /// Weights of every fine vertex over the control points, on the limit surface. The first rows are the controls' own.
    rows: Vec<Row>,
    /// The same without smoothing: for painted quantities, whose level at a control point must stay.
    straight: Vec<Row>,
    controls: usize,
}

/// What surrounds a vertex.
#[derive(Clone, Default)]
struct Ring {
    neighbours: Vec<u32>,
    border: Vec<u32>,
}

struct Level {
    triangles: Vec<[u32; 3]>,
    rings: Vec<Ring>,
    edges: BTreeMap<(u32, u32), Vec<u32>>,
}

fn key(a: u32, b: u32) -> (u32, u32) {
    (a.min(b), a.max(b))
}

impl Level {
    fn new(triangles: Vec<[u32; 3]>, vertices: usize) -> Self {
        let mut edges: BTreeMap<(u32, u32), Vec<u32>> = BTreeMap::new();
        for &[a, b, c] in &triangles {
            for (from, to, far) in [(a, b, c), (b, c, a), (c, a, b)] {
                edges.entry(key(from, to)).or_default().push(far);
            }
        }
        let mut rings = vec![Ring::default(); vertices];
        for (&(a, b), far) in &edges {
            rings[a as usize].neighbours.push(b);
            rings[b as usize].neighbours.push(a);
            if far.len() == 1 {
                rings[a as usize].border.push(b);
                rings[b as usize].border.push(a);
            }
        }
        Self { triangles, rings, edges }
    }
}

/// Adds up weighted rows.
fn blend(parts: &[(&Row, f64)]) -> Row {
    let mut sum: BTreeMap<u32, f64> = BTreeMap::new();
    for (row, weight) in parts {
        for (index, value) in row.iter() {
            *sum.entry(*index).or_default() += value * weight;
        }
    }
    sum.into_iter().collect()
}

/// Warren's weight of one neighbour.
fn beta(valence: usize) -> f64 {
    if valence == 3 { 3.0 / 16.0 } else { 3.0 / (8.0 * valence as f64) }
}

impl Scheme {
    /// Subdivides `levels` times; `corners` are control points that stay sharp.
    pub(crate) fn new(triangles: &[[u32; 3]], controls: usize, corners: &[u32], levels: usize) -> Self {
        let unit: Vec<Row> = (0..controls).map(|i| vec![(i as u32, 1.0)]).collect();
        let (mut rows, mut straight) = (unit.clone(), unit);
        let mut level = Level::new(triangles.to_vec(), controls);
        for _ in 0..levels {
            let mut next: Vec<Row> =
                (0..rows.len()).map(|v| Self::even(v, &level.rings[v], &rows, corners, false)).collect();
            let mut plain = straight.clone();
            let mut middle: BTreeMap<(u32, u32), u32> = BTreeMap::new();
            for (&(a, b), far) in &level.edges {
                middle.insert((a, b), next.len() as u32);
                let (ra, rb) = (&rows[a as usize], &rows[b as usize]);
                next.push(match far[..] {
                    [c, d] => {
                        let (rc, rd) = (&rows[c as usize], &rows[d as usize]);
                        blend(&[(ra, 0.375), (rb, 0.375), (rc, 0.125), (rd, 0.125)])
                    }
                    _ => blend(&[(ra, 0.5), (rb, 0.5)]),
                });
                plain.push(blend(&[(&straight[a as usize], 0.5), (&straight[b as usize], 0.5)]));
            }
            let fine = level
                .triangles
                .iter()
                .flat_map(|&[a, b, c]| {
                    let (ab, bc, ca) = (middle[&key(a, b)], middle[&key(b, c)], middle[&key(c, a)]);
                    [[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]
                })
                .collect();
            (rows, straight) = (next, plain);
            level = Level::new(fine, rows.len());
        }
        let limit = (0..rows.len()).map(|v| Self::even(v, &level.rings[v], &rows, corners, true)).collect();
        Self { triangles: level.triangles, rows: limit, straight, controls }
    }

    /// The new place of an old vertex: one step, or the limit.
    fn even(v: usize, ring: &Ring, rows: &[Row], corners: &[u32], limit: bool) -> Row {
        let own = &rows[v];
        if corners.contains(&(v as u32)) || ring.neighbours.is_empty() {
            return own.clone();
        }
        if let [a, b] = ring.border[..] {
            let side = if limit { 1.0 / 6.0 } else { 0.125 };
            return blend(&[(own, 1.0 - 2.0 * side), (&rows[a as usize], side), (&rows[b as usize], side)]);
        }
        let n = ring.neighbours.len();
        let weight = if limit { 1.0 / (3.0 / (8.0 * beta(n)) + n as f64) } else { beta(n) };
        let mut parts = vec![(own, 1.0 - n as f64 * weight)];
        parts.extend(ring.neighbours.iter().map(|&i| (&rows[i as usize], weight)));
        blend(&parts)
    }

    /// How many control points there are.
    pub(crate) fn controls(&self) -> usize {
        self.controls
    }

    /// How many fine vertices there are.
    pub(crate) fn len(&self) -> usize {
        self.rows.len()
    }

    /// The fine surface of these control points.
    pub(crate) fn fine(&self, control: &[V3]) -> Vec<V3> {
        self.rows.iter().map(|row| row.iter().map(|&(i, w)| control[i as usize] * w).sum()).collect()
    }

    /// A painted quantity, straight between the control points.
    pub(crate) fn paint(&self, control: &[f64]) -> Vec<f64> {
        self.straight.iter().map(|row| row.iter().map(|&(i, w)| control[i as usize] * w).sum()).collect()
    }

    /// Control points whose limit surface passes through `points`, by six rounds of correcting what is left over.
    pub(crate) fn control_through(&self, points: &[V3]) -> Vec<V3> {
        let mut control = points.to_vec();
        for _ in 0..6 {
            let left: Vec<V3> = (0..self.controls)
                .map(|v| points[v] - self.rows[v].iter().map(|&(i, w)| control[i as usize] * w).sum::<V3>())
                .collect();
            control.iter_mut().zip(&left).for_each(|(c, l)| *c += l);
        }
        control
    }
}
