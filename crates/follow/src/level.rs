//! One level of one series: its mean with an interval that knows that days are tied, and the size of its noise.
//!
//! The same noise as in [`change()`](crate::change()): a fixed tie between days, a size drawn toward a prior. A tie that falls by the same
//! share each day makes a chain, so that generalised least squares needs no matrix: each day is held against what the day before it
//! leaves to expect (Prais and Winsten 1954; from memory).

use crate::change::RHO;
use crate::stats::student_quantile;
use crate::{Change, Prior};

/// A mean with what is known of its noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// The mean, with its 95 % interval.
    pub mean: Change,
    /// Standard deviation of one day, drawn toward the prior.
    pub sigma: f64,
    /// Of so many days.
    pub days: usize,
}

/// The level of values on days, in any order; several on one day count as their mean. None without one, or with a number that is not finite.
pub fn level(values: &[(i32, f64)], prior: &Prior) -> Option<Level> {
    if values.is_empty() || values.iter().any(|v| !v.1.is_finite()) {
        return None;
    }
    let days = by_day(values);
    // Each day as what it adds: weight, its share of the mean, and the value less what the day before leaves to expect.
    let mut before: Option<(i32, f64)> = None;
    let mut steps = Vec::new();
    for (day, value) in &days {
        let (tie, last) = before.map_or((0.0, 0.0), |(d, v)| (RHO.powi(day - d), v));
        steps.push((1.0 / (1.0 - tie * tie), 1.0 - tie, value - tie * last));
        before = Some((*day, *value));
    }
    let known: f64 = steps.iter().map(|(w, share, _)| w * share * share).sum();
    let mean = steps.iter().map(|(w, share, rest)| w * share * rest).sum::<f64>() / known;
    let squares: f64 = steps.iter().map(|(w, share, rest)| w * (rest - share * mean).powi(2)).sum();
    let df = prior.df + days.len() as f64 - 1.0;
    let sigma = ((prior.df * prior.sd.powi(2) + squares) / df).sqrt();
    let half = student_quantile(0.975, df) * sigma / known.sqrt();
    let mean = Change { estimate: mean, low: mean - half, high: mean + half, level: 0.95 };
    Some(Level { mean, sigma, days: days.len() })
}

/// Sorted, each day once.
fn by_day(values: &[(i32, f64)]) -> Vec<(i32, f64)> {
    let mut sums: std::collections::BTreeMap<i32, (f64, f64)> = std::collections::BTreeMap::new();
    for (day, value) in values {
        let (sum, n) = sums.entry(*day).or_default();
        *sum += value;
        *n += 1.0;
    }
    sums.into_iter().map(|(day, (sum, n))| (day, sum / n)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers between 0 and 1, the same each time (Steele, Lea, Flood 2014: SplitMix64; from memory).
    struct Draw(u64);

    impl Draw {
        fn unit(&mut self) -> f64 {
            self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = self.0;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
        }

        /// Box and Muller 1958.
        fn normal(&mut self) -> f64 {
            let (u, v) = (self.unit().max(1e-300), self.unit());
            (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
        }
    }

    #[test]
    fn the_interval_holds_the_truth_whatever_the_tie() {
        let prior = Prior::given(1.5, 0.25);
        // The last row's days scatter a third more than the prior says, and are tied as strongly as is taken: the worst corner.
        for (rho, sd, bar) in [(0.0, 1.0, 0.95), (0.3, 1.0, 0.95), (0.6, 1.0, 0.95), (0.3, 2.0, 0.95), (0.6, 2.0, 0.94)]
        {
            let mut draw = Draw(7);
            let (runs, mut held) = (10_000, 0);
            for _ in 0..runs {
                let mut state = sd * draw.normal();
                let mut values = Vec::new();
                for day in 1..=28 {
                    state = rho * state + sd * (1.0_f64 - rho * rho).sqrt() * draw.normal();
                    if draw.unit() < 0.7 {
                        values.push((day, 1.0 + state));
                    }
                }
                let found = level(&values, &prior).expect("a level");
                held += usize::from(found.mean.low <= 1.0 && found.mean.high >= 1.0);
            }
            let share = held as f64 / f64::from(runs);
            assert!(share >= bar, "rho {rho}, sd {sd}: {share}");
        }
    }

    #[test]
    fn one_day_and_none() {
        let prior = Prior::given(1.5, 0.25);
        assert_eq!(level(&[], &prior), None);
        assert_eq!(level(&[(1, f64::NAN)], &prior), None);
        let twice = level(&[(2, 5.0), (1, 3.0), (1, 1.0)], &prior).expect("a level");
        assert_eq!(twice.days, 2);
        // Of two days the mean is their middle, whatever the tie.
        assert!((twice.mean.estimate - 3.5).abs() < 1e-12, "{twice:?}");
        let one = level(&[(1, 2.0)], &prior).expect("a level");
        assert_eq!((one.mean.estimate, one.days), (2.0, 1));
        // Student's t on 1 degree of freedom at 0.975 is 12.706 (any table).
        assert!((one.mean.high - 2.0 - 12.706 * 1.5).abs() < 0.01, "{one:?}");
    }
}
