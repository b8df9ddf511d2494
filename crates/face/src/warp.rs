//! The drawing carried over to one person: from the canonical front frame to theirs.
//!
//! A thin-plate spline (Bookstein 1989, IEEE Trans Pattern Anal Mach Intell 11:567) through landmarks all over the face,
//! with a little smoothing, so that lines stay smooth where the network's places are not. Outside of the face it goes over
//! into the plain similarity that fits the face best: neck, shoulders and chest follow the head's size and turn, and no more.

use std::sync::OnceLock;

use nalgebra::linalg::LU;
use nalgebra::{DMatrix, DVector, Dyn};

use crate::{Spot, canonical};

/// Landmarks that carry the map: the oval of the face, eyes, brows, nose, lips, cheeks.
const CARRIERS: [usize; 108] = [
    10, 338, 297, 332, 284, 251, 389, 356, 454, 323, 361, 288, 397, 365, 379, 378, 400, 377, 152, 148, 176, 149, 150,
    136, 172, 58, 132, 93, 234, 127, 162, 21, 54, 103, 67, 109, 33, 133, 159, 145, 263, 362, 386, 374, 157, 384, 161,
    388, 154, 381, 163, 390, 70, 105, 107, 52, 55, 46, 300, 334, 336, 282, 285, 276, 168, 6, 4, 1, 2, 98, 327, 48, 278,
    129, 358, 61, 291, 0, 17, 37, 267, 84, 314, 13, 14, 18, 200, 199, 175, 50, 280, 205, 425, 117, 346, 119, 348, 187,
    411, 216, 436, 151, 9, 69, 299, 57, 287, 8,
];
/// How far a carrier may be missed, against how much the sheet is bent: smoothing of the spline, in squared centimetres.
const SMOOTHING: f64 = 0.02;
/// Beyond this distance from the nearest carrier, in centimetres, the spline begins to give way; beyond the second it has.
const GIVES_WAY: (f64, f64) = (2.0, 9.0);

/// Places of the head's outline on the drawing (own left), and how far they follow the hairline up or down.
const OUTLINE: [(f64, f64, f64); 4] = [(0.6, 13.7, 0.8), (5.2, 12.2, 0.8), (8.3, 8.6, 0.5), (9.2, 4.4, 0.1)];

/// A smooth map of the front frame of the drawing (centimetres, y up) onto a sheet of one person: their own face in
/// centimetres, or their photograph in pixels.
#[derive(Clone, Debug, Default)]
pub struct Warp {
    spline: Option<Spline>,
}

#[derive(Clone, Debug)]
struct Spline {
    knots: Vec<Spot>,
    bend: Vec<Spot>,
    plain: [Spot; 3],
    /// `x' = a x - b y + tx`, `y' = b x + a y + ty`.
    similar: [f64; 4],
}

impl Warp {
    /// The map that changes nothing: the drawn face itself.
    pub fn none() -> Warp {
        Warp::default()
    }

    /// The map under which each carrying landmark of the drawing goes to where `place` says it is. `beside` adds places of
    /// one's own (the hairline): from the drawing, to the sheet.
    pub fn onto(place: impl Fn(usize) -> Spot, beside: &[(Spot, Spot)]) -> Warp {
        let surface = canonical();
        let mut pairs: Vec<(Spot, Spot)> =
            CARRIERS.iter().filter_map(|n| surface.get(*n).map(|v| (Spot::new(v[0], v[1]), place(*n)))).collect();
        // The crown and the sides of the head have no landmarks: they keep their shape, and rise as the hairline does.
        let [a, b, tx, ty] = similarity(&pairs);
        let plain = |s: Spot| Spot::new(a * s.x - b * s.y + tx, b * s.x + a * s.y + ty);
        let lifted = beside.iter().map(|(from, to)| *to - plain(*from)).fold(Spot::default(), |sum, by| sum + by);
        let lifted = if beside.is_empty() { lifted } else { lifted * (1.0 / beside.len() as f64) };
        pairs.extend(
            OUTLINE
                .iter()
                .flat_map(|(x, y, share)| [-1.0, 1.0].map(|side| (Spot::new(side * x, *y), *share)))
                .map(|(from, share)| (from, plain(from) + lifted * share)),
        );
        pairs.extend_from_slice(beside);
        Warp { spline: Spline::through(&pairs) }
    }

    /// Where a place of the drawing lies on the person's sheet.
    pub fn carry(&self, spot: Spot) -> Spot {
        self.spline.as_ref().map_or(spot, |s| s.carry(spot))
    }
}

/// The radial function of the thin plate.
fn plate(distance: f64) -> f64 {
    if distance < 1e-9 { 0.0 } else { distance * distance * distance.ln() }
}

/// The equations of a spline through these places of the drawing, wherever they are to go.
struct Factors {
    knots: Vec<Spot>,
    lu: LU<f64, Dyn, Dyn>,
}

