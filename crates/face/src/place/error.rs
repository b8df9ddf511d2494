//! How far a point may lie from where it is shown.
//!
//! A rule is a sum of landmarks, so its error is a sum of theirs. The table `data/models/landmark_error.csv` says of each
//! landmark how far the network puts it from the truth of rendered faces: a part that is the same on every face (bias) and a part
//! that changes from face to face (its scatter, and its pull toward the average face). Neighbouring landmarks err alike; the
//! correlation falls off with their distance. Hairline, the head's turn, lengths taken from a hand and the scale have rows or
//! constants of their own. The command that makes the table is named in it.

use std::sync::OnceLock;

use vocab::Side;

use super::{FINGER_CUN_MM, FINGER_MM, PointRule, Rule, What, triangle_at};
use crate::{HairlineSource, Head, LANDMARKS, canonical, mirror};

static TABLE: &str = include_str!("../../../../data/models/landmark_error.csv");

/// The distance of the outer corners of the eyes that the table's millimetres belong to.
const EYES_MM: f64 = 89.0;
/// The usual distance of the camera, millimetres: from an arm's length to a little over a metre (common practice). The
/// frame is a parallel projection; half of what perspective does is taken for known.
const CAMERA_MM: f64 = 750.0;
/// Standard deviation of a landmark that a person dragged, millimetres.
const DRAGGED_MM: f64 = 0.7;

/// A bias and a standard deviation in the two directions of the face's front, millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spread {
    /// The part that is the same on every face, across and upward.
    pub bias: [f64; 2],
    /// The standard deviation of the rest.
    pub sd: [f64; 2],
    /// How the rest goes together across and upward: the correlation, -1 to 1.
    pub together: f64,
}

/// What is known of the errors of landmarks and of what is built on them.
#[derive(Clone, Debug)]
pub struct LandmarkErrors {
    landmarks: Vec<Spread>,
    hairline: Spread,
    corner: Spread,
    proportion: Spread,
    proportion_corner: Spread,
    /// How far the frame's roll, yaw and pitch are off: always, and from face to face (standard deviation), in radians.
    turn: [[f64; 2]; 3],
    /// The distance over which errors of landmarks lose their likeness, millimetres.
    alike_mm: f64,
}

/// How far a point may lie from where it is shown, millimetres in the face's front.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointError {
    /// Bias and standard deviation, across and upward.
    pub spread: Spread,
    /// The radius that holds the point in 95 of 100 faces.
    pub r95: f64,
}

/// One part of a rule: how often, of which landmark (on its own side), or of the hairline.
enum Part {
    Landmark(usize),
    Hairline,
    Corner,
    /// Something else of this standard deviation, millimetres.
    Other(f64),
}

