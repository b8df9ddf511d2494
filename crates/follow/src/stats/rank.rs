//! What only asks which is larger: Kendall's tau, the test of Mann and Kendall.

use super::{normal_quantile, normal_two_sided, theil_sen};

/// How often each number comes, for those that come more than once.
pub(crate) fn ties(values: &[f64]) -> impl Iterator<Item = usize> + use<> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let runs: Vec<usize> = sorted.chunk_by(|a, b| a == b).map(<[f64]>::len).filter(|n| *n > 1).collect();
    runs.into_iter()
}

/// Ranks from 1; equal numbers share the mean of theirs.
pub(crate) fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut ranks = vec![0.0; values.len()];
    let mut before = 0;
    for run in order.chunk_by(|a, b| values[*a] == values[*b]) {
        for at in run {
            ranks[*at] = before as f64 + 0.5 * (run.len() as f64 + 1.0);
        }
        before += run.len();
    }
    ranks
}

fn sign(v: f64) -> i64 {
    i64::from(v > 0.0) - i64::from(v < 0.0)
}

/// Kendall's tau-b, -1 to 1, ties corrected for (Kendall 1945, Biometrika 33:239). None where the two differ in length or one of them
/// never varies. Takes time with the square of the length.
pub fn kendall_tau(x: &[f64], y: &[f64]) -> Option<f64> {
    if x.len() != y.len() {
        return None;
    }
    let (mut s, mut along_x, mut along_y) = (0, 0, 0);
    for i in 0..x.len() {
        for j in 0..i {
            let (dx, dy) = (sign(x[i] - x[j]), sign(y[i] - y[j]));
            s += dx * dy;
            along_x += dx.abs();
            along_y += dy.abs();
        }
    }
    (along_x > 0 && along_y > 0).then(|| s as f64 / (along_x as f64 * along_y as f64).sqrt())
}

/// The test of Mann and Kendall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MannKendall {
    /// Pairs that rise less pairs that fall.
    pub s: i64,
    /// Variance of `s` where nothing changes.
    pub variance: f64,
    /// Normal deviate, corrected for continuity.
    pub z: f64,
    /// Two-sided p value.
    pub p: f64,
}

impl MannKendall {
    fn of(s: i64, variance: f64) -> Option<MannKendall> {
        let z = (s - s.signum()) as f64 / variance.sqrt();
        (variance > 0.0).then(|| MannKendall { s, variance, z, p: normal_two_sided(z) })
    }
}

fn rise(y: &[f64]) -> i64 {
    (0..y.len()).map(|i| (0..i).map(|j| sign(y[i] - y[j])).sum::<i64>()).sum()
}

/// The test of Mann and Kendall for a trend, with correction for ties (Mann 1945, Econometrica 13:245; Kendall 1975, Rank Correlation
/// Methods), of numbers in the order of time that are not tied to one another. None where nothing varies.
pub fn mann_kendall(y: &[f64]) -> Option<MannKendall> {
    let term = |n: f64| n * (n - 1.0) * (2.0 * n + 5.0);
    let variance = (term(y.len() as f64) - ties(y).map(|t| term(t as f64)).sum::<f64>()) / 18.0;
    MannKendall::of(rise(y), variance)
}

/// The same with the variance of Hamed and Rao (1998, J Hydrol 204:182) for neighbours that are tied, of evenly spaced numbers: by the
/// autocorrelation of ranks at lags where it is significant at 5 %. Only compared with: alone it raises 9 to 26 % false alarms on
/// our designs. None where nothing varies or the corrected variance is not positive.
pub fn hamed_rao(y: &[f64]) -> Option<MannKendall> {
    let plain = mann_kendall(y)?;
    let n = y.len();
    let at: Vec<f64> = (0..n).map(|i| i as f64).collect();
    let slope = theil_sen(&at, y, 0.95)?.slope;
    let rest: Vec<f64> = y.iter().zip(&at).map(|(y, i)| y - slope * (i + 1.0)).collect();
    let ranks = ranks(&rest);
    let mean = ranks.iter().sum::<f64>() / n as f64;
    let tied = |lag: usize| -> f64 { (0..n - lag).map(|i| (ranks[i] - mean) * (ranks[i + lag] - mean)).sum() };
    let (all, limit) = (tied(0), normal_quantile(0.975) / (n as f64).sqrt());
    let more: f64 = (1..n)
        .map(|lag| (lag as f64, tied(lag) / all))
        .filter(|(_, r)| r.abs() > limit)
        .map(|(lag, r)| (n as f64 - lag) * (n as f64 - lag - 1.0) * (n as f64 - lag - 2.0) * r)
        .sum();
    let n = n as f64;
    MannKendall::of(plain.s, plain.variance * (1.0 + 2.0 / (n * (n - 1.0) * (n - 2.0)) * more))
}

#[cfg(test)]
mod tests {
    use super::{hamed_rao, kendall_tau, mann_kendall, ranks};
    use proptest::prelude::*;

    #[test]
    fn by_hand() {
        assert_eq!(ranks(&[3.0, 1.0, 3.0, 2.0]), [3.5, 1.0, 3.5, 2.0]);
        assert_eq!(kendall_tau(&[1., 2., 3.], &[1., 2., 3.]), Some(1.0));
        let m = mann_kendall(&[1., 2., 3., 4.]).unwrap();
        assert_eq!((m.s, m.variance), (6, 4.0 * 3.0 * 13.0 / 18.0));
        assert!(mann_kendall(&[2., 2., 2.]).is_none() && mann_kendall(&[]).is_none() && hamed_rao(&[1.0]).is_none());
        assert_eq!(kendall_tau(&[1., 1.], &[1., 2.]), None);
    }

    proptest! {
        #[test]
        fn backwards_turns_the_sign(y in prop::collection::vec((-20..20i32).prop_map(f64::from), 3..30)) {
            let back: Vec<f64> = y.iter().rev().copied().collect();
            match (mann_kendall(&y), mann_kendall(&back)) {
                (Some(a), Some(b)) => prop_assert!(a.s == -b.s && a.p == b.p && a.variance == b.variance),
                (a, b) => prop_assert!(a.is_none() && b.is_none()),
            }
        }

        #[test]
        fn tau_is_bounded_and_even(y in prop::collection::vec((-9..9i32).prop_map(f64::from), 3..30)) {
            let x: Vec<f64> = (0..y.len()).map(|i| (i / 2) as f64).collect();
            if let Some(tau) = kendall_tau(&x, &y) {
                prop_assert!(tau.abs() <= 1.0 + 1e-12 && kendall_tau(&y, &x) == Some(tau));
            }
        }
    }
}
