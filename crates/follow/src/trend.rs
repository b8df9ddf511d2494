//! The run of the worked days, as a description: Theil-Sen's slope (Sen 1968, J Am Stat Assoc 63:1379).
//!
//! Sen's own interval takes days as untied and holds too little where they are tied (92 % at 0.6 a day). So the variance of Kendall's S
//! is taken under the ties that the change is fitted with. Where so few visits are left that not even the outermost slopes would do,
//! the interval is at least that of the slope's standard error with the prior.

use crate::change::within;
use crate::stats::{between, middle, normal_quantile, slopes, student_quantile};
use crate::{Prior, RHO, Visit};

/// A slope with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// The median slope of all pairs of visits, in the value's unit a day.
    pub slope: f64,
    /// The lower end of the 95 % interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

/// Fewer visits on worked days have no trend.
const LEAST: usize = 5;
const LEVEL: f64 = 0.95;

/// The trend of the worked days up to `end`; none with fewer than five visits on them, or with all on one day.
///
/// Coverage in simulations: 97 to 99 % at ties of 0 to 0.6 a day and standard deviations of 0.3 to 1.0 (`tests/oracle/follow.py`).
pub fn trend(visits: &[Visit], end: i32, prior: &Prior) -> Option<Trend> {
    let mut used: Vec<&Visit> = visits.iter().filter(|v| v.day >= 1 && v.day <= end).collect();
    used.sort_by_key(|v| v.day);
    if used.len() < LEAST {
        return None;
    }
    let x: Vec<f64> = used.iter().map(|v| f64::from(v.day)).collect();
    let y: Vec<f64> = used.iter().map(|v| v.mean).collect();
    let sorted = slopes(&x, &y);
    let slope = middle(&sorted)?;
    let ties = Ties::of(&used, prior);
    let reach = normal_quantile(0.5 + 0.5 * LEVEL) * ties.variance.sqrt();
    let [mut low, mut high] = between(&sorted, reach);
    if reach > sorted.len() as f64 - 2.0 {
        let half = ties.half_width(&x, &y, prior)?;
        (low, high) = (low.min(slope - half), high.max(slope + half));
    }
    Some(Trend { slope, low, high })
}

/// How visits are tied when nothing changes.
struct Ties {
    /// Covariance of visit means, for a standard deviation between days of 1.
    covariance: nalgebra::DMatrix<f64>,
    /// Variance of Kendall's S.
    variance: f64,
    /// How S falls with the slope, for a standard deviation of 1.
    steepness: f64,
}

impl Ties {
    fn of(visits: &[&Visit], prior: &Prior) -> Ties {
        let n = visits.len();
        let within = within(visits.iter().copied(), prior).powi(2);
        let covariance = nalgebra::DMatrix::from_fn(n, n, |i, j| {
            let own = if i == j { within / f64::from(visits[i].count.max(1)) / prior.sd.powi(2) } else { 0.0 };
            RHO.powi((visits[i].day - visits[j].day).abs()) + own
        });
        // The first order of S: each sign of a difference by its size over its standard deviation (Gaussian errors).
        let mut weights = nalgebra::DVector::zeros(n);
        let mut steepness = 0.0;
        for i in 0..n {
            for j in 0..i {
                let v = covariance[(i, i)] + covariance[(j, j)] - 2.0 * covariance[(i, j)];
                let (days, one) = (f64::from(visits[i].day - visits[j].day), (2.0 / std::f64::consts::PI / v).sqrt());
                if days > 0.0 {
                    weights[i] += one;
                    weights[j] -= one;
                    steepness += days * one;
                }
            }
        }
        // What the first order leaves out, as it is for untied days: n(n-1)(2n+5)/18 over n(n^2-1)/(3 pi). Against the sum over all pairs
        // of pairs, 2/pi asin(correlation), this is 1.5 % too small to 6 % too large.
        let n = n as f64;
        let rest = std::f64::consts::PI / 6.0 * (2.0 * n + 5.0) / (n + 1.0);
        let variance = weights.dot(&(&covariance * &weights)) * rest;
        Ties { covariance, variance, steepness }
    }

