//! The median of all slopes.

use super::normal_quantile;

/// A line by Theil and Sen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TheilSen {
    /// Median slope of all pairs whose places differ.
    pub slope: f64,
    /// Median of y less slope times median of x.
    pub intercept: f64,
    /// The lower end of Sen's interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

/// The line of Theil and Sen with Sen's interval at `level` (Sen 1968, J Am Stat Assoc 63:1379), for values that are not tied to one
/// another; ties among x or y are corrected for. None where the two differ in length or no two places differ.
pub fn theil_sen(x: &[f64], y: &[f64], level: f64) -> Option<TheilSen> {
    if x.len() != y.len() {
        return None;
    }
    let slopes = slopes(x, y);
    let slope = middle(&slopes)?;
    let term = |n: f64| n * (n - 1.0) * (2.0 * n + 5.0);
    let spread = |v: &[f64]| super::rank::ties(v).map(|t| term(t as f64)).sum::<f64>();
    let variance = (term(x.len() as f64) - spread(x) - spread(y)) / 18.0;
    let [low, high] = between(&slopes, normal_quantile(0.5 + 0.5 * level) * variance.max(0.0).sqrt());
    Some(TheilSen { slope, intercept: median(y)? - slope * median(x)?, low, high })
}

/// Sorted slopes of all pairs whose places differ.
pub(crate) fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let mut all = Vec::with_capacity(x.len() * x.len().saturating_sub(1) / 2);
    for i in 0..x.len() {
        for j in 0..i {
            if x[i] != x[j] {
                all.push((y[i] - y[j]) / (x[i] - x[j]));
            }
        }
    }
    all.sort_by(f64::total_cmp);
    all
}

/// The slopes with `(n - c) / 2` others outside on either side, `c` being the quantile of Kendall's S; the outermost where there are fewer.
pub(crate) fn between(sorted: &[f64], c: f64) -> [f64; 2] {
    let (n, last) = (sorted.len() as f64, sorted.len() - 1);
    // Halves go to the even neighbour, as in the reference library.
    let high = ((n + c) / 2.0).round_ties_even() as usize;
    let low = (((n - c) / 2.0).round_ties_even() - 1.0).max(0.0) as usize;
    [sorted[low.min(last)], sorted[high.min(last)]]
}

/// The median; none of nothing.
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    middle(&sorted)
}

/// The median of what is sorted.
pub(crate) fn middle(sorted: &[f64]) -> Option<f64> {
    let half = sorted.len() / 2;
    match sorted.len() {
        0 => None,
        n if n % 2 == 1 => Some(sorted[half]),
        _ => Some(0.5 * (sorted[half - 1] + sorted[half])),
    }
}

#[cfg(test)]
mod tests {
    use super::theil_sen;

    /// A made example; ten slopes by hand, the interval by scipy.
    #[test]
    fn five_weeks() {
        let t = theil_sen(&[0., 7., 14., 21., 28.], &[6.0, 5.4, 5.9, 4.8, 4.5], 0.95).unwrap();
        assert!((t.slope + 0.048_214_285_714_285_7).abs() < 1e-12 && (t.intercept - 6.075).abs() < 1e-12, "{t:?}");
        assert!((t.low + 1.1 / 7.0).abs() < 1e-12 && (t.high - 0.5 / 7.0).abs() < 1e-12, "{t:?}");
    }

    #[test]
    fn nothing_to_say() {
        assert!(theil_sen(&[], &[], 0.95).is_none());
        assert!(theil_sen(&[1.0, 1.0], &[1.0, 2.0], 0.95).is_none());
        assert!(theil_sen(&[1.0], &[1.0, 2.0], 0.95).is_none());
    }
}
