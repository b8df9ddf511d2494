//! A share with its interval.

use super::normal_quantile;

/// Wilson's interval of a share, `of` more than 0 (Wilson 1927, J Am Stat Assoc 22:209): `[low, high]`, within 0 to 1. None where `of` is 0
/// or smaller than `count`.
pub fn wilson(count: usize, of: usize, level: f64) -> Option<[f64; 2]> {
    if of == 0 || count > of {
        return None;
    }
    let z = normal_quantile(0.5 + 0.5 * level);
    let (n, p) = (of as f64, count as f64 / of as f64);
    let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    // At the ends the formula gives 0 and 1 but for rounding.
    let low = if count == 0 { 0.0 } else { middle - half };
    let high = if count == of { 1.0 } else { middle + half };
    Some([low, high])
}

#[cfg(test)]
mod tests {
    use super::wilson;
    use proptest::prelude::*;

    #[test]
    fn ends() {
        assert_eq!(wilson(0, 0, 0.95), None);
        assert_eq!(wilson(3, 2, 0.95), None);
        // z^2 / (n + z^2) with z^2 = 3.8414588
        assert!((wilson(0, 10, 0.95).unwrap()[1] - 0.277_532_8).abs() < 1e-7);
        assert_eq!(wilson(10, 10, 0.95).unwrap()[1], 1.0);
    }

    proptest! {
        #[test]
        fn holds_the_share_and_mirrors(of in 1usize..500, part in 0.0..=1.0f64) {
            let count = (part * of as f64) as usize;
            let [low, high] = wilson(count, of, 0.95).unwrap();
            let p = count as f64 / of as f64;
            prop_assert!(0.0 <= low && low <= p && p <= high && high <= 1.0);
            let [l, h] = wilson(of - count, of, 0.95).unwrap();
            prop_assert!((l - (1.0 - high)).abs() < 1e-12 && (h - (1.0 - low)).abs() < 1e-12);
        }
    }
}
