//! One person's head as a surface in the face frame, with their hairline: what every point is placed upon.

use std::sync::OnceLock;

use crate::surface::triangles;
use crate::{Frame, Hairline, IRIS_LEFT, IRIS_RIGHT, Landmarks, Place, canonical, mirror};
use vocab::Side;

/// One person's head: 478 places in the face frame, millimetres, and the hairline.
#[derive(Clone, Debug)]
pub struct Head {
    points: Vec<Place>,
    /// The front hairline.
    pub hairline: Hairline,
    beyond: Beyond,
    cells: Cells,
    thumb_mm: f64,
}

impl Head {
    /// The head that landmarks show, in their frame.
    pub fn of(landmarks: &Landmarks, frame: &Frame, hairline: Hairline) -> Head {
        Head::new(landmarks.all().iter().map(|p| frame.to_face(*p)).collect(), hairline)
    }

    /// A head from 478 places of the face frame. A shorter list is filled up with its origin.
    pub fn new(mut points: Vec<Place>, hairline: Hairline) -> Head {
        points.resize(crate::LANDMARKS, [0.0; 3]);
        let beyond = Beyond::fit(&points);
        let cells = Cells::of(&points);
        Head { points, hairline, beyond, cells, thumb_mm: crate::place::FINGER_CUN_MM.0 }
    }

    /// The same head of a person whose thumb is this broad, millimetres: the finger-cun of rules.
    pub fn with_thumb(self, thumb_mm: f64) -> Head {
        Head { thumb_mm, ..self }
    }

    /// The breadth of the person's thumb, millimetres.
    pub fn thumb_mm(&self) -> f64 {
        self.thumb_mm
    }

    /// A landmark of the person's own left side, or its mirror on the right.
    pub fn point(&self, number: usize, side: Side) -> Place {
        let number = if side == Side::Right { mirror(number) } else { number };
        self.points.get(number).copied().unwrap_or_default()
    }

    /// All 478.
    pub fn points(&self) -> &[Place] {
        &self.points
    }

    /// The middle of the pupil with the eyes straight ahead: the iris where the lids are open, the middle of the eye where they
    /// are closed or the gaze wanders.
    pub fn pupil(&self, side: Side) -> Place {
        let rim = rim(side);
        let middle: Place =
            std::array::from_fn(|k| rim.iter().map(|n| self.points[*n][k]).sum::<f64>() / rim.len() as f64);
        if self.opening(side) < 0.12 {
            return middle;
        }
        let iris = self.points[if side == Side::Right { IRIS_RIGHT } else { IRIS_LEFT }];
        // A gaze of 12 to 22 degrees moves the iris by 2.5 to 4.5 mm: there it stops being a mark of "straight ahead".
        let away = (iris[0] - middle[0]).hypot(iris[1] - middle[1]);
        let trust = ((4.5 - away) / 2.0).clamp(0.0, 1.0);
        std::array::from_fn(|k| iris[k] * trust + middle[k] * (1.0 - trust))
    }

    /// How far the lids are open, as a share of the width of the eye; about 0.3 open, under 0.12 closed.
    pub fn opening(&self, side: Side) -> f64 {
        let of = |n| self.point(n, side);
        let gap = |a: usize, b: usize| (of(a)[1] - of(b)[1]).hypot(of(a)[0] - of(b)[0]);
        let width = gap(263, 362).max(1e-9);
        (gap(386, 374) + gap(385, 380) + gap(387, 373)) / 3.0 / width
    }

    /// The height of the brow at `x`: the middle between its upper and its lower edge.
    pub fn brow(&self, x: f64, side: Side) -> f64 {
        let row = |numbers: [usize; 5]| {
            let mut spots = numbers.map(|n| self.point(n, side));
            spots.sort_by(|a, b| a[0].total_cmp(&b[0]));
            interpolate(&spots.map(|p| [p[0], p[1]]), x)
        };
        (row([336, 296, 334, 293, 300]) + row([285, 295, 282, 283, 276])) / 2.0
    }

    /// The midpoint between the inner ends of the brows, from which B-cun are counted upward.
    pub fn between_brows(&self) -> Place {
        let ends = [336, 285, 107, 55];
        std::array::from_fn(|k| ends.iter().map(|n| self.points[*n][k]).sum::<f64>() / 4.0)
    }

    /// One B-cun upward on this forehead, in millimetres: a third of the way from between the brows to the hairline.
    pub fn cun_up(&self) -> f64 {
        let from = self.between_brows();
        (self.hairline.height(from[0]) - from[1]) / 3.0
    }

    /// Where the front of the hairline turns toward the temple: above the place where the oval of the face turns (landmarks 284
    /// and 54), or as much as 15 % further in or 10 % further out.
    pub fn corner(&self, side: Side) -> [f64; 2] {
        let middle = self.between_brows()[0];
        let oval = self.point(284, side)[0] - middle;
        self.hairline.turn_between(middle + 0.85 * oval, middle + 1.1 * oval)
    }

