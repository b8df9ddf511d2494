//! Caption files with the steps they tell: `NAME.truth.csv` beside each, with time,target,side,technique,seconds.
#![allow(dead_code)]

use publish::recordings::HeardStep;

/// The share of steps that must be recovered with target and side.
pub const BAR: f64 = 0.90;
pub const TOLERANCE_S: f64 = 20.0;

pub struct Truth {
    pub time: f64,
    pub target: String,
    pub side: String,
    pub technique: String,
    pub seconds: Option<f64>,
}

pub fn truths(text: &str) -> Option<Vec<Truth>> {
    let mut all = Vec::new();
    for line in text.lines().skip(1).filter(|l| !l.trim().is_empty()) {
        let cells: Vec<&str> = line.split(',').map(str::trim).collect();
        let [time, target, side, technique, seconds] = cells.as_slice() else { return None };
        all.push(Truth {
            time: time.parse().ok()?,
            target: (*target).to_owned(),
            side: (*side).to_owned(),
            technique: (*technique).to_owned(),
            seconds: seconds.parse().ok(),
        });
    }
    Some(all)
}

/// The longest row of pairs, both in order, that fit.
pub fn pairs(truth: &[Truth], steps: &[HeardStep], fits: impl Fn(&Truth, &HeardStep) -> bool) -> Vec<(usize, usize)> {
    let (n, m) = (truth.len(), steps.len());
    let mut best = vec![vec![0usize; m + 1]; n + 1];
    for i in (0..n).rev() {
        for j in (0..m).rev() {
            let taken = if fits(&truth[i], &steps[j]) { best[i + 1][j + 1] + 1 } else { 0 };
            best[i][j] = taken.max(best[i + 1][j]).max(best[i][j + 1]);
        }
    }
    let (mut i, mut j, mut found) = (0, 0, Vec::new());
    while i < n && j < m {
        if fits(&truth[i], &steps[j]) && best[i][j] == best[i + 1][j + 1] + 1 {
            found.push((i, j));
            (i, j) = (i + 1, j + 1);
        } else if best[i][j] == best[i + 1][j] {
            i += 1;
        } else {
            j += 1;
        }
    }
    found
}