impl LandmarkErrors {
    /// The built-in table; a test holds that it loads.
    pub fn built_in() -> &'static LandmarkErrors {
        static ERRORS: OnceLock<LandmarkErrors> = OnceLock::new();
        ERRORS.get_or_init(|| LandmarkErrors::parse(TABLE).unwrap_or_else(|_| LandmarkErrors::unknown()))
    }

    /// What to assume where nothing was measured: 3 mm everywhere.
    pub fn unknown() -> LandmarkErrors {
        let wide = Spread { sd: [3.0; 2], ..Spread::default() };
        LandmarkErrors {
            landmarks: vec![wide; LANDMARKS],
            hairline: wide,
            corner: wide,
            proportion: Spread { sd: [8.0; 2], ..Spread::default() },
            proportion_corner: Spread { sd: [8.0; 2], ..Spread::default() },
            turn: [[0.0, 0.03]; 3],
            alike_mm: 30.0,
        }
    }

    /// Reads the table: `#` remarks, a header, then `of,bias_across,bias_up,sd_across,sd_up,together`; `of` is a landmark's number,
    /// or hairline, corner, proportion, proportion_corner (the last two: without a seen edge), turn_roll, turn_yaw,
    /// turn_pitch (degrees, in the columns across), alike (millimetres, in `sd_across`).
    ///
    /// # Errors
    /// The first line that cannot be read, or a row that is missing.
    pub fn parse(text: &str) -> Result<LandmarkErrors, String> {
        let mut errors = LandmarkErrors::unknown();
        let mut seen = 0;
        for (index, line) in text.lines().enumerate() {
            if line.is_empty() || line.starts_with('#') || line.starts_with("of,") {
                continue;
            }
            let wrong = || format!("line {}: needs of,bias_across,bias_up,sd_across,sd_up,together", index + 1);
            let mut columns = line.split(',');
            let of = columns.next().ok_or_else(wrong)?.trim();
            let numbers: Vec<f64> = columns.map(|c| c.trim().parse::<f64>().unwrap_or(f64::NAN)).collect();
            let &[bx, by, sx, sy, together] = numbers.as_slice() else { return Err(wrong()) };
            if numbers.iter().any(|n| !n.is_finite()) || sx < 0.0 || sy < 0.0 || together.abs() > 1.0 {
                return Err(wrong());
            }
            let spread = Spread { bias: [bx, by], sd: [sx, sy], together };
            seen += 1;
            match of {
                "hairline" => errors.hairline = spread,
                "corner" => errors.corner = spread,
                "proportion" => errors.proportion = spread,
                "proportion_corner" => errors.proportion_corner = spread,
                "turn_roll" => errors.turn[0] = [bx.to_radians(), sx.to_radians()],
                "turn_yaw" => errors.turn[1] = [bx.to_radians(), sx.to_radians()],
                "turn_pitch" => errors.turn[2] = [bx.to_radians(), sx.to_radians()],
                "alike" => errors.alike_mm = sx.max(1e-3),
                _ => {
                    let number: usize = of.parse().map_err(|_| wrong())?;
                    *errors.landmarks.get_mut(number).ok_or_else(wrong)? = spread;
                }
            }
        }
        if seen == LANDMARKS + 8 { Ok(errors) } else { Err(format!("{seen} rows, but {} are needed", LANDMARKS + 8)) }
    }

    /// The spread of one landmark.
    pub fn landmark(&self, number: usize) -> Spread {
        self.landmarks.get(number).copied().unwrap_or_default()
    }

    /// How far a point of this rule may lie from where it is shown on this head. `steadied` says of a landmark how much of
    /// its error a person's hand took away (0 none, 1 all but the hand's own). `turned` widens everything for a head that
    /// is turned further than the table was made for (1: not).
    pub fn of_point(
        &self,
        rule: &PointRule,
        side: Side,
        head: &Head,
        steadied: &dyn Fn(usize) -> f64,
        turned: f64,
    ) -> PointError {
        let (across, up) = match rule {
            PointRule::Measured { across, up } => {
                let x = across.across(head, side);
                (parts(across, side, head, x), parts(up, side, head, x))
            }
            PointRule::Tapped(spot) => {
                let carried = triangle_at(*spot).map(|(corners, weights)| {
                    let one = |i: usize| {
                        let n = if side == Side::Right { mirror(corners[i]) } else { corners[i] };
                        (weights[i], Part::Landmark(n))
                    };
                    (0..3).map(one).collect::<Vec<_>>()
                });
                let again = |list: &Vec<(f64, Part)>| {
                    list.iter()
                        .map(|(w, p)| (*w, if let Part::Landmark(n) = p { Part::Landmark(*n) } else { Part::Hairline }))
                        .collect()
                };
                let list = carried.unwrap_or_default();
                (again(&list), list)
            }
        };
        let at = match rule {
            PointRule::Measured { across, up } => {
                let x = across.across(head, side);
                head.surface(x, up.up(head, side, x)).0
            }
            PointRule::Tapped(spot) => super::tapped(*spot, side, head).map_or([0.0; 3], |[x, y]| head.surface(x, y).0),
        };
        let (mut bx, mut vx, far_x) = self.sum(&across, 0, side, head, at[0], steadied);
        let (mut by, mut vy, far_y) = self.sum(&up, 1, side, head, at[0], steadied);
        // Where a rule reaches away from what it is built on, a frame turned a little wrong carries the point sideways.
        let reach = |far: [f64; 3], k: usize| at[k] - far[k];
        let [roll, yaw, pitch] = self.turn;
        by += reach(far_y, 2) * pitch[0];
        bx += reach(far_x, 2) * yaw[0];
        vx += (reach(far_x, 1) * roll[1]).powi(2) + (reach(far_x, 2) * yaw[1]).powi(2);
        vy += (reach(far_y, 0) * roll[1]).powi(2) + (reach(far_y, 2) * pitch[1]).powi(2);
        // And the camera is near: what lies nearer to it than what the rule is built on is seen larger.
        for (k, far, bias, variance) in [(0, far_x, &mut bx, &mut vx), (1, far_y, &mut by, &mut vy)] {
            let larger = at[k] * reach(far, 2) / CAMERA_MM;
            *bias -= larger;
            *variance += (0.5 * larger).powi(2);
        }
        let sd = [vx.max(0.0).sqrt() * turned, vy.max(0.0).sqrt() * turned];
        let together = self.together(&across, &up, head, steadied) * turned * turned / (sd[0] * sd[1]).max(1e-12);
        let spread = Spread { bias: [bx, by], sd, together: together.clamp(-1.0, 1.0) };
        PointError { spread, r95: radius95(&spread) }
    }

    /// The covariance of two sums of landmarks, one across and one upward.
    fn together(
        &self,
        across: &[(f64, Part)],
        up: &[(f64, Part)],
        head: &Head,
        steadied: &dyn Fn(usize) -> f64,
    ) -> f64 {
        let eyes = eyes(head);
        let landmarks = |parts: &[(f64, Part)]| -> Vec<(f64, usize)> {
            parts.iter().filter_map(|(t, p)| if let Part::Landmark(n) = p { Some((*t, *n)) } else { None }).collect()
        };
        let mut sum = 0.0;
        for (a, i) in landmarks(across) {
            for (b, j) in landmarks(up) {
                let (p, q) = (self.landmark(i), self.landmark(j));
                let left = (1.0 - steadied(i).clamp(0.0, 1.0)) * (1.0 - steadied(j).clamp(0.0, 1.0));
                let alike = (-apart(i, j) / self.alike_mm).exp() * (p.together + q.together) / 2.0;
                sum += a * b * p.sd[0] * q.sd[1] * eyes * eyes * left * alike;
            }
        }
        sum
    }

    /// Bias and variance of a sum of parts in one direction, and where what it is built on lies on average.
    fn sum(
        &self,
        parts: &[(f64, Part)],
        k: usize,
        side: Side,
        head: &Head,
        x: f64,
        steadied: &dyn Fn(usize) -> f64,
    ) -> (f64, f64, [f64; 3]) {
        // Hairline and corner err outward on either side.
        let outward = if side == Side::Right && k == 0 { -1.0 } else { 1.0 };
        let eyes = eyes(head);
        let (seen_hairline, seen_corner) = match head.hairline.source {
            HairlineSource::Seen => (self.hairline, self.corner),
            HairlineSource::Proportion => (self.proportion, self.proportion_corner),
            HairlineSource::Hand => {
                let hand = Spread { sd: [head.hairline.u_mm; 2], ..Spread::default() };
                (hand, hand)
            }
        };
        let (mut bias, mut variance, mut far) = (0.0, 0.0, [0.0; 3]);
        let mut landmarks: Vec<(f64, usize)> = Vec::new();
        let (mut on_hairline, mut on_corner) = (0.0, 0.0);
        let corner = head.corner(side);
        let corner_at = head.surface(corner[0], corner[1]).0;
        let hairline_at = head.surface(x, head.hairline.height(x)).0;
        let mut built_on = |at: [f64; 3], times: f64| (0..3).for_each(|i| far[i] += times * at[i]);
        for (times, part) in parts {
            match part {
                Part::Landmark(n) => {
                    let own = self.landmark(*n);
                    let held = steadied(*n).clamp(0.0, 1.0);
                    bias += times * own.bias[k] * eyes * (1.0 - held);
                    let sd = (own.sd[k] * eyes * (1.0 - held)).hypot(DRAGGED_MM * held);
                    landmarks.push((times * sd, *n));
                    built_on(head.points()[*n], *times);
                }
                Part::Hairline => {
                    built_on(hairline_at, *times);
                    on_hairline += times;
                }
                Part::Corner => {
                    built_on(corner_at, *times);
                    on_corner += times;
                }
                Part::Other(sd) => variance += (times * sd).powi(2),
            }
        }
        // The hairline errs once, however often a rule counts on it.
        for (times, seen) in [(on_hairline, seen_hairline), (on_corner, seen_corner)] {
            bias += times * outward * seen.bias[k];
            variance += (times * seen.sd[k]).powi(2);
        }
        for (a, i) in &landmarks {
            for (b, j) in &landmarks {
                variance += a * b * (-apart(*i, *j) / self.alike_mm).exp();
            }
        }
        (bias, variance, far)
    }
}