    /// One B-cun across, in millimetres, on one side: a ninth of the way from one corner of the hairline to the other, counted
    /// from the middle (landmarks 10 and 151), so that thirds of a side are thirds on an uneven head too.
    pub fn cun_across(&self, side: Side) -> f64 {
        let middle = (self.points[10][0] + self.points[151][0]) / 2.0;
        (self.corner(side)[0] - middle).abs() / 4.5
    }

    /// The place of the surface at `x`, `y`, and its outward normal. Beyond the mesh the forehead is carried on.
    pub fn surface(&self, x: f64, y: f64) -> (Place, Place) {
        let mut best: Option<(f64, Place)> = None;
        for triangle in self.cells.at(x, y) {
            let [a, b, c] = triangles()[usize::from(*triangle)].map(|n| self.points[n]);
            let Some(weights) = barycentric([a, b, c].map(|p| [p[0], p[1]]), [x, y]) else { continue };
            let z = weights[0] * a[2] + weights[1] * b[2] + weights[2] * c[2];
            if best.is_none_or(|(known, _)| z > known) {
                let (u, v): (Place, Place) =
                    (std::array::from_fn(|k| b[k] - a[k]), std::array::from_fn(|k| c[k] - a[k]));
                let n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
                best = Some((z, if n[2] < 0.0 { n.map(|k| -k) } else { n }));
            }
        }
        let (z, normal) = best.unwrap_or_else(|| self.beyond.at(x, y));
        ([x, y, z], normal)
    }
}

/// Which triangles lie over which square of the front, so that a place need not ask all of them.
#[derive(Clone, Debug)]
struct Cells {
    low: [f64; 2],
    wide: usize,
    high: usize,
    lists: Vec<Vec<u16>>,
}

/// The side of a square, millimetres.
const CELL: f64 = 8.0;
/// Most squares along a side: of a head far larger than life the last squares hold all the rest.
const MOST: usize = 64;

impl Cells {
    fn of(points: &[Place]) -> Cells {
        let mesh = points.iter().take(crate::VERTICES);
        let (mut low, mut top) = ([f64::MAX; 2], [f64::MIN; 2]);
        for p in mesh {
            for k in 0..2 {
                low[k] = low[k].min(p[k]);
                top[k] = top[k].max(p[k]);
            }
        }
        let count = |k: usize| (((top[k] - low[k]) / CELL).floor().max(0.0) as usize + 1).min(MOST);
        let (wide, high) = (count(0), count(1));
        let mut cells = Cells { low, wide, high, lists: vec![Vec::new(); wide * high] };
        for (number, corners) in triangles().iter().enumerate() {
            let at = corners.map(|n| points[n]);
            let range = |k: usize, most: usize| {
                let cell = |v: f64| (((v - low[k]) / CELL).floor().max(0.0) as usize).min(most - 1);
                let values = at.map(|p| p[k]);
                cell(values.iter().copied().fold(f64::MAX, f64::min))
                    ..=cell(values.iter().copied().fold(f64::MIN, f64::max))
            };
            for row in range(1, high) {
                for column in range(0, wide) {
                    cells.lists[row * wide + column].push(number as u16);
                }
            }
        }
        cells
    }

    fn at(&self, x: f64, y: f64) -> &[u16] {
        let (column, row) = ((x - self.low[0]) / CELL, (y - self.low[1]) / CELL);
        if !(column >= 0.0 && row >= 0.0) {
            return &[];
        }
        // The last squares hold what lies beyond the most.
        let (column, row) = (column as usize, row as usize);
        if (column >= self.wide && self.wide < MOST) || (row >= self.high && self.high < MOST) {
            return &[];
        }
        &self.lists[row.min(self.high - 1) * self.wide + column.min(self.wide - 1)]
    }
}

/// The sixteen landmarks of the opening of an eye.
pub(crate) fn rim(side: Side) -> [usize; 16] {
    if side == Side::Right {
        [33, 7, 163, 144, 145, 153, 154, 155, 133, 173, 157, 158, 159, 160, 161, 246]
    } else {
        [263, 249, 390, 373, 374, 380, 381, 382, 362, 398, 384, 385, 386, 387, 388, 466]
    }
}

