//! The front hairline: where skin ends and hair begins, seen in the picture or estimated from the face.
//!
//! No landmark carries it. In the picture it is looked for along rays that fan out from the middle of the forehead; where
//! hair hides it, or there is none, it is estimated from the proportions of the face, and said to be so. A person can
//! always correct it by hand.

use vocab::Side;

use crate::{Frame, Head, Pixel, Place};

/// Reads colours of a picture: red, green, blue of 0 to 1, encoded; none beyond the picture.
pub trait Pixels {
    /// The colour at a place of the picture.
    fn rgb(&self, at: Pixel) -> Option<[f64; 3]>;
}

/// Where the hairline is known from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HairlineSource {
    /// Its edge was seen in the picture.
    Seen,
    /// No clear edge: from the proportions of the face.
    Proportion,
    /// A person set it.
    Hand,
}

/// The front hairline in the face frame, seen from in front, millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Hairline {
    curve: Vec<[f64; 2]>,
    /// Where it is known from.
    pub source: HairlineSource,
    /// Standard uncertainty of its height, in millimetres.
    pub u_mm: f64,
}

/// The height of the hairline above the midpoint between the brows, seen from in front, and its standard deviation among
/// people, in millimetres: from memory of handbook means of 53 (women) and 57 (men); the deviation is rounded up.
pub const FOREHEAD_MM: (f64, f64) = (55.0, 8.0);

/// Standard uncertainty of a seen edge: what is left after the rays agree (a soft edge has no sharper place).
const EDGE_MM: f64 = 1.2;
/// Standard uncertainty of a line set by hand.
const HAND_MM: f64 = 1.0;
/// Rays over the half circle of the forehead.
const RAYS: usize = 37;
/// How many of them must agree.
const ENOUGH: usize = 15;

impl Hairline {
    /// A hairline through these places, from the person's right temple to their left.
    pub fn through(mut curve: Vec<[f64; 2]>, source: HairlineSource, u_mm: f64) -> Hairline {
        curve.retain(|p| p.iter().all(|k| k.is_finite()));
        curve.sort_by(|a, b| a[0].total_cmp(&b[0]));
        Hairline { curve, source, u_mm }
    }

    /// A plain arch of this height at the midline (face frame) whose corners lie at plus and minus `corner`.
    pub fn level(height: f64, corner: f64) -> Hairline {
        // The arch falls by a sixth of a corner's breadth to the corner, as on the drawn face, then down to the temple.
        let arch = |k: i32| {
            let x = f64::from(k) / 10.0 * 1.12 * corner;
            let share = (x / corner).abs();
            [x, height - corner * (0.18 * share.powi(3) + 2.2 * (share - 1.0).max(0.0))]
        };
        Hairline::through((-10..=10).map(arch).collect(), HairlineSource::Proportion, FOREHEAD_MM.1)
    }

    /// The line as a person set it.
    pub fn by_hand(curve: Vec<[f64; 2]>) -> Hairline {
        Hairline::through(curve, HairlineSource::Hand, HAND_MM)
    }

    /// Its places from the person's right to their left.
    pub fn curve(&self) -> &[[f64; 2]] {
        &self.curve
    }

    /// Whether the program estimated it; false once a person has set it.
    pub fn estimated(&self) -> bool {
        self.source != HairlineSource::Hand
    }

    /// Its height at `x`. Beyond its ends it stays level.
    pub fn height(&self, x: f64) -> f64 {
        crate::head::interpolate(&self.curve, x)
    }

    /// Where the front of the hairline turns toward the temple: its place furthest up and outward at 45 degrees (common
    /// practice; the standard gives no construction) between these two places across.
    pub(crate) fn turn_between(&self, from: f64, to: f64) -> [f64; 2] {
        let sign = if from < 0.0 { -1.0 } else { 1.0 };
        let steps = (0..=30).map(|i| from + (to - from) * f64::from(i) / 30.0);
        let places = steps.map(|x| [x, self.height(x)]);
        let out = |p: &[f64; 2]| sign * p[0] + p[1];
        places.max_by(|a, b| out(a).total_cmp(&out(b))).unwrap_or([from, self.height(from)])
    }

    /// The same line moved up by `by` millimetres.
    pub fn raised(&self, by: f64) -> Hairline {
        Hairline { curve: self.curve.iter().map(|p| [p[0], p[1] + by]).collect(), ..self.clone() }
    }

    /// The hairline by proportion alone: [`FOREHEAD_MM`] above the brows, its corners over the temples.
    pub fn by_proportion(head: &Head) -> Hairline {
        let brows = head.between_brows();
        // The corner lies over landmark 284 and 54, where the oval of the face turns, as on the drawn face.
        let corner = (head.point(284, Side::Left)[0] - head.point(284, Side::Right)[0]) / 2.0;
        Hairline::level(brows[1] + FOREHEAD_MM.0, corner)
    }