/// How much larger this head is than the table's, by its outer eye corners.
fn eyes(head: &Head) -> f64 {
    let (a, b) = (head.points()[33], head.points()[263]);
    ((a[0] - b[0]).hypot(a[1] - b[1]) / EYES_MM).clamp(0.5, 2.0)
}

/// A rule as a sum of landmarks and the rest. `x` is the rule's own place across.
fn parts(rule: &Rule, side: Side, head: &Head, x: f64) -> Vec<(f64, Part)> {
    let own = |n: usize| Part::Landmark(if side == Side::Right { mirror(n) } else { n });
    let mut list = Vec::new();
    for term in rule.terms() {
        let t = term.times;
        match term.what {
            What::Landmark(n) => list.push((t, own(n))),
            What::Pupil => list.push((t, own(crate::IRIS_LEFT))),
            What::Brow => {
                // The two rows of the brow at the place across.
                for row in [[336, 296, 334, 293, 300], [285, 295, 282, 283, 276]] {
                    let nearest = row.into_iter().min_by(|a, b| {
                        let far = |n: usize| (head.point(n, side)[0] - x).abs();
                        far(*a).total_cmp(&far(*b))
                    });
                    list.extend(nearest.map(|n| (t / 2.0, own(n))));
                }
            }
            What::Hairline => list.push((t, Part::Hairline)),
            What::Corner => list.push((t, Part::Corner)),
            What::CunUp => {
                list.push((t / 3.0, Part::Hairline));
                list.extend([336, 285, 107, 55].map(|n| (-t / 12.0, Part::Landmark(n))));
            }
            What::CunAcross => {
                list.push((t / 4.5, Part::Corner));
                list.extend([10, 151].map(|n| (-t / 9.0, Part::Landmark(n))));
            }
            What::Finger => list.push((t, Part::Other(FINGER_MM.1))),
            What::FingerCun => list.push((t, Part::Other(FINGER_CUN_MM.1))),
            // A length in millimetres is as wrong as the scale: 3.6 %.
            What::Mm => list.push((t, Part::Other(0.036))),
        }
    }
    list
}

