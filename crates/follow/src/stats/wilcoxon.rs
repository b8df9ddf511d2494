//! Signed ranks.

use super::normal_two_sided;
use super::rank::{ranks, ties};

/// Most differences whose p value is counted out; beyond it is approximated.
pub const MOST_EXACT: usize = 50;

/// The signed-rank test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wilcoxon {
    /// Sum of ranks of the differences above zero.
    pub above: f64,
    /// Sum of ranks of those below.
    pub below: f64,
    /// Differences that are not zero.
    pub n: usize,
    /// Two-sided p value.
    pub p: f64,
    /// Whether it is counted out, or approximated.
    pub exact: bool,
}

/// The signed-rank test (Wilcoxon 1945, Biometrics Bull 1:80). Zeros are left out. Up to [`MOST_EXACT`] differences without zeros or
/// equal sizes the p value is counted out; else it is the normal one, corrected for ties and continuity. None where only zeros are left.
pub fn wilcoxon(differences: &[f64]) -> Option<Wilcoxon> {
    let left: Vec<f64> = differences.iter().copied().filter(|d| *d != 0.0).collect();
    let sizes: Vec<f64> = left.iter().map(|d| d.abs()).collect();
    let ranks = ranks(&sizes);
    let n = left.len();
    if n == 0 {
        return None;
    }
    let above: f64 = left.iter().zip(&ranks).filter(|(d, _)| **d > 0.0).map(|(_, r)| r).sum();
    let below = ranks.iter().sum::<f64>() - above;
    let exact = n == differences.len() && n <= MOST_EXACT && ties(&sizes).next().is_none();
    let p = if exact { (2.0 * counted(n, above.min(below) as usize)).min(1.0) } else { normal(n, above, &sizes) };
    Some(Wilcoxon { above, below, n, p, exact })
}

/// The share of the 2^n ways to sign the ranks 1 to n whose positive ones add up to `most` at most.
fn counted(n: usize, most: usize) -> f64 {
    let total = n * (n + 1) / 2;
    // Whole numbers up to 2^50: exact.
    let mut ways = vec![0.0; total + 1];
    ways[0] = 1.0;
    for rank in 1..=n {
        for sum in (rank..=total).rev() {
            ways[sum] += ways[sum - rank];
        }
    }
    ways[..=most.min(total)].iter().sum::<f64>() / 2f64.powi(n as i32)
}

fn normal(n: usize, above: f64, sizes: &[f64]) -> f64 {
    let n = n as f64;
    let tied: f64 = ties(sizes).map(|t| (t as f64).powi(3) - t as f64).sum();
    let sd = ((n * (n + 1.0) * (2.0 * n + 1.0) - 0.5 * tied) / 24.0).sqrt();
    let off = above - n * (n + 1.0) / 4.0;
    // The half towards the middle; nothing where it stands there.
    let corrected = if off == 0.0 { 0.0 } else { off - 0.5 * off.signum() };
    normal_two_sided(corrected / sd)
}

#[cfg(test)]
mod tests {
    use super::{counted, wilcoxon};
    use proptest::prelude::*;

    /// Darwin's maize: two ways to 24 at most in 1 352 of 32 768 (data from memory, value as computed by scipy).
    #[test]
    fn darwins_maize() {
        let d = [6., 8., 14., 16., 23., 24., 28., 29., 41., -48., 49., 56., 60., -67., 75.];
        let w = wilcoxon(&d).unwrap();
        assert_eq!((w.below, w.p, w.exact), (24.0, 1352.0 / 32768.0, true));
    }

    #[test]
    fn counts_are_those_of_all_signs() {
        for n in 1..=12usize {
            for most in 0..=n * (n + 1) / 2 {
                let all = (0..1u32 << n)
                    .filter(|bits| (1..=n).filter(|r| bits & (1 << (r - 1)) != 0).sum::<usize>() <= most)
                    .count();
                assert_eq!(counted(n, most), all as f64 / f64::from(1u32 << n), "{n} {most}");
            }
        }
    }

    #[test]
    fn nothing_to_say() {
        assert!(wilcoxon(&[]).is_none() && wilcoxon(&[0.0]).is_none());
        assert_eq!(wilcoxon(&[1.0]).unwrap().p, 1.0);
    }

    proptest! {
        #[test]
        fn the_other_way_round_is_the_same(d in prop::collection::vec((-30..30i32).prop_map(f64::from), 1..60)) {
            let turned: Vec<f64> = d.iter().map(|v| -v).collect();
            match (wilcoxon(&d), wilcoxon(&turned)) {
                (Some(a), Some(b)) => prop_assert!(a.above == b.below && (a.p - b.p).abs() < 1e-12 && a.p <= 1.0),
                (a, b) => prop_assert!(a.is_none() && b.is_none()),
            }
        }
    }
}