    /// Looks for the hairline in the picture, along rays from the middle of the forehead. Where too few rays meet a clear
    /// edge, or the edge lies where no hairline would, it is estimated by proportion.
    pub fn find(head: &Head, frame: &Frame, picture: &impl Pixels) -> Hairline {
        let fallback = Hairline::by_proportion(head);
        let Some(skin) = Skin::of(head, frame, picture) else { return fallback };
        let centre = centre(head);
        let mut edges: Vec<(f64, f64)> = Vec::new();
        for k in 0..RAYS {
            let angle = std::f64::consts::PI * (0.03 + 0.94 * k as f64 / (RAYS - 1) as f64);
            if let Some(length) = edge(head, frame, picture, &skin, centre, angle) {
                edges.push((angle, length));
            }
        }
        let edges = agreeing(edges);
        if edges.len() < ENOUGH {
            return fallback;
        }
        let spots: Vec<[f64; 2]> =
            edges.iter().map(|(a, l)| [centre[0] + l * a.cos(), centre[1] + l * a.sin()]).collect();
        let line = Hairline::through(spots, HairlineSource::Seen, EDGE_MM);
        if line.height(centre[0]) - head.between_brows()[1] > FOREHEAD_MM.0 + 0.75 * FOREHEAD_MM.1
            && bare(head, frame, picture, &line)
        {
            return fallback;
        }
        let spans = line.curve.first().is_some_and(|p| p[0] < -25.0) && line.curve.last().is_some_and(|p| p[0] > 25.0);
        let height = line.height(centre[0]) - head.between_brows()[1];
        let likely = (height - FOREHEAD_MM.0).abs() < 3.0 * FOREHEAD_MM.1;
        if spans && likely { line } else { fallback }
    }
}

/// Whether what lies just beyond a high edge is the background: a head without hair ends there, and shows no hairline.
fn bare(head: &Head, frame: &Frame, picture: &impl Pixels, line: &Hairline) -> bool {
    let brows = head.between_brows();
    let behind: Vec<[f64; 3]> =
        [(-150.0, 20.0), (150.0, 20.0), (-110.0, 90.0), (110.0, 90.0), (0.0, 170.0), (0.0, 210.0)]
            .into_iter()
            .filter_map(|(x, y)| picture.rgb(frame.to_picture([brows[0] + x, brows[1] + y, 0.0])).map(logs))
            .collect();
    let places = line.curve.iter().filter(|p| (p[0] - brows[0]).abs() < 35.0);
    let alike = |p: &&[f64; 2]| {
        let (at, _) = head.surface(p[0], p[1]);
        let beyond = picture.rgb(frame.to_picture([at[0], at[1] + 7.0, at[2]])).map(logs);
        // Backgrounds have gradients: lightness may differ by a third, colour hardly.
        let near = |b: &[f64; 3], c: &[f64; 3]| (b[0] - c[0]).abs() < 0.3 && (1..3).all(|k| (b[k] - c[k]).abs() < 0.08);
        beyond.is_none_or(|c| behind.iter().any(|b| near(b, &c)))
    };
    let (all, same) = (places.clone().count(), places.filter(alike).count());
    2 * same > all
}

/// The middle of the forehead, from which the rays go.
fn centre(head: &Head) -> [f64; 2] {
    let (low, high) = (head.between_brows(), head.point(151, Side::Left));
    [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0 + 4.0]
}

/// The colour of this person's forehead: lightness and two ratios, in logarithms, with their spread.
struct Skin {
    mean: [f64; 3],
    spread: [f64; 3],
}

/// A colour as log-lightness and two log-ratios, so that shade changes the first only.
fn logs([r, g, b]: [f64; 3]) -> [f64; 3] {
    // Encoded values are near to even steps for the eye; a small floor keeps black finite.
    let [r, g, b] = [r, g, b].map(|v| (v + 0.02).ln());
    [(r + g + b) / 3.0, r - g, g - b]
}

