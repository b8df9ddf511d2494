//! The library's method beside others that were tried.

use follow::stats::student_quantile;
use follow::{Change, Plan, Prior, Value, Visit, change, interval};
use nalgebra::{DMatrix, DVector};

/// A way to say how much changed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Method {
    /// What the library does.
    Ours,
    /// Welch's t of the visits before against those of the last week.
    Naive,
    /// The library's model with another tie between days, prior standard deviation and weight.
    Model {
        /// The tie of a day to the next.
        rho: f64,
        /// The prior's standard deviation.
        sd: f64,
        /// Its degrees of freedom.
        df: f64,
        /// How many passes: with one the scatter of photographs is held against the prior's standard deviation alone.
        passes: u8,
    },
    /// The library's, after visits beyond 3 scaled MAD of the rest were dropped.
    Dropping,
    /// A mixture of the model over ties 0, 0.3, 0.6, 0.8 (weights .1, .2, .4, .3), prior 0.6 with 2 degrees of freedom: each weighs as the
    /// visits bear it out.
    Mixed,
}

impl Method {
    /// In words.
    pub fn name(self) -> String {
        match self {
            Method::Ours => "the method that is used".to_owned(),
            Method::Naive => "naive t (baseline against last week)".to_owned(),
            Method::Model { rho, sd, df, passes } => format!("tie {rho}, prior {sd} worth {df}, {passes} pass(es)"),
            Method::Dropping => "outliers dropped first".to_owned(),
            Method::Mixed => "mixture over the tie".to_owned(),
        }
    }

    /// The change at the plan's end with an interval at `alpha`; none under three baseline days or without a visit in the last week.
    pub fn change(self, plan: &Plan, visits: &[Visit], end: i32, alpha: f64) -> Option<Change> {
        let before = visits.iter().filter(|v| v.day <= 0).count();
        let now = visits.iter().filter(|v| v.day > end - follow::LAST_WEEK && v.day <= end).count();
        if before < Plan::LEAST_BASELINE || now == 0 {
            return None;
        }
        let prior = Prior::stated(plan.value);
        match self {
            Method::Ours => Some(interval(&change(visits, end, &prior)?, alpha)),
            Method::Naive => naive(visits, end, alpha),
            Method::Model { rho, sd, df, passes } => {
                let f = model(visits, end, [rho, sd, df], passes)?;
                let half = student_quantile(1.0 - alpha / 2.0, f.df) * f.se;
                Some(Change { estimate: f.change, low: f.change - half, high: f.change + half, level: 1.0 - alpha })
            }
            Method::Dropping => Some(interval(&change(&dropped(visits), end, &prior)?, alpha)),
            Method::Mixed => mixed(visits, end, alpha),
        }
    }
}

fn naive(visits: &[Visit], end: i32, alpha: f64) -> Option<Change> {
    let of = |pick: &dyn Fn(i32) -> bool| visits.iter().filter(|v| pick(v.day)).map(|v| v.mean).collect::<Vec<f64>>();
    let (a, b) = (of(&|d| d <= 0), of(&|d| d > end - 7 && d <= end));
    let sums = |x: &[f64]| {
        let n = x.len() as f64;
        let mean = x.iter().sum::<f64>() / n;
        (n, mean, x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0) / n)
    };
    let ((na, ma, va), (nb, mb, vb)) = (sums(&a), sums(&b));
    if na < 2.0 || nb < 2.0 {
        return None;
    }
    let df = (va + vb).powi(2) / (va.powi(2) / (na - 1.0) + vb.powi(2) / (nb - 1.0));
    let half = student_quantile(1.0 - alpha / 2.0, df) * (va + vb).sqrt();
    Some(Change { estimate: mb - ma, low: mb - ma - half, high: mb - ma + half, level: 1.0 - alpha })
}

struct Fitted {
    change: f64,
    se: f64,
    df: f64,
    /// Log of the marginal likelihood, up to what all ties share.
    bears: f64,
}

