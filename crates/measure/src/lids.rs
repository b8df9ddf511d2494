//! The lower lids' margins, refined on the picture's own edge.
//!
//! The network's lower lid lies up to a millimetre off, and the band begins two millimetres below it. Below the margin the skin is
//! alike; at the margin it ends: the white of the eye is less red, the iris and the lashes darker. So from below upward, along a line
//! at each landmark of the lid, the first place that is no longer like the skin below is the margin. What one line says is believed only
//! as far as its neighbours agree.

use colour::Linear;
use face::{Frame, Landmarks, Margins, Pixel};

use crate::light::Light;
use crate::shading::median;

/// How far above and below the landmark is looked, mm.
const UP_MM: f64 = 1.8;
const DOWN_MM: f64 = 2.6;
/// Skin is learnt from here downward, mm below the landmark.
const SKIN_MM: f64 = 1.3;
/// The step along a line, mm.
const STEP_MM: f64 = 0.1;
/// A place differs from skin by this much of log-luminance or of ln(red / green): our own choice, about four times their scatter.
const DARK: f64 = 0.25;
const RED: f64 = 0.14;
/// An edge is no wider than this many steps.
const EDGE_STEPS: usize = 10;
/// A margin is not moved further than this, mm.
const MOST_MM: f64 = 1.5;
/// Lines may disagree by this much with what all of them say, mm.
const AGREE_MM: f64 = 0.6;

/// The margins moved onto the edge between eye and skin, and for own right and left whether the edge was clear.
pub(crate) fn refine(
    light: &impl Light,
    landmarks: &Landmarks,
    frame: &Frame,
    margins: &Margins,
) -> (Margins, [bool; 2]) {
    let (zero, below) = (frame.to_picture([0.0; 3]), frame.to_picture([0.0, -1.0, 0.0]));
    // One millimetre down the face, in pixels.
    let down = [below.x - zero.x, below.y - zero.y];
    let (outer, inner) = (landmarks.at(33), landmarks.at(263));
    let length = outer.to(inner).max(1e-9);
    let along = [(inner.x - outer.x) / length, (inner.y - outer.y) / length];
    let mut clear = [false; 2];
    let mut moved = *margins;
    for (side, lid) in moved.iter_mut().enumerate() {
        let found: Vec<Option<f64>> = lid.iter().map(|at| edge(light, *at, down, along)).collect();
        if let Some(shifts) = agreed(&found) {
            clear[side] = true;
            for (p, mm) in lid.iter_mut().zip(shifts) {
                *p = Pixel::new(p.x + down[0] * mm, p.y + down[1] * mm);
            }
        }
    }
    (moved, clear)
}

/// Millimetres below a landmark at which the skin ends.
fn edge(light: &impl Light, at: Pixel, down: [f64; 2], along: [f64; 2]) -> Option<f64> {
    let (w, h) = light.size();
    let mm = down[0].hypot(down[1]);
    let width = (0.35 * mm).max(0.5);
    let look = |s: f64| -> Option<[f64; 2]> {
        let mut sum = [0.0; 3];
        for k in -2..=2 {
            let side = f64::from(k) * width / 2.0;
            let (x, y) = (at.x + down[0] * s + along[0] * side, at.y + down[1] * s + along[1] * side);
            if !(x >= 0.0 && y >= 0.0 && x < w as f64 && y < h as f64) {
                return None;
            }
            let Linear(c) = light.linear(x as usize, y as usize);
            (0..3).for_each(|k| sum[k] += c[k]);
        }
        let [r, g, _] = sum.map(|v| v.max(1e-4));
        Some([g.ln(), (r / g).ln()])
    };
    let steps = ((UP_MM + DOWN_MM) / STEP_MM).round() as usize;
    let line: Vec<[f64; 2]> = (0..=steps).map(|i| look(DOWN_MM - STEP_MM * i as f64)).collect::<Option<_>>()?;
    let skin = ((DOWN_MM - SKIN_MM) / STEP_MM) as usize;
    let mean: [f64; 2] = [0, 1].map(|k| median(line[..skin].iter().map(|p| p[k]).collect()));
    let away = |p: &[f64; 2]| ((p[0] - mean[0]) / DARK).hypot((p[1] - mean[1]) / RED);
    // Two steps and more beyond: a pore or a lash's tip is thinner.
    let first = (skin / 2..line.len() - 3).find(|i| line[*i..i + 3].iter().all(|p| away(p) > 1.0))?;
    // The edge itself is where half of the change is reached: blur and the roots of lashes begin before it.
    let upward = &line[first..line.len().min(first + EDGE_STEPS)];
    let half = upward.iter().map(&away).fold(0.0, f64::max) / 2.0;
    let on = upward.iter().position(|p| away(p) >= half)?;
    let share = if on == 0 {
        0.0
    } else {
        let (low, high) = (away(&upward[on - 1]), away(&upward[on]));
        on as f64 - (high - half) / (high - low).max(1e-9)
    };
    Some(DOWN_MM - STEP_MM * (first as f64 + share))
}

/// What the lines of one lid say together: a smooth shift, mm; none where too few agree.
fn agreed(found: &[Option<f64>]) -> Option<Vec<f64>> {
    let known: Vec<(f64, f64)> =
        found.iter().enumerate().filter_map(|(i, s)| Some((i as f64 / 4.0 - 1.0, (*s)?))).collect();
    if known.len() < 5 {
        return None;
    }
    // A parabola along the lid, lines far from it counting less and less.
    let mut weights = vec![1.0; known.len()];
    let mut fit = nalgebra::Vector3::zeros();
    for _ in 0..8 {
        let mut normal = nalgebra::Matrix3::identity() * 0.05;
        let mut right = nalgebra::Vector3::zeros();
        for ((x, s), w) in known.iter().zip(&weights) {
            let t = nalgebra::Vector3::new(1.0, *x, x * x);
            normal += t * t.transpose() * *w;
            right += t * (s * w);
        }
        fit = normal.try_inverse()? * right;
        for ((x, s), w) in known.iter().zip(&mut weights) {
            let u = (s - fit.dot(&nalgebra::Vector3::new(1.0, *x, x * x))) / (2.0 * AGREE_MM);
            *w = if u.abs() < 1.0 { (1.0 - u * u).powi(2) } else { 0.0 };
        }
    }
    let near = |x: f64, s: f64| (s - fit.dot(&nalgebra::Vector3::new(1.0, x, x * x))).abs() < AGREE_MM;
    let agree = known.iter().filter(|(x, s)| near(*x, *s)).count();
    if agree < 5 {
        return None;
    }
    let smooth = |i: usize| {
        let x = i as f64 / 4.0 - 1.0;
        let all = fit.dot(&nalgebra::Vector3::new(1.0, x, x * x));
        // A line that agrees speaks for its own place.
        let own = found[i].filter(|s| near(x, *s)).unwrap_or(all);
        (0.5 * own + 0.5 * all).clamp(-MOST_MM, MOST_MM)
    };
    Some((0..found.len()).map(smooth).collect())
}
