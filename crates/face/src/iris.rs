//! The iris, measured on its own edge: the scale of a photograph.
//!
//! The visible iris of adults is 11.71 mm wide, standard deviation 0.42 (Rufer, Schroder, Erb 2005, Cornea 24:259, 743 eyes);
//! so a photograph carries its own rule, good to 3.6 %. The network's own edge points scatter by 2.5 %: the edge is fitted here
//! anew, at the two sides that the lids leave free.

use crate::{Pixel, Pixels};

/// The mean width of the visible iris and its standard deviation among adults, in millimetres.
pub const IRIS_MM: (f64, f64) = (11.71, 0.42);

/// An iris whose edge was fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Iris {
    /// Its middle.
    pub centre: Pixel,
    /// Its radius, in pixels.
    pub radius: f64,
    /// Standard uncertainty of the radius, in pixels.
    pub u_radius: f64,
}

/// How many edge places are needed, and how many on each side.
const ENOUGH: usize = 14;
const EACH: usize = 5;

impl Iris {
    /// Fits the edge near a known middle and radius (pixels). `along` is the way from the person's right to their left (a
    /// unit way in the picture), `lids` the opening as a polygon. None where the edge is hidden or unclear.
    pub fn fit(picture: &impl Pixels, centre: Pixel, radius: f64, along: [f64; 2], lids: &[Pixel]) -> Option<Iris> {
        if !(radius.is_finite() && radius >= 3.0) {
            return None;
        }
        let mut fitted = (centre, radius);
        for _ in 0..3 {
            let edges = edges(picture, fitted.0, fitted.1, along, lids);
            let now = circle(&edges, fitted.0, fitted.1)?;
            if now.centre.to(centre) > 0.5 * radius || (now.radius / radius - 1.0).abs() > 0.3 {
                return None;
            }
            fitted = (now.centre, now.radius);
        }
        circle(&edges(picture, fitted.0, fitted.1, along, lids), fitted.0, fitted.1)
    }
}

/// Places of the edge: on each free ray the steepest rise from dark to light.
fn edges(
    picture: &impl Pixels,
    centre: Pixel,
    radius: f64,
    along: [f64; 2],
    lids: &[Pixel],
) -> Vec<(Pixel, f64, bool)> {
    let mut found = Vec::new();
    let turn = along[1].atan2(along[0]);
    for side in [0.0, std::f64::consts::PI] {
        for k in -12..=12 {
            // Up to 48 degrees from the horizontal: beyond, a lid covers the iris in most eyes.
            let angle = turn + side + f64::from(k) * 4.0f64.to_radians();
            let (sin, cos) = angle.sin_cos();
            let at = |r: f64| Pixel::new(centre.x + r * cos, centre.y + r * sin);
            if !inside(at(radius), lids, 0.10 * radius) || !inside(at(1.15 * radius), lids, 0.05 * radius) {
                continue;
            }
            if let Some((r, rise)) = steepest(picture, &at, radius) {
                found.push((at(r), rise, side == 0.0));
            }
        }
    }
    found
}

/// The radius at which a ray rises most steeply from dark to light, and by how much.
fn steepest(picture: &impl Pixels, at: &impl Fn(f64) -> Pixel, radius: f64) -> Option<(f64, f64)> {
    let n = 56;
    let step = 0.62 * radius / n as f64;
    let light = |r: f64| picture.rgb(at(r)).map(|c| 0.3 * c[0] + 0.6 * c[1] + 0.1 * c[2]);
    let profile: Vec<f64> = (0..=n).map(|i| light(0.70 * radius + step * i as f64)).collect::<Option<_>>()?;
    // The limbus is soft: the slope over an eighth of the radius, then the middle of its peak.
    let half = ((0.06 * radius / step).round() as usize).max(2);
    let slope: Vec<f64> = (half..=n - half)
        .map(|i| {
            let sum = |from: usize, to: usize| profile[from..to].iter().sum::<f64>();
            sum(i + 1, i + half + 1) - sum(i - half, i)
        })
        .map(|s| s / half as f64)
        .collect();
    let peak = (0..slope.len()).max_by(|a, b| slope[*a].total_cmp(&slope[*b]))?;
    if slope[peak] < 0.03 || peak == 0 || peak + 1 == slope.len() {
        return None;
    }
    let (mut sum, mut weight) = (0.0, 0.0);
    for (i, s) in slope.iter().enumerate().skip(peak.saturating_sub(half)).take(2 * half + 1) {
        let w = (s - 0.5 * slope[peak]).max(0.0);
        sum += w * (i + half) as f64;
        weight += w;
    }
    Some((0.70 * radius + step * sum / weight, slope[peak]))
}