    /// Half the interval of the slope, by its standard error and Student's t; the scatter about a line of generalised least squares is
    /// drawn toward the prior.
    fn half_width(self, x: &[f64], y: &[f64], prior: &Prior) -> Option<f64> {
        let n = x.len();
        let (mx, my) = (x.iter().sum::<f64>() / n as f64, y.iter().sum::<f64>() / n as f64);
        let design = nalgebra::DMatrix::from_fn(n, 2, |i, j| if j == 0 { 1.0 } else { x[i] - mx });
        let y = nalgebra::DVector::from_iterator(n, y.iter().map(|v| v - my));
        let factor = self.covariance.cholesky()?;
        let weighted = factor.solve(&design);
        let b = (weighted.transpose() * &design).lu().solve(&(weighted.transpose() * &y))?;
        let rest = &y - design * b;
        let rss = rest.dot(&factor.solve(&rest)).max(0.0);
        let df = prior.df + (n - 2) as f64;
        let sigma = ((prior.df * prior.sd.powi(2) + rss) / df).sqrt();
        Some(student_quantile(0.5 + 0.5 * LEVEL, df) * sigma * self.variance.sqrt() / self.steepness)
    }
}

#[cfg(test)]
mod tests {
    use super::trend;
    use crate::{Prior, Value, Visit};
    use proptest::prelude::*;

    fn prior() -> Prior {
        Prior::stated(Value::usual())
    }

    fn visits(values: &[f64], every: i32) -> Vec<Visit> {
        values.iter().zip(0..).map(|(v, k)| Visit { day: 1 + every * k, mean: *v, count: 2, ss: 0.06 }).collect()
    }

    #[test]
    fn a_straight_line_is_found() {
        let t = trend(&visits(&[5.0, 4.7, 4.4, 4.1, 3.8, 3.5, 3.2, 2.9, 2.6, 2.3], 3), 28, &prior()).unwrap();
        assert!((t.slope + 0.1).abs() < 1e-12 && t.low <= t.slope && t.high >= t.slope, "{t:?}");
    }

    #[test]
    fn only_worked_days_up_to_the_end_count() {
        let mut all = visits(&[5.0, 4.0, 5.0, 4.0, 3.5], 3);
        let five = trend(&all, 28, &prior());
        assert!(five.is_some() && trend(&all, 12, &prior()).is_none());
        all.insert(0, Visit { day: 0, mean: 90.0, count: 2, ss: 0.0 });
        all.push(Visit { day: 29, mean: 90.0, count: 2, ss: 0.0 });
        assert_eq!(trend(&all, 28, &prior()), five);
        assert!(trend(&[Visit { day: 3, mean: 1.0, count: 1, ss: 0.0 }; 6], 28, &prior()).is_none());
    }

    proptest! {
        #[test]
        fn shifting_changes_nothing_and_turning_turns(values in prop::collection::vec(-5.0..5.0f64, 5..20), shift in -50.0..50.0f64) {
            let of = |f: &dyn Fn(f64) -> f64| trend(&visits(&values.iter().map(|v| f(*v)).collect::<Vec<_>>(), 2), 60, &prior()).unwrap();
            let (plain, moved, turned) = (of(&|v| v), of(&|v| v + shift), of(&|v| -v));
            prop_assert!(plain.low <= plain.slope && plain.slope <= plain.high);
            for (a, b) in [(plain.slope, moved.slope), (plain.low, moved.low), (plain.high, moved.high)] {
                prop_assert!((a - b).abs() < 1e-9);
            }
            for (a, b) in [(plain.slope, -turned.slope), (plain.low, -turned.high), (plain.high, -turned.low)] {
                prop_assert!((a - b).abs() < 1e-9);
            }
        }
    }
}