/// The distance of two landmarks on the canonical face, millimetres.
fn apart(a: usize, b: usize) -> f64 {
    let place = |n: usize| {
        canonical()
            .get(if n >= 473 {
                386
            } else if n >= 468 {
                159
            } else {
                n
            })
            .copied()
    };
    match (place(a), place(b)) {
        (Some(p), Some(q)) => (0..3).map(|k| (10.0 * (p[k] - q[k])).powi(2)).sum::<f64>().sqrt(),
        _ => f64::MAX,
    }
}

/// The radius that holds 95 % of a place with this bias and these normal deviations: the squared distance has known mean and
/// variance, and is taken for a scaled chi-square with the same (Patnaik 1949, Biometrika 36:202), whose quantile is Wilson
/// and Hilferty's (1931, PNAS 17:684).
pub(crate) fn radius95(spread: &Spread) -> f64 {
    let (b, s) = (spread.bias, spread.sd);
    let shared = spread.together * s[0] * s[1];
    let mean: f64 = (0..2).map(|k| b[k] * b[k] + s[k] * s[k]).sum();
    // 2 tr(S S) + 4 b' S b, with S the covariance.
    let squares = s[0].powi(4) + s[1].powi(4) + 2.0 * shared * shared;
    let along = (b[0] * s[0]).powi(2) + (b[1] * s[1]).powi(2) + 2.0 * b[0] * b[1] * shared;
    let variance = 2.0 * squares + 4.0 * along;
    if mean < 1e-12 || variance < 1e-12 {
        return mean.sqrt();
    }
    let degrees = 2.0 * mean * mean / variance;
    let c = 2.0 / (9.0 * degrees);
    (mean * (1.0 - c + 1.6449 * c.sqrt()).powi(3)).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_loads() {
        let errors = LandmarkErrors::parse(TABLE).expect("the built-in table");
        assert!(errors.landmarks.iter().all(|s| s.sd[0] > 0.0 && s.sd[0] < 8.0));
        assert!(LandmarkErrors::parse("1,2,3").is_err() && LandmarkErrors::parse("").is_err());
        assert!(LandmarkErrors::parse("500,0,0,1,1,0").is_err_and(|e| e.contains("line 1")));
    }

    #[test]
    fn the_radius_holds_95_of_100() {
        // Two known cases: a round normal (Rayleigh: 2.4477), and one direction only (1.96).
        let of = |b: [f64; 2], s: [f64; 2]| radius95(&Spread { bias: b, sd: s, together: 0.0 });
        assert!((of([0.0; 2], [1.0; 2]) - 2.4477).abs() < 0.03, "{}", of([0.0; 2], [1.0; 2]));
        assert!((of([0.0; 2], [1.0, 0.0]) - 1.96).abs() < 0.05, "{}", of([0.0; 2], [1.0, 0.0]));
        // Far off: bias and 1.645 deviations along it.
        assert!((of([10.0, 0.0], [1.0, 1.0]) - 11.7).abs() < 0.2, "{}", of([10.0, 0.0], [1.0, 1.0]));
        assert!((of([3.0, 4.0], [0.0; 2]) - 5.0).abs() < 1e-9);
        // One direction again, at 45 degrees: both deviations, wholly together.
        let slanted = radius95(&Spread { bias: [0.0; 2], sd: [0.5f64.sqrt(); 2], together: 1.0 });
        assert!((slanted - 1.96).abs() < 0.05, "{slanted}");
    }
}
