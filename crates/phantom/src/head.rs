//! The whole head: the face surface continued over the skull and under the jaw, with lid openings and a closed mouth.

use std::sync::OnceLock;

use crate::V3;
use crate::marks::{BROW_LOWER, BROW_UPPER, LIDS, LIPS_INNER, LIPS_OUTER, OUTLINE};
use crate::person::{Build, Mode};
use crate::shape::Face;
use crate::surface::Scheme;

static TRIANGLES: &str = include_str!("../../../data/models/canonical_triangles.csv");

/// How far each ring of the continued head lies on the way from the outline to the back of the head.
const RINGS: [f64; 9] = [0.05, 0.105, 0.17, 0.24, 0.32, 0.42, 0.54, 0.68, 0.84];

/// Times the control surface is subdivided: triangles of 2 to 3 mm in the face.
const LEVELS: usize = 2;

/// What is painted at each vertex.
pub(crate) const PAINTS: usize = 5;
/// Share of lip red; one half exactly on the border.
pub(crate) const LIP: usize = 0;
/// Share of blood in cheeks, nose, ears and lids.
pub(crate) const BLUSH: usize = 1;
/// Darkening of nostrils and creases.
pub(crate) const DARK: usize = 2;
/// Shadow of the brow hair on the skin.
pub(crate) const BROW: usize = 3;
/// Shadow below the eye.
pub(crate) const UNDER_EYE: usize = 4;

/// The part of the topology that is the same for everybody.
#[derive(Debug)]
pub(crate) struct Topology {
    /// Subdivision of the head.
    pub(crate) scheme: Scheme,
    /// Painted quantities at fine vertices.
    pub(crate) paint: Vec<[f32; PAINTS]>,
    /// Border edges of the fine surface: own right lid opening, own left, mouth.
    pub(crate) borders: [Vec<[u32; 2]>; 3],
}

/// Reads the canonical triangles, `a,b,c` a line after a header; lines that are no triangle of known vertices are left out.
fn triangles() -> Vec<[u32; 3]> {
    TRIANGLES
        .lines()
        .filter_map(|line| {
            let mut n =
                line.split(',').map(|c| c.trim().parse::<u32>().ok().filter(|&i| (i as usize) < face::VERTICES));
            Some([n.next()??, n.next()??, n.next()??])
        })
        .collect()
}

/// Whether `p` lies inside the polygon seen along z.
fn inside(polygon: &[V3], p: V3) -> bool {
    let mut odd = false;
    for (i, a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            odd = !odd;
        }
    }
    odd
}

/// The levels painted at the control points, from the canonical places.
fn paint_controls(count: usize) -> [Vec<f64>; PAINTS] {
    let canonical: Vec<V3> = face::canonical().iter().map(|v| V3::new(v[0], v[1], v[2]) * 10.0).collect();
    let mut paint: [Vec<f64>; PAINTS] = std::array::from_fn(|_| vec![0.0; count]);
    let outer: Vec<V3> = LIPS_OUTER.iter().map(|&i| canonical[i]).collect();
    for (i, q) in canonical.iter().enumerate() {
        let blob = |x: f64, y: f64, rx: f64, ry: f64| {
            let d = ((q.x.abs() - x) / rx).powi(2) + ((q.y - y) / ry).powi(2);
            (-d / 2.0).exp()
        };
        paint[LIP][i] = match () {
            () if LIPS_OUTER.contains(&i) => 0.5,
            () if inside(&outer, *q) => 1.0,
            () => 0.0,
        };
        paint[BLUSH][i] = 0.55 * blob(42.0, -4.0, 15.0, 12.0)
            + 0.6 * blob(0.0, -8.0, 14.0, 9.0)
            + 0.35 * blob(32.0, 27.0, 14.0, 6.0)
            + 0.25 * blob(0.0, -75.0, 16.0, 9.0);
        if q.z > 54.0 {
            paint[DARK][i] = 0.85 * blob(7.6, -15.6, 3.0, 1.7);
        }
        // The crease round the wing of the nose.
        paint[DARK][i] += 0.20 * blob(18.4, -10.5, 1.8, 4.0);
        paint[UNDER_EYE][i] = blob(28.0, 14.0, 10.0, 5.0) + 0.6 * blob(15.0, 24.0, 5.0, 7.0);
    }
    for side in 0..2 {
        for i in BROW_UPPER[side].into_iter().chain(BROW_LOWER[side]) {
            paint[BROW][i] = 1.0;
        }
    }
    paint
}

