//! Random effects: many estimates, each with its own standard error, whose true values differ.

use super::student_quantile;

/// A random-effects summary.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RandomEffects {
    /// Mean of the true values.
    pub mean: f64,
    /// Its standard error by Hartung and Knapp.
    pub se: f64,
    /// Variance of the true values, by REML.
    pub tau2: f64,
    /// How many estimates.
    pub n: usize,
}

impl RandomEffects {
    /// The interval of the mean: Student's t with n - 1 degrees of freedom (Hartung and Knapp 2001, Stat Med 20:3875).
    pub fn interval(&self, level: f64) -> [f64; 2] {
        self.around(student_quantile(0.5 + 0.5 * level, self.n as f64 - 1.0) * self.se)
    }

    /// Where the true value of one more would lie: Student's t with n - 2 degrees of freedom (Higgins, Thompson, Spiegelhalter 2009,
    /// J R Stat Soc A 172:137, equation 12), around the mean with the standard error of Hartung and Knapp. None with fewer than three.
    pub fn prediction(&self, level: f64) -> Option<[f64; 2]> {
        let spread = (self.tau2 + self.se * self.se).sqrt();
        (self.n >= 3).then(|| self.around(student_quantile(0.5 + 0.5 * level, self.n as f64 - 2.0) * spread))
    }

    fn around(&self, half: f64) -> [f64; 2] {
        [self.mean - half, self.mean + half]
    }
}

/// Summarises estimates, each with its variance (more than 0, finite). The variance between is that of largest restricted likelihood
/// (REML: Viechtbauer 2005, J Educ Behav Stat 30:261), zero or more. None with fewer than two.
pub fn random_effects(estimates: &[(f64, f64)]) -> Option<RandomEffects> {
    if estimates.len() < 2 || !estimates.iter().all(|(y, v)| y.is_finite() && v.is_finite() && *v > 0.0) {
        return None;
    }
    let tau2 = reml(estimates);
    let at = Sums::at(estimates, tau2);
    let se = (at.spread / ((estimates.len() - 1) as f64 * at.weight)).sqrt();
    Some(RandomEffects { mean: at.mean, se, tau2, n: estimates.len() })
}

/// The estimates, weighted for one variance between.
struct Sums {
    weight: f64,
    mean: f64,
    /// Weighted squares about the mean.
    spread: f64,
    /// Slope of the restricted log-likelihood.
    score: f64,
}

impl Sums {
    fn at(estimates: &[(f64, f64)], tau2: f64) -> Sums {
        let (mut weight, mut squares, mut total) = (0.0, 0.0, 0.0);
        for (y, v) in estimates {
            let w = 1.0 / (v + tau2);
            weight += w;
            squares += w * w;
            total += w * y;
        }
        let mean = total / weight;
        let (mut spread, mut steep) = (0.0, 0.0);
        for (y, v) in estimates {
            let w = 1.0 / (v + tau2);
            let part = w * (y - mean) * (y - mean);
            spread += part;
            steep += w * part;
        }
        Sums { weight, mean, spread, score: 0.5 * (steep - weight + squares / weight) }
    }

    fn log_likelihood(&self, estimates: &[(f64, f64)], tau2: f64) -> f64 {
        -0.5 * (estimates.iter().map(|(_, v)| (v + tau2).ln()).sum::<f64>() + self.weight.ln() + self.spread)
    }
}

/// Steps of the search for places where the likelihood turns; they may be several.
const STEPS: i32 = 32;

