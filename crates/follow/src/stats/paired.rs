//! Paired differences: Student's t and the sign test.

use statrs::distribution::{Binomial, DiscreteCDF};

use super::student_two_sided;

/// Student's t test of paired differences.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairedT {
    /// Mean difference.
    pub mean: f64,
    /// Standard deviation of the differences.
    pub sd: f64,
    /// The mean over its standard error.
    pub t: f64,
    /// Degrees of freedom, one fewer than differences.
    pub df: f64,
    /// Two-sided p value.
    pub p: f64,
}

/// Student's t of differences (Student 1908, Biometrika 6:1); none with fewer than two, or where they are all the same.
pub fn paired_t(differences: &[f64]) -> Option<PairedT> {
    let n = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / n;
    let sd = (differences.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    if n < 2.0 || !mean.is_finite() || sd <= 0.0 {
        return None;
    }
    let t = mean / (sd / n.sqrt());
    Some(PairedT { mean, sd, t, df: n - 1.0, p: student_two_sided(t, n - 1.0) })
}

/// The sign test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SignTest {
    /// Differences above zero.
    pub above: u64,
    /// Differences below zero.
    pub below: u64,
    /// Two-sided p value.
    pub p: f64,
}

/// The sign test, exact (Arbuthnott 1710, Phil Trans 27:186; textbook: Conover 1999, Practical Nonparametric Statistics, section 3.4,
/// from memory): zeros are left out. None where only zeros are left.
pub fn sign_test(differences: &[f64]) -> Option<SignTest> {
    let above = differences.iter().filter(|d| **d > 0.0).count() as u64;
    let below = differences.iter().filter(|d| **d < 0.0).count() as u64;
    let tail = Binomial::new(0.5, above + below).ok().filter(|_| above + below > 0)?.cdf(above.min(below));
    Some(SignTest { above, below, p: (2.0 * tail).min(1.0) })
}

#[cfg(test)]
mod tests {
    use super::{paired_t, sign_test};

    /// Darwin's maize (Fisher 1935; data from memory, value as computed by scipy).
    #[test]
    fn darwins_maize() {
        let d = [6., 8., 14., 16., 23., 24., 28., 29., 41., -48., 49., 56., 60., -67., 75.];
        let t = paired_t(&d).unwrap();
        assert!((t.mean - 314.0 / 15.0).abs() < 1e-12 && (t.sd - 37.744_378_4).abs() < 5e-7);
        assert!((t.t - 2.147_987_5).abs() < 5e-7 && (t.p - 0.049_702_9).abs() < 5e-7 && t.df == 14.0, "{t:?}");
        let s = sign_test(&d).unwrap();
        assert_eq!((s.above, s.below), (13, 2));
        assert!((s.p - 2.0 * 121.0 / 32768.0).abs() < 1e-12, "{s:?}");
    }

    #[test]
    fn nothing_to_say() {
        assert!(paired_t(&[]).is_none() && paired_t(&[1.0]).is_none() && paired_t(&[2.0, 2.0]).is_none());
        assert!(sign_test(&[0.0, 0.0]).is_none());
        assert_eq!(sign_test(&[1.0, -1.0]).unwrap().p, 1.0);
    }
}