/// The one topology.
pub(crate) fn topology() -> &'static Topology {
    static ONE: OnceLock<Topology> = OnceLock::new();
    ONE.get_or_init(|| {
        let within = |t: &[u32; 3], ring: &[usize]| t.iter().all(|&i| ring.contains(&(i as usize)));
        let mut all: Vec<[u32; 3]> = triangles();
        all.retain(|t| !within(t, &LIDS[0]) && !within(t, &LIDS[1]) && !within(t, &LIPS_INNER));
        let canonical: Vec<V3> = face::canonical().iter().map(|v| V3::new(v[0], v[1], v[2]) * 10.0).collect();
        for t in &mut all {
            let [a, b, c] = t.map(|i| canonical[i as usize]);
            if (b - a).cross(&(c - a)).dot(&((a + b + c) / 3.0 - V3::new(0.0, 0.0, -60.0))) < 0.0 {
                t.swap(1, 2);
            }
        }
        let n = OUTLINE.len();
        let first = face::VERTICES;
        let at = |ring: usize, column: usize| match ring {
            0 => OUTLINE[column % n] as u32,
            r => (first + (r - 1) * n + column % n) as u32,
        };
        for ring in 0..RINGS.len() {
            for column in 0..n {
                let (a, b) = (at(ring, column), at(ring, column + 1));
                let (c, d) = (at(ring + 1, column), at(ring + 1, column + 1));
                all.extend([[a, b, c], [b, d, c]]);
            }
        }
        let controls = first + RINGS.len() * n + 1;
        for column in 0..n {
            all.push([at(RINGS.len(), column), at(RINGS.len(), column + 1), (controls - 1) as u32]);
        }
        let corners = [LIDS[0][0], LIDS[0][8], LIDS[1][0], LIDS[1][8], LIPS_INNER[0], LIPS_INNER[10]].map(|i| i as u32);
        let scheme = Scheme::new(&all, controls, &corners, LEVELS);
        let levels = paint_controls(controls).map(|p| scheme.paint(&p));
        let paint = (0..scheme.len()).map(|v| std::array::from_fn(|k| levels[k][v] as f32)).collect();
        let mut borders: [Vec<[u32; 2]>; 3] = Default::default();
        let places = scheme.paint(&(0..controls).map(|i| canonical.get(i).map_or(0.0, |q| q.x)).collect::<Vec<_>>());
        let heights = scheme.paint(&(0..controls).map(|i| canonical.get(i).map_or(0.0, |q| q.y)).collect::<Vec<_>>());
        let mut edges: Vec<[u32; 2]> = Vec::new();
        for &[a, b, c] in &scheme.triangles {
            edges.extend([[a, b], [b, c], [c, a]]);
        }
        edges.sort_unstable();
        for &[a, b] in &edges {
            if edges.binary_search(&[b, a]).is_err() {
                let (x, y) = (places[a as usize], heights[a as usize]);
                borders[if y < 0.0 { 2 } else { usize::from(x > 0.0) }].push([a, b]);
            }
        }
        Topology { scheme, paint, borders }
    })
}

/// The skull as an ellipsoid of three half-axes about a centre, seen in directions from that centre.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Skull {
    /// Where directions start, mm of the face frame.
    pub(crate) centre: V3,
    half: V3,
    half_down: f64,
}

impl Skull {
    /// The skull behind this face. Head breadth 151, length 194 mm at the mean (ANSUR II, women and men pooled).
    pub(crate) fn behind(face: &Face, build: &Build) -> Self {
        let glabella = face.points[crate::marks::GLABELLA];
        let scale = build.bizygomatic_mm / 138.0;
        let tall = build.menton_sellion_mm / 118.0;
        let half = V3::new(75.5 * (0.4 + 0.6 * scale), 99.0 * (0.5 + 0.5 * tall), 97.0 * (0.6 + 0.4 * build.depth));
        let centre = V3::new(0.0, 30.0, glabella.z - half.z);
        Self { centre, half, half_down: 84.0 * tall }
    }

    /// Distance of the surface in a unit direction, mm.
    pub(crate) fn radius(&self, d: V3) -> f64 {
        let y = if d.y < 0.0 { self.half_down } else { self.half.y };
        1.0 / ((d.x / self.half.x).powi(2) + (d.y / y).powi(2) + (d.z / self.half.z).powi(2)).sqrt()
    }

    /// Direction of an azimuth (0 the front, positive to the own left) and an elevation, degrees.
    pub(crate) fn direction(azimuth: f64, elevation: f64) -> V3 {
        let (a, e) = (azimuth.to_radians(), elevation.to_radians());
        V3::new(a.sin() * e.cos(), e.sin(), a.cos() * e.cos())
    }

    /// Azimuth and elevation of a point, degrees.
    pub(crate) fn angles(&self, p: V3) -> (f64, f64) {
        let d = p - self.centre;
        (d.x.atan2(d.z).to_degrees(), d.y.atan2(d.x.hypot(d.z)).to_degrees())
    }
}

/// The control points of the whole head, made so that the surface passes through the face's points.
pub(crate) fn head(face: &Face, skull: &Skull, build: &Build) -> Vec<V3> {
    let mut points = face.points.clone();
    let back = V3::new(0.0, -0.05, -1.0).normalize();
    let full = 0.05 * build.mode(Mode::CheekFullness);
    for along in RINGS {
        for &column in &OUTLINE {
            let start = face.points[column] - skull.centre;
            let (length, d) = (start.norm(), start.normalize());
            let angle = d.dot(&back).clamp(-1.0, 1.0).acos();
            let way = (d * ((1.0 - along) * angle).sin() + back * (along * angle).sin()) / angle.sin();
            let way = way.normalize();
            let below = (-d.y).max(0.0);
            let quick = (along * (1.7 + 1.2 * below)).min(1.0);
            let ease = quick * quick * (3.0 - 2.0 * quick);
            points.push(skull.centre + way * (length + (skull.radius(way) * (1.0 + full * below) - length) * ease));
        }
    }
    points.push(skull.centre + back * skull.radius(back));
    topology().scheme.control_through(&points)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::face;

    #[test]
    fn the_table_is_whole() {
        assert_eq!(triangles().len(), 898);
        let t = topology();
        assert!(t.borders.iter().all(|b| b.len() >= 64), "three openings: {:?}", t.borders.each_ref().map(Vec::len));
    }

    /// The drawn surface passes through the points it was asked to, so that sizes stay what they were made.
    #[test]
    fn the_surface_passes_through_its_points() {
        let build = Build::mean();
        for closed in [false, true] {
            let face = face(&build, closed);
            let fine = topology().scheme.fine(&head(&face, &Skull::behind(&face, &build), &build));
            for (i, (asked, got)) in face.points.iter().zip(&fine).enumerate() {
                assert!((asked - got).norm() < 0.5, "vertex {i}: {:.2} mm off", (asked - got).norm());
            }
        }
    }
}
