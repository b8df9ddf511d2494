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

/// Least squares of `y` on columns of the same length (a constant is one of them), by Householder's QR of scaled columns, improved by
/// twice the precision of residuals (textbook: Golub and Van Loan 2013, Matrix Computations, chapter 5; Bjorck 1967, BIT 7:257; from
/// memory). None where lengths differ, observations are fewer than columns, or columns depend on one another.
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
    let mut b = DVector::zeros(p);
    let mut rest = DVector::from_column_slice(y);
    for _ in 0..4 {
        b += r.solve_upper_triangular(&(q.transpose() * &rest))?;
        rest = DVector::from_fn(n, |i, _| residual(y[i], x.row(i).iter().zip(b.iter())));
    }
    let rss = rest.norm_squared();
    let df = n - p;
    let sd = (rss / df as f64).sqrt();
    let inverse = r.solve_upper_triangular(&DMatrix::identity(p, p))?;
    let se = (0..p).map(|j| sd * inverse.row(j).norm() / scales[j]).collect();
    Some(Regression { b: b.iter().zip(&scales).map(|(b, s)| b / s).collect(), se, sd, rss, df })
}

/// `y` less a sum of products, as if in twice the precision (Ogita, Rump, Oishi 2005, SIAM J Sci Comput 26:1955).
fn residual<'a>(y: f64, terms: impl Iterator<Item = (&'a f64, &'a f64)>) -> f64 {
    let (mut sum, mut low) = (y, 0.0);
    for (x, b) in terms {
        let product = -x * b;
        low += (-x).mul_add(*b, -product);
        let next = sum + product;
        let back = next - sum;
        low += (sum - (next - back)) + (product - back);
        sum = next;
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