/// The weights of the corners at a place of a triangle; none outside.
pub(crate) fn barycentric([a, b, c]: [[f64; 2]; 3], p: [f64; 2]) -> Option<[f64; 3]> {
    let det = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]);
    if det.abs() < 1e-12 {
        return None;
    }
    let v = ((p[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (p[1] - a[1])) / det;
    let w = ((b[0] - a[0]) * (p[1] - a[1]) - (p[0] - a[0]) * (b[1] - a[1])) / det;
    let u = 1.0 - v - w;
    (u >= -1e-9 && v >= -1e-9 && w >= -1e-9).then_some([u, v, w])
}

/// The height at `x` along places sorted by x; beyond the ends it stays.
pub(crate) fn interpolate(row: &[[f64; 2]], x: f64) -> f64 {
    let Some((first, last)) = row.first().zip(row.last()) else { return 0.0 };
    if x <= first[0] {
        return first[1];
    }
    for pair in row.windows(2) {
        let ([x0, y0], [x1, y1]) = (pair[0], pair[1]);
        if x <= x1 && x1 > x0 {
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
        }
    }
    last[1]
}

/// The forehead carried on beyond the mesh: the canonical forehead's curve (its depth as a quadratic of x and y), shifted and
/// tilted to fit this head's upper landmarks. Their own curve would be carried too far: depth is what a network knows least.
#[derive(Clone, Debug)]
struct Beyond([f64; 6]);

/// Landmarks above this height carry the forehead, millimetres.
const FOREHEAD: f64 = 42.0;

impl Beyond {
    fn terms(x: f64, y: f64) -> [f64; 6] {
        let (x, y) = (x / 50.0, y / 50.0);
        [1.0, x, y, x * x, x * y, y * y]
    }

    /// The least-squares sum of the first `terms` terms through these places.
    fn through(places: &[Place], terms: usize) -> [f64; 6] {
        let mut normal = nalgebra::SMatrix::<f64, 6, 6>::identity() * 1e-6;
        let mut right = nalgebra::SVector::<f64, 6>::zeros();
        for p in places {
            let mut t = nalgebra::SVector::from(Beyond::terms(p[0], p[1]));
            t.rows_mut(terms, 6 - terms).fill(0.0);
            normal += t * t.transpose();
            right += t * p[2];
        }
        normal.cholesky().map(|c| c.solve(&right).into()).unwrap_or([0.0; 6])
    }

    fn canonical() -> &'static [f64; 6] {
        static CURVE: OnceLock<[f64; 6]> = OnceLock::new();
        CURVE.get_or_init(|| {
            let upper = canonical().iter().map(|v| v.map(|c| 10.0 * c)).filter(|p| p[1] > FOREHEAD);
            Beyond::through(&upper.collect::<Vec<Place>>(), 6)
        })
    }

    fn fit(points: &[Place]) -> Beyond {
        let curve = Beyond(*Beyond::canonical());
        let above = |p: &&Place| p[1] > FOREHEAD;
        let rest: Vec<Place> = points
            .iter()
            .take(crate::VERTICES)
            .filter(above)
            .map(|p| [p[0], p[1], p[2] - curve.at(p[0], p[1]).0])
            .collect();
        let tilt = Beyond::through(&rest, 3);
        Beyond(std::array::from_fn(|k| curve.0[k] + tilt[k]))
    }

    fn at(&self, x: f64, y: f64) -> (f64, Place) {
        let value = |x, y| Beyond::terms(x, y).iter().zip(self.0).map(|(t, k)| t * k).sum::<f64>();
        let z = value(x, y);
        (z, [z - value(x + 1.0, y), z - value(x, y + 1.0), 1.0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(crate) fn drawn() -> Head {
        let mut points: Vec<Place> = canonical().iter().map(|v| v.map(|c| c * 10.0)).collect();
        points.resize(crate::LANDMARKS, [0.0; 3]);
        let eye = |rim: [usize; 16]| -> Place {
            std::array::from_fn(|k| rim.iter().map(|n| canonical()[*n][k] * 10.0).sum::<f64>() / 16.0)
        };
        points[IRIS_LEFT] = eye(rim(Side::Left));
        points[IRIS_RIGHT] = eye(rim(Side::Right));
        Head::new(points, Hairline::level(91.0, 63.6))
    }

    #[test]
    fn the_surface_is_met_where_the_landmarks_are() {
        let head = drawn();
        for n in [151, 9, 4, 152 - 1, 280, 50, 205, 425] {
            let p = head.point(n, Side::Left);
            let (at, normal) = head.surface(p[0], p[1]);
            assert!((at[2] - p[2]).abs() < 0.5 || at[2] > p[2], "landmark {n}: {at:?} {p:?}");
            assert!(normal[2] > 0.0);
        }
        let (high, _) = head.surface(0.0, 95.0);
        assert!(high[2] > 25.0 && high[2] < 48.0, "the forehead is carried on: {high:?}");
    }

    #[test]
    fn measures_of_the_drawn_face() {
        let head = drawn();
        assert!((head.cun_up() - 15.1).abs() < 0.3, "{}", head.cun_up());
        for side in [Side::Left, Side::Right] {
            assert!((head.cun_across(side) - 14.1).abs() < 0.5, "{}", head.cun_across(side));
        }
        assert!((head.brow(31.8, Side::Left) - 48.0).abs() < 1.0, "{}", head.brow(31.8, Side::Left));
        assert!((head.brow(-31.8, Side::Right) - head.brow(31.8, Side::Left)).abs() < 1e-6);
        assert!(head.opening(Side::Left) > 0.2, "{}", head.opening(Side::Left));
        assert!((head.pupil(Side::Left)[0] - 31.8).abs() < 1.0);
    }
}
