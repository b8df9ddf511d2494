//! The pen: smooth curves through knots, and an ink line whose width follows the pressure of the hand.

use face::Spot;

use crate::svg;

/// A place the pen passes, and how hard it is pressed there (0 lifts it, 1 is the full width).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Touch {
    pub at: Spot,
    pub press: f64,
}

/// Touches with one pressure throughout.
pub(crate) fn even(spots: &[Spot], press: f64) -> Vec<Touch> {
    spots.iter().map(|at| Touch { at: *at, press }).collect()
}

/// A centripetal Catmull-Rom curve through the touches (Yuksel, Schaefer, Keyser 2011: no cusps, no loops within a
/// span), sampled about every `step` centimetres.
pub(crate) fn curve(touches: &[Touch], step: f64) -> Vec<Touch> {
    let n = touches.len();
    if n < 2 {
        return touches.to_vec();
    }
    let mut out = vec![touches[0]];
    for i in 0..n - 1 {
        let (p1, p2) = (touches[i].at, touches[i + 1].at);
        // Beyond the ends the curve goes on as it was going.
        let p0 = if i > 0 { touches[i - 1].at } else { p1 * 2.0 - p2 };
        let p3 = if i + 2 < n { touches[i + 2].at } else { p2 * 2.0 - p1 };
        let knot = |a: Spot, b: Spot| a.to(b).sqrt().max(1e-6);
        let (t1, t2, t3) = {
            let a = knot(p0, p1);
            let b = a + knot(p1, p2);
            (a, b, b + knot(p2, p3))
        };
        let pieces = (p1.to(p2) / step).ceil().max(1.0) as usize;
        for k in 1..=pieces {
            let f = k as f64 / pieces as f64;
            let t = t1 + (t2 - t1) * f;
            let mix = |a: Spot, b: Spot, ta: f64, tb: f64| a * ((tb - t) / (tb - ta)) + b * ((t - ta) / (tb - ta));
            let (a1, a2, a3) = (mix(p0, p1, 0.0, t1), mix(p1, p2, t1, t2), mix(p2, p3, t2, t3));
            let (b1, b2) = (mix(a1, a2, 0.0, t2), mix(a2, a3, t1, t3));
            let ease = f * f * (3.0 - 2.0 * f);
            let press = touches[i].press + (touches[i + 1].press - touches[i].press) * ease;
            out.push(Touch { at: mix(b1, b2, t1, t2), press });
        }
    }
    out
}

/// The length of a run of touches, in centimetres.
pub(crate) fn length(run: &[Touch]) -> f64 {
    run.windows(2).map(|w| w[0].at.to(w[1].at)).sum()
}

/// A smooth curve through places, sampled about every `step` centimetres.
pub(crate) fn through(spots: &[Spot], step: f64) -> Vec<Spot> {
    curve(&even(spots, 1.0), step).into_iter().map(|t| t.at).collect()
}

/// The filled outline of an ink line through the touches; `width` is its width at full pressure, in centimetres.
pub(crate) fn ink(touches: &[Touch], width: f64) -> String {
    svg::soft(&outline(touches, width), true)
}

/// The outline of an ink line: out along one edge, back along the other.
pub(crate) fn outline(touches: &[Touch], width: f64) -> Vec<Spot> {
    let rough: f64 = length(touches);
    let step = (rough / 7.0).clamp(0.05, 0.42);
    let run = curve(touches, step);
    let n = run.len();
    if n < 2 {
        return Vec::new();
    }
    let edge = |i: usize, side: f64| {
        let before = run[i.saturating_sub(1)].at;
        let after = run[(i + 1).min(n - 1)].at;
        run[i].at + (after - before).normal() * (side * width * 0.5 * run[i].press.max(0.03))
    };
    // A little beyond each end, so that the soft outline does not fall short of it.
    let mut spots: Vec<Spot> = (0..n).map(|i| edge(i, 1.0)).collect();
    spots.push(run[n - 1].at + (run[n - 1].at - run[n - 2].at).unit() * (width * 0.35 * run[n - 1].press));
    spots.extend((0..n).rev().map(|i| edge(i, -1.0)));
    spots.push(run[0].at + (run[0].at - run[1].at).unit() * (width * 0.35 * run[0].press));
    spots
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_passes_its_knots() {
        let knots = [(0.0, 0.0), (2.0, 1.0), (3.0, -1.0), (6.0, 0.0)];
        let touches: Vec<Touch> = knots.iter().map(|k| Touch { at: Spot::new(k.0, k.1), press: 0.5 }).collect();
        let run = curve(&touches, 0.1);
        for touch in &touches {
            let near = run.iter().map(|r| r.at.to(touch.at)).fold(f64::MAX, f64::min);
            assert!(near < 1e-9, "misses {:?} by {near}", touch.at);
        }
        assert!(length(&run) >= length(&touches) - 1e-9);
    }

    #[test]
    fn the_line_is_as_wide_as_the_pressure() {
        let touches = even(&[Spot::new(0.0, 0.0), Spot::new(4.0, 0.0)], 1.0);
        let edge = outline(&touches, 0.5);
        let high = edge.iter().map(|s| s.y).fold(f64::MIN, f64::max);
        let low = edge.iter().map(|s| s.y).fold(f64::MAX, f64::min);
        assert!((high - low - 0.5).abs() < 1e-9, "{low}..{high}");
    }
}
