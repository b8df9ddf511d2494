//! How light from every direction reaches each place of a face: what the nose, the brows and the cheeks leave open.
//!
//! For each vertex and each of the nine spherical harmonics up to the second order, the share of a light of that pattern that
//! falls on the skin there: visibility times the cosine, integrated over the sphere (Sloan, Kautz, Snyder 2002,
//! doi:10.1145/566654.566612; that nine are enough for matt surfaces: Ramamoorthi and Hanrahan 2001, doi:10.1145/383259.383317). Skin is soft: light wanders under it, so
//! the cosine is wrapped a little round the edge of shadow.

use face::triangles;

use crate::V3;

/// How many patterns of light.
pub(crate) const PATTERNS: usize = 9;

/// Light arriving at one place, for each pattern.
pub(crate) type Row = [f64; PATTERNS];

/// How many directions stand for the sphere.
const DIRECTIONS: usize = 160;
/// The side of a depth map, texels.
const SIDE: usize = 72;
/// A place this far behind the nearest surface begins to be in shadow, twice as far is in it, mm.
const BIAS_MM: f64 = 1.5;
/// How far the cosine is wrapped: our own choice, in the order of the width of soft shadow edges on skin.
const WRAP: f64 = 0.2;

/// The nine real spherical harmonics at a unit direction.
pub(crate) fn patterns(d: V3) -> Row {
    [
        0.282_094_8,
        0.488_602_5 * d.y,
        0.488_602_5 * d.z,
        0.488_602_5 * d.x,
        1.092_548_4 * d.x * d.y,
        1.092_548_4 * d.y * d.z,
        0.315_391_6 * (3.0 * d.z * d.z - 1.0),
        1.092_548_4 * d.x * d.z,
        0.546_274_2 * (d.x * d.x - d.y * d.y),
    ]
}

/// A light of each pattern on an open surface of this normal.
pub(crate) fn open(normal: V3) -> Row {
    sum(|d| wrapped(normal.dot(&d)))
}

fn wrapped(slope: f64) -> f64 {
    ((slope + WRAP) / (1.0 + WRAP)).max(0.0)
}

/// The strengths of the patterns in a light: its integral against each.
pub(crate) fn project(light: impl Fn(V3) -> f64) -> Row {
    let mut row = [0.0; PATTERNS];
    for d in directions() {
        let p = patterns(d);
        let by = light(d) * 4.0 * std::f64::consts::PI / DIRECTIONS as f64;
        (0..PATTERNS).for_each(|k| row[k] += by * p[k]);
    }
    row
}

/// Directions spread evenly over the sphere (Fibonacci lattice).
fn directions() -> impl Iterator<Item = V3> {
    let golden = std::f64::consts::PI * (3.0 - 5f64.sqrt());
    (0..DIRECTIONS).map(move |i| {
        let y = 1.0 - 2.0 * (i as f64 + 0.5) / DIRECTIONS as f64;
        let (s, c) = (golden * i as f64).sin_cos();
        let r = (1.0 - y * y).sqrt();
        V3::new(c * r, y, s * r)
    })
}

fn sum(share: impl Fn(V3) -> f64) -> Row {
    let mut row = [0.0; PATTERNS];
    for d in directions() {
        let by = share(d);
        if by > 0.0 {
            let p = patterns(d);
            (0..PATTERNS).for_each(|k| row[k] += by * p[k]);
        }
    }
    // The solid angle of one direction, over pi: an even light of strength 1 gives an open surface 1.
    row.map(|v| v * 4.0 / DIRECTIONS as f64)
}

/// The transfer of every vertex of a face (mm of the face frame) and its normals.
pub(crate) fn transfer(points: &[V3], normals: &[V3]) -> Vec<Row> {
    let mut rows = vec![[0.0; PATTERNS]; points.len()];
    for d in directions() {
        // Light from behind is stopped by the head, which the face's surface is open to.
        if d.z < -0.35 {
            continue;
        }
        let map = Map::cast(points, d);
        let pattern = patterns(d);
        for ((p, n), row) in points.iter().zip(normals).zip(&mut rows) {
            let by = wrapped(n.dot(&d));
            if by > 0.0 {
                let by = by * map.reaches(p + n * 0.5, d) * 4.0 / DIRECTIONS as f64;
                (0..PATTERNS).for_each(|k| row[k] += by * pattern[k]);
            }
        }
    }
    rows
}

/// What one direction sees first.
struct Map {
    depth: Vec<f32>,
    x: V3,
    y: V3,
    low: [f64; 2],
    scale: f64,
}

