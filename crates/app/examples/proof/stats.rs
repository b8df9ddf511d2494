//! The few statistics that the table needs.

/// A quantile of values, 0 to 1, straight between neighbours; not a number for none.
pub fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    if sorted.is_empty() {
        return f64::NAN;
    }
    sorted.sort_by(f64::total_cmp);
    let at = share * (sorted.len() - 1) as f64;
    let low = at.floor() as usize;
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + (sorted[high] - sorted[low]) * (at - low as f64)
}

/// Spearman's rank correlation, mean ranks for ties.
pub fn spearman(pairs: &[(f64, f64)]) -> f64 {
    let ranks = |of: &dyn Fn(&(f64, f64)) -> f64| {
        let mut order: Vec<usize> = (0..pairs.len()).collect();
        order.sort_by(|a, b| of(&pairs[*a]).total_cmp(&of(&pairs[*b])));
        let mut ranks = vec![0.0; pairs.len()];
        let mut i = 0;
        while i < order.len() {
            let mut j = i;
            while j + 1 < order.len() && of(&pairs[order[j + 1]]) == of(&pairs[order[i]]) {
                j += 1;
            }
            for k in i..=j {
                ranks[order[k]] = (i + j) as f64 / 2.0;
            }
            i = j + 1;
        }
        ranks
    };
    let (a, b) = (ranks(&|p| p.0), ranks(&|p| p.1));
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let (ma, mb) = (mean(&a), mean(&b));
    let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
    for (x, y) in a.iter().zip(&b) {
        ab += (x - ma) * (y - mb);
        aa += (x - ma).powi(2);
        bb += (y - mb).powi(2);
    }
    ab / (aa * bb).sqrt()
}

/// A share in percent; not a number for none.
pub fn percent(count: usize, of: usize) -> f64 {
    if of == 0 { f64::NAN } else { 100.0 * count as f64 / of as f64 }
}
