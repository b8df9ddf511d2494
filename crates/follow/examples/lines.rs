//! Answers lines of standard input, one each, so that another program can check many numbers at once. A line is an operation and
//! groups of numbers, parted by `;` (see `answer`); an answer is numbers, or `none`.

// An example is an edge: it may read and print.
#![allow(clippy::disallowed_methods, clippy::disallowed_types, clippy::disallowed_macros)]

use std::io::{BufRead, Write};

use follow::stats;
use follow::{Prior, Value, Visit, change, interval, trend};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        let (op, rest) = line.split_once(' ').unwrap_or((&line, ""));
        let groups = rest
            .split(';')
            .map(|group| group.split_whitespace().map(str::parse).collect())
            .collect::<Result<Vec<Vec<f64>>, _>>()?;
        let groups: Vec<&[f64]> = groups.iter().map(Vec::as_slice).collect();
        match answer(op, &groups).ok_or_else(|| format!("cannot answer {line:?}"))? {
            Some(numbers) => {
                let words: Vec<String> = numbers.iter().map(f64::to_string).collect();
                writeln!(out, "{}", words.join(" "))?;
            }
            None => writeln!(out, "none")?,
        }
    }
    Ok(())
}

/// None: no such operation. Some(None): the method has no answer.
fn answer(op: &str, groups: &[&[f64]]) -> Option<Option<Vec<f64>>> {
    Some(match (op, groups) {
        // How strongly days are tied; degrees of freedom of the scatter within visits; the stated prior's sd, df and within.
        ("constants", _) => {
            let prior = Prior::stated(Value::usual());
            Some(vec![follow::RHO, Prior::WITHIN_DF, prior.sd, prior.df, prior.within])
        }
        ("t_quantile", [[p, df]]) => Some(vec![stats::student_quantile(*p, *df)]),
        ("t_two_sided", [[t, df]]) => Some(vec![stats::student_two_sided(*t, *df)]),
        ("normal_quantile", [[p]]) => Some(vec![stats::normal_quantile(*p)]),
        ("normal_two_sided", [[z]]) => Some(vec![stats::normal_two_sided(*z)]),
        ("power", [[effect, df, alpha]]) => Some(vec![stats::power_two_sided(*effect, *df, *alpha)]),
        ("tau", [x, y]) => stats::kendall_tau(x, y).map(|t| vec![t]),
        ("mann_kendall", [y]) => stats::mann_kendall(y).map(mann_kendall),
        ("hamed_rao", [y]) => stats::hamed_rao(y).map(mann_kendall),
        ("theil_sen", [x, y, [level]]) => {
            stats::theil_sen(x, y, *level).map(|t| vec![t.slope, t.intercept, t.low, t.high])
        }
        ("wilcoxon", [d]) => {
            stats::wilcoxon(d).map(|w| vec![w.above, w.below, w.n as f64, w.p, f64::from(u8::from(w.exact))])
        }
        ("sign_changes", [d]) => stats::sign_changes(d).map(|p| vec![p]),
        ("sign_test", [d]) => stats::sign_test(d).map(|s| vec![s.above as f64, s.below as f64, s.p]),
        ("paired_t", [d]) => stats::paired_t(d).map(|t| vec![t.mean, t.sd, t.t, t.df, t.p]),
        ("holm", [p]) => Some(stats::holm(p)),
        ("wilson", [[count, of, level]]) => stats::wilson(*count as usize, *of as usize, *level).map(Vec::from),
        // Coefficients, their standard errors, residual standard deviation and sum of squares.
        ("polynomial", [x, y, [degree]]) => stats::polynomial(x, y, *degree as usize).map(regression),
        ("regression", [y, columns @ ..]) => {
            stats::regression(&columns.iter().map(|c| c.to_vec()).collect::<Vec<_>>(), y).map(regression)
        }
        // Mean, standard error, variance between, interval, prediction.
        ("random_effects", [y, v, [level]]) => {
            let pairs: Vec<(f64, f64)> = y.iter().copied().zip(v.iter().copied()).collect();
            stats::random_effects(&pairs).map(|r| {
                let next = r.prediction(*level).unwrap_or([f64::NAN; 2]);
                [vec![r.mean, r.se, r.tau2], r.interval(*level).to_vec(), next.to_vec()].concat()
            })
        }
        // Days; means; counts; sums of squares; end, prior's sd, df, within, alpha.
        ("change", [days, means, counts, ss, [end, sd, df, within, alpha]]) => {
            let prior = Prior { df: *df, ..Prior::given(*sd, *within) };
            change(&visits(days, means, counts, ss), *end as i32, &prior).map(|f| {
                let i = interval(&f, *alpha);
                let pooled = f.pooled.unwrap_or(f64::NAN);
                vec![f.base, f.change, f.slope, f.se, f.sigma, f.df, pooled, f.within, i.low, i.high]
            })
        }
        ("trend", [days, means, counts, ss, [end, sd, df, within]]) => {
            let prior = Prior { df: *df, ..Prior::given(*sd, *within) };
            trend(&visits(days, means, counts, ss), *end as i32, &prior).map(|t| vec![t.slope, t.low, t.high])
        }
        _ => return None,
    })
}

fn mann_kendall(m: stats::MannKendall) -> Vec<f64> {
    vec![m.s as f64, m.variance, m.z, m.p]
}

fn regression(r: stats::Regression) -> Vec<f64> {
    [r.b, r.se, vec![r.sd, r.rss]].concat()
}

fn visits(days: &[f64], means: &[f64], counts: &[f64], ss: &[f64]) -> Vec<Visit> {
    (0..days.len()).map(|i| Visit { day: days[i] as i32, mean: means[i], count: counts[i] as u32, ss: ss[i] }).collect()
}