/// A circle through the edges, far ones counting less and less (Tukey's biweight), by Gauss and Newton.
fn circle(edges: &[(Pixel, f64, bool)], centre: Pixel, radius: f64) -> Option<Iris> {
    let (mut c, mut r) = (centre, radius);
    let mut weights: Vec<f64> = vec![1.0; edges.len()];
    let mut u_radius = 0.0;
    for _ in 0..12 {
        let rest: Vec<f64> = edges.iter().map(|(p, ..)| p.to(c) - r).collect();
        let mut away: Vec<f64> = rest.iter().map(|d| d.abs()).collect();
        away.sort_by(f64::total_cmp);
        let scale = (1.4826 * away.get(away.len() / 2)?).max(0.01 * radius);
        for (w, d) in weights.iter_mut().zip(&rest) {
            let u = d / (4.0 * scale);
            *w = if u.abs() < 1.0 { (1.0 - u * u).powi(2) } else { 0.0 };
        }
        let mut normal = nalgebra::Matrix3::<f64>::zeros();
        let mut right = nalgebra::Vector3::zeros();
        for ((p, ..), (w, d)) in edges.iter().zip(weights.iter().zip(&rest)) {
            let away = p.to(c).max(1e-9);
            let j = nalgebra::Vector3::new((c.x - p.x) / away, (c.y - p.y) / away, -1.0);
            normal += j * j.transpose() * *w;
            right -= j * (*d * w);
        }
        // The height of the middle is hardly seen from two sides: it is held softly where it was.
        normal += nalgebra::Matrix3::from_diagonal(&nalgebra::Vector3::new(1e-6, 0.2, 1e-6));
        let inverse = normal.try_inverse()?;
        let step = inverse * right;
        c = Pixel::new(c.x + step[0], c.y + step[1]);
        r += step[2];
        let seen: f64 = weights.iter().sum();
        let variance = rest.iter().zip(&weights).map(|(d, w)| w * d * d).sum::<f64>() / (seen - 3.0).max(1.0);
        // Neighbouring rays share their pixels: about every third is news.
        u_radius = (3.0 * variance * inverse[(2, 2)]).sqrt();
    }
    let kept = |left: bool| edges.iter().zip(&weights).filter(|((.., l), w)| *l == left && **w > 0.1).count();
    let whole = kept(true) >= EACH && kept(false) >= EACH && kept(true) + kept(false) >= ENOUGH;
    (whole && r.is_finite() && r > 0.0).then_some(Iris { centre: c, radius: r, u_radius })
}

/// Whether a place lies within a polygon and at least `margin` from its edge.
fn inside(p: Pixel, polygon: &[Pixel], margin: f64) -> bool {
    let mut within = false;
    let mut nearest = f64::MAX;
    for (i, a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            within = !within;
        }
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let t = (((p.x - a.x) * dx + (p.y - a.y) * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
        nearest = nearest.min(p.to(Pixel::new(a.x + t * dx, a.y + t * dy)));
    }
    within && nearest >= margin
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A drawn eye: white, a dark disc with a soft edge, and lids that cover its top and bottom.
    struct Eye {
        centre: Pixel,
        radius: f64,
    }

    impl Pixels for Eye {
        fn rgb(&self, at: Pixel) -> Option<[f64; 3]> {
            let depth = (self.radius - at.to(self.centre)) / (0.05 * self.radius);
            let dark = 0.5 + 0.5 * depth.clamp(-1.0, 1.0);
            Some([0.85 - 0.6 * dark; 3])
        }
    }

    #[test]
    fn a_drawn_iris_is_measured_within_a_hundredth() {
        for (radius, dx, dy) in [(5.0, 0.3, -0.2), (9.0, 0.7, 0.5), (20.0, -1.5, 1.0), (60.0, 3.0, -4.0)] {
            let eye = Eye { centre: Pixel::new(100.3, 80.6), radius };
            let lid = |k: i32| {
                let a = f64::from(k) * std::f64::consts::TAU / 16.0;
                Pixel::new(100.3 + 2.4 * radius * a.cos(), 80.6 + 0.85 * radius * a.sin())
            };
            let lids: Vec<Pixel> = (0..16).map(lid).collect();
            let near = Pixel::new(100.3 + dx, 80.6 + dy);
            let got = Iris::fit(&eye, near, 1.08 * radius, [1.0, 0.0], &lids).expect("an iris");
            assert!((got.radius / radius - 1.0).abs() < 0.01, "{radius}: {got:?}");
            assert!((got.centre.x - 100.3).abs() < 0.02 * radius, "{radius}: {got:?}");
        }
    }

    #[test]
    fn closed_lids_show_no_iris() {
        let eye = Eye { centre: Pixel::new(100.0, 80.0), radius: 9.0 };
        let lids: Vec<Pixel> = (0..16).map(|k| Pixel::new(80.0 + 2.5 * f64::from(k), 80.0)).collect();
        assert_eq!(Iris::fit(&eye, Pixel::new(100.0, 80.0), 9.0, [1.0, 0.0], &lids), None);
    }
}
