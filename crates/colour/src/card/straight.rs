//! Straightening one channel on the card's grey steps: undoing the camera's tone curve.

use nalgebra::{DMatrix, DVector};

/// Beyond the grey steps the curve goes on as the power it has there, with an exponent kept within these. A camera's curve
/// on top of its file's own is milder than that. Our own choice.
const EXPONENTS: (f64, f64) = (0.4, 2.5);
/// That far below the darkest step (as a share of its light) the power gives way to a line through the origin, so that
/// light at and below 0 has a meaning.
const FLOOR: f64 = 0.25;

/// One channel: ln(true light) as a polynomial of ln(light), rising over the steps.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Straight {
    /// Coefficients of powers of ln(light) - `centre`.
    terms: Vec<f64>,
    centre: f64,
    /// ln(light) of the darkest and brightest step.
    range: (f64, f64),
}

impl Straight {
    /// Nothing to straighten.
    pub(crate) fn none() -> Straight {
        Straight { terms: vec![0.0, 1.0], centre: 0.0, range: (0.0, 0.0) }
    }

    /// Least squares on pairs of (light, true light), all above 0, as a polynomial of this degree; degree 0 is a gain. None
    /// where the steps do not bear it, or the curve does not rise.
    pub(crate) fn fit(steps: &[(f64, f64)], degree: usize) -> Option<Straight> {
        let n = steps.len();
        if n <= degree {
            return None;
        }
        let logs: Vec<(f64, f64)> = steps.iter().map(|(r, t)| (r.ln(), t.ln())).collect();
        let range = logs.iter().fold((f64::MAX, f64::MIN), |(l, h), (u, _)| (l.min(*u), h.max(*u)));
        let centre = logs.iter().map(|(u, _)| u).sum::<f64>() / n as f64;
        if degree == 0 {
            let gain = logs.iter().map(|(u, v)| v - u).sum::<f64>() / n as f64;
            return Some(Straight { terms: vec![gain + centre, 1.0], centre, range });
        }
        if range.1 - range.0 < 0.3 {
            return None;
        }
        let rows = DMatrix::from_fn(n, degree + 1, |i, k| (logs[i].0 - centre).powi(k as i32));
        let sought = DVector::from_fn(n, |i, _| logs[i].1);
        let terms = rows.svd(true, true).solve(&sought, 1e-9).ok()?;
        let curve = Straight { terms: terms.iter().copied().collect(), centre, range };
        let rises = (0..=32).all(|i| {
            let slope = curve.slope(range.0 + (range.1 - range.0) * f64::from(i) / 32.0);
            (EXPONENTS.0..=EXPONENTS.1).contains(&slope)
        });
        rises.then_some(curve)
    }

    fn value(&self, u: f64) -> f64 {
        self.terms.iter().rev().fold(0.0, |sum, c| sum * (u - self.centre) + c)
    }

    fn slope(&self, u: f64) -> f64 {
        let powers = self.terms.iter().enumerate().skip(1).rev();
        powers.fold(0.0, |sum, (k, c)| sum * (u - self.centre) + k as f64 * c)
    }

    /// The true light of a light.
    pub(crate) fn apply(&self, light: f64) -> f64 {
        let floor = FLOOR * self.range.0.exp();
        if light <= floor {
            return self.above(floor) * light / floor;
        }
        self.above(light)
    }

    fn above(&self, light: f64) -> f64 {
        let u = light.ln();
        let near = u.clamp(self.range.0, self.range.1);
        (self.value(near) + self.slope(near).clamp(EXPONENTS.0, EXPONENTS.1) * (u - near)).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_is_undone_exactly() {
        let steps: Vec<(f64, f64)> = [0.03f64, 0.1, 0.3, 0.9].iter().map(|t| (0.8 * t.powf(0.9), *t)).collect();
        for degree in 1..=3 {
            let curve = Straight::fit(&steps, degree).unwrap();
            for t in [0.01f64, 0.05, 0.5, 1.0, 1.3] {
                let found = curve.apply(0.8 * t.powf(0.9));
                assert!((found / t - 1.0).abs() < 1e-6, "degree {degree}: {found} against {t}");
            }
        }
    }

    #[test]
    fn it_rises_everywhere_and_passes_the_origin() {
        let steps = [(0.02, 0.03), (0.1, 0.12), (0.3, 0.28), (0.7, 0.75)];
        for degree in 0..=2 {
            let curve = Straight::fit(&steps, degree).unwrap();
            let mut last = curve.apply(-0.01);
            assert!(last < 0.0);
            for i in -9..2000 {
                let now = curve.apply(f64::from(i) * 1e-3);
                assert!(now > last, "degree {degree} at {i}");
                last = now;
            }
            assert_eq!(curve.apply(0.0), 0.0);
        }
    }

    #[test]
    fn what_does_not_rise_is_refused() {
        assert_eq!(Straight::fit(&[(0.1, 0.5), (0.5, 0.1)], 1), None);
        assert_eq!(Straight::fit(&[(0.1, 0.1)], 1), None);
    }
}
