//! All changes of sign.

/// Most differences whose changes of sign are all gone through: 2^20 of them.
pub const MOST_SIGNS: usize = 20;

/// The two-sided p value of a mean (of differences, say) against zero, by all changes of sign (Fisher 1935, The Design of Experiments,
/// section 21): twice the share of them whose mean is at least as far out on its side. Exact. None with no difference, and with
/// more than [`MOST_SIGNS`].
pub fn sign_changes(differences: &[f64]) -> Option<f64> {
    let n = differences.len();
    if n == 0 || n > MOST_SIGNS {
        return None;
    }
    let sum: f64 = differences.iter().sum();
    // Sums of the same numbers in another order may differ in their last digits: these count as equal.
    let slack = 1e-12 * differences.iter().map(|d| d.abs()).sum::<f64>();
    let (mut below, mut above) = (0u32, 0u32);
    walk(differences, 0.0, &mut |s| {
        below += u32::from(s <= sum + slack);
        above += u32::from(s >= sum - slack);
    });
    Some((2.0 * f64::from(below.min(above)) / f64::from(1u32 << n)).min(1.0))
}

fn walk(rest: &[f64], sum: f64, seen: &mut impl FnMut(f64)) {
    match rest {
        [] => seen(sum),
        [d, rest @ ..] => {
            walk(rest, sum + d, seen);
            walk(rest, sum - d, seen);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::sign_changes;
    use proptest::prelude::*;

    /// Darwin's maize: 863 of 32 768 sums are as large (Fisher 1935, section 21; from memory).
    #[test]
    fn darwins_maize() {
        let d = [6., 8., 14., 16., 23., 24., 28., 29., 41., -48., 49., 56., 60., -67., 75.];
        assert_eq!(sign_changes(&d), Some(2.0 * 863.0 / 32768.0));
    }

    #[test]
    fn bounds() {
        assert_eq!(sign_changes(&[]), None);
        assert_eq!(sign_changes(&[1.0; 21]), None);
        assert_eq!(sign_changes(&[1.0; 20]), Some(2.0 / f64::from(1 << 20)));
        assert_eq!(sign_changes(&[0.0; 3]), Some(1.0));
    }

    proptest! {
        #[test]
        fn the_other_way_round_is_the_same(d in prop::collection::vec(-9.0..9.0f64, 1..12)) {
            let turned: Vec<f64> = d.iter().map(|v| -v).collect();
            let p = sign_changes(&d).unwrap();
            prop_assert_eq!(p, sign_changes(&turned).unwrap());
            prop_assert!(p > 0.0 && p <= 1.0);
        }
    }
}