impl Map {
    fn cast(points: &[V3], toward: V3) -> Map {
        let x = V3::new(0.13, 1.0, -0.21).cross(&toward).normalize();
        let y = toward.cross(&x);
        let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
        let flat: Vec<(f64, f64, f64)> = points.iter().map(|p| (p.dot(&x), p.dot(&y), p.dot(&toward))).collect();
        for p in &flat {
            low = [low[0].min(p.0), low[1].min(p.1)];
            high = [high[0].max(p.0), high[1].max(p.1)];
        }
        let reach = (high[0] - low[0]).max(high[1] - low[1]).max(1.0);
        let mut map = Map { depth: vec![f32::MIN; SIDE * SIDE], x, y, low, scale: SIDE as f64 / reach };
        for t in triangles() {
            map.fill(t.map(|n| {
                let (u, v, d) = flat[n];
                ((u - low[0]) * map.scale, (v - low[1]) * map.scale, d)
            }));
        }
        map
    }

    fn fill(&mut self, [a, b, c]: [(f64, f64, f64); 3]) {
        let area = (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
        if area.abs() < 1e-9 {
            return;
        }
        let low = |p: f64, q: f64, r: f64| (p.min(q).min(r) + 0.5).max(0.0) as usize;
        let high = |p: f64, q: f64, r: f64| (p.max(q).max(r) + 0.5).clamp(0.0, SIDE as f64) as usize;
        for row in low(a.1, b.1, c.1)..high(a.1, b.1, c.1) {
            let v = row as f64 + 0.5;
            for column in low(a.0, b.0, c.0)..high(a.0, b.0, c.0) {
                let u = column as f64 + 0.5;
                let wb = ((u - a.0) * (c.1 - a.1) - (v - a.1) * (c.0 - a.0)) / area;
                let wc = ((b.0 - a.0) * (v - a.1) - (b.1 - a.1) * (u - a.0)) / area;
                if wb >= 0.0 && wc >= 0.0 && wb + wc <= 1.0 {
                    let d = (a.2 + wb * (b.2 - a.2) + wc * (c.2 - a.2)) as f32;
                    let here = &mut self.depth[row * SIDE + column];
                    *here = here.max(d);
                }
            }
        }
    }

    /// The share of this direction's light that reaches a place, from the four texels round it.
    fn reaches(&self, p: V3, toward: V3) -> f64 {
        let (u, v) =
            ((p.dot(&self.x) - self.low[0]) * self.scale - 0.5, (p.dot(&self.y) - self.low[1]) * self.scale - 0.5);
        let last = (SIDE - 1) as f64;
        let (u, v) = (u.clamp(0.0, last - 1e-6), v.clamp(0.0, last - 1e-6));
        let (column, row) = (u as usize, v as usize);
        let (fu, fv) = (u - column as f64, v - row as f64);
        let d = p.dot(&toward);
        let one = |r: usize, c: usize| {
            let behind = f64::from(self.depth[r * SIDE + c]) - d;
            1.0 - ((behind - BIAS_MM) / BIAS_MM).clamp(0.0, 1.0)
        };
        (one(row, column) * (1.0 - fu) + one(row, column + 1) * fu) * (1.0 - fv)
            + (one(row + 1, column) * (1.0 - fu) + one(row + 1, column + 1) * fu) * fv
    }
}

/// Normals of the vertices, weighted by area, outward.
pub(crate) fn normals(points: &[V3]) -> Vec<V3> {
    let mut sum = vec![V3::zeros(); points.len()];
    let middle = V3::new(0.0, 0.0, -60.0);
    for t in triangles() {
        let [a, b, c] = t.map(|n| points[n]);
        let n = (b - a).cross(&(c - a));
        let n = if n.dot(&((a + b + c) / 3.0 - middle)) < 0.0 { -n } else { n };
        t.iter().for_each(|i| sum[*i] += n);
    }
    sum.into_iter().map(|n| n.try_normalize(1e-12).unwrap_or_else(V3::z)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_light_falls_evenly_on_what_is_open_and_less_in_the_corner_of_the_eye() {
        let points: Vec<V3> = face::canonical().iter().map(|v| V3::from(*v) * 10.0).collect();
        let rows = transfer(&points, &normals(&points));
        // An even light of strength 1 is the first pattern times 1 / 0.2821.
        let even = |n: usize| rows[n][0] / 0.282_094_8;
        let forehead = open(V3::z())[0] / 0.282_094_8;
        // Over the part of the sphere that a wrapped cosine sees, 2 pi (1 + w)^2 / 2 / (1 + w), over pi.
        assert!((forehead - (1.0 + WRAP)).abs() < 0.01, "{forehead}");
        assert!(even(151) > 0.8 * forehead, "forehead {} of {forehead}", even(151));
        assert!(even(243) < 0.9 * even(151), "inner corner {} against forehead {}", even(243), even(151));
        // Light from the own left reaches the left cheek and not the right.
        let from_left = |n: usize| rows[n][3];
        assert!(from_left(280) > 0.0 && from_left(50) < 0.0);
    }
}
