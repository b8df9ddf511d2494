//! Eyeballs, the inner edge of the lids, and the dark between the lips.

use crate::V3;
use crate::head::{PAINTS, Topology};
use crate::mesh::{Mesh, Part};
use crate::shape::EYEBALL_MM;

/// Where an eye looks and where its iris is, face frame.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Iris {
    pub(crate) ball: V3,
    pub(crate) gaze: V3,
    pub(crate) right: V3,
    pub(crate) up: V3,
    pub(crate) radius: f64,
}

impl Iris {
    /// The iris of `ball` looking along `gaze`.
    pub(crate) fn new(ball: V3, gaze: V3, diameter: f64) -> Self {
        let gaze = gaze.normalize();
        let right = V3::y().cross(&gaze).normalize();
        Self { ball, gaze, right, up: gaze.cross(&right), radius: diameter / 2.0 }
    }

    /// A point of the limbus plane, in units of the radius toward x and up.
    pub(crate) fn at(&self, x: f64, y: f64) -> V3 {
        let depth = (EYEBALL_MM * EYEBALL_MM - self.radius * self.radius).sqrt();
        self.ball + self.gaze * depth + (self.right * x + self.up * y) * self.radius
    }

    /// Centre, then the edge at larger x, top, smaller x, bottom (the network's order in an unmirrored picture).
    pub(crate) fn points(&self) -> [V3; 5] {
        [self.at(0.0, 0.0), self.at(1.0, 0.0), self.at(0.0, 1.0), self.at(-1.0, 0.0), self.at(0.0, -1.0)]
    }

    /// The eyeball. Paint: distance from the axis in iris radii, then its x and y parts.
    pub(crate) fn mesh(&self) -> Mesh {
        let limbus = (self.radius / EYEBALL_MM).asin();
        let (rows, columns) = (22, 36);
        Mesh::grid(Part::Eye, rows, columns, true, |row, column| {
            let angle = if row <= 8 {
                limbus * row as f64 / 8.0
            } else {
                limbus + (1.9 - limbus) * (row - 8) as f64 / (rows - 9) as f64
            };
            let turn = std::f64::consts::TAU * column as f64 / columns as f64;
            let (s, c) = (angle.sin() * EYEBALL_MM, angle.cos() * EYEBALL_MM);
            let (x, y) = (turn.cos() * s, turn.sin() * s);
            // Beyond the iris the white reaches farther toward the nose, where in life the flesh of the corner begins.
            let beyond = (angle - limbus).max(0.0);
            let medial = (-turn.cos() * self.ball.x.signum()).max(0.0);
            let wide = 1.0 + 0.30 * beyond * medial;
            let c = if beyond > 0.0 { EYEBALL_MM * (limbus + beyond * (1.0 - 0.28 * medial)).cos() } else { c };
            let p = self.ball + self.gaze * c + self.right * x * wide + self.up * y;
            let mut paint = [0.0; PAINTS];
            let out = if angle > 1.5 { EYEBALL_MM } else { s };
            paint[0] = (out / self.radius) as f32;
            paint[1] = (x / self.radius) as f32;
            paint[2] = (y / self.radius) as f32;
            (p, paint)
        })
    }
}

/// A strip from a border of the skin inward: the thickness of the lids, or the inside of the lips.
pub(crate) fn inner_strip(topology: &Topology, fine: &[V3], border: usize, part: Part, ball: Option<V3>) -> Mesh {
    let (mut points, mut triangles, mut paint) = (Vec::new(), Vec::new(), Vec::new());
    for &[a, b] in &topology.borders[border] {
        let start = points.len() as u32;
        for v in [a, b] {
            let p = fine[v as usize];
            let inward = match ball {
                // A lid: back to just inside the eyeball, or as deep as the corner's pocket.
                Some(ball) => {
                    let d = p - ball;
                    let room = (EYEBALL_MM - 0.4).powi(2) - d.x * d.x - d.y * d.y;
                    let z = if room > 0.0 { (ball.z + room.sqrt()).min(p.z - 0.2) } else { p.z - 5.0 };
                    V3::new(p.x, p.y, z.max(p.z - 5.0))
                }
                None => p - V3::new(0.0, 0.0, 5.0),
            };
            points.extend([p, inward]);
            let mut outer = [0.0; PAINTS];
            outer[0] = 1.0;
            paint.extend([outer, outer]);
        }
        triangles.extend([[start, start + 2, start + 1], [start + 2, start + 3, start + 1]]);
        if let Some(ball) = ball {
            // The flesh of the corners: from the lids' inner edge down to the eyeball.
            points.push(ball + V3::new(0.0, 0.0, 3.0));
            paint.push([0.0; PAINTS]);
            triangles.push([start + 1, start + 3, start + 4]);
        }
    }
    Mesh { part, points, triangles, paint }
}