impl Factors {
    fn of(knots: &[Spot]) -> Factors {
        let n = knots.len();
        let mut left = DMatrix::<f64>::zeros(n + 3, n + 3);
        for (i, from) in knots.iter().enumerate() {
            for (j, other) in knots.iter().enumerate() {
                left[(i, j)] = plate(from.to(*other));
            }
            left[(i, i)] += SMOOTHING;
            for (k, v) in [1.0, from.x, from.y].into_iter().enumerate() {
                left[(i, n + k)] = v;
                left[(n + k, i)] = v;
            }
        }
        Factors { knots: knots.to_vec(), lu: left.lu() }
    }
}

impl Spline {
    fn through(pairs: &[(Spot, Spot)]) -> Option<Spline> {
        let n = pairs.len();
        let mut right = DMatrix::<f64>::zeros(n + 3, 2);
        for (i, (_, to)) in pairs.iter().enumerate() {
            right[(i, 0)] = to.x;
            right[(i, 1)] = to.y;
        }
        let knots: Vec<Spot> = pairs.iter().map(|p| p.0).collect();
        // The same places of the drawing again and again, frame after frame of a camera: what is dear is done once for them.
        static FIRST: OnceLock<Factors> = OnceLock::new();
        let first = FIRST.get_or_init(|| Factors::of(&knots));
        let solved = if first.knots == knots { first.lu.solve(&right) } else { Factors::of(&knots).lu.solve(&right) }?;
        let spot = |i: usize| Spot::new(solved[(i, 0)], solved[(i, 1)]);
        let finite = solved.iter().all(|v| v.is_finite());
        finite.then(|| Spline {
            knots,
            bend: (0..n).map(spot).collect(),
            plain: [spot(n), spot(n + 1), spot(n + 2)],
            similar: similarity(pairs),
        })
    }

    fn carry(&self, spot: Spot) -> Spot {
        let nearest = self.knots.iter().map(|k| k.to(spot)).fold(f64::MAX, f64::min);
        let t = ((nearest - GIVES_WAY.0) / (GIVES_WAY.1 - GIVES_WAY.0)).clamp(0.0, 1.0);
        let far = t * t * (3.0 - 2.0 * t);
        let [a, b, tx, ty] = self.similar;
        let plain = Spot::new(a * spot.x - b * spot.y + tx, b * spot.x + a * spot.y + ty);
        if far >= 1.0 {
            return plain;
        }
        let mut bent = self.plain[0] + self.plain[1] * spot.x + self.plain[2] * spot.y;
        for (knot, by) in self.knots.iter().zip(&self.bend) {
            bent = bent + *by * plate(knot.to(spot));
        }
        bent * (1.0 - far) + plain * far
    }
}

/// The similarity that carries the first places nearest to the second (least squares).
fn similarity(pairs: &[(Spot, Spot)]) -> [f64; 4] {
    let mut normal = nalgebra::Matrix4::<f64>::identity() * 1e-9;
    let mut right = DVector::<f64>::zeros(4);
    for (from, to) in pairs {
        for (row, value) in [([from.x, -from.y, 1.0, 0.0], to.x), ([from.y, from.x, 0.0, 1.0], to.y)] {
            let r = nalgebra::Vector4::from(row);
            normal += r * r.transpose();
            for k in 0..4 {
                right[k] += row[k] * value;
            }
        }
    }
    let right = nalgebra::Vector4::new(right[0], right[1], right[2], right[3]);
    normal.try_inverse().map_or([1.0, 0.0, 0.0, 0.0], |inverse| (inverse * right).into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vertex;

    #[test]
    fn carriers_go_where_they_should_and_the_rest_follows() {
        let own = |s: Spot| Spot::new(1.1 * s.x + 0.2, 0.95 * s.y + 0.03 * s.y * s.y.abs() / 9.0 - 0.4);
        let warp = Warp::onto(|n| own(vertex(n).unwrap_or_default()), &[]);
        for n in [33, 263, 61, 291, 4, 152, 10, 234, 454] {
            let v = vertex(n).unwrap_or_default();
            assert!(warp.carry(v).to(own(v)) < 0.05, "landmark {n}");
        }
        for n in [449, 229, 101, 330, 426] {
            let v = vertex(n).unwrap_or_default();
            assert!(warp.carry(v).to(own(v)) < 0.15, "between them, landmark {n}");
        }
        // The chest moves as a whole: lengths there are those of the similarity.
        let (a, b) = (warp.carry(Spot::new(-8.0, -20.0)), warp.carry(Spot::new(8.0, -20.0)));
        assert!((a.to(b) / 16.0 - 1.03).abs() < 0.08, "{}", a.to(b));
        assert_eq!(Warp::none().carry(Spot::new(3.0, 4.0)), Spot::new(3.0, 4.0));
    }

    #[test]
    fn a_picture_below_counts_downward() {
        let warp = Warp::onto(
            |n| vertex(n).map_or(Spot::default(), |v| Spot::new(300.0 + 20.0 * v.x, -400.0 + 20.0 * v.y)),
            &[],
        );
        let got = warp.carry(Spot::new(2.0, -24.0));
        assert!(got.to(Spot::new(340.0, -880.0)) < 0.5, "{got:?}");
    }
}