fn reml(estimates: &[(f64, f64)]) -> f64 {
    let score = |tau2: f64| Sums::at(estimates, tau2).score;
    let (least, most) = estimates.iter().fold((f64::MAX, f64::MIN), |(a, b), (y, _)| (a.min(*y), b.max(*y)));
    let mut top = (most - least).powi(2).max(1e-300);
    while score(top) > 0.0 {
        top *= 4.0;
    }
    let grid: Vec<f64> = std::iter::once(0.0).chain((0..=STEPS).map(|k| top * 0.5f64.powi(STEPS - k))).collect();
    let slopes: Vec<f64> = grid.iter().map(|t| score(*t)).collect();
    let mut tops: Vec<f64> = (1..grid.len())
        .filter(|k| slopes[k - 1] > 0.0 && slopes[*k] <= 0.0)
        .map(|k| root(score, [grid[k - 1], grid[k]], [slopes[k - 1], slopes[k]]))
        .collect();
    if slopes[0] <= 0.0 {
        tops.push(0.0);
    }
    if tops.len() > 1 {
        let height = |t: &f64| Sums::at(estimates, *t).log_likelihood(estimates, *t);
        tops.sort_by(|a, b| height(b).total_cmp(&height(a)));
    }
    tops.first().copied().unwrap_or(0.0)
}

/// The zero of a function between two places where its sign differs: the secant with a halved end (Dowell and Jarratt 1971, BIT 11:168).
fn root(f: impl Fn(f64) -> f64, [mut a, mut b]: [f64; 2], [mut fa, mut fb]: [f64; 2]) -> f64 {
    for _ in 0..200 {
        let c = b - fb * (b - a) / (fb - fa);
        let fc = f(c);
        let moved = (c - b).abs();
        if fc * fb < 0.0 {
            (a, fa) = (b, fb);
        } else {
            fa *= 0.5;
        }
        (b, fb) = (c, fc);
        if fc == 0.0 || moved <= 1e-14 * c.abs() || (b - a).abs() <= 1e-15 * b.abs() {
            break;
        }
    }
    b
}

#[cfg(test)]
mod tests {
    use super::random_effects;
    use proptest::prelude::*;

    #[test]
    fn nothing_to_say() {
        assert!(random_effects(&[]).is_none() && random_effects(&[(1.0, 1.0)]).is_none());
        assert!(random_effects(&[(1.0, 0.0), (2.0, 1.0)]).is_none());
        let same = random_effects(&[(1.0, 1.0), (1.0, 2.0)]).unwrap();
        assert_eq!((same.mean, same.se, same.tau2), (1.0, 0.0, 0.0));
        assert!(same.prediction(0.95).is_none());
    }

    /// With equal variances REML has a closed form: the variance of the estimates less their own.
    #[test]
    fn equal_variances() {
        let y = [1.0, 3.0, -2.0, 4.0, 0.5];
        let (mean, n) = (y.iter().sum::<f64>() / 5.0, 5.0);
        let spread = y.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
        let r = random_effects(&y.map(|v| (v, 0.7))).unwrap();
        assert!((r.mean - mean).abs() < 1e-12 && (r.tau2 - (spread - 0.7)).abs() < 1e-9, "{r:?}");
        assert!((r.se - (spread / n).sqrt()).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn moves_with_its_members(estimates in prop::collection::vec((-5.0..5.0f64, 0.01..4.0f64), 2..30), shift in -9.0..9.0f64) {
            let r = random_effects(&estimates).unwrap();
            let moved: Vec<_> = estimates.iter().map(|(y, v)| (y + shift, *v)).collect();
            let m = random_effects(&moved).unwrap();
            prop_assert!((m.mean - r.mean - shift).abs() < 1e-6 && (m.tau2 - r.tau2).abs() < 1e-6 * (1.0 + r.tau2));
            let turned: Vec<_> = estimates.iter().rev().map(|(y, v)| (-y, *v)).collect();
            let t = random_effects(&turned).unwrap();
            prop_assert!((t.mean + r.mean).abs() < 1e-6 && (t.se - r.se).abs() < 1e-6);
            let inside = estimates.iter().fold((f64::MAX, f64::MIN), |(a, b), (y, _)| (a.min(*y), b.max(*y)));
            prop_assert!(r.tau2 >= 0.0 && r.mean >= inside.0 - 1e-9 && r.mean <= inside.1 + 1e-9);
        }
    }
}