impl Skin {
    fn of(head: &Head, frame: &Frame, picture: &impl Pixels) -> Option<Skin> {
        let [cx, cy] = centre(head);
        let mut seen = Vec::new();
        for i in -5..=5 {
            for j in -2..=2 {
                let (at, _) = head.surface(cx + 5.0 * f64::from(i), cy + 4.0 * f64::from(j));
                seen.extend(picture.rgb(frame.to_picture(at)).map(logs));
            }
        }
        if seen.len() < 20 {
            return None;
        }
        let column = |k: usize| {
            let mut values: Vec<f64> = seen.iter().map(|s| s[k]).collect();
            values.sort_by(f64::total_cmp);
            let middle = values[values.len() / 2];
            let mut away: Vec<f64> = values.iter().map(|v| (v - middle).abs()).collect();
            away.sort_by(f64::total_cmp);
            (middle, 1.4826 * away[away.len() / 2])
        };
        let columns = [column(0), column(1), column(2)];
        // A smooth forehead would make every shade an edge: the spread has a floor.
        Some(Skin { mean: columns.map(|c| c.0), spread: [0, 1, 2].map(|k| columns[k].1.max([0.06, 0.02, 0.02][k])) })
    }
}

/// How far along a ray skin gives way to something else, in millimetres; none where no clear edge is met.
fn edge(head: &Head, frame: &Frame, picture: &impl Pixels, skin: &Skin, centre: [f64; 2], angle: f64) -> Option<f64> {
    const STEP: f64 = 0.5;
    let (sin, cos) = angle.sin_cos();
    let steps = (95.0 / STEP) as usize;
    let mut profile: Vec<[f64; 3]> = Vec::with_capacity(steps);
    for i in 0..steps {
        let along = STEP * i as f64;
        let (at, _) = head.surface(centre[0] + along * cos, centre[1] + along * sin);
        // A little across the ray is averaged too: single hairs and pores are no edge.
        let mut sum = [0.0; 3];
        for across in [-1.0, 0.0, 1.0] {
            let place: Place = [at[0] - across * sin, at[1] + across * cos, at[2]];
            let rgb = picture.rgb(frame.to_picture(place))?;
            sum.iter_mut().zip(logs(rgb)).for_each(|(s, v)| *s += v / 3.0);
        }
        profile.push(sum);
    }
    // A brow or a fold at the start is passed over; then the first place where, for 6 mm on end, most is no skin.
    let window = (6.0 / STEP) as usize;
    let mean = |from: usize, to: usize| -> [f64; 3] {
        let part = &profile[from..to];
        std::array::from_fn(|k| part.iter().map(|p| p[k]).sum::<f64>() / part.len() as f64)
    };
    // Skin drifts with the light toward the edge of the forehead: what was seen so far is the measure, not the centre only.
    let contrast = |at: usize| {
        let (before, after) = (mean(at.saturating_sub(2 * window).max(2), at), mean(at, at + window));
        (0..3).map(|k| ((after[k] - before[k]) / skin.spread[k]).powi(2)).sum::<f64>().sqrt()
    };
    let off_skin = |at: usize| {
        let after = mean(at, at + window);
        (0..3).map(|k| ((after[k] - skin.mean[k]) / skin.spread[k]).powi(2)).sum::<f64>().sqrt()
    };
    let first = (window..steps - window).find(|i| contrast(*i) > 4.0 && off_skin(*i) > 4.0)?;
    // The place itself: where the step is largest within the next centimetre.
    let last = (first + (10.0 / STEP) as usize).min(steps - window);
    let best = (first..last).max_by(|a, b| contrast(*a).total_cmp(&contrast(*b)))?;
    // A mean before and a mean after are furthest apart where the edge lies between them.
    Some(STEP * best as f64)
}

/// The rays whose lengths agree with their neighbours'.
fn agreeing(edges: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let near = |i: usize| {
        let (angle, length) = edges[i];
        let mut around: Vec<f64> = edges.iter().filter(|e| (e.0 - angle).abs() < 0.45).map(|e| e.1).collect();
        around.sort_by(f64::total_cmp);
        around.len() >= 4 && (around[around.len() / 2] - length).abs() < 7.0
    };
    (0..edges.len()).filter(|i| near(*i)).map(|i| edges[i]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arch_has_its_height_and_its_corners() {
        let line = Hairline::level(91.0, 63.6);
        assert!((line.height(0.0) - 91.0).abs() < 1e-9);
        let (l, r) = (line.turn_between(54.0, 69.0), line.turn_between(-54.0, -69.0));
        assert!((l[0] - 63.6).abs() < 8.0 && (l[0] + r[0]).abs() < 1e-9, "{l:?} {r:?}");
        assert!(line.height(l[0]) < 91.0 && line.estimated());
        assert!(!Hairline::by_hand(vec![[0.0, 80.0]]).estimated());
        assert!((line.raised(2.0).height(10.0) - line.height(10.0) - 2.0).abs() < 1e-9);
    }

    #[test]
    fn rays_that_stand_alone_are_dropped() {
        let mut edges: Vec<(f64, f64)> = (0..20).map(|i| (0.1 * f64::from(i), 50.0)).collect();
        edges[7].1 = 20.0;
        assert_eq!(agreeing(edges).len(), 19);
    }
}
