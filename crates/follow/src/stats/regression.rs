//! Linear regression by orthogonal triangles.

use nalgebra::{DMatrix, DVector};

/// An ordinary least-squares fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Regression {
    /// Coefficients, in the order of the columns.
    pub b: Vec<f64>,
    /// Their standard errors; NaN without degrees of freedom.
    pub se: Vec<f64>,
    /// Residual standard deviation; NaN without degrees of freedom.
    pub sd: f64,
    /// Residual sum of squares.
    pub rss: f64,
    /// Observations less columns.
    pub df: usize,
}

/// A line: intercept and slope. As [`regression`].
pub fn linear(x: &[f64], y: &[f64]) -> Option<Regression> {
    polynomial(x, y, 1)
}

/// A polynomial of this degree, the constant first. As [`regression`].
pub fn polynomial(x: &[f64], y: &[f64], degree: usize) -> Option<Regression> {
    let columns: Vec<Vec<f64>> = (0..=degree).map(|d| x.iter().map(|x| x.powi(d as i32)).collect()).collect();
    regression(&columns, y)
}

/// Least squares of `y` on columns of the same length (a constant is one of them), by Householder's QR of scaled columns, with residuals
/// and coefficients improved together in twice the precision (Bjorck 1967, BIT 7:257; textbook: Golub and Van Loan 2013, Matrix
/// Computations, section 5.3.8; from memory). None where lengths differ, observations are fewer than columns, or columns depend on
/// one another.
pub fn regression(columns: &[Vec<f64>], y: &[f64]) -> Option<Regression> {
    let (n, p) = (y.len(), columns.len());
    if p == 0 || n < p || columns.iter().any(|c| c.len() != n) {
        return None;
    }
    // Powers of two: scaling costs no digit.
    let scales: Vec<f64> = columns
        .iter()
        .map(|c| c.iter().fold(0.0f64, |m, v| m.max(v.abs())))
        .map(|m| if m > 0.0 { 2f64.powi(m.log2().ceil() as i32) } else { 1.0 })
        .collect();
    let x = DMatrix::from_fn(n, p, |i, j| columns[j][i] / scales[j]);
    let qr = x.clone().qr();
    let r = qr.r();
    let largest = r.diagonal().abs().max();
    if !largest.is_finite() || r.diagonal().iter().any(|d| d.abs() <= largest * 1e-14) {
        return None;
    }
    let q = qr.q();
    let (mut b, mut rest) = (DVector::<f64>::zeros(p), DVector::<f64>::zeros(n));
    for _ in 0..5 {
        // What is missing from y = X b + rest, and from X' rest = 0.
        let open = DVector::from_fn(n, |i, _| sum(&[y[i], -rest[i]], x.row(i).iter().zip(b.iter())));
        let tilt = DVector::from_fn(p, |j, _| sum(&[], x.column(j).iter().zip(rest.iter())));
        let along = r.tr_solve_upper_triangular(&tilt)?;
        let step = q.transpose() * &open - along;
        rest += open - &q * &step;
        b += r.solve_upper_triangular(&step)?;
    }
    let rss = rest.norm_squared();
    let df = n - p;
    let sd = (rss / df as f64).sqrt();
    let inverse = r.solve_upper_triangular(&DMatrix::identity(p, p))?;
    let se = (0..p).map(|j| sd * inverse.row(j).norm() / scales[j]).collect();
    Some(Regression { b: b.iter().zip(&scales).map(|(b, s)| b / s).collect(), se, sd, rss, df })
}

/// A sum of numbers less a sum of products, as if in twice the precision (Ogita, Rump, Oishi 2005, SIAM J Sci Comput 26:1955).
fn sum<'a>(plain: &[f64], products: impl Iterator<Item = (&'a f64, &'a f64)>) -> f64 {
    let (mut sum, mut low) = (0.0, 0.0);
    let mut add = |part: f64, lost: f64| {
        let next = sum + part;
        let back = next - sum;
        low += lost + (sum - (next - back)) + (part - back);
        sum = next;
    };
    plain.iter().for_each(|v| add(*v, 0.0));
    for (x, b) in products {
        let product = -x * b;
        add(product, (-x).mul_add(*b, -product));
    }
    sum + low
}

#[cfg(test)]
mod tests {
    use super::{linear, polynomial, regression};

    #[test]
    fn a_line_by_hand() {
        let r = linear(&[1., 2., 3., 4.], &[2., 4., 5., 4.]).unwrap();
        assert!((r.b[0] - 2.0).abs() < 1e-14 && (r.b[1] - 0.7).abs() < 1e-14, "{r:?}");
        assert!((r.rss - 2.3).abs() < 1e-13 && r.df == 2 && (r.se[1] - (1.15f64 / 5.0).sqrt()).abs() < 1e-14);
    }

    /// y = 1 + x + ... + x^5 on 0, 1, ..., 20: by its making all coefficients are 1 (NIST StRD Wampler1).
    #[test]
    fn wampler_1() {
        let x: Vec<f64> = (0..21).map(f64::from).collect();
        let y: Vec<f64> = x.iter().map(|x| (0..6).map(|d| x.powi(d)).sum()).collect();
        let r = polynomial(&x, &y, 5).unwrap();
        assert!(r.b.iter().all(|b| (b - 1.0).abs() < 1e-9) && r.sd < 1e-6, "{r:?}");
    }

    #[test]
    fn nothing_to_say() {
        assert!(linear(&[1.0], &[1.0]).is_none() && linear(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0]).is_none());
        assert!(regression(&[], &[1.0]).is_none() && regression(&[vec![1.0]], &[1.0, 2.0]).is_none());
        assert!(linear(&[1.0, 2.0], &[1.0, 2.0]).unwrap().sd.is_nan());
    }
}