/// The model written out once more with its constants free.
fn model(visits: &[Visit], end: i32, [rho, sd, df]: [f64; 3], passes: u8) -> Option<Fitted> {
    let used: Vec<&Visit> = visits.iter().filter(|v| v.day <= end).collect();
    let n = used.len();
    let (ss, wdf) = used.iter().fold((0.0, 0.0), |(s, d), v| (s + v.ss, d + f64::from(v.count) - 1.0));
    let within = (ss + 4.0 * Value::usual().within.powi(2)) / (wdf + 4.0);
    let x = DMatrix::from_fn(n, 3, |i, j| match (used[i].day >= 1, j) {
        (false, 0) | (true, 1) => 1.0,
        (true, 2) => f64::from(used[i].day - (end - 3)) / f64::from(end),
        _ => 0.0,
    });
    let y = DVector::from_iterator(n, used.iter().map(|v| v.mean));
    let y = y.add_scalar(-y.mean());
    let nu = (n as f64 - 3.0).max(0.0);
    let (mut against, mut found) = (sd * sd, None);
    for _ in 0..passes.max(1) {
        let v = DMatrix::from_fn(n, n, |i, j| {
            let tie = rho.powi((used[i].day - used[j].day).abs());
            if i == j { 1.0 + within / (f64::from(used[i].count) * against) } else { tie }
        });
        let chol = v.cholesky()?;
        let a = x.transpose() * chol.solve(&x) + DMatrix::identity(3, 3) * 1e-6;
        let inverse = a.clone().try_inverse()?;
        let b = &inverse * x.transpose() * chol.solve(&y);
        let rest = &y - &x * &b;
        let q = df * sd * sd + rest.dot(&chol.solve(&rest));
        let unit = inverse[(0, 0)] + inverse[(1, 1)] - 2.0 * inverse[(0, 1)];
        let bears = -chol.l().diagonal().map(f64::ln).sum() - 0.5 * a.determinant().ln() - 0.5 * (df + nu) * q.ln();
        against = q / (df + nu);
        found = Some(Fitted { change: b[1] - b[0], se: (against * unit).sqrt(), df: df + nu, bears });
    }
    found
}

fn mixed(visits: &[Visit], end: i32, alpha: f64) -> Option<Change> {
    use statrs::distribution::{ContinuousCDF, StudentsT};
    let parts: Vec<(f64, Fitted)> = [(0.0, 0.1), (0.3, 0.2), (0.6, 0.4), (0.8, 0.3)]
        .into_iter()
        .filter_map(|(rho, weight)| Some((weight, model(visits, end, [rho, 0.6, 2.0], 1)?)))
        .collect();
    let most = parts.iter().map(|p| p.1.bears).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = parts.iter().map(|(w, f)| w * (f.bears - most).exp()).collect();
    let all: f64 = weights.iter().sum();
    let below = |x: f64| -> f64 {
        let one = |(w, (_, f)): (&f64, &(f64, Fitted))| {
            StudentsT::new(0.0, 1.0, f.df).map_or(0.5, |t| t.cdf((x - f.change) / f.se)) * w / all
        };
        weights.iter().zip(&parts).map(one).sum()
    };
    let quantile = |p: f64| {
        let (mut low, mut high) = (-60.0, 60.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if below(middle) < p { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    };
    Some(Change {
        estimate: quantile(0.5),
        low: quantile(alpha / 2.0),
        high: quantile(1.0 - alpha / 2.0),
        level: 1.0 - alpha,
    })
}

/// Without visits beyond three scaled MAD of the median, before and after apart.
fn dropped(visits: &[Visit]) -> Vec<Visit> {
    let mut kept = Vec::new();
    for worked in [false, true] {
        let part: Vec<Visit> = visits.iter().copied().filter(|v| (v.day >= 1) == worked).collect();
        let median = |mut x: Vec<f64>| {
            x.sort_by(f64::total_cmp);
            x.get(x.len() / 2).copied().unwrap_or(0.0)
        };
        let middle = median(part.iter().map(|v| v.mean).collect());
        let mad = 1.4826 * median(part.iter().map(|v| (v.mean - middle).abs()).collect());
        kept.extend(part.into_iter().filter(|v| (v.mean - middle).abs() <= 3.0 * mad));
    }
    kept
}
