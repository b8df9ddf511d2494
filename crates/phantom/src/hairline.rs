//! The hairline: a curve on the skull, known exactly.

use crate::V3;
use crate::head::Skull;

/// The border of the hair as an elevation over each azimuth about the skull's centre, the same on both sides.
#[derive(Clone, Debug)]
pub(crate) struct Hairline {
    knots: Vec<[f64; 2]>,
}

/// The azimuth where the hairline of the forehead ends at the temple, degrees.
pub(crate) const TEMPLE_DEG: f64 = 62.0;

impl Hairline {
    /// A hairline at `front` degrees of elevation in the midline; `recede` lifts the corners of the forehead.
    pub(crate) fn new(front: f64, recede: f64) -> Self {
        let knots = [
            [0.0, front],
            [14.0, front + 0.8],
            [28.0, front + 2.0 + 2.2 * recede],
            [40.0, front + 0.5 + 3.2 * recede],
            [50.0, (front - 11.0 + 1.5 * recede).max(28.0)],
            [58.0, 24.0],
            [65.0, 9.0],
            [69.5, -6.0],
            [74.0, -15.0],
            [80.0, -4.0],
            [98.0, -2.0],
            [108.0, -20.0],
            [125.0, -36.0],
            [180.0, -40.0],
        ];
        Self { knots: knots.to_vec() }
    }

    /// Elevation of the border at an azimuth, degrees (monotone cubic between knots would hide the temple; Catmull and
    /// Rom over uneven knots keeps it smooth).
    pub(crate) fn elevation(&self, azimuth: f64) -> f64 {
        let a = azimuth.abs().min(180.0);
        let k = &self.knots;
        let i = k.iter().rposition(|q| q[0] <= a).unwrap_or(0).min(k.len() - 2);
        let slope = |j: usize| {
            if j == 0 || j + 1 == k.len() { 0.0 } else { (k[j + 1][1] - k[j - 1][1]) / (k[j + 1][0] - k[j - 1][0]) }
        };
        let h = k[i + 1][0] - k[i][0];
        let t = (a - k[i][0]) / h;
        let (t2, t3) = (t * t, t * t * t);
        k[i][1] * (2.0 * t3 - 3.0 * t2 + 1.0)
            + slope(i) * h * (t3 - 2.0 * t2 + t)
            + k[i + 1][1] * (3.0 * t2 - 2.0 * t3)
            + slope(i + 1) * h * (t3 - t2)
    }

    /// Degrees above (hair) or below (skin) the border, for a point of the head.
    pub(crate) fn above(&self, skull: &Skull, p: V3) -> f64 {
        let (azimuth, elevation) = skull.angles(p);
        let over = elevation - self.elevation(azimuth);
        // Where the border is steep, the nearest point of it lies sideways.
        let steep = (self.elevation(azimuth + 1.0) - self.elevation(azimuth - 1.0)) / 2.0;
        let side = elevation.to_radians().cos().max(0.2);
        over / (1.0 + (steep / side).powi(2)).sqrt()
    }
}

/// Where rays from the skull's centre meet the surface: the nearest hit's point.
pub(crate) fn on_surface(centre: V3, direction: V3, points: &[V3], triangles: &[[u32; 3]]) -> Option<V3> {
    let mut best: Option<f64> = None;
    for t in triangles {
        let [a, b, c] = t.map(|i| points[i as usize] - centre);
        // Triangles are some millimetres wide, about 90 mm away: none farther than 11 degrees off can be hit.
        let near = direction.dot(&a);
        if near <= 0.0 || near * near < 0.963 * a.norm_squared() {
            continue;
        }
        let (e, f) = (b - a, c - a);
        let h = direction.cross(&f);
        let det = e.dot(&h);
        if det.abs() < 1e-9 {
            continue;
        }
        let u = -a.dot(&h) / det;
        let q = (-a).cross(&e);
        let v = direction.dot(&q) / det;
        let reach = f.dot(&q) / det;
        if u >= -1e-9 && v >= -1e-9 && u + v <= 1.0 + 1e-9 && reach > 1.0 {
            best = Some(best.map_or(reach, |b: f64| b.max(reach)));
        }
    }
    best.map(|reach| centre + direction * reach)
}
