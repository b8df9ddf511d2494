//! The change: the level of the last week less the level before the first worked day, and how sure it is.
//!
//! A baseline level, and a straight line through the worked days that is read in the middle of their last week. Few visits cannot
//! tell how strongly days are tied, so the tie is fixed and strong ([`RHO`] a day) and only the size of the noise is estimated, drawn
//! toward a prior. Generalised least squares with a conjugate prior on the variance (textbook: Gelman and others, Bayesian Data
//! Analysis, chapter 14; from memory). Which rho, which prior and which weight hold was tried by simulation: `examples/proven`.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

use crate::stats::student_quantile;
use crate::{Prior, Visit};

/// How strongly a day is taken to be tied to the next.
pub const RHO: f64 = 0.65;
/// So many days are "now".
pub const LAST_WEEK: i32 = 7;
/// Keeps the line from being undetermined where all visits fall on one day.
const RIDGE: f64 = 1e-6;

/// A change with its interval, in the value's unit: now less baseline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// The best estimate.
    pub estimate: f64,
    /// The lower end of the interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// The interval's level, as 0.95.
    pub level: f64,
}

/// The fitted model of one series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Level of the baseline.
    pub base: f64,
    /// Now less baseline.
    pub change: f64,
    /// Slope of the line through the worked days, a day.
    pub slope: f64,
    /// The day at which the line is read.
    pub read: f64,
    /// Standard error of the change.
    pub se: f64,
    /// Standard deviation between days, drawn toward the prior.
    pub sigma: f64,
    /// Degrees of freedom of the interval.
    pub df: f64,
    /// Standard deviation between days as the visits alone have it; none with fewer than four.
    pub pooled: Option<f64>,
    /// Standard deviation between photographs of a visit, drawn toward the prior.
    pub within: f64,
}

/// Fits visits of a plan whose weeks end, or whose look is, on day `end`. None where there is no baseline visit, or none among the worked days.
///
/// Twice: first with the prior's standard deviation as the measure of how much the photographs scatter against the days, then with the
/// one that came out.
pub fn change(visits: &[Visit], end: i32, prior: &Prior) -> Option<Fit> {
    let used: Vec<Visit> = visits.iter().copied().filter(|v| v.day <= end).collect();
    let within = within(&used, prior);
    let first = fit(&used, end, within, prior.sd, prior)?;
    fit(&used, end, within, first.sigma, prior)
}

/// One pass, the scatter within visits held against a standard deviation of `sd` between days.
fn fit(used: &[Visit], end: i32, within: f64, sd: f64, prior: &Prior) -> Option<Fit> {
    let days: Vec<(i32, u32)> = used.iter().map(|v| (v.day, v.count)).collect();
    let g = Geometry::of(&days, end, within, sd)?;
    let y = DVector::from_iterator(used.len(), used.iter().map(|v| v.mean));
    // Measured from the middle, so that large levels cost no digits.
    let centre = y.mean();
    let y = y.add_scalar(-centre);
    let weighted = g.chol.solve(&y);
    let b = g.inverse * (g.x.transpose() * &weighted).fixed_rows::<3>(0).into_owned();
    let fitted = &g.x * DVector::from_column_slice(b.as_slice());
    let rest = &y - fitted;
    let rss = rest.dot(&g.chol.solve(&rest)).max(0.0);
    let nu = (used.len() as f64 - 3.0).max(0.0);
    let sigma = ((prior.df * prior.sd.powi(2) + rss) / (prior.df + nu)).sqrt();
    Some(Fit {
        base: b[0] + centre,
        change: b[1] - b[0],
        slope: b[2] / f64::from(end),
        read: g.read,
        se: sigma * g.unit_se,
        sigma,
        df: prior.df + nu,
        pooled: (nu > 0.0).then(|| (rss / nu).sqrt()),
        within,
    })
}

/// The interval that holds the truth in all but `alpha` of cases.
pub fn interval(fit: &Fit, alpha: f64) -> Change {
    let half = student_quantile(1.0 - alpha / 2.0, fit.df) * fit.se;
    Change { estimate: fit.change, low: fit.change - half, high: fit.change + half, level: 1.0 - alpha }
}

/// Scatter within a visit, drawn toward its prior.
pub(crate) fn within<'a>(visits: impl IntoIterator<Item = &'a Visit>, prior: &Prior) -> f64 {
    let sums = |(ss, df): (f64, f64), v: &Visit| (ss + v.ss, df + f64::from(v.count.max(1) - 1));
    let (ss, df) = visits.into_iter().fold((0.0, 0.0), sums);
    ((ss + Prior::WITHIN_DF * prior.within.powi(2)) / (df + Prior::WITHIN_DF)).sqrt()
}

/// What days and photographs alone say: how sure a change would be.
pub(crate) struct Geometry {
    x: DMatrix<f64>,
    chol: nalgebra::Cholesky<f64, nalgebra::Dyn>,
    inverse: Matrix3<f64>,
    read: f64,
    /// Standard error of the change for a standard deviation of 1.
    pub unit_se: f64,
}

impl Geometry {
    /// Of visits on these days with so many photographs; none without a day on either side.
    pub(crate) fn of(visits: &[(i32, u32)], end: i32, within: f64, sd: f64) -> Option<Geometry> {
        let baseline = visits.iter().filter(|v| v.0 <= 0).count();
        if baseline == 0 || baseline == visits.len() || end < 1 {
            return None;
        }
        let read = f64::from(end - LAST_WEEK / 2);
        let n = visits.len();
        let x = DMatrix::from_fn(n, 3, |i, j| {
            let worked = visits[i].0 >= 1;
            match j {
                0 => f64::from(u8::from(!worked)),
                1 => f64::from(u8::from(worked)),
                _ if worked => (f64::from(visits[i].0) - read) / f64::from(end),
                _ => 0.0,
            }
        });
        let v = DMatrix::from_fn(n, n, |i, j| {
            let tie = RHO.powi((visits[i].0 - visits[j].0).abs());
            let own = within.powi(2) / (f64::from(visits[i].1.max(1)) * sd.powi(2));
            if i == j { tie + own } else { tie }
        });
        let chol = v.cholesky()?;
        let a: DMatrix<f64> = x.transpose() * chol.solve(&x);
        let inverse = (a.fixed_view::<3, 3>(0, 0).into_owned() + Matrix3::identity() * RIDGE).try_inverse()?;
        let c = Vector3::new(-1.0, 1.0, 0.0);
        let unit_se = (c.transpose() * inverse * c)[(0, 0)].max(0.0).sqrt();
        Some(Geometry { x, chol, inverse, read, unit_se })
    }
}
