//! Several p values at once.

/// Adjusted p values, in the order given (Holm 1979, Scand J Stat 6:65): each is the smallest level at which its hypothesis would be
/// rejected while the whole family errs in no more than that share.
pub fn holm(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*a].total_cmp(&p[*b]));
    let mut adjusted = vec![0.0; p.len()];
    let mut least: f64 = 0.0;
    for (done, at) in order.into_iter().enumerate() {
        least = least.max(((p.len() - done) as f64 * p[at]).min(1.0));
        adjusted[at] = least;
    }
    adjusted
}

#[cfg(test)]
mod tests {
    use super::holm;
    use proptest::prelude::*;

    #[test]
    fn worked_by_hand() {
        assert_eq!(holm(&[0.01, 0.04, 0.03, 0.005]), [0.03, 0.06, 0.06, 0.02]);
        assert_eq!(holm(&[0.9, 0.8]), [1.0, 1.0]);
        assert!(holm(&[]).is_empty());
    }

    proptest! {
        #[test]
        fn never_smaller_and_in_the_same_order(p in prop::collection::vec(0.0..=1.0f64, 1..20)) {
            let adjusted = holm(&p);
            for i in 0..p.len() {
                prop_assert!(adjusted[i] >= p[i] && adjusted[i] <= 1.0);
                for j in 0..p.len() {
                    prop_assert!(p[i] > p[j] || adjusted[i] <= adjusted[j]);
                }
            }
        }
    }
}
